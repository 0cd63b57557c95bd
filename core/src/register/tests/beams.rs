//! Beams and infill held through a register on disk, on the invented plot whose figures are worked by hand.

use super::*;
use crate::conformity::Verdict;
use crate::entry::{DeliveryBooked, DeliveryLine, TicketBooked};
use crate::inspection::bay_strip::strips;
use crate::inspection::standing::HoldPointState;

/// A desk whose plot has its beams drawn.
fn with_beams() -> Desk {
    let mut desk = Desk::new();
    desk.issue(SEMI);
    desk
}

fn mm(text: &str) -> ReadValue {
    ReadValue::parse(text, "mm").unwrap()
}

fn verdict(desk: &mut Desk, id: &str, criterion: &str) -> Option<Verdict> {
    desk.criterion(id, criterion).verdict
}

#[test]
fn a_plot_whose_beams_are_drawn_is_asked_for_them_and_another_is_not() {
    let mut desk = Desk::new();
    assert_eq!(desk.view().standing.hold_points.len(), 9);
    desk.issue(SEMI);
    let view = desk.view();
    let plan = crate::plan_of_work::PlanOfWork::read(PLAN).unwrap();
    assert_eq!(view.standing.hold_points.len() + 1, plan.hold_points.len(), "all of it but heating pipes");
    assert_eq!(desk.state("beam-setting-out"), HoldPointState::NotOpen);
    assert_eq!(desk.criterion("bearing-length", "bearing").owed.len(), 52, "both ends of 26 beams");
    assert_eq!(desk.criterion("bearing-level", "clears").owed.len(), 6, "three lines of two runs");
}

#[test]
fn clears_as_built_are_held_against_the_beams_before_the_first_is_lifted() {
    let mut desk = with_beams();
    // Beams of 4190 over 4003, 4006 and 4012 leave 187, 184 and 178; 2 × 85 and 10 for placing are 180.
    for (line, clear, expect) in [
        ("R1/1", "4003", Verdict::Conforming),
        ("R1/8", "4010", Verdict::Conforming),
        ("R1/16", "4010.001", Verdict::Nonconforming),
    ] {
        desk.supervise(book("bearing-level", "clears", line, mm(clear)));
        let criterion = desk.criterion("bearing-level", "clears");
        let trial = criterion.reading_at(&PointName::new(line).unwrap()).unwrap().trial.clone().unwrap();
        assert_eq!(trial.verdict, expect, "{line} at {clear}: {}", trial.words);
        assert!(trial.words.contains("longest clear that works 4010.0 mm"), "{}", trial.words);
    }
    assert_eq!(verdict(&mut desk, "bearing-level", "clears"), Some(Verdict::Nonconforming));
}

#[test]
fn the_make_up_is_foretold_from_the_width_as_built() {
    let mut desk = with_beams();
    desk.supervise(book("beam-setting-out", "width", "R1", mm("8386")));
    assert_eq!(verdict(&mut desk, "beam-setting-out", "width"), Some(Verdict::Conforming));
    let strip = strips(&desk.view().record).remove(0);
    assert_eq!(strip.make_up, (Some(Length::from_mm(260)), Some(Length::from_mm(246))));
    // 8475 leaves 335, more than a narrow infill; 12 wide and 1 narrow would leave 155.
    let mut desk = with_beams();
    desk.supervise(book("beam-setting-out", "width", "R1", mm("8475")));
    assert_eq!(verdict(&mut desk, "beam-setting-out", "width"), Some(Verdict::Nonconforming));
    let found = desk.criterion("beam-setting-out", "width").findings;
    let offered = found.iter().find(|one| one.caution && one.what.contains("12 wide and 1 narrow")).unwrap();
    assert!(
        offered.what.contains("155") && offered.what.contains("for the designer to decide"),
        "{}",
        offered.what
    );
}

#[test]
fn four_beams_settle_a_run_and_all_are_owed_only_where_they_disagree() {
    let mut desk = with_beams();
    desk.supervise(book("beam-setting-out", "width", "R1", mm("8386")));
    let owed = |desk: &mut Desk| {
        let owed = desk.criterion("beam-setting-out", "faces").owed;
        owed.iter()
            .filter(|one| one.point.as_ref().is_some_and(|point| point.as_str().starts_with("R1/")))
            .count()
    };
    assert_eq!(owed(&mut desk), 4, "first, both sides of the make-up, last");
    for (beam, face) in [("R1/1", "120"), ("R1/9", "4320"), ("R1/10", "4676")] {
        desk.supervise(book("beam-setting-out", "faces", beam, mm(face)));
    }
    assert_eq!(owed(&mut desk), 1);
    // The last stands 11 mm off, one more than is allowed: now every beam of this run is owed, and of no other.
    desk.supervise(book("beam-setting-out", "faces", "R1/16", mm("8167")));
    assert_eq!(owed(&mut desk), 12);
    let strip = strips(&desk.view().record).remove(0);
    assert!(strip.measured.iter().any(|piece| piece.differs));
}

