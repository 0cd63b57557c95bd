use std::collections::HashMap;

use proptest::prelude::*;

use super::*;
use crate::record::canonical::tests::fixed;
use crate::record::header::{Header, Subject};
use crate::record::simulated::{Simulated, device, plot};

fn ids(links: &[Link<'_>]) -> Vec<EntryId> {
    causal_order(links).into_iter().map(|i| links[i].id).collect()
}

#[test]
fn what_was_seen_comes_first_and_the_rest_by_id() {
    let mut site = Simulated::default();
    let a = site.write(device(1), plot("1"), "reading-booked");
    let b = site.write(device(2), plot("1"), "reading-booked");
    let c = site.write(device(3), plot("1"), "reading-booked");
    let mut free = [a, b, c];
    free.sort();
    assert_eq!(ids(&site.links()), free);
    site.hand_over(device(3), device(1));
    let d = site.write(device(1), plot("1"), "reading-booked");
    let order = ids(&site.links());
    let at = |id| order.iter().position(|&i| i == id).unwrap();
    assert!(at(d) > at(a) && at(d) > at(c));
}

#[test]
fn the_clock_plays_no_part() {
    let mut site = Simulated::default();
    for n in 1..=3 {
        for _ in 0..4 {
            site.write(device(n), plot("1"), "reading-booked");
        }
    }
    let before = ids(&site.links());
    for (_, header) in &mut site.entries {
        header.time.utc_ms = 253_402_300_799_999 - header.time.utc_ms;
    }
    assert_eq!(ids(&site.links()), before);
}

#[test]
fn a_plots_evidence_keeps_what_its_entries_knew_through_entries_left_out() {
    // Device 1 writes on plot 1, then on plot 2; device 2 sees only the head, which is about plot 2.
    let mut site = Simulated::default();
    let first = site.write(device(1), plot("1"), "offered");
    site.write(device(1), plot("2"), "offered");
    site.hand_over(device(1), device(2));
    let second = site.write(device(2), plot("1"), "refused");
    let links = site.links_of(&plot("1"));
    assert_eq!(ids(&links), [first, second]);
    let link = |id| *links.iter().find(|l| l.id == id).unwrap();
    assert!(knew_of(&link(second), &link(first)));
    assert!(!knew_of(&link(first), &link(second)));
    assert!(!knew_of(&link(first), &link(first)));
}

#[test]
fn decisions_taken_without_knowing_of_each_other_are_told_apart() {
    let mut site = Simulated::default();
    let a = site.write(device(1), plot("1"), "offered");
    let b = site.write(device(2), plot("1"), "offered");
    let links = site.links();
    let link = |id| *links.iter().find(|l| l.id == id).unwrap();
    assert!(!knew_of(&link(a), &link(b)) && !knew_of(&link(b), &link(a)));
}

#[test]
fn marks_that_run_in_a_circle_still_give_every_entry_once() {
    let mut site = Simulated::default();
    for n in [1, 2] {
        site.write(device(n), plot("1"), "reading-booked");
    }
    for n in 0..2 {
        let (id, header) = &site.entries[1 - n];
        let mark = header.mark(*id);
        let other = header.device;
        site.entries[n].1.seen.insert(other, mark);
    }
    let mut expected: Vec<EntryId> = site.entries.iter().map(|(id, _)| *id).collect();
    expected.sort();
    assert_eq!(ids(&site.links()), expected);
}

#[test]
fn an_empty_set_and_entries_given_twice_are_no_trouble() {
    assert_eq!(causal_order(&[]), Vec::<usize>::new());
    let mut site = Simulated::default();
    site.write(device(1), Subject::Site, "plan-issued");
    let twice = [site.links(), site.links()].concat();
    assert_eq!(causal_order(&twice), [0]);
}

/// A register after so many acts: each writes on a device or hands one device's copy to another.
fn after(acts: &[(u8, u8, bool)]) -> Simulated {
    let mut site = Simulated::default();
    for &(a, b, writes) in acts {
        let (from, to) = (device(a % 4 + 1), device(b % 4 + 1));
        if writes {
            let subject = if b % 3 == 0 { Subject::Site } else { plot(&(b % 3).to_string()) };
            site.write(from, subject, "reading-booked");
        } else if from != to {
            site.hand_over(from, to);
        }
    }
    site
}

fn knowledge_comes_first(links: &[Link<'_>]) -> bool {
    let order = causal_order(links);
    let place: HashMap<usize, usize> = order.iter().enumerate().map(|(at, &i)| (i, at)).collect();
    place.len() == links.len()
        && (0..links.len())
            .all(|a| (0..links.len()).all(|b| !knew_of(&links[a], &links[b]) || place[&a] > place[&b]))
}

proptest! {
    #![proptest_config(fixed(100))]

    #[test]
    fn the_order_is_the_same_whatever_order_entries_come_in(
        acts in prop::collection::vec((any::<u8>(), any::<u8>(), prop::bool::weighted(0.7)), 0..60),
        keys in prop::collection::vec(any::<u64>(), 60),
    ) {
        let site = after(&acts);
        let links = site.links();
        let mut shuffled: Vec<(u64, Link<'_>)> = keys.into_iter().zip(links.iter().copied()).collect();
        shuffled.sort_by_key(|(key, _)| *key);
        let shuffled: Vec<Link<'_>> = shuffled.into_iter().map(|(_, link)| link).collect();
        prop_assert_eq!(ids(&links), ids(&shuffled));
        prop_assert!(knowledge_comes_first(&links));
        prop_assert!(knowledge_comes_first(&site.links_of(&plot("1"))));
        let findings = crate::record::check(
            &links, crate::record::simulated::REGISTER, &crate::record::Scope::Register);
        prop_assert_eq!(findings, Vec::new());
    }
}

/// Also keeps an eye on the growth: with quadratic work this would take minutes.
#[test]
fn a_long_record_of_many_devices_is_ordered_and_checked() {
    let mut site = Simulated::default();
    for n in 0u32..20_000 {
        let from = device(u8::try_from(n % 8).unwrap() + 1);
        site.write(from, plot(&(n % 60).to_string()), "reading-booked");
        if n % 50 == 0 {
            site.hand_over(from, device(u8::try_from((n / 50 + n / 400 + 1) % 8).unwrap() + 1));
        }
    }
    // A device does not take in its own copy, so at most all others are seen.
    let widest = site.entries.iter().map(|(_, h): &(EntryId, Header)| h.seen.len()).max();
    assert!(widest > Some(3));
    let links = site.links();
    assert_eq!(causal_order(&links).len(), links.len());
    let findings =
        crate::record::check(&links, crate::record::simulated::REGISTER, &crate::record::Scope::Register);
    assert_eq!(findings, []);
}
