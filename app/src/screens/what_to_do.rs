//! What would put levels right that do not conform: wall by wall in the trade's terms, where to dig, and whether one
//! shift of the whole floor would do, with what that moves. The person, the designer and the engineer decide.

use egui::{Frame, Grid, Label, Margin, Panel, RichText, ScrollArea, Ui};
use gaugerod_core::ids::{CriterionId, HoldPointId, PlotId};
use gaugerod_core::inspection::what_to_do::{WhatToDo, what_to_do};
use gaugerod_core::quantity::Length;
use gaugerod_core::reckon::common_shift;

use super::desk::{self, Desk};
use super::{marks, working};
use crate::action::Action;
use crate::state::{Screen, State};
use crate::theme;
use crate::widgets::{self, Mark, Weight};

/// The widest that text runs, in points.
const MEASURE: f32 = 900.0;

/// What would put one criterion right.
pub fn what_to_do_ui(
    ui: &mut Ui,
    state: &mut State,
    plot: &PlotId,
    id: &HoldPointId,
    criterion: &CriterionId,
) {
    let Some(desk) = Desk::of(state, plot) else {
        return desk::waiting_ui(ui, plot);
    };
    Panel::bottom("what to do foot")
        .resizable(false)
        .show_separator_line(false)
        .frame(Frame::new().inner_margin(Margin { top: 8, ..Margin::ZERO }))
        .show(ui, |ui| {
            if widgets::button_ui(ui, Weight::Plain, &format!("Back to {}", desk.title_of(id))) {
                state.ask(Action::Go(Screen::HoldPoint(plot.clone(), id.clone())));
            }
        });
    let Some(criterion) = desk.hold_point(id).and_then(|(_, standing)| standing.criterion(criterion)) else {
        ui.heading("The plan of work has no such criterion.");
        return;
    };
    ui.horizontal(|ui| {
        widgets::mark_ui(ui, marks::of_criterion(criterion), 34.0);
        ui.add(
            Label::new(
                RichText::new(format!("What to do: {}", desk.title_of(id)))
                    .font(theme::strong(theme::HEADING)),
            )
            .wrap(),
        );
    });
    theme::scroll(ScrollArea::vertical().id_salt("what to do").auto_shrink([false, false])).show(ui, |ui| {
        ui.set_width(ui.available_width().min(MEASURE));
        match what_to_do(&desk.view.record, criterion) {
            None => {
                ui.label("Nothing stands out here that could be put right by a level.");
            }
            Some(found) => found_ui(ui, &desk, &found),
        }
    });
}

fn found_ui(ui: &mut Ui, desk: &Desk, found: &WhatToDo) {
    for remedy in &found.remedies {
        ui.push_id(("wall", remedy.wall.as_str()), |ui| {
            widgets::notice_ui(ui, Mark::Nonconforming, &sentence(&remedy.text));
        });
    }
    for (point, by) in &found.dig {
        ui.push_id(("dig", point.as_str()), |ui| {
            widgets::notice_ui(
                ui,
                Mark::Nonconforming,
                &format!("Dig {} mm away at {point}.", by.mm_text(1)),
            );
        });
    }
    for (index, one) in found.advice.iter().enumerate() {
        ui.push_id(("advice", index), |ui| widgets::notice_ui(ui, Mark::Nonconforming, one));
    }
    if found.shift.is_some() {
        widgets::caution_bar_ui(
            ui,
            &["Never packing under single beams. What a wall can carry is the engineer's to say."],
        );
    }
    if let Some(shift) = &found.shift {
        ui.add_space(theme::GAP);
        shift_ui(ui, desk, shift);
    }
}

