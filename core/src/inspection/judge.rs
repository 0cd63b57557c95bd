//! The evidence of one hold point judged: readings fed into their reckonings, answers, documents, photographs;
//! what is owed and what stands against a release.
//!
//! Every measured value meets its limit inside a reckoning, never here. One reading alone ([`reading`],
//! [`trial`]) goes through the same reckoning as all of them together, so the keypad, the list and the signed page
//! cannot disagree.
//!
//! Longer than most files because it holds every form in which a criterion stands, beside the one way there.

use std::collections::BTreeSet;

use serde_json::Value;

use super::beam_feeds;
use super::curing;
use super::decide::{Refusal, wrong_unit};
use super::feeds::Booked;
use super::feeds::{self, Judged};
use super::fold::{Kept, Noted, PlotRecord, Settlement};
use super::level_book::{Certainty, Reading, Trace};
use super::pour;
use crate::conformity::Verdict;
use crate::entry::{Answer, AttachedFile, PhotoAdded, ReadValue, TicketBooked};
use crate::ids::{CriterionId, EntryId, HoldPointId, PersonId, PointName};
use crate::plan_of_work::{
    Criterion, CriterionKind, Evidence, Feed, HoldPoint, Owing, Per, PlanOfWork, ReadingUnit, ReckoningName,
};
use crate::quantity::{Area, Length};
use crate::working::Working;

/// Something that must be there before the hold point can be offered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Owed {
    /// The criterion, or the photo subject.
    pub criterion: String,
    /// The point, where it is owed at one.
    pub point: Option<PointName>,
    /// What is owed, in words.
    pub what: String,
}

/// One reading as it is judged.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingStanding {
    /// Its entry.
    pub entry: EntryId,
    /// Where it was read.
    pub point: PointName,
    /// What was read.
    pub value: ReadValue,
    /// Its own verdict; `None` where only all readings together have one.
    pub trial: Option<Trial>,
    /// With what it was read.
    pub instrument: Option<String>,
    /// Who booked it, when.
    pub noted: Noted,
    /// How its verdict was settled, if it was.
    pub settled: Option<Settlement>,
    /// The earlier reading whose place it took, and why.
    pub supersedes: Option<crate::entry::Supersedes>,
    /// How sure it is.
    pub certainty: Certainty,
    /// The sight of a level book that it follows from; `None` for a value that was typed as such.
    pub trace: Option<Trace>,
}

/// What a reckoning says of one value alone.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// The verdict under the decision rule.
    pub verdict: Verdict,
    /// Signed difference from the target, or margin inside the limit.
    pub deviation: Option<Length>,
    /// Chance that the true value conforms, 0 to 1.
    pub probability: Option<f64>,
    /// The value with what it means, in words: `+9 mm, limit +5`.
    pub words: String,
}

/// Something that a reckoning found beside the verdicts of single readings.
#[derive(Debug, Clone, PartialEq)]
pub struct FindingStanding {
    /// What it is about, in words.
    pub what: String,
    /// Where the rule comes from.
    pub source: String,
    /// The verdict.
    pub verdict: Verdict,
    /// True for what is only to be heeded.
    pub caution: bool,
    /// The points that it joins.
    pub points: Vec<PointName>,
    /// Whether a concession or a closing covers it.
    pub settled: bool,
}

/// A question's current answer.
#[derive(Debug, Clone, PartialEq)]
pub struct AnswerStanding {
    /// Its entry.
    pub entry: EntryId,
    /// The answer.
    pub answer: Answer,
    /// Why it does not apply.
    pub reason: Option<String>,
    /// What else was said.
    pub remark: Option<String>,
    /// Who answered, when.
    pub noted: Noted,
    /// How a no was settled, if it was.
    pub settled: Option<Settlement>,
}

/// What was reckoned: the exact input and output, so that anybody can do it again.
#[derive(Debug, Clone, PartialEq)]
pub struct Reckoned {
    /// What it is about, where a criterion is reckoned in parts (a bay run).
    pub about: Option<String>,
    /// The reckoning.
    pub name: ReckoningName,
    /// Its input, as `gaugerod reckon` takes it.
    pub input: Value,
    /// Its output.
    pub output: Value,
    /// Its working.
    pub working: Working,
}

