//! The finished topping and its curing held through a register on disk.

use super::*;
use crate::conformity::Verdict;
use crate::entry::{PlacingNoted, Temperature, TemperaturesBooked};
use crate::inspection::{Request, curing, finish_feeds};
use crate::time::LocalTime;

fn with_finish() -> Desk {
    let mut desk = Desk::new();
    desk.issue(SEMI);
    desk
}

fn mm(text: &str) -> ReadValue {
    ReadValue::parse(text, "mm").unwrap()
}

fn time(text: &str) -> LocalTime {
    LocalTime::parse_typed(text).unwrap()
}

fn verdict_at(desk: &mut Desk, criterion: &str, point: &str) -> Verdict {
    let criterion = desk.criterion("finish", criterion);
    criterion.reading_at(&PointName::new(point).unwrap()).unwrap().trial.clone().unwrap().verdict
}

fn placed(at: &str) -> Act {
    Act::NotePlacing(PlacingNoted { hold_point: hold("curing"), at: time(at) })
}

fn temperatures(readings: &[(&str, &str)]) -> TemperaturesBooked {
    let reading =
        |(at, concrete_c): &(&str, &str)| Temperature { at: time(at), concrete_c: (*concrete_c).to_owned() };
    TemperaturesBooked {
        hold_point: hold("curing"),
        readings: readings.iter().map(reading).collect(),
        file: None,
    }
}

fn warm(readings: &[(&str, &str)]) -> Act {
    Act::BookTemperatures(temperatures(readings))
}

#[test]
fn the_finish_owes_a_depth_and_a_level_at_every_place_of_the_grid() {
    let mut desk = with_finish();
    assert_eq!(desk.criterion("finish", "depths").owed.len(), 43);
    assert_eq!(desk.criterion("finish", "level-and-flatness").owed.len(), 43);
    let by = desk.supervisor.clone();
    desk.refused(book("finish", "depths", "F9.1", mm("80")), &by, "F9.1");
    desk.issue(&without_beams(SEMI));
    assert!(desk.view().standing.hold_point(&hold("finish")).is_none());
}

#[test]
fn depths_meet_their_limits_inside_the_guard() {
    let mut desk = with_finish();
    // 80 − 10 and + 20, a probe of ±2: 72 to 98 are sure, below 68 and above 102 surely not.
    for (point, depth, expect) in [
        ("F1.1", "71.999", Verdict::Undetermined),
        ("F1.2", "72", Verdict::Conforming),
        ("F1.3", "72.001", Verdict::Conforming),
        ("F1.4", "67.999", Verdict::Nonconforming),
        ("F1.5", "68", Verdict::Undetermined),
        ("F1.6", "98", Verdict::Conforming),
        ("F1.7", "98.001", Verdict::Undetermined),
        ("F2.1", "102", Verdict::Undetermined),
        ("F2.2", "102.001", Verdict::Nonconforming),
    ] {
        desk.supervise(book("finish", "depths", point, mm(depth)));
        assert_eq!(verdict_at(&mut desk, "depths", point), expect, "{depth}");
    }
}

#[test]
fn levels_meet_their_tolerance_and_gaps_their_class() {
    let mut desk = with_finish();
    for (point, level, expect) in [
        ("F1.1", "48.139999", Verdict::Nonconforming),
        ("F1.2", "48.140", Verdict::Conforming),
        ("F1.3", "48.140001", Verdict::Conforming),
        ("F1.4", "48.159999", Verdict::Conforming),
        ("F1.5", "48.160", Verdict::Conforming),
        ("F1.6", "48.160001", Verdict::Nonconforming),
    ] {
        desk.supervise(book("finish", "level-and-flatness", point, super::level(level)));
        assert_eq!(verdict_at(&mut desk, "level-and-flatness", point), expect, "{level}");
    }
}

#[test]
fn the_largest_gap_is_held_against_the_class() {
    // All lies at 48.150 but F6.3. Its row's neighbours are 1200 mm away: a straightedge of 2 m from one of them ends
    // 800 mm past the low point, where the floor is two thirds up again, so it hangs down by a fifth of the depth and
    // the gap is 0.8 of it. In the column the neighbours are 1500 mm away and the gap is half of it.
    for (low, gap, expect) in [
        ("48.143751", "5.0", Verdict::Conforming),
        ("48.143750", "5.0", Verdict::Conforming),
        ("48.143748", "5.0", Verdict::Nonconforming),
        ("48.1425", "6.0", Verdict::Nonconforming),
    ] {
        let mut desk = with_finish();
        for point in &desk.criterion("finish", "level-and-flatness").points {
            let read = if point.as_str() == "F6.3" { low } else { "48.150" };
            desk.supervise(book("finish", "level-and-flatness", point.as_str(), super::level(read)));
        }
        let criterion = desk.criterion("finish", "level-and-flatness");
        assert_eq!(criterion.verdict, Some(expect), "{low}");
        let said = finish_feeds::summary(&criterion).remove(0).1;
        let expect = format!(
            "Largest gap {gap} mm in row 6, 2.40 m along, straightedge from 1.20 to 3.20 m; 19 lines"
        );
        assert_eq!(said, expect);
    }
}

