//! The layers as built beside the layers as designed, and what an overlay of another thickness or grade breaks:
//! threshold, topping, bearing, U-value, each by its reckoning.
//!
//! - [`overlay`]: what labels and readings say of the overlay
//! - [`as_built`], [`as_built_with`]: the stack with its levels, and the consequences; the second for an overlay that
//!   is not there yet
//! - [`u_value_of`]: the U-value with that overlay, and how sure it is
//!
//! Never here: a value that meets a limit outside of a reckoning; drawing.

use super::feeds::{Booked, decision_over, limit_length};
use super::fold::PlotRecord;
use super::heat;
use crate::conformity::{Decision, Verdict};
use crate::floor::{FloorLayer, LayerRole, LimitName, Place, ServiceKind};
use crate::ids::PointName;
use crate::plan_of_work::{CriterionKind, Feed};
use crate::quantity::{Length, Mm};
use crate::reckon::limit;

pub use heat::{Bound, UValue, u_value_of};

/// Where a figure comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Read at so many places.
    Read(usize),
    /// Printed on the label.
    Label,
    /// As drawn: nothing is read yet.
    Design,
    /// Tried out: nothing of it is booked.
    Trial,
}

impl Basis {
    /// The words on screen and paper.
    pub fn words(self) -> String {
        match self {
            Self::Read(1) => "read at 1 place".to_owned(),
            Self::Read(places) => format!("read at {places} places"),
            Self::Label => "by its label".to_owned(),
            Self::Design => "as drawn, not read yet".to_owned(),
            Self::Trial => "tried out".to_owned(),
        }
    }
}

/// The overlay as labels and readings say it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Overlay {
    /// Its least thickness: heat is reckoned with it.
    pub least: Length,
    /// Its greatest thickness: levels and topping are reckoned with it.
    pub greatest: Length,
    /// Where the thickness comes from.
    pub basis: Basis,
    /// The grades on its labels, or the designed one while there is no label.
    pub grades: Vec<String>,
    /// Batches on its labels.
    pub batches: Vec<String>,
    /// The greatest conductivity among the grades, watts a metre and kelvin.
    pub conductivity: Option<f64>,
    /// Grades whose conductivity neither the design nor their label gives.
    pub unknown: Vec<String>,
}

/// One layer.
#[derive(Debug, Clone, PartialEq)]
pub struct LayerAsBuilt {
    /// Its name in the design.
    pub name: PointName,
    /// What it is.
    pub role: LayerRole,
    /// Thickness as designed.
    pub designed: Length,
    /// Thickness as built, least and greatest.
    pub built: (Length, Length),
    /// Where that comes from.
    pub basis: Basis,
    /// What it is made of as designed: the overlay's grade, else the drawing's words.
    pub designed_material: Option<String>,
    /// What it is made of by its labels; `None` where no label is asked for.
    pub built_material: Option<String>,
    /// Level of its top as designed.
    pub designed_top: Length,
    /// Level of its top as built (where it is highest).
    pub built_top: Length,
    /// Services within it or right below it, in words.
    pub services: Vec<String>,
    /// Whether a gas pipe lies within it or right below it.
    pub carries_gas: bool,
}

/// What a change of the overlay touches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum About {
    /// Finished floor and thresholds, if the topping keeps its thickness.
    Threshold,
    /// The topping that is left if the rail stays.
    Topping,
    /// The bearing, as it would have had to be.
    Bearing,
    /// Heat.
    UValue,
}

impl About {
    /// The words on screen and paper.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Threshold => "Threshold and rail",
            Self::Topping => "Topping",
            Self::Bearing => "Bearing",
            Self::UValue => "U-value",
        }
    }
}

/// What follows, and what it breaks.
#[derive(Debug, Clone, PartialEq)]
pub struct Consequence {
    /// What it is about.
    pub about: About,
    /// Whether it still conforms.
    pub verdict: Verdict,
    /// A sentence with its figures.
    pub sentence: String,
    /// Where the limit comes from.
    pub source: String,
}

