//! The shipped plan, plans refused by place, and orders taken from designs.

use std::collections::{BTreeMap, BTreeSet};

use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

use super::*;
use crate::faults::Faults;
use crate::floor::FloorDesign;

const PLAN: &str = include_str!("../../../assets/hold-points.toml");
const SEMI: &str = include_str!("../../../assets/demo/semi.toml");
const SEMI_FAULT: &str = include_str!("../../../assets/demo/semi-gas-under-membrane.toml");
const TERRACE: &str = include_str!("../../../assets/demo/terrace.toml");

/// The shipped plan as it is written for floors whose beams another drawing settles: what it asks for only where
/// beams are drawn is cut out of the text, so that places and orders are those of the nine hold points of every floor.
static BARE: std::sync::LazyLock<String> = std::sync::LazyLock::new(|| {
    let mut chunks = PLAN.split("\n[[hold_points]]\n");
    let head = chunks.next().unwrap_or_default();
    let asked = |chunk: &&str| {
        !chunk.split("[[hold_points.criteria]]").next().unwrap_or_default().contains("only_where")
    };
    let mut text =
        head.replacen("[[gates]]\nid = \"ready-for-overlay\"\ntitle = \"Ready for overlay\"\n", "", 1);
    for chunk in chunks.filter(asked) {
        text.push_str("\n[[hold_points]]\n");
        text.push_str(chunk);
    }
    text.replace(", \"bearing-length\"", "")
        .replace(", \"overlay\", \"heating\"", "")
        .replace("covered_by = [\"pour\"]", "covered_by = [\"sign-off\"]")
        .replace(", \"infill\", \"multiple-beams\", \"end-blocks\", \"loadbearing-walls\"", "")
});

fn plan() -> PlanOfWork {
    PlanOfWork::read(&BARE).unwrap()
}

fn semi() -> FloorDesign {
    FloorDesign::read(SEMI).unwrap()
}

fn id(text: &str) -> HoldPointId {
    HoldPointId::new(text).unwrap()
}

fn ids(texts: &[&str]) -> BTreeSet<HoldPointId> {
    texts.iter().map(|text| id(text)).collect()
}

/// The shipped plan with one passage changed.
fn changed(from: &str, to: &str) -> String {
    assert!(BARE.contains(from), "no `{from}` in the plan");
    BARE.replacen(from, to, 1)
}

fn places(faults: &Faults) -> Vec<&str> {
    faults.iter().map(|fault| fault.place.as_str()).collect()
}

fn refused(text: &str, expect: &[&str]) {
    let faults = PlanOfWork::read(text).unwrap_err();
    assert_eq!(places(&faults), expect, "{faults}");
    assert!(faults.iter().all(|fault| fault.line.is_some() || fault.what == "is missing"), "{faults:?}");
}

/// A plan of these hold points: id, what it proves, what comes before, whether it is left out.
fn small_plan(points: &[(&str, &str, &[&str], bool)]) -> String {
    let mut text = "gaugerod_plan_of_work = 1\ntitle = \"t\"\nrevision = \"1\"\n\n[[gates]]\nid = \"g\"\ntitle = \"G\"\n".to_owned();
    for (id, proves, after, left_out) in points {
        let point = format!(
            "\n[[hold_points]]\nid = \"{id}\"\ntitle = \"{id}\"\nshort_title = \"{id}\"\ngate = \"g\"\nkind = \"hold\"\n\
             proves = \"{proves}\"\nafter = {after:?}\nleft_out = {left_out}\noffered_by = [\"supervisor\"]\n\
             released_by = [\"quality-manager\"]\ncriteria = [{{ id = \"c\", title = \"c\", source = \"common practice\", \
             question = {{ not_applicable_reasons = [] }} }}]\n"
        );
        text.push_str(&point);
    }
    text
}

