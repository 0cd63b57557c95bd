//! The finished topping and its curing by their labels.

use egui_kittest::kittest::Queryable as _;
use gaugerod_core::entry::{PlacingNoted, ReadValue, Temperature, TemperaturesBooked};
use gaugerod_core::inspection::Act;
use gaugerod_core::time::LocalTime;

use super::{ReadTemperatures, tests::*};
use crate::action::Action;
use crate::headless;
use crate::screens::fixture::{Site, hold_point, plot};
use crate::screens::window_ui;
use crate::state::State;

/// The plot of the fixture whose design draws everything.
const ON: &str = "9";

fn time(text: &str) -> LocalTime {
    LocalTime::parse_typed(text).unwrap()
}

fn temperatures(readings: &[(&str, &str)]) -> TemperaturesBooked {
    TemperaturesBooked {
        hold_point: hold_point("curing"),
        readings: readings
            .iter()
            .map(|(at, celsius)| Temperature { at: time(at), concrete_c: (*celsius).to_owned() })
            .collect(),
        file: None,
    }
}

fn placed(site: &mut Site) {
    let noted = PlacingNoted { hold_point: hold_point("curing"), at: time("2026-09-21 12:00") };
    site.act(ON, Act::NotePlacing(noted), false);
}

/// All depths and levels read but one, the floor a little hollow at F2.3.
fn read(site: &mut Site) {
    let view = site.register.plot(&plot(ON)).unwrap().unwrap();
    let grid = view.record.design().finish_grid();
    for place in grid.iter().filter(|place| place.name.as_str() != "F1.1") {
        let name = place.name.as_str();
        let (depth, level) = if name == "F2.3" { ("77", "48.143") } else { ("83", "48.150") };
        site.read(ON, "finish", "depths", name, depth, "mm");
        site.read(ON, "finish", "level-and-flatness", name, level, "m");
    }
}

fn state(site: &mut Site, id: &str, criterion: &str) -> State {
    at(site, ON, id, criterion)
}

#[test]
fn finish_and_curing_pass_the_checks_empty_and_read_at_every_size() {
    let mut site = Site::bare();
    let all =
        [("finish", "depths"), ("finish", "level-and-flatness"), ("curing", "walk"), ("curing", "load")];
    for (id, criterion) in all {
        let mut state = state(&mut site, id, criterion);
        headless::check(&format!("{id}/{criterion}, nothing read"), |ui| window_ui(ui, &mut state));
    }
    read(&mut site);
    placed(&mut site);
    let booked =
        temperatures(&[("2026-09-21 12:00", "18"), ("2026-09-22 18:00", "21.5"), ("2026-09-24 12:00", "9")]);
    site.act(ON, Act::BookTemperatures(booked), false);
    for (id, criterion) in all {
        let mut state = state(&mut site, id, criterion);
        headless::check(&format!("{id}/{criterion}, read"), |ui| window_ui(ui, &mut state));
    }
}

#[test]
fn a_place_of_the_grid_is_tapped_on_the_plan_and_booked_by_the_keypad() {
    let mut site = Site::bare();
    let state = state(&mut site, "finish", "depths");
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    harness.get_by_label("point F2.3: owed").click();
    harness.run();
    harness.get_by_label_contains("F2.3: depth of the topping");
    press(&mut harness, &["8", "1", "Book, next F2.2"]);
    let expect = Action::Book {
        plot: plot(ON),
        hold_point: hold_point("finish"),
        criterion: criterion("depths"),
        point: point("F2.3"),
        value: ReadValue::Um(81_000),
        instead_of: None,
    };
    assert_eq!(asked(&harness), [expect]);
    // The grid is whole millimetres: of its neighbours on the row F2.2 is the nearer one, by one of them.
    harness.get_by_label_contains("F2.2: depth of the topping");
}