/// The stack as built, and what follows.
#[derive(Debug, Clone, PartialEq)]
pub struct AsBuilt {
    /// Layers from the top down.
    pub layers: Vec<LayerAsBuilt>,
    /// Level that the beams bear on, as designed and as built (where it is highest), and where the latter comes from.
    pub bearing: (Length, Length, Basis),
    /// Where the level of the beams' tops comes from.
    pub beams_basis: Basis,
    /// The overlay.
    pub overlay: Overlay,
    /// Whether thickness or grade of the overlay are other than designed.
    pub is_changed: bool,
    /// What follows, in the order of the work.
    pub consequences: Vec<Consequence>,
}

/// Current values of a feed, whichever hold point asks for them.
pub(super) fn current(record: &PlotRecord, wanted: Feed) -> Vec<Booked> {
    let mut values: Vec<Booked> = Vec::new();
    for hold_point in &record.plan.hold_points {
        for asked in &hold_point.criteria {
            if !matches!(asked.kind, CriterionKind::Reckoning { feed, .. } if feed == wanted) {
                continue;
            }
            for one in record.readings_of(&hold_point.id, &asked.id) {
                if one.superseded.is_some() {
                    continue;
                }
                let own = Booked {
                    point: one.point,
                    value: one.value,
                    instrument: one.instrument,
                    certainty: one.certainty,
                };
                match values.iter_mut().find(|other| other.point == own.point) {
                    Some(earlier) => *earlier = own,
                    None => values.push(own),
                }
            }
        }
    }
    values
}

fn lengths(record: &PlotRecord, wanted: Feed) -> Vec<Length> {
    current(record, wanted).iter().filter_map(|one| super::feeds::length_of(one.value)).collect()
}

/// Level of the screed rail: the lowest that was read, which leaves the least topping; `None` before one is read.
pub(super) fn rail(record: &PlotRecord) -> Option<(Length, Basis)> {
    let read = lengths(record, Feed::RailLevels);
    Some((read.iter().min().copied()?, Basis::Read(read.len())))
}

/// The overlay as labels and readings say it is; `None` where the design has none or says nothing of heat.
pub fn overlay(record: &PlotRecord) -> Option<Overlay> {
    let thermal = record.design().thermal.as_ref()?;
    let drawn = record.design().overlay_thickness();
    let labels: Vec<_> =
        record.labels.iter().filter(|kept| kept.superseded.is_none()).map(|kept| &kept.fact).collect();
    let read = lengths(record, Feed::OverlayThickness);
    let printed: Vec<Length> =
        labels.iter().filter_map(|label| label.thickness_um).map(Length::from_um).collect();
    let span = |all: &[Length]| all.iter().min().copied().zip(all.iter().max().copied());
    let (span, basis) = match (span(&read), span(&printed)) {
        (Some(span), _) => (span, Basis::Read(read.len())),
        (None, Some(span)) => (span, Basis::Label),
        (None, None) => ((drawn, drawn), Basis::Design),
    };
    let mut grades: Vec<String> = Vec::new();
    let mut batches: Vec<String> = Vec::new();
    let mut unknown: Vec<String> = Vec::new();
    let mut conductivity: Option<f64> = None;
    for label in &labels {
        if !grades.contains(&label.grade) {
            grades.push(label.grade.clone());
        }
        if let Some(batch) = label.batch.as_ref().filter(|batch| !batches.contains(batch)) {
            batches.push(batch.clone());
        }
        // What the label itself declares goes before what the design knows of its grade.
        let declared = label.conductivity.as_deref().and_then(|text| text.parse().ok());
        match declared.or_else(|| thermal.conductivity_of(&label.grade).map(|known| known.0)) {
            Some(own) => conductivity = Some(conductivity.map_or(own, |so_far| so_far.max(own))),
            None if unknown.contains(&label.grade) => {}
            None => unknown.push(label.grade.clone()),
        }
    }
    if labels.is_empty() {
        grades.push(thermal.overlay.grade.clone());
        conductivity = Some(thermal.overlay.conductivity.0);
    }
    Some(Overlay { least: span.0, greatest: span.1, basis, grades, batches, conductivity, unknown })
}

