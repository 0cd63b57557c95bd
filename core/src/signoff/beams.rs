//! Beams and infill on paper: the strip of every bay run, as set out above and as measured below, and the cut list.

use super::flow::{BODY, Cell, Column, Flow, LEFT, SMALL, STRONG, WIDTH};
use super::fonts::{Fonts, Weight};
use super::marks::Mark;
use super::page::{Ink, Pen, Sheet, Style};
use crate::conformity::Verdict;
use crate::floor::beams::InRun;
use crate::inspection::bay_strip::{Piece, Strip, strips};
use crate::inspection::fold::PlotRecord;
use crate::plan_of_work::Ordered;
use crate::quantity::Length;
use crate::reckon::infill_cuts;

/// Height of one band of a strip.
const BAND: f32 = 8.0;
/// Height of a line of words at a fault, and the most of them.
const FAULT: f32 = 3.8;
const MOST_FAULTS: usize = 6;
const THIN: Pen = Pen { width: 0.5, ink: Ink::TEXT };
const HEAVY: Pen = Pen { width: 1.2, ink: Ink::TEXT };
const LETTER: Style = Style::new(Weight::Regular, 6.0);
const FIGURE: Style = Style::new(Weight::Regular, 5.5);

/// What paper says of beams and infill.
#[derive(Debug, Clone, PartialEq)]
pub struct BeamsPart {
    /// Every bay run.
    pub strips: Vec<Strip>,
    /// What must be delivered, by stages in the order of work.
    pub order: Vec<Ordered>,
    /// The cut list; `None` where the design draws no beams.
    pub cuts: Option<infill_cuts::Output>,
    /// Length of a whole piece.
    pub piece: Length,
}

/// Beams and infill of a plot; `None` where its design draws none.
pub fn part(record: &PlotRecord) -> Option<BeamsPart> {
    let beams = record.design().beams.as_ref()?;
    let cuts = record.design().infill_cuts_input().and_then(|input| infill_cuts::reckon(&input).ok());
    let order = record.design().order();
    Some(BeamsPart { strips: strips(record), order, cuts, piece: beams.infill.piece_mm.0 })
}

/// Lays beams and infill out.
pub fn lay_out(flow: &mut Flow<'_>, part: Option<&BeamsPart>) {
    let Some(part) = part else { return };
    flow.heading("Beams and infill");
    for strip in &part.strips {
        lay_out_strip(flow, strip);
    }
    lay_out_order(flow, &part.order);
    if let Some(cuts) = &part.cuts {
        lay_out_cuts(flow, cuts, part.piece);
    }
}

fn lay_out_strip(flow: &mut Flow<'_>, strip: &Strip) {
    let built =
        strip.built_width.map_or_else(|| "not read".to_owned(), |width| format!("{} mm", width.to_mm_text()));
    flow.subheading(&format!("Run {}, beams {}", strip.run, strip.beam));
    let mut facts = format!("Clear width drawn {} mm, as built {built}.", strip.drawn_width.to_mm_text());
    if let (Some(drawn), built) = strip.make_up {
        facts.push_str(&format!(" Make-up drawn {} mm", drawn.to_mm_text()));
        facts.push_str(
            &built.map_or_else(|| ".".to_owned(), |gap| format!(", as built {} mm.", gap.to_mm_text())),
        );
    }
    if let Some(verdict) = strip.verdict {
        flow.marked(Mark::of(verdict), Mark::of(verdict).word(), STRONG);
    }
    flow.paragraph(&facts, BODY);
    let rows = if strip.measured.is_empty() { 1 } else { 2 };
    let faults = &strip.faults[..strip.faults.len().min(MOST_FAULTS)];
    let below = f32::from(u8::try_from(faults.len()).unwrap_or(0)) * FAULT;
    let height = f32::from(u8::from(rows == 2)) * (BAND + 8.0) + BAND + 12.0 + below;
    let whole = strip.built_width.unwrap_or(strip.drawn_width).max(strip.drawn_width);
    flow.drawing(height, |sheet, fonts, (_, top)| {
        let word = if strip.built_width.is_some() { "set out" } else { "drawn" };
        band(sheet, fonts, top + 3.0, word, &strip.set_out, whole);
        if rows == 2 {
            let top = top + BAND + 11.0;
            band(sheet, fonts, top, "measured", &strip.measured, whole);
            for (row, fault) in (0_u8..).zip(faults) {
                let place = top + BAND + 6.0 + f32::from(row) * FAULT;
                fault_at(sheet, fonts, across(fault.at, whole), (top + BAND, place), &fault.words);
            }
        }
    });
    for (verdict, what) in &strip.findings {
        flow.marked(Mark::of(*verdict), what, BODY);
    }
    for one in &strip.arrangements {
        flow.item("•", one, SMALL);
    }
}

