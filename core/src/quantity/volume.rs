//! Volumes as whole cubic millimetres: a millionth of a litre is finer than any measure of concrete.

use std::iter::Sum;
use std::ops::{Add, Sub};

use super::{Area, Length, QuantityFault, div_half_away, parse_scaled, scaled_text};

/// Cubic micrometres in a cubic millimetre.
const UM3_PER_MM3: i128 = 1_000_000_000;
/// The furthest from zero that a volume may be written: a cubic kilometre.
const VOLUME_BOUND_MM3: i128 = 1_000_000_000_000_000_000;

/// A volume in whole cubic millimetres.
///
/// Range: what is read from text lies within ±1 km³.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Volume(i128);

impl Volume {
    /// No volume.
    pub const ZERO: Self = Self(0);

    /// From whole cubic millimetres.
    pub const fn from_mm3(mm3: i128) -> Self {
        Self(mm3)
    }

    /// Whole cubic millimetres.
    pub const fn mm3(self) -> i128 {
        self.0
    }

    /// Reads a decimal number of cubic metres exactly.
    pub fn parse_m3(text: &str) -> Result<Self, QuantityFault> {
        parse_scaled(text, 9, VOLUME_BOUND_MM3, QuantityFault::FinerThanCubicMillimetre, "1 km³").map(Self)
    }

    /// Cubic metres as the shortest exact decimal.
    pub fn to_m3_text(self) -> String {
        scaled_text(self.0, 9)
    }

    /// An area times `height / count`, rounded half away from zero to the cubic millimetre; `None` past 128 bits or
    /// when `count` is 0.
    pub fn over(area: Area, height: Length, count: i64) -> Option<Self> {
        let product = area.um2().checked_mul(i128::from(height.um()))?;
        if count == 0 { None } else { Some(Self(div_half_away(product, i128::from(count) * UM3_PER_MM3))) }
    }

    /// Cubic millimetres found in binary floats to the nearest whole one: only for volumes under a surface, whose
    /// parts are clipped along an outline.
    #[expect(clippy::cast_possible_truncation, reason = "rounded; the cast saturates")]
    pub fn nearest_mm3(mm3: f64) -> Self {
        Self(mm3.round() as i128)
    }

    /// `self · num / den`, rounded half away from zero to the cubic millimetre; `None` past 128 bits or when `den`
    /// is 0.
    pub fn share(self, num: i128, den: i128) -> Option<Self> {
        if den == 0 { None } else { self.0.checked_mul(num).map(|product| Self(div_half_away(product, den))) }
    }

    /// The least whole number of `step` that holds it, times `step`; nothing below zero. `None` for a step of 0 or
    /// less.
    pub fn up_to_step(self, step: Self) -> Option<Self> {
        if step.0 <= 0 {
            return None;
        }
        let wanted = self.0.max(0);
        let steps = wanted / step.0 + i128::from(wanted % step.0 != 0);
        steps.checked_mul(step.0).map(Self)
    }

    /// Cubic metres as a binary float, for drawing and statistics.
    #[expect(
        clippy::cast_precision_loss,
        reason = "a cubic kilometre loses cubic millimetres, nothing else does"
    )]
    pub fn to_m3_f64(self) -> f64 {
        self.0 as f64 / 1e9
    }
}

impl Add for Volume {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl Sub for Volume {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl Sum for Volume {
    fn sum<I: Iterator<Item = Self>>(volumes: I) -> Self {
        volumes.fold(Self::ZERO, Add::add)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn volume(text: &str) -> Volume {
        Volume::parse_m3(text).unwrap()
    }

    #[test]
    fn volumes_read_and_print_exactly() {
        for text in ["4.035456", "0.000000001", "-0.5", "0"] {
            assert_eq!(volume(text).to_m3_text(), text);
        }
        assert_eq!(Volume::parse_m3("0.0000000001"), Err(QuantityFault::FinerThanCubicMillimetre));
        assert_eq!(Volume::parse_m3("1000000001"), Err(QuantityFault::OutOfRange { bound: "1 km³" }));
    }

    #[test]
    fn an_order_on_a_step_stays_there() {
        let step = volume("0.1");
        for (wanted, expect) in
            [("4.199999999", "4.2"), ("4.2", "4.2"), ("4.200000001", "4.3"), ("0", "0"), ("-1", "0")]
        {
            assert_eq!(volume(wanted).up_to_step(step).unwrap(), volume(expect), "{wanted}");
        }
        assert_eq!(volume("1").up_to_step(Volume::ZERO), None);
    }

    #[test]
    fn an_area_times_a_height_is_exact() {
        let area = Area::parse_m2("50.4432").unwrap();
        assert_eq!(Volume::over(area, Length::from_mm(80), 1), Some(volume("4.035456")));
        assert_eq!(Volume::over(area, Length::from_mm(80), 3), Some(volume("1.345152")));
        assert_eq!(Volume::over(area, Length::from_mm(80), 0), None);
    }
}
