//! Every error in the user's words: what happened, what is safe, what to do next. The only place where an error
//! becomes a sentence for the screen or the command line. And the exit code that fits.

use std::path::Path;

use gaugerod_core::identity::{Certificate, DeviceFileFault, SealFault};
use gaugerod_core::inspection::Refusal;
use gaugerod_core::photo::PhotoRefusal;
use gaugerod_core::register::{IntakeFault, RegisterError};
use gaugerod_core::signoff::issue::IssueFault;
use gaugerod_core::store::StoreError;

use crate::commands::{NO, UNUSABLE};

/// The end of every sentence about something that was not recorded.
const NOTHING: &str = "Nothing of this was recorded.";

/// The sentence for whatever a register did not do.
pub fn sentence(error: &RegisterError) -> String {
    match error {
        RegisterError::Refused(refusal) => of_refusal(refusal),
        RegisterError::Store(error) => of_store(error),
        RegisterError::DeviceFile(fault) => of_device_file(fault),
        RegisterError::Seal(SealFault::Closed) => {
            "The PIN or passphrase is wrong. Nothing was done; try again. Wrong PINs make the next try wait, and \
             ten of them lock the person out on this tablet."
                .to_owned()
        }
        RegisterError::Seal(fault) => format!("{}.", capital(&fault.to_string())),
        RegisterError::Record(_) | RegisterError::NoBeginning => format!(
            "{}. Keep the file as it is, run “gaugerod check” on it, and go on from a backup.",
            capital(&error.to_string())
        ),
        RegisterError::Key(_) | RegisterError::Certificate(_) => {
            format!("{}. {NOTHING} Run “gaugerod check” on the register.", capital(&error.to_string()))
        }
        RegisterError::NoPerson { .. } => format!("{}.", capital(&error.to_string())),
        RegisterError::NoKeyHere(name) => format!(
            "{name} has no key on this tablet. {NOTHING} Readings can be booked without a key; to offer, release or \
             sign, enrol {name} on this tablet in the site file."
        ),
        RegisterError::Wait { seconds } => format!(
            "There were wrong PINs: wait {seconds} s before the next try. Everything booked before is safe."
        ),
        RegisterError::LockedOut(name) => format!(
            "{name} is locked out on this tablet after too many wrong PINs. Everything booked before is safe. Enrol \
             {name} again, under a new certificate, in the site file."
        ),
        RegisterError::PinNeeded(name) => format!("This needs {name}'s PIN. {NOTHING} Give the PIN and ask again."),
        RegisterError::ReadOnly => {
            "A newer program wrote this register, so it can only be looked at here. Nothing was changed; install the \
             newer program to record in it."
                .to_owned()
        }
        RegisterError::Intake(fault) => of_intake(fault),
    }
}

/// The exit code of the command line.
pub fn exit_code(error: &RegisterError) -> i32 {
    match error {
        RegisterError::Refused(_)
        | RegisterError::NoPerson { .. }
        | RegisterError::NoKeyHere(_)
        | RegisterError::Wait { .. }
        | RegisterError::LockedOut(_)
        | RegisterError::PinNeeded(_)
        | RegisterError::Seal(_)
        | RegisterError::ReadOnly
        | RegisterError::Intake(_)
        | RegisterError::Store(StoreError::Full(_) | StoreError::Busy(_) | StoreError::Exists { .. }) => NO,
        _ => UNUSABLE,
    }
}

/// A certificate's fingerprint as 64 hexadecimal digits, for commands; on paper it stands in groups.
pub fn plain_fingerprint(certificate: &Certificate) -> String {
    certificate.fingerprint().chars().filter(char::is_ascii_hexdigit).collect()
}

/// A refusal of the rules is its own sentence; it is not an error.
fn of_refusal(refusal: &Refusal) -> String {
    format!("{}. {NOTHING}", capital(refusal.to_string().trim_end_matches('.')))
}

