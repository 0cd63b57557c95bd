//! Delivery: delivery notes booked line by line against the order, and what can be started with what is sound.
//!
//! Damaged and unlabelled items are set apart until someone answers for them, and so is what was never ordered. It
//! counts; it does not look at beams.

use std::collections::HashMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Finding, MAX_NAME, deciding, refuse_too_many, refuse_twins};
use crate::conformity::Verdict;
use crate::faults::Faults;
use crate::working::{ARITHMETIC, COMMON_PRACTICE, Working};

mod spelling;
#[cfg(test)]
mod tests;

/// The most items in an order, and stages.
pub const MAX_ITEMS: usize = 500;
/// The most lines on all delivery notes together, and needs of all stages together.
pub const MAX_LINES: usize = 5_000;
/// The most of one item on one line.
pub const MAX_QUANTITY: u32 = 1_000_000;

/// An order, what came, and what is needed when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Items ordered, each once.
    #[schemars(length(max = MAX_ITEMS))]
    pub ordered: Vec<Quantity>,
    /// Delivery notes.
    #[schemars(length(max = MAX_LINES))]
    pub notes: Vec<Note>,
    /// Stages in the order of work and what each needs.
    #[schemars(length(max = MAX_ITEMS))]
    pub stages: Vec<Stage>,
}

/// So many of one item.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Quantity {
    /// The item as the drawing names it.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub item: String,
    /// How many.
    #[schemars(range(min = 0, max = MAX_QUANTITY))]
    pub quantity: u32,
}

/// One delivery note.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Note {
    /// Its number, once.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub note: String,
    /// Its lines; an item may stand on several.
    #[schemars(length(max = MAX_LINES))]
    pub lines: Vec<Line>,
}

/// One line of a delivery note, as counted on site.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// The item.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub item: String,
    /// How many came.
    #[schemars(range(min = 0, max = MAX_QUANTITY))]
    pub delivered: u32,
    /// How many of them are damaged.
    #[schemars(range(min = 0, max = MAX_QUANTITY))]
    pub damaged: u32,
    /// How many others bear no label.
    #[schemars(range(min = 0, max = MAX_QUANTITY))]
    pub unlabelled: u32,
}

/// One stage of the work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Stage {
    /// Its name, once.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub stage: String,
    /// What it needs, each item once.
    #[schemars(length(max = MAX_ITEMS))]
    pub needs: Vec<Quantity>,
}

/// The order balanced.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// Every item ordered, in the order of the input.
    pub balance: Vec<Balance>,
    /// What came and was never ordered.
    pub unordered: Vec<Unordered>,
    /// What each stage can have.
    pub stages: Vec<JudgedStage>,
    /// Nonconforming when anything is short, damaged, unlabelled or unordered; undetermined without an order.
    pub verdict: Verdict,
    /// What else there is to say.
    pub findings: Vec<Finding>,
    /// The sums.
    pub working: Working,
}

/// One item ordered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Balance {
    /// The item.
    pub item: String,
    /// How many were ordered.
    pub ordered: u32,
    /// How many came.
    pub delivered: u64,
    /// Delivered less damaged and unlabelled.
    pub sound: u64,
    /// Damaged.
    pub damaged: u64,
    /// Without a label.
    pub unlabelled: u64,
    /// Sound ones that are missing.
    pub short: u64,
    /// Sound ones too many.
    pub surplus: u64,
}

/// One item that was not ordered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Unordered {
    /// The item as the delivery note names it.
    pub item: String,
    /// How many came.
    pub delivered: u64,
    /// Damaged.
    pub damaged: u64,
    /// Without a label.
    pub unlabelled: u64,
}

/// One stage.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct JudgedStage {
    /// Its name.
    pub stage: String,
    /// Everything it needs is there.
    pub can_start: bool,
    /// What is not there.
    pub missing: Vec<Missing>,
}

/// What a stage lacks.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Missing {
    /// The item.
    pub item: String,
    /// How many are missing.
    pub quantity: u64,
}

/// What came of one item.
#[derive(Debug, Clone, Copy, Default)]
struct Came {
    delivered: u64,
    damaged: u64,
    unlabelled: u64,
}

