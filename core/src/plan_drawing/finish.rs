//! The finished topping on the plan: contours of its depth or level, and where a straightedge shows the largest gap.
//! Taken over from what was read and reckoned.

use super::contours::{self, Contours, Surface};
use super::geometry::{mm, place};
use super::{Standing, Straightedge};
use crate::floor::FloorDesign;
use crate::inspection::finish_feeds::worst_gap;
use crate::inspection::judge::CriterionStanding;
use crate::plan_of_work::Feed;
use crate::quantity::{Length, Mm};
use crate::reckon::surface;

/// Fewer readings than this make no surface.
const LEAST_READINGS: usize = 3;

/// Whether it is about depths or levels of the finished topping.
pub(super) fn is_of_finish(criterion: &CriterionStanding) -> bool {
    matches!(criterion.feed(), Some(Feed::ToppingDepths | Feed::FinishLevels))
}

/// Contours over every area that has readings enough.
pub(super) fn contours(design: &FloorDesign, criterion: &CriterionStanding) -> Option<Contours> {
    if !is_of_finish(criterion) {
        return None;
    }
    let of_levels = criterion.feed() == Some(Feed::FinishLevels);
    let from = if of_levels { design.finished_topping_level()? } else { Length::ZERO };
    let grid = design.finish_grid();
    let mut surfaces = Vec::new();
    let (mut least, mut greatest) = (i64::MAX, i64::MIN);
    for (number, area) in design.finish_areas().iter().enumerate() {
        let own = grid.iter().filter(|point| point.area == number);
        let samples: Vec<_> = own
            .filter_map(|point| {
                let value =
                    crate::inspection::feeds::length_of(criterion.reading_at(&point.name)?.value)? - from;
                Some(([Mm(point.x), Mm(point.y)], value))
            })
            .collect();
        if samples.len() < LEAST_READINGS {
            continue;
        }
        for (_, value) in &samples {
            (least, greatest) = (least.min(value.um()), greatest.max(value.um()));
        }
        let (nodes, triangles) = surface::mesh(area.outline, &samples);
        surfaces.push(Surface { nodes, triangles, outline: area.outline.iter().map(place).collect() });
    }
    if surfaces.is_empty() {
        return None;
    }
    let step = contours::step(least, greatest);
    let what = if of_levels { format!("level less {} m", from.m_text(3)) } else { "depth".to_owned() };
    let lines = contours::contours(&surfaces, step);
    Some(Contours { what, signed: of_levels, step: Length::from_um(step), lines })
}

/// The worst place of the straightedge.
pub(super) fn straightedge(design: &FloorDesign, criterion: &CriterionStanding) -> Option<Straightedge> {
    let (worst, _) = worst_gap(criterion)?;
    let lines = design.finish_lines();
    let line = lines.iter().find(|line| line.name == worst.line)?;
    let at = |along: Mm| line.place(along.0).map(|(x, y)| [mm(x), mm(y)]);
    let [from, to] = worst.straightedge_mm?;
    Some(Straightedge {
        ends: [at(from)?, at(to)?],
        at: at(worst.at_mm?)?,
        gap: worst.largest_gap_mm?.0,
        standing: Standing::Verdict(worst.verdict),
    })
}
