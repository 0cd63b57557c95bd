//! From booked readings to the input of a reckoning, and from its output back to points: one branch for each
//! feed of the plan of work.
//!
//! Never here: a comparison with a limit. A limit is looked up by name; where the design and the defaults give
//! none, the answer is undetermined and says which limit is missing.
//!
//! Longer than most files because the match over every feed is closed: none may be forgotten.

use serde::Serialize;
use serde_json::Value;

use super::beam_feeds;
use super::curing;
use super::finish_feeds;
use super::fold::PlotRecord;
use super::judge::{FindingStanding, Reckoned, Trial};
use super::layer_feeds;
use super::level_book::{Certainty, Reading};
use super::pop_ups;
use crate::conformity::{Decision, Verdict};
use crate::entry::ReadValue;
use crate::faults::Faults;
use crate::floor::LimitName;
use crate::ids::PointName;
use crate::plan_of_work::{CriterionKind, Feed};
use crate::quantity::{Area, Length, Metres, Mm, Mm2};
use crate::reckon::{Finding, bearing, build_up, layer_order, limit, ventilation, void};
use crate::working::Working;

/// What a reckoning said of all readings of a criterion.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Judged {
    pub reckoned: Vec<Reckoned>,
    pub findings: Vec<FindingStanding>,
    pub verdict: Verdict,
}

/// A value booked at a point, and how sure it is.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Booked {
    pub point: PointName,
    pub value: ReadValue,
    /// With what; for a go/no-go gauge, which one.
    pub instrument: Option<String>,
    pub certainty: Certainty,
}

impl From<Reading> for Booked {
    fn from(one: Reading) -> Self {
        Self { point: one.point, value: one.value, instrument: one.instrument, certainty: one.certainty }
    }
}

/// What a go/no-go gauge is called where its reading names none.
const NAMELESS_GAUGE: &str = "go/no-go gauge";

/// What a gauge is called.
pub(super) fn gauge_name(instrument: Option<&String>) -> String {
    instrument.cloned().unwrap_or_else(|| NAMELESS_GAUGE.to_owned())
}

/// Reckons a criterion from its current readings. What is read with an instrument or out of a level book that
/// nothing can be decided from takes part in the sums, but leaves its own part undetermined.
///
/// # Errors
/// A sentence: a limit that neither the design nor the defaults give, or what the reckoning refuses.
pub(super) fn reckon(record: &PlotRecord, feed: Feed, values: &[Booked]) -> Result<Judged, String> {
    let mut judged = reckon_all(record, feed, values)?;
    let sound: Vec<Booked> = values.iter().filter(|one| one.certainty.doubt.is_none()).cloned().collect();
    if sound.len() == values.len() {
        return Ok(judged);
    }
    (judged.findings, judged.verdict) = if sound.is_empty() {
        (Vec::new(), Verdict::Undetermined)
    } else {
        let sound = reckon_all(record, feed, &sound)?;
        (sound.findings, Verdict::overall([sound.verdict, Verdict::Undetermined]))
    };
    Ok(judged)
}

