//! `gaugerod check`: a register from its files to its signatures.

use std::path::PathBuf;

use clap::Args;
use gaugerod_core::register::audit;
use gaugerod_core::store::Reader;

use super::{DONE, NO, print_line, say_error};

/// Check a register.
#[derive(Debug, Args)]
pub struct CheckArgs {
    /// The register's file
    register: PathBuf,
    /// Check the device's signature on every entry, not only on the heads
    #[arg(long)]
    every: bool,
    /// Also check that every head named in this signed PDF (or its evidence) is still here
    #[arg(long, value_name = "FILE")]
    against: Option<PathBuf>,
}

/// Checks and names everything that is found.
pub fn run(args: &CheckArgs) -> i32 {
    let reader = match Reader::open(&args.register) {
        Ok(reader) => reader,
        Err(error) => return say_error(&error.into()),
    };
    let mut audit = match audit::audit(&reader, args.every, &mut |_| true) {
        Ok(audit) => audit,
        Err(error) => return say_error(&error),
    };
    if let Some(file) = &args.against {
        let kept = match super::verify::heads_in(file) {
            Ok(kept) => kept,
            Err(code) => return code,
        };
        match audit::missing_heads(&reader, &kept) {
            Ok(missing) => audit.findings.extend(missing.iter().map(|head| audit::AuditFinding {
                sentence: format!(
                    "entry {} (number {} of device {}), named in {}, is not here any more",
                    head.id,
                    head.seq,
                    head.device.short(),
                    file.display()
                ),
                breaks: true,
            })),
            Err(error) => return say_error(&error),
        }
        print_line(&format!("{} heads of {} looked for", kept.len(), file.display()));
    }
    for finding in &audit.findings {
        let class = if finding.breaks { "WRONG" } else { "look at" };
        print_line(&format!("{class}: {}", finding.sentence));
    }
    let which = if args.every { "every device signature" } else { "the heads' device signatures" };
    print_line(&format!(
        "looked at {} entries, {which}, {} photos and documents, {} summaries",
        audit.entries, audit.originals, audit.projections
    ));
    if audit.is_sound() {
        print_line(
            "sound; an end of a chain that nobody else has seen cannot be proved: keep a signed PDF elsewhere",
        );
        return DONE;
    }
    print_line("not sound");
    NO
}
