//! One cut plan for the infill of several plots: offcuts are reused across their runs, the fewest stock pieces are
//! looked for over all of them together, and each plot gets its own bars to be cut.
//!
//! Plots are worked on in the order in which they are given: a piece that is cut from another plot's bar always comes
//! from an earlier one, so nobody waits for a later plot.
//!
//! Never here: how a cut list is found (that is the reckoning `infill-cuts`), a disk, a clock.

use std::collections::{BTreeMap, BTreeSet};

use super::beam_feeds::criterion_of_feed;
use super::fold::PlotRecord;
use super::standing::{HoldPointState, PlotStanding};
use crate::faults::Faults;
use crate::ids::PlotId;
use crate::plan_of_work::Feed;
use crate::quantity::Length;
use crate::reckon::infill_cuts::{self, Effort, JudgedRun, Output, Width};

/// The most plots in one cut plan.
pub const MOST_PLOTS: usize = 200;

/// The infill of one plot and how it is cut.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlotPieces {
    /// The plot.
    pub plot: PlotId,
    /// Drawing and revision.
    pub drawing: (String, String),
    /// Whether the design is invented.
    pub invented: bool,
    /// Widths of the wide and the narrow infill.
    pub widths: (Length, Length),
    /// Its runs and the rules of cutting.
    pub input: infill_cuts::Input,
}

impl PlotPieces {
    /// The infill of a plot; `None` where its design draws no beams.
    pub fn of(record: &PlotRecord) -> Option<Self> {
        let design = record.design();
        let infill = &design.beams.as_ref()?.infill;
        Some(Self {
            plot: record.plot.clone(),
            drawing: (design.drawing.clone(), design.revision.clone()),
            invented: design.invented,
            widths: (infill.wide_mm.0, infill.narrow_mm.0),
            input: design.infill_cuts_input()?,
        })
    }

    /// What two plots must have in common to be cut from the same stock; the first that differs, in words.
    fn differs_from(&self, other: &Self) -> Option<String> {
        let own = |one: &Self| {
            let input = &one.input;
            [
                ("full pieces", input.piece_mm.0),
                ("a least piece", input.least_piece_mm.0),
                ("a shift", input.shift_mm.0),
                ("a kerf", input.kerf_mm.0),
                ("wide infill", one.widths.0),
                ("narrow infill", one.widths.1),
            ]
        };
        own(self).into_iter().zip(own(other)).find(|(a, b)| a != b).map(|((what, a), (_, b))| {
            format!("has {what} of {} mm, plot {} of {} mm", a.to_mm_text(), other.plot, b.to_mm_text())
        })
    }
}

/// A cut plan.
#[derive(Debug, Clone, PartialEq)]
pub struct CutPlan {
    /// What was reckoned, as `gaugerod reckon infill-cuts` takes it; its runs are named `PLOT: RUN`.
    pub input: infill_cuts::Input,
    /// What came of it.
    pub output: Output,
    /// Plot by plot, in the order of work.
    pub plots: Vec<PlotCuts>,
}

/// What is cut for one plot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlotCuts {
    /// The plot.
    pub plot: PlotId,
    /// Drawing and revision.
    pub drawing: (String, String),
    /// Whether the design is invented.
    pub invented: bool,
    /// Pieces of one row of each run, in the order of laying.
    pub runs: Vec<JudgedRun>,
    /// Bars by width of infill.
    pub widths: Vec<WidthCuts>,
}

/// What is cut for one plot from infill of one width.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WidthCuts {
    /// Which infill.
    pub width: Width,
    /// Pieces that are laid whole.
    pub whole: u32,
    /// What is cut, and how.
    pub bars: Vec<Bar>,
    /// Pieces that an earlier plot's bars give.
    pub given: Vec<Given>,
    /// Stock pieces opened for this plot, whole ones included.
    pub opened: u32,
    /// Offcuts and kerf of the bars opened for this plot.
    pub waste: Length,
}

/// Pieces of one stock piece, the longest first, each with the other plot that it is for.
pub type Cuts = Vec<(Length, Option<PlotId>)>;

/// One way of cutting a stock piece.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Bar {
    /// What is cut from it.
    pub cuts: Cuts,
    /// What is left.
    pub offcut: Length,
    /// How many stock pieces are cut so.
    pub times: u32,
}

/// Pieces from another plot's bars.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Given {
    /// The plot whose bars give them.
    pub from: PlotId,
    /// Their length.
    pub length: Length,
    /// How many.
    pub count: u32,
}

