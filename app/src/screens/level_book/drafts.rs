//! What is chosen, asked for or read in while levelling, and not on disk: drafts of the level book screen. What is
//! typed lies with the other texts, so that it survives a kill.

use std::path::PathBuf;
use std::sync::Arc;

use gaugerod_core::entry::{Because, LevelBookBegun, Serves, SightBooked};
use gaugerod_core::ids::{EntryId, LevelBookName, PersonId, PlotId, PointName};
use gaugerod_core::inspection::level_trial::SightTrial;
use gaugerod_core::register::PlotView;

use super::course::Course;
use super::sheet::Sheet;
use crate::screens::desk::May;

/// Drafts of the level book screen.
#[derive(Debug, Clone, Default)]
pub struct LevelDrafts {
    /// A sight that was asked to be booked and is not on disk yet.
    pub(super) pending: Option<Pending>,
    /// The sight that is being put right.
    pub(super) correcting: Option<Correcting>,
    /// Why a point that has a level is read again.
    pub(super) because: Option<Because>,
    /// The points are shown to pick from.
    pub(super) picking: bool,
    /// The book that was asked to be begun or taken in, and is not on disk yet.
    pub(super) beginning: Option<(PlotId, LevelBookName)>,
    /// What the next book shall serve; `None` while the screen proposes it.
    pub(super) serves: Option<(PlotId, Vec<Serves>)>,
    /// How a book from a file would be begun: what a dropped file is read for.
    pub(super) for_file: Option<(PlotId, LevelBookBegun)>,
    /// A book that was read from a file, or its faults.
    pub read: Option<ReadBook>,
    /// What was drawn of it last.
    pub(super) looked_at: Option<LookedAt>,
    /// What was drawn last, as long as nothing changes.
    pub(super) drawn: Option<Drawn>,
}

/// A sight on its way to disk.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Pending {
    pub plot: PlotId,
    pub book: LevelBookName,
    /// How many sights the book had when it was asked for.
    pub sights: usize,
    /// The name of the draft that holds what was typed.
    pub draft: String,
}

/// A sight that is being put right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Correcting {
    pub entry: EntryId,
    pub because: Option<Because>,
    /// The point that it should have been, where that was the mistake.
    pub point: Option<PointName>,
}

/// A level book that was read from a file, before it is booked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadBook {
    /// The plot.
    pub plot: PlotId,
    /// The file.
    pub path: PathBuf,
    /// How it would be begun.
    pub begun: LevelBookBegun,
    /// Its sights; or every fault with its row and column.
    pub result: Result<Vec<SightBooked>, Vec<String>>,
}

/// A book from a file as it was drawn, and whether it would be taken in.
#[derive(Debug, Clone)]
pub(super) struct LookedAt {
    pub view: Arc<PlotView>,
    pub by: Option<PersonId>,
    pub sheet: Arc<Sheet>,
    pub may: May,
}

/// A book as it was drawn, with what was tried in it last.
#[derive(Debug, Clone)]
pub(super) struct Drawn {
    pub view: Arc<PlotView>,
    pub book: LevelBookName,
    pub sheet: Arc<Sheet>,
    pub course: Arc<Course>,
    pub tried: Option<Arc<Tried>>,
}

/// What the rules and the reckoning say of one sight.
#[derive(Debug)]
pub(super) struct Tried {
    pub fact: SightBooked,
    pub instead_of: Option<(EntryId, Because)>,
    pub by: Option<PersonId>,
    pub may: May,
    pub trial: Result<SightTrial, String>,
}

impl LevelDrafts {
    /// Shows a book that was read from a file.
    pub fn show(&mut self, read: ReadBook) {
        self.looked_at = None;
        self.read = Some(read);
    }

    /// How a book from a file dropped on this plot would be begun.
    pub fn for_file(&self, plot: &PlotId) -> Option<&LevelBookBegun> {
        self.for_file.as_ref().filter(|(own, _)| own == plot).map(|(_, begun)| begun)
    }

    /// Proposes that the next book of a plot serves these criteria.
    pub fn serve(&mut self, plot: &PlotId, serves: Vec<Serves>) {
        self.serves = Some((plot.clone(), serves));
    }
}
