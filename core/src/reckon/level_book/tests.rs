use serde_json::Value;

use super::super::tests::repeat;
use super::*;
use crate::faults::read_json;

pub(super) fn mm(text: &str) -> Length {
    Length::parse_mm(text).unwrap()
}

fn m(text: &str) -> Length {
    Length::parse_m(text).unwrap()
}

fn mark(point: &str, level: &str) -> Mark {
    Mark { point: point.to_owned(), level_m: Metres(m(level)) }
}

fn expected(point: &str, level: &str, tolerance: &str) -> Expected {
    Expected { point: point.to_owned(), level_m: Metres(m(level)), tolerance_mm: Mm(mm(tolerance)) }
}

fn book(sights: Vec<Sight>) -> Input {
    Input {
        method: Method::HeightOfCollimation,
        benchmark: mark("BM", "10"),
        sights,
        closing: None,
        allowable: Allowable::per_root_setup(mm("5")),
        expected: Vec::new(),
    }
}

/// So many set-ups, each 100 mm up, closing on a mark that the book misses by this.
fn line_of_levels(setups: i64, misclosure: Length) -> Input {
    let (back, fore) = (m("1.600"), m("1.500"));
    let mut sights = vec![Sight::back("BM", back)];
    sights.extend((1..setups).map(|number| Sight::change(format!("CP{number}"), fore, back)));
    sights.push(Sight::fore("end", fore));
    let mut input = book(sights);
    let known = m("10") + mm("100") * setups - misclosure;
    input.closing = Some(Mark { point: "end".to_owned(), level_m: Metres(known) });
    input
}

fn published() -> Value {
    serde_json::from_str(include_str!("../../../../tests/data/published/level-book.json")).unwrap()
}

fn length(value: &Value) -> Length {
    m(&value.to_string())
}

/// The books of tests/data/published/level-book.json, which names its sources, by both methods.
#[test]
fn published_books_reduce_by_both_methods() {
    let data = published();
    for case in data["cases"].as_array().unwrap() {
        let name = case["name"].as_str().unwrap();
        let per_setup = case.get("per_root_setup_mm").map_or("5".to_owned(), Value::to_string);
        let expect = &case["expect"];
        for method in ["height-of-collimation", "rise-and-fall"] {
            let mut input = serde_json::json!({
                "method": method, "benchmark": case["benchmark"], "sights": case["sights"],
                "allowable": {"per_root_setup_mm": per_setup.parse::<i64>().unwrap()},
            });
            if let Some(closing) = case.get("closing") {
                input["closing"] = closing.clone();
            }
            let output = reckon(&read_json::<Input>(&input.to_string()).unwrap()).unwrap();
            repeat(&output.working);
            let row = |point: &str| output.rows.iter().find(|row| row.point == point).unwrap();
            for (point, level) in expect["level_m"].as_object().unwrap() {
                assert_eq!(row(point).level_m.0, length(level), "{name}: {point}");
            }
            for (point, level) in expect["adjusted_m"].as_object().into_iter().flatten() {
                assert_eq!(row(point).adjusted_level_m.0, length(level), "{name}: {point} adjusted");
            }
            let checks = &output.checks;
            assert_eq!(checks.sum_back_m.0, length(&expect["sum_back_m"]), "{name}");
            assert_eq!(checks.sum_fore_m.0, length(&expect["sum_fore_m"]), "{name}");
            if method == "rise-and-fall" {
                assert_eq!(checks.sum_rise_m.unwrap().0, length(&expect["sum_rise_m"]), "{name}");
                assert_eq!(checks.sum_fall_m.unwrap().0, length(&expect["sum_fall_m"]), "{name}");
                assert!(output.rows.iter().all(|row| row.collimation_m.is_none()));
            } else {
                let found: Vec<Length> =
                    output.rows.iter().filter_map(|row| row.collimation_m).map(|level| level.0).collect();
                let planes: Vec<Length> =
                    expect["collimation_m"].as_array().unwrap().iter().map(length).collect();
                assert_eq!(found, planes, "{name}");
                assert_eq!((checks.sum_rise_m, checks.sum_fall_m), (None, None));
            }
            if let Some(misclosure) = expect.get("misclosure_mm") {
                assert_eq!(output.misclosure_mm.unwrap().0, mm(&misclosure.to_string()), "{name}");
                assert_eq!(output.verdict.word(), expect["verdict"].as_str().unwrap(), "{name}");
                assert!((output.allowable_mm - expect["allowable_mm"].as_f64().unwrap()).abs() <= 0.005);
            } else {
                assert_eq!((output.misclosure_mm, output.verdict), (None, Verdict::Undetermined));
            }
        }
    }
}

