//! One hold point: what must be true, the plan with its reading points, the keypad or the answer, the photos, and
//! the offer or the release.
//!
//! Three columns that keep their places whatever is asked: left what must be true and what may be decided, middle
//! the plan with the photos along its foot, right what to do now. In portrait the left column lies above the plan
//! and the right one below it.
//!
//! - [`criteria`]: what must be true · [`plan_column`]: the plan
//! - [`keypad_column`]: readings in figures · [`gauge_column`]: many at once by a go/no-go gauge
//! - [`next_point`]: which point is up
//! - [`finish`]: under the plan of the finished topping, the maturity curve · [`curing_column`]: temperatures
//! - [`answers`]: questions and documents · [`photos`]: the strip · [`decisions`]: offer, release, refuse
//!
//! Verdicts come from `inspection`, also the one shown while a figure is typed; what may be done is asked of its
//! rules (see [`super::desk`]).

mod answers;
#[cfg(test)]
mod beam_tests;
mod beams;
mod criteria;
mod curing_column;
mod decisions;
mod delivery;
mod finish;
#[cfg(test)]
mod finish_tests;
mod gauge_column;
mod keypad_column;
#[cfg(test)]
mod layer_tests;
mod layers;
mod levels;
mod next_point;
mod papers;
mod photos;
mod plan_column;
#[cfg(test)]
mod tests;

pub use curing_column::ReadTemperatures;
pub use photos::short as short_subject;
use std::sync::Arc;

use egui::{Frame, Margin, Panel, ScrollArea, Ui};
use gaugerod_core::ids::{HoldPointId, PlotId, PointName};
use gaugerod_core::inspection::judge::CriterionStanding;
use gaugerod_core::inspection::standing::HoldPointStanding;
use gaugerod_core::plan_drawing::Drawing;
use gaugerod_core::plan_of_work::{CriterionKind, HoldPoint};

use levels::{level_book_ui, wants_levels};

use super::asking::{self, Asking};
use super::desk::{self, Desk};
use super::marks;
use crate::state::State;
use crate::theme;
use crate::widgets::{self, keypad};

/// Height of the strip of photos, in points.
const PHOTOS: f32 = 104.0;

/// What is being worked on: one criterion of one hold point, and one point of it.
struct Work<'a> {
    desk: &'a Desk,
    id: &'a HoldPointId,
    plan: &'a HoldPoint,
    standing: &'a HoldPointStanding,
    criterion: Option<&'a CriterionStanding>,
    point: Option<PointName>,
    drawing: Arc<Drawing>,
}

/// A hold point of a plot.
pub fn hold_point_ui(ui: &mut Ui, state: &mut State, plot: &PlotId, id: &HoldPointId) {
    let Some(desk) = Desk::of(state, plot) else {
        return desk::waiting_ui(ui, plot);
    };
    let Some((plan, standing)) = desk.hold_point(id) else {
        ui.heading(format!("The plan of work has no hold point {id}."));
        return;
    };
    let criterion = chosen(state, standing);
    keypad_column::settle_drafts(state, &desk, standing);
    let drawing = plan_column::drawing(state, &desk, plan, criterion);
    let point = criterion.and_then(|one| next_point::point(state, &desk, id, one, &drawing));
    let work = Work { desk: &desk, id, plan, standing, criterion, point, drawing };
    let size = ui.available_size();
    if size.x < size.y { portrait_ui(ui, state, &work) } else { landscape_ui(ui, state, &work) }
}

/// The criterion that was chosen, or the first that something is owed or wrong with.
fn chosen<'a>(state: &mut State, standing: &'a HoldPointStanding) -> Option<&'a CriterionStanding> {
    if let Some((own, criterion)) = &state.drafts.criterion
        && *own == standing.id
        && let Some(found) = standing.criterion(criterion)
    {
        return Some(found);
    }
    let owing = standing.criteria.iter().find(|one| !one.owed.is_empty());
    let wrong = || standing.criteria.iter().find(|one| marks::of_criterion(one).is_trouble());
    let found = owing.or_else(wrong).or(standing.criteria.first())?;
    choose(state, standing, found);
    Some(found)
}

fn choose(state: &mut State, standing: &HoldPointStanding, criterion: &CriterionStanding) {
    state.drafts.criterion = Some((standing.id.clone(), criterion.id.clone()));
    state.drafts.point = None;
}

fn panel(side: Panel) -> Panel {
    side.resizable(false).show_separator_line(false)
}

