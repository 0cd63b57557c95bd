//! An invented plot through a short plan of work, to where it can be signed off: for tests and benchmarks.

#![allow(clippy::unwrap_used)] // scaffolding of tests: what fails here ends the test

use std::path::Path;
use std::sync::Arc;

use gaugerod_core::entry::{Answer, Disposition, ReadValue};
use gaugerod_core::identity::{Cost, Passphrase, Pin, SeededRng};
use gaugerod_core::ids::{HoldPointId, PlotId};
use gaugerod_core::inspection::{Act, Command, Extent, judge, standing::is_sign_off};
use gaugerod_core::plan_of_work::{CriterionKind, Role};
use gaugerod_core::register::{Enrolment, Founding, Register, Session, Surroundings};
use gaugerod_core::time::{SteppingClock, Timestamp};

pub const PLAN: &str = r#"
gaugerod_plan_of_work = 1
title = "Short plan for checks"
revision = "1"
self_release = false

[[gates]]
id = "ready-for-beams"
title = "Ready for beams"

[[gates]]
id = "finished"
title = "Finished"

[[hold_points]]
id = "oversite"
title = "Oversite stripped"
short_title = "Oversite"
gate = "ready-for-beams"
kind = "hold"
proves = "ground"
covered_by = ["bearing-level"]
offered_by = ["supervisor"]
released_by = ["quality-manager"]
cautions = ["Buried services: locate and mark before digging."]

  [[hold_points.criteria]]
  id = "stripped"
  title = "Vegetable matter, roots and debris are out"
  source = "common practice"
  question = { not_applicable_reasons = [] }

  [[hold_points.evidence]]
  subject = "oversite"
  title = "The whole oversite"
  per = "once"
  count = 1

[[hold_points]]
id = "bearing-level"
title = "Bearing walls at level"
short_title = "Bearing level"
gate = "ready-for-beams"
kind = "hold"
after = ["oversite"]
proves = "bearing"
covered_by = []
offered_by = ["supervisor"]
released_by = ["quality-manager"]
cautions = []

  [[hold_points.criteria]]
  id = "build-up"
  title = "The level that the bearing must have follows from the floor's build-up"
  source = "floor design"
  reckoning = { name = "build-up", feed = "build-up" }

  [[hold_points.criteria]]
  id = "level"
  title = "Every bearing wall lies at that level, and neighbouring points agree"
  source = "floor design"
  reckoning = { name = "bearing", feed = "bearing-levels", each = "point" }

  [[hold_points.evidence]]
  subject = "wall-top"
  title = "Top of the wall with staff in view"
  per = "each-wall"
  count = 1

[[hold_points]]
id = "sign-off"
title = "Sign-off: every hold point released or conceded"
short_title = "Sign-off"
gate = "finished"
kind = "hold"
proves = "floor"
offered_by = ["supervisor", "quality-manager"]
released_by = ["quality-manager"]
cautions = []

  [[hold_points.criteria]]
  id = "outstanding"
  title = "Everything outstanding is listed and known to the designer"
  source = "ISO 9000"
  question = { not_applicable_reasons = [] }
"#;
const LIMITS: &str = include_str!("../../../assets/limits.toml");
const DESIGN: &str = include_str!("../../../assets/demo/semi.toml");

/// An invented site with one finished plot.
pub struct FinishedPlot {
    pub register: Register,
    pub plot: PlotId,
    pub supervisor: Session,
    pub manager: Session,
}

/// 2026-11-02 08:00 UTC.
const START: i64 = 1_793_606_400_000;

