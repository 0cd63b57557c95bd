//! One hold point: what must be true, the readings, the photos, the offer and the release.
use egui::Ui;
use gaugerod_core::ids::{HoldPointId, PlotId};

use crate::state::State;

/// A hold point of a plot.
pub fn hold_point_ui(ui: &mut Ui, _state: &mut State, plot: &PlotId, id: &HoldPointId) {
    ui.label(format!("{plot} {id}"));
}
