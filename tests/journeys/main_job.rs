//! The main job through the built program: a floor design of the test's own, random readings, from a new register
//! to a signed document; every value and verdict is found again in `status --json` and in the document's text.

use gaugerod_tests::floor_work::{
    GATES, Reading, answers, bearing_levels, conforming_readings, lines, photo_commands,
};
use gaugerod_tests::program::tool;
use gaugerod_tests::random::Random;
use gaugerod_tests::site::{DESIGNER, House, MANAGER, SUPERVISOR, Site};
use serde_json::{Value, json};

/// Books, answers and photographs everything that a hold point asks for, as the supervisor.
fn prove(
    site: &Site,
    house: &House,
    plot: &str,
    hold_point: &str,
    readings: &[Reading],
    random: &mut Random,
) {
    let mut commands: Vec<Value> =
        readings.iter().filter(|r| r.hold_point == hold_point).map(|r| r.command(plot)).collect();
    commands.extend(answers(plot, hold_point));
    commands.extend(photo_commands(site, house, plot, hold_point, random));
    site.enter(SUPERVISOR, &lines(&commands)).expect_code(0);
}

/// Takes a plot through every gate.
fn build(site: &Site, house: &House, plot: &str, readings: &[Reading], random: &mut Random) {
    for (gate, hold_points) in GATES {
        for hold_point in hold_points {
            prove(site, house, plot, hold_point, readings, random);
        }
        site.enter(SUPERVISOR, &lines(&[json!({"do": "offer", "plot": plot, "gate": gate})])).expect_code(0);
        site.enter(MANAGER, &lines(&[json!({"do": "release", "plot": plot, "gate": gate})])).expect_code(0);
    }
}

/// A number as whole millionths, exactly.
fn millionths(number: &str) -> i64 {
    let (whole, part) = number.split_once('.').unwrap_or((number, ""));
    let digits = format!("{whole}{part:0<6}");
    digits.parse().unwrap_or_else(|_| panic!("{number} has more than six decimals or is no number"))
}

/// Every reading stands in the status with its value and its verdict.
#[track_caller]
fn status_holds(status: &Value, readings: &[Reading]) {
    let hold_points = status["hold_points"].as_array().expect("hold points");
    for reading in readings {
        let hold_point = hold_points.iter().find(|h| h["id"] == reading.hold_point).expect("the hold point");
        let all = hold_point["readings"].as_array().expect("readings");
        let found = all
            .iter()
            .find(|r| r["criterion"] == reading.criterion && r["point"] == reading.point.as_str())
            .unwrap_or_else(|| panic!("{reading:?} is not in {hold_point:#}"));
        let value = found["value"].to_string();
        assert_eq!(millionths(value.trim_matches('"')), millionths(&reading.written), "{reading:?}: {found}");
        if let Some(verdict) = reading.verdict {
            assert_eq!(found["verdict"], verdict, "{reading:?}: {found}");
        }
    }
}

/// The text of a PDF as a reader sees it, line by line.
fn text_of(site: &Site, file: &str) -> String {
    let path = site.tablet.site(file);
    tool("pdftotext", ["-layout", path.to_str().expect("a path in UTF-8"), "-"]).expect_code(0).out
}

#[test]
fn a_floor_from_its_design_to_a_signed_document() {
    let mut random = Random::new(2_026);
    let site = Site::new();
    for (plot, revision) in [("7", "A"), ("8", "B")] {
        let house = House::random(&mut random);
        site.issue(&house.design(revision), &[plot]);
        let readings = conforming_readings(&house, &mut random);
        build(&site, &house, plot, &readings, &mut random);

        let status = site.status(plot);
        assert_eq!(status["design"]["revision"], revision);
        status_holds(&status, &readings);
        for hold_point in status["hold_points"].as_array().expect("hold points") {
            assert_eq!(hold_point["state"], "released", "{hold_point:#}");
            assert_eq!(hold_point["verdict"], "conforming", "{hold_point:#}");
            assert_eq!(hold_point["owed"], json!([]), "{hold_point:#}");
        }

        let file = format!("plot-{plot}.pdf");
        let pin = gaugerod_tests::site::pin_file(MANAGER);
        let sign = [
            "sign-off",
            "site.gaugerod",
            "--plot",
            plot,
            "--as",
            MANAGER,
            "--pin-file",
            &pin,
            "--out",
            &file,
        ];
        site.tablet.run(sign).expect_code(0);
        let text = text_of(&site, &file);
        for reading in &readings {
            let line = text.lines().find(|line| {
                let words: Vec<&str> = line.split_whitespace().collect();
                words.contains(&reading.written.as_str()) && line.contains(&reading.point)
            });
            let line = line.unwrap_or_else(|| panic!("{reading:?} is not in\n{text}"));
            assert!(reading.verdict.is_none() || line.contains("OK"), "no verdict: {line}");
        }
        let status_root = status["root"].as_str().expect("a root").to_owned();
        assert_eq!(status_root.len(), 64, "the root is a SHA-256");

        let fingerprint = fingerprint(&site.opened);
        let verify = |extra: &[&str]| site.tablet.run([&["verify", &file], extra].concat());
        verify(&["--authority", fingerprint]).expect_code(0);
        assert!(verify(&[]).expect_code(3).out.contains(fingerprint), "the fingerprint is printed");
        let other = verify(&["--authority", &"0".repeat(64)]).expect_code(1);
        assert!(other.out.contains("authority"), "{}", other.out);
        site.tablet.run(["check", "site.gaugerod", "--every", "--against", &file]).expect_code(0);
    }
}

