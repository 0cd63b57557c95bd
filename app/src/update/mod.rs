//! The only place where [`State`] changes: what a screen asked for is carried out, what the worker answered is
//! taken in.
//!
//! - this file: actions
//! - [`reply`]: the worker's answers
//! - [`dialog`]: file dialogs, each on a thread of its own
//! - [`dropped`]: files dropped on the window

use std::path::PathBuf;

use crate::action::Action;
use crate::screens::cuts::Cuts;
use crate::state::{Notice, Preview, Screen, State};
use crate::worker::{Request, Worker};

pub mod dialog;
pub mod dropped;
pub mod reply;

pub use reply::take_reply;

/// The name of the switch that shows who is at the tablet over whatever screen is open.
pub const TABLET: &str = "tablet";
/// The name of the draft that holds the PIN being typed there.
pub const TABLET_PIN: &str = "tablet/pin";
/// The name of the draft that holds who was chosen there, as the person's id.
pub const TABLET_PERSON: &str = "tablet/person";

/// How many screens back one can go.
const MOST_BEFORE: usize = 50;

/// Carries out what a screen asked for.
pub fn carry_out(state: &mut State, worker: &Worker, action: Action) {
    match action {
        Action::Go(screen) => go(state, worker, screen),
        Action::Back => back(state, worker),
        Action::Sheet(sheet) => state.sheet = sheet,
        Action::DismissNotice => state.notice = None,
        Action::Stop => worker.stop(),
        Action::CloseRegister => {
            worker.ask(Request::Do(Action::CloseRegister));
            *state = reply::fresh(state);
        }
        Action::PickRegister
        | Action::PickNewRegister
        | Action::PickDesign
        | Action::PickPhotos { .. }
        | Action::PickLevelBook { .. }
        | Action::PickTemperatures { .. }
        | Action::PickDocument { .. }
        | Action::PickDrawing(_) => dialog::open(worker, action),
        Action::ShowFile(path) => show_file(worker, path),
        Action::Unlock { .. } => {
            state.drafts.secrets.clear();
            worker.ask(Request::Do(action));
        }
        Action::Enrol { .. } | Action::NewRegister { .. } | Action::SignOff { .. } => {
            state.drafts.secrets.clear();
            state.notice = None;
            worker.ask(Request::Do(action));
        }
        Action::PreviewSignOff(plot) => {
            state.preview = Preview { plot: Some(plot.clone()), ..Preview::default() };
            worker.ask(Request::Do(Action::PreviewSignOff(plot)));
        }
        Action::KeepDraft { .. } => worker.ask(Request::Do(action)),
        other => {
            state.notice = None;
            worker.ask(Request::Do(other));
        }
    }
}

fn go(state: &mut State, worker: &Worker, screen: Screen) {
    if state.screen == screen {
        return;
    }
    let before = std::mem::replace(&mut state.screen, screen);
    // The sheets of the whole site are the floor that one walks on: going there forgets the way back.
    if matches!(
        state.screen,
        Screen::Site | Screen::Register | Screen::SiteFile | Screen::Nonconformances(None)
    ) {
        state.before.clear();
    }
    if before != Screen::Welcome || state.register.is_none() {
        state.before.push(before);
    }
    if state.before.len() > MOST_BEFORE {
        state.before.remove(0);
    }
    arrive(state, worker);
}

fn back(state: &mut State, worker: &Worker) {
    let home = if state.register.is_some() { Screen::Site } else { Screen::Welcome };
    state.screen = state.before.pop().unwrap_or(home);
    arrive(state, worker);
}

/// What every change of screen brings with it.
fn arrive(state: &mut State, worker: &Worker) {
    if !state.notice.as_ref().is_some_and(|notice| notice.is_problem) {
        state.notice = None;
    }
    state.drafts.on.remove(TABLET);
    state.drafts.secrets.clear();
    if let Some(plot) = state.screen.plot() {
        let shown = state.register.as_ref().and_then(|register| register.plot.as_ref());
        if shown.is_none_or(|(own, _)| own != plot) {
            if let Some(register) = &mut state.register {
                register.plot = None;
            }
            worker.ask(Request::Look(plot.clone()));
        }
    }
    if let Screen::Cuts(plot) = &state.screen
        && state.cuts.as_ref().is_none_or(|cuts| cuts.plot != *plot)
    {
        worker.ask(Request::Do(Action::FindCuts { plot: plot.clone(), plots: None }));
        state.cuts = Some(Cuts::waiting(plot.clone()));
    }
    if let Screen::SignOff(plot) = &state.screen
        && state.preview.plot.as_ref() != Some(plot)
    {
        state.preview = Preview::default();
        state.drafts.strokes.clear();
    }
}

