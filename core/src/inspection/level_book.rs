//! Level books of a plot: the sights as booked, the levels that follow from them, and the readings that these
//! are for the criteria which a book serves.
//!
//! A level is derived each time from its sight, set-up and bench mark, so that a sight put right (by superseding
//! it) judges every hold point anew that used it. What may be booked is decided in [`super::level_book_rules`].

use std::sync::Arc;

use super::fold::{Kept, Noted, PlotRecord};
use crate::conformity::Verdict;
use crate::entry::{
    Because, BookAllowable, BookMethod, InstrumentRegistered, LevelBookBegun, ReadValue, ReadingBooked,
    Serves, SightBooked, SightKind, Supersedes, TwoPegTest,
};
use crate::floor::LimitName;
use crate::ids::{CriterionId, EntryId, HoldPointId, LevelBookName, PointName};
use crate::level_book_csv::{self, CsvFaults, TakenRow};
use crate::plan_of_work::{CriterionKind, Feed};
use crate::quantity::{Length, Metres, Mm};
use crate::reckon::{level_book, two_peg};
use crate::time::Date;

/// A sight as it was booked.
#[derive(Debug, Clone)]
pub struct Sight {
    /// The fact.
    pub kept: Kept<SightBooked>,
    /// The registration of the instrument that was in force then.
    pub registration: Option<Arc<InstrumentRegistered>>,
}

/// A level book.
#[derive(Debug, Clone)]
pub struct LevelBook {
    /// How it was begun.
    pub begun: LevelBookBegun,
    /// By whom, when.
    pub noted: Noted,
    /// Every sight in the order of events, superseded ones too.
    pub sights: Vec<Sight>,
    /// The sights that stand in the book, in its order, by their place in `sights`: a sight that takes the place
    /// of an earlier one stands where that stood.
    standing: Vec<usize>,
}

impl LevelBook {
    pub(super) fn new(begun: LevelBookBegun, noted: Noted) -> Self {
        Self { begun, noted, sights: Vec::new(), standing: Vec::new() }
    }

    pub(super) fn take(&mut self, kept: Kept<SightBooked>, registration: Option<Arc<InstrumentRegistered>>) {
        let index = self.sights.len();
        let earlier = kept.supersedes.as_ref().and_then(|one| self.place_of(one.entry));
        match earlier {
            Some(place) => self.standing[place] = index,
            None => self.standing.push(index),
        }
        self.sights.push(Sight { kept, registration });
    }

    /// The sights that stand in the book, in its order.
    pub fn standing(&self) -> impl ExactSizeIterator<Item = &Sight> + Clone {
        self.standing.iter().map(|index| &self.sights[*index])
    }

    /// The place in the book of the sight that an entry booked, if it stands there.
    pub fn place_of(&self, entry: EntryId) -> Option<usize> {
        self.standing.iter().position(|index| self.sights[*index].kept.noted.id == entry)
    }

    /// The place of the sight that took the place of this one within the book; its own where it stands there.
    fn place_now(&self, sight: &Sight) -> Option<usize> {
        let mut entry = sight.kept.noted.id;
        for _ in 0..=self.sights.len() {
            if let Some(place) = self.place_of(entry) {
                return Some(place);
            }
            entry = self.sights.iter().find(|one| one.kept.noted.id == entry)?.kept.superseded?.0;
        }
        None
    }

    /// Whether a fore sight onto a bench mark closed it.
    pub fn is_closed(&self, record: &PlotRecord) -> bool {
        self.standing().last().is_some_and(|last| {
            last.kept.fact.sight == SightKind::Fore && record.benchmark_level(&last.kept.fact.point).is_some()
        })
    }
}

