//! Span fit: as-built clears between the bearing faces against the length of the beams, before one is lifted.
//!
//! A beam takes both bearings from what its length leaves over the clear. A shared wall and the cavity are judged
//! with bearings alike at both ends, since nobody says beforehand which way a beam will be pushed. It judges lengths,
//! not the strength of a bearing.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{
    Finding, MAX_NAME, MAX_POINTS, deciding, refuse_negative, refuse_nothing, refuse_too_many, refuse_twins,
};
use crate::conformity::{Limits, Verdict};
use crate::faults::Faults;
use crate::quantity::Mm;
use crate::working::{ARITHMETIC, COMMON_PRACTICE, FLOOR_DESIGN, Working, mm, of_many};

#[cfg(test)]
mod tests;

/// As-built clears of beams of one length.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Clear distances between the bearing faces, as built.
    #[schemars(length(max = MAX_POINTS))]
    pub clear_mm: Vec<Clear>,
    /// Length of the beams.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub beam_length_mm: Mm,
    /// Least bearing at each end.
    #[schemars(range(min = 0))]
    pub least_bearing_mm: Mm,
    /// What placing may cost of both bearings together.
    #[schemars(range(min = 0))]
    pub placing_allowance_mm: Mm,
    /// The wall on which beams of both sides end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shared_wall_mm: Option<SharedWall>,
    /// Thickness of the leaf that the beams bear on; a beam end must not pass it into the cavity.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub leaf_mm: Option<Mm>,
}

/// One clear as built.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Clear {
    /// The line on which it was measured.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub line: String,
    /// The clear.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub value_mm: Mm,
}

/// A wall that beams of both sides bear on, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SharedWall {
    /// Its thickness.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub thickness: Mm,
    /// What must stay open between the beam ends.
    #[schemars(range(min = 0))]
    pub gap: Mm,
}

/// Every line judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// In the order of the input.
    pub clear_mm: Vec<JudgedClear>,
    /// The longest clear that still leaves both bearings and the allowance.
    pub longest_clear_mm: Mm,
    /// Any nonconforming, else any undetermined or no line at all, else conforming.
    pub verdict: Verdict,
    /// The shared wall and the cavity.
    pub findings: Vec<Finding>,
    /// The sums.
    pub working: Working,
}

/// One line judged.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct JudgedClear {
    /// The line.
    pub line: String,
    /// Beam length less clear.
    pub sum_of_bearings_mm: Mm,
    /// Whether both bearings and the allowance fit.
    pub verdict: Verdict,
    /// The longest clear that still would.
    pub longest_clear_mm: Mm,
}

/// Judges as-built clears against the beams.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    check(input)?;
    let (beam, least, placing) =
        (input.beam_length_mm.0, input.least_bearing_mm.0, input.placing_allowance_mm.0);
    let mut working = Working::new();
    let needed = least * 2 + placing;
    working.mm(
        "both bearings and placing allowance",
        format!("2 * {} + {}", mm(least), mm(placing)),
        needed,
        FLOOR_DESIGN,
    );
    let longest = beam - needed;
    working.mm("longest clear", format!("{} - {}", mm(beam), mm(needed)), longest, FLOOR_DESIGN);
    let limits = Limits::at_least(needed);
    let mut lines = Vec::new();
    for clear in &input.clear_mm {
        let sum = beam - clear.value_mm.0;
        working.mm(
            format!("{}: bearings together", clear.line),
            format!("{} - {}", mm(beam), mm(clear.value_mm.0)),
            sum,
            ARITHMETIC,
        );
        lines.push(JudgedClear {
            line: clear.line.clone(),
            sum_of_bearings_mm: Mm(sum),
            verdict: Verdict::of(limits.hold(sum)),
            longest_clear_mm: Mm(longest),
        });
    }
    let findings = judge_ends(input, &lines, &mut working);
    if let Some(least) = lines.iter().map(|line| line.sum_of_bearings_mm.0).min() {
        let terms: Vec<String> = lines.iter().map(|line| mm(line.sum_of_bearings_mm.0)).collect();
        working.mm(
            "least bearings together, less what is needed (accepted from 0)",
            format!("{} - {}", of_many("min", &terms), mm(needed)),
            least - needed,
            FLOOR_DESIGN,
        );
    }
    let verdict = if lines.is_empty() {
        Verdict::Undetermined
    } else {
        Verdict::overall(lines.iter().map(|line| line.verdict).chain(deciding(&findings)))
    };
    Ok(Output { clear_mm: lines, longest_clear_mm: Mm(longest), verdict, findings, working })
}

