//! The plan of one floor to scale: outline, walls, beams, openings, services, membrane and reading points, with the
//! points furthest off beside it. A tapped point gives back its name.
//!
//! What is drawn is `plan_drawing`'s, the same as on paper. The camera is the caller's draft: drag, pinch or wheel
//! move it, and so do three buttons, so that nothing needs a gesture. Ink is in [`super::plan_paint`], words in
//! [`super::plan_words`].

use std::sync::Arc;

use egui::{
    Align2, Id, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui, Vec2, WidgetInfo, pos2, vec2,
};
use gaugerod_core::ids::PointName;
use gaugerod_core::plan_drawing::{Drawing, Point, deviation_text, measure};

use crate::{
    theme::{self, Sheet},
    widgets::{
        plan_paint::{self, Map},
        plan_words,
        type_setting::{boxed, line, patched, picture, tap},
        verdict_mark::{self, Mark},
    },
};

/// What is drawn.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct PlanView {
    /// The plan.
    pub drawing: Arc<Drawing>,
    /// The point that is being read.
    pub current: Option<PointName>,
}

/// What part of the plan is shown. Kept by the caller between frames.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Camera {
    /// How many times larger than fitting the whole plan.
    pub zoom: f32,
    /// How far the plan is moved from the middle, in points.
    pub shift: Vec2,
}

impl Default for Camera {
    fn default() -> Self {
        Self { zoom: 1.0, shift: Vec2::ZERO }
    }
}

/// How near to a point a finger must come to mean it, in points.
const NEAREST: f32 = 34.0;
/// Height of the foot: buttons and scale bar.
const FOOT: f32 = theme::TOUCH + theme::GAP;
/// Width of the list of the points furthest off, where it stands beside the plan, and what the plan keeps then.
const LIST: f32 = 148.0;
const LEAST_BESIDE: Vec2 = vec2(340.0, 300.0);
/// Width of one of them where they stand in a row, and the least height that the plan keeps above them.
const CHIP: f32 = 122.0;
const LEAST_ABOVE: f32 = 170.0;
/// The least and the greatest zoom.
const ZOOMS: (f32, f32) = (0.5, 40.0);

/// Draws the plan in the space that is left; gives back the name of the point that was tapped.
pub fn plan_ui(ui: &mut Ui, view: &PlanView, camera: &mut Camera) -> Option<PointName> {
    let (id, area) = ui.allocate_space(ui.available_size().max(vec2(220.0, 220.0)));
    let places = Places::of(area, view.drawing.worst.len());
    let canvas = ui.interact(places.canvas, id, Sense::click_and_drag());
    canvas.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, "plan of the floor"));
    move_camera(ui, &canvas, places.canvas, camera);
    let map = Map::new(&view.drawing, places.canvas, *camera);
    let sheet = theme::sheet(ui);
    let painter = ui.painter_at(places.canvas);
    painter.rect_filled(places.canvas, 0.0, sheet.paper);
    plan_paint::draw(&painter, view, &map, sheet);
    let said = if view.drawing.has_offsets() {
        let words = format!("offsets drawn ×{:.0}", view.drawing.exaggeration);
        let at = places.canvas.left_bottom() + vec2(8.0, -4.0);
        let colours = (sheet.soft, sheet.paper);
        Some(patched(&painter, at, Align2::LEFT_BOTTOM, &words, theme::font(theme::LABEL), colours, 240.0))
    } else {
        None
    };
    let north = view.drawing.north.map(|way| {
        let place = Rect::from_min_size(places.canvas.right_top() + vec2(-56.0, 4.0), vec2(52.0, 58.0));
        plan_paint::north(&painter, place.center(), way, sheet);
        picture(ui, place, id.with("north"), "north");
        place
    });
    let kept = said.into_iter().chain(north);
    for (name, place, mark) in plan_words::draw(&painter, view, &map, kept, places.canvas, sheet) {
        let said =
            mark.map_or_else(|| format!("wall {name}"), |mark| format!("wall {name}: {}", mark.name()));
        picture(ui, place, id.with(("wall", &name)), &said);
    }
    let mut tapped = points_ui(ui, view, &map, id, places.canvas, sheet);
    if tapped.is_none()
        && canvas.clicked()
        && let Some(finger) = canvas.interact_pointer_pos()
    {
        tapped = nearest(view, &map, finger).cloned();
    }
    foot_ui(ui, places.foot, id, &map, camera, sheet);
    worst_ui(ui, view, &places, id, sheet).or(tapped)
}

