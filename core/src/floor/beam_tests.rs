//! Beams and infill of the invented plot, and drawings that do not agree with themselves. The figures are worked by
//! hand: 8400 = 120 + 16 × 110 + 11 × 500 + 2 × 320 + 260 + 120.

use super::beams::InRun;
use super::layout::lay;
use super::*;
use crate::ids::PointName;
use crate::quantity::Length;

const SEMI: &str = include_str!("../../../assets/demo/semi.toml");

fn changed(from: &str, to: &str) -> String {
    assert!(SEMI.contains(from), "no {from:?} in the design");
    SEMI.replacen(from, to, 1)
}

#[track_caller]
fn refused(text: &str, place: &str, says: &str) {
    let faults = FloorDesign::read(text).unwrap_err();
    let found = faults.iter().find(|fault| fault.place == place);
    let found = found.unwrap_or_else(|| panic!("no fault at {place}: {faults}"));
    assert!(found.what.contains(says), "{found:?} does not say {says:?}");
}

#[test]
fn the_invented_run_fills_its_width_and_its_beams_stand_where_the_drawing_has_them() {
    let design = FloorDesign::read(SEMI).unwrap();
    let beams = design.beams.as_ref().unwrap();
    let run = beams.run(&PointName::new("R1").unwrap()).unwrap();
    assert_eq!(run.left_over(beams), Length::from_mm(260));
    assert_eq!((run.beam_count(), run.count(InRun::Wide), run.count(InRun::Narrow)), (16, 11, 2));
    // With a make-up of 246 (the walls stand 8386 apart): faces of the beams as worked by hand.
    let faces: Vec<Length> = lay(beams, run, Length::from_mm(246))
        .into_iter()
        .filter(|one| one.kind == InRun::Beam)
        .map(|one| one.from)
        .collect();
    let by_hand =
        [120, 730, 1340, 1950, 2560, 2670, 3100, 3710, 4320, 4676, 5286, 5896, 6326, 6936, 7546, 8156];
    assert_eq!(faces, by_hand.map(Length::from_mm));
}

#[test]
fn a_beam_reaches_over_both_bearings_and_a_doubled_one_knows_it() {
    let design = FloorDesign::read(SEMI).unwrap();
    let runs = design.laid_runs();
    let beam = &runs[0].laid[0];
    let at = |x: i64, y: i64| [Mm(Length::from_mm(x)), Mm(Length::from_mm(y))];
    // 4190 over 4000: 95 on each wall.
    assert_eq!(beam.corners_mm, [at(120, -95), at(230, -95), at(230, 4095), at(120, 4095)]);
    let doubled: Vec<String> = runs[0]
        .laid
        .iter()
        .filter(|one| one.doubled)
        .filter_map(|one| one.beam.as_ref().map(ToString::to_string))
        .collect();
    assert_eq!(doubled, ["R1/5", "R1/6"]);
    // The second run starts on the other face of the spine wall, which is 215 thick: 215 − 95 − 95 = 25 stay open.
    let second = &runs[1].laid[0];
    assert_eq!(second.corners_mm[0], at(120, 4120));
    assert_eq!(design.beam_names().len(), 26);
}

#[test]
fn a_sequence_that_cannot_fill_its_width_is_refused_at_its_place() {
    // One wide infill less: 500 more are left over than the 260 of the make-up.
    refused(
        &changed(
            "\"make-up\", \"beam\", \"wide\", \"beam\", \"wide\", \"beam\", \"narrow\"",
            "\"make-up\", \"beam\", \"narrow\"",
        ),
        "/beams/runs/0/sequence",
        "make-up of 1480",
    );
    refused(
        &changed("edge_start_mm = 120", "edge_start_mm = 59"),
        "/beams/runs/0/sequence",
        "make-up of 321",
    );
    refused(
        &changed("edge_start_mm = 120", "edge_start_mm = 60"),
        "/beams/runs/0/sequence",
        "make-up of 320",
    );
    assert!(FloorDesign::read(&changed("edge_start_mm = 120", "edge_start_mm = 61")).is_ok());
    // 260 − 200 = 60 is just enough, one millimetre less is not.
    // (The partition no longer stands over its beams then and pop-ups meet beams, but the run itself is filled.)
    let faults = FloorDesign::read(&changed("edge_start_mm = 120", "edge_start_mm = 320")).unwrap_err();
    let of_run = |fault: &crate::faults::Fault| fault.place.starts_with("/beams/runs/");
    assert!(!faults.iter().any(of_run), "{faults}");
    refused(
        &changed("edge_start_mm = 120", "edge_start_mm = 321"),
        "/beams/runs/0/sequence",
        "make-up of 59",
    );
}

#[test]
fn what_does_not_agree_within_the_drawing_is_named() {
    refused(&changed("beam = \"P42\"", "beam = \"P43\""), "/beams/runs/0/beam", "no type of beam `P43`");
    refused(
        &changed("bears_on = [\"A\", \"B\"]", "bears_on = [\"A\", \"Z\"]"),
        "/beams/runs/0/bears_on/1",
        "no wall `Z`",
    );
    refused(
        &changed("length_mm = 4190", "length_mm = 4169"),
        "/beams/runs/0/clear_span_mm",
        "169 mm for both bearings",
    );
    assert!(FloorDesign::read(&changed("length_mm = 4190", "length_mm = 4170")).is_ok());
    refused(&changed("narrow_mm = 320", "narrow_mm = 500"), "/beams/infill/narrow_mm", "less than the wide");
    refused(
        &changed("\"beam\", \"wide\", \"beam\", \"wide\"", "\"wide\", \"beam\", \"wide\""),
        "/beams/runs/0/sequence",
        "start and end with a beam",
    );
    refused(&changed("mark = \"P36\"", "mark = \"P42\""), "/beams/types/1/mark", "stands here twice");
    refused(&changed("wide_mm = 500", "wide_mm = 0"), "/beams/infill/wide_mm", "");
}

