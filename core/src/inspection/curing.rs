//! The curing topping: its temperatures to the maturity reckoning, when it may be walked on and loaded by the
//! project's own limits, and what is refused when temperatures are booked.
//!
//! Its age counts from the hour at which the last concrete was placed; before the first reading after it nothing is
//! counted. Never here: what load a floor may bear. That is the engineer's.

use super::beam_feeds::{Parts, finding, findings};
use super::decide::Refusal;
use super::feeds::Judged;
use super::fold::{Kept, Noted, PlotRecord};
use super::judge::{FindingStanding, PaperStanding};
use crate::conformity::Verdict;
use crate::entry::{PlacingNoted, Supersedes, Temperature, TemperaturesBooked};
use crate::faults::Faults;
use crate::floor::finish::{Curing, MaturityModel};
use crate::ids::{EntryId, HoldPointId};
use crate::plan_of_work::{CriterionKind, Feed};
use crate::quantity::{Factor, Real};
use crate::reckon::{MAX_POINTS, maturity};
use crate::temperature_csv::check_celsius;
use crate::time::LocalTime;

const SECONDS_AN_HOUR: f64 = 3_600.0;
const NO_CURING: &str = "the floor design says nothing of curing";

/// Everything that is known of a curing topping.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// When the last concrete was placed.
    pub placed: LocalTime,
    /// What the reckoning is fed with; its target is that of one of the ages.
    pub input: maturity::Input,
    /// The ages that the project waits for, with when each was reached.
    pub ages: [Age; 2],
    /// The age at the last reading.
    pub age_h: f64,
    /// When the last temperature was read.
    pub last: LocalTime,
    /// The last temperature, °C.
    pub last_c: f64,
    /// Temperatures before the placing, which count for nothing.
    pub before: usize,
}

/// An age that the project waits for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Age {
    /// What may be done then: `walked on`, `loaded`.
    pub what: &'static str,
    /// Equivalent age, hours.
    pub target_h: f64,
    /// When it was reached, hours after placing.
    pub reached_h: Option<f64>,
    /// That moment, up to the full minute.
    pub reached: Option<LocalTime>,
    /// When it would be reached if the concrete stayed as warm as it was last; `None` where it was reached, or gains
    /// nothing.
    pub expected: Option<LocalTime>,
}

/// When the concrete was placed, if it is noted for that hold point: the entry that holds.
pub fn placing<'r>(record: &'r PlotRecord, hold_point: &HoldPointId) -> Option<&'r Kept<PlacingNoted>> {
    record.placings.iter().rev().find(|one| one.fact.hold_point == *hold_point && one.superseded.is_none())
}

/// Temperatures of a hold point, in the order of time; of two at one time, booked by two devices, the later entry's.
pub fn temperatures(record: &PlotRecord, hold_point: &HoldPointId) -> Vec<Temperature> {
    let current = record
        .temperatures
        .iter()
        .filter(|one| one.fact.hold_point == *hold_point && one.superseded.is_none());
    let by_time: std::collections::BTreeMap<LocalTime, &Temperature> =
        current.flat_map(|one| &one.fact.readings).map(|one| (one.at, one)).collect();
    by_time.into_values().cloned().collect()
}

/// The hold point that asks for temperatures, where the plan has one.
pub fn hold_point(record: &PlotRecord) -> Option<&HoldPointId> {
    let asks = |feed: Feed| matches!(feed, Feed::WalkingAge | Feed::LoadingAge);
    let own = record.plan.hold_points.iter().find(|point| {
        point
            .criteria
            .iter()
            .any(|one| matches!(one.kind, CriterionKind::Reckoning { feed, .. } if asks(feed)))
    });
    own.map(|point| &point.id)
}

