//! A plan of work read from its file: the file's form, then what the schema cannot say, every fault at once.
//!
//! Refused: a prerequisite, gate, feed, role or reckoning that is unknown; a circle of prerequisites; a criterion
//! without a source; an id given twice; an order between layers that the design's own stack decides.
//! A hold point with `left_out = true` stays in the file but not in the plan: what came after it comes after what
//! it came after.

use std::collections::{BTreeMap, BTreeSet};

use super::form::{
    CriterionFile, EachFile, EvidenceFile, HoldPointFile, PlanFile, ReasonsFile, ReckoningFile,
};
use super::{
    Criterion, CriterionKind, Evidence, Feed, Gate, HoldPoint, Layer, Owed, PlanOfWork, Reasons, SignOffRule,
};
use crate::faults::{Faults, read_toml, schema_of, with_toml_lines};
use crate::floor::read::check_format;
use crate::ids::HoldPointId;

/// The newest format of the file that this program reads.
pub const FORMAT: u32 = 1;

impl PlanOfWork {
    /// Reads a plan; every fault of the file at once, each with its place.
    pub fn read(text: &str) -> Result<Self, Faults> {
        check_format(text, "gaugerod_plan_of_work", FORMAT)?;
        let file: PlanFile = read_toml(text)?;
        let mut faults = Faults::new();
        check(&file, &mut faults);
        let file = faults.into_result(file).map_err(|faults| with_toml_lines(text, faults))?;
        Ok(plan(file))
    }

    /// The schema of the file.
    pub fn schema() -> serde_json::Value {
        schema_of::<PlanFile>()
    }
}

fn check(file: &PlanFile, faults: &mut Faults) {
    words("/title", &file.title, 200, faults);
    words("/revision", &file.revision, 60, faults);
    check_reasons(&file.reasons, faults);
    unique(file.gates.iter().enumerate().map(|(i, gate)| (format!("/gates/{i}/id"), &gate.id)), faults);
    let ids =
        file.hold_points.iter().enumerate().map(|(i, point)| (format!("/hold_points/{i}/id"), &point.id));
    unique(ids, faults);
    for (index, gate) in file.gates.iter().enumerate() {
        words(&format!("/gates/{index}/title"), &gate.title, 100, faults);
        if !file.hold_points.iter().any(|point| point.gate == gate.id && !point.left_out) {
            faults.add(
                format!("/gates/{index}/id"),
                format!("no hold point of the plan stands in gate `{}`", gate.id),
            );
        }
    }
    for (index, point) in file.hold_points.iter().enumerate() {
        check_hold_point(file, point, &format!("/hold_points/{index}"), faults);
    }
    check_order(file, faults);
}

fn check_reasons(file: &ReasonsFile, faults: &mut Faults) {
    for (key, list) in [
        ("refused", &file.refused),
        ("raised", &file.raised),
        ("covered", &file.covered),
        ("closed", &file.closed),
    ] {
        let reasons =
            || list.iter().flatten().enumerate().map(|(i, one)| (format!("/reasons/{key}/{i}"), one));
        for (place, reason) in reasons() {
            words(&place, reason, 80, faults);
        }
        unique(reasons(), faults);
    }
}

fn check_hold_point(file: &PlanFile, point: &HoldPointFile, place: &str, faults: &mut Faults) {
    words(&format!("{place}/title"), &point.title, 200, faults);
    words(&format!("{place}/short_title"), &point.short_title, 24, faults);
    if !file.gates.iter().any(|gate| gate.id == point.gate) {
        faults.add(format!("{place}/gate"), format!("no gate `{}`", point.gate));
    }
    for (key, ids) in [("after", &point.after), ("covered_by", &point.covered_by)] {
        for (number, id) in ids.iter().enumerate() {
            let place = format!("{place}/{key}/{number}");
            if *id == point.id {
                faults.add(place, "names itself");
            } else if !file.hold_points.iter().any(|other| other.id == *id) {
                faults.add(place, format!("no hold point `{id}`"));
            } else if ids[..number].contains(id) {
                faults.add(place, format!("`{id}` stands here twice"));
            }
        }
    }
    for (key, roles) in [("offered_by", &point.offered_by), ("released_by", &point.released_by)] {
        for (number, role) in roles.iter().enumerate() {
            if roles[..number].contains(role) {
                faults.add(format!("{place}/{key}/{number}"), format!("`{role}` stands here twice"));
            }
        }
    }
    if point.sign_off == SignOffRule::SubjectTo && point.proves == Layer::Floor {
        faults
            .add(format!("{place}/sign_off"), "what proves the whole floor cannot go out subject to itself");
    }
    for (number, caution) in point.cautions.iter().enumerate() {
        words(&format!("{place}/cautions/{number}"), caution, 500, faults);
    }
    let ids = point.criteria.iter().enumerate();
    unique(ids.map(|(i, criterion)| (format!("{place}/criteria/{i}/id"), &criterion.id)), faults);
    for (number, criterion) in point.criteria.iter().enumerate() {
        check_criterion(criterion, &format!("{place}/criteria/{number}"), faults);
    }
    let subjects = point.evidence.iter().enumerate();
    unique(
        subjects.map(|(i, evidence)| (format!("{place}/evidence/{i}/subject"), &evidence.subject)),
        faults,
    );
    for (number, evidence) in point.evidence.iter().enumerate() {
        let place = format!("{place}/evidence/{number}");
        let code = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
        if !evidence.subject.chars().all(code) {
            faults.add(format!("{place}/subject"), "must be small letters, digits and hyphens");
        }
        words(&format!("{place}/title"), &evidence.title, 200, faults);
    }
}

