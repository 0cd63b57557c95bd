//! The design's walls, openings, services and membranes as shapes.

use super::{OUTER_WALL_MM, Place, Service, Vent, Wall, along, contours, length, unit};
use crate::floor::{self, FloorDesign};
use crate::ids::PointName;
use crate::quantity::{Factor, Length};
use crate::reckon::layer_order;

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

/// Beams by their middle lines, from bearing end to bearing end, where the design draws them.
pub(super) fn beams(design: &FloorDesign) -> Vec<[Place; 2]> {
    let middle = |a: &floor::Place, b: &floor::Place| {
        let (a, b) = (place(a), place(b));
        [f64::midpoint(a[0], b[0]), f64::midpoint(a[1], b[1])]
    };
    let runs = design.laid_runs();
    let laid = runs.iter().flat_map(|run| &run.laid).filter(|one| one.beam.is_some());
    laid.map(|one| {
        let [a, b, c, d] = &one.corners_mm;
        [middle(a, b), middle(c, d)]
    })
    .collect()
}

/// Walls by their middle lines: those that the design lists, and the outline's other edges at a usual thickness. Each
/// goes on at its ends to the outer face of the wall that it meets there, so that corners close.
pub(super) fn walls(design: &FloorDesign) -> Vec<Wall> {
    let listed = design.walls.iter().map(|wall| {
        let line = wall.line_mm.map(|at| place(&at));
        let name = Some(wall.name.clone());
        Face { name, line, outward: side(design, line), thickness: mm(wall.thickness_mm.0) }
    });
    let others = edges(design).filter(|(_, ends)| {
        !design.walls.iter().any(|wall| covers(wall.line_mm.map(|at| place(&at)), *ends))
    });
    let others = others.map(|(_, line)| {
        let outward = outward(design, line);
        Face { name: None, line, outward, thickness: OUTER_WALL_MM }
    });
    let faces: Vec<Face> = listed.chain(others).collect();
    faces.iter().map(|face| face.wall(&faces)).collect()
}

/// A wall by the line of the design, which is its face towards the floor.
struct Face {
    name: Option<PointName>,
    line: [Place; 2],
    outward: Place,
    thickness: f64,
}

impl Face {
    fn wall(&self, all: &[Self]) -> Wall {
        let [a, b] = self.line;
        let way = unit([b[0] - a[0], b[1] - a[1]]);
        // How far the walls that an end touches reach on in that direction.
        let beyond = |end: Place, way: Place| {
            let met = all.iter().filter(|other| on_line(other.line, end));
            let reach =
                met.map(|other| other.thickness * (other.outward[0] * way[0] + other.outward[1] * way[1]));
            reach.fold(0.0, f64::max)
        };
        let (first, last) = (beyond(a, [-way[0], -way[1]]), beyond(b, way));
        let line = [along(a, way, -first), along(b, way, last)];
        let line = line.map(|at| along(at, self.outward, self.thickness / 2.0));
        Wall { name: self.name.clone(), line, thickness: self.thickness, standing: None }
    }
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

/// What of gas pipes lies under a membrane, where the order of layers says that it would trap escaping gas.
pub(super) fn trapped_gas(design: &FloorDesign) -> Vec<Vec<Place>> {
    let input = design.layer_order_input();
    let Some(plan) = &input.plan else { return Vec::new() };
    let covered = layer_order::reckon(&input).ok().and_then(|output| output.covered_length_mm);
    if covered.is_none_or(|covered| covered.0 == Length::ZERO) {
        return Vec::new();
    }
    let membrane: Vec<Place> = plan.membrane_mm.iter().map(place).collect();
    let route = |pipe: &layer_order::Pipe| pipe.path_mm.iter().map(place).collect::<Vec<_>>();
    plan.pipes.iter().flat_map(|pipe| contours::clip(&route(pipe), &membrane)).collect()
}
