//! Where a plot stands: the state of every hold point and gate, what is owed, what does not conform, derived
//! from the plot's facts each time and never stored by hand.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::fold::{Decided, DecisionNoted, Noted, PlotRecord, Settlement};
use super::judge::{self, CriterionStanding, EvidenceStanding, HoldPointJudged, Owed, Trial};
use super::level_book::Reading;
use crate::conformity::Verdict;
use crate::entry::{Answer, Because};
use crate::ids::{CriterionId, EntryId, GateId, HoldPointId, PlotId, PointName};
use crate::plan_of_work::{self, HoldPoint, HoldPointKind, SignOffRule};

/// The state of a hold point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HoldPointState {
    /// Something before it is not released yet.
    NotOpen,
    /// It can be worked on.
    Open,
    /// It is shown for release.
    Offered,
    /// It was refused; it may be put right and offered again.
    Refused,
    /// Work went on over it without a release.
    CoveredUnreleased,
    /// It was released, a later fact took that away, and it is already covered.
    InQuestion,
    /// It stands under a recorded concession or written assessment of the designer.
    UnderConcession,
    /// Work may pass.
    Released,
}

impl HoldPointState {
    /// The words on screen and paper.
    pub const fn word(self) -> &'static str {
        match self {
            Self::NotOpen => "not open",
            Self::Open => "open",
            Self::Offered => "offered",
            Self::Refused => "refused",
            Self::CoveredUnreleased => "covered without release",
            Self::InQuestion => "in question",
            Self::UnderConcession => "under concession",
            Self::Released => "released",
        }
    }

    /// Whether it is done with: released, or under a recorded concession.
    pub const fn is_settled(self) -> bool {
        matches!(self, Self::Released | Self::UnderConcession)
    }

    /// Whether what comes after it may be worked on. Covered work is passed in fact; that it was not released
    /// stays an open nonconformance.
    pub const fn is_passed(self) -> bool {
        matches!(self, Self::Released | Self::UnderConcession | Self::CoveredUnreleased)
    }
}

/// The state of a gate, derived from its hold points.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum GateState {
    /// None of its hold points can be worked on.
    NotOpen,
    /// Some can be worked on.
    Open,
    /// All that is not settled is offered.
    Offered,
    /// Something in it was refused, is in question, or was covered without release.
    Stopped,
    /// Every hold point is released or under concession.
    Released,
}

impl GateState {
    /// The words on screen and paper.
    pub const fn word(self) -> &'static str {
        match self {
            Self::NotOpen => "not open",
            Self::Open => "open",
            Self::Offered => "offered",
            Self::Stopped => "stopped",
            Self::Released => "released",
        }
    }
}

/// What a nonconformance comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Origin {
    /// A reading outside its limits.
    Reading,
    /// A reading too near to its limit to call.
    TooNearToCall,
    /// A question answered with no.
    Answer,
    /// A refusal.
    Refusal,
    /// Work that was covered without release.
    Covered,
    /// Somebody raised it in words.
    Raised,
}

/// How a nonconformance stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NonconformanceState {
    /// Nothing was done about it.
    Open,
    /// A later reading or answer took its place.
    Replaced {
        /// The later entry.
        by: EntryId,
        /// Misread, reworked or a slip.
        because: Because,
    },
    /// Closed with a disposition, or conceded by the designer.
    Settled(Settlement),
}

/// Something that does not conform, with the entry that stands for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Nonconformance {
    /// The entry that stands for it: close or concede it by this id.
    pub id: EntryId,
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The criterion, if one.
    pub criterion: Option<CriterionId>,
    /// The point, if one.
    pub point: Option<PointName>,
    /// What it comes from.
    pub origin: Origin,
    /// What does not conform, in words.
    pub what: String,
    /// Who noted it, when.
    pub noted: Noted,
    /// How it stands.
    pub state: NonconformanceState,
}

impl Nonconformance {
    /// Whether something must still be done about it.
    pub fn is_open(&self) -> bool {
        self.state == NonconformanceState::Open
    }
}

