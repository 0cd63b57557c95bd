//! The layers that close the floor held through a register on disk: labels and the U-value with what came, thickness,
//! rail, beam tops and the order, mesh, pressure test; what another overlay breaks.

use super::*;
use crate::conformity::Verdict::{self, Conforming, Nonconforming, Undetermined};
use crate::entry::{LabelBooked, PressureTestBooked};
use crate::inspection::as_built::{
    About, AsBuilt, Basis, Bound, as_built, as_built_with, overlay, tried, u_value_of,
};
use crate::inspection::forecast::forecast;

/// A desk whose plot has everything described.
fn whole() -> Desk {
    let mut desk = Desk::new();
    desk.issue(SEMI);
    desk
}

fn mm(text: &str) -> ReadValue {
    ReadValue::parse(text, "mm").unwrap()
}

fn label(grade: &str, thickness: Option<&str>, conductivity: Option<&str>) -> LabelBooked {
    LabelBooked {
        hold_point: hold("overlay"),
        criterion: CriterionId::new("label").unwrap(),
        item: "overlay".to_owned(),
        grade: grade.to_owned(),
        thickness_um: thickness.map(|text| Length::parse_mm(text).unwrap().um()),
        conductivity: conductivity.map(str::to_owned),
        batch: Some("B-77".to_owned()),
    }
}

fn verdict(desk: &mut Desk, id: &str, criterion: &str) -> Option<Verdict> {
    desk.criterion(id, criterion).verdict
}

fn consequence(found: &AsBuilt, about: About) -> (Verdict, String) {
    let own = found.consequences.iter().find(|one| one.about == about).unwrap();
    (own.verdict, own.sentence.clone())
}

/// One reading at a time, each with the verdict that its boundaries ask for.
fn judged(id: &str, criterion: &str, values: &[(ReadValue, Verdict)]) {
    let mut desk = whole();
    for (index, (value, expect)) in values.iter().enumerate() {
        let point = format!("place {index}");
        desk.supervise(book(id, criterion, &point, *value));
        let criterion = desk.criterion(id, criterion);
        let trial = criterion.reading_at(&PointName::new(&point).unwrap()).unwrap().trial.clone().unwrap();
        assert_eq!(trial.verdict, *expect, "{value:?}: {}", trial.words);
    }
}

#[test]
fn the_overlay_is_as_thick_as_drawn_within_its_tolerance() {
    // 90 less 2, 90 plus 3; the label's thickness is taken as exact.
    judged(
        "overlay",
        "thickness",
        &[
            (mm("87.999"), Nonconforming),
            (mm("88"), Conforming),
            (mm("88.001"), Conforming),
            (mm("93"), Conforming),
            (mm("93.001"), Nonconforming),
        ],
    );
}

#[test]
fn the_rail_is_judged_from_its_level_with_the_level_s_uncertainty() {
    // 48.150 ± 5, guarded by 3.
    judged(
        "screed-rail",
        "rail",
        &[
            (level("48.152"), Conforming),
            (level("48.152001"), Undetermined),
            (level("48.158"), Undetermined),
            (level("48.158001"), Nonconforming),
            (level("48.148"), Conforming),
            (level("48.147999"), Undetermined),
            (level("48.141999"), Nonconforming),
        ],
    );
}

#[test]
fn cover_and_laps_of_the_mesh_are_held_against_the_specification() {
    // 30 to 45 and at least 300, both guarded by the tape's 2.
    judged(
        "reinforcement",
        "cover",
        &[
            (mm("27.999"), Nonconforming),
            (mm("28"), Undetermined),
            (mm("31.999"), Undetermined),
            (mm("32"), Conforming),
            (mm("43"), Conforming),
            (mm("43.001"), Undetermined),
            (mm("47.001"), Nonconforming),
        ],
    );
    judged(
        "reinforcement",
        "laps",
        &[(mm("297.999"), Nonconforming), (mm("298"), Undetermined), (mm("302"), Conforming)],
    );
}

