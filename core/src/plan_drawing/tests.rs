//! Drawings of the demo plot, whose figures are its own arithmetic (see the design), and the rules of the walk.

use super::labels::{Room, around};
use super::*;
use crate::conformity::Verdict;
use crate::entry::ReadValue;
use crate::ids::{CriterionId, DeviceId, EntryId};
use crate::inspection::fold::{Noted, Settlement};
use crate::inspection::judge::{FindingStanding, ReadingStanding, Trial};
use crate::inspection::level_book::Certainty;
use crate::plan_of_work::{CriterionKind, Feed, Owed};
use crate::time::Timestamp;

const SEMI: &str = include_str!("../../../assets/demo/semi.toml");

fn semi() -> FloorDesign {
    FloorDesign::read(SEMI).unwrap()
}

fn name(text: &str) -> PointName {
    PointName::new(text).unwrap()
}

fn noted() -> Noted {
    Noted {
        id: EntryId([1; 32]),
        author: None,
        device: DeviceId([2; 16]),
        time: Timestamp::new(1_790_000_000_000, 60).unwrap(),
        order: 0,
    }
}

fn reading(point: &str, deviation_mm: i64, verdict: Verdict) -> ReadingStanding {
    ReadingStanding {
        entry: EntryId([3; 32]),
        point: name(point),
        value: ReadValue::Um(47_810_000 + deviation_mm * 1000),
        trial: Some(Trial {
            verdict,
            deviation: Some(Length::from_mm(deviation_mm)),
            probability: None,
            words: String::new(),
        }),
        instrument: None,
        noted: noted(),
        settled: None,
        supersedes: None,
        certainty: Certainty::default(),
        trace: None,
    }
}

fn criterion(feed: Feed, points: Vec<PointName>, readings: Vec<ReadingStanding>) -> CriterionStanding {
    CriterionStanding {
        id: CriterionId::new("level").unwrap(),
        title: "levels".to_owned(),
        source: "floor design".to_owned(),
        kind: CriterionKind::Reckoning { reckoning: feed.reckoning(), feed, owed: Owed::EachPoint },
        limit: None,
        points,
        readings,
        answer: None,
        documents: Vec::new(),
        findings: Vec::new(),
        reckoned: Vec::new(),
        papers: Vec::new(),
        verdict: None,
        owed: Vec::new(),
    }
}

/// The levels of the demo plot (A +1 0 −2 +1 −3 −1; B +2 0 +1 −4 +9 −2; C 0 −2 +4 −1) with the verdicts that its
/// arithmetic gives under +5/−10, U 3 guarded: B5 nonconforming, C3 undetermined, the rest conforming.
fn levels() -> CriterionStanding {
    let mut readings = Vec::new();
    for (wall, deviations) in
        [("A", &[1, 0, -2, 1, -3, -1][..]), ("B", &[2, 0, 1, -4, 9, -2]), ("C", &[0, -2, 4, -1])]
    {
        for (number, deviation) in (1..).zip(deviations) {
            let verdict = match deviation {
                9 => Verdict::Nonconforming,
                4 => Verdict::Undetermined,
                _ => Verdict::Conforming,
            };
            readings.push(reading(&format!("{wall}{number}"), *deviation, verdict));
        }
    }
    criterion(Feed::BearingLevels, semi().bearing_point_names(), readings)
}

fn drawn(criterion: &CriterionStanding) -> Drawing {
    Drawing::of(&semi(), Some(criterion), Parts { services: true, membranes: true })
}

