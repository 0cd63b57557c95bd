//! What the record's thread does with each request: it owns the register and who is at the tablet, and after each
//! change sends how things stand on disk.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::Sender;

use gaugerod_core::entry::{Because, PhotoAdded, UnderlayPlaced};
use gaugerod_core::floor::FloorDesign;
use gaugerod_core::identity::{Passphrase, Pin};
use gaugerod_core::ids::{EntryId, PersonId, PlotId};
use gaugerod_core::inspection::{Act, Command, PlotSummary, SiteRecord};
use gaugerod_core::photo::{PhotoFacts, Renditions};
use gaugerod_core::register::{Enrolment, Founding, Register, RegisterError, Session};
use gaugerod_core::time::Date;

use super::drawings::Job;
use super::photos::{Examined, Photos, read_bounded};
use super::{Bringing, Means, Now, Opened, Replier, Reply, Request, curing, cuts, levels, papers};
use crate::action::{Action, DocumentFor};
use crate::state::{AtTablet, OpenRegister, ReadDesign};
use crate::{demo, messages, shipped};

/// The most bytes of a text file that is read in.
const MOST_TEXT_BYTES: u64 = gaugerod_core::faults::MAX_BYTES as u64;

/// The record's side of the window.
pub struct Desk {
    pub(super) means: Means,
    pub(super) reply: Replier,
    pub(super) stop: Arc<AtomicBool>,
    photos: Photos,
    drawings: Sender<Job>,
    /// The search for a cut plan that is under way, or was last.
    pub(super) cutting: Arc<cuts::Ending>,
    pub(super) open: Option<Open>,
    pub(super) session: Option<Session>,
    /// Photos of the group under way that were refused, in words, and how many were kept.
    refused: Vec<String>,
    kept: u64,
}

/// An open register with what the window was told of it.
pub(super) struct Open {
    pub(super) path: PathBuf,
    pub(super) register: Register,
    site: Arc<SiteRecord>,
    plots: Arc<Vec<PlotSummary>>,
    looked_at: Option<PlotId>,
    on_disk: String,
}

/// Why something was not done: already a sentence, or an error of the register.
pub(super) enum NotDone {
    Said(String),
    Failed(RegisterError),
}

impl<E: Into<RegisterError>> From<E> for NotDone {
    fn from(error: E) -> Self {
        Self::Failed(error.into())
    }
}

pub(super) type Done<T = ()> = Result<T, NotDone>;

impl Desk {
    pub(super) fn new(
        means: Means,
        reply: Replier,
        stop: Arc<AtomicBool>,
        photos: Photos,
        drawings: Sender<Job>,
    ) -> Self {
        Self {
            means,
            reply,
            stop,
            photos,
            drawings,
            cutting: Arc::default(),
            open: None,
            session: None,
            refused: Vec::new(),
            kept: 0,
        }
    }

    /// Does what is asked and answers.
    pub fn handle(&mut self, request: Request) {
        let done = match request {
            Request::Do(action) => self.carry_out(action),
            Request::Look(plot) => self.look(plot),
            Request::Picture(kind, sha) => {
                if let Some(open) = &self.open {
                    // The thread ends with this one only.
                    let _ = self.photos.pictures.send((open.path.clone(), kind, sha));
                }
                Ok(())
            }
            Request::Underlay(key) => {
                if let Some(open) = &self.open {
                    // The thread ends with this one only.
                    let _ = self.drawings.send(Job::Stored { register: open.path.clone(), key });
                }
                Ok(())
            }
            Request::Examined(examined) => self.keep_photo(*examined),
            Request::End => Ok(()),
            #[cfg(test)]
            Request::Stumble => panic!("BUG: asked to stumble"),
        };
        if let Err(not_done) = done {
            self.reply.send(Reply::Busy(None));
            match not_done {
                NotDone::Said(sentence) => self.reply.say(sentence, true),
                NotDone::Failed(RegisterError::PinNeeded(name)) => self.reply.send(Reply::PinNeeded(name)),
                NotDone::Failed(error) => self.reply.say(messages::sentence(&error), true),
            }
        }
    }

    /// Nobody waits: what is owed outside of the register is kept now.
    pub fn settle(&mut self) {
        if let Some(open) = &mut self.open
            && let Err(error) = open.register.settle()
        {
            log::warn!("the device file was not written: {error}");
        }
    }

