//! The window: eframe glue. `logic` drains the worker's replies, `ui` paints and carries out what was asked. It
//! repaints on demand only.

use std::path::PathBuf;

use egui::{Context, Theme, Ui, vec2};
use gaugerod_core::photo::RenditionKind;

use crate::action::Action;
use crate::commands::surroundings::data_folder;
use crate::drawings::Draughtsman;
use crate::screens;
use crate::state::{SheetChoice, State};
use crate::surroundings::Machine;
use crate::update::{carry_out, dropped, say, take_reply};
use crate::worker::desk::last_register;
use crate::worker::{Means, Request, Worker};
use crate::{messages, theme, trace};

/// How the window is started.
#[derive(Debug, Clone)]
pub struct WindowArgs {
    /// The register to open; the last one, or the welcome sheet, while none.
    pub register: Option<PathBuf>,
    /// The program's own folder: device file, last register, demo.
    pub settings: PathBuf,
    /// Where the trace of what is on screen goes.
    pub trace_ui: Option<PathBuf>,
}

/// Opens the window and stays until it is closed.
///
/// # Errors
/// A sentence: no display, no thread, the trace's file cannot be made.
pub fn run(args: WindowArgs) -> Result<(), String> {
    std::fs::create_dir_all(&args.settings).map_err(|error| messages::of_file(&args.settings, &error))?;
    let options = eframe::NativeOptions {
        viewport: egui::ViewportBuilder::default()
            .with_title("Gaugerod")
            .with_app_id("gaugerod")
            .with_inner_size(vec2(1280.0, 800.0))
            .with_min_inner_size(vec2(800.0, 600.0))
            .with_drag_and_drop(true),
        renderer: eframe::Renderer::Glow,
        ..eframe::NativeOptions::default()
    };
    let made = eframe::run_native(
        "gaugerod",
        options,
        Box::new(move |cc| Ok(Box::new(Window::new(&cc.egui_ctx, args)?))),
    );
    made.map_err(|error| error.to_string())
}

/// The program in its window.
pub struct Window {
    state: State,
    worker: Worker,
}

impl Window {
    /// Starts the worker and opens the register that was asked for, or the last one.
    ///
    /// # Errors
    /// A sentence: no thread, the trace's file cannot be made.
    pub fn new(ctx: &Context, args: WindowArgs) -> Result<Self, String> {
        theme::install(ctx);
        if let Some(path) = &args.trace_ui {
            trace::install(ctx, path).map_err(|error| messages::of_file(path, &error))?;
        }
        let last = std::fs::read_to_string(last_register(&args.settings)).ok().map(PathBuf::from);
        let asked_for = args.register.clone().or_else(|| last.filter(|path| path.is_file()));
        let machine = Machine::with_settings(&args.settings);
        let demo = data_folder().unwrap_or_else(|| args.settings.clone()).join("demo");
        let means = Means { machine, settings: args.settings, demo, draughtsman: Draughtsman::own() };
        let worker = Worker::start(ctx.clone(), means)
            .map_err(|error| format!("The program cannot start its recording thread: {error}."))?;
        if let Some(path) = asked_for {
            worker.ask(Request::Do(Action::OpenRegister(path)));
        }
        Ok(Self { state: State::default(), worker })
    }

    fn drain(&mut self, ctx: &Context) {
        while let Some(reply) = self.worker.reply() {
            take_reply(&mut self.state, &self.worker, reply, ctx);
        }
    }

    fn take_dropped(&mut self, ctx: &Context) {
        let dropped = ctx.input(|input| input.raw.dropped_files.clone());
        let files: Vec<PathBuf> = dropped.iter().map(|file| file.path().to_owned()).collect();
        if files.is_empty() {
            return;
        }
        match dropped::ask(&mut self.state, files) {
            Ok(actions) => self.state.actions.extend(actions),
            Err(sentence) => say(&mut self.state, sentence, true),
        }
    }

    fn paint(&mut self, ui: &mut Ui) {
        let ctx = ui.ctx().clone();
        ctx.set_theme(match self.state.sheet {
            SheetChoice::Light => Theme::Light,
            SheetChoice::Dark => Theme::Dark,
        });
        self.take_dropped(&ctx);
        screens::window_ui(ui, &mut self.state);
        trace::screen(&ctx, &screens::name(&self.state));
        let actions = std::mem::take(&mut self.state.actions);
        let thumbnails =
            self.state.thumbnails.wanted().into_iter().map(|sha| (RenditionKind::Thumbnail, sha));
        let large = self.state.large.wanted().into_iter().map(|sha| (RenditionKind::Screen, sha));
        // A photograph that is looked at comes before those along the foot.
        let wanted: Vec<_> = large.chain(thumbnails).collect();
        let drawing = self.state.underlays.wanted();
        let anything = !actions.is_empty();
        for action in actions {
            carry_out(&mut self.state, &self.worker, action);
        }
        for (kind, sha) in wanted {
            self.worker.ask(Request::Picture(kind, sha));
        }
        if let Some(key) = drawing {
            self.worker.ask(Request::Underlay(key));
        }
        if anything {
            ctx.request_repaint(); // what was asked for shows at once
        }
    }
}

impl eframe::App for Window {
    fn logic(&mut self, ctx: &Context, _frame: &mut eframe::Frame) {
        self.drain(ctx);
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        self.paint(ui);
    }
}
