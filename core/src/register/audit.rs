//! The whole check of a register: the files, every entry and chain, who vouches for them, the photos that entries
//! name, and every projection reckoned again.

use std::collections::{BTreeMap, BTreeSet};

use super::{RegisterError, in_causal_order, open_entry, vouch};
use crate::entry::{Payload, Recorded};
use crate::ids::{HoldPointId, PlotId, Sha256Digest};
use crate::inspection::{Entry, PlotRecord, PlotSummary, SiteRecord, standing};
use crate::record::{self, Head, Header, SealedEntry, Subject};
use crate::store::{Hooks, Progress, Reader};

/// One thing that is wrong or remarkable.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AuditFinding {
    /// What, with the id of the entry, photo or projection.
    pub sentence: String,
    /// Whether the record itself is touched; otherwise it is to be looked at, or can be made again.
    pub breaks: bool,
}

/// What a check looked at and found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Audit {
    /// Everything found.
    pub findings: Vec<AuditFinding>,
    /// Entries looked at.
    pub entries: u64,
    /// Photos and documents looked at.
    pub originals: u64,
    /// Projections looked at.
    pub projections: u64,
    /// It was stopped before its end.
    pub stopped: bool,
}

impl Audit {
    /// Whether nothing touches the record or what is derived from it.
    pub fn is_sound(&self) -> bool {
        !self.stopped && self.findings.iter().all(|one| !one.breaks)
    }
}

/// Checks a register. `every` also checks every device signature, not only those of the heads.
///
/// # Errors
/// The disk; whatever is wrong with the register itself is a finding.
pub fn audit(
    reader: &Reader,
    every: bool,
    progress: &mut dyn FnMut(Progress) -> bool,
) -> Result<Audit, RegisterError> {
    let mut sealed: Vec<SealedEntry> = Vec::new();
    let mut originals: BTreeMap<Sha256Digest, u64> = BTreeMap::new();
    for original in reader.originals().unwrap_or_default() {
        originals.insert(original.sha256, original.size);
    }
    let mut subjects: BTreeMap<Sha256Digest, BTreeSet<(PlotId, HoldPointId, String)>> = BTreeMap::new();
    let mut looked_at = |entry: &SealedEntry, header: &Header, payload: &serde_json::Value| {
        sealed.push(entry.clone());
        let mut wrong = Vec::new();
        match Recorded::read(&header.kind, header.version, payload) {
            Recorded::Known(fact) => {
                for (sha256, size) in named_files(&fact.payload) {
                    match originals.get(&sha256) {
                        None => wrong.push(format!("names photo or document {sha256}, which is not there")),
                        Some(found) if *found != size => {
                            wrong.push(format!("says that {sha256} has {size} bytes; it has {found}"));
                        }
                        Some(_) => {}
                    }
                }
                if let (Payload::PhotoAdded(photo), Some(plot)) = (&fact.payload, header.subject.plot()) {
                    let subject = (plot.clone(), photo.hold_point.clone(), photo.subject.clone());
                    subjects.entry(photo.photo).or_default().insert(subject);
                }
            }
            Recorded::Unknown { .. } => {}
            Recorded::Malformed { kind, what } => wrong.push(format!("is no sound {kind}: {what}")),
        }
        wrong
    };
    let again = Again::of(reader);
    let mut reckoned = |projection: &crate::store::Projection| -> Vec<String> {
        if projection.name != super::SUMMARY {
            return Vec::new();
        }
        let Some(plot) = projection.subject.plot() else {
            return vec!["a plot summary about no plot".to_owned()];
        };
        // One that covers older heads is not wrong: it is made again when it is next looked at.
        let now = again.as_ref().and_then(|again| again.summary(plot));
        match now {
            Some((covered, body)) if covered == projection.covered && body != projection.body => {
                vec!["is not what the entries give".to_owned()]
            }
            _ => Vec::new(),
        }
    };
    let report = reader.check(Hooks { entry: &mut looked_at, projection: &mut reckoned, progress });
    let mut audit = Audit {
        findings: report
            .findings
            .iter()
            .map(|finding| AuditFinding {
                sentence: finding.to_string(),
                // What is derived can be made again, but its bytes were changed all the same.
                breaks: !matches!(finding, crate::store::Finding::Chain(chain) if !chain.kind.breaks_the_record()),
            })
            .collect(),
        entries: report.entries,
        originals: report.originals,
        projections: report.projections,
        stopped: report.stopped,
    };
    if let Ok(found) = vouch::unvouched(&sealed, every) {
        audit.findings.extend(found.into_iter().map(|one| AuditFinding {
            sentence: format!("entry {}: {}", one.entry, one.sentence),
            breaks: true,
        }));
    }
    for (photo, places) in subjects.iter().filter(|(_, places)| places.len() > 1) {
        let places: Vec<String> = places
            .iter()
            .map(|(plot, hold_point, subject)| format!("plot {plot}, {hold_point}, {subject}"))
            .collect();
        audit.findings.push(AuditFinding {
            sentence: format!("photo {photo} stands under several subjects: {}", places.join("; ")),
            breaks: false,
        });
    }
    let opened: Vec<Entry> = sealed.iter().filter_map(|entry| open_entry(entry).ok()).collect();
    let links: Vec<record::Link<'_>> =
        opened.iter().map(|one| record::Link { id: one.id, header: &one.header }).collect();
    audit.findings.extend(record::clock_findings(&links).into_iter().map(|finding| AuditFinding {
        sentence: format!("entry {}: {}", finding.entry, finding.sentence),
        breaks: false,
    }));
    Ok(audit)
}

/// The heads, kept elsewhere, that are no longer in this register.
///
/// # Errors
/// The disk.
pub fn missing_heads(reader: &Reader, kept: &BTreeSet<Head>) -> Result<Vec<Head>, RegisterError> {
    let mut missing = Vec::new();
    for head in kept {
        if !reader.has_entry(head.id)? {
            missing.push(*head);
        }
    }
    Ok(missing)
}

fn named_files(payload: &Payload) -> Vec<(Sha256Digest, u64)> {
    match payload {
        Payload::PhotoAdded(photo) => vec![(photo.photo, photo.bytes)],
        Payload::DocumentAttached(one) => vec![(one.document.sha256, one.document.bytes)],
        Payload::ConcessionGranted(one) => vec![(one.document.sha256, one.document.bytes)],
        Payload::Assessed(one) => vec![(one.document.sha256, one.document.bytes)],
        _ => Vec::new(),
    }
}

/// The register folded again from its entries alone.
struct Again {
    site: SiteRecord,
    entries: Vec<Entry>,
    heads: crate::store::Heads,
}

impl Again {
    fn of(reader: &Reader) -> Option<Self> {
        let entries: Vec<Entry> = reader
            .entries()
            .ok()?
            .iter()
            .map(|stored| open_entry(&stored.entry))
            .collect::<Result<_, _>>()
            .ok()?;
        let entries = in_causal_order(&entries);
        let site = SiteRecord::fold(&entries);
        Some(Self { site, entries, heads: reader.heads().ok()? })
    }

    fn summary(&self, plot: &PlotId) -> Option<(Sha256Digest, String)> {
        let own =
            self.entries.iter().filter(|entry| entry.header.subject.plot().is_none_or(|one| one == plot));
        let record = PlotRecord::fold(&self.site, plot, own)?;
        let summary = PlotSummary::of(&record, &standing(&record));
        let covered = super::covered(&self.site, &self.heads, &Subject::Plot(plot.clone()));
        Some((covered, super::summary_text(&summary)))
    }
}
