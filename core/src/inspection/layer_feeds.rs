//! The layers that close the floor: from labels, thicknesses, rail and beam tops to their reckonings, and back.
//!
//! Never here: a comparison with a limit. Where the design gives no limit, no table or no conductivity, the answer is
//! undetermined and says what is missing.

use super::as_built;
use super::beam_feeds::{Parts, finding};
use super::feeds::{Booked, Judged, decision_over, findings, length_of, limit_length};
use super::fold::PlotRecord;
use super::forecast;
use super::judge::{FindingStanding, Trial, value_in_unit, value_text};
use crate::conformity::{Decision, Verdict};
use crate::entry::{PressureTestBooked, ReadValue};
use crate::floor::LimitName;
use crate::floor::specified::{Heating, Mesh};
use crate::plan_of_work::{Feed, ReadingUnit};
use crate::quantity::{Factor, Length, Mm, Plain};
use crate::reckon::{limit, pressure_test};

/// Limits of a quantity, as its table or its names give them.
struct Bounds {
    least: Option<Length>,
    most: Option<Length>,
    /// What is taken off a reading before it meets them: the level that it should have.
    from: Length,
    source: String,
}

const NO_HEAT: &str = "the floor design says nothing of heat: [thermal] is missing";

fn bounds(record: &PlotRecord, feed: Feed) -> Result<Bounds, String> {
    let design = record.design();
    let mesh = || -> Result<(&Mesh, &String), String> {
        let own = design.reinforcement.as_ref().ok_or("the floor design specifies no reinforcement")?;
        let mesh = own.mesh.as_ref().ok_or("the floor design specifies no mesh")?;
        Ok((mesh, &own.source))
    };
    match feed {
        Feed::OverlayThickness => {
            let overlay = &design.thermal.as_ref().ok_or(NO_HEAT)?.overlay;
            let drawn = design.overlay_thickness();
            Ok(Bounds {
                least: Some(drawn - overlay.tolerance_minus_mm.0),
                most: Some(drawn + overlay.tolerance_plus_mm.0),
                from: Length::ZERO,
                source: overlay.source.clone(),
            })
        }
        Feed::RailLevels => Ok(Bounds {
            least: Some(-limit_length(record, LimitName::RailToleranceMinus)?),
            most: Some(limit_length(record, LimitName::RailTolerancePlus)?),
            from: design.topping_level(),
            source: super::feeds::named(record, LimitName::RailTolerancePlus)?.1,
        }),
        Feed::MeshCover => {
            let (mesh, source) = mesh()?;
            Ok(Bounds {
                least: Some(mesh.cover_least_mm.0),
                most: mesh.cover_most_mm.map(|most| most.0),
                from: Length::ZERO,
                source: source.clone(),
            })
        }
        Feed::MeshLaps => {
            let (mesh, source) = mesh()?;
            Ok(Bounds {
                least: Some(mesh.lap_least_mm.0),
                most: None,
                from: Length::ZERO,
                source: source.clone(),
            })
        }
        _ => Err(format!("{} has no limits", feed.quantity())),
    }
}

/// Reckons a criterion about these layers from its readings, labels or tests.
///
/// # Errors
/// A sentence: what the design does not give, or what the reckoning refuses.
pub(super) fn reckon(record: &PlotRecord, feed: Feed, values: &[Booked]) -> Result<Judged, String> {
    let mut parts = Parts::default();
    match feed {
        Feed::OverlayLabels => u_value_part(record, &mut parts)?,
        Feed::HeatingTests => {
            for kept in record.pressure_tests.iter().filter(|kept| kept.superseded.is_none()) {
                let input = pressure_test_input(record, &kept.fact)?;
                let output = pressure_test::reckon(&input).map_err(|faults| faults.to_string())?;
                let about = Some(format!("Test of {}", kept.fact.test));
                let mut found = findings(&output.findings);
                for one in &mut found {
                    one.what = format!("{}: {}", kept.fact.test, one.what);
                }
                parts.add(about, feed, &input, &output, output.working.clone(), found, output.verdict);
            }
        }
        Feed::BeamTops => {
            let found = forecast::of(record, values)?;
            for part in &found.parts {
                let about = Some(format!("Topping {}", part.area));
                let own = findings(&part.output.findings);
                let working = part.output.working.clone();
                parts.add(about, feed, &part.input, &part.output, working, own, part.output.verdict);
            }
            parts.findings.extend(
                found
                    .sentences()
                    .into_iter()
                    .map(|what| FindingStanding { caution: true, ..finding(what, Verdict::Conforming) }),
            );
        }
        _ => {
            let input = limit_input(record, feed, values)?;
            let output = limit::reckon(&input).map_err(|faults| faults.to_string())?;
            let found = findings(&output.findings);
            parts.add(None, feed, &input, &output, output.working.clone(), found, output.verdict);
        }
    }
    Ok(parts.judged())
}

