use proptest::prelude::*;

use super::*;
use crate::reckon::tests::repeat;
use crate::record::canonical::tests::fixed;

fn mm(text: &str) -> Mm {
    Mm(Length::parse_mm(text).unwrap())
}

fn outline(corners: &[(i64, i64)]) -> Vec<Point> {
    corners.iter().map(|(x, y)| [*x, *y].map(|um| Mm(Length::from_um(um)))).collect()
}

fn in_mm(corners: &[(i64, i64)]) -> Vec<Point> {
    outline(&corners.iter().map(|(x, y)| (x * 1000, y * 1000)).collect::<Vec<_>>())
}

/// Depths at places in micrometres, design 80, −5/+10.
fn sheet(corners: Vec<Point>, depths: &[(i64, i64, i64)]) -> Input {
    Input {
        outline_mm: corners,
        design_mm: mm("80"),
        tolerance_minus_mm: mm("5"),
        tolerance_plus_mm: mm("10"),
        readings: depths
            .iter()
            .enumerate()
            .map(|(index, (x, y, depth))| Reading {
                point: format!("T{index}"),
                x_mm: Mm(Length::from_um(*x)),
                y_mm: Mm(Length::from_um(*y)),
                thickness_mm: Mm(Length::from_um(*depth)),
            })
            .collect(),
        waste_percent: Plain(Factor::parse("5").unwrap()),
        fibre_kg_per_m3: None,
        decision: Decision::simple(),
    }
}

fn text(volume: Option<CubicMetres>) -> String {
    volume.unwrap().0.to_m3_text()
}

#[test]
fn a_depth_on_its_limit_conforms() {
    use Verdict::{Conforming as C, Nonconforming as N};
    let square = in_mm(&[(0, 0), (1000, 0), (1000, 1000), (0, 1000)]);
    for (depth, verdict) in [(74_999, N), (75_000, C), (75_001, C), (89_999, C), (90_000, C), (90_001, N)] {
        let output = reckon(&sheet(square.clone(), &[(500_000, 500_000, depth)])).unwrap();
        assert_eq!((output.readings[0].verdict, output.verdict), (verdict, verdict), "{depth}");
        repeat(&output.working);
    }
}

#[test]
fn a_guarded_depth_near_its_limit_is_undetermined() {
    use Verdict::{Conforming as C, Nonconforming as N, Undetermined as U};
    let square = in_mm(&[(0, 0), (1000, 0), (1000, 1000), (0, 1000)]);
    for (depth, verdict) in [(72_999, N), (73_000, U), (76_999, U), (77_000, C), (88_000, C), (88_001, U)] {
        let mut input = sheet(square.clone(), &[(1, 1, depth)]);
        input.decision = Decision::guarded(mm("2").0);
        assert_eq!(reckon(&input).unwrap().verdict, verdict, "{depth}");
    }
}

#[test]
fn no_readings_are_undetermined() {
    let mut input = sheet(in_mm(&[(0, 0), (1000, 0), (0, 1000)]), &[]);
    input.fibre_kg_per_m3 = Some(Plain(Factor::whole(30)));
    let output = reckon(&input).unwrap();
    assert_eq!((output.verdict, output.volume_m3, output.fibre_kg), (Verdict::Undetermined, None, None));
    repeat(&output.working);
}

/// The invented plot inside its 20 mm edge strip: 50.4432 m² in two rooms, 80 thick, 5 % waste, 40 kg of fibres.
#[test]
fn the_invented_plot_has_its_volume() {
    let rooms = [
        in_mm(&[(20, 20), (8380, 20), (8380, 3980), (20, 3980)]),
        in_mm(&[(20, 4235), (5180, 4235), (5180, 7595), (20, 7595)]),
    ];
    let mut volume = Volume::ZERO;
    for room in rooms {
        let (x, y) = (room[0][0].0.um(), room[0][1].0.um());
        let mut input = sheet(room, &[(x + 1_000_000, y + 700_000, 80_000)]);
        input.fibre_kg_per_m3 = Some(Plain(Factor::whole(40)));
        let output = reckon(&input).unwrap();
        volume = volume + output.volume_m3.unwrap().0;
        assert_eq!(output.mean_times_area_m3, output.volume_m3);
        let order = output.order_m3.unwrap().0;
        assert_eq!(Some(order), output.volume_m3.unwrap().0.share(105, 100));
        assert!((output.fibre_kg.unwrap() - 40.0 * order.to_m3_f64()).abs() < 1e-9);
        repeat(&output.working);
    }
    assert_eq!(volume.to_m3_text(), "4.035456");
}

