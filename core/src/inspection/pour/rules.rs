//! What may be booked on the day of the pour and of cubes afterwards: checked whole before anything is recorded.

use super::{
    PlotRecord, cube_input, evaporation_trial, feed_at, feed_of, moment_words, standing, taken, tested,
    ticket_trial, tickets,
};
use crate::entry::{CubesTaken, CubesTested, PourFact, PourMoment, PourTimed, Supersedes, TicketBooked};
use crate::inspection::decide::{Refusal, check_text, paper_criterion};
use crate::plan_of_work::Feed;
use crate::reckon::{MAX_NAME, concrete_ticket, cube_strength};

/// Whether a ticket is booked for the topping, not for the gap between doubled beams.
pub(in crate::inspection) fn is_of_topping(record: &PlotRecord, ticket: &TicketBooked) -> bool {
    feed_at(record, &ticket.hold_point, &ticket.criterion) == Some(Feed::PourTickets)
}

/// Checks what a ticket says beside its number.
///
/// # Errors
/// What is wrong with it.
pub(in crate::inspection) fn ticket(record: &PlotRecord, ticket: &TicketBooked) -> Result<(), Refusal> {
    if let Some(batch) = &ticket.batch {
        name("the batch", batch)?;
    }
    ticket_trial(record, ticket).map_err(Refusal::Text)?;
    if let Some(began) = &ticket.began_at {
        is_time(began)?;
        let out_of_order = |earlier: &str, later: &str| {
            concrete_ticket::seconds_between(earlier, later).is_none_or(|seconds| seconds < 0)
        };
        if out_of_order(&ticket.batched_at, began) || out_of_order(began, &ticket.discharged_at) {
            return Err(Refusal::Text(
                "discharge begins after batching and before its end, all three written in the same way"
                    .to_owned(),
            ));
        }
    }
    Ok(())
}

/// Checks a fact of the pour before it is booked.
///
/// # Errors
/// What is wrong with it, or that it stands there already.
pub(in crate::inspection) fn check(
    record: &PlotRecord,
    fact: &PourFact,
    supersedes: Option<&Supersedes>,
) -> Result<(), Refusal> {
    paper_criterion(record, fact.hold_point(), fact.criterion(), feed_of(fact))?;
    // What an entry takes the place of counts no more.
    let mut before = record.clone();
    if let Some(by) = supersedes {
        before.pour.retain(|kept| kept.noted.id != by.entry);
    }
    match fact {
        PourFact::Conditions(new) => {
            is_time(&new.at)?;
            evaporation_trial(&before, new).map(drop).map_err(Refusal::Text)
        }
        PourFact::Timed(new) => timed(&before, new),
        PourFact::Taken(new) => cubes_taken(&before, new),
        PourFact::Tested(new) => cubes_tested(&before, new),
    }
}

fn timed(record: &PlotRecord, new: &PourTimed) -> Result<(), Refusal> {
    is_time(&new.at)?;
    let at = |wanted: PourMoment| {
        standing(record).find_map(|other| match &other.fact {
            PourFact::Timed(other) if other.moment == wanted => Some(other.at.as_str()),
            _ => None,
        })
    };
    if at(new.moment).is_some() {
        let what = format!("the time at which the pour {} is booked already", moment_words(new.moment));
        return Err(Refusal::Already(what));
    }
    let (started, finished) = match new.moment {
        PourMoment::Started => (Some(new.at.as_str()), at(PourMoment::Finished)),
        PourMoment::Finished => (at(PourMoment::Started), Some(new.at.as_str())),
    };
    match started.zip(finished).map(|(started, finished)| concrete_ticket::seconds_between(started, finished))
    {
        Some(None) => Err(Refusal::Text(
            "write start and finish in the same way: 08:10, or both with the day".to_owned(),
        )),
        Some(Some(seconds)) if seconds < 0 => Err(Refusal::Text(
            "a pour is not finished before it started; past midnight give the dates too".to_owned(),
        )),
        _ => Ok(()),
    }
}

fn cubes_taken(record: &PlotRecord, new: &CubesTaken) -> Result<(), Refusal> {
    is_time(&new.at)?;
    name("the label of the cubes", &new.sample)?;
    if taken(record).any(|(_, other)| other.sample == new.sample) {
        return Err(Refusal::Already(format!("cubes {} are booked already", new.sample)));
    }
    if !tickets(record).any(|kept| kept.fact.ticket == new.ticket) {
        let what = format!("no ticket {} is booked for the topping: book its load first", new.ticket);
        return Err(Refusal::Text(what));
    }
    let most = cube_strength::MOST_CUBES;
    if new.cubes < 1 || most < new.cubes {
        return Err(Refusal::Text(format!("a sample makes 1 to {most} cubes")));
    }
    Ok(())
}

fn cubes_tested(record: &PlotRecord, new: &CubesTested) -> Result<(), Refusal> {
    if let Some(report) = &new.report {
        name("the report's number", report)?;
    }
    let Some((_, made)) = taken(record).find(|(_, one)| one.sample == new.sample) else {
        let known: Vec<&str> = taken(record).map(|(_, one)| one.sample.as_str()).collect();
        let known = if known.is_empty() { "none were taken".to_owned() } else { known.join(", ") };
        return Err(Refusal::Text(format!("no cubes {} of this plot are known: {known}", new.sample)));
    };
    let of_sample = || tested(record).map(|(_, one)| one).filter(|one| one.sample == new.sample);
    if of_sample().any(|one| one.age_days == new.age_days) {
        let what = format!("the {}-day result of cubes {} is booked already", new.age_days, new.sample);
        return Err(Refusal::Already(what));
    }
    let crushed = of_sample().map(|one| one.cubes_mpa.len()).sum::<usize>() + new.cubes_mpa.len();
    if usize::try_from(made.cubes).is_ok_and(|made| made < crushed) {
        let what = format!("{} cubes {} were made, {crushed} would be crushed", made.cubes, new.sample);
        return Err(Refusal::Text(what));
    }
    let input = cube_input(record, Some(new)).map_err(Refusal::Text)?;
    cube_strength::reckon(&input).map(drop).map_err(|faults| Refusal::Text(faults.to_string()))
}

fn is_time(text: &str) -> Result<(), Refusal> {
    if concrete_ticket::reads_as_time(text) {
        return Ok(());
    }
    Err(Refusal::Text(format!("{text:?} is no time such as 08:10 or 2026-11-26T08:10")))
}

/// A short text on one line.
fn name(what: &str, text: &str) -> Result<(), Refusal> {
    check_text(what, text)?;
    if text.chars().take(MAX_NAME + 1).count() > MAX_NAME || text.contains('\n') {
        return Err(Refusal::Text(format!("{what} has at most {MAX_NAME} characters on one line")));
    }
    Ok(())
}
