//! Limits by name: those of the design go before the default limits of the data file, and each says where it
//! comes from. Where neither has one there is none, and a verdict stays undetermined.
//!
//! Never here: a figure. Every figure stands in a data file beside its source.

use std::collections::BTreeMap;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};

use super::FloorDesign;
use super::read::check_format;
use crate::faults::{Faults, read_toml, schema_of, with_toml_lines};
use crate::quantity::{Area, Factor, Length, Plain};

/// The newest format of the file of default limits that this program reads.
pub const FORMAT: u32 = 1;

/// Every limit that a design or the default limits can give. The name ends in its unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
pub enum LimitName {
    /// How much a bearing may lie above its target.
    #[serde(rename = "bearing_tolerance_plus_mm")]
    BearingTolerancePlus,
    /// How much a bearing may lie below its target.
    #[serde(rename = "bearing_tolerance_minus_mm")]
    BearingToleranceMinus,
    /// Largest difference between neighbouring reading points of one wall.
    #[serde(rename = "bearing_largest_difference_mm")]
    BearingLargestDifference,
    /// Thinnest levelling bed that the project allows.
    #[serde(rename = "bearing_bed_least_mm")]
    BearingBedLeast,
    /// Thickest levelling bed that the project allows.
    #[serde(rename = "bearing_bed_most_mm")]
    BearingBedMost,
    /// Least height of the damp-proof course above the finished outside ground.
    #[serde(rename = "dpc_height_least_mm")]
    DpcHeightLeast,
    /// Least lap of the damp-proof course.
    #[serde(rename = "dpc_lap_least_mm")]
    DpcLapLeast,
    /// Least area of openings for each metre run of exposed wall.
    #[serde(rename = "vent_per_run_mm2_per_m")]
    VentPerRun,
    /// Least area of openings for each square metre of floor.
    #[serde(rename = "vent_per_area_mm2_per_m2")]
    VentPerArea,
    /// Largest spacing of openings.
    #[serde(rename = "vent_largest_spacing_mm")]
    VentLargestSpacing,
    /// Furthest distance of the first opening from a corner.
    #[serde(rename = "vent_furthest_from_corner_mm")]
    VentFurthestFromCorner,
    /// Least lap of the membrane.
    #[serde(rename = "membrane_lap_least_mm")]
    MembraneLapLeast,
    /// Least thickness of the membrane.
    #[serde(rename = "membrane_thickness_least_mm")]
    MembraneThicknessLeast,
    /// What a level book may miss when it closes, times the root of its set-ups.
    #[serde(rename = "levelling_per_root_setup_mm")]
    LevellingPerRootSetup,
    /// Least bearing of each beam end.
    #[serde(rename = "bearing_length_least_mm")]
    BearingLengthLeast,
    /// What placing may cost of both bearings of a beam together.
    #[serde(rename = "placing_allowance_mm")]
    PlacingAllowance,
    /// How far a beam may stand from its place, and a gap differ from its infill.
    #[serde(rename = "beam_spacing_tolerance_mm")]
    BeamSpacingTolerance,
    /// The smallest make-up gap that can be filled.
    #[serde(rename = "make_up_least_mm")]
    MakeUpLeast,
    /// What must stay open between beam ends on a wall that beams of both sides bear on.
    #[serde(rename = "shared_wall_gap_mm")]
    SharedWallGap,
    /// How much the screed rail may lie above its level.
    #[serde(rename = "rail_tolerance_plus_mm")]
    RailTolerancePlus,
    /// How much the screed rail may lie below its level.
    #[serde(rename = "rail_tolerance_minus_mm")]
    RailToleranceMinus,
    /// What must stay clear between a pop-up and a beam.
    #[serde(rename = "pop_up_clear_least_mm")]
    PopUpClearLeast,
    /// How fast the fresh surface may lose water without anything being done about it.
    #[serde(rename = "evaporation_most_kg_per_m2_h")]
    EvaporationMost,
}

impl LimitName {
    /// Every limit.
    pub const ALL: [Self; 23] = [
        Self::BearingTolerancePlus,
        Self::BearingToleranceMinus,
        Self::BearingLargestDifference,
        Self::BearingBedLeast,
        Self::BearingBedMost,
        Self::DpcHeightLeast,
        Self::DpcLapLeast,
        Self::VentPerRun,
        Self::VentPerArea,
        Self::VentLargestSpacing,
        Self::VentFurthestFromCorner,
        Self::MembraneLapLeast,
        Self::MembraneThicknessLeast,
        Self::LevellingPerRootSetup,
        Self::BearingLengthLeast,
        Self::PlacingAllowance,
        Self::BeamSpacingTolerance,
        Self::MakeUpLeast,
        Self::SharedWallGap,
        Self::RailTolerancePlus,
        Self::RailToleranceMinus,
        Self::PopUpClearLeast,
        Self::EvaporationMost,
    ];

