//! Pop-ups among the beams: as drawn, where they were measured, and the two places at which that is read.

use super::geometry::{mm, place};
use super::{Place, Standing};
use crate::entry::ReadValue;
use crate::floor::FloorDesign;
use crate::floor::pop_ups::Axis;
use crate::ids::PointName;
use crate::inspection::judge::CriterionStanding;
use crate::plan_of_work::Feed;
use crate::quantity::Length;

/// How far from the edge of a pop-up the mark of its reading lies, mm.
const BESIDE_MM: f64 = 380.0;

/// A pop-up.
#[derive(Debug, Clone, PartialEq)]
pub struct PopUp {
    /// Its name.
    pub name: PointName,
    /// Its middle as drawn.
    pub drawn: Place,
    /// Its middle as measured, once it was from both walls.
    pub found: Option<Place>,
    /// Half its width.
    pub radius: f64,
    /// From the walls that it is measured from to its middle: along x, then along y.
    pub measured_along: [[Place; 2]; 2],
    /// How it stands.
    pub standing: Standing,
}

fn is_about(criterion: Option<&CriterionStanding>) -> bool {
    criterion.and_then(CriterionStanding::feed) == Some(Feed::PopUpPlaces)
}

/// The pop-ups, where the criterion is about them.
pub(super) fn pop_ups(design: &FloorDesign, criterion: Option<&CriterionStanding>) -> Vec<PopUp> {
    let Some(criterion) = criterion.filter(|one| is_about(Some(one))) else { return Vec::new() };
    let from = place(&design.measured_from());
    let drawn = design.pop_ups.iter().map(|one| {
        let reading = |axis: Axis| criterion.reading_at(&one.point(axis)?);
        let read = |axis: Axis| match reading(axis)?.value {
            ReadValue::Um(um) => Some(mm(Length::from_um(um))),
            _ => None,
        };
        let both = read(Axis::X).zip(read(Axis::Y));
        let standing = [Axis::X, Axis::Y]
            .into_iter()
            .map(|axis| reading(axis).map_or(Standing::Owed, |own| Standing::of_reading(own, criterion)))
            .min_by_key(|standing| standing.weight());
        let [x, y] = place(&one.at_mm);
        PopUp {
            name: one.name.clone(),
            drawn: [x, y],
            found: both.map(|(x, y)| [from[0] + x, from[1] + y]),
            radius: mm(one.diameter_mm.0) / 2.0,
            measured_along: [[[from[0], y], [x, y]], [[x, from[1]], [x, y]]],
            standing: standing.unwrap_or(Standing::Owed),
        }
    });
    drawn.collect()
}

/// Beams as broad as they are, where the criterion is about what comes up between them.
pub(super) fn broad_beams(design: &FloorDesign, criterion: Option<&CriterionStanding>) -> Vec<[Place; 4]> {
    if !is_about(criterion) {
        return Vec::new();
    }
    let runs = design.laid_runs();
    let beams = runs.iter().flat_map(|run| &run.laid).filter(|one| one.beam.is_some());
    beams.map(|one| one.corners_mm.map(|at| place(&at))).collect()
}

/// Where each reading of a pop-up is marked, with the way to its wall: x to its left, y below it.
pub(super) fn spots(design: &FloorDesign) -> Vec<(PointName, Place, Place)> {
    let of_one = |one: &crate::floor::PopUp| {
        let [x, y] = place(&one.at_mm);
        let off = mm(one.diameter_mm.0) / 2.0 + BESIDE_MM;
        let spot = |axis: Axis, at: Place, way: Place| one.point(axis).map(|name| (name, at, way));
        [spot(Axis::X, [x - off, y], [-1.0, 0.0]), spot(Axis::Y, [x, y - off], [0.0, -1.0])]
    };
    design.pop_ups.iter().flat_map(of_one).flatten().collect()
}
