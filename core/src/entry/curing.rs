//! What is recorded while a topping cures: when it was placed, and its temperatures.

use serde::{Deserialize, Serialize};

use crate::ids::HoldPointId;
use crate::time::LocalTime;

/// When the last of the concrete was placed: the hour from which its age counts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlacingNoted {
    /// The hold point that its curing belongs to.
    pub hold_point: HoldPointId,
    /// By the site's clock.
    pub at: LocalTime,
}

/// Temperatures of the concrete were booked: one that was read, or those of a logger.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TemperaturesBooked {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// In the order of time, no two at one time.
    pub readings: Vec<Temperature>,
    /// The file that they come from, without folders; left out where they were typed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
}

/// One temperature.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Temperature {
    /// When, by the site's clock.
    pub at: LocalTime,
    /// °C, as text exactly as written.
    #[serde(rename = "concrete_C")]
    pub concrete_c: String,
}
