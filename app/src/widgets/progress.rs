//! Long work: how far it is, in words and as a bar, and the button that stops it.

use egui::{Align2, Rect, Role, Sense, StrokeKind, Ui, WidgetInfo, vec2};

use crate::{
    theme,
    widgets::{
        buttons::{Weight, sized_button_ui},
        type_setting,
    },
};

/// A bar with what is being done and, while it can be stopped, a Stop button.
///
/// `done` of `whole` is shown in figures; a `whole` of 0 means that the end is not known yet.
/// True when Stop was tapped.
pub fn progress_ui(ui: &mut Ui, doing: &str, done: u64, whole: u64, can_stop: bool) -> bool {
    let sheet = theme::sheet(ui);
    let mut stopped = false;
    ui.horizontal(|ui| {
        let button = if can_stop { 92.0 + theme::GAP } else { 0.0 };
        let (id, rect) = ui.allocate_space(vec2((ui.available_width() - button).max(120.0), theme::TOUCH));
        let words = if whole == 0 { doing.to_owned() } else { format!("{doing}: {done} of {whole}") };
        let response = ui.interact(rect, id, Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::ProgressIndicator, true, &words));
        let painter = ui.painter();
        let bar = Rect::from_min_max(rect.left_bottom() - vec2(0.0, 14.0), rect.right_bottom());
        painter.rect_filled(bar, 0.0, sheet.field);
        painter.rect_filled(bar.with_max_x(bar.left() + bar.width() * share(done, whole)), 0.0, sheet.next);
        painter.rect_stroke(bar, 0.0, sheet.thin(), StrokeKind::Inside);
        type_setting::line(
            painter,
            rect.left_top() + vec2(0.0, 2.0),
            Align2::LEFT_TOP,
            &words,
            theme::font(theme::BODY),
            sheet.ink,
            rect.width(),
        );
        if can_stop {
            stopped = sized_button_ui(ui, Weight::Plain, "Stop", vec2(92.0, theme::TOUCH)).clicked();
        }
    });
    stopped
}

/// The share of the work that is done, in 0..=1; nothing while the end is not known.
#[expect(clippy::cast_precision_loss, clippy::cast_possible_truncation, reason = "only the length of a bar")]
fn share(done: u64, whole: u64) -> f32 {
    if whole == 0 { 0.0 } else { (done.min(whole) as f64 / whole as f64) as f32 }
}

#[cfg(test)]
mod tests {
    use super::share;

    #[test]
    fn the_bar_never_leaves_its_frame() {
        assert_eq!([share(0, 0), share(0, 5), share(5, 5), share(9, 5)], [0.0, 0.0, 1.0, 1.0]);
    }
}
