//! The whole verification of a sign-off: the file's signature, the record in its evidence, every verdict recomputed
//! by the same fold, the pages drawn again and compared, and whose word it all rests on.
//!
//! Every check is named and told, not only the first that fails. It trusts nothing in the file; the one thing from
//! outside is the authority's fingerprint, and without it the answer is at best "consistent in itself".

use std::collections::BTreeMap;

use sha2::{Digest as _, Sha256};

use super::evidence::{Evidence, HoldPointVerdict, OpenFault, Opened, Purpose, links, open};
use super::fonts::Fonts;
use super::inspect::{Class, Inspection, inspect};
use super::layout::resource;
use super::make::{PROGRAM, pages, statement};
use super::model::certificate;
use super::paper::Jpeg;
use super::record_checks;
use super::sign::prepare;
use crate::faults::Faults;
use crate::identity::Certificate;
use crate::ids::Sha256Digest;
use crate::inspection::HoldPointState;
use crate::inspection::decide;
use crate::inspection::fold::Decided;
use crate::plan_of_work::HoldPointKind;
use crate::record;

/// What a check came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// It holds.
    Good,
    /// It does not hold.
    Bad,
    /// It could not be done; that is no fault of the document.
    NotDone,
}

/// One check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Check {
    /// A short name that stays, for machines.
    pub name: &'static str,
    /// What it came to.
    pub state: State,
    /// One sentence for people.
    pub words: String,
}

/// The answer, with the exit code that stands for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Unaltered, every verdict recomputes, and the given authority vouches for it: 0.
    VouchedFor,
    /// Altered, incomplete, of another authority, or an unsigned draft: 1.
    Refused,
    /// Neither a PDF nor evidence, cut short, or unreadable: 2.
    Unusable,
    /// Consistent in itself, but no authority was given: 3.
    NotVouchedFor,
}

impl Outcome {
    /// The exit code of `gaugerod verify`.
    pub fn exit_code(self) -> u8 {
        match self {
            Self::VouchedFor => 0,
            Self::Refused => 1,
            Self::Unusable => 2,
            Self::NotVouchedFor => 3,
        }
    }
}

/// What verifying found.
#[derive(Debug, Clone)]
pub struct Verification {
    /// The answer.
    pub outcome: Outcome,
    /// Every check, in order.
    pub checks: Vec<Check>,
    /// Site, plot, drawing and revision, where they can be read.
    pub about: Option<[String; 4]>,
    /// The signer's name and role as enrolled.
    pub signer: Option<(String, String)>,
    /// The authority's fingerprint in 64 hexadecimal digits.
    pub fingerprint: Option<String>,
    /// The record's root, recomputed.
    pub root: Option<Sha256Digest>,
    /// The verdicts, recomputed.
    pub verdicts: Vec<HoldPointVerdict>,
}

/// Reads an authority as people give it: a certificate in PEM, or its SHA-256 in 64 hexadecimal digits, blanks and
/// colons between them allowed. `None` if it is neither.
pub fn authority_from_text(text: &str) -> Option<[u8; 32]> {
    if text.contains("-----BEGIN") {
        let root = Certificate::from_pem(text.trim()).or_else(|_| Certificate::from_pem(text)).ok()?;
        return Some(Sha256::digest(root.der()).into());
    }
    let digits: String = text.chars().filter(|c| !c.is_whitespace() && *c != ':').collect();
    hex::decode(digits.to_ascii_lowercase()).ok()?.try_into().ok()
}

/// The evidence in a PDF, or evidence itself: for holding kept heads against a register.
///
/// # Errors
/// There is none, or it cannot be read.
pub fn evidence_in(bytes: &[u8]) -> Result<Evidence, Faults> {
    if !bytes.starts_with(b"%PDF-") {
        return Evidence::read(bytes);
    }
    let seen = inspect(bytes);
    if let Some(evidence) = seen.evidence {
        return Evidence::read(&evidence);
    }
    let why = seen.findings.first().map_or_else(String::new, ToString::to_string);
    Err(Faults::one("", why))
}