/// One hold point as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct HoldPointStanding {
    /// The hold point.
    pub id: HoldPointId,
    /// Its full title.
    pub title: String,
    /// Its title for narrow places.
    pub short_title: String,
    /// Its gate.
    pub gate: GateId,
    /// Hold or witness.
    pub kind: HoldPointKind,
    /// Its state.
    pub state: HoldPointState,
    /// What its criteria say together, settled ones left as they are. Undetermined while something is owed.
    pub verdict: Verdict,
    /// Its criteria.
    pub criteria: Vec<CriterionStanding>,
    /// Its photographs.
    pub evidence: Vec<EvidenceStanding>,
    /// What is owed before it can be offered.
    pub owed: Vec<Owed>,
    /// The hold points that must be passed before it opens.
    pub waiting_for: Vec<HoldPointId>,
    /// What stands against a release, in words: one line each.
    pub unsettled: Vec<String>,
    /// Its nonconformances, settled ones too.
    pub nonconformances: Vec<Nonconformance>,
    /// What was decided about it, in the order of events.
    pub decisions: Vec<DecisionNoted>,
    /// Cautions to show.
    pub cautions: Vec<String>,
    /// True when later work hides it already.
    pub covered: bool,
    /// What the sign-off makes of it while it stands open.
    pub sign_off: SignOffRule,
}

impl HoldPointStanding {
    /// Whether evidence is whole and nothing stands against a release.
    pub fn is_ready(&self) -> bool {
        self.owed.is_empty() && self.unsettled.is_empty()
    }

    /// Whether the sign-off may go out subject to it: the plan allows that, results are awaited or its release is, and
    /// nothing is known against it.
    pub fn is_awaited(&self) -> bool {
        let quiet =
            matches!(self.state, HoldPointState::NotOpen | HoldPointState::Open | HoldPointState::Offered);
        let nothing_against = self.verdict != Verdict::Nonconforming
            && (self.unsettled.is_empty() || !self.owed.is_empty())
            && !self.nonconformances.iter().any(Nonconformance::is_open);
        self.sign_off == SignOffRule::SubjectTo && quiet && nothing_against
    }

    /// Whether something in it stands under a recorded concession.
    pub fn is_conceded(&self) -> bool {
        self.nonconformances
            .iter()
            .any(|one| matches!(&one.state, NonconformanceState::Settled(settled) if settled.concession))
    }

    /// The criterion of that id.
    pub fn criterion(&self, id: &CriterionId) -> Option<&CriterionStanding> {
        self.criteria.iter().find(|one| one.id == *id)
    }
}

/// One gate as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GateStanding {
    /// The gate.
    pub id: GateId,
    /// Its title.
    pub title: String,
    /// Its state.
    pub state: GateState,
}

/// How many readings conformed when they were first booked.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct FirstTime {
    /// First readings and answers that conformed.
    pub conforming: u32,
    /// First readings and answers in all.
    pub of: u32,
}

/// One plot as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct PlotStanding {
    /// The plot.
    pub plot: PlotId,
    /// Its gates, in the plan's order.
    pub gates: Vec<GateStanding>,
    /// Its hold points, in the plan's order.
    pub hold_points: Vec<HoldPointStanding>,
    /// Readings and answers that conformed the first time.
    pub first_time: FirstTime,
    /// Entries that this program does not understand: nothing is decided over them.
    pub unknown: Vec<(EntryId, String)>,
    /// The sign-offs that were issued.
    pub sign_offs: usize,
}

impl PlotStanding {
    /// The hold point of that id.
    pub fn hold_point(&self, id: &HoldPointId) -> Option<&HoldPointStanding> {
        self.hold_points.iter().find(|one| one.id == *id)
    }

    /// The next hold point that can be worked on.
    pub fn next(&self) -> Option<&HoldPointStanding> {
        let rank = |state| match state {
            HoldPointState::Refused | HoldPointState::Open => 0,
            HoldPointState::InQuestion | HoldPointState::CoveredUnreleased => 1,
            HoldPointState::Offered => 2,
            _ => 3,
        };
        self.hold_points.iter().filter(|one| rank(one.state) < 3).min_by_key(|one| rank(one.state))
    }

    /// Every nonconformance of the plot.
    pub fn nonconformances(&self) -> impl Iterator<Item = &Nonconformance> {
        self.hold_points.iter().flat_map(|one| &one.nonconformances)
    }

    /// What a sign-off of the plot is subject to as it stands, in words; empty where it waits for nothing.
    pub fn subject_to(&self) -> Vec<String> {
        let awaited = self.hold_points.iter().filter(|one| one.is_awaited());
        awaited
            .map(|one| {
                let mut owed: Vec<&str> = one.owed.iter().map(|owed| owed.what.as_str()).collect();
                if owed.is_empty() {
                    owed.push("its release");
                }
                format!("{}: {}", one.title, owed.join("; "))
            })
            .collect()
    }

