//! What has to be asked before something can be done: a reason, a photo's subject, a designer's name, the PIN. It
//! takes the place of the column beside the drawing, never a box over it, so nothing on the sheet is hidden.
//!
//! Reasons come as lists to pick from, the site's own from its plan of work; prose is added to them, and is the last
//! resort.

use std::path::PathBuf;

use egui::{RichText, TextEdit, Ui, vec2};
use gaugerod_core::ids::{CriterionId, EntryId, GateId, HoldPointId};
use gaugerod_core::inspection::{Act, Extent};
use gaugerod_core::plan_of_work::Reasons;

use super::desk::Desk;
use crate::action::{Action, DISPOSITIONS, DocumentFor};
use crate::shipped;
use crate::state::State;
use crate::theme;
use crate::widgets::{self, PinEvent, Weight, buttons};

/// What is asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Asking {
    /// The PIN, for what waits in the drafts.
    Pin,
    /// Why a gate is refused.
    RefuseGate(GateId),
    /// Why a hold point is refused.
    Refuse(HoldPointId),
    /// What does not conform.
    Raise(HoldPointId, Option<CriterionId>),
    /// Who covered it, when, and why.
    Cover(HoldPointId),
    /// Whose written assessment it is.
    Assess(HoldPointId),
    /// What was done about a nonconformance.
    Close(EntryId),
    /// Whose concession it is.
    Concede(EntryId),
    /// Which photo, of what.
    Photo(HoldPointId),
}

const REASON: &str = "asking/reason";
/// The draft that holds what is written beside a list, or a designer's name.
pub const WORDS: &str = "asking/words";
/// The draft that holds the path of a file.
pub const PATH: &str = "asking/path";
const DONE: &str = "asking/disposition";
const PIN: &str = "asking/pin";
/// Fewest figures of a PIN.
const LEAST_PIN: usize = 4;

/// Asks for something on this plot.
pub fn ask(state: &mut State, desk: &Desk, asking: Asking) {
    for name in [REASON, WORDS, DONE, PATH] {
        state.drafts.text.remove(name);
    }
    state.drafts.secrets.remove(PIN);
    state.drafts.asking = Some((desk.plot.clone(), asking));
}

/// Does it at once where the PIN was given, asks for the PIN where it was not.
pub fn with_pin(state: &mut State, desk: &Desk, action: Action) {
    if desk.at_tablet.as_ref().is_some_and(|one| one.unlocked) {
        state.ask(action);
        return;
    }
    ask(state, desk, Asking::Pin);
    state.drafts.waiting = Some(action);
}

/// What is asked on this plot, where `about` holds; anything else that was asked is forgotten.
pub fn current(state: &mut State, desk: &Desk, about: impl Fn(&Asking) -> bool) -> Option<Asking> {
    let (plot, asking) = state.drafts.asking.clone()?;
    if plot == desk.plot && about(&asking) {
        return Some(asking);
    }
    stop(state);
    None
}

/// Asks no more.
pub fn stop(state: &mut State) {
    state.drafts.asking = None;
    state.drafts.waiting = None;
    state.drafts.text.remove(PATH);
    state.drafts.secrets.remove(PIN);
}

