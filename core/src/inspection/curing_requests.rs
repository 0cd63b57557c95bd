//! What people ask for while a topping cures, as they write it.

use serde::Deserialize;
use serde_json::Number;

use super::curing;
use super::fold::PlotRecord;
use crate::entry::{PlacingNoted, Temperature, TemperaturesBooked};
use crate::faults::Faults;
use crate::ids::{HoldPointId, PlotId};
use crate::temperature_csv::{Taken, check_celsius};
use crate::time::LocalTime;

/// `note-placing`
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NotePlacing {
    /// The plot.
    pub plot: PlotId,
    /// The hold point; left out: the one that asks for temperatures.
    #[serde(default)]
    pub hold_point: Option<HoldPointId>,
    /// When the last concrete was placed: `2026-11-26 08:10`, by the site's clock.
    pub at: String,
}

/// `book-temperature`
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BookTemperature {
    /// The plot.
    pub plot: PlotId,
    /// The hold point; left out: the one that asks for temperatures.
    #[serde(default)]
    pub hold_point: Option<HoldPointId>,
    /// When it was read: `2026-11-26 08:10`, by the site's clock.
    pub at: String,
    /// Temperature of the concrete.
    #[serde(rename = "concrete_C")]
    pub concrete_c: Number,
}

/// `take-in-temperatures`
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TakeInTemperatures {
    /// The plot.
    pub plot: PlotId,
    /// The hold point; left out: the one that asks for temperatures.
    #[serde(default)]
    pub hold_point: Option<HoldPointId>,
    /// The logger's CSV file.
    pub file: String,
}

fn place(record: Option<&PlotRecord>, named: Option<HoldPointId>) -> Result<HoldPointId, Faults> {
    let own = || record.and_then(curing::hold_point).cloned();
    named
        .or_else(own)
        .ok_or_else(|| Faults::one("/hold_point", "the plot's plan of work asks for no temperatures"))
}

fn time(text: &str) -> Result<LocalTime, Faults> {
    LocalTime::parse_typed(text).ok_or_else(|| Faults::one("/at", "must be a time such as 2026-11-26 08:10"))
}

impl NotePlacing {
    /// As it is recorded.
    ///
    /// # Errors
    /// No such time, or nothing asks for it.
    pub fn noted(self, record: Option<&PlotRecord>) -> Result<PlacingNoted, Faults> {
        Ok(PlacingNoted { hold_point: place(record, self.hold_point)?, at: time(&self.at)? })
    }
}

impl BookTemperature {
    /// As it is recorded.
    ///
    /// # Errors
    /// No such time or temperature, or nothing asks for it.
    pub fn booked(self, record: Option<&PlotRecord>) -> Result<TemperaturesBooked, Faults> {
        let concrete_c = check_celsius(&self.concrete_c.to_string())
            .map_err(|what| Faults::one("/concrete_C", format!("{} {what}", self.concrete_c)))?;
        let reading = Temperature { at: time(&self.at)?, concrete_c };
        Ok(TemperaturesBooked {
            hold_point: place(record, self.hold_point)?,
            readings: vec![reading],
            file: None,
        })
    }
}

impl TakeInTemperatures {
    /// As it is recorded, with the rows of its file.
    ///
    /// # Errors
    /// Nothing asks for it.
    pub fn booked(self, record: Option<&PlotRecord>, taken: &Taken) -> Result<TemperaturesBooked, Faults> {
        Ok(booked(place(record, self.hold_point)?, taken, &self.file))
    }
}

/// Rows of a file as they are recorded.
pub fn booked(hold_point: HoldPointId, taken: &Taken, file: &str) -> TemperaturesBooked {
    let reading = |row: &crate::temperature_csv::TakenRow| Temperature {
        at: row.at,
        concrete_c: row.concrete_c.clone(),
    };
    let name = file.rsplit(['/', '\\']).next().unwrap_or_default();
    let name: String = name.chars().filter(|c| !c.is_control()).take(200).collect();
    TemperaturesBooked {
        hold_point,
        readings: taken.rows.iter().map(reading).collect(),
        file: (!name.trim().is_empty()).then_some(name),
    }
}
