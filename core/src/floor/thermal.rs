//! What the floor design says of heat: the overlay's grade, conductivities, what lies around the void. The U-value
//! itself is reckoned, as designed and as built.
//!
//! Never here: a U-value, or a verdict. Conductivities and U-values are physics in binary floats.

use schemars::JsonSchema;
use serde::Deserialize;

use super::{FloorDesign, LayerRole};
use crate::ids::PointName;
use crate::quantity::{Length, Mm, Real};

/// What the design says of heat.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Thermal {
    /// Thickness of the outer walls.
    #[schemars(range(min = 0))]
    pub wall_thickness_mm: Mm,
    /// Conductivity of the ground.
    #[serde(rename = "ground_W_per_mK")]
    #[schemars(range(min = 0.001, max = 1_000))]
    pub ground_conductivity: Real,
    /// Surface resistance of the room side.
    #[serde(rename = "surface_inside_m2K_per_W")]
    #[schemars(range(min = 0.001, max = 10))]
    pub surface_inside: Real,
    /// Surface resistance of the floor's side towards the void.
    #[serde(rename = "surface_below_m2K_per_W")]
    #[schemars(range(min = 0.001, max = 10))]
    pub surface_below: Real,
    /// Surface resistance of the open air.
    #[serde(rename = "surface_outside_m2K_per_W")]
    #[schemars(range(min = 0.001, max = 10))]
    pub surface_outside: Real,
    /// U-value of the wall below the floor.
    #[serde(rename = "wall_U_W_per_m2K")]
    #[schemars(range(min = 0, max = 100))]
    pub wall_u: Real,
    /// Mean wind speed at 10 m.
    #[schemars(range(min = 0, max = 100))]
    pub wind_speed_m_per_s: Real,
    /// Wind shielding factor.
    #[schemars(range(min = 0, max = 1))]
    pub wind_shielding: Real,
    /// Resistance of insulation on the ground below the void; leave out where there is none.
    #[serde(rename = "ground_insulation_m2K_per_W", default)]
    #[schemars(range(min = 0, max = 1_000))]
    pub ground_insulation: Option<Real>,
    /// The greatest U-value of the floor over its void; leave out where the energy assessment gives none.
    #[serde(rename = "limit_W_per_m2K", default)]
    #[schemars(range(min = 0, max = 100))]
    pub limit: Option<Real>,
    /// The overlay as designed.
    pub overlay: OverlaySpec,
    /// Other grades that may come, so that a change runs through at once.
    #[serde(default)]
    #[schemars(length(max = 50))]
    pub grades: Vec<OverlayGrade>,
    /// The other layers that count.
    #[serde(default)]
    #[schemars(length(max = 20))]
    pub layers: Vec<ThermalLayer>,
    /// U-value of the floor alone as the producer declares it or as it was found numerically; it takes the place of
    /// the combined method, which does not apply to dense webs beside light infill.
    #[serde(default)]
    pub declared: Option<DeclaredFloor>,
    /// Where these figures come from.
    pub source: String,
}

/// The overlay as designed. Its thickness is that of the layer.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OverlaySpec {
    /// The grade as its label names it.
    #[schemars(length(min = 1, max = 100))]
    pub grade: String,
    /// Its declared conductivity.
    #[serde(rename = "W_per_mK")]
    #[schemars(range(min = 0.001, max = 1_000))]
    pub conductivity: Real,
    /// How much thinner it may be read.
    #[schemars(range(min = 0))]
    pub tolerance_minus_mm: Mm,
    /// How much thicker it may be read.
    #[schemars(range(min = 0))]
    pub tolerance_plus_mm: Mm,
    /// Where they come from.
    pub source: String,
}

/// A grade of overlay and its conductivity.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OverlayGrade {
    /// The grade as its label names it.
    #[schemars(length(min = 1, max = 100))]
    pub grade: String,
    /// Its declared conductivity.
    #[serde(rename = "W_per_mK")]
    #[schemars(range(min = 0.001, max = 1_000))]
    pub conductivity: Real,
    /// Where it comes from.
    pub source: String,
}

/// A layer beside the overlay: `parts` with the thickness of the layer, or a resistance.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ThermalLayer {
    /// The layer of the stack.
    pub layer: PointName,
    /// What stands side by side in it; fractions of the area that add up to 1.
    #[serde(default)]
    #[schemars(length(min = 1, max = 20))]
    pub parts: Option<Vec<ThermalPart>>,
    /// Resistance of a layer that is alike throughout.
    #[serde(rename = "resistance_m2K_per_W", default)]
    #[schemars(range(min = 0, max = 1_000))]
    pub resistance: Option<Real>,
}

/// One part of a layer.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ThermalPart {
    /// Its share of the area.
    #[schemars(range(min = 0, max = 1))]
    pub fraction: Real,
    /// Its conductivity.
    #[serde(rename = "W_per_mK")]
    #[schemars(range(min = 0.001, max = 1_000))]
    pub conductivity: Real,
}

