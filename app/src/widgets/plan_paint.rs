//! Ink for the plan: walls, beams, openings, services, membranes, offsets and reading points. Takes the drawing and
//! the way from its millimetres to the screen; decides nothing.

use egui::{Color32, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Vec2, vec2};
use gaugerod_core::conformity::Verdict;
use gaugerod_core::plan_drawing::{Drawing, Place, Point, Standing, Wall};

use crate::{
    theme::{self, Sheet},
    widgets::{
        camera::Camera,
        hatch,
        plan::{Behind, PlanView},
        verdict_mark::{self, Mark},
    },
};

/// Room around a plan that fits, for words and offsets: a share of the canvas, within these bounds in points.
const MARGIN: f32 = 0.11;
const MARGINS: (f32, f32) = (16.0, 44.0);
/// A mark at its usual size, and the smallest that can still be told from another, in points.
const MARK: f32 = 20.0;
const LEAST_MARK: f32 = 9.0;
/// Half of the thinnest that a wall is drawn, in points.
const LEAST_HALF_WALL: f32 = 3.0;

/// The way from the plan's millimetres to the screen.
pub(super) struct Map {
    /// Points per millimetre.
    pub scale: f32,
    middle: Place,
    centre: Pos2,
}

impl Map {
    pub(super) fn new(drawing: &Drawing, area: Rect, camera: Camera) -> Self {
        let [low, high] = drawing.bounds();
        let size = [(high[0] - low[0]).max(1000.0), (high[1] - low[1]).max(1000.0)];
        let margin = (area.size().min_elem() * MARGIN).clamp(MARGINS.0, MARGINS.1);
        let room = area.shrink(margin).size().max(Vec2::splat(40.0));
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

    /// The place on the plan of a place on the screen.
    pub(super) fn plan(&self, at: Pos2) -> Place {
        let by = (at - self.centre) / self.scale;
        [self.middle[0] + f64::from(by.x), self.middle[1] - f64::from(by.y)]
    }

    pub(super) fn direction(&self, by: Place) -> Vec2 {
        vec2(to_f32(by[0]), -to_f32(by[1])) * self.scale
    }

    /// The wall's corners on screen, never thinner than can be seen.
    pub(super) fn corners(&self, wall: &Wall) -> [Pos2; 4] {
        let half = to_f32(wall.thickness) * self.scale / 2.0;
        if half >= LEAST_HALF_WALL {
            return wall.corners().map(|at| self.place(at));
        }
        let [a, b] = wall.line.map(|at| self.place(at));
        let way = (b - a).normalized();
        // As much longer as the wall that it meets is wider.
        let along = way * (LEAST_HALF_WALL - half);
        let side = vec2(-way.y, way.x) * LEAST_HALF_WALL;
        [a - along + side, b + along + side, b + along - side, a - along - side]
    }

    /// Marks shrink where points lie close together.
    pub(super) fn mark_size(&self, drawing: &Drawing) -> f32 {
        let close = drawing.points.windows(2).filter(|pair| pair[0].line == pair[1].line);
        let close = close.map(|pair| (self.place(pair[0].at) - self.place(pair[1].at)).length());
        // Between contours marks leave room for the lines.
        let share = if drawing.contours.is_some() { 0.4 } else { 0.8 };
        (close.fold(f32::INFINITY, f32::min) * share).clamp(LEAST_MARK, MARK)
    }
}

/// Draws the plan without readings: what a place is chosen on.
pub(super) fn draw_bare(painter: &Painter, drawing: &Drawing, map: &Map, sheet: &Sheet) {
    walls(painter, drawing, map, sheet);
    let outline: Vec<Pos2> = drawing.outline.iter().map(|at| map.place(*at)).collect();
    painter.add(Shape::closed_line(outline, sheet.thin()));
    for vent in &drawing.vents {
        vent_face(painter, map.place(vent.at), sheet);
    }
}

/// A drawing behind the plan, in the sheet's own ink.
fn behind(painter: &Painter, behind: &Behind, map: &Map, sheet: &Sheet) {
    let mut mesh = egui::Mesh::with_texture(behind.texture);
    let colour = theme::mix_ink(sheet, behind.strength);
    for (corner, uv) in behind.corners.iter().zip([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]) {
        let (pos, uv) = (map.place(*corner), egui::pos2(uv.0, uv.1));
        mesh.vertices.push(egui::epaint::Vertex { pos, uv, color: colour });
    }
    mesh.add_triangle(0, 1, 2);
    mesh.add_triangle(0, 2, 3);
    painter.add(Shape::mesh(mesh));
}

/// Draws everything but words.
pub(super) fn draw(painter: &Painter, view: &PlanView, map: &Map, sheet: &Sheet) {
    let drawing = &view.drawing;
    if let Some(own) = &view.behind {
        behind(painter, own, map, sheet);
    }
    for membrane in &drawing.membranes {
        let polygon: Vec<Pos2> = membrane.iter().map(|at| map.place(*at)).collect();
        for segment in hatch::parallels(&polygon, vec2(1.0, 1.0), 14.0) {
            painter.line_segment(segment, sheet.hairline());
        }
        let mut closed = polygon.clone();
        closed.extend(polygon.first());
        painter.extend(Shape::dashed_line(&closed, Stroke::new(theme::THICK + 1.0, sheet.ink), 12.0, 5.0));
    }
    for beam in &drawing.beams {
        let ends = beam.map(|at| map.place(at));
        painter.extend(Shape::dashed_line(&ends, sheet.hairline(), 18.0, 5.0));
    }
    pop_ups(painter, drawing, map, sheet);
    walls(painter, drawing, map, sheet);
    for vent in &drawing.vents {
        vent_face(painter, map.place(vent.at), sheet);
    }
    // Escaping gas would be trapped here: heaviest of all, under the pipe's own line.
    for part in &drawing.trapped_gas {
        let route: Vec<Pos2> = part.iter().map(|at| map.place(*at)).collect();
        painter.add(Shape::line(route.clone(), Stroke::new(18.0, sheet.ink)));
        painter.add(Shape::line(route, Stroke::new(14.0, sheet.bad)));
    }
    for service in &drawing.services {
        let route: Vec<Pos2> = service.route.iter().map(|at| map.place(*at)).collect();
        painter.add(Shape::line(route.clone(), Stroke::new(6.0, sheet.warn)));
        painter.extend(Shape::dashed_line(&route, sheet.thick(), 14.0, 6.0));
    }
    finish(painter, drawing, map, sheet);
    let clip = painter.clip_rect().expand(MARK);
    let shown: Vec<&Point> = drawing.points.iter().filter(|one| clip.contains(map.place(one.at))).collect();
    for point in &shown {
        offset(painter, drawing, point, map, sheet);
    }
    let size = map.mark_size(drawing);
    let is_current = |point: &Point| view.current.as_ref() == Some(&point.name);
    // What calls for somebody lies on top, and the point that is up on top of all.
    let rank = |point: &Point| (is_current(point), point.standing.is_trouble());
    for wanted in [(false, false), (false, true), (true, false), (true, true)] {
        for point in shown.iter().filter(|point| rank(point) == wanted) {
            mark(painter, map.place(point.at), point, if wanted.0 { MARK } else { size }, wanted.0, sheet);
        }
    }
}

/// Contours of the finished topping, and the straightedge over its largest gap.
fn finish(painter: &Painter, drawing: &Drawing, map: &Map, sheet: &Sheet) {
    for contour in drawing.contours.iter().flat_map(|one| &one.lines) {
        let places: Vec<Pos2> = contour.places.iter().map(|at| map.place(*at)).collect();
        painter.add(Shape::line(places, Stroke::new(theme::THIN, sheet.soft)));
    }
    let Some(own) = &drawing.straightedge else { return };
    let ends = own.ends.map(|at| map.place(at));
    painter.line_segment(ends, Stroke::new(8.0, sheet.ink));
    painter.line_segment(ends, Stroke::new(5.0, Mark::from(own.standing).fill(sheet)));
    let along = (ends[1] - ends[0]).normalized();
    let side = vec2(-along.y, along.x) * 13.0;
    let at = map.place(own.at);
    painter.line_segment([at - side, at + side], sheet.extra());
}

/// Pop-ups among the beams: the place as drawn is a thin ring with its cross, the place as measured is filled with
/// what it comes to.
fn pop_ups(painter: &Painter, drawing: &Drawing, map: &Map, sheet: &Sheet) {
    for beam in &drawing.broad_beams {
        let corners = beam.map(|at| map.place(at)).to_vec();
        painter.add(Shape::convex_polygon(corners, sheet.band, sheet.thin()));
    }
    for one in &drawing.pop_ups {
        for way in one.measured_along {
            painter.extend(Shape::dashed_line(&way.map(|at| map.place(at)), sheet.hairline(), 6.0, 4.0));
        }
        let radius = to_f32(one.radius) * map.scale;
        let drawn = map.place(one.drawn);
        if let Some(found) = one.found {
            let fill = sheet.wash(Mark::from(one.standing).fill(sheet));
            painter.circle(map.place(found), radius, fill, sheet.thick());
        }
        painter.circle_stroke(drawn, radius, sheet.thin());
        for arm in [vec2(radius * 1.4, 0.0), vec2(0.0, radius * 1.4)] {
            painter.line_segment([drawn - arm, drawn + arm], sheet.hairline());
        }
    }
}

/// Walls: inked outlines first, then the fill over them, so that corners and junctions join. Their fill says how
/// what was read on them stands, and so does their hatching.
fn walls(painter: &Painter, drawing: &Drawing, map: &Map, sheet: &Sheet) {
    let quads: Vec<(&Wall, [Pos2; 4])> = drawing.walls.iter().map(|wall| (wall, map.corners(wall))).collect();
    let outline = Stroke::new(theme::THICK * 2.0, sheet.ink);
    for (_, corners) in &quads {
        painter.add(Shape::convex_polygon(corners.to_vec(), sheet.ink, outline));
    }
    for (wall, corners) in &quads {
        painter.add(Shape::convex_polygon(corners.to_vec(), fill_of(wall.standing, sheet), Stroke::NONE));
    }
    let clip = painter.clip_rect();
    for (wall, corners) in &quads {
        let (leans, spacing): (&[Vec2], f32) = match wall.standing {
            Some(Standing::Verdict(Verdict::Nonconforming)) => (&[vec2(1.0, -1.0), vec2(1.0, 1.0)], 7.0),
            Some(Standing::Verdict(Verdict::Undetermined)) => (&[vec2(1.0, 1.0)], 7.0),
            _ => (&[vec2(1.0, -1.0)], 10.0),
        };
        for lean in leans {
            for segment in hatch::parallels(corners, *lean, spacing) {
                if clip.intersects(Rect::from_two_pos(segment[0], segment[1])) {
                    painter.line_segment(segment, sheet.hairline());
                }
            }
        }
    }
}

fn fill_of(standing: Option<Standing>, sheet: &Sheet) -> Color32 {
    match standing.map(Mark::from) {
        None | Some(Mark::Owed | Mark::Ready) => sheet.band,
        Some(mark) => sheet.wash(mark.fill(sheet)),
    }
}

fn vent_face(painter: &Painter, at: Pos2, sheet: &Sheet) {
    let face = Rect::from_center_size(at, Vec2::splat(11.0));
    painter.rect(face, 0.0, sheet.paper, sheet.thin(), StrokeKind::Inside);
    painter.line_segment([face.left_bottom(), face.right_top()], sheet.thin());
    painter.line_segment([face.left_top(), face.right_bottom()], sheet.thin());
}

fn offset(painter: &Painter, drawing: &Drawing, point: &Point, map: &Map, sheet: &Sheet) {
    let Some(tip) = drawing.tip(point).filter(|tip| *tip != point.at) else { return };
    let (at, tip) = (map.place(point.at), map.place(tip));
    painter.line_segment([at, tip], Stroke::new(5.0, sheet.ink));
    painter.line_segment([at, tip], Stroke::new(3.0, Mark::from(point.standing).fill(sheet)));
    let along = (tip - at).normalized();
    let side = vec2(-along.y, along.x) * 5.0;
    painter.line_segment([tip - side, tip + side], sheet.thick());
}

fn mark(painter: &Painter, at: Pos2, point: &Point, size: f32, is_current: bool, sheet: &Sheet) {
    if is_current {
        verdict_mark::ring(painter, at, size + 4.0, sheet);
    } else {
        painter.circle_filled(at, size / 2.0, sheet.paper);
    }
    verdict_mark::paint(painter, at, size, point.standing.into(), sheet);
}

/// An arrow to north in a ring, with its letter.
pub(super) fn north(painter: &Painter, centre: Pos2, way: Place, sheet: &Sheet) {
    let way = vec2(to_f32(way[0]), -to_f32(way[1]));
    let side = way.rot90();
    let at = |far: f32, aside: f32| centre + way * far + side * aside;
    painter.circle(centre, 15.0, sheet.paper, sheet.thin());
    let dark = vec![at(15.0, 0.0), at(-10.0, 7.0), at(-5.0, 0.0)];
    painter.add(Shape::convex_polygon(dark, sheet.ink, sheet.thin()));
    painter.add(Shape::closed_line(vec![at(15.0, 0.0), at(-10.0, -7.0), at(-5.0, 0.0)], sheet.thin()));
    let (font, letter) = (theme::strong(theme::LABEL), at(22.0, 0.0));
    super::type_setting::line(painter, letter, egui::Align2::CENTER_CENTER, "N", font, sheet.ink, 20.0);
}

/// Millimetres of one floor as points of a screen.
#[expect(clippy::cast_possible_truncation, reason = "only for drawing")]
pub(super) fn to_f32(mm: f64) -> f32 {
    mm as f32
}
