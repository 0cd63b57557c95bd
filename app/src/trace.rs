//! What is on screen, written down for a program that drives the window: after every frame that
//! changed anything one line of JSON with the name of the screen and every control and text, with
//! its place in physical pixels of the window.
//!
//! The lines are made from the accessibility tree, so a control that is missing here is missing for
//! a screen reader as well. Writing happens on a thread of its own; nothing is written unless
//! `--trace-ui` was given.

use std::{
    fs::File,
    io::{self, Write},
    path::Path,
    sync::mpsc::{Sender, channel},
    thread::JoinHandle,
};

use egui::{Context, FullOutput, RawInput, accesskit, accesskit::Role};
use serde::Serialize;

/// One line of the trace.
#[derive(Debug, Serialize)]
struct Line<'a> {
    frame: u64,
    screen: &'a str,
    items: &'a [Item],
}

/// One thing on screen.
#[derive(Clone, Debug, PartialEq, Serialize)]
struct Item {
    /// Its accessible name, or the text itself.
    label: String,
    /// `button`, `label`, `text input` and so on.
    role: String,
    /// What has been typed into it, if it holds text.
    #[serde(skip_serializing_if = "Option::is_none")]
    value: Option<String>,
    /// Whether it can be used.
    enabled: bool,
    /// Whether the keyboard writes into it.
    #[serde(skip_serializing_if = "is_false")]
    focused: bool,
    /// Left, top, width and height in physical pixels of the window.
    rect: [f64; 4],
}

struct Trace {
    /// Open while the trace runs; closing it lets the writer end.
    lines: Option<Sender<String>>,
    writer: Option<JoinHandle<()>>,
    screen: String,
    frame: u64,
    last: (String, Vec<Item>),
}

/// Starts writing a trace to `path`, which is made anew. Errors: the file cannot be made.
pub fn install(ctx: &Context, path: &Path) -> io::Result<()> {
    let mut file = File::create(path)?;
    let (lines, received) = channel::<String>();
    let writer = std::thread::Builder::new().name("trace".to_owned()).spawn(move || {
        for line in received {
            // A trace that cannot be written must not stop the work that it watches.
            if file.write_all(line.as_bytes()).and_then(|()| file.flush()).is_err() {
                return;
            }
        }
    })?;
    ctx.enable_accesskit();
    ctx.add_plugin(Trace {
        lines: Some(lines),
        writer: Some(writer),
        screen: String::new(),
        frame: 0,
        last: (String::new(), Vec::new()),
    });
    Ok(())
}

/// Says which screen is being shown; does nothing unless a trace is being written.
pub fn screen(ctx: &Context, name: &str) {
    if let Some(plugin) = ctx.plugin_opt::<Trace>() {
        let mut trace = plugin.lock();
        if trace.screen != name {
            name.clone_into(&mut trace.screen);
        }
    }
}

impl Drop for Trace {
    fn drop(&mut self) {
        self.lines = None;
        if let Some(writer) = self.writer.take() {
            let _ = writer.join(); // a writer that panicked has already said so in the log
        }
    }
}

impl egui::Plugin for Trace {
    fn debug_name(&self) -> &'static str {
        "trace of what is on screen"
    }

    fn input_hook(&mut self, ctx: &Context, _input: &mut RawInput) {
        ctx.enable_accesskit(); // the window's own adapter turns it off when no reader is listening
    }

    fn output_hook(&mut self, _ctx: &Context, output: &mut FullOutput) {
        self.frame += 1;
        let Some(update) = &output.platform_output.accesskit_update else { return };
        let items = items(update, f64::from(output.pixels_per_point));
        if self.last.0 == self.screen && self.last.1 == items {
            return;
        }
        let line = Line { frame: self.frame, screen: &self.screen, items: &items };
        if let Ok(mut text) = serde_json::to_string(&line) {
            text.push('\n');
            if let Some(lines) = &self.lines {
                // The receiver is gone only if the file could not be written: then nobody reads it.
                let _ = lines.send(text);
            }
        }
        self.last = (self.screen.clone(), items);
    }
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands over a reference")]
const fn is_false(flag: &bool) -> bool {
    !*flag
}

/// Everything in the tree that has a name or a text and a place, in the order of painting.
fn items(update: &accesskit::TreeUpdate, pixels_per_point: f64) -> Vec<Item> {
    let mut items = Vec::new();
    for (id, node) in &update.nodes {
        if matches!(node.role(), Role::Window | Role::TextRun | Role::GenericContainer) {
            continue;
        }
        let (label, value) = match (node.label(), node.value()) {
            (Some(label), value) => (label.to_owned(), value.map(str::to_owned)),
            (None, Some(value)) => (value.to_owned(), None),
            (None, None) => match node.placeholder() {
                Some(hint) => (hint.to_owned(), None),
                None => continue,
            },
        };
        let Some(bounds) = node.bounds() else { continue };
        if label.trim().is_empty() {
            continue;
        }
        let pixels = |points: f64| (points * pixels_per_point * 10.0).round() / 10.0;
        items.push(Item {
            label,
            role: egui::output::role_description(node.role()),
            value,
            enabled: !node.is_disabled(),
            focused: *id == update.focus,
            rect: [pixels(bounds.x0), pixels(bounds.y0), pixels(bounds.width()), pixels(bounds.height())],
        });
    }
    items.sort_by(|a, b| {
        let key = |item: &Item| (item.rect[1], item.rect[0]);
        key(a).partial_cmp(&key(b)).unwrap_or(std::cmp::Ordering::Equal)
    });
    items
}

#[cfg(test)]
mod tests {
    use std::io::{BufRead, BufReader};

    use super::*;

    #[test]
    fn a_line_is_written_for_every_change_with_places_in_pixels() {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let path = folder.path().join("trace.jsonl");
        let ctx = crate::headless::context();
        install(&ctx, &path).expect("the trace can be made");
        for word in ["Book", "Book", "Skip"] {
            let mut input = RawInput {
                screen_rect: Some(egui::Rect::from_min_size(egui::Pos2::ZERO, egui::vec2(800.0, 600.0))),
                ..RawInput::default()
            };
            input.viewports.entry(egui::ViewportId::ROOT).or_default().native_pixels_per_point = Some(2.0);
            let output = ctx.run_ui(input, |ui| {
                screen(ui.ctx(), "keypad");
                let rect = egui::Rect::from_min_size(egui::pos2(10.0, 20.0), egui::vec2(100.0, 48.0));
                crate::widgets::type_setting::tap(ui, rect, egui::Id::unique("key"), word);
            });
            output.drop_without_applying_deltas();
        }
        drop(ctx); // ends the writer and waits for it
        let lines: Vec<serde_json::Value> = BufReader::new(File::open(&path).expect("the trace"))
            .lines()
            .map(|line| serde_json::from_str(&line.expect("text")).expect("JSON"))
            .collect();
        assert_eq!(lines.len(), 2, "an unchanged frame writes nothing");
        assert_eq!(lines[0]["screen"], "keypad");
        let item = &lines[0]["items"][0];
        assert_eq!(item["label"], "Book");
        assert_eq!(item["role"], "button");
        let rect: Vec<f64> =
            item["rect"].as_array().expect("a place").iter().filter_map(serde_json::Value::as_f64).collect();
        assert_eq!(rect, [20.0, 40.0, 200.0, 96.0]);
        assert_eq!(lines[1]["items"][0]["label"], "Skip");
    }
}
