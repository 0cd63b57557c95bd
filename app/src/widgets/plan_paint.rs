//! Ink for the plan: walls, beams, vents, services, membranes, offsets and reading points. Takes the
//! view and the way from its millimetres to the screen; decides nothing.

use egui::{Align2, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Vec2, vec2};

use crate::{
    theme::{self, Sheet},
    widgets::{
        hatch,
        plan::{Camera, MARGIN, MARK, Place, PlanPoint, PlanView, PlanWall},
        type_setting::patched,
        verdict_mark::{self, Mark},
    },
};

/// The way from the plan's millimetres to the screen.
pub(super) struct Map {
    /// Points per millimetre.
    pub scale: f32,
    middle: Place,
    centre: Pos2,
}

impl Map {
    pub(super) fn new(view: &PlanView, area: Rect, camera: Camera) -> Self {
        let mut low = [f64::INFINITY; 2];
        let mut high = [f64::NEG_INFINITY; 2];
        let ends = view.walls.iter().flat_map(|wall| [wall.from, wall.to]);
        for place in ends.chain(view.points.iter().map(|point| point.at)) {
            for axis in 0..2 {
                low[axis] = low[axis].min(place[axis]);
                high[axis] = high[axis].max(place[axis]);
            }
        }
        if !(low[0].is_finite() && high[0].is_finite()) {
            (low, high) = ([0.0, 0.0], [10_000.0, 10_000.0]);
        }
        let size = [(high[0] - low[0]).max(1000.0), (high[1] - low[1]).max(1000.0)];
        let room = area.shrink(MARGIN).size().max(Vec2::splat(40.0));
        let fit = (f64::from(room.x) / size[0]).min(f64::from(room.y) / size[1]);
        Self {
            scale: to_f32(fit) * camera.zoom,
            middle: [f64::midpoint(low[0], high[0]), f64::midpoint(low[1], high[1])],
            centre: area.center() + camera.shift,
        }
    }

    pub(super) fn place(&self, at: Place) -> Pos2 {
        self.centre + self.direction([at[0] - self.middle[0], at[1] - self.middle[1]])
    }

    fn direction(&self, by: Place) -> Vec2 {
        vec2(to_f32(by[0]), -to_f32(by[1])) * self.scale
    }
}

/// Draws everything.
pub(super) fn draw(painter: &Painter, view: &PlanView, map: &Map, sheet: &Sheet) {
    for membrane in &view.membranes {
        let polygon: Vec<Pos2> = membrane.iter().map(|at| map.place(*at)).collect();
        for segment in hatch::parallels(&polygon, vec2(1.0, 1.0), 14.0) {
            painter.line_segment(segment, sheet.hairline());
        }
        let mut closed = polygon.clone();
        closed.extend(polygon.first());
        painter.extend(Shape::dashed_line(&closed, Stroke::new(theme::THICK + 1.0, sheet.ink), 12.0, 5.0));
    }
    for [from, to] in &view.beams {
        let ends = [map.place(*from), map.place(*to)];
        painter.extend(Shape::dashed_line(&ends, sheet.hairline(), 18.0, 5.0));
    }
    walls(painter, view, map, sheet);
    for vent in &view.vents {
        vent_face(painter, map.place(*vent), sheet);
    }
    for service in &view.services {
        let route: Vec<Pos2> = service.route.iter().map(|at| map.place(*at)).collect();
        painter.add(Shape::line(route.clone(), Stroke::new(6.0, sheet.warn)));
        painter.extend(Shape::dashed_line(&route, sheet.thick(), 14.0, 6.0));
        if let Some(end) = route.last() {
            patched(
                painter,
                *end + vec2(8.0, -10.0),
                Align2::LEFT_BOTTOM,
                &service.name,
                theme::font(theme::LABEL),
                (sheet.ink, sheet.paper),
                120.0,
            );
        }
    }
    for point in &view.points {
        offset(painter, point, view, map, sheet);
    }
    for point in &view.points {
        mark(painter, point, view, map, sheet);
    }
}