fn reckon_all(record: &PlotRecord, feed: Feed, values: &[Booked]) -> Result<Judged, String> {
    match feed {
        Feed::OverlayLabels
        | Feed::OverlayThickness
        | Feed::HeatingTests
        | Feed::RailLevels
        | Feed::BeamTops
        | Feed::MeshCover
        | Feed::MeshLaps => layer_feeds::reckon(record, feed, values),
        Feed::BuildUp => {
            let input = record.design().build_up_input();
            let output = build_up::reckon(&input).map_err(sentence)?;
            // Levels that follow from a sound design are neither good nor bad: the sum itself is what is shown.
            Ok(judged(feed, &input, &output, output.working.clone(), Vec::new(), Verdict::Conforming))
        }
        Feed::BearingLevels => {
            let input = bearing_input(record, values)?;
            let output = bearing::reckon(&input).map_err(sentence)?;
            let mut findings = findings(&output.findings);
            // Without a limit between neighbours the design asks nothing of them: nothing stands against release.
            if input.largest_difference_mm.is_some() {
                findings.extend(neighbours(&output));
            }
            Ok(judged(feed, &input, &output, output.working.clone(), findings, output.verdict))
        }
        Feed::GroundLevels | Feed::GroundAsBuilt => {
            let input = void_input(record, feed, values)?;
            let output = void::reckon(&input).map_err(sentence)?;
            let found = findings(&output.findings);
            Ok(judged(feed, &input, &output, output.working.clone(), found, output.verdict))
        }
        Feed::VentOpenings => {
            let input = ventilation_input(record, values)?;
            let output = ventilation::reckon(&input).map_err(sentence)?;
            let found = overall(findings(&output.findings), output.verdict, || {
                format!(
                    "openings give {} mm² of {} mm² required",
                    output.provided_mm2.0.to_mm2_text(),
                    output.required_mm2.0.to_mm2_text()
                )
            });
            Ok(judged(feed, &input, &output, output.working.clone(), found, output.verdict))
        }
        Feed::LayerOrder => {
            let input = record.design().layer_order_input();
            let output = layer_order::reckon(&input).map_err(sentence)?;
            let found = overall(findings(&output.findings), output.verdict, || {
                "the order of layers and services is not right".to_owned()
            });
            Ok(judged(feed, &input, &output, output.working.clone(), found, output.verdict))
        }
        Feed::Deliveries
        | Feed::ClearSpans
        | Feed::RunWidths
        | Feed::BeamFaces
        | Feed::InfillCuts
        | Feed::DoubledBeamTickets => beam_feeds::reckon(record, feed, values),
        Feed::PopUpPlaces => pop_ups::reckon(record, values),
        Feed::PourTickets | Feed::PourConditions | Feed::CubesTaken | Feed::CubeResults => {
            super::pour::reckon(record, feed)
        }
        Feed::ToppingDepths | Feed::FinishLevels => finish_feeds::reckon(record, feed, values),
        Feed::WalkingAge | Feed::LoadingAge => curing::reckon(record, feed),
        Feed::DpcHeight
        | Feed::DpcLap
        | Feed::MembraneLap
        | Feed::MembraneThickness
        | Feed::BearingLengths => {
            let input = limit_input(record, feed, values)?;
            let output = limit::reckon(&input).map_err(sentence)?;
            let found = findings(&output.findings);
            Ok(judged(feed, &input, &output, output.working.clone(), found, output.verdict))
        }
    }
}

/// What a reckoning says of one value alone; `None` where only all of them together have a verdict.
pub(super) fn trial(record: &PlotRecord, feed: Feed, booked: &Booked) -> Option<Trial> {
    let mut trial = trial_alone(record, feed, booked)?;
    if let Some(doubt) = &booked.certainty.doubt {
        trial.verdict = Verdict::Undetermined;
        trial.probability = None;
        trial.words = format!("{}; {doubt}", trial.words);
    }
    Some(trial)
}

fn trial_alone(record: &PlotRecord, feed: Feed, booked: &Booked) -> Option<Trial> {
    let value = booked.value;
    let alone = std::slice::from_ref(booked);
    match feed {
        Feed::BuildUp
        | Feed::LayerOrder
        | Feed::VentOpenings
        | Feed::PourTickets
        | Feed::PourConditions
        | Feed::CubesTaken
        | Feed::CubeResults => None,
        Feed::OverlayLabels
        | Feed::OverlayThickness
        | Feed::HeatingTests
        | Feed::RailLevels
        | Feed::BeamTops
        | Feed::MeshCover
        | Feed::MeshLaps => layer_feeds::trial(record, feed, booked),
        Feed::Deliveries
        | Feed::ClearSpans
        | Feed::RunWidths
        | Feed::BeamFaces
        | Feed::InfillCuts
        | Feed::DoubledBeamTickets => beam_feeds::trial(record, feed, booked),
        Feed::PopUpPlaces => pop_ups::trial(record, booked),
        Feed::ToppingDepths | Feed::FinishLevels => finish_feeds::trial(record, feed, booked),
        Feed::WalkingAge | Feed::LoadingAge => None,
        Feed::BearingLevels => {
            let input = bearing_input(record, alone).ok()?;
            let judged = bearing::reckon(&input).ok()?.points.into_iter().next()?;
            let deviation = judged.deviation_mm.0;
            Some(Trial {
                verdict: judged.verdict,
                deviation: Some(deviation),
                probability: judged.probability_conforming,
                words: format!(
                    "{} mm, allowed {} to {}",
                    deviation.signed_mm_text(1),
                    (-input.tolerance_minus_mm.0).signed_mm_text(1),
                    input.tolerance_plus_mm.0.signed_mm_text(1)
                ),
            })
        }
        Feed::GroundLevels | Feed::GroundAsBuilt => {
            let input = void_input(record, feed, alone).ok()?;
            let judged = void::reckon(&input).ok()?.ground.into_iter().next()?;
            let dig = judged.dig_mm.0;
            let to_dig =
                if dig > Length::ZERO { format!(", dig {} mm", dig.mm_text(1)) } else { String::new() };
            Some(Trial {
                verdict: judged.verdict,
                deviation: Some(judged.void_mm.0 - input.required_void_mm.0),
                probability: judged.probability_conforming,
                words: format!(
                    "void {} mm, {} required{to_dig}",
                    judged.void_mm.0.mm_text(1),
                    input.required_void_mm.0.mm_text(1)
                ),
            })
        }
        Feed::DpcHeight
        | Feed::DpcLap
        | Feed::MembraneLap
        | Feed::MembraneThickness
        | Feed::BearingLengths => {
            let input = limit_input(record, feed, alone).ok()?;
            let judged = limit::reckon(&input).ok()?.readings.into_iter().next()?;
            let least = input.least_mm.map(|least| format!("at least {} mm", least.0.to_mm_text()));
            let most = input.most_mm.map(|most| format!("at most {} mm", most.0.to_mm_text()));
            let limits: Vec<String> = least.into_iter().chain(most).collect();
            let read = match value {
                ReadValue::Um(um) => format!("{} mm", Length::from_um(um).to_mm_text()),
                other => super::judge::value_text(other),
            };
            Some(Trial {
                verdict: judged.verdict,
                deviation: judged.margin_mm.map(|margin| margin.0),
                probability: judged.probability_conforming,
                words: format!("{read}, {}", limits.join(", ")),
            })
        }
    }
}

