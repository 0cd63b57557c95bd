//! The check of a register: SQLite's own, the tables against the migrations, every entry opened again, every
//! repeated column against its header, chains and heads, every photo against its name, every projection.
//!
//! Each finding is a sentence with the id of what it is about. What the store cannot judge by itself (signatures,
//! whether a projection would be reckoned alike) comes in through [`Hooks`].

use std::collections::BTreeMap;
use std::fmt;

use rusqlite::{Connection, Row};
use serde_json::Value;

use super::heads::Heads;
use super::open::{Kind, PHOTOS, REGISTER, difference};
use super::projections::{self, Projection, projection};
use super::read::{SELECT, blob, row_digest, stored, subject_text};
use super::{Reader, StoreError, Stored};
use crate::ids::{EntryId, Sha256Digest};
use crate::photo::MediaType;
use crate::record::{self, Header, Link, Scope, SealedEntry, Subject, open as open_entry};

/// How far a check has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Progress {
    /// SQLite's own check runs.
    Files,
    /// So many of all entries are done.
    Entries(u64, u64),
    /// So many of all photos and documents are done.
    Originals(u64, u64),
}

/// What the caller adds to a check. Each returns sentences about what is wrong with what it was shown.
pub struct Hooks<'h> {
    /// Shown every sound entry: signatures, photos that are named.
    pub entry: &'h mut dyn FnMut(&SealedEntry, &Header, &Value) -> Vec<String>,
    /// Shown every sound projection: reckoned again and compared.
    pub projection: &'h mut dyn FnMut(&Projection) -> Vec<String>,
    /// Told how far the check is; `false` stops it.
    pub progress: &'h mut dyn FnMut(Progress) -> bool,
}

/// Runs a check that needs no hooks: `no_hooks(|hooks| reader.check(hooks))`.
pub fn no_hooks<T>(run: impl FnOnce(Hooks<'_>) -> T) -> T {
    run(Hooks { entry: &mut |_, _, _| Vec::new(), projection: &mut |_| Vec::new(), progress: &mut |_| true })
}

/// One thing that is wrong, with its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Finding {
    /// SQLite finds a file damaged.
    File {
        /// `register` or `photos file`.
        file: &'static str,
        /// SQLite's words.
        sentence: String,
    },
    /// Tables or triggers were changed.
    Schema {
        /// `register` or `photos file`.
        file: &'static str,
        /// What differs.
        sentence: String,
    },
    /// An entry is not what was written.
    Entry {
        /// Its place in the order of arrival, if that can be read.
        arrival: Option<u64>,
        /// Its id as it is stored, if that can be read.
        id: Option<EntryId>,
        /// What is wrong.
        sentence: String,
    },
    /// A chain is broken or remarkable.
    Chain(record::Finding),
    /// The kept heads are not those of the entries.
    Heads {
        /// What differs.
        sentence: String,
    },
    /// The photos file is absent.
    NoPhotosFile,
    /// A photo or document is not what was stored.
    Original {
        /// Its name as it is stored, if that can be read.
        sha256: Option<Sha256Digest>,
        /// What is wrong.
        sentence: String,
    },
    /// A derived picture is damaged. It can be made again.
    Rendition {
        /// The photo that it was made from.
        sha256: Option<Sha256Digest>,
        /// What is wrong.
        sentence: String,
    },
    /// A projection is damaged or would be reckoned otherwise. It can be made again.
    Projection {
        /// Its name.
        name: String,
        /// Its subject as it is stored.
        subject: String,
        /// What is wrong.
        sentence: String,
    },
}

