//! Topping forecast: what the topping will come to, from the screed rail and the tops of the beams, before the
//! concrete is ordered.
//!
//! Prestressed beams rise at midspan. Levels at ends and midspan tell how far; the volume takes each such beam as a
//! parabola, which lies above the straight lines that join its points.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::limit::margin_formula;
use super::polygon::{Point, check_outline};
use super::surface::{self, Sample};
use super::topping::{MOST_WASTE, least, refuse_plain, surface_findings};
use super::{
    Finding, MAX_NAME, MAX_POINTS, MAX_VERTICES, deciding, refuse_negative, refuse_too_many, refuse_twins,
};
use crate::conformity::{Decision, Limits, Verdict, acceptance, judge};
use crate::faults::Faults;
use crate::quantity::{CubicMetres, Length, Metres, Mm, Plain, SquareMetres, Volume};
use crate::working::{ARITHMETIC, COMMON_PRACTICE, FLOOR_DESIGN, JCGM_106, Working, m, mm, of_many, term};

mod camber;
mod order;
#[cfg(test)]
mod tests;

pub use camber::Beam;
pub use order::{drawn_volume, order_of};

/// Rail, beams and what lies between them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Level of the screed rail: the top of the topping.
    pub rail_level_m: Metres,
    /// Thickness of the design.
    #[schemars(range(min = 0))]
    pub design_mm: Mm,
    /// How much thinner it may be.
    #[schemars(range(min = 0))]
    pub tolerance_minus_mm: Mm,
    /// Levels of the beams' tops, at ends and midspan, one at a place.
    #[schemars(length(max = MAX_POINTS))]
    pub beam_tops: Vec<BeamTop>,
    /// Thickness of the overlay on the beams.
    #[schemars(range(min = 0))]
    pub overlay_mm: Mm,
    /// Thickness of the membrane.
    #[schemars(range(min = 0))]
    pub membrane_mm: Mm,
    /// Edge of the topping: a simple polygon, any winding, not closed.
    #[schemars(length(min = 3, max = MAX_VERTICES))]
    pub outline_mm: Vec<Point>,
    /// What is added to the volume for waste.
    #[schemars(range(min = 0, max = MOST_WASTE))]
    pub waste_percent: Plain,
    /// The steps in which the supplier sells.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub supplier_step_m3: CubicMetres,
    /// How the uncertainty is taken into account.
    pub decision: Decision,
}

/// One level on a beam.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BeamTop {
    /// Its name, once in a sheet.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub point: String,
    /// The beam it stands on. Without any beam named, an end, a midspan and an end that stand one after the other in
    /// the sheet and in one straight line on plan are a beam.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub beam: Option<String>,
    /// Its place on plan.
    pub x_mm: Mm,
    /// Its place on plan.
    pub y_mm: Mm,
    /// Its level.
    pub level_m: Metres,
}

/// What the topping will come to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// In the order of the input.
    pub beam_tops: Vec<JudgedTop>,
    /// The least thickness; null without a level.
    pub least_mm: Option<Mm>,
    /// Where it is.
    pub least_at: Option<String>,
    /// Beams with levels at both ends and at midspan.
    pub beams: Vec<Beam>,
    /// Area inside the outline.
    pub area_m2: SquareMetres,
    /// Volume of the topping, to the cubic millimetre; null without a level.
    pub volume_m3: Option<CubicMetres>,
    /// With waste, and up to the supplier's step.
    pub order_m3: Option<CubicMetres>,
    /// Any nonconforming, else any undetermined or no levels, else conforming.
    pub verdict: Verdict,
    /// What else there is to say.
    pub findings: Vec<Finding>,
    /// The sums.
    pub working: Working,
}

/// One place judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct JudgedTop {
    /// Its name.
    pub point: String,
    /// The topping that is left there.
    pub topping_mm: Mm,
    /// Its verdict.
    pub verdict: Verdict,
    /// Chance that it will be thick enough.
    pub probability_conforming: Option<f64>,
}

