//! A plot as a narrow section strip that fills from the oversite up, and a grid of them.
//!
//! A site has up to a thousand plots, so a strip is a handful of rectangles and only the rows on
//! screen are painted.

use egui::{Align2, Rect, ScrollArea, Shape, Stroke, StrokeKind, Ui, pos2, vec2};

use crate::{
    theme,
    widgets::{
        type_setting::{self, tap},
        verdict_mark::{self, Mark},
    },
};

/// How one slice of the strip stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Slice {
    /// Not to be worked on yet.
    Blank,
    /// Being worked on.
    Open,
    /// Offered.
    Offered,
    /// Released.
    Released,
    /// Something is wrong with it.
    Trouble,
}

/// One plot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StripView<'a> {
    /// The plot's name, such as `14`.
    pub name: &'a str,
    /// What it waits for, in a word or two.
    pub waits_for: &'a str,
    /// The mark that calls for attention, if any.
    pub mark: Option<Mark>,
    /// Its slices from the oversite up.
    pub slices: &'a [Slice],
}

/// Size of one plot's cell, in points.
pub const CELL: egui::Vec2 = vec2(148.0, 132.0);

/// A grid of plots that scrolls. `plot` is asked for the plots on screen only; the index of the one
/// that was tapped is returned.
pub fn strip_grid_ui<'a>(ui: &mut Ui, count: usize, plot: impl Fn(usize) -> StripView<'a>) -> Option<usize> {
    let columns = columns_in(ui.available_width());
    let mut tapped = None;
    theme::scroll(ScrollArea::vertical().id_salt("plots").auto_shrink([false, false])).show_rows(
        ui,
        CELL.y,
        count.div_ceil(columns),
        |ui, rows| {
            for row in rows {
                ui.horizontal(|ui| {
                    for index in (row * columns)..((row + 1) * columns).min(count) {
                        let view = plot(index);
                        ui.push_id(("plot", view.name), |ui| {
                            if strip_ui(ui, &view) {
                                tapped = Some(index);
                            }
                        });
                    }
                });
            }
        },
    );
    tapped
}

/// How many cells fit side by side; at least one.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 1..=64 first")]
fn columns_in(width: f32) -> usize {
    let fit = ((width + theme::GAP) / (CELL.x + theme::GAP)).floor();
    fit.clamp(1.0, 64.0) as usize
}

/// One plot's cell. True when it was tapped.
pub fn strip_ui(ui: &mut Ui, view: &StripView<'_>) -> bool {
    let (id, rect) = ui.allocate_space(CELL);
    if !ui.is_rect_visible(rect) {
        return false;
    }
    let mark = view.mark.map_or(String::new(), |m| format!(", {}", m.name()));
    let response = tap(ui, rect, id, &format!("plot {}: {}{mark}", view.name, view.waits_for));
    let (sheet, painter) = (theme::sheet(ui), ui.painter());
    type_setting::boxed(ui, rect, sheet.field, sheet.thin(), &response);
    let strip = Rect::from_min_max(
        rect.left_top() + vec2(10.0, 10.0),
        pos2(rect.left() + 46.0, rect.bottom() - 10.0),
    );
    paint_strip(ui, strip, view.slices);
    let left = strip.right() + 10.0;
    let room = rect.right() - left - 6.0;
    type_setting::line(
        painter,
        pos2(left, rect.top() + 8.0),
        Align2::LEFT_TOP,
        view.name,
        theme::strong(theme::HEADING),
        sheet.ink,
        room,
    );
    let words = type_setting::galley(painter, view.waits_for, theme::font(theme::LABEL), sheet.ink, room, 3);
    painter.galley(pos2(left, rect.top() + 40.0), words, sheet.ink);
    if let Some(mark) = view.mark {
        verdict_mark::paint(painter, rect.right_bottom() - vec2(20.0, 20.0), 24.0, mark, sheet);
    }
    response.clicked()
}

fn paint_strip(ui: &Ui, rect: Rect, slices: &[Slice]) {
    let (sheet, painter) = (theme::sheet(ui), ui.painter());
    let count = f32::from(u16::try_from(slices.len().max(1)).unwrap_or(u16::MAX));
    let height = rect.height() / count;
    let mut bottom = rect.bottom();
    for slice in slices {
        let part = Rect::from_min_max(pos2(rect.left(), bottom - height), pos2(rect.right(), bottom));
        match slice {
            Slice::Blank => {}
            Slice::Open => {
                painter.rect_filled(part, 0.0, sheet.next);
                painter.rect_stroke(part, 0.0, sheet.thick(), StrokeKind::Inside);
            }
            Slice::Offered => {
                painter.rect_filled(part, 0.0, sheet.warn);
            }
            Slice::Released => {
                painter.rect_filled(part, 0.0, sheet.ok);
            }
            Slice::Trouble => {
                painter.rect_filled(part, 0.0, sheet.bad);
                let c = part.center();
                let r = (height * 0.34).min(7.0);
                let sign = vec![c + vec2(0.0, -r), c + vec2(r, r), c + vec2(-r, r)];
                painter.add(Shape::convex_polygon(sign, sheet.on_fill, Stroke::NONE));
            }
        }
        if *slice == Slice::Offered {
            let c = part.center();
            painter.line_segment(
                [c - vec2(8.0, 0.0), c + vec2(8.0, 0.0)],
                Stroke::new(theme::THICK, sheet.on_fill),
            );
        }
        painter.hline(part.x_range(), part.top(), sheet.hairline());
        bottom -= height;
    }
    painter.rect_stroke(rect, 0.0, sheet.thin(), StrokeKind::Inside);
    painter.hline(rect.x_range().expand(5.0), rect.bottom(), sheet.thick());
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_never_overrun_the_width_and_one_always_fits() {
        assert_eq!(columns_in(10.0), 1);
        assert_eq!(columns_in(CELL.x), 1);
        assert_eq!(columns_in(2.0 * CELL.x + theme::GAP), 2);
        assert_eq!(columns_in(2.0 * CELL.x + theme::GAP - 1.0), 1);
        assert_eq!(columns_in(f32::INFINITY), 64);
    }

    #[test]
    fn of_a_thousand_plots_only_the_rows_on_screen_are_painted() {
        let asked = std::cell::Cell::new(0_usize);
        let ctx = crate::headless::context();
        let input = || egui::RawInput {
            screen_rect: Some(Rect::from_min_size(pos2(0.0, 0.0), vec2(1280.0, 800.0))),
            ..egui::RawInput::default()
        };
        for _ in 0..2 {
            asked.set(0);
            let output = ctx.run_ui(input(), |ui| {
                strip_grid_ui(ui, 1000, |_| {
                    asked.set(asked.get() + 1);
                    StripView { name: "1", waits_for: "beams", mark: None, slices: &[Slice::Released; 5] }
                });
            });
            output.drop_without_applying_deltas();
        }
        assert!(asked.get() > 0 && asked.get() <= 8 * 8, "{} plots painted", asked.get());
    }
}
