//! The sheet's border and its title block: data fields in ruled boxes, as ISO 7200 sets them out
//! for technical drawings.

use egui::{Align2, Frame, Margin, Rect, StrokeKind, Ui, pos2, vec2};

use crate::{
    theme,
    widgets::type_setting::{self, picture},
};

/// One field of the block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Field<'a> {
    /// Its caption, such as `Drawing`.
    pub caption: &'a str,
    /// What stands in it, such as `F-204 rev C`.
    pub value: &'a str,
}

/// Height of the block in points.
pub const HEIGHT: f32 = 56.0;

/// A title block across the width that is left; fields get room in proportion to their text.
pub fn title_block_ui(ui: &mut Ui, fields: &[Field<'_>]) {
    let sheet = theme::sheet(ui);
    let (id, rect) = ui.allocate_space(vec2(ui.available_width(), HEIGHT));
    let painter = ui.painter_at(rect.expand(1.0));
    painter.rect_filled(rect, 0.0, sheet.paper);
    let wish = |field: &Field<'_>| {
        let value = type_setting::galley(
            &painter,
            field.value,
            theme::strong(theme::BODY),
            sheet.ink,
            f32::INFINITY,
            1,
        );
        let caption =
            type_setting::galley(&painter, field.caption, theme::font(12.0), sheet.ink, f32::INFINITY, 1);
        value.size().x.max(caption.size().x) + 20.0
    };
    let wishes: Vec<f32> = fields.iter().map(wish).collect();
    let whole: f32 = wishes.iter().sum::<f32>().max(1.0);
    let mut left = rect.left();
    for (field, wish) in fields.iter().zip(&wishes) {
        let width = rect.width() * wish / whole;
        let cell = Rect::from_min_size(pos2(left, rect.top()), vec2(width, HEIGHT));
        type_setting::line(
            &painter,
            cell.min + vec2(9.0, 5.0),
            Align2::LEFT_TOP,
            field.caption,
            theme::font(12.0),
            sheet.soft,
            width - 14.0,
        );
        painter.hline(cell.x_range(), cell.top() + 22.0, sheet.hairline());
        type_setting::line(
            &painter,
            pos2(cell.left() + 9.0, cell.bottom() - 17.0),
            Align2::LEFT_CENTER,
            field.value,
            theme::strong(theme::BODY),
            sheet.ink,
            width - 14.0,
        );
        if left > rect.left() {
            painter.vline(left, cell.y_range(), sheet.thin());
        }
        left += width;
    }
    painter.rect_stroke(rect, 0.0, sheet.thick(), StrokeKind::Inside);
    let spoken: Vec<String> = fields.iter().map(|f| format!("{} {}", f.caption, f.value)).collect();
    picture(ui, rect, id, &spoken.join(", "));
}

/// The frame of a whole sheet: paper to the edge, a thick border inside it.
pub fn sheet_border(ui: &Ui) -> Frame {
    let sheet = theme::sheet(ui);
    Frame::new()
        .fill(sheet.paper)
        .outer_margin(Margin::ZERO)
        .stroke(sheet.thick())
        .inner_margin(Margin::same(12))
}
