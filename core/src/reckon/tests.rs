//! Every reckoning against its case files, and what holds for all of them.

use std::collections::BTreeSet;
use std::path::Path;

use super::evaluate::evaluate;
use super::*;
use crate::working::Step;

/// The case files that the checks from outside use too; each names its source.
fn cases() -> Vec<(String, Value)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/data/reckon");
    let mut cases: Vec<(String, Value)> = std::fs::read_dir(folder)
        .unwrap()
        .map(|file| file.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "json"))
        .map(|path| {
            let text = std::fs::read_to_string(&path).unwrap();
            (path.file_name().unwrap().to_string_lossy().into_owned(), serde_json::from_str(&text).unwrap())
        })
        .collect();
    cases.sort_by(|one, other| one.0.cmp(&other.0));
    cases
}

fn reckoning_of(case: &Value) -> &'static Reckoning {
    case["reckoning"].as_str().unwrap().parse::<ReckoningName>().unwrap().reckoning()
}

/// Every step of a working repeats: its formula gives its value, and it names a source.
pub(super) fn repeat(working: &Working) {
    assert!(!working.0.is_empty());
    for step in &working.0 {
        let Step { step: what, formula, value, source, .. } = step;
        assert!(!what.is_empty() && !source.is_empty(), "{step:?}");
        let found = evaluate(formula).unwrap_or_else(|error| panic!("{what}: {formula}: {error}"));
        let value: f64 = value.as_str().parse().unwrap();
        assert!(
            (found - value).abs() <= 1e-6 * value.abs().max(1.0),
            "{what}: {formula} = {found}, not {value}"
        );
    }
}

#[test]
fn case_files_reckon_as_their_source_says() {
    for (file, case) in cases() {
        let output = reckoning_of(&case)
            .run(&case["input"].to_string())
            .unwrap_or_else(|faults| panic!("{file}: {faults}"));
        for (pointer, expect) in case["expect"].as_object().unwrap() {
            let found = output.pointer(pointer).unwrap_or_else(|| panic!("{file}: no {pointer}"));
            match (expect.as_f64(), found.as_f64()) {
                (Some(expect), Some(found)) => {
                    let tolerance =
                        case.pointer("/tolerance").and_then(|all| all.get(pointer)).and_then(Value::as_f64);
                    assert!((found - expect).abs() <= tolerance.unwrap_or(1e-9), "{file} {pointer}: {found}");
                }
                _ => assert_eq!(found, expect, "{file} {pointer}"),
            }
        }
    }
}

#[test]
fn every_reckoning_has_a_case_and_every_formula_gives_its_value() {
    let mut seen = BTreeSet::new();
    for (_, case) in cases() {
        let reckoning = reckoning_of(&case);
        seen.insert(reckoning.name);
        let reckoned = reckoning.reckon(&case["input"].to_string()).unwrap();
        repeat(&reckoned.working);
        for step in &reckoned.working.0 {
            assert!(reckoned.working.to_text().contains(&step.step));
        }
    }
    assert_eq!(seen, RECKONINGS.iter().map(|reckoning| reckoning.name).collect());
}

#[test]
fn names_are_those_of_the_json_form() {
    for reckoning in RECKONINGS {
        let name = reckoning.name;
        assert_eq!(serde_json::to_value(name).unwrap(), Value::from(name.as_str()));
        assert_eq!(name.as_str().parse(), Ok(name));
    }
    assert!("no-such".parse::<ReckoningName>().is_err());
}

#[test]
fn schemas_accept_the_cases_and_what_comes_of_them() {
    for (file, case) in cases() {
        let reckoning = reckoning_of(&case);
        let schema = reckoning.schema();
        for part in ["input", "output"] {
            let schema = &schema["properties"][part];
            assert_eq!(schema["type"], "object", "{file}");
            let document = if part == "input" {
                case["input"].clone()
            } else {
                reckoning.run(&case["input"].to_string()).unwrap()
            };
            let validator = jsonschema::draft202012::new(schema).unwrap();
            let errors: Vec<String> =
                validator.iter_errors(&document).map(|error| error.to_string()).collect();
            assert!(errors.is_empty(), "{file} {part}: {errors:?}");
        }
    }
}