#[test]
fn walls_close_the_outline_and_stand_outside_of_it() {
    let drawing = drawn(&levels());
    // Three walls of the design, and the edges of the outline that none of them covers: 1, 3 and 5.
    let names: Vec<_> = drawing.walls.iter().map(|wall| wall.name.as_ref().map(PointName::as_str)).collect();
    assert_eq!(names, [Some("A"), Some("B"), Some("C"), None, None, None]);
    // Each goes on over the outer wall that it meets at its end: 100 thick, or B with its 215.
    assert_eq!(drawing.walls[0].line, [[-100.0, -50.0], [8500.0, -50.0]]);
    assert_eq!(drawing.walls[1].line, [[-100.0, 4107.5], [8500.0, 4107.5]]);
    assert_eq!(drawing.walls[2].line, [[-100.0, 7665.0], [5300.0, 7665.0]]);
    assert_eq!(drawing.walls[3].line, [[8450.0, -100.0], [8450.0, 4215.0]]);
    // Edge 3 begins at B's own face and ends over C; edge 5 runs from C down to A.
    assert_eq!(drawing.walls[4].line, [[5250.0, 4000.0], [5250.0, 7715.0]]);
    assert_eq!(drawing.walls[5].line, [[-50.0, 7715.0], [-50.0, -100.0]]);
    assert_eq!(drawing.bounds(), [[-100.0, -100.0], [8500.0, 7715.0]]);
    // The other winding says the same.
    let corners = "outline_mm = [[0, 0], [8400, 0], [8400, 4000], [5200, 4000], [5200, 7615], [0, 7615]]";
    let turned = "outline_mm = [[0, 7615], [5200, 7615], [5200, 4000], [8400, 4000], [8400, 0], [0, 0]]";
    let text = SEMI.replace(corners, turned).replace("edge = 0\n", "edge = 4\n");
    let turned =
        FloorDesign::read(&text.replace("exposed_edges = [0, 1, 2, 3, 4]", "exposed_edges = [0, 2, 4]"));
    let turned = Drawing::of(&turned.unwrap(), None, Parts::default());
    assert_eq!(turned.bounds(), drawing.bounds());
}

#[test]
fn openings_services_and_membranes_lie_where_the_design_says() {
    let drawing = drawn(&levels());
    assert_eq!(drawing.vents.len(), 8);
    assert_eq!((drawing.vents[0].at, drawing.vents[0].outward), ([900.0, -50.0], [0.0, -1.0]));
    let route = [[8400.0, 2200.0], [6100.0, 2200.0], [6100.0, 900.0]];
    assert_eq!(drawing.services[0].route, route);
    // No membrane outline is drawn: it covers the whole floor.
    assert_eq!(drawing.membranes, std::slice::from_ref(&drawing.outline));
    let bare = Drawing::of(&semi(), None, Parts::default());
    assert!(bare.services.is_empty() && bare.membranes.is_empty() && bare.points.is_empty());
}

#[test]
fn a_gas_pipe_is_marked_where_a_membrane_lies_over_it_and_nowhere_else() {
    // The invented plot's own figures: of 3600 mm of pipe the membrane covers 2200, from x 7000 to the turn and on to
    // the pipe's end.
    let text = include_str!("../../../assets/demo/semi-gas-under-membrane.toml");
    let design = FloorDesign::read(text).unwrap();
    let drawing = Drawing::of(&design, None, Parts { services: true, membranes: true });
    assert_eq!(drawing.trapped_gas, [vec![[7000.0, 2200.0], [6100.0, 2200.0], [6100.0, 900.0]]]);
    // Below the beams gas reaches the void, which is ventilated: nothing is marked.
    assert!(drawn(&levels()).trapped_gas.is_empty());
}

#[test]
fn walls_carry_the_weightiest_of_what_was_read_on_them() {
    let standing = |drawing: &Drawing| drawing.walls.iter().map(|wall| wall.standing).collect::<Vec<_>>();
    let verdict = |one| Some(Standing::Verdict(one));
    let all = levels();
    assert_eq!(
        standing(&drawn(&all)),
        [
            verdict(Verdict::Conforming),
            verdict(Verdict::Nonconforming),
            verdict(Verdict::Undetermined),
            None,
            None,
            None
        ]
    );
    // A point that is not read leaves its wall open; one that does not conform outweighs it.
    let mut less = levels();
    less.readings.retain(|one| !["A4", "B1"].contains(&one.point.as_str()));
    assert_eq!(standing(&drawn(&less))[..2], [Some(Standing::Owed), verdict(Verdict::Nonconforming)]);
    // What was found between two points of a wall counts for the wall, unless it is settled or only a caution.
    let found = |settled, caution| {
        let mut one = levels();
        one.findings.push(FindingStanding {
            what: String::new(),
            source: String::new(),
            verdict: Verdict::Nonconforming,
            caution,
            points: vec![name("A1"), name("A2")],
            settled,
        });
        standing(&drawn(&one))[0]
    };
    assert_eq!(found(false, false), verdict(Verdict::Nonconforming));
    assert_eq!(found(true, false), verdict(Verdict::Conforming));
    assert_eq!(found(false, true), verdict(Verdict::Conforming));
    // A concession is not the same as conforming.
    let mut conceded = levels();
    let settlement = Settlement { how: String::new(), concession: true, document: None, noted: noted() };
    conceded.readings[10].settled = Some(settlement.clone());
    assert_eq!(standing(&drawn(&conceded))[1], Some(Standing::Conceded));
    conceded.readings[10].settled = Some(Settlement { concession: false, ..settlement });
    assert_eq!(standing(&drawn(&conceded))[1], Some(Standing::Closed(Verdict::Nonconforming)));
}