#[test]
fn least_mean_and_volume_are_told_for_each_area() {
    let mut desk = with_finish();
    let points = desk.criterion("finish", "depths").points;
    for point in &points {
        let depth = if point.as_str() == "F5.2" { "76" } else { "80" };
        desk.supervise(book("finish", "depths", point.as_str(), mm(depth)));
    }
    let criterion = desk.criterion("finish", "depths");
    assert_eq!((criterion.verdict, criterion.owed.len()), (Some(Verdict::Conforming), 0));
    let said = finish_feeds::summary(&criterion);
    // 8.36 × 3.96 = 33.1056 m², 80 mm thick.
    assert!(
        said[0].1.starts_with("Topping front: least 80.0 mm at F1.1, mean 80.0 mm, 2.648 m³"),
        "{}",
        said[0].1
    );
    assert!(said[1].1.starts_with("Topping back: least 76.0 mm at F5.2, mean 79.7 mm"), "{}", said[1].1);
}

#[test]
fn walking_and_loading_are_owed_until_their_age_and_then_said_as_times() {
    let mut desk = with_finish();
    let owed =
        |desk: &mut Desk, id: &str| desk.criterion("curing", id).owed.first().map(|owed| owed.what.clone());
    let said = |desk: &mut Desk, id: &str| -> String {
        desk.criterion("curing", id)
            .findings
            .iter()
            .map(|one| one.what.clone())
            .collect::<Vec<_>>()
            .join("; ")
    };
    assert_eq!(owed(&mut desk, "walk").unwrap(), "hour at which the last concrete was placed");
    desk.supervise(placed("2026-09-14 12:00"));
    assert_eq!(owed(&mut desk, "walk").unwrap(), "temperatures until the equivalent age is 24 h");
    // Nurse-Saul, datum −10, reference 20: at 20 °C an hour is worth an hour.
    desk.supervise(warm(&[("2026-09-14 12:00", "20"), ("2026-09-15 11:59", "20")]));
    assert!(owed(&mut desk, "walk").is_some());
    let text = said(&mut desk, "walk");
    assert!(
        text.contains("not to be walked on yet: equivalent age 23.9 of 24 h at 2026-09-15 11:59"),
        "{text}"
    );
    assert!(text.contains("if it stays at 20 °C, about 2026-09-15 12:00"), "{text}");
    assert!(desk.criterion("curing", "walk").findings[0].caution);
    assert_eq!(desk.criterion("curing", "walk").verdict, Some(Verdict::Undetermined));
    // On the limit.
    desk.supervise(warm(&[("2026-09-15 12:00", "20")]));
    assert_eq!(owed(&mut desk, "walk"), None);
    assert_eq!(desk.criterion("curing", "walk").verdict, Some(Verdict::Conforming));
    let text = said(&mut desk, "walk");
    assert!(text.contains("may be walked on from 2026-09-15 12:00"), "{text}");
    // Loading waits for 168 h, and says so.
    let text = said(&mut desk, "load");
    assert!(text.contains("not to be loaded yet: equivalent age 24.0 of 168 h"), "{text}");
    assert!(text.contains("no loading before the engineer's strength"), "{text}");
    desk.supervise(warm(&[("2026-09-21 12:01", "20")]));
    assert_eq!(desk.criterion("curing", "load").verdict, Some(Verdict::Conforming));
    let text = said(&mut desk, "load");
    assert!(text.contains("may be loaded from 2026-09-21 12:00"), "{text}");
    assert!(text.contains("no loading before the engineer's strength"), "{text}");
}

#[test]
fn nothing_counts_before_the_placing_and_a_later_placing_takes_it_back() {
    let mut desk = with_finish();
    desk.supervise(placed("2026-09-14 12:00"));
    desk.supervise(warm(&[
        ("2026-09-13 12:00", "20"),
        ("2026-09-14 12:00", "20"),
        ("2026-09-15 12:00", "20"),
    ]));
    assert_eq!(desk.criterion("curing", "walk").verdict, Some(Verdict::Conforming));
    let course = curing::course(&desk.view().record).unwrap();
    assert_eq!((course.before, course.age_h), (1, 24.0));
    let by = desk.supervisor.clone();
    desk.refused(placed("2026-09-14 13:00"), &by, "noted already");
    let entry = curing::placing(&desk.view().record, &hold("curing")).unwrap().noted.id;
    let later = Act::Supersede {
        id: entry,
        because: Because::Misread,
        remark: None,
        with: Box::new(placed("2026-09-14 13:00")),
    };
    desk.supervise(later);
    let course = curing::course(&desk.view().record).unwrap();
    assert_eq!((course.before, course.age_h), (2, 0.0), "one reading alone shows no age");
    assert_eq!(desk.criterion("curing", "walk").verdict, Some(Verdict::Undetermined));
}

