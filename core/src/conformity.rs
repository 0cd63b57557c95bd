//! Where a measured value meets a limit: the only place that decides it (JCGM 106:2012).
//!
//! Limits are closed intervals, compared with `<` and `<=` on whole micrometres. The probability is a normal
//! distribution in binary floats; it informs and never decides. No input or output, no clock.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::faults::Faults;
use crate::quantity::{Factor, Length, Mm, Plain};

/// What a check comes to, in the words of ISO 9000 (`conformity`); `undetermined` when the uncertainty straddles
/// the limit, evidence is missing, or the method does not apply.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(inline)]
pub enum Verdict {
    Conforming,
    Nonconforming,
    Undetermined,
}

impl Verdict {
    /// Many verdicts as one: any nonconforming → nonconforming; else any undetermined, or none at all →
    /// undetermined; else conforming.
    pub fn overall(verdicts: impl IntoIterator<Item = Self>) -> Self {
        let mut overall = None;
        for verdict in verdicts {
            overall = Some(match (overall, verdict) {
                (Some(Self::Nonconforming), _) | (_, Self::Nonconforming) => Self::Nonconforming,
                (Some(Self::Undetermined), _) | (_, Self::Undetermined) => Self::Undetermined,
                _ => Self::Conforming,
            });
        }
        overall.unwrap_or(Self::Undetermined)
    }

    /// Conforming when true, else nonconforming.
    pub fn of(holds: bool) -> Self {
        if holds { Self::Conforming } else { Self::Nonconforming }
    }

    /// The word as written in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Self::Conforming => "conforming",
            Self::Nonconforming => "nonconforming",
            Self::Undetermined => "undetermined",
        }
    }
}

impl std::fmt::Display for Verdict {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.word())
    }
}

/// A closed interval of conforming values, `least ≤ x ≤ most`; a side that is `None` is open-ended.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Limits {
    /// The least conforming value.
    pub least: Option<Length>,
    /// The greatest conforming value.
    pub most: Option<Length>,
}

impl Limits {
    /// `least ≤ x ≤ most`.
    pub fn between(least: Length, most: Length) -> Self {
        Self { least: Some(least), most: Some(most) }
    }

    /// `least ≤ x`.
    pub fn at_least(least: Length) -> Self {
        Self { least: Some(least), most: None }
    }

    /// `x ≤ most`.
    pub fn at_most(most: Length) -> Self {
        Self { least: None, most: Some(most) }
    }

    /// True when neither side is given: then nothing can be decided.
    pub fn is_open(&self) -> bool {
        self.least.is_none() && self.most.is_none()
    }

    /// `least ≤ value ≤ most`.
    pub fn hold(&self, value: Length) -> bool {
        self.least.is_none_or(|least| least <= value) && self.most.is_none_or(|most| value <= most)
    }

    /// Distance from the value to the nearest side, positive inside; `None` without a side.
    pub fn margin(&self, value: Length) -> Option<Length> {
        let below = self.least.map(|least| value - least);
        let above = self.most.map(|most| most - value);
        match (below, above) {
            (Some(below), Some(above)) => Some(below.min(above)),
            (one, other) => one.or(other),
        }
    }
}

/// How the uncertainty is taken into account.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(inline)]
pub enum Rule {
    Simple,
    Guarded,
}

/// The decision rule (JCGM 106:2012): `{"rule": …, "expanded_uncertainty_mm": U, "coverage_factor": k}`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Decision {
    /// Simple acceptance, or guarded by the uncertainty.
    pub rule: Rule,
    /// Expanded uncertainty U of one reading, not negative.
    #[serde(rename = "expanded_uncertainty_mm")]
    #[schemars(with = "Mm", range(min = 0))]
    #[serde(with = "as_mm")]
    pub expanded_uncertainty: Length,
    /// The coverage factor k that U was expanded with, above 0; the standard uncertainty is U / k.
    #[schemars(with = "Plain", extend("exclusiveMinimum" = 0))]
    #[serde(with = "as_plain")]
    pub coverage_factor: Factor,
}

impl Decision {
    /// Simple acceptance of values taken as exact.
    pub fn simple() -> Self {
        Self { rule: Rule::Simple, expanded_uncertainty: Length::ZERO, coverage_factor: Factor::whole(2) }
    }

    /// Guarded by U with k = 2.
    pub fn guarded(expanded_uncertainty: Length) -> Self {
        Self { rule: Rule::Guarded, expanded_uncertainty, coverage_factor: Factor::whole(2) }
    }

    /// The same rule for a difference of two readings: √2 · U.
    #[must_use]
    pub fn of_difference(&self) -> Self {
        Self { expanded_uncertainty: self.expanded_uncertainty.times_sqrt2(), ..*self }
    }

    /// U under the guarded rule, 0 under the simple one.
    pub fn guard(&self) -> Length {
        match self.rule {
            Rule::Simple => Length::ZERO,
            Rule::Guarded => self.expanded_uncertainty,
        }
    }

