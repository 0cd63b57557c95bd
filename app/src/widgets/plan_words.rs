//! Words on the plan: each stands where nothing else does, or not at all. What must be read first is placed first:
//! the point that is up, walls with their mark, points that call for somebody, pipes, then the names of all points.

use egui::{Align2, FontId, Painter, Pos2, Rect, Vec2, pos2, vec2};
use gaugerod_core::plan_drawing::labels::{self, Block, Room};
use gaugerod_core::plan_drawing::{Contour, Place, Point, Straightedge, Wall, deviation_text};

use crate::{
    theme::{self, Sheet},
    widgets::{
        plan::PlanView,
        plan_paint::Map,
        type_setting::galley,
        verdict_mark::{self, Mark},
    },
};

/// Points closer together than this get no names of their own, in points.
const NAMED_APART: f32 = 13.0;
/// Side of a mark before the name of a wall.
const WALL_MARK: f32 = 18.0;

/// Draws the words, keeping off what is `kept`; gives back where walls are named and marked.
pub(super) fn draw(
    painter: &Painter,
    view: &PlanView,
    map: &Map,
    kept: impl Iterator<Item = Rect>,
    area: Rect,
    sheet: &Sheet,
) -> Vec<(String, Rect, Option<Mark>)> {
    let drawing = &view.drawing;
    let mark = map.mark_size(drawing);
    let mut words = Words { painter, map, sheet, area, room: Room::new(block(area.shrink(2.0))) };
    kept.for_each(|rect| words.room.take(block(rect)));
    for point in &drawing.points {
        let at = map.place(point.at);
        if !area.contains(at) {
            continue;
        }
        words.room.take(block(Rect::from_center_size(at, Vec2::splat(mark))));
        if let Some(tip) = drawing.tip(point) {
            words.room.take(block(Rect::from_two_pos(at, map.place(tip)).expand(3.0)));
        }
    }
    for wall in &drawing.walls {
        let corners = map.corners(wall);
        let upright = (corners[0] - corners[1]).x.abs() < 0.5 || (corners[0] - corners[1]).y.abs() < 0.5;
        if upright {
            words.room.take(block(Rect::from_points(&corners).intersect(area)));
        }
    }
    for pair in drawing.services.iter().flat_map(|service| service.route.windows(2)) {
        let [from, to] = [pair[0], pair[1]].map(|at| place(map.place(at).to_vec2()));
        for block in labels::along(from, to, 8.0) {
            words.room.take(block);
        }
    }
    let current = view.current.as_ref().and_then(|name| drawing.point(name)).map(|(_, point)| point);
    if let Some(point) = current {
        words.point(point, theme::strong(theme::VALUE), 16.0);
    }
    if let Some(own) = &drawing.straightedge {
        words.straightedge(own);
    }
    let others = || drawing.points.iter().filter(|point| view.current.as_ref() != Some(&point.name));
    let walls = drawing.walls.iter().filter_map(|wall| words.wall(wall)).collect();
    for point in others().filter(|point| point.standing.is_trouble()) {
        words.point(point, theme::strong(theme::VALUE), 4.0);
    }
    for service in &drawing.services {
        let route: Vec<Pos2> = service.route.iter().map(|at| map.place(*at)).collect();
        words.service(&route, service.name.as_str());
    }
    if let Some(contours) = &drawing.contours {
        for contour in &contours.lines {
            words.contour(contour, &contours.label(contour));
        }
    }
    if mark >= NAMED_APART {
        for point in others().filter(|point| !point.standing.is_trouble()) {
            words.point(point, theme::font(theme::LABEL), 2.0);
        }
    }
    walls
}

struct Words<'a> {
    painter: &'a Painter,
    map: &'a Map,
    sheet: &'a Sheet,
    area: Rect,
    room: Room,
}

