//! Recall: which plots had a batch of concrete, of beams or of anything else that came with a paper.
//!
//! Read from the entries themselves, superseded ones too: what was once written down as delivered is told, with what
//! became of the entry, and nothing is folded for it.

use std::collections::BTreeSet;

use super::{Register, RegisterError, open_entry};
use crate::entry::{DeliveryLine, Payload, Recorded};
use crate::ids::{EntryId, HoldPointId, PersonId, PlotId};
use crate::quantity::Length;
use crate::record::Subject;
use crate::time::Timestamp;

/// The kinds of entry that name a batch.
const KINDS: [&str; 3] = ["ticket-booked", "delivery-booked", "label-booked"];

/// Something of that batch that came to a plot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recalled {
    /// The plot.
    pub plot: PlotId,
    /// The hold point that it was booked under.
    pub hold_point: HoldPointId,
    /// What came.
    pub what: Material,
    /// The paper that names it: `ticket T-1`.
    pub paper: String,
    /// The batch as written there; none where the paper's own number was asked for.
    pub batch: Option<String>,
    /// How much of it, in words.
    pub how_much: String,
    /// The entry.
    pub entry: EntryId,
    /// Who booked it.
    pub author: Option<PersonId>,
    /// When.
    pub time: Timestamp,
    /// A later entry took its place: the paper may have been misread.
    pub is_superseded: bool,
}

/// What is recalled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Material {
    /// Concrete, by its ticket.
    Concrete,
    /// Beams, infill, blocks: whatever a delivery note lists.
    Delivered,
    /// Overlay and membrane, by their label.
    Label,
}

impl Material {
    /// The word on screen and in lists.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Concrete => "concrete",
            Self::Delivered => "delivery",
            Self::Label => "label",
        }
    }
}

/// A batch as people copy it: capitals and blanks do not count.
fn plain(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
}

impl Register {
    /// What came of a batch, by its own number or by that of a ticket or delivery note, plot by plot.
    ///
    /// # Errors
    /// The disk, or an entry that is not what was written.
    pub fn recall(&self, batch: &str) -> Result<Vec<Recalled>, RegisterError> {
        let wanted = plain(batch);
        if wanted.is_empty() {
            return Ok(Vec::new());
        }
        let mut found = Vec::new();
        let mut gone = BTreeSet::new();
        for kind in KINDS {
            for stored in self.reader().entries_of_kind(kind)? {
                let entry = open_entry(&stored.entry)?;
                let (Recorded::Known(fact), Subject::Plot(plot)) = (&entry.recorded, &entry.header.subject)
                else {
                    continue;
                };
                gone.extend(fact.supersedes.as_ref().map(|by| by.entry));
                for part in parts(&fact.payload, &wanted) {
                    found.push(Recalled {
                        plot: plot.clone(),
                        hold_point: part.hold_point,
                        what: part.what,
                        paper: part.paper,
                        batch: part.batch,
                        how_much: part.how_much,
                        entry: entry.id,
                        author: entry.header.author,
                        time: entry.header.time,
                        is_superseded: false,
                    });
                }
            }
        }
        for one in &mut found {
            one.is_superseded = gone.contains(&one.entry);
        }
        found.sort_by_key(|one| (one.plot.clone(), one.time.utc_ms, one.entry));
        Ok(found)
    }
}

/// One match within an entry.
struct Part {
    hold_point: HoldPointId,
    what: Material,
    paper: String,
    batch: Option<String>,
    how_much: String,
}

fn parts(payload: &Payload, wanted: &str) -> Vec<Part> {
    let is = |text: &str| plain(text) == wanted;
    let is_batch = |batch: &Option<String>| batch.as_deref().is_some_and(is);
    match payload {
        Payload::TicketBooked(own) if is(&own.ticket) || is_batch(&own.batch) => vec![Part {
            hold_point: own.hold_point.clone(),
            what: Material::Concrete,
            paper: format!("ticket {}", own.ticket),
            batch: own.batch.clone(),
            how_much: match &own.load_m3 {
                Some(load) => format!("{load} m³ of {}", own.strength_class),
                None => own.strength_class.clone(),
            },
        }],
        Payload::DeliveryBooked(own) => {
            let by_note = is(&own.note);
            let line = |line: &DeliveryLine| Part {
                hold_point: own.hold_point.clone(),
                what: Material::Delivered,
                paper: format!("delivery note {}", own.note),
                batch: line.batch.clone(),
                how_much: format!("{} × {}", line.delivered, line.item),
            };
            own.lines.iter().filter(|one| by_note || is_batch(&one.batch)).map(line).collect()
        }
        Payload::LabelBooked(own) if is_batch(&own.batch) => vec![Part {
            hold_point: own.hold_point.clone(),
            what: Material::Label,
            paper: format!("label of {}", own.item),
            batch: own.batch.clone(),
            how_much: match own.thickness_um {
                Some(um) => format!("{}, {} mm", own.grade, Length::from_um(um).to_mm_text()),
                None => own.grade.clone(),
            },
        }],
        _ => Vec::new(),
    }
}
