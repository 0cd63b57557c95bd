//! The command line: arguments in, one call into core, sentences and an exit code out. No logic of its own.
//!
//! Exit codes: 0 done; 1 the answer is no; 2 input unreadable or unusable, with its place; 3 consistent in itself
//! but not vouched for; 64 wrong usage.

mod check;
mod completion;
mod cuts;
mod demo;
mod enrol;
mod enter;
mod new;
mod page_to_picture;
mod quantities;
mod recall;
pub mod reckon;
mod schema;
mod secrets;
mod sign_off;
mod status;
pub mod surroundings;
mod verify;

use std::path::PathBuf;

use clap::{Parser, Subcommand};

/// Done.
pub const DONE: i32 = 0;
/// The answer is no: altered, incomplete, refused by the rules.
pub const NO: i32 = 1;
/// Input unreadable or unusable.
pub const UNUSABLE: i32 = 2;
/// Consistent in itself, but nobody vouches for it.
pub const NOT_VOUCHED: i32 = 3;
/// Wrong usage.
pub const USAGE: i32 = 64;

/// Proves each stage of a suspended ground floor before the next one covers it.
///
/// Without a command it opens the window. A register is one site's record: a file ending in .gaugerod, with its
/// photos in a second file beside it.
#[derive(Debug, Parser)]
#[command(name = "gaugerod", version, max_term_width = 100, disable_help_subcommand = true)]
pub struct Arguments {
    /// Folder for this device's own settings and keys, instead of the usual one of this system
    #[arg(long, global = true, value_name = "DIR")]
    settings: Option<PathBuf>,
    /// Write what is on screen to this file, one JSON line a changed frame (for tests of the window)
    #[arg(long, value_name = "FILE")]
    trace_ui: Option<PathBuf>,
    /// Open this register in the window
    #[arg(long, value_name = "REGISTER")]
    open: Option<PathBuf>,
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Make the invented demo site; opens it in the window unless --no-window
    Demo(demo::DemoArgs),
    /// Make a new register for a site, with its own authority
    New(new::NewArgs),
    /// Enrol a person with a role and a PIN on this device
    Enrol(enrol::EnrolArgs),
    /// Record commands, one JSON object a line on standard input
    Enter(enter::EnterArgs),
    /// Say where the plots stand
    Status(status::StatusArgs),
    /// Say how the infill of plots is cut together, or write their cut sheets
    Cuts(cuts::CutsArgs),
    /// Say which plots had a batch of concrete, beams or overlay
    Recall(recall::RecallArgs),
    /// Say what must be delivered for a floor design, by stage
    Quantities(quantities::QuantitiesArgs),
    /// Sign a plot off into a PDF
    SignOff(sign_off::SignOffArgs),
    /// Verify a signed PDF or its evidence, without a register
    Verify(verify::VerifyArgs),
    /// Check a register: files, entries, chains, signatures, photos, summaries
    Check(check::CheckArgs),
    /// Reckon one computation of the trade, JSON in and out
    Reckon(reckon::ReckonArgs),
    /// Print the schema of a file that people or machines write
    Schema(schema::SchemaArgs),
    /// Draw a page of a PDF: how the program draws drawings as its own child
    #[command(name = crate::drawings::CHILD, hide = true)]
    PageToPicture(page_to_picture::PageArgs),
    /// Print the completions for a shell
    Completion(completion::CompletionArgs),
}

/// Runs the program with the process's own arguments and gives its exit code.
pub fn run() -> i32 {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => {
            let wanted = !error.use_stderr();
            // Help and version go to standard output and are no error.
            if error.print().is_err() {
                return USAGE;
            }
            return if wanted { DONE } else { USAGE };
        }
    };
    let settings = match surroundings::settings_folder(arguments.settings.clone()) {
        Ok(settings) => settings,
        Err(sentence) => return say(UNUSABLE, &sentence),
    };
    match arguments.command {
        None => window(arguments.open, settings, arguments.trace_ui),
        Some(Command::Demo(args)) => demo::run(&args, settings, arguments.trace_ui),
        Some(Command::New(args)) => new::run(&args, &settings),
        Some(Command::Enrol(args)) => enrol::run(&args, &settings),
        Some(Command::Enter(args)) => enter::run(&args, &settings),
        Some(Command::Status(args)) => status::run(&args, &settings),
        Some(Command::Cuts(args)) => cuts::run(&args, &settings),
        Some(Command::Recall(args)) => recall::run(&args, &settings),
        Some(Command::Quantities(args)) => quantities::run(&args),
        Some(Command::SignOff(args)) => sign_off::run(&args, &settings),
        Some(Command::Verify(args)) => verify::run(&args),
        Some(Command::Check(args)) => check::run(&args),
        Some(Command::Reckon(args)) => reckon::run(&args),
        Some(Command::Schema(args)) => schema::run(&args),
        Some(Command::PageToPicture(args)) => page_to_picture::run(&args),
        Some(Command::Completion(args)) => completion::run(&args),
    }
}

/// Opens the window.
fn window(register: Option<PathBuf>, settings: PathBuf, trace_ui: Option<PathBuf>) -> i32 {
    if !has_display() {
        return say(
            NO,
            "there is no display to open a window on; `gaugerod demo --no-window` runs the whole main job without one",
        );
    }
    match crate::app::run(crate::app::WindowArgs { register, settings, trace_ui }) {
        Ok(()) => DONE,
        Err(sentence) => say(NO, &sentence),
    }
}

/// Whether there is anything to open a window on.
fn has_display() -> bool {
    if cfg!(not(target_os = "linux")) {
        return true;
    }
    ["DISPLAY", "WAYLAND_DISPLAY", "WAYLAND_SOCKET"]
        .iter()
        .any(|name| std::env::var_os(name).is_some_and(|value| !value.is_empty()))
}

/// Says a sentence on standard error and gives the exit code back.
fn say(code: i32, sentence: &str) -> i32 {
    eprintln!("gaugerod: {sentence}");
    code
}

/// Says what went wrong with a register, with the exit code that fits.
fn say_error(error: &gaugerod_core::register::RegisterError) -> i32 {
    say(crate::messages::exit_code(error), &crate::messages::sentence(error))
}

/// Prints a line on standard output; a reader that went away is nobody's fault.
fn print_line(line: &str) {
    use std::io::Write as _;
    let mut out = std::io::stdout().lock();
    let written = writeln!(out, "{line}").and_then(|()| out.flush());
    if written.is_err() {
        // Nobody reads any more: what was recorded stays recorded, and there is nobody to tell.
        std::process::exit(DONE);
    }
}

/// A JSON value as indented text.
fn json_text(value: &serde_json::Value) -> String {
    serde_json::to_string_pretty(value).unwrap_or_else(|_| value.to_string())
}
