//! The day of the pour, for the hour that counts: each load against its mix as it arrives with the running total, air
//! and wind with what to do, cubes, start and finish.
//!
//! Left what is in hand: one form and what is booked, right the keypad, so that one thumb does it all. In portrait the
//! keypad lies below. Every figure that is typed is kept on disk at once: a battery may be changed in the middle.
//!
//! - [`form`]: the forms, their fields, what they would record · [`fill`]: the form painted, the keypad
//! - [`booked`]: loads, air and wind, cubes as they stand
//!
//! Verdicts come from `inspection`; nothing is reckoned here.

mod booked;
mod fill;
mod form;
#[cfg(test)]
mod tests;

use egui::{Frame, Margin, Panel, RichText, ScrollArea, Ui, vec2};
use gaugerod_core::ids::PlotId;
use gaugerod_core::inspection::pour::{PourDay, pour_day};

use self::form::Form;
use super::desk::{self, Desk};
use crate::action::Action;
use crate::state::{Screen, State};
use crate::theme;
use crate::widgets::{self, keypad};

/// Height of everything that is tapped here: a gloved thumb, in a hurry.
pub const TAP: f32 = 64.0;

/// What is being done.
struct Work<'a> {
    desk: &'a Desk,
    day: &'a PourDay,
    form: Form,
}

/// The pour of a plot.
pub fn pour_day_ui(ui: &mut Ui, state: &mut State, plot: &PlotId) {
    let Some(desk) = Desk::of(state, plot) else {
        return desk::waiting_ui(ui, plot);
    };
    let Some(day) = pour_day(&desk.view.record) else {
        ui.heading(format!("Nothing is poured on plot {plot} by its floor design and plan of work."));
        return;
    };
    let form = Form::chosen(state, plot, &day);
    let work = Work { desk: &desk, day: &day, form };
    let size = ui.available_size();
    let side = |panel: Panel| panel.resizable(false).show_separator_line(false);
    let may_type = work.desk.can_record() && form.is_typed(&day);
    if !may_type {
        return sheet_ui(ui, state, &work);
    }
    if size.x < size.y {
        let below = Frame::new().inner_margin(Margin { top: 10, ..Margin::ZERO });
        let height = keypad::LEAST_HEIGHT + 5.0 * (TAP - theme::TOUCH) + 12.0;
        side(Panel::bottom("pour keys")).exact_size(height).frame(below).show(ui, |ui| {
            fill::keys_ui(ui, state, &work);
        });
    } else {
        let beside = Frame::new().inner_margin(Margin { left: 12, ..Margin::ZERO });
        let width = (size.x * 0.36).clamp(320.0, 400.0);
        side(Panel::right("pour keys")).exact_size(width).frame(beside).show(ui, |ui| {
            fill::keys_ui(ui, state, &work);
        });
    }
    sheet_ui(ui, state, &work);
}

fn sheet_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    total_ui(ui, work.day);
    let forms = Form::of(work.day);
    let width = (ui.available_width() - theme::GAP * 4.0) / 5.0;
    ui.horizontal(|ui| {
        for form in forms {
            if widgets::choice_ui(ui, form == work.form, form.word(), vec2(width, TAP)) && form != work.form {
                Form::choose(state, &work.desk.plot, form);
            }
        }
    });
    theme::scroll(ScrollArea::vertical().id_salt("pour sheet").auto_shrink([false, false])).show(ui, |ui| {
        ui.set_width(ui.available_width() - 4.0);
        fill::form_ui(ui, state, work);
        booked::booked_ui(ui, work);
        ui.add_space(theme::GAP);
        let id = &work.day.tickets.0;
        if widgets::buttons::sized_button_ui(
            ui,
            widgets::Weight::Plain,
            "Photos, questions, offer: to the hold point",
            vec2(ui.available_width(), TAP),
        )
        .clicked()
        {
            state.ask(Action::Go(Screen::HoldPoint(work.desk.plot.clone(), id.clone())));
        }
    });
}

/// What is in, of what is needed, in figures that are read from two steps away.
fn total_ui(ui: &mut Ui, day: &PourDay) {
    let of =
        day.needed.as_ref().map_or_else(String::new, |needed| format!(" of {}", needed.order.to_m3_text()));
    let loads = match day.loads.len() {
        1 => "1 load".to_owned(),
        many => format!("{many} loads"),
    };
    ui.horizontal_wrapped(|ui| {
        let total = format!("{}{of} m³", day.total.to_m3_text());
        ui.label(RichText::new(total).font(theme::strong(theme::ENTRY)));
        let mut words = vec![loads];
        if let Some(needed) = &day.needed {
            let from = if needed.is_forecast { "forecast" } else { "drawn" };
            words.push(format!(
                "topping takes {:.2} m³ ({from}), ordered with waste",
                needed.volume.to_m3_f64()
            ));
        }
        let time = |at: &Option<(gaugerod_core::ids::EntryId, String)>, word: &str| {
            at.as_ref().map(|(_, at)| format!("{word} {at}"))
        };
        words.extend(time(&day.started, "started"));
        words.extend(time(&day.finished, "finished"));
        ui.label(RichText::new(words.join(" · ")).font(theme::font(theme::BODY)));
    });
}