#[test]
fn a_line_load_stands_over_beams_that_lie_together() {
    // Beams 5 and 6 reach from 2560 to 2780: closed at both faces.
    for (x, holds) in [(2560, true), (2559, false), (2780, true), (2781, false)] {
        let text = changed("[[2670, 0], [2670, 4000]]", &format!("[[{x}, 0], [{x}, 4000]]"));
        match FloorDesign::read(&text) {
            Ok(_) => assert!(holds, "{x}"),
            Err(faults) => {
                assert!(!holds, "{x}: {faults}");
                refused(&text, "/beams/line_loads/0/line_mm", "does not stand over");
            }
        }
    }
    refused(
        &changed("[[2670, 0], [2670, 4000]]", "[[120, 0], [8000, 0]]"),
        "/beams/line_loads/0/line_mm",
        "does not stand over",
    );
}

#[test]
fn a_line_load_over_two_runs_is_a_fault_where_its_beams_are_drawn_single() {
    // Over both runs: doubled at x 2560 to 2780 in R1, but single beams in R2, whose beam 5 starts at 2460 and 6 at 2790.
    let over_both = "[[2670, 0], [2670, 7615]]";
    let place = "/beams/line_loads/0/line_mm";
    refused(
        &changed("[[2670, 0], [2670, 4000]]", over_both),
        place,
        "in run R2, as it does in run R1: a doubled beam is drawn single there",
    );
    refused(&changed("[[2670, 0], [2670, 4000]]", "[[9000, 0], [9000, 4000]]"), place, "over any bay run");
    // Only the thickness of the spine wall beyond the run: nothing is crossed there.
    assert!(FloorDesign::read(&changed("[[2670, 0], [2670, 4000]]", "[[2670, -95], [2670, 4215]]")).is_ok());
}

#[test]
fn three_beams_may_lie_together_and_a_load_over_their_joint_stands() {
    // One beam more after beam 6: the make-up gives its 110, 260 − 110 = 150 stay. The three reach from 2560 to 2890.
    let tripled = changed(
        "\"beam\", \"beam\", \"narrow\", \"beam\", \"wide\"",
        "\"beam\", \"beam\", \"beam\", \"narrow\", \"beam\", \"wide\"",
    );
    let tripled = tripled.replacen("[[2670, 0], [2670, 4000]]", "[[2880, 0], [2880, 4000]]", 1);
    let start = tripled.find("[[pop_ups]]").unwrap();
    let end = tripled.find("# Beams and infill.").unwrap();
    let design = FloorDesign::read(&format!("{}{}", &tripled[..start], &tripled[end..])).unwrap();
    let doubled = design.laid_runs()[0].laid.iter().filter(|one| one.doubled).count();
    assert_eq!(doubled, 3);
}

#[test]
fn a_wall_that_passes_through_says_what_is_built_under_it() {
    let wall = "name = \"B\"\nline_mm = [[0, 4000], [8400, 4000]]\nthickness_mm = 215\nbearing = true\n";
    let with = |more: &str| changed(wall, &format!("{wall}{more}"));
    let design =
        FloorDesign::read(&with("passes_through = true\ncoursing = \"two courses of 100 block\"\n")).unwrap();
    assert_eq!(design.passing_wall_names(), [PointName::new("B").unwrap()]);
    refused(&with("passes_through = true\n"), "/walls/1/coursing", "missing");
    refused(&with("coursing = \"block\"\n"), "/walls/1/coursing", "only a wall that passes through");
    refused(&with("passes_through = true\ncoursing = \" \"\n"), "/walls/1/coursing", "not blank");
}

#[test]
fn widths_that_cannot_be_are_refused_by_name() {
    for (from, to, place) in [
        ("wide_mm = 500", "wide_mm = -500", "/beams/infill/wide_mm"),
        ("narrow_mm = 320", "narrow_mm = 0", "/beams/infill/narrow_mm"),
        ("piece_mm = 1300", "piece_mm = 0", "/beams/infill/piece_mm"),
        ("kerf_mm = 3", "kerf_mm = -1", "/beams/infill/kerf_mm"),
        ("[beams]\nwidth_mm = 110", "[beams]\nwidth_mm = 0", "/beams/width_mm"),
        ("length_mm = 4190", "length_mm = -1", "/beams/types/0/length_mm"),
        ("clear_span_mm = 4000", "clear_span_mm = 0", "/beams/runs/0/clear_span_mm"),
        ("edge_start_mm = 120", "edge_start_mm = -1", "/beams/runs/0/edge_start_mm"),
        ("quantity = 26", "quantity = 0", "/beams/items/0/quantity"),
        ("quantity = 26", "quantity = 100001", "/beams/items/0/quantity"),
        ("diameter_mm = 160", "diameter_mm = 0", "/pop_ups/0/diameter_mm"),
    ] {
        refused(&changed(from, to), place, "");
    }
}

#[test]
fn a_design_without_beams_reads_as_before() {
    let start = SEMI.find("[beams]").unwrap();
    let end = SEMI.find("[limits]").unwrap();
    let design = FloorDesign::read(&format!("{}{}", &SEMI[..start], &SEMI[end..])).unwrap();
    assert!(design.beams.is_none() && design.laid_runs().is_empty() && design.beam_names().is_empty());
}
