use proptest::prelude::*;
use serde_json::json;

use super::*;
use crate::identity::SeededRng;
use crate::ids::PersonId;
use crate::record::canonical::tests::fixed;
use crate::record::header::{FORMAT, Mark, Subject};
use crate::record::simulated::{device, example, example_keys, plot};
use crate::time::Timestamp;

fn heading_of(entry: &SealedEntry) -> Heading {
    let h = open(entry).unwrap().0;
    Heading {
        register: h.register,
        device: h.device,
        seq: h.seq,
        prev: h.prev,
        subject: h.subject,
        subject_prev: h.subject_prev,
        seen: h.seen,
        author: h.author,
        time: h.time,
        kind: h.kind,
        version: h.version,
        plan: h.plan,
        floor_design: h.floor_design,
    }
}

/// The worked example of FORMAT.md: whoever changes the format finds this test and the text there.
#[test]
fn the_worked_example_has_the_digests_that_the_format_states() {
    let entry = example();
    let format = include_str!("FORMAT.md");
    let (device_key, person_key) = example_keys();
    for (what, text) in [
        ("header", entry.header.clone()),
        ("payload", entry.payload.clone()),
        ("payload digest", Sha256Digest::of(entry.payload.as_bytes()).to_hex()),
        ("id", entry.id.to_hex()),
        ("device key", device_key.public().to_string()),
        ("device signature", hex::encode(&entry.device_signature)),
        ("person key", person_key.public().to_string()),
        ("person signature", hex::encode(entry.person_signature.as_ref().unwrap())),
    ] {
        assert!(format.lines().any(|line| line == text), "FORMAT.md lacks the {what}:\n{text}");
    }
}

#[test]
fn a_sealed_entry_opens_as_what_was_sealed() {
    let entry = example();
    let (header, payload) = open(&entry).unwrap();
    assert_eq!(header.format, FORMAT);
    assert_eq!(header.subject, plot("14"));
    assert_eq!(header.seen[&device(2)].seq, 9);
    assert_eq!(payload["worst_um"], json!(-2500));
    assert_eq!(Header::from_text(&entry.header).unwrap().to_text().unwrap(), entry.header);
}

#[test]
fn a_signature_is_good_unknown_or_bad() {
    let entry = example();
    let (device_key, person_key) = example_keys();
    let (device_key, person_key) = (device_key.public(), person_key.public());
    assert_eq!(entry.check_device_signature(Some(&device_key)), SignatureVerdict::Good);
    assert_eq!(entry.check_device_signature(None), SignatureVerdict::Unknown);
    assert_eq!(entry.check_device_signature(Some(&person_key)), SignatureVerdict::Bad);
    assert_eq!(entry.check_person_signature(Some(&person_key)), Some(SignatureVerdict::Good));
    assert_eq!(entry.check_person_signature(None), Some(SignatureVerdict::Unknown));
    assert_eq!(entry.check_person_signature(Some(&device_key)), Some(SignatureVerdict::Bad));
    let unsigned = SealedEntry { person_signature: None, ..entry };
    assert_eq!(unsigned.check_person_signature(Some(&person_key)), None);
}

#[test]
fn the_other_form_of_a_good_signature_is_bad() {
    // For every ECDSA signature (r, s) the pair (r, n − s) verifies as well; only the low one is accepted.
    let mut entry = example();
    let (device_key, _) = example_keys();
    let low = p256::ecdsa::Signature::from_slice(&entry.device_signature).unwrap();
    let (r, s) = low.split_scalars();
    let high = p256::ecdsa::Signature::from_scalars(r.to_bytes(), (-*s).to_bytes()).unwrap();
    entry.device_signature = high.to_bytes().to_vec();
    assert_eq!(entry.check_device_signature(Some(&device_key.public())), SignatureVerdict::Bad);
}

#[test]
fn kinds_that_somebody_answers_for_are_not_sealed_without_the_person() {
    let (device_key, person_key) = example_keys();
    for kind in PERSON_SIGNED_KINDS {
        let heading = Heading { kind: kind.to_owned(), ..heading_of(&example()) };
        let fault = seal(heading.clone(), &json!({}), &device_key, None).unwrap_err();
        assert_eq!(fault, RecordFault::PersonSignatureMissing { kind: kind.to_owned() });
        let nobody = Heading { author: None, ..heading.clone() };
        let fault = seal(nobody, &json!({}), &device_key, Some(&person_key)).unwrap_err();
        assert_eq!(fault, RecordFault::AuthorMissing);
        assert!(open(&seal(heading, &json!({}), &device_key, Some(&person_key)).unwrap()).is_ok());
    }
    let reading = Heading { kind: "reading-booked".to_owned(), ..heading_of(&example()) };
    assert!(seal(reading, &json!({}), &device_key, None).is_ok());
}

