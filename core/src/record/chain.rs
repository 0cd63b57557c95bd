//! The chains of a record: each device's sequence, its chain on each subject, what it had seen of the others;
//! the heads, and the one digest over them.
//!
//! All findings are reported with their entry, never only the first, and nothing is taken away: both branches of
//! a fork stay. What cannot be found here: an end of a chain that nobody else has seen and that was cut off.
//! Heads kept elsewhere (a sign-off, a bundle, a device file) prove it: see [`missing_heads`].
//!
//! Never here: a clock that decides anything ([`clock_findings`] only points out).

use std::collections::{BTreeSet, HashMap, HashSet};
use std::fmt::Write as _;

use serde::{Deserialize, Serialize};

use super::header::{Header, Mark, Subject};
use crate::ids::{DeviceId, EntryId, PlotId, RegisterId, Sha256Digest};

/// An opened entry's place: its id and header.
#[derive(Debug, Clone, Copy)]
pub struct Link<'h> {
    /// The entry.
    pub id: EntryId,
    /// Its header.
    pub header: &'h Header,
}

/// What a set of entries claims to be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Scope {
    /// All of a register: every entry's predecessor must be there.
    Register,
    /// One plot and the site: every predecessor on the same subject must be there.
    Plot(PlotId),
}

/// What is wrong or remarkable.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FindingKind {
    /// The entry before it in its device's chain is absent.
    Gap,
    /// It names as predecessor an entry that cannot be that.
    WrongPredecessor,
    /// Two entries of one device follow the same entry or carry the same number.
    Fork,
    /// Its predecessor on the same subject is absent or another one than it says.
    SubjectChain,
    /// It belongs to another register.
    ForeignRegister,
    /// It is about something else than the set claims to be about.
    OutsideScope,
    /// What it says to have seen is another entry than the one of that id.
    SeenWrong,
    /// It says to have seen an entry that is absent.
    SeenAbsent,
    /// It forgot what the entry before it, or an entry that it has seen, had seen.
    SeenForgotten,
    /// Its time lies before that of an entry which it follows.
    ClockWentBack,
}

impl FindingKind {
    /// A name that stays, for reports and tests.
    pub fn name(self) -> &'static str {
        match self {
            Self::Gap => "gap",
            Self::WrongPredecessor => "wrong-predecessor",
            Self::Fork => "fork",
            Self::SubjectChain => "subject-chain",
            Self::ForeignRegister => "foreign-register",
            Self::OutsideScope => "outside-scope",
            Self::SeenWrong => "seen-wrong",
            Self::SeenAbsent => "seen-absent",
            Self::SeenForgotten => "seen-forgotten",
            Self::ClockWentBack => "clock-went-back",
        }
    }

    /// Whether the record is broken or incomplete by it. The others are only to be looked at.
    pub fn breaks_the_record(self) -> bool {
        !matches!(self, Self::SeenAbsent | Self::SeenForgotten | Self::ClockWentBack)
    }
}

/// One finding, with the entry that it stands beside.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Finding {
    /// The device that wrote the entry.
    pub device: DeviceId,
    /// The entry's place in its device's chain.
    pub seq: u64,
    /// The entry.
    pub entry: EntryId,
    /// What it is.
    pub kind: FindingKind,
    /// What it is, for people.
    pub sentence: String,
}

impl Finding {
    pub(super) fn new(link: &Link<'_>, kind: FindingKind, sentence: String) -> Self {
        Self { device: link.header.device, seq: link.header.seq, entry: link.id, kind, sentence }
    }
}

/// The end of one device's chain.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Head {
    /// The device.
    pub device: DeviceId,
    /// The entry's place in the device's chain.
    pub seq: u64,
    /// The entry.
    pub id: EntryId,
}

