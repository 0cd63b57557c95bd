//! Level books in the signed document: every sight with the level that follows from it, the arithmetic checks, the
//! misclosure, bench mark and instrument, so that each level in it can be traced by hand.

use super::flow::{BODY, Cell, Column, Flow, SMALL, STRONG};
use super::marks::Mark;
use super::model::Line;
use crate::entry::{BookMethod, SightKind};
use crate::inspection::fold::PlotRecord;
use crate::inspection::level_book::{LevelBook, Reduced, instrument_doubt, reduce};
use crate::quantity::Length;
use crate::reckon::level_book as reckoning;
use crate::time::Date;

/// One level book.
#[derive(Debug, Clone, PartialEq)]
pub struct LevelBookPart {
    /// Its name and method.
    pub title: String,
    /// Closed within what is allowed, not closed, or not.
    pub verdict: Line,
    /// Bench mark, instrument, who began it.
    pub facts: Vec<String>,
    /// Titles of the columns of numbers.
    pub columns: Vec<&'static str>,
    /// Point and numbers, row by row.
    pub rows: Vec<Vec<String>>,
    /// Arithmetic checks and misclosure.
    pub checks: Vec<String>,
    /// Sights that later ones took the place of.
    pub superseded: Vec<String>,
    /// How the rows follow from one another: they are the working.
    pub working: Vec<String>,
}

/// Every level book of a plot in words. `noted` says who and when.
pub fn parts(
    record: &PlotRecord,
    noted: impl Fn(&crate::inspection::fold::Noted) -> String,
) -> Vec<LevelBookPart> {
    record.level_books.iter().map(|book| part(record, book, &noted)).collect()
}

fn part(
    record: &PlotRecord,
    book: &LevelBook,
    noted: &impl Fn(&crate::inspection::fold::Noted) -> String,
) -> LevelBookPart {
    let begun = &book.begun;
    let reduced = reduce(record, book);
    let title = format!("Level book {}, {}", begun.book, begun.method.word());
    let superseded = book
        .sights
        .iter()
        .filter_map(|sight| {
            let (_, because) = sight.kept.superseded?;
            let fact = &sight.kept.fact;
            Some(format!(
                "{} onto {}: {}, {} ({})",
                fact.sight.word(),
                fact.point,
                read_text(begun.method, Length::from_um(fact.value_um)),
                super::model::because_words(because),
                noted(&sight.kept.noted)
            ))
        })
        .collect();
    let mut facts = vec![format!("Begun by {}", noted(&book.noted))];
    facts.extend(instrument(record, book));
    facts.extend(benchmark(record, book));
    if let Some(um) = begun.target_um {
        facts.push(format!("Receiver set to {} m", Length::from_um(um).m_text(3)));
    }
    let columns = match begun.method {
        BookMethod::HeightOfCollimation => vec!["Back", "Inter", "Fore", "Collimation", "Level", "Adjusted"],
        BookMethod::RiseAndFall => vec!["Back", "Inter", "Fore", "Rise", "Fall", "Level", "Adjusted"],
        BookMethod::Receiver => vec!["Check", "Off target, mm", "End check", "Level", "Adjusted"],
    };
    match reduced {
        Err(what) => LevelBookPart {
            title,
            verdict: Line { mark: Mark::Open, text: what },
            facts,
            columns,
            rows: Vec::new(),
            checks: Vec::new(),
            superseded,
            working: Vec::new(),
        },
        Ok(reduced) => LevelBookPart {
            title,
            verdict: verdict(&reduced),
            facts,
            columns,
            rows: rows(book, &reduced),
            checks: checks(&reduced.output),
            superseded,
            working: working(begun.method, &reduced.output),
        },
    }
}

fn verdict(reduced: &Reduced) -> Line {
    if let Some(doubt) = &reduced.doubt {
        return Line { mark: Mark::Nonconforming, text: doubt.clone() };
    }
    match &reduced.output.misclosure_mm {
        None => Line { mark: Mark::Open, text: "not closed on a bench mark".to_owned() },
        Some(missed) => Line {
            mark: Mark::of(reduced.output.verdict),
            text: format!(
                "misclosure {} mm, {:.2} mm allowed over {} set-ups; its levels carry ±{} mm",
                missed.0.signed_mm_text(1),
                reduced.output.allowable_mm,
                reduced.output.setups,
                reduced.expanded_uncertainty.mm_text(1)
            ),
        },
    }
}

fn instrument(record: &PlotRecord, book: &LevelBook) -> Option<String> {
    let first = book.standing().find_map(|sight| sight.registration.as_ref());
    let own = first.or_else(|| record.instruments.get(&book.begun.instrument))?;
    let on = Date::of(book.noted.time);
    let doubt = instrument_doubt(own, on).map_or(String::new(), |doubt| format!("; {doubt}"));
    Some(format!(
        "Instrument {} ({}), uncertainty ±{} mm, checked {}, next check due {}{doubt}",
        own.instrument,
        own.kind.word(),
        Length::from_um(own.expanded_uncertainty_um).to_mm_text(),
        own.checked,
        own.due
    ))
}