#[test]
fn the_shipped_plan_asks_for_beams_only_where_they_are_drawn() {
    let plan = PlanOfWork::read(PLAN).unwrap();
    let ids_of = |plan: &PlanOfWork| -> Vec<String> {
        plan.hold_points.iter().map(|point| point.id.to_string()).collect()
    };
    let nine = [
        "oversite",
        "bearing-level",
        "dpc",
        "vents",
        "edge-blocks",
        "void-clean",
        "gas-pipes",
        "membrane",
        "sign-off",
    ];
    let terrace = plan.for_design(&FloorDesign::read(TERRACE).unwrap());
    assert_eq!(ids_of(&terrace), nine);
    assert_eq!(terrace.gates.len(), 4);
    let clears = |plan: &PlanOfWork| {
        plan.hold_point(&id("bearing-level")).unwrap().criteria.iter().any(|one| one.id.as_str() == "clears")
    };
    assert!(!clears(&terrace));
    let whole = plan.for_design(&semi());
    // Of all that the plan can ask for, the L-shaped house has no heating in its floor.
    assert_eq!(plan.hold_points.len(), whole.hold_points.len() + 1);
    assert!(whole.hold_point(&id("heating")).is_none() && plan.hold_point(&id("heating")).is_some());
    assert!(clears(&whole) && whole.gates.len() == 5 && terrace.hold_points.len() < whole.hold_points.len());
    assert!(!plan.self_release);
    for gate in &plan.gates {
        assert!(plan.in_gate(&gate.id).count() > 0, "{}", gate.id);
    }
    for point in &plan.hold_points {
        assert!(point.kind == HoldPointKind::Hold && !point.criteria.is_empty());
        assert!(!point.released_by.contains(&Role::Supervisor), "{}", point.id);
        // A photograph for every stage that is covered up; the sign-off covers nothing up.
        assert_eq!(point.evidence.is_empty(), point.id.as_str() == "sign-off", "{}", point.id);
    }
}

#[test]
fn order_without_a_stack_is_that_of_the_plan() {
    let before = prerequisites(&plan(), &semi());
    for (point, expect) in [
        ("oversite", ids(&[])),
        ("bearing-level", ids(&[])),
        ("vents", ids(&["oversite"])),
        ("dpc", ids(&["bearing-level"])),
        ("edge-blocks", ids(&["dpc"])),
        ("void-clean", ids(&["oversite", "bearing-level", "dpc", "vents", "edge-blocks"])),
    ] {
        assert_eq!(before[&id(point)], expect, "{point}");
    }
    assert_eq!(before[&id("sign-off")].len(), 8);
}

#[test]
fn the_stack_of_the_design_orders_pipes_and_layers() {
    // As designed the pipe lies under the beams, so it is proved before the membrane in the stack above it.
    let below = prerequisites(&plan(), &semi());
    assert_eq!(below[&id("membrane")], ids(&["void-clean", "gas-pipes"]));
    assert_eq!(below[&id("gas-pipes")], ids(&["void-clean"]));
    assert_eq!(covered_by(&plan(), &semi(), &id("gas-pipes")), ids(&["membrane", "sign-off"]));
    assert_eq!(covered_by(&plan(), &semi(), &id("membrane")), ids(&["sign-off"]));

    // In the terrace's stack the membrane lies under the overlay; a pipe in that overlay comes after it.
    let text = TERRACE.replacen("service = \"water\"", "service = \"gas\"", 1);
    let terrace = FloorDesign::read(&text).unwrap();
    let above = prerequisites(&plan(), &terrace);
    assert_eq!(above[&id("gas-pipes")], ids(&["void-clean", "membrane"]));
    assert_eq!(above[&id("membrane")], ids(&["void-clean"]));
    assert_eq!(covered_by(&plan(), &terrace, &id("membrane")), ids(&["gas-pipes", "sign-off"]));

    // Without a gas pipe neither waits for the other.
    let none = prerequisites(&plan(), &FloorDesign::read(TERRACE).unwrap());
    assert_eq!(none[&id("gas-pipes")], ids(&["void-clean"]));
    assert_eq!(none[&id("membrane")], ids(&["void-clean"]));
}

