//! The site file: who works with the register, its floor designs, instruments and bench marks, and the fingerprint for building control.

use egui::{RichText, ScrollArea, Ui, vec2};
use gaugerod_core::inspection::level_book::instrument_doubt;
use gaugerod_core::plan_of_work::Role;

use super::{plot_list, tablet};
use crate::action::Action;
use crate::state::{Screen, State};
use crate::theme;
use crate::update::TABLET;
use crate::widgets::{Mark, Weight, button_ui, choice_ui, field_ui, notice::notice_ui, secret_field_ui};

/// The name of the draft that holds the role to enrol.
const ROLE: &str = "enrol/role";
/// The name of the draft that holds the path of a floor design.
const DESIGN_PATH: &str = "design/path";
/// The name of the draft that holds the plots it is for.
const DESIGN_PLOTS: &str = "design/plots";
/// How many faults of a file are shown at once.
const MOST_FAULTS: usize = 40;

/// The site file.
pub fn site_file_ui(ui: &mut Ui, state: &mut State) {
    theme::scroll(ScrollArea::vertical().auto_shrink([false, false])).show(ui, |ui| {
        if ui.available_width() >= 900.0 {
            ui.horizontal_top(|ui| {
                let width = (ui.available_width() - 32.0) / 2.0;
                ui.allocate_ui(vec2(width, 0.0), |ui| {
                    ui.vertical(|ui| {
                        people_ui(ui, state);
                        enrol_ui(ui, state);
                    });
                });
                ui.add_space(16.0);
                ui.allocate_ui(vec2(width, 0.0), |ui| {
                    ui.vertical(|ui| {
                        designs_ui(ui, state);
                        instruments_ui(ui, state);
                        fingerprint_ui(ui, state);
                        close_ui(ui, state);
                    });
                });
            });
        } else {
            people_ui(ui, state);
            enrol_ui(ui, state);
            designs_ui(ui, state);
            instruments_ui(ui, state);
            fingerprint_ui(ui, state);
            close_ui(ui, state);
        }
    });
}

fn heading(ui: &mut Ui, words: &str) {
    ui.add_space(4.0);
    ui.label(RichText::new(words).font(theme::strong(theme::HEADING)));
}

fn wrapped(ui: &mut Ui, words: impl Into<String>) {
    ui.add(egui::Label::new(words.into()).wrap());
}

fn people_ui(ui: &mut Ui, state: &mut State) {
    let at_tablet = state.at_tablet.as_ref().map(|who| who.name.clone());
    let words = at_tablet
        .map_or_else(|| "Take the tablet".to_owned(), |name| format!("Hand the tablet on (now {name})"));
    ui.horizontal(|ui| {
        ui.label(RichText::new("People").font(theme::strong(theme::HEADING)));
        if button_ui(ui, Weight::Plain, &words) {
            state.drafts.on.insert(TABLET.to_owned(), true);
        }
    });
    let people = tablet::people(state);
    if people.is_empty() {
        wrapped(
            ui,
            "Nobody is enrolled yet. Enrol a site supervisor, who books and offers, and a quality manager, who releases.",
        );
    }
    for (_, name, role) in people {
        wrapped(ui, format!("{name}, {role}"));
    }
}

fn enrol_ui(ui: &mut Ui, state: &mut State) {
    heading(ui, "Enrol somebody on this tablet");
    if state.register.as_ref().is_some_and(|register| !register.can_enrol) {
        wrapped(
            ui,
            "This tablet does not hold the authority's key: people are enrolled on the tablet that made the register.",
        );
        return;
    }
    field_ui(ui, "Name", "as it stands on signatures", state.drafts.text_mut("enrol/name"));
    let role: Role = state.drafts.text(ROLE).parse().unwrap_or(Role::Supervisor);
    let width = (ui.available_width() - 2.0 * theme::GAP) / 3.0;
    for row in Role::ALL.chunks(3) {
        ui.horizontal(|ui| {
            for one in row {
                ui.push_id(one.as_str(), |ui| {
                    if choice_ui(ui, role == *one, one.title(), vec2(width.max(120.0), theme::TOUCH)) {
                        one.as_str().clone_into(state.drafts.text_mut(ROLE));
                    }
                });
            }
        });
    }
    let width = (ui.available_width() - theme::GAP) / 2.0;
    ui.horizontal_top(|ui| {
        for (name, hint, draft) in
            [("PIN", "4 to 12 figures", "enrol/pin"), ("PIN once more", "", "enrol/pin-again")]
        {
            ui.vertical(|ui| {
                ui.set_width(width);
                secret_field_ui(ui, name, hint, state.drafts.secret_mut(draft));
            });
        }
    });
    let missing = enrol_faults(state);
    ui.horizontal_top(|ui| {
        let room = ui.available_width() - 110.0;
        ui.vertical(|ui| {
            ui.set_width(room);
            secret_field_ui(
                ui,
                "Passphrase of the authority",
                "",
                state.drafts.secret_mut("enrol/passphrase"),
            );
        });
        ui.vertical(|ui| {
            ui.add_space(22.0);
            ui.add_enabled_ui(missing.is_none(), |ui| {
                if button_ui(ui, Weight::Primary, "Enrol") {
                    let action = Action::Enrol {
                        name: state.drafts.text("enrol/name").trim().to_owned(),
                        role,
                        pin: state.drafts.secret("enrol/pin").to_owned(),
                        passphrase: state.drafts.secret("enrol/passphrase").to_owned(),
                    };
                    state.ask(action);
                }
            });
        });
    });
    let has_typed =
        !state.drafts.text("enrol/name").is_empty() || !state.drafts.secret("enrol/pin").is_empty();
    if let (Some(sentence), true) = (&missing, has_typed) {
        notice_ui(ui, Mark::Owed, sentence);
    }
    wrapped(
        ui,
        "The PIN opens the person's own key on this tablet. A forgotten PIN cannot be recovered: then the person is enrolled again.",
    );
}

