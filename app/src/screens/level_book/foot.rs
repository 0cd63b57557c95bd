//! The foot of a level book: the sums that a booker checks, how the book closes, with which instrument and from which
//! bench mark. Ruled like the title block of a drawing.

use egui::{Align2, Rect, StrokeKind, Ui, pos2, vec2};
use gaugerod_core::conformity::Verdict;
use gaugerod_core::entry::BookMethod;
use gaugerod_core::quantity::Length;

use super::typed;
use super::work::Work;
use crate::theme;
use crate::widgets::{Mark, type_setting, verdict_mark};

/// Height of a row of fields, in points.
const ROW: f32 = 44.0;

/// One field: caption, value, mark, and how much room it wants beside the others.
struct Field {
    caption: String,
    value: String,
    mark: Option<Mark>,
    share: f32,
}

fn field(caption: impl Into<String>, value: String, share: f32) -> Field {
    Field { caption: caption.into(), value, mark: None, share }
}

/// The foot, over the width that is left.
pub(super) fn foot_ui(ui: &mut Ui, work: &Work<'_>) {
    let rows = [sums(work), means(work)];
    let sheet = theme::sheet(ui);
    let rows: Vec<&Vec<Field>> = rows.iter().filter(|row| !row.is_empty()).collect();
    #[expect(clippy::cast_precision_loss, reason = "two rows")]
    let (id, whole) = ui.allocate_space(vec2(ui.available_width(), ROW * rows.len() as f32));
    ui.painter().rect_filled(whole, 0.0, sheet.paper);
    let mut top = whole.top();
    for row in &rows {
        let shares: f32 = row.iter().map(|one| one.share).sum();
        let mut left = whole.left();
        for one in *row {
            let width = whole.width() * one.share / shares.max(0.1);
            field_ui(ui, Rect::from_min_size(pos2(left, top), vec2(width, ROW)), one);
            left += width;
        }
        ui.painter().hline(whole.x_range(), top, sheet.thin());
        top += ROW;
    }
    ui.painter().rect_stroke(whole, 0.0, sheet.thick(), StrokeKind::Inside);
    let spoken: Vec<String> =
        rows.into_iter().flatten().map(|one| format!("{} {}", one.caption, one.value)).collect();
    type_setting::picture(ui, whole, id, &spoken.join(", "));
}

fn field_ui(ui: &Ui, cell: Rect, one: &Field) {
    let sheet = theme::sheet(ui);
    let painter = ui.painter();
    let caption = pos2(cell.left() + 7.0, cell.top() + 4.0);
    type_setting::line(
        painter,
        caption,
        Align2::LEFT_TOP,
        &one.caption,
        theme::font(12.0),
        sheet.soft,
        cell.width() - 10.0,
    );
    let mut left = cell.left() + 7.0;
    if let Some(mark) = one.mark {
        verdict_mark::paint(painter, pos2(left + 10.0, cell.bottom() - 14.0), 20.0, mark, sheet);
        left += 26.0;
    }
    type_setting::line(
        painter,
        pos2(left, cell.bottom() - 14.0),
        Align2::LEFT_CENTER,
        &one.value,
        theme::strong(theme::BODY),
        sheet.ink,
        cell.right() - left - 5.0,
    );
    painter.vline(cell.right(), cell.y_range(), sheet.hairline());
}

/// What the book adds up to.
fn sums(work: &Work<'_>) -> Vec<Field> {
    let Ok(reduced) = &work.sheet.reduced else { return Vec::new() };
    let (checks, output) = (&reduced.output.checks, &reduced.output);
    let metres = |length: Length| typed::metres(length);
    let mut row = Vec::new();
    let by_sights = checks.sum_back_m.0 - checks.sum_fore_m.0;
    let last = checks.last_minus_first_m.0;
    let adds_up = if by_sights == last { Mark::Conforming } else { Mark::Nonconforming };
    match work.method() {
        BookMethod::Receiver => {}
        // Until the fore sight is in, back less fore says nothing of the last level.
        _ if !ends_on_fore(work) => {
            row.push(field("Σ back", metres(checks.sum_back_m.0), 1.0));
            row.push(field("Σ fore", metres(checks.sum_fore_m.0), 1.0));
            row.push(field("last − first", metres(last), 1.2));
        }
        _ => {
            row.push(field("Σ back", metres(checks.sum_back_m.0), 1.0));
            row.push(field("Σ fore", metres(checks.sum_fore_m.0), 1.0));
            row.push(field("Σ back − Σ fore", metres(by_sights), 1.3));
            if let (Some(rise), Some(fall)) = (checks.sum_rise_m, checks.sum_fall_m) {
                row.push(field("Σ rise − Σ fall", metres(rise.0 - fall.0), 1.3));
            }
            row.push(Field { mark: Some(adds_up), ..field("last − first", metres(last), 1.4) });
        }
    }
    row.push(closing(output.misclosure_mm.map(|one| one.0), work, output.verdict));
    row.push(field("Set-ups", output.setups.to_string(), 0.7));
    row
}

fn ends_on_fore(work: &Work<'_>) -> bool {
    let last = work.book.standing().last();
    last.is_some_and(|last| last.kept.fact.sight == gaugerod_core::entry::SightKind::Fore)
}

fn closing(missed: Option<Length>, work: &Work<'_>, verdict: Verdict) -> Field {
    let allowed = work.allowed();
    match missed {
        Some(missed) => Field {
            mark: Some(verdict.into()),
            ..field("Misclosure, allowed", format!("{} mm, ±{allowed}", typed::signed_mm(missed)), 1.9)
        },
        None => field("Misclosure, allowed", format!("not closed, ±{allowed}"), 1.9),
    }
}

/// What it was levelled with and from.
fn means(work: &Work<'_>) -> Vec<Field> {
    let record = &work.desk.view.record;
    let begun = &work.book.begun;
    let mut row = Vec::new();
    let instrument = record.instruments.get(&begun.instrument);
    let sure = instrument.map_or_else(String::new, |own| {
        format!(", ±{} mm", Length::from_um(own.expanded_uncertainty_um).to_mm_text())
    });
    row.push(field(format!("Instrument{sure}"), begun.instrument.to_string(), 1.8));
    if let Some(own) = instrument {
        let overdue = work.today > own.due;
        let mark = overdue.then_some(Mark::InQuestion);
        let caption = if overdue { "Check OVERDUE since" } else { "Check due" };
        row.push(Field { mark, ..field(caption, own.due.to_string(), 1.2) });
    }
    let level = record.benchmark_level(&begun.benchmark);
    let level = level.map_or_else(String::new, |level| format!(" {}", typed::metres(level)));
    row.push(field("Bench mark", format!("{}{level}", begun.benchmark), 2.2));
    let checked = record.benchmarks.get(&begun.benchmark);
    let checked = checked.map_or_else(|| "not registered".to_owned(), |own| own.checked.to_string());
    row.push(field("Mark checked", checked, 1.2));
    if let Some(target) = begun.target_um {
        row.push(field("Target", typed::metres(Length::from_um(target)), 0.9));
    }
    row
}
