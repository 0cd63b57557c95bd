//! The signature goes onto the finished document: the last step, as an incremental update that leaves the
//! unsigned bytes as they are (ISO 32000-1, 7.5.6 and 12.8; PAdES baseline B-B, ETSI EN 319 142-1).
//!
//! Same document, signer and words give the same bytes: P-256 signatures here are deterministic (RFC 6979).

use std::collections::BTreeMap;
use std::ops::Range;

use lopdf::{Dictionary, Document, IncrementalDocument, Object, ObjectId, Stream, StringFormat};
use sha2::{Digest as _, Sha256};

use super::cms::{CmsFault, Signer, detached};
use super::finish::{pdf_date, text_string};
use super::flow::{SIGNATURE_BOX, SMALL, wrap};
use super::fonts::{Fonts, Weight};
use super::page::{Ink, MM_PER_POINT, Pen, SHEET_HEIGHT, Sheet, Style};
use super::paper::Paper;
use crate::time::Timestamp;

/// Bytes reserved for the message; two certificates and a signature take about 1,500.
const RESERVE: usize = 8192;
/// Stands where the byte range will stand: wider than any offset that a file here can have.
const PLACEHOLDER: i64 = 9_999_999_999;

/// What the signature says, to readers of the PDF and in the block on page 1.
#[derive(Debug, Clone)]
pub struct Statement {
    /// The signer's name.
    pub name: String,
    /// The signer's role.
    pub role: String,
    /// Why it is signed.
    pub reason: String,
    /// Where.
    pub location: String,
    /// When, as the tablet's clock had it.
    pub time: Timestamp,
    /// Who vouches for the signer: the authority's name and fingerprint, in words.
    pub vouched: String,
    /// Strokes of the drawn signature; each point runs from 0 to 1 over width and height of the pad.
    pub drawn: Vec<Vec<(f32, f32)>>,
}