/// One run of the program writes the document, another one, with another home, time zone and language, makes every
/// page again from the evidence alone and compares it with the file byte for byte.
#[test]
fn pages_are_made_again_byte_for_byte_by_another_run_in_another_place_and_language() {
    let mut random = Random::new(41);
    let site = Site::new();
    let house = House::random(&mut random);
    site.issue(&house.design("A"), &["7"]);
    let readings = conforming_readings(&house, &mut random);
    build(&site, &house, "7", &readings, &mut random);
    let pin = gaugerod_tests::site::pin_file(MANAGER);
    let sign_off = ["sign-off", "site.gaugerod", "--plot", "7", "--as", MANAGER, "--pin-file", &pin, "--out"];
    site.tablet.run([&sign_off[..], &["draft.pdf", "--draft"]].concat()).expect_code(0);
    site.tablet.run([&sign_off[..], &["signed.pdf"]].concat()).expect_code(0);

    let elsewhere = gaugerod_tests::program::Tablet::new();
    for (file, code) in [("draft.pdf", 1), ("signed.pdf", 3)] {
        for (zone, language) in [("Pacific/Chatham", "tr_TR.UTF-8"), ("America/St_Johns", "de_DE.UTF-8")] {
            let path = site.tablet.site(file);
            let mut again = elsewhere.command(["verify", path.to_str().expect("a path in UTF-8"), "--json"]);
            again.env("TZ", zone).env("LC_ALL", language).env("LANG", language);
            let ran = gaugerod_tests::program::finish(again, b"");
            let checks = ran.expect_code(code).json()["checks"].clone();
            let pages =
                checks.as_array().and_then(|all| all.iter().find(|one| one["name"] == "pages")).cloned();
            let pages = pages.unwrap_or_else(|| panic!("{file}: no pages in {checks:#}"));
            assert_eq!(pages["state"], "good", "{file}, {zone}: {pages}");
        }
    }
}

/// The fingerprint that `new` prints: 64 hexadecimal digits.
fn fingerprint(opened: &str) -> &str {
    opened
        .split(|c: char| !c.is_ascii_alphanumeric())
        .find(|word| word.len() == 64 && word.chars().all(|c| c.is_ascii_hexdigit()))
        .unwrap_or_else(|| panic!("no fingerprint in {opened}"))
}

#[test]
fn random_bearing_levels_get_the_verdict_that_the_decision_rule_gives_them() {
    let mut random = Random::new(77);
    let site = Site::new();
    for round in 0..6 {
        let plot = format!("T{round}");
        let house = House::random(&mut random);
        site.issue(&house.design("A"), &[&plot]);
        let readings = bearing_levels(&house, &mut random, -14, 11);
        let commands: Vec<Value> = readings.iter().map(|r| r.command(&plot)).collect();
        site.enter(SUPERVISOR, &lines(&commands)).expect_code(0);
        let status = site.status(&plot);
        status_holds(&status, &readings);
        let worst = ["nonconforming", "undetermined", "conforming"]
            .into_iter()
            .find(|v| readings.iter().any(|r| r.verdict == Some(v)))
            .expect("there are readings");
        let hold_point = site.hold_point(&plot, "bearing-level");
        assert!(
            hold_point["verdict"] == worst
                || (worst == "conforming" && hold_point["verdict"] == "undetermined"),
            "{hold_point:#}"
        );
    }
}

