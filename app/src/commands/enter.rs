//! `gaugerod enter`: commands, one JSON object a line, recorded in order. Each line is all or nothing; a refusal
//! stops there, and what came before stays.

use std::io::{BufRead as _, Read as _};
use std::path::{Path, PathBuf};

use clap::Args;
use gaugerod_core::inspection::Request;
use gaugerod_core::inspection::command::LONGEST_REQUEST;
use gaugerod_core::register::{IntakeFault, Register, RegisterError, Session};

use super::{DONE, NO, UNUSABLE, print_line, say, say_error, secrets, surroundings};
use crate::drawings::Draughtsman;
use crate::{messages, shipped};

/// Record commands.
#[derive(Debug, Args)]
pub struct EnterArgs {
    /// The register's file
    register: PathBuf,
    /// Who acts, by name
    #[arg(long = "as", value_name = "PERSON")]
    person: String,
    /// File with the person's PIN: needed for what the person must sign (release, refuse, concede)
    #[arg(long, value_name = "FILE")]
    pin_file: Option<PathBuf>,
}

/// Reads and records line by line, and acknowledges each with its entries' ids once they are on disk.
pub fn run(args: &EnterArgs, settings: &Path) -> i32 {
    let mut register = match surroundings::surroundings(settings) {
        Ok(surroundings) => match Register::open(&args.register, surroundings) {
            Ok(register) => register,
            Err(error) => return say_error(&error),
        },
        Err(sentence) => return say(UNUSABLE, &sentence),
    };
    let session = match session(&mut register, &args.person, args.pin_file.as_deref()) {
        Ok(session) => session,
        Err(code) => return code,
    };
    let mut input = std::io::stdin().lock();
    let mut number = 0_u64;
    loop {
        let mut line = Vec::new();
        // One byte more than a request may have, so that a line without end cannot fill the memory.
        let mut bounded = (&mut input).take(LONGEST_REQUEST as u64 + 2);
        match bounded.read_until(b'\n', &mut line) {
            Ok(0) => return DONE,
            Ok(_) => {}
            Err(error) => return say(UNUSABLE, &format!("standard input cannot be read: {error}")),
        }
        number += 1;
        let Ok(text) = std::str::from_utf8(&line) else {
            return say(UNUSABLE, &format!("line {number}: is no text in UTF-8"));
        };
        if text.trim().is_empty() {
            continue;
        }
        match enter(&mut register, &session, text.trim()) {
            Ok(ids) => print_line(&format!("{number} {ids}")),
            Err((code, sentence)) => return say(code, &format!("line {number}: {sentence}")),
        }
    }
}

fn enter(register: &mut Register, session: &Session, line: &str) -> Result<String, (i32, String)> {
    let request = Request::read(line).map_err(|faults| (UNUSABLE, faults.to_string()))?;
    if let Request::PlaceUnderlay(place) = &request {
        // A drawing that cannot be drawn is refused before it is taken in.
        let bytes = shipped::read_file(&place.file);
        let bytes = bytes.map_err(|error| (NO, format!("{} cannot be read: {error}", place.file)))?;
        let drawn = Draughtsman::own().draw(&bytes, place.page.unwrap_or(1));
        drawn.map_err(|what| (NO, format!("{}: {what}. Nothing of this was recorded.", place.file)))?;
    }
    let recorded = register
        .take_in(request, &shipped::read_file)
        .and_then(|command| register.perform(&command, session))
        .map_err(|error| (code(&error), messages::sentence(&error)))?;
    Ok(recorded.iter().map(ToString::to_string).collect::<Vec<_>>().join(" "))
}

fn code(error: &RegisterError) -> i32 {
    match error {
        RegisterError::Intake(fault @ IntakeFault::Form(_)) if fault.is_unusable() => UNUSABLE,
        other => messages::exit_code(other),
    }
}

/// The session of a person, with their PIN where a file with it is given.
pub(super) fn session(register: &mut Register, name: &str, pin_file: Option<&Path>) -> Result<Session, i32> {
    let person = register.person(name).map_err(|error| say_error(&error))?;
    match pin_file {
        None => Ok(register.session(person)),
        Some(file) => {
            let pin = secrets::pin(Some(file), name).map_err(|(code, sentence)| say(code, &sentence))?;
            register.unlock(person, &pin).map_err(|error| say_error(&error))
        }
    }
}
