//! Flatness: gaps under a straightedge, level and fall of lines read on the finished floor.
//!
//! The class comes with the input; standards differ, so none is shipped. Whole micrometres throughout: a gap on its
//! limit conforms.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Finding, MAX_NAME, MAX_POINTS, deciding, refuse_negative, refuse_too_many, refuse_twins};
use crate::conformity::{Limits, Verdict};
use crate::faults::Faults;
use crate::quantity::{Length, Metres, Mm};
use crate::working::{ARITHMETIC, COMMON_PRACTICE, FLOOR_DESIGN, Working, m, mm, of_many};

mod straightedge;
#[cfg(test)]
mod tests;

/// The most lines.
const MAX_LINES: usize = 500;
/// Fewer readings than this show no gap.
const LEAST_READINGS: usize = 3;

/// Lines of levels and what they are held against.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Lines on the floor.
    #[schemars(length(max = MAX_LINES))]
    pub lines: Vec<Line>,
    /// Length of the straightedge.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub straightedge_mm: Mm,
    /// What the design asks for.
    pub class: Class,
    /// How far a line may be out of level from its highest to its lowest reading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub out_of_level: Option<OutOfLevel>,
    /// The level of the finished floor.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target_m: Option<Metres>,
    /// How far a reading may stand above or below it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0))]
    pub level_tolerance_mm: Option<Mm>,
}

/// One line of readings.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// Its name, once in a sheet.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub line: String,
    /// Its readings in any order, one at a place.
    #[schemars(length(max = MAX_POINTS))]
    pub readings: Vec<Reading>,
}

/// One reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// Its place along the line.
    pub along_mm: Mm,
    /// Its level.
    pub level_m: Metres,
}

/// A class of flatness.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Class {
    /// What the design calls it.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub name: String,
    /// How the straightedge is laid.
    pub kind: Kind,
    /// The greatest gap, or the height of the blocks.
    #[schemars(range(min = 0))]
    pub gap_mm: Mm,
}

/// How the straightedge is laid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// It rests on the high points; gaps below it count.
    Gap,
    /// It stands on blocks of the gap's height at its ends; the floor may lie the gap above or below the line between
    /// them.
    EqualOffsets,
}

/// How far a line may be out of level.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OutOfLevel {
    /// For each metre of the line.
    #[schemars(range(min = 0))]
    pub per_m_mm: Mm,
    /// And never more than this.
    #[schemars(range(min = 0))]
    pub overall_mm: Mm,
}

/// Every line judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// In the order of the input.
    pub lines: Vec<JudgedLine>,
    /// Any nonconforming, else any undetermined or no lines, else conforming.
    pub verdict: Verdict,
    /// What else there is to say.
    pub findings: Vec<Finding>,
    /// The sums.
    pub working: Working,
}

/// One line judged.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct JudgedLine {
    /// Its name.
    pub line: String,
    /// The largest gap, or with equal offsets the largest distance from the line between the ends; null without
    /// readings.
    pub largest_gap_mm: Option<Mm>,
    /// Where along the line.
    pub at_mm: Option<Mm>,
    /// From where to where the straightedge lies there.
    pub straightedge_mm: Option<[Mm; 2]>,
    /// What it rests on there.
    pub contacts_mm: Option<[Mm; 2]>,
    /// The line is shorter than the straightedge and was taken whole.
    pub shorter_than_straightedge: bool,
    /// Distance of the reading furthest from the target; null without a target.
    pub largest_level_deviation_mm: Option<Mm>,
    /// Where along the line.
    pub level_at_mm: Option<Mm>,
    /// Highest less lowest reading; null without a limit for it.
    pub out_of_level_mm: Option<Mm>,
    /// What that may be on a line of this length.
    pub out_of_level_allowed_mm: Option<Mm>,
    /// All of it.
    pub verdict: Verdict,
}

/// Judges lines on the finished floor.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    check(input)?;
    let mut sheet = Sheet { input, working: Working::new(), findings: Vec::new(), margins: Vec::new() };
    let gap = input.class.gap_mm.0;
    sheet.working.mm(format!("{}: gap allowed", input.class.name), mm(gap), gap, FLOOR_DESIGN);
    let lines: Vec<JudgedLine> = input.lines.iter().map(|line| sheet.judge_line(line)).collect();
    if let Some(least) = sheet.margins.iter().map(|(_, margin)| *margin).min() {
        let terms: Vec<String> = sheet.margins.iter().map(|(formula, _)| formula.clone()).collect();
        let step = "smallest distance inside the limits (accepted from 0)";
        sheet.working.mm(step, of_many("min", &terms), least, FLOOR_DESIGN);
    }
    let verdict = Verdict::overall(lines.iter().map(|line| line.verdict));
    Ok(Output { lines, verdict, findings: sheet.findings, working: sheet.working })
}

