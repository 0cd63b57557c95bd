//! Colours, type and sizes: the only place where any of them is chosen.
//!
//! There are two sheets, a light one (tracing paper) and a dark one (blueprint at night). *Ink*
//! carries all text and all outlines; colours of the published Okabe–Ito palette only ever fill
//! shapes, and what they say is always said by a shape as well. Every pair of text and background
//! that a widget may use is listed by [`Sheet::text_pairs`], and a test reckons that each reaches a
//! contrast of 7:1 (WCAG 2.2, success criterion 1.4.6).
//!
//! Nothing here looks at the state of the program; screens and widgets ask [`sheet`] for the colours
//! of the sheet they are drawn on.

use std::sync::Arc;

use egui::{
    Color32, Context, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Margin, ScrollArea,
    Stroke, Style, TextStyle, Theme, Ui, Vec2, Visuals, containers::scroll_area,
};

/// Least side of anything that can be tapped, in points: a gloved finger.
pub const TOUCH: f32 = 48.0;
/// Space between neighbouring targets, in points.
pub const GAP: f32 = 8.0;
/// Size of a booked or limiting value, in points. Never smaller than 16.
pub const VALUE: f32 = 18.0;
/// Size of running text, in points.
pub const BODY: f32 = 16.0;
/// Size of a caption beside or above a value, in points.
pub const LABEL: f32 = 14.0;
/// Size of a panel's heading, in points.
pub const HEADING: f32 = 22.0;
/// Size of the digits being typed, in points.
pub const ENTRY: f32 = 40.0;
/// Size of the figures on keys, in points.
pub const KEY: f32 = 28.0;

/// Thin line: hatching, dimensions, leaders. The drafting convention (ISO 128) sets
/// thin : thick : extra thick as 1 : 2 : 4.
pub const THIN: f32 = 1.0;
/// Thick line: visible outlines, cut edges.
pub const THICK: f32 = 2.0;
/// Extra thick line: what comes next, damp-proof courses and membranes.
pub const EXTRA: f32 = 4.0;

/// How far a touch may wander and still be a tap, in points: gloves and wet glass.
const CLICK_DISTANCE: f32 = 18.0;
/// How long a touch may rest and still be a tap, in seconds; nothing in the program asks for a long
/// press, so a slow finger must not be mistaken for one.
const CLICK_SECONDS: f64 = 5.0;

const TEXT_FACE: &[u8] = include_bytes!("../../assets/fonts/Inter-Regular.ttf");
const STRONG_FACE: &[u8] = include_bytes!("../../assets/fonts/Inter-SemiBold.ttf");

/// The palette of Okabe and Ito, *Color Universal Design* (2008), as published; told apart by
/// readers with any of the common colour vision deficiencies.
pub mod palette {
    use egui::Color32;

    /// Orange.
    pub const ORANGE: Color32 = Color32::from_rgb(0xE6, 0x9F, 0x00);
    /// Sky blue.
    pub const SKY: Color32 = Color32::from_rgb(0x56, 0xB4, 0xE9);
    /// Bluish green.
    pub const GREEN: Color32 = Color32::from_rgb(0x00, 0x9E, 0x73);
    /// Yellow.
    pub const YELLOW: Color32 = Color32::from_rgb(0xF0, 0xE4, 0x42);
    /// Blue.
    pub const BLUE: Color32 = Color32::from_rgb(0x00, 0x72, 0xB2);
    /// Vermillion.
    pub const VERMILLION: Color32 = Color32::from_rgb(0xD5, 0x5E, 0x00);
    /// Reddish purple.
    pub const PURPLE: Color32 = Color32::from_rgb(0xCC, 0x79, 0xA7);
}

/// The sheet's ink at a strength from 0 to 1: what a drawing behind a plan is drawn in.
pub fn mix_ink(sheet: &Sheet, strength: f32) -> Color32 {
    sheet.ink.gamma_multiply(strength.clamp(0.0, 1.0))
}

