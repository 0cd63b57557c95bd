//! What is pointed out about the sight in work, and what is asked about it: a slip of the hand with what it might have
//! been, a level that does not fit its neighbours, why a point is read again. Nothing is changed by itself.

use egui::{Align2, Ui, pos2, vec2};
use gaugerod_core::entry::Because;
use gaugerod_core::quantity::Length;

use super::sheet::because_word;
use super::typed;
use super::work::{Earlier, Now, Work};
use crate::action::Action;
use crate::screens::marks;
use crate::state::State;
use crate::theme;
use crate::widgets::{self, Weight, buttons, type_setting};

/// What the point has already, and why it is read again.
pub(super) fn earlier_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, earlier: &Earlier<'_>) {
    let (words, reasons): (String, &[Because]) = match earlier {
        Earlier::Sight(sight) => {
            let (fact, noted) = (&sight.kept.fact, &sight.kept.noted);
            let read = typed::shown(Length::from_um(fact.value_um), work.method());
            let who = work.desk.name_of(noted.author);
            let words =
                format!("{} read {read}: {who}, {}. Put right because:", fact.point, noted.time.minute());
            (words, &[Because::Misread, Because::Reworked, Because::Mistake])
        }
        Earlier::Reading(reading) => {
            let from = reading
                .trace
                .as_ref()
                .map_or_else(|| "typed".to_owned(), |trace| format!("book {}", trace.book));
            let level = marks::value(reading.value, gaugerod_core::plan_of_work::Feed::BearingLevels);
            let words = format!("{} has {level} ({from}). Read again because:", reading.point);
            (words, &[Because::Misread, Because::Reworked])
        }
    };
    let levels = &mut state.drafts.levels;
    let chosen = match earlier {
        Earlier::Sight(_) => levels.correcting.as_ref().and_then(|own| own.because),
        Earlier::Reading(_) => levels.because,
    };
    ui.add(egui::Label::new(words).wrap());
    let mut picked = None;
    let mut leave = false;
    ui.horizontal(|ui| {
        let extra = usize::from(matches!(earlier, Earlier::Sight(_)));
        #[expect(clippy::cast_precision_loss, reason = "four keys")]
        let width = (ui.available_width() - theme::GAP * (reasons.len() + extra - 1) as f32)
            / (reasons.len() + extra) as f32;
        for because in reasons {
            let word = because_word(*because);
            ui.push_id(word, |ui| {
                if buttons::choice_ui(ui, chosen == Some(*because), word, vec2(width, theme::TOUCH)) {
                    picked = Some(*because);
                }
            });
        }
        if extra > 0 {
            let size = vec2(width, theme::TOUCH);
            leave = buttons::sized_button_ui(ui, Weight::Plain, "Leave it", size).clicked();
        }
    });
    if let Some(because) = picked {
        match (earlier, levels.correcting.as_mut()) {
            (Earlier::Sight(_), Some(own)) => own.because = Some(because),
            (Earlier::Sight(_), None) => {}
            (Earlier::Reading(_), _) => levels.because = Some(because),
        }
    }
    if leave {
        levels.correcting = None;
        levels.picking = false;
    }
}

/// Slips and misfits of what is typed, each with what it might have been; a tap takes that into the keypad.
pub(super) fn slips_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, now: &Now<'_>) {
    let Some(trial) = now.tried.as_ref().and_then(|tried| tried.trial.as_ref().ok()) else { return };
    if let Some(misfit) = &trial.misfit {
        let beside = match misfit.beside.as_slice() {
            [one] => one.clone(),
            several => format!("the line of {}", several.join(" and ")),
        };
        let off = typed::signed_mm(misfit.off_by);
        widgets::caution_bar_ui(ui, &[&format!("{} lies {off} mm off {beside}. Read it again.", now.point)]);
    }
    if trial.perhaps.is_empty() {
        return;
    }
    let sheet = theme::sheet(ui);
    ui.horizontal(|ui| {
        for (index, perhaps) in trial.perhaps.iter().take(2).enumerate() {
            let label =
                format!("Perhaps {}: {}", typed::shown(perhaps.value, work.method()), perhaps.slip.words());
            ui.push_id(index, |ui| {
                let width = type_setting::galley(
                    ui.painter(),
                    &label,
                    theme::strong(theme::VALUE),
                    sheet.ink,
                    f32::INFINITY,
                    1,
                );
                let size = vec2((width.size().x + 36.0).min(ui.available_width()), theme::TOUCH);
                if slip_ui(ui, &label, size) {
                    let text = typed::text(perhaps.value, work.method());
                    state.drafts.text.insert(now.draft.clone(), text.clone());
                    state.ask(Action::KeepDraft { name: now.draft.clone(), text });
                }
            });
        }
    });
}

/// A key for what might have been meant, on the ground of a warning.
fn slip_ui(ui: &mut Ui, label: &str, size: egui::Vec2) -> bool {
    let sheet = theme::sheet(ui);
    let (id, rect) = ui.allocate_space(size);
    let response = type_setting::tap(ui, rect, id, label);
    type_setting::boxed(ui, rect, sheet.wash(sheet.warn), sheet.thick(), &response);
    let at = pos2(rect.left() + 10.0, rect.center().y);
    let font = theme::strong(theme::VALUE);
    type_setting::line(ui.painter(), at, Align2::LEFT_CENTER, label, font, sheet.ink, rect.width() - 18.0);
    response.clicked()
}
