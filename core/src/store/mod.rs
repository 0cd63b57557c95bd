//! The register of a site on disk: entries, their heads, projections, and beside it the photos. The only user of
//! SQLite.
//!
//! - A register is one file, its photos another beside it ([`photos_path`]), so that checking and backing up the
//!   record need not drag gigabytes along.
//! - What [`Store::append`] returned from is on the medium: write-ahead log, `synchronous=FULL`.
//! - Reading the heads and appending are one transaction, so two programs cannot fork a device's chain.
//! - Entries and originals are never changed or deleted: triggers refuse it.
//! - The triggers guard against bugs. Against people guard the signatures; [`Reader::check`] finds decay and
//!   edits of stored bytes.
//!
//! Never here: what an entry means, a clock, a random number, a window. Nothing here belongs on the window's
//! thread; a [`Reader`] of its own goes to whichever thread asks.
//!
//! Reading order: this file, [`read`](Reader), [`heads`](Heads), [`originals`](OriginalFacts),
//! [`projections`](Projection), [`check`](CheckReport), [`fault`](StoreError); `open` holds all settings. The tables
//! are in `migrations/`.

mod check;
mod fault;
mod heads;
mod open;
mod originals;
mod projections;
mod read;

#[cfg(test)]
mod tests;

use std::collections::BTreeMap;
use std::ops::Deref;
use std::path::{Path, PathBuf};

use rusqlite::{Connection, TransactionBehavior, params};

pub use self::check::{CheckReport, Finding, Hooks, Progress, no_hooks};
pub use self::fault::{AppendError, StoreError};
pub use self::heads::Heads;
use self::open::{OpenMode, PHOTOS, REGISTER, make};
pub use self::originals::{MOST_DOCUMENT_BYTES, OriginalFacts};
pub use self::projections::Projection;
pub use self::read::{Reader, RegisterMeta, Stored, subject_text};
use self::read::{has_entry, row_digest};
use crate::ids::{DeviceId, EntryId};
use crate::record::{Header, Mark, SealedEntry, open as open_entry};

/// The newest schema of a register that this program knows.
pub fn newest_schema() -> u32 {
    REGISTER.newest()
}

/// Where the photos of a register lie: the same name, ending in `.photos`.
pub fn photos_path(register: &Path) -> PathBuf {
    register.with_extension("photos")
}

/// An open register, for recording. It reads as a [`Reader`] does.
#[derive(Debug)]
pub struct Store {
    reader: Reader,
    /// The heads as of the last transaction here, and SQLite's mark of what others committed since.
    known: Option<(i64, Heads)>,
}

impl Deref for Store {
    type Target = Reader;
    fn deref(&self) -> &Reader {
        &self.reader
    }
}

impl Store {
    /// Makes a register with its photos file and its first entries: all of it or nothing. Nothing is overwritten.
    ///
    /// # Errors
    /// [`StoreError::Exists`] where either file is there already; [`StoreError::Entry`] for an unsound entry.
    pub fn create(path: &Path, meta: &RegisterMeta, first: &[SealedEntry]) -> Result<Self, StoreError> {
        let name = meta.site.as_str();
        if name.is_empty()
            || name.chars().count() > 200
            || name.trim() != name
            || name.chars().any(char::is_control)
        {
            return Err(StoreError::SiteName);
        }
        let photos = photos_path(path);
        if photos == path {
            return Err(StoreError::WrongKind {
                path: path.to_owned(),
                wanted: REGISTER.name,
                why: "a name in .photos belongs to the photos beside a register",
            });
        }
        for path in [path, &photos] {
            if path.exists() {
                return Err(StoreError::Exists { path: path.to_owned() });
            }
        }
        make(&PHOTOS, &photos, |connection| {
            let sql = "INSERT INTO meta (only_row, register) VALUES (1, ?1)";
            connection.execute(sql, [meta.register.0])?;
            Ok(())
        })?;
        // The register gets its name last: where it is, its photos file is.
        let made = make(&REGISTER, path, |connection| {
            let sql = "INSERT INTO meta (only_row, register, site) VALUES (1, ?1, ?2)";
            connection.execute(sql, params![meta.register.0, meta.site])?;
            for entry in first {
                let header = sound(entry, meta)?;
                insert(connection, entry, &header)?;
            }
            Ok(())
        });
        if let Err(error) = made {
            // Made a moment ago and empty. The failure itself is what is reported.
            let _ = std::fs::remove_file(&photos);
            return Err(error);
        }
        Self::open(path)
    }

