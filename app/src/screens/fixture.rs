//! A small invented site for tests of screens: a real register in a temporary folder, with plots at every stage,
//! people of two roles, readings that conform, one that does not and one too near to call.
//!
//! Plots: `1` nothing noted; `2` oversite released, bearing level being read with one wall top too high (B5) and
//! one too near to call (C3); `3` ready for beams offered; `4` vents refused; `5` every gate released, ready to
//! sign; `6` bearing level covered without release; `7` nothing noted; `8` another floor design.

use std::path::PathBuf;
use std::sync::Arc;

use gaugerod_core::entry::{Answer, PhotoAdded, ReadValue};
use gaugerod_core::identity::{Cost, Passphrase, Pin};
use gaugerod_core::ids::{CriterionId, GateId, HoldPointId, PersonId, PlotId, PointName};
use gaugerod_core::inspection::{Act, Command, Extent};
use gaugerod_core::plan_of_work::{CriterionKind, Role};
use gaugerod_core::register::{Enrolment, Founding, Register, Session};
use gaugerod_core::time::{Date, SteppingClock, Timestamp};
use tempfile::TempDir;

use crate::commands::surroundings::device_file;
use crate::shipped;
use crate::state::{AtTablet, OpenRegister, Screen, State};
use crate::surroundings::Machine;

/// The PIN of everybody on the invented site.
pub const PIN: &str = "4711";
/// The passphrase of the invented site's authority.
pub const PASSPHRASE: &str = "twelve stones and a rod";

const SEMI: &str = include_str!("../../../assets/demo/semi.toml");
const TERRACE: &str = include_str!("../../../assets/demo/terrace.toml");
const PHOTO: &[u8] = include_bytes!("../../../assets/demo/photos/oversite.jpg");

/// The invented site.
pub struct Site {
    /// Where it lies; removed when it is dropped.
    pub folder: TempDir,
    /// The register's file.
    pub path: PathBuf,
    /// The register.
    pub register: Register,
    /// The site supervisor, with the PIN given.
    pub supervisor: Session,
    /// The quality manager, with the PIN given.
    pub manager: Session,
    photo: PhotoAdded,
}

/// A plot's name.
pub fn plot(name: &str) -> PlotId {
    PlotId::new(name).expect("a plot's name")
}

/// A hold point's id.
pub fn hold_point(id: &str) -> HoldPointId {
    HoldPointId::new(id).expect("a hold point's id")
}

/// A machine for tests: a clock that steps by a second, files in `folder`.
pub fn machine(folder: &std::path::Path) -> Machine {
    let start = Timestamp::new(1_790_000_000_000, 60).expect("a time");
    Machine {
        clock: Arc::new(SteppingClock::new(start, 1_000)),
        device_file: device_file(folder),
        device_name: "test tablet".to_owned(),
        cost: Cost::LEAST,
    }
}

impl Site {
    /// A site with people and floor designs, nothing noted on any plot.
    pub fn bare() -> Self {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let path = folder.path().join("thistle-field.gaugerod");
        let passphrase = Passphrase::new(PASSPHRASE).expect("a passphrase");
        let founding = Founding {
            site: "Thistle Field (invented)",
            invented: true,
            passphrase: &passphrase,
            cost: Cost::LEAST,
            limits: shipped::LIMITS,
            plan: shipped::PLAN_OF_WORK,
        };
        let mut register =
            Register::found(&path, &founding, machine(folder.path()).surroundings()).expect("a register");
        let pin = Pin::new(PIN).expect("a PIN");
        let mut enrol = |name: &str, role: Role| -> PersonId {
            let enrolment = Enrolment { name, role, pin: &pin, passphrase: &passphrase, cost: Cost::LEAST };
            register.enrol(&enrolment).expect("enrolled")
        };
        let supervisor = enrol("R. Tarn", Role::Supervisor);
        let manager = enrol("M. Ashby", Role::QualityManager);
        let supervisor = register.unlock(supervisor, &pin).expect("the PIN opens");
        let manager = register.unlock(manager, &pin).expect("the PIN opens");
        let issue = |text: &str, plots: &[&str]| Command::IssueDesign {
            text: text.to_owned(),
            plots: plots.iter().map(|name| plot(name)).collect(),
        };
        // Plots 1 to 7 leave their beams to another drawing; plot 9 has them drawn.
        let bare = without_beams(SEMI);
        let designs =
            [issue(&bare, &["1", "2", "3", "4", "5", "6", "7"]), issue(TERRACE, &["8"]), issue(SEMI, &["9"])];
        for command in designs {
            register.perform(&command, &manager).expect("the design is issued");
        }
        let photo = register
            .take_in_photo(PHOTO, hold_point("oversite"), "oversite", None)
            .expect("the photo is taken in");
        Self { folder, path, register, supervisor, manager, photo }
    }

