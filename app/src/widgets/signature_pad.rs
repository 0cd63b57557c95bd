//! A place to sign with a finger or a stylus. What is drawn is kept as polylines in units of the
//! pad's width, so that it can be set at any size in the report; it proves nothing by itself: the
//! signature that can be checked is the one made with the signer's key.

use egui::{Align2, Pos2, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2};

use crate::{
    theme,
    widgets::{
        buttons::{Weight, button_in_ui},
        type_setting,
    },
};

/// The strokes of a signature: x in 0..=1 from the left edge, y downwards in the same unit.
pub type Polylines = Vec<Vec<[f32; 2]>>;

/// Most points kept of one signature; later ones are dropped, not an error.
const MOST_POINTS: usize = 4000;
/// Least distance between kept points, in units of the pad's width.
const LEAST_STEP: f32 = 0.002;

/// The pad with its line and a button that wipes it. True when the drawing changed.
pub fn signature_pad_ui(ui: &mut Ui, signer: &str, strokes: &mut Polylines) -> bool {
    let width = ui.available_width().min(640.0);
    let (id, rect) = ui.allocate_space(vec2(width, (width * 0.36).clamp(120.0, 220.0)));
    let response = ui.interact(rect, id, Sense::drag());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, format!("signature of {signer}")));
    let mut changed = false;
    if let Some(at) =
        response.interact_pointer_pos().filter(|_| response.dragged() || response.drag_started())
    {
        changed = add_point(strokes, rect, at, response.drag_started());
    }
    let (sheet, painter) = (theme::sheet(ui), ui.painter_at(rect));
    painter.rect_filled(rect, 0.0, sheet.field);
    painter.rect_stroke(rect, 0.0, sheet.thick(), StrokeKind::Inside);
    let line = rect.top() + rect.height() * 0.72;
    painter.extend(Shape::dashed_line(
        &[pos2(rect.left() + 24.0, line), pos2(rect.right() - 24.0, line)],
        sheet.hairline(),
        8.0,
        6.0,
    ));
    type_setting::line(
        &painter,
        pos2(rect.left() + 24.0, rect.bottom() - 8.0),
        Align2::LEFT_BOTTOM,
        signer,
        theme::font(theme::BODY),
        sheet.soft,
        rect.width() - 150.0,
    );
    for stroke in strokes.iter() {
        let points: Vec<Pos2> = stroke.iter().map(|[x, y]| rect.min + vec2(*x, *y) * rect.width()).collect();
        painter.add(Shape::line(points, Stroke::new(3.0, sheet.ink)));
    }
    if !strokes.is_empty() {
        let wipe = Rect::from_min_size(
            rect.right_bottom() - vec2(100.0, theme::TOUCH + 8.0),
            vec2(92.0, theme::TOUCH),
        );
        if button_in_ui(ui, wipe, id.with("wipe"), Weight::Plain, "Wipe").clicked() {
            strokes.clear();
            changed = true;
        }
    }
    changed
}

/// Adds a point to the last stroke, or starts a stroke; false when it was too near or one too many.
fn add_point(strokes: &mut Polylines, rect: Rect, at: Pos2, starts: bool) -> bool {
    let inside = rect.clamp(at);
    let point = [(inside.x - rect.left()) / rect.width(), (inside.y - rect.top()) / rect.width()];
    if strokes.iter().map(Vec::len).sum::<usize>() >= MOST_POINTS {
        return false;
    }
    if starts || strokes.is_empty() {
        strokes.push(vec![point]);
        return true;
    }
    let Some(last) = strokes.last_mut() else {
        return false;
    };
    if let Some([x, y]) = last.last()
        && (point[0] - x).hypot(point[1] - y) < LEAST_STEP
    {
        return false;
    }
    last.push(point);
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strokes_are_kept_in_units_of_the_width_and_inside_the_pad() {
        let rect = Rect::from_min_size(pos2(100.0, 50.0), vec2(400.0, 100.0));
        let mut strokes = Polylines::new();
        assert!(add_point(&mut strokes, rect, pos2(100.0, 50.0), true));
        assert!(add_point(&mut strokes, rect, pos2(900.0, 900.0), false));
        assert!(!add_point(&mut strokes, rect, pos2(900.1, 900.0), false));
        assert!(add_point(&mut strokes, rect, pos2(300.0, 100.0), true));
        assert_eq!(strokes, [vec![[0.0, 0.0], [1.0, 0.25]], vec![[0.5, 0.125]]]);
    }

    #[test]
    fn a_signature_stops_growing_at_its_most() {
        let rect = Rect::from_min_size(pos2(0.0, 0.0), vec2(400.0, 100.0));
        let mut strokes: Polylines = vec![vec![[0.0, 0.0]; MOST_POINTS]];
        assert!(!add_point(&mut strokes, rect, pos2(200.0, 50.0), false));
        assert!(!add_point(&mut strokes, rect, pos2(200.0, 50.0), true));
    }
}