impl CutPlan {
    /// Finds a plan for plots in the order of work.
    ///
    /// # Errors
    /// No plot, a plot twice, too many, infill that is not cut from the same stock, more pieces than are reckoned at
    /// once: all with their places.
    pub fn of(plots: &[PlotPieces], effort: &Effort<'_>) -> Result<Self, Faults> {
        let input = together(plots)?;
        let output = infill_cuts::reckon_within(&input, effort)?;
        let mut runs = output.runs.iter();
        let mut own: Vec<PlotCuts> = plots
            .iter()
            .map(|one| PlotCuts {
                plot: one.plot.clone(),
                drawing: one.drawing.clone(),
                invented: one.invented,
                runs: one
                    .input
                    .runs
                    .iter()
                    .zip(runs.by_ref())
                    .map(|(drawn, judged)| JudgedRun { run: drawn.run.clone(), ..judged.clone() })
                    .collect(),
                widths: Vec::new(),
            })
            .collect();
        for stock in &output.stock {
            share_out(&mut own, stock, input.piece_mm.0);
        }
        Ok(Self { input, output, plots: own })
    }
}

fn together(plots: &[PlotPieces]) -> Result<infill_cuts::Input, Faults> {
    let mut faults = Faults::new();
    let Some(first) = plots.first() else {
        return Err(Faults::one(
            "/plots",
            "choose at least one plot whose design draws its infill".to_owned(),
        ));
    };
    if plots.len() > MOST_PLOTS {
        faults.add("/plots", format!("must be at most {MOST_PLOTS} at once"));
    }
    let mut seen = BTreeSet::new();
    let mut runs = Vec::new();
    for (index, one) in plots.iter().enumerate() {
        if !seen.insert(&one.plot) {
            faults.add(format!("/plots/{index}"), format!("plot {} is named twice", one.plot));
        }
        if let Some(what) = one.differs_from(first) {
            faults.add(
                format!("/plots/{index}"),
                format!("plot {} {what}: they are not cut from the same stock", one.plot),
            );
        }
        let named = one
            .input
            .runs
            .iter()
            .map(|run| infill_cuts::Run { run: format!("{}: {}", one.plot, run.run), ..run.clone() });
        runs.extend(named);
    }
    faults.into_result(infill_cuts::Input { runs, ..first.input.clone() })
}

