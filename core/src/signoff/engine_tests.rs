//! The engine as a whole: a document with everything on it, made twice, signed, damaged, looked at.

use std::collections::BTreeMap;

use super::attach::{Attachment, EVIDENCE_NAME};
use super::cms::Signer;
use super::finish::{About, write};
use super::flow::{BODY, Cell, Column, Field, Flow, Picture, STRONG, TitleBlock, wrap};
use super::fonts::{Fonts, Weight};
use super::inspect::{Finding, Inspection, inspect};
use super::marks::Mark;
use super::page::Style;
use super::paper::{Jpeg, Paper};
use super::sign::{Statement, prepare, sign};
use crate::identity::seeded::SeededRng;
use crate::identity::{Authority, Certificate, SigningIdentity};
use crate::time::Timestamp;

/// 2026-11-25 14:30 UTC.
const WHEN: i64 = 1_795_617_000_000;

fn when() -> Timestamp {
    Timestamp::new(WHEN, 0).unwrap()
}

/// A picture drawn here: a gradient with a bar, as JPEG.
fn picture(width: u32, height: u32) -> Jpeg {
    let image = image::RgbImage::from_fn(width, height, |x, y| {
        let shade = |part: u32, whole: u32| u8::try_from(part * 255 / whole).unwrap();
        if x / 20 % 5 == 0 {
            image::Rgb([40, 40, 40])
        } else {
            image::Rgb([shade(x, width), shade(y, height), 120])
        }
    });
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 80).encode_image(&image).unwrap();
    Jpeg::from_bytes(bytes).unwrap()
}

fn block(draft: bool) -> TitleBlock {
    TitleBlock {
        upper: vec![
            Field::new("Site", "Fallow Lane (invented)", 0.4),
            Field::new("Plot", "7", 0.12),
            Field::new("Drawing", "FL-GF-07", 0.24),
            Field::new("Revision", "C", 0.12),
        ],
        lower: vec![
            Field::new(
                "Document",
                "Sign-off of a suspended ground floor with a name that is far too long",
                0.4,
            ),
            Field::new("Date", "2026-11-25", 0.16),
            Field::new("Root of the record", "0123456789abcdef…", 0.44),
        ],
        head: "Contractor's record. Not a Building Regulations approval, not a structural certificate."
            .to_owned(),
        across: draft.then(|| "DRAFT".to_owned()),
    }
}

pub(super) fn sample(draft: bool) -> Vec<u8> {
    let fonts = Fonts::shipped();
    let mut flow = Flow::new(&fonts, block(draft));
    flow.title("Sign-off: suspended ground floor");
    flow.facts(
        3,
        &[
            ("Site", "Fallow Lane (invented)".to_owned()),
            ("Plot", "7".to_owned()),
            ("Drawing and revision", "FL-GF-07, C".to_owned()),
            ("Supervisor", "Åsa O’Brien-Łukasz".to_owned()),
            ("Quality manager", "R. Ó Dálaigh".to_owned()),
            ("Missing in the face", "中\u{7}x".to_owned()),
        ],
    );
    flow.banner(
        Mark::Conforming,
        "All hold points released",
        "Nine hold points, 41 readings, one concession. Nothing was covered without release.",
    );
    flow.note("What this is", "This is the contractor's own record of what was read and released on site. It is no approval under the Building Regulations and no structural certificate. Anything structural is for the engineer, gas for a registered engineer.");
    flow.heading("Outstanding matters");
    for (sign, text) in
        [("1", "Plot 7, bearing B5: +9 mm, conceded by the designer."), ("2", "No further matter.")]
    {
        flow.item(sign, text, BODY);
    }
    flow.new_sheet();
    flow.heading("Bearing level");
    flow.paragraph("Limits +5 / −10 mm about 47.810 m; expanded uncertainty 3 mm, guarded acceptance (JCGM 106:2012, 8.3.2).", BODY);
    let columns = [
        Column::words("Point", 1.0),
        Column::numbers("Level, m", 1.2),
        Column::numbers("Deviation, mm", 1.4),
        Column::words("Verdict", 2.0),
        Column::words("Remark", 3.4),
    ];
    let marks = [Mark::Conforming, Mark::Nonconforming, Mark::Undetermined, Mark::Concession, Mark::Open];
    let rows: Vec<Vec<Cell>> = (0..70_usize)
        .map(|index| {
            vec![
                Cell::text(format!("A{index}")),
                Cell::text(format!("47.{:03}", 800 + index)),
                Cell::text(format!("+{index}")),
                Cell::verdict(marks[index % 5]),
                Cell::small(if index == 30 {
                    "a long remark, said again and again. ".repeat(200)
                } else {
                    "–".to_owned()
                }),
            ]
        })
        .collect();
    flow.table(&columns, &rows);
    flow.subheading("Photographs");
    let caption = |n: usize| {
        vec![
            format!("Photo {n}: bearing wall A"),
            "2026-11-20 09:14, at the wall; SHA-256 0123456789abcdef".to_owned(),
        ]
    };
    flow.pictures(&[
        Picture { resource: Some("PhA".to_owned()), width: 400, height: 300, caption: caption(1) },
        Picture { resource: Some("PhB".to_owned()), width: 150, height: 300, caption: caption(2) },
        Picture { resource: Some("PhA".to_owned()), width: 400, height: 300, caption: caption(3) },
    ]);
    flow.paragraph("End of the record.", STRONG);
    let photos =
        BTreeMap::from([("PhA".to_owned(), picture(400, 300)), ("PhB".to_owned(), picture(150, 300))]);
    let paper = Paper { sheets: flow.into_sheets(), photos };
    let about = About {
        title: "Sign-off <plot & 7> “Fallow Lane”".to_owned(),
        author: "Invented Homes".to_owned(),
        subject: "Suspended ground floor".to_owned(),
        producer: "Gaugerod 0.1.0".to_owned(),
        created: when(),
    };
    let evidence = Attachment {
        name: EVIDENCE_NAME.to_owned(),
        media_type: "application/json".to_owned(),
        description: "The record".to_owned(),
        bytes: br#"{"invented":true}"#.to_vec(),
        modified: when(),
    };
    write(paper, &fonts, &about, evidence).unwrap()
}

