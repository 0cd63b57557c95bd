//! The relaxation in which patterns may be cut in fractions, solved by generating columns (Gilmore and Gomory 1961).
//!
//! A revised simplex method in binary floats over patterns that cover what is asked for. Its prices, taken as whole
//! weights, give bounds that [`Certificate`] holds exactly; a rounding error can make a bound weaker, never wrong.

#![expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    reason = "guides the search, decides nothing"
)]

use super::bounds::{Certificate, choices};
use super::fill::{Filling, best_filling, quick_filling};
use super::stock::{Effort, Job, Pattern, Plan};

/// Kinds beyond which the matrix would take more than 8 MiB.
pub(super) const MOST_ROWS: usize = 1_000;
/// Prices are taken as whole numbers of this part.
pub(super) const SCALE: f64 = (1_u64 << 30) as f64;
/// What counts as nothing.
const TINY: f64 = 1e-9;
/// Steps after which prices are worked out anew.
const FRESH_FOR: usize = 60;
/// A column is used from here on.
const USED: f64 = 1e-7;
/// By how much a pattern must beat its price to be taken in.
const GAIN: f64 = 1e-6;
/// What leaving a row to no listed pattern costs, in pieces.
const DEAR: f64 = 1_000.0;
/// Nodes for pricing one pattern: a few while there is still much to gain, more to settle that there is nothing.
const FEW_NODES: u64 = 500;
const NODES: u64 = 20_000;
/// Columns that are kept for later relaxations of the same job.
const MOST_COLUMNS: usize = 4_000;

/// Patterns met so far: a later relaxation starts from them.
#[derive(Debug, Default)]
pub(super) struct Pool(Vec<Pattern>);

impl Pool {
    /// Takes the patterns of a plan in.
    pub fn extend(&mut self, plan: &Plan) {
        for (pattern, _) in plan {
            self.push(pattern.clone());
        }
    }

    fn push(&mut self, pattern: Pattern) {
        if self.0.len() < MOST_COLUMNS {
            self.0.push(pattern);
        }
    }
}

/// What the relaxation came to.
#[derive(Debug)]
pub(super) struct Relaxed {
    /// Patterns and how often each is cut, in fractions.
    pub uses: Vec<(Pattern, f64)>,
    /// The weights with the best bound met on the way.
    pub certificate: Certificate,
}

/// Relaxes what is left of a job. Ends early once the bound reaches `enough` or the effort is used up; the bound
/// then reached holds all the same.
pub(super) fn relax(job: &Job, left: &[u32], pool: &mut Pool, enough: u32, effort: &Effort<'_>) -> Relaxed {
    let mut certificate = Certificate { worths: job.sizes.clone(), most: job.capacity };
    let mut bound = certificate.pieces(left);
    if enough <= bound {
        return Relaxed { uses: Vec::new(), certificate };
    }
    let kinds: Vec<usize> = (0..job.sizes.len()).filter(|kind| 0 < left[*kind]).collect();
    let mut row_of = vec![None; left.len()];
    let mut simplex = Simplex::new(kinds.iter().map(|kind| f64::from(left[*kind])).collect());
    let mut patterns: Vec<Pattern> = Vec::new();
    for (row, kind) in kinds.iter().enumerate() {
        row_of[*kind] = Some(row);
        let fitting = u32::try_from(job.capacity / job.sizes[*kind]).unwrap_or(u32::MAX).min(left[*kind]);
        simplex.start(row, fitting);
        patterns.push(vec![(*kind, fitting)]);
    }
    // No more of a kind than is left.
    let clipped = |pattern: &Pattern| -> Pattern {
        let some = pattern.iter().map(|(kind, count)| (*kind, (*count).min(left[*kind])));
        some.filter(|(_, count)| 0 < *count).collect()
    };
    let by_rows = |pattern: &Pattern| -> Vec<(usize, u32)> {
        pattern.iter().filter_map(|(kind, count)| row_of[*kind].map(|row| (row, *count))).collect()
    };
    for pattern in &pool.0 {
        let pattern = clipped(pattern);
        simplex.add(&by_rows(&pattern));
        patterns.push(pattern);
    }
    let rows = kinds.len() as u64;
    for _ in 0..200 + 60 * rows {
        if simplex.improve() {
            if !effort.spend(simplex.take_work()) {
                break;
            }
            continue;
        }
        let mut worths = vec![0; job.sizes.len()];
        for (kind, worth) in kinds.iter().zip(simplex.worths()) {
            worths[*kind] = worth;
        }
        let gaining = |filling: &Filling| 1.0 + GAIN < filling.worth as f64 / SCALE;
        let mut filling = quick_filling(job.capacity, choices(job, left, &worths), FEW_NODES);
        let mut work = simplex.take_work() + 30 * filling.nodes + 300 * rows;
        if !gaining(&filling) && FEW_NODES < filling.nodes {
            filling = best_filling(job.capacity, choices(job, left, &worths), NODES);
            work += 30 * filling.nodes;
        }
        let gains = gaining(&filling);
        if 0 < filling.at_most {
            let candidate = Certificate { worths, most: filling.at_most };
            let pieces = candidate.pieces(left);
            if bound <= pieces {
                (certificate, bound) = (candidate, pieces);
            }
        }
        if enough <= bound || !gains {
            break;
        }
        let at = simplex.add(&by_rows(&filling.pattern));
        patterns.push(filling.pattern.clone());
        pool.push(filling.pattern);
        if !simplex.enter(Some(at)) || !effort.spend(work + simplex.take_work()) {
            break;
        }
    }
    let uses = simplex.uses().into_iter().map(|(at, times)| (patterns[at].clone(), times)).collect();
    Relaxed { uses, certificate }
}