#[test]
fn membrane_and_overlay_come_in_the_order_of_the_stack() {
    let plan = PlanOfWork::read(&small_plan(&[
        ("overlay", "overlay", &[], false),
        ("membrane", "membrane", &[], false),
    ]))
    .unwrap();
    let over = prerequisites(&plan, &semi());
    assert_eq!((over[&id("membrane")].clone(), over[&id("overlay")].clone()), (ids(&["overlay"]), ids(&[])));
    let terrace = FloorDesign::read(TERRACE).unwrap();
    let under = prerequisites(&plan, &terrace);
    assert_eq!(
        (under[&id("membrane")].clone(), under[&id("overlay")].clone()),
        (ids(&[]), ids(&["membrane"]))
    );
    assert_eq!(covered_by(&plan, &terrace, &id("membrane")), ids(&["overlay"]));
    assert_eq!(covered_by(&plan, &terrace, &id("overlay")), ids(&[]));
}

#[test]
fn what_came_after_a_hold_point_left_out_comes_after_what_that_came_after() {
    let plan = PlanOfWork::read(&small_plan(&[
        ("a", "ground", &[], false),
        ("b", "bearing", &["a"], true),
        ("c", "dpc", &["b"], true),
        ("d", "void", &["c"], false),
    ]))
    .unwrap();
    let left: Vec<_> = plan.hold_points.iter().map(|point| point.id.as_str()).collect();
    assert_eq!(left, ["a", "d"]);
    assert_eq!(plan.hold_points[1].after, [id("a")]);
}

#[test]
fn what_the_design_does_not_describe_is_not_asked_for() {
    let text = small_plan(&[
        ("a", "ground", &[], false),
        ("b", "heating", &["a"], false),
        ("d", "topping", &["b"], false),
    ]);
    let text = text.replacen("short_title = \"b\"", "short_title = \"b\"\nonly_where = \"heating\"", 1);
    let plan = PlanOfWork::read(&text).unwrap();
    let without = semi();
    let left = plan.for_design(&without);
    assert_eq!(left.hold_points.iter().map(|one| one.id.as_str()).collect::<Vec<_>>(), ["a", "d"]);
    assert_eq!(left.hold_points[1].after, [id("a")]);
    let mut with = without;
    with.layers[0].role = crate::floor::LayerRole::Heating;
    assert_eq!(plan.for_design(&with), plan);
}

#[test]
fn a_circle_of_prerequisites_is_refused_at_every_hold_point_in_it() {
    let text = small_plan(&[
        ("a", "ground", &["c"], false),
        ("b", "bearing", &["a"], false),
        ("c", "dpc", &["b"], false),
        ("d", "void", &["c"], false),
    ]);
    refused(&text, &["/hold_points/0/after", "/hold_points/1/after", "/hold_points/2/after"]);
    refused(
        &small_plan(&[("a", "ground", &["a"], false)]),
        &["/hold_points/0/after", "/hold_points/0/after/0"],
    );
}

#[test]
fn an_order_that_the_stack_decides_is_refused_even_through_others() {
    let text = small_plan(&[
        ("m", "membrane", &["x"], false),
        ("x", "dpc", &["g"], false),
        ("g", "gas", &[], false),
    ]);
    refused(&text, &["/hold_points/0/after"]);
}

#[test]
fn nothing_comes_after_the_whole_floor() {
    let text = small_plan(&[("s", "floor", &[], false), ("x", "dpc", &["s"], false)]);
    refused(&text, &["/hold_points/1/after"]);
}

