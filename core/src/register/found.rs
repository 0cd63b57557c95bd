//! Founding a register and enrolling people: the only places where keys and certificates are made.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use rand_core::CryptoRngCore;

use super::{Register, RegisterError, Session, Surroundings};
use crate::entry::{DeviceEnrolled, Fact, LimitsIssued, PersonEnrolled, PlanIssued, RegisterOpened};
use crate::floor::DefaultLimits;
use crate::identity::{
    Authority, Certificate, Cost, DeviceFile, DeviceFileFault, DeviceInRegister, DeviceKey, DeviceSecret,
    Passphrase, PersonKey, Pin, SealedKey, SigningIdentity,
};
use crate::ids::{DeviceId, PersonId, RegisterId};
use crate::inspection::Refusal;
use crate::plan_of_work::{PlanOfWork, Role};
use crate::record::{self, Heading, SealedEntry, Subject};
use crate::store::{RegisterMeta, Store};
use crate::time::Timestamp;

/// What a new register begins with.
pub struct Founding<'a> {
    /// The site's name.
    pub site: &'a str,
    /// Invented data: every screen and page says so.
    pub invented: bool,
    /// The passphrase that seals the authority's key.
    pub passphrase: &'a Passphrase,
    /// Work factors of sealed keys: [`Cost::STANDING`] but for tests and the demo.
    pub cost: Cost,
    /// The text of the default limits to issue.
    pub limits: &'a str,
    /// The text of the plan of work to issue.
    pub plan: &'a str,
}

/// A person to enrol on this device.
pub struct Enrolment<'a> {
    /// The person's name, unlike that of anybody who may act.
    pub name: &'a str,
    /// What the person may do.
    pub role: Role,
    /// The PIN that will open the person's key here.
    pub pin: &'a Pin,
    /// The passphrase of the register's authority.
    pub passphrase: &'a Passphrase,
    /// Work factors of the sealed key.
    pub cost: Cost,
}

/// Root and personal certificates run this long: decades after the work somebody may ask who vouched for it.
const VALID_YEARS_MS: i64 = 30 * 365 * 86_400_000;
/// How far back a certificate's validity begins: clocks of two devices differ.
const BEFORE_MS: i64 = 86_400_000;

/// The key of a draft under which the authority's sealed key lies in the register's device file.
const SEALED_AUTHORITY: &str = "authority/sealed-key";

pub(super) fn fresh_device(rng: &mut dyn CryptoRngCore) -> DeviceInRegister {
    let mut rng = rng;
    let mut id = [0; 16];
    rng.fill_bytes(&mut id);
    DeviceInRegister::new(DeviceId(id), DeviceKey::generate(&mut rng), DeviceSecret::generate(&mut rng))
}

impl Register {
    /// Makes a new register at `path`, where nothing may be yet.
    ///
    /// # Errors
    /// Something is there already, a file does not read, the disk; nothing is left behind then.
    pub fn found(
        path: &Path,
        founding: &Founding<'_>,
        surroundings: Surroundings,
    ) -> Result<Self, RegisterError> {
        DefaultLimits::read(founding.limits).map_err(Refusal::File)?;
        PlanOfWork::read(founding.plan).map_err(Refusal::File)?;
        let mut surroundings = surroundings;
        let now = surroundings.clock.now();
        let mut rng: &mut dyn CryptoRngCore = surroundings.rng.as_mut();
        let mut id = [0; 16];
        rng.fill_bytes(&mut id);
        let register = RegisterId(id);
        let (from, until) = validity(now);
        let authority =
            Authority::found(founding.site, from, until, SigningIdentity::generate(&mut rng), &mut rng)?;
        let sealed =
            SealedKey::with_passphrase(authority.key(), founding.passphrase, founding.cost, &mut rng)?;
        let mut device = fresh_device(surroundings.rng.as_mut());
        device.drafts.insert(SEALED_AUTHORITY.to_owned(), sealed.to_text());

        let facts: [Fact; 3] = [
            RegisterOpened {
                register,
                site: founding.site.to_owned(),
                invented: founding.invented,
                authority: hex::encode(authority.root().der()),
                device: DeviceEnrolled {
                    device: device.device,
                    name: surroundings.device_name.clone(),
                    public_key: device.device_key.public().to_string(),
                },
            }
            .into(),
            LimitsIssued { text: founding.limits.to_owned() }.into(),
            PlanIssued { text: founding.plan.to_owned() }.into(),
        ];
        let first = beginning(register, &device, now, &facts)?;
        // The device file first: a register whose device nobody holds the key of could not be written to.
        DeviceFile::update(&surroundings.device_file, |file| {
            file.registers.insert(register, device);
            Ok::<_, DeviceFileFault>(())
        })?;
        let meta = RegisterMeta { register, site: founding.site.to_owned() };
        if let Err(error) = Store::create(path, &meta, &first) {
            DeviceFile::update(&surroundings.device_file, |file| {
                file.registers.remove(&register);
                Ok::<_, DeviceFileFault>(())
            })?;
            return Err(error.into());
        }
        Self::open(path, surroundings)
    }

    /// The register's own authority certificate.
    ///
    /// # Errors
    /// The record holds a certificate that cannot be read.
    pub fn authority(&self) -> Result<Certificate, RegisterError> {
        let opened = self.site.opened.as_ref().ok_or(RegisterError::NoBeginning)?;
        let der = hex::decode(&opened.authority).map_err(|_| RegisterError::NoBeginning)?;
        Ok(Certificate::from_der(&der)?)
    }

