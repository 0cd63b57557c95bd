//! Questions, documents, and what follows from the drawing alone.

use egui::{RichText, ScrollArea, Ui, vec2};
use gaugerod_core::entry::{Answer, Because};
use gaugerod_core::inspection::judge::CriterionStanding;

use super::{Work, onward_ui, papers};
use crate::action::{Action, DocumentFor};
use crate::screens::{asking, marks};
use crate::state::State;
use crate::theme;
use crate::widgets::{self, Weight, answer_row, buttons};

/// A question with its answers, the plan's reasons why it may not apply, and what comes next.
pub(super) fn question_ui(
    ui: &mut Ui,
    state: &mut State,
    work: &Work<'_>,
    criterion: &CriterionStanding,
    reasons: &[String],
) {
    scrolled(ui, "question", |ui| {
        if work.desk.can_record() {
            answer_ui(ui, state, work, criterion, reasons);
        } else {
            ui.label(RichText::new(&criterion.title).font(theme::strong(theme::VALUE)));
        }
        answered_ui(ui, work, criterion);
        if criterion.answer.is_some() {
            onward_ui(ui, state, work);
        }
    });
}

fn scrolled(ui: &mut Ui, name: &str, show: impl FnOnce(&mut Ui)) {
    theme::scroll(ScrollArea::vertical().id_salt(name).auto_shrink([false, false])).show(ui, |ui| {
        ui.set_width(ui.available_width());
        show(ui);
    });
}

/// The draft that holds an answer that was tapped while a reason is still wanted.
fn draft(work: &Work<'_>, criterion: &CriterionStanding) -> String {
    format!("answer/{}/{}/{}", work.desk.plot, work.id, criterion.id)
}

const NOT_APPLICABLE: &str = "not applicable";

fn answer_ui(
    ui: &mut Ui,
    state: &mut State,
    work: &Work<'_>,
    criterion: &CriterionStanding,
    reasons: &[String],
) {
    let name = draft(work, criterion);
    let given = criterion.answer.as_ref().map(|one| one.answer);
    let wanted = match state.drafts.text(&name) {
        "" => given,
        "yes" => Some(Answer::Yes),
        "no" => Some(Answer::No),
        _ => Some(Answer::NotApplicable),
    };
    let shown = wanted.map(|answer| match answer {
        Answer::Yes => answer_row::Answer::Yes,
        Answer::No => answer_row::Answer::No,
        Answer::NotApplicable => answer_row::Answer::NotApplicable,
    });
    let tapped = widgets::answer_row_ui(ui, &criterion.title, shown, marks::of_criterion(criterion));
    let answer = tapped.map(|tapped| match tapped {
        answer_row::Answer::Yes => Answer::Yes,
        answer_row::Answer::No => Answer::No,
        answer_row::Answer::NotApplicable => Answer::NotApplicable,
    });
    match answer {
        // At once where nothing else has to be said.
        Some(answer @ (Answer::Yes | Answer::No)) if given.is_none() => {
            give(state, work, criterion, answer, None, None);
        }
        Some(answer) if Some(answer) == given => {
            state.drafts.text.remove(&name);
        }
        Some(answer) => {
            let word = match answer {
                Answer::Yes => "yes",
                Answer::No => "no",
                Answer::NotApplicable => NOT_APPLICABLE,
            };
            *state.drafts.text_mut(&name) = word.to_owned();
        }
        None => {}
    }
    let wanted = match state.drafts.text(&name) {
        "yes" => Answer::Yes,
        "no" => Answer::No,
        NOT_APPLICABLE => Answer::NotApplicable,
        _ => return,
    };
    let reason = if wanted == Answer::NotApplicable {
        match reason_ui(ui, state, &name, reasons) {
            Some(reason) => Some(reason),
            None => return,
        }
    } else {
        None
    };
    match &criterion.answer {
        None => give(state, work, criterion, wanted, reason, None),
        Some(before) => {
            ui.label("Why is the answer changed?");
            ui.horizontal_wrapped(|ui| {
                for (because, word) in
                    [(Because::Misread, "It was wrong"), (Because::Reworked, "Work was changed")]
                {
                    if widgets::button_ui(ui, Weight::Plain, word) {
                        give(state, work, criterion, wanted, reason.clone(), Some((before.entry, because)));
                    }
                }
            });
        }
    }
}

