//! What is recorded of materials: delivery notes counted line by line, concrete tickets, labels; and pressure tests.

use serde::{Deserialize, Serialize};

use crate::ids::{CriterionId, HoldPointId};

/// A delivery note was booked, as counted on site.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DeliveryBooked {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The criterion within it.
    pub criterion: CriterionId,
    /// The note's number, once on a plot.
    pub note: String,
    /// The drawing revision that the labels bear.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub revision: Option<String>,
    /// Its lines.
    pub lines: Vec<DeliveryLine>,
}

/// One line of a delivery note.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DeliveryLine {
    /// The item as its label names it.
    pub item: String,
    /// How many came.
    pub delivered: u32,
    /// How many of them are damaged.
    #[serde(default)]
    pub damaged: u32,
    /// How many others bear no label.
    #[serde(default)]
    pub unlabelled: u32,
    /// The batch or cast that its labels bear.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub batch: Option<String>,
}

/// A concrete ticket was booked. What it does not say is left out; decimals are text, exactly as written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TicketBooked {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The criterion within it.
    pub criterion: CriterionId,
    /// The ticket's number, once on a plot.
    pub ticket: String,
    /// The batch or mix number as printed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub batch: Option<String>,
    /// Strength class as printed.
    pub strength_class: String,
    /// Consistence class as printed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub consistence_class: Option<String>,
    /// Slump of a spot sample from initial discharge, in micrometres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured_slump_um: Option<i64>,
    /// Largest aggregate as printed, in micrometres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub largest_aggregate_um: Option<i64>,
    /// Fibre as printed, kilogrammes a cubic metre.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fibre_kg_per_m3: Option<String>,
    /// What fibre, as printed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fibre_type: Option<String>,
    /// Water added on site, litres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub water_added_l: Option<String>,
    /// The load, cubic metres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub load_m3: Option<String>,
    /// When it was batched: `08:10`, or with its day `2026-11-26T08:10`.
    pub batched_at: String,
    /// When discharge began, written in the same way.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub began_at: Option<String>,
    /// When discharge ended, written in the same way.
    pub discharged_at: String,
    /// Temperature of the air, °C.
    #[serde(rename = "air_C")]
    pub air_c: String,
    /// Temperature of the concrete, °C.
    #[serde(rename = "concrete_C")]
    pub concrete_c: String,
}

/// What a label says was booked: the grade of an overlay, its thickness, its batch. What it does not say is left out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LabelBooked {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The criterion within it.
    pub criterion: CriterionId,
    /// What the label is on, in words (`overlay`).
    pub item: String,
    /// The grade as printed.
    pub grade: String,
    /// The thickness as printed, in micrometres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thickness_um: Option<i64>,
    /// The conductivity as printed, watts a metre and kelvin; a decimal as written.
    #[serde(rename = "W_per_mK", default, skip_serializing_if = "Option::is_none")]
    pub conductivity: Option<String>,
    /// The batch as printed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub batch: Option<String>,
}

/// A pressure test of pipes was booked; decimals are text, exactly as read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PressureTestBooked {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The criterion within it.
    pub criterion: CriterionId,
    /// What was tested, once on a plot (`whole floor`, `zone 1`).
    pub test: String,
    /// Pressure at the start, bar.
    pub start_bar: String,
    /// Pressure at the end, bar.
    pub end_bar: String,
    /// When it started: `08:10`, or with its day `2026-11-26T08:10`.
    pub started_at: String,
    /// When it ended, written in the same way.
    pub ended_at: String,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::{Fact, Recorded, VERSION};
    use crate::ids::Sha256Digest;
    use crate::record::canonical;

    /// The worked examples of FORMAT.md; their digests were computed by Python from that text.
    #[test]
    fn labels_and_pressure_tests_have_the_bytes_that_the_format_works_out() {
        let label: Fact = LabelBooked {
            hold_point: HoldPointId::new("overlay").unwrap(),
            criterion: CriterionId::new("label").unwrap(),
            item: "overlay".to_owned(),
            grade: "EPS 100".to_owned(),
            thickness_um: Some(90_000),
            conductivity: Some("0.036".to_owned()),
            batch: Some("26-0914".to_owned()),
        }
        .into();
        let test: Fact = PressureTestBooked {
            hold_point: HoldPointId::new("heating").unwrap(),
            criterion: CriterionId::new("pressure").unwrap(),
            test: "zone 1".to_owned(),
            start_bar: "6.2".to_owned(),
            end_bar: "6.1".to_owned(),
            started_at: "08:10".to_owned(),
            ended_at: "10:15".to_owned(),
        }
        .into();
        for (fact, kind, digest) in [
            (label, "label-booked", "c017e775ad8a896cc50078d41d26ef7ff7247a96fcee99b8096cf1ffaa59e1c6"),
            (
                test,
                "pressure-test-booked",
                "42c5a91e31d8e333aaa32c1a852ab2845cc567c97285dd9d85c3053347159a2e",
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
