use super::*;
use crate::faults::read_json;
use crate::floor::{DefaultLimits, FloorDesign, LimitName};
use crate::reckon::tests::repeat;

/// The L-shaped invented plot: 52.398 m², 24.415 m exposed, edge 5 a party wall. Openings as (edge, along, area).
fn plot(openings: &[(u32, i64, i64)]) -> Input {
    let corners = [[0, 0], [8400, 0], [8400, 4000], [5200, 4000], [5200, 7615], [0, 7615]];
    Input {
        outline_mm: corners.iter().map(|corner| corner.map(|mm| Mm(Length::from_mm(mm)))).collect(),
        exposed_edges: vec![0, 1, 2, 3, 4],
        openings: openings
            .iter()
            .map(|(edge, along, area)| Opening {
                edge: *edge,
                along_mm: Mm(Length::from_mm(*along)),
                equivalent_area_mm2: Some(Mm2(Area::from_mm2(*area))),
                in_series_mm2: None,
            })
            .collect(),
        per_run_mm2_per_m: Mm2(Area::from_mm2(1500)),
        per_area_mm2_per_m2: Mm2(Area::from_mm2(500)),
        largest_spacing_mm: None,
        furthest_from_corner_mm: None,
        dividing_walls: None,
    }
}

/// Vents as designed: 48 000 mm² against 36 622.5.
const DESIGNED: &[(u32, i64, i64)] = &[
    (0, 900, 6000),
    (0, 3100, 6000),
    (0, 5300, 6000),
    (0, 7500, 6000),
    (2, 1600, 6000),
    (4, 700, 6000),
    (4, 2600, 6000),
    (4, 4500, 6000),
];

fn wall(line: &[[i64; 2]], openings: &[i64]) -> DividingWall {
    DividingWall {
        line_mm: line.iter().map(|point| point.map(|mm| Mm(Length::from_mm(mm)))).collect(),
        openings_mm2: OpeningsArea(openings.iter().map(|area| Mm2(Area::from_mm2(*area))).collect()),
    }
}

#[test]
fn the_invented_plot_is_ventilated() {
    let output = reckon(&plot(DESIGNED)).unwrap();
    assert_eq!(output.floor_area_m2.0.to_m2_text(), "52.398");
    assert_eq!(output.exposed_perimeter_m.0.to_m_text(), "24.415");
    assert_eq!(output.required_mm2.0.to_mm2_text(), "36622.5");
    assert_eq!(output.provided_mm2.0.to_mm2_text(), "48000");
    assert_eq!((output.opposed, output.verdict), (true, Verdict::Conforming));
    assert_eq!(
        output.spacings_mm[0].spacings_mm,
        [900, 2200, 2200, 2200, 900].map(|mm| Mm(Length::from_mm(mm)))
    );
    assert_eq!(output.spacings_mm[1].spacings_mm, [Mm(Length::from_mm(4000))]);
    repeat(&output.working);
}

#[test]
fn free_area_on_its_requirement_conforms() {
    for (last, verdict, short) in [
        ("622.499999", Verdict::Nonconforming, "0.000001"),
        ("622.5", Verdict::Conforming, "0"),
        ("622.500001", Verdict::Conforming, "0"),
    ] {
        let mut input = plot(&DESIGNED[..6]);
        input.openings[5].equivalent_area_mm2 = None;
        input.openings[5].in_series_mm2 =
            Some([&format!("6{last}"), "9000"].map(|area| Mm2(Area::parse_mm2(area).unwrap())).to_vec());
        let output = reckon(&input).unwrap();
        assert_eq!(
            (output.verdict, output.shortfall_mm2.0.to_mm2_text().as_str()),
            (verdict, short),
            "{last}"
        );
        repeat(&output.working);
    }
}

