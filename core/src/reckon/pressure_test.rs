//! Pressure test: whether pipes held their pressure as long as they should.
//!
//! Pressures are plain decimals in bar, compared exactly; the time is that of the test's own start and end.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::concrete_ticket::times;
use super::{Finding, MAX_NAME, deciding};
use crate::conformity::Verdict;
use crate::faults::Faults;
use crate::quantity::{Factor, Plain};
use crate::working::{ARITHMETIC, FLOOR_DESIGN, Working};

/// The highest pressure that is taken, in bar.
const MOST_BAR: i32 = 1_000;

/// What is asked for, and the test.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// What is asked for.
    pub required: Required,
    /// The test.
    pub test: Test,
}

/// What is asked for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Required {
    /// The least pressure at the start.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = MOST_BAR))]
    pub test_pressure_bar: Plain,
    /// The least time that it is held.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 1_000))]
    pub hold_h: Plain,
    /// How far it may fall.
    #[schemars(range(min = 0, max = MOST_BAR))]
    pub largest_drop_bar: Plain,
}

/// The test as it was read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Test {
    /// Pressure at the start.
    #[schemars(range(min = 0, max = MOST_BAR))]
    pub start_bar: Plain,
    /// Pressure at the end.
    #[schemars(range(min = 0, max = MOST_BAR))]
    pub end_bar: Plain,
    /// When it started: `08:10`, `2026-11-26T08:10` or with its offset.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub started_at: String,
    /// When it ended, written in the same way.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub ended_at: String,
}

/// The test judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// Pressure at the start less pressure at the end; negative where it rose.
    pub drop_bar: Plain,
    /// How long it was held.
    pub held_h: f64,
    /// Any nonconforming, else conforming.
    pub verdict: Verdict,
    /// What was looked at.
    pub findings: Vec<Finding>,
    /// The sums.
    pub working: Working,
}

/// Judges a pressure test.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    let (started, ended) = check(input)?;
    let (required, test) = (&input.required, &input.test);
    let mut working = Working::new();
    let mut findings = Vec::new();
    let less = |a: Factor, b: Factor| Factor::from_millionths(a.millionths() - b.millionths());

    let (start, least) = (test.start_bar.0, required.test_pressure_bar.0);
    let step = "pressure at the start above what is asked for (accepted from 0), bar";
    working.plain(
        step,
        format!("{} - {}", start.to_text(), least.to_text()),
        less(start, least),
        FLOOR_DESIGN,
    );
    findings.push(Finding::new(
        "the test starts at its pressure",
        Verdict::of(least <= start),
        format!("started at {} bar, at least {} bar", start.to_text(), least.to_text()),
        FLOOR_DESIGN,
    ));

    let seconds = ended.seconds_after(started);
    #[expect(clippy::cast_precision_loss, reason = "a few hours or days in seconds")]
    let held = seconds as f64 / 3_600.0;
    working.float("time that it was held", format!("{seconds} / 3600"), held, "h", ARITHMETIC);
    let hold = required.hold_h.0;
    // Exactly: seconds against hours in millionths.
    let long = i128::from(hold.millionths()) * 3_600 <= i128::from(seconds) * 1_000_000;
    findings.push(Finding::new(
        "it is held long enough",
        Verdict::of(long),
        format!(
            "held {} h {:02} min {:02} s, at least {} h",
            seconds / 3_600,
            seconds / 60 % 60,
            seconds % 60,
            hold.to_text()
        ),
        FLOOR_DESIGN,
    ));

    let (end, most) = (test.end_bar.0, required.largest_drop_bar.0);
    let drop = less(start, end);
    working.plain("drop, bar", format!("{} - {}", start.to_text(), end.to_text()), drop, ARITHMETIC);
    let step = "drop below what it may be (accepted from 0), bar";
    let formula = format!("{} - ({} - {})", most.to_text(), start.to_text(), end.to_text());
    working.plain(step, formula, less(most, drop), FLOOR_DESIGN);
    findings.push(Finding::new(
        "the pressure falls no further than it may",
        Verdict::of(drop <= most),
        format!("fell by {} bar, at most {} bar", drop.to_text(), most.to_text()),
        FLOOR_DESIGN,
    ));
    let verdict = Verdict::overall(deciding(&findings));
    Ok(Output { drop_bar: Plain(drop), held_h: held, verdict, findings, working })
}

fn check(input: &Input) -> Result<(times::Moment, times::Moment), Faults> {
    let mut faults = Faults::new();
    let (zero, most) = (Factor::whole(0), Factor::whole(MOST_BAR));
    for (place, value, above) in [
        ("/required/test_pressure_bar", input.required.test_pressure_bar, true),
        ("/required/hold_h", input.required.hold_h, true),
        ("/required/largest_drop_bar", input.required.largest_drop_bar, false),
        ("/test/start_bar", input.test.start_bar, false),
        ("/test/end_bar", input.test.end_bar, false),
    ] {
        if value.0 < zero || (above && value.0 == zero) {
            faults.add(place, if above { "must be more than 0" } else { "must be at least 0" });
        } else if most < value.0 {
            faults.add(place, format!("must be at most {MOST_BAR}"));
        }
    }
    let moments = times::read_pair(
        (&input.test.started_at, "/test/started_at"),
        (&input.test.ended_at, "/test/ended_at"),
        &mut faults,
    );
    faults.into_result(()).map(|()| moments.expect("BUG: moments that cannot be read are faults"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(text: &str) -> Plain {
        Plain(Factor::parse(text).unwrap())
    }

    /// Six bar for an hour, falling by no more than 0.2.
    fn test(start: &str, end: &str, ended: &str) -> Result<Output, Faults> {
        reckon(&Input {
            required: Required {
                test_pressure_bar: plain("6"),
                hold_h: plain("1"),
                largest_drop_bar: plain("0.2"),
            },
            test: Test {
                start_bar: plain(start),
                end_bar: plain(end),
                started_at: "08:10".to_owned(),
                ended_at: ended.to_owned(),
            },
        })
    }

    #[test]
    fn each_limit_is_closed() {
        use Verdict::{Conforming, Nonconforming};
        for (start, end, ended, expect) in [
            ("5.999999", "5.999999", "09:10", Nonconforming),
            ("6", "6", "09:10", Conforming),
            ("6.000001", "6", "09:10", Conforming),
            ("6.1", "5.900001", "09:10", Conforming),
            ("6.1", "5.9", "09:10", Conforming),
            ("6.1", "5.899999", "09:10", Nonconforming),
            ("6.1", "6", "09:09:59", Nonconforming),
            ("6.1", "6", "09:10:00", Conforming),
            ("6.1", "6", "09:10:01", Conforming),
        ] {
            let output = test(start, end, ended).unwrap();
            assert_eq!(output.verdict, expect, "{start} {end} {ended}");
        }
    }

    #[test]
    fn a_pressure_that_rises_is_a_drop_below_nothing() {
        let output = test("6", "6.1", "09:10").unwrap();
        assert_eq!((output.drop_bar, output.verdict), (plain("-0.1"), Verdict::Conforming));
    }

    #[test]
    fn every_fault_is_told_at_its_place() {
        let told = test("-1", "1001", "08:09").unwrap_err().to_string();
        assert!(told.contains("/test/start_bar: must be at least 0"), "{told}");
        assert!(told.contains("/test/end_bar: must be at most 1000"), "{told}");
        assert!(told.contains("/test/ended_at: must not be earlier than started_at"), "{told}");
        let told = test("6", "6", "2026-11-26T09:10").unwrap_err().to_string();
        assert!(told.contains("/test/ended_at: must be written like started_at"), "{told}");
    }
}
