//! A field for a line of text with its caption above it, tall enough for a finger. It checks nothing and keeps
//! nothing: the text lives in the draft that is handed in.

use egui::text_edit::TextEditState;
use egui::{Align2, Response, RichText, TextEdit, Ui, vec2};

use crate::theme;

/// A field called `name` as wide as the room that is left. `hint` stands in it while it is empty.
pub fn field_ui(ui: &mut Ui, name: &str, hint: &str, text: &mut String) -> Response {
    line_ui(ui, name, hint, text, false)
}

/// A field whose text is shown as dots: a passphrase.
pub fn secret_field_ui(ui: &mut Ui, name: &str, hint: &str, text: &mut String) -> Response {
    line_ui(ui, name, hint, text, true)
}

fn line_ui(ui: &mut Ui, name: &str, hint: &str, text: &mut String, secret: bool) -> Response {
    let sheet = theme::sheet(ui);
    ui.vertical(|ui| {
        ui.spacing_mut().item_spacing.y = 4.0;
        ui.label(RichText::new(name).font(theme::font(theme::LABEL)).color(sheet.soft));
        let edit = TextEdit::singleline(text)
            .id_salt(name)
            .font(theme::font(theme::VALUE))
            .hint_text(RichText::new(hint).color(sheet.soft))
            .password(secret)
            .desired_width(f32::INFINITY)
            .margin(vec2(12.0, 4.0))
            .align(Align2::LEFT_CENTER)
            .min_size(vec2(0.0, theme::TOUCH));
        let response = ui.add(edit);
        ui.ctx().accesskit_node_builder(response.id, |node| node.set_label(name));
        if secret && let Some(mut edit) = TextEditState::load(ui.ctx(), response.id) {
            // What was typed before must not come back by undoing once it was forgotten.
            edit.clear_undoer();
            edit.store(ui.ctx(), response.id);
        }
        response
    })
    .inner
}
