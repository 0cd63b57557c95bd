//! Creating, appending, taking over, reading back.

use super::*;
use crate::ids::Sha256Digest;
use crate::record::Head;

#[test]
fn what_was_appended_is_there_after_reopening_as_it_was() {
    let site = Site::new();
    let mut store = site.create();
    let mut written = Vec::new();
    for n in 0..5 {
        store
            .append(|heads| {
                let entry = next(heads, DEVICE_A, &plot("14"), &format!("reading {n}"));
                written.push(entry.clone());
                Ok::<_, StoreError>(vec![entry])
            })
            .unwrap();
    }
    drop(store);
    let store = Store::open(&site.path).unwrap();
    assert_eq!(store.meta(), &meta());
    assert_eq!(store.count().unwrap(), 5);
    let read: Vec<SealedEntry> = store.entries().unwrap().into_iter().map(|s| s.entry).collect();
    assert_eq!(read, written);
    assert_eq!(
        store.entry(written[2].id).unwrap().unwrap(),
        Stored { arrival: 3, entry: written[2].clone() }
    );
    assert!(store.has_entry(written[4].id).unwrap());
    assert!(store.entry(EntryId([0; 32])).unwrap().is_none());
    assert_eq!(store.last_arrival().unwrap(), 5);
    assert_eq!(store.entries_since(3).unwrap().len(), 2);
    assert_eq!(store.entries_of(&plot("14")).unwrap().len(), 5);
    assert_eq!(store.entries_of(&plot("15")).unwrap().len(), 0);
    assert_eq!(store.entries_of_kind("reading-booked").unwrap().len(), 5);
    assert!(check(&store).findings.is_empty());
}

#[test]
fn a_register_can_be_made_with_its_first_entries() {
    let site = Site::new();
    let first = next(&Heads::default(), DEVICE_A, &Subject::Site, "made");
    let store = Store::create(&site.path, &meta(), std::slice::from_ref(&first)).unwrap();
    assert_eq!(store.heads().unwrap().device(DEVICE_A).unwrap().id, first.id);
}

#[test]
fn an_unsound_first_entry_leaves_no_files() {
    let site = Site::new();
    let mut first = next(&Heads::default(), DEVICE_A, &Subject::Site, "made");
    first.payload.push(' ');
    let error = Store::create(&site.path, &meta(), &[first]).unwrap_err();
    assert!(matches!(error, StoreError::Entry { .. }), "{error}");
    assert_eq!(std::fs::read_dir(site.folder.path()).unwrap().count(), 0);
}

#[test]
fn an_entry_of_another_register_or_out_of_turn_is_not_appended() {
    let site = Site::with_entries();
    let mut store = Store::open(&site.path).unwrap();
    let heads = store.heads().unwrap();
    let stale = next(&Heads::default(), DEVICE_A, &plot("14"), "first again");
    let good = next(&heads, DEVICE_A, &plot("14"), "good");
    let error = store.append(|_| Ok::<_, StoreError>(vec![good.clone(), stale.clone()])).unwrap_err();
    assert!(matches!(error, AppendError::Store(StoreError::NotNext { id, .. }) if id == stale.id), "{error}");
    let other = Site::new();
    let mut foreign_meta = meta();
    foreign_meta.register = RegisterId([8; 16]);
    let mut other = Store::create(&other.path, &foreign_meta, &[]).unwrap();
    let error = other
        .append(|_| Ok::<_, StoreError>(vec![next(&Heads::default(), DEVICE_A, &plot("14"), "x")]))
        .unwrap_err();
    assert!(matches!(error, AppendError::Store(StoreError::ForeignEntry { .. })), "{error}");
    // All or nothing: the good one before the stale one is not there either.
    assert_eq!(store.count().unwrap(), 4);
    assert_eq!(store.heads().unwrap(), heads);
}

#[test]
fn a_refusal_of_the_builder_comes_back_and_changes_nothing() {
    let site = Site::with_entries();
    let mut store = Store::open(&site.path).unwrap();
    let before = store.entries().unwrap();
    let error = store.append(|_| Err::<Vec<SealedEntry>, _>("owed: one photo")).unwrap_err();
    assert!(matches!(error, AppendError::Refused("owed: one photo")));
    assert_eq!(store.entries().unwrap(), before);
    book(&mut store, DEVICE_A, &plot("14"), "and it goes on");
}

