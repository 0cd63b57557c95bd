use proptest::prelude::*;
use serde_json::Value;

use super::*;
use crate::reckon::tests::repeat;
use crate::record::canonical::tests::fixed;

fn published() -> Value {
    serde_json::from_str(include_str!("../../../../tests/data/published/u-value.json")).unwrap()
}

fn plain_layer(name: &str, resistance: f64) -> Layer {
    Layer { name: name.to_owned(), thickness_mm: None, parts: None, resistance: Some(Real(resistance)) }
}

fn layer(name: &str, thickness: f64, parts: &[(f64, f64)]) -> Layer {
    let part = |(fraction, conductivity): &(f64, f64)| Part {
        fraction: Real(*fraction),
        conductivity: Real(*conductivity),
    };
    Layer {
        name: name.to_owned(),
        thickness_mm: Some(Real(thickness)),
        parts: Some(parts.iter().map(part).collect()),
        resistance: None,
    }
}

fn floor(layers: Vec<Layer>) -> Input {
    Input {
        area_m2: Real(52.398),
        exposed_perimeter_m: Real(24.415),
        wall_thickness_m: Real(0.3),
        ground_conductivity: Real(1.5),
        layers,
        surface_inside: Real(0.17),
        surface_below: Real(0.17),
        surface_outside: Real(0.04),
        declared_floor_u: None,
        height_m: Real(0.3),
        wall_u: Real(1.7),
        opening_area_m2_per_m: Real(0.0015),
        wind_speed_m_per_s: Real(3.0),
        wind_shielding: Real(0.05),
        ground_insulation: None,
        limit: None,
    }
}

#[track_caller]
fn near(found: f64, expect: &Value, tolerance: f64) {
    let expect = expect.as_f64().unwrap();
    assert!((found - expect).abs() <= tolerance, "{found}, not {expect}");
}

/// Every cell of the published table of an uninsulated suspended floor, to its two places.
#[test]
fn every_cell_of_the_published_table_agrees() {
    let data = published();
    let table = &data["suspended_floor_table"];
    let inputs = &table["inputs"];
    let number = |key: &str| inputs[key].as_f64().unwrap();
    let ratios = table["perimeter_over_area"].as_array().unwrap();
    let cells = table["U_opening_0.0015"].as_array().unwrap();
    assert_eq!((ratios.len(), cells.len()), (20, 20));
    for (ratio, cell) in ratios.iter().zip(cells) {
        let mut input = floor(vec![plain_layer("floor", number("floor_resistance"))]);
        input.area_m2 = Real(100.0);
        input.exposed_perimeter_m = Real(100.0 * ratio.as_f64().unwrap());
        input.wall_thickness_m = Real(number("wall_thickness_m"));
        input.ground_conductivity = Real(number("ground_W_per_mK"));
        (input.surface_inside, input.surface_below) =
            (Real(number("surface_inside")), Real(number("surface_inside")));
        input.surface_outside = Real(number("surface_outside"));
        // The table gives the products; either factor may carry them.
        (input.height_m, input.wall_u) = (Real(1.0), Real(number("height_times_wall_U")));
        (input.wind_speed_m_per_s, input.wind_shielding) =
            (Real(1.0), Real(number("wind_speed_times_shielding")));
        let output = reckon(&input).unwrap();
        near(output.u.unwrap(), cell, 0.005);
        repeat(&output.working);
    }
}

#[test]
fn the_precise_example_agrees() {
    let data = published();
    let examples = data["precise"].as_array().unwrap();
    assert!(!examples.is_empty());
    for example in examples {
        let number = |key: &str| Real(example[key].as_f64().unwrap());
        let mut input = floor(vec![plain_layer("floor", number("Rf").0)]);
        input.area_m2 = Real(80.0);
        input.exposed_perimeter_m = Real(80.0 * number("perimeter_over_area").0);
        (input.height_m, input.wall_u) = (number("h"), number("Uw"));
        (input.wind_speed_m_per_s, input.wind_shielding) = (number("v"), number("fw"));
        input.opening_area_m2_per_m = number("opening");
        (input.wall_thickness_m, input.ground_conductivity) = (number("w"), number("lambda"));
        let output = reckon(&input).unwrap();
        near(output.equivalent_thickness_m, &example["dg"], 1e-9);
        near(output.characteristic_m, &example["B"], 1e-9);
        near(output.ground_u, &example["Ug"], 0.000_005);
        near(output.ventilation_u, &example["Ux"], 0.000_005);
        near(output.u.unwrap(), &example["U"], 0.000_005);
    }
}

