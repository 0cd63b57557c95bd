//! How long a cut list takes: one plot of 200 pieces of 40 lengths, a plot whose pieces fit stock exactly, and the
//! delivery of 60 plots measured as built.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use gaugerod_core::quantity::{Length, Mm};
use gaugerod_core::reckon::infill_cuts::{Input, Run, Width, reckon};

/// A fixed row of numbers below a bound.
struct Row(u64);

impl Row {
    fn below(&mut self, bound: u64) -> i64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        i64::try_from((self.0 >> 33) % bound).expect("small")
    }
}

fn mm(length: i64) -> Mm {
    Mm(Length::from_mm(length))
}

fn sheet(runs: Vec<(i64, u32)>) -> Input {
    let run = |(index, (clear, count)): (usize, (i64, u32))| Run {
        run: index.to_string(),
        width: Width::Wide,
        clear_mm: mm(clear),
        count,
    };
    Input {
        piece_mm: mm(1300),
        least_piece_mm: mm(250),
        shift_mm: mm(250),
        kerf_mm: mm(3),
        runs: runs.into_iter().enumerate().map(run).collect(),
    }
}

/// 200 pieces of 40 lengths between the least piece and a whole one.
fn plot(row: &mut Row) -> Input {
    sheet((0..40).map(|_| (250 + row.below(1_050), 5)).collect())
}

/// 200 pieces of 40 lengths, four at a time filling a piece without waste: where first-fit decreasing does worst.
fn exact_plot(row: &mut Row) -> Input {
    let mut runs = Vec::new();
    for _ in 0..10 {
        let three: Vec<i64> = (0..3).map(|_| 255 + row.below(120)).collect();
        let rest = 1_300 - 9 - three.iter().sum::<i64>();
        runs.extend(three.into_iter().chain([rest]).map(|length| (length, 5)));
    }
    sheet(runs.into_iter().map(|(length, count)| (length.max(250), count)).collect())
}

/// 60 plots of 8 house types, two bays each, every clear measured to the millimetre within ±8.
fn delivery(row: &mut Row) -> Input {
    let spans = [4_000, 3_400, 4_650, 2_900, 5_200, 3_850, 4_420, 3_075];
    let mut runs = Vec::new();
    for _ in 0..60 {
        for _ in 0..2 {
            let span = spans[usize::try_from(row.below(8)).expect("small")];
            for _ in 0..4 {
                runs.push((span + row.below(17) - 8, u32::try_from(2 + row.below(4)).expect("small")));
            }
        }
    }
    sheet(runs)
}

/// 60 plots with pieces of every length, 450 different ones.
fn mixed_delivery(row: &mut Row) -> Input {
    sheet(
        (0..600)
            .map(|_| (250 + row.below(1_050), u32::try_from(1 + row.below(20)).expect("small")))
            .collect(),
    )
}

fn cut_lists(c: &mut Criterion) {
    type Kind = (&'static str, fn(&mut Row) -> Input, u64);
    let kinds: [Kind; 4] = [
        ("cut list of a plot, 200 pieces of 40 lengths", plot, 20),
        ("cut list of a plot that leaves no waste", exact_plot, 20),
        ("cut list of 60 plots as built", delivery, 3),
        ("cut list of 60 plots with 450 lengths", mixed_delivery, 3),
    ];
    for (name, make, count) in kinds {
        let jobs: Vec<Input> = (0..count).map(|seed| make(&mut Row(seed * 7_919 + 17))).collect();
        for job in &jobs {
            let output = reckon(job).expect("sound");
            for stock in &output.stock {
                let pieces: usize =
                    stock.cut_list.iter().map(|cut| cut.cuts_mm.len() * cut.times as usize).sum();
                println!("{name}: {pieces} pieces from {}, bound {}", stock.stock_pieces, stock.lower_bound);
            }
        }
        let mut at = 0;
        c.bench_function(name, |b| {
            b.iter(|| {
                at = (at + 1) % jobs.len();
                black_box(reckon(&jobs[at]).expect("sound").stock.len())
            });
        });
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20);
    targets = cut_lists
}
criterion_main!(benches);
