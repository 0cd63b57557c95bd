//! A level book as rows of text and marks: what the table paints. Made once for each state of the book, so painting
//! a long book costs only the rows that show.

use std::collections::BTreeMap;

use gaugerod_core::entry::{Because, BookMethod, SightKind};
use gaugerod_core::ids::{EntryId, LevelBookName};
use gaugerod_core::inspection::SiteRecord;
use gaugerod_core::inspection::judge::{CriterionStanding, ReadingStanding, Trial};
use gaugerod_core::inspection::level_book::{LevelBook, Reduced, Sight};
use gaugerod_core::quantity::Length;
use gaugerod_core::reckon::level_book::{Reading, Row};
use gaugerod_core::register::PlotView;

use super::typed;
use crate::screens::marks;
use crate::widgets::Mark;

/// Height of a row that can be tapped, in points.
pub const ROW: f32 = 48.0;
/// Height of a struck row, in points.
pub const STRUCK: f32 = 28.0;

/// A book as rows.
#[derive(Debug)]
pub struct Sheet {
    /// Its lines from the top down.
    pub lines: Vec<Line>,
    /// Where each line begins, and at the end where the last one ends, in points.
    pub tops: Vec<f32>,
    /// The book reduced; or why it cannot be.
    pub reduced: Result<Reduced, String>,
}

/// One line of the sheet.
#[derive(Debug, Clone, PartialEq)]
pub enum Line {
    /// A row that stands.
    Stands(Box<Stands>),
    /// A sight whose place another took.
    Struck(Struck),
}

/// A row that stands: a sight, or the fore and the back sight onto a change point.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stands {
    /// The point.
    pub point: String,
    /// What was read, by kind of sight.
    pub read: [Option<Read>; 3],
    /// Height of collimation, or rise.
    pub first: String,
    /// Fall.
    pub second: String,
    /// Level as booked.
    pub level: String,
    /// Level with the misclosure shared out.
    pub adjusted: String,
    /// Off the target, in mm with its sign.
    pub deviation: String,
    /// The verdict of the criterion that it serves.
    pub mark: Option<Mark>,
    /// Another reading took the place of this one as a reading of its point, though the sight stands in its book.
    pub is_replaced: bool,
    /// The number of the set-up that begins here, if one does.
    pub begins: Option<usize>,
}

/// One thing that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Read {
    /// Its entry; none while a file is only looked at.
    pub entry: Option<EntryId>,
    /// As the book shows it.
    pub text: String,
    /// What it might have been, if it is suspect.
    pub perhaps: Option<String>,
}

/// A sight whose place another took.
#[derive(Debug, Clone, PartialEq)]
pub struct Struck {
    /// The point.
    pub point: String,
    /// Which sight.
    pub kind: SightKind,
    /// What was read.
    pub text: String,
    /// Why, by whom and when it was put right.
    pub why: String,
}

/// The column of a kind of sight.
pub const fn column(kind: SightKind) -> usize {
    match kind {
        SightKind::Back => 0,
        SightKind::Inter => 1,
        SightKind::Fore => 2,
    }
}

/// Why a sight was put right, in a word.
pub const fn because_word(because: Because) -> &'static str {
    match because {
        Because::Misread => "misread",
        Because::Reworked => "reworked",
        Because::Mistake => "mistake",
        Because::Measured => "measured",
    }
}

impl Sheet {
    /// Of a book on disk.
    pub fn of(view: &PlotView, site: &SiteRecord, book: &LevelBook) -> Self {
        let standings = standings(view, book);
        let reduced = gaugerod_core::inspection::level_book::reduce(&view.record, book);
        let judge = |sight: &Sight, _: &Reduced, _: Length| {
            let (reading, criterion) = standings.get(&sight.kept.noted.id)?;
            let deviation = reading.trial.as_ref().and_then(|trial| trial.deviation);
            Some((deviation, marks::of_reading(reading, criterion)))
        };
        Self::made(site, book, reduced, true, judge)
    }

