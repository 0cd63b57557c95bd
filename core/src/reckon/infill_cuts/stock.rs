//! One width's cutting stock: the fewest stock pieces from which every item can be cut, a plan for the saw, and how
//! sure that is.
//!
//! Sizes carry the kerf: items fit a piece when Σ(item + kerf) ≤ piece + kerf. The way: first-fit decreasing and a
//! closer filling give a plan; weights give a bound (`bounds`); where they differ, the relaxation (`relaxed`) gives
//! better weights and `search` looks for a plan of so few pieces or proves that there is none. Every bound is
//! checked in whole numbers; binary floats only guide the search.
//!
//! Never here: a clock. What may be spent is counted ([`Effort`]), so that the same job gives the same answer on
//! every machine, unless it is stopped by hand.

use std::cell::Cell;
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use super::bounds::{self, Certificate};
use super::first_fit;
use super::relaxed::{self, MOST_ROWS, Pool};
use super::search::{self, Outcome};

/// How much computing a reckoning may take before it gives the best that it has.
///
/// Work is counted, not timed: about a thousand million units pass in a few seconds. A stop flag ends it early; the
/// best so far is then given and said to be unproven.
#[derive(Debug)]
pub struct Effort<'s> {
    left: Cell<u64>,
    stop: Option<&'s AtomicBool>,
    spent: Option<&'s AtomicU64>,
}

impl<'s> Effort<'s> {
    /// What a reckoning takes unless told otherwise.
    pub const STANDARD: u64 = 9_000_000_000;

    /// So much work at most, ended early when the flag is raised.
    pub fn new(work: u64, stop: Option<&'s AtomicBool>) -> Self {
        Self { left: Cell::new(work), stop, spent: None }
    }

    /// The same, with what is spent counted where another thread can see it.
    #[must_use]
    pub fn counted(self, spent: &'s AtomicU64) -> Self {
        Self { spent: Some(spent), ..self }
    }

    /// Takes some of it; false once it is used up or the flag is raised.
    pub(super) fn spend(&self, work: u64) -> bool {
        let left = self.left.get();
        self.left.set(left.saturating_sub(work));
        if let Some(spent) = self.spent {
            spent.fetch_add(work, Ordering::Relaxed);
        }
        work < left && !self.stop.is_some_and(|stop| stop.load(Ordering::Relaxed))
    }

    /// What is left.
    pub(super) fn left(&self) -> u64 {
        self.left.get()
    }

    /// A part of what is left, to be spent apart.
    pub(super) fn part(&self, share: u64) -> Self {
        Self { left: Cell::new(self.left() / share), ..*self }
    }

    /// So much of what is left at most, to be spent apart.
    pub(super) fn at_most(&self, work: u64) -> Self {
        Self { left: Cell::new(self.left().min(work)), ..*self }
    }

    /// Takes what a part has spent.
    pub(super) fn settle(&self, given: u64, part: &Self) {
        let spent = given.saturating_sub(part.left());
        self.left.set(self.left().saturating_sub(spent));
    }
}

impl Default for Effort<'_> {
    fn default() -> Self {
        Self::new(Self::STANDARD, None)
    }
}

/// What is cut from one stock piece: kind of item and how many, kinds ascending.
pub(super) type Pattern = Vec<(usize, u32)>;

/// Patterns and how often each is cut.
pub(super) type Plan = Vec<(Pattern, u32)>;

/// Items of a few sizes to be cut from equal stock pieces.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Job {
    /// Stock piece and kerf.
    pub capacity: i64,
    /// Sizes with kerf, descending, each once, 1 to `capacity`.
    pub sizes: Vec<i64>,
    /// How many of each size, at least 1.
    pub demand: Vec<u32>,
}

/// The best plan found and the bound that holds it.
#[derive(Debug, Clone)]
pub(super) struct Answer {
    /// Patterns, those with the largest items first.
    pub plan: Plan,
    /// Stock pieces of the plan.
    pub pieces: u32,
    /// No plan takes fewer.
    pub bound: u32,
    /// Weights that show `by_weights`.
    pub certificate: Certificate,
    /// What the weights alone show; `bound` is higher where a search tried every case.
    pub by_weights: u32,
}

/// Stock pieces of a plan.
pub(super) fn pieces_of(plan: &Plan) -> u32 {
    plan.iter().map(|(_, times)| times).sum()
}