/// The plan's own reasons: nothing else may be given.
fn reason_ui(ui: &mut Ui, state: &mut State, name: &str, reasons: &[String]) -> Option<String> {
    let name = format!("{name}/reason");
    if reasons.is_empty() {
        ui.label("The plan of work has no reason why this may not apply: answer yes or no.");
        return None;
    }
    ui.label("Why does it not apply?");
    let mut picked = None;
    for reason in reasons {
        let width = ui.available_width();
        let chosen = state.drafts.text(&name) == reason.as_str();
        ui.push_id(("reason", reason), |ui| {
            if buttons::choice_ui(ui, chosen, reason, vec2(width, theme::TOUCH + 4.0)) {
                picked = Some(reason.clone());
            }
        });
    }
    if let Some(picked) = picked {
        *state.drafts.text_mut(&name) = picked;
    }
    Some(state.drafts.text(&name).to_owned()).filter(|reason| !reason.is_empty())
}

fn give(
    state: &mut State,
    work: &Work<'_>,
    criterion: &CriterionStanding,
    answer: Answer,
    reason: Option<String>,
    instead_of: Option<(gaugerod_core::ids::EntryId, Because)>,
) {
    let name = draft(work, criterion);
    state.drafts.text.remove(&format!("{name}/reason"));
    state.drafts.text.remove(&name);
    state.ask(Action::Answer {
        plot: work.desk.plot.clone(),
        hold_point: work.id.clone(),
        criterion: criterion.id.clone(),
        answer,
        reason,
        instead_of,
    });
}

/// Who answered what, when, and how a no was settled.
fn answered_ui(ui: &mut Ui, work: &Work<'_>, criterion: &CriterionStanding) {
    let (Some(given), Some(words)) = (&criterion.answer, marks::answer(criterion)) else { return };
    let soft = theme::sheet(ui).soft;
    ui.label(RichText::new(words).font(theme::strong(theme::VALUE)));
    let noted = format!("{}, {}", work.desk.name_of(given.noted.author), given.noted.time.minute());
    ui.label(RichText::new(noted).color(soft));
    for more in given.remark.iter().chain(given.settled.as_ref().map(|settled| &settled.how)) {
        ui.add(egui::Label::new(more).wrap());
    }
}

/// A document that has to be attached, or a reason why none is wanted.
pub(super) fn document_ui(
    ui: &mut Ui,
    state: &mut State,
    work: &Work<'_>,
    criterion: &CriterionStanding,
    what: &str,
    reasons: &[String],
) {
    scrolled(ui, "document", |ui| {
        ui.horizontal(|ui| {
            widgets::mark_ui(ui, marks::of_criterion(criterion), 26.0);
            ui.add(egui::Label::new(RichText::new(&criterion.title).font(theme::font(theme::VALUE))).wrap());
        });
        ui.label(format!("Wanted: {what}."));
        for (file, noted) in &criterion.documents {
            ui.label(RichText::new(&file.name).font(theme::strong(theme::VALUE)));
            let noted = format!("{}, {}", work.desk.name_of(noted.author), noted.time.minute());
            ui.label(RichText::new(noted).color(theme::sheet(ui).soft));
        }
        answered_ui(ui, work, criterion);
        if work.desk.can_record() {
            if let Some(file) = asking::file_ui(ui, state, "Attach …") {
                let purpose =
                    DocumentFor::Criterion { hold_point: work.id.clone(), criterion: criterion.id.clone() };
                let plot = work.desk.plot.clone();
                state.ask(match file {
                    Some(file) => Action::Attach { plot, purpose, file },
                    None => Action::PickDocument { plot, purpose },
                });
            }
            if criterion.documents.is_empty() && criterion.answer.is_none() && !reasons.is_empty() {
                let name = draft(work, criterion);
                if let Some(reason) = reason_ui(ui, state, &name, reasons) {
                    give(state, work, criterion, Answer::NotApplicable, Some(reason), None);
                }
            }
        }
        if criterion.owed.is_empty() {
            onward_ui(ui, state, work);
        }
    });
}

/// What follows from the drawing alone: nothing is read, the sum is shown.
pub(super) fn sum_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, criterion: &CriterionStanding) {
    scrolled(ui, "sum", |ui| {
        ui.add(egui::Label::new(RichText::new(&criterion.title).font(theme::strong(theme::VALUE))).wrap());
        let papers = criterion.feed().filter(|feed| papers::are_booked_for(*feed));
        if let Some(feed) = papers {
            return papers::papers_ui(ui, state, work, criterion, feed);
        }
        ui.label("Nothing is read here: it follows from the drawing.");
        for reckoned in &criterion.reckoned {
            for step in reckoned.working.0.iter().rev().take(4).rev() {
                ui.horizontal_wrapped(|ui| {
                    ui.label(format!("{}:", step.step));
                    let unit = super::super::working::unit(&step.unit);
                    ui.label(
                        RichText::new(format!("{}{unit}", step.value_shown()))
                            .font(theme::strong(theme::VALUE)),
                    );
                });
            }
        }
        onward_ui(ui, state, work);
    });
}