    /// Of a book that is only looked at before it is taken in.
    pub fn of_file(
        site: &SiteRecord,
        book: &LevelBook,
        reduced: Result<Reduced, String>,
        judge: impl Fn(&Sight, &Reduced, Length) -> Option<Trial>,
    ) -> Self {
        Self::made(site, book, reduced, false, |sight, reduced, level| {
            let trial = judge(sight, reduced, level)?;
            Some((trial.deviation, trial.verdict.into()))
        })
    }

    fn made(
        site: &SiteRecord,
        book: &LevelBook,
        reduced: Result<Reduced, String>,
        is_on_disk: bool,
        judge: impl Fn(&Sight, &Reduced, Length) -> Option<(Option<Length>, Mark)>,
    ) -> Self {
        let mut struck = struck(site, book);
        let mut lines = Vec::new();
        let mut last_row = None;
        for (place, sight) in book.standing().enumerate() {
            for one in struck.remove(&place).unwrap_or_default() {
                lines.push(Line::Struck(one));
            }
            let row = reduced.as_ref().ok().and_then(|reduced| reduced.row_of.get(place).copied());
            let continues = row.is_some() && row == last_row;
            last_row = row;
            if !continues {
                let point = sight.kept.fact.point.to_string();
                lines.push(Line::Stands(Box::new(Stands { point, ..Stands::default() })));
            }
            let Some(own) = lines.iter_mut().rev().find_map(|line| match line {
                Line::Stands(own) => Some(own),
                Line::Struck(_) => None,
            }) else {
                continue;
            };
            add(own, book.begun.method, sight, is_on_disk);
            if let (Ok(reduced), Some(row)) = (&reduced, row) {
                reckoned(own, book.begun.method, sight, reduced, (place, row));
                let level = reduced.output.rows.get(row).map_or(Length::ZERO, |row| row.adjusted_level_m.0);
                if let Some((deviation, mark)) = judge(sight, reduced, level) {
                    own.deviation = deviation.map_or_else(String::new, typed::signed_mm);
                    own.mark = Some(mark);
                }
            }
        }
        let mut tops = vec![0.0];
        for line in &lines {
            let height = if matches!(line, Line::Stands(_)) { ROW } else { STRUCK };
            tops.push(tops.last().copied().unwrap_or(0.0) + height);
        }
        Self { lines, tops, reduced }
    }

    /// Height of all its lines, in points.
    pub fn height(&self) -> f32 {
        self.tops.last().copied().unwrap_or(0.0)
    }

    /// How many lines begin above this height.
    pub fn lines_above(&self, height: f32) -> usize {
        self.tops[..self.lines.len()].partition_point(|top| *top < height)
    }
}

fn add(own: &mut Stands, method: BookMethod, sight: &Sight, is_on_disk: bool) {
    let fact = &sight.kept.fact;
    own.read[column(fact.sight)] = Some(Read {
        entry: is_on_disk.then_some(sight.kept.noted.id),
        text: typed::shown(Length::from_um(fact.value_um), method),
        perhaps: None,
    });
    own.is_replaced |= sight.kept.superseded.is_some();
}

/// What the reckoning gave for a sight that stands at `place` of its book and in `row` of the output.
fn reckoned(
    own: &mut Stands,
    method: BookMethod,
    sight: &Sight,
    reduced: &Reduced,
    (place, row): (usize, usize),
) {
    let Some(out) = reduced.output.rows.get(row) else { return };
    let kind = sight.kept.fact.sight;
    own.level = out.level_m.0.m_text(3);
    own.adjusted = if reduced.closed { out.adjusted_level_m.0.m_text(3) } else { String::new() };
    (own.first, own.second) = between(method, out);
    if kind == SightKind::Back {
        own.begins = reduced.setup_of.get(place).copied();
    }
    let reading = match kind {
        SightKind::Back => Reading::Back,
        SightKind::Inter => Reading::Inter,
        SightKind::Fore => Reading::Fore,
    };
    let suspect = reduced.output.suspects.iter().find(|one| one.sight == row && one.reading == reading);
    if let (Some(suspect), Some(read)) = (suspect, &mut own.read[column(kind)]) {
        let fact = &sight.kept.fact;
        // What was read and the staff that it amounts to add up alike, whatever was read.
        let perhaps = match method {
            BookMethod::Receiver => Length::from_um(fact.value_um) + suspect.booked_m.0 - suspect.perhaps_m.0,
            BookMethod::HeightOfCollimation | BookMethod::RiseAndFall => suspect.perhaps_m.0,
        };
        read.perhaps = Some(format!("{}? {}", typed::shown(perhaps, method), suspect.slip.words()));
    }
}

