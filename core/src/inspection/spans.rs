//! Before the first beam is lifted: clears as built against beam lengths, line by line: both bearings, the wall that
//! beams of both sides share, and the cavity that no end may reach into.
//!
//! Never here: a comparison with a limit; that is the reckoning `span-fit`.

use super::beam_feeds::{NO_BEAMS, criterion_of_feed};
use super::feeds::{Booked, length_of, limit_length};
use super::fold::PlotRecord;
use super::judge::Trial;
use crate::conformity::Verdict;
use crate::floor::beams::BayRun;
use crate::floor::layout::beam_of;
use crate::floor::{LimitName, Wall};
use crate::ids::PointName;
use crate::plan_of_work::Feed;
use crate::quantity::{Length, Mm};
use crate::reckon::span_fit;

/// The walls that a run bears on: the one that beams of another run share, and the thinnest of the others.
fn walls<'d>(record: &'d PlotRecord, run: &BayRun) -> (Option<&'d Wall>, Option<&'d Wall>) {
    let design = record.design();
    let all = |name: &PointName| design.walls.iter().find(|wall| wall.name == *name);
    let others = design.beams.iter().flat_map(|beams| &beams.runs);
    let is_shared = |wall: &&Wall| others.clone().filter(|one| one.bears_on.contains(&wall.name)).count() > 1;
    let shared = run.bears_on.iter().filter_map(all).find(is_shared);
    let own = run.bears_on.iter().filter_map(all).filter(|wall| !is_shared(wall));
    (shared, own.min_by_key(|wall| wall.thickness_mm))
}

/// The clears of a run as the reckoning takes them.
///
/// # Errors
/// A sentence: what the design does not give.
pub(super) fn input(record: &PlotRecord, run: &BayRun, values: &[Booked]) -> Result<span_fit::Input, String> {
    let design = record.design();
    let beams = design.beams.as_ref().ok_or(NO_BEAMS)?;
    let beam = beams.beam_type(&run.beam).ok_or_else(|| format!("no type of beam {}", run.beam))?;
    let clear_mm = values
        .iter()
        .filter(|one| beam_of(design, &one.point).is_some_and(|(own, _)| own.name == run.name))
        .filter_map(|one| {
            let value = length_of(one.value)?;
            Some(span_fit::Clear { line: one.point.to_string(), value_mm: Mm(value) })
        })
        .collect();
    let (shared, own) = walls(record, run);
    let gap = limit_length(record, LimitName::SharedWallGap).unwrap_or(Length::ZERO);
    Ok(span_fit::Input {
        clear_mm,
        beam_length_mm: beam.length_mm,
        least_bearing_mm: Mm(limit_length(record, LimitName::BearingLengthLeast)?),
        placing_allowance_mm: Mm(limit_length(record, LimitName::PlacingAllowance)?),
        shared_wall_mm: shared
            .map(|wall| span_fit::SharedWall { thickness: wall.thickness_mm, gap: Mm(gap) }),
        leaf_mm: own.map(|wall| wall.thickness_mm),
    })
}

/// What one clear alone says, the shared wall and the cavity with it.
pub(super) fn trial(record: &PlotRecord, booked: &Booked) -> Option<Trial> {
    let (run, _) = beam_of(record.design(), &booked.point)?;
    let output = span_fit::reckon(&input(record, run, std::slice::from_ref(booked)).ok()?).ok()?;
    let judged = output.clear_mm.first()?;
    let mut words = format!(
        "bearings together {} mm, longest clear that works {} mm",
        judged.sum_of_bearings_mm.0.mm_text(1),
        output.longest_clear_mm.0.mm_text(1)
    );
    for one in output.findings.iter().filter(|one| !one.caution && one.verdict != Verdict::Conforming) {
        words.push_str(&format!("; not so: {}", one.rule));
    }
    Some(Trial {
        verdict: output.verdict,
        deviation: Some(output.longest_clear_mm.0 - length_of(booked.value)?),
        probability: None,
        words,
    })
}

/// A run before its first beam is lifted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SpanRun {
    /// The run.
    pub run: PointName,
    /// Its beams, what they need, the walls that they bear on: a sentence each.
    pub facts: Vec<String>,
    /// The lines on which it is measured.
    pub lines: Vec<SpanLine>,
}