/// The allowables of the same file, given to two decimals.
#[test]
fn published_allowables_agree() {
    let data = published();
    let near = |found: f64, expect: &Value| {
        assert!((found - expect.as_f64().unwrap()).abs() <= 0.005, "{found} {expect}")
    };
    for (setups, expect) in data["allowable"][0]["values_mm"].as_object().unwrap() {
        let input = line_of_levels(setups.parse().unwrap(), Length::ZERO);
        near(reckon(&input).unwrap().allowable_mm, expect);
    }
    for (distance, expect) in data["allowable"][1]["values_mm"].as_object().unwrap() {
        let mut input = line_of_levels(3, Length::ZERO);
        input.allowable = Allowable::per_root_km(mm("12"), Length::parse_km(distance).unwrap());
        let output = reckon(&input).unwrap();
        near(output.allowable_mm, expect);
        repeat(&output.working);
    }
}

#[test]
fn a_misclosure_on_its_allowable_conforms() {
    use Verdict::{Conforming as C, Nonconforming as N};
    // 5·√1 and 5·√4 are whole; 5·√5 = 11.1803…, 12·√0.25 = 6, 12·√0.1 = 3.7947… (definition of the root).
    for (setups, distance, below, on, above) in [
        (1, None, "4.999", "5", "5.001"),
        (4, None, "9.999", "10", "10.001"),
        (5, None, "11.179", "11.18", "11.181"),
        (3, Some("0.25"), "5.999", "6", "6.001"),
        (3, Some("0.1"), "3.793", "3.794", "3.795"),
    ] {
        for (misclosure, expect) in [(below, C), (on, C), (above, N)] {
            for sign in [1, -1] {
                let mut input = line_of_levels(setups, mm(misclosure) * sign);
                if let Some(distance) = distance {
                    input.allowable = Allowable::per_root_km(mm("12"), Length::parse_km(distance).unwrap());
                }
                let output = reckon(&input).unwrap();
                assert_eq!(output.verdict, expect, "{setups} {distance:?} {misclosure}");
                assert_eq!(output.misclosure_mm.unwrap().0, mm(misclosure) * sign);
                repeat(&output.working);
            }
        }
    }
}

#[test]
fn a_misclosure_is_shared_out_over_set_ups() {
    let output = reckon(&line_of_levels(3, mm("5"))).unwrap();
    // 5 / 3 = 1.6667 and 10 / 3 = 3.3333, rounded half away from zero to the micrometre.
    let off: Vec<String> =
        output.rows.iter().map(|row| (row.level_m.0 - row.adjusted_level_m.0).to_mm_text()).collect();
    assert_eq!(off, ["0", "1.667", "3.333", "5"]);
    let setups: Vec<usize> = output.rows.iter().map(|row| row.setup).collect();
    assert_eq!(setups, [0, 1, 2, 3]);
}

#[test]
fn over_the_allowable_or_with_one_set_up_nothing_is_adjusted() {
    for (setups, misclosure) in [(3, "8.661"), (1, "5")] {
        let output = reckon(&line_of_levels(setups, mm(misclosure))).unwrap();
        assert!(output.rows.iter().all(|row| row.level_m == row.adjusted_level_m));
        assert_eq!(output.misclosure_mm.unwrap().0, mm(misclosure));
        assert_eq!(output.findings.len(), 1, "{:?}", output.findings);
        assert_eq!(output.findings[0].caution, setups == 1);
    }
}

#[test]
fn closing_on_the_starting_mark_is_a_caution() {
    let mut input = line_of_levels(2, Length::ZERO);
    assert!(reckon(&input).unwrap().findings.is_empty());
    input.sights[2].point = "BM".to_owned();
    input.sights[2].fore_m = Some(Metres(m("1.700")));
    input.closing = Some(input.benchmark.clone());
    let output = reckon(&input).unwrap();
    assert_eq!(output.verdict, Verdict::Conforming);
    assert!(output.findings[0].caution && output.findings[0].reason.contains("not the mark"));
}

