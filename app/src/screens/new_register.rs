//! A new register: where it lies, what the site is called, and the passphrase of its authority.

use egui::{RichText, ScrollArea, Ui};

use crate::action::Action;
use crate::state::State;
use crate::theme;
use crate::widgets::{Mark, Weight, button_ui, field_ui, notice::notice_ui, secret_field_ui};

/// Fewest characters of the passphrase.
const LEAST: usize = gaugerod_core::identity::sealed_key::LEAST_PASSPHRASE_CHARACTERS;

/// The form.
pub fn new_register_ui(ui: &mut Ui, state: &mut State) {
    theme::scroll(ScrollArea::vertical().auto_shrink([false, false])).show(ui, |ui| {
        ui.set_max_width(ui.available_width().min(760.0));
        ui.label(RichText::new("New register").font(theme::strong(theme::HEADING)));
        ui.add(egui::Label::new("One register for each site. It lies in one file on this tablet, its photos in another beside it.").wrap());
        field_ui(ui, "Name of the site", "as it stands on the drawings", state.drafts.text_mut("new-register/site"));
        field_ui(ui, "Register file", "/…/site.gaugerod", state.drafts.text_mut("new-register/path"));
        if button_ui(ui, Weight::Plain, "Choose the place") {
            state.ask(Action::PickNewRegister);
        }
        let words = format!("{LEAST} characters or more");
        secret_field_ui(ui, "Passphrase of the authority", &words, state.drafts.secret_mut("new-register/passphrase"));
        secret_field_ui(ui, "Passphrase once more", "", state.drafts.secret_mut("new-register/passphrase-again"));
        ui.add(
            egui::Label::new(
                "The passphrase is asked for whenever somebody is enrolled. Keep it in the office, not on the tablet: \
                 nobody can recover it. The register then shows a fingerprint. Give it to building control on paper \
                 before work starts; every signed document is checked against it.",
            )
            .wrap(),
        );
        match faults(state) {
            Some(sentence) if has_typed(state) => notice_ui(ui, Mark::Owed, &sentence),
            _ => {}
        }
        let ready = faults(state).is_none();
        ui.add_enabled_ui(ready, |ui| {
            if button_ui(ui, Weight::Primary, "Make the register") {
                let text = |name: &str| state.drafts.text(name).trim().to_owned();
                let action = Action::NewRegister {
                    path: path(&text("new-register/path")).into(),
                    site: text("new-register/site"),
                    passphrase: state.drafts.secret("new-register/passphrase").to_owned(),
                };
                state.ask(action);
            }
        });
    });
}

/// A path without an ending gets ours.
fn path(typed: &str) -> String {
    let has_ending = std::path::Path::new(typed).extension().is_some();
    if has_ending { typed.to_owned() } else { format!("{typed}.gaugerod") }
}

fn has_typed(state: &State) -> bool {
    let typed = |name: &&str| !state.drafts.text(&format!("new-register/{name}")).is_empty();
    ["site", "path"].iter().any(typed) || !state.drafts.secret("new-register/passphrase").is_empty()
}

/// What is still missing, in words.
fn faults(state: &State) -> Option<String> {
    let text = |name: &str| state.drafts.text(name);
    let mut missing = Vec::new();
    if text("new-register/site").trim().is_empty() {
        missing.push("the name of the site".to_owned());
    }
    if text("new-register/path").trim().is_empty() {
        missing.push("where the register lies".to_owned());
    }
    let passphrase = state.drafts.secret("new-register/passphrase");
    if passphrase.chars().count() < LEAST {
        missing.push(format!("a passphrase of {LEAST} characters or more"));
    } else if passphrase != state.drafts.secret("new-register/passphrase-again") {
        missing.push("the same passphrase once more".to_owned());
    }
    (!missing.is_empty()).then(|| format!("Still to come: {}.", missing.join(", ")))
}

#[cfg(test)]
mod tests {
    use egui_kittest::kittest::Queryable as _;

    use super::*;
    use crate::headless;
    use crate::screens::window_ui;
    use crate::state::Screen;

    fn state(passphrase: &str, again: &str) -> State {
        let mut state = State { screen: Screen::NewRegister, ..State::default() };
        for (name, text) in [("site", "Alder Rise"), ("path", "/t/alder")] {
            text.clone_into(state.drafts.text_mut(&format!("new-register/{name}")));
        }
        for (name, text) in [("passphrase", passphrase), ("passphrase-again", again)] {
            text.clone_into(state.drafts.secret_mut(&format!("new-register/{name}")));
        }
        state
    }

    #[test]
    fn the_form_is_sound_at_every_size() {
        let mut state = state("short", "");
        headless::check("new register", |ui| window_ui(ui, &mut state));
    }

    #[test]
    fn it_asks_only_once_both_passphrases_agree() {
        for (passphrase, again, ready) in [
            ("eleven char", "eleven char", false),
            ("twelve chars", "twelve chars", true),
            ("twelve chars", "twelve charS", false),
        ] {
            let mut harness = headless::harness(headless::SIZES[0], window_ui, state(passphrase, again));
            harness.get_by_label("Make the register").click();
            harness.run();
            let asked = harness.state().actions.as_slice();
            let wanted = Action::NewRegister {
                path: "/t/alder.gaugerod".into(),
                site: "Alder Rise".to_owned(),
                passphrase: passphrase.to_owned(),
            };
            assert_eq!(asked, if ready { vec![wanted] } else { vec![] }, "{passphrase} {again}");
        }
    }
}
