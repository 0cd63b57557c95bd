use super::*;

fn mm(text: &str) -> Length {
    Length::parse_mm(text).unwrap()
}

/// Judges `value` against optional limits under a rule with U, all in millimetres.
fn check(rule: Rule, u: &str, least: Option<&str>, most: Option<&str>, value: &str, expect: Verdict) {
    let decision = Decision { rule, expanded_uncertainty: mm(u), coverage_factor: Factor::whole(2) };
    let limits = Limits { least: least.map(mm), most: most.map(mm) };
    let judgement = judge(mm(value), &limits, &decision);
    assert_eq!(judgement.verdict, expect, "{rule:?} U {u} {least:?}..{most:?} value {value}");
}

#[test]
fn simple_limits_are_closed() {
    use Verdict::{Conforming as C, Nonconforming as N};
    for (value, expect) in [("-10.001", N), ("-10", C), ("-9.999", C), ("4.999", C), ("5", C), ("5.001", N)] {
        check(Rule::Simple, "3", Some("-10"), Some("5"), value, expect);
    }
}

#[test]
fn guarded_limits_are_closed_at_acceptance_and_open_at_rejection() {
    use Verdict::{Conforming as C, Nonconforming as N, Undetermined as U};
    for (value, expect) in [
        ("-13.001", N),
        ("-13", U),
        ("-12.999", U),
        ("-7.001", U),
        ("-7", C),
        ("-6.999", C),
        ("1.999", C),
        ("2", C),
        ("2.001", U),
        ("7.999", U),
        ("8", U),
        ("8.001", N),
    ] {
        check(Rule::Guarded, "3", Some("-10"), Some("5"), value, expect);
    }
}

#[test]
fn one_sided_limits_drop_a_term() {
    use Verdict::{Conforming as C, Nonconforming as N, Undetermined as U};
    for (value, expect) in [("146.999", N), ("147", U), ("152.999", U), ("153", C), ("9000", C)] {
        check(Rule::Guarded, "3", Some("150"), None, value, expect);
    }
    for (value, expect) in [("-9000", C), ("5", C), ("5.001", U), ("11", U), ("11.001", N)] {
        check(Rule::Guarded, "3", None, Some("8"), value, expect);
    }
}

#[test]
fn without_a_limit_nothing_is_decided() {
    check(Rule::Simple, "0", None, None, "1", Verdict::Undetermined);
    assert_eq!(probability(mm("1"), &Limits::default(), &Decision::guarded(mm("3"))), None);
}

#[test]
fn crossed_acceptance_limits_are_too_coarse() {
    let limits = Limits::between(mm("-3"), mm("3"));
    assert!(!too_coarse(&limits, &Decision::guarded(mm("3"))));
    assert!(too_coarse(&limits, &Decision::guarded(mm("3.001"))));
    assert!(!too_coarse(&limits, &Decision { rule: Rule::Simple, ..Decision::guarded(mm("4")) }));
    assert!(!too_coarse(&Limits::at_least(mm("3")), &Decision::guarded(mm("400"))));
    assert_eq!(judge(mm("0"), &limits, &Decision::guarded(mm("3"))).verdict, Verdict::Conforming);
    assert_eq!(judge(mm("0"), &limits, &Decision::guarded(mm("3.001"))).verdict, Verdict::Undetermined);
}

#[test]
fn overall_puts_nonconforming_first_and_nothing_last() {
    use Verdict::{Conforming as C, Nonconforming as N, Undetermined as U};
    for (verdicts, expect) in
        [(&[][..], U), (&[C], C), (&[C, C, C], C), (&[C, U], U), (&[U, N], N), (&[N, U, C], N)]
    {
        assert_eq!(Verdict::overall(verdicts.iter().copied()), expect, "{verdicts:?}");
    }
}

#[test]
fn margins_are_signed_distances_to_the_nearest_limit() {
    let limits = Limits::between(mm("-10"), mm("5"));
    for (value, margin) in [("0", "5"), ("-8", "2"), ("9", "-4"), ("-11", "-1"), ("5", "0")] {
        assert_eq!(limits.margin(mm(value)), Some(mm(margin)), "{value}");
    }
}

/// Published and derived probabilities: tests/data/published/conformity.json names its sources.
#[test]
fn probabilities_agree_with_jcgm_106() {
    let data: serde_json::Value =
        serde_json::from_str(include_str!("../../../tests/data/published/conformity.json")).unwrap();
    for example in data["examples"].as_array().unwrap() {
        // The examples are in °C and other units; a probability only knows ratios, so their numbers serve as mm.
        let at = |key: &str| example.get(key).map(|number| mm(&number.to_string()));
        let decision = Decision {
            rule: Rule::Simple,
            expanded_uncertainty: at("u").unwrap() * 2,
            coverage_factor: Factor::whole(2),
        };
        let limits = Limits { least: at("lower"), most: at("upper") };
        let found = probability(at("y").unwrap(), &limits, &decision).unwrap();
        let published = example["p"].as_f64().unwrap();
        assert!((found - published).abs() <= 0.000_05, "{example}: {found}");
    }
    let limits = Limits::between(mm("-15"), mm("15"));
    for (value, published) in data["plus_minus_15_u_2"].as_object().unwrap() {
        let found = probability(mm(value), &limits, &Decision::guarded(mm("4"))).unwrap();
        assert!((found - published.as_f64().unwrap()).abs() <= 0.000_000_5, "{value}: {found}");
    }
    for (p, z) in data["one_sided_z"].as_object().unwrap() {
        let found = normal_between(None, z.as_f64());
        assert!((found - p.parse::<f64>().unwrap()).abs() <= 0.000_000_5, "{p}: {found}");
    }
}

#[test]
fn a_reading_at_the_acceptance_limit_is_wrongly_accepted_at_most_one_time_in_forty() {
    // Guard band w = U, k = 2: risk ≤ 0.02275 (ILAC-G8:09/2019).
    let limits = Limits::at_most(mm("5"));
    let decision = Decision::guarded(mm("3"));
    let at_limit = acceptance(&limits, &decision).most.unwrap();
    let risk = 1.0 - probability(at_limit, &limits, &decision).unwrap();
    assert!((0.0227..=0.022_751).contains(&risk), "{risk}");
}

#[test]
fn exact_values_have_probability_one_or_nought() {
    let limits = Limits::between(mm("0"), mm("5"));
    assert_eq!(probability(mm("5"), &limits, &Decision::simple()), Some(1.0));
    assert_eq!(probability(mm("5.001"), &limits, &Decision::simple()), Some(0.0));
}

#[test]
fn a_difference_of_readings_carries_root_two_of_their_uncertainty() {
    assert_eq!(Decision::guarded(mm("3")).of_difference().expanded_uncertainty, mm("4.243"));
}

#[test]
fn the_json_form_is_the_contract() {
    let text = r#"{"rule":"guarded","expanded_uncertainty_mm":3.5,"coverage_factor":2}"#;
    let decision: Decision = serde_json::from_str(text).unwrap();
    assert_eq!(decision, Decision::guarded(mm("3.5")));
    assert_eq!(serde_json::to_string(&decision).unwrap(), text);
    let mut faults = Faults::new();
    Decision { expanded_uncertainty: mm("-1"), coverage_factor: Factor::whole(0), ..decision }
        .check("/decision", &mut faults);
    assert_eq!(
        faults.to_string(),
        "/decision/expanded_uncertainty_mm: must be at least 0\n/decision/coverage_factor: must be more than 0"
    );
}
