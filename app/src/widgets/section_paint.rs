//! Ink for the section: ground, walls, layers, beams, levels, dimensions and leaders, by the line
//! weights and hatching of drafting convention. Takes a worked-out [`Layout`]; decides
//! nothing. The floor's layers are drawn by [`super::section_layers`].

use egui::{Align2, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Vec2, pos2, vec2};

use crate::{
    theme::{self, Sheet},
    widgets::{
        hatch::{self, Material, corners},
        section::{Build, Form, MARK, Pipe, SectionView, Vent, Wall},
        section_layout::Layout,
        type_setting::{galley, line, patched},
        verdict_mark,
    },
};

/// Draws everything but the marks themselves, which are controls.
pub fn paint(painter: &Painter, view: &SectionView, layout: &Layout, sheet: &Sheet) {
    let pen = Pen { painter, layout, sheet };
    pen.ground(view);
    pen.wall(view);
    pen.vent(view);
    for layer in &view.layers {
        pen.layer(view, layer);
    }
    pen.drawn_tops(view);
    pen.heaviest(view);
    pen.pipe(view);
    pen.breaks(view);
    pen.levels(view);
    pen.leaders(view);
    pen.void(view);
    pen.names(view);
    pen.scale_bar();
}

/// What everything on the section is drawn with.
pub(super) struct Pen<'a> {
    /// Clipped to the drawing.
    pub painter: &'a Painter,
    /// Where everything stands.
    pub layout: &'a Layout,
    /// The colours.
    pub sheet: &'a Sheet,
}

