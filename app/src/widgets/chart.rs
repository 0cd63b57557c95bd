//! A chart on screen: its lines get ink, its words type. What it shows is core's, the same as on paper.

use egui::{Align2, Pos2, Rect, Shape, Stroke, Ui, pos2, vec2};
use gaugerod_core::chart::{Anchor, Chart, Line, Look, Place, Room};

use super::type_setting::{galley, picture};
use crate::theme::{self, Sheet};

/// Draws the chart that is made for the room, in an area as wide as there is and so high.
pub fn chart_ui(ui: &mut Ui, height: f32, make: impl FnOnce(Room) -> Option<Chart>) {
    let (id, area) = ui.allocate_space(vec2(ui.available_width(), height));
    let room = Room {
        size: [f64::from(area.width()), f64::from(area.height())],
        text: f64::from(theme::LABEL) * 1.25,
    };
    let Some(chart) = make(room) else { return };
    picture(ui, area, id, &chart.name);
    paint(ui, area, &chart, theme::sheet(ui));
}

fn paint(ui: &Ui, area: Rect, chart: &Chart, sheet: &Sheet) {
    let painter = ui.painter_at(area);
    let on = |at: &Place| -> Pos2 { area.min + vec2(small(at[0]), small(at[1])) };
    for line in &chart.lines {
        let places: Vec<Pos2> = line.places.iter().map(on).collect();
        let stroke = stroke(line, sheet);
        if line.look == Look::Limit {
            painter.extend(Shape::dashed_line(&places, stroke, 8.0, 5.0));
        } else {
            painter.add(Shape::line(places, stroke));
        }
    }
    for spot in &chart.spots {
        painter.circle(on(spot), 3.5, sheet.paper, sheet.thin());
    }
    for word in &chart.words {
        let (font, colour) = if word.strong {
            (theme::strong(theme::LABEL), sheet.ink)
        } else {
            (theme::font(theme::LABEL), sheet.soft)
        };
        let set = galley(&painter, &word.text, font, colour, area.width(), 1);
        let anchor = match word.anchor {
            Anchor::Start => Align2::LEFT_CENTER,
            Anchor::Middle => Align2::CENTER_CENTER,
            Anchor::End => Align2::RIGHT_CENTER,
        };
        let place = anchor.anchor_size(on(&word.at), set.size());
        // Words stay within the chart, on a patch of paper where they matter.
        let shift = (area.min - place.min).max(vec2(0.0, 0.0)) - (place.max - area.max).max(vec2(0.0, 0.0));
        let place = place.translate(shift);
        if word.strong {
            painter.rect_filled(place.expand2(vec2(2.0, 0.0)), 0.0, sheet.paper);
        }
        painter.galley(pos2(place.left(), place.top()), set, colour);
    }
}

fn stroke(line: &Line, sheet: &Sheet) -> Stroke {
    match line.look {
        Look::Axis => sheet.thin(),
        Look::Grid => sheet.hairline(),
        Look::Curve => sheet.thick(),
        Look::Limit => Stroke::new(theme::THICK, sheet.ink),
        Look::Heavy => Stroke::new(4.0, sheet.next),
    }
}

#[expect(clippy::cast_possible_truncation, reason = "a place on screen")]
fn small(at: f64) -> f32 {
    at as f32
}
