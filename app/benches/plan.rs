//! What one frame of a plan with five hundred reading points costs: layout and painting by egui, and tessellation into
//! triangles, as the window does both each time something changed. Budget: 4 ms of CPU a frame for the plan.
//!
//! Measured: the plan alone, fitted and zoomed in; the plan with the screen reader's tree; and the whole screen of the
//! hold point around it, with half of the points read.

use std::hint::black_box;
use std::sync::Arc;

use criterion::{Criterion, criterion_group, criterion_main};
use egui::{Context, Pos2, RawInput, Rect, Ui, Vec2, vec2};
use gaugerod::screens::window_ui;
use gaugerod::state::{AtTablet, OpenRegister, Screen, State};
use gaugerod::surroundings::Machine;
use gaugerod::widgets::{Camera, PlanView, plan_ui};
use gaugerod::{shipped, theme};
use gaugerod_core::entry::{ReadValue, ReadingBooked};
use gaugerod_core::identity::{Cost, Passphrase, Pin};
use gaugerod_core::ids::{CriterionId, HoldPointId, PlotId};
use gaugerod_core::inspection::fold::{Kept, Noted};
use gaugerod_core::inspection::{Command, standing};
use gaugerod_core::plan_drawing::{Drawing, Parts};
use gaugerod_core::plan_of_work::Role;
use gaugerod_core::register::{Enrolment, Founding, PlotView, Register};

/// Reading points of the floor.
const POINTS: usize = 500;

/// The demo's floor with its reading points so close that there are five hundred on the bearing walls.
fn design() -> String {
    let text = include_str!("../../assets/demo/semi.toml");
    // Walls A and B are 8400 long, C 5200: with the first point at 200 that is 183, 183 and 134 points.
    let [a, b, c] =
        [(182_u32, 8200_u32), (182, 8200), (133, 5000)].map(|(gaps, run)| f64::from(run) / f64::from(gaps));
    let mut parts = text.split("spacing_mm = 1600");
    let mut dense = parts.next().unwrap_or_default().to_owned();
    for (spacing, part) in [a, b, c].into_iter().zip(parts) {
        dense.push_str(&format!("spacing_mm = {:.3}", (spacing * 1000.0).floor() / 1000.0));
        dense.push_str(part);
    }
    dense
}

/// A register with one plot of that floor, half of its bearing levels read.
fn state() -> State {
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
    let person = register.enrol(&enrolment).expect("enrolled");
    let session = register.unlock(person, &pin).expect("the PIN opens");
    let plot = PlotId::new("1").expect("a plot's name");
    register
        .perform(&Command::IssueDesign { text: design(), plots: vec![plot.clone()] }, &session)
        .expect("issued");
    let view = register.plot(&plot).expect("the plot reads").expect("the plot is known");
    let mut record = view.record.clone();
    let names = record.design().bearing_point_names();
    assert_eq!(names.len(), POINTS);
    let noted: Noted = record.design_entry().clone();
    for (number, point) in (0_i64..).zip(names).filter(|(number, _)| number % 2 == 0) {
        // Deviations from −6 to +6 mm: conforming, too near to call and nonconforming ones among them.
        let um = 47_810_000 + (number * 7 % 13 - 6) * 1_000;
        let fact = ReadingBooked {
            hold_point: HoldPointId::new("bearing-level").expect("an id"),
            criterion: CriterionId::new("level").expect("an id"),
            point,
            value: ReadValue::Um(um),
            instrument: None,
        };
        record.readings.push(Kept { fact, noted: noted.clone(), supersedes: None, superseded: None });
    }
    let standing = standing(&record);
    let view = Arc::new(PlotView { record, standing });
    let plots = Arc::new(register.summaries().expect("the plots read"));
    State {
        screen: Screen::HoldPoint(plot.clone(), HoldPointId::new("bearing-level").expect("an id")),
        register: Some(OpenRegister {
            path,
            site: Arc::clone(register.site()),
            plots,
            plot: Some((plot, view)),
            read_only: false,
            restored_copy: false,
            fingerprint: String::new(),
            can_enrol: true,
            today: gaugerod_core::time::Date::new(2026, 9, 1).expect("a day"),
            on_disk: "14:02:07".to_owned(),
        }),
        at_tablet: Some(AtTablet {
            person,
            name: "M. Ashby".to_owned(),
            role: Role::QualityManager,
            unlocked: false,
        }),
        ..State::default()
    }
}

/// The plan of that plot.
fn plan(state: &State) -> PlanView {
    let (_, view) = state.register.as_ref().and_then(|one| one.plot.as_ref()).expect("a plot");
    let own = view.standing.hold_point(&HoldPointId::new("bearing-level").expect("an id")).expect("there");
    let levels = own.criterion(&CriterionId::new("level").expect("an id")).expect("there");
    let parts = Parts { services: true, membranes: false };
    let drawing = Drawing::of(view.record.design(), Some(levels), parts);
    assert_eq!(drawing.points.len(), POINTS);
    let current = drawing.points.get(1).map(|point| point.name.clone());
    PlanView { drawing: Arc::new(drawing), current, ..PlanView::default() }
}

fn frame(ctx: &Context, size: Vec2, mut paint: impl FnMut(&mut Ui)) {
    let input = RawInput { screen_rect: Some(Rect::from_min_size(Pos2::ZERO, size)), ..RawInput::default() };
    let output = ctx.run_ui(input, &mut paint);
    let shapes = output.shapes.clone();
    black_box(ctx.tessellate(shapes, output.pixels_per_point));
    output.drop_without_applying_deltas();
}

fn plans(criterion: &mut Criterion) {
    let mut state = state();
    let view = plan(&state);
    let room = vec2(640.0, 480.0);
    let close = Camera { zoom: 4.0, shift: vec2(300.0, -200.0) };
    for (what, camera, reads_aloud) in [
        ("a frame of a plan with 500 points", Camera::default(), false),
        ("the same, zoomed in", close, false),
        ("the same, with the screen reader's tree", Camera::default(), true),
    ] {
        let ctx = Context::default();
        theme::install(&ctx);
        if reads_aloud {
            ctx.enable_accesskit();
        }
        criterion.bench_function(what, |bencher| {
            bencher.iter(|| {
                let mut camera = camera;
                frame(&ctx, room, |ui| drop(plan_ui(ui, &view, &mut camera)));
            });
        });
    }
    let ctx = Context::default();
    theme::install(&ctx);
    criterion.bench_function("a frame of the hold point around it", |bencher| {
        bencher.iter(|| frame(&ctx, vec2(1280.0, 800.0), |ui| window_ui(ui, &mut state)));
    });
    criterion.bench_function("putting the plan together after a reading", |bencher| {
        bencher.iter(|| black_box(plan(&state)));
    });
}

criterion_group!(benches, plans);
criterion_main!(benches);
