//! Hatching: what a cut material looks like on a section (conventions of ISO 128 and common
//! drawing-office practice), worked out as line segments inside a polygon.
//!
//! Lines keep their spacing in points whatever the drawing's scale, and share one grid over the
//! whole sheet, so that hatching runs on unbroken from one shape to the next of the same material.

use egui::{Color32, Painter, Pos2, Rect, Shape, Stroke, Vec2, pos2, vec2};

use crate::theme::{Sheet, palette};

/// What a shape is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Material {
    /// Concrete or screed placed on site: dots and small triangles.
    Concrete,
    /// Precast, prestressed concrete: pairs of close lines.
    Precast,
    /// Brick or block: single lines at 45°.
    Masonry,
    /// Rigid insulation boards: crossed lines.
    Insulation,
    /// Expanded plastic infill between beams: rows of waves.
    Infill,
    /// Natural ground: groups of short strokes, turned alternately.
    Ground,
    /// Oversite, blinding and other granular fill: sparse short strokes.
    Fill,
    /// Board or timber finish: lines along the layer.
    Board,
}

impl Material {
    /// A weak wash of colour under the hatching.
    pub fn wash(self, sheet: &Sheet) -> Color32 {
        match self {
            Self::Concrete | Self::Precast => sheet.band,
            Self::Masonry => sheet.wash(palette::VERMILLION),
            Self::Insulation => sheet.wash(palette::YELLOW),
            Self::Infill => sheet.wash(palette::SKY),
            Self::Ground | Self::Fill => sheet.wash(palette::ORANGE),
            Self::Board => sheet.wash(palette::PURPLE),
        }
    }
}

/// Fills `polygon` with a material's wash and hatching; draws no outline.
///
/// The wash of a polygon that is not convex is painted by `parts`, convex pieces that cover it.
pub fn fill(painter: &Painter, polygon: &[Pos2], parts: &[Vec<Pos2>], material: Material, sheet: &Sheet) {
    for part in parts {
        painter.add(Shape::convex_polygon(part.clone(), material.wash(sheet), Stroke::NONE));
    }
    lines(painter, polygon, material, sheet);
}

/// Fills a rectangle with a material's wash and hatching; draws no outline.
pub fn fill_rect(painter: &Painter, rect: Rect, material: Material, sheet: &Sheet) {
    painter.rect_filled(rect, 0.0, material.wash(sheet));
    lines(painter, &corners(rect), material, sheet);
}

/// The corners of a rectangle, clockwise on screen.
pub fn corners(rect: Rect) -> [Pos2; 4] {
    [rect.left_top(), rect.right_top(), rect.right_bottom(), rect.left_bottom()]
}

/// Warning hatching over a rectangle: broad diagonal bars.
pub fn warning_rect(painter: &Painter, rect: Rect, sheet: &Sheet) {
    painter.rect_filled(rect, 0.0, sheet.wash(sheet.warn));
    let stroke = Stroke::new(3.0, sheet.bad);
    let cut = rect.shrink(1.5);
    for segment in parallels(&corners(cut), vec2(1.0, -1.0), 16.0) {
        painter.line_segment(segment, stroke);
    }
}

fn lines(painter: &Painter, polygon: &[Pos2], material: Material, sheet: &Sheet) {
    let stroke = Stroke::new(1.0, sheet.rule);
    let draw = |segments: Vec<[Pos2; 2]>| {
        for segment in segments {
            painter.line_segment(segment, stroke);
        }
    };
    match material {
        Material::Masonry => draw(parallels(polygon, vec2(1.0, -1.0), 9.0)),
        Material::Precast => {
            draw(parallels(polygon, vec2(1.0, -1.0), 11.0));
            draw(parallels_from(polygon, vec2(1.0, -1.0), 11.0, 3.0));
        }
        Material::Insulation => {
            draw(parallels(polygon, vec2(1.0, -1.0), 13.0));
            draw(parallels(polygon, vec2(1.0, 1.0), 13.0));
        }
        Material::Board => draw(parallels(polygon, vec2(1.0, 0.0), 4.0)),
        Material::Infill => waves(painter, polygon, stroke),
        Material::Concrete => grains(painter, polygon, sheet),
        Material::Ground => strokes(painter, polygon, stroke, 3, 16.0),
        Material::Fill => strokes(painter, polygon, stroke, 1, 12.0),
    }
}

