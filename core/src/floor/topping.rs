//! The topping as drawn: where it lies, how thick it may be, its mix, how it is ordered, which cubes are asked for.
//! How thick it should be stands in the build-up, on the layer of role `topping`.
//!
//! Never here: a verdict on what was poured.

use schemars::JsonSchema;
use serde::Deserialize;

use super::beams::ConcreteSpec;
use super::polygon::check_outline;
use super::{FloorDesign, LayerRole, Place};
use crate::ids::PointName;
use crate::quantity::{CubicMetres, Factor, Length, Mm, Plain, Volume};

/// The topping.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Topping {
    /// Where it lies, one outline for every floor that is poured by itself.
    #[schemars(length(min = 1, max = 50))]
    pub areas: Vec<ToppingArea>,
    /// How much thinner than its layer it may be.
    #[schemars(range(min = 0))]
    pub tolerance_minus_mm: Mm,
    /// How much thicker.
    #[schemars(range(min = 0))]
    pub tolerance_plus_mm: Mm,
    /// What is added to the volume for waste.
    #[schemars(range(min = 0, max = 100))]
    pub waste_percent: Plain,
    /// The steps in which the supplier sells.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub supplier_step_m3: CubicMetres,
    /// Fibres in the concrete, where they are asked for.
    #[serde(default)]
    #[schemars(range(min = 0, max = 1_000))]
    pub fibre_kg_per_m3: Option<Plain>,
    /// Which fibres.
    #[serde(default)]
    #[schemars(length(min = 1, max = 100))]
    pub fibre_type: Option<String>,
    /// Its mix.
    pub concrete: ConcreteSpec,
    /// Cubes, where they are asked for.
    #[serde(default)]
    pub cubes: Option<Cubes>,
    /// Where all of this comes from.
    pub source: String,
}

/// One outline of topping.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ToppingArea {
    /// Its name.
    pub name: PointName,
    /// Its edge, inside the strip that keeps it off the walls: a simple polygon, any winding, not closed.
    #[schemars(length(min = 3, max = 200))]
    pub outline_mm: Vec<Place>,
}

/// Cubes that are taken from the topping.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cubes {
    /// How many samples at least.
    #[schemars(range(min = 1, max = 100))]
    pub samples: u32,
    /// Whether the producer's control of production is certified.
    pub certified: bool,
    /// Where it comes from.
    pub source: String,
}

impl FloorDesign {
    /// Thickness of the topping by the build-up: its layers of role `topping` together; `None` where there is none.
    pub fn topping_thickness(&self) -> Option<Length> {
        let mut own = self.layers.iter().filter(|layer| layer.role == LayerRole::Topping).peekable();
        own.peek()?;
        Some(own.fold(Length::ZERO, |sum, layer| sum + layer.thickness_mm.0))
    }
}

/// What does not agree within the drawing; `fault` is told the place and what is wrong.
pub(super) fn check(design: &FloorDesign, fault: &mut dyn FnMut(String, String)) {
    let Some(topping) = &design.topping else { return };
    if design.topping_thickness().is_none() {
        fault("/topping".to_owned(), "the layers have no topping".to_owned());
    }
    for (index, area) in topping.areas.iter().enumerate() {
        if topping.areas[..index].iter().any(|other| other.name == area.name) {
            fault(format!("/topping/areas/{index}/name"), format!("`{}` stands here twice", area.name));
        }
        if let Err(what) = check_outline(&area.outline_mm) {
            fault(format!("/topping/areas/{index}/outline_mm"), what.to_string());
        }
    }
    for (key, value) in
        [("tolerance_minus_mm", topping.tolerance_minus_mm), ("tolerance_plus_mm", topping.tolerance_plus_mm)]
    {
        if value.0 < Length::ZERO {
            fault(format!("/topping/{key}"), "must not be negative".to_owned());
        }
    }
    let waste = topping.waste_percent.0;
    if waste < Factor::whole(0) || waste > Factor::whole(100) {
        fault("/topping/waste_percent".to_owned(), "must lie within 0 to 100".to_owned());
    }
    if topping.supplier_step_m3.0 <= Volume::ZERO {
        fault("/topping/supplier_step_m3".to_owned(), "must be more than 0".to_owned());
    }
    if topping.fibre_type.is_some() && topping.fibre_kg_per_m3.is_none() {
        fault(
            "/topping/fibre_type".to_owned(),
            "says which fibre, but not how much: fibre_kg_per_m3".to_owned(),
        );
    }
    let cubes = topping.cubes.as_ref().map(|cubes| ("cubes/source", &cubes.source));
    for (key, source) in
        [("source", &topping.source), ("concrete/source", &topping.concrete.source)].into_iter().chain(cubes)
    {
        if source.trim().is_empty() {
            fault(format!("/topping/{key}"), "must say where it comes from".to_owned());
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::floor::FloorDesign;

    const SEMI: &str = include_str!("../../../assets/demo/semi.toml");

    #[test]
    fn faults_of_a_topping_are_told_all_at_once_with_their_places() {
        let text = SEMI
            .replace("waste_percent = 5", "waste_percent = 5\nfibre_type = \"steel\"")
            .replace(
                "[[20, 20], [8380, 20], [8380, 3980], [20, 3980]]",
                "[[20, 20], [8380, 3980], [8380, 20], [20, 3980]]",
            )
            .replace("name = \"back\"", "name = \"front\"");
        let told = FloorDesign::read(&text).map(|_| ()).unwrap_err().to_string();
        assert!(told.contains("/topping/fibre_type: "), "{told}");
        assert!(told.contains("/topping/areas/0/outline_mm: edges"), "{told}");
        assert!(told.contains("/topping/areas/1/name: `front` stands here twice"), "{told}");
    }

    #[test]
    fn a_topping_needs_a_layer_of_topping() {
        let text = SEMI.replacen("role = \"topping\"", "role = \"finish\"", 1);
        let told = FloorDesign::read(&text).map(|_| ()).unwrap_err().to_string();
        assert!(told.contains("/topping: the layers have no topping"), "{told}");
    }
}