/// Verifies a signed PDF, or evidence alone. `authority` is the SHA-256 of the authority's certificate.
pub fn verify(bytes: &[u8], authority: Option<[u8; 32]>, fonts: &Fonts) -> Verification {
    let mut verifying = Verifying::default();
    let looks_like_evidence = bytes.trim_ascii_start().starts_with(b"{");
    let outcome =
        if looks_like_evidence { verifying.evidence_alone(bytes) } else { verifying.pdf(bytes, fonts) };
    let outcome = outcome.unwrap_or_else(|| verifying.outcome(authority));
    Verification {
        outcome,
        checks: verifying.checks,
        about: verifying.about,
        signer: verifying.signer,
        fingerprint: verifying.fingerprint.map(hex::encode),
        root: verifying.root,
        verdicts: verifying.verdicts,
    }
}

#[derive(Default)]
struct Verifying {
    checks: Vec<Check>,
    about: Option<[String; 4]>,
    signer: Option<(String, String)>,
    fingerprint: Option<[u8; 32]>,
    root: Option<Sha256Digest>,
    verdicts: Vec<HoldPointVerdict>,
}

impl Verifying {
    fn good(&mut self, name: &'static str, words: impl Into<String>) {
        self.tell(name, State::Good, words);
    }

    fn bad(&mut self, name: &'static str, words: impl Into<String>) {
        self.tell(name, State::Bad, words);
    }

    fn tell(&mut self, name: &'static str, state: State, words: impl Into<String>) {
        let words = words.into();
        self.checks.push(Check { name, state, words });
    }

    /// Good with these words if nothing is found, else one bad check for each finding.
    fn found(&mut self, name: &'static str, good: &str, findings: Vec<String>) {
        if findings.is_empty() {
            self.good(name, good);
        }
        for words in findings {
            self.bad(name, words);
        }
    }

    fn outcome(&mut self, authority: Option<[u8; 32]>) -> Outcome {
        if let Some(given) = authority {
            if self.fingerprint == Some(given) {
                self.good("authority", "the given authority vouches for the people in the record");
            } else {
                self.bad(
                    "authority",
                    "another authority than the given one vouches for this document, or none",
                );
            }
        }
        if self.checks.iter().any(|check| check.state == State::Bad) {
            return Outcome::Refused;
        }
        if authority.is_some() {
            return Outcome::VouchedFor;
        }
        self.tell(
            "authority",
            State::NotDone,
            "no authority was given: compare the fingerprint with the one on paper",
        );
        Outcome::NotVouchedFor
    }

    fn evidence_alone(&mut self, bytes: &[u8]) -> Option<Outcome> {
        let Some(evidence) = self.read_evidence(bytes) else {
            return Some(Outcome::Unusable);
        };
        self.record(&evidence);
        self.tell("pages", State::NotDone, "evidence alone has no pages and no signature over them");
        None
    }

    fn pdf(&mut self, bytes: &[u8], fonts: &Fonts) -> Option<Outcome> {
        let seen = inspect(bytes);
        let unusable = seen.findings.iter().any(|finding| finding.class() == Class::Unusable);
        for finding in &seen.findings {
            self.bad(finding.name(), finding.to_string());
        }
        if unusable {
            return Some(Outcome::Unusable);
        }
        if seen.findings.is_empty() {
            self.good("signature", "the signature is intact and covers the whole file but itself");
        }
        let evidence = self.read_evidence(seen.evidence.as_deref()?)?;
        if let Some(opened) = self.record(&evidence) {
            self.signer(&seen, &evidence, &opened);
            self.pages(bytes, &seen, &evidence, &opened, fonts);
        }
        None
    }

    fn read_evidence(&mut self, bytes: &[u8]) -> Option<Evidence> {
        match Evidence::read(bytes) {
            Ok(evidence) => Some(evidence),
            Err(faults) => {
                self.bad("evidence-unreadable", format!("the evidence cannot be read: {faults}"));
                None
            }
        }
    }

