use proptest::prelude::*;

use super::*;
use crate::identity::{Authority, SeededRng, SigningIdentity};

const DAY_MS: i64 = 86_400_000;
/// 2026-03-02T08:00:00Z.
const START_MS: i64 = 1_772_438_400_000;

fn day(number: i64) -> Timestamp {
    Timestamp::new(START_MS + number * DAY_MS, 0).unwrap()
}

/// The authority of an invented site, and one person's certificate from it.
fn invented(seed: &str) -> (Authority, Certificate) {
    let mut rng = SeededRng::new(seed);
    let key = SigningIdentity::generate(&mut rng);
    let authority = Authority::found("Larkrise Meadow (invented)", day(0), day(3650), key, &mut rng).unwrap();
    let person = SigningIdentity::generate(&mut rng);
    let leaf = authority
        .issue("Wren Ashby, invented", "Quality manager", person.public(), day(1), day(730), &mut rng)
        .unwrap();
    (authority, leaf)
}

#[test]
fn a_persons_certificate_is_good_within_its_validity() {
    let (authority, leaf) = invented("certificates");
    assert_eq!(authority.root().check_root(), CertificateVerdict::Good);
    for (at, good) in [
        (day(1).utc_ms - 1, false),
        (day(1).utc_ms, true),
        (day(1).utc_ms + 1, true),
        (day(730).utc_ms, true),
        (day(730).utc_ms + 999, true),
        (day(730).utc_ms + 1000, false),
        (day(5000).utc_ms, false),
    ] {
        let verdict = leaf.check_against(authority.root(), Timestamp::new(at, 0).unwrap());
        assert_eq!(verdict == CertificateVerdict::Good, good, "{at}: {verdict:?}");
    }
    assert_eq!(leaf.common_name().as_deref(), Some("Wren Ashby, invented"));
    assert_eq!(leaf.role().as_deref(), Some("Quality manager"));
    assert_eq!(authority.root().common_name().as_deref(), Some("Larkrise Meadow (invented)"));
    assert_eq!((leaf.not_before(), leaf.not_after()), (day(1), day(730)));
    assert_eq!(leaf.serial().len(), 32);
    assert_ne!(leaf.serial(), authority.root().serial());
}

#[test]
fn a_certificate_of_another_register_is_unknown() {
    let (authority, _) = invented("one");
    let (_, leaf) = invented("two");
    // Same names on both sides: only the keys tell them apart.
    assert_eq!(leaf.check_against(authority.root(), day(10)), CertificateVerdict::Unknown);
}

#[test]
fn a_root_is_not_a_persons_certificate_and_the_other_way_round() {
    let (authority, leaf) = invented("roles");
    assert!(matches!(authority.root().check_against(authority.root(), day(10)), CertificateVerdict::Unknown));
    assert!(matches!(leaf.check_against(&leaf, day(10)), CertificateVerdict::Bad(_)));
    assert_eq!(leaf.check_root(), CertificateVerdict::Unknown);
    // The root's own key gets no person's certificate.
    let mut rng = SeededRng::new("again");
    let own = authority.key().public();
    let fault = authority.issue("Wren Ashby", "Supervisor", own, day(1), day(2), &mut rng);
    assert_eq!(fault, Err(CertificateFault::Key));
    // And the parts of an authority must belong together.
    let foreign = SigningIdentity::generate(&mut rng);
    assert!(Authority::from_parts(foreign, authority.root().clone()).is_err());
    assert!(Authority::from_parts(authority.key().clone(), authority.root().clone()).is_ok());
}

#[test]
fn names_and_validities_that_do_not_fit_are_refused() {
    let (authority, _) = invented("names");
    let mut rng = SeededRng::new("more");
    let key = SigningIdentity::generate(&mut rng).public();
    let mut issue = |name: &str, from, until| authority.issue(name, "Supervisor", key, from, until, &mut rng);
    for name in ["", " Wren", "Wren\n", "\u{0}", &"x".repeat(65)] {
        assert!(matches!(issue(name, day(1), day(2)), Err(CertificateFault::Name { .. })), "{name:?}");
    }
    for name in ["W", "O=x,CN=Root+y", "\"<&>\"", "Müller, Ré", &"ö".repeat(64)] {
        let leaf = issue(name, day(1), day(2)).unwrap();
        assert_eq!(leaf.common_name().as_deref(), Some(name));
        assert_eq!(leaf.check_against(authority.root(), day(1)), CertificateVerdict::Good);
    }
    for (from, until) in [(day(2), day(2)), (day(3), day(2)), (day(-1), day(2)), (day(1), day(3651))] {
        assert!(matches!(issue("Wren", from, until), Err(CertificateFault::Validity(_))));
    }
}