struct People {
    root: Certificate,
    leaf: Certificate,
    key: SigningIdentity,
}

impl People {
    fn signer(&self) -> Signer<'_> {
        Signer { key: &self.key, leaf: &self.leaf, root: &self.root }
    }
}

/// A throwaway authority and one person under it; another seed makes another one. Valid in the years 2026 to 2035.
fn people(seed: &str) -> People {
    let mut rng = SeededRng::new(seed);
    let (from, until) =
        (Timestamp::new(1_767_225_600_000, 0).unwrap(), Timestamp::new(2_082_758_399_000, 0).unwrap());
    let authority_key = SigningIdentity::generate(&mut rng);
    let authority = Authority::found("Fallow Lane (invented)", from, until, authority_key, &mut rng).unwrap();
    let key = SigningIdentity::generate(&mut rng);
    let leaf = authority.issue("R. Quality", "quality manager", key.public(), from, until, &mut rng).unwrap();
    People { root: authority.root().clone(), leaf, key }
}

fn statement() -> Statement {
    Statement {
        name: "R. Quality".to_owned(),
        role: "quality manager".to_owned(),
        reason: "Sign-off of plot 7".to_owned(),
        location: "Fallow Lane (invented)".to_owned(),
        time: when(),
        vouched: "Vouched for by the register's own authority, fingerprint 01:23:45:67:89:ab:cd:ef"
            .to_owned(),
        drawn: vec![
            vec![(0.1, 0.7), (0.2, 0.2), (0.3, 0.8), (0.5, 0.4), (0.9, 0.6)],
            vec![(0.4, f32::NAN), (2.0, 0.5)],
        ],
    }
}

fn signed() -> Vec<u8> {
    let people = people("one");
    let signer = people.signer();
    sign(sample(false), &Fonts::shipped(), &signer, &statement()).unwrap()
}

fn names(seen: &Inspection) -> Vec<&'static str> {
    seen.findings.iter().map(Finding::name).collect()
}

#[test]
fn same_input_same_bytes() {
    let (unsigned, whole) = (sample(false), signed());
    assert_eq!(unsigned, sample(false));
    assert_eq!(whole, signed());
    assert_ne!(unsigned, sample(true));
}