/// The entries that no other entry of the same device follows. Of a whole register: one per device, more where a
/// device's chain forked. Of one plot and the site: up to one per device and subject.
pub fn heads(links: &[Link<'_>]) -> BTreeSet<Head> {
    // Only a device's own entries count: nobody hides the end of another's chain by claiming to follow it.
    let followed: HashSet<(DeviceId, EntryId)> = links
        .iter()
        .flat_map(|l| {
            [l.header.prev, l.header.subject_prev].into_iter().flatten().map(|id| (l.header.device, id))
        })
        .collect();
    let ends = links.iter().filter(|l| !followed.contains(&(l.header.device, l.id)));
    ends.map(|l| Head { device: l.header.device, seq: l.header.seq, id: l.id }).collect()
}

/// The one digest over the heads: SHA-256 of `gaugerod root 1` and one line per head, sorted (see FORMAT.md).
pub fn root(heads: &BTreeSet<Head>) -> Sha256Digest {
    let mut text = String::from("gaugerod root 1\n");
    for head in heads {
        writeln!(text, "{} {} {}", head.device, head.seq, head.id).expect("BUG: text grows");
    }
    Sha256Digest::of(text.as_bytes())
}

/// The heads, kept elsewhere, that are no longer among these entries: something was cut off since.
pub fn missing_heads(kept: &BTreeSet<Head>, links: &[Link<'_>]) -> Vec<Head> {
    let here: HashSet<EntryId> = links.iter().map(|l| l.id).collect();
    kept.iter().filter(|head| !here.contains(&head.id)).copied().collect()
}

/// Checks all chains. Findings come sorted by device and number, whatever the order of the entries.
/// Entries given twice count once.
pub fn check(links: &[Link<'_>], register: RegisterId, scope: &Scope) -> Vec<Finding> {
    let checking = Checking::new(links);
    let mut findings = Vec::new();
    for link in &checking.links {
        if link.header.register != register {
            let sentence = format!("belongs to register {}, not to this one", link.header.register.short());
            findings.push(Finding::new(link, FindingKind::ForeignRegister, sentence));
        }
        if let (Scope::Plot(wanted), Subject::Plot(plot)) = (scope, &link.header.subject)
            && plot != wanted
        {
            let sentence = format!("is about plot {plot}, not about plot {wanted}");
            findings.push(Finding::new(link, FindingKind::OutsideScope, sentence));
        }
        checking.predecessor(link, scope, &mut findings);
        checking.seen(link, scope, &mut findings);
    }
    checking.forks(scope, &mut findings);
    match scope {
        Scope::Register => checking.subject_chains_of_register(&mut findings),
        Scope::Plot(_) => checking.subject_chains_of_plot(&mut findings),
    }
    findings.sort_unstable();
    findings.dedup();
    findings
}

/// The entries once each, sorted by device, number and id, and where each stands.
struct Checking<'h> {
    links: Vec<Link<'h>>,
    by_id: HashMap<EntryId, usize>,
}

impl<'h> Checking<'h> {
    fn new(links: &[Link<'h>]) -> Self {
        let mut links = links.to_vec();
        links.sort_unstable_by_key(|l| (l.header.device, l.header.seq, l.id));
        links.dedup_by_key(|l| l.id);
        let by_id = links.iter().enumerate().map(|(i, l)| (l.id, i)).collect();
        Self { links, by_id }
    }

    fn get(&self, id: EntryId) -> Option<&Link<'h>> {
        self.by_id.get(&id).map(|&i| &self.links[i])
    }

    fn predecessor(&self, link: &Link<'h>, scope: &Scope, findings: &mut Vec<Finding>) {
        let Some(id) = link.header.prev else { return };
        match self.get(id) {
            None if *scope == Scope::Register => {
                let sentence = format!("entry {} of its device is absent", link.header.seq.saturating_sub(1));
                findings.push(Finding::new(link, FindingKind::Gap, sentence));
            }
            None => {}
            Some(prev) => {
                let sound = prev.header.device == link.header.device
                    && prev.header.seq.checked_add(1) == Some(link.header.seq);
                if !sound {
                    let sentence = format!(
                        "says to follow an entry that is number {} of device {}",
                        prev.header.seq,
                        prev.header.device.short()
                    );
                    findings.push(Finding::new(link, FindingKind::WrongPredecessor, sentence));
                }
            }
        }
    }

    fn seen(&self, link: &Link<'h>, scope: &Scope, findings: &mut Vec<Finding>) {
        let before = link.header.prev.and_then(|id| self.get(id));
        let mut forgotten = |by: &str, device: DeviceId, mark: Mark| {
            let known = if device == link.header.device {
                Some(link.header.seq.saturating_sub(1))
            } else {
                link.header.seen.get(&device).map(|m| m.seq)
            };
            if known < Some(mark.seq) {
                let sentence = format!(
                    "does not count entry {} of device {} as seen, though {by} had seen it",
                    mark.seq,
                    device.short()
                );
                findings.push(Finding::new(link, FindingKind::SeenForgotten, sentence));
            }
        };
        if let Some(before) = before {
            for (&device, &mark) in &before.header.seen {
                forgotten("the entry before it", device, mark);
            }
        }
        let fresh = link
            .header
            .seen
            .iter()
            .filter(|(device, mark)| before.is_none_or(|b| b.header.seen.get(*device) != Some(*mark)));
        let fresh: Vec<(DeviceId, Mark)> = fresh.map(|(d, m)| (*d, *m)).collect();
        for (_, mark) in &fresh {
            if let Some(seen) = self.get(mark.id) {
                for (&device, &inner) in &seen.header.seen {
                    forgotten("an entry that it has seen", device, inner);
                }
            }
        }
        for (device, mark) in fresh {
            let named = format!("entry {} of device {}", mark.seq, device.short());
            match self.get(mark.id) {
                None if *scope == Scope::Register => {
                    let sentence = format!("has seen {named}, which is absent");
                    findings.push(Finding::new(link, FindingKind::SeenAbsent, sentence));
                }
                Some(seen) if seen.header.device != device || seen.header.seq != mark.seq => {
                    let sentence = format!("says to have seen {named}, but the entry of that id is another");
                    findings.push(Finding::new(link, FindingKind::SeenWrong, sentence));
                }
                None | Some(_) => {}
            }
        }
    }

    /// Both branches are named at their first entries.
    fn forks(&self, scope: &Scope, findings: &mut Vec<Finding>) {
        type Following<'a> = (DeviceId, Option<&'a Subject>, Option<EntryId>);
        let mut branches: HashMap<Following<'_>, Vec<usize>> = HashMap::new();
        for (index, link) in self.links.iter().enumerate() {
            let h = link.header;
            branches.entry((h.device, None, h.prev)).or_default().push(index);
            if matches!(scope, Scope::Plot(_)) {
                branches.entry((h.device, Some(&h.subject), h.subject_prev)).or_default().push(index);
            }
        }
        let mut forked: BTreeSet<(usize, usize)> = BTreeSet::new();
        for branch in branches.into_values().filter(|b| b.len() > 1) {
            forked.extend(branch.iter().map(|&i| (i, if i == branch[0] { branch[1] } else { branch[0] })));
        }
        for (index, other) in forked {
            let other = &self.links[other];
            let sentence = format!(
                "the chain of its device forks here: entry {} ({}) follows the same entry; both branches are kept",
                other.header.seq,
                other.id.short()
            );
            findings.push(Finding::new(&self.links[index], FindingKind::Fork, sentence));
        }
    }

    /// Walks the tree of each device's entries, so that each branch of a fork is held against its own past.
    fn subject_chains_of_register(&self, findings: &mut Vec<Finding>) {
        enum Visit {
            Enter(usize),
            Leave(usize, Option<EntryId>),
        }
        let mut followers: Vec<Vec<usize>> = vec![Vec::new(); self.links.len()];
        let mut roots = Vec::new();
        for (index, link) in self.links.iter().enumerate() {
            let prev = link.header.prev.and_then(|id| self.by_id.get(&id)).copied();
            // Only backwards in the sorted order: a wrong predecessor cannot lead the walk in a circle.
            match prev.filter(|&p| p < index && self.links[p].header.device == link.header.device) {
                Some(prev) => followers[prev].push(index),
                None => roots.push(index),
            }
        }
        for start in roots {
            let from_the_beginning = self.links[start].header.prev.is_none();
            let mut last: HashMap<&Subject, EntryId> = HashMap::new();
            let mut visits = vec![Visit::Enter(start)];
            while let Some(visit) = visits.pop() {
                match visit {
                    Visit::Enter(index) => {
                        let link = &self.links[index];
                        let before = last.insert(&link.header.subject, link.id);
                        // After a gap the first entry on a subject cannot be judged; the gap itself is a finding.
                        if (from_the_beginning || before.is_some()) && link.header.subject_prev != before {
                            let sentence = match before {
                                Some(id) => format!(
                                    "does not name {} as its device's entry before it on the same subject",
                                    id.short()
                                ),
                                None => {
                                    "names an entry before it on the same subject, where its device has none"
                                        .to_owned()
                                }
                            };
                            findings.push(Finding::new(link, FindingKind::SubjectChain, sentence));
                        }
                        visits.push(Visit::Leave(index, before));
                        visits.extend(followers[index].iter().map(|&f| Visit::Enter(f)));
                    }
                    Visit::Leave(index, before) => {
                        let subject = &self.links[index].header.subject;
                        match before {
                            Some(id) => last.insert(subject, id),
                            None => last.remove(subject),
                        };
                    }
                }
            }
        }
    }

    fn subject_chains_of_plot(&self, findings: &mut Vec<Finding>) {
        for link in &self.links {
            let Some(id) = link.header.subject_prev else {
                continue;
            };
            let sentence = match self.get(id) {
                None => {
                    "its device's entry before it on the same subject is absent: the evidence is incomplete"
                }
                Some(prev) => {
                    let sound = prev.header.device == link.header.device
                        && prev.header.subject == link.header.subject
                        && prev.header.seq < link.header.seq;
                    if sound {
                        continue;
                    }
                    "names as its device's entry before it on the same subject one that cannot be that"
                }
            };
            findings.push(Finding::new(link, FindingKind::SubjectChain, sentence.to_owned()));
        }
    }
}

/// By how much an entry may lie before one of another device that it has seen, without being pointed out.
/// Our own choice: tablets that set their clocks by hand are rarely nearer.
pub const CLOCK_TOLERANCE_MS: i64 = 10 * 60 * 1000;

/// Points out clocks that cannot be right: an entry before its own device's previous one, or more than
/// [`CLOCK_TOLERANCE_MS`] before one of another device that it has seen. The order of entries never depends on it.
pub fn clock_findings(links: &[Link<'_>]) -> Vec<Finding> {
    let checking = Checking::new(links);
    let mut findings = Vec::new();
    for link in &checking.links {
        let time = link.header.time;
        let mut point_out = |earlier: &Link<'_>, what: &str| {
            let sentence = format!("its time, {time}, lies before {}, that of {what}", earlier.header.time);
            findings.push(Finding::new(link, FindingKind::ClockWentBack, sentence));
        };
        let prev = link.header.prev.or(link.header.subject_prev).and_then(|id| checking.get(id));
        if let Some(prev) = prev.filter(|p| p.header.time.utc_ms > time.utc_ms) {
            point_out(prev, "the entry before it on the same device");
        }
        for mark in link.header.seen.values() {
            let seen = checking.get(mark.id);
            if let Some(seen) = seen.filter(|s| s.header.time.utc_ms - CLOCK_TOLERANCE_MS > time.utc_ms) {
                point_out(seen, &format!("entry {} of another device, which it has seen", mark.seq));
            }
        }
    }
    findings.sort_unstable();
    findings
}

#[cfg(test)]
#[path = "chain_tests.rs"]
mod tests;