fn check_criterion(criterion: &CriterionFile, place: &str, faults: &mut Faults) {
    words(&format!("{place}/title"), &criterion.title, 300, faults);
    if criterion.source.trim().is_empty() {
        let what = "a criterion says where it comes from: a standard, `floor design` or `common practice`";
        faults.add(format!("{place}/source"), what);
    } else {
        words(&format!("{place}/source"), &criterion.source, 300, faults);
    }
    let reasons = |reasons: &[String], key: &str, faults: &mut Faults| {
        for (number, reason) in reasons.iter().enumerate() {
            words(&format!("{place}/{key}/not_applicable_reasons/{number}"), reason, 200, faults);
        }
    };
    match (&criterion.reckoning, &criterion.question, &criterion.document) {
        (Some(reckoning), None, None) => check_reckoning(reckoning, &format!("{place}/reckoning"), faults),
        (None, Some(question), None) => reasons(&question.not_applicable_reasons, "question", faults),
        (None, None, Some(document)) => {
            words(&format!("{place}/document/what"), &document.what, 200, faults);
            reasons(&document.not_applicable_reasons, "document", faults);
        }
        _ => faults.add(place, "must have exactly one of `reckoning`, `question` and `document`"),
    }
}

fn check_reckoning(file: &ReckoningFile, place: &str, faults: &mut Faults) {
    let right = file.feed.reckoning();
    if right != file.name {
        faults
            .add(format!("{place}/name"), format!("this feed belongs to the reckoning `{}`", right.as_str()));
    }
    if file.each.is_some() && file.at_least.is_some() {
        faults.add(place, "must not have both `each` and `at_least`");
        return;
    }
    let reads = file.feed.unit().is_some();
    if !reads && (file.each.is_some() || file.at_least.is_some()) {
        faults.add(place, "nothing is read for this feed: no `each`, no `at_least`");
    }
    if reads && file.each.is_none() && file.at_least.is_none() {
        faults.add(place, "must say how many readings are owed: `each` or `at_least`");
    }
    let fits = match file.each {
        Some(EachFile::Point) => {
            matches!(
                file.feed,
                Feed::BearingLevels
                    | Feed::GroundLevels
                    | Feed::GroundAsBuilt
                    | Feed::ToppingDepths
                    | Feed::FinishLevels
            )
        }
        Some(EachFile::Vent) => file.feed == Feed::VentOpenings,
        Some(EachFile::Line) => file.feed == Feed::ClearSpans,
        Some(EachFile::Run) => file.feed == Feed::RunWidths,
        Some(EachFile::Beam) => file.feed == Feed::BeamFaces,
        Some(EachFile::BeamEnd) => file.feed == Feed::BearingLengths,
        Some(EachFile::PopUp) => file.feed == Feed::PopUpPlaces,
        Some(EachFile::BeamTop) => file.feed == Feed::BeamTops,
        Some(EachFile::Wall) => matches!(file.feed, Feed::DpcHeight | Feed::DpcLap),
        // Readings of points and openings have their places in the design, so nobody invents one.
        None => {
            let placed = [
                Feed::VentOpenings,
                Feed::ClearSpans,
                Feed::RunWidths,
                Feed::BeamFaces,
                Feed::BearingLengths,
                Feed::PopUpPlaces,
                Feed::ToppingDepths,
                Feed::FinishLevels,
                Feed::BeamTops,
            ];
            file.at_least.is_none() || !placed.contains(&file.feed)
        }
    };
    if !fits && reads {
        faults.add(format!("{place}/each"), "this feed has no such points");
    }
}

/// No circle of prerequisites, and nothing that the design's stack could turn into one.
fn check_order(file: &PlanFile, faults: &mut Faults) {
    let after: BTreeMap<_, _> = file.hold_points.iter().map(|point| (&point.id, &point.after)).collect();
    for (index, point) in file.hold_points.iter().enumerate() {
        let before = all_before(&point.after, &after);
        let place = format!("/hold_points/{index}/after");
        if before.contains(&point.id) {
            faults.add(place, format!("`{}` would have to come before itself: a circle", point.id));
        } else if let Some(whole) = file.hold_points.iter().find(|other| {
            let is_whole = other.proves == Layer::Floor && other.id != point.id;
            is_whole && (before.contains(&other.id) || point.proves == Layer::Floor)
        }) {
            faults.add(place, format!("nothing comes after `{}`, which proves the whole floor", whole.id));
        } else if point.proves.is_ordered_by_stack() {
            let of_stack = file.hold_points.iter().find(|other| {
                other.id != point.id && other.proves.is_ordered_by_stack() && before.contains(&other.id)
            });
            if let Some(other) = of_stack {
                let what = format!(
                    "the order of `{}` and `{}` comes from the design's own stack",
                    other.id, point.id
                );
                faults.add(place, what);
            }
        }
    }
}

