//! What must be true: one box for each criterion, with its limit, its source and what was found under the one
//! that is being worked on.

use egui::{RichText, ScrollArea, Stroke, Ui, pos2, vec2};
use gaugerod_core::conformity::Verdict;
use gaugerod_core::inspection::judge::CriterionStanding;

use super::{Work, choose, level_book_ui, wants_levels};
use crate::screens::{asking, desk, marks};
use crate::state::State;
use crate::theme;
use crate::widgets::{self, Mark, type_setting, verdict_mark};

/// The criteria in the space that is left.
pub(super) fn criteria_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    ui.heading(&work.standing.title);
    let soft = theme::sheet(ui).soft;
    ui.horizontal(|ui| {
        ui.spacing_mut().interact_size.y = 24.0; // nothing here is tapped
        widgets::mark_ui(ui, marks::of_hold_point(work.standing), 22.0);
        ui.label(RichText::new(work.standing.state.word()).font(theme::strong(theme::BODY)));
    });
    theme::scroll(ScrollArea::vertical().id_salt("criteria").auto_shrink([false, false])).show(ui, |ui| {
        ui.set_width(ui.available_width() - 4.0);
        let waiting: Vec<&str> = work.standing.waiting_for.iter().map(|id| work.desk.title_of(id)).collect();
        if !waiting.is_empty() {
            widgets::notice_ui(ui, Mark::NotYet, &format!("Not open: waits for {}.", waiting.join(", ")));
        }
        for criterion in &work.standing.criteria {
            let chosen = work.criterion.is_some_and(|own| own.id == criterion.id);
            ui.push_id(("criterion", criterion.id.as_str()), |ui| {
                if box_ui(ui, criterion, chosen) && !chosen {
                    choose(state, work.standing, criterion);
                    asking::stop(state);
                }
                if chosen {
                    found_ui(ui, criterion);
                    if wants_levels(criterion) {
                        level_book_ui(ui, state, work.desk, work.id, criterion);
                    }
                }
            });
        }
        let cleared = ui.available_height();
        if cleared > 0.0 {
            ui.label(RichText::new(under(work)).color(soft).font(theme::font(theme::LABEL)));
        }
    });
}

/// Who offers and who releases.
fn under(work: &Work<'_>) -> String {
    format!(
        "Offered by the {}, released by the {}.",
        desk::roles(&work.plan.offered_by),
        desk::roles(&work.plan.released_by)
    )
}

/// One box; true when it was tapped.
fn box_ui(ui: &mut Ui, criterion: &CriterionStanding, chosen: bool) -> bool {
    let sheet = theme::sheet(ui);
    let mark = marks::of_criterion(criterion);
    let progress = marks::progress(criterion);
    let width = ui.available_width();
    let room = width - 54.0;
    let title =
        type_setting::galley(ui.painter(), &criterion.title, theme::strong(theme::BODY), sheet.ink, room, 4);
    let below = type_setting::galley(ui.painter(), &progress, theme::font(theme::BODY), sheet.ink, room, 2);
    let height = (title.size().y + below.size().y + 18.0).max(theme::TOUCH);
    let (id, rect) = ui.allocate_space(vec2(width, height));
    let name = format!("{}: {progress}, {}", criterion.title, mark.name());
    let response = type_setting::tap(ui, rect, id, &name);
    let (fill, stroke) = if chosen {
        (sheet.wash(sheet.next), Stroke::new(3.0, sheet.ink))
    } else {
        (sheet.field, sheet.thin())
    };
    type_setting::boxed(ui, rect, fill, stroke, &response);
    let top = rect.center().y - f32::midpoint(title.size().y, below.size().y);
    let under = top + title.size().y;
    ui.painter().galley(pos2(rect.left() + 12.0, top), title, sheet.ink);
    ui.painter().galley(pos2(rect.left() + 12.0, under), below, sheet.ink);
    verdict_mark::paint(ui.painter(), pos2(rect.right() - 22.0, rect.center().y), 26.0, mark, sheet);
    response.clicked()
}

/// The limit, the source, and what the reckoning found.
fn found_ui(ui: &mut Ui, criterion: &CriterionStanding) {
    let sheet = theme::sheet(ui);
    if let Some(limit) = &criterion.limit {
        ui.add(
            egui::Label::new(RichText::new(format!("Limit: {limit}")).font(theme::strong(theme::BODY)))
                .wrap(),
        );
    }
    ui.add(egui::Label::new(RichText::new(format!("Source: {}", criterion.source)).color(sheet.soft)).wrap());
    for finding in &criterion.findings {
        if finding.verdict == Verdict::Conforming && !finding.caution {
            continue;
        }
        if finding.caution {
            widgets::caution_bar_ui(ui, &[&finding.what]);
            continue;
        }
        let mark = if finding.settled { Mark::Concession } else { Mark::from(finding.verdict) };
        widgets::notice_ui(ui, mark, &finding.what);
    }
    for reading in &criterion.readings {
        if let Some(trial) = reading.trial.as_ref().filter(|trial| trial.verdict != Verdict::Conforming) {
            let words = format!("{}: {}", reading.point, trial.words);
            widgets::notice_ui(ui, marks::of_reading(reading, criterion), &words);
        }
    }
}