fn benchmark(record: &PlotRecord, book: &LevelBook) -> Option<String> {
    let name = &book.begun.benchmark;
    let level = record.benchmark_level(name)?;
    let from = record
        .benchmarks
        .get(name)
        .map_or_else(|| "floor design".to_owned(), |own| format!("{}, checked {}", own.source, own.checked));
    Some(format!("Bench mark {name} at {} m ({from})", level.m_text(3)))
}

/// What was read, as it was read: metres on a staff, millimetres off a target.
fn read_text(method: BookMethod, read: Length) -> String {
    match method {
        BookMethod::Receiver => read.signed_mm_text(1),
        BookMethod::HeightOfCollimation | BookMethod::RiseAndFall => read.m_text(3),
    }
}

fn rows(book: &LevelBook, reduced: &Reduced) -> Vec<Vec<String>> {
    let method = book.begun.method;
    let standing: Vec<_> = book.standing().collect();
    let level = |length: Length| length.m_text(4);
    let optional = |one: Option<Length>| one.map_or_else(String::new, |length| length.m_text(3));
    let mut rows = Vec::with_capacity(reduced.output.rows.len());
    for (index, row) in reduced.output.rows.iter().enumerate() {
        let read = |wanted: SightKind| {
            let found = standing
                .iter()
                .zip(&reduced.row_of)
                .find(|(sight, row)| **row == index && sight.kept.fact.sight == wanted);
            found.map_or_else(String::new, |(sight, _)| {
                read_text(method, Length::from_um(sight.kept.fact.value_um))
            })
        };
        let mut cells =
            vec![row.point.clone(), read(SightKind::Back), read(SightKind::Inter), read(SightKind::Fore)];
        match method {
            BookMethod::HeightOfCollimation => cells.push(optional(row.collimation_m.map(|one| one.0))),
            BookMethod::RiseAndFall => {
                cells.push(optional(row.rise_m.map(|one| one.0)));
                cells.push(optional(row.fall_m.map(|one| one.0)));
            }
            BookMethod::Receiver => {}
        }
        cells.extend([level(row.level_m.0), level(row.adjusted_level_m.0)]);
        rows.push(cells);
    }
    rows
}

fn checks(output: &reckoning::Output) -> Vec<String> {
    let own = &output.checks;
    let mut lines = vec![format!(
        "Sum of back sights {} m − sum of fore sights {} m; last − first level {} m",
        own.sum_back_m.0.m_text(3),
        own.sum_fore_m.0.m_text(3),
        own.last_minus_first_m.0.m_text(3)
    )];
    if let (Some(rise), Some(fall)) = (own.sum_rise_m, own.sum_fall_m) {
        lines.push(format!("Sum of rises {} m − sum of falls {} m", rise.0.m_text(3), fall.0.m_text(3)));
    }
    lines.extend(output.suspects.iter().map(|one| {
        format!("{} reads {} m: perhaps {} m", one.point, one.booked_m.0.m_text(3), one.perhaps_m.0.m_text(3))
    }));
    lines
}

/// How each row follows, so that a reader can repeat it.
fn working(method: BookMethod, output: &reckoning::Output) -> Vec<String> {
    let level = match method {
        BookMethod::HeightOfCollimation => "level = collimation − reading; collimation = level + back sight",
        BookMethod::RiseAndFall => {
            "level = level before + rise − fall; rise or fall = reading before − reading"
        }
        BookMethod::Receiver => {
            "level = target + how far off the point was read − how far off the first check was"
        }
    };
    let mut lines = vec![format!("Working (level-book): {level} (arithmetic).")];
    let adjusted = output.rows.iter().any(|row| row.level_m != row.adjusted_level_m);
    if let (true, Some(missed)) = (adjusted, output.misclosure_mm) {
        lines.push(format!(
            "Adjusted level = level − {} mm × number of the set-up / {} (common practice).",
            missed.0.to_mm_text(),
            output.setups
        ));
    }
    lines
}

/// Lays the level books out.
pub fn lay_out(flow: &mut Flow<'_>, parts: &[LevelBookPart]) {
    if parts.is_empty() {
        return;
    }
    flow.heading("Level books");
    for part in parts {
        flow.subheading(&part.title);
        flow.marked(part.verdict.mark, &part.verdict.text, STRONG);
        for fact in &part.facts {
            flow.item("•", fact, SMALL);
        }
        if !part.rows.is_empty() {
            let mut columns = vec![Column::words("Point", 1.4)];
            columns.extend(part.columns.iter().map(|title| Column::numbers(title, 1.2)));
            let rows: Vec<Vec<Cell>> = part
                .rows
                .iter()
                .map(|row| {
                    let mut cells: Vec<Cell> = row.iter().map(Cell::text).collect();
                    cells[0] = Cell::strong(&row[0]);
                    cells
                })
                .collect();
            flow.table(&columns, &rows);
        }
        for check in &part.checks {
            flow.paragraph(check, BODY);
        }
        for line in &part.superseded {
            flow.item("•", line, SMALL);
        }
        for line in &part.working {
            flow.paragraph(line, SMALL);
        }
    }
}
