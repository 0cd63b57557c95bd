//! The evidence that is attached to a sign-off: every entry of the plot and the site as stored text, what the
//! program made of them, and which photographs stand on the pages.
//!
//! It is read from anybody's hands: every fault is told with its place, nothing is believed. What it *states*
//! (verdicts, heads, root) is only there to be held against what its entries give.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use crate::conformity::Verdict;
use crate::entry::Recorded;
use crate::faults::Faults;
use crate::ids::{CriterionId, EntryId, HoldPointId, PersonId, PlotId, PointName, RegisterId, Sha256Digest};
use crate::inspection::judge::{self, CriterionStanding};
use crate::inspection::{Entry, HoldPointState, PlotRecord, PlotStanding, SiteRecord, standing};
use crate::plan_of_work::Feed;
use crate::record::{self, Head, Link, SealedEntry};
use crate::time::Timestamp;

/// The one format of evidence that there is so far.
pub const FORMAT: u32 = 1;
/// The most entries that are looked at.
pub const MOST_ENTRIES: usize = 200_000;
/// The strokes of a drawn signature run from 0 to this over width and height of the pad.
pub const PAD: u16 = 10_000;
/// The most points of a drawn signature.
pub const MOST_PAD_POINTS: usize = 4_000;

/// What a document is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Purpose {
    /// To look at: marked across every page, never signed.
    Draft,
    /// To be signed and handed over.
    SignOff,
}

/// Who is going to sign, and with which words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Signing {
    /// Who: enrolled in the record with name, role and certificate.
    pub person: PersonId,
    /// The drawn signature: strokes of points from 0 to [`PAD`]; it may be empty.
    pub drawn: Vec<Vec<(u16, u16)>>,
}

/// A reading with the verdict that the program gave it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReadingVerdict {
    /// Its entry.
    pub entry: EntryId,
    /// Where.
    pub point: PointName,
    /// The value in the unit that it is read in.
    pub value: String,
    /// Its verdict; none where only all readings together have one.
    pub verdict: Option<Verdict>,
}

/// A criterion with the verdict that the program gave it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CriterionVerdict {
    /// The criterion.
    pub criterion: CriterionId,
    /// Its verdict; none for documents and for what does not apply.
    pub verdict: Option<Verdict>,
    /// Its readings.
    pub readings: Vec<ReadingVerdict>,
}

/// A hold point with the state and verdict that the program gave it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HoldPointVerdict {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// Its state.
    pub state: HoldPointState,
    /// Its verdict.
    pub verdict: Verdict,
    /// Its criteria.
    pub criteria: Vec<CriterionVerdict>,
}

/// A photograph on the pages.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PhotoOnPage {
    /// SHA-256 of the original, as the record names it.
    pub original: Sha256Digest,
    /// SHA-256 of the JPEG data that stand in the document: the same, unless it had to be turned or made smaller.
    pub shown: Sha256Digest,
}

/// An entry as stored.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StoredEntry {
    /// Its id.
    pub id: EntryId,
    /// The header's text.
    pub header: String,
    /// The payload's text.
    pub payload: String,
    /// The device's signature, hexadecimal.
    pub device_signature: String,
    /// The person's signature, hexadecimal, where there is one.
    pub person_signature: Option<String>,
}

/// The evidence.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Evidence {
    /// Format: 1.
    pub gaugerod_evidence: u32,
    /// The program that made it.
    pub program: String,
    /// The register.
    pub register: RegisterId,
    /// The plot.
    pub plot: PlotId,
    /// What the document is for.
    pub purpose: Purpose,
    /// When it was made, as the tablet's clock had it.
    pub made: Timestamp,
    /// Who signs; none for a draft.
    pub signing: Option<Signing>,
    /// The record's root: the digest over the heads.
    pub root: Sha256Digest,
    /// The ends of all chains among the entries.
    pub heads: BTreeSet<Head>,
    /// What the program made of the entries.
    pub verdicts: Vec<HoldPointVerdict>,
    /// What the sign-off is subject to, in words; nothing where it waits for nothing.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub subject_to: Vec<String>,
    /// The photographs on the pages.
    pub photos: Vec<PhotoOnPage>,
    /// Every entry of the plot and the site, in causal order.
    pub entries: Vec<StoredEntry>,
}

/// Why entries cannot be folded.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum OpenFault {
    /// An entry is not what it claims to be.
    #[error("entry {number} was altered: {fault}")]
    Entry {
        /// Its place in the evidence, from 1.
        number: usize,
        /// What is wrong with it.
        fault: record::RecordFault,
    },
    /// Nothing says what the site or the plot is.
    #[error("the evidence is incomplete: {0} missing")]
    Incomplete(&'static str),
}

/// Entries, opened and folded.
#[derive(Debug)]
pub struct Opened {
    /// The entries in causal order.
    pub entries: Vec<Entry>,
    /// What is known of the site.
    pub site: SiteRecord,
    /// What is known of the plot.
    pub record: PlotRecord,
    /// Where the plot stands.
    pub standing: PlotStanding,
}

