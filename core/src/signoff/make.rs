//! From entries and photographs to a draft or a signed document.
//!
//! The pages before signing are a pure function of evidence and photographs; a verifier calls the same function
//! again. Never here: a disk, a clock (the time is handed in).

use std::collections::{BTreeMap, BTreeSet};

use super::attach::{Attachment, EVIDENCE_NAME};
use super::cms::Signer;
use super::evidence::{Evidence, FORMAT, OpenFault, Opened, PAD, PhotoOnPage, Purpose, Signing, StoredEntry};
use super::finish::{About, WriteFault, write};
use super::fonts::Fonts;
use super::layout::{resource, sheets};
use super::model::{Model, certificate};
use super::paper::{Jpeg, Paper};
use super::sign::{SignFault, Statement, sign};
use crate::ids::{PlotId, Sha256Digest};
use crate::record::{self, Head, SealedEntry};
use crate::time::Timestamp;

/// The program as it names itself in documents: pages are only compared between equal ones.
pub const PROGRAM: &str = concat!("Gaugerod ", env!("CARGO_PKG_VERSION"));

/// What a document is made from.
#[derive(Debug, Clone)]
pub struct Material {
    /// The plot.
    pub plot: PlotId,
    /// Every entry of the site and the plot.
    pub entries: Vec<SealedEntry>,
    /// JPEG data for the pages, by the SHA-256 of the original. A photograph that is not here stands as an empty
    /// box with its caption.
    pub photos: BTreeMap<Sha256Digest, Jpeg>,
    /// When, as the tablet's clock has it.
    pub made: Timestamp,
}

/// A document.
#[derive(Debug, Clone)]
pub struct Made {
    /// The file.
    pub bytes: Vec<u8>,
    /// The record's root that it states.
    pub root: Sha256Digest,
    /// The heads under that root.
    pub heads: BTreeSet<Head>,
}

