//! Infill cuts: the pieces of every run of infill, and the cut list that takes the fewest stock pieces.
//!
//! The rule for the end of a run is the project's: no piece shorter than the least, the last whole piece shortened
//! where the remainder would be. Offcuts are used again across all runs of one input, so a whole delivery goes in at
//! once. `stock` says how the cut list is found and how its bound is shown.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Finding, MAX_NAME, MAX_POINTS, refuse_negative, refuse_nothing, refuse_too_many};
use crate::conformity::Verdict;
use crate::faults::Faults;
use crate::quantity::{Length, Mm};
use crate::working::{ARITHMETIC, FLOOR_DESIGN, Working, mm};

mod bounds;
mod confined;
mod fill;
mod first_fit;
mod relaxed;
mod search;
mod stock;
#[cfg(test)]
mod tests;

pub use stock::Effort;
use stock::{Answer, Job};

/// The most pieces in all runs together, whole ones included.
pub const MAX_PIECES: u32 = 100_000;

/// Where the method of cutting comes from.
const CUTTING_STOCK: &str =
    "cutting stock: Gilmore and Gomory (1961), bound by weights (linear programming duality)";

/// Runs of infill and the rules for cutting it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Length of a full infill piece.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub piece_mm: Mm,
    /// No piece may be shorter.
    #[schemars(range(min = 0))]
    pub least_piece_mm: Mm,
    /// What the last whole piece gives to a remainder that would be too short.
    #[schemars(range(min = 0))]
    pub shift_mm: Mm,
    /// What the saw takes at every cut.
    #[schemars(range(min = 0))]
    pub kerf_mm: Mm,
    /// Runs; all of them share stock and offcuts.
    #[schemars(length(max = MAX_POINTS))]
    pub runs: Vec<Run>,
}

/// Equal rows of infill between two faces.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Run {
    /// Its name, once for each width.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub run: String,
    /// Which infill it takes.
    pub width: Width,
    /// Clear length between the faces that stop the infill.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub clear_mm: Mm,
    /// How many such rows there are.
    #[schemars(range(min = 1, max = MAX_PIECES))]
    pub count: u32,
}

/// Which infill.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(inline)]
pub enum Width {
    Wide,
    Narrow,
}

impl Width {
    /// The word as written in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Self::Wide => "wide",
            Self::Narrow => "narrow",
        }
    }
}

/// Pieces and cut lists.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// In the order of the input.
    pub runs: Vec<JudgedRun>,
    /// The cut list of each width that a run takes, wide first.
    pub stock: Vec<Stock>,
    /// Any run nonconforming, else conforming; undetermined without a run.
    pub verdict: Verdict,
    /// What else there is to say.
    pub findings: Vec<Finding>,
    /// The sums.
    pub working: Working,
}

/// The pieces of one run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct JudgedRun {
    /// Its name.
    pub run: String,
    /// Its infill.
    pub width: Width,
    /// Its clear length.
    pub clear_mm: Mm,
    /// How many such rows there are.
    pub count: u32,
    /// Pieces of one row in the order of laying; together they are the clear length.
    pub pieces_mm: Vec<Mm>,
    /// Whether every piece is long enough.
    pub verdict: Verdict,
    /// Why not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
}

/// What is cut from the stock of one width.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Stock {
    /// Which infill.
    pub width: Width,
    /// Stock pieces of the cut list, those laid whole included.
    pub stock_pieces: u32,
    /// No cut list takes fewer.
    pub lower_bound: u32,
    /// Whether `stock_pieces` is the least number.
    pub proven_least: bool,
    /// What to cut, the longest pieces first.
    pub cut_list: Vec<Cut>,
    /// Stock less pieces: offcuts and kerf.
    pub waste_mm: Mm,
    /// The same in per cent of the stock.
    pub waste_percent: f64,
}

/// One way of cutting a stock piece.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Cut {
    /// Pieces from one stock piece, the longest first.
    pub cuts_mm: Vec<Mm>,
    /// What is left of it.
    pub offcut_mm: Mm,
    /// How many stock pieces are cut so.
    pub times: u32,
}

/// Pieces of all runs and the cut list, within the standard effort.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    reckon_within(input, &Effort::default())
}

