//! The register's own authority: a key and a self-signed root certificate that nobody outside vouches for. Its
//! fingerprint goes to building control on paper before work starts; that is the root of trust.
//!
//! Never here: the passphrase, a clock, or a decision who may have a certificate.

use std::time::Duration;

use const_oid::db::rfc4519::{CN, O, TITLE};
use der::asn1::{GeneralizedTime, SetOfVec};
use der::{Any, Encode as _, Tag};
use p256::ecdsa::DerSignature;
use rand_core::CryptoRngCore;
use spki::SubjectPublicKeyInfoOwned;
use x509_cert::attr::AttributeTypeAndValue;
use x509_cert::builder::{Builder as _, CertificateBuilder, Profile};
use x509_cert::name::{Name, RdnSequence, RelativeDistinguishedName};
use x509_cert::serial_number::SerialNumber;
use x509_cert::spki::ObjectIdentifier;
use x509_cert::time::{Time, Validity};

use super::certificate::{Certificate, CertificateFault, CertificateVerdict};
use super::keys::{PublicKey, SigningIdentity};
use crate::time::Timestamp;

/// The most characters of a name in a certificate (RFC 5280, appendix A.1: ub-common-name, ub-title).
pub const MOST_NAME_CHARACTERS: usize = 64;
/// What stands as organisation in the root, so that a site's root cannot be taken for a person's certificate.
const ROOT_ORGANISATION: &str = "Register authority";

/// The authority's key and root certificate.
#[derive(Debug, Clone)]
pub struct Authority {
    key: SigningIdentity,
    root: Certificate,
}

impl Authority {
    /// Makes a register's authority: a self-signed root for the site, valid from and until the given times.
    pub fn found(
        site: &str,
        from: Timestamp,
        until: Timestamp,
        key: SigningIdentity,
        rng: &mut impl CryptoRngCore,
    ) -> Result<Self, CertificateFault> {
        let subject =
            name(&[(O, text("the organisation", ROOT_ORGANISATION)?), (CN, text("the site's name", site)?)])?;
        let root = build(Profile::Root, subject, validity(from, until)?, key.public(), &key, rng)?;
        Ok(Self { key, root })
    }

    /// Puts an opened key and the stored root together again; refused where they do not belong together.
    pub fn from_parts(key: SigningIdentity, root: Certificate) -> Result<Self, CertificateFault> {
        if root.public_key() != key.public() || root.check_root() != CertificateVerdict::Good {
            return Err(CertificateFault::Key);
        }
        Ok(Self { key, root })
    }

    /// The root certificate.
    pub fn root(&self) -> &Certificate {
        &self.root
    }

    /// The key, to be sealed.
    pub fn key(&self) -> &SigningIdentity {
        &self.key
    }

    /// Issues a person's certificate for one device: for signing documents, not for issuing. Its validity must
    /// lie within the root's.
    pub fn issue(
        &self,
        person: &str,
        role: &str,
        key: PublicKey,
        from: Timestamp,
        until: Timestamp,
        rng: &mut impl CryptoRngCore,
    ) -> Result<Certificate, CertificateFault> {
        let within =
            self.root.not_before().utc_ms <= from.utc_ms && until.utc_ms <= self.root.not_after().utc_ms;
        if !within {
            return Err(CertificateFault::Validity(
                "the validity must lie within that of the register's root",
            ));
        }
        if key == self.key.public() {
            return Err(CertificateFault::Key);
        }
        let subject = name(&[(TITLE, text("the role", role)?), (CN, text("the person's name", person)?)])?;
        let profile = Profile::Leaf {
            issuer: self.root.parsed().tbs_certificate.subject.clone(),
            enable_key_agreement: false,
            enable_key_encipherment: false,
        };
        build(profile, subject, validity(from, until)?, key, &self.key, rng)
    }
}

fn build(
    profile: Profile,
    subject: Name,
    validity: Validity,
    key: PublicKey,
    signer: &SigningIdentity,
    rng: &mut impl CryptoRngCore,
) -> Result<Certificate, CertificateFault> {
    let fault = |e: x509_cert::builder::Error| CertificateFault::Build(e.to_string());
    let spki = SubjectPublicKeyInfoOwned::from_key(*key.verifying_key())
        .map_err(|e| CertificateFault::Build(e.to_string()))?;
    let builder =
        CertificateBuilder::new(profile, serial(rng)?, validity, subject, spki, signer.signing_key())
            .map_err(fault)?;
    let certificate = builder.build::<DerSignature>().map_err(fault)?;
    Certificate::from_der(&certificate.to_der().map_err(|e| CertificateFault::Build(e.to_string()))?)
}

/// 126 random bits, positive and of constant length (RFC 5280, section 4.1.2.2: at most 20 octets, unpredictable).
fn serial(rng: &mut impl CryptoRngCore) -> Result<SerialNumber, CertificateFault> {
    let mut bytes = [0; 16];
    rng.fill_bytes(&mut bytes);
    bytes[0] = bytes[0] & 0x3f | 0x40;
    SerialNumber::new(&bytes).map_err(|e| CertificateFault::Build(e.to_string()))
}

fn text<'t>(field: &'static str, text: &'t str) -> Result<&'t str, CertificateFault> {
    let count = text.chars().take(MOST_NAME_CHARACTERS + 1).count();
    let sound = (1..=MOST_NAME_CHARACTERS).contains(&count)
        && text.trim() == text
        && !text.chars().any(char::is_control);
    if sound { Ok(text) } else { Err(CertificateFault::Name { field }) }
}

/// Built attribute by attribute: a name may hold commas, plus and equals signs, so no text form is parsed.
fn name(attributes: &[(ObjectIdentifier, &str)]) -> Result<Name, CertificateFault> {
    let fault = |e: der::Error| CertificateFault::Build(e.to_string());
    let mut rdns = Vec::with_capacity(attributes.len());
    for &(oid, text) in attributes {
        let value = Any::new(Tag::Utf8String, text.as_bytes()).map_err(fault)?;
        let set = SetOfVec::try_from(vec![AttributeTypeAndValue { oid, value }]).map_err(fault)?;
        rdns.push(RelativeDistinguishedName::from(set));
    }
    Ok(RdnSequence::from(rdns))
}

fn validity(from: Timestamp, until: Timestamp) -> Result<Validity, CertificateFault> {
    if until.utc_ms <= from.utc_ms {
        return Err(CertificateFault::Validity("the validity must end after it begins"));
    }
    // The builder turns it into UTCTime up to 2049, as RFC 5280 asks.
    let time = |at: Timestamp| {
        let seconds = u64::try_from(at.utc_ms / 1000).ok();
        let time = seconds.and_then(|s| GeneralizedTime::from_unix_duration(Duration::from_secs(s)).ok());
        time.map(Time::GeneralTime)
            .ok_or(CertificateFault::Validity("the validity must lie within the years 1970 to 9999"))
    };
    Ok(Validity { not_before: time(from)?, not_after: time(until)? })
}
