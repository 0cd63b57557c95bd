//! What a sign-off says, in words and marks: a pure function of the evidence.
//!
//! Never here: where on a page something stands (see [`super::layout`]); a verdict of its own (they come from
//! [`crate::inspection`]).
//!
//! Longer than most files because the document's whole vocabulary stands in it, so that it can be read in one place.

use super::beams::BeamsPart;
use super::evidence::{Evidence, Opened, Purpose};
use super::layers::LayersPart;
use super::level_books::LevelBookPart;
use super::marks::Mark;
use super::pour::PourPart;
use crate::chart::{self, Chart};
use crate::conformity::Verdict;
use crate::entry::{Answer, Because};
use crate::floor::FloorDesign;
use crate::identity::Certificate;
use crate::ids::{DeviceId, PersonId, Sha256Digest};
use crate::inspection::fold::{Decided, DecisionNoted, Kept, Noted};
use crate::inspection::judge::{self, CriterionStanding, FindingStanding, ReadingStanding, Reckoned};
use crate::inspection::standing::{Nonconformance, NonconformanceState, is_sign_off};
use crate::inspection::what_to_do::what_to_do;
use crate::inspection::{HoldPointStanding, HoldPointState, curing, finish_feeds, underlay};
use crate::plan_drawing::{Drawing, Parts};
use crate::plan_of_work::{CriterionKind, Feed, ReckoningName, SignOffRule};
use crate::working::Step;

/// A line with its mark.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// The mark before it.
    pub mark: Mark,
    /// The line.
    pub text: String,
}

/// One row of a table of readings.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingRow {
    /// Where.
    pub point: String,
    /// The value, in the table's unit.
    pub value: String,
    /// Mark, and the words beside it.
    pub verdict: Option<Line>,
    /// Deviation and limit in words.
    pub words: String,
    /// Who booked it, when, with what.
    pub booked: String,
}

/// One criterion.
#[derive(Debug, Clone, PartialEq)]
pub struct CriterionPart {
    /// What must be true.
    pub title: String,
    /// Where that comes from.
    pub source: String,
    /// The limit, with its source.
    pub limit: Option<String>,
    /// Its verdict, or the state of what was asked for.
    pub verdict: Line,
    /// Unit of the readings, as it is printed at the head of their column.
    pub unit: String,
    /// Readings.
    pub readings: Vec<ReadingRow>,
    /// The plan with its readings, and what an offset on it means.
    pub plan: Option<(Drawing, &'static str)>,
    /// Curves and profiles, each with its height in millimetres.
    pub charts: Vec<(Chart, f32)>,
    /// What the readings come to, in one line each.
    pub summary: Vec<Line>,
    /// What the reckoning found beside single readings; source last.
    pub findings: Vec<(Line, String)>,
    /// What would put it right, where it does not conform.
    pub to_do: Vec<String>,
    /// Answer, remarks, documents.
    pub remarks: Vec<String>,
    /// Name of the reckoning.
    pub reckoning: Option<String>,
    /// Its working.
    pub working: Vec<Step>,
}

/// One photograph.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoPart {
    /// The original, as the record names it.
    pub original: Sha256Digest,
    /// Caption, first line strong.
    pub caption: Vec<String>,
}

/// One nonconformance.
#[derive(Debug, Clone, PartialEq)]
pub struct MatterPart {
    /// Its mark and what does not conform.
    pub what: Line,
    /// Who noted it, when.
    pub noted: String,
    /// What became of it.
    pub state: String,
}

/// One hold point.
#[derive(Debug, Clone, PartialEq)]
pub struct HoldPointPart {
    /// Its title.
    pub title: String,
    /// Mark and words of its state.
    pub state: Line,
    /// Its gate.
    pub gate: String,
    /// What is owed.
    pub owed: Vec<String>,
    /// What was decided, in order.
    pub decisions: Vec<String>,
    /// Cautions.
    pub cautions: Vec<String>,
    /// Its criteria.
    pub criteria: Vec<CriterionPart>,
    /// Its nonconformances.
    pub matters: Vec<MatterPart>,
    /// Entries that later ones took the place of.
    pub superseded: Vec<String>,
    /// Its photographs.
    pub photos: Vec<PhotoPart>,
}

