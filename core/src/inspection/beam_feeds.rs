//! Beams and infill: from notes, clears, faces and tickets to their reckonings, run by run, and back to points.
//!
//! Never here: a comparison with a limit. Where the design gives no limit or no mix, the answer is undetermined and
//! says what is missing.

use serde::Serialize;

use super::feeds::{Booked, Judged};
use super::fold::PlotRecord;
use super::judge::{FindingStanding, Reckoned, Trial};
use super::spans;
use crate::conformity::Verdict;
use crate::entry::{DeliveryBooked, ReadValue, TicketBooked};
use crate::floor::LimitName;
use crate::floor::beams::{BayRun, ConcreteSpec};
use crate::floor::layout::beam_of;
use crate::ids::PointName;
use crate::plan_of_work::{Criterion, CriterionKind, Feed, HoldPoint};
use crate::quantity::{Length, Mm, Plain};
use crate::reckon::{Finding, bay_fit, concrete_ticket, delivery, infill_cuts, span_fit};
use crate::working::Working;

/// Reckons a criterion about beams or infill from its readings, notes or tickets.
///
/// # Errors
/// A sentence: what the design does not give, or what the reckoning refuses.
pub(super) fn reckon(record: &PlotRecord, feed: Feed, values: &[Booked]) -> Result<Judged, String> {
    let mut parts = Parts::default();
    match feed {
        Feed::Deliveries => {
            let input = delivery_input(record, None);
            let output = delivery::reckon(&input).map_err(|faults| faults.to_string())?;
            let findings = deliveries(record, &output);
            parts.add(None, feed, &input, &output, output.working.clone(), findings, output.verdict);
        }
        Feed::InfillCuts => {
            let input = record.design().infill_cuts_input().ok_or(NO_BEAMS)?;
            let output = infill_cuts::reckon(&input).map_err(|faults| faults.to_string())?;
            let mut found = findings(&output.findings);
            for run in output.runs.iter().filter(|run| run.verdict != Verdict::Conforming) {
                let reason = run.reason.clone().unwrap_or_default();
                found.push(finding(format!("{} {}: {reason}", run.run, run.width.word()), run.verdict));
            }
            parts.add(None, feed, &input, &output, output.working.clone(), found, output.verdict);
        }
        Feed::DoubledBeamTickets => {
            let spec = spec(record)?;
            for kept in record
                .tickets
                .iter()
                .filter(|kept| kept.superseded.is_none() && is_doubled(record, &kept.fact))
            {
                ticket_part(feed, &ticket_input(spec, &kept.fact)?, &kept.fact, &mut parts)?;
            }
        }
        _ => {
            for run in runs(record)? {
                run_part(record, feed, run, values, &mut parts)?;
            }
        }
    }
    Ok(parts.judged())
}

pub(super) const NO_BEAMS: &str = "the floor design draws no beams";

fn runs(record: &PlotRecord) -> Result<&[BayRun], String> {
    record.design().beams.as_ref().map(|beams| beams.runs.as_slice()).ok_or_else(|| NO_BEAMS.to_owned())
}

fn run_part(
    record: &PlotRecord,
    feed: Feed,
    run: &BayRun,
    values: &[Booked],
    parts: &mut Parts,
) -> Result<(), String> {
    let about = || Some(format!("Run {}", run.name));
    match feed {
        Feed::ClearSpans => {
            let input = spans::input(record, run, values)?;
            if input.clear_mm.is_empty() {
                return Ok(());
            }
            let output = span_fit::reckon(&input).map_err(|faults| faults.to_string())?;
            let found = findings(&output.findings);
            parts.add(about(), feed, &input, &output, output.working.clone(), found, output.verdict);
        }
        Feed::RunWidths | Feed::BeamFaces => {
            let measured = (feed == Feed::BeamFaces).then(|| faces(record, run, values));
            let nothing = |measured: &Option<Vec<Option<Mm>>>| {
                measured.as_ref().is_none_or(|all| all.iter().all(Option::is_none))
            };
            let width = as_built(record, run, (feed == Feed::RunWidths).then_some(values));
            if nothing(&measured) && (feed == Feed::BeamFaces || width.is_none()) {
                return Ok(());
            }
            let input =
                record.design().bay_fit_input(run, width, measured).ok_or_else(|| missing_bay(record))?;
            let output = bay_fit::reckon(&input).map_err(|faults| faults.to_string())?;
            let mut found = findings(&output.findings);
            found.extend(arrangements(run, &output));
            parts.add(about(), feed, &input, &output, output.working.clone(), found, output.verdict);
        }
        _ => {}
    }
    Ok(())
}

