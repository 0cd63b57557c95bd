//! Beginning a book, taking one in from a file, and the ways to and from the screen.

use std::path::PathBuf;

use gaugerod_core::inspection::level_book::taken_book;
use gaugerod_core::level_book_csv::EXAMPLE;

use super::*;
use crate::screens::level_book::ReadBook;

pub(super) fn asked(harness: &Bench<'_>) -> Vec<Action> {
    harness.state().actions.iter().filter(|one| !matches!(one, Action::KeepDraft { .. })).cloned().collect()
}

#[test]
fn without_an_instrument_the_form_leads_to_registering_one() {
    let mut site = Site::bare();
    let state = site.state(Screen::LevelBook(plot("1"), None));
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    harness.get_by_label("Register the instrument that reads first.");
    harness.get_by_label("Register an instrument").click();
    harness.run();
    assert_eq!(asked(&harness), [Action::Go(Screen::Instruments)]);
}

#[test]
fn a_book_is_begun_as_proposed_with_one_tap_and_opens_once_it_is_on_disk() {
    let mut site = site("2027-01-05");
    let state = site.state(Screen::LevelBook(plot("1"), None));
    let mut harness = headless::harness(egui::vec2(1280.0, 1400.0), window_ui, state);
    press(&mut harness, &mut site, &["Begin L1"]);
    assert_eq!(harness.state().screen, screen());
    let view = site.register.plot(&plot("1")).unwrap().unwrap();
    let begun = &view.record.level_book(&book("L1")).unwrap().begun;
    assert_eq!(begun.method, BookMethod::HeightOfCollimation);
    assert_eq!(begun.benchmark, point(MARK));
    // Oversite and bearings can both be worked on here.
    assert_eq!(begun.serves, level_criteria(&view.record));
    harness.get_by_label_contains("In work: TBM 1, nail in kerb, back");
}

#[test]
fn the_list_of_books_and_the_form_pass_the_checks() {
    let mut site = begun("2027-01-05", BookMethod::HeightOfCollimation);
    let mut state = site.state(Screen::LevelBook(plot("1"), None));
    headless::check("books", |ui| window_ui(ui, &mut state));
    let mut state = Site::bare().state(Screen::LevelBook(plot("1"), None));
    headless::check("no instrument", |ui| window_ui(ui, &mut state));
}

#[test]
fn a_bench_mark_that_the_site_registered_is_levelled_from() {
    let mut site = site("2027-01-05");
    let own = BenchmarkRegistered {
        benchmark: point("TBM 9, bolt"),
        level_um: 47_500_000,
        checked: day("2026-09-01"),
        source: "surveyor's sheet (invented)".to_owned(),
    };
    site.register.perform(&Command::RegisterBenchmark(own), &site.supervisor).unwrap();
    let state = site.state(Screen::LevelBook(plot("1"), None));
    let mut harness = headless::harness(egui::vec2(1280.0, 1400.0), window_ui, state);
    press(&mut harness, &mut site, &["TBM 9, bolt: 47.500, checked 2026-09-01", "Begin L1"]);
    let view = site.register.plot(&plot("1")).unwrap().unwrap();
    assert_eq!(view.record.level_book(&book("L1")).unwrap().begun.benchmark, point("TBM 9, bolt"));
}

#[test]
fn the_section_and_the_hold_point_lead_to_the_book_that_is_open() {
    let mut site = begun("2027-01-05", BookMethod::HeightOfCollimation);
    site.act("1", sight(SightKind::Back, MARK, "1.842"), false);
    let plot: PlotId = plot("1");
    let state = site.state(Screen::Section(plot.clone()));
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    harness.get_by_label("Level books (1)").click();
    harness.run();
    assert_eq!(asked(&harness), [Action::Go(Screen::LevelBook(plot.clone(), None))]);
    let id = crate::screens::fixture::hold_point("bearing-level");
    let mut state = site.state(Screen::HoldPoint(plot.clone(), id.clone()));
    state.drafts.criterion = Some((id, gaugerod_core::ids::CriterionId::new("level").unwrap()));
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    harness.get_by_label("Level book L1").click();
    harness.run();
    assert_eq!(asked(&harness), [Action::Go(screen())]);
}

/// How a book from a file would be begun on plot 1.
fn for_file(site: &mut Site) -> LevelBookBegun {
    let view = site.register.plot(&plot("1")).unwrap().unwrap();
    LevelBookBegun {
        book: book("L1"),
        method: BookMethod::HeightOfCollimation,
        benchmark: point(MARK),
        instrument: InstrumentName::new("level 2").unwrap(),
        serves: level_criteria(&view.record),
        target_um: None,
        allowable: None,
    }
}

