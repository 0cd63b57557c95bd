//! The register for the quality manager: plots × hold points with their marks. From a mark to its evidence in one
//! tap; one gate released on several plots in one walk.

use std::collections::BTreeSet;
use std::sync::Arc;

use egui::epaint::TextShape;
use egui::{Align2, Rect, RichText, ScrollArea, Ui, pos2, vec2};
use gaugerod_core::ids::{GateId, HoldPointId, PlotId};
use gaugerod_core::inspection::PlotSummary;

use super::stand;
use crate::action::Action;
use crate::state::{Screen, State};
use crate::theme;
use crate::widgets::type_setting::{galley, line, tap};
use crate::widgets::verdict_mark::{self, cell};
use crate::widgets::{Mark, Weight, button_ui, choice_ui};

/// The name of the draft that holds the gate of the walk; empty for none.
const GATE: &str = "register/gate";
/// How the switch of one plot's tick begins.
const TICK: &str = "register/tick/";
/// Height of one row, in points.
const ROW: f32 = 56.0;
/// Height of the head, in points, and where its words stand upright.
const HEAD: f32 = 52.0;
const UPRIGHT_HEAD: f32 = 122.0;
/// Columns narrower than this would break words: they stand upright.
const UPRIGHT_BELOW: f32 = NAME;
/// Width of the column of plots.
const NAME: f32 = 92.0;
/// Width of the columns of figures at the right, where there is room.
const FIGURES: f32 = 96.0;

/// The table's measure.
struct Columns {
    ticks: f32,
    name: f32,
    mark: f32,
    figures: f32,
    hold_points: Vec<(HoldPointId, String)>,
}

/// The register.
pub fn register_ui(ui: &mut Ui, state: &mut State) {
    let Some(register) = &state.register else { return };
    let plots = Arc::clone(&register.plots);
    let gates: Vec<(GateId, String)> = register
        .site
        .plan
        .as_ref()
        .map(|(_, plan)| plan.gates.iter().map(|gate| (gate.id.clone(), gate.title.clone())).collect())
        .unwrap_or_default();
    if plots.is_empty() {
        ui.label("No plot has a floor design yet: read one in the site file.");
        return;
    }
    figures_ui(ui, state, &plots);
    let gate =
        GateId::new(state.drafts.text(GATE)).ok().filter(|id| gates.iter().any(|(known, _)| known == id));
    walk_ui(ui, state, &plots, &gates, gate.as_ref());
    table_ui(ui, state, &plots, gate.as_ref());
}

/// First-time conforming rate and open nonconformances.
fn figures_ui(ui: &mut Ui, state: &mut State, plots: &[PlotSummary]) {
    let (conforming, of) = plots.iter().fold((0_u64, 0_u64), |(conforming, of), plot| {
        (conforming + u64::from(plot.first_time.conforming), of + u64::from(plot.first_time.of))
    });
    let signed = plots.iter().filter(|plot| plot.signed_off).count();
    ui.horizontal_wrapped(|ui| {
        let rate = match of {
            0 => "Nothing read yet".to_owned(),
            _ => format!("OK the first time: {} of {of} ({})", conforming, percent(conforming, of)),
        };
        ui.label(RichText::new(rate).font(theme::strong(theme::VALUE)));
        ui.label(
            RichText::new(format!("· signed off: {signed} of {}", plots.len()))
                .font(theme::font(theme::VALUE)),
        );
        if button_ui(ui, Weight::Plain, "Recall a batch") {
            state.ask(Action::Go(Screen::Recall));
        }
        ui.label("· to release in one walk, tap a gate:");
    });
}

/// Whole percent, rounded down, so that only a whole record shows 100 %.
fn percent(part: u64, of: u64) -> String {
    format!("{} %", (part * 100).checked_div(of).unwrap_or(0))
}

