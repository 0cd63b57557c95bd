//! A surface of depths on plan: Delaunay triangles over the readings, clipped to an outline, and the volume under it.
//!
//! Binary floats between whole micrometres in and whole cubic millimetres out. Where four readings lie on one circle
//! either diagonal is Delaunay's; readings are sorted by place first, so that the order of a sheet changes nothing.
//! The clipping is done here, on the floats themselves: a polygon library lays them on a grid of its own, and an
//! order that ends on the supplier's step would be lifted to the next one by that.

use delaunator::triangulate;
use geo::coordinate_position::CoordPos;
use geo::{Coord, CoordinatePosition, LineString, Polygon};

use super::polygon::{self, Point};
use crate::faults::Faults;
use crate::quantity::{Area, Factor, Length, Volume};
use crate::working::{ARITHMETIC, COMMON_PRACTICE, FLOOR_DESIGN, Working, mm, of_many, real, term};

/// Terms of one step of the working; a longer sum is told in several steps.
const TERMS: usize = 100;
const TRIANGLES: &str = "Delaunay triangles over readings and corners, clipped to the outline";

/// A depth at a place.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sample<'n> {
    pub name: &'n str,
    pub place: Point,
    pub depth: Length,
}

/// The area inside an outline, with its step.
pub(super) fn area(outline: &[Point], working: &mut Working) -> Area {
    let area = polygon::area(outline);
    working.m2("area", polygon::area_formula(outline), area, "shoelace formula");
    area
}

/// Two readings at one place: a surface has one depth there.
pub(super) fn refuse_same_places(list: &str, places: impl Iterator<Item = Point>, faults: &mut Faults) {
    let mut first = std::collections::HashMap::new();
    for (index, place) in places.enumerate() {
        if let Some(earlier) = first.get(&place) {
            faults.add(format!("{list}/{index}"), format!("lies at the place of {list}/{earlier}"));
        } else {
            first.insert(place, index);
        }
    }
}