fn missing_bay(record: &PlotRecord) -> String {
    for name in [LimitName::BeamSpacingTolerance, LimitName::MakeUpLeast] {
        if !record.design().limits.contains_key(&name) {
            return format!("no limit {}: the floor design does not give it", name.as_str());
        }
    }
    NO_BEAMS.to_owned()
}

/// What would bring a make-up back into range, for the designer to decide.
fn arrangements(run: &BayRun, output: &bay_fit::Output) -> Vec<FindingStanding> {
    if output.verdict == Verdict::Conforming {
        return Vec::new();
    }
    let offered = output.arrangements.iter().take(3).map(|one| {
        let left = one.make_up_mm.map_or_else(String::new, |gap| format!(" leave {} mm", gap.0.mm_text(1)));
        format!("{} wide and {} narrow{left}", one.wide, one.narrow)
    });
    let offered: Vec<String> = offered.collect();
    if offered.is_empty() {
        return Vec::new();
    }
    let what = format!("run {}: {}; for the designer to decide", run.name, offered.join("; or "));
    vec![FindingStanding { caution: true, ..finding(what, Verdict::Conforming) }]
}

/// Clear width of a run as it was read: here, or under the criterion that asks for it.
pub(super) fn as_built(record: &PlotRecord, run: &BayRun, here: Option<&[Booked]>) -> Option<Length> {
    let read = |value: ReadValue| super::feeds::length_of(value);
    match here {
        Some(values) => values.iter().rev().find(|one| one.point == run.name).and_then(|one| read(one.value)),
        None => {
            let (hold_point, asked) = criterion_of_feed(record, Feed::RunWidths)?;
            let readings = record.readings_of(&hold_point.id, &asked.id);
            let own =
                readings.into_iter().rev().find(|one| one.superseded.is_none() && one.point == run.name);
            own.and_then(|one| read(one.value))
        }
    }
}

/// The criterion of the plan that a feed belongs to.
pub fn criterion_of_feed(record: &PlotRecord, wanted: Feed) -> Option<(&HoldPoint, &Criterion)> {
    let all =
        record.plan.hold_points.iter().flat_map(|point| point.criteria.iter().map(move |one| (point, one)));
    all.into_iter()
        .find(|(_, one)| matches!(one.kind, CriterionKind::Reckoning { feed, .. } if feed == wanted))
}

/// A run with the width and the faces that are read now, and with what is just being typed.
pub(super) fn bay_with(
    record: &PlotRecord,
    run: &BayRun,
    typed_width: Option<Length>,
    typed_face: Option<(usize, Length)>,
) -> Option<(bay_fit::Input, bay_fit::Output)> {
    let width = typed_width.or_else(|| as_built(record, run, None));
    let read = criterion_of_feed(record, Feed::BeamFaces).map_or_else(Vec::new, |(hold_point, asked)| {
        let current = record.readings_of(&hold_point.id, &asked.id).into_iter();
        current.filter(|one| one.superseded.is_none()).map(Booked::from).collect()
    });
    let mut measured = faces(record, run, &read);
    if let Some((number, face)) = typed_face {
        *measured.get_mut(number.checked_sub(1)?)? = Some(Mm(face));
    }
    let measured = measured.iter().any(Option::is_some).then_some(measured);
    let input = record.design().bay_fit_input(run, width, measured)?;
    let output = bay_fit::reckon(&input).ok()?;
    Some((input, output))
}

/// Faces of a run's beams as measured, by number.
fn faces(record: &PlotRecord, run: &BayRun, values: &[Booked]) -> Vec<Option<Mm>> {
    let mut faces = vec![None; run.beam_count()];
    for one in values {
        let Some((own, number)) = beam_of(record.design(), &one.point) else { continue };
        if own.name == run.name {
            faces[number - 1] = super::feeds::length_of(one.value).map(Mm);
        }
    }
    faces
}

/// What one value alone says: a bearing clear, a face of a beam, the width of a run.
pub(super) fn trial(record: &PlotRecord, feed: Feed, booked: &Booked) -> Option<Trial> {
    let alone = std::slice::from_ref(booked);
    match feed {
        Feed::ClearSpans => spans::trial(record, booked),
        Feed::RunWidths => {
            let run = record.design().beams.as_ref()?.run(&booked.point)?;
            let width = super::feeds::length_of(booked.value)?;
            let output = bay_fit::reckon(&record.design().bay_fit_input(run, Some(width), None)?).ok()?;
            let make_up = output.as_built_make_up_mm.map_or_else(
                || "no make-up is drawn".to_owned(),
                |gap| format!("leaves a make-up of {} mm", gap.0.mm_text(1)),
            );
            Some(Trial {
                verdict: output.verdict,
                deviation: Some(width - run.clear_width()),
                probability: None,
                words: format!("{make_up}, drawn {} mm wide", run.clear_width().to_mm_text()),
            })
        }
        Feed::BeamFaces => {
            let (run, number) = beam_of(record.design(), &booked.point)?;
            let width = as_built(record, run, None);
            let input = record.design().bay_fit_input(run, width, Some(faces(record, run, alone)))?;
            let output = bay_fit::reckon(&input).ok()?;
            let beam = output.beams.get(number - 1)?;
            let deviation = beam.deviation_mm?.0;
            Some(Trial {
                verdict: Verdict::of(deviation.abs() <= input.spacing_tolerance_mm.0),
                deviation: Some(deviation),
                probability: None,
                words: format!(
                    "{} mm, set out at {} ± {} mm",
                    deviation.signed_mm_text(1),
                    beam.set_out_mm.0.mm_text(1),
                    input.spacing_tolerance_mm.0.to_mm_text()
                ),
            })
        }
        _ => None,
    }
}

