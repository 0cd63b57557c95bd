//! The sheet around every screen: title bar (where one is, who is at the tablet, what is on disk), the sentence for
//! the person, long work under way, and the title block at the foot where there is room.

use egui::{Align, Align2, CentralPanel, Frame, Layout, Margin, Panel, Rect, Sense, Ui, pos2, vec2};

use crate::action::Action;
use crate::state::{OpenRegister, Screen, SheetChoice, State};
use crate::theme::{self, Sheet};
use crate::update::TABLET;
use crate::widgets::notice::notice_ui;
use crate::widgets::title_block::{self, Field};
use crate::widgets::type_setting::{boxed, galley, line, tap};
use crate::widgets::{Mark, Weight, button_ui, choice_ui, progress_ui, title_block_ui};

/// Height of the title bar.
const BAR: f32 = 64.0;
/// The title block stands at the foot of windows at least so high.
const HIGH_ENOUGH: f32 = 760.0;

/// Paints the sheet and, inside it, `screen`.
pub fn frame_ui(ui: &mut Ui, state: &mut State, screen: impl FnOnce(&mut Ui, &mut State)) {
    let sheet = theme::sheet(ui);
    let high = ui.max_rect().height() >= HIGH_ENOUGH;
    let bar = Frame::new().fill(sheet.paper).inner_margin(Margin::symmetric(10, 6));
    Panel::top("title-bar").frame(bar).show_separator_line(false).show(ui, |ui| bar_ui(ui, state));
    if state.register.is_some() && is_of_site(&state.screen) {
        let tabs =
            Frame::new().fill(sheet.paper).inner_margin(Margin { left: 12, right: 12, top: 8, bottom: 0 });
        Panel::top("sheets").frame(tabs).show_separator_line(false).show(ui, |ui| sheets_ui(ui, state));
    }
    let around =
        Frame::new().fill(sheet.paper).inner_margin(Margin { left: 12, right: 12, top: 8, bottom: 0 });
    if state.notice.is_some() || state.busy.is_some() || warning(state).is_some() {
        Panel::top("words").frame(around).show_separator_line(false).show(ui, |ui| words_ui(ui, state));
    }
    // The site file and instruments are forms, a photo a picture, neither a drawing: they take the height for themselves.
    let drawn = !matches!(
        state.screen,
        Screen::SiteFile | Screen::Instruments | Screen::Recall | Screen::PourDay(_) | Screen::Photos(..)
    );
    if high && state.register.is_some() && drawn {
        let foot =
            Frame::new().fill(sheet.paper).inner_margin(Margin { left: 12, right: 12, top: 0, bottom: 10 });
        Panel::bottom("title-block")
            .frame(foot)
            .show_separator_line(false)
            .exact_size(title_block::HEIGHT + 10.0)
            .show(ui, |ui| block_ui(ui, state));
    }
    let inner = Frame::new().fill(sheet.paper).inner_margin(Margin::same(12));
    CentralPanel::default().frame(inner).show(ui, |ui| screen(ui, state));
}

/// Whether a screen is one of the whole site's sheets, between which one goes to and fro.
fn is_of_site(screen: &Screen) -> bool {
    screen.plot().is_none() && !matches!(screen, Screen::NewRegister | Screen::Instruments | Screen::Recall)
}

fn bar_ui(ui: &mut Ui, state: &mut State) {
    let sheet = theme::sheet(ui);
    let (_, bar) = ui.allocate_space(vec2(ui.available_width(), BAR - 12.0));
    ui.painter().hline(bar.x_range().expand(10.0), bar.bottom() + 6.0, sheet.thick());
    let mut left = bar.left();
    if !matches!(state.screen, Screen::Welcome | Screen::Site)
        || !state.before.is_empty()
        || tablet_shown(state)
    {
        let rect = Rect::from_min_size(pos2(left, bar.top()), vec2(52.0, bar.height()));
        if arrow_ui(ui, rect, sheet) {
            let back = if tablet_shown(state) { None } else { Some(Action::Back) };
            state.drafts.on.remove(TABLET);
            state.drafts.secrets.clear();
            state.actions.extend(back);
        }
        left = rect.right() + theme::GAP;
    }
    let right = right_ui(ui, state, bar, sheet);
    place_ui(ui, state, Rect::from_x_y_ranges(left..=right, bar.y_range()), sheet);
}

