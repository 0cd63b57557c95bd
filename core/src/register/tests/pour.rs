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

/// A plan that asks for the pour and its cubes alone, and what the sign-off makes of the cubes.
fn short_plan(sign_off: &str) -> String {
    format!(
        r#"
gaugerod_plan_of_work = 1
title = "Pour and cubes alone"
revision = "1"
self_release = true

[[gates]]
id = "finished"
title = "Finished"

[[hold_points]]
id = "pour"
title = "Topping poured"
short_title = "Pour"
gate = "finished"
kind = "hold"
proves = "topping"
offered_by = ["supervisor"]
released_by = ["quality-manager"]

  [[hold_points.criteria]]
  id = "mix"
  title = "The mix"
  source = "floor design"
  reckoning = {{ name = "concrete-ticket", feed = "pour-tickets" }}

  [[hold_points.criteria]]
  id = "cubes"
  title = "Cubes are taken"
  source = "floor design"
  reckoning = {{ name = "cube-strength", feed = "cubes-taken" }}

[[hold_points]]
id = "strength"
title = "Strength of the cubes"
short_title = "Strength"
gate = "finished"
kind = "hold"
after = ["pour"]
proves = "topping"
{sign_off}
offered_by = ["supervisor"]
released_by = ["quality-manager"]

  [[hold_points.criteria]]
  id = "cubes"
  title = "The cubes belong to their class"
  source = "BS EN 206"
  reckoning = {{ name = "cube-strength", feed = "cube-results" }}

[[hold_points]]
id = "sign-off"
title = "Sign-off"
short_title = "Sign-off"
gate = "finished"
kind = "hold"
proves = "floor"
offered_by = ["quality-manager"]
released_by = ["quality-manager"]

  [[hold_points.criteria]]
  id = "outstanding"
  title = "Everything outstanding is listed"
  source = "ISO 9000"
  question = {{ not_applicable_reasons = [] }}
"#
    )
}

/// A desk whose plot is poured and released; only its cubes are not crushed yet.
fn poured(sign_off: &str) -> Desk {
    let mut desk = Desk::new();
    let manager = desk.manager.clone();
    desk.register.perform(&Command::IssuePlan { text: short_plan(sign_off) }, &manager).unwrap();
    desk.issue(SEMI);
    desk.supervise(timed(PourMoment::Started, "08:55"));
    desk.supervise(load(ticket("T-1", "4.5")));
    desk.supervise(timed(PourMoment::Finished, "10:00"));
    desk.supervise(taken("C-1", "T-1", 3));
    desk.supervise(Act::Offer(one("pour")));
    desk.manage(Act::Release(one("pour")));
    desk.manage(answer("sign-off", "outstanding", Answer::Yes));
    desk
}

/// The signed document and what verifying it says under its name.
fn signed(desk: &mut Desk) -> Result<(Vec<u8>, crate::signoff::verify::Verification), String> {
    use crate::signoff::{fonts::Fonts, issue, verify};
    let (fonts, manager) = (Fonts::shipped(), desk.manager.clone());
    let made = issue::sign_off(&mut desk.register, &plot(), &manager, Vec::new(), &fonts, &mut |_, _| true)
        .map_err(|fault| fault.to_string())?;
    made.record(&mut desk.register, &manager).map_err(|fault| fault.to_string())?;
    let root = desk.register.authority().unwrap();
    let fingerprint = crate::ids::Sha256Digest::of(root.der()).0;
    let verified = verify::verify(&made.made.bytes, Some(fingerprint), &fonts);
    Ok((made.made.bytes, verified))
}

fn said(verified: &crate::signoff::verify::Verification, name: &str) -> Vec<String> {
    verified.checks.iter().filter(|one| one.name == name).map(|one| one.words.clone()).collect()
}