impl Words<'_> {
    /// The name of a point with its deviation, outwards if there is room, else inwards or aside.
    fn point(&mut self, point: &Point, font: FontId, gap: f32) {
        let at = self.map.place(point.at);
        if !self.area.contains(at) {
            return;
        }
        let text = match point.deviation {
            Some(deviation) => format!("{} {}", point.name, deviation_text(deviation)),
            None => point.name.to_string(),
        };
        let colour = if point.standing.is_trouble() || gap > 10.0 { self.sheet.ink } else { self.sheet.soft };
        let set = galley(self.painter, &text, font, colour, 160.0, 1);
        let out = self.map.direction(point.outward).normalized();
        let aside = vec2(-out.y, out.x);
        // Half the label's own size in the direction of the way out.
        let half = (out * set.size() / 2.0).length();
        let near = (0_u8..7).flat_map(|k| {
            let far = 10.0 + gap + half + f32::from(k) * 9.0;
            [1.0, -1.0].map(|way| at + out * far * way)
        });
        let beside =
            [1.0, -1.0].map(|way| at + aside * (12.0 + gap + (aside * set.size() / 2.0).length()) * way);
        let slanted = near.clone().flat_map(|spot| [24.0, -24.0, 44.0, -44.0].map(|by| spot + aside * by));
        let spots: Vec<Pos2> = near.chain(beside).chain(slanted).collect();
        self.place(set, colour, spots);
    }

    /// The gap under the straightedge, beside the place where it is.
    fn straightedge(&mut self, own: &Straightedge) {
        let ends = own.ends.map(|at| self.map.place(at));
        self.room.take(block(Rect::from_two_pos(ends[0], ends[1]).expand(5.0)));
        let text = format!("gap {} mm", own.gap.mm_text(1));
        let set = galley(self.painter, &text, theme::strong(theme::BODY), self.sheet.ink, 160.0, 1);
        let (at, half) = (self.map.place(own.at), set.size() / 2.0);
        let spots = (1_u8..5).flat_map(|far| {
            let far = 10.0 * f32::from(far);
            let (up, right) = (vec2(0.0, half.y + far), vec2(half.x + far, 0.0));
            [at - up, at + up, at + right, at - right, at - up + right, at + up - right]
        });
        let spots: Vec<Pos2> = spots.collect();
        self.place(set, self.sheet.ink, spots);
    }

    /// The value of a contour on its line, which it interrupts; short lines go without.
    fn contour(&mut self, contour: &Contour, text: &str) {
        let set = galley(self.painter, text, theme::font(theme::LABEL), self.sheet.soft, 60.0, 1);
        let long = crate::widgets::plan_paint::to_f32(contour.length()) * self.map.scale;
        if long < 3.0 * set.size().x {
            return;
        }
        let spots = [0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9].map(|share| self.map.place(contour.along(share)));
        self.place(set, self.sheet.soft, spots.to_vec());
    }

    /// The name of a wall with the mark of what was read on it.
    fn wall(&mut self, wall: &Wall) -> Option<(String, Rect, Option<Mark>)> {
        let name = wall.name.as_ref()?.to_string();
        let mark = wall.standing.map(Mark::from);
        let [a, b] = wall.line.map(|at| self.map.place(at));
        let along = (b - a).normalized();
        let side = vec2(-along.y, along.x);
        let off = crate::widgets::plan_paint::to_f32(wall.thickness) * self.map.scale / 2.0 + 20.0;
        let set = galley(self.painter, &name, theme::strong(theme::BODY), self.sheet.ink, 90.0, 1);
        let beside = if mark.is_some() { WALL_MARK + 4.0 } else { 0.0 };
        let size = set.size() + vec2(beside, 0.0);
        let spots = [0.42, 0.58, 0.3, 0.7, 0.16, 0.84].into_iter().flat_map(|share| {
            [-1.0, 1.0, -1.7, 1.7, -2.4, 2.4, -3.2, 3.2].map(|far| a + (b - a) * share + side * off * far)
        });
        let centre = self.room.place(place(size + vec2(10.0, 2.0)), spots.map(|at| place(at.to_vec2())))?;
        let rect = Rect::from_center_size(pos(centre), size);
        self.painter.rect_filled(rect.expand2(vec2(5.0, 1.0)), 0.0, self.sheet.paper);
        if let Some(mark) = mark {
            let at = pos2(rect.left() + WALL_MARK / 2.0, rect.center().y);
            verdict_mark::paint(self.painter, at, WALL_MARK, mark, self.sheet);
        }
        self.painter.galley(rect.min + vec2(beside, 0.0), set, self.sheet.ink);
        Some((name, rect, mark))
    }

    fn service(&mut self, route: &[Pos2], name: &str) {
        let set = galley(self.painter, name, theme::font(theme::LABEL), self.sheet.ink, 180.0, 1);
        let size = set.size();
        let spots = route.windows(2).rev().flat_map(|pair| {
            let middle = pair[0] + (pair[1] - pair[0]) / 2.0;
            let (up, right) = (vec2(0.0, size.y / 2.0 + 8.0), vec2(size.x / 2.0 + 12.0, 0.0));
            [-up, up, right, -right, -up * 2.0, up * 2.0].map(|by| middle + by)
        });
        let ends = route.iter().flat_map(|end| {
            let (up, right) = (vec2(0.0, size.y / 2.0 + 8.0), vec2(size.x / 2.0 + 12.0, 0.0));
            [up + right, right - up, up - right, -up - right].map(|by| *end + by)
        });
        let spots: Vec<Pos2> = spots.chain(ends).collect();
        self.place(set, self.sheet.ink, spots);
    }

    fn place(&mut self, set: std::sync::Arc<egui::Galley>, colour: egui::Color32, spots: Vec<Pos2>) {
        let size = set.size();
        let spots = spots.into_iter().map(|at| place(at.to_vec2()));
        if let Some(centre) = self.room.place(place(size + vec2(6.0, 0.0)), spots) {
            let rect = Align2::CENTER_CENTER.anchor_size(pos(centre), size);
            self.painter.rect_filled(rect.expand2(vec2(3.0, 0.0)), 0.0, self.sheet.paper);
            self.painter.galley(rect.min, set, colour);
        }
    }
}

fn place(at: Vec2) -> Place {
    [f64::from(at.x), f64::from(at.y)]
}

fn pos(at: Place) -> Pos2 {
    pos2(crate::widgets::plan_paint::to_f32(at[0]), crate::widgets::plan_paint::to_f32(at[1]))
}

fn block(rect: Rect) -> Block {
    [place(rect.min.to_vec2()), place(rect.max.to_vec2())]
}
