use super::*;
use crate::reckon::tests::repeat;

fn plain(text: &str) -> Plain {
    Plain(Factor::parse(text).unwrap())
}

/// A sheet of 28-day samples, one sample for each list of cubes.
fn sheet(class: &str, certified: bool, samples: &[&[&str]]) -> Input {
    Input {
        strength_class: class.to_owned(),
        certified,
        samples: samples
            .iter()
            .enumerate()
            .map(|(index, cubes)| Sample {
                sample: format!("S{index}"),
                age_days: 28,
                cubes: cubes.iter().map(|cube| plain(cube)).collect(),
            })
            .collect(),
    }
}

fn verdict(class: &str, certified: bool, samples: &[&[&str]]) -> Verdict {
    let output = reckon(&sheet(class, certified, samples)).unwrap();
    repeat(&output.working);
    output.verdict
}

/// tests/data/published/concrete.json, identity testing: each figure is one result.
#[test]
fn the_published_cubes_agree() {
    let data: serde_json::Value =
        serde_json::from_str(include_str!("../../../../tests/data/published/concrete.json")).unwrap();
    let cases = data["identity_testing"]["cubes_for_C20/25"].as_array().unwrap();
    assert_eq!(cases.len(), 7);
    for case in cases {
        let results: Vec<String> =
            case["MPa"].as_array().unwrap().iter().map(std::string::ToString::to_string).collect();
        let samples: Vec<Vec<&str>> = results.iter().map(|result| vec![result.as_str()]).collect();
        let samples: Vec<&[&str]> = samples.iter().map(Vec::as_slice).collect();
        let expect = Verdict::of(case["ok"].as_bool().unwrap());
        assert_eq!(verdict("C20/25", true, &samples), expect, "{results:?}");
    }
}

#[test]
fn each_criterion_is_closed() {
    use Verdict::{Conforming as C, Nonconforming as N};
    for (samples, expect) in [
        // One result: at least fck − 4 = 21.
        (&[&["20.999999"][..]][..], N),
        (&[&["21"]], C),
        (&[&["21.000001"]], C),
        // Two to four: mean at least fck + 1 = 26.
        (&[&["25.999999"], &["26"]], N),
        (&[&["25.999999"], &["26.000001"]], C),
        (&[&["25"], &["26"], &["27"], &["25.999999"]], N),
        (&[&["25"], &["26"], &["27"], &["26"]], C),
        // Five and six: mean at least fck + 2 = 27.
        (&[&["27"], &["27"], &["27"], &["27"], &["26.999999"]], N),
        (&[&["27"], &["27"], &["27"], &["27"], &["27"], &["27"]], C),
        // A mean of thirds, exact though no decimal holds it: (25.9 + 26 + 26.1) / 3 = 26.
        (&[&["25.9", "26", "26.1"], &["26"]], C),
        (&[&["25.9", "26", "26.099999"], &["26"]], N),
    ] {
        assert_eq!(verdict("C20/25", true, samples), expect, "{samples:?}");
    }
}

#[test]
fn production_without_certification_needs_three_results_and_a_higher_mean() {
    use Verdict::{Conforming as C, Nonconforming as N, Undetermined as U};
    for (samples, expect) in [
        (&[&["40"][..], &["40"]][..], U),
        (&[&["29"], &["29"], &["29"]], C),
        (&[&["29"], &["29"], &["28.999999"]], N),
        (&[&["21"], &["33"], &["33"]], C),
        (&[&["20.999999"], &["40"], &["40"]], N),
    ] {
        assert_eq!(verdict("C20/25", false, samples), expect, "{samples:?}");
    }
}

#[test]
fn cubes_that_spread_over_their_limit_are_thrown_out() {
    // Mean 40: 15 % is 6.
    for (sample, counts) in [
        (&["37", "43"][..], true),
        (&["36.999999", "43.000001"], false),
        (&["37.000001", "42.999999"], true),
        (&["0", "0"], true),
    ] {
        let output = reckon(&sheet("C20/25", true, &[sample])).unwrap();
        assert_eq!(output.results[0].counts, counts, "{sample:?}");
        assert_eq!(output.mean.is_some(), counts);
        if !counts {
            assert_eq!(output.verdict, Verdict::Undetermined);
            assert!(output.findings.iter().any(|finding| finding.caution && finding.reason.contains("S0")));
        }
        repeat(&output.working);
    }
}

#[test]
fn only_results_of_28_days_count() {
    let mut input = sheet("C20/25", true, &[&["18"], &["30"]]);
    for (age, counts) in [(27, false), (28, true), (29, false)] {
        input.samples[1].age_days = age;
        input.samples[0].age_days = 7;
        let output = reckon(&input).unwrap();
        assert_eq!(output.results[1].counts, counts, "{age}");
        assert_eq!(output.verdict, if counts { Verdict::Conforming } else { Verdict::Undetermined });
    }
    assert_eq!(verdict_of_none(), Verdict::Undetermined);
}

fn verdict_of_none() -> Verdict {
    reckon(&sheet("C20/25", true, &[])).unwrap().verdict
}

#[test]
fn more_than_six_results_are_judged_in_consecutive_groups() {
    let good: &[&str] = &["30"];
    let output = reckon(&sheet("C20/25", true, &[good, good, good, good, good, good, &["21"]])).unwrap();
    let groups: Vec<usize> = output.criteria.iter().map(|criterion| criterion.samples.len()).collect();
    assert_eq!((groups, output.verdict), (vec![6, 6, 1], Verdict::Conforming));
    // One result alone in its group has no mean to save it.
    assert_eq!(
        verdict("C20/25", true, &[good, good, good, good, good, good, &["20.9"]]),
        Verdict::Nonconforming
    );
}

#[test]
fn a_bare_class_is_judged_under_all_that_it_can_mean() {
    // C20 can mean C16/20 (cubes 20) or C20/25 (cubes 25): one result needs 16 or 21.
    for (cube, expect) in [
        ("15.9", Verdict::Nonconforming),
        ("16", Verdict::Undetermined),
        ("20.9", Verdict::Undetermined),
        ("21", Verdict::Conforming),
    ] {
        let output = reckon(&sheet("C20", true, &[&[cube]])).unwrap();
        assert_eq!(output.verdict, expect, "{cube}");
        assert_eq!(output.criteria.len(), 2);
        let said = output.findings.iter().any(|finding| finding.reason.contains("C16/20 or C20/25"));
        assert_eq!(said, expect == Verdict::Undetermined);
    }
    assert_eq!(verdict("GEN3", true, &[&["16"]]), Verdict::Conforming);
}

#[test]
fn what_cannot_be_is_refused_by_place() {
    let mut input = sheet("strong", true, &[&["-1", "500.000001"], &[]]);
    input.samples[1].sample = "S0".to_owned();
    assert_eq!(
        reckon(&input).unwrap_err().to_string(),
        "/strength_class: must be a strength class such as C20/25, GEN3 or RC20/25\n\
         /samples/1/sample: \"S0\" stands already at /samples/0\n\
         /samples/0/cubes_MPa/0: must lie within 0 and 500\n\
         /samples/0/cubes_MPa/1: must lie within 0 and 500\n\
         /samples/1/cubes_MPa: must have at least 1 item"
    );
}
