//! The whole sign-off: from a register in use to a signed document, verified, and every way of tampering with it
//! refused by name. What other programs make of the same documents is checked in `tests/outside`.

#![allow(clippy::unwrap_used)] // scaffolding of tests: what fails here ends the test

mod finished_plot;

use std::collections::BTreeMap;

use finished_plot::{FinishedPlot, build};
use gaugerod_core::conformity::Verdict;
use gaugerod_core::identity::{Authority, SeededRng, SigningIdentity};
use gaugerod_core::signoff::cms::Signer;
use gaugerod_core::signoff::evidence::{Evidence, Opened, Signing};
use gaugerod_core::signoff::fonts::Fonts;
use gaugerod_core::signoff::inspect::inspect;
use gaugerod_core::signoff::issue::{self, material};
use gaugerod_core::signoff::make::{Material, evidence, make_draft, make_signed, pages, statement};
use gaugerod_core::signoff::sign::sign;
use gaugerod_core::signoff::verify::{Outcome, State, Verification, verify};
use gaugerod_core::time::Timestamp;

struct Case {
    _folder: tempfile::TempDir,
    site: FinishedPlot,
    fonts: Fonts,
    signed: Vec<u8>,
    fingerprint: [u8; 32],
}

fn case() -> Case {
    let folder = tempfile::tempdir().unwrap();
    let mut site = build(folder.path(), 1, (320, 240));
    let fonts = Fonts::shipped();
    let drawn = vec![vec![(1000, 7000), (3000, 2000), (5000, 8000), (9000, 4000)]];
    let plot = site.plot.clone();
    let off =
        issue::sign_off(&mut site.register, &plot, &site.manager, drawn, &fonts, &mut |_, _| true).unwrap();
    off.record(&mut site.register, &site.manager).unwrap();
    let root = site.register.authority().unwrap();
    let fingerprint = gaugerod_core::ids::Sha256Digest::of(root.der()).0;
    Case { _folder: folder, site, fonts, signed: off.made.bytes, fingerprint }
}

impl Case {
    fn evidence(&self) -> Evidence {
        Evidence::read(&inspect(&self.signed).evidence.unwrap()).unwrap()
    }

    fn verify(&self, bytes: &[u8]) -> Verification {
        verify(bytes, Some(self.fingerprint), &self.fonts)
    }

    /// The material as it was signed: the sign-off's own entry came later and is taken off again.
    fn material(&mut self) -> Material {
        let plot = self.site.plot.clone();
        let mut material = material(&mut self.site.register, &plot, &mut |_, _| true).unwrap();
        material.entries.retain(|entry| !entry.header.contains("sign-off-issued"));
        material
    }

    fn signing(&self) -> Signing {
        Signing { person: self.site.manager.person, drawn: Vec::new() }
    }

    /// Signs any document with the true key and certificates.
    fn sign_truly(&self, unsigned: Vec<u8>, evidence: &Evidence, opened: &Opened) -> Vec<u8> {
        let says = statement(evidence, opened).unwrap();
        sign(unsigned, &self.fonts, &self.signer(&self.leaf(), &self.root()), &says).unwrap()
    }

    fn leaf(&self) -> gaugerod_core::identity::Certificate {
        let site = self.site.register.site();
        gaugerod_core::signoff::model::certificate(
            &site.people[&self.site.manager.person].enrolled.certificate,
        )
        .unwrap()
    }

    fn root(&self) -> gaugerod_core::identity::Certificate {
        self.site.register.authority().unwrap()
    }

    fn signer<'a>(
        &'a self,
        leaf: &'a gaugerod_core::identity::Certificate,
        root: &'a gaugerod_core::identity::Certificate,
    ) -> Signer<'a> {
        Signer { key: self.site.manager.key().unwrap(), leaf, root }
    }
}

fn bad(found: &Verification) -> Vec<&'static str> {
    let mut names: Vec<_> =
        found.checks.iter().filter(|check| check.state == State::Bad).map(|check| check.name).collect();
    names.dedup();
    names
}

fn bytes_of(evidence: &Evidence) -> Vec<u8> {
    evidence.to_bytes()
}

