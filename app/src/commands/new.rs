//! `gaugerod new`: a new register with its own authority.

use std::path::PathBuf;

use clap::Args;
use gaugerod_core::identity::Cost;
use gaugerod_core::register::{Founding, Register};

use super::{DONE, UNUSABLE, print_line, say, say_error, secrets, surroundings};
use crate::shipped;

/// Make a new register for a site.
#[derive(Debug, Args)]
pub struct NewArgs {
    /// The register's file, to be made: SITE.gaugerod; photos go into a second file beside it
    register: PathBuf,
    /// The site's name
    #[arg(long, value_name = "NAME")]
    site: String,
    /// File with the passphrase that seals the authority's key, 12 characters or more
    #[arg(long, value_name = "FILE")]
    authority_passphrase_file: Option<PathBuf>,
}

/// Makes the register and prints the authority's fingerprint.
pub fn run(args: &NewArgs, settings: &std::path::Path) -> i32 {
    let passphrase = match secrets::passphrase(args.authority_passphrase_file.as_deref()) {
        Ok(passphrase) => passphrase,
        Err((code, sentence)) => return say(code, &sentence),
    };
    let surroundings = match surroundings::surroundings(settings) {
        Ok(surroundings) => surroundings,
        Err(sentence) => return say(UNUSABLE, &sentence),
    };
    let founding = Founding {
        site: &args.site,
        invented: false,
        passphrase: &passphrase,
        cost: Cost::STANDING,
        limits: shipped::LIMITS,
        plan: shipped::PLAN_OF_WORK,
    };
    let made = Register::found(&args.register, &founding, surroundings).and_then(|mut register| {
        if let Some(file) = &args.authority_passphrase_file {
            let whole = std::path::absolute(file).unwrap_or_else(|_| file.clone());
            register.remember_passphrase_file(&whole)?;
        }
        register.authority()
    });
    match made {
        Ok(authority) => {
            let pem = args.register.with_extension("authority.pem");
            print_line(&format!("register   {}", args.register.display()));
            match std::fs::write(&pem, authority.to_pem()) {
                Ok(()) => print_line(&format!("authority  {}", pem.display())),
                Err(error) => {
                    return say(UNUSABLE, &format!("{} cannot be written: {error}", pem.display()));
                }
            }
            print_line(&format!("fingerprint {}", crate::messages::plain_fingerprint(&authority)));
            print_line(&format!("on paper   {}", authority.fingerprint()));
            print_line(
                "Give this fingerprint to building control on paper before work starts: it is the root of trust.",
            );
            print_line("Take the passphrase file off this device once everybody is enrolled.");
            DONE
        }
        Err(error) => say_error(&error),
    }
}
