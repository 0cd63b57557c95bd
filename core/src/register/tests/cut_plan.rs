//! The infill of several plots cut together. The invented plot wants, in wide infill, 11 rows of 4000 (1300 1300 1050
//! 350) and 6 of 3400 (1300 1300 800); in narrow, 2 rows of each (worked by hand).

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use super::*;
use crate::inspection::cut_plan::{CutPlan, PlotPieces, candidate};
use crate::quantity::Mm;
use crate::reckon::infill_cuts::{Effort, Width};

fn pieces(plot: &str, change: impl Fn(&mut PlotPieces)) -> PlotPieces {
    let mut desk = Desk::new();
    desk.issue(SEMI);
    let mut own = PlotPieces::of(&desk.view().record).unwrap();
    own.plot = PlotId::new(plot).unwrap();
    change(&mut own);
    own
}

/// Checks that every plot gets each of its pieces once, from its own bars or from an earlier plot's, and that every
/// bar fits.
#[track_caller]
fn check(plan: &CutPlan) {
    let (piece, kerf) = (plan.input.piece_mm.0, plan.input.kerf_mm.0);
    for stock in &plan.output.stock {
        let mut opened = 0;
        let mut waste = Length::ZERO;
        for (index, plot) in plan.plots.iter().enumerate() {
            let mut wanted: BTreeMap<Length, i64> = BTreeMap::new();
            for run in plot.runs.iter().filter(|run| run.width == stock.width) {
                for one in &run.pieces_mm {
                    *wanted.entry(one.0).or_default() += i64::from(run.count);
                }
            }
            let Some(own) = plot.widths.iter().find(|own| own.width == stock.width) else {
                assert!(wanted.is_empty());
                continue;
            };
            *wanted.entry(piece).or_default() -= i64::from(own.whole);
            for bar in &own.bars {
                let used: Length = bar.cuts.iter().map(|(length, _)| *length + kerf).sum();
                assert!(used <= piece + kerf, "{bar:?}");
                assert_eq!(bar.offcut, (piece - used).max(Length::ZERO), "{bar:?}");
                for (length, other) in &bar.cuts {
                    match other {
                        None => *wanted.entry(*length).or_default() -= i64::from(bar.times),
                        Some(other) => {
                            let later = plan.plots[index + 1..].iter().find(|one| one.plot == *other);
                            let later = later.expect("pieces go to later plots only");
                            let theirs = later.widths.iter().find(|one| one.width == stock.width).unwrap();
                            assert!(
                                theirs.given.iter().any(|one| one.from == plot.plot && one.length == *length)
                            );
                        }
                    }
                }
            }
            for one in &own.given {
                *wanted.entry(one.length).or_default() -= i64::from(one.count);
            }
            assert!(wanted.values().all(|count| *count == 0), "plot {}: {wanted:?}", plot.plot);
            assert_eq!(own.opened, own.whole + own.bars.iter().map(|bar| bar.times).sum::<u32>());
            opened += own.opened;
            waste += own.waste;
        }
        assert_eq!((opened, waste), (stock.stock_pieces, stock.waste_mm.0));
    }
}

#[test]
fn every_plot_gets_its_pieces_once_and_no_plot_waits_for_a_later_one() {
    let plots = [
        pieces("1", |_| {}),
        pieces("2", |own| own.input.runs[0].clear_mm = Mm(Length::from_mm(3_790))),
        pieces("3", |own| {
            own.input.runs[0].clear_mm = Mm(Length::from_mm(3_020));
            own.input.runs[0].count = 7;
        }),
        pieces("4", |own| own.input.runs.retain(|run| run.width == Width::Wide)),
    ];
    let plan = CutPlan::of(&plots, &Effort::default()).unwrap();
    check(&plan);
    assert_eq!(plan.plots.len(), 4);
    let apart: u32 = plots
        .iter()
        .map(|one| {
            let alone = CutPlan::of(std::slice::from_ref(one), &Effort::default()).unwrap();
            check(&alone);
            alone.output.stock.iter().map(|stock| stock.stock_pieces).sum::<u32>()
        })
        .sum();
    let together: u32 = plan.output.stock.iter().map(|stock| stock.stock_pieces).sum();
    assert!(together <= apart, "{together} together, {apart} apart");
}