/// The whole document.
#[derive(Debug, Clone, PartialEq)]
pub struct Model {
    /// The site.
    pub site: String,
    /// Invented data.
    pub invented: bool,
    /// The plot.
    pub plot: String,
    /// Drawing and revision.
    pub drawing: (String, String),
    /// The design's title and who prepared it.
    pub design: (String, String),
    /// What it is for.
    pub purpose: Purpose,
    /// The day and time on which it was made.
    pub made: crate::time::Timestamp,
    /// The signer's name and role.
    pub signer: Option<(String, String)>,
    /// The authority's fingerprint; empty where its certificate cannot be read.
    pub fingerprint: String,
    /// The overall mark, the lead and the sentence under it.
    pub overall: (Line, String),
    /// What a reader must know before anything else.
    pub outstanding: Vec<Line>,
    /// Hold points.
    pub hold_points: Vec<HoldPointPart>,
    /// Beams and infill; `None` where the design draws none.
    pub beams: Option<BeamsPart>,
    /// The pour; `None` where nothing of one is booked.
    pub pour: Option<PourPart>,
    /// The layers as built; `None` where there is nothing to say.
    pub layers: Option<LayersPart>,
    /// Level books.
    pub level_books: Vec<LevelBookPart>,
    /// The drawing that lies behind the plan on screen, in words; it is on no page.
    pub underlay: Option<String>,
    /// People: name, role, enrolled, state.
    pub people: Vec<[String; 4]>,
    /// Ends of chains: device, number, id.
    pub heads: Vec<[String; 3]>,
    /// The record's root.
    pub root: Sha256Digest,
    /// How many entries.
    pub entries: usize,
    /// Titles and revisions of the plan of work and the limits.
    pub plan: String,
    /// See `plan`.
    pub limits: String,
    /// Every floor design that was in force.
    pub designs: Vec<String>,
    /// The program.
    pub program: String,
}

impl Model {
    /// Puts evidence into words.
    pub fn of(evidence: &Evidence, opened: &Opened) -> Self {
        let words = Words { opened };
        let record = &opened.record;
        let design: &FloorDesign = record.design();
        let site = opened.site.opened.as_ref();
        let authority = site.and_then(|site| certificate(&site.authority));
        let signer = evidence.signing.as_ref().and_then(|signing| {
            let person = opened.site.people.get(&signing.person)?;
            Some((person.enrolled.name.clone(), person.enrolled.role.title().to_owned()))
        });
        Self {
            site: opened.site.site().to_owned(),
            invented: site.is_some_and(|site| site.invented) || design.invented,
            plot: evidence.plot.to_string(),
            drawing: (design.drawing.clone(), design.revision.clone()),
            design: (design.title.clone(), design.prepared_by.clone()),
            purpose: evidence.purpose,
            made: evidence.made,
            signer,
            fingerprint: authority.map_or_else(String::new, |root| root.fingerprint()),
            overall: words.overall(),
            outstanding: words.outstanding(),
            hold_points: opened.standing.hold_points.iter().map(|one| words.hold_point(one)).collect(),
            beams: super::beams::part(record),
            pour: super::pour::part(record, |noted| words.noted(noted)),
            layers: super::layers::part(record),
            underlay: underlay::of(record).map(|(placed, noted)| {
                format!(
                    "{}, page {}, revision {} (SHA-256 {}; {})",
                    placed.document.name,
                    placed.page,
                    placed.revision,
                    placed.document.sha256,
                    words.noted(noted)
                )
            }),
            level_books: super::level_books::parts(record, |noted| words.noted(noted)),
            people: words.people(),
            heads: words.heads(evidence),
            root: evidence.root,
            entries: evidence.entries.len(),
            plan: format!("{}, revision {}", record.plan.title, record.plan.revision),
            limits: format!("{}, revision {}", record.limits.title, record.limits.revision),
            designs: record
                .designs
                .iter()
                .map(|(noted, design)| {
                    format!("{} {}, issued {}", design.drawing, design.revision, noted.time.minute())
                })
                .collect(),
            program: evidence.program.clone(),
        }
    }
}