impl Opened {
    /// Opens and folds entries in whatever order they come.
    pub fn of(sealed: &[SealedEntry], plot: &PlotId) -> Result<Self, OpenFault> {
        let opened = open(sealed)?;
        let order = record::causal_order(&links(&opened));
        let entries: Vec<Entry> = order.into_iter().map(|index| opened[index].clone()).collect();
        let site = SiteRecord::fold(&entries);
        if site.opened.is_none() {
            return Err(OpenFault::Incomplete("the entry that opens the register is"));
        }
        let folded = PlotRecord::fold(&site, plot, &entries);
        let record = folded.ok_or(OpenFault::Incomplete("plan of work, limits or floor design are"))?;
        let standing = standing(&record);
        Ok(Self { entries, site, record, standing })
    }

    /// What the program makes of the entries.
    pub fn verdicts(&self) -> Vec<HoldPointVerdict> {
        self.standing
            .hold_points
            .iter()
            .map(|one| HoldPointVerdict {
                hold_point: one.id.clone(),
                state: one.state,
                verdict: one.verdict,
                criteria: one.criteria.iter().map(criterion_verdict).collect(),
            })
            .collect()
    }

    /// The heads among the entries.
    pub fn heads(&self) -> BTreeSet<Head> {
        record::heads(&links(&self.entries))
    }
}

/// Opens every entry, without folding.
pub fn open(sealed: &[SealedEntry]) -> Result<Vec<Entry>, OpenFault> {
    let open = |(index, sealed): (usize, &SealedEntry)| {
        let fault = |fault| OpenFault::Entry { number: index + 1, fault };
        let (header, payload) = record::open(sealed).map_err(fault)?;
        let recorded = Recorded::read(&header.kind, header.version, &payload);
        Ok(Entry { id: sealed.id, header, recorded })
    };
    sealed.iter().enumerate().map(open).collect()
}

/// The entries as links of their chains.
pub fn links(entries: &[Entry]) -> Vec<Link<'_>> {
    entries.iter().map(|entry| Link { id: entry.id, header: &entry.header }).collect()
}

fn criterion_verdict(standing: &CriterionStanding) -> CriterionVerdict {
    let unit = standing.feed().and_then(Feed::unit);
    CriterionVerdict {
        criterion: standing.id.clone(),
        verdict: standing.verdict,
        readings: standing
            .readings
            .iter()
            .map(|one| ReadingVerdict {
                entry: one.entry,
                point: one.point.clone(),
                value: unit.map_or_else(
                    || judge::value_text(one.value),
                    |unit| judge::value_in_unit(one.value, unit),
                ),
                verdict: one.trial.as_ref().map(|trial| trial.verdict),
            })
            .collect(),
    }
}

impl Evidence {
    /// Reads evidence; every fault with its place.
    pub fn read(bytes: &[u8]) -> Result<Self, Faults> {
        let mut reader = serde_json::Deserializer::from_slice(bytes);
        let read: Self = serde_path_to_error::deserialize(&mut reader).map_err(|error| {
            let place = format!("/{}", error.path().to_string().replace('.', "/"));
            Faults::one(place, error.into_inner().to_string())
        })?;
        reader.end().map_err(|error| Faults::one("", error.to_string()))?;
        if read.gaugerod_evidence != FORMAT {
            let what = format!("is {}; this program reads {FORMAT}", read.gaugerod_evidence);
            return Err(Faults::one("/gaugerod_evidence", what));
        }
        if read.entries.len() > MOST_ENTRIES {
            return Err(Faults::one("/entries", format!("are more than {MOST_ENTRIES}")));
        }
        let points: usize = read.signing.iter().flat_map(|one| &one.drawn).map(Vec::len).sum();
        if points > MOST_PAD_POINTS {
            return Err(Faults::one("/signing/drawn", format!("has more than {MOST_PAD_POINTS} points")));
        }
        Ok(read)
    }

    /// The bytes that are attached.
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut bytes = serde_json::to_vec_pretty(self).expect("BUG: evidence has text keys only");
        bytes.push(b'\n');
        bytes
    }

    /// The entries as the record seals them.
    pub fn sealed(&self) -> Result<Vec<SealedEntry>, Faults> {
        let seal = |(index, one): (usize, &StoredEntry)| {
            let bytes = |field: &str, text: &String| {
                hex::decode(text).map_err(|_| {
                    Faults::one(format!("/entries/{index}/{field}"), "must be hexadecimal digits")
                })
            };
            let person_signature = one.person_signature.as_ref();
            Ok(SealedEntry {
                id: one.id,
                header: one.header.clone(),
                payload: one.payload.clone(),
                device_signature: bytes("device_signature", &one.device_signature)?,
                person_signature: person_signature.map(|text| bytes("person_signature", text)).transpose()?,
            })
        };
        self.entries.iter().enumerate().map(seal).collect()
    }
}

impl From<&SealedEntry> for StoredEntry {
    fn from(sealed: &SealedEntry) -> Self {
        Self {
            id: sealed.id,
            header: sealed.header.clone(),
            payload: sealed.payload.clone(),
            device_signature: hex::encode(&sealed.device_signature),
            person_signature: sealed.person_signature.as_ref().map(hex::encode),
        }
    }
}