#[test]
fn header_fields_outside_of_their_bounds_are_refused_by_name() {
    let (device_key, person_key) = example_keys();
    let good = heading_of(&example());
    let refused = |field: &str, change: &dyn Fn(&mut Heading)| {
        let mut heading = good.clone();
        change(&mut heading);
        match seal(heading, &json!({}), &device_key, Some(&person_key)) {
            Err(RecordFault::Bound { field: found, .. }) => assert_eq!(found, field),
            other => panic!("{field}: {other:?}"),
        }
    };
    refused("seq", &|h| h.seq = 0);
    refused("seq", &|h| h.seq = 1 << 53);
    refused("prev", &|h| h.prev = None);
    refused("prev", &|h| h.seq = 1);
    refused("subject_prev", &|h| {
        h.seq = 1;
        h.subject_prev = h.prev.take();
    });
    refused("seen", &|h| {
        h.seen.insert(h.device, Mark { id: EntryId([9; 32]), seq: 1 });
    });
    refused("seen", &|h| {
        h.seen.insert(device(9), Mark { id: EntryId([9; 32]), seq: 0 });
    });
    refused("seen", &|h| {
        let many = (0u16..257).map(|n| {
            let mut id = [0; 16];
            id[..2].copy_from_slice(&n.to_be_bytes());
            (crate::ids::DeviceId(id), Mark { id: EntryId([9; 32]), seq: 1 })
        });
        h.seen = many.collect();
    });
    refused("time", &|h| h.time = Timestamp { utc_ms: -1, offset_min: 0 });
    refused("time", &|h| h.time = Timestamp { utc_ms: 0, offset_min: 1081 });
    refused("version", &|h| h.version = 0);
    refused("version", &|h| h.version = 65_536);
    for kind in ["", "Reading", "a--b", "-a", "a-", "a b", "ä", &"a".repeat(61)] {
        let mut heading = good.clone();
        heading.kind = kind.to_owned();
        let fault = seal(heading, &json!({}), &device_key, Some(&person_key)).unwrap_err();
        assert!(matches!(fault, RecordFault::Bound { field: "kind", .. }), "{kind}: {fault}");
    }
}

/// An entry under the id that its header really has, however the header is written.
fn with_header(header: String) -> SealedEntry {
    SealedEntry { id: id_of(&header), header, ..example() }
}

