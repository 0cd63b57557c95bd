//! The demo's pour: loads, air and wind, cubes taken, and what they came to weeks later. All of it is invented.

use gaugerod_core::entry::{
    ConditionsBooked, CubesTaken, CubesTested, PourFact, PourMoment, PourTimed, TicketBooked,
};
use gaugerod_core::ids::{CriterionId, HoldPointId};
use gaugerod_core::inspection::Act;
use gaugerod_core::plan_of_work::Feed;

/// Ticket, load in cubic metres, batched, discharge began, discharged, slump in millimetres.
const LOADS: [(&str, &str, &str, &str, &str, i64); 2] = [
    ("T-31204 (invented)", "2.5", "08:05", "08:50", "09:20", 130),
    ("T-31209 (invented)", "2", "08:50", "09:40", "10:05", 120),
];
/// The batch that both loads of a pour bear.
const BATCH: &str = "B-2607";
/// The label of the sample.
const SAMPLE: &str = "TG-C1";

/// What a hold point of the pour is asked for under one criterion; nothing for other feeds.
pub fn facts(feed: Feed, hold_point: &HoldPointId, criterion: &CriterionId) -> Vec<Act> {
    match feed {
        Feed::PourTickets => {
            let mut acts = vec![timed(hold_point, criterion, PourMoment::Started, "08:55")];
            acts.extend((0..LOADS.len()).map(|index| load(hold_point, criterion, index)));
            acts.push(timed(hold_point, criterion, PourMoment::Finished, "10:15"));
            acts
        }
        Feed::PourConditions => vec![
            conditions(hold_point, criterion, ["09:00", "17", "14", "72", "9"]),
            conditions(hold_point, criterion, ["10:00", "18", "16", "65", "12"]),
        ],
        Feed::CubesTaken => vec![sample(hold_point, criterion)],
        Feed::CubeResults => vec![
            crushed(hold_point, criterion, 7, &["27.5"]),
            crushed(hold_point, criterion, 28, &["37.5", "38"]),
        ],
        _ => Vec::new(),
    }
}

/// A pour under way: one load of two is in, the wind dries the surface too fast.
pub fn under_way(feed: Feed, hold_point: &HoldPointId, criterion: &CriterionId) -> Vec<Act> {
    match feed {
        Feed::PourTickets => {
            vec![timed(hold_point, criterion, PourMoment::Started, "08:55"), load(hold_point, criterion, 0)]
        }
        Feed::PourConditions => {
            vec![conditions(hold_point, criterion, ["09:25", "26", "22", "40", "24"])]
        }
        Feed::CubesTaken => vec![sample(hold_point, criterion)],
        _ => Vec::new(),
    }
}

fn timed(hold_point: &HoldPointId, criterion: &CriterionId, moment: PourMoment, at: &str) -> Act {
    Act::BookPour(PourFact::Timed(PourTimed {
        hold_point: hold_point.clone(),
        criterion: criterion.clone(),
        moment,
        at: at.to_owned(),
    }))
}

fn load(hold_point: &HoldPointId, criterion: &CriterionId, index: usize) -> Act {
    let (ticket, load, batched, began, discharged, slump) = LOADS[index];
    Act::BookTicket(Box::new(TicketBooked {
        hold_point: hold_point.clone(),
        criterion: criterion.clone(),
        ticket: ticket.to_owned(),
        batch: Some(BATCH.to_owned()),
        strength_class: "C25/30".to_owned(),
        consistence_class: Some("S3".to_owned()),
        measured_slump_um: Some(slump * 1_000),
        largest_aggregate_um: Some(10_000),
        fibre_kg_per_m3: None,
        fibre_type: None,
        water_added_l: Some("0".to_owned()),
        load_m3: Some(load.to_owned()),
        batched_at: batched.to_owned(),
        began_at: Some(began.to_owned()),
        discharged_at: discharged.to_owned(),
        air_c: "14".to_owned(),
        concrete_c: "17".to_owned(),
    }))
}

fn conditions(
    hold_point: &HoldPointId,
    criterion: &CriterionId,
    [at, concrete, air, humidity, wind]: [&str; 5],
) -> Act {
    Act::BookPour(PourFact::Conditions(ConditionsBooked {
        hold_point: hold_point.clone(),
        criterion: criterion.clone(),
        at: at.to_owned(),
        concrete_c: concrete.to_owned(),
        air_c: air.to_owned(),
        humidity_percent: humidity.to_owned(),
        wind_km_per_h: wind.to_owned(),
    }))
}

fn sample(hold_point: &HoldPointId, criterion: &CriterionId) -> Act {
    Act::BookPour(PourFact::Taken(CubesTaken {
        hold_point: hold_point.clone(),
        criterion: criterion.clone(),
        sample: SAMPLE.to_owned(),
        ticket: LOADS[0].0.to_owned(),
        at: "09:05".to_owned(),
        cubes: 3,
    }))
}

fn crushed(hold_point: &HoldPointId, criterion: &CriterionId, age_days: u32, cubes: &[&str]) -> Act {
    Act::BookPour(PourFact::Tested(CubesTested {
        hold_point: hold_point.clone(),
        criterion: criterion.clone(),
        sample: SAMPLE.to_owned(),
        age_days,
        cubes_mpa: cubes.iter().map(|&cube| cube.to_owned()).collect(),
        report: Some(format!("LR-{age_days} (invented)")),
    }))
}
