//! U-value: what the floor lets through, from the labels of its layers, with the ground and the vented void below.
//!
//! Method: combined method for the floor (ISO 6946), suspended floor with its ventilation for the whole (ISO 13370).
//! Physics in binary floats. Indicative: the building's energy assessment governs. Where dense webs stand beside
//! light infill the combined method does not apply; then nothing is answered but a declared or numerically found
//! U-value of the floor is asked for.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::methods::METHODS;
use super::{Finding, MAX_NAME, deciding, refuse_outside, refuse_too_many, refuse_twins};
use crate::conformity::Verdict;
use crate::faults::Faults;
use crate::quantity::Real;
use crate::working::{FLOOR_DESIGN, Working, of_many, real};

mod layers;
#[cfg(test)]
mod tests;

pub use layers::{Layer, Part};

const ISO_6946: &str = "ISO 6946:2017";
const ISO_13370: &str = "ISO 13370:2017";
/// Volumetric heat capacity of air in the ventilation term, as ISO 13370 has it.
const AIR: f64 = 1450.0;
/// The most layers of a floor.
const MAX_LAYERS: usize = 50;

/// A floor over a vented void.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Area of the floor.
    #[schemars(range(min = 0.01, max = 1_000_000))]
    pub area_m2: Real,
    /// Length of its edge towards the open air or an unheated space.
    #[schemars(range(min = 0.01, max = 100_000))]
    pub exposed_perimeter_m: Real,
    /// Thickness of the outer walls.
    #[schemars(range(min = 0, max = 10))]
    pub wall_thickness_m: Real,
    /// Conductivity of the ground.
    #[serde(rename = "ground_W_per_mK")]
    #[schemars(range(min = 0.001, max = 1_000))]
    pub ground_conductivity: Real,
    /// The floor's layers in any order; may be empty beside a declared U-value.
    #[schemars(length(max = MAX_LAYERS))]
    pub layers: Vec<Layer>,
    /// Surface resistance of the room side.
    #[serde(rename = "surface_inside_m2K_per_W")]
    #[schemars(range(min = 0.001, max = 10))]
    pub surface_inside: Real,
    /// Surface resistance of the floor's side towards the void.
    #[serde(rename = "surface_below_m2K_per_W")]
    #[schemars(range(min = 0.001, max = 10))]
    pub surface_below: Real,
    /// Surface resistance of the open air; it counts in the equivalent thickness.
    #[serde(rename = "surface_outside_m2K_per_W")]
    #[schemars(range(min = 0.001, max = 10))]
    pub surface_outside: Real,
    /// U-value of the floor alone, surfaces included, as declared by the producer or found numerically (ISO 10211);
    /// it takes the place of the combined method.
    #[serde(rename = "declared_floor_U_W_per_m2K", default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.001, max = 100))]
    pub declared_floor_u: Option<Real>,
    /// Height of the floor above the outside ground.
    #[schemars(range(min = 0, max = 100))]
    pub height_m: Real,
    /// U-value of the wall below the floor.
    #[serde(rename = "wall_U_W_per_m2K")]
    #[schemars(range(min = 0, max = 100))]
    pub wall_u: Real,
    /// Area of the vents for each metre of perimeter.
    #[schemars(range(min = 0, max = 1))]
    pub opening_area_m2_per_m: Real,
    /// Mean wind speed at 10 m.
    #[schemars(range(min = 0, max = 100))]
    pub wind_speed_m_per_s: Real,
    /// Wind shielding factor.
    #[schemars(range(min = 0, max = 1))]
    pub wind_shielding: Real,
    /// Resistance of insulation on the ground below the void; without it there is none.
    #[serde(rename = "ground_insulation_m2K_per_W", default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 1_000))]
    pub ground_insulation: Option<Real>,
    /// The greatest U-value allowed.
    #[serde(rename = "limit_W_per_m2K", default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100))]
    pub limit: Option<Real>,
}

