//! The ends of all chains of a register, as whoever writes the next entry needs them.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::Connection;

use super::StoreError;
use super::read::{blob, subject_from_text};
use crate::ids::{DeviceId, EntryId, Sha256Digest};
use crate::record::{Head, Header, Mark, Subject, root};

/// The ends of all chains: of every device, and of every device on every subject. A chain that forked has more
/// than one end.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Heads {
    devices: BTreeMap<DeviceId, BTreeSet<Mark>>,
    subjects: BTreeMap<Subject, BTreeMap<DeviceId, BTreeSet<Mark>>>,
}

/// The longest branch; the same one everywhere if two are equally long.
fn longest(ends: &BTreeSet<Mark>) -> Option<Mark> {
    ends.iter().copied().max_by_key(|mark| (mark.seq, mark.id))
}

impl Heads {
    /// The last entry of a device; of the longest branch where its chain forked.
    pub fn device(&self, device: DeviceId) -> Option<Mark> {
        longest(self.devices.get(&device)?)
    }

    /// The last entry of a device on a subject.
    pub fn subject(&self, device: DeviceId, subject: &Subject) -> Option<Mark> {
        longest(self.subjects.get(subject)?.get(&device)?)
    }

    /// The last entries of all devices but this one: what goes into a header's `seen`.
    pub fn seen_by(&self, device: DeviceId) -> BTreeMap<DeviceId, Mark> {
        let others = self.devices.iter().filter(|(other, _)| **other != device);
        others.filter_map(|(other, ends)| Some((*other, longest(ends)?))).collect()
    }

    /// The devices whose chain has more than one end.
    pub fn forked(&self) -> Vec<DeviceId> {
        let forked = self.devices.iter().filter(|(_, ends)| ends.len() > 1);
        forked.map(|(device, _)| *device).collect()
    }

    /// All devices that ever wrote.
    pub fn devices(&self) -> impl Iterator<Item = DeviceId> {
        self.devices.keys().copied()
    }

    /// All subjects that anything was recorded about.
    pub fn subjects(&self) -> impl Iterator<Item = &Subject> {
        self.subjects.keys()
    }

    /// The heads of the whole register.
    pub fn all(&self) -> BTreeSet<Head> {
        set_of(&self.devices)
    }

    /// The root over the heads of the whole register (see [`crate::record::root`]).
    pub fn root(&self) -> Sha256Digest {
        root(&self.all())
    }

    /// A digest over the ends on one subject: it changes exactly when an entry on that subject comes. For
    /// knowing whether a projection is still good.
    pub fn digest_of(&self, subject: &Subject) -> Sha256Digest {
        root(&self.subjects.get(subject).map(set_of).unwrap_or_default())
    }

    /// A digest over the ends on one plot and on the site: it changes exactly when an entry on either comes.
    pub fn digest_with_site(&self, subject: &Subject) -> Sha256Digest {
        let mut ends = self.subjects.get(subject).map(set_of).unwrap_or_default();
        ends.extend(self.subjects.get(&Subject::Site).map(set_of).unwrap_or_default());
        root(&ends)
    }

    /// Moves on by one entry.
    pub(super) fn follow(&mut self, id: EntryId, header: &Header) {
        let mark = header.mark(id);
        advance(self.devices.entry(header.device).or_default(), header.prev, mark);
        let ends = self.subjects.entry(header.subject.clone()).or_default();
        advance(ends.entry(header.device).or_default(), header.subject_prev, mark);
    }

    /// Reads what the triggers of the register keep.
    pub(super) fn read(connection: &Connection) -> Result<Self, StoreError> {
        let mut heads = Self::default();
        let mut statement = connection.prepare_cached("SELECT device, id, seq FROM device_heads")?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            let device = DeviceId(blob(row, 0, "the heads")?);
            let mark = mark(blob(row, 1, "the heads")?, row.get(2)?);
            heads.devices.entry(device).or_default().insert(mark);
        }
        let mut statement =
            connection.prepare_cached("SELECT subject, device, id, seq FROM subject_heads")?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            let text: String = row.get(0)?;
            let subject = subject_from_text(&text)?;
            let device = DeviceId(blob(row, 1, "the heads")?);
            let mark = mark(blob(row, 2, "the heads")?, row.get(3)?);
            let ends = heads.subjects.entry(subject).or_default();
            ends.entry(device).or_default().insert(mark);
        }
        Ok(heads)
    }
}

fn mark(id: [u8; 32], seq: i64) -> Mark {
    Mark { id: EntryId(id), seq: u64::try_from(seq).unwrap_or(0) }
}

/// What the trigger does, for an entry that follows what is there.
fn advance(ends: &mut BTreeSet<Mark>, before: Option<EntryId>, mark: Mark) {
    ends.retain(|end| Some(end.id) != before);
    ends.insert(mark);
}

fn set_of(devices: &BTreeMap<DeviceId, BTreeSet<Mark>>) -> BTreeSet<Head> {
    let ends = devices.iter().flat_map(|(device, ends)| {
        ends.iter().map(|mark| Head { device: *device, seq: mark.seq, id: mark.id })
    });
    ends.collect()
}