fn tablet_shown(state: &State) -> bool {
    super::tablet::is_shown(state)
}

/// The way back: an arrow drawn, because not every font has one.
fn arrow_ui(ui: &Ui, rect: Rect, sheet: &Sheet) -> bool {
    let response = tap(ui, rect, ui.scope_id().with("back"), "Back");
    boxed(ui, rect, sheet.field, sheet.thin(), &response);
    let c = rect.center();
    let stroke = egui::Stroke::new(3.0, sheet.ink);
    let painter = ui.painter();
    painter.line_segment([c + vec2(-11.0, 0.0), c + vec2(12.0, 0.0)], stroke);
    painter.line_segment([c + vec2(-12.0, 0.0), c + vec2(-2.0, -9.0)], stroke);
    painter.line_segment([c + vec2(-12.0, 0.0), c + vec2(-2.0, 9.0)], stroke);
    response.clicked()
}

/// From the right edge: light or dark, who is at the tablet, what is on disk. Returns where they begin.
fn right_ui(ui: &mut Ui, state: &mut State, bar: Rect, sheet: &Sheet) -> f32 {
    let mut right = bar.right();
    let mut place = |width: f32| {
        let rect = Rect::from_x_y_ranges((right - width)..=right, bar.y_range());
        right = rect.left() - theme::GAP;
        rect
    };
    let (name, other) = match state.sheet {
        SheetChoice::Light => ("Dark sheet", SheetChoice::Dark),
        SheetChoice::Dark => ("Light sheet", SheetChoice::Light),
    };
    let rect = place(52.0);
    let response = tap(ui, rect, ui.scope_id().with("sheet"), name);
    boxed(ui, rect, sheet.field, sheet.thin(), &response);
    half_disc(ui, rect, sheet);
    if response.clicked() {
        state.ask(Action::Sheet(other));
    }
    let Some(register) = &state.register else { return right };
    let (name, words, unlocked) = match &state.at_tablet {
        Some(who) => {
            let pin = if who.unlocked { "PIN given" } else { "no PIN yet" };
            (who.name.clone(), format!("{} · {pin}", who.role.title()), who.unlocked)
        }
        None => ("Who are you?".to_owned(), "take the tablet".to_owned(), false),
    };
    let wide = bar.width() >= 900.0;
    let width = if wide { 236.0 } else { 208.0 };
    let rect = place(width);
    let response = tap(ui, rect, ui.scope_id().with("who"), &format!("Tablet: {name}, {words}"));
    let fill = if unlocked { sheet.field } else { sheet.wash(sheet.next) };
    boxed(ui, rect, fill, sheet.thin(), &response);
    two_lines(ui, rect.shrink2(vec2(10.0, 0.0)), &name, &words, sheet, Align2::LEFT_TOP);
    let on_disk = (wide && !register.on_disk.is_empty()).then(|| register.on_disk.clone());
    if response.clicked() {
        state.drafts.on.insert(TABLET.to_owned(), true);
    }
    if let Some(time) = on_disk {
        let rect = place(84.0);
        two_lines(ui, rect, &time, "on disk", sheet, Align2::RIGHT_TOP);
        let response = ui.interact(rect, ui.scope_id().with("on-disk"), Sense::hover());
        response
            .widget_info(|| egui::WidgetInfo::labeled(egui::Role::Status, true, format!("on disk {time}")));
    }
    right
}

fn two_lines(ui: &Ui, rect: Rect, first: &str, second: &str, sheet: &Sheet, anchor: Align2) {
    let x = if anchor == Align2::RIGHT_TOP { rect.right() } else { rect.left() };
    let painter = ui.painter();
    line(
        painter,
        pos2(x, rect.top() + 5.0),
        anchor,
        first,
        theme::strong(theme::BODY),
        sheet.ink,
        rect.width(),
    );
    line(
        painter,
        pos2(x, rect.top() + 28.0),
        anchor,
        second,
        theme::font(theme::LABEL),
        sheet.soft,
        rect.width(),
    );
}

/// A disc half inked: the sheet's light and dark side.
fn half_disc(ui: &Ui, rect: Rect, sheet: &Sheet) {
    let (c, radius) = (rect.center(), 12.0);
    let mut half = Vec::with_capacity(14);
    for step in 0..=12_u8 {
        let angle = std::f32::consts::FRAC_PI_2 + f32::from(step) / 12.0 * std::f32::consts::PI;
        half.push(c + radius * vec2(angle.cos(), angle.sin()));
    }
    let painter = ui.painter();
    painter.add(egui::Shape::convex_polygon(half, sheet.ink, egui::Stroke::NONE));
    painter.circle_stroke(c, radius, sheet.thick());
}

