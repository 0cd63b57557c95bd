//! Figures that published methods fix, read from `assets/methods.toml`, where each has its source.
//!
//! Never here: a limit of a project. Those come with the input.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::Deserialize;

use crate::quantity::Plain;

/// The figures of all methods.
pub(super) static METHODS: LazyLock<Methods> = LazyLock::new(|| {
    toml::from_str(include_str!("../../../assets/methods.toml"))
        .expect("BUG: the shipped file of methods reads")
});

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Methods {
    pub combined_method: CombinedMethod,
    pub below_which_concrete_gains_little: ColdConcrete,
    pub identity_testing: IdentityTesting,
    pub strength_classes: StrengthClasses,
    pub spot_sample: SpotSample,
}

/// The combined method for the resistance of layers side by side.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CombinedMethod {
    pub largest_ratio: f64,
    pub source: String,
    #[expect(dead_code, reason = "for the reader of the file")]
    known: String,
}

/// The temperature below which concrete gains little strength.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ColdConcrete {
    #[serde(rename = "concrete_C")]
    pub concrete_c: f64,
    pub source: String,
    #[expect(dead_code, reason = "for the reader of the file")]
    known: String,
}

/// Identity testing of cubes.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct IdentityTesting {
    pub age_days: u32,
    #[serde(deserialize_with = "plain")]
    pub largest_spread_percent: Plain,
    pub most_results: usize,
    #[serde(rename = "least_result_below_MPa", deserialize_with = "plain")]
    pub least_result_below: Plain,
    pub certified: Vec<Criterion>,
    pub uncertified: Vec<Criterion>,
    pub source: String,
    #[expect(dead_code, reason = "for the reader of the file")]
    known: String,
}

/// How far the mean of a group stands above the characteristic strength, from a number of results on.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Criterion {
    pub results_from: usize,
    /// None: a single result has no mean of its own.
    #[serde(rename = "mean_above_MPa", default, deserialize_with = "some_plain")]
    pub mean_above: Option<Plain>,
}

/// The strength classes of concrete and what suppliers call them.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct StrengthClasses {
    pub classes: Vec<String>,
    pub designated: BTreeMap<String, String>,
    pub source: String,
    #[expect(dead_code, reason = "for the reader of the file")]
    known: String,
}

/// Ranges of slump for a spot sample, least and most in millimetres.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SpotSample {
    pub slump_mm: BTreeMap<String, [i64; 2]>,
    pub source: String,
    #[expect(dead_code, reason = "for the reader of the file")]
    known: String,
}

/// Whole numbers only: they pass through no binary float.
fn plain<'de, D: serde::Deserializer<'de>>(deserializer: D) -> Result<Plain, D::Error> {
    i32::deserialize(deserializer).map(|number| Plain(crate::quantity::Factor::whole(number)))
}

fn some_plain<'de, D: serde::Deserializer<'de>>(deserializer: D) -> Result<Option<Plain>, D::Error> {
    plain(deserializer).map(Some)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shipped_figures_are_those_published() {
        let data: serde_json::Value =
            serde_json::from_str(include_str!("../../../tests/data/published/concrete.json")).unwrap();
        let classes = &data["strength_classes"];
        let published: Vec<&str> = classes["cylinder/cube"]
            .as_array()
            .unwrap()
            .iter()
            .map(|class| class.as_str().unwrap())
            .collect();
        assert_eq!(METHODS.strength_classes.classes[..published.len()], published);
        for (name, class) in &METHODS.strength_classes.designated {
            assert_eq!(classes["designated"][name], class.as_str());
        }
        let published = data["consistence"]["spot_sample_mm"].as_object().unwrap();
        assert_eq!(METHODS.spot_sample.slump_mm.len(), published.len());
        for (class, range) in &METHODS.spot_sample.slump_mm {
            assert_eq!(published[class], serde_json::json!(range));
        }
        let cold = data["temperature"]["concrete_at_delivery_least_C"].as_f64().unwrap();
        assert_eq!(METHODS.below_which_concrete_gains_little.concrete_c, cold);
    }
}
