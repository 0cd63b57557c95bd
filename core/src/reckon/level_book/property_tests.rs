//! What holds for every level book, tried on invented ones from a fixed seed.

use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use super::super::slip::might_have_been;
use super::super::tests::repeat;
use super::*;

fn fixed(cases: u32) -> ProptestConfig {
    ProptestConfig {
        cases,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(20_261_127),
        ..ProptestConfig::default()
    }
}

/// One set-up in micrometres: back sight, intermediate sights, fore sight.
type Setup = (i64, Vec<i64>, i64);

fn reading() -> impl Strategy<Value = i64> {
    prop_oneof![
        3 => (-5_000_i64..=5_000).prop_map(|mm| mm * 1_000),
        1 => -5_000_000_i64..=5_000_000,
    ]
}

fn setups(most: usize) -> impl Strategy<Value = Vec<Setup>> {
    prop::collection::vec((reading(), prop::collection::vec(reading(), 0..5), reading()), 1..=most)
}

/// A closed book of these set-ups; the mark that it closes on is missed by `misclosure`.
fn book(start: i64, setups: &[Setup], misclosure: i64, method: Method) -> Input {
    let um = Length::from_um;
    let mut sights = vec![Sight::back("start", um(setups[0].0))];
    let mut known = start;
    for (number, (back, inters, fore)) in setups.iter().enumerate() {
        for (place, inter) in inters.iter().enumerate() {
            sights.push(Sight::inter(format!("{number}.{place}"), um(*inter)));
        }
        sights.push(match setups.get(number + 1) {
            Some(next) => Sight::change(format!("CP{number}"), um(*fore), um(next.0)),
            None => Sight::fore("end", um(*fore)),
        });
        known += back - fore;
    }
    Input {
        method,
        benchmark: Mark { point: "start".to_owned(), level_m: Metres(um(start)) },
        sights,
        closing: Some(Mark { point: "end".to_owned(), level_m: Metres(um(known - misclosure)) }),
        allowable: Allowable::per_root_setup(Length::from_mm(5)),
        expected: Vec::new(),
    }
}

/// A book of set-ups at `heights` above the ground whose points stand off 50.000 by `offs`, every reading wrong by up
/// to its `noise`; expected are the levels of the design, tolerance 5 mm.
fn sound_book(heights: &[(i64, Vec<(i64, i64)>)]) -> Input {
    let um = Length::from_um;
    let level = 50_000_000;
    let mut setups: Vec<Setup> = Vec::new();
    let mut expected = Vec::new();
    for (number, (height, points)) in heights.iter().enumerate() {
        let noise = |index: usize| points.get(index).map_or(0, |(_, noise)| *noise);
        let inters = points.iter().map(|(off, noise)| height - off + noise).collect();
        setups.push((height + noise(0), inters, height - noise(1)));
        for place in 0..points.len() {
            expected.push(Expected {
                point: format!("{number}.{place}"),
                level_m: Metres(um(level)),
                tolerance_mm: Mm(Length::from_mm(5)),
            });
        }
    }
    Input { expected, ..book(level, &setups, 0, Method::HeightOfCollimation) }
}

/// Up to three set-ups; a point stands at most 5 mm off its level and a reading is at most 2 mm wrong, so that a level
/// at the end of the book is at most 5 + 2 · 6 mm off: less than five tolerances.
fn sound() -> impl Strategy<Value = Vec<(i64, Vec<(i64, i64)>)>> {
    let point = (-5_000_i64..=5_000, -2_000_i64..=2_000);
    prop::collection::vec((1_000_000_i64..=3_500_000, prop::collection::vec(point, 1..6)), 1..=3)
}

fn levels(output: &Output) -> Vec<(Length, Length)> {
    output.rows.iter().map(|row| (row.level_m.0, row.adjusted_level_m.0)).collect()
}

