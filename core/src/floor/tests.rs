//! Designs read and refused. The figures of the demo plot are its own arithmetic, worked by hand beside the file.

use super::*;
use crate::faults::Faults;
use crate::quantity::Area;

const SEMI: &str = include_str!("../../../assets/demo/semi.toml");
const SEMI_FAULT: &str = include_str!("../../../assets/demo/semi-gas-under-membrane.toml");
const TERRACE: &str = include_str!("../../../assets/demo/terrace.toml");
const LIMITS: &str = include_str!("../../../assets/limits.toml");

fn semi() -> FloorDesign {
    FloorDesign::read(SEMI).unwrap()
}

/// The semi's text with one passage changed.
fn changed(from: &str, to: &str) -> String {
    assert!(SEMI.contains(from), "no `{from}` in the design");
    SEMI.replacen(from, to, 1)
}

fn places(faults: &Faults) -> Vec<&str> {
    faults.iter().map(|fault| fault.place.as_str()).collect()
}

/// The changed design is refused for exactly these places, each with its line.
fn refused(from: &str, to: &str, expect: &[&str]) {
    let faults = FloorDesign::read(&changed(from, to)).unwrap_err();
    assert_eq!(places(&faults), expect, "{from} → {to}: {faults}");
    assert!(faults.iter().all(|fault| fault.line.is_some() || fault.what == "is missing"), "{faults:?}");
}

fn mm(value: i64) -> Length {
    Length::from_mm(value)
}

#[test]
fn demo_designs_are_read_and_say_that_they_are_invented() {
    for text in [SEMI, SEMI_FAULT, TERRACE] {
        let design = FloorDesign::read(text).unwrap();
        assert!(design.invented);
        assert!(design.prepared_by.contains("Invented"));
    }
}

#[test]
fn reading_points_at_even_distances_reach_to_the_end_of_the_wall() {
    let points = semi().bearing_points();
    let names: Vec<_> = points.iter().map(|point| point.name.as_str()).collect();
    let expect =
        ["A1", "A2", "A3", "A4", "A5", "A6", "B1", "B2", "B3", "B4", "B5", "B6", "C1", "C2", "C3", "C4"];
    assert_eq!(names, expect);
    let c3 = &points[14];
    assert_eq!((c3.wall.as_str(), c3.along, c3.x, c3.y), ("C", mm(3400), mm(3400), mm(7615)));
    assert_eq!(semi().ground_point_names().len(), 5);
    assert_eq!(semi().vent_names().len(), 8);
}

#[test]
fn a_point_exactly_at_the_wall_end_counts_and_one_past_it_does_not() {
    let with = |spacing: &str| {
        let text = changed(
            "spaced = { first_mm = 200, spacing_mm = 1600 }",
            &format!("spaced = {{ first_mm = 200, spacing_mm = {spacing} }}"),
        );
        FloorDesign::read(&text).unwrap().walls[0].reading_points().len()
    };
    // Wall A is 8400 long: 200 + 5 × 1640 is its very end.
    assert_eq!(with("1639.999"), 6);
    assert_eq!(with("1640"), 6);
    assert_eq!(with("1640.001"), 5);
}

#[test]
fn a_place_on_a_sloping_wall_is_rounded_to_the_micrometre() {
    let text = changed("line_mm = [[0, 0], [8400, 0]]", "line_mm = [[0, 0], [3000, 4000]]");
    let wall = FloorDesign::read(&text).unwrap().walls[0].clone();
    // The 3-4-5 triangle.
    assert_eq!(wall.length(), mm(5000));
    assert_eq!(wall.place(mm(2500)), (mm(1500), mm(2000)));
}

#[test]
fn limits_of_the_design_go_before_the_defaults_and_each_has_its_source() {
    let defaults = DefaultLimits::read(LIMITS).unwrap();
    let design = semi();
    let plus = design.limit(LimitName::BearingTolerancePlus, &defaults).unwrap();
    assert_eq!((plus.length(), plus.from_design), (mm(5), true));
    assert!(plus.source.contains("TG-GF-01"));
    // Figures and sources: Approved Document C (England), BS 5250 (see assets/limits.toml for how each is known).
    let run = design.limit(LimitName::VentPerRun, &defaults).unwrap();
    assert_eq!((run.area(), run.from_design), (Area::parse_mm2("1500").unwrap(), false));
    let height = design.limit(LimitName::DpcHeightLeast, &defaults).unwrap();
    assert_eq!((height.length(), height.source.as_str()), (mm(150), "Approved Document C (England)"));
    let thickness = design.limit(LimitName::MembraneThicknessLeast, &defaults).unwrap();
    assert_eq!(thickness.length(), Length::from_um(300));
    // Doubtful figures have no default: without the design's own there is none.
    for name in [LimitName::VentLargestSpacing, LimitName::VentFurthestFromCorner] {
        assert_eq!(design.limit(name, &defaults), None);
    }
    let terrace = FloorDesign::read(TERRACE).unwrap();
    assert!(terrace.limit(LimitName::MembraneLapLeast, &defaults).unwrap().from_design);
}

