//! A window with the gallery of widgets: `gallery [section|hold-point|pads|site] [light|dark] [WIDTHxHEIGHT]`.

use gaugerod::{
    theme,
    widgets::gallery::{Gallery, Page, gallery_ui},
};

struct Window {
    page: Page,
    state: Gallery,
}

impl eframe::App for Window {
    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        gallery_ui(ui, self.page, &mut self.state);
    }
}

fn main() -> eframe::Result {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let has = |word: &str| arguments.iter().any(|argument| argument == word);
    let page = match () {
        () if has("hold-point") => Page::HoldPoint,
        () if has("pads") => Page::Pads,
        () if has("site") => Page::Site,
        () => Page::Section,
    };
    let theme = if has("dark") { egui::Theme::Dark } else { egui::Theme::Light };
    let size = arguments
        .iter()
        .find_map(|argument| argument.split_once('x'))
        .and_then(|(width, height)| Some([width.parse().ok()?, height.parse().ok()?]))
        .unwrap_or([1280.0, 800.0]);
    let options = eframe::NativeOptions {
        viewport: egui::ViewportBuilder::default().with_inner_size(size).with_decorations(false),
        ..eframe::NativeOptions::default()
    };
    eframe::run_native(
        "Gallery",
        options,
        Box::new(move |cc| {
            theme::install(&cc.egui_ctx);
            cc.egui_ctx.set_theme(theme);
            Ok(Box::new(Window { page, state: Gallery::default() }))
        }),
    )
}