#[test]
fn a_signed_document_verifies_and_each_alteration_is_refused_by_name() {
    let case = case();
    let found = case.verify(&case.signed);
    assert_eq!((found.outcome, bad(&found)), (Outcome::VouchedFor, vec![]), "{:#?}", found.checks);
    assert!(found.checks.iter().all(|check| check.state == State::Good), "{:#?}", found.checks);
    assert_eq!(found.signer, Some(("R. Quality".to_owned(), "quality manager".to_owned())));
    assert_eq!(found.fingerprint, Some(hex::encode(case.fingerprint)));
    let without = verify(&case.signed, None, &case.fonts);
    assert_eq!(without.outcome, Outcome::NotVouchedFor, "{:#?}", without.checks);
    let other = verify(&case.signed, Some([0; 32]), &case.fonts);
    assert_eq!((other.outcome, bad(&other)), (Outcome::Refused, vec!["authority"]));

    // The evidence alone.
    let evidence = case.evidence();
    let alone = case.verify(&bytes_of(&evidence));
    assert_eq!(alone.outcome, Outcome::VouchedFor, "{:#?}", alone.checks);
    assert_eq!(verify(&bytes_of(&evidence), None, &case.fonts).outcome, Outcome::NotVouchedFor);

    // Any entry dropped.
    for place in 0..evidence.entries.len() {
        let mut less = evidence.clone();
        less.entries.remove(place);
        let found = case.verify(&bytes_of(&less));
        assert_eq!(found.outcome, Outcome::Refused, "entry {place}");
        assert!(
            bad(&found).contains(&"heads") || bad(&found).contains(&"chain"),
            "{place}: {:#?}",
            bad(&found)
        );
    }
    // Entries altered: the first, the last, and every fifth between them.
    let last = evidence.entries.len() - 1;
    for place in (0..last).step_by(5).chain([last]) {
        let mut changed = evidence.clone();
        changed.entries[place].payload = changed.entries[place].payload.replacen(['1', 'i', 'e'], "7", 1);
        assert_ne!(changed.entries[place].payload, evidence.entries[place].payload);
        let found = case.verify(&bytes_of(&changed));
        assert_eq!(bad(&found).first(), Some(&"entries"), "entry {place}");
        let mut forged = evidence.clone();
        let signature = &mut forged.entries[place].device_signature;
        let flipped = if signature.ends_with('0') { "1" } else { "0" };
        signature.replace_range(127.., flipped);
        assert_eq!(bad(&case.verify(&bytes_of(&forged))), ["signatures"], "entry {place}");
    }
    // Any verdict altered.
    for place in 0..evidence.verdicts.len() {
        let mut changed = evidence.clone();
        let verdict = &mut changed.verdicts[place].verdict;
        *verdict = if *verdict == Verdict::Conforming { Verdict::Nonconforming } else { Verdict::Conforming };
        assert_eq!(bad(&case.verify(&bytes_of(&changed))), ["verdicts"], "{place}");
    }
    let mut reading = evidence.clone();
    let level =
        reading.verdicts.iter_mut().flat_map(|one| &mut one.criteria).find(|one| !one.readings.is_empty());
    level.unwrap().readings[0].verdict = Some(Verdict::Undetermined);
    assert_eq!(bad(&case.verify(&bytes_of(&reading))), ["verdicts"]);

    // No document, or not whole.
    assert_eq!(case.verify(b"{}").outcome, Outcome::Unusable);
    assert_eq!(case.verify(b"hello").outcome, Outcome::Unusable);
    assert_eq!(case.verify(&case.signed[..case.signed.len() / 2]).outcome, Outcome::Unusable);
    let longer = [case.signed.as_slice(), b"x"].concat();
    assert!(bad(&case.verify(&longer)).contains(&"bytes-appended"));
}

