//! One A4 sheet to draw on: text, lines, filled shapes, photographs.
//!
//! Measures are millimetres from the sheet's upper left corner, y downwards; text sizes and pen widths are
//! points. Together with `paper` this is the only place that knows the PDF engine, so that it can be changed.
//! It never decides what is written where: that is `flow`'s and the layout's business.

use printpdf::{
    Color, Line, LineCapStyle, LineJoinStyle, LinePoint, Mm, Op, PaintMode, PdfFontHandle, PdfPage, Point,
    Polygon, PolygonRing, Pt, Rgb, TextItem, TextMatrix, TextRenderingMode, WindingOrder, XObjectId,
    XObjectTransform,
};

use super::fonts::{Fonts, Weight};

/// Width of a sheet in millimetres (ISO 216, A4).
pub const SHEET_WIDTH: f32 = 210.0;
/// Height of a sheet in millimetres (ISO 216, A4).
pub const SHEET_HEIGHT: f32 = 297.0;
/// Millimetres in a PDF point of 1/72 inch.
pub const MM_PER_POINT: f32 = 25.4 / 72.0;

/// A place on the sheet: millimetres from the left and from the upper edge.
pub type Place = (f32, f32);

/// A colour in sRGB.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ink(pub u8, pub u8, pub u8);

impl Ink {
    /// All text and outlines.
    pub const TEXT: Self = Self(0x14, 0x1a, 0x20);
    /// Secondary text, still at better than 7:1 on white (WCAG 2.2, 1.4.6).
    pub const QUIET: Self = Self(0x48, 0x50, 0x58);
    /// Thin rules.
    pub const RULE: Self = Self(0x9a, 0xa2, 0xaa);
    /// Ground of table heads and label cells.
    pub const WASH: Self = Self(0xee, 0xf0, 0xf2);
    /// The sheet itself.
    pub const PAPER: Self = Self(0xff, 0xff, 0xff);
    /// Outline of the word across a draft.
    pub const WATERMARK: Self = Self(0xa0, 0xa8, 0xb0);

    fn color(self) -> Color {
        let part = |byte: u8| f32::from(byte) / 255.0;
        Color::Rgb(Rgb { r: part(self.0), g: part(self.1), b: part(self.2), icc_profile: None })
    }
}

/// A pen: its width in points and its ink.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Points.
    pub width: f32,
    /// Colour of the stroke.
    pub ink: Ink,
}

impl Pen {
    /// Frame and heavy rules (ISO 128 wide line).
    pub const WIDE: Self = Self { width: 1.4, ink: Ink::TEXT };
    /// Outlines of marks (ISO 128 narrow line).
    pub const NARROW: Self = Self { width: 0.7, ink: Ink::TEXT };
    /// Rules between table rows.
    pub const HAIR: Self = Self { width: 0.35, ink: Ink::RULE };
}

/// How text looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Style {
    /// Face.
    pub weight: Weight,
    /// Points.
    pub size: f32,
    /// Colour.
    pub ink: Ink,
}

impl Style {
    /// Text in the reading ink.
    pub const fn new(weight: Weight, size: f32) -> Self {
        Self { weight, size, ink: Ink::TEXT }
    }

    /// The same in another ink.
    #[must_use]
    pub const fn with_ink(self, ink: Ink) -> Self {
        Self { ink, ..self }
    }

    /// Height of a line in millimetres at the usual leading.
    pub fn line_height(self) -> f32 {
        self.size * 1.36 * MM_PER_POINT
    }
}

/// One step of an outline that may be curved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Step {
    /// Straight to here.
    To(Place),
    /// A cubic curve by two handles to here.
    Curve(Place, Place, Place),
}

/// One sheet in the making.
#[derive(Debug, Clone, Default)]
pub struct Sheet {
    ops: Vec<Op>,
}