#[test]
fn the_least_and_the_mean_are_told() {
    let square = in_mm(&[(0, 0), (1000, 0), (1000, 1000), (0, 1000)]);
    let depths = [(0, 0, 81_000), (1_000_000, 0, 79_000), (0, 1_000_000, 79_000), (500_000, 0, 80_001)];
    let output = reckon(&sheet(square, &depths)).unwrap();
    assert_eq!((output.least_mm, output.least_at.as_deref()), (Some(mm("79")), Some("T1")));
    // (81 + 79 + 79 + 80.001) / 4 = 79.75025 mm.
    assert_eq!(output.mean_mm, Some(mm("79.75")));
    assert_eq!(text(output.mean_times_area_m3), "0.07975025");
    repeat(&output.working);
}

/// Four corners at 80 and the middle at 86: a pyramid over a square metre, 80 + 6/3.
#[test]
fn a_pyramid_has_a_third_of_its_height() {
    let square = in_mm(&[(0, 0), (1000, 0), (1000, 1000), (0, 1000)]);
    let output = reckon(&sheet(
        square,
        &[
            (0, 0, 80_000),
            (1_000_000, 0, 80_000),
            (1_000_000, 1_000_000, 80_000),
            (0, 1_000_000, 80_000),
            (500_000, 500_000, 86_000),
        ],
    ))
    .unwrap();
    assert_eq!(text(output.volume_m3), "0.082");
    repeat(&output.working);
}

/// One reading in each arm of an L: outside of the outline nothing counts, and no corner reaches round.
#[test]
fn only_what_lies_inside_the_outline_counts() {
    let l = [(0, 0), (3000, 0), (3000, 1000), (1000, 1000), (1000, 3000), (0, 3000)];
    let flat =
        reckon(&sheet(in_mm(&l), &[(500_000, 2_900_000, 80_000), (2_900_000, 500_000, 80_000)])).unwrap();
    assert_eq!(flat.area_m2.0.to_m2_text(), "5");
    assert_eq!(text(flat.volume_m3), "0.4");
    let mut turned = l;
    turned.reverse();
    let depths = [(500_000, 2_900_000, 80_000), (2_900_000, 500_000, 80_000), (9_000_000, 9_000_000, 80_000)];
    let output = reckon(&sheet(in_mm(&turned), &depths)).unwrap();
    assert_eq!(text(output.volume_m3), "0.4");
    assert!(output.findings.iter().any(|finding| finding.caution && finding.reason.contains("T2")));
    repeat(&output.working);
}

#[test]
fn the_order_of_a_sheet_changes_no_volume() {
    // A grid: every square's corners lie on one circle, so either diagonal would be Delaunay's.
    let depths: Vec<(i64, i64, i64)> =
        (0..36).map(|i| (i % 6 * 500_000, i / 6 * 500_000, 80_000 + i * i * 7_919 % 5_000)).collect();
    let room = in_mm(&[(0, 0), (2500, 0), (2500, 2500), (0, 2500)]);
    let one = volume(&sheet(room.clone(), &depths)).unwrap();
    let mut turned = depths;
    turned.reverse();
    turned.swap(3, 17);
    assert_eq!(volume(&sheet(room, &turned)).unwrap(), one);
}

#[test]
fn what_cannot_be_is_refused_by_place() {
    let mut input =
        sheet(in_mm(&[(0, 0), (1000, 1000), (1000, 0), (0, 1000)]), &[(0, 0, 80_000), (0, 0, -1)]);
    input.readings[1].point = "T0".to_owned();
    input.waste_percent = Plain(Factor::parse("100.000001").unwrap());
    input.fibre_kg_per_m3 = Some(Plain(Factor::whole(-1)));
    input.design_mm = mm("-1");
    assert_eq!(
        reckon(&input).unwrap_err().to_string(),
        "/outline_mm: must be a simple outline: its edges touch or cross\n/design_mm: must be at least 0\n\
         /readings/1/point: \"T0\" stands already at /readings/0\n\
         /readings/1: lies at the place of /readings/0\n\
         /readings/1/thickness_mm: must be at least 0\n\
         /waste_percent: must lie within 0 and 100\n/fibre_kg_per_m3: must lie within 0 and 1000"
    );
}

