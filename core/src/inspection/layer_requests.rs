//! What people ask for when they book a label or a pressure test, as they write it.

use serde::Deserialize;
use serde_json::Number;

use super::fold::PlotRecord;
use super::material_requests::place;
use crate::entry::{LabelBooked, PressureTestBooked};
use crate::faults::Faults;
use crate::ids::{CriterionId, HoldPointId, PlotId};
use crate::plan_of_work::Feed;
use crate::quantity::Mm;

/// `book-label`
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BookLabel {
    /// The plot.
    pub plot: PlotId,
    /// The hold point; left out: the one that asks for the overlay's label.
    #[serde(default)]
    pub hold_point: Option<HoldPointId>,
    /// The criterion.
    #[serde(default)]
    pub criterion: Option<CriterionId>,
    /// What the label is on; left out: `overlay`.
    #[serde(default)]
    pub item: Option<String>,
    /// The grade as printed.
    pub grade: String,
    /// The thickness as printed.
    #[serde(default)]
    pub thickness_mm: Option<Mm>,
    /// The conductivity as printed.
    #[serde(rename = "W_per_mK", default)]
    pub conductivity: Option<Number>,
    /// The batch as printed.
    #[serde(default)]
    pub batch: Option<String>,
}

/// `book-pressure-test`
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BookPressureTest {
    /// The plot.
    pub plot: PlotId,
    /// The hold point; left out: the one that asks for the test.
    #[serde(default)]
    pub hold_point: Option<HoldPointId>,
    /// The criterion.
    #[serde(default)]
    pub criterion: Option<CriterionId>,
    /// What was tested.
    pub test: String,
    /// Pressure at the start.
    pub start_bar: Number,
    /// Pressure at the end.
    pub end_bar: Number,
    /// When it started.
    pub started_at: String,
    /// When it ended.
    pub ended_at: String,
}

/// What a label is on where nobody says otherwise.
pub const OVERLAY: &str = "overlay";

impl BookLabel {
    /// As it is recorded.
    ///
    /// # Errors
    /// The plan asks for no label, and none is named.
    pub fn booked(self, record: Option<&PlotRecord>) -> Result<LabelBooked, Faults> {
        let (hold_point, criterion) = place(record, self.hold_point, self.criterion, &[Feed::OverlayLabels])?;
        Ok(LabelBooked {
            hold_point,
            criterion,
            item: self.item.unwrap_or_else(|| OVERLAY.to_owned()),
            grade: self.grade,
            thickness_um: self.thickness_mm.map(|thickness| thickness.0.um()),
            conductivity: self.conductivity.map(|number| number.to_string()),
            batch: self.batch,
        })
    }
}

impl BookPressureTest {
    /// As it is recorded.
    ///
    /// # Errors
    /// The plan asks for no pressure test, and none is named.
    pub fn booked(self, record: Option<&PlotRecord>) -> Result<PressureTestBooked, Faults> {
        let (hold_point, criterion) = place(record, self.hold_point, self.criterion, &[Feed::HeatingTests])?;
        Ok(PressureTestBooked {
            hold_point,
            criterion,
            test: self.test,
            start_bar: self.start_bar.to_string(),
            end_bar: self.end_bar.to_string(),
            started_at: self.started_at,
            ended_at: self.ended_at,
        })
    }
}
