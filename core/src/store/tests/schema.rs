//! Settings, triggers, migrations.

use rusqlite::Connection;

use super::super::open::{Kind, OpenMode, PHOTOS, REGISTER, apply, beside, open};
use super::*;
use crate::ids::Sha256Digest;

#[test]
fn the_linked_sqlite_is_new_enough() {
    // 3.51.3 mended a fault of the write-ahead log (SQLite's release notes).
    assert!(rusqlite::version_number() >= 3_051_003, "{}", rusqlite::version());
}

#[test]
fn released_migrations_are_frozen() {
    let frozen = [
        (&REGISTER, ["2acb4276cbf0db2122d52d5deb18bba5a8f577bd0df24608296bd8a6321afa97"].as_slice()),
        (&PHOTOS, ["c92ca4d105e59730893bbff69d039d7b3668cfb3d72b78cc6057319f92caa7ab"].as_slice()),
    ];
    for (kind, digests) in frozen {
        let found: Vec<String> =
            kind.migrations.iter().map(|sql| Sha256Digest::of(sql.as_bytes()).to_hex()).collect();
        assert_eq!(found, digests, "{}: a released migration is never edited", kind.name);
    }
}

#[test]
fn the_settings_hold() {
    let site = Site::new();
    let store = site.create();
    for connection in [&store.register, store.photos.as_ref().unwrap()] {
        let number =
            |pragma: &str| -> i64 { connection.pragma_query_value(None, pragma, |row| row.get(0)).unwrap() };
        let mode: String = connection.pragma_query_value(None, "journal_mode", |row| row.get(0)).unwrap();
        assert_eq!(mode, "wal");
        assert_eq!(number("synchronous"), 2, "FULL");
        assert_eq!(number("foreign_keys"), 1);
        assert_eq!(number("recursive_triggers"), 1);
        assert_eq!(number("trusted_schema"), 0);
        assert_eq!(number("busy_timeout"), 5_000);
        assert_eq!(number("user_version"), 1);
        // Defensive mode: even the schema table refuses to be written.
        connection.pragma_update(None, "writable_schema", true).unwrap();
        assert!(connection.execute("UPDATE sqlite_schema SET sql = sql", []).is_err());
    }
    assert_ne!(REGISTER.application, PHOTOS.application);
}

fn refused(connection: &Connection, sql: &str) {
    let error = connection.execute(sql, []).unwrap_err().to_string();
    assert!(error.contains("never"), "{sql}: {error}");
}

#[test]
fn triggers_refuse_to_change_delete_or_replace_entries() {
    let site = Site::with_entries();
    let store = Store::open(&site.path).unwrap();
    let before = store.entries().unwrap();
    let columns = "arrival, id, header, payload, device_signature, person_signature,
                   device, seq, prev, subject, subject_prev, kind, utc_ms, row_sha256";
    let again = columns.replace("payload", "'{}'");
    // Ours, and a plain connection that has recursive triggers off.
    let plain = foreign(&site.path);
    for connection in [&store.register, &plain] {
        refused(connection, "UPDATE entries SET payload = '{}' WHERE arrival = 1");
        refused(connection, "UPDATE OR REPLACE entries SET utc_ms = 0");
        refused(connection, "DELETE FROM entries WHERE arrival = 4");
        refused(connection, "DELETE FROM entries");
        refused(
            connection,
            &format!(
                "INSERT OR REPLACE INTO entries ({columns}) SELECT {again} FROM entries WHERE arrival = 2"
            ),
        );
        let without_arrival = (columns.replace("arrival,", ""), again.replace("arrival,", ""));
        refused(
            connection,
            &format!(
                "REPLACE INTO entries ({}) SELECT {} FROM entries WHERE arrival = 2",
                without_arrival.0, without_arrival.1
            ),
        );
        refused(connection, "UPDATE meta SET site = 'Elsewhere'");
        refused(connection, "DELETE FROM meta");
    }
    assert_eq!(store.entries().unwrap(), before);
}

#[test]
fn triggers_refuse_to_change_delete_or_replace_originals() {
    let site = Site::new();
    let mut store = site.create();
    let sha256 = store.put_document(b"a delivery note", "text/plain").unwrap();
    let plain = foreign(&site.photos());
    for connection in [store.photos.as_ref().unwrap(), &plain] {
        refused(connection, "UPDATE originals SET media_type = 'text/html'");
        refused(connection, "DELETE FROM originals");
        refused(
            connection,
            "INSERT OR REPLACE INTO originals (sha256, media_type, size, bytes)
             SELECT sha256, media_type, 1, x'00' FROM originals",
        );
    }
    assert_eq!(store.original_bytes(sha256).unwrap(), b"a delivery note");
}

/// The register as a program of tomorrow would have it.
const TOMORROW: Kind = Kind {
    name: "register",
    application: REGISTER.application,
    migrations: &[
        include_str!("../../../../migrations/register-0001.sql"),
        "CREATE TABLE notes (text TEXT NOT NULL) STRICT;",
    ],
};

#[test]
fn an_older_register_is_migrated_after_a_backup_copy() {
    let site = Site::with_entries();
    let opened = open(&TOMORROW, &site.path, OpenMode::ReadWrite).unwrap();
    assert_eq!(opened.schema, 2);
    opened.connection.execute("INSERT INTO notes VALUES ('here')", []).unwrap();
    drop(opened);
    let backup = beside(&site.path, ".before-schema-2");
    let old: i64 = foreign(&backup).query_row("SELECT count(*) FROM entries", [], |row| row.get(0)).unwrap();
    assert_eq!(old, 4);
    // Opened again nothing is migrated again, so there is no second backup.
    drop(open(&TOMORROW, &site.path, OpenMode::ReadWrite).unwrap());
    assert!(!beside(&site.path, ".before-schema-2-2").exists());
}