/// One line of a run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SpanLine {
    /// The line.
    pub line: PointName,
    /// Its verdict; `None` while it is not read.
    pub verdict: Option<Verdict>,
    /// What it comes to: a short sentence each.
    pub words: Vec<String>,
}

/// Every run with its lines, in words; `typed` is a clear that is just being typed. Empty where the design draws no
/// beams or gives no least bearing.
pub fn runs(record: &PlotRecord, typed: Option<(&PointName, Length)>) -> Vec<SpanRun> {
    let Some(beams) = &record.design().beams else { return Vec::new() };
    let mut read: Vec<Booked> = criterion_of_feed(record, Feed::ClearSpans)
        .map_or_else(Vec::new, |(hold_point, asked)| record.readings_of(&hold_point.id, &asked.id))
        .into_iter()
        .filter(|one| one.superseded.is_none())
        .map(Booked::from)
        .collect();
    if let Some((point, clear)) = typed {
        read.retain(|one| one.point != *point);
        read.push(Booked {
            point: point.clone(),
            value: crate::entry::ReadValue::Um(clear.um()),
            instrument: None,
            certainty: super::level_book::Certainty::default(),
        });
    }
    beams.runs.iter().filter_map(|run| span_run(record, run, &read)).collect()
}

fn span_run(record: &PlotRecord, run: &BayRun, read: &[Booked]) -> Option<SpanRun> {
    let bare = input(record, run, &[]).ok()?;
    let longest = span_fit::reckon(&bare).ok()?.longest_clear_mm.0;
    let (shared, own) = walls(record, run);
    let least = bare.least_bearing_mm.0.to_mm_text();
    let mut facts = vec![format!(
        "Beams {} of {} mm: longest clear that works {} mm (each bearing at least {least} mm, {} mm for placing).",
        run.beam,
        bare.beam_length_mm.0.to_mm_text(),
        longest.to_mm_text(),
        bare.placing_allowance_mm.0.to_mm_text()
    )];
    if let (Some(wall), Some(of)) = (shared, bare.shared_wall_mm) {
        facts.push(format!(
            "Wall {} bears beams of both sides: two bearings and {} mm between their ends within {} mm.",
            wall.name,
            of.gap.0.to_mm_text(),
            of.thickness.0.to_mm_text()
        ));
    }
    if let Some(wall) = own {
        facts.push(format!(
            "No end may pass the {} mm of wall {} into the cavity.",
            wall.thickness_mm.0.to_mm_text(),
            wall.name
        ));
    }
    let of_run =
        |line: &PointName| beam_of(record.design(), line).is_some_and(|(own, _)| own.name == run.name);
    let lines = record.design().clear_span_lines().into_iter().filter(of_run);
    let lines = lines.map(|line| {
        let own: Vec<Booked> = read.iter().filter(|one| one.point == line).cloned().collect();
        span_line(record, run, line, own.last(), longest)
    });
    Some(SpanRun { run: run.name.clone(), facts, lines: lines.collect() })
}

fn span_line(
    record: &PlotRecord,
    run: &BayRun,
    line: PointName,
    read: Option<&Booked>,
    longest: Length,
) -> SpanLine {
    let judged = read.and_then(|one| {
        let output = span_fit::reckon(&input(record, run, std::slice::from_ref(one)).ok()?).ok()?;
        Some((length_of(one.value)?, output))
    });
    let Some((clear, output)) = judged else {
        let words = vec![format!("not read yet, at most {} mm", longest.to_mm_text())];
        return SpanLine { line, verdict: None, words };
    };
    let sum = output.clear_mm.first().map_or(Length::ZERO, |one| one.sum_of_bearings_mm.0);
    let mut words = vec![format!(
        "clear {} mm: both bearings {} mm, {} mm each where they are alike",
        clear.to_mm_text(),
        sum.to_mm_text(),
        sum.share(1, 2).mm_text(1)
    )];
    let over = clear - longest;
    if over > Length::ZERO {
        words.push(format!("{} mm more than works", over.to_mm_text()));
    }
    let wrong = output.findings.iter().filter(|one| !one.caution && one.verdict != Verdict::Conforming);
    words.extend(wrong.map(|one| one.reason.clone()));
    SpanLine { line, verdict: Some(output.verdict), words }
}
