//! Everything that does not conform, on one plot or on the site.
use egui::Ui;
use gaugerod_core::ids::PlotId;

use crate::state::State;

/// The nonconformances of a plot, or of the site.
pub fn nonconformances_ui(ui: &mut Ui, _state: &mut State, plot: Option<&PlotId>) {
    ui.label(plot.map_or_else(|| "site".to_owned(), ToString::to_string));
}
