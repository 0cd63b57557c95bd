//! Photographs made by the tests themselves: small, drawn, with EXIF data written in by hand.

use exif::experimental::Writer;
use exif::{Field, In, Rational, Tag, Value};
use image::codecs::jpeg::JpegEncoder;
use image::codecs::png::PngEncoder;
use image::{DynamicImage, GrayImage, Luma, Rgb, RgbImage};
use proptest::prelude::*;

use super::*;

const LIMITS: Limits = Limits { bytes: 200_000, side: 2_000, pixels: 1_000_000, pixels_held_whole: 500_000 };

/// Left half red, right half blue, with some texture so that the data are not all alike.
fn picture(width: u32, height: u32) -> RgbImage {
    RgbImage::from_fn(width, height, |x, y| {
        let grain = u8::try_from((x * 7 + y * 13) % 23).unwrap();
        if x < width / 2 { Rgb([220, 10 + grain, 10]) } else { Rgb([10, 10 + grain, 220]) }
    })
}

fn jpeg_of(picture: &DynamicImage) -> Vec<u8> {
    let mut bytes = Vec::new();
    picture.write_with_encoder(JpegEncoder::new_with_quality(&mut bytes, 90)).unwrap();
    bytes
}

fn jpeg(width: u32, height: u32) -> Vec<u8> {
    jpeg_of(&DynamicImage::ImageRgb8(picture(width, height)))
}

fn png(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = Vec::new();
    picture(width, height).write_with_encoder(PngEncoder::new(&mut bytes)).unwrap();
    bytes
}

fn field(tag: Tag, value: Value) -> Field {
    Field { tag, ifd_num: In::PRIMARY, value }
}

fn ascii(text: &str) -> Value {
    Value::Ascii(vec![text.as_bytes().to_vec()])
}

fn degrees(d: u32, m: u32, hundredths: u32) -> Value {
    let r = |num, denom| Rational { num, denom };
    Value::Rational(vec![r(d, 1), r(m, 1), r(hundredths, 100)])
}

/// Sets an EXIF block with these fields behind the start of a JPEG.
fn with_exif(jpeg: &[u8], fields: &[Field]) -> Vec<u8> {
    let mut writer = Writer::new();
    for field in fields {
        writer.push_field(field);
    }
    let mut block = std::io::Cursor::new(Vec::new());
    writer.write(&mut block, false).unwrap();
    let block = block.into_inner();
    let length = u16::try_from(block.len() + 8).unwrap();
    let mut bytes = jpeg[..2].to_vec();
    bytes.extend([0xFF, 0xE1]);
    bytes.extend(length.to_be_bytes());
    bytes.extend(b"Exif\0\0");
    bytes.extend(block);
    bytes.extend(&jpeg[2..]);
    bytes
}

fn site_photo() -> Vec<u8> {
    with_exif(
        &jpeg(64, 48),
        &[
            field(Tag::Orientation, Value::Short(vec![6])),
            field(Tag::DateTimeOriginal, ascii("2026:11:25 14:02:07")),
            field(Tag::OffsetTimeOriginal, ascii("+01:00")),
            field(Tag::GPSLatitudeRef, ascii("N")),
            field(Tag::GPSLatitude, degrees(51, 28, 4012)),
            field(Tag::GPSLongitudeRef, ascii("W")),
            field(Tag::GPSLongitude, degrees(0, 0, 531)),
        ],
    )
}

/// Where the frame (SOF0) of these JPEGs starts.
fn frame_at(jpeg: &[u8]) -> usize {
    jpeg.windows(2).position(|w| w == [0xFF, 0xC0]).unwrap()
}

#[test]
fn a_jpeg_is_described_and_passes_into_a_pdf() {
    let bytes = jpeg(64, 48);
    let facts = take_in(&bytes, &LIMITS).unwrap();
    assert_eq!(facts.media_type, MediaType::Jpeg);
    assert_eq!((facts.width, facts.height), (64, 48));
    assert_eq!((facts.components, facts.bit_depth), (3, 8));
    assert_eq!(facts.orientation, 1);
    assert_eq!(facts.sha256, Sha256Digest::of(&bytes));
    assert_eq!(facts.bytes, bytes.len() as u64);
    assert!(facts.captured_at.is_none() && facts.position.is_none());
    assert!(facts.passthrough);
}

#[test]
fn a_grey_jpeg_passes_and_a_png_does_not() {
    let grey = GrayImage::from_fn(40, 30, |x, y| Luma([u8::try_from(x + y).unwrap()]));
    let facts = take_in(&jpeg_of(&DynamicImage::ImageLuma8(grey)), &LIMITS).unwrap();
    assert_eq!(facts.components, 1);
    assert!(facts.passthrough);
    let facts = take_in(&png(40, 30), &LIMITS).unwrap();
    assert_eq!(facts.media_type, MediaType::Png);
    assert!(!facts.passthrough);
}

