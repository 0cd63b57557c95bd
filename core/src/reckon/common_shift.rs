//! Common shift: whether moving the whole floor up or down by one amount would bring every bearing within its
//! limits, and what that moves with it.
//!
//! It only says what would follow. The designer decides: a shift moves thresholds, finishes and everything that
//! hangs on the finished floor level.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Finding, MAX_NAME, MAX_POINTS, refuse_negative, refuse_too_many, refuse_twins};
use crate::conformity::{Decision, Limits, Verdict, acceptance};
use crate::faults::Faults;
use crate::quantity::{Length, Metres, Mm};
use crate::working::{ARITHMETIC, COMMON_PRACTICE, FLOOR_DESIGN, JCGM_106, Working, m, mm, of_many};

/// Deviations of the bearings, and the levels that would move with the floor.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// The bearing level of the design.
    pub bearing_level_m: Metres,
    /// How far above it a bearing may stand.
    #[schemars(range(min = 0))]
    pub tolerance_plus_mm: Mm,
    /// How far below it.
    #[schemars(range(min = 0))]
    pub tolerance_minus_mm: Mm,
    /// Levels of the bearings as read.
    #[schemars(length(min = 1, max = MAX_POINTS))]
    pub points: Vec<Point>,
    /// How the uncertainty of one level is taken into account.
    pub decision: Decision,
    /// The finished floor of the design.
    pub finished_floor_level_m: Metres,
    /// The finished outside ground: the threshold stands over it.
    pub outside_ground_level_m: Metres,
    /// Ventilated void and heave allowance together.
    #[schemars(range(min = 0))]
    pub required_void_mm: Mm,
    /// The least void as the ground was read, under the floor as designed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least_void_mm: Option<Mm>,
}

/// One bearing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Point {
    /// Its name.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub point: String,
    /// Its level.
    pub level_m: Metres,
}

/// What a common shift would do.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// The least and the greatest shift, up positive, under which every bearing is accepted; null where none does.
    pub range_mm: Option<Range>,
    /// The one nearest to no shift; null where none does.
    pub shift_mm: Option<Mm>,
    /// The bearing level that the floor would then be built to.
    pub bearing_level_m: Metres,
    /// The finished floor that would follow.
    pub finished_floor_level_m: Metres,
    /// The finished floor over the outside ground that would follow.
    pub threshold_mm: Mm,
    /// The least void that would follow; null where no ground was read.
    pub least_void_mm: Option<Mm>,
    /// Conforming: no shift is needed. Nonconforming: none would do. Undetermined: one would do, and the designer
    /// decides.
    pub verdict: Verdict,
    /// What else there is to say.
    pub findings: Vec<Finding>,
    /// The sums.
    pub working: Working,
}

/// From the least to the greatest, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Range {
    /// The least.
    pub least: Mm,
    /// The greatest.
    pub most: Mm,
}

