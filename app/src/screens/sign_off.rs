//! Signing a plot off: what stands in the way, what the pages say, PIN and drawn signature; afterwards where the
//! file lies and how anybody can check it.
//!
//! The pages are made on the worker and shown as the text that will be signed. What proves who signed is the key
//! behind the PIN; the drawn signature is shown beside it and proves nothing by itself.

use egui::{Frame, Label, Margin, Panel, RichText, ScrollArea, Ui, vec2};
use gaugerod_core::ids::PlotId;
use gaugerod_core::inspection::decide;
use gaugerod_core::inspection::standing::SIGN_OFF;
use gaugerod_core::plan_of_work::Role;

use super::desk::{self, Desk, sentence};
use crate::action::Action;
use crate::state::{Screen, State};
use crate::theme;
use crate::widgets::{self, Mark, PinEvent, Weight, buttons};

const PIN: &str = "sign-off/pin";
/// Fewest figures of a PIN.
const LEAST_PIN: usize = 4;

/// The sign-off of a plot.
pub fn sign_off_ui(ui: &mut Ui, state: &mut State, plot: &PlotId) {
    let Some(desk) = Desk::of(state, plot) else {
        return desk::waiting_ui(ui, plot);
    };
    let size = ui.available_size();
    let signing = |ui: &mut Ui, state: &mut State| {
        theme::scroll(ScrollArea::vertical().id_salt("signing").auto_shrink([false, false])).show(ui, |ui| {
            ui.set_width(ui.available_width() - 4.0);
            signing_ui(ui, state, &desk);
        });
    };
    if size.x < size.y {
        let frame = Frame::new().inner_margin(Margin { top: 10, bottom: 8, ..Margin::ZERO });
        Panel::bottom("signing")
            .resizable(false)
            .exact_size(size.y * 0.56)
            .frame(frame)
            .show(ui, |ui| signing(ui, state));
    } else {
        let frame = Frame::new().inner_margin(Margin { left: 14, bottom: 8, ..Margin::ZERO });
        Panel::right("signing")
            .resizable(false)
            .exact_size((size.x * 0.58).min(760.0))
            .frame(frame)
            .show(ui, |ui| signing(ui, state));
    }
    pages_ui(ui, state, &desk);
}

/// The pages as text, page by page.
fn pages_ui(ui: &mut Ui, state: &mut State, desk: &Desk) {
    let mine = state.preview.plot.as_ref() == Some(&desk.plot);
    let pages = if mine { state.preview.pages.len() } else { 0 };
    ui.horizontal_wrapped(|ui| {
        ui.heading(match pages {
            0 => "The pages".to_owned(),
            1 => "1 page".to_owned(),
            many => format!("{many} pages"),
        });
        if state.busy.is_none() {
            let word = if pages == 0 { "Make the draft pages" } else { "Make them again" };
            if widgets::button_ui(ui, Weight::Plain, word) {
                state.ask(Action::PreviewSignOff(desk.plot.clone()));
            }
        }
        if let Some(draft) = state.preview.draft.clone().filter(|_| mine)
            && widgets::button_ui(ui, Weight::Plain, "Show the draft")
        {
            state.ask(Action::ShowFile(draft));
        }
    });
    if pages == 0 {
        ui.add(
            Label::new(
                "The draft pages say what will be signed. Every page of a draft is marked as a draft.",
            )
            .wrap(),
        );
        return;
    }
    theme::scroll(ScrollArea::vertical().id_salt("pages").auto_shrink([false, false])).show(ui, |ui| {
        ui.set_width(ui.available_width() - 6.0);
        for (number, lines) in state.preview.pages.iter().enumerate() {
            ui.push_id(("page", number), |ui| page_ui(ui, number + 1, pages, lines));
        }
    });
}

fn page_ui(ui: &mut Ui, number: usize, of: usize, lines: &[String]) {
    let sheet = theme::sheet(ui);
    Frame::new().fill(sheet.field).stroke(sheet.thin()).inner_margin(Margin::same(16)).show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.spacing_mut().item_spacing.y = 3.0;
        for line in lines {
            ui.add(Label::new(line).wrap());
        }
        ui.label(
            RichText::new(format!("page {number} of {of}")).font(theme::font(theme::LABEL)).color(sheet.soft),
        );
    });
}