#[test]
fn faults_come_by_place() {
    let first = "/hold_points/0";
    refused(&changed("after = [\"bearing-level\"]", "after = [\"bearing\"]"), &["/hold_points/2/after/0"]);
    refused(&changed("covered_by = [\"dpc\"]", "covered_by = [\"dcp\"]"), &["/hold_points/1/covered_by/0"]);
    refused(&changed("gate = \"ready-for-beams\"", "gate = \"ready\""), &[&format!("{first}/gate")]);
    refused(
        &changed("released_by = [\"quality-manager\"]", "released_by = [\"boss\"]"),
        &[&format!("{first}/released_by/0")],
    );
    refused(
        &changed("name = \"void\"", "name = \"voids\""),
        &[&format!("{first}/criteria/2/reckoning/name")],
    );
    refused(
        &changed("name = \"void\"", "name = \"limit\""),
        &[&format!("{first}/criteria/2/reckoning/name")],
    );
    refused(
        &changed("feed = \"ground-levels\"", "feed = \"grounds\""),
        &[&format!("{first}/criteria/2/reckoning/feed")],
    );
    refused(
        &changed("each = \"point\"", "each = \"wall\""),
        &[&format!("{first}/criteria/2/reckoning/each")],
    );
    refused(&changed(", each = \"point\"", ""), &[&format!("{first}/criteria/2/reckoning")]);
    refused(
        &changed("each = \"point\"", "each = \"point\", at_least = 2"),
        &[&format!("{first}/criteria/2/reckoning")],
    );
    refused(&changed("at_least = 2", "at_least = 0"), &["/hold_points/2/criteria/2/reckoning/at_least"]);
    refused(
        &changed("feed = \"build-up\"", "feed = \"build-up\", at_least = 1"),
        &["/hold_points/1/criteria/0/reckoning"],
    );
    refused(
        &changed("source = \"Approved Document C (England)\"", "source = \" \""),
        &[&format!("{first}/criteria/0/source")],
    );
    refused(
        &changed("  source = \"Approved Document C (England)\"\n", ""),
        &[&format!("{first}/criteria/0/source")],
    );
    refused(&changed("question = { not_applicable_reasons = [] }", ""), &[&format!("{first}/criteria/0")]);
    refused(
        &changed("id = \"ground-as-designed\"", "id = \"stripped\""),
        &[&format!("{first}/criteria/1/id")],
    );
    refused(
        &changed("subject = \"level-book\"", "subject = \"wall-top\""),
        &["/hold_points/1/evidence/1/subject"],
    );
    refused(
        &changed("subject = \"level-book\"", "subject = \"Level Book\""),
        &["/hold_points/1/evidence/1/subject"],
    );
    refused(
        &changed("short_title = \"Oversite\"", "short_title = \"Oversite that is too long 25\""),
        &[&format!("{first}/short_title")],
    );
    refused(
        &changed("id = \"edge-blocks\"", "id = \"vents\""),
        &["/hold_points/4/id", "/hold_points/5/after/4"],
    );
    refused(
        &changed(
            "[[gates]]\nid = \"finished\"",
            "[[gates]]\nid = \"empty\"\ntitle = \"Empty\"\n\n[[gates]]\nid = \"finished\"",
        ),
        &["/gates/3/id"],
    );
    refused(
        &changed("id = \"ready-to-pour\"", "id = \"finished\""),
        &["/gates/3/id", "/hold_points/6/gate", "/hold_points/7/gate"],
    );
}

#[test]
fn a_newer_plan_is_refused_by_name() {
    let faults =
        PlanOfWork::read(&changed("gaugerod_plan_of_work = 1", "gaugerod_plan_of_work = 9")).unwrap_err();
    assert!(faults.to_string().contains("format 9 is newer"), "{faults}");
}

#[test]
fn what_is_owed_is_named_from_the_design() {
    let (plan, design) = (plan(), semi());
    let owing = |point: &str, criterion: &str, design: &FloorDesign| {
        let point = plan.hold_point(&id(point)).unwrap();
        point.criterion(&CriterionId::new(criterion).unwrap()).unwrap().owing(design)
    };
    assert_eq!(owing("bearing-level", "level", &design).points.len(), 16);
    assert_eq!(
        owing("bearing-level", "build-up", &design),
        Owing { points: vec![], wanted: vec![], at_least: 0 }
    );
    assert_eq!(owing("oversite", "level", &design).at_least, 5);
    assert_eq!(owing("vents", "openings", &design).points.len(), 8);
    assert_eq!(owing("dpc", "lap", &design).points.len(), 3);
    assert_eq!(owing("dpc", "height", &design), Owing { points: vec![], wanted: vec![], at_least: 2 });
    assert_eq!(owing("membrane", "lap", &design), Owing { points: vec![], wanted: vec![], at_least: 3 });
    assert_eq!(owing("membrane", "sealed", &design).at_least, 0);
    let photos = plan.hold_point(&id("vents")).unwrap().evidence_of("vent").unwrap().owing(&design);
    assert_eq!(photos.len(), 8);
    let bare = SEMI.replacen("role = \"membrane\"\npurpose = \"damp\"", "role = \"finish\"", 1);
    assert_eq!(owing("membrane", "lap", &FloorDesign::read(&bare).unwrap()).at_least, 0);
}

