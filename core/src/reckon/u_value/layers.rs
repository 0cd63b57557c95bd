//! Layers of the floor: the upper and the lower limit of its resistance (ISO 6946, combined method).

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{
    Faults, ISO_6946, Input, MAX_NAME, Real, Working, of_many, real, refuse_outside, refuse_too_many,
};

/// The most parts side by side in one layer.
const MAX_PARTS: usize = 20;
/// The most paths that heat can take: the product of the parts of all layers.
const MAX_PATHS: usize = 1_000;
/// How far the fractions of a layer may miss 1: what decimals of a share cut off.
const FRACTION_SLACK: f64 = 1e-6;

/// One layer: `thickness_mm` with `parts`, or its `resistance_m2K_per_W`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Layer {
    /// Its name, once in a floor.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub name: String,
    /// Its thickness.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.001, max = 10_000))]
    pub thickness_mm: Option<Real>,
    /// What stands side by side in it; fractions of the area that add up to 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = MAX_PARTS))]
    pub parts: Option<Vec<Part>>,
    /// Resistance of a layer that is alike throughout.
    #[serde(rename = "resistance_m2K_per_W", default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 1_000))]
    pub resistance: Option<Real>,
}

/// One part of a layer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// Its share of the area.
    #[schemars(range(min = 0, max = 1))]
    pub fraction: Real,
    /// Its conductivity.
    #[serde(rename = "W_per_mK")]
    #[schemars(range(min = 0.001, max = 1_000))]
    pub conductivity: Real,
}

impl Layer {
    /// Fraction and resistance of each part, each with its resistance as arithmetic.
    fn resistances(&self) -> Vec<(f64, f64, String)> {
        match (self.resistance, self.thickness_mm, &self.parts) {
            (None, Some(Real(thickness)), Some(parts)) => parts
                .iter()
                .map(|part| {
                    let conductivity = part.conductivity.0;
                    let formula = format!("{} / 1000 / {}", real(thickness), real(conductivity));
                    // A part alone is the whole layer, whatever its fraction's last decimal says.
                    let fraction = if parts.len() == 1 { 1.0 } else { part.fraction.0 };
                    (fraction, thickness / 1000.0 / conductivity, formula)
                })
                .collect(),
            (resistance, ..) => {
                let resistance = resistance.unwrap_or_default().0;
                vec![(1.0, resistance, real(resistance))]
            }
        }
    }
}

/// One way for heat through all layers.
struct Path {
    fraction: f64,
    resistance: f64,
    fractions: Vec<String>,
    resistances: Vec<String>,
}

/// Upper and lower limit, surfaces included; none without layers.
pub(super) fn limits(input: &Input, working: &mut Working) -> Option<(f64, f64)> {
    if input.layers.is_empty() {
        return None;
    }
    let surfaces = [real(input.surface_inside.0), real(input.surface_below.0)];
    let surface_sum = input.surface_inside.0 + input.surface_below.0;
    let mut paths = vec![Path {
        fraction: 1.0,
        resistance: surface_sum,
        fractions: Vec::new(),
        resistances: surfaces.to_vec(),
    }];
    let mut lower = surface_sum;
    let mut lower_terms = surfaces.to_vec();
    for layer in &input.layers {
        let parts = layer.resistances();
        let (resistance, text) = side_by_side(&layer.name, &parts, working);
        lower += resistance;
        lower_terms.push(text);
        paths = paths
            .iter()
            .flat_map(|path| parts.iter().map(|part| extended(path, part, parts.len())))
            .collect();
    }
    let upper = upper_limit(&paths, working);
    working.float("lower limit of the resistance", of_many("sum", &lower_terms), lower, "m2K/W", ISO_6946);
    Some((upper, lower))
}

/// A path with one part of the next layer.
fn extended(path: &Path, (fraction, resistance, formula): &(f64, f64, String), parts: usize) -> Path {
    let mut longer = Path {
        fraction: path.fraction * fraction,
        resistance: path.resistance + resistance,
        fractions: path.fractions.clone(),
        resistances: path.resistances.clone(),
    };
    if parts > 1 {
        longer.fractions.push(real(*fraction));
    }
    longer.resistances.push(formula.clone());
    longer
}

