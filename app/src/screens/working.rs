//! The sum behind a verdict.
use egui::Ui;
use gaugerod_core::ids::{CriterionId, HoldPointId, PlotId};

use crate::state::State;

/// The working of one criterion.
pub fn working_ui(ui: &mut Ui, _state: &mut State, plot: &PlotId, id: &HoldPointId, criterion: &CriterionId) {
    ui.label(format!("{plot} {id} {criterion}"));
}
