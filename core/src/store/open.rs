//! The one opener of both files: what kind of file it is (before SQLite touches it), the settings on which
//! durability rests, migration, and whether the tables are those of the migrations.
//!
//! A file of another kind, cut short, or written by a newer program is refused untouched.

use std::fmt::Write as _;
use std::fs::{self, File};
use std::io::Read as _;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags, TransactionBehavior};

use super::StoreError;

/// How long a writer waits for another program before it says that the register is busy.
const WAIT: Duration = Duration::from_secs(5);

/// How a register is opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OpenMode {
    /// For recording. An older register is brought to the newest schema, after a backup copy.
    ReadWrite,
    /// For looking only; the file is not changed. Also opens what a newer program wrote.
    ReadOnly,
}

/// One of the two kinds of file.
pub(super) struct Kind {
    pub name: &'static str,
    /// SQLite's `application_id`.
    pub application: i32,
    /// Numbered from 1.
    pub migrations: &'static [&'static str],
}

pub(super) const REGISTER: Kind = Kind {
    name: "register",
    application: 0x4747_5244,
    migrations: &[include_str!("../../../migrations/register-0001.sql")],
};

pub(super) const PHOTOS: Kind = Kind {
    name: "photos file",
    application: 0x4747_5048,
    migrations: &[include_str!("../../../migrations/photos-0001.sql")],
};

impl Kind {
    pub(super) fn newest(&self) -> u32 {
        u32::try_from(self.migrations.len()).expect("BUG: migrations can be counted")
    }
}

/// An open file and the schema that it has.
pub(super) struct Opened {
    pub connection: Connection,
    pub schema: u32,
}

/// Opens one file.
pub(super) fn open(kind: &Kind, path: &Path, mode: OpenMode) -> Result<Opened, StoreError> {
    let stated = look_at(kind, path)?;
    if mode == OpenMode::ReadWrite && stated > kind.newest() {
        return Err(newer(kind, path, stated));
    }
    match mode {
        OpenMode::ReadWrite => open_for_writing(kind, path),
        OpenMode::ReadOnly => open_for_looking(kind, path),
    }
}

fn newer(kind: &Kind, path: &Path, found: u32) -> StoreError {
    StoreError::Newer { path: path.to_owned(), found, known: kind.newest() }
}

/// Reads the first hundred bytes (SQLite file format, 1.3): kind, size, schema.
fn look_at(kind: &Kind, path: &Path) -> Result<u32, StoreError> {
    let wrong = |why| StoreError::WrongKind { path: path.to_owned(), wanted: kind.name, why };
    let failed = |source: std::io::Error| {
        if source.kind() == std::io::ErrorKind::NotFound {
            StoreError::Missing { path: path.to_owned() }
        } else {
            StoreError::File { path: path.to_owned(), doing: "read", source }
        }
    };
    let about = fs::metadata(path).map_err(failed)?;
    if about.is_dir() {
        return Err(wrong("it is a folder"));
    }
    let mut head = Vec::new();
    let file = File::open(path).map_err(failed)?;
    file.take(100).read_to_end(&mut head).map_err(failed)?;
    if head.is_empty() {
        return Err(wrong("it is empty"));
    }
    if !head.starts_with(b"SQLite format 3\0") {
        return Err(wrong("it is another kind of file"));
    }
    let Ok(head) = <[u8; 100]>::try_from(head) else {
        return Err(StoreError::CutShort { path: path.to_owned(), found: about.len(), wanted: 512 });
    };
    let number = |at: usize| u32::from_be_bytes([head[at], head[at + 1], head[at + 2], head[at + 3]]);
    if number(68) != kind.application.cast_unsigned() {
        return Err(wrong("it is a database of another kind"));
    }
    let page = match u32::from(u16::from_be_bytes([head[16], head[17]])) {
        1 => 65_536,
        page => page,
    };
    // The stated size counts if it was written together with the change counter; while a log lies beside the
    // file, its end may still be in there.
    let wanted = u64::from(page) * u64::from(number(28));
    let log = fs::metadata(beside(path, "-wal")).map_or(0, |log| log.len());
    if number(24) == number(92) && log == 0 && about.len() < wanted {
        return Err(StoreError::CutShort { path: path.to_owned(), found: about.len(), wanted });
    }
    Ok(number(60))
}

