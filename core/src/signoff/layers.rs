//! The layers as built on paper: the stack as designed beside the stack as built, to one scale, what another overlay
//! breaks, and the topping before it was ordered.

use super::flow::{BODY, Cell, Column, Flow, LEFT, SMALL, STRONG};
use super::fonts::{Fonts, Weight};
use super::marks::Mark;
use super::page::{Ink, Pen, Sheet, Style};
use crate::floor::LayerRole;
use crate::inspection::as_built::{AsBuilt, LayerAsBuilt, as_built};
use crate::inspection::fold::PlotRecord;
use crate::inspection::forecast::{Forecast, forecast};
use crate::quantity::Length;

/// Height of the drawing, in millimetres of paper.
const HEIGHT: f32 = 62.0;
/// Room above a stack for its title.
const TITLE: f32 = 6.0;
/// Width of a stack.
const STACK: f32 = 34.0;
/// From one stack to the next.
const STEP: f32 = 85.0;
/// What a line of figures needs.
const LINE: f32 = 2.8;
/// A membrane is a line: it has no thickness to scale.
const SHEET: Pen = Pen { width: 1.6, ink: Ink::TEXT };
const WORDS: Style = Style::new(Weight::Regular, 7.0);
const HEAD: Style = Style::new(Weight::Semibold, 8.0);

/// What paper says of the layers.
#[derive(Debug, Clone, PartialEq)]
pub struct LayersPart {
    /// The stack; `None` where the design says nothing of heat.
    pub stack: Option<AsBuilt>,
    /// The forecast; `None` while no beam top is read.
    pub forecast: Option<Forecast>,
}

/// The layers of a plot; `None` where there is nothing to say.
pub fn part(record: &PlotRecord) -> Option<LayersPart> {
    let (stack, forecast) = (as_built(record), forecast(record));
    (stack.is_some() || forecast.is_some()).then_some(LayersPart { stack, forecast })
}

/// Lays them out.
pub fn lay_out(flow: &mut Flow<'_>, part: Option<&LayersPart>) {
    let Some(part) = part else { return };
    // Words and drawing stand on one sheet.
    if part.stack.is_some() {
        flow.need(HEIGHT + 25.0);
    }
    flow.heading("Layers as built");
    if let Some(stack) = &part.stack {
        lay_out_stack(flow, stack);
    }
    if let Some(forecast) = &part.forecast {
        flow.subheading("Topping before it was ordered");
        for line in forecast.sentences() {
            flow.item("•", &line, BODY);
        }
        for area in &forecast.parts {
            let mark = Mark::of(area.output.verdict);
            let least = area
                .output
                .least_mm
                .map_or_else(String::new, |least| format!(", least {} mm", least.0.mm_text(1)));
            flow.marked(mark, &format!("{}: {}{least}", area.area, mark.word()), BODY);
        }
    }
}

fn lay_out_stack(flow: &mut Flow<'_>, stack: &AsBuilt) {
    let overlay = &stack.overlay;
    let span = if overlay.least == overlay.greatest {
        format!("{} mm", overlay.least.to_mm_text())
    } else {
        format!("{} to {} mm", overlay.least.to_mm_text(), overlay.greatest.to_mm_text())
    };
    let batches = if overlay.batches.is_empty() {
        String::new()
    } else {
        format!(", batch {}", overlay.batches.join(", "))
    };
    flow.paragraph(
        &format!("Overlay {}, {span} ({}){batches}.", overlay.grades.join(", "), overlay.basis.words()),
        BODY,
    );
    flow.drawing(HEIGHT, |sheet, fonts, (_, top)| {
        draw(sheet, fonts, top, stack);
    });
    for one in &stack.consequences {
        let mark = Mark::of(one.verdict);
        flow.marked(mark, &format!("{}, {}: {}", one.about.word(), mark.word(), one.sentence), STRONG);
        flow.paragraph(&format!("Source: {}", one.source), SMALL);
    }
    let columns = [
        Column::words("Layer", 1.6),
        Column::words("Made of, as drawn / as built", 3.2),
        Column::numbers("Drawn", 0.8),
        Column::numbers("Built", 0.9),
        Column::words("Built: known from", 1.7),
        Column::numbers("Top, drawn", 1.2),
        Column::numbers("Top, built", 1.2),
    ];
    let rows: Vec<Vec<Cell>> = stack.layers.iter().map(row).collect();
    flow.paragraph("Thicknesses in millimetres, levels in metres; tops as built are the highest.", SMALL);
    flow.table(&columns, &rows);
}

