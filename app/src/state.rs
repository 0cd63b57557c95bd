//! What the window shows: one struct. Only [`crate::update`] changes it; screens read it and keep drafts of
//! their own in [`Drafts`].

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

use gaugerod_core::ids::{CriterionId, EntryId, HoldPointId, LevelBookName, PersonId, PlotId, PointName};
use gaugerod_core::inspection::{PlotSummary, SiteRecord};
use gaugerod_core::plan_drawing::Drawing;
use gaugerod_core::plan_of_work::Role;
use gaugerod_core::register::{PlotView, Recalled};
use gaugerod_core::time::Date;

use crate::action::Action;
use crate::screens::asking::Asking;
use crate::screens::cuts::Cuts;
use crate::screens::hold_point::ReadTemperatures;
use crate::screens::level_book::LevelDrafts;
use crate::textures::Pictures;
use crate::underlays::Underlays;
use crate::widgets::Camera;

/// Which screen is shown.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub enum Screen {
    /// No register yet: the demo, a new register, or opening one.
    #[default]
    Welcome,
    /// Making a new register.
    NewRegister,
    /// Every plot as a section strip.
    Site,
    /// Plots by hold points, for the quality manager.
    Register,
    /// One plot's cross-section: the menu of its hold points.
    Section(PlotId),
    /// One hold point of a plot.
    HoldPoint(PlotId, HoldPointId),
    /// One photo of a hold point, as large as the window.
    Photos(PlotId, HoldPointId),
    /// The sum behind a verdict.
    Working(PlotId, HoldPointId, CriterionId),
    /// What would put a criterion right that does not conform.
    WhatToDo(PlotId, HoldPointId, CriterionId),
    /// One level book of a plot; all of them, and beginning another, without a name.
    LevelBook(PlotId, Option<LevelBookName>),
    /// The day of a plot's pour.
    PourDay(PlotId),
    /// Which plots had a batch.
    Recall,
    /// Instruments and bench marks of the site.
    Instruments,
    /// Everything that does not conform: on one plot, or on the site.
    Nonconformances(Option<PlotId>),
    /// Page preview, PIN, drawn signature.
    SignOff(PlotId),
    /// Placing a drawing behind a plot's plan.
    Underlay(PlotId),
    /// The infill of several plots cut together, asked from this one.
    Cuts(PlotId),
    /// People, devices, floor designs.
    SiteFile,
}

impl Screen {
    /// The plot that the screen is about, if one.
    pub fn plot(&self) -> Option<&PlotId> {
        match self {
            Self::Section(plot)
            | Self::HoldPoint(plot, _)
            | Self::Photos(plot, _)
            | Self::Working(plot, _, _)
            | Self::WhatToDo(plot, _, _)
            | Self::LevelBook(plot, _)
            | Self::PourDay(plot)
            | Self::Nonconformances(Some(plot))
            | Self::SignOff(plot)
            | Self::Cuts(plot)
            | Self::Underlay(plot) => Some(plot),
            _ => None,
        }
    }

    /// A short name for the trace of what is on screen.
    pub fn name(&self) -> String {
        match self {
            Self::Welcome => "welcome".to_owned(),
            Self::NewRegister => "new-register".to_owned(),
            Self::Site => "site".to_owned(),
            Self::Register => "register".to_owned(),
            Self::Section(plot) => format!("section {plot}"),
            Self::HoldPoint(plot, id) => format!("hold-point {plot} {id}"),
            Self::Photos(plot, id) => format!("photos {plot} {id}"),
            Self::Working(plot, id, criterion) => format!("working {plot} {id} {criterion}"),
            Self::WhatToDo(plot, id, criterion) => format!("what-to-do {plot} {id} {criterion}"),
            Self::LevelBook(plot, None) => format!("level-books {plot}"),
            Self::LevelBook(plot, Some(book)) => format!("level-book {plot} {book}"),
            Self::PourDay(plot) => format!("pour-day {plot}"),
            Self::Recall => "recall".to_owned(),
            Self::Instruments => "instruments".to_owned(),
            Self::Nonconformances(None) => "nonconformances".to_owned(),
            Self::Nonconformances(Some(plot)) => format!("nonconformances {plot}"),
            Self::SignOff(plot) => format!("sign-off {plot}"),
            Self::Underlay(plot) => format!("underlay {plot}"),
            Self::Cuts(plot) => format!("cuts {plot}"),
            Self::SiteFile => "site-file".to_owned(),
        }
    }
}

/// Light or dark sheet.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum SheetChoice {
    /// Ink on paper.
    #[default]
    Light,
    /// Light ink on a dark sheet.
    Dark,
}

/// A sentence for the person, and where it belongs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notice {
    /// What happened, what is safe, what to do next.
    pub text: String,
    /// A refusal or an error, as against a plain word that something is done.
    pub is_problem: bool,
}

/// Long work under way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Busy {
    /// What, in words.
    pub doing: String,
    /// Steps done.
    pub done: u64,
    /// Steps in all; 0 while not known.
    pub whole: u64,
    /// Whether it can be stopped.
    pub can_stop: bool,
}

/// The person at the tablet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AtTablet {
    /// Who.
    pub person: PersonId,
    /// The name.
    pub name: String,
    /// What the person may do.
    pub role: Role,
    /// Whether the PIN was given.
    pub unlocked: bool,
}

/// The open register as the window knows it.
#[derive(Debug, Clone)]
pub struct OpenRegister {
    /// Its file.
    pub path: PathBuf,
    /// The site.
    pub site: Arc<SiteRecord>,
    /// Every plot, in natural order.
    pub plots: Arc<Vec<PlotSummary>>,
    /// The plot that is looked at.
    pub plot: Option<(PlotId, Arc<PlotView>)>,
    /// A newer program wrote it: nothing can be recorded.
    pub read_only: bool,
    /// The register is an older copy than what this device last wrote.
    pub restored_copy: bool,
    /// The authority's fingerprint, in groups.
    pub fingerprint: String,
    /// Whether people can be enrolled on this device.
    pub can_enrol: bool,
    /// When something was last on disk, as a clock time.
    pub on_disk: String,
    /// The day, as the register's clock has it.
    pub today: Date,
}

