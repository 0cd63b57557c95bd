//! The plan of one floor to scale: outline, walls, beams, openings, services, membrane and reading points, with the
//! points furthest off beside it. A tapped point gives back its name.
//!
//! What is drawn is `plan_drawing`'s, the same as on paper. Moving it is [`super::camera`]'s, ink
//! [`super::plan_paint`]'s, words are [`super::plan_words`]'s.

use std::sync::Arc;

use egui::{
    Align2, Id, Pos2, Rect, Role, Sense, Stroke, StrokeKind, TextureId, Ui, Vec2, WidgetInfo, pos2, vec2,
};
use gaugerod_core::ids::PointName;
use gaugerod_core::plan_drawing::{Drawing, Place, Point, deviation_text, measure};

use crate::{
    theme::{self, Sheet},
    widgets::{
        camera::{self, Camera, FOOT},
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
    /// A drawing behind it.
    pub behind: Option<Behind>,
    /// What there is to say about that drawing: that it is of another revision, that it cannot be read.
    pub warning: Option<String>,
    /// The word on the button about that drawing; no button without.
    pub drawing_button: Option<String>,
}

/// A drawing behind the plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Behind {
    /// White where there is ink, nothing where there is paper.
    pub texture: TextureId,
    /// Its corners on the plan, from its upper left clockwise as one reads it.
    pub corners: [Place; 4],
    /// How strongly its ink is drawn, 0 to 1.
    pub strength: f32,
}

/// What was tapped.
#[derive(Clone, Debug, PartialEq)]
pub enum PlanEvent {
    /// A reading point.
    Point(PointName),
    /// The button that is about the drawing behind the plan.
    Drawing,
}

/// How near to a point a finger must come to mean it, in points.
const NEAREST: f32 = 34.0;
/// Width of the list of the points furthest off, where it stands beside the plan, and what the plan keeps then.
const LIST: f32 = 148.0;
const LEAST_BESIDE: Vec2 = vec2(340.0, 300.0);
/// Width of one of them where they stand in a row, and the least height that the plan keeps above them.
const CHIP: f32 = 122.0;
const LEAST_ABOVE: f32 = 170.0;
/// Height of a legend below the plan.
const LEGEND: f32 = 22.0;
/// Width of the button about the drawing behind the plan.
const DRAWING: f32 = 116.0;

/// Draws the plan in the space that is left; gives back what was tapped.
pub fn plan_ui(ui: &mut Ui, view: &PlanView, camera: &mut Camera) -> Option<PlanEvent> {
    let (id, area) = ui.allocate_space(ui.available_size().max(vec2(220.0, 220.0)));
    // Contours say where it is worst, and need the room.
    let has_contours = view.drawing.contours.is_some();
    let places = Places::of(area, if has_contours { 0 } else { view.drawing.worst.len() });
    let canvas = ui.interact(places.canvas, id, Sense::click_and_drag());
    canvas.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, "plan of the floor"));
    camera::follow(ui, &canvas, places.canvas, camera);
    // Their legend stands below the plan, not on it.
    let below = if has_contours { LEGEND } else { 0.0 };
    let map = Map::new(&view.drawing, places.canvas.with_max_y(places.canvas.bottom() - below), *camera);
    let sheet = theme::sheet(ui);
    let painter = ui.painter_at(places.canvas);
    painter.rect_filled(places.canvas, 0.0, sheet.paper);
    plan_paint::draw(&painter, view, &map, sheet);
    let legend = match &view.drawing.contours {
        Some(contours) => Some(contours.legend()),
        None if view.drawing.has_offsets() => {
            Some(format!("offsets drawn ×{:.0}", view.drawing.exaggeration))
        }
        None => None,
    };
    let said = if let Some(words) = legend {
        let at = places.canvas.left_bottom() + vec2(8.0, -4.0);
        let colours = (sheet.soft, sheet.paper);
        let place =
            patched(&painter, at, Align2::LEFT_BOTTOM, &words, theme::font(theme::LABEL), colours, 330.0);
        picture(ui, place, id.with("legend"), &words);
        Some(place)
    } else {
        None
    };
    let north = view.drawing.north.map(|way| {
        let place = Rect::from_min_size(places.canvas.right_top() + vec2(-56.0, 4.0), vec2(52.0, 58.0));
        plan_paint::north(&painter, place.center(), way, sheet);
        picture(ui, place, id.with("north"), "north");
        place
    });
    let warned = view.warning.as_ref().map(|words| {
        let at = places.canvas.left_top() + vec2(10.0, 6.0);
        let colours = (sheet.on_fill, sheet.warn);
        let width = places.canvas.width() - 80.0;
        let place = patched(&painter, at, Align2::LEFT_TOP, words, theme::font(theme::LABEL), colours, width);
        picture(ui, place, id.with("warning"), words);
        place
    });
    let kept = said.into_iter().chain(north).chain(warned);
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
    if foot_ui(ui, places.foot, id, &map, view, camera, sheet) {
        return Some(PlanEvent::Drawing);
    }
    worst_ui(ui, view, &places, id, sheet).or(tapped).map(PlanEvent::Point)
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

/// The foot of the plan: the scale bar, what moves the camera, and the drawing behind the plan. Gives back whether the
/// last was tapped.
fn foot_ui(
    ui: &Ui,
    foot: Rect,
    id: Id,
    map: &Map,
    view: &PlanView,
    camera: &mut Camera,
    sheet: &Sheet,
) -> bool {
    let mut tapped = false;
    let mut right = camera::buttons_ui(ui, foot, id, "plan", camera, sheet) - theme::GAP;
    if let Some(word) = &view.drawing_button {
        let place =
            Rect::from_min_size(pos2(right - DRAWING, foot.top() + theme::GAP), vec2(DRAWING, theme::TOUCH));
        let response = tap(ui, place, id.with("drawing"), word);
        boxed(ui, place, sheet.field, Stroke::new(1.5, sheet.ink), &response);
        let (at, font) = (place.center(), theme::font(theme::BODY));
        line(ui.painter(), at, Align2::CENTER_CENTER, word, font, sheet.ink, place.width() - 8.0);
        tapped = response.clicked();
        right = place.left() - theme::GAP;
    }
    let painter = ui.painter_at(foot.with_max_x(right));
    let most = (right - foot.left() - 40.0).clamp(40.0, 120.0);
    let bar = measure::round_mm(f64::from(most / map.scale));
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
    tapped
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
