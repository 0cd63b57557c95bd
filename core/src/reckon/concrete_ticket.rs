//! Concrete ticket: what the supplier's ticket says against what the pour asks for.
//!
//! It reads a ticket; it does not test concrete. What the ticket leaves open stays open, and water added on site is
//! for the producer to answer. What the names of classes mean stands in `assets/methods.toml`.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::methods::METHODS;
use super::strength_class::{StrengthClass, readings};
use super::{MAX_NAME, refuse_nothing};
use crate::conformity::{Limits, Verdict};
use crate::faults::Faults;
use crate::quantity::{Factor, Mm, Plain};
use crate::working::{ARITHMETIC, COMMON_PRACTICE, FLOOR_DESIGN, Working, term};

#[cfg(test)]
mod tests;
pub(super) mod times;

use times::Moment;

/// A requirement, a ticket, and the temperatures of the day.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// What the pour asks for.
    pub required: Required,
    /// What the ticket says.
    pub ticket: Ticket,
    /// Temperature of the air at the pour.
    #[serde(rename = "air_C")]
    #[schemars(range(min = -60, max = 60))]
    pub air_c: Plain,
    /// Temperature of the concrete at delivery.
    #[serde(rename = "concrete_C")]
    #[schemars(range(min = -60, max = 100))]
    pub concrete_c: Plain,
    /// The least temperature of the air.
    #[serde(rename = "least_air_C")]
    #[schemars(range(min = -60, max = 60))]
    pub least_air_c: Plain,
    /// The least temperature of the concrete.
    #[serde(rename = "least_concrete_C")]
    #[schemars(range(min = -60, max = 100))]
    pub least_concrete_c: Plain,
}

/// What the pour asks for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Required {
    /// `C20/25`, a designated mix, or a bare `C20`.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub strength_class: String,
    /// `S1` to `S5` or another class.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub consistence_class: Option<String>,
    /// The aggregate may be no larger.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub largest_aggregate_mm: Option<Mm>,
    /// Fibre, at least.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 1000))]
    pub fibre_kg_per_m3: Option<Plain>,
    /// What fibre.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub fibre_type: Option<String>,
    /// From batching to the end of discharge, at most.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 100))]
    pub hours_to_discharge: Plain,
}

/// What the ticket says; what it does not say is left out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Ticket {
    /// As printed.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub strength_class: String,
    /// As printed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub consistence_class: Option<String>,
    /// Slump of a spot sample from initial discharge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0))]
    pub measured_slump_mm: Option<Mm>,
    /// As printed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub largest_aggregate_mm: Option<Mm>,
    /// As printed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 1000))]
    pub fibre_kg_per_m3: Option<Plain>,
    /// As printed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub fibre_type: Option<String>,
    /// Water added on site, in litres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100_000))]
    pub water_added_l: Option<Plain>,
    /// The load.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 1000))]
    pub load_m3: Option<Plain>,
    /// When it was batched: `2026-11-26T08:10:00Z`, `2026-11-26T08:10` or `08:10`.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub batched_at: String,
    /// When discharge ended, written in the same way.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub discharged_at: String,
}

/// Every item of the ticket judged.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// Items that the requirement or the day asks about.
    pub findings: Vec<ItemFinding>,
    /// Any nonconforming, else any undetermined, else conforming.
    pub verdict: Verdict,
    /// The sums.
    pub working: Working,
}

/// One item judged.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct ItemFinding {
    /// The item in words.
    pub item: String,
    /// What is asked for.
    pub required: String,
    /// What the ticket or the day says.
    pub found: String,
    /// Whether it is met.
    pub verdict: Verdict,
    /// Why it stays open, or what else there is to say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    /// Where the requirement comes from.
    pub source: String,
}

/// Whether a text is a time as tickets give it.
pub fn reads_as_time(text: &str) -> bool {
    Moment::read(text).is_some()
}

/// The moment at which discharge must be over, written like the one of batching; `None` for what is no time.
pub fn out_by(batched_at: &str, hours: Plain) -> Option<String> {
    let seconds = i64::from(hours.0.millionths() >= 0) * hours.0.millionths().checked_mul(3_600)? / 1_000_000;
    Moment::read(batched_at)?.after(seconds)
}

