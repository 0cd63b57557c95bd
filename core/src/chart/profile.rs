//! A line of the finished topping under its straightedge, heights drawn larger than lengths by a stated factor.

use super::{Anchor, Chart, Look, Place, Room};
use crate::reckon::flatness::{Input, JudgedLine};

/// How many times larger heights are drawn than lengths.
const EXAGGERATIONS: [f64; 10] = [1000.0, 500.0, 200.0, 100.0, 50.0, 20.0, 10.0, 5.0, 2.0, 1.0];

/// The profile of a line with the straightedge where its gap is largest; `None` without such a place.
pub fn chart(worst: &JudgedLine, input: &Input, room: Room) -> Option<Chart> {
    let line = input.lines.iter().find(|line| line.line == worst.line)?;
    let mut readings: Vec<(f64, f64)> =
        line.readings.iter().map(|one| (one.along_mm.0.to_mm_f64(), one.level_m.0.to_mm_f64())).collect();
    readings.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (first, last) = (*readings.first()?, *readings.last()?);
    let long = last.0 - first.0;
    if long <= 0.0 {
        return None;
    }
    let [from, to] = worst.straightedge_mm?.map(|one| one.0.to_mm_f64());
    let [a, b] = worst.contacts_mm?.map(|one| one.0.to_mm_f64());
    let (at, gap) = (worst.at_mm?.0.to_mm_f64(), worst.largest_gap_mm?.0);
    let level = |along: f64| level_at(&readings, along);
    // The straightedge runs through what it rests on, from end to end.
    let rise = if b > a { (level(b) - level(a)) / (b - a) } else { 0.0 };
    let edge = |along: f64| level(a) + rise * (along - a);

    let [width, height] = room.size;
    let text = room.text;
    let (left, right) = (text * 0.8, width - text * 0.8);
    let (top, foot) = (text * 2.2, text * 2.4);
    let per_mm = (right - left) / long;
    let heights = readings.iter().map(|one| one.1).chain([edge(from), edge(to)]);
    let least = heights.clone().fold(f64::INFINITY, f64::min);
    let greatest = heights.fold(f64::NEG_INFINITY, f64::max);
    let free = (height - top - foot).max(text);
    let times = EXAGGERATIONS
        .into_iter()
        .find(|times| (greatest - least) * per_mm * times <= free)
        .unwrap_or(EXAGGERATIONS[EXAGGERATIONS.len() - 1]);
    let drawn = (greatest - least) * per_mm * times;
    let base = top + f64::midpoint(free, drawn);
    let x = |along: f64| left + (along - first.0) * per_mm;
    let place = |along: f64, level: f64| -> Place { [x(along), base - (level - least) * per_mm * times] };

    let m = |mm: f64| format!("{:.2} m", mm / 1e3);
    let mut chart = Chart {
        name: format!(
            "profile of {}: largest gap {} mm at {}, straightedge from {} to {}",
            worst.line,
            gap.mm_text(1),
            m(at),
            m(from),
            m(to)
        ),
        ..Chart::default()
    };
    let curve: Vec<Place> = readings.iter().map(|(along, level)| place(*along, *level)).collect();
    chart.line(Look::Curve, &curve);
    chart.spots = curve;
    let under = base + text * 0.6;
    chart.line(Look::Axis, &[[left, under], [right, under]]);
    chart.line(Look::Heavy, &[place(from, edge(from)), place(to, edge(to))]);
    let (above, below) = (place(at, edge(at)), place(at, level(at)));
    chart.line(Look::Limit, &[above, below]);
    let words = format!("gap {} mm, at most {} mm", gap.mm_text(1), input.class.gap_mm.0.to_mm_text());
    let middle = above[0].clamp(left + text * 6.0, (right - text * 6.0).max(left + text * 6.0));
    chart.word([middle, text * 0.8], Anchor::Middle, words, true);
    let beneath = under + text * 0.9;
    chart.word([left, beneath], Anchor::Start, format!("{}, 0", worst.line), false);
    chart.word([right, beneath], Anchor::End, m(long), false);
    let said = format!("heights drawn ×{times:.0}");
    chart.word([f64::midpoint(left, right), beneath], Anchor::Middle, said, false);
    Some(chart)
}

