//! The docked numeric keypad: figures, stop and sign, and beside them backspace, same again and skip, under a big
//! window that shows what is being typed, what it would mean, and why it cannot be booked yet.
//!
//! Typed text lives in the draft that is handed in; nothing is booked here. A keyboard that happens
//! to be plugged in works as well: figures, stop, minus, backspace, Enter to book.

use egui::{
    Align2, Event, Id, Key, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui, Vec2, WidgetInfo, pos2, vec2,
};

use crate::{
    theme::{self, Sheet},
    widgets::{
        buttons::{Weight, button_in_ui},
        type_setting::{self, tap},
        verdict_mark::{self, Mark},
    },
};

/// What the digits typed so far would mean.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Live {
    /// The quantity worked out from them, such as `level +52.002`.
    pub meaning: String,
    /// The deviation, such as `+2 mm`.
    pub deviation: String,
    /// How it would stand.
    pub mark: Mark,
}

/// What the keypad shows besides the digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct KeypadView<'a> {
    /// What is being read, such as `Wall D, point 2: staff reading`.
    pub subject: &'a str,
    /// The unit of the digits, such as `m`.
    pub unit: &'a str,
    /// What they would mean, once they mean something.
    pub live: Option<&'a Live>,
    /// Why they cannot be booked, in a sentence; the Book key is shut while it is there.
    pub refusal: Option<&'a str>,
    /// The word on the Book key, such as `Book, next D 3`.
    pub book: &'a str,
    /// Whether this reading may be left for later.
    pub can_skip: bool,
    /// The digits that were booked last, to be typed in one press.
    pub again: Option<&'a str>,
}

/// What happened at the keypad.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum KeypadEvent {
    /// The draft changed.
    Typed,
    /// The draft is to be booked.
    Book,
    /// This reading is left for later.
    Skip,
}

/// One key of the pad.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum PadKey {
    Digit(char),
    Stop,
    Sign,
    Back,
}

/// Longest text that can be typed; longer than any reading.
const LONGEST: usize = 12;
const WINDOW: f32 = 64.0;
const LIVE: f32 = 34.0;
/// Least height of the whole keypad, in points: window, meaning, four rows of keys, Book.
pub const LEAST_HEIGHT: f32 = 24.0 + WINDOW + LIVE + 5.0 * theme::TOUCH + 6.0 * theme::GAP;

/// The keypad in the space that is left, at least [`LEAST_HEIGHT`] high.
pub fn keypad_ui(ui: &mut Ui, view: &KeypadView<'_>, draft: &mut String) -> Option<KeypadEvent> {
    let size = vec2(ui.available_width(), ui.available_height().clamp(LEAST_HEIGHT, 720.0));
    let (id, area) = ui.allocate_space(size);
    let sheet = theme::sheet(ui);
    let mut event = hardware_keys(ui, view, draft);

    let mut top = area.top();
    let painter = ui.painter();
    type_setting::line(
        painter,
        pos2(area.left(), top),
        Align2::LEFT_TOP,
        view.subject,
        theme::font(theme::BODY),
        sheet.ink,
        area.width(),
    );
    top += 24.0;
    let window = Rect::from_min_size(pos2(area.left(), top), vec2(area.width(), WINDOW));
    window_ui(ui, window, id.with("window"), view, draft, sheet);
    top = window.bottom();
    live_line(ui, Rect::from_min_size(pos2(area.left(), top), vec2(area.width(), LIVE)), view, sheet);
    top += LIVE + theme::GAP;

    // Four rows of keys and a taller one for Book share what is left.
    let row = ((area.bottom() - top - 4.0 * theme::GAP) / 5.0).clamp(theme::TOUCH, 84.0);
    let column = (area.width() - 3.0 * theme::GAP) / 4.0;
    let place = |x: f32, y: f32, columns: f32, rows: f32| {
        let across = |count: f32, one: f32| count * one + (count - 1.0) * theme::GAP;
        Rect::from_min_size(
            pos2(area.left() + x * (column + theme::GAP), top + y * (row + theme::GAP)),
            vec2(across(columns, column), across(rows, row)),
        )
    };
    for (x, y, key) in KEYS.into_iter().chain([(3.0, 0.0, PadKey::Back)]) {
        let rect = place(x, y, 1.0, 1.0);
        if key_ui(ui, rect, id.with(("key", key.name())), key, sheet) && press(key, draft) {
            event = Some(KeypadEvent::Typed);
        }
    }
    if again_ui(ui, place(3.0, 1.0, 1.0, 2.0), id.with("again"), view, sheet)
        && let Some(again) = view.again
    {
        again.clone_into(draft);
        event = Some(KeypadEvent::Typed);
    }
    let shut = view.refusal.is_some() || draft.is_empty();
    ui.scope(|ui| {
        if shut {
            ui.disable();
        }
        if button_in_ui(ui, place(0.0, 4.0, 4.0, 1.0), id.with("book"), Weight::Primary, view.book).clicked()
        {
            event = Some(KeypadEvent::Book);
        }
    });
    ui.scope(|ui| {
        if !view.can_skip {
            ui.disable();
        }
        if button_in_ui(ui, place(3.0, 3.0, 1.0, 1.0), id.with("skip"), Weight::Plain, "Skip").clicked() {
            event = Some(KeypadEvent::Skip);
        }
    });
    event
}

