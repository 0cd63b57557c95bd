//! How long the heavier reckonings take at the largest inputs that they accept.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use gaugerod_core::conformity::Decision;
use gaugerod_core::quantity::{Factor, Length, Mm, Plain};
use gaugerod_core::reckon::{MAX_POINTS, MAX_VERTICES, topping};

/// Whole numbers spread over 0 to `below`, the same in every run: steps of an irrational part.
fn spread(index: usize, seed: f64, below: f64) -> i64 {
    #[expect(clippy::cast_possible_truncation, clippy::cast_precision_loss, reason = "small numbers")]
    let number = ((index as f64 * seed).fract() * below) as i64;
    number
}

/// As many depths as are accepted, scattered over the invented L-shaped plot or over a jagged outline.
fn depths(corners: Vec<[i64; 2]>) -> topping::Input {
    let mm = |mm: i64| Mm(Length::from_mm(mm));
    topping::Input {
        outline_mm: corners.into_iter().map(|corner| corner.map(mm)).collect(),
        design_mm: mm(80),
        tolerance_minus_mm: mm(5),
        tolerance_plus_mm: mm(10),
        readings: (0..MAX_POINTS)
            .map(|index| topping::Reading {
                point: format!("T{index}"),
                x_mm: Mm(Length::from_um(spread(index + 1, 0.754_877_666_246_693, 8_400_000.0))),
                y_mm: Mm(Length::from_um(spread(index + 1, 0.569_840_290_998_053, 7_615_000.0))),
                thickness_mm: Mm(Length::from_um(78_000 + spread(index + 1, 0.618_033_988_749_895, 6_000.0))),
            })
            .collect(),
        waste_percent: Plain(Factor::whole(5)),
        fibre_kg_per_m3: None,
        decision: Decision::simple(),
    }
}

fn l_shape() -> Vec<[i64; 2]> {
    vec![[0, 0], [8400, 0], [8400, 4000], [5200, 4000], [5200, 7615], [0, 7615]]
}

/// A comb of as many vertices as are accepted.
fn comb() -> Vec<[i64; 2]> {
    let teeth = i64::try_from(MAX_VERTICES / 2 - 1).expect("small");
    let mut corners = vec![[8400, 0], [0, 0]];
    for tooth in 0..teeth {
        let x = 8400 * tooth / teeth;
        corners.push([x, if tooth % 2 == 0 { 7600 } else { 7000 }]);
        corners.push([8400 * (tooth + 1) / teeth - 1, if tooth % 2 == 0 { 7600 } else { 7000 }]);
    }
    corners
}

fn volumes(c: &mut Criterion) {
    for (name, outline) in [("L-shaped plot", l_shape()), ("200 vertices", comb())] {
        let input = depths(outline);
        c.bench_function(&format!("triangulated volume of 5,000 depths, {name}"), |b| {
            b.iter(|| black_box(topping::volume(&input).expect("sound")));
        });
        c.bench_function(&format!("topping of 5,000 depths with its working, {name}"), |b| {
            b.iter(|| black_box(topping::reckon(&input).expect("sound")));
        });
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20);
    targets = volumes
}
criterion_main!(benches);
