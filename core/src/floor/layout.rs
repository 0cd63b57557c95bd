//! Every beam and infill of the bay runs in plan, exactly: rectangles along the run and across it.

use super::beams::{BayRun, Beams, InRun, LineLoad};
use super::{FloorDesign, Place};
use crate::ids::PointName;
use crate::quantity::{Length, Mm};

/// One beam or infill where it is drawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Laid {
    /// What it is.
    pub kind: InRun,
    /// For a beam its name (`R1/3`).
    pub beam: Option<PointName>,
    /// Its side nearer the start of the run, from the start face.
    pub from: Length,
    /// Its other side.
    pub to: Length,
    /// Whether it lies right beside another beam.
    pub doubled: bool,
    /// Its corners in plan: a beam with its bearings, an infill between the bearing faces.
    pub corners_mm: [Place; 4],
}

/// One run laid out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LaidRun {
    /// The run.
    pub run: PointName,
    /// Its beams and infill from the start.
    pub laid: Vec<Laid>,
}

impl FloorDesign {
    /// Every bay run laid out as drawn; empty where the design draws no beams.
    pub fn laid_runs(&self) -> Vec<LaidRun> {
        let Some(beams) = &self.beams else { return Vec::new() };
        beams
            .runs
            .iter()
            .map(|run| LaidRun { run: run.name.clone(), laid: lay(beams, run, run.left_over(beams)) })
            .collect()
    }

    /// The names of all beams, run by run from its start.
    pub fn beam_names(&self) -> Vec<PointName> {
        let runs = self.beams.iter().flat_map(|beams| &beams.runs);
        runs.flat_map(|run| (1..=run.beam_count()).filter_map(|number| run.beam_name(number))).collect()
    }
}

/// Lays a run out with a make-up of that width.
pub fn lay(beams: &Beams, run: &BayRun, make_up: Length) -> Vec<Laid> {
    let length = beams.beam_type(&run.beam).map_or(run.clear_span_mm.0, |own| own.length_mm.0);
    // Both ends bear alike.
    let bearing = (length - run.clear_span_mm.0).share(1, 2);
    let mut laid = Vec::with_capacity(run.sequence.len());
    let mut at = run.edge_start_mm.0;
    let mut number = 0;
    for (index, kind) in run.sequence.iter().enumerate() {
        let width = beams.width_of(*kind, make_up);
        let is_beam = *kind == InRun::Beam;
        let beside = |other: Option<usize>| {
            other.and_then(|other| run.sequence.get(other)).is_some_and(|other| *other == InRun::Beam)
        };
        number += usize::from(is_beam);
        let (low, high) = if is_beam {
            (-bearing, run.clear_span_mm.0 + bearing)
        } else {
            (Length::ZERO, run.clear_span_mm.0)
        };
        laid.push(Laid {
            kind: *kind,
            beam: is_beam.then(|| run.beam_name(number)).flatten(),
            from: at,
            to: at + width,
            doubled: is_beam && (beside(index.checked_sub(1)) || beside(Some(index + 1))),
            corners_mm: [
                place(run, at, low),
                place(run, at + width, low),
                place(run, at + width, high),
                place(run, at, high),
            ],
        });
        at += width;
    }
    laid
}

/// The place in plan so far along a run and so far across it (to the left), rounded to the micrometre.
pub fn place(run: &BayRun, along: Length, across: Length) -> Place {
    let [[ax, ay], [bx, by]] = run.across_mm;
    let whole = run.clear_width();
    let (dx, dy) = (bx.0 - ax.0, by.0 - ay.0);
    let part = |a: Length, along_part: Length, across_part: Length| {
        Mm(a + along_part.share(along.um(), whole.um()) + across_part.share(across.um(), whole.um()))
    };
    [part(ax.0, dx, -dy), part(ay.0, dy, dx)]
}