/// A level book reduced: what the reckoning was given and what it gave.
#[derive(Debug, Clone)]
pub struct Reduced {
    /// The reckoning's input: a receiver's offsets stand in it as the staff readings that they amount to.
    pub input: level_book::Input,
    /// Its output.
    pub output: level_book::Output,
    /// For each sight that stands in the book, its row in the output.
    pub row_of: Vec<usize>,
    /// For each sight, the number of its set-up, from 1.
    pub setup_of: Vec<usize>,
    /// Whether it is closed on a bench mark.
    pub closed: bool,
    /// The uncertainty that its levels carry: the larger of the instrument's and the misclosure.
    pub expanded_uncertainty: Length,
    /// Why nothing can be decided from it, if so.
    pub doubt: Option<String>,
}

/// Reduces a level book as it stands.
///
/// # Errors
/// A sentence: no sight yet, a bench mark without a level, or what the reckoning refuses.
pub fn reduce(record: &PlotRecord, book: &LevelBook) -> Result<Reduced, String> {
    let begun = &book.begun;
    let level = record
        .benchmark_level(&begun.benchmark)
        .ok_or_else(|| format!("bench mark {} has no level", begun.benchmark))?;
    let standing: Vec<&Sight> = book.standing().collect();
    if standing.is_empty() {
        return Err(format!("level book {} has no sight yet", begun.book));
    }
    let closed = book.is_closed(record);
    let mut sights: Vec<level_book::Sight> = Vec::with_capacity(standing.len());
    let (mut row_of, mut setup_of, mut setup) = (Vec::new(), Vec::new(), 0_usize);
    for sight in &standing {
        let fact = &sight.kept.fact;
        let read = Some(Metres(staff(record, begun, level, fact)?));
        let continues = fact.sight == SightKind::Back
            && sights.last().is_some_and(|last| last.fore_m.is_some() && last.point == fact.point.as_str());
        if fact.sight == SightKind::Back {
            setup += 1;
        }
        if !continues {
            sights.push(level_book::Sight {
                point: fact.point.to_string(),
                back_m: None,
                inter_m: None,
                fore_m: None,
                booked_level_m: None,
            });
        }
        let row = sights.last_mut().expect("BUG: a row was just made");
        match fact.sight {
            SightKind::Back => row.back_m = read,
            SightKind::Inter => row.inter_m = read,
            SightKind::Fore => row.fore_m = read,
        }
        row_of.push(sights.len() - 1);
        setup_of.push(setup.max(1));
    }
    let closing = standing.last().filter(|_| closed).and_then(|last| {
        let point = &last.kept.fact.point;
        Some(level_book::Mark { point: point.to_string(), level_m: Metres(record.benchmark_level(point)?) })
    });
    let (allowable, no_limit) = allowable(record, begun);
    let input = level_book::Input {
        method: match begun.method {
            BookMethod::RiseAndFall => level_book::Method::RiseAndFall,
            BookMethod::HeightOfCollimation | BookMethod::Receiver => level_book::Method::HeightOfCollimation,
        },
        benchmark: level_book::Mark { point: begun.benchmark.to_string(), level_m: Metres(level) },
        sights,
        closing,
        allowable,
        expected: expected(record, begun),
    };
    let output = level_book::reckon(&input).map_err(|faults| faults.to_string())?;
    let instrument = standing
        .iter()
        .filter_map(|sight| sight.registration.as_ref())
        .map(|one| Length::from_um(one.expanded_uncertainty_um))
        .max()
        .unwrap_or(Length::ZERO);
    let missed = output.misclosure_mm.map_or(Length::ZERO, |missed| missed.0.abs());
    let misses = (output.verdict == Verdict::Nonconforming).then(|| {
        no_limit.unwrap_or_else(|| {
            format!(
                "level book {} misses its closing by {} mm, {:.1} mm allowed",
                begun.book,
                missed.mm_text(1),
                output.allowable_mm
            )
        })
    });
    Ok(Reduced {
        row_of,
        setup_of,
        closed,
        expanded_uncertainty: output.uncertainty(instrument),
        doubt: misses.or_else(|| datum_doubt(record, &begun.benchmark)),
        input,
        output,
    })
}

