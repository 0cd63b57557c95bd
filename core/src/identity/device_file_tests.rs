use super::*;
use crate::identity::{Cost, Pin, SeededRng};
use crate::ids::EntryId;
use crate::time::Timestamp;

const REGISTER: RegisterId = RegisterId([7; 16]);

fn full() -> DeviceFile {
    let mut rng = SeededRng::new("device file");
    let mut device = DeviceInRegister::new(
        DeviceId([1; 16]),
        DeviceKey::generate(&mut rng),
        DeviceSecret::generate(&mut rng),
    );
    let person = PersonId([3; 16]);
    let key = SigningIdentity::generate(&mut rng);
    let pin = Pin::new("4711").unwrap();
    let sealed = SealedKey::with_pin(&key, &pin, &device.secret, Cost::LEAST, &mut rng).unwrap();
    device.mark = Some(Mark { id: EntryId([4; 32]), seq: 12 });
    device.sealed_keys.insert(person, sealed);
    device.pin_counts.entry(person).or_default().count_wrong(Timestamp::new(5, 0).unwrap());
    device.drafts.insert("Plot 14 / ä \"$x\"".to_owned(), "1 2\n3".to_owned());
    DeviceFile { registers: BTreeMap::from([(REGISTER, device)]) }
}

fn same(a: &DeviceFile, b: &DeviceFile) -> bool {
    let path = Path::new("unused");
    *a.to_bytes(path).unwrap() == *b.to_bytes(path).unwrap()
}

fn put(path: &Path, file: &DeviceFile) {
    DeviceFile::update::<_, DeviceFileFault>(path, |f| {
        *f = file.clone();
        Ok(())
    })
    .unwrap();
}

#[test]
fn what_was_written_reads_back_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("device");
    assert!(DeviceFile::read(&path).unwrap().is_none());
    put(&path, &full());
    let read = DeviceFile::read(&path).unwrap().unwrap();
    assert!(same(&read, &full()));
    let device = &read.registers[&REGISTER];
    assert_eq!(device.drafts["Plot 14 / ä \"$x\""], "1 2\n3");
    assert_eq!(device.device_key.public(), full().registers[&REGISTER].device_key.public());
    let pin = Pin::new("4711").unwrap();
    assert!(device.sealed_keys[&PersonId([3; 16])].open_with_pin(&pin, &device.secret).is_ok());
}

#[test]
fn an_update_sees_what_the_last_one_wrote_and_a_refusal_writes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("device");
    put(&path, &full());
    for seq in 13..16 {
        let seen = DeviceFile::update::<_, DeviceFileFault>(&path, |f| {
            let device = f.registers.get_mut(&REGISTER).unwrap();
            let before = device.mark.unwrap().seq;
            device.mark = Some(Mark { id: EntryId([5; 32]), seq });
            Ok(before)
        });
        assert_eq!(seen.unwrap(), seq - 1);
    }
    let before = fs::read(&path).unwrap();
    let refused = DeviceFile::update::<(), DeviceFileFault>(&path, |f| {
        f.registers.clear();
        Err(DeviceFileFault::Size { path: path.clone() })
    });
    assert!(refused.is_err());
    assert_eq!(fs::read(&path).unwrap(), before);
}

#[test]
fn many_writers_at_once_lose_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("device");
    put(&path, &full());
    std::thread::scope(|threads| {
        for writer in 0..4 {
            let path = &path;
            threads.spawn(move || {
                for n in 0..10 {
                    DeviceFile::update::<_, DeviceFileFault>(path, |f| {
                        let drafts = &mut f.registers.get_mut(&REGISTER).unwrap().drafts;
                        drafts.insert(format!("{writer}/{n}"), String::new());
                        Ok(())
                    })
                    .unwrap();
                    // A reader without a lock always sees a whole file.
                    assert!(DeviceFile::read(path).unwrap().is_some());
                }
            });
        }
    });
    let drafts = DeviceFile::read(&path).unwrap().unwrap().registers[&REGISTER].drafts.len();
    assert_eq!(drafts, 41);
}

