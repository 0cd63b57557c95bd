//! The photos along the foot: what is there, and a place for each that is still owed.

use egui::Ui;
use gaugerod_core::ids::EntryId;

use super::Work;
use crate::action::Action;
use crate::screens::asking::{self, Asking};
use crate::state::{Screen, State};
use crate::widgets::photo_strip::StripEvent;
use crate::widgets::{self, Mark, PhotoTile};

/// Places of owed photos shown for one subject: the rest is a number.
const MOST_PLACES: usize = 2;

/// The strip.
pub(super) fn photos_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let mut tiles = Vec::new();
    for evidence in &work.standing.evidence {
        for (photo, noted) in &evidence.photos {
            tiles.push(PhotoTile {
                id: noted.id.to_hex(),
                caption: short(&evidence.subject),
                texture: state.thumbnails.get(&photo.photo.0),
                mark: Mark::Conforming,
            });
        }
        let missing = evidence.wanted.saturating_sub(evidence.photos.len());
        for place in 0..missing.min(MOST_PLACES) {
            tiles.push(PhotoTile {
                id: format!("{place}{SPLIT}{}", evidence.subject),
                caption: short(&evidence.subject),
                texture: None,
                mark: Mark::Owed,
            });
        }
    }
    // What is owed comes first: it is what one looks for.
    tiles.sort_by_key(|tile| tile.mark != Mark::Owed);
    if tiles.is_empty() && !work.desk.can_record() {
        ui.label("No photo is owed here.");
        return;
    }
    match widgets::photo_strip_ui(ui, &tiles) {
        Some(StripEvent::Fill(id)) => {
            state.drafts.subject = id.split_once(SPLIT).map(|(_, subject)| subject.to_owned());
            asking::ask(state, work.desk, Asking::Photo(work.id.clone()));
        }
        Some(StripEvent::Add) => asking::ask(state, work.desk, Asking::Photo(work.id.clone())),
        Some(StripEvent::Open(id)) => {
            state.drafts.photo = id.parse::<EntryId>().ok();
            state.ask(Action::Go(Screen::Photos(work.desk.plot.clone(), work.id.clone())));
        }
        None => {}
    }
}

/// What stands between a place and its subject in the id of a photo that is owed; no subject code has one.
const SPLIT: char = '|';

/// A subject's code as people read it: `wall-top:A` is `wall top A`.
pub fn short(subject: &str) -> String {
    subject.replace(['-', ':'], " ")
}

#[cfg(test)]
mod tests {
    use super::short;

    #[test]
    fn subjects_are_read_without_their_joints() {
        assert_eq!(short("wall-top:A"), "wall top A");
    }
}