#[test]
fn limit_names_are_spelled_alike_in_code_and_files() {
    for name in LimitName::ALL {
        assert_eq!(serde_json::to_value(name).unwrap(), name.as_str());
    }
    let every: std::collections::BTreeSet<_> = LimitName::ALL.into_iter().collect();
    assert_eq!(every.len(), LimitName::ALL.len());
}

#[test]
fn an_instrument_settles_the_uncertainty_of_its_quantity_only() {
    let design = semi();
    assert_eq!(design.decision_for(MeasuredQuantity::Level).expanded_uncertainty, mm(3));
    assert_eq!(design.decision_for(MeasuredQuantity::Lap).expanded_uncertainty, mm(2));
    assert_eq!(design.decision_for(MeasuredQuantity::Thickness).expanded_uncertainty, mm(0));
}

#[test]
fn what_must_not_be_forgotten_is_said_even_when_there_is_none() {
    let services = SEMI.find("[[services]]").unwrap();
    let limits = SEMI.find("[limits]").unwrap();
    let without = format!("{}{}", &SEMI[..services], &SEMI[limits..]);
    assert_eq!(places(&FloorDesign::read(&without).unwrap_err()), ["/services"]);
    let none = without.replacen("notes = [", "services = []\nnotes = [", 1);
    assert!(FloorDesign::read(&none).unwrap().services.is_empty());
}

#[test]
fn a_newer_format_is_refused_by_name_and_nothing_else_is_said() {
    let text = changed("gaugerod_floor_design = 1", "gaugerod_floor_design = 2\nnew_key = 1");
    let faults = FloorDesign::read(&text).unwrap_err();
    assert_eq!(places(&faults), ["/gaugerod_floor_design"]);
    assert!(faults.to_string().contains("format 2 is newer than this program"), "{faults}");
    let faults = FloorDesign::read(&changed("gaugerod_floor_design = 1", "")).unwrap_err();
    assert!(faults.to_string().contains("missing"), "{faults}");
    let faults =
        FloorDesign::read(&changed("gaugerod_floor_design = 1", "gaugerod_floor_design = 0")).unwrap_err();
    assert!(faults.to_string().contains("no format 0"), "{faults}");
    assert!(
        FloorDesign::read(&changed("gaugerod_floor_design = 1", "gaugerod_floor_design = \"1\"")).is_err()
    );
}

#[test]
fn faults_of_the_schema_come_with_place_and_line() {
    refused("revision = \"B\"\n", "", &["/revision"]);
    refused("level_m = 47.215", "level_m = \"high\"", &["/datum/level_m"]);
    refused("level_m = 47.215", "level_m = nan", &["/datum/level_m"]);
    refused("thickness_mm = 80", "thickness_mm = 80.0001", &["/layers/0/thickness_mm"]);
    refused("role = \"overlay\"", "role = \"carpet\"", &["/layers/2/role"]);
    refused("coverage_factor = 2", "coverage_factor = 0", &["/decision/coverage_factor"]);
    refused(
        "expanded_uncertainty_mm = 3",
        "expanded_uncertainty_mm = -1",
        &["/decision/expanded_uncertainty_mm"],
    );
    refused("bearing_bed_most_mm = {", "bearing_bed_top_mm = {", &["/limits/bearing_bed_top_mm"]);
}

