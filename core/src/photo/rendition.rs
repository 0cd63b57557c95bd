//! Smaller pictures made from a photograph: one for the screen, one for lists. They are derived, upright,
//! and may be thrown away and made again at any time; nothing is ever judged or proved by them.
//!
//! Not promised: the same bytes on every machine. The resizer uses whatever vector instructions there are.

use fast_image_resize as fir;
use fir::images::Image;
use fir::{FilterType, PixelType, ResizeAlg, ResizeOptions, Resizer};
use image::codecs::jpeg::JpegEncoder;
use image::metadata::Orientation;
use image::{DynamicImage, RgbImage};

use super::{MediaType, PhotoFacts, PhotoRefusal, Pixels};

/// Which of the two derived pictures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RenditionKind {
    /// For looking at: at most 1600 pixels along a side.
    Screen,
    /// For lists: at most 320 pixels along a side.
    Thumbnail,
}

impl RenditionKind {
    /// Both, the larger first.
    pub const ALL: [Self; 2] = [Self::Screen, Self::Thumbnail];

    /// The most pixels along a side.
    pub fn longest_side(self) -> u32 {
        match self {
            Self::Screen => 1_600,
            Self::Thumbnail => 320,
        }
    }

    /// The name under which it is stored.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Screen => "screen",
            Self::Thumbnail => "thumbnail",
        }
    }

    fn quality(self) -> u8 {
        match self {
            Self::Screen => 85,
            Self::Thumbnail => 80,
        }
    }
}

/// Both derived pictures as JPEG files, upright, 8-bit RGB.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Renditions {
    /// At most 1600 pixels along a side.
    pub screen: Vec<u8>,
    /// At most 320 pixels along a side.
    pub thumbnail: Vec<u8>,
}

impl Renditions {
    /// One of the two.
    pub fn of(&self, kind: RenditionKind) -> &[u8] {
        match kind {
            RenditionKind::Screen => &self.screen,
            RenditionKind::Thumbnail => &self.thumbnail,
        }
    }
}

/// Why no smaller picture could be made.
#[derive(Debug, thiserror::Error)]
pub enum RenditionFault {
    /// The original does not decode (any more).
    #[error("the photo cannot be read: {0}")]
    Original(#[from] PhotoRefusal),
    /// The resizer refused; the picture's size and its pixels do not agree.
    #[error("the photo cannot be made smaller")]
    Resize(#[source] Box<dyn std::error::Error + Send + Sync>),
    /// The encoder refused.
    #[error("the smaller photo cannot be written")]
    Encode(#[source] image::ImageError),
}

/// Makes both derived pictures of a photograph that was taken in.
///
/// # Errors
/// [`RenditionFault`], if the bytes are not those that the facts were read from.
pub fn renditions(bytes: &[u8], facts: &PhotoFacts) -> Result<Renditions, RenditionFault> {
    both(decode(bytes, facts)?, facts.orientation)
}

/// Makes one JPEG file of a photograph that was taken in: upright, 8-bit RGB, at most `longest_side` pixels
/// along a side (never larger than the original), with JPEG quality 1 to 100.
///
/// # Errors
/// [`RenditionFault`], if the bytes are not those that the facts were read from.
pub fn rendition(
    bytes: &[u8],
    facts: &PhotoFacts,
    longest_side: u32,
    quality: u8,
) -> Result<Vec<u8>, RenditionFault> {
    let small = fit(decode(bytes, facts)?, longest_side)?;
    encode(upright(small, facts.orientation)?, quality)
}

fn decode(bytes: &[u8], facts: &PhotoFacts) -> Result<Pixels, PhotoRefusal> {
    // The dimensions were refused at taking in; bytes that are not those of the facts are not decoded.
    if MediaType::of(bytes) != Some(facts.media_type) || bytes.len() as u64 != facts.bytes {
        return Err(PhotoRefusal::Damaged("it is not the file that was taken in".to_owned()));
    }
    let structure = match facts.media_type {
        MediaType::Jpeg => super::jpeg::structure(bytes)?,
        MediaType::Png => super::png::structure(bytes)?,
    };
    if (structure.width, structure.height) != (facts.width, facts.height) {
        return Err(PhotoRefusal::Damaged("it is not the file that was taken in".to_owned()));
    }
    super::decode(bytes, facts.media_type)
}

pub(super) fn both(pixels: Pixels, orientation: u8) -> Result<Renditions, RenditionFault> {
    // Small first, upright afterwards: turning the full picture costs more than making it small.
    let screen = fit(pixels, RenditionKind::Screen.longest_side())?;
    let screen = upright(screen, orientation)?;
    // The list picture is made from the screen picture: a hundredth of the work, no visible difference.
    let thumbnail = fit(
        Pixels { width: screen.width(), height: screen.height(), rgb: screen.as_raw().clone() },
        RenditionKind::Thumbnail.longest_side(),
    )?;
    let thumbnail = upright(thumbnail, 1)?;
    Ok(Renditions {
        screen: encode(screen, RenditionKind::Screen.quality())?,
        thumbnail: encode(thumbnail, RenditionKind::Thumbnail.quality())?,
    })
}

/// Makes a picture fit into a square; a smaller one stays as it is.
fn fit(pixels: Pixels, longest_side: u32) -> Result<Pixels, RenditionFault> {
    let longest = pixels.width.max(pixels.height);
    if longest <= longest_side {
        return Ok(pixels);
    }
    let scaled = |side: u32| {
        let nearest =
            (u64::from(side) * u64::from(longest_side) + u64::from(longest) / 2) / u64::from(longest);
        u32::try_from(nearest.max(1)).unwrap_or(longest_side)
    };
    let (width, height) = (scaled(pixels.width), scaled(pixels.height));
    let source = Image::from_vec_u8(pixels.width, pixels.height, pixels.rgb, PixelType::U8x3)
        .map_err(|fault| RenditionFault::Resize(Box::new(fault)))?;
    let mut target = Image::new(width, height, PixelType::U8x3);
    let options = ResizeOptions::new().resize_alg(ResizeAlg::Convolution(FilterType::Lanczos3));
    Resizer::new()
        .resize(&source, &mut target, &options)
        .map_err(|fault| RenditionFault::Resize(Box::new(fault)))?;
    Ok(Pixels { width, height, rgb: target.into_vec() })
}

fn upright(pixels: Pixels, orientation: u8) -> Result<RgbImage, RenditionFault> {
    let picture = RgbImage::from_raw(pixels.width, pixels.height, pixels.rgb)
        .ok_or_else(|| RenditionFault::Resize("pixels and size do not agree".into()))?;
    let mut picture = DynamicImage::ImageRgb8(picture);
    picture.apply_orientation(Orientation::from_exif(orientation).unwrap_or(Orientation::NoTransforms));
    Ok(picture.into_rgb8())
}

fn encode(picture: RgbImage, quality: u8) -> Result<Vec<u8>, RenditionFault> {
    let mut bytes = Vec::new();
    let encoder = JpegEncoder::new_with_quality(&mut bytes, quality.clamp(1, 100));
    DynamicImage::ImageRgb8(picture).write_with_encoder(encoder).map_err(RenditionFault::Encode)?;
    Ok(bytes)
}