#[test]
fn a_migration_that_fails_leaves_the_older_register_whole() {
    const BROKEN: Kind = Kind {
        name: "register",
        application: REGISTER.application,
        migrations: &[
            include_str!("../../../../migrations/register-0001.sql"),
            "CREATE TABLE notes (text TEXT NOT NULL) STRICT; CREATE TABLE entries (x);",
        ],
    };
    let site = Site::with_entries();
    assert!(open(&BROKEN, &site.path, OpenMode::ReadWrite).is_err());
    let store = Store::open(&site.path).unwrap();
    assert_eq!(store.schema(), 1);
    assert!(check(&store).findings.is_empty());
}

#[test]
fn a_newer_register_is_refused_untouched_and_opens_for_looking() {
    let site = Site::with_entries();
    drop(open(&TOMORROW, &site.path, OpenMode::ReadWrite).unwrap());
    let before = std::fs::read(&site.path).unwrap();
    let error = Store::open(&site.path).unwrap_err();
    assert!(matches!(error, StoreError::Newer { found: 2, known: 1, .. }), "{error}");
    let reader = Reader::open(&site.path).unwrap();
    assert!(reader.is_newer());
    assert_eq!(reader.entries().unwrap().len(), 4);
    drop(reader);
    assert_eq!(std::fs::read(&site.path).unwrap(), before);
}

#[test]
fn an_older_register_is_not_changed_by_looking() {
    let site = Site::with_entries();
    let before = std::fs::read(&site.path).unwrap();
    let error = open(&TOMORROW, &site.path, OpenMode::ReadOnly).err().unwrap();
    assert!(matches!(error, StoreError::Older { found: 1, .. }), "{error}");
    assert_eq!(std::fs::read(&site.path).unwrap(), before);
}

#[test]
fn changed_tables_are_refused_for_recording_and_named_by_the_check() {
    for (sql, name) in [
        ("DROP TRIGGER entries_are_never_deleted", "entries_are_never_deleted"),
        ("CREATE TRIGGER sly AFTER INSERT ON entries BEGIN SELECT 1; END", "sly"),
        ("CREATE TABLE more (x)", "more"),
        ("DROP INDEX entries_of_subject", "entries_of_subject"),
    ] {
        let site = Site::with_entries();
        foreign(&site.path).execute_batch(sql).unwrap();
        let error = Store::open(&site.path).unwrap_err();
        assert!(matches!(&error, StoreError::SchemaDiffers { what, .. } if what.contains(name)), "{error}");
        let report = check(&Reader::open(&site.path).unwrap());
        assert!(
            report
                .findings
                .iter()
                .any(|f| matches!(f, Finding::Schema { sentence, .. } if sentence.contains(name))),
            "{:?}",
            sentences(&report)
        );
    }
}

/// The register of schema 1 that lies in tests/data for every later version to open. It was written by
/// [`the_register_of_schema_1_is_what_this_program_writes`] on the day of that schema and is not written again.
fn fixture() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/data/register-schema-1.gaugerod")
}

fn copy_of_fixture() -> Site {
    let site = Site::new();
    std::fs::copy(fixture(), &site.path).unwrap();
    std::fs::copy(photos_path(&fixture()), site.photos()).unwrap();
    site
}

fn write_fixture(site: &Site) {
    let mut store = site.create();
    let document = store.put_document(b"An invented delivery note.", "text/plain").unwrap();
    book(&mut store, DEVICE_A, &Subject::Site, "an invented site");
    book(&mut store, DEVICE_A, &plot("14"), &format!("attached {document}"));
    book(&mut store, DEVICE_B, &plot("14"), "seen by a second device");
    let covered = store.heads().unwrap().digest_with_site(&plot("14"));
    let summary =
        Projection { name: "plot-summary".to_owned(), subject: plot("14"), covered, body: "{}".to_owned() };
    store.put_projections(&[summary]).unwrap();
}

#[test]
fn a_register_of_schema_1_opens_and_is_whole() {
    let site = copy_of_fixture();
    let mut store = Store::open(&site.path).unwrap();
    assert_eq!(store.schema(), newest_schema());
    assert_eq!(store.count().unwrap(), 3);
    assert!(check(&store).findings.is_empty());
    assert!(store.projection("plot-summary", &plot("14")).unwrap().is_some());
    book(&mut store, DEVICE_A, &plot("14"), "and it goes on");
}

#[test]
fn the_register_of_schema_1_is_what_this_program_writes() {
    let site = Site::new();
    write_fixture(&site);
    // For the next schema: name a folder here, run once, and put the files into tests/data under a new name.
    if let Some(folder) = std::env::var_os("GAUGEROD_WRITE_FIXTURE") {
        let to = Path::new(&folder).join(format!("register-schema-{}.gaugerod", newest_schema()));
        std::fs::copy(&site.path, &to).unwrap();
        std::fs::copy(site.photos(), photos_path(&to)).unwrap();
    }
    let (fixture, fresh) = (copy_of_fixture(), Reader::open(&site.path).unwrap());
    let fixture = Reader::open(&fixture.path).unwrap();
    // The ids are SHA-256 over the headers: equal entries prove that the canonical bytes did not move either.
    assert_eq!(fixture.entries().unwrap(), fresh.entries().unwrap());
    assert_eq!(fixture.originals().unwrap(), fresh.originals().unwrap());
}

#[test]
fn migrations_make_the_same_tables_in_memory_and_on_disk() {
    for kind in [&REGISTER, &PHOTOS] {
        let fresh = Connection::open_in_memory().unwrap();
        apply(kind, &fresh, 0).unwrap();
        assert_eq!(super::super::open::difference(kind, &fresh).unwrap(), None);
    }
}
