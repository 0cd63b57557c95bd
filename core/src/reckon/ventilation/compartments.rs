//! Parts of the void between dividing walls, split in whole micrometres, and whether air can cross each of them.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{DividingWall, Input, any_opposite, edge, vented};
use crate::conformity::Verdict;
use crate::faults::Faults;
use crate::quantity::{Area, SquareMetres};
use crate::reckon::Finding;
use crate::reckon::polygon::{self, Point, edges, um};
use crate::working::COMMON_PRACTICE;

/// One part of the void.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Compartment {
    /// Its outline.
    pub outline_mm: Vec<Point>,
    /// Its area.
    pub area_m2: SquareMetres,
    /// Openings to open air in its own walls, by their place in the input.
    pub openings: Vec<u32>,
    /// Whether air can cross it, through its own openings or those of its neighbours.
    pub verdict: Verdict,
}

/// The parts of the void, and which of them have an opening between them.
pub(super) struct Parts {
    outlines: Vec<Vec<Point>>,
    /// Parts with the same number are joined through dividing walls.
    group: Vec<usize>,
}

/// The most stretches of wall, end to end, that together cross a part of the floor.
const LONGEST_CHAIN: usize = 6;

/// Splits an outline along its dividing walls, whatever their order.
pub(super) fn split(outline: &[Point], walls: &[DividingWall]) -> Result<Parts, Faults> {
    let mut outlines = vec![outline.to_vec()];
    let mut waiting: Vec<usize> = (0..walls.len()).collect();
    while let Some(crossing) = crossing(&outlines, walls, &waiting) {
        outlines[crossing.part] = crossing.one;
        outlines.insert(crossing.part + 1, crossing.other);
        waiting.retain(|index| !crossing.chain.contains(index));
    }
    let mut faults = Faults::new();
    for index in waiting {
        faults.add(
            format!("/dividing_walls/{index}/line_mm"),
            "must run across the floor, from the outline or another dividing wall to the outline or another",
        );
    }
    faults.into_result(())?;
    let group = join(&outlines, walls)?;
    Ok(Parts { outlines, group })
}

/// Walls, end to end, that split a part in two.
struct Crossing {
    chain: Vec<usize>,
    part: usize,
    one: Vec<Point>,
    other: Vec<Point>,
}

/// The first crossing by as few walls as will do.
fn crossing(outlines: &[Vec<Point>], walls: &[DividingWall], waiting: &[usize]) -> Option<Crossing> {
    (1..=LONGEST_CHAIN.min(waiting.len())).find_map(|count| {
        waiting.iter().find_map(|first| {
            let line = &walls[*first].line_mm;
            let back: Vec<Point> = line.iter().rev().copied().collect();
            extend(outlines, walls, waiting, (&[*first], line), count)
                .or_else(|| extend(outlines, walls, waiting, (&[*first], &back), count))
        })
    })
}

/// Lengthens a chain to `count` walls and tries it on every part.
fn extend(
    outlines: &[Vec<Point>],
    walls: &[DividingWall],
    waiting: &[usize],
    (chain, line): (&[usize], &[Point]),
    count: usize,
) -> Option<Crossing> {
    if chain.len() == count {
        return outlines.iter().enumerate().find_map(|(part, ring)| {
            let (one, other) = split_ring(ring, line)?;
            Some(Crossing { chain: chain.to_vec(), part, one, other })
        });
    }
    let end = line.last()?;
    waiting.iter().filter(|next| !chain.contains(next)).find_map(|next| {
        let mut further = walls[*next].line_mm.clone();
        if further.last() == Some(end) {
            further.reverse();
        }
        if further.first() != Some(end) {
            return None;
        }
        let line = [line, &further[1..]].concat();
        extend(outlines, walls, waiting, (&[chain, &[*next]].concat(), &line), count)
    })
}

/// Joins parts that have an opening between them.
fn join(outlines: &[Vec<Point>], walls: &[DividingWall]) -> Result<Vec<usize>, Faults> {
    let mut group: Vec<usize> = (0..outlines.len()).collect();
    let mut faults = Faults::new();
    for (index, wall) in walls.iter().enumerate() {
        let beside: Vec<usize> =
            (0..outlines.len()).filter(|part| borders(&outlines[*part], &wall.line_mm)).collect();
        let [one, other] = beside.as_slice() else {
            faults.add(
                format!("/dividing_walls/{index}/line_mm"),
                "other walls end on it: give each stretch between them as a wall of its own",
            );
            continue;
        };
        if Area::ZERO < wall.openings_mm2.total() {
            let (from, to) = (group[*other], group[*one]);
            for member in group.iter_mut().filter(|member| **member == from) {
                *member = to;
            }
        }
    }
    faults.into_result(group)
}

