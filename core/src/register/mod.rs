//! A register in use: the store, this device, what is known of the site and its plots, and the one way in which
//! a person's command becomes entries on disk.
//!
//! - [`found`]: a new register with its authority, this device, limits and plan of work; enrolling people
//! - [`audit`] and [`vouch`]: the whole check, and who vouches for what
//! - [`intake`]: requests with file names to commands with everything taken in
//! - this file: opening, unlocking with a PIN, performing a command
//!
//! Clock and random numbers are passed in. Nothing is shown as done before it is on disk: every function returns
//! only after the store has. Only the mark beside the register waits for a quiet moment: [`Register::settle`].
//!
//! Longer than most files because everything that a register in use keeps in step (store, device, folded plots) is
//! private to it.

pub mod audit;
mod cut_plans;
mod found;
mod intake;
mod recall;
#[cfg(test)]
mod tests;
pub mod vouch;

pub use cut_plans::CutTogether;

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use rand_core::CryptoRngCore;

pub use found::{Enrolment, Founding};
pub use intake::{Files, IntakeFault};
pub use recall::{Material, Recalled};

use crate::entry::{Fact, LockedOut, Recorded, SignOffIssued};
use crate::identity::{
    DeviceFile, DeviceFileFault, DeviceInRegister, KeyFault, PersonKey, Pin, PinGate, PublicKey, SealFault,
    restored_copy,
};
use crate::ids::{DeviceId, EntryId, PersonId, PlotId, RegisterId, Sha256Digest};
use crate::inspection::{
    Command, Entry, PlotRecord, PlotStanding, PlotSummary, Refusal, SiteRecord, decide, standing,
};
use crate::record::{self, Head, Heading, Mark, RecordFault, SealedEntry, Subject, demands_person_signature};
use crate::store::{AppendError, Heads, Projection, Reader, Store, StoreError};
use crate::time::{Clock, Timestamp};

/// What a register in use needs from outside of core.
pub struct Surroundings {
    /// The device's clock.
    pub clock: Arc<dyn Clock>,
    /// Random numbers fit for keys.
    pub rng: Box<dyn CryptoRngCore + Send>,
    /// The file beside the program's settings that holds this device's keys and marks.
    pub device_file: PathBuf,
    /// What people call this device.
    pub device_name: String,
}

