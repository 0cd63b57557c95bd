//! Cube strength: 28-day cubes against the strength class, as identity testing does (BS EN 206).
//!
//! A result is the mean of one sample's cubes. Compared in whole numbers throughout: a mean on its limit conforms.
//! It judges whether the concrete belongs to the class that was ordered, never whether a floor is safe.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::methods::METHODS;
use super::strength_class::{self, StrengthClass};
use super::{Finding, MAX_NAME, deciding, refuse_too_many, refuse_twins};
use crate::conformity::Verdict;
use crate::faults::Faults;
use crate::quantity::{Factor, Plain};
use crate::working::{Working, of_many};

mod groups;
#[cfg(test)]
mod tests;

/// The most samples.
const MAX_SAMPLES: usize = 1_000;
/// The most cubes of one sample.
const MAX_CUBES: usize = 12;
/// The most cubes of one sample, as people count them.
pub const MOST_CUBES: u32 = 12;
/// Every count of cubes up to [`MAX_CUBES`] divides it, so means are whole numbers of 1/27720 of a millionth.
const SHARES: i64 = 27_720;
/// Stronger than any concrete.
const STRONGEST: i32 = 500;

/// Cubes and the class they are held against.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// `C20/25`, a designated mix such as `GEN3`, or a bare `C20`, which is judged under all that it can mean.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub strength_class: String,
    /// Whether the producer's control of production is certified.
    pub certified: bool,
    /// Samples in the order in which they were taken.
    #[schemars(length(max = MAX_SAMPLES))]
    pub samples: Vec<Sample>,
}

/// Cubes made of one sample.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sample {
    /// Its name, once in a sheet.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub sample: String,
    /// Age at test.
    #[schemars(range(min = 0, max = 10_000))]
    pub age_days: u32,
    /// Strength of each cube.
    #[serde(rename = "cubes_MPa")]
    #[schemars(length(min = 1, max = MAX_CUBES), inner(range(min = 0, max = STRONGEST)))]
    pub cubes: Vec<Plain>,
}

/// Results and what they come to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// In the order of the input.
    pub results: Vec<SampleResult>,
    /// Mean of the results that count; null without one.
    #[serde(rename = "mean_MPa")]
    pub mean: Option<f64>,
    /// The least of them.
    #[serde(rename = "least_MPa")]
    pub least: Option<f64>,
    /// Every criterion, group by group and for every class that the name can mean.
    pub criteria: Vec<Criterion>,
    /// Any nonconforming, else any undetermined or no result, else conforming; undetermined where it hangs on what a
    /// bare class means.
    pub verdict: Verdict,
    /// What else there is to say.
    pub findings: Vec<Finding>,
    /// The sums.
    pub working: Working,
}

/// One sample's result.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SampleResult {
    /// Its name.
    pub sample: String,
    /// Age at test.
    pub age_days: u32,
    /// Mean of its cubes.
    #[serde(rename = "mean_MPa")]
    pub mean: f64,
    /// Largest less smallest cube, as a part of the mean; 0 when all cubes are 0.
    pub spread_percent: f64,
    /// Whether it counts: of the right age, and its cubes agree.
    pub counts: bool,
}

/// One criterion met or not.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Criterion {
    /// The class it is judged under.
    pub strength_class: String,
    /// Samples of the group.
    pub samples: Vec<String>,
    /// `mean` or `least`.
    pub of: Of,
    /// What it must reach.
    #[serde(rename = "limit_MPa")]
    pub limit: Plain,
    /// What it is.
    #[serde(rename = "found_MPa")]
    pub found: f64,
    /// Whether it reaches it.
    pub verdict: Verdict,
    /// Where the criterion comes from.
    pub source: String,
}

/// What a criterion looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Of {
    Mean,
    Least,
}

/// A result that counts: the mean of a sample's cubes in whole shares of a millionth MPa.
struct Counted<'i> {
    sample: &'i Sample,
    shares: i64,
}

/// Judges cubes.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    check(input)?;
    let method = &METHODS.identity_testing;
    let mut working = Working::new();
    let mut findings = Vec::new();
    let classes = strength_class::readings(&input.strength_class);
    for class in &classes {
        working.plain(
            format!("{}: characteristic strength of cubes, in MPa", class.name),
            class.cube.to_text(),
            class.cube,
            &METHODS.strength_classes.source,
        );
    }
    let mut counted = Vec::new();
    let mut results = Vec::new();
    for sample in &input.samples {
        let agrees = cubes_agree(sample, method.largest_spread_percent.0);
        let right_age = sample.age_days == method.age_days;
        results.push(result(sample, agrees && right_age, &mut working));
        if right_age && agrees {
            counted.push(Counted { sample, shares: mean_shares(sample) });
        } else if right_age {
            findings.push(Finding::caution(
                "cubes of one sample agree",
                format!(
                    "{}: its cubes spread over more than {} % of their mean, so the sample is thrown out; look for the reason",
                    sample.sample,
                    method.largest_spread_percent.0.to_text()
                ),
                &method.source,
            ));
        }
    }
    if counted.is_empty() {
        findings.push(Finding::new(
            "there are results",
            Verdict::Undetermined,
            format!("no result of {} days counts", method.age_days),
            &method.source,
        ));
    }
    let (mean, least) = mean_and_least(&counted, &mut working);
    let mut criteria = Vec::new();
    let mut verdicts = Vec::new();
    for class in &classes {
        let (of_class, verdict) =
            groups::judge(&counted, class, input.certified, &mut findings, &mut working);
        criteria.extend(of_class);
        verdicts.push(verdict);
    }
    let agreed = verdicts.first().copied().filter(|first| verdicts.iter().all(|verdict| verdict == first));
    if agreed.is_none() {
        findings.push(ambiguous(&input.strength_class, &classes));
    }
    let verdict = agreed.unwrap_or(Verdict::Undetermined);
    Ok(Output { results, mean, least, criteria, verdict, findings, working })
}

