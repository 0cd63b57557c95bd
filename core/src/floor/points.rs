//! Places of the design in plan, by name: bearing points, ground points, walls, vents.

use schemars::JsonSchema;
use serde::Deserialize;

use super::{FloorDesign, Place, Wall};
use crate::ids::PointName;
use crate::quantity::{Length, Mm};

/// A point at which the level of a bearing wall is read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BearingPoint {
    /// Its name.
    pub name: PointName,
    /// Its wall.
    pub wall: PointName,
    /// Distance from the wall's start.
    pub along: Length,
    /// Place in plan.
    pub x: Length,
    /// Place in plan.
    pub y: Length,
}

/// A point at which the level of the oversite is read.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GroundPoint {
    /// Its name.
    pub name: PointName,
    /// Place in plan.
    pub x_mm: Mm,
    /// Place in plan.
    pub y_mm: Mm,
}

impl Wall {
    /// The length of its line, rounded to the micrometre.
    pub fn length(&self) -> Length {
        distance(self.line_mm)
    }

    /// Its reading points: names and distances from its start, those listed first, then those at even distances.
    pub fn reading_points(&self) -> Vec<(PointName, Length)> {
        let mut points: Vec<_> =
            self.points.iter().map(|point| (point.name.clone(), point.along_mm.0)).collect();
        let Some(spaced) = &self.spaced else { return points };
        let end = self.length();
        let mut along = spaced.first_mm.0;
        let mut number = 1;
        while spaced.spacing_mm.0 > Length::ZERO && along <= end && number <= super::read::MOST_POINTS {
            if let Ok(name) = PointName::new(&format!("{}{number}", self.name)) {
                points.push((name, along));
            }
            along += spaced.spacing_mm.0;
            number += 1;
        }
        points
    }

    /// The place in plan so far along its line, rounded to the micrometre.
    pub fn place(&self, along: Length) -> (Length, Length) {
        let [[ax, ay], [bx, by]] = self.line_mm;
        let end = self.length();
        let at = |a: Mm, b: Mm| a.0 + (b.0 - a.0).share(along.um(), end.um());
        (at(ax, bx), at(ay, by))
    }
}

/// The distance between the ends of a line: the whole micrometre nearest to the root.
pub(super) fn distance(line: [Place; 2]) -> Length {
    let [[ax, ay], [bx, by]] = line;
    let (dx, dy) = (i128::from((bx.0 - ax.0).um()), i128::from((by.0 - ay.0).um()));
    let square = dx * dx + dy * dy;
    let root = square.isqrt();
    let nearest = if square - root * root > root { root + 1 } else { root };
    Length::from_um(i64::try_from(nearest).unwrap_or(i64::MAX))
}

impl FloorDesign {
    /// Every point at which a bearing wall's level is read, by walls in the order of the design.
    pub fn bearing_points(&self) -> Vec<BearingPoint> {
        let mut points = Vec::new();
        for wall in self.bearing_walls() {
            for (name, along) in wall.reading_points() {
                let (x, y) = wall.place(along);
                points.push(BearingPoint { name, wall: wall.name.clone(), along, x, y });
            }
        }
        points
    }

    /// The walls that beams bear on.
    pub fn bearing_walls(&self) -> impl Iterator<Item = &Wall> {
        self.walls.iter().filter(|wall| wall.bearing)
    }

    /// Names of the bearing points.
    pub fn bearing_point_names(&self) -> Vec<PointName> {
        self.bearing_walls().flat_map(Wall::reading_points).map(|(name, _)| name).collect()
    }

    /// Names of the bearing walls.
    pub fn bearing_wall_names(&self) -> Vec<PointName> {
        self.bearing_walls().map(|wall| wall.name.clone()).collect()
    }

    /// Names of the ground points.
    pub fn ground_point_names(&self) -> Vec<PointName> {
        self.ground_points.iter().map(|point| point.name.clone()).collect()
    }

    /// Names of the openings that ventilate the void.
    pub fn vent_names(&self) -> Vec<PointName> {
        self.vents.iter().map(|vent| vent.name.clone()).collect()
    }
}