/// Finds the shift nearest to none that brings every bearing within its limits.
///
/// # Errors
/// Every fault of the input with its place.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    check(input)?;
    let target = input.bearing_level_m.0;
    let limits = Limits::between(-input.tolerance_minus_mm.0, input.tolerance_plus_mm.0);
    let accepted = acceptance(&limits, &input.decision);
    let (least_accepted, most_accepted) =
        (accepted.least.unwrap_or(Length::ZERO), accepted.most.unwrap_or(Length::ZERO));
    let mut working = Working::new();
    let guard = mm(input.decision.guard());
    working.mm(
        "greatest deviation accepted",
        format!("{} - {guard}", mm(input.tolerance_plus_mm.0)),
        most_accepted,
        JCGM_106,
    );
    working.mm(
        "least deviation accepted",
        format!("{guard} - {}", mm(input.tolerance_minus_mm.0)),
        least_accepted,
        JCGM_106,
    );
    let levels: Vec<Length> = input.points.iter().map(|point| point.level_m.0).collect();
    let terms: Vec<String> = levels.iter().map(|level| m(*level)).collect();
    let highest = levels.iter().copied().max().unwrap_or(target);
    let lowest = levels.iter().copied().min().unwrap_or(target);
    working.m("highest bearing", of_many("max", &terms), highest, ARITHMETIC);
    working.m("lowest bearing", of_many("min", &terms), lowest, ARITHMETIC);
    let least = highest - target - most_accepted;
    let most = lowest - target - least_accepted;
    working.mm(
        "least shift: the highest bearing is just accepted",
        format!("({} - {}) * 1000 - {}", m(highest), m(target), mm(most_accepted)),
        least,
        COMMON_PRACTICE,
    );
    working.mm(
        "greatest shift: the lowest bearing is just accepted",
        format!("({} - {}) * 1000 - {}", m(lowest), m(target), mm(least_accepted)),
        most,
        COMMON_PRACTICE,
    );
    let crossed = least_accepted > most_accepted;
    let shift = (!crossed && least <= most).then(|| Length::ZERO.clamp(least, most));
    let by = shift.unwrap_or(Length::ZERO);
    if shift.is_some() {
        working.mm(
            "shift nearest to none within them",
            format!("min(max(0, {}), {})", mm(least), mm(most)),
            by,
            COMMON_PRACTICE,
        );
    }
    Ok(finish(input, shift, (least, most), by, working))
}

fn finish(
    input: &Input,
    shift: Option<Length>,
    (least, most): (Length, Length),
    by: Length,
    mut working: Working,
) -> Output {
    let mut moved = |step: &str, from: Length| {
        working.m(step, format!("{} + {} / 1000", m(from), mm(by)), from + by, FLOOR_DESIGN);
        from + by
    };
    let bearing = moved("bearing level that would follow", input.bearing_level_m.0);
    let finished = moved("finished floor that would follow", input.finished_floor_level_m.0);
    let threshold = finished - input.outside_ground_level_m.0;
    working.mm(
        "finished floor over the outside ground",
        format!("({} - {}) * 1000", m(finished), m(input.outside_ground_level_m.0)),
        threshold,
        FLOOR_DESIGN,
    );
    let mut findings = Vec::new();
    let void = input.least_void_mm.map(|void| {
        working.mm(
            "least void that would follow",
            format!("{} + {}", mm(void.0), mm(by)),
            void.0 + by,
            FLOOR_DESIGN,
        );
        void.0 + by
    });
    if let Some(void) = void.filter(|void| shift.is_some() && *void < input.required_void_mm.0) {
        findings.push(Finding::new(
            "void",
            Verdict::Nonconforming,
            format!(
                "the void would be {} mm, {} mm required",
                void.mm_text(1),
                input.required_void_mm.0.mm_text(1)
            ),
            FLOOR_DESIGN,
        ));
    }
    if shift.is_some_and(|shift| shift != Length::ZERO) {
        findings.push(Finding::caution(
            "the designer decides",
            "a shift moves the finished floor, thresholds, stairs and everything that hangs on them: for the designer to decide, in writing",
            COMMON_PRACTICE,
        ));
    }
    let verdict = match shift {
        None => Verdict::Nonconforming,
        Some(Length::ZERO) => Verdict::Conforming,
        Some(_) => Verdict::Undetermined,
    };
    Output {
        range_mm: shift.map(|_| Range { least: Mm(least), most: Mm(most) }),
        shift_mm: shift.map(Mm),
        bearing_level_m: Metres(bearing),
        finished_floor_level_m: Metres(finished),
        threshold_mm: Mm(threshold),
        least_void_mm: void.map(Mm),
        verdict,
        findings,
        working,
    }
}

