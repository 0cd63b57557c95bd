//! What a sight would give before it is booked, and what a book that is taken in would give: level, verdict, how it
//! would close, what to point out.
//!
//! The sight is put into a copy of its book, and the copy is reduced and judged like any other: nothing is reckoned
//! here in another way than after booking. Nothing is recorded and nothing is decided; the person may be right.

use super::feeds::{target, tolerance};
use super::fold::{Kept, PlotRecord};
use super::judge::{self, Trial};
use super::level_book::{self, Certainty, LevelBook, Reduced};
use crate::entry::{Because, BookMethod, LevelBookBegun, ReadValue, SightBooked, SightKind, Supersedes};
use crate::floor::LimitName;
use crate::ids::{CriterionId, EntryId, HoldPointId, PointName};
use crate::plan_of_work::Feed;
use crate::quantity::Length;
use crate::reckon::slip::Slip;
use crate::reckon::slip::booking::{Misfit, Neighbour, Number, PointedOut, Typed, look_at};
use crate::time::Date;

/// A sight as it would stand in its book.
#[derive(Debug, Clone)]
pub struct SightTrial {
    /// The book with the sight in it.
    pub reduced: Reduced,
    /// The level of its point; after the closing, as adjusted.
    pub level: Length,
    /// For a back sight: the height of collimation of its set-up.
    pub collimation: Option<Length>,
    /// What the criterion says of the level that the book serves at this point.
    pub trial: Option<Trial>,
    /// What might have been meant instead, in the book's own way of reading, the nearest to what is expected first.
    pub perhaps: Vec<Perhaps>,
    /// How the level does not fit its neighbours on the wall.
    pub misfit: Option<Misfit>,
}

/// What might have been meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Perhaps {
    /// What would have been read: on the staff, or off the receiver's target.
    pub value: Length,
    /// The level that it would give.
    pub level: Length,
    /// The slip that would have been made.
    pub slip: Slip,
}

/// Tries a sight as the next of its book, or in the place of an earlier one, on that day.
///
/// # Errors
/// A sentence: no such book, or what the reckoning refuses.
pub fn of_sight(
    record: &PlotRecord,
    fact: &SightBooked,
    instead_of: Option<EntryId>,
    on: Date,
) -> Result<SightTrial, String> {
    let mut book = record
        .level_book(&fact.book)
        .cloned()
        .ok_or_else(|| format!("no level book {} is begun", fact.book))?;
    let supersedes = instead_of.map(|entry| Supersedes { entry, because: Because::Misread, remark: None });
    put(record, &mut book, fact, supersedes);
    let place = place_of_last(&book);
    let reduced = level_book::reduce(record, &book)?;
    let row = *reduced.row_of.get(place).ok_or("the sight has no row")?;
    let (sight, levels) = (&reduced.input.sights[row], &reduced.output.rows[row]);
    let (as_read, level) = (levels.level_m.0, levels.adjusted_level_m.0);
    let back = sight.back_m.filter(|_| fact.sight == SightKind::Back);
    let staff = match fact.sight {
        SightKind::Back => None,
        SightKind::Inter => sight.inter_m,
        SightKind::Fore => sight.fore_m,
    };
    let (perhaps, misfit) = staff
        .map_or_else(Default::default, |read| pointed_out(record, &book, fact, read.0, as_read + read.0));
    Ok(SightTrial {
        level,
        collimation: back.map(|back| as_read + back.0),
        trial: judged(record, &book.begun, &reduced, fact, level, on),
        perhaps,
        misfit,
        reduced,
    })
}

/// A whole book as it would stand, before it is taken in; its sights have no entries of their own yet.
pub fn of_book(record: &PlotRecord, begun: &LevelBookBegun, sights: &[SightBooked]) -> LevelBook {
    let mut book = LevelBook::new(begun.clone(), record.design_entry().clone());
    for fact in sights {
        put(record, &mut book, fact, None);
    }
    book
}

/// What the criteria that a book serves say of a level that stands or would stand in it.
pub fn judged(
    record: &PlotRecord,
    begun: &LevelBookBegun,
    reduced: &Reduced,
    fact: &SightBooked,
    level: Length,
    on: Date,
) -> Option<Trial> {
    if fact.sight == SightKind::Back {
        return None;
    }
    let feed = feed_at(record, begun, fact)?;
    let own = Certainty::of(record.instruments.get(&begun.instrument).map(AsRef::as_ref), on);
    let certainty = Certainty {
        expanded_uncertainty: Some(reduced.expanded_uncertainty),
        doubt: own.doubt.or_else(|| reduced.doubt.clone()),
    };
    judge::trial_of(record, feed, &fact.point, ReadValue::Um(level.um()), certainty)
}

fn put(record: &PlotRecord, book: &mut LevelBook, fact: &SightBooked, supersedes: Option<Supersedes>) {
    let kept =
        Kept { fact: fact.clone(), noted: record.design_entry().clone(), supersedes, superseded: None };
    book.take(kept, record.instruments.get(&book.begun.instrument).cloned());
}