/// The staff reading that a sight amounts to. A receiver set to the level `target` reads how far above it a point
/// lies, as a staff of that collimation would read the same below zero; its check on the bench mark says how far
/// off the whole is.
fn staff(
    record: &PlotRecord,
    begun: &LevelBookBegun,
    benchmark: Length,
    fact: &SightBooked,
) -> Result<Length, String> {
    let read = Length::from_um(fact.value_um);
    if begun.method != BookMethod::Receiver {
        return Ok(read);
    }
    let target = begun.target_um.map(Length::from_um).ok_or("a laser receiver's book has a target level")?;
    Ok(match fact.sight {
        SightKind::Back => target - benchmark - read,
        SightKind::Inter => -read,
        SightKind::Fore => {
            let known = record
                .benchmark_level(&fact.point)
                .ok_or_else(|| format!("bench mark {} has no level", fact.point))?;
            target - known - read
        }
    })
}

fn allowable(record: &PlotRecord, begun: &LevelBookBegun) -> (level_book::Allowable, Option<String>) {
    let per_setup = level_book::Allowable::per_root_setup;
    match begun.allowable {
        Some(BookAllowable::PerRootSetup { um }) => (per_setup(Length::from_um(um)), None),
        Some(BookAllowable::PerRootKm { um, distance_um }) => {
            let distance = Length::from_um(distance_um);
            (level_book::Allowable::per_root_km(Length::from_um(um), distance), None)
        }
        None => match record.design().limit(LimitName::LevellingPerRootSetup, &record.limits) {
            Some(limit) => (per_setup(limit.length()), None),
            None => {
                let what = format!(
                    "no limit {}: neither the floor design nor the default limits say what a level book may miss",
                    LimitName::LevellingPerRootSetup.as_str()
                );
                (per_setup(Length::ZERO), Some(what))
            }
        },
    }
}

/// The levels that the design expects at the points of a book: what slips are looked for against.
fn expected(record: &PlotRecord, begun: &LevelBookBegun) -> Vec<level_book::Expected> {
    let mut all: Vec<level_book::Expected> = Vec::new();
    for Served { feed, points, .. } in served(record, begun) {
        let (Some(target), Some(tolerance)) =
            (super::feeds::target(record, feed), super::feeds::tolerance(record, feed))
        else {
            continue;
        };
        for point in points {
            if !all.iter().any(|one| one.point == point.as_str()) {
                all.push(level_book::Expected {
                    point: point.to_string(),
                    level_m: Metres(target),
                    tolerance_mm: Mm(tolerance),
                });
            }
        }
    }
    all
}

/// Which criterion takes the level of a sight: the one that asks for its point, else for an intermediate sight onto
/// no bench mark the one that leaves its points to the person.
pub fn taken_by<'a>(
    record: &PlotRecord,
    served: &'a [Served<'a>],
    fact: &SightBooked,
) -> Option<&'a Served<'a>> {
    if fact.sight == SightKind::Back {
        return None;
    }
    let is_free = fact.sight == SightKind::Inter && record.benchmark_level(&fact.point).is_none();
    let named = served.iter().find(|one| one.points.contains(&fact.point));
    named.or_else(|| served.iter().find(|one| is_free && one.points.is_empty()))
}

/// A criterion that a book serves, on the design in force.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Served<'a> {
    /// The criterion.
    pub serves: &'a Serves,
    /// Its feed.
    pub feed: Feed,
    /// The points that it asks for; none where it leaves them to the person.
    pub points: Vec<PointName>,
}