fn landscape_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let size = ui.available_size();
    let (left, right) = ((size.x * 0.26).clamp(250.0, 330.0), (size.x * 0.285).clamp(290.0, 372.0));
    let beside = |left: i8, right: i8| Frame::new().inner_margin(Margin { left, right, top: 0, bottom: 0 });
    panel(Panel::right("now")).exact_size(right).frame(beside(12, 0)).show(ui, |ui| {
        now_ui(ui, state, work);
    });
    panel(Panel::left("facts")).exact_size(left).frame(beside(0, 12)).show(ui, |ui| {
        facts_ui(ui, state, work);
    });
    panel(Panel::top("cautions")).frame(Frame::NONE).show(ui, |ui| cautions_ui(ui, work));
    panel(Panel::bottom("photos")).exact_size(PHOTOS).frame(Frame::NONE).show(ui, |ui| {
        photos::photos_ui(ui, state, work);
    });
    plan_column::plan_ui(ui, state, work);
}

fn portrait_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let size = ui.available_size();
    panel(Panel::top("cautions")).frame(Frame::NONE).show(ui, |ui| cautions_ui(ui, work));
    let below = Frame::new().inner_margin(Margin { top: 8, ..Margin::ZERO });
    // The keypad with the reading that is there above it, and the reasons why it is read again.
    let height = keypad::LEAST_HEIGHT + 140.0;
    panel(Panel::bottom("below")).exact_size(height).frame(below).show(ui, |ui| {
        let right = Frame::new().inner_margin(Margin { left: 14, ..Margin::ZERO });
        panel(Panel::right("facts")).exact_size(size.x * 0.46).frame(right).show(ui, |ui| {
            facts_ui(ui, state, work);
        });
        now_ui(ui, state, work);
    });
    panel(Panel::bottom("photos")).exact_size(PHOTOS).frame(Frame::NONE).show(ui, |ui| {
        photos::photos_ui(ui, state, work);
    });
    plan_column::plan_ui(ui, state, work);
}

/// What must be true, with what may be decided below it.
fn facts_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    panel(Panel::bottom("decisions"))
        .frame(Frame::NONE)
        .show(ui, |ui| decisions::decisions_ui(ui, state, work));
    criteria::criteria_ui(ui, state, work);
}

fn cautions_ui(ui: &mut Ui, work: &Work<'_>) {
    let cautions: Vec<&str> = work.standing.cautions.iter().map(String::as_str).collect();
    widgets::caution_bar_ui(ui, &cautions);
    if !cautions.is_empty() {
        ui.add_space(theme::GAP);
    }
}

/// What to do now: a question of ours, a reading, an answer, a document; or what comes next.
fn now_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let mine = |one: &Asking| match one {
        Asking::Pin => true,
        Asking::Refuse(id)
        | Asking::Raise(id, _)
        | Asking::Cover(id)
        | Asking::Assess(id)
        | Asking::Photo(id) => id == work.id,
        Asking::RefuseGate(_) | Asking::Close(_) | Asking::Concede(_) => false,
    };
    if let Some(asked) = asking::current(state, work.desk, mine) {
        theme::scroll(ScrollArea::vertical().id_salt("asking").auto_shrink([false, false])).show(ui, |ui| {
            asking::asking_ui(ui, state, work.desk, &asked);
        });
        return;
    }
    let Some(criterion) = work.criterion else {
        ui.label("Nothing has to be proved here but by photos.");
        return;
    };
    match &criterion.kind {
        CriterionKind::Reckoning { feed, .. } if feed.unit().is_some() => {
            keypad_column::keypad_column_ui(ui, state, work, criterion, *feed);
        }
        CriterionKind::Reckoning { feed, .. } if finish::is_of_curing(*feed) => {
            curing_column::column_ui(ui, state, work, criterion);
        }
        CriterionKind::Reckoning { .. } => answers::sum_ui(ui, state, work, criterion),
        CriterionKind::Question { not_applicable_reasons } => {
            answers::question_ui(ui, state, work, criterion, not_applicable_reasons);
        }
        CriterionKind::Document { what, not_applicable_reasons } => {
            answers::document_ui(ui, state, work, criterion, what, not_applicable_reasons);
        }
    }
}

/// What is owed next, as the one button to go on with: another criterion, then a photo, then nothing more.
fn onward_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let all = &work.standing.criteria;
    let own = work.criterion.and_then(|own| all.iter().position(|one| one.id == own.id)).unwrap_or(0);
    let next = all.iter().cycle().skip(own + 1).take(all.len()).find(|one| !one.owed.is_empty());
    let next = next.filter(|one| work.criterion.is_none_or(|own| own.id != one.id));
    if let Some(next) = next {
        ui.label("Next:");
        if widgets::buttons::wide_button_ui(ui, widgets::Weight::Primary, &next.title) {
            choose(state, work.standing, next);
        }
        return;
    }
    let photo = work.standing.evidence.iter().find(|one| one.photos.len() < one.wanted);
    if let Some(photo) = photo.filter(|_| all.iter().all(|one| one.owed.is_empty())) {
        ui.label("Next:");
        if widgets::buttons::wide_button_ui(ui, widgets::Weight::Primary, &format!("Photo: {}", photo.title))
        {
            state.drafts.subject = Some(photo.subject.clone());
            asking::ask(state, work.desk, Asking::Photo(work.id.clone()));
        }
    }
}
