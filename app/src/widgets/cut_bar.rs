//! One way of cutting a piece of stock, as a bar to be read beside the saw: how often, the pieces in large type, what
//! is left.

use egui::{Align2, Rect, Stroke, StrokeKind, Ui, pos2, vec2};
use gaugerod_core::quantity::Length;

use crate::theme;
use crate::widgets::type_setting;

/// Height of a bar.
const HEIGHT: f32 = 68.0;
/// Room for how often, on its left.
const TIMES: f32 = 84.0;
/// What is left is written where it has this much room.
const LEAST_OFFCUT: f32 = 86.0;

/// Draws a bar. `pieces` are the lengths in order, each with the other plot that it is for.
pub fn cut_bar_ui<'p>(
    ui: &mut Ui,
    times: u32,
    pieces: impl Iterator<Item = (Length, Option<&'p str>)>,
    offcut: Length,
    stock: Length,
) {
    let sheet = *theme::sheet(ui);
    let (id, rect) = ui.allocate_space(vec2(ui.available_width().max(240.0), HEIGHT));
    let painter = ui.painter().clone();
    let mark = pos2(rect.left() + 4.0, rect.center().y);
    let often = format!("{times} ×");
    painter.text(mark, Align2::LEFT_CENTER, often, theme::strong(theme::HEADING), sheet.ink);
    let left = rect.left() + TIMES;
    let width = (rect.width() - TIMES - 4.0).max(80.0);
    #[expect(clippy::cast_possible_truncation, reason = "a place on screen")]
    let x = |length: Length| left + (length.to_mm_f64() / stock.to_mm_f64().max(1.0)) as f32 * width;
    let bar = Rect::from_min_max(pos2(left, rect.top() + 4.0), pos2(left + width, rect.bottom() - 4.0));
    painter.rect(bar, 0.0, sheet.band, Stroke::new(theme::THIN, sheet.rule), StrokeKind::Inside);
    let mut at = Length::ZERO;
    let mut words = Vec::new();
    for (length, other) in pieces {
        let part = Rect::from_min_max(pos2(x(at), bar.top()), pos2(x(at + length), bar.bottom()));
        painter.rect(part, 0.0, sheet.field, Stroke::new(theme::THICK, sheet.ink), StrokeKind::Inside);
        let text = length.to_mm_text();
        let room = part.width() - 6.0;
        let figure = |size: f32| {
            type_setting::galley(&painter, &text, theme::strong(size), sheet.ink, f32::INFINITY, 1)
        };
        let sizes = [theme::KEY, theme::HEADING, theme::BODY];
        if let Some(set) = sizes.into_iter().map(figure).find(|set| set.size().x <= room) {
            let up = if other.is_some() { 8.0 } else { 0.0 };
            let place = Align2::CENTER_CENTER.anchor_size(part.center() - vec2(0.0, up), set.size());
            painter.galley(place.min, set, sheet.ink);
        }
        match other {
            None => words.push(text),
            Some(plot) => {
                let said = format!("plot {plot}");
                let place = part.center_bottom() - vec2(0.0, 12.0);
                let font = theme::font(theme::LABEL);
                type_setting::line(&painter, place, Align2::CENTER_CENTER, &said, font, sheet.ink, room);
                words.push(format!("{text} for {said}"));
            }
        }
        at += length;
    }
    if x(stock) - x(at) >= LEAST_OFFCUT {
        let place = pos2(x(stock) - 6.0, bar.center().y);
        let said = format!("offcut {}", offcut.to_mm_text());
        let font = theme::font(theme::LABEL);
        let room = x(stock) - x(at) - 8.0;
        type_setting::line(&painter, place, Align2::RIGHT_CENTER, &said, font, sheet.ink, room);
    }
    let name = format!("{times} times: {} mm, offcut {} mm", words.join(" + "), offcut.to_mm_text());
    type_setting::picture(ui, rect, id, &name);
}