    /// Hold points that stand in the way of the sign-off, in words.
    pub fn against_sign_off(&self) -> Vec<String> {
        let mut against: Vec<String> = self
            .hold_points
            .iter()
            .filter(|one| one.kind == HoldPointKind::Hold && !is_sign_off(&one.id) && !one.state.is_settled())
            .filter(|one| !one.is_awaited())
            .map(|one| {
                let found = match one.sign_off {
                    SignOffRule::SubjectTo if !one.unsettled.is_empty() => {
                        format!(": {}", one.unsettled.join("; "))
                    }
                    _ => String::new(),
                };
                format!("{} is {}{found}", one.title, one.state.word())
            })
            .collect();
        against.extend(
            self.hold_points
                .iter()
                .filter(|one| one.state.is_settled() && !is_sign_off(&one.id))
                .flat_map(|one| &one.unsettled)
                .cloned(),
        );
        against
    }
}

/// The hold point that stands for the whole floor: it waits for every other one.
pub const SIGN_OFF: &str = "sign-off";

/// Whether this is the hold point that stands for the whole floor.
pub fn is_sign_off(id: &HoldPointId) -> bool {
    id.as_str() == SIGN_OFF
}

/// Derives where a plot stands.
pub fn standing(record: &PlotRecord) -> PlotStanding {
    let before = plan_of_work::prerequisites(&record.plan, record.design());
    let evidence: Vec<HoldPointJudged> =
        record.plan.hold_points.iter().map(|hold_point| judge::hold_point(record, hold_point)).collect();
    let trials = Trials::of(record, &evidence);
    let nonconformances = nonconformances(record, &trials);
    let mut standings: Vec<HoldPointStanding> = record
        .plan
        .hold_points
        .iter()
        .zip(evidence)
        .map(|(hold_point, evidence)| judged(record, hold_point, evidence, &nonconformances))
        .collect();
    for own in &mut standings {
        own.covered = is_covered(record, &own.id, &before);
    }
    // States depend on the states before them: the plan has no cycle, so passes settle; one pass for each
    // hold point is enough in any order.
    for _ in 0..standings.len() {
        let mut changed = false;
        for index in 0..standings.len() {
            let (state, waiting_for) = state(record, &standings, index, &before);
            let one = &mut standings[index];
            changed |= one.state != state || one.waiting_for != waiting_for;
            one.state = state;
            one.waiting_for = waiting_for;
        }
        if !changed {
            break;
        }
    }
    let gates = record
        .plan
        .gates
        .iter()
        .map(|gate| GateStanding {
            id: gate.id.clone(),
            title: gate.title.clone(),
            state: gate_state(standings.iter().filter(|one| one.gate == gate.id)),
        })
        .collect();
    PlotStanding {
        plot: record.plot.clone(),
        gates,
        first_time: first_time(record, &trials),
        hold_points: standings,
        unknown: record.unknown.clone(),
        sign_offs: record.sign_offs.len(),
    }
}

/// What every reading says by itself, reckoned once: hold points, nonconformances and the first-time rate ask alike.
struct Trials<'a> {
    record: &'a PlotRecord,
    current: BTreeMap<(EntryId, HoldPointId, CriterionId, PointName), Option<Trial>>,
}

impl<'a> Trials<'a> {
    fn of(record: &'a PlotRecord, evidence: &[HoldPointJudged]) -> Self {
        let mut current = BTreeMap::new();
        for (hold_point, judged) in record.plan.hold_points.iter().zip(evidence) {
            for criterion in &judged.criteria {
                for one in &criterion.readings {
                    let key = (one.entry, hold_point.id.clone(), criterion.id.clone(), one.point.clone());
                    current.insert(key, one.trial.clone());
                }
            }
        }
        Self { record, current }
    }

    fn at(&self, reading: &Reading) -> Option<Trial> {
        let key =
            (reading.entry, reading.hold_point.clone(), reading.criterion.clone(), reading.point.clone());
        // What a later reading took the place of is judged here.
        self.current.get(&key).cloned().unwrap_or_else(|| judge::reading(self.record, reading))
    }
}

