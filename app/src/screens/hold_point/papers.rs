//! Delivery notes and concrete tickets: what is booked, and the form for the next one.

use std::collections::BTreeMap;

use egui::{Label, RichText, Ui, vec2};
use gaugerod_core::entry::{DeliveryBooked, DeliveryLine, TicketBooked};
use gaugerod_core::inspection::Act;
use gaugerod_core::inspection::judge::CriterionStanding;
use gaugerod_core::plan_of_work::Feed;
use gaugerod_core::quantity::Length;
use gaugerod_core::reckon::delivery;

use super::{Work, layers, onward_ui};
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
    if feed == Feed::Deliveries {
        stages_ui(ui, criterion);
    }
    if !work.desk.can_record() {
        return;
    }
    match feed {
        Feed::Deliveries => note_ui(ui, state, work, criterion),
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

/// What can be started today with what is there.
fn stages_ui(ui: &mut Ui, criterion: &CriterionStanding) {
    let output: Option<delivery::Output> =
        criterion.reckoned.first().and_then(|one| serde_json::from_value(one.output.clone()).ok());
    let Some(output) = output else { return };
    for stage in &output.stages {
        let missing: Vec<String> =
            stage.missing.iter().map(|one| format!("{} × {}", one.quantity, one.item)).collect();
        let (mark, words) = if stage.can_start {
            (widgets::Mark::Conforming, format!("{}: all is there", stage.stage))
        } else {
            (widgets::Mark::Owed, format!("{}: missing {}", stage.stage, missing.join(", ")))
        };
        widgets::notice_ui(ui, mark, &words);
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

/// The form of a delivery note: every item that is ordered, with how many came, are damaged, bear no label.
fn note_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, criterion: &CriterionStanding) {
    ui.label(RichText::new("Another delivery note").font(theme::strong(theme::HEADING)));
    let note = field(ui, state, work, "note", "number of the note");
    let revision = field(ui, state, work, "revision", "drawing revision on the labels");
    let mut ordered: BTreeMap<String, u32> = BTreeMap::new();
    for one in work.desk.view.record.design().order() {
        *ordered.entry(one.item).or_default() += one.quantity;
    }
    let mut lines = Vec::new();
    for (item, quantity) in &ordered {
        ui.push_id(item, |ui| {
            ui.add(Label::new(format!("{item}: {quantity} ordered")).wrap());
            ui.horizontal(|ui| {
                let count = |ui: &mut Ui, state: &mut State, what: &str, whole: Option<u32>| {
                    count_ui(ui, state, &draft(work, &format!("{what}/{item}")), what, whole)
                };
                let delivered = count(ui, state, "came", Some(*quantity));
                let damaged = count(ui, state, "damaged", None);
                let unlabelled = count(ui, state, "no label", None);
                if delivered > 0 || damaged > 0 || unlabelled > 0 {
                    lines.push(DeliveryLine {
                        item: item.clone(),
                        delivered,
                        damaged,
                        unlabelled,
                        batch: None,
                    });
                }
            });
        });
    }
    let act = Act::BookDelivery(DeliveryBooked {
        hold_point: work.id.clone(),
        criterion: criterion.id.clone(),
        note,
        revision: (!revision.is_empty()).then_some(revision),
        lines,
    });
    book_ui(ui, state, work, act, "Book the note");
}

/// One count: a tap adds one, `all` takes what is ordered, `0` takes it back.
fn count_ui(ui: &mut Ui, state: &mut State, name: &str, what: &str, whole: Option<u32>) -> u32 {
    let now: u32 = state.drafts.text(name).parse().unwrap_or(0);
    let set = |state: &mut State, count: u32| {
        let text = if count == 0 { String::new() } else { count.to_string() };
        *state.drafts.text_mut(name) = text.clone();
        state.ask(Action::KeepDraft { name: name.to_owned(), text });
    };
    if widgets::choice_ui(ui, now > 0, &format!("{now} {what}"), vec2(92.0, theme::TOUCH)) {
        set(state, now.saturating_add(1));
    }
    if let Some(whole) = whole.filter(|whole| *whole != now)
        && widgets::choice_ui(ui, false, "all", vec2(theme::TOUCH, theme::TOUCH))
    {
        set(state, whole);
    }
    if now > 0 && widgets::choice_ui(ui, false, "0", vec2(theme::TOUCH, theme::TOUCH)) {
        set(state, 0);
    }
    now
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