/// Lines through `polygon` along `direction`, `spacing` points apart, on the sheet's common grid.
pub fn parallels(polygon: &[Pos2], direction: Vec2, spacing: f32) -> Vec<[Pos2; 2]> {
    parallels_from(polygon, direction, spacing, 0.0)
}

fn parallels_from(polygon: &[Pos2], direction: Vec2, spacing: f32, shift: f32) -> Vec<[Pos2; 2]> {
    let along = direction.normalized();
    let across = along.rot90();
    let ordinate = |p: &Pos2| across.dot(p.to_vec2());
    let low = polygon.iter().map(ordinate).fold(f32::INFINITY, f32::min);
    let high = polygon.iter().map(ordinate).fold(f32::NEG_INFINITY, f32::max);
    let mut segments = Vec::new();
    if !(low.is_finite() && high.is_finite() && spacing > 0.0) {
        return segments;
    }
    let mut at = ((low - shift) / spacing).ceil() * spacing + shift;
    while at < high {
        let mut cuts = crossings(polygon, along, across, at);
        cuts.sort_by(f32::total_cmp);
        for pair in cuts.chunks_exact(2) {
            let foot = across * at;
            segments.push([(foot + along * pair[0]).to_pos2(), (foot + along * pair[1]).to_pos2()]);
        }
        at += spacing;
    }
    segments
}

/// Where the line at distance `at` crosses the polygon's edges, measured along it. A corner counts
/// for the edge that leaves it upwards only, so that the count is always even.
fn crossings(polygon: &[Pos2], along: Vec2, across: Vec2, at: f32) -> Vec<f32> {
    let mut cuts = Vec::new();
    for (i, a) in polygon.iter().enumerate() {
        let b = polygon[(i + 1) % polygon.len()];
        let (da, db) = (across.dot(a.to_vec2()) - at, across.dot(b.to_vec2()) - at);
        if (da < 0.0) != (db < 0.0) {
            let t = da / (da - db);
            cuts.push(along.dot((*a + (b - *a) * t).to_vec2()));
        }
    }
    cuts
}

/// Whether a point lies inside a polygon.
pub fn contains(polygon: &[Pos2], p: Pos2) -> bool {
    crossings(polygon, vec2(1.0, 0.0), vec2(0.0, 1.0), p.y).iter().filter(|x| **x < p.x).count() % 2 == 1
}

fn bounds(polygon: &[Pos2]) -> Rect {
    Rect::from_points(polygon)
}

/// A grid of cells over the polygon, each with a repeatable pair of numbers in 0..1.
fn scattered(polygon: &[Pos2], cell: f32) -> Vec<(Pos2, f32, f32)> {
    let area = bounds(polygon);
    let mut found = Vec::new();
    let (mut y, mut row) = (area.top(), 0_u32);
    while y < area.bottom() {
        let (mut x, mut column) = (area.left(), 0_u32);
        while x < area.right() {
            let (u, v) = speckle(row, column);
            let at = pos2(x + cell * (0.15 + 0.7 * u), y + cell * (0.15 + 0.7 * v));
            if contains(polygon, at) {
                found.push((at, u, v));
            }
            x += cell;
            column += 1;
        }
        y += cell;
        row += 1;
    }
    found
}

/// Two repeatable numbers in 0..1 for a cell: the same grain at every repaint.
fn speckle(row: u32, column: u32) -> (f32, f32) {
    let mut h = row.wrapping_mul(0x9E37_79B1) ^ column.wrapping_mul(0x85EB_CA77);
    h = (h ^ (h >> 15)).wrapping_mul(0x2C1B_3C6D);
    h = (h ^ (h >> 12)).wrapping_mul(0x297A_2D39);
    h ^= h >> 15;
    let unit = |bits: u32| f32::from(u16::try_from(bits & 0xFFFF).unwrap_or(0)) / 65_536.0;
    (unit(h), unit(h >> 16))
}