    /// After a panic: nothing kept in memory is trusted, the register is read again from disk.
    pub fn recover(&mut self) {
        self.reply.send(Reply::Busy(None));
        self.reply.say(messages::BUG, true);
        let Some(open) = self.open.take() else { return };
        let (path, looked_at) = (open.path.clone(), open.looked_at.clone());
        drop(open);
        match self.read(&path, looked_at) {
            Ok(open) => {
                self.open = Some(open);
                if let Err(NotDone::Failed(error)) = self.tell() {
                    self.reply.say(messages::sentence(&error), true);
                }
            }
            Err(error) => self.reply.say(messages::sentence(&error), true),
        }
    }

    fn carry_out(&mut self, action: Action) -> Done {
        match action {
            Action::OpenDemo => self.open_demo(),
            Action::OpenRegister(path) => self.open_register(&path, false),
            Action::NewRegister { path, site, passphrase } => self.found(&path, &site, &passphrase),
            Action::CloseRegister => {
                self.open = None;
                self.session = None;
                Ok(())
            }
            Action::ReadDesign(path) => {
                self.read_design(path);
                Ok(())
            }
            Action::IssueDesign { path, plots } => self.issue_design(&path, plots),
            Action::Enrol { name, role, pin, passphrase } => self.enrol(&name, role, &pin, &passphrase),
            Action::TakeOver(person) => {
                let session = self.register()?.session(person);
                self.session = Some(session);
                self.tell()
            }
            Action::Unlock { person, pin } => {
                let pin = Pin::new(&pin)?;
                let session = self.register()?.unlock(person, &pin)?;
                self.session = Some(session);
                self.tell()
            }
            Action::Lock => {
                let person = self.session.as_ref().map(|session| session.person);
                if let Some(person) = person {
                    self.session = Some(self.register()?.session(person));
                }
                self.tell()
            }
            Action::Book { plot, hold_point, criterion, point, value, instead_of } => {
                let act = Act::BookReading { hold_point, criterion, point, value, instrument: None };
                self.perform(plot, superseding(act, instead_of))
            }
            Action::BookGauge { plot, hold_point, criterion, gauge, points } => {
                self.book_gauge(&plot, &hold_point, &criterion, &gauge, points)
            }
            Action::Answer { plot, hold_point, criterion, answer, reason, instead_of } => {
                let act = Act::Answer { hold_point, criterion, answer, reason, remark: None };
                self.perform(plot, superseding(act, instead_of))
            }
            Action::AddPhotos { plot, hold_point, subject, files } => {
                let by = self.session()?.clone();
                self.stop.store(false, Ordering::SeqCst);
                let bringing = Bringing { by, plot, hold_point, subject };
                // The thread ends with this one only.
                let _ = self.photos.examine.send((bringing, files));
                Ok(())
            }
            Action::Attach { plot, purpose, file } => self.attach(plot, purpose, &file),
            Action::RegisterInstrument(own) => levels::register(self, Command::RegisterInstrument(*own)),
            Action::RegisterBenchmark(own) => levels::register(self, Command::RegisterBenchmark(*own)),
            Action::ReadLevelBook { plot, begun, path } => levels::read(self, plot, *begun, path),
            Action::ReadTemperatures { plot, hold_point, path } => curing::read(self, plot, hold_point, path),
            Action::ReadDrawing { plot, path, page } => {
                // The thread ends with this one only.
                let _ = self.drawings.send(Job::File { plot, path, page });
                Ok(())
            }
            Action::PlaceUnderlay { plot, path, placed } => self.place_underlay(plot, &path, *placed),
            Action::Do { plot, act } => self.perform(plot, act),
            Action::ReleaseGates { gate, plots } => self.release_gates(&gate, &plots),
            Action::KeepDraft { name, text } => Ok(self.register()?.keep_draft(&name, &text)?),
            Action::FindCuts { plot, plots } => cuts::find(self, plot, plots),
            Action::PrintCuts { plot, plan } => cuts::print(self, &plot, &plan),
            Action::TimeNow { draft } => self.time_now(draft),
            Action::Recall(batch) => {
                let found = self.register()?.recall(&batch)?;
                self.reply.send(Reply::Recalled(batch, found));
                Ok(())
            }
            Action::PreviewSignOff(plot) => papers::preview(self, &plot),
            Action::SignOff { plot, pin, drawn } => papers::sign_off(self, &plot, &pin, &drawn),
            // The rest is the window's own business.
            Action::Go(_)
            | Action::Back
            | Action::Sheet(_)
            | Action::DismissNotice
            | Action::Stop
            | Action::PickRegister
            | Action::PickNewRegister
            | Action::PickDesign
            | Action::PickPhotos { .. }
            | Action::PickDocument { .. }
            | Action::PickLevelBook { .. }
            | Action::PickTemperatures { .. }
            | Action::PickDrawing(_)
            | Action::ShowFile(_) => Ok(()),
        }
    }

