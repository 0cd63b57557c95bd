//! Screens and widgets without a window, for tests: drawn at the sizes and densities that must
//! work, and looked over for what no screen may have.
//!
//! [`check`] is the one to call from a screen's test; [`harness`] clicks by accessible name.

use std::collections::{HashMap, HashSet};

use egui::{
    Context, FullOutput, Galley, Pos2, RawInput, Rect, Shape, Theme, Ui, Vec2, ViewportId,
    accesskit::{Action, Node, NodeId, Role},
    vec2,
};

use crate::theme::{self, TOUCH};

/// The sizes in points that every screen must work at: landscape, portrait, small.
pub const SIZES: [Vec2; 3] = [vec2(1280.0, 800.0), vec2(800.0, 1280.0), vec2(960.0, 600.0)];
/// Pixels to the point of the displays that every screen must work at.
pub const DENSITIES: [f32; 3] = [1.0, 1.5, 2.0];

/// A context with the program's own fonts, sheets and touch handling, that reports every id used
/// twice.
pub fn context() -> Context {
    let ctx = Context::default();
    prepare(&ctx);
    ctx
}

fn prepare(ctx: &Context) {
    theme::install(ctx);
    ctx.options_mut(|options| options.warn_on_id_clash = true);
    ctx.enable_accesskit();
}

/// A harness that finds controls by their accessible names: `harness.get_by_label("Book").click()`.
pub fn harness<'a, State>(
    size: Vec2,
    app: impl FnMut(&mut Ui, &mut State) + 'a,
    state: State,
) -> egui_kittest::Harness<'a, State> {
    egui_kittest::Harness::builder().with_size(size).with_context_setup(prepare).build_ui_state(app, state)
}

