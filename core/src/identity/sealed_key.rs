//! Private keys at rest: Argon2id (RFC 9106) over what the person knows, XChaCha20-Poly1305 over the key.
//!
//! A PIN of four digits alone falls in minutes to somebody who has the file, so a person's key also needs the
//! 32-byte secret of the device, kept apart from the register. The authority's key takes a passphrase instead.
//!
//! Never here: a word about *why* opening failed. Wrong PIN, foreign device and altered bytes all read the same.

use argon2::{Algorithm, Argon2, Params, Version};
use chacha20poly1305::aead::{Aead as _, Payload};
use chacha20poly1305::{KeyInit as _, XChaCha20Poly1305, XNonce};
use rand_core::CryptoRngCore;
use serde::{Deserialize, Serialize};
use zeroize::Zeroizing;

use super::keys::{PublicKey, SigningIdentity};
use crate::record::canonical::{self, CanonFault};

/// The fewest characters of the authority's passphrase.
pub const LEAST_PASSPHRASE_CHARACTERS: usize = 12;
/// The most characters of the authority's passphrase.
pub const MOST_PASSPHRASE_CHARACTERS: usize = 256;

/// Why a PIN or passphrase is not taken, or a sealed key does not open.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SealFault {
    /// Not 4 to 12 digits.
    #[error("a PIN has 4 to 12 digits and nothing else")]
    Pin,
    /// Too short or too long.
    #[error("a passphrase has 12 to 256 characters")]
    Passphrase,
    /// Work factors outside of what is accepted.
    #[error("the work factors of a sealed key lie outside of what is accepted")]
    Cost,
    /// The text is no sealed key.
    #[error("no sealed key: {0}")]
    Text(CanonFault),
    /// It does not open. Deliberately no more than that.
    #[error("the key does not open")]
    Closed,
}

/// A PIN: 4 to 12 ASCII digits.
pub struct Pin(Zeroizing<String>);

impl Pin {
    /// Takes a PIN after checking it.
    pub fn new(digits: &str) -> Result<Self, SealFault> {
        if (4..=12).contains(&digits.len()) && digits.bytes().all(|b| b.is_ascii_digit()) {
            Ok(Self(Zeroizing::new(digits.to_owned())))
        } else {
            Err(SealFault::Pin)
        }
    }
}

/// A passphrase of at least 12 characters.
pub struct Passphrase(Zeroizing<String>);

impl Passphrase {
    /// Takes a passphrase after checking its length. Nothing is trimmed or folded.
    pub fn new(text: &str) -> Result<Self, SealFault> {
        let characters = text.chars().take(MOST_PASSPHRASE_CHARACTERS + 1).count();
        if (LEAST_PASSPHRASE_CHARACTERS..=MOST_PASSPHRASE_CHARACTERS).contains(&characters) {
            Ok(Self(Zeroizing::new(text.to_owned())))
        } else {
            Err(SealFault::Passphrase)
        }
    }
}

/// The 32 random bytes of a device that every PIN on it is joined with.
#[derive(Clone)]
pub struct DeviceSecret(Zeroizing<[u8; 32]>);

impl DeviceSecret {
    /// Draws a new one.
    pub fn generate(rng: &mut impl CryptoRngCore) -> Self {
        let mut bytes = Zeroizing::new([0; 32]);
        rng.fill_bytes(bytes.as_mut_slice());
        Self(bytes)
    }

    /// Takes the bytes.
    pub fn from_bytes(bytes: [u8; 32]) -> Self {
        Self(Zeroizing::new(bytes))
    }

    pub(super) fn bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

impl std::fmt::Debug for DeviceSecret {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("DeviceSecret(…)")
    }
}

/// Work factors of Argon2id. They stand beside each sealed key, so that a later program may ask for more.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cost {
    /// Memory in KiB.
    pub memory_kib: u32,
    /// Passes over the memory.
    pub passes: u32,
    /// Lanes.
    pub lanes: u32,
}

impl Cost {
    /// What keys are sealed with: 64 MiB, 3 passes, 1 lane (RFC 9106, section 4, second recommended option, with
    /// one lane instead of four because a tablet's window must stay alive beside it).
    pub const STANDING: Self = Self { memory_kib: 64 << 10, passes: 3, lanes: 1 };
    /// The least that Argon2 takes: for tests and invented demo data only.
    pub const LEAST: Self = Self { memory_kib: 8, passes: 1, lanes: 1 };

    /// Bounds, so that a hostile file can neither exhaust memory nor hold the program for minutes.
    fn params(self) -> Result<Params, SealFault> {
        let sound = (8..=256 << 10).contains(&self.memory_kib)
            && (1..=16).contains(&self.passes)
            && (1..=4).contains(&self.lanes);
        if !sound {
            return Err(SealFault::Cost);
        }
        Params::new(self.memory_kib, self.passes, self.lanes, Some(32)).map_err(|_| SealFault::Cost)
    }
}

/// What opens a sealed key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum OpenedBy {
    PinAndDevice,
    Passphrase,
}

/// A private key under authenticated encryption, with all that is needed to open it but the secret.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SealedKey {
    format: u32,
    opened_by: OpenedBy,
    cost: Cost,
    salt: String,
    nonce: String,
    sealed: String,
    public: PublicKey,
}

impl SealedKey {
    /// Seals a person's key under a PIN and the device's secret.
    pub fn with_pin(
        key: &SigningIdentity,
        pin: &Pin,
        device: &DeviceSecret,
        cost: Cost,
        rng: &mut impl CryptoRngCore,
    ) -> Result<Self, SealFault> {
        Self::seal(key, OpenedBy::PinAndDevice, &pin_and_device(pin, device), cost, rng)
    }

