//! Level book: staff readings from a benchmark, by height of collimation or by rise and fall, to levels, checks and
//! misclosure.
//!
//! Rows go by sight: a point may be sighted again, and every level is traceable to its sight and set-up. A book that is
//! still open reduces like a closed one; only without a closing benchmark its verdict stays undetermined. Suspected
//! slips are pointed out and nothing is changed. Nothing here judges a wall: [`bearing`](super::bearing) does, from the
//! levels that come out. Everything is in whole micrometres.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::slip::Slip;
use super::{Finding, MAX_NAME};
use crate::conformity::Verdict;
use crate::faults::Faults;
use crate::quantity::{Km, Length, Metres, Mm};
use crate::working::Working;

mod allowable;
mod check;
#[cfg(test)]
mod property_tests;
mod reduce;
mod steps;
mod suspects;
#[cfg(test)]
mod tests;

/// The most sights in one book, and the most expected levels beside it.
pub const MAX_SIGHTS: usize = 20_000;

/// A level book and what it is held against.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// How the book is reduced; both ways give the same levels.
    pub method: Method,
    /// The mark that the book starts from.
    pub benchmark: Mark,
    /// The rows in booked order. The first is a back sight to the benchmark.
    #[schemars(length(max = MAX_SIGHTS))]
    pub sights: Vec<Sight>,
    /// The mark that the book closes on: its last row is a fore sight to it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub closing: Option<Mark>,
    /// The misclosure that is allowed.
    pub allowable: Allowable,
    /// Levels that points are expected to have, to look for slips.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = MAX_SIGHTS))]
    pub expected: Vec<Expected>,
}

/// How a book is reduced.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(inline)]
pub enum Method {
    /// Every reading is taken from the level of the line of sight.
    HeightOfCollimation,
    /// Every reading is taken from the one before it.
    RiseAndFall,
}

/// A mark of known level.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Mark {
    /// Its point.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub point: String,
    /// Its level.
    pub level_m: Metres,
}

/// One row of the book: a back sight alone (first row), an intermediate sight alone, a fore sight with a back sight (a
/// change point), or a fore sight alone (last row, closing). Negative readings are of an inverted staff.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sight {
    /// Where the staff stands; a point may be sighted again.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub point: String,
    /// Back sight: the first reading from a set-up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub back_m: Option<Metres>,
    /// Intermediate sight.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub inter_m: Option<Metres>,
    /// Fore sight: the last reading from a set-up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fore_m: Option<Metres>,
    /// The level as reduced by hand in a paper book.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub booked_level_m: Option<Metres>,
}

impl Sight {
    /// A back sight: the first row of a book.
    pub fn back(point: impl Into<String>, back: Length) -> Self {
        Self { point: point.into(), back_m: Some(Metres(back)), ..Self::default() }
    }

    /// An intermediate sight.
    pub fn inter(point: impl Into<String>, inter: Length) -> Self {
        Self { point: point.into(), inter_m: Some(Metres(inter)), ..Self::default() }
    }

    /// A change point: fore sight from one set-up, back sight from the next.
    pub fn change(point: impl Into<String>, fore: Length, back: Length) -> Self {
        Self { fore_m: Some(Metres(fore)), ..Self::back(point, back) }
    }

    /// A fore sight alone, which closes the book.
    pub fn fore(point: impl Into<String>, fore: Length) -> Self {
        Self { point: point.into(), fore_m: Some(Metres(fore)), ..Self::default() }
    }

    /// The reading that gives the row its level: intermediate or fore sight.
    fn levelled_by(&self) -> Option<Length> {
        self.inter_m.or(self.fore_m).map(|reading| reading.0)
    }
}

/// The misclosure that is allowed: `per_root_setup_mm`, or `per_root_km_mm` with `distance_km`.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Allowable {
    /// Times the root of the number of set-ups.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0))]
    pub per_root_setup_mm: Option<Mm>,
    /// Times the root of the distance levelled in kilometres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0))]
    pub per_root_km_mm: Option<Mm>,
    /// The distance levelled.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0))]
    pub distance_km: Option<Km>,
}

/// A level that a point is expected to have.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Expected {
    /// The point, once in the list; it need not be sighted yet.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub point: String,
    /// Its level by the design.
    pub level_m: Metres,
    /// How far a sound level may be from it.
    #[schemars(range(min = 0))]
    pub tolerance_mm: Mm,
}