#[test]
fn several_entries_of_one_step_follow_each_other() {
    let site = Site::new();
    let mut store = site.create();
    store
        .append(|heads| {
            let one = next(heads, DEVICE_A, &plot("14"), "one");
            let mut moved = heads.clone();
            moved.follow(one.id, &crate::record::open(&one).unwrap().0);
            let two = next(&moved, DEVICE_A, &plot("14"), "two");
            Ok::<_, StoreError>(vec![one, two])
        })
        .unwrap();
    assert_eq!(store.heads().unwrap().device(DEVICE_A).unwrap().seq, 2);
    assert!(check(&store).findings.is_empty());
}

#[test]
fn two_writers_in_turn_never_fork_the_device() {
    let site = Site::new();
    let mut window = site.create();
    let mut command_line = Store::open(&site.path).unwrap();
    for n in 0..20 {
        let store = if n % 3 == 0 { &mut command_line } else { &mut window };
        book(store, DEVICE_A, &plot("14"), &format!("reading {n}"));
    }
    let heads = window.heads().unwrap();
    assert_eq!(heads.device(DEVICE_A).unwrap().seq, 20);
    assert!(heads.forked().is_empty());
    assert!(check(&window).findings.is_empty());
}

#[test]
fn two_writers_at_once_never_fork_the_device() {
    let site = Site::new();
    drop(site.create());
    std::thread::scope(|scope| {
        for writer in 0..2 {
            let path = &site.path;
            scope.spawn(move || {
                let mut store = Store::open(path).unwrap();
                for n in 0..25 {
                    book(&mut store, DEVICE_A, &plot("14"), &format!("writer {writer}, reading {n}"));
                }
            });
        }
    });
    let reader = Reader::open(&site.path).unwrap();
    let heads = reader.heads().unwrap();
    assert_eq!(heads.device(DEVICE_A).unwrap().seq, 50);
    assert!(heads.forked().is_empty());
    assert!(check(&reader).findings.is_empty());
}

#[test]
fn heads_know_each_device_each_subject_and_what_was_seen() {
    let site = Site::with_entries();
    let reader = Reader::open(&site.path).unwrap();
    let heads = reader.heads().unwrap();
    let entries = reader.entries().unwrap();
    assert_eq!(heads.device(DEVICE_A).unwrap().id, entries[3].entry.id);
    assert_eq!(heads.device(DEVICE_B).unwrap().id, entries[2].entry.id);
    assert_eq!(heads.subject(DEVICE_A, &plot("14")).unwrap().id, entries[1].entry.id);
    assert_eq!(heads.subject(DEVICE_B, &Subject::Site), None);
    assert_eq!(heads.seen_by(DEVICE_B).into_keys().collect::<Vec<_>>(), [DEVICE_A]);
    assert_eq!(heads.all().len(), 2);
    assert_eq!(heads.subjects().count(), 3);
    let named = Head { device: DEVICE_B, seq: 1, id: entries[2].entry.id };
    assert!(heads.all().contains(&named));
}

#[test]
fn digests_move_exactly_with_their_subject() {
    let site = Site::with_entries();
    let mut store = Store::open(&site.path).unwrap();
    let digests = |store: &Store| -> [Sha256Digest; 4] {
        let heads = store.heads().unwrap();
        [
            heads.digest_of(&plot("14")),
            heads.digest_of(&plot("7A")),
            heads.digest_with_site(&plot("14")),
            heads.digest_with_site(&plot("7A")),
        ]
    };
    let before = digests(&store);
    book(&mut store, DEVICE_B, &plot("14"), "more");
    let after = digests(&store);
    assert_ne!(before[0], after[0]);
    assert_eq!(before[1], after[1]);
    assert_ne!(before[2], after[2]);
    assert_eq!(before[3], after[3]);
    book(&mut store, DEVICE_B, &Subject::Site, "site");
    let last = digests(&store);
    assert_eq!(last[..2], after[..2]);
    assert_ne!(last[2], after[2]);
    assert_ne!(last[3], after[3]);
}

