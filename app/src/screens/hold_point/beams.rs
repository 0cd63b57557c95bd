//! The middle of a hold point about beams: the setting-out strip of every bay run, or the cut list of the infill as
//! bars to be read at the saw.

use egui::{Label, RichText, ScrollArea, Ui, vec2};
use gaugerod_core::inspection::bay_strip;
use gaugerod_core::plan_of_work::Feed;
use gaugerod_core::quantity::Length;
use gaugerod_core::reckon::infill_cuts;
use gaugerod_core::signoff::cut_sheets;

use super::Work;
use crate::action::Action;
use crate::screens::asking;
use crate::state::{Screen, State};
use crate::theme;
use crate::widgets::{self, Weight, buttons};

/// Whether a feed is about beams and has strips or bars instead of the plan.
pub(super) const fn is_of_beams(feed: Feed) -> bool {
    matches!(
        feed,
        Feed::ClearSpans
            | Feed::RunWidths
            | Feed::BeamFaces
            | Feed::BearingLengths
            | Feed::InfillCuts
            | Feed::BeamTops
    )
}

/// Strips or bars in the space that is left.
pub(super) fn middle_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let Some(criterion) = work.criterion else { return };
    theme::scroll(ScrollArea::vertical().id_salt("strips").auto_shrink([false, false])).show(ui, |ui| {
        if criterion.feed() == Some(Feed::InfillCuts) {
            if buttons::wide_button_ui(ui, Weight::Plain, "Cut together with other plots, cut sheets") {
                state.ask(Action::Go(Screen::Cuts(work.desk.plot.clone())));
            }
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
        if matches!(criterion.feed(), Some(Feed::BearingLengths | Feed::BeamTops)) {
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

/// The cut list of this plot alone: one bar for each way of cutting, with its pieces, its offcut and how often.
pub(super) fn cuts_ui(ui: &mut Ui, output: &infill_cuts::Output, piece: Length) {
    for stock in &output.stock {
        ui.push_id(stock.width.word(), |ui| {
            let said = RichText::new(cut_sheets::said(stock, 1)).font(theme::strong(theme::VALUE));
            ui.add(Label::new(said).wrap());
            for (index, cut) in stock.cut_list.iter().enumerate() {
                ui.push_id(index, |ui| {
                    let pieces = cut.cuts_mm.iter().map(|one| (one.0, None));
                    widgets::cut_bar_ui(ui, cut.times, pieces, cut.offcut_mm.0, piece);
                });
            }
        });
        ui.add_space(theme::GAP);
    }
}