#[test]
fn a_wrong_infill_is_found_where_it_starts() {
    let mut desk = with_beams();
    desk.supervise(book("beam-setting-out", "width", "R1", mm("8386")));
    // Beams 8 and 9 are measured 177 and 176 short: a narrow infill lies where a wide one is drawn after beam 7.
    for (beam, face) in
        [("R1/1", "120"), ("R1/7", "3100"), ("R1/8", "3533"), ("R1/9", "4144"), ("R1/16", "8156")]
    {
        desk.supervise(book("beam-setting-out", "faces", beam, mm(face)));
    }
    let strip = strips(&desk.view().record).remove(0);
    let said: Vec<&str> = strip.findings.iter().map(|(_, what)| what.as_str()).collect();
    assert!(said.iter().any(|what| what.contains("narrow")), "{said:?}");
    let wrong = strip.measured.iter().find(|piece| piece.beam.is_none() && piece.differs).unwrap();
    assert_eq!(wrong.kind, Some(crate::floor::beams::InRun::Narrow));
}

fn note(desk: &Desk, number: &str, short: u32) -> DeliveryBooked {
    let _ = desk;
    let design = FloorDesign::read(SEMI).unwrap();
    let lines = design.order().into_iter().map(|one| DeliveryLine {
        delivered: one.quantity - if one.item == "beam P42" { short } else { 0 },
        item: one.item,
        damaged: 0,
        unlabelled: 0,
        batch: None,
    });
    DeliveryBooked {
        hold_point: hold("delivery"),
        criterion: CriterionId::new("balance").unwrap(),
        note: number.to_owned(),
        revision: Some("B".to_owned()),
        lines: lines.collect(),
    }
}

#[test]
fn deliveries_balance_against_the_order_of_the_drawing() {
    let mut desk = with_beams();
    let by = desk.supervisor.clone();
    assert!(desk.criterion("delivery", "balance").owed.iter().any(|one| one.what.contains("delivery note")));
    let short = note(&desk, "N-1", 2);
    desk.supervise(Act::BookDelivery(short.clone()));
    assert_eq!(verdict(&mut desk, "delivery", "balance"), Some(Verdict::Nonconforming));
    let found = desk.criterion("delivery", "balance").findings;
    assert!(found.iter().any(|one| one.what == "beam P42: 2 short of 16 ordered"), "{found:?}");
    desk.refused(Act::BookDelivery(short), &by, "booked already");
    let rest = |item: &str, count| DeliveryBooked {
        lines: vec![DeliveryLine {
            item: item.to_owned(),
            delivered: count,
            damaged: 0,
            unlabelled: 0,
            batch: None,
        }],
        ..note(&Desk::new(), "N-2", 0)
    };
    // An item spelled nearly as one that is ordered is refused with the one that was meant.
    desk.refused(Act::BookDelivery(rest("beam P-42", 2)), &by, "beam P42");
    desk.refused(
        Act::BookDelivery(DeliveryBooked { lines: Vec::new(), ..rest("beam P42", 2) }),
        &by,
        "at least one line",
    );
    desk.supervise(Act::BookDelivery(rest("beam P42", 2)));
    assert_eq!(verdict(&mut desk, "delivery", "balance"), Some(Verdict::Conforming));
    // Labels of another revision than the one in force are pointed out.
    let other =
        DeliveryBooked { note: "N-3".to_owned(), revision: Some("A".to_owned()), ..rest("end block 120", 1) };
    desk.supervise(Act::BookDelivery(other));
    let found = desk.criterion("delivery", "balance").findings;
    assert!(found.iter().any(|one| one.what.contains("revision A, revision B is in force")), "{found:?}");
}

#[test]
fn a_ticket_meets_the_mix_or_says_where_it_does_not() {
    let mut desk = with_beams();
    let by = desk.supervisor.clone();
    let ticket = |number: &str, class: &str, discharged: &str| {
        Act::BookTicket(Box::new(TicketBooked {
            hold_point: hold("multiple-beams"),
            criterion: CriterionId::new("mix").unwrap(),
            ticket: number.to_owned(),
            batch: None,
            strength_class: class.to_owned(),
            consistence_class: Some("S3".to_owned()),
            measured_slump_um: None,
            largest_aggregate_um: Some(10_000),
            fibre_kg_per_m3: None,
            fibre_type: None,
            water_added_l: Some("0".to_owned()),
            load_m3: None,
            batched_at: "08:10".to_owned(),
            began_at: None,
            discharged_at: discharged.to_owned(),
            air_c: "5".to_owned(),
            concrete_c: "5".to_owned(),
        }))
    };
    // Two hours are allowed, both temperatures stand on their limit: closed.
    desk.supervise(ticket("T-1", "C25/30", "10:10"));
    assert_eq!(verdict(&mut desk, "multiple-beams", "mix"), Some(Verdict::Conforming));
    desk.refused(ticket("T-1", "C25/30", "10:10"), &by, "booked already");
    desk.refused(ticket("T-2", "C25/30", "quarter past"), &by, "discharged_at");
    desk.supervise(ticket("T-2", "C25/30", "10:11"));
    assert_eq!(verdict(&mut desk, "multiple-beams", "mix"), Some(Verdict::Nonconforming));
    assert!(
        desk.criterion("multiple-beams", "mix").findings.iter().any(|one| one.what.starts_with("ticket T-2"))
    );
}
