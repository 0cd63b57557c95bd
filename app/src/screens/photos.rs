//! The photos of one hold point, one at a time as large as the window: what it should show, when it was taken and
//! added, by whom; the one before and the one after.
//!
//! It shows the picture that the worker decoded for looking at, at most 1600 pixels along a side, and the thumbnail
//! until that is there. The original bytes stay in the register; nothing here is judged.

use egui::{Frame, Label, Margin, Panel, Rect, RichText, ScrollArea, StrokeKind, Ui, pos2, vec2};
use gaugerod_core::entry::PhotoAdded;
use gaugerod_core::ids::{HoldPointId, PlotId};
use gaugerod_core::inspection::fold::Noted;

use super::desk::{self, Desk};
use crate::action::Action;
use crate::state::State;
use crate::theme;
use crate::widgets::photo_strip::contained;
use crate::widgets::{Weight, buttons, type_setting};

/// Width of the column beside the photo, in points.
const COLUMN: f32 = 300.0;
/// Height of the words and keys below it in portrait, in points.
const BELOW: f32 = 300.0;

/// Height of a key, and of the two rows of them, in points.
const KEY: f32 = theme::TOUCH + 8.0;
const KEYS: f32 = 2.0 * KEY + theme::GAP;

/// One photo with the subject that it was added under.
struct Shown<'a> {
    title: &'a str,
    photo: &'a PhotoAdded,
    noted: &'a Noted,
}

/// The photos of a hold point, beginning with the one that was tapped.
pub fn photos_ui(ui: &mut Ui, state: &mut State, plot: &PlotId, id: &HoldPointId) {
    let Some(desk) = Desk::of(state, plot) else {
        return desk::waiting_ui(ui, plot);
    };
    let evidence = desk.view.standing.hold_point(id).map_or(&[][..], |one| &one.evidence);
    let all: Vec<Shown<'_>> = evidence
        .iter()
        .flat_map(|one| one.photos.iter().map(|(photo, noted)| Shown { title: &one.title, photo, noted }))
        .collect();
    let at = all.iter().position(|one| Some(one.noted.id) == state.drafts.photo).unwrap_or(0);
    let Some(shown) = all.get(at) else {
        ui.label("This hold point has no photo yet.");
        return close_ui(ui, state);
    };
    let size = ui.available_size();
    let beside = |ui: &mut Ui, state: &mut State| {
        Panel::bottom("photo keys")
            .resizable(false)
            .show_separator_line(false)
            .exact_size(KEYS)
            .frame(Frame::NONE)
            .show(ui, |ui| keys_ui(ui, state, &all, at));
        theme::scroll(ScrollArea::vertical().id_salt("photo words").auto_shrink([false, false]))
            .show(ui, |ui| words_ui(ui, &desk, shown, at + 1, all.len()));
    };
    let (panel, frame) = if size.x < size.y {
        let frame = Frame::new().inner_margin(Margin { top: 10, ..Margin::ZERO });
        (Panel::bottom("photo below").exact_size(BELOW.min(size.y * 0.4)), frame)
    } else {
        let frame = Frame::new().inner_margin(Margin { left: 14, ..Margin::ZERO });
        (Panel::right("photo beside").exact_size(COLUMN.min(size.x * 0.4)), frame)
    };
    panel.resizable(false).show_separator_line(false).frame(frame).show(ui, |ui| beside(ui, state));
    picture_ui(ui, state, shown);
}

/// The photo in all the room that is left.
fn picture_ui(ui: &mut Ui, state: &mut State, shown: &Shown<'_>) {
    let sheet = theme::sheet(ui);
    let sha = &shown.photo.photo.0;
    let (id, area) = ui.allocate_space(ui.available_size());
    let large = state.large.get(sha);
    let texture = large.or_else(|| state.thumbnails.get(sha));
    type_setting::picture(ui, area, id, &format!("photo: {}", shown.title));
    let painter = ui.painter();
    painter.rect_filled(area, 0.0, sheet.band);
    if let Some((texture, size)) = texture {
        let uv = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
        let place = contained(area.shrink(2.0), size);
        painter.image(texture, place, uv, egui::Color32::WHITE);
        painter.rect_stroke(place, 0.0, sheet.thin(), StrokeKind::Outside);
    }
    if large.is_some() {
        return;
    }
    let words = if state.large.is_gone(sha) {
        "This photo cannot be read. Have the register checked: gaugerod check"
    } else {
        "The photo is being read …"
    };
    let at = pos2(area.center().x, area.bottom() - 24.0);
    let (font, colours) = (theme::strong(theme::VALUE), (sheet.ink, sheet.paper));
    type_setting::patched(
        painter,
        at,
        egui::Align2::CENTER_CENTER,
        words,
        font,
        colours,
        area.width() - 24.0,
    );
}

