//! What comes next in a level book: which sight, onto which point. Proposals only: whether a sight may be booked is
//! asked of the rules, and the person may take another point.
//!
//! The order: the bench mark first, then the points still owed along each wall, a change point where the instrument
//! has to move, a bench mark at the end.

use std::collections::BTreeSet;

use gaugerod_core::entry::{BookMethod, SightBooked, SightKind};
use gaugerod_core::ids::PointName;
use gaugerod_core::inspection::PlotRecord;
use gaugerod_core::inspection::level_book::{self, LevelBook};
use gaugerod_core::plan_of_work::Feed;

/// Names that are offered for points that the design does not name.
const SPARE_NAMES: usize = 6;

/// What the last sight leaves to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Due {
    /// A back sight onto this point: the book begins, or the instrument stands anew.
    Back(PointName),
    /// Points, or a fore sight.
    Between,
    /// Nothing: closed on this bench mark.
    Closed(PointName),
}

/// One point that a book levels.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stop {
    /// Its name.
    pub point: PointName,
    /// Its wall, or `oversite`.
    pub group: String,
    /// It has a sight in this book.
    pub is_here: bool,
    /// It has a level from elsewhere: another book, or typed.
    pub is_read: bool,
}

/// A book's course so far.
#[derive(Debug, Clone)]
pub struct Course {
    /// How the book is kept.
    method: BookMethod,
    /// What is to do.
    pub due: Due,
    /// The points that it levels, in the order of the design.
    pub stops: Vec<Stop>,
    /// The bench marks.
    pub marks: Vec<PointName>,
    /// The bench mark that it began on.
    begun_on: PointName,
    /// Where the last point stands among the stops.
    last_stop: Option<usize>,
    /// The names of its fore sights.
    fores: BTreeSet<PointName>,
    /// The last reading of each kind, for the same once more.
    last: Vec<(SightKind, i64)>,
}

impl Course {
    /// Of a book as it stands.
    pub fn of(record: &PlotRecord, book: &LevelBook) -> Self {
        let facts: Vec<&SightBooked> = book.standing().map(|one| &one.kept.fact).collect();
        let is_mark = |point: &PointName| record.benchmark_level(point).is_some();
        let due = match facts.last() {
            None => Due::Back(book.begun.benchmark.clone()),
            Some(last) if last.sight != SightKind::Fore => Due::Between,
            Some(last) if is_mark(&last.point) => Due::Closed(last.point.clone()),
            Some(last) => Due::Back(last.point.clone()),
        };
        let stops = stops(record, book, &facts);
        let place = |point: &PointName| stops.iter().position(|stop| stop.point == *point);
        let last_stop =
            facts.iter().rev().filter(|one| one.sight != SightKind::Back).find_map(|one| place(&one.point));
        let fores = facts.iter().filter(|one| one.sight == SightKind::Fore).map(|one| one.point.clone());
        let mut marks: Vec<PointName> = record.benchmarks.keys().cloned().collect();
        if let Ok(datum) = PointName::new(&record.design().datum.name)
            && !marks.contains(&datum)
        {
            marks.push(datum);
        }
        Self {
            method: book.begun.method,
            due,
            marks,
            begun_on: book.begun.benchmark.clone(),
            last_stop,
            fores: fores.collect(),
            last: facts.iter().map(|one| (one.sight, one.value_um)).collect(),
            stops,
        }
    }