fn check(input: &Input) -> Result<(), Faults> {
    let mut faults = Faults::new();
    refuse_too_many("/points", input.points.len(), MAX_POINTS, &mut faults);
    if input.points.is_empty() {
        faults.add("/points", "must have at least 1 item");
    }
    refuse_negative("/tolerance_plus_mm", input.tolerance_plus_mm.0, &mut faults);
    refuse_negative("/tolerance_minus_mm", input.tolerance_minus_mm.0, &mut faults);
    refuse_negative("/required_void_mm", input.required_void_mm.0, &mut faults);
    refuse_twins("/points", "point", input.points.iter().map(|point| point.point.as_str()), &mut faults);
    input.decision.check("/decision", &mut faults);
    faults.into_result(())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn input(levels_mm: &[i64], guard_mm: i64) -> Input {
        let at = |mm: i64| Metres(Length::from_mm(47_810 + mm));
        let points = levels_mm.iter().enumerate();
        Input {
            bearing_level_m: at(0),
            tolerance_plus_mm: Mm(Length::from_mm(5)),
            tolerance_minus_mm: Mm(Length::from_mm(10)),
            points: points
                .map(|(index, mm)| Point { point: format!("P{index}"), level_m: at(*mm) })
                .collect(),
            decision: if guard_mm == 0 {
                Decision::simple()
            } else {
                Decision::guarded(Length::from_mm(guard_mm))
            },
            finished_floor_level_m: Metres(Length::from_mm(48_150)),
            outside_ground_level_m: Metres(Length::from_mm(47_640)),
            required_void_mm: Mm(Length::from_mm(200)),
            least_void_mm: Some(Mm(Length::from_mm(201))),
        }
    }

    #[track_caller]
    fn expect(levels_mm: &[i64], guard_mm: i64, shift_mm: Option<i64>) {
        let output = reckon(&input(levels_mm, guard_mm)).unwrap();
        let found = output.shift_mm.map(|shift| shift.0);
        assert_eq!(found, shift_mm.map(Length::from_mm), "{levels_mm:?} guarded by {guard_mm}");
    }

    // Worked by hand with +5/−10: a bearing at d is accepted under shift s when −10 + U ≤ d − s ≤ 5 − U.
    #[test]
    fn the_least_shift_that_does_is_found_and_limits_are_closed() {
        expect(&[5, -10], 0, Some(0));
        expect(&[6, -4], 0, Some(1));
        expect(&[-11, -3], 0, Some(-1));
        // 15 apart is the whole width of the tolerance: one shift does, one millimetre more does not.
        expect(&[9, -6], 0, Some(4));
        expect(&[9, -7], 0, None);
        // Guarded by 3 the width is 9.
        expect(&[9, 0], 3, Some(7));
        expect(&[9, -1], 3, None);
        // Guarded by 8 nothing can be accepted at all.
        expect(&[0], 8, None);
    }

    #[test]
    fn what_moves_with_it_is_said_and_a_void_too_small_is_named() {
        let output = reckon(&input(&[-12, -3], 0)).unwrap();
        assert_eq!(output.shift_mm, Some(Mm(Length::from_mm(-2))));
        assert_eq!(output.finished_floor_level_m.0, Length::from_mm(48_148));
        assert_eq!(output.threshold_mm.0, Length::from_mm(508));
        assert_eq!(output.least_void_mm, Some(Mm(Length::from_mm(199))));
        assert_eq!(output.verdict, Verdict::Undetermined, "the designer decides");
        assert!(
            output.findings.iter().any(|one| one.rule == "void" && one.verdict == Verdict::Nonconforming)
        );
        // One millimetre less far: the void stands on its limit and holds.
        let output = reckon(&input(&[-11, -3], 0)).unwrap();
        assert!(output.findings.iter().all(|one| one.rule != "void"));
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 256, ..ProptestConfig::default() })]
        #[test]
        fn under_the_shift_every_bearing_is_accepted(levels in prop::collection::vec(-30_i64..30, 1..12)) {
            let own = input(&levels, 0);
            let output = reckon(&own).unwrap();
            let holds = |shift: i64| levels.iter().all(|level| (-10..=5).contains(&(level - shift)));
            match output.shift_mm {
                Some(shift) => {
                    let shift = shift.0.um() / 1_000;
                    prop_assert!(holds(shift));
                    prop_assert!((-shift.abs() + 1..shift.abs()).all(|nearer| !holds(nearer)));
                }
                None => prop_assert!((-60..60).all(|shift| !holds(shift))),
            }
        }
    }
}
