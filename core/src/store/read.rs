//! Reading a register: entries in their order of arrival, heads, and what the register is.
//!
//! Every text comes back exactly as it was stored. A row that cannot be what was written is an error that names
//! the row; nothing is passed over.

use std::path::{Path, PathBuf};

use rusqlite::{Connection, Row, params};
use sha2::{Digest as _, Sha256};

use super::heads::Heads;
use super::open::{OpenMode, PHOTOS, REGISTER, back_up, open};
use super::{StoreError, photos_path};
use crate::ids::{EntryId, PlotId, RegisterId};
use crate::record::{SealedEntry, Subject};

/// What a register is, from the day it was made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RegisterMeta {
    /// The register's own id; every entry names it.
    pub register: RegisterId,
    /// The name of the site, 1 to 200 characters.
    pub site: String,
}

/// An entry and its place in the order in which entries came to this file. The place means nothing elsewhere.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stored {
    /// From 1 upwards.
    pub arrival: u64,
    /// The entry.
    pub entry: SealedEntry,
}

/// An open register, for reading. It can be moved to another thread; the file may be written meanwhile by others,
/// see [`Reader::at_one_moment`].
#[derive(Debug)]
pub struct Reader {
    pub(super) register: Connection,
    pub(super) photos: Option<Connection>,
    pub(super) path: PathBuf,
    pub(super) meta: RegisterMeta,
    pub(super) schema: u32,
}

impl Reader {
    /// Opens a register for looking only. Its files are not changed. The photos file may be absent.
    ///
    /// # Errors
    /// See [`StoreError`]; what a newer program wrote is opened, see [`Reader::is_newer`].
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        Self::open_in(path, OpenMode::ReadOnly)
    }

    pub(super) fn open_in(path: &Path, mode: OpenMode) -> Result<Self, StoreError> {
        let register = open(&REGISTER, path, mode)?;
        let meta = read_meta(&register.connection)?;
        let beside = photos_path(path);
        let photos = match open(&PHOTOS, &beside, mode) {
            Ok(photos) => Some(photos.connection),
            Err(StoreError::Missing { .. }) if mode == OpenMode::ReadOnly => None,
            Err(StoreError::Missing { path }) => return Err(StoreError::PhotosMissing { path }),
            Err(error) => return Err(error),
        };
        if let Some(photos) = &photos {
            let found = read_register_id(photos)?;
            if found != meta.register {
                return Err(StoreError::OtherRegister { path: beside, found, wanted: meta.register });
            }
        }
        Ok(Self {
            register: register.connection,
            photos,
            path: path.to_owned(),
            meta,
            schema: register.schema,
        })
    }

    /// The register's file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What the register is.
    pub fn meta(&self) -> &RegisterMeta {
        &self.meta
    }

    /// The schema that the file has.
    pub fn schema(&self) -> u32 {
        self.schema
    }

    /// Whether a newer program wrote it. Then only looking is possible, and not everything may be seen.
    pub fn is_newer(&self) -> bool {
        self.schema > REGISTER.newest()
    }

    /// Several questions about the same moment, whatever others write meanwhile.
    pub fn at_one_moment<T>(
        &self,
        questions: impl FnOnce(&Self) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        if !self.register.is_autocommit() {
            return questions(self);
        }
        let moment = self.register.unchecked_transaction()?;
        let answers = questions(self);
        moment.finish()?;
        answers
    }

    /// The number of entries.
    pub fn count(&self) -> Result<u64, StoreError> {
        let sql = "SELECT count(*) FROM entries";
        Ok(self.register.query_row(sql, [], |row| count(row, 0))?)
    }

    /// The place of the entry that arrived last; 0 if there is none.
    pub fn last_arrival(&self) -> Result<u64, StoreError> {
        let sql = "SELECT coalesce(max(arrival), 0) FROM entries";
        Ok(self.register.query_row(sql, [], |row| count(row, 0))?)
    }

    /// Whether an entry is there.
    pub fn has_entry(&self, id: EntryId) -> Result<bool, StoreError> {
        has_entry(&self.register, id)
    }

    /// One entry.
    pub fn entry(&self, id: EntryId) -> Result<Option<Stored>, StoreError> {
        let found = self.select("WHERE id = ?1", params![id.0])?;
        Ok(found.into_iter().next())
    }

    /// All entries in their order of arrival.
    pub fn entries(&self) -> Result<Vec<Stored>, StoreError> {
        self.entries_since(0)
    }

    /// The entries that arrived after this place.
    pub fn entries_since(&self, arrival: u64) -> Result<Vec<Stored>, StoreError> {
        let after = i64::try_from(arrival).unwrap_or(i64::MAX);
        self.select("WHERE arrival > ?1 ORDER BY arrival", [after])
    }

    /// The entries on one subject, in their order of arrival.
    pub fn entries_of(&self, subject: &Subject) -> Result<Vec<Stored>, StoreError> {
        self.select("WHERE subject = ?1 ORDER BY arrival", [subject_text(subject)])
    }

    /// The entries of one kind, in their order of arrival.
    pub fn entries_of_kind(&self, kind: &str) -> Result<Vec<Stored>, StoreError> {
        self.select("WHERE kind = ?1 ORDER BY arrival", [kind])
    }

    fn select(&self, which: &str, values: impl rusqlite::Params) -> Result<Vec<Stored>, StoreError> {
        // `which` is always one of the constant clauses above.
        let mut statement = self.register.prepare_cached(&format!("{SELECT} {which}"))?;
        let mut rows = statement.query(values)?;
        let mut found = Vec::new();
        while let Some(row) = rows.next()? {
            found.push(stored(row)?);
        }
        Ok(found)
    }

    /// The ends of all chains.
    pub fn heads(&self) -> Result<Heads, StoreError> {
        self.at_one_moment(|reader| Heads::read(&reader.register))
    }

    /// Copies the register and its photos, live, into new files: `to`, and its photos beside it.
    ///
    /// # Errors
    /// [`StoreError::Exists`] if either is there already; nothing is overwritten.
    pub fn back_up(&self, to: &Path) -> Result<(), StoreError> {
        let photos = photos_path(to);
        for path in [to, &photos] {
            if path.exists() {
                return Err(StoreError::Exists { path: path.to_owned() });
            }
        }
        // The register first: every photo that it names was committed before, so the later copy of the photos
        // has it.
        back_up(&self.register, to)?;
        self.photos.as_ref().map_or(Ok(()), |from| back_up(from, &photos))
    }
}

