//! Maturity: what a young concrete's temperatures are worth in time at the reference temperature.
//!
//! Physics in binary floats; temperatures run straight from reading to reading. It says when the project's own
//! target age is reached, never what load a floor may bear: that is the engineer's.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::methods::METHODS;
use super::{Finding, MAX_POINTS, refuse_outside, refuse_too_many};
use crate::conformity::Verdict;
use crate::faults::Faults;
use crate::quantity::Real;
use crate::working::{ARITHMETIC, Working, of_many, real};

mod gain;
#[cfg(test)]
mod tests;

use gain::{Rate, Stretch};

/// Terms of one step of the working; a longer sum is told in several steps.
const TERMS: usize = 50;
/// Terms of a whole sum that are told with their exponents; of a longer one only what each stretch gains is told.
const TOLD_IN_FULL: u32 = 10_000;

/// Temperatures of the concrete and how they are weighed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Readings in the order of time, the first one when the concrete was placed.
    #[schemars(length(max = MAX_POINTS))]
    pub temperatures: Vec<Reading>,
    /// Below this nothing is gained.
    #[serde(rename = "datum_C")]
    #[schemars(range(min = -50, max = 50))]
    pub datum: Real,
    /// The temperature that an equivalent hour has; ec2 has its own, 20 °C.
    #[serde(rename = "reference_C")]
    #[schemars(range(min = -50, max = 100))]
    pub reference: Real,
    /// How a temperature is weighed.
    pub model: Model,
    /// Activation energy over the gas constant; arrhenius needs it, the others don't use it.
    #[serde(rename = "activation_K", default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 10_000))]
    pub activation: Option<Real>,
    /// The equivalent age that the project waits for.
    #[schemars(range(min = 0, max = 100_000))]
    pub target_equivalent_age_h: Real,
}

/// One reading.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// When, in hours.
    #[schemars(range(min = 0, max = 100_000))]
    pub at_h: Real,
    /// The concrete's temperature.
    #[serde(rename = "concrete_C")]
    #[schemars(range(min = -50, max = 150))]
    pub concrete: Real,
}

/// How a temperature is weighed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Model {
    /// In proportion to its height above the datum.
    NurseSaul,
    /// By an activation energy.
    Arrhenius,
    /// As EN 1992-1-1 has it.
    Ec2,
}

/// Maturity and equivalent age.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// Degree hours above the datum.
    #[serde(rename = "maturity_C_h")]
    pub maturity: f64,
    /// Hours at the reference temperature that are worth the same.
    pub equivalent_age_h: f64,
    /// When the target was reached, on the clock of the readings; null when it was not.
    pub reached_at_h: Option<f64>,
    /// Time that the concrete spent below 5 °C.
    #[serde(rename = "hours_below_5_C")]
    pub hours_below_5: f64,
    /// Conforming once the target is reached, until then undetermined.
    pub verdict: Verdict,
    /// What else there is to say.
    pub findings: Vec<Finding>,
    /// The sums.
    pub working: Working,
}

/// Reckons maturity and equivalent age.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    check(input)?;
    let mut working = Working::new();
    let mut findings = Vec::new();
    let stretches = stretches(input);
    let degree_hours = Rate::degrees(input.datum.0);
    let maturity = sum_up(&stretches, &degree_hours, "maturity", "Ch", &mut working);
    let cold = METHODS.below_which_concrete_gains_little.concrete_c;
    let hours_below_5 = hours_below(&stretches, cold, &mut working);
    let rate = Rate::of(input);
    let equivalent_age_h = match input.model {
        Model::NurseSaul => {
            let age = maturity / (input.reference.0 - input.datum.0);
            let formula =
                format!("{} / ({} - {})", real(maturity), real(input.reference.0), real(input.datum.0));
            working.float("equivalent age", formula, age, "h", rate.source());
            age
        }
        Model::Arrhenius | Model::Ec2 => sum_up(&stretches, &rate, "equivalent age", "h", &mut working),
    };
    let reached_at_h = reached(input, &stretches, &rate, equivalent_age_h, &mut working);
    if reached_at_h.is_none() {
        findings.push(Finding::new(
            "the target age is reached",
            Verdict::Undetermined,
            format!(
                "{equivalent_age_h:.1} of {} equivalent hours so far: keep curing and read on",
                input.target_equivalent_age_h.0
            ),
            crate::working::FLOOR_DESIGN,
        ));
    }
    caution_on_cold(hours_below_5, cold, &mut findings);
    let verdict = if reached_at_h.is_some() { Verdict::Conforming } else { Verdict::Undetermined };
    Ok(Output { maturity, equivalent_age_h, reached_at_h, hours_below_5, verdict, findings, working })
}

/// What an hour at a temperature gains, in equivalent hours; nothing below the datum.
pub fn gain_an_hour(input: &Input, celsius: f64) -> f64 {
    if celsius < input.datum.0 { 0.0 } else { Rate::of(input).at(celsius).max(0.0) }
}

/// The equivalent age at every reading, for a curve: hours on the clock of the readings, then equivalent hours.
pub fn curve(input: &Input) -> Vec<(f64, f64)> {
    let rate = Rate::of(input);
    let mut age = 0.0;
    let mut curve: Vec<(f64, f64)> =
        input.temperatures.first().map(|one| (one.at_h.0, 0.0)).into_iter().collect();
    for stretch in stretches(input) {
        age += rate.over(&stretch, false).0;
        curve.push((stretch.to_h, age));
    }
    curve
}

fn caution_on_cold(hours: f64, cold: f64, findings: &mut Vec<Finding>) {
    if hours > 0.0 {
        findings.push(Finding::caution(
            "young concrete is kept warm",
            format!("{hours:.1} h below {cold} °C: it gains little strength there, and frost can ruin it"),
            &METHODS.below_which_concrete_gains_little.source,
        ));
    }
}