    /// Opens a register for recording. An older one is brought to the newest schema after a backup copy.
    ///
    /// # Errors
    /// [`StoreError::Newer`] for what a newer program wrote ([`Reader::open`] opens that), and all that can be
    /// wrong with a file; none of these changes it.
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        Ok(Self { reader: Reader::open_in(path, OpenMode::ReadWrite)?, known: None })
    }

    /// Makes an empty photos file beside a register that lost its own, so that recording can go on; the check
    /// names every photo that is missing.
    pub fn start_new_photos(register: &Path) -> Result<(), StoreError> {
        let photos = photos_path(register);
        if photos.exists() {
            return Err(StoreError::Exists { path: photos });
        }
        let id = Reader::open(register)?.meta.register;
        make(&PHOTOS, &photos, |connection| {
            connection.execute("INSERT INTO meta (only_row, register) VALUES (1, ?1)", [id.0])?;
            Ok(())
        })
    }

    /// A second, read-only connection to the same register, for another thread.
    pub fn another_reader(&self) -> Result<Reader, StoreError> {
        Reader::open(self.path())
    }

    /// Appends the entries of one device's next step: all or none, durable when it returns.
    ///
    /// `build` sees the heads and makes the entries, all within one transaction, so nobody can append in between.
    /// Each entry must follow the last one of its device ([`Heads::device`]). An empty list appends nothing.
    ///
    /// # Errors
    /// [`AppendError::Refused`] with what `build` said; [`AppendError::Store`] otherwise. Nothing was appended in
    /// either case.
    pub fn append<E>(
        &mut self,
        build: impl FnOnce(&Heads) -> Result<Vec<SealedEntry>, E>,
    ) -> Result<Vec<EntryId>, AppendError<E>> {
        let known = self.known.take();
        let transaction = self.reader.register.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let version = data_version(&transaction)?;
        let mut heads = match known {
            Some((then, heads)) if then == version => heads,
            _ => Heads::read(&transaction)?,
        };
        let entries = match build(&heads) {
            Ok(entries) => entries,
            Err(refusal) => {
                drop(transaction);
                self.known = Some((version, heads));
                return Err(AppendError::Refused(refusal));
            }
        };
        let mut written: BTreeMap<DeviceId, Mark> = BTreeMap::new();
        let mut headers = Vec::with_capacity(entries.len());
        for entry in &entries {
            let header = sound(entry, &self.reader.meta)?;
            let before = written.get(&header.device).copied();
            let before = before.or_else(|| heads.device(header.device));
            let follows = header.prev == before.map(|mark| mark.id)
                && header.seq == before.map_or(1, |mark| mark.seq + 1);
            if !follows {
                return Err(StoreError::NotNext { id: entry.id, device: header.device }.into());
            }
            insert(&transaction, entry, &header)?;
            written.insert(header.device, header.mark(entry.id));
            headers.push(header);
        }
        transaction.commit()?;
        for (entry, header) in entries.iter().zip(&headers) {
            heads.follow(entry.id, header);
        }
        self.known = Some((version, heads));
        Ok(entries.iter().map(|entry| entry.id).collect())
    }

    /// Takes entries over that another copy of the register holds, in any order: all or none, durable when it
    /// returns. What is here already stays as it is. A chain that forks is kept in both branches.
    ///
    /// Returns the ids of those that were new. Chains and signatures are the caller's to check beforehand.
    pub fn take_over(&mut self, entries: &[SealedEntry]) -> Result<Vec<EntryId>, StoreError> {
        self.known = None;
        let transaction = self.reader.register.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let mut new = Vec::new();
        for entry in entries {
            let header = sound(entry, &self.reader.meta)?;
            if !has_entry(&transaction, entry.id)? {
                insert(&transaction, entry, &header)?;
                new.push(entry.id);
            }
        }
        transaction.commit()?;
        Ok(new)
    }
}

/// SQLite's number that changes when another connection committed.
fn data_version(connection: &Connection) -> Result<i64, StoreError> {
    Ok(connection.pragma_query_value(None, "data_version", |row| row.get(0))?)
}

/// Whether an entry proves what it can prove by itself, and belongs here.
fn sound(entry: &SealedEntry, meta: &RegisterMeta) -> Result<Header, StoreError> {
    let (header, _) = open_entry(entry).map_err(|source| StoreError::Entry { id: entry.id, source })?;
    if header.register == meta.register {
        Ok(header)
    } else {
        Err(StoreError::ForeignEntry { id: entry.id, found: header.register })
    }
}

fn insert(connection: &Connection, entry: &SealedEntry, header: &Header) -> Result<(), StoreError> {
    let mut statement = connection.prepare_cached(
        "INSERT INTO entries (id, header, payload, device_signature, person_signature,
                              device, seq, prev, subject, subject_prev, kind, utc_ms, row_sha256)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)",
    )?;
    statement.execute(params![
        entry.id.0,
        entry.header,
        entry.payload,
        entry.device_signature,
        entry.person_signature,
        header.device.0,
        seq_column(header),
        header.prev.map(|id| id.0),
        subject_text(&header.subject),
        header.subject_prev.map(|id| id.0),
        header.kind,
        header.time.utc_ms,
        row_digest(entry),
    ])?;
    Ok(())
}

/// A header's number is at most 2^53 − 1.
fn seq_column(header: &Header) -> i64 {
    i64::try_from(header.seq).expect("BUG: an opened header's number is bounded")
}
