use sha2::{Digest as _, Sha256};

use super::*;
use crate::identity::SeededRng;

/// RFC 6979, appendix A.2.5: P-256, SHA-256, message "sample".
const SECRET: &str = "c9afa9d845ba75166b5c215767b1d6934e50c3db36e89b127b8a622b120f6721";
const POINT: &str = "0460fed4ba255a9d31c961eb74c6356d68c049b8923b61fa6ce669622e60f29fb6\
                     7903fe1008b8bc99a41ae9e95628bc64f2f1b20c2d7e9f5177a3c294d4462299";
const R: &str = "efd48b2aacb6a8fd1140dd9cd45e81d69d2c877b56aaf991c34d0ea84eaf3716";
const S: &str = "f7cb1c942d657c41d436c7a1b6e29f65f3e900dbb9aff4064dc4ab2f843acda8";

fn rfc_key() -> SigningIdentity {
    SigningIdentity::from_secret(&hex::decode(SECRET).unwrap()).unwrap()
}

#[test]
fn the_signature_is_that_of_rfc_6979_in_its_low_form() {
    let key = rfc_key();
    assert_eq!(key.public().to_string(), POINT);
    let digest: [u8; 32] = Sha256::digest("sample").into();
    let published = Signature::from_slice(&hex::decode(format!("{R}{S}")).unwrap()).unwrap();
    // The published s lies in the upper half of the group's order, so the accepted form is its negative.
    let low = published.normalize_s().unwrap();
    let own = key.sign_digest(digest);
    assert_eq!(own.as_slice(), low.to_bytes().as_slice());
    assert!(key.public().verify_digest(digest, &own));
    assert!(!key.public().verify_digest(digest, &published.to_bytes()));
}

#[test]
fn signatures_are_always_low_and_hold_for_their_digest_only() {
    let key = SigningIdentity::generate(&mut SeededRng::new("signatures"));
    for n in 0u8..40 {
        let digest: [u8; 32] = Sha256::digest([n]).into();
        let signature = key.sign_digest(digest);
        assert!(signature[32] < 0x80, "s is below half of the order");
        assert!(key.public().verify_digest(digest, &signature));
        assert!(!key.public().verify_digest(Sha256::digest([n, 0]).into(), &signature));
    }
}

#[test]
fn bytes_that_are_no_private_key_are_refused() {
    // The order of the group (FIPS 186-5 / SEC 2): not below itself.
    let order = hex::decode("ffffffff00000000ffffffffffffffffbce6faada7179e84f3b9cac2fc632551").unwrap();
    for bytes in [&[0; 32][..], &[1; 31], &[1; 33], &[], &[0xff; 32], &order] {
        assert!(SigningIdentity::from_secret(bytes).is_err(), "{bytes:?}");
    }
    assert!(SigningIdentity::from_secret(&[1; 32]).is_ok());
}

#[test]
fn a_public_key_has_one_text_form() {
    let key = rfc_key().public();
    assert_eq!(POINT.parse(), Ok(key));
    assert_eq!(serde_json::to_string(&key).unwrap(), format!("\"{POINT}\""));
    assert_eq!(serde_json::from_str::<PublicKey>(&format!("\"{POINT}\"")).unwrap(), key);
    let off_the_curve = format!("{}00", &POINT[..128]);
    let compressed = format!("03{}", &POINT[2..66]);
    for text in ["", "04", &POINT.to_uppercase(), &compressed, &off_the_curve, &format!("{POINT}00"), "00"] {
        assert_eq!(text.parse::<PublicKey>(), Err(KeyFault::Public), "{text}");
    }
}

#[test]
fn the_spki_form_ends_with_the_point() {
    // RFC 5480: SEQUENCE { SEQUENCE { id-ecPublicKey, secp256r1 }, BIT STRING }, 91 bytes for P-256.
    let spki = hex::encode(rfc_key().public().to_spki_der());
    let head = "3059301306072a8648ce3d020106082a8648ce3d030107034200";
    assert_eq!(spki, format!("{head}{POINT}"));
}

#[test]
fn a_private_key_is_not_printed() {
    let (key, person) = (rfc_key(), PersonKey::from(rfc_key()));
    for text in [format!("{key:?}"), format!("{person:?}")] {
        assert!(!text.contains(&SECRET[..8]), "{text}");
    }
    assert_eq!(hex::encode(key.secret().as_slice()), SECRET);
}

#[test]
fn the_seeded_generator_comes_out_the_same_twice_and_differs_by_seed() {
    let key = |seed| SigningIdentity::generate(&mut SeededRng::new(seed)).public();
    assert_eq!(key("a"), key("a"));
    assert_ne!(key("a"), key("b"));
}