fn grains(painter: &Painter, polygon: &[Pos2], sheet: &Sheet) {
    for (at, u, v) in scattered(polygon, 9.0) {
        if u + v > 1.25 {
            let r = 2.6 + u;
            let turn = std::f32::consts::TAU * v;
            let corner = |k: f32| {
                let angle = turn + k * std::f32::consts::TAU / 3.0;
                at + vec2(angle.cos(), angle.sin()) * r
            };
            let stone = vec![corner(0.0), corner(1.0), corner(2.0)];
            if stone.iter().all(|p| contains(polygon, *p)) {
                painter.add(Shape::closed_line(stone, Stroke::new(1.0, sheet.rule)));
            }
        } else {
            painter.circle_filled(at, 0.9, sheet.rule);
        }
    }
}

fn waves(painter: &Painter, polygon: &[Pos2], stroke: Stroke) {
    let area = bounds(polygon);
    let (step, rise, row) = (2.0, 2.2, 9.0);
    let mut y = (area.top() / row).floor() * row;
    while y < area.bottom() {
        let mut run: Vec<Pos2> = Vec::new();
        let mut x = (area.left() / step).floor() * step;
        while x <= area.right() + step {
            let at = pos2(x, y + rise * (x * 0.42).sin());
            if contains(polygon, at) {
                run.push(at);
            } else if run.len() > 1 {
                painter.add(Shape::line(std::mem::take(&mut run), stroke));
            } else {
                run.clear();
            }
            x += step;
        }
        if run.len() > 1 {
            painter.add(Shape::line(run, stroke));
        }
        y += row;
    }
}

fn strokes(painter: &Painter, polygon: &[Pos2], stroke: Stroke, group: u8, cell: f32) {
    for (index, (at, u, _)) in scattered(polygon, cell).into_iter().enumerate() {
        let lean = if index % 2 == 0 { 1.0 } else { -1.0 };
        let reach = cell * (0.20 + 0.08 * u);
        for k in 0..group {
            let shift = vec2((f32::from(k) - f32::from(group - 1) / 2.0) * 3.2, 0.0);
            let (a, b) = (at + shift + vec2(-reach * lean, reach), at + shift + vec2(reach * lean, -reach));
            if contains(polygon, a) && contains(polygon, b) {
                painter.line_segment([a, b], stroke);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ell() -> Vec<Pos2> {
        vec![
            pos2(0.0, 0.0),
            pos2(40.0, 0.0),
            pos2(40.0, 20.0),
            pos2(20.0, 20.0),
            pos2(20.0, 40.0),
            pos2(0.0, 40.0),
        ]
    }

    #[test]
    fn hatching_of_a_square_has_the_length_geometry_gives() {
        // Lines at 10, 20, 30 and 40 through a square from 5 to 45: four of 40.
        let square = corners(Rect::from_min_size(pos2(5.0, 5.0), vec2(40.0, 40.0)));
        let lines = parallels(&square, vec2(1.0, 0.0), 10.0);
        let total: f32 = lines.iter().map(|[a, b]| a.distance(*b)).sum();
        assert_eq!(lines.len(), 4);
        assert!((total - 160.0).abs() < 1e-3);
    }

    #[test]
    fn hatching_stays_inside_a_reentrant_shape() {
        for direction in [vec2(1.0, -1.0), vec2(1.0, 1.0), vec2(1.0, 0.0)] {
            for [a, b] in parallels(&ell(), direction, 3.0) {
                for t in [0.05, 0.5, 0.95] {
                    let p = a + (b - a) * t;
                    if a.distance(b) > 0.1 {
                        assert!(contains(&ell(), p), "{p:?} of {a:?}–{b:?} lies outside");
                    }
                }
            }
        }
    }

    #[test]
    fn the_notch_of_an_ell_is_outside() {
        assert!(contains(&ell(), pos2(10.0, 30.0)));
        assert!(contains(&ell(), pos2(30.0, 10.0)));
        assert!(!contains(&ell(), pos2(30.0, 30.0)));
        assert!(!contains(&ell(), pos2(-1.0, 10.0)));
    }

    #[test]
    fn an_empty_or_broken_shape_gets_no_hatching() {
        assert!(parallels(&[], vec2(1.0, 1.0), 5.0).is_empty());
        assert!(parallels(&[pos2(f32::NAN, 0.0)], vec2(1.0, 1.0), 5.0).is_empty());
    }
}
