//! Camber: how far a beam rises at midspan, and what its curve takes from the topping.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{BeamTop, Length, Mm, Volume, Working, half, m, of_many, term};
use crate::quantity::Area;
use crate::working::{ARITHMETIC, COMMON_PRACTICE, real};

/// A midspan lies no further from the middle of the ends than one part in this many of the span.
const OFF_MIDDLE: i128 = 10;

/// A beam with levels at both ends and at midspan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Beam {
    /// Its name; null where beams are not named.
    pub beam: Option<String>,
    /// The points at its ends.
    pub ends: [String; 2],
    /// The point at midspan.
    pub midspan: String,
    /// Midspan less the mean of the ends, to the micrometre; up is positive.
    pub camber_mm: Mm,
}

/// A beam and its points in their order along it.
pub(super) struct Found {
    pub beam: Beam,
    /// Twice the camber, which the micrometre holds exactly.
    twice: Length,
    along: Vec<usize>,
}

/// All beams in the order of the sheet.
pub(super) fn beams(tops: &[BeamTop], working: &mut Working) -> Vec<Found> {
    let groups = if tops.iter().any(|top| top.beam.is_some()) { by_name(tops) } else { by_sheet(tops) };
    groups.into_iter().filter_map(|group| found(tops, group, working)).collect()
}

fn by_name(tops: &[BeamTop]) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    let mut places = std::collections::HashMap::new();
    for (index, top) in tops.iter().enumerate() {
        if let Some(beam) = &top.beam {
            let place = *places.entry(beam).or_insert_with(|| {
                groups.push(Vec::new());
                groups.len() - 1
            });
            groups[place].push(index);
        }
    }
    groups
}

/// Three in a row of the sheet that stand in one line, one of them in the middle of the others.
fn by_sheet(tops: &[BeamTop]) -> Vec<Vec<usize>> {
    let mut groups = Vec::new();
    let mut index = 0;
    while index + 2 < tops.len() {
        let three = vec![index, index + 1, index + 2];
        if in_one_line(tops, &three) && middle_of(tops, &sorted_along(tops, &three)).is_some() {
            groups.push(three);
            index += 3;
        } else {
            index += 1;
        }
    }
    groups
}

fn place(top: &BeamTop) -> (i128, i128) {
    (i128::from(top.x_mm.0.um()), i128::from(top.y_mm.0.um()))
}

fn in_one_line(tops: &[BeamTop], three: &[usize]) -> bool {
    let [(ax, ay), (bx, by), (cx, cy)] = [three[0], three[1], three[2]].map(|index| place(&tops[index]));
    (bx - ax) * (cy - ay) == (by - ay) * (cx - ax)
}

fn squared(a: &BeamTop, b: &BeamTop) -> i128 {
    let ((ax, ay), (bx, by)) = (place(a), place(b));
    (bx - ax) * (bx - ax) + (by - ay) * (by - ay)
}

/// The points in their order from one end to the other; the ends are the two that lie furthest apart.
fn sorted_along(tops: &[BeamTop], group: &[usize]) -> Vec<usize> {
    let furthest = |from: usize| group.iter().copied().max_by_key(|to| squared(&tops[from], &tops[*to]));
    // For points near one line the furthest from any of them is an end.
    let Some(end) = group.first().and_then(|first| furthest(*first)) else {
        return Vec::new();
    };
    let mut along = group.to_vec();
    along.sort_by_key(|index| squared(&tops[end], &tops[*index]));
    // From the end that stands first in the sheet.
    if along.last() < along.first() {
        along.reverse();
    }
    along
}

/// Which of the points between the ends is nearest to their middle, and near enough.
fn middle_of(tops: &[BeamTop], along: &[usize]) -> Option<usize> {
    let [first, between @ .., last] = along else {
        return None;
    };
    let ((ax, ay), (bx, by)) = (place(&tops[*first]), place(&tops[*last]));
    // Twice the distance from the middle, squared, so that nothing is halved.
    let off = |index: usize| {
        let (x, y) = place(&tops[index]);
        let (dx, dy) = (2 * x - ax - bx, 2 * y - ay - by);
        dx * dx + dy * dy
    };
    let middle = between.iter().copied().min_by_key(|index| off(*index))?;
    let span = squared(&tops[*first], &tops[*last]);
    (off(middle) * OFF_MIDDLE * OFF_MIDDLE <= 4 * span).then_some(middle)
}

