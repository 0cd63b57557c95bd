//! The run as measured: every beam against its place, every gap against what is drawn, and where a fault starts.

use super::{
    ARITHMETIC, COMMON_PRACTICE, FLOOR_DESIGN, Finding, Gap, JudgedBeam, Length, Limits, Mm, Run, Verdict,
    Working, mm, of_many,
};

/// What measurements say.
pub(super) struct Measured {
    pub beams: Vec<JudgedBeam>,
    pub needs: Vec<u32>,
    pub findings: Vec<Finding>,
}

pub(super) fn judge(run: &Run<'_>, set_out: &[Length], working: &mut Working) -> Measured {
    let none = Vec::new();
    let measured = run.input.measured_mm.as_ref().unwrap_or(&none);
    let at = |index: usize| measured.get(index).copied().flatten().map(|place| place.0);
    let tolerance = run.input.spacing_tolerance_mm.0;
    let mut beams = Vec::new();
    for (index, place) in set_out.iter().enumerate() {
        let found = at(index);
        let deviation = found.map(|found| found - *place);
        let clear = found.zip(at(index + 1)).map(|(from, to)| to - from - run.input.beam_width_mm.0);
        let number = index + 1;
        if let (Some(found), Some(deviation)) = (found, deviation) {
            let formula = format!("{} - {}", mm(found), mm(*place));
            working.mm(format!("beam {number}: deviation"), formula, deviation, ARITHMETIC);
        }
        if let (Some(found), Some(next), Some(clear)) = (found, at(index + 1), clear) {
            working.mm(
                format!("beam {number}: clear to beam {}", number + 1),
                format!("{} - {} - {}", mm(next), mm(found), mm(run.input.beam_width_mm.0)),
                clear,
                ARITHMETIC,
            );
        }
        let drawn = run.gaps.get(index).copied();
        let reads = clear.map(|clear| read(run, clear));
        let in_place = deviation.map(|deviation| Limits::between(-tolerance, tolerance).hold(deviation));
        let as_drawn = clear.zip(drawn).is_none_or(|(clear, drawn)| is_as_drawn(run, clear, drawn));
        beams.push(JudgedBeam {
            index: u32::try_from(index).unwrap_or(u32::MAX),
            set_out_mm: Mm(*place),
            measured_mm: found.map(Mm),
            deviation_mm: deviation.map(Mm),
            clear_to_next_mm: clear.map(Mm),
            reads_as: reads,
            drawn_as: drawn,
            verdict: in_place.map_or(Verdict::Undetermined, |in_place| Verdict::of(in_place && as_drawn)),
        });
    }
    let deviations: Vec<Length> =
        beams.iter().filter_map(|beam| beam.deviation_mm).map(|one| one.0.abs()).collect();
    if let Some(largest) = deviations.iter().max() {
        let terms: Vec<String> = beams
            .iter()
            .filter_map(|beam| beam.deviation_mm)
            .map(|one| format!("abs({})", one.0.to_mm_text()))
            .collect();
        working.mm("largest deviation", of_many("max", &terms), *largest, ARITHMETIC);
    }
    let needs = if run.input.measured_mm.is_some() { needs(run, &beams) } else { settling(run, beams.len()) };
    let findings = point_out(run, &beams, &needs);
    Measured { beams, needs, findings }
}

/// What a gap is nearest to within the tolerance; else a make-up if in range; else neither.
fn read(run: &Run<'_>, clear: Length) -> Gap {
    [Gap::Multiple, Gap::Narrow, Gap::Wide]
        .into_iter()
        .filter_map(|gap| run.infill(gap).map(|width| (gap, (clear - width).abs())))
        .filter(|(_, off)| *off <= run.input.spacing_tolerance_mm.0)
        .min_by_key(|(_, off)| *off)
        .map_or(if run.is_make_up(clear) { Gap::MakeUp } else { Gap::Neither }, |(gap, _)| gap)
}

