//! Whoever edits a stored byte is found out, by the name of what was edited.

use image::codecs::png::PngEncoder;
use image::{Rgb, RgbImage};
use proptest::prelude::*;

use super::*;
use crate::photo::{Limits, take_in_with_renditions};
use crate::record::Subject;

/// A register with entries of two devices, a photo, a document and a projection.
fn full_site() -> Site {
    let site = Site::with_entries();
    let mut store = Store::open(&site.path).unwrap();
    let mut photo = Vec::new();
    RgbImage::from_pixel(20, 10, Rgb([9, 40, 40])).write_with_encoder(PngEncoder::new(&mut photo)).unwrap();
    let (facts, made) = take_in_with_renditions(&photo, &Limits::default()).unwrap();
    store.put_photo(&photo, &facts).unwrap();
    store.put_renditions(facts.sha256, &made).unwrap();
    store.put_document(b"a delivery note", "text/plain").unwrap();
    let covered = store.heads().unwrap().digest_of(&plot("14"));
    let summary = Projection {
        name: "plot-summary".to_owned(),
        subject: plot("14"),
        covered,
        body: "{\"state\":\"open\"}".to_owned(),
    };
    store.put_projections(&[summary]).unwrap();
    drop(store);
    site
}

#[test]
fn a_whole_register_has_no_findings() {
    let site = full_site();
    let report = check(&Reader::open(&site.path).unwrap());
    assert_eq!(sentences(&report), Vec::<String>::new());
    assert_eq!((report.entries, report.originals, report.projections), (4, 2, 1));
    assert!(!report.stopped);
}

#[test]
fn every_edited_column_of_an_entry_names_that_entry() {
    let edits = [
        "id = zeroblob(32)",
        "header = replace(header, '\"seq\":2', '\"seq\":9')",
        "header = header || ' '",
        "payload = replace(payload, 'second', 'forged')",
        "payload = '{}'",
        "device_signature = zeroblob(64)",
        "person_signature = zeroblob(64)",
        "device = zeroblob(16)",
        "seq = 77",
        "prev = zeroblob(32)",
        "prev = NULL",
        "subject = 'plot/15'",
        "subject = 'site'",
        "subject_prev = zeroblob(32)",
        "kind = 'released'",
        "utc_ms = utc_ms + 1",
        "row_sha256 = zeroblob(32)",
    ];
    for edit in edits {
        let site = full_site();
        forge(&site.path, &format!("UPDATE entries SET {edit} WHERE arrival = 2"));
        let reader = Reader::open(&site.path).unwrap();
        let report = check(&reader);
        let named = |finding: &Finding| matches!(finding, Finding::Entry { arrival: Some(2), .. });
        assert!(report.findings.iter().any(named), "{edit}: {:?}", sentences(&report));
        assert!(report.findings.iter().any(Finding::touches_the_record), "{edit}");
    }
}

#[test]
fn an_entry_with_a_forged_row_digest_is_still_found_by_its_id() {
    // Somebody who edits the payload and mends the row's own digest: the id of the header gives it away.
    let site = full_site();
    let reader = Reader::open(&site.path).unwrap();
    let mut entry = reader.entries().unwrap().remove(1).entry;
    drop(reader);
    entry.payload = entry.payload.replace("second", "forged");
    let digest = super::super::read::row_digest(&entry);
    let hex: String = digest.iter().map(|b| format!("{b:02x}")).collect();
    forge(
        &site.path,
        &format!("UPDATE entries SET payload = '{}', row_sha256 = x'{hex}' WHERE arrival = 2", entry.payload),
    );
    let report = check(&Reader::open(&site.path).unwrap());
    let says = sentences(&report).join("\n");
    assert!(says.contains(&entry.id.to_hex()) && says.contains("SHA-256"), "{says}");
}

#[test]
fn a_deleted_entry_is_missed() {
    for arrival in 1..=4 {
        let site = full_site();
        forge(&site.path, &format!("DELETE FROM entries WHERE arrival = {arrival}"));
        let report = check(&Reader::open(&site.path).unwrap());
        assert!(!report.findings.is_empty(), "{arrival}");
    }
}

#[test]
fn edited_heads_are_named() {
    for sql in [
        "DELETE FROM device_heads",
        "UPDATE device_heads SET seq = 9",
        "DELETE FROM subject_heads WHERE subject = 'site'",
        "UPDATE subject_heads SET subject = 'plot/99' WHERE subject = 'site'",
    ] {
        let site = full_site();
        forge(&site.path, sql);
        let report = check(&Reader::open(&site.path).unwrap());
        assert!(
            report.findings.iter().any(|f| matches!(f, Finding::Heads { .. })),
            "{sql}: {:?}",
            sentences(&report)
        );
    }
}

