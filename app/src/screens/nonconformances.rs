//! Everything that does not conform, on one plot or on the site: open ones first, each with what it comes from and
//! what was done about it; closing, conceding, and the way back to where it was read.

use egui::{Frame, Label, Margin, Panel, RichText, ScrollArea, Ui};
use gaugerod_core::entry::{AttachedFile, Because, Disposition};
use gaugerod_core::ids::{PlotId, Sha256Digest};
use gaugerod_core::inspection::Act;
use gaugerod_core::inspection::standing::{Nonconformance, NonconformanceState, Origin};

use super::asking::{self, Asking};
use super::desk::{self, Desk};
use super::marks;
use super::section::matter_ui;
use crate::action::Action;
use crate::state::{Screen, State};
use crate::theme;
use crate::widgets::{self, Mark, Weight, buttons};

/// The nonconformances of a plot, or of the site.
pub fn nonconformances_ui(ui: &mut Ui, state: &mut State, plot: Option<&PlotId>) {
    match plot {
        Some(plot) => plot_ui(ui, state, plot),
        None => site_ui(ui, state),
    }
}

fn site_ui(ui: &mut Ui, state: &mut State) {
    let Some(register) = &state.register else { return };
    let plots = std::sync::Arc::clone(&register.plots);
    let open: Vec<_> = plots.iter().flat_map(|plot| plot.open.iter().map(move |one| (plot, one))).collect();
    ui.heading(format!("Open nonconformances on the site: {}", open.len()));
    if open.is_empty() {
        ui.label("Nothing is open.");
    }
    // One height for all: a site can have hundreds, only those in view are drawn.
    let height = 64.0;
    theme::scroll(ScrollArea::vertical().id_salt("site nonconformances").auto_shrink([false, false]))
        .show_rows(ui, height, open.len(), |ui, rows| {
            for index in rows {
                let (plot, one) = open[index];
                let title = plot
                    .hold_points
                    .iter()
                    .find(|point| point.id == one.hold_point)
                    .map_or(one.hold_point.as_str(), |point| &point.title);
                let what = first_line(&one.what);
                let words = format!("Plot {}, {title}: {what}", plot.plot);
                let since = gaugerod_core::time::Timestamp::new(one.utc_ms, 0)
                    .map_or_else(String::new, gaugerod_core::time::Timestamp::date);
                let small = format!("{}, noted {since}{}", marks::origin(one.origin), age(one.utc_ms));
                ui.push_id(("open", index), |ui| {
                    if row_ui(ui, height, of_origin(one.origin), &words, &small) {
                        state.ask(Action::Go(Screen::Nonconformances(Some(plot.plot.clone()))));
                    }
                });
            }
        });
}

/// A row of a fixed height.
fn row_ui(ui: &mut Ui, height: f32, mark: Mark, words: &str, small: &str) -> bool {
    let sheet = theme::sheet(ui);
    let (id, rect) = ui.allocate_space(egui::vec2(ui.available_width(), height));
    let response = widgets::type_setting::tap(ui, rect, id, &format!("{words} ({})", mark.name()));
    widgets::type_setting::boxed(ui, rect, sheet.field, sheet.hairline(), &response);
    widgets::verdict_mark::paint(
        ui.painter(),
        egui::pos2(rect.left() + 22.0, rect.center().y),
        26.0,
        mark,
        sheet,
    );
    let (left, room) = (rect.left() + 44.0, rect.width() - 56.0);
    let line = widgets::type_setting::line;
    line(
        ui.painter(),
        egui::pos2(left, rect.center().y - 11.0),
        egui::Align2::LEFT_CENTER,
        words,
        theme::strong(theme::BODY),
        sheet.ink,
        room,
    );
    line(
        ui.painter(),
        egui::pos2(left, rect.center().y + 13.0),
        egui::Align2::LEFT_CENTER,
        small,
        theme::font(theme::LABEL),
        sheet.soft,
        room,
    );
    response.clicked()
}

