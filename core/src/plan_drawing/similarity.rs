//! A picture behind the plan: where its corners lie when two of its places are those of the plan.
//!
//! The two places settle a turn, a scale and a shift, the same in both directions: a drawing is never stretched.

use super::{Place, length};
use crate::entry::UnderlayPlaced;
use crate::quantity::Length;

/// The way from a picture to the plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Similarity {
    /// Millimetres of the plan for one picture's width: along the picture's rows, as a direction of the plan.
    across: Place,
    /// The picture's upper left corner on the plan.
    corner: Place,
}

impl Similarity {
    /// From a placing; `None` where its places settle nothing (which the rules refuse).
    pub fn of(placed: &UnderlayPlaced) -> Option<Self> {
        #[expect(clippy::cast_precision_loss, reason = "20 widths in millionths are exact below 2^53")]
        let picture = placed.picture_ppm.map(|at| at.map(|one| one as f64 / 1e6));
        Self::between(picture, placed.plan_um.map(|at| at.map(Length::to_mm_f64)))
    }

    /// From two places of a picture, in widths of it from its upper left corner with y downwards, and the same two on
    /// the plan.
    pub fn between(picture: [Place; 2], plan: [Place; 2]) -> Option<Self> {
        // As complex numbers, the picture's y turned upwards: plan = a · picture + b.
        let [p, q] = picture.map(|[x, y]| [x, -y]);
        let by = [q[0] - p[0], q[1] - p[1]];
        let to = [plan[1][0] - plan[0][0], plan[1][1] - plan[0][1]];
        let square = by[0] * by[0] + by[1] * by[1];
        let extends = |size: f64| size.is_finite() && 0.0 < size;
        if !extends(square) || !extends(length(to)) {
            return None;
        }
        let across = [(to[0] * by[0] + to[1] * by[1]) / square, (to[1] * by[0] - to[0] * by[1]) / square];
        let corner = [
            plan[0][0] - (across[0] * p[0] - across[1] * p[1]),
            plan[0][1] - (across[1] * p[0] + across[0] * p[1]),
        ];
        Some(Self { across, corner })
    }

    /// The place on the plan of a place on the picture (in widths, y downwards).
    pub fn place(&self, [x, y]: Place) -> Place {
        let [x, y] = [x, -y];
        [
            self.corner[0] + self.across[0] * x - self.across[1] * y,
            self.corner[1] + self.across[1] * x + self.across[0] * y,
        ]
    }

    /// The picture's corners on the plan, from the upper left clockwise as one reads it. `tall`: its height in widths.
    pub fn corners(&self, tall: f64) -> [Place; 4] {
        [[0.0, 0.0], [1.0, 0.0], [1.0, tall], [0.0, tall]].map(|at| self.place(at))
    }

    /// Millimetres of the plan for one picture's width.
    pub fn width_mm(&self) -> f64 {
        length(self.across)
    }
}