/// How far along a run and across it a place in plan lies, rounded to the micrometre.
pub(super) fn within(run: &BayRun, [x, y]: Place) -> (Length, Length) {
    let [[ax, ay], [bx, by]] = run.across_mm;
    let whole = i128::from(run.clear_width().um());
    let (dx, dy) = (i128::from((bx.0 - ax.0).um()), i128::from((by.0 - ay.0).um()));
    let (px, py) = (i128::from((x.0 - ax.0).um()), i128::from((y.0 - ay.0).um()));
    let over = |sum: i128| {
        let half = if sum < 0 { -whole / 2 } else { whole / 2 };
        Length::from_um(i64::try_from((sum + half) / whole.max(1)).unwrap_or(i64::MAX))
    };
    (over(px * dx + py * dy), over(py * dx - px * dy))
}

/// Whether a load stands over beams that lie together all along its way: in every run that it passes over it runs with
/// the beams, over the width of one group of them.
///
/// # Errors
/// Where it does not, in words.
pub(super) fn stands_on_doubled_beams(design: &FloorDesign, load: &LineLoad) -> Result<(), String> {
    let Some(beams) = &design.beams else { return Ok(()) };
    let (mut over, mut single) = (Vec::new(), Vec::new());
    for run in &beams.runs {
        let ends = load.line_mm.map(|end| within(run, end));
        let Some([first, last]) = clipped(ends, run.clear_span_mm.0) else { continue };
        if first.max(last) < Length::ZERO || run.clear_width() < first.min(last) {
            continue;
        }
        let laid = lay(beams, run, run.left_over(beams));
        let stands = groups(&laid)
            .into_iter()
            .any(|(from, to)| [first, last].iter().all(|along| from <= *along && *along <= to));
        if stands { over.push(run.name.as_str()) } else { single.push(run.name.as_str()) }
    }
    let name = &load.name;
    match (over.is_empty(), single.is_empty()) {
        (false, true) => Ok(()),
        (true, true) => Err(format!("`{name}` does not stand over any bay run")),
        (true, false) => {
            Err(format!("`{name}` does not stand over beams that lie together all along its way"))
        }
        (false, false) => Err(format!(
            "`{name}` does not stand over beams that lie together in run {}, as it does in run {}: a doubled beam is \
             drawn single there",
            single.join(", "),
            over.join(", ")
        )),
    }
}

/// How far along the run the part of a line lies that is between the bearing faces; `None` where nothing of it is, or
/// only its end touches a face.
fn clipped([(a, from), (b, to)]: [(Length, Length); 2], span: Length) -> Option<[Length; 2]> {
    let (low, high) = (from.min(to).max(Length::ZERO), from.max(to).min(span));
    if from == to {
        return (Length::ZERO <= from && from <= span).then_some([a, b]);
    }
    if high <= low {
        return None;
    }
    let at = |across: Length| a + (b - a).share((across - from).um(), (to - from).um());
    Some([at(low), at(high)])
}

/// The extents of beams that lie together, along the run.
fn groups(laid: &[Laid]) -> Vec<(Length, Length)> {
    let mut groups: Vec<(Length, Length)> = Vec::new();
    for one in laid.iter().filter(|one| one.doubled) {
        match groups.last_mut() {
            Some(last) if last.1 == one.from => last.1 = one.to,
            _ => groups.push((one.from, one.to)),
        }
    }
    groups
}

impl FloorDesign {
    /// The names of all bay runs.
    pub fn run_names(&self) -> Vec<PointName> {
        self.beams.iter().flat_map(|beams| &beams.runs).map(|run| run.name.clone()).collect()
    }

    /// The lines on which the clear between bearing faces is measured: each run's first, middle and last beam.
    pub fn clear_span_lines(&self) -> Vec<PointName> {
        let runs = self.beams.iter().flat_map(|beams| &beams.runs);
        runs.flat_map(|run| {
            let last = run.beam_count();
            let mut numbers = vec![1, last.div_ceil(2), last];
            numbers.dedup();
            numbers.into_iter().filter_map(|number| run.beam_name(number)).collect::<Vec<_>>()
        })
        .collect()
    }

