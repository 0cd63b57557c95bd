//! A drawing behind the plan: whether it may be placed as asked, and where its picture then lies.
//!
//! A placing decides nothing about the floor: it is for the eye. The last placing on a plot governs.

use serde::Deserialize;

use super::command::FileName;
use super::decide::{Refusal, allow, check_text};
use super::fold::{Noted, PlotRecord};
use crate::entry::{AttachedFile, UnderlayPlaced};
use crate::ids::PlotId;
use crate::plan_of_work::Role;
use crate::quantity::{Length, Mm};

/// A hundredth and a whole width of the page, in millionths of it.
const HUNDREDTH: i64 = 10_000;
const WIDTH: i64 = 1_000_000;
/// How many times taller than wide a page may be.
const TALLEST: i64 = 20;
/// The most pages of a drawing, so that a page number can be one.
const MOST_PAGES: u32 = 10_000;
/// The longest revision, in characters.
const LONGEST_REVISION: usize = 100;
/// The least distance on the plan between the two places.
const NEAREST: Length = Length::from_mm(100);
/// What a drawing may be.
const MEDIA_TYPES: [&str; 3] = ["application/pdf", "image/jpeg", "image/png"];

/// `place-underlay`: as people write it.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlaceUnderlay {
    /// The plot.
    pub plot: PlotId,
    /// The drawing: a PDF, a JPEG or a PNG.
    pub file: FileName,
    /// The page of it, from 1; may be left out for the first.
    #[serde(default)]
    pub page: Option<u32>,
    /// The revision that the drawing itself states.
    pub revision: String,
    /// Two places on the page, in millionths of its width from its upper left corner, y downwards.
    pub picture_ppm: [[i64; 2]; 2],
    /// The same two places on the plan.
    pub plan_mm: [[Mm; 2]; 2],
}

impl PlaceUnderlay {
    /// The placing of a drawing that is in the store.
    pub fn placed(self, document: AttachedFile) -> UnderlayPlaced {
        UnderlayPlaced {
            document,
            page: self.page.unwrap_or(1),
            revision: self.revision,
            picture_ppm: self.picture_ppm,
            plan_um: self.plan_mm.map(|at| at.map(|one| one.0)),
        }
    }
}

/// Checks a placing.
///
/// # Errors
/// The refusal that people read.
pub(super) fn check(role: Role, placed: &UnderlayPlaced) -> Result<(), Refusal> {
    let may = [Role::Supervisor, Role::QualityManager, Role::Designer, Role::Engineer];
    allow(role, &may, "place a drawing behind the plan")?;
    check_text("the drawing's revision", &placed.revision)?;
    let refuse = |what: String| Err(Refusal::Text(what));
    if placed.revision.chars().count() > LONGEST_REVISION || placed.revision.contains('\n') {
        return refuse(format!(
            "the drawing's revision must be one line of at most {LONGEST_REVISION} characters"
        ));
    }
    if !MEDIA_TYPES.contains(&placed.document.media_type.as_str()) {
        return refuse("a drawing behind the plan is a PDF, a JPEG or a PNG".to_owned());
    }
    let pages = if placed.document.media_type == MEDIA_TYPES[0] { MOST_PAGES } else { 1 };
    if !(1..=pages).contains(&placed.page) {
        return refuse(format!(
            "page {} cannot be: pages of this drawing count from 1 to {pages}",
            placed.page
        ));
    }
    for (number, [x, y]) in (1..).zip(placed.picture_ppm) {
        if !(0..=WIDTH).contains(&x) || !(0..=TALLEST * WIDTH).contains(&y) {
            return refuse(format!("place {number} lies outside the drawing"));
        }
    }
    let [[x0, y0], [x1, y1]] = placed.picture_ppm.map(|at| at.map(i128::from));
    let square = (x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0);
    if square < i128::from(HUNDREDTH * HUNDREDTH) {
        return refuse(
            "the two places must lie at least a hundredth of the drawing's width apart".to_owned(),
        );
    }
    let [[x0, y0], [x1, y1]] = placed.plan_um.map(|at| at.map(|one| i128::from(one.um())));
    let square = (x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0);
    if square < i128::from(NEAREST.um()) * i128::from(NEAREST.um()) {
        return refuse(format!(
            "the two places must lie at least {} mm apart on the plan",
            NEAREST.to_mm_text()
        ));
    }
    Ok(())
}

/// The drawing that lies behind a plot's plan.
pub fn of(record: &PlotRecord) -> Option<&(UnderlayPlaced, Noted)> {
    record.underlays.last()
}

/// Whether the drawing states another revision than the floor design in force: then it is only a help to the eye, and
/// the screen says so.
pub fn is_of_another_revision(record: &PlotRecord, placed: &UnderlayPlaced) -> bool {
    placed.revision.trim() != record.design().revision.trim()
}

/// The place at a known distance from another, in the direction of a third; `None` where that is the place itself.
pub fn at_distance(from: [Length; 2], towards: [Length; 2], distance: Length) -> Option<[Length; 2]> {
    let by = [0, 1].map(|axis| (towards[axis] - from[axis]).um());
    let square = by.iter().map(|one| i128::from(*one) * i128::from(*one)).sum::<i128>();
    let length = i64::try_from(square.isqrt()).ok().filter(|length| *length > 0)?;
    Some([0, 1].map(|axis| from[axis] + Length::from_um(by[axis]).share(distance.um(), length)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_known_distance_settles_how_far_the_second_place_is() {
        let mm = |x: i64, y: i64| [Length::from_mm(x), Length::from_mm(y)];
        // The 3-4-5 triangle.
        let from = mm(1_000, 2_000);
        assert_eq!(at_distance(from, mm(1_300, 2_400), Length::from_mm(5_000)), Some(mm(4_000, 6_000)));
        assert_eq!(at_distance(from, mm(1_000, 1_999), Length::from_mm(10)), Some(mm(1_000, 1_990)));
        assert_eq!(at_distance(from, from, Length::from_mm(10)), None);
    }
}