    /// Names a negative uncertainty or a coverage factor that is not above 0, under `place`.
    pub fn check(&self, place: &str, faults: &mut Faults) {
        if self.expanded_uncertainty < Length::ZERO {
            faults.add(format!("{place}/expanded_uncertainty_mm"), "must be at least 0");
        }
        if self.coverage_factor <= Factor::whole(0) {
            faults.add(format!("{place}/coverage_factor"), "must be more than 0");
        }
    }
}

/// What [`judge`] says of one value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judgement {
    /// The verdict under the decision rule.
    pub verdict: Verdict,
    /// Chance that the measured thing lies within the limits, 0 to 1; `None` without a limit.
    pub probability_conforming: Option<f64>,
    /// Signed distance to the nearest limit, positive inside; `None` without a limit.
    pub margin: Option<Length>,
    /// Signed distance to the nearest acceptance limit, positive inside; `None` without a limit.
    pub acceptance_margin: Option<Length>,
    /// The uncertainty leaves nothing that could be accepted.
    pub too_coarse: bool,
}

/// The limits that a reading must keep to be accepted: drawn in by U under the guarded rule. They may cross.
pub fn acceptance(limits: &Limits, decision: &Decision) -> Limits {
    let guard = decision.guard();
    Limits { least: limits.least.map(|least| least + guard), most: limits.most.map(|most| most - guard) }
}

/// True when acceptance limits cross: no reading with this instrument can be accepted.
pub fn too_coarse(limits: &Limits, decision: &Decision) -> bool {
    let accepted = acceptance(limits, decision);
    matches!((accepted.least, accepted.most), (Some(least), Some(most)) if most < least)
}

/// Judges one value. Without a limit it is undetermined.
pub fn judge(value: Length, limits: &Limits, decision: &Decision) -> Judgement {
    let accepted = acceptance(limits, decision);
    let guard = decision.guard();
    let rejected = limits.least.is_some_and(|least| value < least - guard)
        || limits.most.is_some_and(|most| most + guard < value);
    let verdict = if limits.is_open() {
        Verdict::Undetermined
    } else if accepted.hold(value) {
        Verdict::Conforming
    } else if rejected || decision.rule == Rule::Simple {
        Verdict::Nonconforming
    } else {
        Verdict::Undetermined
    };
    Judgement {
        verdict,
        probability_conforming: probability(value, limits, decision),
        margin: limits.margin(value),
        acceptance_margin: accepted.margin(value),
        too_coarse: too_coarse(limits, decision),
    }
}

/// Φ((most − y)/u) − Φ((least − y)/u), u = U / k (JCGM 106:2012); 1 or 0 when U = 0; one-sided limits drop a term.
pub fn probability(value: Length, limits: &Limits, decision: &Decision) -> Option<f64> {
    if limits.is_open() {
        return None;
    }
    if decision.expanded_uncertainty <= Length::ZERO {
        return Some(if limits.hold(value) { 1.0 } else { 0.0 });
    }
    let standard = decision.expanded_uncertainty.to_mm_f64() / decision.coverage_factor.to_f64();
    let z = |limit: Length| (limit - value).to_mm_f64() / standard;
    Some(normal_between(limits.least.map(z), limits.most.map(z)))
}

/// Chance that a standard normal variable lies between two bounds, each open-ended when `None`.
fn normal_between(low: Option<f64>, high: Option<f64>) -> f64 {
    let chance = match (low, high) {
        (None, None) => 1.0,
        (None, Some(high)) => lower_tail(high),
        (Some(low), None) => lower_tail(-low),
        // Above the middle both tails are near 1 and their difference would lose digits: mirror it.
        (Some(low), Some(high)) if low > 0.0 => lower_tail(-low) - lower_tail(-high),
        (Some(low), Some(high)) => lower_tail(high) - lower_tail(low),
    };
    chance.clamp(0.0, 1.0)
}

/// Φ(z).
fn lower_tail(z: f64) -> f64 {
    0.5 * libm::erfc(-z / core::f64::consts::SQRT_2)
}

/// Serde form of a [`Length`] field whose key ends in `_mm`.
pub(crate) mod as_mm {
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    use crate::quantity::{Length, Mm};

    #[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands references")]
    pub fn serialize<S: Serializer>(length: &Length, serializer: S) -> Result<S::Ok, S::Error> {
        Mm(*length).serialize(serializer)
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Length, D::Error> {
        Mm::deserialize(deserializer).map(|mm| mm.0)
    }
}

/// Serde form of a [`Factor`].
mod as_plain {
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    use crate::quantity::{Factor, Plain};

    #[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands references")]
    pub fn serialize<S: Serializer>(factor: &Factor, serializer: S) -> Result<S::Ok, S::Error> {
        Plain(*factor).serialize(serializer)
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Factor, D::Error> {
        Plain::deserialize(deserializer).map(|plain| plain.0)
    }
}

#[cfg(test)]
mod tests;
