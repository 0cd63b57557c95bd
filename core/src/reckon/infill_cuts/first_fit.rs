//! Plans made without looking back: first-fit decreasing, and the closest filling round the largest item left.

use super::bounds::choices;
use super::fill::quick_filling;
use super::stock::{Effort, Job, Plan, gathered};

/// Kinds beyond which the closest fillings take too long.
const MOST_KINDS: usize = 2_000;
/// Nodes for one filling.
const NODES: u64 = 2_000;

/// First-fit decreasing: each item, the largest first, into the first piece with room.
pub(super) fn first_fit_decreasing(job: &Job) -> Plan {
    let items: usize = job.demand.iter().map(|count| *count as usize).sum();
    let mut rooms = Rooms::new(items, job.capacity);
    let mut pieces: Vec<Vec<(usize, u32)>> = Vec::new();
    for (kind, (size, count)) in job.sizes.iter().zip(&job.demand).enumerate() {
        for _ in 0..*count {
            let at = rooms.take_first(*size);
            if pieces.len() <= at {
                pieces.resize_with(at + 1, Vec::new);
            }
            match pieces[at].last_mut() {
                Some((last, times)) if *last == kind => *times += 1,
                _ => pieces[at].push((kind, 1)),
            }
        }
    }
    gathered(pieces.into_iter().map(|pattern| (pattern, 1)))
}

/// Room left in each piece, as a tree of maxima, so that the first piece with enough is found in a few steps.
struct Rooms {
    leaves: usize,
    tree: Vec<i64>,
}

impl Rooms {
    fn new(pieces: usize, capacity: i64) -> Self {
        let leaves = pieces.max(1).next_power_of_two();
        Self { leaves, tree: vec![capacity; 2 * leaves] }
    }

    /// Takes room from the first piece that has it. There are as many pieces as items, so there is one.
    fn take_first(&mut self, size: i64) -> usize {
        let mut node = 1;
        while node < self.leaves {
            node = if size <= self.tree[2 * node] { 2 * node } else { 2 * node + 1 };
        }
        let leaf = node - self.leaves;
        self.tree[node] -= size;
        while 1 < node {
            node /= 2;
            self.tree[node] = self.tree[2 * node].max(self.tree[2 * node + 1]);
        }
        leaf
    }
}

/// Round the largest item left, the filling that leaves least over, as often as it can be cut. `None` when there are
/// too many kinds or the effort is used up.
pub(super) fn closest_fillings(job: &Job, demand: &[u32], effort: &Effort<'_>) -> Option<Plan> {
    if MOST_KINDS < job.sizes.len() {
        return None;
    }
    let mut left = demand.to_vec();
    let mut plan = Vec::new();
    while let Some(largest) = left.iter().position(|count| 0 < *count) {
        left[largest] -= 1;
        let room = job.capacity - job.sizes[largest];
        let filling = quick_filling(room, choices(job, &left, &job.sizes), NODES);
        left[largest] += 1;
        if !effort.spend(30 * filling.nodes + 300 * left.len() as u64) {
            return None;
        }
        let mut pattern = filling.pattern;
        match pattern.iter_mut().find(|(kind, _)| *kind == largest) {
            Some((_, count)) => *count += 1,
            None => pattern.insert(0, (largest, 1)),
        }
        let times = pattern.iter().map(|(kind, count)| left[*kind] / count).min().unwrap_or(1);
        for (kind, count) in &pattern {
            left[*kind] -= count * times;
        }
        plan.push((pattern, times));
    }
    Some(gathered(plan))
}