/// tests/data/published/ventilation.json: rectangles and an L with published or derived figures.
#[test]
fn published_examples_agree() {
    let data: serde_json::Value =
        serde_json::from_str(include_str!("../../../../tests/data/published/ventilation.json")).unwrap();
    let metres = |number: &serde_json::Value| Mm(Length::parse_m(&number.to_string()).unwrap());
    for example in data["examples"].as_array().unwrap() {
        let zero = Mm(Length::ZERO);
        let (x, y) = (metres(&example["floor_m"][0]), metres(&example["floor_m"][1]));
        let mut input = plot(&[]);
        input.outline_mm = vec![[zero, zero], [zero, y], [x, y], [x, zero]];
        input.exposed_edges = vec![0, 1, 2, 3];
        let output = reckon(&input).unwrap();
        assert_eq!(output.required_mm2.0.to_mm2_text(), example["required_mm2"].to_string(), "{example}");
        assert_eq!(serde_json::to_value(output.governs).unwrap(), example["governs"], "{example}");
    }
    for example in data["polygons"].as_array().unwrap() {
        let mut input = plot(&[]);
        input.outline_mm = example["outline_m"]
            .as_array()
            .unwrap()
            .iter()
            .map(|point| [metres(&point[0]), metres(&point[1])])
            .collect();
        input.exposed_edges = (0..u32::try_from(input.outline_mm.len()).unwrap()).collect();
        let output = reckon(&input).unwrap();
        assert_eq!(output.floor_area_m2.0.to_m2_text(), example["area_m2"].to_string());
        assert_eq!(output.exposed_perimeter_m.0.to_m_text(), example["perimeter_m"].to_string());
    }
}

#[test]
fn openings_must_use_opposite_walls_where_there_are_any() {
    let one_side: Vec<_> = (0..7).map(|index| (0, 600 + 1000 * index, 6000)).collect();
    assert_eq!(reckon(&plot(&one_side)).unwrap().verdict, Verdict::Nonconforming);
    let mut input = plot(&one_side);
    input.exposed_edges = vec![0, 1];
    let output = reckon(&input).unwrap();
    assert_eq!((output.opposed, output.verdict), (false, Verdict::Undetermined));
}

#[test]
fn opposite_means_at_least_120_degrees() {
    // A triangle with 60° corners has normals 120° apart; whole coordinates come only near it, from either side.
    for (height, opposed) in [(1_732_i64, false), (1_733, true)] {
        let mut input = plot(&[]);
        input.outline_mm = [[-1000, 0], [1000, 0], [0, height]]
            .iter()
            .map(|point| point.map(|mm| Mm(Length::from_mm(mm))))
            .collect();
        // Base and side: the normals differ by 180° less the corner's angle, so a corner over 60° brings less.
        input.exposed_edges = vec![1, 2];
        input.openings = plot(&[(1, 100, 90_000), (2, 100, 90_000)]).openings;
        assert_eq!(reckon(&input).unwrap().opposed, opposed, "{height}");
    }
}

#[test]
fn winding_and_starting_corner_do_not_matter() {
    let forward = reckon(&plot(DESIGNED)).unwrap();
    let mut input = plot(DESIGNED);
    input.outline_mm.reverse();
    // Edge i of the reversed outline is edge 4 − i of the other, run backwards; edge 5 stays the party wall.
    for opening in &mut input.openings {
        let plain = plot(&[]);
        let (a, b) = edge(&plain, opening.edge);
        opening.along_mm = Mm(polygon::from_nm(polygon::length_nm(a, b)) - opening.along_mm.0);
        opening.edge = 4 - opening.edge;
    }
    let backward = reckon(&input).unwrap();
    assert_eq!(forward.floor_area_m2, backward.floor_area_m2);
    assert_eq!(forward.required_mm2, backward.required_mm2);
    assert_eq!((forward.verdict, forward.opposed), (backward.verdict, backward.opposed));
}

#[test]
fn spacing_is_judged_only_with_limits_and_those_are_closed() {
    for (spacing, corner, verdict) in [
        (Some("2200"), None, Verdict::Conforming),
        (Some("2199.999"), None, Verdict::Nonconforming),
        (None, Some("1600"), Verdict::Conforming),
        (None, Some("1599.999"), Verdict::Nonconforming),
    ] {
        let mut input = plot(DESIGNED);
        input.largest_spacing_mm = spacing.map(|mm| Mm(Length::parse_mm(mm).unwrap()));
        input.furthest_from_corner_mm = corner.map(|mm| Mm(Length::parse_mm(mm).unwrap()));
        assert_eq!(reckon(&input).unwrap().verdict, verdict, "{spacing:?} {corner:?}");
    }
}