/// Why a document cannot be made.
#[derive(Debug, thiserror::Error)]
pub enum MakeFault {
    /// The entries cannot be folded.
    #[error(transparent)]
    Open(#[from] OpenFault),
    /// The PDF cannot be written.
    #[error(transparent)]
    Write(#[from] WriteFault),
    /// The signature cannot be put on.
    #[error(transparent)]
    Sign(#[from] SignFault),
    /// The signer is not enrolled, or with another certificate.
    #[error("the signer is not enrolled in this record with this certificate")]
    Signer,
}

/// Makes a draft: the same pages, marked across, never signed.
pub fn make_draft(material: &Material, fonts: &Fonts) -> Result<Made, MakeFault> {
    let (evidence, opened) = evidence(material, None)?;
    let bytes = pages(&evidence, &opened, &material.photos, fonts)?;
    Ok(Made { bytes, root: evidence.root, heads: evidence.heads })
}

/// Makes the document and signs it. Whether the plot may be signed off is decided before.
pub fn make_signed(
    material: &Material,
    signing: Signing,
    signer: &Signer<'_>,
    fonts: &Fonts,
) -> Result<Made, MakeFault> {
    let (evidence, opened) = evidence(material, Some(signing))?;
    let statement = statement(&evidence, &opened).ok_or(MakeFault::Signer)?;
    let enrolled = evidence.signing.as_ref().and_then(|one| opened.site.people.get(&one.person));
    let enrolled = enrolled.and_then(|person| certificate(&person.enrolled.certificate));
    if enrolled.as_ref() != Some(signer.leaf) {
        return Err(MakeFault::Signer);
    }
    let unsigned = pages(&evidence, &opened, &material.photos, fonts)?;
    let bytes = sign(unsigned, fonts, signer, &statement)?;
    Ok(Made { bytes, root: evidence.root, heads: evidence.heads })
}

/// The evidence of some material, and what it comes to.
pub fn evidence(material: &Material, signing: Option<Signing>) -> Result<(Evidence, Opened), MakeFault> {
    let opened = Opened::of(&material.entries, &material.plot)?;
    let sealed: BTreeMap<_, _> = material.entries.iter().map(|one| (one.id, one)).collect();
    let heads = opened.heads();
    let on_page = |photo: &Sha256Digest| {
        let jpeg = material.photos.get(photo)?;
        Some(PhotoOnPage { original: *photo, shown: Sha256Digest::of(jpeg.bytes()) })
    };
    let evidence = Evidence {
        gaugerod_evidence: FORMAT,
        program: PROGRAM.to_owned(),
        register: opened.entries[0].header.register,
        plot: material.plot.clone(),
        purpose: if signing.is_some() { Purpose::SignOff } else { Purpose::Draft },
        made: material.made,
        signing,
        root: record::root(&heads),
        heads,
        verdicts: opened.verdicts(),
        subject_to: opened.standing.subject_to(),
        photos: photos_on_pages(&opened).iter().filter_map(on_page).collect(),
        entries: opened.entries.iter().map(|one| StoredEntry::from(sealed[&one.id])).collect(),
    };
    Ok((evidence, opened))
}

/// The originals of the photographs that the pages show, each once.
pub fn photos_on_pages(opened: &Opened) -> BTreeSet<Sha256Digest> {
    let evidence = opened.standing.hold_points.iter().flat_map(|one| &one.evidence);
    evidence.flat_map(|one| &one.photos).map(|(photo, _)| photo.photo).collect()
}

/// The unsigned document: a pure function of evidence and photographs.
pub fn pages(
    evidence: &Evidence,
    opened: &Opened,
    photos: &BTreeMap<Sha256Digest, Jpeg>,
    fonts: &Fonts,
) -> Result<Vec<u8>, MakeFault> {
    let model = Model::of(evidence, opened);
    let shown: BTreeMap<Sha256Digest, Jpeg> = evidence
        .photos
        .iter()
        .filter_map(|one| Some((one.original, photos.get(&one.original)?.clone())))
        .collect();
    let sheets = sheets(&model, &shown, fonts);
    let photos = shown.into_iter().map(|(original, jpeg)| (resource(original), jpeg)).collect();
    let about = About {
        title: format!("{} of plot {}, {}", kind(evidence.purpose), model.plot, model.site),
        author: model.site.clone(),
        subject: format!("Suspended ground floor, {} revision {}", model.drawing.0, model.drawing.1),
        producer: evidence.program.clone(),
        created: evidence.made,
    };
    let attachment = Attachment {
        name: EVIDENCE_NAME.to_owned(),
        media_type: "application/json".to_owned(),
        description: "Every entry of the plot and the site as stored, and what the program made of them"
            .to_owned(),
        bytes: evidence.to_bytes(),
        modified: evidence.made,
    };
    Ok(write(Paper { sheets, photos }, fonts, &about, attachment)?)
}

fn kind(purpose: Purpose) -> &'static str {
    match purpose {
        Purpose::Draft => "Draft sign-off",
        Purpose::SignOff => "Sign-off",
    }
}

/// What the signature says: from the evidence alone, so that a verifier can make it again. `None` where the
/// evidence names no signer, or one who is not enrolled.
pub fn statement(evidence: &Evidence, opened: &Opened) -> Option<Statement> {
    let signing = evidence.signing.as_ref()?;
    let person = &opened.site.people.get(&signing.person)?.enrolled;
    let root = certificate(&opened.site.opened.as_ref()?.authority);
    let fingerprint = root.map_or_else(String::new, |root| root.fingerprint());
    let design = opened.record.design();
    let part = |number: u16| f32::from(number.min(PAD)) / f32::from(PAD);
    let stroke = |stroke: &Vec<(u16, u16)>| stroke.iter().map(|(x, y)| (part(*x), part(*y))).collect();
    Some(Statement {
        name: person.name.clone(),
        role: person.role.title().to_owned(),
        reason: format!(
            "Sign-off of plot {}, {} revision {}{}",
            evidence.plot,
            design.drawing,
            design.revision,
            if evidence.subject_to.is_empty() { "" } else { ", subject to what its first page says" }
        ),
        location: opened.site.site().to_owned(),
        time: evidence.made,
        vouched: format!("Vouched for by the register's own authority, SHA-256 {fingerprint}"),
        drawn: signing.drawn.iter().map(stroke).collect(),
    })
}
