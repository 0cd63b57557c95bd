//! Level books held through a register on disk: the invented plot's whole book, corrections, doubt, refusals.
//!
//! The figures are the invented plot's, worked by hand: collimation 47.215 + 1.842 = 49.057; the book closes 2 mm
//! high over two set-ups, so 1 mm comes off the first set-up's levels and 2 mm off the second's.

use super::*;
use crate::conformity::Verdict;
use crate::entry::{
    Because, BenchmarkRegistered, InstrumentRegistered, LevelBookBegun, SightBooked, SightKind,
};
use crate::entry::{BookMethod, InstrumentKind, TwoPegTest};
use crate::ids::{InstrumentName, LevelBookName};
use crate::inspection::level_book::level_criteria;
use crate::inspection::standing::{HoldPointState, NonconformanceState};
use crate::quantity::Length;
use crate::time::Date;

const BENCHMARK: &str = "TBM 1, nail in kerb";
const FIRST_SETUP: [(&str, &str); 17] = [
    ("A1", "1.245"),
    ("A2", "1.246"),
    ("A3", "1.248"),
    ("A4", "1.245"),
    ("A5", "1.249"),
    ("A6", "1.247"),
    ("B1", "1.244"),
    ("B2", "1.246"),
    ("B3", "1.245"),
    ("B4", "1.250"),
    ("B5", "1.237"),
    ("B6", "1.248"),
    ("G1", "1.520"),
    ("G2", "1.488"),
    ("G3", "1.463"),
    ("G4", "1.530"),
    ("G5", "1.505"),
];
const SECOND_SETUP: [(&str, &str); 4] = [("C1", "1.358"), ("C2", "1.360"), ("C3", "1.354"), ("C4", "1.359")];
/// Deviations from the bearing level 47.810, in millimetres, by hand.
const DEVIATIONS: [(&str, i64); 16] = [
    ("A1", 1),
    ("A2", 0),
    ("A3", -2),
    ("A4", 1),
    ("A5", -3),
    ("A6", -1),
    ("B1", 2),
    ("B2", 0),
    ("B3", 1),
    ("B4", -4),
    ("B5", 9),
    ("B6", -2),
    ("C1", 0),
    ("C2", -2),
    ("C3", 4),
    ("C4", -1),
];

fn day(text: &str) -> Date {
    text.parse().unwrap()
}

fn book() -> LevelBookName {
    LevelBookName::new("L1").unwrap()
}

fn point(name: &str) -> PointName {
    PointName::new(name).unwrap()
}

fn instrument(due: &str) -> InstrumentRegistered {
    InstrumentRegistered {
        instrument: InstrumentName::new("level 2").unwrap(),
        kind: InstrumentKind::OpticalLevel,
        expanded_uncertainty_um: 3_000,
        checked: day("2026-01-05"),
        due: day(due),
        two_peg: None,
        remark: None,
    }
}

fn begun(method: BookMethod, desk: &mut Desk) -> LevelBookBegun {
    LevelBookBegun {
        book: book(),
        method,
        benchmark: point(BENCHMARK),
        instrument: InstrumentName::new("level 2").unwrap(),
        serves: level_criteria(&desk.view().record),
        target_um: None,
        allowable: None,
    }
}

fn sight(kind: SightKind, at: &str, metres: &str) -> SightBooked {
    SightBooked {
        book: book(),
        sight: kind,
        point: point(at),
        value_um: Length::parse_m(metres).unwrap().um(),
        remark: None,
    }
}

fn whole_book() -> Vec<SightBooked> {
    let inter = |(at, read): &(&str, &str)| sight(SightKind::Inter, at, read);
    let mut all = vec![sight(SightKind::Back, BENCHMARK, "1.842")];
    all.extend(FIRST_SETUP.iter().map(inter));
    all.push(sight(SightKind::Fore, "CP1", "1.305"));
    all.push(sight(SightKind::Back, "CP1", "1.418"));
    all.extend(SECOND_SETUP.iter().map(inter));
    all.push(sight(SightKind::Fore, BENCHMARK, "1.953"));
    all
}

