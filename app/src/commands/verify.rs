//! `gaugerod verify`: a signed PDF or its evidence, without a register and without trusting who made it.

use std::collections::BTreeSet;
use std::io::Read as _;
use std::path::{Path, PathBuf};

use clap::Args;
use gaugerod_core::record::Head;
use gaugerod_core::signoff::fonts::Fonts;
use gaugerod_core::signoff::verify::{self, Outcome, State};
use serde_json::json;

use super::{UNUSABLE, USAGE, json_text, print_line, say};

/// The most bytes of a document that is verified.
const MOST_BYTES: u64 = 512 << 20;

/// Verify a signed PDF.
#[derive(Debug, Args)]
pub struct VerifyArgs {
    /// The signed PDF, or its evidence JSON alone
    file: PathBuf,
    /// The authority handed over on paper: its certificate (PEM file) or fingerprint (64 hexadecimal digits)
    #[arg(long, value_name = "PEM|FINGERPRINT")]
    authority: Option<String>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Verifies and names every check.
pub fn run(args: &VerifyArgs) -> i32 {
    let authority = match args.authority.as_deref().map(authority) {
        None => None,
        Some(Ok(authority)) => Some(authority),
        Some(Err(sentence)) => return say(USAGE, &sentence),
    };
    let bytes = match read(&args.file) {
        Ok(bytes) => bytes,
        Err(sentence) => return say(UNUSABLE, &sentence),
    };
    let found = verify::verify(&bytes, authority, &Fonts::shipped());
    let answer = match found.outcome {
        Outcome::VouchedFor => {
            "unaltered, every verdict recomputes, and the given authority vouches for the signer"
        }
        Outcome::Refused => "REFUSED: do not rely on this document",
        Outcome::Unusable => "unreadable: neither a sound PDF nor evidence",
        Outcome::NotVouchedFor => {
            "unaltered and every verdict recomputes, but no authority was given: compare the fingerprint with the one on paper"
        }
    };
    if args.json {
        let checks: Vec<_> = found
            .checks
            .iter()
            .map(|check| json!({"name": check.name, "state": word(check.state), "words": check.words}))
            .collect();
        print_line(&json_text(&json!({
            "outcome": answer, "exit_code": found.outcome.exit_code(), "checks": checks,
            "about": found.about.as_ref().map(|[site, plot, drawing, revision]| json!({
                "site": site, "plot": plot, "drawing": drawing, "revision": revision,
            })),
            "signer": found.signer.as_ref().map(|(name, role)| json!({"name": name, "role": role})),
            "fingerprint": found.fingerprint, "root": found.root, "verdicts": found.verdicts,
        })));
        return found.outcome.exit_code().into();
    }
    if let Some([site, plot, drawing, revision]) = &found.about {
        print_line(&format!("{site}, plot {plot}, {drawing} revision {revision}"));
    }
    if let Some((name, role)) = &found.signer {
        print_line(&format!("signed by {name}, {role}"));
    }
    for check in &found.checks {
        print_line(&format!("{:<9} {}: {}", word(check.state), check.name, check.words));
    }
    if let Some(fingerprint) = &found.fingerprint {
        print_line(&format!("authority {fingerprint}"));
    }
    print_line(answer);
    found.outcome.exit_code().into()
}

const fn word(state: State) -> &'static str {
    match state {
        State::Good => "good",
        State::Bad => "BAD",
        State::NotDone => "not done",
    }
}

fn authority(given: &str) -> Result<[u8; 32], String> {
    let path = Path::new(given);
    let text = if path.is_file() {
        let mut text = String::new();
        std::fs::File::open(path)
            .and_then(|file| file.take(1 << 20).read_to_string(&mut text))
            .map_err(|error| format!("{given} cannot be read: {error}"))?;
        text
    } else {
        given.to_owned()
    };
    verify::authority_from_text(&text).ok_or_else(|| {
        format!("{given} is neither a certificate in PEM nor a fingerprint of 64 hexadecimal digits")
    })
}

fn read(file: &Path) -> Result<Vec<u8>, String> {
    let unreadable = |error: std::io::Error| format!("{} cannot be read: {error}", file.display());
    let mut bytes = Vec::new();
    std::fs::File::open(file)
        .and_then(|opened| opened.take(MOST_BYTES + 1).read_to_end(&mut bytes))
        .map_err(unreadable)?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(format!(
            "{} is larger than {} MiB: no document of ours is",
            file.display(),
            MOST_BYTES >> 20
        ));
    }
    Ok(bytes)
}

/// The heads that a document names, for holding them against a register; or the exit code after saying why not.
pub(super) fn heads_in(file: &Path) -> Result<BTreeSet<Head>, i32> {
    let bytes = read(file).map_err(|sentence| say(UNUSABLE, &sentence))?;
    let evidence = verify::evidence_in(&bytes)
        .map_err(|faults| say(UNUSABLE, &format!("{}: {faults}", file.display())))?;
    Ok(evidence.heads)
}
