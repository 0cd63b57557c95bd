use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use super::*;
use crate::quantity::{Length, Mm};
use crate::reckon::level_book::{self, Allowable, Input, Mark, Method};

fn m(text: &str) -> Length {
    Length::parse_m(text).unwrap()
}

fn faults(text: &str) -> Vec<String> {
    read(text.as_bytes()).unwrap_err().to_string().lines().map(str::to_owned).collect()
}

/// A row of the columns `point,back_m,inter_m,fore_m,remark` under their header.
fn faults_of(row: &str) -> Vec<String> {
    faults(&format!("point,back_m,inter_m,fore_m,remark\n{row}\n"))
}

fn input(rows: &[TakenRow]) -> Input {
    Input {
        method: Method::RiseAndFall,
        benchmark: Mark { point: "TBM".to_owned(), level_m: Metres(m("47.215")) },
        sights: rows.iter().map(TakenRow::sight).collect(),
        closing: Some(Mark { point: "TBM".to_owned(), level_m: Metres(m("47.215")) }),
        allowable: Allowable::per_root_setup(Length::from_mm(5)),
        expected: Vec::new(),
    }
}

#[test]
fn the_example_is_taken_in_and_reduces() {
    let rows = read(EXAMPLE.as_bytes()).unwrap();
    assert_eq!(rows.len(), 5);
    assert_eq!((rows[0].row, rows[0].point.as_str(), rows[0].back), (2, "TBM", Some(m("1.842"))));
    assert_eq!(rows[0].remark, "nail in kerb");
    assert_eq!((rows[2].back, rows[2].inter, rows[2].fore), (Some(m("1.418")), None, Some(m("1.305"))));
    // 47.215 + 1.842 − 1.305 + 1.418 − 1.953 = 47.217 (the invented plot).
    let output = level_book::reckon(&input(&rows)).unwrap();
    assert_eq!(output.misclosure_mm, Some(Mm(Length::from_mm(2))));
}

#[test]
fn the_description_and_the_columns_say_the_same() {
    for column in COLUMNS {
        assert!(DESCRIPTION.contains(column.name), "{}", column.name);
        assert_eq!(column.unit.is_some(), column.name.contains('_'));
        assert!(!column.about.is_empty());
    }
    assert!(DESCRIPTION.contains("20 000 rows") && MAX_SIGHTS == 20_000);
    assert!(DESCRIPTION.contains("4 MiB") && MAX_BYTES == 4 << 20);
    assert!(DESCRIPTION.contains("200 characters") && MAX_REMARK == 200);
    assert!(DESCRIPTION.contains("60 characters") && PointName::MOST_CHARACTERS == 60);
    assert!(DESCRIPTION.contains("beyond 5 m") && staff::LONGEST == m("5"));
}

#[test]
fn millimetres_order_of_columns_quotes_and_line_ends_are_as_people_write_them() {
    let metres = read(EXAMPLE.as_bytes()).unwrap();
    let text = "\u{feff}Remark, fore_mm ,inter_mm,back_mm,POINT\r\n\"nail in kerb\",,,1842,TBM\r\n,,1245,,A1\r\n,1305,,1418,CP\r\n,,1358,,C1\r\ncloses,1953,,,TBM\r\n\r\n";
    assert_eq!(read(text.as_bytes()).unwrap(), metres);
    let rows =
        read(b"point,back_m,inter_m,fore_m\nTBM,1.5,,\nsoffit,,\xE2\x88\x920.25,\nother,,-0.25,\n").unwrap();
    assert_eq!((rows[1].inter, rows[2].inter), (Some(m("-0.25")), Some(m("-0.25"))));
    assert_eq!(read(b"point,back_m,inter_m,fore_m\rA,1,,\rB,,1,").unwrap()[1].row, 3);
}