#[test]
fn the_worst_are_those_that_do_not_conform_then_those_furthest_off() {
    let named = |drawing: &Drawing| -> Vec<String> {
        drawing.worst.iter().map(|place| drawing.points[*place].name.to_string()).collect()
    };
    assert_eq!(named(&drawn(&levels())), ["B5", "C3", "B4", "A5", "A3"]);
    // More void than asked for is not off. G1 to G5 of the demo plot: 249 217 192 259 234 against 200.
    let ground: Vec<_> = [(1, 49), (2, 17), (3, -8), (4, 59), (5, 34)]
        .map(|(number, margin)| {
            let verdict = if margin < 0 { Verdict::Nonconforming } else { Verdict::Conforming };
            reading(&format!("G{number}"), margin, verdict)
        })
        .into();
    let drawing = drawn(&criterion(Feed::GroundLevels, semi().ground_point_names(), ground));
    assert_eq!(named(&drawing), ["G3"]);
    assert!(drawing.walls.iter().all(|wall| wall.standing.is_none()));
}

#[test]
fn offsets_are_drawn_outwards_to_the_largest_usual_scale_that_reaches_no_further_than_reason() {
    let drawing = drawn(&levels());
    // 9 mm: 50 times is 450 mm, 100 times would be 900.
    assert_eq!(drawing.exaggeration, 50.0);
    let (_, b5) = drawing.point(&name("B5")).unwrap();
    assert_eq!((b5.at, b5.outward), ([6600.0, 4107.5], [0.0, 1.0]));
    assert_eq!(drawing.tip(b5), Some([6600.0, 4557.5]));
    let (_, a5) = drawing.point(&name("A5")).unwrap();
    assert_eq!(drawing.tip(a5), Some([6600.0, 100.0]), "too low: into the floor");
    let at = |furthest: i64| {
        let readings = vec![reading("A1", furthest, Verdict::Conforming)];
        drawn(&criterion(Feed::BearingLevels, vec![name("A1")], readings)).exaggeration
    };
    // The bound itself, and just past it.
    assert_eq!(
        [at(0), at(3), at(4), at(7), at(8), at(14), at(15)],
        [200.0, 200.0, 100.0, 100.0, 50.0, 50.0, 20.0]
    );
    assert_eq!(at(20_000), 1.0);
    let far = drawn(&criterion(
        Feed::BearingLevels,
        vec![name("A1")],
        vec![reading("A1", 20_000, Verdict::Nonconforming)],
    ));
    assert_eq!(far.tip(&far.points[0]), Some([200.0, -1450.0]), "what lies beyond reason ends there");
}

#[test]
fn north_is_drawn_only_where_the_design_says_it_and_clockwise_from_the_y_axis() {
    assert_eq!(drawn(&levels()).north, None);
    let north = |degrees: &str| {
        let text = SEMI.replace("exposed_edges =", &format!("north_degrees = {degrees}\nexposed_edges ="));
        Drawing::of(&FloorDesign::read(&text).unwrap(), None, Parts::default()).north.unwrap()
    };
    // sin and cos of 0, 90, 180, 270 and 30 degrees.
    let near = |[x, y]: Place, [u, v]: Place| (x - u).abs() < 1e-12 && (y - v).abs() < 1e-12;
    assert!(near(north("0"), [0.0, 1.0]));
    assert!(near(north("90"), [1.0, 0.0]));
    assert!(near(north("180"), [0.0, -1.0]));
    assert!(near(north("270"), [-1.0, 0.0]));
    assert!(near(north("360"), [0.0, 1.0]));
    assert!(near(north("30"), [0.5, 0.75_f64.sqrt()]));
}

/// Walks from `from`, everything in `read` left out, until nothing is left.
fn walk(drawing: &Drawing, from: &str, read: &[&str]) -> Vec<String> {
    let mut read: Vec<PointName> = read.iter().chain([&from]).map(|one| name(one)).collect();
    let mut way = Vec::new();
    while let Some(next) = drawing.next_point(read.last(), |point| !read.contains(point)) {
        way.push(next.to_string());
        read.push(next.clone());
    }
    way
}

