//! Reading points of a criterion with their standing, the standing of walls, offsets, and the worst points. Standings
//! are taken over from `inspection`; putting several together is all that is done here.

use std::collections::HashMap;

use super::geometry::{mm, place, side, vents};
use super::{Place, Point, REACH_MM, Wall, along};
use crate::conformity::Verdict;
use crate::floor::FloorDesign;
use crate::ids::PointName;
use crate::inspection::judge::{CriterionStanding, FindingStanding, ReadingStanding};
use crate::plan_of_work::Feed;
use crate::quantity::Length;

/// The most points that are listed as the worst.
pub const MOST_WORST: usize = 5;
/// How many times larger than the plan an offset may be drawn.
const EXAGGERATIONS: [f64; 7] = [200.0, 100.0, 50.0, 20.0, 10.0, 5.0, 2.0];

/// How a point, or what is read on a wall, stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Standing {
    /// Not read yet.
    Owed,
    /// Read; only all readings together have a verdict.
    Read,
    /// Its verdict, nothing done about it.
    Verdict(Verdict),
    /// Closed with a disposition; the verdict stays what it was.
    Closed(Verdict),
    /// The named designer allows it in writing.
    Conceded,
}

impl Standing {
    /// How a reading stands.
    pub fn of_reading(one: &ReadingStanding, criterion: &CriterionStanding) -> Self {
        match (&one.settled, &one.trial) {
            (Some(settled), _) if settled.concession => Self::Conceded,
            (Some(_), Some(trial)) => Self::Closed(trial.verdict),
            (None, Some(trial)) => Self::Verdict(trial.verdict),
            (_, None) => match criterion.verdict {
                Some(verdict) if criterion.owed.is_empty() => Self::Verdict(verdict),
                _ => Self::Read,
            },
        }
    }

    fn of_finding(one: &FindingStanding) -> Option<Self> {
        let counts = !one.caution && !one.settled && one.verdict != Verdict::Conforming;
        counts.then_some(Self::Verdict(one.verdict))
    }

    /// Whether it calls for somebody to do something about it.
    pub const fn is_trouble(self) -> bool {
        matches!(self, Self::Verdict(Verdict::Nonconforming | Verdict::Undetermined))
    }

    /// What outweighs what where several stand together: the least first.
    pub(super) const fn weight(self) -> u8 {
        match self {
            Self::Verdict(Verdict::Nonconforming) => 0,
            Self::Verdict(Verdict::Undetermined) => 1,
            Self::Owed => 2,
            Self::Read => 3,
            Self::Conceded => 4,
            Self::Closed(_) => 5,
            Self::Verdict(Verdict::Conforming) => 6,
        }
    }
}

/// A place where something is read, before anything was read.
struct Spot {
    at: Place,
    outward: Place,
    line: usize,
}

/// The points that the criterion asks for, where the design draws them.
pub(super) fn points(design: &FloorDesign, criterion: &CriterionStanding) -> Vec<Point> {
    let Some(feed) = criterion.feed() else { return Vec::new() };
    let levels = matches!(
        feed,
        Feed::BearingLevels
            | Feed::GroundLevels
            | Feed::GroundAsBuilt
            | Feed::ToppingDepths
            | Feed::FinishLevels
    );
    let spots = spots(design, feed);
    let mut read: HashMap<&PointName, &ReadingStanding> = HashMap::new();
    for reading in &criterion.readings {
        read.insert(&reading.point, reading); // the last of a point is the one that counts
    }
    let drawn = criterion.points.iter().filter_map(|name| {
        let spot = spots.get(name)?;
        let reading = read.get(name);
        Some(Point {
            name: name.clone(),
            at: spot.at,
            outward: spot.outward,
            line: spot.line,
            standing: reading.map_or(Standing::Owed, |one| Standing::of_reading(one, criterion)),
            deviation: reading.and_then(|one| one.trial.as_ref()?.deviation).filter(|_| levels),
        })
    });
    drawn.collect()
}