/// A column of the basis.
#[derive(Debug, Clone, Copy)]
struct Basic {
    /// Its place among the columns; `None` for a surplus, and for a row that nothing covers.
    column: Option<usize>,
    /// The row that it is the surplus of.
    surplus: Option<usize>,
    /// What it costs, in pieces.
    cost: f64,
}

/// Minimises the number of columns used, each row covered at least as often as asked for.
#[derive(Debug)]
pub(super) struct Simplex {
    /// How often each row is asked for.
    asked: Vec<f64>,
    columns: Vec<Vec<(usize, f64)>>,
    entries: u64,
    basis: Vec<Basic>,
    /// The inverse of the basis, row by row.
    inverse: Vec<f64>,
    /// How often each basic column is used.
    uses: Vec<f64>,
    /// The price of each row, kept up from step to step.
    prices: Vec<f64>,
    /// Steps since the prices were worked out anew.
    stale: usize,
    work: u64,
}

impl Simplex {
    /// Starts with nothing covered, which is dear.
    pub fn new(asked: Vec<f64>) -> Self {
        let count = asked.len();
        let mut inverse = vec![0.0; count * count];
        for row in 0..count {
            inverse[row * count + row] = 1.0;
        }
        Self {
            uses: asked.clone(),
            columns: Vec::new(),
            entries: 0,
            basis: vec![Basic { column: None, surplus: None, cost: DEAR }; count],
            inverse,
            prices: vec![DEAR; count],
            stale: 0,
            work: 0,
            asked,
        }
    }

    /// Adds a column.
    pub fn add(&mut self, column: &[(usize, u32)]) -> usize {
        self.entries += column.len() as u64;
        self.columns.push(column.iter().map(|(row, count)| (*row, f64::from(*count))).collect());
        self.columns.len() - 1
    }

    /// Covers a row that nothing covers yet by a column that covers no other.
    fn start(&mut self, row: usize, count: u32) {
        let column = self.add(&[(row, count)]);
        self.inverse[row * self.asked.len() + row] = 1.0 / f64::from(count);
        self.uses[row] = self.asked[row] / f64::from(count);
        self.basis[row] = Basic { column: Some(column), surplus: None, cost: 1.0 };
        self.prices[row] = 1.0 / f64::from(count);
    }

    /// Improves until no known column gains.
    pub fn settle(&mut self, effort: &Effort<'_>) {
        for _ in 0..200 + 60 * self.asked.len() {
            if !self.improve() || !effort.spend(self.take_work()) {
                break;
            }
        }
    }

    /// Works the prices out of the basis anew, so that rounding errors do not add up.
    fn refresh(&mut self) {
        let count = self.asked.len();
        self.prices = vec![0.0; count];
        for (row, basic) in self.basis.iter().enumerate().filter(|(_, basic)| 0.0 < basic.cost) {
            let inverse = &self.inverse[row * count..(row + 1) * count];
            for (price, entry) in self.prices.iter_mut().zip(inverse) {
                *price += basic.cost * entry;
            }
        }
        self.stale = 0;
        self.work += 2 * (count * count) as u64;
    }

