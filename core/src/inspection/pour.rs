//! The pour: tickets, air and wind, and cubes to their reckonings; and the day of the pour load by load, for the
//! screen and for paper.
//!
//! Never here: a comparison with a limit. Where the design gives no topping, no mix or no cubes, or no limit is
//! known, the answer is undetermined and says what is missing.

use super::beam_feeds::{self, Parts, criterion_of_feed, finding, findings};
use super::feeds::Judged;
use super::fold::{Kept, PlotRecord};
use super::judge::FindingStanding;
use crate::conformity::Verdict;
use crate::entry::{ConditionsBooked, CubesTaken, CubesTested, PourFact, PourMoment, TicketBooked};
use crate::faults::Faults;
use crate::floor::beams::ConcreteSpec;
use crate::floor::topping::Cubes;
use crate::floor::{LimitName, LimitValue, Topping};
use crate::ids::{CriterionId, HoldPointId};
use crate::plan_of_work::{CriterionKind, Feed};
use crate::quantity::{Factor, Plain, Real};
use crate::reckon::{concrete_ticket, cube_strength, evaporation, identity_age_days};

mod day;
pub(super) mod rules;

pub use crate::reckon::concrete_ticket::out_by;
pub use day::{Condition, Load, Needed, PourDay, SampleStanding, pour_day};

const NO_TOPPING: &str = "the floor design describes no topping";
const NO_CUBES: &str = "the floor design asks for no cubes";

/// The feeds that are told here.
pub(super) const fn is_of_pour(feed: Feed) -> bool {
    matches!(feed, Feed::PourTickets | Feed::PourConditions | Feed::CubesTaken | Feed::CubeResults)
}

/// Reckons a criterion of the pour from what was booked.
///
/// # Errors
/// A sentence: what the design does not give, or what the reckoning refuses.
pub(super) fn reckon(record: &PlotRecord, feed: Feed) -> Result<Judged, String> {
    let mut parts = Parts::default();
    match feed {
        Feed::PourTickets => {
            for kept in tickets(record) {
                beam_feeds::ticket_part(feed, &ticket_input(record, &kept.fact)?, &kept.fact, &mut parts)?;
            }
        }
        Feed::PourConditions => {
            for (_, fact) in conditions(record) {
                let input = evaporation_input(record, fact)?;
                let output = evaporation::reckon(&input).map_err(|faults| faults.to_string())?;
                let limit = limit(record);
                let found = findings(&output.findings).into_iter().map(|one| FindingStanding {
                    what: format!("at {} the surface lost water at {}", fact.at, one.what),
                    source: limit.as_ref().map_or(one.source, |limit| limit.source.clone()),
                    ..one
                });
                let about = Some(format!("At {}", fact.at));
                let found = found.collect();
                parts.add(about, feed, &input, &output, output.working.clone(), found, output.verdict);
            }
        }
        Feed::CubeResults => cube_results(record, &mut parts)?,
        // Taken and labelled is all that is asked on the day: strength comes with the results.
        _ => parts.verdict(Verdict::Conforming),
    }
    Ok(parts.judged())
}

fn cube_results(record: &PlotRecord, parts: &mut Parts) -> Result<(), String> {
    let input = cube_input(record, None)?;
    let output = cube_strength::reckon(&input).map_err(|faults| faults.to_string())?;
    let mut found = findings(&output.findings);
    for one in output.criteria.iter().filter(|one| one.verdict != Verdict::Conforming) {
        let of = match one.of {
            cube_strength::Of::Mean => "mean of",
            cube_strength::Of::Least => "least of",
        };
        let what = format!(
            "{}: {of} {} is {:.1} MPa, at least {} MPa is asked",
            one.strength_class,
            one.samples.join(", "),
            one.found,
            one.limit.0.to_text()
        );
        found.push(FindingStanding { source: one.source.clone(), ..finding(what, one.verdict) });
    }
    let working = output.working.clone();
    parts.add(None, Feed::CubeResults, &input, &output, working, found, output.verdict);
    Ok(())
}

