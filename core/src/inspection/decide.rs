//! What may be done next: a command and where things stand in, facts to record or a refusal out.
//!
//! Nothing is written here and no clock is read. A refusal is no error: it says in a sentence what the rules do
//! not allow, and nothing is recorded.
//!
//! Longer than most files because the rules of all acts stand beside each other: what may be done is read in one place.

use std::collections::BTreeSet;

use super::beam_feeds;
use super::command::{Act, Command, Extent};
use super::curing;
use super::fold::{PlotRecord, SiteRecord};
use super::judge;
use super::layer_rules;
use super::level_book::Reading;
use super::level_book_rules;
use super::pour::rules as pour_rules;
use super::standing::{HoldPointStanding, HoldPointState, NonconformanceState, PlotStanding, is_sign_off};
use super::underlay;
use crate::entry::{
    Answer, Assessed, Because, ConcessionGranted, CoveredUnreleased, DeliveryBooked, DesignIssued,
    DocumentAttached, Fact, LONGEST_TEXT, LevelBookBegun, LimitsIssued, NonconformanceClosed,
    NonconformanceRaised, Offered, Payload, PlanIssued, QuestionAnswered, ReadValue, ReadingBooked, Refused,
    Released, SightBooked, SightKind, SignOffIssued, Supersedes, TicketBooked,
};
use crate::faults::Faults;
use crate::floor::{DefaultLimits, FloorDesign};
use crate::ids::{CriterionId, EntryId, GateId, HoldPointId, PersonId, PlotId, PointName};
use crate::plan_of_work::{Criterion, CriterionKind, Feed, HoldPoint, HoldPointKind, PlanOfWork, Role};
use crate::reckon::MAX_NAME;
use crate::record::Subject;

/// Why a command is not allowed. Its text is the sentence that people read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// Nobody of that id may act here.
    #[error("this person may not act on this register")]
    NotAPerson,
    /// The role may not do that.
    #[error("a {role} may not {what}: that is for {allowed}")]
    Role {
        /// The person's role.
        role: String,
        /// What was asked.
        what: String,
        /// Who may.
        allowed: String,
    },
    /// The site knows no such plot.
    #[error("the site has no plot {0}: issue a floor design for it first")]
    NoPlot(PlotId),
    /// The site has no plan of work or no default limits yet.
    #[error("the site has no {0} yet")]
    NotSetUp(&'static str),
    /// The plan has no such hold point.
    #[error("the plan of work has no hold point {0}")]
    NoHoldPoint(HoldPointId),
    /// The plan has no such gate.
    #[error("the plan of work has no gate {0}")]
    NoGate(GateId),
    /// The hold point has no such criterion.
    #[error("{hold_point} has no criterion {criterion}; it has {known}")]
    NoCriterion {
        /// The hold point.
        hold_point: HoldPointId,
        /// What was asked for.
        criterion: CriterionId,
        /// What there is.
        known: String,
    },
    /// The criterion is of another kind.
    #[error("{criterion} is {kind}: {instead}")]
    WrongKind {
        /// The criterion.
        criterion: CriterionId,
        /// What it is.
        kind: &'static str,
        /// What to do instead.
        instead: &'static str,
    },
    /// The design has no such point.
    #[error("the floor design has no point {point} for this: {known}")]
    NoPoint {
        /// The point.
        point: PointName,
        /// What there is.
        known: String,
    },
    /// The value is of another unit than is read here.
    #[error("{0}")]
    WrongUnit(String),
    /// The value is far outside of anything that could be read there.
    #[error("{0}")]
    Absurd(String),
    /// The point has a reading already.
    #[error("{0}; correct it by superseding it as misread or reworked")]
    Already(String),
    /// A reason is missing or is not one of the plan's.
    #[error("{0}")]
    Reason(String),
    /// A text is empty or too long.
    #[error("{0}")]
    Text(String),
    /// Evidence is still owed.
    #[error("{hold_point} cannot be offered: owed {owed}")]
    Owed {
        /// The hold point.
        hold_point: String,
        /// What is owed, in words.
        owed: String,
    },
    /// What comes before is not released.
    #[error("{hold_point} is not open: {waiting_for} must be released first")]
    NotOpen {
        /// The hold point.
        hold_point: String,
        /// What it waits for.
        waiting_for: String,
    },
    /// The hold point is in another state than the command needs.
    #[error("{hold_point} is {state}: {why}")]
    State {
        /// The hold point.
        hold_point: String,
        /// Its state.
        state: &'static str,
        /// What would be needed.
        why: &'static str,
    },
    /// Something stands against the release.
    #[error("{hold_point} cannot be released: {unsettled}")]
    Unsettled {
        /// The hold point.
        hold_point: String,
        /// What stands against it.
        unsettled: String,
    },
    /// Nobody releases what they alone booked.
    #[error("{0} cannot be released by who alone booked its evidence")]
    OwnWork(String),
    /// There is no such nonconformance.
    #[error("no nonconformance {0} on this plot")]
    NoNonconformance(EntryId),
    /// The nonconformance is settled already.
    #[error("nonconformance {0} is settled already")]
    SettledAlready(EntryId),
    /// There is no such entry to supersede.
    #[error("{0}")]
    Supersede(String),
    /// The record holds something that this program does not understand.
    #[error("the record holds {0}, which this program does not understand: use a newer program")]
    Unknown(String),
    /// A level book, an instrument or a bench mark does not allow it.
    #[error("{0}")]
    LevelBook(String),
    /// A file is unusable.
    #[error("{0}")]
    File(Faults),
    /// The plot cannot be signed off.
    #[error("plot {plot} cannot be signed off: {against}")]
    SignOff {
        /// The plot.
        plot: PlotId,
        /// What stands against it.
        against: String,
    },
}