    /// Seals the authority's key under a passphrase.
    pub fn with_passphrase(
        key: &SigningIdentity,
        passphrase: &Passphrase,
        cost: Cost,
        rng: &mut impl CryptoRngCore,
    ) -> Result<Self, SealFault> {
        Self::seal(key, OpenedBy::Passphrase, passphrase.0.as_bytes(), cost, rng)
    }

    /// Opens a person's key. Takes about 100 ms at the standing cost: not on the window's thread.
    pub fn open_with_pin(&self, pin: &Pin, device: &DeviceSecret) -> Result<SigningIdentity, SealFault> {
        self.open(OpenedBy::PinAndDevice, &pin_and_device(pin, device))
    }

    /// Opens the authority's key.
    pub fn open_with_passphrase(&self, passphrase: &Passphrase) -> Result<SigningIdentity, SealFault> {
        self.open(OpenedBy::Passphrase, passphrase.0.as_bytes())
    }

    /// The public half, readable without opening.
    pub fn public(&self) -> PublicKey {
        self.public
    }

    /// The work factors that it was sealed with.
    pub fn cost(&self) -> Cost {
        self.cost
    }

    /// Canonical JSON.
    pub fn to_text(&self) -> String {
        let value = serde_json::to_value(self).expect("BUG: a sealed key is plain text and numbers");
        canonical::encode(&value).expect("BUG: a sealed key has a canonical text")
    }

    /// Reads what [`Self::to_text`] wrote.
    pub fn from_text(text: &str) -> Result<Self, SealFault> {
        let value = canonical::decode(text).map_err(SealFault::Text)?;
        let key: Self =
            serde_json::from_value(value).map_err(|e| SealFault::Text(CanonFault::Json(e.to_string())))?;
        key.cost.params()?;
        Ok(key)
    }

    fn seal(
        key: &SigningIdentity,
        opened_by: OpenedBy,
        known: &[u8],
        cost: Cost,
        rng: &mut impl CryptoRngCore,
    ) -> Result<Self, SealFault> {
        let (mut salt, mut nonce) = ([0; 16], [0; 24]);
        rng.fill_bytes(&mut salt);
        rng.fill_bytes(&mut nonce);
        let public = key.public();
        let cipher = cipher(known, &salt, cost)?;
        let bound_to = bound_to(opened_by, public);
        let secret = key.secret();
        let payload = Payload { msg: secret.as_slice(), aad: bound_to.as_bytes() };
        let sealed = cipher.encrypt(&XNonce::from(nonce), payload).map_err(|_| SealFault::Closed)?;
        Ok(Self {
            format: 1,
            opened_by,
            cost,
            salt: hex::encode(salt),
            nonce: hex::encode(nonce),
            sealed: hex::encode(sealed),
            public,
        })
    }

    fn open(&self, opened_by: OpenedBy, known: &[u8]) -> Result<SigningIdentity, SealFault> {
        if self.format != 1 || self.opened_by != opened_by {
            return Err(SealFault::Closed);
        }
        let (mut salt, mut nonce, mut sealed) = ([0; 16], [0; 24], [0; 48]);
        for (text, bytes) in
            [(&self.salt, salt.as_mut_slice()), (&self.nonce, &mut nonce), (&self.sealed, &mut sealed)]
        {
            hex::decode_to_slice(text, bytes).map_err(|_| SealFault::Closed)?;
        }
        let cipher = cipher(known, &salt, self.cost)?;
        let bound_to = bound_to(opened_by, self.public);
        let payload = Payload { msg: sealed.as_slice(), aad: bound_to.as_bytes() };
        let secret = cipher.decrypt(&XNonce::from(nonce), payload).map_err(|_| SealFault::Closed)?;
        let key = SigningIdentity::from_secret(&Zeroizing::new(secret)).map_err(|_| SealFault::Closed)?;
        if key.public() == self.public { Ok(key) } else { Err(SealFault::Closed) }
    }
}

/// The device's part has a fixed length, so no two pairs give the same bytes.
fn pin_and_device(pin: &Pin, device: &DeviceSecret) -> Zeroizing<Vec<u8>> {
    // Reserved at once: growing would leave copies behind that nobody wipes.
    let mut bytes = Zeroizing::new(Vec::with_capacity(pin.0.len() + 32));
    bytes.extend_from_slice(pin.0.as_bytes());
    bytes.extend_from_slice(device.bytes());
    bytes
}

/// What the encryption also vouches for: a sealed key cannot be passed off as another's or as another kind.
fn bound_to(opened_by: OpenedBy, public: PublicKey) -> String {
    let by = match opened_by {
        OpenedBy::PinAndDevice => "pin-and-device",
        OpenedBy::Passphrase => "passphrase",
    };
    format!("gaugerod sealed key 1\n{by}\n{public}\n")
}

fn cipher(known: &[u8], salt: &[u8; 16], cost: Cost) -> Result<XChaCha20Poly1305, SealFault> {
    let argon = Argon2::new(Algorithm::Argon2id, Version::V0x13, cost.params()?);
    let mut key = Zeroizing::new([0; 32]);
    argon.hash_password_into(known, salt, key.as_mut_slice()).map_err(|_| SealFault::Cost)?;
    XChaCha20Poly1305::new_from_slice(key.as_slice()).map_err(|_| SealFault::Closed)
}

#[cfg(test)]
#[path = "sealed_key_tests.rs"]
mod tests;
