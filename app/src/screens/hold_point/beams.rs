//! The middle of a hold point about beams: the setting-out strip of every bay run, or the cut list of the infill as
//! bars to be read at the saw.

use egui::{Align2, Rect, RichText, ScrollArea, Stroke, StrokeKind, Ui, pos2, vec2};
use gaugerod_core::inspection::bay_strip;
use gaugerod_core::plan_of_work::Feed;
use gaugerod_core::quantity::Length;
use gaugerod_core::reckon::infill_cuts;

use super::Work;
use crate::screens::asking;
use crate::state::State;
use crate::theme;
use crate::widgets::{self, type_setting};

/// Whether a feed is about beams and has strips or bars instead of the plan.
pub(super) const fn is_of_beams(feed: Feed) -> bool {
    matches!(
        feed,
        Feed::ClearSpans | Feed::RunWidths | Feed::BeamFaces | Feed::BearingLengths | Feed::InfillCuts
    )
}

/// Strips or bars in the space that is left.
pub(super) fn middle_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let Some(criterion) = work.criterion else { return };
    theme::scroll(ScrollArea::vertical().id_salt("strips").auto_shrink([false, false])).show(ui, |ui| {
        if criterion.feed() == Some(Feed::InfillCuts) {
            let output = criterion.reckoned.first().map(|one| one.output.clone());
            if let Some(output) = output.and_then(|value| serde_json::from_value(value).ok()) {
                let piece =
                    work.desk.view.record.design().beams.as_ref().map(|beams| beams.infill.piece_mm.0);
                cuts_ui(ui, &output, piece.unwrap_or(Length::ZERO));
            }
            return;
        }
        for strip in bay_strip::strips(&work.desk.view.record) {
            ui.push_id(("run", strip.run.as_str()), |ui| {
                widgets::strip_words_ui(ui, &strip);
                let chosen = work.point.as_ref().map(|point| beam_part(point.as_str()));
                let chosen = chosen.and_then(|name| gaugerod_core::ids::PointName::new(name).ok());
                if let Some(beam) = widgets::bay_strip_ui(ui, &strip, chosen.as_ref()) {
                    // The point of this criterion at that beam: the beam itself, an end of it, or its run.
                    let at = |point: &&gaugerod_core::ids::PointName| {
                        beam_part(point.as_str()) == beam.as_str() || **point == strip.run
                    };
                    if let Some(point) = criterion.points.iter().find(at) {
                        state.drafts.point = Some(point.clone());
                        asking::stop(state);
                    }
                }
            });
        }
        if criterion.feed() == Some(Feed::BearingLengths) {
            ends_ui(ui, state, work);
        }
    });
}

/// The name of the beam within the name of one of its ends.
fn beam_part(name: &str) -> &str {
    name.split(' ').next().unwrap_or(name)
}

/// Both ends of the beam that is chosen, to go to either.
fn ends_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let (Some(criterion), Some(point)) = (work.criterion, &work.point) else { return };
    let own = beam_part(point.as_str());
    ui.horizontal_wrapped(|ui| {
        for end in criterion.points.iter().filter(|one| beam_part(one.as_str()) == own) {
            if widgets::choice_ui(ui, end == point, end.as_str(), vec2(120.0, theme::TOUCH)) {
                state.drafts.point = Some(end.clone());
            }
        }
    });
}

/// The cut list: one bar for each way of cutting, with its pieces, its offcut and how often.
pub(super) fn cuts_ui(ui: &mut Ui, output: &infill_cuts::Output, piece: Length) {
    let sheet = *theme::sheet(ui);
    for stock in &output.stock {
        ui.push_id(stock.width.word(), |ui| {
            let proven = if stock.proven_least { "proven least" } else { "best found" };
            ui.label(
                RichText::new(format!(
                    "{} infill: {} pieces of {} mm, {proven}",
                    stock.width.word(),
                    stock.stock_pieces,
                    piece.to_mm_text()
                ))
                .font(theme::strong(theme::VALUE)),
            );
            let waste = format!("waste {} m, {:.1} %", stock.waste_mm.0.m_text(2), stock.waste_percent);
            ui.label(RichText::new(waste).color(sheet.soft));
            for (index, cut) in stock.cut_list.iter().enumerate() {
                ui.push_id(index, |ui| bar_ui(ui, cut, piece, &sheet));
            }
        });
        ui.add_space(theme::GAP);
    }
}

fn bar_ui(ui: &mut Ui, cut: &infill_cuts::Cut, piece: Length, sheet: &theme::Sheet) {
    const TIMES: f32 = 64.0;
    let (id, rect) = ui.allocate_space(vec2(ui.available_width(), 44.0));
    let pieces: Vec<String> = cut.cuts_mm.iter().map(|one| one.0.to_mm_text()).collect();
    let name =
        format!("{} times: {} mm, offcut {} mm", cut.times, pieces.join(" + "), cut.offcut_mm.0.to_mm_text());
    type_setting::picture(ui, rect, id, &name);
    let painter = ui.painter();
    painter.text(
        pos2(rect.left() + 4.0, rect.center().y),
        Align2::LEFT_CENTER,
        format!("{} ×", cut.times),
        theme::strong(theme::VALUE),
        sheet.ink,
    );
    let left = rect.left() + TIMES;
    let width = rect.width() - TIMES - 8.0;
    #[expect(clippy::cast_possible_truncation, reason = "a place on screen")]
    let x = |length: Length| left + (length.to_mm_f64() / piece.to_mm_f64().max(1.0)) as f32 * width;
    let bar = Rect::from_min_max(pos2(left, rect.top() + 4.0), pos2(left + width, rect.bottom() - 4.0));
    painter.rect(bar, 0.0, sheet.paper, Stroke::new(theme::THIN, sheet.rule), StrokeKind::Inside);
    let mut at = Length::ZERO;
    for one in &cut.cuts_mm {
        let part = Rect::from_min_max(pos2(x(at), bar.top()), pos2(x(at + one.0), bar.bottom()));
        painter.rect(part, 0.0, sheet.field, Stroke::new(theme::THICK, sheet.ink), StrokeKind::Inside);
        painter.text(
            part.center(),
            Align2::CENTER_CENTER,
            one.0.to_mm_text(),
            theme::figures(theme::BODY),
            sheet.ink,
        );
        at += one.0;
    }
}
