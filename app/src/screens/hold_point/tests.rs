//! A hold point by its labels: what is pressed, and what is asked for.

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use gaugerod_core::entry::{Answer, Because, ReadValue};
use gaugerod_core::ids::{CriterionId, PointName};
use gaugerod_core::inspection::{Act, Command, Extent};

use crate::action::Action;
use crate::headless;
use crate::screens::fixture::{Site, hold_point, plot};
use crate::screens::window_ui;
use crate::shipped;
use crate::state::{Screen, State};

fn screen(on: &str, id: &str) -> Screen {
    Screen::HoldPoint(plot(on), hold_point(id))
}

pub(super) fn criterion(id: &str) -> CriterionId {
    CriterionId::new(id).unwrap()
}

pub(super) fn point(name: &str) -> PointName {
    PointName::new(name).unwrap()
}

/// The screen with a criterion chosen.
pub(super) fn at(site: &mut Site, on: &str, id: &str, of: &str) -> State {
    let mut state = site.state(screen(on, id));
    state.drafts.criterion = Some((hold_point(id), criterion(of)));
    state
}

pub(super) fn press(harness: &mut Harness<'_, State>, labels: &[&str]) {
    for label in labels {
        harness.get_by_label(label).click();
        harness.run();
    }
}

/// What was asked for, drafts left out.
pub(super) fn asked(harness: &Harness<'_, State>) -> Vec<Action> {
    let actions = harness.state().actions.iter().filter(|one| !matches!(one, Action::KeepDraft { .. }));
    actions.cloned().collect()
}

fn book(name: &str, um: i64, instead_of: Option<(gaugerod_core::ids::EntryId, Because)>) -> Action {
    Action::Book {
        plot: plot("2"),
        hold_point: hold_point("bearing-level"),
        criterion: criterion("level"),
        point: point(name),
        value: ReadValue::Um(um),
        instead_of,
    }
}

#[test]
fn every_criterion_passes_the_checks_at_every_stage() {
    let mut site = Site::new();
    for (on, id) in [
        ("1", "oversite"),
        ("2", "bearing-level"),
        ("3", "vents"),
        ("1", "dpc"),
        ("4", "vents"),
        ("6", "bearing-level"),
        ("5", "membrane"),
        ("1", "gas-pipes"),
        ("5", "sign-off"),
        ("8", "edge-blocks"),
    ] {
        let state = site.state(screen(on, id));
        let view = state.plot(&plot(on)).unwrap();
        for of in &view.standing.hold_point(&hold_point(id)).unwrap().criteria {
            let mut state = at(&mut site, on, id, of.id.as_str());
            headless::check(&format!("{on}/{id}/{}", of.id), |ui| window_ui(ui, &mut state));
            site.hand_to_manager(&mut state);
            headless::check(&format!("{on}/{id}/{}, manager", of.id), |ui| window_ui(ui, &mut state));
        }
    }
}

#[test]
fn levels_are_booked_by_the_keypad_alone_and_the_next_point_comes_up() {
    let mut site = Site::new();
    let state = at(&mut site, "2", "bearing-level", "level");
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    // A1 to A3 are read: A4 is up.
    harness.get_by_label_contains("A4: level of the bearing wall");
    press(&mut harness, &["4", "7", "decimal point", "8", "1", "2", "Book, next A5"]);
    assert_eq!(asked(&harness), [book("A4", 47_812_000, None)]);
    harness.get_by_label_contains("A5: level of the bearing wall");
    press(&mut harness, &["4", "7", "decimal point", "8", "0", "7", "Book, next A6"]);
    assert_eq!(asked(&harness), [book("A4", 47_812_000, None), book("A5", 47_807_000, None)]);
}

#[test]
fn what_is_typed_is_kept_under_its_own_point_until_it_is_on_disk() {
    let mut site = Site::new();
    let state = at(&mut site, "2", "bearing-level", "level");
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    press(&mut harness, &["4", "7", "decimal point", "8", "1"]);
    let name = "keypad/2/bearing-level/level/A4".to_owned();
    let last = harness.state().actions.last().cloned();
    assert_eq!(last, Some(Action::KeepDraft { name: name.clone(), text: "47.81".to_owned() }));
    // Book, but nothing comes back from disk yet: the draft stays.
    press(&mut harness, &["Book, next A5"]);
    assert_eq!(harness.state().drafts.text(&name), "47.81");
    // It is on disk: the draft is forgotten here and there.
    site.read("2", "bearing-level", "level", "A4", "47.81", "m");
    let fresh = site.state(screen("2", "bearing-level"));
    harness.state_mut().register = fresh.register;
    harness.run();
    assert_eq!(harness.state().drafts.text(&name), "");
    assert_eq!(harness.state().actions.last(), Some(&Action::KeepDraft { name, text: String::new() }));
}