#[test]
fn faults_that_no_schema_sees_come_with_place_and_line() {
    refused("revision = \"B\"", "revision = \"  \"", &["/revision"]);
    refused("drawing = \"TG-GF-01\"", "drawing = \"a\\nb\"", &["/drawing"]);
    refused("quantity = \"lap\"", "quantity = \"height\"", &["/instruments/1/quantity"]);
    refused("void_mm = 150", "void_mm = -1", &["/under_floor/void_mm"]);
    refused("role = \"topping\"", "role = \"beam\"", &["/finish", "/layers", "/topping"]);
    refused(
        "role = \"beam\"",
        "role = \"overlay\"",
        &["/layers", "/thermal/layers/1/layer", "/thermal/overlay"],
    );
    refused("role = \"topping\"", "role = \"bedding\"", &["/finish", "/layers/0/role", "/topping"]);
    refused("role = \"bedding\"", "role = \"finish\"", &["/layers/5/role"]);
    refused("thickness_mm = 160", "thickness_mm = 0", &["/layers/4/thickness_mm"]);
    refused("thickness_mm = 80", "thickness_mm = -80", &["/layers/0/thickness_mm"]);
    refused(
        "role = \"infill\"\nthickness_mm = 0",
        "role = \"infill\"\nthickness_mm = 1",
        &["/layers/3/thickness_mm"],
    );
    refused("purpose = \"damp\"\n", "", &["/layers/1/purpose"]);
    refused("role = \"topping\"", "role = \"topping\"\npurpose = \"gas\"", &["/layers/0/purpose"]);
    refused("name = \"overlay\"", "name = \"topping\"", &["/layers/2/name", "/services/1/in"]);
    refused("[5200, 7615], [0, 7615]]", "[0, 7615], [5200, 7615]]", &["/plan/outline_mm"]);
    refused(
        "exposed_edges = [0, 1, 2, 3, 4]",
        "exposed_edges = [0, 1, 2, 3, 4, 4, 6]",
        &["/plan/exposed_edges/5", "/plan/exposed_edges/6"],
    );
    refused("exposed_edges = [0, 1, 2, 3, 4]", "exposed_edges = [0, 1, 3, 4]", &["/vents/4/edge"]);
    refused("edge = 2\nalong_mm = 1600", "edge = 6\nalong_mm = 1600", &["/vents/4/edge"]);
    refused("edge = 2\nalong_mm = 1600", "edge = 2\nalong_mm = 3200.001", &["/vents/4/along_mm"]);
    refused("edge = 2\nalong_mm = 1600", "edge = 2\nalong_mm = -0.001", &["/vents/4/along_mm"]);
    refused("equivalent_area_mm2 = 6000", "equivalent_area_mm2 = 0", &["/vents/0/equivalent_area_mm2"]);
    refused("equivalent_area_mm2 = 6000", "in_series_mm2 = [6000, 0]", &["/vents/0/in_series_mm2/1"]);
    refused("equivalent_area_mm2 = 6000\n", "", &["/vents/0"]);
    refused("name = \"V2\"", "name = \"V1\"", &["/vents/1/name"]);
    refused("name = \"V2\"", "name = \"A1\"", &["/vents/1/name"]);
    refused("name = \"G2\"", "name = \"C4\"", &["/ground_points/1/name"]);
    refused("below = \"beams\"", "below = \"beam\"", &["/services/0/below"]);
    refused("below = \"beams\"", "below = \"bedding and DPC\"", &["/services/0/below"]);
    refused("below = \"beams\"", "below = \"beams\"\nin = \"overlay\"", &["/services/0"]);
    refused("below = \"beams\"\n", "", &["/services/0"]);
    refused("path_mm = [[600, 0], [600, 900]]", "path_mm = [[600, 0]]", &["/services/1/path_mm"]);
    refused(
        "line_mm = [[0, 0], [8400, 0]]",
        "line_mm = [[0, 0], [0, 0]]",
        &["/walls/0/line_mm", "/walls/0/points", "/walls/0/spaced/first_mm"],
    );
    refused("spaced = { first_mm = 200, spacing_mm = 1600 }", "", &["/walls/0/points"]);
    refused(
        "spaced = { first_mm = 200, spacing_mm = 1600 }",
        "spaced = { first_mm = 200, spacing_mm = 0 }",
        &["/walls/0/points", "/walls/0/spaced/spacing_mm"],
    );
    refused(
        "spaced = { first_mm = 200, spacing_mm = 1600 }",
        "points = [{ name = \"E\", along_mm = 8400.001 }]",
        &["/walls/0/points/0/along_mm"],
    );
    refused("value = 5,", "value = -5,", &["/limits/bearing_tolerance_plus_mm/value"]);
    refused("value = 5,", "value = 0.0001,", &["/limits/bearing_tolerance_plus_mm/value"]);
    refused(
        "source = \"floor design TG-GF-01, note 3\"",
        "source = \" \"",
        &["/limits/bearing_tolerance_plus_mm/source"],
    );
}

#[test]
fn north_is_an_angle_within_a_whole_turn_or_is_left_out() {
    assert_eq!(semi().plan.north_degrees, None);
    let edges = "exposed_edges = [0, 1, 2, 3, 4]";
    let with = |degrees: &str| format!("{edges}\nnorth_degrees = {degrees}");
    for (degrees, millionths) in
        [("0", 0), ("0.000001", 1), ("37.5", 37_500_000), ("359.999999", 359_999_999), ("360", 360_000_000)]
    {
        let design = FloorDesign::read(&changed(edges, &with(degrees))).unwrap();
        assert_eq!(design.plan.north_degrees.map(|one| one.0.millionths()), Some(millionths), "{degrees}");
    }
    for degrees in ["-0.000001", "360.000001", "1e9", "0.0000001", "\"up\"", "nan"] {
        refused(edges, &with(degrees), &["/plan/north_degrees"]);
    }
    let schema = FloorDesign::schema().to_string();
    assert!(schema.contains("north_degrees"));
}