fn signing_ui(ui: &mut Ui, state: &mut State, desk: &Desk) {
    let mine = state.preview.plot.as_ref() == Some(&desk.plot);
    if let Some(file) = state.preview.signed.clone().filter(|_| mine) {
        return signed_ui(ui, state, desk, &file);
    }
    ui.heading(format!("Sign off plot {}", desk.plot));
    let signers = desk.view.record.plan.hold_points.iter().find(|one| one.id.as_str() == SIGN_OFF);
    let signers = signers.map_or_else(|| vec![Role::QualityManager], |one| one.released_by.clone());
    let against = against(state, desk, mine);
    if !against.is_empty() {
        ui.label(RichText::new("This stands in the way").font(theme::strong(theme::VALUE)));
        for line in &against {
            widgets::notice_ui(ui, Mark::Refused, line);
        }
        ways_ui(ui, state, desk);
    }
    let Some(at_tablet) = desk.at_tablet.clone() else {
        ui.label("Nobody is at the tablet: take it over with your name first.");
        return;
    };
    if !desk.is_one_of(&signers) {
        ui.label(format!("The {} signs it off.", desk::roles(&signers)));
        return;
    }
    if !against.is_empty() || state.busy.is_some() {
        return;
    }
    ui.horizontal_top(|ui| {
        let half = (ui.available_width() - 2.0 * theme::GAP) / 2.0;
        ui.allocate_ui(vec2(half, 0.0), |ui| {
            ui.vertical(|ui| {
                ui.set_width(half);
                let who = format!("{}, {}", at_tablet.name, at_tablet.role.title());
                ui.add(Label::new(RichText::new(who).font(theme::strong(theme::VALUE))).wrap());
                let what = "The contractor's record: not Building Regulations approval, and not a structural certificate.";
                ui.add(Label::new(what).wrap());
                ui.label("Sign here with a finger:");
                widgets::signature_pad_ui(ui, &at_tablet.name, &mut state.drafts.strokes);
            });
        });
        ui.add_space(theme::GAP);
        ui.allocate_ui(vec2(half, 0.0), |ui| {
            ui.vertical(|ui| {
                ui.set_width(half);
                pin_ui(ui, state, desk);
            });
        });
    });
}

fn pin_ui(ui: &mut Ui, state: &mut State, desk: &Desk) {
    let mut digits = std::mem::take(state.drafts.secret_mut(PIN));
    if widgets::pin_pad_ui(ui, LEAST_PIN, "Sign", &mut digits) == Some(PinEvent::Done) {
        let drawn = std::mem::take(&mut state.drafts.strokes);
        state.ask(Action::SignOff { plot: desk.plot.clone(), pin: digits, drawn });
        return;
    }
    *state.drafts.secret_mut(PIN) = digits;
}

/// What stands in the way: from the rules themselves, and from the draft pages where they say more.
fn against(state: &State, desk: &Desk, mine: bool) -> Vec<String> {
    let view = &desk.view;
    let mut against: Vec<String> =
        view.standing.against_sign_off().iter().map(|line| sentence(line)).collect();
    if let Some(own) = view.standing.hold_points.iter().find(|one| one.id.as_str() == SIGN_OFF) {
        against.extend(own.owed.iter().map(|owed| sentence(&format!("owed {}", owed.what))));
        against.extend(own.unsettled.iter().map(|line| sentence(line)));
    }
    if against.is_empty()
        && let Some(at_tablet) = &desk.at_tablet
        && let Err(refusal) = decide::sign_off(&desk.site, &view.standing, &view.record, at_tablet.person)
        && !matches!(refusal, gaugerod_core::inspection::Refusal::Role { .. })
    {
        against.push(sentence(&refusal.to_string()));
    }
    if against.is_empty() && mine {
        against.extend(state.preview.against.iter().map(|line| sentence(line)));
    }
    against
}

fn ways_ui(ui: &mut Ui, state: &mut State, desk: &Desk) {
    ui.horizontal_wrapped(|ui| {
        if widgets::button_ui(ui, Weight::Plain, "To the section") {
            state.ask(Action::Go(Screen::Section(desk.plot.clone())));
        }
        let own = desk.view.standing.hold_points.iter().find(|one| one.id.as_str() == SIGN_OFF);
        if let Some(own) = own.filter(|own| !own.owed.is_empty())
            && widgets::button_ui(ui, Weight::Plain, "Answer what is owed")
        {
            state.ask(Action::Go(Screen::HoldPoint(desk.plot.clone(), own.id.clone())));
        }
    });
}

