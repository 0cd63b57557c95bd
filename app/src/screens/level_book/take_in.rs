//! A level book from a file: chosen, typed as a path or dropped on the window; what would be booked is shown first,
//! with every fault by row and column. One button books all of it or nothing.

use std::sync::Arc;

use egui::{RichText, ScrollArea, Ui};
use gaugerod_core::entry::{BookMethod, LevelBookBegun, SightBooked};
use gaugerod_core::inspection::{Act, level_book, level_trial};
use gaugerod_core::level_book_csv::EXAMPLE;

use super::begin::draft;
use super::drafts::{LookedAt, ReadBook};
use super::keys::keep;
use super::sheet::Sheet;
use super::table::{self, Columns};
use crate::action::Action;
use crate::screens::desk::{Desk, May};
use crate::state::State;
use crate::theme;
use crate::widgets::{self, Mark, Weight, buttons, field_ui};

/// The most faults that are listed.
const MOST_FAULTS: usize = 40;

/// The way to a file, under the form.
pub(super) fn file_ui(ui: &mut Ui, state: &mut State, desk: &Desk, begun: LevelBookBegun) {
    if begun.method == BookMethod::Receiver {
        return; // it is booked here, sight by sight
    }
    ui.add_space(theme::GAP);
    ui.label(RichText::new("Or take a book in from a CSV file").font(theme::strong(theme::VALUE)));
    let mut path = state.drafts.text(&draft(desk, "file")).to_owned();
    if field_ui(ui, "CSV file", "its path, or drop the file here", &mut path).changed() {
        keep(state, draft(desk, "file"), path.clone());
    }
    state.drafts.levels.for_file = Some((desk.plot.clone(), begun.clone()));
    let columns = EXAMPLE.lines().next().unwrap_or_default().replace(',', ", ");
    let words = format!("Columns: {columns}; or back_mm, inter_mm, fore_mm. Levelled as the form says.");
    ui.add(egui::Label::new(RichText::new(words).color(theme::sheet(ui).soft)).wrap());
    ui.horizontal_wrapped(|ui| {
        ui.add_enabled_ui(!path.trim().is_empty(), |ui| {
            if widgets::button_ui(ui, Weight::Plain, "Read this file") {
                let path = path.trim().into();
                state.ask(Action::ReadLevelBook {
                    plot: desk.plot.clone(),
                    begun: Box::new(begun.clone()),
                    path,
                });
            }
        });
        if widgets::button_ui(ui, Weight::Plain, "Choose a CSV file") {
            state.ask(Action::PickLevelBook { plot: desk.plot.clone(), begun: Box::new(begun) });
        }
    });
}

/// Whether a file that was read for this plot is shown.
pub(super) fn is_shown(state: &State, desk: &Desk) -> bool {
    state.drafts.levels.read.as_ref().is_some_and(|read| read.plot == desk.plot)
}

/// What would be booked, or the faults.
pub(super) fn preview_ui(ui: &mut Ui, state: &mut State, desk: &Desk) {
    let Some(read) = state.drafts.levels.read.clone() else { return };
    let file = crate::messages::name(&read.path);
    match &read.result {
        Err(faults) => {
            faults_ui(ui, &file, faults);
            go_back_ui(ui, state);
        }
        Ok(sights) => sound_ui(ui, state, desk, &read, sights, &file),
    }
}

fn go_back_ui(ui: &mut Ui, state: &mut State) {
    if widgets::button_ui(ui, Weight::Plain, "Go back") {
        state.drafts.levels.read = None;
    }
}

