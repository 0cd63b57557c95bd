//! The plan of work: hold points as data, loaded and checked from a file that a site may tailor.
//!
//! - This file: what a plan says once it is read ([`PlanOfWork`] and its parts)
//! - `form`: the file as it is written; `read`: every fault of it at once
//! - `feed`, `inputs`: what a reckoning is fed with, from readings and from the design alone
//! - `order`: what must be proved before what, taken from the plan and from the design's own stack of layers
//!
//! Never here: a state of a plot (derived in `inspection`), a limit (the design and the default limits have
//! those), or an expression language: a criterion names one [`Feed`] of a closed list.

mod beam_inputs;
mod feed;
mod form;
mod inputs;
mod order;
mod read;
#[cfg(test)]
mod tests;

pub use beam_inputs::Ordered;
pub use feed::{Feed, Owing, ReadingUnit};
pub use order::{covered_by, prerequisites};

use std::collections::BTreeSet;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::floor::{FloorDesign, LayerRole};
use crate::ids::{CriterionId, GateId, HoldPointId};
pub use crate::reckon::ReckoningName;

/// A plan of work as read: gates and hold points in the order of the file, hold points that the file leaves out
/// already taken out and their ties joined up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanOfWork {
    /// What the plan is called.
    pub title: String,
    /// The plan's revision, as the site writes it.
    pub revision: String,
    /// Whether somebody may release what they alone booked. False in the shipped plan.
    pub self_release: bool,
    /// What people pick from when a reason is asked of them.
    pub reasons: Reasons,
    /// Gates in the order of work; each has at least one hold point.
    pub gates: Vec<Gate>,
    /// Hold points in the order of the file.
    pub hold_points: Vec<HoldPoint>,
}

/// The site's own lists of reasons; an empty one says nothing, then the program offers those that it ships.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Reasons {
    /// Why a hold point or a gate is refused.
    pub refused: Vec<String>,
    /// What does not conform.
    pub raised: Vec<String>,
    /// Why something was covered without release.
    pub covered: Vec<String>,
    /// What was done about what did not conform.
    pub closed: Vec<String>,
}

/// Several hold points that are offered and released in one walk.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gate {
    /// Its id (`ready-for-beams`).
    pub id: GateId,
    /// What it is called on screen and paper.
    pub title: String,
}

/// A stage that work may not pass (hold) or that may be attended (witness).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HoldPoint {
    /// Its id (`bearing-level`).
    pub id: HoldPointId,
    /// The full title.
    pub title: String,
    /// A title for narrow places, 24 characters at most.
    pub short_title: String,
    /// The gate that it is offered with.
    pub gate: GateId,
    /// Whether work stops for it.
    pub kind: HoldPointKind,
    /// It stands only where the floor design describes this.
    pub only_where: Option<DesignPart>,
    /// What the plan itself wants released first. [`prerequisites`] adds what the design's stack demands.
    pub after: Vec<HoldPointId>,
    /// What it proves.
    pub proves: Layer,
    /// The hold points whose work hides what this one proves, as the plan says. [`covered_by`] adds the stack's.
    pub covered_by: Vec<HoldPointId>,
    /// What must be true.
    pub criteria: Vec<Criterion>,
    /// Photographs that must be there.
    pub evidence: Vec<Evidence>,
    /// Warnings shown on top.
    pub cautions: Vec<String>,
    /// Who may offer it.
    pub offered_by: Vec<Role>,
    /// Who may release or refuse it.
    pub released_by: Vec<Role>,
    /// Where its door stands on the section drawing.
    pub place_on_section: Layer,
    /// What the sign-off of the plot makes of it while it stands open.
    pub sign_off: SignOffRule,
}

/// What the sign-off of a plot makes of a hold point that is still open.
#[derive(
    Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum SignOffRule {
    /// It waits.
    #[default]
    Waits,
    /// It may go out marked as subject to it, while nothing is known against it.
    SubjectTo,
}

/// Terms of the trade's inspection and test plans.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum HoldPointKind {
    /// Work may not pass it until it is released in writing.
    Hold,
    /// It may be attended, but work does not stop for it.
    Witness,
}