/// Walls: inked outlines first, then the fill over them, so that corners and junctions join.
fn walls(painter: &Painter, view: &PlanView, map: &Map, sheet: &Sheet) {
    let quads: Vec<[Pos2; 4]> = view.walls.iter().map(|wall| quad(wall, map, 0.0)).collect();
    for wall in &view.walls {
        painter.add(Shape::convex_polygon(quad(wall, map, theme::THICK).to_vec(), sheet.ink, Stroke::NONE));
    }
    for corners in &quads {
        painter.add(Shape::convex_polygon(corners.to_vec(), sheet.band, Stroke::NONE));
    }
    for corners in &quads {
        for segment in hatch::parallels(corners, vec2(1.0, -1.0), 7.0) {
            painter.line_segment(segment, sheet.hairline());
        }
    }
    for wall in view.walls.iter().filter(|wall| !wall.name.is_empty()) {
        let (a, b) = (map.place(wall.from), map.place(wall.to));
        let middle = a + (b - a) * 0.42;
        let along = (b - a).normalized();
        let side = vec2(-along.y, along.x);
        let inwards = if side.dot(map.centre - middle) >= 0.0 { side } else { -side };
        let off = inwards * (to_f32(wall.thickness) * map.scale / 2.0 + 20.0);
        patched(
            painter,
            middle + off,
            Align2::CENTER_CENTER,
            &wall.name,
            theme::strong(theme::BODY),
            (sheet.soft, sheet.paper),
            90.0,
        );
    }
}

fn quad(wall: &PlanWall, map: &Map, more: f32) -> [Pos2; 4] {
    let (a, b) = (map.place(wall.from), map.place(wall.to));
    let half = (to_f32(wall.thickness) * map.scale / 2.0).max(3.0) + more;
    let along = (b - a).normalized() * half;
    let side = vec2(-along.y, along.x);
    let (a, b) = (a - along, b + along);
    [a + side, b + side, b - side, a - side]
}

fn vent_face(painter: &Painter, at: Pos2, sheet: &Sheet) {
    let face = Rect::from_center_size(at, Vec2::splat(11.0));
    painter.rect(face, 0.0, sheet.paper, sheet.thin(), StrokeKind::Inside);
    painter.line_segment([face.left_bottom(), face.right_top()], sheet.thin());
    painter.line_segment([face.left_top(), face.right_bottom()], sheet.thin());
}

fn offset(painter: &Painter, point: &PlanPoint, view: &PlanView, map: &Map, sheet: &Sheet) {
    let Some(deviation) = point.deviation else { return };
    let at = map.place(point.at);
    let length = f64::hypot(point.outward[0], point.outward[1]).max(1e-9);
    let unit = [point.outward[0] / length, point.outward[1] / length];
    let reach = deviation * view.exaggeration;
    let tip = at + map.direction([unit[0] * reach, unit[1] * reach]);
    painter.line_segment([at, tip], Stroke::new(5.0, sheet.ink));
    painter.line_segment([at, tip], Stroke::new(3.0, point.mark.fill(sheet)));
    let along = (tip - at).normalized();
    let side = vec2(-along.y, along.x) * 5.0;
    painter.line_segment([tip - side, tip + side], sheet.thick());
    if !matches!(point.mark, Mark::Conforming | Mark::NotYet | Mark::Owed) && !point.text.is_empty() {
        let outwards = map.direction(unit).normalized();
        let from = if deviation > 0.0 { tip } else { at };
        let place = from + outwards * 22.0;
        patched(
            painter,
            place,
            Align2::CENTER_CENTER,
            &point.text,
            theme::strong(theme::VALUE),
            (sheet.ink, sheet.paper),
            80.0,
        );
    }
}

fn mark(painter: &Painter, point: &PlanPoint, view: &PlanView, map: &Map, sheet: &Sheet) {
    let at = map.place(point.at);
    let current = view.current.as_deref() == Some(point.name.as_str());
    if current {
        verdict_mark::ring(painter, at, MARK + 4.0, sheet);
    } else {
        painter.circle_filled(at, MARK / 2.0, sheet.paper);
    }
    verdict_mark::paint(painter, at, MARK, point.mark, sheet);
    if current {
        let away = map.direction(point.outward).normalized() * 34.0;
        patched(
            painter,
            at + away,
            Align2::CENTER_CENTER,
            &point.name,
            theme::strong(theme::VALUE),
            (sheet.ink, sheet.paper),
            90.0,
        );
    }
}

/// Millimetres of one floor as points of a screen.
#[expect(clippy::cast_possible_truncation, reason = "only for drawing")]
pub(super) fn to_f32(mm: f64) -> f32 {
    mm as f32
}