    /// The site with plots at every stage.
    pub fn new() -> Self {
        let mut site = Self::bare();
        site.release("2", &["oversite"]);
        for (point, level) in
            [("A1", "47.811"), ("A2", "47.810"), ("A3", "47.808"), ("B5", "47.819"), ("C3", "47.814")]
        {
            site.read("2", "bearing-level", "level", point, level, "m");
        }
        for id in ["oversite", "bearing-level", "dpc", "vents", "edge-blocks"] {
            site.prove("3", id);
            site.act("3", Act::Offer(Extent::HoldPoint(hold_point(id))), false);
        }
        site.release("4", &["oversite"]);
        site.prove("4", "vents");
        site.act("4", Act::Offer(Extent::HoldPoint(hold_point("vents"))), false);
        let reason = "sleeves stand too high".to_owned();
        site.act("4", Act::Refuse { extent: Extent::HoldPoint(hold_point("vents")), reason }, true);
        site.release(
            "5",
            &[
                "oversite",
                "bearing-level",
                "dpc",
                "vents",
                "edge-blocks",
                "void-clean",
                "gas-pipes",
                "membrane",
            ],
        );
        site.prove("5", "sign-off");
        site.release("6", &["oversite"]);
        let reason = "beams were laid on Friday before the level was read".to_owned();
        site.act("6", Act::CoverUnreleased { hold_point: hold_point("bearing-level"), reason }, false);
        site
    }

    /// Performs an act as the supervisor, or as the manager.
    pub fn act(&mut self, on: &str, act: Act, as_manager: bool) {
        let by = if as_manager { &self.manager } else { &self.supervisor };
        let done = format!("{act:?}");
        let command = Command::OnPlot { plot: plot(on), act };
        if let Err(error) = self.register.perform(&command, by) {
            panic!("plot {on}: {error}: {done}");
        }
    }

    /// Books a reading.
    pub fn read(&mut self, on: &str, id: &str, criterion: &str, point: &str, value: &str, unit: &str) {
        let act = Act::BookReading {
            hold_point: hold_point(id),
            criterion: CriterionId::new(criterion).expect("a criterion's id"),
            point: PointName::new(point).expect("a point's name"),
            value: ReadValue::parse(value, unit).expect("a value"),
            instrument: None,
        };
        self.act(on, act, false);
    }

    /// Books everything that a hold point owes, as designed.
    pub fn prove(&mut self, on: &str, id: &str) {
        let view = self.register.plot(&plot(on)).expect("the plot reads").expect("the plot is known");
        let standing = view.standing.hold_point(&hold_point(id)).expect("the hold point is known").clone();
        for criterion in &standing.criteria {
            match &criterion.kind {
                CriterionKind::Question { .. } => self.act(
                    on,
                    Act::Answer {
                        hold_point: standing.id.clone(),
                        criterion: criterion.id.clone(),
                        answer: Answer::Yes,
                        reason: None,
                        remark: None,
                    },
                    false,
                ),
                CriterionKind::Document { not_applicable_reasons, .. }
                    if not_applicable_reasons.is_empty() => {}
                CriterionKind::Document { not_applicable_reasons, .. } => self.act(
                    on,
                    Act::Answer {
                        hold_point: standing.id.clone(),
                        criterion: criterion.id.clone(),
                        answer: Answer::NotApplicable,
                        reason: not_applicable_reasons.first().cloned(),
                        remark: None,
                    },
                    false,
                ),
                CriterionKind::Reckoning { feed, .. } => {
                    let (value, unit) = match (id, feed.unit()) {
                        (_, None) => continue,
                        ("oversite" | "void-clean", Some(_)) => ("47.560", "m"),
                        ("bearing-level", Some(_)) => ("47.810", "m"),
                        ("vents", Some(_)) => ("6000", "mm2"),
                        ("membrane", Some(_)) if criterion.id.as_str() == "thickness" => ("0.35", "mm"),
                        (_, Some(_)) => ("180", "mm"),
                    };
                    let named: Vec<String> = criterion
                        .owed
                        .iter()
                        .filter_map(|owed| owed.point.as_ref())
                        .map(ToString::to_string)
                        .collect();
                    let points =
                        if named.is_empty() { ["P1", "P2", "P3"].map(str::to_owned).to_vec() } else { named };
                    for point in points {
                        self.read(on, id, criterion.id.as_str(), &point, value, unit);
                    }
                }
            }
        }
        for evidence in &standing.evidence {
            for _ in evidence.photos.len()..evidence.wanted {
                let photo = PhotoAdded {
                    hold_point: standing.id.clone(),
                    subject: evidence.subject.clone(),
                    ..self.photo.clone()
                };
                self.act(on, Act::AddPhoto(photo), false);
            }
        }
    }

