//! Topping: depths of the structural topping against the design, the volume under them, what was ordered for it.
//!
//! Depths are judged as whole micrometres; the volume comes from triangles over the readings.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::limit::margin_formula;
use super::polygon::{Point, check_outline};
use super::surface::{self, Sample};
use super::{
    Finding, MAX_NAME, MAX_POINTS, MAX_VERTICES, deciding, refuse_negative, refuse_too_many, refuse_twins,
};
use crate::conformity::{Decision, Limits, Verdict, acceptance, judge, too_coarse};
use crate::faults::Faults;
use crate::quantity::{CubicMetres, Factor, Length, Mm, Plain, SquareMetres, Volume};
use crate::working::{ARITHMETIC, FLOOR_DESIGN, JCGM_106, Working, mm, of_many};

#[cfg(test)]
mod tests;

/// More waste than concrete makes no sense.
pub(super) const MOST_WASTE: i32 = 100;
/// More fibres than steel fibre concrete can be mixed with.
const MOST_FIBRES: i32 = 1_000;

/// Depths on plan and what they are held against.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Edge of the topping: a simple polygon, any winding, not closed.
    #[schemars(length(min = 3, max = MAX_VERTICES))]
    pub outline_mm: Vec<Point>,
    /// Thickness of the design.
    #[schemars(range(min = 0))]
    pub design_mm: Mm,
    /// How much thinner it may be.
    #[schemars(range(min = 0))]
    pub tolerance_minus_mm: Mm,
    /// How much thicker.
    #[schemars(range(min = 0))]
    pub tolerance_plus_mm: Mm,
    /// Depths, one at a place.
    #[schemars(length(max = MAX_POINTS))]
    pub readings: Vec<Reading>,
    /// What is added to the volume for waste.
    #[schemars(range(min = 0, max = MOST_WASTE))]
    pub waste_percent: Plain,
    /// Fibres in the concrete.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = MOST_FIBRES))]
    pub fibre_kg_per_m3: Option<Plain>,
    /// How the uncertainty is taken into account.
    pub decision: Decision,
}

/// One depth.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// Its name, once in a sheet.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub point: String,
    /// Its place on plan.
    pub x_mm: Mm,
    /// Its place on plan.
    pub y_mm: Mm,
    /// The depth.
    #[schemars(range(min = 0))]
    pub thickness_mm: Mm,
}

/// Depths judged, and volumes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// In the order of the input.
    pub readings: Vec<JudgedReading>,
    /// The least depth; null without a reading.
    pub least_mm: Option<Mm>,
    /// Where it was read.
    pub least_at: Option<String>,
    /// Mean of the readings, to the micrometre.
    pub mean_mm: Option<Mm>,
    /// Area inside the outline.
    pub area_m2: SquareMetres,
    /// Volume under the surface through the readings, to the cubic millimetre; null without a reading.
    pub volume_m3: Option<CubicMetres>,
    /// Mean depth times area, to compare.
    pub mean_times_area_m3: Option<CubicMetres>,
    /// Volume with waste.
    pub order_m3: Option<CubicMetres>,
    /// Fibres in that; null without fibres.
    pub fibre_kg: Option<f64>,
    /// Any nonconforming, else any undetermined or no readings, else conforming.
    pub verdict: Verdict,
    /// What else there is to say.
    pub findings: Vec<Finding>,
    /// The sums.
    pub working: Working,
}

/// One depth judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct JudgedReading {
    /// Its name.
    pub point: String,
    /// Less the design.
    pub deviation_mm: Mm,
    /// Its verdict.
    pub verdict: Verdict,
    /// Chance that the true depth conforms.
    pub probability_conforming: Option<f64>,
}

