//! Lengths and areas as whole micrometres and square micrometres: exact to read, exact to print.
//!
//! A level is a [`Length`] above the site datum. Inside the program a length is a [`Length`]; in JSON and TOML it
//! is a decimal number whose key ends in its unit, carried by [`Mm`], [`Metres`], [`Km`], [`Mm2`] or
//! [`SquareMetres`]; in the record it is a whole number of micrometres (the serde form of `Length` itself).
//! Physics and statistics reckon in binary floats, carried by [`Real`].
//!
//! Never here: a binary float that becomes a length. `52.300 − 0.300` is exactly `52.000`. What is finer than a
//! micrometre is refused, not rounded.
//!
//! Longer than most files because the units share private arithmetic that nothing else may reach.

use std::borrow::Cow;
use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};
use std::str::FromStr;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de, ser};
use serde_json::Number;

mod real;
mod volume;

pub use real::Real;
pub use volume::Volume;

/// Micrometres in a millimetre.
const UM_PER_MM: i64 = 1_000;
/// Micrometres in a metre.
const UM_PER_M: i64 = 1_000_000;
/// The furthest from zero that a length may be written: 10 km. Sums of such lengths cannot overflow.
pub const LENGTH_BOUND_UM: i64 = 10_000 * UM_PER_M;
/// The furthest from zero that an area may be written: the square of that, 100 km².
const AREA_BOUND_UM2: i128 = (LENGTH_BOUND_UM as i128) * (LENGTH_BOUND_UM as i128);
/// The furthest from zero that a [`Factor`] may be written: a million.
const FACTOR_BOUND: i128 = 1_000_000 * 1_000_000;

/// Why a text or a number is no quantity. Worded to follow the place: `/points/3/level_m: must be …`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum QuantityFault {
    /// Not a decimal number.
    #[error("must be a number")]
    NotANumber,
    /// Beyond the range of any number the program computes with.
    #[error("must be a finite number")]
    NotFinite,
    /// A length with a part below a micrometre.
    #[error("must not be finer than a micrometre")]
    FinerThanMicrometre,
    /// An area with a part below a square micrometre.
    #[error("must not be finer than a square micrometre")]
    FinerThanSquareMicrometre,
    /// A volume with a part below a cubic millimetre.
    #[error("must not be finer than a cubic millimetre")]
    FinerThanCubicMillimetre,
    /// A plain number with more than six decimals.
    #[error("must not have more than six decimals")]
    MoreThanSixDecimals,
    /// Not zero, yet nearer to it than a binary float can be.
    #[error("must be 0, or further from 0 than 1e-300")]
    TooNearZero,
    /// Past the bound of its kind.
    #[error("must lie within ±{bound}")]
    OutOfRange {
        /// The bound, in words with its unit.
        bound: &'static str,
    },
}

/// A length, or a level above the site datum, in whole micrometres.
///
/// Range: what is read from text lies within ±10 km; sums and differences of such values are exact. Arithmetic
/// beyond ±9.2 × 10¹² m saturates, a place that no sum of read lengths reaches.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Length(i64);

impl Length {
    /// No length.
    pub const ZERO: Self = Self(0);

    /// From whole micrometres.
    pub const fn from_um(um: i64) -> Self {
        Self(um)
    }

    /// From whole millimetres.
    pub const fn from_mm(mm: i64) -> Self {
        Self(mm.saturating_mul(UM_PER_MM))
    }

    /// Whole micrometres.
    pub const fn um(self) -> i64 {
        self.0
    }

    /// Reads a decimal number of millimetres, such as `7.07` or `-1.2e3`, exactly.
    pub fn parse_mm(text: &str) -> Result<Self, QuantityFault> {
        Self::parse(text, 3)
    }

    /// Reads a decimal number of metres, such as `47.810`, exactly.
    pub fn parse_m(text: &str) -> Result<Self, QuantityFault> {
        Self::parse(text, 6)
    }

    /// Reads a decimal number of kilometres, such as `0.25`, exactly.
    pub fn parse_km(text: &str) -> Result<Self, QuantityFault> {
        Self::parse(text, 9)
    }