#[test]
fn a_jpeg_whose_components_are_named_rgb_without_a_statement_does_not_pass() {
    let mut bytes = jpeg(64, 48);
    let frame = frame_at(&bytes);
    // Take JFIF's statement away and name the components R, G, B in the frame and in the scan.
    let jfif = bytes.windows(5).position(|w| w == b"JFIF\0").unwrap();
    bytes[jfif] = b'X';
    let scan = bytes.windows(2).position(|w| w == [0xFF, 0xDA]).unwrap();
    for (i, name) in b"RGB".iter().enumerate() {
        bytes[frame + 10 + 3 * i] = *name;
        bytes[scan + 5 + 2 * i] = *name;
    }
    let facts = take_in(&bytes, &LIMITS).unwrap();
    assert!(!facts.passthrough);
}

#[test]
fn time_place_and_orientation_are_read_from_exif() {
    let facts = take_in(&site_photo(), &LIMITS).unwrap();
    assert_eq!(facts.orientation, 6);
    assert_eq!(facts.upright_size(), (48, 64));
    let captured = facts.captured_at.unwrap();
    assert_eq!(captured.offset_min, Some(60));
    assert_eq!(captured.instant(0).unwrap().to_string(), "2026-11-25T14:02:07+01:00");
    // 51°28'40.12" = 51 + 28/60 + 40.12/3600 = 51.47781111…; 0°0'5.31" = 0.001475 (by hand).
    let position = facts.position.unwrap();
    assert_eq!(position.latitude_e7, 514_778_111);
    assert_eq!(position.longitude_e7, -14_750);
    assert!(facts.passthrough, "EXIF data do not hinder");
}

#[test]
fn a_time_without_offset_takes_the_one_passed_in() {
    let bytes = with_exif(&jpeg(16, 16), &[field(Tag::DateTimeOriginal, ascii("2026:06:01 08:00:00"))]);
    let captured = take_in(&bytes, &LIMITS).unwrap().captured_at.unwrap();
    assert_eq!(captured.offset_min, None);
    assert_eq!(captured.instant(60).unwrap().to_string(), "2026-06-01T08:00:00+01:00");
}

#[test]
fn impossible_exif_data_count_as_not_there() {
    let zero = Value::Rational(vec![Rational { num: 1, denom: 0 }]);
    let bytes = with_exif(
        &jpeg(16, 16),
        &[
            field(Tag::Orientation, Value::Short(vec![9])),
            field(Tag::DateTimeOriginal, ascii("2026:13:41 08:00:00")),
            field(Tag::GPSLatitudeRef, ascii("N")),
            field(Tag::GPSLatitude, zero),
            field(Tag::GPSLongitudeRef, ascii("E")),
            field(Tag::GPSLongitude, degrees(181, 0, 0)),
        ],
    );
    let facts = take_in(&bytes, &LIMITS).unwrap();
    assert_eq!(facts.orientation, 1);
    assert_eq!(facts.captured_at, None);
    assert_eq!(facts.position, None);
}

#[test]
fn what_is_no_photo_is_refused_by_its_bytes() {
    assert_eq!(take_in(b"", &LIMITS), Err(PhotoRefusal::Empty));
    for bytes in [&b"%PDF-1.7"[..], b"GIF89a", b"\xFF\xD8", b"II*\0", b"photo.jpg"] {
        assert_eq!(take_in(bytes, &LIMITS), Err(PhotoRefusal::NoPhoto));
    }
}

#[test]
fn size_is_limited_below_on_and_above() {
    let bytes = jpeg(64, 48);
    let size = bytes.len() as u64;
    for (most, taken) in [(size + 1, true), (size, true), (size - 1, false)] {
        let limits = Limits { bytes: most, ..LIMITS };
        assert_eq!(take_in(&bytes, &limits).is_ok(), taken, "{most}");
    }
}

#[test]
fn sides_and_pixels_are_limited_below_on_and_above() {
    let jpeg = jpeg(64, 48);
    let png = png(64, 48);
    for (side, taken) in [(65, true), (64, true), (63, false)] {
        let limits = Limits { side, ..LIMITS };
        assert_eq!(take_in(&jpeg, &limits).is_ok(), taken, "{side}");
        assert_eq!(take_in(&png, &limits).is_ok(), taken, "{side}");
    }
    for (pixels, taken) in [(3_073, true), (3_072, true), (3_071, false)] {
        let limits = Limits { pixels, ..LIMITS };
        assert_eq!(take_in(&jpeg, &limits).is_ok(), taken, "{pixels}");
        let limits = Limits { pixels_held_whole: pixels, ..LIMITS };
        assert!(take_in(&jpeg, &limits).is_ok(), "one pass is not held whole");
        assert_eq!(take_in(&png, &limits).is_ok(), taken, "{pixels}");
    }
}

