//! An invented floor for the gallery and for the tests of the drawings; none of it is real.

use std::sync::Arc;

use gaugerod_core::conformity::Verdict;
use gaugerod_core::floor::FloorDesign;
use gaugerod_core::ids::PointName;
use gaugerod_core::plan_drawing::{Drawing, Parts, Point, Standing};
use gaugerod_core::quantity::Length;

use crate::widgets::{
    Mark, PlanView, SectionView,
    hatch::Material,
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
        drawn_top: None,
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

/// The demo's floor with invented bearing levels, beams and north: one wall that does not conform, one too near to
/// call, one point still owed.
pub fn sample_plan() -> PlanView {
    let design = FloorDesign::read(include_str!("../../../assets/demo/semi.toml"));
    let design = design.expect("BUG: the shipped demo design is sound");
    let mut drawing = Drawing::of(&design, None, Parts { services: true, membranes: true });
    let readings = [
        ("A", -50.0, [0.0, -1.0], &[1, 0, -2, 1, -3, -1][..], Verdict::Conforming),
        ("B", 4107.5, [0.0, 1.0], &[2, 0, 1, -4, 9, -2], Verdict::Nonconforming),
        ("C", 7665.0, [0.0, 1.0], &[0, -2, 4], Verdict::Undetermined),
    ];
    let name = |text: String| PointName::new(&text).expect("BUG: a short name");
    for (line, (wall, y, outward, deviations, overall)) in readings.into_iter().enumerate() {
        drawing.walls[line].standing = Some(Standing::Verdict(overall));
        for (n, deviation) in (0_u8..).zip(deviations) {
            let verdict = match deviation {
                9 => Verdict::Nonconforming,
                4 => Verdict::Undetermined,
                _ => Verdict::Conforming,
            };
            drawing.points.push(Point {
                name: name(format!("{wall}{}", n + 1)),
                at: [200.0 + 1600.0 * f64::from(n), y],
                outward,
                line,
                standing: Standing::Verdict(verdict),
                deviation: Some(Length::from_mm(*deviation)),
            });
        }
    }
    drawing.points.push(Point {
        name: name("C4".to_owned()),
        at: [5000.0, 7665.0],
        outward: [0.0, 1.0],
        line: 2,
        standing: Standing::Owed,
        deviation: None,
    });
    drawing.beams =
        (0..14).map(|n| 175.0 + 610.0 * f64::from(n)).map(|x| [[x, 100.0], [x, 3900.0]]).collect();
    drawing.exaggeration = 50.0;
    drawing.worst = vec![10, 14, 9, 4, 2]; // B5 C3 B4 A5 A3
    drawing.north = Some([0.6, 0.8]);
    PlanView { drawing: Arc::new(drawing), current: Some(name("C4".to_owned())), ..PlanView::default() }
}