#[test]
fn a_file_cut_short_at_any_byte_is_refused_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("device");
    put(&path, &full());
    let whole = fs::read(&path).unwrap();
    for length in 0..whole.len() {
        let fault = DeviceFile::from_bytes(&whole[..length], &path).unwrap_err();
        assert!(matches!(fault, DeviceFileFault::Damaged { .. }), "{length}: {fault}");
    }
    fs::write(&path, &whole[..whole.len() / 2]).unwrap();
    let fault = DeviceFile::update::<(), DeviceFileFault>(&path, |_| Ok(())).unwrap_err();
    let sentence = fault.to_string();
    assert!(sentence.ends_with("is cut short or damaged; it was left as it is"), "{sentence}");
    assert_eq!(fs::read(&path).unwrap(), &whole[..whole.len() / 2]);
}

#[test]
fn every_flipped_bit_of_the_file_is_caught() {
    let path = Path::new("device");
    let whole = full().to_bytes(path).unwrap();
    for at in 0..whole.len() {
        let mut bytes = whole.to_vec();
        bytes[at] ^= 1 << (at % 8);
        assert!(DeviceFile::from_bytes(&bytes, path).is_err(), "byte {at}");
    }
}

#[test]
fn a_foreign_or_newer_file_is_refused_with_a_sentence() {
    let path = Path::new("device");
    let body = r#"{"registers":{},"something_new":1}"#;
    let newer = format!("{HEADING}{}\n{body}", Sha256Digest::of(body.as_bytes()));
    for bytes in [b"{}".as_slice(), b"\x7fELF", b"gaugerod device file 2 ", newer.as_bytes()] {
        let fault = DeviceFile::from_bytes(bytes, path).unwrap_err();
        assert_eq!(fault.to_string(), "device is no device file of this program, or one of a newer version");
    }
}

#[test]
fn a_left_over_temporary_file_is_in_nobodys_way() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("device");
    fs::write(beside(&path, ".new"), "half a fi").unwrap();
    put(&path, &full());
    assert!(same(&DeviceFile::read(&path).unwrap().unwrap(), &full()));
    assert!(!beside(&path, ".new").exists());
}

#[test]
fn a_disk_that_refuses_is_told_with_the_file_and_its_cause() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("no such folder").join("device");
    let fault = DeviceFile::update::<(), DeviceFileFault>(&path, |_| Ok(())).unwrap_err();
    assert!(fault.to_string().contains("no such folder"));
    assert!(std::error::Error::source(&fault).is_some());
    // A folder stands where the file should be.
    assert!(DeviceFile::read(folder.path()).is_err());
}

#[cfg(unix)]
#[test]
fn only_the_owner_can_read_the_file() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("device");
    put(&path, &full());
    assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
    assert!(!others_can_read(&path).unwrap());
    fs::set_permissions(&path, fs::Permissions::from_mode(0o644)).unwrap();
    assert!(others_can_read(&path).unwrap());
    put(&path, &full());
    assert!(!others_can_read(&path).unwrap(), "writing makes it owner-only again");
}

#[test]
fn neither_key_nor_secret_is_printed() {
    let file = full();
    let text = format!("{file:?}");
    let device = &file.registers[&REGISTER];
    assert!(!text.contains(&hex::encode(device.secret.bytes())));
    assert!(!text.contains(&hex::encode(device.device_key.secret().as_slice())));
}

#[test]
fn a_register_behind_the_mark_is_a_restored_copy() {
    let mark = |seq, n| Some(Mark { id: EntryId([n; 32]), seq });
    for (head, kept, restored) in [
        (None, None, false),
        (mark(1, 1), None, false),
        (None, mark(1, 1), true),
        (mark(4, 1), mark(5, 2), true),
        (mark(5, 2), mark(5, 2), false),
        (mark(5, 3), mark(5, 2), true),
        (mark(6, 1), mark(5, 2), false),
    ] {
        assert_eq!(restored_copy(head, kept), restored, "{head:?} {kept:?}");
    }
}
