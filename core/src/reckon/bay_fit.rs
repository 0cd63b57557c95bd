//! Bay fit: the setting-out of one bay run across the span direction, as drawn and as measured.
//!
//! Beams before the make-up gap count from the start, those after it back from the as-built end, so that the make-up
//! takes up the whole difference in width. It judges places and gaps; whether another arrangement may be built is
//! for the designer. `index` counts from 0 like the lists; words number beams and gaps from 1, as on site.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Finding, deciding, refuse_negative, refuse_nothing, refuse_too_many};
use crate::conformity::{Limits, Verdict};
use crate::faults::Faults;
use crate::quantity::{Length, Mm};
use crate::working::{ARITHMETIC, COMMON_PRACTICE, FLOOR_DESIGN, Working, mm, of_many};

mod arrange;
mod measured;
#[cfg(test)]
mod tests;

pub use arrange::Arrangement;

/// The most beams, infills and make-ups in one run.
pub const MAX_SEQUENCE: usize = 1_000;

/// One bay run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Clear width of the design between the inner faces of the walls parallel to the beams.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub design_clear_width_mm: Mm,
    /// The same as built.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub clear_width_mm: Mm,
    /// From the start reference face to the first beam.
    #[schemars(range(min = 0))]
    pub edge_start_mm: Mm,
    /// From the last beam to the end reference face.
    #[schemars(range(min = 0))]
    pub edge_end_mm: Mm,
    /// Width of a beam at the height where it is measured.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub beam_width_mm: Mm,
    /// Widths of the infill between beams.
    pub infill_widths_mm: InfillWidths,
    /// Beams and what lies between them, from the start; beams next to each other stand together.
    #[schemars(length(min = 1, max = MAX_SEQUENCE))]
    pub sequence: Vec<Word>,
    /// For each beam its face nearer the start, from the start reference; null where it was not measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(max = MAX_SEQUENCE), inner(range(min = 0)))]
    pub measured_mm: Option<Vec<Option<Mm>>>,
    /// How far a beam may stand from its place, and a gap differ from its infill.
    #[schemars(range(min = 0))]
    pub spacing_tolerance_mm: Mm,
    /// The smallest make-up gap that can be filled.
    #[schemars(range(min = 0))]
    pub smallest_make_up_mm: Mm,
}

/// Widths of the two infills, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct InfillWidths {
    /// The wide infill.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub wide: Mm,
    /// The narrow infill.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub narrow: Mm,
}

/// What is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Word {
    Beam,
    Wide,
    Narrow,
    MakeUp,
}

/// What lies between two beams.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(inline)]
pub enum Gap {
    /// Nothing: the beams stand together.
    Multiple,
    /// A narrow infill.
    Narrow,
    /// A wide infill.
    Wide,
    /// Sheet cut to what is left.
    MakeUp,
    /// Nothing that is drawn anywhere; only ever read.
    Neither,
}

impl Gap {
    /// The gap in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Multiple => "no infill (beams together)",
            Self::Narrow => "narrow infill",
            Self::Wide => "wide infill",
            Self::MakeUp => "make-up",
            Self::Neither => "neither infill nor make-up",
        }
    }
}

/// The run judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// What the design leaves for the make-up; null where none is drawn.
    pub design_make_up_mm: Option<Mm>,
    /// What the width as built leaves for it.
    pub as_built_make_up_mm: Option<Mm>,
    /// Beams from the start.
    pub beams: Vec<JudgedBeam>,
    /// Splits of as many infills into wide and narrow that fit the width as built, the drawn one first where it does.
    pub arrangements: Vec<Arrangement>,
    /// Beams, by index, whose measurement would settle the run soonest.
    pub needs: Vec<u32>,
    /// The make-up or the fit; with measurements also every beam, undetermined while some are needed.
    pub verdict: Verdict,
    /// What was looked at, and where a fault starts.
    pub findings: Vec<Finding>,
    /// The sums.
    pub working: Working,
}

