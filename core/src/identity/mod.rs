//! People and devices: keys, PINs, the register's own authority and its certificates, and what lies in the
//! device file beside the program's settings.
//!
//! Never here: ambient randomness or time; a private key in the register or in a printed text; the decision who
//! may do what (that is the fold's).
//!
//! Reading order: [`keys`], [`certificate`], [`authority`], [`sealed_key`], [`pin_count`], [`device_file`], [`seeded`].

pub mod authority;
pub mod certificate;
pub mod device_file;
pub mod keys;
pub mod pin_count;
pub mod sealed_key;
pub mod seeded;

pub use authority::Authority;
pub use certificate::{Certificate, CertificateFault, CertificateVerdict};
pub use device_file::{DeviceFile, DeviceFileFault, DeviceInRegister, restored_copy};
pub use keys::{DeviceKey, KeyFault, PersonKey, PublicKey, SigningIdentity};
pub use pin_count::{PinCount, PinGate};
pub use sealed_key::{Cost, DeviceSecret, Passphrase, Pin, SealFault, SealedKey};
pub use seeded::SeededRng;
