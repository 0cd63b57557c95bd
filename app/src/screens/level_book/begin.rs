//! The level books of a plot, and beginning another: its name, how it is kept, instrument, bench mark, what it serves.
//! Everything is proposed; the person changes what is not so.

use egui::{Align, Frame, Layout, Margin, Panel, RichText, ScrollArea, Ui, vec2};
use gaugerod_core::entry::{BookMethod, LevelBookBegun, Serves};
use gaugerod_core::ids::{InstrumentName, LevelBookName, PointName};
use gaugerod_core::inspection::level_book::{self, LevelBook, instrument_doubt, level_criteria};
use gaugerod_core::inspection::{Act, HoldPointState, PlotRecord, feeds};
use gaugerod_core::plan_of_work::{CriterionKind, Feed, ReadingUnit};
use gaugerod_core::quantity::Length;
use gaugerod_core::time::Date;

use super::course::{Course, Due};
use super::keys::keep;
use super::take_in;
use crate::action::Action;
use crate::screens::desk::{Desk, May, sentence};
use crate::screens::section::matter_ui;
use crate::state::{Screen, State};
use crate::theme;
use crate::widgets::{self, Mark, Weight, buttons, field_ui};

const METHODS: [BookMethod; 3] =
    [BookMethod::HeightOfCollimation, BookMethod::RiseAndFall, BookMethod::Receiver];

/// The books and the form beside them.
pub(super) fn begin_ui(ui: &mut Ui, state: &mut State, desk: &Desk) {
    settle(state, desk);
    if take_in::is_shown(state, desk) {
        return take_in::preview_ui(ui, state, desk);
    }
    let has_books = !desk.view.record.level_books.is_empty();
    let width = ui.available_width();
    let is_wide = width >= 900.0;
    if is_wide {
        let frame = Frame::new().inner_margin(Margin { left: 24, ..Margin::ZERO });
        let room = (width * 0.38).clamp(300.0, 520.0);
        Panel::right("level books")
            .resizable(false)
            .show_separator_line(false)
            .exact_size(room)
            .frame(frame)
            .show(ui, |ui| {
                scrolled_ui(ui, "level books", |ui| {
                    books_ui(ui, state, desk);
                    file_ui(ui, state, desk);
                });
            });
    }
    if desk.can_record() {
        let frame = Frame::new().inner_margin(Margin { top: 8, ..Margin::ZERO });
        Panel::bottom("begin it")
            .resizable(false)
            .show_separator_line(false)
            .frame(frame)
            .show(ui, |ui| begin_it_ui(ui, state, desk));
    }
    scrolled_ui(ui, "begin a book", |ui| {
        if has_books && !is_wide {
            books_ui(ui, state, desk);
        }
        form_ui(ui, state, desk);
        if !is_wide {
            file_ui(ui, state, desk);
        }
    });
}

/// The way to take a book in from a file, once it is said how it was levelled.
fn file_ui(ui: &mut Ui, state: &mut State, desk: &Desk) {
    if let (true, Ok(begun)) = (desk.can_record(), begun(state, desk)) {
        take_in::file_ui(ui, state, desk, begun);
    }
}

fn scrolled_ui(ui: &mut Ui, name: &str, add: impl FnOnce(&mut Ui)) {
    theme::scroll(ScrollArea::vertical().id_salt(name).auto_shrink([false, false])).show(ui, add);
}

/// Goes on to a book that was begun or taken in, once it is on disk.
fn settle(state: &mut State, desk: &Desk) {
    let Some((plot, name)) = state.drafts.levels.beginning.clone() else { return };
    if plot != desk.plot {
        return;
    }
    if desk.view.record.level_book(&name).is_some() {
        state.drafts.levels.beginning = None;
        state.drafts.levels.serves = None;
        state.drafts.levels.read = None;
        for what in ["name", "method", "instrument", "benchmark", "target", "file"] {
            keep(state, draft(desk, what), String::new());
        }
        state.ask(Action::Go(Screen::LevelBook(plot, Some(name))));
    } else if state.notice.as_ref().is_some_and(|notice| notice.is_problem) {
        state.drafts.levels.beginning = None;
    }
}

/// The name of a draft of the form.
pub(super) fn draft(desk: &Desk, what: &str) -> String {
    format!("level/{}/begin/{what}", desk.plot)
}