/// The colours of one sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sheet {
    /// Whether this is the dark sheet.
    pub dark: bool,
    /// The ground that everything is drawn on.
    pub paper: Color32,
    /// The ground of fields that can be typed or tapped into.
    pub field: Color32,
    /// The ground of bands and panels that lie on the paper.
    pub band: Color32,
    /// Text and outlines.
    pub ink: Color32,
    /// Captions and other secondary text; still 7:1 on every ground.
    pub soft: Color32,
    /// Thin lines that carry no text: rules, hatching, ghosts of what is not built yet.
    pub rule: Color32,
    /// Text and figures that stand inside a palette fill, the same on both sheets.
    pub on_fill: Color32,
    /// Conforms.
    pub ok: Color32,
    /// Does not conform.
    pub bad: Color32,
    /// Too near to call.
    pub near: Color32,
    /// What to do next.
    pub next: Color32,
    /// Beware.
    pub warn: Color32,
    /// Under a recorded concession.
    pub concession: Color32,
}

/// The light sheet.
pub const LIGHT: Sheet = Sheet {
    dark: false,
    paper: Color32::from_rgb(0xF7, 0xF4, 0xEB),
    field: Color32::from_rgb(0xFF, 0xFF, 0xFF),
    band: Color32::from_rgb(0xEB, 0xE6, 0xD8),
    ink: Color32::from_rgb(0x14, 0x18, 0x1B),
    soft: Color32::from_rgb(0x42, 0x47, 0x4A),
    rule: Color32::from_rgb(0x83, 0x84, 0x80),
    on_fill: Color32::from_rgb(0x08, 0x0B, 0x0D),
    ok: palette::GREEN,
    bad: palette::VERMILLION,
    near: palette::ORANGE,
    next: palette::SKY,
    warn: palette::YELLOW,
    concession: palette::PURPLE,
};

/// The dark sheet.
pub const DARK: Sheet = Sheet {
    dark: true,
    paper: Color32::from_rgb(0x0E, 0x1B, 0x27),
    field: Color32::from_rgb(0x06, 0x10, 0x19),
    band: Color32::from_rgb(0x1A, 0x2B, 0x3A),
    ink: Color32::from_rgb(0xF3, 0xEF, 0xE3),
    soft: Color32::from_rgb(0xC0, 0xC7, 0xCB),
    rule: Color32::from_rgb(0x7B, 0x8B, 0x97),
    ..LIGHT
};

impl Sheet {
    /// The sheet of one of the two themes.
    pub const fn of(theme: Theme) -> &'static Self {
        match theme {
            Theme::Light => &LIGHT,
            Theme::Dark => &DARK,
        }
    }

    /// A wash of a palette colour over the paper, weak enough for ink to be read on it.
    pub fn wash(&self, colour: Color32) -> Color32 {
        let strength = if self.dark { 0.20 } else { 0.24 };
        mix(self.paper, colour, strength)
    }

    /// A thin line in ink.
    pub fn thin(&self) -> Stroke {
        Stroke::new(THIN, self.ink)
    }

    /// A thick line in ink.
    pub fn thick(&self) -> Stroke {
        Stroke::new(THICK, self.ink)
    }

    /// An extra thick line in ink.
    pub fn extra(&self) -> Stroke {
        Stroke::new(EXTRA, self.ink)
    }

    /// A thin line that only helps the eye.
    pub fn hairline(&self) -> Stroke {
        Stroke::new(THIN, self.rule)
    }

    /// Every pair of text and background that a widget may put on this sheet: name, text, background.
    pub fn text_pairs(&self) -> Vec<(&'static str, Color32, Color32)> {
        let mut pairs = vec![
            ("ink on next", self.on_fill, self.next),
            ("ink on warning", self.on_fill, self.warn),
            ("ink on too near to call", self.on_fill, self.near),
            ("paper on ink", self.paper, self.ink),
            ("ink on paper", self.ink, self.paper),
            ("ink on field", self.ink, self.field),
            ("ink on band", self.ink, self.band),
            ("soft on paper", self.soft, self.paper),
            ("soft on field", self.soft, self.field),
            ("soft on band", self.soft, self.band),
        ];
        for (name, colour) in [
            ("ink on a wash of orange", palette::ORANGE),
            ("ink on a wash of sky blue", palette::SKY),
            ("ink on a wash of green", palette::GREEN),
            ("ink on a wash of yellow", palette::YELLOW),
            ("ink on a wash of blue", palette::BLUE),
            ("ink on a wash of vermillion", palette::VERMILLION),
            ("ink on a wash of purple", palette::PURPLE),
        ] {
            pairs.push((name, self.ink, self.wash(colour)));
        }
        pairs
    }

    /// Every pair of a drawn figure and the fill it stands in or on: name, figure, fill.
    pub fn figure_pairs(&self) -> Vec<(&'static str, Color32, Color32)> {
        vec![
            ("tick on conforming", self.on_fill, self.ok),
            ("bar on nonconforming", self.on_fill, self.bad),
            ("figure on concession", self.on_fill, self.concession),
            ("figure on too near to call", self.on_fill, self.near),
            ("rule on paper", self.rule, self.paper),
            ("rule on field", self.rule, self.field),
        ]
    }
}

