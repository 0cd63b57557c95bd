//! Cut plans through the worker: found beside the record's thread, stopped, written as cut sheets.

use super::*;

fn on_the_cuts_of_plot_9() -> Bench {
    let mut site = Site::bare();
    // Another plot of the same design.
    let _ = crate::screens::cuts::tests::found(&mut site);
    let mut bench = Bench::on(site);
    bench.ask(Action::Go(Screen::Cuts(plot("9"))));
    bench
}

#[test]
fn going_to_the_cuts_finds_a_plan_of_the_plots_that_are_proposed_and_sheets_are_written_a_page_a_plot() {
    let mut bench = on_the_cuts_of_plot_9();
    bench.until("a plan", |state| state.cuts.as_ref().is_some_and(|cuts| cuts.plan.is_some()));
    let cuts = bench.state.cuts.clone().expect("found");
    let plan = cuts.plan.expect("a plan");
    let names: Vec<&str> = plan.plots.iter().map(|one| one.plot.as_str()).collect();
    assert_eq!(names, ["9", "10"]);
    assert!(bench.state.drafts.on.contains_key(&crate::screens::cuts::switch(&plot("10"))));
    bench.ask(Action::PrintCuts { plot: plot("9"), plan });
    bench.until("sheets", |state| state.cuts.as_ref().is_some_and(|cuts| cuts.file.is_some()));
    let file = bench.state.cuts.as_ref().and_then(|cuts| cuts.file.clone()).expect("a file");
    let bytes = std::fs::read(&file).expect("written");
    assert!(bytes.starts_with(b"%PDF-1.7") && file.to_string_lossy().ends_with("cut-sheets.pdf"));
}

#[test]
fn choosing_no_other_plot_cuts_this_one_alone_and_choosing_none_is_refused_in_words() {
    let mut bench = on_the_cuts_of_plot_9();
    bench.until("a plan", |state| state.cuts.as_ref().is_some_and(|cuts| cuts.plan.is_some()));
    bench.ask(Action::FindCuts { plot: plot("9"), plots: Some([plot("9")].into()) });
    bench.until("the plan of one", |state| {
        let plan = state.cuts.as_ref().and_then(|cuts| cuts.plan.as_ref());
        plan.is_some_and(|plan| plan.plots.len() == 1)
    });
    bench.ask(Action::FindCuts { plot: plot("9"), plots: Some(std::collections::BTreeSet::new()) });
    bench.until("a refusal", |state| state.cuts.as_ref().is_some_and(|cuts| cuts.refused.is_some()));
    let refused = bench.state.cuts.as_ref().and_then(|cuts| cuts.refused.clone()).expect("words");
    assert!(refused.contains("choose at least one plot"), "{refused}");
}
