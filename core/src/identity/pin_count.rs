//! Counting wrong PINs: after three the wait grows, after ten the person is locked out on this device.
//!
//! Time is passed in and comes from the device's own clock: setting it forward shortens a wait but never the
//! count, so the lock-out after ten stands. The count lies in the device file: whoever can restore that file and
//! knows the device secret can count anew, which is why it is owner-only.

use serde::{Deserialize, Serialize};

use crate::time::Timestamp;

/// Wrong PINs that are free of any wait.
pub const FREE_OF_WAIT: u32 = 2;
/// Wrong PINs after which the person is locked out.
pub const LOCK_OUT_AFTER: u32 = 10;
/// The wait after the third wrong PIN, doubled with every further one.
pub const FIRST_WAIT_MS: i64 = 30_000;

/// Wrong PINs of one person since the last right one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PinCount {
    wrong: u32,
    last_ms: i64,
}

/// Whether a PIN may be tried now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PinGate {
    /// Yes.
    Open,
    /// Not for so many milliseconds.
    Wait {
        /// Milliseconds left, at least 1.
        ms: i64,
    },
    /// Not any more: a new certificate is needed.
    LockedOut,
}

impl PinCount {
    /// How many wrong ones there were.
    pub fn wrong_count(self) -> u32 {
        self.wrong
    }

    /// Whether a PIN may be tried at this time. A clock that went backwards begins the wait anew, instead of
    /// stretching it until the clock has caught up.
    pub fn gate(&mut self, now: Timestamp) -> PinGate {
        if self.wrong >= LOCK_OUT_AFTER {
            return PinGate::LockedOut;
        }
        if self.wrong <= FREE_OF_WAIT {
            return PinGate::Open;
        }
        self.last_ms = self.last_ms.min(now.utc_ms);
        let wait = FIRST_WAIT_MS << (self.wrong - FREE_OF_WAIT - 1);
        let left = wait - (now.utc_ms - self.last_ms);
        if left > 0 { PinGate::Wait { ms: left } } else { PinGate::Open }
    }

    /// Counts a wrong PIN; returns whether that one locked the person out (an entry is due).
    pub fn count_wrong(&mut self, now: Timestamp) -> bool {
        let before = self.wrong;
        self.wrong = (self.wrong + 1).min(LOCK_OUT_AFTER);
        self.last_ms = now.utc_ms;
        before < LOCK_OUT_AFTER && self.wrong == LOCK_OUT_AFTER
    }

    /// Begins anew after a right PIN. A lock-out stays.
    pub fn count_right(&mut self) {
        if self.wrong < LOCK_OUT_AFTER {
            *self = Self::default();
        }
    }
}

#[cfg(test)]
#[path = "pin_count_tests.rs"]
mod tests;
