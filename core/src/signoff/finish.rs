//! From the engine's raw document to a proper one: PDF 1.7, structure of PDF/A-3 level B (ISO 19005-3), own
//! metadata, an attachment, a fixed identity.
//!
//! No validator of PDF/A-3 was at hand when this was written: the document is built to the standard's
//! clauses and claims the level in its metadata as the standard demands, but nothing here certifies it.
//! Never here: today's date or a random identity. The same input gives the same bytes.

use std::fmt::Write as _;

use lopdf::{Dictionary, Document, Object, Stream, StringFormat};
use sha2::{Digest as _, Sha256};

use super::attach::{Attachment, attach};
use super::fonts::Fonts;
use super::paper::Paper;
use super::srgb;
use crate::time::Timestamp;

/// What the document says of itself in its metadata.
#[derive(Debug, Clone)]
pub struct About {
    /// Title.
    pub title: String,
    /// Whose record it is.
    pub author: String,
    /// One sentence.
    pub subject: String,
    /// Program and version.
    pub producer: String,
    /// The one date, for creation and change alike.
    pub created: Timestamp,
}

/// The document could not be written.
#[derive(Debug, thiserror::Error)]
#[error("the PDF engine could not write the document")]
pub struct WriteFault(#[from] std::io::Error);

/// Writes the whole unsigned document.
pub fn write(
    paper: Paper,
    fonts: &Fonts,
    about: &About,
    attachment: Attachment,
) -> Result<Vec<u8>, WriteFault> {
    let mut document = paper.into_document(fonts);
    "1.7".clone_into(&mut document.version);
    let mut catalog = Dictionary::from_iter([
        ("Type", Object::from("Catalog")),
        ("Pages", pages(&document)),
        ("Lang", Object::string_literal("en-GB")),
        ("ViewerPreferences", Dictionary::from_iter([("DisplayDocTitle", Object::Boolean(true))]).into()),
    ]);
    let intent = output_intent(&mut document);
    catalog.set("OutputIntents", Object::Array(vec![intent.into()]));
    attach(&mut document, &mut catalog, attachment);
    // Searched for by programs that do not read PDF: hence never compressed.
    let head = Dictionary::from_iter([("Type", Object::from("Metadata")), ("Subtype", Object::from("XML"))]);
    let metadata =
        document.add_object(Stream::new(head, metadata(about).into_bytes()).with_compression(false));
    catalog.set("Metadata", Object::Reference(metadata));
    replace(&mut document, "Root", catalog);
    replace(&mut document, "Info", info(about));
    document.compress();
    // The engine's own identity is random; ours follows from everything else in the file.
    document.trailer.remove(b"ID");
    let draft = save(&mut document)?;
    let digest = Sha256::digest(&draft);
    let id = Object::String(digest[..16].to_vec(), StringFormat::Hexadecimal);
    document.trailer.set("ID", Object::Array(vec![id.clone(), id]));
    Ok(save(&mut document)?)
}

fn save(document: &mut Document) -> Result<Vec<u8>, std::io::Error> {
    let mut bytes = Vec::new();
    document.save_to(&mut bytes)?;
    bytes.push(b'\n');
    Ok(bytes)
}

fn pages(document: &Document) -> Object {
    document
        .catalog()
        .and_then(|catalog| catalog.get(b"Pages"))
        .cloned()
        .expect("BUG: the engine writes a catalog with pages")
}

/// Puts a dictionary in the place of the one that the trailer names.
fn replace(document: &mut Document, key: &str, dictionary: Dictionary) {
    let id = document
        .trailer
        .get(key.as_bytes())
        .and_then(Object::as_reference)
        .expect("BUG: the engine names catalog and information in the trailer");
    document.set_object(id, dictionary);
}

fn output_intent(document: &mut Document) -> Dictionary {
    let head = Dictionary::from_iter([("N", Object::Integer(3))]);
    let profile = document.add_object(Stream::new(head, srgb::profile()));
    Dictionary::from_iter([
        ("Type", Object::from("OutputIntent")),
        ("S", Object::from("GTS_PDFA1")),
        ("OutputConditionIdentifier", Object::string_literal("sRGB")),
        ("Info", Object::string_literal("sRGB IEC 61966-2-1")),
        ("DestOutputProfile", Object::Reference(profile)),
    ])
}

fn info(about: &About) -> Dictionary {
    Dictionary::from_iter([
        ("Title", text_string(&about.title)),
        ("Author", text_string(&about.author)),
        ("Subject", text_string(&about.subject)),
        ("Creator", text_string(&about.producer)),
        ("Producer", text_string(&about.producer)),
        ("CreationDate", pdf_date(about.created)),
        ("ModDate", pdf_date(about.created)),
    ])
}

/// The metadata packet (ISO 16684-1), saying the same as the information dictionary.
fn metadata(about: &About) -> String {
    let (title, author) = (xml(&about.title), xml(&about.author));
    let (subject, producer) = (xml(&about.subject), xml(&about.producer));
    let date = about.created;
    format!(
        "<?xpacket begin=\"\u{feff}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n\
<x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n\
<rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n\
<rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\" \
xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\" xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\" \
xmlns:pdfaid=\"http://www.aiim.org/pdfa/ns/id/\">\n\
<pdfaid:part>3</pdfaid:part>\n\
<pdfaid:conformance>B</pdfaid:conformance>\n\
<dc:format>application/pdf</dc:format>\n\
<dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">{title}</rdf:li></rdf:Alt></dc:title>\n\
<dc:creator><rdf:Seq><rdf:li>{author}</rdf:li></rdf:Seq></dc:creator>\n\
<dc:description><rdf:Alt><rdf:li xml:lang=\"x-default\">{subject}</rdf:li></rdf:Alt></dc:description>\n\
<pdf:Producer>{producer}</pdf:Producer>\n\
<xmp:CreatorTool>{producer}</xmp:CreatorTool>\n\
<xmp:CreateDate>{date}</xmp:CreateDate>\n\
<xmp:ModifyDate>{date}</xmp:ModifyDate>\n\
</rdf:Description>\n</rdf:RDF>\n</x:xmpmeta>\n<?xpacket end=\"r\"?>"
    )
}

/// Text for XML 1.0: markup escaped, characters that it cannot hold replaced visibly.
fn xml(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in visible(text).chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&apos;"),
            _ => out.push(letter),
        }
    }
    out
}