#[test]
fn a_book_that_is_still_open_reduces_and_its_sums_close() {
    let whole = line_of_levels(3, Length::ZERO);
    let mut sights = whole.sights.clone();
    sights.insert(2, Sight::inter("A", m("-0.250")));
    for rows in 1..=sights.len() {
        for method in [Method::HeightOfCollimation, Method::RiseAndFall] {
            let mut input = book(sights[..rows].to_vec());
            input.method = method;
            input.sights[0].booked_level_m = Some(Metres(m("10")));
            let output = reckon(&input).unwrap();
            assert_eq!(output.verdict, Verdict::Undetermined);
            assert_eq!(output.checks.agrees, Some(true), "{rows}");
            assert_eq!(output.findings[0].verdict, Verdict::Undetermined);
            repeat(&output.working);
        }
    }
    let mut input = book(sights[..3].to_vec());
    input.closing = None;
    // An inverted staff reads down from above: 10.100 + 1.600 + 0.250.
    assert_eq!(reckon(&input).unwrap().rows[2].level_m.0, m("11.950"));
}

#[test]
fn levels_reduced_by_hand_are_compared_where_there_are_any() {
    let mut input = line_of_levels(2, Length::ZERO);
    assert_eq!(reckon(&input).unwrap().checks.agrees, None);
    input.sights[1].booked_level_m = Some(Metres(m("10.100")));
    assert_eq!(reckon(&input).unwrap().checks.agrees, Some(true));
    input.sights[2].booked_level_m = Some(Metres(m("10.200001")));
    let output = reckon(&input).unwrap();
    assert_eq!(output.checks.agrees, Some(false));
    assert_eq!(output.verdict, Verdict::Conforming);
    assert!(output.findings[0].caution && output.findings[0].reason.contains("end"), "{:?}", output.findings);
}

#[test]
fn the_book_hands_on_the_larger_uncertainty() {
    for (misclosure, expect) in [("2.999", "3"), ("3", "3"), ("-3.001", "3.001")] {
        let output = reckon(&line_of_levels(2, mm(misclosure))).unwrap();
        assert_eq!(output.uncertainty(mm("3")), mm(expect), "{misclosure}");
    }
    assert_eq!(reckon(&book(vec![Sight::back("BM", m("1"))])).unwrap().uncertainty(mm("3")), mm("3"));
}

/// One set-up at collimation 12.000 with readings on points that are expected at 10.889, where the staff reads 1.111:
/// its digits are alike, so that only whole units can be slips.
fn readings(readings: &[&str], tolerance: &str) -> Input {
    let mut input = book(vec![Sight::back("BM", m("2"))]);
    for (index, reading) in readings.iter().enumerate() {
        input.sights.push(Sight::inter(index.to_string(), m(reading)));
        input.expected.push(expected(&index.to_string(), "10.889", tolerance));
    }
    input
}

fn suspects(input: &Input) -> Vec<(String, Reading, String, Slip)> {
    reckon(input)
        .unwrap()
        .suspects
        .into_iter()
        .map(|one| (one.point, one.reading, one.perhaps_m.0.to_m_text(), one.slip))
        .collect()
}

#[test]
fn a_reading_is_suspected_beyond_five_tolerances_and_explained_within_one() {
    // Read as 1.111 where the level is expected 10 mm and a little lower: a centimetre too little was read.
    for (level, tolerance, suspect) in [
        ("10.879001", "2", false),
        ("10.879", "2", false),
        ("10.878999", "2", true),
        ("10.877001", "2", true),
        ("10.877", "2", true),
        ("10.876999", "2", false),
    ] {
        let mut input = readings(&["1.111"], tolerance);
        input.expected[0].level_m = Metres(m(level));
        let found = suspects(&input);
        assert_eq!(!found.is_empty(), suspect, "{level}");
        if suspect {
            assert_eq!(found, [("0".to_owned(), Reading::Inter, "1.121".to_owned(), Slip::Centimetre)]);
        }
    }
}

#[test]
fn every_kind_of_slip_is_found_and_nothing_else() {
    for (booked, perhaps, slip) in [
        ("2.111", "1.111", Slip::Metre),
        ("0.111", "1.111", Slip::Metre),
        ("1.211", "1.111", Slip::Decimetre),
        ("1.011", "1.111", Slip::Decimetre),
        ("1.121", "1.111", Slip::Centimetre),
        ("1.101", "1.111", Slip::Centimetre),
    ] {
        let input = readings(&["1.111", booked, "1.112"], "1");
        let expect = ("1".to_owned(), Reading::Inter, perhaps.to_owned(), slip);
        assert_eq!(suspects(&input), [expect], "{booked}");
    }
    // 60 mm out is no slip that is looked for, and 6 m is on no staff.
    assert!(suspects(&readings(&["1.111", "1.171"], "1")).is_empty());
}

