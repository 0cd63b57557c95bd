//! Setting a line of type on a drawing, and the one way a drawn area becomes a control.
//!
//! Text is cut with an ellipsis rather than run over its neighbour; a control without a name cannot
//! be made here.

use std::sync::Arc;

use egui::{
    Align2, Color32, FontId, Galley, Id, Painter, Pos2, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui,
    Vec2, WidgetInfo,
    text::{LayoutJob, TextFormat, TextWrapping},
};

use crate::theme::{self, Sheet};

/// Lays a text out in at most `rows` rows of `width` points; what does not fit ends in an ellipsis.
pub fn galley(
    painter: &Painter,
    text: &str,
    font: FontId,
    colour: Color32,
    width: f32,
    rows: usize,
) -> Arc<Galley> {
    let mut job = LayoutJob::single_section(text.to_owned(), TextFormat::simple(font, colour));
    job.wrap = TextWrapping {
        max_width: width.max(1.0),
        max_rows: rows,
        break_anywhere: false,
        ..TextWrapping::default()
    };
    painter.layout_job(job)
}

/// One line of text at `at`, cut to `width`; returns where it came to stand.
pub fn line(
    painter: &Painter,
    at: Pos2,
    anchor: Align2,
    text: &str,
    font: FontId,
    colour: Color32,
    width: f32,
) -> Rect {
    let set = galley(painter, text, font, colour, width, 1);
    let rect = anchor.anchor_size(at, set.size());
    painter.galley(rect.min, set, colour);
    rect
}

/// One line of text on a patch of `ground`, so that hatching and lines beneath do not cross it.
pub fn patched(
    painter: &Painter,
    at: Pos2,
    anchor: Align2,
    text: &str,
    font: FontId,
    (colour, ground): (Color32, Color32),
    width: f32,
) -> Rect {
    let set = galley(painter, text, font, colour, width, 1);
    let rect = anchor.anchor_size(at, set.size());
    painter.rect_filled(rect.expand2(Vec2::new(5.0, 1.0)), 0.0, ground);
    painter.galley(rect.min, set, colour);
    rect
}

/// Makes `rect` a button called `name`.
///
/// A rectangle smaller than a finger is grown about its centre to [`theme::TOUCH`] either way.
pub fn tap(ui: &Ui, rect: Rect, id: Id, name: &str) -> Response {
    let size = rect.size().max(Vec2::splat(theme::TOUCH));
    let response = ui.interact(Rect::from_center_size(rect.center(), size), id, Sense::click());
    let enabled = ui.is_enabled();
    response.widget_info(|| WidgetInfo::labeled(Role::Button, enabled, name));
    response
}

/// Makes `rect` a picture called `name` that takes no taps.
pub fn picture(ui: &Ui, rect: Rect, id: Id, name: &str) -> Response {
    let response = ui.interact(rect, id, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, name));
    response
}

/// A box in ink, heavier while it is pressed or has the keyboard's focus; dashed when it is disabled.
pub fn boxed(ui: &Ui, rect: Rect, fill: Color32, stroke: Stroke, response: &Response) {
    let sheet = theme::sheet(ui);
    let painter = ui.painter();
    let fill = if response.is_pointer_button_down_on() { sheet.wash(sheet.next) } else { fill };
    painter.rect_filled(rect, 0.0, fill);
    if !ui.is_enabled() {
        dashed_rect(painter, rect.shrink(1.0), sheet.hairline());
        return;
    }
    painter.rect_stroke(rect, 0.0, stroke, StrokeKind::Inside);
    if response.has_focus() {
        painter.rect_stroke(rect.shrink(stroke.width + 2.0), 0.0, sheet.thick(), StrokeKind::Inside);
    }
}

/// A rectangle in dashes.
pub fn dashed_rect(painter: &Painter, rect: Rect, stroke: Stroke) {
    let corners =
        [rect.left_top(), rect.right_top(), rect.right_bottom(), rect.left_bottom(), rect.left_top()];
    painter.extend(egui::Shape::dashed_line(&corners, stroke, 6.0, 4.0));
}

/// The colour of text on this sheet: full ink when the widget can be used, soft otherwise.
pub fn text_colour(ui: &Ui, sheet: &Sheet) -> Color32 {
    if ui.is_enabled() { sheet.ink } else { sheet.soft }
}
