//! The demo: an invented site with plots in different states, made through the same commands as real work. No
//! such site, drawing, firm or person exists; every screen and page says that its data are invented.
//!
//! Longer than most files because the course of every plot stands in it, to be read from start to end.

mod finish;
mod layers;
mod level_book;
mod papers;
mod pour;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use gaugerod_core::entry::{Answer, ReadValue};
use gaugerod_core::floor::FloorDesign;
use gaugerod_core::floor::layout::{beam_of, lay};
use gaugerod_core::identity::{Cost, Passphrase, Pin};
use gaugerod_core::ids::{CriterionId, GateId, HoldPointId, PersonId, PlotId, PointName};
use gaugerod_core::inspection::feeds;
use gaugerod_core::inspection::judge::CriterionStanding;
use gaugerod_core::inspection::level_book::level_criteria;
use gaugerod_core::inspection::{Act, Command, Extent, HoldPointState};
use gaugerod_core::plan_of_work::{CriterionKind, Feed, Role};
use gaugerod_core::quantity::{Area, Length};
use gaugerod_core::register::{Enrolment, Founding, Register, RegisterError, Session, Surroundings};
use gaugerod_core::time::{Clock, SteppingClock, Timestamp};

use crate::{messages, shipped};

/// The demo site's name: invented.
pub const SITE: &str = "Thistle Garth (invented)";
/// The demo's register, in its folder.
pub const FILE: &str = "thistle-garth.gaugerod";
/// The demo's people, their roles and PINs: invented, and no secret.
pub const PEOPLE: [(&str, Role, &str); 3] = [
    ("Robin Vale", Role::Supervisor, "2468"),
    ("Sam Orchard", Role::QualityManager, "1357"),
    ("Kit Meadow", Role::Designer, "8642"),
];
/// The passphrase of the demo's authority: no secret.
pub const PASSPHRASE: &str = "an invented demo passphrase";
/// The plot that the demo signs off.
pub const SIGNED: &str = "1";
/// The plot that is ready to sign.
pub const READY: &str = "2";

/// 2026-09-14 08:00 UTC, a Monday: the demo's work begins, on the day that its drawn photographs state.
const BEGIN: Timestamp = Timestamp { utc_ms: 1_789_372_800_000, offset_min: 0 };
/// Time between two entries of the demo.
const STEP_MS: i64 = 61_000;

/// What was made.
#[derive(Debug)]
pub struct DemoSite {
    /// The register.
    pub register: PathBuf,
    /// The authority's certificate, as it would be handed to building control on paper.
    pub authority: PathBuf,
}

/// How a plot of the demo is built.
struct PlotStory {
    plot: &'static str,
    design: &'static str,
    /// Gates in order, up to which everything is released.
    released: usize,
    fault: Fault,
}

/// What is wrong on a plot.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Fault {
    None,
    /// Bearing wall B is too high at B5, and C3 is too near to call.
    WallTooHigh,
    /// The floor design has a gas pipe under the membrane.
    GasUnderMembrane,
    /// Two openings on one side were never built.
    TooFewVents,
    /// The damp-proof course was covered before anybody released it.
    CoveredUnreleased,
    /// The first gate is offered and waits for the manager.
    Offered,
    /// Work has just begun.
    JustBegun,
    /// One load of two is in; the wind dries the surface too fast.
    Pouring,
}

const SEMI: &str = include_str!("../../assets/demo/semi.toml");
const SEMI_GAS: &str = include_str!("../../assets/demo/semi-gas-under-membrane.toml");
const TERRACE: &str = include_str!("../../assets/demo/terrace.toml");

