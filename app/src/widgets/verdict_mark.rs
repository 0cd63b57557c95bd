//! The marks that say how a reading or a hold point stands, told apart by shape first and colour
//! second, the same at every size, on both sheets and in the report.
//!
//! A mark is only drawn from what it is handed; it never works a verdict out.

use egui::{Color32, Painter, Pos2, Rect, Response, Shape, Stroke, StrokeKind, Ui, Vec2, pos2, vec2};
use gaugerod_core::conformity::Verdict;
use gaugerod_core::plan_drawing::Standing;

use crate::{
    theme::{self, Sheet},
    widgets::type_setting::picture,
};

/// How something stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub enum Mark {
    /// Not to be worked on yet, or not read yet: a dashed circle.
    #[default]
    NotYet,
    /// Open; evidence is owed: an open circle with a point in it.
    Owed,
    /// Everything owed is there, not offered yet: an open circle, half ruled.
    Ready,
    /// Offered and waiting for a decision: a yellow disc with an arrow over a line.
    Offered,
    /// Released: a ringed disc with a tick.
    Released,
    /// Refused: a square with a cross.
    Refused,
    /// Released, covered, and something under it changed since: a diamond with a query.
    InQuestion,
    /// Later work covers it and nobody released it: a hatched triangle.
    Covered,
    /// Two devices decided apart: two triangles point to point.
    Contested,
    /// Conforms: a disc with a tick.
    Conforming,
    /// Does not conform: a triangle with a bar.
    Nonconforming,
    /// Too near to call: a half-filled diamond.
    Undetermined,
    /// Under a recorded concession: a square with a C in a circle.
    Concession,
}

impl Mark {
    /// Every mark, in the order of the legend.
    pub const ALL: [Self; 13] = [
        Self::Conforming,
        Self::Nonconforming,
        Self::Undetermined,
        Self::Concession,
        Self::NotYet,
        Self::Owed,
        Self::Ready,
        Self::Offered,
        Self::Released,
        Self::Refused,
        Self::InQuestion,
        Self::Covered,
        Self::Contested,
    ];

    /// The word for it, as screens, screen readers and the report say it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::NotYet => "not yet",
            Self::Owed => "owed",
            Self::Ready => "ready to offer",
            Self::Offered => "offered",
            Self::Released => "released",
            Self::Refused => "refused",
            Self::InQuestion => "in question",
            Self::Covered => "covered without release",
            Self::Contested => "contested",
            Self::Conforming => "OK",
            Self::Nonconforming => "not OK",
            Self::Undetermined => "too near to call",
            Self::Concession => "concession",
        }
    }

    /// The colour that fills it.
    pub const fn fill(self, sheet: &Sheet) -> Color32 {
        match self {
            Self::NotYet | Self::Owed | Self::Ready => sheet.field,
            Self::Offered | Self::Covered => sheet.warn,
            Self::Released | Self::Conforming => sheet.ok,
            Self::Refused | Self::Nonconforming => sheet.bad,
            Self::InQuestion | Self::Undetermined | Self::Contested => sheet.near,
            Self::Concession => sheet.concession,
        }
    }

    /// Whether it calls for somebody to do something about it.
    pub const fn is_trouble(self) -> bool {
        matches!(
            self,
            Self::Refused | Self::InQuestion | Self::Covered | Self::Contested | Self::Nonconforming
        )
    }
}

impl From<Verdict> for Mark {
    fn from(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Conforming => Self::Conforming,
            Verdict::Nonconforming => Self::Nonconforming,
            Verdict::Undetermined => Self::Undetermined,
        }
    }
}

impl From<Standing> for Mark {
    fn from(standing: Standing) -> Self {
        match standing {
            Standing::Owed => Self::Owed,
            Standing::Read => Self::Ready,
            Standing::Verdict(verdict) => verdict.into(),
            Standing::Closed(_) => Self::Conforming,
            Standing::Conceded => Self::Concession,
        }
    }
}

/// Places a mark of `size` points in the layout; its accessible name is the mark's word.
pub fn mark_ui(ui: &mut Ui, mark: Mark, size: f32) -> Response {
    let (id, rect) = ui.allocate_space(Vec2::splat(size));
    paint(ui.painter(), rect.center(), size, mark, theme::sheet(ui));
    picture(ui, rect, id, mark.name())
}

/// A mark with its word beside it.
pub fn mark_with_word_ui(ui: &mut Ui, mark: Mark) {
    ui.horizontal(|ui| {
        mark_ui(ui, mark, 24.0);
        ui.label(mark.name());
    });
}

