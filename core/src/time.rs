//! Points in time as the record keeps them, and the clock that is passed in.
//!
//! Core never reads the machine's clock or time zone: whoever calls it hands over a [`Clock`].

mod local;

pub use local::{LocalTime, LocalTimeFault};

use std::fmt;

use chrono::{DateTime, Datelike, FixedOffset, NaiveDate, TimeZone, Utc};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A point in time: UTC in whole milliseconds since 1970, and the local offset of the place where it was
/// written. The device clock is untrusted; a timestamp claims no more than what the device believed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Timestamp {
    /// Milliseconds since 1970-01-01T00:00:00Z, bounded by years 1970 to 9999.
    pub utc_ms: i64,
    /// Minutes east of UTC, within ±18 h.
    pub offset_min: i32,
}

/// The last millisecond of the year 9999: what prints with four digits of year.
const LAST_MS: i64 = 253_402_300_799_999;

impl Timestamp {
    /// Takes a time after checking its bounds; `None` outside of them.
    pub fn new(utc_ms: i64, offset_min: i32) -> Option<Self> {
        let sound = (0..=LAST_MS).contains(&utc_ms) && (-18 * 60..=18 * 60).contains(&offset_min);
        sound.then_some(Self { utc_ms, offset_min })
    }

    /// The time with its offset, for printing.
    pub fn local(self) -> DateTime<FixedOffset> {
        let offset = FixedOffset::east_opt(self.offset_min.clamp(-18 * 60, 18 * 60) * 60)
            .expect("BUG: an offset within 18 hours exists");
        let utc = Utc
            .timestamp_millis_opt(self.utc_ms.clamp(0, LAST_MS))
            .single()
            .expect("BUG: milliseconds within the bounds exist");
        utc.with_timezone(&offset)
    }

    /// `2026-11-25 14:02` in local time.
    pub fn minute(self) -> String {
        self.local().format("%Y-%m-%d %H:%M").to_string()
    }

    /// `2026-11-25` in local time.
    pub fn date(self) -> String {
        self.local().format("%Y-%m-%d").to_string()
    }

    /// `14:02:07` in local time.
    pub fn clock(self) -> String {
        self.local().format("%H:%M:%S").to_string()
    }
}

/// A day of the calendar, as people write it: `2026-11-25` (ISO 8601), years 1970 to 9999.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date(NaiveDate);

/// A text is no day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("must be a day such as 2026-11-25")]
pub struct DateFault;

impl Date {
    /// Takes a day after checking it.
    pub fn new(year: i32, month: u32, day: u32) -> Option<Self> {
        let date = NaiveDate::from_ymd_opt(year, month, day)?;
        (1970..=9999).contains(&year).then_some(Self(date))
    }

    /// The day on which a moment falls at its own place.
    pub fn of(time: Timestamp) -> Self {
        Self(time.local().date_naive())
    }

    /// So many days later, or earlier; stays within its bounds.
    #[must_use]
    pub fn plus_days(self, days: i64) -> Self {
        let moved = chrono::TimeDelta::try_days(days).and_then(|days| self.0.checked_add_signed(days));
        moved.filter(|date| (1970..=9999).contains(&date.year())).map_or(self, Self)
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0.format("%Y-%m-%d"))
    }
}

impl std::str::FromStr for Date {
    type Err = DateFault;
    fn from_str(text: &str) -> Result<Self, DateFault> {
        let mut parts = text.split('-');
        let mut next = |digits: usize| {
            let part = parts.next().filter(|part| part.len() == digits).ok_or(DateFault)?;
            if part.bytes().all(|byte| byte.is_ascii_digit()) {
                part.parse::<u32>().map_err(|_| DateFault)
            } else {
                Err(DateFault)
            }
        };
        let (year, month, day) = (next(4)?, next(2)?, next(2)?);
        if parts.next().is_some() {
            return Err(DateFault);
        }
        Self::new(i32::try_from(year).map_err(|_| DateFault)?, month, day).ok_or(DateFault)
    }
}

impl Serialize for Date {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Date {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}

/// RFC 3339 with seconds and offset: `2026-11-25T14:02:07+00:00`.
impl fmt::Display for Timestamp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.local().format("%Y-%m-%dT%H:%M:%S%:z"))
    }
}

/// Where the time comes from. The program passes the device's clock, tests pass a fixed or stepping one.
pub trait Clock: Send + Sync {
    /// The time now, as this clock believes it.
    fn now(&self) -> Timestamp;
}

/// A clock that stands still or steps by a fixed amount at every look: for tests, the demo and
/// anything that must come out the same twice.
#[derive(Debug)]
pub struct SteppingClock {
    next_ms: std::sync::atomic::AtomicI64,
    step_ms: i64,
    offset_min: i32,
}

impl SteppingClock {
    /// Starts at `start` and moves on by `step_ms` milliseconds after every look.
    pub fn new(start: Timestamp, step_ms: i64) -> Self {
        Self { next_ms: start.utc_ms.into(), step_ms, offset_min: start.offset_min }
    }

    /// Moves the clock on (or back) by so many milliseconds.
    pub fn advance(&self, ms: i64) {
        self.next_ms.fetch_add(ms, std::sync::atomic::Ordering::SeqCst);
    }
}

impl Clock for SteppingClock {
    fn now(&self) -> Timestamp {
        let utc_ms = self.next_ms.fetch_add(self.step_ms, std::sync::atomic::Ordering::SeqCst);
        Timestamp { utc_ms, offset_min: self.offset_min }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_timestamp_prints_in_its_own_offset() {
        let time = Timestamp::new(1_000_000_000_000, 60).unwrap();
        // 10^12 ms after the epoch is 2001-09-09T01:46:40Z (common knowledge of the Unix epoch).
        assert_eq!(time.to_string(), "2001-09-09T02:46:40+01:00");
        assert_eq!(time.minute(), "2001-09-09 02:46");
    }

    #[test]
    fn a_day_prints_as_it_reads_and_nothing_else_is_one() {
        let day: Date = "2024-02-29".parse().unwrap();
        assert_eq!(day.to_string(), "2024-02-29");
        assert_eq!(day.plus_days(1).to_string(), "2024-03-01");
        for text in
            ["", "2023-02-29", "2024-2-29", "24-02-29", "2024-02-29T00:00", "+024-02-29", "1969-12-31"]
        {
            assert_eq!(text.parse::<Date>(), Err(DateFault), "{text:?}");
        }
    }

    #[test]
    fn a_moment_falls_on_the_day_of_its_own_place() {
        // 2001-09-09T01:46:40Z.
        let west = Timestamp::new(1_000_000_000_000, -120).unwrap();
        assert_eq!(Date::of(west).to_string(), "2001-09-08");
    }

    #[test]
    fn times_before_1970_and_after_9999_are_refused() {
        assert!(Timestamp::new(-1, 0).is_none());
        assert!(Timestamp::new(0, 0).is_some());
        assert!(Timestamp::new(LAST_MS, 0).is_some());
        assert!(Timestamp::new(LAST_MS + 1, 0).is_none());
        assert!(Timestamp::new(0, 18 * 60 + 1).is_none());
    }
}