/// A delivery note or ticket as it was booked.
#[derive(Debug, Clone, PartialEq)]
pub struct PaperStanding {
    /// Its entry.
    pub entry: EntryId,
    /// Which one.
    pub title: String,
    /// What it says, line by line.
    pub lines: Vec<String>,
    /// Who booked it, when.
    pub noted: Noted,
}

/// One criterion as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct CriterionStanding {
    /// The criterion.
    pub id: CriterionId,
    /// What must be true, in words.
    pub title: String,
    /// Where that comes from.
    pub source: String,
    /// How it is proved.
    pub kind: CriterionKind,
    /// The limit in words, with its source; `None` for questions and documents.
    pub limit: Option<String>,
    /// Points that must have a reading, in the design's order; empty where the person names points.
    pub points: Vec<PointName>,
    /// Current readings, in the order of those points, then of booking.
    pub readings: Vec<ReadingStanding>,
    /// The current answer.
    pub answer: Option<AnswerStanding>,
    /// Current documents.
    pub documents: Vec<(AttachedFile, Noted)>,
    /// Delivery notes or concrete tickets.
    pub papers: Vec<PaperStanding>,
    /// What the reckoning found.
    pub findings: Vec<FindingStanding>,
    /// What was reckoned, part by part; empty while there is nothing to reckon.
    pub reckoned: Vec<Reckoned>,
    /// Its verdict; `None` for a document, for what does not apply, and for what is not answered or read yet.
    pub verdict: Option<Verdict>,
    /// What is owed.
    pub owed: Vec<Owed>,
}

impl CriterionStanding {
    /// The current reading at a point.
    pub fn reading_at(&self, point: &PointName) -> Option<&ReadingStanding> {
        self.readings.iter().rev().find(|one| one.point == *point)
    }

    /// The feed of what is measured.
    pub fn feed(&self) -> Option<Feed> {
        match self.kind {
            CriterionKind::Reckoning { feed, .. } => Some(feed),
            CriterionKind::Question { .. } | CriterionKind::Document { .. } => None,
        }
    }
}

/// One photo subject as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct EvidenceStanding {
    /// The subject as photos name it (`wall:A`).
    pub subject: String,
    /// What the photo must show.
    pub title: String,
    /// How many are wanted.
    pub wanted: usize,
    /// The photos that are there.
    pub photos: Vec<(PhotoAdded, Noted)>,
}

/// All that is judged of one hold point.
#[derive(Debug, Clone, PartialEq)]
pub struct HoldPointJudged {
    /// Its criteria.
    pub criteria: Vec<CriterionStanding>,
    /// Its photographs.
    pub evidence: Vec<EvidenceStanding>,
    /// What is owed.
    pub owed: Vec<Owed>,
    /// Readings, answers and findings that stand against a release.
    pub unsettled: Vec<String>,
}

/// Judges the evidence of a hold point as it is now.
pub fn hold_point(record: &PlotRecord, hold_point: &HoldPoint) -> HoldPointJudged {
    let criteria: Vec<_> = hold_point.criteria.iter().map(|one| criterion(record, hold_point, one)).collect();
    let evidence = evidence(record, hold_point);
    let mut owed: Vec<Owed> = criteria.iter().flat_map(|one| one.owed.iter().cloned()).collect();
    owed.extend(evidence.iter().filter(|one| one.photos.len() < one.wanted).map(|one| {
        let missing = one.wanted - one.photos.len();
        let many = if missing == 1 { "photo".to_owned() } else { format!("{missing} photos") };
        Owed { criterion: one.subject.clone(), point: None, what: format!("{many}: {}", one.title) }
    }));
    let unsettled = criteria.iter().flat_map(unsettled).collect();
    HoldPointJudged { criteria, evidence, owed, unsettled }
}

/// Whether nothing is owed and nothing stands against the hold point's evidence.
pub(super) fn is_clean(record: &PlotRecord, id: &HoldPointId) -> bool {
    record.plan.hold_point(id).is_none_or(|one| {
        let judged = hold_point(record, one);
        judged.owed.is_empty() && judged.unsettled.is_empty()
    })
}