/// The worked example of the combined method; what its layers' resistances add up to is shared out here so that the
/// paths have the published totals.
#[test]
fn the_combined_method_agrees_with_the_worked_example() {
    let data = published();
    let example = &data["combined_method"];
    let paths: Vec<(f64, f64)> = example["paths"]
        .as_array()
        .unwrap()
        .iter()
        .map(|path| (path["fraction"].as_f64().unwrap(), path["R"].as_f64().unwrap()))
        .collect();
    let bridged: f64 = example["bridged_layer"].as_f64().unwrap();
    let around = (example["lower"].as_f64().unwrap() - bridged).round_to(3);
    let parts: Vec<(f64, f64)> =
        paths.iter().map(|(fraction, resistance)| (*fraction, 0.1 / (resistance - around))).collect();
    let output =
        reckon(&floor(vec![layer("bridged", 100.0, &parts), plain_layer("around it", around - 0.34)]))
            .unwrap();
    near(output.upper_resistance.unwrap(), &example["upper"], 0.000_01);
    near(output.lower_resistance.unwrap(), &example["lower"], 0.000_01);
    near(output.total_resistance.unwrap(), &example["total"], 0.000_01);
    near(output.floor_u.unwrap(), &example["U"], 0.000_01);
    repeat(&output.working);
}

trait RoundTo {
    fn round_to(self, decimals: i32) -> Self;
}

impl RoundTo for f64 {
    fn round_to(self, decimals: i32) -> Self {
        let ten = 10_f64.powi(decimals);
        (self * ten).round() / ten
    }
}

/// Dense webs beside foam infill: the published figures, no answer, and the reason.
fn dense_web() -> (Input, Value) {
    let data = published();
    let case = data["out_of_scope"].clone();
    let number = |value: &Value| value.as_f64().unwrap();
    let part = |key: &str| (number(&case[key]["fraction"]), number(&case[key]["W_per_mK"]));
    let mut input = floor(vec![
        layer("topping", number(&case["topping_mm"]), &[(1.0, number(&case["topping_W_per_mK"]))]),
        layer("overlay", number(&case["overlay_mm"]), &[(1.0, number(&case["overlay_W_per_mK"]))]),
        layer("beams and infill", number(&case["depth_mm"]), &[part("web"), part("infill")]),
    ]);
    let surface = Real(number(&case["surface_both_sides"]));
    (input.surface_inside, input.surface_below) = (surface, surface);
    (input, case)
}

#[test]
fn dense_webs_beside_foam_infill_are_undetermined_with_the_reason() {
    let (mut input, case) = dense_web();
    input.limit = Some(Real(10.0));
    let output = reckon(&input).unwrap();
    near(output.upper_resistance.unwrap(), &case["upper"], 0.000_05);
    near(output.lower_resistance.unwrap(), &case["lower"], 0.000_05);
    assert_eq!((output.total_resistance, output.floor_u, output.u), (None, None, None));
    assert_eq!(output.verdict, Verdict::Undetermined);
    let finding = output.findings.iter().find(|finding| finding.verdict == Verdict::Undetermined).unwrap();
    assert!(finding.reason.contains("1.810") && finding.reason.contains("ISO 10211"), "{finding:?}");
    repeat(&output.working);
    let ratio: f64 = output.working.result().unwrap().value.as_str().parse().unwrap();
    near(ratio, &case["ratio"], 0.000_5);
}

#[test]
fn a_declared_u_value_takes_the_place_of_the_method() {
    let (mut input, _) = dense_web();
    input.declared_floor_u = Some(Real(0.25));
    for limit in [None, Some(0.1), Some(0.3)] {
        input.limit = limit.map(Real);
        let output = reckon(&input).unwrap();
        assert_eq!((output.floor_u, output.total_resistance), (Some(0.25), Some(4.0)));
        assert!(output.upper_resistance.is_some());
        let expect = limit.map_or(Verdict::Undetermined, |limit| Verdict::of(limit == 0.3));
        assert_eq!(output.verdict, expect, "{limit:?}");
        repeat(&output.working);
    }
    input.layers.clear();
    let output = reckon(&input).unwrap();
    assert_eq!((output.upper_resistance, output.floor_u), (None, Some(0.25)));
    repeat(&output.working);
}

/// A layer whose web has the whole of it at one share: the ratio grows with the web's conductivity.
#[test]
fn the_combined_method_applies_up_to_its_ratio() {
    let ratio = |web: f64| {
        let output = reckon(&floor(vec![layer("beams", 200.0, &[(0.2, web), (0.8, 0.04)])])).unwrap();
        (output.upper_resistance.unwrap() / output.lower_resistance.unwrap(), output.u.is_some())
    };
    // Found by halving: the two neighbouring floats between which the ratio passes 1.5.
    let (mut low, mut high): (f64, f64) = (0.04, 5.0);
    while low.next_up() < high {
        let middle = f64::midpoint(low, high);
        if ratio(middle).0 <= 1.5 { low = middle } else { high = middle }
    }
    assert!(ratio(low).1 && !ratio(high).1);
    assert!((ratio(low).0 - 1.5).abs() < 1e-12);
}