/// A make-up just below the narrow infill reads as that infill; where the make-up is drawn it is as drawn.
fn is_as_drawn(run: &Run<'_>, clear: Length, drawn: Gap) -> bool {
    read(run, clear) == drawn || (drawn == Gap::MakeUp && run.is_make_up(clear))
}

/// First beam, both sides of the make-up, last beam: these settle a run.
fn settling(run: &Run<'_>, beams: usize) -> Vec<u32> {
    let mut settling = vec![0];
    if let Some(gap) = run.make_up {
        settling.extend([gap, gap + 1]);
    }
    settling.push(beams - 1);
    settling.dedup();
    settling.into_iter().map(|index| u32::try_from(index).unwrap_or(u32::MAX)).collect()
}

/// The settling beams that were not measured; all others only once those disagree.
fn needs(run: &Run<'_>, beams: &[JudgedBeam]) -> Vec<u32> {
    let unmeasured = |index: &u32| beams[*index as usize].measured_mm.is_none();
    let settling: Vec<u32> = settling(run, beams.len()).into_iter().filter(unmeasured).collect();
    let disagree = beams.iter().any(|beam| beam.verdict == Verdict::Nonconforming);
    if settling.is_empty() && disagree {
        beams.iter().map(|beam| beam.index).filter(unmeasured).collect()
    } else {
        settling
    }
}

/// Where faults start, in words that name beams from 1.
fn point_out(run: &Run<'_>, beams: &[JudgedBeam], needs: &[u32]) -> Vec<Finding> {
    let mut findings = Vec::new();
    let tolerance = run.input.spacing_tolerance_mm.0;
    let mut fault = |rule: &str, reason: String| {
        findings.push(Finding::new(rule, Verdict::Nonconforming, reason, FLOOR_DESIGN));
    };
    for beam in beams {
        let (Some(Mm(clear)), Some(reads), Some(drawn)) =
            (beam.clear_to_next_mm, beam.reads_as, beam.drawn_as)
        else {
            continue;
        };
        if is_as_drawn(run, clear, drawn) {
            continue;
        }
        let number = beam.index + 1;
        let rule = match (drawn, reads) {
            (Gap::Multiple, _) => "beams drawn together stand together",
            (_, Gap::Multiple) => "beams stand together only where they are drawn so",
            (Gap::MakeUp, Gap::Wide | Gap::Narrow) | (_, Gap::MakeUp) => "the make-up lies where it is drawn",
            (Gap::MakeUp, _) => "the make-up gap is in range",
            _ => "the infill between two beams is the one drawn",
        };
        fault(
            rule,
            format!(
                "after beam {number}: {} mm clear, {} where {} is drawn",
                clear.to_mm_text(),
                reads.words(),
                drawn.words()
            ),
        );
    }
    // A beam out of place although every gap before it that was measured is as drawn: the error has crept in.
    let off = |beam: &&JudgedBeam| beam.deviation_mm.is_some_and(|off| tolerance < off.0.abs());
    if let Some(beam) = beams.iter().find(off) {
        let before = &beams[..beam.index as usize];
        let explained = before.iter().any(|beam| {
            beam.clear_to_next_mm
                .zip(beam.drawn_as)
                .is_some_and(|(clear, drawn)| !is_as_drawn(run, clear.0, drawn))
        });
        if !explained {
            let off = beam.deviation_mm.unwrap_or_default().0;
            let sign = if off.is_negative() { "" } else { "+" };
            let off = off.to_mm_text();
            let number = beam.index + 1;
            fault(
                "beams stand in their places",
                format!(
                    "beam {number} is the first out of place, by {sign}{off} mm: the run drifts, or was set out from another face"
                ),
            );
        }
    }
    let between = beams.iter().any(|beam| beam.measured_mm.is_none());
    let faultless = findings.is_empty();
    if run.input.measured_mm.is_some() && needs.is_empty() && between && faultless {
        findings.push(Finding::caution(
            "beams between those measured",
            "the beams that settle the run agree; look along the others for wide and narrow changed about and for \
             beams drawn together",
            COMMON_PRACTICE,
        ));
    }
    findings
}