/// Where the sight that was put in last stands in the book.
fn place_of_last(book: &LevelBook) -> usize {
    let last = book.sights.last();
    book.standing().position(|sight| last.is_some_and(|last| std::ptr::eq(sight, last))).unwrap_or(0)
}

/// What to point out about a reading: a slip, or that it does not fit its neighbours.
fn pointed_out(
    record: &PlotRecord,
    book: &LevelBook,
    fact: &SightBooked,
    reading: Length,
    collimation: Length,
) -> (Vec<Perhaps>, Option<Misfit>) {
    let Some((expected, tolerance)) = expected(record, &book.begun, fact) else { return Default::default() };
    let design = record.design();
    let places = design.bearing_points();
    let own = places.iter().find(|place| place.name == fact.point);
    let beside = own.map_or_else(Vec::new, |own| {
        let levels = levels_beside(record, &book.begun, &fact.point);
        let same_wall = places.iter().filter(|place| place.wall == own.wall);
        let known = same_wall.filter_map(|place| {
            let level = levels.iter().rev().find(|(name, _)| *name == place.name)?.1;
            Some((place.name.to_string(), place.along, level))
        });
        known.collect::<Vec<_>>()
    });
    let neighbours: Vec<Neighbour<'_>> = beside
        .iter()
        .map(|(point, along, level)| Neighbour { point, along: *along, level: *level })
        .collect();
    let along = own.map_or(Length::ZERO, |own| own.along);
    let number = Number::Reading { reading, collimation };
    let found = look_at(&Typed { number, along, expected, tolerance, neighbours: &neighbours });
    // A staff reading and what was read add up alike whatever was read: an offset above the target is a staff below.
    let sum = Length::from_um(fact.value_um) + reading;
    let own_way = |number: Length| match book.begun.method {
        BookMethod::Receiver => sum - number,
        BookMethod::HeightOfCollimation | BookMethod::RiseAndFall => number,
    };
    let perhaps = found.perhaps.into_iter();
    (
        perhaps.map(|one| Perhaps { value: own_way(one.number), level: one.level, slip: one.slip }).collect(),
        found.misfit,
    )
}

/// What to point out about a level that is typed as such: what it might have been, and how it does not fit its
/// neighbours. Nothing where no level is expected at the point.
pub fn of_level(
    record: &PlotRecord,
    feed: Feed,
    (hold_point, criterion): (&HoldPointId, &CriterionId),
    point: &PointName,
    level: Length,
) -> PointedOut {
    let (Some(expected), Some(tolerance)) = (target(record, feed), tolerance(record, feed)) else {
        return PointedOut::default();
    };
    let places = record.design().bearing_points();
    let Some(own) = places.iter().find(|place| place.name == *point) else { return PointedOut::default() };
    let readings = record.readings_of(hold_point, criterion);
    let beside: Vec<(String, Length, Length)> = places
        .iter()
        .filter(|place| place.wall == own.wall && place.name != own.name)
        .filter_map(|place| {
            let read =
                readings.iter().rev().find(|one| one.superseded.is_none() && one.point == place.name)?;
            Some((place.name.to_string(), place.along, super::feeds::length_of(read.value)?))
        })
        .collect();
    let neighbours: Vec<Neighbour<'_>> = beside
        .iter()
        .map(|(point, along, level)| Neighbour { point, along: *along, level: *level })
        .collect();
    let number = Number::Level(level);
    look_at(&Typed { number, along: own.along, expected, tolerance, neighbours: &neighbours })
}

/// The level that is expected where a sight is read, and how far a sound one may be from it.
fn expected(record: &PlotRecord, begun: &LevelBookBegun, fact: &SightBooked) -> Option<(Length, Length)> {
    if let Some(known) = record.benchmark_level(&fact.point) {
        // A receiver's check is no number of a staff: its digits say nothing.
        let limit = record.design().limit(LimitName::LevellingPerRootSetup, &record.limits)?;
        return (begun.method != BookMethod::Receiver).then(|| (known, limit.length()));
    }
    let feed = feed_at(record, begun, fact)?;
    Some((target(record, feed)?, tolerance(record, feed)?))
}

/// The criterion's feed that takes a sight's level.
pub fn feed_at(record: &PlotRecord, begun: &LevelBookBegun, fact: &SightBooked) -> Option<Feed> {
    level_book::taken_by(record, &level_book::served(record, begun), fact).map(|one| one.feed)
}

/// The levels of other points as they are booked for the criteria that a book serves, in the order of events.
fn levels_beside(record: &PlotRecord, begun: &LevelBookBegun, own: &PointName) -> Vec<(PointName, Length)> {
    let all = begun.serves.iter().flat_map(|one| record.readings_of(&one.hold_point, &one.criterion));
    let others = all.filter(|one| one.superseded.is_none() && one.point != *own);
    let levels = others.filter_map(|one| match one.value {
        ReadValue::Um(um) => Some((one.point, Length::from_um(um))),
        _ => None,
    });
    levels.collect()
}