/// The course of the curing; `None` before the placing is noted and a temperature after it is read.
pub fn course(record: &PlotRecord) -> Option<Course> {
    let curing = record.design().curing.as_ref()?;
    let own = hold_point(record)?;
    let placed = placing(record, own)?.fact.at;
    let all = temperatures(record, own);
    let before = all.iter().filter(|one| one.at < placed).count();
    let readings: Vec<maturity::Reading> = all
        .iter()
        .filter(|one| placed <= one.at)
        .map(|one| maturity::Reading {
            at_h: Real(hours(one.at.seconds_after(placed))),
            concrete: Real(Factor::parse(&one.concrete_c).map_or(0.0, Factor::to_f64)),
        })
        .collect();
    let last = all.last().filter(|one| placed <= one.at)?.at;
    let last_c = readings.last()?.concrete.0;
    let walk = input(curing, readings, curing.walk_at_equivalent_age_h.0);
    let load = input_for(&walk, curing.load_at_equivalent_age_h.0);
    let (walked, loaded) = (maturity::reckon(&walk).ok()?, maturity::reckon(&load).ok()?);
    let speed = maturity::gain_an_hour(&walk, last_c);
    let age_of = |what, input: &maturity::Input, output: &maturity::Output| {
        let target_h = input.target_equivalent_age_h.0;
        let missing = target_h - output.equivalent_age_h;
        let expected = output.reached_at_h.is_none() && speed > 0.0;
        Age {
            what,
            target_h,
            reached_h: output.reached_at_h,
            reached: output.reached_at_h.map(|at| placed.plus_hours(at).up_to_minute()),
            expected: expected.then(|| last.plus_hours(missing / speed).up_to_minute()),
        }
    };
    let ages = [age_of("walked on", &walk, &walked), age_of("loaded", &load, &loaded)];
    Some(Course { placed, input: walk, ages, age_h: walked.equivalent_age_h, last, last_c, before })
}

#[expect(clippy::cast_precision_loss, reason = "seconds of 8 000 years are exact below 2^53")]
fn hours(seconds: i64) -> f64 {
    seconds as f64 / SECONDS_AN_HOUR
}

fn input(curing: &Curing, temperatures: Vec<maturity::Reading>, target: Factor) -> maturity::Input {
    maturity::Input {
        temperatures,
        datum: Real(curing.datum_c.0.to_f64()),
        reference: Real(curing.reference_c.0.to_f64()),
        model: match curing.model {
            MaturityModel::NurseSaul => maturity::Model::NurseSaul,
            MaturityModel::Arrhenius => maturity::Model::Arrhenius,
            MaturityModel::Ec2 => maturity::Model::Ec2,
        },
        activation: curing.activation_k.map(|activation| Real(activation.0.to_f64())),
        target_equivalent_age_h: Real(target.to_f64()),
    }
}

fn input_for(input: &maturity::Input, target: Factor) -> maturity::Input {
    maturity::Input { target_equivalent_age_h: Real(target.to_f64()), ..input.clone() }
}

/// The age of a feed.
fn age_of(course: &Course, feed: Feed) -> &Age {
    &course.ages[usize::from(feed == Feed::LoadingAge)]
}

/// Reckons one of the ages.
///
/// # Errors
/// A sentence: what is missing, or what the reckoning refuses.
pub(super) fn reckon(record: &PlotRecord, feed: Feed) -> Result<Judged, String> {
    let curing = record.design().curing.as_ref().ok_or(NO_CURING)?;
    let Some(course) = course(record) else {
        return Ok(Judged {
            reckoned: Vec::new(),
            findings: not_before(curing, feed),
            verdict: Verdict::Undetermined,
        });
    };
    let age = age_of(&course, feed);
    let target = if feed == Feed::LoadingAge {
        curing.load_at_equivalent_age_h
    } else {
        curing.walk_at_equivalent_age_h
    };
    let input = input_for(&course.input, target.0);
    let output = maturity::reckon(&input).map_err(|faults| faults.to_string())?;
    let mut found = findings(&output.findings);
    found.insert(0, said(&course, age, feed, &curing.source));
    if course.before > 0 {
        let what = format!("{} temperatures lie before the placing and count for nothing", course.before);
        found.push(FindingStanding { caution: true, ..finding(what, Verdict::Conforming) });
    }
    let mut parts = Parts::default();
    parts.add(None, feed, &input, &output, output.working.clone(), found, Verdict::Conforming);
    // What is not reached yet is owed and cautioned about; nothing does not conform by it.
    Ok(Judged { verdict: output.verdict, ..parts.judged() })
}