#[test]
fn swapped_digits_are_found_where_they_are_neighbours() {
    for (booked, meant, found) in [
        ("1.425", "1.245", true),
        ("2.145", "1.245", true),
        ("1.254", "1.245", true),
        ("1.542", "1.245", false),
    ] {
        let mut input = readings(&["1.111", booked], "1");
        input.expected[1].level_m = Metres(m("12") - m(meant));
        let expect = ("1".to_owned(), Reading::Inter, meant.to_owned(), Slip::Transposed);
        assert_eq!(suspects(&input), if found { vec![expect] } else { vec![] }, "{booked}");
    }
}

#[test]
fn a_set_up_that_misses_as_one_has_its_back_sight_suspected() {
    // All read a decimetre too high with the range just below, on and just above a tolerance.
    for (third, as_one) in [("1.211999", true), ("1.212", true), ("1.212001", false)] {
        let input = readings(&["1.211", "1.2115", third], "1");
        let found = suspects(&input);
        if as_one {
            assert_eq!(
                found,
                [("BM".to_owned(), Reading::Back, "2.1".to_owned(), Slip::Decimetre)],
                "{third}"
            );
        } else {
            assert!(found.iter().all(|(_, reading, ..)| *reading == Reading::Inter), "{third}: {found:?}");
        }
    }
    // One reading alone speaks for itself.
    assert_eq!(suspects(&readings(&["1.211"], "1"))[0].1, Reading::Inter);
}

#[test]
fn a_miss_that_is_carried_on_is_named_once() {
    // The second back sight was 2.000 and is booked as 2.100: everything after it stands a decimetre high.
    let mut input = readings(&["1.111", "1.112"], "1");
    let tail = [
        Sight::change("CP1", m("1.111"), m("2.1")),
        Sight::inter("A", m("2.000")),
        Sight::inter("B", m("2.001")),
        Sight::change("CP2", m("1.000"), m("1.000")),
        Sight::inter("C", m("2.000")),
        Sight::inter("D", m("2.001")),
        Sight::inter("E", m("3.001")),
    ];
    input.sights.extend(tail);
    for (point, level) in [("A", "10.889"), ("B", "10.888"), ("C", "10.889"), ("D", "10.888"), ("E", "9.888")]
    {
        input.expected.push(expected(point, level, "1"));
    }
    assert_eq!(suspects(&input), [("CP1".to_owned(), Reading::Back, "2".to_owned(), Slip::Decimetre)]);
}

#[test]
fn what_cannot_be_is_refused_by_place() {
    let on = |point: &str, back: Option<&str>, inter: Option<&str>, fore: Option<&str>| Sight {
        point: point.to_owned(),
        back_m: back.map(|text| Metres(m(text))),
        inter_m: inter.map(|text| Metres(m(text))),
        fore_m: fore.map(|text| Metres(m(text))),
        booked_level_m: None,
    };
    let mut input = book(vec![
        on("A", None, Some("1"), None),
        on("B", Some("1"), None, None),
        on("C", None, Some("1"), Some("1")),
        on("D", None, None, None),
        on("E", None, None, Some("5.000001")),
        on("F", None, Some("1245"), None),
        on("G", None, None, Some("-5.000001")),
        on("H", None, Some("1"), None),
    ]);
    input.closing = Some(mark("Z", "9"));
    input.allowable =
        Allowable { distance_km: Some(Km(Length::ZERO)), ..Allowable::per_root_setup(mm("-1")) };
    input.expected = vec![expected("A", "1", "1"), expected("A", "1", "-0.001")];
    assert_eq!(
        reckon(&input).unwrap_err().to_string().lines().collect::<Vec<_>>(),
        [
            "/sights/0/point: the book must start with a back sight to the benchmark \"BM\"",
            "/sights/0/back_m: is missing: the book must start with a back sight to the benchmark \"BM\"",
            "/sights/0/inter_m: stands in the first row, which is a back sight alone",
            "/sights/1/back_m: stands without a fore sight: a change point has both in one row",
            "/sights/2/inter_m: stands beside another sight: an intermediate sight has its row alone",
            "/sights/3: has no reading: give inter_m, fore_m and back_m (a change point), or fore_m alone (closing)",
            "/sights/5: stands after the closing at /sights/4: a change point has fore_m and back_m",
            "/sights/6/fore_m: a second closing: the book was closed at /sights/4",
            "/sights/4/fore_m: must lie within ±5 m: no levelling staff is longer (common practice)",
            "/sights/5/inter_m: must lie within ±5 m: no levelling staff is longer (common practice); perhaps 1.245 m?",
            "/sights/6/fore_m: must lie within ±5 m: no levelling staff is longer (common practice)",
            "/closing/point: is never closed on: the last row must be a fore sight alone to \"Z\"",
            "/allowable/distance_km: stands without per_root_km_mm",
            "/allowable/per_root_setup_mm: must be at least 0",
            "/allowable/distance_km: must be more than 0",
            "/expected/1/point: \"A\" has an expected level already",
            "/expected/1/tolerance_mm: must be at least 0",
        ]
    );
}

