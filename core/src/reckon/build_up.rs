//! Build-up: the levels of a floor from its finished surface down to the highest ground allowed below it.
//!
//! Plain sums of the floor design's own thicknesses; nothing is measured and nothing is judged, so there is no
//! verdict.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{MAX_NAME, MAX_VERTICES, refuse_negative, refuse_too_many, refuse_twins};
use crate::faults::Faults;
use crate::quantity::{Length, Metres, Mm};
use crate::working::{FLOOR_DESIGN, Working, m, mm};

/// The floor's layers and what must stay clear below them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Level of the finished floor above the site datum.
    pub finished_floor_level_m: Metres,
    /// Layers from the top down.
    #[schemars(length(min = 1, max = MAX_VERTICES))]
    pub layers: Vec<Layer>,
    /// How far the infill hangs below the bearing surface.
    #[schemars(range(min = 0))]
    pub infill_below_bearing_mm: Mm,
    /// Clear ventilated height kept after any heave.
    #[schemars(range(min = 0))]
    pub void_mm: Mm,
    /// Added for shrinkable ground.
    #[schemars(range(min = 0))]
    pub heave_allowance_mm: Mm,
}

/// One layer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Layer {
    /// Its name, once in a stack.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub name: String,
    /// What it is.
    pub role: Role,
    /// Its thickness; 0 for a membrane that takes no height.
    #[schemars(range(min = 0))]
    pub thickness_mm: Mm,
}

/// What a layer is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    Finish,
    Topping,
    Membrane,
    Overlay,
    Beam,
    Bedding,
}

/// Levels found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// The level below each layer, in the order of `layers`.
    pub interfaces: Vec<Interface>,
    /// All layers together.
    pub overall_thickness_mm: Mm,
    /// Underside of the beams.
    pub beam_soffit_level_m: Metres,
    /// Top of the bearing walls: soffit of the beams less any bedding.
    pub bearing_level_m: Metres,
    /// The lower of beam soffit and what hangs below the bearing.
    pub lowest_point_m: Metres,
    /// Ground may be this high at most.
    pub highest_ground_level_m: Metres,
    /// The sums.
    pub working: Working,
}

/// The level below one layer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Interface {
    /// Name of the layer above this level.
    pub below: String,
    /// The level.
    pub level_m: Metres,
}

/// Reckons the levels of a build-up.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    let beam = check(input)?;
    let mut working = Working::new();
    let mut level = input.finished_floor_level_m.0;
    let mut interfaces = Vec::new();
    let mut soffit = level;
    for (index, layer) in input.layers.iter().enumerate() {
        let below = level - layer.thickness_mm.0;
        let what = match layer.role {
            Role::Beam => "beam soffit level".to_owned(),
            _ => format!("level below {}", layer.name),
        };
        working.m(what, format!("{} - {} / 1000", m(level), mm(layer.thickness_mm.0)), below, FLOOR_DESIGN);
        level = below;
        if index == beam {
            soffit = below;
        }
        interfaces.push(Interface { below: layer.name.clone(), level_m: Metres(below) });
    }
    // Only bedding lies below the beams, so the lowest interface is the bearing.
    let bearing = level;
    let overall = input.finished_floor_level_m.0 - bearing;
    let thicknesses: Vec<String> = input.layers.iter().map(|layer| mm(layer.thickness_mm.0)).collect();
    working.mm("overall thickness", thicknesses.join(" + "), overall, FLOOR_DESIGN);
    let beddings: Vec<Length> = input.layers[beam + 1..].iter().map(|layer| layer.thickness_mm.0).collect();
    let less: Vec<String> = beddings.iter().map(|bed| format!(" - {} / 1000", mm(*bed))).collect();
    working.m("bearing level", format!("{}{}", m(soffit), less.concat()), bearing, FLOOR_DESIGN);

    let hangs = input.infill_below_bearing_mm.0;
    let lowest = soffit.min(bearing - hangs);
    working.m(
        "lowest point of the floor",
        format!("min({}, {} - {} / 1000)", m(soffit), m(bearing), mm(hangs)),
        lowest,
        FLOOR_DESIGN,
    );
    let highest_ground = lowest - input.void_mm.0 - input.heave_allowance_mm.0;
    working.m(
        "highest ground level",
        format!("{} - {} / 1000 - {} / 1000", m(lowest), mm(input.void_mm.0), mm(input.heave_allowance_mm.0)),
        highest_ground,
        FLOOR_DESIGN,
    );
    Ok(Output {
        interfaces,
        overall_thickness_mm: Mm(overall),
        beam_soffit_level_m: Metres(soffit),
        bearing_level_m: Metres(bearing),
        lowest_point_m: Metres(lowest),
        highest_ground_level_m: Metres(highest_ground),
        working,
    })
}

/// Index of the one beam layer, or what is wrong.
fn check(input: &Input) -> Result<usize, Faults> {
    let mut faults = Faults::new();
    refuse_too_many("/layers", input.layers.len(), MAX_VERTICES, &mut faults);
    refuse_twins("/layers", "name", input.layers.iter().map(|layer| layer.name.as_str()), &mut faults);
    for (index, layer) in input.layers.iter().enumerate() {
        refuse_negative(&format!("/layers/{index}/thickness_mm"), layer.thickness_mm.0, &mut faults);
    }
    refuse_negative("/infill_below_bearing_mm", input.infill_below_bearing_mm.0, &mut faults);
    refuse_negative("/void_mm", input.void_mm.0, &mut faults);
    refuse_negative("/heave_allowance_mm", input.heave_allowance_mm.0, &mut faults);
    let is_beam = |layer: &Layer| layer.role == Role::Beam;
    let beams = input.layers.iter().filter(|layer| is_beam(layer)).count();
    let beam = input.layers.iter().position(is_beam);
    let Some(beam) = beam.filter(|_| beams == 1) else {
        faults.add("/layers", format!("must hold exactly one layer of role beam, holds {beams}"));
        return Err(faults);
    };
    for (index, layer) in input.layers.iter().enumerate().skip(beam + 1) {
        if layer.role != Role::Bedding {
            faults.add(format!("/layers/{index}/role"), "only bedding may lie below the beam");
        }
    }
    faults.into_result(beam)
}