/// The working of all parts; a step of a part says what it is about.
fn working(reckoned: &[Reckoned]) -> Vec<Step> {
    let of = |part: &Reckoned| -> Vec<Step> {
        let about = part.about.as_ref().map_or(String::new(), |about| format!("{about}: "));
        let say = |step: &Step| {
            let formula = if part.name == ReckoningName::Maturity {
                shortened(&step.formula)
            } else {
                step.formula.clone()
            };
            Step { step: format!("{about}{}", step.step), formula, ..step.clone() }
        };
        part.working.0.iter().map(say).collect()
    };
    reckoned.iter().flat_map(of).collect()
}

/// A sum of many terms as its first and last: a logger's weeks would fill pages. Whole it is reckoned again from the
/// attached evidence.
fn shortened(formula: &str) -> String {
    const MOST: usize = 400;
    let Some((first, rest)) = formula.split_once(", ").filter(|_| formula.len() > MOST) else {
        return formula.to_owned();
    };
    let count = rest.matches(", ").count();
    let last = rest.rsplit(", ").next().unwrap_or_default();
    format!("{first}, … {count} terms more, whole by `gaugerod reckon maturity` from the evidence …, {last}")
}

/// A certificate as the record holds it.
pub fn certificate(hex_der: &str) -> Option<Certificate> {
    Certificate::from_der(&hex::decode(hex_der).ok()?).ok()
}

/// Heights of a profile and of a curve on paper, mm.
const PROFILE: f32 = 42.0;
const CURVE: f32 = 95.0;

struct Words<'a> {
    opened: &'a Opened,
}

