//! A straightedge on a profile: every place where it starts or ends on a reading, in whole numbers.
//!
//! Levels run straight from reading to reading. A window has at most one end between readings; its level there is a
//! fraction, so levels of a window are multiplied by that fraction's denominator and nothing is rounded before the
//! gap itself is.

use super::{Kind, Length, Reading, m, mm};

/// One point of the profile under the straightedge.
#[derive(Debug, Clone, Copy)]
pub(super) struct Vertex {
    pub along: Length,
    /// Its level in micrometres, times the window's denominator.
    scaled: i128,
    /// The reading there, or the two that it lies between.
    between: (Reading, Reading),
}

impl Vertex {
    /// Its level in metres, as arithmetic.
    fn level(&self) -> String {
        let (a, b) = self.between;
        if a == b {
            return m(a.level_m.0);
        }
        format!(
            "({low} + ({} - {low}) * ({} - {start}) / ({} - {start}))",
            m(b.level_m.0),
            mm(self.along),
            mm(b.along_mm.0),
            low = m(a.level_m.0),
            start = mm(a.along_mm.0)
        )
    }
}

/// The worst place of the straightedge on a line.
#[derive(Debug, Clone, Copy)]
pub(super) struct Worst {
    pub gap: Length,
    pub at: Vertex,
    pub contacts: (Vertex, Vertex),
    pub window: (Length, Length),
}

impl Worst {
    /// The gap as arithmetic in metres and millimetres, to the micrometre.
    pub fn formula(&self, kind: Kind) -> String {
        let (a, b, at) = (&self.contacts.0, &self.contacts.1, &self.at);
        let [from, to, here] = [a.along, b.along, at.along].map(mm);
        let rests = if a.along == b.along {
            a.level()
        } else {
            format!("({} * ({to} - {here}) + {} * ({here} - {from})) / ({to} - {from})", a.level(), b.level())
        };
        let gap = format!("({rests} - {})", at.level());
        let gap = if kind == Kind::EqualOffsets { format!("abs{gap}") } else { gap };
        format!("round({gap} * 1000000) / 1000")
    }
}

/// The worst place; the first one of equals. `None` without readings.
pub(super) fn worst(readings: &[Reading], length: Length, kind: Kind) -> Option<Worst> {
    let mut worst: Option<Worst> = None;
    for window in windows(readings, length) {
        let found = match kind {
            Kind::Gap => under_the_hull(&window),
            Kind::EqualOffsets => about_the_chord(&window),
        };
        if let Some(found) = found
            && worst.as_ref().is_none_or(|worst| worst.gap < found.gap)
        {
            worst = Some(found);
        }
    }
    worst
}

/// The profile under one place of the straightedge.
struct Window {
    vertices: Vec<Vertex>,
    denominator: i128,
}

/// Every window that lies wholly inside the line and starts or ends on a reading, from the start of the line on; the
/// whole line when it is shorter. Sorted by along.
fn windows(readings: &[Reading], length: Length) -> Vec<Window> {
    let (Some(first), Some(last)) = (readings.first(), readings.last()) else {
        return Vec::new();
    };
    let (first, last) = (first.along_mm.0, last.along_mm.0);
    if last - first < length {
        return vec![window(readings, first, last)];
    }
    let mut starts: Vec<Length> = readings
        .iter()
        .flat_map(|reading| [reading.along_mm.0, reading.along_mm.0 - length])
        .filter(|start| first <= *start && *start + length <= last)
        .collect();
    starts.sort_unstable();
    starts.dedup();
    starts.into_iter().map(|start| window(readings, start, start + length)).collect()
}

