use proptest::prelude::*;

use super::*;

fn mm(text: &str) -> Length {
    Length::parse_mm(text).unwrap()
}

#[test]
fn decimals_are_read_exactly() {
    for (text, um) in [
        ("0", 0),
        ("-0", 0),
        ("-0.0e5", 0),
        ("7.07", 7_070),
        ("1e3", 1_000_000),
        ("1.5E+2", 150_000),
        ("12500e-2", 125_000),
        ("0.001", 1),
        ("0.0010000000000000000000000000000000000000000000000", 1),
        ("-8400", -8_400_000),
        ("10000000", LENGTH_BOUND_UM),
        ("0e99999999999999999999999", 0),
    ] {
        assert_eq!(Length::parse_mm(text).map(Length::um), Ok(um), "{text}");
    }
    assert_eq!(Length::parse_km("0.25"), Ok(Length::from_mm(250_000)));
    assert_eq!(Length::parse_km("10.000000001"), Err(QuantityFault::OutOfRange { bound: "10 km" }));
    assert_eq!(Length::parse_km("0.0000000001"), Err(QuantityFault::FinerThanMicrometre));
    assert_eq!(Length::from_mm(250_000).to_km_text(), "0.25");
    assert_eq!(Length::parse_m("52.300").unwrap() - Length::parse_m("0.3").unwrap(), Length::from_mm(52_000));
}

#[test]
fn what_is_no_length_is_refused() {
    let out = QuantityFault::OutOfRange { bound: "10 km" };
    for (text, fault) in [
        ("", QuantityFault::NotANumber),
        ("-", QuantityFault::NotANumber),
        (".", QuantityFault::NotANumber),
        ("1e", QuantityFault::NotANumber),
        ("1.2.3", QuantityFault::NotANumber),
        ("NaN", QuantityFault::NotANumber),
        (" 1", QuantityFault::NotANumber),
        ("1_0", QuantityFault::NotANumber),
        ("--1", QuantityFault::NotANumber),
        ("0.0001", QuantityFault::FinerThanMicrometre),
        ("1e-4", QuantityFault::FinerThanMicrometre),
        ("1e-99999999999999999999999", QuantityFault::FinerThanMicrometre),
        ("10000000.001", out),
        ("-10000000.001", out),
        ("1e300", out),
        ("1e999", QuantityFault::NotFinite),
        ("1e99999999999999999999999", QuantityFault::NotFinite),
    ] {
        assert_eq!(Length::parse_mm(text), Err(fault), "{text}");
    }
}

#[test]
fn printing_rounds_half_away_from_zero() {
    for (text, decimals, expect) in [
        ("0.5", 0, "1"),
        ("-0.5", 0, "-1"),
        ("0.49", 0, "0"),
        ("-0.4", 0, "0"),
        ("1.25", 1, "1.3"),
        ("7", 2, "7.00"),
    ] {
        assert_eq!(mm(text).mm_text(decimals), expect, "{text}");
    }
    assert_eq!(mm("47810").m_text(3), "47.810");
    assert_eq!(mm("-0.4").m_text(3), "0.000");
    assert_eq!(mm("9").signed_mm_text(0), "+9");
    assert_eq!(mm("-2").signed_mm_text(0), "\u{2212}2");
    assert_eq!(mm("0.2").signed_mm_text(0), "0");
}

#[test]
fn shares_round_half_away_from_zero() {
    for (um, num, den, expect) in
        [(2_000, 1, 2, 1_000), (1, 1, 2, 1), (-1, 1, 2, -1), (10, 1, 3, 3), (7, 1, 0, 0)]
    {
        assert_eq!(Length::from_um(um).share(num, den).um(), expect);
    }
}

#[test]
fn root_two_is_the_nearest_micrometre() {
    // 3·√2 = 4.242640687…, 8·√2 = 11.313708498… (definition of √2)
    assert_eq!(mm("3").times_sqrt2(), mm("4.243"));
    assert_eq!(mm("8").times_sqrt2(), mm("11.314"));
    assert_eq!(mm("0.001").times_sqrt2(), mm("0.001"));
    assert_eq!(Length::ZERO.times_sqrt2(), Length::ZERO);
}

#[test]
fn json_numbers_keep_their_decimals() {
    let value: Metres = serde_json::from_str("47.810").unwrap();
    assert_eq!(value.0.um(), 47_810_000);
    assert_eq!(serde_json::to_string(&value).unwrap(), "47.81");
    assert_eq!(serde_json::to_string(&Mm2(Area::from_um2(36_622_500_000))).unwrap(), "36622.5");
    assert!(serde_json::from_str::<Mm>("0.0001").is_err());
    assert!(serde_json::from_str::<Mm>("\"5\"").is_err());
    assert_eq!(serde_json::to_string(&Length::from_mm(3)).unwrap(), "3000");
    assert!(serde_json::from_str::<Length>("10000000001").is_err());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, failure_persistence: None, rng_seed: proptest::test_runner::RngSeed::Fixed(1), ..ProptestConfig::default() })]

    #[test]
    fn what_is_printed_reads_back(um in -LENGTH_BOUND_UM..=LENGTH_BOUND_UM) {
        let length = Length::from_um(um);
        prop_assert_eq!(Length::parse_mm(&length.to_mm_text()), Ok(length));
        prop_assert_eq!(Length::parse_m(&length.to_m_text()), Ok(length));
        let area = Area::from_um2(i128::from(um));
        prop_assert_eq!(Area::parse_mm2(&area.to_mm2_text()), Ok(area));
        prop_assert_eq!(Area::parse_m2(&area.to_m2_text()), Ok(area));
    }

    #[test]
    fn any_text_is_read_or_refused(text in "[-+0-9.eE]{0,24}") {
        let _ = Length::parse_mm(&text);
        let _ = Area::parse_m2(&text);
        let _ = Factor::parse(&text);
    }
}