/// A fact to record, with what it is about.
pub type Decision = (Subject, Fact);

/// Decides a command about the site.
///
/// # Errors
/// The refusal that people read.
pub fn about_site(site: &SiteRecord, command: &Command, by: PersonId) -> Result<Vec<Decision>, Refusal> {
    let role = role_of(site, by)?;
    if let Some((_, what)) = site.unknown.first() {
        return Err(Refusal::Unknown(what.clone()));
    }
    let manages = [Role::QualityManager, Role::Designer, Role::Engineer];
    let fact: Fact = match command {
        Command::IssueDesign { text, plots } => {
            allow(role, &[&manages[..], &[Role::Supervisor]].concat(), "issue a floor design")?;
            FloorDesign::read(text).map_err(Refusal::File)?;
            let named: BTreeSet<_> = plots.iter().collect();
            if plots.is_empty() || named.len() != plots.len() || plots.len() > MOST_PLOTS {
                return Err(Refusal::Text(format!("name 1 to {MOST_PLOTS} plots, each once")));
            }
            DesignIssued { text: text.clone(), plots: plots.clone() }.into()
        }
        Command::IssuePlan { text } => {
            allow(role, &[Role::QualityManager], "issue a plan of work")?;
            PlanOfWork::read(text).map_err(Refusal::File)?;
            PlanIssued { text: text.clone() }.into()
        }
        Command::IssueLimits { text } => {
            allow(role, &[Role::QualityManager], "issue default limits")?;
            DefaultLimits::read(text).map_err(Refusal::File)?;
            LimitsIssued { text: text.clone() }.into()
        }
        Command::RegisterInstrument(own) => {
            level_book_rules::instrument(own)?;
            if let Some(remark) = &own.remark {
                check_text("the remark", remark)?;
            }
            own.clone().into()
        }
        Command::RegisterBenchmark(own) => {
            level_book_rules::benchmark(own)?;
            check_text("the source", &own.source)?;
            own.clone().into()
        }
        Command::OnPlot { plot, .. } => return Err(Refusal::NoPlot(plot.clone())),
    };
    Ok(vec![(Subject::Site, fact)])
}

/// The most plots that one floor design may be issued for at once.
pub const MOST_PLOTS: usize = 2_000;

/// Decides what may happen on a plot.
///
/// # Errors
/// The refusal that people read.
pub fn on_plot(
    site: &SiteRecord,
    record: &PlotRecord,
    standing: &PlotStanding,
    act: &Act,
    by: PersonId,
) -> Result<Vec<Decision>, Refusal> {
    let role = role_of(site, by)?;
    if let Some((_, what)) = record.unknown.first() {
        return Err(Refusal::Unknown(what.clone()));
    }
    let desk = Desk { record, standing, by, role };
    let on = |fact| (Subject::Plot(record.plot.clone()), fact);
    if let Act::TakeInLevelBook { begun, sights } = act {
        return Ok(desk.whole_level_book(begun, sights)?.into_iter().map(on).collect());
    }
    Ok(vec![on(desk.decide(act)?)])
}

/// Decides whether the signed document of a plot may be issued.
///
/// # Errors
/// The refusal that people read.
pub fn sign_off(
    site: &SiteRecord,
    standing: &PlotStanding,
    record: &PlotRecord,
    by: PersonId,
) -> Result<(), Refusal> {
    let role = role_of(site, by)?;
    if let Some((_, what)) = record.unknown.first() {
        return Err(Refusal::Unknown(what.clone()));
    }
    let point = record.plan.hold_points.iter().find(|one| is_sign_off(&one.id));
    let allowed = point.map_or(&[Role::QualityManager][..], |point| &point.released_by);
    allow(role, allowed, "sign off a plot")?;
    let mut against = standing.against_sign_off();
    if let Some(own) = standing.hold_points.iter().find(|one| is_sign_off(&one.id)) {
        if !matches!(own.state, HoldPointState::Open | HoldPointState::Offered | HoldPointState::Released) {
            against.push(format!("{} is {}", own.title, own.state.word()));
        }
        against.extend(own.owed.iter().map(|owed| format!("owed {}", owed.what)));
        against.extend(own.unsettled.iter().cloned());
    }
    if against.is_empty() {
        return Ok(());
    }
    Err(Refusal::SignOff { plot: record.plot.clone(), against: list(&against) })
}