/// The question in the place of a column.
pub fn asking_ui(ui: &mut Ui, state: &mut State, desk: &Desk, asking: &Asking) {
    match asking {
        Asking::Pin => pin_ui(ui, state, desk),
        Asking::RefuseGate(gate) => {
            let extent = Extent::Gate(gate.clone());
            refuse_ui(ui, state, desk, extent, "Refuse the gate");
        }
        Asking::Refuse(id) => {
            let extent = Extent::HoldPoint(id.clone());
            refuse_ui(ui, state, desk, extent, &format!("Refuse: {}", desk.title_of(id)));
        }
        Asking::Raise(id, criterion) => {
            let title = format!("Not right: {}", desk.title_of(id));
            if let Some(what) =
                reason_ui(ui, state, &title, reasons(desk, |all| &all.raised), "what, and where", "Raise")
            {
                let act =
                    Act::RaiseNonconformance { hold_point: id.clone(), criterion: criterion.clone(), what };
                state.ask(Action::Do { plot: desk.plot.clone(), act });
                stop(state);
            }
        }
        Asking::Cover(id) => {
            let title = format!("Covered without release: {}", desk.title_of(id));
            if let Some(reason) = reason_ui(
                ui,
                state,
                &title,
                reasons(desk, |all| &all.covered),
                "who, when, and why",
                "Note it as covered",
            ) {
                let act = Act::CoverUnreleased { hold_point: id.clone(), reason };
                state.ask(Action::Do { plot: desk.plot.clone(), act });
                stop(state);
            }
        }
        Asking::Assess(id) => {
            let title = format!("Designer's assessment: {}", desk.title_of(id));
            document_ui(ui, state, desk, &title, |by| DocumentFor::Assessment { hold_point: id.clone(), by });
        }
        Asking::Concede(id) => {
            document_ui(ui, state, desk, "Designer's concession", |by| DocumentFor::Concession {
                id: *id,
                by,
            });
        }
        Asking::Close(id) => close_ui(ui, state, desk, *id),
        Asking::Photo(id) => photo_ui(ui, state, desk, id),
    }
}

fn head_ui(ui: &mut Ui, title: &str) {
    ui.add(egui::Label::new(RichText::new(title).font(theme::strong(theme::HEADING))).wrap());
}

fn refuse_ui(ui: &mut Ui, state: &mut State, desk: &Desk, extent: Extent, title: &str) {
    let list = reasons(desk, |all| &all.refused);
    if let Some(reason) = reason_ui(ui, state, title, list, "what is wrong, and where", "Refuse it") {
        stop(state);
        let act = Act::Refuse { extent, reason };
        with_pin(state, desk, Action::Do { plot: desk.plot.clone(), act });
    }
}

/// A list of reasons as the plan in force has it, or the shipped one where that has none.
fn reasons(desk: &Desk, list: impl Fn(&Reasons) -> &Vec<String>) -> &[String] {
    let own = list(&desk.view.record.plan.reasons);
    if own.is_empty() { list(shipped::reasons()) } else { own }
}

/// A list to pick from, a line to write, a button that does it. The reason once it is given.
fn reason_ui(
    ui: &mut Ui,
    state: &mut State,
    title: &str,
    reasons: &[String],
    hint: &str,
    done: &str,
) -> Option<String> {
    head_ui(ui, title);
    pick_ui(ui, state, REASON, reasons);
    words_ui(ui, state, hint);
    let (picked, words) = (state.drafts.text(REASON).to_owned(), state.drafts.text(WORDS).trim().to_owned());
    let whole = match (picked.is_empty(), words.is_empty()) {
        (true, _) => words,
        (false, true) => picked,
        (false, false) => format!("{picked}: {words}"),
    };
    let mut given = None;
    ui.add_enabled_ui(!whole.is_empty(), |ui| {
        if buttons::wide_button_ui(ui, Weight::Danger, done) {
            given = Some(whole);
        }
    });
    cancel_ui(ui, state);
    given
}

fn pick_ui(ui: &mut Ui, state: &mut State, name: &str, choices: &[String]) {
    ui.horizontal_wrapped(|ui| {
        for choice in choices {
            let chosen = state.drafts.text(name) == choice;
            let width = width_of(ui, choice);
            // No scope of its own: a row wraps only what stands in it directly.
            if buttons::choice_ui(ui, chosen, choice, vec2(width, theme::TOUCH)) {
                *state.drafts.text_mut(name) = if chosen { String::new() } else { choice.clone() };
            }
        }
    });
}

fn width_of(ui: &Ui, word: &str) -> f32 {
    let text = widgets::type_setting::galley(
        ui.painter(),
        word,
        theme::strong(theme::VALUE),
        theme::LIGHT.ink,
        f32::INFINITY,
        1,
    );
    (text.size().x + 34.0).min(ui.max_rect().width())
}