/// The limit of a feed in words, with its source; `None` where there is none to say.
pub(super) fn limit_text(record: &PlotRecord, feed: Feed) -> Option<String> {
    let guard = |decision: Decision| {
        let guard = decision.guard();
        if guard > Length::ZERO { format!(", guarded by {} mm", guard.to_mm_text()) } else { String::new() }
    };
    match feed {
        Feed::OverlayLabels
        | Feed::OverlayThickness
        | Feed::HeatingTests
        | Feed::RailLevels
        | Feed::BeamTops
        | Feed::MeshCover
        | Feed::MeshLaps => layer_feeds::limit_text(record, feed),
        Feed::BuildUp | Feed::LayerOrder | Feed::Deliveries | Feed::InfillCuts | Feed::DoubledBeamTickets => {
            None
        }
        Feed::PourTickets | Feed::PourConditions | Feed::CubesTaken | Feed::CubeResults => {
            super::pour::limit_text(record, feed)
        }
        Feed::ToppingDepths | Feed::FinishLevels => finish_feeds::limit_text(record, feed),
        Feed::WalkingAge | Feed::LoadingAge => curing::limit_text(record, feed),
        Feed::ClearSpans => {
            let least = named(record, LimitName::BearingLengthLeast).ok()?;
            let placing = named(record, LimitName::PlacingAllowance).ok()?;
            Some(format!(
                "both bearings at least 2 × {} mm and {} mm for placing ({})",
                least.0.to_mm_text(),
                placing.0.to_mm_text(),
                least.1
            ))
        }
        Feed::RunWidths => {
            let least = named(record, LimitName::MakeUpLeast).ok()?;
            let narrow = record.design().beams.as_ref()?.infill.narrow_mm.0;
            Some(format!(
                "make-up at least {} mm and less than {} mm ({})",
                least.0.to_mm_text(),
                narrow.to_mm_text(),
                least.1
            ))
        }
        Feed::BeamFaces => {
            let own = named(record, LimitName::BeamSpacingTolerance).ok()?;
            Some(format!("as set out ± {} mm ({})", own.0.to_mm_text(), own.1))
        }
        Feed::BearingLevels => {
            let target = bearing_target(record).ok()?;
            let plus = named(record, LimitName::BearingTolerancePlus).ok()?;
            let minus = named(record, LimitName::BearingToleranceMinus).ok()?;
            Some(format!(
                "{} m {} / −{} mm{} ({})",
                target.m_text(3),
                plus.0.signed_mm_text(0),
                minus.0.mm_text(0),
                guard(measured(record, feed)),
                plus.1
            ))
        }
        Feed::GroundLevels | Feed::GroundAsBuilt => {
            let required = required_void(record);
            let lowest = lowest_point(record, feed).ok()?;
            Some(format!(
                "ground at most {} m: void {} mm below {} m{} (floor design)",
                (lowest - required).m_text(3),
                required.mm_text(0),
                lowest.m_text(3),
                guard(measured(record, feed))
            ))
        }
        Feed::VentOpenings => {
            let run = named_area(record, LimitName::VentPerRun).ok()?;
            let area = named_area(record, LimitName::VentPerArea).ok()?;
            Some(format!(
                "the greater of {} mm² a metre of outer wall and {} mm² a square metre of floor ({})",
                run.0.to_mm2_text(),
                area.0.to_mm2_text(),
                run.1
            ))
        }
        Feed::DpcHeight
        | Feed::DpcLap
        | Feed::MembraneLap
        | Feed::MembraneThickness
        | Feed::PopUpPlaces
        | Feed::BearingLengths => {
            let least = named(record, feed.least()?).ok()?;
            Some(format!(
                "at least {} mm{} ({})",
                least.0.to_mm_text(),
                guard(measured(record, feed)),
                least.1
            ))
        }
    }
}

