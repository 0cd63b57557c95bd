//! Layer order: whether membranes, services and layers lie in an order that is safe and lasts.
//!
//! The rule that matters most: no gas pipe within the floor lies under a membrane, since escaping gas would be
//! trapped. Gas work is the registered gas engineer's; nothing here replaces that engineer or the designer, and a
//! damp or gas membrane is never cut back to suit a pipe.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::polygon::{self, Point, check_outline};
use super::{Finding, MAX_NAME, MAX_VERTICES, deciding, refuse_too_many, refuse_twins};
use crate::conformity::Verdict;
use crate::faults::Faults;
use crate::quantity::{Factor, Length, Mm};
use crate::working::{ARITHMETIC, COMMON_PRACTICE, Working, of_many};

mod rules;
#[cfg(test)]
mod tests;

/// The floor's layers and the services in it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Layers from the top down.
    #[schemars(length(min = 1, max = MAX_VERTICES))]
    pub stack: Vec<Layer>,
    /// Services and where they run.
    #[schemars(length(max = MAX_VERTICES))]
    pub services: Vec<Service>,
    /// The membrane that the project asks for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub membrane_required: Option<Required>,
    /// Membrane and pipes on plan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plan: Option<Plan>,
}

/// One layer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Layer {
    /// Its name, once in a stack.
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub layer: String,
    /// What it is.
    pub kind: Kind,
    /// What a membrane is for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub purpose: Option<Purpose>,
}

/// What a layer is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    Topping,
    Membrane,
    Overlay,
    Infill,
    Beam,
    Heating,
}

/// What a membrane is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Purpose {
    Damp,
    Gas,
    Separating,
}

/// A membrane that can be asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Required {
    Damp,
    Gas,
}

/// One service: `in` a layer or directly `below` one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Service {
    /// What it carries.
    pub service: ServiceKind,
    /// The layer it lies in.
    #[serde(rename = "in", default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub within: Option<String>,
    /// The layer it lies directly below.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub below: Option<String>,
    /// The registered engineer's document for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = MAX_NAME))]
    pub document: Option<String>,
}

/// What a service carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum ServiceKind {
    Gas,
    Water,
    Electric,
    Heating,
}

/// Membrane and pipes on plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// Outline of the membrane, any winding, not closed.
    #[schemars(length(min = 3, max = MAX_VERTICES))]
    pub membrane_mm: Vec<Point>,
    /// Pipes.
    #[schemars(length(max = MAX_VERTICES))]
    pub pipes: Vec<Pipe>,
}

/// One pipe on plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pipe {
    /// What it carries.
    pub service: ServiceKind,
    /// Its way, from point to point.
    #[schemars(length(min = 2, max = MAX_VERTICES))]
    pub path_mm: Vec<Point>,
}

/// What the rules say.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// Every rule looked at; cautions decide nothing.
    pub findings: Vec<Finding>,
    /// Any nonconforming, else any undetermined, else conforming.
    pub verdict: Verdict,
    /// With a plan: length of gas pipe under the membrane's outline, boundary included; 0 when no membrane lies
    /// above a gas pipe.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub covered_length_mm: Option<Mm>,
    /// The sums.
    pub working: Working,
}

/// Where a service lies in the stack.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Position {
    /// In the layer of this index.
    In(usize),
    /// Between the layer of this index and the next one down.
    Below(usize),
}

impl Position {
    /// True when the layer of this index lies above the service. A pipe said to lie in a membrane counts as under it.
    fn is_under(self, layer: usize, kind: Kind) -> bool {
        match self {
            Self::In(index) => layer < index || (layer == index && kind == Kind::Membrane),
            Self::Below(index) => layer <= index,
        }
    }
}