fn first_line(text: &str) -> &str {
    text.lines().next().unwrap_or_default()
}

const fn of_origin(origin: Origin) -> Mark {
    match origin {
        Origin::TooNearToCall => Mark::Undetermined,
        Origin::Refusal => Mark::Refused,
        Origin::Covered => Mark::Covered,
        Origin::Reading | Origin::Answer | Origin::Raised => Mark::Nonconforming,
    }
}

/// Whole days since then, in words; nothing where this device's clock stands before it.
fn age(utc_ms: i64) -> String {
    days_since(utc_ms, chrono::Utc::now().timestamp_millis())
}

fn days_since(utc_ms: i64, now_ms: i64) -> String {
    match (now_ms - utc_ms).div_euclid(86_400_000) {
        0 => ", today".to_owned(),
        1 => ", 1 day".to_owned(),
        days if days > 1 => format!(", {days} days"),
        _ => String::new(),
    }
}

fn plot_ui(ui: &mut Ui, state: &mut State, plot: &PlotId) {
    let Some(desk) = Desk::of(state, plot) else {
        return desk::waiting_ui(ui, plot);
    };
    let mut all: Vec<Nonconformance> = desk.view.standing.nonconformances().cloned().collect();
    all.sort_by_key(|one| (!one.is_open(), one.noted.order));
    let open = all.iter().filter(|one| one.is_open()).count();
    let size = ui.available_size();
    let chosen = state
        .drafts
        .nonconformance
        .and_then(|id| all.iter().find(|one| one.id == id))
        .or(all.first())
        .cloned();
    if let Some(chosen) = &chosen {
        let details =
            |ui: &mut Ui, state: &mut State| {
                theme::scroll(ScrollArea::vertical().id_salt("nonconformance").auto_shrink([false, false]))
                    .show(ui, |ui| {
                        ui.set_width(ui.available_width());
                        details_ui(ui, state, &desk, chosen);
                    });
            };
        if size.x < size.y {
            let frame = Frame::new().inner_margin(Margin { top: 10, bottom: 8, ..Margin::ZERO });
            Panel::bottom("nonconformance")
                .resizable(false)
                .exact_size(size.y * 0.5)
                .frame(frame)
                .show(ui, |ui| details(ui, state));
        } else {
            let frame = Frame::new().inner_margin(Margin { left: 14, bottom: 8, ..Margin::ZERO });
            Panel::right("nonconformance")
                .resizable(false)
                .exact_size((size.x * 0.42).min(520.0))
                .frame(frame)
                .show(ui, |ui| details(ui, state));
        }
    }
    ui.heading(format!("Nonconformances: {open} open of {}", all.len()));
    if all.is_empty() {
        ui.label("Nothing on this plot was ever found not to conform.");
    }
    theme::scroll(ScrollArea::vertical().id_salt("nonconformances").auto_shrink([false, false])).show(
        ui,
        |ui| {
            ui.set_width(ui.available_width() - 6.0);
            for one in &all {
                ui.push_id(one.id.to_hex(), |ui| {
                    let words = format!("{}: {}", desk.title_of(&one.hold_point), one.what);
                    let small = format!(
                        "{}, {}{}",
                        marks::origin(one.origin),
                        state_word(one),
                        if one.is_open() { age(one.noted.time.utc_ms) } else { String::new() }
                    );
                    let top = ui.cursor().top();
                    if matter_ui(ui, marks::of_nonconformance(one), &words, &small) {
                        state.drafts.nonconformance = Some(one.id);
                        asking::stop(state);
                    }
                    if chosen.as_ref().is_some_and(|own| own.id == one.id) {
                        let sheet = theme::sheet(ui);
                        let rect = egui::Rect::from_min_max(
                            egui::pos2(ui.min_rect().left(), top),
                            ui.min_rect().right_bottom(),
                        );
                        ui.painter().rect_stroke(rect, 0.0, sheet.thick(), egui::StrokeKind::Inside);
                    }
                });
            }
        },
    );
}

