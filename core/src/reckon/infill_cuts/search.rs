//! Looking for a plan of so few pieces, led by the relaxation; or proving that there is none.
//!
//! [`dive`] rounds relaxations one after the other and looks back at nothing. [`exhaust`] tries every case over a list
//! of patterns that no plan of so few pieces can do without: only full patterns, since overcutting does no harm, and
//! only such that the weights of all pieces together allow.

use super::bounds::Certificate;
use super::confined::{Confined, KindSet, confine};
use super::first_fit::closest_fillings;
use super::relaxed::{Pool, relax};
use super::stock::{Effort, Job, Pattern, Plan, gathered, pieces_of};

/// From which part a fraction is rounded up when nothing whole is left in a relaxation; above 1 only the largest is.
pub(super) const ROUNDINGS: [f64; 3] = [0.7, 1.1, 0.5];
/// How often less than the relaxation says a pattern is cut before the rest is searched.
pub(super) const HELD_BACK: [u32; 3] = [0, 1, 2];
/// Work for searching one such rest.
const REST_WORK: u64 = 50_000_000;
/// Items beyond which trying every case is hopeless.
const MOST_ITEMS: u32 = 2_000;
/// The deepest that cases are followed: deeper ones stay open, so that no stack runs over.
const MOST_DEPTH: usize = 400;
/// The most patterns that are listed.
const MOST_PATTERNS: usize = 60_000;

/// What trying every case came to.
#[derive(Debug)]
pub(super) enum Outcome {
    /// A plan of so many pieces.
    Found(Plan),
    /// There is none.
    Impossible,
    /// The effort or the list did not suffice.
    GaveUp,
}

/// Rounds relaxations until everything is cut. `None` when the effort is used up.
pub(super) fn dive(
    job: &Job,
    pool: &mut Pool,
    target: u32,
    rounding: f64,
    effort: &Effort<'_>,
) -> Option<Plan> {
    let mut left = job.demand.clone();
    let mut plan: Plan = Vec::new();
    let mut best: Option<Plan> = None;
    while left.iter().any(|count| 0 < *count) {
        if !effort.spend(left.len() as u64) {
            return best;
        }
        if let Some(rest) = closest_fillings(job, &left, effort) {
            let whole = gathered(plan.iter().cloned().chain(rest));
            let better = best.as_ref().is_none_or(|best| pieces_of(&whole) < pieces_of(best));
            if better {
                let reached = pieces_of(&whole) <= target;
                best = Some(whole);
                if reached {
                    return best;
                }
            }
        }
        let relaxed = relax(job, &left, pool, u32::MAX, effort);
        let mut uses = relaxed.uses;
        uses.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        let before = plan.len();
        for (pattern, times) in &uses {
            take(&mut plan, &mut left, pattern, whole(*times));
        }
        if plan.len() == before {
            for (pattern, times) in &uses {
                if rounding <= *times || plan.len() == before {
                    take(&mut plan, &mut left, pattern, 1);
                }
            }
        }
        if plan.len() == before {
            return best;
        }
    }
    let plan = gathered(plan);
    match best {
        Some(best) if pieces_of(&best) <= pieces_of(&plan) => Some(best),
        _ => Some(plan),
    }
}

/// The whole part of a use; a hair below a whole number counts as that number.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "uses are positive and bounded")]
fn whole(times: f64) -> u32 {
    (times + 1e-6).floor() as u32
}

/// Cuts a pattern up to so many times, as far as its items are left.
fn take(plan: &mut Plan, left: &mut [u32], pattern: &Pattern, times: u32) {
    let possible = pattern.iter().map(|(kind, count)| left[*kind] / count).min().unwrap_or(0);
    let times = times.min(possible);
    if 0 < times {
        for (kind, count) in pattern {
            left[*kind] -= count * times;
        }
        plan.push((pattern.clone(), times));
    }
}

/// Cuts what the relaxation cuts whole, less what is held back, and tries every case for the rest. `None` when that
/// gives no plan of so few pieces.
pub(super) fn round_and_search(
    job: &Job,
    pool: &mut Pool,
    pieces: u32,
    held_back: u32,
    effort: &Effort<'_>,
) -> Option<Plan> {
    let relaxed = relax(job, &job.demand, pool, u32::MAX, effort);
    let mut left = job.demand.clone();
    let mut plan = Vec::new();
    for (pattern, times) in &relaxed.uses {
        take(&mut plan, &mut left, pattern, whole(*times).saturating_sub(held_back));
    }
    let used = pieces_of(&plan);
    if pieces < used {
        return None;
    }
    let part = effort.at_most(REST_WORK);
    let given = part.left();
    let outcome = exhaust(job, pool, &left, pieces - used, &part);
    effort.settle(given, &part);
    match outcome {
        Outcome::Found(rest) => Some(gathered(plan.into_iter().chain(rest))),
        Outcome::Impossible | Outcome::GaveUp => None,
    }
}