fn row(layer: &LayerAsBuilt) -> Vec<Cell> {
    let designed = layer.designed_material.clone().unwrap_or_default();
    let made =
        layer.built_material.as_ref().map_or(designed.clone(), |built| format!("{designed} / {built}"));
    let services = layer.services.iter().map(|one| format!("; {one}")).collect::<String>();
    let built = if layer.built.0 == layer.built.1 {
        layer.built.0.to_mm_text()
    } else {
        format!("{}–{}", layer.built.0.to_mm_text(), layer.built.1.to_mm_text())
    };
    vec![
        Cell::strong(layer.name.to_string()),
        Cell::text(format!("{made}{services}")),
        Cell::text(layer.designed.to_mm_text()),
        Cell::text(built),
        Cell::small(layer.basis.words()),
        Cell::text(layer.designed_top.m_text(3)),
        Cell::text(layer.built_top.m_text(3)),
    ]
}

fn draw(sheet: &mut Sheet, fonts: &Fonts, top: f32, stack: &AsBuilt) {
    let highest = stack.layers.iter().flat_map(|layer| [layer.designed_top, layer.built_top]).max();
    let lowest = stack.bearing.0.min(stack.bearing.1);
    let Some(highest) = highest.filter(|highest| *highest > lowest) else { return };
    let room = HEIGHT - TITLE - 6.0;
    #[expect(clippy::cast_possible_truncation, reason = "a place on paper")]
    let y = |level: Length| {
        top + TITLE + ((highest - level).to_mm_f64() / (highest - lowest).to_mm_f64()) as f32 * room
    };
    for (column, (title, is_built)) in [("as designed", false), ("as built", true)].into_iter().enumerate() {
        #[expect(clippy::cast_precision_loss, reason = "two columns")]
        let left = LEFT + 18.0 + column as f32 * STEP;
        sheet.text(fonts, (left, top + 3.4), HEAD, title);
        let mut last = f32::MIN;
        for layer in &stack.layers {
            let (level, thickness) = if is_built {
                (layer.built_top, layer.built.1)
            } else {
                (layer.designed_top, layer.designed)
            };
            if layer.role.is_within_another() {
                continue;
            }
            let upper = y(level);
            // The bearing is always told; a level right above it would stand in its way.
            let near = y(if is_built { stack.bearing.1 } else { stack.bearing.0 }) - upper < LINE;
            if upper - last >= LINE && !near {
                sheet.text_ending_at(fonts, (left - 1.5, upper + 1.0), WORDS, &level.m_text(3));
                last = upper;
            }
            if layer.role == LayerRole::Membrane {
                sheet.line(&[(left - 1.0, upper), (left + STACK + 1.0, upper)], SHEET);
                sheet.text(fonts, (left + STACK + 2.0, upper - 0.4), WORDS, layer.name.as_str());
                continue;
            }
            let height = y(level - thickness.max(Length::ZERO)) - upper;
            let fill = if layer.role == LayerRole::Overlay { Ink::PAPER } else { Ink::WASH };
            let changed = is_built && layer.built != (layer.designed, layer.designed);
            let pen = if changed { Pen::WIDE } else { Pen::NARROW };
            sheet.rectangle((left, upper), STACK, height, Some(fill), Some(pen));
            let words = format!("{} {}", thickness.to_mm_text(), layer.name);
            if height > 2.6 {
                sheet.text(fonts, (left + 1.5, upper + height / 2.0 + 0.9), WORDS, &words);
            }
            if layer.carries_gas {
                sheet.text(fonts, (left + STACK + 2.0, upper + height), WORDS, &layer.services.join("; "));
            }
        }
        let bearing = if is_built { stack.bearing.1 } else { stack.bearing.0 };
        sheet.text_ending_at(fonts, (left - 1.5, y(bearing) + 1.0), WORDS, &bearing.m_text(3));
    }
}