/// An overlay that is not there yet, to see what it would break; the grade is one that the design knows.
pub fn tried(record: &PlotRecord, thickness: Length, grade: &str) -> Option<Overlay> {
    let thermal = record.design().thermal.as_ref()?;
    let conductivity = thermal.conductivity_of(grade).map(|known| known.0);
    Some(Overlay {
        least: thickness,
        greatest: thickness,
        basis: Basis::Trial,
        grades: vec![grade.to_owned()],
        batches: Vec::new(),
        unknown: if conductivity.is_none() { vec![grade.to_owned()] } else { Vec::new() },
        conductivity,
    })
}

/// The stack as built and what follows; `None` where the design says nothing of heat.
pub fn as_built(record: &PlotRecord) -> Option<AsBuilt> {
    Some(as_built_with(record, overlay(record)?))
}

/// The stack with that overlay and what follows from it.
pub fn as_built_with(record: &PlotRecord, overlay: Overlay) -> AsBuilt {
    let design = record.design();
    let (bearing, beams_top, beams_basis) = base(record);
    let rail = rail(record);
    let mut layers: Vec<LayerAsBuilt> = Vec::new();
    // From the bearing upwards: what lies below carries what lies above.
    let (mut drawn, mut built) = (bearing.0, bearing.1);
    for layer in design.layers.iter().rev() {
        drawn += layer.thickness_mm.0;
        let below = built;
        let (thickness, basis) = match layer.role {
            LayerRole::Overlay => ((overlay.least, overlay.greatest), overlay.basis),
            LayerRole::Beam => {
                built = beams_top - layer.thickness_mm.0;
                ((layer.thickness_mm.0, layer.thickness_mm.0), beams_basis)
            }
            // The rail, not the layer, says how thick the topping becomes.
            LayerRole::Topping => {
                let top = rail.map_or(design.topping_level(), |(level, _)| level);
                let left = top - below;
                ((left, left), rail.map_or(Basis::Design, |(_, basis)| basis))
            }
            _ => ((layer.thickness_mm.0, layer.thickness_mm.0), Basis::Design),
        };
        built += thickness.1;
        let (designed_material, built_material) = materials(record, layer, &overlay);
        layers.push(LayerAsBuilt {
            name: layer.name.clone(),
            role: layer.role,
            designed: layer.thickness_mm.0,
            built: thickness,
            basis,
            designed_material,
            built_material,
            designed_top: drawn,
            built_top: built,
            services: services(record, &layer.name),
            carries_gas: carries_gas(record, &layer.name),
        });
    }
    layers.reverse();
    let is_changed = is_changed(record, &overlay);
    let mut found = AsBuilt { layers, bearing, beams_basis, overlay, is_changed, consequences: Vec::new() };
    found.consequences = consequences(record, &found);
    found
}

/// Whether thickness (beyond its tolerance) or grade are other than designed.
fn is_changed(record: &PlotRecord, overlay: &Overlay) -> bool {
    let Some(thermal) = &record.design().thermal else { return false };
    let other_grade = overlay.grades.iter().any(|grade| !thermal.is_designed(grade));
    other_grade || !heat::is_as_thick_as_designed(record, overlay)
}