#[test]
fn contours_least_thickness_and_the_worst_straightedge_are_said_on_screen() {
    let mut site = Site::bare();
    read(&mut site);
    let depths = state(&mut site, "finish", "depths");
    let harness = headless::harness(headless::SIZES[0], window_ui, depths);
    harness.get_by_label("contours of depth every 1 mm");
    harness.get_by_label_contains("Topping front: least 77.0 mm at F2.3");
    let levels = state(&mut site, "finish", "level-and-flatness");
    let harness = headless::harness(headless::SIZES[0], window_ui, levels);
    harness.get_by_label("contours of level less 48.150 m every 1 mm");
    harness.get_by_label_contains("Largest gap ");
    harness.get_by_label_contains("profile of ");
}

#[test]
fn placing_and_temperatures_are_typed_and_the_curve_says_what_is_allowed() {
    let mut site = Site::bare();
    let empty = state(&mut site, "curing", "walk");
    let mut harness = headless::harness(headless::SIZES[0], window_ui, empty);
    let name = format!("curing/{ON}/curing/placed");
    *harness.state_mut().drafts.text_mut(&name) = "2026-09-21 12:00".to_owned();
    harness.run();
    press(&mut harness, &["Note the hour of placing"]);
    let noted = PlacingNoted { hold_point: hold_point("curing"), at: time("2026-09-21 12:00") };
    assert_eq!(asked(&harness), [Action::Do { plot: plot(ON), act: Act::NotePlacing(noted) }]);

    placed(&mut site);
    site.act(
        ON,
        Act::BookTemperatures(temperatures(&[("2026-09-21 12:00", "20"), ("2026-09-22 14:00", "20")])),
        false,
    );
    let warm = state(&mut site, "curing", "walk");
    let mut harness = headless::harness(headless::SIZES[0], window_ui, warm);
    harness.get_by_label_contains("maturity curve: equivalent age 26.0 h at 2026-09-22 14:00; walked on from 2026-09-22 12:00; not loaded yet");
    harness.get_by_label("+4 h").click();
    harness.run();
    let celsius = format!("curing/{ON}/curing/celsius");
    *harness.state_mut().drafts.text_mut(&celsius) = "17,5".to_owned();
    harness.run();
    press(&mut harness, &["Book this temperature"]);
    let booked = temperatures(&[("2026-09-22 18:00", "17.5")]);
    assert_eq!(asked(&harness), [Action::Do { plot: plot(ON), act: Act::BookTemperatures(booked) }]);
    assert_eq!(harness.state().drafts.text(&celsius), "", "what was booked is forgotten");
}

#[test]
fn a_loggers_file_is_shown_before_it_is_booked_and_its_faults_by_row() {
    let mut site = Site::bare();
    placed(&mut site);
    let mut sound = state(&mut site, "curing", "load");
    let booked = temperatures(&[("2026-09-21 12:00", "20"), ("2026-09-21 13:00", "21")]);
    let read = |result| Some(ReadTemperatures { plot: plot(ON), path: "/tmp/logger 7.csv".into(), result });
    sound.drafts.temperatures = read(Ok((booked.clone(), vec!["battery".to_owned()])));
    headless::check("a logger's file", |ui| window_ui(ui, &mut sound));
    let mut harness = headless::harness(headless::SIZES[0], window_ui, sound);
    harness.get_by_label_contains("nothing is booked yet");
    harness.get_by_label("Columns left out: battery");
    press(&mut harness, &["Book all 2 temperatures"]);
    assert_eq!(asked(&harness), [Action::Do { plot: plot(ON), act: Act::BookTemperatures(booked) }]);

    let mut wrong = state(&mut site, "curing", "load");
    wrong.drafts.temperatures = read(Err(vec!["Row 3, column temp: is missing.".to_owned()]));
    headless::check("a logger's file with faults", |ui| window_ui(ui, &mut wrong));
    let mut harness = headless::harness(headless::SIZES[0], window_ui, wrong);
    harness.get_by_label("Row 3, column temp: is missing.");
    press(&mut harness, &["Go back"]);
    assert!(harness.state().drafts.temperatures.is_none());
}
