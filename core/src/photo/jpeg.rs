//! JPEG (ITU-T T.81): the walk over its markers that says what a file is and whether it is whole, and the
//! strict decoding of its data.
//!
//! The walk never decodes. It finds the end of the picture by itself, because decoders are lenient about a
//! file that stops early: they paint the rest grey.

use zune_core::bytestream::ZCursor;
use zune_core::colorspace::ColorSpace;
use zune_core::options::DecoderOptions;
use zune_jpeg::JpegDecoder;

use super::{PhotoRefusal, Pixels, Structure};

/// More passes over the picture than encoders write: a small file may otherwise claim hours of work.
const MOST_SCANS: usize = 32;

/// Segments before the picture; cameras write some tens (a profile or XMP may be split over many).
const MOST_SEGMENTS: usize = 4_096;

struct Frame {
    width: u32,
    height: u32,
    bit_depth: u8,
    components: u8,
    progressive: bool,
    ids: Vec<u8>,
}

/// What the file says it is, without decoding it.
pub(super) fn structure(bytes: &[u8]) -> Result<Structure, PhotoRefusal> {
    walk_through(bytes).map(|(structure, _)| structure)
}

/// Walks over the file from marker to marker up to the end of the picture; returns where its EOI stands.
fn walk_through(bytes: &[u8]) -> Result<(Structure, usize), PhotoRefusal> {
    let mut walk = Walk { bytes, at: 2 };
    let mut frame = None;
    let mut exif = None;
    let mut adobe = false;
    let mut jfif = false;
    let mut scans = 0_usize;
    for _ in 0..MOST_SEGMENTS {
        match walk.marker()? {
            // EOI: the picture is complete. What phones append behind it (a film, a depth map) is kept with
            // the original bytes and does not concern the picture.
            0xD9 => {
                let frame = frame.ok_or_else(|| damaged("it holds no picture"))?;
                if scans == 0 {
                    return Err(damaged("it holds no picture"));
                }
                let structure = describe(&frame, scans, exif, adobe, jfif);
                return Ok((structure, walk.at - 2));
            }
            0xD8 => return Err(damaged("a second start within the picture")),
            // RST0 to RST7 and TEM stand alone.
            0x01 | 0xD0..=0xD7 => {}
            // SOF0 to SOF2: baseline, extended, progressive. 0xC4, 0xC8 and 0xCC are no frames.
            0xC0..=0xC2 => {
                if frame.is_some() {
                    return Err(damaged("two frames in one picture"));
                }
                let progressive = bytes[walk.at - 1] == 0xC2;
                frame = Some(read_frame(walk.segment()?, progressive)?);
            }
            0xC3 | 0xC5..=0xC7 | 0xC9..=0xCB | 0xCD..=0xCF => {
                return Err(PhotoRefusal::Unsupported(
                    "a JPEG that is lossless, hierarchical or arithmetically coded".to_owned(),
                ));
            }
            0xDA => {
                if frame.is_none() {
                    return Err(damaged("picture data before their description"));
                }
                walk.segment()?;
                walk.skip_scan()?;
                scans += 1;
                if scans > MOST_SCANS {
                    return Err(PhotoRefusal::Unsupported(format!(
                        "a JPEG of more than {MOST_SCANS} passes"
                    )));
                }
            }
            0xE0 => jfif |= walk.segment()?.starts_with(b"JFIF\0"),
            0xE1 => {
                let segment = walk.segment()?;
                if exif.is_none() && segment.starts_with(b"Exif\0\0") {
                    exif = Some(segment[6..].to_vec());
                }
            }
            0xEE => adobe |= walk.segment()?.starts_with(b"Adobe"),
            _ => {
                walk.segment()?;
            }
        }
    }
    Err(damaged("it holds too many segments"))
}

fn describe(frame: &Frame, scans: usize, exif: Option<Vec<u8>>, adobe: bool, jfif: bool) -> Structure {
    // Three components without any statement of the colour space are taken as YCbCr by PDF readers, but
    // as RGB by some encoders' own convention when they are named R, G, B. Only the undisputed go unchanged.
    let named_rgb = frame.ids == *b"RGB" && !adobe && !jfif;
    let colours = frame.components == 1 || (frame.components == 3 && !named_rgb);
    Structure {
        width: frame.width,
        height: frame.height,
        components: frame.components,
        bit_depth: frame.bit_depth,
        held_whole: frame.progressive || scans > 1,
        exif,
        passthrough: frame.bit_depth == 8 && colours,
    }
}

