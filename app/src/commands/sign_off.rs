//! `gaugerod sign-off`: a plot's signed PDF.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use clap::Args;
use gaugerod_core::ids::PlotId;
use gaugerod_core::register::{Register, Session};
use gaugerod_core::signoff::fonts::Fonts;
use gaugerod_core::signoff::issue::{self, IssueFault};

use super::{DONE, NO, UNUSABLE, print_line, say, say_error, secrets, surroundings};
use crate::messages;

/// Sign a plot off.
#[derive(Debug, Args)]
pub struct SignOffArgs {
    /// The register's file
    register: PathBuf,
    /// The plot
    #[arg(long, value_name = "P")]
    plot: PlotId,
    /// Who signs, by name
    #[arg(long = "as", value_name = "PERSON")]
    person: String,
    /// File with the signer's PIN
    #[arg(long, value_name = "FILE")]
    pin_file: Option<PathBuf>,
    /// The PDF to be written; nothing is overwritten
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// Write a draft without signature instead, marked as a draft on every page
    #[arg(long)]
    draft: bool,
}

/// Signs and writes the document.
pub fn run(args: &SignOffArgs, settings: &Path) -> i32 {
    let mut register = match surroundings::surroundings(settings) {
        Ok(surroundings) => match Register::open(&args.register, surroundings) {
            Ok(register) => register,
            Err(error) => return say_error(&error),
        },
        Err(sentence) => return say(UNUSABLE, &sentence),
    };
    if args.out.exists() {
        return say(NO, &format!("{} is there already; nothing is overwritten", args.out.display()));
    }
    let person = match register.person(&args.person) {
        Ok(person) => person,
        Err(error) => return say_error(&error),
    };
    let done = if args.draft {
        draft(&mut register, &args.plot, &args.out)
    } else {
        let pin = match secrets::pin(args.pin_file.as_deref(), &args.person) {
            Ok(pin) => pin,
            Err((code, sentence)) => return say(code, &sentence),
        };
        match register.unlock(person, &pin) {
            Ok(session) => sign(&mut register, &args.plot, &session, Vec::new(), &args.out),
            Err(error) => return say_error(&error),
        }
    };
    match done {
        Ok(()) => {
            print_line(&args.out.display().to_string());
            DONE
        }
        Err((code, sentence)) => say(code, &sentence),
    }
}

/// Makes, writes and records a signed document: on disk before it is recorded as issued.
pub(crate) fn sign(
    register: &mut Register,
    plot: &PlotId,
    by: &Session,
    drawn: Vec<Vec<(u16, u16)>>,
    out: &Path,
) -> Result<(), (i32, String)> {
    let fonts = Fonts::shipped();
    let signed =
        issue::sign_off(register, plot, by, drawn, &fonts, &mut |_, _| true).map_err(|fault| told(&fault))?;
    write_new(out, &signed.made.bytes).map_err(|sentence| (UNUSABLE, sentence))?;
    if let Err(error) = signed.record(register, by) {
        // A signed file that the register does not know of would be taken for a second one.
        let _ = std::fs::remove_file(out);
        return Err((messages::exit_code(&error), messages::sentence(&error)));
    }
    Ok(())
}

/// Makes and writes a draft.
pub(crate) fn draft(register: &mut Register, plot: &PlotId, out: &Path) -> Result<(), (i32, String)> {
    let made =
        issue::draft(register, plot, &Fonts::shipped(), &mut |_, _| true).map_err(|fault| told(&fault))?;
    write_new(out, &made.bytes).map_err(|sentence| (UNUSABLE, sentence))
}

/// Writes a file that is not there yet, whole and flushed, or not at all.
///
/// # Errors
/// A sentence: something is there already, or the disk.
pub fn write_new(out: &Path, bytes: &[u8]) -> Result<(), String> {
    let told = |error: std::io::Error| {
        format!("{} cannot be written: {error}; nothing was left behind", out.display())
    };
    let mut file = std::fs::OpenOptions::new().write(true).create_new(true).open(out).map_err(told)?;
    if let Err(error) = file.write_all(bytes).and_then(|()| file.sync_all()) {
        let _ = std::fs::remove_file(out);
        return Err(told(error));
    }
    Ok(())
}

/// The sentence and the exit code of a document that was not made.
pub(crate) fn told(fault: &IssueFault) -> (i32, String) {
    match fault {
        IssueFault::Register(error) => (messages::exit_code(error), messages::sentence(error)),
        other => (NO, other.to_string()),
    }
}
