//! An invented plot with its beams, levels, laps and pour booked under the shipped plan of work: for benchmarks.
//! Photographs and answers are left out: they are not reckoned.

#![allow(clippy::unwrap_used)] // scaffolding of benchmarks: what fails here ends it

use std::path::Path;
use std::sync::Arc;

use gaugerod_core::entry::{
    ConditionsBooked, CubesTaken, CubesTested, DeliveryBooked, DeliveryLine, PourFact, PourMoment, PourTimed,
    ReadValue, TicketBooked,
};
use gaugerod_core::identity::{Cost, Passphrase, Pin, SeededRng};
use gaugerod_core::ids::{CriterionId, HoldPointId, PlotId, PointName};
use gaugerod_core::inspection::{Act, Command, feeds};
use gaugerod_core::plan_of_work::{CriterionKind, Feed, ReadingUnit, Role};
use gaugerod_core::quantity::Length;
use gaugerod_core::register::{Enrolment, Founding, PlotView, Register, Session, Surroundings};
use gaugerod_core::time::{SteppingClock, Timestamp};

const PLAN: &str = include_str!("../../../assets/hold-points.toml");
const LIMITS: &str = include_str!("../../../assets/limits.toml");
const DESIGN: &str = include_str!("../../../assets/demo/semi.toml");

/// 2026-11-02 08:00 UTC.
const START: i64 = 1_793_606_400_000;

struct Work {
    register: Register,
    by: Session,
    plot: PlotId,
}

/// The plot with everything that is measured booked at or near its target.
pub fn build(folder: &Path) -> Arc<PlotView> {
    let surroundings = Surroundings {
        clock: Arc::new(SteppingClock::new(Timestamp::new(START, 0).unwrap(), 61_000)),
        rng: Box::new(SeededRng::new("poured plot")),
        device_file: folder.join("device.json"),
        device_name: "tablet 1".to_owned(),
    };
    let passphrase = Passphrase::new("an invented passphrase of words").unwrap();
    let founding = Founding {
        site: "Fallow Lane (invented)",
        invented: true,
        passphrase: &passphrase,
        cost: Cost::LEAST,
        limits: LIMITS,
        plan: PLAN,
    };
    let mut register = Register::found(&folder.join("site.gaugerod"), &founding, surroundings).unwrap();
    let pin = Pin::new("1357").unwrap();
    let enrolment = Enrolment {
        name: "R. Quality",
        role: Role::QualityManager,
        pin: &pin,
        passphrase: &passphrase,
        cost: Cost::LEAST,
    };
    let person = register.enrol(&enrolment).unwrap();
    let by = register.unlock(person, &pin).unwrap();
    let plot = PlotId::new("7").unwrap();
    register
        .perform(&Command::IssueDesign { text: DESIGN.to_owned(), plots: vec![plot.clone()] }, &by)
        .unwrap();
    let mut work = Work { register, by, plot };
    work.book();
    work.view()
}

impl Work {
    fn view(&mut self) -> Arc<PlotView> {
        self.register.plot(&self.plot).unwrap().unwrap()
    }

    fn act(&mut self, act: Act) {
        let command = Command::OnPlot { plot: self.plot.clone(), act };
        self.register.perform(&command, &self.by).unwrap();
    }

    fn book(&mut self) {
        let plan = self.view().record.plan.clone();
        for point in &plan.hold_points {
            for asked in &point.criteria {
                let CriterionKind::Reckoning { feed, .. } = asked.kind else { continue };
                match feed.unit() {
                    Some(unit) => self.read(&point.id, &asked.id, feed, unit),
                    None => self.papers(&point.id, &asked.id, feed),
                }
            }
        }
    }