/// The path with something added to its last name.
pub(super) fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

fn open_for_writing(kind: &Kind, path: &Path) -> Result<Opened, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut connection = Connection::open_with_flags(path, flags)?;
    settle(&connection)?;
    let found = schema_of(&connection)?;
    // Its log may say so although its first page does not yet.
    if found > kind.newest() {
        return Err(newer(kind, path, found));
    }
    make_durable(&connection)?;
    if found < kind.newest() {
        migrate(kind, path, &mut connection)?;
    }
    if let Some(what) = difference(kind, &connection)? {
        return Err(StoreError::SchemaDiffers { path: path.to_owned(), what });
    }
    Ok(Opened { connection, schema: kind.newest() })
}

fn open_for_looking(kind: &Kind, path: &Path) -> Result<Opened, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let attempt = |name: &Path, flags| -> Result<(Connection, u32), StoreError> {
        let connection = Connection::open_with_flags(name, flags)?;
        settle(&connection)?;
        let schema = schema_of(&connection)?;
        Ok((connection, schema))
    };
    let opened = attempt(path, flags);
    let no_log = fs::metadata(beside(path, "-wal")).map_or(0, |log| log.len()) == 0;
    let (connection, schema) = match opened {
        // In a folder that cannot be written, the log's index cannot be made. Where no log lies there nothing
        // can be missed by reading the file as it is.
        Err(StoreError::Disk(_) | StoreError::ReadOnly(_)) if no_log => {
            attempt(&immutable(path)?, flags | OpenFlags::SQLITE_OPEN_URI)?
        }
        other => other?,
    };
    if schema < kind.newest() {
        return Err(StoreError::Older { path: path.to_owned(), found: schema });
    }
    Ok(Opened { connection, schema })
}

/// `file:` name that tells SQLite that nobody writes meanwhile.
fn immutable(path: &Path) -> Result<PathBuf, StoreError> {
    let full = path.canonicalize().map_err(|source| StoreError::File {
        path: path.to_owned(),
        doing: "read",
        source,
    })?;
    let mut name = String::from("file:");
    for byte in full.as_os_str().as_encoded_bytes() {
        if byte.is_ascii_alphanumeric() || b"/-_.~".contains(byte) {
            name.push(char::from(*byte));
        } else {
            write!(name, "%{byte:02X}").expect("BUG: text grows");
        }
    }
    name.push_str("?immutable=1");
    Ok(PathBuf::from(name))
}

/// Settings of every connection.
fn settle(connection: &Connection) -> Result<(), StoreError> {
    connection.busy_timeout(WAIT)?;
    let set = |config, wanted: bool, name| {
        if connection.set_db_config(config, wanted)? == wanted {
            Ok(())
        } else {
            Err(StoreError::Setting(name))
        }
    };
    set(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true, "defensive mode")?;
    set(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false, "an untrusted schema")?;
    set(DbConfig::SQLITE_DBCONFIG_DQS_DML, false, "strict quotation")?;
    set(DbConfig::SQLITE_DBCONFIG_DQS_DDL, false, "strict quotation")?;
    set(DbConfig::SQLITE_DBCONFIG_ENABLE_FKEY, true, "foreign keys")?;
    for (pragma, name) in
        [("recursive_triggers", "recursive triggers"), ("cell_size_check", "checks of pages")]
    {
        connection.pragma_update(None, pragma, true)?;
        require(connection, pragma, 1, name)?;
    }
    Ok(())
}

