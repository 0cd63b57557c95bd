//! Delivery notes and concrete tickets: what is booked, and the form for the next one.

use egui::{Label, RichText, Ui, vec2};
use gaugerod_core::entry::TicketBooked;
use gaugerod_core::inspection::Act;
use gaugerod_core::inspection::judge::CriterionStanding;
use gaugerod_core::plan_of_work::Feed;
use gaugerod_core::quantity::Length;

use super::{Work, delivery, layers, onward_ui};
use crate::action::Action;
use crate::screens::desk::May;
use crate::screens::{asking, pour_day};
use crate::state::{Screen, State};
use crate::theme;
use crate::widgets::{self, Weight};

/// Whether notes, tickets or other papers are booked under a feed.
pub(super) const fn are_booked_for(feed: Feed) -> bool {
    matches!(
        feed,
        Feed::Deliveries
            | Feed::DoubledBeamTickets
            | Feed::PourTickets
            | Feed::PourConditions
            | Feed::CubesTaken
            | Feed::CubeResults
            | Feed::OverlayLabels
            | Feed::HeatingTests
    )
}

/// Notes or tickets of a criterion, and the form for another.
pub(super) fn papers_ui(
    ui: &mut Ui,
    state: &mut State,
    work: &Work<'_>,
    criterion: &CriterionStanding,
    feed: Feed,
) {
    for paper in &criterion.papers {
        ui.push_id(paper.entry.to_hex(), |ui| {
            ui.label(RichText::new(&paper.title).font(theme::strong(theme::VALUE)));
            for line in &paper.lines {
                ui.add(Label::new(line).wrap());
            }
            let noted = format!("{}, {}", work.desk.name_of(paper.noted.author), paper.noted.time.minute());
            ui.label(RichText::new(noted).font(theme::font(theme::LABEL)).color(theme::sheet(ui).soft));
        });
    }
    if !work.desk.can_record() {
        return;
    }
    match feed {
        Feed::Deliveries => delivery::note_ui(ui, state, work, criterion),
        Feed::OverlayLabels => layers::label_ui(ui, state, work, criterion),
        Feed::HeatingTests => layers::test_ui(ui, state, work, criterion),
        Feed::PourTickets | Feed::PourConditions | Feed::CubesTaken | Feed::CubeResults => {
            let size = vec2(ui.available_width(), pour_day::TAP);
            let button = widgets::buttons::sized_button_ui(ui, Weight::Primary, "To the pour", size);
            if button.clicked() {
                state.ask(Action::Go(Screen::PourDay(work.desk.plot.clone())));
            }
        }
        _ => ticket_ui(ui, state, work, criterion),
    }
    if criterion.owed.is_empty() {
        onward_ui(ui, state, work);
    }
}

pub(super) fn draft(work: &Work<'_>, what: &str) -> String {
    format!("paper/{}/{}/{what}", work.desk.plot, work.id)
}

pub(super) fn field(ui: &mut Ui, state: &mut State, work: &Work<'_>, what: &str, hint: &str) -> String {
    let name = draft(work, what);
    asking::field_ui(ui, state, &name, hint);
    state.drafts.text(&name).trim().to_owned()
}

/// The form of a concrete ticket.
fn ticket_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, criterion: &CriterionStanding) {
    ui.label(RichText::new("Another ticket").font(theme::strong(theme::HEADING)));
    let ticket = field(ui, state, work, "ticket", "number of the ticket");
    let strength_class = field(ui, state, work, "strength", "strength class, such as C25/30");
    let consistence = field(ui, state, work, "consistence", "consistence class, such as S3");
    let slump = field(ui, state, work, "slump", "measured slump, mm");
    let aggregate = field(ui, state, work, "aggregate", "largest aggregate, mm");
    let water = field(ui, state, work, "water", "water added on site, litres");
    let batched_at = field(ui, state, work, "batched", "batched at, such as 08:10");
    let discharged_at = field(ui, state, work, "discharged", "discharged at, such as 09:25");
    let air_c = field(ui, state, work, "air", "air, °C");
    let concrete_c = field(ui, state, work, "concrete", "concrete, °C");
    let some = |text: String| (!text.is_empty()).then_some(text);
    let mm = |text: String| Length::parse_mm(&text).ok().map(Length::um);
    let act = Act::BookTicket(Box::new(TicketBooked {
        hold_point: work.id.clone(),
        criterion: criterion.id.clone(),
        ticket,
        batch: None,
        strength_class,
        consistence_class: some(consistence),
        measured_slump_um: mm(slump),
        largest_aggregate_um: mm(aggregate),
        fibre_kg_per_m3: None,
        fibre_type: None,
        water_added_l: some(water),
        load_m3: None,
        batched_at,
        began_at: None,
        discharged_at,
        air_c,
        concrete_c,
    }));
    book_ui(ui, state, work, act, "Book the ticket");
}

/// The button, or why it cannot be booked yet.
pub(super) fn book_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, act: Act, words: &str) {
    match work.desk.may(&act) {
        May::Yes => {
            if widgets::buttons::wide_button_ui(ui, Weight::Primary, words) {
                let prefix = draft(work, "");
                let names: Vec<String> =
                    state.drafts.text.keys().filter(|name| name.starts_with(&prefix)).cloned().collect();
                for name in names {
                    state.drafts.text.remove(&name);
                    state.ask(Action::KeepDraft { name, text: String::new() });
                }
                state.ask(Action::Do { plot: work.desk.plot.clone(), act });
            }
        }
        May::NotThisPerson(why) | May::NotNow(why) => {
            ui.add(Label::new(RichText::new(why).color(theme::sheet(ui).soft)).wrap());
        }
    }
}
