//! `gaugerod enrol`: a person with a role and a PIN on this device.

use std::path::{Path, PathBuf};

use clap::Args;
use gaugerod_core::identity::Cost;
use gaugerod_core::plan_of_work::Role;
use gaugerod_core::register::{Enrolment, Register};

use super::{DONE, UNUSABLE, print_line, say, say_error, secrets, surroundings};

/// Enrol a person.
#[derive(Debug, Args)]
pub struct EnrolArgs {
    /// The register's file
    register: PathBuf,
    /// The person's name
    #[arg(long, value_name = "NAME")]
    person: String,
    /// supervisor, quality-manager, designer, engineer, gas-engineer or building-control
    #[arg(long, value_name = "ROLE")]
    role: Role,
    /// File with the PIN that opens the person's key on this device, 4 to 12 digits
    #[arg(long, value_name = "FILE")]
    pin_file: Option<PathBuf>,
    /// File with the authority's passphrase; without it the file named to `new`, while it is still there
    #[arg(long, value_name = "FILE")]
    authority_passphrase_file: Option<PathBuf>,
}

/// Enrols the person.
pub fn run(args: &EnrolArgs, settings: &Path) -> i32 {
    let mut register = match surroundings::surroundings(settings) {
        Ok(surroundings) => match Register::open(&args.register, surroundings) {
            Ok(register) => register,
            Err(error) => return say_error(&error),
        },
        Err(sentence) => return say(UNUSABLE, &sentence),
    };
    let remembered = register.passphrase_file().filter(|file| file.exists());
    let file = args.authority_passphrase_file.clone().or(remembered);
    let secrets = secrets::passphrase(file.as_deref())
        .and_then(|passphrase| Ok((passphrase, secrets::pin(args.pin_file.as_deref(), &args.person)?)));
    let (passphrase, pin) = match secrets {
        Ok(secrets) => secrets,
        Err((code, sentence)) => return say(code, &sentence),
    };
    let enrolment = Enrolment {
        name: &args.person,
        role: args.role,
        pin: &pin,
        passphrase: &passphrase,
        cost: Cost::STANDING,
    };
    match register.enrol(&enrolment) {
        Ok(person) => {
            print_line(&format!("enrolled {} as {} ({person})", args.person, args.role.title()));
            DONE
        }
        Err(error) => say_error(&error),
    }
}
