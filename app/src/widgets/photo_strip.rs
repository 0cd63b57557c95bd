//! Photographs along the foot of a hold point: thumbnails in frames, and a place for each that is
//! still owed. It never decodes anything: it shows textures it is handed.

use egui::{Align2, Rect, ScrollArea, StrokeKind, TextureId, Ui, pos2, vec2};

use crate::{
    theme,
    widgets::{
        type_setting::{self, dashed_rect, tap},
        verdict_mark::{self, Mark},
    },
};

/// One photograph, or the place of one that is owed.
#[derive(Clone, Debug, PartialEq)]
pub struct PhotoTile {
    /// What tells it from the others; returned when it is tapped.
    pub id: String,
    /// What it shows, or should show.
    pub caption: String,
    /// The thumbnail with its size in pixels; none while it is being fetched, or if it is owed.
    pub texture: Option<(TextureId, [usize; 2])>,
    /// How the photograph stands.
    pub mark: Mark,
}

/// What was tapped on the strip.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StripEvent {
    /// A photograph, to be looked at.
    Open(String),
    /// The place of one that is owed, to be filled.
    Fill(String),
    /// The place for one more.
    Add,
}

const TILE: egui::Vec2 = vec2(124.0, 92.0);

/// The strip; scrolls sideways when it is longer than the screen is wide.
pub fn photo_strip_ui(ui: &mut Ui, tiles: &[PhotoTile]) -> Option<StripEvent> {
    let mut event = None;
    theme::scroll(ScrollArea::horizontal().id_salt("photo strip")).show(ui, |ui| {
        ui.horizontal(|ui| {
            for tile in tiles {
                ui.push_id(("photo", &tile.id), |ui| {
                    if tile_ui(ui, tile) {
                        event = Some(if tile.mark == Mark::Owed {
                            StripEvent::Fill(tile.id.clone())
                        } else {
                            StripEvent::Open(tile.id.clone())
                        });
                    }
                });
            }
            if add_ui(ui) {
                event = Some(StripEvent::Add);
            }
        });
    });
    event
}

fn tile_ui(ui: &mut Ui, tile: &PhotoTile) -> bool {
    let (id, rect) = ui.allocate_space(TILE);
    let name = format!("photo: {}, {}", tile.caption, tile.mark.name());
    let response = tap(ui, rect, id, &name);
    let (sheet, painter) = (theme::sheet(ui), ui.painter());
    let picture = rect.with_max_y(rect.bottom() - 24.0);
    if let Some((texture, size)) = tile.texture {
        painter.rect_filled(picture, 0.0, sheet.band);
        let uv = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
        painter.image(texture, contained(picture.shrink(2.0), size), uv, egui::Color32::WHITE);
        painter.rect_stroke(picture, 0.0, sheet.thin(), StrokeKind::Inside);
    } else if tile.mark == Mark::Owed {
        painter.rect_filled(picture, 0.0, sheet.field);
        dashed_rect(painter, picture.shrink(1.0), sheet.thick());
        plus(ui, picture);
    } else {
        painter.rect_filled(picture, 0.0, sheet.band);
        painter.rect_stroke(picture, 0.0, sheet.hairline(), StrokeKind::Inside);
    }
    if tile.mark != Mark::Owed {
        verdict_mark::paint(painter, picture.right_bottom() - vec2(14.0, 14.0), 20.0, tile.mark, sheet);
    }
    if response.has_focus() {
        painter.rect_stroke(picture.shrink(4.0), 0.0, sheet.thick(), StrokeKind::Inside);
    }
    let foot = pos2(rect.center().x, rect.bottom() - 11.0);
    type_setting::line(
        painter,
        foot,
        Align2::CENTER_CENTER,
        &tile.caption,
        theme::font(theme::LABEL),
        sheet.ink,
        TILE.x,
    );
    response.clicked()
}

fn add_ui(ui: &mut Ui) -> bool {
    let (id, rect) = ui.allocate_space(vec2(92.0, TILE.y));
    let response = tap(ui, rect, id, "add a photo");
    let (sheet, painter) = (theme::sheet(ui), ui.painter());
    let picture = rect.with_max_y(rect.bottom() - 24.0);
    type_setting::boxed(ui, picture, sheet.field, sheet.thin(), &response);
    plus(ui, picture);
    let foot = pos2(rect.center().x, rect.bottom() - 11.0);
    type_setting::line(
        painter,
        foot,
        Align2::CENTER_CENTER,
        "add",
        theme::font(theme::LABEL),
        sheet.ink,
        rect.width(),
    );
    response.clicked()
}

fn plus(ui: &Ui, rect: Rect) {
    let (c, arm, stroke) = (rect.center(), 11.0, egui::Stroke::new(3.0, theme::sheet(ui).ink));
    ui.painter().line_segment([c - vec2(arm, 0.0), c + vec2(arm, 0.0)], stroke);
    ui.painter().line_segment([c - vec2(0.0, arm), c + vec2(0.0, arm)], stroke);
}

/// The largest rectangle of a picture's proportions inside `frame`.
#[expect(clippy::cast_precision_loss, reason = "a picture has at most a few thousand pixels along a side")]
pub fn contained(frame: Rect, [width, height]: [usize; 2]) -> Rect {
    let (w, h) = (width.max(1) as f32, height.max(1) as f32);
    let scale = (frame.width() / w).min(frame.height() / h);
    Rect::from_center_size(frame.center(), vec2(w, h) * scale)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_thumbnail_keeps_its_proportions_inside_the_frame() {
        let frame = Rect::from_min_size(pos2(10.0, 10.0), vec2(120.0, 60.0));
        for size in [[320, 240], [240, 320], [1, 1000], [0, 0]] {
            let shown = contained(frame, size);
            assert!(frame.expand(0.01).contains_rect(shown), "{size:?}");
        }
        assert_eq!(contained(frame, [320, 240]).size(), vec2(80.0, 60.0));
    }
}