/// The key that types what was booked last, with its digits on it; shut while nothing was.
fn again_ui(ui: &mut Ui, rect: Rect, id: Id, view: &KeypadView<'_>, sheet: &Sheet) -> bool {
    ui.scope(|ui| {
        let name = match view.again {
            Some(digits) => format!("same again: {digits} {}", view.unit),
            None => {
                ui.disable();
                "same again".to_owned()
            }
        };
        let response = tap(ui, rect, id, &name);
        type_setting::boxed(ui, rect, sheet.field, Stroke::new(1.5, sheet.ink), &response);
        let (painter, colour, room) =
            (ui.painter(), type_setting::text_colour(ui, sheet), rect.width() - 8.0);
        let words = type_setting::galley(painter, "same again", theme::font(theme::LABEL), colour, room, 2);
        let size = words.size();
        let middle = rect.center() - vec2(0.0, if view.again.is_some() { 14.0 } else { 0.0 });
        painter.galley(middle - size / 2.0, words, colour);
        if let Some(digits) = view.again {
            let digits = digits.replace('-', "−");
            let at = pos2(middle.x, middle.y + size.y / 2.0 + 14.0);
            let font = theme::strong(theme::VALUE);
            type_setting::line(painter, at, Align2::CENTER_CENTER, &digits, font, colour, room);
        }
        response.clicked()
    })
    .inner
}

/// Where the keys stand: column, row. Sign and stop stand beside nought.
const KEYS: [(f32, f32, PadKey); 12] = [
    (0.0, 0.0, PadKey::Digit('7')),
    (1.0, 0.0, PadKey::Digit('8')),
    (2.0, 0.0, PadKey::Digit('9')),
    (0.0, 1.0, PadKey::Digit('4')),
    (1.0, 1.0, PadKey::Digit('5')),
    (2.0, 1.0, PadKey::Digit('6')),
    (0.0, 2.0, PadKey::Digit('1')),
    (1.0, 2.0, PadKey::Digit('2')),
    (2.0, 2.0, PadKey::Digit('3')),
    (0.0, 3.0, PadKey::Sign),
    (1.0, 3.0, PadKey::Digit('0')),
    (2.0, 3.0, PadKey::Stop),
];

impl PadKey {
    const fn name(self) -> &'static str {
        match self {
            Self::Digit('0') => "0",
            Self::Digit('1') => "1",
            Self::Digit('2') => "2",
            Self::Digit('3') => "3",
            Self::Digit('4') => "4",
            Self::Digit('5') => "5",
            Self::Digit('6') => "6",
            Self::Digit('7') => "7",
            Self::Digit('8') => "8",
            Self::Digit(_) => "9",
            Self::Stop => "decimal point",
            Self::Sign => "plus or minus",
            Self::Back => "backspace",
        }
    }

    const fn face(self) -> &'static str {
        match self {
            Self::Stop => ".",
            Self::Sign => "+/−",
            other => other.name(),
        }
    }
}

