//! How a plot stands in a word, a mark and a strip: what the site sheet and the register both show. Only what the
//! summaries say is said here; nothing is judged.

use gaugerod_core::conformity::Verdict;
use gaugerod_core::inspection::standing::is_sign_off;
use gaugerod_core::inspection::summary::HoldPointSummary;
use gaugerod_core::inspection::{GateState, HoldPointState, PlotSummary};

use crate::widgets::Mark;
use crate::widgets::section_strip::Slice;

/// What a plot is sorted under on the site sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Something was refused, covered without release, is in question or does not conform.
    Stopped,
    /// Something is offered, or only the sign-off is left: it waits for a decision.
    Offered,
    /// There is something to do for who works on it.
    ToDo,
    /// Every hold point is settled.
    Finished,
}

impl Stage {
    /// Every stage, in the order in which they call for somebody.
    pub const ALL: [Self; 4] = [Self::ToDo, Self::Offered, Self::Stopped, Self::Finished];

    /// The stage of a plot: a decision that waits for somebody else comes before work that goes on beside it.
    pub fn of(plot: &PlotSummary) -> Self {
        let any = |wanted: fn(HoldPointState) -> bool| plot.hold_points.iter().any(|one| wanted(one.state));
        let stopped = |state| {
            matches!(
                state,
                HoldPointState::Refused | HoldPointState::InQuestion | HoldPointState::CoveredUnreleased
            )
        };
        if plot.signed_off && plot.hold_points.iter().all(|one| one.state.is_settled()) {
            Self::Finished
        } else if any(stopped) || plot.hold_points.iter().any(|one| one.open_nonconformances > 0) {
            Self::Stopped
        } else if any(|state| state == HoldPointState::Offered) || is_ready_to_sign(plot) {
            Self::Offered
        } else {
            Self::ToDo
        }
    }

    /// The word on screen.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Stopped => "stopped",
            Self::Offered => "offered",
            Self::ToDo => "to do",
            Self::Finished => "finished",
        }
    }

    /// Whom it waits for.
    pub const fn waits_for(self) -> &'static str {
        match self {
            Self::Stopped => "put it right",
            Self::Offered => "manager",
            Self::ToDo => "supervisor",
            Self::Finished => "signed off",
        }
    }
}

/// Whether nothing but the sign-off is left to do.
pub fn is_ready_to_sign(plot: &PlotSummary) -> bool {
    let settled = |one: &HoldPointSummary| is_sign_off(&one.id) || one.state.is_settled();
    !plot.signed_off && !plot.hold_points.is_empty() && plot.hold_points.iter().all(settled)
}

/// The mark of a hold point.
pub fn mark(one: &HoldPointSummary) -> Mark {
    match one.state {
        HoldPointState::NotOpen => Mark::NotYet,
        HoldPointState::Open if one.verdict == Verdict::Nonconforming => Mark::Nonconforming,
        HoldPointState::Open if one.owed == 0 && one.verdict == Verdict::Undetermined => Mark::Undetermined,
        HoldPointState::Open if one.owed == 0 => Mark::Ready,
        HoldPointState::Open => Mark::Owed,
        HoldPointState::Offered => Mark::Offered,
        HoldPointState::Refused => Mark::Refused,
        HoldPointState::CoveredUnreleased => Mark::Covered,
        HoldPointState::InQuestion => Mark::InQuestion,
        HoldPointState::UnderConcession => Mark::Concession,
        HoldPointState::Released if one.conceded => Mark::Concession,
        HoldPointState::Released => Mark::Released,
    }
}