const STORIES: [PlotStory; 9] = [
    PlotStory { plot: SIGNED, design: SEMI, released: 4, fault: Fault::None },
    PlotStory { plot: READY, design: TERRACE, released: 4, fault: Fault::None },
    PlotStory { plot: "3", design: SEMI, released: 0, fault: Fault::WallTooHigh },
    PlotStory { plot: "4", design: SEMI_GAS, released: 3, fault: Fault::GasUnderMembrane },
    PlotStory { plot: "5", design: SEMI, released: 0, fault: Fault::TooFewVents },
    PlotStory { plot: "6", design: TERRACE, released: 0, fault: Fault::CoveredUnreleased },
    PlotStory { plot: "7", design: TERRACE, released: 0, fault: Fault::Offered },
    PlotStory { plot: "8", design: TERRACE, released: 0, fault: Fault::JustBegun },
    PlotStory { plot: "9", design: SEMI, released: 4, fault: Fault::Pouring },
];

/// Makes the demo in `folder`, which must hold no demo yet. `progress` is told steps done and in all, and stops
/// the work by returning false.
///
/// # Errors
/// A sentence; what was made until then is taken away.
pub fn build(
    folder: &Path,
    surroundings: Surroundings,
    progress: &mut dyn FnMut(u64, u64) -> bool,
) -> Result<DemoSite, String> {
    std::fs::create_dir_all(folder)
        .map_err(|error| format!("{} cannot be made: {error}", folder.display()))?;
    let path = folder.join(FILE);
    if path.exists() {
        return Err(format!("{} is there already; nothing is overwritten", path.display()));
    }
    let made = fill(&path, surroundings, progress);
    if made.is_err() {
        for file in [path.clone(), gaugerod_core::store::photos_path(&path)] {
            // What could not be made whole is of no use; a file that was never made need not go.
            let _ = std::fs::remove_file(file);
        }
    }
    made?;
    Ok(DemoSite { authority: folder.join("authority.pem"), register: path })
}

fn fill(
    path: &Path,
    surroundings: Surroundings,
    progress: &mut dyn FnMut(u64, u64) -> bool,
) -> Result<(), String> {
    let told = |error: RegisterError| messages::sentence(&error);
    let clock = Arc::new(SteppingClock::new(BEGIN, STEP_MS));
    let surroundings = Surroundings { clock: Arc::clone(&clock) as Arc<dyn Clock>, ..surroundings };
    let passphrase = Passphrase::new(PASSPHRASE).map_err(|fault| fault.to_string())?;
    let founding = Founding {
        site: SITE,
        invented: true,
        passphrase: &passphrase,
        cost: Cost::LEAST,
        limits: shipped::LIMITS,
        plan: shipped::PLAN_OF_WORK,
    };
    let mut register = Register::found(path, &founding, surroundings).map_err(told)?;
    let authority = register.authority().map_err(told)?;
    let pem = path.with_file_name("authority.pem");
    std::fs::write(&pem, authority.to_pem())
        .map_err(|error| format!("{} cannot be written: {error}", pem.display()))?;
    for (name, role, pin) in PEOPLE {
        let pin = Pin::new(pin).map_err(|fault| fault.to_string())?;
        let enrolment = Enrolment { name, role, pin: &pin, passphrase: &passphrase, cost: Cost::LEAST };
        register.enrol(&enrolment).map_err(told)?;
    }
    let mut site = Site::new(register, Arc::clone(&clock))?;
    site.perform(&Command::RegisterInstrument(level_book::instrument()), Who::Supervisor)?;
    for design in [SEMI, SEMI_GAS, TERRACE] {
        let read = FloorDesign::read(design).map_err(|faults| faults.to_string())?;
        if let Some(mark) = level_book::benchmark(&read) {
            site.perform(&Command::RegisterBenchmark(mark), Who::Supervisor)?;
        }
        let plots =
            STORIES.iter().filter(|story| story.design == design).map(|story| name(story.plot)).collect();
        site.perform(&Command::IssueDesign { text: design.to_owned(), plots }, Who::Manager)?;
    }
    let steps = STORIES.len() as u64;
    for (done, story) in (0..).zip(&STORIES) {
        if !progress(done, steps) {
            return Err("stopped; nothing of the demo was kept".to_owned());
        }
        site.play(story)?;
        // Each plot on a day of its own.
        clock.advance(20 * 3_600_000);
    }
    // Cubes are crushed at 28 days: only then can the last hold points be released.
    clock.advance(28 * 24 * 3_600_000);
    for story in STORIES.iter().filter(|story| story.fault == Fault::None) {
        site.book_results(story)?;
    }
    progress(steps, steps);
    site.register.summaries().map_err(told)?;
    Ok(())
}