/// Shows a file with the system's own viewer, on a thread that waits for it.
fn show_file(worker: &Worker, path: PathBuf) {
    let reply = worker.replier();
    let waiting = std::thread::Builder::new().name("viewer".to_owned()).spawn(move || {
        let shown = std::process::Command::new("xdg-open").arg(&path).status();
        if !shown.is_ok_and(|status| status.success()) {
            let sentence = format!("No viewer opened. The file is on disk: {}", path.display());
            reply.say(sentence, true);
        }
    });
    if waiting.is_err() {
        worker.replier().say("No viewer could be started: the system gives no thread.", true);
    }
}

/// Shows a sentence.
pub fn say(state: &mut State, text: impl Into<String>, is_problem: bool) {
    state.notice = Some(Notice { text: text.into(), is_problem });
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::Receiver;

    use super::*;
    use crate::screens::fixture::{Site, hold_point, plot};
    use crate::state::SheetChoice;

    fn asked(requests: &Receiver<Request>) -> Vec<String> {
        requests.try_iter().map(|request| format!("{request:?}")).collect()
    }

    #[test]
    fn going_to_a_plot_looks_at_it_once_and_back_returns() {
        let (worker, requests) = Worker::listening();
        let mut state = Site::bare().state(Screen::Site);
        carry_out(&mut state, &worker, Action::Go(Screen::Section(plot("2"))));
        assert_eq!(asked(&requests), [r#"Look(PlotId("2"))"#]);
        let hold = Screen::HoldPoint(plot("2"), hold_point("oversite"));
        state.register.as_mut().unwrap().plot = None;
        carry_out(&mut state, &worker, Action::Go(hold.clone()));
        assert_eq!(state.before, [Screen::Site, Screen::Section(plot("2"))]);
        carry_out(&mut state, &worker, Action::Back);
        assert_eq!(state.screen, Screen::Section(plot("2")));
        carry_out(&mut state, &worker, Action::Back);
        carry_out(&mut state, &worker, Action::Back);
        assert_eq!(state.screen, Screen::Site);
    }

    #[test]
    fn a_problem_stays_on_screen_when_one_goes_on_and_a_plain_word_does_not() {
        let (worker, _requests) = Worker::listening();
        let mut state = Site::bare().state(Screen::Site);
        say(&mut state, "wrong", true);
        carry_out(&mut state, &worker, Action::Go(Screen::Register));
        assert!(state.notice.is_some());
        say(&mut state, "done", false);
        carry_out(&mut state, &worker, Action::Go(Screen::Site));
        assert!(state.notice.is_none());
    }

    #[test]
    fn closing_keeps_nothing_but_the_sheet() {
        let (worker, requests) = Worker::listening();
        let mut state = Site::bare().state(Screen::Register);
        carry_out(&mut state, &worker, Action::Sheet(SheetChoice::Dark));
        carry_out(&mut state, &worker, Action::CloseRegister);
        assert_eq!((state.screen, state.sheet), (Screen::Welcome, SheetChoice::Dark));
        assert!(state.register.is_none() && state.at_tablet.is_none() && state.drafts.text.is_empty());
        assert_eq!(asked(&requests), ["Do(CloseRegister)"]);
    }

    #[test]
    fn no_pin_and_no_passphrase_stays_once_it_is_sent_or_the_screen_changes() {
        let (worker, _requests) = Worker::listening();
        let site = Site::bare();
        let (person, pin) = (site.manager.person, "4711".to_owned());
        let passphrase = "twelve stones and a rod".to_owned();
        for action in [
            Action::Unlock { person, pin: pin.clone() },
            Action::Enrol {
                name: "A. Gas".to_owned(),
                role: gaugerod_core::plan_of_work::Role::GasEngineer,
                pin: pin.clone(),
                passphrase: passphrase.clone(),
            },
            Action::NewRegister { path: "a".into(), site: "A".to_owned(), passphrase: passphrase.clone() },
            Action::SignOff { plot: plot("5"), pin: pin.clone(), drawn: Vec::new() },
            Action::Go(Screen::Register),
            Action::Back,
        ] {
            let mut state = State::default();
            for name in
                [TABLET_PIN, "enrol/pin", "enrol/passphrase", "new-register/passphrase", "sign-off/pin"]
            {
                "4711 and more".clone_into(state.drafts.secret_mut(name));
            }
            let sent = format!("{action:?}");
            carry_out(&mut state, &worker, action);
            assert!(state.drafts.secrets.is_empty(), "{sent}");
        }
    }
}