/// The slices of a plot's strip, from the oversite up.
pub fn slices(plot: &PlotSummary) -> Vec<Slice> {
    plot.hold_points
        .iter()
        .map(|one| match one.state {
            HoldPointState::NotOpen => Slice::Blank,
            HoldPointState::Open if one.open_nonconformances > 0 => Slice::Trouble,
            HoldPointState::Open => Slice::Open,
            HoldPointState::Offered => Slice::Offered,
            HoldPointState::Refused | HoldPointState::CoveredUnreleased | HoldPointState::InQuestion => {
                Slice::Trouble
            }
            HoldPointState::UnderConcession | HoldPointState::Released => Slice::Released,
        })
        .collect()
}

/// What the plot waits for, in a few words.
pub fn waits_for(plot: &PlotSummary) -> String {
    if Stage::of(plot) == Stage::Finished {
        return "signed off".to_owned();
    }
    if is_ready_to_sign(plot) {
        return "ready to sign".to_owned();
    }
    let trouble = plot.hold_points.iter().find(|one| mark(one).is_trouble());
    let next = plot.next.as_ref().and_then(|id| plot.hold_points.iter().find(|one| one.id == *id));
    match trouble.or(next) {
        None => "waits".to_owned(),
        Some(one) => match one.state {
            HoldPointState::Open if one.open_nonconformances > 0 => format!("{}: not OK", one.title),
            HoldPointState::Open if one.owed > 0 => format!("{}: {} owed", one.title, one.owed),
            HoldPointState::Open => format!("{}: offer it", one.title),
            HoldPointState::CoveredUnreleased => format!("{}: covered, not released", one.title),
            state => format!("{}: {}", one.title, state.word()),
        },
    }
}

/// The mark that calls for attention: trouble first, then a reading too near to call, then what is done.
pub fn attention(plot: &PlotSummary) -> Option<Mark> {
    let marks = || plot.hold_points.iter().map(mark);
    let near = plot.hold_points.iter().any(|one| one.open_nonconformances > 0);
    marks()
        .find(|mark| mark.is_trouble())
        .or_else(|| near.then_some(Mark::Undetermined))
        .or_else(|| marks().find(|mark| *mark == Mark::Offered))
        .or_else(|| is_ready_to_sign(plot).then_some(Mark::Ready))
        .or_else(|| (Stage::of(plot) == Stage::Finished).then_some(Mark::Released))
}

/// Whether a gate of a plot can be released in one walk.
pub fn is_offered(plot: &PlotSummary, gate: &gaugerod_core::ids::GateId) -> bool {
    let offered = |one: &HoldPointSummary| one.gate == *gate && one.state == HoldPointState::Offered;
    let state = plot.gates.iter().find(|(id, _)| id == gate).map(|(_, state)| *state);
    state == Some(GateState::Offered) || plot.hold_points.iter().any(offered)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::screens::fixture::Site;

    #[test]
    fn every_stage_of_the_invented_site_is_told_apart() {
        let plots = Site::new().register.summaries().expect("the plots read");
        let told: Vec<(String, Stage, Option<Mark>, String)> = plots
            .iter()
            .map(|plot| (plot.plot.to_string(), Stage::of(plot), attention(plot), waits_for(plot)))
            .collect();
        let of = |name: &str| told.iter().find(|one| one.0 == name).expect("the plot");
        assert_eq!((of("1").1, of("1").2), (Stage::ToDo, None));
        assert_eq!(of("2").2, Some(Mark::Nonconforming), "{told:?}");
        assert_eq!((of("3").1, of("3").2), (Stage::Offered, Some(Mark::Offered)));
        assert_eq!(
            (of("4").1, of("4").2, of("4").3.as_str()),
            (Stage::Stopped, Some(Mark::Refused), "Vents: refused")
        );
        assert_eq!(
            (of("2").1, of("5").1, of("5").3.as_str()),
            (Stage::Stopped, Stage::Offered, "ready to sign")
        );
        assert_eq!((of("6").1, of("6").2), (Stage::Stopped, Some(Mark::Covered)));
        assert!(is_offered(&plots[2], &Site::first_gate()) && !is_offered(&plots[0], &Site::first_gate()));
    }
}
