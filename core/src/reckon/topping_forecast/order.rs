//! The volume of a topping as drawn, and what is ordered for a volume: the same rounding as the forecast's.

use super::super::polygon::{self, Point};
use super::super::surface;
use crate::quantity::{Area, Factor, Length, Volume};
use crate::working::Working;

/// Area times thickness, all outlines together; `None` past what can be counted.
pub fn drawn_volume<'o>(outlines: impl Iterator<Item = &'o [Point]>, thickness: Length) -> Option<Volume> {
    let area: i128 = outlines.map(|outline| polygon::area(outline).um2()).sum();
    Volume::over(Area::from_um2(area), thickness, 1)
}

/// A volume with waste, up to the supplier's step; `None` for a step of 0 or less.
pub fn order_of(volume: Volume, waste: Factor, step: Volume) -> Option<Volume> {
    surface::with_waste(volume, waste, &mut Working::new()).up_to_step(step)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Mm;

    fn rectangle([x0, y0, x1, y1]: [i64; 4]) -> Vec<Point> {
        [[x0, y0], [x1, y0], [x1, y1], [x0, y1]].map(|place| place.map(|mm| Mm(Length::from_mm(mm)))).to_vec()
    }

    /// By hand: 8.360 × 3.960 + 5.160 × 3.360 = 33.1056 + 17.3376 = 50.4432 m²; × 0.080 = 4.035456 m³; + 5 % =
    /// 4.2372288, so 4.5 in steps of half a cubic metre.
    #[test]
    fn the_invented_plot_takes_four_and_a_half_cubic_metres() {
        let rooms = [rectangle([20, 20, 8380, 3980]), rectangle([20, 4235, 5180, 7595])];
        let volume = drawn_volume(rooms.iter().map(Vec::as_slice), Length::from_mm(80)).unwrap();
        assert_eq!(volume.to_m3_text(), "4.035456");
        let order = order_of(volume, Factor::whole(5), Volume::parse_m3("0.5").unwrap()).unwrap();
        assert_eq!(order.to_m3_text(), "4.5");
        assert_eq!(order_of(volume, Factor::whole(5), Volume::ZERO), None);
    }
}