/// Judges depths and reckons volumes.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    check(input)?;
    let mut working = Working::new();
    let mut findings = Vec::new();
    let limits = Limits::between(
        input.design_mm.0 - input.tolerance_minus_mm.0,
        input.design_mm.0 + input.tolerance_plus_mm.0,
    );
    let accepted = acceptance(&limits, &input.decision);
    working_of_acceptance(input, &accepted, &mut working);
    if too_coarse(&limits, &input.decision) {
        findings.push(Finding::too_coarse("the tolerance on the thickness"));
    }
    let samples = samples(&input.readings);
    surface_findings(&input.outline_mm, &samples, &mut findings);
    let area = surface::area(&input.outline_mm, &mut working);
    let least = least(&samples, &mut working);
    let mean = mean(input, &mut working);
    let mean_times_area = mean_times_area(input, area, &mut working);
    let volume = surface::volume(&input.outline_mm, &samples, Some(&mut working));
    let order = volume.map(|volume| surface::with_waste(volume, input.waste_percent.0, &mut working));
    let fibres = order.and_then(|order| fibres(input, order, &mut working));

    let mut margins = Vec::new();
    let readings: Vec<JudgedReading> = input
        .readings
        .iter()
        .map(|reading| {
            let judgement = judge(reading.thickness_mm.0, &limits, &input.decision);
            margins.extend(judgement.acceptance_margin);
            JudgedReading {
                point: reading.point.clone(),
                deviation_mm: Mm(reading.thickness_mm.0 - input.design_mm.0),
                verdict: judgement.verdict,
                probability_conforming: judgement.probability_conforming,
            }
        })
        .collect();
    if let Some(least) = margins.into_iter().min() {
        let depths = input.readings.iter().map(|reading| reading.thickness_mm.0);
        let terms: Vec<String> = depths.map(|depth| margin_formula(depth, &accepted)).collect();
        let step = "smallest distance inside the limits of acceptance (accepted from 0)";
        working.mm(step, of_many("min", &terms), least, JCGM_106);
    }
    let verdict = if readings.is_empty() {
        Verdict::Undetermined
    } else {
        Verdict::overall(readings.iter().map(|reading| reading.verdict).chain(deciding(&findings)))
    };
    Ok(Output {
        readings,
        least_mm: least.map(|sample| Mm(sample.depth)),
        least_at: least.map(|sample| sample.name.to_owned()),
        mean_mm: mean.map(Mm),
        area_m2: SquareMetres(area),
        volume_m3: volume.map(CubicMetres),
        mean_times_area_m3: mean_times_area.map(CubicMetres),
        order_m3: order.map(CubicMetres),
        fibre_kg: fibres,
        verdict,
        findings,
        working,
    })
}

/// The volume alone, without its working: for a drawing or a running total. `None` without readings.
pub fn volume(input: &Input) -> Result<Option<Volume>, Faults> {
    check(input)?;
    Ok(surface::volume(&input.outline_mm, &samples(&input.readings), None))
}

fn samples(readings: &[Reading]) -> Vec<Sample<'_>> {
    readings
        .iter()
        .map(|reading| Sample {
            name: &reading.point,
            place: [reading.x_mm, reading.y_mm],
            depth: reading.thickness_mm.0,
        })
        .collect()
}

fn working_of_acceptance(input: &Input, accepted: &Limits, working: &mut Working) {
    let (design, guard) = (mm(input.design_mm.0), mm(input.decision.guard()));
    if let Some(least) = accepted.least {
        let formula = format!("{design} - {} + {guard}", mm(input.tolerance_minus_mm.0));
        working.mm("least thickness accepted", formula, least, JCGM_106);
    }
    if let Some(most) = accepted.most {
        let formula = format!("{design} + {} - {guard}", mm(input.tolerance_plus_mm.0));
        working.mm("greatest thickness accepted", formula, most, JCGM_106);
    }
}

