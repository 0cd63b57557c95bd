//! Readings of a book that may be slips of the hand: those far from an expected level that some slip would explain.
//!
//! When all readings of a set-up that have an expected level (two or more of them) miss by one amount, the suspect is
//! the set-up's back sight; set-ups after it that miss by the same amount only carry it on. Levels as booked are looked
//! at, not adjusted ones: a slip is in a reading.

use super::check::ByPoint;
use super::reduce::Reduced;
use super::{Input, Reading, Suspect};
use crate::quantity::{Length, Metres};
use crate::reckon::slip::{Slip, explained, reading_might_have_been, suspected};

/// One reading of a point that has an expected level.
#[derive(Clone, Copy)]
struct Held {
    sight: usize,
    deviation: Length,
    tolerance: Length,
}

impl Held {
    fn suspected(&self) -> bool {
        suspected(self.deviation, self.tolerance)
    }

    fn explained_after(&self, change: Length) -> bool {
        explained(self.deviation + change, self.tolerance)
    }
}

/// Finds them, in the order of the sights.
pub(super) fn find(input: &Input, reduced: &Reduced, expected: &ByPoint<'_>) -> Vec<Suspect> {
    if expected.is_empty() {
        return Vec::new();
    }
    let mut suspects = Vec::new();
    let mut carried: Option<Length> = None;
    for (back, readings) in by_setup(input, reduced, expected) {
        let carries =
            |held: &Held| carried.is_some_and(|carried| (held.deviation - carried).abs() <= held.tolerance);
        if misses_as_one(&readings) {
            if !readings.iter().all(carries) {
                suspects.extend(back_sight(input, back, &readings));
                carried = readings.first().map(|held| held.deviation);
            }
        } else {
            suspects.extend(
                readings
                    .iter()
                    .filter(|held| held.suspected() && !carries(held))
                    .filter_map(|held| own_reading(input, held)),
            );
            if readings.iter().any(|held| !held.suspected()) {
                carried = None;
            }
        }
    }
    suspects
}

/// The row of each set-up's back sight with the readings from it that have an expected level.
fn by_setup(input: &Input, reduced: &Reduced, expected: &ByPoint<'_>) -> Vec<(usize, Vec<Held>)> {
    let mut setups: Vec<(usize, Vec<Held>)> = Vec::new();
    for (index, (sight, row)) in input.sights.iter().zip(&reduced.levels).enumerate() {
        if let (Some(expected), Some(setup), true) =
            (expected.get(sight.point.as_str()), setups.last_mut(), sight.levelled_by().is_some())
        {
            setup.1.push(Held {
                sight: index,
                deviation: row.level - expected.level_m.0,
                tolerance: expected.tolerance_mm.0,
            });
        }
        if sight.back_m.is_some() {
            setups.push((index, Vec::new()));
        }
    }
    setups
}

/// All miss, and by one amount: their range is at most a tolerance, the least of theirs.
fn misses_as_one(readings: &[Held]) -> bool {
    let deviations = || readings.iter().map(|held| held.deviation);
    let tolerance = readings.iter().map(|held| held.tolerance).min();
    match (deviations().max(), deviations().min(), tolerance) {
        (Some(most), Some(least), Some(tolerance)) => {
            2 <= readings.len() && most - least <= tolerance && readings.iter().all(Held::suspected)
        }
        _ => false,
    }
}

/// The back sight that would put all readings of its set-up right: read higher, it lifts them all.
fn back_sight(input: &Input, back: usize, readings: &[Held]) -> Option<Suspect> {
    let booked = input.sights.get(back)?.back_m?.0;
    let furthest = |perhaps: Length| {
        readings.iter().map(|held| (held.deviation + perhaps - booked).abs()).max().unwrap_or_default()
    };
    let (perhaps, slip) = reading_might_have_been(booked)
        .filter(|(perhaps, _)| readings.iter().all(|held| held.explained_after(*perhaps - booked)))
        .min_by_key(|(perhaps, _)| furthest(*perhaps))?;
    Some(suspect(input, back, Reading::Back, booked, perhaps, slip))
}

/// The reading that would be right by a slip: read higher, it lowers its level.
fn own_reading(input: &Input, held: &Held) -> Option<Suspect> {
    let sight = input.sights.get(held.sight)?;
    let booked = sight.levelled_by()?;
    let (perhaps, slip) = reading_might_have_been(booked)
        .filter(|(perhaps, _)| held.explained_after(booked - *perhaps))
        .min_by_key(|(perhaps, _)| (held.deviation + booked - *perhaps).abs())?;
    let reading = if sight.inter_m.is_some() { Reading::Inter } else { Reading::Fore };
    Some(suspect(input, held.sight, reading, booked, perhaps, slip))
}

fn suspect(
    input: &Input,
    sight: usize,
    reading: Reading,
    booked: Length,
    perhaps: Length,
    slip: Slip,
) -> Suspect {
    Suspect {
        point: input.sights[sight].point.clone(),
        sight,
        reading,
        booked_m: Metres(booked),
        perhaps_m: Metres(perhaps),
        slip,
    }
}
