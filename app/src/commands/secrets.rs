//! PINs and passphrases: from a file, or from a prompt on a terminal. Never from an argument.

use std::io::{IsTerminal as _, Read as _};
use std::path::Path;

use gaugerod_core::identity::{Passphrase, Pin};

use super::{UNUSABLE, USAGE};

/// The most bytes of a file with a secret.
const MOST_BYTES: u64 = 4096;

/// Why no secret was read: exit code and sentence.
pub type NoSecret = (i32, String);

/// Reads a PIN from the file, or asks for it on a terminal.
///
/// # Errors
/// No file and no terminal, an unreadable file, or no PIN of 4 to 12 digits.
pub fn pin(file: Option<&Path>, of: &str) -> Result<Pin, NoSecret> {
    let text = secret(file, &format!("PIN of {of}: "), "--pin-file")?;
    Pin::new(&text).map_err(|fault| (UNUSABLE, fault.to_string()))
}

/// Reads a passphrase from the file, or asks for it on a terminal.
///
/// # Errors
/// No file and no terminal, an unreadable file, or too short a passphrase.
pub fn passphrase(file: Option<&Path>) -> Result<Passphrase, NoSecret> {
    let text = secret(file, "Passphrase of the register's authority: ", "--authority-passphrase-file")?;
    Passphrase::new(&text).map_err(|fault| (UNUSABLE, fault.to_string()))
}

fn secret(file: Option<&Path>, prompt: &str, option: &str) -> Result<String, NoSecret> {
    if let Some(path) = file {
        let unreadable = |why: String| (UNUSABLE, format!("{} cannot be read: {why}", path.display()));
        let mut text = String::new();
        std::fs::File::open(path)
            .and_then(|file| file.take(MOST_BYTES).read_to_string(&mut text))
            .map_err(|error| unreadable(error.to_string()))?;
        return Ok(text.trim_end_matches(['\r', '\n']).to_owned());
    }
    if !std::io::stdin().is_terminal() {
        return Err((USAGE, format!("standard input is no terminal to ask on: give {option} FILE")));
    }
    rpassword::prompt_password(prompt).map_err(|error| (UNUSABLE, format!("nothing could be asked: {error}")))
}
