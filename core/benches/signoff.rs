//! Making a signed sign-off of about 20 pages and 60 photographs, and verifying it.

#[path = "../tests/finished_plot/mod.rs"]
mod finished_plot;

use criterion::{Criterion, criterion_group, criterion_main};
use gaugerod_core::signoff::cms::Signer;
use gaugerod_core::signoff::evidence::Signing;
use gaugerod_core::signoff::fonts::Fonts;
use gaugerod_core::signoff::issue::material;
use gaugerod_core::signoff::make::make_signed;
use gaugerod_core::signoff::model::certificate;
use gaugerod_core::signoff::verify::{Outcome, verify};

fn sign_off(bench: &mut Criterion) {
    let folder = tempfile::tempdir().expect("a folder");
    let mut site = finished_plot::build(folder.path(), 56, (1600, 1200));
    let plot = site.plot.clone();
    let view = site.register.begin_sign_off(&plot, &site.manager).expect("ready to sign");
    let material = material(&mut site.register, &plot, &mut |_, _| true).expect("material");
    let known = site.register.site().clone();
    let leaf = certificate(&known.people[&site.manager.person].enrolled.certificate).expect("a certificate");
    let root = site.register.authority().expect("an authority");
    let signer = Signer { key: site.manager.key().expect("unlocked"), leaf: &leaf, root: &root };
    let fonts = Fonts::shipped();
    let make = || {
        let signing = Signing { person: site.manager.person, drawn: Vec::new() };
        make_signed(&material, signing, &signer, &fonts).expect("a document").bytes
    };
    let bytes = make();
    let pages = lopdf::Document::load_mem(&bytes).expect("a PDF").page_iter().count();
    let photos = view.record.photos.len();
    println!("{pages} pages, {photos} photographs, {} KiB", bytes.len() >> 10);
    bench.bench_function("sign-off: make and sign", |b| b.iter(make));
    bench.bench_function("sign-off: verify", |b| {
        b.iter(|| assert_eq!(verify(&bytes, None, &fonts).outcome, Outcome::NotVouchedFor));
    });
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10);
    targets = sign_off
}
criterion_main!(benches);
