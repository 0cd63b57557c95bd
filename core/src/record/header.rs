//! The header of an entry: where it stands in its device's chain, what it is about, who wrote it and when,
//! and the digest of its payload. Its canonical text is what the id is taken over.
//!
//! Never here: a decision about what an entry means.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

use super::RecordFault;
use super::canonical::{self, CanonFault, MOST_INTEGER};
use crate::ids::{DeviceId, EntryId, PersonId, PlotId, RegisterId, Sha256Digest};
use crate::time::Timestamp;

/// The one format of headers that there is so far.
pub const FORMAT: u32 = 1;
/// The most bytes of a header's text.
pub const MOST_HEADER_BYTES: usize = 64 << 10;
/// The most other devices that a header may name as seen.
pub const MOST_SEEN: usize = 256;
/// The most characters of a kind.
pub const MOST_KIND_BYTES: usize = 60;
/// What stands before the header in the bytes of which the id is the SHA-256.
pub const ID_TAG: &str = "gaugerod entry 1\n";

/// What an entry is about.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Subject {
    /// The site as a whole: people, devices, plans of work, limits.
    Site,
    /// One plot.
    Plot(PlotId),
}

impl Subject {
    /// The plot, unless it is the site as a whole.
    pub fn plot(&self) -> Option<&PlotId> {
        match self {
            Self::Site => None,
            Self::Plot(plot) => Some(plot),
        }
    }
}

/// A point in one device's chain: how many entries it had written, and the last of them.
///
/// The number stands beside the id so that what an entry knew of can be told without the entries between:
/// whoever has seen entry 7 of a device has seen its entries 1 to 6 as well.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mark {
    /// The last entry.
    pub id: EntryId,
    /// Its place in its device's chain, from 1.
    pub seq: u64,
}

/// The header of one entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Header {
    /// Format of the header: 1.
    pub format: u32,
    /// The register that the entry belongs to.
    pub register: RegisterId,
    /// The device that wrote it.
    pub device: DeviceId,
    /// Its place in the device's chain, from 1 without a gap.
    pub seq: u64,
    /// The device's entry before it; none exactly at seq 1.
    pub prev: Option<EntryId>,
    /// What it is about.
    pub subject: Subject,
    /// The device's entry before it on the same subject, if there is one.
    pub subject_prev: Option<EntryId>,
    /// The heads of the other devices that this device knew of.
    pub seen: BTreeMap<DeviceId, Mark>,
    /// The person who wrote it; none where the device writes by itself (a lock-out).
    pub author: Option<PersonId>,
    /// The device's own time. A claim, no proof.
    pub time: Timestamp,
    /// What happened (`reading-booked`).
    pub kind: String,
    /// Version of the payload's form, from 1.
    pub version: u32,
    /// The entry that issued the plan of work it was judged under.
    pub plan: Option<EntryId>,
    /// The entry that issued the floor design it was judged under.
    pub floor_design: Option<EntryId>,
    /// SHA-256 of the payload's canonical text.
    pub payload_sha256: Sha256Digest,
}

/// All of a header but what [`super::seal`] adds: format and digest of the payload.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Heading {
    /// See [`Header::register`].
    pub register: RegisterId,
    /// See [`Header::device`].
    pub device: DeviceId,
    /// See [`Header::seq`].
    pub seq: u64,
    /// See [`Header::prev`].
    pub prev: Option<EntryId>,
    /// See [`Header::subject`].
    pub subject: Subject,
    /// See [`Header::subject_prev`].
    pub subject_prev: Option<EntryId>,
    /// See [`Header::seen`].
    pub seen: BTreeMap<DeviceId, Mark>,
    /// See [`Header::author`].
    pub author: Option<PersonId>,
    /// See [`Header::time`].
    pub time: Timestamp,
    /// See [`Header::kind`].
    pub kind: String,
    /// See [`Header::version`].
    pub version: u32,
    /// See [`Header::plan`].
    pub plan: Option<EntryId>,
    /// See [`Header::floor_design`].
    pub floor_design: Option<EntryId>,
}