/// Share of the sheet's width, in millimetres, that a length takes.
fn across(length: Length, whole: Length) -> f32 {
    const NAME: f32 = 14.0;
    #[expect(clippy::cast_possible_truncation, reason = "a place on paper")]
    let share = (length.to_mm_f64() / whole.to_mm_f64().max(1.0)) as f32;
    LEFT + NAME + share * (WIDTH - NAME)
}

fn band(sheet: &mut Sheet, fonts: &Fonts, top: f32, word: &str, pieces: &[Piece], whole: Length) {
    sheet.text(fonts, (LEFT, top + BAND / 2.0), SMALL, word);
    let (start, end) = (across(Length::ZERO, whole), across(whole, whole));
    sheet.line(&[(start, top + BAND), (end, top + BAND)], THIN);
    // Figures of beams that lie together go one below the other.
    let mut figures_end = f32::NEG_INFINITY;
    for piece in pieces {
        let (from, to) = (across(piece.from, whole), across(piece.to, whole));
        let is_beam = piece.kind == Some(InRun::Beam);
        let fill = is_beam.then_some(Ink::RULE);
        let pen = if piece.differs { HEAVY } else { THIN };
        if is_beam {
            sheet.rectangle((from, top), to - from, BAND, fill, Some(pen));
            let text = piece.from.mm_text(0);
            let half = fonts.width(FIGURE.weight, FIGURE.size, &text) / 2.0;
            let middle = f32::midpoint(from, to);
            let is_free = figures_end + 0.4 <= middle - half;
            let row = if is_free { 2.6 } else { 4.8 };
            sheet.text_centred(fonts, (middle, top + BAND + row), FIGURE, &text);
            if is_free {
                figures_end = middle + half;
            }
            if piece.verdict.is_some_and(|verdict| verdict != Verdict::Conforming) {
                sheet.text_centred(fonts, (f32::midpoint(from, to), top - 0.6), LETTER, "not OK");
            }
            continue;
        }
        sheet.rectangle((from, top + 1.5), to - from, BAND - 3.0, None, Some(pen));
        let letter = piece.kind.map_or("?", InRun::letter);
        sheet.text_centred(fonts, (f32::midpoint(from, to), top + BAND / 2.0 + 1.0), LETTER, letter);
    }
}

/// Words at the place where a fault starts, on a leader down from it.
fn fault_at(sheet: &mut Sheet, fonts: &Fonts, x: f32, (from, y): (f32, f32), words: &str) {
    sheet.line(&[(x, from), (x, y)], HEAVY);
    let width = fonts.width(STRONG.weight, SMALL.size, words);
    let style = Style::new(STRONG.weight, SMALL.size);
    if x + 2.0 + width <= LEFT + WIDTH {
        sheet.text(fonts, (x + 1.4, y + 0.8), style, words);
    } else {
        sheet.text_ending_at(fonts, (x - 1.4, y + 0.8), style, words);
    }
}

/// What must be delivered, by stage.
fn lay_out_order(flow: &mut Flow<'_>, order: &[Ordered]) {
    flow.subheading("What must be delivered, by stage");
    let columns = [Column::words("Stage", 1.6), Column::words("Item", 4.0), Column::numbers("Quantity", 1.0)];
    let row = |one: &Ordered| {
        vec![
            Cell::strong(capital(one.stage.word())),
            Cell::text(&one.item),
            Cell::text(one.quantity.to_string()),
        ]
    };
    flow.table(&columns, &order.iter().map(row).collect::<Vec<_>>());
}

fn lay_out_cuts(flow: &mut Flow<'_>, cuts: &infill_cuts::Output, piece: Length) {
    flow.subheading("Cut list of the infill");
    for stock in &cuts.stock {
        let proven = if stock.proven_least { "proven least" } else { "best found" };
        flow.paragraph(
            &format!(
                "{} infill: {} pieces of {} mm ({proven}; no list takes fewer than {}), waste {} mm, {:.1} %.",
                capital(stock.width.word()),
                stock.stock_pieces,
                piece.to_mm_text(),
                stock.lower_bound,
                stock.waste_mm.0.to_mm_text(),
                stock.waste_percent
            ),
            BODY,
        );
        let columns = [
            Column::numbers("Times", 0.6),
            Column::words("Cut each piece into, mm", 5.0),
            Column::numbers("Offcut, mm", 1.0),
        ];
        let rows: Vec<Vec<Cell>> = stock
            .cut_list
            .iter()
            .map(|cut| {
                let pieces: Vec<String> = cut.cuts_mm.iter().map(|one| one.0.to_mm_text()).collect();
                vec![
                    Cell::strong(cut.times.to_string()),
                    Cell::text(pieces.join(" + ")),
                    Cell::text(cut.offcut_mm.0.to_mm_text()),
                ]
            })
            .collect();
        flow.table(&columns, &rows);
    }
}

pub(super) fn capital(word: &str) -> String {
    let mut chars = word.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}