/// The columns between the readings and the level.
fn between(method: BookMethod, row: &Row) -> (String, String) {
    let text = |length: Option<gaugerod_core::quantity::Metres>| {
        length.map_or_else(String::new, |one| one.0.m_text(3))
    };
    match method {
        BookMethod::HeightOfCollimation => (text(row.collimation_m), String::new()),
        BookMethod::RiseAndFall => (text(row.rise_m), text(row.fall_m)),
        BookMethod::Receiver => (String::new(), String::new()),
    }
}

/// The readings that the sights of a book are, by their entries.
fn standings<'a>(
    view: &'a PlotView,
    book: &LevelBook,
) -> BTreeMap<EntryId, (&'a ReadingStanding, &'a CriterionStanding)> {
    let criteria = book
        .begun
        .serves
        .iter()
        .filter_map(|one| view.standing.hold_point(&one.hold_point)?.criterion(&one.criterion));
    criteria
        .flat_map(|criterion| {
            criterion.readings.iter().map(move |reading| (reading.entry, (reading, criterion)))
        })
        .collect()
}

/// The sights whose place others took, by that place.
fn struck(site: &SiteRecord, book: &LevelBook) -> BTreeMap<usize, Vec<Struck>> {
    let by_entry: BTreeMap<EntryId, &Sight> =
        book.sights.iter().map(|sight| (sight.kept.noted.id, sight)).collect();
    let places: BTreeMap<EntryId, usize> =
        book.standing().enumerate().map(|(place, sight)| (sight.kept.noted.id, place)).collect();
    let mut all: BTreeMap<usize, Vec<Struck>> = BTreeMap::new();
    for sight in &book.sights {
        if places.contains_key(&sight.kept.noted.id) {
            continue;
        }
        let Some((later, because)) = sight.kept.superseded else { continue };
        let mut now = later;
        let place = loop {
            if let Some(place) = places.get(&now) {
                break Some(*place);
            }
            match by_entry.get(&now).and_then(|sight| sight.kept.superseded) {
                Some((next, _)) if next != now => now = next,
                _ => break None,
            }
        };
        let Some(place) = place else { continue };
        let fact = &sight.kept.fact;
        let by = by_entry.get(&later).map_or_else(String::new, |later| {
            let noted = &later.kept.noted;
            format!(", {} {}", site.name_of(noted.author), noted.time.minute())
        });
        all.entry(place).or_default().push(Struck {
            point: fact.point.to_string(),
            kind: fact.sight,
            text: typed::shown(Length::from_um(fact.value_um), book.begun.method),
            why: format!("{}{by}", because_word(because)),
        });
    }
    all
}

/// Names of a book and its lines, for whoever hears the sheet.
pub fn spoken(line: &Stands, method: BookMethod, book: &LevelBookName) -> String {
    let mut words = vec![format!("{book} {}", line.point)];
    for kind in [SightKind::Fore, SightKind::Back, SightKind::Inter] {
        if let Some(read) = &line.read[column(kind)] {
            words.push(format!("{} {}", typed::kind_word(kind, method).to_lowercase(), read.text));
            words.extend(read.perhaps.as_ref().map(|perhaps| format!("perhaps {perhaps}")));
        }
    }
    if !line.level.is_empty() {
        words.push(format!("level {}", line.level));
    }
    if let Some(mark) = line.mark {
        words.push(format!("{} mm, {}", line.deviation, mark.name()));
    }
    words.join(", ")
}
