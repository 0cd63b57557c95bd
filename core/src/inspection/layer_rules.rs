//! What refuses a label or a pressure test.

use super::decide::{Refusal, check_text};
use super::fold::PlotRecord;
use super::layer_feeds;
use crate::entry::{LabelBooked, PressureTestBooked, Supersedes};
use crate::quantity::{Length, Real};
use crate::reckon::pressure_test;

/// The thickest layer that a label can be on: a bound of what can be, not a limit of conformity.
const THICKEST: Length = Length::from_mm(1_000);
/// The least and the greatest conductivity that the U-value takes.
const CONDUCTIVITY: (f64, f64) = (0.001, 1_000.0);

/// Checks that a label can be one.
pub(super) fn label(
    record: &PlotRecord,
    label: &LabelBooked,
    supersedes: Option<&Supersedes>,
) -> Result<(), Refusal> {
    check_text("what the label is on", &label.item)?;
    check_text("the grade", &label.grade)?;
    if let Some(batch) = &label.batch {
        check_text("the batch", batch)?;
    }
    if let Some(um) = label.thickness_um {
        let thickness = Length::from_um(um);
        if thickness <= Length::ZERO || thickness > THICKEST {
            return Err(Refusal::Absurd(format!(
                "{} mm cannot be the thickness of an overlay",
                thickness.to_mm_text()
            )));
        }
    }
    if let Some(text) = &label.conductivity {
        let found = Real::parse(text).map_err(|fault| Refusal::Text(format!("W_per_mK: {text}: {fault}")))?;
        if found.0 < CONDUCTIVITY.0 || found.0 > CONDUCTIVITY.1 {
            return Err(Refusal::Absurd(format!("{text} W/mK cannot be the conductivity of an overlay")));
        }
    }
    let standing = record.labels.iter().filter(|kept| kept.superseded.is_none());
    let same = standing.into_iter().find(|kept| kept.fact == *label);
    if same.is_some_and(|same| supersedes.is_none_or(|by| by.entry != same.noted.id)) {
        return Err(Refusal::Already("a label that says the same is booked already".to_owned()));
    }
    Ok(())
}

/// Checks that a pressure test can be one.
pub(super) fn pressure_test(
    record: &PlotRecord,
    test: &PressureTestBooked,
    supersedes: Option<&Supersedes>,
) -> Result<(), Refusal> {
    check_text("what was tested", &test.test)?;
    let standing = record.pressure_tests.iter().filter(|kept| kept.superseded.is_none());
    let same = standing.into_iter().find(|kept| kept.fact.test == test.test);
    if same.is_some_and(|same| supersedes.is_none_or(|by| by.entry != same.noted.id)) {
        let what = format!("the test of {} is booked already: a test made again takes its place", test.test);
        return Err(Refusal::Already(what));
    }
    let input = layer_feeds::pressure_test_input(record, test).map_err(Refusal::Text)?;
    pressure_test::reckon(&input).map(drop).map_err(Refusal::File)
}