#[test]
fn a_u_value_on_its_limit_conforms() {
    let mut input = floor(vec![plain_layer("floor", 4.0)]);
    let u = reckon(&input).unwrap().u.unwrap();
    for (limit, verdict) in [
        (u.next_down(), Verdict::Nonconforming),
        (u, Verdict::Conforming),
        (u.next_up(), Verdict::Conforming),
    ] {
        input.limit = Some(Real(limit));
        assert_eq!(reckon(&input).unwrap().verdict, verdict);
    }
    input.limit = None;
    assert_eq!(reckon(&input).unwrap().verdict, Verdict::Undetermined);
}

#[test]
fn what_cannot_be_is_refused_by_place() {
    let mut input = floor(vec![
        layer("a", 100.0, &[(0.5, 0.04), (0.499_998, 1.0)]),
        layer("a", 0.0, &[(1.5, 0.0)]),
        Layer { thickness_mm: Some(Real(1.0)), ..plain_layer("b", -1.0) },
        Layer { resistance: None, ..plain_layer("c", 0.0) },
        Layer { parts: None, ..layer("d", 1.0, &[]) },
        layer("e", 1.0, &[]),
    ]);
    input.area_m2 = Real(0.0);
    input.limit = Some(Real(f64::NAN));
    assert_eq!(
        reckon(&input).unwrap_err().to_string().lines().collect::<Vec<_>>(),
        [
            "/area_m2: must be at least 0.01",
            "/limit_W_per_m2K: must be a finite number",
            "/layers/1/name: \"a\" stands already at /layers/0",
            "/layers/0/parts: must have fractions that add up to 1; they add up to 0.999998",
            "/layers/1/thickness_mm: must be at least 0.001",
            "/layers/1/parts/0/fraction: must be at most 1",
            "/layers/1/parts/0/W_per_mK: must be at least 0.001",
            "/layers/1/parts: must have fractions that add up to 1; they add up to 1.5",
            "/layers/2/thickness_mm: stands beside resistance_m2K_per_W: give one or the other",
            "/layers/3: must have resistance_m2K_per_W, or thickness_mm and parts",
            "/layers/4/parts: is missing",
            "/layers/5/parts: must have at least 1 item",
        ]
    );
    assert_eq!(
        reckon(&floor(Vec::new())).unwrap_err().to_string(),
        "/layers: must have at least 1 item, unless declared_floor_U_W_per_m2K is given"
    );
    let many: Vec<Layer> =
        (0..10).map(|index| layer(&index.to_string(), 10.0, &[(0.5, 1.0), (0.5, 0.04)])).collect();
    assert_eq!(
        reckon(&floor(many)).unwrap_err().to_string(),
        "/layers: must make at most 1000 paths for heat; the parts make 1024"
    );
}

/// The slack of the fractions is closed.
#[test]
fn fractions_may_miss_one_by_a_millionth() {
    for (fraction, sound) in
        [(0.499_998_999, false), (0.499_999, true), (0.5, true), (0.500_001, true), (0.500_001_001, false)]
    {
        let input = floor(vec![layer("a", 100.0, &[(0.5, 0.04), (fraction, 0.05)])]);
        assert_eq!(reckon(&input).is_ok(), sound, "{fraction}");
    }
}

fn some_layers() -> impl Strategy<Value = Vec<Layer>> {
    let uniform = (0.01_f64..5.0).prop_map(|resistance| plain_layer("", resistance));
    let mixed = (10.0_f64..300.0, 0.05_f64..0.95, 0.03_f64..0.3, 0.03_f64..0.3).prop_map(
        |(thickness, fraction, one, other)| layer("", thickness, &[(fraction, one), (1.0 - fraction, other)]),
    );
    prop::collection::vec(prop_oneof![uniform, mixed], 1..5).prop_map(|mut layers| {
        for (index, layer) in layers.iter_mut().enumerate() {
            layer.name = index.to_string();
        }
        layers
    })
}

proptest! {
    #![proptest_config(fixed(300))]

    #[test]
    fn u_falls_when_any_layer_grows_in_resistance(layers in some_layers(), more in 1.01_f64..2.0) {
        let before = reckon(&floor(layers.clone())).unwrap();
        repeat(&before.working);
        prop_assert!(before.lower_resistance.unwrap() <= before.upper_resistance.unwrap() * (1.0 + 1e-12));
        for index in 0..layers.len() {
            let mut layers = layers.clone();
            let layer = &mut layers[index];
            layer.resistance = layer.resistance.map(|resistance| Real(resistance.0 * more));
            layer.thickness_mm = layer.thickness_mm.map(|thickness| Real(thickness.0 * more));
            let after = reckon(&floor(layers)).unwrap();
            prop_assert!(before.upper_resistance < after.upper_resistance);
            prop_assert!(before.lower_resistance < after.lower_resistance);
            if let (Some(before), Some(after)) = (before.u, after.u) {
                prop_assert!(after < before, "{before} {after}");
            }
        }
    }
}
