//! What a stranger's file says of itself: is it signed, does the signature cover all of it, is it intact,
//! who signed, who vouches for the signer, what evidence is attached. Everything wrong is a named finding.
//!
//! It judges the envelope only. Whether the evidence bears the verdicts out is for the next step. It never
//! panics on hostile bytes and never unpacks more than a stated amount.

use std::ops::Range;

use lopdf::{Dictionary, Document, LoadOptions, Object};
use sha2::{Digest as _, Sha256};

use super::attach::{ExtractFault, dictionary, extract, resolve};
use super::cms::{self, CmsFinding};
use super::sign::position;
use crate::identity::{Certificate, CertificateVerdict};
use crate::time::Timestamp;

/// The largest file that is looked at.
pub const FILE_LIMIT: usize = 1 << 30;
/// The most that one compressed part of the structure may unpack to while the file is read.
const STRUCTURE_LIMIT: usize = 64 << 20;

/// What is wrong with the file.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Finding {
    /// Another kind of file.
    #[error("this is no PDF: it does not begin with %PDF-")]
    NotPdf,
    /// Beyond the bound.
    #[error("the file is larger than {} MiB", FILE_LIMIT >> 20)]
    TooLarge,
    /// The end is missing.
    #[error("the PDF is cut short: its end mark is missing")]
    CutShort,
    /// The structure cannot be read.
    #[error("the PDF cannot be read: {0}")]
    Unreadable(String),
    /// Encrypted files are none of ours.
    #[error("the PDF is encrypted")]
    Encrypted,
    /// A draft, or any other PDF.
    #[error("the PDF is not signed")]
    Unsigned,
    /// Someone signed on top.
    #[error("the PDF holds {0} signatures instead of one")]
    Signatures(usize),
    /// A kind of signature that is none of ours.
    #[error("the signature is of the kind {0:?}, not ETSI.CAdES.detached")]
    Kind(String),
    /// The byte range makes no sense.
    #[error("the signature's byte range is malformed")]
    ByteRange,
    /// Something stands behind what is signed.
    #[error("{0} bytes were appended after signing")]
    Appended(usize),
    /// The range reaches beyond the file.
    #[error("the file is {0} bytes shorter than when it was signed")]
    Shortened(usize),
    /// The uncovered part is more than the signature itself.
    #[error("the signature leaves bytes uncovered that are not its own value")]
    Uncovered,
    /// The message's own findings.
    #[error(transparent)]
    Message(#[from] CmsFinding),
    /// The stated time is missing or no time.
    #[error("the signature does not say when it was made")]
    Time,
    /// No authority's certificate that vouches for the signer's.
    #[error("no authority in the file vouches for the signer's certificate")]
    NoAuthority,
    /// The authority is there, but the signer's certificate does not hold against it.
    #[error("{0}")]
    Certificate(&'static str),
    /// No evidence.
    #[error(transparent)]
    Evidence(#[from] ExtractFault),
}

/// Whose fault a finding is, for the exit code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Class {
    /// The file cannot be used at all: exit code 2.
    Unusable,
    /// The answer is no: exit code 1.
    Refused,
}

impl Finding {
    /// Its class.
    pub fn class(&self) -> Class {
        match self {
            Self::NotPdf | Self::TooLarge | Self::CutShort | Self::Unreadable(_) | Self::Encrypted => {
                Class::Unusable
            }
            _ => Class::Refused,
        }
    }

    /// A short fixed name for machines.
    pub fn name(&self) -> &'static str {
        match self {
            Self::NotPdf => "not-a-pdf",
            Self::TooLarge => "too-large",
            Self::CutShort => "cut-short",
            Self::Unreadable(_) => "unreadable",
            Self::Encrypted => "encrypted",
            Self::Unsigned => "unsigned",
            Self::Signatures(_) => "several-signatures",
            Self::Kind(_) => "signature-kind",
            Self::ByteRange => "byte-range",
            Self::Appended(_) => "bytes-appended",
            Self::Shortened(_) => "bytes-missing",
            Self::Uncovered => "bytes-uncovered",
            Self::Message(CmsFinding::Altered) => "altered",
            Self::Message(CmsFinding::Signature) => "signature-wrong",
            Self::Certificate(_)
            | Self::Message(CmsFinding::OtherCertificate | CmsFinding::NoCertificate) => "certificate",
            Self::Message(_) => "signature-unreadable",
            Self::Time => "no-time",
            Self::NoAuthority => "no-authority",
            Self::Evidence(ExtractFault::Missing) => "evidence-missing",
            Self::Evidence(ExtractFault::Unpack) => "evidence-unpack",
        }
    }
}

