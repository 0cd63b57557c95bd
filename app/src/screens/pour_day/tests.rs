//! The day of the pour by its labels: what is typed, what survives a kill, what is asked for.

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use gaugerod_core::entry::{ConditionsBooked, CubesTaken, PourFact, PourMoment, PourTimed, TicketBooked};
use gaugerod_core::ids::CriterionId;
use gaugerod_core::inspection::Act;
use gaugerod_core::register::Register;

use super::form::time;
use crate::action::Action;
use crate::headless;
use crate::screens::fixture::{Site, hold_point, machine, plot};
use crate::screens::window_ui;
use crate::state::{Screen, State};

fn criterion(id: &str) -> CriterionId {
    CriterionId::new(id).unwrap()
}

fn load(ticket: &str, water: &str) -> Act {
    Act::BookTicket(Box::new(TicketBooked {
        hold_point: hold_point("pour"),
        criterion: criterion("mix"),
        ticket: ticket.to_owned(),
        batch: Some("B-1".to_owned()),
        strength_class: "C25/30".to_owned(),
        consistence_class: Some("S3".to_owned()),
        measured_slump_um: Some(130_000),
        largest_aggregate_um: Some(10_000),
        fibre_kg_per_m3: None,
        fibre_type: None,
        water_added_l: Some(water.to_owned()),
        load_m3: Some("2.5".to_owned()),
        batched_at: "08:10".to_owned(),
        began_at: None,
        discharged_at: "09:25".to_owned(),
        air_c: "14".to_owned(),
        concrete_c: "17".to_owned(),
    }))
}

fn air(wind: &str) -> Act {
    Act::BookPour(PourFact::Conditions(ConditionsBooked {
        hold_point: hold_point("pour"),
        criterion: criterion("evaporation"),
        at: "09:00".to_owned(),
        concrete_c: "30".to_owned(),
        air_c: "25".to_owned(),
        humidity_percent: "50".to_owned(),
        wind_km_per_h: wind.to_owned(),
    }))
}

fn timed(moment: PourMoment, at: &str) -> Act {
    Act::BookPour(PourFact::Timed(PourTimed {
        hold_point: hold_point("pour"),
        criterion: criterion("mix"),
        moment,
        at: at.to_owned(),
    }))
}

fn pour(site: &mut Site) -> State {
    site.state(Screen::PourDay(plot("9")))
}

fn harness(state: State) -> Harness<'static, State> {
    headless::harness(headless::SIZES[0], window_ui, state)
}

fn press(harness: &mut Harness<'_, State>, labels: &[&str]) {
    for label in labels {
        harness.get_by_label(label).click();
        harness.run();
    }
}

/// What was asked for, drafts left out.
fn asked(harness: &Harness<'_, State>) -> Vec<Action> {
    let actions = harness.state().actions.iter().filter(|one| !matches!(one, Action::KeepDraft { .. }));
    actions.cloned().collect()
}

#[test]
fn every_form_passes_the_checks_at_every_stage_of_the_day() {
    let mut site = Site::bare();
    let all = |site: &mut Site, stage: &str| {
        for form in ["times", "load", "air", "cubes", "results"] {
            let mut state = pour(site);
            state.drafts.text.insert("pour/9/form".to_owned(), form.to_owned());
            state.drafts.text.insert("pour/9/load/slump".to_owned(), "175".to_owned());
            headless::check(&format!("pour, {stage}, {form}"), |ui| window_ui(ui, &mut state));
        }
    };
    all(&mut site, "nothing yet");
    site.act("9", timed(PourMoment::Started, "08:55"), false);
    site.act("9", load("T-1", "0"), false);
    site.act("9", load("T-2", "20"), false);
    site.act("9", air("20"), false);
    let taken = CubesTaken {
        hold_point: hold_point("pour"),
        criterion: criterion("cubes"),
        sample: "9-C1".to_owned(),
        ticket: "T-1".to_owned(),
        at: "09:10".to_owned(),
        cubes: 3,
    };
    site.act("9", Act::BookPour(PourFact::Taken(taken)), false);
    site.act("9", timed(PourMoment::Finished, "10:00"), false);
    all(&mut site, "poured");
    let mut state = site.state(Screen::Recall);
    state.recalled = Some(("B-1".to_owned(), site.register.recall("b-1").unwrap()));
    headless::check("recall", |ui| window_ui(ui, &mut state));
}

