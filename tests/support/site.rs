//! An invented site as a journey needs it: its floor design, its people, a register, and photographs to add.

use std::fmt::Write as _;
use std::path::PathBuf;

use serde_json::Value;

use crate::program::{Ran, Tablet};
use crate::random::Random;
use crate::sources::top;

/// The supervisor, who books and offers.
pub const SUPERVISOR: &str = "Robin Example";
/// The quality manager, who releases and refuses.
pub const MANAGER: &str = "Sam Sample";
/// The designer, who concedes.
pub const DESIGNER: &str = "Kim Invented";

/// A tablet with a new register on it and the people enrolled.
pub struct Site {
    /// Where everything lies.
    pub tablet: Tablet,
    /// What `new` printed.
    pub opened: String,
}

impl Site {
    /// Makes a register `site.gaugerod` with a supervisor, a manager and a designer.
    pub fn new() -> Self {
        let tablet = Tablet::new();
        tablet.write("passphrase.txt", "an invented passphrase of six words\n");
        let opened = tablet
            .run([
                "new",
                "site.gaugerod",
                "--site",
                "Invented Meadow",
                "--authority-passphrase-file",
                "passphrase.txt",
            ])
            .expect_code(0)
            .out;
        let site = Self { tablet, opened };
        for (name, role, pin) in [
            (SUPERVISOR, "supervisor", "274915"),
            (MANAGER, "quality-manager", "660318"),
            (DESIGNER, "designer", "905127"),
        ] {
            site.tablet.write(&pin_file(name), format!("{pin}\n"));
            site.tablet.run(enrol_args(name, role)).expect_code(0);
        }
        site
    }

    /// Hands lines of commands to `enter` as a person with their PIN.
    pub fn enter(&self, person: &str, lines: &str) -> Ran {
        self.tablet.run_with_input(
            ["enter", "site.gaugerod", "--as", person, "--pin-file", &pin_file(person)],
            lines,
        )
    }

    /// Issues the floor design in `text` for plots.
    pub fn issue(&self, text: &str, plots: &[&str]) {
        self.tablet.write("design.toml", text);
        let line = serde_json::json!({"do": "issue-design", "file": "design.toml", "plots": plots});
        self.enter(MANAGER, &format!("{line}\n")).expect_code(0);
    }

    /// Where a plot stands.
    #[track_caller]
    pub fn status(&self, plot: &str) -> Value {
        self.tablet.run(["status", "site.gaugerod", "--plot", plot, "--json"]).expect_code(0).json()
    }

    /// The hold point of a plot's status.
    #[track_caller]
    pub fn hold_point(&self, plot: &str, id: &str) -> Value {
        let status = self.status(plot);
        let found = status["hold_points"].as_array().and_then(|all| all.iter().find(|h| h["id"] == id));
        found.unwrap_or_else(|| panic!("no hold point {id} in {status:#}")).clone()
    }

    /// A photograph of the demo whose bytes no other has, written among the site's files.
    pub fn photo(&self, number: u64) -> PathBuf {
        photo(&self.tablet, number)
    }
}

impl Default for Site {
    fn default() -> Self {
        Self::new()
    }
}

/// A photograph of the demo whose bytes no other has, written among a tablet's files.
pub fn photo(tablet: &Tablet, number: u64) -> PathBuf {
    let original =
        std::fs::read(top().join("assets/demo/photos/bearing-wall-staff.jpg")).expect("a photo of the demo");
    tablet.write(&format!("photo-{number}.jpg"), with_comment(&original, &format!("copy {number}")))
}

fn enrol_args<'a>(name: &'a str, role: &'a str) -> Vec<String> {
    let file = pin_file(name);
    [
        "enrol",
        "site.gaugerod",
        "--person",
        name,
        "--role",
        role,
        "--pin-file",
        &file,
        "--authority-passphrase-file",
        "passphrase.txt",
    ]
    .map(str::to_owned)
    .to_vec()
}

/// The name of the file with a person's PIN.
pub fn pin_file(person: &str) -> String {
    format!("pin-{}.txt", person.to_lowercase().replace(' ', "-"))
}

/// A JPEG with a comment segment right after its start: the same picture in other bytes (ITU-T T.81, B.2.4.5).
pub fn with_comment(jpeg: &[u8], comment: &str) -> Vec<u8> {
    let length = u16::try_from(comment.len() + 2).expect("a short comment");
    let mut bytes = jpeg[..2].to_vec();
    bytes.extend([0xFF, 0xFE]);
    bytes.extend(length.to_be_bytes());
    bytes.extend(comment.as_bytes());
    bytes.extend(&jpeg[2..]);
    bytes
}

/// A rectangular house of the journey's own, in whole millimetres, levels in millimetres above the datum.
#[derive(Debug, Clone)]
pub struct House {
    /// Length of the outline in x.
    pub x: i64,
    /// Length of the outline in y, the span.
    pub y: i64,
    /// Bearing level that the build-up demands.
    pub bearing: i64,
    /// Highest ground that leaves the void.
    pub highest_ground: i64,
    /// The finished floor.
    pub finished_floor: i64,
    /// Expanded uncertainty of a level.
    pub uncertainty: i64,
    /// Reading points of wall N and wall S.
    pub bearing_points: Vec<String>,
    /// Ground points.
    pub ground_points: Vec<String>,
    /// Vents, with the area that the design draws.
    pub vents: Vec<(String, i64)>,
}

/// Tolerance of the bearing level upwards in [`House`]'s design.
pub const PLUS: i64 = 6;
/// Tolerance of the bearing level downwards.
pub const MINUS: i64 = 9;