/// Where everything stands.
struct Places {
    canvas: Rect,
    foot: Rect,
    /// Head of the list, where there is room for one.
    head: Option<Rect>,
    /// Places for the points furthest off, as many as there is room for.
    rows: Vec<Rect>,
}

impl Places {
    fn of(area: Rect, worst: usize) -> Self {
        let foot = area.with_min_y(area.bottom() - FOOT);
        let canvas = area.with_max_y(foot.top());
        let least = vec2(LEAST_BESIDE.x + LIST + theme::GAP, LEAST_BESIDE.y);
        if worst == 0 {
            return Self { canvas, foot, head: None, rows: Vec::new() };
        }
        if canvas.width() >= least.x && canvas.height() >= least.y {
            let list = canvas.with_min_x(canvas.right() - LIST);
            let head = list.with_max_y(list.top() + 26.0);
            let row = |n: u8| {
                let top = head.bottom() + f32::from(n) * (theme::TOUCH + theme::GAP);
                Rect::from_min_size(pos2(list.left(), top), vec2(LIST, theme::TOUCH))
            };
            let rows = (0_u8..).map(row).take(worst).take_while(|row| row.bottom() <= list.bottom());
            let canvas = canvas.with_max_x(list.left() - theme::GAP);
            return Self { canvas, foot, head: Some(head), rows: rows.collect() };
        }
        let row = canvas.with_min_y(canvas.bottom() - theme::TOUCH);
        if row.top() - theme::GAP - canvas.top() < LEAST_ABOVE {
            return Self { canvas, foot, head: None, rows: Vec::new() };
        }
        let chip = |n: u8| {
            let left = row.left() + f32::from(n) * (CHIP + theme::GAP);
            Rect::from_min_size(pos2(left, row.top()), vec2(CHIP, theme::TOUCH))
        };
        let rows = (0_u8..).map(chip).take(worst).take_while(|chip| chip.right() <= row.right());
        let canvas = canvas.with_max_y(row.top() - theme::GAP);
        Self { canvas, foot, head: None, rows: rows.collect() }
    }
}

/// The reading points as buttons over the plan.
fn points_ui(ui: &Ui, view: &PlanView, map: &Map, id: Id, canvas: Rect, sheet: &Sheet) -> Option<PointName> {
    let mut tapped = None;
    let (focused, enabled) = (ui.memory(egui::Memory::focused), ui.is_enabled());
    for point in &view.drawing.points {
        let at = map.place(point.at);
        if !canvas.shrink(2.0).contains(at) {
            continue;
        }
        let place = inside(Rect::from_center_size(at, Vec2::splat(theme::TOUCH)), canvas);
        let own = id.with(("point", &point.name));
        let response = ui.interact(place, own, Sense::click());
        response.widget_info(|| {
            let name = format!("point {}: {}", point.name, Mark::from(point.standing).name());
            WidgetInfo::labeled(Role::Button, enabled, name)
        });
        if response.clicked() {
            // Targets of near points overlap: the nearest to the finger is meant.
            let meant = response.interact_pointer_pos().and_then(|finger| nearest(view, map, finger));
            tapped = Some(meant.unwrap_or(&point.name).clone());
        }
        if focused == Some(own) {
            ui.painter().rect_stroke(place.shrink(6.0), 0.0, sheet.thick(), StrokeKind::Inside);
        }
    }
    tapped
}

/// The point that a finger means, if one is near enough.
fn nearest<'v>(view: &'v PlanView, map: &Map, finger: Pos2) -> Option<&'v PointName> {
    view.drawing
        .points
        .iter()
        .map(|point| (map.place(point.at).distance(finger), point))
        .filter(|(distance, _)| *distance <= NEAREST)
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, point)| &point.name)
}

/// Moves `rect` into `area` if it overhangs it.
fn inside(rect: Rect, area: Rect) -> Rect {
    let low = (area.min - rect.min).max(Vec2::ZERO);
    let high = (rect.max - area.max).max(Vec2::ZERO);
    rect.translate(low - high)
}