#[test]
fn edited_photos_documents_and_renditions_are_named() {
    for (sql, original) in [
        ("UPDATE originals SET bytes = zeroblob(size)", true),
        ("UPDATE originals SET media_type = 'image/jpeg' WHERE media_type = 'image/png'", true),
        ("UPDATE originals SET media_type = 'image/png' WHERE media_type = 'text/plain'", true),
        ("UPDATE originals SET sha256 = zeroblob(32) WHERE media_type = 'text/plain'", true),
        ("UPDATE renditions SET bytes = x'00' WHERE kind = 'screen'", false),
        ("UPDATE renditions SET bytes_sha256 = zeroblob(32) WHERE kind = 'screen'", false),
    ] {
        let site = full_site();
        forge(&site.photos(), sql);
        let report = check(&Reader::open(&site.path).unwrap());
        let named = |finding: &Finding| match finding {
            Finding::Original { sha256, .. } => original && sha256.is_some(),
            Finding::Rendition { sha256, .. } => !original && sha256.is_some(),
            _ => false,
        };
        assert!(report.findings.iter().any(named), "{sql}: {:?}", sentences(&report));
    }
}

#[test]
fn an_edited_projection_is_named_and_not_used() {
    for edit in [
        "body = '{}'",
        "covered = zeroblob(32)",
        "subject = 'plot/7A'",
        "name = 'other'",
        "body_sha256 = zeroblob(32)",
    ] {
        let site = full_site();
        forge(&site.path, &format!("UPDATE projections SET {edit}"));
        let reader = Reader::open(&site.path).unwrap();
        let report = check(&reader);
        assert!(
            report.findings.iter().any(|f| matches!(f, Finding::Projection { .. })),
            "{edit}: {:?}",
            sentences(&report)
        );
        for name in ["plot-summary", "other"] {
            assert!(reader.projections(name).unwrap().is_empty(), "{edit}");
        }
    }
}

#[test]
fn hooks_see_everything_and_can_stop() {
    let site = full_site();
    let reader = Reader::open(&site.path).unwrap();
    let (mut entries, mut projections) = (0, 0);
    let report = reader.check(Hooks {
        entry: &mut |entry, header, payload| {
            entries += 1;
            assert_eq!(entry.id, crate::record::id_of(&entry.header));
            assert!(payload.get("remark").is_some());
            if header.subject == Subject::Site {
                vec!["its signature is not that of its device".to_owned()]
            } else {
                Vec::new()
            }
        },
        projection: &mut |projection| {
            projections += 1;
            vec![format!("{} would be reckoned otherwise", projection.name)]
        },
        progress: &mut |_| true,
    });
    assert_eq!((entries, projections), (4, 1));
    assert_eq!(report.findings.len(), 2, "{:?}", sentences(&report));

    let report = reader.check(Hooks {
        entry: &mut |_, _, _| Vec::new(),
        projection: &mut |_| Vec::new(),
        progress: &mut |progress| progress != Progress::Entries(2, 4),
    });
    assert!(report.stopped);
    assert_eq!(report.entries, 2);
}

/// Where these bytes lie in a file.
fn places(file: &[u8], bytes: &[u8]) -> Vec<usize> {
    let places = file.windows(bytes.len()).enumerate().filter(|(_, window)| *window == bytes);
    places.map(|(at, _)| at).collect()
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 120,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(20_261_126),
        ..ProptestConfig::default()
    })]

    /// One bit of the file itself, inside a stored header, payload, signature, photo or projection.
    #[test]
    fn a_flipped_bit_of_the_record_in_the_file_is_found(
        what in 0_usize..6,
        entry in 0_usize..4,
        at in any::<prop::sample::Index>(),
        bit in 0_u8..8,
    ) {
        let site = full_site();
        let reader = Reader::open(&site.path).unwrap();
        let stored = reader.entries().unwrap().remove(entry).entry;
        let photo = reader.originals().unwrap().remove(entry % 2).sha256;
        let (path, wanted) = match what {
            0 => (&site.path, stored.header.clone().into_bytes()),
            1 => (&site.path, stored.payload.clone().into_bytes()),
            2 => (&site.path, stored.device_signature.clone()),
            3 => (&site.path, stored.id.0.to_vec()),
            4 => (&site.photos(), reader.original_bytes(photo).unwrap()),
            _ => (&site.path, b"{\"state\":\"open\"}".to_vec()),
        };
        drop(reader);
        let mut file = std::fs::read(path).unwrap();
        // An id also stands in the entries that follow it and in indexes; any of them may be hit.
        let found = places(&file, &wanted);
        prop_assume!(!found.is_empty());
        let place = found[at.index(found.len())] + at.index(wanted.len());
        file[place] ^= 1 << bit;
        std::fs::write(path, &file).unwrap();
        match Reader::open(&site.path) {
            Ok(reader) => {
                let report = check(&reader);
                prop_assert!(!report.findings.is_empty(), "{what}, byte {place}");
                let says = sentences(&report).join("\n");
                let named = match what {
                    0..=2 => says.contains(&stored.id.to_hex()),
                    4 => says.contains(&photo.to_hex()),
                    5 => says.contains("plot-summary"),
                    _ => true,
                };
                prop_assert!(named, "{what}, byte {place}: {says}");
            }
            Err(error) => prop_assert!(!error.to_string().is_empty()),
        }
    }
}