#[test]
fn a_spine_wall_needs_openings_for_air_to_cross() {
    let spine: &[[i64; 2]] = &[[0, 4000], [5200, 4000]];
    for (openings, verdict) in
        [(&[225 * 75, 225 * 75][..], Verdict::Conforming), (&[], Verdict::Nonconforming)]
    {
        let mut input = plot(DESIGNED);
        input.dividing_walls = Some(vec![wall(spine, openings)]);
        let output = reckon(&input).unwrap();
        assert_eq!(output.verdict, verdict);
        let areas: Vec<String> = output.compartments.iter().map(|part| part.area_m2.0.to_m2_text()).collect();
        // 8.4 × 4 and 5.2 × 3.615
        assert_eq!(
            areas.iter().map(String::as_str).collect::<std::collections::BTreeSet<_>>(),
            ["18.798", "33.6"].into()
        );
        for part in &output.compartments {
            let expect: &[u32] =
                if part.area_m2.0.to_m2_text() == "33.6" { &[0, 1, 2, 3, 4] } else { &[5, 6, 7] };
            assert_eq!(part.openings, expect);
        }
    }
}

#[test]
fn walls_may_end_on_walls_in_any_order() {
    let spine = [wall(&[[0, 4000], [2000, 4000]], &[9000]), wall(&[[2000, 4000], [5200, 4000]], &[])];
    let cross = wall(&[[2000, 0], [2000, 4000]], &[9000]);
    let mut input = plot(DESIGNED);
    let whole = wall(&[[0, 4000], [5200, 4000]], &[9000]);
    input.dividing_walls = Some(vec![cross.clone(), whole]);
    assert_eq!(
        reckon(&input).unwrap_err().to_string(),
        "/dividing_walls/1/line_mm: other walls end on it: give each stretch between them as a wall of its own"
    );
    // Stretch by stretch it is clear which parts an opening joins.
    input.dividing_walls = Some(vec![cross, spine[1].clone(), spine[0].clone()]);
    let output = reckon(&input).unwrap();
    assert_eq!(output.verdict, Verdict::Conforming);
    assert_eq!(output.compartments.len(), 3);
    assert_eq!(output.compartments.iter().map(|part| part.area_m2.0).sum::<Area>(), output.floor_area_m2.0);
}

#[test]
fn walls_that_do_not_cross_the_floor_are_refused() {
    for line in [
        &[[0, 4000], [2000, 4000]][..],
        &[[0, 0], [8400, 0]],
        &[[0, 1000], [0, 1000]],
        &[[8400, 2000], [5200, 6000]],
        &[[-100, 4000], [5200, 4000]],
    ] {
        let mut input = plot(DESIGNED);
        input.dividing_walls = Some(vec![wall(line, &[])]);
        let faults = reckon(&input).unwrap_err().to_string();
        assert!(faults.starts_with("/dividing_walls/0/line_mm: must run across"), "{line:?}: {faults}");
    }
}

#[test]
fn what_cannot_be_is_refused_by_place() {
    let mut input = plot(&[(5, 100, 1), (0, 8400, 1), (0, 8401, 1), (9, 0, 1)]);
    input.exposed_edges = vec![0, 1, 0, 7];
    input.openings[1].in_series_mm2 = Some(Vec::new());
    let faults = reckon(&input).unwrap_err().to_string();
    assert_eq!(
        faults.lines().collect::<Vec<_>>(),
        [
            "/exposed_edges/2: edge 0 stands twice",
            "/exposed_edges/3: the outline has no edge 7",
            "/openings/0/edge: edge 5 is not exposed",
            "/openings/1/in_series_mm2: stands beside equivalent_area_mm2",
            "/openings/2/along_mm: lies beyond edge 0",
            "/openings/3/edge: edge 9 is not exposed",
        ]
    );
    for (corners, place) in [
        (&[[0, 0], [1000, 1000], [1000, 0], [0, 1000]][..], "/outline_mm: "),
        (&[[0, 0], [1000, 0], [2000, 0]], "/outline_mm: "),
        (&[[0, 0], [1000, 0]], "/outline_mm: "),
        (&[[0, 0], [1000, 0], [1000, 1000], [0, 0]], "/outline_mm/3: repeats the first"),
        (&[[0, 0], [1000, 0], [1000, 0], [0, 1000]], "/outline_mm/1: repeats the next"),
        (&[[0, 0], [1000, 0], [500, 0], [500, 900]], "/outline_mm: "),
    ] {
        let mut input = plot(&[]);
        input.outline_mm = corners.iter().map(|point| point.map(|mm| Mm(Length::from_mm(mm)))).collect();
        input.exposed_edges = Vec::new();
        let faults = reckon(&input).unwrap_err().to_string();
        assert!(faults.starts_with(place), "{corners:?}: {faults}");
    }
}

