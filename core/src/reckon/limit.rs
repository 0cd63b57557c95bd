//! Limit: one measured quantity against its limits (bearing length, lap, cover, height above ground, gap).
//!
//! A reading is a number, or what a go/no-go gauge said. A number may be negative: a height above ground can be.

use std::collections::HashSet;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Finding, MAX_NAME, MAX_POINTS, deciding, refuse_too_many};
use crate::conformity::{Decision, Limits, Verdict, acceptance, judge, too_coarse};
use crate::faults::Faults;
use crate::quantity::{Length, Mm};
use crate::working::{COMMON_PRACTICE, FLOOR_DESIGN, JCGM_106, Working, mm, of_many};

/// Readings of one quantity and its limits.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// What is measured, in words.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub quantity: String,
    /// Readings in the order in which they were taken.
    #[schemars(length(max = MAX_POINTS))]
    pub readings: Vec<Reading>,
    /// The least conforming value; at least one limit is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least_mm: Option<Mm>,
    /// The greatest conforming value.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_mm: Option<Mm>,
    /// How the uncertainty is taken into account.
    pub decision: Decision,
}

/// One reading: `value_mm`, or `gauge` with `gauge_id`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// Where it was taken.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub point: String,
    /// The value measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value_mm: Option<Mm>,
    /// What the gauge said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<Gauge>,
    /// Which gauge it was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub gauge_id: Option<String>,
}

/// What a gauge said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Gauge {
    Go,
    NoGo,
}

/// Every reading judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// In the order of the input.
    pub readings: Vec<JudgedReading>,
    /// Any nonconforming, else any undetermined or none at all, else conforming.
    pub verdict: Verdict,
    /// What else there is to say.
    pub findings: Vec<Finding>,
    /// The sums.
    pub working: Working,
}

/// One reading judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct JudgedReading {
    /// Where it was taken.
    pub point: String,
    /// Its verdict.
    pub verdict: Verdict,
    /// Signed distance to the nearest limit, positive inside; null for a gauge.
    pub margin_mm: Option<Mm>,
    /// Chance that the true value conforms; null for a gauge.
    pub probability_conforming: Option<f64>,
    /// The gauge that said so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge_id: Option<String>,
}

/// Judges readings against limits.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    check(input)?;
    let limits =
        Limits { least: input.least_mm.map(|least| least.0), most: input.most_mm.map(|most| most.0) };
    let accepted = acceptance(&limits, &input.decision);
    let guard = input.decision.guard();
    let mut working = Working::new();
    if let (Some(least), Some(accepted)) = (limits.least, accepted.least) {
        working.mm("least value accepted", format!("{} + {}", mm(least), mm(guard)), accepted, JCGM_106);
    }
    if let (Some(most), Some(accepted)) = (limits.most, accepted.most) {
        working.mm("greatest value accepted", format!("{} - {}", mm(most), mm(guard)), accepted, JCGM_106);
    }
    let mut findings = Vec::new();
    if too_coarse(&limits, &input.decision) {
        findings.push(Finding::too_coarse("the span between the limits"));
    }

    let mut readings = Vec::new();
    let mut margins = Vec::new();
    for reading in &input.readings {
        let mut judged = JudgedReading {
            point: reading.point.clone(),
            verdict: Verdict::of(reading.gauge == Some(Gauge::Go)),
            margin_mm: None,
            probability_conforming: None,
            gauge_id: reading.gauge_id.clone(),
        };
        if let Some(Mm(value)) = reading.value_mm {
            let judgement = judge(value, &limits, &input.decision);
            judged.verdict = judgement.verdict;
            judged.margin_mm = judgement.margin.map(Mm);
            judged.probability_conforming = judgement.probability_conforming;
            if let Some(margin) = judgement.margin {
                let formula = margin_formula(value, &limits);
                working.mm(
                    format!("{}: {} within its limits by", reading.point, input.quantity),
                    formula,
                    margin,
                    FLOOR_DESIGN,
                );
            }
            margins.extend(judgement.acceptance_margin);
        }
        readings.push(judged);
    }
    owe_numbers(input, &mut findings);
    if let Some(least) = margins.iter().min() {
        let terms: Vec<String> = input
            .readings
            .iter()
            .filter_map(|reading| reading.value_mm)
            .map(|Mm(value)| margin_formula(value, &accepted))
            .collect();
        working.mm(
            "smallest distance inside the limits of acceptance (accepted from 0)",
            of_many("min", &terms),
            *least,
            JCGM_106,
        );
    }
    let verdict = Verdict::overall(readings.iter().map(|reading| reading.verdict).chain(deciding(&findings)));
    Ok(Output { readings, verdict, findings, working })
}