/// What the file says.
#[derive(Debug, Clone, Default)]
pub struct Inspection {
    /// Everything wrong with the envelope; empty if it is sound in itself.
    pub findings: Vec<Finding>,
    /// The signature's words, if there is one.
    pub signature: Option<Words>,
    /// The signer's certificate, if the message holds it.
    pub leaf: Option<Certificate>,
    /// The authority's certificate, if its key signed the signer's.
    pub root: Option<Certificate>,
    /// The attached evidence.
    pub evidence: Option<Vec<u8>>,
    /// How many of the first bytes were there before signing.
    pub unsigned: Option<usize>,
    /// Where the signature's own value stands, brackets included.
    pub gap: Option<Range<usize>>,
    /// Photographs as they stand in the file, by resource name.
    pub photos: Vec<(String, Vec<u8>)>,
}

/// What the signature dictionary says.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Words {
    /// Signer.
    pub name: String,
    /// Reason.
    pub reason: String,
    /// Place.
    pub location: String,
    /// Stated time.
    pub time: Option<Timestamp>,
}

/// Looks at a file.
pub fn inspect(bytes: &[u8]) -> Inspection {
    let mut seen = Inspection::default();
    if let Err(finding) = look(bytes, &mut seen) {
        seen.findings.push(finding);
    }
    seen
}

fn look(bytes: &[u8], seen: &mut Inspection) -> Result<(), Finding> {
    if bytes.len() > FILE_LIMIT {
        return Err(Finding::TooLarge);
    }
    if !bytes.starts_with(b"%PDF-") {
        return Err(Finding::NotPdf);
    }
    if !bytes.trim_ascii_end().ends_with(b"%%EOF") {
        // Bytes behind the end mark of a signed file are an alteration, not a file cut short.
        return Err(appended(bytes).unwrap_or(Finding::CutShort));
    }
    let document = load(bytes).map_err(|fault| appended(bytes).unwrap_or(fault))?;
    match extract(&document) {
        Ok(evidence) => seen.evidence = Some(evidence),
        Err(fault) => seen.findings.push(fault.into()),
    }
    seen.photos = photos(&document);
    let signatures: Vec<&Dictionary> = document
        .objects
        .values()
        .filter_map(|object| object.as_dict().ok())
        .filter(|dict| dict.has(b"ByteRange") && dict.has(b"Contents"))
        .collect();
    let Some(signature) = signatures.first() else {
        return Err(Finding::Unsigned);
    };
    if signatures.len() > 1 {
        seen.findings.push(Finding::Signatures(signatures.len()));
    }
    seen.signature = Some(words(&document, signature));
    let kind = signature.get(b"SubFilter").and_then(Object::as_name).unwrap_or_default();
    if kind != b"ETSI.CAdES.detached" {
        seen.findings.push(Finding::Kind(String::from_utf8_lossy(kind).into_owned()));
    }
    let (gap, end) = byte_range(&document, signature).ok_or(Finding::ByteRange)?;
    match end.cmp(&bytes.len()) {
        std::cmp::Ordering::Less => seen.findings.push(Finding::Appended(bytes.len() - end)),
        std::cmp::Ordering::Equal => {}
        std::cmp::Ordering::Greater => return Err(Finding::Shortened(end - bytes.len())),
    }
    let contents = resolve(&document, signature.get(b"Contents").unwrap_or(&Object::Null))
        .and_then(|contents| contents.as_str().ok())
        .unwrap_or_default();
    if gap_value(&bytes[gap.clone()]).as_deref() != Some(contents) {
        seen.findings.push(Finding::Uncovered);
    }
    let mut hash = Sha256::new();
    hash.update(&bytes[..gap.start]);
    hash.update(&bytes[gap.end..end]);
    let message = cms::check(contents, &hash.finalize().into());
    seen.findings.extend(message.findings.into_iter().map(Finding::Message));
    seen.unsigned = unsigned_length(bytes, gap.end);
    seen.gap = Some(gap);
    seen.leaf = message.leaf;
    check_certificate(seen, message.others);
    Ok(())
}

/// Reads the structure. The library is guarded too: should it panic on bytes that nobody thought of, that is
/// a file that cannot be read, not the end of the program.
fn load(bytes: &[u8]) -> Result<Document, Finding> {
    let options = LoadOptions::with_max_decompressed_size(STRUCTURE_LIMIT);
    let loaded = std::panic::catch_unwind(|| Document::load_mem_with_options(bytes, options));
    let document = match loaded {
        Ok(Ok(document)) => document,
        Ok(Err(error)) => return Err(Finding::Unreadable(error.to_string())),
        Err(_) => return Err(Finding::Unreadable("its structure makes no sense".to_owned())),
    };
    if document.is_encrypted() || document.was_encrypted() {
        return Err(Finding::Encrypted);
    }
    if document.catalog().is_err() || document.page_iter().next().is_none() {
        return Err(Finding::Unreadable("it has no pages".to_owned()));
    }
    Ok(document)
}

