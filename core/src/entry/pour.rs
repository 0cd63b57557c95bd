//! What is recorded on the day of the pour and weeks later: air and wind over the fresh concrete, when it began and
//! was finished, cubes taken, cubes crushed. The loads themselves are concrete tickets (see [`super::TicketBooked`]).
//!
//! Decimals are text, exactly as written; times are written as on a ticket: `08:10`, or with the day
//! `2026-11-26T08:10`.

use serde::{Deserialize, Serialize};

use super::Payload;
use crate::ids::{CriterionId, HoldPointId};

/// Air, wind and concrete were read, from which follows how fast the surface dries.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ConditionsBooked {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The criterion within it.
    pub criterion: CriterionId,
    /// When they were read.
    pub at: String,
    /// Temperature of the concrete's surface, °C.
    #[serde(rename = "concrete_C")]
    pub concrete_c: String,
    /// Temperature of the air, °C.
    #[serde(rename = "air_C")]
    pub air_c: String,
    /// Relative humidity of the air, per cent.
    pub humidity_percent: String,
    /// Wind over the surface, kilometres an hour.
    pub wind_km_per_h: String,
}

/// Which moment of the pour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PourMoment {
    /// The first concrete was placed.
    Started,
    /// The last concrete was placed and struck off.
    Finished,
}

impl PourMoment {
    /// The word on screen and paper.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Started => "started",
            Self::Finished => "finished",
        }
    }
}

/// The pour began or was finished.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PourTimed {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The criterion within it.
    pub criterion: CriterionId,
    /// Which moment.
    pub moment: PourMoment,
    /// When.
    pub at: String,
}

/// A sample was taken and its cubes were made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CubesTaken {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The criterion within it.
    pub criterion: CriterionId,
    /// What stands on the label of its cubes, once on a plot.
    pub sample: String,
    /// The ticket of the load that it was taken from.
    pub ticket: String,
    /// When.
    pub at: String,
    /// How many cubes were made of it.
    pub cubes: u32,
}

/// Cubes of a sample were crushed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CubesTested {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The criterion within it.
    pub criterion: CriterionId,
    /// The sample.
    pub sample: String,
    /// Age at test.
    pub age_days: u32,
    /// Strength of each cube, MPa.
    #[serde(rename = "cubes_MPa")]
    pub cubes_mpa: Vec<String>,
    /// Number of the laboratory's report.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub report: Option<String>,
}

/// One of these facts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PourFact {
    /// Air, wind and concrete.
    Conditions(ConditionsBooked),
    /// Start or finish.
    Timed(PourTimed),
    /// A sample taken.
    Taken(CubesTaken),
    /// Cubes crushed.
    Tested(CubesTested),
}

impl PourFact {
    /// Its hold point.
    pub const fn hold_point(&self) -> &HoldPointId {
        match self {
            Self::Conditions(fact) => &fact.hold_point,
            Self::Timed(fact) => &fact.hold_point,
            Self::Taken(fact) => &fact.hold_point,
            Self::Tested(fact) => &fact.hold_point,
        }
    }

    /// Its criterion.
    pub const fn criterion(&self) -> &CriterionId {
        match self {
            Self::Conditions(fact) => &fact.criterion,
            Self::Timed(fact) => &fact.criterion,
            Self::Taken(fact) => &fact.criterion,
            Self::Tested(fact) => &fact.criterion,
        }
    }

    /// The fact in a payload, if it is one of these.
    pub fn of(payload: &Payload) -> Option<Self> {
        match payload {
            Payload::ConditionsBooked(fact) => Some(Self::Conditions(fact.clone())),
            Payload::PourTimed(fact) => Some(Self::Timed(fact.clone())),
            Payload::CubesTaken(fact) => Some(Self::Taken(fact.clone())),
            Payload::CubesTested(fact) => Some(Self::Tested(fact.clone())),
            _ => None,
        }
    }
}

impl From<PourFact> for Payload {
    fn from(fact: PourFact) -> Self {
        match fact {
            PourFact::Conditions(fact) => fact.into(),
            PourFact::Timed(fact) => fact.into(),
            PourFact::Taken(fact) => fact.into(),
            PourFact::Tested(fact) => fact.into(),
        }
    }
}