#[test]
fn a_nonconforming_wall_blocks_release_until_it_is_reworked_and_read_again() {
    let mut random = Random::new(5);
    let site = Site::new();
    let house = House::random(&mut random);
    site.issue(&house.design("A"), &["7"]);
    let mut readings = conforming_readings(&house, &mut random);
    let high = readings.iter_mut().find(|r| r.hold_point == "bearing-level").expect("bearing readings");
    high.written = gaugerod_tests::site::metres(house.bearing + 15);
    high.verdict = Some("nonconforming");
    let point = high.point.clone();
    for hold_point in GATES[0].1 {
        prove(&site, &house, "7", hold_point, &readings, &mut random);
    }
    let status = site.status("7");
    let of_gate: Vec<Reading> =
        readings.iter().filter(|r| GATES[0].1.contains(&r.hold_point)).cloned().collect();
    status_holds(&status, &of_gate);
    site.enter(SUPERVISOR, &lines(&[json!({"do": "offer", "plot": "7", "hold_point": "bearing-level"})]));
    let release = lines(&[json!({"do": "release", "plot": "7", "hold_point": "bearing-level"})]);
    site.enter(MANAGER, &release).expect_code(1).says(&point);

    let at = site.hold_point("7", "bearing-level");
    let entry = at["readings"]
        .as_array()
        .expect("readings")
        .iter()
        .find(|r| r["point"] == point.as_str())
        .expect("the reading")["entry"]
        .clone();
    let again = Reading {
        written: gaugerod_tests::site::metres(house.bearing),
        verdict: Some("conforming"),
        ..readings.iter().find(|r| r.point == point && r.hold_point == "bearing-level").expect("it").clone()
    };
    let supersede = json!({"do": "supersede", "id": entry, "reason": "reworked: taken down and relaid", "with": again.command("7")});
    site.enter(SUPERVISOR, &lines(&[supersede])).expect_code(0);
    let at = site.hold_point("7", "bearing-level");
    assert_eq!(at["verdict"], "conforming", "{at:#}");
}

#[test]
fn nothing_is_offered_while_readings_answers_or_photos_are_owed() {
    let mut random = Random::new(6);
    let site = Site::new();
    let house = House::random(&mut random);
    site.issue(&house.design("A"), &["7"]);
    let readings = conforming_readings(&house, &mut random);
    let offer = lines(&[json!({"do": "offer", "plot": "7", "hold_point": "oversite"})]);
    let books: Vec<Value> =
        readings.iter().filter(|r| r.hold_point == "oversite").map(|r| r.command("7")).collect();
    let (answers, photos) =
        (answers("7", "oversite"), photo_commands(&site, &house, "7", "oversite", &mut random));

    site.enter(SUPERVISOR, &offer).expect_code(1).says("G1");
    site.enter(SUPERVISOR, &lines(&books)).expect_code(0);
    site.enter(SUPERVISOR, &offer).expect_code(1);
    site.enter(SUPERVISOR, &lines(&answers)).expect_code(0);
    site.enter(SUPERVISOR, &offer).expect_code(1).says("photo");
    site.enter(SUPERVISOR, &lines(&photos[..1])).expect_code(0);
    site.enter(SUPERVISOR, &offer).expect_code(1).says("photo");
    let owed = site.hold_point("7", "oversite")["owed"].clone();
    assert_eq!(owed.as_array().map(Vec::len), Some(1), "{owed:#}");
    site.enter(SUPERVISOR, &lines(&photos[1..])).expect_code(0);
    site.enter(SUPERVISOR, &offer).expect_code(0);
    assert_eq!(site.hold_point("7", "oversite")["state"], "offered");
}

