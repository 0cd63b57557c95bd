//! What would put a level right that does not conform: wall by wall in the trade's terms, ground to dig away, and
//! whether one common shift of the whole floor would do, with what that moves.
//!
//! Everything comes from reckonings. Nothing is decided here for the designer or the engineer.

use super::feeds;
use super::fold::PlotRecord;
use super::judge::CriterionStanding;
use crate::conformity::Verdict;
use crate::plan_of_work::{CriterionKind, Feed};
use crate::quantity::{Length, Metres, Mm};
use crate::reckon::{bearing, build_up, common_shift, evaporation, void};

/// What would put a criterion right.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct WhatToDo {
    /// For each wall that does not conform.
    pub remedies: Vec<bearing::Remedy>,
    /// Points of the ground, and how much to dig away there.
    pub dig: Vec<(String, Length)>,
    /// What else would help, the quickest first.
    pub advice: Vec<String>,
    /// Whether one shift of the whole floor would do; `None` where bearings are not what is judged.
    pub shift: Option<common_shift::Output>,
}

/// What would put a criterion right; `None` where nothing is wrong with it, or nothing is known to help.
pub fn what_to_do(record: &PlotRecord, criterion: &CriterionStanding) -> Option<WhatToDo> {
    let reckoned = criterion.reckoned.first()?;
    if criterion.verdict == Some(Verdict::Conforming) {
        return None;
    }
    match criterion.feed()? {
        Feed::BearingLevels => {
            let input: bearing::Input = serde_json::from_value(reckoned.input.clone()).ok()?;
            let output: bearing::Output = serde_json::from_value(reckoned.output.clone()).ok()?;
            let shift = shift_input(record, &input).and_then(|input| common_shift::reckon(&input).ok());
            Some(WhatToDo { remedies: output.remedies, dig: Vec::new(), advice: Vec::new(), shift })
        }
        Feed::GroundLevels | Feed::GroundAsBuilt => {
            let output: void::Output = serde_json::from_value(reckoned.output.clone()).ok()?;
            let dig: Vec<_> = output
                .ground
                .into_iter()
                .filter(|point| point.dig_mm.0 > Length::ZERO)
                .map(|point| (point.point, point.dig_mm.0))
                .collect();
            (!dig.is_empty()).then_some(WhatToDo { dig, ..WhatToDo::default() })
        }
        // The same is done about every reading: once is enough.
        Feed::PourConditions => {
            let advice = criterion.reckoned.iter().find_map(|one| {
                let output: evaporation::Output = serde_json::from_value(one.output.clone()).ok()?;
                (!output.advice.is_empty()).then_some(output.advice)
            })?;
            Some(WhatToDo { advice, ..WhatToDo::default() })
        }
        _ => None,
    }
}

fn shift_input(record: &PlotRecord, bearings: &bearing::Input) -> Option<common_shift::Input> {
    if bearings.points.is_empty() {
        return None;
    }
    let design = record.design();
    let required = design.under_floor.void_mm.0 + design.under_floor.heave_allowance_mm.0;
    Some(common_shift::Input {
        bearing_level_m: bearings.target_m,
        tolerance_plus_mm: bearings.tolerance_plus_mm,
        tolerance_minus_mm: bearings.tolerance_minus_mm,
        points: bearings
            .points
            .iter()
            .map(|point| common_shift::Point { point: point.point.clone(), level_m: point.level_m })
            .collect(),
        decision: bearings.decision,
        finished_floor_level_m: design.levels.finished_floor_level_m,
        outside_ground_level_m: Metres(design.levels.outside_ground_level_m.0),
        required_void_mm: Mm(required),
        least_void_mm: least_void(record).map(Mm),
    })
}

/// The least void over the ground as it was read, under the floor as designed.
fn least_void(record: &PlotRecord) -> Option<Length> {
    let lowest = build_up::reckon(&design_build_up(record)).ok()?.lowest_point_m.0;
    let criteria =
        record.plan.hold_points.iter().flat_map(|point| point.criteria.iter().map(move |one| (point, one)));
    let ground = criteria
        .filter(|(_, one)| matches!(one.kind, CriterionKind::Reckoning { feed: Feed::GroundLevels, .. }))
        .flat_map(|(point, one)| record.readings_of(&point.id, &one.id))
        .filter(|one| one.superseded.is_none())
        .filter_map(|one| feeds::length_of(one.value))
        .max()?;
    Some(lowest - ground)
}

fn design_build_up(record: &PlotRecord) -> build_up::Input {
    record.design().build_up_input()
}

impl WhatToDo {
    /// The same in sentences, for paper: remedies first, then the shift.
    pub fn sentences(&self) -> Vec<String> {
        let mut lines: Vec<String> = self.remedies.iter().map(|one| one.text.clone()).collect();
        lines.extend(self.dig.iter().map(|(point, by)| format!("dig {} mm away at {point}", by.mm_text(1))));
        lines.extend(self.advice.iter().cloned());
        if let Some(shift) = &self.shift {
            lines.push(shift_sentence(shift));
        }
        lines
    }
}

/// What a common shift would do, in one sentence.
pub fn shift_sentence(shift: &common_shift::Output) -> String {
    let Some(by) = shift.shift_mm else {
        return "no common shift of the whole floor would bring every bearing within its limits".to_owned();
    };
    if by.0 == Length::ZERO {
        return "every bearing lies within its limits without a shift; what differs is neighbours".to_owned();
    }
    let void =
        shift.least_void_mm.map_or_else(String::new, |void| format!(", least void {} mm", void.0.mm_text(1)));
    format!(
        "a common shift of {} mm would bring every bearing within its limits: bearing level {} m, finished floor {} m, \
         {} mm above the outside ground{void}; for the designer to decide",
        by.0.signed_mm_text(1),
        shift.bearing_level_m.0.m_text(3),
        shift.finished_floor_level_m.0.m_text(3),
        shift.threshold_mm.0.mm_text(0)
    )
}