/// A declared U-value of the floor alone, with the overlay as designed.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DeclaredFloor {
    /// Between room and void, surfaces included.
    #[serde(rename = "floor_U_W_per_m2K")]
    #[schemars(range(min = 0.001, max = 100))]
    pub floor_u: Real,
    /// Who declares it, or how it was found.
    pub source: String,
}

impl Thermal {
    /// The declared conductivity of a grade that the design knows, whatever the case of its letters.
    pub fn conductivity_of(&self, grade: &str) -> Option<Real> {
        if self.is_designed(grade) {
            return Some(self.overlay.conductivity);
        }
        let wanted = grade.trim().to_lowercase();
        let own = self.grades.iter().find(|one| one.grade.trim().to_lowercase() == wanted);
        own.map(|one| one.conductivity)
    }

    /// Whether a label's grade is the one designed.
    pub fn is_designed(&self, grade: &str) -> bool {
        self.overlay.grade.trim().to_lowercase() == grade.trim().to_lowercase()
    }
}

impl FloorDesign {
    /// The thickness of the overlay as designed; 0 where the stack has none.
    pub fn overlay_thickness(&self) -> Length {
        let overlays = self.layers.iter().filter(|layer| layer.role == LayerRole::Overlay);
        overlays.fold(Length::ZERO, |sum, layer| sum + layer.thickness_mm.0)
    }

    /// The thickness of all membranes above the beams.
    pub fn membrane_thickness(&self) -> Length {
        let membranes = self.layers.iter().filter(|layer| layer.role == LayerRole::Membrane);
        membranes.fold(Length::ZERO, |sum, layer| sum + layer.thickness_mm.0)
    }

    /// The level of the top of the topping: the finished floor less what covers it.
    pub fn topping_level(&self) -> Length {
        let above = self.layers.iter().take_while(|layer| layer.role != LayerRole::Topping);
        let finish = above.fold(Length::ZERO, |sum, layer| sum + layer.thickness_mm.0);
        self.levels.finished_floor_level_m.0 - finish
    }
}

/// What does not agree within the table; `fault` is told the place and what is wrong.
pub(super) fn check(design: &FloorDesign, fault: &mut dyn FnMut(String, String)) {
    let Some(thermal) = &design.thermal else { return };
    let overlays = design.layers.iter().filter(|layer| layer.role == LayerRole::Overlay).count();
    if overlays != 1 {
        let what = format!("is about one overlay; the layers have {overlays}");
        fault("/thermal/overlay".to_owned(), what);
    }
    let said = |place: String, source: &str, fault: &mut dyn FnMut(String, String)| {
        if source.trim().is_empty() {
            fault(place, "must say where the figures come from".to_owned());
        }
    };
    said("/thermal/source".to_owned(), &thermal.source, fault);
    said("/thermal/overlay/source".to_owned(), &thermal.overlay.source, fault);
    if let Some(declared) = &thermal.declared {
        said("/thermal/declared/source".to_owned(), &declared.source, fault);
    }
    for (index, one) in thermal.grades.iter().enumerate() {
        let place = format!("/thermal/grades/{index}");
        said(format!("{place}/source"), &one.source, fault);
        let same = |other: &OverlayGrade| other.grade.trim().eq_ignore_ascii_case(one.grade.trim());
        if thermal.is_designed(&one.grade) || thermal.grades[..index].iter().any(same) {
            fault(format!("{place}/grade"), format!("`{}` stands here twice", one.grade));
        }
    }
    for (index, one) in thermal.layers.iter().enumerate() {
        let place = format!("/thermal/layers/{index}");
        match design.layer_index(&one.layer).map(|at| design.layers[at].role) {
            None => fault(format!("{place}/layer"), format!("no layer `{}`", one.layer)),
            Some(LayerRole::Overlay) => {
                fault(format!("{place}/layer"), "the overlay stands in [thermal.overlay]".to_owned());
            }
            Some(_) => {}
        }
        if thermal.layers[..index].iter().any(|other| other.layer == one.layer) {
            fault(format!("{place}/layer"), format!("`{}` stands here twice", one.layer));
        }
        if one.parts.is_some() == one.resistance.is_some() {
            fault(place.clone(), "must have either `parts` or `resistance_m2K_per_W`".to_owned());
        }
        let sum: f64 = one.parts.iter().flatten().map(|part| part.fraction.0).sum();
        if one.parts.is_some() && (sum - 1.0).abs() > FRACTION_SLACK {
            fault(format!("{place}/parts"), format!("the fractions must add up to 1, not {sum}"));
        }
    }
}

/// How far the fractions of a layer may miss 1: what decimals of a share cut off.
const FRACTION_SLACK: f64 = 1e-6;
