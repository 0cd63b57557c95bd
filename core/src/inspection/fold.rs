//! Entries folded into what is known of the site and of one plot, in causal order.
//!
//! The fold keeps facts and who noted them when; it decides nothing. What follows from the facts is derived in
//! [`super::standing`], with one exception that needs the order of events: a release *lapses* as soon as a later
//! fact makes its hold point unclean, and does not come back by itself.
//!
//! Longer than most files because the match over every kind of entry is closed: none may be forgotten.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::judge;
use super::level_book::LevelBook;
use crate::entry::{
    AttachedFile, Because, BenchmarkRegistered, DeliveryBooked, DocumentAttached, Fact, InstrumentRegistered,
    LabelBooked, Payload, PersonEnrolled, PhotoAdded, PlacingNoted, PourFact, PressureTestBooked,
    QuestionAnswered, ReadingBooked, Recorded, RegisterOpened, SignOffIssued, Supersedes, TemperaturesBooked,
    TicketBooked, UnderlayPlaced,
};
use crate::floor::{DefaultLimits, FloorDesign};
use crate::ids::{
    CriterionId, DeviceId, EntryId, GateId, HoldPointId, InstrumentName, LevelBookName, PersonId, PlotId,
    PointName,
};
use crate::plan_of_work::PlanOfWork;
use crate::record::Header;
use crate::time::Timestamp;

/// An entry whose header is checked and whose payload is understood as far as this program can.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Its id.
    pub id: EntryId,
    /// Its header.
    pub header: Header,
    /// Its content.
    pub recorded: Recorded,
}

/// Who noted a fact, when, and where it stands in causal order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Noted {
    /// The entry.
    pub id: EntryId,
    /// Who; `None` for what the program itself noted.
    pub author: Option<PersonId>,
    /// On which device.
    pub device: DeviceId,
    /// When, as that device believed.
    pub time: Timestamp,
    /// Its place in the causal order of this fold.
    pub order: usize,
}

/// A person as the record knows them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Person {
    /// What was enrolled.
    pub enrolled: PersonEnrolled,
    /// When and by whom.
    pub noted: Noted,
    /// Set when the person may no longer act.
    pub revoked: Option<Noted>,
}

/// A floor design that was issued.
#[derive(Debug, Clone)]
pub struct IssuedDesign {
    /// The entry.
    pub noted: Noted,
    /// The design.
    pub design: Arc<FloorDesign>,
    /// The plots it was issued for.
    pub plots: Vec<PlotId>,
    /// The file's text as issued.
    pub text: String,
}

/// What is known of the site as a whole.
#[derive(Debug, Clone, Default)]
pub struct SiteRecord {
    /// How the register began.
    pub opened: Option<RegisterOpened>,
    /// Everybody who was ever enrolled.
    pub people: BTreeMap<PersonId, Person>,
    /// Every device that was ever enrolled, with its name and public key in hex.
    pub devices: BTreeMap<DeviceId, (String, String)>,
    /// The default limits in force.
    pub limits: Option<(EntryId, Arc<DefaultLimits>)>,
    /// The plan of work in force.
    pub plan: Option<(EntryId, Arc<PlanOfWork>)>,
    /// Every floor design that was issued.
    pub designs: BTreeMap<EntryId, IssuedDesign>,
    /// The floor design in force for each plot.
    pub plots: BTreeMap<PlotId, EntryId>,
    /// Every instrument as it was last registered.
    pub instruments: BTreeMap<InstrumentName, (Noted, Arc<InstrumentRegistered>)>,
    /// Every bench mark as it was last registered.
    pub benchmarks: BTreeMap<PointName, (Noted, BenchmarkRegistered)>,
    /// Entries about the site that this program does not understand: nothing is decided over them.
    pub unknown: Vec<(EntryId, String)>,
}

impl SiteRecord {
    /// Folds the entries about the site, in causal order; entries about plots are passed over.
    pub fn fold<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Self {
        let mut site = Self::default();
        for (order, entry) in entries.into_iter().enumerate() {
            if entry.header.subject.plot().is_none() {
                site.take(order, entry);
            }
        }
        site
    }

