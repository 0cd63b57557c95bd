//! Photographs taken in as evidence: what kind they are, whether they are whole, when and where they say
//! they were taken, and smaller renditions of them for the screen.
//!
//! The original bytes are never changed and never judged by a file name. Size, kind and dimensions are
//! refused **before** anything is decoded; then the picture must decode whole, so that a file cut short
//! by a full card is found out on site and not in the sign-off.
//!
//! Never here: a file, a clock, a panic on hostile bytes. Everything works on bytes in memory and belongs
//! on a worker, not on the window's thread.
//!
//! # Memory
//! Beside the file itself (at most 40 MB under [`Limits::default`]) decoding takes at most 3 bytes a pixel
//! for a JPEG of one pass (300 MB at 100 megapixels), 9 bytes a pixel for a JPEG of several passes and
//! 11 bytes a pixel for a PNG; these two are bounded to 40 megapixels (360 MB and 440 MB). A 12-megapixel
//! photo of a tablet takes 36 MB.
//!
//! [`jpeg`] and [`png`] read the structure of the files, [`capture`] the EXIF data, [`rendition`] makes
//! the smaller pictures.

pub mod capture;
mod jpeg;
mod png;
pub mod rendition;

#[cfg(test)]
mod tests;

use std::panic::{AssertUnwindSafe, catch_unwind};

use serde::{Deserialize, Serialize};

pub use self::capture::{CapturedAt, Position};
pub use self::rendition::{RenditionFault, RenditionKind, Renditions, rendition, renditions};
use crate::ids::Sha256Digest;

/// What is refused before decoding. The defaults are the limits of the product; tests use smaller ones.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// The most bytes a file may have.
    pub bytes: u64,
    /// The most pixels along one side.
    pub side: u32,
    /// The most pixels of a JPEG of one pass, which is what cameras write.
    pub pixels: u64,
    /// The most pixels of anything that has to be held whole while it is decoded: a PNG, or a JPEG of
    /// several passes.
    pub pixels_held_whole: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Self { bytes: 40_000_000, side: 20_000, pixels: 100_000_000, pixels_held_whole: 40_000_000 }
    }
}

/// The two kinds of picture that are taken in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum MediaType {
    /// ITU-T T.81, the format of cameras.
    #[serde(rename = "image/jpeg")]
    Jpeg,
    /// ISO/IEC 15948.
    #[serde(rename = "image/png")]
    Png,
}

impl MediaType {
    /// The registered name (IANA media types): `image/jpeg`, `image/png`.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
        }
    }

    /// The kind by its first bytes; `None` for anything else.
    pub fn of(bytes: &[u8]) -> Option<Self> {
        // T.81 B.1.1.3: a JPEG starts with the marker SOI and another marker; ISO/IEC 15948 5.2: PNG's
        // eight bytes of signature.
        if bytes.starts_with(&[0xFF, 0xD8, 0xFF]) {
            Some(Self::Jpeg)
        } else if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
            Some(Self::Png)
        } else {
            None
        }
    }
}

/// What is known of a photograph that was taken in: all of it read from its bytes, so that anybody who has
/// them can read it again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PhotoFacts {
    /// SHA-256 of the original bytes: the photo's name.
    pub sha256: Sha256Digest,
    /// Length of the original bytes.
    pub bytes: u64,
    /// JPEG or PNG.
    pub media_type: MediaType,
    /// Pixels across, as stored: before the orientation is applied.
    pub width: u32,
    /// Pixels down, as stored.
    pub height: u32,
    /// Colour components: 1, 3 or 4 of a JPEG, 1 to 4 of a PNG.
    pub components: u8,
    /// Bits a component.
    pub bit_depth: u8,
    /// EXIF orientation 1 to 8; 1 when nothing (sound) is said.
    pub orientation: u8,
    /// When the camera says that it was taken.
    pub captured_at: Option<CapturedAt>,
    /// Where the camera says that it was taken.
    pub position: Option<Position>,
    /// The JPEG data may go into a PDF as they are: 8 bit, one component or three in a colour space that the
    /// file states the way PDF readers take it (ISO 32000-2, 7.4.8).
    pub passthrough: bool,
}

impl PhotoFacts {
    /// Width and height as a person sees the picture, once its orientation is applied.
    pub fn upright_size(&self) -> (u32, u32) {
        if self.orientation >= 5 { (self.height, self.width) } else { (self.width, self.height) }
    }
}

/// Why bytes are not taken in as a photograph. The sentences are for the person who offers them.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PhotoRefusal {
    /// No bytes at all.
    #[error("the file is empty")]
    Empty,
    /// More bytes than [`Limits::bytes`].
    #[error("the file has {bytes} bytes; photos of up to {most} bytes are taken in")]
    TooLarge {
        /// Bytes of the file.
        bytes: u64,
        /// Bytes allowed.
        most: u64,
    },
    /// Neither JPEG nor PNG by its first bytes.
    #[error("this is no photo: it is neither a JPEG nor a PNG file")]
    NoPhoto,
    /// No pixels, or more than can be handled safely.
    #[error(
        "the picture claims {width} by {height} pixels; it must have at least one, at most {side} along a \
         side and {pixels} in all"
    )]
    Dimensions {
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
        /// Pixels allowed along a side.
        side: u32,
        /// Pixels allowed in all.
        pixels: u64,
    },
    /// The file ends before the picture does.
    #[error("the file is cut short: {0}; copy it again from the camera")]
    CutShort(&'static str),
    /// The file is whole by its length but does not decode.
    #[error("the file is damaged: {0}; copy it again from the camera")]
    Damaged(String),
    /// A sound file of a kind that is not taken in.
    #[error("this kind of picture is not taken in: {0}")]
    Unsupported(String),
}

