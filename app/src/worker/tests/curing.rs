//! Temperatures of a logger through the worker: shown first, every fault by its row, nothing booked by reading.

use gaugerod_core::inspection::Act;

use super::*;
use crate::screens::fixture::hold_point;

#[test]
fn a_loggers_file_is_read_and_asked_of_the_rules_before_anything_is_booked() {
    let mut bench = Bench::on(Site::bare());
    bench.unlock("R. Tarn");
    bench.ask(Action::Go(Screen::HoldPoint(plot("9"), hold_point("curing"))));
    bench.until("the plot", |state| state.plot(&plot("9")).is_some());
    let read = |bench: &mut Bench, name: &str, text: &str| {
        let path = bench.write(name, text.as_bytes());
        bench.state.drafts.temperatures = None;
        bench.ask(Action::ReadTemperatures { plot: plot("9"), hold_point: hold_point("curing"), path });
        bench.until("the file", |state| state.drafts.temperatures.is_some());
        bench.state.drafts.temperatures.clone().expect("read").result
    };
    let faults =
        read(&mut bench, "hot.csv", "time,temp\n2026-09-21 12:00,hot\n2026-09-21 11:00,151\n").unwrap_err();
    assert_eq!(faults.len(), 3, "{faults:?}");
    assert!(faults[0].starts_with("Row 2, column temp") && faults[1].contains("151"), "{faults:?}");
    let text = "time,temp,no\n2026-09-21 12:00,20,1\n2026-09-21 13:00,21,2\n";
    let (booked, left_out) = read(&mut bench, "sound.csv", text).unwrap();
    assert_eq!((booked.readings.len(), booked.file.as_deref()), (2, Some("sound.csv")));
    assert_eq!(left_out, ["no"]);
    assert!(bench.state.plot(&plot("9")).expect("the plot").record.temperatures.is_empty());
    bench.ask(Action::Do { plot: plot("9"), act: Act::BookTemperatures(booked) });
    bench.until("the temperatures", |state| {
        state.plot(&plot("9")).is_some_and(|view| view.record.temperatures.len() == 1)
    });
    // What is booked already is refused by the row of the file.
    let faults = read(&mut bench, "again.csv", text).unwrap_err();
    assert!(faults[0].starts_with("Row 2: 2026-09-21 12:00 is booked already"), "{faults:?}");
}
