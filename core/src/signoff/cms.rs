//! The cryptographic message inside the signature: made and checked (RFC 5652, RFC 5035, ETSI EN 319 122-1).
//!
//! PAdES baseline B-B: signed attributes content-type, message-digest and signing-certificate-v2, and no
//! signing-time (ETSI EN 319 142-1, 6.3: the time stands in the PDF). One signer, ECDSA on P-256 with SHA-256.
//! Never here: the PDF around it.

use cms::builder::{SignedDataBuilder, SignerInfoBuilder};
use cms::cert::{CertificateChoices, IssuerAndSerialNumber};
use cms::content_info::ContentInfo;
use cms::signed_data::{EncapsulatedContentInfo, SignedData, SignerIdentifier, SignerInfo};
use const_oid::ObjectIdentifier;
use const_oid::db::rfc5911::{
    ID_AA_SIGNING_CERTIFICATE_V_2, ID_CONTENT_TYPE, ID_DATA, ID_MESSAGE_DIGEST, ID_SIGNED_DATA,
    ID_SIGNING_TIME,
};
use const_oid::db::rfc5912::{ECDSA_WITH_SHA_256, ID_SHA_256};
use der::asn1::{OctetStringRef, SetOfVec};
use der::{Any, Decode as _, Encode as _, Tag, Tagged as _};
use p256::ecdsa::signature::Verifier as _;
use p256::ecdsa::{DerSignature, Signature, SigningKey};
use sha2::{Digest as _, Sha256};
use spki::AlgorithmIdentifierOwned;
use x509_cert::attr::Attribute;

use crate::identity::{Certificate, SigningIdentity};

/// Who signs: the key, the certificate for it, and the authority's certificate that vouches for that one.
pub struct Signer<'a> {
    /// The person's key.
    pub key: &'a SigningIdentity,
    /// Certificate of that key.
    pub leaf: &'a Certificate,
    /// Self-signed certificate of the register's authority.
    pub root: &'a Certificate,
}