/// What the first page lists before anything else.
fn first_page(desk: &mut Desk) -> (String, Vec<String>) {
    use crate::signoff::{issue, make, model::Model};
    let material = issue::material(&mut desk.register, &plot(), &mut |_, _| true).unwrap();
    let (evidence, opened) = make::evidence(&material, None).unwrap();
    let model = Model::of(&evidence, &opened);
    (model.overall.0.text, model.outstanding.into_iter().map(|line| line.text).collect())
}

#[test]
fn a_sign_off_that_waits_for_cubes_does_not_go_out_without_them() {
    for rule in ["", "sign_off = \"waits\""] {
        let mut desk = poured(rule);
        let refusal = signed(&mut desk).unwrap_err();
        assert!(refusal.contains("Strength of the cubes is open"), "{refusal}");
        desk.supervise(crushed("C-1", 28, &["37.5", "38"]));
        desk.supervise(Act::Offer(one("strength")));
        desk.manage(Act::Release(one("strength")));
        let (_, verified) = signed(&mut desk).unwrap();
        assert_eq!(verified.outcome, crate::signoff::verify::Outcome::VouchedFor, "{:?}", verified.checks);
        assert_eq!(said(&verified, "subject-to"), Vec::<String>::new());
        assert_eq!(first_page(&mut desk), ("Every hold point is released".to_owned(), Vec::new()));
    }
}

#[test]
fn a_sign_off_goes_out_marked_as_subject_to_cubes_and_verifies() {
    use crate::signoff::{evidence::Evidence, inspect::inspect, verify};
    let mut desk = poured("sign_off = \"subject-to\"");
    let subject = "Strength of the cubes: 28-day result of cubes C-1";
    let (lead, lines) = first_page(&mut desk);
    assert_eq!(
        (lead.as_str(), lines),
        ("Released, subject to results that are awaited", vec![format!("Subject to {subject}")])
    );
    let (bytes, verified) = signed(&mut desk).unwrap();
    assert_eq!(verified.outcome, verify::Outcome::VouchedFor, "{:?}", verified.checks);
    assert_eq!(said(&verified, "subject-to"), [format!("the sign-off is subject to {subject}")]);
    assert_eq!(desk.state("sign-off"), HoldPointState::Released);
    // Evidence that keeps quiet about it is found out, even where no page can be compared.
    let mut evidence = Evidence::read(&inspect(&bytes).evidence.unwrap()).unwrap();
    evidence.subject_to.clear();
    let quiet = verify::verify(&evidence.to_bytes(), None, &crate::signoff::fonts::Fonts::shipped());
    assert_eq!(quiet.outcome, verify::Outcome::Refused);
    assert!(said(&quiet, "subject-to")[0].contains("does not recompute"), "{:?}", quiet.checks);
    // The result conforms: the sign-off stands, and a new one is subject to nothing.
    desk.supervise(crushed("C-1", 28, &["37.5", "38"]));
    desk.supervise(Act::Offer(one("strength")));
    desk.manage(Act::Release(one("strength")));
    assert_eq!(desk.state("sign-off"), HoldPointState::Released);
    assert_eq!(first_page(&mut desk).1, Vec::<String>::new());
}

#[test]
fn a_result_that_fails_later_puts_the_sign_off_in_question_and_is_said() {
    let mut desk = poured("sign_off = \"subject-to\"");
    signed(&mut desk).unwrap();
    desk.supervise(crushed("C-1", 28, &["25", "25.5"]));
    assert_eq!(desk.state("sign-off"), HoldPointState::InQuestion);
    let (lead, lines) = first_page(&mut desk);
    assert_eq!(lead, "Not ready: hold points stand open");
    assert!(lines[0].starts_with("Signed off before (Sam Sample"), "{lines:?}");
    assert!(lines[0].ends_with("subject to Strength of the cubes: it does not conform"), "{lines:?}");
    assert!(lines.iter().any(|line| line.contains("least of C-1 is 25.2 MPa, at least 26 MPa")), "{lines:?}");
    let refusal = signed(&mut desk).unwrap_err();
    assert!(refusal.contains("Strength of the cubes is open"), "{refusal}");
}