#[test]
fn the_label_as_drawn_gives_the_declared_u_value() {
    let mut desk = whole();
    let owed = desk.criterion("overlay", "label").owed;
    assert!(owed.iter().any(|one| one.what == "label of the overlay"), "{owed:?}");
    desk.supervise(Act::BookLabel(label("eps 100", Some("90"), None)));
    let found = desk.criterion("overlay", "label");
    assert_eq!(found.verdict, Some(Conforming), "{:?}", found.findings);
    assert!(found.owed.is_empty() && found.papers[0].lines[0].contains("batch B-77"), "{:?}", found.papers);
    // By ISO 13370 outside of this program: B = 52.398 / (0.5 · 24.415), d_g = 0.3 + 1.5 · 0.21, U_g 0.66646,
    // U_x 0.22545 from 48 000 mm² of openings, U = 1 / (1 / 0.19 + 1 / 0.89191).
    let own = u_value_of(&desk.view().record, &overlay(&desk.view().record).unwrap()).unwrap();
    assert!((own.output.u.unwrap() - 0.156_633).abs() < 1e-6 && own.bound == Bound::Itself);
    let by = desk.supervisor.clone();
    desk.refused(Act::BookLabel(label("eps 100", Some("90"), None)), &by, "booked already");
    desk.refused(Act::BookLabel(label("x", Some("0"), None)), &by, "cannot be the thickness");
    desk.refused(Act::BookLabel(label("x", None, Some("0"))), &by, "cannot be the conductivity");
    desk.refused(Act::BookLabel(label("x", None, Some("a little"))), &by, "W_per_mK");
}

#[test]
fn another_overlay_than_declared_is_answered_only_where_its_bound_settles_it() {
    // 1/0.19 changed by the overlay's own resistance, then 1/0.89191 in series: worked outside of this program.
    // Allowed 0.18. A worse overlay gives at least that figure, a better one at most that.
    for (grade, thickness, u, bound, expect) in [
        ("EPS 100", "90", 0.156_633, Bound::Itself, Conforming),
        ("EPS 70", "90", 0.159_929, Bound::AtLeast, Undetermined),
        ("EPS 100", "50", 0.189_637, Bound::AtLeast, Nonconforming),
        ("PIR", "90", 0.125_388, Bound::AtMost, Conforming),
    ] {
        let mut desk = whole();
        let record = &desk.view().record;
        let own = tried(record, Length::parse_mm(thickness).unwrap(), grade).unwrap();
        let found = u_value_of(record, &own).unwrap();
        assert!((found.output.u.unwrap() - u).abs() < 1e-6, "{grade} {thickness}: {:?}", found.output.u);
        assert_eq!((found.bound, found.verdict), (bound, expect), "{grade} {thickness}");
        // The sum stands in the working, from the declared figure on.
        assert_eq!(found.before.0.is_empty(), bound == Bound::Itself, "{grade} {thickness}");
    }
}

#[test]
fn dense_webs_beside_light_infill_leave_the_u_value_open_with_the_reason() {
    let mut desk = whole();
    let (before, rest) = SEMI.split_once("[thermal.declared]").unwrap();
    let (_, after) = rest.split_once("[reinforcement]").unwrap();
    desk.issue(&format!("{before}[reinforcement]{after}"));
    desk.supervise(Act::BookLabel(label("EPS 100", Some("90"), None)));
    let found = desk.criterion("overlay", "label");
    assert_eq!(found.verdict, Some(Undetermined));
    let why = found.findings.iter().find(|one| one.verdict == Undetermined).unwrap();
    assert!(why.what.contains("upper over lower limit") && why.what.contains("ISO 10211"), "{}", why.what);
    // Beams of one light material throughout: the combined method applies and answers.
    let light = SEMI.replace("W_per_mK = 2.3 }", "W_per_mK = 0.034 }");
    let (before, rest) = light.split_once("[thermal.declared]").unwrap();
    let (_, after) = rest.split_once("[reinforcement]").unwrap();
    desk.issue(&format!("{before}[reinforcement]{after}"));
    // R = 0.34 + 0.09/0.036 + 0.08/1.35 + 0.16/0.034 = 7.605142, U = 1 / (R + 1/0.891907) = 0.1145957, outside of
    // this program.
    let own = u_value_of(&desk.view().record, &overlay(&desk.view().record).unwrap()).unwrap();
    assert!((own.output.u.unwrap() - 0.114_596).abs() < 1e-6, "{:?}", own.output.u);
    assert_eq!(verdict(&mut desk, "overlay", "label"), Some(Conforming));
}