impl Heading {
    /// The header over a payload with this digest.
    pub fn over(self, payload_sha256: Sha256Digest) -> Header {
        Header {
            format: FORMAT,
            register: self.register,
            device: self.device,
            seq: self.seq,
            prev: self.prev,
            subject: self.subject,
            subject_prev: self.subject_prev,
            seen: self.seen,
            author: self.author,
            time: self.time,
            kind: self.kind,
            version: self.version,
            plan: self.plan,
            floor_design: self.floor_design,
            payload_sha256,
        }
    }
}

impl Header {
    /// The canonical text, after checking every bound.
    pub fn to_text(&self) -> Result<String, RecordFault> {
        self.check_bounds()?;
        let value =
            serde_json::to_value(self).map_err(|e| RecordFault::Header(CanonFault::Json(e.to_string())))?;
        let text = canonical::encode(&value).map_err(RecordFault::Header)?;
        if text.len() > MOST_HEADER_BYTES {
            return Err(RecordFault::Header(CanonFault::Size { most: MOST_HEADER_BYTES }));
        }
        Ok(text)
    }

    /// Reads a header. Refused unless it is the canonical text of a header within its bounds.
    pub fn from_text(text: &str) -> Result<Self, RecordFault> {
        if text.len() > MOST_HEADER_BYTES {
            return Err(RecordFault::Header(CanonFault::Size { most: MOST_HEADER_BYTES }));
        }
        let header: Self =
            serde_json::from_str(text).map_err(|e| RecordFault::Header(CanonFault::Json(e.to_string())))?;
        // Also refuses a key left out where `null` belongs.
        canonical::require_same(text, &header.to_text()?).map_err(RecordFault::Header)?;
        Ok(header)
    }

    /// Where the entry with this id stands in its device's chain.
    pub fn mark(&self, id: EntryId) -> Mark {
        Mark { id, seq: self.seq }
    }

    fn check_bounds(&self) -> Result<(), RecordFault> {
        let bound = |field: &'static str, rule: &'static str| Err(RecordFault::Bound { field, rule });
        let sound_seq = |seq: u64| (1..=MOST_INTEGER.unsigned_abs()).contains(&seq);
        if self.format != FORMAT {
            return bound("format", "must be 1");
        }
        if !sound_seq(self.seq) {
            return bound("seq", "must be from 1 to 2^53 - 1");
        }
        if (self.seq == 1) != self.prev.is_none() {
            return bound("prev", "must be null at seq 1 and only there");
        }
        if self.subject_prev.is_some() && self.prev.is_none() {
            return bound("subject_prev", "cannot exist where there is no entry before");
        }
        if self.seen.len() > MOST_SEEN {
            return bound("seen", "must name at most 256 devices");
        }
        if self.seen.contains_key(&self.device) {
            return bound("seen", "must not name the writing device itself");
        }
        if !self.seen.values().all(|mark| sound_seq(mark.seq)) {
            return bound("seen", "must count from 1 to 2^53 - 1");
        }
        if Timestamp::new(self.time.utc_ms, self.time.offset_min).is_none() {
            return bound("time", "must lie within the years 1970 to 9999 and 18 hours of offset");
        }
        if !sound_kind(&self.kind) {
            return bound("kind", "must be 1 to 60 of a-z, 0-9 and single inner hyphens");
        }
        if !(1..=65_535).contains(&self.version) {
            return bound("version", "must be from 1 to 65535");
        }
        Ok(())
    }
}

fn sound_kind(kind: &str) -> bool {
    kind.len() <= MOST_KIND_BYTES
        && kind.split('-').all(|word| {
            !word.is_empty() && word.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit())
        })
}

/// The id of the entry with this header text.
pub fn id_of(header_text: &str) -> EntryId {
    let mut hash = Sha256::new();
    hash.update(ID_TAG);
    hash.update(header_text);
    EntryId(hash.finalize().into())
}
