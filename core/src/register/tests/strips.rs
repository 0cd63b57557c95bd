//! What the setting-out strip says while one types, and each line before the first beam is lifted. Figures of the
//! invented plot, worked by hand (run R1, built 8386 wide: faces 120 730 1340 1950 2560 2670 3100 3710 4320 | 4676 …).

use super::*;
use crate::conformity::Verdict;
use crate::floor::beams::InRun;
use crate::inspection::bay_strip::{Strip, Typing, strips_while};
use crate::inspection::spans;
use crate::plan_of_work::Feed;

fn point(name: &str) -> PointName {
    PointName::new(name).unwrap()
}

fn mm(text: &str) -> ReadValue {
    ReadValue::parse(text, "mm").unwrap()
}

fn with_faces(width: &str, faces: &[(&str, &str)]) -> Desk {
    let mut desk = Desk::new();
    desk.issue(SEMI);
    desk.supervise(book("beam-setting-out", "width", "R1", mm(width)));
    for (beam, face) in faces {
        desk.supervise(book("beam-setting-out", "faces", beam, mm(face)));
    }
    desk
}

fn typing(desk: &mut Desk, feed: Feed, at: &str, value: i64) -> Strip {
    let point = point(at);
    let typing = Typing { feed, point: &point, value: Length::from_mm(value) };
    strips_while(&desk.view().record, Some(typing)).remove(0)
}

#[test]
fn a_face_shows_on_the_strip_while_it_is_typed_and_nothing_is_booked() {
    let mut desk = with_faces("8386", &[("R1/7", "3100")]);
    let found = |strip: &Strip, beam: &str| {
        strip
            .measured
            .iter()
            .find(|piece| piece.beam == Some(point(beam)))
            .map(|piece| (piece.from, piece.verdict))
    };
    for (figures, verdict) in
        [(3, Verdict::Nonconforming), (371, Verdict::Nonconforming), (3710, Verdict::Conforming)]
    {
        let strip = typing(&mut desk, Feed::BeamFaces, "R1/8", figures);
        assert_eq!(found(&strip, "R1/8"), Some((Length::from_mm(figures), Some(verdict))), "{figures}");
    }
    let strip = typing(&mut desk, Feed::BeamFaces, "R1/8", 3710);
    let bay = strip.measured.iter().find(|piece| piece.kind == Some(InRun::Wide)).unwrap();
    assert_eq!((bay.verdict, bay.to - bay.from), (Some(Verdict::Conforming), Length::from_mm(500)));
    assert_eq!(found(&strips_while(&desk.view().record, None).remove(0), "R1/8"), None, "it was only typed");
}

#[test]
fn the_make_up_is_foretold_while_the_width_is_typed_with_what_the_engineer_could_approve() {
    let mut desk = Desk::new();
    desk.issue(SEMI);
    let strip = typing(&mut desk, Feed::RunWidths, "R1", 8475);
    assert_eq!(strip.make_up, (Some(Length::from_mm(260)), Some(Length::from_mm(335))));
    assert_eq!(strip.verdict, Some(Verdict::Nonconforming));
    assert_eq!(strip.arrangements, ["12 wide and 1 narrow, make-up 155 mm: for the designer to decide"]);
    let strip = typing(&mut desk, Feed::RunWidths, "R1", 8386);
    assert_eq!((strip.verdict, strip.arrangements.len()), (Some(Verdict::Conforming), 0));
}

