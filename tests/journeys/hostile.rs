//! Files that are cut short, oversized, of the wrong kind, newer than the program or made to hurt: each gets a
//! sentence and the right exit code, and the register stays as it was.

use std::path::Path;

use gaugerod_tests::program::{Ran, Tablet, tool};
use gaugerod_tests::random::Random;
use gaugerod_tests::site::{House, MANAGER, SUPERVISOR, Site, pin_file};
use serde_json::json;

/// What must not move when something is refused.
fn state(site: &Site) -> String {
    site.tablet.run(["status", "site.gaugerod", "--json"]).expect_code(0).out
}

/// A refusal: exit 1 or 2, a sentence that names `part`, nothing on standard output, no panic.
#[track_caller]
fn refused(ran: &Ran, part: &str) {
    assert!(matches!(ran.code, Some(1 | 2)), "{part} is not refused: {ran:?}");
    assert!(!ran.err.contains("panicked"), "{}", ran.err);
    assert!(!ran.err.trim().is_empty(), "no sentence: {ran:?}");
    ran.says(part);
}

fn issue(site: &Site, file: &str) -> Ran {
    site.enter(MANAGER, &format!("{}\n", json!({"do": "issue-design", "file": file, "plots": ["7"]})))
}

#[test]
fn floor_designs_that_cannot_be_used_are_refused_and_nothing_is_recorded() {
    let site = Site::new();
    let good = House::random(&mut Random::new(1)).design("A");
    let before = state(&site);
    let mut cases: Vec<(String, Vec<u8>)> = vec![
        ("empty".into(), Vec::new()),
        ("binary".into(), (0..=255).cycle().take(4096).collect()),
        ("utf-16".into(), good.encode_utf16().flat_map(u16::to_le_bytes).collect()),
        ("newer".into(), good.replace("gaugerod_floor_design = 1", "gaugerod_floor_design = 2").into()),
        ("other-kind".into(), b"[package]\nname = \"x\"\n".to_vec()),
        ("a-picture".into(), std::fs::read(site.photo(1)).expect("just written")),
        ("not-a-number".into(), good.replace("coverage_factor = 2", "coverage_factor = nan").into()),
        ("infinite".into(), good.replace("void_mm = 150", "void_mm = inf").into()),
        ("negative".into(), good.replace("void_mm = 150", "void_mm = -150").into()),
        ("beyond-bounds".into(), good.replace("void_mm = 150", "void_mm = 99999999999999999999").into()),
        ("too-fine".into(), good.replace("void_mm = 150", "void_mm = 150.00001").into()),
        ("too-many-points".into(), good.replace("spacing_mm = 1500", "spacing_mm = 0.001").into()),
        ("no-step".into(), good.replace("spacing_mm = 1500", "spacing_mm = 0").into()),
        ("crossing".into(), good.replace("exposed_edges", "nonsense").into()),
        ("deep".into(), format!("{good}\nnotes = {}", "[".repeat(20_000)).into()),
        ("oversized".into(), format!("{good}\n# {}", "x".repeat(64 << 20)).into()),
        ("with-a-zero".into(), good.replace("IM-GF-07", "IM\u{0}GF").into()),
    ];
    let mut cut = Random::new(2);
    for i in 0..12 {
        let end = usize::try_from(cut.between(1, i64::try_from(good.len()).expect("short") * 9 / 10))
            .expect("positive");
        cases.push((format!("cut-{i}"), good.as_bytes()[..end].to_vec()));
    }
    for (name, bytes) in cases {
        let file = format!("{name}.toml");
        site.tablet.write(&file, bytes);
        refused(&issue(&site, &file), &file);
        assert_eq!(state(&site), before, "{name} left something behind");
    }
    refused(&issue(&site, "nowhere.toml"), "nowhere.toml");
    refused(&issue(&site, "/dev/zero"), "/dev/zero");
    refused(&issue(&site, "."), ".");
    assert_eq!(state(&site), before);
    site.issue(&good, &["7"]);
}

