//! The site sheet: every plot as a narrow section strip that fills from the oversite up, searched by name, filtered
//! by what it waits for. A tap opens the plot's section.

use egui::{Align2, Rect, RichText, ScrollArea, StrokeKind, Ui, pos2, vec2};
use gaugerod_core::inspection::PlotSummary;

use super::stand::{self, Stage};
use crate::action::Action;
use crate::state::{Screen, State};
use crate::theme;
use crate::widgets::section_strip::Slice;
use crate::widgets::type_setting::{line, picture};
use crate::widgets::{Mark, StripView, Weight, button_ui, choice_ui, field_ui, strip_grid_ui};

/// The name of the draft that holds what is searched for.
const SEARCH: &str = "site/search";
/// The name of the draft that holds the stage that is shown; empty for all.
const STAGE: &str = "site/stage";

/// One plot as it is painted.
struct Tile {
    index: usize,
    waits_for: String,
    mark: Option<Mark>,
    slices: Vec<Slice>,
}

/// The site sheet.
pub fn site_sheet_ui(ui: &mut Ui, state: &mut State) {
    let Some(register) = &state.register else { return };
    let plots = std::sync::Arc::clone(&register.plots);
    if plots.is_empty() {
        empty_ui(ui, state);
        return;
    }
    filter_ui(ui, state, &plots);
    let (search, stage) = (state.drafts.text(SEARCH).trim().to_lowercase(), state.drafts.text(STAGE));
    let shown: Vec<Tile> = plots
        .iter()
        .enumerate()
        .filter(|(_, plot)| search.is_empty() || plot.plot.as_str().to_lowercase().contains(&search))
        .filter(|(_, plot)| stage.is_empty() || Stage::of(plot).word() == stage)
        .map(|(index, plot)| Tile {
            index,
            waits_for: stand::waits_for(plot),
            mark: stand::attention(plot),
            slices: stand::slices(plot),
        })
        .collect();
    if shown.is_empty() {
        ui.add_space(12.0);
        ui.label("No plot is like that.");
        if button_ui(ui, Weight::Plain, "Show all plots") {
            state.drafts.text_mut(SEARCH).clear();
            state.drafts.text_mut(STAGE).clear();
        }
        return;
    }
    legend_ui(ui);
    let tapped = strip_grid_ui(ui, shown.len(), |place| {
        let tile = &shown[place];
        StripView {
            name: plots[tile.index].plot.as_str(),
            waits_for: &tile.waits_for,
            mark: tile.mark,
            slices: &tile.slices,
        }
    });
    if let Some(place) = tapped {
        state.ask(Action::Go(Screen::Section(plots[shown[place].index].plot.clone())));
    }
}

/// Search, and one box for each stage with how many plots are in it and whom they wait for.
fn filter_ui(ui: &mut Ui, state: &mut State, plots: &[PlotSummary]) {
    let narrow = ui.available_width() < 1000.0;
    let count = |stage: Option<Stage>| {
        stage.map_or(plots.len(), |stage| plots.iter().filter(|plot| Stage::of(plot) == stage).count())
    };
    let current = state.drafts.text(STAGE).to_owned();
    let boxes_ui = |ui: &mut Ui, chosen: &mut Option<String>| {
        let stages = [None].into_iter().chain(Stage::ALL.map(Some));
        let width = (ui.available_width() - 4.0 * theme::GAP) / 5.0;
        ui.horizontal(|ui| {
            for stage in stages {
                let word = stage.map_or("", Stage::word);
                ui.push_id(("stage", word), |ui| {
                    let title = if stage.is_none() { "all plots" } else { word };
                    let label = match stage {
                        Some(stage) if width > 140.0 => {
                            format!("{title}: {}\n{}", count(Some(stage)), stage.waits_for())
                        }
                        _ => format!("{title}: {}", count(stage)),
                    };
                    if choice_ui(ui, current == word, &label, vec2(width, 56.0)) {
                        *chosen = Some(word.to_owned());
                    }
                });
            }
        });
    };
    let mut chosen = None;
    if narrow {
        field_ui(ui, "Search for a plot", "its name", state.drafts.text_mut(SEARCH));
        boxes_ui(ui, &mut chosen);
    } else {
        ui.horizontal_top(|ui| {
            ui.allocate_ui(vec2(200.0, 0.0), |ui| {
                field_ui(ui, "Search for a plot", "its name", state.drafts.text_mut(SEARCH));
            });
            ui.vertical(|ui| {
                ui.add_space(12.0);
                boxes_ui(ui, &mut chosen);
            });
        });
    }
    if let Some(word) = chosen {
        word.clone_into(state.drafts.text_mut(STAGE));
    }
}

