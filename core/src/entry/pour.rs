//! What is recorded on the day of the pour and weeks later: air and wind over the fresh concrete, when it began and
//! was finished, cubes taken, cubes crushed. The loads themselves are concrete tickets (see [`super::TicketBooked`]).
//!
//! Decimals are text, exactly as written; times are written as on a ticket: `08:10`, or with the day
//! `2026-11-26T08:10`.

use serde::{Deserialize, Serialize};

use super::Payload;
use crate::ids::{CriterionId, HoldPointId};

/// Air, wind and concrete were read, from which follows how fast the surface dries.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ConditionsBooked {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The criterion within it.
    pub criterion: CriterionId,
    /// When they were read.
    pub at: String,
    /// Temperature of the concrete's surface, °C.
    #[serde(rename = "concrete_C")]
    pub concrete_c: String,
    /// Temperature of the air, °C.
    #[serde(rename = "air_C")]
    pub air_c: String,
    /// Relative humidity of the air, per cent.
    pub humidity_percent: String,
    /// Wind over the surface, kilometres an hour.
    pub wind_km_per_h: String,
}

/// Which moment of the pour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PourMoment {
    /// The first concrete was placed.
    Started,
    /// The last concrete was placed and struck off.
    Finished,
}

impl PourMoment {
    /// The word on screen and paper.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Started => "started",
            Self::Finished => "finished",
        }
    }
}

/// The pour began or was finished.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PourTimed {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The criterion within it.
    pub criterion: CriterionId,
    /// Which moment.
    pub moment: PourMoment,
    /// When.
    pub at: String,
}

/// A sample was taken and its cubes were made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CubesTaken {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The criterion within it.
    pub criterion: CriterionId,
    /// What stands on the label of its cubes, once on a plot.
    pub sample: String,
    /// The ticket of the load that it was taken from.
    pub ticket: String,
    /// When.
    pub at: String,
    /// How many cubes were made of it.
    pub cubes: u32,
}

/// Cubes of a sample were crushed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CubesTested {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The criterion within it.
    pub criterion: CriterionId,
    /// The sample.
    pub sample: String,
    /// Age at test.
    pub age_days: u32,
    /// Strength of each cube, MPa.
    #[serde(rename = "cubes_MPa")]
    pub cubes_mpa: Vec<String>,
    /// Number of the laboratory's report.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub report: Option<String>,
}

/// One of these facts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PourFact {
    /// Air, wind and concrete.
    Conditions(ConditionsBooked),
    /// Start or finish.
    Timed(PourTimed),
    /// A sample taken.
    Taken(CubesTaken),
    /// Cubes crushed.
    Tested(CubesTested),
}

impl PourFact {
    /// Its hold point.
    pub const fn hold_point(&self) -> &HoldPointId {
        match self {
            Self::Conditions(fact) => &fact.hold_point,
            Self::Timed(fact) => &fact.hold_point,
            Self::Taken(fact) => &fact.hold_point,
            Self::Tested(fact) => &fact.hold_point,
        }
    }

    /// Its criterion.
    pub const fn criterion(&self) -> &CriterionId {
        match self {
            Self::Conditions(fact) => &fact.criterion,
            Self::Timed(fact) => &fact.criterion,
            Self::Taken(fact) => &fact.criterion,
            Self::Tested(fact) => &fact.criterion,
        }
    }

    /// The fact in a payload, if it is one of these.
    pub fn of(payload: &Payload) -> Option<Self> {
        match payload {
            Payload::ConditionsBooked(fact) => Some(Self::Conditions(fact.clone())),
            Payload::PourTimed(fact) => Some(Self::Timed(fact.clone())),
            Payload::CubesTaken(fact) => Some(Self::Taken(fact.clone())),
            Payload::CubesTested(fact) => Some(Self::Tested(fact.clone())),
            _ => None,
        }
    }
}

