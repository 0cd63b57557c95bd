//! The level book screen by its labels, against a register on disk: what is pressed is performed, as the worker would.
//!
//! Levels are the invented plot's, worked by hand: bench mark 47.215 + 1.842 = collimation 49.057; bearing level
//! 47.810 is read as 1.247.

use std::collections::BTreeMap;

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use gaugerod_core::conformity::Verdict;
use gaugerod_core::entry::{
    Because, BenchmarkRegistered, BookMethod, InstrumentKind, InstrumentRegistered, LevelBookBegun,
    SightBooked, SightKind,
};
use gaugerod_core::ids::{InstrumentName, LevelBookName, PlotId, PointName};
use gaugerod_core::inspection::level_book::level_criteria;
use gaugerod_core::inspection::{Act, Command};
use gaugerod_core::quantity::Length;
use gaugerod_core::time::Date;

use super::course::Course;
use super::work;
use crate::action::Action;
use crate::headless;
use crate::screens::desk::{Desk, May};
use crate::screens::fixture::{Site, plot};
use crate::screens::window_ui;
use crate::state::{Screen, State};

mod beginning;

const MARK: &str = "TBM 1, nail in kerb";
const BEARINGS: [&str; 16] =
    ["A1", "A2", "A3", "A4", "A5", "A6", "B1", "B2", "B3", "B4", "B5", "B6", "C1", "C2", "C3", "C4"];

fn book(name: &str) -> LevelBookName {
    LevelBookName::new(name).unwrap()
}

fn point(name: &str) -> PointName {
    PointName::new(name).unwrap()
}

fn day(text: &str) -> Date {
    text.parse().unwrap()
}

/// The invented site with an instrument; its check is due on that day.
fn site(due: &str) -> Site {
    let mut site = Site::bare();
    let own = InstrumentRegistered {
        instrument: InstrumentName::new("level 2").unwrap(),
        kind: InstrumentKind::OpticalLevel,
        expanded_uncertainty_um: 3_000,
        checked: day("2026-01-05"),
        due: day(due),
        two_peg: None,
        remark: None,
    };
    site.register.perform(&Command::RegisterInstrument(own), &site.supervisor).unwrap();
    site
}

/// The site with book L1 begun on plot 1.
fn begun(due: &str, method: BookMethod) -> Site {
    let mut site = site(due);
    let view = site.register.plot(&plot("1")).unwrap().unwrap();
    let begun = LevelBookBegun {
        book: book("L1"),
        method,
        benchmark: point(MARK),
        instrument: InstrumentName::new("level 2").unwrap(),
        serves: level_criteria(&view.record),
        target_um: (method == BookMethod::Receiver).then_some(47_810_000),
        allowable: None,
    };
    site.act("1", Act::BeginLevelBook(begun), false);
    site
}

fn sight(kind: SightKind, at: &str, metres: &str) -> Act {
    Act::BookSight(SightBooked {
        book: book("L1"),
        sight: kind,
        point: point(at),
        value_um: Length::parse_m(metres).unwrap().um(),
        remark: None,
    })
}

fn screen() -> Screen {
    Screen::LevelBook(plot("1"), Some(book("L1")))
}

type Bench<'a> = Harness<'a, State>;

fn bench<'a>(site: &mut Site, size: usize) -> Bench<'a> {
    let state = site.state(screen());
    headless::harness(headless::SIZES[size], window_ui, state)
}

/// Performs what was asked for as the worker would, and shows what is on disk then.
fn carry(harness: &mut Bench<'_>, site: &mut Site) {
    loop {
        let actions = std::mem::take(&mut harness.state_mut().actions);
        if actions.is_empty() {
            return;
        }
        let mut is_changed = false;
        for action in actions {
            let command = match action {
                Action::Do { plot, act } => Command::OnPlot { plot, act },
                Action::RegisterInstrument(own) => Command::RegisterInstrument(*own),
                Action::RegisterBenchmark(own) => Command::RegisterBenchmark(*own),
                Action::Go(screen) => {
                    harness.state_mut().screen = screen;
                    is_changed = true;
                    continue;
                }
                _ => continue,
            };
            site.register
                .perform(&command, &site.supervisor)
                .unwrap_or_else(|error| panic!("{error}: {command:?}"));
            is_changed = true;
        }
        if is_changed {
            let screen = harness.state().screen.clone();
            let fresh = site.state(screen);
            harness.state_mut().register = fresh.register;
        }
        harness.run();
    }
}

fn press(harness: &mut Bench<'_>, site: &mut Site, labels: &[&str]) {
    for label in labels {
        harness.get_by_label(label).click();
        harness.run();
        carry(harness, site);
    }
}