/// U-value and how it comes about. Resistances in m²K/W, surfaces included; U-values in W/m²K.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// Upper limit of the floor's resistance: each path of heat for itself; null without layers.
    pub upper_resistance: Option<f64>,
    /// Lower limit: each layer's parts side by side; null without layers.
    pub lower_resistance: Option<f64>,
    /// Resistance of the floor; null where the method does not apply.
    pub total_resistance: Option<f64>,
    /// U-value of the floor between room and void; null where the method does not apply.
    #[serde(rename = "floor_U")]
    pub floor_u: Option<f64>,
    /// Characteristic dimension.
    pub characteristic_m: f64,
    /// Equivalent thickness of the ground.
    pub equivalent_thickness_m: f64,
    /// U-value of the ground.
    #[serde(rename = "ground_U")]
    pub ground_u: f64,
    /// Heat that walls and wind take out of the void.
    #[serde(rename = "ventilation_U")]
    pub ventilation_u: f64,
    /// U-value of the whole; null where the method does not apply.
    #[serde(rename = "U_W_per_m2K")]
    pub u: Option<f64>,
    /// Against the limit; undetermined without one, or where the method does not apply.
    pub verdict: Verdict,
    /// What else there is to say.
    pub findings: Vec<Finding>,
    /// The sums.
    pub working: Working,
}

/// Reckons the U-value of a suspended floor.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    check(input)?;
    let mut working = Working::new();
    let mut findings = Vec::new();
    let ground = below_the_floor(input, &mut working);
    let limits = layers::limits(input, &mut working);
    let floor = floor(input, limits, &mut working, &mut findings);
    let u = floor.map(|(_, floor_u)| {
        let u = 1.0 / (1.0 / floor_u + 1.0 / (ground.ground_u + ground.ventilation_u));
        let formula = format!(
            "1 / (1 / {} + 1 / ({} + {}))",
            real(floor_u),
            real(ground.ground_u),
            real(ground.ventilation_u)
        );
        working.float("U-value of the floor over its void", formula, u, "W/m2K", ISO_13370);
        u
    });
    if let (Some(u), Some(Real(limit))) = (u, input.limit) {
        findings.push(Finding::new(
            "U-value is at most what is allowed",
            Verdict::of(u <= limit),
            format!("{u:.4} W/m²K, at most {limit} W/m²K"),
            FLOOR_DESIGN,
        ));
    }
    let verdict = if input.limit.is_some() && u.is_some() {
        Verdict::overall(deciding(&findings))
    } else {
        Verdict::Undetermined
    };
    findings.push(Finding::caution(
        "U-value is indicative",
        "the building's energy assessment governs; conductivities are those of the labels and of the design",
        ISO_13370,
    ));
    Ok(Output {
        upper_resistance: limits.map(|(upper, _)| upper),
        lower_resistance: limits.map(|(_, lower)| lower),
        total_resistance: floor.map(|(total, _)| total),
        floor_u: floor.map(|(_, floor_u)| floor_u),
        characteristic_m: ground.characteristic,
        equivalent_thickness_m: ground.equivalent_thickness,
        ground_u: ground.ground_u,
        ventilation_u: ground.ventilation_u,
        u,
        verdict,
        findings,
        working,
    })
}

/// What lies below the floor.
struct Ground {
    characteristic: f64,
    equivalent_thickness: f64,
    ground_u: f64,
    ventilation_u: f64,
}

fn below_the_floor(input: &Input, working: &mut Working) -> Ground {
    let (area, perimeter) = (input.area_m2.0, input.exposed_perimeter_m.0);
    let characteristic = area / (0.5 * perimeter);
    working.float(
        "characteristic dimension",
        format!("{} / (0.5 * {})", real(area), real(perimeter)),
        characteristic,
        "m",
        ISO_13370,
    );
    let (wall, conductivity) = (input.wall_thickness_m.0, input.ground_conductivity.0);
    let insulation = input.ground_insulation.unwrap_or_default().0;
    let (inside, outside) = (input.surface_inside.0, input.surface_outside.0);
    let equivalent_thickness = wall + conductivity * (inside + insulation + outside);
    working.float(
        "equivalent thickness of the ground",
        format!(
            "{} + {} * ({} + {} + {})",
            real(wall),
            real(conductivity),
            real(inside),
            real(insulation),
            real(outside)
        ),
        equivalent_thickness,
        "m",
        ISO_13370,
    );
    let run = core::f64::consts::PI * characteristic;
    let ground_u =
        2.0 * conductivity / (run + equivalent_thickness) * libm::log(run / equivalent_thickness + 1.0);
    working.float(
        "U-value of the ground",
        format!(
            "2 * {c} / (pi * {b} + {d}) * ln(pi * {b} / {d} + 1)",
            c = real(conductivity),
            b = real(characteristic),
            d = real(equivalent_thickness)
        ),
        ground_u,
        "W/m2K",
        ISO_13370,
    );
    let (height, wall_u, opening) = (input.height_m.0, input.wall_u.0, input.opening_area_m2_per_m.0);
    let (wind, shielding) = (input.wind_speed_m_per_s.0, input.wind_shielding.0);
    let ventilation_u =
        2.0 * height * wall_u / characteristic + AIR * opening * wind * shielding / characteristic;
    working.float(
        "walls and ventilation of the void",
        format!(
            "2 * {} * {} / {b} + {AIR} * {} * {} * {} / {b}",
            real(height),
            real(wall_u),
            real(opening),
            real(wind),
            real(shielding),
            b = real(characteristic)
        ),
        ventilation_u,
        "W/m2K",
        ISO_13370,
    );
    Ground { characteristic, equivalent_thickness, ground_u, ventilation_u }
}