/// The two rings that a line makes of one, when it runs inside from one place of its boundary to another.
fn split_ring(ring: &[Point], line: &[Point]) -> Option<(Vec<Point>, Vec<Point>)> {
    let (start, end) = (line.first()?, line.last()?);
    if start == end {
        return None;
    }
    let ring = with_vertex(with_vertex(ring.to_vec(), start)?, end)?;
    let at = |point: &Point| ring.iter().position(|vertex| vertex == point);
    let (from, to) = (at(start)?, at(end)?);
    let inside = &line[1..line.len() - 1];
    let walk = |from: usize, to: usize| {
        let steps = (to + ring.len() - from) % ring.len();
        (0..=steps).map(|step| ring[(from + step) % ring.len()]).collect::<Vec<Point>>()
    };
    let mut one = walk(from, to);
    one.extend(inside.iter().rev());
    let mut other = walk(to, from);
    other.extend(inside.iter());
    let whole = polygon::twice_area(&ring).signum();
    let sound = |part: &[Point]| {
        let mut faults = Faults::new();
        polygon::check_outline("", part, &mut faults);
        faults.is_empty() && polygon::twice_area(part).signum() == whole
    };
    if sound(&one) && sound(&other) { Some((one, other)) } else { None }
}

/// The ring with this point as a vertex; `None` when it does not lie on the boundary.
fn with_vertex(mut ring: Vec<Point>, point: &Point) -> Option<Vec<Point>> {
    if ring.contains(point) {
        return Some(ring);
    }
    let index = edges(&ring).position(|(a, b)| stretch(a, b, point, point).is_some())?;
    ring.insert(index + 1, *point);
    Some(ring)
}

/// The stretch of c–d that lies on a–b, as distances along a–b times its length; `None` when they have no point in
/// common or are not in one line.
fn stretch(a: &Point, b: &Point, c: &Point, d: &Point) -> Option<(i128, i128)> {
    let (origin, along) = (um(a), (um(b).0 - um(a).0, um(b).1 - um(a).1));
    let relative = |point: &Point| (um(point).0 - origin.0, um(point).1 - origin.1);
    let (c, d) = (relative(c), relative(d));
    let in_line = |point: (i128, i128)| along.0 * point.1 == along.1 * point.0;
    if !in_line(c) || !in_line(d) {
        return None;
    }
    let place = |point: (i128, i128)| along.0 * point.0 + along.1 * point.1;
    let (low, high) = (place(c).min(place(d)), place(c).max(place(d)));
    let (low, high) = (low.max(0), high.min(along.0 * along.0 + along.1 * along.1));
    if low <= high { Some((low, high)) } else { None }
}

/// True when a part has a stretch of this wall in its boundary.
fn borders(ring: &[Point], line: &[Point]) -> bool {
    line.windows(2).any(|pair| {
        edges(ring).any(|(a, b)| stretch(&pair[0], &pair[1], a, b).is_some_and(|(low, high)| low < high))
    })
}

impl Parts {
    /// Compartments with their openings. Where the floor's openings lie on opposite sides, so must those that each
    /// compartment is joined to, or air does not cross it.
    pub(super) fn judged(
        self,
        input: &Input,
        opposed: bool,
        findings: &mut Vec<Finding>,
    ) -> Vec<Compartment> {
        let owner: Vec<Option<usize>> =
            input.openings.iter().map(|opening| self.owner(input, opening)).collect();
        let mut compartments = Vec::new();
        for (part, outline) in self.outlines.iter().enumerate() {
            let reached = input
                .openings
                .iter()
                .zip(&owner)
                .filter(|(_, owner)| owner.is_some_and(|owner| self.group[owner] == self.group[part]));
            let sides = vented(reached.map(|(opening, _)| opening));
            let crossed = if opposed { any_opposite(input, &sides) } else { !sides.is_empty() };
            let own = (0u32..).zip(&owner).filter(|(_, owner)| **owner == Some(part)).map(|(index, _)| index);
            compartments.push(Compartment {
                outline_mm: outline.clone(),
                area_m2: SquareMetres(polygon::area(outline)),
                openings: own.collect(),
                verdict: Verdict::of(crossed),
            });
        }
        if compartments.len() > 1 || input.openings.is_empty() {
            for (part, compartment) in compartments.iter().enumerate() {
                let reason = match compartment.verdict {
                    Verdict::Conforming => format!("air can cross compartment {part}"),
                    _ => format!(
                        "compartment {part} has no free path: open the dividing wall or ask the designer"
                    ),
                };
                let rule = "every compartment has a free path";
                findings.push(Finding::new(rule, compartment.verdict, reason, COMMON_PRACTICE));
            }
        }
        compartments
    }

    /// The part in whose boundary an opening stands.
    fn owner(&self, input: &Input, opening: &super::Opening) -> Option<usize> {
        let (a, b) = edge(input, opening.edge);
        let length = polygon::length_mm(a, b);
        let place = opening.along_mm.0.to_mm_f64() * length;
        self.outlines.iter().position(|ring| {
            edges(ring).any(|(c, d)| {
                stretch(a, b, c, d).is_some_and(|(low, high)| {
                    low < high
                        && square_mm(low) - length * 1e-6 <= place
                        && place <= square_mm(high) + length * 1e-6
                })
            })
        })
    }
}

/// Square micrometres as square millimetres in a binary float.
#[expect(clippy::cast_precision_loss, reason = "which part an opening stands in is told to a nanometre")]
fn square_mm(um2: i128) -> f64 {
    um2 as f64 / 1_000_000.0
}
