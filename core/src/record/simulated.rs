//! A register written by several devices in memory, for tests of chains and order.

use std::collections::{BTreeMap, HashMap};

use serde_json::json;

use super::header::{Header, Heading, Mark, Subject, id_of};
use super::{Link, SealedEntry, seal};
use crate::identity::{DeviceKey, PersonKey, SigningIdentity};
use crate::ids::{DeviceId, EntryId, PersonId, PlotId, RegisterId, Sha256Digest};
use crate::time::Timestamp;

pub const REGISTER: RegisterId = RegisterId([7; 16]);
/// 2026-03-02T08:00:00Z.
pub const START_MS: i64 = 1_772_438_400_000;

pub fn device(number: u8) -> DeviceId {
    DeviceId([number; 16])
}

pub fn plot(name: &str) -> Subject {
    Subject::Plot(PlotId::new(name).unwrap())
}

/// What one device has in its copy of the register.
#[derive(Clone, Default)]
pub struct Copy {
    head: Option<Mark>,
    on_subject: HashMap<Subject, EntryId>,
    seen: BTreeMap<DeviceId, Mark>,
}

/// All entries ever written, and each device's copy.
#[derive(Clone, Default)]
pub struct Simulated {
    pub entries: Vec<(EntryId, Header)>,
    pub copies: BTreeMap<DeviceId, Copy>,
    clock_ms: i64,
}

impl Simulated {
    pub fn write(&mut self, device: DeviceId, subject: Subject, kind: &str) -> EntryId {
        self.clock_ms += 1000;
        let copy = self.copies.entry(device).or_default();
        let heading = Heading {
            register: REGISTER,
            device,
            seq: copy.head.map_or(1, |m| m.seq + 1),
            prev: copy.head.map(|m| m.id),
            subject_prev: copy.on_subject.get(&subject).copied(),
            subject,
            seen: copy.seen.clone(),
            author: Some(PersonId([1; 16])),
            time: Timestamp::new(START_MS + self.clock_ms, 60).unwrap(),
            kind: kind.to_owned(),
            version: 1,
            plan: None,
            floor_design: None,
        };
        let header = heading.over(Sha256Digest::of(kind.as_bytes()));
        let id = id_of(&header.to_text().unwrap());
        copy.head = Some(header.mark(id));
        copy.on_subject.insert(header.subject.clone(), id);
        self.entries.push((id, header));
        id
    }

    /// `to` takes in all that `from` has.
    pub fn hand_over(&mut self, from: DeviceId, to: DeviceId) {
        let given = self.copies.entry(from).or_default().clone();
        let taking = self.copies.entry(to).or_default();
        let own = given.head.map(|mark| (from, mark));
        for (device, mark) in given.seen.into_iter().chain(own).filter(|(device, _)| *device != to) {
            let known = taking.seen.entry(device).or_insert(mark);
            if known.seq < mark.seq {
                *known = mark;
            }
        }
    }

    pub fn links(&self) -> Vec<Link<'_>> {
        self.entries.iter().map(|(id, header)| Link { id: *id, header }).collect()
    }

    pub fn links_of(&self, subject: &Subject) -> Vec<Link<'_>> {
        let mut links = self.links();
        links.retain(|l| l.header.subject == *subject || l.header.subject == Subject::Site);
        links
    }

    pub fn header_mut(&mut self, id: EntryId) -> &mut Header {
        &mut self.entries.iter_mut().find(|(i, _)| *i == id).unwrap().1
    }
}

/// The fixed keys of the worked example in FORMAT.md.
pub fn example_keys() -> (DeviceKey, PersonKey) {
    let key = |byte: u8| SigningIdentity::from_secret(&[byte; 32]).unwrap();
    (DeviceKey::from(key(5)), PersonKey::from(key(6)))
}

/// The worked example in FORMAT.md: an invented release on an invented plot.
pub fn example() -> SealedEntry {
    let (device_key, person_key) = example_keys();
    let heading = Heading {
        register: REGISTER,
        device: device(1),
        seq: 2,
        prev: Some(EntryId([0x11; 32])),
        subject: plot("14"),
        subject_prev: None,
        seen: BTreeMap::from([(device(2), Mark { id: EntryId([0x22; 32]), seq: 9 })]),
        author: Some(PersonId([3; 16])),
        time: Timestamp::new(START_MS, 60).unwrap(),
        kind: "released".to_owned(),
        version: 1,
        plan: Some(EntryId([0x44; 32])),
        floor_design: None,
    };
    let payload =
        json!({"hold_point": "bearing-level", "note": "Dry, 4 °C\n\"made good\"", "worst_um": -2500});
    seal(heading, &payload, &device_key, Some(&person_key)).unwrap()
}