/// The gate of the walk, and the button that releases it on the ticked plots.
fn walk_ui(
    ui: &mut Ui,
    state: &mut State,
    plots: &[PlotSummary],
    gates: &[(GateId, String)],
    gate: Option<&GateId>,
) {
    let row = if ui.available_width() < 1000.0 { 2 } else { gates.len().max(1) };
    let count = f32::from(u16::try_from(row).unwrap_or(1));
    let width = ((ui.available_width() - (count - 1.0) * theme::GAP) / count).min(300.0);
    for gates in gates.chunks(row) {
        ui.horizontal(|ui| {
            for (id, title) in gates {
                let offered = plots.iter().filter(|plot| stand::is_offered(plot, id)).count();
                ui.push_id(id.as_str(), |ui| {
                    let chosen = gate == Some(id);
                    let text = format!("{title}: {offered}");
                    if choice_ui(ui, chosen, &text, vec2(width, theme::TOUCH)) {
                        let now = if chosen { "" } else { id.as_str() };
                        now.clone_into(state.drafts.text_mut(GATE));
                        state.drafts.on.retain(|name, _| !name.starts_with(TICK));
                    }
                });
            }
        });
    }
    let Some(gate) = gate else { return };
    let ticked = ticked(state, plots, gate);
    ui.horizontal_wrapped(|ui| {
        let words = match ticked.len() {
            0 => "Tick the plots you stand on".to_owned(),
            1 => "Release on 1 plot".to_owned(),
            many => format!("Release on {many} plots"),
        };
        ui.add_enabled_ui(!ticked.is_empty(), |ui| {
            if button_ui(ui, Weight::Primary, &words) {
                state.drafts.on.retain(|name, _| !name.starts_with(TICK));
                state.ask(Action::ReleaseGates { gate: gate.clone(), plots: ticked });
            }
        });
        if button_ui(ui, Weight::Plain, "Tick all that are offered") {
            for plot in plots.iter().filter(|plot| stand::is_offered(plot, gate)) {
                state.drafts.on.insert(format!("{TICK}{}", plot.plot), true);
            }
        }
        ui.label("Your PIN signs each release.");
    });
}

fn ticked(state: &State, plots: &[PlotSummary], gate: &GateId) -> Vec<PlotId> {
    let on: BTreeSet<&str> = state
        .drafts
        .on
        .iter()
        .filter(|(_, on)| **on)
        .filter_map(|(name, _)| name.strip_prefix(TICK))
        .collect();
    plots
        .iter()
        .filter(|plot| on.contains(plot.plot.as_str()) && stand::is_offered(plot, gate))
        .map(|plot| plot.plot.clone())
        .collect()
}

fn table_ui(ui: &mut Ui, state: &mut State, plots: &[PlotSummary], gate: Option<&GateId>) {
    // Designs differ in what they ask for: every hold point that any plot has, in the plan's order.
    let asked: BTreeSet<&HoldPointId> =
        plots.iter().flat_map(|plot| &plot.hold_points).map(|one| &one.id).collect();
    let plan = state.register.as_ref().and_then(|register| register.site.plan.as_ref());
    let hold_points: Vec<(HoldPointId, String)> = plan
        .into_iter()
        .flat_map(|(_, plan)| &plan.hold_points)
        .filter(|one| asked.contains(&one.id))
        .map(|one| (one.id.clone(), one.short_title.clone()))
        .collect();
    // The bar of the scroll area stands at the right of the rows.
    let width = ui.available_width() - 16.0;
    let count = f32::from(u16::try_from(hold_points.len().max(1)).unwrap_or(u16::MAX));
    let ticks = if gate.is_some() { theme::TOUCH + theme::GAP } else { 0.0 };
    let figures = if width >= 1000.0 { FIGURES } else { 0.0 };
    // Where the window is too narrow for fingers the table is wider than it and is dragged sideways.
    let mark = ((width - ticks - NAME - 2.0 * figures) / count).clamp(theme::TOUCH + theme::GAP, 150.0);
    let columns = Columns { ticks, name: NAME, mark, figures, hold_points };
    let whole = ticks + NAME + mark * count + 2.0 * figures;
    theme::scroll(ScrollArea::horizontal().id_salt("table").auto_shrink([false, false])).show(ui, |ui| {
        ui.vertical(|ui| {
            ui.set_width(whole + 16.0);
            ui.spacing_mut().item_spacing.y = 0.0;
            head_ui(ui, &columns, whole);
            theme::scroll(ScrollArea::vertical().id_salt("rows").auto_shrink([false, false])).show_rows(
                ui,
                ROW,
                plots.len(),
                |ui, rows| {
                    for index in rows {
                        ui.push_id(("row", plots[index].plot.as_str()), |ui| {
                            row_ui(ui, state, &columns, &plots[index], gate)
                        });
                    }
                },
            );
        });
    });
}

