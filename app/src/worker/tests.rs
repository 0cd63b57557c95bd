//! The worker through its own door: requests in, replies out, with real files in a temporary folder.

use std::path::{Path, PathBuf};

use egui::Context;
use gaugerod_core::entry::{Answer, ReadValue};
use gaugerod_core::ids::{CriterionId, PointName};
use gaugerod_core::inspection::{Act, Extent, HoldPointState};
use gaugerod_core::plan_of_work::Role;
use gaugerod_core::register::Register;
use tempfile::TempDir;

use super::*;
use crate::action::DocumentFor;
use crate::screens::fixture::{PASSPHRASE, PIN, Site, hold_point, machine, plot};
use crate::state::{Screen, State};
use crate::update::{carry_out, take_reply};

mod curing;
mod cuts;
mod levels;

/// Longest that any answer may take, in seconds: a bound against hanging, never waited for.
const LONGEST: u64 = 60;

struct Bench {
    folder: TempDir,
    worker: Worker,
    state: State,
    ctx: Context,
}

impl Bench {
    fn new() -> Self {
        Self::at(tempfile::tempdir().expect("a temporary folder"))
    }

    fn at(folder: TempDir) -> Self {
        let ctx = Context::default();
        let means = Means {
            draughtsman: crate::drawings::Draughtsman::Here,
            machine: machine(folder.path()),
            settings: folder.path().to_owned(),
            demo: folder.path().join("demo"),
        };
        let worker = Worker::start(ctx.clone(), means).expect("the worker starts");
        Self { folder, worker, state: State::default(), ctx }
    }

    /// Opens the invented site.
    fn on(site: Site) -> Self {
        let Site { folder, path, register, .. } = site;
        drop(register);
        let mut bench = Self::at(folder);
        bench.ask(Action::OpenRegister(path));
        bench.until("an open register", |state| state.register.is_some());
        bench
    }

    fn ask(&mut self, action: Action) {
        carry_out(&mut self.state, &self.worker, action);
    }

    /// Takes in replies until what is waited for shows; fails when the worker says nothing more.
    fn until(&mut self, what: &str, shown: impl Fn(&State) -> bool) {
        while !shown(&self.state) {
            let reply = self.worker.wait(LONGEST);
            let reply = reply.unwrap_or_else(|| panic!("no {what}; the notice is {:?}", self.state.notice));
            take_reply(&mut self.state, &self.worker, reply, &self.ctx);
        }
    }

    fn problem(&mut self) -> String {
        self.until("problem", |state| state.notice.as_ref().is_some_and(|notice| notice.is_problem));
        self.state.notice.take().expect("a notice").text
    }

    fn unlock(&mut self, name: &str) {
        let person = {
            let site = &self.state.register.as_ref().expect("open").site;
            *site.people.iter().find(|(_, person)| person.enrolled.name == name).expect("enrolled").0
        };
        self.ask(Action::Unlock { person, pin: PIN.to_owned() });
        self.until("an unlocked tablet", |state| {
            state.at_tablet.as_ref().is_some_and(|who| who.unlocked && who.person == person)
        });
    }

    fn write(&self, name: &str, bytes: &[u8]) -> PathBuf {
        let path = self.folder.path().join(name);
        std::fs::write(&path, bytes).expect("written");
        path
    }
}

fn criterion(id: &str) -> CriterionId {
    CriterionId::new(id).expect("a criterion's id")
}

fn level(at: &str, metres: &str) -> Action {
    Action::Book {
        plot: plot("1"),
        hold_point: hold_point("bearing-level"),
        criterion: criterion("level"),
        point: PointName::new(at).expect("a point"),
        value: ReadValue::parse(metres, "m").expect("a level"),
        instead_of: None,
    }
}

