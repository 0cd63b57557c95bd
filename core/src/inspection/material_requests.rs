//! What people ask for when material arrives, as they write it.

use serde::Deserialize;
use serde_json::Number;

use super::beam_feeds::criterion_of_feed;
use super::fold::PlotRecord;
use crate::entry::{DeliveryBooked, DeliveryLine, TicketBooked};
use crate::faults::Faults;
use crate::ids::{CriterionId, HoldPointId, PlotId};
use crate::plan_of_work::Feed;
use crate::quantity::Mm;

/// `book-delivery`
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BookDelivery {
    /// The plot.
    pub plot: PlotId,
    /// The hold point; left out: the one that asks for delivery notes.
    #[serde(default)]
    pub hold_point: Option<HoldPointId>,
    /// The criterion.
    #[serde(default)]
    pub criterion: Option<CriterionId>,
    /// The note's number.
    pub note: String,
    /// The drawing revision that the labels bear.
    #[serde(default)]
    pub revision: Option<String>,
    /// Its lines.
    pub lines: Vec<DeliveryLine>,
}

/// `book-ticket`
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BookTicket {
    /// The plot.
    pub plot: PlotId,
    /// The hold point; left out: the one that asks for a ticket.
    #[serde(default)]
    pub hold_point: Option<HoldPointId>,
    /// The criterion.
    #[serde(default)]
    pub criterion: Option<CriterionId>,
    /// The ticket's number.
    pub ticket: String,
    /// The batch or mix number as printed.
    #[serde(default)]
    pub batch: Option<String>,
    /// Strength class as printed.
    pub strength_class: String,
    /// Consistence class as printed.
    #[serde(default)]
    pub consistence_class: Option<String>,
    /// Slump of a spot sample.
    #[serde(default)]
    pub measured_slump_mm: Option<Mm>,
    /// Largest aggregate as printed.
    #[serde(default)]
    pub largest_aggregate_mm: Option<Mm>,
    /// Fibre as printed.
    #[serde(default)]
    pub fibre_kg_per_m3: Option<Number>,
    /// What fibre.
    #[serde(default)]
    pub fibre_type: Option<String>,
    /// Water added on site.
    #[serde(default)]
    pub water_added_l: Option<Number>,
    /// The load.
    #[serde(default)]
    pub load_m3: Option<Number>,
    /// When it was batched.
    pub batched_at: String,
    /// When discharge began.
    #[serde(default)]
    pub began_at: Option<String>,
    /// When discharge ended.
    pub discharged_at: String,
    /// Temperature of the air.
    #[serde(rename = "air_C")]
    pub air_c: Number,
    /// Temperature of the concrete.
    #[serde(rename = "concrete_C")]
    pub concrete_c: Number,
}

/// The hold point and criterion that were named, or the one that asks for one of these feeds.
pub(super) fn place(
    record: Option<&PlotRecord>,
    hold_point: Option<HoldPointId>,
    criterion: Option<CriterionId>,
    feeds: &[Feed],
) -> Result<(HoldPointId, CriterionId), Faults> {
    let asking: Vec<_> = record
        .iter()
        .flat_map(|record| feeds.iter().filter_map(|feed| criterion_of_feed(record, *feed)))
        .filter(|(point, _)| hold_point.as_ref().is_none_or(|named| point.id == *named))
        .collect();
    if asking.len() > 1 {
        let ids: Vec<&str> = asking.iter().map(|(point, _)| point.id.as_str()).collect();
        return Err(Faults::one("/hold_point", format!("name the hold point: {}", ids.join(" or "))));
    }
    let own = asking.first();
    let named = hold_point.or_else(|| own.map(|(point, _)| point.id.clone()));
    let asked = criterion.or_else(|| own.map(|(_, one)| one.id.clone()));
    named.zip(asked).ok_or_else(|| {
        Faults::one("/hold_point", format!("the plot's plan of work asks for no {}", feeds[0].quantity()))
    })
}

impl BookDelivery {
    /// As it is recorded.
    ///
    /// # Errors
    /// The plan asks for no delivery notes, and none is named.
    pub fn booked(self, record: Option<&PlotRecord>) -> Result<DeliveryBooked, Faults> {
        let (hold_point, criterion) = place(record, self.hold_point, self.criterion, &[Feed::Deliveries])?;
        Ok(DeliveryBooked {
            hold_point,
            criterion,
            note: self.note,
            revision: self.revision,
            lines: self.lines,
        })
    }
}

impl BookTicket {
    /// As it is recorded.
    ///
    /// # Errors
    /// The plan asks for no ticket, and none is named.
    pub fn booked(self, record: Option<&PlotRecord>) -> Result<TicketBooked, Faults> {
        let feeds = [Feed::DoubledBeamTickets, Feed::PourTickets];
        let (hold_point, criterion) = place(record, self.hold_point, self.criterion, &feeds)?;
        let text = |number: Option<Number>| number.map(|number| number.to_string());
        Ok(TicketBooked {
            hold_point,
            criterion,
            ticket: self.ticket,
            batch: self.batch,
            strength_class: self.strength_class,
            consistence_class: self.consistence_class,
            measured_slump_um: self.measured_slump_mm.map(|slump| slump.0.um()),
            largest_aggregate_um: self.largest_aggregate_mm.map(|largest| largest.0.um()),
            fibre_kg_per_m3: text(self.fibre_kg_per_m3),
            fibre_type: self.fibre_type,
            water_added_l: text(self.water_added_l),
            load_m3: text(self.load_m3),
            batched_at: self.batched_at,
            began_at: self.began_at,
            discharged_at: self.discharged_at,
            air_c: self.air_c.to_string(),
            concrete_c: self.concrete_c.to_string(),
        })
    }
}
