use super::*;
use crate::record::simulated::{REGISTER, START_MS, Simulated, device, plot};
use crate::time::Timestamp;

/// Two devices, two plots and the site; device 2 takes in what device 1 has in between.
fn busy() -> Simulated {
    let mut site = Simulated::default();
    site.write(device(1), Subject::Site, "plan-issued");
    for _ in 0..3 {
        site.write(device(1), plot("1"), "reading-booked");
        site.write(device(1), plot("2"), "reading-booked");
        site.hand_over(device(1), device(2));
        site.write(device(2), plot("1"), "photo-taken");
        site.write(device(2), Subject::Site, "limits-issued");
    }
    site.hand_over(device(2), device(1));
    site.write(device(1), plot("1"), "reading-booked");
    site
}

fn whole(site: &Simulated) -> Vec<Finding> {
    check(&site.links(), REGISTER, &Scope::Register)
}

fn kinds(findings: &[Finding]) -> Vec<&'static str> {
    findings.iter().map(|f| f.kind.name()).collect()
}

fn plot_scope(name: &str) -> Scope {
    Scope::Plot(PlotId::new(name).unwrap())
}

#[test]
fn a_sound_register_has_no_findings_in_either_scope() {
    let site = busy();
    assert_eq!(whole(&site), []);
    for name in ["1", "2", "none"] {
        let part = site.links_of(&plot(name));
        assert_eq!(check(&part, REGISTER, &plot_scope(name)), [], "plot {name}");
    }
    assert_eq!(clock_findings(&site.links()), []);
}

#[test]
fn an_entry_taken_out_of_the_middle_leaves_a_gap() {
    let site = busy();
    let followed: Vec<EntryId> = site.links().iter().filter_map(|l| l.header.prev).collect();
    for gone in followed {
        let mut links = site.links();
        links.retain(|l| l.id != gone);
        let findings = check(&links, REGISTER, &Scope::Register);
        assert!(kinds(&findings).contains(&"gap"), "{findings:?}");
    }
}

#[test]
fn an_entry_taken_out_of_a_plots_evidence_is_missed_there_too() {
    let site = busy();
    let followed: Vec<EntryId> =
        site.links_of(&plot("1")).iter().filter_map(|l| l.header.subject_prev).collect();
    assert!(followed.len() > 5);
    for gone in followed {
        let mut links = site.links_of(&plot("1"));
        links.retain(|l| l.id != gone);
        let findings = check(&links, REGISTER, &plot_scope("1"));
        assert!(kinds(&findings).contains(&"subject-chain"), "{findings:?}");
    }
}

#[test]
fn a_cut_off_end_is_proved_by_heads_kept_elsewhere_and_by_nothing_else() {
    let site = busy();
    let kept = heads(&site.links());
    assert_eq!(kept.len(), 2);
    assert_eq!(missing_heads(&kept, &site.links()), []);
    let last = site.entries.last().unwrap().0;
    let mut links = site.links();
    links.retain(|l| l.id != last);
    assert_eq!(check(&links, REGISTER, &Scope::Register), []);
    assert_eq!(missing_heads(&kept, &links).iter().map(|h| h.id).collect::<Vec<_>>(), [last]);
}

#[test]
fn nobody_hides_the_end_of_another_devices_chain() {
    let mut site = busy();
    let ends = heads(&site.links());
    let of_2 = ends.iter().find(|h| h.device == device(2)).unwrap().id;
    let last_of_1 = site.entries.last().unwrap().0;
    site.header_mut(last_of_1).prev = Some(of_2);
    assert!(heads(&site.links()).iter().any(|h| h.id == of_2));
}

#[test]
fn a_fork_is_reported_on_both_branches_and_both_are_kept() {
    let mut site = busy();
    let restored = site.clone();
    let a = site.write(device(1), plot("1"), "reading-booked");
    let mut other = restored;
    let b = other.write(device(1), plot("2"), "photo-taken");
    let c = other.write(device(1), plot("1"), "photo-taken");
    site.entries.extend(other.entries.into_iter().filter(|(id, _)| [b, c].contains(id)));
    let findings = whole(&site);
    assert_eq!(kinds(&findings), ["fork", "fork"], "{findings:?}");
    let on: BTreeSet<EntryId> = findings.iter().map(|f| f.entry).collect();
    assert_eq!(on, BTreeSet::from([a, b]));
    assert!(findings.iter().all(|f| f.kind.breaks_the_record()));
    // Both branches stand among the heads.
    let ends: BTreeSet<EntryId> = heads(&site.links()).iter().map(|h| h.id).collect();
    assert!(ends.contains(&a) && ends.contains(&c));
    // In a plot's evidence the two branches on that plot are told as well.
    let part = site.links_of(&plot("1"));
    assert_eq!(kinds(&check(&part, REGISTER, &plot_scope("1"))), ["fork", "fork"]);
}

#[test]
fn two_beginnings_of_one_device_are_a_fork() {
    let mut site = Simulated::default();
    site.write(device(1), plot("1"), "reading-booked");
    let mut other = Simulated::default();
    other.write(device(1), plot("1"), "photo-taken");
    site.entries.extend(other.entries);
    assert_eq!(kinds(&whole(&site)), ["fork", "fork"]);
}

