//! Sealing an entry and opening it again: id, payload digest, canonical form, signatures.
//!
//! Every digest is taken over the stored bytes, never over a re-encoding. Opening checks what the entry proves
//! by itself; whether its place in the chain is sound is [`super::check`]'s, whether its keys are trusted is
//! for whoever knows the enrolments.

use serde_json::Value;

use super::canonical::{self, CanonFault};
use super::header::{Header, Heading, id_of};
use crate::identity::{DeviceKey, PersonKey, PublicKey};
use crate::ids::{EntryId, Sha256Digest};

/// The kinds that are worth nothing without the signature of the person who did it.
pub const PERSON_SIGNED_KINDS: [&str; 9] = [
    "released",
    "refused",
    "contested-settled",
    "concession-granted",
    "person-enrolled",
    "person-revoked",
    "device-enrolled",
    "device-revoked",
    "sign-off-issued",
];

/// Whether entries of this kind must carry the person's own signature.
pub fn demands_person_signature(kind: &str) -> bool {
    PERSON_SIGNED_KINDS.contains(&kind)
}

/// An entry as it is stored and handed on: texts exactly as they were hashed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SealedEntry {
    /// SHA-256 of the tagged header.
    pub id: EntryId,
    /// Canonical text of the header.
    pub header: String,
    /// Canonical text of the payload.
    pub payload: String,
    /// The device's signature over the id: 64 bytes r‖s, low-S.
    pub device_signature: Vec<u8>,
    /// The person's signature over the id, where there is one.
    pub person_signature: Option<Vec<u8>>,
}

/// What a signature is worth. Never a yes or no: an unknown key is neither.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SignatureVerdict {
    /// Made by the key that was asked for, over exactly this.
    Good,
    /// No key to check it against is known here.
    Unknown,
    /// Not made by that key over this, or not in the one form that is accepted.
    Bad,
}

/// Why an entry cannot be sealed or opened.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RecordFault {
    /// The header is not the canonical text of a header.
    #[error("header: {0}")]
    Header(CanonFault),
    /// A header field lies outside of its bounds.
    #[error("header: {field} {rule}")]
    Bound {
        /// The field.
        field: &'static str,
        /// What holds for it.
        rule: &'static str,
    },
    /// The payload is not canonical.
    #[error("payload: {0}")]
    Payload(CanonFault),
    /// The payload is not the one that the header was written over.
    #[error("the payload has SHA-256 {found}, the header says {stated}")]
    PayloadDigest {
        /// What the header says.
        stated: Sha256Digest,
        /// What the payload has.
        found: Sha256Digest,
    },
    /// The entry stands under an id that its header does not have.
    #[error("the header has id {found}, the entry stands under {stated}")]
    Id {
        /// What the entry stands under.
        stated: EntryId,
        /// What the header has.
        found: EntryId,
    },
    /// A signature that is not 64 bytes long.
    #[error("the {whose} signature has {bytes} bytes instead of 64")]
    SignatureLength {
        /// `device's` or `person's`.
        whose: &'static str,
        /// Bytes found.
        bytes: usize,
    },
    /// An entry of this kind needs the person's own signature.
    #[error("an entry of kind {kind} needs the signature of the person who writes it")]
    PersonSignatureMissing {
        /// The kind.
        kind: String,
    },
    /// A person's signature on an entry that names no author.
    #[error("a person's signature stands on an entry that names no author")]
    AuthorMissing,
}

/// Seals an entry: canonical payload, header over its digest, id, signatures.
///
/// Refused where the kind demands the person's signature and no key is given, or a key is given without an
/// author.
pub fn seal(
    heading: Heading,
    payload: &Value,
    device: &DeviceKey,
    person: Option<&PersonKey>,
) -> Result<SealedEntry, RecordFault> {
    if person.is_none() && demands_person_signature(&heading.kind) {
        return Err(RecordFault::PersonSignatureMissing { kind: heading.kind });
    }
    if person.is_some() && heading.author.is_none() {
        return Err(RecordFault::AuthorMissing);
    }
    let payload = canonical::encode(payload).map_err(RecordFault::Payload)?;
    let header = heading.over(Sha256Digest::of(payload.as_bytes())).to_text()?;
    let id = id_of(&header);
    Ok(SealedEntry {
        id,
        device_signature: device.sign_digest(id.0).to_vec(),
        person_signature: person.map(|key| key.sign_digest(id.0).to_vec()),
        header,
        payload,
    })
}

/// Opens an entry: its id, its payload's digest, the canonical form and the bounds of both texts.
///
/// Signatures are only measured here: see [`SealedEntry::check_device_signature`] and
/// [`SealedEntry::check_person_signature`].
pub fn open(entry: &SealedEntry) -> Result<(Header, Value), RecordFault> {
    let header = open_header(entry)?;
    // Digest before parsing: bytes that are not the signed ones are not looked at.
    let found = Sha256Digest::of(entry.payload.as_bytes());
    if found != header.payload_sha256 {
        return Err(RecordFault::PayloadDigest { stated: header.payload_sha256, found });
    }
    let payload = canonical::decode(&entry.payload).map_err(RecordFault::Payload)?;
    Ok((header, payload))
}

/// Opens the header alone: all that chains and causal order need.
pub fn open_header(entry: &SealedEntry) -> Result<Header, RecordFault> {
    let found = id_of(&entry.header);
    if found != entry.id {
        return Err(RecordFault::Id { stated: entry.id, found });
    }
    let header = Header::from_text(&entry.header)?;
    let length = |whose, bytes: usize| {
        if bytes == 64 { Ok(()) } else { Err(RecordFault::SignatureLength { whose, bytes }) }
    };
    length("device's", entry.device_signature.len())?;
    if let Some(signature) = &entry.person_signature {
        length("person's", signature.len())?;
        if header.author.is_none() {
            return Err(RecordFault::AuthorMissing);
        }
    }
    Ok(header)
}

impl SealedEntry {
    /// What the device's signature is worth against the key enrolled for that device.
    pub fn check_device_signature(&self, key: Option<&PublicKey>) -> SignatureVerdict {
        verdict(key, self.id, &self.device_signature)
    }

    /// What the person's signature is worth against the key of the author's certificate; `None` where there is
    /// no such signature.
    pub fn check_person_signature(&self, key: Option<&PublicKey>) -> Option<SignatureVerdict> {
        self.person_signature.as_ref().map(|signature| verdict(key, self.id, signature))
    }
}

fn verdict(key: Option<&PublicKey>, id: EntryId, signature: &[u8]) -> SignatureVerdict {
    match key {
        None => SignatureVerdict::Unknown,
        Some(key) if key.verify_digest(id.0, signature) => SignatureVerdict::Good,
        Some(_) => SignatureVerdict::Bad,
    }
}

#[cfg(test)]
#[path = "seal_tests.rs"]
mod tests;
