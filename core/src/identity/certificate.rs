//! X.509 certificates (RFC 5280) as the register uses them: read from bytes that anybody may have sent, held
//! against the register's root.
//!
//! The bytes are kept as they came; signatures are checked over exactly these. Hostile bytes are refused, never a
//! panic. Revocation is not told here: it is an entry of the record.

use std::fmt;
use std::time::Duration;

use const_oid::db::rfc4519::{CN, TITLE};
use const_oid::db::rfc5912::{ECDSA_WITH_SHA_256, ID_CE_BASIC_CONSTRAINTS, ID_CE_KEY_USAGE};
use der::asn1::{Ia5StringRef, PrintableStringRef, Utf8StringRef};
use der::pem::LineEnding;
use der::{Decode as _, Encode as _, EncodePem as _, Reader as _, SliceReader, Tag, Tagged as _};
use p256::ecdsa::signature::Verifier as _;
use sha2::{Digest as _, Sha256};
use x509_cert::Version;
use x509_cert::ext::pkix::{AuthorityKeyIdentifier, BasicConstraints, KeyUsage, SubjectKeyIdentifier};
use x509_cert::spki::ObjectIdentifier;

use super::keys::PublicKey;
use crate::time::Timestamp;

/// The most bytes of a certificate that is looked at.
pub const MOST_CERTIFICATE_BYTES: usize = 16 << 10;

/// Why bytes are no certificate of the kind that is wanted, or one cannot be issued.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CertificateFault {
    /// More bytes than are looked at.
    #[error("a certificate longer than 16 KiB is not looked at")]
    Size,
    /// Not a certificate in DER, or with bytes left over.
    #[error("no certificate in DER: {0}")]
    Der(String),
    /// Not one certificate in PEM.
    #[error("no certificate in PEM: {0}")]
    Pem(String),
    /// The key in it is not on P-256.
    #[error("the certificate's key is no P-256 key")]
    Key,
    /// A name or role that does not fit.
    #[error("{field} must be 1 to 64 characters without control characters or outer blanks")]
    Name {
        /// Which.
        field: &'static str,
    },
    /// A validity that ends before it begins, or lasts longer than the root's.
    #[error("{0}")]
    Validity(&'static str),
    /// The library could not build it.
    #[error("the certificate cannot be built: {0}")]
    Build(String),
}

/// What a certificate is worth against a root.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CertificateVerdict {
    /// Issued by that root, for signing, valid at the time asked for.
    Good,
    /// Issued by someone else: nothing is known of it here.
    Unknown,
    /// Claims that root, but does not hold.
    Bad(&'static str),
}

/// A certificate on P-256, as its bytes came.
#[derive(Clone, PartialEq, Eq)]
pub struct Certificate {
    der: Vec<u8>,
    parsed: x509_cert::Certificate,
    key: PublicKey,
}

impl Certificate {
    /// Takes DER, and nothing behind it.
    pub fn from_der(der: &[u8]) -> Result<Self, CertificateFault> {
        if der.len() > MOST_CERTIFICATE_BYTES {
            return Err(CertificateFault::Size);
        }
        let fault = |e: der::Error| CertificateFault::Der(e.to_string());
        let parsed = x509_cert::Certificate::from_der(der).map_err(fault)?;
        if parsed.to_der().map_err(fault)? != der {
            return Err(CertificateFault::Der("not the one encoding that DER allows".to_owned()));
        }
        let spki = &parsed.tbs_certificate.subject_public_key_info;
        let point = spki.subject_public_key.as_bytes().ok_or(CertificateFault::Key)?;
        let key = PublicKey::from_sec1(point).map_err(|_| CertificateFault::Key)?;
        // The key's own SPKI is held against the certificate's: algorithm and curve included.
        if spki.to_der().map_err(fault)? != key.to_spki_der() {
            return Err(CertificateFault::Key);
        }
        Ok(Self { der: der.to_vec(), parsed, key })
    }

    /// Takes PEM with exactly one certificate.
    pub fn from_pem(pem: &str) -> Result<Self, CertificateFault> {
        if pem.len() > 2 * MOST_CERTIFICATE_BYTES {
            return Err(CertificateFault::Size);
        }
        let (label, der) =
            der::pem::decode_vec(pem.as_bytes()).map_err(|e| CertificateFault::Pem(e.to_string()))?;
        if label != "CERTIFICATE" {
            return Err(CertificateFault::Pem("labelled as something else".to_owned()));
        }
        Self::from_der(&der)
    }

