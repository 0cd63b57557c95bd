//! Ink for the layers of the floor: slabs, membranes, and beams with their infill, cut along at the
//! left of the break and across at its right. The rest of the section is drawn by
//! [`super::section_paint`].

use egui::{Align2, Pos2, Rect, Shape, Stroke, StrokeKind, pos2, vec2};

use crate::{
    theme,
    widgets::{
        hatch::{self, Material, corners},
        section::{Build, Form, Layer, SectionView},
        section_paint::Pen,
        type_setting::patched,
        verdict_mark::{self, Mark},
    },
};

/// Share of a beam's foot that its web is wide.
const WEB: f64 = 0.56;
/// Share of a beam's depth at which the shoulders meet the web.
const SHOULDER: f64 = 0.44;
/// Share of a beam's depth at which the shoulders leave the foot.
const FOOT: f64 = 0.30;

impl Pen<'_> {
    pub(super) fn layer(&self, view: &SectionView, layer: &Layer) {
        match layer.form {
            Form::Slab(material) => self.slab(layer, material),
            Form::Sheet => self.membrane(layer),
            Form::Beams { width, infill, hang } => self.beams(view, layer, (width, infill, hang)),
        }
    }

    /// The layer's two pieces, either side of the break.
    fn pieces(&self, layer: &Layer) -> [Rect; 2] {
        let l = self.layout;
        let edge = l.inner_face + 8.0; // the perimeter strip
        [
            l.rect(edge, l.along_end, layer.top, layer.bottom),
            l.rect(l.across_start, l.across_end, layer.top, layer.bottom),
        ]
    }

    fn slab(&self, layer: &Layer, material: Material) {
        let sheet = self.sheet;
        for piece in self.pieces(layer) {
            match layer.build {
                Build::Ahead => {
                    self.painter.rect_filled(piece, 0.0, sheet.paper);
                    for y in [piece.top(), piece.bottom()] {
                        let ends = [pos2(piece.left(), y), pos2(piece.right(), y)];
                        self.painter.extend(Shape::dashed_line(&ends, sheet.hairline(), 8.0, 5.0));
                    }
                }
                Build::Unproved => hatch::warning_rect(self.painter, piece, sheet),
                Build::Here | Build::Proved => hatch::fill_rect(self.painter, piece, material, sheet),
            }
            if layer.build != Build::Ahead {
                self.painter.hline(piece.x_range(), piece.top(), sheet.thick());
                self.painter.hline(piece.x_range(), piece.bottom(), sheet.thick());
            }
        }
        if layer.build != Build::Ahead {
            let [first, _] = self.pieces(layer);
            self.painter.vline(first.left(), first.y_range(), sheet.thick());
        }
    }

    /// Where tops were drawn that were built at another level: a chain line (ISO 128), across the floor.
    pub(super) fn drawn_tops(&self, view: &SectionView) {
        for layer in &view.layers {
            let Some(top) = layer.drawn_top else { continue };
            for piece in self.pieces(layer) {
                let y = self.layout.y(top);
                let ends = [pos2(piece.left(), y), pos2(piece.right(), y)];
                let stroke = Stroke::new(theme::THICK, self.sheet.ink);
                self.painter.extend(Shape::dashed_line_with_offset(
                    &ends,
                    stroke,
                    &[12.0, 2.0],
                    &[3.0, 3.0],
                    0.0,
                ));
            }
        }
    }

    /// The layers' names, over everything that might cross them.
    pub(super) fn names(&self, view: &SectionView) {
        for layer in view.layers.iter().filter(|layer| layer.form != Form::Sheet) {
            let [_, piece] = self.pieces(layer);
            if piece.height() >= 17.0 {
                // Beside the beam and the gas pipe where there is room, else across the whole piece.
                let (share, room) = match layer.form {
                    Form::Beams { .. } if piece.width() > 190.0 => (0.74, 0.5),
                    _ if piece.width() > 190.0 => (0.64, 0.66),
                    _ => (0.5, 1.0),
                };
                let at = pos2(piece.left() + piece.width() * share, piece.center().y);
                self.name(layer, at, (piece.width() - 12.0) * room);
            }
        }
    }

    fn name(&self, layer: &Layer, at: Pos2, room: f32) {
        let sheet = self.sheet;
        let colour = if layer.build == Build::Ahead { sheet.soft } else { sheet.ink };
        let font = if layer.build == Build::Here { theme::strong(15.0) } else { theme::font(15.0) };
        let rect =
            patched(self.painter, at, Align2::CENTER_CENTER, &layer.name, font, (colour, sheet.paper), room);
        if layer.build == Build::Unproved {
            verdict_mark::paint(self.painter, pos2(rect.left() - 20.0, at.y), 22.0, Mark::Covered, sheet);
        }
    }

    pub(super) fn membrane(&self, layer: &Layer) {
        let (l, sheet) = (self.layout, self.sheet);
        let y = l.y(layer.top);
        let (left, right) = (l.x(l.inner_face + 4.0), l.x(l.across_end));
        let turned_up = [pos2(left, y - 18.0), pos2(left, y), pos2(right, y)];
        match layer.build {
            Build::Ahead => self.painter.extend(Shape::dashed_line(
                &turned_up,
                Stroke::new(theme::THICK, sheet.rule),
                10.0,
                6.0,
            )),
            Build::Here | Build::Proved => {
                self.painter.add(Shape::line(turned_up.to_vec(), Stroke::new(5.0, sheet.paper)));
                self.painter.extend(Shape::dashed_line(&turned_up, sheet.extra(), 14.0, 4.0));
            }
            Build::Unproved => {
                self.painter.add(Shape::line(turned_up.to_vec(), Stroke::new(8.0, sheet.bad)));
                self.painter.extend(Shape::dashed_line(&turned_up, sheet.extra(), 14.0, 4.0));
            }
        }
    }

    fn beams(&self, view: &SectionView, layer: &Layer, (width, infill, hang): (f64, f64, f64)) {
        let (l, sheet) = (self.layout, self.sheet);
        // Along a beam: the infill beyond hangs below it, the beam lies on the wall.
        let beyond = l.rect(l.inner_face + 12.0, l.along_end, layer.bottom, layer.bottom - hang);
        let along = l.rect(l.inner_face - view.bearing_length, l.along_end, layer.top, layer.bottom);
        if layer.build == Build::Ahead {
            self.painter.rect_filled(along, 0.0, sheet.paper);
            self.outline(&corners(along), Build::Ahead);
        } else {
            self.painter.rect_filled(beyond, 0.0, Material::Infill.wash(sheet));
            self.painter.rect_stroke(beyond, 0.0, sheet.thin(), StrokeKind::Inside);
            hatch::fill_rect(self.painter, along, Material::Precast, sheet);
            // Prestressing strands run along.
            for share in [0.80, 0.88] {
                let y = along.top() + along.height() * share;
                self.painter.hline(along.left() + 4.0..=along.right(), y, Stroke::new(1.5, sheet.ink));
            }
            self.painter.hline(along.x_range(), along.top(), sheet.thick());
            self.painter.hline(along.x_range(), along.bottom(), sheet.thick());
            self.painter.vline(along.left(), along.y_range(), sheet.thick());
        }
        // Across the beams.
        let window = l.rect(l.across_start, l.across_end, layer.top, layer.bottom - hang);
        let cut = Pen { painter: &self.painter.with_clip_rect(window.expand2(vec2(0.0, 3.0))), ..*self };
        let pitch = width + infill;
        // The first beam stands left of the middle, so that the layer's name stands on infill.
        let first = l.across_start + (infill * 0.20 + width).min((l.across_end - l.across_start) * 0.4);
        let mut centre = first - pitch;
        while centre < l.across_end + pitch {
            cut.infill(layer, centre, (width, infill, hang));
            centre += pitch;
        }
        centre = first - pitch;
        while centre < l.across_end + pitch {
            cut.beam(layer, centre, width);
            centre += pitch;
        }
    }

    /// The infill to the right of a beam's centre line.
    fn infill(&self, layer: &Layer, centre: f64, (width, infill, hang): (f64, f64, f64)) {
        let (l, sheet) = (self.layout, self.sheet);
        let depth = layer.top - layer.bottom;
        let (web, foot, next) = (width * WEB / 2.0, width / 2.0, centre + width + infill);
        let (shoulder, slope) = (layer.bottom + depth * SHOULDER, layer.bottom + depth * FOOT);
        let polygon = vec![
            l.at(centre + web, layer.top),
            l.at(next - web, layer.top),
            l.at(next - web, shoulder),
            l.at(next - foot, slope),
            l.at(next - foot, layer.bottom - hang),
            l.at(centre + foot, layer.bottom - hang),
            l.at(centre + foot, slope),
            l.at(centre + web, shoulder),
        ];
        if layer.build == Build::Ahead {
            self.outline(&polygon, Build::Ahead);
            return;
        }
        let parts = [
            l.rect(centre + web, next - web, layer.top, shoulder),
            l.rect(centre + foot, next - foot, shoulder, layer.bottom - hang),
        ]
        .map(|rect| corners(rect).to_vec());
        hatch::fill(self.painter, &polygon, &parts, Material::Infill, sheet);
        self.painter.add(Shape::closed_line(polygon, sheet.thin()));
    }

    /// A beam cut across: foot, sloping shoulders, web, and the strands that prestress it.
    fn beam(&self, layer: &Layer, centre: f64, width: f64) {
        let (l, sheet) = (self.layout, self.sheet);
        let depth = layer.top - layer.bottom;
        let (web, foot) = (width * WEB / 2.0, width / 2.0);
        let (shoulder, slope) = (layer.bottom + depth * SHOULDER, layer.bottom + depth * FOOT);
        let polygon = vec![
            l.at(centre - web, layer.top),
            l.at(centre + web, layer.top),
            l.at(centre + web, shoulder),
            l.at(centre + foot, slope),
            l.at(centre + foot, layer.bottom),
            l.at(centre - foot, layer.bottom),
            l.at(centre - foot, slope),
            l.at(centre - web, shoulder),
        ];
        if layer.build == Build::Ahead {
            self.outline(&polygon, Build::Ahead);
            return;
        }
        let parts = [
            corners(l.rect(centre - web, centre + web, layer.top, shoulder)).to_vec(),
            vec![polygon[2], polygon[3], polygon[6], polygon[7]],
            corners(l.rect(centre - foot, centre + foot, slope, layer.bottom)).to_vec(),
        ];
        hatch::fill(self.painter, &polygon, &parts, Material::Precast, sheet);
        self.painter.add(Shape::closed_line(polygon, sheet.thick()));
        for (across, up) in [(-0.62, 0.12), (0.0, 0.12), (0.62, 0.12), (0.0, 0.24), (0.0, 0.86)] {
            let at = l.at(centre + foot * across, layer.bottom + depth * up);
            self.painter.circle_filled(at, (l.scale * 5.0).clamp(1.5, 4.0), sheet.ink);
        }
    }
}