/// Seconds from one time to another one that is written in the same way; `None` where they cannot be compared.
pub fn seconds_between(earlier: &str, later: &str) -> Option<i64> {
    let (earlier, later) = Moment::read(earlier).zip(Moment::read(later))?;
    later.is_written_like(earlier).then(|| later.seconds_after(earlier))
}

/// What the ticket does not say.
const NOT_STATED: &str = "not stated";

/// Judges a ticket.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    let (batched, discharged) = check(input)?;
    let mut sheet = Sheet { findings: Vec::new(), working: Working::new() };
    sheet.strength(input);
    sheet.consistence(input);
    sheet.aggregate(input);
    sheet.fibre(input);
    sheet.water(&input.ticket);
    sheet.time(input, batched, discharged);
    sheet.temperature("temperature of the air", input.air_c.0, input.least_air_c.0);
    sheet.temperature("temperature of the concrete", input.concrete_c.0, input.least_concrete_c.0);
    let terms: Vec<&str> = sheet
        .findings
        .iter()
        .map(|finding| if finding.verdict == Verdict::Conforming { "0" } else { "1" })
        .collect();
    let open = terms.iter().filter(|term| **term == "1").count() as u64;
    sheet.working.count("items not met or open (0 conforms)", terms.join(" + "), open, ARITHMETIC);
    let verdict = Verdict::overall(sheet.findings.iter().map(|finding| finding.verdict));
    Ok(Output { findings: sheet.findings, verdict, working: sheet.working })
}

struct Sheet {
    findings: Vec<ItemFinding>,
    working: Working,
}

impl Sheet {
    fn add(
        &mut self,
        item: &str,
        (required, found): (impl Into<String>, impl Into<String>),
        verdict: Verdict,
        reason: Option<String>,
        source: &str,
    ) {
        self.findings.push(ItemFinding {
            item: item.to_owned(),
            required: required.into(),
            found: found.into(),
            verdict,
            reason,
            source: source.to_owned(),
        });
    }

    fn strength(&mut self, input: &Input) {
        let source = &METHODS.strength_classes.source;
        let (required, ticket) = (&input.required.strength_class, &input.ticket.strength_class);
        let (wanted, found) = (classes(required), classes(ticket));
        let pairs: Vec<(&StrengthClass, &StrengthClass)> =
            wanted.iter().flat_map(|wanted| found.iter().map(move |found| (wanted, found))).collect();
        for (wanted, found) in &pairs {
            for (what, least, strength) in
                [("cylinder", wanted.cylinder, found.cylinder), ("cube", wanted.cube, found.cube)]
            {
                self.working.plain(
                    format!(
                        "{what} strength of {} above that of {} by, MPa (accepted from 0)",
                        found.name, wanted.name
                    ),
                    format!("{} - {}", strength.to_text(), least.to_text()),
                    less(strength, least),
                    source,
                );
            }
        }
        let met = pairs
            .iter()
            .filter(|(wanted, found)| wanted.cylinder <= found.cylinder && wanted.cube <= found.cube)
            .count();
        let (verdict, reason) = if found.is_empty() {
            (
                Verdict::Undetermined,
                Some(format!("{ticket:?} is no strength class that can be read: ask the producer")),
            )
        } else if met == pairs.len() {
            (Verdict::Conforming, None)
        } else if met == 0 {
            (Verdict::Nonconforming, None)
        } else {
            let bare = if 1 < found.len() { ticket } else { required };
            (
                Verdict::Undetermined,
                Some(format!("{bare} can be a cylinder class or a former cube grade: ask which is meant")),
            )
        };
        self.add("strength class", (required, ticket), verdict, reason, source);
    }

    fn consistence(&mut self, input: &Input) {
        let Some(required) = &input.required.consistence_class else { return };
        let alike = |one: &str, other: &str| one.trim().eq_ignore_ascii_case(other.trim());
        match &input.ticket.consistence_class {
            Some(found) => self.add(
                "consistence class",
                (required, found),
                Verdict::of(alike(required, found)),
                None,
                FLOOR_DESIGN,
            ),
            None => self.not_stated("consistence class", required),
        }
        let Some(Mm(slump)) = input.ticket.measured_slump_mm else { return };
        let source = &METHODS.spot_sample.source;
        let found = format!("{} mm", slump.to_mm_text());
        if let Some(limits) = spot_sample(required) {
            let [least, most] = [limits.least, limits.most].map(Option::unwrap_or_default);
            self.working.mm(
                "measured slump inside its range (accepted from 0)",
                format!(
                    "min({} - {}, {} - {})",
                    slump.to_mm_text(),
                    least.to_mm_text(),
                    most.to_mm_text(),
                    slump.to_mm_text()
                ),
                limits.margin(slump).unwrap_or_default(),
                source,
            );
            let range = format!("{} to {} mm ({required})", least.to_mm_text(), most.to_mm_text());
            self.add("measured slump", (range, found), Verdict::of(limits.hold(slump)), None, source);
        } else {
            let reason = format!("no range of a spot sample is known for {required}");
            self.add("measured slump", (required, found), Verdict::Undetermined, Some(reason), source);
        }
    }

