//! Registering instruments and bench marks by the labels of the forms.

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use gaugerod_core::entry::{InstrumentKind, InstrumentRegistered, TwoPegTest};
use gaugerod_core::ids::InstrumentName;

use super::fields::draft;
use crate::action::Action;
use crate::headless;
use crate::screens::fixture::Site;
use crate::screens::window_ui;
use crate::state::{Screen, State};

fn press(harness: &mut Harness<'_, State>, labels: &[&str]) {
    for label in labels {
        harness.get_by_label(label).click();
        harness.run();
    }
}

fn key_in(harness: &mut Harness<'_, State>, figures: &str) {
    for figure in figures.chars() {
        let key = if figure == '.' { "decimal point".to_owned() } else { figure.to_string() };
        press(harness, &[&key]);
    }
}

fn asked(harness: &Harness<'_, State>) -> Vec<Action> {
    harness.state().actions.iter().filter(|one| !matches!(one, Action::KeepDraft { .. })).cloned().collect()
}

#[test]
fn the_list_and_both_forms_pass_the_checks() {
    let mut state = Site::bare().state(Screen::Instruments);
    headless::check("nothing registered", |ui| window_ui(ui, &mut state));
    for (form, two_peg) in [("instrument", ""), ("instrument", "made"), ("bench mark", "")] {
        state.drafts.text.insert(draft("form"), form.to_owned());
        state.drafts.text.insert(draft("two-peg"), two_peg.to_owned());
        headless::check(&format!("{form} {two_peg}"), |ui| window_ui(ui, &mut state));
    }
}

#[test]
fn an_instrument_with_its_two_peg_test_is_registered_by_the_keypad() {
    let mut state = Site::bare().state(Screen::Instruments);
    state.drafts.text.insert(draft("name"), "level 2".to_owned());
    state.drafts.text.insert(draft("form"), "instrument".to_owned());
    let mut harness = headless::harness(egui::vec2(1280.0, 1200.0), window_ui, state);
    key_in(&mut harness, "3");
    press(&mut harness, &["Next: Checked on"]);
    key_in(&mut harness, "20260901");
    harness.get_by_label("Checked on: 2026-09-01");
    press(&mut harness, &["Next: Next check due"]);
    key_in(&mut harness, "20270301");
    press(&mut harness, &["Two-peg test of this check", "Next: From midway: A"]);
    // B stands 100 mm lower; 1.2 mm on 30 m is 0.4 mm on 10 m, of which 0.3 are allowed.
    for (figures, next) in [
        ("1500", "Next: From midway: B"),
        ("1600", "Next: From near A: A"),
        ("1450", "Next: From near A: B"),
        ("1.5512", "Next: A to B, m"),
        ("30", "Next: Allowed, mm on 10 m"),
    ] {
        key_in(&mut harness, figures);
        press(&mut harness, &[next]);
    }
    key_in(&mut harness, "0.3");
    harness.get_by_label_contains("0.40 mm on 10 m, 0.3 allowed. Nothing is decided from it");
    press(&mut harness, &["Register it"]);
    let wanted = InstrumentRegistered {
        instrument: InstrumentName::new("level 2").unwrap(),
        kind: InstrumentKind::OpticalLevel,
        expanded_uncertainty_um: 3_000,
        checked: "2026-09-01".parse().unwrap(),
        due: "2027-03-01".parse().unwrap(),
        two_peg: Some(TwoPegTest {
            mid_a_um: 1_500_000,
            mid_b_um: 1_600_000,
            end_a_um: 1_450_000,
            end_b_um: 1_551_200,
            distance_um: 30_000_000,
            allowable_um_per_10_m: 300,
        }),
        remark: None,
    };
    assert_eq!(asked(&harness), [Action::RegisterInstrument(Box::new(wanted))]);
}

#[test]
fn everything_that_is_missing_is_said_at_once() {
    let mut state = Site::bare().state(Screen::Instruments);
    state.drafts.text.insert(draft("form"), "instrument".to_owned());
    state.drafts.text.insert(draft("uncertainty"), "3".to_owned());
    state.drafts.text.insert(draft("checked"), "2026".to_owned());
    let harness = headless::harness(headless::SIZES[0], window_ui, state);
    harness.get_by_label_contains(
        "the name is missing; Checked on must be a day such as 2026-11-25; Next check due",
    );
}

#[test]
fn a_bench_mark_takes_the_name_of_the_datum_and_a_source_from_the_list() {
    let mut state = Site::bare().state(Screen::Instruments);
    state.drafts.text.insert(draft("form"), "bench mark".to_owned());
    let mut harness = headless::harness(egui::vec2(1280.0, 1200.0), window_ui, state);
    press(&mut harness, &["TBM 1, nail in kerb"]);
    key_in(&mut harness, "47.215");
    press(&mut harness, &["Checked today", "setting-out drawing", "Register it"]);
    let asked = asked(&harness);
    let [Action::RegisterBenchmark(own)] = asked.as_slice() else { panic!("{asked:?}") };
    assert_eq!((own.benchmark.as_str(), own.level_um), ("TBM 1, nail in kerb", 47_215_000));
    assert_eq!(own.source, "setting-out drawing");
}

#[test]
fn an_instrument_that_is_registered_anew_wants_its_check_again() {
    let mut site = Site::bare();
    let own = InstrumentRegistered {
        instrument: InstrumentName::new("level 2").unwrap(),
        kind: InstrumentKind::OpticalLevel,
        expanded_uncertainty_um: 3_000,
        checked: "2026-01-05".parse().unwrap(),
        due: "2026-08-01".parse().unwrap(),
        two_peg: None,
        remark: None,
    };
    let command = gaugerod_core::inspection::Command::RegisterInstrument(own);
    site.register.perform(&command, &site.supervisor).unwrap();
    let state = site.state(Screen::Instruments);
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    harness.get_by_label_contains("was due for its check by 2026-08-01").click();
    harness.run();
    assert_eq!(harness.state().drafts.text(&draft("uncertainty")), "3");
    assert_eq!(harness.state().drafts.text(&draft("checked")), "");
}
