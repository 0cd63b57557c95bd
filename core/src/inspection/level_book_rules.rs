//! What may be booked in a level book: how one is begun, which sight may follow which, onto which points.
//!
//! The order is checked whole each time, with the new sight in its place, so that a sight put right cannot leave a
//! book that no longer reduces.

use std::collections::BTreeSet;

use super::decide::Refusal;
use super::fold::PlotRecord;
use super::level_book::{LevelBook, served};
use crate::entry::{
    BenchmarkRegistered, BookAllowable, BookMethod, InstrumentKind, InstrumentRegistered, LevelBookBegun,
    SightBooked, SightKind,
};
use crate::ids::PointName;
use crate::plan_of_work::{CriterionKind, Feed, ReadingUnit};
use crate::quantity::Length;
use crate::reckon::staff;

/// How far a receiver can be off, how far two pegs can stand apart, how unsure an instrument can
/// be: bounds of what a person can have read, not limits of conformity (common practice).
const FURTHEST_OFFSET: Length = Length::from_mm(1_000);
const FURTHEST_PEGS: Length = Length::from_mm(200_000);
const WORST_INSTRUMENT: Length = Length::from_mm(100);
const HIGHEST_LEVEL: Length = Length::from_mm(9_000_000);
/// The most sights of one book.
pub(super) const MOST_SIGHTS: usize = 10_000;
/// The most books of a plot.
const MOST_BOOKS: usize = 200;

fn refuse<T>(what: impl Into<String>) -> Result<T, Refusal> {
    Err(Refusal::LevelBook(what.into()))
}

/// Checks an instrument's registration.
pub(super) fn instrument(own: &InstrumentRegistered) -> Result<(), Refusal> {
    let unsure = Length::from_um(own.expanded_uncertainty_um);
    if unsure.is_negative() || unsure > WORST_INSTRUMENT {
        return refuse(format!(
            "the uncertainty of {} must be 0 to {} mm",
            own.instrument,
            WORST_INSTRUMENT.to_mm_text()
        ));
    }
    if own.due < own.checked {
        return refuse(format!(
            "{} was checked on {}, after its check was due ({})",
            own.instrument, own.checked, own.due
        ));
    }
    let Some(test) = &own.two_peg else { return Ok(()) };
    for um in [test.mid_a_um, test.mid_b_um, test.end_a_um, test.end_b_um] {
        on_staff(Length::from_um(um))?;
    }
    let apart = Length::from_um(test.distance_um);
    if apart <= Length::ZERO || apart > FURTHEST_PEGS {
        return refuse(format!(
            "the pegs of a two-peg test stand up to {} m apart",
            FURTHEST_PEGS.to_m_text()
        ));
    }
    super::level_book::two_peg_test(test).map_err(Refusal::File)?;
    Ok(())
}

/// Checks a bench mark's registration.
pub(super) fn benchmark(own: &BenchmarkRegistered) -> Result<(), Refusal> {
    if Length::from_um(own.level_um).abs() > HIGHEST_LEVEL {
        return Err(Refusal::Absurd(format!(
            "a bench mark cannot lie at {} m",
            Length::from_um(own.level_um).to_m_text()
        )));
    }
    Ok(())
}

/// Checks that a level book may be begun so.
pub(super) fn begin(record: &PlotRecord, begun: &LevelBookBegun) -> Result<(), Refusal> {
    if record.level_book(&begun.book).is_some() {
        return refuse(format!("level book {} is begun already: give the new one another name", begun.book));
    }
    if record.level_books.len() >= MOST_BOOKS {
        return refuse(format!("a plot has at most {MOST_BOOKS} level books"));
    }
    let Some(registered) = record.instruments.get(&begun.instrument) else {
        return refuse(format!(
            "no instrument {} is registered on this site; registered: {}",
            begun.instrument,
            names(record.instruments.keys())
        ));
    };
    if matches!(registered.kind, InstrumentKind::Tape | InstrumentKind::Gauge) {
        return refuse(format!("{} is a {}: it reads no levels", begun.instrument, registered.kind.word()));
    }
    if record.benchmark_level(&begun.benchmark).is_none() {
        return refuse(format!("bench mark {} is not registered: {}", begun.benchmark, known_marks(record)));
    }
    match (begun.method, begun.target_um) {
        (BookMethod::Receiver, None) => {
            return refuse("a laser receiver's book needs the level that the receiver is set to");
        }
        (BookMethod::Receiver, Some(um)) => {
            let finished = record.design().levels.finished_floor_level_m.0;
            if (Length::from_um(um) - finished).abs() > super::judge::FURTHEST_LEVEL {
                return Err(Refusal::Absurd(format!(
                    "a target of {} m cannot be here: the finished floor is at {} m",
                    Length::from_um(um).to_m_text(),
                    finished.m_text(3)
                )));
            }
        }
        (_, Some(_)) => return refuse("only a laser receiver is set to a target level"),
        (_, None) => {}
    }
    allowable(begun)?;
    serves(record, begun)
}