    fn parse(text: &str, scale: i32) -> Result<Self, QuantityFault> {
        let um = parse_scaled(
            text,
            scale,
            i128::from(LENGTH_BOUND_UM),
            QuantityFault::FinerThanMicrometre,
            "10 km",
        )?;
        Ok(Self(i64::try_from(um).expect("BUG: the bound fits into 64 bits")))
    }

    /// Millimetres as the shortest exact decimal: `7.07`, `-3`, `0.001`.
    pub fn to_mm_text(self) -> String {
        scaled_text(i128::from(self.0), 3)
    }

    /// Metres as the shortest exact decimal: `47.81`, `-0.003`.
    pub fn to_m_text(self) -> String {
        scaled_text(i128::from(self.0), 6)
    }

    /// Kilometres as the shortest exact decimal: `0.25`.
    pub fn to_km_text(self) -> String {
        scaled_text(i128::from(self.0), 9)
    }

    /// Millimetres with this many decimals (at most 3), rounded half away from zero: for screens and paper.
    pub fn mm_text(self, decimals: u32) -> String {
        rounded_text(self.0, 3, decimals)
    }

    /// Metres with this many decimals (at most 6), rounded half away from zero: for screens and paper.
    pub fn m_text(self, decimals: u32) -> String {
        rounded_text(self.0, 6, decimals)
    }

    /// Millimetres with sign, rounded like [`mm_text`](Self::mm_text): `+9`, `−2` (U+2212), `0`.
    pub fn signed_mm_text(self, decimals: u32) -> String {
        let text = self.mm_text(decimals);
        match text.strip_prefix('-') {
            Some(digits) => format!("\u{2212}{digits}"),
            None if text.chars().any(|c| c.is_ascii_digit() && c != '0') => format!("+{text}"),
            None => text,
        }
    }

    /// The distance from zero.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.saturating_abs())
    }

    /// True below zero.
    pub const fn is_negative(self) -> bool {
        self.0 < 0
    }

    /// `self · num / den`, rounded half away from zero to the micrometre. A `den` of 0 shares nothing out: zero.
    #[must_use]
    pub fn share(self, num: i64, den: i64) -> Self {
        if den == 0 {
            return Self::ZERO;
        }
        let product = i128::from(self.0) * i128::from(num);
        let whole = div_half_away(product, i128::from(den));
        Self(i64::try_from(whole).unwrap_or(if whole < 0 { i64::MIN } else { i64::MAX }))
    }

    /// `self · √2`, rounded half away from zero to the micrometre, in whole numbers throughout.
    #[must_use]
    pub fn times_sqrt2(self) -> Self {
        let twice_square = 2 * i128::from(self.0) * i128::from(self.0);
        let root = twice_square.isqrt();
        // 2x² is no square of a half-integer, so the nearest whole number is decided by the remainder alone.
        let rounded = if twice_square - root * root > root { root + 1 } else { root };
        let um = i64::try_from(rounded).unwrap_or(i64::MAX);
        Self(if self.0 < 0 { -um } else { um })
    }

    /// Millimetres as a binary float, for probability, plane fits and drawing only; never back into a length.
    #[expect(clippy::cast_precision_loss, reason = "±10 km in micrometres is exact below 2^53")]
    pub fn to_mm_f64(self) -> f64 {
        self.0 as f64 / 1_000.0
    }

    /// Metres as a binary float; the same caution.
    pub fn to_m_f64(self) -> f64 {
        self.to_mm_f64() / 1_000.0
    }
}