#[test]
fn same_again_types_what_was_booked_last_for_this_criterion_and_books_nothing_by_itself() {
    let mut site = Site::new();
    // C3 was booked last, at 47.814.
    let state = at(&mut site, "2", "bearing-level", "level");
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    press(&mut harness, &["4", "9", "same again: 47.814 m"]);
    assert_eq!(asked(&harness), []);
    assert_eq!(harness.state().drafts.text("keypad/2/bearing-level/level/A4"), "47.814");
    press(&mut harness, &["backspace", "0", "Book, next A5"]);
    assert_eq!(asked(&harness), [book("A4", 47_810_000, None)]);
    // Where nothing is booked yet there is nothing to say again.
    let state = at(&mut site, "1", "bearing-level", "level");
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    press(&mut harness, &["same again", "4"]);
    assert_eq!(harness.state().drafts.text("keypad/1/bearing-level/level/A1"), "4");
}

#[test]
fn a_refused_booking_leaves_the_figures_where_they_were() {
    let mut site = Site::new();
    let state = at(&mut site, "2", "bearing-level", "level");
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    press(&mut harness, &["4", "7", "decimal point", "8", "1", "Book, next A5"]);
    harness.state_mut().notice =
        Some(crate::state::Notice { text: "The disk is full.".to_owned(), is_problem: true });
    harness.state_mut().drafts.point = Some(point("A4"));
    harness.run();
    assert_eq!(harness.state().drafts.text("keypad/2/bearing-level/level/A4"), "47.81");
    harness.get_by_label_contains("A4: level of the bearing wall");
}

#[test]
fn a_level_that_cannot_be_is_refused_while_it_is_typed() {
    let mut site = Site::new();
    let state = at(&mut site, "2", "bearing-level", "level");
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    press(&mut harness, &["4", "7", "8", "1", "2", "Book, next A5"]);
    assert_eq!(asked(&harness), []);
}

#[test]
fn a_point_that_is_read_wants_misread_or_reworked_before_it_is_read_again() {
    let mut site = Site::new();
    let state = at(&mut site, "2", "bearing-level", "level");
    let entry = state
        .plot(&plot("2"))
        .unwrap()
        .standing
        .hold_point(&hold_point("bearing-level"))
        .unwrap()
        .criterion(&criterion("level"))
        .unwrap()
        .reading_at(&point("B5"))
        .unwrap()
        .entry;
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    harness.get_by_label("point B5: not OK").click();
    harness.run();
    harness.get_by_label("B5 is 47.819 m");
    press(&mut harness, &["4", "7", "decimal point", "8", "1", "1"]);
    harness.get_by_label_contains("Book").click();
    harness.run();
    assert_eq!(asked(&harness), [], "no reason was given");
    press(&mut harness, &["misread"]);
    harness.get_by_label_contains("Book").click();
    harness.run();
    assert_eq!(asked(&harness), [book("B5", 47_811_000, Some((entry, Because::Misread)))]);
}

#[test]
fn a_plugged_in_keyboard_books_too() {
    let mut site = Site::new();
    let state = at(&mut site, "2", "bearing-level", "level");
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    for figure in ["4", "7", ".", "8", "0", "9"] {
        harness.event(egui::Event::Text(figure.to_owned()));
    }
    harness.run();
    harness.key_press(egui::Key::Enter);
    harness.run();
    assert_eq!(asked(&harness), [book("A4", 47_809_000, None)]);
}

#[test]
fn questions_are_answered_with_one_tap_and_reasons_come_from_the_plan() {
    let mut site = Site::new();
    let answer = |answer, reason: Option<&str>, of: &str| Action::Answer {
        plot: plot("1"),
        hold_point: hold_point("oversite"),
        criterion: criterion(of),
        answer,
        reason: reason.map(str::to_owned),
        instead_of: None,
    };
    let state = at(&mut site, "1", "oversite", "stripped");
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    press(&mut harness, &["yes"]);
    assert_eq!(asked(&harness), [answer(Answer::Yes, None, "stripped")]);
    let state = at(&mut site, "1", "oversite", "drained");
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    press(&mut harness, &["not applicable"]);
    assert_eq!(asked(&harness), [], "a reason is wanted first");
    let reason = "oversite is not lower than the ground outside";
    press(&mut harness, &[reason]);
    assert_eq!(asked(&harness), [answer(Answer::NotApplicable, Some(reason), "drained")]);
}