/// Types figures on the keypad.
fn key_in(harness: &mut Bench<'_>, site: &mut Site, figures: &str) {
    for figure in figures.chars() {
        let key = match figure {
            '.' => "decimal point".to_owned(),
            '-' => "plus or minus".to_owned(),
            figure => figure.to_string(),
        };
        press(harness, site, &[&key]);
    }
}

fn facts(site: &mut Site) -> Vec<(SightKind, String, i64)> {
    let view = site.register.plot(&plot("1")).unwrap().unwrap();
    let book = view.record.level_book(&book("L1")).expect("the book");
    book.standing()
        .map(|one| &one.kept.fact)
        .map(|one| (one.sight, one.point.to_string(), one.value_um))
        .collect()
}

fn verdicts(site: &mut Site) -> BTreeMap<String, (Option<i64>, Verdict)> {
    let view = site.register.plot(&plot("1")).unwrap().unwrap();
    let id = crate::screens::fixture::hold_point("bearing-level");
    let level = gaugerod_core::ids::CriterionId::new("level").unwrap();
    let criterion = view.standing.hold_point(&id).unwrap().criterion(&level).unwrap();
    let of =
        |trial: &gaugerod_core::inspection::judge::Trial| (trial.deviation.map(Length::um), trial.verdict);
    criterion.readings.iter().map(|one| (one.point.to_string(), of(one.trial.as_ref().unwrap()))).collect()
}

#[test]
fn every_state_of_a_book_passes_the_checks() {
    for method in [BookMethod::HeightOfCollimation, BookMethod::RiseAndFall, BookMethod::Receiver] {
        let mut site = begun("2027-01-05", method);
        let check = |site: &mut Site, what: &str| {
            let mut state = site.state(screen());
            headless::check(&format!("{method:?}, {what}"), |ui| window_ui(ui, &mut state));
            state.drafts.levels.picking = true;
            headless::check(&format!("{method:?}, {what}, picking"), |ui| window_ui(ui, &mut state));
        };
        check(&mut site, "begun");
        let (first, inter, last) = if method == BookMethod::Receiver {
            ("0.001", "0.004", "0.002")
        } else {
            ("1.842", "1.245", "1.842")
        };
        site.act("1", sight(SightKind::Back, MARK, first), false);
        for at in BEARINGS {
            site.act("1", sight(SightKind::Inter, at, inter), false);
        }
        check(&mut site, "in work");
        site.act("1", sight(SightKind::Fore, MARK, last), false);
        check(&mut site, "closed");
        let mut state = site.state(screen());
        state.at_tablet = None;
        headless::check("nobody at the tablet", |ui| window_ui(ui, &mut state));
    }
}

#[test]
fn forty_points_are_booked_by_keypad_only() {
    // The invented plot owes 16 bearing and 5 ground points; the rest of the forty are the same walls read a second
    // time from a second set-up, picked from the list by nobody: the next point comes up by itself.
    let mut site = begun("2027-01-05", BookMethod::HeightOfCollimation);
    let mut harness = bench(&mut site, 0);
    let mut booked = 0;
    let mut one = |harness: &mut Bench<'_>, site: &mut Site, figures: &str, book: &str| {
        key_in(harness, site, figures);
        press(harness, site, &[book]);
        booked += 1;
    };
    one(&mut harness, &mut site, "1842", "Book, begin");
    // Bearings 1.247 is 47.810; oversite 1.500 is 47.557.
    for index in 0..21 {
        one(&mut harness, &mut site, if index < 16 { "1247" } else { "1500" }, "Book");
    }
    // Nothing is owed any more, so a fore sight is proposed; a second round of points is read before it.
    for _ in 0..17 {
        press(&mut harness, &mut site, &["Inter"]);
        one(&mut harness, &mut site, "1247", "Book");
    }
    one(&mut harness, &mut site, "1842", "Book and close");
    assert_eq!(booked, 40);
    let facts = facts(&mut site);
    assert_eq!(facts.len(), 40);
    assert_eq!(facts[0], (SightKind::Back, MARK.to_owned(), 1_842_000));
    for (index, at) in BEARINGS.iter().enumerate() {
        assert_eq!(facts[index + 1], (SightKind::Inter, (*at).to_owned(), 1_247_000), "along each wall");
    }
    assert_eq!(facts[17].1, "G1");
    assert_eq!(facts[39], (SightKind::Fore, MARK.to_owned(), 1_842_000));
    assert_eq!(verdicts(&mut site)["A1"], (Some(0), Verdict::Conforming));
    harness.get_by_label("The book is closed");
}