#[test]
fn the_walk_keeps_to_its_wall_and_goes_on_at_the_nearer_end_of_the_next() {
    let drawing = drawn(&levels());
    let way = walk(&drawing, "A1", &[]);
    let expect = ["A2", "A3", "A4", "A5", "A6", "B6", "B5", "B4", "B3", "B2", "B1", "C1", "C2", "C3", "C4"];
    assert_eq!(way, expect);
    // From the other end backwards; whoever begins in the middle goes on as they began.
    assert_eq!(walk(&drawing, "A6", &[])[..6], ["A5", "A4", "A3", "A2", "A1", "B1"]);
    assert_eq!(walk(&drawing, "A3", &["A4"])[..5], ["A2", "A1", "A5", "A6", "B6"]);
    // Equally near: the later in the order of booking.
    assert_eq!(walk(&drawing, "A3", &[])[0], "A4");
    // The last wall is followed by the first; a wall that is read is passed over.
    assert_eq!(walk(&drawing, "C4", &["C1", "C2", "C3"])[0], "A6");
    assert_eq!(
        walk(&drawing, "A6", &["A1", "A2", "A3", "A4", "A5", "B1", "B2", "B3", "B4", "B5", "B6"])[0],
        "C4"
    );
}

#[test]
fn the_walk_begins_with_the_first_point_and_ends_when_all_are_read() {
    let drawing = drawn(&levels());
    assert_eq!(drawing.next_point(None, |_| true), Some(&name("A1")));
    assert_eq!(drawing.next_point(None, |point| point.as_str() > "B"), Some(&name("B1")));
    assert_eq!(drawing.next_point(Some(&name("A1")), |_| false), None);
    // A point that the plan does not draw leads to the first that is free.
    assert_eq!(drawing.next_point(Some(&name("Z9")), |_| true), Some(&name("A1")));
}

#[test]
fn every_walk_comes_to_every_point_once() {
    let drawing = drawn(&levels());
    for from in &drawing.points {
        let mut way = walk(&drawing, from.name.as_str(), &[]);
        way.push(from.name.to_string());
        way.sort();
        let mut all: Vec<_> = drawing.points.iter().map(|one| one.name.to_string()).collect();
        all.sort();
        assert_eq!(way, all, "from {}", from.name);
    }
}

#[test]
fn labels_never_overlap_and_never_leave_the_area() {
    let mut room = Room::new([[0.0, 0.0], [100.0, 60.0]]);
    room.take([[40.0, 20.0], [60.0, 40.0]]);
    let mut placed = vec![[[40.0, 20.0], [60.0, 40.0]]];
    for number in 0..400_u32 {
        let at = [f64::from(number * 37 % 101), f64::from(number * 23 % 61)];
        let spots = [at, [at[0] + 9.0, at[1]], [at[0], at[1] + 5.0]];
        if let Some(centre) = room.place([12.0, 4.0], spots) {
            placed.push(around(centre, [12.0, 4.0]));
        }
    }
    assert!(placed.len() > 20, "{} placed", placed.len());
    for (index, a) in placed.iter().enumerate() {
        assert!((0..2).all(|axis| 0.0 <= a[0][axis] && a[1][axis] <= [100.0, 60.0][axis]), "{a:?}");
        for b in &placed[index + 1..] {
            assert!((0..2).any(|axis| a[1][axis] <= b[0][axis] || b[1][axis] <= a[0][axis]), "{a:?} {b:?}");
        }
    }
    // Side by side is not over one another.
    let mut room = Room::new([[0.0, 0.0], [20.0, 4.0]]);
    assert!(room.place([10.0, 4.0], [[5.0, 2.0]]).is_some());
    assert!(room.place([10.0, 4.0], [[14.9, 2.0]]).is_none());
    assert!(room.place([10.0, 4.0], [[15.0, 2.0]]).is_some());
}

