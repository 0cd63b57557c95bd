use schemars::JsonSchema;
use serde::Deserialize;

use super::*;
use crate::conformity::Decision;
use crate::quantity::{Length, Metres, Mm};

#[derive(Debug, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Sheet {
    target_m: Metres,
    #[schemars(range(min = 0))]
    bed_mm: Option<Mm>,
    #[schemars(length(max = 3))]
    points: Vec<Point>,
    decision: Option<Decision>,
}

#[derive(Debug, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[expect(clippy::struct_field_names, reason = "as in the inputs")]
struct Point {
    #[schemars(length(min = 1))]
    point: String,
    level_m: Metres,
    kind: Option<Kind>,
}

#[derive(Debug, PartialEq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
enum Kind {
    High,
    Low,
}

/// Reads JSON and gives the faults as printed.
fn check(text: &str, expect: &[&str]) {
    let lines: Vec<String> = match read_json::<Sheet>(text) {
        Ok(_) => Vec::new(),
        Err(faults) => faults.iter().map(ToString::to_string).collect(),
    };
    assert_eq!(lines, expect, "{text}");
}

#[test]
fn a_sound_sheet_is_read_exactly() {
    let sheet: Sheet = read_json(
        r#"{"target_m": 47.810, "bed_mm": 12.5, "points": [{"point": "A1", "level_m": 4.7811e1, "kind": "high"}]}"#,
    )
    .unwrap();
    assert_eq!(sheet.target_m.0, Length::from_mm(47_810));
    assert_eq!(sheet.bed_mm, Some(Mm(Length::from_um(12_500))));
    assert_eq!(sheet.points[0].level_m.0, Length::from_mm(47_811));
}

#[test]
fn all_faults_come_at_once_with_their_places() {
    check(
        r#"{"bed_mm": -1, "extra": 1, "points": [{"point": "", "level_m": "x", "kind": "odd"}, {"point": "B", "level_m": 0.0000001, "a/b": 0}]}"#,
        &[
            "/bed_mm: must be at least 0",
            "/extra: unknown key",
            "/points/0/kind: must be one of high, low",
            "/points/0/level_m: must be a number",
            "/points/0/point: must not be empty",
            "/points/1/a~1b: unknown key",
            "/points/1/level_m: must not be finer than a micrometre",
            "/target_m: is missing",
        ],
    );
}

#[test]
fn wrong_kinds_are_named() {
    check("[]", &["/: must be an object"]);
    check("3", &["/: must be an object"]);
    check(r#"{"target_m": null, "points": {}}"#, &["/points: must be a list", "/target_m: must be a number"]);
    check(r#"{"target_m": 1, "points": [], "decision": 3}"#, &["/decision: must be an object"]);
    check(
        r#"{"target_m": 1, "points": [], "decision": {"rule": "other", "expanded_uncertainty_mm": -3}}"#,
        &[
            "/decision/coverage_factor: is missing",
            "/decision/expanded_uncertainty_mm: must be at least 0",
            "/decision/rule: must be one of simple, guarded",
        ],
    );
}

#[test]
fn numbers_that_are_not_finite_are_refused() {
    check(r#"{"target_m": 1e999, "points": []}"#, &["/target_m: must be a finite number"]);
    check(r#"{"target_m": -1e99999999999999999999, "points": []}"#, &["/target_m: must be a finite number"]);
    check(r#"{"target_m": 10000.000001, "points": []}"#, &["/target_m: must lie within ±10 km"]);
    for text in [r#"{"target_m": NaN}"#, r#"{"target_m": Infinity}"#, r#"{"target_m": -Infinity}"#] {
        let faults = read_json::<Sheet>(text).unwrap_err();
        assert!(faults.to_string().starts_with("1:1"), "{faults}");
    }
}

#[test]
fn a_key_that_stands_twice_is_refused() {
    check(
        r#"{"target_m": 1, "target_m": 2, "points": [{"point": "A", "point": "B", "level_m": 1}]}"#,
        &["/points/0/point: stands twice", "/target_m: stands twice"],
    );
}

#[test]
fn text_that_is_no_json_has_line_and_column() {
    for (text, start) in
        [("", "1:"), ("{", "1:1"), ("{\"a\":\n  ]", "2:3: "), ("{} {}", "1:4: "), ("\"\u{1}\"", "1:")]
    {
        let faults = read_json::<Sheet>(text).unwrap_err().to_string();
        assert!(faults.starts_with(start), "{text:?}: {faults}");
    }
}

#[test]
fn deep_and_large_text_is_refused() {
    for text in ["[".repeat(100_000), "{\"a\":".repeat(100_000), "[".repeat(40) + &"]".repeat(40)] {
        let faults = read_json::<Sheet>(&text).unwrap_err().to_string();
        assert!(faults.contains("nested deeper than 32"), "{faults}");
    }
    let faults = read_json::<Sheet>(&" ".repeat(MAX_BYTES + 1)).unwrap_err().to_string();
    assert_eq!(faults, "1:1: the text is larger than 32 MiB");
}

#[test]
fn an_object_that_poses_as_a_number_does_no_harm() {
    assert!(
        read_json::<Sheet>(r#"{"target_m": {"$serde_json::private::Number": "x"}, "points": []}"#).is_err()
    );
}

#[test]
fn control_characters_in_a_key_stay_on_one_line() {
    check(r#"{"target_m": 1, "points": [], "a\nb": 1}"#, &["/a\\nb: unknown key"]);
}

#[test]
fn many_faults_are_bounded() {
    let text = format!("{{\"points\": [{}]}}", vec!["0"; 3_000].join(","));
    let faults = read_json::<Sheet>(&text).unwrap_err();
    assert_eq!(faults.0.len(), MAX_FAULTS + 1);
    assert_eq!(faults.0[MAX_FAULTS].to_string(), "/: has 2002 more faults");
}

#[test]
fn toml_faults_name_line_and_place() {
    let text = "target_m = 47.81\nbed_mm = 0.0001\nwrong = 1\n\n[[points]]\npoint = \"A\"\nlevel_m = nan\n\n[[points]]\nlevel_m = 1_000.5\n";
    let faults = read_toml::<Sheet>(text).unwrap_err();
    let lines: Vec<String> = faults.iter().map(ToString::to_string).collect();
    assert_eq!(
        lines,
        [
            "line 2: /bed_mm: must not be finer than a micrometre",
            "line 7: /points/0/level_m: must be a finite number",
            "line 9: /points/1/point: is missing",
            "line 3: /wrong: unknown key",
        ]
    );
}

#[test]
fn toml_reads_the_same_numbers() {
    let sheet: Sheet = read_toml("target_m = +47.810_001\nbed_mm = 0x10\npoints = []\n").unwrap();
    assert_eq!(sheet.target_m.0.um(), 47_810_001);
    assert_eq!(sheet.bed_mm, Some(Mm(Length::from_mm(16))));
}

#[test]
fn text_that_is_no_toml_has_line_and_column() {
    for text in ["a = ", "a = 1\na = 2\n", "[a\n", "points = [[[[["] {
        let faults = read_toml::<Sheet>(text).unwrap_err();
        assert!(faults.0[0].line.is_some() && faults.0[0].place.is_empty(), "{faults}");
    }
    let deep = format!("a = {}{}", "[".repeat(5_000), "]".repeat(5_000));
    assert!(read_toml::<Sheet>(&deep).is_err());
}
