//! A bay run as a strip: as drawn, as it must be set out in the width as built, and as measured. The same for screen
//! and paper, which only draw it.

use super::beam_feeds::{as_built, bay_with, criterion_of_feed};
use super::fold::PlotRecord;
use super::judge::{CriterionStanding, Reckoned};
use crate::conformity::Verdict;
use crate::floor::beams::{BayRun, InRun};
use crate::floor::layout::{beam_of, lay};
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
    /// Where faults start, in the order of the run.
    pub faults: Vec<FaultAt>,
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

/// A fault of a run, at its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FaultAt {
    /// Where it starts, from the start face.
    pub at: Length,
    /// What is wrong there, in a few words.
    pub words: String,
}

/// What is just being typed: the width of a run, or the face of a beam.
#[derive(Debug, Clone, Copy)]
pub struct Typing<'t> {
    /// What is read.
    pub feed: Feed,
    /// The run or the beam.
    pub point: &'t PointName,
    /// The figures so far.
    pub value: Length,
}

/// Every bay run of a plot as a strip; empty where the design draws no beams.
pub fn strips(record: &PlotRecord) -> Vec<Strip> {
    strips_while(record, None)
}

/// The same with what is just being typed taken as read.
pub fn strips_while(record: &PlotRecord, typing: Option<Typing<'_>>) -> Vec<Strip> {
    let Some(beams) = &record.design().beams else { return Vec::new() };
    let of = |feed| {
        criterion_of_feed(record, feed).map(|(point, asked)| super::judge::of_criterion(record, point, asked))
    };
    let (width, faces) = (of(Feed::RunWidths), of(Feed::BeamFaces));
    let one = |run: &BayRun| {
        typing.and_then(|typing| typed(record, run, typing)).unwrap_or_else(|| {
            let of_faces = part(faces.as_ref(), run);
            let reckoned = of_faces.or_else(|| part(width.as_ref(), run));
            let read = width.as_ref().and_then(|one| one.reading_at(&run.name));
            Judged {
                input: reckoned.and_then(|one| serde_json::from_value(one.input.clone()).ok()),
                output: reckoned.and_then(|one| serde_json::from_value(one.output.clone()).ok()),
                is_measured: of_faces.is_some(),
                width: read.and_then(|one| super::feeds::length_of(one.value)),
            }
        })
    };
    beams.runs.iter().map(|run| strip(record, run, one(run))).collect()
}

/// A run as it is judged.
struct Judged {
    input: Option<bay_fit::Input>,
    output: Option<bay_fit::Output>,
    /// Whether any beam was measured.
    is_measured: bool,
    /// The clear width as built, where it was read.
    width: Option<Length>,
}

/// A run with what is being typed into it; `None` where that is about another run, or nothing can be made of it.
fn typed(record: &PlotRecord, run: &BayRun, typing: Typing<'_>) -> Option<Judged> {
    let (width, face) = match typing.feed {
        Feed::RunWidths if *typing.point == run.name => (Some(typing.value), None),
        Feed::BeamFaces => {
            let (own, number) = beam_of(record.design(), typing.point)?;
            (None, Some((number, typing.value)).filter(|_| own.name == run.name))
        }
        _ => (None, None),
    };
    if width.is_none() && face.is_none() {
        return None;
    }
    let (input, output) = bay_with(record, run, width, face)?;
    let is_measured = output.beams.iter().any(|beam| beam.measured_mm.is_some());
    let width = width.or_else(|| as_built(record, run, None));
    Some(Judged { input: Some(input), output: Some(output), is_measured, width })
}

fn part<'c>(standing: Option<&'c CriterionStanding>, run: &BayRun) -> Option<&'c Reckoned> {
    let about = format!("Run {}", run.name);
    standing?.reckoned.iter().find(|one| one.about.as_ref() == Some(&about))
}