pub(super) const SELECT: &str =
    "SELECT arrival, id, header, payload, device_signature, person_signature FROM entries";

fn read_meta(connection: &Connection) -> Result<RegisterMeta, StoreError> {
    let site = connection.query_row("SELECT site FROM meta", [], |row| row.get(0))?;
    Ok(RegisterMeta { register: read_register_id(connection)?, site })
}

fn read_register_id(connection: &Connection) -> Result<RegisterId, StoreError> {
    let register = connection.query_row("SELECT register FROM meta", [], |row| row.get(0))?;
    Ok(RegisterId(register))
}

pub(super) fn has_entry(connection: &Connection, id: EntryId) -> Result<bool, StoreError> {
    let mut statement = connection.prepare_cached("SELECT 1 FROM entries WHERE id = ?1")?;
    Ok(statement.exists([id.0])?)
}

/// Reads one row of [`SELECT`].
pub(super) fn stored(row: &Row<'_>) -> Result<Stored, StoreError> {
    let arrival = count(row, 0)?;
    let place = format!("the entry that arrived as number {arrival}");
    let text = |index: usize, name: &str| -> Result<String, StoreError> {
        let bytes = row.get_ref(index)?.as_bytes().map_err(|fault| damaged(&place, &fault))?;
        let text = std::str::from_utf8(bytes).map_err(|_| StoreError::DamagedRow {
            what: place.clone(),
            why: format!("its {name} is no text"),
        })?;
        Ok(text.to_owned())
    };
    let bytes = |index: usize| -> Result<Vec<u8>, StoreError> {
        row.get_ref(index)?.as_blob().map(<[u8]>::to_vec).map_err(|fault| damaged(&place, &fault))
    };
    let person_signature = match row.get_ref(5)? {
        rusqlite::types::ValueRef::Null => None,
        _ => Some(bytes(5)?),
    };
    Ok(Stored {
        arrival,
        entry: SealedEntry {
            id: EntryId(blob(row, 1, &place)?),
            header: text(2, "header")?,
            payload: text(3, "payload")?,
            device_signature: bytes(4)?,
            person_signature,
        },
    })
}

fn damaged(place: &str, why: &impl std::fmt::Display) -> StoreError {
    StoreError::DamagedRow { what: place.to_owned(), why: why.to_string() }
}

/// A column that counts: SQLite's own integers have a sign.
pub(super) fn count(row: &Row<'_>, index: usize) -> rusqlite::Result<u64> {
    let number: i64 = row.get(index)?;
    u64::try_from(number).map_err(|_| rusqlite::Error::IntegralValueOutOfRange(index, number))
}

/// A column of so many bytes.
pub(super) fn blob<const N: usize>(row: &Row<'_>, index: usize, place: &str) -> Result<[u8; N], StoreError> {
    let bytes = row.get_ref(index)?.as_blob().map_err(|fault| damaged(place, &fault))?;
    bytes.try_into().map_err(|_| damaged(place, &format!("{} bytes stand where {N} belong", bytes.len())))
}

/// How a subject stands in the register: `site`, or `plot/` and the plot's name.
pub fn subject_text(subject: &Subject) -> String {
    match subject {
        Subject::Site => "site".to_owned(),
        Subject::Plot(plot) => format!("plot/{plot}"),
    }
}

pub(super) fn subject_from_text(text: &str) -> Result<Subject, StoreError> {
    let plot = text.strip_prefix("plot/").and_then(|name| PlotId::new(name).ok());
    match (text, plot) {
        ("site", _) => Ok(Subject::Site),
        (_, Some(plot)) => Ok(Subject::Plot(plot)),
        _ => Err(damaged("the heads", &format!("{text:?} is no subject"))),
    }
}

/// What finds decay of a stored row: each part behind its length.
pub(super) fn row_digest(entry: &SealedEntry) -> [u8; 32] {
    let mut hash = Sha256::new();
    let mut part = |bytes: &[u8]| {
        hash.update((bytes.len() as u64).to_be_bytes());
        hash.update(bytes);
    };
    part(&entry.id.0);
    part(entry.header.as_bytes());
    part(entry.payload.as_bytes());
    part(&entry.device_signature);
    part(entry.person_signature.as_deref().unwrap_or_default());
    hash.finalize().into()
}