fn all_before<'a>(
    after: &'a [HoldPointId],
    all: &BTreeMap<&HoldPointId, &'a Vec<HoldPointId>>,
) -> BTreeSet<&'a HoldPointId> {
    let mut found = BTreeSet::new();
    let mut open: Vec<_> = after.iter().collect();
    while let Some(id) = open.pop() {
        if found.insert(id) {
            open.extend(all.get(id).into_iter().flat_map(|ids| ids.iter()));
        }
    }
    found
}

fn unique<T: Ord + std::fmt::Display>(named: impl Iterator<Item = (String, T)>, faults: &mut Faults) {
    let mut seen: BTreeMap<T, String> = BTreeMap::new();
    for (place, name) in named {
        match seen.get(&name) {
            Some(first) => faults.add(place, format!("`{name}` is taken by {first}")),
            None => drop(seen.insert(name, place)),
        }
    }
}

fn words(place: &str, text: &str, most: usize, faults: &mut Faults) {
    let long = text.chars().take(most + 1).count() > most;
    if text.trim().is_empty() || long || text.chars().any(char::is_control) {
        faults.add(place, format!("must be 1 to {most} characters on one line, not blank"));
    }
}

/// The plan of a file that was checked: hold points left out taken out, ties to them joined up.
fn plan(file: PlanFile) -> PlanOfWork {
    let left_out: BTreeSet<HoldPointId> =
        file.hold_points.iter().filter(|point| point.left_out).map(|point| point.id.clone()).collect();
    let hold_points = file.hold_points.into_iter().map(|point| HoldPoint {
        only_where: point.only_where,
        after: point.after,
        covered_by: point.covered_by,
        place_on_section: point.place_on_section.unwrap_or(point.proves),
        criteria: point.criteria.into_iter().map(criterion).collect(),
        evidence: point.evidence.into_iter().map(evidence).collect(),
        id: point.id,
        title: point.title,
        short_title: point.short_title,
        gate: point.gate,
        kind: point.kind,
        proves: point.proves,
        cautions: point.cautions,
        offered_by: point.offered_by,
        released_by: point.released_by,
        sign_off: point.sign_off,
    });
    let whole = PlanOfWork {
        hold_points: hold_points.collect(),
        title: file.title,
        revision: file.revision,
        self_release: file.self_release,
        reasons: Reasons {
            refused: file.reasons.refused.unwrap_or_default(),
            raised: file.reasons.raised.unwrap_or_default(),
            covered: file.reasons.covered.unwrap_or_default(),
            closed: file.reasons.closed.unwrap_or_default(),
        },
        gates: file.gates.into_iter().map(|gate| Gate { id: gate.id, title: gate.title }).collect(),
    };
    whole.without(&left_out)
}

fn evidence(file: EvidenceFile) -> Evidence {
    Evidence { subject: file.subject, title: file.title, per: file.per, count: file.count }
}

fn criterion(file: CriterionFile) -> Criterion {
    let kind = match (file.reckoning, file.question, file.document) {
        (Some(reckoning), _, _) => CriterionKind::Reckoning {
            reckoning: reckoning.name,
            feed: reckoning.feed,
            owed: match (reckoning.each, reckoning.at_least) {
                (Some(EachFile::Point), _) => Owed::EachPoint,
                (Some(EachFile::Wall), _) => Owed::EachWall,
                (Some(EachFile::Vent), _) => Owed::EachVent,
                (Some(EachFile::Line), _) => Owed::EachLine,
                (Some(EachFile::Run), _) => Owed::EachRun,
                (Some(EachFile::Beam), _) => Owed::EachBeam,
                (Some(EachFile::BeamEnd), _) => Owed::EachBeamEnd,
                (Some(EachFile::PopUp), _) => Owed::EachPopUp,
                (Some(EachFile::BeamTop), _) => Owed::EachBeamTop,
                (None, Some(least)) => Owed::AtLeast(least),
                (None, None) => Owed::None,
            },
        },
        (None, Some(question), _) => {
            CriterionKind::Question { not_applicable_reasons: question.not_applicable_reasons }
        }
        (None, None, Some(document)) => CriterionKind::Document {
            what: document.what,
            not_applicable_reasons: document.not_applicable_reasons,
        },
        (None, None, None) => unreachable!("BUG: a criterion without a proof was refused"),
    };
    Criterion { id: file.id, title: file.title, only_where: file.only_where, kind, source: file.source }
}