fn shift_ui(ui: &mut Ui, desk: &Desk, shift: &common_shift::Output) {
    ui.label(RichText::new("Would one shift of the whole floor do?").font(theme::strong(theme::HEADING)));
    let (mark, answer) = match shift.shift_mm {
        None => (Mark::Nonconforming, "No: the bearings lie too far apart for any one level.".to_owned()),
        Some(by) if by.0 == Length::ZERO => {
            (Mark::Conforming, "None is needed: every bearing lies within its limits.".to_owned())
        }
        Some(by) => (
            Mark::Undetermined,
            format!("{} mm would do. The designer decides, in writing.", by.0.signed_mm_text(1)),
        ),
    };
    widgets::notice_ui(ui, mark, &answer);
    if shift.shift_mm.is_some_and(|by| by.0 != Length::ZERO) {
        moved_ui(ui, desk, shift);
        for finding in shift.findings.iter().filter(|finding| !finding.caution) {
            widgets::notice_ui(ui, finding.verdict.into(), &sentence(&finding.reason));
        }
        for finding in shift.findings.iter().filter(|finding| finding.caution) {
            widgets::caution_bar_ui(ui, &[&sentence(&finding.reason)]);
        }
    }
    ui.add_space(theme::GAP);
    ui.label(RichText::new("Working").font(theme::strong(theme::BODY)));
    for (index, step) in shift.working.0.iter().enumerate() {
        ui.push_id(("step", index), |ui| working::step_ui(ui, index + 1, step));
    }
}

/// What a shift moves: as designed, and as it would be.
fn moved_ui(ui: &mut Ui, desk: &Desk, shift: &common_shift::Output) {
    let design = desk.view.record.design();
    let by = shift.shift_mm.map_or(Length::ZERO, |by| by.0);
    let metres = |length: Length| format!("{} m", length.m_text(3));
    let millimetres = |length: Length| format!("{} mm", length.mm_text(0));
    let mut rows = vec![
        ("Bearing level", metres(shift.bearing_level_m.0 - by), metres(shift.bearing_level_m.0)),
        (
            "Finished floor",
            metres(design.levels.finished_floor_level_m.0),
            metres(shift.finished_floor_level_m.0),
        ),
        (
            "Threshold above outside ground",
            millimetres(shift.threshold_mm.0 - by),
            millimetres(shift.threshold_mm.0),
        ),
    ];
    if let Some(void) = shift.least_void_mm {
        rows.push(("Least void", millimetres(void.0 - by), millimetres(void.0)));
    }
    Grid::new("moved").num_columns(3).spacing([24.0, 8.0]).show(ui, |ui| {
        for heading in ["", "as designed", "shifted"] {
            ui.label(RichText::new(heading).font(theme::font(theme::LABEL)).color(theme::sheet(ui).soft));
        }
        ui.end_row();
        for (what, now, then) in rows {
            ui.label(what);
            ui.label(RichText::new(now).font(theme::figures(theme::VALUE)));
            ui.label(RichText::new(then).font(theme::figures(theme::VALUE)));
            ui.end_row();
        }
    });
}

fn sentence(text: &str) -> String {
    let capital = crate::messages::capital(text);
    if capital.ends_with('.') { capital } else { format!("{capital}.") }
}

#[cfg(test)]
mod tests {
    use egui_kittest::kittest::Queryable as _;

    use super::*;
    use crate::headless;
    use crate::screens::fixture::{Site, hold_point, plot};

    fn screen(id: &str) -> Screen {
        Screen::WhatToDo(plot("2"), hold_point(id), CriterionId::new("level").unwrap())
    }

    #[test]
    fn what_to_do_passes_the_checks_where_something_is_wrong_and_where_nothing_is() {
        let mut site = Site::new();
        for id in ["bearing-level", "oversite"] {
            let mut state = site.state(screen(id));
            headless::check(&format!("what to do {id}"), |ui| crate::screens::window_ui(ui, &mut state));
        }
    }

    #[test]
    fn a_wall_too_high_is_taken_down_and_the_way_back_leads_to_the_hold_point() {
        let mut site = Site::new();
        let state = site.state(screen("bearing-level"));
        let mut harness = headless::harness(headless::SIZES[0], crate::screens::window_ui, state);
        assert!(harness.query_all_by_label_contains("take down and re-lay").count() >= 1);
        assert!(harness.query_all_by_label_contains("Never packing under single beams").count() >= 1);
        assert!(harness.query_all_by_label_contains("Would one shift of the whole floor do?").count() >= 1);
        harness.get_by_label("Back to Bearing level").click();
        harness.run();
        assert_eq!(
            harness.state().actions,
            [Action::Go(Screen::HoldPoint(plot("2"), hold_point("bearing-level")))]
        );
    }
}