/// Part of the floor that a hold point proves, and where its door stands on the section.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Layer {
    /// The oversite.
    Ground,
    /// The bearing walls' top.
    Bearing,
    /// The damp-proof course.
    Dpc,
    /// Air bricks, sleeves and openings of the void.
    Vents,
    /// Blocks along the edges of the beams.
    EdgeBlocks,
    /// The ventilated height under the beams.
    Void,
    /// Beams and infill.
    Beams,
    /// Beams that lie together.
    DoubledBeams,
    /// Gas pipes. Where they lie is taken from the design.
    Gas,
    /// The damp-proof or gas membrane. Where it lies is taken from the design.
    Membrane,
    /// The overlay sheet. Where it lies is taken from the design.
    Overlay,
    /// Heating pipes. Where they lie is taken from the design.
    Heating,
    /// The structural topping.
    Topping,
    /// The whole floor.
    Floor,
}

impl Layer {
    /// Whether its place between the others is read from the design's own stack instead of the plan.
    pub const fn is_ordered_by_stack(self) -> bool {
        matches!(self, Self::Gas | Self::Membrane | Self::Overlay | Self::Heating)
    }
}

/// One thing that must be true before release.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Criterion {
    /// Its id, unique within its hold point.
    pub id: CriterionId,
    /// What must be true, in words.
    pub title: String,
    /// It is asked only where the floor design describes this.
    pub only_where: Option<DesignPart>,
    /// How it is proved.
    pub kind: CriterionKind,
    /// A standard, `floor design`, `manufacturer's instructions` or `common practice`.
    pub source: String,
}

/// What a floor design may describe or leave to others; a plan asks for it only where it does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DesignPart {
    /// Heating pipes among its layers.
    Heating,
    /// Beams and infill.
    Beams,
    /// Beams that lie together.
    DoubledBeams,
    /// The topping and its concrete.
    Topping,
    /// Cubes of the topping.
    Cubes,
    /// Drains and entries that come up between the beams.
    PopUps,
    /// Level and flatness of the finished topping.
    Finish,
    /// How the topping cures.
    Curing,
    /// Heat: the overlay's grade and the floor's U-value.
    Thermal,
    /// Protection from ground gas.
    GroundGas,
    /// Protection from ground gas that somebody independent verifies.
    GroundGasVerified,
    /// The pressure test of heating pipes.
    HeatingTest,
    /// Reinforcement of the topping.
    Reinforcement,
    /// Reinforcement by a mesh.
    Mesh,
}

impl DesignPart {
    /// Whether a design describes it.
    pub fn is_in(self, design: &FloorDesign) -> bool {
        match self {
            Self::Beams => design.beams.is_some(),
            Self::Topping => design.topping.is_some(),
            Self::Finish => design.finish.is_some(),
            Self::Curing => design.curing.is_some(),
            Self::Cubes => design.topping.as_ref().is_some_and(|topping| topping.cubes.is_some()),
            Self::PopUps => !design.pop_ups.is_empty() && design.beams.is_some(),
            Self::Thermal => design.thermal.is_some(),
            Self::GroundGas => design.ground_gas.is_some(),
            Self::GroundGasVerified => {
                design.ground_gas.as_ref().is_some_and(|gas| gas.independent_verification)
            }
            Self::HeatingTest => design.heating.is_some(),
            Self::Reinforcement => design.reinforcement.is_some(),
            Self::Mesh => design.reinforcement.as_ref().is_some_and(|own| own.mesh.is_some()),
            Self::DoubledBeams => design.laid_runs().iter().flat_map(|run| &run.laid).any(|one| one.doubled),
            Self::Heating => design.layers.iter().any(|layer| layer.role == LayerRole::Heating),
        }
    }
}

