//! The reckonings: one computation of the trade each, plain input in, a verdict and its working out.
//!
//! The same functions serve the window, the paper and the command line; nothing is computed twice or elsewhere.
//! Each module has `Input`, `Output` and `reckon`; the list [`RECKONINGS`] is what the command line knows.
//! `RULES.md` beside this file says which rule comes from where and which test holds it.
//!
//! Never here: a default limit. Limits come with the input, from the floor design or its specification.

use std::collections::HashMap;
use std::fmt;
use std::str::FromStr;

use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

use crate::conformity::Verdict;
use crate::faults::{Faults, read_json};
use crate::working::Working;

pub mod bay_fit;
pub mod bearing;
pub mod build_up;
pub mod common_shift;
pub mod concrete_ticket;
pub mod cube_strength;
pub mod delivery;
pub mod evaporation;
pub mod flatness;
pub mod infill_cuts;
pub mod layer_order;
pub mod level_book;
pub mod limit;
pub mod maturity;
mod methods;
mod polygon;
pub mod pressure_test;
pub mod slip;
pub mod span_fit;
pub mod staff;
mod strength_class;
pub(crate) mod surface;
pub mod topping;
pub mod topping_forecast;
pub mod two_peg;
pub mod u_value;
pub mod ventilation;
pub mod void;

/// The most readings, points or lines in one input.
pub const MAX_POINTS: usize = 5_000;
/// The most vertices of an outline or a path, layers of a stack, or services.
pub const MAX_VERTICES: usize = 200;
/// The longest name, in characters.
pub const MAX_NAME: usize = 100;

/// The names of all reckonings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ReckoningName {
    BuildUp,
    TwoPeg,
    LevelBook,
    Bearing,
    CommonShift,
    Limit,
    Void,
    SpanFit,
    Ventilation,
    BayFit,
    InfillCuts,
    Delivery,
    LayerOrder,
    UValue,
    ToppingForecast,
    ConcreteTicket,
    PressureTest,
    Evaporation,
    Topping,
    Flatness,
    Maturity,
    CubeStrength,
}

impl ReckoningName {
    /// The name as written on the command line and in a plan of work.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::BuildUp => "build-up",
            Self::TwoPeg => "two-peg",
            Self::LevelBook => "level-book",
            Self::Bearing => "bearing",
            Self::CommonShift => "common-shift",
            Self::Limit => "limit",
            Self::Void => "void",
            Self::SpanFit => "span-fit",
            Self::Ventilation => "ventilation",
            Self::BayFit => "bay-fit",
            Self::InfillCuts => "infill-cuts",
            Self::Delivery => "delivery",
            Self::LayerOrder => "layer-order",
            Self::UValue => "u-value",
            Self::ToppingForecast => "topping-forecast",
            Self::ConcreteTicket => "concrete-ticket",
            Self::PressureTest => "pressure-test",
            Self::Evaporation => "evaporation",
            Self::Topping => "topping",
            Self::Flatness => "flatness",
            Self::Maturity => "maturity",
            Self::CubeStrength => "cube-strength",
        }
    }

    /// What can be done with it.
    pub fn reckoning(self) -> &'static Reckoning {
        RECKONINGS.iter().find(|reckoning| reckoning.name == self).expect("BUG: every name has its reckoning")
    }
}

impl fmt::Display for ReckoningName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// No reckoning has this name.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("no reckoning is called {0:?}")]
pub struct NoSuchReckoning(pub String);

impl FromStr for ReckoningName {
    type Err = NoSuchReckoning;
    fn from_str(text: &str) -> Result<Self, NoSuchReckoning> {
        RECKONINGS
            .iter()
            .map(|reckoning| reckoning.name)
            .find(|name| name.as_str() == text)
            .ok_or_else(|| NoSuchReckoning(text.to_owned()))
    }
}

/// One reckoning as the command line sees it: text in, text out.
#[derive(Debug)]
pub struct Reckoning {
    /// Its name.
    pub name: ReckoningName,
    /// What it answers, in one line.
    pub title: &'static str,
    run: fn(&str) -> Result<Reckoned, Faults>,
    schema: fn() -> Value,
}

