//! The form in hand: its fields as large boxes, what they would mean, the button that records; and the keypad that
//! writes into the chosen one.

use egui::{Label, RichText, TextEdit, Ui, vec2};
use gaugerod_core::conformity::Verdict;
use gaugerod_core::entry::{PourFact, TicketBooked};
use gaugerod_core::inspection::Act;
use gaugerod_core::inspection::pour::{evaporation_trial, out_by, ticket_trial};

use super::form::{Field, Form, Kind, keep, time};
use super::{TAP, Work};
use crate::action::Action;
use crate::screens::desk::May;
use crate::state::State;
use crate::theme;
use crate::widgets::{self, KeypadEvent, KeypadView, Live, Mark, Weight, buttons, keypad_ui};

fn typed<'s>(state: &'s State, work: &Work<'_>, field: &Field) -> &'s str {
    state.drafts.text(&work.form.draft(&work.desk.plot, field.name))
}

/// The field that the keypad writes into: the chosen one, or the first that is needed and empty.
fn current(state: &State, work: &Work<'_>, fields: &[Field]) -> Option<Field> {
    let chosen = state.drafts.text(&format!("pour/{}/field", work.desk.plot));
    let own = fields.iter().find(|one| one.name == chosen);
    let empty = || fields.iter().find(|one| one.is_needed && typed(state, work, one).is_empty());
    own.or_else(empty).or(fields.last()).cloned()
}

/// The fields, what they would mean, and the button.
pub(super) fn form_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    if !work.desk.can_record() {
        ui.label("Take the tablet over with your name to book anything here.");
        return;
    }
    if !work.form.is_typed(work.day) {
        ui.label(RichText::new("Started and finished.").font(theme::strong(theme::VALUE)));
        return;
    }
    let fields = work.form.fields(work);
    let now = current(state, work, &fields);
    let columns = if ui.available_width() >= 560.0 { 3 } else { 2 };
    let count = f32::from(u8::try_from(columns).unwrap_or(2));
    let width = (ui.available_width() - (count - 1.0) * theme::GAP) / count;
    for row in fields.chunks(columns) {
        ui.horizontal(|ui| {
            for field in row {
                ui.push_id(field.name, |ui| {
                    let chosen = now.as_ref().is_some_and(|now| now.name == field.name);
                    if widgets::choice_ui(ui, chosen, &said(state, work, field), vec2(width, TAP)) {
                        keep(state, format!("pour/{}/field", work.desk.plot), field.name.to_owned());
                    }
                });
            }
        });
    }
    if let Some(now) = &now {
        picks_ui(ui, state, work, now);
    }
    meaning_ui(ui, state, work, &fields);
    book_ui(ui, state, work, &fields);
}

fn said(state: &State, work: &Work<'_>, field: &Field) -> String {
    let text = typed(state, work, field);
    match (text, field.is_needed) {
        ("", true) => format!("{}: –", field.label),
        ("", false) => format!("{}: not said", field.label),
        (text, _) if field.unit.is_empty() => format!("{}: {text}", field.label),
        (text, _) => format!("{}: {text} {}", field.label, field.unit),
    }
}

/// What can be picked for the field in hand, the clock, and a field for a keyboard.
fn picks_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, field: &Field) {
    let name = work.form.draft(&work.desk.plot, field.name);
    ui.horizontal_wrapped(|ui| {
        for pick in &field.picks {
            ui.push_id(pick, |ui| {
                let is_it = state.drafts.text(&name) == pick;
                if widgets::choice_ui(ui, is_it, pick, vec2(150.0, TAP)) {
                    keep(state, name.clone(), pick.clone());
                    next(state, work, field);
                }
            });
        }
        if field.kind == Kind::Time
            && buttons::sized_button_ui(ui, Weight::Plain, "Now", vec2(150.0, TAP)).clicked()
        {
            state.ask(Action::TimeNow { draft: name.clone() });
            next(state, work, field);
        }
        if field.kind == Kind::Text {
            let before = state.drafts.text(&name).to_owned();
            let edit = TextEdit::singleline(state.drafts.text_mut(&name))
                .char_limit(60)
                .hint_text("by keyboard")
                .margin(vec2(10.0, 20.0))
                .font(theme::font(theme::VALUE))
                .desired_width(220.0)
                .min_size(vec2(0.0, TAP));
            let response = ui.add(edit);
            ui.ctx().accesskit_node_builder(response.id, |node| node.set_label(field.label));
            let after = state.drafts.text(&name).to_owned();
            if after != before {
                state.ask(Action::KeepDraft { name: name.clone(), text: after });
            }
        }
    });
}

/// On to the next field that is empty.
fn next(state: &mut State, work: &Work<'_>, after: &Field) {
    let fields = work.form.fields(work);
    let from = fields.iter().position(|one| one.name == after.name).map_or(0, |index| index + 1);
    let onward = fields[from..].iter().find(|one| typed(state, work, one).is_empty());
    let onward = onward.or_else(|| {
        fields
            .iter()
            .find(|one| one.is_needed && one.name != after.name && typed(state, work, one).is_empty())
    });
    let name = onward.map_or("", |one| one.name).to_owned();
    keep(state, format!("pour/{}/field", work.desk.plot), name);
}

