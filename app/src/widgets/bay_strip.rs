//! A bay run to scale: as set out above, as measured below; and cut lists of infill as bars. A tap near a beam
//! chooses it: beams are narrower than a finger, so the nearest one counts.

use egui::{Align2, Rect, Stroke, StrokeKind, Ui, pos2, vec2};
use gaugerod_core::conformity::Verdict;
use gaugerod_core::floor::beams::InRun;
use gaugerod_core::ids::PointName;
use gaugerod_core::inspection::bay_strip::{Piece, Strip};
use gaugerod_core::quantity::Length;

use crate::theme;
use crate::widgets::hatch;
use crate::widgets::type_setting;
use crate::widgets::verdict_mark::{self, Mark};

/// Height of one band.
const BAND: f32 = 46.0;
/// Room for the name of a band on its left.
const NAME: f32 = 84.0;
/// Room above a band for marks, and below it for figures.
const ABOVE: f32 = 22.0;
const BELOW: f32 = 22.0;

/// Height of a line of words at a fault, and the most of them.
const FAULT: f32 = 22.0;
const MOST_FAULTS: usize = 4;
/// How near to the middle of a beam a finger means the beam and not the bay beside it, in points.
const ON_BEAM: f32 = 9.0;

/// What was tapped on a strip.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StripTap {
    /// A beam.
    Beam(PointName),
    /// The bay between two beams.
    Bay(PointName, PointName),
}

/// Paints a run; returns the beam or the bay that was tapped.
pub fn bay_strip_ui(ui: &mut Ui, strip: &Strip, chosen: Option<&PointName>) -> Option<StripTap> {
    let sheet = *theme::sheet(ui);
    let bands = if strip.measured.is_empty() { 1 } else { 2 };
    let faults = &strip.faults[..strip.faults.len().min(MOST_FAULTS)];
    let height = f32::from(u8::try_from(bands).unwrap_or(2)) * (ABOVE + BAND + BELOW)
        + f32::from(u8::try_from(faults.len()).unwrap_or(0)) * FAULT;
    let width = ui.available_width().max(280.0);
    let (id, rect) = ui.allocate_space(vec2(width, height));
    let said: Vec<&str> = faults.iter().map(|fault| fault.words.as_str()).collect();
    let name = format!("Run {}: tap a beam or a bay. {}", strip.run, said.join("; "));
    let response = type_setting::tap(ui, rect, id, &name);
    let whole = strip.built_width.unwrap_or(strip.drawn_width).max(strip.drawn_width);
    let scale = Scale { left: rect.left() + NAME, width: (rect.width() - NAME - 8.0).max(40.0), whole };
    let word = if strip.built_width.is_some() { "set out" } else { "drawn" };
    let mut top = rect.top() + ABOVE;
    paint_band(ui, &scale, top, word, &strip.set_out, chosen, &sheet);
    if bands == 2 {
        top += BAND + BELOW + ABOVE;
        paint_band(ui, &scale, top, "measured", &strip.measured, chosen, &sheet);
        for (row, fault) in (0_u8..).zip(faults) {
            let place = top + BAND + BELOW + f32::from(row) * FAULT;
            fault_ui(ui, rect, scale.x(fault.at), (top + BAND, place), &fault.words, &sheet);
        }
    }
    let at = response.interact_pointer_pos().filter(|_| response.clicked())?;
    tapped(strip, &scale, at.x)
}

/// Words at the place where a fault starts, on a leader down from it.
fn fault_ui(ui: &Ui, area: Rect, x: f32, (from, top): (f32, f32), words: &str, sheet: &theme::Sheet) {
    let painter = ui.painter();
    let middle = top + FAULT / 2.0;
    let font = theme::strong(theme::LABEL);
    let set = type_setting::galley(painter, words, font, sheet.ink, area.width() - 24.0, 1);
    let leads_right = x + 8.0 + set.size().x <= area.right();
    let (end, left) = if leads_right { (x + 6.0, x + 8.0) } else { (x - 6.0, x - 8.0 - set.size().x) };
    let leader = Stroke::new(theme::THICK, sheet.bad);
    painter.line_segment([pos2(x, from), pos2(x, middle)], leader);
    painter.line_segment([pos2(x, middle), pos2(end, middle)], leader);
    painter.galley(pos2(left.max(area.left()), middle - set.size().y / 2.0), set, sheet.ink);
}

/// What a finger at `x` means: a beam when it is on one, else the bay that it is in.
fn tapped(strip: &Strip, scale: &Scale, x: f32) -> Option<StripTap> {
    let beams: Vec<(f32, &PointName)> = strip
        .set_out
        .iter()
        .filter_map(|piece| {
            Some((f32::midpoint(scale.x(piece.from), scale.x(piece.to)), piece.beam.as_ref()?))
        })
        .collect();
    let (at, nearest) = beams
        .iter()
        .min_by(|a, b| (a.0 - x).abs().total_cmp(&(b.0 - x).abs()))
        .map(|(at, name)| (*at, *name))?;
    let before = beams.iter().rev().find(|(at, _)| *at < x);
    let after = beams.iter().find(|(at, _)| x <= *at);
    match (before, after) {
        (Some((_, before)), Some((_, after))) if ON_BEAM < (at - x).abs() => {
            Some(StripTap::Bay((*before).clone(), (*after).clone()))
        }
        _ => Some(StripTap::Beam(nearest.clone())),
    }
}

