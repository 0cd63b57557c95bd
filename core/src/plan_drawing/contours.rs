//! Contours: lines of equal value over the triangles that the volume of the topping is reckoned with, clipped to the
//! outline. Straight within each triangle, so they are exact for the surface that the volume lies under.
//!
//! A value on a contour counts as above it, so that a level field has one edge and no line runs twice. Own, because
//! what there is (marching squares over rasters) would draw another surface than the one that was reckoned.

use std::collections::BTreeMap;

use super::Place;
use crate::quantity::Length;

/// The most different values that contours are drawn for.
const MOST_VALUES: i64 = 12;
/// Steps between contours, micrometres: 1, 2 or 5 times a power of ten.
const STEPS_UM: [i64; 9] = [1_000, 2_000, 5_000, 10_000, 20_000, 50_000, 100_000, 200_000, 500_000];

/// Contours of one quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Contours {
    /// What they join, in words: `depth`, `level less 48.150 m`.
    pub what: String,
    /// Whether values are written with their sign.
    pub signed: bool,
    /// Between two of them.
    pub step: Length,
    /// The lines, by value.
    pub lines: Vec<Contour>,
}

/// One contour.
#[derive(Debug, Clone, PartialEq)]
pub struct Contour {
    /// Its value.
    pub value: Length,
    /// Its places in order; where it closes, the last is the first.
    pub places: Vec<Place>,
}

impl Contours {
    /// The value as it is written on the line.
    pub fn label(&self, contour: &Contour) -> String {
        if self.signed { contour.value.signed_mm_text(0) } else { contour.value.mm_text(0) }
    }

    /// What the lines are, in words.
    pub fn legend(&self) -> String {
        format!("contours of {} every {} mm", self.what, self.step.to_mm_text())
    }
}

impl Contour {
    /// The place a share of the way along it.
    pub fn along(&self, share: f64) -> Place {
        let lengths: Vec<f64> = self.places.windows(2).map(|pair| apart(pair[0], pair[1])).collect();
        let mut left = lengths.iter().sum::<f64>() * share;
        for (pair, length) in self.places.windows(2).zip(&lengths) {
            if left <= *length && *length > 0.0 {
                return between(pair[0], pair[1], left / length);
            }
            left -= length;
        }
        self.places.last().copied().unwrap_or_default()
    }

    /// How long it is.
    pub fn length(&self) -> f64 {
        self.places.windows(2).map(|pair| apart(pair[0], pair[1])).sum()
    }
}

/// A surface: corners as x, y and value in millimetres, triangles over them, and the outline that it is clipped to.
#[derive(Debug, Clone, PartialEq)]
pub struct Surface {
    /// Corners.
    pub nodes: Vec<[f64; 3]>,
    /// Triangles by their corners.
    pub triangles: Vec<[usize; 3]>,
    /// Not closed.
    pub outline: Vec<Place>,
}

/// The step for values between a least and a greatest one, micrometres.
pub fn step(least_um: i64, greatest_um: i64) -> i64 {
    let range = greatest_um - least_um;
    let fits = |step: &i64| range / step < MOST_VALUES;
    STEPS_UM.into_iter().find(fits).unwrap_or(STEPS_UM[STEPS_UM.len() - 1])
}

/// Contours over some surfaces at every multiple of a step, micrometres.
pub fn contours(surfaces: &[Surface], step_um: i64) -> Vec<Contour> {
    let values = || surfaces.iter().flat_map(|surface| &surface.nodes).map(|node| node[2]);
    let (least, greatest) =
        (values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max));
    if !(least.is_finite() && greatest.is_finite()) || step_um <= 0 {
        return Vec::new();
    }
    #[expect(clippy::cast_possible_truncation, reason = "values lie within 20 m of the floor")]
    let first = (least * 1e3) as i64 / step_um - 1;
    let mut lines = Vec::new();
    for number in first..first + 4 + 2 * MOST_VALUES {
        let value = Length::from_um(number * step_um);
        let level = value.to_mm_f64();
        if level <= least || greatest < level {
            continue;
        }
        for surface in surfaces {
            let chains = chains(surface, level);
            let clipped = chains.into_iter().flat_map(|chain| clip(&chain, &surface.outline));
            lines.extend(clipped.map(|places| Contour { value, places }));
        }
    }
    lines
}

/// An edge of a triangle by its corners, the lower number first.
type Edge = (usize, usize);