/// The limit of a feed in words, with its source.
pub(super) fn limit_text(record: &PlotRecord, feed: Feed) -> Option<String> {
    let topping = record.design().topping.as_ref()?;
    match feed {
        Feed::PourTickets => Some(mix_text(topping)),
        Feed::PourConditions => {
            limit(record).map(|limit| format!("at most {} kg/m²h ({})", limit.value.to_text(), limit.source))
        }
        Feed::CubesTaken => {
            let cubes = topping.cubes.as_ref()?;
            let many = if cubes.samples == 1 { "sample" } else { "samples" };
            Some(format!("at least {} {many} ({})", cubes.samples, cubes.source))
        }
        Feed::CubeResults => {
            let cubes = topping.cubes.as_ref()?;
            let certified = if cubes.certified { "certified" } else { "not certified" };
            Some(format!(
                "cubes of {} days against {}, production {certified} ({})",
                identity_age_days(),
                topping.concrete.strength_class,
                cubes.source
            ))
        }
        _ => None,
    }
}

/// The mix that is asked for, in words.
fn mix_text(topping: &Topping) -> String {
    let mix = &topping.concrete;
    let mut words = vec![mix.strength_class.clone()];
    words.extend(mix.consistence_class.clone());
    words
        .extend(mix.largest_aggregate_mm.map(|most| format!("aggregate at most {} mm", most.0.to_mm_text())));
    words.extend(topping.fibre_kg_per_m3.map(|fibre| {
        let kind = topping.fibre_type.as_ref().map_or_else(String::new, |kind| format!(" {kind}"));
        format!("fibre at least {} kg/m³{kind}", fibre.0.to_text())
    }));
    words.push(format!("out within {} h", mix.hours_to_discharge.0.to_text()));
    words.push(format!("air {} °C or more", mix.least_air_c.0.to_text()));
    words.push(format!("concrete {} °C or more", mix.least_concrete_c.0.to_text()));
    format!("{} ({})", words.join(", "), mix.source)
}

/// Whether nothing is there yet that could be reckoned.
pub(super) fn is_without_evidence(record: &PlotRecord, feed: Feed) -> bool {
    match feed {
        Feed::PourTickets => tickets(record).next().is_none(),
        Feed::PourConditions => conditions(record).next().is_none(),
        Feed::CubeResults => tested(record).next().is_none(),
        _ => false,
    }
}

/// What is still owed, in words: papers, readings of the day, results.
pub(super) fn owed(record: &PlotRecord, feed: Feed) -> Vec<String> {
    let mut owed = Vec::new();
    match feed {
        Feed::PourTickets => {
            if tickets(record).next().is_none() {
                owed.push(feed.quantity().to_owned());
            }
            for moment in [PourMoment::Started, PourMoment::Finished] {
                if timed(record, moment).is_none() {
                    owed.push(format!("time at which the pour {}", moment_words(moment)));
                }
            }
        }
        Feed::PourConditions if conditions(record).next().is_none() => owed.push(feed.quantity().to_owned()),
        Feed::CubesTaken | Feed::CubeResults => {
            let wanted = cubes_asked(record).map_or(0, |cubes| cubes.samples);
            let wanted = usize::try_from(wanted).unwrap_or(usize::MAX);
            let taken: Vec<&CubesTaken> = taken(record).map(|(_, fact)| fact).collect();
            if taken.len() < wanted {
                let missing = wanted - taken.len();
                let many = if missing == 1 { "sample" } else { "samples" };
                owed.push(format!("{missing} {many} of cubes, labelled"));
            }
            if feed == Feed::CubeResults {
                let age = identity_age_days();
                owed.extend(
                    taken
                        .iter()
                        .filter(|one| {
                            !tested(record).any(|(_, test)| test.sample == one.sample && test.age_days == age)
                        })
                        .map(|one| format!("{age}-day result of cubes {}", one.sample)),
                );
            }
        }
        _ => {}
    }
    owed
}

fn moment_words(moment: PourMoment) -> &'static str {
    match moment {
        PourMoment::Started => "started",
        PourMoment::Finished => "was finished",
    }
}