#[test]
fn a_file_that_is_no_such_text_is_refused_whole() {
    for (bytes, expect) in [
        (&b""[..], "the file: is empty: the first row names the columns"),
        (b"\xEF\xBB\xBF", "the file: is empty: the first row names the columns"),
        (b"\n\n", "the file: is empty: the first row names the columns"),
        (b"\xFF\xFEp\0o\0", "the file: is not UTF-8 text but UTF-16 or no text at all: save it as CSV UTF-8"),
        (b"p\0o\0", "the file: is not UTF-8 text but UTF-16 or no text at all: save it as CSV UTF-8"),
        (b"point,back_m\nT\xE4glich,1", "row 2: is not UTF-8 text: save it as CSV UTF-8"),
        (
            b"point;back_m;inter_m;fore_m\nTBM;1,842;;\n",
            "row 1: columns are separated by semicolons: separate them by commas, with decimal points",
        ),
        (b"point\tback_m\nTBM\t1\n", "row 1: columns are separated by tabulators: separate them by commas"),
        (
            b"TBM,1.842,,,\nA1,,1.245,,\n",
            "row 1: names no column that a level book has: the first row names the columns (point, back_m, inter_m, fore_m, remark)",
        ),
        (b"point,back_m,inter_m,fore_m\n", "the file: has no row below its header"),
    ] {
        assert_eq!(read(bytes).unwrap_err().to_string(), expect);
    }
}

#[test]
fn a_file_of_the_largest_size_is_read_and_a_larger_one_is_refused() {
    let mut text = String::from(EXAMPLE);
    while text.len() < MAX_BYTES {
        text.push('\n');
    }
    assert_eq!(read(text.as_bytes()).unwrap().len(), 5);
    text.push('\n');
    assert_eq!(read(text.as_bytes()).unwrap_err().to_string(), "the file: is larger than 4 MiB");
}

#[test]
fn as_many_rows_as_a_level_book_has_are_taken_and_no_more() {
    let mut text = String::from("point,back_m,inter_m,fore_m\n");
    for _ in 0..MAX_SIGHTS {
        text.push_str("A,,1.5,\n");
    }
    assert_eq!(read(text.as_bytes()).unwrap().len(), MAX_SIGHTS);
    text.push_str("A,,1.5,\nB,,x,\n");
    let refused = read(text.as_bytes()).unwrap_err().to_string();
    assert_eq!(refused, "row 20002: is one row too many: a level book has at most 20000");
}

#[test]
fn columns_that_cannot_be_are_refused_all_at_once() {
    assert_eq!(
        faults("punkt,back_m,back_mm,,remark,remark,fore_mm,staff\n"),
        [
            "row 1, column \"punkt\": unknown column: a level book has point, back_m, inter_m, fore_m, remark, or the sights in mm",
            "row 1, column number 4: has no name: take the empty column out",
            "row 1, column remark: stands twice",
            "row 1, column \"staff\": unknown column: a level book has point, back_m, inter_m, fore_m, remark, or the sights in mm",
            "row 1, column point: is missing",
            "row 1, column back_mm: stands twice",
            "row 1, column inter_m: is missing",
        ]
    );
    assert_eq!(
        faults("point,back_m,inter_mm,fore_m\nA,1,,\n"),
        [
            "row 1, column inter_mm: has another unit than the sights before it: all in metres or all in millimetres"
        ]
    );
}

