//! The core of Gaugerod: floor reckonings, conformity, the record of a site and the signed sign-off.
//!
//! Never here: a window, ambient time, randomness, locale or environment. Clock, seed and identity are passed in.
//!
//! Modules in reading order:
//! [`ids`] and [`time`] name things and moments.

pub mod ids;
pub mod time;
