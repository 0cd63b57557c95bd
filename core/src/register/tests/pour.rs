//! The pour and its cubes held through a register on disk: loads, air and wind, cubes taken and crushed, and what the
//! sign-off makes of them.

use super::*;
use crate::conformity::Verdict;
use crate::entry::{
    ConditionsBooked, CubesTaken, CubesTested, PourFact, PourMoment, PourTimed, TicketBooked,
};
use crate::inspection::pour::pour_day;

fn with_topping() -> Desk {
    let mut desk = Desk::new();
    desk.issue(SEMI);
    desk
}

fn criterion(id: &str) -> CriterionId {
    CriterionId::new(id).unwrap()
}

fn ticket(number: &str, load: &str) -> TicketBooked {
    TicketBooked {
        hold_point: hold("pour"),
        criterion: criterion("mix"),
        ticket: number.to_owned(),
        batch: Some("B-77".to_owned()),
        strength_class: "C25/30".to_owned(),
        consistence_class: Some("S3".to_owned()),
        measured_slump_um: Some(130_000),
        largest_aggregate_um: Some(10_000),
        fibre_kg_per_m3: None,
        fibre_type: None,
        water_added_l: Some("0".to_owned()),
        load_m3: Some(load.to_owned()),
        batched_at: "08:10".to_owned(),
        began_at: Some("09:00".to_owned()),
        discharged_at: "09:25".to_owned(),
        air_c: "14".to_owned(),
        concrete_c: "17".to_owned(),
    }
}

fn load(ticket: TicketBooked) -> Act {
    Act::BookTicket(Box::new(ticket))
}

fn timed(moment: PourMoment, at: &str) -> Act {
    let at = at.to_owned();
    Act::BookPour(PourFact::Timed(PourTimed {
        hold_point: hold("pour"),
        criterion: criterion("mix"),
        moment,
        at,
    }))
}

fn conditions([at, concrete, air, humidity, wind]: [&str; 5]) -> Act {
    Act::BookPour(PourFact::Conditions(ConditionsBooked {
        hold_point: hold("pour"),
        criterion: criterion("evaporation"),
        at: at.to_owned(),
        concrete_c: concrete.to_owned(),
        air_c: air.to_owned(),
        humidity_percent: humidity.to_owned(),
        wind_km_per_h: wind.to_owned(),
    }))
}

fn taken(sample: &str, ticket: &str, cubes: u32) -> Act {
    Act::BookPour(PourFact::Taken(CubesTaken {
        hold_point: hold("pour"),
        criterion: criterion("cubes"),
        sample: sample.to_owned(),
        ticket: ticket.to_owned(),
        at: "09:10".to_owned(),
        cubes,
    }))
}

fn crushed(sample: &str, age_days: u32, cubes: &[&str]) -> Act {
    Act::BookPour(PourFact::Tested(CubesTested {
        hold_point: hold("strength"),
        criterion: criterion("cubes"),
        sample: sample.to_owned(),
        age_days,
        cubes_mpa: cubes.iter().map(|&cube| cube.to_owned()).collect(),
        report: None,
    }))
}

fn owed(desk: &mut Desk, id: &str, of: &str) -> Vec<String> {
    desk.criterion(id, of).owed.into_iter().map(|one| one.what).collect()
}

#[test]
fn a_pour_owes_its_loads_its_times_the_weather_and_its_cubes() {
    let mut desk = with_topping();
    assert_eq!(
        owed(&mut desk, "pour", "mix"),
        ["concrete ticket", "time at which the pour started", "time at which the pour was finished"]
    );
    assert_eq!(owed(&mut desk, "pour", "evaporation"), ["air, wind and humidity over the concrete"]);
    assert_eq!(owed(&mut desk, "pour", "cubes"), ["1 sample of cubes, labelled"]);
    desk.supervise(timed(PourMoment::Started, "08:55"));
    desk.supervise(load(ticket("T-1", "2.5")));
    desk.supervise(timed(PourMoment::Finished, "10:00"));
    desk.supervise(conditions(["09:00", "17", "14", "72", "9"]));
    desk.supervise(taken("C-1", "T-1", 3));
    for of in ["mix", "evaporation", "cubes"] {
        assert_eq!(owed(&mut desk, "pour", of), Vec::<String>::new(), "{of}");
        assert_eq!(desk.criterion("pour", of).verdict, Some(Verdict::Conforming), "{of}");
    }
    // Nothing is crushed on the day: strength waits for its result.
    assert_eq!(owed(&mut desk, "strength", "cubes"), ["28-day result of cubes C-1"]);
    assert_eq!(desk.criterion("strength", "cubes").verdict, None);
}

