//! Polygons in plan, exactly: whole micrometres, products in 128 bits.
//!
//! Own, because the geometry crate's check lets outlines pass that touch themselves at a corner or run back on
//! themselves.

use super::Place;
use crate::quantity::Length;

/// Why an outline is no simple polygon.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum OutlineFault {
    /// Fewer than three corners.
    TooFewCorners,
    /// The corner lies on the one before it.
    Repeated(usize),
    /// These two edges cross, touch, or run back on one another.
    Crossing(usize, usize),
}

impl std::fmt::Display for OutlineFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::TooFewCorners => f.write_str("must have at least three corners"),
            Self::Repeated(corner) => write!(f, "corner {corner} repeats the one before it"),
            Self::Crossing(a, b) => write!(f, "edges {a} and {b} cross or touch: must be a simple polygon"),
        }
    }
}

/// A place in whole micrometres.
type Micro = (i128, i128);

/// Checks that an outline, not closed, is a simple polygon; names the first fault.
pub(crate) fn check_outline(outline: &[Place]) -> Result<(), OutlineFault> {
    let corners: Vec<Micro> = outline.iter().map(micro).collect();
    let count = corners.len();
    if count < 3 {
        return Err(OutlineFault::TooFewCorners);
    }
    if let Some(corner) = (0..count).find(|&i| corners[i] == corners[(i + count - 1) % count]) {
        return Err(OutlineFault::Repeated(corner));
    }
    let edge = |i: usize| (corners[i], corners[(i + 1) % count]);
    for a in 0..count {
        for b in a + 1..count {
            let ((p, q), (r, s)) = (edge(a), edge(b));
            let crossing = if b == a + 1 {
                runs_back(p, q, s)
            } else if a == 0 && b == count - 1 {
                runs_back(r, s, q)
            } else {
                meet((p, q), (r, s))
            };
            if crossing {
                return Err(OutlineFault::Crossing(a, b));
            }
        }
    }
    Ok(())
}

/// Whether a place lies within an outline or on its edge.
pub(crate) fn holds(outline: &[Place], place: &Place) -> bool {
    let at = micro(place);
    let corners: Vec<Micro> = outline.iter().map(micro).collect();
    let mut inside = false;
    for index in 0..corners.len() {
        let (a, b) = (corners[index], corners[(index + 1) % corners.len()]);
        if meet((a, b), (at, at)) {
            return true;
        }
        // Counted over edges that pass the place on its right: an upward one has it on its left hand.
        if (a.1 > at.1) != (b.1 > at.1) && (cross(a, b, at) > 0) == (b.1 > a.1) {
            inside = !inside;
        }
    }
    inside
}

fn micro(place: &Place) -> Micro {
    (i128::from(place[0].0.um()), i128::from(place[1].0.um()))
}

/// Twice the signed area of the triangle.
fn cross(a: Micro, b: Micro, c: Micro) -> i128 {
    (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0)
}

/// Whether the way a → b → c turns right round at b.
fn runs_back(a: Micro, b: Micro, c: Micro) -> bool {
    cross(a, b, c) == 0 && (b.0 - a.0) * (c.0 - b.0) + (b.1 - a.1) * (c.1 - b.1) < 0
}

/// Whether two segments have a point in common.
fn meet((p, q): (Micro, Micro), (r, s): (Micro, Micro)) -> bool {
    let on = |a: Micro, b: Micro, c: Micro| {
        cross(a, b, c) == 0
            && a.0.min(b.0) <= c.0
            && c.0 <= a.0.max(b.0)
            && a.1.min(b.1) <= c.1
            && c.1 <= a.1.max(b.1)
    };
    let side = |a, b, c| cross(a, b, c).signum();
    (side(p, q, r) * side(p, q, s) < 0 && side(r, s, p) * side(r, s, q) < 0)
        || on(p, q, r)
        || on(p, q, s)
        || on(r, s, p)
        || on(r, s, q)
}

/// Whether a place lies inside an outline, `edge` at least from every edge of it; on the edge counts where `edge` is 0.
/// False as well where a coordinate is past all reason.
pub(crate) fn clear_inside(outline: &[Place], (x, y): (Length, Length), edge: Length) -> bool {
    let p = (i128::from(x.um()), i128::from(y.um()));
    let corners: Vec<Micro> = outline.iter().map(micro).collect();
    let mut inside = false;
    for index in 0..corners.len() {
        let (a, b) = (corners[index], corners[(index + 1) % corners.len()]);
        let turn = cross(a, b, p);
        let between = (p.0 - a.0) * (b.0 - a.0) + (p.1 - a.1) * (b.1 - a.1);
        let square = (b.0 - a.0) * (b.0 - a.0) + (b.1 - a.1) * (b.1 - a.1);
        let on_edge = turn == 0 && 0 <= between && between <= square;
        if on_edge {
            return edge == Length::ZERO;
        }
        if !is_away(p, (a, b), (turn, between, square), edge) {
            return false;
        }
        // Edges crossed on the way to the right; an edge counts its lower end and not its upper one.
        let rises = a.1 <= p.1 && p.1 < b.1;
        let falls = b.1 <= p.1 && p.1 < a.1;
        if (rises && turn > 0) || (falls && turn < 0) {
            inside = !inside;
        }
    }
    inside
}