/// Lines of one value over the triangles, each from edge to edge as far as it goes.
fn chains(surface: &Surface, level: f64) -> Vec<Vec<Place>> {
    let above = |corner: usize| surface.nodes[corner][2] >= level;
    let mut next: BTreeMap<Edge, Vec<Edge>> = BTreeMap::new();
    for triangle in &surface.triangles {
        let sides = [(0, 1), (1, 2), (2, 0)].map(|(a, b)| (triangle[a], triangle[b]));
        let crossed: Vec<Edge> = sides
            .into_iter()
            .filter(|(a, b)| above(*a) != above(*b))
            .map(|(a, b)| (a.min(b), a.max(b)))
            .collect();
        if let [a, b] = crossed[..] {
            next.entry(a).or_default().push(b);
            next.entry(b).or_default().push(a);
        }
    }
    let at = |(a, b): Edge| {
        let (from, to) = (surface.nodes[a], surface.nodes[b]);
        let share = (level - from[2]) / (to[2] - from[2]);
        between([from[0], from[1]], [to[0], to[1]], share)
    };
    let mut chains = Vec::new();
    // Lines that end first, from one of their ends; what is left then closes.
    for open in [true, false] {
        let starts: Vec<Edge> = next.keys().copied().collect();
        for start in starts {
            let count = next.get(&start).map_or(0, Vec::len);
            if count == 0 || (open && count != 1) {
                continue;
            }
            let (mut here, mut places) = (start, vec![at(start)]);
            while let Some(there) = next.get_mut(&here).and_then(Vec::pop) {
                if let Some(back) = next.get_mut(&there) {
                    back.retain(|edge| *edge != here);
                }
                places.push(at(there));
                here = there;
            }
            chains.push(places);
        }
    }
    chains
}

/// What of a line lies inside an outline.
pub(super) fn clip(line: &[Place], outline: &[Place]) -> Vec<Vec<Place>> {
    let mut kept: Vec<Vec<Place>> = Vec::new();
    let mut running: Vec<Place> = Vec::new();
    for pair in line.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let mut shares = vec![0.0, 1.0];
        for index in 0..outline.len() {
            shares.extend(crossing(a, b, outline[index], outline[(index + 1) % outline.len()]));
        }
        shares.sort_by(f64::total_cmp);
        for part in shares.windows(2) {
            let middle = between(a, b, f64::midpoint(part[0], part[1]));
            if part[1] - part[0] > 0.0 && holds(outline, middle) {
                if running.is_empty() {
                    running.push(between(a, b, part[0]));
                }
                running.push(between(a, b, part[1]));
            } else if part[1] - part[0] > 0.0 {
                kept.push(std::mem::take(&mut running));
            }
        }
    }
    kept.push(running);
    kept.retain(|line| line.len() > 1);
    kept
}

/// The share of the way from a to b at which an edge from p to q is crossed.
fn crossing(a: Place, b: Place, p: Place, q: Place) -> Option<f64> {
    let (ab, pq) = ([b[0] - a[0], b[1] - a[1]], [q[0] - p[0], q[1] - p[1]]);
    let turn = ab[0] * pq[1] - ab[1] * pq[0];
    if turn == 0.0 {
        return None;
    }
    let ap = [p[0] - a[0], p[1] - a[1]];
    let on_line = (ap[0] * pq[1] - ap[1] * pq[0]) / turn;
    let on_edge = (ap[0] * ab[1] - ap[1] * ab[0]) / turn;
    ((0.0..=1.0).contains(&on_line) && (0.0..=1.0).contains(&on_edge)).then_some(on_line)
}

/// Whether a place lies inside an outline: edges crossed on the way to the right.
fn holds(outline: &[Place], at: Place) -> bool {
    let mut inside = false;
    for index in 0..outline.len() {
        let (a, b) = (outline[index], outline[(index + 1) % outline.len()]);
        if (a[1] <= at[1]) != (b[1] <= at[1]) && at[0] < a[0] + (b[0] - a[0]) * (at[1] - a[1]) / (b[1] - a[1])
        {
            inside = !inside;
        }
    }
    inside
}

fn between(a: Place, b: Place, share: f64) -> Place {
    [a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share]
}

