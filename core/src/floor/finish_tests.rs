use super::finish::GridPoint;
use super::*;

const SEMI: &str = include_str!("../../../assets/demo/semi.toml");

fn semi() -> FloorDesign {
    FloorDesign::read(SEMI).unwrap()
}

fn changed(pairs: &[(&str, &str)]) -> FloorDesign {
    let text = pairs.iter().fold(SEMI.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "{from}");
        text.replace(from, to)
    });
    FloorDesign::read(&text).unwrap()
}

#[test]
fn the_grid_divides_each_area_evenly_and_keeps_off_its_edge() {
    let design = semi();
    let grid = design.finish_grid();
    // Front 8360 × 3960 less 180 all round: 8000 × 3600 in sixths and thirds; back 4800 × 3000 in quarters and halves.
    assert_eq!(grid.len(), 7 * 4 + 5 * 3);
    let at = |name: &str| -> (i64, i64) {
        let point: &GridPoint = grid.iter().find(|point| point.name.as_str() == name).unwrap();
        (point.x.um(), point.y.um())
    };
    assert_eq!(at("F1.1"), (200_000, 200_000));
    assert_eq!(at("F4.7"), (8_200_000, 3_800_000));
    // 200 + 8000 / 6 = 1533.3, to the millimetre.
    assert_eq!(at("F1.2"), (1_533_000, 200_000));
    assert_eq!(at("F5.1"), (200_000, 4_415_000));
    let edge = Length::from_mm(180);
    for point in &grid {
        let area = design.finish_areas()[point.area].outline;
        assert!(polygon::clear_inside(area, (point.x, point.y), edge), "{point:?}");
    }
}

#[test]
fn lines_are_the_rows_and_columns_with_their_distances() {
    let lines = semi().finish_lines();
    let names: Vec<&str> = lines.iter().map(|line| line.name.as_str()).collect();
    assert_eq!(names.iter().filter(|name| name.starts_with("row ")).count(), 4 + 3);
    assert!(names.contains(&"column 7 front") && names.contains(&"column 5 back"), "{names:?}");
    let row = lines.iter().find(|line| line.name == "row 6").unwrap();
    let last = row.points.last().unwrap();
    assert_eq!((last.name.as_str(), row.along(last)), ("F6.5", Length::from_mm(4_800)));
    assert_eq!(row.place(row.along(last)), Some((last.x, last.y)));
    let column = lines.iter().find(|line| line.name == "column 2 back").unwrap();
    assert_eq!(column.along(column.points.last().unwrap()), Length::from_mm(3_000));
}

#[test]
fn a_row_across_a_bay_is_two_lines() {
    // A U whose open side is up: the upper rows are broken by the gap.
    let u = "[[0, 0], [9000, 0], [9000, 6000], [6000, 6000], [6000, 2000], [3000, 2000], [3000, 6000], [0, 6000]]";
    let design = changed(&[
        ("[[20, 20], [8380, 20], [8380, 3980], [20, 3980]]", u),
        ("grid_spacing_mm = 1500", "grid_spacing_mm = 700"),
    ]);
    let lines = design.finish_lines();
    let parts = lines.iter().filter(|line| line.name.contains(", part ")).count();
    assert!(parts >= 2, "{:?}", lines.iter().map(|line| &line.name).collect::<Vec<_>>());
    for line in &lines {
        for pair in line.points.windows(2) {
            let crosses = polygon::segment_meets(
                design.finish_areas()[pair[0].area].outline,
                (pair[0].x, pair[0].y),
                (pair[1].x, pair[1].y),
            );
            assert!(!crosses && line.points.len() >= 3, "{}", line.name);
        }
    }
}

#[test]
fn without_a_topping_table_the_grid_lies_over_the_whole_floor() {
    let (before, rest) = SEMI.split_once("[topping]").unwrap();
    let (_, after) = rest.split_once("[thermal]").unwrap();
    let design = FloorDesign::read(&format!("{before}[thermal]{after}")).unwrap();
    assert_eq!(design.finish_areas().len(), 1);
    // The L of the plan: nothing in its notch.
    assert!(
        design
            .finish_grid()
            .iter()
            .all(|point| { !(Length::from_mm(5_200) < point.x && Length::from_mm(4_000) < point.y) })
    );
}

#[test]
fn the_finished_topping_lies_below_what_others_lay_on_it() {
    assert_eq!(semi().finished_topping_level(), Some(Length::from_mm(48_150)));
    let tiled = changed(&[(
        "[[layers]]\nname = \"topping\"",
        "[[layers]]\nname = \"tiles\"\nrole = \"finish\"\nthickness_mm = 15\n\n[[layers]]\nname = \"topping\"",
    )]);
    assert_eq!(tiled.finished_topping_level(), Some(Length::from_mm(48_135)));
}

#[test]
fn faults_of_finish_and_curing_are_told_all_at_once() {
    let told = |pairs: &[(&str, &str)], places: &[&str]| {
        let text = pairs.iter().fold(SEMI.to_owned(), |text, (from, to)| text.replace(from, to));
        let told = FloorDesign::read(&text).map(|_| ()).unwrap_err().to_string();
        for place in places {
            assert!(told.contains(place), "{place} in\n{told}");
        }
    };
    // What the schema knows already …
    told(
        &[
            ("level_tolerance_mm = 10", "level_tolerance_mm = -1"),
            ("grid_spacing_mm = 1500", "grid_spacing_mm = 0"),
            ("datum_C = -10", "datum_C = -51"),
        ],
        &["/finish/level_tolerance_mm", "/finish/grid_spacing_mm", "/curing/datum_C"],
    );
    // … and what it cannot say.
    told(
        &[
            ("name = \"SR2\"", "name = \" \""),
            ("model = \"nurse-saul\"", "model = \"arrhenius\""),
            ("load_at_equivalent_age_h = 168", "load_at_equivalent_age_h = 23.9"),
        ],
        &[
            "/finish/class/name: must name the class",
            "/curing/activation_K: is missing",
            "/curing/load_at_equivalent_age_h: must not be less",
        ],
    );
    told(&[("reference_C = 20", "reference_C = -10")], &["/curing/reference_C: must be more than datum_C"]);
    let close = SEMI.replace("grid_spacing_mm = 1500", "grid_spacing_mm = 50");
    let told = FloorDesign::read(&close).map(|_| ()).unwrap_err().to_string();
    assert!(told.contains("/finish/grid_spacing_mm: makes a grid of more than 2000 places"), "{told}");
    let wide = SEMI.replace("grid_edge_mm = 180", "grid_edge_mm = 2000");
    let told = FloorDesign::read(&wide).map(|_| ()).unwrap_err().to_string();
    assert!(told.contains("/finish/grid_edge_mm: leaves no place"), "{told}");
}
