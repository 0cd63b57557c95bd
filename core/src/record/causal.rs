//! Causal order: who could know of what. Topological over predecessors and what was seen, ties by id; clocks
//! play no part, and neither does the order in which entries arrived.

use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap, HashMap};

use super::chain::Link;
use crate::ids::{DeviceId, EntryId};

/// Whether the device knew of `earlier` when it wrote `later`: its own entries with a lower number, and the
/// entries of others up to the mark it had seen. Needs none of the entries between. On a forked device the
/// numbers of both branches count alike; the fork itself is a finding of [`super::check`].
pub fn knew_of(later: &Link<'_>, earlier: &Link<'_>) -> bool {
    if later.id == earlier.id {
        return false;
    }
    if later.header.device == earlier.header.device {
        return earlier.header.seq < later.header.seq;
    }
    later.header.seen.get(&earlier.header.device).is_some_and(|mark| earlier.header.seq <= mark.seq)
}

/// The one order in which these entries are folded: indices into `links`, every entry after all it knew of that
/// is among them, ties by id. An entry given twice is listed once.
///
/// The same set gives the same order, whatever order it comes in; O(n log n). Entries of a subset keep what they
/// knew of each other, since what was seen is told by number. Sets that contradict themselves (numbers that run
/// in a circle, which no honest device writes) come out in full as well, the smallest id of the circle first.
pub fn causal_order(links: &[Link<'_>]) -> Vec<usize> {
    let mut by_id: HashMap<EntryId, usize> = HashMap::with_capacity(links.len());
    for (index, link) in links.iter().enumerate() {
        by_id.entry(link.id).or_insert(index);
    }
    let mut chains: HashMap<DeviceId, Vec<(u64, usize)>> = HashMap::new();
    for &index in by_id.values() {
        let header = links[index].header;
        chains.entry(header.device).or_default().push((header.seq, index));
    }
    for chain in chains.values_mut() {
        chain.sort_unstable_by_key(|&(seq, index)| (seq, links[index].id));
    }

    let mut waits: Vec<usize> = vec![0; links.len()];
    let mut followers: Vec<Vec<usize>> = vec![Vec::new(); links.len()];
    let mut befores: Vec<usize> = Vec::new();
    for &index in by_id.values() {
        let header = links[index].header;
        befores.clear();
        match header.prev.and_then(|id| by_id.get(&id)) {
            Some(&prev) => befores.push(prev),
            // The entry before is about another subject or absent: the nearest of the device that is here.
            None => last_up_to(&chains, header.device, header.seq.saturating_sub(1), &mut befores),
        }
        befores.extend(header.subject_prev.and_then(|id| by_id.get(&id)));
        for (&device, mark) in &header.seen {
            match by_id.get(&mark.id) {
                Some(&seen) => befores.push(seen),
                None => last_up_to(&chains, device, mark.seq, &mut befores),
            }
        }
        befores.sort_unstable();
        befores.dedup();
        for &before in befores.iter().filter(|&&before| before != index) {
            waits[index] += 1;
            followers[before].push(index);
        }
    }

    let mut ready: BinaryHeap<Reverse<(EntryId, usize)>> = BinaryHeap::new();
    let mut blocked: BTreeSet<(EntryId, usize)> = BTreeSet::new();
    for (&id, &index) in &by_id {
        if waits[index] == 0 {
            ready.push(Reverse((id, index)));
        } else {
            blocked.insert((id, index));
        }
    }
    let mut order = Vec::with_capacity(by_id.len());
    loop {
        let next = match ready.pop() {
            Some(Reverse((_, index))) => index,
            None => match blocked.pop_first() {
                Some((_, index)) => index,
                None => return order,
            },
        };
        order.push(next);
        for &follower in &followers[next] {
            waits[follower] = waits[follower].saturating_sub(1);
            let key = (links[follower].id, follower);
            if waits[follower] == 0 && blocked.remove(&key) {
                ready.push(Reverse(key));
            }
        }
    }
}

/// The entries of a device with the greatest number not above `seq`: one, or several where its chain forked.
fn last_up_to(
    chains: &HashMap<DeviceId, Vec<(u64, usize)>>,
    device: DeviceId,
    seq: u64,
    into: &mut Vec<usize>,
) {
    let Some(chain) = chains.get(&device) else { return };
    let end = chain.partition_point(|&(s, _)| s <= seq);
    let Some(&(last, _)) = end.checked_sub(1).and_then(|i| chain.get(i)) else {
        return;
    };
    into.extend(chain[..end].iter().rev().take_while(|&&(s, _)| s == last).map(|&(_, index)| index));
}

#[cfg(test)]
#[path = "causal_tests.rs"]
mod tests;
