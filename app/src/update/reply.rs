//! The worker's answers, taken into the state.

use egui::Context;
use gaugerod_core::photo::RenditionKind;

use super::{TABLET, TABLET_PERSON};
use crate::action::Action;
use crate::screens::instruments::REGISTER_DRAFTS;
use crate::screens::{cuts, underlay};
use crate::state::{Notice, Screen, State};
use crate::worker::{Reply, Worker};

/// Drafts that an issued floor design is done with.
const DESIGN_DRAFTS: [&str; 2] = ["design/path", "design/plots"];
/// Drafts that an enrolled person is done with.
const ENROL_DRAFTS: [&str; 1] = ["enrol/name"];

/// Takes in one answer.
pub fn take_reply(state: &mut State, worker: &Worker, reply: Reply, ctx: &Context) {
    match reply {
        Reply::Opened(opened) => {
            *state = fresh(state);
            state.drafts.text = opened.drafts;
            state.screen = if opened.is_new { Screen::SiteFile } else { Screen::Site };
            if opened.is_new {
                let text =
                    "The register is on disk. Next: enrol who works with it, then read a floor design. Give \
                            the fingerprint below to building control on paper before work starts."
                        .to_owned();
                state.notice = Some(Notice { text, is_problem: false });
            }
            state.register = Some(opened.register);
        }
        Reply::Now(now) => {
            let unlocked = now.at_tablet.as_ref().is_some_and(|who| who.unlocked);
            let changed = state.at_tablet != now.at_tablet;
            state.at_tablet = now.at_tablet;
            if let Some(shown) = &mut state.register {
                *shown = now.register;
            }
            if changed && (unlocked || state.drafts.text(TABLET_PERSON).is_empty()) {
                state.drafts.on.remove(TABLET);
                state.drafts.secrets.clear();
                state.drafts.text.remove(TABLET_PERSON);
            }
        }
        Reply::Said(notice) => state.notice = Some(notice),
        Reply::PinNeeded(name) => {
            let text = format!(
                "{name}'s PIN is needed for this: give it once, it holds for the shift, then ask again."
            );
            state.notice = Some(Notice { text, is_problem: true });
            if let Some(who) = &state.at_tablet {
                state.drafts.text.insert(TABLET_PERSON.to_owned(), who.person.to_hex());
            }
            state.drafts.on.insert(TABLET.to_owned(), true);
        }
        Reply::Busy(busy) => state.busy = busy,
        Reply::Design(design) => {
            let path = design.path.to_string_lossy().into_owned();
            state.drafts.text.insert("design/path".to_owned(), path);
            state.design = Some(design);
        }
        Reply::DesignIssued => {
            state.design = None;
            forget(state, &DESIGN_DRAFTS);
        }
        Reply::Enrolled => forget(state, &ENROL_DRAFTS),
        Reply::Picture(kind, sha, picture) => {
            let cache = match kind {
                RenditionKind::Thumbnail => &mut state.thumbnails,
                RenditionKind::Screen => &mut state.large,
            };
            match picture {
                Some(picture) => cache.offer(ctx, sha, picture),
                None => cache.give_up(&sha),
            }
        }
        Reply::Registered => registered(state, worker),
        Reply::LevelBook(read) => state.drafts.levels.show(*read),
        Reply::Temperatures(read) => state.drafts.temperatures = Some(*read),
        Reply::Drawing { plot, path, page, result } => {
            state.drafts.text.insert(underlay::PATH.to_owned(), path.to_string_lossy().into_owned());
            state.underlays.read(ctx, plot, path, page, result);
        }
        Reply::Underlay(key, result) => state.underlays.offer(ctx, key, result),
        Reply::UnderlayPlaced => {
            state.underlays.placing = None;
            forget(state, &[underlay::PATH, underlay::REVISION, underlay::DISTANCE]);
        }
        Reply::Cuts(found) => {
            for one in &found.candidates {
                if one.chosen {
                    state.drafts.on.insert(cuts::switch(&one.plot), true);
                } else {
                    state.drafts.on.remove(&cuts::switch(&one.plot));
                }
            }
            state.cuts = Some(cuts::Cuts::of(*found));
        }
        Reply::CutSheets(file) => {
            if let Some(cuts) = &mut state.cuts {
                cuts.file = Some(file);
            }
        }
        Reply::Drafted(name, text) => drop(state.drafts.text.insert(name, text)),
        Reply::Recalled(batch, found) => state.recalled = Some((batch, found)),
        Reply::Preview(preview) => state.preview = *preview,
        Reply::Chosen(action) => chosen(state, worker, action),
    }
}

/// A state with nothing of the register that was open, but for pictures that are on the graphics card already.
pub(super) fn fresh(state: &mut State) -> State {
    let (thumbnails, large) = (std::mem::take(&mut state.thumbnails), std::mem::take(&mut state.large));
    let (thumbnails, large) = (thumbnails.begin_again(), large.begin_again());
    State { sheet: state.sheet, thumbnails, large, ..State::default() }
}

/// An instrument or a bench mark is registered: what was typed for it is done with, and whoever came from a level
/// book goes on there.
fn registered(state: &mut State, worker: &Worker) {
    let typed: Vec<String> =
        state.drafts.text.keys().filter(|name| name.starts_with(REGISTER_DRAFTS)).cloned().collect();
    for name in typed {
        state.drafts.text.remove(&name);
        super::carry_out(state, worker, Action::KeepDraft { name, text: String::new() });
    }
    if state.screen == Screen::Instruments && matches!(state.before.last(), Some(Screen::LevelBook(..))) {
        super::carry_out(state, worker, Action::Back);
    }
}

/// What a dialog ended with: a path goes into its field, so that it can be seen before it is used.
fn chosen(state: &mut State, worker: &Worker, action: Action) {
    match action {
        Action::NewRegister { path, .. } => {
            let path = path.to_string_lossy().into_owned();
            state.drafts.text.insert("new-register/path".to_owned(), path);
        }
        other => super::carry_out(state, worker, other),
    }
}

fn forget(state: &mut State, names: &[&str]) {
    for name in names {
        state.drafts.text.remove(*name);
    }
}