    /// The bytes.
    pub fn der(&self) -> &[u8] {
        &self.der
    }

    /// The bytes as PEM (RFC 7468).
    pub fn to_pem(&self) -> String {
        self.parsed.to_pem(LineEnding::LF).expect("BUG: what was read from DER has a PEM form")
    }

    /// SHA-256 of the bytes in groups of four hex digits, for reading out and comparing on paper.
    pub fn fingerprint(&self) -> String {
        let hex = hex::encode(Sha256::digest(&self.der));
        let groups: Vec<&str> = (0..hex.len()).step_by(4).map(|at| &hex[at..at + 4]).collect();
        groups.join(" ")
    }

    /// The key that it certifies.
    pub fn public_key(&self) -> PublicKey {
        self.key
    }

    /// The common name of its subject: the person, or for a root the site.
    pub fn common_name(&self) -> Option<String> {
        attribute(&self.parsed.tbs_certificate.subject, CN)
    }

    /// The title of its subject: the person's role.
    pub fn role(&self) -> Option<String> {
        attribute(&self.parsed.tbs_certificate.subject, TITLE)
    }

    /// The serial number in hex.
    pub fn serial(&self) -> String {
        hex::encode(self.parsed.tbs_certificate.serial_number.as_bytes())
    }

    /// From when, in UTC.
    pub fn not_before(&self) -> Timestamp {
        timestamp(self.parsed.tbs_certificate.validity.not_before.to_unix_duration())
    }

    /// Until when, in UTC.
    pub fn not_after(&self) -> Timestamp {
        timestamp(self.parsed.tbs_certificate.validity.not_after.to_unix_duration())
    }

    /// The certificate as the library reads it, for building signatures.
    pub fn parsed(&self) -> &x509_cert::Certificate {
        &self.parsed
    }

    /// Whether this is a root that a register could have: self-signed, a certificate authority, allowed to issue.
    pub fn check_root(&self) -> CertificateVerdict {
        let tbs = &self.parsed.tbs_certificate;
        if tbs.issuer != tbs.subject {
            return CertificateVerdict::Unknown;
        }
        if !self.is_authority() {
            return CertificateVerdict::Bad(
                "the root is not marked as an authority that may issue certificates",
            );
        }
        if !self.known_extensions_only() {
            return CertificateVerdict::Bad("the root demands something that is not known here");
        }
        if !self.signed_by(self.key) {
            return CertificateVerdict::Bad("the root's own signature does not hold");
        }
        CertificateVerdict::Good
    }

    /// What this person's certificate is worth against the register's root at a time. The time is a claim of
    /// whoever passes it.
    pub fn check_against(&self, root: &Certificate, at: Timestamp) -> CertificateVerdict {
        match root.check_root() {
            CertificateVerdict::Good => {}
            CertificateVerdict::Unknown => return CertificateVerdict::Bad("the root is not self-signed"),
            bad @ CertificateVerdict::Bad(_) => return bad,
        }
        let tbs = &self.parsed.tbs_certificate;
        let of_root = || {
            let by = tbs.get::<AuthorityKeyIdentifier>().ok()??.1.key_identifier?;
            let own = root.parsed.tbs_certificate.get::<SubjectKeyIdentifier>().ok()??.1.0;
            Some(by.as_bytes() == own.as_bytes())
        };
        if tbs.issuer != root.parsed.tbs_certificate.subject || of_root() != Some(true) {
            return CertificateVerdict::Unknown;
        }
        if !self.signed_by(root.key) {
            return CertificateVerdict::Bad("the root did not sign this certificate");
        }
        if self.key == root.key {
            return CertificateVerdict::Bad("the certificate is for the root's own key");
        }
        if tbs.version != Version::V3 || !self.known_extensions_only() {
            return CertificateVerdict::Bad("the certificate demands something that is not known here");
        }
        let authority = tbs.get::<BasicConstraints>().map(|e| e.is_some_and(|(_, b)| b.ca));
        if authority != Ok(false) {
            return CertificateVerdict::Bad("the certificate is marked as an authority, not as a person's");
        }
        let usage = tbs.get::<KeyUsage>().ok().flatten().map(|(_, usage)| usage);
        if !usage.is_some_and(|u| u.digital_signature() && u.non_repudiation() && !u.key_cert_sign()) {
            return CertificateVerdict::Bad("the certificate is not for signing documents");
        }
        for certificate in [root, self] {
            if at.utc_ms < certificate.not_before().utc_ms {
                return CertificateVerdict::Bad("the certificate was not valid yet at that time");
            }
            // The last second belongs to the validity as a whole (RFC 5280, section 4.1.2.5: inclusive).
            if at.utc_ms > certificate.not_after().utc_ms.saturating_add(999) {
                return CertificateVerdict::Bad("the certificate was no longer valid at that time");
            }
        }
        CertificateVerdict::Good
    }

