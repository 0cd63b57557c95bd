//! Bearing: levels of the bearing walls against the level they are built to, point by point and between neighbours.
//!
//! The plane through the points is a least-squares fit in binary floats: it informs and never decides. A remedy is
//! offered in the trade's terms for a whole wall; nothing here says that a wall is sound.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{
    Finding, MAX_NAME, MAX_POINTS, deciding, limit::margin_formula, refuse_negative, refuse_too_many,
    refuse_twins,
};
use crate::conformity::{Decision, Judgement, Limits, Verdict, acceptance, judge, too_coarse};
use crate::faults::Faults;
use crate::quantity::{Length, Metres, Mm};
use crate::working::{ARITHMETIC, COMMON_PRACTICE, JCGM_106, Working, m, mm, of_many};

mod plane;
mod remedy;
#[cfg(test)]
mod tests;

pub use plane::Plane;
pub use remedy::{Remedy, RemedyKind};

/// Levels of bearing walls and what they are held against.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// The bearing level of the design.
    pub target_m: Metres,
    /// How far above it a bearing may stand.
    #[schemars(range(min = 0))]
    pub tolerance_plus_mm: Mm,
    /// How far below it.
    #[schemars(range(min = 0))]
    pub tolerance_minus_mm: Mm,
    /// The most that neighbours on one wall may differ; without it their verdicts are undetermined and do not count.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0))]
    pub largest_difference_mm: Option<Mm>,
    /// Levels booked.
    #[schemars(length(max = MAX_POINTS))]
    pub points: Vec<Point>,
    /// How the uncertainty of one level is taken into account; a difference of two carries √2 of it.
    pub decision: Decision,
    /// The levelling bed that the project allows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bed_mm: Option<Bed>,
}

/// One level on a bearing wall.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Point {
    /// Its name, once in a sheet.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub point: String,
    /// The wall it stands on.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub wall: String,
    /// Its place along the wall.
    pub along_mm: Mm,
    /// Its place on plan.
    pub x_mm: Mm,
    /// Its place on plan.
    pub y_mm: Mm,
    /// Its level.
    pub level_m: Metres,
}

/// Least and greatest thickness of a levelling bed, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bed {
    /// Least thickness.
    #[schemars(range(min = 0))]
    pub least: Mm,
    /// Greatest thickness.
    #[schemars(range(min = 0))]
    pub most: Mm,
}

/// Every point and every pair of neighbours judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// In the order of the input.
    pub points: Vec<JudgedPoint>,
    /// Consecutive points of each wall, never round a corner.
    pub neighbours: Vec<Neighbours>,
    /// The plane through all points; null with fewer than 3 points or all in one line.
    pub plane: Option<Plane>,
    /// What would put a wall right.
    pub remedies: Vec<Remedy>,
    /// Any nonconforming, else any undetermined or no points, else conforming.
    pub verdict: Verdict,
    /// What else there is to say.
    pub findings: Vec<Finding>,
    /// The sums.
    pub working: Working,
}

/// One level judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct JudgedPoint {
    /// Its name.
    pub point: String,
    /// Its wall.
    pub wall: String,
    /// Level less target.
    pub deviation_mm: Mm,
    /// Its verdict.
    pub verdict: Verdict,
    /// Chance that the true level conforms.
    pub probability_conforming: Option<f64>,
    /// What brings it to the target: −deviation.
    pub to_target_mm: Mm,
    /// The least change, up positive, that brings it to the nearest limit of acceptance; 0 when accepted; null when
    /// the instrument is too coarse to accept anything.
    pub least_remedy_mm: Option<Mm>,
}

/// Two neighbours on one wall judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Neighbours {
    /// Their wall.
    pub wall: String,
    /// The earlier along the wall.
    pub from: String,
    /// The later.
    pub to: String,
    /// Level of the later less level of the earlier.
    pub difference_mm: Mm,
    /// The verdict; undetermined without a limit.
    pub verdict: Verdict,
    /// Chance that the true difference conforms; null without a limit.
    pub probability_conforming: Option<f64>,
}

/// Judges the levels of bearing walls.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    check(input)?;
    let limits = Limits::between(-input.tolerance_minus_mm.0, input.tolerance_plus_mm.0);
    let accepted = acceptance(&limits, &input.decision);
    let mut working = Working::new();
    let mut findings = Vec::new();
    working_of_acceptance(input, &accepted, &mut working);
    if too_coarse(&limits, &input.decision) {
        findings.push(Finding::too_coarse("the tolerance on the bearing level"));
    }

    let mut margins = Vec::new();
    let points: Vec<JudgedPoint> = input
        .points
        .iter()
        .map(|point| {
            let deviation = point.level_m.0 - input.target_m.0;
            let judgement = judge(deviation, &limits, &input.decision);
            working.mm(
                format!("{}: deviation", point.point),
                format!("({} - {}) * 1000", m(point.level_m.0), m(input.target_m.0)),
                deviation,
                ARITHMETIC,
            );
            if let Some(margin) = judgement.acceptance_margin {
                margins.push((margin_formula(deviation, &accepted), margin));
            }
            judged(point, deviation, &judgement, &accepted)
        })
        .collect();
    let neighbours = judge_neighbours(input, &mut working, &mut findings, &mut margins);
    let plane = plane::fit(&input.points, input.target_m.0, &mut working);
    let remedies = remedy::of_walls(input, &points, &neighbours, &accepted);
    if !remedies.is_empty() {
        findings.push(Finding::caution(
            "bearings are put right on the whole wall",
            "never pack under single beams; the wall is corrected before beams are landed, and the designer decides in doubt",
            COMMON_PRACTICE,
        ));
    }
    if let Some(least) = margins.iter().map(|(_, margin)| *margin).min() {
        let terms: Vec<String> = margins.into_iter().map(|(formula, _)| formula).collect();
        working.mm(
            "smallest distance inside the limits of acceptance (accepted from 0)",
            of_many("min", &terms),
            least,
            JCGM_106,
        );
    }
    let of_neighbours =
        neighbours.iter().filter(|_| input.largest_difference_mm.is_some()).map(|pair| pair.verdict);
    let verdict = if points.is_empty() {
        Verdict::Undetermined
    } else {
        Verdict::overall(
            points.iter().map(|point| point.verdict).chain(of_neighbours).chain(deciding(&findings)),
        )
    };
    Ok(Output { points, neighbours, plane, remedies, verdict, findings, working })
}

