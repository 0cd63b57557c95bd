use proptest::prelude::*;

use super::*;
use crate::reckon::tests::repeat;
use crate::record::canonical::tests::fixed;

fn mm(text: &str) -> Mm {
    Mm(Length::parse_mm(text).unwrap())
}

/// B beam, W wide, N narrow, M make-up.
fn words(text: &str) -> Vec<Word> {
    text.chars()
        .filter(|c| !c.is_whitespace())
        .map(|c| match c {
            'B' => Word::Beam,
            'W' => Word::Wide,
            'N' => Word::Narrow,
            'M' => Word::MakeUp,
            other => panic!("{other}"),
        })
        .collect()
}

/// Bay run 1 of the invented plot: 16 beams, the fifth and sixth together, 11 wide, 2 narrow.
const RUN_1: &str = "B W B W B W B W B B N B W B W B M B W B W B N B W B W B W B";

fn run_1(clear_width: &str) -> Input {
    Input {
        design_clear_width_mm: mm("8400"),
        clear_width_mm: mm(clear_width),
        edge_start_mm: mm("120"),
        edge_end_mm: mm("120"),
        beam_width_mm: mm("110"),
        infill_widths_mm: InfillWidths { wide: mm("500"), narrow: mm("320") },
        sequence: words(RUN_1),
        measured_mm: None,
        spacing_tolerance_mm: mm("5"),
        smallest_make_up_mm: mm("60"),
    }
}

/// Faces nearer the start when the run is 8386 wide as built, worked by hand.
const FACES: [i64; 16] =
    [120, 730, 1340, 1950, 2560, 2670, 3100, 3710, 4320, 4676, 5286, 5896, 6326, 6936, 7546, 8156];

fn measured(places: impl IntoIterator<Item = (usize, i64)>) -> Input {
    let mut input = run_1("8386");
    let mut list = vec![None; 16];
    for (index, place) in places {
        list[index] = Some(Mm(Length::from_mm(place)));
    }
    input.measured_mm = Some(list);
    input
}

#[test]
fn the_make_up_takes_up_the_whole_difference_in_width() {
    for (width, make_up, verdict) in [
        ("8400", "260", Verdict::Conforming),
        ("8386", "246", Verdict::Conforming),
        ("8475", "335", Verdict::Nonconforming),
    ] {
        let output = reckon(&run_1(width)).unwrap();
        assert_eq!(output.design_make_up_mm, Some(mm("260")));
        assert_eq!(output.as_built_make_up_mm, Some(mm(make_up)));
        assert_eq!(output.verdict, verdict);
        repeat(&output.working);
    }
    let output = reckon(&run_1("8386")).unwrap();
    let faces: Vec<Mm> = output.beams.iter().map(|beam| beam.set_out_mm).collect();
    assert_eq!(faces, FACES.map(|face| Mm(Length::from_mm(face))));
    assert_eq!((output.beams[4].drawn_as, output.beams[15].drawn_as), (Some(Gap::Multiple), None));
    assert!(output.beams.iter().all(|beam| beam.verdict == Verdict::Undetermined));
}

#[test]
fn a_make_up_out_of_range_is_offered_other_arrangements_for_the_designer() {
    let output = reckon(&run_1("8475")).unwrap();
    let [only] = output.arrangements.as_slice() else { panic!("{:?}", output.arrangements) };
    assert_eq!((only.wide, only.narrow, only.make_up_mm, only.change), (12, 1, Some(mm("155")), 1));
    assert_eq!(only.note, "for the designer to decide");
    // As built at 8386 what is drawn fits; 12 and 1 would leave 66.
    let output = reckon(&run_1("8386")).unwrap();
    let offered: Vec<(u32, u32, u32, String)> = output
        .arrangements
        .iter()
        .map(|one| (one.change, one.wide, one.narrow, one.make_up_mm.unwrap().0.to_mm_text()))
        .collect();
    assert_eq!(offered, [(0, 11, 2, "246".to_owned()), (1, 12, 1, "66".to_owned())]);
}

#[test]
fn gap_equal_to_the_narrow_infill_is_refused() {
    use Verdict::{Conforming as C, Nonconforming as N};
    // 8400 leaves 260, so 8459.999 leaves 319.999, and 8200 leaves 60.
    for (width, verdict) in [
        ("8459.999", C),
        ("8460", N),
        ("8460.001", N),
        ("8200.001", C),
        ("8200", C),
        ("8199.999", N),
        ("7000", N),
    ] {
        let output = reckon(&run_1(width)).unwrap();
        assert_eq!(output.verdict, verdict, "{width}");
        repeat(&output.working);
    }
}