#[test]
fn a_book_from_a_file_is_shown_first_and_booked_whole_with_one_button() {
    let mut site = site("2027-01-05");
    let begun = for_file(&mut site);
    let text = EXAMPLE.replace("TBM,", &format!("\"{MARK}\","));
    let sights = taken_book(&begun, text.as_bytes()).unwrap().sights;
    let mut state = site.state(Screen::LevelBook(plot("1"), None));
    let path = PathBuf::from("/tablet/house.csv");
    state.drafts.levels.show(ReadBook { plot: plot("1"), path, begun, result: Ok(sights) });
    headless::check("a sound file", |ui| window_ui(ui, &mut state));
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    harness.get_by_label("house.csv: nothing is booked yet");
    // 47.215 + 1.842 − 1.305 + 1.418 − 1.953 closes 2 mm high; 5 √2 = 7.1 are allowed.
    harness.get_by_label("Closes by +2 mm, ±7.1 allowed.");
    harness.get_by_label("L1 A1, inter 1.245, level 47.812, +1 mm, OK");
    assert!(site.register.plot(&plot("1")).unwrap().unwrap().record.level_books.is_empty());
    press(&mut harness, &mut site, &["Book all 6 sights as L1"]);
    assert_eq!(facts(&mut site).len(), 6);
    assert_eq!(harness.state().screen, screen());
}

#[test]
fn the_faults_of_a_file_are_listed_and_nothing_can_be_booked() {
    let mut site = site("2027-01-05");
    let begun = for_file(&mut site);
    let faults =
        (2..90).map(|row| format!("Row {row}, column inter_m: \"1,245\" has a decimal comma.")).collect();
    let mut state = site.state(Screen::LevelBook(plot("1"), None));
    let path = PathBuf::from("/tablet/house.csv");
    state.drafts.levels.show(ReadBook { plot: plot("1"), path, begun, result: Err(faults) });
    headless::check("a file with faults", |ui| window_ui(ui, &mut state));
    let harness = headless::harness(headless::SIZES[2], window_ui, state);
    harness.get_by_label("house.csv: 88 faults. Nothing was booked; correct the file and read it again.");
    harness.get_by_label_contains("Row 2, column inter_m");
    assert!(harness.query_by_label_contains("Book all").is_none());
}

#[test]
fn a_point_that_was_levelled_in_another_book_is_read_again_with_its_reason() {
    let mut site = begun("2027-01-05", BookMethod::HeightOfCollimation);
    site.act("1", sight(SightKind::Back, MARK, "1.842"), false);
    site.act("1", sight(SightKind::Inter, "A1", "1.235"), false);
    site.act("1", sight(SightKind::Fore, MARK, "1.842"), false);
    let second = LevelBookBegun { book: book("L2"), ..for_file(&mut site) };
    site.act("1", Act::BeginLevelBook(second), false);
    let state = site.state(Screen::LevelBook(plot("1"), Some(book("L2"))));
    let mut harness = headless::harness(egui::vec2(1280.0, 1400.0), window_ui, state);
    key_in(&mut harness, &mut site, "1842");
    press(&mut harness, &mut site, &["Book, begin", "Point A2", "A1"]);
    harness.get_by_label("A1 has 47.822 m (book L1). Read again because:");
    key_in(&mut harness, &mut site, "1247");
    press(&mut harness, &mut site, &["Book"]);
    assert_eq!(verdicts(&mut site)["A1"].0, Some(12_000), "no reason was given");
    press(&mut harness, &mut site, &["reworked", "Book"]);
    assert_eq!(verdicts(&mut site)["A1"], (Some(0), Verdict::Conforming));
}

#[test]
fn the_void_as_built_is_levelled_at_points_that_the_person_chooses() {
    let mut site = begun("2027-01-05", BookMethod::HeightOfCollimation);
    let view = site.register.plot(&plot("1")).unwrap().unwrap();
    let all = super::super::begin::asking_for_levels_of(&view.record);
    let serves: Vec<_> = all.into_iter().filter(|one| one.criterion.as_str() == "void-as-built").collect();
    assert_eq!(serves.len(), 1);
    let second = LevelBookBegun { book: book("L2"), serves, ..for_file(&mut site) };
    site.act("1", Act::BeginLevelBook(second), false);
    let state = site.state(Screen::LevelBook(plot("1"), Some(book("L2"))));
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    key_in(&mut harness, &mut site, "1842");
    press(&mut harness, &mut site, &["Book, begin"]);
    for _ in 0..3 {
        key_in(&mut harness, &mut site, "1497");
        press(&mut harness, &mut site, &["Book"]);
    }
    let view = site.register.plot(&plot("1")).unwrap().unwrap();
    let id = crate::screens::fixture::hold_point("void-clean");
    let built = gaugerod_core::ids::CriterionId::new("void-as-built").unwrap();
    let criterion = view.standing.hold_point(&id).unwrap().criterion(&built).unwrap();
    let points: Vec<&str> = criterion.readings.iter().map(|one| one.point.as_str()).collect();
    assert_eq!(points, ["G1", "G2", "G3"]);
}