/// Applies a key to the draft; false when it changes nothing.
fn press(key: PadKey, draft: &mut String) -> bool {
    match key {
        PadKey::Digit(figure) if draft.chars().count() < LONGEST => draft.push(figure),
        PadKey::Stop if !draft.contains('.') && draft.chars().count() < LONGEST => {
            if !draft.ends_with(|c: char| c.is_ascii_digit()) {
                draft.push('0');
            }
            draft.push('.');
        }
        PadKey::Sign => match draft.strip_prefix('-') {
            Some(rest) => *draft = rest.to_owned(),
            None => draft.insert(0, '-'),
        },
        PadKey::Back => return draft.pop().is_some(),
        PadKey::Digit(_) | PadKey::Stop => return false,
    }
    true
}

fn key_ui(ui: &Ui, rect: Rect, id: Id, key: PadKey, sheet: &Sheet) -> bool {
    let response = tap(ui, rect, id, key.name());
    type_setting::boxed(ui, rect, sheet.field, Stroke::new(1.5, sheet.ink), &response);
    let face = if key == PadKey::Back { None } else { Some(key.face()) };
    if let Some(face) = face {
        type_setting::line(
            ui.painter(),
            rect.center(),
            Align2::CENTER_CENTER,
            face,
            theme::strong(theme::KEY),
            sheet.ink,
            rect.width(),
        );
    } else {
        backspace_face(ui, rect, sheet);
    }
    response.clicked()
}

fn backspace_face(ui: &Ui, rect: Rect, sheet: &Sheet) {
    let (c, painter, pen) = (rect.center(), ui.painter(), Stroke::new(2.5, sheet.ink));
    let outline = [(-20.0, 0.0), (-9.0, -12.0), (18.0, -12.0), (18.0, 12.0), (-9.0, 12.0)];
    painter.add(Shape::closed_line(outline.iter().map(|(x, y)| c + vec2(*x, *y)).collect(), pen));
    painter.line_segment([c + vec2(-2.0, -5.0), c + vec2(9.0, 5.0)], pen);
    painter.line_segment([c + vec2(-2.0, 5.0), c + vec2(9.0, -5.0)], pen);
}

/// The window with the digits and their unit.
fn window_ui(ui: &Ui, window: Rect, id: Id, view: &KeypadView<'_>, draft: &str, sheet: &Sheet) {
    let response = ui.interact(window, id, Sense::hover());
    response.widget_info(|| {
        let mut info = WidgetInfo::labeled(Role::Status, true, view.subject);
        info.current_text_value = Some(draft.to_owned());
        info
    });
    let painter = ui.painter();
    painter.rect_filled(window, 0.0, sheet.field);
    painter.rect_stroke(window, 0.0, sheet.thick(), StrokeKind::Inside);
    let shown = draft.replace('-', "−");
    let unit = type_setting::line(
        painter,
        pos2(window.right() - 12.0, window.center().y + 6.0),
        Align2::RIGHT_CENTER,
        view.unit,
        theme::font(theme::VALUE),
        sheet.soft,
        60.0,
    );
    let right = unit.left() - 10.0;
    let digits = type_setting::line(
        painter,
        pos2(right, window.center().y),
        Align2::RIGHT_CENTER,
        &shown,
        theme::strong(theme::ENTRY),
        sheet.ink,
        right - window.left() - 10.0,
    );
    // The caret does not blink: a still screen costs no battery.
    let caret = if shown.is_empty() { right } else { digits.right() + 3.0 };
    painter.vline(
        caret,
        window.center().y - 20.0..=window.center().y + 20.0,
        Stroke::new(theme::THICK, sheet.ink),
    );
}

