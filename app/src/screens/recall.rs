//! Recall: which plots had a batch of concrete, beams or overlay; from each line to its hold point in one tap.

use egui::{Label, RichText, ScrollArea, Ui, vec2};
use gaugerod_core::register::Recalled;

use super::asking;
use crate::action::Action;
use crate::state::{Screen, State};
use crate::theme;
use crate::widgets::{self, Mark, Weight, buttons};

const BATCH: &str = "recall/batch";

/// The field, and what was found.
pub fn recall_ui(ui: &mut Ui, state: &mut State) {
    ui.heading("Which plots had this batch?");
    asking::field_ui(ui, state, BATCH, "batch, ticket or delivery note, as printed");
    let batch = state.drafts.text(BATCH).trim().to_owned();
    ui.add_enabled_ui(!batch.is_empty(), |ui| {
        if buttons::button_ui(ui, Weight::Primary, "Look for it") {
            state.ask(Action::Recall(batch));
        }
    });
    let Some((batch, found)) = state.recalled.clone() else { return };
    ui.add_space(theme::GAP);
    if found.is_empty() {
        let words =
            format!("No plot of this register had {batch}. A paper may have been booked without its batch.");
        widgets::notice_ui(ui, Mark::NotYet, &words);
        return;
    }
    let mut plots: Vec<String> = found.iter().map(|one| one.plot.to_string()).collect();
    plots.dedup();
    let words = format!("{batch}: plots {}", plots.join(", "));
    ui.label(RichText::new(words).font(theme::strong(theme::HEADING)));
    theme::scroll(ScrollArea::vertical().id_salt("recalled").auto_shrink([false, false])).show(ui, |ui| {
        for one in &found {
            ui.push_id((one.entry.to_hex(), &one.how_much), |ui| line_ui(ui, state, one));
        }
    });
}

fn line_ui(ui: &mut Ui, state: &mut State, one: &Recalled) {
    let word = format!("Plot {}", one.plot);
    ui.horizontal(|ui| {
        if buttons::sized_button_ui(ui, Weight::Plain, &word, vec2(130.0, theme::TOUCH + 4.0)).clicked() {
            state.ask(Action::Go(Screen::HoldPoint(one.plot.clone(), one.hold_point.clone())));
        }
        let batch = one.batch.as_ref().map_or_else(String::new, |batch| format!(", batch {batch}"));
        let gone = if one.is_superseded { "; a later entry took its place" } else { "" };
        let words = format!("{}, {}{batch}, booked {}{gone}", one.how_much, one.paper, one.time.minute());
        ui.add(Label::new(words).wrap());
    });
}