#[test]
fn a_register_is_made_people_enrolled_and_a_design_issued() {
    let mut bench = Bench::new();
    let path = bench.folder.path().join("sites/alder.gaugerod");
    bench.ask(Action::NewRegister {
        path: path.clone(),
        site: "Alder Rise (invented)".to_owned(),
        passphrase: PASSPHRASE.to_owned(),
    });
    bench.until("a new register", |state| state.register.is_some());
    assert_eq!(bench.state.screen, Screen::SiteFile);
    bench.ask(Action::Enrol {
        name: "R. Tarn".to_owned(),
        role: Role::Supervisor,
        pin: PIN.to_owned(),
        passphrase: PASSPHRASE.to_owned(),
    });
    bench.until("somebody at the tablet", |state| state.at_tablet.as_ref().is_some_and(|who| who.unlocked));
    let file = bench.write("semi.toml", include_bytes!("../../../assets/demo/semi.toml"));
    bench.ask(Action::ReadDesign(file.clone()));
    bench.until("a design", |state| state.design.is_some());
    assert!(bench.state.design.as_ref().is_some_and(|design| design.result.is_ok()));
    bench.ask(Action::IssueDesign { path: file, plots: vec![plot("1"), plot("2")] });
    bench.until("plots", |state| state.register.as_ref().is_some_and(|register| register.plots.len() == 2));
    // What the window was told is on disk.
    let register = Register::open(&path, machine(bench.folder.path()).surroundings()).expect("opens");
    assert_eq!(register.site().plots.len(), 2);
}

#[test]
fn a_wrong_passphrase_enrols_nobody_and_says_so() {
    let mut bench = Bench::on(Site::bare());
    bench.ask(Action::Enrol {
        name: "A. Other".to_owned(),
        role: Role::Supervisor,
        pin: PIN.to_owned(),
        passphrase: "thirteen wrong".to_owned(),
    });
    assert!(bench.problem().contains("wrong"));
    assert_eq!(bench.state.register.as_ref().expect("open").site.people.len(), 2);
    assert!(bench.state.busy.is_none());
}

#[test]
fn a_reading_shows_once_it_is_on_disk_and_without_anybody_at_the_tablet_not_at_all() {
    let mut bench = Bench::on(Site::bare());
    bench.ask(Action::Go(Screen::Section(plot("1"))));
    bench.until("the plot", |state| state.plot(&plot("1")).is_some());
    bench.ask(level("A1", "47.811"));
    assert!(bench.problem().contains("taken the tablet"));
    bench.unlock("R. Tarn");
    bench.ask(level("A1", "47.811"));
    let readings = |state: &State| state.plot(&plot("1")).map_or(0, |view| view.record.readings.len());
    bench.until("the reading", |state| readings(state) == 1);
    assert!(!bench.state.register.as_ref().expect("open").on_disk.is_empty());
    // A slip of the keys far outside of anything on a site is refused, and nothing is noted.
    bench.ask(level("A2", "4781.1"));
    assert!(bench.problem().contains("Nothing of this was recorded"));
    assert_eq!(readings(&bench.state), 1);
}

#[test]
fn a_wrong_pin_is_a_sentence_and_the_next_waits_after_three() {
    let mut bench = Bench::on(Site::bare());
    let person = *bench.state.register.as_ref().expect("open").site.people.keys().next().expect("somebody");
    let mut last = String::new();
    for _ in 0..4 {
        bench.ask(Action::Unlock { person, pin: "0000".to_owned() });
        last = bench.problem();
    }
    assert!(last.contains("wait"), "{last}");
    assert!(bench.state.at_tablet.is_none());
}

