//! One plot's cross-section: the menu of its hold points.
use egui::Ui;
use gaugerod_core::ids::PlotId;

use crate::state::State;

/// The section of a plot.
pub fn section_ui(ui: &mut Ui, _state: &mut State, plot: &PlotId) {
    ui.label(plot.to_string());
}
