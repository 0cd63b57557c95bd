//! The finished topping: depths and levels of its grid to their reckonings, area by area, and back to points.
//!
//! Never here: a comparison with a limit.

use super::beam_feeds::{Parts, findings};
use super::feeds::{Booked, Judged, decision_over, length_of};
use super::fold::PlotRecord;
use super::judge::Trial;
use crate::conformity::Verdict;
use crate::floor::finish::{Finish, FinishArea, GridLine, GridPoint, StraightedgeKind};
use crate::ids::PointName;
use crate::plan_of_work::Feed;
use crate::quantity::{Length, Metres, Mm};
use crate::reckon::{flatness, topping};

/// Fewer readings than this on a line show no gap yet.
const LEAST_ON_LINE: usize = 3;

const NO_TOPPING: &str = "the floor design says nothing of the topping's thickness";
const NO_FINISH: &str = "the floor design says nothing of the finish";

/// Reckons depths or levels.
///
/// # Errors
/// A sentence: what the design does not give, or what the reckoning refuses.
pub(super) fn reckon(record: &PlotRecord, feed: Feed, values: &[Booked]) -> Result<Judged, String> {
    let mut parts = Parts::default();
    if feed == Feed::FinishLevels {
        let input = flatness_input(record, values)?;
        let output = flatness::reckon(&input).map_err(|faults| faults.to_string())?;
        let found = findings(&output.findings);
        parts.add(None, feed, &input, &output, output.working.clone(), found, output.verdict);
        return Ok(parts.judged());
    }
    let grid = record.design().finish_grid();
    let areas = record.design().finish_areas();
    for (number, area) in areas.iter().enumerate() {
        let readings: Vec<topping::Reading> = values
            .iter()
            .filter_map(|one| {
                let place = grid.iter().find(|place| place.area == number && place.name == one.point)?;
                depth(place, one)
            })
            .collect();
        if readings.is_empty() {
            continue;
        }
        let input = topping_input(record, area, readings, values)?;
        let output = topping::reckon(&input).map_err(|faults| faults.to_string())?;
        let about = area.name.map(|name| format!("Topping {name}"));
        // Readings have their own verdicts and stand for themselves.
        let found = findings(&output.findings);
        parts.add(about, feed, &input, &output, output.working.clone(), found, output.verdict);
    }
    Ok(parts.judged())
}

/// What one depth or level says alone.
pub(super) fn trial(record: &PlotRecord, feed: Feed, booked: &Booked) -> Option<Trial> {
    if feed == Feed::FinishLevels {
        return level_trial(record, length_of(booked.value)?);
    }
    let areas = record.design().finish_areas();
    let alone = topping::Reading {
        point: booked.point.to_string(),
        x_mm: Mm(Length::ZERO),
        y_mm: Mm(Length::ZERO),
        thickness_mm: Mm(length_of(booked.value)?),
    };
    let input = topping_input(record, areas.first()?, vec![alone], std::slice::from_ref(booked)).ok()?;
    let output = topping::reckon(&input).ok()?;
    let judged = output.readings.first()?;
    Some(Trial {
        verdict: judged.verdict,
        deviation: Some(judged.deviation_mm.0),
        probability: judged.probability_conforming,
        words: format!(
            "{} mm, design {}, allowed {} to {}",
            input.readings.first()?.thickness_mm.0.to_mm_text(),
            input.design_mm.0.to_mm_text(),
            (-input.tolerance_minus_mm.0).signed_mm_text(1),
            input.tolerance_plus_mm.0.signed_mm_text(1)
        ),
    })
}