/// Whether a beam that was measured does not stand or read as drawn: then all of its run are owed.
pub(super) fn runs_that_disagree(record: &PlotRecord, values: &[Booked]) -> Vec<PointName> {
    let Ok(runs) = runs(record) else { return Vec::new() };
    let disagrees = |run: &&BayRun| {
        let measured = faces(record, run, values);
        if measured.iter().all(Option::is_none) {
            return false;
        }
        let input = record.design().bay_fit_input(run, as_built(record, run, None), Some(measured));
        let output = input.and_then(|input| bay_fit::reckon(&input).ok());
        output.is_some_and(|output| output.beams.iter().any(|beam| beam.verdict == Verdict::Nonconforming))
    };
    runs.iter().filter(disagrees).map(|run| run.name.clone()).collect()
}

/// The order and what came of it; with one more note that is not booked yet.
pub(super) fn delivery_input(record: &PlotRecord, new: Option<&DeliveryBooked>) -> delivery::Input {
    let booked = record.deliveries.iter().filter(|kept| kept.superseded.is_none()).map(|kept| &kept.fact);
    let note = |fact: &DeliveryBooked| delivery::Note {
        note: fact.note.clone(),
        lines: fact
            .lines
            .iter()
            .map(|line| delivery::Line {
                item: line.item.clone(),
                delivered: line.delivered,
                damaged: line.damaged,
                unlabelled: line.unlabelled,
            })
            .collect(),
    };
    delivery::Input { notes: booked.chain(new).map(note).collect(), ..record.design().delivery_input() }
}

/// What is short, what a stage waits for, and labels of another drawing revision.
fn deliveries(record: &PlotRecord, output: &delivery::Output) -> Vec<FindingStanding> {
    let mut found = findings(&output.findings);
    for one in output.balance.iter().filter(|one| one.short + one.damaged + one.unlabelled > 0) {
        let mut parts = Vec::new();
        for (count, what) in
            [(one.short, "short"), (one.damaged, "damaged"), (one.unlabelled, "without a label")]
        {
            if count > 0 {
                parts.push(format!("{count} {what}"));
            }
        }
        found.push(finding(
            format!("{}: {} of {} ordered", one.item, parts.join(", "), one.ordered),
            Verdict::Nonconforming,
        ));
    }
    for one in &output.unordered {
        found.push(finding(
            format!("{}: {} came, none was ordered", one.item, one.delivered),
            Verdict::Nonconforming,
        ));
    }
    let revision = &record.design().revision;
    for kept in record.deliveries.iter().filter(|kept| kept.superseded.is_none()) {
        if let Some(other) = kept.fact.revision.as_ref().filter(|other| *other != revision) {
            let what = format!(
                "note {}: labels bear drawing revision {other}, revision {revision} is in force",
                kept.fact.note
            );
            found.push(finding(what, Verdict::Nonconforming));
        }
    }
    found
}

/// One ticket against its mix, as a part of its criterion.
///
/// # Errors
/// What the reckoning refuses.
pub(super) fn ticket_part(
    feed: Feed,
    input: &concrete_ticket::Input,
    fact: &TicketBooked,
    parts: &mut Parts,
) -> Result<(), String> {
    let output = concrete_ticket::reckon(input).map_err(|faults| faults.to_string())?;
    let found = output
        .findings
        .iter()
        .filter(|one| one.verdict != Verdict::Conforming)
        .map(|one| {
            let reason = one.reason.as_ref().map_or(String::new(), |reason| format!(" ({reason})"));
            let what = format!(
                "ticket {}: {} {}, required {}{reason}",
                fact.ticket, one.item, one.found, one.required
            );
            FindingStanding { source: one.source.clone(), ..finding(what, one.verdict) }
        })
        .collect();
    let about = Some(format!("Ticket {}", fact.ticket));
    parts.add(about, feed, input, &output, output.working.clone(), found, output.verdict);
    Ok(())
}

