use super::*;
use crate::quantity::Factor;
use crate::reckon::tests::repeat;

fn mm(text: &str) -> Mm {
    Mm(Length::parse_mm(text).unwrap())
}

fn rectangle(left: i64, bottom: i64, right: i64, top: i64) -> Vec<Point> {
    [(left, bottom), (right, bottom), (right, top), (left, top)]
        .map(|(x, y)| [x, y].map(|mm| Mm(Length::from_mm(mm))))
        .to_vec()
}

/// A beam top at x, y whose topping will be so thick under a rail at 48.150, overlay 90 and membrane 0.
fn top(point: &str, x: i64, y: i64, topping: &str) -> BeamTop {
    BeamTop {
        point: point.to_owned(),
        beam: None,
        x_mm: Mm(Length::from_mm(x)),
        y_mm: Mm(Length::from_mm(y)),
        level_m: Metres(Length::from_mm(48_150 - 90) - mm(topping).0),
    }
}

fn sheet(outline: Vec<Point>, tops: Vec<BeamTop>) -> Input {
    Input {
        rail_level_m: Metres(Length::from_mm(48_150)),
        design_mm: mm("80"),
        tolerance_minus_mm: mm("5"),
        beam_tops: tops,
        overlay_mm: mm("90"),
        membrane_mm: mm("0"),
        outline_mm: outline,
        waste_percent: Plain(Factor::parse("5").unwrap()),
        supplier_step_m3: CubicMetres(Volume::parse_m3("0.5").unwrap()),
        decision: Decision::simple(),
    }
}

/// The two rooms of the invented plot inside their 20 mm edge strips; beams span y, three read in each room.
fn rooms(midspan: &str) -> [Input; 2] {
    let beams = |first: i64, last: i64, across: [i64; 3]| {
        across
            .iter()
            .flat_map(|x| {
                [("near", first, "80"), ("mid", i64::midpoint(first, last), midspan), ("far", last, "80")]
                    .map(|(end, y, topping)| top(&format!("{x} {end}"), *x, y, topping))
            })
            .collect()
    };
    [
        sheet(rectangle(20, 20, 8380, 3980), beams(20, 3980, [20, 4200, 8380])),
        sheet(rectangle(20, 4235, 5180, 7595), beams(4235, 7595, [20, 2600, 5180])),
    ]
}

fn volume(midspan: &str) -> Volume {
    rooms(midspan)
        .iter()
        .map(|room| {
            let output = reckon(room).unwrap();
            repeat(&output.working);
            assert_eq!(output.beams.len(), 3);
            output.volume_m3.unwrap().0
        })
        .sum()
}

/// 50.4432 m² × 80 mm; with a camber of 8 the parabolas leave 80 − ⅔·8 on average.
#[test]
fn the_invented_plot_needs_what_was_worked_by_hand() {
    let level = volume("80");
    assert_eq!(level.to_m3_text(), "4.035456");
    let order = level.share(105, 100).unwrap();
    assert_eq!(order.up_to_step(Volume::parse_m3("0.5").unwrap()).unwrap().to_m3_text(), "4.5");
    // 50.4432 · (80 − 16/3) / 1000 = 3.7664256.
    assert_eq!(volume("72").to_m3_text(), "3.7664256");
}

#[test]
fn an_order_on_a_step_is_not_lifted() {
    // 5 m² × 80 mm = 0.4 m³, 5 % waste: 0.42.
    for (step, expect) in [("0.42", "0.42"), ("0.21", "0.42"), ("0.419999999", "0.839999998"), ("0.5", "0.5")]
    {
        let mut input = sheet(rectangle(0, 0, 5000, 1000), vec![top("A", 100, 100, "80")]);
        input.supplier_step_m3 = CubicMetres(Volume::parse_m3(step).unwrap());
        let output = reckon(&input).unwrap();
        assert_eq!(output.order_m3.unwrap().0.to_m3_text(), expect, "{step}");
        repeat(&output.working);
    }
}