/// A desk with the instrument registered and a book begun; nothing is read yet.
fn levelling(due: &str, method: BookMethod) -> Desk {
    let mut desk = Desk::new();
    let by = desk.supervisor.clone();
    desk.register.perform(&Command::RegisterInstrument(instrument(due)), &by).unwrap();
    let begun = begun(method, &mut desk);
    desk.supervise(Act::BeginLevelBook(begun));
    desk
}

fn levelled(due: &str, method: BookMethod) -> Desk {
    let mut desk = levelling(due, method);
    for one in whole_book() {
        desk.supervise(Act::BookSight(one));
    }
    desk
}

fn deviation(desk: &mut Desk, at: &str) -> (Length, Verdict) {
    let criterion = desk.criterion("bearing-level", "level");
    let trial = criterion.reading_at(&point(at)).unwrap().trial.clone().unwrap();
    (trial.deviation.unwrap(), trial.verdict)
}

#[test]
fn a_whole_book_gives_every_reading_that_it_serves_by_either_method() {
    for method in [BookMethod::HeightOfCollimation, BookMethod::RiseAndFall] {
        let mut desk = levelled("2027-01-05", method);
        for (at, mm) in DEVIATIONS {
            assert_eq!(deviation(&mut desk, at).0, Length::from_mm(mm), "{at} by {method:?}");
        }
        // Guarded by 3 mm: B5 is out, C3 lies between 5 − 3 and 5 + 3, the rest are in.
        assert_eq!(deviation(&mut desk, "B5").1, Verdict::Nonconforming);
        assert_eq!(deviation(&mut desk, "C3").1, Verdict::Undetermined);
        assert_eq!(deviation(&mut desk, "B1").1, Verdict::Conforming);
        let ground = desk.criterion("oversite", "level");
        let dug = ground.reading_at(&point("G3")).unwrap().trial.clone().unwrap();
        assert!(dug.words.contains("void 192.0 mm"), "{}", dug.words);
        assert!(ground.owed.is_empty());
        let trace = ground.reading_at(&point("G3")).unwrap().trace.clone().unwrap();
        assert_eq!((trace.setup, trace.benchmark), (1, point(BENCHMARK)));
    }
}

#[test]
fn until_it_closes_a_book_is_owed_its_closing() {
    let mut desk = levelling("2027-01-05", BookMethod::HeightOfCollimation);
    let all = whole_book();
    for one in &all[..all.len() - 1] {
        desk.supervise(Act::BookSight(one.clone()));
    }
    let owed = desk.criterion("bearing-level", "level").owed;
    assert!(owed.iter().any(|one| one.what.contains("close level book L1")), "{owed:?}");
    // Before the closing nothing is adjusted: A1 lies at 47.812.
    assert_eq!(deviation(&mut desk, "A1").0, Length::from_mm(2));
    desk.supervise(Act::BookSight(all.last().unwrap().clone()));
    assert!(desk.criterion("bearing-level", "level").owed.is_empty());
    assert_eq!(deviation(&mut desk, "A1").0, Length::from_mm(1));
}

#[test]
fn a_sight_put_right_judges_every_hold_point_anew_that_hangs_on_it() {
    let mut desk = levelled("2027-01-05", BookMethod::HeightOfCollimation);
    let find = |desk: &mut Desk, kind: SightKind, at: &str| {
        let view = desk.view();
        let book = view.record.level_book(&book()).unwrap();
        let found =
            book.standing().find(|one| one.kept.fact.sight == kind && one.kept.fact.point.as_str() == at);
        found.unwrap().kept.noted.id
    };
    let wrong = find(&mut desk, SightKind::Inter, "B5");
    let manager = desk.manager.clone();
    let correct = |because, read: &str| Act::Supersede {
        id: wrong,
        because,
        remark: None,
        with: Box::new(Act::BookSight(sight(SightKind::Inter, "B5", read))),
    };
    // A reading that does not conform was misread, or the wall was reworked: no mere slip of the pen.
    desk.refused(correct(Because::Mistake, "1.247"), &manager, "misread or the work was reworked");
    desk.supervise(correct(Because::Misread, "1.247"));
    assert_eq!(deviation(&mut desk, "B5"), (Length::from_mm(-1), Verdict::Conforming));
    let view = desk.view();
    let matters: Vec<_> = view.standing.nonconformances().filter(|one| one.id == wrong).collect();
    assert!(matches!(matters[0].state, NonconformanceState::Replaced { because: Because::Misread, .. }));
    assert!(matters[0].what.contains("+9.0 mm"), "what was read first is still told: {}", matters[0].what);

    // The back sight itself was 3 mm wrong: every level of its set-up moves by 3, less the adjustment's share.
    let back = find(&mut desk, SightKind::Back, BENCHMARK);
    desk.supervise(Act::Supersede {
        id: back,
        because: Because::Misread,
        remark: None,
        with: Box::new(Act::BookSight(sight(SightKind::Back, BENCHMARK, "1.840"))),
    });
    // 47.215 + 1.840 = 49.055 closes exactly, so nothing is adjusted: A1 = 49.055 − 1.245 = 47.810.
    assert_eq!(deviation(&mut desk, "A1").0, Length::ZERO);
    let ground = desk.criterion("oversite", "level");
    assert!(ground.reading_at(&point("G1")).unwrap().trial.clone().unwrap().words.contains("void 250.0 mm"));
}