    /// Whether this device holds the authority's sealed key, so that people can be enrolled on it.
    pub fn can_enrol(&self) -> bool {
        self.device.drafts.contains_key(SEALED_AUTHORITY)
    }

    /// Enrols a person on this device: a key sealed under the PIN, a certificate of the register's authority, an
    /// entry that the person's own key signs. Takes about 200 ms.
    ///
    /// # Errors
    /// A wrong passphrase, a name that is taken or unusable, the disk; nobody is enrolled then.
    pub fn enrol(&mut self, enrolment: &Enrolment<'_>) -> Result<PersonId, RegisterError> {
        let taken = self.site.people.values().any(|person| {
            person.revoked.is_none() && person.enrolled.name.eq_ignore_ascii_case(enrolment.name)
        });
        if taken {
            return Err(Refusal::Text(format!("{} is enrolled already", enrolment.name)).into());
        }
        if enrolment.name.trim() != enrolment.name || enrolment.name.is_empty() {
            return Err(Refusal::Text("a name has no blanks before or after it".to_owned()).into());
        }
        let Some(sealed) = self.device.drafts.get(SEALED_AUTHORITY) else {
            return Err(Refusal::Text(
                "this device does not hold the authority's key: enrol on the device that made the register"
                    .to_owned(),
            )
            .into());
        };
        let sealed = SealedKey::from_text(sealed)?;
        let key = sealed.open_with_passphrase(enrolment.passphrase)?;
        let authority = Authority::from_parts(key, self.authority()?)?;
        let now = self.now();
        let root = authority.root().not_after();
        let until = Timestamp { utc_ms: validity(now).1.utc_ms.min(root.utc_ms), ..now };
        let from =
            Timestamp { utc_ms: validity(now).0.utc_ms.max(authority.root().not_before().utc_ms), ..now };
        let mut rng: &mut dyn CryptoRngCore = self.surroundings.rng.as_mut();
        let own = PersonKey::generate(&mut rng);
        let certificate =
            authority.issue(enrolment.name, enrolment.role.title(), own.public(), from, until, &mut rng)?;
        let sealed = SealedKey::with_pin(&own, enrolment.pin, &self.device.secret, enrolment.cost, &mut rng)?;
        let mut id = [0; 16];
        rng.fill_bytes(&mut id);
        let person = PersonId(id);
        // The sealed key is on disk before the entry that says that it exists.
        let register = self.register;
        DeviceFile::update(&self.surroundings.device_file, |file| {
            if let Some(device) = file.registers.get_mut(&register) {
                device.sealed_keys.insert(person, sealed.clone());
            }
            Ok::<_, DeviceFileFault>(())
        })?;
        self.device.sealed_keys.insert(person, sealed);
        let mut facts: Vec<(Subject, Fact)> = Vec::new();
        facts.push((
            Subject::Site,
            PersonEnrolled {
                person,
                name: enrolment.name.to_owned(),
                role: enrolment.role,
                certificate: hex::encode(certificate.der()),
            }
            .into(),
        ));
        if !self.site.devices.contains_key(&self.device.device) {
            let device = DeviceEnrolled {
                device: self.device.device,
                name: self.surroundings.device_name.clone(),
                public_key: self.device.device_key.public().to_string(),
            };
            facts.push((Subject::Site, device.into()));
        }
        let by = Session { person, key: Some(own) };
        self.append(Some(&by), |_| Ok(facts.clone()))?;
        Ok(person)
    }

    /// Where the passphrase of the authority was read from when the register was made, if that file was named:
    /// enrolling looks there again. The passphrase itself is never kept.
    pub fn passphrase_file(&self) -> Option<PathBuf> {
        self.draft(PASSPHRASE_FILE).map(PathBuf::from)
    }

    /// Remembers where the passphrase of the authority can be read.
    ///
    /// # Errors
    /// The disk.
    pub fn remember_passphrase_file(&mut self, path: &Path) -> Result<(), RegisterError> {
        self.keep_draft(PASSPHRASE_FILE, &path.to_string_lossy())
    }
}

/// The key of a draft that names the passphrase's file.
const PASSPHRASE_FILE: &str = "authority/passphrase-file";

fn validity(now: Timestamp) -> (Timestamp, Timestamp) {
    let at = |utc_ms: i64| Timestamp { utc_ms: utc_ms.clamp(0, 253_370_764_800_000), offset_min: 0 };
    (at(now.utc_ms - BEFORE_MS), at(now.utc_ms + VALID_YEARS_MS))
}

/// The first entries of a register.
fn beginning(
    register: RegisterId,
    device: &DeviceInRegister,
    time: Timestamp,
    facts: &[Fact],
) -> Result<Vec<SealedEntry>, RegisterError> {
    let mut sealed = Vec::with_capacity(facts.len());
    let mut prev = None;
    for (seq, fact) in (1..).zip(facts) {
        let heading = Heading {
            register,
            device: device.device,
            seq,
            prev,
            subject: Subject::Site,
            subject_prev: prev,
            seen: BTreeMap::new(),
            author: None,
            time,
            kind: fact.payload.kind().to_owned(),
            version: crate::entry::VERSION,
            plan: None,
            floor_design: None,
        };
        let entry = record::seal(heading, &fact.to_value(), &device.device_key, None)?;
        prev = Some(entry.id);
        sealed.push(entry);
    }
    Ok(sealed)
}