/// Whether a hold point's verdicts are fed from another one's readings.
pub(super) fn reads_from(plan: &PlanOfWork, reader: &HoldPointId, touched: &HoldPointId) -> bool {
    let feeds = |id: &HoldPointId, wanted: Feed| {
        plan.hold_point(id).is_some_and(|one| {
            one.criteria
                .iter()
                .any(|one| matches!(one.kind, CriterionKind::Reckoning { feed, .. } if feed == wanted))
        })
    };
    (feeds(reader, Feed::GroundAsBuilt) && feeds(touched, Feed::BearingLevels))
        || (feeds(reader, Feed::BeamFaces) && feeds(touched, Feed::RunWidths))
        || (feeds(reader, Feed::PopUpPlaces) && feeds(touched, Feed::RunWidths))
        || (feeds(reader, Feed::CubeResults) && feeds(touched, Feed::CubesTaken))
        || (feeds(reader, Feed::BeamTops) && feeds(touched, Feed::OverlayThickness))
}

/// Everybody who booked current evidence of a hold point.
pub(super) fn booked_by(record: &PlotRecord, id: &HoldPointId) -> BTreeSet<PersonId> {
    fn authors<'a, T>(
        kept: &'a [Kept<T>],
        own: impl Fn(&T) -> &HoldPointId + 'a,
        id: &'a HoldPointId,
    ) -> impl Iterator<Item = PersonId> + 'a {
        kept.iter()
            .filter(move |one| own(&one.fact) == id && one.superseded.is_none())
            .filter_map(|one| one.noted.author)
    }
    let readings = record.all_readings();
    let read = readings.iter().filter(|one| one.hold_point == *id && one.superseded.is_none());
    read.filter_map(|one| one.noted.author)
        .chain(authors(&record.answers, |fact| &fact.hold_point, id))
        .chain(authors(&record.photos, |fact| &fact.hold_point, id))
        .chain(authors(&record.documents, |fact| &fact.hold_point, id))
        .chain(authors(&record.deliveries, |fact| &fact.hold_point, id))
        .chain(authors(&record.tickets, |fact| &fact.hold_point, id))
        .chain(authors(&record.pour, |fact| fact.hold_point(), id))
        .chain(authors(&record.placings, |fact| &fact.hold_point, id))
        .chain(authors(&record.temperatures, |fact| &fact.hold_point, id))
        .chain(authors(&record.labels, |fact| &fact.hold_point, id))
        .chain(authors(&record.pressure_tests, |fact| &fact.hold_point, id))
        .collect()
}

/// What stands against a release in one criterion.
fn unsettled(criterion: &CriterionStanding) -> Vec<String> {
    let mut against = Vec::new();
    for reading in criterion.readings.iter().filter(|one| one.settled.is_none()) {
        if let Some(trial) = reading.trial.as_ref().filter(|trial| trial.verdict != Verdict::Conforming) {
            against.push(format!("{} {}", reading.point, trial.words));
        }
    }
    for finding in &criterion.findings {
        if !finding.caution && !finding.settled && finding.verdict != Verdict::Conforming {
            against.push(finding.what.clone());
        }
    }
    let no = criterion.answer.as_ref().filter(|one| one.answer == Answer::No && one.settled.is_none());
    if no.is_some() {
        against.push(format!("{}: no", criterion.title));
    }
    against
}

/// Judges one criterion as it is now.
pub(crate) fn of_criterion(
    record: &PlotRecord,
    hold_point: &HoldPoint,
    asked: &Criterion,
) -> CriterionStanding {
    criterion(record, hold_point, asked)
}

fn criterion(record: &PlotRecord, hold_point: &HoldPoint, asked: &Criterion) -> CriterionStanding {
    let mut standing = CriterionStanding {
        id: asked.id.clone(),
        title: asked.title.clone(),
        source: asked.source.clone(),
        kind: asked.kind.clone(),
        limit: None,
        points: Vec::new(),
        readings: Vec::new(),
        answer: answer(record, hold_point, asked),
        documents: record
            .documents
            .iter()
            .filter(|one| one.fact.hold_point == hold_point.id && one.fact.criterion == asked.id)
            .filter(|one| one.superseded.is_none())
            .map(|one| (one.fact.document.clone(), one.noted.clone()))
            .collect(),
        papers: Vec::new(),
        findings: Vec::new(),
        reckoned: Vec::new(),
        verdict: None,
        owed: Vec::new(),
    };
    // What the design says of it, where a question or a document is about one of its tables.
    standing.limit = asked.only_where.and_then(|part| part.says(record.design()));
    match &asked.kind {
        CriterionKind::Reckoning { feed, .. } => measured(record, hold_point, asked, *feed, &mut standing),
        CriterionKind::Question { .. } => {
            standing.verdict = standing.answer.as_ref().and_then(|one| match one.answer {
                Answer::Yes => Some(Verdict::Conforming),
                Answer::No => Some(Verdict::Nonconforming),
                Answer::NotApplicable => None,
            });
            if standing.answer.is_none() {
                standing.owe(None, format!("answer: {}", asked.title));
            }
        }
        CriterionKind::Document { what, .. } => {
            let waived = standing.answer.as_ref().is_some_and(|one| one.answer == Answer::NotApplicable);
            if standing.documents.is_empty() && !waived {
                standing.owe(None, format!("document: {what}"));
            }
        }
    }
    standing
}

