//! The keypad beside the plan: digits in, the verdict while they are typed, Book, and the next point is up.
//!
//! What is typed is kept as a draft under its point's own name until the reading is on disk, so neither a kill nor
//! a refusal loses it. A point that has a reading is read again only with the reason why.

use egui::{RichText, Ui, vec2};
use gaugerod_core::entry::{Because, ReadValue};
use gaugerod_core::ids::{CriterionId, EntryId, HoldPointId, PointName};
use gaugerod_core::inspection::Act;
use gaugerod_core::inspection::judge::{self, CriterionStanding, ReadingStanding, Trial};
use gaugerod_core::inspection::level_trial;
use gaugerod_core::inspection::standing::HoldPointStanding;
use gaugerod_core::plan_of_work::{Feed, ReadingUnit};
use gaugerod_core::quantity::Length;

use super::next_point::next_owed;
use super::{Work, gauge_column, onward_ui};
use crate::action::Action;
use crate::screens::desk::{Desk, May};
use crate::screens::marks;
use crate::state::State;
use crate::theme;
use crate::widgets::{self, KeypadEvent, KeypadView, Live, buttons, keypad};

/// The unit as `ReadValue::parse` names it.
const fn unit_name(unit: ReadingUnit) -> &'static str {
    match unit {
        ReadingUnit::LevelMetres => "m",
        ReadingUnit::Millimetres => "mm",
        ReadingUnit::SquareMillimetres => "mm2",
    }
}

/// The name of a point's draft.
pub(super) fn draft_name(
    desk: &Desk,
    id: &HoldPointId,
    criterion: &CriterionId,
    point: &PointName,
) -> String {
    format!("keypad/{}/{id}/{criterion}/{point}", desk.plot)
}

/// The switch that says that a draft was asked to be booked and is not on disk yet.
pub(super) fn booked(draft: &str) -> String {
    format!("booked/{draft}")
}

/// The name of the draft that holds where a person reads, for criteria whose points the person names.
pub(super) fn place_name(desk: &Desk, id: &HoldPointId, criterion: &CriterionId) -> String {
    format!("place/{}/{id}/{criterion}", desk.plot)
}

/// Forgets drafts whose readings are on disk, and takes those up again that were not booked.
pub(super) fn settle_drafts(state: &mut State, desk: &Desk, standing: &HoldPointStanding) {
    if !state.drafts.on.keys().any(|name| name.starts_with("booked/")) {
        return;
    }
    if state.notice.as_ref().is_some_and(|notice| notice.is_problem) {
        // Something was refused or failed: every draft counts as not booked until its reading shows.
        state.drafts.on.retain(|name, _| !name.starts_with("booked/"));
        return;
    }
    for criterion in &standing.criteria {
        let Some(unit) = criterion.feed().and_then(Feed::unit) else { continue };
        for reading in &criterion.readings {
            let name = draft_name(desk, &standing.id, &criterion.id, &reading.point);
            let text = state.drafts.text(&name);
            // Nothing is typed for a gauge.
            let is_there = if text.is_empty() {
                is_gauge(reading.value)
            } else {
                parse(text, unit).is_ok_and(|value| value == reading.value)
            };
            if is_there && state.drafts.on.remove(&booked(&name)).is_some() {
                state.drafts.text.remove(&name);
                state.drafts.on.remove(&format!("misread/{name}"));
                state.drafts.on.remove(&format!("reworked/{name}"));
                state.ask(Action::KeepDraft { name, text: String::new() });
            }
        }
    }
}

fn parse(text: &str, unit: ReadingUnit) -> Result<ReadValue, String> {
    ReadValue::parse(text.strip_suffix('.').unwrap_or(text), unit_name(unit))
}

/// Whether it is what a gauge said.
pub(super) const fn is_gauge(value: ReadValue) -> bool {
    matches!(value, ReadValue::Go | ReadValue::NoGo)
}