impl Sheet {
    /// Writes one line of text with its base line beginning at `at`.
    pub fn text(&mut self, fonts: &Fonts, at: Place, style: Style, text: &str) {
        let text = fonts.readable(style.weight, text);
        if text.is_empty() {
            return;
        }
        self.ops.extend([
            Op::StartTextSection,
            Op::SetFont {
                font: PdfFontHandle::External(printpdf::FontId(style.weight.resource().to_owned())),
                size: Pt(style.size),
            },
            Op::SetFillColor { col: style.ink.color() },
            Op::SetTextMatrix { matrix: TextMatrix::Translate(x_pt(at.0), y_pt(at.1)) },
            Op::ShowText { items: vec![TextItem::Text(text)] },
            Op::EndTextSection,
        ]);
    }

    /// Writes one line of text that ends at `at`.
    pub fn text_ending_at(&mut self, fonts: &Fonts, at: Place, style: Style, text: &str) {
        let width = fonts.width(style.weight, style.size, text);
        self.text(fonts, (at.0 - width, at.1), style, text);
    }

    /// Writes one line of text around `at`.
    pub fn text_centred(&mut self, fonts: &Fonts, at: Place, style: Style, text: &str) {
        let width = fonts.width(style.weight, style.size, text);
        self.text(fonts, (at.0 - width / 2.0, at.1), style, text);
    }

    /// A word in outline letters rising across the whole sheet. Outlines lie over text and photographs
    /// without hiding them.
    pub fn across(&mut self, fonts: &Fonts, word: &str, size: f32, pen: Pen) {
        // Rising along the sheet's diagonal: cos and sin of its angle, as plain numbers so that no
        // machine's mathematics library has a say in the bytes.
        const COS: f32 = 0.577_35;
        const SIN: f32 = 0.816_50;
        let text = fonts.readable(Weight::Semibold, word);
        let length = fonts.width(Weight::Semibold, size, word);
        let cap = size * 0.72 * MM_PER_POINT;
        let x = SHEET_WIDTH / 2.0 - length / 2.0 * COS + cap / 2.0 * SIN;
        let y = SHEET_HEIGHT / 2.0 + length / 2.0 * SIN + cap / 2.0 * COS;
        self.ops.extend([
            Op::SaveGraphicsState,
            Op::SetOutlineColor { col: pen.ink.color() },
            Op::SetOutlineThickness { pt: Pt(pen.width) },
            Op::StartTextSection,
            Op::SetTextRenderingMode { mode: TextRenderingMode::Stroke },
            Op::SetFont {
                font: PdfFontHandle::External(printpdf::FontId(Weight::Semibold.resource().to_owned())),
                size: Pt(size),
            },
            Op::SetTextMatrix { matrix: TextMatrix::Raw([COS, SIN, -SIN, COS, x_pt(x).0, y_pt(y).0]) },
            Op::ShowText { items: vec![TextItem::Text(text)] },
            Op::SetTextRenderingMode { mode: TextRenderingMode::Fill },
            Op::EndTextSection,
            Op::RestoreGraphicsState,
        ]);
    }

    /// An open line through all of `points`.
    pub fn line(&mut self, points: &[Place], pen: Pen) {
        if points.len() < 2 {
            return;
        }
        self.pen(pen);
        let points = points.iter().map(|at| line_point(*at, false)).collect();
        self.ops.push(Op::DrawLine { line: Line { points, is_closed: false } });
    }

    /// A closed straight-sided shape, filled, outlined, or both.
    pub fn polygon(&mut self, corners: &[Place], fill: Option<Ink>, pen: Option<Pen>) {
        let steps: Vec<Step> = corners.iter().skip(1).map(|at| Step::To(*at)).collect();
        if let Some(start) = corners.first() {
            self.outline(*start, &steps, fill, pen);
        }
    }

    /// An upright rectangle by its upper left corner.
    pub fn rectangle(&mut self, at: Place, width: f32, height: f32, fill: Option<Ink>, pen: Option<Pen>) {
        let (x, y) = at;
        self.polygon(&[(x, y), (x + width, y), (x + width, y + height), (x, y + height)], fill, pen);
    }

