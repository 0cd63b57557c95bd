//! Putting a sight right: the row that was tapped, in the place of the sight in work. What was read stays in the
//! record and is shown struck.

use gaugerod_core::ids::EntryId;

use super::drafts::Correcting;
use super::work::Work;
use crate::state::State;

/// Takes the sight of a tapped row into work; tapped again, it is left.
pub(super) fn begin(state: &mut State, work: &Work<'_>, entry: EntryId) {
    if !work.desk.can_record() {
        return;
    }
    let levels = &mut state.drafts.levels;
    levels.picking = false;
    let is_own = levels.correcting.as_ref().is_some_and(|own| own.entry == entry);
    levels.correcting = (!is_own).then_some(Correcting { entry, because: None, point: None });
}