impl Came {
    fn sound(self) -> u64 {
        self.delivered.saturating_sub(self.damaged).saturating_sub(self.unlabelled)
    }
}

/// Balances deliveries against the order.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    check(input)?;
    let mut came: HashMap<&str, Came> = HashMap::new();
    let mut order: Vec<&str> = Vec::new();
    for line in input.notes.iter().flat_map(|note| &note.lines) {
        let of_item = came.entry(&line.item).or_insert_with(|| {
            order.push(&line.item);
            Came::default()
        });
        of_item.delivered += u64::from(line.delivered);
        of_item.damaged += u64::from(line.damaged);
        of_item.unlabelled += u64::from(line.unlabelled);
    }
    let mut working = Working::new();
    let balance: Vec<Balance> = input
        .ordered
        .iter()
        .map(|ordered| {
            let came = came.remove(ordered.item.as_str()).unwrap_or_default();
            balanced(ordered, came, &mut working)
        })
        .collect();
    let unordered: Vec<Unordered> = order
        .into_iter()
        .filter_map(|item| came.get(item).map(|came| (item, *came)))
        .filter(|(_, came)| 0 < came.delivered)
        .map(|(item, Came { delivered, damaged, unlabelled })| Unordered {
            item: item.to_owned(),
            delivered,
            damaged,
            unlabelled,
        })
        .collect();
    let stages = stages(input, &balance);
    let verdict = judge(&balance, &unordered, &mut working);
    let mut findings = Vec::new();
    if !unordered.is_empty() {
        findings.push(Finding::new(
            "only what was ordered is used",
            Verdict::Nonconforming,
            "what was never ordered is set apart until the supplier or the designer answers for it",
            COMMON_PRACTICE,
        ));
    }
    if balance.iter().any(|item| 0 < item.damaged + item.unlabelled) {
        findings.push(Finding::new(
            "damaged and unlabelled items are not used",
            Verdict::Nonconforming,
            "they are set apart until the supplier answers for them; a beam without a label is no known beam",
            COMMON_PRACTICE,
        ));
    }
    let verdict = Verdict::overall(std::iter::once(verdict).chain(deciding(&findings)));
    Ok(Output { balance, unordered, stages, verdict, findings, working })
}

fn balanced(ordered: &Quantity, came: Came, working: &mut Working) -> Balance {
    let Came { delivered, damaged, unlabelled } = came;
    let (sound, wanted) = (came.sound(), u64::from(ordered.quantity));
    let (short, surplus) = (wanted.saturating_sub(sound), sound.saturating_sub(wanted));
    let item = &ordered.item;
    working.count(
        format!("{item}: sound"),
        format!("{delivered} - {damaged} - {unlabelled}"),
        sound,
        ARITHMETIC,
    );
    working.count(format!("{item}: short"), format!("max(0, {wanted} - {sound})"), short, ARITHMETIC);
    if 0 < surplus {
        working.count(format!("{item}: surplus"), format!("max(0, {sound} - {wanted})"), surplus, ARITHMETIC);
    }
    Balance {
        item: item.clone(),
        ordered: ordered.quantity,
        delivered,
        sound,
        damaged,
        unlabelled,
        short,
        surplus,
    }
}

fn judge(balance: &[Balance], unordered: &[Unordered], working: &mut Working) -> Verdict {
    let amiss: Vec<u64> = balance
        .iter()
        .flat_map(|item| [item.short, item.damaged, item.unlabelled])
        .chain(unordered.iter().map(|item| item.delivered))
        .filter(|count| 0 < *count)
        .collect();
    let terms: Vec<String> = amiss.iter().map(u64::to_string).collect();
    let formula = if terms.is_empty() { "0".to_owned() } else { terms.join(" + ") };
    let sum = amiss.iter().sum();
    working.count("short, damaged, unlabelled and unordered together (0 conforms)", formula, sum, ARITHMETIC);
    if balance.is_empty() && unordered.is_empty() { Verdict::Undetermined } else { Verdict::of(sum == 0) }
}

