//! What the floor design specifies of ground gas, heating pipes and reinforcement, where it describes them.
//!
//! Never here: a verdict on what was built.

use schemars::JsonSchema;
use serde::Deserialize;

use super::{FloorDesign, LayerRole, MembraneRequired};
use crate::quantity::{Factor, Mm, Plain};

/// What protects the building from ground gas.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GroundGas {
    /// The class of the ground as the gas assessment gives it (`CS2`, characteristic situation of BS 8485).
    #[schemars(length(min = 1, max = 100))]
    pub class: String,
    /// The membrane as specified.
    #[schemars(length(min = 1, max = 300))]
    pub membrane: String,
    /// Whether somebody independent has to verify it before it is covered.
    pub independent_verification: bool,
    /// Where it comes from.
    pub source: String,
}

/// Heating pipes within the floor, and the test that they stand.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Heating {
    /// The least pressure at the start of the test.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 1_000))]
    pub test_pressure_bar: Plain,
    /// How long it is held at least.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 1_000))]
    pub hold_h: Plain,
    /// How far it may fall meanwhile.
    #[schemars(range(min = 0, max = 1_000))]
    pub largest_drop_bar: Plain,
    /// Zones, by name.
    #[serde(default)]
    #[schemars(length(max = 50))]
    pub zones: Vec<String>,
    /// Where it comes from.
    pub source: String,
}

/// Reinforcement of the topping: a mesh, fibres, or both.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reinforcement {
    /// The mesh as specified (`A142`).
    #[serde(default)]
    pub mesh: Option<Mesh>,
    /// Fibres as specified, in words; their dose stands with the topping.
    #[serde(default)]
    #[schemars(length(min = 1, max = 300))]
    pub fibre: Option<String>,
    /// Where it comes from.
    pub source: String,
}

/// A mesh.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Mesh {
    /// Its mark on the label.
    #[schemars(length(min = 1, max = 100))]
    pub mark: String,
    /// Least cover above it.
    #[schemars(range(min = 0))]
    pub cover_least_mm: Mm,
    /// Most cover above it, where the design gives one.
    #[serde(default)]
    #[schemars(range(min = 0))]
    pub cover_most_mm: Option<Mm>,
    /// Least lap of two sheets.
    #[schemars(range(min = 0))]
    pub lap_least_mm: Mm,
}

/// What does not agree within these tables; `fault` is told the place and what is wrong.
pub(super) fn check(design: &FloorDesign, fault: &mut dyn FnMut(String, String)) {
    let said = |table: &str, source: &str, fault: &mut dyn FnMut(String, String)| {
        if source.trim().is_empty() {
            fault(format!("/{table}/source"), "must say where it comes from".to_owned());
        }
    };
    if let Some(gas) = &design.ground_gas {
        said("ground_gas", &gas.source, fault);
        if design.membrane_required != Some(MembraneRequired::Gas) {
            let what = "must be `gas`: [ground_gas] asks for a membrane against ground gas";
            fault("/membrane_required".to_owned(), what.to_owned());
        }
    }
    if let Some(heating) = &design.heating {
        said("heating", &heating.source, fault);
        if !design.layers.iter().any(|layer| layer.role == LayerRole::Heating) {
            fault("/heating".to_owned(), "no layer of role `heating` says where the pipes lie".to_owned());
        }
        if heating.test_pressure_bar.0 < heating.largest_drop_bar.0 {
            let what = "is more than the test pressure itself";
            fault("/heating/largest_drop_bar".to_owned(), what.to_owned());
        }
        let zero = Factor::whole(0);
        for (key, value) in [("test_pressure_bar", heating.test_pressure_bar), ("hold_h", heating.hold_h)] {
            if value.0 <= zero {
                fault(format!("/heating/{key}"), "must be more than 0".to_owned());
            }
        }
    }
    if let Some(reinforcement) = &design.reinforcement {
        said("reinforcement", &reinforcement.source, fault);
        if reinforcement.mesh.is_none() && reinforcement.fibre.is_none() {
            fault("/reinforcement".to_owned(), "must have `mesh`, `fibre` or both".to_owned());
        }
        let cover =
            reinforcement.mesh.as_ref().and_then(|mesh| Some((mesh.cover_least_mm, mesh.cover_most_mm?)));
        if cover.is_some_and(|(least, most)| most.0 < least.0) {
            let what = "must be at least cover_least_mm";
            fault("/reinforcement/mesh/cover_most_mm".to_owned(), what.to_owned());
        }
    }
}