/// Replaces each value of a document in turn by something of the wrong kind: always refused at its place.
#[test]
fn hostile_values_are_refused_at_their_place_and_never_panic() {
    let mut seen = BTreeSet::new();
    for (file, case) in cases() {
        let reckoning = reckoning_of(&case);
        if !seen.insert(reckoning.name) {
            continue;
        }
        let mut pointers = Vec::new();
        places(&case["input"], "", &mut pointers);
        for pointer in &pointers {
            for wrong in
                ["{\"no\": 1}", "[[[]]]", "true", "\"\\u0000\"", "1e999", "-1e-999", "1e99999999999999999999"]
            {
                let mut broken = case["input"].clone();
                if wrong == "true" && broken.pointer(pointer).is_some_and(Value::is_boolean) {
                    continue;
                }
                *broken.pointer_mut(pointer).unwrap() = serde_json::from_str(wrong).unwrap();
                match reckoning.run(&broken.to_string()) {
                    // Any text is a name; what names a layer then names none.
                    Ok(_) => assert!(wrong.starts_with('"'), "{file} {pointer} {wrong}"),
                    Err(faults) => {
                        let named = faults.iter().any(|fault| fault.place.starts_with(pointer.as_str()));
                        assert!(named || wrong.starts_with('"'), "{file} {pointer} {wrong}: {faults}");
                    }
                }
            }
            let (parent, key) = pointer.rsplit_once('/').unwrap();
            let mut broken = case["input"].clone();
            let target = if parent.is_empty() { &mut broken } else { broken.pointer_mut(parent).unwrap() };
            if let Some(object) = target.as_object_mut() {
                object.insert("staff".to_owned(), Value::from(1));
                object.remove(key);
                let faults = reckoning.run(&broken.to_string()).unwrap_err().to_string();
                assert!(
                    faults.contains(&format!("{parent}/staff: unknown key")),
                    "{file} {pointer}: {faults}"
                );
            }
        }
    }
}

fn places(value: &Value, place: &str, found: &mut Vec<String>) {
    let children: Vec<(String, &Value)> = match value {
        Value::Object(object) => object.iter().map(|(key, child)| (key.clone(), child)).collect(),
        Value::Array(list) => {
            list.iter().enumerate().map(|(index, child)| (index.to_string(), child)).collect()
        }
        _ => return,
    };
    for (key, child) in children {
        let place = format!("{place}/{key}");
        places(child, &place, found);
        found.push(place);
    }
}

#[test]
fn lists_past_their_bound_are_refused() {
    let point = |index: usize| json!({"point": format!("G{index}"), "level_m": 47});
    let mut input = json!({
        "lowest_point_m": 48, "required_void_mm": 150,
        "decision": {"rule": "simple", "expanded_uncertainty_mm": 0, "coverage_factor": 2},
        "ground": (0..MAX_POINTS).map(point).collect::<Vec<_>>(),
    });
    let void = ReckoningName::Void.reckoning();
    assert_eq!(void.run(&input.to_string()).unwrap()["verdict"], "conforming");
    input["ground"].as_array_mut().unwrap().push(point(MAX_POINTS));
    assert_eq!(
        void.run(&input.to_string()).unwrap_err().to_string(),
        "/ground: must have at most 5000 items"
    );
}

/// Boundary triples of a one-sided limit through the text interface, just below, on and just above.
#[test]
fn void_on_its_limit_conforms() {
    for (level, verdict, dig) in [
        ("47.585001", "nonconforming", "0.001"),
        ("47.585", "conforming", "0"),
        ("47.584999", "conforming", "0"),
    ] {
        let text = format!(
            r#"{{"lowest_point_m": 47.785, "required_void_mm": 200, "ground": [{{"point": "G", "level_m": {level}}}],
               "decision": {{"rule": "simple", "expanded_uncertainty_mm": 3, "coverage_factor": 2}}}}"#
        );
        let output = ReckoningName::Void.reckoning().run(&text).unwrap();
        assert_eq!(output["ground"][0]["verdict"], verdict, "{level}");
        assert_eq!(output["ground"][0]["dig_mm"].to_string(), dig, "{level}");
    }
}

