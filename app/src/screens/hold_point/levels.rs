//! The way from a criterion that asks for levels to its level book, or to beginning one for it.

use egui::Ui;
use gaugerod_core::entry::Serves;
use gaugerod_core::ids::HoldPointId;
use gaugerod_core::inspection::judge::CriterionStanding;
use gaugerod_core::plan_of_work::{Feed, ReadingUnit};

use crate::action::Action;
use crate::screens::desk::Desk;
use crate::state::{Screen, State};
use crate::widgets::{Weight, buttons};

/// Whether a criterion asks for levels.
pub fn wants_levels(criterion: &CriterionStanding) -> bool {
    criterion.feed().and_then(Feed::unit) == Some(ReadingUnit::LevelMetres)
}

/// The button: to the open book that serves the criterion, else to the plot's books.
pub fn level_book_ui(
    ui: &mut Ui,
    state: &mut State,
    desk: &Desk,
    hold_point: &HoldPointId,
    criterion: &CriterionStanding,
) {
    let record = &desk.view.record;
    let open = record.open_books(hold_point, &criterion.id).last().map(|book| book.begun.book.clone());
    let word = open.as_ref().map_or_else(|| "Level book".to_owned(), |book| format!("Level book {book}"));
    if buttons::wide_button_ui(ui, Weight::Plain, &word) {
        if open.is_none() {
            let serves = Serves { hold_point: hold_point.clone(), criterion: criterion.id.clone() };
            state.drafts.levels.serve(&desk.plot, vec![serves]);
        }
        state.ask(Action::Go(Screen::LevelBook(desk.plot.clone(), open)));
    }
}