#[test]
fn offering_without_a_pin_asks_for_it_and_shows_the_tablet() {
    let mut site = Site::bare();
    site.prove("1", "oversite");
    let mut bench = Bench::on(site);
    let person = {
        let people = &bench.state.register.as_ref().expect("open").site.people;
        *people.iter().find(|(_, one)| one.enrolled.role == Role::QualityManager).expect("a manager").0
    };
    bench.unlock("R. Tarn");
    let offer = Action::Do { plot: plot("1"), act: Act::Offer(Extent::HoldPoint(hold_point("oversite"))) };
    bench.ask(offer);
    let state_of = |state: &State| {
        let plots = &state.register.as_ref().expect("open").plots;
        plots[0].hold_points.iter().find(|one| one.id == hold_point("oversite")).expect("there").state
    };
    bench.until("the offer", |state| state_of(state) == HoldPointState::Offered);
    bench.ask(Action::TakeOver(person));
    bench.until("the manager", |state| state.at_tablet.as_ref().is_some_and(|who| who.person == person));
    let release =
        Action::Do { plot: plot("1"), act: Act::Release(Extent::HoldPoint(hold_point("oversite"))) };
    bench.ask(release.clone());
    assert!(bench.problem().contains("PIN"));
    assert!(crate::screens::tablet::is_shown(&bench.state));
    bench.unlock("M. Ashby");
    assert!(!crate::screens::tablet::is_shown(&bench.state));
    bench.ask(release);
    bench.until("the release", |state| state_of(state) == HoldPointState::Released);
}

#[test]
fn photos_are_taken_in_and_what_is_none_is_refused_by_name() {
    let mut bench = Bench::on(Site::bare());
    bench.unlock("R. Tarn");
    bench.ask(Action::Go(Screen::HoldPoint(plot("1"), hold_point("oversite"))));
    let good = bench.write("good.jpg", include_bytes!("../../../assets/demo/photos/oversite.jpg"));
    let cut = bench.write("cut.jpg", &include_bytes!("../../../assets/demo/photos/oversite.jpg")[..2000]);
    let missing = bench.folder.path().join("missing.jpg");
    let add = |files: Vec<PathBuf>| Action::AddPhotos {
        plot: plot("1"),
        hold_point: hold_point("oversite"),
        subject: "oversite".to_owned(),
        files,
    };
    bench.ask(add(vec![cut, missing, good]));
    let sentence = bench.problem();
    assert!(
        sentence.contains("1 photo is on disk")
            && sentence.contains("cut.jpg")
            && sentence.contains("missing.jpg"),
        "{sentence}"
    );
    let view = bench.state.plot(&plot("1")).expect("the plot");
    assert_eq!(view.record.photos.len(), 1);
    assert!(bench.state.busy.is_none());
    let sha = view.record.photos[0].fact.photo.0;
    bench.worker.ask(Request::Picture(RenditionKind::Thumbnail, sha));
    bench.until("the thumbnail", |state| state.thumbnails.bytes() > 0);
    bench.worker.ask(Request::Picture(RenditionKind::Screen, sha));
    bench.until("the picture to look at", |state| state.large.bytes() > state.thumbnails.bytes());
    let most = usize::try_from(RenditionKind::Screen.longest_side()).expect("a few thousand pixels");
    assert!(bench.state.large.bytes() <= most * most * 4);
}

#[test]
fn what_a_gauge_said_is_booked_point_after_point_and_stops_at_the_first_that_is_refused() {
    let mut bench = Bench::on(Site::bare());
    bench.unlock("R. Tarn");
    bench.ask(Action::Go(Screen::Section(plot("1"))));
    let gauge = |points: &[(&str, bool)]| Action::BookGauge {
        plot: plot("1"),
        hold_point: hold_point("dpc"),
        criterion: CriterionId::new("lap").expect("an id"),
        gauge: "lap gauge 3".to_owned(),
        points: points
            .iter()
            .map(|(name, passes)| (PointName::new(name).expect("a name"), *passes))
            .collect(),
    };
    bench.ask(gauge(&[("A", true), ("nowhere", true), ("B", false)]));
    let sentence = bench.problem();
    assert!(sentence.contains("nowhere") && sentence.contains("1 of 3 are on disk"), "{sentence}");
    let readings = |state: &State| {
        let view = state.plot(&plot("1"))?;
        let read = view.record.readings.iter();
        Some(read.map(|one| (one.fact.value, one.fact.instrument.clone())).collect::<Vec<_>>())
    };
    let named = || Some("lap gauge 3".to_owned());
    assert_eq!(readings(&bench.state), Some(vec![(ReadValue::Go, named())]));
    bench.ask(gauge(&[("B", false)]));
    bench.until("the second reading", |state| readings(state).is_some_and(|all| all.len() == 2));
    assert_eq!(readings(&bench.state), Some(vec![(ReadValue::Go, named()), (ReadValue::NoGo, named())]));
    assert!(bench.state.busy.is_none());
}