/// A floor design file that was read, before it is issued.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadDesign {
    /// The file.
    pub path: PathBuf,
    /// Drawing, revision and title; or every fault with its place.
    pub result: Result<String, Vec<String>>,
}

/// The pages of a sign-off, as pictures.
#[derive(Debug, Clone, Default)]
pub struct Preview {
    /// The plot.
    pub plot: Option<PlotId>,
    /// What stands in the way of signing, in words; empty when it can be signed.
    pub against: Vec<String>,
    /// The document's text, page by page: what the signed pages will say.
    pub pages: Vec<Vec<String>>,
    /// The signed file, once there is one.
    pub signed: Option<PathBuf>,
    /// The draft file, marked as a draft on every page.
    pub draft: Option<PathBuf>,
}

/// What is typed or chosen but not yet asked for. Screens change this freely.
#[derive(Debug, Clone, Default)]
pub struct Drafts {
    /// Texts by name: `site-name`, `keypad/PLOT/HOLD/CRITERION/POINT`, `search`, …
    pub text: BTreeMap<String, String>,
    /// PINs and passphrases being typed, by name. Kept apart so that none of them is ever kept on disk; forgotten
    /// as soon as one is used and whenever the screen changes.
    pub secrets: BTreeMap<String, String>,
    /// The criterion chosen on a hold point screen.
    pub criterion: Option<(HoldPointId, CriterionId)>,
    /// The point chosen on a hold point screen.
    pub point: Option<PointName>,
    /// The zone of a plot's section whose hold points are listed.
    pub zone: Option<(PlotId, String)>,
    /// The nonconformance chosen.
    pub nonconformance: Option<EntryId>,
    /// The photo subject chosen.
    pub subject: Option<String>,
    /// The photo that is looked at.
    pub photo: Option<EntryId>,
    /// Switches by name.
    pub on: BTreeMap<String, bool>,
    /// The drawn signature.
    pub strokes: Vec<Vec<[f32; 2]>>,
    /// What is being asked of the person, and on which plot: a reason, a photo, the PIN.
    pub asking: Option<(PlotId, Asking)>,
    /// What waits for the PIN.
    pub waiting: Option<Action>,
    /// What part of the plan is shown, and of which hold point and criterion.
    pub camera: (Option<(HoldPointId, CriterionId)>, Camera),
    /// The plan that was drawn last, so that it is put together once for each change.
    pub plan: Option<DrawnPlan>,
    /// What is chosen and asked for while levelling.
    pub levels: LevelDrafts,
    /// A logger's file that was read and is not booked yet.
    pub temperatures: Option<ReadTemperatures>,
    /// The field of a form that the keypad writes into.
    pub field: Option<String>,
}

/// A plan with what it was drawn from: while that is the same, so is the plan.
#[derive(Debug, Clone)]
pub struct DrawnPlan {
    /// The plot as it stood.
    pub view: Arc<PlotView>,
    /// The hold point and the criterion.
    pub of: (HoldPointId, Option<CriterionId>),
    /// The plan.
    pub drawing: Arc<Drawing>,
}

impl Drafts {
    /// The text of that name, to be edited.
    pub fn text_mut(&mut self, name: &str) -> &mut String {
        self.text.entry(name.to_owned()).or_default()
    }

    /// The text of that name.
    pub fn text(&self, name: &str) -> &str {
        self.text.get(name).map_or("", String::as_str)
    }

    /// The PIN or passphrase of that name, to be typed.
    pub fn secret_mut(&mut self, name: &str) -> &mut String {
        self.secrets.entry(name.to_owned()).or_default()
    }

    /// The PIN or passphrase of that name.
    pub fn secret(&self, name: &str) -> &str {
        self.secrets.get(name).map_or("", String::as_str)
    }
}

/// All that the window shows.
#[derive(Default)]
pub struct State {
    /// The screen.
    pub screen: Screen,
    /// The screens before it.
    pub before: Vec<Screen>,
    /// The open register.
    pub register: Option<OpenRegister>,
    /// Who is at the tablet.
    pub at_tablet: Option<AtTablet>,
    /// The last sentence for the person.
    pub notice: Option<Notice>,
    /// Long work under way.
    pub busy: Option<Busy>,
    /// The floor design file that was read.
    pub design: Option<ReadDesign>,
    /// What a recalled batch came to, and the batch.
    pub recalled: Option<(String, Vec<Recalled>)>,
    /// The sign-off being prepared.
    pub preview: Preview,
    /// Light or dark.
    pub sheet: SheetChoice,
    /// Thumbnails of photos.
    pub thumbnails: Pictures,
    /// Photos to be looked at.
    pub large: Pictures,
    /// Drawings behind plans.
    pub underlays: Underlays,
    /// The cut plan that is looked at.
    pub cuts: Option<Cuts>,
    /// What is typed but not asked for.
    pub drafts: Drafts,
    /// What was asked for in this frame.
    pub actions: Vec<Action>,
}

impl State {
    /// Asks for something.
    pub fn ask(&mut self, action: Action) {
        self.actions.push(action);
    }

    /// The plot that is looked at, if it is this one.
    pub fn plot(&self, plot: &PlotId) -> Option<Arc<PlotView>> {
        let (own, view) = self.register.as_ref()?.plot.as_ref()?;
        (own == plot).then(|| Arc::clone(view))
    }
}