/// The release of the hold point that stands for the whole floor, where the plan has one and it is not released
/// yet: the signer's first act, so that the signed pages show it.
pub fn release_for_sign_off(standing: &PlotStanding) -> Option<Decision> {
    let own = standing.hold_points.iter().find(|one| is_sign_off(&one.id))?;
    let fact = Released { hold_points: vec![own.id.clone()], gate: None };
    (own.state != HoldPointState::Released).then(|| (Subject::Plot(standing.plot.clone()), fact.into()))
}

/// The fact that a signed document was issued.
pub fn signed_off(plot: &PlotId, fact: SignOffIssued) -> Decision {
    (Subject::Plot(plot.clone()), fact.into())
}

fn role_of(site: &SiteRecord, by: PersonId) -> Result<Role, Refusal> {
    match site.people.get(&by) {
        Some(person) if person.revoked.is_none() => Ok(person.enrolled.role),
        _ => Err(Refusal::NotAPerson),
    }
}

pub(super) fn allow(role: Role, allowed: &[Role], what: &str) -> Result<(), Refusal> {
    if allowed.contains(&role) {
        return Ok(());
    }
    let titles: Vec<String> = allowed.iter().map(|role| role.title().to_owned()).collect();
    Err(Refusal::Role { role: role.title().to_owned(), what: what.to_owned(), allowed: list(&titles) })
}

/// The most of a list that a sentence carries.
const MOST_LISTED: usize = 8;

fn list(items: &[String]) -> String {
    let mut text = items.iter().take(MOST_LISTED).cloned().collect::<Vec<_>>().join(", ");
    if items.len() > MOST_LISTED {
        text.push_str(&format!(" and {} more", items.len() - MOST_LISTED));
    }
    text
}

pub(super) fn check_text(what: &str, text: &str) -> Result<(), Refusal> {
    let sound = !text.trim().is_empty() && text.chars().take(LONGEST_TEXT + 1).count() <= LONGEST_TEXT;
    if sound && !text.chars().any(|c| c.is_control() && c != '\n') {
        return Ok(());
    }
    Err(Refusal::Text(format!("{what} must be 1 to {LONGEST_TEXT} characters without control characters")))
}

/// What is said where an id names nothing that can be superseded.
const NOTHING_TO_SUPERSEDE: &str = "this plot has no reading, sight, answer, photo, document, note, ticket, label, test or temperature under that id";

/// Who decides, over what.
struct Desk<'a> {
    record: &'a PlotRecord,
    standing: &'a PlotStanding,
    by: PersonId,
    role: Role,
}