#[test]
fn a_run_without_make_up_fills_its_width_within_the_tolerance() {
    for (width, verdict) in [
        ("994.999", Verdict::Nonconforming),
        ("995", Verdict::Conforming),
        ("1000", Verdict::Conforming),
        ("1005", Verdict::Conforming),
        ("1005.001", Verdict::Nonconforming),
    ] {
        // 20 + 110 + 500 + 110 + 110 + 110 + 40 = 1000
        let mut input = run_1(width);
        (input.design_clear_width_mm, input.edge_start_mm, input.edge_end_mm) =
            (mm("1000"), mm("20"), mm("40"));
        input.sequence = words("BWBBB");
        let output = reckon(&input).unwrap();
        assert_eq!(output.verdict, verdict, "{width}");
        assert_eq!((output.design_make_up_mm, output.as_built_make_up_mm), (None, None));
        let faces: Vec<String> = output.beams.iter().map(|beam| beam.set_out_mm.0.to_mm_text()).collect();
        assert_eq!(faces, ["20", "630", "740", "850"]);
        assert_eq!(output.arrangements.len(), usize::from(verdict == Verdict::Conforming));
        repeat(&output.working);
    }
}

#[test]
fn a_gap_reads_as_the_nearest_within_the_tolerance() {
    use Gap::{MakeUp, Multiple, Narrow, Neither, Wide};
    for (gap, expect) in [
        ("0", Multiple),
        ("5", Multiple),
        ("-5", Multiple),
        ("5.001", Neither),
        ("-5.001", Neither),
        ("59.999", Neither),
        ("60", MakeUp),
        ("314.999", MakeUp),
        ("315", Narrow),
        ("325", Narrow),
        ("325.001", Neither),
        ("494.999", Neither),
        ("495", Wide),
        ("505", Wide),
        ("505.001", Neither),
    ] {
        let mut input = run_1("8386");
        let mut list = vec![None; 16];
        list[0] = Some(mm("120"));
        list[1] = Some(Mm(mm("230").0 + mm(gap).0));
        input.measured_mm = Some(list);
        let output = reckon(&input).unwrap();
        assert_eq!(output.beams[0].reads_as, Some(expect), "{gap}");
        assert_eq!(output.beams[0].verdict, Verdict::of(expect == Wide), "{gap}");
        repeat(&output.working);
    }
}

#[test]
fn a_beam_out_of_place_by_exactly_the_tolerance_conforms() {
    for (place, verdict) in [
        ("8150.999", Verdict::Nonconforming),
        ("8151", Verdict::Conforming),
        ("8161", Verdict::Conforming),
        ("8161.001", Verdict::Nonconforming),
    ] {
        let mut input = measured([]);
        input.measured_mm.as_mut().unwrap()[15] = Some(mm(place));
        let output = reckon(&input).unwrap();
        assert_eq!(output.beams[15].verdict, verdict, "{place}");
    }
}

#[test]
fn narrow_where_wide_is_drawn_is_pointed_out_where_it_starts() {
    // Beams 8 and 9 measured at 3533 and 4144: a narrow infill after beam 7.
    let mut places: Vec<(usize, i64)> = FACES.into_iter().enumerate().collect();
    (places[7].1, places[8].1) = (3533, 4144);
    let output = reckon(&measured(places)).unwrap();
    assert_eq!(output.verdict, Verdict::Nonconforming);
    assert_eq!((output.beams[6].reads_as, output.beams[6].drawn_as), (Some(Gap::Narrow), Some(Gap::Wide)));
    assert_eq!(output.beams[7].deviation_mm, Some(mm("-177")));
    assert_eq!(output.beams[8].clear_to_next_mm, Some(mm("422")));
    let faults: Vec<&str> = output
        .findings
        .iter()
        .filter(|finding| finding.verdict == Verdict::Nonconforming)
        .map(|finding| finding.reason.as_str())
        .collect();
    assert_eq!(
        faults,
        [
            "after beam 7: 323 mm clear, narrow infill where wide infill is drawn",
            "after beam 9: 422 mm clear, neither infill nor make-up where make-up is drawn",
        ]
    );
    repeat(&output.working);
}

