//! Feeds: for every criterion that is reckoned, what a person reads, in which unit, at which points, and which
//! reckoning it reaches. A closed list: a new one is a new line here and in `inspection`, never text in a file.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Criterion, CriterionKind, Evidence, Owed, Per};
use crate::floor::{FloorDesign, LimitName, MeasuredQuantity};
use crate::ids::PointName;
use crate::reckon::ReckoningName;

/// What is read and where it goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Feed {
    /// The design's build-up; nothing is read.
    BuildUp,
    /// Level of the bearing surface at every bearing point.
    BearingLevels,
    /// Level of the oversite at every ground point, against the design's lowest point.
    GroundLevels,
    /// Level of the ground again when the beams are in, against the lowest point as the walls were built.
    GroundAsBuilt,
    /// Equivalent area of each opening as fitted; 0 where there is none.
    VentOpenings,
    /// Height of the damp-proof course above the finished outside ground.
    DpcHeight,
    /// Lap of the damp-proof course.
    DpcLap,
    /// Order of the layers and services; nothing is read.
    LayerOrder,
    /// Lap of the membrane.
    MembraneLap,
    /// Thickness of the membrane, from its label.
    MembraneThickness,
    /// Delivery notes, counted line by line, against what the floor design orders.
    Deliveries,
    /// Clear distance between the bearing faces as built, on lines of every bay run.
    ClearSpans,
    /// Clear width of every bay run as built.
    RunWidths,
    /// Where beams stand along their run: the face nearer the start, from the start face.
    BeamFaces,
    /// Bearing of every beam end.
    BearingLengths,
    /// Cutting of the infill; nothing is read.
    InfillCuts,
    /// Concrete tickets against the mix that the floor design asks for between doubled beams.
    DoubledBeamTickets,
    /// Where pop-ups come up, measured from two walls, against the beams.
    PopUpPlaces,
    /// Concrete tickets of the topping, load by load, with the times at which the pour started and was finished.
    PourTickets,
    /// Air, wind and concrete over the fresh topping.
    PourConditions,
    /// Cubes taken of the topping and labelled; what they come to is another feed's.
    CubesTaken,
    /// Cubes crushed, against the strength class of the topping.
    CubeResults,
    /// Depth of the topping at every place of the grid.
    ToppingDepths,
    /// Level of the finished topping at every place of the grid, for level and flatness.
    FinishLevels,
    /// Temperatures of the topping until the age at which it may be walked on.
    WalkingAge,
    /// Temperatures of the topping until the age at which it may be loaded.
    LoadingAge,
    /// Labels of the overlay: the U-value as built.
    OverlayLabels,
    /// Thickness of the overlay.
    OverlayThickness,
    /// Tests of the heating pipes.
    HeatingTests,
    /// Level of the screed rail.
    RailLevels,
    /// Levels on top of beams: the topping that rail and beams leave.
    BeamTops,
    /// Cover above the mesh.
    MeshCover,
    /// Lap of the mesh.
    MeshLaps,
}

/// The unit of a reading, and with it the ending of its key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ReadingUnit {
    /// Level in metres above the site datum.
    LevelMetres,
    /// Length in millimetres.
    Millimetres,
    /// Area in square millimetres.
    SquareMillimetres,
}

impl ReadingUnit {
    /// How the unit is written.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::LevelMetres => "m",
            Self::Millimetres => "mm",
            Self::SquareMillimetres => "mm²",
        }
    }
}

impl Feed {
    /// Every feed.
    pub const ALL: [Self; 33] = [
        Self::BuildUp,
        Self::BearingLevels,
        Self::GroundLevels,
        Self::GroundAsBuilt,
        Self::VentOpenings,
        Self::DpcHeight,
        Self::DpcLap,
        Self::LayerOrder,
        Self::MembraneLap,
        Self::MembraneThickness,
        Self::Deliveries,
        Self::ClearSpans,
        Self::RunWidths,
        Self::BeamFaces,
        Self::BearingLengths,
        Self::InfillCuts,
        Self::DoubledBeamTickets,
        Self::PopUpPlaces,
        Self::PourTickets,
        Self::PourConditions,
        Self::CubesTaken,
        Self::CubeResults,
        Self::ToppingDepths,
        Self::FinishLevels,
        Self::WalkingAge,
        Self::LoadingAge,
        Self::OverlayLabels,
        Self::OverlayThickness,
        Self::HeatingTests,
        Self::RailLevels,
        Self::BeamTops,
        Self::MeshCover,
        Self::MeshLaps,
    ];