/// The bearing as designed and as built, the level of the beams' tops, and where that comes from.
fn base(record: &PlotRecord) -> ((Length, Length, Basis), Length, Basis) {
    let design = record.design();
    let above: Length = design.layers.iter().fold(Length::ZERO, |sum, layer| sum + layer.thickness_mm.0);
    let drawn = design.levels.finished_floor_level_m.0 - above;
    let read = lengths(record, Feed::BearingLevels);
    let bearing = match read.iter().max() {
        Some(highest) => (drawn, *highest, Basis::Read(read.len())),
        None => (drawn, drawn, Basis::Design),
    };
    let up_to_beams = design
        .layers
        .iter()
        .rev()
        .take_while(|layer| matches!(layer.role, LayerRole::Bedding | LayerRole::Beam))
        .fold(Length::ZERO, |sum, layer| sum + layer.thickness_mm.0);
    let tops = lengths(record, Feed::BeamTops);
    match tops.iter().max() {
        Some(highest) => (bearing, *highest, Basis::Read(tops.len())),
        None => (bearing, bearing.1 + up_to_beams, bearing.2),
    }
}

fn materials(record: &PlotRecord, layer: &FloorLayer, overlay: &Overlay) -> (Option<String>, Option<String>) {
    if layer.role != LayerRole::Overlay {
        return (layer.material.clone(), None);
    }
    let designed = record.design().thermal.as_ref().map(|thermal| thermal.overlay.grade.clone());
    let labelled =
        overlay.basis == Basis::Trial || record.labels.iter().any(|kept| kept.superseded.is_none());
    (designed, labelled.then(|| overlay.grades.join(", ")))
}

fn services(record: &PlotRecord, layer: &PointName) -> Vec<String> {
    let design = record.design();
    let own = design.services.iter().filter_map(|service| {
        let place = if service.in_layer.as_ref() == Some(layer) {
            "within"
        } else if service.below.as_ref() == Some(layer) {
            "right below"
        } else {
            return None;
        };
        Some(format!("{}, {place}", service.name))
    });
    own.collect()
}

fn carries_gas(record: &PlotRecord, layer: &PointName) -> bool {
    record.design().services.iter().any(|service| {
        service.service == ServiceKind::Gas
            && (service.in_layer.as_ref() == Some(layer) || service.below.as_ref() == Some(layer))
    })
}

/// A single value against its limits, by the reckoning of limits.
fn limited(
    quantity: &str,
    value: Length,
    (least, most): (Option<Length>, Option<Length>),
    decision: Decision,
) -> Verdict {
    let input = limit::Input {
        quantity: quantity.to_owned(),
        readings: vec![limit::Reading {
            point: quantity.to_owned(),
            value_mm: Some(Mm(value)),
            gauge: None,
            gauge_id: None,
        }],
        least_mm: least.map(Mm),
        most_mm: most.map(Mm),
        decision,
    };
    limit::reckon(&input).map_or(Verdict::Undetermined, |output| output.verdict)
}