#[test]
fn a_released_hold_point_lapses_when_a_sight_under_it_is_put_right() {
    let mut desk = levelled("2027-01-05", BookMethod::HeightOfCollimation);
    // G3 must be dug: it is levelled again in another book.
    let deeper = LevelBookName::new("L2").unwrap();
    let begun = LevelBookBegun { book: deeper.clone(), ..begun(BookMethod::HeightOfCollimation, &mut desk) };
    desk.supervise(Act::BeginLevelBook(begun));
    let in_second = |one: SightBooked| SightBooked { book: deeper.clone(), ..one };
    desk.supervise(Act::BookSight(in_second(sight(SightKind::Back, BENCHMARK, "1.842"))));
    let g3 = desk.criterion("oversite", "level").reading_at(&point("G3")).unwrap().entry;
    desk.supervise(Act::Supersede {
        id: g3,
        because: Because::Reworked,
        remark: None,
        with: Box::new(Act::BookSight(in_second(sight(SightKind::Inter, "G3", "1.490")))),
    });
    desk.supervise(Act::BookSight(in_second(sight(SightKind::Fore, BENCHMARK, "1.842"))));
    let again = desk.criterion("oversite", "level");
    // 49.057 − 1.490 = 47.567; 47.785 − 47.567 = 218.
    assert!(again.reading_at(&point("G3")).unwrap().trial.clone().unwrap().words.contains("void 218.0 mm"));
    // The first book still closes on what was read in it.
    assert_eq!(deviation(&mut desk, "A1").0, Length::from_mm(1));

    desk.prove("oversite");
    desk.supervise(Act::Offer(one("oversite")));
    desk.manage(Act::Release(one("oversite")));
    assert_eq!(desk.state("oversite"), HoldPointState::Released);
    let g5 = desk.criterion("oversite", "level").reading_at(&point("G5")).unwrap().entry;
    desk.supervise(Act::Supersede {
        id: g5,
        because: Because::Misread,
        remark: None,
        with: Box::new(Act::BookSight(sight(SightKind::Inter, "G5", "1.405"))),
    });
    assert_eq!(desk.state("oversite"), HoldPointState::Open, "the release lapsed");
}

#[test]
fn a_bench_mark_put_right_moves_every_level_that_hangs_on_it() {
    let mut desk = levelled("2027-01-05", BookMethod::HeightOfCollimation);
    let by = desk.manager.clone();
    let registered = |level: &str| {
        Command::RegisterBenchmark(BenchmarkRegistered {
            benchmark: point(BENCHMARK),
            level_um: Length::parse_m(level).unwrap().um(),
            checked: day("2026-09-01"),
            source: "surveyor's sheet (invented)".to_owned(),
        })
    };
    desk.register.perform(&registered("47.210"), &by).unwrap();
    let (off, verdict) = deviation(&mut desk, "A1");
    assert_eq!(off, Length::from_mm(-4));
    assert_eq!(verdict, Verdict::Undetermined, "the design gives the bench mark another level");
    desk.register.perform(&registered("47.215"), &by).unwrap();
    assert_eq!(deviation(&mut desk, "A1"), (Length::from_mm(1), Verdict::Conforming));
}