/// Draws a mark of `size` points across about `centre`.
pub fn paint(painter: &Painter, centre: Pos2, size: f32, mark: Mark, sheet: &Sheet) {
    let pen = Pen {
        painter,
        centre,
        radius: size / 2.0,
        line: Stroke::new((size / 14.0).clamp(1.2, 3.0), sheet.ink),
        inner: Stroke::new((size / 9.0).clamp(1.5, 4.5), sheet.on_fill),
        fill: mark.fill(sheet),
    };
    match mark {
        Mark::NotYet => pen.dashed_circle(),
        Mark::Owed => {
            pen.disc(0.86);
            painter.circle_filled(centre, pen.radius * 0.22, sheet.ink);
        }
        Mark::Ready => {
            pen.disc(0.86);
            for dy in [0.12, 0.40, 0.66] {
                let half = (0.86_f32.powi(2) - dy * dy).sqrt();
                painter.line_segment([pen.at(-half, dy), pen.at(half, dy)], pen.line);
            }
        }
        Mark::Offered => {
            pen.disc(0.86);
            pen.stroke(&[(0.0, 0.22), (0.0, -0.48)]);
            pen.stroke(&[(-0.30, -0.16), (0.0, -0.48), (0.30, -0.16)]);
            pen.stroke(&[(-0.42, 0.42), (0.42, 0.42)]);
        }
        Mark::Released => {
            painter.circle_stroke(centre, pen.radius - pen.line.width / 2.0, pen.line);
            pen.disc(0.74);
            pen.stroke(&[(-0.34, 0.04), (-0.10, 0.28), (0.36, -0.26)]);
        }
        Mark::Conforming => {
            pen.disc(0.86);
            pen.stroke(&[(-0.42, 0.04), (-0.12, 0.34), (0.44, -0.32)]);
        }
        Mark::Refused => {
            pen.polygon(&SQUARE);
            pen.stroke(&[(-0.38, -0.38), (0.38, 0.38)]);
            pen.stroke(&[(-0.38, 0.38), (0.38, -0.38)]);
        }
        Mark::Nonconforming => {
            pen.polygon(&TRIANGLE);
            pen.stroke(&[(-0.36, 0.36), (0.36, 0.36)]);
        }
        Mark::Covered => pen.hatched_triangle(),
        Mark::Undetermined => {
            let (painter, field) = (pen.painter, sheet.field);
            painter.add(Shape::convex_polygon(pen.points(&DIAMOND), field, Stroke::NONE));
            let right = [(0.0, -0.94), (0.94, 0.0), (0.0, 0.94)];
            painter.add(Shape::convex_polygon(pen.points(&right), pen.fill, Stroke::NONE));
            pen.outline(&DIAMOND);
            painter.line_segment([pen.at(0.0, -0.94), pen.at(0.0, 0.94)], pen.line);
        }
        Mark::InQuestion => {
            pen.polygon(&DIAMOND);
            pen.stroke(&[
                (-0.22, -0.26),
                (-0.12, -0.44),
                (0.10, -0.44),
                (0.22, -0.26),
                (0.14, -0.06),
                (0.0, 0.06),
                (0.0, 0.20),
            ]);
            painter.circle_filled(pen.at(0.0, 0.46), pen.radius * 0.11, sheet.on_fill);
        }
        Mark::Contested => {
            pen.polygon(&[(-0.92, -0.62), (-0.04, 0.0), (-0.92, 0.62)]);
            pen.polygon(&[(0.92, -0.62), (0.04, 0.0), (0.92, 0.62)]);
        }
        Mark::Concession => {
            pen.polygon(&SQUARE);
            painter.circle(centre, pen.radius * 0.60, sheet.field, pen.line);
            pen.letter_c(sheet.ink);
        }
    }
}

/// A ring about a mark of `size` points: this one comes next.
pub fn ring(painter: &Painter, centre: Pos2, size: f32, sheet: &Sheet) {
    painter.circle(centre, size / 2.0 + 6.0, sheet.next, Stroke::new(theme::THICK, sheet.ink));
    painter.circle(centre, size / 2.0 + 1.0, sheet.paper, Stroke::new(theme::THIN, sheet.ink));
}

const SQUARE: [(f32, f32); 4] = [(-0.80, -0.80), (0.80, -0.80), (0.80, 0.80), (-0.80, 0.80)];
const DIAMOND: [(f32, f32); 4] = [(0.0, -0.94), (0.94, 0.0), (0.0, 0.94), (-0.94, 0.0)];
const TRIANGLE: [(f32, f32); 3] = [(0.0, -0.86), (0.94, 0.76), (-0.94, 0.76)];

/// Drawing in units of the mark's radius about its centre.
struct Pen<'a> {
    painter: &'a Painter,
    centre: Pos2,
    radius: f32,
    line: Stroke,
    inner: Stroke,
    fill: Color32,
}

