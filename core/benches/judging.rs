//! Judging one full plot again: every reckoning of a poured plot whose beams are drawn, with its readings and papers.

#[path = "../tests/poured_plot/mod.rs"]
mod poured_plot;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use gaugerod_core::inspection::standing;
use gaugerod_core::reckon::RECKONINGS;

fn judging(bench: &mut Criterion) {
    let folder = tempfile::tempdir().expect("a folder");
    let view = poured_plot::build(folder.path());
    let judged = standing(&view.record);
    let criteria: Vec<_> = judged.hold_points.iter().flat_map(|one| &one.criteria).collect();
    let reckoned: usize = criteria.iter().map(|one| one.reckoned.len()).sum();
    let readings: usize = criteria.iter().map(|one| one.readings.len()).sum();
    let papers: usize = criteria.iter().map(|one| one.papers.len()).sum();
    println!(
        "{} hold points, {} criteria, {reckoned} reckonings, {readings} readings, {papers} papers",
        judged.hold_points.len(),
        criteria.len()
    );
    // From the inputs that evidence carries, read and checked as `gaugerod reckon` does.
    let inputs: Vec<_> = criteria
        .iter()
        .flat_map(|one| &one.reckoned)
        .filter_map(|one| {
            let own = RECKONINGS.iter().find(|known| known.name == one.name)?;
            Some((own, one.input.to_string()))
        })
        .collect();
    assert_eq!(inputs.len(), reckoned, "every reckoning has its name");
    bench.bench_function("every reckoning of a full plot, from its input", |b| {
        b.iter(|| {
            for (own, input) in &inputs {
                black_box(own.reckon(black_box(input)).expect("sound"));
            }
        });
    });
    bench.bench_function("a full plot judged again, every reckoning and every reading by itself", |b| {
        b.iter(|| black_box(standing(black_box(&view.record))));
    });
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20);
    targets = judging
}
criterion_main!(benches);