/// Builds the site in a folder: a misread and corrected reading, a conceded nonconformance, and as many photographs
/// more as asked for, each of `size` pixels.
pub fn build(folder: &Path, more_photos: usize, size: (u32, u32)) -> FinishedPlot {
    let surroundings = Surroundings {
        clock: Arc::new(SteppingClock::new(Timestamp::new(START, 0).unwrap(), 61_000)),
        rng: Box::new(SeededRng::new("finished plot")),
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
    let mut enrol = |name: &str, role, pin: &str| {
        let pin = Pin::new(pin).unwrap();
        let enrolment = Enrolment { name, role, pin: &pin, passphrase: &passphrase, cost: Cost::LEAST };
        let person = register.enrol(&enrolment).unwrap();
        register.unlock(person, &pin).unwrap()
    };
    let supervisor = enrol("Åsa O’Brien", Role::Supervisor, "2468");
    let manager = enrol("R. Quality", Role::QualityManager, "1357");
    let plot = PlotId::new("7").unwrap();
    let issue = Command::IssueDesign { text: DESIGN.to_owned(), plots: vec![plot.clone()] };
    register.perform(&issue, &manager).unwrap();
    let mut site = FinishedPlot { register, plot, supervisor, manager };
    site.work(more_photos, size);
    site
}

impl FinishedPlot {
    fn act(&mut self, act: Act, by_manager: bool) {
        let by = if by_manager { &self.manager } else { &self.supervisor };
        let command = Command::OnPlot { plot: self.plot.clone(), act };
        self.register.perform(&command, by).unwrap();
    }

    fn work(&mut self, more_photos: usize, size: (u32, u32)) {
        let plan = self.register.plot(&self.plot).unwrap().unwrap().record.plan.clone();
        for (index, hold_point) in plan.hold_points.iter().enumerate() {
            for criterion in &hold_point.criteria {
                match criterion.kind {
                    CriterionKind::Question { .. } => self.act(
                        Act::Answer {
                            hold_point: hold_point.id.clone(),
                            criterion: criterion.id.clone(),
                            answer: Answer::Yes,
                            reason: None,
                            remark: Some("seen <on site> & noted".to_owned()),
                        },
                        false,
                    ),
                    CriterionKind::Reckoning { .. } => self.read(&hold_point.id, &criterion.id),
                    CriterionKind::Document { .. } => unreachable!("the short plan asks for no document"),
                }
            }
            let view = self.register.plot(&self.plot).unwrap().unwrap();
            let standing = view.standing.hold_point(&hold_point.id).unwrap();
            let more = if index == 0 { more_photos } else { 0 };
            let subjects: Vec<String> = standing.evidence.iter().map(|one| one.subject.clone()).collect();
            for (number, subject) in subjects
                .iter()
                .chain(std::iter::repeat_n(&subjects.first().cloned().unwrap_or_default(), more))
                .enumerate()
            {
                let bytes = picture(size, u8::try_from(40 * index + number % 200).unwrap_or(0), number);
                let caption = Some(format!("photograph {number}"));
                let photo =
                    self.register.take_in_photo(&bytes, hold_point.id.clone(), subject, caption).unwrap();
                self.act(Act::AddPhoto(photo), false);
            }
            if is_sign_off(&hold_point.id) {
                continue;
            }
            self.act(Act::Offer(Extent::HoldPoint(hold_point.id.clone())), false);
            if index == 0 {
                let refused = Act::Refuse {
                    extent: Extent::HoldPoint(hold_point.id.clone()),
                    reason: "rubbish in the corner".to_owned(),
                };
                self.act(refused, true);
                let view = self.register.plot(&self.plot).unwrap().unwrap();
                let id = view.standing.nonconformances().next().unwrap().id;
                let closed = Act::CloseNonconformance {
                    id,
                    disposition: Disposition::Correction,
                    remark: "carted away".to_owned(),
                };
                self.act(closed, true);
                self.act(Act::Offer(Extent::HoldPoint(hold_point.id.clone())), false);
            }
            self.act(Act::Release(Extent::HoldPoint(hold_point.id.clone())), true);
        }
    }

    /// Reads every point at its target; the second point 40 mm too high first, conceded by the designer.
    fn read(&mut self, hold_point: &HoldPointId, criterion: &gaugerod_core::ids::CriterionId) {
        let view = self.register.plot(&self.plot).unwrap().unwrap();
        let asked = view.standing.hold_point(hold_point).unwrap().criterion(criterion).unwrap().clone();
        for (index, point) in asked.points.iter().enumerate() {
            let feed = asked.feed().unwrap();
            let probe = 48_000_000;
            let trial = judge::trial(&view.record, feed, point, ReadValue::Um(probe)).unwrap();
            let target = probe - trial.deviation.unwrap().um();
            let value = if index == 1 { target + 9_000 } else { target };
            let book = Act::BookReading {
                hold_point: hold_point.clone(),
                criterion: criterion.clone(),
                point: point.clone(),
                value: ReadValue::Um(value),
                instrument: Some("level 1".to_owned()),
            };
            self.act(book, false);
        }
        let view = self.register.plot(&self.plot).unwrap().unwrap();
        let open: Vec<_> =
            view.standing.nonconformances().filter(|one| one.is_open()).map(|one| one.id).collect();
        for id in open {
            let document = self
                .register
                .take_in_document("concession.txt", b"Invented: +9 mm is accepted at A2.")
                .unwrap();
            self.act(Act::Concede { id, by: "D. Signer (invented designer)".to_owned(), document }, true);
        }
    }
}

/// A picture drawn here: a gradient with bars, as JPEG; each number another one.
fn picture((width, height): (u32, u32), shade: u8, number: usize) -> Vec<u8> {
    let bar = u32::try_from(number % 97).unwrap() + 8;
    let image = image::RgbImage::from_fn(width, height, |x, y| {
        let part = |at: u32, whole: u32| u8::try_from(at * 255 / whole).unwrap();
        // Coarse noise, so that the data are about as large as a photograph's.
        let grain = u8::try_from((x.wrapping_mul(2_654_435_761) ^ y.wrapping_mul(40_503)) >> 27).unwrap();
        if x / bar % 7 == 0 {
            image::Rgb([shade, grain, 40])
        } else {
            image::Rgb([part(x, width), part(y, height), shade ^ grain])
        }
    });
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 80).encode_image(&image).unwrap();
    bytes
}
