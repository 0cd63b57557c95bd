//! Page preview, PIN, drawn signature.
use egui::Ui;
use gaugerod_core::ids::PlotId;

use crate::state::State;

/// The sign-off of a plot.
pub fn sign_off_ui(ui: &mut Ui, _state: &mut State, plot: &PlotId) {
    ui.label(plot.to_string());
}
