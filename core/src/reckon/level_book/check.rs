//! What makes a level book unusable, every fault at its place, and what is said about a usable one.

use std::collections::HashMap;

use super::{Checks, Expected, Input, MAX_SIGHTS, Mark, Row, Sight};
use crate::conformity::Verdict;
use crate::faults::Faults;
use crate::quantity::Length;
use crate::reckon::{Finding, refuse_negative, refuse_too_many, staff};
use crate::working::{ARITHMETIC, COMMON_PRACTICE, FLOOR_DESIGN};

/// The most wrongly booked levels that are named one by one.
const NAMED: usize = 10;

/// The level that a point is expected to have, by the point.
pub(super) type ByPoint<'i> = HashMap<&'i str, &'i Expected>;

/// Refuses what is no level book; of a sound one it gives what is expected where.
pub(super) fn check(input: &Input) -> Result<ByPoint<'_>, Faults> {
    let mut faults = Faults::new();
    refuse_too_many("/sights", input.sights.len(), MAX_SIGHTS, &mut faults);
    match input.sights.split_first() {
        Some((first, _)) => check_start(&input.benchmark, first, &mut faults),
        None => faults.add("/sights", format!("{}, and is empty", starts(&input.benchmark))),
    }
    let closed_at = check_order(&input.sights, &mut faults);
    for (index, sight) in input.sights.iter().enumerate() {
        for (key, reading) in [("back_m", sight.back_m), ("inter_m", sight.inter_m), ("fore_m", sight.fore_m)]
        {
            if let Some(reading) = reading {
                staff::refuse_impossible(|| format!("/sights/{index}/{key}"), reading.0, &mut faults);
            }
        }
    }
    if let Some(closing) = &input.closing {
        check_closing(input, closing, closed_at, &mut faults);
    }
    input.allowable.check(&mut faults);
    refuse_too_many("/expected", input.expected.len(), MAX_SIGHTS, &mut faults);
    let mut by_point = ByPoint::with_capacity(input.expected.len());
    for (index, expected) in input.expected.iter().enumerate() {
        if by_point.insert(&expected.point, expected).is_some() {
            let point = &expected.point;
            faults
                .add(format!("/expected/{index}/point"), format!("{point:?} has an expected level already"));
        }
        if expected.tolerance_mm.0.is_negative() {
            refuse_negative(&format!("/expected/{index}/tolerance_mm"), expected.tolerance_mm.0, &mut faults);
        }
    }
    faults.into_result(by_point)
}

fn starts(benchmark: &Mark) -> String {
    format!("must start with a back sight to the benchmark {:?}", benchmark.point)
}

fn check_start(benchmark: &Mark, first: &Sight, faults: &mut Faults) {
    if first.point != benchmark.point {
        faults.add("/sights/0/point", format!("the book {}", starts(benchmark)));
    }
    if first.back_m.is_none() {
        faults.add("/sights/0/back_m", format!("is missing: the book {}", starts(benchmark)));
    }
    for (key, reading) in [("inter_m", first.inter_m), ("fore_m", first.fore_m)] {
        if reading.is_some() {
            faults.add(format!("/sights/0/{key}"), "stands in the first row, which is a back sight alone");
        }
    }
}

