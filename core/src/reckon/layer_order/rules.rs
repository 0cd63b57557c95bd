//! The rules on layers and services, each a finding with its source.

use super::{Covered, Input, Kind, Layer, Position, Purpose, Required, Service, ServiceKind};
use crate::conformity::Verdict;
use crate::quantity::Length;
use crate::reckon::Finding;
use crate::working::{COMMON_PRACTICE, FLOOR_DESIGN};

const NO_MEMBRANE_OVER_GAS: &str = "no membrane lies over a gas pipe in the floor";
const NO_GAS_IN_TOPPING: &str = "no gas pipe lies in the structural topping";
const ENGINEER: &str = "a gas pipe in the floor has the registered gas engineer's document";
const REMEDY: &str = "move the pipe or ask the designer; never cut a damp or gas membrane back";

/// True for a place in or above the beams: within the floor, not in the void.
fn is_in_floor(stack: &[Layer], position: Position) -> bool {
    let lowest_beam = stack.iter().rposition(|layer| layer.kind == Kind::Beam);
    match (lowest_beam, position) {
        (None, _) => true,
        (Some(beam), Position::In(index)) => index <= beam,
        (Some(beam), Position::Below(index)) => index < beam,
    }
}

fn membrane_above(stack: &[Layer], position: Position) -> Option<&Layer> {
    stack
        .iter()
        .enumerate()
        .find(|(index, layer)| layer.kind == Kind::Membrane && position.is_under(*index, layer.kind))
        .map(|(_, layer)| layer)
}

fn gas<'i>(input: &'i Input, positions: &'i [Position]) -> impl Iterator<Item = (&'i Service, Position)> {
    input
        .services
        .iter()
        .zip(positions.iter().copied())
        .filter(|(service, _)| service.service == ServiceKind::Gas)
}

/// True when a gas pipe within the floor has a membrane above it in the stack.
pub(super) fn gas_under_a_membrane(input: &Input, positions: &[Position]) -> bool {
    gas(input, positions).any(|(_, position)| {
        is_in_floor(&input.stack, position) && membrane_above(&input.stack, position).is_some()
    })
}

/// All rules in turn.
pub(super) fn all(input: &Input, positions: &[Position], on_plan: Option<&Covered>) -> Vec<Finding> {
    let mut findings = Vec::new();
    gas_rules(input, positions, on_plan, &mut findings);
    membrane_rules(input, &mut findings);
    heating_rule(input, positions, &mut findings);
    findings
}

fn gas_rules(input: &Input, positions: &[Position], on_plan: Option<&Covered>, findings: &mut Vec<Finding>) {
    let mut in_floor = 0;
    for (service, position) in gas(input, positions) {
        let place = match position {
            Position::In(index) => format!("in {}", input.stack[index].layer),
            Position::Below(index) => format!("below {}", input.stack[index].layer),
        };
        if !is_in_floor(&input.stack, position) {
            findings.push(Finding::caution(
                "a gas pipe in the void leans on the vents",
                format!("the gas pipe {place} is safe only while the void is ventilated: see that the vents are proved and stay clear"),
                COMMON_PRACTICE,
            ));
            continue;
        }
        in_floor += 1;
        let in_topping = matches!(position, Position::In(index) if input.stack[index].kind == Kind::Topping);
        if in_topping {
            findings.push(Finding::new(
                NO_GAS_IN_TOPPING,
                Verdict::Nonconforming,
                format!("the gas pipe lies {place}; {REMEDY}"),
                "BS 6891",
            ));
        }
        // Without a plan of the gas pipe the stack alone decides; with one, only what lies under the outline.
        let membrane = membrane_above(&input.stack, position)
            .filter(|_| on_plan.is_none_or(|plan| !plan.shows_gas || plan.length > Length::ZERO));
        if let Some(membrane) = membrane {
            let over = on_plan
                .filter(|plan| plan.shows_gas)
                .map_or_else(String::new, |plan| format!(" over {} mm of its way", plan.length.mm_text(0)));
            findings.push(Finding::new(
                NO_MEMBRANE_OVER_GAS,
                Verdict::Nonconforming,
                format!(
                    "the gas pipe {place} lies under {}{over}: escaping gas would be trapped; {REMEDY}",
                    membrane.layer
                ),
                COMMON_PRACTICE,
            ));
        } else if !in_topping {
            let (verdict, reason) = match &service.document {
                Some(document) => {
                    (Verdict::Conforming, format!("the gas pipe {place} is covered by {document}"))
                }
                None => (
                    Verdict::Undetermined,
                    format!("the gas pipe {place} waits for the registered gas engineer's document"),
                ),
            };
            findings.push(Finding::new(ENGINEER, verdict, reason, COMMON_PRACTICE));
        }
    }
    if in_floor == 0 {
        findings.push(Finding::new(
            NO_MEMBRANE_OVER_GAS,
            Verdict::Conforming,
            "no gas pipe lies within the floor's layers",
            COMMON_PRACTICE,
        ));
    }
}