/// Whether a place lies so far from a segment at least; `turn`, `between` and `square` are theirs.
fn is_away(
    p: Micro,
    (a, b): (Micro, Micro),
    (turn, between, square): (i128, i128, i128),
    edge: Length,
) -> bool {
    let least = i128::from(edge.um());
    let apart = |a: Micro| {
        let (dx, dy) = (p.0 - a.0, p.1 - a.1);
        dx.checked_mul(dx)?.checked_add(dy.checked_mul(dy)?)
    };
    let far = if between <= 0 {
        apart(a).map(|apart| least * least <= apart)
    } else if square <= between {
        apart(b).map(|apart| least * least <= apart)
    } else {
        // |turn| / √square ≥ least, in whole numbers.
        least.checked_mul(least).and_then(|own| own.checked_mul(square)).map(|product| {
            let root = product.isqrt();
            let root = if root * root < product { root + 1 } else { root };
            root <= turn.abs()
        })
    };
    far.unwrap_or(false)
}

/// Whether a segment meets an edge of an outline.
pub(crate) fn segment_meets(outline: &[Place], from: (Length, Length), to: (Length, Length)) -> bool {
    let at = |(x, y): (Length, Length)| (i128::from(x.um()), i128::from(y.um()));
    let corners: Vec<Micro> = outline.iter().map(micro).collect();
    let edge = |index: usize| (corners[index], corners[(index + 1) % corners.len()]);
    (0..corners.len()).any(|index| meet((at(from), at(to)), edge(index)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Mm;

    #[test]
    fn a_place_is_clear_inside_from_its_distance_on() {
        let mm = Length::from_mm;
        let corners = [(0, 0), (10, 0), (10, 4), (6, 4), (6, 8), (0, 8)];
        let outline: Vec<Place> = corners.iter().map(|&(x, y)| [Mm(mm(x)), Mm(mm(y))]).collect();
        let um = Length::from_um;
        for (x, y, edge, expect) in [
            (2_000, 2_000, 2_000, true), // just as far as asked
            (1_999, 2_000, 2_000, false),
            (2_001, 2_001, 2_000, true),
            (0, 3_000, 0, true), // on the edge
            (0, 3_000, 1, false),
            (-1, 3_000, 0, false),
            (8_000, 6_000, 0, false),    // in the notch
            (4_586, 2_586, 1_999, true), // from the corner of the notch 1.414 · √2 = 2 mm
            (4_586, 2_586, 2_001, false),
        ] {
            assert_eq!(clear_inside(&outline, (um(x), um(y)), um(edge)), expect, "{x} {y} {edge}");
        }
    }

    fn check(corners: &[(i64, i64)], expect: Result<(), OutlineFault>) {
        let outline: Vec<Place> =
            corners.iter().map(|&(x, y)| [Mm(Length::from_mm(x)), Mm(Length::from_mm(y))]).collect();
        assert_eq!(check_outline(&outline), expect, "{corners:?}");
    }

    #[test]
    fn an_outline_holds_what_lies_within_it_or_on_its_edge() {
        let mm = |x: i64, y: i64| [Mm(Length::from_mm(x)), Mm(Length::from_mm(y))];
        let mut outline = [(0, 0), (10, 0), (10, 4), (6, 4), (6, 8), (0, 8)].map(|(x, y)| mm(x, y)).to_vec();
        for _ in 0..2 {
            for (x, y, held) in [
                (3, 4, true),
                (8, 2, true),
                (8, 4, true),
                (8, 5, false),
                (6, 6, true),
                (7, 6, false),
                (0, 0, true),
                (10, 4, true),
                (11, 4, false),
                (-1, 0, false),
                (3, 8, true),
                (3, 9, false),
            ] {
                assert_eq!(holds(&outline, &mm(x, y)), held, "{x}, {y}");
            }
            outline.reverse();
        }
    }

    #[test]
    fn an_outline_is_simple_or_says_where_it_is_not() {
        let l = [(0, 0), (10, 0), (10, 4), (6, 4), (6, 8), (0, 8)];
        check(&l, Ok(()));
        let mut turned = l;
        turned.reverse();
        check(&turned, Ok(()));
        // A corner in the middle of a straight edge is no fault.
        check(&[(0, 0), (5, 0), (10, 0), (10, 4)], Ok(()));
        check(&[(0, 0), (1, 0)], Err(OutlineFault::TooFewCorners));
        check(&[(0, 0), (4, 0), (4, 0), (0, 4)], Err(OutlineFault::Repeated(2)));
        check(&[(0, 0), (4, 0), (4, 4), (0, 0)], Err(OutlineFault::Repeated(0)));
        // A bow tie, a spike, a corner on another corner, a corner on an edge.
        check(&[(0, 0), (4, 4), (4, 0), (0, 4)], Err(OutlineFault::Crossing(0, 2)));
        check(&[(0, 0), (6, 0), (4, 0), (4, 4)], Err(OutlineFault::Crossing(0, 1)));
        check(&[(0, 0), (4, 0), (2, 2), (4, 4), (0, 4), (2, 2)], Err(OutlineFault::Crossing(1, 4)));
        check(&[(0, 0), (4, 0), (4, 4), (2, 0), (0, 4)], Err(OutlineFault::Crossing(0, 2)));
    }
}