impl CriterionStanding {
    fn owe(&mut self, point: Option<PointName>, what: String) {
        self.owed.push(Owed { criterion: self.id.to_string(), point, what });
    }
}

fn answer(record: &PlotRecord, hold_point: &HoldPoint, asked: &Criterion) -> Option<AnswerStanding> {
    let kept = record.answers.iter().rev().find(|one| {
        one.fact.hold_point == hold_point.id && one.fact.criterion == asked.id && one.superseded.is_none()
    })?;
    Some(AnswerStanding {
        entry: kept.noted.id,
        answer: kept.fact.answer,
        reason: kept.fact.reason.clone(),
        remark: kept.fact.remark.clone(),
        noted: kept.noted.clone(),
        settled: record.settled.get(&kept.noted.id).cloned(),
    })
}

/// A criterion that is reckoned.
fn measured(
    record: &PlotRecord,
    hold_point: &HoldPoint,
    asked: &Criterion,
    feed: Feed,
    standing: &mut CriterionStanding,
) {
    let owing = asked.owing(record.design());
    let all = record.readings_of(&hold_point.id, &asked.id);
    let mut current: Vec<Reading> = all.into_iter().filter(|one| one.superseded.is_none()).collect();
    let place = |point: &PointName| owing.points.iter().position(|one| one == point).unwrap_or(usize::MAX);
    current.sort_by_key(|one| (place(&one.point), one.point.clone(), one.noted.order));
    standing.readings = current
        .into_iter()
        .map(|one| ReadingStanding {
            trial: reading(record, &one),
            settled: record.settled.get(&one.entry).cloned(),
            entry: one.entry,
            point: one.point,
            value: one.value,
            instrument: one.instrument,
            noted: one.noted,
            supersedes: one.supersedes,
            certainty: one.certainty,
            trace: one.trace,
        })
        .collect();
    for book in record.open_books(&hold_point.id, &asked.id) {
        standing.owe(None, format!("fore sight onto a bench mark, to close level book {}", book.begun.book));
    }
    standing.limit = feeds::limit_text(record, feed);
    standing.points.clone_from(&owing.points);
    let wanted = wanted(record, feed, &owing, standing);
    for point in &wanted {
        if standing.reading_at(point).is_none() {
            standing.owe(Some(point.clone()), format!("{} at {point}", feed.quantity()));
        }
    }
    if owing.points.is_empty() && standing.readings.len() < owing.at_least {
        let missing = owing.at_least - standing.readings.len();
        standing.owe(None, format!("{missing} more: {}", feed.quantity()));
    }
    // A gauge that does not pass says that something is wrong, not how much: a number must follow.
    let gauged: Vec<PointName> = standing
        .readings
        .iter()
        .filter(|one| one.value == ReadValue::NoGo)
        .map(|one| one.point.clone())
        .collect();
    for point in gauged {
        standing.owe(
            Some(point.clone()),
            format!("{} in numbers at {point}, where the gauge did not pass", feed.quantity()),
        );
    }
    // A point that was read again without superseding: every reading has its own verdict and stands against a
    // release by itself; all points together are reckoned from the last of each.
    let mut values: Vec<Booked> = Vec::with_capacity(standing.readings.len());
    for one in &standing.readings {
        let own = Booked {
            point: one.point.clone(),
            value: one.value,
            instrument: one.instrument.clone(),
            certainty: one.certainty.clone(),
        };
        match values.last_mut() {
            Some(last) if last.point == one.point => *last = own,
            _ => values.push(own),
        }
    }
    standing.papers = papers(record, hold_point, asked);
    if pour::is_of_pour(feed) {
        for what in pour::owed(record, feed) {
            standing.owe(None, what);
        }
        let counts_only = feed == Feed::CubesTaken && !standing.owed.is_empty();
        let times_only = pour::is_without_evidence(record, feed);
        if counts_only || times_only {
            return;
        }
    }
    if matches!(feed, Feed::WalkingAge | Feed::LoadingAge) {
        standing.papers = curing::papers(record, &hold_point.id);
        for what in curing::owed(record, feed) {
            standing.owe(None, what);
        }
        if standing.papers.is_empty() {
            return;
        }
    }
    if feed.is_of_papers() && standing.papers.is_empty() {
        standing.owe(None, feed.quantity().to_owned());
        // What is ordered, and what each stage needs, is shown before the first note.
        if feed == Feed::Deliveries
            && let Ok(judged) = feeds::reckon(record, feed, &values)
        {
            standing.reckoned = judged.reckoned;
        }
        return;
    }
    if values.is_empty() && feed.unit().is_some() {
        return;
    }
    match feeds::reckon(record, feed, &values) {
        Ok(Judged { reckoned, findings, verdict }) => {
            let covered = criterion_settled(record, hold_point, asked);
            standing.findings = findings;
            for finding in &mut standing.findings {
                let by_point = standing
                    .readings
                    .iter()
                    .any(|one| one.settled.is_some() && finding.points.contains(&one.point));
                finding.settled = covered || by_point;
            }
            standing.reckoned = reckoned;
            standing.verdict = Some(verdict);
        }
        Err(what) => {
            // The design and the readings were checked when they came in: what is left is missing limits.
            standing.verdict = Some(Verdict::Undetermined);
            standing.findings.push(FindingStanding {
                settled: criterion_settled(record, hold_point, asked),
                what,
                source: asked.source.clone(),
                verdict: Verdict::Undetermined,
                caution: false,
                points: Vec::new(),
            });
        }
    }
}