    /// The kinds of sight that may come next.
    pub fn kinds(&self) -> &'static [SightKind] {
        match self.due {
            Due::Back(_) => &[SightKind::Back],
            Due::Between => &[SightKind::Inter, SightKind::Fore],
            Due::Closed(_) => &[],
        }
    }

    /// The kind that is proposed: points as long as some are owed, then the fore sight.
    pub fn kind(&self) -> Option<SightKind> {
        match self.due {
            Due::Back(_) => Some(SightKind::Back),
            Due::Between if self.next_owed().is_some() => Some(SightKind::Inter),
            Due::Between => Some(SightKind::Fore),
            Due::Closed(_) => None,
        }
    }

    /// The point that is proposed for a kind of sight.
    pub fn point(&self, kind: SightKind) -> Option<PointName> {
        match (kind, &self.due) {
            (SightKind::Back, Due::Back(point)) => Some(point.clone()),
            (SightKind::Inter, Due::Between) => self.next_owed().or_else(|| self.next_here()),
            (SightKind::Fore, Due::Between) if self.closes() => Some(self.begun_on.clone()),
            (SightKind::Fore, Due::Between) => self.change_point(),
            _ => None,
        }
    }

    /// Whether the fore sight that is proposed closes the book: nothing is owed, or the receiver is checked.
    pub fn closes(&self) -> bool {
        self.method == BookMethod::Receiver || self.next_owed().is_none()
    }

    /// The next point after this one that has no level yet, where another than this is left.
    pub fn after(&self, point: &PointName) -> Option<PointName> {
        let own = self.stops.iter().position(|stop| stop.point == *point).map_or(0, |own| own + 1);
        let onward = self.stops.iter().cycle().skip(own).take(self.stops.len());
        let mut owed = onward.filter(|stop| !stop.is_here && !stop.is_read && stop.point != *point);
        owed.next().map(|stop| stop.point.clone())
    }

    /// How many points are still owed.
    pub fn owed(&self) -> usize {
        self.stops.iter().filter(|stop| !stop.is_here && !stop.is_read).count()
    }

    /// The next point after the last one that has no level yet, round to the beginning.
    fn next_owed(&self) -> Option<PointName> {
        self.onward().find(|stop| !stop.is_here && !stop.is_read).map(|stop| stop.point.clone())
    }

    /// The next point that this book has not sighted, though it has a level from elsewhere.
    fn next_here(&self) -> Option<PointName> {
        self.onward()
            .find(|stop| !stop.is_here)
            .or_else(|| self.onward().next())
            .map(|stop| stop.point.clone())
    }

    fn onward(&self) -> impl Iterator<Item = &Stop> {
        let from = self.last_stop.map_or(0, |own| own + 1);
        self.stops.iter().cycle().skip(from).take(self.stops.len())
    }

    /// The next change point: `CP1`, `CP2`, …
    pub fn change_point(&self) -> Option<PointName> {
        let names =
            (1..=self.fores.len() + 1).filter_map(|number| PointName::new(&format!("CP{number}")).ok());
        names.into_iter().find(|name| !self.fores.contains(name))
    }

    /// The last reading of this kind, for the same once more.
    pub fn same_again(&self, kind: SightKind) -> Option<i64> {
        self.last.iter().rev().find(|(own, _)| *own == kind).map(|(_, um)| *um)
    }
}

/// The points that a book levels, with what is known of each.
fn stops(record: &PlotRecord, book: &LevelBook, facts: &[&SightBooked]) -> Vec<Stop> {
    let here: BTreeSet<&PointName> =
        facts.iter().filter(|one| one.sight != SightKind::Back).map(|one| &one.point).collect();
    let places = record.design().bearing_points();
    let read: BTreeSet<PointName> = book
        .begun
        .serves
        .iter()
        .flat_map(|one| record.readings_of(&one.hold_point, &one.criterion))
        .filter(|one| one.superseded.is_none())
        .map(|one| one.point)
        .collect();
    let stop = |point: PointName, group: String| Stop {
        is_here: here.contains(&point),
        is_read: read.contains(&point),
        point,
        group,
    };
    let mut stops = Vec::new();
    for level_book::Served { feed, points, .. } in level_book::served(record, &book.begun) {
        let group = |point: &PointName| {
            let wall =
                places.iter().find(|place| place.name == *point).map(|place| format!("Wall {}", place.wall));
            wall.unwrap_or_else(|| of_feed(feed).to_owned())
        };
        if points.is_empty() {
            // A criterion that leaves its points to the person: those sighted, then names to choose from.
            stops.extend(
                free_names(record, &here).into_iter().map(|point| stop(point, of_feed(feed).to_owned())),
            );
        }
        for point in points {
            let group = group(&point);
            stops.push(stop(point, group));
        }
    }
    // Walls are read one after the other, what lies between them afterwards.
    stops.sort_by_key(|stop| places.iter().all(|place| place.name != stop.point));
    stops
}

fn of_feed(feed: Feed) -> &'static str {
    match feed {
        Feed::BearingLevels => "Walls",
        Feed::GroundAsBuilt => "Void as built",
        _ => "Oversite",
    }
}

/// The ground points of the design, for a criterion that wants some of them again; made-up names where it has none.
fn free_names(record: &PlotRecord, here: &BTreeSet<&PointName>) -> Vec<PointName> {
    let named = record.design().ground_point_names();
    if !named.is_empty() {
        return named;
    }
    let made_up =
        (1..=here.len() + SPARE_NAMES).filter_map(|number| PointName::new(&format!("P{number}")).ok());
    made_up.collect()
}