fn name(plot: &str) -> PlotId {
    PlotId::new(plot).expect("BUG: the demo's plots have names")
}

#[derive(Clone, Copy)]
enum Who {
    Supervisor,
    Manager,
}

/// The demo's register with its people at hand.
struct Site {
    register: Register,
    supervisor: Session,
    manager: Session,
    clock: Arc<SteppingClock>,
    photos: u32,
}

impl Site {
    fn new(mut register: Register, clock: Arc<SteppingClock>) -> Result<Self, String> {
        let mut unlock = |index: usize| -> Result<Session, String> {
            let (name, _, pin) = PEOPLE[index];
            let person: PersonId = register.person(name).map_err(|error| messages::sentence(&error))?;
            let pin = Pin::new(pin).map_err(|fault| fault.to_string())?;
            register.unlock(person, &pin).map_err(|error| messages::sentence(&error))
        };
        let (supervisor, manager) = (unlock(0)?, unlock(1)?);
        Ok(Self { register, supervisor, manager, clock, photos: 0 })
    }

    fn perform(&mut self, command: &Command, who: Who) -> Result<(), String> {
        let by = match who {
            Who::Supervisor => &self.supervisor,
            Who::Manager => &self.manager,
        };
        self.register.perform(command, by).map(|_| ()).map_err(|error| messages::sentence(&error))
    }

    fn act(&mut self, plot: &PlotId, act: Act, who: Who) -> Result<(), String> {
        self.perform(&Command::OnPlot { plot: plot.clone(), act }, who)
    }

    fn play(&mut self, story: &PlotStory) -> Result<(), String> {
        let plot = name(story.plot);
        let design = FloorDesign::read(story.design).map_err(|faults| faults.to_string())?;
        let gates = ["ready-for-beams", "ready-to-close-the-void", "ready-for-overlay", "ready-to-pour"];
        for gate in gates.iter().take(story.released) {
            // A design without beams leaves a gate out.
            if self.view(&plot)?.standing.gates.iter().any(|one| one.id == gate_id(gate)) {
                self.pass_gate(&plot, &design, gate)?;
            }
        }
        let first = hold_points(&["oversite", "bearing-level", "dpc", "vents", "edge-blocks"]);
        match story.fault {
            Fault::None => self.finish(&plot, &design),
            Fault::Pouring => self.pour_under_way(&plot),
            Fault::GasUnderMembrane => {
                for id in hold_points(&["gas-pipes", "membrane"]) {
                    self.prove(&plot, &design, &id, Fault::GasUnderMembrane)?;
                }
                for act in layers::another_overlay(&hold_points(&["overlay"])[0]) {
                    self.act(&plot, act, Who::Supervisor)?;
                }
                let what = "The gas pipe to the hob runs under the membrane: escaping gas would be trapped";
                self.raise(&plot, "gas-pipes", "order", what)
            }
            Fault::WallTooHigh => {
                for id in &first[..2] {
                    self.prove(&plot, &design, id, Fault::WallTooHigh)?;
                }
                Ok(())
            }
            Fault::TooFewVents => {
                for id in &first {
                    self.prove(&plot, &design, id, Fault::TooFewVents)?;
                }
                let what = "Openings V7 and V8 were never built: 36 000 of 36 622.5 mm² required";
                self.raise(&plot, "vents", "openings", what)
            }
            Fault::CoveredUnreleased => {
                for id in &first[..2] {
                    self.prove(&plot, &design, id, Fault::None)?;
                }
                let reason =
                    "Edge blocks were laid on the damp-proof course on Monday evening, before it was seen";
                let act = Act::CoverUnreleased { hold_point: first[2].clone(), reason: reason.to_owned() };
                self.act(&plot, act, Who::Supervisor)
            }
            Fault::Offered => {
                for id in &first {
                    self.prove(&plot, &design, id, Fault::None)?;
                }
                self.act(&plot, Act::Offer(Extent::Gate(gate_id(gates[0]))), Who::Supervisor)
            }
            Fault::JustBegun => {
                self.answer_questions(&plot, &first[0])?;
                Ok(())
            }
        }
    }