fn apart(a: Place, b: Place) -> f64 {
    super::length([b[0] - a[0], b[1] - a[1]])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Mm;
    use crate::reckon::surface;

    const L: [(i64, i64); 6] =
        [(0, 0), (8_000, 0), (8_000, 4_000), (5_000, 4_000), (5_000, 7_000), (0, 7_000)];

    /// A surface over the L, read every 500 mm and at its corners.
    fn read(value: impl Fn(f64, f64) -> f64) -> Surface {
        let mm = |x: i64, y: i64| [Mm(Length::from_mm(x)), Mm(Length::from_mm(y))];
        let outline: Vec<_> = L.iter().map(|(x, y)| mm(*x, *y)).collect();
        let places = (0..=16).flat_map(|i| (0..=14).map(move |j| (i * 500, j * 500)));
        let samples: Vec<_> = places
            .filter(|(x, y)| *x <= 5_000 || *y <= 4_000)
            .map(|(x, y)| {
                let (fx, fy) = (f64::from(i32::try_from(x).unwrap()), f64::from(i32::try_from(y).unwrap()));
                #[expect(clippy::cast_possible_truncation)]
                let um = (value(fx, fy) * 1e3).round() as i64;
                (mm(x, y), Length::from_um(um))
            })
            .collect();
        let (nodes, triangles) = surface::mesh(&outline, &samples);
        let outline = outline.iter().map(|place| place.map(|one| one.0.to_mm_f64())).collect();
        Surface { nodes, triangles, outline }
    }

    #[test]
    fn contours_of_a_tilted_plane_are_its_straight_lines_as_long_as_the_floor() {
        // z = 70 + x / 500 mm: the contour of z lies at x = 500 (z − 70), through the whole height of the L there.
        let surface = read(|x, _| 70.0 + x / 500.0);
        let lines = contours(&[surface], 1_000);
        let values: Vec<i64> = lines.iter().map(|line| line.value.um() / 1_000).collect();
        // The contour of 86 would lie on the outline's own edge, which is drawn already.
        assert_eq!(values, (71..=85).collect::<Vec<_>>(), "one line for each");
        for line in &lines {
            let x = 500.0 * (line.value.to_mm_f64() - 70.0);
            assert!(line.places.iter().all(|at| (at[0] - x).abs() < 1e-6), "{line:?}");
            // At 5000 the upper part of the line would lie on the outline's own edge as well.
            let height = if x < 5_000.0 { 7_000.0 } else { 4_000.0 };
            assert!((line.length() - height).abs() < 1e-6, "{} {}", line.value.to_mm_text(), line.length());
        }
    }

    #[test]
    fn a_slanting_plane_keeps_its_value_on_every_contour() {
        let value = |x: f64, y: f64| 60.0 + x / 400.0 - y / 250.0;
        let lines = contours(&[read(value)], 2_000);
        assert!(lines.len() > 10);
        for line in &lines {
            for at in &line.places {
                assert!((value(at[0], at[1]) - line.value.to_mm_f64()).abs() < 1e-6);
            }
        }
    }

    #[test]
    fn contours_of_a_cone_lie_within_its_chords_of_circles_and_close() {
        // z = distance from (2500, 2500) / 100: radius 100 z. Between readings 500 mm apart the surface is flat, so a
        // contour lies off its circle by no more than a chord of one triangle (its side 707 mm) lets it.
        let surface = read(|x, y| ((x - 2_500.0).powi(2) + (y - 2_500.0).powi(2)).sqrt() / 100.0);
        let lines = contours(&[surface], 5_000);
        for line in
            lines.iter().filter(|line| line.value == Length::from_mm(15) || line.value == Length::from_mm(20))
        {
            let radius = 100.0 * line.value.to_mm_f64();
            let sagitta = radius - (radius * radius - 353.6 * 353.6).sqrt();
            for at in &line.places {
                let off = ((at[0] - 2_500.0).powi(2) + (at[1] - 2_500.0).powi(2)).sqrt() - radius;
                assert!(off.abs() <= sagitta, "{off} over {sagitta}");
            }
            assert_eq!(line.places.first(), line.places.last(), "it closes");
            let round = 2.0 * std::f64::consts::PI * radius;
            assert!((line.length() / round - 1.0).abs() < 0.02, "{} of {round}", line.length());
        }
        assert_eq!(lines.iter().filter(|line| line.value == Length::from_mm(15)).count(), 1);
    }

    #[test]
    fn a_level_field_on_a_contour_has_one_edge_and_a_level_floor_none() {
        assert!(contours(&[read(|_, _| 80.0)], 1_000).is_empty());
        let lines = contours(&[read(|x, _| if x < 2_750.0 { 79.5 } else { 80.0 })], 1_000);
        assert_eq!(lines.len(), 1);
        assert!(lines[0].places.iter().all(|at| (at[0] - 3_000.0).abs() < 1e-6));
    }

    #[test]
    fn steps_keep_the_lines_few() {
        for (range_mm, expect) in
            [(0, 1_000), (11, 1_000), (12, 2_000), (23, 2_000), (24, 5_000), (90, 10_000)]
        {
            assert_eq!(step(70_000, 70_000 + range_mm * 1_000), expect, "{range_mm}");
        }
    }
}