#[test]
fn years_before_and_after_2050_are_both_taken() {
    // RFC 5280, section 4.1.2.5: UTCTime through 2049, GeneralizedTime from 2050 on.
    let mut rng = SeededRng::new("years");
    let until = Timestamp::new(4_102_444_800_000, 0).unwrap(); // 2100-01-01T00:00:00Z
    let key = SigningIdentity::generate(&mut rng);
    let authority = Authority::found("Invented", day(0), until, key, &mut rng).unwrap();
    assert_eq!(authority.root().not_after(), until);
    assert_eq!(authority.root().not_before(), day(0));
}

#[test]
fn pem_and_der_give_the_same_certificate() {
    let (authority, leaf) = invented("pem");
    for certificate in [authority.root(), &leaf] {
        let pem = certificate.to_pem();
        assert!(pem.starts_with("-----BEGIN CERTIFICATE-----\n"));
        assert_eq!(&Certificate::from_pem(&pem).unwrap(), certificate);
        assert_eq!(&Certificate::from_der(certificate.der()).unwrap(), certificate);
        let longer = [certificate.der(), &[0]].concat();
        assert!(Certificate::from_der(&longer).is_err());
        assert!(Certificate::from_pem(&pem.replace("CERTIFICATE", "PUBLIC KEY")).is_err());
    }
    assert_eq!(Certificate::from_der(&vec![0x30; MOST_CERTIFICATE_BYTES + 1]), Err(CertificateFault::Size));
    assert!(Certificate::from_pem("").is_err());
}

#[test]
fn the_fingerprint_stands_in_groups_of_four() {
    let (authority, _) = invented("fingerprint");
    let fingerprint = authority.root().fingerprint();
    let groups: Vec<&str> = fingerprint.split(' ').collect();
    assert_eq!(groups.len(), 16);
    assert!(groups.iter().all(|g| g.len() == 4));
    assert_eq!(groups.concat(), crate::ids::Sha256Digest::of(authority.root().der()).to_hex());
}

/// Checked outside of this program too: tests/outside/test_identity.py gives these files to openssl and a Python
/// library.
#[test]
fn the_certificates_for_outside_checks_are_the_ones_that_this_program_makes() {
    let (authority, leaf) = invented("outside");
    assert_eq!(authority.root().to_pem(), include_str!("../../../tests/data/identity/root.pem"));
    assert_eq!(leaf.to_pem(), include_str!("../../../tests/data/identity/person.pem"));
}

#[test]
fn no_flipped_bit_leaves_a_good_certificate() {
    let (authority, leaf) = invented("flips");
    assert_eq!(leaf.check_against(authority.root(), day(10)), CertificateVerdict::Good);
    // All positions, one bit each: every byte is covered by the signature or is the signature.
    for at in 0..leaf.der().len() {
        let mut der = leaf.der().to_vec();
        der[at] ^= 1 << (at % 8);
        if let Ok(changed) = Certificate::from_der(&der) {
            let verdict = changed.check_against(authority.root(), day(10));
            assert_ne!(verdict, CertificateVerdict::Good, "byte {at}");
        }
        let mut der = authority.root().der().to_vec();
        if let Some(byte) = der.get_mut(at) {
            *byte ^= 1 << (at % 8);
            if let Ok(changed) = Certificate::from_der(&der) {
                assert_ne!(changed.check_root(), CertificateVerdict::Good, "root byte {at}");
            }
        }
    }
}