    /// Proves every hold point of a gate, offers it as one and releases it.
    fn pass_gate(&mut self, plot: &PlotId, design: &FloorDesign, gate: &str) -> Result<(), String> {
        let gate = gate_id(gate);
        for id in self.in_gate(plot, &gate)? {
            self.prove(plot, design, &id, Fault::None)?;
        }
        self.act(plot, Act::Offer(Extent::Gate(gate.clone())), Who::Supervisor)?;
        self.act(plot, Act::Release(Extent::Gate(gate)), Who::Manager)
    }

    fn in_gate(&mut self, plot: &PlotId, gate: &GateId) -> Result<Vec<HoldPointId>, String> {
        let view = self.view(plot)?;
        let all = view.standing.hold_points.iter().filter(|one| one.gate == *gate);
        Ok(all.filter(|one| one.state != HoldPointState::Released).map(|one| one.id.clone()).collect())
    }

    fn view(&mut self, plot: &PlotId) -> Result<Arc<gaugerod_core::register::PlotView>, String> {
        self.register
            .plot(plot)
            .map_err(|error| messages::sentence(&error))?
            .ok_or_else(|| format!("the demo has no plot {plot}"))
    }

    /// Books all that a hold point owes.
    fn prove(
        &mut self,
        plot: &PlotId,
        design: &FloorDesign,
        id: &HoldPointId,
        fault: Fault,
    ) -> Result<(), String> {
        self.answer_questions(plot, id)?;
        self.level(plot, design, id, fault)?;
        self.papers(plot, id)?;
        let view = self.view(plot)?;
        let Some(standing) = view.standing.hold_point(id) else { return Ok(()) };
        for criterion in &standing.criteria {
            let CriterionKind::Reckoning { feed, .. } = criterion.kind else { continue };
            for (index, point) in points_of(criterion).into_iter().enumerate() {
                if criterion.reading_at(&point).is_some() {
                    continue;
                }
                let value = value(&view.record, design, feed, &point, index, fault);
                let act = Act::BookReading {
                    hold_point: id.clone(),
                    criterion: criterion.id.clone(),
                    point,
                    value,
                    instrument: instrument(feed),
                };
                self.act(plot, act, Who::Supervisor)?;
            }
        }
        for evidence in &standing.evidence {
            for _ in evidence.photos.len()..evidence.wanted {
                self.photograph(plot, id, &evidence.subject)?;
            }
        }
        Ok(())
    }

    /// Books the delivery notes and concrete tickets that a hold point asks for.
    fn papers(&mut self, plot: &PlotId, id: &HoldPointId) -> Result<(), String> {
        let view = self.view(plot)?;
        let Some(standing) = view.standing.hold_point(id) else { return Ok(()) };
        for criterion in standing.criteria.iter().filter(|one| one.papers.is_empty()) {
            let (hold_point, criterion, feed) = (id.clone(), criterion.id.clone(), criterion.feed());
            let acts = match feed {
                Some(Feed::Deliveries) => papers::deliveries(view.record.design(), &hold_point, &criterion),
                Some(Feed::DoubledBeamTickets) => vec![papers::ticket(hold_point, criterion)],
                Some(Feed::OverlayLabels) => layers::labels(view.record.design(), &hold_point, &criterion),
                Some(Feed::HeatingTests) => vec![layers::test(hold_point, criterion)],
                Some(feed) => pour::facts(feed, &hold_point, &criterion),
                None => continue,
            };
            for act in acts {
                self.act(plot, act, Who::Supervisor)?;
            }
        }
        Ok(())
    }

