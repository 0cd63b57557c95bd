//! Beams and infill as drawn: types of beams, bay runs with their sequence, infill, line loads, what else is
//! delivered. [`check`] finds what does not agree within the drawing itself; [`layout`](super::layout) places every
//! beam in plan.
//!
//! Never here: a verdict on what was built.

use schemars::JsonSchema;
use serde::Deserialize;

use super::{FloorDesign, LayerRole, Place};
use crate::ids::PointName;
use crate::quantity::{Length, Mm, Plain};

/// The most beams, infills and make-ups of one run.
pub const MOST_IN_RUN: usize = 400;

/// Beams and infill.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Beams {
    /// Width of every beam at the height where spacing is measured.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub width_mm: Mm,
    /// Types of beams, by marks of the drawing's own.
    #[schemars(length(min = 1, max = 100))]
    pub types: Vec<BeamType>,
    /// The infill between them.
    pub infill: Infill,
    /// Bay runs in the order of work.
    #[schemars(length(min = 1, max = 50))]
    pub runs: Vec<BayRun>,
    /// Loads along a line that must stand over beams that lie together.
    #[serde(default)]
    #[schemars(length(max = 100))]
    pub line_loads: Vec<LineLoad>,
    /// The mix between doubled beams.
    #[serde(default)]
    pub concrete: Option<ConcreteSpec>,
    /// What else is ordered: edge and end blocks, overlay, sleeves.
    #[serde(default)]
    #[schemars(length(max = 200))]
    pub items: Vec<OrderedItem>,
}

/// A type of beam.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BeamType {
    /// Its mark on drawing and label.
    pub mark: PointName,
    /// Its length.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub length_mm: Mm,
}

/// Infill between the beams, and how it is cut.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Infill {
    /// Width of the wide infill.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub wide_mm: Mm,
    /// Width of the narrow infill.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub narrow_mm: Mm,
    /// Length of a full piece.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub piece_mm: Mm,
    /// No piece may be shorter.
    #[schemars(range(min = 0))]
    pub least_piece_mm: Mm,
    /// What the last whole piece gives to a remainder that would be too short.
    #[schemars(range(min = 0))]
    pub shift_mm: Mm,
    /// What the saw takes at every cut.
    #[schemars(range(min = 0))]
    pub kerf_mm: Mm,
    /// Where these lengths come from.
    pub source: String,
}

/// One run of beams side by side between two walls.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BayRun {
    /// Its name (`R1`).
    pub name: PointName,
    /// From the inner face of the wall at its start to that of the wall at its end, along the bearing face that the
    /// beams start on. The beams span to the left of it.
    pub across_mm: [Place; 2],
    /// Clear distance that the beams span between the bearing faces.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub clear_span_mm: Mm,
    /// The walls that they bear on: first the one along `across_mm`.
    pub bears_on: [PointName; 2],
    /// Mark of its beams.
    pub beam: PointName,
    /// From the start face to the first beam.
    #[schemars(range(min = 0))]
    pub edge_start_mm: Mm,
    /// From the last beam to the end face.
    #[schemars(range(min = 0))]
    pub edge_end_mm: Mm,
    /// Beams and what lies between them, from the start; beams next to each other lie together.
    #[schemars(length(min = 1, max = MOST_IN_RUN))]
    pub sequence: Vec<InRun>,
}

/// What a run is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum InRun {
    /// A beam.
    Beam,
    /// A wide infill.
    Wide,
    /// A narrow infill.
    Narrow,
    /// Sheet cut to the gap that is left.
    MakeUp,
}

/// A load along a line: a partition, a stair, a chimney breast.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LineLoad {
    /// Its name.
    pub name: PointName,
    /// Its line in plan.
    pub line_mm: [Place; 2],
}

/// A mix as the engineer specifies it.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ConcreteSpec {
    /// `C20/25`, a designated mix, or a bare `C20`.
    #[schemars(length(min = 1, max = 100))]
    pub strength_class: String,
    /// Consistence class, where one is asked for.
    #[serde(default)]
    #[schemars(length(min = 1, max = 100))]
    pub consistence_class: Option<String>,
    /// The aggregate may be no larger.
    #[serde(default)]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub largest_aggregate_mm: Option<Mm>,
    /// From batching to the end of discharge, at most.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 100))]
    pub hours_to_discharge: Plain,
    /// The least temperature of the air.
    #[serde(rename = "least_air_C")]
    #[schemars(range(min = -60, max = 60))]
    pub least_air_c: Plain,
    /// The least temperature of the concrete.
    #[serde(rename = "least_concrete_C")]
    #[schemars(range(min = -60, max = 100))]
    pub least_concrete_c: Plain,
    /// Where it comes from.
    pub source: String,
}

