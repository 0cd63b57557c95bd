//! The demo's delivery notes and concrete ticket: everything ordered comes in two notes; the ticket fits its mix.

use gaugerod_core::entry::{DeliveryBooked, DeliveryLine, TicketBooked};
use gaugerod_core::floor::FloorDesign;
use gaugerod_core::floor::beams::Stage;
use gaugerod_core::ids::{CriterionId, HoldPointId};
use gaugerod_core::inspection::Act;

/// Two notes with all that the design orders: beams and blocks first, the rest after.
pub fn deliveries(design: &FloorDesign, hold_point: &HoldPointId, criterion: &CriterionId) -> Vec<Act> {
    let order = design.order();
    let (first, second): (Vec<_>, Vec<_>) = order.into_iter().partition(|one| one.stage <= Stage::Beams);
    [("N-1041", first), ("N-1057", second)]
        .into_iter()
        .filter(|(_, items)| !items.is_empty())
        .map(|(note, items)| {
            Act::BookDelivery(DeliveryBooked {
                hold_point: hold_point.clone(),
                criterion: criterion.clone(),
                note: note.to_owned(),
                revision: Some(design.revision.clone()),
                lines: items
                    .into_iter()
                    .map(|one| DeliveryLine {
                        delivered: one.quantity,
                        damaged: 0,
                        unlabelled: 0,
                        batch: item_batch(&one.item),
                        item: one.item,
                    })
                    .collect(),
            })
        })
        .collect()
}

/// Beams bear the number of their casting.
fn item_batch(item: &str) -> Option<String> {
    item.starts_with("beam ").then(|| "K-2608".to_owned())
}

/// A ticket for the gap between doubled beams.
pub fn ticket(hold_point: HoldPointId, criterion: CriterionId) -> Act {
    Act::BookTicket(Box::new(TicketBooked {
        hold_point,
        criterion,
        ticket: "T-30718 (invented)".to_owned(),
        batch: Some("B-2590".to_owned()),
        strength_class: "C25/30".to_owned(),
        consistence_class: Some("S3".to_owned()),
        measured_slump_um: Some(130_000),
        largest_aggregate_um: Some(10_000),
        fibre_kg_per_m3: None,
        fibre_type: None,
        water_added_l: Some("0".to_owned()),
        load_m3: Some("0.4".to_owned()),
        batched_at: "08:10".to_owned(),
        began_at: None,
        discharged_at: "09:25".to_owned(),
        air_c: "14".to_owned(),
        concrete_c: "17".to_owned(),
    }))
}