    /// Lets the topping cure and books its temperatures, where a hold point asks for them.
    fn cure(&mut self, plot: &PlotId, id: &HoldPointId) -> Result<(), String> {
        let view = self.view(plot)?;
        let Some(standing) = view.standing.hold_point(id) else { return Ok(()) };
        if !standing.criteria.iter().any(|one| one.feed() == Some(Feed::WalkingAge)) {
            return Ok(());
        }
        let (placing, temperatures) = finish::curing(id, self.clock.now());
        self.clock.advance(finish::CURING_MS);
        self.act(plot, Act::NotePlacing(placing), Who::Supervisor)?;
        self.act(plot, Act::BookTemperatures(temperatures), Who::Supervisor)
    }

    /// Levels the oversite and the bearing walls in one book, before the first of them is proved.
    fn level(
        &mut self,
        plot: &PlotId,
        design: &FloorDesign,
        id: &HoldPointId,
        fault: Fault,
    ) -> Result<(), String> {
        let view = self.view(plot)?;
        let serves = level_criteria(&view.record);
        if !view.record.level_books.is_empty() || !serves.iter().any(|one| one.hold_point == *id) {
            return Ok(());
        }
        let mut levels = Vec::new();
        // Walls first, as one walks: the ground is read from the same set-up.
        for wanted in [Feed::BearingLevels, Feed::GroundLevels] {
            let all = view.standing.hold_points.iter().flat_map(|one| &one.criteria);
            for criterion in all.filter(|one| one.feed() == Some(wanted)) {
                for (index, point) in points_of(criterion).into_iter().enumerate() {
                    let value = value(&view.record, design, wanted, &point, index, fault);
                    levels.push((point, value));
                }
            }
        }
        let (begun, sights) = level_book::book(design, serves, &levels)
            .ok_or_else(|| format!("the demo's design of plot {plot} has no bearing wall"))?;
        self.act(plot, Act::TakeInLevelBook { begun, sights }, Who::Supervisor)
    }

    /// Answers the questions of a hold point and attaches the documents that it asks for.
    fn answer_questions(&mut self, plot: &PlotId, id: &HoldPointId) -> Result<(), String> {
        let view = self.view(plot)?;
        let Some(standing) = view.standing.hold_point(id) else { return Ok(()) };
        for criterion in standing.criteria.iter().filter(|one| !one.owed.is_empty()) {
            let act = match &criterion.kind {
                CriterionKind::Reckoning { .. } => continue,
                CriterionKind::Question { .. } => Act::Answer {
                    hold_point: id.clone(),
                    criterion: criterion.id.clone(),
                    answer: Answer::Yes,
                    reason: None,
                    remark: None,
                },
                CriterionKind::Document { what, .. } => {
                    let text =
                        format!("Invented demo document, plot {plot}: {what}. Nothing here is real.\n");
                    let document = self
                        .register
                        .take_in_document("invented-document.txt", text.as_bytes())
                        .map_err(|error| messages::sentence(&error))?;
                    Act::Attach { hold_point: id.clone(), criterion: criterion.id.clone(), document }
                }
            };
            self.act(plot, act, Who::Supervisor)?;
        }
        Ok(())
    }

    fn photograph(&mut self, plot: &PlotId, id: &HoldPointId, subject: &str) -> Result<(), String> {
        self.photos += 1;
        let drawn = picture(subject, self.photos);
        let bytes =
            with_comment(drawn, &format!("Invented demo, plot {plot}, {id}, {subject}, {}", self.photos));
        let caption = Some("Drawn for the invented demo".to_owned());
        let photo = self
            .register
            .take_in_photo(&bytes, id.clone(), subject, caption)
            .map_err(|error| messages::sentence(&error))?;
        self.act(plot, Act::AddPhoto(photo), Who::Supervisor)
    }

