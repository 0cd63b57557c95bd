//! The plan of one floor to scale: outline, walls, vents, services, membrane and reading points.
//! A tapped point gives back its name; deviations are drawn exaggerated, with the scale stated.
//!
//! Coordinates are millimetres in the plan's own axes, y upwards as on the drawing. The camera is
//! the caller's draft. Nothing here knows what a reading means.

use egui::{
    Align2, Id, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui, Vec2, WidgetInfo, pos2, vec2,
};

use crate::{
    theme::{self, Sheet},
    widgets::{
        plan_paint::{Map, draw, to_f32},
        type_setting::{line, patched, tap},
        verdict_mark::Mark,
    },
};

/// A place in millimetres.
pub type Place = [f64; 2];

/// What is drawn.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct PlanView {
    /// Walls by their centre lines.
    pub walls: Vec<PlanWall>,
    /// Beams by their centre lines.
    pub beams: Vec<[Place; 2]>,
    /// Openings in walls for air.
    pub vents: Vec<Place>,
    /// Pipes and cables.
    pub services: Vec<Service>,
    /// Areas that a membrane covers.
    pub membranes: Vec<Vec<Place>>,
    /// Reading points in the order of booking.
    pub points: Vec<PlanPoint>,
    /// Name of the point that is being read.
    pub current: Option<String>,
    /// How many times larger than the plan deviations are drawn.
    pub exaggeration: f64,
}

/// A wall.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanWall {
    /// What it is called on the drawing.
    pub name: String,
    /// Where its centre line starts.
    pub from: Place,
    /// Where its centre line ends.
    pub to: Place,
    /// Its thickness in millimetres.
    pub thickness: f64,
}

/// A pipe or cable.
#[derive(Clone, Debug, PartialEq)]
pub struct Service {
    /// What it carries.
    pub name: String,
    /// Its route.
    pub route: Vec<Place>,
}

/// A place where something is read.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanPoint {
    /// Its name, given back when it is tapped.
    pub name: String,
    /// Where it is.
    pub at: Place,
    /// How it stands.
    pub mark: Mark,
    /// Its deviation in millimetres, drawn along [`PlanPoint::outward`].
    pub deviation: Option<f64>,
    /// The deviation as written, such as `+9`; written only beside marks that call for it.
    pub text: String,
    /// Direction in which an offset is drawn; away from the room.
    pub outward: Place,
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

const NEAREST: f32 = 34.0;
pub(super) const MARGIN: f32 = 44.0;
const FOOT: f32 = 56.0;
pub(super) const MARK: f32 = 20.0;

/// Draws the plan in the space that is left; gives back the name of the point that was tapped.
pub fn plan_ui(ui: &mut Ui, view: &PlanView, camera: &mut Camera) -> Option<String> {
    let (id, area) = ui.allocate_space(ui.available_size().max(vec2(220.0, 220.0)));
    let canvas_area = area.with_max_y(area.bottom() - FOOT);
    let canvas = ui.interact(canvas_area, id, Sense::click_and_drag());
    canvas.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, "plan of the floor"));
    move_camera(ui, &canvas, canvas_area, camera);
    let map = Map::new(view, canvas_area, *camera);
    let sheet = theme::sheet(ui);
    let painter = ui.painter_at(canvas_area);
    painter.rect_filled(canvas_area, 0.0, sheet.paper);
    draw(&painter, view, &map, sheet);
    if view.points.iter().any(|point| point.deviation.is_some()) {
        let words = format!("offsets drawn × {:.0}", view.exaggeration);
        let at = canvas_area.left_bottom() + vec2(8.0, -4.0);
        let colours = (sheet.soft, sheet.paper);
        patched(&painter, at, Align2::LEFT_BOTTOM, &words, theme::font(theme::LABEL), colours, 240.0);
    }

    let mut tapped = None;
    for point in &view.points {
        let at = map.place(point.at);
        if !canvas_area.shrink(2.0).contains(at) {
            continue;
        }
        let place = Rect::from_center_size(at, Vec2::splat(theme::TOUCH));
        let name = format!("point {}: {}", point.name, point.mark.name());
        let response = tap(ui, inside(place, canvas_area), id.with(("point", &point.name)), &name);
        if response.clicked() {
            // Targets of near points overlap: the nearest to the finger is meant.
            let meant = response.interact_pointer_pos().and_then(|finger| nearest(view, &map, finger));
            tapped = Some(meant.unwrap_or(&point.name).to_owned());
        }
        if response.has_focus() {
            painter.rect_stroke(place.shrink(6.0), 0.0, sheet.thick(), StrokeKind::Inside);
        }
    }
    if tapped.is_none()
        && canvas.clicked()
        && let Some(finger) = canvas.interact_pointer_pos()
    {
        tapped = nearest(view, &map, finger).map(str::to_owned);
    }
    let foot = area.with_min_y(canvas_area.bottom());
    foot_ui(ui, foot, id, &map, camera, sheet);
    tapped
}