/// Resistance and U-value of the floor between room and void: declared, or by the combined method where it applies.
fn floor(
    input: &Input,
    limits: Option<(f64, f64)>,
    working: &mut Working,
    findings: &mut Vec<Finding>,
) -> Option<(f64, f64)> {
    if let Some(Real(declared)) = input.declared_floor_u {
        let total = 1.0 / declared;
        working.float(
            "resistance of the floor, from its declared U-value",
            format!("1 / {}", real(declared)),
            total,
            "m2K/W",
            "declared by the producer, or found numerically (ISO 10211)",
        );
        return Some((total, declared));
    }
    let (upper, lower) = limits?;
    let method = &METHODS.combined_method;
    let (ratio, most) = (upper / lower, method.largest_ratio);
    working.float(
        "upper over lower limit",
        format!("{} / {}", real(upper), real(lower)),
        ratio,
        "1",
        &method.source,
    );
    let applies = ratio <= most;
    findings.push(Finding::new(
        "the combined method applies",
        if applies { Verdict::Conforming } else { Verdict::Undetermined },
        if applies {
            format!("upper over lower limit of the resistance is {ratio:.3}, at most {most}")
        } else {
            format!(
                "upper over lower limit of the resistance is {ratio:.3}, more than {most}: parts that conduct well \
                 stand beside parts that insulate. Ask for a U-value of the floor that the producer declares or that \
                 was found numerically (ISO 10211), and give it as declared_floor_U_W_per_m2K"
            )
        },
        &method.source,
    ));
    if !applies {
        return None;
    }
    let total = f64::midpoint(upper, lower);
    working.float(
        "resistance of the floor",
        format!("({} + {}) / 2", real(upper), real(lower)),
        total,
        "m2K/W",
        ISO_6946,
    );
    let floor_u = 1.0 / total;
    working.float("U-value of the floor alone", format!("1 / {}", real(total)), floor_u, "W/m2K", ISO_6946);
    Some((total, floor_u))
}

fn check(input: &Input) -> Result<(), Faults> {
    let mut faults = Faults::new();
    for (place, value, least, most) in [
        ("/area_m2", Some(input.area_m2), 0.01, 1e6),
        ("/exposed_perimeter_m", Some(input.exposed_perimeter_m), 0.01, 1e5),
        ("/wall_thickness_m", Some(input.wall_thickness_m), 0.0, 10.0),
        ("/ground_W_per_mK", Some(input.ground_conductivity), 0.001, 1e3),
        ("/surface_inside_m2K_per_W", Some(input.surface_inside), 0.001, 10.0),
        ("/surface_below_m2K_per_W", Some(input.surface_below), 0.001, 10.0),
        ("/surface_outside_m2K_per_W", Some(input.surface_outside), 0.001, 10.0),
        ("/declared_floor_U_W_per_m2K", input.declared_floor_u, 0.001, 100.0),
        ("/height_m", Some(input.height_m), 0.0, 100.0),
        ("/wall_U_W_per_m2K", Some(input.wall_u), 0.0, 100.0),
        ("/opening_area_m2_per_m", Some(input.opening_area_m2_per_m), 0.0, 1.0),
        ("/wind_speed_m_per_s", Some(input.wind_speed_m_per_s), 0.0, 100.0),
        ("/wind_shielding", Some(input.wind_shielding), 0.0, 1.0),
        ("/ground_insulation_m2K_per_W", input.ground_insulation, 0.0, 1e3),
        ("/limit_W_per_m2K", input.limit, 0.0, 100.0),
    ] {
        if let Some(value) = value {
            refuse_outside(place, value, least, most, &mut faults);
        }
    }
    refuse_too_many("/layers", input.layers.len(), MAX_LAYERS, &mut faults);
    refuse_twins("/layers", "name", input.layers.iter().map(|layer| layer.name.as_str()), &mut faults);
    layers::check(input, &mut faults);
    faults.into_result(())
}
