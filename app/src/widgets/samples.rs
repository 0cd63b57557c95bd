//! An invented floor for the gallery and for the tests of the drawings; none of it is real.

use crate::widgets::{
    Mark, PlanView, SectionView,
    hatch::Material,
    plan::{PlanPoint, PlanWall, Service},
    section::{Anchor, Build, Door, Form, Layer, LevelTag, Pipe, Vent, Void, Wall, Zone},
};

/// An invented floor: finished level 48.150, bearing 47.810, ground 47.561.
pub fn sample_section() -> SectionView {
    let layer = |name: &str, top: f64, bottom: f64, form, build| Layer {
        name: name.to_owned(),
        top,
        bottom,
        form,
        build,
    };
    let tag = |name: &str, value: &str, at| LevelTag { name: name.to_owned(), value: value.to_owned(), at };
    SectionView {
        layers: vec![
            layer("topping 80", 48_150.0, 48_070.0, Form::Slab(Material::Concrete), Build::Ahead),
            layer("membrane", 48_070.0, 48_070.0, Form::Sheet, Build::Ahead),
            layer("insulation 90", 48_070.0, 47_980.0, Form::Slab(Material::Insulation), Build::Ahead),
            layer(
                "beams 160",
                47_980.0,
                47_820.0,
                Form::Beams { width: 110.0, infill: 500.0, hang: 35.0 },
                Build::Here,
            ),
        ],
        wall: Wall::default(),
        bearing: 47_810.0,
        bearing_length: 95.0,
        ground: 47_561.0,
        outside: Some(47_640.0),
        void: Some(Void { top: 47_785.0, text: "void 224 ≥ 200".to_owned(), mark: Some(Mark::Conforming) }),
        vent: Some(Vent { outside: 47_730.0, inside: 47_690.0, height: 65.0, build: Build::Proved }),
        pipe: Some(Pipe { at: 48_015.0, diameter: 42.0, build: Build::Ahead }),
        levels: vec![
            tag("finished floor", "+48.150", 48_150.0),
            tag("top of beam", "+47.980", 47_980.0),
            tag("bearing", "+47.810", 47_810.0),
            tag("outside ground", "+47.640", 47_640.0),
            tag("oversite", "+47.561", 47_561.0),
        ],
        zones: sample_zones(),
    }
}

fn sample_zones() -> Vec<Zone> {
    let door = |id: &str, mark, next| Door { id: id.to_owned(), name: id.replace('-', " "), mark, next };
    let doors = |ids: &[&str], mark| ids.iter().map(|id| door(id, mark, false)).collect::<Vec<_>>();
    let zone =
        |name: &str, top, bottom, anchor, doors| Zone { name: name.to_owned(), top, bottom, anchor, doors };
    vec![
        zone(
            "topping",
            48_150.0,
            48_072.0,
            Anchor::Floor,
            doors(&["screed-rail", "reinforcement", "pour", "finish", "curing"], Mark::NotYet),
        ),
        zone("membrane", 48_072.0, 48_062.0, Anchor::Floor, doors(&["membrane"], Mark::NotYet)),
        zone(
            "insulation",
            48_062.0,
            47_980.0,
            Anchor::Floor,
            doors(&["gas-pipes", "overlay", "thresholds"], Mark::NotYet),
        ),
        zone(
            "beams and infill",
            47_980.0,
            47_820.0,
            Anchor::Floor,
            vec![
                door("beam-setting-out", Mark::Released, false),
                door("bearing-length", Mark::Owed, true),
                door("infill", Mark::Owed, false),
                door("multiple-beams", Mark::NotYet, false),
                door("end-blocks", Mark::NotYet, false),
                door("loadbearing-walls", Mark::NotYet, false),
            ],
        ),
        zone(
            "bearing",
            47_820.0,
            47_790.0,
            Anchor::Bearing,
            doors(&["bearing-level", "dpc", "edge-blocks"], Mark::Released),
        ),
        zone("vents", 47_790.0, 47_700.0, Anchor::Vent, vec![door("vents", Mark::Covered, false)]),
        zone("void", 47_790.0, 47_561.0, Anchor::Void, vec![door("void-clean", Mark::Offered, false)]),
        zone(
            "ground",
            47_561.0,
            47_400.0,
            Anchor::Ground,
            doors(&["delivery", "oversite", "drains-and-entries"], Mark::Released),
        ),
    ]
}