fn judged(
    record: &PlotRecord,
    hold_point: &HoldPoint,
    judged: HoldPointJudged,
    all: &[Nonconformance],
) -> HoldPointStanding {
    let nonconformances: Vec<_> = all.iter().filter(|one| one.hold_point == hold_point.id).cloned().collect();
    let verdicts = judged.criteria.iter().filter_map(|one| one.verdict);
    let verdict = if judged.owed.is_empty() && judged.criteria.iter().all(|one| one.verdict.is_none()) {
        Verdict::Conforming
    } else if judged.owed.is_empty() {
        Verdict::overall(verdicts)
    } else {
        Verdict::overall(verdicts.chain([Verdict::Undetermined]))
    };
    let mut unsettled = judged.unsettled;
    // A nonconformance about a reading or an answer is already listed as that reading's or answer's verdict.
    unsettled.extend(
        nonconformances
            .iter()
            .filter(|one| {
                one.is_open() && matches!(one.origin, Origin::Refusal | Origin::Covered | Origin::Raised)
            })
            .map(|one| one.what.clone()),
    );
    HoldPointStanding {
        id: hold_point.id.clone(),
        title: hold_point.title.clone(),
        short_title: hold_point.short_title.clone(),
        gate: hold_point.gate.clone(),
        kind: hold_point.kind,
        state: HoldPointState::NotOpen,
        verdict,
        criteria: judged.criteria,
        evidence: judged.evidence,
        owed: judged.owed,
        waiting_for: Vec::new(),
        unsettled,
        nonconformances,
        decisions: record.decisions.iter().filter(|one| one.hold_point == hold_point.id).cloned().collect(),
        cautions: hold_point.cautions.clone(),
        covered: false,
        sign_off: hold_point.sign_off,
    }
}

/// Everything that does not conform on the plot, in the order of events.
fn nonconformances(record: &PlotRecord, trials: &Trials<'_>) -> Vec<Nonconformance> {
    let state =
        |id: &EntryId, superseded: Option<(EntryId, Because)>| match (record.settled.get(id), superseded) {
            (Some(settled), _) => NonconformanceState::Settled(settled.clone()),
            (None, Some((by, because))) => NonconformanceState::Replaced { by, because },
            (None, None) => NonconformanceState::Open,
        };
    let mut found = Vec::new();
    for reading in record.all_readings() {
        let Some(trial) = trials.at(&reading) else { continue };
        let origin = match trial.verdict {
            Verdict::Conforming => continue,
            Verdict::Nonconforming => Origin::Reading,
            Verdict::Undetermined => Origin::TooNearToCall,
        };
        found.push(Nonconformance {
            id: reading.entry,
            hold_point: reading.hold_point,
            criterion: Some(reading.criterion),
            what: format!("{}: {}", reading.point, trial.words),
            point: Some(reading.point),
            origin,
            state: state(&reading.entry, reading.superseded),
            noted: reading.noted,
        });
    }
    for kept in record.answers.iter().filter(|one| one.fact.answer == Answer::No) {
        let title = record
            .plan
            .hold_point(&kept.fact.hold_point)
            .and_then(|one| one.criterion(&kept.fact.criterion))
            .map_or_else(|| kept.fact.criterion.to_string(), |one| one.title.clone());
        let remark = kept.fact.remark.as_ref().map_or(String::new(), |remark| format!(" ({remark})"));
        found.push(Nonconformance {
            id: kept.noted.id,
            hold_point: kept.fact.hold_point.clone(),
            criterion: Some(kept.fact.criterion.clone()),
            point: None,
            origin: Origin::Answer,
            what: format!("{title}: no{remark}"),
            noted: kept.noted.clone(),
            state: state(&kept.noted.id, kept.superseded),
        });
    }
    for decision in &record.decisions {
        let (origin, what) = match &decision.decided {
            Decided::Refused(reason) => (Origin::Refusal, format!("refused: {reason}")),
            Decided::Covered(reason) => (Origin::Covered, format!("covered without release: {reason}")),
            Decided::Offered | Decided::Released | Decided::Assessed { .. } => continue,
        };
        found.push(Nonconformance {
            id: decision.noted.id,
            hold_point: decision.hold_point.clone(),
            criterion: None,
            point: None,
            origin,
            what,
            noted: decision.noted.clone(),
            state: state(&decision.noted.id, None),
        });
    }
    for raised in &record.raised {
        found.push(Nonconformance {
            id: raised.noted.id,
            hold_point: raised.hold_point.clone(),
            criterion: raised.criterion.clone(),
            point: None,
            origin: Origin::Raised,
            what: raised.what.clone(),
            noted: raised.noted.clone(),
            state: state(&raised.noted.id, None),
        });
    }
    found.sort_by_key(|one| one.noted.order);
    found
}

type Before = BTreeMap<HoldPointId, BTreeSet<HoldPointId>>;