#[test]
fn absurd_dimensions_are_refused_before_decoding() {
    let mut bytes = jpeg(64, 48);
    let frame = frame_at(&bytes);
    for (height, width) in [(65_535_u16, 65_535_u16), (0, 64), (48, 0), (20_001, 1)] {
        bytes[frame + 5..frame + 7].copy_from_slice(&height.to_be_bytes());
        bytes[frame + 7..frame + 9].copy_from_slice(&width.to_be_bytes());
        let refusal = take_in(&bytes, &Limits::default()).unwrap_err();
        assert!(matches!(refusal, PhotoRefusal::Dimensions { .. }), "{refusal}");
    }
    let mut bytes = png(64, 48);
    // The checksum of the header is wrong now: whoever decoded first would complain of that.
    bytes[16..24].copy_from_slice(&[0, 1, 0, 0, 0, 1, 0, 0]);
    let refusal = take_in(&bytes, &Limits::default()).unwrap_err();
    assert!(matches!(refusal, PhotoRefusal::Dimensions { .. }), "{refusal}");
}

#[test]
fn every_cut_of_a_photo_is_refused() {
    for whole in [jpeg(40, 30), png(40, 30)] {
        for length in 0..whole.len() {
            let refusal = take_in(&whole[..length], &LIMITS).unwrap_err();
            let expected = match length {
                0 => matches!(refusal, PhotoRefusal::Empty),
                1..8 => matches!(refusal, PhotoRefusal::NoPhoto | PhotoRefusal::CutShort(_)),
                _ => matches!(refusal, PhotoRefusal::CutShort(_)),
            };
            assert!(expected, "{length} of {}: {refusal}", whole.len());
        }
    }
}

#[test]
fn a_picture_whose_data_stop_early_is_refused_though_its_end_is_there() {
    let whole = jpeg(200, 200);
    let data = whole.windows(2).position(|w| w == [0xFF, 0xDA]).unwrap() + 14;
    for ninths in 0..=8 {
        let mut short = whole[..data + (whole.len() - data) * ninths / 9].to_vec();
        if short.last() == Some(&0xFF) {
            short.pop();
        }
        short.extend([0xFF, 0xD9]);
        let refusal = take_in(&short, &LIMITS).unwrap_err();
        assert!(matches!(refusal, PhotoRefusal::Damaged(_)), "{ninths}: {refusal}");
    }
}

#[test]
fn small_and_flat_pictures_are_whole() {
    // The rows of these need fewer bytes than a decoder looks ahead.
    for (width, height) in [(1, 1), (1, 100), (8, 8), (16, 200), (17, 33), (200, 16)] {
        for grey in [0, 127, 255] {
            let flat = GrayImage::from_pixel(width, height, Luma([grey]));
            for picture in [
                DynamicImage::ImageLuma8(flat.clone()),
                DynamicImage::ImageRgb8(DynamicImage::ImageLuma8(flat).into_rgb8()),
            ] {
                let taken = take_in(&jpeg_of(&picture), &LIMITS);
                assert!(taken.is_ok(), "{width} × {height}, {grey}: {taken:?}");
            }
        }
    }
}

#[test]
fn what_a_phone_appends_behind_the_picture_is_kept() {
    let mut bytes = jpeg(64, 48);
    bytes.extend(b"a short film");
    let facts = take_in(&bytes, &LIMITS).unwrap();
    assert_eq!(facts.bytes, bytes.len() as u64);
}

#[test]
fn lossless_twelve_bit_and_two_component_jpegs_are_named_as_unsupported() {
    let whole = jpeg(64, 48);
    let frame = frame_at(&whole);
    for (offset, value) in [(1, 0xC3), (4, 12)] {
        let mut bytes = whole.clone();
        bytes[frame + offset] = value;
        let refusal = take_in(&bytes, &LIMITS).unwrap_err();
        assert!(matches!(refusal, PhotoRefusal::Unsupported(_)), "{refusal}");
    }
}

fn close_to(pixel: Rgb<u8>, wanted: [u8; 3]) -> bool {
    (0..3).all(|i| pixel.0[i].abs_diff(wanted[i]) <= 40)
}

