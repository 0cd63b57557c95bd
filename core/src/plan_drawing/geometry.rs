//! The design's walls, openings, services and membranes as shapes.

use super::{OUTER_WALL_MM, Place, Service, Vent, Wall, along, length, unit};
use crate::floor::{self, FloorDesign};
use crate::quantity::{Factor, Length};

/// How near a place must lie to a line to count as on it, mm: drawings are written to the millimetre.
const ON_LINE_MM: f64 = 1.0;

/// A place of the design.
pub(super) fn place(place: &floor::Place) -> Place {
    place.map(|one| mm(one.0))
}

/// Millimetres for drawing.
pub(super) fn mm(length: Length) -> f64 {
    length.to_mm_f64()
}

/// North as a direction: `degrees` clockwise from the y axis.
pub(super) fn north(degrees: Factor) -> Place {
    let angle = degrees.to_f64() * std::f64::consts::PI / 180.0;
    // `libm` instead of the machine's own mathematics library: pages are the same everywhere.
    [libm::sin(angle), libm::cos(angle)]
}

/// Walls by their middle lines: those that the design lists, and the outline's other edges at a usual thickness.
pub(super) fn walls(design: &FloorDesign) -> Vec<Wall> {
    let shift = |line: [Place; 2], out: Place, by: f64| line.map(|at| along(at, out, by));
    let listed = design.walls.iter().map(|wall| {
        let thickness = mm(wall.thickness_mm.0);
        let line = wall.line_mm.map(|at| place(&at));
        let line = shift(line, side(design, line), thickness / 2.0);
        Wall { name: Some(wall.name.clone()), line, thickness, standing: None }
    });
    let others = edges(design).filter(|(_, ends)| {
        !design.walls.iter().any(|wall| covers(wall.line_mm.map(|at| place(&at)), *ends))
    });
    let others = others.map(|(_, ends)| {
        let line = shift(ends, outward(design, ends), OUTER_WALL_MM / 2.0);
        Wall { name: None, line, thickness: OUTER_WALL_MM, standing: None }
    });
    listed.chain(others).collect()
}

fn edges(design: &FloorDesign) -> impl Iterator<Item = (usize, [Place; 2])> {
    let count = design.plan.outline_mm.len();
    (0..count).filter_map(|edge| Some((edge, design.plan.edge(edge)?.map(|at| place(&at)))))
}

/// The side on which a wall's thickness lies: outwards where it runs along an edge of the outline, else to the left
/// of its line.
pub(super) fn side(design: &FloorDesign, line: [Place; 2]) -> Place {
    let own = edges(design).find(|(_, edge)| covers(line, *edge) || covers(*edge, line));
    match own {
        Some((_, edge)) => outward(design, edge),
        None => {
            let [a, b] = line;
            unit([a[1] - b[1], b[0] - a[0]])
        }
    }
}

/// Whether both ends of an edge lie on a line.
fn covers(line: [Place; 2], edge: [Place; 2]) -> bool {
    edge.iter().all(|end| on_line(line, *end))
}

fn on_line([a, b]: [Place; 2], p: Place) -> bool {
    let by = [b[0] - a[0], b[1] - a[1]];
    let whole = length(by);
    if whole <= 0.0 {
        return false;
    }
    let off = ((p[0] - a[0]) * by[1] - (p[1] - a[1]) * by[0]) / whole;
    let far = ((p[0] - a[0]) * by[0] + (p[1] - a[1]) * by[1]) / whole;
    off.abs() <= ON_LINE_MM && (-ON_LINE_MM..=whole + ON_LINE_MM).contains(&far)
}

/// Away from the floor, at an edge of its outline.
pub(super) fn outward(design: &FloorDesign, [a, b]: [Place; 2]) -> Place {
    let right = unit([b[1] - a[1], a[0] - b[0]]);
    let corners: Vec<Place> = design.plan.outline_mm.iter().map(place).collect();
    let doubled: f64 = (0..corners.len())
        .map(|n| {
            let (p, q) = (corners[n], corners[(n + 1) % corners.len()]);
            p[0] * q[1] - q[0] * p[1]
        })
        .sum();
    // With corners counted anticlockwise the outside lies to the right of every edge.
    if doubled >= 0.0 { right } else { [-right[0], -right[1]] }
}

/// The openings, in the middle of an outer wall.
pub(super) fn vents(design: &FloorDesign) -> Vec<Vent> {
    let drawn = design.vents.iter().filter_map(|vent| {
        let ends = design.plan.edge(vent.edge)?.map(|at| place(&at));
        let [a, b] = ends;
        let outward = outward(design, ends);
        let at = along(a, unit([b[0] - a[0], b[1] - a[1]]), mm(vent.along_mm.0));
        let at = along(at, outward, OUTER_WALL_MM / 2.0);
        Some(Vent { name: vent.name.clone(), at, outward, edge: vent.edge })
    });
    drawn.collect()
}

/// Services whose route the design draws.
pub(super) fn services(design: &FloorDesign) -> Vec<Service> {
    let drawn = design.services.iter().filter(|one| one.path_mm.len() >= 2);
    drawn
        .map(|one| Service { name: one.name.clone(), route: one.path_mm.iter().map(place).collect() })
        .collect()
}

/// What membranes cover: their outlines, or the whole floor where the design draws none.
pub(super) fn membranes(design: &FloorDesign) -> Vec<Vec<Place>> {
    if !design.has_membrane() {
        return Vec::new();
    }
    if design.membranes.is_empty() {
        return vec![design.plan.outline_mm.iter().map(place).collect()];
    }
    design.membranes.iter().map(|one| one.outline_mm.iter().map(place).collect()).collect()
}