/// The level between readings; that of the nearest beyond them.
fn level_at(readings: &[(f64, f64)], along: f64) -> f64 {
    for pair in readings.windows(2) {
        let [(from, low), (to, high)] = [pair[0], pair[1]];
        if along <= to && to > from {
            return low + (high - low) * (along - from).max(0.0) / (to - from);
        }
    }
    readings.last().map_or(0.0, |one| one.1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Length, Metres, Mm};
    use crate::reckon::flatness::{self, Class, Kind, Line, Reading};

    const ROOM: Room = Room { size: [600.0, 160.0], text: 14.0 };

    fn judged(levels: &[(i64, i64)], kind: Kind) -> (JudgedLine, Input) {
        let readings = levels.iter().map(|(along, um)| Reading {
            along_mm: Mm(Length::from_mm(*along)),
            level_m: Metres(Length::from_um(*um)),
        });
        let input = Input {
            lines: vec![Line { line: "row 1".to_owned(), readings: readings.collect() }],
            straightedge_mm: Mm(Length::from_mm(2_000)),
            class: Class { name: "SR2".to_owned(), kind, gap_mm: Mm(Length::from_mm(5)) },
            out_of_level: None,
            target_m: None,
            level_tolerance_mm: None,
        };
        (flatness::reckon(&input).unwrap().lines.remove(0), input)
    }

    #[test]
    fn the_straightedge_touches_the_profile_at_its_contacts_and_spans_the_gap() {
        let levels = [(0, 0), (1_000, -4_000), (2_000, 1_000), (3_000, 1_000), (4_000, 0)];
        let (worst, input) = judged(&levels, Kind::Gap);
        let chart = chart(&worst, &input, ROOM).unwrap();
        let line = |look: Look| chart.lines.iter().find(|line| line.look == look).unwrap();
        let (edge, gap, curve) = (line(Look::Heavy), line(Look::Limit), line(Look::Curve));
        // It rests on 0 and 2000, both readings, and lies over the reading at 1000: 0.5 + 4 = 4.5 mm.
        assert_eq!(worst.largest_gap_mm, Some(Mm(Length::from_um(4_500))));
        let close = |a: Place, b: Place| (a[0] - b[0]).abs() < 1e-9 && (a[1] - b[1]).abs() < 1e-9;
        assert!(close(edge.places[0], curve.places[0]) && close(edge.places[1], curve.places[2]));
        assert!(close(gap.places[1], curve.places[1]));
        // Drawn at the scale that is stated.
        let times: f64 = chart
            .words
            .iter()
            .find_map(|word| word.text.strip_prefix("heights drawn ×")?.parse().ok())
            .unwrap();
        let per_mm = (curve.places[4][0] - curve.places[0][0]) / 4_000.0;
        assert!((gap.places[1][1] - gap.places[0][1] - 4.5 * per_mm * times).abs() < 1e-9);
        assert!(chart.words.iter().any(|word| word.text == "gap 4.5 mm, at most 5 mm"));
    }

    #[test]
    fn everything_lies_within_the_room_whatever_was_read() {
        for (levels, kind) in [
            (vec![(0, 0), (500, 0), (1_000, 0)], Kind::Gap),
            (vec![(0, 0), (1_000, 90_000), (2_500, -90_000), (9_000, 0)], Kind::EqualOffsets),
            (vec![(0, 48_150_000), (1_000, 48_151_000), (2_000, 48_149_000)], Kind::Gap),
        ] {
            let (worst, input) = judged(&levels, kind);
            let chart = chart(&worst, &input, ROOM).unwrap();
            for at in chart.lines.iter().flat_map(|line| &line.places) {
                assert!(
                    (0.0..=600.0).contains(&at[0]) && (0.0..=160.0).contains(&at[1]),
                    "{levels:?} {at:?}"
                );
            }
        }
    }
}