/// The U-value of the overlay as its labels and readings say it is, and labels that are not as designed.
fn u_value_part(record: &PlotRecord, parts: &mut Parts) -> Result<(), String> {
    let thermal = record.design().thermal.as_ref().ok_or(NO_HEAT)?;
    let overlay = as_built::overlay(record).ok_or(NO_HEAT)?;
    let mut found = Vec::new();
    for kept in record.labels.iter().filter(|kept| kept.superseded.is_none()) {
        let label = &kept.fact;
        if !thermal.is_designed(&label.grade) {
            let what =
                format!("label says {}, the floor design asks for {}", label.grade, thermal.overlay.grade);
            found.push(finding(what, Verdict::Nonconforming));
        }
        if let Some(thickness) = label.thickness_um.map(Length::from_um) {
            let own = bounds(record, Feed::OverlayThickness)?;
            let input = limit_of("thickness on the label", thickness, &own, Decision::simple());
            let output = limit::reckon(&input).map_err(|faults| faults.to_string())?;
            if output.verdict != Verdict::Conforming {
                let drawn = record.design().overlay_thickness();
                let what = format!(
                    "label says {} mm, the floor design asks for {} mm",
                    thickness.to_mm_text(),
                    drawn.to_mm_text()
                );
                found.push(finding(what, output.verdict));
            }
        }
    }
    match as_built::u_value_of(record, &overlay) {
        Ok(own) => {
            let mut said = findings(&own.output.findings);
            said.extend(own.bound_findings());
            said.append(&mut found);
            let labels = said.iter().filter(|one| !one.caution).map(|one| one.verdict);
            let verdict = Verdict::overall(labels.chain([own.verdict]));
            let working = own.working();
            parts.add(None, Feed::OverlayLabels, &own.input, &own.output, working, said, verdict);
        }
        Err(what) => {
            // The labels are judged all the same.
            found.push(finding(what, Verdict::Undetermined));
            parts.verdicts.extend(found.iter().map(|one| one.verdict));
            parts.findings.append(&mut found);
        }
    }
    Ok(())
}

/// A single value against limits, as the reckoning takes it.
fn limit_of(quantity: &str, value: Length, bounds: &Bounds, decision: Decision) -> limit::Input {
    limit::Input {
        quantity: quantity.to_owned(),
        readings: vec![limit::Reading {
            point: quantity.to_owned(),
            value_mm: Some(Mm(value - bounds.from)),
            gauge: None,
            gauge_id: None,
        }],
        least_mm: bounds.least.map(Mm),
        most_mm: bounds.most.map(Mm),
        decision,
    }
}

fn limit_input(record: &PlotRecord, feed: Feed, values: &[Booked]) -> Result<limit::Input, String> {
    let own = bounds(record, feed)?;
    let readings = values
        .iter()
        .map(|Booked { point, value, instrument, .. }| {
            let (value_mm, gauge) = match value {
                ReadValue::Um(um) => (Some(Mm(Length::from_um(*um) - own.from)), None),
                ReadValue::Go => (None, Some(limit::Gauge::Go)),
                ReadValue::NoGo => (None, Some(limit::Gauge::NoGo)),
                ReadValue::Um2(_) => return Err(format!("{point}: an area is no {}", feed.quantity())),
            };
            Ok(limit::Reading {
                point: point.to_string(),
                value_mm,
                gauge_id: gauge.map(|_| super::feeds::gauge_name(instrument.as_ref())),
                gauge,
            })
        })
        .collect::<Result<_, String>>()?;
    let quantity = match feed {
        Feed::RailLevels => "screed rail above its level".to_owned(),
        _ => feed.quantity().to_owned(),
    };
    Ok(limit::Input {
        quantity,
        readings,
        least_mm: own.least.map(Mm),
        most_mm: own.most.map(Mm),
        decision: decision_over(record, feed, values),
    })
}