fn enrol_faults(state: &State) -> Option<String> {
    let secret = |name: &str| state.drafts.secret(name);
    let mut missing = Vec::new();
    if state.drafts.text("enrol/name").trim().is_empty() {
        missing.push("a name");
    }
    let pin = secret("enrol/pin");
    let figures = pin.chars().count();
    if !(4..=12).contains(&figures) || !pin.bytes().all(|b| b.is_ascii_digit()) {
        missing.push("a PIN of 4 to 12 figures");
    } else if pin != secret("enrol/pin-again") {
        missing.push("the same PIN once more");
    }
    if secret("enrol/passphrase").is_empty() {
        missing.push("the passphrase of the authority");
    }
    (!missing.is_empty()).then(|| format!("Still to come: {}.", missing.join(", ")))
}

fn designs_ui(ui: &mut Ui, state: &mut State) {
    heading(ui, "Floor designs");
    for words in issued(state) {
        wrapped(ui, words);
    }
    field_ui(ui, "Floor design file", "/…/floor.toml", state.drafts.text_mut(DESIGN_PATH));
    ui.horizontal_wrapped(|ui| {
        let path = state.drafts.text(DESIGN_PATH).trim().to_owned();
        ui.add_enabled_ui(!path.is_empty(), |ui| {
            if button_ui(ui, Weight::Plain, "Read design") {
                state.ask(Action::ReadDesign(path.into()));
            }
        });
        if button_ui(ui, Weight::Plain, "Choose a file") {
            state.ask(Action::PickDesign);
        }
    });
    let Some(design) = state.design.clone() else { return };
    match design.result {
        Err(faults) => {
            let count = faults.len();
            let title = if count == 1 { "1 fault".to_owned() } else { format!("{count} faults") };
            let file = design.path.display();
            let mut text =
                format!("{file}: {title}. Nothing was issued; correct the file and read it again.");
            for fault in faults.iter().take(MOST_FAULTS) {
                text.push('\n');
                text.push_str(fault);
            }
            if count > MOST_FAULTS {
                text.push_str("\n…and more.");
            }
            notice_ui(ui, Mark::Nonconforming, &text);
        }
        Ok(title) => {
            notice_ui(ui, Mark::Conforming, &title);
            field_ui(ui, "For plots", "1, 2, 5–9", state.drafts.text_mut(DESIGN_PLOTS));
            let plots = plot_list::read(state.drafts.text(DESIGN_PLOTS));
            if let Err(sentence) = &plots {
                notice_ui(ui, Mark::Owed, sentence);
            }
            let plots = plots.unwrap_or_default();
            let words = match plots.len() {
                0 => "Issue".to_owned(),
                1 => "Issue for 1 plot".to_owned(),
                many => format!("Issue for {many} plots"),
            };
            ui.add_enabled_ui(!plots.is_empty(), |ui| {
                if button_ui(ui, Weight::Primary, &words) {
                    state.ask(Action::IssueDesign { path: design.path, plots });
                }
            });
        }
    }
}

/// The way to instruments and bench marks, with what must not be used as it is.
fn instruments_ui(ui: &mut Ui, state: &mut State) {
    let Some(register) = &state.register else { return };
    let (site, today) = (std::sync::Arc::clone(&register.site), register.today);
    heading(ui, "Levelling");
    for (_, own) in site.instruments.values() {
        if let Some(doubt) = instrument_doubt(own, today) {
            notice_ui(ui, Mark::InQuestion, &super::desk::sentence(&doubt));
        }
    }
    let (instruments, marks) = (site.instruments.len(), site.benchmarks.len());
    if button_ui(ui, Weight::Plain, &format!("Instruments ({instruments}) and bench marks ({marks})")) {
        state.ask(Action::Go(Screen::Instruments));
    }
}