#[test]
fn scales_are_those_of_iso_5455_and_the_largest_that_fits() {
    // ISO 5455:1979, table 1: reduction scales 1:10, 1:20, 1:50, 1:100, 1:200, 1:500, 1:1000 …
    let room = [150.0, 150.0];
    for (size, expect) in [
        (1_500.0, 10),
        (1_500.1, 20),
        (7_500.0, 50),
        (7_500.1, 100),
        (15_000.0, 100),
        (30_001.0, 500),
        (1e9, 1_000_000),
    ] {
        assert_eq!(measure::scale([size, 10.0], room), expect, "{size}");
        assert_eq!(measure::scale([10.0, size], room), expect, "{size}");
    }
    for (most, expect) in [
        (0.5, 1),
        (1.0, 1),
        (999.0, 500),
        (1_200.0, 1_000),
        (2_100.0, 2_000),
        (4_999.0, 2_000),
        (5_000.0, 5_000),
        (f64::NAN, 1),
    ] {
        assert_eq!(measure::round_mm(most), expect, "{most}");
    }
    assert_eq!([500, 1_000, 20_000].map(measure::length_text), ["500 mm", "1 m", "20 m"]);
}

#[test]
fn hatching_of_a_square_has_the_length_geometry_gives() {
    // Lines of 45° through a square of side s, a distance d apart: their whole length times d is nearly its area.
    let square = [[3.0, 3.0], [43.0, 3.0], [43.0, 43.0], [3.0, 43.0]];
    for lean in [hatch::Lean::Rising, hatch::Lean::Falling] {
        let lines = hatch::lines(&square, lean, 0.5);
        let whole: f64 = lines.iter().map(|[a, b]| length([b[0] - a[0], b[1] - a[1]])).sum();
        assert!((whole * 0.5 / 1600.0 - 1.0).abs() < 0.01, "{whole}");
        for [a, b] in lines {
            for at in [a, b] {
                assert!(at.iter().all(|one| (3.0 - 1e-9..=43.0 + 1e-9).contains(one)), "{at:?}");
            }
        }
    }
    assert!(hatch::lines(&[], hatch::Lean::Rising, 1.0).is_empty());
    assert!(hatch::lines(&[[f64::NAN, 0.0]], hatch::Lean::Rising, 1.0).is_empty());
}

/// Near enough for drawing.
fn near(a: Place, b: Place) -> bool {
    length([a[0] - b[0], a[1] - b[1]]) < 1e-6
}

#[test]
fn a_picture_lies_where_its_two_places_put_it() {
    // One width of the picture is 12 m; its upper left corner lies at (-1000, 9000); it is not turned.
    let upright =
        Similarity::between([[0.25, 0.5], [0.75, 0.5]], [[2_000.0, 3_000.0], [8_000.0, 3_000.0]]).unwrap();
    assert!((upright.width_mm() - 12_000.0).abs() < 1e-6);
    let corners = upright.corners(0.75);
    for (corner, expect) in
        corners.into_iter().zip([[-1_000.0, 9_000.0], [11_000.0, 9_000.0], [11_000.0, 0.0], [-1_000.0, 0.0]])
    {
        assert!(near(corner, expect), "{corner:?} {expect:?}");
    }
    // Turned a quarter: the picture's rows run up the plan.
    let turned = Similarity::between([[0.0, 0.0], [1.0, 0.0]], [[0.0, 0.0], [0.0, 1_000.0]]).unwrap();
    assert!(near(turned.place([1.0, 0.0]), [0.0, 1_000.0]));
    assert!(near(turned.place([0.0, 1.0]), [1_000.0, 0.0]), "down the picture is to the right");
    // Never mirrored: going round the picture clockwise is going round the plan clockwise.
    for similarity in [upright, turned] {
        let [a, b, c, _] = similarity.corners(1.0);
        let turn = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
        assert!(turn < 0.0);
    }
}

#[test]
fn both_places_come_to_lie_on_their_places_of_the_plan_however_it_is_turned() {
    for step in 0..48_u32 {
        let angle = f64::from(step) * 7.5_f64.to_radians();
        let (picture, first) = ([[0.2, 0.9], [0.7, 0.3]], [1_234.5, -678.9]);
        let second = [first[0] + 5_000.0 * angle.cos(), first[1] + 5_000.0 * angle.sin()];
        let similarity = Similarity::between(picture, [first, second]).unwrap();
        assert!(near(similarity.place(picture[0]), first));
        assert!(near(similarity.place(picture[1]), second));
    }
    assert_eq!(Similarity::between([[0.5, 0.5]; 2], [[0.0, 0.0], [1.0, 0.0]]), None);
    assert_eq!(Similarity::between([[0.5, 0.5], [0.6, 0.5]], [[1.0, 1.0]; 2]), None);
}