/// The invented floor's plan with its bearing levels.
pub fn sample_plan() -> PlanView {
    let corner =
        [[0.0, 0.0], [8400.0, 0.0], [8400.0, 4000.0], [5200.0, 4000.0], [5200.0, 7615.0], [0.0, 7615.0]];
    let mut walls: Vec<PlanWall> = (0..6)
        .map(|n| PlanWall {
            name: ["A", "", "", "", "C", ""][n].to_owned(),
            from: outer(corner[n]),
            to: outer(corner[(n + 1) % 6]),
            thickness: 303.0,
        })
        .collect();
    walls.push(PlanWall {
        name: "B".to_owned(),
        from: [0.0, 4107.0],
        to: [5200.0, 4107.0],
        thickness: 215.0,
    });
    let readings: [(&str, f64, [f64; 2], &[f64]); 3] = [
        ("A", -150.0, [0.0, -1.0], &[1.0, 0.0, -2.0, 1.0, -3.0, -1.0]),
        ("B", 4107.0, [0.0, 1.0], &[2.0, 0.0, 1.0, -4.0, 9.0, -2.0]),
        ("C", 7765.0, [0.0, 1.0], &[0.0, -2.0, 4.0]),
    ];
    let mut points = Vec::new();
    for (wall, y, outward, deviations) in readings {
        for (n, deviation) in (0_u8..).zip(deviations) {
            let mark = if *deviation > 8.0 {
                Mark::Nonconforming
            } else if *deviation > 2.0 {
                Mark::Undetermined
            } else {
                Mark::Conforming
            };
            points.push(PlanPoint {
                name: format!("{wall}{}", n + 1),
                at: [200.0 + 1600.0 * f64::from(n), y],
                mark,
                deviation: Some(*deviation),
                text: format!("{deviation:+.0}"),
                outward,
            });
        }
    }
    points.push(PlanPoint {
        name: "C4".to_owned(),
        at: [5000.0, 7765.0],
        mark: Mark::Owed,
        deviation: None,
        text: String::new(),
        outward: [0.0, 1.0],
    });
    PlanView {
        walls,
        beams: (0..14).map(|n| 175.0 + 610.0 * f64::from(n)).map(|x| [[x, 100.0], [x, 3900.0]]).collect(),
        vents: vec![
            [900.0, -150.0],
            [3100.0, -150.0],
            [5300.0, -150.0],
            [7500.0, -150.0],
            [700.0, 7765.0],
            [2600.0, 7765.0],
            [4500.0, 7765.0],
        ],
        services: vec![Service {
            name: "gas".to_owned(),
            route: vec![[8550.0, 2200.0], [6100.0, 2200.0], [6100.0, 900.0]],
        }],
        membranes: vec![vec![
            [0.0, 0.0],
            [7000.0, 0.0],
            [7000.0, 4000.0],
            [5200.0, 4000.0],
            [5200.0, 7615.0],
            [0.0, 7615.0],
        ]],
        points,
        current: Some("C4".to_owned()),
        exaggeration: 60.0,
    }
}

/// Half a wall outwards from an inner corner of the sample's outline.
fn outer([x, y]: [f64; 2]) -> [f64; 2] {
    let x = if x < 1.0 { x - 151.5 } else { x + 151.5 };
    let y = if y < 1.0 { y - 151.5 } else { y + 151.5 };
    [x, y]
}