#[test]
fn a_grade_that_is_not_drawn_is_not_ok_and_an_unknown_one_needs_its_conductivity() {
    let mut desk = whole();
    let unknown = desk.supervise(Act::BookLabel(label("Woodwool", Some("90"), None)));
    let found = desk.criterion("overlay", "label");
    assert_eq!(found.verdict, Some(Nonconforming));
    let said: Vec<&str> = found.findings.iter().map(|one| one.what.as_str()).collect();
    assert!(said.contains(&"label says Woodwool, the floor design asks for EPS 100"), "{said:?}");
    assert!(said.iter().any(|what| what.contains("no conductivity of Woodwool")), "{said:?}");
    // Read again, with what the label declares: now the heat is reckoned, and the grade is still another one.
    desk.supervise(Act::Supersede {
        id: unknown,
        because: Because::Misread,
        remark: None,
        with: Box::new(Act::BookLabel(label("Woodwool", Some("90"), Some("0.030")))),
    });
    let found = desk.criterion("overlay", "label");
    assert_eq!(found.papers.len(), 1);
    assert!(found.findings.iter().all(|one| !one.what.contains("no conductivity")), "{:?}", found.findings);
    assert_eq!(found.verdict, Some(Nonconforming));
    // A label that says another thickness is not OK either.
    let mut desk = whole();
    desk.supervise(Act::BookLabel(label("EPS 100", Some("87.999"), None)));
    let found = desk.criterion("overlay", "label");
    assert!(
        found.findings.iter().any(|one| one.what == "label says 87.999 mm, the floor design asks for 90 mm")
    );
}

#[test]
fn a_change_of_the_overlay_runs_through_to_everything_that_it_breaks() {
    let mut desk = whole();
    let drawn = as_built(&desk.view().record).unwrap();
    assert!(!drawn.is_changed && drawn.overlay.basis == Basis::Design);
    assert!(drawn.consequences.iter().all(|one| one.verdict == Conforming), "{:?}", drawn.consequences);
    assert!(drawn.layers.iter().all(|layer| layer.designed_top == layer.built_top), "{:?}", drawn.layers);
    // 100 instead of 90: the topping that is left stands on its limit of 70, the rest is out.
    let thicker = |desk: &mut Desk, thickness: &str| {
        let record = &desk.view().record;
        as_built_with(record, tried(record, Length::parse_mm(thickness).unwrap(), "EPS 100").unwrap())
    };
    let found = thicker(&mut desk, "100");
    assert!(found.is_changed);
    assert_eq!(consequence(&found, About::Topping).0, Conforming);
    let (threshold, words) = consequence(&found, About::Threshold);
    assert_eq!(threshold, Nonconforming);
    assert!(words.contains("48.160 m, +10.0 mm off 48.150 m"), "{words}");
    let (bearing, words) = consequence(&found, About::Bearing);
    assert_eq!(bearing, Nonconforming);
    assert!(words.contains("needs its bearing at 47.800 m") && words.contains("+10.0 mm off"), "{words}");
    let top = |found: &AsBuilt, name: &str| {
        found.layers.iter().find(|layer| layer.name.as_str() == name).unwrap().built_top.to_m_text()
    };
    assert_eq!((top(&found, "overlay").as_str(), top(&found, "topping").as_str()), ("48.08", "48.15"));
    assert_eq!(consequence(&thicker(&mut desk, "100.001"), About::Topping).0, Nonconforming);
    assert_eq!(consequence(&thicker(&mut desk, "99.999"), About::Topping).0, Conforming);
    // The bearing's +5 is met by 95 and passed by a micrometre more; so is the threshold's.
    for (thickness, expect) in [("94.999", Conforming), ("95", Conforming), ("95.001", Nonconforming)] {
        let found = thicker(&mut desk, thickness);
        assert_eq!(consequence(&found, About::Bearing).0, expect, "{thickness}");
        assert_eq!(consequence(&found, About::Threshold).0, expect, "{thickness}");
    }
    // As it is read: 70 of another grade.
    desk.supervise(Act::BookLabel(label("EPS 70", Some("70"), None)));
    for place in ["one", "two", "three"] {
        desk.supervise(book("overlay", "thickness", place, mm("70")));
    }
    let found = as_built(&desk.view().record).unwrap();
    assert!(found.is_changed && found.overlay.basis == Basis::Read(3));
    assert_eq!(found.overlay.batches, ["B-77"]);
    let own = found.layers.iter().find(|layer| layer.name.as_str() == "overlay").unwrap();
    assert_eq!(own.built_material.as_deref(), Some("EPS 70"));
    assert_eq!(own.designed_material.as_deref(), Some("EPS 100"));
    // 100 of topping where 80 ± are drawn, at most 100.
    let (topping, words) = consequence(&found, About::Topping);
    assert!(words.contains("100.0 mm of topping are left") && topping == Conforming, "{words}");
}

