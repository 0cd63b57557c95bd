//! The column beside the sheet: three keys for the kind of sight, the point, the keypad; or the list of points to
//! pick from; or, once the book is closed, where to go from here.

use egui::{RichText, Ui, vec2};
use gaugerod_core::entry::{Because, BookMethod, SightKind};
use gaugerod_core::quantity::Length;

use super::course::Due;
use super::drafts::Pending;
use super::work::{self, Earlier, Now, Work};
use super::{points, typed};
use crate::action::Action;
use crate::screens::marks;
use crate::state::{Screen, State};
use crate::theme;
use crate::widgets::{self, KeypadEvent, KeypadView, Live, Mark, Weight, buttons, keypad};

const KINDS: [SightKind; 3] = [SightKind::Back, SightKind::Inter, SightKind::Fore];

/// The column, or in portrait the band below the sheet.
pub(super) fn keys_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let Some(now) = &work.now else {
        return done_ui(ui, state, work);
    };
    if state.drafts.levels.picking {
        return points::points_ui(ui, state, work, now);
    }
    let size = ui.available_size();
    if size.x > 600.0 {
        // Below the sheet: keys for the right thumb, what is sighted at the left.
        ui.horizontal_top(|ui| {
            let left = (size.x * 0.4).min(330.0);
            ui.allocate_ui(vec2(left, size.y), |ui| {
                ui.vertical(|ui| {
                    ui.set_width(left);
                    kinds_ui(ui, state, work, now, vec2(left, 62.0), true);
                    point_ui(ui, state, work, now, vec2(left, 62.0));
                    hints_ui(ui, work);
                });
            });
            ui.vertical(|ui| pad_ui(ui, state, work, now));
        });
        return;
    }
    let room = size.y - keypad::LEAST_HEIGHT;
    let two_rows = room >= 2.0 * (theme::TOUCH + theme::GAP);
    if two_rows {
        let height = ((room - 2.0 * theme::GAP) / 2.0).clamp(theme::TOUCH, 60.0);
        let width = (size.x - 2.0 * theme::GAP) / 3.0;
        kinds_ui(ui, state, work, now, vec2(width, height), false);
        point_ui(ui, state, work, now, vec2(size.x, height));
    } else {
        ui.horizontal(|ui| {
            let width = 60.0;
            kinds_in_row_ui(ui, state, work, now, vec2(width, theme::TOUCH));
            let rest = ui.available_width();
            point_ui(ui, state, work, now, vec2(rest, theme::TOUCH));
        });
    }
    pad_ui(ui, state, work, now);
}

fn kinds_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, now: &Now<'_>, size: egui::Vec2, below: bool) {
    if below {
        kinds_in_row_ui(ui, state, work, now, size);
    } else {
        ui.horizontal(|ui| kinds_in_row_ui(ui, state, work, now, size));
    }
}

/// The keys themselves: those that the order of a book does not allow now are shut.
fn kinds_in_row_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, now: &Now<'_>, size: egui::Vec2) {
    let corrects = matches!(now.earlier, Some(Earlier::Sight(_)));
    for kind in KINDS {
        let may = if corrects { kind == now.kind } else { work.course.kinds().contains(&kind) };
        ui.push_id(kind.word(), |ui| {
            ui.add_enabled_ui(may, |ui| {
                let word = typed::kind_word(kind, work.method());
                if buttons::choice_ui(ui, kind == now.kind, word, size) && kind != now.kind {
                    keep(state, work.draft(state, "sight"), kind.word().to_owned());
                    keep(state, work.draft(state, "point"), String::new());
                    state.drafts.levels.because = None;
                }
            });
        });
    }
}

/// The point, as a key that shows the list of points.
fn point_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, now: &Now<'_>, size: egui::Vec2) {
    let label = if size.x < 200.0 { now.point.to_string() } else { format!("Point {}", now.point) };
    let may = match (&now.earlier, now.kind) {
        (Some(Earlier::Sight(_)), kind) => {
            let because = state.drafts.levels.correcting.as_ref().and_then(|own| own.because);
            kind != SightKind::Back && because == Some(Because::Mistake)
        }
        (_, kind) => kind != SightKind::Back && matches!(work.course.due, Due::Between),
    };
    ui.add_enabled_ui(may, |ui| {
        if buttons::sized_button_ui(ui, Weight::Plain, &label, size).clicked() {
            state.drafts.levels.picking = true;
        }
    });
}

/// What is still owed, where there is room for it.
fn hints_ui(ui: &mut Ui, work: &Work<'_>) {
    let owed = work.course.owed();
    let words = match owed {
        0 => "Every point is read: close on a bench mark.".to_owned(),
        1 => "1 point owed.".to_owned(),
        many => format!("{many} points owed."),
    };
    ui.add(egui::Label::new(RichText::new(words).color(theme::sheet(ui).soft)).wrap());
}

