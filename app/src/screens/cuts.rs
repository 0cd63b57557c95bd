//! Cuts: the infill of several plots cut together, as bars to be read beside the saw.
//!
//! Which plots are cut together is chosen here; the plan is looked for beside the window and can be stopped. The
//! cut sheets are one PDF page a plot.

#[cfg(test)]
pub(crate) mod tests;

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::Arc;

use egui::{Frame, Label, Margin, Panel, RichText, ScrollArea, Ui, vec2};
use gaugerod_core::ids::PlotId;
use gaugerod_core::inspection::cut_plan::{Candidate, CutPlan, PlotCuts};
use gaugerod_core::signoff::cut_sheets;

use super::desk;
use crate::action::Action;
use crate::state::State;
use crate::theme;
use crate::widgets::{self, Mark, Weight, buttons};
use crate::worker::cuts::FoundCuts;

/// What is shown of a cut plan.
#[derive(Debug, Clone)]
pub struct Cuts {
    /// The plot that it was asked from.
    pub plot: PlotId,
    /// Plots that could be cut together.
    pub candidates: Vec<Candidate>,
    /// The plan; `None` while it is looked for.
    pub plan: Option<Arc<CutPlan>>,
    /// Why there is none.
    pub refused: Option<String>,
    /// Whether a person stopped the search.
    pub stopped: bool,
    /// The cut sheets, once they are written.
    pub file: Option<PathBuf>,
}

impl Cuts {
    /// Nothing found yet.
    pub const fn waiting(plot: PlotId) -> Self {
        Self { plot, candidates: Vec::new(), plan: None, refused: None, stopped: false, file: None }
    }

    /// What a search found.
    pub fn of(found: FoundCuts) -> Self {
        let (plan, refused) = match found.result {
            Ok(plan) => (Some(plan), None),
            Err(sentence) => (None, Some(sentence)),
        };
        Self {
            plot: found.plot,
            candidates: found.candidates,
            plan,
            refused,
            stopped: found.stopped,
            file: None,
        }
    }
}

/// The name of the switch of a plot that is to be cut together.
pub fn switch(plot: &PlotId) -> String {
    format!("cuts/{plot}")
}

/// The draft that holds whose bars are shown.
pub const SHOWN: &str = "cuts/shown";

/// The screen.
pub fn cuts_ui(ui: &mut Ui, state: &mut State, plot: &PlotId) {
    let Some(cuts) = state.cuts.clone().filter(|one| one.plot == *plot) else {
        return desk::waiting_ui(ui, plot);
    };
    let size = ui.available_size();
    let panel = |side: Panel| side.resizable(false).show_separator_line(false);
    if size.x < size.y {
        let below = Frame::new().inner_margin(Margin { top: 8, ..Margin::ZERO });
        panel(Panel::bottom("cuts choice"))
            .exact_size((size.y * 0.36).max(280.0))
            .frame(below)
            .show(ui, |ui| choice_ui(ui, state, &cuts));
    } else {
        let beside = Frame::new().inner_margin(Margin { right: 12, ..Margin::ZERO });
        panel(Panel::left("cuts choice"))
            .exact_size((size.x * 0.3).clamp(280.0, 360.0))
            .frame(beside)
            .show(ui, |ui| choice_ui(ui, state, &cuts));
    }
    bars_ui(ui, state, &cuts);
}

/// Which plots are cut together, and what can be done with the plan.
fn choice_ui(ui: &mut Ui, state: &mut State, cuts: &Cuts) {
    theme::scroll(ScrollArea::vertical().id_salt("cuts choice").auto_shrink([false, false])).show(ui, |ui| {
        ui.label(RichText::new("Cut together").font(theme::strong(theme::HEADING)));
        if cuts.candidates.is_empty() && cuts.refused.is_none() {
            ui.label("Looking at the plots that wait for infill.");
        }
        for one in &cuts.candidates {
            ui.push_id(one.plot.as_str(), |ui| candidate_ui(ui, state, cuts, one));
        }
        let wanted: BTreeSet<PlotId> = cuts
            .candidates
            .iter()
            .filter(|one| state.drafts.on.contains_key(&switch(&one.plot)))
            .map(|one| one.plot.clone())
            .collect();
        let cut: BTreeSet<PlotId> =
            cuts.plan.iter().flat_map(|plan| &plan.plots).map(|one| one.plot.clone()).collect();
        ui.add_space(theme::GAP);
        let weight = if wanted == cut { Weight::Plain } else { Weight::Primary };
        if !wanted.is_empty()
            && state.busy.is_none()
            && buttons::wide_button_ui(ui, weight, "Find the cut list")
        {
            state.ask(Action::FindCuts { plot: cuts.plot.clone(), plots: Some(wanted) });
        }
        let Some(plan) = &cuts.plan else { return };
        if buttons::wide_button_ui(ui, Weight::Plain, "Cut sheets as PDF") {
            state.ask(Action::PrintCuts { plot: cuts.plot.clone(), plan: Arc::clone(plan) });
        }
        if let Some(file) = &cuts.file
            && buttons::wide_button_ui(ui, Weight::Plain, "Show the cut sheets")
        {
            state.ask(Action::ShowFile(file.clone()));
        }
    });
}

