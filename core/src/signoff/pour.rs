//! The pour on paper: loads with their running total, air and wind with what to do, cubes with their criteria.

use super::flow::{BODY, Cell, Column, Flow, SMALL, STRONG};
use super::marks::Mark;
use super::model::Line;
use crate::conformity::Verdict;
use crate::inspection::beam_feeds::criterion_of_feed;
use crate::inspection::fold::{Noted, PlotRecord};
use crate::inspection::judge;
use crate::inspection::pour::{Condition, Load, PourDay, SampleStanding, pour_day};
use crate::plan_of_work::Feed;
use crate::quantity::Length;
use crate::reckon::cube_strength;

/// What paper says of the pour.
#[derive(Debug, Clone, PartialEq)]
pub struct PourPart {
    facts: Vec<(&'static str, String)>,
    loads: Vec<Vec<Cell>>,
    /// Air and wind, and what to do where the surface dries too fast.
    conditions: Vec<Vec<Cell>>,
    advice: Vec<String>,
    samples: Vec<Vec<Cell>>,
    /// Every criterion that the results are held against.
    criteria: Vec<Vec<Cell>>,
    strength: Option<Line>,
}

/// The pour of a plot; `None` where its plan asks for none, or nothing of it is booked yet.
pub(super) fn part(record: &PlotRecord, noted: impl Fn(&Noted) -> String) -> Option<PourPart> {
    let day = pour_day(record)?;
    if day.loads.is_empty() && day.conditions.is_empty() && day.started.is_none() {
        return None;
    }
    let (criteria, strength) = strength(record, &day);
    Some(PourPart {
        facts: facts(&day),
        loads: day.loads.iter().map(|one| load(one, &noted)).collect(),
        conditions: day.conditions.iter().map(|one| condition(one, &noted)).collect(),
        advice: day
            .conditions
            .iter()
            .map(|one| &one.advice)
            .find(|one| !one.is_empty())
            .cloned()
            .unwrap_or_default(),
        samples: day.samples.iter().flat_map(|one| sample(one, &noted)).collect(),
        criteria,
        strength,
    })
}

fn facts(day: &PourDay) -> Vec<(&'static str, String)> {
    let time = |at: &Option<(crate::ids::EntryId, String)>| {
        at.as_ref().map_or_else(|| "not noted".to_owned(), |(_, at)| at.clone())
    };
    let mut facts = vec![
        ("Started", time(&day.started)),
        ("Finished", time(&day.finished)),
        ("Placed, all loads", format!("{} m³", day.total.to_m3_text())),
    ];
    if let Some(needed) = &day.needed {
        let from = if needed.is_forecast { "forecast from rail and beam tops" } else { "as drawn" };
        facts.push(("Topping takes", format!("{:.3} m³, {from}", needed.volume.to_m3_f64())));
        facts.push(("To be ordered", format!("{} m³, with waste", needed.order.to_m3_text())));
    }
    facts
}

fn load(one: &Load, noted: &impl Fn(&Noted) -> String) -> Vec<Cell> {
    let fact = &one.fact;
    let verdict = one.judged.as_ref().map_or(Verdict::Undetermined, |judged| judged.verdict);
    let class = [Some(&fact.strength_class), fact.consistence_class.as_ref()];
    let class: Vec<&str> = class.into_iter().flatten().map(String::as_str).collect();
    let slump = fact
        .measured_slump_um
        .map_or_else(|| "–".to_owned(), |um| format!("{} mm", Length::from_um(um).to_mm_text()));
    let began = fact.began_at.as_ref().map_or_else(String::new, |began| format!(", from {began}"));
    let water =
        fact.water_added_l.as_ref().map_or_else(|| "not stated".to_owned(), |water| format!("{water} l"));
    vec![
        Cell::strong(&fact.ticket),
        Cell::text(fact.batch.clone().unwrap_or_else(|| "–".to_owned())),
        Cell::text(class.join(" ")),
        Cell::text(fact.load_m3.clone().unwrap_or_else(|| "–".to_owned())),
        Cell::strong(one.total.to_m3_text()),
        Cell::text(format!("{}{began}, out {}", fact.batched_at, fact.discharged_at)),
        Cell::text(slump),
        Cell::text(format!("{} °C, {} °C", fact.air_c, fact.concrete_c)),
        Cell::text(water),
        Cell::marked(Mark::of(verdict), noted(&one.noted)),
    ]
}

fn condition(one: &Condition, noted: &impl Fn(&Noted) -> String) -> Vec<Cell> {
    let fact = &one.fact;
    vec![
        Cell::strong(&fact.at),
        Cell::text(&fact.concrete_c),
        Cell::text(&fact.air_c),
        Cell::text(&fact.humidity_percent),
        Cell::text(&fact.wind_km_per_h),
        Cell::strong(one.rate.map_or_else(|| "–".to_owned(), |rate| format!("{rate:.3}"))),
        Cell::marked(Mark::of(one.verdict), noted(&one.noted)),
    ]
}

/// One row for what was taken, and one for every result.
fn sample(one: &SampleStanding, noted: &impl Fn(&Noted) -> String) -> Vec<Vec<Cell>> {
    let fact = &one.fact;
    let mut rows = vec![vec![
        Cell::strong(&fact.sample),
        Cell::text(format!("{} cubes of load {}, taken {}", fact.cubes, fact.ticket, fact.at)),
        Cell::text("–"),
        Cell::text(if one.is_decided { "" } else { "result is awaited" }),
        Cell::small(noted(&one.noted)),
    ]];
    rows.extend(one.results.iter().map(|(_, test, by)| {
        let report = test.report.as_ref().map_or_else(String::new, |report| format!("report {report}"));
        vec![
            Cell::text(&fact.sample),
            Cell::text(report),
            Cell::text(test.age_days.to_string()),
            Cell::strong(test.cubes_mpa.join(", ")),
            Cell::small(noted(by)),
        ]
    }));
    rows
}

fn strength(record: &PlotRecord, day: &PourDay) -> (Vec<Vec<Cell>>, Option<Line>) {
    let Some((point, asked)) = criterion_of_feed(record, Feed::CubeResults) else {
        return (Vec::new(), None);
    };
    let standing = judge::of_criterion(record, point, asked);
    let output: Option<cube_strength::Output> =
        standing.reckoned.first().and_then(|one| serde_json::from_value(one.output.clone()).ok());
    let criteria = output.iter().flat_map(|output| &output.criteria).map(|one| {
        let of = match one.of {
            cube_strength::Of::Mean => "mean",
            cube_strength::Of::Least => "least",
        };
        vec![
            Cell::text(&one.strength_class),
            Cell::text(one.samples.join(", ")),
            Cell::text(of),
            Cell::strong(format!("{:.2}", one.found)),
            Cell::text(one.limit.0.to_text()),
            Cell::marked(Mark::of(one.verdict), Mark::of(one.verdict).word()),
            Cell::small(&one.source),
        ]
    });
    let awaited: Vec<&str> =
        day.samples.iter().filter(|one| !one.is_decided).map(|one| one.fact.sample.as_str()).collect();
    let line = match standing.verdict {
        Some(verdict) if awaited.is_empty() || verdict == Verdict::Nonconforming => Line {
            mark: Mark::of(verdict),
            text: format!("Strength of the cubes: {}", Mark::of(verdict).word()),
        },
        _ if awaited.is_empty() => Line { mark: Mark::Open, text: "No cubes are taken yet.".to_owned() },
        _ => Line { mark: Mark::Open, text: format!("Results are awaited: {}", awaited.join(", ")) },
    };
    (criteria.collect(), Some(line))
}

/// Lays the pour out.
pub(super) fn lay_out(flow: &mut Flow<'_>, part: Option<&PourPart>) {
    let Some(part) = part else { return };
    flow.heading("Pour and cubes");
    flow.facts(3, &part.facts);
    if !part.loads.is_empty() {
        flow.subheading("Loads");
        let columns = [
            Column::words("Ticket", 1.5),
            Column::words("Batch", 1.0),
            Column::words("Class", 1.1),
            Column::numbers("m³", 0.6),
            Column::numbers("Total", 0.7),
            Column::words("Batched, out", 1.6),
            Column::numbers("Slump", 0.8),
            Column::words("Air, mix", 1.0),
            Column::words("Water", 0.8),
            Column::words("Booked", 1.9),
        ];
        flow.table(&columns, &part.loads);
    }
    if !part.conditions.is_empty() {
        flow.subheading("Water lost from the fresh surface");
        let columns = [
            Column::words("At", 0.8),
            Column::numbers("Concrete, °C", 1.0),
            Column::numbers("Air, °C", 0.8),
            Column::numbers("Humidity, %", 1.0),
            Column::numbers("Wind, km/h", 1.0),
            Column::numbers("Lost, kg/m²h", 1.1),
            Column::words("Booked", 2.4),
        ];
        flow.table(&columns, &part.conditions);
        if !part.advice.is_empty() {
            flow.paragraph("What helps, the quickest first:", STRONG);
            for one in &part.advice {
                flow.item("•", one, BODY);
            }
        }
    }
    if let Some(strength) = &part.strength {
        flow.subheading("Cubes");
        flow.marked(strength.mark, &strength.text, STRONG);
    }
    if !part.samples.is_empty() {
        let columns = [
            Column::words("Cubes", 1.0),
            Column::words("Load, report", 2.6),
            Column::numbers("Days", 0.5),
            Column::words("Strength, MPa", 1.5),
            Column::words("Booked", 2.0),
        ];
        flow.table(&columns, &part.samples);
    }
    if !part.criteria.is_empty() {
        let columns = [
            Column::words("Class", 0.9),
            Column::words("Cubes", 1.4),
            Column::words("Of them", 0.7),
            Column::numbers("MPa", 0.7),
            Column::numbers("At least", 0.7),
            Column::words("Verdict", 1.0),
            Column::words("Source", 2.2),
        ];
        flow.table(&columns, &part.criteria);
        let says = "Cubes show whether the concrete is of the class that was ordered. What the floor may carry is the engineer's to say.";
        flow.paragraph(says, SMALL);
    }
}
