//! Cautions along the top of a screen, and the sentence beside a field that says why not.
//!
//! Neither can be tapped away: a caution goes when its reason goes.

use egui::{Frame, Margin, RichText, Stroke, StrokeKind, Ui, pos2, vec2};

use crate::{
    theme,
    widgets::{
        hatch,
        verdict_mark::{self, Mark},
    },
};

/// Cautions for the work at hand, one below the other beside a barred edge.
pub fn caution_bar_ui(ui: &mut Ui, cautions: &[&str]) {
    if cautions.is_empty() {
        return;
    }
    let sheet = theme::sheet(ui);
    let shown = Frame::new()
        .fill(sheet.wash(sheet.warn))
        .inner_margin(Margin { left: 32, right: 12, top: 6, bottom: 6 })
        .show(ui, |ui| {
            ui.set_min_width(ui.available_width());
            ui.spacing_mut().item_spacing.y = 2.0;
            for caution in cautions {
                ui.add(
                    egui::Label::new(RichText::new(*caution).font(theme::font(theme::BODY)).color(sheet.ink))
                        .wrap(),
                );
            }
        });
    let rect = shown.response.rect;
    let edge = rect.with_max_x(rect.left() + 20.0);
    let painter = ui.painter();
    painter.rect_filled(edge, 0.0, sheet.warn);
    for segment in hatch::parallels(&hatch::corners(edge), vec2(1.0, -1.0), 12.0) {
        painter.line_segment(segment, Stroke::new(theme::EXTRA, sheet.on_fill));
    }
    painter.rect_stroke(rect, 0.0, sheet.thin(), StrokeKind::Inside);
}

/// A sentence shown by the field that it is about: a refusal, a warning or a result.
pub fn notice_ui(ui: &mut Ui, mark: Mark, sentence: &str) {
    let sheet = theme::sheet(ui);
    let fill = if mark == Mark::NotYet { sheet.band } else { sheet.wash(mark.fill(sheet)) };
    let shown = Frame::new()
        .fill(fill)
        .inner_margin(Margin { left: 44, right: 12, top: 10, bottom: 10 })
        .show(ui, |ui| {
            ui.set_min_width(ui.available_width());
            ui.add(
                egui::Label::new(RichText::new(sentence).font(theme::font(theme::BODY)).color(sheet.ink))
                    .wrap(),
            );
        });
    let rect = shown.response.rect;
    ui.painter().rect_stroke(rect, 0.0, sheet.thin(), StrokeKind::Inside);
    verdict_mark::paint(ui.painter(), pos2(rect.left() + 22.0, rect.center().y), 24.0, mark, sheet);
}