    fn raise(&mut self, plot: &PlotId, id: &str, criterion: &str, what: &str) -> Result<(), String> {
        let act = Act::RaiseNonconformance {
            hold_point: hold_points(&[id])[0].clone(),
            criterion: Some(CriterionId::new(criterion).expect("BUG: the demo's criteria have names")),
            what: what.to_owned(),
        };
        self.act(plot, act, Who::Supervisor)
    }

    /// Proves and releases the finished floor, all but what weeks later decides, and answers what the sign-off asks.
    fn finish(&mut self, plot: &PlotId, design: &FloorDesign) -> Result<(), String> {
        for id in self.in_gate(plot, &gate_id("finished"))? {
            if ["sign-off", "strength"].contains(&id.as_str()) {
                continue;
            }
            self.cure(plot, &id)?;
            self.prove(plot, design, &id, Fault::None)?;
            self.pass(plot, &id)?;
        }
        self.prepare_sign_off(plot)
    }

    fn pass(&mut self, plot: &PlotId, id: &HoldPointId) -> Result<(), String> {
        self.act(plot, Act::Offer(Extent::HoldPoint(id.clone())), Who::Supervisor)?;
        self.act(plot, Act::Release(Extent::HoldPoint(id.clone())), Who::Manager)
    }

    /// Books what the cubes came to, where any were asked for.
    fn book_results(&mut self, story: &PlotStory) -> Result<(), String> {
        let (plot, id) = (&name(story.plot), &hold_points(&["strength"])[0]);
        if self.view(plot)?.standing.hold_point(id).is_none() {
            return Ok(());
        }
        let design = FloorDesign::read(story.design).map_err(|faults| faults.to_string())?;
        self.prove(plot, &design, id, Fault::None)?;
        self.pass(plot, id)
    }

    /// The first load of a pour.
    fn pour_under_way(&mut self, plot: &PlotId) -> Result<(), String> {
        let id = &hold_points(&["pour"])[0];
        let view = self.view(plot)?;
        let Some(standing) = view.standing.hold_point(id) else { return Ok(()) };
        for criterion in &standing.criteria {
            let acts =
                criterion.feed().map_or_else(Vec::new, |feed| pour::under_way(feed, id, &criterion.id));
            for act in acts {
                self.act(plot, act, Who::Supervisor)?;
            }
        }
        Ok(())
    }

    /// Answers what the sign-off asks.
    fn prepare_sign_off(&mut self, plot: &PlotId) -> Result<(), String> {
        self.answer_questions(plot, &hold_points(&["sign-off"])[0])
    }
}

fn hold_points(ids: &[&str]) -> Vec<HoldPointId> {
    ids.iter().map(|id| HoldPointId::new(id).expect("BUG: the demo's hold points have names")).collect()
}

fn gate_id(id: &str) -> GateId {
    GateId::new(id).expect("BUG: the demo's gates have names")
}

/// The points at which readings are owed: the design's, or places that the person names.
fn points_of(criterion: &CriterionStanding) -> Vec<PointName> {
    if criterion.feed().is_none_or(|feed| feed.unit().is_none()) {
        return Vec::new();
    }
    // Of the tops of all beams those that are asked for.
    if criterion.feed() == Some(Feed::BeamTops) {
        return criterion.owed.iter().filter_map(|owed| owed.point.clone()).collect();
    }
    if !criterion.points.is_empty() {
        return criterion.points.clone();
    }
    if criterion.owed.is_empty() {
        return Vec::new();
    }
    ["front left", "front right", "rear"].map(|place| PointName::new(place).expect("BUG: a name")).to_vec()
}

