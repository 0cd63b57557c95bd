//! The floor design: what the drawing says, read from a file that people write (TOML) and a schema describes.
//!
//! - This file: what a design says ([`FloorDesign`] and its parts)
//! - `read`: the file read, its bounds, and every fault of it at once
//! - `limits`: the limits of the design over the default limits, each with its source
//! - [`topping`]: where the topping lies, its thickness, mix and cubes
//! - [`thermal`], [`specified`]: heat; ground gas, heating pipes, reinforcement
//! - [`beams`]: beams and infill as drawn; [`layout`]: every beam in plan; [`pop_ups`]: what comes up between them
//! - [`finish`]: the finished topping, the grid on which it is read, how it cures
//! - `points`: reading points in plan; `polygon`: outlines, exactly
//!
//! Never here: a verdict (that is `conformity`), a limit as a literal (those stand in data files with their
//! sources), or a state of a plot.
//!
//! Levels are metres above the site datum, plan coordinates and sizes millimetres; both are held as whole
//! micrometres.

#[cfg(test)]
mod beam_tests;
pub mod beams;
pub mod finish;
#[cfg(test)]
mod finish_tests;
pub mod layout;
mod limits;
mod points;
pub(crate) mod polygon;
pub mod pop_ups;
pub(crate) mod read;
pub mod specified;
#[cfg(test)]
mod tests;
pub mod thermal;
pub mod topping;

pub use beams::Beams;
pub use finish::{Curing, Finish};
pub use limits::{DefaultLimit, DefaultLimits, DesignLimit, LimitName, LimitValue};
pub use points::{BearingPoint, GroundPoint};
pub use pop_ups::PopUp;
pub use topping::Topping;

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::conformity::Decision;
use crate::ids::PointName;
use crate::quantity::{Factor, Length, Metres, Mm, Mm2, Plain};

/// A whole turn, in degrees: the bound of [`Plan::north_degrees`].
const WHOLE_TURN: Factor = Factor::whole(360);

/// The newest format of the file that this program reads.
pub const FORMAT: u32 = 1;

/// A floor design. Only [`FloorDesign::read`] checks one; nothing else makes one.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct FloorDesign {
    /// Format of this file: 1.
    pub gaugerod_floor_design: u32,
    /// The drawing that this design is taken from.
    pub drawing: String,
    /// The drawing's revision. Readings are judged against one revision.
    pub revision: String,
    /// What is designed, in one line.
    pub title: String,
    /// Who prepared this file.
    pub prepared_by: String,
    /// True for examples and tests; screens and papers then say so.
    #[serde(default)]
    pub invented: bool,
    /// Notes shown with the design.
    #[serde(default)]
    pub notes: Vec<String>,
    /// What the floor must keep out by a membrane; leave out where none is asked for.
    #[serde(default)]
    pub membrane_required: Option<MembraneRequired>,
    /// The bench mark that levels are taken from.
    pub datum: Datum,
    /// How a measured value meets a limit, and the uncertainty of levels.
    pub decision: Decision,
    /// Uncertainties of other measured quantities, where they differ from that of levels.
    #[serde(default)]
    pub instruments: Vec<Instrument>,
    /// Levels that the design fixes.
    pub levels: Levels,
    /// Height under the floor.
    pub under_floor: UnderFloor,
    /// Layers from the top down.
    #[schemars(length(min = 1, max = 40))]
    pub layers: Vec<FloorLayer>,
    /// The floor in plan.
    pub plan: Plan,
    /// Walls that carry beams or stand under the floor.
    #[schemars(length(min = 1, max = 200))]
    pub walls: Vec<Wall>,
    /// Points of the oversite at which its level is read.
    #[schemars(length(min = 1, max = 2000))]
    pub ground_points: Vec<GroundPoint>,
    /// Beams and infill; left out where another drawing settles them.
    #[serde(default)]
    pub beams: Option<Beams>,
    /// The topping and its concrete; left out where another specification settles them.
    #[serde(default)]
    pub topping: Option<Topping>,
    /// What is said of heat; left out where another paper settles it.
    #[serde(default)]
    pub thermal: Option<thermal::Thermal>,
    /// Protection from ground gas; left out where none is asked for.
    #[serde(default)]
    pub ground_gas: Option<specified::GroundGas>,
    /// The test of heating pipes within the floor.
    #[serde(default)]
    pub heating: Option<specified::Heating>,
    /// Reinforcement of the topping; left out where another paper settles it.
    #[serde(default)]
    pub reinforcement: Option<specified::Reinforcement>,
    /// Drains and entries that come up through the floor, between the beams.
    #[serde(default)]
    #[schemars(length(max = pop_ups::MOST_POP_UPS))]
    pub pop_ups: Vec<PopUp>,
    /// Level and flatness of the finished topping, where the design asks for them.
    #[serde(default)]
    pub finish: Option<Finish>,
    /// How the topping cures, where the design says so.
    #[serde(default)]
    pub curing: Option<Curing>,
    /// Openings that ventilate the void from outside; `vents = []` where none is drawn.
    #[schemars(length(max = 500))]
    pub vents: Vec<Vent>,
    /// Walls that divide the void.
    #[serde(default)]
    #[schemars(length(max = 20))]
    pub dividing_walls: Vec<DividingWall>,
    /// Pipes and cables in or under the floor; `services = []` where there is none, so that none is forgotten.
    #[schemars(length(max = 200))]
    pub services: Vec<Service>,
    /// Outlines of membranes that do not cover the whole floor.
    #[serde(default)]
    #[schemars(length(max = 20))]
    pub membranes: Vec<MembraneOutline>,
    /// Limits of this design, each with its source; they go before the default limits.
    #[schemars(schema_with = "limits::by_name::<DesignLimit>")]
    pub limits: BTreeMap<LimitName, DesignLimit>,
}