    /// A disc.
    pub fn disc(&mut self, centre: Place, radius: f32, fill: Option<Ink>, pen: Option<Pen>) {
        let (x, y) = centre;
        let r = radius;
        // Handle length for a quarter circle of radius 1: (4/3)(√2 − 1).
        let k = r * 0.552_284_8;
        let steps = [
            Step::Curve((x + k, y - r), (x + r, y - k), (x + r, y)),
            Step::Curve((x + r, y + k), (x + k, y + r), (x, y + r)),
            Step::Curve((x - k, y + r), (x - r, y + k), (x - r, y)),
            Step::Curve((x - r, y - k), (x - k, y - r), (x, y - r)),
        ];
        self.outline((x, y - r), &steps, fill, pen);
    }

    /// A closed shape that may have curves.
    pub fn outline(&mut self, start: Place, steps: &[Step], fill: Option<Ink>, pen: Option<Pen>) {
        let mode = match (fill, pen) {
            (Some(_), Some(_)) => PaintMode::FillStroke,
            (Some(_), None) => PaintMode::Fill,
            (None, Some(_)) => PaintMode::Stroke,
            (None, None) => return,
        };
        if let Some(fill) = fill {
            self.ops.push(Op::SetFillColor { col: fill.color() });
        }
        if let Some(pen) = pen {
            self.pen(pen);
        }
        let mut points = vec![line_point(start, false)];
        for step in steps {
            match *step {
                Step::To(at) => points.push(line_point(at, false)),
                Step::Curve(first, second, at) => {
                    points.extend([line_point(first, true), line_point(second, true), line_point(at, false)]);
                }
            }
        }
        self.ops.push(Op::DrawPolygon {
            polygon: Polygon {
                rings: vec![PolygonRing { points }],
                mode,
                winding_order: WindingOrder::NonZero,
            },
        });
    }

    /// Places a photograph that `paper` was given under `resource`, stretched to the rectangle.
    pub fn photo(&mut self, resource: &str, at: Place, width: f32, height: f32) {
        let transform = XObjectTransform {
            translate_x: Some(x_pt(at.0)),
            translate_y: Some(y_pt(at.1 + height)),
            scale_x: Some(width / MM_PER_POINT),
            scale_y: Some(height / MM_PER_POINT),
            no_auto_scale: true,
            ..XObjectTransform::default()
        };
        self.ops.push(Op::UseXobject { id: XObjectId(resource.to_owned()), transform });
    }

    /// What is written on it, piece by piece.
    #[cfg(test)]
    pub(super) fn texts(&self) -> Vec<&str> {
        let items = self.ops.iter().filter_map(|op| match op {
            Op::ShowText { items } => Some(items),
            _ => None,
        });
        let texts = items.flatten().filter_map(|item| match item {
            TextItem::Text(text) => Some(text.as_str()),
            _ => None,
        });
        texts.collect()
    }

    pub(super) fn into_page(self) -> PdfPage {
        PdfPage::new(Mm(SHEET_WIDTH), Mm(SHEET_HEIGHT), self.ops)
    }

    fn pen(&mut self, pen: Pen) {
        self.ops.extend([
            Op::SetOutlineColor { col: pen.ink.color() },
            Op::SetOutlineThickness { pt: Pt(pen.width) },
            Op::SetLineJoinStyle { join: LineJoinStyle::Round },
            Op::SetLineCapStyle { cap: LineCapStyle::Round },
        ]);
    }
}

fn x_pt(mm: f32) -> Pt {
    Pt(mm / MM_PER_POINT)
}

fn y_pt(mm: f32) -> Pt {
    Pt((SHEET_HEIGHT - mm) / MM_PER_POINT)
}

fn line_point(at: Place, bezier: bool) -> LinePoint {
    LinePoint { p: Point { x: x_pt(at.0), y: y_pt(at.1) }, bezier }
}