fn live_line(ui: &Ui, rect: Rect, view: &KeypadView<'_>, sheet: &Sheet) {
    let painter = ui.painter();
    let middle = rect.center().y + 2.0;
    if let Some(refusal) = view.refusal {
        let text =
            type_setting::galley(painter, refusal, theme::font(15.0), sheet.ink, rect.width() - 30.0, 2);
        verdict_mark::paint(painter, pos2(rect.left() + 12.0, middle), 22.0, Mark::Refused, sheet);
        painter.galley(pos2(rect.left() + 30.0, middle - text.size().y / 2.0), text, sheet.ink);
        return;
    }
    let Some(live) = view.live else { return };
    let deviation = type_setting::line(
        painter,
        pos2(rect.right(), middle),
        Align2::RIGHT_CENTER,
        &live.deviation,
        theme::strong(24.0),
        sheet.ink,
        rect.width() * 0.5,
    );
    // What has neither deviation nor verdict, such as a back sight, has no mark to show.
    let is_judged = !live.deviation.is_empty() || live.mark != Mark::NotYet;
    let mark = pos2(deviation.left() - if is_judged { 20.0 } else { 0.0 }, middle);
    if is_judged {
        verdict_mark::paint(painter, mark, 26.0, live.mark, sheet);
    }
    type_setting::line(
        painter,
        pos2(rect.left(), middle),
        Align2::LEFT_CENTER,
        &live.meaning,
        theme::strong(theme::VALUE),
        sheet.ink,
        mark.x - 18.0 - rect.left(),
    );
}

/// Keys of a plugged-in keyboard; left alone while a text field has it.
fn hardware_keys(ui: &Ui, view: &KeypadView<'_>, draft: &mut String) -> Option<KeypadEvent> {
    if ui.ctx().text_edit_focused() || !ui.is_enabled() {
        return None;
    }
    let control_focused = ui.memory(|memory| memory.focused().is_some());
    let mut event = None;
    for received in ui.input(|input| input.events.clone()) {
        let key = match received {
            Event::Text(text) => match text.as_str() {
                "." | "," => Some(PadKey::Stop),
                "-" | "+" => Some(PadKey::Sign),
                other => other.chars().next().filter(char::is_ascii_digit).map(PadKey::Digit),
            },
            Event::Key { key: Key::Backspace, pressed: true, .. } => Some(PadKey::Back),
            Event::Key { key: Key::Enter, pressed: true, .. } if !control_focused => {
                if view.refusal.is_none() && !draft.is_empty() {
                    event = Some(KeypadEvent::Book);
                }
                None
            }
            _ => None,
        };
        if let Some(key) = key
            && press(key, draft)
        {
            event = Some(KeypadEvent::Typed);
        }
    }
    event
}

/// A pad of figures alone, in the same dress: the PIN pad's keys. Returns the key that was pressed:
/// a figure, or none for backspace.
pub(super) fn figure_pad_ui(ui: &Ui, area: Rect, id: Id) -> Option<Option<char>> {
    let sheet = theme::sheet(ui);
    let column = (area.width() - 2.0 * theme::GAP) / 3.0;
    let row = ((area.height() - 3.0 * theme::GAP) / 4.0).max(theme::TOUCH);
    let mut pressed = None;
    for (x, y, key) in KEYS {
        let key = match key {
            PadKey::Sign => continue,
            PadKey::Stop => PadKey::Back,
            figure => figure,
        };
        let min = area.min + vec2(x * (column + theme::GAP), y * (row + theme::GAP));
        if key_ui(ui, Rect::from_min_size(min, Vec2::new(column, row)), id.with(key.name()), key, sheet) {
            pressed = Some(match key {
                PadKey::Digit(figure) => Some(figure),
                _ => None,
            });
        }
    }
    pressed
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(keys: &[PadKey]) -> String {
        let mut draft = String::new();
        for key in keys {
            press(*key, &mut draft);
        }
        draft
    }

    #[test]
    fn keys_write_what_a_booker_expects() {
        use PadKey::{Back, Digit, Sign, Stop};
        assert_eq!(typed(&[Digit('1'), Stop, Digit('2'), Digit('5'), Digit('0')]), "1.250");
        assert_eq!(typed(&[Stop, Digit('5')]), "0.5");
        assert_eq!(typed(&[Digit('1'), Stop, Stop, Digit('2')]), "1.2");
        assert_eq!(typed(&[Digit('5'), Sign]), "-5");
        assert_eq!(typed(&[Digit('5'), Sign, Sign]), "5");
        assert_eq!(typed(&[Sign, Stop, Digit('5')]), "-0.5");
        assert_eq!(typed(&[Digit('1'), Back, Back]), "");
    }

    #[test]
    fn the_draft_stops_growing_at_its_longest() {
        assert_eq!(typed(&[PadKey::Digit('9'); 40]).len(), LONGEST);
    }
}