fn window(readings: &[Reading], start: Length, end: Length) -> Window {
    let from = readings.partition_point(|reading| reading.along_mm.0 < start);
    let to = readings.partition_point(|reading| reading.along_mm.0 <= end);
    // At most one of the two ends lies between readings.
    let before =
        (from > 0 && readings[from].along_mm.0 != start).then(|| (&readings[from - 1], &readings[from]));
    let after = (to < readings.len() && readings[to - 1].along_mm.0 != end)
        .then(|| (&readings[to - 1], &readings[to]));
    let denominator = before.or(after).map_or(1, |(a, b)| i128::from((b.along_mm.0 - a.along_mm.0).um()));
    let inside = readings[from..to].iter().map(|reading| Vertex {
        along: reading.along_mm.0,
        scaled: i128::from(reading.level_m.0.um()) * denominator,
        between: (*reading, *reading),
    });
    let vertices = before
        .map(|pair| between(pair, start))
        .into_iter()
        .chain(inside)
        .chain(after.map(|pair| between(pair, end)))
        .collect();
    Window { vertices, denominator }
}

/// A point on the straight line between two readings, its level times their distance.
fn between((a, b): (&Reading, &Reading), along: Length) -> Vertex {
    let (from, to) = (a.along_mm.0, b.along_mm.0);
    let (low, rise) = (um(a.level_m.0), um(b.level_m.0 - a.level_m.0));
    Vertex { along, scaled: low * um(to - from) + rise * um(along - from), between: (*a, *b) }
}

fn um(length: Length) -> i128 {
    i128::from(length.um())
}

/// How far `at` lies below the line from `a` to `b`, times denominator and distance.
fn below(a: &Vertex, b: &Vertex, at: &Vertex) -> i128 {
    let whole = um(b.along - a.along);
    a.scaled * um(b.along - at.along) + b.scaled * um(at.along - a.along) - at.scaled * whole
}

/// A quotient to the nearest micrometre, halves up; neither is negative.
fn rounded(numerator: i128, denominator: i128) -> Length {
    let denominator = denominator.max(1);
    let whole = numerator / denominator;
    let up = numerator % denominator >= denominator - numerator % denominator;
    Length::from_um(i64::try_from(whole + i128::from(up)).unwrap_or(i64::MAX))
}

/// The straightedge rests on the upper hull of the profile; the largest gap lies under a reading.
fn under_the_hull(window: &Window) -> Option<Worst> {
    let vertices = &window.vertices;
    let mut hull: Vec<usize> = Vec::new();
    for index in 0..vertices.len() {
        while let [.., a, b] = hull[..]
            && below(&vertices[a], &vertices[index], &vertices[b]) >= 0
        {
            hull.pop();
        }
        hull.push(index);
    }
    let mut worst: Option<Worst> = None;
    for pair in hull.windows(2) {
        let (a, b) = (&vertices[pair[0]], &vertices[pair[1]]);
        let distance = um(b.along - a.along) * window.denominator;
        for at in &vertices[pair[0]..pair[1]] {
            keep_larger(&mut worst, window, rounded(below(a, b, at), distance), at, (a, b));
        }
    }
    worst
}

/// On blocks of equal height at its ends the straightedge runs along the line between them.
fn about_the_chord(window: &Window) -> Option<Worst> {
    let (first, last) = (window.vertices.first()?, window.vertices.last()?);
    let distance = um(last.along - first.along) * window.denominator;
    let mut worst = None;
    for at in &window.vertices {
        keep_larger(&mut worst, window, rounded(below(first, last, at).abs(), distance), at, (first, last));
    }
    worst
}

fn keep_larger(
    worst: &mut Option<Worst>,
    window: &Window,
    gap: Length,
    at: &Vertex,
    contacts: (&Vertex, &Vertex),
) {
    if worst.as_ref().is_some_and(|worst| gap <= worst.gap) {
        return;
    }
    let ends = (&window.vertices[0], &window.vertices[window.vertices.len() - 1]);
    *worst = Some(Worst {
        gap,
        at: *at,
        contacts: (*contacts.0, *contacts.1),
        window: (ends.0.along, ends.1.along),
    });
}