#[test]
fn drafts_foreign_signers_and_other_pages_are_refused_by_name() {
    let mut case = case();
    let material = case.material();
    let draft = make_draft(&material, &case.fonts).unwrap();
    let found = case.verify(&draft.bytes);
    assert_eq!((found.outcome, bad(&found)), (Outcome::Refused, vec!["unsigned", "draft"]));

    let (evidence, opened) = evidence(&material, Some(case.signing())).unwrap();
    let unsigned = pages(&evidence, &opened, &material.photos, &case.fonts).unwrap();
    assert_eq!(bad(&case.verify(&unsigned)), ["unsigned"]);
    let truly = case.sign_truly(unsigned.clone(), &evidence, &opened);
    assert_eq!(bad(&case.verify(&truly)), Vec::<&str>::new());

    // The same pages signed under a foreign authority, with a certificate of the same name.
    let mut rng = SeededRng::new("foreign");
    let (from, until) =
        (Timestamp::new(1_700_000_000_000, 0).unwrap(), Timestamp::new(2_000_000_000_000, 0).unwrap());
    let foreign = Authority::found(
        "Fallow Lane (invented)",
        from,
        until,
        SigningIdentity::generate(&mut rng),
        &mut rng,
    )
    .unwrap();
    let key = SigningIdentity::generate(&mut rng);
    let leaf = foreign.issue("R. Quality", "quality manager", key.public(), from, until, &mut rng).unwrap();
    let signer = Signer { key: &key, leaf: &leaf, root: foreign.root() };
    let says = statement(&evidence, &opened).unwrap();
    let forged = sign(unsigned.clone(), &case.fonts, &signer, &says).unwrap();
    assert_eq!(bad(&case.verify(&forged)), ["signer"]);
    assert!(make_signed(&material, case.signing(), &signer, &case.fonts).is_err());

    // Other pages over the same evidence, truly signed: photographs left out.
    let without = pages(&evidence, &opened, &BTreeMap::new(), &case.fonts).unwrap();
    let found = case.verify(&case.sign_truly(without, &evidence, &opened));
    assert_eq!(bad(&found), ["photos"], "{:#?}", found.checks);
    // One byte of the page's content more, truly signed.
    let mut text = unsigned.clone();
    let at = text.windows(9).position(|window| window == b"(Invented").unwrap_or(0);
    let at = if at > 0 { at } else { text.windows(6).position(|w| w == b"/Title").unwrap() + 8 };
    text[at + 1] ^= 1;
    let found = case.verify(&case.sign_truly(text, &evidence, &opened));
    assert_eq!(bad(&found), ["pages"], "{:#?}", found.checks);
    // Another name in the signature block, truly signed.
    let mut says = says;
    says.name = "Somebody Else".to_owned();
    let (leaf, root) = (case.leaf(), case.root());
    let renamed = sign(unsigned, &case.fonts, &case.signer(&leaf, &root), &says).unwrap();
    assert_eq!(bad(&case.verify(&renamed)), ["signature-block"]);

    // A sign-off that the rules do not allow: before the last hold point is released.
    let mut early = material.clone();
    early.entries.retain(|entry| !entry.header.contains("\"kind\":\"released\""));
    let (evidence, opened) = gaugerod_core::signoff::make::evidence(&early, Some(case.signing())).unwrap();
    let found = case.verify(&bytes_of(&evidence));
    assert!(bad(&found).contains(&"rules"), "{:#?}", found.checks);
    drop(opened);
}

#[test]
fn a_document_is_the_same_whenever_it_is_made_again() {
    let mut case = case();
    let material = case.material();
    let make = || make_draft(&material, &Fonts::shipped()).unwrap().bytes;
    assert_eq!(make(), make());
    let mut shuffled = material.clone();
    shuffled.entries.reverse();
    assert_eq!(make_draft(&shuffled, &case.fonts).unwrap().bytes, make(), "whatever order entries come in");
}

#[test]
fn what_the_model_says_first_is_what_was_conceded() {
    let mut case = case();
    let material = case.material();
    let (evidence, opened) = evidence(&material, None).unwrap();
    let model = gaugerod_core::signoff::model::Model::of(&evidence, &opened);
    assert!(model.overall.0.text.contains("concession"), "{:?}", model.overall);
    assert!(
        model.outstanding.iter().any(|line| line.text.starts_with("Conceded: ")),
        "{:?}",
        model.outstanding
    );
    let levels =
        model.hold_points.iter().flat_map(|one| &one.criteria).find(|one| !one.readings.is_empty()).unwrap();
    let verdicts: Vec<_> = levels.readings.iter().filter_map(|row| row.verdict.as_ref()).collect();
    assert!(verdicts.iter().any(|line| line.text == "not OK, conceded"), "{verdicts:?}");
    assert!(verdicts.iter().any(|line| line.text == "OK"), "{verdicts:?}");
}