/// Something that is ordered beside beams and infill.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OrderedItem {
    /// The item as its label names it.
    pub item: String,
    /// How many.
    #[schemars(range(min = 1, max = 100_000))]
    pub quantity: u32,
    /// The stage that needs it.
    pub stage: Stage,
}

/// A stage of the work that needs what is delivered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// Edge blocks before the beams.
    EdgeBlocks,
    /// Beams.
    Beams,
    /// Infill and make-up.
    Infill,
    /// End blocks and coursing.
    EndBlocks,
    /// Overlay.
    Overlay,
    /// Topping.
    Topping,
}

impl Stage {
    /// Every stage in the order of work.
    pub const ALL: [Self; 6] =
        [Self::EdgeBlocks, Self::Beams, Self::Infill, Self::EndBlocks, Self::Overlay, Self::Topping];

    /// The words on screen and paper.
    pub const fn word(self) -> &'static str {
        match self {
            Self::EdgeBlocks => "edge blocks",
            Self::Beams => "beams",
            Self::Infill => "infill",
            Self::EndBlocks => "end blocks",
            Self::Overlay => "overlay",
            Self::Topping => "topping",
        }
    }
}

impl Beams {
    /// The type of that mark.
    pub fn beam_type(&self, mark: &PointName) -> Option<&BeamType> {
        self.types.iter().find(|one| one.mark == *mark)
    }

    /// Width along the run of what it is made of, with a make-up of that width.
    pub fn width_of(&self, kind: InRun, make_up: Length) -> Length {
        match kind {
            InRun::Beam => self.width_mm.0,
            InRun::Wide => self.infill.wide_mm.0,
            InRun::Narrow => self.infill.narrow_mm.0,
            InRun::MakeUp => make_up,
        }
    }

    /// The run of that name.
    pub fn run(&self, name: &PointName) -> Option<&BayRun> {
        self.runs.iter().find(|run| run.name == *name)
    }
}

impl BayRun {
    /// Clear width of the run as drawn, rounded to the micrometre.
    pub fn clear_width(&self) -> Length {
        super::points::distance(self.across_mm)
    }

    /// How many beams lie in it.
    pub fn beam_count(&self) -> usize {
        self.count(InRun::Beam)
    }

    /// How many of one kind lie in it.
    pub fn count(&self, wanted: InRun) -> usize {
        self.sequence.iter().filter(|one| **one == wanted).count()
    }

    /// The name of a beam of the run, counted from 1: `R1/3`.
    pub fn beam_name(&self, number: usize) -> Option<PointName> {
        PointName::new(&format!("{}/{number}", self.name)).ok()
    }

    /// What is left of the clear width when everything but the make-up is in its place.
    pub fn left_over(&self, beams: &Beams) -> Length {
        let width = |one: &InRun| beams.width_of(*one, Length::ZERO);
        let taken = self.sequence.iter().map(width).fold(Length::ZERO, |sum, one| sum + one);
        self.clear_width() - self.edge_start_mm.0 - self.edge_end_mm.0 - taken
    }
}

/// What does not agree within the drawing; `fault` is told the place and what is wrong.
pub(super) fn check(design: &FloorDesign, fault: &mut dyn FnMut(String, String)) {
    let Some(beams) = &design.beams else { return };
    if !design.layers.iter().any(|layer| layer.role == LayerRole::Infill) {
        fault("/beams/infill".to_owned(), "the layers have no infill between the beams".to_owned());
    }
    check_infill(beams, fault);
    if beams.infill.source.trim().is_empty() {
        fault("/beams/infill/source".to_owned(), "must say where the lengths come from".to_owned());
    }
    for (index, one) in beams.types.iter().enumerate() {
        if beams.types[..index].iter().any(|other| other.mark == one.mark) {
            fault(format!("/beams/types/{index}/mark"), format!("`{}` stands here twice", one.mark));
        }
    }
    for (index, run) in beams.runs.iter().enumerate() {
        check_run(design, beams, index, run, fault);
    }
    for (index, one) in beams.items.iter().enumerate() {
        if one.item.trim().is_empty() || one.item.chars().count() > 100 {
            fault(format!("/beams/items/{index}/item"), "must be 1 to 100 characters, not blank".to_owned());
        }
        if beams.items[..index].iter().any(|other| other.item == one.item && other.stage == one.stage) {
            fault(format!("/beams/items/{index}/item"), format!("`{}` stands twice in this stage", one.item));
        }
    }
    for (index, load) in beams.line_loads.iter().enumerate() {
        let place = format!("/beams/line_loads/{index}/line_mm");
        if load.line_mm[0] == load.line_mm[1] {
            fault(place, "must not start and end at one place".to_owned());
        } else if let Err(what) = super::layout::stands_on_doubled_beams(design, load) {
            fault(place, what);
        }
    }
}