impl Pen<'_> {
    fn at(&self, x: f32, y: f32) -> Pos2 {
        self.centre + vec2(x, y) * self.radius
    }

    fn points(&self, relative: &[(f32, f32)]) -> Vec<Pos2> {
        relative.iter().map(|&(x, y)| self.at(x, y)).collect()
    }

    fn disc(&self, share: f32) {
        self.painter.circle(self.centre, self.radius * share, self.fill, self.line);
    }

    fn polygon(&self, relative: &[(f32, f32)]) {
        self.painter.add(Shape::convex_polygon(self.points(relative), self.fill, self.line));
    }

    fn outline(&self, relative: &[(f32, f32)]) {
        self.painter.add(Shape::closed_line(self.points(relative), self.line));
    }

    fn stroke(&self, relative: &[(f32, f32)]) {
        self.painter.add(Shape::line(self.points(relative), self.inner));
    }

    fn dashed_circle(&self) {
        const DASHES: u8 = 10;
        let part = std::f32::consts::TAU / f32::from(DASHES);
        for dash in 0..DASHES {
            let start = part * f32::from(dash);
            let arc = (0..=4_u8).map(|step| {
                let angle = start + part * 0.6 * f32::from(step) / 4.0;
                self.at(angle.cos() * 0.84, angle.sin() * 0.84)
            });
            self.painter.add(Shape::line(arc.collect(), self.line));
        }
    }

    fn hatched_triangle(&self) {
        self.polygon(&TRIANGLE);
        // Vertical rules that end at the sloping sides: legible from eight points across.
        for x in [-0.54_f32, -0.27, 0.0, 0.27, 0.54] {
            let top = -0.86 + 1.62 * x.abs() / 0.94 + 0.16;
            let rule = Stroke::new(self.inner.width * 0.75, self.inner.color);
            self.painter.line_segment([self.at(x, top.min(0.66)), self.at(x, 0.76)], rule);
        }
    }

    fn letter_c(&self, ink: Color32) {
        let arc = (0..=10_u8).map(|step| {
            let angle = 0.75 + (std::f32::consts::TAU - 1.5) * f32::from(step) / 10.0;
            self.at(angle.cos() * 0.32, angle.sin() * 0.32)
        });
        self.painter.add(Shape::line(arc.collect(), Stroke::new(self.inner.width, ink)));
    }
}

/// The smallest rectangle that a mark of `size` points about `centre` may be tapped in.
pub fn target(centre: Pos2, size: f32) -> Rect {
    Rect::from_center_size(centre, Vec2::splat(size.max(theme::TOUCH)))
}

/// Draws a row of marks with their words: the legend of a printed or displayed sheet.
pub fn legend_ui(ui: &mut Ui) {
    let sheet = theme::sheet(ui);
    ui.horizontal_wrapped(|ui| {
        for mark in Mark::ALL {
            let width = 236.0;
            let (id, rect) = ui.allocate_space(vec2(width, 32.0));
            paint(ui.painter(), pos2(rect.left() + 14.0, rect.center().y), 24.0, mark, sheet);
            super::type_setting::line(
                ui.painter(),
                pos2(rect.left() + 34.0, rect.center().y),
                egui::Align2::LEFT_CENTER,
                mark.name(),
                theme::font(theme::BODY),
                sheet.ink,
                width - 34.0,
            );
            picture(ui, rect, id, mark.name());
        }
    });
}

/// A frame of thin ink about a mark's cell, used where marks stand in a table.
pub fn cell(painter: &Painter, rect: Rect, sheet: &Sheet) {
    painter.rect_stroke(rect, 0.0, sheet.hairline(), StrokeKind::Inside);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_mark_has_a_word_of_its_own() {
        let words: std::collections::HashSet<_> = Mark::ALL.iter().map(|mark| mark.name()).collect();
        assert_eq!(words.len(), Mark::ALL.len());
    }

    #[test]
    fn marks_are_told_apart_without_colour() {
        // Painted in one colour, no two marks may give the same shapes.
        let one = Sheet {
            ok: Color32::GRAY,
            bad: Color32::GRAY,
            near: Color32::GRAY,
            warn: Color32::GRAY,
            concession: Color32::GRAY,
            field: Color32::GRAY,
            ..theme::LIGHT
        };
        let mut seen: Vec<(Mark, String)> = Vec::new();
        let ctx = crate::headless::context();
        for mark in Mark::ALL {
            let output = ctx.run_ui(egui::RawInput::default(), |ui| {
                paint(ui.painter(), pos2(100.0, 100.0), 48.0, mark, &one);
            });
            let shapes = format!("{:?}", output.shapes.iter().map(|s| &s.shape).collect::<Vec<_>>());
            output.drop_without_applying_deltas();
            if let Some((twin, _)) = seen.iter().find(|(_, other)| *other == shapes) {
                panic!("{mark:?} looks like {twin:?} without colour");
            }
            seen.push((mark, shapes));
        }
    }
}