/// The criteria that a book serves.
pub fn served<'a>(record: &PlotRecord, begun: &'a LevelBookBegun) -> Vec<Served<'a>> {
    let asked = begun.serves.iter().filter_map(|one| {
        let asked = record.plan.hold_point(&one.hold_point)?.criterion(&one.criterion)?;
        match asked.kind {
            CriterionKind::Reckoning { feed, .. } => {
                Some(Served { serves: one, feed, points: asked.owing(record.design()).points })
            }
            CriterionKind::Question { .. } | CriterionKind::Document { .. } => None,
        }
    });
    asked.collect()
}

/// The criteria of a plan that ask for levels of bearings or of the oversite before the floor is laid.
pub fn level_criteria(record: &PlotRecord) -> Vec<Serves> {
    let all =
        record.plan.hold_points.iter().flat_map(|point| point.criteria.iter().map(move |one| (point, one)));
    all.filter(|(_, one)| {
        matches!(one.kind, CriterionKind::Reckoning { feed: Feed::BearingLevels | Feed::GroundLevels, .. })
    })
    .map(|(point, one)| Serves { hold_point: point.id.clone(), criterion: one.id.clone() })
    .collect()
}

/// A bench mark that the site registered at another level than the floor design gives it.
fn datum_doubt(record: &PlotRecord, benchmark: &PointName) -> Option<String> {
    let datum = &record.design().datum;
    let registered = record.benchmarks.get(benchmark)?;
    let differs = datum.name == benchmark.as_str() && datum.level_m.0.um() != registered.level_um;
    differs.then(|| {
        format!(
            "bench mark {benchmark} is registered at {} m, but the floor design gives it {} m",
            Length::from_um(registered.level_um).m_text(3),
            datum.level_m.0.m_text(3)
        )
    })
}

/// How sure a value is.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Certainty {
    /// Expanded uncertainty of its instrument and book; `None`: that of the floor design holds.
    pub expanded_uncertainty: Option<Length>,
    /// Why nothing can be decided from it, if so.
    pub doubt: Option<String>,
}

impl Certainty {
    /// Of a value read on that day with an instrument that was registered so.
    pub fn of(registration: Option<&InstrumentRegistered>, on: Date) -> Self {
        let Some(own) = registration else { return Self::default() };
        Self {
            expanded_uncertainty: Some(Length::from_um(own.expanded_uncertainty_um)),
            doubt: instrument_doubt(own, on),
        }
    }
}

/// Why nothing can be decided from what an instrument read on that day, if so: its check is overdue, or failed.
pub fn instrument_doubt(own: &InstrumentRegistered, on: Date) -> Option<String> {
    if on > own.due {
        return Some(format!("{} was due for its check by {}", own.instrument, own.due));
    }
    let failed = own
        .two_peg
        .is_some_and(|test| two_peg_test(&test).is_ok_and(|output| output.verdict == Verdict::Nonconforming));
    failed.then(|| format!("the two-peg test of {} does not conform", own.instrument))
}

/// Reckons a two-peg test.
///
/// # Errors
/// What the reckoning refuses.
pub fn two_peg_test(test: &TwoPegTest) -> Result<two_peg::Output, crate::faults::Faults> {
    two_peg::reckon(&two_peg_input(test))
}

/// A two-peg test as its reckoning takes it.
pub fn two_peg_input(test: &TwoPegTest) -> two_peg::Input {
    let metres = |um| Metres(Length::from_um(um));
    two_peg::Input {
        mid: two_peg::Pair { a_m: metres(test.mid_a_um), b_m: metres(test.mid_b_um) },
        end: two_peg::Pair { a_m: metres(test.end_a_um), b_m: metres(test.end_b_um) },
        distance_m: metres(test.distance_um),
        allowable_mm_per_10_m: Mm(Length::from_um(test.allowable_um_per_10_m)),
    }
}

/// Where a level comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trace {
    /// The level book.
    pub book: LevelBookName,
    /// The bench mark that it starts on.
    pub benchmark: PointName,
    /// The number of the set-up, from 1.
    pub setup: usize,
    /// Which sight.
    pub sight: SightKind,
    /// What was read.
    pub read: Length,
}