    /// The reckoning that it reaches.
    pub const fn reckoning(self) -> ReckoningName {
        match self {
            Self::BuildUp => ReckoningName::BuildUp,
            Self::BearingLevels => ReckoningName::Bearing,
            Self::GroundLevels | Self::GroundAsBuilt => ReckoningName::Void,
            Self::VentOpenings => ReckoningName::Ventilation,
            Self::LayerOrder => ReckoningName::LayerOrder,
            Self::DpcHeight
            | Self::DpcLap
            | Self::MembraneLap
            | Self::MembraneThickness
            | Self::BearingLengths
            | Self::PopUpPlaces => ReckoningName::Limit,
            Self::Deliveries => ReckoningName::Delivery,
            Self::ClearSpans => ReckoningName::SpanFit,
            Self::RunWidths | Self::BeamFaces => ReckoningName::BayFit,
            Self::InfillCuts => ReckoningName::InfillCuts,
            Self::DoubledBeamTickets | Self::PourTickets => ReckoningName::ConcreteTicket,
            Self::PourConditions => ReckoningName::Evaporation,
            Self::CubesTaken | Self::CubeResults => ReckoningName::CubeStrength,
            Self::ToppingDepths => ReckoningName::Topping,
            Self::FinishLevels => ReckoningName::Flatness,
            Self::WalkingAge | Self::LoadingAge => ReckoningName::Maturity,
            Self::OverlayThickness | Self::RailLevels | Self::MeshCover | Self::MeshLaps => {
                ReckoningName::Limit
            }
            Self::OverlayLabels => ReckoningName::UValue,
            Self::HeatingTests => ReckoningName::PressureTest,
            Self::BeamTops => ReckoningName::ToppingForecast,
        }
    }

    /// The unit of its readings; `None` when nothing is read.
    pub const fn unit(self) -> Option<ReadingUnit> {
        match self {
            Self::BuildUp
            | Self::LayerOrder
            | Self::Deliveries
            | Self::InfillCuts
            | Self::DoubledBeamTickets
            | Self::PourTickets
            | Self::PourConditions
            | Self::CubesTaken
            | Self::CubeResults
            | Self::WalkingAge
            | Self::LoadingAge => None,
            Self::BearingLevels | Self::GroundLevels | Self::GroundAsBuilt | Self::FinishLevels => {
                Some(ReadingUnit::LevelMetres)
            }
            Self::OverlayLabels | Self::HeatingTests => None,
            Self::RailLevels | Self::BeamTops => Some(ReadingUnit::LevelMetres),
            Self::OverlayThickness | Self::MeshCover | Self::MeshLaps => Some(ReadingUnit::Millimetres),
            Self::VentOpenings => Some(ReadingUnit::SquareMillimetres),
            Self::ToppingDepths
            | Self::DpcHeight
            | Self::DpcLap
            | Self::MembraneLap
            | Self::MembraneThickness
            | Self::ClearSpans
            | Self::RunWidths
            | Self::BeamFaces
            | Self::BearingLengths
            | Self::PopUpPlaces => Some(ReadingUnit::Millimetres),
        }
    }

