//! The middle of a hold point about beams: the setting-out strip of every bay run, or the cut list of the infill as
//! bars to be read at the saw.

use egui::{Label, RichText, ScrollArea, Ui, vec2};
use gaugerod_core::ids::PointName;
use gaugerod_core::inspection::judge::CriterionStanding;
use gaugerod_core::inspection::{bay_strip, spans};
use gaugerod_core::plan_of_work::Feed;
use gaugerod_core::quantity::Length;
use gaugerod_core::reckon::infill_cuts;
use gaugerod_core::signoff::cut_sheets;

use super::{Work, delivery, keypad_column};
use crate::action::Action;
use crate::screens::asking;
use crate::state::{Screen, State};
use crate::theme;
use crate::widgets::{self, Mark, StripTap, Weight, buttons};

/// Whether a feed is about beams and has strips or bars instead of the plan.
pub(super) const fn is_of_beams(feed: Feed) -> bool {
    matches!(
        feed,
        Feed::Deliveries
            | Feed::ClearSpans
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
        if criterion.feed() == Some(Feed::Deliveries) {
            return delivery::middle_ui(ui, criterion);
        }
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
        let typed = typed(state, work, criterion);
        if criterion.feed() == Some(Feed::ClearSpans) {
            return spans_ui(ui, state, work, criterion, typed);
        }
        let typing = typed.as_ref().zip(criterion.feed()).map(|((point, value), feed)| bay_strip::Typing {
            feed,
            point,
            value: *value,
        });
        for strip in bay_strip::strips_while(&work.desk.view.record, typing) {
            ui.push_id(("run", strip.run.as_str()), |ui| {
                widgets::strip_words_ui(ui, &strip);
                let chosen = work.point.as_ref().map(|point| beam_part(point.as_str()));
                let chosen = chosen.and_then(|name| PointName::new(name).ok());
                match widgets::bay_strip_ui(ui, &strip, chosen.as_ref()) {
                    Some(StripTap::Beam(beam)) => choose(state, criterion, &beam, &strip.run),
                    Some(StripTap::Bay(before, after)) => {
                        choose_bay(state, criterion, &before, &after, &strip.run);
                    }
                    None => {}
                }
                asked_ui(ui, state, criterion, &strip.run);
            });
        }
        if matches!(criterion.feed(), Some(Feed::BearingLengths | Feed::BeamTops)) {
            ends_ui(ui, state, work);
        }
    });
}

/// The point that is up with the figures that are typed for it so far.
fn typed(state: &State, work: &Work<'_>, criterion: &CriterionStanding) -> Option<(PointName, Length)> {
    let point = work.point.clone()?;
    let name = keypad_column::draft_name(work.desk, work.id, &criterion.id, &point);
    let text = state.drafts.text(&name);
    let value = Length::parse_mm(text.strip_suffix('.').unwrap_or(text)).ok()?;
    (Length::ZERO <= value).then_some((point, value))
}

/// Goes to the point of this criterion at a beam: the beam itself, an end of it, or its run.
fn choose(state: &mut State, criterion: &CriterionStanding, beam: &PointName, run: &PointName) {
    let at = |point: &&PointName| beam_part(point.as_str()) == beam.as_str() || *point == run;
    if let Some(point) = criterion.points.iter().find(at) {
        state.drafts.text.remove(BAY);
        state.drafts.point = Some(point.clone());
        asking::stop(state);
    }
}

/// The draft that holds the two beams of a bay that looks wrong, while they are asked for.
const BAY: &str = "strip/bay";

/// A bay that looks wrong: its two beams are asked for next, the one that was not measured first.
fn choose_bay(
    state: &mut State,
    criterion: &CriterionStanding,
    before: &PointName,
    after: &PointName,
    run: &PointName,
) {
    if criterion.feed() != Some(Feed::BeamFaces) {
        return choose(state, criterion, before, run);
    }
    let is_read = |beam: &PointName| criterion.reading_at(beam).is_some();
    let (first, second) = if is_read(before) && !is_read(after) { (after, before) } else { (before, after) };
    choose(state, criterion, first, run);
    state.drafts.text.insert(BAY.to_owned(), format!("{first}\n{second}"));
}

fn bay(state: &State) -> Option<(PointName, PointName)> {
    let (first, second) = state.drafts.text(BAY).split_once('\n')?;
    Some((PointName::new(first).ok()?, PointName::new(second).ok()?))
}

/// The other beam of a bay that looks wrong, after its first one.
pub(super) fn other_of_bay(
    state: &State,
    criterion: &CriterionStanding,
    point: &PointName,
) -> Option<PointName> {
    let (first, second) = bay(state)?;
    (first == *point && criterion.points.contains(&second)).then_some(second)
}

/// Says which two beams are asked for.
fn asked_ui(ui: &mut Ui, state: &State, criterion: &CriterionStanding, run: &PointName) {
    let Some((first, second)) = bay(state).filter(|_| criterion.feed() == Some(Feed::BeamFaces)) else {
        return;
    };
    let of_run =
        |beam: &PointName| beam.as_str().strip_prefix(run.as_str()).is_some_and(|rest| rest.starts_with('/'));
    if of_run(&first) {
        let words = format!("This bay looks wrong: measure {first}, then {second}.");
        ui.add(Label::new(RichText::new(words).font(theme::strong(theme::BODY))).wrap());
    }
}

/// Before the first beam is lifted: every line in words, with the longest clear that still works.
fn spans_ui(
    ui: &mut Ui,
    state: &mut State,
    work: &Work<'_>,
    criterion: &CriterionStanding,
    typed: Option<(PointName, Length)>,
) {
    let typed = typed.as_ref().map(|(point, value)| (point, *value));
    for run in spans::runs(&work.desk.view.record, typed) {
        ui.push_id(("spans", run.run.as_str()), |ui| {
            ui.label(RichText::new(format!("Run {}", run.run)).font(theme::strong(theme::HEADING)));
            for fact in &run.facts {
                ui.add(Label::new(fact).wrap());
            }
            for line in &run.lines {
                ui.push_id(line.line.as_str(), |ui| span_line_ui(ui, state, work, criterion, line));
            }
        });
        ui.add_space(theme::GAP);
    }
}

fn span_line_ui(
    ui: &mut Ui,
    state: &mut State,
    work: &Work<'_>,
    criterion: &CriterionStanding,
    line: &spans::SpanLine,
) {
    ui.horizontal(|ui| {
        let is_up = work.point.as_ref() == Some(&line.line);
        if widgets::choice_ui(ui, is_up, line.line.as_str(), vec2(92.0, theme::TOUCH))
            && criterion.points.contains(&line.line)
        {
            state.drafts.point = Some(line.line.clone());
            asking::stop(state);
        }
        widgets::mark_ui(ui, line.verdict.map_or(Mark::Owed, Mark::from), 26.0);
        ui.vertical(|ui| {
            for words in &line.words {
                ui.add(Label::new(words).wrap());
            }
        });
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