/// Before anything is signed a failing early result is no verdict, and a failing 28-day one holds the sign-off back.
#[test]
fn nothing_goes_out_subject_to_what_is_known_to_fail() {
    let mut desk = poured("sign_off = \"subject-to\"");
    desk.supervise(crushed("C-1", 7, &["9"]));
    assert_eq!(desk.view().standing.subject_to().len(), 1);
    desk.supervise(crushed("C-1", 28, &["25.9"]));
    assert_eq!(desk.view().standing.subject_to(), Vec::<String>::new());
    assert!(signed(&mut desk).unwrap_err().contains("Strength of the cubes is open"));
    // The same where the cubes of one sample disagree: nothing is awaited any more, and nothing is known.
    let mut desk = poured("sign_off = \"subject-to\"");
    desk.supervise(crushed("C-1", 28, &["30", "40"]));
    assert_eq!(desk.criterion("strength", "cubes").verdict, Some(Verdict::Undetermined));
    assert!(signed(&mut desk).is_err());
}

#[test]
fn a_batch_is_recalled_on_every_plot_that_had_it() {
    let mut desk = with_topping();
    desk.supervise(load(ticket("T-1", "2.5")));
    let wrong = desk.supervise(load(ticket("T-2", "2")));
    let right = TicketBooked { batch: Some("B-78".to_owned()), ..ticket("T-2", "2") };
    let (because, remark) = (Because::Misread, None);
    desk.supervise(Act::Supersede { id: wrong, because, remark, with: Box::new(load(right)) });
    let other = PlotId::new("8").unwrap();
    let manager = desk.manager.clone();
    let issue = Command::IssueDesign { text: SEMI.to_owned(), plots: vec![other.clone()] };
    desk.register.perform(&issue, &manager).unwrap();
    let note = crate::entry::DeliveryBooked {
        hold_point: hold("delivery"),
        criterion: criterion("balance"),
        note: "N-5".to_owned(),
        revision: None,
        lines: [("beam P42", 16, Some("K-9")), ("beam P36", 10, None)]
            .map(|(item, delivered, batch)| crate::entry::DeliveryLine {
                item: item.to_owned(),
                delivered,
                damaged: 0,
                unlabelled: 0,
                batch: batch.map(str::to_owned),
            })
            .to_vec(),
    };
    desk.register.perform(&Command::OnPlot { plot: other, act: Act::BookDelivery(note) }, &manager).unwrap();
    let label = crate::entry::LabelBooked {
        hold_point: hold("overlay"),
        criterion: criterion("label"),
        item: "overlay".to_owned(),
        grade: "EPS 150".to_owned(),
        thickness_um: Some(90_000),
        conductivity: None,
        batch: Some("L-3".to_owned()),
    };
    desk.supervise(Act::BookLabel(label));
    let recall = |desk: &Desk, batch: &str| -> Vec<(String, String, bool)> {
        let found = desk.register.recall(batch).unwrap();
        found.into_iter().map(|one| (one.plot.to_string(), one.how_much, one.is_superseded)).collect()
    };
    let concrete = |load: &str, gone| ("7".to_owned(), format!("{load} m³ of C25/30"), gone);
    assert_eq!(
        recall(&desk, "b-77"),
        [concrete("2.5", false), concrete("2", true)],
        "the slip is told as one"
    );
    assert_eq!(recall(&desk, "B 78"), Vec::new(), "a hyphen counts");
    assert_eq!(recall(&desk, " b-78 "), [concrete("2", false)]);
    assert_eq!(recall(&desk, "T-1"), [concrete("2.5", false)]);
    assert_eq!(recall(&desk, "K-9"), [("8".to_owned(), "16 × beam P42".to_owned(), false)]);
    assert_eq!(recall(&desk, "l-3"), [("7".to_owned(), "EPS 150, 90 mm".to_owned(), false)]);
    assert_eq!(recall(&desk, "N-5").len(), 2, "every line of the note");
    assert_eq!(recall(&desk, " "), Vec::new());
}