/// What is not allowed yet, or from when on it is.
fn said(course: &Course, age: &Age, feed: Feed, source: &str) -> FindingStanding {
    let mut text = match age.reached {
        Some(at) => format!(
            "by the project's own limit it may be {} from {}: equivalent age {} h",
            age.what,
            at.minute(),
            plain(age.target_h)
        ),
        None => format!(
            "not to be {} yet: equivalent age {:.1} of {} h at {}",
            age.what,
            rounded_down(course.age_h),
            plain(age.target_h),
            course.last.minute()
        ),
    };
    if let Some(expected) = age.expected {
        text.push_str(&format!("; if it stays at {} °C, about {}", plain(course.last_c), expected.minute()));
    }
    if feed == Feed::LoadingAge {
        text.push_str("; no loading before the engineer's strength");
    }
    let caution = age.reached.is_none() || feed == Feed::LoadingAge;
    FindingStanding { source: source.to_owned(), caution, ..finding(text, Verdict::Conforming) }
}

/// A tenth of an hour that is never more than there is.
fn rounded_down(hours: f64) -> f64 {
    (hours * 10.0).floor() / 10.0
}

fn not_before(curing: &Curing, feed: Feed) -> Vec<FindingStanding> {
    let (what, target) = match feed {
        Feed::LoadingAge => ("loaded", curing.load_at_equivalent_age_h),
        _ => ("walked on", curing.walk_at_equivalent_age_h),
    };
    let text = format!("not to be {what} yet: no equivalent age of {} h is shown", target.0.to_text());
    vec![FindingStanding {
        source: curing.source.clone(),
        caution: true,
        ..finding(text, Verdict::Conforming)
    }]
}