/// One beam judged.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct JudgedBeam {
    /// Its place in `measured_mm`, from 0.
    pub index: u32,
    /// Where its face nearer the start belongs.
    pub set_out_mm: Mm,
    /// Where it was measured.
    pub measured_mm: Option<Mm>,
    /// Measured less set out.
    pub deviation_mm: Option<Mm>,
    /// Clear gap to the next beam, where both were measured.
    pub clear_to_next_mm: Option<Mm>,
    /// What that gap is nearest to.
    pub reads_as: Option<Gap>,
    /// What is drawn there; null after the last beam.
    pub drawn_as: Option<Gap>,
    /// Place within the tolerance and gap as drawn; undetermined where it was not measured.
    pub verdict: Verdict,
}

/// The run as drawn.
struct Run<'i> {
    input: &'i Input,
    /// What lies after each beam but the last.
    gaps: Vec<Gap>,
    wide: i64,
    narrow: i64,
    /// The gap that is the make-up.
    make_up: Option<usize>,
}

impl<'i> Run<'i> {
    fn new(input: &'i Input) -> Self {
        let mut gaps = Vec::new();
        for pair in input.sequence.windows(2) {
            match pair {
                [Word::Beam, Word::Beam] => gaps.push(Gap::Multiple),
                [Word::Wide, _] => gaps.push(Gap::Wide),
                [Word::Narrow, _] => gaps.push(Gap::Narrow),
                [Word::MakeUp, _] => gaps.push(Gap::MakeUp),
                _ => {}
            }
        }
        let count = |kind: Gap| i64::try_from(gaps.iter().filter(|gap| **gap == kind).count()).unwrap_or(0);
        let (wide, narrow) = (count(Gap::Wide), count(Gap::Narrow));
        let make_up = gaps.iter().position(|gap| *gap == Gap::MakeUp);
        Self { input, gaps, wide, narrow, make_up }
    }

    fn beams(&self) -> i64 {
        i64::try_from(self.gaps.len()).unwrap_or(0) + 1
    }

    /// What edges, beams and so many infills leave of a width.
    fn left(&self, width: Length, wide: i64, narrow: i64) -> Length {
        let input = self.input;
        width
            - input.edge_start_mm.0
            - input.edge_end_mm.0
            - input.beam_width_mm.0 * self.beams()
            - input.infill_widths_mm.wide.0 * wide
            - input.infill_widths_mm.narrow.0 * narrow
    }

    fn left_formula(&self, width: Length) -> String {
        let input = self.input;
        format!(
            "{} - {} - {} - {} * {} - {} * {} - {} * {}",
            mm(width),
            mm(input.edge_start_mm.0),
            mm(input.edge_end_mm.0),
            self.beams(),
            mm(input.beam_width_mm.0),
            self.wide,
            mm(input.infill_widths_mm.wide.0),
            self.narrow,
            mm(input.infill_widths_mm.narrow.0),
        )
    }

    /// A make-up is at least the smallest and narrower than the narrow infill: only such a gap may take cut sheet.
    fn is_make_up(&self, gap: Length) -> bool {
        self.input.smallest_make_up_mm.0 <= gap && gap < self.input.infill_widths_mm.narrow.0
    }

    /// Without a make-up the run must fill its width within the tolerance.
    fn fits(&self, left: Length) -> bool {
        let tolerance = self.input.spacing_tolerance_mm.0;
        Limits::between(-tolerance, tolerance).hold(left)
    }

    /// Width of a gap with infill, 0 between beams that stand together; `None` for the make-up.
    fn infill(&self, gap: Gap) -> Option<Length> {
        match gap {
            Gap::Multiple => Some(Length::ZERO),
            Gap::Narrow => Some(self.input.infill_widths_mm.narrow.0),
            Gap::Wide => Some(self.input.infill_widths_mm.wide.0),
            Gap::MakeUp | Gap::Neither => None,
        }
    }
}

