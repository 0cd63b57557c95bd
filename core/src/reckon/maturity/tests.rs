use proptest::prelude::*;

use super::*;
use crate::reckon::tests::repeat;
use crate::record::canonical::tests::fixed;

fn sheet(model: Model, datum: f64, target: f64, readings: &[(f64, f64)]) -> Input {
    Input {
        temperatures: readings
            .iter()
            .map(|(at, celsius)| Reading { at_h: Real(*at), concrete: Real(*celsius) })
            .collect(),
        datum: Real(datum),
        reference: Real(20.0),
        model,
        activation: (model == Model::Arrhenius).then_some(Real(5_000.0)),
        target_equivalent_age_h: Real(target),
    }
}

fn published() -> serde_json::Value {
    serde_json::from_str(include_str!("../../../../tests/data/published/concrete.json")).unwrap()
}

#[track_caller]
fn near(found: f64, expect: f64, tolerance: f64) {
    assert!((found - expect).abs() <= tolerance, "{found}, not {expect}");
}

/// tests/data/published/concrete.json, maturity: a textbook example and two trapezoid sums.
#[test]
fn the_published_maturities_agree() {
    let data = published();
    let cases = data["maturity"].as_array().unwrap();
    assert_eq!(cases.len(), 3);
    for case in cases {
        let datum = case["datum_C"].as_f64().unwrap();
        let (readings, expect) = match case["C_every_4_h"].as_array() {
            Some(readings) => (
                (0_u32..).zip(readings).map(|(i, c)| (4.0 * f64::from(i), c.as_f64().unwrap())).collect(),
                case["C_h"].as_f64().unwrap(),
            ),
            None => (
                [0.0, 24.0 * case["days"].as_f64().unwrap()]
                    .map(|at| (at, case["C"].as_f64().unwrap()))
                    .to_vec(),
                24.0 * case["C_days"].as_f64().unwrap(),
            ),
        };
        let output = reckon(&sheet(Model::NurseSaul, datum, 1e5, &readings)).unwrap();
        near(output.maturity, expect, 1e-9);
        near(output.equivalent_age_h, expect / (20.0 - datum), 1e-9);
        repeat(&output.working);
    }
}

/// tests/data/published/concrete.json, equivalent age: the factor of EN 1992-1-1 to four decimals.
#[test]
fn the_published_factors_of_en_1992_agree() {
    let data = published();
    let factors = data["equivalent_age"]["factor_at_C"].as_object().unwrap();
    assert_eq!(factors.len(), 6);
    for (celsius, factor) in factors {
        let celsius: f64 = celsius.parse().unwrap();
        let output = reckon(&sheet(Model::Ec2, -10.0, 1e5, &[(0.0, celsius), (10.0, celsius)])).unwrap();
        near(output.equivalent_age_h / 10.0, factor.as_f64().unwrap(), 0.000_05);
        repeat(&output.working);
    }
}

/// The sum over a long slope against one that takes a reading every hundredth of a degree.
#[test]
fn a_long_slope_is_summed_as_finely_as_it_needs() {
    for model in [Model::Ec2, Model::Arrhenius, Model::NurseSaul] {
        let coarse = reckon(&sheet(model, -10.0, 1e5, &[(0.0, 60.0), (40.0, -20.0)])).unwrap();
        let fine: Vec<(f64, f64)> =
            (0..=4_000).map(|i| (f64::from(i) / 100.0, 60.0 - f64::from(i) * 0.02)).collect();
        let fine = reckon(&sheet(model, -10.0, 1e5, &fine)).unwrap();
        near(coarse.equivalent_age_h / fine.equivalent_age_h, 1.0, 1e-8);
        near(coarse.maturity, 0.5 * 70.0 * 35.0, 1e-9);
        near(coarse.hours_below_5, 12.5, 1e-9);
        near(fine.hours_below_5, 12.5, 1e-9);
        repeat(&coarse.working);
        repeat(&fine.working);
    }
}

#[test]
fn at_the_reference_an_hour_is_an_hour() {
    for (model, tolerance) in [(Model::NurseSaul, 1e-12), (Model::Arrhenius, 1e-12), (Model::Ec2, 0.002)] {
        let output = reckon(&sheet(model, -10.0, 1e5, &[(3.0, 20.0), (13.0, 20.0)])).unwrap();
        near(output.equivalent_age_h / 10.0, 1.0, tolerance);
    }
}

#[test]
fn a_target_that_is_just_reached_conforms() {
    use Verdict::{Conforming as C, Undetermined as U};
    // 20 °C over a datum of −10 °C: an hour is an hour.
    for (target, at, verdict) in
        [(0.0, Some(2.0), C), (9.999, Some(11.999), C), (10.0, Some(12.0), C), (10.001, None, U)]
    {
        let output =
            reckon(&sheet(Model::NurseSaul, -10.0, target, &[(2.0, 20.0), (6.0, 20.0), (12.0, 20.0)]))
                .unwrap();
        assert_eq!(output.verdict, verdict, "{target}");
        assert_eq!(output.reached_at_h.is_some(), at.is_some());
        if let (Some(found), Some(at)) = (output.reached_at_h, at) {
            near(found, at, 1e-9);
        }
        repeat(&output.working);
    }
}

/// From 0 to 20 °C in 20 h over a datum of 0: t²/2 degree hours; half of the 200 at √200 h.
#[test]
fn the_hour_on_a_slope_is_found() {
    let output = reckon(&sheet(Model::NurseSaul, 0.0, 5.0, &[(0.0, 0.0), (20.0, 20.0)])).unwrap();
    near(output.reached_at_h.unwrap(), 200_f64.sqrt(), 1e-9);
    // Cooling to the datum: reached only where nothing more is gained.
    let output = reckon(&sheet(Model::NurseSaul, 0.0, 10.0, &[(0.0, 20.0), (20.0, 0.0)])).unwrap();
    near(output.reached_at_h.unwrap(), 20.0, 1e-6);
    repeat(&output.working);
}