/// Checks every row after the first, and finds the row that closes the book.
fn check_order(sights: &[Sight], faults: &mut Faults) -> Option<usize> {
    let mut closed_at = None;
    let mut said = false;
    for (index, sight) in sights.iter().enumerate().skip(1) {
        let place = |key: &str| format!("/sights/{index}{key}");
        let fore_alone = matches!((sight.back_m, sight.inter_m, sight.fore_m), (None, None, Some(_)));
        match (sight.back_m, sight.inter_m, sight.fore_m) {
            (None, None, None) => faults.add(
                place(""),
                "has no reading: give inter_m, fore_m and back_m (a change point), or fore_m alone (closing)",
            ),
            (Some(_), None, None) => faults
                .add(place("/back_m"), "stands without a fore sight: a change point has both in one row"),
            (_, Some(_), other) if sight.back_m.is_some() || other.is_some() => faults.add(
                place("/inter_m"),
                "stands beside another sight: an intermediate sight has its row alone",
            ),
            _ => {}
        }
        match closed_at {
            None if fore_alone => closed_at = Some(index),
            None => {}
            Some(at) if fore_alone => {
                faults.add(place("/fore_m"), format!("a second closing: the book was closed at /sights/{at}"))
            }
            Some(at) if !said => {
                said = true;
                faults.add(
                    place(""),
                    format!("stands after the closing at /sights/{at}: a change point has fore_m and back_m"),
                );
            }
            Some(_) => {}
        }
    }
    closed_at
}

fn check_closing(input: &Input, closing: &Mark, closed_at: Option<usize>, faults: &mut Faults) {
    let sighted = closed_at.and_then(|at| input.sights.get(at));
    if sighted.is_none_or(|sight| sight.point != closing.point) {
        faults.add(
            "/closing/point",
            format!("is never closed on: the last row must be a fore sight alone to {:?}", closing.point),
        );
    }
    if closing.point == input.benchmark.point && closing.level_m != input.benchmark.level_m {
        faults.add("/closing/level_m", "must be the benchmark's level, since it is the same mark");
    }
}

/// What there is to say about a book beside its figures.
pub(super) fn findings(
    input: &Input,
    rows: &[Row],
    checks: &Checks,
    misclosure: Option<Length>,
    verdict: Verdict,
    setups: usize,
) -> Vec<Finding> {
    const CLOSES: &str = "a level book closes on a mark of known level";
    let mut findings = Vec::new();
    match (&input.closing, misclosure) {
        (Some(closing), Some(misclosure)) => {
            if verdict == Verdict::Nonconforming {
                findings.push(Finding::new(
                    "misclosure within the allowable",
                    verdict,
                    format!(
                        "the book misses {} by {} mm: nothing is adjusted; find the fault or level again",
                        closing.point,
                        misclosure.signed_mm_text(3)
                    ),
                    FLOOR_DESIGN,
                ));
            } else if setups == 1 && misclosure != Length::ZERO {
                findings.push(Finding::caution(
                    "a misclosure is shared out over set-ups",
                    "with one set-up there is nothing to share out: the misclosure is reported and no level is changed",
                    COMMON_PRACTICE,
                ));
            }
            if closing.point == input.benchmark.point {
                findings.push(Finding::caution(
                    CLOSES,
                    "it closes on the mark that it started from: that proves the readings and the instrument, not the mark",
                    COMMON_PRACTICE,
                ));
            }
        }
        _ => findings.push(Finding::new(
            CLOSES,
            Verdict::Undetermined,
            "no closing benchmark yet: an error carried on from a change point stays unseen",
            COMMON_PRACTICE,
        )),
    }
    if checks.agrees == Some(false) {
        findings.push(wrongly_booked(input, rows));
    }
    findings
}

fn wrongly_booked(input: &Input, rows: &[Row]) -> Finding {
    let wrong: Vec<String> = input
        .sights
        .iter()
        .zip(rows)
        .filter_map(|(sight, row)| {
            let booked = sight.booked_level_m.filter(|booked| *booked != row.level_m)?;
            Some(format!(
                "{} is booked {} and reduces to {}",
                row.point,
                booked.0.to_m_text(),
                row.level_m.0.to_m_text()
            ))
        })
        .collect();
    let more = wrong.len().saturating_sub(NAMED);
    let mut reason = wrong[..wrong.len().min(NAMED)].join("; ");
    if more > 0 {
        reason.push_str(&format!("; and {more} more"));
    }
    Finding::caution("levels reduced by hand are those of the readings", reason, ARITHMETIC)
}