impl DesignPart {
    /// What the design says of it, in words with its source, for a question that is about it.
    pub fn says(self, design: &FloorDesign) -> Option<String> {
        match self {
            Self::GroundGas | Self::GroundGasVerified => {
                let gas = design.ground_gas.as_ref()?;
                Some(format!("{}: {} ({})", gas.class, gas.membrane, gas.source))
            }
            Self::Reinforcement | Self::Mesh => {
                let own = design.reinforcement.as_ref()?;
                let mesh = own.mesh.as_ref().map(|mesh| format!("mesh {}", mesh.mark));
                let all: Vec<String> = mesh.into_iter().chain(own.fibre.clone()).collect();
                Some(format!("{} ({})", all.join(", "), own.source))
            }
            Self::HeatingTest => {
                let own = design.heating.as_ref()?;
                (!own.zones.is_empty()).then(|| format!("zones {} ({})", own.zones.join(", "), own.source))
            }
            _ => None,
        }
    }
}

/// How a criterion is proved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CriterionKind {
    /// A computation fed from the floor design and booked readings.
    Reckoning {
        /// Which computation.
        reckoning: ReckoningName,
        /// What is read, where, and how it reaches the computation.
        feed: Feed,
        /// How many readings are owed.
        owed: Owed,
    },
    /// Answered yes, no, or not applicable with one of these reasons (none: it always applies).
    Question {
        /// Reasons that a person may pick.
        not_applicable_reasons: Vec<String>,
    },
    /// A paper photographed or attached, or not applicable with one of these reasons (none: always wanted).
    Document {
        /// What paper.
        what: String,
        /// Reasons that a person may pick.
        not_applicable_reasons: Vec<String>,
    },
}

/// How many readings a criterion owes; [`Criterion::owing`] turns it into points of a design.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Owed {
    /// So many, at points that the person names.
    AtLeast(u32),
    /// One at each reading point of the feed (bearing points, ground points).
    EachPoint,
    /// One on each bearing wall, named as the wall.
    EachWall,
    /// One at each opening of the void that the design draws, named as the opening.
    EachVent,
    /// One on each line of each bay run: its first, middle and last beam.
    EachLine,
    /// One for each bay run.
    EachRun,
    /// One at the beams that settle each bay run; all of them where those disagree.
    EachBeam,
    /// One at each end of each beam.
    EachBeamEnd,
    /// Two for each pop-up, from two walls.
    EachPopUp,
    /// On top of the first, middle and last beam of each bay run: at both ends and at midspan.
    EachBeamTop,
    /// None: the design alone feeds it.
    None,
}

/// A photograph that is owed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Evidence {
    /// A code, unique within its hold point (`dpc-lap`); photos name it.
    pub subject: String,
    /// What the photograph must show.
    pub title: String,
    /// Once, or for each of something.
    pub per: Per,
    /// How many each time, 1 to 20.
    pub count: u32,
}

/// What a photograph is owed for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Per {
    /// Once for the hold point.
    Once,
    /// For each bearing wall.
    EachWall,
    /// For each opening of the void that the design draws.
    EachVent,
    /// For each delivery note that is booked; once while there is none.
    EachNote,
    /// For each wall that passes through the floor; once where the design names none.
    EachPassingWall,
}

/// What a person may be on a site. Who may do what stands in the plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// Books and offers.
    Supervisor,
    /// Reviews, releases, refuses, closes.
    QualityManager,
    /// The designer of the floor: concessions and written assessments.
    Designer,
    /// A chartered or otherwise licensed structural engineer.
    Engineer,
    /// An engineer on the national register for gas work.
    GasEngineer,
    /// Building control: looks on, and may release where a plan says so.
    BuildingControl,
}

impl Role {
    /// Every role, in the order of this list.
    pub const ALL: [Self; 6] = [
        Self::Supervisor,
        Self::QualityManager,
        Self::Designer,
        Self::Engineer,
        Self::GasEngineer,
        Self::BuildingControl,
    ];

    /// The word in files and on the command line.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Supervisor => "supervisor",
            Self::QualityManager => "quality-manager",
            Self::Designer => "designer",
            Self::Engineer => "engineer",
            Self::GasEngineer => "gas-engineer",
            Self::BuildingControl => "building-control",
        }
    }

    /// The words on screen and paper.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Supervisor => "site supervisor",
            Self::QualityManager => "quality manager",
            Self::Designer => "floor designer",
            Self::Engineer => "structural engineer",
            Self::GasEngineer => "registered gas engineer",
            Self::BuildingControl => "building control",
        }
    }
}