/// Where the beam ends lie, on the line with the longest bearings.
fn judge_ends(input: &Input, lines: &[JudgedClear], working: &mut Working) -> Vec<Finding> {
    let mut findings = Vec::new();
    let longest = lines.iter().rev().max_by_key(|line| line.sum_of_bearings_mm);
    let Some(JudgedClear { line, sum_of_bearings_mm: Mm(sum), .. }) = longest else {
        return findings;
    };
    let sum = *sum;
    if let Some(wall) = input.shared_wall_mm {
        let takes = sum + wall.gap.0;
        working.mm(
            format!("{line}: both bearings and gap on the shared wall"),
            format!("{} + {}", mm(sum), mm(wall.gap.0)),
            takes,
            COMMON_PRACTICE,
        );
        let fits = Limits::at_most(wall.thickness.0).hold(takes);
        let mut reason = format!(
            "{line}: beams of both sides, half of {} mm bearing each, and a gap of {} mm take {} mm of {} mm",
            sum.to_mm_text(),
            wall.gap.0.to_mm_text(),
            takes.to_mm_text(),
            wall.thickness.0.to_mm_text()
        );
        if !fits {
            reason.push_str(": the designer says whether the beams may be pushed the other way");
        }
        findings.push(Finding::new(
            "both bearings and the gap fit the shared wall",
            Verdict::of(fits),
            reason,
            FLOOR_DESIGN,
        ));
        let least = input.least_bearing_mm.0 * 2 + wall.gap.0;
        findings.push(Finding::new(
            "the shared wall is thick enough for two least bearings and the gap",
            Verdict::of(Limits::at_most(wall.thickness.0).hold(least)),
            format!(
                "2 × {} mm and {} mm take {} mm of {} mm",
                input.least_bearing_mm.0.to_mm_text(),
                wall.gap.0.to_mm_text(),
                least.to_mm_text(),
                wall.thickness.0.to_mm_text()
            ),
            FLOOR_DESIGN,
        ));
    }
    if let Some(Mm(leaf)) = input.leaf_mm {
        // Compared doubled, so that half a micrometre decides nothing.
        let fits = Limits::at_most(leaf * 2).hold(sum);
        working.mm(
            format!("{line}: leaf left past the beam ends, both together"),
            format!("2 * {} - {}", mm(leaf), mm(sum)),
            leaf * 2 - sum,
            COMMON_PRACTICE,
        );
        findings.push(Finding::new(
            "no beam end passes the leaf into the cavity",
            Verdict::of(fits),
            format!(
                "{line}: bearings of {} mm together, alike at both ends, on leaves of {} mm",
                sum.to_mm_text(),
                leaf.to_mm_text()
            ),
            COMMON_PRACTICE,
        ));
    }
    findings
}

fn check(input: &Input) -> Result<(), Faults> {
    let mut faults = Faults::new();
    refuse_too_many("/clear_mm", input.clear_mm.len(), MAX_POINTS, &mut faults);
    refuse_twins("/clear_mm", "line", input.clear_mm.iter().map(|clear| clear.line.as_str()), &mut faults);
    for (index, clear) in input.clear_mm.iter().enumerate() {
        refuse_nothing(&format!("/clear_mm/{index}/value_mm"), clear.value_mm.0, &mut faults);
    }
    refuse_nothing("/beam_length_mm", input.beam_length_mm.0, &mut faults);
    refuse_negative("/least_bearing_mm", input.least_bearing_mm.0, &mut faults);
    refuse_negative("/placing_allowance_mm", input.placing_allowance_mm.0, &mut faults);
    if let Some(wall) = input.shared_wall_mm {
        refuse_nothing("/shared_wall_mm/thickness", wall.thickness.0, &mut faults);
        refuse_negative("/shared_wall_mm/gap", wall.gap.0, &mut faults);
    }
    if let Some(leaf) = input.leaf_mm {
        refuse_nothing("/leaf_mm", leaf.0, &mut faults);
    }
    faults.into_result(())
}