fn ambiguous(name: &str, classes: &[StrengthClass]) -> Finding {
    let names: Vec<&str> = classes.iter().map(|class| class.name.as_str()).collect();
    Finding::new(
        "the strength class says what it means",
        Verdict::Undetermined,
        format!(
            "{name} can mean {}, and the cubes do not come to the same under each: ask the designer which is meant",
            names.join(" or ")
        ),
        &METHODS.strength_classes.source,
    )
}

fn sum(sample: &Sample) -> i64 {
    sample.cubes.iter().map(|cube| cube.0.millionths()).sum()
}

fn cubes(sample: &Sample) -> i64 {
    i64::try_from(sample.cubes.len()).expect("BUG: cubes are few")
}

/// The mean of a sample's cubes, exactly.
fn mean_shares(sample: &Sample) -> i64 {
    sum(sample) * (SHARES / cubes(sample))
}

/// Largest less smallest cube in millionths of a MPa.
fn spread(sample: &Sample) -> i64 {
    let strengths = || sample.cubes.iter().map(|cube| cube.0.millionths());
    strengths().max().unwrap_or_default() - strengths().min().unwrap_or_default()
}

/// The spread is at most this part of the mean: spread · n · 100 ≤ percent · sum.
fn cubes_agree(sample: &Sample, percent: Factor) -> bool {
    let spread = i128::from(spread(sample)) * i128::from(cubes(sample)) * 100 * 1_000_000;
    spread <= i128::from(percent.millionths()) * i128::from(sum(sample))
}

#[expect(clippy::cast_precision_loss, reason = "for reading only; limits meet the whole numbers")]
fn as_mpa(shares: i64, count: i64) -> f64 {
    shares as f64 / (count * SHARES) as f64 / 1e6
}

fn texts(sample: &Sample) -> Vec<String> {
    sample.cubes.iter().map(|cube| cube.0.to_text()).collect()
}

fn result(sample: &Sample, counts: bool, working: &mut Working) -> SampleResult {
    let source = &METHODS.identity_testing.source;
    let mean = as_mpa(mean_shares(sample), 1);
    let terms = texts(sample);
    let formula = format!("({}) / {}", of_many("sum", &terms), terms.len());
    working.float(
        format!("{}: mean of its cubes at {} days", sample.sample, sample.age_days),
        &formula,
        mean,
        "MPa",
        source,
    );
    let spread_percent =
        if mean > 0.0 { Factor::from_millionths(spread(sample)).to_f64() / mean * 100.0 } else { 0.0 };
    if terms.len() > 1 && mean > 0.0 {
        let formula =
            format!("({} - {}) / ({formula}) * 100", of_many("max", &terms), of_many("min", &terms));
        working.float(
            format!("{}: spread of its cubes", sample.sample),
            formula,
            spread_percent,
            "%",
            source,
        );
    }
    SampleResult { sample: sample.sample.clone(), age_days: sample.age_days, mean, spread_percent, counts }
}

fn mean_and_least(counted: &[Counted<'_>], working: &mut Working) -> (Option<f64>, Option<f64>) {
    let Some(least) = counted.iter().map(|result| result.shares).min() else {
        return (None, None);
    };
    let count = i64::try_from(counted.len()).expect("BUG: samples are few");
    let mean = as_mpa(counted.iter().map(|result| result.shares).sum(), count);
    let least = as_mpa(least, 1);
    let terms = groups::terms(counted);
    let source = &METHODS.identity_testing.source;
    let formula = format!("({}) / {count}", of_many("sum", &terms));
    working.float("mean of the results that count", formula, mean, "MPa", source);
    working.float("least of them", of_many("min", &terms), least, "MPa", source);
    (Some(mean), Some(least))
}

fn check(input: &Input) -> Result<(), Faults> {
    let mut faults = Faults::new();
    if strength_class::readings(&input.strength_class).is_empty() {
        faults.add("/strength_class", "must be a strength class such as C20/25, GEN3 or RC20/25");
    }
    refuse_too_many("/samples", input.samples.len(), MAX_SAMPLES, &mut faults);
    refuse_twins(
        "/samples",
        "sample",
        input.samples.iter().map(|sample| sample.sample.as_str()),
        &mut faults,
    );
    for (index, sample) in input.samples.iter().enumerate() {
        let place = format!("/samples/{index}/cubes_MPa");
        if sample.cubes.is_empty() {
            faults.add(&place, "must have at least 1 item");
        }
        refuse_too_many(&place, sample.cubes.len(), MAX_CUBES, &mut faults);
        for (number, cube) in sample.cubes.iter().enumerate() {
            if cube.0 < Factor::whole(0) || Factor::whole(STRONGEST) < cube.0 {
                faults.add(format!("{place}/{number}"), format!("must lie within 0 and {STRONGEST}"));
            }
        }
    }
    faults.into_result(())
}
