//! Levelling through the worker: registering, a book from a file, all or nothing.

use gaugerod_core::entry::{
    BenchmarkRegistered, BookMethod, InstrumentKind, InstrumentRegistered, LevelBookBegun,
};
use gaugerod_core::ids::{InstrumentName, LevelBookName};
use gaugerod_core::inspection::level_book::level_criteria;

use super::*;

const MARK: &str = "TBM 1, nail in kerb";

fn instrument() -> InstrumentRegistered {
    InstrumentRegistered {
        instrument: InstrumentName::new("level 2").unwrap(),
        kind: InstrumentKind::OpticalLevel,
        expanded_uncertainty_um: 3_000,
        checked: "2026-01-05".parse().unwrap(),
        due: "2027-01-05".parse().unwrap(),
        two_peg: None,
        remark: None,
    }
}

/// A bench whose site has an instrument, with the books of plot 1 shown.
fn bench() -> Bench {
    let mut bench = Bench::on(Site::bare());
    bench.unlock("R. Tarn");
    bench.ask(Action::Go(Screen::LevelBook(plot("1"), None)));
    bench.until("the plot", |state| state.plot(&plot("1")).is_some());
    bench.ask(Action::Go(Screen::Instruments));
    "3".clone_into(bench.state.drafts.text_mut("register-form/uncertainty"));
    bench.ask(Action::RegisterInstrument(Box::new(instrument())));
    bench.until("the way back to the level books", |state| matches!(state.screen, Screen::LevelBook(..)));
    bench.until("the instrument", |state| {
        state.plot(&plot("1")).is_some_and(|view| view.record.instruments.len() == 1)
    });
    bench
}

fn begun(bench: &Bench) -> Box<LevelBookBegun> {
    let view = bench.state.plot(&plot("1")).expect("the plot");
    Box::new(LevelBookBegun {
        book: LevelBookName::new("L1").unwrap(),
        method: BookMethod::RiseAndFall,
        benchmark: PointName::new(MARK).unwrap(),
        instrument: InstrumentName::new("level 2").unwrap(),
        serves: level_criteria(&view.record),
        target_um: None,
        allowable: None,
    })
}

fn read(bench: &mut Bench, name: &str, text: &str) -> Result<usize, Vec<String>> {
    let path = bench.write(name, text.as_bytes());
    bench.state.drafts.levels.read = None;
    let begun = begun(bench);
    bench.ask(Action::ReadLevelBook { plot: plot("1"), begun, path });
    bench.until("the file", |state| state.drafts.levels.read.is_some());
    let read = bench.state.drafts.levels.read.clone().expect("read");
    read.result.map(|sights| sights.len())
}

#[test]
fn what_was_typed_for_an_instrument_is_done_with_once_it_is_registered() {
    let bench = bench();
    assert_eq!(bench.state.drafts.text("register-form/uncertainty"), "");
}

#[test]
fn a_bench_mark_is_registered_and_what_the_rules_refuse_is_said() {
    let mut bench = bench();
    let mark = |level_um| BenchmarkRegistered {
        benchmark: PointName::new("TBM 9, bolt").unwrap(),
        level_um,
        checked: "2026-09-01".parse().unwrap(),
        source: "surveyor's sheet (invented)".to_owned(),
    };
    bench.ask(Action::RegisterBenchmark(Box::new(mark(i64::MAX / 2))));
    assert!(bench.problem().contains("cannot lie at"));
    bench.ask(Action::RegisterBenchmark(Box::new(mark(47_500_000))));
    bench.until("the bench mark", |state| {
        state.register.as_ref().is_some_and(|register| register.site.benchmarks.len() == 1)
    });
}

#[test]
fn a_book_from_a_file_shows_its_faults_by_rows_and_is_taken_in_whole() {
    let mut bench = bench();
    let book = |first: &str, second: &str| {
        format!(
            "point,back_m,inter_m,fore_m,remark\n\"{MARK}\",1.842,,,\n{first}\n{second}\n\"{MARK}\",,,1.841,\n"
        )
    };
    let faults = read(&mut bench, "commas.csv", &book("A1,,12.45,,", "A2,,x,,")).unwrap_err();
    assert_eq!(faults.len(), 2, "{faults:?}");
    assert!(faults[0].starts_with("Row 3, column inter_m") && faults[1].starts_with("Row 4, column inter_m"));
    // Sound rows that make no book: the rules say so, by the same rows.
    let faults = read(&mut bench, "unknown.csv", &book("A1,,1.245,,", "Z9,,1.245,,")).unwrap_err();
    assert!(faults[0].starts_with("Row 4:") && faults[0].contains("Z9"), "{faults:?}");
    assert_eq!(read(&mut bench, "sound.csv", &book("A1,,1.245,,", "A2,,1.246,,wet")), Ok(4));
    assert!(bench.state.plot(&plot("1")).expect("the plot").record.level_books.is_empty());
    let shown = bench.state.drafts.levels.read.clone().expect("read");
    let act = Act::TakeInLevelBook { begun: shown.begun, sights: shown.result.expect("sound") };
    bench.ask(Action::Do { plot: plot("1"), act });
    bench.until("the book", |state| {
        state
            .plot(&plot("1"))
            .is_some_and(|view| view.record.level_books.iter().any(|book| book.sights.len() == 4))
    });
    let missing = bench.folder.path().join("missing.csv");
    let begun = begun(&bench);
    bench.state.drafts.levels.read = None;
    bench.ask(Action::ReadLevelBook { plot: plot("1"), begun, path: missing });
    bench.until("a fault", |state| state.drafts.levels.read.is_some());
    let read = bench.state.drafts.levels.read.clone().expect("read");
    assert!(read.result.unwrap_err()[0].contains("missing.csv"));
}