impl Words<'_> {
    fn overall(&self) -> (Line, String) {
        let standing = &self.opened.standing;
        let others: Vec<&HoldPointStanding> =
            standing.hold_points.iter().filter(|one| !is_sign_off(&one.id)).collect();
        let settled = others.iter().filter(|one| one.state.is_settled()).count();
        let conceded = others.iter().filter(|one| is_conceded(one)).count();
        let readings: usize = others.iter().flat_map(|one| &one.criteria).map(|one| one.readings.len()).sum();
        let photos: usize = others.iter().flat_map(|one| &one.evidence).map(|one| one.photos.len()).sum();
        let count = format!(
            "{settled} of {} hold points released or under concession; {readings} readings and {photos} photographs.",
            others.len()
        );
        let against = standing.against_sign_off();
        let (mark, lead) = if !against.is_empty() {
            (Mark::Nonconforming, "Not ready: hold points stand open".to_owned())
        } else if !standing.subject_to().is_empty() {
            (Mark::Open, "Released, subject to results that are awaited".to_owned())
        } else if conceded > 0 {
            (Mark::Concession, format!("Released, {conceded} under concession"))
        } else {
            (Mark::Conforming, "Every hold point is released".to_owned())
        };
        let first = standing.first_time;
        let first = format!("{} of {} first readings and answers were OK.", first.conforming, first.of);
        (Line { mark, text: lead }, format!("{count} {first}"))
    }

    fn outstanding(&self) -> Vec<Line> {
        let standing = &self.opened.standing;
        let mut lines: Vec<Line> = standing
            .subject_to()
            .into_iter()
            .map(|what| Line { mark: Mark::Open, text: format!("Subject to {what}") })
            .collect();
        lines.extend(self.against_since());
        for one in &standing.hold_points {
            for decision in &one.decisions {
                if let Decided::Covered(reason) = &decision.decided {
                    let text = format!(
                        "Covered without release: {}. {} ({})",
                        one.title,
                        reason,
                        self.noted(&decision.noted)
                    );
                    lines.push(Line { mark: Mark::Nonconforming, text });
                }
            }
        }
        for one in standing.nonconformances() {
            if let NonconformanceState::Settled(settled) = &one.state
                && settled.concession
            {
                let text =
                    format!("Conceded: {} ({}; {})", one.what, settled.how, self.noted(&settled.noted));
                lines.push(Line { mark: Mark::Concession, text });
            }
        }
        for one in &standing.hold_points {
            let assessed = one.decisions.iter().filter_map(|decision| match &decision.decided {
                Decided::Assessed { by, .. } => Some((by, &decision.noted)),
                _ => None,
            });
            lines.extend(assessed.map(|(by, noted)| {
                let text = format!(
                    "{}: was in question, assessed in writing by {by} ({})",
                    one.title,
                    self.noted(noted)
                );
                Line { mark: Mark::Concession, text }
            }));
        }
        for one in standing.nonconformances().filter(|one| one.is_open()) {
            lines.push(Line { mark: Mark::Nonconforming, text: format!("Open: {}", one.what) });
        }
        lines.extend(standing.against_sign_off().into_iter().map(|text| Line { mark: Mark::Open, text }));
        lines.extend(standing.unknown.iter().map(|(_, what)| Line {
            mark: Mark::Undetermined,
            text: format!("An entry that this program does not understand: {what}"),
        }));
        lines
    }

    /// What the sign-off went out subject to and has turned out against it since.
    fn against_since(&self) -> Option<Line> {
        let (_, signed) = self.opened.record.sign_offs.last()?;
        let failed = self.opened.standing.hold_points.iter().find(|one| {
            one.sign_off == SignOffRule::SubjectTo
                && one.verdict == Verdict::Nonconforming
                && !one.is_awaited()
        })?;
        let text = format!(
            "Signed off before ({}), subject to {}: it does not conform",
            self.noted(signed),
            failed.title
        );
        Some(Line { mark: Mark::Nonconforming, text })
    }

    fn hold_point(&self, one: &HoldPointStanding) -> HoldPointPart {
        let record = &self.opened.record;
        let gate =
            record.plan.gate(&one.gate).map_or_else(|| one.gate.to_string(), |gate| gate.title.clone());
        let mark = match one.state {
            HoldPointState::Released if is_conceded(one) => Mark::Concession,
            HoldPointState::Released => Mark::of(one.verdict),
            HoldPointState::UnderConcession => Mark::Concession,
            HoldPointState::Refused | HoldPointState::CoveredUnreleased | HoldPointState::InQuestion => {
                Mark::Nonconforming
            }
            HoldPointState::NotOpen | HoldPointState::Open | HoldPointState::Offered => Mark::Open,
        };
        HoldPointPart {
            title: one.title.clone(),
            state: Line { mark, text: one.state.word().to_owned() },
            gate,
            owed: one
                .owed
                .iter()
                .map(|owed| match &owed.point {
                    Some(point) => format!("{} ({point})", owed.what),
                    None => owed.what.clone(),
                })
                .collect(),
            decisions: one.decisions.iter().map(|decision| self.decision(decision)).collect(),
            cautions: one.cautions.clone(),
            criteria: one.criteria.iter().map(|criterion| self.criterion(criterion)).collect(),
            matters: one.nonconformances.iter().map(|matter| self.matter(matter)).collect(),
            superseded: self.superseded(one),
            photos: self.photos(one),
        }
    }

    fn criterion(&self, one: &CriterionStanding) -> CriterionPart {
        let unit = one.feed().and_then(Feed::unit);
        let mut remarks: Vec<String> = one
            .documents
            .iter()
            .map(|(file, noted)| {
                format!("{} (SHA-256 {}; {})", file.name, file.sha256.short(), self.noted(noted))
            })
            .collect();
        if let Some(answer) = &one.answer {
            remarks.extend(answer.reason.iter().map(|reason| format!("does not apply: {reason}")));
            remarks.extend(answer.remark.iter().map(|remark| format!("remark: {remark}")));
            remarks.push(format!("answered by {}", self.noted(&answer.noted)));
            remarks.extend(answer.settled.iter().map(|settled| settled.how.clone()));
        }
        let quantity = one.feed().map_or("", |feed| feed.quantity());
        remarks.extend(one.papers.iter().map(|paper| {
            format!("{}: {} ({})", paper.title, paper.lines.join("; "), self.noted(&paper.noted))
        }));
        CriterionPart {
            title: one.title.clone(),
            source: one.source.clone(),
            limit: one.limit.clone(),
            verdict: criterion_line(one),
            // The quantity itself stands in the title and the limit: a column has no room for it.
            unit: unit.map_or_else(|| quantity.to_owned(), |unit| format!("Read, {}", unit.symbol())),
            readings: one.readings.iter().map(|reading| self.reading(one, reading)).collect(),
            plan: self.plan(one),
            charts: self.charts(one),
            summary: finish_feeds::summary(one)
                .into_iter()
                .map(|(verdict, text)| Line { mark: Mark::of(verdict), text })
                .collect(),
            findings: one.findings.iter().map(finding).collect(),
            to_do: what_to_do(&self.opened.record, one).map_or_else(Vec::new, |to_do| to_do.sentences()),
            remarks,
            reckoning: one.reckoned.first().map(|reckoned| reckoned.name.as_str().to_owned()),
            working: working(&one.reckoned),
        }
    }

    /// The plan of a criterion whose readings are levels at places of the design.
    fn plan(&self, one: &CriterionStanding) -> Option<(Drawing, &'static str)> {
        let offsets = match one.feed()? {
            Feed::BearingLevels => "out of the floor too high, into it too low.",
            Feed::ToppingDepths | Feed::FinishLevels => "",
            Feed::GroundLevels | Feed::GroundAsBuilt => {
                "up the sheet more void than asked for, down the sheet too little."
            }
            Feed::PopUpPlaces => "",
            Feed::LayerOrder => {
                let parts = Parts { services: true, membranes: true };
                let drawing = Drawing::of(self.opened.record.design(), None, parts);
                return (!drawing.services.is_empty()).then_some((drawing, ""));
            }
            _ => return None,
        };
        let parts = Parts { services: true, membranes: false };
        let drawing = Drawing::of(self.opened.record.design(), Some(one), parts);
        (!one.readings.is_empty() && !drawing.points.is_empty()).then_some((drawing, offsets))
    }

    /// The profile under the worst place of the straightedge, or the maturity curve.
    fn charts(&self, one: &CriterionStanding) -> Vec<(Chart, f32)> {
        match one.feed() {
            Some(Feed::FinishLevels) => {
                let profile = finish_feeds::worst_gap(one).and_then(|(worst, input)| {
                    chart::profile::chart(&worst, &input, super::chart::room(f64::from(PROFILE)))
                });
                profile.into_iter().map(|chart| (chart, PROFILE)).collect()
            }
            // The curve shows both ages: once is enough.
            Some(Feed::WalkingAge) => curing::course(&self.opened.record)
                .map(|course| (chart::maturity::chart(&course, super::chart::room(f64::from(CURVE))), CURVE))
                .into_iter()
                .collect(),
            _ => Vec::new(),
        }
    }

    fn reading(&self, criterion: &CriterionStanding, one: &ReadingStanding) -> ReadingRow {
        let value = match criterion.feed().and_then(Feed::unit) {
            Some(unit) => judge::value_in_unit(one.value, unit),
            None => judge::value_text(one.value),
        };
        let verdict = one.trial.as_ref().map(|trial| {
            let word = Mark::of(trial.verdict).word();
            match &one.settled {
                Some(settled) if settled.concession => {
                    Line { mark: Mark::Concession, text: format!("{word}, conceded") }
                }
                Some(_) => Line { mark: Mark::of(trial.verdict), text: format!("{word}, closed") },
                None => Line { mark: Mark::of(trial.verdict), text: word.to_owned() },
            }
        });
        let instrument = one.instrument.as_ref().map_or(String::new(), |with| format!(", {with}"));
        let from = one
            .trace
            .as_ref()
            .map_or(String::new(), |trace| format!(", book {} set-up {}", trace.book, trace.setup));
        ReadingRow {
            point: one.point.to_string(),
            value,
            verdict,
            words: one.trial.as_ref().map_or_else(String::new, |trial| trial.words.clone()),
            booked: format!("{}{instrument}{from}", self.noted(&one.noted)),
        }
    }

    fn decision(&self, one: &DecisionNoted) -> String {
        let what = match &one.decided {
            Decided::Offered => "offered".to_owned(),
            Decided::Released => "released".to_owned(),
            Decided::Refused(reason) => format!("refused: {reason}"),
            Decided::Covered(reason) => format!("covered without release: {reason}"),
            Decided::Assessed { by, document } => {
                format!(
                    "assessed in writing by {by} ({}, SHA-256 {})",
                    document.name,
                    document.sha256.short()
                )
            }
        };
        let lapsed = if one.lapsed.is_some() { "; the release lapsed later" } else { "" };
        format!("{what} by {}{lapsed}", self.noted(&one.noted))
    }

    fn matter(&self, one: &Nonconformance) -> MatterPart {
        let (mark, state) = match &one.state {
            NonconformanceState::Open => (Mark::Nonconforming, "open".to_owned()),
            NonconformanceState::Replaced { because, .. } => {
                (Mark::Conforming, format!("a later entry took its place: {}", because_words(*because)))
            }
            NonconformanceState::Settled(settled) => {
                let mark = if settled.concession { Mark::Concession } else { Mark::Conforming };
                let document = settled.document.as_ref().map_or(String::new(), |file| {
                    format!(" ({}, SHA-256 {})", file.name, file.sha256.short())
                });
                (mark, format!("{}{document}, {}", settled.how, self.noted(&settled.noted)))
            }
        };
        MatterPart { what: Line { mark, text: one.what.clone() }, noted: self.noted(&one.noted), state }
    }

    fn superseded(&self, one: &HoldPointStanding) -> Vec<String> {
        fn gone<T>(kept: &Kept<T>) -> Option<&'static str> {
            kept.superseded.map(|(_, because)| because_words(because))
        }
        let record = &self.opened.record;
        let readings =
            record.all_readings().into_iter().filter(|kept| kept.hold_point == one.id).filter_map(|kept| {
                let because = because_words(kept.superseded?.1);
                let unit =
                    one.criterion(&kept.criterion).and_then(CriterionStanding::feed).and_then(Feed::unit);
                let value = match unit {
                    Some(unit) => format!("{} {}", judge::value_in_unit(kept.value, unit), unit.symbol()),
                    None => judge::value_text(kept.value),
                };
                Some(format!("{}: {value}, {because} ({})", kept.point, self.noted(&kept.noted)))
            });
        let answers =
            record.answers.iter().filter(|kept| kept.fact.hold_point == one.id).filter_map(|kept| {
                let because = gone(kept)?;
                let asked = one.criterion(&kept.fact.criterion);
                let title =
                    asked.map_or_else(|| kept.fact.criterion.to_string(), |asked| asked.title.clone());
                let answer = answer_word(kept.fact.answer);
                Some(format!("{title}: {answer}, {because} ({})", self.noted(&kept.noted)))
            });
        let photos = record.photos.iter().filter(|kept| kept.fact.hold_point == one.id).filter_map(|kept| {
            let because = gone(kept)?;
            let photo = kept.fact.photo.short();
            Some(format!(
                "photograph {photo} of {}, {because} ({})",
                kept.fact.subject,
                self.noted(&kept.noted)
            ))
        });
        readings.chain(answers).chain(photos).collect()
    }

    fn photos(&self, one: &HoldPointStanding) -> Vec<PhotoPart> {
        let known = one
            .evidence
            .iter()
            .flat_map(|asked| asked.photos.iter().map(|(photo, noted)| (asked.title.as_str(), photo, noted)));
        known
            .map(|(title, photo, noted)| {
                let mut caption = vec![format!("{title} ({})", photo.subject)];
                caption.extend(photo.caption.clone());
                let taken = photo.captured.map_or_else(
                    || "the camera states no time".to_owned(),
                    |time| format!("taken {} by the camera's clock", time.minute()),
                );
                caption.push(format!("{taken}; added by {}", self.noted(noted)));
                caption.push(format!("SHA-256 of the original {}", photo.photo));
                PhotoPart { original: photo.photo, caption }
            })
            .collect()
    }

    fn people(&self) -> Vec<[String; 4]> {
        let state = |revoked: &Option<Noted>| match revoked {
            Some(noted) => format!("revoked {}", noted.time.minute()),
            None => "may act".to_owned(),
        };
        let mut people: Vec<_> = self.opened.site.people.values().collect();
        people.sort_by_key(|person| person.noted.order);
        people
            .into_iter()
            .map(|person| {
                [
                    person.enrolled.name.clone(),
                    person.enrolled.role.title().to_owned(),
                    person.noted.time.minute(),
                    state(&person.revoked),
                ]
            })
            .collect()
    }

    fn heads(&self, evidence: &Evidence) -> Vec<[String; 3]> {
        evidence
            .heads
            .iter()
            .map(|head| [self.device(head.device), head.seq.to_string(), head.id.to_string()])
            .collect()
    }

    fn device(&self, device: DeviceId) -> String {
        let known = self.opened.site.devices.get(&device);
        known.map_or_else(|| device.short(), |(name, _)| name.clone())
    }

    fn person(&self, person: Option<PersonId>) -> String {
        self.opened.site.name_of(person)
    }

    fn noted(&self, noted: &Noted) -> String {
        format!("{}, {}", self.person(noted.author), noted.time.minute())
    }
}