fn state_word(one: &Nonconformance) -> &'static str {
    match &one.state {
        NonconformanceState::Open => "open",
        NonconformanceState::Replaced { .. } => "read again",
        NonconformanceState::Settled(settled) if settled.concession => "conceded",
        NonconformanceState::Settled(_) => "closed",
    }
}

fn details_ui(ui: &mut Ui, state: &mut State, desk: &Desk, one: &Nonconformance) {
    let mine = |asking: &Asking| match asking {
        Asking::Pin => true,
        Asking::Close(id) | Asking::Concede(id) => *id == one.id,
        _ => false,
    };
    if let Some(asked) = asking::current(state, desk, mine) {
        return asking::asking_ui(ui, state, desk, &asked);
    }
    let soft = theme::sheet(ui).soft;
    ui.horizontal(|ui| {
        widgets::mark_ui(ui, marks::of_nonconformance(one), 34.0);
        ui.add(Label::new(RichText::new(&one.what).font(theme::strong(theme::VALUE))).wrap());
    });
    let standing = desk.view.standing.hold_point(&one.hold_point);
    let place = standing.map_or(one.hold_point.as_str(), |standing| standing.title.as_str());
    ui.add(Label::new(place).wrap());
    if let Some(criterion) = one.criterion.as_ref().and_then(|id| standing?.criterion(id)) {
        ui.add(Label::new(&criterion.title).wrap());
        if let Some(limit) = &criterion.limit {
            ui.add(Label::new(RichText::new(format!("Limit: {limit}")).color(soft)).wrap());
        }
    }
    let noted = format!("Noted by {}, {}", desk.name_of(one.noted.author), one.noted.time.minute());
    ui.label(noted);
    ui.label(RichText::new(format!("No. {}", one.id.short())).font(theme::font(theme::LABEL)).color(soft));
    match &one.state {
        NonconformanceState::Open => {}
        NonconformanceState::Replaced { because, .. } => {
            ui.label(match because {
                Because::Misread => "It was misread; a later reading took its place.",
                Because::Reworked => "The work was changed and read again.",
                Because::Mistake => "It was a slip; a later entry took its place.",
                Because::Measured => "The gauge did not pass; it was measured by how much.",
            });
        }
        NonconformanceState::Settled(settled) => {
            ui.add(Label::new(RichText::new(&settled.how).font(theme::strong(theme::BODY))).wrap());
            ui.label(format!("{}, {}", desk.name_of(settled.noted.author), settled.noted.time.minute()));
            if let Some(document) = &settled.document {
                ui.label(format!("Document: {}", document.name));
            }
        }
    }
    ui.add_space(theme::GAP);
    ways_ui(ui, state, desk, one);
}

/// The ways out of it: read again, close, concede.
fn ways_ui(ui: &mut Ui, state: &mut State, desk: &Desk, one: &Nonconformance) {
    let word = match (one.is_open(), one.origin) {
        (true, Origin::Reading | Origin::TooNearToCall) => "Read it again",
        (true, Origin::Answer) => "Answer it again",
        _ => "To the hold point",
    };
    let weight = if one.is_open() { Weight::Primary } else { Weight::Plain };
    if buttons::wide_button_ui(ui, weight, word) {
        state.drafts.criterion = one.criterion.clone().map(|criterion| (one.hold_point.clone(), criterion));
        state.drafts.point.clone_from(&one.point);
        state.ask(Action::Go(Screen::HoldPoint(desk.plot.clone(), one.hold_point.clone())));
    }
    if !one.is_open() || !desk.can_record() {
        return;
    }
    if one.origin == Origin::TooNearToCall {
        ui.label(
            "Ways out: a better instrument, the mean of repeated readings, or the designer's acceptance.",
        );
    }
    let close =
        Act::CloseNonconformance { id: one.id, disposition: Disposition::Correction, remark: "?".to_owned() };
    let writing = AttachedFile {
        sha256: Sha256Digest([0; 32]),
        bytes: 1,
        media_type: "application/pdf".to_owned(),
        name: "?".to_owned(),
    };
    let concede = Act::Concede { id: one.id, by: "?".to_owned(), document: writing };
    if desk.may(&close).is_yes() && buttons::wide_button_ui(ui, Weight::Plain, "Close it") {
        asking::ask(state, desk, Asking::Close(one.id));
    }
    if desk.may(&concede).is_yes() {
        if buttons::wide_button_ui(ui, Weight::Plain, "Designer's concession") {
            asking::ask(state, desk, Asking::Concede(one.id));
        }
    } else {
        ui.label("The quality manager, the designer or the engineer closes it.");
    }
}