impl std::fmt::Display for Role {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.as_str())
    }
}

/// Reads the word of [`Role::as_str`].
impl std::str::FromStr for Role {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        Self::ALL.into_iter().find(|role| role.as_str() == text).ok_or_else(|| {
            let words: Vec<_> = Self::ALL.iter().map(|role| role.as_str()).collect();
            format!("no role `{text}`: one of {}", words.join(", "))
        })
    }
}

impl PlanOfWork {
    /// The hold point of that id.
    pub fn hold_point(&self, id: &HoldPointId) -> Option<&HoldPoint> {
        self.hold_points.iter().find(|point| point.id == *id)
    }

    /// The plan as it stands for one floor design: without what the design does not describe. What came after a hold
    /// point that is left out comes after what that came after; a gate without hold points is none.
    #[must_use]
    pub fn for_design(&self, design: &FloorDesign) -> Self {
        let asked = |part: Option<DesignPart>| part.is_none_or(|part| part.is_in(design));
        let left_out: BTreeSet<HoldPointId> =
            self.hold_points.iter().filter(|one| !asked(one.only_where)).map(|one| one.id.clone()).collect();
        let mut plan = self.without(&left_out);
        for hold_point in &mut plan.hold_points {
            hold_point.criteria.retain(|one| asked(one.only_where));
        }
        plan.gates.retain(|gate| plan.hold_points.iter().any(|one| one.gate == gate.id));
        plan
    }

    /// The plan without some hold points, ties to them joined up.
    #[must_use]
    fn without(&self, left_out: &BTreeSet<HoldPointId>) -> Self {
        let joined =
            |ids: &[HoldPointId], further: &dyn Fn(&HoldPoint) -> Vec<HoldPointId>| -> Vec<HoldPointId> {
                let (mut kept, mut seen, mut open) = (BTreeSet::new(), BTreeSet::new(), ids.to_vec());
                while let Some(id) = open.pop() {
                    if !seen.insert(id.clone()) {
                        continue;
                    }
                    match self.hold_point(&id).filter(|_| left_out.contains(&id)) {
                        Some(gone) => open.extend(further(gone)),
                        None => drop(kept.insert(id)),
                    }
                }
                kept.into_iter().collect()
            };
        let mut plan = self.clone();
        plan.hold_points.retain(|one| !left_out.contains(&one.id));
        for own in &mut plan.hold_points {
            own.after = joined(&own.after, &|gone| gone.after.clone());
            own.covered_by = joined(&own.covered_by, &|gone| gone.covered_by.clone());
            own.covered_by.retain(|id| *id != own.id);
        }
        plan
    }

    /// The gate of that id.
    pub fn gate(&self, id: &GateId) -> Option<&Gate> {
        self.gates.iter().find(|gate| gate.id == *id)
    }

    /// The hold points of a gate, in the order of the file.
    pub fn in_gate<'a>(&'a self, gate: &'a GateId) -> impl Iterator<Item = &'a HoldPoint> {
        self.hold_points.iter().filter(move |point| point.gate == *gate)
    }
}

impl Criterion {
    /// The reckoning that proves it; none for a question or a document.
    pub const fn reckoning(&self) -> Option<ReckoningName> {
        match self.kind {
            CriterionKind::Reckoning { reckoning, .. } => Some(reckoning),
            CriterionKind::Question { .. } | CriterionKind::Document { .. } => None,
        }
    }
}

impl HoldPoint {
    /// The criterion of that id.
    pub fn criterion(&self, id: &CriterionId) -> Option<&Criterion> {
        self.criteria.iter().find(|criterion| criterion.id == *id)
    }

    /// The owed photograph of that subject.
    pub fn evidence_of(&self, subject: &str) -> Option<&Evidence> {
        self.evidence.iter().find(|evidence| evidence.subject == subject)
    }
}