#[test]
fn every_feed_has_a_key_that_ends_in_its_unit() {
    for feed in Feed::ALL {
        match (feed.key(), feed.unit()) {
            (None, None) => {}
            (Some(key), Some(ReadingUnit::LevelMetres)) => assert!(key.ends_with("_m"), "{key}"),
            (Some(key), Some(ReadingUnit::Millimetres)) => assert!(key.ends_with("_mm"), "{key}"),
            (Some(key), Some(ReadingUnit::SquareMillimetres)) => assert!(key.ends_with("_mm2"), "{key}"),
            other => panic!("{feed:?}: {other:?}"),
        }
        // Limits by name are of the `limit` reckoning; others of it have theirs in a table of the design.
        assert!(feed.least().is_none() || feed.reckoning() == ReckoningName::Limit, "{feed:?}");
    }
}

#[test]
fn roles_read_back_what_they_print() {
    for role in Role::ALL {
        assert_eq!(role.to_string().parse(), Ok(role));
        assert_eq!(serde_json::to_value(role).unwrap(), role.as_str());
    }
    assert!("boss".parse::<Role>().unwrap_err().contains("quality-manager"));
}

#[test]
fn the_order_of_hold_points_in_the_file_changes_no_prerequisite() {
    let parts: Vec<&str> = PLAN.split("[[hold_points]]").collect();
    let (head, points) = parts.split_first().unwrap();
    let design = semi();
    let whole = PlanOfWork::read(PLAN).unwrap();
    let expect: BTreeMap<_, _> = prerequisites(&whole, &design);
    let config = Config { cases: 64, failure_persistence: None, ..Config::default() };
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[7; 32]);
    TestRunner::new_with_rng(config, rng)
        .run(&Just(points.to_vec()).prop_shuffle(), |shuffled| {
            let text: String = std::iter::once((*head).to_owned())
                .chain(shuffled.iter().map(|part| format!("[[hold_points]]{part}\n")))
                .collect();
            let plan = PlanOfWork::read(&text).unwrap();
            prop_assert_eq!(&prerequisites(&plan, &design), &expect);
            for point in &plan.hold_points {
                prop_assert_eq!(
                    covered_by(&plan, &design, &point.id),
                    covered_by(&whole, &design, &point.id)
                );
            }
            Ok(())
        })
        .unwrap();
}

#[test]
fn reasons_are_the_sites_own_and_a_list_that_is_left_out_is_none() {
    let reasons = plan().reasons;
    assert_eq!(reasons.covered, ["next trade went on", "nobody was there to release it", "found covered"]);
    assert!([&reasons.refused, &reasons.raised, &reasons.closed].iter().all(|list| !list.is_empty()));
    let own = format!("{}\n[reasons]\nraised = [\"cracked\"]\n", small_plan(&[("a", "ground", &[], false)]));
    let own = PlanOfWork::read(&own).unwrap().reasons;
    assert_eq!(own, Reasons { raised: vec!["cracked".to_owned()], ..Reasons::default() });
    assert_eq!(
        PlanOfWork::read(&small_plan(&[("a", "ground", &[], false)])).unwrap().reasons,
        Reasons::default()
    );
}

