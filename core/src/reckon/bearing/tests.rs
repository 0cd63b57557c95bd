use super::*;
use crate::faults::read_json;

fn mm(text: &str) -> Mm {
    Mm(Length::parse_mm(text).unwrap())
}

/// A wall whose deviations stand at 1 m centres, tolerance +5/−10.
fn sheet(decision: Decision, deviations: &[(&str, &str)]) -> Input {
    let target = Length::from_mm(47_810);
    Input {
        target_m: Metres(target),
        tolerance_plus_mm: mm("5"),
        tolerance_minus_mm: mm("10"),
        largest_difference_mm: None,
        points: deviations
            .iter()
            .enumerate()
            .map(|(index, (wall, deviation))| Point {
                point: format!("{wall}{index}"),
                wall: (*wall).to_owned(),
                along_mm: Mm(Length::from_mm(1000) * i64::try_from(index).unwrap()),
                x_mm: Mm(Length::from_mm(1000) * i64::try_from(index).unwrap()),
                y_mm: mm("0"),
                level_m: Metres(target + mm(deviation).0),
            })
            .collect(),
        decision,
        bed_mm: None,
    }
}

#[test]
fn a_level_on_its_limit_conforms() {
    use Verdict::{Conforming as C, Nonconforming as N};
    let output = reckon(&sheet(
        Decision::simple(),
        &[("A", "5.001"), ("A", "5"), ("A", "4.999"), ("A", "-9.999"), ("A", "-10"), ("A", "-10.001")],
    ))
    .unwrap();
    let verdicts: Vec<Verdict> = output.points.iter().map(|point| point.verdict).collect();
    assert_eq!(verdicts, [N, C, C, C, C, N]);
    let remedies: Vec<String> =
        output.points.iter().map(|point| point.least_remedy_mm.unwrap().0.to_mm_text()).collect();
    assert_eq!(remedies, ["-0.001", "0", "0", "0", "0", "0.001"]);
}

#[test]
fn a_difference_of_neighbours_carries_root_two() {
    use Verdict::{Conforming as C, Nonconforming as N, Undetermined as U};
    // √2 · 3 mm = 4.243 mm to the micrometre: accepted to 3.757, rejected above 12.243.
    for (difference, expect) in [
        ("3.756", C),
        ("3.757", C),
        ("3.758", U),
        ("12.242", U),
        ("12.243", U),
        ("12.244", N),
        ("-3.757", C),
        ("-12.244", N),
    ] {
        let mut input = sheet(Decision::guarded(mm("3").0), &[("A", "0"), ("A", difference)]);
        input.largest_difference_mm = Some(mm("8"));
        assert_eq!(reckon(&input).unwrap().neighbours[0].verdict, expect, "{difference}");
    }
}

#[test]
fn neighbours_never_pass_a_corner_and_go_along_the_wall() {
    let mut input = sheet(Decision::simple(), &[("A", "0"), ("B", "4"), ("A", "1"), ("B", "2"), ("A", "3")]);
    input.points[0].along_mm = mm("9000");
    let pairs: Vec<String> = reckon(&input)
        .unwrap()
        .neighbours
        .iter()
        .map(|pair| format!("{}-{} {}", pair.from, pair.to, pair.difference_mm.0.to_mm_text()))
        .collect();
    assert_eq!(pairs, ["A2-A4 2", "A4-A0 -3", "B1-B3 -2"]);
}

#[test]
fn without_a_limit_on_differences_they_do_not_count() {
    let output = reckon(&sheet(Decision::simple(), &[("A", "-9"), ("A", "5")])).unwrap();
    assert_eq!(output.neighbours[0].verdict, Verdict::Undetermined);
    assert_eq!(output.neighbours[0].probability_conforming, None);
    assert_eq!(output.verdict, Verdict::Conforming);
}

#[test]
fn no_points_are_undetermined() {
    assert_eq!(reckon(&sheet(Decision::simple(), &[])).unwrap().verdict, Verdict::Undetermined);
}

#[test]
fn a_coarse_instrument_is_said_and_settles_nothing() {
    let output = reckon(&sheet(Decision::guarded(mm("7.501").0), &[("A", "-2.5")])).unwrap();
    assert_eq!(output.points[0].verdict, Verdict::Undetermined);
    assert_eq!(output.points[0].least_remedy_mm, None);
    assert_eq!(output.findings[0].rule, "instrument too coarse for this limit");
    assert!(reckon(&sheet(Decision::guarded(mm("7.5").0), &[("A", "-2.5")])).unwrap().findings.is_empty());
}

