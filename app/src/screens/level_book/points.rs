//! The points to pick from: those still owed first, by walls; for a fore sight the bench marks to close on and the
//! next change point, or any name.

use egui::{RichText, ScrollArea, Ui, vec2};
use gaugerod_core::entry::{BookMethod, SightKind};
use gaugerod_core::ids::PointName;

use super::course::Stop;
use super::keys::keep;
use super::work::{Earlier, Now, Work};
use crate::screens::asking;
use crate::state::State;
use crate::theme;
use crate::widgets::{self, Weight, buttons};

/// Width of a point's key, in points.
const KEY: f32 = 64.0;
/// The name of the draft that holds the name of a point that the person gives.
const OWN_NAME: &str = "level/own-point";

/// The list, in the place of the keypad.
pub(super) fn points_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, now: &Now<'_>) {
    ui.horizontal(|ui| {
        ui.label(RichText::new("Which point?").font(theme::strong(theme::HEADING)));
        if widgets::button_ui(ui, Weight::Plain, "Go back") {
            state.drafts.levels.picking = false;
        }
    });
    theme::scroll(ScrollArea::vertical().id_salt("points").auto_shrink([false, false])).show(ui, |ui| {
        ui.set_width(ui.available_width() - 4.0);
        if now.kind == SightKind::Fore {
            fores_ui(ui, state, work, now);
        }
        if now.kind == SightKind::Inter || work.method() != BookMethod::Receiver {
            stops_ui(ui, state, work, now);
        }
        if now.kind == SightKind::Inter {
            let marks: Vec<&PointName> = work.course.marks.iter().collect();
            group_ui(ui, state, work, now, "Bench marks, as a check", &marks);
        }
    });
}

fn fores_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, now: &Now<'_>) {
    let marks: Vec<&PointName> = work.course.marks.iter().collect();
    group_ui(ui, state, work, now, "Close on", &marks);
    if work.method() == BookMethod::Receiver {
        return;
    }
    let next = work.course.change_point();
    group_ui(ui, state, work, now, "Change point", &next.iter().collect::<Vec<_>>());
    asking::field_ui(ui, state, OWN_NAME, "or a name of your own");
    let own = PointName::new(state.drafts.text(OWN_NAME).trim()).ok();
    ui.add_enabled_ui(own.is_some(), |ui| {
        if let (true, Some(own)) = (widgets::button_ui(ui, Weight::Plain, "Take this name"), own) {
            state.drafts.text.remove(OWN_NAME);
            pick(state, work, now, &own);
        }
    });
}

/// The points of the design, wall by wall: what is owed before what is read.
fn stops_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, now: &Now<'_>) {
    let mut groups: Vec<&str> = Vec::new();
    for stop in &work.course.stops {
        if !groups.contains(&stop.group.as_str()) {
            groups.push(&stop.group);
        }
    }
    for is_done in [false, true] {
        for group in &groups {
            let own = |stop: &&Stop| stop.group == *group && (stop.is_here || stop.is_read) == is_done;
            let points: Vec<&PointName> =
                work.course.stops.iter().filter(own).map(|stop| &stop.point).collect();
            let heading = if is_done { format!("{group}, read") } else { (*group).to_owned() };
            group_ui(ui, state, work, now, &heading, &points);
        }
    }
}

fn group_ui(
    ui: &mut Ui,
    state: &mut State,
    work: &Work<'_>,
    now: &Now<'_>,
    heading: &str,
    points: &[&PointName],
) {
    if points.is_empty() {
        return;
    }
    ui.label(RichText::new(heading).color(theme::sheet(ui).soft));
    ui.push_id(heading, |ui| {
        ui.horizontal_wrapped(|ui| {
            for point in points {
                let wide = match point.as_str().chars().count() {
                    0..=4 => KEY,
                    5..=12 => 2.0 * KEY + theme::GAP,
                    _ => ui.max_rect().width(),
                };
                if buttons::choice_ui(
                    ui,
                    now.point == **point,
                    point.as_str(),
                    vec2(wide, theme::TOUCH + 4.0),
                ) {
                    pick(state, work, now, point);
                }
            }
        });
    });
}

/// Takes the point into work; the list goes.
fn pick(state: &mut State, work: &Work<'_>, now: &Now<'_>, point: &PointName) {
    state.drafts.levels.picking = false;
    if let Some(Earlier::Sight(_)) = now.earlier {
        if let Some(own) = &mut state.drafts.levels.correcting {
            own.point = Some(point.clone());
        }
        return;
    }
    state.drafts.levels.because = None;
    keep(state, work.draft(state, "sight"), now.kind.word().to_owned());
    keep(state, work.draft(state, "point"), point.to_string());
}
