//! A go/no-go gauge in the place of the keypad: tap the points where it did not pass, everything else is booked as
//! passed in one press. A number is owed only where it did not pass; the keypad takes it.
//!
//! Only for lengths that are held against a limit. What is tapped and which gauge it is are kept as drafts, so that
//! a kill loses neither.

use std::collections::BTreeSet;

use egui::{Frame, Panel, RichText, ScrollArea, Ui, vec2};
use gaugerod_core::ids::PointName;
use gaugerod_core::inspection::judge::CriterionStanding;
use gaugerod_core::plan_of_work::{CriterionKind, ReadingUnit, ReckoningName};

use super::{Work, keypad_column, next_point};
use crate::action::Action;
use crate::screens::asking;
use crate::state::State;
use crate::theme;
use crate::widgets::{self, Mark, Weight, buttons};

/// The draft that names the gauge: one for the whole site, it is the same stick all day.
const GAUGE: &str = "gauge/name";
/// The longest name of a gauge.
const LONGEST_NAME: usize = 60;
/// The most points that are booked at once where the person names them.
const MOST_POINTS: usize = 60;
/// Points beside each other.
const ACROSS: usize = 3;

/// The name of a draft or switch of this criterion.
fn draft(work: &Work<'_>, criterion: &CriterionStanding, what: &str) -> String {
    format!("gauge/{what}/{}/{}/{}", work.desk.plot, work.id, criterion.id)
}

/// Whether a gauge can say anything here.
fn is_for_a_gauge(criterion: &CriterionStanding) -> bool {
    // A level is no length that a gauge could pass.
    matches!(criterion.kind, CriterionKind::Reckoning { reckoning: ReckoningName::Limit, feed, .. }
        if feed.unit() == Some(ReadingUnit::Millimetres))
}

/// Whether the gauge stands in the place of the keypad: not while a point that is read was chosen to be read again.
pub(super) fn is_on(state: &State, work: &Work<'_>, criterion: &CriterionStanding) -> bool {
    let chosen = if criterion.points.is_empty() {
        let name = keypad_column::place_name(work.desk, work.id, &criterion.id);
        PointName::new(state.drafts.text(&name).trim()).ok()
    } else {
        state.drafts.point.clone()
    };
    let again = chosen.is_some_and(|point| criterion.reading_at(&point).is_some());
    is_for_a_gauge(criterion) && !again && state.drafts.on.contains_key(&draft(work, criterion, "on"))
}

/// The choice between figures and a gauge, where both are possible.
pub(super) fn mode_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, criterion: &CriterionStanding) {
    if !is_for_a_gauge(criterion) {
        return;
    }
    let name = draft(work, criterion, "on");
    let on = state.drafts.on.contains_key(&name);
    ui.horizontal(|ui| {
        let size = vec2((ui.available_width() - theme::GAP) / 2.0, theme::TOUCH);
        if buttons::choice_ui(ui, !on, "Figures", size) {
            state.drafts.on.remove(&name);
        }
        if buttons::choice_ui(ui, on, "Gauge", size) {
            state.drafts.on.insert(name.clone(), true);
        }
    });
}

/// The column.
pub(super) fn gauge_column_ui(
    ui: &mut Ui,
    state: &mut State,
    work: &Work<'_>,
    criterion: &CriterionStanding,
) {
    mode_ui(ui, state, work, criterion);
    let points = points(state, work, criterion);
    if points.is_empty() {
        return done_ui(ui, state, work, criterion);
    }
    let not_passed = not_passed(state, work, criterion);
    let failing = points.iter().filter(|point| not_passed.contains(point.as_str())).count();
    Panel::bottom("gauge keys")
        .resizable(false)
        .show_separator_line(false)
        .exact_size(theme::GAP + theme::TOUCH + 8.0)
        .frame(Frame::NONE)
        .show(ui, |ui| book_ui(ui, state, work, criterion, &points, &not_passed, failing));
    gauge_name_ui(ui, state, criterion);
    ui.label(RichText::new("Tap where it does not pass:").font(theme::strong(theme::BODY)));
    if criterion.points.is_empty() {
        count_ui(ui, state, work, criterion, points.len());
    }
    points_ui(ui, state, work, criterion, &points, &not_passed);
}

/// The points that the gauge is put to: every one without a reading, or so many as the person counts.
fn points(state: &State, work: &Work<'_>, criterion: &CriterionStanding) -> Vec<PointName> {
    if criterion.points.is_empty() {
        let count = count(state, work, criterion);
        return next_point::free_names(state, work.desk, work.id, criterion, count);
    }
    let free = |point: &&PointName| {
        let name = keypad_column::draft_name(work.desk, work.id, &criterion.id, point);
        criterion.reading_at(point).is_none() && !state.drafts.on.contains_key(&keypad_column::booked(&name))
    };
    criterion.points.iter().filter(free).cloned().collect()
}

/// How many places of the person's own are gauged: as many as are still owed, until the person counts otherwise.
fn count(state: &State, work: &Work<'_>, criterion: &CriterionStanding) -> usize {
    let counted = state.drafts.text(&draft(work, criterion, "count")).parse();
    counted
        .unwrap_or_else(|_| {
            let least = match criterion.kind {
                CriterionKind::Reckoning {
                    owed: gaugerod_core::plan_of_work::Owed::AtLeast(least), ..
                } => least,
                _ => 0,
            };
            usize::try_from(least).unwrap_or(MOST_POINTS).saturating_sub(criterion.readings.len())
        })
        .min(MOST_POINTS)
}

/// The points that were tapped: the gauge did not pass there.
fn not_passed(state: &State, work: &Work<'_>, criterion: &CriterionStanding) -> BTreeSet<String> {
    state.drafts.text(&draft(work, criterion, "not-passed")).lines().map(str::to_owned).collect()
}