impl From<PourFact> for Payload {
    fn from(fact: PourFact) -> Self {
        match fact {
            PourFact::Conditions(fact) => fact.into(),
            PourFact::Timed(fact) => fact.into(),
            PourFact::Taken(fact) => fact.into(),
            PourFact::Tested(fact) => fact.into(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::{Fact, Recorded, TicketBooked, VERSION};
    use crate::ids::Sha256Digest;
    use crate::record::canonical;

    fn place(hold_point: &str, criterion: &str) -> (HoldPointId, CriterionId) {
        (HoldPointId::new(hold_point).unwrap(), CriterionId::new(criterion).unwrap())
    }

    /// The worked examples of FORMAT.md; their digests were computed by Python from that text.
    #[test]
    fn facts_of_a_pour_have_the_bytes_that_the_format_works_out() {
        let (hold_point, criterion) = place("pour", "evaporation");
        let conditions = ConditionsBooked {
            hold_point,
            criterion,
            at: "09:25".to_owned(),
            concrete_c: "26".to_owned(),
            air_c: "22".to_owned(),
            humidity_percent: "40".to_owned(),
            wind_km_per_h: "24".to_owned(),
        };
        let (hold_point, criterion) = place("pour", "mix");
        let timed = PourTimed { hold_point, criterion, moment: PourMoment::Started, at: "08:55".to_owned() };
        let (hold_point, criterion) = place("pour", "cubes");
        let taken = CubesTaken {
            hold_point,
            criterion,
            sample: "TG-C1".to_owned(),
            ticket: "T-31204".to_owned(),
            at: "09:05".to_owned(),
            cubes: 3,
        };
        let (hold_point, criterion) = place("strength", "cubes");
        let tested = CubesTested {
            hold_point,
            criterion,
            sample: "TG-C1".to_owned(),
            age_days: 28,
            cubes_mpa: vec!["37.5".to_owned(), "38".to_owned()],
            report: Some("LR-28".to_owned()),
        };
        let (hold_point, criterion) = place("pour", "mix");
        let ticket = TicketBooked {
            hold_point,
            criterion,
            ticket: "T-31204".to_owned(),
            batch: Some("B-2607".to_owned()),
            strength_class: "C25/30".to_owned(),
            consistence_class: None,
            measured_slump_um: None,
            largest_aggregate_um: None,
            fibre_kg_per_m3: None,
            fibre_type: None,
            water_added_l: None,
            load_m3: None,
            batched_at: "08:05".to_owned(),
            began_at: Some("08:50".to_owned()),
            discharged_at: "09:20".to_owned(),
            air_c: "14".to_owned(),
            concrete_c: "17".to_owned(),
        };
        let facts: [(Fact, &str, &str); 5] = [
            (
                conditions.into(),
                "conditions-booked",
                "c5619bd47ccbcdd3689f3d761982cd6d74df1231887bc22688f115d8864c1ab3",
            ),
            (timed.into(), "pour-timed", "6344ae6ecd4ab43ce4b092332eb32061a95321f1cc829eb0bc3876f4f04a1dcc"),
            (taken.into(), "cubes-taken", "4d58816ff4076c281a76b2d10f36ef54638d1c89d7fc7c4081406d4d478b2c0f"),
            (
                tested.into(),
                "cubes-tested",
                "6cfb3a27c36b4dafb69e4e7310b30439f1079b54ebe2b0f822b0b25327083a57",
            ),
            (
                ticket.into(),
                "ticket-booked",
                "d47aaf6a546ba43997b1fc511daf1c85f810222bc6d0e248fc484bcdf0dba7e3",
            ),
        ];
        for (fact, kind, digest) in facts {
            let value = fact.to_value();
            let bytes = canonical::encode(&value).unwrap();
            assert_eq!(Sha256Digest::of(bytes.as_bytes()).to_string(), digest, "{kind}: {bytes}");
            assert_eq!(Recorded::read(kind, VERSION, &value), Recorded::Known(Box::new(fact)));
            let mut foreign = value;
            foreign["colour"] = "green".into();
            assert!(matches!(Recorded::read(kind, VERSION, &foreign), Recorded::Malformed { .. }));
        }
    }
}
