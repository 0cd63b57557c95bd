//! Evaporation: how fast fresh concrete loses water to air and wind, and what to do about it.
//!
//! Formula of P. J. Uno (1998) after Menzel, in binary floats. The rate at which to act comes with the input.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Finding, deciding, refuse_outside};
use crate::conformity::Verdict;
use crate::faults::Faults;
use crate::quantity::Real;
use crate::working::{FLOOR_DESIGN, Working, real};

const UNO: &str = "P. J. Uno, ACI Materials Journal 95-M34 (1998)";
/// The formula raises °C + 18 to a power: below that it says nothing.
const COLDEST: f64 = -18.0;

/// Concrete, air and wind.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Temperature of the concrete's surface.
    #[serde(rename = "concrete_C")]
    #[schemars(range(min = -18, max = 100))]
    pub concrete: Real,
    /// Temperature of the air.
    #[serde(rename = "air_C")]
    #[schemars(range(min = -18, max = 100))]
    pub air: Real,
    /// Relative humidity of the air.
    #[schemars(range(min = 0, max = 100))]
    pub humidity_percent: Real,
    /// Wind over the surface.
    #[schemars(range(min = 0, max = 300))]
    pub wind_km_per_h: Real,
    /// The greatest rate at which nothing needs to be done.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100))]
    pub limit_kg_per_m2_h: Option<Real>,
}

/// The rate and what follows.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// Water lost, never below 0.
    pub rate_kg_per_m2_h: f64,
    /// Against the limit; undetermined without one.
    pub verdict: Verdict,
    /// What to do, when the rate is too high.
    pub advice: Vec<String>,
    /// What else there is to say.
    pub findings: Vec<Finding>,
    /// The sums.
    pub working: Working,
}

/// Reckons the rate of evaporation.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    check(input)?;
    let (concrete, air, wind) = (input.concrete.0, input.air.0, input.wind_km_per_h.0);
    let humidity = input.humidity_percent.0 / 100.0;
    let pressure = |celsius: f64| libm::pow(celsius + 18.0, 2.5);
    let rate = (5.0 * (pressure(concrete) - humidity * pressure(air)) * (wind + 4.0) / 1e6).max(0.0);
    let mut working = Working::new();
    working.float(
        "water that evaporates",
        format!(
            "max(0, 5 * (({} + 18) ** 2.5 - {} / 100 * ({} + 18) ** 2.5) * ({} + 4) / 1000000)",
            real(concrete),
            real(input.humidity_percent.0),
            real(air),
            real(wind)
        ),
        rate,
        "kg/m2h",
        UNO,
    );
    let mut findings = Vec::new();
    if let Some(Real(limit)) = input.limit_kg_per_m2_h {
        findings.push(Finding::new(
            "evaporation is at most what is allowed",
            Verdict::of(rate <= limit),
            format!("{rate:.3} kg/m²h, at most {limit} kg/m²h"),
            FLOOR_DESIGN,
        ));
    }
    let verdict = Verdict::overall(deciding(&findings));
    let advice = if verdict == Verdict::Nonconforming { advice() } else { Vec::new() };
    Ok(Output { rate_kg_per_m2_h: rate, verdict, advice, findings, working })
}

/// Common practice in hot, dry or windy weather, the quickest first.
fn advice() -> Vec<String> {
    [
        "Shield the surface from wind and sun before more concrete is placed.",
        "Keep the air above the surface moist with a fine fog spray; no water is added to the concrete.",
        "Cover the surface at once whenever finishing pauses, or spray an evaporation retarder.",
        "Start curing as soon as the surface is finished.",
        "Place smaller areas, or put the pour off to a cooler or calmer hour.",
        "Ask the producer for cooler concrete.",
    ]
    .map(str::to_owned)
    .to_vec()
}