#[test]
fn buttons_stand_only_where_the_role_and_the_state_allow_them() {
    let mut site = Site::new();
    let there = |state: State| {
        let harness = headless::harness(headless::SIZES[1], window_ui, state);
        ["Offer", "Release", "Refuse", "Not right", "Covered without release"]
            .map(|label| harness.query_by_label(label).is_some())
    };
    let open = site.state(screen("2", "bearing-level"));
    assert_eq!(there(open), [false, false, false, true, true], "evidence is owed");
    let offered = site.state(screen("3", "vents"));
    assert_eq!(there(offered), [false, false, false, true, true], "the supervisor does not release");
    // Nothing before the oversite waits for a release, so it can be released by itself.
    let mut managed = site.state(screen("3", "oversite"));
    site.hand_to_manager(&mut managed);
    assert_eq!(there(managed), [false, true, true, true, true]);
    let released = site.state(screen("2", "oversite"));
    assert_eq!(there(released), [false, false, false, true, false]);
    let mut nobody = site.state(screen("3", "vents"));
    nobody.at_tablet = None;
    assert_eq!(there(nobody), [false; 5]);
}

#[test]
fn the_manager_refuses_with_a_reason_from_the_list() {
    let mut site = Site::new();
    let mut state = site.state(screen("3", "vents"));
    site.hand_to_manager(&mut state);
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    press(&mut harness, &["Refuse", "not clean"]);
    assert_eq!(asked(&harness), []);
    press(&mut harness, &["Refuse it"]);
    let extent = Extent::HoldPoint(hold_point("vents"));
    let act = Act::Refuse { extent, reason: "not clean".to_owned() };
    assert_eq!(asked(&harness), [Action::Do { plot: plot("3"), act }]);
}

#[test]
fn reasons_to_pick_from_are_those_of_the_plan_in_force_and_the_shipped_ones_where_it_has_none() {
    let mut site = Site::new();
    let line = |key: &str| {
        let start = format!("{key} = [");
        shipped::PLAN_OF_WORK.lines().find(|line| line.starts_with(&start)).expect("a list").to_owned()
    };
    let text = shipped::PLAN_OF_WORK.replacen(&line("raised"), "raised = [\"laid over frozen ground\"]", 1);
    let text = text.replacen(&line("refused"), "", 1);
    site.register.perform(&Command::IssuePlan { text }, &site.manager).unwrap();
    let mut state = site.state(screen("3", "vents"));
    site.hand_to_manager(&mut state);
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    press(&mut harness, &["Not right", "laid over frozen ground"]);
    assert!(harness.query_by_label("wrong product").is_none());
    press(&mut harness, &["Raise", "Refuse", "not clean", "Refuse it"]);
    let raised = Act::RaiseNonconformance {
        hold_point: hold_point("vents"),
        criterion: Some(criterion("openings")),
        what: "laid over frozen ground".to_owned(),
    };
    assert!(asked(&harness).contains(&Action::Do { plot: plot("3"), act: raised }), "{:?}", asked(&harness));
}

#[test]
fn a_photo_that_is_owed_is_added_by_its_path() {
    let mut site = Site::new();
    let state = site.state(screen("1", "oversite"));
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    let owed: Vec<_> = harness.query_all_by_label("photo: oversite, owed").collect();
    owed[0].click();
    drop(owed);
    harness.run();
    let field =
        harness.get_by_role_and_label(egui::accesskit::Role::TextInput, "or its path, or drop the file here");
    field.focus();
    harness.run();
    harness.event(egui::Event::Text("/photos/one.jpg".to_owned()));
    harness.run();
    press(&mut harness, &["Add this file"]);
    let wanted = Action::AddPhotos {
        plot: plot("1"),
        hold_point: hold_point("oversite"),
        subject: "oversite".to_owned(),
        files: vec!["/photos/one.jpg".into()],
    };
    assert_eq!(asked(&harness), [wanted]);
}

#[test]
fn laps_of_places_that_the_person_names_are_booked_under_the_name_that_is_offered() {
    let mut site = Site::new();
    let state = at(&mut site, "1", "dpc", "height");
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    press(&mut harness, &["back", "1", "7", "0", "Book"]);
    let wanted = Action::Book {
        plot: plot("1"),
        hold_point: hold_point("dpc"),
        criterion: criterion("height"),
        point: point("back"),
        value: ReadValue::Um(170_000),
        instead_of: None,
    };
    assert_eq!(asked(&harness), [wanted]);
}