#[test]
fn a_fork_is_kept_in_both_branches_in_any_order_of_arrival() {
    let site = Site::with_entries();
    let store = Store::open(&site.path).unwrap();
    let heads = store.heads().unwrap();
    let left = next(&heads, DEVICE_A, &plot("14"), "left");
    let right = next(&heads, DEVICE_A, &plot("14"), "right");
    let mut further = heads.clone();
    further.follow(right.id, &crate::record::open(&right).unwrap().0);
    let after_right = next(&further, DEVICE_A, &plot("14"), "after right");
    let base: Vec<SealedEntry> = store.entries().unwrap().into_iter().map(|s| s.entry).collect();
    let mut all = base.clone();
    all.extend([left.clone(), right.clone(), after_right.clone()]);

    let mut results = Vec::new();
    let orders: [Vec<usize>; 3] =
        [(0..all.len()).collect(), (0..all.len()).rev().collect(), vec![6, 0, 4, 2, 5, 1, 3]];
    for order in orders {
        let copy = Site::new();
        let mut copy_store = copy.create();
        for index in order {
            let new = copy_store.take_over(std::slice::from_ref(&all[index])).unwrap();
            assert_eq!(new, [all[index].id]);
        }
        // Repeatable: nothing is new the second time.
        assert!(copy_store.take_over(&all).unwrap().is_empty());
        let heads = copy_store.heads().unwrap();
        assert_eq!(heads.forked(), [DEVICE_A]);
        assert_eq!(heads.device(DEVICE_A).unwrap().id, after_right.id);
        assert_eq!(heads.all().len(), 3);
        let report = check(&copy_store);
        assert!(
            report.findings.iter().all(|f| matches!(
                f, Finding::Chain(chain) if chain.kind == crate::record::FindingKind::Fork
            )),
            "{:?}",
            sentences(&report)
        );
        assert!(!report.findings.is_empty(), "a fork is pointed out");
        results.push(heads);
    }
    assert!(results.windows(2).all(|pair| pair[0] == pair[1]));
}

#[test]
fn taking_over_is_all_or_nothing() {
    let site = Site::with_entries();
    let all: Vec<SealedEntry> =
        Reader::open(&site.path).unwrap().entries().unwrap().into_iter().map(|s| s.entry).collect();
    let mut broken = all.clone();
    broken[3].payload = broken[3].payload.replace("fourth", "forged");
    let copy = Site::new();
    let mut store = copy.create();
    assert!(matches!(
        store.take_over(&broken).unwrap_err(),
        StoreError::Entry { id, .. } if id == all[3].id
    ));
    assert_eq!(store.count().unwrap(), 0);
    assert_eq!(store.take_over(&all).unwrap().len(), 4);
}

#[test]
fn a_reader_on_another_thread_sees_one_moment() {
    let site = Site::with_entries();
    let mut store = Store::open(&site.path).unwrap();
    let reader = store.another_reader().unwrap();
    let reader = std::thread::spawn(move || {
        assert_eq!(reader.count().unwrap(), 4);
        reader
    })
    .join()
    .unwrap();
    reader
        .at_one_moment(|reader| {
            assert_eq!(reader.count()?, 4);
            book(&mut store, DEVICE_A, &plot("14"), "meanwhile");
            assert_eq!(reader.count()?, 4);
            assert_eq!(reader.heads()?.device(DEVICE_A).unwrap().seq, 3);
            Ok(())
        })
        .unwrap();
    assert_eq!(reader.count().unwrap(), 5);
}

#[test]
fn projections_are_kept_with_the_heads_that_they_cover_and_can_be_dropped() {
    let site = Site::with_entries();
    let mut store = Store::open(&site.path).unwrap();
    let heads = store.heads().unwrap();
    let summary = |name: &str, body: &str| Projection {
        name: "plot-summary".to_owned(),
        subject: plot(name),
        covered: heads.digest_with_site(&plot(name)),
        body: body.to_owned(),
    };
    store.put_projections(&[summary("14", "{}"), summary("7A", "[]")]).unwrap();
    store.put_projections(&[summary("14", "{\"state\":\"open\"}")]).unwrap();
    let found = store.projection("plot-summary", &plot("14")).unwrap().unwrap();
    assert_eq!(found, summary("14", "{\"state\":\"open\"}"));
    assert_eq!(store.projections("plot-summary").unwrap().len(), 2);
    assert!(store.projections("other").unwrap().is_empty());
    assert!(check(&store).findings.is_empty());
    assert_eq!(check(&store).projections, 2);
    store.drop_projections().unwrap();
    assert_eq!(store.projection("plot-summary", &plot("14")).unwrap(), None);
    assert_eq!(store.count().unwrap(), 4);
}
