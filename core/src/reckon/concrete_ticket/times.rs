//! Moments as a ticket or a test gives them: with date and offset, with date alone, or by the clock.

use chrono::{DateTime, NaiveDateTime, NaiveTime, Timelike};

use crate::faults::Faults;

/// A moment that can be compared with another one written in the same way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::reckon) enum Moment {
    /// With an offset: seconds since 1970.
    Absolute(i64),
    /// A date and time of one place: seconds since 1970 there.
    Local(i64),
    /// A time of one day: seconds since midnight.
    Clock(i64),
}

impl Moment {
    pub(super) fn read(text: &str) -> Option<Self> {
        let text = text.trim();
        if let Ok(moment) = DateTime::parse_from_rfc3339(text) {
            return Some(Self::Absolute(moment.timestamp()));
        }
        for format in ["%Y-%m-%dT%H:%M:%S", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M:%S", "%Y-%m-%d %H:%M"] {
            if let Ok(moment) = NaiveDateTime::parse_from_str(text, format) {
                return Some(Self::Local(moment.and_utc().timestamp()));
            }
        }
        for format in ["%Y-%m-%dT%H:%M%:z", "%Y-%m-%d %H:%M%:z"] {
            if let Ok(moment) = DateTime::parse_from_str(&text.replace('Z', "+00:00"), format) {
                return Some(Self::Absolute(moment.timestamp()));
            }
        }
        ["%H:%M:%S", "%H:%M"]
            .into_iter()
            .find_map(|format| NaiveTime::parse_from_str(text, format).ok())
            .map(|time| Self::Clock(i64::from(time.num_seconds_from_midnight())))
    }

    fn seconds(self) -> i64 {
        let (Self::Absolute(seconds) | Self::Local(seconds) | Self::Clock(seconds)) = self;
        seconds
    }

    /// Seconds from an earlier moment that is written in the same way.
    pub fn seconds_after(self, earlier: Self) -> i64 {
        self.seconds() - earlier.seconds()
    }

    /// The time so many seconds later, to the minute, written in the same way; for a time of day without its date past
    /// midnight begins again.
    pub(super) fn after(self, seconds: i64) -> Option<String> {
        let later = self.seconds().checked_add(seconds)?;
        let moment = DateTime::from_timestamp(later, 0)?;
        Some(match self {
            Self::Absolute(_) => moment.format("%Y-%m-%dT%H:%MZ").to_string(),
            Self::Local(_) => moment.format("%Y-%m-%dT%H:%M").to_string(),
            Self::Clock(_) => moment.format("%H:%M").to_string(),
        })
    }

    pub(super) fn is_written_like(self, other: Self) -> bool {
        std::mem::discriminant(&self) == std::mem::discriminant(&other)
    }
}

/// Reads two moments of which the second is not earlier, or names what is wrong.
pub(in crate::reckon) fn read_pair(
    (first, first_place): (&str, &str),
    (second, second_place): (&str, &str),
    faults: &mut Faults,
) -> Option<(Moment, Moment)> {
    let mut read = |text: &str, place: &str| {
        let moment = Moment::read(text);
        if moment.is_none() {
            faults.add(place, "must be a time such as 2026-11-26T08:10:00Z, 2026-11-26T08:10 or 08:10");
        }
        moment
    };
    let first_key = first_place.rsplit('/').next().unwrap_or(first_place);
    let (earlier, later) = (read(first, first_place), read(second, second_place));
    let (earlier, later) = earlier.zip(later)?;
    if !earlier.is_written_like(later) {
        faults.add(
            second_place,
            format!("must be written like {first_key}: both with offset, with date, or by the clock"),
        );
        None
    } else if later.seconds() < earlier.seconds() {
        let past_midnight = matches!(later, Moment::Clock(_));
        let what = if past_midnight { "; past midnight give the dates too" } else { "" };
        faults.add(second_place, format!("must not be earlier than {first_key}{what}"));
        None
    } else {
        Some((earlier, later))
    }
}