/// The column.
pub(super) fn keypad_column_ui(
    ui: &mut Ui,
    state: &mut State,
    work: &Work<'_>,
    criterion: &CriterionStanding,
    feed: Feed,
) {
    let (Some(unit), true) = (feed.unit(), work.desk.can_record()) else {
        return look_only_ui(ui, work, criterion, feed);
    };
    if gauge_column::is_on(state, work, criterion) {
        return gauge_column::gauge_column_ui(ui, state, work, criterion);
    }
    let Some(point) = work.point.clone() else {
        return all_read_ui(ui, state, work, criterion);
    };
    let name = draft_name(work.desk, work.id, &criterion.id, &point);
    let before = criterion.reading_at(&point);
    if before.is_none() {
        gauge_column::mode_ui(ui, state, work, criterion);
    }
    let because = before.and_then(|before| again_ui(ui, state, work, criterion, feed, before, &name));
    let text = state.drafts.text(&name).to_owned();
    let value = parse(&text, unit);
    let (live, refusal) = said(work, criterion, feed, &point, &text, &value, before.zip(because));
    let refusal = refusal.or_else(|| match (before, because) {
        (Some(_), None) if !text.is_empty() => {
            Some("Say first whether it was misread or reworked.".to_owned())
        }
        _ => None,
    });
    if let (Feed::BearingLevels, Ok(ReadValue::Um(um)), None) = (feed, &value, &refusal) {
        slips_ui(ui, state, work, criterion, &point, &name, Length::from_um(*um));
    }
    let next = if criterion.points.is_empty() {
        None
    } else {
        super::beams::other_of_bay(state, criterion, &point)
            .or_else(|| next_owed(state, work.desk, work.id, criterion, &work.drawing, Some(&point)))
    };
    let book = next.as_ref().map_or_else(|| "Book".to_owned(), |next| format!("Book, next {next}"));
    let subject = format!("{point}: {}", feed.quantity());
    let again = booked_last(criterion, unit);
    let view = KeypadView {
        subject: &subject,
        unit: unit.symbol(),
        live: live.as_ref(),
        refusal: refusal.as_deref(),
        book: &book,
        can_skip: next.is_some() && before.is_none(),
        again: again.as_deref(),
    };
    let mut draft = text;
    match widgets::keypad_ui(ui, &view, &mut draft) {
        Some(KeypadEvent::Typed) => {
            state.drafts.on.remove(&booked(&name));
            state.drafts.text.insert(name.clone(), draft.clone());
            // Chosen by typing into it: it stays up even when its reading arrives from elsewhere.
            if !criterion.points.is_empty() {
                state.drafts.point = Some(point);
            }
            state.ask(Action::KeepDraft { name, text: draft });
        }
        Some(KeypadEvent::Book) => {
            if let Ok(value) = parse(&draft, unit) {
                let instead_of = before.zip(because).map(|(before, because)| (before.entry, because));
                book_it(state, work, criterion, point, value, instead_of);
                state.drafts.on.insert(booked(&name), true);
                state.drafts.point = next;
            }
        }
        Some(KeypadEvent::Skip) => state.drafts.point = next,
        None => {}
    }
}

/// The figures of the reading of this criterion that was booked last, as they are typed.
fn booked_last(criterion: &CriterionStanding, unit: ReadingUnit) -> Option<String> {
    let numbers =
        criterion.readings.iter().filter(|one| !matches!(one.value, ReadValue::Go | ReadValue::NoGo));
    numbers.max_by_key(|one| one.noted.order).map(|one| judge::value_in_unit(one.value, unit))
}

fn book_it(
    state: &mut State,
    work: &Work<'_>,
    criterion: &CriterionStanding,
    point: PointName,
    value: ReadValue,
    instead_of: Option<(EntryId, Because)>,
) {
    if criterion.points.is_empty() {
        state.drafts.text.remove(&place_name(work.desk, work.id, &criterion.id));
    }
    state.ask(Action::Book {
        plot: work.desk.plot.clone(),
        hold_point: work.id.clone(),
        criterion: criterion.id.clone(),
        point,
        value,
        instead_of,
    });
}

/// What the digits would mean, or why they cannot be booked: the reckoning and the rules say it, not the screen.
fn said(
    work: &Work<'_>,
    criterion: &CriterionStanding,
    feed: Feed,
    point: &PointName,
    text: &str,
    value: &Result<ReadValue, String>,
    instead: Option<(&ReadingStanding, Because)>,
) -> (Option<Live>, Option<String>) {
    if text.is_empty() || text == "-" {
        return (None, None);
    }
    let value = match value {
        Ok(value) => *value,
        Err(what) => return (None, Some(format!("It {what}."))),
    };
    let act = Act::BookReading {
        hold_point: work.id.clone(),
        criterion: criterion.id.clone(),
        point: point.clone(),
        value,
        instrument: None,
    };
    let act = match instead {
        None => act,
        Some((before, because)) => {
            Act::Supersede { id: before.entry, because, remark: None, with: Box::new(act) }
        }
    };
    match work.desk.may(&act) {
        May::Yes => {}
        May::NotThisPerson(why) | May::NotNow(why) => return (None, Some(why)),
    }
    let trial = judge::trial(&work.desk.view.record, feed, point, value);
    (trial.map(|trial| live(&trial, feed)), None)
}

/// A level that may be a slip of the hand, with what it might have been, or that does not fit its neighbours. A tap
/// takes what it might have been into the keypad; the person decides.
fn slips_ui(
    ui: &mut Ui,
    state: &mut State,
    work: &Work<'_>,
    criterion: &CriterionStanding,
    point: &PointName,
    draft: &str,
    level: Length,
) {
    let record = &work.desk.view.record;
    let place = (work.id, &criterion.id);
    let found = level_trial::of_level(record, Feed::BearingLevels, place, point, level);
    if let Some(misfit) = &found.misfit {
        let beside = misfit.beside.join(" and ");
        let off = misfit.off_by.signed_mm_text(1);
        let words = format!("{point} lies {off} mm off the line of {beside}. Read it again.");
        widgets::caution_bar_ui(ui, &[&words]);
    }
    ui.horizontal_wrapped(|ui| {
        for (index, perhaps) in found.perhaps.iter().take(2).enumerate() {
            let level = perhaps.level.m_text(3);
            let words = format!("Perhaps {level} m: {}", perhaps.slip.words());
            ui.push_id(("perhaps", index), |ui| {
                if widgets::button_ui(ui, widgets::Weight::Plain, &words) {
                    state.drafts.text.insert(draft.to_owned(), level.clone());
                    state.ask(Action::KeepDraft { name: draft.to_owned(), text: level.clone() });
                }
            });
        }
    });
}