#[test]
fn remedies_are_for_the_whole_wall() {
    let bed = Some(Bed { least: mm("10"), most: mm("20") });
    for (bed, deviations, expect) in [
        (bed, &["9", "0"][..], Some((RemedyKind::RelayCourse, Some("0")))),
        (bed, &["9", "-15"], Some((RemedyKind::RelayCourse, Some("0")))),
        (bed, &["-12", "-15"], Some((RemedyKind::LevellingBed, Some("0")))),
        (bed, &["-9", "-15"], Some((RemedyKind::LevellingBed, Some("1")))),
        (bed, &["-24", "-29"], Some((RemedyKind::LevellingBed, Some("-9")))),
        // Too thick at the lowest, too thin at the highest, or no bed allowed at all.
        (bed, &["-31"], Some((RemedyKind::Designer, None))),
        (bed, &["0", "-15"], Some((RemedyKind::Designer, None))),
        (None, &["-15"], Some((RemedyKind::Designer, None))),
        (bed, &["0", "-3"], None),
    ] {
        let walls: Vec<(&str, &str)> = deviations.iter().map(|deviation| ("A", *deviation)).collect();
        let mut input = sheet(Decision::simple(), &walls);
        input.bed_mm = bed;
        let output = reckon(&input).unwrap();
        let found = output.remedies.first().map(|remedy| (remedy.kind, remedy.to_deviation_mm));
        assert_eq!(found, expect.map(|(kind, to)| (kind, to.map(mm))), "{deviations:?}");
        assert_eq!(!output.remedies.is_empty(), output.findings.iter().any(|finding| finding.caution));
    }
}

/// The plane of tests/data/published/floor.json: a 3 m grid, worked out independently.
#[test]
fn the_plane_agrees_with_independent_least_squares() {
    let data: serde_json::Value =
        serde_json::from_str(include_str!("../../../../tests/data/published/floor.json")).unwrap();
    let plane = &data["plane"];
    let grid = plane["grid_m"].as_i64().unwrap();
    let mut input = sheet(Decision::simple(), &[]);
    for (row, heights) in plane["z_mm_by_rows"].as_array().unwrap().iter().enumerate() {
        for (column, height) in heights.as_array().unwrap().iter().enumerate() {
            let metres = |count: usize| Mm(Length::from_mm(1000 * grid * i64::try_from(count).unwrap()));
            input.points.push(Point {
                point: format!("{row}/{column}"),
                wall: row.to_string(),
                along_mm: metres(column),
                x_mm: metres(column),
                y_mm: metres(row),
                level_m: Metres(input.target_m.0 + mm(&height.to_string()).0),
            });
        }
    }
    let found = reckon(&input).unwrap().plane.unwrap();
    let near = |found: f64, expect: &serde_json::Value, tolerance: f64| {
        assert!((found - expect.as_f64().unwrap()).abs() <= tolerance, "{found} {expect}");
    };
    near(found.slope_x_mm_per_m, &plane["per_m_x"], 0.000_001);
    near(found.slope_y_mm_per_m, &plane["per_m_y"], 0.000_001);
    near(found.rms_mm * found.rms_mm * 9.0, &plane["sum_of_squares"], 0.000_1);
}

#[test]
fn points_in_one_line_span_no_plane() {
    assert_eq!(
        reckon(&sheet(Decision::simple(), &[("A", "0"), ("A", "1"), ("A", "5")])).unwrap().plane,
        None
    );
    assert_eq!(reckon(&sheet(Decision::simple(), &[("A", "0"), ("A", "1")])).unwrap().plane, None);
}

#[test]
fn moving_the_whole_site_up_changes_no_deviation() {
    let input = sheet(Decision::guarded(mm("3").0), &[("A", "1"), ("A", "-3.5"), ("B", "6")]);
    let mut moved = input.clone();
    let shift = Length::parse_m("-103.417").unwrap();
    moved.target_m.0 += shift;
    for point in &mut moved.points {
        point.level_m.0 += shift;
    }
    let (one, other) = (reckon(&input).unwrap(), reckon(&moved).unwrap());
    assert_eq!((one.points, one.neighbours, one.verdict), (other.points, other.neighbours, other.verdict));
}

#[test]
fn what_cannot_be_is_refused_by_place() {
    let mut input = sheet(Decision::simple(), &[("A", "0"), ("A", "0")]);
    input.points[1].point = "A0".to_owned();
    input.tolerance_plus_mm = mm("-1");
    input.bed_mm = Some(Bed { least: mm("5"), most: mm("4") });
    let faults = reckon(&input).unwrap_err().to_string();
    assert_eq!(
        faults,
        "/points/1/point: \"A0\" stands already at /points/0\n/tolerance_plus_mm: must be at least 0\n/bed_mm/most: must be at least least"
    );
}

#[test]
fn an_input_is_written_as_it_is_read() {
    let mut input = sheet(Decision::guarded(mm("3.5").0), &[("A", "0.125")]);
    input.bed_mm = Some(Bed { least: mm("10"), most: mm("20") });
    let text = serde_json::to_string(&input).unwrap();
    assert_eq!(read_json::<Input>(&text).unwrap(), input);
}
