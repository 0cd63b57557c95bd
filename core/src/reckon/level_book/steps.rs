//! The working of a level book: every row of a short one; of any the checks, with back and fore sights summed by pages as
//! in a paper book. A long book's working grows with its set-ups, not with its sights.

use super::reduce::{Reduced, open_end};
use super::{Input, Method, Row, Sight};
use crate::quantity::{Length, Metres};
use crate::working::{ARITHMETIC, COMMON_PRACTICE, FLOOR_DESIGN, Working, m, mm};

/// A book of up to so many rows is worked out row by row; a longer one by its checks alone.
const ROWS_IN_FULL: usize = 200;
/// Numbers that are summed in one step; more are summed by pages first.
const PAGE: usize = 100;

/// Adds all steps; the last one is the result.
pub(super) fn add(
    input: &Input,
    reduced: &Reduced,
    rows: &[Row],
    shared: Option<Length>,
    misclosure: Option<Length>,
    working: &mut Working,
) {
    if rows.len() <= ROWS_IN_FULL {
        levels(input, rows, working);
        if let Some(misclosure) = shared {
            adjusted(rows, misclosure, reduced.setups, working);
        }
    }
    sums(input, reduced, working);
    if let (Some(misclosure), Some(closing)) = (misclosure, &input.closing) {
        let formula = format!("({} - {}) * 1000", m(reduced.last_level()), m(closing.level_m.0));
        working.mm("misclosure: level found less level known", formula, misclosure, ARITHMETIC);
        let allowable = input.allowable.mm(reduced.setups);
        let formula = input.allowable.formula(reduced.setups);
        let margin = format!("{formula} - abs({})", mm(misclosure));
        working.float("misclosure that is allowed", formula, allowable, "mm", FLOOR_DESIGN);
        working.float(
            "misclosure inside the allowable by (conforming from 0)",
            margin,
            allowable - misclosure.to_mm_f64().abs(),
            "mm",
            FLOOR_DESIGN,
        );
    }
}

fn levels(input: &Input, rows: &[Row], working: &mut Working) {
    let mut collimation = Length::ZERO;
    let mut level_before = input.benchmark.level_m.0;
    let mut reading_before = Length::ZERO;
    for (sight, row) in input.sights.iter().zip(rows) {
        let point = &row.point;
        let level = row.level_m.0;
        if let Some(reading) = sight.levelled_by() {
            match input.method {
                Method::HeightOfCollimation => {
                    let formula = format!("{} - {}", m(collimation), m(reading));
                    working.m(format!("{point}: level"), formula, level, ARITHMETIC);
                }
                Method::RiseAndFall => {
                    let (word, from, to, height, sign) = match row.fall_m {
                        Some(fall) => ("fall", reading, reading_before, fall.0, '-'),
                        None => ("rise", reading_before, reading, reading_before - reading, '+'),
                    };
                    let formula = format!("{} - {}", m(from), m(to));
                    working.m(format!("{point}: {word}"), formula, height, ARITHMETIC);
                    let formula = format!("{} {sign} {}", m(level_before), m(height));
                    working.m(format!("{point}: level"), formula, level, ARITHMETIC);
                }
            }
            reading_before = reading;
        }
        if let Some(back) = sight.back_m {
            reading_before = back.0;
            if let Some(starts) = row.collimation_m {
                collimation = starts.0;
                let step = format!("{point}: height of collimation of set-up {}", row.setup + 1);
                working.m(step, format!("{} + {}", m(level), m(back.0)), starts.0, ARITHMETIC);
            }
        }
        level_before = level;
    }
}

fn adjusted(rows: &[Row], misclosure: Length, setups: usize, working: &mut Working) {
    for row in rows.iter().filter(|row| row.setup > 0) {
        working.m(
            format!(
                "{}: adjusted level, {} of {setups} parts of the misclosure off, to the micrometre",
                row.point, row.setup
            ),
            format!("{} - {} * {} / {setups}", m(row.level_m.0), m(misclosure), row.setup),
            row.adjusted_level_m.0,
            COMMON_PRACTICE,
        );
    }
}

/// The trade's check: back sights less fore sights, and rises less falls, are the difference of last and first level.
fn sums(input: &Input, reduced: &Reduced, working: &mut Working) {
    let of = |key: fn(&Sight) -> Option<Metres>| -> Vec<Length> {
        input.sights.iter().filter_map(key).map(|reading| reading.0).collect()
    };
    let back = sum("back sights", &of(|sight| sight.back_m), working);
    let fore = sum("fore sights", &of(|sight| sight.fore_m), working);
    let open = open_end(&input.sights);
    let (first, last) = (input.benchmark.level_m.0, reduced.last_level());
    if input.method == Method::RiseAndFall {
        let (up, down) = reduced.rises_and_falls();
        if reduced.levels.len() <= ROWS_IN_FULL {
            let rises = reduced.levels.iter().filter_map(|row| row.rise);
            let rising: Vec<Length> = rises.clone().filter(|rise| !rise.is_negative()).collect();
            let falling: Vec<Length> = rises.filter(|rise| rise.is_negative()).map(|fall| -fall).collect();
            sum("rises", &rising, working);
            sum("falls", &falling, working);
        }
        working.m(
            "rises less falls, less the difference of last and first level: 0 when the sums close",
            format!("{} - {} - ({} - {})", m(up), m(down), m(last), m(first)),
            up - down - (last - first),
            COMMON_PRACTICE,
        );
    }
    let (still_open, words) = if open == Length::ZERO {
        (String::new(), "")
    } else {
        (format!(" - {}", m(open)), " and the last row's open sight")
    };
    working.m(
        format!("back sights less fore sights{words}, less the difference of levels: 0 when the sums close"),
        format!("{} - {}{still_open} - ({} - {})", m(back), m(fore), m(last), m(first)),
        back - fore - open - (last - first),
        COMMON_PRACTICE,
    );
    working.m("last level less first", format!("{} - {}", m(last), m(first)), last - first, ARITHMETIC);
}

/// The sum of a column, by pages when it is long.
fn sum(of: &str, column: &[Length], working: &mut Working) -> Length {
    let mut pages: Vec<Length> = column.chunks(PAGE).map(|page| page.iter().copied().sum()).collect();
    if 1 < pages.len() {
        for (number, (page, total)) in column.chunks(PAGE).zip(&pages).enumerate() {
            working.m(format!("sum of {of}, page {}", number + 1), terms(page), *total, ARITHMETIC);
        }
    } else {
        pages = column.to_vec();
    }
    let total = pages.iter().copied().sum();
    working.m(format!("sum of {of}"), terms(&pages), total, ARITHMETIC);
    total
}

fn terms(column: &[Length]) -> String {
    if column.is_empty() {
        return "0".to_owned();
    }
    let mut text = String::with_capacity(column.len() * 8);
    for (index, length) in column.iter().enumerate() {
        if index > 0 {
            text.push_str(" + ");
        }
        text.push_str(&m(*length));
    }
    text
}