#[test]
fn renditions_fit_their_squares_and_stand_upright() {
    let bytes = with_exif(&jpeg(1_700, 100), &[field(Tag::Orientation, Value::Short(vec![6]))]);
    let (facts, made) = take_in_with_renditions(&bytes, &LIMITS).unwrap();
    assert_eq!(made, renditions(&bytes, &facts).unwrap());
    let screen = image::load_from_memory(&made.screen).unwrap().into_rgb8();
    // 100 × 1600 / 1700 = 94.1.
    assert_eq!(screen.dimensions(), (94, 1_600));
    // Orientation 6 (EXIF 2.32, 4.6.4): the first column is the visual top. The left half is red.
    assert!(close_to(*screen.get_pixel(47, 100), [220, 20, 10]));
    assert!(close_to(*screen.get_pixel(47, 1_500), [10, 20, 220]));
    let thumbnail = image::load_from_memory(&made.thumbnail).unwrap();
    assert_eq!((thumbnail.width(), thumbnail.height()), (19, 320));
}

#[test]
fn every_orientation_puts_red_where_exif_says() {
    // (orientation, where the red left half is seen: as a point in hundredths of width and height).
    let table = [
        (1, (10, 50)),
        (2, (90, 50)),
        (3, (90, 50)),
        (4, (10, 50)),
        (5, (50, 10)),
        (6, (50, 10)),
        (7, (50, 90)),
        (8, (50, 90)),
    ];
    for (orientation, (x, y)) in table {
        let bytes = with_exif(&jpeg(96, 64), &[field(Tag::Orientation, Value::Short(vec![orientation]))]);
        let facts = take_in(&bytes, &LIMITS).unwrap();
        let made = rendition(&bytes, &facts, 48, 90).unwrap();
        let seen = image::load_from_memory(&made).unwrap().into_rgb8();
        let (width, height) = facts.upright_size();
        assert_eq!(seen.dimensions(), (width / 2, height / 2), "{orientation}");
        let pixel = *seen.get_pixel(seen.width() * x / 100, seen.height() * y / 100);
        assert!(close_to(pixel, [220, 20, 10]), "{orientation}: {pixel:?}");
    }
}

#[test]
fn a_small_photo_is_not_made_larger() {
    let bytes = png(40, 30);
    let (_, made) = take_in_with_renditions(&bytes, &LIMITS).unwrap();
    for kind in RenditionKind::ALL {
        let seen = image::load_from_memory(made.of(kind)).unwrap();
        assert_eq!((seen.width(), seen.height()), (40, 30));
    }
}

#[test]
fn other_bytes_than_those_of_the_facts_make_no_rendition() {
    let bytes = jpeg(64, 48);
    let facts = take_in(&bytes, &LIMITS).unwrap();
    assert!(renditions(&jpeg(48, 64), &facts).is_err());
    assert!(renditions(&bytes[..bytes.len() - 1], &facts).is_err());
    assert!(renditions(&png(64, 48), &facts).is_err());
}

#[test]
fn facts_survive_being_stored_as_json() {
    let facts = take_in(&site_photo(), &LIMITS).unwrap();
    let json = serde_json::to_string(&facts).unwrap();
    assert!(json.contains("\"image/jpeg\"") && json.contains("2026-11-25T14:02:07"));
    assert_eq!(serde_json::from_str::<PhotoFacts>(&json).unwrap(), facts);
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 400,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(20_261_125),
        ..ProptestConfig::default()
    })]

    /// Hostile bytes: photos with bytes changed, cut out and put in. Taken in or refused, never a panic,
    /// and what is taken in can be made smaller.
    #[test]
    fn damaged_photos_are_taken_in_or_refused_without_a_panic(
        kind in 0_usize..3,
        flips in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..6),
        cut in prop::option::of((any::<prop::sample::Index>(), 0_usize..40)),
    ) {
        let mut bytes = match kind {
            0 => jpeg(24, 17),
            1 => png(24, 17),
            _ => site_photo(),
        };
        for (at, value) in flips {
            let at = at.index(bytes.len());
            bytes[at] = value;
        }
        if let Some((at, length)) = cut {
            let at = at.index(bytes.len());
            let end = (at + length).min(bytes.len());
            bytes.drain(at..end);
        }
        if let Ok((facts, made)) = take_in_with_renditions(&bytes, &LIMITS) {
            prop_assert_eq!(facts.sha256, Sha256Digest::of(&bytes));
            prop_assert!(image::load_from_memory(&made.screen).is_ok());
        }
    }

    /// Bytes that only start like a photo.
    #[test]
    fn noise_behind_a_photos_first_bytes_never_panics(
        jpeg_like in any::<bool>(),
        noise in prop::collection::vec(any::<u8>(), 0..300),
    ) {
        let mut bytes = if jpeg_like {
            vec![0xFF, 0xD8, 0xFF]
        } else {
            b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR".to_vec()
        };
        bytes.extend(noise);
        prop_assert!(take_in(&bytes, &LIMITS).is_err());
    }
}