#[test]
fn a_fault_says_at_its_place_what_is_wrong() {
    for (faces, at, words) in [
        // 3533 − 3100 − 110 = 323 clear: a narrow infill after beam 7, whose far side is at 3210.
        (vec![("R1/7", "3100"), ("R1/8", "3533")], 3_210, "narrow, drawn wide"),
        (vec![("R1/5", "2560"), ("R1/6", "2990")], 2_670, "not doubled here"),
        (vec![("R1/3", "1340"), ("R1/4", "1450")], 1_450, "beams together, drawn apart"),
        // The gap of 246 lies one bay too early, a wide infill where the make-up is drawn.
        (
            vec![("R1/8", "3710"), ("R1/9", "4066"), ("R1/10", "4676")],
            3_820,
            "make-up is here, drawn elsewhere",
        ),
        (vec![("R1/9", "4066"), ("R1/10", "4676")], 4_176, "make-up is not here"),
        // Gaps as drawn, but every beam 11 too far on.
        (vec![("R1/1", "131"), ("R1/2", "741")], 131, "drifts from here, +11 mm"),
    ] {
        let mut desk = with_faces("8386", &faces);
        let strip = strips_while(&desk.view().record, None).remove(0);
        let found = strip.faults.iter().any(|fault| fault.at == Length::from_mm(at) && fault.words == words);
        assert!(found, "{words}: {:?}", strip.faults);
    }
    let mut desk = with_faces("8386", &[("R1/1", "120"), ("R1/2", "730")]);
    assert_eq!(strips_while(&desk.view().record, None).remove(0).faults, []);
}

#[test]
fn every_line_says_its_bearings_and_the_longest_clear_before_the_first_beam_is_lifted() {
    let mut desk = Desk::new();
    desk.issue(SEMI);
    let line = |desk: &mut Desk, typed: Option<(&str, &str)>| {
        let typed = typed.map(|(at, clear)| (point(at), Length::parse_mm(clear).unwrap()));
        let runs = spans::runs(&desk.view().record, typed.as_ref().map(|(at, clear)| (at, *clear)));
        runs.into_iter().next().unwrap()
    };
    let bare = line(&mut desk, None);
    assert!(
        bare.facts[0].contains("Beams P42 of 4190 mm: longest clear that works 4010 mm"),
        "{:?}",
        bare.facts
    );
    assert!(
        bare.facts[1].contains("Wall B") && bare.facts[1].contains("25 mm between their ends within 215 mm")
    );
    assert!(bare.facts[2].contains("100 mm of wall A"));
    assert_eq!((bare.lines.len(), bare.lines[0].verdict), (3, None));
    assert_eq!(bare.lines[0].words, ["not read yet, at most 4010 mm"]);
    // 4190 − 4003 = 187, 93.5 each; with 25 between the ends 212 of 215.
    let read = line(&mut desk, Some(("R1/1", "4003")));
    assert_eq!(read.lines[0].verdict, Some(Verdict::Conforming));
    assert_eq!(
        read.lines[0].words,
        ["clear 4003 mm: both bearings 187 mm, 93.5 mm each where they are alike"]
    );
    let long = line(&mut desk, Some(("R1/1", "4012")));
    assert_eq!(long.lines[0].verdict, Some(Verdict::Nonconforming));
    assert_eq!(long.lines[0].words[1], "2 mm more than works");
    // 3999: 191 + 25 = 216 of 215 on the shared wall. 3989: 201 together, more than the two leaves of 100.
    let shared = line(&mut desk, Some(("R1/1", "3999")));
    assert_eq!(shared.lines[0].verdict, Some(Verdict::Nonconforming));
    assert!(shared.lines[0].words[1].contains("take 216 mm of 215 mm"), "{:?}", shared.lines[0].words);
    let cavity = line(&mut desk, Some(("R1/1", "3989")));
    assert!(
        cavity.lines[0].words.iter().any(|what| what.contains("leaves of 100 mm")),
        "{:?}",
        cavity.lines[0]
    );
    // Booked, it is the reading's own verdict too.
    desk.supervise(book("bearing-level", "clears", "R1/1", mm("3989")));
    let trial = desk.criterion("bearing-level", "clears").readings[0].trial.clone().unwrap();
    assert_eq!(trial.verdict, Verdict::Nonconforming);
    assert!(trial.words.contains("not so: no beam end passes the leaf into the cavity"), "{}", trial.words);
}