/// The feed under which a fact of the pour is booked.
pub(super) const fn feed_of(fact: &PourFact) -> Feed {
    match fact {
        PourFact::Conditions(_) => Feed::PourConditions,
        PourFact::Timed(_) => Feed::PourTickets,
        PourFact::Taken(_) => Feed::CubesTaken,
        PourFact::Tested(_) => Feed::CubeResults,
    }
}

/// The feed of a criterion.
pub(super) fn feed_at(
    record: &PlotRecord,
    hold_point: &HoldPointId,
    criterion: &CriterionId,
) -> Option<Feed> {
    match record.plan.hold_point(hold_point)?.criterion(criterion)?.kind {
        CriterionKind::Reckoning { feed, .. } => Some(feed),
        CriterionKind::Question { .. } | CriterionKind::Document { .. } => None,
    }
}

/// Tickets of the topping that stand.
fn tickets(record: &PlotRecord) -> impl Iterator<Item = &Kept<TicketBooked>> {
    let own = criterion_of_feed(record, Feed::PourTickets);
    record.tickets.iter().filter(move |kept| {
        kept.superseded.is_none()
            && own
                .is_some_and(|(point, one)| point.id == kept.fact.hold_point && one.id == kept.fact.criterion)
    })
}

fn standing(record: &PlotRecord) -> impl Iterator<Item = &Kept<PourFact>> {
    record.pour.iter().filter(|kept| kept.superseded.is_none())
}

fn conditions(record: &PlotRecord) -> impl Iterator<Item = (&Kept<PourFact>, &ConditionsBooked)> {
    standing(record).filter_map(|kept| match &kept.fact {
        PourFact::Conditions(fact) => Some((kept, fact)),
        _ => None,
    })
}

fn taken(record: &PlotRecord) -> impl Iterator<Item = (&Kept<PourFact>, &CubesTaken)> {
    standing(record).filter_map(|kept| match &kept.fact {
        PourFact::Taken(fact) => Some((kept, fact)),
        _ => None,
    })
}

fn tested(record: &PlotRecord) -> impl Iterator<Item = (&Kept<PourFact>, &CubesTested)> {
    standing(record).filter_map(|kept| match &kept.fact {
        PourFact::Tested(fact) => Some((kept, fact)),
        _ => None,
    })
}

/// When the pour started or was finished: the entry and the time.
fn timed(record: &PlotRecord, moment: PourMoment) -> Option<(&Kept<PourFact>, &str)> {
    standing(record).find_map(|kept| match &kept.fact {
        PourFact::Timed(fact) if fact.moment == moment => Some((kept, fact.at.as_str())),
        _ => None,
    })
}

fn topping(record: &PlotRecord) -> Result<&Topping, String> {
    record.design().topping.as_ref().ok_or_else(|| NO_TOPPING.to_owned())
}

fn cubes_asked(record: &PlotRecord) -> Option<&Cubes> {
    record.design().topping.as_ref()?.cubes.as_ref()
}

fn limit(record: &PlotRecord) -> Option<LimitValue> {
    record.design().limit(LimitName::EvaporationMost, &record.limits)
}

/// The mix that a ticket of this criterion is held against.
fn mix_of(record: &PlotRecord, feed: Option<Feed>) -> Result<&ConcreteSpec, String> {
    match feed {
        Some(Feed::PourTickets) => Ok(&topping(record)?.concrete),
        _ => beam_feeds::spec(record),
    }
}

/// A ticket against the mix of its criterion, as the reckoning takes it.
///
/// # Errors
/// The design gives no mix, or a decimal of the ticket is none.
pub fn ticket_input(record: &PlotRecord, fact: &TicketBooked) -> Result<concrete_ticket::Input, String> {
    let feed = feed_at(record, &fact.hold_point, &fact.criterion);
    let mut input = beam_feeds::ticket_input(mix_of(record, feed)?, fact)?;
    if feed == Some(Feed::PourTickets) {
        let topping = topping(record)?;
        input.required.fibre_kg_per_m3 = topping.fibre_kg_per_m3;
        input.required.fibre_type.clone_from(&topping.fibre_type);
    }
    Ok(input)
}

