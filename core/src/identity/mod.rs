//! People and devices: keys, PINs, the register's own authority and its certificates, and what lies in the
//! device file beside the program's settings.
//!
//! Never here: ambient randomness or time; a private key in the register or in a printed text.

pub mod keys;

pub use keys::{DeviceKey, KeyFault, PersonKey, PublicKey, SigningIdentity};
