use super::booking::{Neighbour, Number, Typed, look_at};
use super::*;

fn m(text: &str) -> Length {
    Length::parse_m(text).unwrap()
}

fn mm(text: &str) -> Length {
    Length::parse_mm(text).unwrap()
}

fn texts(value: &str) -> Vec<String> {
    might_have_been(m(value)).map(|(perhaps, slip)| format!("{} {slip:?}", perhaps.m_text(4))).collect()
}

#[test]
fn swaps_are_of_neighbouring_digits_on_fixed_three_decimals() {
    assert_eq!(
        texts("1.250"),
        [
            "2.1500 Transposed",
            "1.5200 Transposed",
            "1.2050 Transposed",
            "2.2500 Metre",
            "0.2500 Metre",
            "1.3500 Decimetre",
            "1.1500 Decimetre",
            "1.2600 Centimetre",
            "1.2400 Centimetre",
        ]
    );
}

#[test]
fn what_is_finer_than_a_millimetre_and_the_sign_stay() {
    assert_eq!(texts("-0.0125")[..2], ["-0.1025 Transposed", "-0.0215 Transposed"]);
    assert!(might_have_been(m("-0.0125")).all(|(perhaps, _)| perhaps <= Length::ZERO));
    assert!(might_have_been(m("0.5")).all(|(perhaps, _)| Length::ZERO <= perhaps));
}

#[test]
fn of_a_level_the_last_four_digits_of_millimetres_count() {
    assert_eq!(texts("47.810")[..3], ["48.7100 Transposed", "47.1800 Transposed", "47.8010 Transposed"]);
}

#[test]
fn a_staff_is_no_longer_than_it_is() {
    assert!(might_have_been(m("1.842")).any(|(perhaps, _)| perhaps == m("8.142")));
    assert!(reading_might_have_been(m("1.842")).all(|(perhaps, _)| perhaps <= staff::LONGEST));
}

/// Wall A of the invented plot: height of collimation 49.057, bearing 47.810, tolerance 5 mm, points at 1.6 m.
fn typed<'n>(reading: &str, along: &str, neighbours: &'n [Neighbour<'n>]) -> Typed<'n> {
    Typed {
        number: Number::Reading { reading: m(reading), collimation: m("49.057") },
        along: mm(along),
        expected: m("47.810"),
        tolerance: mm("5"),
        neighbours,
    }
}

fn wall<'n>(levels: &[(&'n str, &str, &str)]) -> Vec<Neighbour<'n>> {
    levels
        .iter()
        .map(|(point, along, level)| Neighbour { point, along: mm(along), level: m(level) })
        .collect()
}

#[test]
fn digits_of_a_reading_swapped_in_the_hand_are_pointed_out() {
    let pointed = look_at(&typed("1.425", "3400", &[]));
    assert_eq!(pointed.perhaps.len(), 1);
    assert_eq!((pointed.perhaps[0].number, pointed.perhaps[0].slip), (m("1.245"), Slip::Transposed));
    assert_eq!(pointed.perhaps[0].level, m("47.812"));
    assert_eq!(pointed.misfit, None);
    let beside = wall(&[("B1", "200", "47.813"), ("B2", "1800", "47.811")]);
    let pointed = look_at(&typed("1.425", "3400", &beside));
    assert_eq!(pointed.perhaps[0].number, m("1.245"));
    assert_eq!(pointed.misfit.unwrap().beside, ["B2"]);
    assert!(look_at(&typed("1.245", "3400", &beside)).is_empty());
}

#[test]
fn a_typed_level_is_looked_at_like_a_reading() {
    let level = |level: &str| Typed { number: Number::Level(m(level)), ..typed("0", "0", &[]) };
    let pointed = look_at(&level("48.710"));
    assert_eq!((pointed.perhaps[0].number, pointed.perhaps[0].slip), (m("47.810"), Slip::Transposed));
    let pointed = look_at(&level("46.812"));
    assert_eq!((pointed.perhaps[0].number, pointed.perhaps[0].slip), (m("47.812"), Slip::Metre));
    assert!(look_at(&level("47.810")).is_empty());
}

#[test]
fn all_that_could_be_meant_is_offered_the_nearest_first() {
    // 1.356 stands 109 low: a decimetre less leaves it 9 low, and swapped digits (1.365) would leave it 118 low.
    let at = |reading: &str, tolerance: &str| Typed { tolerance: mm(tolerance), ..typed(reading, "0", &[]) };
    let found: Vec<Slip> = look_at(&at("1.356", "10")).perhaps.iter().map(|perhaps| perhaps.slip).collect();
    assert_eq!(found, [Slip::Decimetre]);
    // 2.147: swapped to 1.247 it is exact; a metre less leaves 100 high, within 100 and so offered after it.
    let both = look_at(&at("2.147", "100"));
    let found: Vec<(Length, Slip)> =
        both.perhaps.iter().map(|perhaps| (perhaps.number, perhaps.slip)).collect();
    assert_eq!(found, [(m("1.247"), Slip::Transposed), (m("1.147"), Slip::Metre)]);
}

#[test]
fn a_level_on_the_edge_of_fitting_its_neighbours_fits() {
    // The line between 47.806 at 5.0 m and 47.808 at 8.2 m stands at 47.807 at 6.6 m; two tolerances are 10 mm.
    let beside = wall(&[("B6", "8200", "47.808"), ("B1", "200", "47.700"), ("B4", "5000", "47.806")]);
    for (reading, fits) in [
        ("1.240001", true),
        ("1.24", true),
        ("1.239999", false),
        ("1.259999", true),
        ("1.26", true),
        ("1.260001", false),
    ] {
        let pointed = look_at(&typed(reading, "6600", &beside));
        assert_eq!(pointed.misfit.is_none(), fits, "{reading}");
        assert!(pointed.perhaps.is_empty());
        if let Some(misfit) = pointed.misfit {
            assert_eq!(misfit.beside, ["B4", "B6"]);
            assert_eq!((misfit.off_by, misfit.allowed), (m("49.057") - m(reading) - m("47.807"), mm("10")));
        }
    }
    // The high point of the invented plot: 1.237 stands 13 mm above that line.
    assert!(look_at(&typed("1.237", "6600", &beside)).misfit.is_some());
}

#[test]
fn a_wall_that_is_low_all_along_is_no_row_of_slips() {
    let beside = wall(&[("A1", "200", "47.711"), ("A3", "3400", "47.709")]);
    assert!(look_at(&typed("1.347", "1800", &beside)).is_empty());
    // The same reading alone, or where its neighbours stand right, is pointed out.
    assert_eq!(look_at(&typed("1.347", "1800", &[])).perhaps[0].slip, Slip::Decimetre);
    let beside = wall(&[("A1", "200", "47.811"), ("A3", "3400", "47.809")]);
    let pointed = look_at(&typed("1.347", "1800", &beside));
    assert_eq!((pointed.perhaps[0].number, pointed.misfit.is_some()), (m("1.247"), true));
}

#[test]
fn a_point_read_again_is_held_against_itself() {
    let beside = wall(&[("A1", "200", "47.700"), ("A2", "1800", "47.811"), ("A3", "3400", "47.700")]);
    assert!(look_at(&typed("1.246", "1800", &beside)).is_empty());
    assert_eq!(look_at(&typed("1.286", "1800", &beside)).misfit.unwrap().beside, ["A2"]);
}
