//! Whose word the entries of a piece of evidence rest on: the authority's certificate, people's certificates under
//! it, devices' keys, the signatures of both, and revocations.
//!
//! Never here: whether the given authority is the right one; what entries mean for the plot.

use std::collections::BTreeMap;

use super::evidence::links;
use super::model::certificate;
use crate::entry::{Payload, Recorded};
use crate::identity::{Certificate, CertificateVerdict, PublicKey};
use crate::ids::{DeviceId, PersonId};
use crate::inspection::Entry;
use crate::record::{SealedEntry, SignatureVerdict, demands_person_signature, knew_of};

/// What was found, each finding in words.
#[derive(Debug, Default)]
pub struct Trust {
    /// The authority's certificate as the record names it, if it is one.
    pub authority: Option<Certificate>,
    /// Certificates that do not hold.
    pub people: Vec<String>,
    /// Signatures that do not hold.
    pub signatures: Vec<String>,
    /// Acts of revoked people.
    pub revoked: Vec<String>,
}

/// Checks all of it. `entries` are `sealed`, opened, in the same order.
pub fn trust(entries: &[Entry], sealed: &[SealedEntry]) -> Trust {
    let mut trust = Trust::default();
    let (people, devices) = keys(entries, &mut trust);
    for (entry, sealed) in entries.iter().zip(sealed) {
        let kind = &entry.header.kind;
        let mut bad = |whose: &str, verdict: SignatureVerdict| {
            let why = match verdict {
                SignatureVerdict::Good => return,
                SignatureVerdict::Unknown => "nobody of that key is enrolled",
                SignatureVerdict::Bad => "it is not theirs",
            };
            trust.signatures.push(format!(
                "entry {} ({kind}): the {whose} signature does not hold: {why}",
                entry.id.short()
            ));
        };
        bad("device's", sealed.check_device_signature(devices.get(&entry.header.device)));
        let keys = entry.header.author.and_then(|author| people.get(&author)).map_or(&[][..], Vec::as_slice);
        // Someone with several devices has a certificate for each.
        let verdicts: Vec<SignatureVerdict> =
            keys.iter().filter_map(|key| sealed.check_person_signature(Some(key))).collect();
        if verdicts.contains(&SignatureVerdict::Good) {
            continue;
        }
        match (&sealed.person_signature, verdicts.first()) {
            (Some(_), Some(verdict)) => bad("person's", *verdict),
            (Some(_), None) => bad("person's", SignatureVerdict::Unknown),
            (None, _) if demands_person_signature(kind) => {
                trust.signatures.push(format!(
                    "entry {} ({kind}) lacks the signature of the person who decided",
                    entry.id.short()
                ));
            }
            (None, _) => {}
        }
    }
    revocations(entries, &mut trust);
    trust
}

type Keys = (BTreeMap<PersonId, Vec<PublicKey>>, BTreeMap<DeviceId, PublicKey>);

/// The keys of people whose certificates hold, and of devices.
fn keys(entries: &[Entry], trust: &mut Trust) -> Keys {
    let facts = || {
        entries.iter().filter_map(|entry| match &entry.recorded {
            Recorded::Known(fact) => Some((entry, &fact.payload)),
            _ => None,
        })
    };
    let mut devices = BTreeMap::new();
    for (_, payload) in facts() {
        let device = match payload {
            Payload::RegisterOpened(opened) => {
                let root = certificate(&opened.authority);
                if trust.authority.is_some() {
                    trust.people.push("the register is opened twice".to_owned());
                } else if root.as_ref().is_some_and(|root| root.check_root() == CertificateVerdict::Good) {
                    trust.authority = root;
                } else {
                    trust.people.push("the register's authority has no sound certificate".to_owned());
                }
                &opened.device
            }
            Payload::DeviceEnrolled(device) => device,
            _ => continue,
        };
        if let Ok(key) = device.public_key.parse::<PublicKey>() {
            devices.entry(device.device).or_insert(key);
        } else {
            trust.signatures.push(format!("the key of device {} is no key", device.name));
        }
    }
    let mut people: BTreeMap<PersonId, Vec<PublicKey>> = BTreeMap::new();
    for (entry, payload) in facts() {
        let Payload::PersonEnrolled(person) = payload else {
            continue;
        };
        let (leaf, root) = (certificate(&person.certificate), trust.authority.as_ref());
        let verdict = match (&leaf, root) {
            (Some(leaf), Some(root)) => leaf.check_against(root, entry.header.time),
            _ => CertificateVerdict::Bad("it cannot be read, or there is no authority"),
        };
        match (verdict, leaf) {
            (CertificateVerdict::Good, Some(leaf)) => {
                let named = leaf.common_name();
                if named.as_deref() == Some(person.name.as_str()) {
                    people.entry(person.person).or_default().push(leaf.public_key());
                } else {
                    trust.people.push(format!("the certificate of {} names somebody else", person.name));
                }
            }
            (CertificateVerdict::Bad(why), _) => {
                trust.people.push(format!("the certificate of {} does not hold: {why}", person.name));
            }
            (_, _) => trust
                .people
                .push(format!("the certificate of {} is not from the register's authority", person.name)),
        }
    }
    (people, devices)
}

/// What a revoked person wrote and whoever revoked them had not seen.
fn revocations(entries: &[Entry], trust: &mut Trust) {
    let all = links(entries);
    for (at, entry) in entries.iter().enumerate() {
        let Recorded::Known(fact) = &entry.recorded else {
            continue;
        };
        let Payload::PersonRevoked(revoked) = &fact.payload else {
            continue;
        };
        for (link, other) in all.iter().zip(entries) {
            if other.header.author == Some(revoked.person) && other.id != entry.id && !knew_of(&all[at], link)
            {
                trust.revoked.push(format!(
                    "entry {} ({}) is by somebody who was revoked, and was not there when they were",
                    other.id.short(),
                    other.header.kind
                ));
            }
        }
    }
}
