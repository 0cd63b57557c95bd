//! The layers that close the floor: the forms of a label and of a pressure test, and in the middle the stack as built
//! beside the design with what another overlay breaks.

use egui::{RichText, Ui, vec2};
use gaugerod_core::entry::{LabelBooked, PressureTestBooked};
use gaugerod_core::inspection::Act;
use gaugerod_core::inspection::judge::CriterionStanding;
use gaugerod_core::inspection::layer_requests::OVERLAY;
use gaugerod_core::quantity::Length;

use super::Work;
use super::papers::{book_ui, draft, field};
use crate::action::Action;
use crate::state::State;
use crate::theme;
use crate::widgets;

/// The form of a label: its grade by a tap where the design knows it.
pub(super) fn label_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, criterion: &CriterionStanding) {
    let again = if criterion.papers.is_empty() { "What the label says" } else { "Another label" };
    ui.label(RichText::new(again).font(theme::strong(theme::HEADING)));
    let Some(thermal) = &work.desk.view.record.design().thermal else { return };
    let name = draft(work, "grade");
    let known = std::iter::once(&thermal.overlay.grade).chain(thermal.grades.iter().map(|one| &one.grade));
    ui.horizontal_wrapped(|ui| {
        for grade in known {
            let chosen = state.drafts.text(&name).trim() == grade;
            if widgets::choice_ui(ui, chosen, grade, vec2(96.0, theme::TOUCH)) {
                *state.drafts.text_mut(&name) = grade.clone();
                state.ask(Action::KeepDraft { name: name.clone(), text: grade.clone() });
            }
        }
    });
    let grade = field(ui, state, work, "grade", "grade on the label");
    let thickness = field(ui, state, work, "thickness", "thickness, mm");
    let conductivity = field(ui, state, work, "conductivity", "λ on the label, W/mK");
    let batch = field(ui, state, work, "batch", "batch");
    let some = |text: String| (!text.is_empty()).then_some(text);
    let act = Act::BookLabel(LabelBooked {
        hold_point: work.id.clone(),
        criterion: criterion.id.clone(),
        item: OVERLAY.to_owned(),
        grade,
        thickness_um: Length::parse_mm(&thickness).ok().map(Length::um),
        conductivity: some(conductivity),
        batch: some(batch),
    });
    book_ui(ui, state, work, act, "Book the label");
}

/// The form of a pressure test.
pub(super) fn test_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, criterion: &CriterionStanding) {
    ui.label(RichText::new("Pressure test").font(theme::strong(theme::HEADING)));
    let test = field(ui, state, work, "test", "what is tested, such as zone 1");
    let start_bar = field(ui, state, work, "start-bar", "pressure at the start, bar");
    let started_at = field(ui, state, work, "started", "started at, such as 08:10");
    let end_bar = field(ui, state, work, "end-bar", "pressure at the end, bar");
    let ended_at = field(ui, state, work, "ended", "ended at, such as 10:15");
    let act = Act::BookPressureTest(PressureTestBooked {
        hold_point: work.id.clone(),
        criterion: criterion.id.clone(),
        test,
        start_bar,
        end_bar,
        started_at,
        ended_at,
    });
    book_ui(ui, state, work, act, "Book the test");
}
