//! The sheet of a level book painted: ruled columns, a row for each sight, struck sights in between. Only the rows
//! that show are painted.

use egui::{Align2, Color32, FontId, Rect, Stroke, Ui, pos2, vec2};
use gaugerod_core::entry::{BookMethod, SightKind};
use gaugerod_core::ids::{EntryId, LevelBookName};

use super::sheet::{self, Line, Read, Stands, Struck};
use super::typed;
use crate::theme::{self, Sheet};
use crate::widgets::{type_setting, verdict_mark};

/// Height of the head, in points.
const HEAD: f32 = 30.0;
/// Space beside the text of a cell, in points.
const PAD: f32 = 6.0;
/// The narrowest that the point's column gets, in points.
const LEAST_POINT: f32 = 72.0;
/// The widest, in points: beyond it the figures are spread out.
const MOST_POINT: f32 = 180.0;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Holds {
    Point,
    Read(SightKind),
    /// A receiver's check on a bench mark, first or last.
    Check,
    First,
    Second,
    Level,
    Adjusted,
    Deviation,
}

/// The columns of a sheet: what they hold, their headings, where they lie from the left.
#[derive(Debug, Clone)]
pub(super) struct Columns {
    columns: Vec<(Holds, &'static str, f32, f32)>,
    width: f32,
}

impl Columns {
    /// The columns of a method over so much width.
    pub(super) fn of(method: BookMethod, width: f32) -> Self {
        let read = |kind| (Holds::Read(kind), typed::kind_word(kind, method), 60.0);
        let ends = [
            (Holds::Level, "Level", 68.0),
            (Holds::Adjusted, "Adjusted", 80.0),
            (Holds::Deviation, "Off, mm", 84.0),
        ];
        let mut wanted = vec![(Holds::Point, "Point", 0.0)];
        match method {
            BookMethod::HeightOfCollimation => {
                wanted.extend([SightKind::Back, SightKind::Inter, SightKind::Fore].map(read));
                wanted.push((Holds::First, "Collim.", 70.0));
            }
            BookMethod::RiseAndFall => {
                wanted.extend([SightKind::Back, SightKind::Inter, SightKind::Fore].map(read));
                wanted.extend([(Holds::First, "Rise", 58.0), (Holds::Second, "Fall", 58.0)]);
            }
            BookMethod::Receiver => {
                wanted.push((Holds::Check, "Check", 90.0));
                wanted.push((Holds::Read(SightKind::Inter), "Off target", 96.0));
            }
        }
        wanted.extend(ends);
        let fixed: f32 = wanted.iter().map(|(_, _, width)| width).sum();
        let point = (width - fixed).clamp(LEAST_POINT, MOST_POINT);
        // What is left over is shared out among the figures.
        #[expect(clippy::cast_precision_loss, reason = "a handful of columns")]
        let share = ((width - fixed - point) / (wanted.len() - 1) as f32).max(0.0);
        let mut left = 0.0;
        let columns = wanted
            .into_iter()
            .map(|(holds, name, own)| {
                let own = if holds == Holds::Point { point } else { own + share };
                let column = (holds, name, left, own);
                left += own;
                column
            })
            .collect();
        Self { columns, width: left.min(width) }
    }

    /// Each column's place in a row.
    pub(super) fn cells(&self, row: Rect) -> impl Iterator<Item = (Holds, Rect)> {
        self.columns.iter().map(move |(holds, _, left, width)| {
            (*holds, Rect::from_min_size(pos2(row.left() + left, row.top()), vec2(*width, row.height())))
        })
    }

    /// A row of this height at the top left of what is left.
    pub(super) fn row(&self, ui: &mut Ui, height: f32) -> (egui::Id, Rect) {
        ui.allocate_space(vec2(self.width, height))
    }

