//! A chart on paper: its lines get their pens, its words their type. What it shows is [`crate::chart`]'s, the same as
//! on screen.

use super::flow::{Flow, SMALL, WIDTH};
use super::fonts::{Fonts, Weight};
use super::page::{Ink, Pen, Place, Sheet, Style};
use crate::chart::{Anchor, Chart, Line, Look, Room};

/// Height of a line of words, mm.
const TEXT: f64 = 3.0;
const STRONG: Style = Style::new(Weight::Semibold, 7.5);

/// The room of a chart of that height, in millimetres.
pub fn room(height: f64) -> Room {
    Room { size: [f64::from(WIDTH), height], text: TEXT }
}

/// Draws a chart where the pen stands.
pub fn draw(flow: &mut Flow<'_>, chart: &Chart, height: f32) {
    flow.drawing(height, |sheet, fonts, at| paint(sheet, fonts, at, chart));
}

fn paint(sheet: &mut Sheet, fonts: &Fonts, (left, top): Place, chart: &Chart) {
    let on = |at: &[f64; 2]| (left + small(at[0]), top + small(at[1]));
    for line in &chart.lines {
        let places: Vec<Place> = line.places.iter().map(on).collect();
        let pen = pen(line);
        if line.look == Look::Limit {
            for pair in places.windows(2) {
                dashed(sheet, pair[0], pair[1], pen);
            }
        } else {
            sheet.line(&places, pen);
        }
    }
    for spot in &chart.spots {
        sheet.disc(on(spot), 0.7, Some(Ink::PAPER), Some(Pen::NARROW));
    }
    for word in &chart.words {
        let style = if word.strong { STRONG } else { SMALL };
        let (x, y) = on(&word.at);
        let at = (x, y + style.line_height() * 0.26);
        match word.anchor {
            Anchor::Start => sheet.text(fonts, at, style, &word.text),
            Anchor::Middle => sheet.text_centred(fonts, at, style, &word.text),
            Anchor::End => sheet.text_ending_at(fonts, at, style, &word.text),
        }
    }
}

fn pen(line: &Line) -> Pen {
    match line.look {
        Look::Axis => Pen::NARROW,
        Look::Grid => Pen::HAIR,
        Look::Curve => Pen { width: 1.2, ink: Ink::TEXT },
        Look::Limit => Pen { width: 0.8, ink: Ink::TEXT },
        Look::Heavy => Pen { width: 1.6, ink: Ink(0x00, 0x72, 0xb2) },
    }
}

fn dashed(sheet: &mut Sheet, from: Place, to: Place, pen: Pen) {
    let by = (to.0 - from.0, to.1 - from.1);
    let length = (by.0 * by.0 + by.1 * by.1).sqrt();
    let at = |far: f32| (from.0 + by.0 * far / length, from.1 + by.1 * far / length);
    let mut start = 0.0;
    while start < length {
        sheet.line(&[at(start), at((start + 2.0).min(length))], pen);
        start += 3.0;
    }
}

#[expect(clippy::cast_possible_truncation, reason = "millimetres of a sheet")]
fn small(mm: f64) -> f32 {
    mm as f32
}
