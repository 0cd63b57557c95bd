//! Photos, documents, renditions.

use image::codecs::png::PngEncoder;
use image::{Rgb, RgbImage};

use super::*;
use crate::ids::Sha256Digest;
use crate::photo::{Limits, PhotoFacts, RenditionKind, Renditions, take_in_with_renditions};

fn photo(shade: u8) -> (Vec<u8>, PhotoFacts, Renditions) {
    let mut bytes = Vec::new();
    RgbImage::from_pixel(20, 10, Rgb([shade, 40, 40]))
        .write_with_encoder(PngEncoder::new(&mut bytes))
        .unwrap();
    let (facts, made) = take_in_with_renditions(&bytes, &Limits::default()).unwrap();
    (bytes, facts, made)
}

#[test]
fn a_photo_keeps_its_bytes_and_is_stored_once() {
    let site = Site::new();
    let mut store = site.create();
    let (bytes, facts, made) = photo(200);
    assert!(store.put_photo(&bytes, &facts).unwrap());
    assert!(!store.put_photo(&bytes, &facts).unwrap(), "it is here already");
    store.put_renditions(facts.sha256, &made).unwrap();
    store.put_renditions(facts.sha256, &made).unwrap();
    drop(store);
    let reader = Reader::open(&site.path).unwrap();
    assert_eq!(reader.original_bytes(facts.sha256).unwrap(), bytes);
    let original = reader.original(facts.sha256).unwrap().unwrap();
    assert_eq!(original.media_type, "image/png");
    assert_eq!(original.size, bytes.len() as u64);
    assert_eq!(reader.originals().unwrap(), [original]);
    for kind in RenditionKind::ALL {
        assert_eq!(reader.rendition(facts.sha256, kind).unwrap().unwrap(), made.of(kind));
    }
    assert!(check(&reader).findings.is_empty());
}

#[test]
fn bytes_that_are_not_those_of_the_facts_are_refused() {
    let site = Site::new();
    let mut store = site.create();
    let ((bytes, _, _), (_, other, _)) = (photo(200), photo(100));
    let error = store.put_photo(&bytes, &other).unwrap_err();
    assert!(matches!(error, StoreError::OtherBytes { .. }), "{error}");
    assert!(store.originals().unwrap().is_empty());
}

#[test]
fn what_is_absent_is_said_to_be_absent() {
    let site = Site::new();
    let mut store = site.create();
    let absent = Sha256Digest([5; 32]);
    assert_eq!(store.original(absent).unwrap(), None);
    assert_eq!(store.rendition(absent, RenditionKind::Screen).unwrap(), None);
    let error = store.original_bytes(absent).unwrap_err();
    assert!(matches!(error, StoreError::NoOriginal { sha256 } if sha256 == absent));
    let (_, _, made) = photo(200);
    assert!(store.put_renditions(absent, &made).is_err(), "no rendition without its original");
}

#[test]
fn renditions_can_be_dropped_and_originals_stay() {
    let site = Site::new();
    let mut store = site.create();
    let (bytes, facts, made) = photo(200);
    store.put_photo(&bytes, &facts).unwrap();
    store.put_renditions(facts.sha256, &made).unwrap();
    store.drop_renditions().unwrap();
    assert_eq!(store.rendition(facts.sha256, RenditionKind::Screen).unwrap(), None);
    assert_eq!(store.original_bytes(facts.sha256).unwrap(), bytes);
}

#[test]
fn a_document_has_at_least_one_byte_and_at_most_25_million() {
    let site = Site::new();
    let mut store = site.create();
    let largest = vec![7; usize::try_from(MOST_DOCUMENT_BYTES).unwrap()];
    let sha256 = store.put_document(&largest, "application/octet-stream").unwrap();
    assert_eq!(store.original(sha256).unwrap().unwrap().size, MOST_DOCUMENT_BYTES);
    store.put_document(b"x", "text/plain").unwrap();
    let mut larger = largest;
    larger.push(7);
    for bytes in [&larger[..], b""] {
        let error = store.put_document(bytes, "text/plain").unwrap_err();
        assert!(matches!(error, StoreError::DocumentSize { .. }), "{error}");
    }
}
