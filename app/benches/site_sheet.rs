//! What one frame of the site sheet costs with a thousand plots: layout and painting by egui, and tessellation into
//! triangles, as the window does both each time something changed. Budget: 8 ms of CPU a frame.

use std::hint::black_box;
use std::sync::Arc;

use criterion::{Criterion, criterion_group, criterion_main};
use egui::{Context, Pos2, RawInput, Rect, vec2};
use gaugerod::screens::window_ui;
use gaugerod::state::{OpenRegister, Screen, State};
use gaugerod::surroundings::Machine;
use gaugerod::{shipped, theme};
use gaugerod_core::identity::{Cost, Passphrase, Pin};
use gaugerod_core::ids::PlotId;
use gaugerod_core::inspection::{Command, PlotSummary};
use gaugerod_core::plan_of_work::Role;
use gaugerod_core::register::{Enrolment, Founding, Register};

/// A site with one floor design, its plots over and over again, a thousand in all.
fn thousand() -> State {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().join("bench.gaugerod");
    let machine = Machine { cost: Cost::LEAST, ..Machine::with_settings(folder.path()) };
    let passphrase = Passphrase::new("twelve stones and a rod").expect("a passphrase");
    let founding = Founding {
        site: "Bench Field (invented)",
        invented: true,
        passphrase: &passphrase,
        cost: Cost::LEAST,
        limits: shipped::LIMITS,
        plan: shipped::PLAN_OF_WORK,
    };
    let mut register = Register::found(&path, &founding, machine.surroundings()).expect("a register");
    let pin = Pin::new("4711").expect("a PIN");
    let enrolment = Enrolment {
        name: "M. Ashby",
        role: Role::QualityManager,
        pin: &pin,
        passphrase: &passphrase,
        cost: Cost::LEAST,
    };
    let manager = register.enrol(&enrolment).expect("enrolled");
    let session = register.unlock(manager, &pin).expect("the PIN opens");
    let text = include_str!("../../assets/demo/semi.toml").to_owned();
    let plot = |number: usize| PlotId::new(&number.to_string()).expect("a plot's name");
    register.perform(&Command::IssueDesign { text, plots: vec![plot(1)] }, &session).expect("issued");
    let one = register.summaries().expect("the plots read").remove(0);
    let plots = (1..=1000).map(|number| PlotSummary { plot: plot(number), ..one.clone() }).collect();
    State {
        screen: Screen::Site,
        register: Some(OpenRegister {
            path,
            site: Arc::clone(register.site()),
            plots: Arc::new(plots),
            plot: None,
            read_only: false,
            restored_copy: false,
            fingerprint: String::new(),
            can_enrol: true,
            today: gaugerod_core::time::Date::new(2026, 9, 1).expect("a day"),
            on_disk: "14:02:07".to_owned(),
        }),
        ..State::default()
    }
}

fn site_sheet(criterion: &mut Criterion) {
    let ctx = Context::default();
    theme::install(&ctx);
    let mut state = thousand();
    let input = || RawInput {
        screen_rect: Some(Rect::from_min_size(Pos2::ZERO, vec2(1280.0, 800.0))),
        ..RawInput::default()
    };
    criterion.bench_function("a frame of the site sheet with 1,000 plots", |bencher| {
        bencher.iter(|| {
            let output = ctx.run_ui(input(), |ui| window_ui(ui, &mut state));
            let shapes = output.shapes.clone();
            black_box(ctx.tessellate(shapes, output.pixels_per_point));
            output.drop_without_applying_deltas();
        });
    });
}

criterion_group!(benches, site_sheet);
criterion_main!(benches);