    /// The rules between the columns.
    pub(super) fn rule(&self, ui: &Ui, row: Rect) {
        let sheet = theme::sheet(ui);
        for (_, _, left, _) in self.columns.iter().skip(1) {
            ui.painter().vline(row.left() + left, row.y_range(), sheet.hairline());
        }
    }
}

/// The head of the sheet.
pub(super) fn head_ui(ui: &mut Ui, columns: &Columns) {
    let sheet = theme::sheet(ui);
    ui.spacing_mut().item_spacing.y = 0.0;
    let (_, rect) = columns.row(ui, HEAD);
    ui.painter().rect_filled(rect, 0.0, sheet.band);
    for ((holds, cell), (_, name, ..)) in columns.cells(rect).zip(&columns.columns) {
        text(ui, cell, holds, name, theme::strong(theme::LABEL), sheet.ink);
    }
    columns.rule(ui, rect);
    ui.painter().hline(rect.x_range(), rect.top() + 1.0, sheet.thick());
    ui.painter().hline(rect.x_range(), rect.bottom() - 1.0, sheet.thick());
}

/// The rows that show of a sheet; the entry of the sight whose row was tapped. In a row of two sights, that is the
/// one whose half was tapped.
pub(super) fn rows_ui(
    ui: &mut Ui,
    viewport: Rect,
    (book, method): (&LevelBookName, BookMethod),
    drawn: &sheet::Sheet,
    columns: &Columns,
    chosen: Option<EntryId>,
) -> Option<EntryId> {
    let origin = ui.max_rect().min;
    ui.set_min_size(vec2(columns.width, drawn.height()));
    let first = drawn.lines_above(viewport.top()).saturating_sub(1);
    let last = drawn.lines_above(viewport.bottom());
    blank_ui(ui, viewport, drawn.height(), columns);
    let mut tapped = None;
    for index in first..last {
        let (top, bottom) = (drawn.tops[index], drawn.tops[index + 1]);
        let row = Rect::from_min_size(pos2(origin.x, origin.y + top), vec2(columns.width, bottom - top));
        match &drawn.lines[index] {
            Line::Struck(line) => struck_ui(ui, row, columns, line),
            Line::Stands(line) => {
                let name = sheet::spoken(line, method, book);
                tapped = tapped.or(stands_ui(ui, row, index, columns, line, &name, chosen));
            }
        }
    }
    tapped
}

/// The rows that are not written yet, ruled down to the foot.
fn blank_ui(ui: &Ui, viewport: Rect, from: f32, columns: &Columns) {
    let origin = ui.max_rect().min;
    let mut top = from;
    while top < viewport.bottom() {
        let row = Rect::from_min_size(pos2(origin.x, origin.y + top), vec2(columns.width, sheet::ROW));
        columns.rule(ui, row);
        ui.painter().hline(row.x_range(), row.bottom() - 0.5, theme::sheet(ui).hairline());
        top += sheet::ROW;
    }
}

fn stands_ui(
    ui: &Ui,
    row: Rect,
    index: usize,
    columns: &Columns,
    line: &Stands,
    name: &str,
    chosen: Option<EntryId>,
) -> Option<EntryId> {
    let sheet = theme::sheet(ui);
    let entries: Vec<EntryId> = line.read.iter().flatten().filter_map(|read| read.entry).collect();
    let is_chosen = chosen.is_some_and(|entry| entries.contains(&entry));
    let fill = if is_chosen { sheet.wash(sheet.next) } else { sheet.field };
    ui.painter().rect_filled(row, 0.0, fill);
    let mut tapped = None;
    if let Some(first) = entries.first().copied() {
        let response = type_setting::tap(ui, row, ui.scope_id().with(("row", index)), name);
        if response.has_focus() || is_chosen {
            ui.painter().rect_stroke(row.shrink(1.0), 0.0, sheet.thick(), egui::StrokeKind::Inside);
        }
        if response.clicked() {
            // The back sight's column picks the back sight; anywhere else is the other one.
            let at = response.interact_pointer_pos();
            let on = |kind| {
                let mut cells = columns.cells(row);
                let cell = cells.find(|(holds, _)| *holds == Holds::Read(kind)).map(|(_, cell)| cell);
                at.zip(cell).is_some_and(|(at, cell)| cell.contains(at))
            };
            let of = |kind| line.read[sheet::column(kind)].as_ref().and_then(|read: &Read| read.entry);
            let fore = of(SightKind::Fore).filter(|_| !on(SightKind::Back));
            tapped = Some(fore.unwrap_or(first));
        }
    } else {
        type_setting::picture(ui, row, ui.scope_id().with(("row", index)), name);
    }
    if line.begins.is_some() {
        ui.painter().hline(row.x_range(), row.top(), sheet.thin());
    }
    for (holds, cell) in columns.cells(row) {
        cell_ui(ui, cell, holds, line);
    }
    columns.rule(ui, row);
    ui.painter().hline(row.x_range(), row.bottom() - 0.5, sheet.hairline());
    tapped
}

fn cell_ui(ui: &Ui, cell: Rect, holds: Holds, line: &Stands) {
    let sheet = theme::sheet(ui);
    let figures = theme::figures(theme::BODY);
    match holds {
        Holds::Point => point(ui, cell, &line.point),
        Holds::Read(kind) => {
            if let Some(read) = &line.read[sheet::column(kind)] {
                let set = text(ui, cell, holds, &read.text, theme::strong(theme::BODY), sheet.ink);
                if let Some(perhaps) = &read.perhaps {
                    suspect(ui, cell, set, perhaps, sheet);
                }
            }
        }
        Holds::Check => {
            let checks =
                [SightKind::Back, SightKind::Fore].map(|kind| line.read[sheet::column(kind)].as_ref());
            if let Some(read) = checks.into_iter().flatten().next() {
                text(ui, cell, holds, &read.text, theme::strong(theme::BODY), sheet.ink);
            }
        }
        Holds::First => drop(text(ui, cell, holds, &line.first, figures, sheet.ink)),
        Holds::Second => drop(text(ui, cell, holds, &line.second, figures, sheet.ink)),
        Holds::Level => drop(text(ui, cell, holds, &line.level, figures, sheet.ink)),
        Holds::Adjusted => drop(text(ui, cell, holds, &line.adjusted, theme::strong(theme::BODY), sheet.ink)),
        Holds::Deviation => {
            let Some(mark) = line.mark else { return };
            let set = deviation(ui, cell, &line.deviation, mark);
            if line.is_replaced {
                ui.painter().hline(set.x_range().expand(3.0), set.center().y, Stroke::new(1.5, sheet.ink));
            }
        }
    }
}

/// A point's name, on two lines where it is long.
pub(super) fn point(ui: &Ui, cell: Rect, name: &str) {
    let sheet = theme::sheet(ui);
    let font = theme::strong(theme::BODY);
    let set = type_setting::galley(ui.painter(), name, font, sheet.ink, cell.width() - 2.0 * PAD, 2);
    let top = cell.center().y - set.size().y / 2.0;
    ui.painter().galley(pos2(cell.left() + PAD, top), set, sheet.ink);
}

/// A deviation with its mark; returns where the figures came to stand.
pub(super) fn deviation(ui: &Ui, cell: Rect, text: &str, mark: crate::widgets::Mark) -> Rect {
    let sheet = theme::sheet(ui);
    let at = pos2(cell.right() - 34.0, cell.center().y);
    verdict_mark::paint(ui.painter(), pos2(cell.right() - 17.0, cell.center().y), 24.0, mark, sheet);
    let font = theme::strong(theme::BODY);
    type_setting::line(ui.painter(), at, Align2::RIGHT_CENTER, text, font, sheet.ink, cell.width() - 40.0)
}

/// A suspect reading: underlined twice, with what it might have been under it.
fn suspect(ui: &Ui, cell: Rect, set: Rect, perhaps: &str, sheet: &Sheet) {
    for down in [1.0, 4.0] {
        ui.painter().hline(set.x_range(), set.bottom() + down, Stroke::new(2.0, sheet.ink));
    }
    let words = perhaps.split('?').next().unwrap_or(perhaps);
    let at = pos2(cell.right() - PAD, cell.bottom() - 1.0);
    let font = theme::font(12.0);
    type_setting::line(
        ui.painter(),
        at,
        Align2::RIGHT_BOTTOM,
        &format!("{words}?"),
        font,
        sheet.soft,
        cell.width(),
    );
}

fn struck_ui(ui: &Ui, row: Rect, columns: &Columns, line: &Struck) {
    let sheet = theme::sheet(ui);
    ui.painter().rect_filled(row, 0.0, sheet.paper);
    let font = theme::font(theme::LABEL);
    let mut why_from = row.right();
    for (holds, cell) in columns.cells(row) {
        let words = match holds {
            Holds::Point => &line.point,
            Holds::Read(kind) if kind == line.kind => &line.text,
            Holds::Check if line.kind != SightKind::Inter => &line.text,
            Holds::First => {
                why_from = cell.left();
                continue;
            }
            Holds::Level => {
                why_from = why_from.min(cell.left());
                continue;
            }
            _ => continue,
        };
        let set = text(ui, cell, holds, words, font.clone(), sheet.soft);
        ui.painter().hline(set.x_range().expand(3.0), set.center().y, Stroke::new(1.5, sheet.ink));
    }
    let at = pos2(why_from + PAD, row.center().y);
    let room = row.right() - why_from - 2.0 * PAD;
    type_setting::line(ui.painter(), at, Align2::LEFT_CENTER, &line.why, font, sheet.soft, room);
    ui.painter().hline(row.x_range(), row.bottom() - 0.5, sheet.hairline());
}

/// A text in its cell: names from the left, figures from the right. Returns where it came to stand.
pub(super) fn text(ui: &Ui, cell: Rect, holds: Holds, words: &str, font: FontId, colour: Color32) -> Rect {
    let (at, anchor) = match holds {
        Holds::Point => (pos2(cell.left() + PAD, cell.center().y), Align2::LEFT_CENTER),
        _ => (pos2(cell.right() - PAD, cell.center().y), Align2::RIGHT_CENTER),
    };
    type_setting::line(ui.painter(), at, anchor, words, font, colour, cell.width() - 2.0 * PAD)
}