impl Add for Length {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl Sub for Length {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl Neg for Length {
    type Output = Self;
    fn neg(self) -> Self {
        Self(self.0.saturating_neg())
    }
}

impl Mul<i64> for Length {
    type Output = Self;
    fn mul(self, times: i64) -> Self {
        Self(self.0.saturating_mul(times))
    }
}

impl AddAssign for Length {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl SubAssign for Length {
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl Sum for Length {
    fn sum<I: Iterator<Item = Self>>(lengths: I) -> Self {
        lengths.fold(Self::ZERO, Add::add)
    }
}

/// The record's form: a whole number of micrometres, within ±10 km when read.
impl Serialize for Length {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_i64(self.0)
    }
}

impl<'de> Deserialize<'de> for Length {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let um = i64::deserialize(deserializer)?;
        if (-LENGTH_BOUND_UM..=LENGTH_BOUND_UM).contains(&um) {
            Ok(Self(um))
        } else {
            Err(de::Error::custom(QuantityFault::OutOfRange { bound: "10 km" }))
        }
    }
}

impl JsonSchema for Length {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "Length".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({"type": "integer", "minimum": -LENGTH_BOUND_UM, "maximum": LENGTH_BOUND_UM})
    }
}

/// An area in whole square micrometres.
///
/// Range: what is read from text lies within ±100 km²; a polygon whose coordinates lie within ±10 km stays exact.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Area(i128);

impl Area {
    /// No area.
    pub const ZERO: Self = Self(0);

    /// From whole square micrometres.
    pub const fn from_um2(um2: i128) -> Self {
        Self(um2)
    }

    /// From whole square millimetres.
    pub const fn from_mm2(mm2: i64) -> Self {
        Self(mm2 as i128 * 1_000_000)
    }

    /// Whole square micrometres.
    pub const fn um2(self) -> i128 {
        self.0
    }

    /// Reads a decimal number of square millimetres exactly.
    pub fn parse_mm2(text: &str) -> Result<Self, QuantityFault> {
        Self::parse(text, 6)
    }

    /// Reads a decimal number of square metres exactly.
    pub fn parse_m2(text: &str) -> Result<Self, QuantityFault> {
        Self::parse(text, 12)
    }

    fn parse(text: &str, scale: i32) -> Result<Self, QuantityFault> {
        parse_scaled(text, scale, AREA_BOUND_UM2, QuantityFault::FinerThanSquareMicrometre, "100 km²")
            .map(Self)
    }

    /// Square millimetres as the shortest exact decimal.
    pub fn to_mm2_text(self) -> String {
        scaled_text(self.0, 6)
    }

    /// Square metres as the shortest exact decimal.
    pub fn to_m2_text(self) -> String {
        scaled_text(self.0, 12)
    }

    /// `self · num / den`, rounded half away from zero to the square micrometre; `None` past 128 bits or when
    /// `den` is 0.
    pub fn share(self, num: i128, den: i128) -> Option<Self> {
        if den == 0 { None } else { self.0.checked_mul(num).map(|product| Self(div_half_away(product, den))) }
    }
}

impl Add for Area {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl Sub for Area {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl Sum for Area {
    fn sum<I: Iterator<Item = Self>>(areas: I) -> Self {
        areas.fold(Self::ZERO, Add::add)
    }
}

/// A plain decimal number without unit, such as a coverage factor: whole millionths, so that it compares exactly.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Factor(i64);

impl Factor {
    /// From a whole number.
    pub const fn whole(number: i32) -> Self {
        Self(number as i64 * 1_000_000)
    }

    /// From whole millionths.
    pub const fn from_millionths(millionths: i64) -> Self {
        Self(millionths)
    }

    /// Reads a decimal number with at most six decimals, within ±1 000 000.
    pub fn parse(text: &str) -> Result<Self, QuantityFault> {
        let millionths =
            parse_scaled(text, 6, FACTOR_BOUND, QuantityFault::MoreThanSixDecimals, "1 000 000")?;
        Ok(Self(i64::try_from(millionths).expect("BUG: the bound fits into 64 bits")))
    }

    /// The number in millionths.
    pub const fn millionths(self) -> i64 {
        self.0
    }

    /// The shortest exact decimal.
    pub fn to_text(self) -> String {
        scaled_text(i128::from(self.0), 6)
    }

