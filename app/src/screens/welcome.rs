//! Nothing is open yet: the demo, a new register, or opening one. Three big choices with a line each.

use egui::{Align2, Rect, RichText, Ui, pos2, vec2};

use crate::action::Action;
use crate::state::{Screen, State};
use crate::theme;
use crate::widgets::{
    Weight, button_ui, field_ui,
    hatch::{self, Material},
    type_setting::{boxed, galley, line, tap},
};

/// The welcome sheet.
pub fn welcome_ui(ui: &mut Ui, state: &mut State) {
    let sheet = theme::sheet(ui);
    theme::scroll(egui::ScrollArea::vertical().auto_shrink([false, false])).show(ui, |ui| {
        ui.set_max_width(ui.available_width().min(1000.0));
        ui.add_space(8.0);
        ui.label(RichText::new("What is covered is proved first.").font(theme::strong(30.0)));
        ui.add(
            egui::Label::new(
                RichText::new(
                    "Hold points of a suspended ground floor of precast beams: book what you measure, see at once what \
                     is OK, release before it is covered, hand over a signed record. Works without a network.",
                )
                .color(sheet.soft),
            )
            .wrap(),
        );
        ui.add_space(8.0);
        let choices = [
            ("Look at the demo site", "An invented site with plots at every stage. Try anything: no such site exists.", Action::OpenDemo),
            ("Start a new register", "One register for each site. You need a name for it and a passphrase.", Action::Go(Screen::NewRegister)),
            ("Open a register", "Go on with a site that has one: a file that ends in .gaugerod.", Action::PickRegister),
        ];
        // How much of the floor is built: all of it in the demo, the ground alone in a new register.
        for ((title, line, action), built) in choices.into_iter().zip([3, 1, 2]) {
            if choice_ui(ui, title, line, built) {
                state.ask(action);
            }
        }
        ui.add_space(4.0);
        ui.horizontal_top(|ui| {
            let room = (ui.available_width() - 130.0).max(200.0);
            ui.vertical(|ui| {
                ui.set_width(room);
                field_ui(ui, "Register file", "/…/site.gaugerod", state.drafts.text_mut("open/path"));
            });
            ui.vertical(|ui| {
                ui.add_space(22.0);
                let path = state.drafts.text("open/path").trim().to_owned();
                ui.add_enabled_ui(!path.is_empty(), |ui| {
                    if button_ui(ui, Weight::Plain, "Open file") {
                        state.ask(Action::OpenRegister(path.into()));
                    }
                });
            });
        });
        ui.add_space(12.0);
        ui.add(
            egui::Label::new(
                RichText::new(
                    "The register is the contractor's own record. It is no approval under building regulations and no \
                     structural certificate: the designer, the engineer, the registered gas engineer and local codes \
                     govern.",
                )
                .color(sheet.soft),
            )
            .wrap(),
        );
    });
}

/// One big choice: a title, a line, and a strip of floor beside it.
fn choice_ui(ui: &mut Ui, title: &str, words: &str, built: usize) -> bool {
    let (id, rect) = ui.allocate_space(vec2(ui.available_width(), 96.0));
    let response = tap(ui, rect, id, title);
    let (sheet, painter) = (theme::sheet(ui), ui.painter());
    boxed(ui, rect, sheet.field, sheet.thick(), &response);
    let strip = Rect::from_min_max(rect.min, pos2(rect.left() + 72.0, rect.bottom()));
    let layers = [(0.34, Material::Concrete), (0.62, Material::Insulation), (1.0, Material::Ground)];
    let mut top = strip.top();
    for (place, (share, material)) in layers.into_iter().enumerate() {
        let layer = Rect::from_x_y_ranges(strip.x_range(), top..=(strip.top() + strip.height() * share));
        if place + built >= layers.len() {
            hatch::fill_rect(painter, layer, material, sheet);
        }
        painter.hline(layer.x_range(), layer.bottom(), sheet.thin());
        top = layer.bottom();
    }
    painter.vline(strip.right(), rect.y_range(), sheet.thick());
    painter.rect_stroke(rect, 0.0, sheet.thick(), egui::StrokeKind::Inside);
    let room = rect.width() - 72.0 - 40.0;
    let at = pos2(strip.right() + 20.0, rect.top() + 14.0);
    line(painter, at, Align2::LEFT_TOP, title, theme::strong(theme::HEADING), sheet.ink, room);
    let text = galley(painter, words, theme::font(theme::BODY), sheet.soft, room, 2);
    painter.galley(at + vec2(0.0, 34.0), text, sheet.soft);
    response.clicked()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::headless;
    use crate::screens::window_ui;

    #[test]
    fn the_welcome_sheet_is_sound_at_every_size() {
        headless::check("welcome", |ui| window_ui(ui, &mut State::default()));
    }

    #[test]
    fn three_choices_ask_for_the_demo_a_new_register_and_a_file() {
        use egui_kittest::kittest::Queryable as _;
        let mut harness = headless::harness(headless::SIZES[0], window_ui, State::default());
        for name in ["Look at the demo site", "Start a new register", "Open a register"] {
            harness.get_by_label(name).click();
            harness.run();
        }
        let wanted = [Action::OpenDemo, Action::Go(Screen::NewRegister), Action::PickRegister];
        assert_eq!(harness.state().actions, wanted);
    }

    #[test]
    fn a_typed_path_opens() {
        use egui_kittest::kittest::Queryable as _;
        let mut state = State::default();
        "/site/a.gaugerod".clone_into(state.drafts.text_mut("open/path"));
        let mut harness = headless::harness(headless::SIZES[1], window_ui, state);
        harness.get_by_label("Open file").click();
        harness.run();
        assert_eq!(harness.state().actions, [Action::OpenRegister("/site/a.gaugerod".into())]);
    }
}
