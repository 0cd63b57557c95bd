//! Sheets and photographs become one document of the PDF engine.
//!
//! A photograph's JPEG data go in as they came, byte for byte. Never here: decoding or encoding a picture.

use std::collections::BTreeMap;
use std::sync::Arc;

use printpdf::font::PdfFont;
use printpdf::serialize::{PdfSaveOptions, to_lopdf_doc};
use printpdf::xobject::{DictItem, ExternalStream, ExternalXObject};
use printpdf::{FontId, PdfDocument, XObject, XObjectId};

use super::fonts::{Fonts, Weight};
use super::page::Sheet;

/// The longest edge that is taken, in pixels: beyond it a reader's memory is at risk.
pub const LONGEST_EDGE: u32 = 20_000;

/// Why JPEG data cannot go into the document as they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum JpegFault {
    /// No JPEG at all, or cut short before its size is told.
    #[error("the picture is no JPEG, or it is cut short")]
    NotJpeg,
    /// A coding that PDF readers need not know (arithmetic, lossless, hierarchical).
    #[error("the picture's JPEG coding is neither baseline nor progressive")]
    Coding,
    /// Other than 8 bits a sample.
    #[error("the picture has {0} bits a sample instead of 8")]
    Depth(u8),
    /// Other than grey or three components.
    #[error("the picture has {0} colour components instead of 1 or 3")]
    Components(u8),
    /// No pixels, or too many.
    #[error("the picture measures {0} by {1} pixels, outside 1 to {LONGEST_EDGE}")]
    Size(u32, u32),
}

/// JPEG data that may go into the document unchanged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Jpeg {
    bytes: Arc<[u8]>,
    width: u32,
    height: u32,
    grey: bool,
}

impl Jpeg {
    /// Looks at the headers only (ISO/IEC 10918-1, B.1 and B.2.2). That the data decode whole was seen when
    /// the photograph was taken in; that they stand upright is the caller's to know.
    pub fn from_bytes(bytes: impl Into<Arc<[u8]>>) -> Result<Self, JpegFault> {
        let bytes: Arc<[u8]> = bytes.into();
        let (width, height, components) = frame_header(&bytes)?;
        Ok(Self { bytes, width, height, grey: components == 1 })
    }

    /// Width in pixels.
    pub fn width(&self) -> u32 {
        self.width
    }

    /// Height in pixels.
    pub fn height(&self) -> u32 {
        self.height
    }

    /// The data.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    fn into_xobject(self) -> XObject {
        let name = |text: &str| DictItem::Name(text.as_bytes().to_vec());
        let space = if self.grey { "DeviceGray" } else { "DeviceRGB" };
        let dict = BTreeMap::from([
            ("Type".to_owned(), name("XObject")),
            ("Subtype".to_owned(), name("Image")),
            ("Width".to_owned(), DictItem::Int(self.width.into())),
            ("Height".to_owned(), DictItem::Int(self.height.into())),
            ("BitsPerComponent".to_owned(), DictItem::Int(8)),
            ("ColorSpace".to_owned(), name(space)),
            ("Filter".to_owned(), name("DCTDecode")),
        ]);
        XObject::External(ExternalXObject {
            stream: ExternalStream { dict, content: self.bytes.to_vec(), compress: false },
            width: None,
            height: None,
            dpi: None,
        })
    }
}

/// Width, height and number of components from the frame header.
fn frame_header(bytes: &[u8]) -> Result<(u32, u32, u8), JpegFault> {
    let mut rest = bytes.strip_prefix(&[0xff, 0xd8]).ok_or(JpegFault::NotJpeg)?;
    loop {
        let [0xff, marker, after @ ..] = rest else {
            return Err(JpegFault::NotJpeg);
        };
        match marker {
            // Fill bytes and markers without a segment.
            0xff => rest = &rest[1..],
            0x01 | 0xd0..=0xd7 => rest = after,
            0xc0..=0xc2 => {
                let [_, _, depth, h1, h0, w1, w0, components, ..] = after else {
                    return Err(JpegFault::NotJpeg);
                };
                let width = u32::from(u16::from_be_bytes([*w1, *w0]));
                let height = u32::from(u16::from_be_bytes([*h1, *h0]));
                if *depth != 8 {
                    return Err(JpegFault::Depth(*depth));
                }
                if !matches!(components, 1 | 3) {
                    return Err(JpegFault::Components(*components));
                }
                if !(1..=LONGEST_EDGE).contains(&width) || !(1..=LONGEST_EDGE).contains(&height) {
                    return Err(JpegFault::Size(width, height));
                }
                return Ok((width, height, *components));
            }
            0xc3 | 0xc5..=0xc7 | 0xc9..=0xcb | 0xcd..=0xcf => return Err(JpegFault::Coding),
            0xd8..=0xda => return Err(JpegFault::NotJpeg),
            _ => {
                let [l1, l0, ..] = after else {
                    return Err(JpegFault::NotJpeg);
                };
                let length = usize::from(u16::from_be_bytes([*l1, *l0]));
                rest = after.get(length.max(2)..).ok_or(JpegFault::NotJpeg)?;
            }
        }
    }
}

