//! What would put a bearing wall right, in the trade's terms and always for the whole wall: a high course is taken
//! down and laid again, a low wall gets a levelling bed within what the project allows, anything else goes to the
//! designer. Never packing under single beams.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Bed, Input, JudgedPoint, Neighbours};
use crate::conformity::{Limits, Verdict};
use crate::quantity::{Length, Mm};

/// A remedy for one wall.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Remedy {
    /// The wall.
    pub wall: String,
    /// Its points that do not conform.
    pub points: Vec<String>,
    /// What is to be done.
    pub kind: RemedyKind,
    /// Level to build to, above the target positive; null when the designer decides.
    pub to_deviation_mm: Option<Mm>,
    /// The same in words.
    pub text: String,
}

/// The kinds of remedy.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum RemedyKind {
    RelayCourse,
    LevellingBed,
    Designer,
}

/// Remedies of the walls that do not conform, in the order in which the walls appear.
pub(super) fn of_walls(
    input: &Input,
    points: &[JudgedPoint],
    neighbours: &[Neighbours],
    accepted: &Limits,
) -> Vec<Remedy> {
    super::walls(&input.points)
        .into_iter()
        .filter_map(|wall| {
            let name = wall.first()?.wall.as_str();
            let of_wall: Vec<&JudgedPoint> = points.iter().filter(|point| point.wall == name).collect();
            let step =
                neighbours.iter().any(|pair| pair.wall == name && pair.verdict == Verdict::Nonconforming);
            remedy(name, &of_wall, step, input.bed_mm, accepted)
        })
        .collect()
}

fn remedy(
    wall: &str,
    points: &[&JudgedPoint],
    step: bool,
    bed: Option<Bed>,
    accepted: &Limits,
) -> Option<Remedy> {
    let wrong: Vec<&&JudgedPoint> =
        points.iter().filter(|point| point.verdict == Verdict::Nonconforming).collect();
    if wrong.is_empty() && !step {
        return None;
    }
    let names: Vec<String> = wrong.iter().map(|point| point.point.clone()).collect();
    let listed = names.join(", ");
    let high = wrong.iter().any(|point| point.deviation_mm.0 > Length::ZERO);
    let (kind, to, text) = if high {
        (
            RemedyKind::RelayCourse,
            Some(Mm(Length::ZERO)),
            format!("wall {wall} is out at {listed}: take down and re-lay the course to the bearing level"),
        )
    } else if let Some(top) = bed.filter(|_| !wrong.is_empty()).and_then(|bed| bed_top(points, bed, accepted))
    {
        (
            RemedyKind::LevellingBed,
            Some(Mm(top)),
            format!(
                "wall {wall} is low at {listed}: a levelling bed on the whole wall up to {} mm from the bearing level",
                top.signed_mm_text(1)
            ),
        )
    } else if wrong.is_empty() {
        (RemedyKind::Designer, None, format!("wall {wall} steps between neighbours: ask the designer"))
    } else {
        (RemedyKind::Designer, None, format!("wall {wall} is low at {listed}: ask the designer"))
    };
    Some(Remedy { wall: wall.to_owned(), points: names, kind, to_deviation_mm: to, text })
}

/// The top of a bed that lies on the whole wall within its allowed thickness everywhere and within the limits of
/// acceptance, as near the target as can be.
fn bed_top(points: &[&JudgedPoint], bed: Bed, accepted: &Limits) -> Option<Length> {
    let highest = points.iter().map(|point| point.deviation_mm.0).max()?;
    let lowest = points.iter().map(|point| point.deviation_mm.0).min()?;
    let from = (highest + bed.least.0).max(accepted.least?);
    let to = (lowest + bed.most.0).min(accepted.most?);
    if to < from { None } else { Some(Length::ZERO.max(from).min(to)) }
}