fn instrument(feed: Feed) -> Option<String> {
    match feed {
        Feed::BearingLevels | Feed::GroundLevels | Feed::GroundAsBuilt => {
            Some(level_book::INSTRUMENT.to_owned())
        }
        Feed::FinishLevels => Some(level_book::INSTRUMENT.to_owned()),
        Feed::ToppingDepths => Some("depth probe (invented)".to_owned()),
        Feed::DpcHeight | Feed::DpcLap | Feed::MembraneLap => Some("steel tape (invented)".to_owned()),
        _ => None,
    }
}

/// Deviations of the bearing walls in millimetres, in the order of the design's points. Wall A, B, C of the
/// L-shaped house as its level book has them where the wall is too high; a truer wall elsewhere.
const LEVELLED: [i64; 16] = [1, 0, -2, -1, -3, -1, 2, 0, 1, -1, 1, -2, 0, -2, 1, -1];
const TOO_HIGH: [i64; 16] = [1, 0, -2, 1, -3, -1, 2, 0, 1, -4, 9, -2, 0, -2, 4, -1];
/// Ground below the highest allowed, in millimetres.
const GROUND_BELOW: [i64; 5] = [49, 17, 22, 59, 34];

fn value(
    record: &gaugerod_core::inspection::PlotRecord,
    design: &FloorDesign,
    feed: Feed,
    point: &PointName,
    index: usize,
    fault: Fault,
) -> ReadValue {
    let mm = |mm: i64| ReadValue::Um(Length::from_mm(mm).um());
    let from_target = |deviation: i64| {
        let target = feeds::target(record, feed).unwrap_or(design.levels.finished_floor_level_m.0);
        ReadValue::Um((target + Length::from_mm(deviation)).um())
    };
    let of = |list: &[i64]| list[index % list.len()];
    let scatter = i64::try_from(index % 4).unwrap_or(0);
    match feed {
        Feed::BearingLevels if fault == Fault::WallTooHigh => from_target(of(&TOO_HIGH)),
        Feed::BearingLevels => from_target(of(&LEVELLED)),
        Feed::GroundLevels | Feed::GroundAsBuilt => from_target(-of(&GROUND_BELOW)),
        Feed::VentOpenings => {
            let missing = fault == Fault::TooFewVents && ["V7", "V8"].contains(&point.as_str());
            let drawn = if missing { 0 } else { 6_000 };
            let um2 = Area::from_mm2(drawn).um2();
            ReadValue::Um2(i64::try_from(um2).expect("BUG: an air brick is small"))
        }
        Feed::DpcHeight => mm(168 + scatter),
        Feed::DpcLap => mm(110 + 5 * scatter),
        Feed::MembraneLap => mm(160 + 5 * scatter),
        Feed::MembraneThickness => ReadValue::Um(Length::from_um(500).um()),
        Feed::ClearSpans => mm(clear_span(design, point) + scatter),
        Feed::RunWidths => mm(run_width(design, point) - 2),
        Feed::BeamFaces => ReadValue::Um(face(design, point).um() + Length::from_mm(scatter - 2).um()),
        Feed::BearingLengths => mm(91 + scatter),
        Feed::PopUpPlaces => ReadValue::Um(pop_up(design, point).um() + Length::from_mm(scatter - 2).um()),
        Feed::ToppingDepths => from_target(finish::depth(design, point)),
        Feed::FinishLevels => from_target(finish::level(design, point)),
        Feed::BuildUp
        | Feed::LayerOrder
        | Feed::Deliveries
        | Feed::InfillCuts
        | Feed::DoubledBeamTickets
        | Feed::PourTickets
        | Feed::PourConditions
        | Feed::CubesTaken
        | Feed::CubeResults
        | Feed::WalkingAge
        | Feed::LoadingAge => mm(0),
        Feed::OverlayThickness
        | Feed::RailLevels
        | Feed::BeamTops
        | Feed::MeshCover
        | Feed::MeshLaps
        | Feed::OverlayLabels
        | Feed::HeatingTests => layers::value(record, feed, point, index),
    }
}

/// The clear that a run is drawn with, in millimetres.
fn clear_span(design: &FloorDesign, line: &PointName) -> i64 {
    beam_of(design, line).map_or(0, |(run, _)| run.clear_span_mm.0.um() / 1_000)
}