/// The target of a feed's readings: what a deviation is counted from, for drawing.
pub fn target(record: &PlotRecord, feed: Feed) -> Option<Length> {
    match feed {
        Feed::BearingLevels => bearing_target(record).ok(),
        Feed::GroundLevels | Feed::GroundAsBuilt => {
            Some(lowest_point(record, feed).ok()? - required_void(record))
        }
        Feed::FinishLevels => record.design().finished_topping_level(),
        Feed::ToppingDepths => record.design().topping_thickness(),
        _ => None,
    }
}

/// How far a level may lie from its target before it is out, the wider side: what slips are looked for against.
/// `None` where no level is expected, or no limit says so.
pub(super) fn tolerance(record: &PlotRecord, feed: Feed) -> Option<Length> {
    match feed {
        Feed::BearingLevels => {
            let plus = named(record, LimitName::BearingTolerancePlus).ok()?.0;
            let minus = named(record, LimitName::BearingToleranceMinus).ok()?.0;
            Some(plus.max(minus))
        }
        Feed::FinishLevels => Some(record.design().finish.as_ref()?.level_tolerance_mm.0),
        _ => None,
    }
}

pub(super) fn judged(
    feed: Feed,
    input: &impl Serialize,
    output: &impl Serialize,
    working: Working,
    findings: Vec<FindingStanding>,
    verdict: Verdict,
) -> Judged {
    let value =
        |result: Result<Value, serde_json::Error>| result.expect("BUG: a reckoning has text keys only");
    let reckoned = Reckoned {
        about: None,
        name: feed.reckoning(),
        input: value(serde_json::to_value(input)),
        output: value(serde_json::to_value(output)),
        working,
    };
    Judged { reckoned: vec![reckoned], findings, verdict }
}

fn sentence(faults: Faults) -> String {
    faults.to_string()
}

pub(super) fn findings(found: &[Finding]) -> Vec<FindingStanding> {
    found
        .iter()
        .map(|one| FindingStanding {
            what: one.reason.clone(),
            source: one.source.clone(),
            verdict: one.verdict,
            caution: one.caution,
            points: Vec::new(),
            settled: false,
        })
        .collect()
}

/// Adds what the verdict as a whole says where no single finding says it.
fn overall(
    mut findings: Vec<FindingStanding>,
    verdict: Verdict,
    what: impl FnOnce() -> String,
) -> Vec<FindingStanding> {
    let said = findings.iter().any(|one| !one.caution && one.verdict == verdict);
    if verdict != Verdict::Conforming && !said {
        findings.push(FindingStanding {
            what: what(),
            source: "floor design".to_owned(),
            verdict,
            caution: false,
            points: Vec::new(),
            settled: false,
        });
    }
    findings
}

fn neighbours(output: &bearing::Output) -> Vec<FindingStanding> {
    output
        .neighbours
        .iter()
        .filter(|pair| pair.verdict != Verdict::Conforming)
        .map(|pair| FindingStanding {
            what: format!("{} and {} differ by {} mm", pair.from, pair.to, pair.difference_mm.0.mm_text(1)),
            source: "floor design".to_owned(),
            verdict: pair.verdict,
            caution: false,
            points: [&pair.from, &pair.to].into_iter().filter_map(|name| PointName::new(name).ok()).collect(),
            settled: false,
        })
        .collect()
}