    pub(super) fn register(&mut self) -> Done<&mut Register> {
        let open = self.open.as_mut();
        open.map(|open| &mut open.register)
            .ok_or_else(|| NotDone::Said("No register is open. Open one first.".to_owned()))
    }

    pub(super) fn session(&self) -> Done<&Session> {
        self.session.as_ref().ok_or_else(|| {
            NotDone::Said(
                "Nobody has taken the tablet yet. Nothing was recorded; say who you are first.".to_owned(),
            )
        })
    }

    fn read(&self, path: &Path, looked_at: Option<PlotId>) -> Result<Open, RegisterError> {
        let mut register = Register::open(path, self.means.machine.surroundings())?;
        let plots = Arc::new(register.summaries()?);
        let site = Arc::clone(register.site());
        let on_disk = register.now().clock();
        Ok(Open { path: path.to_owned(), register, site, plots, looked_at, on_disk })
    }

    fn open_register(&mut self, path: &Path, is_new: bool) -> Done {
        self.reply.busy("Opening the register", 0, 0);
        let opened = self.read(path, None)?;
        self.session = None;
        let open = self.open.insert(opened);
        let drafts: BTreeMap<String, String> =
            open.register.drafts().map(|(name, text)| (name.to_owned(), text.to_owned())).collect();
        let shown = open.shown()?;
        // Only a convenience for the next start: a disk that cannot keep it takes nothing away.
        let _ = std::fs::write(last_register(&self.means.settings), path.to_string_lossy().as_bytes());
        self.reply.send(Reply::Busy(None));
        self.reply.send(Reply::Opened(Box::new(Opened { register: shown, drafts, is_new })));
        Ok(())
    }

    fn open_demo(&mut self) -> Done {
        let path = self.means.demo.join(demo::FILE);
        if path.exists() {
            return self.open_register(&path, false);
        }
        self.stop.store(false, Ordering::SeqCst);
        let (reply, stop) = (self.reply.clone(), Arc::clone(&self.stop));
        let made = demo::build(&self.means.demo, self.means.machine.surroundings(), &mut |done, whole| {
            reply.busy("Making the invented site", done, whole);
            !stop.load(Ordering::SeqCst)
        });
        self.reply.send(Reply::Busy(None));
        let made = made.map_err(|sentence| NotDone::Said(format!("{}.", messages::capital(&sentence))))?;
        self.open_register(&made.register, false)
    }