fn found(tops: &[BeamTop], group: Vec<usize>, working: &mut Working) -> Option<Found> {
    let along = sorted_along(tops, &group);
    let middle = middle_of(tops, &along)?;
    let (first, last, middle) = (&tops[along[0]], &tops[along[along.len() - 1]], &tops[middle]);
    let camber: Length = middle.level_m.0 - half(first.level_m.0 + last.level_m.0);
    working.mm(
        format!("camber from {} over {} to {}", first.point, middle.point, last.point),
        format!(
            "{} * 1000 - round(({} + {}) * 1000000 / 2) / 1000",
            m(middle.level_m.0),
            m(first.level_m.0),
            m(last.level_m.0)
        ),
        camber,
        ARITHMETIC,
    );
    Some(Found {
        beam: Beam {
            beam: first.beam.clone(),
            ends: [first.point.clone(), last.point.clone()],
            midspan: middle.point.clone(),
            camber_mm: Mm(camber),
        },
        twice: middle.level_m.0 * 2 - first.level_m.0 - last.level_m.0,
        along,
    })
}

/// What is left of a volume under straight lines when each beam is a parabola through ends and midspan: over a part
/// h of the span the parabola lies ⅔·camber·h³ of the span higher on average, a sixth of the camber when only the
/// midspan was read. Beams count by their length.
pub(super) fn under_parabolas(
    volume: Volume,
    area: Area,
    beams: &[Found],
    tops: &[BeamTop],
    working: &mut Working,
) -> Volume {
    let length = |a: usize, b: usize| {
        let (dx, dy) = (tops[b].x_mm.0 - tops[a].x_mm.0, tops[b].y_mm.0 - tops[a].y_mm.0);
        let (dx, dy) = (dx.to_mm_f64(), dy.to_mm_f64());
        (dx * dx + dy * dy).sqrt()
    };
    let mut rises = Vec::new();
    let mut lengths = Vec::new();
    let (mut rise, mut run) = (0.0, 0.0);
    for found in beams {
        let span = length(found.along[0], found.along[found.along.len() - 1]);
        let parts: Vec<f64> = found.along.windows(2).map(|pair| length(pair[0], pair[1]) / span).collect();
        let camber = found.twice.to_mm_f64() / 2.0;
        let cubes: f64 = parts.iter().map(|part| part * part * part).sum();
        rise += 2.0 / 3.0 * camber * cubes * span;
        run += span;
        let cubes: Vec<String> = parts.iter().map(|part| format!("{} ** 3", real(*part))).collect();
        rises.push(format!("2 / 3 * {} * {} * {}", real(camber), bracketed(&cubes), real(span)));
        lengths.push(real(span));
    }
    if run <= 0.0 {
        return volume;
    }
    let height = rise / run;
    working.float(
        "mean height of the beams' parabolas above the straight lines between their points, beams by their length",
        format!("{} / {}", bracketed(&rises), bracketed(&lengths)),
        height,
        "mm",
        COMMON_PRACTICE,
    );
    let taken = Volume::nearest_mm3(area_mm2(area) * height);
    let left = volume - taken;
    working.m3(
        "volume left above the parabolas",
        format!("{} - {} * {} / 1000", term(&volume.to_m3_text()), area.to_m2_text(), real(height)),
        left,
        COMMON_PRACTICE,
    );
    left
}

fn bracketed(terms: &[String]) -> String {
    if let [one] = terms { format!("({one})") } else { of_many("sum", terms) }
}

#[expect(
    clippy::cast_precision_loss,
    reason = "an area on plan is far below 2^53 square micrometres times a thousand"
)]
fn area_mm2(area: Area) -> f64 {
    area.um2() as f64 / 1e6
}