impl Job {
    /// Groups items by size; every size must lie within 1 and `capacity`.
    pub fn new(capacity: i64, items: impl IntoIterator<Item = (i64, u32)>) -> Self {
        let mut by_size: BTreeMap<i64, u32> = BTreeMap::new();
        for (size, count) in items {
            *by_size.entry(size).or_default() += count;
        }
        let divisor = by_size.keys().fold(capacity, |divisor, size| gcd(divisor, *size));
        let (sizes, demand) = by_size.into_iter().rev().map(|(size, count)| (size / divisor, count)).unzip();
        Self { capacity: capacity / divisor, sizes, demand }
    }

    /// Kinds from this one on go alone: not even the smallest item fits beside one of those before it.
    fn first_shared(&self) -> usize {
        let smallest = self.sizes.last().copied().unwrap_or_default();
        self.sizes.iter().take_while(|size| self.capacity < **size + smallest).count()
    }
}

fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

/// Finds a plan of the fewest pieces, or the best one that the effort allows.
pub(super) fn solve(job: &Job, effort: &Effort<'_>) -> Answer {
    // Items that always lie alone take a piece each and leave the rest as it is.
    let shared = job.first_shared();
    let alone: u32 = job.demand[..shared].iter().sum();
    let rest = Job {
        capacity: job.capacity,
        sizes: job.sizes[shared..].to_vec(),
        demand: job.demand[shared..].to_vec(),
    };
    let mut answer = solve_shared(&rest, effort);
    for (pattern, _) in &mut answer.plan {
        for (kind, _) in pattern {
            *kind += shared;
        }
    }
    answer.plan.extend((0..shared).map(|kind| (vec![(kind, 1)], job.demand[kind])));
    answer.plan.sort();
    answer.pieces += alone;
    answer.bound += alone;
    answer.by_weights += alone;
    let full = answer.certificate.most;
    answer.certificate.worths.splice(0..0, std::iter::repeat_n(full, shared));
    answer
}

fn solve_shared(job: &Job, effort: &Effort<'_>) -> Answer {
    let mut best = first_fit::first_fit_decreasing(job);
    let mut certificate = bounds::by_weights(job, effort);
    let mut pool = Pool::default();
    let mut bound = certificate.pieces(&job.demand);
    if bound < pieces_of(&best) {
        pool.extend(&best);
        if let Some(closer) = first_fit::closest_fillings(job, &job.demand, effort) {
            pool.extend(&closer);
            keep_better(&mut best, closer);
        }
    }
    if bound < pieces_of(&best) && job.sizes.len() <= MOST_ROWS {
        let relaxed = relaxed::relax(job, &job.demand, &mut pool, pieces_of(&best), effort);
        if bound < relaxed.certificate.pieces(&job.demand) {
            certificate = relaxed.certificate.plainer(job, &job.demand);
            bound = certificate.pieces(&job.demand);
        }
    }
    let by_weights = bound;
    if bound < pieces_of(&best) && job.sizes.len() <= MOST_ROWS {
        for rounding in search::ROUNDINGS {
            if let Some(plan) = search::dive(job, &mut pool, bound, rounding, effort) {
                keep_better(&mut best, plan);
            }
            if pieces_of(&best) <= bound {
                break;
            }
        }
        for held_back in search::HELD_BACK {
            if pieces_of(&best) <= bound {
                break;
            }
            if let Some(plan) = search::round_and_search(job, &mut pool, bound, held_back, effort) {
                keep_better(&mut best, plan);
            }
        }
        while bound < pieces_of(&best) {
            match search::exhaust(job, &mut pool, &job.demand, bound, effort) {
                Outcome::Found(plan) => keep_better(&mut best, plan),
                Outcome::Impossible => bound += 1,
                Outcome::GaveUp => break,
            }
        }
    }
    let pieces = pieces_of(&best);
    Answer { plan: best, pieces, bound, certificate, by_weights }
}

fn keep_better(best: &mut Plan, plan: Plan) {
    if pieces_of(&plan) < pieces_of(best) {
        *best = plan;
    }
}

/// Equal patterns counted together, in their order.
pub(super) fn gathered(patterns: impl IntoIterator<Item = (Pattern, u32)>) -> Plan {
    let mut times: BTreeMap<Pattern, u32> = BTreeMap::new();
    for (pattern, count) in patterns {
        *times.entry(pattern).or_default() += count;
    }
    times.into_iter().collect()
}