/// What is gathered from line to line.
struct Sheet<'i> {
    input: &'i Input,
    working: Working,
    findings: Vec<Finding>,
    margins: Vec<(String, Length)>,
}

impl Sheet<'_> {
    fn judge_line(&mut self, line: &Line) -> JudgedLine {
        let mut readings = line.readings.clone();
        readings.sort_by_key(|reading| reading.along_mm);
        let mut judged = JudgedLine {
            line: line.line.clone(),
            largest_gap_mm: None,
            at_mm: None,
            straightedge_mm: None,
            contacts_mm: None,
            shorter_than_straightedge: false,
            largest_level_deviation_mm: None,
            level_at_mm: None,
            out_of_level_mm: None,
            out_of_level_allowed_mm: None,
            verdict: Verdict::Undetermined,
        };
        let mut of_line = Vec::new();
        self.judge_gap(&readings, &mut judged, &mut of_line);
        self.judge_level(&readings, &mut judged, &mut of_line);
        self.judge_fall(&readings, &mut judged, &mut of_line);
        judged.verdict = Verdict::overall(deciding(&of_line));
        self.findings.extend(of_line);
        judged
    }

    fn judge_gap(&mut self, readings: &[Reading], judged: &mut JudgedLine, findings: &mut Vec<Finding>) {
        let (input, name) = (self.input, judged.line.clone());
        let (Some(first), Some(last)) = (readings.first(), readings.last()) else {
            findings.push(too_few(&name, 0));
            return;
        };
        judged.shorter_than_straightedge = last.along_mm.0 - first.along_mm.0 < input.straightedge_mm.0;
        if readings.len() < LEAST_READINGS {
            findings.push(too_few(&name, readings.len()));
            return;
        }
        if judged.shorter_than_straightedge {
            findings.push(Finding::caution(
                "the straightedge fits on the line",
                format!(
                    "{name}: shorter than {} mm, so it is taken whole",
                    input.straightedge_mm.0.to_mm_text()
                ),
                COMMON_PRACTICE,
            ));
        }
        let Some(worst) = straightedge::worst(readings, input.straightedge_mm.0, input.class.kind) else {
            return;
        };
        let what = match input.class.kind {
            Kind::Gap => "largest gap under the straightedge",
            Kind::EqualOffsets => "largest distance from the line between the straightedge's ends",
        };
        self.working.mm(format!("{name}: {what}"), worst.formula(input.class.kind), worst.gap, ARITHMETIC);
        judged.largest_gap_mm = Some(Mm(worst.gap));
        judged.at_mm = Some(Mm(worst.at.along));
        judged.straightedge_mm = Some([Mm(worst.window.0), Mm(worst.window.1)]);
        judged.contacts_mm = Some([Mm(worst.contacts.0.along), Mm(worst.contacts.1.along)]);
        let rule = format!("{}: {} mm", input.class.name, input.class.gap_mm.0.to_mm_text());
        self.at_most(&rule, &name, what, worst.gap, input.class.gap_mm.0, findings);
    }

    fn judge_level(&mut self, readings: &[Reading], judged: &mut JudgedLine, findings: &mut Vec<Finding>) {
        let Some(Metres(target)) = self.input.target_m else {
            return;
        };
        let away = |reading: &Reading| (reading.level_m.0 - target).abs();
        // The first of equals, as everywhere.
        let Some(worst) = readings.iter().rev().max_by_key(|reading| away(reading)) else {
            return;
        };
        let deviation = away(worst);
        let terms: Vec<String> =
            readings.iter().map(|reading| format!("abs({} - {})", m(reading.level_m.0), m(target))).collect();
        let what = "largest distance from the target level";
        let formula = format!("{} * 1000", of_many("max", &terms));
        self.working.mm(format!("{}: {what}", judged.line), formula, deviation, ARITHMETIC);
        judged.largest_level_deviation_mm = Some(Mm(deviation));
        judged.level_at_mm = Some(worst.along_mm);
        if let Some(Mm(tolerance)) = self.input.level_tolerance_mm {
            let rule = level_rule(tolerance);
            self.at_most(&rule, &judged.line, what, deviation, tolerance, findings);
        }
    }

    fn judge_fall(&mut self, readings: &[Reading], judged: &mut JudgedLine, findings: &mut Vec<Finding>) {
        let (Some(limit), Some(first), Some(last)) =
            (self.input.out_of_level, readings.first(), readings.last())
        else {
            return;
        };
        let length = last.along_mm.0 - first.along_mm.0;
        let by_length = limit.per_m_mm.0.share(length.um(), 1_000_000);
        let allowed = by_length.min(limit.overall_mm.0);
        let name = judged.line.clone();
        self.working.mm(
            format!("{name}: out of level allowed on its length"),
            format!(
                "min(round({} * {}) / 1000, {})",
                mm(limit.per_m_mm.0),
                mm(length),
                mm(limit.overall_mm.0)
            ),
            allowed,
            FLOOR_DESIGN,
        );
        let levels = || readings.iter().map(|reading| reading.level_m.0);
        let fall = levels().max().unwrap_or_default() - levels().min().unwrap_or_default();
        let terms: Vec<String> = levels().map(m).collect();
        let formula = format!("({} - {}) * 1000", of_many("max", &terms), of_many("min", &terms));
        let what = "highest less lowest reading";
        self.working.mm(format!("{name}: {what}"), formula, fall, ARITHMETIC);
        judged.out_of_level_mm = Some(Mm(fall));
        judged.out_of_level_allowed_mm = Some(Mm(allowed));
        self.at_most("out of level", &name, what, fall, allowed, findings);
    }

    fn at_most(
        &mut self,
        rule: &str,
        line: &str,
        what: &str,
        found: Length,
        most: Length,
        findings: &mut Vec<Finding>,
    ) {
        findings.push(Finding::new(
            rule,
            Verdict::of(Limits::at_most(most).hold(found)),
            format!("{line}: {what} {} mm, at most {} mm", found.to_mm_text(), most.to_mm_text()),
            FLOOR_DESIGN,
        ));
        self.margins.push((format!("{} - {}", mm(most), mm(found)), most - found));
    }
}