fn allowable(begun: &LevelBookBegun) -> Result<(), Refusal> {
    let sound = match begun.allowable {
        None => true,
        Some(BookAllowable::PerRootSetup { um }) => (1..=Length::from_mm(100).um()).contains(&um),
        Some(BookAllowable::PerRootKm { um, distance_um }) => {
            let furthest = Length::from_mm(100_000_000).um();
            (1..=Length::from_mm(1_000).um()).contains(&um) && (1..=furthest).contains(&distance_um)
        }
    };
    if sound { Ok(()) } else { refuse("what the book may miss must be more than 0 and of this world") }
}

fn serves(record: &PlotRecord, begun: &LevelBookBegun) -> Result<(), Refusal> {
    if begun.serves.is_empty() {
        return refuse("name at least one criterion that takes its levels from the book");
    }
    let distinct: BTreeSet<_> = begun.serves.iter().collect();
    if distinct.len() != begun.serves.len() {
        return refuse("a criterion stands twice in what the book serves");
    }
    let mut points = BTreeSet::new();
    let mut is_free_taken = false;
    for one in &begun.serves {
        let own = record
            .plan
            .hold_point(&one.hold_point)
            .ok_or_else(|| Refusal::NoHoldPoint(one.hold_point.clone()))?;
        let asked = super::decide::criterion_of(own, &one.criterion)?;
        let feed = match asked.kind {
            CriterionKind::Reckoning { feed, .. } => Some(feed),
            CriterionKind::Question { .. } | CriterionKind::Document { .. } => None,
        };
        if feed.and_then(Feed::unit) != Some(ReadingUnit::LevelMetres) {
            return refuse(format!("{} of {} is no level", one.criterion, own.title));
        }
        let own_points = asked.owing(record.design()).points;
        if own_points.is_empty() && std::mem::replace(&mut is_free_taken, true) {
            return refuse(
                "only one criterion that leaves its points to the person can take its levels from a book",
            );
        }
        for point in own_points {
            if !points.insert(point.clone()) {
                return refuse(format!("{point} is asked for by two of the criteria that the book serves"));
            }
        }
    }
    Ok(())
}

/// Checks that a sight may be booked: as the next of its book, or in the place of the one that it supersedes.
pub(super) fn sight(record: &PlotRecord, fact: &SightBooked, place: Option<usize>) -> Result<(), Refusal> {
    let Some(book) = record.level_book(&fact.book) else {
        return refuse(format!(
            "no level book {} is begun on this plot; begun: {}",
            fact.book,
            names(record.level_books.iter().map(|book| &book.begun.book))
        ));
    };
    let sights: Vec<&SightBooked> = book.standing().map(|one| &one.kept.fact).collect();
    in_order(record, book, &sights, fact, place)
}

/// Checks a book taken in whole, sight by sight; the refusal names the row (from 1) that it stops at.
pub(super) fn whole(
    record: &PlotRecord,
    begun: &LevelBookBegun,
    noted: &super::fold::Noted,
    sights: &[SightBooked],
) -> Result<(), (usize, Refusal)> {
    let book = LevelBook::new(begun.clone(), noted.clone());
    let mut taken: Vec<&SightBooked> = Vec::with_capacity(sights.len());
    for (index, fact) in sights.iter().enumerate() {
        in_order_of_last(record, &book, &taken, fact).map_err(|refusal| (index, refusal))?;
        taken.push(fact);
    }
    Ok(())
}