impl Finding {
    /// Whether the record itself is touched; otherwise only what is derived from it, or something to look at.
    pub fn touches_the_record(&self) -> bool {
        match self {
            Self::Rendition { .. } | Self::Projection { .. } | Self::Heads { .. } => false,
            Self::Chain(finding) => finding.kind.breaks_the_record(),
            _ => true,
        }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::File { file, sentence } | Self::Schema { file, sentence } => {
                write!(f, "{file}: {sentence}")
            }
            Self::Entry { arrival, id, sentence } => match (arrival, id) {
                (Some(arrival), Some(id)) => write!(f, "entry {id} (number {arrival} here): {sentence}"),
                (Some(arrival), None) => write!(f, "entry number {arrival} here: {sentence}"),
                (None, Some(id)) => write!(f, "entry {id}: {sentence}"),
                (None, None) => write!(f, "an entry: {sentence}"),
            },
            Self::Chain(finding) => write!(
                f,
                "entry {} (number {} of device {}): {}",
                finding.entry, finding.seq, finding.device, finding.sentence
            ),
            Self::Heads { sentence } => write!(f, "heads: {sentence}"),
            Self::NoPhotosFile => f.write_str("the photos file is not beside the register"),
            Self::Original { sha256, sentence } => named(f, "photo or document", *sha256, sentence),
            Self::Rendition { sha256, sentence } => named(f, "smaller picture of photo", *sha256, sentence),
            Self::Projection { name, subject, sentence } => {
                write!(f, "projection {name} of {subject}: {sentence}")
            }
        }
    }
}

fn named(
    f: &mut fmt::Formatter<'_>,
    what: &str,
    sha256: Option<Sha256Digest>,
    sentence: &str,
) -> fmt::Result {
    match sha256 {
        Some(sha256) => write!(f, "{what} {sha256}: {sentence}"),
        None => write!(f, "a {what}: {sentence}"),
    }
}

/// What a check found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct CheckReport {
    /// All that is wrong.
    pub findings: Vec<Finding>,
    /// Entries looked at.
    pub entries: u64,
    /// Photos and documents looked at.
    pub originals: u64,
    /// Projections looked at.
    pub projections: u64,
    /// It was stopped before its end.
    pub stopped: bool,
}

/// Why a part of the check ended early.
enum End {
    Stopped,
    Broken(StoreError),
}

impl From<StoreError> for End {
    fn from(error: StoreError) -> Self {
        Self::Broken(error)
    }
}

impl From<rusqlite::Error> for End {
    fn from(error: rusqlite::Error) -> Self {
        Self::Broken(error.into())
    }
}

