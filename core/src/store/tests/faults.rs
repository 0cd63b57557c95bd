//! A full disk, a busy or read-only register: named, and the register stays whole.
//!
//! The full disk is SQLite's own limit of pages, which fails in the same places with the same code as a medium
//! that takes no more. Killing the program is tested by the journeys.

use super::*;

fn limit_pages(connection: &rusqlite::Connection, more: i64) {
    let pages: i64 = connection.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap();
    connection.pragma_update_and_check(None, "max_page_count", pages + more, |_| Ok(())).unwrap();
}

#[test]
fn a_full_disk_is_named_and_what_was_acknowledged_is_whole() {
    let site = Site::new();
    let mut store = site.create();
    for more in 0..12 {
        limit_pages(&store.register, more);
        let before = store.count().unwrap();
        let mut acknowledged = before;
        // Large enough that a few of them fill the pages left.
        let error = loop {
            let text = "x".repeat(900);
            match store.append(|heads| Ok::<_, StoreError>(vec![next(heads, DEVICE_A, &plot("14"), &text)])) {
                Ok(_) => acknowledged += 1,
                Err(error) => break error,
            }
            assert!(acknowledged < before + 100, "the limit never bit");
        };
        assert!(matches!(error, AppendError::Store(StoreError::Full(_))), "{error}");
        assert_eq!(store.count().unwrap(), acknowledged);
        // Reading, heads and a second opening agree, and the refused entry left nothing behind.
        let reader = store.another_reader().unwrap();
        assert_eq!(reader.count().unwrap(), acknowledged);
        assert_eq!(reader.heads().unwrap().device(DEVICE_A).map_or(0, |mark| mark.seq), acknowledged);
        assert!(check(&reader).findings.is_empty());
    }
    // Once there is room again it goes on, and the chain has no gap.
    limit_pages(&store.register, 1_000);
    book(&mut store, DEVICE_A, &plot("14"), "room again");
    assert!(check(&store).findings.is_empty());
}

#[test]
fn a_full_disk_takes_no_half_photo() {
    let site = Site::new();
    let mut store = site.create();
    let small = store.put_document(b"small", "text/plain").unwrap();
    limit_pages(store.photos.as_ref().unwrap(), 10);
    let error = store.put_document(&vec![7; 100_000], "text/plain").unwrap_err();
    assert!(matches!(error, StoreError::Full(_)), "{error}");
    let names: Vec<_> = store.originals().unwrap().into_iter().map(|o| o.sha256).collect();
    assert_eq!(names, [small]);
    assert!(check(&store).findings.is_empty());
}

#[test]
fn a_busy_register_is_named_and_nothing_is_lost() {
    let site = Site::with_entries();
    let mut store = Store::open(&site.path).unwrap();
    // Not to wait the whole five seconds.
    store.register.busy_timeout(std::time::Duration::ZERO).unwrap();
    let other = foreign(&site.path);
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let error = store.append(|_| Ok::<_, StoreError>(Vec::new())).unwrap_err();
    assert!(matches!(error, AppendError::Store(StoreError::Busy(_))), "{error}");
    assert_eq!(store.count().unwrap(), 4, "reading goes on");
    other.execute_batch("ROLLBACK").unwrap();
    book(&mut store, DEVICE_A, &plot("14"), "free again");
}

#[test]
fn writing_where_only_reading_is_allowed_is_named() {
    let site = Site::with_entries();
    let mut store = Store::open(&site.path).unwrap();
    store.register.pragma_update(None, "query_only", true).unwrap();
    let error =
        store.append(|heads| Ok::<_, StoreError>(vec![next(heads, DEVICE_A, &plot("14"), "x")])).unwrap_err();
    assert!(matches!(error, AppendError::Store(StoreError::ReadOnly(_))), "{error}");
}

#[test]
fn nothing_is_appended_when_the_program_dies_before_the_commit() {
    let site = Site::with_entries();
    let mut store = Store::open(&site.path).unwrap();
    let dying = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
        store.append(|_| -> Result<Vec<SealedEntry>, StoreError> { panic!("in the middle of it") })
    }));
    assert!(dying.is_err());
    assert_eq!(store.count().unwrap(), 4);
    // The worker survives such a panic: the same store goes on.
    book(&mut store, DEVICE_A, &plot("14"), "and on");
    assert!(check(&store).findings.is_empty());
}