/// Where the points of a feed lie: bearing points and walls in the middle of their wall, openings in theirs.
fn spots(design: &FloorDesign, feed: Feed) -> HashMap<PointName, Spot> {
    match feed {
        Feed::BearingLevels => {
            let walls: HashMap<&PointName, (usize, Place, f64)> = design
                .walls
                .iter()
                .enumerate()
                .map(|(line, wall)| {
                    let out = side(design, wall.line_mm.map(|at| place(&at)));
                    (&wall.name, (line, out, mm(wall.thickness_mm.0) / 2.0))
                })
                .collect();
            let spot = |point: crate::floor::BearingPoint| {
                let (line, outward, half) = *walls.get(&point.wall)?;
                let at = along([mm(point.x), mm(point.y)], outward, half);
                Some((point.name, Spot { at, outward, line }))
            };
            design.bearing_points().into_iter().filter_map(spot).collect()
        }
        Feed::GroundLevels | Feed::GroundAsBuilt => design
            .ground_points
            .iter()
            .map(|point| {
                let at = [mm(point.x_mm.0), mm(point.y_mm.0)];
                (point.name.clone(), Spot { at, outward: [0.0, 1.0], line: 0 })
            })
            .collect(),
        Feed::PopUpPlaces => super::pop_ups::spots(design)
            .into_iter()
            .enumerate()
            .map(|(line, (name, at, outward))| (name, Spot { at, outward, line: line / 2 }))
            .collect(),
        Feed::ToppingDepths | Feed::FinishLevels => design
            .finish_grid()
            .into_iter()
            .map(|point| {
                let line = point.line();
                let at = [mm(point.x), mm(point.y)];
                (point.name, Spot { at, outward: [0.0, 1.0], line })
            })
            .collect(),
        Feed::VentOpenings => vents(design)
            .into_iter()
            .map(|vent| (vent.name, Spot { at: vent.at, outward: vent.outward, line: vent.edge }))
            .collect(),
        _ => design
            .walls
            .iter()
            .map(|wall| {
                let [a, b] = wall.line_mm.map(|at| place(&at));
                let outward = side(design, [a, b]);
                let middle = [f64::midpoint(a[0], b[0]), f64::midpoint(a[1], b[1])];
                let at = along(middle, outward, mm(wall.thickness_mm.0) / 2.0);
                (wall.name.clone(), Spot { at, outward, line: 0 })
            })
            .collect(),
    }
}

/// Says of every wall how what is read on it stands: the weightiest of its points and of what was found between
/// them. Openings and the ground are on no wall.
pub(super) fn mark_walls(criterion: &CriterionStanding, points: &[Point], walls: &mut [Wall]) {
    match criterion.feed() {
        None
        | Some(
            Feed::ToppingDepths
            | Feed::FinishLevels
            | Feed::VentOpenings
            | Feed::GroundLevels
            | Feed::GroundAsBuilt
            | Feed::PopUpPlaces,
        ) => {}
        Some(Feed::BearingLevels) => {
            // A bearing point's line is its wall's place in the design, and drawn walls keep that order.
            let lines: HashMap<&PointName, usize> = points.iter().map(|one| (&one.name, one.line)).collect();
            let mut take = |line: usize, standing: Standing| {
                let Some(wall) = walls.get_mut(line) else { return };
                if wall.standing.is_none_or(|own| standing.weight() < own.weight()) {
                    wall.standing = Some(standing);
                }
            };
            for point in points {
                take(point.line, point.standing);
            }
            for finding in &criterion.findings {
                let Some(standing) = Standing::of_finding(finding) else { continue };
                for line in finding.points.iter().filter_map(|name| lines.get(name)) {
                    take(*line, standing);
                }
            }
        }
        Some(_) => {
            for wall in walls {
                let own = points.iter().find(|point| Some(&point.name) == wall.name.as_ref());
                wall.standing = own.map(|point| point.standing);
            }
        }
    }
}

/// The largest of the usual exaggerations at which no offset reaches too far.
pub(super) fn exaggeration(points: &[Point]) -> f64 {
    let furthest = points.iter().filter_map(|point| point.deviation).map(Length::abs).max();
    let furthest = furthest.unwrap_or(Length::ZERO).to_mm_f64();
    EXAGGERATIONS.into_iter().find(|times| times * furthest <= REACH_MM).unwrap_or(1.0)
}

/// The points furthest from right: those that do not conform first, then those too near to call, then by how far
/// they are off. More void than asked for is not off.
pub(super) fn worst(criterion: Option<&CriterionStanding>, points: &[Point]) -> Vec<usize> {
    let short = criterion
        .and_then(CriterionStanding::feed)
        .is_some_and(|feed| matches!(feed, Feed::GroundLevels | Feed::GroundAsBuilt));
    let off = |deviation: Length| if short { -deviation } else { deviation.abs() };
    let mut all: Vec<(u8, Length, usize)> = points
        .iter()
        .enumerate()
        .filter_map(|(place, point)| {
            let off = off(point.deviation.unwrap_or(Length::ZERO));
            let counts = point.standing.is_trouble() || off > Length::ZERO;
            counts.then_some((point.standing.weight().min(2), -off, place))
        })
        .collect();
    all.sort_unstable();
    all.into_iter().take(MOST_WORST).map(|(_, _, place)| place).collect()
}