/// The sheet that this `Ui` draws on.
pub fn sheet(ui: &Ui) -> &'static Sheet {
    if ui.visuals().dark_mode { &DARK } else { &LIGHT }
}

/// Regular type of this size, in points.
pub fn font(size: f32) -> FontId {
    FontId::new(size, FontFamily::Proportional)
}

/// Bold type of this size, in points.
pub fn strong(size: f32) -> FontId {
    FontId::new(size, strong_family())
}

/// Type with figures of one width, for columns of readings.
pub fn figures(size: f32) -> FontId {
    FontId::new(size, FontFamily::Monospace)
}

fn strong_family() -> FontFamily {
    FontFamily::Name("strong".into())
}

/// A scroll area that is moved by dragging its contents, with fingers, stylus and mouse alike.
pub fn scroll(area: ScrollArea) -> ScrollArea {
    area.scroll_source(scroll_area::ScrollSource {
        drag: scroll_area::DragScroll::Always,
        ..Default::default()
    })
}

/// Puts fonts, both sheets and the handling of touches into a context. Call once at the start.
pub fn install(ctx: &Context) {
    ctx.set_fonts(fonts());
    for theme in [Theme::Light, Theme::Dark] {
        ctx.set_style_of(theme, style(theme));
    }
    ctx.options_mut(|options| {
        options.input_options.max_click_dist = CLICK_DISTANCE;
        options.input_options.max_click_duration = CLICK_SECONDS;
        options.zoom_with_keyboard = true;
    });
}

fn fonts() -> FontDefinitions {
    let mut fonts = FontDefinitions::empty();
    for (name, bytes) in [("text", TEXT_FACE), ("strong", STRONG_FACE)] {
        fonts.font_data.insert(name.to_owned(), Arc::new(FontData::from_static(bytes)));
    }
    for (family, face) in [
        (FontFamily::Proportional, "text"),
        (FontFamily::Monospace, "text"), // its figures are all of one width
        (strong_family(), "strong"),
    ] {
        fonts.families.insert(family, vec![face.to_owned()]);
    }
    fonts
}

fn style(theme: Theme) -> Style {
    let mut style = Style { visuals: visuals(theme), ..Style::default() };
    style.text_styles = [
        (TextStyle::Small, font(LABEL)),
        (TextStyle::Body, font(BODY)),
        (TextStyle::Button, font(VALUE)),
        (TextStyle::Heading, strong(HEADING)),
        (TextStyle::Monospace, figures(BODY)),
    ]
    .into();
    let spacing = &mut style.spacing;
    spacing.item_spacing = Vec2::splat(GAP);
    spacing.interact_size = Vec2::splat(TOUCH);
    spacing.button_padding = Vec2::new(14.0, 10.0);
    spacing.icon_width = 28.0;
    spacing.icon_width_inner = 18.0;
    spacing.combo_height = 480.0;
    spacing.text_edit_width = 320.0;
    spacing.window_margin = Margin::same(16);
    spacing.menu_margin = Margin::same(8);
    spacing.scroll.bar_width = 12.0;
    spacing.scroll.handle_min_length = TOUCH;
    spacing.scroll.foreground_color = true;
    style.interaction.selectable_labels = false; // a drag over text scrolls, it does not select
    style.interaction.tooltip_delay = f32::INFINITY; // nothing is reachable by hovering only
    style.animation_time = 0.0; // idle screens repaint on demand only
    style
}

