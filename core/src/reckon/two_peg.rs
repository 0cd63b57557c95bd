//! Two-peg test: how far an instrument's line of sight rises or falls, from readings on two pegs seen from midway and
//! from one end.
//!
//! Midway an error of the line of sight is alike in both readings and leaves their difference true. From a set-up near
//! A it is all in the reading on B. Judged is the instrument, and whether it may be used is the maker's or the
//! calibration laboratory's to say.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Finding, refuse_negative, staff};
use crate::conformity::Verdict;
use crate::faults::Faults;
use crate::quantity::{Length, Metres, Mm};
use crate::working::{ARITHMETIC, COMMON_PRACTICE, Working, m, mm, term};

/// The length that an instrument's allowable error is stated for.
const TEN_METRES: Length = Length::from_mm(10_000);

/// Readings from both set-ups.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// From a set-up midway between the pegs.
    pub mid: Pair,
    /// From a set-up near A.
    pub end: Pair,
    /// From A to B.
    #[schemars(range(min = 0))]
    pub distance_m: Metres,
    /// The most that the line of sight may rise or fall in 10 m.
    #[schemars(range(min = 0))]
    pub allowable_mm_per_10_m: Mm,
}

/// Readings of the staff on both pegs from one set-up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pair {
    /// On peg A.
    #[schemars(range(min = 0))]
    pub a_m: Metres,
    /// On peg B.
    #[schemars(range(min = 0))]
    pub b_m: Metres,
}

impl Pair {
    /// How much higher B stands than A by these readings.
    fn difference(self) -> Length {
        self.a_m.0 - self.b_m.0
    }
}

/// The instrument judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// How much higher B stands than A, from midway.
    pub true_difference_m: Metres,
    /// The same as it appears from near A.
    pub apparent_difference_m: Metres,
    /// Apparent less true difference: negative when the line of sight rises and B is read too high.
    pub error_mm: Mm,
    /// The same for 10 m of sight. A rate, so a binary float; the verdict is found in whole numbers.
    pub error_mm_per_10_m: f64,
    /// Whether it lies within the allowable, closed.
    pub verdict: Verdict,
    /// Which way the line of sight goes.
    pub findings: Vec<Finding>,
    /// The sums.
    pub working: Working,
}

/// Judges an instrument's line of sight.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    check(input)?;
    let (real, apparent) = (input.mid.difference(), input.end.difference());
    let error = apparent - real;
    let rate = error.to_mm_f64() * 10.0 / input.distance_m.0.to_m_f64();
    let allowable = input.allowable_mm_per_10_m.0;
    let verdict = Verdict::of(product(error.abs(), TEN_METRES) <= product(allowable, input.distance_m.0));

    let mut working = Working::new();
    for (step, pair, difference) in [
        ("true difference of the pegs, from midway", input.mid, real),
        ("apparent difference, from near A", input.end, apparent),
    ] {
        let formula = format!("{} - {}", m(pair.a_m.0), m(pair.b_m.0));
        working.m(step, formula, difference, COMMON_PRACTICE);
    }
    working.mm(
        "error over the distance",
        format!("({} - {}) * 1000", m(apparent), m(real)),
        error,
        ARITHMETIC,
    );
    let per_ten = format!("{} * 10 / {}", mm(error), m(input.distance_m.0));
    working.float("error in 10 m", per_ten, rate, "mm", ARITHMETIC);
    working.float(
        "inside the allowable by (conforming from 0)",
        format!("{} - abs({})", mm(allowable), term(&rate.to_string())),
        allowable.to_mm_f64() - rate.abs(),
        "mm",
        "the instrument's stated allowable",
    );
    Ok(Output {
        true_difference_m: Metres(real),
        apparent_difference_m: Metres(apparent),
        error_mm: Mm(error),
        error_mm_per_10_m: rate,
        verdict,
        findings: findings(error, verdict),
        working,
    })
}

/// Whole square micrometres: exact, and far from the end of 128 bits.
fn product(one: Length, other: Length) -> i128 {
    i128::from(one.um()) * i128::from(other.um())
}

fn findings(error: Length, verdict: Verdict) -> Vec<Finding> {
    let mut findings = Vec::new();
    if error != Length::ZERO {
        let (way, reads) = if error.is_negative() { ("rises", "high") } else { ("falls", "low") };
        findings.push(Finding::caution(
            "the line of sight is level",
            format!("it {way} away from the instrument, so far readings are {reads}: keep back and fore sights alike in length"),
            COMMON_PRACTICE,
        ));
    }
    if verdict == Verdict::Nonconforming {
        findings.push(Finding::new(
            "error within the instrument's allowable",
            Verdict::Nonconforming,
            "repeat the test; if it comes out the same, have the instrument adjusted before it is used",
            COMMON_PRACTICE,
        ));
    }
    findings
}

