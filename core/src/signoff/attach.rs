//! The evidence as a file within the PDF (PDF/A-3, ISO 19005-3, 6.8), and how it is taken out again.

use lopdf::{Dictionary, Document, Object, Stream};

use super::finish::{pdf_date, text_string};
use crate::time::Timestamp;

/// Name of the attached evidence.
pub const EVIDENCE_NAME: &str = "evidence.json";
/// The most bytes that evidence may measure once decompressed: far above any real plot's, far below what
/// would hurt a tablet.
pub const EVIDENCE_LIMIT: usize = 64 << 20;

/// A file to attach.
#[derive(Debug, Clone)]
pub struct Attachment {
    /// File name, ASCII.
    pub name: String,
    /// Such as `application/json`.
    pub media_type: String,
    /// One sentence for people.
    pub description: String,
    /// Contents.
    pub bytes: Vec<u8>,
    /// When they were made.
    pub modified: Timestamp,
}

/// Why evidence cannot be taken out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ExtractFault {
    /// No attachment of that name.
    #[error("the file has no attachment named {EVIDENCE_NAME}")]
    Missing,
    /// It unpacks to more than the bound.
    #[error("the attached evidence cannot be unpacked, or unpacks to more than {} MiB", EVIDENCE_LIMIT >> 20)]
    Unpack,
}

/// Hangs the file into the catalog: as an associated file and in the list of embedded files.
pub(super) fn attach(document: &mut Document, catalog: &mut Dictionary, file: Attachment) {
    let params = Dictionary::from_iter([
        ("Size", Object::Integer(i64::try_from(file.bytes.len()).unwrap_or(i64::MAX))),
        ("ModDate", pdf_date(file.modified)),
    ]);
    let stream = Dictionary::from_iter([
        ("Type", Object::from("EmbeddedFile")),
        ("Subtype", Object::Name(file.media_type.into_bytes())),
        ("Params", Object::Dictionary(params)),
    ]);
    let stream = document.add_object(Stream::new(stream, file.bytes));
    let files = Dictionary::from_iter([("F", Object::Reference(stream)), ("UF", Object::Reference(stream))]);
    let specification = document.add_object(Dictionary::from_iter([
        ("Type", Object::from("Filespec")),
        ("F", text_string(&file.name)),
        ("UF", text_string(&file.name)),
        ("Desc", text_string(&file.description)),
        ("AFRelationship", Object::from("Data")),
        ("EF", Object::Dictionary(files)),
    ]));
    let tree = Dictionary::from_iter([(
        "Names",
        Object::Array(vec![text_string(&file.name), Object::Reference(specification)]),
    )]);
    catalog.set("AF", Object::Array(vec![Object::Reference(specification)]));
    catalog.set(
        "Names",
        Object::Dictionary(Dictionary::from_iter([("EmbeddedFiles", Object::Dictionary(tree))])),
    );
}

/// Takes the evidence out, never unpacking more than [`EVIDENCE_LIMIT`] bytes.
pub(super) fn extract(document: &Document) -> Result<Vec<u8>, ExtractFault> {
    let stream = find(document).ok_or(ExtractFault::Missing)?;
    stream.get_plain_content_with_limit(EVIDENCE_LIMIT).map_err(|_| ExtractFault::Unpack)
}

fn find(document: &Document) -> Option<&Stream> {
    let catalog = document.catalog().ok()?;
    let names = dictionary(document, catalog.get(b"Names").ok()?)?;
    let tree = dictionary(document, names.get(b"EmbeddedFiles").ok()?)?;
    let list = resolve(document, tree.get(b"Names").ok()?)?.as_array().ok()?;
    let named = |pair: &&[Object]| matches!(pair, [name, _] if resolve(document, name).and_then(|n| n.as_str().ok()) == Some(EVIDENCE_NAME.as_bytes()));
    let pair = list.chunks(2).find(named)?;
    let files = dictionary(document, dictionary(document, &pair[1])?.get(b"EF").ok()?)?;
    resolve(document, files.get(b"F").ok()?)?.as_stream().ok()
}

pub(super) fn resolve<'a>(document: &'a Document, object: &'a Object) -> Option<&'a Object> {
    document.dereference(object).ok().map(|(_, object)| object)
}

pub(super) fn dictionary<'a>(document: &'a Document, object: &'a Object) -> Option<&'a Dictionary> {
    resolve(document, object)?.as_dict().ok()
}