/// The same within an effort of the caller's, who may also stop it.
pub fn reckon_within(input: &Input, effort: &Effort<'_>) -> Result<Output, Faults> {
    check(input)?;
    let mut working = Working::new();
    let runs: Vec<JudgedRun> = input.runs.iter().map(|run| judge_run(input, run, &mut working)).collect();
    let mut stock = Vec::new();
    let mut findings = Vec::new();
    for (width, share) in [(Width::Wide, 2), (Width::Narrow, 1)] {
        let items = items_of(&runs, width);
        if items.is_empty() {
            continue;
        }
        // Half for the first width, what is then left for the second.
        let part = effort.part(share);
        let given = part.left();
        let cut = cut_list(input, width, &items, &part, &mut working);
        effort.settle(given, &part);
        if !cut.proven_least {
            findings.push(Finding::caution(
                "fewest stock pieces",
                format!(
                    "{}: {} stock pieces found, {} may do: the search ended before it was proved",
                    width.word(),
                    cut.stock_pieces,
                    cut.lower_bound
                ),
                CUTTING_STOCK,
            ));
        }
        stock.push(cut);
    }
    let terms: Vec<String> = stock.iter().map(|cut| cut.stock_pieces.to_string()).collect();
    let all = stock.iter().map(|cut| u64::from(cut.stock_pieces)).sum();
    let formula = if terms.is_empty() { "0".to_owned() } else { terms.join(" + ") };
    working.count("stock pieces in all", formula, all, ARITHMETIC);
    let verdict = Verdict::overall(runs.iter().map(|run| run.verdict));
    Ok(Output { runs, stock, verdict, findings, working })
}

/// Whole pieces and remainder of a run.
fn whole_and_rest(input: &Input, run: &Run) -> (i64, Length) {
    let piece = input.piece_mm.0;
    let whole = run.clear_mm.0.um() / piece.um();
    (whole, run.clear_mm.0 - piece * whole)
}

fn judge_run(input: &Input, run: &Run, working: &mut Working) -> JudgedRun {
    let (piece, least, shift) = (input.piece_mm.0, input.least_piece_mm.0, input.shift_mm.0);
    let (whole, rest) = whole_and_rest(input, run);
    let name = format!("{} {}", run.run, run.width.word());
    working.mm(
        format!("{name}: remainder after {whole} whole pieces"),
        format!("{} - {whole} * {}", mm(run.clear_mm.0), mm(piece)),
        rest,
        FLOOR_DESIGN,
    );
    let mut pieces: Vec<Mm> = (0..whole).map(|_| Mm(piece)).collect();
    let mut reason = None;
    if least <= rest {
        if Length::ZERO < rest {
            pieces.push(Mm(rest));
        }
    } else if rest == Length::ZERO {
        // Whole pieces alone.
    } else if whole == 0 {
        pieces.push(Mm(rest));
        reason = Some(format!(
            "the run of {} mm is shorter than the least piece of {} mm",
            rest.to_mm_text(),
            least.to_mm_text()
        ));
    } else {
        let (shortened, lengthened) = (piece - shift, rest + shift);
        working.mm(
            format!("{name}: last whole piece shortened"),
            format!("{} - {}", mm(piece), mm(shift)),
            shortened,
            FLOOR_DESIGN,
        );
        working.mm(
            format!("{name}: remainder lengthened"),
            format!("{} + {}", mm(rest), mm(shift)),
            lengthened,
            FLOOR_DESIGN,
        );
        if least <= shortened && least <= lengthened {
            pieces.pop();
            pieces.extend([Mm(shortened), Mm(lengthened)]);
        } else {
            pieces.push(Mm(rest));
            reason = Some(format!(
                "the remainder of {} mm is shorter than the least piece of {} mm, and a shift of {} mm leaves pieces \
                 of {} and {} mm",
                rest.to_mm_text(),
                least.to_mm_text(),
                shift.to_mm_text(),
                shortened.to_mm_text(),
                lengthened.to_mm_text()
            ));
        }
    }
    JudgedRun {
        run: run.run.clone(),
        width: run.width,
        clear_mm: run.clear_mm,
        count: run.count,
        pieces_mm: pieces,
        verdict: Verdict::of(reason.is_none()),
        reason,
    }
}

/// Pieces of one width by length, the longest first.
fn items_of(runs: &[JudgedRun], width: Width) -> Vec<(Length, u32)> {
    let mut items: BTreeMap<Length, u32> = BTreeMap::new();
    for run in runs.iter().filter(|run| run.width == width) {
        for piece in &run.pieces_mm {
            *items.entry(piece.0).or_default() += run.count;
        }
    }
    items.into_iter().rev().collect()
}