fn visuals(theme: Theme) -> Visuals {
    let sheet = Sheet::of(theme);
    let mut v = match theme {
        Theme::Light => Visuals::light(),
        Theme::Dark => Visuals::dark(),
    };
    v.override_text_color = Some(sheet.ink);
    v.weak_text_color = Some(sheet.soft);
    v.hyperlink_color = sheet.ink;
    v.warn_fg_color = sheet.ink;
    v.error_fg_color = sheet.ink;
    v.panel_fill = sheet.paper;
    v.window_fill = sheet.paper;
    v.window_stroke = sheet.thick();
    v.window_corner_radius = CornerRadius::ZERO;
    v.menu_corner_radius = CornerRadius::ZERO;
    v.window_shadow = egui::Shadow::NONE;
    v.popup_shadow = egui::Shadow::NONE;
    v.faint_bg_color = sheet.band;
    v.extreme_bg_color = sheet.field;
    v.code_bg_color = sheet.band;
    v.selection.bg_fill = sheet.wash(palette::SKY);
    v.selection.stroke = sheet.thick();
    v.text_cursor.stroke = Stroke::new(THICK, sheet.ink);
    v.text_cursor.blink = false; // blinking would repaint an idle screen for ever
    v.disabled_alpha = 1.0; // disabled text stays readable: a dashed outline says it instead
    v.image_loading_spinners = false;
    for (state, fill, width) in [
        (&mut v.widgets.noninteractive, sheet.paper, THIN),
        (&mut v.widgets.inactive, sheet.field, THIN),
        (&mut v.widgets.hovered, sheet.field, THICK),
        (&mut v.widgets.active, sheet.wash(palette::SKY), THICK),
        (&mut v.widgets.open, sheet.wash(palette::SKY), THICK),
    ] {
        state.bg_fill = fill;
        state.weak_bg_fill = fill;
        state.bg_stroke = Stroke::new(width, sheet.ink);
        state.fg_stroke = Stroke::new(THICK, sheet.ink);
        state.corner_radius = CornerRadius::ZERO;
        state.expansion = 0.0;
    }
    v.widgets.noninteractive.bg_stroke = sheet.hairline();
    v
}

/// `share` of `b` over `a`, in the display's own (gamma) space.
fn mix(a: Color32, b: Color32, share: f32) -> Color32 {
    a.lerp_to_gamma(b, share)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance of WCAG 2.2 (definition "relative luminance").
    fn luminance(c: Color32) -> f64 {
        let linear = |v: u8| {
            let v = f64::from(v) / 255.0;
            if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * linear(c.r()) + 0.7152 * linear(c.g()) + 0.0722 * linear(c.b())
    }

    /// Contrast ratio of WCAG 2.2 (definition "contrast ratio").
    fn contrast(a: Color32, b: Color32) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn the_contrast_reckoning_gives_the_published_ends_of_its_scale() {
        // WCAG 2.2: ratios range from 1 to 21; #767676 on white is the well-known grey at 4.54.
        assert!((contrast(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1e-9);
        assert!((contrast(Color32::from_rgb(0x76, 0x76, 0x76), Color32::WHITE) - 4.54).abs() < 0.005);
    }

    #[test]
    fn every_text_has_a_contrast_of_seven_to_one_on_both_sheets() {
        for sheet in [&LIGHT, &DARK] {
            for (name, text, ground) in sheet.text_pairs() {
                let ratio = contrast(text, ground);
                assert!(ratio >= 7.0, "{name} (dark: {}) reaches only {ratio:.2}", sheet.dark);
            }
        }
    }

    #[test]
    fn every_figure_has_a_contrast_of_three_to_one_on_both_sheets() {
        // WCAG 2.2, success criterion 1.4.11.
        for sheet in [&LIGHT, &DARK] {
            for (name, figure, ground) in sheet.figure_pairs() {
                let ratio = contrast(figure, ground);
                assert!(ratio >= 3.0, "{name} (dark: {}) reaches only {ratio:.2}", sheet.dark);
            }
        }
    }

    #[test]
    fn values_targets_and_line_weights_keep_their_floors() {
        const { assert!(TOUCH >= 48.0 && GAP >= 8.0 && VALUE >= 16.0 && BODY >= 16.0) };
        assert_eq!([THICK / THIN, EXTRA / THIN], [2.0, 4.0]);
    }
}
