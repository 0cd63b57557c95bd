//! Lower bounds that a reader can check: give every item a weight such that no stock piece can carry more than
//! `most`; then all weights together, divided by `most` and rounded up, is the least number of pieces.
//!
//! Weights are whole numbers and `most` is settled in whole numbers, so no rounding error can lift a bound.

use super::fill::{Choice, best_filling};
use super::stock::{Effort, Job};

/// Weights of the items, and the most that a piece can carry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Certificate {
    /// One weight a kind, not negative.
    pub worths: Vec<i64>,
    /// No stock piece carries more, above 0.
    pub most: i64,
}

/// The largest number of thresholds that are tried.
const MOST_THRESHOLDS: usize = 300;
/// The most parts that a piece is shared into for weights by parts.
const MOST_PARTS: i64 = 24;
/// Nodes for settling the most that a piece carries by length.
const NODES: u64 = 20_000;

impl Certificate {
    /// All weights together.
    pub fn total(&self, demand: &[u32]) -> i128 {
        self.worths.iter().zip(demand).map(|(worth, count)| i128::from(*worth) * i128::from(*count)).sum()
    }

    /// The least number of pieces that these weights show.
    pub fn pieces(&self, demand: &[u32]) -> u32 {
        let most = i128::from(self.most.max(1));
        u32::try_from((self.total(demand) + most - 1) / most).unwrap_or(u32::MAX)
    }

    /// The same bound by smaller numbers where there are such: easier to repeat by hand.
    pub fn plainer(self, job: &Job, demand: &[u32]) -> Self {
        let bound = self.pieces(demand);
        for scale in [12, 60, 100, 1_000, 10_000, 100_000] {
            let worths: Vec<i64> = self.worths.iter().map(|worth| worth * scale / self.most).collect();
            let plainer = Self::settled(job, demand, worths);
            if let Some(plainer) = plainer.filter(|plainer| bound <= plainer.pieces(demand)) {
                return plainer;
            }
        }
        self
    }

    /// Weights with the most that a piece carries, found exactly; `None` when that takes too long.
    fn settled(job: &Job, demand: &[u32], worths: Vec<i64>) -> Option<Self> {
        let filling = best_filling(job.capacity, choices(job, demand, &worths), NODES);
        (0 < filling.worth && filling.worth == filling.at_most)
            .then_some(Self { worths, most: filling.at_most })
    }
}

/// What may be put into a piece while so many of each kind are left.
pub(super) fn choices<'j>(
    job: &'j Job,
    left: &'j [u32],
    worths: &'j [i64],
) -> impl Iterator<Item = Choice> + 'j {
    (0..job.sizes.len()).map(move |kind| Choice {
        kind,
        size: job.sizes[kind],
        worth: worths[kind],
        most: left[kind],
    })
}

/// The best bound of plain weights: the lengths themselves, lengths with small ones left out and large ones counted
/// whole (Martello and Toth 1990), and parts of a piece (Fekete and Schepers 2001).
pub(super) fn by_weights(job: &Job, effort: &Effort<'_>) -> Certificate {
    let capacity = job.capacity;
    let mut best = Certificate { worths: job.sizes.clone(), most: capacity };
    let mut bound = best.pieces(&job.demand);
    let mut keep = |candidate: Certificate| {
        let pieces = candidate.pieces(&job.demand);
        if bound < pieces {
            (best, bound) = (candidate, pieces);
        }
    };
    // A piece that no combination of lengths fills is worth less than its length.
    if let Some(by_length) = Certificate::settled(job, &job.demand, job.sizes.clone()) {
        keep(by_length);
    }
    let small: Vec<i64> = job.sizes.iter().copied().filter(|size| 2 * size <= capacity).collect();
    let step = small.len().div_ceil(MOST_THRESHOLDS).max(1);
    for threshold in small.into_iter().step_by(step) {
        if !effort.spend(job.sizes.len() as u64) {
            return best;
        }
        let worth = |size: &i64| match *size {
            size if capacity - threshold < size => capacity,
            size if size < threshold => 0,
            size => size,
        };
        keep(Certificate { worths: job.sizes.iter().map(worth).collect(), most: capacity });
    }
    for parts in 1..=MOST_PARTS {
        let worth = |size: &i64| {
            let share = (parts + 1) * size;
            if share % capacity == 0 { size * parts } else { (share / capacity) * capacity }
        };
        keep(Certificate { worths: job.sizes.iter().map(worth).collect(), most: capacity * parts });
    }
    best
}