fn books_ui(ui: &mut Ui, state: &mut State, desk: &Desk) {
    let books = &desk.view.record.level_books;
    if books.is_empty() {
        return;
    }
    heading(ui, "Level books");
    for book in books {
        ui.push_id(("book", book.begun.book.as_str()), |ui| {
            let (mark, words) = standing_of(desk, book);
            let small = format!(
                "{} sights, {}, {}",
                book.standing().len(),
                book.begun.instrument,
                book.noted.time.minute()
            );
            if matter_ui(ui, mark, &format!("{}: {words}", book.begun.book), &small) {
                state.ask(Action::Go(Screen::LevelBook(desk.plot.clone(), Some(book.begun.book.clone()))));
            }
        });
    }
}

/// How a book stands, in a few words.
fn standing_of(desk: &Desk, book: &LevelBook) -> (Mark, String) {
    let record = &desk.view.record;
    if book.standing().len() == 0 {
        return (Mark::Owed, "nothing sighted yet".to_owned());
    }
    if !book.is_closed(record) {
        let due = match Course::of(record, book).due {
            Due::Back(point) => format!("open, back sight onto {point} next"),
            Due::Between | Due::Closed(_) => "open".to_owned(),
        };
        return (Mark::Owed, due);
    }
    match level_book::reduce(record, book) {
        Ok(reduced) => {
            let missed = reduced.output.misclosure_mm.map_or(Length::ZERO, |one| one.0);
            let words = format!(
                "closed, {} mm, ±{:.1} allowed",
                super::typed::signed_mm(missed),
                reduced.output.allowable_mm
            );
            (reduced.output.verdict.into(), words)
        }
        Err(what) => (Mark::InQuestion, what),
    }
}

fn heading(ui: &mut Ui, words: &str) {
    ui.label(RichText::new(words).font(theme::strong(theme::HEADING)));
}

fn label(ui: &mut Ui, words: &str) {
    ui.label(RichText::new(words).font(theme::font(theme::LABEL)).color(theme::sheet(ui).soft));
}

/// A caption, and beside it the way to register one more.
fn registering_ui(ui: &mut Ui, state: &mut State, caption: &str, words: &str) {
    ui.horizontal(|ui| {
        label(ui, caption);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if widgets::button_ui(ui, Weight::Plain, words) {
                state.ask(Action::Go(Screen::Instruments));
            }
        });
    });
}

/// The form for another book.
fn form_ui(ui: &mut Ui, state: &mut State, desk: &Desk) {
    if !desk.can_record() {
        ui.label("Take the tablet with your name to begin a level book.");
        return;
    }
    heading(ui, "Begin a level book");
    let mut typed = name(state, desk);
    if field_ui(ui, "Name of the book", "L1", &mut typed).changed() {
        keep(state, draft(desk, "name"), typed);
    }
    let method = method(state, desk);
    label(ui, "Kept by");
    let width = (ui.available_width() - 2.0 * theme::GAP) / 3.0;
    ui.horizontal(|ui| {
        for one in METHODS {
            ui.push_id(one.word(), |ui| {
                if buttons::choice_ui(ui, one == method, one.word(), vec2(width, theme::TOUCH + 4.0)) {
                    keep(state, draft(desk, "method"), one.word().to_owned());
                }
            });
        }
    });
    instruments_ui(ui, state, desk);
    benchmarks_ui(ui, state, desk);
    if method == BookMethod::Receiver {
        let mut target = target(state, desk);
        if field_ui(ui, "Level that the receiver is set to, m", "47.810", &mut target).changed() {
            keep(state, draft(desk, "target"), target);
        }
    }
    serves_ui(ui, state, desk);
}

/// The button that begins the book, always in reach; above it what is still to come.
fn begin_it_ui(ui: &mut Ui, state: &mut State, desk: &Desk) {
    let begun = begun(state, desk);
    let refusal = match &begun {
        Err(what) => Some(what.clone()),
        Ok(begun) => match desk.may(&Act::BeginLevelBook(begun.clone())) {
            May::Yes => None,
            May::NotThisPerson(why) | May::NotNow(why) => Some(why),
        },
    };
    if let Some(refusal) = &refusal {
        widgets::notice_ui(ui, Mark::Owed, refusal);
    }
    let is_waiting = state.drafts.levels.beginning.is_some();
    let words = format!("Begin {}", name(state, desk));
    ui.add_enabled_ui(refusal.is_none() && !is_waiting, |ui| {
        if let (true, Ok(begun)) = (buttons::wide_button_ui(ui, Weight::Primary, &words), &begun) {
            state.drafts.levels.beginning = Some((desk.plot.clone(), begun.book.clone()));
            state.ask(Action::Do { plot: desk.plot.clone(), act: Act::BeginLevelBook(begun.clone()) });
        }
    });
}

