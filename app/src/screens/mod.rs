//! One file per screen. A screen reads [`State`], edits its own drafts and queues actions; it changes nothing
//! else, reads no disk and waits for nothing.
//!
//! [`frame`] is the sheet around all of them: title bar, notice, busy bar, title block.

use egui::Ui;

use crate::state::{Screen, State};
use crate::update::TABLET;

pub mod asking;
pub mod cuts;
pub mod desk;
#[cfg(test)]
pub mod fixture;
pub mod frame;
pub mod hold_point;
pub mod instruments;
pub mod level_book;
pub mod marks;
pub mod new_register;
pub mod nonconformances;
pub mod photos;
pub mod plot_list;
pub mod pour_day;
pub mod recall;
pub mod register;
pub mod section;
pub mod section_drawing;
pub mod sign_off;
pub mod site_file;
pub mod site_sheet;
pub mod stand;
pub mod tablet;
pub mod underlay;
pub mod welcome;
pub mod what_to_do;
pub mod working;

/// Paints the whole window.
pub fn window_ui(ui: &mut Ui, state: &mut State) {
    frame::frame_ui(ui, state, |ui, state| {
        if tablet::is_shown(state) {
            tablet::tablet_ui(ui, state);
        } else {
            screen_ui(ui, state);
        }
    });
}

/// Paints the screen that the state names.
pub fn screen_ui(ui: &mut Ui, state: &mut State) {
    match state.screen.clone() {
        Screen::Welcome => welcome::welcome_ui(ui, state),
        Screen::NewRegister => new_register::new_register_ui(ui, state),
        Screen::Site => site_sheet::site_sheet_ui(ui, state),
        Screen::Register => register::register_ui(ui, state),
        Screen::SiteFile => site_file::site_file_ui(ui, state),
        Screen::Section(plot) => section::section_ui(ui, state, &plot),
        Screen::HoldPoint(plot, id) => hold_point::hold_point_ui(ui, state, &plot, &id),
        Screen::Photos(plot, id) => photos::photos_ui(ui, state, &plot, &id),
        Screen::Working(plot, id, criterion) => working::working_ui(ui, state, &plot, &id, &criterion),
        Screen::WhatToDo(plot, id, criterion) => what_to_do::what_to_do_ui(ui, state, &plot, &id, &criterion),
        Screen::LevelBook(plot, book) => level_book::level_book_ui(ui, state, &plot, book.as_ref()),
        Screen::PourDay(plot) => pour_day::pour_day_ui(ui, state, &plot),
        Screen::Recall => recall::recall_ui(ui, state),
        Screen::Instruments => instruments::instruments_ui(ui, state),
        Screen::Nonconformances(plot) => nonconformances::nonconformances_ui(ui, state, plot.as_ref()),
        Screen::SignOff(plot) => sign_off::sign_off_ui(ui, state, &plot),
        Screen::Cuts(plot) => cuts::cuts_ui(ui, state, &plot),
        Screen::Underlay(plot) => underlay::underlay_ui(ui, state, &plot),
    }
}

/// The name of what is shown, for the trace.
pub fn name(state: &State) -> String {
    if tablet::is_shown(state) { TABLET.to_owned() } else { state.screen.name() }
}