/// What the figures so far would mean: item by item of the ticket, or how fast the surface dries.
fn meaning_ui(ui: &mut Ui, state: &State, work: &Work<'_>, fields: &[Field]) {
    match work.form.act(state, work) {
        Some(Act::BookTicket(ticket)) => {
            let hours = work.desk.view.record.design().topping.as_ref();
            if let Some(by) =
                hours.and_then(|topping| out_by(&ticket.batched_at, topping.concrete.hours_to_discharge))
            {
                ui.label(
                    RichText::new(format!("Out of the truck by {by}")).font(theme::strong(theme::HEADING)),
                );
            }
            for (mark, words) in items(state, work, fields, &ticket) {
                widgets::notice_ui(ui, mark, &words);
            }
        }
        Some(Act::BookPour(PourFact::Conditions(fact))) => {
            let Ok(output) = evaporation_trial(&work.desk.view.record, &fact) else { return };
            let words = format!("The surface loses {:.2} kg/m²h", output.rate_kg_per_m2_h);
            widgets::notice_ui(ui, Mark::from(output.verdict), &words);
            for one in &output.advice {
                ui.add(Label::new(RichText::new(format!("• {one}")).font(theme::strong(theme::BODY))).wrap());
            }
        }
        _ => {}
    }
}

/// The items of a ticket that something is typed for, those that are wrong first.
fn items(state: &State, work: &Work<'_>, fields: &[Field], ticket: &TicketBooked) -> Vec<(Mark, String)> {
    let Some(topping) = &work.desk.view.record.design().topping else { return Vec::new() };
    let mix = &topping.concrete;
    // What is not typed yet is taken as asked for, so that the rest can be judged; its own item is left out below.
    let or = |text: &str, other: String| if text.is_empty() { other } else { text.to_owned() };
    let batched = or(&ticket.batched_at, "00:00".to_owned());
    let whole = TicketBooked {
        ticket: or(&ticket.ticket, "–".to_owned()),
        strength_class: or(&ticket.strength_class, mix.strength_class.clone()),
        discharged_at: or(&ticket.discharged_at, batched.clone()),
        air_c: or(&ticket.air_c, mix.least_air_c.0.to_text()),
        concrete_c: or(&ticket.concrete_c, mix.least_concrete_c.0.to_text()),
        batched_at: batched,
        began_at: None,
        ..ticket.clone()
    };
    let is_typed = |item: &str| {
        fields.iter().any(|field| field.item == Some(item) && !typed(state, work, field).is_empty())
    };
    match ticket_trial(&work.desk.view.record, &whole) {
        Ok(output) => {
            let mut said: Vec<_> = output
                .findings
                .iter()
                .filter(|one| is_typed(&one.item))
                .map(|one| (one.verdict, format!("{}: {}, asked {}", one.item, one.found, one.required)))
                .collect();
            said.sort_by_key(|(verdict, _)| *verdict == Verdict::Conforming);
            said.into_iter().map(|(verdict, words)| (Mark::from(verdict), words)).collect()
        }
        Err(what) => vec![(Mark::Owed, what)],
    }
}

/// The button, or why it cannot be booked yet.
fn book_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, fields: &[Field]) {
    let missing: Vec<&str> = fields
        .iter()
        .filter(|one| one.is_needed && typed(state, work, one).is_empty())
        .map(|one| one.label)
        .collect();
    if !missing.is_empty() {
        let words = format!("Still to fill in: {}", missing.join(", "));
        ui.add(Label::new(RichText::new(words).color(theme::sheet(ui).soft)).wrap());
        return;
    }
    let Some(act) = work.form.act(state, work) else { return };
    match work.desk.may(&act) {
        May::Yes => {
            let size = vec2(ui.available_width(), TAP + 8.0);
            if buttons::sized_button_ui(ui, Weight::Primary, words(work), size).clicked() {
                work.form.clear(state, work);
                state.ask(Action::Do { plot: work.desk.plot.clone(), act });
            }
        }
        May::NotThisPerson(why) | May::NotNow(why) => widgets::notice_ui(ui, Mark::Owed, &why),
    }
}

fn words(work: &Work<'_>) -> &'static str {
    match work.form {
        Form::Times if work.day.started.is_none() => "Book the start",
        Form::Times => "Book the finish",
        Form::Load => "Book the load",
        Form::Air => "Book air and wind",
        Form::Cubes => "Book the cubes",
        Form::Results => "Book the result",
    }
}

/// The keypad for the field in hand.
pub(super) fn keys_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let fields = work.form.fields(work);
    let Some(field) = current(state, work, &fields) else { return };
    let name = work.form.draft(&work.desk.plot, field.name);
    let live = live(state, work, &fields, &field);
    let mut draft = state.drafts.text(&name).to_owned();
    let view = KeypadView {
        subject: field.label,
        unit: field.unit,
        live: live.as_ref(),
        refusal: None,
        book: "Next",
        can_skip: true,
        again: field.picks.first().map(String::as_str),
    };
    let event = keypad_ui(ui, &view, &mut draft);
    match event {
        Some(KeypadEvent::Typed) => keep(state, name, draft),
        Some(KeypadEvent::Book) => {
            let draft = if field.kind == Kind::Time { time(&draft) } else { draft };
            keep(state, name, draft);
            next(state, work, &field);
        }
        Some(KeypadEvent::Skip) => next(state, work, &field),
        None => {}
    }
}

/// How the figure being typed would stand.
fn live(state: &State, work: &Work<'_>, fields: &[Field], field: &Field) -> Option<Live> {
    let item = field.item?;
    let Act::BookTicket(ticket) = work.form.act(state, work)? else { return None };
    let found = items(state, work, fields, &ticket);
    let (mark, words) = found.into_iter().find(|(_, words)| words.starts_with(item))?;
    let asked = words.rsplit_once("asked ").map_or(words.clone(), |(_, asked)| format!("asked {asked}"));
    Some(Live { meaning: asked, deviation: String::new(), mark })
}
