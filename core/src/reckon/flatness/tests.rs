use proptest::prelude::*;

use super::*;
use crate::reckon::tests::repeat;
use crate::record::canonical::tests::fixed;

fn mm(text: &str) -> Mm {
    Mm(Length::parse_mm(text).unwrap())
}

/// One line, heights in millimetres above 48.150 at even distances.
fn sheet(kind: Kind, gap: &str, spacing: i64, heights: &[&str]) -> Input {
    Input {
        lines: vec![line("L", spacing, heights)],
        straightedge_mm: mm("2000"),
        class: Class { name: "class of the test".to_owned(), kind, gap_mm: mm(gap) },
        out_of_level: None,
        target_m: None,
        level_tolerance_mm: None,
    }
}

fn line(name: &str, spacing: i64, heights: &[&str]) -> Line {
    Line {
        line: name.to_owned(),
        readings: heights
            .iter()
            .enumerate()
            .map(|(index, height)| Reading {
                along_mm: Mm(Length::from_mm(spacing) * i64::try_from(index).unwrap()),
                level_m: Metres(Length::from_mm(48_150) + mm(height).0),
            })
            .collect(),
    }
}

fn judged(input: &Input) -> JudgedLine {
    let output = reckon(input).unwrap();
    repeat(&output.working);
    output.lines[0].clone()
}

/// tests/data/published/floor.json, flatness example: worked out independently.
#[test]
fn the_published_example_agrees() {
    let data: serde_json::Value =
        serde_json::from_str(include_str!("../../../../tests/data/published/floor.json")).unwrap();
    let flatness = &data["flatness"];
    let example = &flatness["example"];
    let heights: Vec<String> =
        example["heights_mm"].as_array().unwrap().iter().map(ToString::to_string).collect();
    let heights: Vec<&str> = heights.iter().map(String::as_str).collect();
    let spacing = example["spacing_mm"].as_i64().unwrap();
    for (class, expect) in
        [("SR1", Verdict::Nonconforming), ("SR2", Verdict::Conforming), ("SR3", Verdict::Conforming)]
    {
        let gap = flatness["gap_under_2_m_straightedge_mm"][class].to_string();
        let found = judged(&sheet(Kind::Gap, &gap, spacing, &heights));
        assert_eq!(found.largest_gap_mm.unwrap().0.to_mm_text(), example["largest_gap_mm"].to_string());
        assert_eq!(found.at_mm.unwrap().0.to_mm_text(), example["at_mm"].to_string());
        let contacts: Vec<String> = found.contacts_mm.unwrap().iter().map(|mm| mm.0.to_mm_text()).collect();
        let expected: Vec<String> =
            example["contacts_mm"].as_array().unwrap().iter().map(ToString::to_string).collect();
        assert_eq!(contacts, expected);
        assert_eq!(found.verdict, expect, "{class}");
    }
}

#[test]
fn a_gap_on_its_limit_conforms() {
    // High points at both ends, the middle low by the gap.
    for kind in [Kind::Gap, Kind::EqualOffsets] {
        for (low, verdict) in
            [("-4.999", Verdict::Conforming), ("-5", Verdict::Conforming), ("-5.001", Verdict::Nonconforming)]
        {
            let found = judged(&sheet(kind, "5", 1000, &["0", low, "0"]));
            assert_eq!((found.verdict, found.at_mm), (verdict, Some(mm("1000"))), "{low}");
        }
    }
}

#[test]
fn a_hump_is_a_gap_beside_it_or_an_offset_above() {
    // A straightedge balanced on a hump touches it and one end: the gap is that of the far side.
    let hump = ["0", "0", "4", "0", "0"];
    let found = judged(&sheet(Kind::Gap, "5", 500, &hump));
    assert_eq!(found.largest_gap_mm, Some(mm("2")));
    assert_eq!(found.at_mm, Some(mm("500")));
    let found = judged(&sheet(Kind::EqualOffsets, "5", 500, &hump));
    assert_eq!((found.largest_gap_mm, found.at_mm), (Some(mm("4")), Some(mm("1000"))));
}

#[test]
fn windows_start_or_end_on_a_reading_and_never_leave_the_line() {
    // Readings every 1.5 m, so windows are 0–2000, 1000–3000, 1500–3500 and 2500–4500.
    let found = judged(&sheet(Kind::Gap, "1", 1500, &["0", "-3", "0", "0"]));
    // 0–2000: from 0 at its start to −2 at its end, −1.5 at 1500: gap 1.5. 1000–3000: the same by symmetry.
    assert_eq!(found.largest_gap_mm, Some(mm("1.5")));
    assert_eq!(found.straightedge_mm, Some([mm("0"), mm("2000")]));
    assert!(!found.shorter_than_straightedge);
}

#[test]
fn a_short_line_is_taken_whole_and_flagged() {
    let mut input = sheet(Kind::Gap, "5", 900, &["0", "-4", "0"]);
    let found = judged(&input);
    assert!(found.shorter_than_straightedge);
    assert_eq!(found.largest_gap_mm, Some(mm("4")));
    assert!(reckon(&input).unwrap().findings.iter().any(|finding| finding.caution));
    input.lines[0].readings[2].along_mm = mm("2000");
    assert!(!judged(&input).shorter_than_straightedge);
    input.lines[0].readings[2].along_mm = mm("1999.999");
    assert!(judged(&input).shorter_than_straightedge);
}

