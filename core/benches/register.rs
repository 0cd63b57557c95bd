//! How long the store takes for what a supervisor waits for: booking one entry durably, taking in one photo.
//!
//! The disk is the one with the system's temporary folder; a tablet's flash is slower.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use gaugerod_core::identity::{DeviceKey, SigningIdentity};
use gaugerod_core::ids::{DeviceId, PersonId, PlotId, RegisterId};
use gaugerod_core::photo::{Limits, renditions, take_in, take_in_with_renditions};
use gaugerod_core::record::{Heading, SealedEntry, Subject, seal};
use gaugerod_core::store::{Heads, RegisterMeta, Store, StoreError};
use gaugerod_core::time::Timestamp;
use image::codecs::jpeg::JpegEncoder;
use image::{Rgb, RgbImage};
use serde_json::json;

const DEVICE: DeviceId = DeviceId([0xA1; 16]);
const REGISTER: RegisterId = RegisterId([7; 16]);

fn next(heads: &Heads, key: &DeviceKey, subject: &Subject) -> SealedEntry {
    let before = heads.device(DEVICE);
    let heading = Heading {
        register: REGISTER,
        device: DEVICE,
        seq: before.map_or(1, |mark| mark.seq + 1),
        prev: before.map(|mark| mark.id),
        subject: subject.clone(),
        subject_prev: heads.subject(DEVICE, subject).map(|mark| mark.id),
        seen: heads.seen_by(DEVICE),
        author: Some(PersonId([3; 16])),
        time: Timestamp::new(1_795_600_000_000, 0).expect("a time within bounds"),
        kind: "reading-booked".to_owned(),
        version: 1,
        plan: None,
        floor_design: None,
    };
    let payload =
        json!({ "hold_point": "bearing-level", "criterion": "level", "point": "B5", "value_um": 52_345_000 });
    seal(heading, &payload, key, None).expect("a sound entry")
}

/// A register of 1,000 plots, so that the heads are as many as on a large site.
fn booking(c: &mut Criterion) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let meta = RegisterMeta { register: REGISTER, site: "Invented Meadow".to_owned() };
    let key = SigningIdentity::from_secret(&[9; 32]).expect("a key").into();
    let mut store = Store::create(&folder.path().join("site.gaugerod"), &meta, &[]).expect("a new register");
    let plots: Vec<Subject> =
        (1..=1_000).map(|n| Subject::Plot(PlotId::new(&n.to_string()).expect("a name"))).collect();
    for plot in &plots {
        store.append(|heads| Ok::<_, StoreError>(vec![next(heads, &key, plot)])).expect("room on the disk");
    }
    let mut turn = 0;
    c.bench_function("book one entry durably, 1000 plots", |b| {
        b.iter(|| {
            turn = (turn + 1) % plots.len();
            store.append(|heads| Ok::<_, StoreError>(vec![next(heads, &key, &plots[turn])]))
        });
    });
}

/// Deterministic noise over gradients: about as hard to code as a photograph of a building site.
fn photograph() -> Vec<u8> {
    let mut state = 0x2545_F491_4F6C_DD1D_u64;
    let picture = RgbImage::from_fn(4_000, 3_000, |x, y| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        let grain = u8::try_from(state % 24).unwrap_or(0);
        let slope = |v: u32, most: u32| u8::try_from(v * 200 / most).unwrap_or(0);
        Rgb([slope(x, 4_000) + grain, slope(y, 3_000) + grain, 90 + grain])
    });
    let mut bytes = Vec::new();
    picture
        .write_with_encoder(JpegEncoder::new_with_quality(&mut bytes, 85))
        .expect("a picture can be written");
    bytes
}

fn photos(c: &mut Criterion) {
    let bytes = photograph();
    let limits = Limits::default();
    let mut group = c.benchmark_group(format!("12-megapixel photo of {} kB", bytes.len() / 1_000));
    group.sample_size(10);
    group.bench_function("take in", |b| b.iter(|| take_in(black_box(&bytes), &limits)));
    group.bench_function("take in and make both renditions", |b| {
        b.iter(|| take_in_with_renditions(black_box(&bytes), &limits));
    });
    let facts = take_in(&bytes, &limits).expect("a sound photo");
    group.bench_function("make both renditions again", |b| {
        b.iter(|| renditions(black_box(&bytes), &facts));
    });
    let folder = tempfile::tempdir().expect("a temporary folder");
    let meta = RegisterMeta { register: REGISTER, site: "Invented Meadow".to_owned() };
    let mut store = Store::create(&folder.path().join("site.gaugerod"), &meta, &[]).expect("a new register");
    let mut turn = 0_u64;
    group.bench_function("store the original durably", |b| {
        b.iter_batched(
            || {
                // Another photo each time: bytes behind the end of the picture do not matter.
                turn += 1;
                let mut other = bytes.clone();
                other.extend(turn.to_be_bytes());
                let facts = gaugerod_core::ids::Sha256Digest::of(&other);
                (other, facts)
            },
            |(other, sha256)| store.put_original(&other, sha256, "image/jpeg"),
            criterion::BatchSize::LargeInput,
        );
    });
    group.finish();
}

criterion_group!(benches, booking, photos);
criterion_main!(benches);
