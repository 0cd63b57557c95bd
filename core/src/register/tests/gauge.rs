//! Go/no-go gauges: which gauge it was reaches the reckoning; where it does not pass, a number is owed and takes its
//! place as the measure of it.

use serde_json::Value;

use super::*;

fn gauged(wall: &str, value: ReadValue, instrument: Option<&str>) -> Act {
    Act::BookReading {
        hold_point: hold("dpc"),
        criterion: CriterionId::new("lap").unwrap(),
        point: PointName::new(wall).unwrap(),
        value,
        instrument: instrument.map(str::to_owned),
    }
}

fn measured(id: EntryId, because: Because, with: Act) -> Act {
    Act::Supersede { id, because, remark: None, with: Box::new(with) }
}

#[test]
fn the_reckoning_names_the_gauge_that_was_used() {
    let mut desk = Desk::new();
    desk.supervise(gauged("A", ReadValue::Go, Some("lap gauge 3")));
    desk.supervise(gauged("B", ReadValue::Go, None));
    let reckoned = desk.criterion("dpc", "lap").reckoned;
    assert_eq!(reckoned.len(), 1);
    let named: Vec<&Value> =
        reckoned[0].input["readings"].as_array().unwrap().iter().map(|one| &one["gauge_id"]).collect();
    assert_eq!(named, ["lap gauge 3", "go/no-go gauge"]);
    let by = desk.supervisor.clone();
    let name = |length: usize| "x".repeat(length);
    desk.supervise(gauged("C", ReadValue::Go, Some(&name(100))));
    desk.refused(gauged("C", ReadValue::Go, Some(&name(101))), &by, "at most 100");
}

#[test]
fn where_the_gauge_does_not_pass_a_number_is_owed_and_takes_its_place() {
    let mut desk = Desk::new();
    let id = desk.supervise(gauged("A", ReadValue::NoGo, Some("lap gauge 3")));
    let own = desk.criterion("dpc", "lap");
    assert!(own.owed.iter().any(|owed| owed.what.contains("in numbers at A")), "{:?}", own.owed);
    let by = desk.supervisor.clone();
    let number = |mm: i64| ReadValue::Um(Length::from_mm(mm).um());
    // Another word of the gauge is no measure, and what no gauge said is not measured.
    let go = measured(id, Because::Measured, gauged("A", ReadValue::Go, Some("lap gauge 3")));
    desk.refused(go, &by, "number");
    desk.refused(measured(id, Because::Measured, gauged("B", number(80), None)), &by, "another point");
    let number_id = desk.supervise(measured(id, Because::Measured, gauged("A", number(80), None)));
    let again = measured(number_id, Because::Measured, gauged("A", number(110), None));
    desk.refused(again, &by, "gauge");

    let own = desk.criterion("dpc", "lap");
    assert!(own.owed.iter().all(|owed| !owed.what.contains("in numbers")), "{:?}", own.owed);
    assert_eq!(own.readings.len(), 1);
    assert_eq!(own.readings[0].value, number(80));
    assert_eq!(own.verdict, Some(Verdict::Nonconforming));
    let view = desk.view();
    let states: Vec<_> = view.standing.nonconformances().map(|one| (one.id, one.is_open())).collect();
    assert_eq!(states, [(id, false), (number_id, true)]);
    // The first reading did not conform; what measured it is not counted a second time.
    assert_eq!((view.standing.first_time.conforming, view.standing.first_time.of), (0, 1));

    desk.supervise(measured(number_id, Because::Reworked, gauged("A", ReadValue::Go, Some("lap gauge 3"))));
    assert_eq!(desk.criterion("dpc", "lap").verdict, Some(Verdict::Conforming));
    assert_eq!(desk.view().standing.nonconformances().filter(|one| one.is_open()).count(), 0);
    assert!(audit(desk.register.reader(), true, &mut |_| true).unwrap().is_sound());
}