#[test]
fn the_truck_is_ordered_from_rail_and_beam_tops() {
    let mut desk = whole();
    let points = desk.criterion("screed-rail", "beam-tops");
    assert_eq!(
        (points.owed.len(), points.points.len()),
        (18, 78),
        "three beams of two runs; 26 beams in all"
    );
    // Before the rail is levelled nothing is forecast.
    desk.supervise(book("screed-rail", "beam-tops", "R1/1 A", level("47.980")));
    let found = desk.criterion("screed-rail", "beam-tops");
    assert_eq!(found.verdict, Some(Undetermined));
    assert!(found.findings.iter().any(|one| one.what == "the screed rail is not levelled yet"));
    for place in ["hall", "kitchen"] {
        desk.supervise(book("screed-rail", "rail", place, level("48.150")));
    }
    for point in &points.points {
        if points.owed.iter().any(|one| one.point.as_ref() == Some(point)) && point.as_str() != "R1/1 A" {
            desk.supervise(book("screed-rail", "beam-tops", point.as_str(), level("47.980")));
        }
    }
    let found = desk.criterion("screed-rail", "beam-tops");
    assert_eq!((found.verdict, found.owed.len()), (Some(Conforming), 0), "{:?}", found.findings);
    // 50.4432 m² × 80 mm = 4.035456 m³, with 5 % 4.237, in steps of 0.5: 4.5 (worked by hand).
    let own = forecast(&desk.view().record).unwrap();
    assert_eq!(own.volume.unwrap().to_m3_text(), "4.035456");
    assert_eq!(own.order.unwrap().to_m3_text(), "4.5");
    assert_eq!(own.cambers.len(), 6);
    assert!(own.cambers.iter().all(|(_, camber)| *camber == Length::ZERO));
    let said: Vec<&str> = found.findings.iter().map(|one| one.what.as_str()).collect();
    assert!(said.iter().any(|what| what.starts_with("Order 4.5 m³: 4.035 m³ and 5 % waste")), "{said:?}");
    // An overlay that is read 7 thicker leaves 73, which is accepted just so (70 and 3); 8 leave it open.
    for (thickness, expect) in
        [("97", Conforming), ("97.001", Undetermined), ("103", Undetermined), ("103.001", Nonconforming)]
    {
        let mut desk = whole();
        desk.supervise(book("screed-rail", "rail", "hall", level("48.150")));
        desk.supervise(book("overlay", "thickness", "one", mm(thickness)));
        desk.supervise(book("screed-rail", "beam-tops", "R1/8 mid", level("47.980")));
        let criterion = desk.criterion("screed-rail", "beam-tops");
        let trial = criterion.readings[0].trial.clone().unwrap();
        assert_eq!(trial.verdict, expect, "{thickness}: {}", trial.words);
    }
}

#[test]
fn a_camber_is_found_beam_by_beam_and_takes_topping() {
    let mut desk = whole();
    desk.supervise(book("screed-rail", "rail", "hall", level("48.151")));
    desk.supervise(book("screed-rail", "rail", "kitchen", level("48.150")));
    for (point, at) in [("R1/8 A", "47.978"), ("R1/8 mid", "47.988"), ("R1/8 B", "47.982")] {
        desk.supervise(book("screed-rail", "beam-tops", point, level(at)));
    }
    let own = forecast(&desk.view().record).unwrap();
    // 47.988 − (47.978 + 47.982) / 2 = 8 mm; 48.150 − 47.988 − 0.090 = 72 mm, under the lower rail.
    assert_eq!(own.cambers, [("R1/8".to_owned(), Length::from_mm(8))]);
    assert_eq!(own.least, Some((Length::from_mm(72), "R1/8 mid".to_owned())));
    assert!(
        own.order.is_none() && own.sentences().iter().any(|one| one.contains("no beam top is read in back"))
    );
}