/// Reads a photograph whole and says what it is.
///
/// # Errors
/// A [`PhotoRefusal`]; size, kind and dimensions are refused before anything is decoded.
pub fn take_in(bytes: &[u8], limits: &Limits) -> Result<PhotoFacts, PhotoRefusal> {
    examine(bytes, limits).map(|(facts, _)| facts)
}

/// Whether JPEG data may go into a PDF as they are, by their structure alone: see [`PhotoFacts::passthrough`]. That
/// they decode whole was seen when they were taken in.
pub fn passes_unchanged(bytes: &[u8]) -> bool {
    MediaType::of(bytes) == Some(MediaType::Jpeg)
        && jpeg::structure(bytes).is_ok_and(|structure| structure.passthrough)
}

/// [`take_in`] and [`renditions`] with a single decoding: what a worker does with a photo just added.
///
/// # Errors
/// As [`take_in`]. A rendition that cannot be made of a picture that decoded counts as damage.
pub fn take_in_with_renditions(
    bytes: &[u8],
    limits: &Limits,
) -> Result<(PhotoFacts, Renditions), PhotoRefusal> {
    let (facts, pixels) = examine(bytes, limits)?;
    let made = rendition::both(pixels, facts.orientation)
        .map_err(|fault| PhotoRefusal::Damaged(fault.to_string()))?;
    Ok((facts, made))
}

/// A decoded picture: 8-bit red, green, blue, row by row, in the orientation in which it is stored.
struct Pixels {
    width: u32,
    height: u32,
    rgb: Vec<u8>,
}

/// What the structure of a file says before it is decoded.
struct Structure {
    width: u32,
    height: u32,
    components: u8,
    bit_depth: u8,
    /// Decoding holds more than the finished rows.
    held_whole: bool,
    /// The EXIF block (a TIFF structure), if there is one.
    exif: Option<Vec<u8>>,
    passthrough: bool,
}

fn examine(bytes: &[u8], limits: &Limits) -> Result<(PhotoFacts, Pixels), PhotoRefusal> {
    if bytes.is_empty() {
        return Err(PhotoRefusal::Empty);
    }
    if bytes.len() as u64 > limits.bytes {
        return Err(PhotoRefusal::TooLarge { bytes: bytes.len() as u64, most: limits.bytes });
    }
    let media_type = MediaType::of(bytes).ok_or(PhotoRefusal::NoPhoto)?;
    let structure = match media_type {
        MediaType::Jpeg => jpeg::structure(bytes)?,
        MediaType::Png => png::structure(bytes)?,
    };
    check_dimensions(&structure, limits)?;
    let pixels = decode(bytes, media_type)?;
    if (pixels.width, pixels.height) != (structure.width, structure.height) {
        return Err(PhotoRefusal::Damaged(format!(
            "it decodes to {} by {} pixels but claims {} by {}",
            pixels.width, pixels.height, structure.width, structure.height
        )));
    }
    let capture = structure.exif.and_then(|block| guarded(|| capture::read(block)).ok()).unwrap_or_default();
    let facts = PhotoFacts {
        sha256: Sha256Digest::of(bytes),
        bytes: bytes.len() as u64,
        media_type,
        width: structure.width,
        height: structure.height,
        components: structure.components,
        bit_depth: structure.bit_depth,
        orientation: capture.orientation,
        captured_at: capture.captured_at,
        position: capture.position,
        passthrough: structure.passthrough,
    };
    Ok((facts, pixels))
}

fn check_dimensions(structure: &Structure, limits: &Limits) -> Result<(), PhotoRefusal> {
    let Structure { width, height, .. } = *structure;
    let pixels =
        if structure.held_whole { limits.pixels_held_whole.min(limits.pixels) } else { limits.pixels };
    let sides = (1..=limits.side).contains(&width) && (1..=limits.side).contains(&height);
    if sides && u64::from(width) * u64::from(height) <= pixels {
        Ok(())
    } else {
        Err(PhotoRefusal::Dimensions { width, height, side: limits.side, pixels })
    }
}

fn decode(bytes: &[u8], media_type: MediaType) -> Result<Pixels, PhotoRefusal> {
    guarded(|| match media_type {
        MediaType::Jpeg => jpeg::decode(bytes),
        MediaType::Png => png::decode(bytes),
    })?
}

/// Runs a decoder so that a panic inside it refuses the photo instead of ending the program.
///
/// The decoders are other people's code on bytes that anybody may have made, and this workspace turns
/// arithmetic overflow into a panic. Nothing outlives the closure, so nothing can be left half changed.
fn guarded<T>(decoder: impl FnOnce() -> T) -> Result<T, PhotoRefusal> {
    catch_unwind(AssertUnwindSafe(decoder))
        .map_err(|_| PhotoRefusal::Damaged("its data make no sense to the decoder".to_owned()))
}
