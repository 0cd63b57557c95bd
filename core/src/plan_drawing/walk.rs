//! The walk from point to point: along the wall that one stands at, always to the nearest that is not read, then to
//! the wall that comes next. It only proposes: any point may be tapped.

use super::{Drawing, Place, Point};
use crate::ids::PointName;

impl Drawing {
    /// The point to read next after `after`, of those that are `free`; `None` when none is.
    ///
    /// On the same wall the nearest; where two are equally near, the later in the order of booking. Else the next
    /// wall with a free point, entered at whichever end of its free points is nearer. At the beginning the first
    /// free one in the order of booking.
    pub fn next_point(
        &self,
        after: Option<&PointName>,
        free: impl Fn(&PointName) -> bool,
    ) -> Option<&PointName> {
        let free: Vec<(usize, &Point)> =
            self.points.iter().enumerate().filter(|(_, point)| free(&point.name)).collect();
        let Some((_, from)) = after.and_then(|name| self.point(name)) else {
            return free.first().map(|(_, point)| &point.name);
        };
        let nearest = |among: &[(usize, &Point)]| {
            let key =
                |(place, point): &(usize, &Point)| (apart_mm(from.at, point.at), std::cmp::Reverse(*place));
            among.iter().min_by_key(|one| key(one)).map(|(place, _)| *place)
        };
        let on = |line: usize| -> Vec<(usize, &Point)> {
            free.iter().filter(|(_, point)| point.line == line).copied().collect()
        };
        let place = match nearest(&on(from.line)) {
            Some(place) => place,
            None => {
                let later = free.iter().map(|(_, point)| point.line).filter(|line| *line > from.line).min();
                let line = later.or_else(|| free.iter().map(|(_, point)| point.line).min())?;
                let there = on(line);
                nearest(&ends(&there))?
            }
        };
        self.points.get(place).map(|point| &point.name)
    }
}

/// The two of some points of one wall that lie furthest apart.
fn ends<'p>(points: &[(usize, &'p Point)]) -> Vec<(usize, &'p Point)> {
    let Some(first) = points.first() else { return Vec::new() };
    let furthest = |from: Place| points.iter().max_by_key(|(_, point)| apart_mm(from, point.at)).copied();
    let one = furthest(first.1.at).unwrap_or(*first);
    let other = furthest(one.1.at).unwrap_or(one);
    vec![one, other]
}

/// How far apart two places are, to the millimetre: nearer than that nobody walks.
#[expect(clippy::cast_possible_truncation, reason = "plans lie within 10 km")]
fn apart_mm(a: Place, b: Place) -> i64 {
    super::length([b[0] - a[0], b[1] - a[1]]).round() as i64
}