/// The points that must have a reading: those that the plan asks for, and every beam of a run whose first ones
/// disagree.
fn wanted(record: &PlotRecord, feed: Feed, owing: &Owing, standing: &CriterionStanding) -> Vec<PointName> {
    if feed != Feed::BeamFaces {
        return owing.wanted.clone();
    }
    let booked = |one: &ReadingStanding| Booked {
        point: one.point.clone(),
        value: one.value,
        instrument: one.instrument.clone(),
        certainty: one.certainty.clone(),
    };
    let values: Vec<Booked> = standing.readings.iter().map(booked).collect();
    let runs = beam_feeds::runs_that_disagree(record, &values);
    let of_run = |point: &PointName| {
        crate::floor::layout::beam_of(record.design(), point).is_some_and(|(run, _)| runs.contains(&run.name))
    };
    owing.points.iter().filter(|point| owing.wanted.contains(point) || of_run(point)).cloned().collect()
}

/// Delivery notes and tickets under a criterion.
fn papers(record: &PlotRecord, hold_point: &HoldPoint, asked: &Criterion) -> Vec<PaperStanding> {
    let own = |of: &HoldPointId, criterion: &CriterionId| *of == hold_point.id && *criterion == asked.id;
    let notes = record
        .deliveries
        .iter()
        .filter(|kept| kept.superseded.is_none() && own(&kept.fact.hold_point, &kept.fact.criterion))
        .map(|kept| {
            let lines: Vec<String> = kept
                .fact
                .lines
                .iter()
                .map(|line| {
                    let mut text = format!("{} × {}", line.delivered, line.item);
                    for (count, what) in [(line.damaged, "damaged"), (line.unlabelled, "without a label")] {
                        if count > 0 {
                            text.push_str(&format!(", {count} {what}"));
                        }
                    }
                    text
                })
                .collect();
            let revision =
                kept.fact.revision.as_ref().map_or(String::new(), |own| format!(", revision {own}"));
            PaperStanding {
                entry: kept.noted.id,
                title: format!("Note {}{revision}", kept.fact.note),
                lines,
                noted: kept.noted.clone(),
            }
        });
    let tickets = record
        .tickets
        .iter()
        .filter(|kept| kept.superseded.is_none() && own(&kept.fact.hold_point, &kept.fact.criterion))
        .map(|kept| PaperStanding {
            entry: kept.noted.id,
            title: format!("Ticket {}", kept.fact.ticket),
            lines: vec![ticket_line(&kept.fact)],
            noted: kept.noted.clone(),
        });
    let pour = record
        .pour
        .iter()
        .filter(|kept| kept.superseded.is_none() && own(kept.fact.hold_point(), kept.fact.criterion()))
        .map(|kept| {
            let (title, line) = pour::words(&kept.fact);
            PaperStanding {
                entry: kept.noted.id,
                title,
                lines: (!line.is_empty()).then_some(line).into_iter().collect(),
                noted: kept.noted.clone(),
            }
        });
    let labels = record.labels.iter().filter(|kept| own(&kept.fact.hold_point, &kept.fact.criterion));
    let labels = labels.filter(|kept| kept.superseded.is_none()).map(|kept| {
        let label = &kept.fact;
        let thickness = label.thickness_um.map(|um| format!("{} mm", Length::from_um(um).to_mm_text()));
        let conductivity = label.conductivity.as_ref().map(|own| format!("{own} W/mK"));
        let batch =
            label.batch.as_ref().map_or("no batch printed".to_owned(), |batch| format!("batch {batch}"));
        let said: Vec<String> = thickness.into_iter().chain(conductivity).chain([batch]).collect();
        PaperStanding {
            entry: kept.noted.id,
            title: format!("Label: {} {}", label.item, label.grade),
            lines: vec![said.join(", ")],
            noted: kept.noted.clone(),
        }
    });
    let tests = record.pressure_tests.iter().filter(|kept| own(&kept.fact.hold_point, &kept.fact.criterion));
    let tests = tests.filter(|kept| kept.superseded.is_none()).map(|kept| PaperStanding {
        entry: kept.noted.id,
        title: format!("Pressure test: {}", kept.fact.test),
        lines: vec![format!(
            "{} bar at {}, {} bar at {}",
            kept.fact.start_bar, kept.fact.started_at, kept.fact.end_bar, kept.fact.ended_at
        )],
        noted: kept.noted.clone(),
    });
    notes.chain(tickets).chain(pour).chain(labels).chain(tests).collect()
}