/// The name as typed, or the first of `L1`, `L2`, … that is free.
fn name(state: &State, desk: &Desk) -> String {
    let typed = state.drafts.text(&draft(desk, "name"));
    if !typed.is_empty() {
        return typed.to_owned();
    }
    let books = &desk.view.record.level_books;
    let free = |name: &String| books.iter().all(|book| book.begun.book.as_str() != name);
    (1..=books.len() + 1).map(|number| format!("L{number}")).find(free).unwrap_or_default()
}

fn method(state: &State, desk: &Desk) -> BookMethod {
    let chosen = state.drafts.text(&draft(desk, "method"));
    let last = desk.view.record.level_books.last().map_or(METHODS[0], |book| book.begun.method);
    METHODS.into_iter().find(|one| one.word() == chosen).unwrap_or(last)
}

fn instruments_ui(ui: &mut Ui, state: &mut State, desk: &Desk) {
    let chosen = instrument(state, desk);
    let today = today(state, desk);
    registering_ui(ui, state, "Instrument", "Register an instrument");
    for own in desk.view.record.instruments.values() {
        let doubt = instrument_doubt(own, today).map_or_else(
            || format!("check due {}", own.due),
            |_| format!("CHECK OVERDUE OR FAILED, due {}", own.due),
        );
        let sure = Length::from_um(own.expanded_uncertainty_um).to_mm_text();
        let words = format!("{}, ±{sure} mm, {doubt}", own.instrument);
        let size = vec2(ui.available_width(), theme::TOUCH + 4.0);
        ui.push_id(own.instrument.as_str(), |ui| {
            if buttons::choice_ui(ui, chosen.as_ref() == Some(&own.instrument), &words, size) {
                keep(state, draft(desk, "instrument"), own.instrument.to_string());
            }
        });
    }
}

fn instrument(state: &State, desk: &Desk) -> Option<InstrumentName> {
    let instruments = &desk.view.record.instruments;
    let chosen = InstrumentName::new(state.drafts.text(&draft(desk, "instrument"))).ok();
    let last = || desk.view.record.level_books.last().map(|book| book.begun.instrument.clone());
    let known = |name: &InstrumentName| instruments.contains_key(name);
    chosen.filter(known).or_else(|| last().filter(known)).or_else(|| instruments.keys().next().cloned())
}

/// The day, as the register's clock has it.
fn today(state: &State, desk: &Desk) -> Date {
    let noted = desk.view.record.design_entry();
    state.register.as_ref().map_or(Date::of(noted.time), |register| register.today)
}

fn benchmarks_ui(ui: &mut Ui, state: &mut State, desk: &Desk) {
    let chosen = benchmark(state, desk);
    registering_ui(ui, state, "Bench mark", "Register a bench mark");
    for name in benchmarks(desk) {
        let record = &desk.view.record;
        let level = record.benchmark_level(&name).map_or_else(String::new, |level| level.m_text(3));
        let checked = record.benchmarks.get(&name).map_or_else(
            || "from the floor design, not registered".to_owned(),
            |own| format!("checked {}", own.checked),
        );
        let words = format!("{name}: {level}, {checked}");
        let size = vec2(ui.available_width(), theme::TOUCH + 4.0);
        ui.push_id(name.as_str(), |ui| {
            if buttons::choice_ui(ui, chosen.as_ref() == Some(&name), &words, size) {
                keep(state, draft(desk, "benchmark"), name.to_string());
            }
        });
    }
}

fn benchmarks(desk: &Desk) -> Vec<PointName> {
    let record = &desk.view.record;
    let datum = PointName::new(&record.design().datum.name).ok();
    let others = record.benchmarks.keys().filter(|name| Some(*name) != datum.as_ref()).cloned();
    datum.clone().into_iter().chain(others).collect()
}

