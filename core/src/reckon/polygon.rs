//! Outlines on plan: whole micrometres in, exact area out, soundness checked exactly.

use geo::coordinate_position::CoordPos;
use geo::line_intersection::{LineIntersection, line_intersection};
use geo::{Coord, CoordinatePosition, Line, LineString, Polygon};

use super::MAX_VERTICES;
use crate::faults::Faults;
use crate::quantity::{Area, Length, Mm};

/// A point on plan in millimetres, `[x, y]`.
pub type Point = [Mm; 2];

/// A point in whole micrometres.
pub(super) fn um(point: &Point) -> (i128, i128) {
    (i128::from(point[0].0.um()), i128::from(point[1].0.um()))
}

fn coord(point: &Point) -> Coord {
    Coord { x: point[0].0.to_mm_f64(), y: point[1].0.to_mm_f64() }
}

/// The outline for the geometry library, in millimetres; whole micrometres within ±10 km lose less than 2 nm.
pub(super) fn polygon(outline: &[Point]) -> Polygon {
    Polygon::new(LineString::new(outline.iter().map(coord).collect()), Vec::new())
}

/// Says what is wrong with an outline: too few or too many vertices, a vertex that repeats, edges that cross.
pub(super) fn check_outline(place: &str, outline: &[Point], faults: &mut Faults) {
    if outline.len() < 3 {
        faults.add(place, "must have at least 3 vertices");
        return;
    }
    if outline.len() > MAX_VERTICES {
        faults.add(place, format!("must have at most {MAX_VERTICES} vertices"));
        return;
    }
    for index in 0..outline.len() {
        let next = (index + 1) % outline.len();
        if outline[index] == outline[next] {
            let what =
                if next == 0 { "repeats the first vertex: leave it out" } else { "repeats the next vertex" };
            faults.add(format!("{place}/{index}"), what);
            return;
        }
    }
    // The library's own check lets outlines pass that touch themselves at a corner.
    if crate::floor::polygon::check_outline(outline).is_err() {
        faults.add(place, "must be a simple outline: its edges touch or cross");
    }
}

/// Twice the signed area in square micrometres, positive anticlockwise.
pub(super) fn twice_area(outline: &[Point]) -> i128 {
    edges(outline).map(|(a, b)| um(a).0 * um(b).1 - um(b).0 * um(a).1).sum()
}

/// The area, to half a square micrometre.
pub(super) fn area(outline: &[Point]) -> Area {
    Area::from_um2(twice_area(outline).abs()).share(1, 2).unwrap_or_default()
}

/// The area as arithmetic in millimetres, giving square metres.
pub(super) fn area_formula(outline: &[Point]) -> String {
    let text = |mm: Mm| crate::working::mm(mm.0);
    let terms: Vec<String> = edges(outline)
        .map(|(a, b)| format!("{} * {} - {} * {}", text(a[0]), text(b[1]), text(b[0]), text(a[1])))
        .collect();
    format!("abs({}) / 2 / 1000000", terms.join(" + "))
}

/// Edges in order: edge i runs from vertex i to vertex i + 1, the last one back to the first.
pub(super) fn edges(outline: &[Point]) -> impl Iterator<Item = (&Point, &Point)> {
    outline.iter().zip(outline.iter().cycle().skip(1))
}

/// Square of an edge's length in square micrometres.
pub(super) fn length_squared(a: &Point, b: &Point) -> i128 {
    let (dx, dy) = (um(b).0 - um(a).0, um(b).1 - um(a).1);
    dx * dx + dy * dy
}

/// An edge's length in whole nanometres, rounded down: several add up without losing a micrometre.
pub(super) fn length_nm(a: &Point, b: &Point) -> i128 {
    (length_squared(a, b) * 1_000_000).isqrt()
}

/// Nanometres to the nearest micrometre.
pub(super) fn from_nm(nm: i128) -> Length {
    Length::from_um(i64::try_from((nm + 500) / 1_000).unwrap_or(i64::MAX))
}

/// The length of an edge as arithmetic, in millimetres.
pub(super) fn length_formula(a: &Point, b: &Point) -> String {
    let dx = crate::working::mm(b[0].0 - a[0].0);
    let dy = crate::working::mm(b[1].0 - a[1].0);
    format!("sqrt({dx} * {dx} + {dy} * {dy})")
}

/// The parts of a straight line inside an outline or on its edge, as fractions of the line, in order.
pub(super) fn parts_inside(a: &Point, b: &Point, outline: &[Point]) -> Vec<(f64, f64)> {
    let line = Line::new(coord(a), coord(b));
    let squared = line.dx() * line.dx() + line.dy() * line.dy();
    if squared <= 0.0 {
        return Vec::new();
    }
    let along = |point: Coord| {
        let fraction =
            ((point.x - line.start.x) * line.dx() + (point.y - line.start.y) * line.dy()) / squared;
        fraction.clamp(0.0, 1.0)
    };
    let mut cuts = vec![0.0, 1.0];
    for (c, d) in edges(outline) {
        match line_intersection(line, Line::new(coord(c), coord(d))) {
            Some(LineIntersection::SinglePoint { intersection, .. }) => cuts.push(along(intersection)),
            Some(LineIntersection::Collinear { intersection }) => {
                cuts.push(along(intersection.start));
                cuts.push(along(intersection.end));
            }
            None => {}
        }
    }
    cuts.sort_by(f64::total_cmp);
    let polygon = polygon(outline);
    let on_an_edge = |from: f64, to: f64| {
        // The middle of a stretch along an edge may fall a rounding error outside: then both ends lie on that edge.
        edges(outline).any(|(c, d)| {
            let edge = Line::new(coord(c), coord(d));
            matches!(
                line_intersection(line, edge),
                Some(LineIntersection::Collinear { intersection })
                    if along(intersection.start).min(along(intersection.end)) <= from
                        && to <= along(intersection.start).max(along(intersection.end))
            )
        })
    };
    let mut parts: Vec<(f64, f64)> = Vec::new();
    for pair in cuts.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        if to <= from {
            continue;
        }
        let middle = f64::midpoint(from, to);
        let point = Coord { x: line.start.x + middle * line.dx(), y: line.start.y + middle * line.dy() };
        if polygon.coordinate_position(&point) == CoordPos::Outside && !on_an_edge(from, to) {
            continue;
        }
        match parts.last_mut() {
            Some(last) if last.1 >= from => last.1 = to,
            _ => parts.push((from, to)),
        }
    }
    parts
}

/// The length of an edge in millimetres as a binary float.
pub(super) fn length_mm(a: &Point, b: &Point) -> f64 {
    let (dx, dy) = ((b[0].0 - a[0].0).to_mm_f64(), (b[1].0 - a[1].0).to_mm_f64());
    dx.hypot(dy)
}

/// Millimetres found on plan to the nearest micrometre; only for lengths of clipped lines, which are irrational.
#[expect(clippy::cast_possible_truncation, reason = "rounded and far inside 64 bits; the cast saturates")]
pub(super) fn nearest_um(mm: f64) -> Length {
    Length::from_um((mm * 1_000.0).round() as i64)
}