/// A reading, typed as such or following from a sight.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Its entry: a reading booked, or the sight.
    pub entry: EntryId,
    /// The hold point that it proves.
    pub hold_point: HoldPointId,
    /// The criterion within it.
    pub criterion: CriterionId,
    /// Where it was read.
    pub point: PointName,
    /// What was read.
    pub value: ReadValue,
    /// With what.
    pub instrument: Option<String>,
    /// Who booked it, when.
    pub noted: Noted,
    /// The earlier entry whose place it took, and why.
    pub supersedes: Option<Supersedes>,
    /// The later entry that took its place, and why.
    pub superseded: Option<(EntryId, Because)>,
    /// How sure it is.
    pub certainty: Certainty,
    /// The sight that it follows from.
    pub trace: Option<Trace>,
}

impl Reading {
    pub(super) fn typed(record: &PlotRecord, kept: &Kept<ReadingBooked>) -> Self {
        let registration = record.registration_of_reading(&kept.noted.id);
        Self {
            entry: kept.noted.id,
            hold_point: kept.fact.hold_point.clone(),
            criterion: kept.fact.criterion.clone(),
            point: kept.fact.point.clone(),
            value: kept.fact.value,
            instrument: kept.fact.instrument.clone(),
            noted: kept.noted.clone(),
            supersedes: kept.supersedes.clone(),
            superseded: kept.superseded,
            certainty: Certainty::of(registration, Date::of(kept.noted.time)),
            trace: None,
        }
    }
}

/// The readings that follow from the sights of a book for one of the criteria that it serves, superseded ones too.
fn of_book(
    record: &PlotRecord,
    book: &LevelBook,
    hold_point: &HoldPointId,
    criterion: &CriterionId,
) -> Vec<Reading> {
    let served = served(record, &book.begun);
    let takes = |fact: &SightBooked| {
        taken_by(record, &served, fact)
            .is_some_and(|one| one.serves.hold_point == *hold_point && one.serves.criterion == *criterion)
    };
    let Ok(reduced) = reduce(record, book) else { return Vec::new() };
    let standing: Vec<&Sight> = book.standing().collect();
    let mut readings = Vec::new();
    for sight in &book.sights {
        let fact = &sight.kept.fact;
        if !takes(fact) {
            continue;
        }
        let Some(place) = book.place_now(sight) else { continue };
        let now = &standing[place].kept.fact;
        // A sight that moved to another point, or became another kind of sight, never was a reading there.
        if now.point != fact.point || now.sight != fact.sight {
            continue;
        }
        let reduced_level = reduced.output.rows[reduced.row_of[place]].adjusted_level_m.0;
        let off = Length::from_um(fact.value_um - now.value_um);
        let level = match book.begun.method {
            BookMethod::Receiver => reduced_level + off,
            // What reads more on the staff lies lower.
            BookMethod::HeightOfCollimation | BookMethod::RiseAndFall => reduced_level - off,
        };
        let own = Certainty::of(sight.registration.as_deref(), Date::of(sight.kept.noted.time));
        readings.push(Reading {
            entry: sight.kept.noted.id,
            hold_point: hold_point.clone(),
            criterion: criterion.clone(),
            point: fact.point.clone(),
            value: ReadValue::Um(level.um()),
            instrument: Some(book.begun.instrument.to_string()),
            noted: sight.kept.noted.clone(),
            supersedes: sight.kept.supersedes.clone(),
            superseded: sight.kept.superseded,
            certainty: Certainty {
                expanded_uncertainty: Some(reduced.expanded_uncertainty),
                doubt: own.doubt.or_else(|| reduced.doubt.clone()),
            },
            trace: Some(Trace {
                book: book.begun.book.clone(),
                benchmark: book.begun.benchmark.clone(),
                setup: reduced.setup_of[place],
                sight: fact.sight,
                read: Length::from_um(fact.value_um),
            }),
        });
    }
    readings
}