impl Reader {
    /// Checks everything, at one moment. A damaged file is a finding, never an error.
    pub fn check(&self, mut hooks: Hooks<'_>) -> CheckReport {
        let mut report = CheckReport::default();
        // Without the moment the check still holds, except while somebody writes.
        let moment = self.register.unchecked_transaction().ok();
        let parts: [(&'static str, Part); 4] = [
            (REGISTER.name, check_register_file),
            (REGISTER.name, check_entries),
            (REGISTER.name, check_projections),
            (PHOTOS.name, check_photos),
        ];
        for (file, part) in parts {
            match part(self, &mut hooks, &mut report) {
                Ok(()) => {}
                Err(End::Stopped) => {
                    report.stopped = true;
                    break;
                }
                Err(End::Broken(error)) => {
                    let sentence = sentence_of(&error);
                    report.findings.push(Finding::File { file, sentence });
                }
            }
        }
        drop(moment);
        report
    }
}

type Part = fn(&Reader, &mut Hooks<'_>, &mut CheckReport) -> Result<(), End>;

fn sentence_of(error: &StoreError) -> String {
    match std::error::Error::source(error) {
        Some(source) => format!("{error} ({source})"),
        None => error.to_string(),
    }
}

fn go_on(hooks: &mut Hooks<'_>, progress: Progress) -> Result<(), End> {
    if (hooks.progress)(progress) { Ok(()) } else { Err(End::Stopped) }
}

fn check_register_file(reader: &Reader, hooks: &mut Hooks<'_>, report: &mut CheckReport) -> Result<(), End> {
    go_on(hooks, Progress::Files)?;
    if !reader.is_newer() {
        check_schema(&REGISTER, &reader.register, report)?;
    }
    check_file(&REGISTER, &reader.register, report)
}

fn check_schema(kind: &Kind, connection: &Connection, report: &mut CheckReport) -> Result<(), End> {
    if let Some(sentence) = difference(kind, connection)? {
        report.findings.push(Finding::Schema { file: kind.name, sentence });
    }
    Ok(())
}

fn check_file(kind: &Kind, connection: &Connection, report: &mut CheckReport) -> Result<(), End> {
    for check in ["integrity_check", "foreign_key_check"] {
        let mut statement = connection.prepare(&format!("PRAGMA {check}"))?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            let sentence: String = row.get(0)?;
            if sentence != "ok" {
                report.findings.push(Finding::File { file: kind.name, sentence });
            }
        }
    }
    Ok(())
}

fn check_entries(reader: &Reader, hooks: &mut Hooks<'_>, report: &mut CheckReport) -> Result<(), End> {
    let count = reader.count()?;
    let columns = "device, seq, prev, subject, subject_prev, kind, utc_ms, row_sha256";
    let sql = SELECT.replacen(" FROM", &format!(", {columns} FROM"), 1);
    let mut statement = reader.register.prepare(&format!("{sql} ORDER BY arrival"))?;
    let mut rows = statement.query([])?;
    let mut headers: Vec<(EntryId, Header)> = Vec::new();
    let mut expected: u64 = 1;
    while let Some(row) = rows.next()? {
        go_on(hooks, Progress::Entries(report.entries, count))?;
        report.entries += 1;
        let found = stored(row);
        let Stored { arrival, entry } = match found {
            Ok(found) => found,
            Err(error) => {
                report.findings.push(unreadable(row, &error));
                expected += 1;
                continue;
            }
        };
        let mut say = |sentence: String| {
            report.findings.push(Finding::Entry { arrival: Some(arrival), id: Some(entry.id), sentence });
        };
        if arrival != expected {
            say(format!("it stands as number {arrival} where {expected} belongs"));
        }
        expected = arrival.saturating_add(1);
        if blob::<32>(row, 13, "")? != row_digest(&entry) {
            say("its stored bytes are not those that were written".to_owned());
        }
        match open_entry(&entry) {
            Err(fault) => say(fault.to_string()),
            Ok((header, payload)) => {
                if header.register != reader.meta.register {
                    say(format!("it belongs to register {}", header.register));
                }
                for column in columns_that_differ(row, &header)? {
                    say(format!("its column {column} is not what its header says"));
                }
                for sentence in (hooks.entry)(&entry, &header, &payload) {
                    say(sentence);
                }
                headers.push((entry.id, header));
            }
        }
    }
    check_chains(reader, &headers, report)
}

fn unreadable(row: &Row<'_>, error: &StoreError) -> Finding {
    Finding::Entry {
        arrival: row.get::<_, i64>(0).ok().and_then(|a| u64::try_from(a).ok()),
        id: blob(row, 1, "").ok().map(EntryId),
        sentence: sentence_of(error),
    }
}

/// Names of the columns that do not repeat the header.
fn columns_that_differ(row: &Row<'_>, header: &Header) -> Result<Vec<&'static str>, StoreError> {
    use rusqlite::types::ValueRef;
    let number = |index: usize, wanted: i64| -> Result<bool, StoreError> {
        Ok(row.get_ref(index)? == ValueRef::Integer(wanted))
    };
    let bytes = |index: usize, wanted: Option<&[u8]>| -> Result<bool, StoreError> {
        Ok(row.get_ref(index)? == wanted.map_or(ValueRef::Null, ValueRef::Blob))
    };
    let text = |index: usize, wanted: &str| -> Result<bool, StoreError> {
        Ok(row.get_ref(index)? == ValueRef::Text(wanted.as_bytes()))
    };
    let same = [
        ("device", bytes(6, Some(&header.device.0))?),
        ("seq", number(7, super::seq_column(header))?),
        ("prev", bytes(8, header.prev.as_ref().map(|id| id.0.as_slice()))?),
        ("subject", text(9, &subject_text(&header.subject))?),
        ("subject_prev", bytes(10, header.subject_prev.as_ref().map(|id| id.0.as_slice()))?),
        ("kind", text(11, &header.kind)?),
        ("utc_ms", number(12, header.time.utc_ms)?),
    ];
    let differ = same.into_iter().filter(|(_, same)| !same);
    Ok(differ.map(|(name, _)| name).collect())
}

fn check_chains(reader: &Reader, headers: &[(EntryId, Header)], report: &mut CheckReport) -> Result<(), End> {
    let links: Vec<Link<'_>> = headers.iter().map(|(id, header)| Link { id: *id, header }).collect();
    let chains = record::check(&links, reader.meta.register, &Scope::Register);
    report.findings.extend(chains.into_iter().map(Finding::Chain));
    // The heads reckoned again from the headers, in the one way that does not depend on the order of arrival.
    let wanted = record::heads(&links);
    let kept = Heads::read(&reader.register)?;
    let mut differ = |sentence: String| report.findings.push(Finding::Heads { sentence });
    for head in wanted.symmetric_difference(&kept.all()) {
        differ(format!(
            "the end {} of device {} is not kept as it follows from the entries",
            head.id, head.device
        ));
    }
    let mut by_subject: BTreeMap<&Subject, Vec<Link<'_>>> = BTreeMap::new();
    for link in &links {
        by_subject.entry(&link.header.subject).or_default().push(*link);
    }
    for subject in kept.subjects() {
        by_subject.entry(subject).or_default();
    }
    for (subject, links) in by_subject {
        if record::root(&record::heads(&links)) != kept.digest_of(subject) {
            differ(format!(
                "the ends on {} are not kept as they follow from the entries",
                subject_text(subject)
            ));
        }
    }
    Ok(())
}

fn check_projections(reader: &Reader, hooks: &mut Hooks<'_>, report: &mut CheckReport) -> Result<(), End> {
    let mut statement = reader.register.prepare(projections::SELECT)?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        report.projections += 1;
        let sentences = match projection(row) {
            Ok(Some(found)) => (hooks.projection)(&found),
            Ok(None) => vec!["its stored bytes are not those that were written".to_owned()],
            Err(error) => vec![sentence_of(&error)],
        };
        let text = |index: usize| -> Result<String, StoreError> {
            let bytes = row.get_ref(index)?.as_bytes().unwrap_or_default();
            Ok(String::from_utf8_lossy(bytes).into_owned())
        };
        let (name, subject) = (text(0)?, text(1)?);
        report.findings.extend(sentences.into_iter().map(|sentence| Finding::Projection {
            name: name.clone(),
            subject: subject.clone(),
            sentence,
        }));
    }
    Ok(())
}

fn check_photos(reader: &Reader, hooks: &mut Hooks<'_>, report: &mut CheckReport) -> Result<(), End> {
    let Some(photos) = &reader.photos else {
        report.findings.push(Finding::NoPhotosFile);
        return Ok(());
    };
    go_on(hooks, Progress::Files)?;
    if !reader.is_newer() {
        check_schema(&PHOTOS, photos, report)?;
    }
    check_file(&PHOTOS, photos, report)?;
    let count: i64 = photos.query_row("SELECT count(*) FROM originals", [], |row| row.get(0))?;
    let count = u64::try_from(count).unwrap_or(0);
    let mut statement = photos.prepare("SELECT sha256, media_type, bytes FROM originals ORDER BY rowid")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        go_on(hooks, Progress::Originals(report.originals, count))?;
        report.originals += 1;
        let stated = blob(row, 0, "").ok().map(Sha256Digest);
        let media_type = row.get_ref(1)?.as_bytes().unwrap_or_default();
        let bytes = row.get_ref(2)?.as_blob().unwrap_or_default();
        let mut say = |sentence: String| {
            report.findings.push(Finding::Original { sha256: stated, sentence });
        };
        let found = Sha256Digest::of(bytes);
        if stated != Some(found) {
            say(format!("its bytes have SHA-256 {found}"));
        }
        // Only for the kinds that are told by their bytes; a document is called what its giver called it.
        let by_bytes = MediaType::of(bytes).map(|kind| kind.as_str().as_bytes());
        let by_name =
            [MediaType::Jpeg, MediaType::Png].iter().any(|kind| kind.as_str().as_bytes() == media_type);
        if (by_name || by_bytes.is_some()) && by_bytes != Some(media_type) {
            say("its media type is not that of its bytes".to_owned());
        }
    }
    let mut statement = photos.prepare("SELECT sha256, bytes, bytes_sha256 FROM renditions")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let bytes = row.get_ref(1)?.as_blob().unwrap_or_default();
        if row.get_ref(2)?.as_blob().ok() != Some(&Sha256Digest::of(bytes).0[..]) {
            report.findings.push(Finding::Rendition {
                sha256: blob(row, 0, "").ok().map(Sha256Digest),
                sentence: "its stored bytes are not those that were written".to_owned(),
            });
        }
    }
    Ok(())
}