fn membrane_rules(input: &Input, findings: &mut Vec<Finding>) {
    let overlay = input.stack.iter().position(|layer| layer.kind == Kind::Overlay);
    let above_overlay = input.stack.iter().enumerate().find(|(index, layer)| {
        layer.kind == Kind::Membrane && overlay.is_some_and(|overlay| *index < overlay)
    });
    if let Some((_, membrane)) = above_overlay {
        findings.push(Finding::caution(
            "a membrane stays whole",
            format!("{} lies above the overlay, where clips or fixings can pierce it: fix without piercing, look again before the pour", membrane.layer),
            COMMON_PRACTICE,
        ));
    }
    let Some(required) = input.membrane_required else {
        return;
    };
    let (word, purpose) = match required {
        Required::Damp => ("damp", Purpose::Damp),
        Required::Gas => ("gas", Purpose::Gas),
    };
    let membranes = || input.stack.iter().filter(|layer| layer.kind == Kind::Membrane);
    let (verdict, reason) = if let Some(found) = membranes().find(|layer| layer.purpose == Some(purpose)) {
        (Verdict::Conforming, format!("{} is the {word} membrane", found.layer))
    } else if let Some(unsaid) = membranes().find(|layer| layer.purpose.is_none()) {
        (
            Verdict::Undetermined,
            format!("{} may be the {word} membrane, but its purpose is not stated", unsaid.layer),
        )
    } else if let Some(gas) =
        membranes().find(|layer| required == Required::Damp && layer.purpose == Some(Purpose::Gas))
    {
        (
            Verdict::Undetermined,
            format!("the designer says whether {} serves against damp as well", gas.layer),
        )
    } else {
        (Verdict::Nonconforming, format!("no {word} membrane is in the floor"))
    };
    findings.push(Finding::new("the membrane asked for is there", verdict, reason, FLOOR_DESIGN));
}

fn heating_rule(input: &Input, positions: &[Position], findings: &mut Vec<Finding>) {
    let Some(overlay) = input.stack.iter().position(|layer| layer.kind == Kind::Overlay) else {
        return;
    };
    let layers = input
        .stack
        .iter()
        .enumerate()
        .filter(|(_, layer)| layer.kind == Kind::Heating)
        .map(|(index, _)| index);
    let pipes = input
        .services
        .iter()
        .zip(positions)
        .filter(|(service, _)| service.service == ServiceKind::Heating)
        .map(|(_, position)| match position {
            Position::In(index) | Position::Below(index) => *index,
        });
    let places: Vec<usize> = layers.chain(pipes).collect();
    if places.is_empty() {
        return;
    }
    let above = places.iter().all(|place| *place < overlay);
    let reason = if above {
        "the heating pipes lie above the overlay"
    } else {
        "heating pipes lie in or below the overlay: move them above it or ask the designer"
    };
    findings.push(Finding::new(
        "heating pipes lie above the overlay",
        Verdict::of(above),
        reason,
        COMMON_PRACTICE,
    ));
}
