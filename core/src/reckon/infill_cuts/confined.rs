//! The relaxation over listed patterns alone, with cuts: what every case of a search is judged by.
//!
//! A cut says of a set of kinds: half of what is asked for, rounded up, is still covered when each pattern counts half
//! of what it gives, rounded up (Chvátal 1973; found modulo 2 as by Caprara, Fischetti and Letchford 2000). Prices come
//! from binary floats; what the best pattern carries, and what that leaves over, is settled in whole numbers.

use super::relaxed::Simplex;
use super::stock::{Effort, Pattern};

/// Sets of kinds fit one word.
const MOST_KINDS: usize = 128;
/// The most cuts that one relaxation takes.
const MOST_CUTS: usize = 40;
/// The most rounds of cutting, and the most cuts of one round.
const MOST_ROUNDS: usize = 12;
const CUTS_A_ROUND: usize = 4;

/// A set of kinds, one bit each.
pub(super) type KindSet = u128;

/// What the relaxation came to.
#[derive(Debug)]
pub(super) struct Confined {
    /// Listed patterns by their place, and how often each is cut.
    pub uses: Vec<(usize, f64)>,
    /// What each listed pattern carries by whole weights.
    pub carried: Vec<i128>,
    /// The most that one carries.
    pub most: i128,
    /// What so many pieces leave of that; below 0 there is no plan of so few.
    pub unused: i128,
}

/// Relaxes what is left over listed patterns; `cuts` are tried first and new ones added to them.
pub(super) fn confine(
    left: &[u32],
    listed: &[&Pattern],
    pieces: u32,
    cuts: &mut Vec<KindSet>,
    effort: &Effort<'_>,
) -> Confined {
    let mut round = 0;
    loop {
        let rows = Rows::new(left, cuts);
        let columns: Vec<Vec<(usize, u32)>> = listed.iter().map(|pattern| rows.column(pattern)).collect();
        let mut simplex = Simplex::new(rows.asked.iter().map(|count| f64::from(*count)).collect());
        for column in &columns {
            simplex.add(column);
        }
        simplex.settle(effort);
        let worths = simplex.worths();
        let carry = |column: &Vec<(usize, u32)>| -> i128 {
            column.iter().map(|(row, count)| i128::from(worths[*row]) * i128::from(*count)).sum()
        };
        let carried: Vec<i128> = columns.iter().map(carry).collect();
        let most = carried.iter().copied().max().unwrap_or(0);
        let asked: i128 = worths
            .iter()
            .zip(&rows.asked)
            .map(|(worth, count)| i128::from(*worth) * i128::from(*count))
            .sum();
        let unused = i128::from(pieces) * most - asked;
        let uses = simplex.uses();
        // Cuts without a price do no work; the next relaxation starts from those that do.
        let working = |index: &usize| 0 < worths[rows.kinds.len() + index];
        *cuts = (0..cuts.len()).filter(working).map(|index| cuts[index]).collect();
        round += 1;
        let more = 0 <= unused && round < MOST_ROUNDS && 0 < effort.left() && cuts.len() < MOST_CUTS;
        let new = if more { rows.new_cuts(&columns, &simplex, cuts) } else { Vec::new() };
        if new.is_empty() {
            return Confined { uses, carried, most, unused };
        }
        cuts.extend(new);
    }
}

/// What is asked for: kinds that are left, then cuts.
struct Rows {
    kinds: Vec<usize>,
    row_of: Vec<Option<usize>>,
    left: Vec<u32>,
    cuts: Vec<KindSet>,
    asked: Vec<u32>,
}

impl Rows {
    fn new(left: &[u32], cuts: &[KindSet]) -> Self {
        let kinds: Vec<usize> = (0..left.len()).filter(|kind| 0 < left[*kind]).collect();
        let mut row_of = vec![None; left.len()];
        for (row, kind) in kinds.iter().enumerate() {
            row_of[*kind] = Some(row);
        }
        let mut asked: Vec<u32> = kinds.iter().map(|kind| left[*kind]).collect();
        asked.extend(cuts.iter().map(|cut| {
            let whole: u32 = (0..left.len()).filter(|kind| cut >> kind & 1 == 1).map(|kind| left[kind]).sum();
            whole.div_ceil(2)
        }));
        Self { kinds, row_of, left: left.to_vec(), cuts: cuts.to_vec(), asked }
    }