    /// Proves, offers and releases hold points one after the other.
    pub fn release(&mut self, on: &str, ids: &[&str]) {
        for id in ids {
            self.prove(on, id);
            self.act(on, Act::Offer(Extent::HoldPoint(hold_point(id))), false);
            self.act(on, Act::Release(Extent::HoldPoint(hold_point(id))), true);
        }
    }

    /// What the window shows on `screen`, with the supervisor at the tablet.
    pub fn state(&mut self, screen: Screen) -> State {
        let of = screen.plot().cloned();
        let plots = Arc::new(self.register.summaries().expect("the plots read"));
        let looked_at = of.map(|plot| {
            let view = self.register.plot(&plot).expect("the plot reads").expect("the plot is known");
            (plot, view)
        });
        State {
            screen,
            register: Some(OpenRegister {
                path: self.path.clone(),
                site: Arc::clone(self.register.site()),
                plots,
                plot: looked_at,
                read_only: self.register.is_read_only(),
                restored_copy: self.register.is_restored_copy(),
                fingerprint: self.register.authority().expect("an authority").fingerprint(),
                can_enrol: self.register.can_enrol(),
                on_disk: "14:02:07".to_owned(),
                today: Date::of(self.register.now()),
            }),
            at_tablet: Some(AtTablet {
                person: self.supervisor.person,
                name: "R. Tarn".to_owned(),
                role: Role::Supervisor,
                unlocked: true,
            }),
            ..State::default()
        }
    }

    /// Puts the manager at the tablet of a state.
    pub fn hand_to_manager(&self, state: &mut State) {
        state.at_tablet = Some(AtTablet {
            person: self.manager.person,
            name: "M. Ashby".to_owned(),
            role: Role::QualityManager,
            unlocked: true,
        });
    }

    /// The first gate.
    pub fn first_gate() -> GateId {
        GateId::new("ready-for-beams").expect("a gate's id")
    }
}

#[test]
fn the_invented_site_has_plots_at_every_stage() {
    use gaugerod_core::inspection::{GateState, HoldPointState};
    let mut site = Site::new();
    let summaries = site.register.summaries().expect("the plots read");
    assert_eq!(summaries.len(), 9);
    let of = |name: &str| summaries.iter().find(|one| one.plot.as_str() == name).expect("the plot").clone();
    let state = |name: &str, id: &str| {
        of(name).hold_points.iter().find(|one| one.id.as_str() == id).expect("the hold point").state
    };
    assert_eq!(state("2", "oversite"), HoldPointState::Released);
    assert_eq!(of("2").open.len(), 2, "{:?}", of("2").open);
    assert_eq!(of("3").gates[0].1, GateState::Offered);
    assert_eq!(state("4", "vents"), HoldPointState::Refused);
    assert_eq!(state("6", "bearing-level"), HoldPointState::CoveredUnreleased);
    assert_eq!(of("5").settled(), (8, 9));
    let view = site.register.plot(&plot("5")).expect("reads").expect("known");
    assert_eq!(view.standing.against_sign_off(), Vec::<String>::new());
}

/// A design without its beams: its plot is asked for the nine hold points that every floor has.
fn without_beams(design: &str) -> String {
    let (before, rest) = design.split_once("# Beams and infill.").expect("the design draws beams");
    let (_, after) = rest.split_once("[limits]").expect("the design has limits");
    format!("{before}[limits]{after}")
}
