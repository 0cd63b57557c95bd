//! A plan of work as its file is written: the form that the schema describes. `read` checks it and makes the plan.

use schemars::JsonSchema;
use serde::Deserialize;

use super::{DesignPart, Feed, HoldPointKind, Layer, Per, ReckoningName, Role, SignOffRule};
use crate::ids::{CriterionId, GateId, HoldPointId};

/// A plan of work as it is written.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "PlanOfWork")]
pub(super) struct PlanFile {
    /// Format of this file: 1.
    #[expect(dead_code, reason = "checked before the file is read")]
    pub(super) gaugerod_plan_of_work: u32,
    /// What the plan is called.
    pub(super) title: String,
    /// Its revision.
    pub(super) revision: String,
    /// Whether somebody may release what they alone booked.
    #[serde(default)]
    pub(super) self_release: bool,
    /// What people pick from when a reason is asked of them.
    #[serde(default)]
    pub(super) reasons: ReasonsFile,
    /// Gates in the order of work.
    #[schemars(length(min = 1, max = 20))]
    pub(super) gates: Vec<GateFile>,
    /// Hold points; their order decides nothing but the order of lists.
    #[schemars(length(min = 1, max = 200))]
    pub(super) hold_points: Vec<HoldPointFile>,
}

/// What people pick from when a reason is asked of them; a list that is left out is the shipped one.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Reasons")]
pub(super) struct ReasonsFile {
    /// Why a hold point or a gate is refused.
    #[serde(default)]
    #[schemars(length(min = 1, max = 20))]
    pub(super) refused: Option<Vec<String>>,
    /// What does not conform.
    #[serde(default)]
    #[schemars(length(min = 1, max = 20))]
    pub(super) raised: Option<Vec<String>>,
    /// Why something was covered without release.
    #[serde(default)]
    #[schemars(length(min = 1, max = 20))]
    pub(super) covered: Option<Vec<String>>,
    /// What was done about what did not conform.
    #[serde(default)]
    #[schemars(length(min = 1, max = 20))]
    pub(super) closed: Option<Vec<String>>,
}

/// Hold points that are offered in one walk.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Gate")]
pub(super) struct GateFile {
    /// Its id.
    pub(super) id: GateId,
    /// What it is called.
    pub(super) title: String,
}

/// A stage that work may not pass, or that may be attended.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "HoldPoint")]
pub(super) struct HoldPointFile {
    /// Its id.
    pub(super) id: HoldPointId,
    /// The full title.
    pub(super) title: String,
    /// A title for narrow places, 24 characters at most.
    pub(super) short_title: String,
    /// Id of its gate.
    pub(super) gate: GateId,
    /// `hold` or `witness`.
    pub(super) kind: HoldPointKind,
    /// True when this site's plan does without it; what came after it then comes after what it came after.
    #[serde(default)]
    pub(super) left_out: bool,
    /// It stands only where the floor design describes this; elsewhere it counts as left out.
    #[serde(default)]
    pub(super) only_where: Option<DesignPart>,
    /// Ids of hold points to be released first. Not between gas, membrane, overlay and heating: the design's own
    /// stack decides there.
    #[serde(default)]
    #[schemars(length(max = 200))]
    pub(super) after: Vec<HoldPointId>,
    /// What it proves.
    pub(super) proves: Layer,
    /// Ids of hold points whose work hides what this one proves.
    #[serde(default)]
    #[schemars(length(max = 200))]
    pub(super) covered_by: Vec<HoldPointId>,
    /// Where its door stands on the section; as `proves` when left out.
    #[serde(default)]
    pub(super) place_on_section: Option<Layer>,
    /// `waits`: the sign-off of the plot waits for it, as it does where this is left out. `subject-to`: the sign-off
    /// may go out marked as subject to it, while results are awaited and nothing is known against it.
    #[serde(default)]
    pub(super) sign_off: SignOffRule,
    /// Who may offer it.
    #[schemars(length(min = 1, max = 6))]
    pub(super) offered_by: Vec<Role>,
    /// Who may release or refuse it.
    #[schemars(length(min = 1, max = 6))]
    pub(super) released_by: Vec<Role>,
    /// Warnings shown on top.
    #[serde(default)]
    #[schemars(length(max = 20))]
    pub(super) cautions: Vec<String>,
    /// What must be true.
    #[schemars(length(min = 1, max = 50))]
    pub(super) criteria: Vec<CriterionFile>,
    /// Photographs that must be there.
    #[serde(default)]
    #[schemars(length(max = 50))]
    pub(super) evidence: Vec<EvidenceFile>,
}

/// One thing that must be true: exactly one of `reckoning`, `question` and `document`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Criterion")]
pub(super) struct CriterionFile {
    /// Its id, unique within the hold point.
    pub(super) id: CriterionId,
    /// What must be true, in words.
    pub(super) title: String,
    /// A standard, `floor design`, `manufacturer's instructions` or `common practice`.
    pub(super) source: String,
    /// It is asked only where the floor design describes this.
    #[serde(default)]
    pub(super) only_where: Option<DesignPart>,
    /// Proved by a computation.
    #[serde(default)]
    pub(super) reckoning: Option<ReckoningFile>,
    /// Proved by an answer.
    #[serde(default)]
    pub(super) question: Option<QuestionFile>,
    /// Proved by a paper.
    #[serde(default)]
    pub(super) document: Option<DocumentFile>,
}

/// Proved by a computation.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Reckoning")]
pub(super) struct ReckoningFile {
    /// Name of the computation.
    pub(super) name: ReckoningName,
    /// What is read and where it goes.
    pub(super) feed: Feed,
    /// A reading at each of these; this or `at_least`, or neither where nothing is read.
    #[serde(default)]
    pub(super) each: Option<EachFile>,
    /// The least number of readings, at points that the person names.
    #[serde(default)]
    #[schemars(range(min = 1, max = 1000))]
    pub(super) at_least: Option<u32>,
}

/// Where a reading is owed.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "Each")]
pub(super) enum EachFile {
    /// Each reading point of the feed.
    Point,
    /// Each bearing wall.
    Wall,
    /// Each opening of the void.
    Vent,
    /// Each line of each bay run: its first, middle and last beam.
    Line,
    /// Each bay run.
    Run,
    /// The beams that settle each bay run, all of them where those disagree.
    Beam,
    /// Each end of each beam.
    BeamEnd,
    /// Each pop-up, from two walls.
    PopUp,
    /// On top of the first, middle and last beam of each bay run: both ends and midspan.
    BeamTop,
}

/// Proved by an answer.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Question")]
pub(super) struct QuestionFile {
    /// Reasons for `not applicable`; empty where it always applies.
    #[schemars(length(max = 20))]
    pub(super) not_applicable_reasons: Vec<String>,
}

/// Proved by a paper.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Document")]
pub(super) struct DocumentFile {
    /// What paper.
    pub(super) what: String,
    /// Reasons for `not applicable`; empty where it is always wanted.
    #[schemars(length(max = 20))]
    pub(super) not_applicable_reasons: Vec<String>,
}

/// A photograph that is owed.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Evidence")]
pub(super) struct EvidenceFile {
    /// A code, unique within the hold point.
    #[schemars(length(min = 1, max = 60))]
    pub(super) subject: String,
    /// What the photograph must show.
    pub(super) title: String,
    /// Once, or for each of something.
    pub(super) per: Per,
    /// How many each time.
    #[schemars(range(min = 1, max = 20))]
    pub(super) count: u32,
}
