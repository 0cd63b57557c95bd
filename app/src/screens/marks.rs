//! How what stands in the register looks on a screen: the mark of a hold point, a criterion, a reading, and the
//! few words beside it. Verdicts are taken from the standing as they are; none is worked out here.

use std::collections::BTreeSet;

use gaugerod_core::conformity::Verdict;
use gaugerod_core::entry::{Answer, ReadValue};
use gaugerod_core::inspection::judge::{CriterionStanding, ReadingStanding, value_in_unit, value_text};
use gaugerod_core::inspection::standing::{
    GateState, HoldPointStanding, HoldPointState, Nonconformance, NonconformanceState, Origin,
};
use gaugerod_core::plan_drawing::Standing;
use gaugerod_core::plan_of_work::{CriterionKind, Feed, Owed};

use crate::widgets::Mark;

/// How a hold point stands.
pub fn of_hold_point(one: &HoldPointStanding) -> Mark {
    match one.state {
        HoldPointState::NotOpen => Mark::NotYet,
        HoldPointState::Open if one.verdict == Verdict::Nonconforming => Mark::Nonconforming,
        HoldPointState::Open if one.owed.is_empty() && one.verdict == Verdict::Undetermined => {
            Mark::Undetermined
        }
        HoldPointState::Open if one.is_ready() => Mark::Ready,
        HoldPointState::Open => Mark::Owed,
        HoldPointState::Offered => Mark::Offered,
        HoldPointState::Refused => Mark::Refused,
        HoldPointState::CoveredUnreleased => Mark::Covered,
        HoldPointState::InQuestion => Mark::InQuestion,
        HoldPointState::UnderConcession => Mark::Concession,
        HoldPointState::Released if one.is_conceded() => Mark::Concession,
        HoldPointState::Released => Mark::Released,
    }
}

/// Whether later work hides it though nobody released it: what the section warns of.
pub fn is_hidden_unproved(one: &HoldPointStanding) -> bool {
    one.covered && !one.state.is_settled()
}

/// How a gate stands.
pub const fn of_gate(state: GateState) -> Mark {
    match state {
        GateState::NotOpen => Mark::NotYet,
        GateState::Open => Mark::Owed,
        GateState::Offered => Mark::Offered,
        GateState::Stopped => Mark::Refused,
        GateState::Released => Mark::Released,
    }
}

/// How a criterion stands: what is wrong first, then what is owed, then a concession, then all well.
pub fn of_criterion(one: &CriterionStanding) -> Mark {
    let readings = one.readings.iter().filter(|reading| reading.settled.is_none());
    let readings = readings.filter_map(|reading| reading.trial.as_ref()).map(|trial| trial.verdict);
    let findings = one.findings.iter().filter(|finding| !finding.caution && !finding.settled);
    let findings = findings.map(|finding| finding.verdict);
    let answer = one.answer.as_ref().filter(|answer| answer.answer == Answer::No && answer.settled.is_none());
    let against = readings.chain(findings).chain(answer.map(|_| Verdict::Nonconforming));
    let against = against.filter(|verdict| *verdict != Verdict::Conforming);
    match Verdict::overall(against.chain([Verdict::Conforming])) {
        Verdict::Conforming if !one.owed.is_empty() => Mark::Owed,
        Verdict::Conforming if is_conceded(one) => Mark::Concession,
        verdict => verdict.into(),
    }
}

fn is_conceded(one: &CriterionStanding) -> bool {
    let readings = one.readings.iter().filter_map(|reading| reading.settled.as_ref());
    let answer = one.answer.as_ref().and_then(|answer| answer.settled.as_ref());
    readings.chain(answer).any(|settled| settled.concession)
}

/// How one reading stands. Where only all readings together have a verdict, it is read and no more.
pub fn of_reading(one: &ReadingStanding, criterion: &CriterionStanding) -> Mark {
    Standing::of_reading(one, criterion).into()
}

/// How a nonconformance stands.
pub fn of_nonconformance(one: &Nonconformance) -> Mark {
    match (&one.state, one.origin) {
        (NonconformanceState::Settled(settled), _) if settled.concession => Mark::Concession,
        (NonconformanceState::Settled(_) | NonconformanceState::Replaced { .. }, _) => Mark::Conforming,
        (NonconformanceState::Open, Origin::TooNearToCall) => Mark::Undetermined,
        (NonconformanceState::Open, Origin::Refusal) => Mark::Refused,
        (NonconformanceState::Open, Origin::Covered) => Mark::Covered,
        (NonconformanceState::Open, Origin::Reading | Origin::Answer | Origin::Raised) => Mark::Nonconforming,
    }
}

/// What a nonconformance comes from, in words.
pub const fn origin(origin: Origin) -> &'static str {
    match origin {
        Origin::Reading => "reading",
        Origin::TooNearToCall => "too near to call",
        Origin::Answer => "answer",
        Origin::Refusal => "refusal",
        Origin::Covered => "covered without release",
        Origin::Raised => "raised",
    }
}

/// How far a criterion has come, in few words: `17 of 18`, `yes`, `from the drawing`.
pub fn progress(one: &CriterionStanding) -> String {
    match &one.kind {
        CriterionKind::Reckoning { feed, owed, .. } => {
            if matches!(feed, Feed::WalkingAge | Feed::LoadingAge) {
                return if one.owed.is_empty() { "age reached" } else { "not yet" }.to_owned();
            }
            if feed.unit().is_none() {
                return "from the drawing".to_owned();
            }
            let (done, of) = counted(one, *owed);
            if of == 0 { format!("{done} read") } else { format!("{done} of {of}") }
        }
        CriterionKind::Question { .. } => answer(one).unwrap_or_else(|| "not answered yet".to_owned()),
        CriterionKind::Document { .. } => match one.documents.as_slice() {
            [] => answer(one).unwrap_or_else(|| "document owed".to_owned()),
            [(file, _)] => file.name.clone(),
            many => format!("{} documents", many.len()),
        },
    }
}

/// Points read and points owed.
fn counted(one: &CriterionStanding, owed: Owed) -> (usize, usize) {
    let read: BTreeSet<_> = one.readings.iter().map(|reading| &reading.point).collect();
    if !one.points.is_empty() {
        return (one.points.iter().filter(|point| read.contains(point)).count(), one.points.len());
    }
    let least = match owed {
        // Nothing is owed where the floor has no membrane: then the standing owes nothing either.
        Owed::AtLeast(least) if !(one.owed.is_empty() && read.is_empty()) => {
            usize::try_from(least).unwrap_or(0)
        }
        _ => 0,
    };
    if least == 0 { (read.len(), 0) } else { (read.len(), least.max(read.len())) }
}

/// The answer in words, with its reason.
pub fn answer(one: &CriterionStanding) -> Option<String> {
    let given = one.answer.as_ref()?;
    Some(match given.answer {
        Answer::Yes => "yes".to_owned(),
        Answer::No => "no".to_owned(),
        Answer::NotApplicable => match &given.reason {
            Some(reason) => format!("not applicable: {reason}"),
            None => "not applicable".to_owned(),
        },
    })
}

/// A value with its unit, exact: `47.819 m`, `152 mm`.
pub fn value(value: ReadValue, feed: Feed) -> String {
    match (feed.unit(), value) {
        (Some(unit), ReadValue::Um(_) | ReadValue::Um2(_)) => {
            format!("{} {}", value_in_unit(value, unit), unit.symbol())
        }
        _ => value_text(value),
    }
}