    fn found(&mut self, path: &Path, site: &str, passphrase: &str) -> Done {
        self.reply.busy("Making the register and its authority", 0, 0);
        let passphrase = Passphrase::new(passphrase)?;
        let founding = Founding {
            site,
            invented: false,
            passphrase: &passphrase,
            cost: self.means.machine.cost,
            limits: shipped::LIMITS,
            plan: shipped::PLAN_OF_WORK,
        };
        if let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty()) {
            std::fs::create_dir_all(folder)
                .map_err(|error| NotDone::Said(messages::of_file(folder, &error)))?;
        }
        drop(Register::found(path, &founding, self.means.machine.surroundings())?);
        self.open_register(path, true)
    }

    fn enrol(
        &mut self,
        name: &str,
        role: gaugerod_core::plan_of_work::Role,
        pin: &str,
        passphrase: &str,
    ) -> Done {
        self.reply.busy("Enrolling", 0, 0);
        let (pin, passphrase) = (Pin::new(pin)?, Passphrase::new(passphrase)?);
        let cost = self.means.machine.cost;
        let enrolment = Enrolment { name, role, pin: &pin, passphrase: &passphrase, cost };
        let person = self.register()?.enrol(&enrolment)?;
        if self.session.is_none() {
            // The first one enrolled has just shown the PIN: they are at the tablet.
            self.session = Some(self.register()?.unlock(person, &pin)?);
        }
        self.reply.send(Reply::Busy(None));
        self.reply.send(Reply::Enrolled);
        self.reply.say(format!("{name} is enrolled as {}.", role.title()), false);
        self.tell()
    }

    fn read_design(&self, path: PathBuf) {
        let text = read_bounded(&path, MOST_TEXT_BYTES).and_then(|bytes| {
            String::from_utf8(bytes).map_err(|_| format!("{} is no text in UTF-8.", messages::name(&path)))
        });
        let result = match text {
            Err(sentence) => Err(vec![sentence]),
            Ok(text) => match FloorDesign::read(&text) {
                Ok(design) => {
                    Ok(format!("{} revision {}: {}", design.drawing, design.revision, design.title))
                }
                Err(faults) => Err(faults.iter().map(ToString::to_string).collect()),
            },
        };
        self.reply.send(Reply::Design(ReadDesign { path, result }));
    }

    fn issue_design(&mut self, path: &Path, plots: Vec<PlotId>) -> Done {
        let bytes = read_bounded(path, MOST_TEXT_BYTES).map_err(NotDone::Said)?;
        let text = String::from_utf8(bytes)
            .map_err(|_| NotDone::Said(format!("{} is no text in UTF-8.", messages::name(path))))?;
        let by = self.session()?.clone();
        let count = plots.len();
        self.register()?.perform(&Command::IssueDesign { text, plots }, &by)?;
        self.reply.send(Reply::DesignIssued);
        self.reply.say(format!("The floor design is issued for {count} plots."), false);
        self.saved()
    }

    /// The time of day by the register's clock, into a draft that is kept.
    fn time_now(&mut self, draft: String) -> Done {
        let register = self.register()?;
        let text = register.now().local().format("%H:%M").to_string();
        register.keep_draft(&draft, &text)?;
        self.reply.send(Reply::Drafted(draft, text));
        Ok(())
    }

    pub(super) fn perform(&mut self, plot: PlotId, act: Act) -> Done {
        let by = self.session()?.clone();
        let words = spoken(&act);
        self.register()?.perform(&Command::OnPlot { plot: plot.clone(), act }, &by)?;
        if let Some(words) = words {
            self.reply.say(words, false);
        }
        self.saved_on(&plot)
    }

    fn attach(&mut self, plot: PlotId, purpose: DocumentFor, file: &Path) -> Done {
        self.session()?;
        let most = gaugerod_core::store::MOST_DOCUMENT_BYTES;
        let bytes = read_bounded(file, most).map_err(NotDone::Said)?;
        let document = self.register()?.take_in_document(&file.to_string_lossy(), &bytes)?;
        let act = match purpose {
            DocumentFor::Criterion { hold_point, criterion } => {
                Act::Attach { hold_point, criterion, document }
            }
            DocumentFor::Concession { id, by } => Act::Concede { id, by, document },
            DocumentFor::Assessment { hold_point, by } => Act::Assess { hold_point, by, document },
        };
        self.perform(plot, act)
    }

    fn place_underlay(&mut self, plot: PlotId, file: &Path, placed: UnderlayPlaced) -> Done {
        self.session()?;
        let most = gaugerod_core::store::MOST_DOCUMENT_BYTES;
        let bytes = read_bounded(file, most).map_err(NotDone::Said)?;
        let document = self.register()?.take_in_document(&file.to_string_lossy(), &bytes)?;
        self.perform(plot, Act::PlaceUnderlay(UnderlayPlaced { document, ..placed }))?;
        self.reply.send(Reply::UnderlayPlaced);
        Ok(())
    }

    fn keep_photo(&mut self, examined: Examined) -> Done {
        let Examined { bringing, result, place: (place, whole), stopped } = examined;
        let kept = match result {
            Ok((bytes, facts, made)) => self.put_photo(&bringing, &bytes, &facts, &made),
            Err(sentence) => Err(NotDone::Said(sentence)),
        };
        match kept {
            Ok(()) => {
                self.kept += 1;
                self.saved_on(&bringing.plot)?;
            }
            Err(NotDone::Said(sentence)) => self.refused.push(sentence),
            Err(NotDone::Failed(error)) => self.refused.push(messages::sentence(&error)),
        }
        if place < whole && !stopped {
            return Ok(());
        }
        self.reply.send(Reply::Busy(None));
        let (kept, refused) = (std::mem::take(&mut self.kept), std::mem::take(&mut self.refused));
        let mut sentence = match kept {
            0 => String::new(),
            1 => "1 photo is on disk.".to_owned(),
            many => format!("{many} photos are on disk."),
        };
        for one in &refused {
            if !sentence.is_empty() {
                sentence.push(' ');
            }
            sentence.push_str(one);
        }
        self.reply.say(sentence, !refused.is_empty());
        Ok(())
    }

    fn put_photo(
        &mut self,
        bringing: &Bringing,
        bytes: &[u8],
        facts: &PhotoFacts,
        made: &Renditions,
    ) -> Done {
        let register = self.register()?;
        let store = register.store()?;
        store.put_photo(bytes, facts)?;
        store.put_renditions(facts.sha256, made)?;
        let offset = register.now().offset_min;
        let photo = PhotoAdded {
            hold_point: bringing.hold_point.clone(),
            subject: bringing.subject.clone(),
            photo: facts.sha256,
            bytes: facts.bytes,
            media_type: facts.media_type.as_str().to_owned(),
            width: facts.width,
            height: facts.height,
            orientation: facts.orientation,
            captured: facts.captured_at.and_then(|captured| captured.instant(offset)),
            caption: None,
        };
        let command = Command::OnPlot { plot: bringing.plot.clone(), act: Act::AddPhoto(photo) };
        register.perform(&command, &bringing.by)?;
        Ok(())
    }

    fn look(&mut self, plot: PlotId) -> Done {
        if let Some(open) = &mut self.open {
            open.looked_at = Some(plot);
            self.tell()?;
        }
        Ok(())
    }

    pub(super) fn sum_up(&mut self, plot: &PlotId) -> Done {
        let Some(open) = &mut self.open else { return Ok(()) };
        if let Some(summary) = open.register.sum_up(plot)? {
            let plots = Arc::make_mut(&mut open.plots);
            if let Some(place) = plots.iter_mut().find(|one| one.plot == *plot) {
                *place = summary;
            }
        }
        Ok(())
    }

    /// Something on a plot is on disk now.
    pub(super) fn saved_on(&mut self, plot: &PlotId) -> Done {
        self.sum_up(plot)?;
        self.saved()
    }

    /// Something is on disk now.
    pub(super) fn saved(&mut self) -> Done {
        if let Some(open) = &mut self.open {
            open.on_disk = open.register.now().clock();
        }
        self.tell()
    }

    /// Sends how things stand on disk.
    pub(super) fn tell(&mut self) -> Done {
        let Some(open) = &mut self.open else { return Ok(()) };
        let register = open.shown()?;
        let at_tablet = self.session.as_ref().and_then(|session| at_tablet(&register.site, session));
        self.reply.send(Reply::Now(Box::new(Now { register, at_tablet })));
        Ok(())
    }
}