/// Whether later work hides a hold point: it was covered, or something that lies on it was offered or decided.
fn is_covered(record: &PlotRecord, id: &HoldPointId, before: &Before) -> bool {
    record.decisions.iter().any(|one| {
        if one.hold_point == *id {
            return matches!(one.decided, Decided::Covered(_));
        }
        !is_sign_off(&one.hold_point) && depends_on(&one.hold_point, id, before, before.len())
    })
}

fn depends_on(later: &HoldPointId, earlier: &HoldPointId, before: &Before, depth: usize) -> bool {
    depth > 0
        && before.get(later).is_some_and(|own| {
            own.contains(earlier) || own.iter().any(|one| depends_on(one, earlier, before, depth - 1))
        })
}

/// The state of one hold point, given the states found so far of the others.
fn state(
    record: &PlotRecord,
    standings: &[HoldPointStanding],
    index: usize,
    before: &Before,
) -> (HoldPointState, Vec<HoldPointId>) {
    let own = &standings[index];
    let waiting_for: Vec<HoldPointId> = standings
        .iter()
        .filter(|one| one.kind == HoldPointKind::Hold && one.id != own.id)
        .filter(|one| {
            is_sign_off(&own.id) || before.get(&own.id).is_some_and(|before| before.contains(&one.id))
        })
        .filter(|one| {
            // Within a gate, work is offered as one: evidence that is whole is enough to go on.
            let together = one.gate == own.gate && one.is_ready();
            if is_sign_off(&own.id) {
                !one.state.is_settled() && !one.is_awaited()
            } else {
                !(one.state.is_passed() || together)
            }
        })
        .map(|one| one.id.clone())
        .collect();
    let open = if waiting_for.is_empty() { HoldPointState::Open } else { HoldPointState::NotOpen };
    let state = match own.decisions.last() {
        None => open,
        Some(last) => match &last.decided {
            // The sign-off rests on every other hold point for as long as it stands.
            Decided::Released if is_sign_off(&own.id) && !waiting_for.is_empty() => {
                HoldPointState::InQuestion
            }
            Decided::Released if last.lapsed.is_none() => HoldPointState::Released,
            Decided::Released if own.covered => HoldPointState::InQuestion,
            Decided::Released => open,
            Decided::Refused(_) => HoldPointState::Refused,
            Decided::Covered(_) if record.settled.contains_key(&last.noted.id) => {
                HoldPointState::UnderConcession
            }
            Decided::Covered(_) => HoldPointState::CoveredUnreleased,
            Decided::Assessed { .. } => HoldPointState::UnderConcession,
            Decided::Offered if own.owed.is_empty() => HoldPointState::Offered,
            Decided::Offered => open,
        },
    };
    (state, waiting_for)
}

fn gate_state<'a>(hold_points: impl Iterator<Item = &'a HoldPointStanding>) -> GateState {
    let states: Vec<HoldPointState> = hold_points.map(|one| one.state).collect();
    let any = |wanted: &[HoldPointState]| states.iter().any(|state| wanted.contains(state));
    if states.iter().all(|state| state.is_settled()) {
        GateState::Released
    } else if any(&[HoldPointState::Refused, HoldPointState::InQuestion, HoldPointState::CoveredUnreleased]) {
        GateState::Stopped
    } else if states.iter().all(|state| state.is_settled() || *state == HoldPointState::Offered) {
        GateState::Offered
    } else if any(&[HoldPointState::Open, HoldPointState::Offered]) {
        GateState::Open
    } else {
        GateState::NotOpen
    }
}

/// First readings and answers of each point: what superseded ones were first stays counted.
fn first_time(record: &PlotRecord, trials: &Trials<'_>) -> FirstTime {
    let mut count = FirstTime::default();
    let mut add = |conforming: bool| {
        count.of += 1;
        count.conforming += u32::from(conforming);
    };
    // A slip of the pen is no finding about the work; what took its place counts instead.
    let is_first = |supersedes: &Option<crate::entry::Supersedes>| {
        supersedes.as_ref().is_none_or(|one| one.because == Because::Mistake)
    };
    let is_slip = |superseded: &Option<(EntryId, Because)>| matches!(superseded, Some((_, Because::Mistake)));
    for reading in record.all_readings() {
        if !is_first(&reading.supersedes) || is_slip(&reading.superseded) {
            continue;
        }
        if let Some(trial) = trials.at(&reading) {
            add(trial.verdict == Verdict::Conforming);
        }
    }
    for kept in &record.answers {
        if is_first(&kept.supersedes)
            && !is_slip(&kept.superseded)
            && kept.fact.answer != Answer::NotApplicable
        {
            add(kept.fact.answer == Answer::Yes);
        }
    }
    count
}