impl Desk<'_> {
    fn decide(&self, act: &Act) -> Result<Fact, Refusal> {
        match act {
            Act::BookReading { .. }
            | Act::Answer { .. }
            | Act::AddPhoto(_)
            | Act::Attach { .. }
            | Act::BookSight(_)
            | Act::BookDelivery(_)
            | Act::BookTicket(_)
            | Act::BookPour(_)
            | Act::NotePlacing(_)
            | Act::BookTemperatures(_)
            | Act::BookLabel(_)
            | Act::BookPressureTest(_) => self.evidence(act, None),
            Act::BeginLevelBook(begun) => {
                level_book_rules::begin(self.record, begun)?;
                Ok(begun.clone().into())
            }
            Act::PlaceUnderlay(placed) => {
                underlay::check(self.role, placed)?;
                Ok(placed.clone().into())
            }
            Act::TakeInLevelBook { .. } => {
                Err(Refusal::Supersede("a level book is taken in whole, by itself".to_owned()))
            }
            Act::Supersede { id, because, remark, with } => {
                let supersedes = self.supersedes(*id, *because, remark.as_ref(), with)?;
                self.evidence(with, Some(supersedes))
            }
            Act::Offer(extent) => {
                let (hold_points, gate) = self.offer(extent)?;
                Ok(Offered { hold_points, gate }.into())
            }
            Act::Release(extent) => {
                let (hold_points, gate) = self.release(extent)?;
                Ok(Released { hold_points, gate }.into())
            }
            Act::Refuse { extent, reason } => {
                check_text("the reason", reason)?;
                let (hold_points, gate) = self.offered(extent, "refuse")?;
                Ok(Refused { hold_points, gate, reason: reason.clone() }.into())
            }
            Act::CoverUnreleased { hold_point, reason } => {
                check_text("the reason", reason)?;
                let own = self.standing_of(hold_point)?;
                if own.state.is_settled() || own.state == HoldPointState::CoveredUnreleased {
                    return Err(Refusal::State {
                        hold_point: own.title.clone(),
                        state: own.state.word(),
                        why: "it can't be covered without release now",
                    });
                }
                Ok(CoveredUnreleased { hold_point: hold_point.clone(), reason: reason.clone() }.into())
            }
            Act::RaiseNonconformance { hold_point, criterion, what } => {
                check_text("what does not conform", what)?;
                let own = self.hold_point(hold_point)?;
                if let Some(criterion) = criterion {
                    criterion_of(own, criterion)?;
                }
                Ok(NonconformanceRaised {
                    hold_point: hold_point.clone(),
                    criterion: criterion.clone(),
                    what: what.clone(),
                }
                .into())
            }
            Act::CloseNonconformance { id, disposition, remark } => {
                allow(
                    self.role,
                    &[Role::QualityManager, Role::Designer, Role::Engineer],
                    "close a nonconformance",
                )?;
                check_text("the remark", remark)?;
                self.open_nonconformance(*id)?;
                Ok(NonconformanceClosed {
                    nonconformance: *id,
                    disposition: *disposition,
                    remark: remark.clone(),
                }
                .into())
            }
            Act::Concede { id, by, document } => {
                allow(
                    self.role,
                    &[Role::QualityManager, Role::Designer, Role::Engineer],
                    "record a concession",
                )?;
                check_text("the designer's name", by)?;
                self.open_nonconformance(*id)?;
                Ok(ConcessionGranted { nonconformance: *id, by: by.clone(), document: document.clone() }
                    .into())
            }
            Act::Assess { hold_point, by, document } => {
                allow(
                    self.role,
                    &[Role::QualityManager, Role::Designer, Role::Engineer],
                    "record an assessment",
                )?;
                check_text("the designer's name", by)?;
                let own = self.standing_of(hold_point)?;
                if own.state != HoldPointState::InQuestion {
                    return Err(Refusal::State {
                        hold_point: own.title.clone(),
                        state: own.state.word(),
                        why: "only a hold point in question is assessed in writing",
                    });
                }
                Ok(Assessed { hold_point: hold_point.clone(), by: by.clone(), document: document.clone() }
                    .into())
            }
        }
    }

    fn hold_point(&self, id: &HoldPointId) -> Result<&HoldPoint, Refusal> {
        self.record.plan.hold_point(id).ok_or_else(|| Refusal::NoHoldPoint(id.clone()))
    }

    fn standing_of(&self, id: &HoldPointId) -> Result<&HoldPointStanding, Refusal> {
        self.standing.hold_point(id).ok_or_else(|| Refusal::NoHoldPoint(id.clone()))
    }

    /// Readings, answers, photos and documents, new or in the place of an earlier one.
    fn evidence(&self, act: &Act, supersedes: Option<Supersedes>) -> Result<Fact, Refusal> {
        let payload: Payload = match act {
            Act::BookReading { hold_point, criterion, point, value, instrument } => {
                let own = self.hold_point(hold_point)?;
                let asked = criterion_of(own, criterion)?;
                let CriterionKind::Reckoning { feed, .. } = asked.kind else {
                    return Err(Refusal::WrongKind {
                        criterion: criterion.clone(),
                        kind: kind_of(&asked.kind),
                        instead: instead_of(&asked.kind),
                    });
                };
                judge::check_reading(self.record, feed, asked, point, *value)?;
                if let Some(instrument) = instrument {
                    check_text("the instrument", instrument)?;
                    let is_gauge = matches!(value, ReadValue::Go | ReadValue::NoGo);
                    if is_gauge && instrument.chars().take(MAX_NAME + 1).count() > MAX_NAME {
                        return Err(Refusal::Text(format!(
                            "a gauge's name has at most {MAX_NAME} characters"
                        )));
                    }
                }
                ReadingBooked {
                    hold_point: hold_point.clone(),
                    criterion: criterion.clone(),
                    point: point.clone(),
                    value: *value,
                    instrument: instrument.clone(),
                }
                .into()
            }
            Act::Answer { hold_point, criterion, answer, reason, remark } => {
                self.answer(hold_point, criterion, *answer, reason.as_ref(), supersedes.as_ref())?;
                if let Some(remark) = remark {
                    check_text("the remark", remark)?;
                }
                QuestionAnswered {
                    hold_point: hold_point.clone(),
                    criterion: criterion.clone(),
                    answer: *answer,
                    reason: reason.clone(),
                    remark: remark.clone(),
                }
                .into()
            }
            Act::AddPhoto(photo) => {
                let own = self.hold_point(&photo.hold_point)?;
                judge::check_subject(self.record, own, &photo.subject)?;
                if let Some(caption) = &photo.caption {
                    check_text("the caption", caption)?;
                }
                photo.clone().into()
            }
            Act::Attach { hold_point, criterion, document } => {
                let own = self.hold_point(hold_point)?;
                let asked = criterion_of(own, criterion)?;
                if !matches!(asked.kind, CriterionKind::Document { .. }) {
                    return Err(Refusal::WrongKind {
                        criterion: criterion.clone(),
                        kind: kind_of(&asked.kind),
                        instead: instead_of(&asked.kind),
                    });
                }
                DocumentAttached {
                    hold_point: hold_point.clone(),
                    criterion: criterion.clone(),
                    document: document.clone(),
                }
                .into()
            }
            Act::BookDelivery(note) => {
                self.delivery(note, supersedes.as_ref())?;
                note.clone().into()
            }
            Act::BookTicket(ticket) => {
                self.ticket(ticket, supersedes.as_ref())?;
                TicketBooked::clone(ticket).into()
            }
            Act::BookPour(fact) => {
                pour_rules::check(self.record, fact, supersedes.as_ref())?;
                fact.clone().into()
            }
            Act::NotePlacing(placing) => {
                curing::check_placing(self.record, placing, supersedes.as_ref())?;
                placing.clone().into()
            }
            Act::BookTemperatures(booked) => {
                curing::check_temperatures(self.record, booked, supersedes.as_ref())?;
                booked.clone().into()
            }
            Act::BookLabel(label) => {
                paper_criterion(self.record, &label.hold_point, &label.criterion, Feed::OverlayLabels)?;
                layer_rules::label(self.record, label, supersedes.as_ref())?;
                label.clone().into()
            }
            Act::BookPressureTest(test) => {
                paper_criterion(self.record, &test.hold_point, &test.criterion, Feed::HeatingTests)?;
                layer_rules::pressure_test(self.record, test, supersedes.as_ref())?;
                test.clone().into()
            }
            Act::BookSight(sight) => {
                let place = supersedes.as_ref().and_then(|by| {
                    self.record.level_book(&sight.book).and_then(|book| book.place_of(by.entry))
                });
                level_book_rules::sight(self.record, sight, place)?;
                if let Some(remark) = &sight.remark {
                    check_text("the remark", remark)?;
                }
                sight.clone().into()
            }
            _ => {
                return Err(Refusal::Supersede(
                    "only a reading, a sight, an answer, a photo or a document can take the place of an earlier one"
                        .to_owned(),
                ));
            }
        };
        Ok(Fact { payload, supersedes })
    }

    fn answer(
        &self,
        hold_point: &HoldPointId,
        criterion: &CriterionId,
        answer: Answer,
        reason: Option<&String>,
        supersedes: Option<&Supersedes>,
    ) -> Result<(), Refusal> {
        let own = self.hold_point(hold_point)?;
        let asked = criterion_of(own, criterion)?;
        let reasons = match &asked.kind {
            CriterionKind::Question { not_applicable_reasons } => not_applicable_reasons,
            CriterionKind::Document { not_applicable_reasons, .. } if answer == Answer::NotApplicable => {
                not_applicable_reasons
            }
            kind => {
                return Err(Refusal::WrongKind {
                    criterion: criterion.clone(),
                    kind: kind_of(kind),
                    instead: instead_of(kind),
                });
            }
        };
        match (answer, reason) {
            (Answer::NotApplicable, Some(reason)) if reasons.contains(reason) => {}
            (Answer::NotApplicable, _) if reasons.is_empty() => {
                return Err(Refusal::Reason(format!("{criterion} always applies: answer yes or no")));
            }
            (Answer::NotApplicable, _) => {
                return Err(Refusal::Reason(format!(
                    "not applicable needs one of the plan's reasons: {}",
                    reasons.join("; ")
                )));
            }
            (_, Some(_)) => {
                return Err(Refusal::Reason(
                    "a reason goes with not applicable only; use a remark".to_owned(),
                ));
            }
            (_, None) => {}
        }
        let before = self.record.answers.iter().find(|one| {
            one.fact.hold_point == *hold_point && one.fact.criterion == *criterion && one.superseded.is_none()
        });
        match before {
            Some(before) if supersedes.is_none_or(|by| by.entry != before.noted.id) => {
                Err(Refusal::Already(format!("{criterion} is answered already")))
            }
            _ => Ok(()),
        }
    }

    fn supersedes(
        &self,
        id: EntryId,
        because: Because,
        remark: Option<&String>,
        with: &Act,
    ) -> Result<Supersedes, Refusal> {
        if let Some(remark) = remark {
            check_text("the remark", remark)?;
        }
        let refuse = |what: &str| Refusal::Supersede(what.to_owned());
        let found = |superseded: bool, alike: bool| match (superseded, alike) {
            (true, _) => {
                Err(refuse("that entry was superseded before: supersede the one that took its place"))
            }
            (false, false) => Err(refuse(
                "what takes its place must be of the same kind, for the same hold point and criterion",
            )),
            (false, true) => Ok(()),
        };
        let record = self.record;
        let sight =
            record.level_books.iter().flat_map(|book| &book.sights).find(|one| one.kept.noted.id == id);
        let readings = record.all_readings();
        let own: Vec<&Reading> = readings.iter().filter(|one| one.entry == id).collect();
        if let Some(sight) = sight {
            let fact = &sight.kept.fact;
            let alike = match with {
                // In the same book it takes the earlier one's place; in another it is read again, and the earlier
                // one stays in its own book's sums.
                Act::BookSight(new) if new.book == fact.book => new.sight == fact.sight,
                Act::BookSight(new) => {
                    !own.is_empty() && new.point == fact.point && new.sight != SightKind::Back
                }
                with => own.iter().any(|one| is_reading_for(with, one)),
            };
            found(sight.kept.superseded.is_some(), alike)?;
            check_because(record, &own, &fact.point, because, with)?;
        } else if let Some(kept) = record.readings.iter().find(|one| one.noted.id == id) {
            let alike = match with {
                Act::BookSight(new) => record.level_book(&new.book).is_some_and(|book| {
                    let serves = &book.begun.serves;
                    new.point == kept.fact.point
                        && new.sight != SightKind::Back
                        && serves.iter().any(|one| {
                            one.hold_point == kept.fact.hold_point && one.criterion == kept.fact.criterion
                        })
                }),
                with => own.iter().any(|one| is_reading_for(with, one)),
            };
            found(kept.superseded.is_some(), alike)?;
            check_because(record, &own, &kept.fact.point, because, with)?;
        } else if because == Because::Measured {
            return Err(refuse("only a gauge that did not pass is measured by what takes its place"));
        } else if let Some(kept) = record.answers.iter().find(|one| one.noted.id == id) {
            let alike = matches!(with, Act::Answer { hold_point, criterion, .. }
                if *hold_point == kept.fact.hold_point && *criterion == kept.fact.criterion);
            found(kept.superseded.is_some(), alike)?;
        } else if let Some(kept) = record.photos.iter().find(|one| one.noted.id == id) {
            found(kept.superseded.is_some(), matches!(with, Act::AddPhoto(_)))?;
        } else if let Some(kept) = record.documents.iter().find(|one| one.noted.id == id) {
            found(kept.superseded.is_some(), matches!(with, Act::Attach { .. }))?;
        } else {
            let own =
                record.deliveries.iter().find(|one| one.noted.id == id).map(|one| one.superseded.is_some());
            let ticket =
                record.tickets.iter().find(|one| one.noted.id == id).map(|one| one.superseded.is_some());
            let placing = curing::superseded(&record.placings, id);
            let temperatures = curing::superseded(&record.temperatures, id);
            if let Some(gone) = placing {
                found(gone, matches!(with, Act::NotePlacing(_)))?;
                return Ok(Supersedes { entry: id, because, remark: remark.cloned() });
            }
            if let Some(gone) = temperatures {
                found(gone, matches!(with, Act::BookTemperatures(_)))?;
                return Ok(Supersedes { entry: id, because, remark: remark.cloned() });
            }
            if let Some(gone) = record.labels.iter().find(|one| one.noted.id == id) {
                found(gone.superseded.is_some(), matches!(with, Act::BookLabel(_)))?;
                return Ok(Supersedes { entry: id, because, remark: remark.cloned() });
            }
            if let Some(gone) = record.pressure_tests.iter().find(|one| one.noted.id == id) {
                found(gone.superseded.is_some(), matches!(with, Act::BookPressureTest(_)))?;
                return Ok(Supersedes { entry: id, because, remark: remark.cloned() });
            }
            let pour = record.pour.iter().find(|one| one.noted.id == id);
            match (own, ticket, pour) {
                (Some(gone), _, _) => found(gone, matches!(with, Act::BookDelivery(_)))?,
                (_, Some(gone), _) => found(gone, matches!(with, Act::BookTicket(_)))?,
                (_, _, Some(kept)) => found(
                    kept.superseded.is_some(),
                    matches!(with, Act::BookPour(new) if std::mem::discriminant(new) == std::mem::discriminant(&kept.fact)),
                )?,
                (None, None, None) => return Err(refuse(NOTHING_TO_SUPERSEDE)),
            }
            return Ok(Supersedes { entry: id, because, remark: remark.cloned() });
        }
        Ok(Supersedes { entry: id, because, remark: remark.cloned() })
    }

    fn delivery(&self, note: &DeliveryBooked, supersedes: Option<&Supersedes>) -> Result<(), Refusal> {
        paper_criterion(self.record, &note.hold_point, &note.criterion, Feed::Deliveries)?;
        check_text("the note's number", &note.note)?;
        if let Some(revision) = &note.revision {
            check_text("the drawing revision", revision)?;
        }
        if note.lines.is_empty() {
            return Err(Refusal::Text("a delivery note has at least one line".to_owned()));
        }
        for batch in note.lines.iter().filter_map(|line| line.batch.as_ref()) {
            check_text("the batch", batch)?;
        }
        let standing = self.record.deliveries.iter().filter(|kept| kept.superseded.is_none());
        let same = standing.into_iter().find(|kept| kept.fact.note == note.note);
        if same.is_some_and(|same| supersedes.is_none_or(|by| by.entry != same.noted.id)) {
            return Err(Refusal::Already(format!("note {} is booked already", note.note)));
        }
        let mut before = self.record.clone();
        if let Some(by) = supersedes {
            before.deliveries.retain(|kept| kept.noted.id != by.entry);
        }
        let input = beam_feeds::delivery_input(&before, Some(note));
        crate::reckon::delivery::reckon(&input).map(drop).map_err(Refusal::File)
    }

    fn ticket(&self, ticket: &TicketBooked, supersedes: Option<&Supersedes>) -> Result<(), Refusal> {
        let of_pour = pour_rules::is_of_topping(self.record, ticket);
        let wanted = if of_pour { Feed::PourTickets } else { Feed::DoubledBeamTickets };
        paper_criterion(self.record, &ticket.hold_point, &ticket.criterion, wanted)?;
        check_text("the ticket's number", &ticket.ticket)?;
        let standing = self.record.tickets.iter().filter(|kept| kept.superseded.is_none());
        let same = standing.into_iter().find(|kept| kept.fact.ticket == ticket.ticket);
        if same.is_some_and(|same| supersedes.is_none_or(|by| by.entry != same.noted.id)) {
            return Err(Refusal::Already(format!("ticket {} is booked already", ticket.ticket)));
        }
        pour_rules::ticket(self.record, ticket)
    }

    /// A level book with all of its sights, all or nothing.
    fn whole_level_book(&self, begun: &LevelBookBegun, sights: &[SightBooked]) -> Result<Vec<Fact>, Refusal> {
        level_book_rules::begin(self.record, begun)?;
        let mut faults = Faults::new();
        if sights.is_empty() {
            faults.add("", "a level book that is taken in has at least one sight");
        }
        if let Err((index, refusal)) =
            level_book_rules::whole(self.record, begun, self.record.design_entry(), sights)
        {
            faults.add(format!("/sights/{index}"), refusal.to_string());
        }
        for (index, sight) in sights.iter().enumerate() {
            if let Some(Err(refusal)) = sight.remark.as_ref().map(|remark| check_text("the remark", remark)) {
                faults.add(format!("/sights/{index}/remark"), refusal.to_string());
            }
        }
        faults.into_result(()).map_err(Refusal::File)?;
        let begun: Fact = begun.clone().into();
        Ok(std::iter::once(begun).chain(sights.iter().map(|one| one.clone().into())).collect())
    }

    /// The hold points that an extent means, with the gate.
    fn extent(&self, extent: &Extent) -> Result<(Vec<&HoldPointStanding>, Option<GateId>), Refusal> {
        match extent {
            Extent::HoldPoint(id) => Ok((vec![self.standing_of(id)?], None)),
            Extent::Gate(id) => {
                self.record.plan.gate(id).ok_or_else(|| Refusal::NoGate(id.clone()))?;
                let all = self.standing.hold_points.iter().filter(|one| one.gate == *id);
                Ok((all.collect(), Some(id.clone())))
            }
        }
    }

    fn offer(&self, extent: &Extent) -> Result<(Vec<HoldPointId>, Option<GateId>), Refusal> {
        let (all, gate) = self.extent(extent)?;
        let mut offered = Vec::new();
        for own in all {
            let point = self.hold_point(&own.id)?;
            allow(self.role, &point.offered_by, &format!("offer {}", own.title))?;
            match own.state {
                HoldPointState::Released | HoldPointState::UnderConcession if gate.is_some() => continue,
                HoldPointState::Offered if gate.is_some() => continue,
                HoldPointState::Open | HoldPointState::Refused => {}
                HoldPointState::NotOpen => {
                    return Err(Refusal::NotOpen {
                        hold_point: own.title.clone(),
                        waiting_for: self.titles(&own.waiting_for),
                    });
                }
                state => {
                    return Err(Refusal::State {
                        hold_point: own.title.clone(),
                        state: state.word(),
                        why: "it can't be offered",
                    });
                }
            }
            if !own.owed.is_empty() {
                let owed: Vec<String> = own.owed.iter().map(|owed| owed.what.clone()).collect();
                return Err(Refusal::Owed { hold_point: own.title.clone(), owed: list(&owed) });
            }
            offered.push(own.id.clone());
        }
        if offered.is_empty() {
            return Err(Refusal::State {
                hold_point: "this gate".to_owned(),
                state: "offered or released whole",
                why: "nothing in it is left to offer",
            });
        }
        Ok((offered, gate))
    }

    /// What is offered of an extent, which this person may release or refuse.
    fn offered(&self, extent: &Extent, what: &str) -> Result<(Vec<HoldPointId>, Option<GateId>), Refusal> {
        let (all, gate) = self.extent(extent)?;
        let mut offered = Vec::new();
        for own in all {
            let point = self.hold_point(&own.id)?;
            allow(self.role, &point.released_by, &format!("{what} {}", own.title))?;
            match own.state {
                HoldPointState::Offered => offered.push(own.id.clone()),
                // Who signs off releases it by that: nobody has to offer it first.
                HoldPointState::Open if is_sign_off(&own.id) && what == "release" => {
                    offered.push(own.id.clone())
                }
                _ if gate.is_some() && what == "refuse" => {}
                HoldPointState::Released | HoldPointState::UnderConcession if gate.is_some() => {}
                _ if own.kind == HoldPointKind::Witness && gate.is_some() => {}
                state => {
                    return Err(Refusal::State {
                        hold_point: own.title.clone(),
                        state: state.word(),
                        why: "only what is offered can be released or refused",
                    });
                }
            }
        }
        if offered.is_empty() {
            return Err(Refusal::State {
                hold_point: "this gate".to_owned(),
                state: "not offered",
                why: "only what is offered can be released or refused",
            });
        }
        Ok((offered, gate))
    }

    fn release(&self, extent: &Extent) -> Result<(Vec<HoldPointId>, Option<GateId>), Refusal> {
        let (offered, gate) = self.offered(extent, "release")?;
        let together: BTreeSet<_> = offered.iter().collect();
        for id in &offered {
            let own = self.standing_of(id)?;
            if !own.owed.is_empty() || !own.unsettled.is_empty() {
                let owed = own.owed.iter().map(|owed| format!("owed {}", owed.what));
                let unsettled: Vec<String> = own.unsettled.iter().cloned().chain(owed).collect();
                return Err(Refusal::Unsettled {
                    hold_point: own.title.clone(),
                    unsettled: list(&unsettled),
                });
            }
            let before = crate::plan_of_work::prerequisites(&self.record.plan, self.record.design());
            let missing: Vec<HoldPointId> = before
                .get(id)
                .into_iter()
                .flatten()
                .filter(|one| !together.contains(one))
                .filter(|one| {
                    self.standing
                        .hold_point(one)
                        .filter(|one| !(is_sign_off(id) && one.is_awaited()))
                        .is_some_and(|one| one.kind == HoldPointKind::Hold && !one.state.is_passed())
                })
                .cloned()
                .collect();
            if !missing.is_empty() {
                return Err(Refusal::NotOpen {
                    hold_point: own.title.clone(),
                    waiting_for: self.titles(&missing),
                });
            }
            // Its questions are the signer's own to answer.
            if !is_sign_off(id)
                && !self.record.plan.self_release
                && judge::booked_by(self.record, id) == BTreeSet::from([self.by])
            {
                return Err(Refusal::OwnWork(own.title.clone()));
            }
        }
        Ok((offered, gate))
    }

    fn titles(&self, ids: &[HoldPointId]) -> String {
        let title =
            |id: &HoldPointId| self.standing.hold_point(id).map_or(id.to_string(), |one| one.title.clone());
        list(&ids.iter().map(title).collect::<Vec<_>>())
    }

    fn open_nonconformance(&self, id: EntryId) -> Result<(), Refusal> {
        match self.standing.nonconformances().find(|one| one.id == id) {
            None => Err(Refusal::NoNonconformance(id)),
            Some(one) if matches!(one.state, NonconformanceState::Open) => Ok(()),
            Some(_) => Err(Refusal::SettledAlready(id)),
        }
    }
}

