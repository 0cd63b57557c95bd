//! The day of the pour as one sees it: load by load with the running total, what is needed, air and wind, cubes.

use super::{cubes_asked, evaporation_trial, identity_age_days, taken, tested, ticket_trial, tickets, timed};
use crate::conformity::Verdict;
use crate::entry::{ConditionsBooked, CubesTaken, CubesTested, PourMoment, TicketBooked};
use crate::ids::{CriterionId, EntryId, HoldPointId};
use crate::inspection::beam_feeds::criterion_of_feed;
use crate::inspection::fold::{Noted, PlotRecord};
use crate::inspection::judge;
use crate::plan_of_work::Feed;
use crate::quantity::Volume;
use crate::reckon::{ReckoningName, concrete_ticket, topping_forecast};

/// One load.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// Its entry.
    pub entry: EntryId,
    /// The ticket.
    pub fact: TicketBooked,
    /// Item by item; none where the design gives no mix.
    pub judged: Option<concrete_ticket::Output>,
    /// Its volume, where the ticket states one.
    pub volume: Option<Volume>,
    /// All volumes up to here.
    pub total: Volume,
    /// Who booked it, when.
    pub noted: Noted,
}

/// What the topping takes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Needed {
    /// Without waste.
    pub volume: Volume,
    /// With waste, up to the supplier's step.
    pub order: Volume,
    /// Whether rail and beam tops were read for it; else it is as drawn.
    pub is_forecast: bool,
}

/// Air and wind at a time.
#[derive(Debug, Clone, PartialEq)]
pub struct Condition {
    /// Its entry.
    pub entry: EntryId,
    /// What was read.
    pub fact: ConditionsBooked,
    /// Water lost, kg/m²h; none where it cannot be reckoned.
    pub rate: Option<f64>,
    /// Against the limit.
    pub verdict: Verdict,
    /// What to do.
    pub advice: Vec<String>,
    /// Who booked it, when.
    pub noted: Noted,
}

/// Cubes of one sample.
#[derive(Debug, Clone, PartialEq)]
pub struct SampleStanding {
    /// Its entry.
    pub entry: EntryId,
    /// What was taken.
    pub fact: CubesTaken,
    /// Crushed so far, by entry.
    pub results: Vec<(EntryId, CubesTested, Noted)>,
    /// Whether the result that decides is there.
    pub is_decided: bool,
    /// Who took it, when.
    pub noted: Noted,
}

/// The day of the pour.
#[derive(Debug, Clone, PartialEq)]
pub struct PourDay {
    /// The hold point and criterion of its tickets.
    pub tickets: (HoldPointId, CriterionId),
    /// Those of air and wind, where they are asked for.
    pub conditions_at: Option<(HoldPointId, CriterionId)>,
    /// Those of cubes taken, where they are asked for.
    pub cubes_at: Option<(HoldPointId, CriterionId)>,
    /// Those of results, where they are asked for.
    pub results_at: Option<(HoldPointId, CriterionId)>,
    /// Loads in the order of booking.
    pub loads: Vec<Load>,
    /// All of them together.
    pub total: Volume,
    /// What the topping takes; none where it cannot be told.
    pub needed: Option<Needed>,
    /// When it started: entry and time.
    pub started: Option<(EntryId, String)>,
    /// When it was finished.
    pub finished: Option<(EntryId, String)>,
    /// Air and wind in the order of booking.
    pub conditions: Vec<Condition>,
    /// Samples in the order of booking.
    pub samples: Vec<SampleStanding>,
    /// How many samples are asked for.
    pub samples_asked: u32,
}