#[test]
fn void_guarded_is_dug_until_it_is_accepted() {
    for (void, verdict, dig) in [
        ("196.999", "nonconforming", "6.001"),
        ("197", "undetermined", "6"),
        ("202.999", "undetermined", "0.001"),
        ("203", "conforming", "0"),
    ] {
        let level =
            crate::quantity::Length::from_mm(47_785) - crate::quantity::Length::parse_mm(void).unwrap();
        let text = format!(
            r#"{{"lowest_point_m": 47.785, "required_void_mm": 200, "ground": [{{"point": "G", "level_m": {}}}],
               "decision": {{"rule": "guarded", "expanded_uncertainty_mm": 3, "coverage_factor": 2}}}}"#,
            level.to_m_text()
        );
        let output = ReckoningName::Void.reckoning().run(&text).unwrap();
        assert_eq!(output["verdict"], verdict, "{void}");
        assert_eq!(output["ground"][0]["dig_mm"].to_string(), dig, "{void}");
    }
}

mod build_up_cases {
    use super::super::build_up::*;
    use super::repeat;
    use crate::quantity::{Length, Metres, Mm};

    fn mm(text: &str) -> Mm {
        Mm(Length::parse_mm(text).unwrap())
    }

    fn floor(layers: &[(&str, Role, &str)], hangs: &str) -> Input {
        Input {
            finished_floor_level_m: Metres(Length::from_mm(48_150)),
            layers: layers
                .iter()
                .map(|(name, role, thickness)| Layer {
                    name: (*name).to_owned(),
                    role: *role,
                    thickness_mm: mm(thickness),
                })
                .collect(),
            infill_below_bearing_mm: mm(hangs),
            void_mm: mm("150"),
            heave_allowance_mm: mm("0"),
        }
    }

    #[test]
    fn the_lowest_point_is_the_lower_of_soffit_and_infill() {
        let layers = [("beam", Role::Beam, "150"), ("bed", Role::Bedding, "10")];
        for (hangs, lowest) in [("0", "47990"), ("24.999", "47965.001"), ("-0", "47990")] {
            let output = reckon(&floor(&layers, hangs)).unwrap();
            assert_eq!(output.lowest_point_m.0.to_mm_text(), lowest, "{hangs}");
            repeat(&output.working);
        }
        let output = reckon(&floor(&layers[..1], "0")).unwrap();
        assert_eq!(output.lowest_point_m, output.beam_soffit_level_m);
        assert_eq!(output.bearing_level_m, output.beam_soffit_level_m);
    }

    #[test]
    fn a_floor_without_its_one_beam_layer_is_refused() {
        for (layers, faults) in [
            (&[("a", Role::Topping, "80")][..], "/layers: must hold exactly one layer of role beam, holds 0"),
            (
                &[("a", Role::Beam, "80"), ("b", Role::Beam, "80")],
                "/layers: must hold exactly one layer of role beam, holds 2",
            ),
            (
                &[("a", Role::Beam, "80"), ("b", Role::Overlay, "80")],
                "/layers/1/role: only bedding may lie below the beam",
            ),
            (
                &[("a", Role::Beam, "80"), ("a", Role::Bedding, "8")],
                "/layers/1/name: \"a\" stands already at /layers/0",
            ),
            (&[("a", Role::Beam, "-0.001")], "/layers/0/thickness_mm: must be at least 0"),
        ] {
            assert_eq!(reckon(&floor(layers, "0")).unwrap_err().to_string(), faults);
        }
    }
}

mod limit_cases {
    use super::super::limit::*;
    use super::repeat;
    use crate::conformity::{Decision, Verdict};
    use crate::quantity::{Length, Mm};

    fn mm(text: &str) -> Mm {
        Mm(Length::parse_mm(text).unwrap())
    }

    fn number(point: &str, value: &str) -> Reading {
        Reading { point: point.to_owned(), value_mm: Some(mm(value)), gauge: None, gauge_id: None }
    }

