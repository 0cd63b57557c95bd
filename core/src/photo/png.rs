//! PNG (ISO/IEC 15948): the walk over its chunks that says what a file is and whether it is whole, and its
//! decoding within a bound of memory.

use std::io::Cursor;

use image::codecs::png::PngDecoder;
use image::{DynamicImage, ImageDecoder as _};

use super::{PhotoRefusal, Pixels, Structure};

/// An EXIF block of a camera has at most 64 KB; a larger one is not looked into.
const MOST_EXIF: usize = 1 << 20;

/// Chunks of a sound file: one for each row would still fit.
const MOST_CHUNKS: usize = 65_536;

/// Eight bytes of signature, then chunks of length, name, data and checksum up to `IEND`.
pub(super) fn structure(bytes: &[u8]) -> Result<Structure, PhotoRefusal> {
    const CUT: PhotoRefusal = PhotoRefusal::CutShort("the end of the picture is missing");
    let mut at = 8_usize;
    let mut found: Option<Structure> = None;
    let mut exif = None;
    for _ in 0..MOST_CHUNKS {
        let head = bytes.get(at..at + 8).ok_or(CUT)?;
        let length = u32::from_be_bytes([head[0], head[1], head[2], head[3]]);
        let length = usize::try_from(length).map_err(|_| CUT)?;
        let name = &head[4..8];
        // 12 is length, name and checksum; the file's own limit of size keeps this sum small.
        let end = at.checked_add(length).and_then(|e| e.checked_add(12)).ok_or(CUT)?;
        let data = bytes.get(at + 8..at + 8 + length).ok_or(CUT)?;
        bytes.get(end - 4..end).ok_or(CUT)?;
        match name {
            b"IHDR" => found = Some(header(data)?),
            b"eXIf" if length <= MOST_EXIF => exif = Some(data.to_vec()),
            b"IEND" => {
                let mut structure =
                    found.ok_or_else(|| PhotoRefusal::Damaged("it holds no picture".to_owned()))?;
                structure.exif = exif;
                return Ok(structure);
            }
            _ => {}
        }
        at = end;
    }
    Err(PhotoRefusal::Damaged("it holds too many chunks".to_owned()))
}

/// ISO/IEC 15948, 11.2.2: width, height, bit depth, colour type.
fn header(data: &[u8]) -> Result<Structure, PhotoRefusal> {
    let [w3, w2, w1, w0, h3, h2, h1, h0, bit_depth, colour, ..] = data else {
        return Err(PhotoRefusal::Damaged("the description of the picture is incomplete".to_owned()));
    };
    let components = match colour {
        0 => 1,
        2 | 3 => 3,
        4 => 2,
        6 => 4,
        _ => return Err(PhotoRefusal::Damaged("an impossible colour type".to_owned())),
    };
    Ok(Structure {
        width: u32::from_be_bytes([*w3, *w2, *w1, *w0]),
        height: u32::from_be_bytes([*h3, *h2, *h1, *h0]),
        components,
        bit_depth: *bit_depth,
        held_whole: true,
        exif: None,
        passthrough: false,
    })
}

/// Decodes the whole picture to 8-bit RGB. Transparency is dropped: a photo has none.
pub(super) fn decode(bytes: &[u8]) -> Result<Pixels, PhotoRefusal> {
    let mut bounds = image::Limits::default();
    bounds.max_alloc = Some(512 << 20);
    let damaged = |fault: image::ImageError| PhotoRefusal::Damaged(fault.to_string());
    let decoder = PngDecoder::with_limits(Cursor::new(bytes), bounds).map_err(damaged)?;
    let (width, height) = decoder.dimensions();
    let rgb = DynamicImage::from_decoder(decoder).map_err(damaged)?.into_rgb8().into_raw();
    Ok(Pixels { width, height, rgb })
}