#[test]
fn releases_that_must_not_be_are_refused() {
    let mut random = Random::new(7);
    let site = Site::new();
    let house = House::random(&mut random);
    site.issue(&house.design("A"), &["7"]);
    let readings = conforming_readings(&house, &mut random);
    let act =
        |what: &str, hold_point: &str| lines(&[json!({"do": what, "plot": "7", "hold_point": hold_point})]);

    // Not before it is offered; not out of order; not by who may not.
    site.enter(MANAGER, &act("release", "oversite")).expect_code(1);
    prove(&site, &house, "7", "dpc", &readings, &mut random);
    site.enter(SUPERVISOR, &act("offer", "dpc")).expect_code(1).says("bearing");
    prove(&site, &house, "7", "oversite", &readings, &mut random);
    site.enter(SUPERVISOR, &act("offer", "oversite")).expect_code(0);
    site.enter(SUPERVISOR, &act("release", "oversite")).expect_code(1);
    site.enter(DESIGNER, &act("release", "oversite")).expect_code(1);
    assert_eq!(site.hold_point("7", "oversite")["state"], "offered");

    // Not with a wrong PIN, nor by somebody who is not enrolled.
    site.tablet.write("wrong.txt", "111111\n");
    let release = act("release", "oversite");
    let wrong = ["enter", "site.gaugerod", "--as", MANAGER, "--pin-file", "wrong.txt"];
    site.tablet.run_with_input(wrong, &release).expect_code(1).says("PIN");
    let nobody = ["enter", "site.gaugerod", "--as", "Nobody Known", "--pin-file", "wrong.txt"];
    site.tablet.run_with_input(nobody, &release).expect_code(1).says("Nobody Known");
    let without = ["enter", "site.gaugerod", "--as", MANAGER];
    site.tablet.run_with_input(without, &release).expect_code(1).says("PIN");
    assert_eq!(site.hold_point("7", "oversite")["state"], "offered");

    // A refusal needs a reason and raises a nonconformance.
    site.enter(MANAGER, &act("refuse", "oversite")).expect_code(2).says("reason");
    let refuse = json!({"do": "refuse", "plot": "7", "hold_point": "oversite", "reason": "roots left at G2"});
    site.enter(MANAGER, &lines(&[refuse])).expect_code(0);
    let at = site.hold_point("7", "oversite");
    assert_eq!(at["state"], "refused", "{at:#}");
    assert!(at["nonconformances"].to_string().contains("roots left at G2"), "{at:#}");
}

#[test]
fn a_manager_does_not_release_what_they_alone_booked() {
    let mut random = Random::new(8);
    let site = Site::new();
    let house = House::random(&mut random);
    site.issue(&house.design("A"), &["7"]);
    let readings = conforming_readings(&house, &mut random);
    let mut commands: Vec<Value> =
        readings.iter().filter(|r| r.hold_point == "oversite").map(|r| r.command("7")).collect();
    commands.extend(answers("7", "oversite"));
    commands.extend(photo_commands(&site, &house, "7", "oversite", &mut random));
    site.enter(MANAGER, &lines(&commands)).expect_code(0);
    site.enter(SUPERVISOR, &lines(&[json!({"do": "offer", "plot": "7", "hold_point": "oversite"})]))
        .expect_code(0);
    let release = lines(&[json!({"do": "release", "plot": "7", "hold_point": "oversite"})]);
    site.enter(MANAGER, &release).expect_code(1);
}

#[test]
fn what_was_covered_without_release_is_never_passed_over() {
    let mut random = Random::new(10);
    let site = Site::new();
    let house = House::random(&mut random);
    site.issue(&house.design("A"), &["7"]);
    let covered = json!({"do": "cover-unreleased", "plot": "7", "hold_point": "oversite", "reason": "beams laid on Friday evening"});
    site.enter(SUPERVISOR, &lines(&[covered])).expect_code(0);
    let at = site.hold_point("7", "oversite");
    assert_eq!(at["state"], "covered-unreleased", "{at:#}");
    assert_eq!(at["nonconformances"].as_array().map(Vec::len), Some(1), "{at:#}");
    let pin = gaugerod_tests::site::pin_file(MANAGER);
    let sign = [
        "sign-off",
        "site.gaugerod",
        "--plot",
        "7",
        "--as",
        MANAGER,
        "--pin-file",
        &pin,
        "--out",
        "early.pdf",
    ];
    site.tablet.run(sign).expect_code(1).says("oversite");
}

#[test]
fn a_line_is_all_or_nothing_and_what_came_before_stays() {
    let mut random = Random::new(11);
    let site = Site::new();
    let house = House::random(&mut random);
    site.issue(&house.design("A"), &["7"]);
    let readings = conforming_readings(&house, &mut random);
    let mut commands: Vec<Value> =
        readings.iter().filter(|r| r.hold_point == "oversite").map(|r| r.command("7")).collect();
    commands.insert(1, json!({"do": "book-reading", "plot": "7", "hold_point": "oversite", "criterion": "no-such", "point": "G1", "level_m": 1}));
    let ran = site.enter(SUPERVISOR, &lines(&commands));
    assert!(matches!(ran.code, Some(1 | 2)), "{ran:?}");
    ran.says("line 2");
    let kept = site.hold_point("7", "oversite")["readings"].as_array().map(Vec::len);
    assert_eq!(kept, Some(1));
}