/// Why something asked of a register did not happen. Nothing was recorded then.
#[derive(Debug, thiserror::Error)]
pub enum RegisterError {
    /// The rules do not allow it.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// The disk or the database did not do what was asked.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The device file did not do what was asked.
    #[error(transparent)]
    DeviceFile(#[from] DeviceFileFault),
    /// An entry is not what it claims to be.
    #[error("the register holds an entry that is damaged: {0}")]
    Record(#[from] RecordFault),
    /// A key could not be read.
    #[error(transparent)]
    Key(#[from] KeyFault),
    /// A PIN, a passphrase or a sealed key is not right.
    #[error(transparent)]
    Seal(#[from] SealFault),
    /// A certificate could not be made.
    #[error(transparent)]
    Certificate(#[from] crate::identity::CertificateFault),
    /// The file is a database of ours but does not begin as a register does.
    #[error("this register has no beginning: it is damaged or was never finished")]
    NoBeginning,
    /// Nobody of that name is enrolled.
    #[error("nobody named {name} is enrolled; enrolled are {known}")]
    NoPerson {
        /// The name.
        name: String,
        /// Who there is.
        known: String,
    },
    /// The person has no key on this device.
    #[error("{0} has no key on this device: enrol here to act from this device")]
    NoKeyHere(String),
    /// Too many wrong PINs: wait.
    #[error("wrong PINs: wait {seconds} s before the next try")]
    Wait {
        /// Seconds left, rounded up.
        seconds: i64,
    },
    /// Too many wrong PINs: locked.
    #[error("{0} is locked out on this device after too many wrong PINs: a new certificate is needed")]
    LockedOut(String),
    /// The command needs the person's own signature.
    #[error("this needs the PIN of {0}")]
    PinNeeded(String),
    /// A newer program wrote this register.
    #[error("this register was written by a newer program: it is open for reading only")]
    ReadOnly,
    /// A file named in a request cannot be used.
    #[error(transparent)]
    Intake(#[from] IntakeFault),
}

/// A person at the tablet: who, and their key where a PIN was given.
#[derive(Clone)]
pub struct Session {
    /// Who acts.
    pub person: PersonId,
    /// The key; `None` before the PIN: readings can be booked, nothing can be released.
    key: Option<PersonKey>,
}

impl Session {
    /// Whether the PIN was given.
    pub fn is_unlocked(&self) -> bool {
        self.key.is_some()
    }

    /// The person's key, where the PIN was given.
    pub fn key(&self) -> Option<&PersonKey> {
        self.key.as_ref()
    }
}

/// A plot with what is known of it and where it stands.
#[derive(Debug)]
pub struct PlotView {
    /// The facts.
    pub record: PlotRecord,
    /// What follows from them.
    pub standing: PlotStanding,
}

/// How many plots are kept folded: the ones looked at last.
const PLOTS_KEPT: usize = 16;

/// A register in use.
pub struct Register {
    files: RegisterFiles,
    surroundings: Surroundings,
    device: DeviceInRegister,
    register: RegisterId,
    site_entries: Vec<Entry>,
    site: Arc<SiteRecord>,
    plots: BTreeMap<PlotId, (Vec<Entry>, Arc<PlotView>)>,
    recent: VecDeque<PlotId>,
    /// The heads up to which everything kept here is folded.
    known: BTreeSet<Head>,
    restored: bool,
    /// Entries were appended since the mark was last kept outside of the register.
    mark_owed: bool,
}

impl Drop for Register {
    fn drop(&mut self) {
        // What cannot be written now leaves an older mark: it says less, nothing wrong.
        let _ = self.settle();
    }
}

/// The register's files: to record in, or only to look at where a newer program wrote them.
enum RegisterFiles {
    Recording(Store),
    Looking(Reader),
}

impl RegisterFiles {
    fn reader(&self) -> &Reader {
        match self {
            Self::Recording(store) => store,
            Self::Looking(reader) => reader,
        }
    }

    fn store(&mut self) -> Result<&mut Store, RegisterError> {
        match self {
            Self::Recording(store) => Ok(store),
            Self::Looking(_) => Err(RegisterError::ReadOnly),
        }
    }
}

/// The name of the projection that holds plot summaries.
const SUMMARY: &str = "plot-summary";

/// Why an append did not happen: refused, or somebody else wrote in between.
enum Held {
    Moved,
    Failed(RegisterError),
}

impl From<RegisterError> for Held {
    fn from(error: RegisterError) -> Self {
        Self::Failed(error)
    }
}

impl From<RecordFault> for Held {
    fn from(fault: RecordFault) -> Self {
        Self::Failed(fault.into())
    }
}

impl Register {
    /// Opens a register that exists.
    ///
    /// # Errors
    /// No register, damaged, of a newer program in a way that can't be read, or the device file is unusable.
    pub fn open(path: &Path, surroundings: Surroundings) -> Result<Self, RegisterError> {
        let files = match Store::open(path) {
            Ok(store) => RegisterFiles::Recording(store),
            Err(StoreError::Newer { .. }) => RegisterFiles::Looking(Reader::open(path)?),
            Err(error) => return Err(error.into()),
        };
        let register = files.reader().meta().register;
        let heads = files.reader().heads()?;
        let mut surroundings = surroundings;
        let mut restored = false;
        let known = DeviceFile::read(&surroundings.device_file)?
            .and_then(|file| file.registers.get(&register).cloned());
        let device = match known {
            Some(own) if !restored_copy(heads.device(own.device), own.mark) => own,
            earlier => {
                // A register behind the mark is a restored copy: writing on would fork this device's chain.
                restored = earlier.is_some();
                let mut fresh = found::fresh_device(surroundings.rng.as_mut());
                if let Some(earlier) = earlier {
                    fresh.sealed_keys = earlier.sealed_keys;
                    fresh.secret = earlier.secret;
                    fresh.pin_counts = earlier.pin_counts;
                    fresh.drafts = earlier.drafts;
                }
                let kept = fresh.clone();
                DeviceFile::update(&surroundings.device_file, |file| {
                    file.registers.insert(register, kept);
                    Ok::<_, DeviceFileFault>(())
                })?;
                fresh
            }
        };
        let mut opened = Self {
            files,
            surroundings,
            device,
            register,
            site_entries: Vec::new(),
            site: Arc::default(),
            plots: BTreeMap::new(),
            recent: VecDeque::new(),
            known: BTreeSet::new(),
            restored,
            mark_owed: false,
        };
        opened.refresh()?;
        if opened.site.opened.is_none() {
            return Err(RegisterError::NoBeginning);
        }
        Ok(opened)
    }

    /// The register's identity.
    pub fn id(&self) -> RegisterId {
        self.register
    }

    /// The register's files, for queries.
    pub fn reader(&self) -> &Reader {
        self.files.reader()
    }

    /// The store, for photos and their renditions. Entries go through [`Register::perform`] alone.
    ///
    /// # Errors
    /// The register is open for reading only.
    pub fn store(&mut self) -> Result<&mut Store, RegisterError> {
        self.files.store()
    }

    /// Whether a newer program wrote this register: it can only be looked at.
    pub fn is_read_only(&self) -> bool {
        matches!(self.files, RegisterFiles::Looking(_))
    }

    /// What is known of the site.
    pub fn site(&self) -> &Arc<SiteRecord> {
        &self.site
    }

    /// The time now, as this device believes it.
    pub fn now(&self) -> Timestamp {
        self.surroundings.clock.now()
    }

    /// Whether this register is a restored copy, behind what this device once wrote: it writes under a new
    /// identity now, and people are told.
    pub fn is_restored_copy(&self) -> bool {
        self.restored
    }

    /// This device's writing identity.
    pub fn device(&self) -> DeviceId {
        self.device.device
    }

    /// Takes in what others wrote since the last look (another window, the command line).
    ///
    /// # Errors
    /// The disk, or a damaged entry.
    pub fn refresh(&mut self) -> Result<(), RegisterError> {
        let heads = self.reader().heads()?.all();
        if heads == self.known {
            return Ok(());
        }
        self.site_entries = in_causal_order(&self.read_entries(&Subject::Site)?);
        self.site = Arc::new(SiteRecord::fold(&self.site_entries));
        self.plots.clear();
        self.recent.clear();
        self.known = heads;
        Ok(())
    }

    fn read_entries(&self, subject: &Subject) -> Result<Vec<Entry>, RegisterError> {
        self.reader().entries_of(subject)?.iter().map(|stored| open_entry(&stored.entry)).collect()
    }

    /// A plot as it stands; `None` where no floor design was issued for it.
    ///
    /// # Errors
    /// The disk, or a damaged entry.
    pub fn plot(&mut self, plot: &PlotId) -> Result<Option<Arc<PlotView>>, RegisterError> {
        self.refresh()?;
        if let Some((_, view)) = self.plots.get(plot) {
            return Ok(Some(Arc::clone(view)));
        }
        if !self.site.plots.contains_key(plot) {
            return Ok(None);
        }
        let mut entries = self.site_entries.clone();
        entries.extend(self.read_entries(&Subject::Plot(plot.clone()))?);
        let ordered = in_causal_order(&entries);
        let Some(record) = PlotRecord::fold(&self.site, plot, &ordered) else {
            return Ok(None);
        };
        let view = Arc::new(PlotView { standing: standing(&record), record });
        self.keep(plot, ordered, Arc::clone(&view));
        Ok(Some(view))
    }

    fn keep(&mut self, plot: &PlotId, entries: Vec<Entry>, view: Arc<PlotView>) {
        self.recent.retain(|one| one != plot);
        self.recent.push_back(plot.clone());
        self.plots.insert(plot.clone(), (entries, view));
        while self.recent.len() > PLOTS_KEPT {
            if let Some(oldest) = self.recent.pop_front() {
                self.plots.remove(&oldest);
            }
        }
    }

    /// The register of all plots. Plots whose entries have not moved since the last time are not folded again.
    ///
    /// # Errors
    /// The disk, or a damaged entry.
    pub fn summaries(&mut self) -> Result<Vec<PlotSummary>, RegisterError> {
        self.refresh()?;
        let plots: Vec<PlotId> = self.site.plots.keys().cloned().collect();
        let heads = self.reader().heads()?;
        let kept: BTreeMap<Subject, Projection> =
            self.reader().projections(SUMMARY)?.into_iter().map(|one| (one.subject.clone(), one)).collect();
        let mut summaries = Vec::with_capacity(plots.len());
        let mut fresh = Vec::new();
        for plot in plots {
            let subject = Subject::Plot(plot.clone());
            let covered = covered(&self.site, &heads, &subject);
            let known = kept
                .get(&subject)
                .filter(|one| one.covered == covered)
                .and_then(|one| serde_json::from_str(&one.body).ok());
            if let Some(summary) = known {
                summaries.push(summary);
                continue;
            }
            let Some(summary) = self.sum_up(&plot)? else { continue };
            let body = summary_text(&summary);
            fresh.push(Projection { name: SUMMARY.to_owned(), subject, covered, body });
            summaries.push(summary);
        }
        if let (false, RegisterFiles::Recording(store)) = (fresh.is_empty(), &mut self.files) {
            store.put_projections(&fresh)?;
        }
        summaries.sort_by_cached_key(|one| natural(one.plot.as_str()));
        Ok(summaries)
    }

    /// The summary of one plot, folded anew.
    ///
    /// # Errors
    /// The disk, or a damaged entry.
    pub fn sum_up(&mut self, plot: &PlotId) -> Result<Option<PlotSummary>, RegisterError> {
        Ok(self.plot(plot)?.map(|view| PlotSummary::of(&view.record, &view.standing)))
    }

    /// Drops every projection and makes it again: the same rows must come out.
    ///
    /// # Errors
    /// The disk, or a damaged entry.
    pub fn rebuild(&mut self) -> Result<Vec<PlotSummary>, RegisterError> {
        self.store()?.drop_projections()?;
        self.plots.clear();
        self.recent.clear();
        self.summaries()
    }

    /// The person of that name; the name as enrolled, or its only match without regard to case.
    ///
    /// # Errors
    /// Nobody, or more than one, is called that.
    pub fn person(&self, name: &str) -> Result<PersonId, RegisterError> {
        let active = || self.site.people.iter().filter(|(_, person)| person.revoked.is_none());
        let exact: Vec<_> = active().filter(|(_, person)| person.enrolled.name == name).collect();
        let alike: Vec<_> = active()
            .filter(|(_, person)| person.enrolled.name.to_lowercase() == name.to_lowercase())
            .collect();
        match (exact.as_slice(), alike.as_slice()) {
            ([.., (id, _)], _) | ([], [(id, _)]) => Ok(**id),
            _ => Err(RegisterError::NoPerson {
                name: name.to_owned(),
                known: active()
                    .map(|(_, person)| person.enrolled.name.clone())
                    .collect::<Vec<_>>()
                    .join(", "),
            }),
        }
    }

    /// A session without a PIN: what needs no signature can be noted.
    pub fn session(&self, person: PersonId) -> Session {
        Session { person, key: None }
    }

    /// Opens a person's key with a PIN. Takes about 100 ms, and counts wrong ones.
    ///
    /// # Errors
    /// A wrong PIN, a wait that is not over, a lock-out, no key on this device.
    pub fn unlock(&mut self, person: PersonId, pin: &Pin) -> Result<Session, RegisterError> {
        let name = self.site.name_of(Some(person));
        let now = self.now();
        let file = self.surroundings.device_file.clone();
        let register = self.register;
        // The count is read from disk: the command line and the window share it.
        let own = DeviceFile::read(&file)?
            .and_then(|file| file.registers.get(&register).cloned())
            .unwrap_or_else(|| self.device.clone());
        let mut count = own.pin_counts.get(&person).copied().unwrap_or_default();
        match count.gate(now) {
            PinGate::Open => {}
            PinGate::Wait { ms } => return Err(RegisterError::Wait { seconds: (ms + 999) / 1_000 }),
            PinGate::LockedOut => return Err(RegisterError::LockedOut(name)),
        }
        let sealed = own.sealed_keys.get(&person).ok_or_else(|| RegisterError::NoKeyHere(name.clone()))?;
        let opened = sealed.open_with_pin(pin, &own.secret);
        let locked_out = match &opened {
            Ok(_) => {
                count.count_right();
                false
            }
            Err(_) => count.count_wrong(now),
        };
        DeviceFile::update(&file, |file| {
            if let Some(own) = file.registers.get_mut(&register) {
                own.pin_counts.insert(person, count);
            }
            Ok::<_, DeviceFileFault>(())
        })?;
        self.device.pin_counts.insert(person, count);
        if locked_out {
            let fact: Fact = LockedOut { person, wrong_pins: count.wrong_count() }.into();
            self.append(None, |_| Ok(vec![(Subject::Site, fact.clone())]))?;
        }
        let key = PersonKey::from(opened?);
        let enrolled = self.site.people.get(&person);
        let certified = enrolled
            .and_then(|person| hex::decode(&person.enrolled.certificate).ok())
            .and_then(|der| crate::identity::Certificate::from_der(&der).ok());
        if certified.is_none_or(|certificate| certificate.public_key() != key.public()) {
            return Err(RegisterError::NoKeyHere(name));
        }
        Ok(Session { person, key: Some(key) })
    }

    /// Performs a command: decided and recorded in one turn with whatever else writes to this register.
    /// Returns the ids of the new entries, which are on disk then.
    ///
    /// # Errors
    /// A refusal of the rules, or the disk; nothing is recorded then.
    pub fn perform(&mut self, command: &Command, by: &Session) -> Result<Vec<EntryId>, RegisterError> {
        let plot = match command {
            Command::OnPlot { plot, .. } => Some(plot.clone()),
            _ => None,
        };
        self.append(Some(by), |register| match (command, &plot) {
            (Command::OnPlot { act, .. }, Some(plot)) => {
                let view = register.plot_to_decide(plot)?;
                Ok(decide::on_plot(&register.site, &view.record, &view.standing, act, by.person)?)
            }
            _ => Ok(decide::about_site(&register.site, command, by.person)?),
        })
    }

    fn plot_to_decide(&mut self, plot: &PlotId) -> Result<Arc<PlotView>, RegisterError> {
        if self.site.plan.is_none() {
            return Err(Refusal::NotSetUp("plan of work").into());
        }
        Ok(self.plot(plot)?.ok_or_else(|| Refusal::NoPlot(plot.clone()))?)
    }

    /// Begins a sign-off: asks whether the plot may be signed off, and releases the hold point that stands for the
    /// whole floor. What is signed is made from the record as it is afterwards.
    ///
    /// # Errors
    /// A refusal of the rules, no PIN, or the disk; nothing is recorded then.
    pub fn begin_sign_off(&mut self, plot: &PlotId, by: &Session) -> Result<Arc<PlotView>, RegisterError> {
        if !by.is_unlocked() {
            return Err(RegisterError::PinNeeded(self.site.name_of(Some(by.person))));
        }
        self.append(Some(by), |register| {
            let view = register.plot_to_decide(plot)?;
            decide::sign_off(&register.site, &view.standing, &view.record, by.person)?;
            Ok(decide::release_for_sign_off(&view.standing).into_iter().collect())
        })?;
        self.plot_to_decide(plot)
    }

    /// Records that the signed document of a plot was issued, after it was made and kept.
    ///
    /// # Errors
    /// A refusal of the rules, or the disk; nothing is recorded then.
    pub fn record_sign_off(
        &mut self,
        plot: &PlotId,
        by: &Session,
        issued: &SignOffIssued,
    ) -> Result<Vec<EntryId>, RegisterError> {
        self.append(Some(by), |register| {
            let view = register.plot_to_decide(plot)?;
            decide::sign_off(&register.site, &view.standing, &view.record, by.person)?;
            Ok(vec![decide::signed_off(plot, issued.clone())])
        })
    }

    /// Seals and appends facts as this device's next entries. `facts` decides under the heads that the entries
    /// will follow; where others wrote since the last look, everything is looked at again first.
    fn append(
        &mut self,
        by: Option<&Session>,
        facts: impl Fn(&mut Self) -> Result<Vec<decide::Decision>, RegisterError>,
    ) -> Result<Vec<EntryId>, RegisterError> {
        if self.is_read_only() {
            return Err(RegisterError::ReadOnly);
        }
        let sealed = loop {
            self.refresh()?;
            let decided = facts(self)?;
            match self.try_append(by, &decided) {
                Ok(sealed) => break sealed,
                // Somebody else wrote between the look and the turn: look and decide again. Each turn that fails
                // means that somebody else's succeeded.
                Err(Held::Moved) => {}
                Err(Held::Failed(error)) => return Err(error),
            }
        };
        self.mark_owed = true;
        self.take_own(&sealed)?;
        Ok(sealed.iter().map(|entry| entry.id).collect())
    }

    fn try_append(
        &mut self,
        by: Option<&Session>,
        decided: &[decide::Decision],
    ) -> Result<Vec<SealedEntry>, Held> {
        let (register, device, known, site) = (self.register, &self.device, &self.known, &self.site);
        let time = self.surroundings.clock.now();
        let plan = site.plan.as_ref().map(|plan| plan.0);
        let mut sealed = Vec::with_capacity(decided.len());
        let appended = self.files.store()?.append(|heads: &Heads| {
            if heads.all() != *known {
                return Err(Held::Moved);
            }
            let mut chain = Chain::new(heads, device.device);
            for (subject, fact) in decided {
                let kind = fact.payload.kind();
                let key = by.and_then(Session::key);
                if demands_person_signature(kind) && key.is_none() {
                    let name = site.name_of(by.map(|by| by.person));
                    return Err(RegisterError::PinNeeded(name).into());
                }
                let heading = Heading {
                    register,
                    device: device.device,
                    seq: chain.seq + 1,
                    prev: chain.prev,
                    subject: subject.clone(),
                    subject_prev: chain.subject(subject),
                    seen: chain.seen.clone(),
                    author: by.map(|by| by.person),
                    time,
                    kind: kind.to_owned(),
                    version: crate::entry::VERSION,
                    plan,
                    floor_design: subject.plot().and_then(|plot| site.plots.get(plot)).copied(),
                };
                let signed = key.filter(|_| demands_person_signature(kind));
                let entry = record::seal(heading, &fact.to_value(), &device.device_key, signed)?;
                chain.push(subject, entry.id);
                sealed.push(entry);
            }
            Ok(sealed.clone())
        });
        match appended {
            Ok(_) => Ok(sealed),
            Err(AppendError::Refused(held)) => Err(held),
            Err(AppendError::Store(error)) => Err(RegisterError::from(error).into()),
        }
    }

    /// Keeps how far this device's chain has come, outside of the register. An entry is on disk without it, and
    /// writing it takes as long again: call it when nobody waits. Dropping the register does it too.
    ///
    /// # Errors
    /// The device file cannot be written; the mark stays owed.
    pub fn settle(&mut self) -> Result<(), RegisterError> {
        if !self.mark_owed {
            return Ok(());
        }
        let own = self.device.device;
        let mark =
            self.known.iter().find(|head| head.device == own).map(|head| Mark { id: head.id, seq: head.seq });
        self.device.mark = mark;
        let register = self.register;
        DeviceFile::update(&self.surroundings.device_file, |file| {
            if let Some(own) = file.registers.get_mut(&register) {
                // Another program at this device may have come further meanwhile.
                own.mark = own.mark.into_iter().chain(mark).max_by_key(|mark| mark.seq);
            }
            Ok::<_, DeviceFileFault>(())
        })?;
        self.mark_owed = false;
        Ok(())
    }

    /// Takes in what this device itself just wrote: it follows everything that is known.
    fn take_own(&mut self, sealed: &[SealedEntry]) -> Result<(), RegisterError> {
        self.known = self.reader().heads()?.all();
        for entry in sealed {
            let entry = open_entry(entry)?;
            match entry.header.subject.plot().cloned() {
                None => {
                    let mut site = SiteRecord::clone(&self.site);
                    site.take(self.site_entries.len(), &entry);
                    self.site_entries.push(entry);
                    self.site = Arc::new(site);
                    self.plots.clear();
                    self.recent.clear();
                }
                Some(plot) => {
                    let Some((mut entries, view)) = self.plots.remove(&plot) else { continue };
                    let mut record = match Arc::try_unwrap(view) {
                        Ok(view) => view.record,
                        Err(shared) => shared.record.clone(),
                    };
                    record.take(entries.len(), &entry);
                    entries.push(entry);
                    let view = Arc::new(PlotView { standing: standing(&record), record });
                    self.keep(&plot, entries, view);
                }
            }
        }
        Ok(())
    }

    /// Every entry of the site and of one plot, as stored, in causal order: what a sign-off carries.
    ///
    /// # Errors
    /// The disk.
    pub fn evidence_of(&self, plot: &PlotId) -> Result<Vec<SealedEntry>, RegisterError> {
        let mut sealed = Vec::new();
        for subject in [Subject::Site, Subject::Plot(plot.clone())] {
            sealed.extend(self.reader().entries_of(&subject)?.into_iter().map(|stored| stored.entry));
        }
        let opened: Vec<Entry> = sealed.iter().map(open_entry).collect::<Result<_, _>>()?;
        let links: Vec<record::Link<'_>> =
            opened.iter().map(|entry| record::Link { id: entry.id, header: &entry.header }).collect();
        Ok(record::causal_order(&links).into_iter().map(|index| sealed[index].clone()).collect())
    }

    /// What was typed and not booked yet, by a name of the screen's choosing.
    pub fn draft(&self, name: &str) -> Option<&str> {
        self.device.drafts.get(name).map(String::as_str)
    }

    /// Everything that was typed and not booked yet, by name. Names of the program's own keeping are left out.
    pub fn drafts(&self) -> impl Iterator<Item = (&str, &str)> {
        let typed = self.device.drafts.iter().filter(|(name, _)| !name.starts_with("authority/"));
        typed.map(|(name, text)| (name.as_str(), text.as_str()))
    }

    /// Keeps what was typed; an empty text forgets it.
    ///
    /// # Errors
    /// The disk.
    pub fn keep_draft(&mut self, name: &str, text: &str) -> Result<(), RegisterError> {
        let change = |drafts: &mut BTreeMap<String, String>| {
            if text.is_empty() {
                drafts.remove(name);
            } else {
                drafts.insert(name.to_owned(), text.to_owned());
            }
        };
        change(&mut self.device.drafts);
        let register = self.register;
        DeviceFile::update(&self.surroundings.device_file, |file| {
            if let Some(own) = file.registers.get_mut(&register) {
                change(&mut own.drafts);
            }
            Ok::<_, DeviceFileFault>(())
        })?;
        Ok(())
    }

    /// Everybody's certificate that is needed to check a person's signature, and every device's key.
    ///
    /// # Errors
    /// A key in the record cannot be read.
    pub fn device_keys(&self) -> Result<BTreeMap<DeviceId, PublicKey>, RegisterError> {
        self.site.devices.iter().map(|(device, (_, key))| Ok((*device, key.parse::<PublicKey>()?))).collect()
    }

    /// The heads of all devices and the one digest over them.
    ///
    /// # Errors
    /// The disk.
    pub fn root(&self) -> Result<(BTreeSet<Head>, Sha256Digest), RegisterError> {
        let heads = self.reader().heads()?;
        Ok((heads.all(), heads.root()))
    }
}

/// This device's chain while several entries are written in one turn.
struct Chain<'h> {
    heads: &'h Heads,
    device: DeviceId,
    seq: u64,
    prev: Option<EntryId>,
    seen: BTreeMap<DeviceId, Mark>,
    written: BTreeMap<Subject, EntryId>,
}

impl<'h> Chain<'h> {
    fn new(heads: &'h Heads, device: DeviceId) -> Self {
        let own = heads.device(device);
        Self {
            heads,
            device,
            seq: own.map_or(0, |mark| mark.seq),
            prev: own.map(|mark| mark.id),
            seen: heads.seen_by(device),
            written: BTreeMap::new(),
        }
    }

    fn subject(&self, subject: &Subject) -> Option<EntryId> {
        self.written
            .get(subject)
            .copied()
            .or_else(|| self.heads.subject(self.device, subject).map(|mark| mark.id))
    }

    fn push(&mut self, subject: &Subject, id: EntryId) {
        self.seq += 1;
        self.prev = Some(id);
        self.written.insert(subject.clone(), id);
    }
}

/// Opens a stored entry and understands it as far as this program can.
///
/// # Errors
/// The entry is not what it claims to be.
pub fn open_entry(sealed: &SealedEntry) -> Result<Entry, RegisterError> {
    let (header, payload) = record::open(sealed)?;
    let recorded = Recorded::read(&header.kind, header.version, &payload);
    Ok(Entry { id: sealed.id, header, recorded })
}

/// The one order in which entries are folded.
pub fn in_causal_order(entries: &[Entry]) -> Vec<Entry> {
    let links: Vec<record::Link<'_>> =
        entries.iter().map(|entry| record::Link { id: entry.id, header: &entry.header }).collect();
    record::causal_order(&links).into_iter().map(|index| entries[index].clone()).collect()
}

/// What a plot's summary rests on: its own entries, and of the site's the plan, the limits and its design.
fn covered(site: &SiteRecord, heads: &Heads, subject: &Subject) -> Sha256Digest {
    let id = |id: Option<EntryId>| id.map_or_else(String::new, EntryId::to_hex);
    let text = format!(
        "{}\n{}\n{}\n{}\n{}",
        heads.digest_of(subject),
        id(site.plan.as_ref().map(|plan| plan.0)),
        id(site.limits.as_ref().map(|limits| limits.0)),
        id(subject.plot().and_then(|plot| site.plots.get(plot)).copied()),
        site.unknown.len()
    );
    Sha256Digest::of(text.as_bytes())
}

fn summary_text(summary: &PlotSummary) -> String {
    serde_json::to_string(summary).expect("BUG: a summary has text keys only")
}

/// Plots in the order that people count: 2 before 10, 7 before 7A.
fn natural(name: &str) -> (Vec<(String, u64)>, String) {
    let mut parts = Vec::new();
    let mut rest = name;
    while !rest.is_empty() {
        let text_end = rest.find(|c: char| c.is_ascii_digit()).unwrap_or(rest.len());
        let (text, after) = rest.split_at(text_end);
        let digits_end = after.find(|c: char| !c.is_ascii_digit()).unwrap_or(after.len());
        let (digits, after) = after.split_at(digits_end);
        parts.push((text.to_lowercase(), digits.parse().unwrap_or(0)));
        rest = after;
    }
    (parts, name.to_owned())
}
