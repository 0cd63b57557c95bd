//! Every error in the user's words: what happened, what is safe, what to do next. And the exit code that fits.

use gaugerod_core::identity::Certificate;
use gaugerod_core::register::RegisterError;
use gaugerod_core::store::StoreError;

use crate::commands::{NO, UNUSABLE};

/// The sentence for a person.
pub fn sentence(error: &RegisterError) -> String {
    let what = error.to_string();
    let next = match error {
        RegisterError::Store(StoreError::Full(_)) => {
            "Nothing of this was recorded; all that was recorded before is safe. Make room on the disk and try again."
        }
        RegisterError::Store(StoreError::Busy(_)) => {
            "Nothing of this was recorded. Another program holds the register: try again in a moment."
        }
        RegisterError::Store(StoreError::Newer { .. }) | RegisterError::ReadOnly => {
            "Nothing was changed. Use the newer program to record."
        }
        RegisterError::Store(StoreError::Damaged(_)) | RegisterError::Record(_) => {
            "Nothing of this was recorded. Run `gaugerod check` on a copy, and keep the last signed PDF and any backup."
        }
        RegisterError::DeviceFile(_) => "The register itself is not touched.",
        _ => "",
    };
    if next.is_empty() { what } else { format!("{what}. {next}") }
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
        | RegisterError::Intake(_) => NO,
        RegisterError::Store(
            StoreError::Full(_) | StoreError::Busy(_) | StoreError::Exists { .. },
        ) => NO,
        _ => UNUSABLE,
    }
}

/// A certificate's fingerprint as 64 hexadecimal digits, for commands; on paper it stands in groups.
pub fn plain_fingerprint(certificate: &Certificate) -> String {
    certificate.fingerprint().chars().filter(char::is_ascii_hexdigit).collect()
}