/// If the part up to one of the last end marks is a signed file of its own: how much stands behind it.
fn appended(bytes: &[u8]) -> Option<Finding> {
    const MARK: &[u8] = b"%%EOF";
    let mut end = bytes.len();
    for _ in 0..4 {
        end = bytes[..end].windows(MARK.len()).rposition(|window| window == MARK)?;
        let whole = end + MARK.len();
        let whole = whole + usize::from(bytes.get(whole) == Some(&b'\n'));
        if whole == bytes.len() {
            continue;
        }
        let Ok(document) = load(&bytes[..whole]) else {
            continue;
        };
        let signed =
            |dict: &Dictionary| byte_range(&document, dict).is_some_and(|(_, covered)| covered <= whole);
        if document.objects.values().filter_map(|object| object.as_dict().ok()).any(signed) {
            return Some(Finding::Appended(bytes.len() - whole));
        }
    }
    None
}

/// The gap and the end of what is covered.
fn byte_range(document: &Document, signature: &Dictionary) -> Option<(Range<usize>, usize)> {
    let range = resolve(document, signature.get(b"ByteRange").ok()?)?.as_array().ok()?;
    let number = |object: &Object| object.as_i64().ok().and_then(|number| usize::try_from(number).ok());
    let numbers: Vec<usize> = range.iter().map(number).collect::<Option<_>>()?;
    let [0, first, second, length] = numbers.as_slice() else {
        return None;
    };
    let end = second.checked_add(*length)?;
    (first < second && end <= FILE_LIMIT).then_some((*first..*second, end))
}

/// The value that the gap spells out, if it holds exactly one hexadecimal string.
fn gap_value(gap: &[u8]) -> Option<Vec<u8>> {
    hex::decode(gap.strip_prefix(b"<")?.strip_suffix(b">")?).ok()
}

/// Where the first revision ends: behind the end mark that follows the table to which the update, written
/// after the gap or around it, points back.
fn unsigned_length(bytes: &[u8], gap_end: usize) -> Option<usize> {
    let update = bytes.get(gap_end..)?;
    let digits = update.get(position(update, b"/Prev ")? + 6..)?;
    let count = digits.iter().take_while(|byte| byte.is_ascii_digit()).count();
    let table: usize = std::str::from_utf8(&digits[..count]).ok()?.parse().ok()?;
    let mark = format!("startxref\n{table}\n%%EOF\n");
    Some(table + position(bytes.get(table..)?, mark.as_bytes())? + mark.len())
}

fn words(document: &Document, signature: &Dictionary) -> Words {
    let text = |key: &[u8]| {
        let object = resolve(document, signature.get(key).ok()?)?;
        Some(lopdf::decode_text_string(object).unwrap_or_default())
    };
    Words {
        name: text(b"Name").unwrap_or_default(),
        reason: text(b"Reason").unwrap_or_default(),
        location: text(b"Location").unwrap_or_default(),
        time: text(b"M").and_then(|date| parse_date(&date)),
    }
}

/// A date as `finish` writes it: to the second, with an offset (ISO 32000-1, 7.9.4).
fn parse_date(text: &str) -> Option<Timestamp> {
    let digits = text.strip_prefix("D:")?;
    let (stamp, offset) = digits.split_at_checked(14)?;
    let time = chrono::NaiveDateTime::parse_from_str(stamp, "%Y%m%d%H%M%S").ok()?;
    let offset = match offset.trim_end_matches('\'') {
        "" | "Z" => 0,
        offset => {
            let (hours, minutes) = offset.get(1..)?.split_once('\'')?;
            let minutes = hours.parse::<i32>().ok()?.checked_mul(60)?.checked_add(minutes.parse().ok()?)?;
            if offset.starts_with('-') { -minutes } else { minutes }
        }
    };
    let utc_ms = time.and_utc().timestamp_millis() - i64::from(offset) * 60_000;
    Timestamp::new(utc_ms, offset)
}

/// Finds the authority that vouches for the signer at the time that the signature states.
fn check_certificate(seen: &mut Inspection, others: Vec<Certificate>) {
    let Some(time) = seen.signature.as_ref().and_then(|words| words.time) else {
        seen.findings.push(Finding::Time);
        return;
    };
    let Some(leaf) = &seen.leaf else { return };
    for root in others {
        match leaf.check_against(&root, time) {
            CertificateVerdict::Good => {}
            CertificateVerdict::Unknown => continue,
            CertificateVerdict::Bad(why) => seen.findings.push(Finding::Certificate(why)),
        }
        seen.root = Some(root);
        return;
    }
    seen.findings.push(Finding::NoAuthority);
}

/// Photographs that the pages may use, as they stand in the file.
fn photos(document: &Document) -> Vec<(String, Vec<u8>)> {
    let first_page = document.page_iter().next();
    let find = || {
        let page = document.get_dictionary(first_page?).ok()?;
        let resources = dictionary(document, page.get(b"Resources").ok()?)?;
        dictionary(document, resources.get(b"XObject").ok()?)
    };
    let Some(objects) = find() else { return Vec::new() };
    objects
        .iter()
        .filter_map(|(name, object)| {
            let stream = resolve(document, object)?.as_stream().ok()?;
            let filter = stream.dict.get(b"Filter").and_then(Object::as_name).ok()?;
            let name = String::from_utf8(name.clone()).ok()?;
            (filter == b"DCTDecode").then(|| (name, stream.content.clone()))
        })
        .collect()
}