/// Applies the rules.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    let positions = check(input)?;
    let mut working = Working::new();
    let trapped = rules::gas_under_a_membrane(input, &positions);
    let on_plan = input.plan.as_ref().map(|plan| covered(plan, trapped, &mut working));
    let findings = rules::all(input, &positions, on_plan.as_ref());
    let counts: Vec<String> = findings
        .iter()
        .map(|finding| if finding.verdict == Verdict::Nonconforming { "1" } else { "0" }.to_owned())
        .collect();
    let broken = findings.iter().filter(|finding| finding.verdict == Verdict::Nonconforming).count();
    working.plain(
        "rules not kept",
        counts.join(" + "),
        Factor::whole(i32::try_from(broken).unwrap_or(i32::MAX)),
        ARITHMETIC,
    );
    let verdict = Verdict::overall(deciding(&findings));
    Ok(Output { findings, verdict, covered_length_mm: on_plan.map(|on_plan| Mm(on_plan.length)), working })
}

/// What the plan says about gas pipes.
pub(super) struct Covered {
    /// Length under the membrane.
    length: Length,
    /// The plan shows a gas pipe at all.
    shows_gas: bool,
}

fn covered(plan: &Plan, trapped: bool, working: &mut Working) -> Covered {
    let gas: Vec<&Pipe> = plan.pipes.iter().filter(|pipe| pipe.service == ServiceKind::Gas).collect();
    let mut formulas = Vec::new();
    let mut length_mm = 0.0;
    if trapped {
        for pipe in &gas {
            for pair in pipe.path_mm.windows(2) {
                let whole_mm = polygon::length_mm(&pair[0], &pair[1]);
                for (from, to) in polygon::parts_inside(&pair[0], &pair[1], &plan.membrane_mm) {
                    length_mm += whole_mm * (to - from);
                    formulas
                        .push(format!("{} * ({to} - {from})", polygon::length_formula(&pair[0], &pair[1])));
                }
            }
        }
    }
    let length = polygon::nearest_um(length_mm);
    let formula = if formulas.is_empty() { "0".to_owned() } else { formulas.join(" + ") };
    working.mm("gas pipe under the membrane", of_many("max", &[formula]), length, COMMON_PRACTICE);
    Covered { length, shows_gas: !gas.is_empty() }
}

fn check(input: &Input) -> Result<Vec<Position>, Faults> {
    let mut faults = Faults::new();
    refuse_too_many("/stack", input.stack.len(), MAX_VERTICES, &mut faults);
    refuse_too_many("/services", input.services.len(), MAX_VERTICES, &mut faults);
    refuse_twins("/stack", "layer", input.stack.iter().map(|layer| layer.layer.as_str()), &mut faults);
    for (index, layer) in input.stack.iter().enumerate() {
        if layer.purpose.is_some() && layer.kind != Kind::Membrane {
            faults.add(format!("/stack/{index}/purpose"), "only a membrane has a purpose");
        }
    }
    let mut positions = Vec::new();
    for (index, service) in input.services.iter().enumerate() {
        let place = format!("/services/{index}");
        let (key, name) = match (&service.within, &service.below) {
            (Some(name), None) => ("in", name),
            (None, Some(name)) => ("below", name),
            (None, None) => {
                faults.add(format!("{place}/in"), "is missing: say in or below which layer");
                continue;
            }
            (Some(_), Some(_)) => {
                faults.add(format!("{place}/below"), "a service lies in a layer or below one, not both");
                continue;
            }
        };
        match input.stack.iter().position(|layer| layer.layer == *name) {
            Some(layer) if key == "in" => positions.push(Position::In(layer)),
            Some(layer) => positions.push(Position::Below(layer)),
            None => faults.add(format!("{place}/{key}"), format!("no layer is called {name:?}")),
        }
    }
    if let Some(plan) = &input.plan {
        check_outline("/plan/membrane_mm", &plan.membrane_mm, &mut faults);
        refuse_too_many("/plan/pipes", plan.pipes.len(), MAX_VERTICES, &mut faults);
        for (index, pipe) in plan.pipes.iter().enumerate() {
            let place = format!("/plan/pipes/{index}/path_mm");
            refuse_too_many(&place, pipe.path_mm.len(), MAX_VERTICES, &mut faults);
            if pipe.path_mm.len() < 2 {
                faults.add(place, "must have at least 2 points");
            }
        }
    }
    faults.into_result(positions)
}