impl Open {
    fn shown(&mut self) -> Result<OpenRegister, RegisterError> {
        self.register.refresh()?;
        // The site is folded anew whenever anything about it, or another writer's entry, was taken in.
        if !Arc::ptr_eq(&self.site, self.register.site()) {
            self.site = Arc::clone(self.register.site());
            self.plots = Arc::new(self.register.summaries()?);
        }
        let looked_at = match self.looked_at.clone() {
            None => None,
            Some(plot) => self.register.plot(&plot)?.map(|view| (plot, view)),
        };
        Ok(OpenRegister {
            path: self.path.clone(),
            site: Arc::clone(&self.site),
            plots: Arc::clone(&self.plots),
            plot: looked_at,
            read_only: self.register.is_read_only(),
            restored_copy: self.register.is_restored_copy(),
            fingerprint: self.register.authority()?.fingerprint(),
            can_enrol: self.register.can_enrol(),
            on_disk: self.on_disk.clone(),
            today: Date::of(self.register.now()),
        })
    }
}

/// The file in the program's own folder that names the register opened last.
pub fn last_register(settings: &Path) -> PathBuf {
    settings.join("last-register")
}

fn at_tablet(site: &SiteRecord, session: &Session) -> Option<AtTablet> {
    let person: PersonId = session.person;
    let enrolled = &site.people.get(&person)?.enrolled;
    Some(AtTablet {
        person,
        name: enrolled.name.clone(),
        role: enrolled.role,
        unlocked: session.is_unlocked(),
    })
}

fn superseding(act: Act, instead_of: Option<(EntryId, Because)>) -> Act {
    match instead_of {
        None => act,
        Some((id, because)) => Act::Supersede { id, because, remark: None, with: Box::new(act) },
    }
}

/// What is said after a decision. Readings, answers and photos show themselves.
fn spoken(act: &Act) -> Option<String> {
    let words = match act {
        Act::Offer(_) => "Offered: it waits for release now.",
        Act::Release(_) => "Released.",
        Act::Refuse { .. } => "Refused. A nonconformance stands against it until it is put right.",
        Act::CoverUnreleased { .. } => {
            "Noted: covered without release. It stands on the first page of the sign-off."
        }
        Act::RaiseNonconformance { .. } => "The nonconformance is raised.",
        Act::CloseNonconformance { .. } => "The nonconformance is closed.",
        Act::Concede { .. } => "The concession is recorded with the designer's writing.",
        Act::PlaceUnderlay(_) => "The drawing lies behind the plan.",
        Act::Assess { .. } => "The designer's assessment is recorded.",
        Act::NotePlacing(_) => "The hour of placing is on disk.",
        Act::BookTemperatures(own) if own.readings.len() > 1 => "The temperatures are on disk, all of them.",
        Act::TakeInLevelBook { .. } => "The level book is on disk, with all of its sights.",
        _ => return None,
    };
    Some(words.to_owned())
}