fn working_of_acceptance(input: &Input, accepted: &Limits, working: &mut Working) {
    let guard = input.decision.guard();
    if let Some(most) = accepted.most {
        let formula = format!("{} - {}", mm(input.tolerance_plus_mm.0), mm(guard));
        working.mm("greatest deviation accepted", formula, most, JCGM_106);
    }
    if let Some(least) = accepted.least {
        let formula = format!("{} + {}", mm(-input.tolerance_minus_mm.0), mm(guard));
        working.mm("least deviation accepted", formula, least, JCGM_106);
    }
}

fn judged(point: &Point, deviation: Length, judgement: &Judgement, accepted: &Limits) -> JudgedPoint {
    let least_remedy = if judgement.too_coarse {
        None
    } else {
        let nearest = accepted.least.map_or(deviation, |least| deviation.max(least));
        let nearest = accepted.most.map_or(nearest, |most| nearest.min(most));
        Some(Mm(nearest - deviation))
    };
    JudgedPoint {
        point: point.point.clone(),
        wall: point.wall.clone(),
        deviation_mm: Mm(deviation),
        verdict: judgement.verdict,
        probability_conforming: judgement.probability_conforming,
        to_target_mm: Mm(-deviation),
        least_remedy_mm: least_remedy,
    }
}

/// The walls in the order in which they first appear, their points sorted along them.
fn walls(points: &[Point]) -> Vec<Vec<&Point>> {
    let mut walls: Vec<Vec<&Point>> = Vec::new();
    let mut place: std::collections::HashMap<&str, usize> = std::collections::HashMap::new();
    for point in points {
        let index = *place.entry(point.wall.as_str()).or_insert_with(|| {
            walls.push(Vec::new());
            walls.len() - 1
        });
        walls[index].push(point);
    }
    for wall in &mut walls {
        wall.sort_by_key(|point| point.along_mm);
    }
    walls
}

fn judge_neighbours(
    input: &Input,
    working: &mut Working,
    findings: &mut Vec<Finding>,
    margins: &mut Vec<(String, Length)>,
) -> Vec<Neighbours> {
    let decision = input.decision.of_difference();
    let limits =
        input.largest_difference_mm.map_or_else(Limits::default, |most| Limits::between(-most.0, most.0));
    let accepted = acceptance(&limits, &decision);
    if let (Some(most), Some(accepted)) = (limits.most, accepted.most) {
        working.mm(
            "greatest difference of neighbours accepted",
            format!("{} - {}", mm(most), mm(decision.guard())),
            accepted,
            "JCGM 106:2012; a difference carries sqrt(2) U, rounded to the micrometre",
        );
    }
    if too_coarse(&limits, &decision) {
        findings.push(Finding::too_coarse("the difference allowed between neighbours"));
    }
    let mut neighbours = Vec::new();
    for wall in walls(&input.points) {
        for pair in wall.windows(2) {
            let (from, to) = (pair[0], pair[1]);
            let difference = to.level_m.0 - from.level_m.0;
            let judgement = judge(difference, &limits, &decision);
            working.mm(
                format!("{} to {}: difference", from.point, to.point),
                format!("({} - {}) * 1000", m(to.level_m.0), m(from.level_m.0)),
                difference,
                ARITHMETIC,
            );
            if let (Some(margin), Some(most)) = (judgement.acceptance_margin, accepted.most) {
                margins.push((format!("{} - abs({})", mm(most), difference.to_mm_text()), margin));
            }
            neighbours.push(Neighbours {
                wall: from.wall.clone(),
                from: from.point.clone(),
                to: to.point.clone(),
                difference_mm: Mm(difference),
                verdict: judgement.verdict,
                probability_conforming: judgement.probability_conforming,
            });
        }
    }
    neighbours
}

fn check(input: &Input) -> Result<(), Faults> {
    let mut faults = Faults::new();
    refuse_too_many("/points", input.points.len(), MAX_POINTS, &mut faults);
    refuse_twins("/points", "point", input.points.iter().map(|point| point.point.as_str()), &mut faults);
    refuse_negative("/tolerance_plus_mm", input.tolerance_plus_mm.0, &mut faults);
    refuse_negative("/tolerance_minus_mm", input.tolerance_minus_mm.0, &mut faults);
    if let Some(largest) = input.largest_difference_mm {
        refuse_negative("/largest_difference_mm", largest.0, &mut faults);
    }
    input.decision.check("/decision", &mut faults);
    if let Some(bed) = input.bed_mm {
        refuse_negative("/bed_mm/least", bed.least.0, &mut faults);
        if bed.most < bed.least {
            faults.add("/bed_mm/most", "must be at least least");
        }
    }
    faults.into_result(())
}