    fn is_authority(&self) -> bool {
        let tbs = &self.parsed.tbs_certificate;
        let ca = tbs.get::<BasicConstraints>().ok().flatten().is_some_and(|(_, b)| b.ca);
        let issues = tbs.get::<KeyUsage>().ok().flatten().is_some_and(|(_, u)| u.key_cert_sign());
        tbs.version == Version::V3 && ca && issues
    }

    /// RFC 5280, section 4.2: a critical extension that is not understood must lead to refusal.
    fn known_extensions_only(&self) -> bool {
        let extensions = self.parsed.tbs_certificate.extensions.as_deref().unwrap_or(&[]);
        let known = |oid: ObjectIdentifier| [ID_CE_BASIC_CONSTRAINTS, ID_CE_KEY_USAGE].contains(&oid);
        extensions.iter().all(|e| !e.critical || known(e.extn_id))
    }

    /// Whether this key signed it: ECDSA with SHA-256 over the stored bytes of the part to be signed.
    fn signed_by(&self, key: PublicKey) -> bool {
        let named = [&self.parsed.signature_algorithm, &self.parsed.tbs_certificate.signature];
        if named.iter().any(|a| a.oid != ECDSA_WITH_SHA_256 || a.parameters.is_some()) {
            return false;
        }
        let Some(signature) = self.parsed.signature.as_bytes() else {
            return false;
        };
        let Ok(signature) = p256::ecdsa::Signature::from_der(signature) else {
            return false;
        };
        let Ok(signed) = signed_part(&self.der) else {
            return false;
        };
        key.verifying_key().verify(signed, &signature).is_ok()
    }
}

impl fmt::Debug for Certificate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Certificate({:?}, {})", self.common_name(), self.fingerprint())
    }
}

/// The first element within the outer sequence: what was signed.
fn signed_part(der: &[u8]) -> der::Result<&[u8]> {
    let mut reader = SliceReader::new(der)?;
    let header = der::Header::decode(&mut reader)?;
    header.tag.assert_eq(Tag::Sequence)?;
    reader.tlv_bytes()
}

/// The one attribute of this kind; `None` where there is none, several, or one that is no text.
fn attribute(name: &x509_cert::name::Name, oid: ObjectIdentifier) -> Option<String> {
    let mut found = name.0.iter().flat_map(|rdn| rdn.0.iter()).filter(|a| a.oid == oid);
    let (value, more) = (found.next()?, found.next());
    if more.is_some() {
        return None;
    }
    let value = &value.value;
    match value.tag() {
        Tag::Utf8String => value.decode_as::<Utf8StringRef<'_>>().ok().map(|t| t.as_str().to_owned()),
        Tag::PrintableString => {
            value.decode_as::<PrintableStringRef<'_>>().ok().map(|t| t.as_str().to_owned())
        }
        Tag::Ia5String => value.decode_as::<Ia5StringRef<'_>>().ok().map(|t| t.as_str().to_owned()),
        _ => None,
    }
}

fn timestamp(since_1970: Duration) -> Timestamp {
    let ms = i64::try_from(since_1970.as_millis()).unwrap_or(i64::MAX);
    Timestamp { utc_ms: ms, offset_min: 0 }
}

#[cfg(test)]
#[path = "certificate_tests.rs"]
mod tests;