#[test]
fn a_photo_nobody_has_is_given_up() {
    let bench = Bench::on(Site::bare());
    bench.worker.ask(Request::Picture(RenditionKind::Screen, [7; 32]));
    loop {
        if let Reply::Picture(_, sha, picture) = bench.worker.wait(LONGEST).expect("an answer") {
            assert!(sha == [7; 32] && picture.is_none());
            break;
        }
    }
}

#[test]
fn the_thread_survives_a_mistake_of_the_program_and_reads_the_register_again() {
    let mut bench = Bench::on(Site::bare());
    bench.unlock("R. Tarn");
    bench.worker.ask(Request::Stumble);
    assert!(bench.problem().contains("mistake of its own"));
    bench.ask(Action::Go(Screen::Section(plot("1"))));
    bench.ask(level("A1", "47.811"));
    bench.until("the reading", |state| {
        state.plot(&plot("1")).is_some_and(|view| view.record.readings.len() == 1)
    });
}

#[test]
fn what_is_typed_is_there_again_after_opening() {
    let mut bench = Bench::on(Site::bare());
    let path = bench.state.register.as_ref().expect("open").path.clone();
    for text in ["1", "1.", "1.2", "1.24"] {
        bench.ask(Action::KeepDraft { name: "keypad/1/level/A1".to_owned(), text: text.to_owned() });
    }
    let Bench { folder, worker, .. } = bench;
    drop(worker); // as if the window were closed: everything asked for is on disk then
    let mut again = Bench::at(folder);
    again.ask(Action::OpenRegister(path));
    again.until("an open register", |state| state.register.is_some());
    assert_eq!(again.state.drafts.text("keypad/1/level/A1"), "1.24");
    assert!(again.state.drafts.text.keys().all(|name| !name.starts_with("authority/")), "keys are no drafts");
}

#[test]
fn a_gate_is_released_on_several_plots_and_what_is_refused_is_named() {
    let mut bench = Bench::on(Site::new());
    bench.unlock("M. Ashby");
    bench.ask(Action::ReleaseGates { gate: Site::first_gate(), plots: vec![plot("3"), plot("1")] });
    let sentence = bench.problem();
    assert!(sentence.contains("Released on plot 3") && sentence.contains("plot 1:"), "{sentence}");
    bench.until("the releases", |state| {
        let plots = &state.register.as_ref().expect("open").plots;
        plots[2].hold_points.iter().take(5).all(|one| one.state == HoldPointState::Released)
    });
}

#[test]
fn a_plot_is_previewed_and_signed_off_into_a_file() {
    let mut bench = Bench::on(Site::new());
    bench.unlock("M. Ashby");
    bench.ask(Action::PreviewSignOff(plot("5")));
    bench.until("the draft", |state| state.preview.draft.is_some());
    assert_eq!(bench.state.preview.against, Vec::<String>::new());
    assert!(bench.state.preview.pages.len() > 8);
    bench.ask(Action::SignOff {
        plot: plot("5"),
        pin: PIN.to_owned(),
        drawn: vec![vec![[0.1, 0.2], [0.8, 0.9]]],
    });
    bench.until("the signed file", |state| state.preview.signed.is_some());
    let file = bench.state.preview.signed.clone().expect("a file");
    let bytes = std::fs::read(&file).expect("the file is there");
    assert!(bytes.starts_with(b"%PDF-1.7"));
    bench.until("the sign-off in the record", |state| {
        state.register.as_ref().is_some_and(|register| register.plots[4].signed_off)
    });
}

