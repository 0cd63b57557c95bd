//! The demo's finished topping: depths and levels of a shallow dish with ripples, and nine days of temperatures.

use gaugerod_core::entry::{PlacingNoted, Temperature, TemperaturesBooked};
use gaugerod_core::floor::FloorDesign;
use gaugerod_core::ids::{HoldPointId, PointName};
use gaugerod_core::quantity::Length;
use gaugerod_core::time::{LocalTime, Timestamp};

/// How long the demo's topping cures before it is finished on paper, in milliseconds.
pub const CURING_MS: i64 = 9 * 24 * 3_600_000;
/// Hours between two readings of the demo's logger, and how many there are.
const EVERY_H: i64 = 2;
const READINGS: i64 = 106;

/// How far the floor rises above the bottom of its dish at a place, with a ripple, in whole millimetres.
fn dish(design: &FloorDesign, point: &PointName) -> i64 {
    let grid = design.finish_grid();
    let Some((index, place)) = (0_i64..).zip(&grid).find(|(_, place)| place.name == *point) else { return 0 };
    let mm = |length: Length| length.um() / 1_000;
    let (dx, dy) = (mm(place.x) - 4_600, mm(place.y) - 3_400);
    (dx * dx + dy * dy) / 2_600_000 + [0, 1, -1, 0, 2, 0, 1][usize::try_from(index % 7).unwrap_or(0)]
}

/// Level less the finished topping's, in millimetres.
pub fn level(design: &FloorDesign, point: &PointName) -> i64 {
    dish(design, point) - 4
}

/// Depth less the design's, in millimetres.
pub fn depth(design: &FloorDesign, point: &PointName) -> i64 {
    9 - dish(design, point)
}

/// When the topping was placed, and its temperatures since then, as a logger gives them.
pub fn curing(hold_point: &HoldPointId, placed: Timestamp) -> (PlacingNoted, TemperaturesBooked) {
    let placed = LocalTime::of(placed);
    let reading = |number: i64| {
        let hours = number * EVERY_H;
        // It warms while it sets, then follows the days; tenths of a degree.
        let set = (14 - (hours - 14).abs()).max(0) * 6;
        let day = [0, 4, 9, 15, 19, 22, 21, 17, 12, 7, 3, 1][usize::try_from(number % 12).unwrap_or(0)];
        let tenths = 138 + set + day;
        let at = placed.plus_hours(f64::from(i32::try_from(hours).unwrap_or(0)));
        let text = format!("{}.{}", tenths / 10, tenths % 10);
        Temperature { at, concrete_c: text.trim_end_matches('0').trim_end_matches('.').to_owned() }
    };
    let temperatures = TemperaturesBooked {
        hold_point: hold_point.clone(),
        readings: (0..READINGS).map(reading).collect(),
        file: Some("logger-7-invented.csv".to_owned()),
    };
    (PlacingNoted { hold_point: hold_point.clone(), at: placed }, temperatures)
}