/// Site › plot › place, each of which but the last is a way back to it.
fn place_ui(ui: &mut Ui, state: &mut State, rect: Rect, sheet: &Sheet) {
    let (site, invented) = match &state.register {
        Some(register) => (register.site.site().to_owned(), is_invented(register)),
        None => ("Gaugerod".to_owned(), false),
    };
    let mut steps: Vec<(String, Option<Screen>)> = Vec::new();
    let at_site = matches!(state.screen, Screen::Site | Screen::Welcome);
    let there = (state.register.is_some() && !at_site).then_some(Screen::Site);
    steps.push((site, there));
    if let Some(plot) = state.screen.plot().cloned() {
        let section = Screen::Section(plot.clone());
        let there = (state.screen != section).then_some(section);
        steps.push((format!("Plot {plot}"), there));
    }
    if let Some(place) = place(state) {
        steps.push((place, None));
    }
    let note = note(state, invented);
    let baseline = if note.is_empty() { rect.center().y } else { rect.top() + 15.0 };
    let mut left = rect.left() + 4.0;
    let last = steps.len() - 1;
    for (index, (words, there)) in steps.into_iter().enumerate() {
        let font = if index == last { theme::strong(20.0) } else { theme::font(20.0) };
        let room = (rect.right() - left).max(24.0);
        let text = galley(ui.painter(), &words, font, sheet.ink, room, 1);
        let size = text.size();
        if let Some(screen) = there {
            let target = Rect::from_x_y_ranges(left..=(left + size.x.max(theme::TOUCH)), rect.y_range());
            let response = tap(ui, target, ui.scope_id().with(("place", index)), &format!("Go to {words}"));
            if response.has_focus() {
                ui.painter().rect_stroke(target, 0.0, sheet.thick(), egui::StrokeKind::Inside);
            }
            ui.painter().hline(left..=(left + size.x), baseline + 13.0, sheet.hairline());
            if response.clicked() {
                state.ask(Action::Go(screen));
            }
        } else {
            let response = ui.interact(
                Rect::from_min_size(pos2(left, rect.top()), vec2(size.x, rect.height())),
                ui.scope_id().with(("place", index)),
                Sense::hover(),
            );
            response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &words));
        }
        ui.painter().galley(pos2(left, baseline - size.y / 2.0), text, sheet.ink);
        left += size.x + 12.0;
        if index < last {
            // The sign between two places is drawn, so that it stands in every font.
            let tip = pos2(left + 5.0, baseline);
            ui.painter().line_segment([tip + vec2(-6.0, -6.0), tip], sheet.thick());
            ui.painter().line_segment([tip + vec2(-6.0, 6.0), tip], sheet.thick());
            left += 18.0;
        }
        if left > rect.right() {
            break;
        }
    }
    if !note.is_empty() {
        let at = pos2(rect.left() + 4.0, rect.bottom() - 11.0);
        line(
            ui.painter(),
            at,
            Align2::LEFT_CENTER,
            &note,
            theme::font(theme::LABEL),
            sheet.soft,
            rect.width() - 8.0,
        );
    }
}

fn place(state: &State) -> Option<String> {
    if tablet_shown(state) {
        return Some("At the tablet".to_owned());
    }
    Some(match &state.screen {
        Screen::Welcome | Screen::Site | Screen::Section(_) => return None,
        Screen::NewRegister => "New register".to_owned(),
        Screen::Register => "Register".to_owned(),
        Screen::SiteFile => "Site file".to_owned(),
        Screen::HoldPoint(plot, id) => state
            .plot(plot)
            .and_then(|view| view.standing.hold_point(id).map(|one| one.short_title.clone()))
            .unwrap_or_else(|| id.to_string()),
        Screen::Photos(..) => "Photos".to_owned(),
        Screen::Working(..) => "Working".to_owned(),
        Screen::WhatToDo(..) => "What to do".to_owned(),
        Screen::LevelBook(_, Some(book)) => format!("Level book {book}"),
        Screen::LevelBook(_, None) => "Level books".to_owned(),
        Screen::PourDay(_) => "Pour".to_owned(),
        Screen::Recall => "Recall a batch".to_owned(),
        Screen::Instruments => "Instruments and bench marks".to_owned(),
        Screen::Nonconformances(_) => "Nonconformances".to_owned(),
        Screen::SignOff(_) => "Sign-off".to_owned(),
        Screen::Cuts(_) => "Cuts".to_owned(),
        Screen::Underlay(_) => "Drawing behind the plan".to_owned(),
    })
}

