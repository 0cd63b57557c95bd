//! The program is killed in the middle of booking, again and again: every entry that it acknowledged is there
//! afterwards, and the record checks. GAUGEROD_KILL_ROUNDS sets the rounds (50 without it).

use std::collections::BTreeSet;
use std::io::{BufRead, BufReader, Write};
use std::process::Stdio;
use std::time::{Duration, Instant};

use gaugerod_tests::random::Random;
use gaugerod_tests::site::{House, SUPERVISOR, Site, entry_ids, metres, pin_file};
use serde_json::{Value, json};

/// Readings handed over in one round: more than are booked before the kill.
const LINES: i64 = 400;

#[test]
fn every_acknowledged_entry_survives_a_kill() {
    let rounds: u64 = match std::env::var("GAUGEROD_KILL_ROUNDS") {
        Ok(text) => text.parse().expect("GAUGEROD_KILL_ROUNDS is a number"),
        Err(_) => 50,
    };
    let mut random = Random::new(9);
    let site = Site::new();
    let house = House::random(&mut random);
    let mut acknowledged = BTreeSet::new();
    let mut cut_short = 0;
    for round in 0..rounds {
        // A plot for each round, so that the last is booked like the first.
        let plot = format!("K{round}");
        site.issue(&house.design("A"), &[&plot]);
        let lines: Vec<String> = (0..LINES)
            .map(|_| {
                let point = &house.ground_points[usize::try_from(random.between(0, 2)).expect("small")];
                let level: Value =
                    serde_json::from_str(&metres(house.highest_ground - random.between(0, 40))).expect("a number");
                json!({"do": "book-reading", "plot": plot, "hold_point": "oversite", "criterion": "level", "point": point, "level_m": level}).to_string()
            })
            .collect();
        let mut command = site.tablet.command([
            "enter",
            "site.gaugerod",
            "--as",
            SUPERVISOR,
            "--pin-file",
            &pin_file(SUPERVISOR),
        ]);
        let mut child = command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let mut input = child.stdin.take().expect("a pipe");
        // The program dies while these are written: a broken pipe is what is looked for.
        let writer = std::thread::spawn(move || drop(input.write_all((lines.join("\n") + "\n").as_bytes())));
        let mut output = BufReader::new(child.stdout.take().expect("a pipe"));
        let wanted = random.between(0, 30);
        let wait = Duration::from_micros(u64::try_from(random.between(0, 3000)).expect("positive"));
        let mut said = String::new();
        for _ in 0..wanted {
            if output.read_line(&mut said).expect("text") == 0 {
                break;
            }
        }
        let until = Instant::now() + wait;
        while Instant::now() < until {
            std::hint::spin_loop();
        }
        child.kill().expect("a running program can be killed");
        let ended = child.wait().expect("a killed program ends");
        writer.join().expect("the writer does not panic");
        while output.read_line(&mut said).expect("text") > 0 {}
        let mut error = String::new();
        std::io::Read::read_to_string(&mut child.stderr.take().expect("a pipe"), &mut error).expect("text");
        assert!(error.is_empty(), "round {round}: {error}");
        cut_short += u64::from(!ended.success());
        // A line that was cut by the kill acknowledges nothing.
        let whole = said.rfind('\n').map_or("", |end| &said[..end]);
        acknowledged.extend(whole.lines().map(|line| entry_id(line).to_owned()));

        let kept = entry_ids(&site.tablet.site("site.gaugerod"));
        let lost: Vec<_> = acknowledged.difference(&kept).collect();
        assert!(lost.is_empty(), "round {round}: lost {lost:?}");
    }
    site.tablet.run(["check", "site.gaugerod", "--every"]).expect_code(0);
    assert!(
        cut_short * 2 > rounds,
        "only {cut_short} of {rounds} rounds were cut short: the kill came too late"
    );
    assert!(acknowledged.len() > 100, "only {} entries were acknowledged", acknowledged.len());
}

/// The entry's id in an acknowledgement.
fn entry_id(line: &str) -> &str {
    line.split_whitespace()
        .find(|word| word.len() >= 16 && word.chars().all(|c| c.is_ascii_hexdigit()))
        .unwrap_or_else(|| panic!("no entry id in {line:?}"))
}