#[test]
fn a_signed_document_is_sound_and_says_who() {
    let whole = signed();
    let seen = inspect(&whole);
    assert_eq!(seen.findings, []);
    let words = seen.signature.as_ref().unwrap();
    assert_eq!((words.name.as_str(), words.time), ("R. Quality", Some(when())));
    assert_eq!(seen.evidence.as_deref(), Some(br#"{"invented":true}"#.as_slice()));
    assert_eq!(seen.root, Some(people("one").root));
    let unsigned = sample(false);
    assert_eq!(&whole[..seen.unsigned.unwrap()], unsigned.as_slice());
    let photos: BTreeMap<_, _> = seen.photos.into_iter().collect();
    assert_eq!(photos["PhA"], picture(400, 300).bytes());
}

#[test]
fn the_update_can_be_made_again_but_for_the_signature_itself() {
    let whole = signed();
    let prepared = prepare(sample(false), &Fonts::shipped(), &statement()).unwrap();
    let gap = inspect(&whole).gap.unwrap();
    assert_eq!(gap, prepared.gap);
    assert_eq!(whole[..gap.start], prepared.bytes[..gap.start]);
    assert_eq!(whole[gap.end..], prepared.bytes[gap.end..]);
}

#[test]
fn an_unsigned_document_says_so() {
    assert_eq!(names(&inspect(&sample(true))), ["unsigned"]);
}

#[test]
fn a_changed_byte_in_the_signed_range_is_named() {
    let whole = signed();
    let gap = inspect(&whole).gap.unwrap();
    let mut random = 0x1234_5678_u64;
    for round in 0..150 {
        random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let at = usize::try_from(random >> 33).unwrap() % whole.len();
        let mut bytes = whole.clone();
        bytes[at] ^= 1 << (round % 8);
        let seen = inspect(&bytes);
        // Within the gap the two spellings of a hexadecimal digit are one value.
        let same = gap.contains(&at) && bytes[at].eq_ignore_ascii_case(&whole[at]);
        assert!(same || !seen.findings.is_empty(), "byte {at} of {}", whole.len());
    }
}

#[test]
fn cut_short_anywhere_it_is_refused_without_a_panic() {
    let whole = signed();
    let step = whole.len() / 97;
    let near_end = whole.len() - 40..whole.len() - 1;
    for length in (0..whole.len() - 1).step_by(step.max(1)).chain(near_end) {
        assert!(!inspect(&whole[..length]).findings.is_empty(), "{length} bytes");
    }
}

#[test]
fn appended_bytes_are_counted() {
    let whole = signed();
    for tail in [b"x".as_slice(), b"\n", b"% a remark\n%%EOF\n", b"\0\0\0\0"] {
        let bytes = [whole.as_slice(), tail].concat();
        assert!(
            inspect(&bytes).findings.contains(&Finding::Appended(tail.len())),
            "{tail:?}: {:?}",
            inspect(&bytes).findings
        );
    }
}

#[test]
fn a_second_signature_on_top_is_named() {
    let people = people("two");
    let signer = people.signer();
    let twice = sign(signed(), &Fonts::shipped(), &signer, &statement()).unwrap();
    let names = names(&inspect(&twice));
    assert!(names.contains(&"several-signatures") && names.contains(&"bytes-appended"), "{names:?}");
}

#[test]
fn a_leaf_of_another_authority_has_nobody_to_vouch() {
    let (people, strangers) = (people("one"), people("two"));
    let signer = Signer { key: &people.key, leaf: &people.leaf, root: &strangers.root };
    let bytes = sign(sample(false), &Fonts::shipped(), &signer, &statement()).unwrap();
    assert_eq!(inspect(&bytes).findings, [Finding::NoAuthority]);
    let signer = Signer { key: &strangers.key, leaf: &people.leaf, root: &people.root };
    assert!(sign(sample(false), &Fonts::shipped(), &signer, &statement()).is_err());
}

#[test]
fn a_time_outside_of_the_certificate_is_named() {
    let people = people("one");
    let signer = people.signer();
    // One second before 2026, when the certificate begins, and the first second of it.
    for (ms, wanted) in [(1_767_225_599_000, vec!["certificate"]), (1_767_225_600_000, vec![])] {
        let says = Statement { time: Timestamp::new(ms, 0).unwrap(), ..statement() };
        let bytes = sign(sample(false), &Fonts::shipped(), &signer, &says).unwrap();
        assert_eq!(names(&inspect(&bytes)), wanted);
    }
}

#[test]
fn what_is_no_pdf_is_unusable() {
    assert_eq!(names(&inspect(b"")), ["not-a-pdf"]);
    assert_eq!(names(&inspect(b"PK\x03\x04")), ["not-a-pdf"]);
    assert_eq!(names(&inspect(b"%PDF-1.7\n")), ["cut-short"]);
    assert_eq!(names(&inspect(b"%PDF-1.7\n%%EOF")), ["unreadable"]);
}

#[test]
fn every_line_is_within_its_width_and_nothing_is_lost() {
    let fonts = Fonts::shipped();
    let style = Style::new(Weight::Regular, 9.0);
    let text = "a gap of 12 mm Donaudampfschifffahrtsgesellschaftskapitänsmützenabzeichen\n\nnext, +5/−10";
    let lines = wrap(&fonts, style, text, 30.0);
    assert!(lines.iter().all(|line| fonts.width(style.weight, style.size, line) <= 30.0));
    let letters = |text: &str| text.chars().filter(|c| !c.is_whitespace()).collect::<String>();
    assert_eq!(letters(&lines.concat()), letters(text));
}

#[test]
fn a_character_that_the_face_lacks_is_written_as_its_number() {
    let fonts = Fonts::shipped();
    assert_eq!(fonts.readable(Weight::Regular, "A中\u{7}\u{a0}é"), "A[U+4E2D][U+0007] é");
}