/// A trial as the keypad shows it. Its words are `WHAT, LIMITS` or `WHAT, LIMITS, WHAT TO DO`.
fn live(trial: &Trial, feed: Feed) -> Live {
    let (first, rest) = trial.words.split_once(", ").unwrap_or((&trial.words, ""));
    let deviation =
        trial.deviation.map_or_else(String::new, |deviation| format!("{} mm", deviation.signed_mm_text(1)));
    let ground = matches!(feed, Feed::GroundLevels | Feed::GroundAsBuilt);
    let meaning = if ground { first } else { rest };
    Live { meaning: meaning.to_owned(), deviation, mark: trial.verdict.into() }
}

/// The reading that is there, and why another shall take its place.
fn again_ui(
    ui: &mut Ui,
    state: &mut State,
    work: &Work<'_>,
    criterion: &CriterionStanding,
    feed: Feed,
    before: &ReadingStanding,
    name: &str,
) -> Option<Because> {
    reading_ui(ui, work, criterion, feed, before);
    let is_measured = before.value == ReadValue::NoGo;
    if is_measured {
        ui.label(RichText::new("Measure by how much.").font(theme::strong(theme::VALUE)));
    }
    let names = [(Because::Misread, "misread"), (Because::Reworked, "reworked")];
    ui.horizontal(|ui| {
        let width = (ui.available_width() - theme::GAP) / 2.0;
        for (_, word) in names {
            let switch = format!("{word}/{name}");
            let on = state.drafts.on.contains_key(&switch);
            ui.push_id(word, |ui| {
                if buttons::choice_ui(ui, on, word, vec2(width, theme::TOUCH)) {
                    for (_, word) in names {
                        state.drafts.on.remove(&format!("{word}/{name}"));
                    }
                    if !on {
                        state.drafts.on.insert(switch, true);
                    }
                }
            });
        }
    });
    names
        .into_iter()
        .find(|(_, word)| state.drafts.on.contains_key(&format!("{word}/{name}")))
        .map(|(because, _)| because)
        .or(is_measured.then_some(Because::Measured))
}

/// One reading: what it is, what it means, who booked it and when.
fn reading_ui(
    ui: &mut Ui,
    work: &Work<'_>,
    criterion: &CriterionStanding,
    feed: Feed,
    reading: &ReadingStanding,
) {
    let soft = theme::sheet(ui).soft;
    // On small screens the Book key comes before the details; the plan and the list still have them.
    let is_brief = ui.available_height() < keypad::LEAST_HEIGHT + 136.0;
    ui.horizontal(|ui| {
        ui.spacing_mut().interact_size.y = 26.0; // nothing here is tapped
        widgets::mark_ui(ui, marks::of_reading(reading, criterion), 26.0);
        ui.vertical(|ui| {
            ui.spacing_mut().item_spacing.y = 1.0;
            let value = format!("{} is {}", reading.point, marks::value(reading.value, feed));
            ui.label(RichText::new(value).font(theme::strong(theme::VALUE)));
            if is_brief {
                return;
            }
            let words = reading.trial.as_ref().map(|trial| trial.words.clone());
            if let Some(words) = words {
                ui.add(egui::Label::new(words).wrap());
            }
            let noted =
                format!("{}, {}", work.desk.name_of(reading.noted.author), reading.noted.time.minute());
            ui.label(RichText::new(noted).font(theme::font(theme::LABEL)).color(soft));
            if let Some(settled) = &reading.settled {
                ui.add(egui::Label::new(RichText::new(&settled.how).font(theme::font(theme::LABEL))).wrap());
            }
        });
    });
}

/// Nothing can be booked: the readings are shown.
fn look_only_ui(ui: &mut Ui, work: &Work<'_>, criterion: &CriterionStanding, feed: Feed) {
    theme::scroll(egui::ScrollArea::vertical().id_salt("readings").auto_shrink([false, false])).show(
        ui,
        |ui| {
            for reading in &criterion.readings {
                ui.push_id(reading.entry.to_hex(), |ui| reading_ui(ui, work, criterion, feed, reading));
            }
            if criterion.readings.is_empty() {
                ui.label("Nothing is read yet.");
            }
        },
    );
}

/// Every point is read: what they say together, and what comes next.
pub(super) fn all_read_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, criterion: &CriterionStanding) {
    ui.horizontal(|ui| {
        widgets::mark_ui(ui, marks::of_criterion(criterion), 30.0);
        ui.label(
            RichText::new(format!("All read: {}", marks::progress(criterion)))
                .font(theme::strong(theme::HEADING)),
        );
    });
    ui.label("Tap a point to see its reading, or to read it again.");
    ui.add_space(theme::GAP);
    onward_ui(ui, state, work);
}