#[cfg(test)]
mod tests {
    use egui_kittest::kittest::Queryable as _;

    use super::*;
    use crate::headless;
    use crate::screens::fixture::{Site, hold_point, plot};

    #[test]
    fn the_list_passes_the_checks_for_plots_and_the_site() {
        let mut site = Site::new();
        for of in [None, Some("1"), Some("2"), Some("4"), Some("6")] {
            let mut state = site.state(Screen::Nonconformances(of.map(plot)));
            headless::check(&format!("{of:?}, supervisor"), |ui| crate::screens::window_ui(ui, &mut state));
            site.hand_to_manager(&mut state);
            headless::check(&format!("{of:?}, manager"), |ui| crate::screens::window_ui(ui, &mut state));
        }
    }

    #[test]
    fn the_manager_closes_with_a_disposition_and_a_remark() {
        let mut site = Site::new();
        let mut state = site.state(Screen::Nonconformances(Some(plot("4"))));
        site.hand_to_manager(&mut state);
        let view = state.plot(&plot("4")).unwrap();
        let id = view.standing.nonconformances().next().unwrap().id;
        let mut harness = headless::harness(headless::SIZES[0], crate::screens::window_ui, state);
        harness.get_by_label("Close it").click();
        harness.run();
        for choice in ["rework", "taken out and made new"] {
            harness.get_by_label(choice).click();
            harness.run();
        }
        harness.get_by_label("It is closed").click();
        harness.run();
        let remark = "taken out and made new".to_owned();
        let act = Act::CloseNonconformance { id, disposition: Disposition::Rework, remark };
        assert_eq!(harness.state().actions, [Action::Do { plot: plot("4"), act }]);
    }

    #[test]
    fn the_supervisor_cannot_close_or_concede_and_is_told_who_can() {
        let mut site = Site::new();
        let state = site.state(Screen::Nonconformances(Some(plot("4"))));
        let harness = headless::harness(headless::SIZES[0], crate::screens::window_ui, state);
        assert!(
            harness.query_by_label("Close it").is_none()
                && harness.query_by_label("Designer's concession").is_none()
        );
        harness.get_by_label("The quality manager, the designer or the engineer closes it.");
    }

    #[test]
    fn a_reading_is_read_again_at_its_own_point() {
        let mut site = Site::new();
        let state = site.state(Screen::Nonconformances(Some(plot("2"))));
        let mut harness = headless::harness(headless::SIZES[0], crate::screens::window_ui, state);
        harness.get_by_label_contains("Bearing level: B5").click();
        harness.run();
        harness.get_by_label("Read it again").click();
        harness.run();
        assert_eq!(
            harness.state().actions,
            [Action::Go(Screen::HoldPoint(plot("2"), hold_point("bearing-level")))]
        );
        assert_eq!(harness.state().drafts.point.as_ref().map(ToString::to_string).as_deref(), Some("B5"));
    }

    #[test]
    fn ages_are_counted_in_whole_days() {
        const DAY: i64 = 86_400_000;
        assert_eq!(
            [
                days_since(0, 0),
                days_since(0, DAY - 1),
                days_since(0, DAY),
                days_since(0, 3 * DAY),
                days_since(DAY, 0)
            ],
            [", today", ", today", ", 1 day", ", 3 days", ""]
        );
    }
}
