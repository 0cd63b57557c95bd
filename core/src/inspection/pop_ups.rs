//! Pop-ups as measured from two walls, against the beams: where they are drawn, and past the make-up of a run whose
//! width was read where they will be set out.
//!
//! Never here: a comparison with a limit; that is the reckoning `limit` of what stays clear.

use super::beam_feeds::criterion_of_feed;
use super::feeds::{Booked, Judged, decision_over, judged, length_of, limit_length};
use super::fold::PlotRecord;
use super::judge::{FindingStanding, Trial};
use crate::conformity::Verdict;
use crate::floor::LimitName;
use crate::floor::beams::BayRun;
use crate::floor::pop_ups::{Axis, Nearest, PopUp};
use crate::plan_of_work::Feed;
use crate::quantity::{Length, Mm};
use crate::reckon::limit;

/// What is kept clear, in words.
const QUANTITY: &str = "clear of the nearest beam";

/// Where a pop-up was found; a distance that was not read is as drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Found {
    x: Length,
    y: Length,
    /// Whether both were read.
    is_whole: bool,
}

fn found(record: &PlotRecord, one: &PopUp, values: &[Booked]) -> Found {
    let design = record.design();
    let read = |axis: Axis| {
        let point = one.point(axis)?;
        values.iter().rev().find(|booked| booked.point == point).and_then(|booked| length_of(booked.value))
    };
    let (x, y) = (read(Axis::X), read(Axis::Y));
    let or_drawn = |read: Option<Length>, axis| read.unwrap_or_else(|| design.drawn_from_wall(one, axis));
    Found { x: or_drawn(x, Axis::X), y: or_drawn(y, Axis::Y), is_whole: x.is_some() && y.is_some() }
}

fn nearest(record: &PlotRecord, one: &PopUp, found: Found) -> Option<Nearest> {
    let design = record.design();
    let [left, low] = design.measured_from();
    let make_up = |run: &BayRun| {
        let drawn = design.beams.as_ref().map_or(Length::ZERO, |beams| run.left_over(beams));
        let built = super::beam_feeds::as_built(record, run, None);
        built.map_or(drawn, |built| (drawn + built - run.clear_width()).max(Length::ZERO))
    };
    design.nearest_beam([Mm(left.0 + found.x), Mm(low.0 + found.y)], one.diameter_mm.0, &make_up)
}

fn input(
    record: &PlotRecord,
    values: &[Booked],
    readings: Vec<limit::Reading>,
) -> Result<limit::Input, String> {
    Ok(limit::Input {
        quantity: QUANTITY.to_owned(),
        readings,
        least_mm: Some(Mm(limit_length(record, LimitName::PopUpClearLeast)?)),
        most_mm: None,
        decision: decision_over(record, Feed::PopUpPlaces, values),
    })
}

fn reading(one: &PopUp, clear: Length) -> limit::Reading {
    limit::Reading { point: one.name.to_string(), value_mm: Some(Mm(clear)), gauge: None, gauge_id: None }
}

/// Reckons what stays clear of every pop-up that is measured from both walls.
///
/// # Errors
/// A sentence: no limit says how far a pop-up must stand clear.
pub(super) fn reckon(record: &PlotRecord, values: &[Booked]) -> Result<Judged, String> {
    let mut readings = Vec::new();
    let mut beside = Vec::new();
    for one in &record.design().pop_ups {
        let found = found(record, one, values);
        if !found.is_whole {
            continue;
        }
        let Some(nearest) = nearest(record, one, found) else { continue };
        readings.push(reading(one, nearest.clear));
        beside.push((one, nearest));
    }
    let input = input(record, values, readings)?;
    let output = limit::reckon(&input).map_err(|faults| faults.to_string())?;
    let said = output.readings.iter().zip(&beside);
    let findings = said
        .filter(|(judged, _)| judged.verdict != Verdict::Conforming)
        .map(|(judged, (one, nearest))| FindingStanding {
            what: words(one, nearest, &input),
            source: crate::working::FLOOR_DESIGN.to_owned(),
            verdict: judged.verdict,
            caution: false,
            points: [Axis::X, Axis::Y].into_iter().filter_map(|axis| one.point(axis)).collect(),
            settled: false,
        })
        .collect();
    Ok(judged(Feed::PopUpPlaces, &input, &output, output.working.clone(), findings, output.verdict))
}

fn words(one: &PopUp, nearest: &Nearest, input: &limit::Input) -> String {
    let least = input.least_mm.map_or_else(String::new, |least| least.0.to_mm_text());
    let Nearest { beam, clear } = nearest;
    if *clear < Length::ZERO {
        format!("{} meets beam {beam}: it reaches {} mm into it", one.name, (-*clear).mm_text(1))
    } else {
        format!("{} stands {} mm clear of beam {beam}, at least {least} mm", one.name, clear.mm_text(1))
    }
}

/// What one distance alone says, with the other as read or as drawn.
pub(super) fn trial(record: &PlotRecord, booked: &Booked) -> Option<Trial> {
    let (one, axis) = record.design().pop_up_of(&booked.point)?;
    let mut values = current(record);
    values.retain(|other| other.point != booked.point);
    values.push(booked.clone());
    let found = found(record, one, &values);
    let nearest = nearest(record, one, found)?;
    let input = input(record, &values, vec![reading(one, nearest.clear)]).ok()?;
    let judged = limit::reckon(&input).ok()?.readings.into_iter().next()?;
    let drawn = record.design().drawn_from_wall(one, axis);
    let off = length_of(booked.value)? - drawn;
    Some(Trial {
        verdict: judged.verdict,
        deviation: Some(off),
        probability: judged.probability_conforming,
        words: format!("drawn {} mm, {}", drawn.to_mm_text(), briefly(&nearest, &input)),
    })
}

/// The same for the line under the keypad: `R1/3 clear 168 mm, at least 25 mm`.
fn briefly(nearest: &Nearest, input: &limit::Input) -> String {
    let Nearest { beam, clear } = nearest;
    let figure = |one: Length| if one.um() % 1_000 == 0 { one.mm_text(0) } else { one.mm_text(1) };
    let least = input.least_mm.map_or_else(String::new, |least| least.0.to_mm_text());
    if *clear < Length::ZERO {
        format!("{beam} met by {} mm, at least {least} mm clear", figure(-*clear))
    } else {
        format!("{beam} clear {} mm, at least {least} mm", figure(*clear))
    }
}

/// The distances that are read now.
fn current(record: &PlotRecord) -> Vec<Booked> {
    let Some((hold_point, asked)) = criterion_of_feed(record, Feed::PopUpPlaces) else { return Vec::new() };
    let readings = record.readings_of(&hold_point.id, &asked.id).into_iter();
    readings.filter(|one| one.superseded.is_none()).map(Booked::from).collect()
}
