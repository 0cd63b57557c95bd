use super::*;
use crate::quantity::Length;
use crate::reckon::tests::repeat;

fn mm(text: &str) -> Mm {
    Mm(Length::parse_mm(text).unwrap())
}

/// Beams of 4190 with 90 at each end and 4 for placing: 184 are needed.
fn sheet(clears: &[&str]) -> Input {
    Input {
        clear_mm: clears
            .iter()
            .enumerate()
            .map(|(index, clear)| Clear { line: format!("line {}", index + 1), value_mm: mm(clear) })
            .collect(),
        beam_length_mm: mm("4190"),
        least_bearing_mm: mm("90"),
        placing_allowance_mm: mm("4"),
        shared_wall_mm: None,
        leaf_mm: None,
    }
}

#[test]
fn the_invented_plot_has_one_line_whose_bearings_are_short() {
    use Verdict::{Conforming as C, Nonconforming as N};
    let output = reckon(&sheet(&["4003", "4006", "4012"])).unwrap();
    let sums: Vec<String> =
        output.clear_mm.iter().map(|line| line.sum_of_bearings_mm.0.to_mm_text()).collect();
    assert_eq!(sums, ["187", "184", "178"]);
    let verdicts: Vec<Verdict> = output.clear_mm.iter().map(|line| line.verdict).collect();
    assert_eq!((verdicts, output.verdict), (vec![C, C, N], N));
    assert_eq!(output.longest_clear_mm, mm("4006"));
    assert_eq!(output.working.result().unwrap().value.as_str(), "-6");
    repeat(&output.working);
}

#[test]
fn bearings_of_exactly_what_is_needed_conform() {
    for (clear, verdict) in [
        ("4005.999", Verdict::Conforming),
        ("4006", Verdict::Conforming),
        ("4006.001", Verdict::Nonconforming),
    ] {
        assert_eq!(reckon(&sheet(&[clear])).unwrap().verdict, verdict, "{clear}");
    }
}

#[test]
fn a_shared_wall_takes_both_bearings_and_the_gap() {
    // 4000 leaves 190: 95 + 95 + 25 = 215, the wall's whole thickness.
    for (clear, fits) in [("3999.999", false), ("4000", true), ("4000.001", true)] {
        let mut input = sheet(&[clear, "4003"]);
        input.shared_wall_mm = Some(SharedWall { thickness: mm("215"), gap: mm("25") });
        let output = reckon(&input).unwrap();
        assert_eq!(output.findings[0].verdict, Verdict::of(fits), "{clear}: {:?}", output.findings);
        assert!(output.findings[0].reason.starts_with("line 1:"));
        assert_eq!(output.verdict, Verdict::of(fits));
        repeat(&output.working);
    }
    for (thickness, fits) in [("204.999", false), ("205", true), ("205.001", true)] {
        let mut input = sheet(&["4010"]);
        input.shared_wall_mm = Some(SharedWall { thickness: mm(thickness), gap: mm("25") });
        assert_eq!(reckon(&input).unwrap().findings[1].verdict, Verdict::of(fits), "{thickness}");
    }
}

#[test]
fn a_beam_end_stays_out_of_the_cavity() {
    // 3990 leaves 200: 100 at each end, a whole leaf.
    for (clear, stays) in [("3989.999", false), ("3990", true), ("3990.001", true)] {
        let mut input = sheet(&[clear]);
        input.leaf_mm = Some(mm("100"));
        let output = reckon(&input).unwrap();
        assert_eq!((output.findings.len(), output.findings[0].verdict), (1, Verdict::of(stays)), "{clear}");
        assert_eq!(output.verdict, Verdict::of(stays));
        repeat(&output.working);
    }
}

#[test]
fn without_a_line_nothing_is_decided() {
    let mut input = sheet(&[]);
    input.leaf_mm = Some(mm("100"));
    let output = reckon(&input).unwrap();
    assert_eq!((output.verdict, output.findings.len()), (Verdict::Undetermined, 0));
    assert_eq!(output.longest_clear_mm, mm("4006"));
    repeat(&output.working);
}

#[test]
fn what_cannot_be_is_refused_by_place() {
    let mut input = sheet(&["0", "-1", "4000"]);
    input.clear_mm[2].line = "line 1".to_owned();
    input.beam_length_mm = mm("0");
    input.least_bearing_mm = mm("-0.001");
    input.placing_allowance_mm = mm("-1");
    input.shared_wall_mm = Some(SharedWall { thickness: mm("0"), gap: mm("-1") });
    input.leaf_mm = Some(mm("-100"));
    let faults = reckon(&input).unwrap_err().to_string();
    assert_eq!(
        faults.lines().collect::<Vec<_>>(),
        [
            "/clear_mm/2/line: \"line 1\" stands already at /clear_mm/0",
            "/clear_mm/0/value_mm: must be more than 0",
            "/clear_mm/1/value_mm: must be more than 0",
            "/beam_length_mm: must be more than 0",
            "/least_bearing_mm: must be at least 0",
            "/placing_allowance_mm: must be at least 0",
            "/shared_wall_mm/thickness: must be more than 0",
            "/shared_wall_mm/gap: must be at least 0",
            "/leaf_mm: must be more than 0",
        ]
    );
}