fn stretches(input: &Input) -> Vec<Stretch> {
    input
        .temperatures
        .windows(2)
        .map(|pair| Stretch {
            from_h: pair[0].at_h.0,
            to_h: pair[1].at_h.0,
            from_c: pair[0].concrete.0,
            to_c: pair[1].concrete.0,
        })
        .collect()
}

/// The sum of a rate over all stretches, told in steps of a few dozen terms.
fn sum_up(stretches: &[Stretch], rate: &Rate, what: &str, unit: &str, working: &mut Working) -> f64 {
    let mut total = 0.0;
    let mut terms = Vec::new();
    let mut parts = Vec::new();
    let mut part = 0.0;
    let in_full = stretches.iter().map(|stretch| rate.parts(stretch)).sum::<u32>() <= TOLD_IN_FULL;
    let tell = |terms: &mut Vec<String>, part: f64, parts: &mut Vec<String>, working: &mut Working| {
        if terms.is_empty() {
            return;
        }
        let step = format!("{what}: part {}", parts.len() + 1);
        working.float(step, of_many("sum", terms), part, unit, rate.source());
        parts.push(real(part));
        terms.clear();
    };
    for stretch in stretches {
        let (gained, formulas) = rate.over(stretch, in_full);
        total += gained;
        part += gained;
        if in_full {
            terms.extend(formulas);
        } else {
            terms.push(real(gained));
        }
        if terms.len() >= TERMS {
            tell(&mut terms, part, &mut parts, working);
            part = 0.0;
        }
    }
    tell(&mut terms, part, &mut parts, working);
    working.float(what, of_many("sum", &parts), total, unit, ARITHMETIC);
    total
}

fn hours_below(stretches: &[Stretch], cold: f64, working: &mut Working) -> f64 {
    let mut hours = 0.0;
    let mut terms = Vec::new();
    for stretch in stretches {
        let (below, formula) = stretch.hours_below(cold);
        hours += below;
        terms.extend(formula);
    }
    working.float(
        format!("time below {cold} °C"),
        of_many("sum", &terms),
        hours,
        "h",
        &METHODS.below_which_concrete_gains_little.source,
    );
    hours
}

/// When the equivalent age first came to its target.
fn reached(
    input: &Input,
    stretches: &[Stretch],
    rate: &Rate,
    age: f64,
    working: &mut Working,
) -> Option<f64> {
    let target = input.target_equivalent_age_h.0;
    let first = input.temperatures.first()?;
    let source = rate.source();
    if target <= 0.0 {
        working.float("target age reached at", real(first.at_h.0), first.at_h.0, "h", source);
        return Some(first.at_h.0);
    }
    let mut before = 0.0;
    for stretch in stretches {
        let gained = rate.over(stretch, false).0;
        if gained > 0.0 && target <= before + gained {
            let (from, lacking) = rate.last_step(stretch, target - before);
            let speed = rate.at(stretch.at(from));
            if speed <= 0.0 {
                working.float("target age reached at", real(from), from, "h", source);
                return Some(from);
            }
            // The last correction tells the answer: what lacks there over what an hour gains there.
            let at = (from + lacking / speed).clamp(stretch.from_h, stretch.to_h);
            let formula = format!(
                "max({}, min({}, {} + {} / {}))",
                real(stretch.from_h),
                real(stretch.to_h),
                real(from),
                real(lacking),
                real(speed)
            );
            working.float(
                "target age reached at: what still lacked at that hour, over what an hour gained there",
                formula,
                at,
                "h",
                source,
            );
            return Some(at);
        }
        before += gained;
    }
    // Sums in another order can end a rounding error short of the age that is reported.
    let last = input.temperatures.last()?;
    if target <= age {
        working.float("target age reached at", real(last.at_h.0), last.at_h.0, "h", source);
        return Some(last.at_h.0);
    }
    working.float(
        "equivalent hours that are still missing",
        format!("{} - {}", real(target), real(age)),
        target - age,
        "h",
        source,
    );
    None
}

fn check(input: &Input) -> Result<(), Faults> {
    let mut faults = Faults::new();
    refuse_too_many("/temperatures", input.temperatures.len(), MAX_POINTS, &mut faults);
    refuse_outside("/datum_C", input.datum, -50.0, 50.0, &mut faults);
    refuse_outside("/reference_C", input.reference, -50.0, 100.0, &mut faults);
    refuse_outside("/target_equivalent_age_h", input.target_equivalent_age_h, 0.0, 1e5, &mut faults);
    match (input.model, input.activation) {
        (Model::Arrhenius, None) => faults.add("/activation_K", "is missing: arrhenius needs it"),
        (_, Some(activation)) => refuse_outside("/activation_K", activation, 0.0, 1e4, &mut faults),
        _ => {}
    }
    if input.model == Model::NurseSaul && input.reference.0 <= input.datum.0 {
        faults.add("/reference_C", "must be more than datum_C");
    }
    let mut before: Option<f64> = None;
    for (index, reading) in input.temperatures.iter().enumerate() {
        let place = format!("/temperatures/{index}");
        refuse_outside(&format!("{place}/at_h"), reading.at_h, 0.0, 1e5, &mut faults);
        refuse_outside(&format!("{place}/concrete_C"), reading.concrete, -50.0, 150.0, &mut faults);
        if before.is_some_and(|before| reading.at_h.0 <= before) {
            faults.add(format!("{place}/at_h"), "must be later than the reading before it");
        }
        before = Some(reading.at_h.0);
    }
    faults.into_result(())
}