#[test]
fn a_book_without_rows_without_rule_or_with_two_levels_for_a_mark_is_refused() {
    assert_eq!(
        reckon(&book(Vec::new())).unwrap_err().to_string(),
        "/sights: must start with a back sight to the benchmark \"BM\", and is empty"
    );
    let mut input = line_of_levels(1, Length::ZERO);
    input.benchmark.point = "end".to_owned();
    input.sights[0].point = "end".to_owned();
    input.allowable = Allowable::default();
    assert_eq!(
        reckon(&input).unwrap_err().to_string().lines().collect::<Vec<_>>(),
        [
            "/closing/level_m: must be the benchmark's level, since it is the same mark",
            "/allowable/per_root_setup_mm: is missing: give per_root_setup_mm, or per_root_km_mm and distance_km",
        ]
    );
    let mut input = line_of_levels(1, Length::ZERO);
    input.allowable.per_root_km_mm = Some(Mm(mm("12")));
    assert_eq!(
        reckon(&input).unwrap_err().to_string().lines().collect::<Vec<_>>(),
        [
            "/allowable/per_root_km_mm: stands beside per_root_setup_mm: give one of them",
            "/allowable/distance_km: is missing: per_root_km_mm needs it",
        ]
    );
}

#[test]
fn readings_at_the_ends_of_the_staff_are_taken() {
    let input = book(vec![Sight::back("BM", m("5")), Sight::inter("A", m("-5"))]);
    assert_eq!(reckon(&input).unwrap().rows[1].level_m.0, m("20"));
}

#[test]
fn a_long_book_is_worked_out_by_pages_and_one_past_the_bound_is_refused() {
    let setups = i64::try_from(MAX_SIGHTS).unwrap() - 1;
    let mut input = line_of_levels(setups, mm("1"));
    input.method = Method::RiseAndFall;
    let output = reckon(&input).unwrap();
    assert_eq!((output.rows.len(), output.setups), (MAX_SIGHTS, MAX_SIGHTS - 1));
    assert!(output.working.0.len() < 1_000, "{}", output.working.0.len());
    repeat(&output.working);
    assert_eq!(output.rows[MAX_SIGHTS - 1].adjusted_level_m, input.closing.unwrap().level_m);
    // Many sights from few set-ups need no more steps than the checks.
    let mut few = line_of_levels(2, Length::ZERO);
    few.sights.splice(2..2, (3..MAX_SIGHTS).map(|row| Sight::inter(row.to_string(), m("1.234"))));
    for method in [Method::HeightOfCollimation, Method::RiseAndFall] {
        few.method = method;
        let output = reckon(&few).unwrap();
        assert!(output.working.0.len() <= 10 && output.working.to_text().len() < 2_000);
        repeat(&output.working);
    }
    let refused = reckon(&line_of_levels(setups + 1, Length::ZERO)).unwrap_err().to_string();
    assert_eq!(refused, "/sights: must have at most 20000 items");
}

#[test]
fn an_input_is_written_as_it_is_read() {
    let mut input = line_of_levels(2, mm("0.125"));
    input.allowable = Allowable::per_root_km(mm("12"), Length::parse_km("0.075").unwrap());
    input.expected = vec![expected("CP1", "10.1", "2.5")];
    let text = serde_json::to_string(&input).unwrap();
    assert_eq!(read_json::<Input>(&text).unwrap(), input);
}
