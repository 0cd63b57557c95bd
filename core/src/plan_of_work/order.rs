//! What must be proved before what, and what hides what.
//!
//! The plan says it for what every floor has in the same order. Gas pipes, membrane, overlay and heating lie where
//! the design's own stack puts them: what lies lower is proved first, and what lies right above hides it.
//! What proves the whole floor comes after every hold (not after a witness point).

use std::collections::{BTreeMap, BTreeSet};

use super::{HoldPoint, HoldPointKind, Layer, PlanOfWork};
use crate::floor::{FloorDesign, LayerRole, ServiceKind};
use crate::ids::HoldPointId;

/// For each hold point of the plan, those that must be released before it may be offered.
pub fn prerequisites(
    plan: &PlanOfWork,
    design: &FloorDesign,
) -> BTreeMap<HoldPointId, BTreeSet<HoldPointId>> {
    let places = places_in_stack(plan, design);
    plan.hold_points
        .iter()
        .map(|point| {
            let mut before: BTreeSet<_> = point.after.iter().cloned().collect();
            if let Some(own) = places.get(&point.id) {
                before.extend(places.iter().filter(|(_, place)| *place < own).map(|(id, _)| id.clone()));
            }
            if point.proves == Layer::Floor {
                let holds = plan.hold_points.iter().filter(|other| other.kind == HoldPointKind::Hold);
                before.extend(holds.map(|other| other.id.clone()).filter(|id| *id != point.id));
            }
            (point.id.clone(), before)
        })
        .collect()
}

/// The hold points whose work hides what this one proves: what the plan names, and for a layer of the stack the
/// next one above it.
pub fn covered_by(plan: &PlanOfWork, design: &FloorDesign, id: &HoldPointId) -> BTreeSet<HoldPointId> {
    let Some(point) = plan.hold_point(id) else {
        return BTreeSet::new();
    };
    let mut covering: BTreeSet<_> = point.covered_by.iter().cloned().collect();
    let places = places_in_stack(plan, design);
    if let Some(own) = places.get(id) {
        let next = places.values().filter(|place| *place > own).min();
        covering.extend(places.iter().filter(|(_, place)| Some(*place) == next).map(|(id, _)| id.clone()));
    }
    covering
}

/// How high something lies: the layer counted from the bottom, and within it a pipe before the layer itself.
type Height = (usize, bool);

/// Heights of the hold points whose layer the stack orders; those that the design does not have are left out.
fn places_in_stack(plan: &PlanOfWork, design: &FloorDesign) -> BTreeMap<HoldPointId, Height> {
    let in_stack = |point: &&HoldPoint| point.proves.is_ordered_by_stack();
    plan.hold_points
        .iter()
        .filter(in_stack)
        .filter_map(|point| Some((point.id.clone(), height(design, point.proves)?)))
        .collect()
}

fn height(design: &FloorDesign, layer: Layer) -> Option<Height> {
    // The lowest of several settles it: it must be proved before anything hides it.
    let lowest = |role| {
        let index = design.layers.iter().rposition(|layer| layer.role == role)?;
        Some((design.layers.len() - index, true))
    };
    match layer {
        Layer::Membrane => lowest(LayerRole::Membrane),
        Layer::Overlay => lowest(LayerRole::Overlay),
        Layer::Heating => lowest(LayerRole::Heating),
        Layer::Gas => {
            let pipes = design.services.iter().filter(|service| service.service == ServiceKind::Gas);
            let layers =
                pipes.filter_map(|pipe| design.layer_index(pipe.in_layer.as_ref().or(pipe.below.as_ref())?));
            layers.max().map(|index| (design.layers.len() - index, false))
        }
        _ => None,
    }
}