fn level_trial(record: &PlotRecord, level: Length) -> Option<Trial> {
    let finish = record.design().finish.as_ref()?;
    let reading = flatness::Reading { along_mm: Mm(Length::ZERO), level_m: Metres(level) };
    let alone = flatness::Line { line: "alone".to_owned(), readings: vec![reading] };
    let input = flatness_of(record, finish, vec![alone])?;
    let output = flatness::reckon(&input).ok()?;
    // The line of one reading shows no gap; what is asked of it is its level.
    let rule = flatness::level_rule(finish.level_tolerance_mm.0);
    let finding = output.findings.iter().find(|finding| finding.rule == rule)?;
    let deviation = level - input.target_m?.0;
    Some(Trial {
        verdict: finding.verdict,
        deviation: Some(deviation),
        probability: None,
        words: format!(
            "{} mm, allowed ±{} mm",
            deviation.signed_mm_text(1),
            finish.level_tolerance_mm.0.to_mm_text()
        ),
    })
}

/// The limit in words, with its source.
pub(super) fn limit_text(record: &PlotRecord, feed: Feed) -> Option<String> {
    let design = record.design();
    if feed == Feed::ToppingDepths {
        let (thickness, topping) = (design.topping_thickness()?, design.topping.as_ref()?);
        return Some(format!(
            "{} mm, {} / {} mm ({})",
            thickness.to_mm_text(),
            topping.tolerance_plus_mm.0.signed_mm_text(0),
            (-topping.tolerance_minus_mm.0).signed_mm_text(0),
            topping.source
        ));
    }
    let finish = design.finish.as_ref()?;
    let level = design.finished_topping_level()?;
    let laid = match finish.class.kind {
        StraightedgeKind::Gap => "gap at most",
        StraightedgeKind::EqualOffsets => "off the line between its ends at most",
    };
    let mut text = format!(
        "{} m ± {} mm; {}: {laid} {} mm under {} mm",
        level.m_text(3),
        finish.level_tolerance_mm.0.to_mm_text(),
        finish.class.name,
        finish.class.gap_mm.0.to_mm_text(),
        finish.straightedge_mm.0.to_mm_text()
    );
    if let Some(out) = finish.out_of_level {
        text.push_str(&format!(
            "; out of level at most {} mm a metre and {} mm",
            out.per_m_mm.0.to_mm_text(),
            out.overall_mm.0.to_mm_text()
        ));
    }
    Some(format!("{text} ({})", finish.source))
}

fn depth(place: &GridPoint, booked: &Booked) -> Option<topping::Reading> {
    Some(topping::Reading {
        point: place.name.to_string(),
        x_mm: Mm(place.x),
        y_mm: Mm(place.y),
        thickness_mm: Mm(length_of(booked.value)?),
    })
}

fn topping_input(
    record: &PlotRecord,
    area: &FinishArea<'_>,
    readings: Vec<topping::Reading>,
    values: &[Booked],
) -> Result<topping::Input, String> {
    let design = record.design();
    let topping = design.topping.as_ref().ok_or(NO_TOPPING)?;
    Ok(topping::Input {
        outline_mm: area.outline.to_vec(),
        design_mm: Mm(design.topping_thickness().ok_or(NO_TOPPING)?),
        tolerance_minus_mm: topping.tolerance_minus_mm,
        tolerance_plus_mm: topping.tolerance_plus_mm,
        readings,
        waste_percent: topping.waste_percent,
        fibre_kg_per_m3: topping.fibre_kg_per_m3,
        decision: decision_over(record, Feed::ToppingDepths, values),
    })
}

/// Rows and columns of the grid with what was read on them, each with three readings at least.
fn flatness_input(record: &PlotRecord, values: &[Booked]) -> Result<flatness::Input, String> {
    let finish = record.design().finish.as_ref().ok_or(NO_FINISH)?;
    let lines = record.design().finish_lines();
    let read = |name: &PointName| {
        let own = values.iter().rev().find(|one| one.point == *name)?;
        length_of(own.value)
    };
    let of_line = |line: &GridLine| {
        let readings: Vec<flatness::Reading> = line
            .points
            .iter()
            .filter_map(|point| {
                Some(flatness::Reading {
                    along_mm: Mm(line.along(point)),
                    level_m: Metres(read(&point.name)?),
                })
            })
            .collect();
        (readings.len() >= LEAST_ON_LINE).then(|| flatness::Line { line: line.name.clone(), readings })
    };
    let lines = lines.iter().filter_map(of_line).collect();
    flatness_of(record, finish, lines).ok_or_else(|| NO_FINISH.to_owned())
}

