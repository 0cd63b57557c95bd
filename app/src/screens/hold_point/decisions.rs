//! What may be decided about a hold point, and who may: only buttons that the rules would let pass are drawn.

use egui::{RichText, Ui};
use gaugerod_core::conformity::Verdict;
use gaugerod_core::inspection::standing::SIGN_OFF;
use gaugerod_core::inspection::{Act, Extent, HoldPointState};
use gaugerod_core::plan_of_work::{CriterionKind, Feed, ReadingUnit};

use super::Work;
use crate::action::Action;
use crate::screens::asking::{self, Asking};
use crate::screens::desk::{self, May};
use crate::state::{Screen, State};
use crate::theme;
use crate::widgets::{self, Mark, Weight, buttons};

/// What is owed, what stands against a release, and the buttons.
pub(super) fn decisions_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    ui.add_space(4.0);
    let owed = owed(work);
    if !owed.is_empty() {
        ui.label(RichText::new("Owed before it can be offered").color(theme::sheet(ui).soft));
        ui.add(egui::Label::new(RichText::new(owed).font(theme::strong(theme::BODY))).wrap());
    }
    let against = work.standing.unsettled.len();
    if against > 0 {
        // What they are stands under their criteria.
        ui.label(format!("Stands against a release: {against}"));
    }
    deciding_ui(ui, state, work);
    if !work.desk.can_record() {
        ui.label("Nobody is at the tablet: take it over with your name to book, answer or offer.");
        return working_ui(ui, state, work);
    }
    ui.horizontal_wrapped(|ui| {
        working_ui(ui, state, work);
        if widgets::button_ui(ui, Weight::Danger, "Not right") {
            let criterion = work.criterion.map(|one| one.id.clone());
            asking::ask(state, work.desk, Asking::Raise(work.id.clone(), criterion));
        }
    });
    let covered = Act::CoverUnreleased { hold_point: work.id.clone(), reason: "?".to_owned() };
    if work.id.as_str() != SIGN_OFF
        && work.desk.may(&covered).is_yes()
        && buttons::wide_button_ui(ui, Weight::Plain, "Covered without release")
    {
        asking::ask(state, work.desk, Asking::Cover(work.id.clone()));
    }
}

fn working_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let Some(criterion) = work.criterion.filter(|one| !one.reckoned.is_empty()) else { return };
    if widgets::button_ui(ui, Weight::Plain, "Working") {
        state.ask(Action::Go(Screen::Working(work.desk.plot.clone(), work.id.clone(), criterion.id.clone())));
    }
    let is_level = criterion.feed().and_then(Feed::unit) == Some(ReadingUnit::LevelMetres);
    let is_wrong = criterion.verdict.is_some_and(|verdict| verdict != Verdict::Conforming);
    if is_level && is_wrong && widgets::button_ui(ui, Weight::Plain, "What to do") {
        let (plot, id) = (work.desk.plot.clone(), work.id.clone());
        state.ask(Action::Go(Screen::WhatToDo(plot, id, criterion.id.clone())));
    }
}

fn deciding_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let extent = || Extent::HoldPoint(work.id.clone());
    let plot = &work.desk.plot;
    if work.id.as_str() == SIGN_OFF {
        if work.standing.owed.is_empty() && buttons::wide_button_ui(ui, Weight::Primary, "Sign-off") {
            state.ask(Action::Go(Screen::SignOff(plot.clone())));
        }
        return;
    }
    let offer = Act::Offer(extent());
    match work.desk.may(&offer) {
        May::Yes => {
            if buttons::wide_button_ui(ui, Weight::Primary, "Offer") {
                state.ask(Action::Do { plot: plot.clone(), act: offer });
            }
        }
        May::NotThisPerson(_) if is_to_be_offered(work) && work.desk.can_record() => {
            ui.label(format!("The {} offers it.", desk::roles(&work.plan.offered_by)));
        }
        May::NotThisPerson(_) | May::NotNow(_) => {}
    }
    match work.standing.state {
        HoldPointState::Offered => offered_ui(ui, state, work),
        HoldPointState::InQuestion if work.desk.can_record() => {
            ui.label("Covered, and something under it changed since: the designer assesses it in writing.");
            if widgets::button_ui(ui, Weight::Plain, "Designer's assessment") {
                asking::ask(state, work.desk, Asking::Assess(work.id.clone()));
            }
        }
        _ => {}
    }
}

/// Whether everything is there and only the offer is missing.
fn is_to_be_offered(work: &Work<'_>) -> bool {
    work.standing.owed.is_empty()
        && matches!(work.standing.state, HoldPointState::Open | HoldPointState::Refused)
}

fn offered_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let plot = &work.desk.plot;
    let extent = || Extent::HoldPoint(work.id.clone());
    let release = Act::Release(extent());
    let refuse = Act::Refuse { extent: extent(), reason: "?".to_owned() };
    match work.desk.may(&release) {
        May::Yes => {
            if buttons::wide_button_ui(ui, Weight::Primary, "Release") {
                asking::with_pin(state, work.desk, Action::Do { plot: plot.clone(), act: release });
            }
        }
        May::NotThisPerson(_) if !work.desk.is_one_of(&work.plan.released_by) => {
            ui.label(format!("Waits for the {}.", desk::roles(&work.plan.released_by)));
        }
        May::NotThisPerson(why) | May::NotNow(why) => widgets::notice_ui(ui, Mark::Owed, &why),
    }
    if work.desk.may(&refuse).is_yes() && buttons::wide_button_ui(ui, Weight::Danger, "Refuse") {
        asking::ask(state, work.desk, Asking::Refuse(work.id.clone()));
    }
}

/// What is owed, counted by kind: `13 readings, 2 answers, 1 photo`.
fn owed(work: &Work<'_>) -> String {
    let mut counts = [0_usize; 4];
    for criterion in &work.standing.criteria {
        let kind = match criterion.kind {
            CriterionKind::Reckoning { .. } => 0,
            CriterionKind::Question { .. } => 1,
            CriterionKind::Document { .. } => 2,
        };
        counts[kind] += criterion.owed.len();
    }
    let photos = work.standing.evidence.iter().map(|one| one.wanted.saturating_sub(one.photos.len()));
    counts[3] = photos.sum();
    let words =
        [("reading", "readings"), ("answer", "answers"), ("document", "documents"), ("photo", "photos")];
    let counted = counts.iter().zip(words).filter(|(count, _)| **count > 0);
    let counted =
        counted.map(|(count, (one, many))| format!("{count} {}", if *count == 1 { one } else { many }));
    counted.collect::<Vec<_>>().join(", ")
}