#[test]
fn a_missing_doubled_beam_a_make_up_on_the_wrong_side_and_drift_are_pointed_out() {
    let faults_of = |places: Vec<(usize, i64)>| -> Vec<(String, String)> {
        let output = reckon(&measured(places)).unwrap();
        output
            .findings
            .into_iter()
            .filter(|finding| finding.verdict == Verdict::Nonconforming)
            .map(|finding| (finding.rule, finding.reason))
            .collect()
    };
    // Beams 5 and 6 with a wide infill between them.
    let faults = faults_of(vec![(4, 2560), (5, 3170)]);
    assert_eq!(faults[0].0, "beams drawn together stand together");
    // Make-up 246 after beam 8, wide after beam 9.
    let faults = faults_of(vec![(7, 3710), (8, 4066), (9, 4676)]);
    assert!(faults.iter().all(|(rule, _)| rule == "the make-up lies where it is drawn"), "{faults:?}");
    assert!(faults[0].1.starts_with("after beam 8: 246 mm clear"), "{faults:?}");
    // Three millimetres more at every gap: each is as drawn, the third beam is 6 out of place.
    let faults = faults_of(vec![(0, 120), (1, 733), (2, 1346), (3, 1959)]);
    assert_eq!(faults.len(), 1, "{faults:?}");
    assert!(faults[0].1.starts_with("beam 3 is the first out of place, by +6 mm"), "{faults:?}");
}

#[test]
fn four_beams_settle_a_run_and_all_are_needed_once_they_disagree() {
    assert_eq!(reckon(&run_1("8386")).unwrap().needs, [0, 8, 9, 15]);
    let output = reckon(&measured([(0, 120), (9, 4676)])).unwrap();
    assert_eq!((output.needs.as_slice(), output.verdict), (&[8, 15][..], Verdict::Undetermined));
    let output = reckon(&measured([(0, 120), (8, 4318), (9, 4677), (15, 8160)])).unwrap();
    assert_eq!((output.needs.len(), output.verdict), (0, Verdict::Conforming));
    assert!(output.findings.iter().any(|finding| finding.caution && finding.rule.contains("between")));
    let output = reckon(&measured([(0, 120), (8, 4326), (9, 4677), (15, 8160)])).unwrap();
    assert_eq!((output.needs.len(), output.verdict), (12, Verdict::Nonconforming));
    let output = reckon(&measured(FACES.into_iter().enumerate())).unwrap();
    assert_eq!((output.needs.len(), output.verdict), (0, Verdict::Conforming));
    assert!(!output.findings.iter().any(|finding| finding.caution));
}

#[test]
fn a_design_that_does_not_fill_its_width_is_said_or_refused() {
    let mut input = run_1("8386");
    input.design_clear_width_mm = mm("8199.999");
    let output = reckon(&input).unwrap();
    assert!(output.findings[0].caution && output.findings[0].reason.contains("59.999 mm"));
    assert_eq!(output.verdict, Verdict::Conforming);
    for (width, expect) in [
        (
            "8460",
            "/design_clear_width_mm: leaves a make-up of 320 mm, which is not narrower than the narrow infill of 320 mm",
        ),
        ("8130", "/design_clear_width_mm: is 10 mm less than the drawn sequence takes"),
    ] {
        input.design_clear_width_mm = mm(width);
        assert_eq!(reckon(&input).unwrap_err().to_string(), expect);
    }
}

#[test]
fn what_cannot_be_is_refused_by_place() {
    let mut input = run_1("0");
    input.design_clear_width_mm = mm("-1");
    input.beam_width_mm = mm("0");
    input.edge_start_mm = mm("-0.001");
    input.infill_widths_mm = InfillWidths { wide: mm("320"), narrow: mm("320") };
    input.smallest_make_up_mm = mm("320");
    input.sequence = words("WBWWBMBMB");
    input.measured_mm = Some(vec![Some(mm("1")), Some(mm("-1"))]);
    let faults = reckon(&input).unwrap_err().to_string();
    assert_eq!(
        faults.lines().collect::<Vec<_>>(),
        [
            "/design_clear_width_mm: must be more than 0",
            "/clear_width_mm: must be more than 0",
            "/beam_width_mm: must be more than 0",
            "/edge_start_mm: must be at least 0",
            "/infill_widths_mm/narrow: must be less than wide",
            "/smallest_make_up_mm: must be less than the narrow infill: only such a gap takes cut sheet",
            "/sequence/0: must be beam: a run starts with one",
            "/sequence/3: must be beam: infill lies between two beams",
            "/sequence/7: is a second make-up: the first is /sequence/5",
            "/measured_mm: must have one item for each of the 4 beams, null where none was measured",
            "/measured_mm/1: must be at least 0",
        ]
    );
    for (sequence, places) in
        [("", vec!["/sequence"]), ("W", vec!["/sequence/0"]), ("BW", vec!["/sequence/1"])]
    {
        let mut input = run_1("8386");
        input.sequence = words(sequence);
        let faults = reckon(&input).unwrap_err();
        assert_eq!(faults.iter().map(|fault| fault.place.as_str()).collect::<Vec<_>>(), places);
    }
    let mut input = run_1("8386");
    input.sequence = vec![Word::Beam; MAX_SEQUENCE + 1];
    assert!(reckon(&input).unwrap_err().to_string().starts_with("/sequence: must have at most 1000 items"));
}