#[test]
fn reasons_that_nobody_could_pick_are_refused_all_at_once_with_their_places() {
    let list = |count: usize| {
        let reasons: Vec<String> = (0..count).map(|number| format!("reason {number}")).collect();
        format!("covered = {reasons:?}\n")
    };
    let shipped = PLAN.lines().find(|line| line.starts_with("covered = [\"next")).unwrap();
    let shipped = format!("{shipped}\n");
    for (count, sound) in [(0, false), (1, true), (19, true), (20, true), (21, false)] {
        let text = changed(&shipped, &list(count));
        if sound {
            assert_eq!(PlanOfWork::read(&text).unwrap().reasons.covered.len(), count);
        } else {
            refused(&text, &["/reasons/covered"]);
        }
    }
    for (length, sound) in [(79, true), (80, true), (81, false)] {
        let text = changed(&shipped, &format!("covered = [\"{}\"]\n", "x".repeat(length)));
        assert_eq!(PlanOfWork::read(&text).is_ok(), sound, "{length}");
    }
    let text = changed(&shipped, "covered = [\"a\", \" \", \"a\", \"two\\nlines\"]\n");
    let text = text.replacen("raised = [\"not as drawn\"", "raised = [\"missing\"", 1);
    let text = text.replacen("[reasons]\n", "[reasons]\nguessed = []\n", 1);
    let faults = PlanOfWork::read(&text).unwrap_err();
    assert_eq!(places(&faults), ["/reasons/guessed"], "the form comes first: {faults}");
    let text = text.replacen("guessed = []\n", "", 1);
    refused(&text, &["/reasons/covered/1", "/reasons/covered/2", "/reasons/covered/3", "/reasons/raised/2"]);
}

#[test]
fn a_plan_cut_short_is_refused_without_a_panic() {
    for end in (0..PLAN.len() - 200).step_by(131).filter(|end| PLAN.is_char_boundary(*end)) {
        // A plan may end between two hold points, but then its gates or ties miss something.
        assert!(PlanOfWork::read(&PLAN[..end]).is_err(), "cut at {end}");
    }
}

#[test]
fn the_build_up_of_the_demo_plots_comes_out_as_worked_by_hand() {
    use crate::reckon::build_up;
    for (text, soffit, bearing, lowest, ground) in [
        // 48.150 − 0.080 − 0 − 0.090 − 0.160 = 47.820; − 0.010; − 0.025; − 0.150 − 0.050.
        (SEMI, "47.82", "47.81", "47.785", "47.585"),
        // 52.300 − 0.020 − 0.075 − 0.100 − 0.150 = 51.955; − 0.010; − 0.020; − 0.150.
        (TERRACE, "51.955", "51.945", "51.925", "51.775"),
    ] {
        let output = build_up::reckon(&FloorDesign::read(text).unwrap().build_up_input()).unwrap();
        assert_eq!(output.beam_soffit_level_m.0.to_m_text(), soffit);
        assert_eq!(output.bearing_level_m.0.to_m_text(), bearing);
        assert_eq!(output.lowest_point_m.0.to_m_text(), lowest);
        assert_eq!(output.highest_ground_level_m.0.to_m_text(), ground);
    }
}

#[test]
fn the_gas_pipe_under_the_membrane_is_found_and_the_moved_one_passes() {
    use crate::conformity::Verdict;
    use crate::reckon::layer_order;
    let judge =
        |text: &str| layer_order::reckon(&FloorDesign::read(text).unwrap().layer_order_input()).unwrap();
    // The pipe is 3600 long; the membrane ends at x 7000, so 2200 of it lie under the membrane.
    let fault = judge(SEMI_FAULT);
    assert_eq!(fault.verdict, Verdict::Nonconforming);
    assert_eq!(fault.covered_length_mm.map(|length| length.0.to_mm_text()), Some("2200".to_owned()));
    assert_eq!(judge(SEMI).verdict, Verdict::Conforming);
    assert_eq!(judge(TERRACE).verdict, Verdict::Conforming);

    // A second gas pipe that has no path cannot hide behind one that is drawn clear of the membrane.
    let clear =
        SEMI_FAULT.replacen("[[8400, 2200], [6100, 2200], [6100, 900]]", "[[8400, 2200], [7100, 2200]]", 1);
    assert_eq!(judge(&clear).verdict, Verdict::Undetermined);
    let second = "[[services]]\nname = \"second\"\nservice = \"gas\"\nin = \"overlay\"\n\n[[membranes]]";
    assert_eq!(judge(&clear.replacen("[[membranes]]", second, 1)).verdict, Verdict::Nonconforming);
}