/// Tries every case for a plan of at most so many pieces.
pub(super) fn exhaust(job: &Job, pool: &mut Pool, left: &[u32], pieces: u32, effort: &Effort<'_>) -> Outcome {
    if MOST_ITEMS < left.iter().sum() {
        return Outcome::GaveUp;
    }
    let relaxed = relax(job, left, pool, pieces + 1, effort);
    if pieces < relaxed.certificate.pieces(left) {
        return Outcome::Impossible;
    }
    let listing = Listing::new(job, left, pieces, &relaxed.certificate);
    let (listed, complete) = listing.patterns(effort);
    let mut tree = Tree { job, listed: &listed, effort, chosen: Vec::new(), cuts: Vec::new() };
    match tree.descend(left, pieces, (0..listed.len()).collect()) {
        Case::Found(rest) => {
            let chosen = tree.chosen.into_iter().map(|(at, times)| (listed[at].clone(), times));
            Outcome::Found(trimmed(chosen.chain(rest), left))
        }
        Case::Impossible if complete => Outcome::Impossible,
        Case::Impossible | Case::Open => Outcome::GaveUp,
    }
}

/// Takes out of a plan what it cuts over the demand.
fn trimmed(plan: impl Iterator<Item = (Pattern, u32)>, demand: &[u32]) -> Plan {
    let mut left = demand.to_vec();
    let single = plan.flat_map(|(pattern, times)| std::iter::repeat_n(pattern, times as usize));
    gathered(single.filter_map(|pattern| {
        let mut kept = Pattern::new();
        for (kind, count) in pattern {
            let count = count.min(left[kind]);
            left[kind] -= count;
            if 0 < count {
                kept.push((kind, count));
            }
        }
        (!kept.is_empty()).then_some((kept, 1))
    }))
}

enum Case {
    Found(Plan),
    Impossible,
    Open,
}

/// Every case: how often a pattern is cut, then the same without that pattern.
struct Tree<'t, 's> {
    job: &'t Job,
    listed: &'t [Pattern],
    effort: &'t Effort<'s>,
    chosen: Vec<(usize, u32)>,
    cuts: Vec<KindSet>,
}

impl Tree<'_, '_> {
    fn descend(&mut self, left: &[u32], pieces: u32, allowed: Vec<usize>) -> Case {
        if left.iter().all(|count| *count == 0) {
            return Case::Found(Plan::new());
        }
        if pieces == 0 {
            return Case::Impossible;
        }
        if MOST_DEPTH <= self.chosen.len() || !self.effort.spend(300 * left.len() as u64) {
            return Case::Open;
        }
        if let Some(rest) = closest_fillings(self.job, left, self.effort)
            && pieces_of(&rest) <= pieces
        {
            return Case::Found(rest);
        }
        let columns: Vec<&Pattern> = allowed.iter().map(|at| &self.listed[*at]).collect();
        let Confined { uses, carried, most, unused } =
            confine(left, &columns, pieces, &mut self.cuts, self.effort);
        if unused < 0 {
            return Case::Impossible;
        }
        let uses: Vec<(usize, f64)> = uses.into_iter().map(|(at, times)| (allowed[at], times)).collect();
        let allowed: Vec<usize> = allowed
            .iter()
            .zip(&carried)
            .filter(|(_, carried)| most - **carried <= unused)
            .map(|(at, _)| *at)
            .collect();
        if let Some(rest) = self.rounded(left, &uses, pieces) {
            return Case::Found(rest);
        }
        // The use furthest from a whole number; without one every use is whole, and rounding has found the plan,
        // unless binary floats deceive: then the largest.
        let part = |times: f64| (times - times.floor()).min(times.ceil() - times);
        let branch = uses
            .iter()
            .max_by(|a, b| part(a.1).total_cmp(&part(b.1)).then(a.1.total_cmp(&b.1)).then(b.0.cmp(&a.0)));
        let Some((at, times)) = branch.copied() else { return Case::Open };
        let up = whole(times) + 1;
        let without: Vec<usize> = allowed.iter().copied().filter(|other| *other != at).collect();
        let mut open = false;
        for (count, allowed) in
            std::iter::once((up, &allowed)).chain((0..up).rev().map(|count| (count, &without)))
        {
            if pieces < count {
                continue;
            }
            let mut rest = left.to_vec();
            for (kind, each) in &self.listed[at] {
                rest[*kind] = rest[*kind].saturating_sub(each * count);
            }
            self.chosen.push((at, count));
            match self.descend(&rest, pieces - count, allowed.clone()) {
                Case::Found(plan) => return Case::Found(plan),
                Case::Open => open = true,
                Case::Impossible => {}
            }
            self.chosen.pop();
            if self.effort.left() == 0 {
                return Case::Open;
            }
        }
        if open { Case::Open } else { Case::Impossible }
    }

