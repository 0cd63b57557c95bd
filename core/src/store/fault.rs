//! What can go wrong with a register's files, in classes that a person can act upon.
//!
//! SQLite's codes are read here and nowhere else.

use std::path::PathBuf;

use rusqlite::ErrorCode;

use crate::ids::{DeviceId, EntryId, RegisterId, Sha256Digest};
use crate::record::RecordFault;

/// Why the store could not do what it was asked. Nothing was half done in any of these cases: every change is
/// one transaction.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// There is no such file.
    #[error("there is no file {}", path.display())]
    Missing {
        /// The file.
        path: PathBuf,
    },
    /// A new register would overwrite something.
    #[error("{} is there already; nothing is overwritten", path.display())]
    Exists {
        /// The file in the way.
        path: PathBuf,
    },
    /// The file is something else.
    #[error("{} is no {wanted}: {why}", path.display())]
    WrongKind {
        /// The file.
        path: PathBuf,
        /// `register` or `photos file`.
        wanted: &'static str,
        /// What it is instead.
        why: &'static str,
    },
    /// The file ends before its own size.
    #[error("{} is cut short: it has {found} bytes of {wanted}; copy it again", path.display())]
    CutShort {
        /// The file.
        path: PathBuf,
        /// Bytes there.
        found: u64,
        /// Bytes that its own header states.
        wanted: u64,
    },
    /// A newer program wrote it. It was not touched; it can be opened read-only.
    #[error(
        "{} was written by a newer program (schema {found}, this one knows {known}); it was not touched",
        path.display()
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// Its schema.
        found: u32,
        /// The newest schema known here.
        known: u32,
    },
    /// An older program wrote it, and it was to be opened without being changed.
    #[error("{} has the older schema {found}: open it once for writing", path.display())]
    Older {
        /// The file.
        path: PathBuf,
        /// Its schema.
        found: u32,
    },
    /// Tables or triggers are not those of the migrations: somebody changed them.
    #[error("the tables of {} are not as this program makes them: {what}", path.display())]
    SchemaDiffers {
        /// The file.
        path: PathBuf,
        /// The first table, index or trigger that differs.
        what: String,
    },
    /// The photos file belongs to another register.
    #[error("{} belongs to register {found}, not to {wanted}", path.display())]
    OtherRegister {
        /// The photos file.
        path: PathBuf,
        /// Whose it is.
        found: RegisterId,
        /// The register beside it.
        wanted: RegisterId,
    },
    /// The photos file is not beside the register.
    #[error("the photos file {} is not beside the register", path.display())]
    PhotosMissing {
        /// Where it should be.
        path: PathBuf,
    },
    /// The disk is full. What was recorded before is whole.
    #[error("the disk is full; nothing of this was recorded, what was recorded before is whole")]
    Full(#[source] rusqlite::Error),
    /// Another program holds the register for longer than the store waits.
    #[error("another program is writing in the register; try again")]
    Busy(#[source] rusqlite::Error),
    /// The file, its folder or its medium does not allow writing.
    #[error("the register cannot be written: the file or its folder allows reading only")]
    ReadOnly(#[source] rusqlite::Error),
    /// The disk failed.
    #[error("the disk did not read or write what it was asked to")]
    Disk(#[source] rusqlite::Error),
    /// The file's structure is broken.
    #[error("the file is damaged; keep it, and go on from a backup")]
    Damaged(#[source] rusqlite::Error),
    /// A stored row cannot be what was written.
    #[error("{what} is damaged: {why}")]
    DamagedRow {
        /// Which row.
        what: String,
        /// What is wrong with it.
        why: String,
    },
    /// A file operation outside of SQLite failed.
    #[error("{} could not be {doing}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// `read`, `made`, …
        doing: &'static str,
        /// The system's word.
        #[source]
        source: std::io::Error,
    },
    /// An entry handed in is not sound.
    #[error("entry {id} is not sound: {source}")]
    Entry {
        /// The entry.
        id: EntryId,
        /// Why.
        source: RecordFault,
    },
    /// An entry handed in belongs to another register.
    #[error("entry {id} belongs to register {found}, not to this one")]
    ForeignEntry {
        /// The entry.
        id: EntryId,
        /// The register it names.
        found: RegisterId,
    },
    /// An entry to append does not follow its device's last one.
    #[error("entry {id} does not follow the last entry of device {device}")]
    NotNext {
        /// The entry.
        id: EntryId,
        /// The device.
        device: DeviceId,
    },
    /// A photo or document that is not there.
    #[error("there is no photo or document {sha256} here")]
    NoOriginal {
        /// Its name.
        sha256: Sha256Digest,
    },
    /// Bytes handed in are not those of the name they came under.
    #[error("the bytes handed in have SHA-256 {found}, not {stated}")]
    OtherBytes {
        /// The name.
        stated: Sha256Digest,
        /// What the bytes have.
        found: Sha256Digest,
    },
    /// A document that is empty or too large.
    #[error("a document must have 1 to {most} bytes; this one has {bytes}")]
    DocumentSize {
        /// Bytes of the document.
        bytes: u64,
        /// Bytes allowed.
        most: u64,
    },
    /// The name of the site is empty or too long.
    #[error("the name of a site must have 1 to 200 characters, without control characters or outer blanks")]
    SiteName,
    /// A setting on which durability rests was not accepted.
    #[error("the disk or file system does not allow {0}, without which nothing can be recorded safely")]
    Setting(&'static str),
    /// Anything else that SQLite reports: a fault of this program.
    #[error("the database refused a statement")]
    Statement(#[source] rusqlite::Error),
}

impl From<rusqlite::Error> for StoreError {
    fn from(error: rusqlite::Error) -> Self {
        // SQLITE_IOERR_SHMSIZE: the index of the log could not grow, which is a full disk in other words.
        const SHM_SIZE: i32 = 4_874;
        if error.sqlite_error().map(|e| e.extended_code) == Some(SHM_SIZE) {
            return Self::Full(error);
        }
        match error.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => Self::Full(error),
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Self::Busy(error),
            Some(
                ErrorCode::ReadOnly
                | ErrorCode::PermissionDenied
                | ErrorCode::AuthorizationForStatementDenied,
            ) => Self::ReadOnly(error),
            Some(ErrorCode::SystemIoFailure | ErrorCode::CannotOpen) => Self::Disk(error),
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => Self::Damaged(error),
            _ if is_conversion(&error) => Self::Damaged(error),
            _ => Self::Statement(error),
        }
    }
}

/// A column does not hold what only this program writes there.
fn is_conversion(error: &rusqlite::Error) -> bool {
    use rusqlite::Error::{FromSqlConversionFailure, IntegralValueOutOfRange, InvalidColumnType, Utf8Error};
    matches!(
        error,
        FromSqlConversionFailure(..) | IntegralValueOutOfRange(..) | InvalidColumnType(..) | Utf8Error(..)
    )
}

/// Why nothing was appended: the caller's own refusal, or the store.
#[derive(Debug, thiserror::Error)]
pub enum AppendError<E> {
    /// Whoever builds the entries refused after seeing the heads.
    #[error("{0}")]
    Refused(E),
    /// The store could not.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl<E> From<rusqlite::Error> for AppendError<E> {
    fn from(error: rusqlite::Error) -> Self {
        Self::Store(error.into())
    }
}