    /// Takes one more entry about the site.
    pub fn take(&mut self, order: usize, entry: &Entry) {
        let noted = Noted::of(order, entry);
        let fact = match &entry.recorded {
            Recorded::Known(fact) => fact,
            Recorded::Unknown { kind, version } => {
                self.unknown.push((entry.id, format!("{kind} version {version}")));
                return;
            }
            Recorded::Malformed { kind, what } => {
                self.unknown.push((entry.id, format!("{kind}: {what}")));
                return;
            }
        };
        match &fact.payload {
            Payload::RegisterOpened(opened) => {
                let own = &opened.device;
                self.devices.insert(own.device, (own.name.clone(), own.public_key.clone()));
                self.opened = self.opened.take().or(Some(opened.clone()));
            }
            Payload::DeviceEnrolled(device) => {
                self.devices.insert(device.device, (device.name.clone(), device.public_key.clone()));
            }
            Payload::PersonEnrolled(person) => {
                let enrolled = person.clone();
                self.people.entry(person.person).or_insert(Person { enrolled, noted, revoked: None });
            }
            Payload::PersonRevoked(revoked) => {
                if let Some(person) = self.people.get_mut(&revoked.person) {
                    person.revoked = Some(noted);
                }
            }
            Payload::LimitsIssued(issued) => match DefaultLimits::read(&issued.text) {
                Ok(limits) => self.limits = Some((entry.id, Arc::new(limits))),
                Err(faults) => self.unknown.push((entry.id, format!("default limits: {faults}"))),
            },
            Payload::PlanIssued(issued) => match PlanOfWork::read(&issued.text) {
                Ok(plan) => self.plan = Some((entry.id, Arc::new(plan))),
                Err(faults) => self.unknown.push((entry.id, format!("plan of work: {faults}"))),
            },
            Payload::DesignIssued(issued) => match FloorDesign::read(&issued.text) {
                Ok(design) => {
                    for plot in &issued.plots {
                        self.plots.insert(plot.clone(), entry.id);
                    }
                    let issued = IssuedDesign {
                        noted,
                        design: Arc::new(design),
                        plots: issued.plots.clone(),
                        text: issued.text.clone(),
                    };
                    self.designs.insert(entry.id, issued);
                }
                Err(faults) => self.unknown.push((entry.id, format!("floor design: {faults}"))),
            },
            Payload::InstrumentRegistered(own) => {
                self.instruments.insert(own.instrument.clone(), (noted, Arc::new(own.clone())));
            }
            Payload::BenchmarkRegistered(own) => {
                self.benchmarks.insert(own.benchmark.clone(), (noted, own.clone()));
            }
            _ => {}
        }
    }

    /// The person's name, or a short id where nobody of that id was enrolled.
    pub fn name_of(&self, person: Option<PersonId>) -> String {
        match person {
            None => "the program".to_owned(),
            Some(id) => self.people.get(&id).map_or_else(
                || format!("unknown person {}", id.short()),
                |known| known.enrolled.name.clone(),
            ),
        }
    }

    /// The site's name.
    pub fn site(&self) -> &str {
        self.opened.as_ref().map_or("", |opened| &opened.site)
    }
}

/// A fact that may have been superseded since.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept<T> {
    /// What was recorded.
    pub fact: T,
    /// Who noted it, when.
    pub noted: Noted,
    /// The earlier entry whose place it took, and why.
    pub supersedes: Option<Supersedes>,
    /// The later entry that took its place, and why.
    pub superseded: Option<(EntryId, Because)>,
}

/// What was decided about a hold point.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Decided {
    /// Shown for release.
    Offered,
    /// Work may pass.
    Released,
    /// Work may not pass.
    Refused(String),
    /// Work went on without release.
    Covered(String),
    /// The designer assessed it in writing.
    Assessed {
        /// The designer.
        by: String,
        /// The writing.
        document: AttachedFile,
    },
}

/// One decision, in the order of events.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DecisionNoted {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The gate, where it was decided as one.
    pub gate: Option<GateId>,
    /// What was decided.
    pub decided: Decided,
    /// By whom, when.
    pub noted: Noted,
    /// For a release: the later entry that made it lapse.
    pub lapsed: Option<EntryId>,
}