/// The findings after a header was changed without its id: what `open` would have refused before.
fn after(change: impl FnOnce(&mut Simulated)) -> Vec<&'static str> {
    let mut site = busy();
    change(&mut site);
    let mut found = kinds(&whole(&site));
    found.dedup();
    found
}

#[test]
fn wrong_links_are_named() {
    let last = busy().entries.last().unwrap().0;
    let first = busy().entries[0].0;
    let of_other_device = busy().entries.iter().find(|(_, h)| h.device == device(2)).unwrap().0;
    assert_eq!(after(|s| s.header_mut(last).register = RegisterId([8; 16])), ["foreign-register"]);
    assert!(after(|s| s.header_mut(last).prev = Some(first)).contains(&"wrong-predecessor"));
    assert!(after(|s| s.header_mut(last).prev = Some(of_other_device)).contains(&"wrong-predecessor"));
    assert!(after(|s| s.header_mut(last).seq += 1).contains(&"wrong-predecessor"));
    assert_eq!(after(|s| s.header_mut(last).subject_prev = Some(first)), ["subject-chain"]);
    assert_eq!(after(|s| s.header_mut(last).subject_prev = None), ["subject-chain"]);
    assert_eq!(
        after(|s| s.header_mut(last).seen.values_mut().for_each(|m| m.id = EntryId([5; 32]))),
        ["seen-absent"]
    );
    assert_eq!(after(|s| s.header_mut(last).seen.values_mut().for_each(|m| m.seq -= 1)), ["seen-wrong"]);
    // The last entry of device 2 is number 6; its number 5 had seen more of device 1 than nothing.
    let last_of_2 = busy().entries.iter().rfind(|(_, h)| h.device == device(2)).unwrap().0;
    assert!(after(|s| s.header_mut(last_of_2).seen.clear()).contains(&"seen-forgotten"));
}

#[test]
fn a_circle_of_predecessors_ends() {
    // Impossible while ids are digests; checked, because headers come from files.
    let mut site = busy();
    let ids: Vec<EntryId> = site.links().iter().map(|l| l.id).collect();
    for (i, id) in ids.iter().enumerate() {
        let next = ids[(i + 1) % ids.len()];
        let header = site.header_mut(*id);
        (header.prev, header.subject_prev) = (Some(next), Some(next));
    }
    assert!(!whole(&site).is_empty());
    assert!(!check(&site.links(), REGISTER, &plot_scope("1")).is_empty());
}

#[test]
fn what_is_about_another_plot_does_not_belong_into_a_plots_evidence() {
    let site = busy();
    let findings = check(&site.links(), REGISTER, &plot_scope("1"));
    assert!(!findings.is_empty());
    assert!(findings.iter().all(|f| f.kind == FindingKind::OutsideScope));
}

#[test]
fn findings_do_not_depend_on_the_order_or_on_entries_given_twice() {
    let mut site = busy();
    site.entries.remove(4);
    site.entries.remove(7);
    let links = site.links();
    let expected = check(&links, REGISTER, &Scope::Register);
    assert!(!expected.is_empty());
    let backwards: Vec<Link<'_>> = links.iter().rev().chain(&links).copied().collect();
    assert_eq!(check(&backwards, REGISTER, &Scope::Register), expected);
}

#[test]
fn a_clock_that_went_backwards_is_pointed_out_and_breaks_nothing() {
    let mut site = busy();
    let last = site.entries.last().unwrap().0;
    site.header_mut(last).time = Timestamp::new(START_MS, 60).unwrap();
    let findings = clock_findings(&site.links());
    // One second before its own device's entry; within the tolerance of the other device's.
    assert_eq!(kinds(&findings), ["clock-went-back"]);
    assert!(!findings[0].kind.breaks_the_record());
    site.header_mut(last).time = Timestamp::new(START_MS - CLOCK_TOLERANCE_MS, 60).unwrap();
    assert_eq!(kinds(&clock_findings(&site.links())), ["clock-went-back", "clock-went-back"]);
}

#[test]
fn the_root_is_the_digest_of_the_sorted_lines() {
    let head = |n: u8, seq| Head { device: device(n), seq, id: EntryId([n; 32]) };
    let heads = BTreeSet::from([head(2, 5), head(1, 12)]);
    let text = format!(
        "gaugerod root 1\n{} 12 {}\n{} 5 {}\n",
        "01".repeat(16),
        "01".repeat(32),
        "02".repeat(16),
        "02".repeat(32)
    );
    assert_eq!(root(&heads), Sha256Digest::of(text.as_bytes()));
    let format = include_str!("FORMAT.md");
    for text in text.lines().chain([root(&heads).to_hex().as_str()]) {
        assert!(format.lines().any(|line| line == text), "FORMAT.md lacks {text}");
    }
    for other in [BTreeSet::new(), BTreeSet::from([head(2, 5)]), BTreeSet::from([head(2, 5), head(1, 13)])] {
        assert_ne!(root(&other), root(&heads));
    }
}
