//! Files of the wrong kind, cut short, in the way, or in a folder that cannot be written.

use super::super::open::beside;
use super::*;

fn opened(path: &Path) -> (StoreError, StoreError) {
    (Store::open(path).unwrap_err(), Reader::open(path).unwrap_err())
}

#[test]
fn nothing_is_overwritten() {
    let site = Site::with_entries();
    let before = std::fs::read(&site.path).unwrap();
    let error = Store::create(&site.path, &meta(), &[]).unwrap_err();
    assert!(matches!(error, StoreError::Exists { .. }), "{error}");
    assert_eq!(std::fs::read(&site.path).unwrap(), before);

    let site = Site::new();
    std::fs::write(site.photos(), b"somebody's photos").unwrap();
    let error = Store::create(&site.path, &meta(), &[]).unwrap_err();
    assert!(matches!(error, StoreError::Exists { path } if path == site.photos()));
    assert_eq!(std::fs::read(site.photos()).unwrap(), b"somebody's photos");
    assert!(!site.path.exists());
}

#[test]
fn leftovers_of_an_interrupted_making_are_no_hindrance() {
    let site = Site::new();
    for path in [&site.path, &site.photos()] {
        for ending in [".making", ".making-wal", ".making-journal"] {
            std::fs::write(beside(path, ending), b"half of it").unwrap();
        }
    }
    let mut store = site.create();
    book(&mut store, DEVICE_A, &Subject::Site, "first");
    drop(store);
    let mut names: Vec<_> = std::fs::read_dir(site.folder.path())
        .unwrap()
        .map(|file| file.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert_eq!(names, ["site.gaugerod", "site.photos"]);
}

#[test]
fn an_unusable_name_of_a_site_or_file_is_refused() {
    let site = Site::new();
    for name in ["", " x", "a\nb", &"x".repeat(201)] {
        let bad = RegisterMeta { site: name.to_owned(), ..meta() };
        let error = Store::create(&site.path, &bad, &[]).unwrap_err();
        assert!(matches!(error, StoreError::SiteName), "{error}");
    }
    let error = Store::create(&site.photos(), &meta(), &[]).unwrap_err();
    assert!(matches!(error, StoreError::WrongKind { .. }), "{error}");
    let error = Store::create(&site.folder.path().join("no/such/folder.gaugerod"), &meta(), &[]).unwrap_err();
    assert!(matches!(error, StoreError::Disk(_) | StoreError::File { .. }), "{error}");
}

#[test]
fn files_of_another_kind_are_refused_by_name_and_left_alone() {
    let site = Site::with_entries();
    let other = site.folder.path().join("other");
    let plain = site.folder.path().join("plain.db");
    foreign(&plain).execute_batch("CREATE TABLE t (x)").unwrap();
    std::fs::write(&other, b"%PDF-1.7 and more than a hundred bytes of something else entirely ".repeat(3))
        .unwrap();
    let empty = site.folder.path().join("empty");
    std::fs::write(&empty, b"").unwrap();
    for path in [&other, &plain, &empty, &site.photos(), &site.folder.path().to_path_buf()] {
        let before = path.is_file().then(|| std::fs::read(path).unwrap());
        let (for_recording, for_looking) = opened(path);
        assert!(matches!(for_recording, StoreError::WrongKind { .. }), "{for_recording}");
        assert!(matches!(for_looking, StoreError::WrongKind { .. }), "{for_looking}");
        assert_eq!(path.is_file().then(|| std::fs::read(path).unwrap()), before);
    }
    let (error, _) = opened(&site.folder.path().join("absent"));
    assert!(matches!(error, StoreError::Missing { .. }), "{error}");
}

#[test]
fn every_cut_of_a_register_is_refused() {
    let site = Site::with_entries();
    let whole = std::fs::read(&site.path).unwrap();
    let cuts = (1..400).chain((400..whole.len()).step_by(1_237)).chain([whole.len() - 1]);
    for length in cuts {
        std::fs::write(&site.path, &whole[..length]).unwrap();
        let (for_recording, for_looking) = opened(&site.path);
        for error in [for_recording, for_looking] {
            let named = match length {
                1..16 => matches!(error, StoreError::WrongKind { .. }),
                _ => matches!(error, StoreError::CutShort { .. }),
            };
            assert!(named, "{length} of {}: {error}", whole.len());
        }
        assert_eq!(std::fs::read(&site.path).unwrap().len(), length);
    }
}

#[test]
fn a_register_without_its_photos_is_named_and_can_be_looked_at() {
    let site = Site::with_entries();
    std::fs::remove_file(site.photos()).unwrap();
    let error = Store::open(&site.path).unwrap_err();
    assert!(matches!(error, StoreError::PhotosMissing { .. }), "{error}");
    let reader = Reader::open(&site.path).unwrap();
    assert!(!reader.has_photos_file());
    assert_eq!(reader.count().unwrap(), 4);
    assert!(check(&reader).findings.contains(&Finding::NoPhotosFile));
    drop(reader);
    Store::start_new_photos(&site.path).unwrap();
    assert!(Store::start_new_photos(&site.path).is_err());
    assert!(Store::open(&site.path).unwrap().originals().unwrap().is_empty());
}

#[test]
fn photos_of_another_register_are_refused() {
    let (site, other) = (Site::with_entries(), Site::new());
    let elsewhere = RegisterMeta { register: RegisterId([8; 16]), ..meta() };
    drop(Store::create(&other.path, &elsewhere, &[]).unwrap());
    std::fs::copy(other.photos(), site.photos()).unwrap();
    let (for_recording, for_looking) = opened(&site.path);
    for error in [for_recording, for_looking] {
        assert!(matches!(error, StoreError::OtherRegister { .. }), "{error}");
    }
}

#[test]
fn a_backup_of_a_live_register_is_whole_and_overwrites_nothing() {
    let site = Site::with_entries();
    let mut store = Store::open(&site.path).unwrap();
    store.put_document(b"a delivery note", "text/plain").unwrap();
    book(&mut store, DEVICE_A, &plot("14"), "still in the log");
    let to = site.folder.path().join("backup.gaugerod");
    store.back_up(&to).unwrap();
    let backup = Store::open(&to).unwrap();
    assert_eq!(backup.entries().unwrap(), store.entries().unwrap());
    assert_eq!(backup.originals().unwrap(), store.originals().unwrap());
    assert!(check(&backup).findings.is_empty());
    assert!(matches!(store.back_up(&to).unwrap_err(), StoreError::Exists { .. }));
}

#[test]
fn looking_changes_no_byte() {
    let site = Site::with_entries();
    let before = (std::fs::read(&site.path).unwrap(), std::fs::read(site.photos()).unwrap());
    let reader = Reader::open(&site.path).unwrap();
    check(&reader);
    reader.entries().unwrap();
    drop(reader);
    assert_eq!(before, (std::fs::read(&site.path).unwrap(), std::fs::read(site.photos()).unwrap()));
}