#[test]
fn two_readings_show_no_gap() {
    for heights in [&[][..], &["0"], &["0", "0"]] {
        let found = judged(&sheet(Kind::Gap, "5", 3000, heights));
        assert_eq!((found.verdict, found.largest_gap_mm), (Verdict::Undetermined, None), "{heights:?}");
    }
    let mut input = sheet(Kind::Gap, "5", 3000, &[]);
    input.lines.clear();
    assert_eq!(reckon(&input).unwrap().verdict, Verdict::Undetermined);
}

#[test]
fn levels_are_held_against_their_target_and_tolerance() {
    for (high, verdict) in
        [("14.999", Verdict::Conforming), ("15", Verdict::Conforming), ("15.001", Verdict::Nonconforming)]
    {
        let mut input = sheet(Kind::Gap, "99", 1000, &["0", high, "-3"]);
        input.target_m = Some(Metres(Length::from_mm(48_150)));
        input.level_tolerance_mm = Some(mm("15"));
        let found = judged(&input);
        assert_eq!(found.verdict, verdict, "{high}");
        assert_eq!(found.largest_level_deviation_mm, Some(mm(high)));
        assert_eq!(found.level_at_mm, Some(mm("1000")));
        input.level_tolerance_mm = None;
        assert_eq!(judged(&input).verdict, Verdict::Conforming);
    }
}

/// The practice of NHBC Standards 9.1 in the published file: 3 mm a metre up to 6 m, 20 mm overall.
#[test]
fn out_of_level_grows_with_the_line_up_to_its_bound() {
    for (spacing, high, allowed, verdict) in [
        (1000, "6", "6", Verdict::Conforming),
        (1000, "6.001", "6", Verdict::Nonconforming),
        (4000, "20", "20", Verdict::Conforming),
        (4000, "20.001", "20", Verdict::Nonconforming),
        (3000, "18", "18", Verdict::Conforming),
        (3000, "18.001", "18", Verdict::Nonconforming),
    ] {
        let mut input = sheet(Kind::EqualOffsets, "99", spacing, &["0", "1", high]);
        input.out_of_level = Some(OutOfLevel { per_m_mm: mm("3"), overall_mm: mm("20") });
        let found = judged(&input);
        assert_eq!(found.out_of_level_allowed_mm, Some(mm(allowed)));
        assert_eq!(found.verdict, verdict, "{spacing} {high}");
    }
}

#[test]
fn what_cannot_be_is_refused_by_place() {
    let mut input = sheet(Kind::Gap, "-1", 0, &["0", "1"]);
    input.lines.push(line("L", 1, &[]));
    input.straightedge_mm = mm("0");
    input.level_tolerance_mm = Some(mm("-1"));
    assert_eq!(
        reckon(&input).unwrap_err().to_string(),
        "/lines/1/line: \"L\" stands already at /lines/0\n\
         /lines/0/readings/1/along_mm: was read already at /lines/0/readings/0\n\
         /straightedge_mm: must be more than 0\n/class/gap_mm: must be at least 0\n\
         /level_tolerance_mm: must be at least 0\n/target_m: is missing: level_tolerance_mm needs it"
    );
    let mut input = sheet(Kind::Gap, "1", 1, &vec!["0"; MAX_POINTS]);
    assert!(reckon(&input).is_ok());
    input.lines.push(line("M", 1, &["0"]));
    assert_eq!(reckon(&input).unwrap_err().to_string(), "/lines: must have at most 5000 readings in all");
}

fn some_line() -> impl Strategy<Value = Vec<Reading>> {
    prop::collection::vec((1_000_i64..900_000, -20_000_i64..20_000), 3..14).prop_map(|steps| {
        let mut along = 0;
        steps
            .into_iter()
            .map(|(step, height)| {
                along += step;
                Reading {
                    along_mm: Mm(Length::from_um(along)),
                    level_m: Metres(Length::from_um(48_150_000 + height)),
                }
            })
            .collect()
    })
}

proptest! {
    #![proptest_config(fixed(300))]

    /// A slope of whole micrometres a millimetre moves every level by a whole number.
    #[test]
    fn a_constant_slope_changes_no_gap(
        readings in some_line(), slope in -50_i64..50, equal in any::<bool>(), turned in any::<bool>()
    ) {
        let kind = if equal { Kind::EqualOffsets } else { Kind::Gap };
        let mut input = sheet(kind, "5", 1, &[]);
        // Whole millimetres, so that the slope's rise is whole micrometres.
        input.lines[0].readings = readings;
        for reading in &mut input.lines[0].readings {
            reading.along_mm = Mm(Length::from_mm(reading.along_mm.0.um() / 1_000));
        }
        let flat = judged(&input);
        for reading in &mut input.lines[0].readings {
            reading.level_m.0 += Length::from_um(slope * reading.along_mm.0.um() / 1_000);
        }
        if turned {
            input.lines[0].readings.reverse();
        }
        let sloped = judged(&input);
        prop_assert_eq!(flat.largest_gap_mm, sloped.largest_gap_mm);
        prop_assert_eq!(flat.at_mm, sloped.at_mm);
        prop_assert_eq!(flat.contacts_mm, sloped.contacts_mm);
    }

    #[test]
    fn a_longer_straightedge_never_finds_a_smaller_gap(readings in some_line()) {
        let mut input = sheet(Kind::Gap, "5", 1, &[]);
        input.lines[0].readings = readings;
        let gap = |input: &Input| judged(input).largest_gap_mm.unwrap();
        input.straightedge_mm = mm("100000");
        let whole = gap(&input);
        input.straightedge_mm = mm("1000");
        prop_assert!(gap(&input) <= whole);
    }
}