    /// Everything that the evidence proves by itself.
    fn record(&mut self, evidence: &Evidence) -> Option<Opened> {
        if evidence.purpose == Purpose::Draft || evidence.signing.is_none() {
            self.bad("draft", "this is a draft, not a sign-off");
        }
        let sealed = match evidence.sealed() {
            Ok(sealed) => sealed,
            Err(faults) => {
                self.bad("entries", format!("an entry was altered: {faults}"));
                return None;
            }
        };
        let entries = match open(&sealed) {
            Ok(entries) => entries,
            Err(fault) => {
                self.bad("entries", fault.to_string());
                return None;
            }
        };
        self.good("entries", format!("{} entries are as they were written", entries.len()));
        let links = links(&entries);
        let scope = record::Scope::Plot(evidence.plot.clone());
        let breaks: Vec<String> = record::check(&links, evidence.register, &scope)
            .into_iter()
            .filter(|finding| finding.kind.breaks_the_record())
            .map(|finding| {
                format!("incomplete or altered: entry {} {}", finding.entry.short(), finding.sentence)
            })
            .collect();
        self.found("chain", "the chains have no gap and no fork", breaks);
        let heads = record::heads(&links);
        let root = record::root(&heads);
        if heads == evidence.heads && root == evidence.root {
            self.good("heads", format!("the ends of all chains give the stated root {root}"));
        } else {
            self.bad(
                "heads",
                "incomplete: the ends of the chains are not the stated ones; entries are missing or were added",
            );
        }
        self.root = Some(root);
        let trust = record_checks::trust(&entries, &sealed);
        self.fingerprint = trust.authority.as_ref().map(|root| Sha256::digest(root.der()).into());
        self.found("people", "every person's certificate is from the register's authority", trust.people);
        self.found(
            "signatures",
            "every entry is signed by its device, every decision by its person",
            trust.signatures,
        );
        self.found("revoked", "nobody acted after being revoked", trust.revoked);
        let opened = match Opened::of(&sealed, &evidence.plot) {
            Ok(opened) => opened,
            Err(fault) => {
                let name = match fault {
                    OpenFault::Entry { .. } => "entries",
                    OpenFault::Incomplete(_) => "incomplete",
                };
                self.bad(name, fault.to_string());
                return None;
            }
        };
        let design = opened.record.design();
        self.about = Some([
            opened.site.site().to_owned(),
            evidence.plot.to_string(),
            design.drawing.clone(),
            design.revision.clone(),
        ]);
        self.compare_verdicts(evidence, &opened);
        self.compare_subject(evidence, &opened);
        self.sign_off_rules(evidence, &opened);
        Some(opened)
    }

    fn compare_verdicts(&mut self, evidence: &Evidence, opened: &Opened) {
        let recomputed = opened.verdicts();
        if !opened.standing.unknown.is_empty() {
            let kinds: Vec<&str> = opened.standing.unknown.iter().map(|(_, what)| what.as_str()).collect();
            self.bad(
                "unknown-entries",
                format!(
                    "entries of a newer program stand in the record ({}): verify with that one",
                    kinds.join(", ")
                ),
            );
        }
        let mut differing: Vec<String> = recomputed
            .iter()
            .filter(|own| !evidence.verdicts.contains(own))
            .map(|own| {
                format!(
                    "the stated verdict of {} does not recompute: its entries give {}, {}",
                    own.hold_point,
                    own.state.word(),
                    own.verdict
                )
            })
            .collect();
        if differing.is_empty() && recomputed != evidence.verdicts {
            differing.push("the stated verdicts are not those of the plan's hold points".to_owned());
        }
        let readings: usize =
            recomputed.iter().flat_map(|one| &one.criteria).map(|one| one.readings.len()).sum();
        let good = format!("every verdict recomputes: {} hold points, {readings} readings", recomputed.len());
        self.found("verdicts", &good, differing);
        self.verdicts = recomputed;
    }

    /// What a sign-off is subject to, from its entries again: said, because it is no fault of the document.
    fn compare_subject(&mut self, evidence: &Evidence, opened: &Opened) {
        let subject_to = opened.standing.subject_to();
        if subject_to != evidence.subject_to {
            let words = format!(
                "what the sign-off is subject to does not recompute: its entries give {}",
                if subject_to.is_empty() { "nothing".to_owned() } else { subject_to.join("; ") }
            );
            self.bad("subject-to", words);
        } else if !subject_to.is_empty() {
            self.good("subject-to", format!("the sign-off is subject to {}", subject_to.join("; ")));
        }
    }