    /// Prices as whole weights.
    pub fn worths(&self) -> Vec<i64> {
        self.prices.iter().map(|price| (price * SCALE).floor().clamp(0.0, DEAR * SCALE) as i64).collect()
    }

    /// Rows that are covered more often than asked for.
    pub fn surplus_rows(&self) -> impl Iterator<Item = usize> {
        let surplus = self.basis.iter().zip(&self.uses).filter(|(_, times)| USED < **times);
        surplus.filter_map(|(basic, _)| basic.surplus)
    }

    /// Takes in the surplus or the known column that gains most; false when none gains.
    fn improve(&mut self) -> bool {
        if FRESH_FOR <= self.stale {
            self.refresh();
        }
        if self.improve_by_prices() {
            return true;
        }
        // That nothing gains is only believed of prices without rounding errors.
        self.stale != 0 && {
            self.refresh();
            self.improve_by_prices()
        }
    }

    fn improve_by_prices(&mut self) -> bool {
        let surplus = self.prices.iter().copied().enumerate().filter(|(_, price)| *price < -TINY);
        if let Some((row, _)) = surplus.min_by(|a, b| a.1.total_cmp(&b.1)) {
            return self.enter_column(&[(row, -1.0)], Basic { column: None, surplus: Some(row), cost: 0.0 });
        }
        let mut best = (1.0 + GAIN, None);
        for (at, column) in self.columns.iter().enumerate() {
            let value: f64 = column.iter().map(|(row, count)| self.prices[*row] * count).sum();
            if best.0 < value {
                best = (value, Some(at));
            }
        }
        self.work += 4 * self.entries;
        self.enter(best.1)
    }

    fn enter(&mut self, column: Option<usize>) -> bool {
        let Some(at) = column else { return false };
        let column = std::mem::take(&mut self.columns[at]);
        let entered = self.enter_column(&column, Basic { column: Some(at), surplus: None, cost: 1.0 });
        self.columns[at] = column;
        entered
    }

    /// Takes a column into the basis in place of the one that it drives out first. Every column covers something, so
    /// one is driven out, unless rounding errors have spoilt the basis: then false.
    fn enter_column(&mut self, column: &[(usize, f64)], basic: Basic) -> bool {
        let count = self.asked.len();
        let step: Vec<f64> = self
            .inverse
            .chunks_exact(count)
            .map(|row| column.iter().map(|(at, entry)| row[*at] * entry).sum())
            .collect();
        let mut out = None;
        let mut least = f64::INFINITY;
        for (row, change) in step.iter().enumerate().filter(|(_, change)| TINY < **change) {
            let ratio = self.uses[row] / change;
            let nearer = ratio < least - TINY;
            let steadier = ratio <= least + TINY && out.is_some_and(|out: usize| step[out] < *change);
            if nearer || steadier {
                (out, least) = (Some(row), ratio.min(least));
            }
        }
        let Some(out) = out else { return false };
        let pivot = step[out];
        let times = (self.uses[out] / pivot).max(0.0);
        let leaving: Vec<f64> =
            self.inverse[out * count..(out + 1) * count].iter().map(|entry| entry / pivot).collect();
        let value: f64 = column.iter().map(|(row, entry)| self.prices[*row] * entry).sum();
        for (price, from) in self.prices.iter_mut().zip(&leaving) {
            *price += (basic.cost - value) * from;
        }
        let mut touched = 1;
        for (row, change) in step.iter().enumerate() {
            if row == out || change.abs() <= f64::EPSILON {
                continue;
            }
            touched += 1;
            self.uses[row] = (self.uses[row] - times * change).max(0.0);
            for (entry, from) in self.inverse[row * count..(row + 1) * count].iter_mut().zip(&leaving) {
                *entry -= change * from;
            }
        }
        self.inverse[out * count..(out + 1) * count].copy_from_slice(&leaving);
        self.uses[out] = times;
        self.basis[out] = basic;
        self.stale += 1;
        self.work += (4 * (touched + column.len()) * count) as u64;
        true
    }

    /// What was done since it was last asked.
    pub fn take_work(&mut self) -> u64 {
        std::mem::take(&mut self.work)
    }

    /// Columns that are used, and how often.
    pub fn uses(&self) -> Vec<(usize, f64)> {
        let used = self.basis.iter().zip(&self.uses);
        used.filter_map(|(basic, times)| basic.column.map(|column| (column, *times)))
            .filter(|(_, times)| USED < *times)
            .collect()
    }
}
