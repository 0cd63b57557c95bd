//! What a camera wrote into a photo about its taking (EXIF 2.32): time, place, orientation.
//!
//! All of it is a claim of the camera's, never a proof; the record sets it beside its own times. Unreadable
//! or impossible data count as not there: they never refuse a photo.

use chrono::{NaiveDate, NaiveDateTime};
use exif::{Exif, In, Reader, Tag, Value};
use serde::{Deserialize, Serialize};

use crate::time::Timestamp;

/// The camera's local time of taking, and its offset from UTC when the camera knew it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct CapturedAt {
    /// Local date and time in whole seconds (EXIF `DateTimeOriginal`).
    pub local: NaiveDateTime,
    /// Minutes east of UTC (EXIF `OffsetTimeOriginal`); many cameras do not write it.
    pub offset_min: Option<i32>,
}

impl CapturedAt {
    /// The point in time, taking `otherwise_min` (minutes east of UTC) where the camera named no offset.
    /// `None` outside of the bounds of a [`Timestamp`].
    pub fn instant(self, otherwise_min: i32) -> Option<Timestamp> {
        let offset = self.offset_min.unwrap_or(otherwise_min);
        let local_ms = self.local.and_utc().timestamp_millis();
        Timestamp::new(local_ms.checked_sub(i64::from(offset).checked_mul(60_000)?)?, offset)
    }
}

/// Where the camera believed itself to be: WGS 84, ten-millionths of a degree (about 11 mm of latitude).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Position {
    /// North positive, within ±90 degrees.
    pub latitude_e7: i64,
    /// East positive, within ±180 degrees.
    pub longitude_e7: i64,
}

#[derive(Debug, PartialEq, Eq)]
pub(super) struct Capture {
    pub orientation: u8,
    pub captured_at: Option<CapturedAt>,
    pub position: Option<Position>,
}

impl Default for Capture {
    fn default() -> Self {
        Self { orientation: 1, captured_at: None, position: None }
    }
}

/// Reads an EXIF block (the TIFF structure, without its `Exif` name).
pub(super) fn read(block: Vec<u8>) -> Capture {
    // What can be read of a partly broken block is taken: a camera's maker notes are often broken while its
    // time is sound.
    let parsed = Reader::new()
        .continue_on_error(true)
        .read_raw(block)
        .or_else(|fault| fault.distill_partial_result(|_| ()));
    let Ok(exif) = parsed else {
        return Capture::default();
    };
    Capture { orientation: orientation(&exif), captured_at: captured_at(&exif), position: position(&exif) }
}

fn orientation(exif: &Exif) -> u8 {
    exif.get_field(Tag::Orientation, In::PRIMARY)
        .and_then(|field| field.value.get_uint(0))
        .and_then(|value| u8::try_from(value).ok())
        .filter(|value| (1..=8).contains(value))
        .unwrap_or(1)
}

fn text(exif: &Exif, tag: Tag) -> Option<&[u8]> {
    match &exif.get_field(tag, In::PRIMARY)?.value {
        Value::Ascii(lines) => lines.first().map(Vec::as_slice),
        _ => None,
    }
}

fn captured_at(exif: &Exif) -> Option<CapturedAt> {
    let taken = (Tag::DateTimeOriginal, Tag::OffsetTimeOriginal);
    let digitized = (Tag::DateTimeDigitized, Tag::OffsetTimeDigitized);
    [taken, digitized].into_iter().find_map(|(time, offset)| {
        let mut read = exif::DateTime::from_ascii(text(exif, time)?).ok()?;
        let date = NaiveDate::from_ymd_opt(i32::from(read.year), u32::from(read.month), u32::from(read.day))?;
        let local = date.and_hms_opt(u32::from(read.hour), u32::from(read.minute), u32::from(read.second))?;
        if let Some(offset) = text(exif, offset) {
            // An unreadable offset is as good as none.
            let _ = read.parse_offset(offset);
        }
        let offset_min = read.offset.map(i32::from).filter(|minutes| minutes.abs() <= 18 * 60);
        Some(CapturedAt { local, offset_min })
    })
}

fn position(exif: &Exif) -> Option<Position> {
    let latitude = degrees_e7(exif, Tag::GPSLatitude)?;
    let longitude = degrees_e7(exif, Tag::GPSLongitude)?;
    let latitude_e7 = signed(latitude, text(exif, Tag::GPSLatitudeRef)?, *b"NS")?;
    let longitude_e7 = signed(longitude, text(exif, Tag::GPSLongitudeRef)?, *b"EW")?;
    let possible = latitude <= 90 * E7 && longitude <= 180 * E7;
    possible.then_some(Position { latitude_e7, longitude_e7 })
}

const E7: i64 = 10_000_000;

fn signed(value: i64, side: &[u8], [positive, negative]: [u8; 2]) -> Option<i64> {
    match side {
        [s] if *s == positive => Some(value),
        [s] if *s == negative => Some(-value),
        _ => None,
    }
}

/// Degrees, minutes and seconds as fractions of unsigned integers, rounded to the nearest ten-millionth.
fn degrees_e7(exif: &Exif, tag: Tag) -> Option<i64> {
    let Value::Rational(parts) = &exif.get_field(tag, In::PRIMARY)?.value else {
        return None;
    };
    if parts.is_empty() || parts.len() > 3 {
        return None;
    }
    let mut sum = 0_i64;
    for (part, divisor) in parts.iter().zip([1_i64, 60, 3_600]) {
        let denominator = i64::from(part.denom).checked_mul(divisor)?;
        if denominator == 0 {
            return None;
        }
        // num below 2^32 times 10^7 stays below 2^56.
        let scaled = i64::from(part.num) * E7;
        sum = sum.checked_add((scaled + denominator / 2) / denominator)?;
    }
    Some(sum)
}