/// What a reckoning gave.
#[derive(Debug, Clone, PartialEq)]
pub struct Reckoned {
    /// The output as JSON text, keys in the order of its type.
    pub text: String,
    /// The working inside it.
    pub working: Working,
}

impl Reckoning {
    /// Reckons from JSON text.
    pub fn reckon(&self, text: &str) -> Result<Reckoned, Faults> {
        (self.run)(text)
    }

    /// Reckons from JSON text to a JSON value.
    pub fn run(&self, text: &str) -> Result<Value, Faults> {
        let reckoned = (self.run)(text)?;
        Ok(serde_json::from_str(&reckoned.text).expect("BUG: what was written as JSON reads as JSON"))
    }

    /// JSON Schema (2020-12) of input and output.
    pub fn schema(&self) -> Value {
        (self.schema)()
    }
}

/// All reckonings in the order of work.
pub const RECKONINGS: &[Reckoning] = &[
    Reckoning {
        name: ReckoningName::BuildUp,
        title: "levels of every interface, from finished floor down to the highest ground allowed",
        run: |text| run_as(text, build_up::reckon, |output| &output.working),
        schema: || schema_as::<build_up::Input, build_up::Output>(ReckoningName::BuildUp),
    },
    Reckoning {
        name: ReckoningName::TwoPeg,
        title: "error of an instrument's line of sight, from two pegs",
        run: |text| run_as(text, two_peg::reckon, |output| &output.working),
        schema: || schema_as::<two_peg::Input, two_peg::Output>(ReckoningName::TwoPeg),
    },
    Reckoning {
        name: ReckoningName::LevelBook,
        title: "staff readings to levels, their checks, misclosure and suspected slips",
        run: |text| run_as(text, level_book::reckon, |output| &output.working),
        schema: || schema_as::<level_book::Input, level_book::Output>(ReckoningName::LevelBook),
    },
    Reckoning {
        name: ReckoningName::Bearing,
        title: "levels of the bearing walls against the level they are built to",
        run: |text| run_as(text, bearing::reckon, |output| &output.working),
        schema: || schema_as::<bearing::Input, bearing::Output>(ReckoningName::Bearing),
    },
    Reckoning {
        name: ReckoningName::CommonShift,
        title: "whether moving the whole floor up or down would bring every bearing within its limits",
        run: |text| run_as(text, common_shift::reckon, |output| &output.working),
        schema: || schema_as::<common_shift::Input, common_shift::Output>(ReckoningName::CommonShift),
    },
    Reckoning {
        name: ReckoningName::Limit,
        title: "one measured quantity against its limits",
        run: |text| run_as(text, limit::reckon, |output| &output.working),
        schema: || schema_as::<limit::Input, limit::Output>(ReckoningName::Limit),
    },
    Reckoning {
        name: ReckoningName::Void,
        title: "clear void between the ground and the lowest point of the floor",
        run: |text| run_as(text, void::reckon, |output| &output.working),
        schema: || schema_as::<void::Input, void::Output>(ReckoningName::Void),
    },
    Reckoning {
        name: ReckoningName::SpanFit,
        title: "as-built clears against the length of the beams, before one is lifted",
        run: |text| run_as(text, span_fit::reckon, |output| &output.working),
        schema: || schema_as::<span_fit::Input, span_fit::Output>(ReckoningName::SpanFit),
    },
    Reckoning {
        name: ReckoningName::Ventilation,
        title: "free area, sides and spacing of the vents, and a path to every compartment",
        run: |text| run_as(text, ventilation::reckon, |output| &output.working),
        schema: || schema_as::<ventilation::Input, ventilation::Output>(ReckoningName::Ventilation),
    },
    Reckoning {
        name: ReckoningName::BayFit,
        title: "setting-out of one bay run: make-up gap, spacing, order of beams and infill",
        run: |text| run_as(text, bay_fit::reckon, |output| &output.working),
        schema: || schema_as::<bay_fit::Input, bay_fit::Output>(ReckoningName::BayFit),
    },
    Reckoning {
        name: ReckoningName::InfillCuts,
        title: "pieces of every run of infill, and the cut list that takes the least stock",
        run: |text| run_as(text, infill_cuts::reckon, |output| &output.working),
        schema: || schema_as::<infill_cuts::Input, infill_cuts::Output>(ReckoningName::InfillCuts),
    },
    Reckoning {
        name: ReckoningName::Delivery,
        title: "delivery notes against the order, and what can be started with it",
        run: |text| run_as(text, delivery::reckon, |output| &output.working),
        schema: || schema_as::<delivery::Input, delivery::Output>(ReckoningName::Delivery),
    },
    Reckoning {
        name: ReckoningName::LayerOrder,
        title: "order of membranes, services and layers; gas pipes under a membrane",
        run: |text| run_as(text, layer_order::reckon, |output| &output.working),
        schema: || schema_as::<layer_order::Input, layer_order::Output>(ReckoningName::LayerOrder),
    },
    Reckoning {
        name: ReckoningName::UValue,
        title: "what the floor over its vented void lets through, from the labels of its layers",
        run: |text| run_as(text, u_value::reckon, |output| &output.working),
        schema: || schema_as::<u_value::Input, u_value::Output>(ReckoningName::UValue),
    },
    Reckoning {
        name: ReckoningName::ToppingForecast,
        title: "the topping that rail and beam tops leave, and what to order",
        run: |text| run_as(text, topping_forecast::reckon, |output| &output.working),
        schema: || {
            schema_as::<topping_forecast::Input, topping_forecast::Output>(ReckoningName::ToppingForecast)
        },
    },
    Reckoning {
        name: ReckoningName::ConcreteTicket,
        title: "a concrete ticket against what the pour asks for",
        run: |text| run_as(text, concrete_ticket::reckon, |output| &output.working),
        schema: || {
            schema_as::<concrete_ticket::Input, concrete_ticket::Output>(ReckoningName::ConcreteTicket)
        },
    },
    Reckoning {
        name: ReckoningName::PressureTest,
        title: "whether pipes held their pressure",
        run: |text| run_as(text, pressure_test::reckon, |output| &output.working),
        schema: || schema_as::<pressure_test::Input, pressure_test::Output>(ReckoningName::PressureTest),
    },
    Reckoning {
        name: ReckoningName::Evaporation,
        title: "water that fresh concrete loses to sun and wind, and what to do",
        run: |text| run_as(text, evaporation::reckon, |output| &output.working),
        schema: || schema_as::<evaporation::Input, evaporation::Output>(ReckoningName::Evaporation),
    },
    Reckoning {
        name: ReckoningName::Topping,
        title: "depths of the topping, its volume and the fibres in it",
        run: |text| run_as(text, topping::reckon, |output| &output.working),
        schema: || schema_as::<topping::Input, topping::Output>(ReckoningName::Topping),
    },
    Reckoning {
        name: ReckoningName::Flatness,
        title: "gaps under a straightedge, and levels of the finished floor",
        run: |text| run_as(text, flatness::reckon, |output| &output.working),
        schema: || schema_as::<flatness::Input, flatness::Output>(ReckoningName::Flatness),
    },
    Reckoning {
        name: ReckoningName::Maturity,
        title: "maturity and equivalent age of concrete from its temperatures",
        run: |text| run_as(text, maturity::reckon, |output| &output.working),
        schema: || schema_as::<maturity::Input, maturity::Output>(ReckoningName::Maturity),
    },
    Reckoning {
        name: ReckoningName::CubeStrength,
        title: "28-day cubes against the strength class",
        run: |text| run_as(text, cube_strength::reckon, |output| &output.working),
        schema: || schema_as::<cube_strength::Input, cube_strength::Output>(ReckoningName::CubeStrength),
    },
];