/// Points off the outline still count, but are said.
pub(super) fn surface_findings(outline: &[Point], samples: &[Sample<'_>], findings: &mut Vec<Finding>) {
    let outside = surface::outside(outline, samples);
    if !outside.is_empty() {
        findings.push(Finding::caution(
            "readings lie inside the outline",
            format!("outside of it: {}; look at their coordinates", outside.join(", ")),
            FLOOR_DESIGN,
        ));
    }
}

/// The least depth, the first of equals.
pub(super) fn least<'s, 'n>(samples: &'s [Sample<'n>], working: &mut Working) -> Option<&'s Sample<'n>> {
    let least = samples.iter().min_by_key(|sample| sample.depth)?;
    let terms: Vec<String> = samples.iter().map(|sample| mm(sample.depth)).collect();
    working.mm(
        format!("least thickness, at {}", least.name),
        of_many("min", &terms),
        least.depth,
        ARITHMETIC,
    );
    Some(least)
}

fn count(input: &Input) -> i64 {
    i64::try_from(input.readings.len()).expect("BUG: readings are bounded")
}

fn sum(input: &Input) -> (Length, String) {
    let terms: Vec<String> = input.readings.iter().map(|reading| mm(reading.thickness_mm.0)).collect();
    (input.readings.iter().map(|reading| reading.thickness_mm.0).sum(), of_many("sum", &terms))
}

fn mean(input: &Input, working: &mut Working) -> Option<Length> {
    if input.readings.is_empty() {
        return None;
    }
    let ((sum, formula), count) = (sum(input), count(input));
    let mean = sum.share(1, count);
    let formula = format!("round(({formula}) * 1000 / {count}) / 1000");
    working.mm("mean thickness, to the micrometre", formula, mean, ARITHMETIC);
    Some(mean)
}

fn mean_times_area(input: &Input, area: crate::quantity::Area, working: &mut Working) -> Option<Volume> {
    let (sum, count) = (sum(input).0, count(input));
    let volume = Volume::over(area, sum, count)?;
    let formula = format!("{} * {} / {count} / 1000", area.to_m2_text(), mm(sum));
    working.m3("mean thickness times area, to compare", formula, volume, ARITHMETIC);
    Some(volume)
}

fn fibres(input: &Input, order: Volume, working: &mut Working) -> Option<f64> {
    let rate = input.fibre_kg_per_m3?.0;
    let fibres = order.to_m3_f64() * rate.to_f64();
    let formula = format!("{} * {}", crate::working::term(&order.to_m3_text()), rate.to_text());
    working.float("fibres in the volume with waste", formula, fibres, "kg", FLOOR_DESIGN);
    Some(fibres)
}

fn check(input: &Input) -> Result<(), Faults> {
    let mut faults = Faults::new();
    check_outline("/outline_mm", &input.outline_mm, &mut faults);
    refuse_negative("/design_mm", input.design_mm.0, &mut faults);
    refuse_negative("/tolerance_minus_mm", input.tolerance_minus_mm.0, &mut faults);
    refuse_negative("/tolerance_plus_mm", input.tolerance_plus_mm.0, &mut faults);
    refuse_too_many("/readings", input.readings.len(), MAX_POINTS, &mut faults);
    let names = input.readings.iter().map(|reading| reading.point.as_str());
    refuse_twins("/readings", "point", names, &mut faults);
    let places = input.readings.iter().map(|reading| [reading.x_mm, reading.y_mm]);
    surface::refuse_same_places("/readings", places, &mut faults);
    for (index, reading) in input.readings.iter().enumerate() {
        refuse_negative(&format!("/readings/{index}/thickness_mm"), reading.thickness_mm.0, &mut faults);
    }
    refuse_plain("/waste_percent", input.waste_percent, MOST_WASTE, &mut faults);
    if let Some(fibres) = input.fibre_kg_per_m3 {
        refuse_plain("/fibre_kg_per_m3", fibres, MOST_FIBRES, &mut faults);
    }
    input.decision.check("/decision", &mut faults);
    faults.into_result(())
}

/// A plain number outside of 0 to `most`.
pub(super) fn refuse_plain(place: &str, value: Plain, most: i32, faults: &mut Faults) {
    if value.0 < Factor::whole(0) || Factor::whole(most) < value.0 {
        faults.add(place, format!("must lie within 0 and {most}"));
    }
}