/// A nonconformance that somebody raised in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RaisedInWords {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The criterion, if one.
    pub criterion: Option<CriterionId>,
    /// What does not conform.
    pub what: String,
    /// By whom, when.
    pub noted: Noted,
}

/// How a nonconformance was settled.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settlement {
    /// In words: `closed: rework, …` or `conceded by …`.
    pub how: String,
    /// True for a concession of the designer.
    pub concession: bool,
    /// The designer's writing.
    pub document: Option<AttachedFile>,
    /// By whom, when.
    pub noted: Noted,
}

/// What is known of one plot.
#[derive(Debug, Clone)]
pub struct PlotRecord {
    /// The plot.
    pub plot: PlotId,
    /// Every floor design that was in force, in order; the last is in force.
    pub designs: Vec<(Noted, Arc<FloorDesign>)>,
    /// The plan of work.
    pub plan: Arc<PlanOfWork>,
    /// The default limits.
    pub limits: Arc<DefaultLimits>,
    /// Readings, superseded ones too.
    pub readings: Vec<Kept<ReadingBooked>>,
    /// Answers, superseded ones too.
    pub answers: Vec<Kept<QuestionAnswered>>,
    /// Photos, superseded ones too.
    pub photos: Vec<Kept<PhotoAdded>>,
    /// Documents, superseded ones too.
    pub documents: Vec<Kept<DocumentAttached>>,
    /// Delivery notes, superseded ones too.
    pub deliveries: Vec<Kept<DeliveryBooked>>,
    /// Concrete tickets, superseded ones too.
    pub tickets: Vec<Kept<TicketBooked>>,
    /// Air and wind, times, cubes taken and crushed, superseded ones too.
    pub pour: Vec<Kept<PourFact>>,
    /// When concrete was placed, superseded ones too.
    pub placings: Vec<Kept<PlacingNoted>>,
    /// Temperatures of curing concrete, superseded ones too.
    pub temperatures: Vec<Kept<TemperaturesBooked>>,
    /// Labels, superseded ones too.
    pub labels: Vec<Kept<LabelBooked>>,
    /// Pressure tests, superseded ones too.
    pub pressure_tests: Vec<Kept<PressureTestBooked>>,
    /// Level books, in the order in which they were begun.
    pub level_books: Vec<LevelBook>,
    /// Drawings placed behind the plan, in order; the last one governs.
    pub underlays: Vec<(UnderlayPlaced, Noted)>,
    /// The site's instruments as they were last registered.
    pub instruments: BTreeMap<InstrumentName, Arc<InstrumentRegistered>>,
    /// The site's bench marks as they were last registered.
    pub benchmarks: BTreeMap<PointName, BenchmarkRegistered>,
    /// For readings that name a registered instrument: its registration at that time.
    registrations: BTreeMap<EntryId, Arc<InstrumentRegistered>>,
    /// Decisions.
    pub decisions: Vec<DecisionNoted>,
    /// Nonconformances raised in words.
    pub raised: Vec<RaisedInWords>,
    /// Settled nonconformances, by the entry that stands for each.
    pub settled: BTreeMap<EntryId, Settlement>,
    /// Sign-offs.
    pub sign_offs: Vec<(SignOffIssued, Noted)>,
    /// Entries that this program does not understand: nothing is decided over them.
    pub unknown: Vec<(EntryId, String)>,
    /// The last entry folded.
    pub last: Option<Noted>,
}

impl Noted {
    fn of(order: usize, entry: &Entry) -> Self {
        Self {
            id: entry.id,
            author: entry.header.author,
            device: entry.header.device,
            time: entry.header.time,
            order,
        }
    }
}

