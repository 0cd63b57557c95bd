//! One file per screen. A screen reads [`State`], edits its own drafts and queues actions; it changes nothing
//! else, reads no disk and waits for nothing.

use egui::Ui;

use crate::state::{Screen, State};

#[cfg(test)]
pub mod fixture;
pub mod hold_point;
pub mod nonconformances;
pub mod section;
pub mod sign_off;
pub mod working;

/// Paints the screen that the state names.
pub fn screen_ui(ui: &mut Ui, state: &mut State) {
    match state.screen.clone() {
        Screen::Welcome | Screen::NewRegister | Screen::Site | Screen::Register | Screen::SiteFile => {
            ui.label("…");
        }
        Screen::Section(plot) => section::section_ui(ui, state, &plot),
        Screen::HoldPoint(plot, id) => hold_point::hold_point_ui(ui, state, &plot, &id),
        Screen::Working(plot, id, criterion) => working::working_ui(ui, state, &plot, &id, &criterion),
        Screen::Nonconformances(plot) => nonconformances::nonconformances_ui(ui, state, plot.as_ref()),
        Screen::SignOff(plot) => sign_off::sign_off_ui(ui, state, &plot),
    }
}