fn pressure(start: &str, end: &str, ended: &str) -> Act {
    Act::BookPressureTest(PressureTestBooked {
        hold_point: hold("heating"),
        criterion: CriterionId::new("pressure").unwrap(),
        test: "whole floor".to_owned(),
        start_bar: start.to_owned(),
        end_bar: end.to_owned(),
        started_at: "08:10".to_owned(),
        ended_at: ended.to_owned(),
    })
}

#[test]
fn heating_is_asked_for_where_it_is_designed_and_its_test_is_judged() {
    let design = SEMI
        .replacen(
            "[[layers]]\nname = \"membrane\"",
            "[[layers]]\nname = \"heating\"\nrole = \"heating\"\nthickness_mm = 0\n\n[[layers]]\nname = \"membrane\"",
            1,
        )
        .replacen(
            "[reinforcement]",
            "[heating]\ntest_pressure_bar = 6\nhold_h = 1\nlargest_drop_bar = 0.2\nzones = [\"hall\", \"rooms\"]\n\
             source = \"invented\"\n\n[reinforcement]",
            1,
        );
    let mut desk = whole();
    assert!(desk.view().standing.hold_point(&hold("heating")).is_none());
    desk.issue(&design);
    let zones = desk.criterion("heating", "zones");
    assert_eq!(zones.limit.as_deref(), Some("zones hall, rooms (invented)"));
    let by = desk.supervisor.clone();
    desk.refused(pressure("six", "6", "09:10"), &by, "six");
    desk.refused(pressure("6", "6", "08:09"), &by, "must not be earlier than started_at");
    let first = desk.supervise(pressure("6", "5.799", "09:10"));
    desk.refused(pressure("6", "5.8", "09:10"), &by, "booked already");
    let found = desk.criterion("heating", "pressure");
    assert_eq!(found.verdict, Some(Nonconforming));
    assert!(found.findings.iter().any(|one| one.what.contains("fell by 0.201 bar, at most 0.2 bar")));
    desk.supervise(Act::Supersede {
        id: first,
        because: Because::Reworked,
        remark: None,
        with: Box::new(pressure("6", "5.8", "09:10")),
    });
    assert_eq!(verdict(&mut desk, "heating", "pressure"), Some(Conforming));
}

#[test]
fn ground_gas_is_asked_for_where_the_design_describes_it() {
    let table = "[ground_gas]\nclass = \"CS2\"\nmembrane = \"gas membrane, taped\"\nindependent_verification = true\n\
                 source = \"gas assessment, invented\"\n\n[reinforcement]";
    let damp = SEMI.replacen("[reinforcement]", table, 1);
    let told = FloorDesign::read(&damp).map(|_| ()).unwrap_err().to_string();
    assert!(told.contains("/membrane_required: must be `gas`"), "{told}");
    let mut desk = whole();
    let asked = |desk: &mut Desk, id: &str| {
        let view = desk.view();
        let own = view.standing.hold_point(&hold("membrane")).unwrap();
        own.criterion(&CriterionId::new(id).unwrap()).cloned()
    };
    assert!(asked(&mut desk, "ground-gas").is_none() && asked(&mut desk, "verification").is_none());
    let gas = damp
        .replace("membrane_required = \"damp\"", "membrane_required = \"gas\"")
        .replace("purpose = \"damp\"", "purpose = \"gas\"");
    desk.issue(&gas);
    let limit = asked(&mut desk, "ground-gas").unwrap().limit.unwrap();
    assert_eq!(limit, "CS2: gas membrane, taped (gas assessment, invented)");
    assert!(asked(&mut desk, "verification").unwrap().owed[0].what.contains("independent verifier"));
    desk.issue(&gas.replace("independent_verification = true", "independent_verification = false"));
    assert!(asked(&mut desk, "ground-gas").is_some() && asked(&mut desk, "verification").is_none());
}

#[test]
fn another_design_revision_judges_the_labels_anew() {
    let mut desk = whole();
    desk.supervise(Act::BookLabel(label("EPS 100", Some("90"), None)));
    desk.issue(&SEMI.replacen("limit_W_per_m2K = 0.18", "limit_W_per_m2K = 0.15", 1));
    assert_eq!(verdict(&mut desk, "overlay", "label"), Some(Nonconforming));
}