fn candidate_ui(ui: &mut Ui, state: &mut State, cuts: &Cuts, one: &Candidate) {
    let soft = theme::sheet(ui).soft;
    let name = format!("plot {}", one.plot);
    if let Some(against) = &one.against {
        ui.add(Label::new(RichText::new(format!("{name} {against}")).color(soft)).wrap());
        return;
    }
    let switch = switch(&one.plot);
    let on = state.drafts.on.contains_key(&switch);
    ui.horizontal(|ui| {
        if widgets::choice_ui(ui, on, &name, vec2(104.0, theme::TOUCH)) && one.plot != cuts.plot {
            if on {
                state.drafts.on.remove(&switch);
            } else {
                state.drafts.on.insert(switch, true);
            }
        }
        ui.add(Label::new(RichText::new(&one.why).color(soft)).wrap());
    });
}

/// The bars of one plot, with the plots to choose from along the top.
fn bars_ui(ui: &mut Ui, state: &mut State, cuts: &Cuts) {
    if let Some(refused) = &cuts.refused {
        widgets::notice_ui(ui, Mark::Nonconforming, refused);
        return;
    }
    let Some(plan) = &cuts.plan else {
        ui.label("The cut list is being looked for.");
        return;
    };
    let shown = state.drafts.text(SHOWN).to_owned();
    let own = plan.plots.iter().find(|one| one.plot.as_str() == shown).or_else(|| plan.plots.first());
    let Some(own) = own else { return };
    if plan.plots.len() > 1 {
        let choose = ScrollArea::horizontal().id_salt("cuts plots").auto_shrink([false, true]);
        theme::scroll(choose).show(ui, |ui| {
            ui.horizontal(|ui| {
                for one in &plan.plots {
                    ui.push_id(one.plot.as_str(), |ui| {
                        let word = format!("bars of {}", one.plot);
                        if widgets::choice_ui(ui, one.plot == own.plot, &word, vec2(112.0, theme::TOUCH)) {
                            state.drafts.text.insert(SHOWN.to_owned(), one.plot.to_string());
                        }
                    });
                }
            });
        });
    }
    theme::scroll(ScrollArea::vertical().id_salt("cuts bars").auto_shrink([false, false])).show(ui, |ui| {
        if cuts.stopped {
            widgets::notice_ui(ui, Mark::Undetermined, "Stopped: this is the best found until then.");
        }
        for stock in &plan.output.stock {
            ui.add(Label::new(cut_sheets::said(stock, plan.plots.len())).wrap());
        }
        plot_ui(ui, plan, own);
    });
}

fn plot_ui(ui: &mut Ui, plan: &CutPlan, own: &PlotCuts) {
    let stock = plan.input.piece_mm.0;
    for run in &own.runs {
        if let Some(reason) = &run.reason {
            let words = format!("{} {}: {reason}", run.run, run.width.word());
            widgets::notice_ui(ui, Mark::Nonconforming, &words);
        }
    }
    for width in &own.widths {
        ui.push_id(width.width.word(), |ui| {
            ui.add_space(theme::GAP);
            let head = format!(
                "Plot {}, {} infill: {} pieces of {} mm, {} of them whole, waste {} m",
                own.plot,
                width.width.word(),
                width.opened,
                stock.to_mm_text(),
                width.whole,
                width.waste.m_text(2)
            );
            ui.add(Label::new(RichText::new(head).font(theme::strong(theme::VALUE))).wrap());
            for (index, bar) in width.bars.iter().enumerate() {
                ui.push_id(index, |ui| {
                    let pieces =
                        bar.cuts.iter().map(|(length, other)| (*length, other.as_ref().map(PlotId::as_str)));
                    widgets::cut_bar_ui(ui, bar.times, pieces, bar.offcut, stock);
                });
            }
            for run in own.runs.iter().filter(|run| run.width == width.width) {
                let pieces: Vec<String> = run.pieces_mm.iter().map(|one| one.0.to_mm_text()).collect();
                let words = format!("{}: {} rows of {} mm", run.run, run.count, pieces.join(" + "));
                ui.add(Label::new(words).wrap());
            }
            for one in &width.given {
                let words =
                    format!("{} × {} mm come cut from plot {}", one.count, one.length.to_mm_text(), one.from);
                ui.add(Label::new(RichText::new(words).font(theme::strong(theme::VALUE))).wrap());
            }
        });
    }
}