/// Whether an act books a reading of the same criterion as an earlier one.
fn is_reading_for(act: &Act, earlier: &Reading) -> bool {
    matches!(act, Act::BookReading { hold_point, criterion, .. }
        if *hold_point == earlier.hold_point && *criterion == earlier.criterion)
}

/// Checks the reason for which a reading or sight is superseded.
fn check_because(
    record: &PlotRecord,
    earlier: &[&Reading],
    at: &PointName,
    because: Because,
    with: &Act,
) -> Result<(), Refusal> {
    let moved = match with {
        Act::BookReading { point, .. } => point != at,
        Act::BookSight(new) => new.point != *at,
        _ => false,
    };
    let gauged = earlier.iter().any(|one| one.value == ReadValue::NoGo);
    let number = matches!(with, Act::BookReading { value: ReadValue::Um(_), .. });
    if because == Because::Measured && !(gauged && number) {
        return Err(Refusal::Supersede(
            "only a number in the place of a gauge that did not pass is its measure".to_owned(),
        ));
    }
    if moved && because != Because::Mistake {
        return Err(Refusal::Supersede(
            "a reading that moves to another point was a mistake, not misread or reworked".to_owned(),
        ));
    }
    let failed = earlier.iter().any(|one| {
        judge::reading(record, one)
            .is_some_and(|trial| trial.verdict == crate::conformity::Verdict::Nonconforming)
    });
    if failed && !moved && because == Because::Mistake {
        return Err(Refusal::Supersede(
            "say whether the nonconforming reading was misread or the work was reworked".to_owned(),
        ));
    }
    Ok(())
}

