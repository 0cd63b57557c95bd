//! What part of a drawing is shown: moved by drag, pinch and wheel, and by three buttons, so that nothing needs a
//! gesture. The camera is the caller's draft.

use egui::{Align2, Id, Painter, Rect, Response, Shape, Stroke, Ui, Vec2, pos2, vec2};

use crate::{
    theme::{self, Sheet},
    widgets::type_setting::{boxed, line, tap},
};

/// What part of a drawing is shown. Kept by the caller between frames.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Camera {
    /// How many times larger than fitting the whole drawing.
    pub zoom: f32,
    /// How far the drawing is moved from the middle, in points.
    pub shift: Vec2,
}

impl Default for Camera {
    fn default() -> Self {
        Self { zoom: 1.0, shift: Vec2::ZERO }
    }
}

/// Height of the foot that holds the buttons.
pub const FOOT: f32 = theme::TOUCH + theme::GAP;
/// The least and the greatest zoom, and what one press of a button makes of it.
const ZOOMS: (f32, f32) = (0.5, 40.0);
const STEP: f32 = 1.4;

/// Follows the fingers, the pointer and the wheel over a canvas.
pub fn follow(ui: &Ui, canvas: &Response, area: Rect, camera: &mut Camera) {
    if canvas.dragged() {
        camera.shift += canvas.drag_delta();
    }
    let (pinch, wheel, finger, fingers) = ui.input(|input| {
        let fingers = input.multi_touch().map(|touch| (touch.center_pos, touch.translation_delta));
        (input.zoom_delta(), input.smooth_scroll_delta(), input.pointer.hover_pos(), fingers)
    });
    // Two fingers are about their middle, wherever the pointer is thought to be.
    let about = fingers.map(|(middle, _)| middle).or(finger);
    let Some(about) = about.filter(|at| area.contains(*at) && ui.rect_contains_pointer(area)) else { return };
    if let Some((_, moved)) = fingers.filter(|_| !canvas.dragged()) {
        camera.shift += moved;
    }
    let factor = if pinch == 1.0 { (wheel.y / 240.0).exp() } else { pinch };
    if factor != 1.0 {
        zoom(camera, factor, about - area.center());
    }
}

/// Changes the zoom about a point given from the canvas's middle, which stays where it is.
pub fn zoom(camera: &mut Camera, factor: f32, about: Vec2) {
    let before = camera.zoom;
    camera.zoom = (camera.zoom * factor).clamp(ZOOMS.0, ZOOMS.1);
    let scaled = camera.zoom / before;
    camera.shift = about - (about - camera.shift) * scaled;
}

/// The three buttons at the right end of a foot: smaller, larger, the whole of `what`. Gives back where they begin.
pub fn buttons_ui(ui: &Ui, foot: Rect, id: Id, what: &str, camera: &mut Camera, sheet: &Sheet) -> f32 {
    let place = |n: f32| {
        Rect::from_min_size(
            pos2(foot.right() - n * (theme::TOUCH + theme::GAP) + theme::GAP, foot.top() + theme::GAP),
            Vec2::splat(theme::TOUCH),
        )
    };
    let whole = format!("fit the whole {what}");
    for (n, word, name) in [(3.0_f32, "−", "zoom out"), (2.0, "+", "zoom in"), (1.0, "", whole.as_str())] {
        let place = place(n);
        let response = tap(ui, place, id.with(("camera", word)), name);
        boxed(ui, place, sheet.field, Stroke::new(1.5, sheet.ink), &response);
        if word.is_empty() {
            fit_face(ui.painter(), place, sheet);
        } else {
            let (font, middle) = (theme::strong(26.0), place.center());
            line(ui.painter(), middle, Align2::CENTER_CENTER, word, font, sheet.ink, place.width());
        }
        if response.clicked() {
            match word {
                "−" => zoom(camera, 1.0 / STEP, Vec2::ZERO),
                "+" => zoom(camera, STEP, Vec2::ZERO),
                _ => *camera = Camera::default(),
            }
        }
    }
    place(3.0).left()
}

fn fit_face(painter: &Painter, place: Rect, sheet: &Sheet) {
    let frame = place.shrink(14.0);
    let pen = Stroke::new(2.5, sheet.ink);
    for (corner, inwards) in [
        (frame.left_top(), vec2(7.0, 7.0)),
        (frame.right_top(), vec2(-7.0, 7.0)),
        (frame.right_bottom(), vec2(-7.0, -7.0)),
        (frame.left_bottom(), vec2(7.0, -7.0)),
    ] {
        let bracket = vec![corner + vec2(inwards.x, 0.0), corner, corner + vec2(0.0, inwards.y)];
        painter.add(Shape::line(bracket, pen));
    }
    painter.circle_filled(place.center(), 3.0, sheet.ink);
}