fn words_ui(ui: &mut Ui, state: &mut State, hint: &str) {
    field_ui(ui, state, WORDS, hint);
}

/// One line to write in, as wide as there is room.
pub fn field_ui(ui: &mut Ui, state: &mut State, name: &str, hint: &str) {
    ui.label(RichText::new(hint).font(theme::font(theme::LABEL)).color(theme::sheet(ui).soft));
    let edit = TextEdit::singleline(state.drafts.text_mut(name))
        .char_limit(400)
        .margin(vec2(10.0, 13.0))
        .font(theme::font(theme::VALUE))
        .desired_width(f32::INFINITY)
        .min_size(vec2(0.0, theme::TOUCH));
    let response = ui.add(edit);
    ui.ctx().accesskit_node_builder(response.id, |node| node.set_label(hint));
}

fn cancel_ui(ui: &mut Ui, state: &mut State) {
    if buttons::wide_button_ui(ui, Weight::Plain, "Go back") {
        stop(state);
    }
}

/// A designer's name and a document with a dialog or from a path.
fn document_ui(
    ui: &mut Ui,
    state: &mut State,
    desk: &Desk,
    title: &str,
    purpose: impl Fn(String) -> DocumentFor,
) {
    head_ui(ui, title);
    ui.label("The designer's own writing is attached. It says what is allowed, and why.");
    field_ui(ui, state, WORDS, "the designer's name");
    let by = state.drafts.text(WORDS).trim().to_owned();
    let mut asked = None;
    ui.add_enabled_ui(!by.is_empty(), |ui| {
        if let Some(file) = file_ui(ui, state, "Choose the document …") {
            asked = Some(match file {
                Some(file) => Action::Attach { plot: desk.plot.clone(), purpose: purpose(by.clone()), file },
                None => Action::PickDocument { plot: desk.plot.clone(), purpose: purpose(by.clone()) },
            });
        }
    });
    if let Some(action) = asked {
        stop(state);
        with_pin(state, desk, action);
        return;
    }
    cancel_ui(ui, state);
}

/// Takes the designer's writing that was dropped where a concession or an assessment is asked for.
///
/// # Errors
/// A sentence: more than one file, the designer is not named yet.
pub fn take_writing(state: &mut State, files: Vec<PathBuf>) -> Result<Vec<Action>, String> {
    let Ok([file]) = <[PathBuf; 1]>::try_from(files) else {
        return Err("The designer's writing is one document: drop one file.".to_owned());
    };
    let by = state.drafts.text(WORDS).trim().to_owned();
    let Some((plot, asking)) = state.drafts.asking.clone() else { return Ok(Vec::new()) };
    if by.is_empty() {
        state.drafts.text.insert(PATH.to_owned(), file.to_string_lossy().into_owned());
        return Err("Write the designer's name, then add the file: its path stands in the field.".to_owned());
    }
    let purpose = match asking {
        Asking::Concede(id) => DocumentFor::Concession { id, by },
        Asking::Assess(hold_point) => DocumentFor::Assessment { hold_point, by },
        _ => return Ok(Vec::new()),
    };
    let Some(desk) = Desk::of(state, &plot) else {
        return Err("The plot is still being read; drop the document again.".to_owned());
    };
    stop(state);
    state.drafts.text.remove(PATH);
    let asked_before = state.actions.len();
    with_pin(state, &desk, Action::Attach { plot, purpose, file });
    Ok(state.actions.split_off(asked_before))
}

/// A button for a dialog, and a line for a path. `Some(None)` for the dialog.
pub fn file_ui(ui: &mut Ui, state: &mut State, choose: &str) -> Option<Option<PathBuf>> {
    let mut asked = None;
    if buttons::wide_button_ui(ui, Weight::Primary, choose) {
        asked = Some(None);
    }
    field_ui(ui, state, PATH, "or its path, or drop the file here");
    let typed = state.drafts.text(PATH).trim().to_owned();
    ui.add_enabled_ui(!typed.is_empty(), |ui| {
        if widgets::button_ui(ui, Weight::Plain, "Add this file") {
            asked = Some(Some(PathBuf::from(&typed)));
        }
    });
    if asked.is_some() {
        state.drafts.text.remove(PATH);
    }
    asked
}

