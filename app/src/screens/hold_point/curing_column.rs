//! What to do while a topping cures: the hour of placing, temperatures one by one or from a logger's file, and what
//! is booked.

use egui::{Label, RichText, ScrollArea, Ui, vec2};
use gaugerod_core::entry::{Because, PlacingNoted, Temperature, TemperaturesBooked};
use gaugerod_core::inspection::judge::CriterionStanding;
use gaugerod_core::inspection::{Act, curing};
use gaugerod_core::temperature_csv::check_celsius;
use gaugerod_core::time::LocalTime;

use super::{Work, onward_ui};
use crate::action::Action;
use crate::screens::asking;
use crate::screens::desk::May;
use crate::state::State;
use crate::theme;
use crate::widgets::{self, Mark, Weight, buttons, field_ui};

/// The most faults of a file that are listed.
const MOST_FAULTS: usize = 40;

/// A logger's file that was read, before anything of it is booked.
#[derive(Debug, Clone)]
pub struct ReadTemperatures {
    /// The plot.
    pub plot: gaugerod_core::ids::PlotId,
    /// The file.
    pub path: std::path::PathBuf,
    /// What would be booked and the columns that were left out; or every fault.
    pub result: Result<(TemperaturesBooked, Vec<String>), Vec<String>>,
}

/// The column on the right.
pub(super) fn column_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, criterion: &CriterionStanding) {
    theme::scroll(ScrollArea::vertical().id_salt("curing").auto_shrink([false, false])).show(ui, |ui| {
        ui.set_width(ui.available_width());
        if let Some(read) = state.drafts.temperatures.clone().filter(|read| read.plot == work.desk.plot) {
            return preview_ui(ui, state, work, &read);
        }
        if work.desk.can_record() {
            placing_ui(ui, state, work);
            temperature_ui(ui, state, work);
            file_ui(ui, state, work);
        }
        booked_ui(ui, work, criterion);
        if criterion.owed.is_empty() {
            onward_ui(ui, state, work);
        }
    });
}

fn draft(work: &Work<'_>, what: &str) -> String {
    format!("curing/{}/{}/{what}", work.desk.plot, work.id)
}

fn heading_ui(ui: &mut Ui, text: &str) {
    ui.label(RichText::new(text).font(theme::strong(theme::HEADING)));
}

fn field(ui: &mut Ui, state: &mut State, work: &Work<'_>, what: &str, hint: &str) -> String {
    let name = draft(work, what);
    asking::field_ui(ui, state, &name, hint);
    state.drafts.text(&name).trim().to_owned()
}

fn set(state: &mut State, name: String, text: String) {
    *state.drafts.text_mut(&name) = text.clone();
    state.ask(Action::KeepDraft { name, text });
}

/// The hour of placing: asked for first, put right later.
fn placing_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let record = &work.desk.view.record;
    let noted = curing::placing(record, work.id).map(|one| (one.noted.id, one.fact.at));
    let again = draft(work, "placed again");
    if let Some((_, at)) = noted {
        ui.label(RichText::new(format!("Placed {}", at.minute())).font(theme::strong(theme::VALUE)));
        if !state.drafts.on.get(&again).copied().unwrap_or(false) {
            if widgets::button_ui(ui, Weight::Plain, "Put the hour right") {
                state.drafts.on.insert(again, true);
            }
            return;
        }
    } else {
        heading_ui(ui, "When was the last concrete placed?");
        if field_text(state, work, "placed").is_empty()
            && let Some(today) = state.register.as_ref().map(|register| register.today)
        {
            *state.drafts.text_mut(&draft(work, "placed")) = format!("{today} ");
        }
    }
    let text = field(ui, state, work, "placed", "such as 2026-11-26 12:30");
    let Some(at) = LocalTime::parse_typed(&text) else {
        ui.label("Day and hour by the site's clock, such as 2026-11-26 12:30.");
        return;
    };
    let note = Act::NotePlacing(PlacingNoted { hold_point: work.id.clone(), at });
    let act = match noted {
        None => note,
        Some((id, _)) => Act::Supersede { id, because: Because::Mistake, remark: None, with: Box::new(note) },
    };
    book_ui(ui, state, work, act, "Note the hour of placing", &["placed"]);
}

fn field_text(state: &State, work: &Work<'_>, what: &str) -> String {
    state.drafts.text(&draft(work, what)).trim().to_owned()
}

/// One temperature: when and how warm.
fn temperature_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    heading_ui(ui, "Another temperature");
    let record = &work.desk.view.record;
    let last = curing::temperatures(record, work.id).last().map(|one| one.at);
    let from = last.or_else(|| curing::placing(record, work.id).map(|one| one.fact.at));
    let text = field(ui, state, work, "at", "time, such as 2026-11-26 14:00");
    if let Some(from) = from {
        ui.horizontal_wrapped(|ui| {
            ui.label("After the last:");
            for (hours, word) in [(1.0, "+1 h"), (4.0, "+4 h"), (12.0, "+12 h"), (24.0, "+24 h")] {
                let at = from.plus_hours(hours).minute();
                if buttons::choice_ui(ui, text == at, word, vec2(62.0, theme::TOUCH)) {
                    set(state, draft(work, "at"), at);
                }
            }
        });
    }
    let celsius = field(ui, state, work, "celsius", "concrete, °C, such as 14.5");
    let at = LocalTime::parse_typed(&text);
    let celsius = check_celsius(&celsius.replace(',', "."));
    let (Some(at), Ok(concrete_c)) = (at, celsius) else { return };
    let act = Act::BookTemperatures(TemperaturesBooked {
        hold_point: work.id.clone(),
        readings: vec![Temperature { at, concrete_c }],
        file: None,
    });
    book_ui(ui, state, work, act, "Book this temperature", &["at", "celsius"]);
}