#[test]
fn loads_add_up_against_what_the_drawing_takes() {
    let mut desk = with_topping();
    desk.supervise(load(ticket("T-1", "2.5")));
    desk.supervise(load(ticket("T-2", "1.75")));
    let day = pour_day(&desk.view().record).unwrap();
    let totals: Vec<String> = day.loads.iter().map(|one| one.total.to_m3_text()).collect();
    assert_eq!(totals, ["2.5", "4.25"]);
    // By hand: (8.360 × 3.960 + 5.160 × 3.360) m² × 0.080 m = 4.035456 m³; with 5 % in steps of 0.5: 4.5.
    let needed = day.needed.unwrap();
    assert_eq!(
        (needed.volume.to_m3_text(), needed.order.to_m3_text()),
        ("4.035456".to_owned(), "4.5".to_owned())
    );
}

#[test]
fn a_load_is_held_against_the_topping_and_not_against_the_doubled_beams() {
    let mut desk = with_topping();
    let by = desk.supervisor.clone();
    desk.supervise(load(ticket("T-1", "2.5")));
    let out_at =
        |number: &str, at: &str| load(TicketBooked { discharged_at: at.to_owned(), ..ticket(number, "2") });
    // Two hours from batching at 08:10: closed.
    for (number, at, expect) in [
        ("T-2", "10:09", Verdict::Conforming),
        ("T-3", "10:10", Verdict::Conforming),
        ("T-4", "10:11", Verdict::Nonconforming),
    ] {
        desk.supervise(out_at(number, at));
        assert_eq!(desk.criterion("pour", "mix").verdict, Some(expect), "{at}");
    }
    assert_eq!(desk.criterion("multiple-beams", "mix").verdict, None);
    // Any water added on site stays open until the producer answers.
    let mut desk = with_topping();
    desk.supervise(load(TicketBooked { water_added_l: Some("10".to_owned()), ..ticket("T-1", "2.5") }));
    let found = desk.criterion("pour", "mix");
    assert_eq!(found.verdict, Some(Verdict::Undetermined));
    assert!(
        found.findings.iter().any(|one| one.what.starts_with("ticket T-1: water")),
        "{:?}",
        found.findings
    );
    desk.refused(load(ticket("T-1", "2.5")), &by, "booked already");
    let early = TicketBooked { began_at: Some("08:00".to_owned()), ..ticket("T-9", "2") };
    desk.refused(load(early), &by, "discharge begins after batching");
}

/// P. J. Uno, ACI Materials Journal 95-M34 (1998): 30 °C concrete, 25 °C air, 50 % and 20 km/h lose 1.188 kg/m²h;
/// ACI 305R acts at 0.2 lb/ft²h, 0.9765 kg/m²h (both in tests/data/published/concrete.json).
#[test]
fn a_surface_that_dries_too_fast_says_what_to_do() {
    let mut desk = with_topping();
    desk.supervise(conditions(["09:00", "30", "25", "50", "20"]));
    let found = desk.criterion("pour", "evaporation");
    assert_eq!(found.verdict, Some(Verdict::Nonconforming));
    assert!(found.findings[0].what.contains("1.188 kg/m²h, at most 0.9765"), "{:?}", found.findings);
    let day = pour_day(&desk.view().record).unwrap();
    assert!(day.conditions[0].advice.len() > 2);
    let view = desk.view();
    let to_do = crate::inspection::what_to_do::what_to_do(&view.record, &found).unwrap().sentences();
    assert_eq!(to_do, day.conditions[0].advice);
    let by = desk.supervisor.clone();
    desk.refused(conditions(["nine", "30", "25", "50", "20"]), &by, "no time");
    desk.refused(conditions(["09:00", "30", "25", "101", "x"]), &by, "wind_km_per_h");
    // A floor design may be stricter; its own limit goes first.
    let strict = SEMI.replace(
        "[limits]\n",
        "[limits]\nevaporation_most_kg_per_m2_h = { value = 1.5, source = \"note 12, invented\" }\n",
    );
    desk.issue(&strict);
    assert_eq!(desk.criterion("pour", "evaporation").verdict, Some(Verdict::Conforming));
}