fn check(input: &Input) -> Result<(), Faults> {
    let mut faults = Faults::new();
    refuse_outside("/concrete_C", input.concrete, COLDEST, 100.0, &mut faults);
    refuse_outside("/air_C", input.air, COLDEST, 100.0, &mut faults);
    refuse_outside("/humidity_percent", input.humidity_percent, 0.0, 100.0, &mut faults);
    refuse_outside("/wind_km_per_h", input.wind_km_per_h, 0.0, 300.0, &mut faults);
    if let Some(limit) = input.limit_kg_per_m2_h {
        refuse_outside("/limit_kg_per_m2_h", limit, 0.0, 100.0, &mut faults);
    }
    faults.into_result(())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::reckon::tests::repeat;
    use crate::record::canonical::tests::fixed;

    fn weather(concrete: f64, air: f64, humidity: f64, wind: f64) -> Input {
        Input {
            concrete: Real(concrete),
            air: Real(air),
            humidity_percent: Real(humidity),
            wind_km_per_h: Real(wind),
            limit_kg_per_m2_h: None,
        }
    }

    /// tests/data/published/concrete.json, evaporation: the formula's values to three decimals.
    #[test]
    fn the_published_points_agree() {
        let data: serde_json::Value =
            serde_json::from_str(include_str!("../../../tests/data/published/concrete.json")).unwrap();
        let points = data["evaporation"]["points"].as_array().unwrap();
        assert!(!points.is_empty());
        for point in points {
            let number = |key: &str| point[key].as_f64().unwrap();
            let output =
                reckon(&weather(number("Tc"), number("Ta"), number("r") * 100.0, number("V"))).unwrap();
            assert!((output.rate_kg_per_m2_h - number("rate")).abs() <= 0.000_5, "{output:?}");
            assert_eq!((output.verdict, output.advice.len()), (Verdict::Undetermined, 0));
            repeat(&output.working);
        }
    }

    /// The limit of the published file, and floats just beside the rate itself.
    #[test]
    fn a_rate_on_its_limit_conforms() {
        let mut input = weather(30.0, 25.0, 50.0, 20.0);
        let rate = reckon(&input).unwrap().rate_kg_per_m2_h;
        for (limit, verdict) in [
            (rate.next_down(), Verdict::Nonconforming),
            (rate, Verdict::Conforming),
            (rate.next_up(), Verdict::Conforming),
            (0.9765, Verdict::Nonconforming),
        ] {
            input.limit_kg_per_m2_h = Some(Real(limit));
            let output = reckon(&input).unwrap();
            assert_eq!(output.verdict, verdict, "{limit}");
            assert_eq!(output.advice.is_empty(), verdict == Verdict::Conforming);
        }
    }

    #[test]
    fn moist_air_over_cold_concrete_takes_no_water() {
        let output = reckon(&weather(5.0, 30.0, 100.0, 40.0)).unwrap();
        assert_eq!(output.rate_kg_per_m2_h, 0.0);
        repeat(&output.working);
    }

    #[test]
    fn what_cannot_be_is_refused_by_place() {
        let mut input = weather(-18.1, 101.0, 100.1, -0.1);
        input.limit_kg_per_m2_h = Some(Real(f64::NAN));
        assert_eq!(
            reckon(&input).unwrap_err().to_string(),
            "/concrete_C: must be at least -18\n/air_C: must be at most 100\n\
             /humidity_percent: must be at most 100\n/wind_km_per_h: must be at least 0\n\
             /limit_kg_per_m2_h: must be a finite number"
        );
    }

    proptest! {
        #![proptest_config(fixed(200))]
        #[test]
        fn drier_or_windier_air_never_takes_less(
            concrete in -18.0..100.0, air in -18.0..100.0, humidity in 0.0..99.0, wind in 0.0..299.0
        ) {
            let rate = |humidity, wind| {
                let output = reckon(&weather(concrete, air, humidity, wind)).unwrap();
                repeat(&output.working);
                output.rate_kg_per_m2_h
            };
            let one = rate(humidity, wind);
            prop_assert!(0.0 <= one);
            prop_assert!(one <= rate(humidity * 0.9, wind) + 1e-12);
            prop_assert!(one <= rate(humidity, wind + 1.0) + 1e-12);
        }
    }
}
