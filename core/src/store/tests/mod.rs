//! The store on real files in temporary folders.

mod appending;
mod checking;
mod faults;
mod files;
mod originals;
mod schema;

use std::path::{Path, PathBuf};

use serde_json::json;
use tempfile::TempDir;

use super::*;
use crate::identity::{DeviceKey, SigningIdentity};
use crate::ids::{PersonId, PlotId, RegisterId};
use crate::record::{Heading, Subject, seal};
use crate::time::Timestamp;

pub(super) const DEVICE_A: DeviceId = DeviceId([0xA1; 16]);
pub(super) const DEVICE_B: DeviceId = DeviceId([0xB2; 16]);

pub(super) fn meta() -> RegisterMeta {
    RegisterMeta { register: RegisterId([7; 16]), site: "Invented Meadow".to_owned() }
}

pub(super) fn plot(name: &str) -> Subject {
    Subject::Plot(PlotId::new(name).unwrap())
}

fn key() -> DeviceKey {
    SigningIdentity::from_secret(&[9; 32]).unwrap().into()
}

/// The next entry of a device after these heads.
pub(super) fn next(heads: &Heads, device: DeviceId, subject: &Subject, text: &str) -> SealedEntry {
    let before = heads.device(device);
    let heading = Heading {
        register: meta().register,
        device,
        seq: before.map_or(1, |mark| mark.seq + 1),
        prev: before.map(|mark| mark.id),
        subject: subject.clone(),
        subject_prev: heads.subject(device, subject).map(|mark| mark.id),
        seen: heads.seen_by(device),
        author: Some(PersonId([3; 16])),
        time: Timestamp::new(1_795_600_000_000, 0).unwrap(),
        kind: "reading-booked".to_owned(),
        version: 1,
        plan: None,
        floor_design: None,
    };
    seal(heading, &json!({ "remark": text }), &key(), None).unwrap()
}

/// Appends one entry of a device and returns its id.
pub(super) fn book(store: &mut Store, device: DeviceId, subject: &Subject, text: &str) -> EntryId {
    let ids = store.append(|heads| Ok::<_, StoreError>(vec![next(heads, device, subject, text)])).unwrap();
    ids[0]
}

pub(super) struct Site {
    /// Removed with everything in it when the test ends.
    pub folder: TempDir,
    pub path: PathBuf,
}

impl Site {
    pub fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("site.gaugerod");
        Self { folder, path }
    }

    pub fn create(&self) -> Store {
        Store::create(&self.path, &meta(), &[]).unwrap()
    }

    /// A register with a few entries of two devices, closed again.
    pub fn with_entries() -> Self {
        let site = Self::new();
        let mut store = site.create();
        book(&mut store, DEVICE_A, &Subject::Site, "first");
        book(&mut store, DEVICE_A, &plot("14"), "second");
        book(&mut store, DEVICE_B, &plot("14"), "third");
        book(&mut store, DEVICE_A, &plot("7A"), "fourth");
        site
    }

    pub fn photos(&self) -> PathBuf {
        photos_path(&self.path)
    }
}

/// A plain connection, as another program with none of our settings would have it.
pub(super) fn foreign(path: &Path) -> rusqlite::Connection {
    rusqlite::Connection::open(path).unwrap()
}

/// Runs a statement past the triggers, as somebody who means to forge would.
pub(super) fn forge(path: &Path, sql: &str) {
    let connection = foreign(path);
    let triggers: Vec<(String, String)> = connection
        .prepare("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
        .unwrap()
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))
        .unwrap()
        .collect::<Result<_, _>>()
        .unwrap();
    connection.pragma_update(None, "foreign_keys", false).unwrap();
    for (name, _) in &triggers {
        connection.execute_batch(&format!("DROP TRIGGER {name}")).unwrap();
    }
    let changed = connection.execute(sql, []).unwrap();
    assert!(changed > 0, "nothing was forged by {sql}");
    for (_, sql) in &triggers {
        connection.execute_batch(sql).unwrap();
    }
}

pub(super) fn check(reader: &Reader) -> CheckReport {
    no_hooks(|hooks| reader.check(hooks))
}

pub(super) fn sentences(report: &CheckReport) -> Vec<String> {
    report.findings.iter().map(ToString::to_string).collect()
}