#[test]
fn readings_that_cannot_be_are_refused_by_row_and_column() {
    for (row, expect) in [
        (
            "A,,1245,,",
            "column inter_m: \"1245\" is no reading in metres: wrong unit? The other unit has the column inter_mm",
        ),
        ("A,,\"1,245\",,", "column inter_m: \"1,245\" has a decimal comma: write a decimal point"),
        (
            "A,,5.000001,,",
            "column inter_m: \"5.000001\" is on no staff: a reading lies within ±5 m (common practice)",
        ),
        (
            "A,,-5.000001,,",
            "column inter_m: \"-5.000001\" is on no staff: a reading lies within ±5 m (common practice)",
        ),
        (
            "A,,5001,,",
            "column inter_m: \"5001\" is on no staff: a reading lies within ±5 m (common practice)",
        ),
        ("A,,1.2450001,,", "column inter_m: must not be finer than a micrometre"),
        ("A,,1e99,,", "column inter_m: must lie within ±10 km"),
        ("A,,NaN,,", "column inter_m: \"NaN\" is no number"),
        ("A,,1.245 m,,", "column inter_m: \"1.245 m\" is no number"),
        ("A,,=1+1,,", "column inter_m: \"=1+1\" is no number"),
    ] {
        assert_eq!(faults_of(row), [format!("row 2, {expect}")], "{row}");
    }
    for row in ["A,,5,,", "A,,-5,,", "A,,0,,", "A,, 1.245 ,,"] {
        assert!(read(format!("point,back_m,inter_m,fore_m,remark\n{row}").as_bytes()).is_ok(), "{row}");
    }
}

#[test]
fn metres_under_millimetres_are_the_wrong_unit() {
    let file = |reading: &str| format!("point,back_mm,inter_mm,fore_mm\nA,,{reading},\n");
    for reading in ["1.245", "-0.250", "4.999"] {
        assert_eq!(
            faults(&file(reading)),
            [format!(
                "row 2, column inter_mm: \"{reading}\" is no reading in millimetres: wrong unit? The other unit has the column inter_m"
            )]
        );
    }
    for (reading, length) in [("0", "0"), ("2", "0.002"), ("5.001", "0.005001"), ("1245.5", "1.2455")] {
        assert_eq!(read(file(reading).as_bytes()).unwrap()[0].inter, Some(m(length)), "{reading}");
    }
}

#[test]
fn rows_that_cannot_be_are_refused_by_row() {
    for (row, expect) in [
        (",,,,", "row 2: is empty: take it out"),
        ("  ", "row 2: is empty: take it out"),
        ("A,,1,245,,", "row 2: has 6 cells where the header has 5: a decimal comma?"),
        ("A,,1.245", "row 2: has 3 cells where the header has 5"),
        ("A,,,,only a word", "row 2: has no reading"),
        (",,1.245,,", "row 2, column point: is missing: every row names where the staff stood"),
        ("A,,1.245,,\"two\nlines\"", "row 2: has a line break within a cell: is a quotation mark left open?"),
        ("A,,1.245,,\"open", "row 2: has a line break within a cell: is a quotation mark left open?"),
    ] {
        assert_eq!(faults_of(row), [expect], "{row}");
    }
    let long = |point: usize, remark: usize| format!("{},,1,,{}", "p".repeat(point), "r".repeat(remark));
    assert_eq!(
        faults_of(&long(61, 201)),
        [
            "row 2, column point: must be 1 to 60 characters without control characters or outer blanks",
            "row 2, column remark: must be at most 200 characters without control characters",
        ]
    );
    assert!(read(format!("point,back_m,inter_m,fore_m,remark\n{}", long(60, 200)).as_bytes()).is_ok());
}

#[test]
fn all_faults_come_at_once_with_their_rows_and_nothing_is_taken() {
    let text =
        "\npoint,back_m,inter_m,fore_m,colour\nTBM,1.842,,,red\n\n\nA1,,x,,red\n,,1245,9,\nA3,,1.248,,\n";
    assert_eq!(
        faults(text),
        [
            "row 1: is empty: take it out",
            "row 2, column \"colour\": unknown column: a level book has point, back_m, inter_m, fore_m, remark, or the sights in mm",
            "row 4: is empty: take it out",
            "row 5: is empty: take it out",
            "row 6, column inter_m: \"x\" is no number",
            "row 7, column point: is missing: every row names where the staff stood",
            "row 7, column inter_m: \"1245\" is no reading in metres: wrong unit? The other unit has the column inter_mm",
            "row 7, column fore_m: \"9\" is on no staff: a reading lies within ±5 m (common practice)",
        ]
    );
}