/// The resistance of one layer whose parts share the heat, and how it stands in the sum of the layers.
fn side_by_side(name: &str, parts: &[(f64, f64, String)], working: &mut Working) -> (f64, String) {
    if let [(_, resistance, formula)] = parts {
        return (*resistance, formula.clone());
    }
    let resistance = 1.0 / parts.iter().map(|(fraction, resistance, _)| fraction / resistance).sum::<f64>();
    let terms: Vec<String> =
        parts.iter().map(|(fraction, _, formula)| format!("{} / ({formula})", real(*fraction))).collect();
    working.float(
        format!("{name}: resistance with its parts side by side"),
        format!("1 / {}", of_many("sum", &terms)),
        resistance,
        "m2K/W",
        ISO_6946,
    );
    (resistance, real(resistance))
}

fn upper_limit(paths: &[Path], working: &mut Working) -> f64 {
    let mut terms = Vec::new();
    let mut sum = 0.0;
    for (index, path) in paths.iter().enumerate() {
        let formula = of_many("sum", &path.resistances);
        working.float(
            format!("path {} of {}: resistance", index + 1, paths.len()),
            formula,
            path.resistance,
            "m2K/W",
            ISO_6946,
        );
        let share = if path.fractions.is_empty() { "1".to_owned() } else { path.fractions.join(" * ") };
        terms.push(format!("{share} / {}", real(path.resistance)));
        sum += path.fraction / path.resistance;
    }
    let upper = 1.0 / sum;
    working.float(
        "upper limit of the resistance",
        format!("1 / {}", bracketed(&terms)),
        upper,
        "m2K/W",
        ISO_6946,
    );
    upper
}

fn bracketed(terms: &[String]) -> String {
    format!("({})", of_many("sum", terms))
}

pub(super) fn check(input: &Input, faults: &mut Faults) {
    if input.layers.is_empty() && input.declared_floor_u.is_none() {
        faults.add("/layers", "must have at least 1 item, unless declared_floor_U_W_per_m2K is given");
    }
    let mut paths = 1_usize;
    for (index, layer) in input.layers.iter().enumerate() {
        let place = format!("/layers/{index}");
        paths = paths.saturating_mul(layer.parts.as_ref().map_or(1, Vec::len).max(1));
        match (layer.resistance, layer.thickness_mm, &layer.parts) {
            (Some(resistance), None, None) => {
                refuse_outside(&format!("{place}/resistance_m2K_per_W"), resistance, 0.0, 1e3, faults);
            }
            (None, Some(thickness), Some(parts)) => {
                refuse_outside(&format!("{place}/thickness_mm"), thickness, 0.001, 1e4, faults);
                check_parts(&format!("{place}/parts"), parts, faults);
            }
            (Some(_), thickness, parts) => {
                for (key, given) in [("thickness_mm", thickness.is_some()), ("parts", parts.is_some())] {
                    if given {
                        faults.add(
                            format!("{place}/{key}"),
                            "stands beside resistance_m2K_per_W: give one or the other",
                        );
                    }
                }
            }
            (None, None, None) => {
                faults.add(&place, "must have resistance_m2K_per_W, or thickness_mm and parts");
            }
            (None, thickness, _) => {
                let missing = if thickness.is_some() { "parts" } else { "thickness_mm" };
                faults.add(format!("{place}/{missing}"), "is missing");
            }
        }
    }
    if paths > MAX_PATHS {
        faults
            .add("/layers", format!("must make at most {MAX_PATHS} paths for heat; the parts make {paths}"));
    }
}

fn check_parts(place: &str, parts: &[Part], faults: &mut Faults) {
    if parts.is_empty() {
        faults.add(place, "must have at least 1 item");
        return;
    }
    refuse_too_many(place, parts.len(), MAX_PARTS, faults);
    for (index, part) in parts.iter().enumerate() {
        refuse_outside(&format!("{place}/{index}/fraction"), part.fraction, 0.0, 1.0, faults);
        refuse_outside(&format!("{place}/{index}/W_per_mK"), part.conductivity, 0.001, 1e3, faults);
    }
    let sum: f64 = parts.iter().map(|part| part.fraction.0).sum();
    // The slack is closed; a decimal's own rounding in binary is far below it.
    if (sum - 1.0).abs() > FRACTION_SLACK + 1e-12 {
        let shown = (sum * 1e9).round() / 1e9;
        faults.add(place, format!("must have fractions that add up to 1; they add up to {shown}"));
    }
}