/// Settings of a connection that writes: write-ahead log, and every commit on the medium before it returns.
fn make_durable(connection: &Connection) -> Result<(), StoreError> {
    let mode: String = connection.pragma_update_and_check(None, "journal_mode", "WAL", |row| row.get(0))?;
    if mode != "wal" {
        return Err(StoreError::Setting("a write-ahead log"));
    }
    connection.pragma_update(None, "synchronous", "FULL")?;
    require(connection, "synchronous", 2, "commits that reach the medium")?;
    // Only one system has a difference between "flushed" and "really flushed"; the others ignore it.
    connection.pragma_update(None, "fullfsync", true)?;
    connection.pragma_update(None, "checkpoint_fullfsync", true)?;
    // After a large photo the log shrinks again.
    connection.pragma_update_and_check(None, "journal_size_limit", 16 << 20, |_| Ok(()))?;
    Ok(())
}

fn require(connection: &Connection, pragma: &str, wanted: i64, name: &'static str) -> Result<(), StoreError> {
    let found: i64 = connection.pragma_query_value(None, pragma, |row| row.get(0))?;
    if found == wanted { Ok(()) } else { Err(StoreError::Setting(name)) }
}

fn schema_of(connection: &Connection) -> Result<u32, StoreError> {
    let version: i64 = connection.pragma_query_value(None, "user_version", |row| row.get(0))?;
    // A number below zero is none that this program ever wrote.
    Ok(u32::try_from(version).unwrap_or(u32::MAX))
}

/// Brings an older file to the newest schema: a backup copy first, then one transaction.
fn migrate(kind: &Kind, path: &Path, connection: &mut Connection) -> Result<(), StoreError> {
    let found = schema_of(connection)?;
    back_up(connection, &backup_name(path, found)?)?;
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    // Another program may have been quicker.
    let found = schema_of(&transaction)?;
    apply(kind, &transaction, found)?;
    transaction.commit()?;
    Ok(())
}

fn backup_name(path: &Path, schema: u32) -> Result<PathBuf, StoreError> {
    let names = (1..100).map(|n| match n {
        1 => beside(path, &format!(".before-schema-{}", schema + 1)),
        n => beside(path, &format!(".before-schema-{}-{n}", schema + 1)),
    });
    let mut free = names.filter(|name| !name.exists());
    free.next()
        .ok_or_else(|| StoreError::Exists { path: beside(path, &format!(".before-schema-{}", schema + 1)) })
}

/// Copies a live file to a new one, on the medium when this returns.
pub(super) fn back_up(connection: &Connection, to: &Path) -> Result<(), StoreError> {
    if to.exists() {
        return Err(StoreError::Exists { path: to.to_owned() });
    }
    let making = beside(to, ".making");
    remove_if_there(&making)?;
    let made = copy_whole(connection, &making).and_then(|()| move_without_replacing(&making, to));
    if made.is_err() {
        // What stays of a failed copy is only in the way; the failure itself is what is reported.
        let _ = fs::remove_file(&making);
    }
    made
}

fn copy_whole(connection: &Connection, to: &Path) -> Result<(), StoreError> {
    let Some(name) = to.to_str() else {
        return Err(StoreError::File {
            path: to.to_owned(),
            doing: "made",
            source: std::io::Error::other("its name is not text"),
        });
    };
    connection.execute("VACUUM INTO ?1", [name])?;
    File::open(to).and_then(|file| file.sync_all()).map_err(|source| StoreError::File {
        path: to.to_owned(),
        doing: "written",
        source,
    })
}

/// Runs the migrations after schema `found` and sets the new number; within the caller's transaction.
pub(super) fn apply(kind: &Kind, connection: &Connection, found: u32) -> Result<(), StoreError> {
    let done = usize::try_from(found).unwrap_or(usize::MAX);
    for migration in kind.migrations.iter().skip(done) {
        connection.execute_batch(migration)?;
    }
    connection.pragma_update(None, "application_id", kind.application)?;
    connection.pragma_update(None, "user_version", kind.newest())?;
    Ok(())
}

