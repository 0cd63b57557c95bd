//! A level book as it is kept on paper: sights down the sheet, sums and misclosure at its foot, the keypad beside it.
//!
//! Left the sheet with the sight in work drawn heaviest, right what is read next. In portrait the keypad lies below.
//! Without a name the screen shows the plot's books and begins another.
//!
//! - [`course`]: which sight comes next, onto which point · [`typed`]: what digits mean, names of drafts
//! - [`sheet`]: the book as rows · [`table`], [`foot`]: the sheet painted · [`work`]: the sight in work, what is
//!   pointed out · [`keys`]: kinds of sight, point, keypad · [`points`]: the list of points · [`put_right`]: correcting
//! - [`begin`]: the plot's books, beginning another · [`take_in`]: a book from a file
//!
//! Levels, verdicts and what may be booked come from `inspection`; nothing is reckoned here, and a sight shows in the
//! sheet once it is on disk.

mod begin;
mod course;
mod drafts;
mod foot;
mod keys;
mod pointed_out;
mod points;
mod put_right;
mod sheet;
mod table;
mod take_in;
#[cfg(test)]
mod tests;
pub(super) mod typed;
mod work;

use egui::{Frame, Margin, Panel, ScrollArea, Ui};
use gaugerod_core::ids::{LevelBookName, PlotId};

pub use drafts::{LevelDrafts, ReadBook};

use super::desk::{self, Desk};
use crate::state::State;
use crate::theme;
use crate::widgets::keypad;

/// What of the window lies beside the keypad at least, in points.
const SHEET: f32 = 620.0;

/// A plot's level books, or one of them.
pub fn level_book_ui(ui: &mut Ui, state: &mut State, plot: &PlotId, name: Option<&LevelBookName>) {
    let Some(desk) = Desk::of(state, plot) else {
        return desk::waiting_ui(ui, plot);
    };
    let Some(name) = name else {
        return begin::begin_ui(ui, state, &desk);
    };
    let Some(work) = work::Work::of(state, &desk, name) else {
        ui.heading(format!("Plot {plot} has no level book {name}."));
        return;
    };
    let size = ui.available_size();
    if size.x < size.y { portrait_ui(ui, state, &work) } else { landscape_ui(ui, state, &work) }
}

fn panel(side: Panel) -> Panel {
    side.resizable(false).show_separator_line(false)
}

fn landscape_ui(ui: &mut Ui, state: &mut State, work: &work::Work<'_>) {
    let width = (ui.available_width() - SHEET).clamp(310.0, 384.0);
    let beside = Frame::new().inner_margin(Margin { left: 12, ..Margin::ZERO });
    panel(Panel::right("level keys")).exact_size(width).frame(beside).show(ui, |ui| {
        keys::keys_ui(ui, state, work);
    });
    sheet_ui(ui, state, work);
}

fn portrait_ui(ui: &mut Ui, state: &mut State, work: &work::Work<'_>) {
    let below = Frame::new().inner_margin(Margin { top: 10, ..Margin::ZERO });
    let height = keypad::LEAST_HEIGHT + 56.0;
    panel(Panel::bottom("level keys")).exact_size(height).frame(below).show(ui, |ui| {
        keys::keys_ui(ui, state, work);
    });
    sheet_ui(ui, state, work);
}

/// The sheet: what is wrong with its instrument on top, rows, the sight in work, the foot.
fn sheet_ui(ui: &mut Ui, state: &mut State, work: &work::Work<'_>) {
    let columns = table::Columns::of(work.method(), ui.available_width());
    panel(Panel::top("level head")).frame(Frame::NONE).show(ui, |ui| {
        work::cautions_ui(ui, work);
        table::head_ui(ui, &columns);
    });
    panel(Panel::bottom("level foot")).frame(Frame::NONE).show(ui, |ui| {
        work::work_ui(ui, state, work, &columns);
        foot::foot_ui(ui, work);
    });
    let area = ScrollArea::vertical().id_salt("sights").auto_shrink([false, false]).stick_to_bottom(true);
    let tapped = theme::scroll(area)
        .show_viewport(ui, |ui, viewport| {
            let of = (&work.book.begun.book, work.method());
            table::rows_ui(ui, viewport, of, &work.sheet, &columns, work.correcting())
        })
        .inner;
    if let Some(entry) = tapped {
        put_right::begin(state, work, entry);
    }
}