#[test]
fn more_faults_than_are_listed_are_counted() {
    let text = format!("point,back_m,inter_m,fore_m\n{}", "A,,x,\n".repeat(1_003));
    let refused = read(text.as_bytes()).unwrap_err();
    assert_eq!((refused.listed.len(), refused.more), (1_000, 3));
    assert!(refused.to_string().ends_with("\nthe file: has 3 more faults"));
}

#[test]
fn what_is_no_level_book_is_shown_at_the_rows_of_the_file() {
    let rows = read(b"remark,point,back_m,inter_m,fore_m\nx,TBM,1.5,,\nx,A,1.5,,\nx,TBM,,,1.5\n").unwrap();
    let mut input = input(&rows);
    input.allowable = Allowable::default();
    let found = by_row(&level_book::reckon(&input).unwrap_err(), &rows).to_string();
    assert_eq!(
        found.lines().collect::<Vec<_>>(),
        [
            "row 3, column back_m: stands without a fore sight: a change point has both in one row",
            "the file: is missing: give per_root_setup_mm, or per_root_km_mm and distance_km",
        ]
    );
}

/// Bytes that come near a level book, so that the reader gets past its header.
fn near_bytes() -> impl Strategy<Value = Vec<u8>> {
    let piece = prop_oneof![
        Just("point,back_m,inter_m,fore_m,remark\n".to_owned()),
        Just("A,,1.245,,\n".to_owned()),
        "[-0-9.,;\"\r\n\t eE]{0,8}",
        any::<String>(),
    ];
    prop::collection::vec(piece, 0..8).prop_map(|pieces| pieces.concat().into_bytes())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1_000, failure_persistence: None, rng_seed: RngSeed::Fixed(20_261_128), ..ProptestConfig::default() })]

    #[test]
    fn random_bytes_are_refused_or_read_and_never_panic(
        bytes in prop_oneof![prop::collection::vec(any::<u8>(), 0..400), near_bytes()],
    ) {
        match read(&bytes) {
            Ok(rows) => prop_assert!(rows.iter().all(|row| row.back.or(row.inter).or(row.fore).is_some())),
            Err(faults) => prop_assert!(!faults.is_empty() && !faults.to_string().is_empty()),
        }
    }

    #[test]
    fn rows_stand_at_the_lines_that_an_editor_shows(
        blank_before in 0_usize..3, blank_between in 0_usize..3, end in prop_oneof![Just("\n"), Just("\r\n"), Just("\r")],
    ) {
        let text = format!(
            "{}point,back_m,inter_m,fore_m{end}A,x,,{end}{}B,y,,{end}",
            end.repeat(blank_before), end.repeat(blank_between)
        );
        let refused = read(text.as_bytes()).unwrap_err();
        let found: Vec<(usize, bool)> =
            refused.listed.iter().map(|fault| (fault.row.unwrap(), fault.what == Refused::EmptyRow)).collect();
        let first = blank_before + 2;
        let expect: Vec<(usize, bool)> = (1..=blank_before)
            .map(|row| (row, true))
            .chain([(first, false)])
            .chain((1..=blank_between).map(|more| (first + more, true)))
            .chain([(first + blank_between + 1, false)])
            .collect();
        prop_assert_eq!(found, expect);
    }

    #[test]
    fn what_is_written_is_taken_in_exactly(readings in prop::collection::vec(-5_000_000_i64..=5_000_000, 1..40)) {
        let mut metres = String::from("point,back_m,inter_m,fore_m\n");
        for (index, um) in readings.iter().enumerate() {
            metres.push_str(&format!("P{index},,{},\n", Length::from_um(*um).to_m_text()));
        }
        let rows = read(metres.as_bytes()).unwrap();
        let found: Vec<i64> = rows.iter().map(|row| row.inter.unwrap().um()).collect();
        prop_assert_eq!(found, readings);
    }
}
