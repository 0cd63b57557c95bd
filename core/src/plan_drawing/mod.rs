//! The plan of a floor as a drawing: outline, walls, beams, openings, services, membranes and reading points with
//! what was read there, in millimetres of the plan's own axes, y upwards as on the drawing.
//!
//! - This file: what a drawing holds ([`Drawing`] and its parts)
//! - `geometry`: the design's walls, openings and services as shapes
//! - `pop_ups`: pop-ups among the beams, as drawn and as measured
//! - `readings`: reading points with their standing, the standing of walls, the worst points, offsets
//! - [`contours`]: lines of equal depth or level over the finished topping
//! - `finish`: the finished topping's contours and the worst place of a straightedge
//! - `similarity`: where a drawing behind the plan lies
//! - [`walk`]: which point is read next
//! - [`labels`]: room for words, so that none overlaps another
//! - [`measure`]: the scales of a drawing office, scale bars
//! - [`hatch`]: hatching of a wall, for paper
//!
//! Screen and paper draw the same [`Drawing`], so they cannot disagree. Never here: a verdict of its own (they come
//! from `inspection`), a colour, a font, or a place on a sheet. Lengths are binary floats because all of this is
//! for drawing; nothing is reckoned from it. Only `+ − × ÷` and the square root are used (and `libm` for north), so
//! that every machine draws the same pages.

pub mod contours;
mod finish;
mod geometry;
pub mod hatch;
pub mod labels;
pub mod measure;
mod pop_ups;
mod readings;
mod similarity;
#[cfg(test)]
mod tests;
pub mod walk;

pub use contours::{Contour, Contours};
pub use pop_ups::PopUp;
pub use readings::{MOST_WORST, Standing};
pub use similarity::Similarity;

use crate::floor::FloorDesign;
use crate::ids::PointName;
use crate::inspection::judge::CriterionStanding;
use crate::quantity::Length;

/// A place, or a direction, in millimetres: x, then y upwards.
pub type Place = [f64; 2];

/// Thickness at which an outer wall is drawn that the design does not list, mm.
pub const OUTER_WALL_MM: f64 = 100.0;
/// The furthest that an offset is meant to reach on the plan, mm; half of it at least where there is any to draw.
const REACH_MM: f64 = 700.0;

/// A plan to be drawn.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drawing {
    /// Corners of the floor between the inner faces of its walls; not closed.
    pub outline: Vec<Place>,
    /// Walls, those of the design first, then the outline's other edges.
    pub walls: Vec<Wall>,
    /// Beams by their centre lines.
    pub beams: Vec<[Place; 2]>,
    /// Beams as broad as they are, where pop-ups are held against them.
    pub broad_beams: Vec<[Place; 4]>,
    /// Pop-ups, where they are held against the beams.
    pub pop_ups: Vec<PopUp>,
    /// Openings for air, in the middle of their wall.
    pub vents: Vec<Vent>,
    /// Pipes and cables.
    pub services: Vec<Service>,
    /// Areas that membranes cover; not closed.
    pub membranes: Vec<Vec<Place>>,
    /// What of gas pipes lies under a membrane that would trap escaping gas.
    pub trapped_gas: Vec<Vec<Place>>,
    /// Reading points in the order of booking.
    pub points: Vec<Point>,
    /// How many times larger than the plan deviations are drawn.
    pub exaggeration: f64,
    /// Places in [`Drawing::points`] of the points furthest from right, worst first; at most [`MOST_WORST`].
    pub worst: Vec<usize>,
    /// Where north lies, a direction of length 1, where the design says so.
    pub north: Option<Place>,
    /// Lines of equal depth or level over the finished topping.
    pub contours: Option<Contours>,
    /// Where a straightedge shows the largest gap.
    pub straightedge: Option<Straightedge>,
}

/// Where a straightedge lies over its largest gap.
#[derive(Debug, Clone, PartialEq)]
pub struct Straightedge {
    /// Its ends.
    pub ends: [Place; 2],
    /// Where the gap is largest.
    pub at: Place,
    /// The gap.
    pub gap: Length,
    /// How its line stands.
    pub standing: Standing,
}

/// A wall by its middle line.
#[derive(Debug, Clone, PartialEq)]
pub struct Wall {
    /// What it is called on the drawing; `None` for an outer wall that the design does not list.
    pub name: Option<PointName>,
    /// Its middle line, which goes on at its ends over the walls that it meets there.
    pub line: [Place; 2],
    /// Its thickness.
    pub thickness: f64,
    /// What was read on it, together; `None` where nothing is to be read on it.
    pub standing: Option<Standing>,
}

/// An opening for air.
#[derive(Debug, Clone, PartialEq)]
pub struct Vent {
    /// Its name.
    pub name: PointName,
    /// Its place.
    pub at: Place,
    /// Away from the floor; length 1.
    pub outward: Place,
    /// The edge of the outline that it stands in.
    pub edge: usize,
}

/// A pipe or cable.
#[derive(Debug, Clone, PartialEq)]
pub struct Service {
    /// Its name.
    pub name: PointName,
    /// Its route, two places at least.
    pub route: Vec<Place>,
}