fn faults_ui(ui: &mut Ui, file: &str, faults: &[String]) {
    let count = if faults.len() == 1 { "1 fault".to_owned() } else { format!("{} faults", faults.len()) };
    let words = format!("{file}: {count}. Nothing was booked; correct the file and read it again.");
    widgets::notice_ui(ui, Mark::Nonconforming, &words);
    let area = ScrollArea::vertical().id_salt("faults").max_height((ui.available_height() - 72.0).max(60.0));
    theme::scroll(area).show(ui, |ui| {
        for fault in faults.iter().take(MOST_FAULTS) {
            ui.add(egui::Label::new(fault).wrap());
        }
        if faults.len() > MOST_FAULTS {
            ui.label(format!("and {} more", faults.len() - MOST_FAULTS));
        }
    });
}

fn sound_ui(
    ui: &mut Ui,
    state: &mut State,
    desk: &Desk,
    read: &ReadBook,
    sights: &[SightBooked],
    file: &str,
) {
    let LookedAt { sheet, may, .. } = looked_at(state, desk, read, sights);
    let panel = egui::Panel::bottom("take in").resizable(false).show_separator_line(false);
    panel.frame(egui::Frame::NONE).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 6.0;
        match &sheet.reduced {
            Ok(reduced) if reduced.closed => {
                let missed = reduced
                    .output
                    .misclosure_mm
                    .map_or_else(String::new, |one| super::typed::signed_mm(one.0));
                let words = format!("Closes by {missed} mm, ±{:.1} allowed.", reduced.output.allowable_mm);
                widgets::notice_ui(ui, reduced.output.verdict.into(), &words);
            }
            Ok(_) => {
                widgets::notice_ui(ui, Mark::Owed, "It does not close on a bench mark: that will be owed.")
            }
            Err(what) => widgets::notice_ui(ui, Mark::Refused, what),
        }
        if let May::NotNow(why) | May::NotThisPerson(why) = &may {
            widgets::notice_ui(ui, Mark::Refused, why);
        }
        let is_free = may.is_yes() && state.drafts.levels.beginning.is_none();
        ui.add_enabled_ui(is_free, |ui| {
            let words = format!("Book all {} sights as {}", sights.len(), read.begun.book);
            if buttons::wide_button_ui(ui, Weight::Primary, &words) {
                state.drafts.levels.beginning = Some((desk.plot.clone(), read.begun.book.clone()));
                let act = Act::TakeInLevelBook { begun: read.begun.clone(), sights: sights.to_vec() };
                state.ask(Action::Do { plot: desk.plot.clone(), act });
            }
        });
        go_back_ui(ui, state);
    });
    ui.label(RichText::new(format!("{file}: nothing is booked yet")).font(theme::strong(theme::VALUE)));
    let columns = Columns::of(read.begun.method, ui.available_width());
    table::head_ui(ui, &columns);
    let area = ScrollArea::vertical().id_salt("read sights").auto_shrink([false, false]);
    theme::scroll(area).show_viewport(ui, |ui, viewport| {
        table::rows_ui(ui, viewport, (&read.begun.book, read.begun.method), &sheet, &columns, None)
    });
}

/// The book as it would stand, reduced and judged: once for each change.
fn looked_at(state: &mut State, desk: &Desk, read: &ReadBook, sights: &[SightBooked]) -> LookedAt {
    let by = desk.at_tablet.as_ref().map(|one| one.person);
    if let Some(last) = &state.drafts.levels.looked_at
        && Arc::ptr_eq(&last.view, &desk.view)
        && last.by == by
    {
        return last.clone();
    }
    let record = &desk.view.record;
    let today = state.register.as_ref().map(|register| register.today);
    let book = level_trial::of_book(record, &read.begun, sights);
    let reduced = level_book::reduce(record, &book);
    let sheet = Sheet::of_file(&desk.site, &book, reduced, |sight, reduced, level| {
        level_trial::judged(record, &read.begun, reduced, &sight.kept.fact, level, today?)
    });
    let act = Act::TakeInLevelBook { begun: read.begun.clone(), sights: sights.to_vec() };
    let made = LookedAt { view: Arc::clone(&desk.view), by, sheet: Arc::new(sheet), may: desk.may(&act) };
    state.drafts.levels.looked_at = Some(made.clone());
    made
}