    /// A pattern by rows, no more of a kind than is left.
    fn column(&self, pattern: &Pattern) -> Vec<(usize, u32)> {
        let given = |(kind, count): &(usize, u32)| {
            self.row_of[*kind].map(|row| (row, *kind, (*count).min(self.left[*kind])))
        };
        let given: Vec<(usize, usize, u32)> = pattern.iter().filter_map(given).collect();
        let mut column: Vec<(usize, u32)> = given.iter().map(|(row, _, count)| (*row, *count)).collect();
        for (index, cut) in self.cuts.iter().enumerate() {
            let whole: u32 =
                given.iter().filter(|(_, kind, _)| cut >> kind & 1 == 1).map(|(_, _, count)| count).sum();
            if 0 < whole {
                column.push((self.kinds.len() + index, whole.div_ceil(2)));
            }
        }
        column
    }

    /// Sets of kinds of which an odd number is left, while every pattern in use gives an even number: half a piece
    /// is then missing.
    fn new_cuts(&self, columns: &[Vec<(usize, u32)>], simplex: &Simplex, known: &[KindSet]) -> Vec<KindSet> {
        let count = self.kinds.len();
        if MOST_KINDS < count || MOST_KINDS < self.left.len() {
            return Vec::new();
        }
        let mut equations: Vec<KindSet> = Vec::new();
        for (at, _) in simplex.uses() {
            let odd = columns[at].iter().filter(|(row, given)| *row < count && given % 2 == 1);
            equations.push(odd.fold(0, |set, (row, _)| set | 1 << row));
        }
        equations.extend(simplex.surplus_rows().filter(|row| *row < count).map(|row| 1 << row));
        let odd_left =
            (0..count).filter(|row| self.asked[*row] % 2 == 1).fold(0, |set: KindSet, row| set | 1 << row);
        let to_kinds = |set: KindSet| {
            (0..count)
                .filter(|row| set >> row & 1 == 1)
                .fold(0, |kinds: KindSet, row| kinds | 1 << self.kinds[row])
        };
        solutions(&mut equations, count)
            .into_iter()
            .filter(|set| (set & odd_left).count_ones() % 2 == 1)
            .map(to_kinds)
            .filter(|set| !known.contains(set))
            .take(CUTS_A_ROUND)
            .collect()
    }
}

/// A basis of the sets that meet every equation's set in an even number, among so many elements.
fn solutions(equations: &mut [KindSet], count: usize) -> Vec<KindSet> {
    let mut pivots: Vec<(usize, KindSet)> = Vec::new();
    for equation in equations.iter_mut() {
        for (bit, pivot) in &pivots {
            if *equation >> bit & 1 == 1 {
                *equation ^= pivot;
            }
        }
        if *equation != 0 {
            let bit = equation.trailing_zeros() as usize;
            for (_, pivot) in &mut pivots {
                if *pivot >> bit & 1 == 1 {
                    *pivot ^= *equation;
                }
            }
            pivots.push((bit, *equation));
        }
    }
    (0..count)
        .filter(|free| pivots.iter().all(|(bit, _)| bit != free))
        .map(|free| {
            let bound = pivots.iter().filter(|(_, pivot)| pivot >> free & 1 == 1);
            bound.fold(1 << free, |set, (bit, _)| set | 1 << bit)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solutions_meet_every_equation_evenly_and_are_all() {
        let equations = [0b1_0110, 0b0_1100, 0b1_1010_u128];
        let found = solutions(&mut equations.clone(), 5);
        let even =
            |set: u128| equations.iter().all(|equation| (set & equation).count_ones().is_multiple_of(2));
        assert!(found.iter().all(|set| even(*set)));
        // As many independent ones as the number of even sets says: 2^n.
        assert_eq!(1 << found.len(), (0..32_u128).filter(|set| even(*set)).count());
    }
}