fn check(input: &Input) -> Result<(), Faults> {
    let mut faults = Faults::new();
    for (setup, pair) in [("mid", input.mid), ("end", input.end)] {
        for (peg, reading) in [("a_m", pair.a_m.0), ("b_m", pair.b_m.0)] {
            let place = format!("/{setup}/{peg}");
            refuse_negative(&place, reading, &mut faults);
            staff::refuse_impossible(|| place, reading, &mut faults);
        }
    }
    if input.distance_m.0 <= Length::ZERO {
        faults.add("/distance_m", "must be more than 0");
    }
    refuse_negative("/allowable_mm_per_10_m", input.allowable_mm_per_10_m.0, &mut faults);
    faults.into_result(())
}

#[cfg(test)]
mod tests {
    use super::super::tests::repeat;
    use super::*;

    fn metres(text: &str) -> Metres {
        Metres(Length::parse_m(text).unwrap())
    }

    fn test(mid: (&str, &str), end: (&str, &str), distance: &str, allowable: &str) -> Input {
        Input {
            mid: Pair { a_m: metres(mid.0), b_m: metres(mid.1) },
            end: Pair { a_m: metres(end.0), b_m: metres(end.1) },
            distance_m: metres(distance),
            allowable_mm_per_10_m: Mm(Length::parse_mm(allowable).unwrap()),
        }
    }

    #[test]
    fn an_error_on_the_allowable_conforms() {
        use Verdict::{Conforming as C, Nonconforming as N};
        // 3 mm in 30 m is 1 mm in 10 m; in 35 m the limit 3.5 is met exactly, though 3.5 · 10 / 35 has no end in binary.
        for (b, distance, expect) in [
            ("1.602999", "30", C),
            ("1.603", "30", C),
            ("1.603001", "30", N),
            ("1.597001", "30", C),
            ("1.597", "30", C),
            ("1.596999", "30", N),
            ("1.603499", "35", C),
            ("1.6035", "35", C),
            ("1.603501", "35", N),
        ] {
            let output = reckon(&test(("1.400", "1.500"), ("1.500", b), distance, "1")).unwrap();
            assert_eq!(output.verdict, expect, "{b} over {distance}");
            repeat(&output.working);
        }
    }

    #[test]
    fn a_line_of_sight_that_rises_reads_high_at_the_far_peg() {
        let output = reckon(&test(("1.400", "1.500"), ("1.500", "1.606"), "60", "2")).unwrap();
        assert_eq!(output.true_difference_m, metres("-0.1"));
        assert_eq!(output.apparent_difference_m, metres("-0.106"));
        assert_eq!(output.error_mm.0, Length::from_mm(-6));
        assert_eq!(output.error_mm_per_10_m, -1.0);
        assert!(output.findings[0].caution && output.findings[0].reason.contains("rises"));
        let level = reckon(&test(("1.400", "1.500"), ("1.500", "1.600"), "60", "2")).unwrap();
        assert!(level.findings.is_empty());
    }

    #[test]
    fn an_error_of_the_line_of_sight_alike_from_midway_does_not_count() {
        let one = reckon(&test(("1.400", "1.500"), ("1.500", "1.606"), "60", "2")).unwrap();
        let other = reckon(&test(("1.403", "1.503"), ("1.500", "1.606"), "60", "2")).unwrap();
        assert_eq!((one.error_mm, one.verdict), (other.error_mm, other.verdict));
    }

    /// tests/data/published/two-peg.json, which names its sources.
    #[test]
    fn published_tests_agree() {
        let data: serde_json::Value =
            serde_json::from_str(include_str!("../../../tests/data/published/two-peg.json")).unwrap();
        for case in data["cases"].as_array().unwrap() {
            let input = serde_json::json!({
                "mid": case["mid"], "end": case["end"], "distance_m": case["distance_m"], "allowable_mm_per_10_m": 1,
            });
            let output = reckon(&crate::faults::read_json(&input.to_string()).unwrap()).unwrap();
            let expect = &case["expect"];
            let size = Length::parse_mm(&expect["size_mm"].to_string()).unwrap();
            assert_eq!(output.error_mm.0.abs(), size);
            assert_eq!(output.error_mm_per_10_m.abs(), expect["size_mm_per_10_m"].as_f64().unwrap());
            // Read less than level: the line of sight falls.
            let falls = output.findings[0].reason.contains("falls");
            assert_eq!(
                (falls, output.error_mm.0.is_negative()),
                (expect["read_less_than_level"] == true, !falls)
            );
            repeat(&output.working);
        }
    }

    #[test]
    fn what_cannot_be_is_refused_by_place() {
        let faults = reckon(&test(("5.001", "-0.001"), ("5", "1606"), "0", "-1")).unwrap_err().to_string();
        assert_eq!(
            faults.lines().collect::<Vec<_>>(),
            [
                "/mid/a_m: must lie within ±5 m: no levelling staff is longer (common practice)",
                "/mid/b_m: must be at least 0",
                "/end/b_m: must lie within ±5 m: no levelling staff is longer (common practice); perhaps 1.606 m?",
                "/distance_m: must be more than 0",
                "/allowable_mm_per_10_m: must be at least 0",
            ]
        );
    }
}