/// The day of the pour; `None` where the plan of this plot asks for no tickets of the topping.
pub fn pour_day(record: &PlotRecord) -> Option<PourDay> {
    let at = |feed| criterion_of_feed(record, feed).map(|(point, one)| (point.id.clone(), one.id.clone()));
    let mut total = Volume::ZERO;
    let loads: Vec<Load> = tickets(record)
        .map(|kept| {
            let volume = kept.fact.load_m3.as_deref().and_then(|text| Volume::parse_m3(text.trim()).ok());
            total = total + volume.unwrap_or_default();
            Load {
                entry: kept.noted.id,
                judged: ticket_trial(record, &kept.fact).ok(),
                fact: kept.fact.clone(),
                volume,
                total,
                noted: kept.noted.clone(),
            }
        })
        .collect();
    let moment = |wanted| timed(record, wanted).map(|(kept, at)| (kept.noted.id, at.to_owned()));
    Some(PourDay {
        tickets: at(Feed::PourTickets)?,
        conditions_at: at(Feed::PourConditions),
        cubes_at: at(Feed::CubesTaken),
        results_at: at(Feed::CubeResults),
        loads,
        total,
        needed: needed(record),
        started: moment(PourMoment::Started),
        finished: moment(PourMoment::Finished),
        conditions: conditions(record),
        samples: samples(record),
        samples_asked: cubes_asked(record).map_or(0, |cubes| cubes.samples),
    })
}

fn conditions(record: &PlotRecord) -> Vec<Condition> {
    super::conditions(record)
        .map(|(kept, fact)| {
            let output = evaporation_trial(record, fact).ok();
            Condition {
                entry: kept.noted.id,
                fact: fact.clone(),
                rate: output.as_ref().map(|output| output.rate_kg_per_m2_h),
                verdict: output.as_ref().map_or(Verdict::Undetermined, |output| output.verdict),
                advice: output.map_or_else(Vec::new, |output| output.advice),
                noted: kept.noted.clone(),
            }
        })
        .collect()
}

fn samples(record: &PlotRecord) -> Vec<SampleStanding> {
    taken(record)
        .map(|(kept, fact)| {
            let mut results: Vec<_> = tested(record)
                .filter(|(_, one)| one.sample == fact.sample)
                .map(|(kept, one)| (kept.noted.id, one.clone(), kept.noted.clone()))
                .collect();
            results.sort_by_key(|(_, one, noted)| (one.age_days, noted.order));
            SampleStanding {
                entry: kept.noted.id,
                is_decided: results.iter().any(|(_, one, _)| one.age_days == identity_age_days()),
                fact: fact.clone(),
                results,
                noted: kept.noted.clone(),
            }
        })
        .collect()
}

/// What the topping takes: by the forecast from rail and beam tops where there is one, else as drawn.
fn needed(record: &PlotRecord) -> Option<Needed> {
    let topping = record.design().topping.as_ref()?;
    let forecast = forecast(record);
    let volume = match forecast {
        Some(volume) => volume,
        None => {
            let outlines = topping.areas.iter().map(|area| area.outline_mm.as_slice());
            topping_forecast::drawn_volume(outlines, record.design().topping_thickness()?)?
        }
    };
    let order = topping_forecast::order_of(volume, topping.waste_percent.0, topping.supplier_step_m3.0)?;
    Some(Needed { volume, order, is_forecast: forecast.is_some() })
}

/// Volume by the forecast, all areas together; none while any part of it is missing.
fn forecast(record: &PlotRecord) -> Option<Volume> {
    let mut all = record
        .plan
        .hold_points
        .iter()
        .flat_map(|point| point.criteria.iter().map(move |one| (point, one)))
        .filter(|(_, one)| one.reckoning() == Some(ReckoningName::ToppingForecast));
    let (point, asked) = all.next()?;
    let standing = judge::of_criterion(record, point, asked);
    if standing.reckoned.is_empty() || !standing.owed.is_empty() {
        return None;
    }
    standing
        .reckoned
        .iter()
        .map(|one| {
            let output: topping_forecast::Output = serde_json::from_value(one.output.clone()).ok()?;
            output.volume_m3.map(|volume| volume.0)
        })
        .sum()
}
