//! The most that one stock piece can carry: a bounded knapsack in whole numbers, by branch and bound; by a table over
//! all lengths where that takes too long and the piece is short enough for one.

use super::stock::Pattern;

/// What may be put into a piece: kind, size, worth, and how many at most.
#[derive(Debug, Clone, Copy)]
pub(super) struct Choice {
    pub kind: usize,
    pub size: i64,
    pub worth: i64,
    pub most: u32,
}

/// The best filling found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Filling {
    /// What it is made of.
    pub pattern: Pattern,
    /// What it is worth.
    pub worth: i64,
    /// No filling is worth more; equal to `worth` unless the search was cut short.
    pub at_most: i64,
    /// Nodes that it took.
    pub nodes: u64,
}

/// Fills a piece of this capacity with the most worth. What a piece carries stays below 2^40 (lengths within 10 km in
/// whole micrometres do), so that bounds in binary floats are right to far less than one. Cut short after `most_nodes`; `at_most` then still holds.
pub(super) fn best_filling(capacity: i64, choices: impl Iterator<Item = Choice>, most_nodes: u64) -> Filling {
    filling(capacity, choices, most_nodes, true)
}

/// The best filling met within so few nodes: good enough where nothing is to be proved.
pub(super) fn quick_filling(
    capacity: i64,
    choices: impl Iterator<Item = Choice>,
    most_nodes: u64,
) -> Filling {
    filling(capacity, choices, most_nodes, false)
}

fn filling(capacity: i64, choices: impl Iterator<Item = Choice>, most_nodes: u64, table: bool) -> Filling {
    let mut choices: Vec<Choice> =
        choices.filter(|choice| 0 < choice.worth && 0 < choice.most && choice.size <= capacity).collect();
    // Worth a unit of length descending; the larger first where that is equal.
    choices.sort_by(|a, b| {
        let (left, right) =
            (i128::from(a.worth) * i128::from(b.size), i128::from(b.worth) * i128::from(a.size));
        right.cmp(&left).then(b.size.cmp(&a.size)).then(a.kind.cmp(&b.kind))
    });
    let mut smallest: Vec<i64> = choices.iter().map(|choice| choice.size).collect();
    for at in (1..smallest.len()).rev() {
        smallest[at - 1] = smallest[at - 1].min(smallest[at]);
    }
    let mut search = Search {
        smallest,
        rates: choices.iter().map(|choice| as_f64(choice.worth) / as_f64(choice.size)).collect(),
        taken: vec![0; choices.len()],
        best_taken: vec![0; choices.len()],
        choices,
        best: 0,
        nodes: 0,
        most_nodes,
    };
    search.descend(0, capacity, 0);
    if table
        && most_nodes < search.nodes
        && let Some(filling) = by_table(capacity, &search.choices)
    {
        return Filling { nodes: search.nodes + filling.nodes, ..filling };
    }
    let mut pattern: Pattern = search
        .choices
        .iter()
        .zip(&search.best_taken)
        .filter(|(_, taken)| **taken > 0)
        .map(|(choice, taken)| (choice.kind, *taken))
        .collect();
    pattern.sort_unstable();
    let at_most =
        if search.nodes <= most_nodes { search.best } else { linear_bound(capacity, &search.choices) };
    Filling { pattern, worth: search.best, at_most, nodes: search.nodes }
}

/// The largest table, in entries.
const MOST_ENTRIES: usize = 16 << 20;

/// The best filling for every length up to the capacity, one choice after the other. `None` when the table would be too
/// large. Its nodes are a tenth of its entries, which are that much quicker.
fn by_table(capacity: i64, choices: &[Choice]) -> Option<Filling> {
    let lengths = usize::try_from(capacity).ok()?.checked_add(1)?;
    // So many items at once: 1, 2, 4 … of a choice make up every count.
    let mut lots: Vec<(usize, u32)> = Vec::new();
    for (at, choice) in choices.iter().enumerate() {
        let mut left = u32::try_from(capacity / choice.size).unwrap_or(u32::MAX).min(choice.most);
        let mut lot = 1;
        while 0 < left {
            let count = lot.min(left);
            lots.push((at, count));
            left -= count;
            lot *= 2;
        }
    }
    let entries = lengths.checked_mul(lots.len()).filter(|entries| *entries <= MOST_ENTRIES)?;
    let mut best = vec![0_i64; lengths];
    let mut taken = vec![false; entries];
    for ((at, count), taken) in lots.iter().zip(taken.chunks_exact_mut(lengths)) {
        let size = usize::try_from(choices[*at].size * i64::from(*count)).ok()?;
        let worth = choices[*at].worth * i64::from(*count);
        for length in (size..lengths).rev() {
            let with = best[length - size] + worth;
            if best[length] < with {
                (best[length], taken[length]) = (with, true);
            }
        }
    }
    let mut length = lengths - 1;
    let mut counts = vec![0; choices.len()];
    for ((at, count), taken) in lots.iter().zip(taken.chunks_exact(lengths)).rev() {
        if taken[length] {
            counts[*at] += count;
            length -= usize::try_from(choices[*at].size * i64::from(*count)).ok()?;
        }
    }
    let some = choices.iter().zip(counts).filter(|(_, count)| 0 < *count);
    let mut pattern: Pattern = some.map(|(choice, count)| (choice.kind, count)).collect();
    pattern.sort_unstable();
    let worth = best[lengths - 1];
    Some(Filling { pattern, worth, at_most: worth, nodes: entries as u64 / 10 })
}