/// Keeps a draft here and on disk.
fn keep(state: &mut State, name: String, text: String) {
    state.drafts.text.insert(name.clone(), text.clone());
    state.ask(Action::KeepDraft { name, text });
}

fn gauge_name_ui(ui: &mut Ui, state: &mut State, criterion: &CriterionStanding) {
    let before = state.drafts.text(GAUGE).to_owned();
    if before.is_empty() {
        // The gauge that was used here before is offered first.
        let last = criterion.readings.iter().filter(|one| keypad_column::is_gauge(one.value));
        let last = last.max_by_key(|one| one.noted.order).and_then(|one| one.instrument.clone());
        if let Some(last) = last
            && widgets::button_ui(ui, Weight::Plain, &last)
        {
            keep(state, GAUGE.to_owned(), last);
        }
    }
    asking::field_ui(ui, state, GAUGE, "which gauge, as it is marked");
    let typed: String = state.drafts.text(GAUGE).chars().take(LONGEST_NAME).collect();
    if typed != before {
        keep(state, GAUGE.to_owned(), typed);
    }
    if state.drafts.text(GAUGE).trim().is_empty() {
        widgets::notice_ui(ui, Mark::Owed, "Say which gauge it is first.");
    }
}

/// One more place, one fewer.
fn count_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, criterion: &CriterionStanding, whole: usize) {
    let mut wanted = whole;
    ui.horizontal(|ui| {
        let size = vec2(104.0, theme::TOUCH);
        ui.add_enabled_ui(whole > 1, |ui| {
            if buttons::sized_button_ui(ui, Weight::Plain, "one fewer", size).clicked() {
                wanted = whole - 1;
            }
        });
        ui.label(RichText::new(whole.to_string()).font(theme::strong(theme::HEADING)));
        ui.add_enabled_ui(whole < MOST_POINTS, |ui| {
            if buttons::sized_button_ui(ui, Weight::Plain, "one more", size).clicked() {
                wanted = whole + 1;
            }
        });
    });
    if wanted != whole {
        keep(state, draft(work, criterion, "count"), wanted.to_string());
    }
}

fn points_ui(
    ui: &mut Ui,
    state: &mut State,
    work: &Work<'_>,
    criterion: &CriterionStanding,
    points: &[PointName],
    not_passed: &BTreeSet<String>,
) {
    let height = theme::TOUCH + 4.0;
    let mut tapped = None;
    theme::scroll(ScrollArea::vertical().id_salt("gauged").auto_shrink([false, false])).show_rows(
        ui,
        height,
        points.len().div_ceil(ACROSS),
        |ui, rows| {
            let width = (ui.available_width() - 2.0 * theme::GAP) / 3.0;
            for row in rows {
                ui.horizontal(|ui| {
                    for point in points.iter().skip(row * ACROSS).take(ACROSS) {
                        let fails = not_passed.contains(point.as_str());
                        let label = format!("{point} {}", if fails { "no-go" } else { "go" });
                        ui.push_id(("gauged", point.as_str()), |ui| {
                            if buttons::choice_ui(ui, fails, &label, vec2(width, height)) {
                                tapped = Some(point.to_string());
                            }
                        });
                    }
                });
            }
        },
    );
    if let Some(tapped) = tapped {
        let mut now = not_passed.clone();
        if !now.remove(&tapped) {
            now.insert(tapped);
        }
        let text = now.into_iter().collect::<Vec<_>>().join("\n");
        keep(state, draft(work, criterion, "not-passed"), text);
    }
}

fn book_ui(
    ui: &mut Ui,
    state: &mut State,
    work: &Work<'_>,
    criterion: &CriterionStanding,
    points: &[PointName],
    not_passed: &BTreeSet<String>,
    failing: usize,
) {
    let gauge = state.drafts.text(GAUGE).trim().to_owned();
    let passing = points.len() - failing;
    let word = match (passing, failing) {
        (_, 0) => format!("Book {passing} go"),
        (0, _) => format!("Book {failing} no-go"),
        _ => format!("Book {passing} go, {failing} no-go"),
    };
    ui.add_space(theme::GAP);
    ui.add_enabled_ui(!gauge.is_empty(), |ui| {
        if !buttons::wide_button_ui(ui, Weight::Primary, &word) {
            return;
        }
        let read = |point: &PointName| (point.clone(), !not_passed.contains(point.as_str()));
        for point in points {
            let name = keypad_column::draft_name(work.desk, work.id, &criterion.id, point);
            state.drafts.on.insert(keypad_column::booked(&name), true);
        }
        state.drafts.text.remove(&draft(work, criterion, "count"));
        state.ask(Action::BookGauge {
            plot: work.desk.plot.clone(),
            hold_point: work.id.clone(),
            criterion: criterion.id.clone(),
            gauge,
            points: points.iter().map(read).collect(),
        });
    });
}

/// The gauge was put to every point: where it did not pass a number is owed.
fn done_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, criterion: &CriterionStanding) {
    let Some(point) = next_point::to_measure(criterion).next().cloned() else {
        if criterion.points.is_empty() {
            count_ui(ui, state, work, criterion, 0);
        }
        return keypad_column::all_read_ui(ui, state, work, criterion);
    };
    ui.label(
        RichText::new("A number is owed where the gauge did not pass.").font(theme::strong(theme::VALUE)),
    );
    if buttons::wide_button_ui(ui, Weight::Primary, &format!("Measure {point}")) {
        state.drafts.on.remove(&draft(work, criterion, "on"));
        if criterion.points.is_empty() {
            let name = keypad_column::place_name(work.desk, work.id, &criterion.id);
            state.drafts.text.insert(name, point.to_string());
        } else {
            state.drafts.point = Some(point);
        }
    }
}