pub(super) fn named(record: &PlotRecord, name: LimitName) -> Result<(Length, String), String> {
    let found = record.design().limit(name, &record.limits);
    found.map(|limit| (limit.length(), limit.source)).ok_or_else(|| missing(name))
}

/// A limit as a length.
///
/// # Errors
/// Neither the design nor the defaults give it.
pub(super) fn limit_length(record: &PlotRecord, name: LimitName) -> Result<Length, String> {
    named(record, name).map(|limit| limit.0)
}

fn named_area(record: &PlotRecord, name: LimitName) -> Result<(Area, String), String> {
    let found = record.design().limit(name, &record.limits);
    found.map(|limit| (limit.area(), limit.source)).ok_or_else(|| missing(name))
}

fn missing(name: LimitName) -> String {
    format!("no limit {}: neither the floor design nor the default limits give it", name.as_str())
}

fn measured(record: &PlotRecord, feed: Feed) -> Decision {
    feed.measured().map_or(record.design().decision, |quantity| record.design().decision_for(quantity))
}

/// The decision rule over several values: the least sure of them counts for all.
pub(super) fn decision_over(record: &PlotRecord, feed: Feed, values: &[Booked]) -> Decision {
    let own = measured(record, feed);
    let sure = |one: &Booked| one.certainty.expanded_uncertainty.unwrap_or(own.expanded_uncertainty);
    let least_sure = values.iter().map(sure).max();
    Decision { expanded_uncertainty: least_sure.unwrap_or(own.expanded_uncertainty), ..own }
}

/// A level or length; `None` for an area or a gauge.
pub fn length_of(value: ReadValue) -> Option<Length> {
    match value {
        ReadValue::Um(um) => Some(Length::from_um(um)),
        ReadValue::Um2(_) | ReadValue::Go | ReadValue::NoGo => None,
    }
}

fn level(value: ReadValue, point: &PointName) -> Result<Length, String> {
    match value {
        ReadValue::Um(um) => Ok(Length::from_um(um)),
        other => Err(format!("{point}: {} is no level", super::judge::value_text(other))),
    }
}

fn build_up(record: &PlotRecord) -> Result<build_up::Output, String> {
    build_up::reckon(&record.design().build_up_input()).map_err(sentence)
}

fn bearing_target(record: &PlotRecord) -> Result<Length, String> {
    Ok(build_up(record)?.bearing_level_m.0)
}

fn bearing_input(record: &PlotRecord, values: &[Booked]) -> Result<bearing::Input, String> {
    let places = record.design().bearing_points();
    let optional = |name| named(record, name).ok().map(|limit| limit.0);
    let bed = optional(LimitName::BearingBedLeast).zip(optional(LimitName::BearingBedMost));
    let mut points = Vec::with_capacity(values.len());
    for Booked { point: name, value, .. } in values {
        // A point of an earlier design revision has no place any more: its reading stays in the record.
        let Some(place) = places.iter().find(|place| place.name == *name) else { continue };
        points.push(bearing::Point {
            point: name.to_string(),
            wall: place.wall.to_string(),
            along_mm: Mm(place.along),
            x_mm: Mm(place.x),
            y_mm: Mm(place.y),
            level_m: Metres(level(*value, name)?),
        });
    }
    Ok(bearing::Input {
        target_m: Metres(bearing_target(record)?),
        tolerance_plus_mm: Mm(named(record, LimitName::BearingTolerancePlus)?.0),
        tolerance_minus_mm: Mm(named(record, LimitName::BearingToleranceMinus)?.0),
        largest_difference_mm: optional(LimitName::BearingLargestDifference).map(Mm),
        points,
        decision: decision_over(record, Feed::BearingLevels, values),
        bed_mm: bed.map(|(least, most)| bearing::Bed { least: Mm(least), most: Mm(most) }),
    })
}

fn required_void(record: &PlotRecord) -> Length {
    record.design().under_floor.void_mm.0 + record.design().under_floor.heave_allowance_mm.0
}

/// The lowest point of the floor: as designed, or as the bearing walls were built.
fn lowest_point(record: &PlotRecord, feed: Feed) -> Result<Length, String> {
    let designed = build_up(record)?;
    if feed != Feed::GroundAsBuilt {
        return Ok(designed.lowest_point_m.0);
    }
    let built = record
        .plan
        .hold_points
        .iter()
        .flat_map(|point| point.criteria.iter().map(move |one| (point, one)))
        .filter(|(_, one)| matches!(one.kind, CriterionKind::Reckoning { feed: Feed::BearingLevels, .. }))
        .flat_map(|(point, one)| record.readings_of(&point.id, &one.id))
        .filter(|one| one.superseded.is_none())
        .filter_map(|one| match one.value {
            ReadValue::Um(um) => Some(Length::from_um(um)),
            _ => None,
        })
        .min()
        .ok_or_else(|| "the bearing levels are not read yet".to_owned())?;
    // What hangs below, hangs below the bearing as built: the whole floor shifts with it.
    Ok(designed.lowest_point_m.0 + (built - designed.bearing_level_m.0))
}