#[test]
fn all_faults_come_at_once() {
    let text = changed("revision = \"B\"", "revision = \"\"")
        .replace("void_mm = 150", "void_mm = -150")
        .replace("edge = 2", "edge = 5");
    let faults = FloorDesign::read(&text).unwrap_err();
    assert_eq!(places(&faults), ["/revision", "/under_floor/void_mm", "/vents/4/edge"]);
    let line = |needle: &str| text.lines().position(|line| line.contains(needle)).unwrap() + 1;
    let lines: Vec<_> = faults.iter().map(|fault| fault.line.unwrap().0).collect();
    assert_eq!(lines, [line("revision = \"\""), line("void_mm"), line("edge = 5")]);
}

#[test]
fn sizes_are_bounded() {
    let walls = |count: usize| {
        let wall = |i| {
            format!(
                "[[walls]]\nname = \"W{i}\"\nline_mm = [[0, {i}], [9, {i}]]\nthickness_mm = 100\nbearing = false\n"
            )
        };
        let more = (3..count).map(wall).collect::<Vec<_>>().join("\n");
        FloorDesign::read(&changed("[[ground_points]]", &format!("{more}\n[[ground_points]]")))
    };
    assert!(walls(199).is_ok());
    assert!(walls(200).is_ok());
    assert_eq!(places(&walls(201).unwrap_err()), ["/walls"]);

    // Walls B and C have ten points; wall A gets the rest, 4 mm apart.
    let points = |count: usize| {
        let spaced = "spaced = { first_mm = 200, spacing_mm = 1600 }";
        let list: Vec<_> = (0..500).map(|i| format!("{{ name = \"p{i}\", along_mm = {i} }}")).collect();
        let first = 8400 - 4 * (count - 511);
        FloorDesign::read(&changed(
            spaced,
            &format!("points = [{}]\nspaced = {{ first_mm = {first}, spacing_mm = 4 }}", list.join(", ")),
        ))
    };
    assert_eq!(points(2000).unwrap().bearing_points().len(), 2000);
    assert_eq!(places(&points(2001).unwrap_err()), ["/walls"]);

    let padded = |size: usize| FloorDesign::read(&format!("{SEMI}#{}", " ".repeat(size - SEMI.len() - 1)));
    assert!(padded(999_999).is_ok());
    assert!(padded(1_000_000).is_ok());
    assert!(padded(1_000_001).unwrap_err().to_string().contains("larger than 1000000 bytes"));
}

#[test]
fn a_file_cut_short_or_of_another_kind_is_refused_without_a_panic() {
    for end in (0..SEMI.len()).step_by(61).filter(|end| SEMI.is_char_boundary(*end)) {
        let read = FloorDesign::read(&SEMI[..end]);
        // Services come before the limits, and both must be there: no cut can make the gas pipe be forgotten.
        // A cut between two limits is sound TOML; the limit that is missing leaves its verdict undetermined.
        let in_limits = SEMI[..end].contains("[limits]\n");
        assert!(read.is_err() || in_limits, "cut at {end}");
    }
    for text in ["", "\u{0}", "{}", "a = 1", LIMITS, "gaugerod_floor_design = 1"] {
        assert!(FloorDesign::read(text).is_err(), "{text}");
    }
    assert!(DefaultLimits::read(SEMI).is_err());
}

#[test]
fn default_limits_are_refused_without_source_or_without_saying_how_they_are_known() {
    let text = LIMITS
        .replacen(
            "value = 1500\nsource = \"Approved Document C (England) and BS 5250\"",
            "value = -1\nsource = \"\"",
            1,
        )
        .replacen("known = \"from memory\"", "known = \"\"", 1);
    let faults = DefaultLimits::read(&text).unwrap_err();
    let expect = [
        "/limits/membrane_lap_least_mm/known",
        "/limits/vent_per_run_mm2_per_m/source",
        "/limits/vent_per_run_mm2_per_m/value",
    ];
    assert_eq!(places(&faults), expect);
}

#[test]
fn the_schema_names_every_key_of_the_demo_designs() {
    let schema = FloorDesign::schema();
    for text in [SEMI, SEMI_FAULT, TERRACE] {
        let file: toml::Table = text.parse().unwrap();
        for key in file.keys() {
            assert!(schema["properties"].get(key).is_some(), "{key}");
        }
    }
    assert_eq!(DefaultLimits::schema()["properties"]["revision"]["type"], "string");
}