fn run_as<I, O>(
    text: &str,
    reckon: fn(&I) -> Result<O, Faults>,
    working: fn(&O) -> &Working,
) -> Result<Reckoned, Faults>
where
    I: DeserializeOwned + JsonSchema + 'static,
    O: Serialize,
{
    let output = reckon(&read_json::<I>(text)?)?;
    let text = serde_json::to_string_pretty(&output).expect("BUG: an output is plain data");
    Ok(Reckoned { text, working: working(&output).clone() })
}

/// Input and output in one schema; parts are written out in place, so that either can be used on its own.
fn schema_as<I: JsonSchema, O: JsonSchema>(name: ReckoningName) -> Value {
    let part = |for_output: bool| {
        let settings = SchemaSettings::draft2020_12().with(|settings| {
            settings.inline_subschemas = true;
            settings.meta_schema = None;
        });
        let generator = settings.into_generator();
        let schema = if for_output {
            generator.into_root_schema_for::<O>()
        } else {
            generator.into_root_schema_for::<I>()
        };
        schema.to_value()
    };
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": name.as_str(),
        "description": "The keyword `unit` says what a number measures; lengths are exact to the micrometre.",
        "type": "object",
        "properties": {"input": part(false), "output": part(true)},
    })
}

/// A rule that was looked at, and what came of it. A caution never changes the overall verdict.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Finding {
    /// The rule in words.
    pub rule: String,
    /// Whether it is kept; `conforming` for a caution.
    pub verdict: Verdict,
    /// Why.
    pub reason: String,
    /// A standard, `common practice` or `floor design`.
    pub source: String,
    /// Something to mind that decides nothing.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub caution: bool,
}