fn close_ui(ui: &mut Ui, state: &mut State, desk: &Desk, id: EntryId) {
    head_ui(ui, "Close the nonconformance");
    pick_ui(ui, state, DONE, &DISPOSITIONS.map(|one| one.word().to_owned()));
    pick_ui(ui, state, REASON, reasons(desk, |all| &all.closed));
    words_ui(ui, state, "remark");
    let (picked, words) = (state.drafts.text(REASON).to_owned(), state.drafts.text(WORDS).trim().to_owned());
    let remark = [picked, words].into_iter().filter(|text| !text.is_empty()).collect::<Vec<_>>().join(": ");
    let chosen = DISPOSITIONS.into_iter().find(|one| one.word() == state.drafts.text(DONE));
    let mut close = false;
    ui.add_enabled_ui(chosen.is_some() && !remark.is_empty(), |ui| {
        close = buttons::wide_button_ui(ui, Weight::Primary, "It is closed");
    });
    if let (true, Some(disposition)) = (close, chosen) {
        let act = Act::CloseNonconformance { id, disposition, remark };
        state.ask(Action::Do { plot: desk.plot.clone(), act });
        stop(state);
        return;
    }
    cancel_ui(ui, state);
}

fn photo_ui(ui: &mut Ui, state: &mut State, desk: &Desk, id: &HoldPointId) {
    let Some((_, standing)) = desk.hold_point(id) else { return stop(state) };
    head_ui(ui, "Add a photo");
    let known =
        |subject: &Option<String>| standing.evidence.iter().any(|one| Some(&one.subject) == subject.as_ref());
    if !known(&state.drafts.subject) {
        state.drafts.subject = standing.evidence.first().map(|one| one.subject.clone());
    }
    for one in &standing.evidence {
        let chosen = state.drafts.subject.as_ref() == Some(&one.subject);
        ui.push_id(("subject", &one.subject), |ui| {
            let count = format!("{} ({} of {})", one.title, one.photos.len(), one.wanted);
            let width = ui.available_width();
            if buttons::choice_ui(ui, chosen, &count, vec2(width, theme::TOUCH + 4.0)) {
                state.drafts.subject = Some(one.subject.clone());
            }
        });
    }
    let Some(subject) = state.drafts.subject.clone() else { return cancel_ui(ui, state) };
    if let Some(file) = file_ui(ui, state, "Choose photos …") {
        let (plot, hold_point) = (desk.plot.clone(), id.clone());
        state.ask(match file {
            Some(file) => Action::AddPhotos { plot, hold_point, subject, files: vec![file] },
            None => Action::PickPhotos { plot, hold_point, subject },
        });
        stop(state);
        return;
    }
    cancel_ui(ui, state);
}

fn pin_ui(ui: &mut Ui, state: &mut State, desk: &Desk) {
    let Some(at_tablet) = &desk.at_tablet else { return stop(state) };
    head_ui(ui, &format!("PIN of {}", at_tablet.name));
    if at_tablet.unlocked {
        // It was given elsewhere meanwhile.
        if let Some(action) = state.drafts.waiting.take() {
            state.ask(action);
        }
        return stop(state);
    }
    let mut digits = std::mem::take(state.drafts.secret_mut(PIN));
    let event = widgets::pin_pad_ui(ui, LEAST_PIN, "Sign with this PIN", &mut digits);
    if event == Some(PinEvent::Done) {
        state.ask(Action::Unlock { person: at_tablet.person, pin: digits });
        if let Some(action) = state.drafts.waiting.take() {
            state.ask(action);
        }
        return stop(state);
    }
    *state.drafts.secret_mut(PIN) = digits;
    cancel_ui(ui, state);
}