/// Forecasts the topping.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    check(input)?;
    let mut working = Working::new();
    let mut findings = Vec::new();
    let limits = Limits::at_least(input.design_mm.0 - input.tolerance_minus_mm.0);
    let accepted = acceptance(&limits, &input.decision);
    if let Some(least) = accepted.least {
        let formula = format!(
            "{} - {} + {}",
            mm(input.design_mm.0),
            mm(input.tolerance_minus_mm.0),
            mm(input.decision.guard())
        );
        working.mm("least thickness accepted", formula, least, JCGM_106);
    }
    let samples = samples(input, &mut working);
    surface_findings(&input.outline_mm, &samples, &mut findings);
    let area = surface::area(&input.outline_mm, &mut working);
    let least = least(&samples, &mut working);
    let beams = camber::beams(&input.beam_tops, &mut working);
    let volume = surface::volume(&input.outline_mm, &samples, Some(&mut working))
        .map(|volume| camber::under_parabolas(volume, area, &beams, &input.beam_tops, &mut working));
    let order = volume.map(|volume| order(input, volume, &mut working));

    let mut margins = Vec::new();
    let beam_tops: Vec<JudgedTop> = samples
        .iter()
        .map(|sample| {
            let judgement = judge(sample.depth, &limits, &input.decision);
            margins.extend(judgement.acceptance_margin);
            JudgedTop {
                point: sample.name.to_owned(),
                topping_mm: Mm(sample.depth),
                verdict: judgement.verdict,
                probability_conforming: judgement.probability_conforming,
            }
        })
        .collect();
    if let Some(least) = margins.into_iter().min() {
        let terms: Vec<String> =
            samples.iter().map(|sample| margin_formula(sample.depth, &accepted)).collect();
        let step = "smallest distance above the least accepted (accepted from 0)";
        working.mm(step, of_many("min", &terms), least, JCGM_106);
    }
    if beam_tops.iter().any(|top| top.verdict != Verdict::Conforming) {
        findings.push(Finding::caution(
            "the topping is put right before the concrete is ordered",
            "a higher rail raises the finished floor and its thresholds; the designer decides, and beams are never cut",
            COMMON_PRACTICE,
        ));
    }
    let verdict = Verdict::overall(beam_tops.iter().map(|top| top.verdict).chain(deciding(&findings)));
    Ok(Output {
        least_mm: least.map(|sample| Mm(sample.depth)),
        least_at: least.map(|sample| sample.name.to_owned()),
        beams: beams.into_iter().map(|found| found.beam).collect(),
        area_m2: SquareMetres(area),
        volume_m3: volume.map(CubicMetres),
        order_m3: order.map(CubicMetres),
        beam_tops,
        verdict,
        findings,
        working,
    })
}

/// Rail less beam top less what lies between.
fn samples<'i>(input: &'i Input, working: &mut Working) -> Vec<Sample<'i>> {
    let between = input.overlay_mm.0 + input.membrane_mm.0;
    input
        .beam_tops
        .iter()
        .map(|top| {
            let depth = input.rail_level_m.0 - top.level_m.0 - between;
            working.mm(
                format!("{}: topping that is left", top.point),
                format!(
                    "({} - {}) * 1000 - {} - {}",
                    m(input.rail_level_m.0),
                    m(top.level_m.0),
                    mm(input.overlay_mm.0),
                    mm(input.membrane_mm.0)
                ),
                depth,
                ARITHMETIC,
            );
            Sample { name: &top.point, place: [top.x_mm, top.y_mm], depth }
        })
        .collect()
}

/// With waste, and up to the supplier's step.
fn order(input: &Input, volume: Volume, working: &mut Working) -> Volume {
    let wanted = surface::with_waste(volume, input.waste_percent.0, working);
    let step = input.supplier_step_m3.0;
    let order = wanted.up_to_step(step).expect("BUG: the step is checked");
    working.m3(
        "order: up to the supplier's step, counted in cubic millimetres",
        format!("ceil(max(0, {}) / {}) * {}", term(&wanted.mm3().to_string()), step.mm3(), step.to_m3_text()),
        order,
        FLOOR_DESIGN,
    );
    order
}

fn check(input: &Input) -> Result<(), Faults> {
    let mut faults = Faults::new();
    for (place, length) in [
        ("/design_mm", input.design_mm),
        ("/tolerance_minus_mm", input.tolerance_minus_mm),
        ("/overlay_mm", input.overlay_mm),
        ("/membrane_mm", input.membrane_mm),
    ] {
        refuse_negative(place, length.0, &mut faults);
    }
    refuse_too_many("/beam_tops", input.beam_tops.len(), MAX_POINTS, &mut faults);
    let names = input.beam_tops.iter().map(|top| top.point.as_str());
    refuse_twins("/beam_tops", "point", names, &mut faults);
    let places = input.beam_tops.iter().map(|top| [top.x_mm, top.y_mm]);
    surface::refuse_same_places("/beam_tops", places, &mut faults);
    check_outline("/outline_mm", &input.outline_mm, &mut faults);
    refuse_plain("/waste_percent", input.waste_percent, MOST_WASTE, &mut faults);
    if input.supplier_step_m3.0 <= Volume::ZERO {
        faults.add("/supplier_step_m3", "must be more than 0");
    }
    input.decision.check("/decision", &mut faults);
    faults.into_result(())
}

/// Half of a sum, to the micrometre.
fn half(length: Length) -> Length {
    length.share(1, 2)
}