/// What the slices of a strip say, in the order in which they come about.
fn legend_ui(ui: &mut Ui) {
    let sheet = theme::sheet(ui);
    let (id, rect) = ui.allocate_space(vec2(ui.available_width(), 22.0));
    let signs = [
        ("not open", sheet.paper),
        ("being worked on", sheet.next),
        ("offered", sheet.warn),
        ("released", sheet.ok),
        ("not OK or stopped", sheet.bad),
    ];
    let painter = ui.painter();
    let mut left = rect.left();
    for (words, fill) in signs {
        let sign = Rect::from_min_size(pos2(left, rect.top() + 4.0), vec2(24.0, 14.0));
        painter.rect_filled(sign, 0.0, fill);
        painter.rect_stroke(sign, 0.0, sheet.thin(), StrokeKind::Inside);
        let at = pos2(sign.right() + 6.0, sign.center().y);
        let text =
            line(painter, at, Align2::LEFT_CENTER, words, theme::font(theme::LABEL), sheet.soft, 160.0);
        left = text.right() + 18.0;
    }
    picture(ui, rect, id, "A strip fills from the oversite up: one slice for each hold point");
}

/// A site without plots: what to do first.
fn empty_ui(ui: &mut Ui, state: &mut State) {
    theme::scroll(ScrollArea::vertical().auto_shrink([false, false])).show(ui, |ui| {
        ui.add_space(12.0);
        ui.label(RichText::new("No plot has a floor design yet").font(theme::strong(theme::HEADING)));
        ui.add(
            egui::Label::new("Enrol who works with the register, then read a floor design file and issue it for its plots.")
                .wrap(),
        );
        if button_ui(ui, Weight::Primary, "Open the site file") {
            state.ask(Action::Go(Screen::SiteFile));
        }
    });
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use egui_kittest::kittest::Queryable as _;
    use gaugerod_core::ids::PlotId;

    use super::*;
    use crate::headless;
    use crate::screens::fixture::{Site, plot};
    use crate::screens::window_ui;

    /// The invented site with its plots over and over again.
    fn thousand() -> State {
        let mut state = Site::new().state(Screen::Site);
        let register = state.register.as_mut().expect("open");
        let few = Arc::clone(&register.plots);
        let many = (1..=1000).zip(few.iter().cycle()).map(|(number, like)| PlotSummary {
            plot: PlotId::new(&number.to_string()).expect("a plot's name"),
            ..like.clone()
        });
        register.plots = Arc::new(many.collect());
        state
    }

    #[test]
    fn the_site_sheet_is_sound_at_every_size() {
        let mut state = Site::new().state(Screen::Site);
        headless::check("site sheet", |ui| window_ui(ui, &mut state));
        let mut state = thousand();
        headless::check("site sheet of a thousand", |ui| window_ui(ui, &mut state));
        let mut empty = Site::new().state(Screen::Site);
        empty.register.as_mut().expect("open").plots = Arc::default();
        headless::check("site sheet without plots", |ui| window_ui(ui, &mut empty));
    }

    #[test]
    fn a_tap_on_a_plot_opens_its_section() {
        let state = Site::new().state(Screen::Site);
        let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
        harness.get_by_label("plot 4: Vents: refused, refused").click();
        harness.run();
        assert_eq!(harness.state().actions, [Action::Go(Screen::Section(plot("4")))]);
    }

    #[test]
    fn the_filter_leaves_what_it_names() {
        let state = Site::new().state(Screen::Site);
        let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
        harness.get_by_label_contains("stopped: 3").click();
        harness.run();
        assert!(harness.query_by_label_contains("plot 4:").is_some());
        assert!(harness.query_by_label_contains("plot 3:").is_none());
        harness.state_mut().drafts.text.insert(SEARCH.to_owned(), "99".to_owned());
        harness.run();
        harness.get_by_label("Show all plots").click();
        harness.run();
        assert!(harness.query_by_label_contains("plot 3:").is_some());
    }
}
