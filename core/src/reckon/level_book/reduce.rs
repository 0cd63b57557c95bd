//! Readings to levels, row by row in booked order. The two methods are reckoned each in its own way, so that they
//! check each other.

use super::{Checks, Input, Method, Row, Sight};
use crate::quantity::{Length, Metres};

/// A checked book reduced.
pub(super) struct Reduced {
    /// One for each sight.
    pub levels: Vec<RowLevel>,
    /// The number of back sights.
    pub setups: usize,
}

/// What one sight gives.
#[derive(Clone, Copy)]
pub(super) struct RowLevel {
    /// Its level.
    pub level: Length,
    /// The set-up it was read from; 0 for the benchmark.
    pub setup: usize,
    /// Height of collimation of the set-up that starts here.
    pub collimation: Option<Length>,
    /// Rise positive, fall negative, from the reading before.
    pub rise: Option<Length>,
}

/// Reduces a book that was checked.
pub(super) fn reduce(input: &Input) -> Reduced {
    let mut levels: Vec<RowLevel> = Vec::with_capacity(input.sights.len());
    let mut setups = 0;
    let mut level = input.benchmark.level_m.0;
    let mut collimation = Length::ZERO;
    let mut reading_before = Length::ZERO;
    for sight in &input.sights {
        let setup = setups;
        let mut rise = None;
        if let Some(reading) = sight.levelled_by() {
            match input.method {
                Method::HeightOfCollimation => level = collimation - reading,
                Method::RiseAndFall => {
                    rise = Some(reading_before - reading);
                    level += reading_before - reading;
                }
            }
            reading_before = reading;
        }
        let mut starts = None;
        if let Some(back) = sight.back_m {
            setups += 1;
            reading_before = back.0;
            if input.method == Method::HeightOfCollimation {
                collimation = level + back.0;
                starts = Some(collimation);
            }
        }
        levels.push(RowLevel { level, setup, collimation: starts, rise });
    }
    Reduced { levels, setups }
}

/// The sum of one kind of reading.
pub(super) fn sum(sights: &[Sight], of: impl Fn(&Sight) -> Option<Metres>) -> Length {
    sights.iter().filter_map(of).map(|reading| reading.0).sum()
}

/// What an open book still owes its check: the last row's back sight has no fore sight yet, and an intermediate sight
/// in the last row stands for the fore sight. Zero for a closed book.
pub(super) fn open_end(sights: &[Sight]) -> Length {
    sights.last().and_then(|last| last.inter_m.or(last.back_m)).map_or(Length::ZERO, |reading| reading.0)
}

impl Reduced {
    /// The level of the last row.
    pub fn last_level(&self) -> Length {
        self.levels.last().map_or(Length::ZERO, |row| row.level)
    }

    /// The sums of rises and of falls, both positive.
    pub fn rises_and_falls(&self) -> (Length, Length) {
        let part = |down: bool| {
            self.levels
                .iter()
                .filter_map(|row| row.rise)
                .filter(|rise| rise.is_negative() == down)
                .sum::<Length>()
        };
        (part(false), -part(true))
    }

    /// The arithmetic checks of the trade.
    pub fn checks(&self, input: &Input) -> Checks {
        let (back, fore) =
            (sum(&input.sights, |sight| sight.back_m), sum(&input.sights, |sight| sight.fore_m));
        let gained = self.last_level() - input.benchmark.level_m.0;
        let by_rises = (input.method == Method::RiseAndFall).then(|| self.rises_and_falls());
        let mut sums_close = back - fore - open_end(&input.sights) == gained;
        if let Some((rise, fall)) = by_rises {
            sums_close &= rise - fall == gained;
        }
        let mut booked = input
            .sights
            .iter()
            .zip(&self.levels)
            .filter_map(|(sight, row)| sight.booked_level_m.map(|booked| booked.0 == row.level))
            .peekable();
        let agrees = booked.peek().is_some().then(|| booked.all(|same| same) && sums_close);
        Checks {
            sum_back_m: Metres(back),
            sum_fore_m: Metres(fore),
            sum_rise_m: by_rises.map(|(rise, _)| Metres(rise)),
            sum_fall_m: by_rises.map(|(_, fall)| Metres(fall)),
            last_minus_first_m: Metres(gained),
            agrees,
        }
    }

    /// The rows, adjusted where a misclosure is to be shared out: misclosure · i / n off every level of set-up i.
    pub fn rows(&self, input: &Input, shared: Option<Length>) -> Vec<Row> {
        let setups = i64::try_from(self.setups).unwrap_or(i64::MAX);
        let share = |setup: usize| {
            shared.map_or(Length::ZERO, |misclosure| {
                misclosure.share(i64::try_from(setup).unwrap_or(i64::MAX), setups)
            })
        };
        input
            .sights
            .iter()
            .zip(&self.levels)
            .map(|(sight, row)| Row {
                point: sight.point.clone(),
                setup: row.setup,
                collimation_m: row.collimation.map(Metres),
                rise_m: row.rise.filter(|rise| !rise.is_negative()).map(Metres),
                fall_m: row.rise.filter(|rise| rise.is_negative()).map(|rise| Metres(-rise)),
                level_m: Metres(row.level),
                adjusted_level_m: Metres(row.level - share(row.setup)),
            })
            .collect()
    }
}