#[test]
fn a_header_that_is_not_canonical_or_not_complete_is_refused() {
    let good = example().header;
    assert!(open(&with_header(good.clone())).is_ok());
    for (from, to) in [
        (r#","floor_design":null"#, ""),
        (r#""format":1"#, r#""format":2"#),
        (r#""format":1"#, r#""format": 1"#),
        (r#""format":1"#, r#""format":1,"format":1"#),
        (r#""format":1"#, r#""extra":0,"format":1"#),
        (r#""plot":"14""#, r#""plot":"\u0031\u0034""#),
        (r#""plot":"14""#, r#""plot":"""#),
        (r#"{"plot":"14"}"#, r#""nowhere""#),
        (r#""seq":2"#, r#""seq":2.0"#),
        (r#""seq":2"#, r#""seq":"2""#),
        ("0202", "020A"),
    ] {
        assert!(good.contains(from), "{from}");
        let entry = with_header(good.replacen(from, to, 1));
        let fault = open(&entry).unwrap_err();
        assert!(
            matches!(fault, RecordFault::Header(_) | RecordFault::Bound { .. }),
            "{from} → {to}: {fault}"
        );
    }
}

#[test]
fn a_payload_that_is_not_canonical_is_refused_even_under_the_right_digest() {
    let mut entry = example();
    let digest = Sha256Digest::of(entry.payload.as_bytes());
    entry.payload.push(' ');
    let header = entry.header.replace(&digest.to_hex(), &Sha256Digest::of(entry.payload.as_bytes()).to_hex());
    let entry = SealedEntry { payload: entry.payload, ..with_header(header) };
    assert!(matches!(open(&entry), Err(RecordFault::Payload(CanonFault::NotCanonical { .. }))));
}

#[test]
fn the_site_and_a_plot_of_that_name_are_different_subjects() {
    let texts = [Subject::Site, plot("site"), plot("Site")].map(|s| serde_json::to_string(&s).unwrap());
    assert_eq!(texts, [r#""site""#, r#"{"plot":"site"}"#, r#"{"plot":"Site"}"#]);
}

/// Whether an entry still passes: opens, and both signatures are good.
fn passes(entry: &SealedEntry) -> bool {
    let (device_key, person_key) = example_keys();
    open(entry).is_ok()
        && entry.check_device_signature(Some(&device_key.public())) == SignatureVerdict::Good
        && entry.check_person_signature(Some(&person_key.public())) == Some(SignatureVerdict::Good)
}

fn flip(text: &mut String, bit: usize) -> bool {
    let mut bytes = text.clone().into_bytes();
    bytes[bit / 8] ^= 1 << (bit % 8);
    // Text that is no UTF-8 cannot even be stored as text.
    String::from_utf8(bytes).map(|flipped| *text = flipped).is_ok()
}

#[test]
fn every_single_flipped_bit_is_caught() {
    let good = example();
    assert!(passes(&good));
    let mut flipped = 0;
    for bit in 0..good.header.len() * 8 {
        let mut entry = good.clone();
        if flip(&mut entry.header, bit) {
            flipped += 1;
            assert!(open(&entry).is_err(), "header bit {bit}");
            // Nor under the id that the altered header has: then the signature is no longer over it.
            entry.id = id_of(&entry.header);
            let (device_key, _) = example_keys();
            let header_opens = open(&entry).is_ok();
            if header_opens && bit % 16 == 0 {
                let verdict = entry.check_device_signature(Some(&device_key.public()));
                assert_eq!(verdict, SignatureVerdict::Bad, "header bit {bit}");
            }
        }
    }
    for bit in 0..good.payload.len() * 8 {
        let mut entry = good.clone();
        if flip(&mut entry.payload, bit) {
            flipped += 1;
            assert!(open(&entry).is_err(), "payload bit {bit}");
        }
    }
    for bit in 0..256 {
        let mut entry = good.clone();
        entry.id.0[bit / 8] ^= 1 << (bit % 8);
        assert!(open(&entry).is_err(), "id bit {bit}");
    }
    for bit in 0..512 {
        let mut entry = good.clone();
        entry.device_signature[bit / 8] ^= 1 << (bit % 8);
        assert!(!passes(&entry), "device signature bit {bit}");
        let mut entry = good.clone();
        entry.person_signature.as_mut().unwrap()[bit / 8] ^= 1 << (bit % 8);
        assert!(!passes(&entry), "person signature bit {bit}");
    }
    assert!(flipped > 5000, "only {flipped} flips of text were possible");
}

#[test]
fn signatures_of_another_length_are_refused() {
    for length in [0, 63, 65, 70] {
        let entry = SealedEntry { device_signature: vec![1; length], ..example() };
        assert!(matches!(open(&entry), Err(RecordFault::SignatureLength { .. })), "{length}");
        let entry = SealedEntry { person_signature: Some(vec![1; length]), ..example() };
        assert!(matches!(open(&entry), Err(RecordFault::SignatureLength { .. })), "{length}");
    }
}

proptest! {
    #![proptest_config(fixed(64))]

    #[test]
    fn whatever_is_sealed_opens_as_the_same(
        seq in 2u64..1 << 53, time in 0i64..253_402_300_799_999, offset in -1080i32..=1080,
        name in "[ -~äß€]{1,40}", note in any::<String>(), version in 1u32..=65_535,
    ) {
        let Ok(name) = crate::ids::PlotId::new(&name) else { return Ok(()) };
        let mut rng = SeededRng::new(&note);
        let device_key = DeviceKey::generate(&mut rng);
        let heading = Heading {
            seq, version,
            subject: Subject::Plot(name),
            author: Some(PersonId([8; 16])),
            time: Timestamp::new(time, offset).unwrap(),
            kind: "reading-booked".to_owned(),
            ..heading_of(&example())
        };
        let payload = json!({ "note": note });
        let entry = seal(heading.clone(), &payload, &device_key, None).unwrap();
        let (header, read) = open(&entry).unwrap();
        prop_assert_eq!(header, heading.over(Sha256Digest::of(entry.payload.as_bytes())));
        prop_assert_eq!(read, payload);
        prop_assert_eq!(entry.check_device_signature(Some(&device_key.public())), SignatureVerdict::Good);
    }

    #[test]
    fn any_text_as_a_header_is_refused_without_panic(text in any::<String>()) {
        prop_assert!(open(&with_header(text)).is_err());
    }
}
