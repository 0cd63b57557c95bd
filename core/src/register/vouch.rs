//! Who vouches for entries: device signatures, persons' signatures, certificates, and that what needs the
//! person's signature has one.
//!
//! A good signature on a head vouches for the whole chain behind it, since each entry names the digest of the one
//! before; persons' signatures are checked each. With `every`, all device signatures are checked as well.

use std::collections::{BTreeMap, BTreeSet};

use super::{RegisterError, open_entry};
use crate::identity::{Certificate, CertificateVerdict, PublicKey};
use crate::ids::{DeviceId, EntryId, PersonId};
use crate::inspection::{Entry, SiteRecord};
use crate::record::{self, Link, SealedEntry, SignatureVerdict, demands_person_signature};

/// An entry that nobody vouches for, or not whom it claims.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unvouched {
    /// The entry.
    pub entry: EntryId,
    /// What is wrong, as a sentence about the entry.
    pub sentence: String,
}

/// Checks who vouches for these entries: all of a register, or those of the site and one plot.
///
/// # Errors
/// An entry that does not open: that is no matter of vouching, and the record's own check names it.
pub fn unvouched(sealed: &[SealedEntry], every: bool) -> Result<Vec<Unvouched>, RegisterError> {
    let entries: Vec<Entry> = sealed.iter().map(open_entry).collect::<Result<_, _>>()?;
    let links: Vec<Link<'_>> = entries.iter().map(|one| Link { id: one.id, header: &one.header }).collect();
    let order = record::causal_order(&links);
    let site = SiteRecord::fold(order.iter().map(|index| &entries[*index]));
    let keys = Keys::of(&site);
    let heads: BTreeSet<EntryId> = record::heads(&links).into_iter().map(|head| head.id).collect();
    let mut found = Vec::new();
    for (sealed, entry) in sealed.iter().zip(&entries) {
        let mut say = |sentence: String| found.push(Unvouched { entry: entry.id, sentence });
        if every || heads.contains(&entry.id) {
            match sealed.check_device_signature(keys.devices.get(&entry.header.device)) {
                SignatureVerdict::Good => {}
                SignatureVerdict::Unknown => {
                    say(format!("device {} was never enrolled", entry.header.device.short()))
                }
                SignatureVerdict::Bad => say("the device's signature is not good".to_owned()),
            }
        }
        let person = entry.header.author.and_then(|author| keys.people.get(&author));
        let signed = sealed.check_person_signature(person.and_then(|one| one.as_ref().ok()));
        match (signed, person) {
            (None, _) if demands_person_signature(&entry.header.kind) => {
                say(format!("{} needs the person's signature and has none", entry.header.kind));
            }
            (None | Some(SignatureVerdict::Good), _) => {}
            (Some(SignatureVerdict::Unknown), Some(Err(why))) => {
                say(format!("the person's certificate: {why}"))
            }
            (Some(SignatureVerdict::Unknown), _) => say("its author was never enrolled".to_owned()),
            (Some(SignatureVerdict::Bad), _) => say("the person's signature is not good".to_owned()),
        }
        let revoked = entry.header.author.and_then(|author| site.people.get(&author)?.revoked.as_ref());
        if let Some(revoked) = revoked {
            let known = entries.iter().find(|one| one.id == revoked.id);
            let after = known.is_none_or(|revocation| {
                let (entry, revocation) = (
                    Link { id: entry.id, header: &entry.header },
                    Link { id: revocation.id, header: &revocation.header },
                );
                entry.id != revocation.id && !record::knew_of(&revocation, &entry)
            });
            if after {
                found.push(Unvouched {
                    entry: entry.id,
                    sentence: "its author was revoked before it".to_owned(),
                });
            }
        }
    }
    Ok(found)
}

/// Every key that the record itself enrols.
struct Keys {
    devices: BTreeMap<DeviceId, PublicKey>,
    people: BTreeMap<PersonId, Result<PublicKey, String>>,
}

impl Keys {
    fn of(site: &SiteRecord) -> Self {
        let root = site
            .opened
            .as_ref()
            .and_then(|opened| hex::decode(&opened.authority).ok())
            .and_then(|der| Certificate::from_der(&der).ok());
        let person = |certificate: &str, at: crate::time::Timestamp| -> Result<PublicKey, String> {
            let der = hex::decode(certificate).map_err(|_| "it is no hexadecimal text".to_owned())?;
            let own = Certificate::from_der(&der).map_err(|fault| fault.to_string())?;
            let root = root.as_ref().ok_or("the register names no authority")?;
            match own.check_against(root, at) {
                CertificateVerdict::Good => Ok(own.public_key()),
                CertificateVerdict::Unknown => Err("another authority issued it".to_owned()),
                CertificateVerdict::Bad(why) => Err(why.to_owned()),
            }
        };
        Self {
            devices: site
                .devices
                .iter()
                .filter_map(|(device, (_, key))| Some((*device, key.parse().ok()?)))
                .collect(),
            people: site
                .people
                .iter()
                .map(|(id, one)| (*id, person(&one.enrolled.certificate, one.noted.time)))
                .collect(),
        }
    }
}