/// A number without needless decimals.
fn plain(number: f64) -> String {
    let text = format!("{number:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// What is owed until that age is reached.
pub(super) fn owed(record: &PlotRecord, feed: Feed) -> Vec<String> {
    let Some(own) = hold_point(record) else { return Vec::new() };
    if placing(record, own).is_none() {
        return vec!["hour at which the last concrete was placed".to_owned()];
    }
    let Some(curing) = record.design().curing.as_ref() else { return Vec::new() };
    let target = if feed == Feed::LoadingAge {
        curing.load_at_equivalent_age_h
    } else {
        curing.walk_at_equivalent_age_h
    };
    let reached = course(record).is_some_and(|course| age_of(&course, feed).reached_h.is_some());
    if reached {
        return Vec::new();
    }
    vec![format!("temperatures until the equivalent age is {} h", target.0.to_text())]
}

/// The limit in words, with its source.
pub(super) fn limit_text(record: &PlotRecord, feed: Feed) -> Option<String> {
    let curing = record.design().curing.as_ref()?;
    let target = if feed == Feed::LoadingAge {
        curing.load_at_equivalent_age_h
    } else {
        curing.walk_at_equivalent_age_h
    };
    let (datum, reference) = (curing.datum_c.0.to_text(), curing.reference_c.0.to_text());
    let model = match curing.model {
        MaturityModel::NurseSaul => format!("Nurse-Saul, datum {datum} °C, reference {reference} °C"),
        MaturityModel::Arrhenius => format!("Arrhenius, reference {reference} °C"),
        MaturityModel::Ec2 => "EN 1992-1-1, reference 20 °C".to_owned(),
    };
    Some(format!("equivalent age {} h, {model} ({})", target.0.to_text(), curing.source))
}

/// Placing and temperatures as they were booked.
pub(super) fn papers(record: &PlotRecord, hold_point: &HoldPointId) -> Vec<PaperStanding> {
    let paper = |noted: &Noted, title: String, lines: Vec<String>| PaperStanding {
        entry: noted.id,
        title,
        lines,
        noted: noted.clone(),
    };
    let placed = placing(record, hold_point)
        .map(|one| paper(&one.noted, format!("Placed {}", one.fact.at.minute()), Vec::new()));
    let booked = record
        .temperatures
        .iter()
        .filter(|one| one.fact.hold_point == *hold_point && one.superseded.is_none());
    let booked = booked.filter_map(|one| {
        let readings = &one.fact.readings;
        let (first, last) = (readings.first()?, readings.last()?);
        if readings.len() == 1 {
            let title = format!("{} °C at {}", first.concrete_c, first.at.minute());
            return Some(paper(&one.noted, title, Vec::new()));
        }
        let file = one.fact.file.as_ref().map_or(String::new(), |file| format!(", {file}"));
        let title = format!("{} temperatures{file}", readings.len());
        let gap = readings.windows(2).map(|pair| pair[1].at.seconds_after(pair[0].at)).max().unwrap_or(0);
        let lines = vec![
            format!("{} to {}", first.at.minute(), last.at.minute()),
            format!("longest time between two {} h", plain(hours(gap))),
        ];
        Some(paper(&one.noted, title, lines))
    });
    placed.into_iter().chain(booked).collect()
}

/// Whether an entry of these was superseded; `None` where it is none of them.
pub(super) fn superseded<T>(kept: &[Kept<T>], id: EntryId) -> Option<bool> {
    kept.iter().find(|one| one.noted.id == id).map(|one| one.superseded.is_some())
}

fn check_hold_point(record: &PlotRecord, named: &HoldPointId) -> Result<(), Refusal> {
    match hold_point(record) {
        Some(own) if own == named => Ok(()),
        Some(own) => Err(Refusal::Text(format!("{named} asks for no temperatures; {own} does"))),
        None => Err(Refusal::Text("this plot's plan of work asks for no temperatures".to_owned())),
    }
}

/// Checks a placing before it is noted.
pub(super) fn check_placing(
    record: &PlotRecord,
    new: &PlacingNoted,
    supersedes: Option<&Supersedes>,
) -> Result<(), Refusal> {
    check_hold_point(record, &new.hold_point)?;
    match placing(record, &new.hold_point) {
        Some(own) if supersedes.is_none_or(|by| by.entry != own.noted.id) => {
            Err(Refusal::Already(format!("the placing is noted already: {}", own.fact.at.minute())))
        }
        _ => Ok(()),
    }
}

/// Checks temperatures before they are booked; every fault at once.
pub(super) fn check_temperatures(
    record: &PlotRecord,
    new: &TemperaturesBooked,
    supersedes: Option<&Supersedes>,
) -> Result<(), Refusal> {
    check_hold_point(record, &new.hold_point)?;
    let mut faults = Faults::new();
    let standing = record.temperatures.iter().filter(|one| {
        one.fact.hold_point == new.hold_point
            && one.superseded.is_none()
            && supersedes.is_none_or(|by| by.entry != one.noted.id)
    });
    let booked: std::collections::BTreeSet<LocalTime> =
        standing.flat_map(|one| &one.fact.readings).map(|one| one.at).collect();
    if new.readings.is_empty() {
        faults.add("/readings", "must have at least one");
    }
    if booked.len() + new.readings.len() > MAX_POINTS {
        faults.add("/readings", format!("makes more than {MAX_POINTS} temperatures together"));
    }
    for (index, one) in new.readings.iter().enumerate() {
        let place = format!("/readings/{index}");
        match check_celsius(&one.concrete_c) {
            Err(what) => faults.add(format!("{place}/concrete_C"), format!("{:?} {what}", one.concrete_c)),
            Ok(plain) if plain != one.concrete_c => {
                faults.add(format!("{place}/concrete_C"), format!("must be written {plain}"));
            }
            Ok(_) => {}
        }
        if booked.contains(&one.at) {
            faults.add(format!("{place}/at"), format!("{} is booked already", one.at.minute()));
        }
        if index > 0 && one.at <= new.readings[index - 1].at {
            faults.add(format!("{place}/at"), "must be later than the one before it");
        }
    }
    if let Some(file) = &new.file {
        let long = file.chars().take(201).count() > 200;
        if file.trim().is_empty() || long || file.contains(['/', '\\']) || file.chars().any(char::is_control)
        {
            faults.add("/file", "must be a file's name of 1 to 200 characters without folders");
        }
    }
    faults.into_result(()).map_err(Refusal::File)
}