fn cut_list(
    input: &Input,
    width: Width,
    items: &[(Length, u32)],
    effort: &Effort<'_>,
    working: &mut Working,
) -> Stock {
    let (piece, kerf) = (input.piece_mm.0, input.kerf_mm.0);
    let job =
        Job::new((piece + kerf).um(), items.iter().map(|(length, count)| ((*length + kerf).um(), *count)));
    let answer = stock::solve(&job, effort);
    let cut_list: Vec<Cut> = answer
        .plan
        .iter()
        .map(|(pattern, times)| {
            let cuts: Vec<Mm> = pattern
                .iter()
                .flat_map(|(kind, count)| std::iter::repeat_n(Mm(items[*kind].0), *count as usize))
                .collect();
            let used: Length = cuts.iter().map(|cut| cut.0 + kerf).sum();
            Cut { cuts_mm: cuts, offcut_mm: Mm(Length::ZERO.max(piece - used)), times: *times }
        })
        .collect();
    working_of_stock(width, &answer, &job, working);
    let total = piece * i64::from(answer.pieces);
    let used: Length = items.iter().map(|(length, count)| *length * i64::from(*count)).sum();
    let terms: Vec<String> =
        items.iter().map(|(length, count)| format!("{count} * {}", mm(*length))).collect();
    working.mm(
        format!("{}: waste", width.word()),
        format!("{} * {} - ({})", answer.pieces, mm(piece), terms.join(" + ")),
        total - used,
        ARITHMETIC,
    );
    Stock {
        width,
        stock_pieces: answer.pieces,
        lower_bound: answer.bound,
        proven_least: answer.bound == answer.pieces,
        cut_list,
        waste_mm: Mm(total - used),
        waste_percent: 100.0 * (total - used).to_mm_f64() / total.to_mm_f64(),
    }
}

/// The bound by weights, repeated by the reader; what a search added to it; the stock pieces of the cut list.
fn working_of_stock(width: Width, answer: &Answer, job: &Job, working: &mut Working) {
    let Answer { certificate, by_weights, bound, .. } = answer;
    let weighed: Vec<String> = certificate
        .worths
        .iter()
        .zip(&job.demand)
        .filter(|(worth, _)| 0 < **worth)
        .map(|(worth, count)| format!("{count} * {worth}"))
        .collect();
    working.count(
        format!(
            "{}: least stock pieces, each piece weighed (count * weight), no stock piece carrying more than {}",
            width.word(),
            certificate.most
        ),
        format!("ceil(({}) / {})", weighed.join(" + "), certificate.most),
        u64::from(*by_weights),
        CUTTING_STOCK,
    );
    if by_weights < bound {
        working.count(
            format!("{}: least stock pieces, every plan of {} tried and none found", width.word(), bound - 1),
            format!("{} + 1", bound - 1),
            u64::from(*bound),
            "exhaustive search",
        );
    }
    let times: Vec<String> = answer.plan.iter().map(|(_, times)| times.to_string()).collect();
    working.count(
        format!("{}: stock pieces of the cut list", width.word()),
        times.join(" + "),
        u64::from(answer.pieces),
        ARITHMETIC,
    );
}

fn check(input: &Input) -> Result<(), Faults> {
    let mut faults = Faults::new();
    let piece = input.piece_mm.0;
    refuse_nothing("/piece_mm", piece, &mut faults);
    refuse_negative("/least_piece_mm", input.least_piece_mm.0, &mut faults);
    if piece < input.least_piece_mm.0 {
        faults.add("/least_piece_mm", "must be at most piece_mm");
    }
    refuse_negative("/shift_mm", input.shift_mm.0, &mut faults);
    if piece <= input.shift_mm.0 {
        faults.add("/shift_mm", "must be less than piece_mm");
    }
    refuse_negative("/kerf_mm", input.kerf_mm.0, &mut faults);
    refuse_too_many("/runs", input.runs.len(), MAX_POINTS, &mut faults);
    let mut pieces: i64 = 0;
    let mut seen: BTreeMap<(&str, Width), usize> = BTreeMap::new();
    for (index, run) in input.runs.iter().enumerate() {
        let place = format!("/runs/{index}");
        if let Some(first) = seen.insert((&run.run, run.width), index) {
            faults.add(
                format!("{place}/run"),
                format!("{:?} stands already at /runs/{first} with the same width", run.run),
            );
        }
        refuse_nothing(&format!("{place}/clear_mm"), run.clear_mm.0, &mut faults);
        if run.count == 0 {
            faults.add(format!("{place}/count"), "must be at least 1");
        }
        if Length::ZERO < piece && Length::ZERO < run.clear_mm.0 {
            let (whole, rest) = whole_and_rest(input, run);
            let each = whole + i64::from(rest != Length::ZERO);
            let before = pieces;
            pieces = pieces.saturating_add(each.saturating_mul(i64::from(run.count)));
            // Said once, at the run that passes the bound.
            if i64::from(MAX_PIECES) < pieces && before <= i64::from(MAX_PIECES) {
                faults.add(
                    format!("{place}/count"),
                    format!(
                        "takes the runs past {MAX_PIECES} pieces in all, the most that are reckoned at once"
                    ),
                );
            }
        }
    }
    faults.into_result(())
}
