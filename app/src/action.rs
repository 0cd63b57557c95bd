//! What a screen can ask for. Screens only queue actions; [`crate::update`] alone carries them out.

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::Arc;

use gaugerod_core::entry::{
    Answer, Because, BenchmarkRegistered, Disposition, InstrumentRegistered, LevelBookBegun, ReadValue,
    UnderlayPlaced,
};
use gaugerod_core::ids::{CriterionId, EntryId, GateId, HoldPointId, PersonId, PlotId, PointName};
use gaugerod_core::inspection::Act;
use gaugerod_core::inspection::cut_plan::CutPlan;
use gaugerod_core::plan_of_work::Role;

use crate::state::{Screen, SheetChoice};

/// One thing that a person asked for.
#[derive(Debug, Clone, PartialEq)]
pub enum Action {
    /// Show another screen.
    Go(Screen),
    /// Show the screen before this one.
    Back,
    /// Light sheet or dark.
    Sheet(SheetChoice),
    /// Take the notice away.
    DismissNotice,
    /// Stop the long work under way.
    Stop,

    /// Make the invented demo site in the program's own folder and open it.
    OpenDemo,
    /// Ask for a register file with a dialog, then open it.
    PickRegister,
    /// Open a register.
    OpenRegister(PathBuf),
    /// Ask with a dialog where a new register shall lie.
    PickNewRegister,
    /// Make a new register.
    NewRegister {
        /// Where.
        path: PathBuf,
        /// The site's name.
        site: String,
        /// The authority's passphrase, 12 characters or more.
        passphrase: String,
    },
    /// Close the register and show the welcome sheet.
    CloseRegister,
    /// Ask for a floor design file with a dialog, then show what it is.
    PickDesign,
    /// Read a floor design file and show what it is, or its faults.
    ReadDesign(PathBuf),
    /// Issue the floor design that was read for these plots.
    IssueDesign {
        /// The file.
        path: PathBuf,
        /// The plots.
        plots: Vec<PlotId>,
    },
    /// Enrol a person on this device.
    Enrol {
        /// The name.
        name: String,
        /// What the person may do.
        role: Role,
        /// The PIN, 4 to 12 digits.
        pin: String,
        /// The authority's passphrase.
        passphrase: String,
    },
    /// Somebody takes the tablet, without a PIN: readings can be booked.
    TakeOver(PersonId),
    /// The person at the tablet gives their PIN.
    Unlock {
        /// Who.
        person: PersonId,
        /// The PIN.
        pin: String,
    },
    /// Forget the PIN.
    Lock,