/// Draws `screen` at every size and density, on both sheets, and panics with everything that is
/// wrong: an id used twice, a character the fonts cannot draw, a control without a name, one smaller than a finger, one that lies
/// outside the screen (unless it can be scrolled to).
pub fn check(name: &str, mut screen: impl FnMut(&mut Ui)) {
    let mut faults = Vec::new();
    for size in SIZES {
        for density in DENSITIES {
            for dark in [false, true] {
                let ctx = context();
                ctx.set_theme(if dark { Theme::Dark } else { Theme::Light });
                let output = settled(&ctx, size, density, &mut screen);
                for fault in faults_of(&ctx, &output, size) {
                    faults.push(format!("{name} at {size:?} × {density}: {fault}"));
                }
                output.drop_without_applying_deltas();
            }
        }
    }
    faults.dedup();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// The output once the layout has settled: panels and scroll areas know their sizes one pass later.
pub fn settled(ctx: &Context, size: Vec2, density: f32, screen: &mut impl FnMut(&mut Ui)) -> FullOutput {
    for _ in 0..3 {
        ctx.run_ui(input(size, density), &mut *screen).drop_without_applying_deltas();
    }
    ctx.run_ui(input(size, density), &mut *screen)
}

fn input(size: Vec2, density: f32) -> RawInput {
    let mut input =
        RawInput { screen_rect: Some(Rect::from_min_size(Pos2::ZERO, size)), ..RawInput::default() };
    input.viewports.entry(ViewportId::ROOT).or_default().native_pixels_per_point = Some(density);
    input
}

fn faults_of(ctx: &Context, output: &FullOutput, size: Vec2) -> Vec<String> {
    let mut faults = Vec::new();
    for clipped in &output.shapes {
        texts(&clipped.shape, &mut |galley| {
            let text = galley.text();
            if text.contains("use of") && text.contains("ID") {
                faults.push(text.to_owned()); // egui's own warning
            } else if let Some(missing) = missing_glyph(ctx, galley) {
                faults.push(format!("the fonts cannot draw {missing:?} of “{text}”"));
            }
        });
    }
    let Some(update) = &output.platform_output.accesskit_update else {
        faults.push("there is no accessibility tree".to_owned());
        return faults;
    };
    let nodes: HashMap<NodeId, &Node> = update.nodes.iter().map(|(id, node)| (*id, node)).collect();
    let mut parents: HashMap<NodeId, NodeId> = HashMap::new();
    for (id, node) in &update.nodes {
        for child in node.children() {
            parents.insert(*child, *id);
        }
    }
    // A scroll area is known by its bar; egui's own bars need no name, they only double the drag.
    let bars: HashSet<NodeId> =
        nodes.iter().filter(|(_, node)| node.role() == Role::ScrollBar).map(|(id, _)| *id).collect();
    let screen = Rect::from_min_size(Pos2::ZERO, size).expand(0.6);
    for (id, node) in &update.nodes {
        let takes_input = node.supports_action(Action::Click) || egui::accessibility::is_input(node.role());
        if !takes_input || bars.contains(id) {
            continue;
        }
        let label = node.label().or(node.placeholder()).unwrap_or_default();
        if label.trim().is_empty() {
            faults.push(format!("a {:?} at {:?} has no name", node.role(), node.bounds()));
            continue;
        }
        let Some(bounds) = node.bounds() else { continue };
        if bounds.width() < f64::from(TOUCH) - 0.6 || bounds.height() < f64::from(TOUCH) - 0.6 {
            faults.push(format!("“{label}” is only {:.0} × {:.0} points", bounds.width(), bounds.height()));
        }
        #[expect(clippy::cast_possible_truncation, reason = "points on a screen")]
        let rect = Rect::from_min_max(
            Pos2::new(bounds.x0 as f32, bounds.y0 as f32),
            Pos2::new(bounds.x1 as f32, bounds.y1 as f32),
        );
        let scrolls = std::iter::successors(Some(*id), |id| parents.get(id).copied()).any(|id| {
            nodes.get(&id).is_some_and(|node| node.children().iter().any(|child| bars.contains(child)))
        });
        if !scrolls && !screen.contains_rect(rect) {
            faults.push(format!("“{label}” at {rect:?} lies outside the screen"));
        }
    }
    faults
}

fn missing_glyph(ctx: &Context, galley: &Galley) -> Option<char> {
    let font = &galley.job.sections.first()?.format.font_id;
    ctx.fonts_mut(|fonts| galley.text().chars().find(|c| !c.is_control() && !fonts.has_glyph(font, *c)))
}

fn texts(shape: &Shape, visit: &mut impl FnMut(&Galley)) {
    match shape {
        Shape::Vec(shapes) => shapes.iter().for_each(|shape| texts(shape, visit)),
        Shape::Text(text) => visit(&text.galley),
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use egui::{Id, pos2};

    use super::*;
    use crate::widgets::type_setting::tap;

    fn faults(mut screen: impl FnMut(&mut Ui)) -> String {
        let ctx = context();
        let output = settled(&ctx, SIZES[0], 1.0, &mut screen);
        let found = faults_of(&ctx, &output, SIZES[0]).join("\n");
        output.drop_without_applying_deltas();
        found
    }

    #[test]
    fn a_faultless_screen_passes() {
        assert_eq!(
            faults(|ui| drop(tap(
                ui,
                Rect::from_min_size(pos2(0.0, 0.0), vec2(48.0, 48.0)),
                Id::unique("a"),
                "one"
            ))),
            ""
        );
    }

    #[test]
    fn an_id_used_twice_is_found() {
        let found = faults(|ui| {
            for x in [0.0, 200.0] {
                tap(ui, Rect::from_min_size(pos2(x, 0.0), vec2(48.0, 48.0)), Id::unique("same"), "twin");
            }
        });
        assert!(found.contains("use of widget ID"), "{found}");
    }

    #[test]
    fn a_character_that_cannot_be_drawn_is_found() {
        let found = faults(|ui| drop(ui.label("fine \u{1F525}")));
        assert!(found.contains("cannot draw '\u{1f525}'"), "{found}");
    }

    #[test]
    fn a_control_without_a_name_is_found() {
        let found = faults(|ui| {
            ui.interact(
                Rect::from_min_size(pos2(0.0, 0.0), vec2(48.0, 48.0)),
                Id::unique("a"),
                egui::Sense::click(),
            );
        });
        assert!(found.contains("has no name"), "{found}");
    }

    #[test]
    fn a_control_smaller_than_a_finger_is_found() {
        let found = faults(|ui| {
            let response = ui.interact(
                Rect::from_min_size(pos2(0.0, 0.0), vec2(48.0, 40.0)),
                Id::unique("a"),
                egui::Sense::click(),
            );
            response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, "small"));
        });
        assert!(found.contains("only 48 × 40"), "{found}");
    }

    #[test]
    fn a_control_outside_the_screen_is_found_unless_it_scrolls() {
        let beyond = Rect::from_min_size(pos2(1270.0, 0.0), vec2(48.0, 48.0));
        let found = faults(|ui| drop(tap(ui, beyond, Id::unique("a"), "gone")));
        assert!(found.contains("outside the screen"), "{found}");
        let found = faults(|ui| {
            theme::scroll(egui::ScrollArea::vertical()).show(ui, |ui| {
                for n in 0..40 {
                    crate::widgets::button_ui(ui, crate::widgets::Weight::Plain, &format!("row {n}"));
                }
            });
        });
        assert_eq!(found, "");
    }
}