/// The message could not be made.
#[derive(Debug, thiserror::Error)]
pub enum CmsFault {
    /// A certificate cannot be read, or the message cannot be encoded.
    #[error("the signer's certificates cannot be used for a signature")]
    Encoding(#[from] der::Error),
    /// The certificate is for another key.
    #[error("the certificate does not belong to the key that signs")]
    OtherKey,
}

/// The signed message over content with this SHA-256, DER.
pub fn detached(signer: &Signer<'_>, digest: &[u8; 32]) -> Result<Vec<u8>, CmsFault> {
    if signer.leaf.public_key() != signer.key.public() {
        return Err(CmsFault::OtherKey);
    }
    let leaf = &signer.leaf.parsed().tbs_certificate;
    let content = EncapsulatedContentInfo { econtent_type: ID_DATA, econtent: None };
    let sha256 = AlgorithmIdentifierOwned { oid: ID_SHA_256, parameters: None };
    let issuer =
        IssuerAndSerialNumber { issuer: leaf.issuer.clone(), serial_number: leaf.serial_number.clone() };
    let who = SignerIdentifier::IssuerAndSerialNumber(issuer);
    let failed = |_| der::Error::from(der::ErrorKind::Failed);
    let mut info =
        SignerInfoBuilder::new(signer.key.signing_key(), who, sha256.clone(), &content, Some(digest))
            .map_err(failed)?;
    info.add_signed_attribute(signing_certificate(signer.leaf.der())?).map_err(failed)?;
    let mut data = SignedDataBuilder::new(&content);
    data.add_digest_algorithm(sha256).map_err(failed)?;
    for certificate in [signer.leaf, signer.root] {
        data.add_certificate(CertificateChoices::Certificate(certificate.parsed().clone()))
            .map_err(failed)?;
    }
    data.add_signer_info::<SigningKey, DerSignature>(info).map_err(failed)?;
    Ok(data.build().map_err(failed)?.to_der()?)
}

/// RFC 5035: a sequence of one identifier of one certificate by its SHA-256, which is the default algorithm
/// and therefore unnamed; issuer and serial number are left out, as ETSI EN 319 122-1, 5.2.2 asks.
fn signing_certificate(leaf: &[u8]) -> Result<Attribute, der::Error> {
    let mut bytes = SIGNING_CERTIFICATE_HEAD.to_vec();
    bytes.extend(Sha256::digest(leaf));
    let mut values = SetOfVec::new();
    values.insert(Any::from_der(&bytes)?)?;
    Ok(Attribute { oid: ID_AA_SIGNING_CERTIFICATE_V_2, values })
}

/// SEQUENCE { SEQUENCE OF { SEQUENCE { OCTET STRING of 32 } } } up to the octets.
const SIGNING_CERTIFICATE_HEAD: [u8; 8] = [0x30, 0x26, 0x30, 0x24, 0x30, 0x22, 0x04, 0x20];

/// What is wrong with a message, each by its name.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CmsFinding {
    /// Not DER, not signed data, or not exactly one signer.
    #[error("the signature cannot be read: {0}")]
    Unreadable(&'static str),
    /// An algorithm that this program does not check.
    #[error("the signature uses {0}, which this program cannot check (it checks ECDSA P-256 with SHA-256)")]
    Algorithm(ObjectIdentifier),
    /// A signed attribute that must be there is not, or is there twice.
    #[error("the signature lacks its {0}")]
    Attribute(&'static str),
    /// The file is not the one that was signed.
    #[error("the file was altered after it was signed: its digest is not the signed one")]
    Altered,
    /// The signature does not fit the signed attributes.
    #[error("the signature itself is wrong: it was not made by the certificate's key")]
    Signature,
    /// No certificate for the signer.
    #[error("the signer's certificate is not in the file")]
    NoCertificate,
    /// The signed attributes name another certificate.
    #[error("the signature was made for another certificate than the one in the file")]
    OtherCertificate,
}

/// What a message says once looked at.
#[derive(Debug, Clone, Default)]
pub struct CmsSeen {
    /// Everything that is wrong with it; empty if it is sound in itself.
    pub findings: Vec<CmsFinding>,
    /// The signer's certificate.
    pub leaf: Option<Certificate>,
    /// The other certificates in the message: whose word they are worth is for the caller to find out.
    pub others: Vec<Certificate>,
    /// Whether a time is among the signed attributes (baseline B-B of PAdES has none).
    pub signing_time: bool,
}

/// Checks a message against the digest of the content. `bytes` may be padded with zeros.
pub fn check(bytes: &[u8], digest: &[u8; 32]) -> CmsSeen {
    let mut seen = CmsSeen::default();
    if let Err(finding) = look(bytes, digest, &mut seen) {
        seen.findings.push(finding);
    }
    seen
}

fn look(bytes: &[u8], digest: &[u8; 32], seen: &mut CmsSeen) -> Result<(), CmsFinding> {
    use CmsFinding::Unreadable;
    let message = unpadded(bytes).ok_or(Unreadable("its length is wrong"))?;
    let info = ContentInfo::from_der(message).map_err(|_| Unreadable("it is no cryptographic message"))?;
    if info.content_type != ID_SIGNED_DATA {
        return Err(Unreadable("it is no signed message"));
    }
    let data: SignedData =
        info.content.decode_as().map_err(|_| Unreadable("its signed data are malformed"))?;
    if data.encap_content_info.econtent_type != ID_DATA || data.encap_content_info.econtent.is_some() {
        return Err(Unreadable("it carries content of its own instead of covering the file"));
    }
    let [signer] = data.signer_infos.0.as_slice() else {
        return Err(Unreadable("it has not exactly one signer"));
    };
    let certificates = data
        .certificates
        .iter()
        .flat_map(|set| set.0.iter())
        .filter_map(|choice| match choice {
            CertificateChoices::Certificate(certificate) => certificate.to_der().ok(),
            CertificateChoices::Other(_) => None,
        })
        .filter_map(|der| Certificate::from_der(&der).ok());
    let (leaf, others): (Vec<Certificate>, _) = certificates.partition(|one| is_signer(signer, one));
    seen.leaf = leaf.into_iter().next();
    seen.others = others;
    check_algorithms(signer)?;
    check_attributes(signer, digest, seen)?;
    let leaf = seen.leaf.clone().ok_or(CmsFinding::NoCertificate)?;
    check_signature(signer, &leaf, seen);
    Ok(())
}

fn check_algorithms(signer: &SignerInfo) -> Result<(), CmsFinding> {
    for (found, known) in
        [(signer.digest_alg.oid, ID_SHA_256), (signer.signature_algorithm.oid, ECDSA_WITH_SHA_256)]
    {
        if found != known {
            return Err(CmsFinding::Algorithm(found));
        }
    }
    Ok(())
}

fn is_signer(signer: &SignerInfo, certificate: &Certificate) -> bool {
    match &signer.sid {
        SignerIdentifier::IssuerAndSerialNumber(id) => {
            let named = &certificate.parsed().tbs_certificate;
            id.issuer == named.issuer && id.serial_number == named.serial_number
        }
        SignerIdentifier::SubjectKeyIdentifier(_) => false,
    }
}

fn check_attributes(signer: &SignerInfo, digest: &[u8; 32], seen: &mut CmsSeen) -> Result<(), CmsFinding> {
    if signer.signed_attrs.is_none() {
        return Err(CmsFinding::Attribute("signed attributes"));
    }
    seen.signing_time = attribute(signer, ID_SIGNING_TIME).is_some();
    let content_type =
        attribute(signer, ID_CONTENT_TYPE).and_then(|any| any.decode_as::<ObjectIdentifier>().ok());
    if content_type != Some(ID_DATA) {
        seen.findings.push(CmsFinding::Attribute("content type"));
    }
    match attribute(signer, ID_MESSAGE_DIGEST).and_then(|any| any.decode_as::<OctetStringRef<'_>>().ok()) {
        None => seen.findings.push(CmsFinding::Attribute("message digest")),
        Some(signed) if signed.as_bytes() != digest => seen.findings.push(CmsFinding::Altered),
        Some(_) => {}
    }
    match attribute(signer, ID_AA_SIGNING_CERTIFICATE_V_2).and_then(named_certificate) {
        None => seen.findings.push(CmsFinding::Attribute("reference to the signer's certificate")),
        Some(named) => {
            let actual = seen.leaf.as_ref().map(|leaf| Sha256::digest(leaf.der()));
            if actual.is_some_and(|actual| actual.as_slice() != named) {
                seen.findings.push(CmsFinding::OtherCertificate);
            }
        }
    }
    Ok(())
}

/// The one value of the one attribute of this kind.
fn attribute(signer: &SignerInfo, oid: ObjectIdentifier) -> Option<&Any> {
    let mut of_kind = signer.signed_attrs.as_ref()?.iter().filter(|attribute| attribute.oid == oid);
    let (Some(attribute), None) = (of_kind.next(), of_kind.next()) else {
        return None;
    };
    match attribute.values.as_slice() {
        [value] => Some(value),
        _ => None,
    }
}

/// The SHA-256 of the first certificate that signing-certificate-v2 names. With an explicit algorithm or
/// with issuer and serial number the sequence is longer than ours: both are walked over.
fn named_certificate(value: &Any) -> Option<Vec<u8>> {
    let inside = |any: &Any| (any.tag() == Tag::Sequence).then(|| any.value().to_vec());
    let certificates = first_of(&inside(value)?)?;
    let identifier = inside(&first_of(&inside(&certificates)?)?)?;
    let mut first = first_of(&identifier)?;
    if first.tag() == Tag::Sequence {
        let algorithm: AlgorithmIdentifierOwned = first.decode_as().ok()?;
        if algorithm.oid != ID_SHA_256 {
            return None;
        }
        let length = usize::try_from(first.encoded_len().ok()?).ok()?;
        first = first_of(identifier.get(length..)?)?;
    }
    let hash: OctetStringRef<'_> = first.decode_as().ok()?;
    Some(hash.as_bytes().to_vec())
}

/// The first element of concatenated DER.
fn first_of(bytes: &[u8]) -> Option<Any> {
    use der::Reader as _;
    let mut reader = der::SliceReader::new(bytes).ok()?;
    reader.decode().ok()
}

fn check_signature(signer: &SignerInfo, leaf: &Certificate, seen: &mut CmsSeen) {
    // RFC 5652, 5.4: signed as an explicit SET OF, not with the implicit tag under which it is stored.
    let signed = signer.signed_attrs.as_ref().and_then(|attributes| attributes.to_der().ok());
    let signature = Signature::from_der(signer.signature.as_bytes()).ok();
    let sound = match (signed, signature) {
        (Some(signed), Some(signature)) => {
            leaf.public_key().verifying_key().verify(&signed, &signature).is_ok()
        }
        _ => false,
    };
    if !sound {
        seen.findings.push(CmsFinding::Signature);
    }
}

/// Cuts the message at the length that its own first bytes tell; the rest must be zeros.
fn unpadded(bytes: &[u8]) -> Option<&[u8]> {
    let [0x30, first, ..] = bytes else { return None };
    let (head, length) = match first {
        0..=0x7f => (2, usize::from(*first)),
        0x81..=0x83 => {
            let count = usize::from(first & 0x7f);
            let length = bytes.get(2..2 + count)?.iter().fold(0, |sum, byte| sum << 8 | usize::from(*byte));
            (2 + count, length)
        }
        _ => return None,
    };
    let (message, padding) = bytes.split_at_checked(head + length)?;
    padding.iter().all(|byte| *byte == 0).then_some(message)
}