#[test]
fn temperatures_are_refused_whole_with_every_fault() {
    let mut desk = with_finish();
    let by = desk.supervisor.clone();
    desk.supervise(warm(&[("2026-09-14 12:00", "14.5")]));
    let mut wrong = temperatures(&[
        ("2026-09-14 12:00", "15"),
        ("2026-09-14 11:00", "150.1"),
        ("2026-09-14 13:00", "1,5"),
        ("2026-09-14 14:00", "15.0"),
    ]);
    wrong.file = Some("a/b.csv".to_owned());
    for says in [
        "/readings/0/at: 2026-09-14 12:00 is booked already",
        "/readings/1/at: must be later",
        "/readings/1/concrete_C",
        "/readings/2/concrete_C",
        "/readings/3/concrete_C: must be written 15",
        "/file",
    ] {
        desk.refused(Act::BookTemperatures(wrong.clone()), &by, says);
    }
    desk.refused(warm(&[]), &by, "at least one");
    let elsewhere =
        TemperaturesBooked { hold_point: hold("finish"), ..temperatures(&[("2026-09-14 15:00", "15")]) };
    desk.refused(Act::BookTemperatures(elsewhere), &by, "finish asks for no temperatures; curing does");
    assert_eq!(curing::temperatures(&desk.view().record, &hold("curing")).len(), 1);
}

#[test]
fn a_loggers_file_is_taken_in_whole_or_not_at_all() {
    let mut desk = with_finish();
    let by = desk.supervisor.clone();
    let mut run = |line: &str, file: &str| -> Result<(), String> {
        let request = Request::read(line).unwrap();
        let files = |_: &str| Ok(file.as_bytes().to_vec());
        let command = desk.register.take_in(request, &files).map_err(|error| error.to_string())?;
        desk.register.perform(&command, &by).map(|_| ()).map_err(|error| error.to_string())
    };
    let take = r#"{"do": "take-in-temperatures", "plot": "7", "file": "loggers/7.csv"}"#;
    let told =
        run(take, "time,temp\n2026-09-14 12:00,20\n2026-09-14 12:30,hot\n2026-09-14 12:30,21\n").unwrap_err();
    assert!(told.contains("row 3, column temp"), "{told}");
    run(take, "time,temp\n2026-09-14 12:00,20\n2026-09-14 12:30,20.50\n").unwrap();
    run(r#"{"do": "note-placing", "plot": "7", "at": "2026-09-14 11:50"}"#, "").unwrap();
    run(r#"{"do": "book-temperature", "plot": "7", "at": "2026-09-14 13:00", "concrete_C": 21.0}"#, "")
        .unwrap();
    assert!(run(r#"{"do": "book-temperature", "plot": "7", "at": "noon", "concrete_C": 21}"#, "").is_err());
    assert!(
        run(r#"{"do": "book-temperature", "plot": "7", "at": "2026-09-14 14:00", "concrete_C": 151}"#, "")
            .is_err()
    );
    let record = &desk.view().record;
    let all = curing::temperatures(record, &hold("curing"));
    let read: Vec<&str> = all.iter().map(|one| one.concrete_c.as_str()).collect();
    assert_eq!(read, ["20", "20.5", "21"]);
    assert_eq!(record.temperatures[0].fact.file.as_deref(), Some("7.csv"));
    let papers = desk.criterion("curing", "walk").papers;
    assert_eq!(papers[0].title, "Placed 2026-09-14 11:50");
    assert_eq!(papers[1].title, "2 temperatures, 7.csv");
    assert_eq!(papers[2].title, "21 °C at 2026-09-14 13:00");
}

#[test]
fn a_release_of_the_curing_lapses_when_its_temperatures_are_put_right() {
    let mut desk = with_finish();
    desk.supervise(placed("2026-09-14 12:00"));
    let entry = desk.supervise(warm(&[("2026-09-14 12:00", "20"), ("2026-09-21 12:00", "20")]));
    assert_eq!(desk.criterion("curing", "load").verdict, Some(Verdict::Conforming));
    let colder = Act::Supersede {
        id: entry,
        because: Because::Misread,
        remark: None,
        with: Box::new(warm(&[("2026-09-14 12:00", "10"), ("2026-09-21 12:00", "10")])),
    };
    desk.supervise(colder);
    // (10 + 10) / 30 of 168 h is 112 h.
    let course = curing::course(&desk.view().record).unwrap();
    assert!((course.age_h - 112.0).abs() < 1e-9);
    assert_eq!(desk.criterion("curing", "load").owed.len(), 1);
}
