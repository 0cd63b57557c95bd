//! Buttons: boxes in ink with a word in them.
//!
//! One button on a screen may be primary; danger is said by a barred edge, not by coloured text.

use egui::{Align2, Id, Rect, Response, Role, Sense, Stroke, Ui, Vec2, WidgetInfo, pos2, vec2};

use crate::{
    theme::{self, Sheet},
    widgets::{hatch, type_setting},
};

/// How a button weighs among its neighbours.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Weight {
    /// The one thing to do next.
    Primary,
    /// Anything else.
    #[default]
    Plain,
    /// Refuses, rejects or ends something.
    Danger,
}

/// A button as wide as its word, at least [`theme::TOUCH`] high. True when it was tapped.
pub fn button_ui(ui: &mut Ui, weight: Weight, label: &str) -> bool {
    let text = type_setting::galley(
        ui.painter(),
        label,
        theme::strong(theme::VALUE),
        theme::LIGHT.ink,
        f32::INFINITY,
        1,
    );
    let width = (text.size().x + 2.0 * padding(weight)).max(theme::TOUCH);
    sized_button_ui(
        ui,
        weight,
        label,
        vec2(width.min(ui.available_width().max(theme::TOUCH)), theme::TOUCH + 4.0),
    )
    .clicked()
}

/// A button that takes the whole width that is left. True when it was tapped.
pub fn wide_button_ui(ui: &mut Ui, weight: Weight, label: &str) -> bool {
    let size = vec2(ui.available_width(), theme::TOUCH + 8.0);
    sized_button_ui(ui, weight, label, size).clicked()
}

/// A button of this size (never smaller than a finger).
pub fn sized_button_ui(ui: &mut Ui, weight: Weight, label: &str, size: Vec2) -> Response {
    let (id, rect) = ui.allocate_space(size.max(Vec2::splat(theme::TOUCH)));
    button_in_ui(ui, rect, id, weight, label)
}

/// A button drawn into a given place.
pub fn button_in_ui(ui: &Ui, rect: Rect, id: Id, weight: Weight, label: &str) -> Response {
    let response = type_setting::tap(ui, rect, id, label);
    let sheet = theme::sheet(ui);
    let fill = match weight {
        Weight::Primary if ui.is_enabled() => sheet.next,
        _ => sheet.field,
    };
    type_setting::boxed(ui, rect, fill, outline(weight, sheet), &response);
    if weight == Weight::Danger && ui.is_enabled() {
        danger_edge(ui, rect, sheet);
    }
    let pressed = response.is_pointer_button_down_on();
    let colour = match weight {
        Weight::Primary if ui.is_enabled() && !pressed => sheet.on_fill,
        _ => type_setting::text_colour(ui, sheet),
    };
    let size = theme::VALUE;
    let width = rect.width() - 2.0 * padding(weight).min(rect.width() * 0.1 + 6.0);
    let text = type_setting::galley(ui.painter(), label, theme::strong(size), colour, width, 2);
    let shift = if weight == Weight::Danger { 5.0 } else { 0.0 };
    let at = Align2::CENTER_CENTER.anchor_size(rect.center() + vec2(shift, 0.0), text.size());
    ui.painter().galley(at.min, text, colour);
    response
}

/// A box that stays chosen: one of several, or on and off. True when it was tapped.
pub fn choice_ui(ui: &mut Ui, chosen: bool, label: &str, size: Vec2) -> bool {
    let (id, rect) = ui.allocate_space(size.max(Vec2::splat(theme::TOUCH)));
    let response = ui.interact(rect, id, Sense::click());
    let enabled = ui.is_enabled();
    response.widget_info(|| WidgetInfo::selected(Role::RadioButton, enabled, chosen, label));
    let sheet = theme::sheet(ui);
    let (fill, stroke) = if chosen {
        (sheet.wash(sheet.next), Stroke::new(theme::EXTRA, sheet.ink))
    } else {
        (sheet.field, sheet.thin())
    };
    type_setting::boxed(ui, rect, fill, stroke, &response);
    let colour = type_setting::text_colour(ui, sheet);
    let font = if chosen { theme::strong(theme::VALUE) } else { theme::font(theme::VALUE) };
    let text = type_setting::galley(ui.painter(), label, font, colour, rect.width() - 16.0, 2);
    let at = Align2::CENTER_CENTER.anchor_size(rect.center(), text.size());
    ui.painter().galley(at.min, text, colour);
    response.clicked()
}

fn outline(weight: Weight, sheet: &Sheet) -> Stroke {
    match weight {
        Weight::Plain => Stroke::new(1.5, sheet.ink),
        Weight::Primary | Weight::Danger => sheet.thick(),
    }
}

fn padding(weight: Weight) -> f32 {
    if weight == Weight::Danger { 24.0 } else { 18.0 }
}

/// The barred edge of a button that refuses or ends something.
fn danger_edge(ui: &Ui, rect: Rect, sheet: &Sheet) {
    let edge = Rect::from_min_max(rect.min + vec2(2.0, 2.0), pos2(rect.left() + 12.0, rect.bottom() - 2.0));
    ui.painter().rect_filled(edge, 0.0, sheet.bad);
    for segment in hatch::parallels(&hatch::corners(edge), vec2(1.0, -1.0), 7.0) {
        ui.painter().line_segment(segment, Stroke::new(theme::THICK, sheet.on_fill));
    }
    ui.painter().vline(edge.right(), edge.y_range(), sheet.thick());
}