/// What a reckoning says of one value alone.
pub(super) fn trial(record: &PlotRecord, feed: Feed, booked: &Booked) -> Option<Trial> {
    let alone = std::slice::from_ref(booked);
    match feed {
        Feed::OverlayThickness | Feed::MeshCover | Feed::MeshLaps | Feed::RailLevels => {
            let input = limit_input(record, feed, alone).ok()?;
            let judged = limit::reckon(&input).ok()?.readings.into_iter().next()?;
            let words = if feed == Feed::RailLevels {
                let off = length_of(booked.value)? - record.design().topping_level();
                format!(
                    "{} mm, allowed {} to {}",
                    off.signed_mm_text(1),
                    input.least_mm?.0.signed_mm_text(1),
                    input.most_mm?.0.signed_mm_text(1)
                )
            } else {
                let read = match booked.value {
                    ReadValue::Um(_) => {
                        format!("{} mm", value_in_unit(booked.value, ReadingUnit::Millimetres))
                    }
                    other => value_text(other),
                };
                format!("{read}, {}", range_text(input.least_mm, input.most_mm))
            };
            let deviation = match feed {
                Feed::RailLevels => Some(length_of(booked.value)? - record.design().topping_level()),
                _ => judged.margin_mm.map(|margin| margin.0),
            };
            Some(Trial {
                verdict: judged.verdict,
                deviation,
                probability: judged.probability_conforming,
                words,
            })
        }
        Feed::BeamTops => {
            let found = forecast::of(record, alone).ok()?;
            let part = found.parts.into_iter().next()?;
            let judged = part.output.beam_tops.into_iter().next()?;
            let least = part.input.design_mm.0 - part.input.tolerance_minus_mm.0;
            Some(Trial {
                verdict: judged.verdict,
                deviation: Some(judged.topping_mm.0 - part.input.design_mm.0),
                probability: judged.probability_conforming,
                words: format!(
                    "leaves {} mm of topping, at least {} mm",
                    judged.topping_mm.0.mm_text(1),
                    least.to_mm_text()
                ),
            })
        }
        _ => None,
    }
}

fn range_text(least: Option<Mm>, most: Option<Mm>) -> String {
    let least = least.map(|least| format!("at least {} mm", least.0.to_mm_text()));
    let most = most.map(|most| format!("at most {} mm", most.0.to_mm_text()));
    least.into_iter().chain(most).collect::<Vec<_>>().join(", ")
}

/// The limit of a feed in words, with its source.
pub(super) fn limit_text(record: &PlotRecord, feed: Feed) -> Option<String> {
    let design = record.design();
    let guard = |feed: Feed| {
        let guard = decision_over(record, feed, &[]).guard();
        if guard > Length::ZERO { format!(", guarded by {} mm", guard.to_mm_text()) } else { String::new() }
    };
    match feed {
        Feed::OverlayLabels => {
            let thermal = design.thermal.as_ref()?;
            let most = thermal.limit.map(|limit| format!(", U at most {} W/m²K", limit.0));
            Some(format!(
                "{} of {} mm{} ({})",
                thermal.overlay.grade,
                design.overlay_thickness().to_mm_text(),
                most.unwrap_or_default(),
                thermal.source
            ))
        }
        Feed::HeatingTests => Some(heating_text(design.heating.as_ref()?)),
        Feed::BeamTops => {
            let topping = design.topping.as_ref()?;
            let least = design.topping_thickness()? - topping.tolerance_minus_mm.0;
            let guard = guard(feed);
            Some(format!("topping at least {} mm{guard} ({})", least.to_mm_text(), topping.source))
        }
        Feed::RailLevels => {
            let own = bounds(record, feed).ok()?;
            Some(format!(
                "{} m {} / {} mm{} ({})",
                own.from.m_text(3),
                own.most?.signed_mm_text(0),
                own.least?.signed_mm_text(0),
                guard(feed),
                own.source
            ))
        }
        _ => {
            let own = bounds(record, feed).ok()?;
            let range = range_text(own.least.map(Mm), own.most.map(Mm));
            Some(format!("{range}{} ({})", guard(feed), own.source))
        }
    }
}

fn heating_text(heating: &Heating) -> String {
    format!(
        "at least {} bar, held {} h, falls by {} bar at most ({})",
        heating.test_pressure_bar.0.to_text(),
        heating.hold_h.0.to_text(),
        heating.largest_drop_bar.0.to_text(),
        heating.source
    )
}

/// A pressure test as the reckoning takes it.
///
/// # Errors
/// The design asks for none, or a decimal of the test is none.
pub(super) fn pressure_test_input(
    record: &PlotRecord,
    test: &PressureTestBooked,
) -> Result<pressure_test::Input, String> {
    let heating = record.design().heating.as_ref().ok_or("the floor design asks for no pressure test")?;
    let plain = |text: &str| Factor::parse(text).map(Plain).map_err(|fault| format!("{text}: {fault}"));
    Ok(pressure_test::Input {
        required: pressure_test::Required {
            test_pressure_bar: heating.test_pressure_bar,
            hold_h: heating.hold_h,
            largest_drop_bar: heating.largest_drop_bar,
        },
        test: pressure_test::Test {
            start_bar: plain(&test.start_bar)?,
            end_bar: plain(&test.end_bar)?,
            started_at: test.started_at.clone(),
            ended_at: test.ended_at.clone(),
        },
    })
}