/// Gives every bar of a cut list to the plot that it is opened for, and says for which plot each piece is.
fn share_out(plots: &mut [PlotCuts], stock: &infill_cuts::Stock, piece: Length) {
    // What each plot still wants, by length.
    let mut wanted: Vec<BTreeMap<Length, u32>> = plots
        .iter()
        .map(|plot| {
            let mut wanted = BTreeMap::new();
            for run in plot.runs.iter().filter(|run| run.width == stock.width) {
                for one in &run.pieces_mm {
                    *wanted.entry(one.0).or_default() += run.count;
                }
            }
            wanted
        })
        .collect();
    let mut left: Vec<u32> = stock.cut_list.iter().map(|cut| cut.times).collect();
    let mut bars: Vec<BTreeMap<(Cuts, Length), u32>> = vec![BTreeMap::new(); plots.len()];
    let mut given: BTreeMap<(usize, usize, std::cmp::Reverse<Length>), u32> = BTreeMap::new();
    // First the bars whose pieces all go to one plot.
    for (plot, wanted) in wanted.iter_mut().enumerate() {
        for (cut, left) in stock.cut_list.iter().zip(&mut left) {
            let mut each: BTreeMap<Length, u32> = BTreeMap::new();
            for one in &cut.cuts_mm {
                *each.entry(one.0).or_default() += 1;
            }
            let of = |length: &Length| wanted.get(length).copied().unwrap_or(0);
            let times = each.iter().map(|(length, count)| of(length) / count).min().unwrap_or(0).min(*left);
            if times == 0 {
                continue;
            }
            for (length, count) in each {
                *wanted.entry(length).or_default() -= count * times;
            }
            *left -= times;
            let cuts = cut.cuts_mm.iter().map(|one| (one.0, None)).collect();
            *bars[plot].entry((cuts, cut.offcut_mm.0)).or_default() += times;
        }
    }
    // Then those that are shared: opened for the first plot that wants any of their pieces.
    let first_that_wants = |wanted: &[BTreeMap<Length, u32>], length: Length| {
        wanted.iter().position(|one| one.get(&length).is_some_and(|count| *count > 0))
    };
    for (cut, left) in stock.cut_list.iter().zip(left) {
        for _ in 0..left {
            let opened = cut.cuts_mm.iter().filter_map(|one| first_that_wants(&wanted, one.0)).min();
            let opened = opened.unwrap_or(0);
            let mut cuts = Vec::with_capacity(cut.cuts_mm.len());
            for one in &cut.cuts_mm {
                let of = |plot: usize| wanted[plot].get(&one.0).is_some_and(|count| *count > 0);
                let to = if of(opened) { Some(opened) } else { first_that_wants(&wanted, one.0) };
                if let Some(count) = to.and_then(|to| wanted[to].get_mut(&one.0)) {
                    *count -= 1;
                }
                let other = to.filter(|to| *to != opened);
                if let Some(to) = other {
                    *given.entry((to, opened, std::cmp::Reverse(one.0))).or_default() += 1;
                }
                cuts.push((one.0, other.map(|to| plots[to].plot.clone())));
            }
            *bars[opened].entry((cuts, cut.offcut_mm.0)).or_default() += 1;
        }
    }
    let names: Vec<PlotId> = plots.iter().map(|one| one.plot.clone()).collect();
    for ((index, plot), bars) in plots.iter_mut().enumerate().zip(bars) {
        let own = given.iter().filter(|((to, ..), _)| *to == index);
        let given = own.map(|((_, from, length), count)| Given {
            from: names[*from].clone(),
            length: length.0,
            count: *count,
        });
        let mut own = WidthCuts {
            width: stock.width,
            whole: 0,
            bars: Vec::new(),
            given: given.collect(),
            opened: bars.values().sum(),
            waste: Length::ZERO,
        };
        for ((cuts, offcut), times) in bars {
            let used: Length = cuts.iter().map(|(length, _)| *length).sum();
            own.waste += (piece - used) * i64::from(times);
            match cuts[..] {
                [(length, None)] if length == piece => own.whole += times,
                _ => own.bars.push(Bar { cuts, offcut, times }),
            }
        }
        // The longest pieces first, as at the saw.
        own.bars.sort_by(|a, b| b.cuts.cmp(&a.cuts));
        if own.opened > 0 || !own.given.is_empty() {
            plot.widths.push(own);
        }
    }
}

/// A plot that could be cut together with another one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Candidate {
    /// The plot.
    pub plot: PlotId,
    /// Whether it is cut together unless a person says otherwise.
    pub chosen: bool,
    /// Why, in words.
    pub why: String,
    /// Why it cannot be cut together; `None` where it can.
    pub against: Option<String>,
}

/// How a plot stands towards being cut together with `own`: chosen where it came on the same delivery note, or has
/// the same floor design, and its infill is not released yet.
pub fn candidate(own: &PlotRecord, record: &PlotRecord, standing: &PlotStanding) -> Option<Candidate> {
    let pieces = PlotPieces::of(record)?;
    let against = PlotPieces::of(own).and_then(|own| pieces.differs_from(&own));
    let waits = waits_for_infill(record, standing);
    let plot = record.plot.clone();
    if record.plot == own.plot {
        return Some(Candidate { plot, chosen: true, why: "this plot".to_owned(), against: None });
    }
    let note = notes(own).intersection(&notes(record)).next().map(|note| (*note).to_owned());
    let (a, b) = (own.design(), record.design());
    let same_design = a.drawing == b.drawing && a.revision == b.revision;
    let (chosen, mut why) = match note {
        Some(note) => (waits, format!("delivery note {note}")),
        None if same_design => (waits, format!("{} revision {}", b.drawing, b.revision)),
        None => (false, format!("another design: {} revision {}", b.drawing, b.revision)),
    };
    if !waits {
        why.push_str(", infill released already");
    }
    Some(Candidate { plot, chosen: chosen && against.is_none(), why, against })
}

fn notes(record: &PlotRecord) -> BTreeSet<&str> {
    let booked = record.deliveries.iter().filter(|kept| kept.superseded.is_none());
    booked.map(|kept| kept.fact.note.as_str()).collect()
}

fn waits_for_infill(record: &PlotRecord, standing: &PlotStanding) -> bool {
    let Some((hold_point, _)) = criterion_of_feed(record, Feed::InfillCuts) else { return false };
    let own = standing.hold_points.iter().find(|one| one.id == hold_point.id);
    own.is_some_and(|one| !matches!(one.state, HoldPointState::Released | HoldPointState::UnderConcession))
}