    fn gauge(point: &str, gauge: Gauge) -> Reading {
        Reading {
            point: point.to_owned(),
            value_mm: None,
            gauge: Some(gauge),
            gauge_id: Some("G7".to_owned()),
        }
    }

    fn sheet(readings: Vec<Reading>) -> Input {
        Input {
            quantity: "lap".to_owned(),
            readings,
            least_mm: Some(mm("150")),
            most_mm: None,
            decision: Decision::simple(),
        }
    }

    #[test]
    fn two_sided_limits_are_closed_on_both_sides() {
        use Verdict::{Conforming as C, Nonconforming as N};
        let values = ["149.999", "150", "150.001", "179.999", "180", "180.001"];
        let mut input = sheet(values.iter().map(|value| number(value, value)).collect());
        input.most_mm = Some(mm("180"));
        let output = reckon(&input).unwrap();
        let verdicts: Vec<Verdict> = output.readings.iter().map(|reading| reading.verdict).collect();
        assert_eq!(verdicts, [N, C, C, C, C, N]);
        let margins: Vec<String> =
            output.readings.iter().map(|reading| reading.margin_mm.unwrap().0.to_mm_text()).collect();
        assert_eq!(margins, ["-0.001", "0", "0.001", "0.001", "0", "-0.001"]);
        repeat(&output.working);
    }

    #[test]
    fn a_gauge_counts_as_it_says_and_a_no_go_owes_a_number() {
        let output = reckon(&sheet(vec![gauge("1", Gauge::Go)])).unwrap();
        assert_eq!((output.verdict, output.findings.len()), (Verdict::Conforming, 0));
        assert_eq!(output.readings[0].gauge_id.as_deref(), Some("G7"));
        repeat(&output.working);

        let output = reckon(&sheet(vec![gauge("1", Gauge::NoGo)])).unwrap();
        assert_eq!(output.verdict, Verdict::Nonconforming);
        assert!(output.findings[0].reason.contains("G7"), "{:?}", output.findings);

        let output = reckon(&sheet(vec![gauge("1", Gauge::NoGo), number("1", "120")])).unwrap();
        assert_eq!((output.verdict, output.findings.len()), (Verdict::Nonconforming, 0));
    }

    #[test]
    fn no_readings_are_undetermined() {
        let output = reckon(&sheet(Vec::new())).unwrap();
        assert_eq!(output.verdict, Verdict::Undetermined);
        repeat(&output.working);
    }

    #[test]
    fn a_coarse_instrument_is_said() {
        let mut input = sheet(vec![number("1", "151")]);
        input.most_mm = Some(mm("152"));
        input.decision = Decision::guarded(mm("1.001").0);
        let output = reckon(&input).unwrap();
        assert_eq!(output.findings[0].rule, "instrument too coarse for this limit");
        assert_eq!(output.verdict, Verdict::Undetermined);
        input.decision = Decision::guarded(mm("1").0);
        assert_eq!(reckon(&input).unwrap().verdict, Verdict::Conforming);
    }

    #[test]
    fn what_cannot_be_is_refused_by_place() {
        let mut input = sheet(vec![
            number("1", "1"),
            number("1", "2"),
            Reading { value_mm: Some(mm("3")), ..gauge("2", Gauge::Go) },
            Reading { gauge_id: None, ..gauge("3", Gauge::Go) },
            Reading { gauge: None, ..gauge("4", Gauge::Go) },
        ]);
        input.most_mm = Some(mm("149.999"));
        let faults = reckon(&input).unwrap_err().to_string();
        assert_eq!(
            faults.lines().collect::<Vec<_>>(),
            [
                "/most_mm: must be at least least_mm",
                "/readings/1/point: \"1\" was read already",
                "/readings/2/gauge: a reading has value_mm or gauge, not both",
                "/readings/3/gauge_id: is missing: name the gauge",
                "/readings/4/value_mm: is missing: give value_mm, or gauge and gauge_id",
                "/readings/4/gauge_id: stands without gauge",
            ]
        );
        let mut input = sheet(Vec::new());
        input.least_mm = None;
        assert_eq!(
            reckon(&input).unwrap_err().to_string(),
            "/least_mm: is missing: give least_mm, most_mm or both"
        );
    }
}