/// The volume between an outline's plane and the surface through the samples, told where there is a working to tell
/// it in; `None` without a sample.
pub(super) fn volume(
    outline: &[Point],
    samples: &[Sample<'_>],
    mut working: Option<&mut Working>,
) -> Option<Volume> {
    let (origin, nodes) = nodes(outline, samples, working.as_deref_mut())?;
    let clip = Clip::new(outline, &origin);
    let mut sum = Sum::new(working);
    for [a, b, c] in triangles(&nodes) {
        sum.add(clip.inside(&[nodes[a], nodes[b], nodes[c]]));
    }
    Some(sum.finish())
}

/// The surface that a volume lies under, for drawing: corners with their place and depth in millimetres, and
/// triangles over them, anticlockwise. Not clipped to the outline. Empty without a sample.
pub(crate) fn mesh(outline: &[Point], samples: &[(Point, Length)]) -> (Vec<[f64; 3]>, Vec<[usize; 3]>) {
    let named: Vec<Sample<'_>> =
        samples.iter().map(|(place, depth)| Sample { name: "", place: *place, depth: *depth }).collect();
    let Some((origin, nodes)) = nodes(outline, &named, None) else { return (Vec::new(), Vec::new()) };
    let at = |node: &Node| {
        [node.x / 1e3 + origin[0].0.to_mm_f64(), node.y / 1e3 + origin[1].0.to_mm_f64(), node.depth / 1e3]
    };
    (nodes.iter().map(at).collect(), triangles(&nodes))
}

/// Samples, and corners of the outline with the depth of their nearest sample, sorted by place; they count from the
/// outline's first corner.
fn nodes(
    outline: &[Point],
    samples: &[Sample<'_>],
    mut working: Option<&mut Working>,
) -> Option<(Point, Vec<Node>)> {
    if samples.is_empty() {
        return None;
    }
    // Floats are finest near zero, so places count from a corner of the plan.
    let origin = *outline.first()?;
    let mut nodes: Vec<Node> =
        samples.iter().map(|sample| Node::new(&sample.place, &origin, sample.depth)).collect();
    for (index, corner) in outline.iter().enumerate() {
        let nearest = samples.iter().min_by_key(|sample| polygon::length_squared(&sample.place, corner))?;
        if nearest.place == *corner {
            continue;
        }
        if let Some(working) = working.as_deref_mut() {
            let step = format!("corner {index} of the outline takes its nearest reading, {}", nearest.name);
            working.mm(step, mm(nearest.depth), nearest.depth, COMMON_PRACTICE);
        }
        nodes.push(Node::new(corner, &origin, nearest.depth));
    }
    nodes.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    Some((origin, nodes))
}

fn triangles(nodes: &[Node]) -> Vec<[usize; 3]> {
    let places: Vec<delaunator::Point> =
        nodes.iter().map(|node| delaunator::Point { x: node.x, y: node.y }).collect();
    // They come clockwise for an axis that points up.
    let corners = triangulate(&places).triangles;
    corners.chunks_exact(3).map(|triangle| [triangle[2], triangle[1], triangle[0]]).collect()
}

/// A corner of a triangle, or of what is left of it: place and depth in micrometres.
#[derive(Debug, Clone, Copy)]
struct Node {
    x: f64,
    y: f64,
    depth: f64,
}

impl Node {
    fn new(place: &Point, origin: &Point, depth: Length) -> Self {
        let (x, y) = from_origin(place, origin);
        Self { x, y, depth: whole_um(depth) }
    }

    fn place(&self) -> Place {
        (self.x, self.y)
    }
}

fn from_origin(place: &Point, origin: &Point) -> Place {
    (whole_um(place[0].0 - origin[0].0), whole_um(place[1].0 - origin[1].0))
}

/// Micrometres as a binary float, exactly.
#[expect(clippy::cast_precision_loss, reason = "±10 km in micrometres is exact below 2^53")]
fn whole_um(length: Length) -> f64 {
    length.um() as f64
}

/// What lies inside the outline of one triangle: its area in µm² and the volume under it in µm³.
#[derive(Debug, Clone, Copy, Default)]
struct Piece {
    area: f64,
    volume: f64,
}

/// A place in micrometres.
type Place = (f64, f64);

/// The smallest upright box round some places.
#[derive(Debug, Clone, Copy)]
struct Bounds {
    left: f64,
    right: f64,
    bottom: f64,
    top: f64,
}

impl Bounds {
    fn round(places: &[Place]) -> Self {
        let nothing = Self {
            left: f64::INFINITY,
            right: f64::NEG_INFINITY,
            bottom: f64::INFINITY,
            top: f64::NEG_INFINITY,
        };
        places.iter().fold(nothing, |all, (x, y)| Self {
            left: all.left.min(*x),
            right: all.right.max(*x),
            bottom: all.bottom.min(*y),
            top: all.top.max(*y),
        })
    }

    /// Whether the insides have something in common; an edge without width has its length for an inside.
    fn meets(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.bottom < other.top
            && other.bottom < self.top
    }
}

/// An outline that triangles are clipped to. Its edges are sorted into level bands, so that a triangle looks only at
/// edges near its height.
struct Clip {
    /// Anticlockwise.
    corners: Vec<Place>,
    edges: Vec<(Place, Place, Bounds)>,
    bands: Vec<Vec<usize>>,
    bottom: f64,
    band_height: f64,
}

impl Clip {
    fn new(outline: &[Point], origin: &Point) -> Self {
        let mut corners: Vec<Place> = outline.iter().map(|place| from_origin(place, origin)).collect();
        if polygon::twice_area(outline) < 0 {
            corners.reverse();
        }
        let edges: Vec<(Place, Place, Bounds)> = corners
            .iter()
            .zip(corners.iter().cycle().skip(1))
            .map(|(a, b)| (*a, *b, Bounds::round(&[*a, *b])))
            .collect();
        let whole = Bounds::round(&corners);
        let bands = u32::try_from(corners.len()).unwrap_or(1).max(1);
        let mut clip = Self {
            corners,
            bands: vec![Vec::new(); bands as usize],
            bottom: whole.bottom,
            band_height: ((whole.top - whole.bottom) / f64::from(bands)).max(1.0),
            edges,
        };
        for (index, (_, _, edge)) in clip.edges.iter().enumerate() {
            for band in clip.band(edge.bottom)..=clip.band(edge.top) {
                clip.bands[band].push(index);
            }
        }
        clip
    }

    /// The band that a height lies in; the first or the last for heights beyond the outline.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "the cast saturates")]
    fn band(&self, y: f64) -> usize {
        (((y - self.bottom) / self.band_height) as usize).min(self.bands.len() - 1)
    }

    /// What of a triangle lies inside. A triangle that rounding turned inside out counts against its neighbours, so
    /// that nothing counts twice.
    fn inside(&self, triangle: &[Node; 3]) -> Piece {
        let [a, b, c] = triangle;
        let twice = cross(a.place(), b.place(), c.place());
        if twice < 0.0 {
            let Piece { area, volume } = self.inside(&[*a, *c, *b]);
            return Piece { area: -area, volume: -volume };
        }
        if twice == 0.0 {
            return Piece::default();
        }
        let bounds = Bounds::round(&triangle.map(|node| node.place()));
        // An edge that only touches the box from outside leaves the triangle whole or empty.
        let near = (self.band(bounds.bottom)..=self.band(bounds.top))
            .any(|band| self.bands[band].iter().any(|edge| self.edges[*edge].2.meets(&bounds)));
        if near {
            return self.clipped(triangle);
        }
        let middle = ((a.x + b.x + c.x) / 3.0, (a.y + b.y + c.y) / 3.0);
        if self.holds(middle) { integral(triangle) } else { Piece::default() }
    }

    /// Whether a point that is on no edge lies inside: edges crossed on the way to the right.
    fn holds(&self, (x, y): Place) -> bool {
        let mut inside = false;
        for edge in &self.bands[self.band(y)] {
            let ((ax, ay), (bx, by), _) = self.edges[*edge];
            if (ay <= y) != (by <= y) && x < ax + (bx - ax) * (y - ay) / (by - ay) {
                inside = !inside;
            }
        }
        inside
    }

    /// The outline cut by the three sides of the triangle (Sutherland and Hodgman). The outline may fold back: what
    /// runs to and fro along a side then cancels out in the integral.
    fn clipped(&self, triangle: &[Node; 3]) -> Piece {
        let mut kept = self.corners.clone();
        for side in 0..3 {
            let (a, b) = (&triangle[side], &triangle[(side + 1) % 3]);
            let signed: Vec<f64> = kept.iter().map(|corner| cross(a.place(), b.place(), *corner)).collect();
            let mut next = Vec::with_capacity(kept.len() + 4);
            for index in 0..kept.len() {
                let after = (index + 1) % kept.len();
                let (here, there) = (signed[index], signed[after]);
                if here >= 0.0 {
                    next.push(kept[index]);
                }
                if (here > 0.0 && there < 0.0) || (here < 0.0 && there > 0.0) {
                    let part = here / (here - there);
                    let ((ax, ay), (bx, by)) = (kept[index], kept[after]);
                    next.push((ax + (bx - ax) * part, ay + (by - ay) * part));
                }
            }
            kept = next;
        }
        let plane = Plane::through(triangle);
        let nodes: Vec<Node> = kept.into_iter().map(|(x, y)| plane.at(x, y)).collect();
        integral(&nodes)
    }
}

/// Twice the signed area of a triangle, positive anticlockwise.
fn cross((ax, ay): Place, (bx, by): Place, (cx, cy): Place) -> f64 {
    (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
}

/// The plane through a triangle's depths.
struct Plane {
    origin: Node,
    along_x: f64,
    along_y: f64,
}

impl Plane {
    fn through([a, b, c]: &[Node; 3]) -> Self {
        let twice = cross(a.place(), b.place(), c.place());
        let (b_depth, c_depth) = (b.depth - a.depth, c.depth - a.depth);
        Self {
            origin: *a,
            along_x: (b_depth * (c.y - a.y) - c_depth * (b.y - a.y)) / twice,
            along_y: (c_depth * (b.x - a.x) - b_depth * (c.x - a.x)) / twice,
        }
    }

    fn at(&self, x: f64, y: f64) -> Node {
        let depth =
            self.origin.depth + self.along_x * (x - self.origin.x) + self.along_y * (y - self.origin.y);
        Node { x, y, depth }
    }
}

/// Area of a polygon and volume under it: triangles about its first corner, with their signs.
fn integral(nodes: &[Node]) -> Piece {
    let Some((first, rest)) = nodes.split_first() else {
        return Piece::default();
    };
    let mut piece = Piece::default();
    for pair in rest.windows(2) {
        let area = cross(first.place(), pair[0].place(), pair[1].place()) / 2.0;
        piece.area += area;
        piece.volume += area * (first.depth + pair[0].depth + pair[1].depth) / 3.0;
    }
    piece
}

/// Pieces added up, told in steps of a hundred terms.
struct Sum<'w> {
    working: Option<&'w mut Working>,
    volume: f64,
    part: f64,
    terms: Vec<String>,
    parts: Vec<String>,
}

impl<'w> Sum<'w> {
    fn new(working: Option<&'w mut Working>) -> Self {
        Self { working, volume: 0.0, part: 0.0, terms: Vec::new(), parts: Vec::new() }
    }

    fn add(&mut self, piece: Piece) {
        // Square and cubic millimetres.
        let (area, volume) = (piece.area / 1e6, piece.volume / 1e9);
        self.volume += volume;
        self.part += volume;
        // A sliver that clipping left has no depth to speak of.
        if self.working.is_none() || area.abs() < 1e-6 {
            return;
        }
        self.terms.push(format!("{area:.3} * {}", term(&format!("{:.6}", volume / area))));
        if self.terms.len() == TERMS {
            self.tell();
        }
    }

    fn tell(&mut self) {
        let Some(working) = self.working.as_deref_mut() else {
            return;
        };
        if self.terms.is_empty() {
            return;
        }
        let part = self.part / 1e9;
        working.float(
            format!(
                "volume, part {}: area in mm² times mean depth in mm of each triangle",
                self.parts.len() + 1
            ),
            format!("{} / 1000000000", bracketed(&self.terms)),
            part,
            "m3",
            TRIANGLES,
        );
        self.parts.push(real(part));
        self.terms.clear();
        self.part = 0.0;
    }

    fn finish(mut self) -> Volume {
        self.tell();
        let volume = Volume::nearest_mm3(self.volume);
        if let Some(working) = self.working {
            working.m3("volume under the surface", of_many("sum", &self.parts), volume, ARITHMETIC);
        }
        volume
    }
}

fn bracketed(terms: &[String]) -> String {
    if let [one] = terms { format!("({one})") } else { of_many("sum", terms) }
}

/// A volume with its waste, and how it comes about.
pub(super) fn with_waste(volume: Volume, waste: Factor, working: &mut Working) -> Volume {
    let hundred = 100_000_000;
    let order = volume
        .share(i128::from(hundred + waste.millionths()), i128::from(hundred))
        .expect("BUG: volumes and waste are bounded");
    working.m3(
        "volume with waste",
        format!("{} * (1 + {} / 100)", term(&volume.to_m3_text()), waste.to_text()),
        order,
        FLOOR_DESIGN,
    );
    order
}

/// Samples outside of the outline, which is often a slip in a coordinate.
pub(super) fn outside<'n>(outline: &[Point], samples: &[Sample<'n>]) -> Vec<&'n str> {
    let coord = |place: &Point| Coord { x: whole_um(place[0].0), y: whole_um(place[1].0) };
    let polygon = Polygon::new(LineString::new(outline.iter().map(coord).collect()), Vec::new());
    let lies_outside =
        |sample: &&Sample<'_>| polygon.coordinate_position(&coord(&sample.place)) == CoordPos::Outside;
    samples.iter().filter(lies_outside).map(|sample| sample.name).collect()
}
