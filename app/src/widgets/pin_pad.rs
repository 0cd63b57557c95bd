//! The PIN: figures that are shown as dots, and keys. It compares nothing and keeps nothing; the
//! digits live in the draft that is handed in, which the screen empties as soon as they are used.

use egui::{Event, Key, Rect, Role, Sense, StrokeKind, Ui, WidgetInfo, pos2, vec2};

use crate::{
    theme,
    widgets::{
        buttons::{Weight, button_in_ui},
        keypad::figure_pad_ui,
    },
};

/// What happened at the pad.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PinEvent {
    /// The digits changed.
    Typed,
    /// The digits are to be used.
    Done,
}

const MOST: usize = 12;
const HEIGHT: f32 = 64.0 + 4.0 * 60.0 + 3.0 * theme::GAP + 2.0 * theme::GAP + 56.0;

/// A pad for a PIN of at least `least` figures; `done` is the word on the key that uses it.
pub fn pin_pad_ui(ui: &mut Ui, least: usize, done: &str, digits: &mut String) -> Option<PinEvent> {
    let (id, area) = ui.allocate_space(vec2(ui.available_width().min(400.0), HEIGHT));
    let mut event = hardware_keys(ui, least, digits);
    let sheet = theme::sheet(ui);
    let window = area.with_max_y(area.top() + 64.0);
    let response = ui.interact(window, id.with("window"), Sense::hover());
    let typed = digits.chars().count();
    response.widget_info(|| WidgetInfo::labeled(Role::Status, true, format!("PIN, {typed} figures typed")));
    let painter = ui.painter();
    painter.rect_filled(window, 0.0, sheet.field);
    painter.rect_stroke(window, 0.0, sheet.thick(), StrokeKind::Inside);
    let places = typed.max(least).max(4);
    let step = (window.width() / as_f32(places + 1)).min(44.0);
    for place in 0..places {
        let x = window.center().x + step * (as_f32(place) - (as_f32(places) - 1.0) / 2.0);
        let at = pos2(x, window.center().y);
        if place < typed {
            painter.circle_filled(at, 9.0, sheet.ink);
        } else {
            painter.circle_stroke(at, 9.0, sheet.hairline());
        }
    }
    let keys = Rect::from_min_max(
        pos2(area.left(), window.bottom() + theme::GAP),
        pos2(area.right(), area.bottom() - 56.0 - theme::GAP),
    );
    if let Some(key) = figure_pad_ui(ui, keys, id) {
        press(key, digits);
        event = Some(PinEvent::Typed);
    }
    let foot = area.with_min_y(area.bottom() - 56.0);
    ui.scope(|ui| {
        if digits.chars().count() < least {
            ui.disable();
        }
        if button_in_ui(ui, foot, id.with("done"), Weight::Primary, done).clicked() {
            event = Some(PinEvent::Done);
        }
    });
    event
}

fn press(key: Option<char>, digits: &mut String) {
    match key {
        Some(figure) if digits.len() < MOST => digits.push(figure),
        Some(_) => {}
        None => {
            digits.pop();
        }
    }
}

fn hardware_keys(ui: &Ui, least: usize, digits: &mut String) -> Option<PinEvent> {
    if ui.ctx().text_edit_focused() || !ui.is_enabled() {
        return None;
    }
    let control_focused = ui.memory(|memory| memory.focused().is_some());
    let mut event = None;
    for received in ui.input(|input| input.events.clone()) {
        match received {
            Event::Text(text) => {
                if let Some(figure) = text.chars().next().filter(char::is_ascii_digit) {
                    press(Some(figure), digits);
                    event = Some(PinEvent::Typed);
                }
            }
            Event::Key { key: Key::Backspace, pressed: true, .. } => {
                press(None, digits);
                event = Some(PinEvent::Typed);
            }
            Event::Key { key: Key::Enter, pressed: true, .. }
                if !control_focused && digits.len() >= least =>
            {
                event = Some(PinEvent::Done);
            }
            _ => {}
        }
    }
    event
}

/// A small count as a number of points.
fn as_f32(count: usize) -> f32 {
    f32::from(u16::try_from(count).unwrap_or(u16::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pin_takes_figures_and_gives_them_back_one_by_one() {
        let mut digits = String::new();
        for key in [Some('1'), Some('2'), None, Some('3'), None, None, None] {
            press(key, &mut digits);
        }
        assert_eq!(digits, "");
        for _ in 0..40 {
            press(Some('7'), &mut digits);
        }
        assert_eq!(digits.len(), MOST);
    }
}