#[test]
fn an_instrument_counts_on_its_due_day_and_no_longer_on_the_next() {
    // The test's clock starts in September 2026; every sight is booked on that day.
    let today = {
        let desk = Desk::new();
        Date::of(desk.register.now())
    };
    for (due, verdict) in [(today, Verdict::Conforming), (today.plus_days(-1), Verdict::Undetermined)] {
        let mut desk = levelled(&due.to_string(), BookMethod::HeightOfCollimation);
        assert_eq!(deviation(&mut desk, "A1").1, verdict, "due {due}");
        let whole = desk.criterion("bearing-level", "level").verdict;
        let wanted =
            if verdict == Verdict::Conforming { Verdict::Nonconforming } else { Verdict::Undetermined };
        assert_eq!(whole, Some(wanted), "B5 is out, but only a checked instrument can say so");
    }
}

#[test]
fn a_book_that_misses_its_closing_and_a_failed_two_peg_test_leave_everything_undetermined() {
    let mut desk = levelling("2027-01-05", BookMethod::HeightOfCollimation);
    let mut all = whole_book();
    // 5 √2 = 7.07 mm are allowed: 1.953 closes 2 mm high, 1.947 closes 8 mm high.
    *all.last_mut().unwrap() = sight(SightKind::Fore, BENCHMARK, "1.947");
    for one in all {
        desk.supervise(Act::BookSight(one));
    }
    let criterion = desk.criterion("bearing-level", "level");
    let trial = criterion.reading_at(&point("A1")).unwrap().trial.clone().unwrap();
    assert_eq!(trial.verdict, Verdict::Undetermined);
    assert!(trial.words.contains("misses its closing by 8"), "{}", trial.words);

    let mut desk = Desk::new();
    let by = desk.supervisor.clone();
    // 1.2 mm on 30 m is 0.4 mm on 10 m, of which 0.3 are allowed.
    let two_peg = TwoPegTest {
        mid_a_um: 1_500_000,
        mid_b_um: 1_600_000,
        end_a_um: 1_450_000,
        end_b_um: 1_551_200,
        distance_um: 30_000_000,
        allowable_um_per_10_m: 300,
    };
    let own = InstrumentRegistered { two_peg: Some(two_peg), ..instrument("2027-01-05") };
    desk.register.perform(&Command::RegisterInstrument(own), &by).unwrap();
    let begun = begun(BookMethod::HeightOfCollimation, &mut desk);
    desk.supervise(Act::BeginLevelBook(begun));
    for one in whole_book() {
        desk.supervise(Act::BookSight(one));
    }
    let (_, verdict) = deviation(&mut desk, "A1");
    assert_eq!(verdict, Verdict::Undetermined);
}

#[test]
fn a_laser_receiver_is_read_as_off_its_target_and_checked_at_both_ends() {
    let mut desk = Desk::new();
    let by = desk.supervisor.clone();
    desk.register.perform(&Command::RegisterInstrument(instrument("2027-01-05")), &by).unwrap();
    let target_um = Some(Length::parse_m("47.810").unwrap().um());
    let begun = LevelBookBegun { target_um, ..begun(BookMethod::Receiver, &mut desk) };
    desk.supervise(Act::BeginLevelBook(begun));
    // It shows the bench mark 1 mm high at the start and 2 mm high at the end: the book misses by 1 mm.
    desk.supervise(Act::BookSight(sight(SightKind::Back, BENCHMARK, "0.001")));
    desk.supervise(Act::BookSight(sight(SightKind::Inter, "A1", "0.004")));
    desk.supervise(Act::BookSight(sight(SightKind::Inter, "A2", "-0.002")));
    let supervisor = desk.supervisor.clone();
    desk.refused(Act::BookSight(sight(SightKind::Fore, "CP1", "0.002")), &supervisor, "ends with a check");
    desk.supervise(Act::BookSight(sight(SightKind::Fore, BENCHMARK, "0.002")));
    assert_eq!(deviation(&mut desk, "A1").0, Length::from_mm(3));
    assert_eq!(deviation(&mut desk, "A2").0, Length::from_mm(-3));
    let view = desk.view();
    let reduced =
        crate::inspection::level_book::reduce(&view.record, view.record.level_book(&book()).unwrap())
            .unwrap();
    assert_eq!(reduced.output.misclosure_mm.unwrap().0, Length::from_mm(1));
}