/// Judges the setting-out of one bay run.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    check(input)?;
    let run = Run::new(input);
    let mut working = Working::new();
    let mut findings = Vec::new();
    let design_left = run.left(input.design_clear_width_mm.0, run.wide, run.narrow);
    working.mm(
        if run.make_up.is_some() { "make-up of the design" } else { "left over in the design" },
        run.left_formula(input.design_clear_width_mm.0),
        design_left,
        FLOOR_DESIGN,
    );
    judge_design(&run, design_left, &mut findings);
    let set_out = set_out(&run, &mut working);
    let measured = measured::judge(&run, &set_out, &mut working);
    findings.extend(measured.findings);
    let as_built_left = run.left(input.clear_width_mm.0, run.wide, run.narrow);
    judge_as_built(&run, as_built_left, &mut findings, &mut working);

    let mut verdicts: Vec<Verdict> = deciding(&findings).collect();
    if input.measured_mm.is_some() {
        verdicts
            .extend(measured.beams.iter().filter(|beam| beam.measured_mm.is_some()).map(|beam| beam.verdict));
        if !measured.needs.is_empty() {
            verdicts.push(Verdict::Undetermined);
        }
    }
    Ok(Output {
        design_make_up_mm: run.make_up.map(|_| Mm(design_left)),
        as_built_make_up_mm: run.make_up.map(|_| Mm(as_built_left)),
        beams: measured.beams,
        arrangements: arrange::arrangements(&run),
        needs: measured.needs,
        verdict: Verdict::overall(verdicts),
        findings,
        working,
    })
}

/// A design that does not fill its own width is pointed out; what counts is the width as built.
fn judge_design(run: &Run<'_>, left: Length, findings: &mut Vec<Finding>) {
    let sound = if run.make_up.is_some() { run.is_make_up(left) } else { run.fits(left) };
    if !sound {
        findings.push(Finding::caution(
            "the drawn sequence fills the width of the design",
            format!("{} mm are left over in the design: ask the designer", left.to_mm_text()),
            FLOOR_DESIGN,
        ));
    }
}

fn judge_as_built(run: &Run<'_>, left: Length, findings: &mut Vec<Finding>, working: &mut Working) {
    let input = run.input;
    let formula = run.left_formula(input.clear_width_mm.0);
    if run.make_up.is_some() {
        let (least, below) = (input.smallest_make_up_mm.0, input.infill_widths_mm.narrow.0);
        working.mm("make-up as built", formula, left, FLOOR_DESIGN);
        working.mm(
            "make-up inside its range (from 0 at the smallest, above 0 towards the narrow infill)",
            format!("min({} - {}, {} - {})", mm(left), mm(least), mm(below), mm(left)),
            (left - least).min(below - left),
            FLOOR_DESIGN,
        );
        findings.push(Finding::new(
            "the make-up is at least the smallest and narrower than the narrow infill",
            Verdict::of(run.is_make_up(left)),
            format!(
                "{} mm as built, from {} mm to less than {} mm; only such a gap may be filled with cut sheet",
                left.to_mm_text(),
                least.to_mm_text(),
                below.to_mm_text()
            ),
            FLOOR_DESIGN,
        ));
    } else {
        let tolerance = input.spacing_tolerance_mm.0;
        working.mm("left over as built", formula, left, FLOOR_DESIGN);
        working.mm(
            "inside the tolerance by",
            format!("{} - abs({})", mm(tolerance), mm(left)),
            tolerance - left.abs(),
            FLOOR_DESIGN,
        );
        findings.push(Finding::new(
            "a run without make-up fills its width",
            Verdict::of(run.fits(left)),
            format!("{} mm left over, tolerance {} mm", left.to_mm_text(), tolerance.to_mm_text()),
            FLOOR_DESIGN,
        ));
    }
}

/// Where the face of each beam nearer the start belongs.
fn set_out(run: &Run<'_>, working: &mut Working) -> Vec<Length> {
    let input = run.input;
    let width = input.beam_width_mm.0;
    let beams = run.gaps.len() + 1;
    let mut places = vec![Length::ZERO; beams];
    let before = run.make_up.map_or(beams, |gap| gap + 1);
    let mut place = input.edge_start_mm.0;
    let mut formula = mm(place);
    for (index, at) in places.iter_mut().enumerate().take(before) {
        *at = place;
        working.mm(format!("beam {}: set out", index + 1), &formula, place, FLOOR_DESIGN);
        if let Some(infill) = run.gaps.get(index).and_then(|gap| run.infill(*gap)) {
            formula = format!("{} + {} + {}", mm(place), mm(width), mm(infill));
            place = place + width + infill;
        }
    }
    let end = input.clear_width_mm.0;
    let mut place = end - input.edge_end_mm.0 - width;
    let mut formula = format!("{} - {} - {}", mm(end), mm(input.edge_end_mm.0), mm(width));
    for index in (before..beams).rev() {
        places[index] = place;
        working.mm(format!("beam {}: set out from the end", index + 1), &formula, place, FLOOR_DESIGN);
        if let Some(infill) = run.infill(run.gaps[index - 1]) {
            formula = format!("{} - {} - {}", mm(place), mm(infill), mm(width));
            place = place - infill - width;
        }
    }
    places
}

