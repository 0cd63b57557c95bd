//! Sign-offs of a register in use: collects entries and photographs, makes the document, and records that it was
//! issued.
//!
//! Never here: where the file goes. The caller writes it and calls [`SignOff::record`] only once it lies on disk,
//! so that nothing is recorded as issued that nobody can read.

use std::collections::BTreeMap;

use super::cms::Signer;
use super::evidence::{Opened, Signing};
use super::fonts::Fonts;
use super::make::{Made, MakeFault, Material, make_draft, make_signed, photos_on_pages};
use super::model::certificate;
use super::paper::Jpeg;
use crate::entry::{PhotoAdded, SignOffIssued};
use crate::ids::{EntryId, PlotId, Sha256Digest};
use crate::photo::{self, RenditionKind};
use crate::register::{Register, RegisterError, Session};

/// A photograph of up to so many bytes goes in as it came; a larger one as its screen picture, so that a document
/// can be sent by mail. The original stays in the register under the digest that the caption names.
pub const MOST_PHOTO_BYTES: u64 = 1 << 20;

/// Why there is no document.
#[derive(Debug, thiserror::Error)]
pub enum IssueFault {
    /// The rules, the PIN, the disk.
    #[error(transparent)]
    Register(#[from] RegisterError),
    /// The document cannot be made.
    #[error(transparent)]
    Make(#[from] MakeFault),
    /// The register's authority has no readable certificate.
    #[error("the certificate of {0} cannot be read")]
    Certificate(&'static str),
    /// Somebody asked to stop.
    #[error("stopped before the document was made; nothing was signed")]
    Stopped,
}

impl From<crate::store::StoreError> for IssueFault {
    fn from(error: crate::store::StoreError) -> Self {
        Self::Register(error.into())
    }
}

/// A signed document that is not recorded as issued yet.
#[derive(Debug)]
pub struct SignOff {
    /// The document.
    pub made: Made,
    plot: PlotId,
}

impl SignOff {
    /// Records that the document was issued. Call it once the file lies on disk.
    pub fn record(&self, register: &mut Register, by: &Session) -> Result<Vec<EntryId>, RegisterError> {
        let issued = SignOffIssued {
            document: Sha256Digest::of(&self.made.bytes),
            bytes: self.made.bytes.len().try_into().unwrap_or(u64::MAX),
            root: self.made.root,
        };
        register.record_sign_off(&self.plot, by, &issued)
    }
}

/// Makes a draft of a plot as it stands. `go_on` is told how many photographs are done, of how many, and answers
/// whether to go on.
pub fn draft(
    register: &mut Register,
    plot: &PlotId,
    fonts: &Fonts,
    go_on: &mut dyn FnMut(usize, usize) -> bool,
) -> Result<Made, IssueFault> {
    let material = material(register, plot, go_on)?;
    Ok(make_draft(&material, fonts)?)
}

/// Signs a plot off: asks whether that is allowed, releases the hold point that stands for the whole floor, and
/// makes the signed document. `drawn` may be empty; see [`Signing::drawn`].
pub fn sign_off(
    register: &mut Register,
    plot: &PlotId,
    by: &Session,
    drawn: Vec<Vec<(u16, u16)>>,
    fonts: &Fonts,
    go_on: &mut dyn FnMut(usize, usize) -> bool,
) -> Result<SignOff, IssueFault> {
    register.begin_sign_off(plot, by)?;
    let material = material(register, plot, go_on)?;
    let site = register.site();
    let opened = site.opened.as_ref();
    let root = opened.and_then(|opened| certificate(&opened.authority));
    let root = root.ok_or(IssueFault::Certificate("the register's authority"))?;
    let person = site.people.get(&by.person);
    let leaf = person.and_then(|person| certificate(&person.enrolled.certificate));
    let leaf = leaf.ok_or(IssueFault::Certificate("the signer"))?;
    let key = by.key().ok_or_else(|| RegisterError::PinNeeded(site.name_of(Some(by.person))))?;
    let signing = Signing { person: by.person, drawn };
    let signer = Signer { key, leaf: &leaf, root: &root };
    let made = make_signed(&material, signing, &signer, fonts)?;
    Ok(SignOff { made, plot: plot.clone() })
}

/// Entries and photographs of a plot.
pub fn material(
    register: &mut Register,
    plot: &PlotId,
    go_on: &mut dyn FnMut(usize, usize) -> bool,
) -> Result<Material, IssueFault> {
    register.refresh()?;
    let made = register.now();
    let entries = register.evidence_of(plot)?;
    let opened = Opened::of(&entries, plot).map_err(MakeFault::from)?;
    let wanted = photos_on_pages(&opened);
    let mut photos = BTreeMap::new();
    for (done, photo) in opened.record.photos.iter().enumerate() {
        if !go_on(done, opened.record.photos.len()) {
            return Err(IssueFault::Stopped);
        }
        let original = photo.fact.photo;
        if wanted.contains(&original)
            && !photos.contains_key(&original)
            && let Some(jpeg) = jpeg_for_page(register, &photo.fact)?
        {
            photos.insert(original, jpeg);
        }
    }
    Ok(Material { plot: plot.clone(), entries, photos, made })
}

/// The original where it stands upright, is small enough and can go in as it is; else its screen picture. `None`
/// where the photograph is not in this register's photo file.
fn jpeg_for_page(register: &Register, photo: &PhotoAdded) -> Result<Option<Jpeg>, IssueFault> {
    let reader = register.reader();
    if !reader.has_photos_file() || reader.original(photo.photo)?.is_none() {
        return Ok(None);
    }
    if photo.orientation == 1 && photo.bytes <= MOST_PHOTO_BYTES {
        let bytes = reader.original_bytes(photo.photo)?;
        if photo::passes_unchanged(&bytes)
            && let Ok(jpeg) = Jpeg::from_bytes(bytes)
        {
            return Ok(Some(jpeg));
        }
    }
    let kept = reader.rendition(photo.photo, RenditionKind::Screen)?;
    let picture = if kept.is_some() {
        kept
    } else {
        // Derived pictures may be thrown away: then it is made again.
        let bytes = reader.original_bytes(photo.photo)?;
        photo::take_in_with_renditions(&bytes, &photo::Limits::default())
            .ok()
            .map(|(_, made)| made.of(RenditionKind::Screen).to_vec())
    };
    Ok(picture.and_then(|picture| Jpeg::from_bytes(picture).ok()))
}