#[test]
fn a_plot_with_something_outstanding_is_not_signed() {
    let mut bench = Bench::on(Site::new());
    bench.unlock("M. Ashby");
    bench.ask(Action::SignOff { plot: plot("4"), pin: PIN.to_owned(), drawn: Vec::new() });
    assert!(bench.problem().contains("cannot be signed off"));
    assert!(bench.state.preview.signed.is_none() && bench.state.busy.is_none());
}

#[test]
fn a_file_that_is_no_register_is_refused_and_the_open_one_stays() {
    let mut bench = Bench::on(Site::bare());
    let other = bench.write("letter.gaugerod", b"Dear Sir, this is no register at all.");
    bench.ask(Action::OpenRegister(other));
    assert!(bench.problem().contains("letter.gaugerod"));
    bench.ask(Action::OpenRegister(PathBuf::from("/nowhere/at/all.gaugerod")));
    assert!(bench.problem().contains("/nowhere/at/all.gaugerod"));
    assert!(bench.state.register.is_some());
}

#[test]
fn a_design_with_faults_lists_them_all_with_their_lines() {
    let mut bench = Bench::on(Site::bare());
    let text = include_str!("../../../assets/demo/semi.toml").replace("void_mm = 150", "void_mm = \"deep\"");
    let text = text.replace("invented = true", "invented = 7");
    let file = bench.write("wrong.toml", text.as_bytes());
    bench.ask(Action::ReadDesign(file));
    bench.until("the faults", |state| state.design.is_some());
    let faults = bench.state.design.clone().expect("read").result.expect_err("faults");
    assert!(faults.len() >= 2, "{faults:?}");
    assert!(faults.iter().all(|fault| fault.contains("line")), "{faults:?}");
}

#[test]
fn a_document_of_no_known_kind_is_refused() {
    let mut bench = Bench::on(Site::bare());
    bench.unlock("R. Tarn");
    let file = bench.write("record.bin", &[0, 1, 2, 3]);
    let purpose =
        DocumentFor::Criterion { hold_point: hold_point("gas-pipes"), criterion: criterion("engineer") };
    bench.ask(Action::Attach { plot: plot("1"), purpose, file });
    assert!(bench.problem().contains("record.bin"));
}

#[test]
fn an_answer_is_taken_back_as_a_mistake_and_both_stay() {
    let mut bench = Bench::on(Site::bare());
    bench.unlock("R. Tarn");
    bench.ask(Action::Go(Screen::HoldPoint(plot("1"), hold_point("oversite"))));
    let answer = |answer: Answer, instead_of| Action::Answer {
        plot: plot("1"),
        hold_point: hold_point("oversite"),
        criterion: criterion("stripped"),
        answer,
        reason: None,
        instead_of,
    };
    bench.ask(answer(Answer::No, None));
    let answers = |state: &State| state.plot(&plot("1")).map_or(0, |view| view.record.answers.len());
    bench.until("the answer", |state| answers(state) == 1);
    let first = bench.state.plot(&plot("1")).expect("the plot").record.answers[0].noted.id;
    bench.ask(answer(Answer::Yes, Some((first, gaugerod_core::entry::Because::Reworked))));
    bench.until("the second answer", |state| answers(state) == 2);
}

#[test]
fn the_last_register_is_remembered() {
    let bench = Bench::on(Site::bare());
    let path = bench.state.register.as_ref().expect("open").path.clone();
    let named = std::fs::read_to_string(desk::last_register(bench.folder.path())).expect("kept");
    assert_eq!(Path::new(&named), path);
}