/// A simple outline: corners at growing angles about a middle.
#[expect(clippy::cast_precision_loss, clippy::cast_possible_truncation, reason = "small numbers")]
fn some_outline() -> impl Strategy<Value = Vec<(i64, i64)>> {
    prop::collection::vec(1_500_i64..5_000, 4..9).prop_map(|radii| {
        let count = radii.len() as f64;
        radii
            .iter()
            .enumerate()
            .map(|(index, radius)| {
                let angle = index as f64 / count * std::f64::consts::TAU;
                let at = |turn: f64| (turn * *radius as f64).round() as i64 * 1_000 + 6_000_000;
                (at(angle.cos()), at(angle.sin()))
            })
            .collect()
    })
}

/// The volume under the plane a·x + b·y + c over a polygon, exactly: in whole numbers, 24 times the volume in µm³.
fn exact_volume(corners: &[(i64, i64)], depth: &dyn Fn(i128, i128) -> i128) -> i128 {
    let twice: i128 = (0..corners.len())
        .map(|index| {
            let (a, b) = (corners[index], corners[(index + 1) % corners.len()]);
            let [ax, ay, bx, by] = [a.0, a.1, b.0, b.1].map(i128::from);
            // Triangle with the origin: six times its volume under the plane.
            (ax * by - bx * ay) * (depth(0, 0) + depth(ax, ay) + depth(bx, by))
        })
        .sum();
    twice.abs()
}

proptest! {
    #![proptest_config(fixed(200))]

    #[test]
    fn a_tilted_plane_read_at_every_corner_has_an_exact_volume(
        corners in some_outline(), slope_x in -8_i64..8, slope_y in -8_i64..8,
        inner in prop::collection::vec((0_i64..12_000, 0_i64..12_000), 0..12)
    ) {
        // Whole micrometres a millimetre of slope, over corners at whole millimetres.
        let depth = |x: i64, y: i64| 200_000 + slope_x * x / 1_000 + slope_y * y / 1_000;
        let mut places = corners.clone();
        for (x, y) in inner {
            if !places.contains(&(x * 1_000, y * 1_000)) {
                places.push((x * 1_000, y * 1_000));
            }
        }
        let depths: Vec<(i64, i64, i64)> = places.iter().map(|(x, y)| (*x, *y, depth(*x, *y))).collect();
        let output = reckon(&sheet(outline(&corners), &depths)).unwrap();
        repeat(&output.working);
        let wide = |x: i128, y: i128| {
            200_000 + i128::from(slope_x) * x / 1_000 + i128::from(slope_y) * y / 1_000
        };
        let six_um3 = exact_volume(&corners, &wide);
        let six_mm3 = 6_000_000_000;
        let expect = (six_um3 + six_mm3 / 2) / six_mm3;
        prop_assert_eq!(output.volume_m3.unwrap().0, Volume::from_mm3(expect));
        prop_assert_eq!(output.volume_m3.unwrap().0, volume(&sheet(outline(&corners), &depths)).unwrap().unwrap());
    }

    /// Between the least and the greatest depth everywhere, and the same when the plan is moved.
    #[test]
    fn a_volume_lies_between_its_depths_and_moves_with_the_plan(
        corners in some_outline(),
        inner in prop::collection::vec((0_i64..12_000_000, 0_i64..12_000_000, 60_000_i64..100_000), 1..40)
    ) {
        let mut depths: Vec<(i64, i64, i64)> = Vec::new();
        for (x, y, depth) in inner {
            if !depths.iter().any(|other| (other.0, other.1) == (x, y)) {
                depths.push((x, y, depth));
            }
        }
        let output = reckon(&sheet(outline(&corners), &depths)).unwrap();
        repeat(&output.working);
        let found = output.volume_m3.unwrap().0;
        let over = |depth: i64| Volume::over(output.area_m2.0, Length::from_um(depth), 1).unwrap();
        let all = || depths.iter().map(|reading| reading.2);
        prop_assert!(over(all().min().unwrap()) <= found && found <= over(all().max().unwrap()));
        let by = |places: &[(i64, i64)]| -> Vec<(i64, i64)> {
            places.iter().map(|(x, y)| (x - 3_700_000_000, y + 123_456_789)).collect()
        };
        let moved: Vec<(i64, i64, i64)> =
            depths.iter().map(|(x, y, depth)| (x - 3_700_000_000, y + 123_456_789, *depth)).collect();
        let shifted = volume(&sheet(outline(&by(&corners)), &moved)).unwrap().unwrap();
        prop_assert!((shifted.mm3() - found.mm3()).abs() <= 1, "{found:?} {shifted:?}");
    }
}