proptest! {
    #![proptest_config(fixed(400))]

    #[test]
    fn shifting_benchmark_and_closing_shifts_every_level_equally(
        setups in setups(6), start in -100_000_000_i64..=100_000_000, shift in -100_000_000_i64..=100_000_000,
        misclosure in -15_000_i64..=15_000,
    ) {
        let input = book(start, &setups, misclosure, Method::HeightOfCollimation);
        let mut moved = input.clone();
        let shift = Length::from_um(shift);
        moved.benchmark.level_m.0 += shift;
        moved.closing.as_mut().unwrap().level_m.0 += shift;
        let (one, other) = (reckon(&input).unwrap(), reckon(&moved).unwrap());
        let expect: Vec<_> = levels(&one).iter().map(|(level, adjusted)| (*level + shift, *adjusted + shift)).collect();
        prop_assert_eq!(levels(&other), expect);
        prop_assert_eq!((one.checks, one.misclosure_mm, one.verdict), (other.checks, other.misclosure_mm, other.verdict));
    }

    #[test]
    fn both_methods_agree_to_the_micrometre(
        setups in setups(6), start in -100_000_000_i64..=100_000_000, misclosure in -15_000_i64..=15_000,
    ) {
        let one = reckon(&book(start, &setups, misclosure, Method::HeightOfCollimation)).unwrap();
        let other = reckon(&book(start, &setups, misclosure, Method::RiseAndFall)).unwrap();
        prop_assert_eq!(levels(&one), levels(&other));
        prop_assert_eq!((one.misclosure_mm, one.verdict), (other.misclosure_mm, other.verdict));
        let checks = other.checks;
        prop_assert_eq!(checks.sum_rise_m.unwrap().0 - checks.sum_fall_m.unwrap().0, checks.last_minus_first_m.0);
        prop_assert_eq!(checks.sum_back_m.0 - checks.sum_fore_m.0, checks.last_minus_first_m.0);
        repeat(&one.working);
        repeat(&other.working);
    }

    #[test]
    fn the_adjusted_closing_is_its_benchmark_within_the_allowable(
        setups in setups(6), misclosure in -15_000_i64..=15_000,
    ) {
        let input = book(0, &setups, misclosure, Method::RiseAndFall);
        let output = reckon(&input).unwrap();
        let last = output.rows.last().unwrap();
        // misclosure² ≤ 25 mm² · n, in square micrometres.
        let n = i64::try_from(setups.len()).unwrap();
        let within = misclosure * misclosure <= 25_000_000 * n;
        prop_assert_eq!(output.verdict, Verdict::of(within));
        prop_assert_eq!(output.misclosure_mm.unwrap().0.um(), misclosure);
        if within && 2 <= n {
            prop_assert_eq!(last.adjusted_level_m, input.closing.unwrap().level_m);
        } else {
            prop_assert!(output.rows.iter().all(|row| row.level_m == row.adjusted_level_m));
        }
    }

    #[test]
    fn no_slip_is_suspected_in_a_sound_book(heights in sound()) {
        let output = reckon(&sound_book(&heights)).unwrap();
        prop_assert_eq!(output.suspects, []);
    }

    #[test]
    fn a_slip_in_a_sound_book_is_pointed_out_where_it_was_made(
        heights in sound(), which in any::<prop::sample::Index>(), kind in any::<prop::sample::Index>(),
    ) {
        let input = sound_book(&heights);
        let points: Vec<usize> = (0..input.sights.len()).filter(|row| input.sights[*row].inter_m.is_some()).collect();
        let row = points[which.index(points.len())];
        let meant = input.sights[row].inter_m.unwrap().0;
        let slips: Vec<Length> = might_have_been(meant)
            .map(|(wrong, _)| wrong)
            // Far enough to be seen through the scatter: 25 mm for the suspicion, 5 for the wall, 12 for readings.
            .filter(|wrong| Length::from_mm(42) < (*wrong - meant).abs() && wrong.abs() <= Length::from_mm(5_000))
            .collect();
        prop_assume!(!slips.is_empty());
        let mut slipped = input.clone();
        slipped.sights[row].inter_m = Some(Metres(slips[kind.index(slips.len())]));
        // Scatter could hide the slip behind one tolerance, so that this point is expected where it really stands.
        let exact = reckon(&input).unwrap().rows[row].level_m;
        slipped.expected.iter_mut().find(|one| one.point == input.sights[row].point).unwrap().level_m = exact;
        let suspects = reckon(&slipped).unwrap().suspects;
        prop_assert_eq!(suspects.len(), 1);
        prop_assert_eq!((suspects[0].sight, suspects[0].perhaps_m.0), (row, meant));
    }

    #[test]
    fn whatever_is_booked_is_reduced_or_refused_and_never_panics(
        sights in prop::collection::vec(
            (0_u8..4, prop::option::of(-6_000_000_i64..6_000_000), prop::option::of(reading()), prop::option::of(reading())),
            0..12,
        ),
        closing in prop::option::of(0_u8..4), tolerance in -1_000_i64..10_000,
    ) {
        let metres = |um: Option<i64>| um.map(|um| Metres(Length::from_um(um)));
        let mark = |point: u8| Mark { point: point.to_string(), level_m: Metres(Length::ZERO) };
        let input = Input {
            method: Method::RiseAndFall,
            benchmark: mark(0),
            sights: sights
                .into_iter()
                .map(|(point, back, inter, fore)| Sight {
                    point: point.to_string(),
                    back_m: metres(back),
                    inter_m: metres(inter),
                    fore_m: metres(fore),
                    booked_level_m: metres(inter),
                })
                .collect(),
            closing: closing.map(mark),
            allowable: Allowable::per_root_setup(Length::from_mm(5)),
            expected: vec![Expected {
                point: "1".to_owned(),
                level_m: Metres(Length::ZERO),
                tolerance_mm: Mm(Length::from_um(tolerance)),
            }],
        };
        if let Ok(output) = reckon(&input) {
            prop_assert_eq!(output.rows.len(), input.sights.len());
            repeat(&output.working);
        }
    }
}