impl Pen<'_> {
    fn ground(&self, view: &SectionView) {
        let (l, sheet) = (self.layout, self.sheet);
        let (_, bottom) = l.levels();
        let under = l.rect(self.wall_inner_start(view), l.across_end, view.ground, bottom);
        hatch::fill_rect(self.painter, under.with_min_x(l.x(l.inner_face)), Material::Fill, sheet);
        self.painter.hline(l.x(l.inner_face)..=under.right(), under.top(), sheet.thick());
        if let Some(outside) = view.outside {
            let earth = Rect::from_min_max(pos2(l.area.left(), l.y(outside)), pos2(l.x(0.0), l.y(bottom)));
            hatch::fill_rect(self.painter, earth, Material::Ground, sheet);
            self.painter.hline(earth.x_range(), earth.top(), sheet.extra());
        }
    }

    /// Where the inner leaf begins, in millimetres from the wall's outer face.
    fn wall_inner_start(&self, view: &SectionView) -> f64 {
        match view.wall {
            Wall::Cavity { inner, .. } => self.layout.inner_face - inner,
            Wall::Solid { .. } => 0.0,
        }
    }

    fn wall(&self, view: &SectionView) {
        let l = self.layout;
        let (top, bottom) = l.levels();
        let beam_top = view
            .layers
            .iter()
            .find(|layer| matches!(layer.form, Form::Beams { .. }))
            .map_or(view.bearing, |layer| layer.top);
        let inner = self.wall_inner_start(view);
        self.leaf(l.rect(inner, l.inner_face, view.bearing, bottom), false);
        self.leaf(l.rect(inner, l.inner_face, top, beam_top), true);
        // What the beam's end leaves of the leaf's thickness is made up level with it.
        let end = l.inner_face - view.bearing_length;
        if end > inner + 1.0 {
            self.leaf(l.rect(inner, end, beam_top, view.bearing), false);
        }
        if let Wall::Cavity { outer, .. } = view.wall {
            self.leaf(l.rect(0.0, outer, top, bottom), true);
            self.dpc(0.0, outer, view.bearing);
        }
        self.dpc(inner, l.inner_face, view.bearing);
    }

    /// A course that keeps damp out: the heaviest line on the drawing, a little beyond the faces.
    fn dpc(&self, left: f64, right: f64, level: f64) {
        let l = self.layout;
        self.painter.hline(l.x(left) - 3.0..=l.x(right) + 3.0, l.y(level), self.sheet.extra());
    }

    fn leaf(&self, rect: Rect, broken_above: bool) {
        hatch::fill_rect(self.painter, rect, Material::Masonry, self.sheet);
        self.painter.vline(rect.left(), rect.y_range(), self.sheet.thick());
        self.painter.vline(rect.right(), rect.y_range(), self.sheet.thick());
        if broken_above {
            self.break_line(rect.left_top() - vec2(6.0, 0.0), rect.right_top() + vec2(6.0, 0.0));
        } else {
            self.painter.hline(rect.x_range(), rect.top(), self.sheet.thick());
        }
    }

    fn vent(&self, view: &SectionView) {
        let Some(Vent { outside, inside, height, build }) = view.vent else {
            return;
        };
        let l = self.layout;
        let half = height / 2.0;
        let polygon = match view.wall {
            Wall::Cavity { outer, cavity, .. } => {
                // Cranked: in at the outer leaf, down through the cavity, out under the floor.
                let (a, b) = (outer + cavity * 0.12, outer + cavity * 0.88);
                vec![
                    l.at(-6.0, outside + half),
                    l.at(b, outside + half),
                    l.at(b, inside + half),
                    l.at(l.inner_face + 4.0, inside + half),
                    l.at(l.inner_face + 4.0, inside - half),
                    l.at(a, inside - half),
                    l.at(a, outside - half),
                    l.at(-6.0, outside - half),
                ]
            }
            Wall::Solid { .. } => {
                corners(l.rect(-6.0, l.inner_face + 4.0, inside + half, inside - half)).to_vec()
            }
        };
        // Two convex parts are enough to wipe the wall's hatching from the sleeve.
        for part in convex_parts(&polygon) {
            self.painter.add(Shape::convex_polygon(part, self.ground_of(build), Stroke::NONE));
        }
        self.outline(&polygon, build);
        let grille = l.rect(-6.0, 0.0, outside + half, outside - half);
        for share in [0.25, 0.5, 0.75] {
            let y = grille.top() + grille.height() * share;
            self.painter.hline(grille.x_range(), y, self.sheet.thin());
        }
    }

    fn ground_of(&self, build: Build) -> egui::Color32 {
        match build {
            Build::Ahead | Build::Proved => self.sheet.paper,
            Build::Here => self.sheet.next,
            Build::Unproved => self.sheet.warn,
        }
    }

    pub(super) fn outline(&self, polygon: &[Pos2], build: Build) {
        let stroke = match build {
            Build::Ahead => {
                let mut closed = polygon.to_vec();
                closed.extend(polygon.first());
                self.painter.extend(Shape::dashed_line(&closed, self.sheet.hairline(), 7.0, 4.0));
                return;
            }
            Build::Here => self.sheet.extra(),
            Build::Proved | Build::Unproved => self.sheet.thick(),
        };
        self.painter.add(Shape::closed_line(polygon.to_vec(), stroke));
    }

    /// The layer being worked on, framed heaviest over everything that touches it.
    fn heaviest(&self, view: &SectionView) {
        let (l, sheet) = (self.layout, self.sheet);
        for layer in view.layers.iter().filter(|layer| layer.build == Build::Here) {
            if layer.form == Form::Sheet {
                let y = l.y(layer.top);
                self.painter.hline(l.x(l.inner_face)..=l.x(l.across_end), y, Stroke::new(9.0, sheet.next));
                self.membrane(layer);
                continue;
            }
            let left = if matches!(layer.form, Form::Beams { .. }) {
                l.inner_face - view.bearing_length
            } else {
                l.inner_face + 8.0
            };
            let whole = l.rect(left, l.across_end, layer.top, layer.bottom);
            for y in [whole.top(), whole.bottom()] {
                self.painter.hline(whole.x_range(), y, Stroke::new(theme::EXTRA + 3.0, sheet.ink));
                self.painter.hline(whole.x_range().shrink(1.5), y, Stroke::new(theme::EXTRA, sheet.next));
            }
        }
    }

    fn pipe(&self, view: &SectionView) {
        let Some(Pipe { at, diameter, build }) = view.pipe else {
            return;
        };
        let (l, sheet) = (self.layout, self.sheet);
        let centre = l.at(l.across_start + (l.across_end - l.across_start) * 0.14, at);
        let radius = (crate::widgets::plan_paint::to_f32(diameter) * l.scale / 2.0).max(5.0);
        if build == Build::Ahead {
            self.painter.circle_filled(centre, radius, sheet.paper);
            self.outline(&circle(centre, radius), Build::Ahead);
        } else {
            self.painter.circle(centre, radius, self.ground_of(build), sheet.thick());
            self.painter.circle(centre, radius * 0.5, sheet.paper, sheet.thin());
        }
        if (l.across_end - l.across_start) * f64::from(l.scale) > 190.0 {
            patched(
                self.painter,
                centre + vec2(radius + 9.0, 0.0),
                Align2::LEFT_CENTER,
                "gas",
                theme::font(13.0),
                (sheet.ink, sheet.paper),
                40.0,
            );
        }
    }

    fn breaks(&self, view: &SectionView) {
        let l = self.layout;
        let (top, _) = l.levels();
        let highest = view.layers.iter().map(|layer| layer.top).fold(view.bearing, f64::max);
        let lowest = view.void.as_ref().map_or(view.bearing, |void| void.top);
        let (above, below) = (l.y(highest.min(top)) - 10.0, l.y(lowest) + 10.0);
        for x in [l.along_end, l.across_start] {
            self.break_line(pos2(l.x(x), above), pos2(l.x(x), below));
        }
        let end = l.x(l.across_end);
        self.break_line(pos2(end, above), pos2(end, below));
        let (_, bottom) = l.levels();
        self.break_line(pos2(end, l.y(view.ground) - 8.0), pos2(end, l.y(bottom)));
        let foot = l.y(bottom);
        let from = if view.outside.is_some() { l.area.left() } else { l.x(0.0) };
        self.break_line(pos2(from, foot), pos2(end, foot));
    }

    /// A thin line with a zigzag in the middle: the drawing goes on.
    fn break_line(&self, from: Pos2, to: Pos2) {
        let along = (to - from).normalized();
        let side = vec2(-along.y, along.x) * 6.0;
        let middle = from + (to - from) * 0.5;
        let points = vec![
            from,
            middle - along * 6.0,
            middle - along * 2.0 + side,
            middle + along * 2.0 - side,
            middle + along * 6.0,
            to,
        ];
        self.painter.add(Shape::line(points, self.sheet.thin()));
    }

    fn void(&self, view: &SectionView) {
        let Some(void) = &view.void else { return };
        let (l, sheet) = (self.layout, self.sheet);
        let x = l.x(l.along_end - (l.along_end - l.inner_face) * 0.22);
        let (top, bottom) = (l.y(void.top), l.y(view.ground));
        self.dimension(pos2(x, top), pos2(x, bottom));
        let middle = pos2(x + 14.0, top + (bottom - top) * 0.68);
        let room = l.x(l.across_end) - middle.x - 6.0;
        let font = theme::strong(theme::BODY);
        let width = galley(self.painter, &void.text, font.clone(), sheet.ink, f32::INFINITY, 1).size().x;
        // Where the drawing is small the mark gives way: the same mark stands at the leader's end.
        let mark = void.mark.filter(|_| width + 26.0 <= room);
        let left = middle.x + if mark.is_some() { 26.0 } else { 0.0 };
        if let Some(mark) = mark {
            verdict_mark::paint(self.painter, middle + vec2(10.0, 0.0), 20.0, mark, sheet);
        }
        let at = pos2(left, middle.y);
        patched(self.painter, at, Align2::LEFT_CENTER, &void.text, font, (sheet.ink, sheet.paper), room);
    }

    /// A dimension line with arrowheads at both ends.
    fn dimension(&self, from: Pos2, to: Pos2) {
        self.painter.line_segment([from, to], self.sheet.thin());
        let along = (to - from).normalized();
        let side = vec2(-along.y, along.x) * 3.2;
        for (tip, back) in [(from, along * 11.0), (to, -along * 11.0)] {
            self.painter.add(Shape::convex_polygon(
                vec![tip, tip + back + side, tip + back - side],
                self.sheet.ink,
                Stroke::NONE,
            ));
        }
    }

    fn levels(&self, view: &SectionView) {
        let (l, sheet) = (self.layout, self.sheet);
        let left = l.area.left() + 2.0;
        let elbow = l.drawing.left() - 16.0;
        for (tag, y) in view.levels.iter().zip(&l.tags) {
            let (true_y, y) = (l.y(tag.at), *y);
            let tip = pos2(left + 9.0, y);
            self.painter.add(Shape::convex_polygon(
                vec![tip, tip + vec2(-7.0, -12.0), tip + vec2(7.0, -12.0)],
                sheet.ink,
                Stroke::NONE,
            ));
            let text = Rect::from_min_max(pos2(left + 20.0, y - 36.0), pos2(l.drawing.left() - 5.0, y - 2.0));
            let buried = view.outside.is_some_and(|outside| y > l.y(outside) + 2.0);
            if buried {
                self.painter.rect_filled(text.expand2(vec2(2.0, 0.0)), 0.0, sheet.paper);
            }
            line(
                self.painter,
                text.left_top(),
                Align2::LEFT_TOP,
                &tag.name,
                theme::font(13.0),
                sheet.soft,
                text.width(),
            );
            line(
                self.painter,
                text.left_bottom() - vec2(0.0, 1.0),
                Align2::LEFT_BOTTOM,
                &tag.value,
                theme::strong(17.0),
                sheet.ink,
                text.width(),
            );
            let reach = self.reach(view, tag.at);
            self.painter.add(Shape::line(
                vec![
                    pos2(left, y),
                    pos2(elbow, y),
                    pos2(l.drawing.left() - 4.0, true_y),
                    pos2(reach, true_y),
                ],
                sheet.thin(),
            ));
        }
    }

    /// How far right a level's line runs: to the wall for what is outside, to the floor otherwise.
    fn reach(&self, view: &SectionView, level: f64) -> f32 {
        let l = self.layout;
        let inside = view
            .layers
            .iter()
            .any(|layer| (layer.top - level).abs() < 1e-6 || (layer.bottom - level).abs() < 1e-6)
            || (view.ground - level).abs() < 1e-6;
        if inside { l.x(l.inner_face) } else { l.x(0.0) }
    }

    fn leaders(&self, view: &SectionView) {
        let (l, sheet) = (self.layout, self.sheet);
        for (zone, row) in view.zones.iter().zip(&l.rows) {
            if zone.doors.is_empty() {
                continue;
            }
            let next = zone.doors.iter().any(|door| door.next);
            // What calls for somebody is led to in ink as well; the next one keeps the heaviest line.
            let stroke = if next {
                Stroke::new(theme::THICK + 0.5, sheet.ink)
            } else if zone.doors.iter().any(|door| door.mark.is_trouble()) {
                sheet.thick()
            } else {
                sheet.hairline()
            };
            let edge = pos2(l.x(l.across_end) + 8.0, row.foot.y);
            let head = row.place.left_center();
            let end = head + vec2((theme::TOUCH - MARK) / 2.0 - if next { 6.0 } else { 0.0 }, 0.0);
            let elbow = head - vec2(6.0, 0.0);
            self.painter.add(Shape::line(vec![row.foot, edge, elbow, end], stroke));
            self.painter.circle_filled(row.foot, if next { 4.5 } else { 3.0 }, sheet.ink);
        }
    }

    fn scale_bar(&self) {
        let (l, sheet) = (self.layout, self.sheet);
        let (_, bottom) = l.levels();
        let foot = l.y(bottom) + 16.0;
        if foot + 20.0 > l.area.bottom() {
            return;
        }
        let left = l.x(l.inner_face);
        let part = 100.0 * l.scale;
        for n in [0.0_f32, 1.0, 2.0] {
            let cell = Rect::from_min_size(pos2(left + part * n, foot), Vec2::new(part, 5.0));
            self.painter.rect_filled(cell, 0.0, if n == 1.0 { sheet.paper } else { sheet.ink });
            self.painter.rect_stroke(cell, 0.0, sheet.thin(), StrokeKind::Inside);
        }
        line(
            self.painter,
            pos2(left + part * 3.0 + 8.0, foot + 2.0),
            Align2::LEFT_CENTER,
            "300 mm",
            theme::font(13.0),
            sheet.soft,
            80.0,
        );
    }
}

fn circle(centre: Pos2, radius: f32) -> Vec<Pos2> {
    (0..24_u8)
        .map(|step| {
            let angle = std::f32::consts::TAU * f32::from(step) / 24.0;
            centre + vec2(angle.cos(), angle.sin()) * radius
        })
        .collect()
}

/// The sleeve's polygon cut into rectangles: three for a cranked one, itself for a straight one.
fn convex_parts(polygon: &[Pos2]) -> Vec<Vec<Pos2>> {
    let [a, b, _, d, e, f, _, h] = polygon else {
        return vec![polygon.to_vec()];
    };
    vec![
        corners(Rect::from_two_pos(*a, pos2(b.x, h.y))).to_vec(),
        corners(Rect::from_two_pos(pos2(f.x, a.y), pos2(b.x, e.y))).to_vec(),
        corners(Rect::from_two_pos(pos2(f.x, d.y), *e)).to_vec(),
    ]
}