#[test]
fn times_and_cubes_that_cannot_be_are_refused() {
    let mut desk = with_topping();
    let by = desk.supervisor.clone();
    desk.supervise(timed(PourMoment::Started, "08:55"));
    desk.refused(timed(PourMoment::Started, "09:00"), &by, "booked already");
    desk.refused(timed(PourMoment::Finished, "08:54"), &by, "not finished before it started");
    desk.refused(timed(PourMoment::Finished, "2026-09-14T10:00"), &by, "in the same way");
    desk.supervise(timed(PourMoment::Finished, "08:55"));
    desk.refused(taken("C-1", "T-1", 3), &by, "book its load first");
    desk.supervise(load(ticket("T-1", "2.5")));
    desk.refused(taken("C-1", "T-1", 0), &by, "1 to 12 cubes");
    desk.refused(taken("C-1", "T-1", 13), &by, "1 to 12 cubes");
    let slip = desk.supervise(taken("C-1", "T-1", 2));
    desk.refused(taken("C-1", "T-1", 2), &by, "booked already");
    desk.refused(crushed("C-2", 28, &["40"]), &by, "no cubes C-2");
    desk.refused(crushed("C-1", 28, &["40", "41", "39"]), &by, "3 would be crushed");
    desk.refused(crushed("C-1", 28, &["forty"]), &by, "forty");
    // Three were made: the first entry was a slip, and both stay readable.
    desk.supervise(Act::Supersede {
        id: slip,
        because: Because::Mistake,
        remark: None,
        with: Box::new(taken("C-1", "T-1", 3)),
    });
    desk.supervise(crushed("C-1", 28, &["40", "41", "39"]));
    desk.refused(crushed("C-1", 28, &["40"]), &by, "booked already");
    let kept: Vec<bool> = desk.view().record.pour.iter().map(|kept| kept.superseded.is_some()).collect();
    assert_eq!(kept, [false, false, true, false, false]);
    let result = desk.view().record.pour[4].noted.id;
    let other = timed(PourMoment::Started, "09:00");
    let supersede =
        Act::Supersede { id: result, because: Because::Mistake, remark: None, with: Box::new(other) };
    desk.refused(supersede, &by, "same kind");
}

/// BS EN 206, identity testing of certified production: one result of 28 days, each at least fck − 4 (figures in
/// assets/methods.toml with their source). C25/30 by cube: 30 − 4 = 26.
#[test]
fn cubes_decide_at_28_days_on_their_limit() {
    for (cubes, expect) in [
        ("25.999999", Verdict::Nonconforming),
        ("26", Verdict::Conforming),
        ("26.000001", Verdict::Conforming),
    ] {
        let mut desk = with_topping();
        desk.supervise(load(ticket("T-1", "2.5")));
        desk.supervise(taken("C-1", "T-1", 3));
        desk.supervise(crushed("C-1", 7, &["20"]));
        assert_eq!(owed(&mut desk, "strength", "cubes"), ["28-day result of cubes C-1"]);
        desk.supervise(crushed("C-1", 28, &[cubes]));
        let found = desk.criterion("strength", "cubes");
        assert_eq!(found.verdict, Some(expect), "{cubes}: {:?}", found.findings);
        if expect == Verdict::Nonconforming {
            assert!(
                found.findings.iter().any(|one| one.what.contains("least of C-1 is 26.0 MPa")),
                "{:?}",
                found.findings
            );
        }
    }
}