/// Checks that a criterion is the one that papers of that kind belong to.
pub(super) fn paper_criterion(
    record: &PlotRecord,
    hold_point: &HoldPointId,
    criterion: &CriterionId,
    wanted: Feed,
) -> Result<(), Refusal> {
    let own = record.plan.hold_point(hold_point).ok_or_else(|| Refusal::NoHoldPoint(hold_point.clone()))?;
    let asked = criterion_of(own, criterion)?;
    match asked.kind {
        CriterionKind::Reckoning { feed, .. } if feed == wanted => Ok(()),
        _ => Err(Refusal::WrongKind {
            criterion: criterion.clone(),
            kind: kind_of(&asked.kind),
            instead: instead_of(&asked.kind),
        }),
    }
}

pub(super) fn criterion_of<'p>(
    hold_point: &'p HoldPoint,
    id: &CriterionId,
) -> Result<&'p Criterion, Refusal> {
    hold_point.criterion(id).ok_or_else(|| Refusal::NoCriterion {
        hold_point: hold_point.id.clone(),
        criterion: id.clone(),
        known: list(&hold_point.criteria.iter().map(|one| one.id.to_string()).collect::<Vec<_>>()),
    })
}

fn kind_of(kind: &CriterionKind) -> &'static str {
    match kind {
        CriterionKind::Reckoning { .. } => "measured",
        CriterionKind::Question { .. } => "a question",
        CriterionKind::Document { .. } => "a document",
    }
}

fn instead_of(kind: &CriterionKind) -> &'static str {
    match kind {
        CriterionKind::Reckoning { .. } => "book a reading",
        CriterionKind::Question { .. } => "answer it",
        CriterionKind::Document { .. } => "attach it, or answer not-applicable with a reason",
    }
}

/// Checks that a value has the unit that its feed reads.
pub(super) fn wrong_unit(value: ReadValue, wanted: &str, key: &str) -> Refusal {
    Refusal::WrongUnit(format!("{} is no reading in {wanted}: give {key}", judge::value_text(value)))
}