#[test]
fn below_the_datum_nothing_is_gained() {
    let readings = [(0.0, 10.0), (2.0, -10.0), (4.0, -10.0), (6.0, 10.0)];
    for model in [Model::NurseSaul, Model::Ec2, Model::Arrhenius] {
        let output = reckon(&sheet(model, 0.0, 1e5, &readings)).unwrap();
        near(output.maturity, 10.0, 1e-12);
        let warm = reckon(&sheet(model, 0.0, 1e5, &[(0.0, 10.0), (1.0, 0.0)])).unwrap();
        near(output.equivalent_age_h, 2.0 * warm.equivalent_age_h, 1e-9);
        near(output.hours_below_5, 5.0, 1e-12);
        assert!(output.findings.iter().any(|finding| finding.caution));
    }
}

/// Readings that leap at every step: bounded words, and the sums are still told.
#[test]
fn a_sum_of_very_many_parts_is_told_in_brief() {
    let leaps: Vec<(f64, f64)> =
        (0_u32..3_000).map(|i| (f64::from(i), if i % 2 == 0 { -10.0 } else { 90.0 })).collect();
    let output = reckon(&sheet(Model::Arrhenius, -10.0, 1e5, &leaps)).unwrap();
    repeat(&output.working);
    assert!(output.working.to_text().len() < 1_000_000);
    let pair = reckon(&sheet(Model::Arrhenius, -10.0, 1e5, &leaps[..2])).unwrap();
    near(output.equivalent_age_h / (2_999.0 * pair.equivalent_age_h), 1.0, 1e-9);
}

#[test]
fn no_readings_are_undetermined() {
    let output = reckon(&sheet(Model::Ec2, 0.0, 24.0, &[])).unwrap();
    assert_eq!((output.verdict, output.maturity, output.reached_at_h), (Verdict::Undetermined, 0.0, None));
    repeat(&output.working);
}

#[test]
fn what_cannot_be_is_refused_by_place() {
    let mut input = sheet(Model::NurseSaul, 20.0, -1.0, &[(1.0, 20.0), (1.0, 151.0), (0.5, f64::INFINITY)]);
    assert_eq!(
        reckon(&input).unwrap_err().to_string(),
        "/target_equivalent_age_h: must be at least 0\n/reference_C: must be more than datum_C\n\
         /temperatures/1/concrete_C: must be at most 150\n\
         /temperatures/1/at_h: must be later than the reading before it\n\
         /temperatures/2/concrete_C: must be a finite number\n\
         /temperatures/2/at_h: must be later than the reading before it"
    );
    input = sheet(Model::Arrhenius, 0.0, 1.0, &[]);
    input.activation = None;
    assert_eq!(reckon(&input).unwrap_err().to_string(), "/activation_K: is missing: arrhenius needs it");
}

fn some_readings() -> impl Strategy<Value = Vec<(f64, f64)>> {
    prop::collection::vec((0.1_f64..12.0, -20.0_f64..70.0), 2..12).prop_map(|steps| {
        let mut at = 0.0;
        steps
            .into_iter()
            .map(|(hours, celsius)| {
                at += hours;
                (at, celsius)
            })
            .collect()
    })
}

fn some_model() -> impl Strategy<Value = Model> {
    prop_oneof![Just(Model::NurseSaul), Just(Model::Arrhenius), Just(Model::Ec2)]
}

proptest! {
    #![proptest_config(fixed(200))]

    #[test]
    fn maturity_never_falls(readings in some_readings(), model in some_model(), warmer in 0.0_f64..20.0) {
        let mut before = (0.0, 0.0);
        for count in 1..=readings.len() {
            let output = reckon(&sheet(model, -5.0, 1e5, &readings[..count])).unwrap();
            prop_assert!(before.0 <= output.maturity && before.1 <= output.equivalent_age_h);
            before = (output.maturity, output.equivalent_age_h);
            repeat(&output.working);
        }
        let warmed: Vec<(f64, f64)> = readings.iter().map(|(at, celsius)| (*at, celsius + warmer)).collect();
        let output = reckon(&sheet(model, -5.0, 1e5, &warmed)).unwrap();
        prop_assert!(before.0 <= output.maturity * (1.0 + 1e-9) && before.1 <= output.equivalent_age_h * (1.0 + 1e-7));
    }

    /// Cut off at the hour that was found, the readings come to the target.
    #[test]
    fn the_hour_found_comes_to_the_target(readings in some_readings(), model in some_model(), part in 0.01_f64..0.99) {
        let age = reckon(&sheet(model, -5.0, 1e5, &readings)).unwrap().equivalent_age_h;
        prop_assume!(age > 0.01);
        let target = age * part;
        let output = reckon(&sheet(model, -5.0, target, &readings)).unwrap();
        let at = output.reached_at_h.unwrap();
        repeat(&output.working);
        let mut cut: Vec<(f64, f64)> = readings.iter().copied().filter(|(hour, _)| *hour < at).collect();
        let (a, b) = (cut[cut.len() - 1], readings[cut.len()]);
        cut.push((at, a.1 + (b.1 - a.1) * (at - a.0) / (b.0 - a.0)));
        near(reckon(&sheet(model, -5.0, 1e5, &cut)).unwrap().equivalent_age_h, target, 1e-6 * age.max(1.0));
    }
}
