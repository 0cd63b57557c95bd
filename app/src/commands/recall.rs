//! `gaugerod recall`: which plots had this batch.

use std::path::PathBuf;

use clap::Args;
use gaugerod_core::register::{Recalled, Register};
use serde_json::json;

use super::{DONE, NO, UNUSABLE, json_text, print_line, say, say_error, surroundings};

/// Say which plots had a batch of concrete, beams or overlay.
#[derive(Debug, Args)]
pub struct RecallArgs {
    /// The register's file
    #[arg(long = "in", value_name = "REGISTER")]
    register: PathBuf,
    /// The batch, or the number of a ticket or delivery note; capitals and blanks do not count
    batch: String,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

/// Prints everything that came of it; 1 when no plot had any.
pub fn run(args: &RecallArgs, settings: &std::path::Path) -> i32 {
    let register = match surroundings::surroundings(settings) {
        Ok(surroundings) => match Register::open(&args.register, surroundings) {
            Ok(register) => register,
            Err(error) => return say_error(&error),
        },
        Err(sentence) => return say(UNUSABLE, &sentence),
    };
    let found = match register.recall(&args.batch) {
        Ok(found) => found,
        Err(error) => return say_error(&error),
    };
    if args.json {
        let rows: Vec<_> = found.iter().map(|one| as_json(&register, one)).collect();
        print_line(&json_text(&json!({ "batch": args.batch, "found": rows })));
    } else {
        for one in &found {
            print_line(&sentence(&register, one));
        }
        if found.is_empty() {
            print_line(&format!("no plot of this register had {}", args.batch));
        }
    }
    if found.is_empty() { NO } else { DONE }
}

fn sentence(register: &Register, one: &Recalled) -> String {
    let batch = one.batch.as_ref().map_or_else(String::new, |batch| format!(", batch {batch}"));
    let gone = if one.is_superseded { "; a later entry took its place" } else { "" };
    format!(
        "plot {}: {}, {}{batch} ({}, {}{gone})",
        one.plot,
        one.how_much,
        one.paper,
        register.site().name_of(one.author),
        one.time.minute()
    )
}

fn as_json(register: &Register, one: &Recalled) -> serde_json::Value {
    json!({
        "plot": one.plot.to_string(),
        "hold_point": one.hold_point.to_string(),
        "what": one.what.word(),
        "paper": one.paper,
        "batch": one.batch,
        "how_much": one.how_much,
        "entry": one.entry.to_hex(),
        "booked_by": register.site().name_of(one.author),
        "booked_at": one.time.minute(),
        "superseded": one.is_superseded,
    })
}