/// The worth of a piece that may hold a part of one item: no filling is worth more.
fn linear_bound(capacity: i64, choices: &[Choice]) -> i64 {
    let (mut left, mut worth) = (i128::from(capacity), 0_i128);
    for choice in choices {
        let (size, each) = (i128::from(choice.size), i128::from(choice.worth));
        let whole = (left / size).min(i128::from(choice.most));
        left -= whole * size;
        worth += whole * each;
        if whole < i128::from(choice.most) {
            worth += (left * each) / size;
            break;
        }
    }
    i64::try_from(worth).unwrap_or(i64::MAX)
}

struct Search {
    choices: Vec<Choice>,
    rates: Vec<f64>,
    /// The smallest size from each choice on.
    smallest: Vec<i64>,
    taken: Vec<u32>,
    best: i64,
    best_taken: Vec<u32>,
    nodes: u64,
    most_nodes: u64,
}

impl Search {
    /// Adds choices from this one on. Depth is bounded by the kinds that fit one piece together.
    fn descend(&mut self, from: usize, left: i64, worth: i64) {
        if self.best < worth {
            self.best = worth;
            self.best_taken.clone_from(&self.taken);
        }
        for at in from..self.choices.len() {
            if left < self.smallest[at] {
                return;
            }
            let Choice { size, worth: each, most, .. } = self.choices[at];
            // Worths are whole and below 2^40: a rounding error of the bound never reaches a thousandth.
            if as_f64(worth) + as_f64(left) * self.rates[at] < as_f64(self.best) + 0.999 {
                return;
            }
            if left < size {
                continue;
            }
            let fitting = u32::try_from(left / size).unwrap_or(u32::MAX).min(most);
            for count in (1..=fitting).rev() {
                self.nodes += 1;
                if self.most_nodes < self.nodes {
                    self.taken[at] = 0;
                    return;
                }
                self.taken[at] = count;
                self.descend(at + 1, left - size * i64::from(count), worth + each * i64::from(count));
            }
            self.taken[at] = 0;
        }
    }
}

#[expect(clippy::cast_precision_loss, reason = "sizes and worths are bounded well below 2^53")]
fn as_f64(number: i64) -> f64 {
    number as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn choices(list: &[(i64, i64, u32)]) -> impl Iterator<Item = Choice> {
        list.iter().enumerate().map(|(kind, (size, worth, most))| Choice {
            kind,
            size: *size,
            worth: *worth,
            most: *most,
        })
    }

    /// Every filling tried: what branch and bound must give.
    fn by_trying(capacity: i64, list: &[(i64, i64, u32)]) -> i64 {
        let Some(((size, worth, most), rest)) = list.split_first() else { return 0 };
        (0..=i64::from(*most))
            .take_while(|count| count * size <= capacity)
            .map(|count| count * worth + by_trying(capacity - count * size, rest))
            .max()
            .unwrap()
    }

    #[test]
    fn the_best_filling_is_the_best_of_all() {
        let mut seed = 7_u64;
        let mut random = |below: u64| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            i64::try_from((seed >> 33) % below).unwrap()
        };
        for _ in 0..300 {
            let list: Vec<(i64, i64, u32)> =
                (0..6).map(|_| (1 + random(40), random(30), u32::try_from(random(4)).unwrap())).collect();
            let found = best_filling(100, choices(&list), u64::MAX);
            assert_eq!(found.worth, by_trying(100, &list), "{list:?}");
            assert_eq!(found.at_most, found.worth);
            let sum = |value: fn(&(i64, i64, u32)) -> i64| -> i64 {
                found.pattern.iter().map(|(kind, count)| value(&list[*kind]) * i64::from(*count)).sum()
            };
            assert_eq!(sum(|one| one.1), found.worth);
            assert!(sum(|one| one.0) <= 100);
            assert!(found.pattern.iter().all(|(kind, count)| *count <= list[*kind].2));
        }
    }

    #[test]
    fn a_search_cut_short_still_says_what_no_filling_exceeds() {
        let list: Vec<(i64, i64, u32)> =
            (0..30).map(|kind| (1000 + 37 * kind, 1000 + 36 * kind, 3)).collect();
        let whole = best_filling(20_011, choices(&list), u64::MAX);
        let cut = best_filling(20_011, choices(&list), 5);
        assert_eq!((cut.worth, cut.at_most), (whole.worth, whole.worth), "a table settles short pieces");
        // The same in lengths too fine for a table.
        let fine: Vec<(i64, i64, u32)> = list.iter().map(|one| (one.0 * 1_000_003, one.1, one.2)).collect();
        let cut = best_filling(20_011 * 1_000_003, choices(&fine), 5);
        assert!(cut.worth <= whole.worth && whole.worth <= cut.at_most);
    }

    #[test]
    fn a_table_finds_what_branch_and_bound_finds() {
        let mut seed = 11_u64;
        let mut random = |below: u64| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            i64::try_from((seed >> 33) % below).unwrap()
        };
        for _ in 0..100 {
            let list: Vec<Choice> = (0..12)
                .map(|kind| Choice {
                    kind,
                    size: 5 + random(60),
                    worth: 1 + random(60),
                    most: 1 + u32::try_from(random(6)).unwrap(),
                })
                .collect();
            let table = by_table(200, &list).unwrap();
            assert_eq!(table.worth, best_filling(200, list.iter().copied(), u64::MAX).worth);
            let sum = |value: fn(&Choice) -> i64| -> i64 {
                table.pattern.iter().map(|(kind, count)| value(&list[*kind]) * i64::from(*count)).sum()
            };
            assert_eq!(sum(|one| one.worth), table.worth);
            assert!(sum(|one| one.size) <= 200);
        }
    }
}
