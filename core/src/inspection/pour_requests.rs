//! What people ask for on the day of the pour and when cubes are crushed, as they write it.

use serde::Deserialize;
use serde_json::Number;

use super::fold::PlotRecord;
use super::material_requests::place;
use crate::entry::{ConditionsBooked, CubesTaken, CubesTested, PourFact, PourMoment, PourTimed};
use crate::faults::Faults;
use crate::ids::{CriterionId, HoldPointId, PlotId};
use crate::plan_of_work::Feed;

/// `book-conditions`
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BookConditions {
    /// The plot.
    pub plot: PlotId,
    /// The hold point; left out: the one that asks for it.
    #[serde(default)]
    pub hold_point: Option<HoldPointId>,
    /// The criterion.
    #[serde(default)]
    pub criterion: Option<CriterionId>,
    /// When they were read.
    pub at: String,
    /// Temperature of the concrete's surface.
    #[serde(rename = "concrete_C")]
    pub concrete_c: Number,
    /// Temperature of the air.
    #[serde(rename = "air_C")]
    pub air_c: Number,
    /// Relative humidity.
    pub humidity_percent: Number,
    /// Wind.
    pub wind_km_per_h: Number,
}

/// `time-pour`
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TimePour {
    /// The plot.
    pub plot: PlotId,
    /// The hold point; left out: the one that asks for it.
    #[serde(default)]
    pub hold_point: Option<HoldPointId>,
    /// The criterion.
    #[serde(default)]
    pub criterion: Option<CriterionId>,
    /// `started` or `finished`.
    pub moment: PourMoment,
    /// When.
    pub at: String,
}

/// `take-cubes`
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TakeCubes {
    /// The plot.
    pub plot: PlotId,
    /// The hold point; left out: the one that asks for it.
    #[serde(default)]
    pub hold_point: Option<HoldPointId>,
    /// The criterion.
    #[serde(default)]
    pub criterion: Option<CriterionId>,
    /// What stands on the label.
    pub sample: String,
    /// The ticket of the load.
    pub ticket: String,
    /// When.
    pub at: String,
    /// How many cubes.
    pub cubes: u32,
}

/// `book-cube-result`
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BookCubeResult {
    /// The plot.
    pub plot: PlotId,
    /// The hold point; left out: the one that asks for it.
    #[serde(default)]
    pub hold_point: Option<HoldPointId>,
    /// The criterion.
    #[serde(default)]
    pub criterion: Option<CriterionId>,
    /// The sample.
    pub sample: String,
    /// Age at test.
    pub age_days: u32,
    /// Strength of each cube.
    #[serde(rename = "cubes_MPa")]
    pub cubes_mpa: Vec<Number>,
    /// Number of the laboratory's report.
    #[serde(default)]
    pub report: Option<String>,
}

impl BookConditions {
    /// As it is recorded.
    ///
    /// # Errors
    /// The plan asks for none, and no hold point is named.
    pub fn booked(self, record: Option<&PlotRecord>) -> Result<PourFact, Faults> {
        let (hold_point, criterion) =
            place(record, self.hold_point, self.criterion, &[Feed::PourConditions])?;
        Ok(PourFact::Conditions(ConditionsBooked {
            hold_point,
            criterion,
            at: self.at,
            concrete_c: self.concrete_c.to_string(),
            air_c: self.air_c.to_string(),
            humidity_percent: self.humidity_percent.to_string(),
            wind_km_per_h: self.wind_km_per_h.to_string(),
        }))
    }
}

impl TimePour {
    /// As it is recorded.
    ///
    /// # Errors
    /// The plan asks for none, and no hold point is named.
    pub fn booked(self, record: Option<&PlotRecord>) -> Result<PourFact, Faults> {
        let (hold_point, criterion) = place(record, self.hold_point, self.criterion, &[Feed::PourTickets])?;
        Ok(PourFact::Timed(PourTimed { hold_point, criterion, moment: self.moment, at: self.at }))
    }
}

impl TakeCubes {
    /// As it is recorded.
    ///
    /// # Errors
    /// The plan asks for none, and no hold point is named.
    pub fn booked(self, record: Option<&PlotRecord>) -> Result<PourFact, Faults> {
        let (hold_point, criterion) = place(record, self.hold_point, self.criterion, &[Feed::CubesTaken])?;
        Ok(PourFact::Taken(CubesTaken {
            hold_point,
            criterion,
            sample: self.sample,
            ticket: self.ticket,
            at: self.at,
            cubes: self.cubes,
        }))
    }
}

impl BookCubeResult {
    /// As it is recorded.
    ///
    /// # Errors
    /// The plan asks for none, and no hold point is named.
    pub fn booked(self, record: Option<&PlotRecord>) -> Result<PourFact, Faults> {
        let (hold_point, criterion) = place(record, self.hold_point, self.criterion, &[Feed::CubeResults])?;
        Ok(PourFact::Tested(CubesTested {
            hold_point,
            criterion,
            sample: self.sample,
            age_days: self.age_days,
            cubes_mpa: self.cubes_mpa.iter().map(ToString::to_string).collect(),
            report: self.report,
        }))
    }
}