/// What a ticket says, in a line; what it does not say is left out.
fn ticket_line(fact: &TicketBooked) -> String {
    let mut words = vec![fact.strength_class.clone()];
    words.extend(fact.consistence_class.clone());
    words.extend(fact.load_m3.as_ref().map(|load| format!("{load} m³")));
    words.extend(fact.batch.as_ref().map(|batch| format!("batch {batch}")));
    words.push(format!("batched {}", fact.batched_at));
    words.extend(fact.began_at.as_ref().map(|began| format!("discharge began {began}")));
    words.push(format!("discharged {}", fact.discharged_at));
    let slump = fact.measured_slump_um.map(|um| Length::from_um(um).to_mm_text());
    words.extend(slump.map(|slump| format!("slump {slump} mm")));
    words.extend(fact.water_added_l.as_ref().map(|water| format!("water added {water} l")));
    words.push(format!("air {} °C, concrete {} °C", fact.air_c, fact.concrete_c));
    words.join(", ")
}

/// Whether somebody raised a nonconformance against this criterion as a whole and it was settled after its last
/// reading, paper and the last floor design: later evidence is not covered by an earlier concession.
fn criterion_settled(record: &PlotRecord, hold_point: &HoldPoint, asked: &Criterion) -> bool {
    let last = record
        .readings_of(&hold_point.id, &asked.id)
        .iter()
        .map(|one| one.noted.order)
        .chain(papers(record, hold_point, asked).iter().map(|one| one.noted.order))
        .chain([record.design_entry().order])
        .max()
        .unwrap_or(0);
    record.raised.iter().any(|one| {
        one.hold_point == hold_point.id
            && one.criterion.as_ref() == Some(&asked.id)
            && record.settled.get(&one.noted.id).is_some_and(|settled| settled.noted.order > last)
    })
}

/// For what a photo is owed: what the design says, and for delivery notes each one that is booked.
fn owing_photos(
    record: &PlotRecord,
    hold_point: &HoldPoint,
    one: &Evidence,
) -> Vec<(Option<PointName>, u32)> {
    if one.per != Per::EachNote {
        return one.owing(record.design());
    }
    let booked = record.deliveries.iter().filter(|kept| kept.superseded.is_none());
    let own = booked.filter(|kept| kept.fact.hold_point == hold_point.id);
    let notes: Vec<PointName> = own.filter_map(|kept| PointName::new(&kept.fact.note).ok()).collect();
    if notes.is_empty() {
        return one.owing(record.design());
    }
    notes.into_iter().map(|note| (Some(note), one.count)).collect()
}

