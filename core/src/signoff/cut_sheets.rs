//! Cut sheets: what is cut for each plot, one page a plot, to be read beside the saw.
//!
//! They are working papers: unsigned, marked so on every page, and no part of a sign-off. The reckoning's input and
//! output are attached, so that anybody can reckon them again. The same bytes come of the same plan and time.

use super::attach::Attachment;
use super::beams::capital;
use super::finish::{About, WriteFault, write};
use super::flow::{BODY, Cell, Column, Field, Flow, LEFT, SMALL, STRONG, TitleBlock, WIDTH};
use super::fonts::{Fonts, Weight};
use super::page::{Ink, Pen, Sheet, Style};
use super::paper::Paper;
use crate::inspection::cut_plan::{Bar, CutPlan, PlotCuts, WidthCuts};
use crate::quantity::Length;
use crate::reckon::infill_cuts::Stock;
use crate::time::Timestamp;

/// What every page says.
const NOT_SIGNED: &str = "Cut sheet for the saw: not signed, no part of the signed record.";
/// Heights of a bar that are tried, the largest first, until a plot's bars fit its page.
const BARS: [f32; 4] = [13.0, 10.0, 8.0, 6.0];
/// What is written beside the bars of a page, mm.
const BESIDE_BARS: f32 = 92.0;
/// From the first to the last line that a page can bear, mm.
const PAGE: f32 = 245.0;
/// Room for the number of times on the left of a bar.
const TIMES: f32 = 16.0;
/// A piece narrower than this gets no figure of its own in the bar, mm.
const LEAST_FIGURE: f32 = 7.0;

/// Makes the cut sheets of a plan: one page for each plot.
///
/// # Errors
/// The document cannot be written.
pub fn make(
    plan: &CutPlan,
    site: &str,
    made: Timestamp,
    fonts: &Fonts,
    producer: &str,
) -> Result<Vec<u8>, WriteFault> {
    let sheets = plan.plots.iter().flat_map(|one| page(plan, one, site, made, fonts)).collect();
    let names: Vec<&str> = plan.plots.iter().map(|one| one.plot.as_str()).collect();
    let about = About {
        title: format!("Cut sheets of {}, plots {}", site, names.join(", ")),
        author: site.to_owned(),
        subject: NOT_SIGNED.to_owned(),
        producer: producer.to_owned(),
        created: made,
    };
    let reckoned =
        serde_json::json!({ "reckoning": "infill-cuts", "input": plan.input, "output": plan.output });
    let attachment = Attachment {
        name: "cuts.json".to_owned(),
        media_type: "application/json".to_owned(),
        description: "Input and output of the reckoning infill-cuts".to_owned(),
        bytes: reckoned.to_string().into_bytes(),
        modified: made,
    };
    write(Paper { sheets, photos: std::collections::BTreeMap::new() }, fonts, &about, attachment)
}

fn page(plan: &CutPlan, own: &PlotCuts, site: &str, made: Timestamp, fonts: &Fonts) -> Vec<Sheet> {
    let invented = if own.invented { " Invented data." } else { "" };
    let block = TitleBlock {
        upper: vec![
            Field::new("Site", site, 0.40),
            Field::new("Plot", own.plot.to_string(), 0.14),
            Field::new("Drawing", own.drawing.0.clone(), 0.22),
            Field::new("Revision", own.drawing.1.clone(), 0.12),
        ],
        lower: vec![
            Field::new("Document", "Cut sheet of the infill, unsigned", 0.42),
            Field::new("Made", made.minute(), 0.24),
            Field::new("Cut together", together(plan), 0.34),
        ],
        head: format!("{NOT_SIGNED}{invented}"),
        // Not across the page as on a draft: the figures are read beside the saw.
        across: None,
    };
    let mut flow = Flow::without_signature(fonts, block);
    flow.title(&format!("Plot {}: infill to cut", own.plot));
    flow.note("Not signed", "A working paper for the saw, no part of the signed record.");
    runs(&mut flow, own);
    let bars: usize = own.widths.iter().map(|width| width.bars.len()).sum();
    let room = PAGE - BESIDE_BARS;
    // A long list takes lower bars; one that fits at no height goes on on another sheet.
    let count = u16::try_from(bars).map_or(f32::INFINITY, f32::from);
    let height = BARS.into_iter().find(|height| count * height <= room).unwrap_or(BARS[BARS.len() - 1]);
    for width in &own.widths {
        bars_of(&mut flow, plan, width, height);
    }
    flow.into_sheets()
}

fn together(plan: &CutPlan) -> String {
    match plan.plots.len() {
        1 => "this plot alone".to_owned(),
        many => format!("{many} plots, see the others' sheets"),
    }
}