    /// As a binary float.
    #[expect(clippy::cast_precision_loss, reason = "a million millions is exact below 2^53")]
    pub fn to_f64(self) -> f64 {
        self.0 as f64 / 1_000_000.0
    }
}

/// A wrapper that is a decimal number in JSON and TOML, read and written exactly.
macro_rules! decimal_form {
    ($(#[$doc:meta])* $name:ident($inner:ty), $unit:literal, $parse:path, $text:path) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub $inner);

        impl From<$inner> for $name {
            fn from(inner: $inner) -> Self {
                Self(inner)
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                Number::from_str(&$text(self.0)).map_err(ser::Error::custom)?.serialize(serializer)
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let number = Number::deserialize(deserializer)?;
                $parse(number.as_str()).map(Self).map_err(de::Error::custom)
            }
        }

        impl JsonSchema for $name {
            fn inline_schema() -> bool {
                true
            }
            fn schema_name() -> Cow<'static, str> {
                stringify!($name).into()
            }
            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                json_schema!({"type": "number", "unit": $unit})
            }
        }
    };
}

decimal_form! {
    /// A length as decimal millimetres: keys that end in `_mm`.
    Mm(Length), "mm", Length::parse_mm, Length::to_mm_text
}
decimal_form! {
    /// A length as decimal metres: keys that end in `_m`.
    Metres(Length), "m", Length::parse_m, Length::to_m_text
}
decimal_form! {
    /// A length as decimal kilometres: keys that end in `_km`.
    Km(Length), "km", Length::parse_km, Length::to_km_text
}
decimal_form! {
    /// An area as decimal square millimetres: keys that end in `_mm2`, and rates such as `_mm2_per_m`.
    Mm2(Area), "mm2", Area::parse_mm2, Area::to_mm2_text
}
decimal_form! {
    /// An area as decimal square metres: keys that end in `_m2`.
    SquareMetres(Area), "m2", Area::parse_m2, Area::to_m2_text
}
decimal_form! {
    /// A volume as decimal cubic metres: keys that end in `_m3`.
    CubicMetres(Volume), "m3", Volume::parse_m3, Volume::to_m3_text
}
decimal_form! {
    /// A plain number with at most six decimals.
    Plain(Factor), "1", Factor::parse, Factor::to_text
}

/// Checks a number's text against what the schema keyword `unit` asks for; an unknown unit asks for nothing.
pub fn check_unit(unit: &str, text: &str) -> Result<(), QuantityFault> {
    match unit {
        "mm" => Length::parse_mm(text).map(drop),
        "m" => Length::parse_m(text).map(drop),
        "km" => Length::parse_km(text).map(drop),
        "mm2" => Area::parse_mm2(text).map(drop),
        "m2" => Area::parse_m2(text).map(drop),
        "m3" => Volume::parse_m3(text).map(drop),
        "1" => Factor::parse(text).map(drop),
        "real" => Real::parse(text).map(drop),
        _ => Ok(()),
    }
}

/// Reads decimal text times 10^scale as a whole number. Grammar: sign, digits with an optional point, an optional
/// exponent; at least one digit. No spaces, no `_`, no `inf`.
fn parse_scaled(
    text: &str,
    scale: i32,
    bound: i128,
    finer: QuantityFault,
    bound_text: &'static str,
) -> Result<i128, QuantityFault> {
    let (negative, rest) = match text.as_bytes().first() {
        Some(b'-') => (true, &text[1..]),
        Some(b'+') => (false, &text[1..]),
        _ => (false, text),
    };
    let (mantissa, exponent) = match rest.find(['e', 'E']) {
        Some(at) => (&rest[..at], Some(&rest[at + 1..])),
        None => (rest, None),
    };
    let (whole, fraction) = mantissa.split_once('.').unwrap_or((mantissa, ""));
    let digits = format!("{whole}{fraction}");
    if digits.is_empty() || !digits.bytes().all(|b| b.is_ascii_digit()) {
        return Err(QuantityFault::NotANumber);
    }
    let exponent = exponent.map_or(Some(Ok(0)), read_exponent).ok_or(QuantityFault::NotANumber)?;

    let trimmed = digits.trim_start_matches('0');
    let significant = trimmed.trim_end_matches('0');
    if significant.is_empty() {
        return Ok(0);
    }
    // An exponent too long for i64 settles the matter by its sign alone.
    let exponent = match exponent {
        Ok(exponent) => exponent,
        Err(true) => return Err(finer),
        Err(false) => return Err(QuantityFault::NotFinite),
    };
    let dropped = i64::try_from(trimmed.len() - significant.len()).unwrap_or(i64::MAX);
    let decimals = i64::try_from(fraction.len()).unwrap_or(i64::MAX);
    let power = exponent.saturating_sub(decimals).saturating_add(dropped).saturating_add(i64::from(scale));
    let out_of_range = QuantityFault::OutOfRange { bound: bound_text };
    let length = i64::try_from(significant.len()).unwrap_or(i64::MAX);
    if length.saturating_add(power) - i64::from(scale) > 309 {
        return Err(QuantityFault::NotFinite);
    }
    if length.saturating_add(power) > 38 {
        return Err(out_of_range);
    }
    if power < 0 {
        return Err(finer);
    }
    let power = u32::try_from(power).map_err(|_| out_of_range)?;
    let magnitude = significant
        .parse::<i128>()
        .ok()
        .and_then(|digits| 10_i128.checked_pow(power).and_then(|ten| digits.checked_mul(ten)))
        .ok_or(out_of_range)?;
    if bound < magnitude {
        return Err(out_of_range);
    }
    Ok(if negative { -magnitude } else { magnitude })
}

/// `None`: no exponent. `Some(Err(negative))`: an exponent longer than 18 digits.
fn read_exponent(text: &str) -> Option<Result<i64, bool>> {
    let (negative, digits) = match text.as_bytes().first() {
        Some(b'-') => (true, &text[1..]),
        Some(b'+') => (false, &text[1..]),
        _ => (false, text),
    };
    if digits.is_empty() || !digits.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let digits = digits.trim_start_matches('0');
    if digits.len() > 18 {
        return Some(Err(negative));
    }
    let value = if digits.is_empty() { 0 } else { digits.parse::<i64>().ok()? };
    Some(Ok(if negative { -value } else { value }))
}

/// The shortest exact decimal of `value / 10^scale`.
fn scaled_text(value: i128, scale: u32) -> String {
    let magnitude = value.unsigned_abs();
    let sign = if value < 0 { "-" } else { "" };
    match (u64::try_from(magnitude), 10_u64.checked_pow(scale)) {
        // Nearly every quantity: 64 bits divide and print many times faster than 128.
        (Ok(small), Some(ten)) => decimal_text(sign, small / ten, small % ten, scale),
        _ => {
            let ten = 10_u128.pow(scale);
            decimal_text(sign, magnitude / ten, magnitude % ten, scale)
        }
    }
}

fn decimal_text<N: fmt::Display + PartialEq + From<u8>>(sign: &str, whole: N, part: N, scale: u32) -> String {
    if part == N::from(0) {
        return format!("{sign}{whole}");
    }
    let mut text = format!("{sign}{whole}.{part:0width$}", width = scale as usize);
    text.truncate(text.trim_end_matches('0').len());
    text
}

/// `value / 10^scale` with a fixed number of decimals, rounded half away from zero; a rounded zero has no sign.
fn rounded_text(value: i64, scale: u32, decimals: u32) -> String {
    let decimals = decimals.min(scale);
    let rounded = div_half_away(i128::from(value), 10_i128.pow(scale - decimals));
    let ten = 10_u128.pow(decimals);
    let magnitude = rounded.unsigned_abs();
    let sign = if rounded < 0 { "-" } else { "" };
    if decimals == 0 {
        return format!("{sign}{magnitude}");
    }
    format!("{sign}{}.{:0width$}", magnitude / ten, magnitude % ten, width = decimals as usize)
}

/// Whole-number division rounded half away from zero. `den` is not 0.
fn div_half_away(num: i128, den: i128) -> i128 {
    let negative = (num < 0) != (den < 0);
    let (num, den) = (num.unsigned_abs(), den.unsigned_abs());
    let (quotient, rest) = (num / den, num % den);
    let magnitude = if rest >= den - rest { quotient + 1 } else { quotient };
    let magnitude = i128::try_from(magnitude).unwrap_or(i128::MAX);
    if negative { -magnitude } else { magnitude }
}

#[cfg(test)]
mod tests;