fn evidence(record: &PlotRecord, hold_point: &HoldPoint) -> Vec<EvidenceStanding> {
    let mut all: Vec<EvidenceStanding> = hold_point
        .evidence
        .iter()
        .flat_map(|one| {
            owing_photos(record, hold_point, one).into_iter().map(|(place, count)| EvidenceStanding {
                subject: subject(&one.subject, place.as_ref()),
                title: place
                    .as_ref()
                    .map_or_else(|| one.title.clone(), |place| format!("{}, {place}", one.title)),
                wanted: usize::try_from(count).unwrap_or(usize::MAX),
                photos: Vec::new(),
            })
        })
        .collect();
    let photos =
        record.photos.iter().filter(|one| one.fact.hold_point == hold_point.id && one.superseded.is_none());
    for kept in photos {
        let photo = (kept.fact.clone(), kept.noted.clone());
        match all.iter_mut().find(|one| one.subject == kept.fact.subject) {
            Some(own) => own.photos.push(photo),
            // Its wall or vent is gone from a later design: it stays to be seen.
            None => all.push(EvidenceStanding {
                subject: kept.fact.subject.clone(),
                title: kept.fact.subject.clone(),
                wanted: 0,
                photos: vec![photo],
            }),
        }
    }
    all
}

/// A photo subject with its place: `wall:A`.
pub fn subject(code: &str, place: Option<&PointName>) -> String {
    place.map_or_else(|| code.to_owned(), |place| format!("{code}:{place}"))
}

/// Judges one reading alone; `None` where only all readings together have a verdict, or the plan or design no
/// longer has its place.
pub fn reading(record: &PlotRecord, one: &Reading) -> Option<Trial> {
    let asked = record.plan.hold_point(&one.hold_point)?.criterion(&one.criterion)?;
    let CriterionKind::Reckoning { feed, .. } = asked.kind else { return None };
    let booked = Booked {
        point: one.point.clone(),
        value: one.value,
        instrument: one.instrument.clone(),
        certainty: one.certainty.clone(),
    };
    feeds::trial(record, feed, &booked)
}

/// Judges a value that is not booked yet: what the keypad shows while one types.
pub fn trial(record: &PlotRecord, feed: Feed, point: &PointName, value: ReadValue) -> Option<Trial> {
    trial_of(record, feed, point, value, Certainty::default())
}

/// Judges a value that is not booked yet, read with an instrument or out of a level book.
pub fn trial_of(
    record: &PlotRecord,
    feed: Feed,
    point: &PointName,
    value: ReadValue,
    certainty: Certainty,
) -> Option<Trial> {
    feeds::trial(record, feed, &Booked { point: point.clone(), value, instrument: None, certainty })
}

/// How far from the finished floor a level may lie before it is taken for a slip of units, and the most that a
/// length or an area can be: bounds of what a person can have read on a floor, not limits of conformity.
pub(super) const FURTHEST_LEVEL: Length = Length::from_mm(20_000);
const LONGEST_LENGTH: Length = Length::from_mm(20_000);
const LARGEST_AREA_MM2: i64 = 10_000_000;