fn check_infill(beams: &Beams, fault: &mut dyn FnMut(String, String)) {
    let infill = &beams.infill;
    if infill.narrow_mm.0 >= infill.wide_mm.0 {
        fault("/beams/infill/narrow_mm".to_owned(), "must be less than the wide infill".to_owned());
    }
    if infill.least_piece_mm.0 > infill.piece_mm.0 {
        fault("/beams/infill/least_piece_mm".to_owned(), "is more than a full piece".to_owned());
    }
    if infill.shift_mm.0 > infill.piece_mm.0 {
        fault("/beams/infill/shift_mm".to_owned(), "is more than a full piece".to_owned());
    }
}

fn check_run(
    design: &FloorDesign,
    beams: &Beams,
    index: usize,
    run: &BayRun,
    fault: &mut dyn FnMut(String, String),
) {
    let place = |key: &str| format!("/beams/runs/{index}/{key}");
    if beams.runs[..index].iter().any(|other| other.name == run.name) {
        fault(place("name"), format!("`{}` stands here twice", run.name));
    }
    if run.across_mm[0] == run.across_mm[1] {
        fault(place("across_mm"), "must not start and end at one place".to_owned());
        return;
    }
    for (number, wall) in run.bears_on.iter().enumerate() {
        match design.walls.iter().find(|one| one.name == *wall) {
            None => fault(place(&format!("bears_on/{number}")), format!("no wall `{wall}`")),
            Some(wall) if !wall.bearing => {
                fault(place(&format!("bears_on/{number}")), format!("no beam bears on wall `{}`", wall.name));
            }
            Some(_) => {}
        }
    }
    match beams.beam_type(&run.beam) {
        None => fault(place("beam"), format!("no type of beam `{}`", run.beam)),
        Some(own) => {
            let both = own.length_mm.0 - run.clear_span_mm.0;
            let least = design
                .limits
                .get(&super::LimitName::BearingLengthLeast)
                .map(|limit| Length::from_um(limit.value.0.millionths() / 1_000));
            if let Some(least) = least.filter(|least| both < *least + *least) {
                fault(
                    place("clear_span_mm"),
                    format!(
                        "beams `{}` are {} mm long: over {} mm they leave {} mm for both bearings, {} mm each required",
                        own.mark,
                        own.length_mm.0.to_mm_text(),
                        run.clear_span_mm.0.to_mm_text(),
                        both.to_mm_text(),
                        least.to_mm_text()
                    ),
                );
            }
        }
    }
    check_sequence(design, beams, run, &place("sequence"), fault);
}

fn check_sequence(
    design: &FloorDesign,
    beams: &Beams,
    run: &BayRun,
    place: &str,
    fault: &mut dyn FnMut(String, String),
) {
    let ends = [run.sequence.first(), run.sequence.last()];
    if ends.iter().any(|end| *end != Some(&InRun::Beam)) {
        fault(place.to_owned(), "must start and end with a beam".to_owned());
        return;
    }
    for (number, pair) in run.sequence.windows(2).enumerate() {
        if pair[0] != InRun::Beam && pair[1] != InRun::Beam {
            let what = "two infills lie side by side: a beam lies between them".to_owned();
            fault(format!("{place}/{}", number + 1), what);
        }
    }
    let left = run.left_over(beams);
    match run.count(InRun::MakeUp) {
        0 => {
            let allowed = limit(design, super::LimitName::BeamSpacingTolerance).unwrap_or(Length::ZERO);
            if left.abs() > allowed {
                fault(
                    place.to_owned(),
                    format!(
                        "cannot fill its width: {} mm are left over, and there is no make-up",
                        left.signed_mm_text(1)
                    ),
                );
            }
        }
        1 => {
            let least = limit(design, super::LimitName::MakeUpLeast).unwrap_or(Length::from_um(1));
            if left < least || left >= beams.infill.narrow_mm.0 {
                fault(
                    place.to_owned(),
                    format!(
                        "leaves a make-up of {} mm: it must be at least {} mm and less than the narrow infill of {} mm",
                        left.mm_text(1),
                        least.to_mm_text(),
                        beams.infill.narrow_mm.0.to_mm_text()
                    ),
                );
            }
        }
        more => fault(place.to_owned(), format!("has {more} make-ups: a run has at most one")),
    }
}

fn limit(design: &FloorDesign, name: super::LimitName) -> Option<Length> {
    design.limits.get(&name).map(|limit| Length::from_um(limit.value.0.millionths() / 1_000))
}