fn flatness_of(record: &PlotRecord, finish: &Finish, lines: Vec<flatness::Line>) -> Option<flatness::Input> {
    Some(flatness::Input {
        lines,
        straightedge_mm: finish.straightedge_mm,
        class: flatness::Class {
            name: finish.class.name.clone(),
            kind: match finish.class.kind {
                StraightedgeKind::Gap => flatness::Kind::Gap,
                StraightedgeKind::EqualOffsets => flatness::Kind::EqualOffsets,
            },
            gap_mm: finish.class.gap_mm,
        },
        out_of_level: finish
            .out_of_level
            .map(|out| flatness::OutOfLevel { per_m_mm: out.per_m_mm, overall_mm: out.overall_mm }),
        target_m: Some(Metres(record.design().finished_topping_level()?)),
        level_tolerance_mm: Some(finish.level_tolerance_mm),
    })
}

/// What a reckoning of the finish came to, for people: one line for each area, or the worst of the lines.
pub fn summary(criterion: &super::judge::CriterionStanding) -> Vec<(Verdict, String)> {
    let mut lines = Vec::new();
    for part in &criterion.reckoned {
        match criterion.feed() {
            Some(Feed::ToppingDepths) => {
                let output: Result<topping::Output, _> = serde_json::from_value(part.output.clone());
                lines.extend(output.ok().and_then(|output| of_depths(part.about.as_deref(), &output)));
            }
            Some(Feed::FinishLevels) => {
                let output: Result<flatness::Output, _> = serde_json::from_value(part.output.clone());
                lines.extend(output.ok().and_then(|output| of_gaps(&output)));
            }
            _ => {}
        }
    }
    lines
}

fn of_depths(about: Option<&str>, output: &topping::Output) -> Option<(Verdict, String)> {
    let (least, mean, volume) = (output.least_mm?, output.mean_mm?, output.volume_m3?);
    let text = format!(
        "{}: least {} mm at {}, mean {} mm, {:.3} m³ over {} m² (mean × area {:.3} m³)",
        about.unwrap_or("Topping"),
        least.0.mm_text(1),
        output.least_at.as_deref().unwrap_or_default(),
        mean.0.mm_text(1),
        volume.0.to_m3_f64(),
        output.area_m2.0.to_m2_text(),
        output.mean_times_area_m3.map_or(0.0, |volume| volume.0.to_m3_f64())
    );
    Some((output.verdict, text))
}

/// The line with the largest gap, the first of equals, and what was reckoned from.
pub fn worst_gap(
    criterion: &super::judge::CriterionStanding,
) -> Option<(flatness::JudgedLine, flatness::Input)> {
    if criterion.feed() != Some(Feed::FinishLevels) {
        return None;
    }
    let part = criterion.reckoned.first()?;
    let output: flatness::Output = serde_json::from_value(part.output.clone()).ok()?;
    let input: flatness::Input = serde_json::from_value(part.input.clone()).ok()?;
    Some((worst_of(&output)?.clone(), input))
}

fn worst_of(output: &flatness::Output) -> Option<&flatness::JudgedLine> {
    let gaps = output.lines.iter().filter(|line| line.largest_gap_mm.is_some());
    gaps.rev().max_by_key(|line| line.largest_gap_mm.map(|gap| gap.0))
}

fn of_gaps(output: &flatness::Output) -> Option<(Verdict, String)> {
    let worst = worst_of(output)?;
    let gap = worst.largest_gap_mm?;
    let [from, to] = worst.straightedge_mm?;
    let text = format!(
        "Largest gap {} mm in {}, {} m along, straightedge from {} to {} m; {} lines",
        gap.0.mm_text(1),
        worst.line,
        worst.at_mm?.0.m_text(2),
        from.0.m_text(2),
        to.0.m_text(2),
        output.lines.len()
    );
    Some((output.verdict, text))
}