#[test]
fn random_plots_are_shared_out_whole() {
    let mut seed = 20_261_126_u64;
    let mut below = |bound: u64| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) % bound
    };
    let model = pieces("1", |_| {});
    for _ in 0..40 {
        let count = 1 + below(6);
        let plots: Vec<PlotPieces> = (0..count)
            .map(|number| {
                let mut own = model.clone();
                own.plot = PlotId::new(&format!("{}", number + 1)).unwrap();
                for run in &mut own.input.runs {
                    run.clear_mm = Mm(Length::from_mm(2_000 + i64::try_from(below(40) * 50).unwrap()));
                    run.count = u32::try_from(1 + below(8)).unwrap();
                }
                own
            })
            .collect();
        // Little effort: the best found is shared out all the same.
        check(&CutPlan::of(&plots, &Effort::new(2_000_000, None)).unwrap());
    }
}

#[test]
fn plots_that_are_not_cut_from_the_same_stock_are_named_and_so_is_everything_else_that_cannot_be() {
    let says = |plots: &[PlotPieces], place: &str, what: &str| {
        let faults = CutPlan::of(plots, &Effort::default()).unwrap_err();
        let found = faults.iter().any(|one| one.place == place && one.what.contains(what));
        assert!(found, "{faults}");
    };
    says(&[], "/plots", "at least one plot");
    let own = pieces("1", |_| {});
    let twice = [own.clone(), own.clone()];
    says(&twice, "/plots/1", "plot 1 is named twice");
    let other = pieces("2", |own| own.input.piece_mm = Mm(Length::from_mm(1_200)));
    says(&[own.clone(), other], "/plots/1", "plot 2 has full pieces of 1200 mm, plot 1 of 1300 mm");
    let broad = pieces("2", |own| own.widths.0 = Length::from_mm(510));
    says(&[own.clone(), broad], "/plots/1", "wide infill of 510 mm");
    let much = pieces("2", |own| own.input.runs[0].count = 100_000);
    says(&[own, much], "/runs/4/count", "past 100000 pieces");
}

#[test]
fn a_stopped_search_gives_the_best_it_has_with_its_bound_and_counts_what_it_spent() {
    let plots = [pieces("1", |_| {}), pieces("2", |_| {})];
    let (stop, spent) = (AtomicBool::new(true), AtomicU64::new(0));
    let effort = Effort::new(Effort::STANDARD, Some(&stop)).counted(&spent);
    let stopped = CutPlan::of(&plots, &effort).unwrap();
    check(&stopped);
    for stock in &stopped.output.stock {
        assert!(stock.lower_bound <= stock.stock_pieces);
    }
    stop.store(false, Ordering::Relaxed);
    let whole = CutPlan::of(&plots, &effort).unwrap();
    assert!(whole.output.stock.iter().all(|stock| stock.proven_least));
    assert!(spent.load(Ordering::Relaxed) > 0);
}

#[test]
fn plots_of_the_same_note_or_design_that_wait_for_infill_are_proposed() {
    let mut desk = Desk::new();
    desk.issue(SEMI);
    let own = desk.view();
    let mut other = Desk::new();
    other.issue(SEMI);
    let view = other.view();
    let mut record = view.record.clone();
    record.plot = PlotId::new("99").unwrap();
    let proposed = candidate(&own.record, &record, &view.standing).unwrap();
    assert!(proposed.chosen && proposed.why.contains("TG-GF-01 revision B"), "{proposed:?}");
    let mut other = Desk::new();
    other.issue(&SEMI.replace("revision = \"B\"", "revision = \"C\""));
    let view = other.view();
    let mut record = view.record.clone();
    record.plot = PlotId::new("99").unwrap();
    let proposed = candidate(&own.record, &record, &view.standing).unwrap();
    assert!(!proposed.chosen && proposed.why.contains("another design"), "{proposed:?}");
    let mut other = Desk::new();
    other.issue(&SEMI.replace("piece_mm = 1300", "piece_mm = 1200"));
    let view = other.view();
    let mut record = view.record.clone();
    record.plot = PlotId::new("99").unwrap();
    let refused = candidate(&own.record, &record, &view.standing).unwrap();
    assert!(!refused.chosen && refused.against.unwrap().contains("full pieces of 1200 mm"));
}
