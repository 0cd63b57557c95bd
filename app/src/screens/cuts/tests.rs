//! The cuts screen by its labels: which plots are cut together, whose bars are shown, what is asked for.

use egui_kittest::kittest::Queryable as _;
use gaugerod_core::inspection::Command;
use gaugerod_core::reckon::infill_cuts::Effort;
use gaugerod_core::register::CutTogether;

use super::*;
use crate::headless;
use crate::screens::fixture::{Site, plot};
use crate::screens::window_ui;
use crate::state::Screen;

/// Two more plots whose beams are drawn, one of them cut from other stock; and what a search for plot 9 finds.
pub fn found(site: &mut Site) -> FoundCuts {
    let semi = include_str!("../../../../assets/demo/semi.toml");
    for (name, design) in
        [("10", semi.to_owned()), ("11", semi.replace("piece_mm = 1300", "piece_mm = 1200"))]
    {
        let command = Command::IssueDesign { text: design, plots: vec![plot(name)] };
        site.register.perform(&command, &site.manager).expect("issued");
    }
    let together = site.register.cut_together(&plot("9"), &mut |_, _| true).expect("read");
    let CutTogether { candidates, pieces } = together;
    let wanted: Vec<_> =
        candidates.iter().zip(pieces).filter(|(one, _)| one.chosen).map(|(_, pieces)| pieces).collect();
    let plan = CutPlan::of(&wanted, &Effort::default()).expect("a plan");
    FoundCuts { plot: plot("9"), candidates, result: Ok(Arc::new(plan)), stopped: false }
}

fn shown(site: &mut Site) -> State {
    let found = found(site);
    let mut state = site.state(Screen::Cuts(plot("9")));
    for one in found.candidates.iter().filter(|one| one.chosen) {
        state.drafts.on.insert(switch(&one.plot), true);
    }
    state.cuts = Some(Cuts::of(found));
    state
}

#[test]
fn cuts_pass_the_checks_at_every_size_on_both_sheets() {
    let mut site = Site::bare();
    let mut state = shown(&mut site);
    headless::check("cuts", |ui| window_ui(ui, &mut state));
    state.cuts.as_mut().unwrap().stopped = true;
    state.cuts.as_mut().unwrap().file = Some("cut-sheets.pdf".into());
    headless::check("cuts stopped", |ui| window_ui(ui, &mut state));
    state.cuts = Some(Cuts::waiting(plot("9")));
    headless::check("cuts waited for", |ui| window_ui(ui, &mut state));
}

#[test]
fn plots_are_chosen_and_each_plots_bars_are_shown_at_three_sizes() {
    for size in headless::SIZES {
        let mut site = Site::bare();
        let mut harness = headless::harness(size, window_ui, shown(&mut site));
        harness.get_by_label_contains("Wide infill over all 2 plots: 106 stock pieces, proven");
        harness.get_by_label("11 times: 1050 mm, offcut 247 mm");
        harness.get_by_label_contains("plot 11 has full pieces of 1200 mm, plot 9 of 1300 mm");
        harness.get_by_label("bars of 10").click();
        harness.run();
        assert_eq!(harness.state().drafts.text(SHOWN), "10", "{size:?}");
        harness.get_by_label_contains("Plot 10, wide infill");
        harness.get_by_label("plot 10").click();
        harness.run();
        harness.get_by_label("Find the cut list").click();
        harness.run();
        let alone: BTreeSet<PlotId> = [plot("9")].into();
        let asked = Action::FindCuts { plot: plot("9"), plots: Some(alone) };
        assert!(harness.state().actions.contains(&asked), "{size:?}: {:?}", harness.state().actions);
    }
}

#[test]
fn a_refusal_is_said_in_words() {
    let mut site = Site::bare();
    let mut state = shown(&mut site);
    let cuts = state.cuts.as_mut().unwrap();
    cuts.plan = None;
    cuts.refused = Some("/plots/1: plot 11 has full pieces of 1200 mm.".to_owned());
    let harness = headless::harness(headless::SIZES[0], window_ui, state);
    harness.get_by_label_contains("full pieces of 1200 mm.");
}