#[test]
fn all_faults_of_a_floor_design_are_named_at_once() {
    let site = Site::new();
    let good = House::random(&mut Random::new(1)).design("A");
    // Against the schema first, then against the domain: each time everything that is wrong.
    let against_schema = good
        .replace("services = []", "colour = 3")
        .replace("void_mm = 150", "void_mm = \"deep\"")
        .replace("rule = \"guarded\"", "rule = \"guess\"");
    let against_domain = good
        .replace("void_mm = 150", "void_mm = -1")
        .replace("exposed_edges = [0", "exposed_edges = [9, 0")
        .replace("name = \"overlay\", role = \"overlay\"", "name = \"overlay\", role = \"beam\"");
    for (file, text, places) in [
        ("schema.toml", against_schema, ["/colour", "void_mm", "/services"]),
        ("domain.toml", against_domain, ["void_mm", "exposed_edges", "/layers"]),
    ] {
        site.tablet.write(file, text);
        let ran = issue(&site, file);
        for place in places {
            refused(&ran, place);
        }
    }
}

#[test]
fn photos_that_are_none_are_refused_before_they_are_decoded() {
    let site = Site::new();
    site.issue(&House::random(&mut Random::new(1)).design("A"), &["7"]);
    let good = std::fs::read(site.photo(1)).expect("just written");
    let mut absurd = good.clone();
    // Height and width in the frame header (ITU-T T.81, B.2.2) become 65 500 each.
    let frame =
        absurd.windows(2).position(|w| w == [0xFF, 0xC0] || w == [0xFF, 0xC2]).expect("a frame header");
    absurd[frame + 5..frame + 9].copy_from_slice(&[0xFF, 0xDC, 0xFF, 0xDC]);
    let mut png = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\x01\0\0\0\x01\0\0\x08\x02\0\0\0".to_vec();
    png.extend([0; 64]);
    let cases: Vec<(&str, Vec<u8>)> = vec![
        ("empty.jpg", Vec::new()),
        ("text.jpg", b"no photograph".to_vec()),
        ("moving.gif", b"GIF89a\x01\0\x01\0\0\0\0;".to_vec()),
        ("page.pdf", b"%PDF-1.7\n%%EOF\n".to_vec()),
        ("start-only.jpg", good[..20].to_vec()),
        ("half.jpg", good[..good.len() / 2].to_vec()),
        ("absurd.jpg", absurd),
        ("absurd.png", png),
        ("oversized.jpg", [good.clone(), vec![0; 80 << 20]].concat()),
    ];
    let before = state(&site);
    for (name, bytes) in cases {
        site.tablet.write(name, bytes);
        let line = json!({"do": "add-photo", "plot": "7", "hold_point": "oversite", "subject": "oversite", "file": name});
        refused(&site.enter(SUPERVISOR, &format!("{line}\n")), name);
        assert_eq!(state(&site), before, "{name} left something behind");
    }
}

#[test]
fn lines_that_are_no_command_are_refused_with_their_number() {
    let site = Site::new();
    site.issue(&House::random(&mut Random::new(1)).design("A"), &["7"]);
    let before = state(&site);
    let long = format!("{{\"do\": \"{}\"}}", "x".repeat(1 << 20));
    let deep = "[".repeat(50_000);
    for line in [
        "nonsense",
        "{}",
        "[]",
        "null",
        "{\"do\": 1}",
        "{\"do\": \"fly\"}",
        "{\"do\": \"offer\", \"plot\": \"7\"",
        &long,
        &deep,
        "{\"do\":\"offer\",\"do\":\"offer\"}",
    ] {
        let ran = site.enter(SUPERVISOR, &format!("\n{line}\n"));
        assert_eq!(ran.code, Some(2), "{}: {ran:?}", &line[..line.len().min(40)]);
        ran.says("line 2");
    }
    assert_eq!(state(&site), before);
}