    /// The beams whose places settle a run soonest: the first, both sides of the make-up, the last.
    pub fn settling_beams(&self) -> Vec<PointName> {
        let runs = self.beams.iter().flat_map(|beams| &beams.runs);
        runs.flat_map(|run| {
            let mut numbers = vec![1, run.beam_count()];
            let before = run.sequence.iter().take_while(|one| **one != InRun::MakeUp);
            let before = before.filter(|one| **one == InRun::Beam).count();
            if run.count(InRun::MakeUp) > 0 {
                numbers.extend([before, before + 1]);
            }
            numbers.sort_unstable();
            numbers.dedup();
            numbers.into_iter().filter_map(|number| run.beam_name(number)).collect::<Vec<_>>()
        })
        .collect()
    }

    /// Both ends of every beam, by the walls that they bear on: `R1/3 A`.
    pub fn beam_end_names(&self) -> Vec<PointName> {
        let runs = self.beams.iter().flat_map(|beams| &beams.runs);
        runs.flat_map(|run| {
            (1..=run.beam_count()).flat_map(move |number| {
                run.bears_on
                    .iter()
                    .filter_map(move |wall| PointName::new(&format!("{}/{number} {wall}", run.name)).ok())
            })
        })
        .collect()
    }
}

/// The ends of a beam's name at which its top is levelled: the two walls, and between them midspan.
pub const MIDSPAN: &str = "mid";

/// How far inside its bearing faces the top of a beam is levelled at its ends: one part of so many of its span, so
/// that the place lies on the topping and not in the strip along the wall.
const TOP_INSIDE: i64 = 40;

impl FloorDesign {
    /// Every place on top of a beam where its level can be read: near both bearings and at midspan.
    pub fn beam_tops(&self) -> Vec<PointName> {
        let runs = self.beams.iter().flat_map(|beams| &beams.runs);
        runs.flat_map(|run| (1..=run.beam_count()).flat_map(move |number| tops_of(run, number))).collect()
    }

    /// Those that are asked for: on the first, the middle and the last beam of every run.
    pub fn wanted_beam_tops(&self) -> Vec<PointName> {
        let lines = self.clear_span_lines();
        let beams = lines.iter().filter_map(|line| beam_of(self, line));
        beams.flat_map(|(run, number)| tops_of(run, number)).collect()
    }

    /// Where such a place lies in plan, with its beam.
    pub fn beam_top(&self, name: &PointName) -> Option<(PointName, Place)> {
        let (run, number) = beam_of(self, name)?;
        let beam = run.beam_name(number)?;
        let end = name.as_str().split_once(' ')?.1;
        let inside = run.clear_span_mm.0.share(1, TOP_INSIDE);
        let across = match end {
            MIDSPAN => run.clear_span_mm.0.share(1, 2),
            wall if wall == run.bears_on[0].as_str() => inside,
            wall if wall == run.bears_on[1].as_str() => run.clear_span_mm.0 - inside,
            _ => return None,
        };
        let beams = self.beams.as_ref()?;
        // Only along the run: laying out the whole of it for every point would be slow.
        let index =
            run.sequence.iter().enumerate().filter(|(_, kind)| **kind == InRun::Beam).nth(number - 1)?.0;
        let make_up = run.left_over(beams);
        let before = run.sequence[..index].iter().map(|kind| beams.width_of(*kind, make_up));
        let from = before.fold(run.edge_start_mm.0, |sum, width| sum + width);
        Some((beam, place(run, from + beams.width_mm.0.share(1, 2), across)))
    }
}

fn tops_of(run: &BayRun, number: usize) -> Vec<PointName> {
    let [first, second] = &run.bears_on;
    [first.as_str(), MIDSPAN, second.as_str()]
        .into_iter()
        .filter_map(|end| PointName::new(&format!("{}/{number} {end}", run.name)).ok())
        .collect()
}

/// The run and the number of a beam by its name, with or without the wall of its end.
pub fn beam_of<'d>(design: &'d FloorDesign, name: &PointName) -> Option<(&'d BayRun, usize)> {
    design.beams.iter().flat_map(|beams| &beams.runs).find_map(|run| {
        let rest = name.as_str().strip_prefix(run.name.as_str())?.strip_prefix('/')?;
        let number = rest.split(' ').next()?.parse().ok()?;
        (1..=run.beam_count()).contains(&number).then_some((run, number))
    })
}