/// The terraced house of the demo, with the default rates: the greater of 1500 mm² a metre of outer wall and 500 mm²
/// a square metre of floor (Approved Document C (England) and BS 5250; how each figure is known stands in
/// `assets/limits.toml`). By hand: two open sides of 5 m, 10 m × 1500 = 15 000 mm²; 5 m × 8 m = 40 m², × 500 =
/// 20 000 mm², which governs. Each opening counts with the least of 6000, 7200 and 14 625 in series; four give
/// 24 000 mm², three 18 000 mm², 2000 short.
#[test]
fn the_terrace_of_the_demo_needs_20_000_by_its_floor_and_draws_24_000() {
    let design = FloorDesign::read(include_str!("../../../../assets/demo/terrace.toml")).unwrap();
    let defaults = DefaultLimits::read(include_str!("../../../../assets/limits.toml")).unwrap();
    let rate = |name| Mm2(design.limit(name, &defaults).unwrap().area());
    let index = |edge: usize| u32::try_from(edge).unwrap();
    let mut input = Input {
        outline_mm: design.plan.outline_mm.clone(),
        exposed_edges: design.plan.exposed_edges.iter().map(|edge| index(*edge)).collect(),
        openings: design
            .vents
            .iter()
            .map(|vent| Opening {
                edge: index(vent.edge),
                along_mm: vent.along_mm,
                equivalent_area_mm2: vent.equivalent_area_mm2,
                in_series_mm2: vent.in_series_mm2.clone(),
            })
            .collect(),
        per_run_mm2_per_m: rate(LimitName::VentPerRun),
        per_area_mm2_per_m2: rate(LimitName::VentPerArea),
        largest_spacing_mm: None,
        furthest_from_corner_mm: None,
        dividing_walls: None,
    };
    let output = reckon(&input).unwrap();
    assert_eq!(
        (output.floor_area_m2.0.to_m2_text(), output.exposed_perimeter_m.0.to_m_text()),
        ("40".to_owned(), "10".to_owned())
    );
    let sums = |output: &Output| {
        [output.required_mm2, output.provided_mm2, output.shortfall_mm2].map(|area| area.0.to_mm2_text())
    };
    assert_eq!((sums(&output), output.governs), (["20000", "24000", "0"].map(str::to_owned), Governs::Area));
    assert_eq!((output.opposed, output.verdict), (true, Verdict::Conforming));
    repeat(&output.working);
    input.openings.pop();
    let output = reckon(&input).unwrap();
    assert_eq!(sums(&output), ["20000", "18000", "2000"].map(str::to_owned));
    assert_eq!(output.verdict, Verdict::Nonconforming);
    // By the run of wall alone 15 000 mm² would do: the floor area is what governs.
    input.per_area_mm2_per_m2 = Mm2(Area::ZERO);
    assert_eq!(sums(&reckon(&input).unwrap()), ["15000", "18000", "0"].map(str::to_owned));
}

#[test]
fn the_largest_floor_and_rates_do_not_overflow() {
    let far = crate::quantity::LENGTH_BOUND_UM;
    let mut input = plot(&[]);
    input.outline_mm = [[-far, -far], [far, -far], [far, far], [-far, far]]
        .iter()
        .map(|point| point.map(|um| Mm(Length::from_um(um))))
        .collect();
    input.exposed_edges = vec![0, 1, 2, 3];
    input.per_run_mm2_per_m = Mm2(Area::from_mm2(LARGEST_RATE_MM2));
    input.per_area_mm2_per_m2 = Mm2(Area::from_mm2(LARGEST_RATE_MM2));
    let output = reckon(&input).unwrap();
    assert_eq!(output.required_mm2.0.to_mm2_text(), "400000000000000");
    input.per_run_mm2_per_m = Mm2(Area::from_um2(1_000_000_000_001));
    assert_eq!(reckon(&input).unwrap_err().to_string(), "/per_run_mm2_per_m: must lie within 0 and 1000000");
}

#[test]
fn an_input_is_written_as_it_is_read() {
    for openings in [&[9000][..], &[9000, 100], &[]] {
        let mut input = plot(DESIGNED);
        input.dividing_walls = Some(vec![wall(&[[0, 4000], [5200, 4000]], openings)]);
        let text = serde_json::to_string(&input).unwrap();
        assert_eq!(read_json::<Input>(&text).unwrap(), input);
    }
}