    /// The key of a reading in commands and evidence; `None` when nothing is read.
    pub const fn key(self) -> Option<&'static str> {
        match self {
            Self::BuildUp
            | Self::LayerOrder
            | Self::Deliveries
            | Self::InfillCuts
            | Self::DoubledBeamTickets
            | Self::PourTickets
            | Self::PourConditions
            | Self::CubesTaken
            | Self::CubeResults
            | Self::WalkingAge
            | Self::LoadingAge => None,
            Self::OverlayLabels | Self::HeatingTests => None,
            Self::RailLevels | Self::BeamTops => Some("level_m"),
            Self::OverlayThickness => Some("thickness_mm"),
            Self::MeshCover => Some("cover_mm"),
            Self::MeshLaps => Some("lap_mm"),
            Self::ClearSpans => Some("clear_mm"),
            Self::RunWidths => Some("width_mm"),
            Self::BeamFaces => Some("face_mm"),
            Self::BearingLengths => Some("bearing_mm"),
            Self::PopUpPlaces => Some("from_wall_mm"),
            Self::BearingLevels | Self::GroundLevels | Self::GroundAsBuilt | Self::FinishLevels => {
                Some("level_m")
            }
            Self::VentOpenings => Some("equivalent_area_mm2"),
            Self::DpcHeight => Some("height_mm"),
            Self::DpcLap | Self::MembraneLap => Some("lap_mm"),
            Self::MembraneThickness | Self::ToppingDepths => Some("thickness_mm"),
        }
    }

    /// The quantity in words.
    pub const fn quantity(self) -> &'static str {
        match self {
            Self::BuildUp => "build-up",
            Self::BearingLevels => "level of the bearing wall",
            Self::GroundLevels => "level of the oversite",
            Self::GroundAsBuilt => "level of the ground under the beams",
            Self::VentOpenings => "equivalent area of the opening",
            Self::DpcHeight => "height of the damp-proof course above outside ground",
            Self::DpcLap => "lap of the damp-proof course",
            Self::LayerOrder => "order of layers and services",
            Self::MembraneLap => "lap of the membrane",
            Self::MembraneThickness => "thickness of the membrane",
            Self::Deliveries => "delivery notes",
            Self::ClearSpans => "clear distance between bearing faces",
            Self::RunWidths => "clear width of the bay run",
            Self::BeamFaces => "face of the beam from the start of its run",
            Self::BearingLengths => "bearing of the beam end",
            Self::InfillCuts => "cutting of the infill",
            Self::PopUpPlaces => "from the wall to the pop-up's middle",
            Self::DoubledBeamTickets | Self::PourTickets => "concrete ticket",
            Self::PourConditions => "air, wind and humidity over the concrete",
            Self::CubesTaken => "cubes, taken and labelled",
            Self::CubeResults => "results of the cubes",
            Self::ToppingDepths => "depth of the topping",
            Self::FinishLevels => "level of the finished topping",
            Self::WalkingAge => "temperatures until it may be walked on",
            Self::LoadingAge => "temperatures until it may be loaded",
            Self::OverlayLabels => "label of the overlay",
            Self::OverlayThickness => "thickness of the overlay",
            Self::HeatingTests => "pressure test of the heating pipes",
            Self::RailLevels => "level of the screed rail",
            Self::BeamTops => "level of the beam's top",
            Self::MeshCover => "cover above the mesh",
            Self::MeshLaps => "lap of the mesh",
        }
    }

    /// The quantity that is measured, which settles the instrument's uncertainty; `None` when no length is measured.
    pub const fn measured(self) -> Option<MeasuredQuantity> {
        match self {
            Self::BuildUp
            | Self::LayerOrder
            | Self::VentOpenings
            | Self::Deliveries
            | Self::InfillCuts
            | Self::DoubledBeamTickets
            | Self::PourTickets
            | Self::PourConditions
            | Self::CubesTaken
            | Self::CubeResults
            | Self::WalkingAge
            | Self::LoadingAge => None,
            Self::ClearSpans
            | Self::RunWidths
            | Self::BeamFaces
            | Self::BearingLengths
            | Self::PopUpPlaces => Some(MeasuredQuantity::Length),
            Self::BearingLevels | Self::GroundLevels | Self::GroundAsBuilt | Self::FinishLevels => {
                Some(MeasuredQuantity::Level)
            }
            Self::OverlayLabels | Self::HeatingTests => None,
            Self::RailLevels | Self::BeamTops => Some(MeasuredQuantity::Level),
            Self::OverlayThickness => Some(MeasuredQuantity::Thickness),
            Self::MeshCover => Some(MeasuredQuantity::Height),
            Self::MeshLaps => Some(MeasuredQuantity::Lap),
            Self::DpcHeight => Some(MeasuredQuantity::Height),
            Self::DpcLap | Self::MembraneLap => Some(MeasuredQuantity::Lap),
            Self::MembraneThickness => Some(MeasuredQuantity::Thickness),
            Self::ToppingDepths => Some(MeasuredQuantity::Depth),
        }
    }

    /// Whether it is fed by papers that are booked line by line: notes, tickets, labels, tests.
    pub const fn is_of_papers(self) -> bool {
        matches!(self, Self::Deliveries | Self::DoubledBeamTickets | Self::OverlayLabels | Self::HeatingTests)
    }

    /// The least value that a `limit` reckoning of this feed holds its readings against, by name.
    pub const fn least(self) -> Option<LimitName> {
        match self {
            Self::DpcHeight => Some(LimitName::DpcHeightLeast),
            Self::DpcLap => Some(LimitName::DpcLapLeast),
            Self::MembraneLap => Some(LimitName::MembraneLapLeast),
            Self::MembraneThickness => Some(LimitName::MembraneThicknessLeast),
            Self::BearingLengths => Some(LimitName::BearingLengthLeast),
            Self::PopUpPlaces => Some(LimitName::PopUpClearLeast),
            _ => None,
        }
    }
}