/// The small line under the title: what everybody must know about what they look at.
fn note(state: &State, invented: bool) -> String {
    let mut notes = Vec::new();
    if invented {
        notes.push("Invented data".to_owned());
    }
    if let Some(view) = state.screen.plot().and_then(|plot| state.plot(plot)) {
        let design = view.record.design();
        notes.push(format!("{} rev {}", design.drawing, design.revision));
    }
    notes.join(" · ")
}

fn is_invented(register: &OpenRegister) -> bool {
    register.site.opened.as_ref().is_some_and(|opened| opened.invented)
}

/// The sheets of the whole site.
fn sheets_ui(ui: &mut Ui, state: &mut State) {
    let open: usize =
        state.register.as_ref().map_or(0, |register| register.plots.iter().map(|plot| plot.open.len()).sum());
    let sheets = [
        (Screen::Site, "Site sheet".to_owned()),
        (Screen::Register, "Register".to_owned()),
        (Screen::Nonconformances(None), format!("Not OK: {open} open")),
        (Screen::SiteFile, "Site file".to_owned()),
    ];
    let width = (ui.available_width() - 3.0 * theme::GAP) / 4.0;
    ui.horizontal(|ui| {
        for (screen, name) in sheets {
            ui.push_id(screen.name(), |ui| {
                let chosen = state.screen == screen && !tablet_shown(state);
                if choice_ui(ui, chosen, &name, vec2(width, theme::TOUCH)) {
                    state.drafts.on.remove(TABLET);
                    state.drafts.secrets.clear();
                    state.ask(Action::Go(screen));
                }
            });
        }
    });
}

/// What is wrong with the whole register, as long as it is open.
fn warning(state: &State) -> Option<&'static str> {
    let register = state.register.as_ref()?;
    if register.read_only {
        return Some("A newer program wrote this register: it can only be looked at here.");
    }
    register.restored_copy.then_some(
        "This register is an older copy than what this tablet last wrote. What was booked since is not in it; the \
         tablet goes on under a new identity, and the record shows it.",
    )
}

fn words_ui(ui: &mut Ui, state: &mut State) {
    if let Some(sentence) = warning(state) {
        notice_ui(ui, Mark::InQuestion, sentence);
    }
    if let Some(busy) = state.busy.clone()
        && progress_ui(ui, &busy.doing, busy.done, busy.whole, busy.can_stop)
    {
        state.ask(Action::Stop);
    }
    if let Some(notice) = state.notice.clone() {
        let mark = if notice.is_problem { Mark::Refused } else { Mark::Conforming };
        ui.with_layout(Layout::right_to_left(Align::TOP), |ui| {
            if button_ui(ui, Weight::Plain, "OK") {
                state.ask(Action::DismissNotice);
            }
            ui.vertical(|ui| notice_ui(ui, mark, &notice.text));
        });
    }
}

fn block_ui(ui: &mut Ui, state: &State) {
    let Some(register) = &state.register else { return };
    let site = register.site.site().to_owned();
    let fields: Vec<(&str, String)> = match state.screen.plot().and_then(|plot| state.plot(plot)) {
        Some(view) => {
            let design = view.record.design();
            vec![
                ("Site", site),
                ("Plot", view.record.plot.to_string()),
                ("Drawing", format!("{} rev {}", design.drawing, design.revision)),
                ("Datum", format!("{} {}", design.datum.name, design.datum.level_m.0.m_text(3))),
                ("Finished floor", format!("+{}", design.levels.finished_floor_level_m.0.m_text(3))),
            ]
        }
        None => {
            let plan = register
                .site
                .plan
                .as_ref()
                .map_or(String::new(), |(_, plan)| format!("{} rev {}", plan.title, plan.revision));
            vec![("Site", site), ("Plots", register.plots.len().to_string()), ("Plan of work", plan)]
        }
    };
    let fields: Vec<Field<'_>> = fields.iter().map(|(caption, value)| Field { caption, value }).collect();
    title_block_ui(ui, &fields);
}