impl Finding {
    /// A rule kept, broken or open.
    pub fn new(rule: &str, verdict: Verdict, reason: impl Into<String>, source: &str) -> Self {
        Self {
            rule: rule.to_owned(),
            verdict,
            reason: reason.into(),
            source: source.to_owned(),
            caution: false,
        }
    }

    /// Something to mind.
    pub fn caution(rule: &str, reason: impl Into<String>, source: &str) -> Self {
        Self { caution: true, ..Self::new(rule, Verdict::Conforming, reason, source) }
    }

    /// The instrument's uncertainty leaves no reading that could be accepted (JCGM 106:2012).
    fn too_coarse(limit: &str) -> Self {
        Self::new(
            "instrument too coarse for this limit",
            Verdict::Undetermined,
            format!(
                "the uncertainty is more than half of {limit}, so no reading can be accepted: use a better instrument"
            ),
            crate::working::JCGM_106,
        )
    }
}

/// Verdicts of findings that decide something.
fn deciding(findings: &[Finding]) -> impl Iterator<Item = Verdict> {
    findings.iter().filter(|finding| !finding.caution).map(|finding| finding.verdict)
}

/// Names that stand twice, each at its second place: `/points/3/point`.
fn refuse_twins<'n>(list: &str, key: &str, names: impl Iterator<Item = &'n str>, faults: &mut Faults) {
    let mut first: HashMap<&str, usize> = HashMap::new();
    for (index, name) in names.enumerate() {
        if let Some(earlier) = first.get(name) {
            faults
                .add(format!("{list}/{index}/{key}"), format!("{name:?} stands already at {list}/{earlier}"));
        } else {
            first.insert(name, index);
        }
    }
}

/// More items than a reckoning takes: for inputs that were not read through the schema.
fn refuse_too_many(list: &str, count: usize, most: usize, faults: &mut Faults) {
    if count > most {
        faults.add(list, format!("must have at most {most} items"));
    }
}

/// A number outside of its closed range, or none at all.
fn refuse_outside(place: &str, value: crate::quantity::Real, least: f64, most: f64, faults: &mut Faults) {
    if !value.0.is_finite() {
        faults.add(place, "must be a finite number");
    } else if value.0 < least {
        faults.add(place, format!("must be at least {least}"));
    } else if most < value.0 {
        faults.add(place, format!("must be at most {most}"));
    }
}

/// A length that must be more than nothing.
fn refuse_nothing(place: &str, length: crate::quantity::Length, faults: &mut Faults) {
    if length <= crate::quantity::Length::ZERO {
        faults.add(place, "must be more than 0");
    }
}

/// A length that cannot be negative.
fn refuse_negative(place: &str, length: crate::quantity::Length, faults: &mut Faults) {
    if length < crate::quantity::Length::ZERO {
        faults.add(place, "must be at least 0");
    }
}

/// The age at which cubes decide, in days.
pub fn identity_age_days() -> u32 {
    methods::METHODS.identity_testing.age_days
}

#[cfg(test)]
mod evaluate;
#[cfg(test)]
mod tests;