fn check(input: &Input) -> Result<(), Faults> {
    let mut faults = Faults::new();
    for (place, width) in [
        ("/design_clear_width_mm", input.design_clear_width_mm),
        ("/clear_width_mm", input.clear_width_mm),
        ("/beam_width_mm", input.beam_width_mm),
        ("/infill_widths_mm/wide", input.infill_widths_mm.wide),
        ("/infill_widths_mm/narrow", input.infill_widths_mm.narrow),
    ] {
        refuse_nothing(place, width.0, &mut faults);
    }
    for (place, length) in [
        ("/edge_start_mm", input.edge_start_mm),
        ("/edge_end_mm", input.edge_end_mm),
        ("/spacing_tolerance_mm", input.spacing_tolerance_mm),
        ("/smallest_make_up_mm", input.smallest_make_up_mm),
    ] {
        refuse_negative(place, length.0, &mut faults);
    }
    if input.infill_widths_mm.wide <= input.infill_widths_mm.narrow {
        faults.add("/infill_widths_mm/narrow", "must be less than wide");
    }
    if input.infill_widths_mm.narrow <= input.smallest_make_up_mm {
        faults.add(
            "/smallest_make_up_mm",
            "must be less than the narrow infill: only such a gap takes cut sheet",
        );
    }
    refuse_too_many("/sequence", input.sequence.len(), MAX_SEQUENCE, &mut faults);
    let sound = check_sequence(&input.sequence, "/sequence", &mut faults);
    if let Some(measured) = &input.measured_mm {
        let beams = input.sequence.iter().filter(|word| **word == Word::Beam).count();
        if measured.len() != beams {
            faults.add(
                "/measured_mm",
                format!("must have one item for each of the {beams} beams, null where none was measured"),
            );
        }
        for (index, place) in measured.iter().enumerate() {
            if let Some(Mm(place)) = place {
                refuse_negative(&format!("/measured_mm/{index}"), *place, &mut faults);
            }
        }
    }
    if sound && faults.is_empty() {
        let run = Run::new(input);
        let left = run.left(input.design_clear_width_mm.0, run.wide, run.narrow);
        if left < Length::ZERO && !run.fits(left) {
            faults.add(
                "/design_clear_width_mm",
                format!("is {} mm less than the drawn sequence takes", (-left).to_mm_text()),
            );
        } else if run.make_up.is_some() && input.infill_widths_mm.narrow.0 <= left {
            faults.add(
                "/design_clear_width_mm",
                format!(
                    "leaves a make-up of {} mm, which is not narrower than the narrow infill of {} mm",
                    left.to_mm_text(),
                    input.infill_widths_mm.narrow.0.to_mm_text()
                ),
            );
        }
    }
    faults.into_result(())
}

/// A sequence starts and ends with a beam, has one infill between two beams at most, and one make-up at most.
pub(crate) fn check_sequence(sequence: &[Word], place: &str, faults: &mut Faults) -> bool {
    let before = faults.0.len();
    let last = sequence.len().saturating_sub(1);
    if sequence.is_empty() {
        faults.add(place, "must start and end with beam");
    }
    let mut make_up = None;
    for (index, word) in sequence.iter().enumerate() {
        let at = format!("{place}/{index}");
        if *word == Word::Beam {
            continue;
        }
        if index == 0 || index == last {
            faults.add(
                at,
                if index == 0 {
                    "must be beam: a run starts with one"
                } else {
                    "must be beam: a run ends with one"
                },
            );
            continue;
        }
        if sequence[index - 1] != Word::Beam {
            faults.add(&at, "must be beam: infill lies between two beams");
        }
        if *word == Word::MakeUp {
            if let Some(first) = make_up {
                faults.add(at, format!("is a second make-up: the first is {place}/{first}"));
            } else {
                make_up = Some(index);
            }
        }
    }
    faults.0.len() == before
}
