//! How long opening a site takes that has 1,000 plots, and booking one reading through the whole of the rules.
//!
//! The disk is the one with the system's temporary folder; a tablet's flash is slower.

use std::hint::black_box;
use std::path::Path;
use std::sync::Arc;

use criterion::{Criterion, criterion_group, criterion_main};
use gaugerod_core::entry::ReadValue;
use gaugerod_core::identity::{Cost, Passphrase, Pin, SeededRng};
use gaugerod_core::ids::{CriterionId, HoldPointId, PlotId, PointName};
use gaugerod_core::inspection::{Act, Command};
use gaugerod_core::plan_of_work::Role;
use gaugerod_core::register::{Enrolment, Founding, Register, Session, Surroundings};
use gaugerod_core::time::{SteppingClock, Timestamp};

const PLOTS: usize = 1_000;
const POINTS: [&str; 5] = ["G1", "G2", "G3", "G4", "G5"];

fn surroundings(folder: &Path) -> Surroundings {
    let start = Timestamp { utc_ms: 1_790_000_000_000, offset_min: 0 };
    Surroundings {
        clock: Arc::new(SteppingClock::new(start, 1_000)),
        rng: Box::new(SeededRng::new("bench")),
        device_file: folder.join("device"),
        device_name: "bench".to_owned(),
    }
}

fn plot(number: usize) -> PlotId {
    PlotId::new(&number.to_string()).expect("a name")
}

fn reading(plot: PlotId, point: &str) -> Command {
    let act = Act::BookReading {
        hold_point: HoldPointId::new("oversite").expect("a name"),
        criterion: CriterionId::new("level").expect("a name"),
        point: PointName::new(point).expect("a name"),
        value: ReadValue::Um(47_560_000),
        instrument: None,
    };
    Command::OnPlot { plot, act }
}

fn site(folder: &Path) -> (Register, Session) {
    let passphrase = Passphrase::new("an invented passphrase").expect("long enough");
    let founding = Founding {
        site: "Invented Meadow",
        invented: true,
        passphrase: &passphrase,
        cost: Cost::LEAST,
        limits: include_str!("../../assets/limits.toml"),
        plan: include_str!("../../assets/hold-points.toml"),
    };
    let mut register = Register::found(&folder.join("site.gaugerod"), &founding, surroundings(folder))
        .expect("a new register");
    let pin = Pin::new("1111").expect("a PIN");
    let enrolment = Enrolment {
        name: "Robin Example",
        role: Role::Supervisor,
        pin: &pin,
        passphrase: &passphrase,
        cost: Cost::LEAST,
    };
    let person = register.enrol(&enrolment).expect("enrolled");
    let session = register.session(person);
    let plots = (1..=PLOTS).map(plot).collect();
    let text = include_str!("../../assets/demo/semi.toml").to_owned();
    register.perform(&Command::IssueDesign { text, plots }, &session).expect("issued");
    for number in 1..=PLOTS {
        for point in POINTS {
            register.perform(&reading(plot(number), point), &session).expect("booked");
        }
    }
    register.summaries().expect("summed up");
    (register, session)
}

fn opening(c: &mut Criterion) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let (mut register, session) = site(folder.path());
    let path = folder.path().join("site.gaugerod");
    c.bench_function("open a register of 1,000 plots", |b| {
        b.iter(|| {
            let mut register = Register::open(&path, surroundings(folder.path())).expect("it opens");
            black_box(register.summaries().expect("summed up").len())
        });
    });
    c.bench_function("sum 1,000 plots up anew", |b| {
        b.iter(|| black_box(register.rebuild().expect("summed up").len()));
    });
    let mut number = 0;
    c.bench_function("book one reading durably through the rules", |b| {
        b.iter(|| {
            number += 1;
            black_box(register.perform(&reading(plot(1), POINTS[number % 5]), &session).expect("booked"))
        });
    });
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10);
    targets = opening
}
criterion_main!(benches);
