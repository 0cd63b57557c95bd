//! A plot in a few bytes: what the register of all plots and the site sheet show, kept as a projection so that
//! opening a site does not fold every plot again.

use serde::{Deserialize, Serialize};

use super::fold::PlotRecord;
use super::standing::{FirstTime, GateState, HoldPointState, Origin, PlotStanding};
use crate::conformity::Verdict;
use crate::ids::{GateId, HoldPointId, PlotId};

/// One hold point of a summary.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HoldPointSummary {
    /// The hold point.
    pub id: HoldPointId,
    /// Its title for narrow places.
    pub title: String,
    /// Its gate.
    pub gate: GateId,
    /// Its state.
    pub state: HoldPointState,
    /// Its verdict.
    pub verdict: Verdict,
    /// Whether something in it stands under a concession.
    pub conceded: bool,
    /// How many things are owed.
    pub owed: u32,
    /// How many nonconformances are open.
    pub open_nonconformances: u32,
}

/// An open nonconformance of a summary.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OpenMatter {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// What it comes from.
    pub origin: Origin,
    /// In words.
    pub what: String,
    /// When it was noted, UTC milliseconds.
    pub utc_ms: i64,
}

/// One plot of the register.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlotSummary {
    /// The plot.
    pub plot: PlotId,
    /// The drawing.
    pub drawing: String,
    /// Its revision.
    pub revision: String,
    /// Its gates with their states, in the plan's order.
    pub gates: Vec<(GateId, GateState)>,
    /// Its hold points, in the plan's order.
    pub hold_points: Vec<HoldPointSummary>,
    /// The next hold point that can be worked on.
    pub next: Option<HoldPointId>,
    /// Open nonconformances, in the order of events.
    pub open: Vec<OpenMatter>,
    /// Readings and answers that conformed the first time.
    pub first_time: FirstTime,
    /// Whether the signed document was issued.
    pub signed_off: bool,
    /// When something was last noted on the plot, UTC milliseconds.
    pub last_utc_ms: Option<i64>,
}

impl PlotSummary {
    /// Sums a plot up.
    pub fn of(record: &PlotRecord, standing: &PlotStanding) -> Self {
        let count = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
        Self {
            plot: standing.plot.clone(),
            drawing: record.design().drawing.clone(),
            revision: record.design().revision.clone(),
            gates: standing.gates.iter().map(|gate| (gate.id.clone(), gate.state)).collect(),
            hold_points: standing
                .hold_points
                .iter()
                .map(|one| HoldPointSummary {
                    id: one.id.clone(),
                    title: one.short_title.clone(),
                    gate: one.gate.clone(),
                    state: one.state,
                    verdict: one.verdict,
                    conceded: one.is_conceded(),
                    owed: count(one.owed.len()),
                    open_nonconformances: count(
                        one.nonconformances.iter().filter(|one| one.is_open()).count(),
                    ),
                })
                .collect(),
            next: standing.next().map(|one| one.id.clone()),
            open: standing
                .nonconformances()
                .filter(|one| one.is_open())
                .map(|one| OpenMatter {
                    hold_point: one.hold_point.clone(),
                    origin: one.origin,
                    what: one.what.clone(),
                    utc_ms: one.noted.time.utc_ms,
                })
                .collect(),
            first_time: standing.first_time,
            signed_off: standing.sign_offs > 0,
            last_utc_ms: record.last.as_ref().map(|noted| noted.time.utc_ms),
        }
    }

    /// How many of its hold points are settled, and how many there are.
    pub fn settled(&self) -> (usize, usize) {
        let settled = self.hold_points.iter().filter(|one| one.state.is_settled()).count();
        (settled, self.hold_points.len())
    }
}