fn void_input(record: &PlotRecord, feed: Feed, values: &[Booked]) -> Result<void::Input, String> {
    let places = &record.design().ground_points;
    let mut ground = Vec::with_capacity(values.len());
    for Booked { point: name, value, .. } in values {
        let place = places.iter().find(|place| place.name == *name);
        ground.push(void::Ground {
            point: name.to_string(),
            x_mm: place.map(|place| place.x_mm),
            y_mm: place.map(|place| place.y_mm),
            level_m: Metres(level(*value, name)?),
        });
    }
    Ok(void::Input {
        lowest_point_m: Metres(lowest_point(record, feed)?),
        required_void_mm: Mm(required_void(record)),
        ground,
        decision: decision_over(record, feed, values),
    })
}

fn limit_input(record: &PlotRecord, feed: Feed, values: &[Booked]) -> Result<limit::Input, String> {
    let name = feed.least().ok_or_else(|| format!("{} has no limit by name", feed.quantity()))?;
    let readings = values
        .iter()
        .map(|Booked { point, value, instrument, .. }| {
            let (value_mm, gauge) = match value {
                ReadValue::Um(um) => (Some(Mm(Length::from_um(*um))), None),
                ReadValue::Go => (None, Some(limit::Gauge::Go)),
                ReadValue::NoGo => (None, Some(limit::Gauge::NoGo)),
                ReadValue::Um2(_) => return Err(format!("{point}: an area is no {}", feed.quantity())),
            };
            Ok(limit::Reading {
                point: point.to_string(),
                value_mm,
                gauge_id: gauge.map(|_| instrument.clone().unwrap_or_else(|| NAMELESS_GAUGE.to_owned())),
                gauge,
            })
        })
        .collect::<Result<_, String>>()?;
    Ok(limit::Input {
        quantity: feed.quantity().to_owned(),
        readings,
        least_mm: Some(Mm(named(record, name)?.0)),
        most_mm: None,
        decision: decision_over(record, feed, values),
    })
}

fn ventilation_input(record: &PlotRecord, values: &[Booked]) -> Result<ventilation::Input, String> {
    let design = record.design();
    let optional = |name| named(record, name).ok().map(|limit| Mm(limit.0));
    let mut openings = Vec::new();
    for Booked { point: name, value, .. } in values {
        let Some(vent) = design.vents.iter().find(|vent| vent.name == *name) else { continue };
        let ReadValue::Um2(um2) = value else {
            return Err(format!("{name}: {} is no area", super::judge::value_text(*value)));
        };
        // An opening booked as 0 is not there: it lets no air through and opposes nothing.
        if *um2 > 0 {
            openings.push(ventilation::Opening {
                edge: u32::try_from(vent.edge).unwrap_or(u32::MAX),
                along_mm: vent.along_mm,
                equivalent_area_mm2: Some(Mm2(Area::from_um2((*um2).into()))),
                in_series_mm2: None,
            });
        }
    }
    Ok(ventilation::Input {
        outline_mm: design.plan.outline_mm.clone(),
        exposed_edges: design
            .plan
            .exposed_edges
            .iter()
            .filter_map(|edge| u32::try_from(*edge).ok())
            .collect(),
        openings,
        per_run_mm2_per_m: Mm2(named_area(record, LimitName::VentPerRun)?.0),
        per_area_mm2_per_m2: Mm2(named_area(record, LimitName::VentPerArea)?.0),
        largest_spacing_mm: optional(LimitName::VentLargestSpacing),
        furthest_from_corner_mm: optional(LimitName::VentFurthestFromCorner),
        dividing_walls: Some(
            design
                .dividing_walls
                .iter()
                .map(|wall| ventilation::DividingWall {
                    line_mm: wall.line_mm.to_vec(),
                    openings_mm2: ventilation::OpeningsArea(wall.openings_mm2.clone()),
                })
                .collect(),
        ),
    })
}