/// Where a pop-up is drawn along the axis of its reading.
fn pop_up(design: &FloorDesign, point: &PointName) -> Length {
    design.pop_up_of(point).map_or(Length::ZERO, |(one, axis)| design.drawn_from_wall(one, axis))
}

/// The width that a run is drawn with, in millimetres.
fn run_width(design: &FloorDesign, run: &PointName) -> i64 {
    let run = design.beams.as_ref().and_then(|beams| beams.run(run));
    run.map_or(0, |run| run.clear_width().um() / 1_000)
}

/// Where a beam stands in a run that was built 2 mm narrower than drawn.
fn face(design: &FloorDesign, beam: &PointName) -> Length {
    let Some(beams) = &design.beams else { return Length::ZERO };
    let Some((run, _)) = beam_of(design, beam) else { return Length::ZERO };
    let laid = lay(beams, run, run.left_over(beams) - Length::from_mm(2));
    laid.iter().find(|one| one.beam.as_ref() == Some(beam)).map_or(Length::ZERO, |one| one.from)
}

/// A drawn picture that fits a photo subject.
fn picture(subject: &str, number: u32) -> &'static [u8] {
    let code = subject.split(':').next().unwrap_or(subject);
    let other = number.is_multiple_of(2);
    match code {
        "wall-top" | "level-book" => include_bytes!("../../assets/demo/photos/bearing-wall-staff.jpg"),
        "dpc-lap" if other => include_bytes!("../../assets/demo/photos/dpc-above-ground.jpg"),
        "dpc-lap" => include_bytes!("../../assets/demo/photos/dpc-lap.jpg"),
        "vent" if other => include_bytes!("../../assets/demo/photos/vent-lintel.jpg"),
        "vent" => include_bytes!("../../assets/demo/photos/vent-sleeve.jpg"),
        "edge-blocks" | "end-blocks" | "coursing" => {
            include_bytes!("../../assets/demo/photos/edge-block.jpg")
        }
        "setting-out" | "infill" | "doubled-beams" | "bearing" | "label" | "delivery-note" => {
            include_bytes!("../../assets/demo/photos/beams-and-infill.jpg")
        }
        "void" if other => include_bytes!("../../assets/demo/photos/beams-and-infill.jpg"),
        "void" => include_bytes!("../../assets/demo/photos/void-before-closing.jpg"),
        "gas-route" => include_bytes!("../../assets/demo/photos/gas-pipe-sleeve.jpg"),
        "membrane-lap" => include_bytes!("../../assets/demo/photos/membrane-lap.jpg"),
        "membrane-whole" | "pour" => include_bytes!("../../assets/demo/photos/mesh-on-membrane.jpg"),
        "mesh" | "heating" => include_bytes!("../../assets/demo/photos/mesh-on-membrane.jpg"),
        "overlay-label" | "overlay-whole" | "threshold" | "screed-rail" => {
            include_bytes!("../../assets/demo/photos/beams-and-infill.jpg")
        }
        _ => include_bytes!("../../assets/demo/photos/oversite.jpg"),
    }
}

/// The same picture in other bytes: a comment segment right after the start (ITU-T T.81, B.2.4.5), so that no two
/// photos of the demo are one file.
fn with_comment(jpeg: &[u8], comment: &str) -> Vec<u8> {
    let length = u16::try_from(comment.len() + 2).expect("BUG: the demo's comments are short");
    let (start, rest) = jpeg.split_at(2);
    let mut bytes = Vec::with_capacity(jpeg.len() + comment.len() + 4);
    bytes.extend_from_slice(start);
    bytes.extend_from_slice(&[0xFF, 0xFE]);
    bytes.extend_from_slice(&length.to_be_bytes());
    bytes.extend_from_slice(comment.as_bytes());
    bytes.extend_from_slice(rest);
    bytes
}