fn pad_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, now: &Now<'_>) {
    let because = because(state, now);
    let refusal = now.refusal(because);
    let refusal =
        if work.is_writing { Some("The last sight is being written …".to_owned()) } else { refusal };
    let live = live(work, now);
    let subject = subject(work, now);
    let book = match &now.earlier {
        Some(Earlier::Sight(_)) => "Put right".to_owned(),
        _ => book_word(work, now),
    };
    let corrects = matches!(now.earlier, Some(Earlier::Sight(_)));
    let again = work.course.same_again(now.kind).filter(|_| !corrects);
    let again = again.map(|um| typed::again(Length::from_um(um), work.method(), &now.text));
    // While nothing is typed the unit is that of the same once more.
    let digits = again.as_deref().filter(|_| now.text.is_empty()).unwrap_or(&now.text);
    let skips = (now.kind == SightKind::Inter && !corrects).then(|| work.course.after(&now.point)).flatten();
    let view = KeypadView {
        subject: &subject,
        unit: typed::unit(digits, work.method()),
        live: live.as_ref(),
        refusal: refusal.as_deref(),
        book: &book,
        can_skip: skips.is_some(),
        again: again.as_deref(),
    };
    let mut draft = now.text.clone();
    match widgets::keypad_ui(ui, &view, &mut draft) {
        Some(KeypadEvent::Typed) => keep(state, now.draft.clone(), draft),
        Some(KeypadEvent::Skip) => {
            if let Some(next) = skips {
                keep(state, work.draft(state, "point"), next.to_string());
            }
        }
        Some(KeypadEvent::Book) if !work.is_writing => book_it(state, work, now, &draft, because),
        _ => {}
    }
}

fn because(state: &State, now: &Now<'_>) -> Option<Because> {
    match now.earlier.as_ref()? {
        Earlier::Sight(_) => state.drafts.levels.correcting.as_ref().and_then(|own| own.because),
        Earlier::Reading(_) => state.drafts.levels.because,
    }
}

fn book_it(state: &mut State, work: &Work<'_>, now: &Now<'_>, text: &str, because: Option<Because>) {
    let Ok(value) = typed::read(text, work.method()) else { return };
    let fact = work.fact(now.kind, &now.point, value);
    let instead_of = match (&now.earlier, because) {
        (None, _) => None,
        (Some(earlier), Some(because)) => Some((earlier.entry(), because)),
        (Some(_), None) => return,
    };
    state.drafts.levels.pending = Some(Pending {
        plot: work.desk.plot.clone(),
        book: work.book.begun.book.clone(),
        sights: work.book.sights.len(),
        draft: now.draft.clone(),
    });
    state.drafts.levels.picking = false;
    state.ask(Action::Do { plot: work.desk.plot.clone(), act: work::act(&fact, instead_of) });
}

/// Keeps what is typed or chosen, so that it survives a kill.
pub(super) fn keep(state: &mut State, name: String, text: String) {
    if state.drafts.text(&name) == text {
        return;
    }
    if text.is_empty() {
        state.drafts.text.remove(&name);
    } else {
        state.drafts.text.insert(name.clone(), text.clone());
    }
    state.ask(Action::KeepDraft { name, text });
}

/// What is being read, in words.
fn subject(work: &Work<'_>, now: &Now<'_>) -> String {
    match (work.method(), now.kind) {
        (BookMethod::Receiver, SightKind::Inter) => format!("{}: off target, + above", now.point),
        (BookMethod::Receiver, _) => format!("off by, + high: {}", now.point),
        (_, kind) => format!("{}: {}", now.point, kind.word()),
    }
}

fn book_word(work: &Work<'_>, now: &Now<'_>) -> String {
    let is_mark = work.course.marks.contains(&now.point);
    match now.kind {
        SightKind::Fore if is_mark => "Book and close".to_owned(),
        SightKind::Back if work.book.sights.is_empty() => "Book, begin".to_owned(),
        _ => "Book".to_owned(),
    }
}

/// What the digits would mean.
fn live(work: &Work<'_>, now: &Now<'_>) -> Option<Live> {
    let trial = now.tried.as_ref()?.trial.as_ref().ok()?;
    let (deviation, mark) = match work::deviation(trial, now.kind) {
        Some((text, mark)) => (format!("{text} mm"), mark),
        None => (String::new(), Mark::NotYet),
    };
    let closes = now.kind == SightKind::Fore && work.course.marks.contains(&now.point);
    let meaning = match (trial.collimation, closes) {
        (Some(level), _) if work.method() != BookMethod::Receiver => {
            format!("collimation {}", level.m_text(3))
        }
        (Some(_), _) => String::new(),
        (None, true) => format!("closes, ±{:.1} allowed", trial.reduced.output.allowable_mm),
        (None, false) => format!("level {}", trial.level.m_text(3)),
    };
    Some(Live { meaning, deviation, mark })
}

/// Nothing can be booked: the book is closed, or nobody who can record is at the tablet.
fn done_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let plot = &work.desk.plot;
    if let Due::Closed(_) = work.course.due {
        ui.heading("The book is closed");
        ui.add(egui::Label::new("Tap a row to put a sight right.").wrap());
    } else if !work.desk.can_record() {
        ui.add(egui::Label::new("Take the tablet with your name to book sights.").wrap());
    }
    ui.label(RichText::new("It serves").font(theme::strong(theme::VALUE)));
    for serves in &work.book.begun.serves {
        let Some((_, standing)) = work.desk.hold_point(&serves.hold_point) else { continue };
        let Some(criterion) = standing.criterion(&serves.criterion) else { continue };
        ui.push_id(("serves", serves.hold_point.as_str(), serves.criterion.as_str()), |ui| {
            let words = format!("{}: {}", standing.short_title, marks::progress(criterion));
            let small = criterion.limit.clone().unwrap_or_default();
            if crate::screens::section::matter_ui(ui, marks::of_criterion(criterion), &words, &small) {
                state.drafts.criterion = Some((standing.id.clone(), criterion.id.clone()));
                state.ask(Action::Go(Screen::HoldPoint(plot.clone(), standing.id.clone())));
            }
        });
    }
    ui.add_space(theme::GAP);
    if buttons::wide_button_ui(ui, Weight::Plain, "Level books of this plot") {
        state.ask(Action::Go(Screen::LevelBook(plot.clone(), None)));
    }
}