    /// The whole part of a relaxation and the closest fillings for the rest, if that is few enough.
    fn rounded(&self, left: &[u32], uses: &[(usize, f64)], pieces: u32) -> Option<Plan> {
        let mut left = left.to_vec();
        let mut plan = Vec::new();
        for (at, times) in uses {
            let times = whole(*times);
            if 0 < times {
                for (kind, count) in &self.listed[*at] {
                    left[*kind] = left[*kind].saturating_sub(count * times);
                }
                plan.push((self.listed[*at].clone(), times));
            }
        }
        if plan.is_empty() {
            return None;
        }
        let rest = closest_fillings(self.job, &left, self.effort)?;
        (pieces_of(&plan) + pieces_of(&rest) <= pieces).then(|| plan.into_iter().chain(rest).collect())
    }
}

/// Lists the full patterns whose weight suffices. In a plan of so few pieces the weight that all pieces together leave
/// unused is bounded, so no single one may leave more.
struct Listing<'l> {
    sizes: &'l [i64],
    worths: &'l [i64],
    capacity: i64,
    /// The best weight a unit of length among the kinds from each one on.
    rates: Vec<f64>,
    needed: f64,
    smallest: i64,
    left: Vec<u32>,
    pattern: Pattern,
    found: Vec<Pattern>,
    steps: u64,
}

impl<'l> Listing<'l> {
    fn new(job: &'l Job, left: &[u32], pieces: u32, certificate: &'l Certificate) -> Self {
        let unused = i128::from(pieces) * i128::from(certificate.most) - certificate.total(left);
        let needed = i128::from(certificate.most) - unused;
        let (sizes, worths) = (job.sizes.as_slice(), certificate.worths.as_slice());
        let mut rates = vec![0.0_f64; sizes.len() + 1];
        for kind in (0..sizes.len()).rev() {
            let rate = if 0 < left[kind] { as_f64(worths[kind]) / as_f64(sizes[kind]) } else { 0.0 };
            rates[kind] = rates[kind + 1].max(rate);
        }
        let smallest = left.iter().rposition(|count| 0 < *count).map_or(i64::MAX, |kind| sizes[kind]);
        Self {
            sizes,
            worths,
            capacity: job.capacity,
            rates,
            // Weights are whole: half of one covers every rounding error.
            needed: as_f64(i64::try_from(needed).unwrap_or(i64::MIN)) - 0.5,
            smallest,
            left: left.to_vec(),
            pattern: Vec::new(),
            found: Vec::new(),
            steps: 0,
        }
    }

    /// The patterns, and whether they are all.
    fn patterns(mut self, effort: &Effort<'_>) -> (Vec<Pattern>, bool) {
        self.add(0, self.capacity, 0);
        let complete = effort.spend(30 * self.steps) && self.found.len() < MOST_PATTERNS;
        (self.found, complete)
    }

    /// Adds items of this kind or smaller ones.
    fn add(&mut self, from: usize, room: i64, worth: i64) {
        if MOST_PATTERNS <= self.found.len() {
            return;
        }
        self.steps += 1;
        if room < self.smallest || from == self.sizes.len() {
            if self.needed <= as_f64(worth) && self.is_full(room) {
                self.found.push(self.pattern.clone());
            }
            return;
        }
        if as_f64(worth) + as_f64(room) * self.rates[from] < self.needed {
            return;
        }
        let (size, each) = (self.sizes[from], self.worths[from]);
        let fitting = u32::try_from(room / size).unwrap_or(u32::MAX).min(self.left[from]);
        for count in (0..=fitting).rev() {
            if 0 < count {
                self.pattern.push((from, count));
                self.left[from] -= count;
            }
            self.add(from + 1, room - size * i64::from(count), worth + each * i64::from(count));
            if 0 < count {
                self.left[from] += count;
                self.pattern.pop();
            }
        }
    }

    /// No item left fits beside the others.
    fn is_full(&self, room: i64) -> bool {
        self.left.iter().zip(self.sizes).all(|(count, size)| *count == 0 || room < *size)
    }
}

#[expect(clippy::cast_precision_loss, reason = "sizes and weights are bounded well below 2^53")]
fn as_f64(number: i64) -> f64 {
    number as f64
}