    fn aggregate(&mut self, input: &Input) {
        let Some(Mm(most)) = input.required.largest_aggregate_mm else { return };
        let required = format!("at most {} mm", most.to_mm_text());
        let Some(Mm(found)) = input.ticket.largest_aggregate_mm else {
            return self.not_stated("largest aggregate", &required);
        };
        self.working.mm(
            "largest aggregate below its limit by (accepted from 0)",
            format!("{} - {}", most.to_mm_text(), found.to_mm_text()),
            most - found,
            FLOOR_DESIGN,
        );
        let text = format!("{} mm", found.to_mm_text());
        self.add("largest aggregate", (required, text), Verdict::of(found <= most), None, FLOOR_DESIGN);
    }

    fn fibre(&mut self, input: &Input) {
        let (required, ticket) = (&input.required, &input.ticket);
        let is_micro =
            |kind: &Option<String>| kind.as_ref().is_some_and(|kind| kind.to_lowercase().contains("micro"));
        if let Some(wanted) = &required.fibre_type {
            match &ticket.fibre_type {
                Some(found) => {
                    let alike = letters(wanted) == letters(found);
                    let reason = (alike && is_micro(&ticket.fibre_type))
                        .then(|| "micro fibres are never structural".to_owned());
                    self.add("fibre type", (wanted, found), Verdict::of(alike), reason, FLOOR_DESIGN);
                }
                None => self.not_stated("fibre type", wanted),
            }
        }
        let Some(Plain(least)) = required.fibre_kg_per_m3 else { return };
        let wanted = format!("at least {} kg/m³", least.to_text());
        let Some(Plain(found)) = ticket.fibre_kg_per_m3 else { return self.not_stated("fibre", &wanted) };
        self.working.plain(
            "fibre above its limit by (accepted from 0)",
            format!("{} - {}", found.to_text(), least.to_text()),
            less(found, least),
            FLOOR_DESIGN,
        );
        let text = format!("{} kg/m³", found.to_text());
        // Micro fibres count only where micro fibres are what is asked for.
        if is_micro(&ticket.fibre_type) && !is_micro(&required.fibre_type) {
            let reason = Some("micro fibres are never structural".to_owned());
            self.add("fibre", (wanted, text), Verdict::Nonconforming, reason, COMMON_PRACTICE);
        } else {
            self.add("fibre", (wanted, text), Verdict::of(least <= found), None, FLOOR_DESIGN);
        }
    }

    fn water(&mut self, ticket: &Ticket) {
        let Some(Plain(water)) = ticket.water_added_l else { return };
        let none = water == Factor::default();
        if let Some(Plain(load)) = ticket.load_m3.filter(|_| !none) {
            self.working.float(
                "water added, litres a cubic metre",
                format!("{} / {}", water.to_text(), load.to_text()),
                water.to_f64() / load.to_f64(),
                "l/m3",
                ARITHMETIC,
            );
        }
        let (verdict, reason) = if none {
            (Verdict::Conforming, None)
        } else {
            let reason =
                "water was added on site: the producer answers whether the concrete is still what it was";
            (Verdict::Undetermined, Some(reason.to_owned()))
        };
        let found = format!("{} l", water.to_text());
        self.add("water added on site", ("none", found), verdict, reason, COMMON_PRACTICE);
    }

