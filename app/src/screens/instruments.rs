//! Instruments and bench marks of the site: what is registered, when the next check is due, registering one, and
//! registering it anew after a check.
//!
//! - [`forms`]: the two forms · [`fields`]: their figures and days, typed with the keypad
//!
//! What may be registered is asked of the rules when it is asked for; the two-peg test is reckoned by the core.

mod fields;
mod forms;
#[cfg(test)]
mod tests;

use egui::{Frame, Margin, Panel, RichText, ScrollArea, Ui};
use gaugerod_core::entry::{BenchmarkRegistered, InstrumentRegistered};
use gaugerod_core::inspection::level_book::instrument_doubt;
use gaugerod_core::quantity::Length;
use gaugerod_core::time::Date;

use super::desk::sentence;
use super::section::matter_ui;
use crate::state::State;
use crate::theme;
use crate::widgets::{Mark, Weight, button_ui, keypad};

/// What the names of the drafts of both forms begin with.
pub const REGISTER_DRAFTS: &str = "register-form/";
/// The draft that holds which form is open.
const FORM: &str = "register-form/form";

/// The screen.
pub fn instruments_ui(ui: &mut Ui, state: &mut State) {
    let Some(today) = state.register.as_ref().map(|register| register.today) else { return };
    let form = forms::Form::named(state.drafts.text(FORM));
    let Some(form) = form.filter(|_| can_record(state)) else {
        theme::scroll(ScrollArea::vertical().id_salt("registered").auto_shrink([false, false])).show(
            ui,
            |ui| {
                ui.set_width(ui.available_width().min(900.0));
                list_ui(ui, state, today);
            },
        );
        return;
    };
    let size = ui.available_size();
    let (panel, margin) = if size.x < size.y {
        let height = keypad::LEAST_HEIGHT + 12.0;
        (Panel::bottom("register keys").exact_size(height), Margin { top: 10, ..Margin::ZERO })
    } else {
        (
            Panel::right("register keys").exact_size((size.x * 0.3).clamp(290.0, 384.0)),
            Margin { left: 12, ..Margin::ZERO },
        )
    };
    let frame = Frame::new().inner_margin(margin);
    panel
        .resizable(false)
        .show_separator_line(false)
        .frame(frame)
        .show(ui, |ui| fields::keypad_ui(ui, state, form));
    theme::scroll(ScrollArea::vertical().id_salt("register form").auto_shrink([false, false])).show(
        ui,
        |ui| {
            ui.set_width(ui.available_width() - 6.0);
            forms::form_ui(ui, state, form, today);
        },
    );
}

fn can_record(state: &State) -> bool {
    state.at_tablet.is_some() && state.register.as_ref().is_some_and(|register| !register.read_only)
}

/// What is registered, and the ways to register more. The site file shows it too.
pub fn list_ui(ui: &mut Ui, state: &mut State, today: Date) {
    let Some(register) = &state.register else { return };
    let site = std::sync::Arc::clone(&register.site);
    let can_record = can_record(state);
    heading(ui, "Instruments");
    if site.instruments.is_empty() {
        ui.add(egui::Label::new("None is registered yet. A level counts only with the uncertainty and the check of its instrument.").wrap());
    }
    for (noted, own) in site.instruments.values() {
        ui.push_id(("instrument", own.instrument.as_str()), |ui| {
            let (mark, words) = of_instrument(own, today);
            let small = format!("{}, {}", site.name_of(noted.author), noted.time.minute());
            if matter_ui(ui, mark, &words, &small) && can_record {
                forms::take_instrument(state, own);
            }
        });
    }
    if can_record && button_ui(ui, Weight::Plain, "Register an instrument") {
        forms::open(state, forms::Form::Instrument);
    }
    heading(ui, "Bench marks");
    if site.benchmarks.is_empty() {
        ui.add(egui::Label::new("None is registered yet. The datum of a floor design can be levelled from as it stands there.").wrap());
    }
    for (noted, own) in site.benchmarks.values() {
        ui.push_id(("bench mark", own.benchmark.as_str()), |ui| {
            let words = of_benchmark(own);
            let small = format!("{}, {}", site.name_of(noted.author), noted.time.minute());
            if matter_ui(ui, Mark::Ready, &words, &small) && can_record {
                forms::take_benchmark(state, own);
            }
        });
    }
    if can_record && button_ui(ui, Weight::Plain, "Register a bench mark") {
        forms::open(state, forms::Form::Benchmark);
    }
    if !can_record {
        ui.label("Take the tablet with your name to register one.");
    }
}

fn heading(ui: &mut Ui, words: &str) {
    ui.add_space(4.0);
    ui.label(RichText::new(words).font(theme::strong(theme::HEADING)));
}

/// An instrument in words, with whether it counts.
fn of_instrument(own: &InstrumentRegistered, today: Date) -> (Mark, String) {
    let sure = Length::from_um(own.expanded_uncertainty_um).to_mm_text();
    let words = format!("{}, {}: ±{sure} mm, checked {}", own.instrument, own.kind.word(), own.checked);
    match instrument_doubt(own, today) {
        None => (Mark::Conforming, format!("{words}, due {}", own.due)),
        Some(doubt) => {
            (Mark::InQuestion, format!("{words}. {} Nothing is decided from it.", sentence(&doubt)))
        }
    }
}

fn of_benchmark(own: &BenchmarkRegistered) -> String {
    let level = Length::from_um(own.level_um).m_text(3);
    format!("{}: {level} m, checked {} ({})", own.benchmark, own.checked, own.source)
}
