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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::{Fact, Recorded, VERSION};
    use crate::ids::Sha256Digest;
    use crate::record::canonical;

    /// The worked examples of FORMAT.md; their digests were computed by Python from that text.
    #[test]
    fn facts_of_curing_have_the_bytes_that_the_format_works_out() {
        let time = |text: &str| LocalTime::parse_typed(text).unwrap();
        let hold_point = || HoldPointId::new("curing").unwrap();
        let placing: Fact = PlacingNoted { hold_point: hold_point(), at: time("2026-09-14 11:50") }.into();
        let reading = |at: &str, text: &str| Temperature { at: time(at), concrete_c: text.to_owned() };
        let booked: Fact = TemperaturesBooked {
            hold_point: hold_point(),
            readings: vec![reading("2026-09-14 12:00", "18.5"), reading("2026-09-14 12:30", "19")],
            file: Some("logger-7.csv".to_owned()),
        }
        .into();
        for (fact, kind, digest) in [
            (placing, "placing-noted", "f483913a48437094ff0918fc8345a27c12a30afc512fc4c0b7906630b462c0d5"),
            (
                booked,
                "temperatures-booked",
                "5bf9f9987e56a0d5bd48f1cef07c3efe8d941591bddabd99fe4915c32ba1dbe8",
            ),
        ] {
            let value = fact.to_value();
            let bytes = canonical::encode(&value).unwrap();
            assert_eq!(Sha256Digest::of(bytes.as_bytes()).to_string(), digest, "{kind}");
            assert_eq!(Recorded::read(kind, VERSION, &value), Recorded::Known(Box::new(fact)));
            let mut foreign = value;
            foreign["colour"] = "green".into();
            assert!(matches!(Recorded::read(kind, VERSION, &foreign), Recorded::Malformed { .. }));
        }
    }
}