fn of_store(error: &StoreError) -> String {
    let next = match error {
        StoreError::Missing { .. } => "Look for it, or open another register.",
        StoreError::Exists { .. } => "Choose another file name.",
        StoreError::WrongKind { .. } => "Choose a file that ends in .gaugerod.",
        StoreError::CutShort { .. } => "The copy that it came from may still be whole.",
        StoreError::Newer { .. } => "Install the newer program.",
        StoreError::Full(_) => "Make room on the disk, then ask again.",
        StoreError::Busy(_) => "Close the other program, then ask again.",
        StoreError::ReadOnly(_) => {
            "Allow writing in that folder, or copy the register to one that can be written."
        }
        StoreError::Damaged(_) | StoreError::DamagedRow { .. } | StoreError::SchemaDiffers { .. } => {
            "Run “gaugerod check” on it, and go on from a backup."
        }
        StoreError::PhotosMissing { .. } => {
            "Put the photos file back beside the register; readings and answers are not affected."
        }
        StoreError::NoOriginal { .. } => "Add it again from the tablet's own pictures.",
        StoreError::DocumentSize { .. } => "Choose a smaller file.",
        StoreError::SiteName => "Type another name.",
        StoreError::File { source, .. } => {
            return format!("{}: {source}. {NOTHING}", capital(&error.to_string()));
        }
        _ => "What was recorded before is whole. Run “gaugerod check” on the register.",
    };
    format!("{}. {NOTHING} {next}", capital(&error.to_string()))
}

fn of_device_file(fault: &DeviceFileFault) -> String {
    format!(
        "{}. The register itself is whole; this tablet's own keys lie in that file. Put it back from a backup, or \
         enrol people again on this tablet.",
        capital(&fault.to_string())
    )
}

fn of_intake(fault: &IntakeFault) -> String {
    match fault {
        IntakeFault::File { file, source } => of_file(Path::new(file), source),
        IntakeFault::Photo { file, refusal } => of_photo(Path::new(file), refusal),
        other => format!("{}. {NOTHING}", capital(other.to_string().trim_end_matches('.'))),
    }
}

/// Why there is no sign-off.
pub fn of_issue(fault: &IssueFault) -> String {
    match fault {
        IssueFault::Register(error) => sentence(error),
        IssueFault::Stopped => {
            "Stopped before the document was made. Nothing was signed; ask again when ready.".to_owned()
        }
        other => format!(
            "The document could not be made: {other}. Nothing was signed and the record is whole. Run “gaugerod \
             check” on the register."
        ),
    }
}

/// A photo that is not taken in.
pub fn of_photo(file: &Path, refusal: &PhotoRefusal) -> String {
    format!("{}: {refusal}. The photo was not recorded; take another, or choose another file.", name(file))
}

/// A file that cannot be read or written.
pub fn of_file(path: &Path, error: &std::io::Error) -> String {
    use std::io::ErrorKind;
    let why = match error.kind() {
        ErrorKind::NotFound => "is not there. Look at the path again",
        ErrorKind::PermissionDenied => "may not be read or written here. Choose another place",
        ErrorKind::IsADirectory => "is a folder. Choose a file in it",
        ErrorKind::StorageFull => "does not fit: the disk is full. Make room, then ask again",
        _ => return format!("{}: {error}. {NOTHING}", path.display()),
    };
    format!("{} {why}. {NOTHING}", path.display())
}

/// A file's name for a sentence.
pub fn name(path: &Path) -> String {
    path.file_name().map_or_else(|| path.display().to_string(), |name| name.to_string_lossy().into_owned())
}

/// The text with a capital at its beginning.
pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// What is said when the program itself made a mistake.
pub const BUG: &str = "The program made a mistake of its own in what was just asked, and stopped doing it. What was \
                       shown as on disk is safe; the register was read again from disk. Ask again, another way if it \
                       happens twice.";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sentence_says_what_is_safe_or_what_to_do() {
        let errors = [
            RegisterError::Seal(SealFault::Closed),
            RegisterError::NoBeginning,
            RegisterError::NoKeyHere("R. Tarn".to_owned()),
            RegisterError::Wait { seconds: 30 },
            RegisterError::LockedOut("R. Tarn".to_owned()),
            RegisterError::PinNeeded("R. Tarn".to_owned()),
            RegisterError::ReadOnly,
            RegisterError::Store(StoreError::SiteName),
            RegisterError::Refused(Refusal::NotAPerson),
        ];
        for error in errors {
            let sentence = sentence(&error);
            assert!(
                sentence.ends_with('.') && sentence.chars().next().is_some_and(char::is_uppercase),
                "{sentence}"
            );
            let helps = ["safe", "Nothing", "backup", "again"].iter().any(|word| sentence.contains(word));
            assert!(helps, "{sentence}");
        }
    }

    #[test]
    fn a_missing_file_is_named() {
        let error = std::io::Error::from(std::io::ErrorKind::NotFound);
        let sentence = of_file(Path::new("/tablet/pictures/a.jpg"), &error);
        assert!(sentence.starts_with("/tablet/pictures/a.jpg is not there"), "{sentence}");
    }
}
