use super::*;
use crate::identity::SeededRng;

const WRONG: SealFault = SealFault::Closed;

fn key_and_secret() -> (SigningIdentity, DeviceSecret, SeededRng) {
    let mut rng = SeededRng::new("sealed keys");
    (SigningIdentity::generate(&mut rng), DeviceSecret::generate(&mut rng), rng)
}

fn pin(digits: &str) -> Pin {
    Pin::new(digits).unwrap()
}

#[test]
fn a_pin_has_four_to_twelve_digits() {
    for (text, sound) in [
        ("123", false),
        ("1234", true),
        ("12345", true),
        ("12345678901", true),
        ("123456789012", true),
        ("1234567890123", false),
        ("", false),
        ("12a4", false),
        (" 1234", false),
        ("１２３４", false),
        ("-123", false),
    ] {
        assert_eq!(Pin::new(text).is_ok(), sound, "{text:?}");
    }
}

#[test]
fn a_passphrase_has_twelve_to_256_characters() {
    for (length, sound) in [(0, false), (11, false), (12, true), (13, true), (256, true), (257, false)] {
        assert_eq!(Passphrase::new(&"ü".repeat(length)).is_ok(), sound, "{length}");
    }
}

#[test]
fn a_sealed_key_opens_with_its_pin_on_its_device_only() {
    let (key, secret, mut rng) = key_and_secret();
    let sealed = SealedKey::with_pin(&key, &pin("4711"), &secret, Cost::LEAST, &mut rng).unwrap();
    assert_eq!(sealed.public(), key.public());
    assert_eq!(sealed.open_with_pin(&pin("4711"), &secret).unwrap().secret(), key.secret());
    assert_eq!(sealed.open_with_pin(&pin("4712"), &secret).unwrap_err(), WRONG);
    assert_eq!(sealed.open_with_pin(&pin("47110"), &secret).unwrap_err(), WRONG);
    let other = DeviceSecret::generate(&mut rng);
    assert_eq!(sealed.open_with_pin(&pin("4711"), &other).unwrap_err(), WRONG);
    let passphrase = Passphrase::new("4711 4711 4711").unwrap();
    assert_eq!(sealed.open_with_passphrase(&passphrase).unwrap_err(), WRONG);
}

#[test]
fn the_authoritys_key_opens_with_its_passphrase_only() {
    let (key, secret, mut rng) = key_and_secret();
    let passphrase = Passphrase::new("nine damp larks").unwrap();
    let sealed = SealedKey::with_passphrase(&key, &passphrase, Cost::LEAST, &mut rng).unwrap();
    assert_eq!(sealed.open_with_passphrase(&passphrase).unwrap().secret(), key.secret());
    let other = Passphrase::new("nine damp larkS").unwrap();
    assert_eq!(sealed.open_with_passphrase(&other).unwrap_err(), WRONG);
    assert_eq!(sealed.open_with_pin(&pin("1234"), &secret).unwrap_err(), WRONG);
}

#[test]
fn the_text_reads_back_and_holds_no_private_key() {
    let (key, secret, mut rng) = key_and_secret();
    let sealed = SealedKey::with_pin(&key, &pin("4711"), &secret, Cost::LEAST, &mut rng).unwrap();
    let text = sealed.to_text();
    assert_eq!(SealedKey::from_text(&text).unwrap(), sealed);
    assert!(!text.contains(&hex::encode(key.secret().as_slice())));
    assert!(text.contains(r#""cost":{"lanes":1,"memory_kib":8,"passes":1}"#), "{text}");
    let again = SealedKey::with_pin(&key, &pin("4711"), &secret, Cost::LEAST, &mut rng).unwrap();
    assert_ne!(again, sealed, "salt and nonce are drawn anew");
}

#[test]
fn an_altered_sealed_key_does_not_open() {
    let (key, secret, mut rng) = key_and_secret();
    let sealed = SealedKey::with_pin(&key, &pin("4711"), &secret, Cost::LEAST, &mut rng).unwrap();
    let other = SigningIdentity::generate(&mut rng).public();
    let opens = |sealed: &SealedKey| sealed.open_with_pin(&pin("4711"), &secret);
    for at in 0..sealed.sealed.len() {
        let mut altered = sealed.clone();
        let old = &sealed.sealed[at..=at];
        altered.sealed.replace_range(at..=at, if old == "0" { "1" } else { "0" });
        assert_eq!(opens(&altered).unwrap_err(), WRONG, "digit {at}");
    }
    let altered = [
        SealedKey { public: other, ..sealed.clone() },
        SealedKey { opened_by: OpenedBy::Passphrase, ..sealed.clone() },
        SealedKey { format: 2, ..sealed.clone() },
        SealedKey { salt: String::new(), ..sealed.clone() },
        SealedKey { salt: "zz".repeat(16), ..sealed.clone() },
        SealedKey { nonce: "00".repeat(24), ..sealed.clone() },
        SealedKey { nonce: "00".repeat(25), ..sealed.clone() },
        SealedKey { sealed: String::new(), ..sealed.clone() },
        SealedKey { cost: Cost { passes: 2, ..Cost::LEAST }, ..sealed.clone() },
    ];
    for altered in altered {
        assert_eq!(opens(&altered).unwrap_err(), WRONG, "{altered:?}");
    }
}

#[test]
fn work_factors_that_would_exhaust_the_tablet_are_refused() {
    let (key, secret, mut rng) = key_and_secret();
    let sealed = SealedKey::with_pin(&key, &pin("4711"), &secret, Cost::LEAST, &mut rng).unwrap();
    for (memory_kib, passes, lanes) in [
        (7, 1, 1),
        ((256 << 10) + 1, 1, 1),
        (u32::MAX, 1, 1),
        (8, 0, 1),
        (8, 17, 1),
        (8, 1, 0),
        (64, 1, 5),
        (8, 1, 2),
    ] {
        let cost = Cost { memory_kib, passes, lanes };
        let hostile = SealedKey { cost, ..sealed.clone() };
        assert_eq!(SealedKey::from_text(&hostile.to_text()), Err(SealFault::Cost), "{cost:?}");
        assert_eq!(hostile.open_with_pin(&pin("4711"), &secret).unwrap_err(), SealFault::Cost, "{cost:?}");
    }
}

#[test]
fn texts_that_are_no_sealed_key_are_refused() {
    for text in ["", "{}", "[]", "null", "{\"format\":1}", "{ }", "\u{0}"] {
        assert!(matches!(SealedKey::from_text(text), Err(SealFault::Text(_))), "{text:?}");
    }
}

/// Sealed at the standing cost; the same text is opened outside of this program in
/// tests/outside/test_identity.py.
#[test]
fn the_standing_cost_is_64_mib_and_three_passes() {
    assert_eq!(Cost::STANDING, Cost { memory_kib: 65_536, passes: 3, lanes: 1 });
    let mut rng = SeededRng::new("outside");
    let key = SigningIdentity::from_secret(&[6; 32]).unwrap();
    let secret = DeviceSecret::from_bytes([9; 32]);
    let sealed = SealedKey::with_pin(&key, &pin("2580"), &secret, Cost::STANDING, &mut rng).unwrap();
    let stored = include_str!("../../../tests/data/identity/sealed-key.json");
    assert_eq!(sealed.to_text(), stored.trim_end());
    let read = SealedKey::from_text(stored.trim_end()).unwrap();
    assert_eq!(read.open_with_pin(&pin("2580"), &secret).unwrap().secret(), key.secret());
}