#[test]
fn a_single_beam_is_a_run() {
    let mut input = run_1("350");
    (input.design_clear_width_mm, input.sequence) = (mm("350"), words("B"));
    input.measured_mm = Some(vec![Some(mm("121"))]);
    let output = reckon(&input).unwrap();
    assert_eq!((output.verdict, output.needs.len()), (Verdict::Conforming, 0));
    repeat(&output.working);
}

proptest! {
    #![proptest_config(fixed(200))]

    /// Shifting the as-built width shifts only what lies past the make-up, and that by the same.
    #[test]
    fn as_built_width_moves_only_what_lies_past_the_make_up(shift in -300_000_i64..300_000) {
        let shift = Length::from_um(shift);
        let drawn = reckon(&run_1("8400")).unwrap();
        let mut input = run_1("8400");
        input.clear_width_mm = Mm(input.clear_width_mm.0 + shift);
        let built = reckon(&input).unwrap();
        for (index, (one, other)) in drawn.beams.iter().zip(&built.beams).enumerate() {
            let expect = if index < 9 { Length::ZERO } else { shift };
            prop_assert_eq!(other.set_out_mm.0 - one.set_out_mm.0, expect);
        }
        prop_assert_eq!(built.as_built_make_up_mm.unwrap().0, Length::from_mm(260) + shift);
        prop_assert_eq!(built.design_make_up_mm, drawn.design_make_up_mm);
        repeat(&built.working);
    }

    /// Beams, infills, make-up and edges of the set-out run fill the width as built.
    #[test]
    fn a_run_set_out_fills_its_width(
        gaps in prop::collection::vec(0_usize..3, 1..30), at in any::<prop::sample::Index>(),
        make_up in 60_000_i64..320_000, built in -50_000_i64..50_000,
    ) {
        let mut sequence = vec![Word::Beam];
        let at = at.index(gaps.len());
        let mut width = Length::from_mm(120 + 120 + 110);
        for (index, gap) in gaps.iter().enumerate() {
            let (word, infill) = match (index == at, gap) {
                (true, _) => (Some(Word::MakeUp), Length::from_um(make_up)),
                (_, 0) => (None, Length::ZERO),
                (_, 1) => (Some(Word::Wide), Length::from_mm(500)),
                _ => (Some(Word::Narrow), Length::from_mm(320)),
            };
            sequence.extend(word);
            sequence.push(Word::Beam);
            width = width + infill + Length::from_mm(110);
        }
        let mut input = run_1("8400");
        (input.sequence, input.design_clear_width_mm) = (sequence, Mm(width));
        input.clear_width_mm = Mm(width + Length::from_um(built));
        let output = reckon(&input).unwrap();
        prop_assert_eq!(output.design_make_up_mm.unwrap().0, Length::from_um(make_up));
        let last = output.beams.last().unwrap().set_out_mm.0;
        prop_assert_eq!(last + Length::from_mm(110 + 120), input.clear_width_mm.0);
        for (index, pair) in output.beams.windows(2).enumerate() {
            let clear = pair[1].set_out_mm.0 - pair[0].set_out_mm.0 - Length::from_mm(110);
            let expect = match pair[0].drawn_as.unwrap() {
                Gap::Multiple => Length::ZERO,
                Gap::Wide => Length::from_mm(500),
                Gap::Narrow => Length::from_mm(320),
                Gap::MakeUp | Gap::Neither => output.as_built_make_up_mm.unwrap().0,
            };
            prop_assert_eq!(clear, expect, "gap {}", index);
        }
    }
}
