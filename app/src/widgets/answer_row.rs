//! A question of the plan of work with its three answers.

use egui::{Ui, vec2};

use crate::{
    theme,
    widgets::{
        buttons::choice_ui,
        verdict_mark::{Mark, mark_ui},
    },
};

/// An answer to a question.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Answer {
    /// Yes: conforms.
    Yes,
    /// No: does not conform.
    No,
    /// Does not apply here; the screen asks for the reason.
    NotApplicable,
}

impl Answer {
    const ALL: [(Self, &'static str, f32); 3] =
        [(Self::Yes, "yes", 72.0), (Self::No, "no", 72.0), (Self::NotApplicable, "not applicable", 148.0)];
}

/// The question, how it stands, and three boxes. Returns the answer that was tapped just now.
pub fn answer_row_ui(ui: &mut Ui, question: &str, given: Option<Answer>, mark: Mark) -> Option<Answer> {
    let mut tapped = None;
    ui.push_id(("answer", question), |ui| {
        ui.horizontal(|ui| {
            mark_ui(ui, mark, 26.0);
            ui.add(egui::Label::new(egui::RichText::new(question).font(theme::font(theme::VALUE))).wrap());
        });
        // In a narrow column the last box takes what is left and sets its words in two lines.
        let left = ui.available_width() - 2.0 * (72.0 + theme::GAP);
        ui.horizontal(|ui| {
            for (answer, word, width) in Answer::ALL {
                let width = width.min(left.max(96.0));
                ui.push_id(word, |ui| {
                    if choice_ui(ui, given == Some(answer), word, vec2(width, theme::TOUCH)) {
                        tapped = Some(answer);
                    }
                });
            }
        });
    });
    tapped
}