fn strip(record: &PlotRecord, run: &BayRun, judged: Judged) -> Strip {
    let beams = record.design().beams.as_ref().expect("BUG: a run has its beams");
    let Judged { input, output, is_measured, width } = judged;
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
    let beam = beams.width_mm.0;
    let (measured, faults) = match (&input, &output) {
        (Some(input), Some(output)) if is_measured => {
            (measured(run, output, beam), faults(input, output, beam))
        }
        _ => (Vec::new(), Vec::new()),
    };
    let name = |index: &u32| run.beam_name(usize::try_from(*index).unwrap_or(usize::MAX).saturating_add(1));
    Strip {
        run: run.name.clone(),
        beam: run.beam.clone(),
        drawn_width: run.clear_width(),
        built_width: width,
        set_out,
        measured,
        faults,
        make_up: (has_make_up.then_some(left), as_built.filter(|_| width.is_some())),
        findings: output.as_ref().map_or_else(Vec::new, |output| {
            output.findings.iter().map(|one| (one.verdict, one.reason.clone())).collect()
        }),
        arrangements: output
            .as_ref()
            .filter(|one| one.verdict != Verdict::Conforming)
            .map_or_else(Vec::new, |output| output.arrangements.iter().take(3).map(split).collect()),
        needs: output.as_ref().map_or_else(Vec::new, |one| one.needs.iter().filter_map(name).collect()),
        verdict: output.map(|one| one.verdict),
    }
}

/// A split of the infills in words: `12 wide and 1 narrow, make-up 155 mm: for the designer to decide`.
fn split(one: &bay_fit::Arrangement) -> String {
    let left = one.make_up_mm.map_or_else(String::new, |gap| format!(", make-up {} mm", gap.0.to_mm_text()));
    format!("{} wide and {} narrow{left}: {}", one.wide, one.narrow, one.note)
}

fn measured(run: &BayRun, output: &bay_fit::Output, beam: Length) -> Vec<Piece> {
    let mut pieces = Vec::new();
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
            let as_drawn = !is_pointed_out(output, one.index);
            pieces.push(Piece {
                kind: kind(reads),
                beam: None,
                from: face.0 + beam,
                to: face.0 + beam + gap.0,
                verdict: Some(Verdict::of(as_drawn)),
                differs: !as_drawn,
                doubled: false,
            });
        }
    }
    pieces
}

/// Where faults start, a few words each. The reckoning has judged them; here they get their place.
fn faults(input: &bay_fit::Input, output: &bay_fit::Output, beam: Length) -> Vec<FaultAt> {
    use bay_fit::Gap;
    let mut faults = Vec::new();
    for one in &output.beams {
        let (Some(face), Some(reads), Some(drawn)) = (one.measured_mm, one.reads_as, one.drawn_as) else {
            continue;
        };
        // A gap that is as drawn leaves nothing to say, even where its beam stands off its place.
        if !is_pointed_out(output, one.index) {
            continue;
        }
        let words = match (drawn, reads) {
            (Gap::Multiple, _) => "not doubled here".to_owned(),
            (_, Gap::Multiple) => "beams together, drawn apart".to_owned(),
            (Gap::MakeUp, Gap::Wide | Gap::Narrow) => "make-up is not here".to_owned(),
            (Gap::Wide | Gap::Narrow, Gap::MakeUp) => "make-up is here, drawn elsewhere".to_owned(),
            (Gap::MakeUp, _) => "make-up out of range".to_owned(),
            (_, Gap::Neither) => format!("no infill fits: {} drawn", word(drawn)),
            _ => format!("{}, drawn {}", word(reads), word(drawn)),
        };
        faults.push(FaultAt { at: face.0 + beam, words });
    }
    if let Some(one) = output
        .beams
        .iter()
        .find(|one| one.deviation_mm.is_some_and(|off| input.spacing_tolerance_mm.0 < off.0.abs()))
    {
        let said = format!("beam {} is the first out of place", one.index + 1);
        if let (true, Some(face), Some(off)) = (
            output.findings.iter().any(|finding| finding.reason.starts_with(&said)),
            one.measured_mm,
            one.deviation_mm,
        ) {
            faults.push(FaultAt {
                at: face.0,
                words: format!("drifts from here, {} mm", off.0.signed_mm_text(0)),
            });
        }
    }
    faults.sort_by_key(|fault| fault.at);
    faults
}

/// Whether the reckoning points out the gap after a beam.
fn is_pointed_out(output: &bay_fit::Output, index: u32) -> bool {
    let said = format!("after beam {}:", index + 1);
    output.findings.iter().any(|finding| finding.reason.starts_with(&said))
}

const fn word(gap: bay_fit::Gap) -> &'static str {
    match gap {
        bay_fit::Gap::Wide => "wide",
        bay_fit::Gap::Narrow => "narrow",
        bay_fit::Gap::MakeUp => "make-up",
        bay_fit::Gap::Multiple => "doubled",
        bay_fit::Gap::Neither => "neither",
    }
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