fn is_conceded(one: &HoldPointStanding) -> bool {
    one.state == HoldPointState::UnderConcession || one.is_conceded()
}

fn criterion_line(one: &CriterionStanding) -> Line {
    let answer = one.answer.as_ref().map(|answer| answer.answer);
    let line = |mark, text: &str| Line { mark, text: text.to_owned() };
    match (&one.kind, one.verdict, answer) {
        (_, _, Some(Answer::NotApplicable)) => line(Mark::Open, "not applicable"),
        (CriterionKind::Question { .. }, _, Some(Answer::Yes)) => line(Mark::Conforming, "yes"),
        (CriterionKind::Question { .. }, _, Some(Answer::No)) => line(Mark::Nonconforming, "no"),
        (CriterionKind::Question { .. }, _, None) => line(Mark::Open, "not answered"),
        (CriterionKind::Document { .. }, ..) if one.documents.is_empty() => line(Mark::Open, "not attached"),
        (CriterionKind::Document { .. }, ..) => line(Mark::Conforming, "attached"),
        (_, Some(verdict), _) if one.owed.is_empty() || verdict != Verdict::Conforming => {
            line(Mark::of(verdict), Mark::of(verdict).word())
        }
        _ => line(Mark::Open, "readings are owed"),
    }
}

fn finding(one: &FindingStanding) -> (Line, String) {
    let mark = match one {
        FindingStanding { caution: true, .. } => Mark::Open,
        FindingStanding { settled: true, .. } => Mark::Concession,
        _ => Mark::of(one.verdict),
    };
    let settled = if one.settled { " (settled)" } else { "" };
    let caution = if one.caution { "Caution: " } else { "" };
    (Line { mark, text: format!("{caution}{}{settled}", one.what) }, one.source.clone())
}

pub(super) fn because_words(because: Because) -> &'static str {
    match because {
        Because::Misread => "misread",
        Because::Reworked => "reworked",
        Because::Mistake => "entered by mistake",
        Because::Measured => "measured where the gauge did not pass",
    }
}

fn answer_word(answer: Answer) -> &'static str {
    match answer {
        Answer::Yes => "yes",
        Answer::No => "no",
        Answer::NotApplicable => "not applicable",
    }
}