/// Checks that a reading can be one: a known point, the right unit, a value of this world.
pub(super) fn check_reading(
    record: &PlotRecord,
    feed: Feed,
    asked: &Criterion,
    point: &PointName,
    value: ReadValue,
) -> Result<(), Refusal> {
    let owing = asked.owing(record.design());
    if !owing.points.is_empty() && !owing.points.contains(point) {
        let mut known: Vec<String> = owing.points.iter().take(12).map(ToString::to_string).collect();
        if owing.points.len() > known.len() {
            known.push("…".to_owned());
        }
        return Err(Refusal::NoPoint { point: point.clone(), known: format!("it has {}", known.join(", ")) });
    }
    let (Some(unit), Some(key)) = (feed.unit(), feed.key()) else {
        return Err(Refusal::WrongUnit(format!("{} is read from the floor design alone", feed.quantity())));
    };
    let absurd = |what: String| Err(Refusal::Absurd(what));
    match (unit, value) {
        (ReadingUnit::LevelMetres, ReadValue::Um(um)) => {
            let finished = record.design().levels.finished_floor_level_m.0;
            let level = Length::from_um(um);
            if (level - finished).abs() > FURTHEST_LEVEL {
                return absurd(format!(
                    "a level of {} m cannot be here: the finished floor is at {} m",
                    level.to_m_text(),
                    finished.m_text(3)
                ));
            }
            Ok(())
        }
        (ReadingUnit::Millimetres, ReadValue::Um(um)) => {
            if um < 0 || Length::from_um(um) > LONGEST_LENGTH {
                return absurd(format!(
                    "{} mm cannot be the {}",
                    Length::from_um(um).to_mm_text(),
                    feed.quantity()
                ));
            }
            Ok(())
        }
        (ReadingUnit::SquareMillimetres, ReadValue::Um2(um2)) => {
            if um2 < 0 || Area::from_um2(um2.into()) > Area::from_mm2(LARGEST_AREA_MM2) {
                return absurd(format!("{} cannot be the {}", value_text(value), feed.quantity()));
            }
            Ok(())
        }
        (ReadingUnit::Millimetres, ReadValue::Go | ReadValue::NoGo) => Ok(()),
        _ => Err(wrong_unit(value, unit.symbol(), key)),
    }
}

/// Checks that the hold point wants a photo of this.
pub(super) fn check_subject(
    record: &PlotRecord,
    hold_point: &HoldPoint,
    wanted: &str,
) -> Result<(), Refusal> {
    let known: Vec<String> = hold_point
        .evidence
        .iter()
        .flat_map(|one| {
            owing_photos(record, hold_point, one)
                .into_iter()
                .map(|(place, _)| subject(&one.subject, place.as_ref()))
        })
        .collect();
    if known.iter().any(|one| one == wanted) {
        return Ok(());
    }
    Err(Refusal::Text(format!(
        "{} asks for no photo of {wanted:?}; it asks for {}",
        hold_point.title,
        known.join(", ")
    )))
}

/// A value as people read it: `48.148 m`, `152 mm`, `6000 mm²`, `gauge passes`.
///
/// Without its feed a length cannot be told from a level: both print in millimetres here; screens that know the
/// feed use [`value_in_unit`].
pub fn value_text(value: ReadValue) -> String {
    match value {
        ReadValue::Um(um) => format!("{} mm", Length::from_um(um).to_mm_text()),
        ReadValue::Um2(um2) => format!("{} mm²", Area::from_um2(um2.into()).to_mm2_text()),
        ReadValue::Go => "gauge passes".to_owned(),
        ReadValue::NoGo => "gauge does not pass".to_owned(),
    }
}

/// A value in the unit that its feed reads: exact, never rounded.
pub fn value_in_unit(value: ReadValue, unit: ReadingUnit) -> String {
    match (value, unit) {
        (ReadValue::Um(um), ReadingUnit::LevelMetres) => {
            let level = Length::from_um(um);
            let exact = level.to_m_text();
            let rounded = level.m_text(3);
            // Levels are written to the millimetre unless they are finer.
            if exact.len() > rounded.len() { exact } else { rounded }
        }
        (ReadValue::Um(um), _) => Length::from_um(um).to_mm_text(),
        (ReadValue::Um2(um2), _) => Area::from_um2(um2.into()).to_mm2_text(),
        (ReadValue::Go | ReadValue::NoGo, _) => value_text(value),
    }
}

impl ReadValue {
    /// Reads decimal text in `mm`, `m` or `mm2`, exactly.
    ///
    /// # Errors
    /// What is wrong, in words: no number, finer than a micrometre, out of range.
    pub fn parse(text: &str, unit: &str) -> Result<Self, String> {
        match unit {
            "m" => {
                Length::parse_m(text).map(|length| Self::Um(length.um())).map_err(|fault| fault.to_string())
            }
            "mm" => {
                Length::parse_mm(text).map(|length| Self::Um(length.um())).map_err(|fault| fault.to_string())
            }
            "mm2" => {
                let area = Area::parse_mm2(text).map_err(|fault| fault.to_string())?;
                i64::try_from(area.um2())
                    .ok()
                    .filter(|um2| um2.abs() <= 1 << 53)
                    .map(Self::Um2)
                    .ok_or_else(|| "is larger than any opening".to_owned())
            }
            _ => Err(format!("{unit} is no unit that is read here")),
        }
    }
}