#[test]
fn what_a_book_cannot_hold_is_refused_by_name_and_nothing_is_booked() {
    let mut desk = levelling("2027-01-05", BookMethod::HeightOfCollimation);
    let by = desk.supervisor.clone();
    let refused = |desk: &mut Desk, kind, at: &str, read: &str, says: &str| {
        desk.refused(Act::BookSight(sight(kind, at, read)), &by, says);
    };
    refused(&mut desk, SightKind::Inter, "A1", "1.245", "starts with a back sight onto its bench mark");
    refused(&mut desk, SightKind::Back, "A1", "1.245", "starts with a back sight onto its bench mark");
    desk.supervise(Act::BookSight(sight(SightKind::Back, BENCHMARK, "1.842")));
    refused(&mut desk, SightKind::Inter, "A1", "5.001", "no levelling staff is longer");
    refused(&mut desk, SightKind::Inter, "A1", "-5.001", "no levelling staff is longer");
    refused(&mut desk, SightKind::Inter, "Z9", "1.245", "no point Z9");
    refused(&mut desk, SightKind::Back, "CP1", "1.245", "first a fore sight onto it");
    desk.supervise(Act::BookSight(sight(SightKind::Fore, "CP1", "1.305")));
    refused(&mut desk, SightKind::Inter, "A1", "1.245", "first a back sight onto CP1");
    refused(&mut desk, SightKind::Back, "CP2", "1.245", "first a back sight onto CP1");
    desk.supervise(Act::BookSight(sight(SightKind::Back, "CP1", "1.418")));
    desk.supervise(Act::BookSight(sight(SightKind::Fore, BENCHMARK, "1.953")));
    refused(&mut desk, SightKind::Fore, BENCHMARK, "1.953", "is closed on");
    refused(&mut desk, SightKind::Inter, "A1", "1.245", "is closed on");
    assert_eq!(desk.view().record.level_book(&book()).unwrap().standing().len(), 4);

    let again = begun(BookMethod::RiseAndFall, &mut desk);
    desk.refused(Act::BeginLevelBook(again.clone()), &by, "begun already");
    let other = |change: fn(&mut LevelBookBegun)| {
        let mut begun = LevelBookBegun { book: LevelBookName::new("L9").unwrap(), ..again.clone() };
        change(&mut begun);
        Act::BeginLevelBook(begun)
    };
    let unknown = other(|begun| begun.instrument = InstrumentName::new("borrowed").unwrap());
    desk.refused(unknown, &by, "registered: level 2");
    desk.refused(other(|begun| begun.benchmark = point("elsewhere")), &by, "known are TBM 1");
    desk.refused(other(|begun| begun.serves.clear()), &by, "at least one criterion");
    desk.refused(other(|begun| begun.method = BookMethod::Receiver), &by, "the receiver is set to");
    desk.refused(other(|begun| begun.target_um = Some(1)), &by, "only a laser receiver");
}

#[test]
fn a_book_taken_in_is_all_or_nothing() {
    let mut desk = Desk::new();
    let by = desk.supervisor.clone();
    desk.register.perform(&Command::RegisterInstrument(instrument("2027-01-05")), &by).unwrap();
    let own = begun(BookMethod::HeightOfCollimation, &mut desk);
    let mut wrong = whole_book();
    wrong[5] = sight(SightKind::Inter, "Z9", "1.245");
    desk.refused(Act::TakeInLevelBook { begun: own.clone(), sights: wrong }, &by, "/sights/5");
    assert!(desk.view().record.level_books.is_empty());
    desk.supervise(Act::TakeInLevelBook { begun: own, sights: whole_book() });
    assert_eq!(deviation(&mut desk, "C3").0, Length::from_mm(4));
}

