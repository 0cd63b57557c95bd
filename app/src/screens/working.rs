//! The working behind a verdict: every step with its numbers, formula, value and source, so that anybody can
//! reckon it again by hand.

use egui::{Frame, Label, Margin, Panel, RichText, ScrollArea, Ui};
use gaugerod_core::conformity::Verdict;
use gaugerod_core::ids::{CriterionId, HoldPointId, PlotId};
use gaugerod_core::inspection::judge::CriterionStanding;
use gaugerod_core::working::Step;

use super::desk::{self, Desk};
use super::marks;
use crate::action::Action;
use crate::state::{Screen, State};
use crate::theme;
use crate::widgets::{self, Mark, Weight};

/// The widest that text runs, in points: longer lines are hard to follow.
const MEASURE: f32 = 900.0;

/// The working of one criterion.
pub fn working_ui(ui: &mut Ui, state: &mut State, plot: &PlotId, id: &HoldPointId, criterion: &CriterionId) {
    let Some(desk) = Desk::of(state, plot) else {
        return desk::waiting_ui(ui, plot);
    };
    let found = desk.hold_point(id).and_then(|(_, standing)| standing.criterion(criterion));
    Panel::bottom("working foot")
        .resizable(false)
        .show_separator_line(false)
        .frame(Frame::new().inner_margin(Margin { top: 8, ..Margin::ZERO }))
        .show(ui, |ui| {
            if widgets::button_ui(ui, Weight::Plain, &format!("Back to {}", desk.title_of(id))) {
                state.ask(Action::Go(Screen::HoldPoint(plot.clone(), id.clone())));
            }
        });
    let Some(criterion) = found else {
        ui.heading("The plan of work has no such criterion.");
        return;
    };
    head_ui(ui, &desk, id, criterion);
    theme::scroll(ScrollArea::vertical().id_salt("working").auto_shrink([false, false])).show(ui, |ui| {
        ui.set_width(ui.available_width().min(MEASURE));
        let Some(first) = criterion.reckoned.first() else {
            ui.label("There is nothing to reckon yet: book a reading first.");
            return;
        };
        for (part, reckoned) in criterion.reckoned.iter().enumerate() {
            if let Some(about) = &reckoned.about {
                ui.label(RichText::new(about).font(theme::strong(theme::HEADING)));
            }
            for (index, step) in reckoned.working.0.iter().enumerate() {
                ui.push_id(("step", part, index), |ui| step_ui(ui, index + 1, step));
            }
            if reckoned.working.0.is_empty() {
                ui.label("This reckoning has no sum: it goes by the findings above.");
            }
        }
        let name = first.name.as_str();
        ui.label(
            RichText::new(format!("To reckon it again: gaugerod reckon {name}")).color(theme::sheet(ui).soft),
        );
    });
}

fn head_ui(ui: &mut Ui, desk: &Desk, id: &HoldPointId, criterion: &CriterionStanding) {
    let soft = theme::sheet(ui).soft;
    ui.horizontal(|ui| {
        widgets::mark_ui(ui, marks::of_criterion(criterion), 34.0);
        ui.vertical(|ui| {
            ui.add(Label::new(RichText::new(&criterion.title).font(theme::strong(theme::HEADING))).wrap());
            let word = marks::of_criterion(criterion).name();
            ui.label(
                RichText::new(format!("{}: {word}, {}", desk.title_of(id), marks::progress(criterion)))
                    .color(soft),
            );
        });
    });
    if let Some(limit) = &criterion.limit {
        ui.add(Label::new(RichText::new(format!("Limit: {limit}")).font(theme::strong(theme::BODY))).wrap());
    }
    let heeded = |one: &&gaugerod_core::inspection::judge::FindingStanding| {
        one.caution || one.verdict != Verdict::Conforming
    };
    for finding in criterion.findings.iter().filter(heeded).take(3) {
        let words = format!("{} ({})", finding.what, finding.source);
        if finding.caution {
            widgets::caution_bar_ui(ui, &[&words]);
            continue;
        }
        let mark = if finding.settled { Mark::Concession } else { finding.verdict.into() };
        widgets::notice_ui(ui, mark, &words);
    }
    ui.add_space(theme::GAP);
}

pub(super) fn step_ui(ui: &mut Ui, number: usize, step: &Step) {
    let sheet = theme::sheet(ui);
    ui.add(
        Label::new(RichText::new(format!("{number}. {}", step.step)).font(theme::strong(theme::BODY))).wrap(),
    );
    ui.indent("sum", |ui| {
        ui.spacing_mut().item_spacing.y = 2.0;
        let value = format!("{} = {}{}", pretty(&step.formula), step.value_shown(), unit(&step.unit));
        ui.add(Label::new(RichText::new(value.replace('-', "−")).font(theme::figures(theme::VALUE))).wrap());
        ui.add(
            Label::new(
                RichText::new(format!("Source: {}", step.source))
                    .font(theme::font(theme::LABEL))
                    .color(sheet.soft),
            )
            .wrap(),
        );
    });
    ui.separator();
}

/// A formula as it is written by hand: × for a product.
fn pretty(formula: &str) -> String {
    formula.replace(" * ", " × ")
}

/// A unit as it stands behind a value, with the space before it.
pub(super) fn unit(unit: &str) -> String {
    match unit {
        "1" => String::new(),
        "m2" => " m²".to_owned(),
        "mm2" => " mm²".to_owned(),
        unit => format!(" {unit}"),
    }
}

#[cfg(test)]
mod tests {
    use egui_kittest::kittest::Queryable as _;

    use super::*;
    use crate::headless;
    use crate::screens::fixture::{Site, hold_point, plot};

    fn screen(id: &str, criterion: &str) -> Screen {
        Screen::Working(plot("2"), hold_point(id), CriterionId::new(criterion).unwrap())
    }

    #[test]
    fn the_working_passes_the_checks_with_and_without_a_sum() {
        let mut site = Site::new();
        for (id, criterion) in
            [("bearing-level", "level"), ("bearing-level", "build-up"), ("dpc", "lap"), ("oversite", "level")]
        {
            let mut state = site.state(screen(id, criterion));
            headless::check(&format!("{id}/{criterion}"), |ui| crate::screens::window_ui(ui, &mut state));
        }
    }

    #[test]
    fn every_step_shows_formula_value_and_source() {
        let mut site = Site::new();
        let state = site.state(screen("bearing-level", "build-up"));
        let view = state.plot(&plot("2")).unwrap();
        let working = view.standing.hold_point(&hold_point("bearing-level")).unwrap().criteria[0].reckoned[0]
            .working
            .clone();
        let harness = headless::harness(headless::SIZES[1], crate::screens::window_ui, state);
        for step in &working.0[..3] {
            assert!(harness.query_all_by_label_contains(&step.step).count() >= 1, "{}", step.step);
            let value = format!("= {}{}", step.value_shown(), unit(&step.unit));
            assert!(harness.query_all_by_label_contains(&value).count() >= 1, "{value}");
        }
        assert!(harness.query_all_by_label_contains("Source: floor design").count() >= 3);
    }

    #[test]
    fn the_way_back_leads_to_the_hold_point() {
        let mut site = Site::new();
        let state = site.state(screen("bearing-level", "level"));
        let mut harness = headless::harness(headless::SIZES[0], crate::screens::window_ui, state);
        harness.get_by_label("Back to Bearing level").click();
        harness.run();
        assert_eq!(
            harness.state().actions,
            [Action::Go(Screen::HoldPoint(plot("2"), hold_point("bearing-level")))]
        );
    }
}