#[test]
fn registers_that_are_none_are_refused_and_left_alone() {
    let site = Site::new();
    let real = std::fs::read(site.tablet.site("site.gaugerod")).expect("the register is a file");
    let mut newer = real.clone();
    // Offset 60 of an SQLite file is user_version, 68 application_id (sqlite.org/fileformat.html).
    newer[60..64].copy_from_slice(&9_999_u32.to_be_bytes());
    let mut foreign = real.clone();
    foreign[68..72].copy_from_slice(&0x1234_5678_u32.to_be_bytes());
    let cases: Vec<(&str, Vec<u8>)> = vec![
        ("empty.gaugerod", Vec::new()),
        ("text.gaugerod", b"not a register at all, and long enough to hold a header of one hundred bytes, or so one would think, yes".to_vec()),
        ("start.gaugerod", real[..50].to_vec()),
        ("cut.gaugerod", real[..real.len() / 2].to_vec()),
        ("foreign.gaugerod", foreign),
    ];
    for (name, bytes) in cases {
        let file = site.tablet.write(name, &bytes);
        for command in ["status", "check"] {
            refused(&site.tablet.run([command, name]), name);
        }
        assert_eq!(std::fs::read(&file).expect("still there"), bytes, "{name} was changed");
    }
    // A newer schema may be looked at, but nothing is written into it.
    let file = site.tablet.write("newer.gaugerod", &newer);
    site.tablet.run(["status", "newer.gaugerod"]);
    let pin = pin_file(MANAGER);
    let enter = ["enter", "newer.gaugerod", "--as", MANAGER, "--pin-file", &pin];
    site.tablet.write("design.toml", House::random(&mut Random::new(1)).design("A"));
    let line = json!({"do": "issue-design", "file": "design.toml", "plots": ["7"]});
    refused(&site.tablet.run_with_input(enter, format!("{line}\n")), "newer");
    assert_eq!(std::fs::read(&file).expect("still there"), newer, "a newer register was changed");
    for command in ["status", "check"] {
        refused(&site.tablet.run([command, "nowhere.gaugerod"]), "nowhere.gaugerod");
        assert!(!site.tablet.site("nowhere.gaugerod").exists(), "{command} made a register");
        refused(&site.tablet.run([command, "."]), ".");
    }
}

#[test]
fn a_register_is_never_made_over_an_existing_file() {
    let site = Site::new();
    let before = std::fs::read(site.tablet.site("site.gaugerod")).expect("the register is a file");
    let args = ["new", "site.gaugerod", "--site", "Other", "--authority-passphrase-file", "passphrase.txt"];
    refused(&site.tablet.run(args), "site.gaugerod");
    assert_eq!(std::fs::read(site.tablet.site("site.gaugerod")).expect("still there"), before);
}

#[test]
fn documents_that_are_none_are_refused_by_verify() {
    let tablet = Tablet::new();
    let cases: Vec<(&str, Vec<u8>)> = vec![
        ("empty.pdf", Vec::new()),
        ("text.pdf", b"hello".to_vec()),
        ("head.pdf", b"%PDF-1.7\n".to_vec()),
        ("zeros.pdf", vec![0; 1 << 20]),
        ("array.json", b"[]".to_vec()),
        ("object.json", b"{}".to_vec()),
        ("deep.json", "[".repeat(100_000).into()),
    ];
    for (name, bytes) in cases {
        tablet.write(name, bytes);
        let ran = tablet.run(["verify", name]);
        assert_eq!(ran.code, Some(2), "{name}: {ran:?}");
        assert!(ran.out.contains("unreadable"), "{name}: {ran:?}");
        assert!(!ran.err.contains("panicked"), "{}", ran.err);
    }
    let ran = tablet.run(["verify", "nowhere.pdf"]).expect_code(2);
    ran.says("nowhere.pdf");
}

#[test]
fn wrong_usage_ends_with_64_and_names_what_was_wrong() {
    let tablet = Tablet::new();
    for args in [
        &["fly"][..],
        &["status"],
        &["new", "x.gaugerod"],
        &["verify"],
        &["schema", "nothing"],
        &["completion", "nothing"],
        &["status", "--nonsense", "x"],
    ] {
        let ran = tablet.run(args).expect_code(64);
        assert!(!ran.err.is_empty(), "{args:?} says nothing");
    }
}

#[cfg(unix)]
#[test]
fn arguments_that_are_no_text_do_not_panic() {
    use std::os::unix::ffi::OsStrExt;
    let tablet = Tablet::new();
    let odd = std::ffi::OsStr::from_bytes(b"odd-\xff\xfe.gaugerod");
    let ran = tablet.run([std::ffi::OsStr::new("status"), odd]);
    assert!(matches!(ran.code, Some(2 | 64)), "{ran:?}");
    assert!(!ran.err.contains("panicked"), "{}", ran.err);
}

#[test]
fn without_a_display_the_window_says_so_in_one_sentence() {
    let ran = Tablet::new().run::<&str>([]);
    assert!(ran.code.is_some_and(|c| c != 0), "{ran:?}");
    ran.says("display").says("gaugerod demo --no-window");
    assert_eq!(ran.err.trim().lines().count(), 1, "more than one line: {}", ran.err);
}

#[test]
fn the_machine_has_the_tools_that_journeys_use() {
    assert_eq!(tool("pdftotext", ["-v"]).code, Some(0));
    assert!(Path::new("/dev/zero").exists());
}