/// What the photo is of, and when and by whom it came.
fn words_ui(ui: &mut Ui, desk: &Desk, shown: &Shown<'_>, place: usize, whole: usize) {
    ui.set_width(ui.available_width());
    let soft = theme::sheet(ui).soft;
    ui.add(Label::new(RichText::new(shown.title).font(theme::strong(theme::HEADING))).wrap());
    if let Some(caption) = &shown.photo.caption {
        ui.add(Label::new(RichText::new(caption).font(theme::font(theme::VALUE))).wrap());
    }
    ui.label(RichText::new(format!("Photo {place} of {whole}")).font(theme::strong(theme::BODY)));
    let taken = shown.photo.captured.map_or_else(
        || "The camera states no time.".to_owned(),
        |time| format!("Taken {} by the camera's clock.", time.minute()),
    );
    ui.add(Label::new(taken).wrap());
    let (who, when) = (desk.name_of(shown.noted.author), shown.noted.time.minute());
    ui.add(Label::new(format!("Added by {who}, {when}.")).wrap());
    let photo = shown.photo;
    let file = format!(
        "{}; {} × {} pixels, {} kB, SHA-256 {}…",
        super::hold_point::short_subject(&photo.subject),
        photo.width,
        photo.height,
        photo.bytes.div_ceil(1000),
        photo.photo.short()
    );
    ui.add(Label::new(RichText::new(file).font(theme::font(theme::LABEL)).color(soft)).wrap());
}

fn keys_ui(ui: &mut Ui, state: &mut State, all: &[Shown<'_>], at: usize) {
    ui.horizontal(|ui| {
        let size = vec2((ui.available_width() - theme::GAP) / 2.0, KEY);
        let before = at.checked_sub(1).and_then(|index| all.get(index));
        for (word, other) in [("Previous", before), ("Next", all.get(at + 1))] {
            ui.add_enabled_ui(other.is_some(), |ui| {
                if buttons::sized_button_ui(ui, Weight::Plain, word, size).clicked()
                    && let Some(other) = other
                {
                    state.drafts.photo = Some(other.noted.id);
                }
            });
        }
    });
    close_ui(ui, state);
}

fn close_ui(ui: &mut Ui, state: &mut State) {
    if buttons::wide_button_ui(ui, Weight::Primary, "Close") {
        state.ask(Action::Back);
    }
}

#[cfg(test)]
mod tests {
    use egui_kittest::kittest::Queryable as _;

    use super::*;
    use crate::headless;
    use crate::screens::fixture::{Site, hold_point, plot};
    use crate::screens::window_ui;
    use crate::state::Screen;

    fn screen(on: &str, id: &str) -> Screen {
        Screen::Photos(plot(on), hold_point(id))
    }

    #[test]
    fn a_photo_passes_the_checks_at_every_size_while_it_is_read_and_when_it_cannot_be() {
        let mut site = Site::new();
        let mut state = site.state(screen("5", "oversite"));
        headless::check("photo", |ui| window_ui(ui, &mut state));
        for sha in state.large.wanted() {
            state.large.give_up(&sha);
        }
        headless::check("photo that is gone", |ui| window_ui(ui, &mut state));
        let mut none = site.state(screen("1", "oversite"));
        headless::check("no photo", |ui| window_ui(ui, &mut none));
    }

    #[test]
    fn a_tapped_photo_opens_large_and_its_neighbours_are_one_tap_away() {
        let mut site = Site::new();
        let mut harness = headless::harness(
            headless::SIZES[0],
            window_ui,
            site.state(Screen::HoldPoint(plot("5"), hold_point("oversite"))),
        );
        let tiles: Vec<_> = harness.query_all_by_label_contains("photo: oversite").collect();
        tiles[1].click();
        drop(tiles);
        harness.run();
        assert_eq!(harness.state().actions, [Action::Go(screen("5", "oversite"))]);
        harness.state_mut().screen = screen("5", "oversite");
        harness.run();
        harness.get_by_label("Photo 2 of 2");
        let sha = harness.state().plot(&plot("5")).unwrap();
        let sha = sha.standing.hold_point(&hold_point("oversite")).unwrap().evidence[0].photos[1].0.photo.0;
        assert!(harness.state_mut().large.wanted().contains(&sha), "it is asked for in the size to look at");
        harness.get_by_label("Previous").click();
        harness.run();
        harness.get_by_label("Photo 1 of 2");
        harness.get_by_label("Next").click();
        harness.run();
        harness.get_by_label("Photo 2 of 2");
        harness.get_by_label("Close").click();
        harness.run();
        assert_eq!(harness.state().actions.last(), Some(&Action::Back));
    }
}