/// The signature could not be put on.
#[derive(Debug, thiserror::Error)]
pub enum SignFault {
    /// The unsigned document is not one of ours.
    #[error("the document to sign cannot be read back")]
    Document(#[source] lopdf::Error),
    /// It could not be written.
    #[error("the signed document could not be written")]
    Write(#[from] std::io::Error),
    /// The message could not be made.
    #[error(transparent)]
    Cms(#[from] CmsFault),
    /// Certificates of absurd size.
    #[error("the signature takes {0} bytes, more than the {RESERVE} kept for it")]
    TooLong(usize),
}

/// A document with its signature's place kept free.
#[derive(Debug, Clone)]
pub struct Prepared {
    /// The whole file; the place for the message is filled with zeros.
    pub bytes: Vec<u8>,
    /// Where the message stands, angle brackets included: the only bytes that the signature does not cover.
    pub gap: Range<usize>,
}

impl Prepared {
    /// SHA-256 of everything but the gap.
    pub fn digest(&self) -> [u8; 32] {
        let mut hash = Sha256::new();
        hash.update(&self.bytes[..self.gap.start]);
        hash.update(&self.bytes[self.gap.end..]);
        hash.finalize().into()
    }
}

/// Signs a finished document.
pub fn sign(
    unsigned: Vec<u8>,
    fonts: &Fonts,
    signer: &Signer<'_>,
    says: &Statement,
) -> Result<Vec<u8>, SignFault> {
    let prepared = prepare(unsigned, fonts, says)?;
    let message = detached(signer, &prepared.digest())?;
    if message.len() > RESERVE {
        return Err(SignFault::TooLong(message.len()));
    }
    let Prepared { mut bytes, gap } = prepared;
    let digits = hex::encode(&message);
    let start = gap.start + 1;
    bytes[start..start + digits.len()].copy_from_slice(digits.as_bytes());
    Ok(bytes)
}

/// Everything but the message itself. A verifier calls this too, to see that the update holds nothing else.
pub fn prepare(unsigned: Vec<u8>, fonts: &Fonts, says: &Statement) -> Result<Prepared, SignFault> {
    let before = unsigned.len();
    let document = Document::load_mem(&unsigned).map_err(SignFault::Document)?;
    let first_page = document.page_iter().next();
    let page_id = first_page.ok_or(SignFault::Document(lopdf::Error::PageNumberNotFound(1)))?;
    let root_id =
        document.trailer.get(b"Root").and_then(Object::as_reference).map_err(SignFault::Document)?;
    let mut update = IncrementalDocument::create_from(unsigned, document);
    "1.7".clone_into(&mut update.new_document.version);
    for id in [page_id, root_id] {
        update.opt_clone_object_to_new_document(id).map_err(SignFault::Document)?;
    }
    let document = &mut update.new_document;
    let appearance = appearance(document, fonts, says);
    let signature = document.add_object(signature_dictionary(says));
    let field = document.add_object(Dictionary::from_iter([
        ("Type", Object::from("Annot")),
        ("Subtype", Object::from("Widget")),
        ("FT", Object::from("Sig")),
        ("T", Object::string_literal("Signature")),
        ("V", Object::Reference(signature)),
        ("Rect", rectangle()),
        // Print, and locked against moving (ISO 32000-1, table 165); PDF/A asks for the first.
        ("F", Object::Integer(132)),
        ("P", Object::Reference(page_id)),
        ("AP", Dictionary::from_iter([("N", Object::Reference(appearance))]).into()),
    ]));
    let form = Dictionary::from_iter([
        ("Fields", Object::Array(vec![Object::Reference(field)])),
        // Signatures exist, and the file may only be appended to (table 219).
        ("SigFlags", Object::Integer(3)),
    ]);
    set(document, page_id, "Annots", Object::Array(vec![Object::Reference(field)]))
        .map_err(SignFault::Document)?;
    set(document, root_id, "AcroForm", form.into()).map_err(SignFault::Document)?;
    let mut bytes = Vec::new();
    update.save_to(&mut bytes)?;
    bytes.push(b'\n');
    Ok(patch(bytes, before))
}

fn set(document: &mut Document, id: ObjectId, key: &str, value: Object) -> Result<(), lopdf::Error> {
    document.get_dictionary_mut(id)?.set(key, value);
    Ok(())
}

fn signature_dictionary(says: &Statement) -> Dictionary {
    let range = [0, PLACEHOLDER, PLACEHOLDER, PLACEHOLDER];
    Dictionary::from_iter([
        ("Type", Object::from("Sig")),
        ("Filter", Object::from("Adobe.PPKLite")),
        ("SubFilter", Object::from("ETSI.CAdES.detached")),
        ("ByteRange", Object::Array(range.map(Object::Integer).to_vec())),
        ("Contents", Object::String(vec![0; RESERVE], StringFormat::Hexadecimal)),
        ("M", pdf_date(says.time)),
        ("Name", text_string(&says.name)),
        ("Reason", text_string(&says.reason)),
        ("Location", text_string(&says.location)),
    ])
}

/// Finds the gap in the update and writes the byte range over its placeholder, in the same room.
fn patch(mut bytes: Vec<u8>, before: usize) -> Prepared {
    let zeros = format!("<{}>", "0".repeat(2 * RESERVE));
    let start = before
        + position(&bytes[before..], zeros.as_bytes()).expect("BUG: the place for the message is there");
    let gap = start..start + zeros.len();
    let placeholder = format!("[0 {PLACEHOLDER} {PLACEHOLDER} {PLACEHOLDER}]");
    let at = before
        + position(&bytes[before..], placeholder.as_bytes())
            .expect("BUG: the place for the byte range is there");
    let range = format!("[0 {} {} {}]", gap.start, gap.end, bytes.len() - gap.end);
    let range = format!("{range:<width$}", width = placeholder.len());
    bytes[at..at + placeholder.len()].copy_from_slice(range.as_bytes());
    Prepared { bytes, gap }
}

pub(super) fn position(haystack: &[u8], needle: &[u8]) -> Option<usize> {
    haystack.windows(needle.len()).position(|window| window == needle)
}

fn rectangle() -> Object {
    let (x, y, width, height) = SIGNATURE_BOX;
    let corners = [x, SHEET_HEIGHT - y - height, x + width, SHEET_HEIGHT - y];
    Object::Array(corners.map(|mm| Object::Real(mm / MM_PER_POINT)).to_vec())
}

/// The block on page 1, drawn at its place and cut out by the form's box; its fonts come along as subsets of
/// their own, because the pages know nothing of who will sign.
fn appearance(document: &mut Document, fonts: &Fonts, says: &Statement) -> ObjectId {
    let mut sheet = Sheet::default();
    draw(&mut sheet, fonts, says);
    let drawn = Paper { sheets: vec![sheet], photos: BTreeMap::new() }.into_document(fonts);
    let page = drawn.page_iter().next().expect("BUG: one sheet makes one page");
    let content = drawn.get_page_content(page);
    let resources = drawn
        .get_dictionary(page)
        .and_then(|page| page.get(b"Resources"))
        .cloned()
        .expect("BUG: the engine gives every page its resources");
    let resources = transplant(&drawn, &resources, document, &mut BTreeMap::new());
    let head = Dictionary::from_iter([
        ("Type", Object::from("XObject")),
        ("Subtype", Object::from("Form")),
        ("BBox", rectangle()),
        ("Resources", resources),
    ]);
    let id = document.add_object(Stream::new(head, content));
    document.compress();
    id
}

/// Copies an object and all that it refers to from one document into another.
fn transplant(
    from: &Document,
    object: &Object,
    into: &mut Document,
    done: &mut BTreeMap<ObjectId, ObjectId>,
) -> Object {
    match object {
        Object::Reference(id) => {
            if let Some(copy) = done.get(id) {
                return Object::Reference(*copy);
            }
            let copy = into.new_object_id();
            done.insert(*id, copy);
            let inner = from.get_object(*id).cloned().unwrap_or(Object::Null);
            let inner = transplant(from, &inner, into, done);
            into.set_object(copy, inner);
            Object::Reference(copy)
        }
        Object::Array(items) => {
            Object::Array(items.iter().map(|item| transplant(from, item, into, done)).collect())
        }
        Object::Dictionary(entries) => Object::Dictionary(transplant_entries(from, entries, into, done)),
        Object::Stream(stream) => {
            let dict = transplant_entries(from, &stream.dict, into, done);
            Object::Stream(Stream { dict, ..stream.clone() })
        }
        plain => plain.clone(),
    }
}

fn transplant_entries(
    from: &Document,
    entries: &Dictionary,
    into: &mut Document,
    done: &mut BTreeMap<ObjectId, ObjectId>,
) -> Dictionary {
    entries.iter().map(|(key, value)| (key.clone(), transplant(from, value, into, done))).collect()
}

fn draw(sheet: &mut Sheet, fonts: &Fonts, says: &Statement) {
    let (x, y, width, height) = SIGNATURE_BOX;
    let pad_width = 66.0;
    sheet.rectangle((x + 0.4, y + 0.4), width - 0.8, height - 0.8, Some(Ink::PAPER), Some(Pen::WIDE));
    let (pad_x, pad_y) = (x + width - pad_width - 3.0, y + 3.0);
    let (pad_w, pad_h) = (pad_width, height - 11.0);
    for stroke in &says.drawn {
        // Whatever is no number within the pad is drawn at its edge.
        let unit = |part: f32| {
            if part.is_finite() { part.clamp(0.0, 1.0) } else { 0.0 }
        };
        let place = |(u, v): &(f32, f32)| (pad_x + unit(*u) * pad_w, pad_y + unit(*v) * pad_h);
        let points: Vec<(f32, f32)> = stroke.iter().map(place).collect();
        sheet.line(&points, Pen { width: 1.3, ink: Ink::TEXT });
    }
    let rule = pad_y + pad_h + 1.0;
    sheet.line(&[(pad_x, rule), (pad_x + pad_w, rule)], Pen::HAIR);
    sheet.text(fonts, (pad_x, rule + 3.6), SMALL, "A reader of PDF shows whether the signature is intact.");
    let left = x + 4.0;
    let words = width - pad_width - 10.0;
    let lead = Style::new(Weight::Semibold, 11.0);
    sheet.text(fonts, (left, y + 5.0), SMALL, "Signed electronically by");
    let mut base = y + 10.4;
    for line in wrap(fonts, lead, &says.name, words).iter().take(2) {
        sheet.text(fonts, (left, base), lead, line);
        base += lead.line_height();
    }
    let plain = Style::new(Weight::Regular, 8.5);
    let rest = [
        (plain, format!("{}, on {} (the tablet's own clock)", says.role, says.time.minute())),
        (plain, says.location.clone()),
        (SMALL, says.vouched.clone()),
    ];
    for (style, text) in rest {
        for line in wrap(fonts, style, &text, words) {
            if base > y + height - 1.5 {
                return;
            }
            sheet.text(fonts, (left, base), style, &line);
            base += style.line_height();
        }
    }
}