/// A ticket that is not booked yet, item by item.
///
/// # Errors
/// What cannot be read yet, in words.
pub fn ticket_trial(record: &PlotRecord, fact: &TicketBooked) -> Result<concrete_ticket::Output, String> {
    concrete_ticket::reckon(&ticket_input(record, fact)?).map_err(|faults| faults.to_string())
}

fn real(text: &str, place: &str, faults: &mut Faults) -> Real {
    Real::parse(text.trim()).unwrap_or_else(|fault| {
        faults.add(place, format!("{:?}: {fault}", text.trim()));
        Real(0.0)
    })
}

/// Air, wind and concrete as the reckoning takes them.
///
/// # Errors
/// Every number that is none.
fn evaporation_input(record: &PlotRecord, fact: &ConditionsBooked) -> Result<evaporation::Input, String> {
    let mut faults = Faults::new();
    let input = evaporation::Input {
        concrete: real(&fact.concrete_c, "/concrete_C", &mut faults),
        air: real(&fact.air_c, "/air_C", &mut faults),
        humidity_percent: real(&fact.humidity_percent, "/humidity_percent", &mut faults),
        wind_km_per_h: real(&fact.wind_km_per_h, "/wind_km_per_h", &mut faults),
        limit_kg_per_m2_h: limit(record).map(|limit| Real(limit.value.to_f64())),
    };
    faults.into_result(input).map_err(|faults| faults.to_string())
}

/// How fast the surface would dry under conditions that are not booked yet.
///
/// # Errors
/// What cannot be read yet, in words.
pub fn evaporation_trial(
    record: &PlotRecord,
    fact: &ConditionsBooked,
) -> Result<evaporation::Output, String> {
    evaporation::reckon(&evaporation_input(record, fact)?).map_err(|faults| faults.to_string())
}

/// All cubes that were crushed, with one more that is not booked yet.
///
/// # Errors
/// The design asks for no cubes, or a strength is no number.
pub(super) fn cube_input(
    record: &PlotRecord,
    new: Option<&CubesTested>,
) -> Result<cube_strength::Input, String> {
    let topping = topping(record)?;
    let cubes = topping.cubes.as_ref().ok_or(NO_CUBES)?;
    let booked = tested(record).map(|(_, fact)| fact);
    let samples = booked.chain(new).map(|fact| {
        let strengths = fact.cubes_mpa.iter().map(|text| {
            Factor::parse(text.trim()).map(Plain).map_err(|fault| format!("{:?} MPa: {fault}", text.trim()))
        });
        Ok(cube_strength::Sample {
            sample: sample_name(fact),
            age_days: fact.age_days,
            cubes: strengths.collect::<Result<_, String>>()?,
        })
    });
    Ok(cube_strength::Input {
        strength_class: topping.concrete.strength_class.clone(),
        certified: cubes.certified,
        samples: samples.collect::<Result<_, String>>()?,
    })
}

/// One sample is crushed at several ages: results that only tell how it grows bear theirs in the name.
fn sample_name(fact: &CubesTested) -> String {
    if fact.age_days == identity_age_days() {
        fact.sample.clone()
    } else {
        format!("{} at {} days", fact.sample, fact.age_days)
    }
}

/// What a fact of the pour says, as a title and a line.
pub(super) fn words(fact: &PourFact) -> (String, String) {
    match fact {
        PourFact::Conditions(own) => (
            format!("At {}", own.at),
            format!(
                "concrete {} °C, air {} °C, humidity {} %, wind {} km/h",
                own.concrete_c, own.air_c, own.humidity_percent, own.wind_km_per_h
            ),
        ),
        PourFact::Timed(own) => (format!("Pour {} {}", own.moment.word(), own.at), String::new()),
        PourFact::Taken(own) => {
            let many = if own.cubes == 1 { "cube" } else { "cubes" };
            (
                format!("Cubes {}", own.sample),
                format!("{} {many} of load {}, taken {}", own.cubes, own.ticket, own.at),
            )
        }
        PourFact::Tested(own) => {
            let report = own.report.as_ref().map_or_else(String::new, |own| format!(", report {own}"));
            (
                format!("Cubes {} at {} days", own.sample, own.age_days),
                format!("{} MPa{report}", own.cubes_mpa.join(", ")),
            )
        }
    }
}