/// T.81 B.2.2: precision, lines, samples a line, components (identifier, sampling, table).
fn read_frame(segment: &[u8], progressive: bool) -> Result<Frame, PhotoRefusal> {
    let [bit_depth, h1, h0, w1, w0, components, rest @ ..] = segment else {
        return Err(damaged("the description of the picture is incomplete"));
    };
    if rest.len() != usize::from(*components) * 3 {
        return Err(damaged("the description of the picture is incomplete"));
    }
    if *bit_depth != 8 {
        return Err(PhotoRefusal::Unsupported(format!("a JPEG of {bit_depth} bits")));
    }
    if !matches!(components, 1 | 3 | 4) {
        return Err(PhotoRefusal::Unsupported(format!("a JPEG of {components} colour components")));
    }
    Ok(Frame {
        width: u32::from(u16::from_be_bytes([*w1, *w0])),
        height: u32::from(u16::from_be_bytes([*h1, *h0])),
        bit_depth: *bit_depth,
        components: *components,
        progressive,
        ids: rest.chunks_exact(3).map(|c| c[0]).collect(),
    })
}

fn damaged(what: &str) -> PhotoRefusal {
    PhotoRefusal::Damaged(what.to_owned())
}

const CUT: PhotoRefusal = PhotoRefusal::CutShort("the end of the picture is missing");

struct Walk<'b> {
    bytes: &'b [u8],
    at: usize,
}

impl<'b> Walk<'b> {
    /// The next marker's second byte. Fill bytes 0xFF before it are allowed (T.81 B.1.1.2).
    fn marker(&mut self) -> Result<u8, PhotoRefusal> {
        let mut filled = false;
        loop {
            let byte = *self.bytes.get(self.at).ok_or(CUT)?;
            self.at += 1;
            match byte {
                0xFF => filled = true,
                0x00 => return Err(damaged("stray bytes between its parts")),
                marker if filled => return Ok(marker),
                _ => return Err(damaged("stray bytes between its parts")),
            }
        }
    }

    /// The segment after a marker, without its two bytes of length.
    fn segment(&mut self) -> Result<&'b [u8], PhotoRefusal> {
        let length = self.bytes.get(self.at..self.at + 2).ok_or(CUT)?;
        let length = usize::from(u16::from_be_bytes([length[0], length[1]]));
        if length < 2 {
            return Err(damaged("a part of impossible length"));
        }
        let segment = self.bytes.get(self.at + 2..self.at + length).ok_or(CUT)?;
        self.at += length;
        Ok(segment)
    }

    /// Passes over entropy-coded data: up to a marker that is neither a stuffed zero nor a restart.
    fn skip_scan(&mut self) -> Result<(), PhotoRefusal> {
        loop {
            let rest = self.bytes.get(self.at..).ok_or(CUT)?;
            let step = rest.iter().position(|&b| b == 0xFF).ok_or(CUT)?;
            let next = *rest.get(step + 1).ok_or(CUT)?;
            match next {
                0x00 | 0xD0..=0xD7 => self.at += step + 2,
                0xFF => self.at += step + 1,
                _ => {
                    self.at += step;
                    return Ok(());
                }
            }
        }
    }
}

/// Decodes the whole picture to 8-bit RGB; anything that the decoder would only warn of is refused.
///
/// Data that stop early although an end follows are found in a JPEG of one pass, unless less than the last row
/// of blocks (8 or 16 lines) is missing; in one of several passes a missing pass only costs sharpness.
pub(super) fn decode(bytes: &[u8]) -> Result<Pixels, PhotoRefusal> {
    let (structure, end) = walk_through(bytes)?;
    if structure.held_whole {
        return decode_strictly(&bytes[..end + 2]);
    }
    // At an EOI the decoder goes on with zeros for as long as it likes; at the end of the bytes it complains.
    // The zeros cover how far it looks ahead, which is less than 16 bytes.
    let mut endless = Vec::with_capacity(end + 16);
    endless.extend_from_slice(&bytes[..end]);
    endless.extend_from_slice(&[0; 16]);
    decode_strictly(&endless)
}

fn decode_strictly(bytes: &[u8]) -> Result<Pixels, PhotoRefusal> {
    let options = DecoderOptions::default()
        .set_strict_mode(true)
        .set_max_width(usize::from(u16::MAX))
        .set_max_height(usize::from(u16::MAX))
        .jpeg_set_max_scans(MOST_SCANS)
        .jpeg_set_out_colorspace(ColorSpace::RGB);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    let rgb = decoder.decode().map_err(|fault| PhotoRefusal::Damaged(first_line(&format!("{fault:?}"))))?;
    let info = decoder.info().ok_or_else(|| damaged("it holds no picture"))?;
    let (width, height) = (u32::from(info.width), u32::from(info.height));
    if rgb.len() as u64 != u64::from(width) * u64::from(height) * 3 {
        return Err(PhotoRefusal::Unsupported("a JPEG of an unusual colour space".to_owned()));
    }
    Ok(Pixels { width, height, rgb })
}

/// Keeps a decoder's own words short: they are shown to a person.
fn first_line(text: &str) -> String {
    let line = text.lines().next().unwrap_or("unreadable");
    line.chars().filter(|c| !c.is_control()).take(120).collect()
}