impl PlotRecord {
    /// Folds one plot from the site's and the plot's own entries together, in causal order.
    ///
    /// `None` when the site has no plan of work, no limits, or no floor design for this plot: nothing can
    /// have been recorded on it then.
    pub fn fold<'a>(
        site: &SiteRecord,
        plot: &PlotId,
        entries: impl IntoIterator<Item = &'a Entry>,
    ) -> Option<Self> {
        let mut record = Self {
            plot: plot.clone(),
            designs: Vec::new(),
            plan: Arc::clone(&site.plan.as_ref()?.1),
            limits: Arc::clone(&site.limits.as_ref()?.1),
            readings: Vec::new(),
            answers: Vec::new(),
            photos: Vec::new(),
            documents: Vec::new(),
            deliveries: Vec::new(),
            tickets: Vec::new(),
            pour: Vec::new(),
            placings: Vec::new(),
            temperatures: Vec::new(),
            labels: Vec::new(),
            pressure_tests: Vec::new(),
            level_books: Vec::new(),
            underlays: Vec::new(),
            instruments: BTreeMap::new(),
            benchmarks: BTreeMap::new(),
            registrations: BTreeMap::new(),
            decisions: Vec::new(),
            raised: Vec::new(),
            settled: BTreeMap::new(),
            sign_offs: Vec::new(),
            unknown: site.unknown.clone(),
            last: None,
        };
        site.plots.get(plot)?;
        for (order, entry) in entries.into_iter().enumerate() {
            match entry.header.subject.plot() {
                None => {
                    record.take_of_site(entry);
                    let design = site.designs.get(&entry.id).filter(|issued| issued.plots.contains(plot));
                    if let Some(issued) = design {
                        record.designs.push((Noted::of(order, entry), Arc::clone(&issued.design)));
                        record.plan = Arc::new(site.plan.as_ref()?.1.for_design(&issued.design));
                        record.let_releases_lapse(entry.id, None);
                    }
                }
                Some(own) if own == plot => record.take(order, entry),
                Some(_) => {}
            }
        }
        (!record.designs.is_empty()).then_some(record)
    }

    /// Takes what an entry about the site says of instruments and bench marks.
    fn take_of_site(&mut self, entry: &Entry) {
        let Recorded::Known(fact) = &entry.recorded else { return };
        match &fact.payload {
            Payload::InstrumentRegistered(own) => {
                self.instruments.insert(own.instrument.clone(), Arc::new(own.clone()));
            }
            Payload::BenchmarkRegistered(own) => {
                self.benchmarks.insert(own.benchmark.clone(), own.clone());
                // Levels that hang on it move with it.
                if !self.designs.is_empty() {
                    self.let_releases_lapse(entry.id, None);
                }
            }
            _ => {}
        }
    }

    /// The registration of the instrument that a reading names, as it was when the reading was booked.
    pub(super) fn registration_of_reading(&self, reading: &EntryId) -> Option<&InstrumentRegistered> {
        self.registrations.get(reading).map(Arc::as_ref)
    }

    /// The floor design in force.
    pub fn design(&self) -> &FloorDesign {
        &self.designs.last().expect("BUG: a plot record has a floor design").1
    }

    /// The entry that issued the floor design in force.
    pub fn design_entry(&self) -> &Noted {
        &self.designs.last().expect("BUG: a plot record has a floor design").0
    }

    /// Takes one more entry of this plot.
    pub fn take(&mut self, order: usize, entry: &Entry) {
        let noted = Noted::of(order, entry);
        self.last = Some(noted.clone());
        let fact = match &entry.recorded {
            Recorded::Known(fact) => fact.as_ref(),
            Recorded::Unknown { kind, version } => {
                self.unknown.push((entry.id, format!("{kind} version {version}")));
                return;
            }
            Recorded::Malformed { kind, what } => {
                self.unknown.push((entry.id, format!("{kind}: {what}")));
                return;
            }
        };
        let Fact { payload, supersedes } = fact;
        if let Some(supersedes) = supersedes {
            self.supersede(supersedes, entry.id);
        }
        let mut touched = None;
        match payload {
            Payload::ReadingBooked(fact) => {
                touched = Some(fact.hold_point.clone());
                let named = fact.instrument.as_ref().and_then(|name| InstrumentName::new(name).ok());
                if let Some(own) = named.and_then(|name| self.instruments.get(&name)) {
                    self.registrations.insert(entry.id, Arc::clone(own));
                }
                self.readings.push(Kept::new(fact, noted, supersedes.as_ref()));
            }
            Payload::DeliveryBooked(fact) => {
                touched = Some(fact.hold_point.clone());
                self.deliveries.push(Kept::new(fact, noted, supersedes.as_ref()));
            }
            Payload::TicketBooked(fact) => {
                touched = Some(fact.hold_point.clone());
                self.tickets.push(Kept::new(fact, noted, supersedes.as_ref()));
            }
            Payload::ConditionsBooked(_)
            | Payload::PourTimed(_)
            | Payload::CubesTaken(_)
            | Payload::CubesTested(_) => {
                let fact = PourFact::of(payload).expect("BUG: these are the facts of a pour");
                touched = Some(fact.hold_point().clone());
                self.pour.push(Kept::new(&fact, noted, supersedes.as_ref()));
            }
            Payload::PlacingNoted(fact) => {
                touched = Some(fact.hold_point.clone());
                self.placings.push(Kept::new(fact, noted, supersedes.as_ref()));
            }
            Payload::TemperaturesBooked(fact) => {
                touched = Some(fact.hold_point.clone());
                self.temperatures.push(Kept::new(fact, noted, supersedes.as_ref()));
            }
            Payload::LabelBooked(fact) => {
                touched = Some(fact.hold_point.clone());
                self.labels.push(Kept::new(fact, noted, supersedes.as_ref()));
            }
            Payload::PressureTestBooked(fact) => {
                touched = Some(fact.hold_point.clone());
                self.pressure_tests.push(Kept::new(fact, noted, supersedes.as_ref()));
            }
            Payload::LevelBookBegun(fact) => {
                // Two devices may have begun one of the same name: the first in causal order holds it.
                if self.level_book(&fact.book).is_none() {
                    self.level_books.push(LevelBook::new(fact.clone(), noted));
                }
            }
            Payload::SightBooked(fact) => {
                self.take_sight(&fact.book, Kept::new(fact, noted, supersedes.as_ref()));
                self.let_releases_lapse(entry.id, None);
            }
            Payload::UnderlayPlaced(fact) => self.underlays.push((fact.clone(), noted)),
            Payload::QuestionAnswered(fact) => {
                touched = Some(fact.hold_point.clone());
                self.answers.push(Kept::new(fact, noted, supersedes.as_ref()));
            }
            Payload::PhotoAdded(fact) => {
                touched = Some(fact.hold_point.clone());
                self.photos.push(Kept::new(fact, noted, supersedes.as_ref()));
            }
            Payload::DocumentAttached(fact) => {
                touched = Some(fact.hold_point.clone());
                self.documents.push(Kept::new(fact, noted, supersedes.as_ref()));
            }
            Payload::Offered(fact) => {
                self.decide(&fact.hold_points, fact.gate.as_ref(), &Decided::Offered, &noted)
            }
            Payload::Released(fact) => {
                self.decide(&fact.hold_points, fact.gate.as_ref(), &Decided::Released, &noted);
            }
            Payload::Refused(fact) => {
                let refused = Decided::Refused(fact.reason.clone());
                self.decide(&fact.hold_points, fact.gate.as_ref(), &refused, &noted);
            }
            Payload::CoveredUnreleased(fact) => {
                let covered = Decided::Covered(fact.reason.clone());
                self.decide(std::slice::from_ref(&fact.hold_point), None, &covered, &noted);
            }
            Payload::Assessed(fact) => {
                let assessed = Decided::Assessed { by: fact.by.clone(), document: fact.document.clone() };
                self.decide(std::slice::from_ref(&fact.hold_point), None, &assessed, &noted);
            }
            Payload::NonconformanceRaised(fact) => {
                touched = Some(fact.hold_point.clone());
                self.raised.push(RaisedInWords {
                    hold_point: fact.hold_point.clone(),
                    criterion: fact.criterion.clone(),
                    what: fact.what.clone(),
                    noted,
                });
            }
            Payload::NonconformanceClosed(fact) => {
                let settlement = Settlement {
                    how: format!("{}: {}", fact.disposition.word(), fact.remark),
                    concession: false,
                    document: None,
                    noted,
                };
                self.settled.insert(fact.nonconformance, settlement);
            }
            Payload::ConcessionGranted(fact) => {
                let settlement = Settlement {
                    how: format!("conceded by {}", fact.by),
                    concession: true,
                    document: Some(fact.document.clone()),
                    noted,
                };
                self.settled.insert(fact.nonconformance, settlement);
            }
            Payload::SignOffIssued(fact) => self.sign_offs.push((fact.clone(), noted)),
            Payload::LockedOut(_)
            | Payload::RegisterOpened(_)
            | Payload::DeviceEnrolled(_)
            | Payload::PersonEnrolled(_)
            | Payload::PersonRevoked(_)
            | Payload::LimitsIssued(_)
            | Payload::PlanIssued(_)
            | Payload::InstrumentRegistered(_)
            | Payload::BenchmarkRegistered(_)
            | Payload::DesignIssued(_) => {}
        }
        if let Some(hold_point) = touched {
            self.let_releases_lapse(entry.id, Some(&hold_point));
        }
    }

    fn take_sight(&mut self, book: &LevelBookName, kept: Kept<crate::entry::SightBooked>) {
        let Some(own) = self.level_books.iter_mut().find(|one| one.begun.book == *book) else { return };
        let registration = self.instruments.get(&own.begun.instrument).map(Arc::clone);
        own.take(kept, registration);
    }

    fn supersede(&mut self, supersedes: &Supersedes, by: EntryId) {
        fn mark<T>(kept: &mut [Kept<T>], supersedes: &Supersedes, by: EntryId) {
            for one in kept.iter_mut().filter(|one| one.noted.id == supersedes.entry) {
                one.superseded.get_or_insert((by, supersedes.because));
            }
        }
        mark(&mut self.readings, supersedes, by);
        mark(&mut self.answers, supersedes, by);
        mark(&mut self.photos, supersedes, by);
        mark(&mut self.documents, supersedes, by);
        mark(&mut self.deliveries, supersedes, by);
        mark(&mut self.tickets, supersedes, by);
        mark(&mut self.pour, supersedes, by);
        mark(&mut self.placings, supersedes, by);
        mark(&mut self.temperatures, supersedes, by);
        mark(&mut self.labels, supersedes, by);
        mark(&mut self.pressure_tests, supersedes, by);
        for book in &mut self.level_books {
            for sight in &mut book.sights {
                mark(std::slice::from_mut(&mut sight.kept), supersedes, by);
            }
        }
    }

    fn decide(
        &mut self,
        hold_points: &[HoldPointId],
        gate: Option<&GateId>,
        decided: &Decided,
        noted: &Noted,
    ) {
        for hold_point in hold_points {
            self.decisions.push(DecisionNoted {
                hold_point: hold_point.clone(),
                gate: gate.cloned(),
                decided: decided.clone(),
                noted: noted.clone(),
                lapsed: None,
            });
        }
    }

    /// Marks the releases in force that are no longer clean: of one hold point and those that read its
    /// evidence, or of all of them.
    fn let_releases_lapse(&mut self, by: EntryId, touched: Option<&HoldPointId>) {
        let released: Vec<HoldPointId> = self
            .plan
            .hold_points
            .iter()
            .map(|hold_point| &hold_point.id)
            .filter(|id| {
                touched.is_none_or(|touched| *id == touched || judge::reads_from(&self.plan, id, touched))
            })
            .filter(|id| self.release_in_force(id).is_some())
            .cloned()
            .collect();
        for id in released {
            if judge::is_clean(self, &id) {
                continue;
            }
            let release = self
                .decisions
                .iter_mut()
                .rev()
                .find(|one| one.hold_point == id && one.decided == Decided::Released);
            if let Some(release) = release {
                release.lapsed = Some(by);
            }
        }
    }

    /// The release of this hold point that is in force, if any.
    pub fn release_in_force(&self, id: &HoldPointId) -> Option<&DecisionNoted> {
        self.decisions
            .iter()
            .rev()
            .find(|one| {
                one.hold_point == *id && matches!(one.decided, Decided::Released | Decided::Refused(_))
            })
            .filter(|one| one.decided == Decided::Released && one.lapsed.is_none())
    }
}

impl<T: Clone> Kept<T> {
    fn new(fact: &T, noted: Noted, supersedes: Option<&Supersedes>) -> Self {
        Self { fact: fact.clone(), noted, supersedes: supersedes.cloned(), superseded: None }
    }
}