#[test]
fn a_typed_level_gives_way_to_a_sight_and_counts_with_its_instrument() {
    let mut desk = levelling("2027-01-05", BookMethod::HeightOfCollimation);
    let typed = Act::BookReading {
        hold_point: hold("bearing-level"),
        criterion: CriterionId::new("level").unwrap(),
        point: point("A1"),
        value: level("47.813"),
        instrument: Some("level 2".to_owned()),
    };
    let id = desk.supervise(typed);
    // +3 with the registered 3 mm lies between 5 − 3 and 5 + 3.
    assert_eq!(deviation(&mut desk, "A1"), (Length::from_mm(3), Verdict::Undetermined));
    desk.supervise(Act::BookSight(sight(SightKind::Back, BENCHMARK, "1.842")));
    desk.supervise(Act::Supersede {
        id,
        because: Because::Misread,
        remark: None,
        with: Box::new(Act::BookSight(sight(SightKind::Inter, "A1", "1.246"))),
    });
    assert_eq!(deviation(&mut desk, "A1"), (Length::from_mm(1), Verdict::Conforming));
}

#[test]
fn a_book_from_a_csv_file_is_booked_whole_or_refused_by_row_and_column() {
    let mut desk = Desk::new();
    let by = desk.supervisor.clone();
    desk.register.perform(&Command::RegisterInstrument(instrument("2027-01-05")), &by).unwrap();
    let csv = |changed: &str| {
        let mut text = format!("point,back_m,inter_m,fore_m,remark\n\"{BENCHMARK}\",1.842,,,\n");
        for (at, read) in FIRST_SETUP {
            text.push_str(&format!("{at},,{read},,\n"));
        }
        text.push_str("CP1,1.418,,1.305,change point\n");
        for (at, read) in SECOND_SETUP {
            text.push_str(&format!("{at},,{read},,\n"));
        }
        text.push_str(&format!("\"{BENCHMARK}\",,,1.953,\n"));
        text.replace("B5,,1.237,,", changed)
    };
    let request = || {
        crate::inspection::Request::read(&format!(
            r#"{{"do":"take-in-level-book","plot":"7","file":"book.csv","book":"L1","method":"rise-and-fall","benchmark":"{BENCHMARK}","instrument":"level 2"}}"#
        ))
        .unwrap()
    };
    for (changed, says) in [
        ("B5,,1237,,", "row 13"),
        ("B5,,\"1,237\",,", "comma"),
        ("Z9,,1.237,,", "Z9"),
        ("B5,1.1,1.237,,", "a back sight onto B5"),
    ] {
        let text = csv(changed);
        let files = |_: &str| Ok(text.clone().into_bytes());
        let refused = desk
            .register
            .take_in(request(), &files)
            .and_then(|command| desk.register.perform(&command, &by).map(drop))
            .unwrap_err()
            .to_string();
        assert!(refused.contains(says), "{changed}: {refused}");
        assert!(desk.view().record.level_books.is_empty());
    }
    let text = csv("B5,,1.237,,");
    let files = |_: &str| Ok(text.clone().into_bytes());
    let command = desk.register.take_in(request(), &files).unwrap();
    desk.register.perform(&command, &by).unwrap();
    for (at, mm) in DEVIATIONS {
        assert_eq!(deviation(&mut desk, at).0, Length::from_mm(mm), "{at}");
    }
}

#[test]
fn a_typed_level_that_may_be_a_slip_is_pointed_out_and_a_sound_one_is_not() {
    use crate::inspection::level_trial::of_level;
    use crate::plan_of_work::Feed;
    let mut desk = Desk::new();
    for (at, metres) in [("B1", "47.812"), ("B2", "47.810"), ("B4", "47.808")] {
        desk.supervise(super::book("bearing-level", "level", at, level(metres)));
    }
    let view = desk.view();
    let place = (&hold("bearing-level"), &CriterionId::new("level").unwrap());
    let look = |metres: &str| {
        of_level(&view.record, Feed::BearingLevels, place, &point("B3"), Length::parse_m(metres).unwrap())
    };
    // 47.811 read as 47.911: a decimetre too much, far off the line of B2 and B4.
    let found = look("47.911");
    assert!(found.perhaps.iter().any(|one| one.level == Length::from_mm(47_811)), "{found:?}");
    assert_eq!(found.misfit.unwrap().beside, ["B2", "B4"]);
    assert!(look("47.811").is_empty());
}