/// The bench mark.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Datum {
    /// Its name on site.
    pub name: String,
    /// Its level.
    pub level_m: Metres,
}

/// Uncertainty of one measured quantity.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Instrument {
    /// The instrument (`steel tape`).
    pub name: String,
    /// What is measured with it.
    pub quantity: MeasuredQuantity,
    /// Expanded uncertainty, with the coverage factor of the decision rule.
    pub expanded_uncertainty_mm: Mm,
}

/// What is measured on site.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum MeasuredQuantity {
    /// A level.
    Level,
    /// A height above ground.
    Height,
    /// A lap.
    Lap,
    /// A thickness.
    Thickness,
    /// A length or distance in plan.
    Length,
    /// A depth of concrete, probed.
    Depth,
}

/// Levels that the design fixes.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Levels {
    /// Finished floor.
    pub finished_floor_level_m: Metres,
    /// Finished outside ground.
    pub outside_ground_level_m: Metres,
}

/// Height under the floor.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct UnderFloor {
    /// How far the infill hangs below the bearing surface.
    pub infill_below_bearing_mm: Mm,
    /// Clear ventilated height kept after any heave.
    pub void_mm: Mm,
    /// Height added for shrinkable ground.
    pub heave_allowance_mm: Mm,
    /// Whether the oversite is drained; it must be where it lies lower than the outside ground.
    pub oversite_drained: bool,
}

/// One layer.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FloorLayer {
    /// Its name; services name it.
    pub name: PointName,
    /// What it is.
    pub role: LayerRole,
    /// Its thickness; 0 for infill and heating, which lie within the depth of another layer.
    pub thickness_mm: Mm,
    /// What a membrane is for; membranes only.
    #[serde(default)]
    pub purpose: Option<MembranePurpose>,
    /// What it is made of, as the drawing says.
    #[serde(default)]
    pub material: Option<String>,
}

/// What a layer is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LayerRole {
    /// Covering laid by others.
    Finish,
    /// Structural topping.
    Topping,
    /// Membrane.
    Membrane,
    /// Overlay sheet.
    Overlay,
    /// Heating pipes, within the depth of another layer.
    Heating,
    /// Infill between the beams, within their depth.
    Infill,
    /// Beams; exactly one such layer.
    Beam,
    /// Bedding and damp-proof course under the beams; only this may lie below them.
    Bedding,
}

impl LayerRole {
    /// Whether it takes no depth of its own.
    pub const fn is_within_another(self) -> bool {
        matches!(self, Self::Heating | Self::Infill)
    }
}

/// What a membrane is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum MembranePurpose {
    /// Keeps damp out.
    Damp,
    /// Keeps ground gas out.
    Gas,
    /// Separates two layers.
    Separating,
}

/// What a membrane is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum MembraneRequired {
    /// Against damp.
    Damp,
    /// Against ground gas.
    Gas,
}

/// A place in plan, millimetres: x, then y.
pub type Place = [Mm; 2];

/// The floor in plan.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// Corners of the floor between the inner faces of its walls: a simple polygon, either winding, not closed.
    #[schemars(length(min = 3, max = 200))]
    pub outline_mm: Vec<Place>,
    /// Edges to the open air, by index: edge 0 runs from the first corner to the second.
    #[schemars(length(max = 200))]
    pub exposed_edges: Vec<usize>,
    /// Where north lies, where the drawing says so: degrees clockwise from the y axis, 0 to 360.
    #[serde(default)]
    pub north_degrees: Option<Plain>,
}

