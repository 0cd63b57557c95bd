//! A disk that is full, or a file that may not grow: the program says so, the register stays whole, and work goes
//! on once there is room again.

use std::path::{Path, PathBuf};
use std::process::Command;

use gaugerod_tests::floor_work;
use gaugerod_tests::program::{finish, path, tool};
use gaugerod_tests::random::Random;
use gaugerod_tests::site::{House, SUPERVISOR, Site, entry_ids, metres, pin_file};
use serde_json::{Value, json};

/// Readings as `enter` takes them.
fn readings(house: &House, random: &mut Random, count: usize) -> String {
    let mut lines = Vec::new();
    for _ in 0..count {
        let point = &house.ground_points[usize::try_from(random.between(0, 2)).expect("small")];
        let level: Value =
            serde_json::from_str(&metres(house.highest_ground - random.between(0, 40))).expect("a number");
        lines.push(json!({"do": "book-reading", "plot": "7", "hold_point": "oversite", "criterion": "level", "point": point, "level_m": level}));
    }
    floor_work::lines(&lines)
}

/// A small disk of memory, gone with the test. Only who may mount has one.
struct SmallDisk(PathBuf);

impl SmallDisk {
    fn mount(folder: &Path, size: &str) -> Option<Self> {
        std::fs::create_dir_all(folder).expect("a folder");
        let done = tool(
            "mount",
            ["-t", "tmpfs", "-o", &format!("size={size}"), "none", folder.to_str().expect("UTF-8")],
        );
        (done.code == Some(0)).then(|| Self(folder.to_path_buf()))
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        tool("umount", ["--lazy", self.0.to_str().expect("UTF-8")]);
    }
}

/// Acknowledged ids in what `enter` printed.
fn acknowledged(out: &str) -> Vec<String> {
    let is_id = |word: &&str| word.len() == 64 && word.chars().all(|c| c.is_ascii_hexdigit());
    out.split_whitespace().filter(is_id).map(str::to_owned).collect()
}

#[test]
fn a_full_disk_is_named_and_the_register_stays_whole() {
    let mut random = Random::new(21);
    let site = Site::new();
    let house = House::random(&mut random);
    site.issue(&house.design("A"), &["7"]);
    let small = site.tablet.site("small");
    let Some(_disk) = SmallDisk::mount(&small, "1200k") else {
        // Who may not mount still has the test below, which stops the file from growing.
        return;
    };
    for name in ["site.gaugerod", "site.photos"] {
        std::fs::copy(site.tablet.site(name), small.join(name)).expect("the register fits on the small disk");
    }
    let register = "small/site.gaugerod";
    let pin = pin_file(SUPERVISOR);
    let enter = ["enter", register, "--as", SUPERVISOR, "--pin-file", &pin];
    let filler = small.join("filler");
    let mut said = Vec::new();
    let mut full = None;
    for _ in 0..40 {
        let ran = site.tablet.run_with_input(enter, readings(&house, &mut random, 100));
        said.extend(acknowledged(&ran.out));
        if ran.code != Some(0) {
            full = Some(ran);
            break;
        }
        // Other programs fill the disk too.
        let mut bytes = std::fs::read(&filler).unwrap_or_default();
        bytes.resize(bytes.len() + 20_000, 0);
        if std::fs::write(&filler, &bytes).is_err() {
            bytes.clear();
        }
    }
    let full = full.expect("4000 readings do not fit on a small disk");
    assert!(full.code.is_some_and(|c| c != 0), "{full:?}");
    full.says("full");
    assert!(!full.err.contains("panicked"), "{}", full.err);

    std::fs::remove_file(&filler).ok();
    // With room again everything that was acknowledged is there, and work goes on.
    let after: PathBuf = site.tablet.site("after.gaugerod");
    for (from, to) in [
        ("site.gaugerod", "after.gaugerod"),
        ("site.photos", "after.photos"),
        ("site.gaugerod-wal", "after.gaugerod-wal"),
    ] {
        std::fs::copy(small.join(from), site.tablet.site(to)).ok();
    }
    let kept = entry_ids(&after);
    let lost: Vec<_> = said.iter().filter(|id| !kept.contains(*id)).collect();
    assert!(lost.is_empty(), "lost {lost:?}");
    site.tablet.run(["check", "after.gaugerod", "--every"]).expect_code(0);
    let again = ["enter", "after.gaugerod", "--as", SUPERVISOR, "--pin-file", &pin];
    site.tablet.run_with_input(again, readings(&house, &mut random, 3)).expect_code(0);
}

#[test]
fn a_file_that_may_not_grow_is_named_and_the_register_stays_whole() {
    let mut random = Random::new(22);
    let site = Site::new();
    let house = House::random(&mut random);
    site.issue(&house.design("A"), &["7"]);
    let before = entry_ids(&site.tablet.site("site.gaugerod"));
    let pin = pin_file(SUPERVISOR);
    // 1024-byte blocks; the signal is ignored so that writing fails as it does on a full disk.
    let size = std::fs::metadata(site.tablet.site("site.gaugerod")).expect("a file").len() / 1024 + 60;
    let mut command = Command::new("bash");
    site.tablet.furnish(&mut command);
    command.args(["-c", "trap '' XFSZ; ulimit -f \"$1\"; shift; exec \"$@\"", "limited", &size.to_string()]);
    command.arg(path()).args(["enter", "site.gaugerod", "--as", SUPERVISOR, "--pin-file", &pin]);
    let ran = finish(command, readings(&house, &mut random, 4_000).as_bytes());
    assert!(matches!(ran.code, Some(c) if c != 0), "{ran:?}");
    assert!(!ran.err.trim().is_empty() && !ran.err.contains("panicked"), "{}", ran.err);

    let kept = entry_ids(&site.tablet.site("site.gaugerod"));
    let lost: Vec<_> = acknowledged(&ran.out).into_iter().filter(|id| !kept.contains(id)).collect();
    assert!(lost.is_empty(), "lost {lost:?}");
    assert!(before.is_subset(&kept));
    site.tablet.run(["check", "site.gaugerod", "--every"]).expect_code(0);
    site.enter(SUPERVISOR, &readings(&house, &mut random, 3)).expect_code(0);
}