/// Each design in force with its plots, in words.
fn issued(state: &State) -> Vec<String> {
    let Some(register) = &state.register else { return Vec::new() };
    let site = &register.site;
    site.designs
        .iter()
        .filter_map(|(id, issued)| {
            let plots: Vec<&str> = register
                .plots
                .iter()
                .map(|plot| &plot.plot)
                .filter(|plot| site.plots.get(plot) == Some(id))
                .map(gaugerod_core::ids::PlotId::as_str)
                .collect();
            let design = &issued.design;
            let of = match plots.as_slice() {
                [] => return None,
                [one] => format!("plot {one}"),
                many if many.len() > 24 => {
                    format!("{} plots, {} to {}", many.len(), many[0], many[many.len() - 1])
                }
                many => format!("plots {}", many.join(", ")),
            };
            Some(format!("{} rev {}: {of}", design.drawing, design.revision))
        })
        .collect()
}

fn fingerprint_ui(ui: &mut Ui, state: &State) {
    let Some(register) = &state.register else { return };
    heading(ui, "For building control, on paper");
    ui.add(egui::Label::new(RichText::new(&register.fingerprint).font(theme::figures(theme::VALUE))).wrap());
    wrapped(
        ui,
        "This is the fingerprint of the register's own authority. Hand it over on paper before work starts. Whoever \
         checks a signed document compares it; without it nobody can tell this register from another one.",
    );
    wrapped(ui, format!("Register: {}", register.path.display()));
}

fn close_ui(ui: &mut Ui, state: &mut State) {
    ui.add_space(4.0);
    if button_ui(ui, Weight::Plain, "Close the register") {
        state.ask(Action::CloseRegister);
    }
}

#[cfg(test)]
mod tests {
    use egui_kittest::kittest::Queryable as _;

    use super::*;
    use crate::headless;
    use crate::screens::{fixture::Site, fixture::plot, window_ui};
    use crate::state::ReadDesign;

    fn state() -> State {
        Site::bare().state(Screen::SiteFile)
    }

    #[test]
    fn the_site_file_is_sound_at_every_size() {
        let mut state = state();
        headless::check("site file", |ui| window_ui(ui, &mut state));
        let faults = (0..60).map(|n| format!("line {n}: /levels: must be there")).collect();
        state.design = Some(ReadDesign { path: "a.toml".into(), result: Err(faults) });
        headless::check("site file with faults", |ui| window_ui(ui, &mut state));
    }

    #[test]
    fn somebody_is_enrolled_once_everything_is_typed() {
        let mut state = state();
        "A. Gas".clone_into(state.drafts.text_mut("enrol/name"));
        for name in ["enrol/pin", "enrol/pin-again"] {
            "2468".clone_into(state.drafts.secret_mut(name));
        }
        let mut harness = headless::harness(egui::vec2(1280.0, 1400.0), window_ui, state);
        harness.get_by_label("Enrol").click();
        harness.run();
        assert!(harness.state().actions.is_empty(), "the passphrase is missing");
        "twelve chars".clone_into(harness.state_mut().drafts.secret_mut("enrol/passphrase"));
        harness.run();
        harness.get_by_label("registered gas engineer").click();
        harness.run();
        harness.get_by_label("Enrol").click();
        harness.run();
        let wanted = Action::Enrol {
            name: "A. Gas".to_owned(),
            role: Role::GasEngineer,
            pin: "2468".to_owned(),
            passphrase: "twelve chars".to_owned(),
        };
        assert_eq!(harness.state().actions, [wanted]);
    }

    #[test]
    fn a_passphrase_that_was_forgotten_is_not_brought_back_by_undoing() {
        let label = "Passphrase of the authority";
        let mut harness = headless::harness(egui::vec2(1280.0, 1400.0), window_ui, state());
        harness.get_by_role_and_label(egui::accesskit::Role::PasswordInput, label).focus();
        harness.run();
        harness.event(egui::Event::Text("twelve chars".to_owned()));
        harness.run();
        assert_eq!(harness.state().drafts.secret("enrol/passphrase"), "twelve chars");
        harness.state_mut().drafts.secrets.clear();
        harness.run();
        harness.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::Z);
        harness.run();
        assert_eq!(harness.state().drafts.secret("enrol/passphrase"), "");
    }

    #[test]
    fn a_read_design_is_issued_for_the_typed_plots() {
        let mut state = state();
        state.design =
            Some(ReadDesign { path: "a.toml".into(), result: Ok("TG-1 revision B: a house".to_owned()) });
        state.drafts.text.insert(DESIGN_PLOTS.to_owned(), "1, 3–4".to_owned());
        let mut harness = headless::harness(egui::vec2(1280.0, 1400.0), window_ui, state);
        harness.get_by_label("Issue for 3 plots").click();
        harness.run();
        let wanted =
            Action::IssueDesign { path: "a.toml".into(), plots: vec![plot("1"), plot("3"), plot("4")] };
        assert_eq!(harness.state().actions, [wanted]);
    }
}