pub(super) fn spec(record: &PlotRecord) -> Result<&ConcreteSpec, String> {
    let beams = record.design().beams.as_ref().ok_or(NO_BEAMS)?;
    beams
        .concrete
        .as_ref()
        .ok_or_else(|| "the floor design gives no mix for the gap between doubled beams".to_owned())
}

/// Whether a ticket is for the gap between doubled beams.
fn is_doubled(record: &PlotRecord, fact: &TicketBooked) -> bool {
    criterion_of_feed(record, Feed::DoubledBeamTickets)
        .is_some_and(|(point, one)| point.id == fact.hold_point && one.id == fact.criterion)
}

/// A ticket against its mix, as the reckoning takes it.
///
/// # Errors
/// A decimal of the ticket is none.
pub(super) fn ticket_input(
    spec: &ConcreteSpec,
    fact: &TicketBooked,
) -> Result<concrete_ticket::Input, String> {
    let plain = |text: &str| {
        crate::quantity::Factor::parse(text).map(Plain).map_err(|fault| format!("{text}: {fault}"))
    };
    let optional = |text: &Option<String>| text.as_deref().map(plain).transpose();
    let mm = |um: Option<i64>| um.map(|um| Mm(Length::from_um(um)));
    Ok(concrete_ticket::Input {
        required: concrete_ticket::Required {
            strength_class: spec.strength_class.clone(),
            consistence_class: spec.consistence_class.clone(),
            largest_aggregate_mm: spec.largest_aggregate_mm,
            fibre_kg_per_m3: None,
            fibre_type: None,
            hours_to_discharge: spec.hours_to_discharge,
        },
        ticket: concrete_ticket::Ticket {
            strength_class: fact.strength_class.clone(),
            consistence_class: fact.consistence_class.clone(),
            measured_slump_mm: mm(fact.measured_slump_um),
            largest_aggregate_mm: mm(fact.largest_aggregate_um),
            fibre_kg_per_m3: optional(&fact.fibre_kg_per_m3)?,
            fibre_type: fact.fibre_type.clone(),
            water_added_l: optional(&fact.water_added_l)?,
            load_m3: optional(&fact.load_m3)?,
            batched_at: fact.batched_at.clone(),
            discharged_at: fact.discharged_at.clone(),
        },
        air_c: plain(&fact.air_c)?,
        concrete_c: plain(&fact.concrete_c)?,
        least_air_c: spec.least_air_c,
        least_concrete_c: spec.least_concrete_c,
    })
}

/// The parts of a criterion in the making.
#[derive(Default)]
pub(super) struct Parts {
    reckoned: Vec<Reckoned>,
    pub(super) findings: Vec<FindingStanding>,
    pub(super) verdicts: Vec<Verdict>,
}

impl Parts {
    #[expect(clippy::too_many_arguments, reason = "one part has as many sides")]
    pub(super) fn add(
        &mut self,
        about: Option<String>,
        feed: Feed,
        input: &impl Serialize,
        output: &impl Serialize,
        working: Working,
        findings: Vec<FindingStanding>,
        verdict: Verdict,
    ) {
        let value = |result: Result<serde_json::Value, serde_json::Error>| {
            result.expect("BUG: a reckoning has text keys only")
        };
        // A verdict that no finding explains says itself what it is about.
        let explained = findings.iter().any(|one| !one.caution && one.verdict == verdict);
        if verdict != Verdict::Conforming && !explained && feed.unit().is_none() {
            let what = format!("{}: {}", about.as_deref().unwrap_or(feed.quantity()), verdict.word());
            self.findings.push(finding(what, verdict));
        }
        self.reckoned.push(Reckoned {
            about,
            name: feed.reckoning(),
            input: value(serde_json::to_value(input)),
            output: value(serde_json::to_value(output)),
            working,
        });
        self.findings.extend(findings);
        self.verdicts.push(verdict);
    }

    /// A verdict that comes of no sum.
    pub(super) fn verdict(&mut self, verdict: Verdict) {
        self.verdicts.push(verdict);
    }

    pub(super) fn judged(self) -> Judged {
        Judged { verdict: Verdict::overall(self.verdicts), reckoned: self.reckoned, findings: self.findings }
    }
}

pub(super) fn finding(what: String, verdict: Verdict) -> FindingStanding {
    FindingStanding {
        what,
        source: crate::working::FLOOR_DESIGN.to_owned(),
        verdict,
        caution: false,
        points: Vec::new(),
        settled: false,
    }
}

pub(super) fn findings(found: &[Finding]) -> Vec<FindingStanding> {
    found
        .iter()
        .map(|one| FindingStanding {
            what: one.reason.clone(),
            source: one.source.clone(),
            verdict: one.verdict,
            caution: one.caution,
            points: Vec::new(),
            settled: false,
        })
        .collect()
}
