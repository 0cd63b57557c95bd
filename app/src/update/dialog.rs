//! File dialogs of the desktop, each on a thread of its own: the window goes on meanwhile. Where the desktop has
//! none, a sentence says so; every path can be typed in the screen as well.

use std::path::PathBuf;

use rfd::FileDialog;

use crate::action::{Action, DocumentFor};
use crate::worker::{Replier, Reply, Worker};

const NONE_CHOSEN: &str = "No file was chosen. Where this desktop shows no file dialog, type the file's path into the field instead.";

/// Opens the dialog that an action asks for.
pub fn open(worker: &Worker, action: Action) {
    let reply = worker.replier();
    let asking = std::thread::Builder::new().name("dialog".to_owned()).spawn(move || ask(&reply, action));
    if asking.is_err() {
        worker
            .replier()
            .say("No dialog could be opened: the system gives no thread. Type the path instead.", true);
    }
}

fn ask(reply: &Replier, action: Action) {
    if !has_desktop_dialogs() {
        reply.say(NONE_CHOSEN, true);
        return;
    }
    let chosen = match action {
        Action::PickRegister => register().pick_file().map(Action::OpenRegister),
        Action::PickNewRegister => register().set_file_name("site.gaugerod").save_file().map(|path| {
            Action::NewRegister { path: with_ending(path), site: String::new(), passphrase: String::new() }
        }),
        Action::PickDesign => {
            let dialog = FileDialog::new().set_title("Floor design").add_filter("floor design", &["toml"]);
            dialog.pick_file().map(Action::ReadDesign)
        }
        Action::PickPhotos { plot, hold_point, subject } => {
            let dialog =
                FileDialog::new().set_title("Photos").add_filter("photos", &["jpg", "jpeg", "png", "JPG"]);
            dialog.pick_files().map(|files| Action::AddPhotos { plot, hold_point, subject, files })
        }
        Action::PickLevelBook { plot, begun } => {
            let dialog =
                FileDialog::new().set_title("Level book").add_filter("level book", &["csv", "CSV", "txt"]);
            dialog.pick_file().map(|path| Action::ReadLevelBook { plot, begun, path })
        }
        Action::PickTemperatures { plot, hold_point } => {
            let dialog = FileDialog::new().set_title("Temperatures of a logger");
            dialog
                .add_filter("temperatures", &["csv", "CSV", "txt"])
                .pick_file()
                .map(|path| Action::ReadTemperatures { plot, hold_point, path })
        }
        Action::PickDocument { plot, purpose } => {
            let dialog = FileDialog::new().set_title(title(&purpose));
            dialog
                .add_filter("document", &["pdf", "jpg", "jpeg", "png", "txt"])
                .pick_file()
                .map(|file| Action::Attach { plot, purpose, file })
        }
        Action::PickDrawing(plot) => {
            let dialog = FileDialog::new().set_title("Drawing behind the plan");
            dialog
                .add_filter("drawing", &["pdf", "png", "jpg", "jpeg"])
                .pick_file()
                .map(|path| Action::ReadDrawing { plot, path, page: 1 })
        }
        _ => None,
    };
    match chosen {
        Some(action) => reply.send(Reply::Chosen(action)),
        None => reply.say(NONE_CHOSEN, true),
    }
}

fn register() -> FileDialog {
    FileDialog::new().set_title("Register").add_filter("register", &["gaugerod"])
}

fn title(purpose: &DocumentFor) -> &'static str {
    match purpose {
        DocumentFor::Criterion { .. } => "Document",
        DocumentFor::Concession { .. } => "The designer's concession",
        DocumentFor::Assessment { .. } => "The designer's assessment",
    }
}

fn with_ending(path: PathBuf) -> PathBuf {
    if path.extension().is_some() { path } else { path.with_extension("gaugerod") }
}

/// Dialogs come from the desktop's portal, which is reached over the session's message bus.
fn has_desktop_dialogs() -> bool {
    let set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    set("DBUS_SESSION_BUS_ADDRESS")
        || std::env::var_os("XDG_RUNTIME_DIR")
            .is_some_and(|folder| PathBuf::from(folder).join("bus").exists())
}
