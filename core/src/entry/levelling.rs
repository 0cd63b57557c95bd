//! What is recorded of levelling: instruments and bench marks of the site, level books of a plot and their sights.
//!
//! A level is never recorded here: it follows from its sight, set-up and bench mark (see
//! [`crate::inspection::level_book`]), so that a corrected sight corrects every level that hangs on it.

use serde::{Deserialize, Serialize};

use crate::ids::{CriterionId, HoldPointId, InstrumentName, LevelBookName, PointName};
use crate::time::Date;

/// What an instrument is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum InstrumentKind {
    /// Optical or automatic level with a staff.
    OpticalLevel,
    /// Digital level that reads a coded staff.
    DigitalLevel,
    /// Rotating laser with a receiver on a staff.
    RotatingLaser,
    /// Tape or rule.
    Tape,
    /// Go/no-go gauge.
    Gauge,
    /// Anything else.
    Other,
}

impl InstrumentKind {
    /// Every kind.
    pub const ALL: [Self; 6] =
        [Self::OpticalLevel, Self::DigitalLevel, Self::RotatingLaser, Self::Tape, Self::Gauge, Self::Other];

    /// The words on screen and paper.
    pub const fn word(self) -> &'static str {
        match self {
            Self::OpticalLevel => "optical level",
            Self::DigitalLevel => "digital level",
            Self::RotatingLaser => "rotating laser",
            Self::Tape => "tape",
            Self::Gauge => "gauge",
            Self::Other => "other",
        }
    }
}

/// An instrument is registered, or registered anew after a check: the last registration is in force.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct InstrumentRegistered {
    /// Its name on this site.
    pub instrument: InstrumentName,
    /// What it is.
    pub kind: InstrumentKind,
    /// Its stated expanded uncertainty for one value, in micrometres.
    pub expanded_uncertainty_um: i64,
    /// When it was last checked.
    pub checked: Date,
    /// The last day on which that check holds: from the next day on every verdict from it is undetermined.
    pub due: Date,
    /// The two-peg test of that check, where one was made.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub two_peg: Option<TwoPegTest>,
    /// What else there is to say (certificate, serial number).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub remark: Option<String>,
}

/// Staff readings of a two-peg test, in micrometres.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TwoPegTest {
    /// Staff on A, set up midway.
    pub mid_a_um: i64,
    /// Staff on B, set up midway.
    pub mid_b_um: i64,
    /// Staff on A, set up near A.
    pub end_a_um: i64,
    /// Staff on B, set up near A.
    pub end_b_um: i64,
    /// Distance from A to B.
    pub distance_um: i64,
    /// What the instrument may miss on 10 m, by its maker or the project.
    pub allowable_um_per_10_m: i64,
}

/// A bench mark is registered, or registered anew after a check: the last registration is in force.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BenchmarkRegistered {
    /// Its name on this site.
    pub benchmark: PointName,
    /// Its level above the site datum, in micrometres.
    pub level_um: i64,
    /// When it was last checked.
    pub checked: Date,
    /// Where the level comes from (setting-out drawing, surveyor's sheet).
    pub source: String,
}

/// How a level book is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum BookMethod {
    /// Staff readings, reduced from the height of collimation.
    HeightOfCollimation,
    /// Staff readings, reduced by rise and fall.
    RiseAndFall,
    /// A laser receiver set to a target: what is read is how far above (+) or below (−) the target the point lies;
    /// back and fore sights are the checks on the bench mark, read as how far off it shows.
    Receiver,
}

impl BookMethod {
    /// The words on screen and paper.
    pub const fn word(self) -> &'static str {
        match self {
            Self::HeightOfCollimation => "height of collimation",
            Self::RiseAndFall => "rise and fall",
            Self::Receiver => "laser receiver",
        }
    }
}

/// A criterion that takes its levels from a book.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Serves {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The criterion within it.
    pub criterion: CriterionId,
}

/// What a book may miss when it closes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum BookAllowable {
    /// So much times the root of the number of set-ups.
    PerRootSetup {
        /// In micrometres.
        um: i64,
    },
    /// So much times the root of the kilometres levelled.
    PerRootKm {
        /// In micrometres.
        um: i64,
        /// The distance levelled, in micrometres.
        distance_um: i64,
    },
}

/// A level book of a plot is begun.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LevelBookBegun {
    /// Its name, once on a plot.
    pub book: LevelBookName,
    /// How it is kept.
    pub method: BookMethod,
    /// The bench mark that it starts on.
    pub benchmark: PointName,
    /// The instrument that reads.
    pub instrument: InstrumentName,
    /// The criteria whose points it levels.
    pub serves: Vec<Serves>,
    /// For a receiver: the level that it is set to, in micrometres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target_um: Option<i64>,
    /// What it may miss; without it the limit of the design or the defaults holds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub allowable: Option<BookAllowable>,
}

/// Which sight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SightKind {
    /// Onto a point whose level is known: it begins a set-up.
    Back,
    /// Onto a point between.
    Inter,
    /// The last of a set-up: onto a change point, or onto a bench mark, which closes the book.
    Fore,
}

impl SightKind {
    /// The words on screen and paper.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Back => "back sight",
            Self::Inter => "intermediate sight",
            Self::Fore => "fore sight",
        }
    }
}

/// A sight was booked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SightBooked {
    /// The level book.
    pub book: LevelBookName,
    /// Which sight.
    pub sight: SightKind,
    /// Onto which point.
    pub point: PointName,
    /// What was read, in micrometres: on the staff (negative with the staff inverted), or the receiver's offset.
    pub value_um: i64,
    /// What there is to say about it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub remark: Option<String>,
}