fn runs(flow: &mut Flow<'_>, own: &PlotCuts) {
    let columns = [
        Column::words("Run", 0.8),
        Column::words("Infill", 0.9),
        Column::numbers("Rows", 0.6),
        Column::words("Lay each row in this order, mm", 5.0),
    ];
    let rows: Vec<Vec<Cell>> = own
        .runs
        .iter()
        .map(|run| {
            let pieces: Vec<String> = run.pieces_mm.iter().map(|one| one.0.to_mm_text()).collect();
            let mut laid = pieces.join(" + ");
            if let Some(reason) = &run.reason {
                laid = format!("{laid}: {reason}");
            }
            vec![
                Cell::strong(&run.run),
                Cell::text(run.width.word()),
                Cell::text(run.count.to_string()),
                Cell::text(laid),
            ]
        })
        .collect();
    flow.table(&columns, &rows);
}

fn bars_of(flow: &mut Flow<'_>, plan: &CutPlan, own: &WidthCuts, height: f32) {
    let piece = plan.input.piece_mm.0;
    let stock = plan.output.stock.iter().find(|stock| stock.width == own.width);
    flow.subheading(&format!(
        "{} infill: {} pieces of {} mm, {} of them laid whole",
        capital(own.width.word()),
        own.opened,
        piece.to_mm_text(),
        own.whole
    ));
    for bar in &own.bars {
        flow.drawing(height, |sheet, fonts, (_, top)| paint(sheet, fonts, top, height, bar, piece));
    }
    for one in &own.given {
        let word = if one.count == 1 { "piece" } else { "pieces" };
        let what =
            format!("{} {word} of {} mm come cut from plot {}", one.count, one.length.to_mm_text(), one.from);
        flow.item("→", &what, STRONG);
    }
    flow.space(1.0);
    flow.paragraph(&format!("Waste of these: {} m with the saw's kerf.", own.waste.m_text(2)), BODY);
    if let Some(stock) = stock {
        flow.paragraph(&said(stock, plan.plots.len()), SMALL);
    }
}

/// How good the cut list is, in words: the stock pieces, the bound, whether it is proven, the waste.
pub fn said(stock: &Stock, plots: usize) -> String {
    let of = if plots == 1 { String::new() } else { format!(" over all {plots} plots") };
    let proven = if stock.proven_least {
        "proven: no cut list takes fewer".to_owned()
    } else {
        let gap = stock.stock_pieces - stock.lower_bound;
        let share = 100.0 * f64::from(gap) / f64::from(stock.lower_bound.max(1));
        format!(
            "the best found, not proven: no list takes fewer than {}, so at most {gap} ({share:.1} %) too many",
            stock.lower_bound
        )
    };
    format!(
        "{} infill{of}: {} stock pieces, {proven}; waste {} m, {:.1} %.",
        capital(stock.width.word()),
        stock.stock_pieces,
        stock.waste_mm.0.m_text(2),
        stock.waste_percent
    )
}

fn paint(sheet: &mut Sheet, fonts: &Fonts, top: f32, height: f32, bar: &Bar, piece: Length) {
    let size = (height * 1.1).clamp(7.0, 13.0);
    let figure = Style::new(Weight::Semibold, size);
    let small = Style::new(Weight::Regular, size.min(7.0));
    let (left, whole, band) = (LEFT + TIMES, WIDTH - TIMES, height - 2.0);
    let middle = top + band / 2.0 + size * 0.12;
    sheet.text(fonts, (LEFT, middle), figure, &format!("{} ×", bar.times));
    #[expect(clippy::cast_possible_truncation, reason = "a place on paper")]
    let x = |length: Length| left + (length.to_mm_f64() / piece.to_mm_f64().max(1.0)) as f32 * whole;
    sheet.rectangle((left, top), whole, band, Some(Ink::WASH), Some(Pen::NARROW));
    let mut at = Length::ZERO;
    for (length, other) in &bar.cuts {
        let (from, to) = (x(at), x(at + *length));
        sheet.rectangle((from, top), to - from, band, Some(Ink::PAPER), Some(Pen::WIDE));
        if to - from >= LEAST_FIGURE {
            let centre = f32::midpoint(from, to);
            let text = length.to_mm_text();
            match other {
                None => sheet.text_centred(fonts, (centre, middle), figure, &text),
                Some(plot) => {
                    sheet.text_centred(fonts, (centre, middle - 1.0), figure, &text);
                    let words = format!("for plot {plot}");
                    sheet.text_centred(fonts, (centre, top + band - 0.6), small, &words);
                }
            }
        }
        at += *length;
    }
    let offcut = x(piece) - x(at);
    let text = format!("offcut {}", bar.offcut.to_mm_text());
    if bar.offcut > Length::ZERO && fonts.width(small.weight, small.size, &text) + 1.0 <= offcut {
        sheet.text_ending_at(fonts, (left + whole - 0.8, middle), small, &text);
    }
}
