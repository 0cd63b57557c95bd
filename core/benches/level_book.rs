//! How long a level book of 10,000 sights takes to reduce, with an expected level at every point: the budget is 10 ms.
//! Beside it the same book from JSON text, which is checked against the schema first.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use gaugerod_core::quantity::{Length, Metres, Mm};
use gaugerod_core::reckon::ReckoningName;
use gaugerod_core::reckon::level_book::{Allowable, Expected, Input, Mark, Method, Sight, reckon};

const SIGHTS: usize = 10_000;
/// Every so many sights a change point, as on a site.
const USUAL: usize = 20;

fn um(um: i64) -> Length {
    Length::from_um(um)
}

/// An invented book on level ground: readings scatter by 3 mm about 1.500 m.
fn book(method: Method, every: usize) -> Input {
    let level = um(50_000_000);
    let reading = |row: usize| um(1_500_000 + i64::try_from(row * 7_919 % 6_001).expect("small") - 3_000);
    let mut sights = vec![Sight::back("TBM", um(1_500_000))];
    let mut expected = Vec::new();
    for row in 1..SIGHTS - 1 {
        let point = format!("P{row}");
        if row % every == 0 {
            sights.push(Sight::change(point, um(1_500_000), um(1_500_000)));
        } else {
            expected.push(Expected {
                point: point.clone(),
                level_m: Metres(level),
                tolerance_mm: Mm(um(5_000)),
            });
            sights.push(Sight::inter(point, reading(row)));
        }
    }
    sights.push(Sight::fore("end", um(1_499_000)));
    Input {
        method,
        benchmark: Mark { point: "TBM".to_owned(), level_m: Metres(level) },
        closing: Some(Mark { point: "end".to_owned(), level_m: Metres(level) }),
        allowable: Allowable::per_root_setup(um(5_000)),
        sights,
        expected,
    }
}

fn reducing(c: &mut Criterion) {
    for (name, method) in
        [("height of collimation", Method::HeightOfCollimation), ("rise and fall", Method::RiseAndFall)]
    {
        let input = book(method, USUAL);
        c.bench_function(&format!("reduce 10,000 sights by {name}"), |b| {
            b.iter(|| black_box(reckon(black_box(&input)).expect("a sound book").suspects.len()));
        });
    }
    let input = book(Method::RiseAndFall, 1);
    c.bench_function("reduce 10,000 sights that are all change points", |b| {
        b.iter(|| black_box(reckon(black_box(&input)).expect("a sound book").setups));
    });
    let text = serde_json::to_string(&book(Method::RiseAndFall, USUAL)).expect("plain data");
    c.bench_function("the same from JSON text to JSON text", |b| {
        b.iter(|| {
            black_box(ReckoningName::LevelBook.reckoning().reckon(&text).expect("a sound book").text.len())
        });
    });
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20);
    targets = reducing
}
criterion_main!(benches);
