//! Void: the clear height between the ground and the lowest point of the floor.
//!
//! Reckoned against the design, and again as built. It judges heights, not drainage or cleanliness.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Finding, MAX_NAME, MAX_POINTS, refuse_negative, refuse_too_many, refuse_twins};
use crate::conformity::{Decision, Limits, Verdict, judge};
use crate::faults::Faults;
use crate::quantity::{Length, Metres, Mm};
use crate::working::{ARITHMETIC, FLOOR_DESIGN, Working, m, mm, of_many};

/// The floor's lowest point and levels of the ground below it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Lowest point of the floor: as designed, or lowest accepted bearing + bedding − what hangs below.
    pub lowest_point_m: Metres,
    /// Ventilated void and heave allowance together.
    #[schemars(range(min = 0))]
    pub required_void_mm: Mm,
    /// Levels of the ground.
    #[schemars(length(max = MAX_POINTS))]
    pub ground: Vec<Ground>,
    /// How the uncertainty is taken into account.
    pub decision: Decision,
}

/// One level of the ground.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Ground {
    /// Name of the point.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub point: String,
    /// Its place on plan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub x_mm: Option<Mm>,
    /// Its place on plan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub y_mm: Option<Mm>,
    /// Its level.
    pub level_m: Metres,
}

/// Every point judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// In the order of the input.
    pub ground: Vec<JudgedGround>,
    /// The least void; null without a point.
    pub least_void_mm: Option<Mm>,
    /// Any nonconforming, else any undetermined or none at all, else conforming.
    pub verdict: Verdict,
    /// What else there is to say.
    pub findings: Vec<Finding>,
    /// The sums.
    pub working: Working,
}

/// One point judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct JudgedGround {
    /// Name of the point.
    pub point: String,
    /// Clear height above it.
    pub void_mm: Mm,
    /// Its verdict.
    pub verdict: Verdict,
    /// Chance that the true void is enough.
    pub probability_conforming: Option<f64>,
    /// To dig away until the void is accepted.
    pub dig_mm: Mm,
}

/// Judges the void at every point.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    check(input)?;
    let required = input.required_void_mm.0;
    let limits = Limits::at_least(required);
    let guard = input.decision.guard();
    let mut working = Working::new();
    working.mm(
        "void that is accepted",
        format!("{} + {}", mm(required), mm(guard)),
        required + guard,
        FLOOR_DESIGN,
    );
    let mut ground = Vec::new();
    for point in &input.ground {
        let void = input.lowest_point_m.0 - point.level_m.0;
        let judgement = judge(void, &limits, &input.decision);
        let dig = Length::ZERO.max(required + guard - void);
        working.mm(
            format!("{}: void", point.point),
            format!("({} - {}) * 1000", m(input.lowest_point_m.0), m(point.level_m.0)),
            void,
            ARITHMETIC,
        );
        if dig > Length::ZERO {
            working.mm(
                format!("{}: to dig", point.point),
                format!("max(0, {} + {} - {})", mm(required), mm(guard), mm(void)),
                dig,
                ARITHMETIC,
            );
        }
        ground.push(JudgedGround {
            point: point.point.clone(),
            void_mm: Mm(void),
            verdict: judgement.verdict,
            probability_conforming: judgement.probability_conforming,
            dig_mm: Mm(dig),
        });
    }
    let least = ground.iter().map(|point| point.void_mm).min();
    if let Some(least) = least {
        let terms: Vec<String> = ground.iter().map(|point| mm(point.void_mm.0)).collect();
        working.mm("least void", of_many("min", &terms), least.0, ARITHMETIC);
    }
    let verdict = Verdict::overall(ground.iter().map(|point| point.verdict));
    Ok(Output { ground, least_void_mm: least, verdict, findings: Vec::new(), working })
}

fn check(input: &Input) -> Result<(), Faults> {
    let mut faults = Faults::new();
    refuse_too_many("/ground", input.ground.len(), MAX_POINTS, &mut faults);
    refuse_negative("/required_void_mm", input.required_void_mm.0, &mut faults);
    refuse_twins("/ground", "point", input.ground.iter().map(|point| point.point.as_str()), &mut faults);
    input.decision.check("/decision", &mut faults);
    faults.into_result(())
}
