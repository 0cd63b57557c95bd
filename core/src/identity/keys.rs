//! P-256 key pairs of devices, persons and the register's authority.
//!
//! Randomness is passed in. Signatures are deterministic (RFC 6979) and always in the low-S form; a high-S one
//! is refused, so that nobody can turn a good signature into a second one.
//!
//! Never here: printing a private key. It leaves only as bytes that are wiped, to be sealed or to go into the
//! device file.

use std::fmt;
use std::str::FromStr;

use p256::ecdsa::signature::hazmat::{PrehashSigner as _, PrehashVerifier as _};
use p256::ecdsa::{Signature, SigningKey, VerifyingKey};
use p256::pkcs8::EncodePublicKey as _;
use rand_core::CryptoRngCore;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use zeroize::Zeroizing;

/// A private key that is not one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum KeyFault {
    /// Not 32 bytes, zero, or not below the order of the curve.
    #[error("these bytes are no P-256 private key")]
    Private,
    /// Not an uncompressed point of the curve.
    #[error(
        "this is no P-256 public key: 130 lower-case hexadecimal digits of an uncompressed point are wanted"
    )]
    Public,
}

/// A key pair.
#[derive(Clone)]
pub struct SigningIdentity {
    key: SigningKey, // wipes itself when dropped
}

impl SigningIdentity {
    /// Draws a new key pair.
    pub fn generate(rng: &mut impl CryptoRngCore) -> Self {
        Self { key: SigningKey::random(rng) }
    }

    /// Takes a private key: 32 bytes, big-endian.
    pub fn from_secret(bytes: &[u8]) -> Result<Self, KeyFault> {
        // The library would take fewer bytes as well and fill up with zeros.
        if bytes.len() != 32 {
            return Err(KeyFault::Private);
        }
        SigningKey::from_slice(bytes).map(|key| Self { key }).map_err(|_| KeyFault::Private)
    }

    /// The private key, in a buffer that wipes itself.
    pub fn secret(&self) -> Zeroizing<[u8; 32]> {
        Zeroizing::new(self.key.to_bytes().into())
    }

    /// The key that others check against.
    pub fn public(&self) -> PublicKey {
        PublicKey(*self.key.verifying_key())
    }

    /// For signing certificates and documents.
    pub fn signing_key(&self) -> &SigningKey {
        &self.key
    }

    /// Signs a SHA-256 digest: 64 bytes r‖s, RFC 6979, low-S.
    pub fn sign_digest(&self, digest: [u8; 32]) -> [u8; 64] {
        let signature: Signature =
            self.key.sign_prehash(&digest).expect("BUG: a sound key signs every digest of 32 bytes");
        signature.normalize_s().unwrap_or(signature).to_bytes().into()
    }
}

impl fmt::Debug for SigningIdentity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "SigningIdentity(public {})", self.public())
    }
}

macro_rules! key_of {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Debug)]
        pub struct $name(SigningIdentity);

        impl $name {
            /// Draws a new key.
            pub fn generate(rng: &mut impl CryptoRngCore) -> Self {
                Self(SigningIdentity::generate(rng))
            }
        }

        impl From<SigningIdentity> for $name {
            fn from(identity: SigningIdentity) -> Self {
                Self(identity)
            }
        }

        impl std::ops::Deref for $name {
            type Target = SigningIdentity;
            fn deref(&self) -> &SigningIdentity {
                &self.0
            }
        }
    };
}

key_of!(
    /// A device's key. It signs every entry that the device writes.
    DeviceKey
);
key_of!(
    /// A person's key on one device. It signs what the person answers for, and sign-offs.
    PersonKey
);

/// A public key. Text form: the uncompressed point (SEC 1, section 2.3.3) as 130 lower-case hex digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct PublicKey(VerifyingKey);

impl PublicKey {
    /// Takes an uncompressed point: 65 bytes that start with 4.
    pub fn from_sec1(bytes: &[u8]) -> Result<Self, KeyFault> {
        if bytes.len() != 65 {
            return Err(KeyFault::Public); // one form only: a compressed point is refused
        }
        VerifyingKey::from_sec1_bytes(bytes).map(Self).map_err(|_| KeyFault::Public)
    }

    /// The uncompressed point: 65 bytes.
    pub fn to_sec1(self) -> Vec<u8> {
        self.0.to_encoded_point(false).as_bytes().to_vec()
    }

    /// SubjectPublicKeyInfo in DER (RFC 5480), as certificates and other tools want it.
    pub fn to_spki_der(self) -> Vec<u8> {
        let document = self.0.to_public_key_der().expect("BUG: a sound point has an SPKI form");
        document.as_bytes().to_vec()
    }

    /// For checking certificates and documents.
    pub fn verifying_key(&self) -> &VerifyingKey {
        &self.0
    }

    /// Whether this is this key's signature (64 bytes r‖s, low-S) over the digest.
    pub fn verify_digest(&self, digest: [u8; 32], signature: &[u8]) -> bool {
        Signature::from_slice(signature).is_ok_and(|signature| {
            signature.normalize_s().is_none() && self.0.verify_prehash(&digest, &signature).is_ok()
        })
    }
}

impl fmt::Display for PublicKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&hex::encode(self.to_sec1()))
    }
}

impl fmt::Debug for PublicKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "PublicKey({self})")
    }
}

impl FromStr for PublicKey {
    type Err = KeyFault;
    fn from_str(text: &str) -> Result<Self, KeyFault> {
        if text.bytes().any(|b| b.is_ascii_uppercase()) {
            return Err(KeyFault::Public);
        }
        Self::from_sec1(&hex::decode(text).map_err(|_| KeyFault::Public)?)
    }
}

impl Serialize for PublicKey {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for PublicKey {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
#[path = "keys_tests.rs"]
mod tests;