/// The button, or why it cannot be booked; what was typed is forgotten with it.
fn book_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, act: Act, words: &str, drafts: &[&str]) {
    match work.desk.may(&act) {
        May::Yes => {
            if buttons::wide_button_ui(ui, Weight::Primary, words) {
                for what in drafts {
                    state.drafts.text.remove(&draft(work, what));
                    state.ask(Action::KeepDraft { name: draft(work, what), text: String::new() });
                }
                state.drafts.on.remove(&draft(work, "placed again"));
                state.ask(Action::Do { plot: work.desk.plot.clone(), act });
            }
        }
        May::NotThisPerson(why) | May::NotNow(why) => {
            ui.add(Label::new(RichText::new(why).color(theme::sheet(ui).soft)).wrap());
        }
    }
}

/// A logger's file.
fn file_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    heading_ui(ui, "From a logger");
    let name = draft(work, "file");
    let mut path = state.drafts.text(&name).to_owned();
    if field_ui(ui, "CSV file", "its path", &mut path).changed() {
        set(state, name, path.clone());
    }
    ui.add(
        Label::new(
            RichText::new("A column for the time, one for the temperature in °C.")
                .color(theme::sheet(ui).soft),
        )
        .wrap(),
    );
    let (plot, hold_point) = (work.desk.plot.clone(), work.id.clone());
    ui.horizontal_wrapped(|ui| {
        ui.add_enabled_ui(!path.trim().is_empty(), |ui| {
            if widgets::button_ui(ui, Weight::Plain, "Read this file") {
                let (plot, hold_point) = (plot.clone(), hold_point.clone());
                state.ask(Action::ReadTemperatures { plot, hold_point, path: path.trim().into() });
            }
        });
        if widgets::button_ui(ui, Weight::Plain, "Choose a CSV file") {
            state.ask(Action::PickTemperatures { plot, hold_point });
        }
    });
}

/// What would be booked from the file, or its faults.
fn preview_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, read: &ReadTemperatures) {
    let file = crate::messages::name(&read.path);
    let (booked, left_out) = match &read.result {
        Ok(sound) => sound,
        Err(faults) => {
            let count =
                if faults.len() == 1 { "1 fault".to_owned() } else { format!("{} faults", faults.len()) };
            let words = format!("{file}: {count}. Nothing was booked; correct the file and read it again.");
            widgets::notice_ui(ui, Mark::Nonconforming, &words);
            back_ui(ui, state);
            for fault in faults.iter().take(MOST_FAULTS) {
                ui.add(Label::new(fault).wrap());
            }
            if faults.len() > MOST_FAULTS {
                ui.label(format!("and {} more", faults.len() - MOST_FAULTS));
            }
            return;
        }
    };
    heading_ui(ui, &format!("{file}: nothing is booked yet"));
    let readings = &booked.readings;
    if let (Some(first), Some(last)) = (readings.first(), readings.last()) {
        ui.label(format!("{} temperatures", readings.len()));
        ui.label(format!("from {} to {}", first.at.minute(), last.at.minute()));
        let celsius = |one: &Temperature| one.concrete_c.parse::<f64>().unwrap_or_default();
        let least = readings.iter().min_by(|a, b| celsius(a).total_cmp(&celsius(b)));
        let most = readings.iter().max_by(|a, b| celsius(a).total_cmp(&celsius(b)));
        if let (Some(least), Some(most)) = (least, most) {
            ui.label(format!("{} °C to {} °C", least.concrete_c, most.concrete_c));
        }
    }
    if !left_out.is_empty() {
        ui.add(Label::new(format!("Columns left out: {}", left_out.join(", "))).wrap());
    }
    let act = Act::BookTemperatures(booked.clone());
    match work.desk.may(&act) {
        May::Yes => {
            let words = format!("Book all {} temperatures", readings.len());
            if buttons::wide_button_ui(ui, Weight::Primary, &words) {
                state.drafts.temperatures = None;
                state.ask(Action::Do { plot: work.desk.plot.clone(), act });
            }
        }
        May::NotThisPerson(why) | May::NotNow(why) => widgets::notice_ui(ui, Mark::Refused, &why),
    }
    back_ui(ui, state);
    for reading in readings.iter().take(MOST_FAULTS) {
        ui.label(format!("{}   {} °C", reading.at.minute(), reading.concrete_c));
    }
    if readings.len() > MOST_FAULTS {
        ui.label(format!("and {} more", readings.len() - MOST_FAULTS));
    }
}

fn back_ui(ui: &mut Ui, state: &mut State) {
    if widgets::button_ui(ui, Weight::Plain, "Go back") {
        state.drafts.temperatures = None;
    }
}

/// What is booked.
fn booked_ui(ui: &mut Ui, work: &Work<'_>, criterion: &CriterionStanding) {
    if criterion.papers.is_empty() {
        return;
    }
    heading_ui(ui, "Booked");
    for paper in criterion.papers.iter().rev() {
        ui.push_id(paper.entry.to_hex(), |ui| {
            ui.add(Label::new(RichText::new(&paper.title).font(theme::strong(theme::BODY))).wrap());
            for line in &paper.lines {
                ui.add(Label::new(line).wrap());
            }
            let noted = format!("{}, {}", work.desk.name_of(paper.noted.author), paper.noted.time.minute());
            ui.label(RichText::new(noted).font(theme::font(theme::LABEL)).color(theme::sheet(ui).soft));
        });
    }
}