/// Control characters and the two non-characters that XML forbids become the replacement character, in the
/// information dictionary too, so that both say the same.
fn visible(text: &str) -> String {
    let forbidden = |letter: char| letter.is_control() || matches!(letter, '\u{fffe}' | '\u{ffff}');
    text.chars().map(|letter| if forbidden(letter) { '\u{fffd}' } else { letter }).collect()
}

/// A text string (ISO 32000-1, 7.9.2.2): ASCII as it is, anything else as UTF-16 with its mark.
pub(super) fn text_string(text: &str) -> Object {
    let text = visible(text);
    if text.is_ascii() {
        return Object::String(text.into_bytes(), StringFormat::Literal);
    }
    let units = std::iter::once(0xfeff).chain(text.encode_utf16());
    Object::String(units.flat_map(u16::to_be_bytes).collect(), StringFormat::Hexadecimal)
}

/// A date (ISO 32000-1, 7.9.4), to the second, with its offset.
pub(super) fn pdf_date(time: Timestamp) -> Object {
    let mut text = String::new();
    let minutes = time.offset_min.unsigned_abs();
    let sign = if time.offset_min < 0 { '-' } else { '+' };
    write!(text, "D:{}{sign}{:02}'{:02}'", time.local().format("%Y%m%d%H%M%S"), minutes / 60, minutes % 60)
        .expect("BUG: writing to a string");
    Object::string_literal(text)
}