/// The point that a finger means, if one is near enough.
fn nearest<'v>(view: &'v PlanView, map: &Map, finger: Pos2) -> Option<&'v str> {
    view.points
        .iter()
        .map(|point| (map.place(point.at).distance(finger), point))
        .filter(|(distance, _)| *distance <= NEAREST)
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, point)| point.name.as_str())
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
    let hovered = ui.rect_contains_pointer(area);
    let (pinch, wheel, finger) =
        ui.input(|input| (input.zoom_delta(), input.smooth_scroll_delta(), input.pointer.hover_pos()));
    if !hovered {
        return;
    }
    let factor = if pinch == 1.0 { (wheel.y / 240.0).exp() } else { pinch };
    if factor != 1.0 {
        zoom(camera, factor, finger.unwrap_or(area.center()) - area.center());
    }
}

/// Changes the zoom about a point given from the canvas's middle, which stays where it is.
fn zoom(camera: &mut Camera, factor: f32, about: Vec2) {
    let before = camera.zoom;
    camera.zoom = (camera.zoom * factor).clamp(0.5, 12.0);
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
        crate::widgets::type_setting::boxed(ui, place, sheet.field, Stroke::new(1.5, sheet.ink), &response);
        if word.is_empty() {
            fit_face(ui.painter(), place, sheet);
        } else {
            line(
                ui.painter(),
                place.center(),
                Align2::CENTER_CENTER,
                word,
                theme::strong(26.0),
                sheet.ink,
                place.width(),
            );
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
    let bar = scale_bar_mm(f64::from(120.0 / map.scale));
    let length = to_f32(bar) * map.scale;
    let (left, y) = (foot.left() + 8.0, foot.top() + 20.0);
    painter.hline(left..=left + length, y, sheet.thick());
    for x in [left, left + length] {
        painter.vline(x, y - 5.0..=y + 5.0, sheet.thick());
    }
    line(&painter, pos2(left, y + 8.0), Align2::LEFT_TOP, "0", theme::font(theme::LABEL), sheet.soft, 20.0);
    line(
        &painter,
        pos2(left + length, y + 8.0),
        Align2::CENTER_TOP,
        &length_text(bar),
        theme::font(theme::LABEL),
        sheet.soft,
        60.0,
    );
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

/// A round length (1, 2 or 5 times a power of ten millimetres) no longer than `most`.
fn scale_bar_mm(most: f64) -> f64 {
    let power = 10_f64.powf(most.max(1.0).log10().floor());
    [5.0, 2.0, 1.0].into_iter().map(|n| n * power).find(|length| *length <= most).unwrap_or(power)
}

fn length_text(mm: f64) -> String {
    if mm >= 1000.0 { format!("{:.0} m", mm / 1000.0) } else { format!("{mm:.0} mm") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{headless, widgets::samples::sample_plan};

    #[test]
    fn the_whole_plan_fits_and_north_is_up() {
        let view = sample_plan();
        let area = Rect::from_min_size(pos2(0.0, 0.0), vec2(500.0, 400.0));
        let map = Map::new(&view, area, Camera::default());
        for point in &view.points {
            assert!(area.contains(map.place(point.at)), "{}", point.name);
        }
        assert!(map.place([0.0, 1000.0]).y < map.place([0.0, 0.0]).y);
    }

    #[test]
    fn scale_bars_are_round_lengths() {
        for (most, expected) in [
            (1200.0, 1000.0),
            (2100.0, 2000.0),
            (4999.0, 2000.0),
            (5000.0, 5000.0),
            (999.0, 500.0),
            (1.0, 1.0),
        ] {
            assert!((scale_bar_mm(most) - expected).abs() < 1e-6, "{most}");
        }
    }

    #[test]
    fn zooming_keeps_the_point_under_the_finger() {
        let view = sample_plan();
        let area = Rect::from_min_size(pos2(0.0, 0.0), vec2(500.0, 400.0));
        let mut camera = Camera::default();
        let at = view.points[3].at;
        let before = Map::new(&view, area, camera).place(at);
        zoom(&mut camera, 2.5, before - area.center());
        let after = Map::new(&view, area, camera).place(at);
        assert!(before.distance(after) < 0.01, "{before:?} → {after:?}");
    }

    #[test]
    fn a_tapped_point_gives_back_its_name() {
        use egui_kittest::kittest::Queryable as _;
        let mut harness = headless::harness(
            vec2(700.0, 600.0),
            |ui, state: &mut (Camera, Option<String>)| {
                if let Some(name) = plan_ui(ui, &sample_plan(), &mut state.0) {
                    state.1 = Some(name);
                }
            },
            (Camera::default(), None),
        );
        harness.get_by_label_contains("point B5").click();
        harness.run();
        assert_eq!(harness.state().1.as_deref(), Some("B5"));
    }

    #[test]
    fn the_nearest_of_two_close_points_is_meant() {
        let view = sample_plan();
        let map = Map::new(&view, Rect::from_min_size(pos2(0.0, 0.0), vec2(500.0, 400.0)), Camera::default());
        for point in &view.points {
            let finger = map.place(point.at) + vec2(2.0, -3.0);
            assert_eq!(nearest(&view, &map, finger), Some(point.name.as_str()));
        }
        assert_eq!(nearest(&view, &map, pos2(-500.0, -500.0)), None);
    }
}