    /// Whether a sign-off was allowed at all, and whether whoever released might.
    fn sign_off_rules(&mut self, evidence: &Evidence, opened: &Opened) {
        let Some(signing) = &evidence.signing else { return };
        let mut against = Vec::new();
        if let Err(refusal) = decide::sign_off(&opened.site, &opened.standing, &opened.record, signing.person)
        {
            against.push(format!("the plot may not be signed off: {refusal}"));
        }
        for one in &opened.standing.hold_points {
            if one.kind == HoldPointKind::Hold && one.state == HoldPointState::Released {
                against.extend(
                    one.owed.iter().map(|owed| format!("{} is released, but owes {}", one.title, owed.what)),
                );
            }
            let Some(asked) = opened.record.plan.hold_point(&one.id) else {
                continue;
            };
            for decision in one.decisions.iter().filter(|decision| decision.decided == Decided::Released) {
                let role = decision.noted.author.and_then(|id| opened.site.people.get(&id));
                if !role.is_some_and(|person| asked.released_by.contains(&person.enrolled.role)) {
                    let who = opened.site.name_of(decision.noted.author);
                    against.push(format!("{} was released by {who}, whose role may not", one.title));
                }
            }
        }
        self.found("rules", "the sign-off and every release in it were allowed", against);
    }

    /// Whether the PDF was signed by whom the evidence names, under the record's own authority.
    fn signer(&mut self, seen: &Inspection, evidence: &Evidence, opened: &Opened) {
        let Some(leaf) = &seen.leaf else { return };
        let signing = evidence.signing.as_ref();
        let person = signing.and_then(|signing| opened.site.people.get(&signing.person));
        let enrolled = person.and_then(|person| certificate(&person.enrolled.certificate));
        let authority = opened.site.opened.as_ref().and_then(|opened| certificate(&opened.authority));
        if enrolled.is_none() || enrolled.as_ref() != Some(leaf) {
            self.bad("signer", "the signer of the file is not the person whom the evidence names");
        } else if authority.is_none() || authority != seen.root {
            self.bad("signer", "the signer is not vouched for by the authority of the record");
        } else if let Some(person) = person {
            let (name, role) = (person.enrolled.name.clone(), person.enrolled.role.title().to_owned());
            self.good("signer", format!("signed by {name}, {role}, as enrolled in the record"));
            self.signer = Some((name, role));
        }
    }

    /// Draws pages and signature block again from the evidence and compares them with the file, byte for byte.
    fn pages(
        &mut self,
        bytes: &[u8],
        seen: &Inspection,
        evidence: &Evidence,
        opened: &Opened,
        fonts: &Fonts,
    ) {
        if evidence.program != PROGRAM {
            let words = format!("pages not compared: made by {}, this is {PROGRAM}", evidence.program);
            self.tell("pages", State::NotDone, words);
            return;
        }
        let mut photos = BTreeMap::new();
        for photo in &evidence.photos {
            let named = resource(photo.original);
            let data = seen.photos.iter().find(|(name, _)| *name == named).map(|(_, data)| data);
            match data {
                Some(data) if Sha256Digest::of(data) == photo.shown => {
                    if let Ok(jpeg) = Jpeg::from_bytes(data.clone()) {
                        photos.insert(photo.original, jpeg);
                    }
                }
                _ => self.bad(
                    "photos",
                    format!("photograph {} on the pages is missing or another one", photo.original.short()),
                ),
            }
        }
        let Ok(unsigned) = pages(evidence, opened, &photos, fonts) else {
            self.bad("pages", "the pages cannot be made again from the evidence");
            return;
        };
        // A document that nobody signed is all pages.
        let before = if seen.signature.is_some() { seen.unsigned } else { Some(bytes.len()) };
        let same = before.and_then(|end| bytes.get(..end)) == Some(unsigned.as_slice());
        if !same {
            self.bad(
                "pages",
                "the pages are not those that the evidence makes: a page or the file's structure differs",
            );
            return;
        }
        self.good("pages", "the pages were made again from the evidence and are the same");
        if seen.signature.is_none() {
            return;
        }
        let prepared = statement(evidence, opened).and_then(|says| prepare(unsigned, fonts, &says).ok());
        let block = match (&prepared, &seen.gap) {
            (Some(prepared), Some(gap)) => {
                prepared.gap == *gap
                    && bytes.get(..gap.start) == prepared.bytes.get(..gap.start)
                    && bytes.get(gap.end..) == prepared.bytes.get(gap.end..)
            }
            _ => false,
        };
        if block {
            self.good("signature-block", "the signature block says what the evidence says");
        } else {
            self.bad("signature-block", "the signature block is not the one that the evidence makes");
        }
    }
}