impl House {
    /// A house with random sizes and levels.
    pub fn random(random: &mut Random) -> Self {
        let (topping, overlay, beam, bed) =
            (random.between(65, 90), random.between(60, 120), random.between(150, 175), 10);
        let finished_floor = random.between(30_000, 90_000);
        let bearing = finished_floor - topping - overlay - beam - bed;
        let x = random.between(5_000, 9_000);
        let points = usize::try_from((x - 300) / 1500 + 1).expect("a positive count");
        Self {
            x,
            y: random.between(3_000, 4_500),
            bearing,
            highest_ground: bearing - 20 - 150 - 50,
            finished_floor,
            uncertainty: random.between(1, 3),
            bearing_points: ["N", "S"]
                .iter()
                .flat_map(|w| (1..=points).map(move |i| format!("{w}{i}")))
                .collect(),
            ground_points: (1..=3).map(|i| format!("G{i}")).collect(),
            vents: (1..=4).map(|i| (format!("V{i}"), 12_000)).collect(),
        }
    }

    /// Depths of topping, overlay and beam are not kept apart: the design puts what is left into the topping.
    pub fn design(&self, revision: &str) -> String {
        let depth = self.finished_floor - self.bearing;
        let mut text = format!(
            r#"gaugerod_floor_design = 1
drawing = "IM-GF-07"
revision = "{revision}"
title = "Detached house, invented for a test"
prepared_by = "Nobody, invented"
invented = true
membrane_required = "damp"
datum = {{ name = "peg 1", level_m = {datum} }}
decision = {{ rule = "guarded", expanded_uncertainty_mm = {u}, coverage_factor = 2 }}
instruments = [ {{ name = "tape", quantity = "lap", expanded_uncertainty_mm = 1 }}, {{ name = "tape", quantity = "height", expanded_uncertainty_mm = 1 }}, {{ name = "label", quantity = "thickness", expanded_uncertainty_mm = 0 }} ]
levels = {{ finished_floor_level_m = {ffl}, outside_ground_level_m = {outside} }}
under_floor = {{ infill_below_bearing_mm = 20, void_mm = 150, heave_allowance_mm = 50, oversite_drained = true }}
layers = [
  {{ name = "topping", role = "topping", thickness_mm = {topping} }},
  {{ name = "overlay", role = "overlay", thickness_mm = 50 }},
  {{ name = "damp membrane", role = "membrane", purpose = "damp", thickness_mm = 0 }},
  {{ name = "infill", role = "infill", thickness_mm = 0 }},
  {{ name = "beams", role = "beam", thickness_mm = 150 }},
  {{ name = "bed", role = "bedding", thickness_mm = 10 }},
]
dividing_walls = []
services = []
plan = {{ outline_mm = [[0, 0], [{x}, 0], [{x}, {y}], [0, {y}]], exposed_edges = [0, 1, 2, 3] }}
walls = [
  {{ name = "S", line_mm = [[0, 0], [{x}, 0]], thickness_mm = 100, bearing = true, spaced = {{ first_mm = 300, spacing_mm = 1500 }} }},
  {{ name = "N", line_mm = [[0, {y}], [{x}, {y}]], thickness_mm = 100, bearing = true, spaced = {{ first_mm = 300, spacing_mm = 1500 }} }},
]
"#,
            datum = metres(self.finished_floor - 1_000),
            u = self.uncertainty,
            ffl = metres(self.finished_floor),
            outside = metres(self.finished_floor - 520),
            topping = depth - 50 - 150 - 10,
            x = self.x,
            y = self.y,
        );
        for (i, name) in self.ground_points.iter().enumerate() {
            let along = self.x * (i64::try_from(i).expect("a small count") + 1) / 5;
            writeln!(text, "[[ground_points]]\nname = \"{name}\"\nx_mm = {along}\ny_mm = {}", self.y / 2)
                .expect("text grows");
        }
        for (i, (name, area)) in self.vents.iter().enumerate() {
            let (edge, along) = (if i < 2 { 0 } else { 2 }, if i % 2 == 0 { 700 } else { self.x - 700 });
            writeln!(text, "[[vents]]\nname = \"{name}\"\nedge = {edge}\nalong_mm = {along}\nequivalent_area_mm2 = {area}")
                .expect("text grows");
        }
        write!(
            text,
            r#"[limits]
bearing_tolerance_plus_mm = {{ value = {PLUS}, source = "invented drawing IM-GF-07, note 1" }}
bearing_tolerance_minus_mm = {{ value = {MINUS}, source = "invented drawing IM-GF-07, note 1" }}
dpc_lap_least_mm = {{ value = 100, source = "invented drawing IM-GF-07, note 2" }}
"#
        )
        .expect("text grows");
        text
    }
}

/// Millimetres as metres with three decimals, as people write levels.
pub fn metres(mm: i64) -> String {
    let sign = if mm < 0 { "-" } else { "" };
    format!("{sign}{}.{:03}", mm.abs() / 1000, mm.abs() % 1000)
}

/// The ids of all entries in a register, read by another program's SQLite (Python's), as hexadecimal text.
pub fn entry_ids(register: &std::path::Path) -> std::collections::BTreeSet<String> {
    let script = "import sqlite3, sys\nfor (i,) in sqlite3.connect(sys.argv[1]).execute('SELECT lower(hex(id)) FROM entries'): print(i)";
    let read = crate::program::tool("python3", ["-c", script, register.to_str().expect("a path in UTF-8")]);
    read.expect_code(0).out.lines().map(str::to_owned).collect()
}