/// The rule that a reading's level is judged by, as findings name it.
pub fn level_rule(tolerance: Length) -> String {
    format!("level within {} mm", tolerance.to_mm_text())
}

fn too_few(line: &str, count: usize) -> Finding {
    Finding::new(
        "a line shows its gaps",
        Verdict::Undetermined,
        format!("{line}: {count} readings show no gap; it takes at least {LEAST_READINGS}"),
        COMMON_PRACTICE,
    )
}

fn check(input: &Input) -> Result<(), Faults> {
    let mut faults = Faults::new();
    refuse_too_many("/lines", input.lines.len(), MAX_LINES, &mut faults);
    refuse_twins("/lines", "line", input.lines.iter().map(|line| line.line.as_str()), &mut faults);
    let readings: usize = input.lines.iter().map(|line| line.readings.len()).sum();
    if readings > MAX_POINTS {
        faults.add("/lines", format!("must have at most {MAX_POINTS} readings in all"));
    }
    for (index, line) in input.lines.iter().enumerate() {
        let mut seen = std::collections::HashMap::new();
        for (number, reading) in line.readings.iter().enumerate() {
            if let Some(earlier) = seen.insert(reading.along_mm, number) {
                faults.add(
                    format!("/lines/{index}/readings/{number}/along_mm"),
                    format!("was read already at /lines/{index}/readings/{earlier}"),
                );
            }
        }
    }
    if input.straightedge_mm.0 <= Length::ZERO {
        faults.add("/straightedge_mm", "must be more than 0");
    }
    refuse_negative("/class/gap_mm", input.class.gap_mm.0, &mut faults);
    if let Some(limit) = input.out_of_level {
        refuse_negative("/out_of_level/per_m_mm", limit.per_m_mm.0, &mut faults);
        refuse_negative("/out_of_level/overall_mm", limit.overall_mm.0, &mut faults);
    }
    if let Some(tolerance) = input.level_tolerance_mm {
        refuse_negative("/level_tolerance_mm", tolerance.0, &mut faults);
        if input.target_m.is_none() {
            faults.add("/target_m", "is missing: level_tolerance_mm needs it");
        }
    }
    faults.into_result(())
}