    /// The name in files.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::BearingTolerancePlus => "bearing_tolerance_plus_mm",
            Self::BearingToleranceMinus => "bearing_tolerance_minus_mm",
            Self::BearingLargestDifference => "bearing_largest_difference_mm",
            Self::BearingBedLeast => "bearing_bed_least_mm",
            Self::BearingBedMost => "bearing_bed_most_mm",
            Self::DpcHeightLeast => "dpc_height_least_mm",
            Self::DpcLapLeast => "dpc_lap_least_mm",
            Self::VentPerRun => "vent_per_run_mm2_per_m",
            Self::VentPerArea => "vent_per_area_mm2_per_m2",
            Self::VentLargestSpacing => "vent_largest_spacing_mm",
            Self::VentFurthestFromCorner => "vent_furthest_from_corner_mm",
            Self::MembraneLapLeast => "membrane_lap_least_mm",
            Self::MembraneThicknessLeast => "membrane_thickness_least_mm",
            Self::LevellingPerRootSetup => "levelling_per_root_setup_mm",
            Self::BearingLengthLeast => "bearing_length_least_mm",
            Self::PlacingAllowance => "placing_allowance_mm",
            Self::BeamSpacingTolerance => "beam_spacing_tolerance_mm",
            Self::MakeUpLeast => "make_up_least_mm",
            Self::SharedWallGap => "shared_wall_gap_mm",
            Self::RailTolerancePlus => "rail_tolerance_plus_mm",
            Self::RailToleranceMinus => "rail_tolerance_minus_mm",
            Self::PopUpClearLeast => "pop_up_clear_least_mm",
            Self::EvaporationMost => "evaporation_most_kg_per_m2_h",
        }
    }

    /// The unit in words for screens and papers.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::VentPerRun => "mm²/m",
            Self::VentPerArea => "mm²/m²",
            Self::EvaporationMost => "kg/m²h",
            _ => "mm",
        }
    }
}

/// A limit as a design gives it.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DesignLimit {
    /// The figure in the unit that the limit's name ends in, 0 or more.
    pub value: Plain,
    /// Where it comes from: a note of the drawing, a specification, a standard.
    pub source: String,
}

/// A limit of the data file of defaults.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DefaultLimit {
    /// The figure in the unit that the limit's name ends in, 0 or more.
    pub value: Plain,
    /// The standard, or `common practice`.
    pub source: String,
    /// How the figure is known: read, from memory, common practice.
    pub known: String,
}

/// The default limits, read from their data file.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct DefaultLimits {
    /// Format of this file: 1.
    pub gaugerod_limits: u32,
    /// What the file is called.
    pub title: String,
    /// Its revision.
    pub revision: String,
    /// Limits that hold where a design gives none.
    #[schemars(schema_with = "by_name::<DefaultLimit>")]
    pub limits: BTreeMap<LimitName, DefaultLimit>,
}

/// A limit that holds, and where it comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LimitValue {
    /// The figure in the unit that the limit's name ends in.
    pub value: Factor,
    /// Its source, as shown beside it.
    pub source: String,
    /// Whether the design itself gives it.
    pub from_design: bool,
}

impl LimitValue {
    /// The figure as a length; for limits in mm.
    pub fn length(&self) -> Length {
        Length::from_um(self.value.millionths() / 1_000)
    }

    /// The figure as an area, for limits in mm² a metre or mm² a square metre.
    pub fn area(&self) -> Area {
        Area::from_um2(self.value.millionths().into())
    }
}

impl DefaultLimits {
    /// Reads the data file of default limits; every fault at once, each with its place.
    pub fn read(text: &str) -> Result<Self, Faults> {
        check_format(text, "gaugerod_limits", FORMAT)?;
        let defaults: Self = read_toml(text)?;
        let mut faults = Faults::new();
        for (name, limit) in &defaults.limits {
            let place = format!("/limits/{}", name.as_str());
            check(*name, limit.value.0, &limit.source, &mut |key, what| {
                faults.add(format!("{place}/{key}"), what);
            });
            if limit.known.trim().is_empty() {
                faults.add(format!("{place}/known"), "must say how the figure is known");
            }
        }
        faults.into_result(defaults).map_err(|faults| with_toml_lines(text, faults))
    }

    /// The schema of the file.
    pub fn schema() -> serde_json::Value {
        schema_of::<Self>()
    }
}

impl FloorDesign {
    /// The limit that holds for this design: its own, else the default, else none.
    pub fn limit(&self, name: LimitName, defaults: &DefaultLimits) -> Option<LimitValue> {
        let own = self.limits.get(&name).map(|limit| LimitValue {
            value: limit.value.0,
            source: limit.source.clone(),
            from_design: true,
        });
        own.or_else(|| {
            defaults.limits.get(&name).map(|limit| LimitValue {
                value: limit.value.0,
                source: limit.source.clone(),
                from_design: false,
            })
        })
    }
}

/// The schema of limits by name: each known name may stand there, no other.
pub(super) fn by_name<T: JsonSchema>(generator: &mut SchemaGenerator) -> Schema {
    let limit = generator.subschema_for::<T>();
    let names: serde_json::Map<String, serde_json::Value> =
        LimitName::ALL.iter().map(|name| (name.as_str().to_owned(), limit.clone().to_value())).collect();
    json_schema!({ "type": "object", "properties": names, "additionalProperties": false })
}

/// What no schema says about one limit: key and fault to `report`.
pub(super) fn check(name: LimitName, value: Factor, source: &str, report: &mut dyn FnMut(&str, &str)) {
    if value.millionths() < 0 {
        report("value", "must not be negative");
    }
    if name.unit() == "mm" && value.millionths() % 1_000 != 0 {
        report("value", "must not be finer than a micrometre");
    }
    if source.trim().is_empty() {
        report("source", "must name the standard, the specification or `common practice`");
    }
}