/// The first table, index or trigger that differs from what the migrations make; `None` if all agree.
pub(super) fn difference(kind: &Kind, connection: &Connection) -> Result<Option<String>, StoreError> {
    let fresh = Connection::open_in_memory()?;
    apply(kind, &fresh, 0)?;
    let (wanted, found) = (objects(&fresh)?, objects(connection)?);
    let absent = wanted.iter().find(|object| !found.contains(object));
    let foreign = found.iter().find(|object| !wanted.contains(object));
    Ok(match (absent, foreign) {
        (Some(object), _) => Some(format!("{} {} is absent or changed", object.kind, object.name)),
        (None, Some(object)) => Some(format!("{} {} does not belong there", object.kind, object.name)),
        (None, None) => None,
    })
}

#[derive(PartialEq, Eq)]
struct Object {
    kind: String,
    name: String,
    table: String,
    sql: Option<String>,
}

fn objects(connection: &Connection) -> Result<Vec<Object>, StoreError> {
    let mut statement = connection
        .prepare("SELECT type, name, tbl_name, sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite_stat%'")?;
    let rows = statement.query_map([], |row| {
        Ok(Object { kind: row.get(0)?, name: row.get(1)?, table: row.get(2)?, sql: row.get(3)? })
    })?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// Makes a file whole under another name and gives it its own name last: either it is there with all that `fill`
/// writes, or it is not there.
pub(super) fn make(
    kind: &Kind,
    path: &Path,
    fill: impl FnOnce(&Connection) -> Result<(), StoreError>,
) -> Result<(), StoreError> {
    let making = beside(path, ".making");
    for leftover in ["", "-wal", "-shm", "-journal"] {
        remove_if_there(&beside(&making, leftover))?;
    }
    let written = write_new(kind, &making, fill).and_then(|()| move_without_replacing(&making, path));
    if written.is_err() {
        // As in `back_up`.
        let _ = fs::remove_file(&making);
    }
    written
}

fn write_new(
    kind: &Kind,
    path: &Path,
    fill: impl FnOnce(&Connection) -> Result<(), StoreError>,
) -> Result<(), StoreError> {
    let flags =
        OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut connection = Connection::open_with_flags(path, flags)?;
    settle(&connection)?;
    make_durable(&connection)?;
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    apply(kind, &transaction, 0)?;
    fill(&transaction)?;
    transaction.commit()?;
    // Closing carries the log over into the file and takes it away, so that moving one file moves everything.
    connection.close().map_err(|(_, error)| StoreError::from(error))
}

fn remove_if_there(path: &Path) -> Result<(), StoreError> {
    match fs::remove_file(path) {
        Err(source) if source.kind() != std::io::ErrorKind::NotFound => {
            Err(StoreError::File { path: path.to_owned(), doing: "removed", source })
        }
        _ => Ok(()),
    }
}

fn move_without_replacing(from: &Path, to: &Path) -> Result<(), StoreError> {
    let failed = |source: std::io::Error| {
        if source.kind() == std::io::ErrorKind::AlreadyExists {
            StoreError::Exists { path: to.to_owned() }
        } else {
            StoreError::File { path: to.to_owned(), doing: "made", source }
        }
    };
    // A second name is refused where one is there already, which a renaming is not. Memory cards know no second
    // names: there the look beforehand has to do.
    match fs::hard_link(from, to) {
        Ok(()) => remove_if_there(from)?,
        Err(source) if source.kind() == std::io::ErrorKind::AlreadyExists => return Err(failed(source)),
        Err(_) if to.exists() => return Err(StoreError::Exists { path: to.to_owned() }),
        Err(_) => fs::rename(from, to).map_err(failed)?,
    }
    // The name itself must be on the medium; where folders cannot be opened (not on Unix) the system sees to it.
    if let Some(folder) = to.parent() {
        let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        if let Ok(folder) = File::open(folder) {
            folder.sync_all().map_err(failed)?;
        }
    }
    Ok(())
}
