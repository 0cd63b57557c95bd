//! Hatching of a convex shape as line segments, at 45° either way. Units are the caller's own; lines of all shapes
//! share one grid, so that hatching runs on from one wall to the next.

use super::Place;

/// Which way hatching leans.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lean {
    /// x + y is the same along a line.
    Falling,
    /// x − y is the same along a line.
    Rising,
}

/// Lines through a convex shape, `spacing` apart.
pub fn lines(corners: &[Place], lean: Lean, spacing: f64) -> Vec<[Place; 2]> {
    // Measured along x, lines of 45° stand √2 further apart than across.
    let step = spacing * std::f64::consts::SQRT_2;
    let ordinate = |at: Place| match lean {
        Lean::Falling => at[0] + at[1],
        Lean::Rising => at[0] - at[1],
    };
    let ordinates = || corners.iter().map(|at| ordinate(*at));
    let (low, high) =
        (ordinates().fold(f64::INFINITY, f64::min), ordinates().fold(f64::NEG_INFINITY, f64::max));
    let mut found = Vec::new();
    if !(low.is_finite() && high.is_finite() && step > 0.0) {
        return found;
    }
    let mut at = (low / step).ceil() * step;
    while at < high {
        let mut cuts: Vec<Place> = Vec::with_capacity(2);
        for (index, a) in corners.iter().enumerate() {
            let b = corners[(index + 1) % corners.len()];
            let (da, db) = (ordinate(*a) - at, ordinate(b) - at);
            // A corner counts for the edge that leaves it upwards only: the count is even.
            if (da < 0.0) != (db < 0.0) {
                let t = da / (da - db);
                cuts.push([a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t]);
            }
        }
        if let [from, to] = cuts[..] {
            found.push([from, to]);
        }
        at += step;
    }
    found
}
