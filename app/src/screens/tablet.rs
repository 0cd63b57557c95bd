//! Who is at the tablet: shown over whatever screen is open, because a release asks for the PIN in the middle of the
//! work. Choosing a name is enough to book readings; the PIN is given once a shift, to offer, release and sign.

use egui::{RichText, ScrollArea, Ui, vec2};
use gaugerod_core::ids::PersonId;

use crate::action::Action;
use crate::demo;
use crate::state::{Screen, State};
use crate::theme;
use crate::update::{TABLET, TABLET_PERSON, TABLET_PIN};
use crate::widgets::{PinEvent, Weight, button_ui, choice_ui, pin_pad_ui};

/// Fewest figures of a PIN.
const LEAST: usize = 4;

/// Whether it is shown.
pub fn is_shown(state: &State) -> bool {
    state.register.is_some() && state.drafts.on.get(TABLET).copied().unwrap_or(false)
}

/// The people, and the PIN pad of whoever was chosen.
pub fn tablet_ui(ui: &mut Ui, state: &mut State) {
    let people = people(state);
    let typed = state.drafts.text(TABLET_PERSON).parse::<PersonId>().ok();
    let own = state.at_tablet.as_ref().map(|who| who.person);
    let chosen = typed.or(own).filter(|id| people.iter().any(|(known, ..)| known == id));
    theme::scroll(ScrollArea::vertical().auto_shrink([false, false])).show(ui, |ui| {
        if ui.available_width() >= 700.0 {
            ui.horizontal_top(|ui| {
                let width = (ui.available_width() - 24.0) / 2.0;
                ui.allocate_ui(vec2(width, 0.0), |ui| {
                    ui.vertical(|ui| people_ui(ui, state, &people, chosen))
                });
                ui.add_space(16.0);
                ui.allocate_ui(vec2(width, 0.0), |ui| ui.vertical(|ui| pin_ui(ui, state, &people, chosen)));
            });
        } else {
            people_ui(ui, state, &people, chosen);
            pin_ui(ui, state, &people, chosen);
        }
    });
}

/// Id, name and role of one who may act.
type Known = (PersonId, String, &'static str);

/// Everybody who may act, in the order of their names.
pub fn people(state: &State) -> Vec<Known> {
    let Some(register) = &state.register else { return Vec::new() };
    let mut people: Vec<Known> = register
        .site
        .people
        .iter()
        .filter(|(_, person)| person.revoked.is_none())
        .map(|(id, person)| (*id, person.enrolled.name.clone(), person.enrolled.role.title()))
        .collect();
    people.sort_by(|one, other| one.1.cmp(&other.1));
    people
}

fn people_ui(ui: &mut Ui, state: &mut State, people: &[Known], chosen: Option<PersonId>) {
    ui.label(RichText::new("Who is at the tablet?").font(theme::strong(theme::HEADING)));
    if people.is_empty() {
        ui.label("Nobody is enrolled yet.");
        if button_ui(ui, Weight::Primary, "Enrol somebody") {
            state.drafts.on.remove(TABLET);
            state.ask(Action::Go(Screen::SiteFile));
        }
        return;
    }
    for (id, name, role) in people {
        ui.push_id(id.to_hex(), |ui| {
            let size = vec2(ui.available_width().min(460.0), 56.0);
            if choice_ui(ui, chosen == Some(*id), &format!("{name}, {role}"), size) {
                state.drafts.text.insert(TABLET_PERSON.to_owned(), id.to_hex());
                state.drafts.secret_mut(TABLET_PIN).clear();
            }
        });
    }
    if state.register.as_ref().is_some_and(|register| register.site.site() == demo::SITE) {
        let pins: Vec<String> = demo::PEOPLE.iter().map(|(name, _, pin)| format!("{name} {pin}")).collect();
        ui.add(
            egui::Label::new(format!("Invented people of the demo and their PINs: {}.", pins.join(", ")))
                .wrap(),
        );
    }
}

fn pin_ui(ui: &mut Ui, state: &mut State, people: &[Known], chosen: Option<PersonId>) {
    let Some((id, name, _)) = people.iter().find(|(id, ..)| Some(*id) == chosen) else { return };
    let unlocked = state.at_tablet.as_ref().is_some_and(|who| who.person == *id && who.unlocked);
    ui.label(RichText::new(name).font(theme::strong(theme::HEADING)));
    if unlocked {
        ui.label("The PIN was given: it holds until the tablet is handed over.");
        if button_ui(ui, Weight::Plain, "Forget the PIN") {
            state.ask(Action::Lock);
        }
        return;
    }
    let event = pin_pad_ui(ui, LEAST, "Give PIN", state.drafts.secret_mut(TABLET_PIN));
    if event == Some(PinEvent::Done) {
        let pin = std::mem::take(state.drafts.secret_mut(TABLET_PIN));
        state.ask(Action::Unlock { person: *id, pin });
    }
    ui.add(
        egui::Label::new("Without a PIN readings can be booked. To offer, release or sign it is needed.")
            .wrap(),
    );
    if button_ui(ui, Weight::Plain, "Go on without PIN") {
        state.drafts.text.remove(TABLET_PERSON);
        state.drafts.on.remove(TABLET);
        state.ask(Action::TakeOver(*id));
    }
}

#[cfg(test)]
mod tests {
    use egui_kittest::kittest::Queryable as _;

    use super::*;
    use crate::headless;
    use crate::screens::{fixture::Site, window_ui};

    #[test]
    fn the_tablet_is_sound_at_every_size() {
        let mut site = Site::bare();
        let mut state = site.state(Screen::Site);
        state.at_tablet = None;
        state.drafts.on.insert(TABLET.to_owned(), true);
        state.drafts.text.insert(TABLET_PERSON.to_owned(), site.manager.person.to_hex());
        headless::check("tablet", |ui| window_ui(ui, &mut state));
    }

    #[test]
    fn a_name_and_a_pin_unlock() {
        let mut site = Site::bare();
        let mut state = site.state(Screen::Site);
        state.at_tablet = None;
        let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
        harness.get_by_label("Tablet: Who are you?, take the tablet").click();
        harness.run();
        harness.get_by_label("M. Ashby, quality manager").click();
        harness.run();
        for figure in ["4", "7", "1", "1"] {
            harness.get_by_label(figure).click();
            harness.run();
        }
        harness.get_by_label("Give PIN").click();
        harness.run();
        let wanted = Action::Unlock { person: site.manager.person, pin: "4711".to_owned() };
        assert_eq!(harness.state().actions, [wanted]);
        assert_eq!(harness.state().drafts.secret(TABLET_PIN), "");
    }

    #[test]
    fn without_a_pin_the_name_alone_takes_the_tablet() {
        let mut site = Site::bare();
        let mut state = site.state(Screen::Site);
        state.at_tablet = None;
        state.drafts.on.insert(TABLET.to_owned(), true);
        let mut harness = headless::harness(headless::SIZES[1], window_ui, state);
        harness.get_by_label("R. Tarn, site supervisor").click();
        harness.run();
        harness.get_by_label("Go on without PIN").click();
        harness.run();
        assert_eq!(harness.state().actions, [Action::TakeOver(site.supervisor.person)]);
        assert!(!is_shown(harness.state()));
    }
}