fn move_camera(ui: &Ui, canvas: &egui::Response, area: Rect, camera: &mut Camera) {
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
fn zoom(camera: &mut Camera, factor: f32, about: Vec2) {
    let before = camera.zoom;
    camera.zoom = (camera.zoom * factor).clamp(ZOOMS.0, ZOOMS.1);
    let scaled = camera.zoom / before;
    camera.shift = about - (about - camera.shift) * scaled;
}

/// The foot of the plan: the scale bar and what moves the camera.
fn foot_ui(ui: &Ui, foot: Rect, id: Id, map: &Map, camera: &mut Camera, sheet: &Sheet) {
    let button = |n: f32| {
        Rect::from_min_size(
            pos2(foot.right() - n * (theme::TOUCH + theme::GAP) + theme::GAP, foot.top() + theme::GAP),
            Vec2::splat(theme::TOUCH),
        )
    };
    for (n, word, name) in
        [(3.0_f32, "−", "zoom out"), (2.0, "+", "zoom in"), (1.0, "", "fit the whole plan")]
    {
        let place = button(n);
        let response = tap(ui, place, id.with(name), name);
        boxed(ui, place, sheet.field, Stroke::new(1.5, sheet.ink), &response);
        if word.is_empty() {
            fit_face(ui.painter(), place, sheet);
        } else {
            let (font, middle) = (theme::strong(26.0), place.center());
            line(ui.painter(), middle, Align2::CENTER_CENTER, word, font, sheet.ink, place.width());
        }
        if response.clicked() {
            match word {
                "−" => zoom(camera, 1.0 / 1.4, Vec2::ZERO),
                "+" => zoom(camera, 1.4, Vec2::ZERO),
                _ => *camera = Camera::default(),
            }
        }
    }
    let painter = ui.painter_at(foot);
    let bar = measure::round_mm(f64::from(120.0 / map.scale));
    let length = plan_paint::to_f32(f64::from(bar)) * map.scale;
    let (left, y) = (foot.left() + 8.0, foot.top() + 20.0);
    painter.hline(left..=left + length, y, sheet.thick());
    for x in [left, left + length] {
        painter.vline(x, y - 5.0..=y + 5.0, sheet.thick());
    }
    let font = || theme::font(theme::LABEL);
    line(&painter, pos2(left, y + 8.0), Align2::LEFT_TOP, "0", font(), sheet.soft, 20.0);
    let (at, text) = (pos2(left + length, y + 8.0), measure::length_text(bar));
    line(&painter, at, Align2::CENTER_TOP, &text, font(), sheet.soft, 60.0);
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

/// The points furthest off, each a way to it.
fn worst_ui(ui: &Ui, view: &PlanView, places: &Places, id: Id, sheet: &Sheet) -> Option<PointName> {
    if let Some(head) = places.head {
        let (at, font) = (head.left_center(), theme::font(theme::LABEL));
        line(ui.painter(), at, Align2::LEFT_CENTER, "Furthest off", font, sheet.soft, head.width());
    }
    let mut tapped = None;
    let worst = view.drawing.worst.iter().filter_map(|place| view.drawing.points.get(*place));
    for (point, place) in worst.zip(&places.rows) {
        let (mark, text) = (Mark::from(point.standing), text_of(point));
        let name = format!("furthest off: {} {text}, {}", point.name, mark.name());
        let response = tap(ui, *place, id.with(("worst", &point.name)), &name);
        let is_current = view.current.as_ref() == Some(&point.name);
        let stroke = if is_current { sheet.thick() } else { sheet.hairline() };
        boxed(ui, *place, sheet.field, stroke, &response);
        let y = place.center().y;
        verdict_mark::paint(ui.painter(), pos2(place.left() + 20.0, y), 22.0, mark, sheet);
        let (at, font) = (pos2(place.left() + 38.0, y), theme::font(theme::BODY));
        line(
            ui.painter(),
            at,
            Align2::LEFT_CENTER,
            point.name.as_str(),
            font,
            sheet.ink,
            place.width() * 0.4,
        );
        let (at, font) = (pos2(place.right() - 8.0, y), theme::strong(theme::VALUE));
        line(ui.painter(), at, Align2::RIGHT_CENTER, &text, font, sheet.ink, place.width() * 0.4);
        if response.clicked() {
            tapped = Some(point.name.clone());
        }
    }
    tapped
}

fn text_of(point: &Point) -> String {
    point.deviation.map_or_else(String::new, deviation_text)
}

#[cfg(test)]
#[path = "plan_tests.rs"]
mod tests;