/// Everything that is to become one PDF.
#[derive(Debug, Clone, Default)]
pub struct Paper {
    /// In order.
    pub sheets: Vec<Sheet>,
    /// By the resource name under which sheets place them.
    pub photos: BTreeMap<String, Jpeg>,
}

impl Paper {
    /// Hands everything to the engine. What comes out is a raw document without fixed identity: `finish`
    /// makes it a proper one.
    pub(super) fn into_document(self, fonts: &Fonts) -> lopdf::Document {
        let mut pdf = PdfDocument::new("");
        for weight in [Weight::Regular, Weight::Semibold] {
            let font = PdfFont::new(fonts.face(weight).clone());
            pdf.resources.fonts.map.insert(FontId(weight.resource().to_owned()), font);
        }
        for (resource, jpeg) in self.photos {
            pdf.resources.xobjects.map.insert(XObjectId(resource), jpeg.into_xobject());
        }
        pdf.pages = self.sheets.into_iter().map(Sheet::into_page).collect();
        let options =
            PdfSaveOptions { optimize: false, subset_fonts: true, secure: true, image_optimization: None };
        to_lopdf_doc(&pdf, &options, &mut Vec::new())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// SOI, one comment segment, a frame header, end of image: enough of a JPEG for its size to be read.
    fn headers(marker: u8, depth: u8, width: u16, height: u16, components: u8) -> Vec<u8> {
        let mut bytes = vec![0xff, 0xd8, 0xff, 0xfe, 0, 4, b'h', b'i', 0xff, marker, 0, 17, depth];
        bytes.extend(height.to_be_bytes());
        bytes.extend(width.to_be_bytes());
        bytes.extend([components, 0xff, 0xd9]);
        bytes
    }

    #[test]
    fn size_and_components_come_from_the_frame_header() {
        let jpeg = Jpeg::from_bytes(headers(0xc0, 8, 4000, 3000, 3)).unwrap();
        assert_eq!((jpeg.width(), jpeg.height(), jpeg.grey), (4000, 3000, false));
        assert!(Jpeg::from_bytes(headers(0xc2, 8, 20_000, 1, 1)).unwrap().grey);
    }

    #[test]
    fn what_a_pdf_reader_need_not_understand_is_refused() {
        let fault = |bytes: Vec<u8>| Jpeg::from_bytes(bytes).unwrap_err();
        assert_eq!(fault(headers(0xc0, 12, 10, 10, 3)), JpegFault::Depth(12));
        assert_eq!(fault(headers(0xc0, 8, 10, 10, 4)), JpegFault::Components(4));
        assert_eq!(fault(headers(0xc9, 8, 10, 10, 3)), JpegFault::Coding);
        assert_eq!(fault(headers(0xc0, 8, 20_001, 10, 3)), JpegFault::Size(20_001, 10));
        assert_eq!(fault(headers(0xc0, 8, 10, 0, 3)), JpegFault::Size(10, 0));
        assert_eq!(fault(b"\x89PNG\r\n\x1a\n".to_vec()), JpegFault::NotJpeg);
    }

    #[test]
    fn cut_short_anywhere_it_is_no_jpeg() {
        let whole = headers(0xc0, 8, 10, 10, 3);
        for length in 0..whole.len() - 2 {
            assert_eq!(Jpeg::from_bytes(whole[..length].to_vec()), Err(JpegFault::NotJpeg), "{length} bytes");
        }
    }
}