    /// Book a reading.
    Book {
        /// The plot.
        plot: PlotId,
        /// The hold point.
        hold_point: HoldPointId,
        /// The criterion.
        criterion: CriterionId,
        /// Where.
        point: PointName,
        /// What.
        value: ReadValue,
        /// The reading whose place it takes, and why.
        instead_of: Option<(EntryId, Because)>,
    },
    /// Book what a go/no-go gauge said at many points, one after the other.
    BookGauge {
        /// The plot.
        plot: PlotId,
        /// The hold point.
        hold_point: HoldPointId,
        /// The criterion.
        criterion: CriterionId,
        /// Which gauge.
        gauge: String,
        /// Each point, and whether the gauge passed there.
        points: Vec<(PointName, bool)>,
    },
    /// Answer a question.
    Answer {
        /// The plot.
        plot: PlotId,
        /// The hold point.
        hold_point: HoldPointId,
        /// The question.
        criterion: CriterionId,
        /// The answer.
        answer: Answer,
        /// Why it does not apply.
        reason: Option<String>,
        /// The answer whose place it takes, and why.
        instead_of: Option<(EntryId, Because)>,
    },
    /// Ask for photo files with a dialog, then add them.
    PickPhotos {
        /// The plot.
        plot: PlotId,
        /// The hold point.
        hold_point: HoldPointId,
        /// What they show.
        subject: String,
    },
    /// Add photo files.
    AddPhotos {
        /// The plot.
        plot: PlotId,
        /// The hold point.
        hold_point: HoldPointId,
        /// What they show.
        subject: String,
        /// The files.
        files: Vec<PathBuf>,
    },
    /// Ask for a document with a dialog, then attach it.
    PickDocument {
        /// The plot.
        plot: PlotId,
        /// What it is for.
        purpose: DocumentFor,
    },
    /// Attach a document that was picked or dropped.
    Attach {
        /// The plot.
        plot: PlotId,
        /// What it is for.
        purpose: DocumentFor,
        /// The file.
        file: PathBuf,
    },
    /// Register an instrument, or anew after a check.
    RegisterInstrument(Box<InstrumentRegistered>),
    /// Register a bench mark, or anew after a check.
    RegisterBenchmark(Box<BenchmarkRegistered>),
    /// Ask for a level book's CSV file with a dialog, then read it.
    PickLevelBook {
        /// The plot.
        plot: PlotId,
        /// How it would be begun.
        begun: Box<LevelBookBegun>,
    },
    /// Read a level book from a CSV file and show what would be booked, or its faults.
    ReadLevelBook {
        /// The plot.
        plot: PlotId,
        /// How it would be begun.
        begun: Box<LevelBookBegun>,
        /// The file.
        path: PathBuf,
    },
    /// Ask for a logger's CSV file with a dialog, then read it.
    PickTemperatures {
        /// The plot.
        plot: PlotId,
        /// The hold point.
        hold_point: HoldPointId,
    },
    /// Read a logger's CSV file and show what would be booked, or its faults.
    ReadTemperatures {
        /// The plot.
        plot: PlotId,
        /// The hold point.
        hold_point: HoldPointId,
        /// The file.
        path: PathBuf,
    },
    /// Ask for a drawing with a dialog, then read it.
    PickDrawing(PlotId),
    /// Draw a page of a drawing, to be placed behind a plot's plan.
    ReadDrawing {
        /// The plot.
        plot: PlotId,
        /// The file.
        path: PathBuf,
        /// The page, from 1.
        page: u32,
    },
    /// Place a drawing behind a plot's plan.
    PlaceUnderlay {
        /// The plot.
        plot: PlotId,
        /// The file.
        path: PathBuf,
        /// Where it lies; its document is filled in when the file is taken in.
        placed: Box<UnderlayPlaced>,
    },
    /// Anything else that needs no file: offer, release, refuse, cover, raise, close.
    Do {
        /// The plot.
        plot: PlotId,
        /// What.
        act: Act,
    },
    /// Release or refuse one gate on several plots in one walk.
    ReleaseGates {
        /// The gate.
        gate: GateId,
        /// The plots.
        plots: Vec<PlotId>,
    },
    /// Keep what is typed, so that it survives a kill; an empty text forgets it.
    KeepDraft {
        /// The draft's name.
        name: String,
        /// What is typed.
        text: String,
    },

    /// Look for a cut plan of these plots; without any, of those that are proposed.
    FindCuts {
        /// The plot that it is asked from.
        plot: PlotId,
        /// The plots.
        plots: Option<BTreeSet<PlotId>>,
    },
    /// Write the cut sheets of a plan.
    PrintCuts {
        /// The plot that it was asked from.
        plot: PlotId,
        /// The plan.
        plan: Arc<CutPlan>,
    },
    /// Put the time of day into a draft.
    TimeNow {
        /// The draft's name.
        draft: String,
    },
    /// Look for everything that came of a batch.
    Recall(String),
    /// Make the pages of a plot and show them, marked as a draft.
    PreviewSignOff(PlotId),
    /// Sign the plot off into a file.
    SignOff {
        /// The plot.
        plot: PlotId,
        /// The PIN.
        pin: String,
        /// The drawn signature: strokes of points, each 0 to 1 across and down.
        drawn: Vec<Vec<[f32; 2]>>,
    },
    /// Show a file with the system's own viewer.
    ShowFile(PathBuf),
}

/// What a document is for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DocumentFor {
    /// A criterion that asks for one.
    Criterion {
        /// The hold point.
        hold_point: HoldPointId,
        /// The criterion.
        criterion: CriterionId,
    },
    /// The designer's writing of a concession.
    Concession {
        /// The nonconformance.
        id: EntryId,
        /// The designer.
        by: String,
    },
    /// The designer's written assessment of a hold point in question.
    Assessment {
        /// The hold point.
        hold_point: HoldPointId,
        /// The designer.
        by: String,
    },
}

/// Closing words that the nonconformance screen offers; here because both screens and commands use them.
pub const DISPOSITIONS: [Disposition; 5] = [
    Disposition::Correction,
    Disposition::Rework,
    Disposition::Repair,
    Disposition::Regrade,
    Disposition::Scrap,
];