/// Sound stock is given to stages in their order; one that cannot start keeps what it could take.
fn stages(input: &Input, balance: &[Balance]) -> Vec<JudgedStage> {
    let mut stock: HashMap<&str, u64> = balance.iter().map(|item| (item.item.as_str(), item.sound)).collect();
    input
        .stages
        .iter()
        .map(|stage| {
            let mut missing = Vec::new();
            for need in &stage.needs {
                let wanted = u64::from(need.quantity);
                let given = stock.get_mut(need.item.as_str()).map_or(0, |left| {
                    let given = wanted.min(*left);
                    *left -= given;
                    given
                });
                if given < wanted {
                    missing.push(Missing { item: need.item.clone(), quantity: wanted - given });
                }
            }
            JudgedStage { stage: stage.stage.clone(), can_start: missing.is_empty(), missing }
        })
        .collect()
}

fn check(input: &Input) -> Result<(), Faults> {
    let mut faults = Faults::new();
    refuse_too_many("/ordered", input.ordered.len(), MAX_ITEMS, &mut faults);
    refuse_too_many("/stages", input.stages.len(), MAX_ITEMS, &mut faults);
    refuse_twins("/ordered", "item", input.ordered.iter().map(|one| one.item.as_str()), &mut faults);
    refuse_twins("/notes", "note", input.notes.iter().map(|one| one.note.as_str()), &mut faults);
    refuse_twins("/stages", "stage", input.stages.iter().map(|one| one.stage.as_str()), &mut faults);
    let lines = input.notes.iter().map(|note| note.lines.len().max(1)).sum();
    let needs = input.stages.iter().map(|stage| stage.needs.len()).sum();
    for (place, what, count) in [("/notes", "lines", lines), ("/stages", "needs", needs)] {
        if MAX_LINES < count {
            faults.add(place, format!("must have at most {MAX_LINES} {what} together"));
        }
    }
    let mut quantity = |place: String, quantity: u32| {
        if MAX_QUANTITY < quantity {
            faults.add(place, format!("must be at most {MAX_QUANTITY}"));
        }
    };
    for (index, ordered) in input.ordered.iter().enumerate() {
        quantity(format!("/ordered/{index}/quantity"), ordered.quantity);
    }
    for (at, stage) in input.stages.iter().enumerate() {
        for (index, need) in stage.needs.iter().enumerate() {
            quantity(format!("/stages/{at}/needs/{index}/quantity"), need.quantity);
        }
    }
    for (at, note) in input.notes.iter().enumerate() {
        for (index, line) in note.lines.iter().enumerate() {
            quantity(format!("/notes/{at}/lines/{index}/delivered"), line.delivered);
        }
    }
    for (at, stage) in input.stages.iter().enumerate() {
        let list = format!("/stages/{at}/needs");
        refuse_twins(&list, "item", stage.needs.iter().map(|need| need.item.as_str()), &mut faults);
    }
    for (at, note) in input.notes.iter().enumerate() {
        for (index, line) in note.lines.iter().enumerate() {
            let apart = u64::from(line.damaged) + u64::from(line.unlabelled);
            if u64::from(line.delivered) < apart {
                faults.add(
                    format!("/notes/{at}/lines/{index}/damaged"),
                    format!(
                        "damaged and unlabelled together are {apart}, more than the {} delivered",
                        line.delivered
                    ),
                );
            }
        }
    }
    // Comparing spellings takes time: only for lists within their bounds.
    if input.ordered.len() <= MAX_ITEMS && lines <= MAX_LINES && needs <= MAX_LINES {
        spelling::refuse_two_spellings(input, &mut faults);
    }
    faults.into_result(())
}

/// Item names of the input with their places, the order first.
fn names(input: &Input) -> impl Iterator<Item = (String, &str)> {
    let ordered = input
        .ordered
        .iter()
        .enumerate()
        .map(|(index, one)| (format!("/ordered/{index}/item"), one.item.as_str()));
    let needed = input.stages.iter().enumerate().flat_map(|(at, stage)| {
        let needs = stage.needs.iter().enumerate();
        needs.map(move |(index, one)| (format!("/stages/{at}/needs/{index}/item"), one.item.as_str()))
    });
    let noted = input.notes.iter().enumerate().flat_map(|(at, note)| {
        let lines = note.lines.iter().enumerate();
        lines.map(move |(index, one)| (format!("/notes/{at}/lines/{index}/item"), one.item.as_str()))
    });
    ordered.chain(needed).chain(noted)
}
