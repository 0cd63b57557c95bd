//! Slips of the hand: what a reading might have been when it lies far from where it is expected.
//!
//! A reading is suspected when it lies more than [`SUSPECTED_BEYOND`] tolerances from what is expected and some slip
//! would bring it within [`EXPLAINED_WITHIN`]: two neighbouring digits of its four digits of millimetres swapped, or a
//! metre, a decimetre or a centimetre more or less. A level book is looked over by [`level_book`](super::level_book);
//! what is typed is looked at by [`booking`] before it is booked. Nothing is ever changed here: the person decides.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::staff;
use crate::quantity::Length;

pub mod booking;
#[cfg(test)]
mod tests;

/// A reading may be a slip when it deviates by more than so many tolerances (common practice: work is seldom so far
/// out, and a slip seldom hides within that).
pub const SUSPECTED_BEYOND: i64 = 5;
/// A slip explains a reading when it would bring it to at most so many tolerances.
pub const EXPLAINED_WITHIN: i64 = 1;

/// The slips that are looked for, in the order in which they are tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(inline)]
pub enum Slip {
    /// Two neighbouring digits of the four digits of millimetres swapped.
    Transposed,
    /// A metre more or less.
    Metre,
    /// A decimetre more or less.
    Decimetre,
    /// A centimetre more or less.
    Centimetre,
}

impl Slip {
    /// The slip in words, to follow `perhaps 1.245:`.
    pub fn words(self) -> &'static str {
        match self {
            Self::Transposed => "two digits swapped",
            Self::Metre => "a metre out",
            Self::Decimetre => "a decimetre out",
            Self::Centimetre => "a centimetre out",
        }
    }
}

/// The slips of whole units.
const UNITS: [(Slip, i64); 3] = [(Slip::Metre, 1_000), (Slip::Decimetre, 100), (Slip::Centimetre, 10)];

/// True when a deviation is far enough for a slip to be looked for.
pub fn suspected(deviation: Length, tolerance: Length) -> bool {
    tolerance * SUSPECTED_BEYOND < deviation.abs()
}

/// True when a deviation is one that a sound reading could have.
pub fn explained(deviation: Length, tolerance: Length) -> bool {
    deviation.abs() <= tolerance * EXPLAINED_WITHIN
}

/// What a number might have been before a slip: transposed digits first, then the units from the largest down. A
/// number keeps its sign, since nobody turns a staff by a slip of the hand, and what is finer than a millimetre.
pub fn might_have_been(value: Length) -> impl Iterator<Item = (Length, Slip)> {
    let sign = if value.is_negative() { -1 } else { 1 };
    let magnitude = value.abs().um();
    let (millimetres, finer) = (magnitude / 1_000, magnitude % 1_000);
    let swapped = [1_000, 100, 10].into_iter().filter_map(move |upper| {
        let (left, right) = (millimetres / upper % 10, millimetres / (upper / 10) % 10);
        let moved = (right - left) * upper + (left - right) * (upper / 10);
        (left != right).then_some(((millimetres + moved) * 1_000 + finer, Slip::Transposed))
    });
    let shifted = UNITS.into_iter().flat_map(move |(slip, unit)| {
        [unit, -unit].map(|unit| (magnitude + unit * 1_000, slip)).into_iter().filter(|(um, _)| *um >= 0)
    });
    swapped.chain(shifted).map(move |(um, slip)| (Length::from_um(sign * um), slip))
}

/// The same for a reading on a staff: what no staff can give is left out.
pub fn reading_might_have_been(reading: Length) -> impl Iterator<Item = (Length, Slip)> {
    might_have_been(reading).filter(|(perhaps, _)| staff::can_be_read(*perhaps))
}