#[test]
fn a_gauge_books_everything_but_the_tapped_exceptions_as_passed_in_one_press() {
    let mut site = Site::new();
    let state = at(&mut site, "1", "dpc", "lap");
    let walls = state.plot(&plot("1")).unwrap();
    let walls = walls.standing.hold_point(&hold_point("dpc")).unwrap();
    let walls: Vec<PointName> = walls.criterion(&criterion("lap")).unwrap().points.clone();
    assert!(walls.len() >= 3);
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    let whole = format!("Book {} go", walls.len());
    press(&mut harness, &["Gauge", &whole]);
    assert_eq!(asked(&harness), [], "the gauge has no name yet");
    "lap gauge 3".clone_into(harness.state_mut().drafts.text_mut("gauge/name"));
    harness.run();
    let failing = walls[1].clone();
    press(&mut harness, &[&format!("{failing} go")]);
    press(&mut harness, &[&format!("Book {} go, 1 no-go", walls.len() - 1)]);
    let wanted = Action::BookGauge {
        plot: plot("1"),
        hold_point: hold_point("dpc"),
        criterion: criterion("lap"),
        gauge: "lap gauge 3".to_owned(),
        points: walls.iter().map(|wall| (wall.clone(), *wall != failing)).collect(),
    };
    assert_eq!(asked(&harness), [wanted]);
    // They are on their way to disk: a second press books nothing twice.
    assert!(harness.query_by_label_contains("no-go").is_none());
}

#[test]
fn a_number_is_owed_where_the_gauge_did_not_pass_and_no_reason_is_asked_for_it() {
    let mut site = Site::new();
    for (wall, value) in [("A", ReadValue::Go), ("B", ReadValue::NoGo), ("C", ReadValue::Go)] {
        let act = Act::BookReading {
            hold_point: hold_point("dpc"),
            criterion: criterion("lap"),
            point: point(wall),
            value,
            instrument: Some("lap gauge 3".to_owned()),
        };
        site.act("1", act, false);
    }
    let mut state = at(&mut site, "1", "dpc", "lap");
    let view = state.plot(&plot("1")).unwrap();
    let lap =
        view.standing.hold_point(&hold_point("dpc")).unwrap().criterion(&criterion("lap")).unwrap().clone();
    let entry = lap.reading_at(&point("B")).unwrap().entry;
    state.drafts.on.insert("gauge/on/1/dpc/lap".to_owned(), true);
    let others = lap.points.len() - 3;
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    assert_eq!(others, 0, "the invented floor has three bearing walls");
    press(&mut harness, &["Measure B", "8", "0"]);
    harness.get_by_label("Measure by how much.");
    harness.get_by_label("Book").click();
    harness.run();
    let wanted = Action::Book {
        plot: plot("1"),
        hold_point: hold_point("dpc"),
        criterion: criterion("lap"),
        point: point("B"),
        value: ReadValue::Um(80_000),
        instead_of: Some((entry, Because::Measured)),
    };
    assert_eq!(asked(&harness), [wanted]);
}

#[test]
fn laps_without_points_in_the_design_are_counted_and_gauged_under_names_that_are_offered() {
    let mut site = Site::new();
    let mut state = at(&mut site, "2", "membrane", "lap");
    state.drafts.on.insert("gauge/on/2/membrane/lap".to_owned(), true);
    "wooden gauge 150".clone_into(state.drafts.text_mut("gauge/name"));
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    // Three are owed.
    press(&mut harness, &["one more", "lap 4 go", "one fewer", "Book 3 go"]);
    let points = [("lap 1", true), ("lap 2", true), ("lap 3", true)];
    let wanted = Action::BookGauge {
        plot: plot("2"),
        hold_point: hold_point("membrane"),
        criterion: criterion("lap"),
        gauge: "wooden gauge 150".to_owned(),
        points: points.map(|(name, passes)| (point(name), passes)).to_vec(),
    };
    assert_eq!(asked(&harness), [wanted]);
}

#[test]
fn the_gauge_passes_the_checks_at_every_size() {
    let mut site = Site::new();
    for (on, id, of) in [("1", "dpc", "lap"), ("1", "membrane", "lap"), ("1", "membrane", "thickness")] {
        let mut state = at(&mut site, on, id, of);
        state.drafts.on.insert(format!("gauge/on/{on}/{id}/{of}"), true);
        headless::check(&format!("gauge {id}/{of}"), |ui| window_ui(ui, &mut state));
        state.drafts.text.insert(format!("gauge/count/{on}/{id}/{of}"), "40".to_owned());
        headless::check(&format!("gauge {id}/{of}, forty"), |ui| window_ui(ui, &mut state));
    }
}