fn head_ui(ui: &mut Ui, columns: &Columns, width: f32) {
    let sheet = theme::sheet(ui);
    let upright = columns.mark < UPRIGHT_BELOW;
    let (_, rect) = ui.allocate_space(vec2(width, if upright { UPRIGHT_HEAD } else { HEAD }));
    let painter = ui.painter();
    painter.rect_filled(rect, 0.0, sheet.band);
    let mut left = rect.left() + columns.ticks;
    let title = |left: f32, width: f32, words: &str| {
        let font = theme::strong(theme::LABEL);
        if width < UPRIGHT_BELOW {
            let text = galley(painter, words, font, sheet.ink, rect.height() - 14.0, 2);
            let at = pos2(left + (width - text.size().y) / 2.0, rect.bottom() - 7.0);
            painter.add(TextShape::new(at, text, sheet.ink).with_angle(-std::f32::consts::FRAC_PI_2));
        } else {
            let text = galley(painter, words, font, sheet.ink, width - 6.0, 2);
            let at = pos2(left + 4.0, rect.center().y - text.size().y / 2.0);
            painter.galley(at, text, sheet.ink);
        }
        painter.vline(left, rect.y_range(), sheet.hairline());
    };
    title(left, columns.name, "Plot");
    left += columns.name;
    for (_, words) in &columns.hold_points {
        title(left, columns.mark, words);
        left += columns.mark;
    }
    if columns.figures > 0.0 {
        title(left, columns.figures, "OK the first time");
        title(left + columns.figures, columns.figures, "Open, not OK");
    }
    painter.hline(rect.x_range(), rect.top() + 1.0, sheet.thick());
    painter.hline(rect.x_range(), rect.bottom() - 1.0, sheet.thick());
}

fn row_ui(ui: &mut Ui, state: &mut State, columns: &Columns, plot: &PlotSummary, gate: Option<&GateId>) {
    let sheet = theme::sheet(ui);
    let count = f32::from(u16::try_from(columns.hold_points.len()).unwrap_or(u16::MAX));
    let width = columns.ticks + columns.name + columns.mark * count + 2.0 * columns.figures;
    let (id, row) = ui.allocate_space(vec2(width, ROW));
    let at = |left: f32, width: f32| Rect::from_min_size(pos2(left, row.top()), vec2(width, ROW));
    let mut left = row.left();
    if let Some(gate) = gate {
        if stand::is_offered(plot, gate) {
            tick_ui(ui, state, at(left, columns.ticks), id.with("tick"), plot);
        }
        left += columns.ticks;
    }
    let name = at(left, columns.name);
    let response = tap(ui, name.shrink(4.0), id.with("plot"), &format!("plot {}", plot.plot));
    let fill = if response.is_pointer_button_down_on() { sheet.wash(sheet.next) } else { sheet.paper };
    ui.painter().rect_filled(name, 0.0, fill);
    line(
        ui.painter(),
        pos2(name.left() + 8.0, name.center().y),
        Align2::LEFT_CENTER,
        plot.plot.as_str(),
        theme::strong(20.0),
        sheet.ink,
        columns.name - 12.0,
    );
    if response.clicked() {
        state.ask(Action::Go(Screen::Section(plot.plot.clone())));
    }
    left += columns.name;
    for (hold_point, _) in &columns.hold_points {
        let place = at(left, columns.mark);
        left += columns.mark;
        let Some(one) = plot.hold_points.iter().find(|one| one.id == *hold_point) else { continue };
        let mark = stand::mark(one);
        let name = format!("plot {} {}: {}", plot.plot, one.title, mark.name());
        let response = tap(ui, place.shrink(4.0), id.with(hold_point.as_str()), &name);
        let gated = gate.is_some_and(|gate| one.gate == *gate);
        let fill = match (response.is_pointer_button_down_on(), gated && mark == Mark::Offered) {
            (true, _) => sheet.wash(sheet.next),
            (_, true) => sheet.wash(sheet.warn),
            _ => sheet.paper,
        };
        ui.painter().rect_filled(place, 0.0, fill);
        verdict_mark::paint(ui.painter(), place.center(), 30.0, mark, sheet);
        cell(ui.painter(), place, sheet);
        if response.has_focus() {
            ui.painter().rect_stroke(place.shrink(2.0), 0.0, sheet.thick(), egui::StrokeKind::Inside);
        }
        if response.clicked() {
            state.ask(Action::Go(Screen::HoldPoint(plot.plot.clone(), hold_point.clone())));
        }
    }
    if columns.figures > 0.0 {
        let first = plot.first_time;
        let rate =
            if first.of == 0 { "–".to_owned() } else { percent(first.conforming.into(), first.of.into()) };
        for (words, left) in [(rate, left), (plot.open.len().to_string(), left + columns.figures)] {
            let place = at(left, columns.figures);
            line(
                ui.painter(),
                pos2(place.right() - 12.0, place.center().y),
                Align2::RIGHT_CENTER,
                &words,
                theme::figures(theme::VALUE),
                sheet.ink,
                columns.figures - 16.0,
            );
            cell(ui.painter(), place, sheet);
        }
    }
    ui.painter().hline(row.x_range(), row.bottom(), sheet.hairline());
}