impl PlotRecord {
    /// The level book of that name.
    pub fn level_book(&self, name: &LevelBookName) -> Option<&LevelBook> {
        self.level_books.iter().find(|book| book.begun.book == *name)
    }

    /// The level of a bench mark: as registered, else as the floor design gives its own.
    pub fn benchmark_level(&self, name: &PointName) -> Option<Length> {
        let datum = &self.design().datum;
        self.benchmarks
            .get(name)
            .map(|one| Length::from_um(one.level_um))
            .or_else(|| (datum.name == name.as_str()).then_some(datum.level_m.0))
    }

    /// Every reading of one criterion, typed or from a level book, superseded ones too, in the order of events.
    pub fn readings_of(&self, hold_point: &HoldPointId, criterion: &CriterionId) -> Vec<Reading> {
        let mut all: Vec<Reading> = self
            .readings
            .iter()
            .filter(|one| one.fact.hold_point == *hold_point && one.fact.criterion == *criterion)
            .map(|one| Reading::typed(self, one))
            .collect();
        for book in &self.level_books {
            if book
                .begun
                .serves
                .iter()
                .any(|one| one.hold_point == *hold_point && one.criterion == *criterion)
            {
                all.extend(of_book(self, book, hold_point, criterion));
            }
        }
        all.sort_by_key(|one| one.noted.order);
        all
    }

    /// Every reading of the plot, typed or from a level book, superseded ones too.
    pub fn all_readings(&self) -> Vec<Reading> {
        let mut all: Vec<Reading> = self.readings.iter().map(|one| Reading::typed(self, one)).collect();
        for book in &self.level_books {
            for one in &book.begun.serves {
                all.extend(of_book(self, book, &one.hold_point, &one.criterion));
            }
        }
        all.sort_by_key(|one| one.noted.order);
        all
    }

    /// The books that serve a criterion and are not closed yet.
    pub fn open_books<'a>(
        &'a self,
        hold_point: &'a HoldPointId,
        criterion: &'a CriterionId,
    ) -> impl Iterator<Item = &'a LevelBook> {
        self.level_books.iter().filter(move |book| {
            book.begun.serves.iter().any(|one| one.hold_point == *hold_point && one.criterion == *criterion)
                && book.standing().len() > 0
                && !book.is_closed(self)
        })
    }
}

/// A book kept elsewhere, as its CSV file has it: rows for a preview, and the sights that they are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenBook {
    /// The rows of the file.
    pub rows: Vec<TakenRow>,
    /// For each sight, the place of its row in `rows`.
    pub row_of: Vec<usize>,
    /// The sights in their order.
    pub sights: Vec<SightBooked>,
}

/// The sights of a book that is taken in from a CSV file. Whether they make a book is decided when it is booked.
///
/// # Errors
/// Every fault of the file by row and column; a laser receiver's book is never taken in.
pub fn taken_book(begun: &LevelBookBegun, bytes: &[u8]) -> Result<TakenBook, CsvFaults> {
    let rows = level_book_csv::read(bytes)?;
    let (mut sights, mut row_of) = (Vec::with_capacity(rows.len()), Vec::with_capacity(rows.len()));
    for (place, row) in rows.iter().enumerate() {
        // A change point has its fore sight first: the last of one set-up, then the first of the next.
        for (kind, read) in
            [(SightKind::Fore, row.fore), (SightKind::Inter, row.inter), (SightKind::Back, row.back)]
        {
            let Some(read) = read else { continue };
            sights.push(SightBooked {
                book: begun.book.clone(),
                sight: kind,
                point: row.point.clone(),
                value_um: read.um(),
                remark: (!row.remark.is_empty()).then(|| row.remark.clone()),
            });
            row_of.push(place);
        }
    }
    Ok(TakenBook { rows, row_of, sights })
}
