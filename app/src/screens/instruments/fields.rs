//! Figures and days of a form: boxes that are tapped and filled with the docked keypad, so that gloves can do it.

use egui::{Align2, Stroke, Ui, pos2, vec2};
use gaugerod_core::entry::BookMethod;
use gaugerod_core::quantity::Length;
use gaugerod_core::time::Date;

use super::forms::Form;
use crate::action::Action;
use crate::screens::level_book::typed;
use crate::state::State;
use crate::theme;
use crate::widgets::{self, KeypadEvent, KeypadView, type_setting};

/// What stands in a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Holds {
    /// Millimetres.
    Millimetres,
    /// A staff reading or a level: metres with a point, millimetres without.
    Staff,
    /// Metres.
    Metres,
    /// A day: eight figures, year first.
    Day,
}

/// One field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Field {
    /// The end of its draft's name.
    pub name: &'static str,
    /// Its caption.
    pub caption: &'static str,
    /// What stands in it.
    pub holds: Holds,
}

/// The whole name of a draft of the forms.
pub(super) fn draft(name: &str) -> String {
    format!("{}{name}", super::REGISTER_DRAFTS)
}

/// A draft's text.
pub(super) fn text<'a>(state: &'a State, name: &str) -> &'a str {
    state.drafts.text(&draft(name))
}

/// Keeps a text, so that it survives a kill.
pub(super) fn keep(state: &mut State, name: &str, text: String) {
    let name = draft(name);
    if text.is_empty() {
        state.drafts.text.remove(&name);
    } else {
        state.drafts.text.insert(name.clone(), text.clone());
    }
    state.ask(Action::KeepDraft { name, text });
}

impl Field {
    /// What was typed, as a length.
    ///
    /// # Errors
    /// What is wrong with it.
    pub(super) fn length(&self, state: &State) -> Result<Length, String> {
        let text = text(state, self.name);
        let whole = text.strip_suffix('.').unwrap_or(text);
        let read = match self.holds {
            Holds::Staff => typed::read(text, BookMethod::HeightOfCollimation),
            Holds::Metres => Length::parse_m(whole).map_err(|fault| fault.to_string()),
            Holds::Millimetres | Holds::Day => Length::parse_mm(whole).map_err(|fault| fault.to_string()),
        };
        read.map_err(|what| format!("{} {what}", self.caption))
    }

    /// What was typed, as a day.
    ///
    /// # Errors
    /// What is wrong with it.
    pub(super) fn day(&self, state: &State) -> Result<Date, String> {
        let dashed = dashed(text(state, self.name));
        dashed.parse().map_err(|fault: gaugerod_core::time::DateFault| format!("{} {fault}", self.caption))
    }

    fn unit(&self, text: &str) -> &'static str {
        match self.holds {
            Holds::Millimetres => "mm",
            Holds::Metres => "m",
            Holds::Staff => typed::unit(text, BookMethod::HeightOfCollimation),
            Holds::Day => "",
        }
    }

    /// What was typed, as the box shows it.
    fn shown(&self, state: &State) -> String {
        let text = text(state, self.name);
        match self.holds {
            _ if text.is_empty() => String::new(),
            Holds::Day => dashed(text),
            Holds::Staff => match self.length(state) {
                Ok(length) => format!("{} m", typed::metres(length)),
                Err(_) => text.replace('-', "−"),
            },
            Holds::Millimetres | Holds::Metres => format!("{} {}", text.replace('-', "−"), self.unit(text)),
        }
    }
}

/// Figures of a day with its dashes: `20261125` and `2026-11-25` are the same.
fn dashed(text: &str) -> String {
    let figures: Vec<char> = text.chars().filter(char::is_ascii_digit).collect();
    let mut dashed = String::new();
    for (index, figure) in figures.iter().enumerate() {
        if matches!(index, 4 | 6) {
            dashed.push('-');
        }
        dashed.push(*figure);
    }
    dashed
}

/// Figures of a day, as they are typed.
pub(super) fn figures(day: Date) -> String {
    day.to_string().chars().filter(char::is_ascii_digit).collect()
}

/// Boxes for some fields beside each other.
pub(super) fn fields_ui(ui: &mut Ui, state: &mut State, fields: &[Field]) {
    #[expect(clippy::cast_precision_loss, reason = "a handful of fields")]
    let count = fields.len().max(1) as f32;
    let width = (ui.available_width() - (count - 1.0) * theme::GAP) / count;
    ui.horizontal(|ui| {
        for field in fields {
            ui.push_id(field.name, |ui| box_ui(ui, state, field, width));
        }
    });
}

fn box_ui(ui: &mut Ui, state: &mut State, field: &Field, width: f32) {
    let sheet = theme::sheet(ui);
    let shown = field.shown(state);
    let (id, rect) = ui.allocate_space(vec2(width, theme::TOUCH + 12.0));
    let value = if shown.is_empty() { "empty" } else { &shown };
    let response = type_setting::tap(ui, rect, id, &format!("{}: {value}", field.caption));
    let chosen = state.drafts.field.as_deref() == Some(field.name);
    let stroke = if chosen { Stroke::new(theme::EXTRA, sheet.ink) } else { sheet.thin() };
    let fill = if chosen { sheet.wash(sheet.next) } else { sheet.field };
    type_setting::boxed(ui, rect, fill, stroke, &response);
    let painter = ui.painter();
    type_setting::line(
        painter,
        rect.min + vec2(10.0, 6.0),
        Align2::LEFT_TOP,
        field.caption,
        theme::font(13.0),
        sheet.soft,
        width - 16.0,
    );
    type_setting::line(
        painter,
        pos2(rect.left() + 10.0, rect.bottom() - 19.0),
        Align2::LEFT_CENTER,
        &shown,
        theme::strong(theme::VALUE),
        sheet.ink,
        width - 16.0,
    );
    if response.clicked() {
        state.drafts.field = Some(field.name.to_owned());
    }
}

/// The keypad for the chosen field of a form; the first one while none is chosen.
pub(super) fn keypad_ui(ui: &mut Ui, state: &mut State, form: Form) {
    let fields = form.fields(state);
    let chosen = state.drafts.field.clone();
    let place = chosen.and_then(|name| fields.iter().position(|field| field.name == name)).unwrap_or(0);
    let Some(field) = fields.get(place).copied() else { return };
    state.drafts.field = Some(field.name.to_owned());
    let text = text(state, field.name).to_owned();
    let next = fields.get(place + 1);
    let book = next.map_or_else(|| "Done".to_owned(), |next| format!("Next: {}", next.caption));
    let view = KeypadView {
        subject: field.caption,
        unit: field.unit(&text),
        live: None,
        refusal: None,
        book: &book,
        can_skip: false,
        again: None,
    };
    // A day shows its dashes while it is typed; only its figures are kept.
    let mut draft = if field.holds == Holds::Day { dashed(&text) } else { text };
    match widgets::keypad_ui(ui, &view, &mut draft) {
        Some(KeypadEvent::Typed) => {
            let text = if field.holds == Holds::Day {
                draft.chars().filter(char::is_ascii_digit).take(8).collect()
            } else {
                draft
            };
            keep(state, field.name, text);
        }
        Some(KeypadEvent::Book) => {
            if let Some(next) = next {
                state.drafts.field = Some(next.name.to_owned());
            }
        }
        _ => {}
    }
}