fn tick_ui(ui: &mut Ui, state: &mut State, place: Rect, id: egui::Id, plot: &PlotSummary) {
    let sheet = theme::sheet(ui);
    let key = format!("{TICK}{}", plot.plot);
    let on = state.drafts.on.get(&key).copied().unwrap_or(false);
    let name = format!("{} plot {}", if on { "Untick" } else { "Tick" }, plot.plot);
    let response = tap(ui, place.shrink(4.0), id, &name);
    let square = Rect::from_center_size(place.center(), vec2(30.0, 30.0));
    ui.painter().rect_filled(square, 0.0, if on { sheet.next } else { sheet.field });
    ui.painter().rect_stroke(square, 0.0, sheet.thick(), egui::StrokeKind::Inside);
    if on {
        let c = square.center();
        let stroke = egui::Stroke::new(theme::EXTRA, sheet.on_fill);
        ui.painter().line_segment([c + vec2(-8.0, 0.0), c + vec2(-2.0, 7.0)], stroke);
        ui.painter().line_segment([c + vec2(-2.0, 7.0), c + vec2(9.0, -8.0)], stroke);
    }
    if response.clicked() {
        state.drafts.on.insert(key, !on);
    }
}

#[cfg(test)]
mod tests {
    use egui_kittest::kittest::Queryable as _;

    use super::*;
    use crate::headless;
    use crate::screens::fixture::{Site, hold_point, plot};
    use crate::screens::window_ui;

    #[test]
    fn the_register_is_sound_at_every_size() {
        let mut site = Site::new();
        let mut state = site.state(Screen::Register);
        headless::check("register", |ui| window_ui(ui, &mut state));
        state.drafts.text.insert(GATE.to_owned(), "ready-for-beams".to_owned());
        headless::check("register with a walk", |ui| window_ui(ui, &mut state));
    }

    #[test]
    fn from_a_mark_to_its_evidence_in_one_tap() {
        let state = Site::new().state(Screen::Register);
        let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
        harness.get_by_label("plot 4 Vents: refused").click();
        harness.run();
        let wanted = Action::Go(Screen::HoldPoint(plot("4"), hold_point("vents")));
        assert_eq!(harness.state().actions, [wanted]);
    }

    #[test]
    fn one_gate_is_released_on_the_ticked_plots_that_are_offered() {
        let mut site = Site::new();
        let mut state = site.state(Screen::Register);
        site.hand_to_manager(&mut state);
        let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
        harness.get_by_label_contains("Ready for beams: 1").click();
        harness.run();
        assert!(harness.query_by_label("Tick plot 1").is_none(), "nothing is offered there");
        harness.get_by_label("Tick plot 3").click();
        harness.run();
        harness.get_by_label("Release on 1 plot").click();
        harness.run();
        let wanted = Action::ReleaseGates { gate: Site::first_gate(), plots: vec![plot("3")] };
        assert_eq!(harness.state().actions, [wanted]);
    }

    #[test]
    fn only_a_whole_record_shows_a_hundred_percent() {
        assert_eq!(
            [percent(999, 1000), percent(1000, 1000), percent(0, 3), percent(0, 0)],
            ["99 %", "100 %", "0 %", "0 %"]
        );
    }
}