/// A place where something is read.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Its name.
    pub name: PointName,
    /// Its place.
    pub at: Place,
    /// The way in which an offset is drawn, away from the room; length 1.
    pub outward: Place,
    /// The wall or edge that it lies on, so that a walk keeps to it.
    pub line: usize,
    /// How it stands.
    pub standing: Standing,
    /// What was read less what it should be; `None` where there is none to draw.
    pub deviation: Option<Length>,
}

/// What else is drawn beside walls, openings and points.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Parts {
    /// Pipes and cables.
    pub services: bool,
    /// Membranes.
    pub membranes: bool,
}

impl Drawing {
    /// The plan of a design, with the reading points of a criterion if one is given.
    pub fn of(design: &FloorDesign, criterion: Option<&CriterionStanding>, parts: Parts) -> Self {
        let points = criterion.map_or_else(Vec::new, |one| readings::points(design, one));
        let mut walls = geometry::walls(design);
        if let Some(criterion) = criterion {
            readings::mark_walls(criterion, &points, &mut walls);
        }
        Self {
            outline: design.plan.outline_mm.iter().map(geometry::place).collect(),
            walls,
            beams: geometry::beams(design),
            broad_beams: pop_ups::broad_beams(design, criterion),
            pop_ups: pop_ups::pop_ups(design, criterion),
            vents: geometry::vents(design),
            services: if parts.services { geometry::services(design) } else { Vec::new() },
            membranes: if parts.membranes { geometry::membranes(design) } else { Vec::new() },
            trapped_gas: if parts.services { geometry::trapped_gas(design) } else { Vec::new() },
            exaggeration: if criterion.is_some_and(finish::is_of_finish) {
                0.0 // contours say it
            } else {
                readings::exaggeration(&points)
            },
            contours: criterion.and_then(|one| finish::contours(design, one)),
            straightedge: criterion.and_then(|one| finish::straightedge(design, one)),
            worst: readings::worst(criterion, &points),
            points,
            north: design.plan.north_degrees.map(|degrees| geometry::north(degrees.0)),
        }
    }

    /// Where the offset of a point ends; `None` where it has none. What would reach too far ends at the edge of
    /// reason: its figure says how far it is.
    pub fn tip(&self, point: &Point) -> Option<Place> {
        let deviation = point.deviation.filter(|_| self.exaggeration > 0.0)?;
        let reach = deviation.to_mm_f64() * self.exaggeration;
        Some(along(point.at, point.outward, reach.clamp(-2.0 * REACH_MM, 2.0 * REACH_MM)))
    }

    /// The least and the greatest x and y of what is there whatever was read, so that a plan on screen does not move
    /// while one books; 10 m either way where there is nothing.
    pub fn bounds(&self) -> [Place; 2] {
        self.extent(false)
    }

    /// The same with the offsets.
    pub fn bounds_with_offsets(&self) -> [Place; 2] {
        self.extent(true)
    }

    fn extent(&self, with_offsets: bool) -> [Place; 2] {
        let mut low = [f64::INFINITY; 2];
        let mut high = [f64::NEG_INFINITY; 2];
        let mut take = |at: Place| {
            for axis in 0..2 {
                low[axis] = low[axis].min(at[axis]);
                high[axis] = high[axis].max(at[axis]);
            }
        };
        self.outline.iter().for_each(|at| take(*at));
        self.walls.iter().flat_map(Wall::corners).for_each(&mut take);
        self.services.iter().flat_map(|one| &one.route).for_each(|at| take(*at));
        self.membranes.iter().flatten().for_each(|at| take(*at));
        for point in &self.points {
            take(point.at);
            if let Some(tip) = self.tip(point).filter(|_| with_offsets) {
                take(tip);
            }
        }
        if low[0].is_finite() && high[0].is_finite() { [low, high] } else { [[0.0; 2], [10_000.0; 2]] }
    }

    /// The point of that name, with its place in [`Drawing::points`].
    pub fn point(&self, name: &PointName) -> Option<(usize, &Point)> {
        self.points.iter().enumerate().find(|(_, point)| point.name == *name)
    }

    /// Whether any offset is drawn.
    pub fn has_offsets(&self) -> bool {
        self.exaggeration > 0.0 && self.points.iter().any(|point| point.deviation.is_some())
    }
}

impl Wall {
    /// Its four corners.
    pub fn corners(&self) -> [Place; 4] {
        let [a, b] = self.line;
        let half = self.thickness / 2.0;
        let way = unit([b[0] - a[0], b[1] - a[1]]);
        let side = [-way[1], way[0]];
        [along(a, side, half), along(b, side, half), along(b, side, -half), along(a, side, -half)]
    }
}

/// The deviation as it is written beside a point: `+9`, `−2`.
pub fn deviation_text(deviation: Length) -> String {
    deviation.signed_mm_text(0)
}

pub(crate) fn along(from: Place, direction: Place, distance: f64) -> Place {
    [from[0] + direction[0] * distance, from[1] + direction[1] * distance]
}

/// A direction at length 1; one without length stays without.
pub(crate) fn unit(direction: Place) -> Place {
    let length = length(direction);
    if length > 0.0 { [direction[0] / length, direction[1] / length] } else { [0.0; 2] }
}

pub(crate) fn length(by: Place) -> f64 {
    (by[0] * by[0] + by[1] * by[1]).sqrt()
}