/// The book reduced and checked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// One for each sight, in its order.
    pub rows: Vec<Row>,
    /// The arithmetic checks of the trade.
    pub checks: Checks,
    /// The number of set-ups, which is the number of back sights.
    pub setups: usize,
    /// Level found for the closing benchmark less its known level; null without one.
    pub misclosure_mm: Option<Mm>,
    /// The misclosure that is allowed. A root, so a binary float; the verdict is found in whole numbers.
    pub allowable_mm: f64,
    /// Whether the misclosure lies within it, closed; undetermined without a closing benchmark.
    pub verdict: Verdict,
    /// Readings that may be slips of the hand.
    pub suspects: Vec<Suspect>,
    /// What else there is to say.
    pub findings: Vec<Finding>,
    /// The sums: every row of a book of up to 200, the checks by pages for a longer one.
    pub working: Working,
}

impl Output {
    /// The uncertainty that the book hands on with its levels: the larger of what the instrument states and what the
    /// misclosure shows.
    pub fn uncertainty(&self, stated: Length) -> Length {
        self.misclosure_mm.map_or(stated, |misclosure| stated.max(misclosure.0.abs()))
    }
}

/// One row reduced.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Row {
    /// Where the staff stood.
    pub point: String,
    /// The set-up that its level was read from, counted from 1; 0 for the benchmark. A change point belongs to the
    /// set-up of its fore sight.
    pub setup: usize,
    /// Height of collimation of the set-up that starts with this row; null in other rows and by rise and fall.
    pub collimation_m: Option<Metres>,
    /// Rise from the reading before; null for a fall, for the benchmark and by height of collimation.
    pub rise_m: Option<Metres>,
    /// Fall from the reading before; null otherwise.
    pub fall_m: Option<Metres>,
    /// Its level as booked.
    pub level_m: Metres,
    /// Its level after the misclosure is shared out; the same when nothing is adjusted.
    pub adjusted_level_m: Metres,
}

/// Arithmetic checks.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Checks {
    /// Sum of the back sights.
    pub sum_back_m: Metres,
    /// Sum of the fore sights.
    pub sum_fore_m: Metres,
    /// Sum of the rises; by rise and fall only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sum_rise_m: Option<Metres>,
    /// Sum of the falls; by rise and fall only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sum_fall_m: Option<Metres>,
    /// Level of the last row less level of the benchmark.
    pub last_minus_first_m: Metres,
    /// Every booked level is the reduced one and the sums close; null with no booked level to compare.
    pub agrees: Option<bool>,
}

/// A reading that may be a slip of the hand. It is only pointed out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Suspect {
    /// Where the staff stood.
    pub point: String,
    /// The row, counted from 0 as in `sights`.
    pub sight: usize,
    /// Which of the row's readings.
    pub reading: Reading,
    /// The reading as booked.
    pub booked_m: Metres,
    /// What it might have been.
    pub perhaps_m: Metres,
    /// The slip that would have been made.
    pub slip: Slip,
}

/// Which reading of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(inline)]
pub enum Reading {
    Back,
    Inter,
    Fore,
}

/// Reduces and checks a level book.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    let expected = check::check(input)?;
    let reduced = reduce::reduce(input);
    let misclosure = input.closing.as_ref().map(|closing| reduced.last_level() - closing.level_m.0);
    let held = misclosure.map(|misclosure| input.allowable.holds(misclosure, reduced.setups));
    let verdict = held.map_or(Verdict::Undetermined, Verdict::of);
    let shared = misclosure.filter(|_| held == Some(true) && 1 < reduced.setups);
    let suspects = suspects::find(input, &reduced, &expected);
    let mut working = Working::new();
    let checks = reduced.checks(input);
    let rows = reduced.rows(input, shared);
    steps::add(input, &reduced, &rows, shared, misclosure, &mut working);
    let setups = reduced.setups;
    let findings = check::findings(input, &rows, &checks, misclosure, verdict, setups);
    let allowable_mm = input.allowable.mm(setups);
    Ok(Output {
        rows,
        checks,
        setups,
        misclosure_mm: misclosure.map(Mm),
        allowable_mm,
        verdict,
        suspects,
        findings,
        working,
    })
}
