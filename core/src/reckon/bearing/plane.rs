//! The plane through the bearing levels: least squares in binary floats. It tells a tilt from a step and decides
//! nothing.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Point;
use crate::quantity::Length;
use crate::working::{Working, term};

/// A plane fitted to deviations.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Plane {
    /// Rise along x.
    pub slope_x_mm_per_m: f64,
    /// Rise along y.
    pub slope_y_mm_per_m: f64,
    /// Root of the mean of the squared residuals, √(Σr²/n).
    pub rms_mm: f64,
}

/// `None` with fewer than 3 points or all in one line, which is decided in whole micrometres.
pub(super) fn fit(points: &[Point], target: Length, working: &mut Working) -> Option<Plane> {
    if !spans_a_plane(points) {
        return None;
    }
    let count = f64::from(u32::try_from(points.len()).ok()?);
    let samples: Vec<[f64; 3]> = points
        .iter()
        .map(|point| {
            [point.x_mm.0.to_m_f64(), point.y_mm.0.to_m_f64(), (point.level_m.0 - target).to_mm_f64()]
        })
        .collect();
    let mean = |axis: usize| samples.iter().map(|sample| sample[axis]).sum::<f64>() / count;
    let means = [mean(0), mean(1), mean(2)];
    let moment = |a: usize, b: usize| {
        samples.iter().map(|sample| (sample[a] - means[a]) * (sample[b] - means[b])).sum::<f64>()
    };
    let (xx, xy, yy, xz, yz) = (moment(0, 0), moment(0, 1), moment(1, 1), moment(0, 2), moment(1, 2));
    let determinant = xx * yy - xy * xy;
    let slope_x = (xz * yy - yz * xy) / determinant;
    let slope_y = (yz * xx - xz * xy) / determinant;
    let squares: f64 = samples
        .iter()
        .map(|sample| {
            let residual =
                sample[2] - means[2] - slope_x * (sample[0] - means[0]) - slope_y * (sample[1] - means[1]);
            residual * residual
        })
        .sum();
    let rms = (squares / count).sqrt();
    if ![slope_x, slope_y, rms].iter().all(|value| value.is_finite()) {
        return None;
    }
    let text = |value: f64| term(&value.to_string());
    let [xx, xy, yy, xz, yz] = [xx, xy, yy, xz, yz].map(text);
    let source = "least squares, from the sums of products about the means";
    working.float(
        "plane: rise along x",
        format!("({xz} * {yy} - {yz} * {xy}) / ({xx} * {yy} - {xy} * {xy})"),
        slope_x,
        "mm/m",
        source,
    );
    working.float(
        "plane: rise along y",
        format!("({yz} * {xx} - {xz} * {xy}) / ({xx} * {yy} - {xy} * {xy})"),
        slope_y,
        "mm/m",
        source,
    );
    working.float(
        "plane: root mean square residual",
        format!("sqrt({} / {count})", text(squares)),
        rms,
        "mm",
        source,
    );
    Some(Plane { slope_x_mm_per_m: slope_x, slope_y_mm_per_m: slope_y, rms_mm: rms })
}

/// True when three of the points do not lie in one line.
fn spans_a_plane(points: &[Point]) -> bool {
    let place = |point: &Point| (i128::from(point.x_mm.0.um()), i128::from(point.y_mm.0.um()));
    let Some(first) = points.first().map(place) else {
        return false;
    };
    let Some(second) = points.iter().map(place).find(|other| *other != first) else {
        return false;
    };
    let (dx, dy) = (second.0 - first.0, second.1 - first.1);
    points.iter().map(place).any(|third| dx * (third.1 - first.1) != dy * (third.0 - first.0))
}
