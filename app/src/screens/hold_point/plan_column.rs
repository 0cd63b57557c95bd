//! The plan in the middle: the design's outline, walls, openings, pipes and membrane, with the reading points of
//! the criterion that is being worked on. A tap on a point makes it the one to be read.

use std::sync::Arc;

use egui::{RichText, ScrollArea, Ui};
use gaugerod_core::ids::{CriterionId, HoldPointId};
use gaugerod_core::inspection::judge::CriterionStanding;
use gaugerod_core::inspection::underlay;
use gaugerod_core::plan_drawing::{Drawing, Parts, Similarity};
use gaugerod_core::plan_of_work::{CriterionKind, HoldPoint, Layer, Owed};

use super::{Work, beams, finish, keypad_column, layers, next_point};
use crate::action::Action;
use crate::screens::desk::Desk;
use crate::screens::{asking, marks};
use crate::state::{DrawnPlan, Screen, State};
use crate::theme;
use crate::underlays::Dim;
use crate::widgets::plan::Behind;
use crate::widgets::{self, Camera, PlanEvent, PlanView, Weight};

/// The plan of a criterion, put together once for each change of what stands in the register.
pub(super) fn drawing(
    state: &mut State,
    desk: &Desk,
    plan: &HoldPoint,
    criterion: Option<&CriterionStanding>,
) -> Arc<Drawing> {
    let of = (plan.id.clone(), criterion.map(|one| one.id.clone()));
    let drawn = state.drafts.plan.as_ref().filter(|one| Arc::ptr_eq(&one.view, &desk.view) && one.of == of);
    if let Some(drawn) = drawn {
        return Arc::clone(&drawn.drawing);
    }
    let membranes = matches!(plan.place_on_section, Layer::Membrane | Layer::Gas | Layer::Overlay);
    let parts = Parts { services: true, membranes };
    let drawing = Arc::new(Drawing::of(desk.view.record.design(), criterion, parts));
    let (view, own) = (Arc::clone(&desk.view), Arc::clone(&drawing));
    state.drafts.plan = Some(DrawnPlan { view, of, drawing: own });
    drawing
}

/// The plan in the space that is left, with what is named by hand above it.
pub(super) fn plan_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let of_beams = work.criterion.and_then(CriterionStanding::feed).is_some_and(beams::is_of_beams);
    if of_beams {
        return beams::middle_ui(ui, state, work);
    }
    if work.criterion.and_then(CriterionStanding::feed).is_some_and(layers::shows_the_stack) {
        return layers::middle_ui(ui, state, work);
    }
    let Some(criterion) = work.criterion else {
        return canvas_ui(ui, state, work);
    };
    if criterion.feed().is_some_and(finish::is_of_curing) {
        return finish::curve_ui(ui, work);
    }
    if criterion.feed().is_some_and(finish::is_of_finish) {
        let below = finish::above_ui(ui, criterion);
        let size = egui::vec2(ui.available_width(), ui.available_height() - below);
        ui.allocate_ui(size, |ui| canvas_ui(ui, state, work));
        if below > 0.0 {
            finish::profile_ui(ui, criterion, below);
        }
        return;
    }
    if !names_its_own(criterion) {
        return canvas_ui(ui, state, work);
    }
    // Many places with their readings may need more height than there is.
    let size = egui::vec2(ui.available_width(), (ui.available_height() * 0.6).max(240.0));
    theme::scroll(ScrollArea::vertical().id_salt("places").auto_shrink([false, false])).show(ui, |ui| {
        places_ui(ui, state, work, criterion);
        ui.allocate_ui(size, |ui| canvas_ui(ui, state, work));
    });
}

