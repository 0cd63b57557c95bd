//! A time of day on a day at one place, as loggers and people write it, without its offset.

use std::fmt;

use chrono::{Datelike, NaiveDateTime, TimeDelta, Timelike};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::Timestamp;

/// A moment by the clock of the site: day and time to the second, years 1970 to 9999, no offset. Where the clocks are
/// set forward or back between two of them, an hour is counted too much or too little.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LocalTime(NaiveDateTime);

/// A text is no such moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("must be a time such as 2026-11-26T08:10:00")]
pub struct LocalTimeFault;

const FORMAT: &str = "%Y-%m-%dT%H:%M:%S";

impl LocalTime {
    /// Reads a moment in a format of chrono's.
    pub fn parse_as(text: &str, format: &str) -> Option<Self> {
        Self::new(NaiveDateTime::parse_from_str(text, format).ok()?)
    }

    fn new(time: NaiveDateTime) -> Option<Self> {
        let whole = time.nanosecond() == 0;
        ((1970..=9999).contains(&time.year()) && whole).then_some(Self(time))
    }

    /// Reads what people type: `2026-11-26 08:10`, with a `T` or with seconds.
    pub fn parse_typed(text: &str) -> Option<Self> {
        let text = text.trim();
        ["%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M:%S", FORMAT]
            .into_iter()
            .find_map(|format| Self::parse_as(text, format))
    }

    /// The moment by its own place's clock.
    pub fn of(time: Timestamp) -> Self {
        let local = time.local().naive_local();
        Self(local.with_nanosecond(0).unwrap_or(local))
    }

    /// Seconds from an earlier moment.
    pub fn seconds_after(self, earlier: Self) -> i64 {
        (self.0 - earlier.0).num_seconds()
    }

    /// So many hours later, to the second; itself where that is past all bounds.
    #[must_use]
    pub fn plus_hours(self, hours: f64) -> Self {
        #[expect(clippy::cast_possible_truncation, reason = "saturates, then out of bounds")]
        let seconds = (hours * 3600.0).round() as i64;
        let moved = TimeDelta::try_seconds(seconds).and_then(|by| self.0.checked_add_signed(by));
        moved.and_then(Self::new).unwrap_or(self)
    }

    /// `2026-11-26 08:10`
    pub fn minute(self) -> String {
        self.0.format("%Y-%m-%d %H:%M").to_string()
    }

    /// `26 Nov 08:10`
    pub fn short(self) -> String {
        self.0.format("%-d %b %H:%M").to_string()
    }

    /// The full minute at it or next after it: what people are told to wait for.
    #[must_use]
    pub fn up_to_minute(self) -> Self {
        let over = i64::from(self.0.second());
        if over == 0 { self } else { Self(self.0 + TimeDelta::seconds(60 - over)) }
    }
}

impl fmt::Display for LocalTime {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0.format(FORMAT))
    }
}

impl Serialize for LocalTime {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for LocalTime {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        // Only what prints as it reads, so that a record has one text for one moment.
        Self::parse_as(&text, FORMAT)
            .filter(|time| time.to_string() == text)
            .ok_or_else(|| serde::de::Error::custom(LocalTimeFault))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_local_time_prints_as_it_reads_and_nothing_else_is_one() {
        let read = |text: &str| serde_json::from_value::<LocalTime>(text.into());
        let time = read("2024-02-29T23:59:30").unwrap();
        assert_eq!(time.to_string(), "2024-02-29T23:59:30");
        assert_eq!(time.minute(), "2024-02-29 23:59");
        assert_eq!(time.up_to_minute().to_string(), "2024-03-01T00:00:00");
        assert_eq!(time.up_to_minute().up_to_minute(), time.up_to_minute());
        assert_eq!(time.plus_hours(0.5).to_string(), "2024-03-01T00:29:30");
        assert_eq!(time.plus_hours(1.0).seconds_after(time), 3600);
        assert_eq!(time.plus_hours(1e300), time);
        for text in [
            "",
            "2023-02-29T00:00:00",
            "2024-2-29T00:00:00",
            "2024-02-29T00:00",
            "2024-02-29 00:00:00",
            "1969-12-31T00:00:00",
        ] {
            assert!(read(text).is_err(), "{text:?}");
        }
        assert_eq!(LocalTime::parse_typed(" 2024-02-29 23:59 ").unwrap().to_string(), "2024-02-29T23:59:00");
        assert_eq!(LocalTime::parse_typed("29.2.2024"), None);
    }
}