fn consequences(record: &PlotRecord, found: &AsBuilt) -> Vec<Consequence> {
    [
        threshold(record, found),
        topping(record, found),
        Some(bearing(record, found)),
        heat::consequence(record, found),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Where the finished floor would lie if the topping kept its thickness on what was built.
fn threshold(record: &PlotRecord, found: &AsBuilt) -> Option<Consequence> {
    let design = record.design();
    let at = found.layers.iter().position(|layer| layer.role == LayerRole::Topping)?;
    let below = found.layers[at].built_top - found.layers[at].built.1;
    let above: Length = found.layers[..=at].iter().fold(Length::ZERO, |sum, layer| sum + layer.designed);
    let finished = design.levels.finished_floor_level_m.0;
    let would = below + above;
    let rise = would - finished;
    let own = limit_length(record, LimitName::RailToleranceMinus)
        .and_then(|minus| Ok((minus, limit_length(record, LimitName::RailTolerancePlus)?)));
    let (verdict, source) = match own {
        Ok((minus, plus)) => (
            limited("finished floor above its level", rise, (Some(-minus), Some(plus)), Decision::simple()),
            super::feeds::named(record, LimitName::RailTolerancePlus)
                .map_or_else(|_| String::new(), |own| own.1),
        ),
        Err(what) => (Verdict::Undetermined, what),
    };
    let thickness = found.layers[at].designed.to_mm_text();
    let sentence = if rise == Length::ZERO {
        format!(
            "With {thickness} mm of topping the finished floor comes to its level, {} m",
            finished.m_text(3)
        )
    } else {
        format!(
            "With {thickness} mm of topping rail, finished floor and thresholds would lie at {} m, {} mm off {} m",
            would.m_text(3),
            rise.signed_mm_text(1),
            finished.m_text(3)
        )
    };
    Some(Consequence { about: About::Threshold, verdict, sentence, source })
}

/// The topping that is left if the rail stays where it is or is drawn.
fn topping(record: &PlotRecord, found: &AsBuilt) -> Option<Consequence> {
    let layer = found.layers.iter().find(|layer| layer.role == LayerRole::Topping)?;
    let (left, rail) = (layer.built.0, layer.built_top);
    let rail_words = if rail == record.design().topping_level() { "at its level" } else { "as it stands" };
    let Some(own) = &record.design().topping else {
        return Some(Consequence {
            about: About::Topping,
            verdict: Verdict::Undetermined,
            sentence: format!("With the rail {rail_words} {} mm of topping are left", left.mm_text(1)),
            source: "the floor design gives no tolerance of the topping".to_owned(),
        });
    };
    let least = layer.designed - own.tolerance_minus_mm.0;
    let most = layer.designed + own.tolerance_plus_mm.0;
    let decision = decision_over(record, Feed::BeamTops, &[]);
    // Nothing is read yet where only the drawing speaks: its figures are exact.
    let drawn = matches!(found.beams_basis, Basis::Design) && matches!(layer.basis, Basis::Design);
    let decision = if drawn { Decision::simple() } else { decision };
    Some(Consequence {
        about: About::Topping,
        verdict: limited("topping left", left, (Some(least), Some(most)), decision),
        sentence: format!(
            "With the rail {rail_words}, {} m, {} mm of topping are left: at least {} mm, at most {} mm",
            rail.m_text(3),
            left.mm_text(1),
            least.to_mm_text(),
            most.to_mm_text()
        ),
        source: own.source.clone(),
    })
}

/// Where the walls would have had to be for this overlay, and how far they are off that.
fn bearing(record: &PlotRecord, found: &AsBuilt) -> Consequence {
    let (drawn, built, basis) = found.bearing;
    let more = found.overlay.greatest - record.design().overlay_thickness();
    let needed = drawn - more;
    let off = built - needed;
    let limit = |name| limit_length(record, name);
    let own = limit(LimitName::BearingToleranceMinus)
        .and_then(|minus| Ok((minus, limit(LimitName::BearingTolerancePlus)?)));
    let decision = match basis {
        Basis::Read(_) => decision_over(record, Feed::BearingLevels, &[]),
        _ => Decision::simple(),
    };
    let (verdict, source) = match own {
        Ok((minus, plus)) => (
            limited("bearing above its level", off, (Some(-minus), Some(plus)), decision),
            super::feeds::named(record, LimitName::BearingTolerancePlus)
                .map_or_else(|_| String::new(), |own| own.1),
        ),
        Err(what) => (Verdict::Undetermined, what),
    };
    let walls = match basis {
        Basis::Read(_) => "the highest wall is",
        _ => "the walls are drawn",
    };
    Consequence {
        about: About::Bearing,
        verdict,
        sentence: format!(
            "This overlay needs its bearing at {} m; {walls} at {} m, {} mm off",
            needed.m_text(3),
            built.m_text(3),
            off.signed_mm_text(1)
        ),
        source,
    }
}

/// Area of a polygon in square metres, in binary floats: physics only.
pub(super) fn area_m2(outline: &[Place]) -> f64 {
    let m = |place: &Place| (place[0].0.to_m_f64(), place[1].0.to_m_f64());
    let corners: Vec<(f64, f64)> = outline.iter().map(m).collect();
    let twice: f64 =
        corners.iter().zip(corners.iter().cycle().skip(1)).map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum();
    twice.abs() / 2.0
}