/// A wall.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Wall {
    /// Its name.
    pub name: PointName,
    /// Its line in plan, from start to end.
    pub line_mm: [Place; 2],
    /// Its thickness.
    pub thickness_mm: Mm,
    /// Whether beams bear on it.
    pub bearing: bool,
    /// Whether it goes on up through the floor and carries: no overlay may lie under it.
    #[serde(default)]
    pub passes_through: bool,
    /// What is built at the level of the beams under a wall that passes through.
    #[serde(default)]
    pub coursing: Option<String>,
    /// Points at which its level is read.
    #[serde(default)]
    #[schemars(length(max = 500))]
    pub points: Vec<WallPoint>,
    /// Points at even distances, instead of or beside `points`; named wall name and number (`A1`, `A2`).
    #[serde(default)]
    pub spaced: Option<SpacedPoints>,
}

/// A reading point on a wall.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WallPoint {
    /// Its name, unlike that of any other place.
    pub name: PointName,
    /// Distance from the wall's start.
    pub along_mm: Mm,
}

/// Reading points at even distances.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SpacedPoints {
    /// Distance of the first from the wall's start.
    pub first_mm: Mm,
    /// Distance between two, more than 0.
    pub spacing_mm: Mm,
}

/// An opening of the void to the open air.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Vent {
    /// Its name.
    pub name: PointName,
    /// The exposed edge that it stands in.
    pub edge: usize,
    /// Distance from the edge's start.
    pub along_mm: Mm,
    /// Equivalent area; this or `in_series_mm2`.
    #[serde(default)]
    pub equivalent_area_mm2: Option<Mm2>,
    /// Areas of air brick, sleeve and wall opening one behind the other: the least counts.
    #[serde(default)]
    #[schemars(length(min = 1, max = 20))]
    pub in_series_mm2: Option<Vec<Mm2>>,
}

/// A wall that divides the void.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DividingWall {
    /// Its name.
    pub name: PointName,
    /// Its line in plan.
    pub line_mm: [Place; 2],
    /// Areas of the openings through it; empty where there is none.
    #[schemars(length(max = 100))]
    pub openings_mm2: Vec<Mm2>,
}

/// A pipe or cable.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Service {
    /// Its name.
    pub name: PointName,
    /// What it carries.
    pub service: ServiceKind,
    /// The layer that it lies in; this or `below`.
    #[serde(default, rename = "in")]
    pub in_layer: Option<PointName>,
    /// The layer that it lies right under; this or `in`.
    #[serde(default)]
    pub below: Option<PointName>,
    /// Its path in plan.
    #[serde(default)]
    #[schemars(length(max = 200))]
    pub path_mm: Vec<Place>,
    /// The licensed engineer's document about it.
    #[serde(default)]
    pub document: Option<String>,
}

/// What a service carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ServiceKind {
    /// Fuel gas.
    Gas,
    /// Water.
    Water,
    /// Electricity.
    Electric,
    /// Heating.
    Heating,
}

/// Where a membrane lies when it does not cover the whole floor.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MembraneOutline {
    /// The membrane layer.
    pub layer: PointName,
    /// A simple polygon, either winding, not closed.
    #[schemars(length(min = 3, max = 200))]
    pub outline_mm: Vec<Place>,
}

impl FloorDesign {
    /// The index of the layer of that name, counted from the top.
    pub fn layer_index(&self, name: &PointName) -> Option<usize> {
        self.layers.iter().position(|layer| layer.name == *name)
    }

    /// The names of the walls that pass through the floor.
    pub fn passing_wall_names(&self) -> Vec<PointName> {
        self.walls.iter().filter(|wall| wall.passes_through).map(|wall| wall.name.clone()).collect()
    }

    /// Whether the stack has a membrane.
    pub fn has_membrane(&self) -> bool {
        self.layers.iter().any(|layer| layer.role == LayerRole::Membrane)
    }

    /// How a measured value of that quantity meets a limit: the design's rule with its instrument's uncertainty.
    pub fn decision_for(&self, quantity: MeasuredQuantity) -> Decision {
        let own = self.instruments.iter().find(|instrument| instrument.quantity == quantity);
        let expanded_uncertainty =
            own.map_or(self.decision.expanded_uncertainty, |instrument| instrument.expanded_uncertainty_mm.0);
        Decision { expanded_uncertainty, ..self.decision }
    }
}

impl Plan {
    /// The ends of an edge; `None` past the last.
    pub fn edge(&self, index: usize) -> Option<[Place; 2]> {
        let start = *self.outline_mm.get(index)?;
        Some([start, self.outline_mm[(index + 1) % self.outline_mm.len()]])
    }

    /// The length of an edge, rounded to the micrometre; 0 past the last.
    pub fn edge_length(&self, index: usize) -> Length {
        self.edge(index).map_or(Length::ZERO, points::distance)
    }
}
