//! The moment of booking: what to point out about one number before it is booked. It is only pointed out; the person
//! decides, and may be right.
//!
//! *A number that may be a slip*: see [`super`]. Nothing is suspected of a number that fits its neighbours: a wall that
//! is a decimetre low all along is a low wall, not a row of slips.
//!
//! *A level that does not fit its neighbours* lies more than [`MISFIT_BEYOND`] tolerances from the straight line
//! between the nearest levels to either side on its wall, or from the nearest alone at the end of the wall. The reason:
//! a course is laid to a line. If this point and its neighbours are all within tolerance of one level, the line between
//! the neighbours is so too, and the point cannot be further from it than one tolerance up and one down. Further off,
//! one of them is out of tolerance or wrongly read, and now is the time to read again. Source: common practice.

use super::{Slip, explained, might_have_been, reading_might_have_been, suspected};
use crate::quantity::Length;

/// A level fits its neighbours up to so many tolerances from the line between them, closed.
pub const MISFIT_BEYOND: i64 = 2;

/// One number as typed, and what is known about its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Typed<'n> {
    /// The number.
    pub number: Number,
    /// Where its point stands along its wall.
    pub along: Length,
    /// The level expected there.
    pub expected: Length,
    /// How far a sound level may be from it, at least 0.
    pub tolerance: Length,
    /// Levels booked of other points of the same wall, in any order.
    pub neighbours: &'n [Neighbour<'n>],
}

/// What was typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Number {
    /// A level above the site datum.
    Level(Length),
    /// A reading on the staff below a height of collimation.
    Reading {
        /// The reading.
        reading: Length,
        /// The height of collimation of its set-up.
        collimation: Length,
    },
}

impl Number {
    /// The level that the number stands for.
    pub fn level(self) -> Length {
        match self {
            Self::Level(level) => level,
            Self::Reading { reading, collimation } => collimation - reading,
        }
    }

    /// What might have been meant, with the level that it stands for.
    fn might_have_been(self) -> Vec<Perhaps> {
        match self {
            Self::Level(level) => {
                might_have_been(level).map(|(number, slip)| Perhaps { number, level: number, slip }).collect()
            }
            Self::Reading { reading, collimation } => reading_might_have_been(reading)
                .map(|(number, slip)| Perhaps { number, level: collimation - number, slip })
                .collect(),
        }
    }
}

/// A level booked on the same wall.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Neighbour<'n> {
    /// Its point.
    pub point: &'n str,
    /// Its place along the wall.
    pub along: Length,
    /// Its level.
    pub level: Length,
}

/// What is pointed out.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PointedOut {
    /// What might have been meant, the nearest to what is expected first.
    pub perhaps: Vec<Perhaps>,
    /// How it does not fit its neighbours.
    pub misfit: Option<Misfit>,
}

impl PointedOut {
    /// True when there is nothing to point out.
    pub fn is_empty(&self) -> bool {
        self.perhaps.is_empty() && self.misfit.is_none()
    }
}

/// What might have been meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Perhaps {
    /// The number instead of what was typed: a reading for a reading, a level for a level.
    pub number: Length,
    /// The level that it would give.
    pub level: Length,
    /// The slip that would have been made.
    pub slip: Slip,
}

/// A level that does not fit its neighbours.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Misfit {
    /// The neighbours that it was held against, one or two, by their place along the wall.
    pub beside: Vec<String>,
    /// Level less the level of the line between the neighbours.
    pub off_by: Length,
    /// How far it may be off.
    pub allowed: Length,
}

/// Looks at what was typed.
pub fn look_at(typed: &Typed<'_>) -> PointedOut {
    let level = typed.number.level();
    let allowed = typed.tolerance * MISFIT_BEYOND;
    let beside = beside(typed.along, typed.neighbours);
    let off_by = line_at(typed.along, &beside).map(|line| level - line);
    let misfit = off_by.filter(|off_by| allowed < off_by.abs()).map(|off_by| Misfit {
        beside: beside.iter().map(|neighbour| neighbour.point.to_owned()).collect(),
        off_by,
        allowed,
    });
    let fits = off_by.is_some() && misfit.is_none();
    let mut perhaps = Vec::new();
    if !fits && suspected(level - typed.expected, typed.tolerance) {
        perhaps = typed.number.might_have_been();
        perhaps.retain(|perhaps| explained(perhaps.level - typed.expected, typed.tolerance));
        perhaps.sort_by_key(|perhaps| (perhaps.level - typed.expected).abs());
    }
    PointedOut { perhaps, misfit }
}

/// The nearest neighbours: the last before the place and the first after it; one at the very place stands for both.
fn beside<'n>(along: Length, neighbours: &[Neighbour<'n>]) -> Vec<Neighbour<'n>> {
    let here = neighbours.iter().find(|neighbour| neighbour.along == along);
    if let Some(here) = here {
        return vec![*here];
    }
    let before =
        neighbours.iter().filter(|neighbour| neighbour.along < along).max_by_key(|neighbour| neighbour.along);
    let after =
        neighbours.iter().filter(|neighbour| along < neighbour.along).min_by_key(|neighbour| neighbour.along);
    before.into_iter().chain(after).copied().collect()
}

/// The level of the line at a place, to the micrometre.
fn line_at(along: Length, beside: &[Neighbour<'_>]) -> Option<Length> {
    match beside {
        [one] => Some(one.level),
        [before, after] => {
            let rise = after.level - before.level;
            let run = (after.along - before.along).um();
            Some(before.level + rise.share((along - before.along).um(), run))
        }
        _ => None,
    }
}