struct Scale {
    left: f32,
    width: f32,
    whole: Length,
}

impl Scale {
    #[expect(clippy::cast_possible_truncation, reason = "a place on screen")]
    fn x(&self, length: Length) -> f32 {
        self.left + (length.to_mm_f64() / self.whole.to_mm_f64().max(1.0)) as f32 * self.width
    }
}

fn paint_band(
    ui: &Ui,
    scale: &Scale,
    top: f32,
    word: &str,
    pieces: &[Piece],
    chosen: Option<&PointName>,
    sheet: &theme::Sheet,
) {
    let painter = ui.painter();
    painter.text(
        pos2(scale.left - NAME + 4.0, top + BAND / 2.0),
        Align2::LEFT_CENTER,
        word,
        theme::font(theme::LABEL),
        sheet.soft,
    );
    let (start, end) = (scale.x(Length::ZERO), scale.x(scale.whole));
    painter
        .line_segment([pos2(start, top + BAND), pos2(end, top + BAND)], Stroke::new(theme::THICK, sheet.ink));
    let mut figures_end = f32::NEG_INFINITY;
    for piece in pieces {
        let rect = Rect::from_min_max(pos2(scale.x(piece.from), top), pos2(scale.x(piece.to), top + BAND));
        if piece.kind == Some(InRun::Beam) {
            let is_chosen = piece.beam.is_some() && piece.beam.as_ref() == chosen;
            let fill = match piece.verdict {
                _ if is_chosen => sheet.next,
                Some(verdict) => sheet.wash(Mark::from(verdict).fill(sheet)),
                None => sheet.band,
            };
            let line = if is_chosen || piece.doubled { theme::EXTRA / 1.5 } else { theme::THICK };
            painter.rect(rect, 0.0, fill, Stroke::new(line, sheet.ink), StrokeKind::Inside);
            if let Some(verdict) = piece.verdict {
                let at = pos2(rect.center().x, top - 11.0);
                verdict_mark::paint(painter, at, 18.0, Mark::from(verdict), sheet);
            }
            // Figures where they do not run into one another.
            let text = piece.from.mm_text(0);
            let galley = painter.layout_no_wrap(text, theme::figures(theme::LABEL), sheet.ink);
            let left = rect.center().x - galley.size().x / 2.0;
            if left > figures_end + 4.0 {
                figures_end = left + galley.size().x;
                painter.galley(pos2(left, top + BAND + 2.0), galley, sheet.ink);
            }
            continue;
        }
        let infill = rect.shrink2(vec2(0.0, 7.0));
        let line = if piece.differs { theme::EXTRA } else { theme::THIN };
        let fill = piece.verdict.map_or(sheet.paper, |verdict| sheet.wash(Mark::from(verdict).fill(sheet)));
        painter.rect(infill, 0.0, fill, Stroke::new(line, sheet.ink), StrokeKind::Inside);
        if piece.kind == Some(InRun::MakeUp) {
            let lines = hatch::parallels(&hatch::corners(infill), vec2(1.0, -1.0), 7.0);
            for line in lines {
                painter.line_segment(line, Stroke::new(theme::THIN, sheet.rule));
            }
        }
        let letter = piece.kind.map_or("?", InRun::letter);
        if infill.width() > 12.0 {
            painter.text(
                infill.center(),
                Align2::CENTER_CENTER,
                letter,
                theme::strong(theme::BODY),
                sheet.ink,
            );
        }
    }
}

/// What a run says in words, under its strip.
pub fn strip_words_ui(ui: &mut Ui, strip: &Strip) {
    let mut facts = vec![format!("drawn {} mm wide", strip.drawn_width.to_mm_text())];
    if let Some(built) = strip.built_width {
        facts.push(format!("built {} mm", built.to_mm_text()));
    }
    if let (Some(drawn), built) = strip.make_up {
        facts.push(format!("make-up drawn {} mm", drawn.to_mm_text()));
        if let Some(built) = built {
            facts.push(format!("will be {} mm", built.to_mm_text()));
        }
    }
    ui.add(egui::Label::new(format!("Run {}: {}.", strip.run, facts.join(", "))).wrap());
    for (verdict, what) in strip.findings.iter().filter(|(verdict, _)| *verdict != Verdict::Conforming) {
        crate::widgets::notice_ui(ui, Mark::from(*verdict), what);
    }
    if !strip.arrangements.is_empty() {
        ui.label(
            egui::RichText::new("For the engineer to approve, no order:").font(theme::strong(theme::BODY)),
        );
    }
    for one in &strip.arrangements {
        ui.add(egui::Label::new(format!("{one}.")).wrap());
    }
}