#[test]
fn what_digits_mean_shows_before_they_are_booked_and_nothing_is_booked_before() {
    let mut site = begun("2027-01-05", BookMethod::HeightOfCollimation);
    site.act("1", sight(SightKind::Back, MARK, "1.842"), false);
    let mut harness = bench(&mut site, 0);
    key_in(&mut harness, &mut site, "1238");
    harness.get_by_label("In work: A1, inter, 1.238, level 47.819, +9 mm, not OK");
    assert_eq!(facts(&mut site).len(), 1);
    // The screen asks, the worker has not answered: the sight is not in the sheet and cannot be booked twice.
    harness.get_by_label("Book").click();
    harness.run();
    assert!(harness.query_by_label_contains("L1 A1").is_none());
    harness.get_by_label("Book").click();
    harness.run();
    let asked = harness.state().actions.iter().filter(|one| matches!(one, Action::Do { .. })).count();
    assert_eq!(asked, 1);
    carry(&mut harness, &mut site);
    harness.get_by_label("L1 A1, inter 1.238, level 47.819, +9 mm, not OK");
    assert_eq!(verdicts(&mut site)["A1"], (Some(9_000), Verdict::Nonconforming));
}

#[test]
fn a_slip_is_pointed_out_and_only_a_tap_takes_what_it_might_have_been() {
    let mut site = begun("2027-01-05", BookMethod::HeightOfCollimation);
    site.act("1", sight(SightKind::Back, MARK, "1.842"), false);
    let mut harness = bench(&mut site, 2);
    // 1.427 for 1.247: two digits swapped.
    key_in(&mut harness, &mut site, "1427");
    let name = super::typed::draft(&plot("1"), &book("L1"), 1, "value");
    assert_eq!(harness.state().drafts.text(&name), "1427", "nothing is changed by itself");
    press(&mut harness, &mut site, &["Perhaps 1.247: two digits swapped"]);
    assert_eq!(harness.state().drafts.text(&name), "1247");
    press(&mut harness, &mut site, &["Book"]);
    assert_eq!(facts(&mut site)[1], (SightKind::Inter, "A1".to_owned(), 1_247_000));
}

#[test]
fn a_level_that_does_not_fit_its_neighbours_is_pointed_out() {
    let mut site = begun("2027-01-05", BookMethod::HeightOfCollimation);
    site.act("1", sight(SightKind::Back, MARK, "1.842"), false);
    for at in ["A1", "A3"] {
        site.act("1", sight(SightKind::Inter, at, "1.247"), false);
    }
    let mut harness = bench(&mut site, 0);
    // Tolerance +5 and −10 mm: up to 20 mm off the line of its neighbours fits, more does not.
    press(&mut harness, &mut site, &["Point A4", "A2"]);
    key_in(&mut harness, &mut site, "1267");
    assert!(harness.query_by_label_contains("off the line of").is_none(), "20 mm");
    press(&mut harness, &mut site, &["backspace"]);
    key_in(&mut harness, &mut site, "8");
    harness.get_by_label("A2 lies −21 mm off the line of A1 and A3. Read it again.");
}

#[test]
fn a_kill_between_two_sights_loses_nothing_that_was_typed_or_chosen() {
    let mut site = begun("2027-01-05", BookMethod::HeightOfCollimation);
    site.act("1", sight(SightKind::Back, MARK, "1.842"), false);
    let mut harness = bench(&mut site, 0);
    harness.get_by_label("Fore").click();
    harness.run();
    harness.get_by_label("1").click();
    harness.run();
    let kept: BTreeMap<String, String> = harness
        .state()
        .actions
        .iter()
        .filter_map(|one| match one {
            Action::KeepDraft { name, text } => Some((name.clone(), text.clone())),
            _ => None,
        })
        .collect();
    drop(harness);
    let mut state = site.state(screen());
    state.drafts.text = kept;
    let harness = headless::harness(headless::SIZES[0], window_ui, state);
    harness.get_by_label_contains("In work: CP1, fore, 0.001");
}

