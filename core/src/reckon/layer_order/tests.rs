use super::*;
use crate::faults::read_json;
use crate::reckon::tests::repeat;

/// Reckons a stack (`name kind purpose?`, from the top down) with one service and gives the verdict.
fn check(stack: &[&str], service: &str, expect: Verdict) -> Output {
    let input = sheet(stack, service);
    let output = reckon(&input).unwrap_or_else(|faults| panic!("{faults}"));
    assert_eq!(output.verdict, expect, "{stack:?} {service}: {:?}", output.findings);
    repeat(&output.working);
    output
}

fn sheet(stack: &[&str], service: &str) -> Input {
    let layers: Vec<serde_json::Value> = stack
        .iter()
        .map(|layer| {
            let words: Vec<&str> = layer.split(' ').collect();
            let mut layer = serde_json::json!({"layer": words[0], "kind": words[1]});
            if let Some(purpose) = words.get(2) {
                layer["purpose"] = (*purpose).into();
            }
            layer
        })
        .collect();
    let text = format!(r#"{{"stack": {}, "services": [{service}]}}"#, serde_json::Value::Array(layers));
    read_json(&text).unwrap_or_else(|faults| panic!("{faults}"))
}

const GAS_IN_OVERLAY: &str = r#"{"service": "gas", "in": "overlay"}"#;
const DOCUMENTED: &str = r#"{"service": "gas", "in": "overlay", "document": "certificate 12"}"#;

#[test]
fn a_membrane_over_a_gas_pipe_is_never_accepted() {
    use Verdict::{Conforming as C, Nonconforming as N, Undetermined as U};
    let over = &["topping topping", "sheet membrane damp", "overlay overlay", "beams beam"];
    let under = &["topping topping", "overlay overlay", "sheet membrane damp", "beams beam"];
    check(over, GAS_IN_OVERLAY, N);
    check(over, DOCUMENTED, N);
    check(under, GAS_IN_OVERLAY, U);
    check(under, DOCUMENTED, C);
    // Directly below the membrane is under it, directly above it is not.
    check(over, r#"{"service": "gas", "below": "sheet"}"#, N);
    check(over, r#"{"service": "gas", "below": "topping"}"#, U);
    check(over, r#"{"service": "water", "in": "overlay"}"#, C);
}

#[test]
fn gas_in_the_structural_topping_is_refused() {
    check(
        &["topping topping", "beams beam"],
        r#"{"service": "gas", "in": "topping", "document": "x"}"#,
        Verdict::Nonconforming,
    );
}

#[test]
fn gas_in_the_void_is_a_caution() {
    let stack = &["topping topping", "sheet membrane damp", "beams beam"];
    let output = check(stack, r#"{"service": "gas", "below": "beams"}"#, Verdict::Conforming);
    assert!(output.findings.iter().any(|finding| finding.caution && finding.reason.contains("vents")));
    check(stack, r#"{"service": "gas", "in": "beams"}"#, Verdict::Nonconforming);
}

#[test]
fn a_membrane_above_the_overlay_is_a_caution() {
    let stack = &["topping topping", "sheet membrane damp", "overlay overlay", "beams beam"];
    let output = check(stack, r#"{"service": "water", "in": "overlay"}"#, Verdict::Conforming);
    assert!(output.findings.iter().any(|finding| finding.caution && finding.reason.contains("pierce")));
}

#[test]
fn the_membrane_asked_for_must_be_there() {
    use Verdict::{Conforming as C, Nonconforming as N, Undetermined as U};
    for (membrane, required, expect) in [
        ("sheet membrane damp", Required::Damp, C),
        ("sheet membrane gas", Required::Gas, C),
        ("sheet membrane separating", Required::Damp, N),
        ("sheet membrane damp", Required::Gas, N),
        ("sheet membrane gas", Required::Damp, U),
        ("sheet membrane", Required::Gas, U),
        ("sheet infill", Required::Damp, N),
    ] {
        let mut input =
            sheet(&["topping topping", membrane, "beams beam"], r#"{"service": "water", "below": "beams"}"#);
        input.membrane_required = Some(required);
        assert_eq!(reckon(&input).unwrap().verdict, expect, "{membrane} {required:?}");
    }
}

#[test]
fn heating_lies_above_the_overlay() {
    let stack = &["topping topping", "overlay overlay", "beams beam"];
    check(stack, r#"{"service": "heating", "in": "topping"}"#, Verdict::Conforming);
    check(stack, r#"{"service": "heating", "below": "topping"}"#, Verdict::Conforming);
    check(stack, r#"{"service": "heating", "in": "overlay"}"#, Verdict::Nonconforming);
    check(stack, r#"{"service": "heating", "below": "overlay"}"#, Verdict::Nonconforming);
    let wrong = &["topping topping", "overlay overlay", "pipes heating", "beams beam"];
    check(wrong, r#"{"service": "water", "below": "beams"}"#, Verdict::Nonconforming);
}

fn covered(path: &[[i64; 2]]) -> (String, Verdict) {
    let mut input =
        sheet(&["topping topping", "sheet membrane damp", "overlay overlay", "beams beam"], GAS_IN_OVERLAY);
    let points =
        |list: &[[i64; 2]]| list.iter().map(|point| point.map(|mm| Mm(Length::from_mm(mm)))).collect();
    input.plan = Some(Plan {
        membrane_mm: points(&[[0, 0], [7000, 0], [7000, 4000], [5200, 4000], [5200, 7615], [0, 7615]]),
        pipes: vec![
            Pipe { service: ServiceKind::Gas, path_mm: points(path) },
            Pipe { service: ServiceKind::Water, path_mm: points(&[[0, 0], [100, 100]]) },
        ],
    });
    let output = reckon(&input).unwrap();
    repeat(&output.working);
    (output.covered_length_mm.unwrap().0.to_mm_text(), output.verdict)
}

#[test]
fn only_what_lies_under_the_outline_counts() {
    use Verdict::{Nonconforming as N, Undetermined as U};
    for (path, length, verdict) in [
        // The invented plot: (7000 − 6100) + (2200 − 900).
        (&[[8400, 2200], [6100, 2200], [6100, 900]][..], "2200", N),
        (&[[8400, 2200], [7100, 2200], [7100, 900]], "0", U),
        // Along the membrane's edge counts, a touch at a corner has no length.
        (&[[7000, -500], [7000, 9000]], "4000", N),
        (&[[7000, -500], [8000, 500], [7000, 1500]], "0", U),
        (&[[6000, -1000], [8000, 1000]], "0", U),
        // Out and in again across the inner corner: x from 0 to 5200 and from 5600 to 7000 at slope −1.
        (&[[8000, 2000], [3000, 7000]], "", N),
        (&[[6100, 900], [6100, 900]], "0", U),
    ] {
        let (found, found_verdict) = covered(path);
        if length.is_empty() {
            // On the line x + y = 10 000: inside for 6000 ≤ x ≤ 7000 and 3000 ≤ x ≤ 5200, so 3200·√2.
            assert!((found.parse::<f64>().unwrap() - 3200.0 * 2.0_f64.sqrt()).abs() <= 0.001, "{found}");
        } else {
            assert_eq!(found, length, "{path:?}");
        }
        assert_eq!(found_verdict, verdict, "{path:?}");
    }
}

#[test]
fn a_plan_without_the_gas_pipe_excuses_nothing() {
    let mut input =
        sheet(&["topping topping", "sheet membrane damp", "overlay overlay", "beams beam"], GAS_IN_OVERLAY);
    let far = |x: i64, y: i64| [Mm(Length::from_mm(x)), Mm(Length::from_mm(y))];
    input.plan = Some(Plan { membrane_mm: vec![far(0, 0), far(1, 0), far(0, 1)], pipes: Vec::new() });
    let output = reckon(&input).unwrap();
    assert_eq!(output.covered_length_mm, Some(Mm(Length::ZERO)));
    assert_eq!(output.verdict, Verdict::Nonconforming);
}

#[test]
fn moving_the_plan_changes_no_length() {
    for shift in [-9_000_000, 17, 8_000_000] {
        let path: Vec<[i64; 2]> = vec![[8400, 2200], [6123, 2207], [6100, 901]];
        let here = covered(&path).0.parse::<f64>().unwrap();
        let mut input = sheet(
            &["topping topping", "sheet membrane damp", "overlay overlay", "beams beam"],
            GAS_IN_OVERLAY,
        );
        let moved = |list: &[[i64; 2]]| {
            list.iter().map(|point| point.map(|mm| Mm(Length::from_mm(mm + shift)))).collect::<Vec<Point>>()
        };
        input.plan = Some(Plan {
            membrane_mm: moved(&[[0, 0], [7000, 0], [7000, 4000], [5200, 4000], [5200, 7615], [0, 7615]]),
            pipes: vec![Pipe { service: ServiceKind::Gas, path_mm: moved(&path) }],
        });
        let there = reckon(&input).unwrap().covered_length_mm.unwrap().0.to_mm_f64();
        assert!((here - there).abs() <= 0.001, "{shift}: {here} {there}");
    }
}

#[test]
fn what_cannot_be_is_refused_by_place() {
    let mut input = sheet(&["a topping", "b beam"], r#"{"service": "gas", "in": "c"}"#);
    input.stack[1].layer = "a".to_owned();
    input.stack[1].purpose = Some(Purpose::Damp);
    let bare = Service { service: ServiceKind::Water, within: None, below: None, document: None };
    input.services.push(bare.clone());
    input.services.push(Service { within: Some("a".into()), below: Some("a".into()), ..bare.clone() });
    input.services.push(Service { below: Some("d".into()), ..bare });
    input.plan = Some(Plan {
        membrane_mm: Vec::new(),
        pipes: vec![Pipe { service: ServiceKind::Gas, path_mm: Vec::new() }],
    });
    let faults = reckon(&input).unwrap_err().to_string();
    assert_eq!(
        faults.lines().collect::<Vec<_>>(),
        [
            "/stack/1/layer: \"a\" stands already at /stack/0",
            "/stack/1/purpose: only a membrane has a purpose",
            "/services/0/in: no layer is called \"c\"",
            "/services/1/in: is missing: say in or below which layer",
            "/services/2/below: a service lies in a layer or below one, not both",
            "/services/3/below: no layer is called \"d\"",
            "/plan/membrane_mm: must have at least 3 vertices",
            "/plan/pipes/0/path_mm: must have at least 2 points",
        ]
    );
}
