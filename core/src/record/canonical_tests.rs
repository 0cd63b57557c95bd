use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use serde_json::{Map, Value, json};

use super::*;

fn refused(text: &str) -> CanonFault {
    decode(text).unwrap_err()
}

#[test]
fn strings_are_escaped_as_rfc_8785_prints_them() {
    // RFC 8785, section 3.2.2: the member "string" of the sample, input and canonical output.
    let input = r#""\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/""#;
    let value: Value = serde_json::from_str(input).unwrap();
    assert_eq!(encode(&value).unwrap(), r#""€$\u000f\nA'B\"\\\\\"/""#);
}

#[test]
fn members_are_sorted_whatever_order_the_map_has() {
    let mut map = Map::new();
    for key in ["b", "a", "B", "aa", "_", "1", "10", "2"] {
        map.insert(key.to_owned(), Value::Null);
    }
    let text = encode(&Value::Object(map)).unwrap();
    assert_eq!(text, r#"{"1":null,"10":null,"2":null,"B":null,"_":null,"a":null,"aa":null,"b":null}"#);
}

#[test]
fn whole_numbers_are_taken_up_to_two_to_the_53_less_one() {
    for (text, sound) in [
        ("9007199254740990", true),
        ("9007199254740991", true),
        ("9007199254740992", false),
        ("-9007199254740990", true),
        ("-9007199254740991", true),
        ("-9007199254740992", false),
        ("-9223372036854775808", false),
        ("123456789012345678901234567890", false),
        ("0", true),
        ("-0", false),
        ("1.0", false),
        ("1e3", false),
        ("1E3", false),
        ("0.1", false),
    ] {
        assert_eq!(decode(text).is_ok(), sound, "{text}");
        if !sound {
            assert!(matches!(refused(text), CanonFault::Number { .. }), "{text}");
        }
    }
}

#[test]
fn bytes_that_do_not_re_encode_to_themselves_are_refused_at_the_first_difference() {
    for (text, at) in [
        (r#"{"b":1,"a":2}"#, 2),
        (r#"{"a": 1}"#, 5),
        (r#"{"a":1,"a":1}"#, 6),
        ("[1,2] ", 5),
        (" [1]", 0),
        (r#""\u0041""#, 1),
        (r#""\/""#, 1),
        (r#""\u000A""#, 2),
        (r#""\u001F""#, 6),
    ] {
        assert_eq!(refused(text), CanonFault::NotCanonical { at }, "{text}");
    }
}

#[test]
fn what_is_no_json_is_refused() {
    for text in ["", "nul", "{", "[1,]", "01", "+1", "\"\u{1}\"", "\"\\ud800\"", "[1][2]", "NaN", "'a'"] {
        assert!(matches!(refused(text), CanonFault::Json(_)), "{text:?}");
    }
}

#[test]
fn keys_are_printable_ascii_without_escapes() {
    for (key, sound) in [
        ("a", true),
        ("Bay 5 / wall-A_1.2", true),
        ("$", false),
        ("$serde_json::private::Number", false),
        ("", false),
        ("ä", false),
        ("a\"b", false),
        ("a\\b", false),
        ("a\nb", false),
        ("\u{7f}", false),
        (&"k".repeat(MOST_KEY_BYTES), true),
        (&"k".repeat(MOST_KEY_BYTES + 1), false),
    ] {
        let value = json!({ key: 1 });
        assert_eq!(encode(&value).is_ok(), sound, "{key:?}");
    }
}

#[test]
fn an_object_that_the_library_reads_as_a_number_is_refused() {
    // With numbers kept as text the JSON library reads this object as the number 1.
    assert!(decode(r#"{"$serde_json::private::Number":"1"}"#).is_err());
    assert!(decode(r#"{"$serde_json::private::Number":"1e2"}"#).is_err());
}

#[test]
fn nesting_is_bounded() {
    let nested = |depth: usize| "[".repeat(depth) + &"]".repeat(depth);
    assert!(decode(&nested(MOST_DEPTH)).is_ok());
    assert!(decode(&nested(MOST_DEPTH + 1)).is_ok(), "an empty list holds nothing deeper");
    assert!(matches!(refused(&nested(MOST_DEPTH + 2)), CanonFault::Depth { .. }));
    // Far beyond: refused by the reader before anything grows.
    assert!(decode(&nested(100_000)).is_err());
}

#[test]
fn size_is_bounded() {
    let text = |bytes: usize| format!("\"{}\"", "x".repeat(bytes - 2));
    assert!(decode(&text(MOST_BYTES)).is_ok());
    assert_eq!(refused(&text(MOST_BYTES + 1)), CanonFault::Size { most: MOST_BYTES });
    assert!(encode(&Value::String("x".repeat(MOST_BYTES))).is_err());
}

#[test]
fn a_fault_names_the_place() {
    let fault = encode(&json!({"a": [1, {"b": 0.5}]})).unwrap_err();
    assert_eq!(
        fault.to_string(),
        "value.a[1].b: 0.5 is no whole number within ±9007199254740991; write other numbers as text"
    );
}

#[test]
fn values_that_look_alike_have_different_bytes() {
    let alike = [
        json!(null),
        json!("null"),
        json!(""),
        json!([]),
        json!({}),
        json!([[]]),
        json!([{}]),
        json!([null]),
        json!(0),
        json!("0"),
        json!(false),
        json!([0]),
        json!({"0": null}),
        json!({"a": null}),
        json!(["a", null]),
        json!({"a": "b,c"}),
        json!({"a": "b", "c": null}),
        json!({"a": {"b": 1}}),
        json!({"a": [{"b": 1}]}),
        json!("\n"),
        json!("\\n"),
        json!("é"),
        json!("e\u{301}"),
        json!([1, 23]),
        json!([12, 3]),
        json!([123]),
        json!("\u{2028}"),
        json!("\u{7f}"),
        json!(" "),
        json!("\u{a0}"),
    ];
    for (i, a) in alike.iter().enumerate() {
        for b in &alike[..i] {
            assert_ne!(encode(a).unwrap(), encode(b).unwrap(), "{a} and {b}");
        }
    }
}

pub(crate) fn fixed(cases: u32) -> ProptestConfig {
    ProptestConfig {
        cases,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(53),
        ..ProptestConfig::default()
    }
}

fn any_value() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::Bool),
        (-MOST_INTEGER..=MOST_INTEGER).prop_map(|n| json!(n)),
        (-3i64..3).prop_map(|n| json!(n)),
        any::<String>().prop_map(Value::String),
        "[\\x00-\\x7f\"\\\\]{0,6}".prop_map(Value::String),
    ];
    leaf.prop_recursive(4, 40, 6, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..6).prop_map(Value::Array),
            prop::collection::vec(("[ !#-Z_a-z~]{1,4}", inner), 0..6).prop_map(|members| {
                Value::Object(members.into_iter().filter(|(k, _)| !k.starts_with('$')).collect())
            }),
        ]
    })
}

proptest! {
    #![proptest_config(fixed(400))]

    /// Also shows that two different values never share their bytes: each reads back as itself.
    #[test]
    fn what_is_encoded_reads_back_as_the_same_value(value in any_value()) {
        let text = encode(&value).unwrap();
        prop_assert_eq!(decode(&text).unwrap(), value);
    }

    /// One value, one text: whatever else is accepted after a change of one byte is another value.
    #[test]
    fn a_changed_byte_is_refused_or_another_value(value in any_value(), at in any::<prop::sample::Index>(), byte: u8) {
        let text = encode(&value).unwrap();
        let mut bytes = text.clone().into_bytes();
        let at = at.index(bytes.len());
        bytes[at] = byte;
        if let Ok(changed) = String::from_utf8(bytes) && changed != text
            && let Ok(other) = decode(&changed)
        {
            prop_assert_ne!(&other, &value);
            prop_assert_eq!(encode(&other).unwrap(), changed);
        }
    }

    #[test]
    fn any_text_is_read_or_refused_without_panic(text in any::<String>()) {
        if let Ok(value) = decode(&text) {
            prop_assert_eq!(encode(&value).unwrap(), text);
        }
    }
}