#[test]
fn the_keys_offer_what_the_rules_allow_and_no_more() {
    let mut site = begun("2027-01-05", BookMethod::HeightOfCollimation);
    let steps = [
        sight(SightKind::Back, MARK, "1.842"),
        sight(SightKind::Inter, "A1", "1.247"),
        sight(SightKind::Fore, "CP1", "1.305"),
        sight(SightKind::Back, "CP1", "1.418"),
        sight(SightKind::Fore, MARK, "1.955"),
    ];
    for step in steps.into_iter().map(Some).chain([None]) {
        let state = site.state(screen());
        let desk = Desk::of(&state, &plot("1")).unwrap();
        let own = desk.view.record.level_book(&book("L1")).unwrap();
        let course = Course::of(&desk.view.record, own);
        for kind in [SightKind::Back, SightKind::Inter, SightKind::Fore] {
            let known = ["A2", "CP1", MARK].map(point);
            let may = course.point(kind).into_iter().chain(known).any(|at| {
                let fact = SightBooked {
                    book: book("L1"),
                    sight: kind,
                    point: at,
                    value_um: 1_000_000,
                    remark: None,
                };
                desk.may(&work::act(&fact, None)) == May::Yes
            });
            assert_eq!(course.kinds().contains(&kind), may, "{kind:?} in {:?}", course.due);
        }
        if let Some(step) = step {
            site.act("1", step, false);
        }
    }
}

#[test]
fn the_same_again_key_and_the_sign_key_type_for_the_booker() {
    let mut site = begun("2027-01-05", BookMethod::HeightOfCollimation);
    site.act("1", sight(SightKind::Back, MARK, "1.842"), false);
    let mut harness = bench(&mut site, 0);
    key_in(&mut harness, &mut site, "1246");
    press(&mut harness, &mut site, &["Book", "same again: 1246 mm", "Book"]);
    key_in(&mut harness, &mut site, "20-");
    harness.get_by_label_contains("In work: A3, inter, −0.020");
    assert_eq!(facts(&mut site)[2], (SightKind::Inter, "A2".to_owned(), 1_246_000));
}

#[test]
fn a_receiver_is_read_as_its_offset_between_two_checks() {
    let mut site = begun("2027-01-05", BookMethod::Receiver);
    let mut harness = bench(&mut site, 1);
    key_in(&mut harness, &mut site, "1");
    press(&mut harness, &mut site, &["Book, begin"]);
    key_in(&mut harness, &mut site, "4");
    press(&mut harness, &mut site, &["Book"]);
    key_in(&mut harness, &mut site, "2-");
    press(&mut harness, &mut site, &["Book", "Last check"]);
    key_in(&mut harness, &mut site, "2");
    press(&mut harness, &mut site, &["Book and close"]);
    let wanted =
        [(SightKind::Back, MARK, 1_000), (SightKind::Inter, "A1", 4_000), (SightKind::Inter, "A2", -2_000)];
    for (found, (kind, at, um)) in facts(&mut site).iter().zip(wanted) {
        assert_eq!(*found, (kind, at.to_owned(), um));
    }
    let verdicts = verdicts(&mut site);
    // It showed the bench mark 1 mm high: +4 is 3 above the bearing level, −2 is 3 below it.
    assert_eq!((verdicts["A1"].0, verdicts["A2"].0), (Some(3_000), Some(-3_000)));
}

#[test]
fn a_sight_is_put_right_with_its_reason_and_stays_shown_struck() {
    let mut site = begun("2027-01-05", BookMethod::HeightOfCollimation);
    site.act("1", sight(SightKind::Back, MARK, "1.842"), false);
    site.act("1", sight(SightKind::Inter, "A1", "1.238"), false);
    let mut harness = bench(&mut site, 0);
    press(&mut harness, &mut site, &["L1 A1, inter 1.238, level 47.819, +9 mm, not OK"]);
    harness.get_by_label_contains("A1 read 1.238: R. Tarn");
    key_in(&mut harness, &mut site, "1248");
    press(&mut harness, &mut site, &["Put right"]);
    assert_eq!(facts(&mut site)[1].2, 1_238_000, "no reason was given");
    press(&mut harness, &mut site, &["misread", "Put right"]);
    assert_eq!(facts(&mut site)[1], (SightKind::Inter, "A1".to_owned(), 1_248_000));
    let view = site.register.plot(&plot("1")).unwrap().unwrap();
    let own = view.record.level_book(&book("L1")).unwrap();
    assert_eq!(own.sights[1].kept.superseded.unwrap().1, Because::Misread);
    harness.get_by_label("L1 A1, inter 1.248, level 47.809, −1 mm, OK");
    harness.get_by_label_contains("In work: A2");
}

#[test]
fn an_overdue_instrument_is_said_plainly() {
    let mut site = begun("2026-08-01", BookMethod::HeightOfCollimation);
    site.act("1", sight(SightKind::Back, MARK, "1.842"), false);
    site.act("1", sight(SightKind::Inter, "A1", "1.247"), false);
    let harness = bench(&mut site, 2);
    harness
        .get_by_label_contains("was due for its check by 2026-08-01. Nothing is decided from these levels.");
    harness.get_by_label("L1 A1, inter 1.247, level 47.810, 0 mm, too near to call");
}