/// A leaf that the real root signed, but with other contents than the authority would issue.
fn signed_by_hand(authority: &Authority, change: impl FnOnce(&mut x509_cert::TbsCertificate)) -> Certificate {
    use p256::ecdsa::signature::Signer as _;
    let (_, leaf) = invented("flips");
    let mut certificate = leaf.parsed().clone();
    change(&mut certificate.tbs_certificate);
    let signature: p256::ecdsa::DerSignature =
        authority.key().signing_key().sign(&certificate.tbs_certificate.to_der().unwrap());
    certificate.signature = der::asn1::BitString::from_bytes(signature.as_bytes()).unwrap();
    Certificate::from_der(&certificate.to_der().unwrap()).unwrap()
}

#[test]
fn what_the_root_signed_by_hand_still_has_to_be_a_certificate_for_signing() {
    use x509_cert::ext::AsExtension as _;
    let (authority, _) = invented("flips");
    let verdict = |change: &dyn Fn(&mut x509_cert::TbsCertificate)| {
        signed_by_hand(&authority, change).check_against(authority.root(), day(10))
    };
    let extension = |tbs: &mut x509_cert::TbsCertificate, oid: ObjectIdentifier| {
        let extensions = tbs.extensions.as_mut().unwrap();
        extensions.iter_mut().find(|e| e.extn_id == oid).unwrap().clone()
    };
    assert_eq!(verdict(&|_| ()), CertificateVerdict::Good);
    let authority_flag = verdict(&|tbs| {
        let ca = BasicConstraints { ca: true, path_len_constraint: None };
        let name = tbs.subject.clone();
        let extensions = tbs.extensions.as_mut().unwrap();
        extensions.retain(|e| e.extn_id != ID_CE_BASIC_CONSTRAINTS);
        let made = ca.to_extension(&name, extensions).unwrap();
        extensions.push(made);
    });
    assert!(matches!(authority_flag, CertificateVerdict::Bad(_)), "{authority_flag:?}");
    let no_usage = verdict(&|tbs| {
        tbs.extensions.as_mut().unwrap().retain(|e| e.extn_id != ID_CE_KEY_USAGE);
    });
    assert!(matches!(no_usage, CertificateVerdict::Bad(_)), "{no_usage:?}");
    let twice = verdict(&|tbs| {
        let again = extension(tbs, ID_CE_KEY_USAGE);
        tbs.extensions.as_mut().unwrap().push(again);
    });
    assert!(matches!(twice, CertificateVerdict::Bad(_)), "{twice:?}");
    let demanding = verdict(&|tbs| {
        let mut strange = extension(tbs, ID_CE_KEY_USAGE);
        strange.extn_id = ObjectIdentifier::new_unwrap("1.3.6.1.4.1.99999.1");
        tbs.extensions.as_mut().unwrap().push(strange);
    });
    assert!(matches!(demanding, CertificateVerdict::Bad(_)), "{demanding:?}");
    let no_extensions = verdict(&|tbs| tbs.extensions = None);
    assert_ne!(no_extensions, CertificateVerdict::Good);
}

proptest! {
    #![proptest_config(crate::record::canonical::tests::fixed(300))]

    #[test]
    fn hostile_bytes_are_refused_without_panic(
        cuts in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>(), any::<bool>()), 1..6),
        length in any::<prop::sample::Index>(),
    ) {
        let (authority, leaf) = invented("flips");
        let mut der = leaf.der().to_vec();
        for (at, byte, insert) in cuts {
            let at = at.index(der.len());
            if insert { der.insert(at, byte) } else { der[at] = byte }
        }
        let cut = &der[..length.index(der.len() + 1)];
        for bytes in [&der[..], cut] {
            if let Ok(certificate) = Certificate::from_der(bytes) {
                let same = certificate == leaf;
                let verdict = certificate.check_against(authority.root(), day(10));
                prop_assert!(same || verdict != CertificateVerdict::Good);
                let _ = (certificate.common_name(), certificate.role(), certificate.to_pem(), certificate.check_root());
            }
        }
    }

    #[test]
    fn arbitrary_bytes_are_no_certificate(bytes in prop::collection::vec(any::<u8>(), 0..400), text in any::<String>()) {
        prop_assert!(Certificate::from_der(&bytes).is_err());
        prop_assert!(Certificate::from_pem(&text).is_err());
    }
}
