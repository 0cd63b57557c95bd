use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use super::*;

fn taken(text: &str) -> Vec<(String, String)> {
    let taken = read(text.as_bytes()).unwrap_or_else(|faults| panic!("{text}: {faults}"));
    taken.rows.into_iter().map(|row| (row.at.to_string(), row.concrete_c)).collect()
}

fn refused(text: &str) -> String {
    read(text.as_bytes()).expect_err(text).to_string()
}

fn one(at: &str, celsius: &str) -> Vec<(String, String)> {
    vec![(at.to_owned(), celsius.to_owned())]
}

#[test]
fn the_example_and_every_usual_form_of_time_are_read() {
    assert_eq!(taken(EXAMPLE).len(), 3);
    for (time, expect) in [
        ("2026-11-26 08:10", "2026-11-26T08:10:00"),
        ("2026-11-26T08:10:30", "2026-11-26T08:10:30"),
        ("2026-11-26 08:10:30.000", "2026-11-26T08:10:30"),
        ("2026/11/26 08:10", "2026-11-26T08:10:00"),
        ("26.11.2026 08:10", "2026-11-26T08:10:00"),
        ("26/11/2026 08:10", "2026-11-26T08:10:00"),
        ("11/26/2026 08:10:00 PM", "2026-11-26T20:10:00"),
        ("26-11-2026 08:10", "2026-11-26T08:10:00"),
    ] {
        assert_eq!(taken(&format!("time,temp\n{time},14.50\n")), one(expect, "14.5"), "{time}");
    }
}

#[test]
fn separators_decimal_commas_and_lines_above_the_header_are_read() {
    let at = "2026-11-26T08:10:00";
    assert_eq!(taken("Date;Time;Temp (°C);RH\r\n26.11.2026;08:10;-0,5;71\r\n"), one(at, "-0.5"));
    assert_eq!(taken("#\ttime\ttemperature\n1\t2026-11-26 08:10\t14\n"), one(at, "14"));
    let above = "Logger 7\nSerial;12\n\n\"Date Time\",\"Temperature_C\"\n\"2026-11-26 08:10\",\"14\"\n\n";
    let file = read(above.as_bytes()).unwrap();
    assert_eq!((file.above, file.rows[0].row), (3, 5));
    let more = read(b"no,time,temp,battery\n1,2026-11-26 08:10,14,3.6\n").unwrap();
    assert_eq!(more.left_out, ["no", "battery"]);
    assert_eq!(more.rows[0].concrete_c, "14");
}

#[test]
fn all_faults_come_at_once_with_row_and_column() {
    let text = "time,temperature\n2026-11-26 08:10,x\nnoon,14\n2026-11-26 08:20,14,5\n2026-11-26 09:00,14\n2026-11-26 09:00,15\n2026-11-26 08:50,15\n2026-11-26 10:00,\n2026-11-26 11:00,151\n2026-11-26 11:10,-50.5\n";
    let told = refused(text);
    for expect in [
        "row 2, column temperature: \"x\"",
        "row 3, column time: \"noon\" is no time",
        "row 4: has 3 cells where the header has 2: a decimal comma?",
        "row 6, column time: 2026-11-26 09:00 is not later",
        "row 7, column time: 2026-11-26 08:50 is not later",
        "row 8, column temperature: is missing",
        "row 9, column temperature: \"151\"",
        "row 10, column temperature: \"-50.5\"",
    ] {
        assert!(told.contains(expect), "{expect} in\n{told}");
    }
}

#[test]
fn bounds_of_a_temperature_are_closed() {
    for (text, sound) in [("-50", true), ("-50.000001", false), ("150", true), ("150.000001", false)] {
        assert_eq!(check_celsius(text).is_ok(), sound, "{text}");
    }
}

#[test]
fn what_could_be_day_or_month_is_refused_and_rows_that_tell_settle_it() {
    assert!(refused("time,temp\n03/04/2026 08:00,14\n").contains("write the year first"));
    let both = taken("time,temp\n12/11/2026 08:00,14\n13/11/2026 08:00,14\n");
    assert_eq!(both[0].0, "2026-11-12T08:00:00");
    let torn = refused("time,temp\n13/11/2026 08:00,14\n11/14/2026 08:00,14\n");
    assert!(torn.contains("some rows have the day first"), "{torn}");
}

#[test]
fn offsets_fahrenheit_second_columns_and_files_without_a_table_are_refused_by_name() {
    assert!(refused("time,temp\n2026-11-26T08:10:00Z,14\n").contains("has an offset"));
    assert!(refused("time,temp\n2026-11-26T08:10:00+01:00,14\n").contains("has an offset"));
    assert!(refused("time,temp_F\n2026-11-26 08:10,58\n").contains("Fahrenheit"));
    assert!(
        refused("time,temp,temperature\n2026-11-26 08:10,14,15\n")
            .contains("second column for the temperature")
    );
    assert!(refused("a,b\n1,2\n").contains("names no column"));
    assert!(refused("time,temp\n").contains("no row below"));
    assert!(refused(" \n").contains("is empty"));
    assert!(refused("time,temp\n\"2026-11-26 08:10,14\n").contains("quotation mark"));
    assert!(read(&[0xFF, 0xFE, 0x41, 0]).unwrap_err().to_string().contains("UTF-8"));
}

#[test]
fn rows_are_bounded() {
    let start = LocalTime::parse_typed("2026-01-01 00:00").unwrap();
    let row = |n: usize| format!("{},14\n", start.plus_hours(f64::from(u32::try_from(n).unwrap())));
    let most: String = (0..MAX_POINTS).map(row).collect();
    assert_eq!(read(format!("time,temp\n{most}").as_bytes()).unwrap().rows.len(), MAX_POINTS);
    let told = refused(&format!("time,temp\n{most}{}", row(MAX_POINTS)));
    assert!(told.contains("one row too many"), "{told}");
    assert!(read(&vec![b'x'; MAX_BYTES + 1]).unwrap_err().to_string().contains("MiB"));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, rng_seed: RngSeed::Fixed(5), ..ProptestConfig::default() })]

    #[test]
    fn no_bytes_make_it_panic(bytes in prop::collection::vec(any::<u8>(), 0..300), cells in "[0-9:;,./ \"\\-Ttimep\n]{0,200}") {
        let _ = read(&bytes);
        let _ = read(format!("time,temp\n{cells}").as_bytes());
    }
}