/// The file is there: where, and how anybody can check it without this program's window.
fn signed_ui(ui: &mut Ui, state: &mut State, desk: &Desk, file: &std::path::Path) {
    ui.horizontal(|ui| {
        widgets::mark_ui(ui, Mark::Released, 34.0);
        ui.heading(format!("Plot {} is signed off", desk.plot));
    });
    let path = file.display().to_string();
    ui.add(Label::new(RichText::new(&path).font(theme::strong(theme::BODY))).wrap());
    if buttons::wide_button_ui(ui, Weight::Primary, "Show the signed document") {
        state.ask(Action::ShowFile(file.to_path_buf()));
    }
    ui.add_space(theme::GAP);
    ui.label(RichText::new("How anybody checks it").font(theme::strong(theme::VALUE)));
    ui.add(Label::new(format!("gaugerod verify \"{path}\"")).wrap());
    ui.add(Label::new("Any program that shows signatures of PDF documents checks it too. Compare the fingerprint of the site's authority:").wrap());
    if let Some(register) = &state.register {
        ui.add(Label::new(RichText::new(&register.fingerprint).font(theme::strong(theme::BODY))).wrap());
    }
    ui.add_space(theme::GAP);
    if widgets::button_ui(ui, Weight::Plain, "To the section") {
        state.ask(Action::Go(Screen::Section(desk.plot.clone())));
    }
}

#[cfg(test)]
mod tests {
    use egui_kittest::kittest::Queryable as _;

    use super::*;
    use crate::headless;
    use crate::screens::fixture::{Site, plot};

    #[test]
    fn the_sign_off_passes_the_checks_in_every_state() {
        let mut site = Site::new();
        for name in ["1", "2", "5"] {
            let mut state = site.state(Screen::SignOff(plot(name)));
            headless::check(&format!("plot {name}, supervisor"), |ui| {
                crate::screens::window_ui(ui, &mut state)
            });
            site.hand_to_manager(&mut state);
            headless::check(&format!("plot {name}, manager"), |ui| crate::screens::window_ui(ui, &mut state));
            state.preview.plot = Some(plot(name));
            state.preview.pages = vec![vec!["Plot".to_owned(), "Bearing level: released".to_owned()]; 3];
            state.preview.draft = Some("draft.pdf".into());
            headless::check(&format!("plot {name}, draft"), |ui| crate::screens::window_ui(ui, &mut state));
            state.preview.signed = Some("/sites/thistle/plot-5.pdf".into());
            headless::check(&format!("plot {name}, signed"), |ui| crate::screens::window_ui(ui, &mut state));
        }
    }

    #[test]
    fn the_manager_signs_with_a_pin_and_it_is_forgotten_at_once() {
        let mut site = Site::new();
        let mut state = site.state(Screen::SignOff(plot("5")));
        site.hand_to_manager(&mut state);
        let mut harness = headless::harness(headless::SIZES[1], crate::screens::window_ui, state);
        for key in ["4", "7", "1", "1"] {
            harness.get_by_label(key).click();
            harness.run();
        }
        harness.get_by_label("Sign").click();
        harness.run();
        let asked = harness.state().actions.clone();
        assert_eq!(asked, [Action::SignOff { plot: plot("5"), pin: "4711".to_owned(), drawn: Vec::new() }]);
        assert_eq!(harness.state().drafts.secret(PIN), "");
    }

    #[test]
    fn the_supervisor_is_told_who_signs_and_has_no_pad() {
        let mut site = Site::new();
        let state = site.state(Screen::SignOff(plot("5")));
        let harness = headless::harness(headless::SIZES[0], crate::screens::window_ui, state);
        harness.get_by_label("The quality manager signs it off.");
        assert!(harness.query_by_label("Sign").is_none());
    }

    #[test]
    fn what_stands_in_the_way_is_named_and_nothing_can_be_signed() {
        let mut site = Site::new();
        let mut state = site.state(Screen::SignOff(plot("2")));
        site.hand_to_manager(&mut state);
        let harness = headless::harness(headless::SIZES[1], crate::screens::window_ui, state);
        harness.get_by_label_contains("Bearing walls at level is open");
        assert!(harness.query_by_label("Sign").is_none());
    }
}
