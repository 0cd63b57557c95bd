//! Which point is up, which one comes after it, and what places are called that the person names.

use std::collections::BTreeSet;

use gaugerod_core::entry::ReadValue;
use gaugerod_core::ids::{HoldPointId, PointName};
use gaugerod_core::inspection::judge::CriterionStanding;
use gaugerod_core::plan_drawing::Drawing;
use gaugerod_core::plan_of_work::Feed;

use super::keypad_column::{booked, draft_name, place_name};
use crate::screens::desk::Desk;
use crate::state::State;

/// The points where a gauge did not pass and no number stands yet, in the order of the readings.
pub(super) fn to_measure(criterion: &CriterionStanding) -> impl Iterator<Item = &PointName> {
    criterion.readings.iter().filter(|one| one.value == ReadValue::NoGo).map(|one| &one.point)
}

/// The point that is up: the one that was chosen, or the next that is owed.
pub(super) fn point(
    state: &State,
    desk: &Desk,
    id: &HoldPointId,
    criterion: &CriterionStanding,
    drawing: &Drawing,
) -> Option<PointName> {
    criterion.feed()?.unit()?;
    if criterion.points.is_empty() {
        let typed = state.drafts.text(&place_name(desk, id, &criterion.id)).trim();
        return PointName::new(typed)
            .ok()
            .or_else(|| to_measure(criterion).next().cloned())
            .or_else(|| suggestions(state, desk, id, criterion).into_iter().next());
    }
    let chosen = state.drafts.point.clone().filter(|point| criterion.points.contains(point));
    chosen.or_else(|| next_owed(state, desk, id, criterion, drawing, None))
}

/// The next point without a reading after `after`, as one walks the floor; what is just being booked counts as read.
/// Points that no plan shows follow in the order of booking.
pub(super) fn next_owed(
    state: &State,
    desk: &Desk,
    id: &HoldPointId,
    criterion: &CriterionStanding,
    drawing: &Drawing,
    after: Option<&PointName>,
) -> Option<PointName> {
    // Where a gauge did not pass a number is still owed.
    let read = criterion.readings.iter().filter(|one| one.value != ReadValue::NoGo);
    let read: BTreeSet<&PointName> = read.map(|one| &one.point).collect();
    let is_booking = state.drafts.on.keys().any(|name| name.starts_with("booked/"));
    let being_booked = |point: &PointName| {
        is_booking && state.drafts.on.contains_key(&booked(&draft_name(desk, id, &criterion.id, point)))
    };
    let free = |point: &PointName| !read.contains(point) && after != Some(point) && !being_booked(point);
    let drawn = drawing.next_point(after, free);
    let owed = || {
        let wanted = criterion.owed.iter().filter_map(|owed| owed.point.as_ref());
        let from = after
            .and_then(|after| criterion.points.iter().position(|one| one == after))
            .map_or(0, |own| own + 1);
        let round = criterion.points.iter().cycle().skip(from).take(criterion.points.len());
        let wanted: BTreeSet<&PointName> = wanted.collect();
        round.into_iter().find(|point| wanted.contains(point) && free(point))
    };
    drawn.or_else(owed).cloned()
}

/// Names for places that the person names, those that are read already left out.
pub(super) fn suggestions(
    state: &State,
    desk: &Desk,
    id: &HoldPointId,
    criterion: &CriterionStanding,
) -> Vec<PointName> {
    free_names(state, desk, id, criterion, 3)
}

/// So many names for places that the person names, those that are read already left out.
pub(super) fn free_names(
    state: &State,
    desk: &Desk,
    id: &HoldPointId,
    criterion: &CriterionStanding,
    count: usize,
) -> Vec<PointName> {
    let words: &[&str] = match criterion.feed() {
        Some(Feed::DpcHeight) => &["front", "back", "left", "right"],
        Some(Feed::MembraneThickness) => &["label"],
        _ => &[],
    };
    let stem = match criterion.feed() {
        Some(Feed::DpcLap | Feed::MembraneLap) => "lap",
        Some(Feed::MembraneThickness) => "label",
        Some(Feed::MeshLaps) => "lap",
        Some(Feed::MeshCover) => "spacer",
        Some(Feed::OverlayThickness) => "board",
        Some(Feed::RailLevels) => "rail",
        _ => "place",
    };
    let numbered = (1..).map(|number| format!("{stem} {number}"));
    let taken: BTreeSet<&PointName> = criterion.readings.iter().map(|one| &one.point).collect();
    let free = |point: &PointName| {
        let name = booked(&draft_name(desk, id, &criterion.id, point));
        !taken.contains(point) && !state.drafts.on.contains_key(&name)
    };
    let waiting = state.drafts.on.len();
    let all = words.iter().map(|word| (*word).to_owned());
    let all = all.chain(numbered.take(taken.len() + waiting + count));
    all.filter_map(|name| PointName::new(&name).ok()).filter(free).take(count).collect()
}
