//! The working of a reckoning: steps that a reader can repeat by hand.
//!
//! A formula is arithmetic in numbers, in Python's syntax (`+ - * / ** ( )`, `sqrt`, `max`, `min`, `abs`, `sum`,
//! `ln`, `exp`, `ceil`, `round`, `pi`; `sum` adds up its terms, `round` goes to the nearest whole number, halves away
//! from zero), and its evaluation gives the step's value; the last step is the result; every step names its source.
//! Nothing is decided here.

use std::fmt::Write as _;
use std::str::FromStr;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Number;

use crate::quantity::{Area, Factor, Length, Volume};

/// Where a rule comes from when no standard says it.
pub const COMMON_PRACTICE: &str = "common practice";
/// Where a limit or a dimension comes from when the project says it.
pub const FLOOR_DESIGN: &str = "floor design";
/// Where decision rules come from.
pub const JCGM_106: &str = "JCGM 106:2012";
/// Where a plain sum or difference comes from.
pub const ARITHMETIC: &str = "arithmetic";

/// One step of a working.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// What is found, in words.
    pub step: String,
    /// Arithmetic in numbers whose evaluation gives `value`.
    pub formula: String,
    /// The value found.
    pub value: Number,
    /// Its unit, for example `mm` or `m2`; `1` for a plain number.
    pub unit: String,
    /// A standard, `common practice`, `floor design` or `arithmetic`.
    pub source: String,
}

impl Step {
    /// The value as it stands on screen and paper: at most six decimals, marked where it was cut. JSON keeps it
    /// whole.
    pub fn value_shown(&self) -> String {
        let whole = self.value.to_string();
        let long = whole.split_once('.').is_some_and(|(_, decimals)| decimals.len() > 6);
        match whole.parse::<f64>() {
            Ok(number) if long => {
                let rounded = format!("{number:.6}");
                let short = rounded.trim_end_matches('0').trim_end_matches('.');
                // A value that rounds to nothing is not nothing.
                if short.trim_start_matches('-') == "0" { whole } else { format!("≈ {short}") }
            }
            _ => whole,
        }
    }
}

/// Steps in the order in which they are taken; the last one is the result.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Working(pub Vec<Step>);

impl Working {
    /// No step yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// A step whose value is in millimetres.
    pub fn mm(&mut self, step: impl Into<String>, formula: impl Into<String>, value: Length, source: &str) {
        self.exact(step, formula, &value.to_mm_text(), "mm", source);
    }

    /// A step whose value is in metres.
    pub fn m(&mut self, step: impl Into<String>, formula: impl Into<String>, value: Length, source: &str) {
        self.exact(step, formula, &value.to_m_text(), "m", source);
    }

    /// A step whose value is in square millimetres.
    pub fn mm2(&mut self, step: impl Into<String>, formula: impl Into<String>, value: Area, source: &str) {
        self.exact(step, formula, &value.to_mm2_text(), "mm2", source);
    }

    /// A step whose value is in square metres.
    pub fn m2(&mut self, step: impl Into<String>, formula: impl Into<String>, value: Area, source: &str) {
        self.exact(step, formula, &value.to_m2_text(), "m2", source);
    }

    /// A step whose value is in cubic metres.
    pub fn m3(&mut self, step: impl Into<String>, formula: impl Into<String>, value: Volume, source: &str) {
        self.exact(step, formula, &value.to_m3_text(), "m3", source);
    }

    /// A step whose value is a plain number.
    pub fn plain(
        &mut self,
        step: impl Into<String>,
        formula: impl Into<String>,
        value: Factor,
        source: &str,
    ) {
        self.exact(step, formula, &value.to_text(), "1", source);
    }

    /// A step whose value is a count of things.
    pub fn count(&mut self, step: impl Into<String>, formula: impl Into<String>, value: u64, source: &str) {
        self.exact(step, formula, &value.to_string(), "1", source);
    }

    /// A step in binary floats (physics, probability, roots). A value that is not finite is left out.
    pub fn float(
        &mut self,
        step: impl Into<String>,
        formula: impl Into<String>,
        value: f64,
        unit: &str,
        source: &str,
    ) {
        if let Some(number) = Number::from_f64(value) {
            self.exact(step, formula, number.as_str(), unit, source);
        }
    }

    /// A step whose value is given as exact decimal text.
    fn exact(
        &mut self,
        step: impl Into<String>,
        formula: impl Into<String>,
        value: &str,
        unit: &str,
        source: &str,
    ) {
        self.0.push(Step {
            step: step.into(),
            formula: formula.into(),
            value: Number::from_str(value).expect("BUG: quantities print as JSON numbers"),
            unit: unit.to_owned(),
            source: source.to_owned(),
        });
    }

    /// The result: the last step.
    pub fn result(&self) -> Option<&Step> {
        self.0.last()
    }

    /// Readable text, one step a paragraph.
    pub fn to_text(&self) -> String {
        let mut text = String::new();
        for (index, step) in self.0.iter().enumerate() {
            let unit = match step.unit.as_str() {
                "1" => String::new(),
                "m2" => " m²".to_owned(),
                "mm2" => " mm²".to_owned(),
                "m3" => " m³".to_owned(),
                unit => format!(" {unit}"),
            };
            let _ = writeln!(text, "{}. {}", index + 1, step.step);
            let _ = writeln!(text, "   {} = {}{unit}", step.formula, step.value);
            let _ = writeln!(text, "   source: {}", step.source);
        }
        text
    }
}

/// A number as it may stand in a formula: negative ones in brackets, so that `a - b` stays what it says.
pub fn term(text: &str) -> String {
    bracketed(text.to_owned())
}

fn bracketed(text: String) -> String {
    if text.starts_with('-') { format!("({text})") } else { text }
}

/// A binary float as a term of a formula.
pub fn real(value: f64) -> String {
    term(&value.to_string())
}

/// Millimetres as a term of a formula.
pub fn mm(length: Length) -> String {
    bracketed(length.to_mm_text())
}

/// Metres as a term of a formula.
pub fn m(length: Length) -> String {
    bracketed(length.to_m_text())
}

/// A function of one or more terms, such as `min(1, 2)`; a single term needs no function, none is `0`.
pub fn of_many(function: &str, terms: &[String]) -> String {
    match terms {
        [] => "0".to_owned(),
        [one] => one.clone(),
        many => format!("{function}({})", many.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_names_step_formula_and_source() {
        let mut working = Working::new();
        working.mm("deviation", "(47.811 - 47.810) * 1000", Length::from_mm(1), ARITHMETIC);
        assert_eq!(
            working.to_text(),
            "1. deviation\n   (47.811 - 47.810) * 1000 = 1 mm\n   source: arithmetic\n"
        );
        assert_eq!(working.result().unwrap().value.as_str(), "1");
    }

    #[test]
    fn negative_terms_stand_in_brackets() {
        assert_eq!(mm(Length::from_mm(-3)), "(-3)");
        assert_eq!(of_many("min", &["1".into(), "(-2)".into()]), "min(1, (-2))");
    }
}