    fn read(&mut self, hold_point: &HoldPointId, criterion: &CriterionId, feed: Feed, unit: ReadingUnit) {
        let view = self.view();
        let design = view.record.design();
        let own = view.standing.hold_point(hold_point).unwrap().criterion(criterion).unwrap().clone();
        let named = ["front left", "front right", "rear"].map(|name| PointName::new(name).unwrap());
        let points = if own.points.is_empty() { named.to_vec() } else { own.points };
        let target = feeds::target(&view.record, feed).unwrap_or(design.levels.finished_floor_level_m.0);
        for (index, point) in points.into_iter().enumerate() {
            let off = i64::try_from(index % 4).unwrap();
            let value = if unit == ReadingUnit::LevelMetres {
                ReadValue::Um((target + Length::from_mm(off)).um())
            } else if unit == ReadingUnit::SquareMillimetres {
                ReadValue::Um2(6_000 * 1_000_000)
            } else {
                ReadValue::Um(Length::from_mm(100 + off).um())
            };
            let (hold_point, criterion) = (hold_point.clone(), criterion.clone());
            self.act(Act::BookReading { hold_point, criterion, point, value, instrument: None });
        }
    }

    fn papers(&mut self, hold_point: &HoldPointId, criterion: &CriterionId, feed: Feed) {
        let (hold_point, criterion) = (hold_point.clone(), criterion.clone());
        match feed {
            Feed::Deliveries => {
                let lines = self.view().record.design().order().into_iter().map(|one| DeliveryLine {
                    item: one.item,
                    delivered: one.quantity,
                    damaged: 0,
                    unlabelled: 0,
                    batch: Some("K-1".to_owned()),
                });
                let (note, revision, lines) = ("N-1".to_owned(), None, lines.collect());
                self.act(Act::BookDelivery(DeliveryBooked { hold_point, criterion, note, revision, lines }));
            }
            Feed::DoubledBeamTickets => self.act(ticket(hold_point, criterion, "T-0")),
            Feed::PourTickets => {
                for number in ["T-1", "T-2"] {
                    self.act(ticket(hold_point.clone(), criterion.clone(), number));
                }
                for (moment, at) in [(PourMoment::Started, "08:55"), (PourMoment::Finished, "10:00")] {
                    let (hold_point, criterion, at) = (hold_point.clone(), criterion.clone(), at.to_owned());
                    let timed = PourTimed { hold_point, criterion, moment, at };
                    self.act(Act::BookPour(PourFact::Timed(timed)));
                }
            }
            Feed::PourConditions => {
                for at in ["09:00", "09:30", "10:00"] {
                    self.act(Act::BookPour(PourFact::Conditions(ConditionsBooked {
                        hold_point: hold_point.clone(),
                        criterion: criterion.clone(),
                        at: at.to_owned(),
                        concrete_c: "17".to_owned(),
                        air_c: "14".to_owned(),
                        humidity_percent: "70".to_owned(),
                        wind_km_per_h: "10".to_owned(),
                    })));
                }
            }
            Feed::CubesTaken => self.act(Act::BookPour(PourFact::Taken(CubesTaken {
                hold_point,
                criterion,
                sample: "C-1".to_owned(),
                ticket: "T-1".to_owned(),
                at: "09:05".to_owned(),
                cubes: 3,
            }))),
            Feed::CubeResults => self.act(Act::BookPour(PourFact::Tested(CubesTested {
                hold_point,
                criterion,
                sample: "C-1".to_owned(),
                age_days: 28,
                cubes_mpa: vec!["37.5".to_owned(), "38".to_owned()],
                report: None,
            }))),
            _ => {}
        }
    }
}

fn ticket(hold_point: HoldPointId, criterion: CriterionId, number: &str) -> Act {
    Act::BookTicket(Box::new(TicketBooked {
        hold_point,
        criterion,
        ticket: number.to_owned(),
        batch: Some("B-1".to_owned()),
        strength_class: "C25/30".to_owned(),
        consistence_class: Some("S3".to_owned()),
        measured_slump_um: Some(130_000),
        largest_aggregate_um: Some(10_000),
        fibre_kg_per_m3: None,
        fibre_type: None,
        water_added_l: Some("0".to_owned()),
        load_m3: Some("2.25".to_owned()),
        batched_at: "08:10".to_owned(),
        began_at: None,
        discharged_at: "09:25".to_owned(),
        air_c: "14".to_owned(),
        concrete_c: "17".to_owned(),
    }))
}