/// Checks the new sight in its place, and all that follow it.
fn in_order(
    record: &PlotRecord,
    book: &LevelBook,
    sights: &[&SightBooked],
    fact: &SightBooked,
    place: Option<usize>,
) -> Result<(), Refusal> {
    let Some(place) = place else { return in_order_of_last(record, book, sights, fact) };
    let mut changed: Vec<&SightBooked> = sights.to_vec();
    changed[place] = fact;
    for index in place..changed.len() {
        in_order_of_last(record, book, &changed[..index], changed[index])?;
    }
    Ok(())
}

/// Checks a sight that follows others.
fn in_order_of_last(
    record: &PlotRecord,
    book: &LevelBook,
    before: &[&SightBooked],
    fact: &SightBooked,
) -> Result<(), Refusal> {
    let begun = &book.begun;
    let name = &begun.book;
    let read = Length::from_um(fact.value_um);
    if begun.method == BookMethod::Receiver {
        if read.abs() > FURTHEST_OFFSET {
            return Err(Refusal::Absurd(format!(
                "{} mm cannot be how far a receiver is off",
                read.to_mm_text()
            )));
        }
    } else {
        on_staff(read)?;
    }
    if before.len() >= MOST_SIGHTS {
        return refuse(format!("level book {name} is full: begin another"));
    }
    let is_mark = |point: &PointName| record.benchmark_level(point).is_some();
    let due = match before.last() {
        None => Some(&begun.benchmark),
        Some(last) if last.sight == SightKind::Fore && is_mark(&last.point) => {
            return refuse(format!(
                "level book {name} is closed on {}: begin another book for more sights",
                last.point
            ));
        }
        Some(last) if last.sight == SightKind::Fore => Some(&last.point),
        Some(_) => None,
    };
    match (due, fact.sight) {
        (Some(due), SightKind::Back) if fact.point == *due => Ok(()),
        (Some(due), _) if before.is_empty() => refuse(format!(
            "level book {name} starts with a back sight onto its bench mark {due}, not a {} onto {}",
            fact.sight.word(),
            fact.point
        )),
        (Some(due), _) => refuse(format!(
            "after the fore sight onto {due} the instrument stands anew: first a back sight onto {due}, not a {} onto {}",
            fact.sight.word(),
            fact.point
        )),
        (None, SightKind::Back) => refuse(format!(
            "a back sight onto {} begins a new set-up: first a fore sight onto it",
            fact.point
        )),
        (None, SightKind::Fore) if begun.method == BookMethod::Receiver && !is_mark(&fact.point) => {
            refuse(format!(
                "a laser receiver's book ends with a check on a bench mark; {} is none: {}",
                fact.point,
                known_marks(record)
            ))
        }
        (None, SightKind::Fore) => Ok(()),
        (None, SightKind::Inter) => {
            let asked = served(record, begun);
            let known = super::level_book::taken_by(record, &asked, fact).is_some() || is_mark(&fact.point);
            if known {
                return Ok(());
            }
            let all: Vec<&PointName> = asked.iter().flat_map(|one| &one.points).collect();
            Err(Refusal::NoPoint {
                point: fact.point.clone(),
                known: format!("it has {}", names(all.into_iter())),
            })
        }
    }
}

fn on_staff(read: Length) -> Result<(), Refusal> {
    if staff::can_be_read(read) {
        return Ok(());
    }
    Err(Refusal::Absurd(format!("{} m: a staff reading {}", read.to_m_text(), staff::impossible(read))))
}

fn known_marks(record: &PlotRecord) -> String {
    let mut marks: Vec<String> = record.benchmarks.keys().map(ToString::to_string).collect();
    let datum = &record.design().datum.name;
    if !marks.contains(datum) {
        marks.push(datum.clone());
    }
    format!("known are {}", marks.join(", "))
}

fn names<T: ToString>(all: impl Iterator<Item = T>) -> String {
    const MOST: usize = 12;
    let mut listed: Vec<String> = all.take(MOST + 1).map(|one| one.to_string()).collect();
    if listed.is_empty() {
        return "none".to_owned();
    }
    if listed.len() > MOST {
        listed[MOST] = "…".to_owned();
    }
    listed.join(", ")
}