#[test]
fn a_topping_on_its_limit_conforms() {
    use Verdict::{Conforming as C, Nonconforming as N, Undetermined as U};
    let outline = || rectangle(0, 0, 5000, 1000);
    for (topping, verdict) in [("74.999", N), ("75", C), ("75.001", C), ("120", C)] {
        let output =
            reckon(&sheet(outline(), vec![top("A", 0, 0, "80"), top("B", 0, 500, topping)])).unwrap();
        assert_eq!(output.verdict, verdict, "{topping}");
        assert_eq!(output.beam_tops[1].topping_mm, mm(topping));
        let least = if topping == "120" { ("80", "A") } else { (topping, "B") };
        assert_eq!((output.least_mm, output.least_at.as_deref()), (Some(mm(least.0)), Some(least.1)));
        assert_eq!(output.findings.iter().any(|finding| finding.caution), verdict != C);
    }
    for (topping, verdict) in [("71.999", N), ("72", U), ("77.999", U), ("78", C)] {
        let mut input = sheet(outline(), vec![top("A", 0, 0, topping)]);
        input.decision = Decision::guarded(mm("3").0);
        assert_eq!(reckon(&input).unwrap().verdict, verdict, "{topping}");
    }
}

#[test]
fn no_levels_are_undetermined() {
    let output = reckon(&sheet(rectangle(0, 0, 5000, 1000), Vec::new())).unwrap();
    assert_eq!((output.verdict, output.volume_m3, output.order_m3), (Verdict::Undetermined, None, None));
    repeat(&output.working);
}

#[test]
fn camber_is_midspan_less_the_mean_of_the_ends() {
    // Toppings 80 and 79 at the ends, 72 at midspan: the beam rises by 79.5 − 72.
    let tops = vec![top("a", 0, 0, "80"), top("b", 0, 2000, "72"), top("c", 0, 4000, "79")];
    let output = reckon(&sheet(rectangle(0, 0, 5000, 4000), tops.clone())).unwrap();
    assert_eq!(output.beams.len(), 1);
    let beam = &output.beams[0];
    assert_eq!((beam.camber_mm, beam.midspan.as_str()), (mm("7.5"), "b"));
    assert_eq!(beam.ends, ["a", "c"]);
    // In any order of the three, and a midspan may stand a tenth of the span off the middle, no further.
    for (order, y, expect) in
        [([1, 0, 2], 2000, 1), ([2, 0, 1], 2000, 1), ([0, 1, 2], 2400, 1), ([0, 1, 2], 2401, 0)]
    {
        let mut tops = tops.clone();
        tops[1].y_mm = Mm(Length::from_mm(y));
        let tops = order.map(|index: usize| tops[index].clone()).to_vec();
        assert_eq!(reckon(&sheet(rectangle(0, 0, 5000, 4000), tops)).unwrap().beams.len(), expect, "{y}");
    }
}

#[test]
fn named_beams_may_stand_anywhere_in_the_sheet() {
    let named = |point: &str, beam: &str, x: i64, y: i64, topping: &str| BeamTop {
        beam: Some(beam.to_owned()),
        ..top(point, x, y, topping)
    };
    // Ends first, then midspans; three ends in one row are no beam.
    let tops = vec![
        named("1 near", "1", 0, 0, "80"),
        named("2 near", "2", 600, 0, "80"),
        named("3 near", "3", 1200, 0, "80"),
        named("1 far", "1", 0, 4000, "80"),
        named("2 far", "2", 600, 4000, "80"),
        named("1 mid", "1", 0, 2000, "74"),
        named("2 mid", "2", 600, 2000, "76"),
        named("2 quarter", "2", 600, 1000, "77"),
    ];
    let output = reckon(&sheet(rectangle(0, 0, 1200, 4000), tops)).unwrap();
    let found: Vec<(Option<&str>, Mm)> =
        output.beams.iter().map(|beam| (beam.beam.as_deref(), beam.camber_mm)).collect();
    assert_eq!(found, [(Some("1"), mm("6")), (Some("2"), mm("4"))]);
    repeat(&output.working);
}

#[test]
fn what_cannot_be_is_refused_by_place() {
    let mut input = sheet(rectangle(0, 0, 1, 1), vec![top("A", 0, 0, "80"), top("A", 0, 0, "80")]);
    input.supplier_step_m3 = CubicMetres(Volume::ZERO);
    input.overlay_mm = mm("-1");
    input.outline_mm.truncate(2);
    input.waste_percent = Plain(Factor::whole(-1));
    assert_eq!(
        reckon(&input).unwrap_err().to_string(),
        "/overlay_mm: must be at least 0\n\
         /beam_tops/1/point: \"A\" stands already at /beam_tops/0\n\
         /beam_tops/1: lies at the place of /beam_tops/0\n\
         /outline_mm: must have at least 3 vertices\n\
         /waste_percent: must lie within 0 and 100\n/supplier_step_m3: must be more than 0"
    );
}