/// What is owed on one design.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Owing {
    /// Points that can have one; empty where the person names the points.
    pub points: Vec<PointName>,
    /// Those of them that must have one from the start.
    pub wanted: Vec<PointName>,
    /// The least number of different points.
    pub at_least: usize,
}

impl Owing {
    fn at_least(at_least: usize) -> Self {
        Self { points: Vec::new(), wanted: Vec::new(), at_least }
    }
}

impl Criterion {
    /// Which readings this criterion owes on that design; nothing for questions and documents.
    pub fn owing(&self, design: &FloorDesign) -> Owing {
        let CriterionKind::Reckoning { feed, owed, .. } = self.kind else {
            return Owing::at_least(0);
        };
        let no_membrane =
            matches!(feed, Feed::MembraneLap | Feed::MembraneThickness) && !design.has_membrane();
        let points = match owed {
            Owed::AtLeast(_) if no_membrane => return Owing::at_least(0),
            Owed::AtLeast(least) => return Owing::at_least(usize::try_from(least).unwrap_or(usize::MAX)),
            Owed::None => Vec::new(),
            Owed::EachPoint if feed == Feed::BearingLevels => design.bearing_point_names(),
            Owed::EachPoint if matches!(feed, Feed::ToppingDepths | Feed::FinishLevels) => {
                design.finish_grid().into_iter().map(|point| point.name).collect()
            }
            Owed::EachPoint => design.ground_point_names(),
            Owed::EachWall => design.bearing_wall_names(),
            Owed::EachVent => design.vent_names(),
            Owed::EachLine => design.clear_span_lines(),
            Owed::EachRun => design.run_names(),
            Owed::EachBeamEnd => design.beam_end_names(),
            Owed::EachPopUp => design.pop_up_point_names(),
            Owed::EachBeamTop => {
                let wanted = design.wanted_beam_tops();
                return Owing { at_least: wanted.len(), points: design.beam_tops(), wanted };
            }
            Owed::EachBeam => {
                let wanted = design.settling_beams();
                return Owing { at_least: wanted.len(), points: design.beam_names(), wanted };
            }
        };
        Owing { at_least: points.len(), wanted: points.clone(), points }
    }
}

impl Evidence {
    /// For what it is owed on that design, and how many each time; `None` is the hold point as a whole.
    pub fn owing(&self, design: &FloorDesign) -> Vec<(Option<PointName>, u32)> {
        let each = |names: Vec<PointName>| names.into_iter().map(|name| (Some(name), self.count)).collect();
        match self.per {
            Per::Once | Per::EachNote => vec![(None, self.count)],
            Per::EachPassingWall if design.passing_wall_names().is_empty() => vec![(None, self.count)],
            Per::EachPassingWall => each(design.passing_wall_names()),
            Per::EachWall => each(design.bearing_wall_names()),
            Per::EachVent => each(design.vent_names()),
        }
    }
}
