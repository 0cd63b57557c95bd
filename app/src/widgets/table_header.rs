//! The head of a table of the register: names of columns that sort when they are tapped.

use egui::{Align2, Shape, Stroke, Ui, pos2, vec2};

use crate::{
    theme,
    widgets::type_setting::{self, tap},
};

/// One column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column<'a> {
    /// Its heading.
    pub name: &'a str,
    /// Its width in points; at least a finger's.
    pub width: f32,
}

/// Which column a table is sorted by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct SortBy {
    /// Index of the column.
    pub column: usize,
    /// Whether the greatest stands first.
    pub descending: bool,
}

impl SortBy {
    /// The order after a tap on `column`: another column sorts upwards, the same one turns round.
    pub const fn tapped(self, column: usize) -> Self {
        if self.column == column {
            Self { column, descending: !self.descending }
        } else {
            Self { column, descending: false }
        }
    }
}

/// The head of a table. Returns the new order when a heading was tapped.
pub fn table_header_ui(ui: &mut Ui, columns: &[Column<'_>], sorted: SortBy) -> Option<SortBy> {
    let mut order = None;
    let sheet = theme::sheet(ui);
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 0.0;
        for (index, column) in columns.iter().enumerate() {
            ui.push_id(index, |ui| {
                let (id, rect) = ui.allocate_space(vec2(column.width.max(theme::TOUCH), theme::TOUCH));
                let current = sorted.column == index;
                let name = match (current, sorted.descending) {
                    (false, _) => format!("sort by {}", column.name),
                    (true, false) => format!("sort by {}, ascending now", column.name),
                    (true, true) => format!("sort by {}, descending now", column.name),
                };
                let response = tap(ui, rect, id, &name);
                if response.clicked() {
                    order = Some(sorted.tapped(index));
                }
                let painter = ui.painter();
                painter.rect_filled(rect, 0.0, if current { sheet.wash(sheet.next) } else { sheet.band });
                if response.has_focus() {
                    painter.rect_stroke(rect.shrink(2.0), 0.0, sheet.thick(), egui::StrokeKind::Inside);
                }
                let room = rect.width() - 16.0 - if current { 18.0 } else { 0.0 };
                type_setting::line(
                    painter,
                    pos2(rect.left() + 8.0, rect.center().y),
                    Align2::LEFT_CENTER,
                    column.name,
                    theme::strong(theme::BODY),
                    sheet.ink,
                    room,
                );
                if current {
                    let tip = if sorted.descending { 1.0 } else { -1.0 };
                    let c = pos2(rect.right() - 15.0, rect.center().y);
                    let arrow =
                        vec![c + vec2(-6.0, -4.0 * tip), c + vec2(6.0, -4.0 * tip), c + vec2(0.0, 5.0 * tip)];
                    painter.add(Shape::convex_polygon(arrow, sheet.ink, Stroke::NONE));
                }
                painter.hline(rect.x_range(), rect.top() + 1.0, sheet.thick());
                painter.hline(rect.x_range(), rect.bottom() - 1.0, sheet.thick());
                painter.vline(rect.right(), rect.y_range(), sheet.hairline());
            });
        }
    });
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tapping_a_heading_twice_turns_the_order_round() {
        let first = SortBy::default().tapped(2);
        assert_eq!(first, SortBy { column: 2, descending: false });
        assert_eq!(first.tapped(2), SortBy { column: 2, descending: true });
        assert_eq!(first.tapped(2).tapped(1), SortBy { column: 1, descending: false });
    }
}
