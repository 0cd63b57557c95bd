//! A bay run as a strip: as drawn, as it must be set out in the width as built, and as measured. The same for screen
//! and paper, which only draw it.

use super::beam_feeds::criterion_of_feed;
use super::fold::PlotRecord;
use super::judge::{CriterionStanding, Reckoned};
use crate::conformity::Verdict;
use crate::floor::beams::{BayRun, InRun};
use crate::floor::layout::lay;
use crate::ids::PointName;
use crate::plan_of_work::Feed;
use crate::quantity::Length;
use crate::reckon::bay_fit;

/// One piece of a strip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Piece {
    /// What it is; `None` for a gap that fits nothing drawn anywhere.
    pub kind: Option<InRun>,
    /// The beam's name.
    pub beam: Option<PointName>,
    /// From the start face.
    pub from: Length,
    /// To.
    pub to: Length,
    /// Its verdict, where it was measured.
    pub verdict: Option<Verdict>,
    /// Whether it is something else than drawn there.
    pub differs: bool,
    /// Whether it is a beam right beside another.
    pub doubled: bool,
}

/// A bay run as a strip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Strip {
    /// The run.
    pub run: PointName,
    /// Mark of its beams.
    pub beam: PointName,
    /// Its clear width as drawn.
    pub drawn_width: Length,
    /// The same as built, where it was read.
    pub built_width: Option<Length>,
    /// As drawn, or as set out in the width as built where that was read.
    pub set_out: Vec<Piece>,
    /// As measured; empty where no beam was.
    pub measured: Vec<Piece>,
    /// The make-up as drawn and as the width as built leaves it.
    pub make_up: (Option<Length>, Option<Length>),
    /// What was found, in words, the start of a fault first.
    pub findings: Vec<(Verdict, String)>,
    /// Splits of wide and narrow that would bring the make-up into range, for the designer to decide.
    pub arrangements: Vec<String>,
    /// Beams whose measurement would settle the run soonest.
    pub needs: Vec<PointName>,
    /// What the run comes to; `None` where nothing was read.
    pub verdict: Option<Verdict>,
}

/// Every bay run of a plot as a strip; empty where the design draws no beams.
pub fn strips(record: &PlotRecord) -> Vec<Strip> {
    let Some(beams) = &record.design().beams else { return Vec::new() };
    let of = |feed| {
        criterion_of_feed(record, feed).map(|(point, asked)| super::judge::of_criterion(record, point, asked))
    };
    let (width, faces) = (of(Feed::RunWidths), of(Feed::BeamFaces));
    beams.runs.iter().map(|run| strip(record, run, width.as_ref(), faces.as_ref())).collect()
}

fn part<'c>(standing: Option<&'c CriterionStanding>, run: &BayRun) -> Option<&'c Reckoned> {
    let about = format!("Run {}", run.name);
    standing?.reckoned.iter().find(|one| one.about.as_ref() == Some(&about))
}

fn strip(
    record: &PlotRecord,
    run: &BayRun,
    width: Option<&CriterionStanding>,
    faces: Option<&CriterionStanding>,
) -> Strip {
    let beams = record.design().beams.as_ref().expect("BUG: a run has its beams");
    let of_faces = part(faces, run);
    let reckoned = of_faces.or_else(|| part(width, run));
    let input: Option<bay_fit::Input> =
        reckoned.and_then(|one| serde_json::from_value(one.input.clone()).ok());
    let output: Option<bay_fit::Output> =
        reckoned.and_then(|one| serde_json::from_value(one.output.clone()).ok());
    let read =
        width.and_then(|one| one.reading_at(&run.name)).and_then(|one| super::feeds::length_of(one.value));
    let left = run.left_over(beams);
    let has_make_up = run.count(InRun::MakeUp) > 0;
    let as_built = output.as_ref().and_then(|one| one.as_built_make_up_mm).map(|gap| gap.0);
    // A make-up that comes out negative cannot be drawn: nothing is left for it.
    let make_up = as_built.unwrap_or(left).max(Length::ZERO);
    let set_out: Vec<Piece> = lay(beams, run, make_up)
        .into_iter()
        .map(|one| Piece {
            kind: Some(one.kind),
            beam: one.beam,
            from: one.from,
            to: one.to,
            verdict: None,
            differs: false,
            doubled: one.doubled,
        })
        .collect();
    let measured = match (&input, &output) {
        (Some(input), Some(output)) if of_faces.is_some() => measured(run, input, output, beams.width_mm.0),
        _ => Vec::new(),
    };
    let name = |index: &u32| run.beam_name(usize::try_from(*index).unwrap_or(usize::MAX).saturating_add(1));
    Strip {
        run: run.name.clone(),
        beam: run.beam.clone(),
        drawn_width: run.clear_width(),
        built_width: read,
        set_out,
        measured,
        make_up: (has_make_up.then_some(left), as_built.filter(|_| read.is_some())),
        findings: output.as_ref().map_or_else(Vec::new, |output| {
            output.findings.iter().map(|one| (one.verdict, one.reason.clone())).collect()
        }),
        arrangements: output
            .as_ref()
            .filter(|one| one.verdict != Verdict::Conforming)
            .map_or_else(Vec::new, |output| {
                output.arrangements.iter().take(3).map(|one| one.note.clone()).collect()
            }),
        needs: output.as_ref().map_or_else(Vec::new, |one| one.needs.iter().filter_map(name).collect()),
        verdict: output.map(|one| one.verdict),
    }
}

fn measured(run: &BayRun, input: &bay_fit::Input, output: &bay_fit::Output, beam: Length) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let _ = input;
    for (index, one) in output.beams.iter().enumerate() {
        let Some(face) = one.measured_mm else { continue };
        let doubled = one.drawn_as == Some(bay_fit::Gap::Multiple)
            || index
                .checked_sub(1)
                .is_some_and(|before| output.beams[before].drawn_as == Some(bay_fit::Gap::Multiple));
        pieces.push(Piece {
            kind: Some(InRun::Beam),
            beam: run.beam_name(index + 1),
            from: face.0,
            to: face.0 + beam,
            verdict: Some(one.verdict),
            differs: one.verdict == Verdict::Nonconforming,
            doubled,
        });
        if let (Some(gap), Some(reads)) = (one.clear_to_next_mm, one.reads_as)
            && gap.0 > Length::ZERO
        {
            pieces.push(Piece {
                kind: kind(reads),
                beam: None,
                from: face.0 + beam,
                to: face.0 + beam + gap.0,
                verdict: None,
                differs: one.drawn_as != Some(reads),
                doubled: false,
            });
        }
    }
    pieces
}

const fn kind(gap: bay_fit::Gap) -> Option<InRun> {
    match gap {
        bay_fit::Gap::Wide => Some(InRun::Wide),
        bay_fit::Gap::Narrow => Some(InRun::Narrow),
        bay_fit::Gap::MakeUp => Some(InRun::MakeUp),
        bay_fit::Gap::Multiple | bay_fit::Gap::Neither => None,
    }
}

impl InRun {
    /// A letter for narrow places: W, N, M; a beam has none.
    pub const fn letter(self) -> &'static str {
        match self {
            Self::Beam => "",
            Self::Wide => "W",
            Self::Narrow => "N",
            Self::MakeUp => "M",
        }
    }
}