    fn time(&mut self, input: &Input, batched: Moment, discharged: Moment) {
        let limit = input.required.hours_to_discharge.0;
        let seconds = discharged.seconds_after(batched);
        self.working.float(
            "minutes from batching to discharge",
            format!("{seconds} / 60"),
            seconds_f64(seconds) / 60.0,
            "min",
            ARITHMETIC,
        );
        self.working.float(
            "minutes left (accepted from 0)",
            format!("{} * 60 - {seconds} / 60", limit.to_text()),
            limit.to_f64() * 60.0 - seconds_f64(seconds) / 60.0,
            "min",
            FLOOR_DESIGN,
        );
        // In millionths of a second, whole numbers on both sides.
        let within = i128::from(seconds) * 1_000_000 <= i128::from(limit.millionths()) * 3_600;
        let found = format!("{} h {:02} min {:02} s", seconds / 3_600, seconds / 60 % 60, seconds % 60);
        let required = format!("at most {} h", limit.to_text());
        self.add("time to discharge", (required, found), Verdict::of(within), None, FLOOR_DESIGN);
    }

    fn temperature(&mut self, item: &str, found: Factor, least: Factor) {
        self.working.plain(
            format!("{item} above its limit by (accepted from 0)"),
            format!("{} - {}", found.to_text(), term(&least.to_text())),
            less(found, least),
            FLOOR_DESIGN,
        );
        let texts = (format!("at least {} °C", least.to_text()), format!("{} °C", found.to_text()));
        self.add(item, texts, Verdict::of(least <= found), None, FLOOR_DESIGN);
    }

    fn not_stated(&mut self, item: &str, required: &str) {
        let reason = Some("the ticket does not say: ask the producer".to_owned());
        self.add(item, (required, NOT_STATED), Verdict::Undetermined, reason, FLOOR_DESIGN);
    }
}

#[expect(clippy::cast_precision_loss, reason = "a few hours in seconds")]
fn seconds_f64(seconds: i64) -> f64 {
    seconds as f64
}

/// The difference of two plain numbers, which is one too.
fn less(a: Factor, b: Factor) -> Factor {
    Factor::from_millionths(a.millionths() - b.millionths())
}

/// Everything that a strength class as printed can mean; an exposure class after a designated mix is left aside.
fn classes(printed: &str) -> Vec<StrengthClass> {
    let name: String = printed.to_uppercase().chars().filter(|c| !c.is_whitespace()).collect();
    let name = if name.starts_with("RC") { name.trim_end_matches(char::is_alphabetic) } else { &name };
    readings(name)
}

/// The range of a spot sample's slump for a consistence class.
fn spot_sample(class: &str) -> Option<Limits> {
    let range = METHODS.spot_sample.slump_mm.get(&class.trim().to_uppercase())?;
    let [least, most] = range.map(crate::quantity::Length::from_mm);
    Some(Limits::between(least, most))
}

/// Letters and figures of a name in small letters.
fn letters(name: &str) -> String {
    name.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect()
}

fn check(input: &Input) -> Result<(Moment, Moment), Faults> {
    let mut faults = Faults::new();
    let zero = Factor::default();
    let (required, ticket) = (&input.required, &input.ticket);
    if classes(&required.strength_class).is_empty() {
        faults.add(
            "/required/strength_class",
            "must be a strength class such as C20/25, a designated mix such as GEN3, or a grade such as C20",
        );
    }
    for (place, length) in [
        ("/required/largest_aggregate_mm", required.largest_aggregate_mm),
        ("/ticket/largest_aggregate_mm", ticket.largest_aggregate_mm),
    ] {
        if let Some(length) = length {
            refuse_nothing(place, length.0, &mut faults);
        }
    }
    for (place, number) in [
        ("/required/fibre_kg_per_m3", required.fibre_kg_per_m3),
        ("/ticket/fibre_kg_per_m3", ticket.fibre_kg_per_m3),
        ("/ticket/water_added_l", ticket.water_added_l),
    ] {
        if number.is_some_and(|number| number.0 < zero) {
            faults.add(place, "must be at least 0");
        }
    }
    if let Some(slump) = ticket.measured_slump_mm {
        super::refuse_negative("/ticket/measured_slump_mm", slump.0, &mut faults);
    }
    if required.hours_to_discharge.0 <= zero {
        faults.add("/required/hours_to_discharge", "must be more than 0");
    }
    if ticket.load_m3.is_some_and(|load| load.0 <= zero) {
        faults.add("/ticket/load_m3", "must be more than 0");
    }
    let moments = times::read_pair(
        (&ticket.batched_at, "/ticket/batched_at"),
        (&ticket.discharged_at, "/ticket/discharged_at"),
        &mut faults,
    );
    match moments {
        Some(moments) => faults.into_result(moments),
        None => Err(faults),
    }
}