/// The plan itself; a tap on a point makes it the one to be read.
fn canvas_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let own = work.criterion.map(|one| (work.id.clone(), one.id.clone()));
    let plan_of = |own: &Option<(HoldPointId, CriterionId)>| own.as_ref().map(|(id, _)| id.clone());
    if plan_of(&state.drafts.camera.0) != plan_of(&own) {
        state.drafts.camera = (own, Camera::default());
    }
    let view = PlanView {
        drawing: Arc::clone(&work.drawing),
        current: work.point.clone(),
        ..behind(state, work.desk)
    };
    let mut camera = state.drafts.camera.1;
    let tapped = widgets::plan_ui(ui, &view, &mut camera);
    state.drafts.camera.1 = camera;
    match tapped {
        Some(PlanEvent::Point(point)) => {
            state.drafts.point = Some(point);
            asking::stop(state);
        }
        Some(PlanEvent::Drawing) if underlay::of(&work.desk.view.record).is_some() => {
            state.underlays.dim = state.underlays.dim.next();
        }
        Some(PlanEvent::Drawing) => state.ask(Action::Go(Screen::Underlay(work.desk.plot.clone()))),
        None => {}
    }
}

/// The drawing behind the plan, with what there is to say about it.
fn behind(state: &mut State, desk: &Desk) -> PlanView {
    let record = &desk.view.record;
    let Some((placed, _)) = underlay::of(record) else {
        let word = desk.can_record().then(|| "drawing …".to_owned());
        return PlanView { drawing_button: word, ..PlanView::default() };
    };
    let dim = state.underlays.dim;
    let button = Some(dim.word().to_owned());
    if dim == Dim::Off {
        return PlanView { drawing_button: button, ..PlanView::default() };
    }
    let picture = state.underlays.get((placed.document.sha256.0, placed.page));
    let warning = match &picture {
        Some(Err(sentence)) => Some(format!("Drawing behind the plan: {sentence}")),
        _ if underlay::is_of_another_revision(record, placed) => {
            let own = &record.design().revision;
            Some(format!("Drawing revision {}, floor design revision {own}", placed.revision))
        }
        _ => None,
    };
    let behind = picture.and_then(Result::ok).zip(Similarity::of(placed)).map(|(picture, similarity)| {
        Behind { texture: picture.id(), corners: similarity.corners(picture.tall), strength: dim.strength() }
    });
    PlanView { behind, warning, drawing_button: button, ..PlanView::default() }
}

/// Whether the person says where it is read.
fn names_its_own(criterion: &CriterionStanding) -> bool {
    matches!(&criterion.kind, CriterionKind::Reckoning { owed: Owed::AtLeast(_), .. })
}

/// The readings of places that the person named, and the name of the next one.
fn places_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, criterion: &CriterionStanding) {
    let Some(feed) = criterion.feed() else { return };
    ui.horizontal_wrapped(|ui| {
        for reading in &criterion.readings {
            ui.push_id(reading.entry.to_hex(), |ui| {
                ui.horizontal(|ui| {
                    widgets::mark_ui(ui, marks::of_reading(reading, criterion), 24.0);
                    let words = format!("{}: {}", reading.point, marks::value(reading.value, feed));
                    ui.label(RichText::new(words).font(theme::strong(theme::BODY)));
                });
            });
        }
    });
    if !work.desk.can_record() {
        return;
    }
    let name = keypad_column::place_name(work.desk, work.id, &criterion.id);
    ui.horizontal_wrapped(|ui| {
        ui.label("Where:");
        for place in next_point::suggestions(state, work.desk, work.id, criterion) {
            let chosen = work.point.as_ref() == Some(&place);
            // No scope of its own: a row wraps only what stands in it directly.
            if widgets::choice_ui(ui, chosen, place.as_str(), egui::vec2(96.0, theme::TOUCH)) {
                *state.drafts.text_mut(&name) = place.to_string();
            }
        }
        // A reading that is to be read again is chosen by its name.
        for reading in &criterion.readings {
            let again = format!("{} again", reading.point);
            if widgets::button_ui(ui, Weight::Plain, &again) {
                *state.drafts.text_mut(&name) = reading.point.to_string();
            }
        }
    });
    asking::field_ui(ui, state, &name, "or another place, in your words");
}