/// Big enough for a gloved thumb: every key of the keypad and every box of a form.
#[test]
fn what_is_tapped_on_the_day_is_at_least_64_points_high() {
    let mut site = Site::bare();
    for size in headless::SIZES {
        let state = pour(&mut site);
        let mut harness = headless::harness(size, window_ui, state);
        harness.run();
        press(&mut harness, &["Load"]);
        for label in ["Load", "Ticket: –", "Slump: not said", "7", "Next", "Skip", "backspace"] {
            let height = harness.get_by_label(label).rect().height();
            assert!(height >= super::TAP, "{label} is {height} high at {size:?}");
        }
    }
}

#[test]
fn what_is_typed_is_on_disk_before_anything_is_booked_and_survives_a_kill() {
    let mut site = Site::bare();
    let mut harness = harness(pour(&mut site));
    press(&mut harness, &["Load", "Slump: not said", "1", "7", "5"]);
    // Judged while it is typed: S3 of a spot sample is 80 to 170.
    assert!(harness.query_by_label_contains("measured slump: 175 mm, asked 80 to 170 mm (S3)").is_some());
    let kept: Vec<(String, String)> = harness
        .state()
        .actions
        .iter()
        .filter_map(|one| match one {
            Action::KeepDraft { name, text } => Some((name.clone(), text.clone())),
            _ => None,
        })
        .collect();
    drop(harness);
    for (name, text) in &kept {
        site.register.keep_draft(name, text).unwrap();
    }
    // The process is killed here: another one opens the same files.
    let path = site.path.clone();
    let folder = site.folder.path().to_owned();
    drop(site.register);
    let again = Register::open(&path, machine(&folder).surroundings()).unwrap();
    let drafts: Vec<(String, String)> =
        again.drafts().map(|(name, text)| (name.to_owned(), text.to_owned())).collect();
    assert!(drafts.contains(&("pour/9/load/slump".to_owned(), "175".to_owned())), "{drafts:?}");
    assert!(
        drafts.contains(&("pour/9/form".to_owned(), "load".to_owned())),
        "the form in hand too: {drafts:?}"
    );
}

#[test]
fn a_time_is_typed_as_four_digits_or_taken_from_the_clock() {
    for (typed, expect) in
        [("0810", "08:10"), ("810", "08:10"), ("8.10", "08:10"), ("08:10", "08:10"), ("8", "8"), ("", "")]
    {
        assert_eq!(time(typed), expect, "{typed}");
    }
    let mut site = Site::bare();
    let mut harness = harness(pour(&mut site));
    press(&mut harness, &["Now"]);
    assert_eq!(asked(&harness), [Action::TimeNow { draft: "pour/9/times/at".to_owned() }]);
    harness.state_mut().actions.clear();
    press(&mut harness, &["0", "8", "5", "5", "Next", "Book the start"]);
    assert_eq!(asked(&harness), [Action::Do { plot: plot("9"), act: timed(PourMoment::Started, "08:55") }]);
}

#[test]
fn air_and_wind_say_at_once_what_to_do() {
    let mut site = Site::bare();
    let mut state = pour(&mut site);
    for (name, text) in [
        ("pour/9/form", "air"),
        ("pour/9/air/at", "09:00"),
        ("pour/9/air/concrete", "30"),
        ("pour/9/air/air", "25"),
        ("pour/9/air/humidity", "50"),
    ] {
        state.drafts.text.insert(name.to_owned(), text.to_owned());
    }
    let mut harness = harness(state);
    press(&mut harness, &["2", "0"]);
    // Uno (1998): 1.188 kg/m²h, against 0.9765 of ACI 305R.
    assert!(harness.query_by_label_contains("The surface loses 1.19 kg/m²h").is_some());
    assert!(harness.query_by_label_contains("Shield the surface from wind and sun").is_some());
    press(&mut harness, &["Book air and wind"]);
    assert_eq!(asked(&harness), [Action::Do { plot: plot("9"), act: air("20") }]);
    // What was typed is done with.
    assert_eq!(harness.state().drafts.text("pour/9/air/wind"), "");
}

#[test]
fn the_hold_point_and_the_section_lead_to_the_pour() {
    let mut site = Site::bare();
    let mut state = site.state(Screen::HoldPoint(plot("9"), hold_point("pour")));
    state.drafts.criterion = Some((hold_point("pour"), criterion("mix")));
    let mut at_hold_point = harness(state);
    press(&mut at_hold_point, &["To the pour"]);
    assert_eq!(asked(&at_hold_point), [Action::Go(Screen::PourDay(plot("9")))]);
    let mut at_section = harness(site.state(Screen::Section(plot("9"))));
    press(&mut at_section, &["Pour"]);
    assert_eq!(asked(&at_section), [Action::Go(Screen::PourDay(plot("9")))]);
    let mut manager = harness(site.state(Screen::Register));
    press(&mut manager, &["Recall a batch"]);
    assert_eq!(asked(&manager), [Action::Go(Screen::Recall)]);
}