fn benchmark(state: &State, desk: &Desk) -> Option<PointName> {
    let all = benchmarks(desk);
    let chosen = PointName::new(state.drafts.text(&draft(desk, "benchmark"))).ok();
    chosen.filter(|name| all.contains(name)).or_else(|| all.into_iter().next())
}

/// The target as typed, or the bearing level of the design.
fn target(state: &State, desk: &Desk) -> String {
    let typed = state.drafts.text(&draft(desk, "target"));
    if !typed.is_empty() {
        return typed.to_owned();
    }
    feeds::target(&desk.view.record, Feed::BearingLevels).map_or_else(String::new, Length::to_m_text)
}

/// The criteria of the plan that ask for levels.
pub(super) fn asking_for_levels_of(record: &PlotRecord) -> Vec<Serves> {
    let points = record.plan.hold_points.iter();
    let all = points.flat_map(|point| point.criteria.iter().map(move |one| (point, one)));
    let levels = all.filter(|(_, one)| {
        matches!(one.kind, CriterionKind::Reckoning { feed, .. } if feed.unit() == Some(ReadingUnit::LevelMetres))
    });
    levels.map(|(point, one)| Serves { hold_point: point.id.clone(), criterion: one.id.clone() }).collect()
}

/// What the book shall serve: as chosen, or what can be worked on now and still wants levels.
fn serves(state: &State, desk: &Desk) -> Vec<Serves> {
    if let Some((plot, chosen)) = &state.drafts.levels.serves
        && *plot == desk.plot
    {
        return chosen.clone();
    }
    let all = asking_for_levels_of(&desk.view.record);
    let standing = |one: &Serves| desk.view.standing.hold_point(&one.hold_point);
    let is_open = |one: &&Serves| {
        standing(one).is_some_and(|point| point.state != HoldPointState::NotOpen && !point.state.is_settled())
    };
    let owes = |one: &&Serves| {
        let criterion = standing(one).and_then(|point| point.criterion(&one.criterion));
        criterion.is_some_and(|criterion| !criterion.owed.is_empty())
    };
    let owed: Vec<Serves> = all.iter().filter(is_open).filter(owes).cloned().collect();
    let open: Vec<Serves> = all.iter().filter(is_open).cloned().collect();
    match (owed.is_empty(), open.is_empty()) {
        (false, _) => owed,
        (true, false) => open,
        (true, true) => level_criteria(&desk.view.record),
    }
}

fn serves_ui(ui: &mut Ui, state: &mut State, desk: &Desk) {
    let chosen = serves(state, desk);
    label(ui, "Levels for");
    let all = asking_for_levels_of(&desk.view.record);
    #[expect(clippy::cast_precision_loss, reason = "a handful of criteria")]
    let count = all.len().max(1) as f32;
    let width = (ui.available_width() - (count - 1.0) * theme::GAP) / count;
    ui.horizontal(|ui| {
        for one in &all {
            let title = desk.title_of(&one.hold_point);
            ui.push_id((one.hold_point.as_str(), one.criterion.as_str()), |ui| {
                let on = chosen.contains(one);
                if buttons::choice_ui(ui, on, title, vec2(width.max(theme::TOUCH), theme::TOUCH + 4.0)) {
                    let mut next = chosen.clone();
                    next.retain(|other| other != one);
                    if !on {
                        next.push(one.clone());
                    }
                    state.drafts.levels.serve(&desk.plot, next);
                }
            });
        }
    });
}

/// The book as it would be begun; or what is still to come.
fn begun(state: &State, desk: &Desk) -> Result<LevelBookBegun, String> {
    let book = LevelBookName::new(name(state, desk).trim())
        .map_err(|fault| sentence(&format!("the name {fault}")))?;
    let instrument = instrument(state, desk).ok_or("Register the instrument that reads first.")?;
    let benchmark = benchmark(state, desk).ok_or("Register a bench mark first.")?;
    let method = method(state, desk);
    let target_um = if method == BookMethod::Receiver {
        let level = Length::parse_m(target(state, desk).trim());
        Some(level.map_err(|fault| sentence(&format!("the level of the receiver {fault}")))?.um())
    } else {
        None
    };
    Ok(LevelBookBegun {
        book,
        method,
        benchmark,
        instrument,
        serves: serves(state, desk),
        target_um,
        allowable: None,
    })
}