/// Distance inside the limits as arithmetic.
pub(super) fn margin_formula(value: Length, limits: &Limits) -> String {
    let terms: Vec<String> = limits
        .least
        .map(|least| format!("{} - {}", mm(value), mm(least)))
        .into_iter()
        .chain(limits.most.map(|most| format!("{} - {}", mm(most), mm(value))))
        .collect();
    of_many("min", &terms)
}

/// A no-go must be followed by a number at the same point.
fn owe_numbers(input: &Input, findings: &mut Vec<Finding>) {
    let mut numbered = HashSet::new();
    let mut owing = Vec::new();
    for reading in input.readings.iter().rev() {
        if reading.value_mm.is_some() {
            numbered.insert(reading.point.as_str());
        } else if reading.gauge == Some(Gauge::NoGo) && !numbered.contains(reading.point.as_str()) {
            owing.push(reading);
        }
    }
    for reading in owing.into_iter().rev() {
        findings.push(Finding::new(
            "a no-go is followed by a number",
            Verdict::Undetermined,
            format!(
                "{}: no-go by gauge {}; measure how far it is out",
                reading.point,
                reading.gauge_id.as_deref().unwrap_or_default()
            ),
            COMMON_PRACTICE,
        ));
    }
}

fn check(input: &Input) -> Result<(), Faults> {
    let mut faults = Faults::new();
    refuse_too_many("/readings", input.readings.len(), MAX_POINTS, &mut faults);
    input.decision.check("/decision", &mut faults);
    match (input.least_mm, input.most_mm) {
        (None, None) => faults.add("/least_mm", "is missing: give least_mm, most_mm or both"),
        (Some(least), Some(most)) if most < least => faults.add("/most_mm", "must be at least least_mm"),
        _ => {}
    }
    // The number that follows a no-go stands at the same point; any other second reading is a twin.
    let mut seen = HashSet::new();
    let mut awaiting_number = HashSet::new();
    for (index, reading) in input.readings.iter().enumerate() {
        let place = format!("/readings/{index}");
        match (reading.value_mm, reading.gauge) {
            (None, None) => {
                faults.add(format!("{place}/value_mm"), "is missing: give value_mm, or gauge and gauge_id")
            }
            (Some(_), Some(_)) => {
                faults.add(format!("{place}/gauge"), "a reading has value_mm or gauge, not both")
            }
            _ => {}
        }
        if reading.gauge.is_some() && reading.gauge_id.is_none() {
            faults.add(format!("{place}/gauge_id"), "is missing: name the gauge");
        }
        if reading.gauge.is_none() && reading.gauge_id.is_some() {
            faults.add(format!("{place}/gauge_id"), "stands without gauge");
        }
        let follows = reading.value_mm.is_some() && awaiting_number.remove(reading.point.as_str());
        if !seen.insert(reading.point.as_str()) && !follows {
            faults.add(format!("{place}/point"), format!("{:?} was read already", reading.point));
        }
        if reading.gauge == Some(Gauge::NoGo) {
            awaiting_number.insert(reading.point.as_str());
        }
    }
    faults.into_result(())
}
