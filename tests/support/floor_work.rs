//! A whole floor's worth of work on one plot: readings, answers and photographs for every hold point of the shipped
//! plan, and the verdicts that an independent reading of JCGM 106 gives each reading.

use serde_json::{Value, json};

use crate::random::Random;
use crate::site::{House, MINUS, PLUS, Site, metres};

/// A booked reading and what must be made of it.
#[derive(Debug, Clone)]
pub struct Reading {
    /// The hold point.
    pub hold_point: &'static str,
    /// The criterion.
    pub criterion: &'static str,
    /// The point.
    pub point: String,
    /// The number as it is written in the unit of its key.
    pub written: String,
    /// The key that carries it.
    pub key: &'static str,
    /// What the decision rule says of it; `None` where only all of a criterion's readings together are judged.
    pub verdict: Option<&'static str>,
}

impl Reading {
    /// The command that books it.
    pub fn command(&self, plot: &str) -> Value {
        let number: Value = serde_json::from_str(&self.written).expect("a decimal number");
        json!({"do": "book-reading", "plot": plot, "hold_point": self.hold_point, "criterion": self.criterion, "point": self.point, self.key: number})
    }
}

/// The rule of JCGM 106:2012 with a guard band as wide as the expanded uncertainty, in any whole unit.
pub fn guarded(value: i64, least: Option<i64>, most: Option<i64>, u: i64) -> &'static str {
    let inside = least.is_none_or(|l| l + u <= value) && most.is_none_or(|m| value <= m - u);
    let outside = least.is_some_and(|l| value < l - u) || most.is_some_and(|m| m + u < value);
    match (inside, outside) {
        (true, _) => "conforming",
        (_, true) => "nonconforming",
        _ => "undetermined",
    }
}

/// Levels of the bearing walls with deviations between `least` and `most` millimetres.
pub fn bearing_levels(house: &House, random: &mut Random, least: i64, most: i64) -> Vec<Reading> {
    let points = house.bearing_points.iter();
    points
        .map(|point| {
            let deviation = random.between(least, most);
            Reading {
                hold_point: "bearing-level",
                criterion: "level",
                point: point.clone(),
                written: metres(house.bearing + deviation),
                key: "level_m",
                verdict: Some(guarded(deviation, Some(-MINUS), Some(PLUS), house.uncertainty)),
            }
        })
        .collect()
}

/// Levels of the ground that keep `least` to `most` millimetres of height under the floor.
pub fn ground_levels(
    house: &House,
    random: &mut Random,
    hold_point: &'static str,
    criterion: &'static str,
    least: i64,
    most: i64,
) -> Vec<Reading> {
    let points = house.ground_points.iter();
    points
        .map(|point| {
            let height = random.between(least, most);
            Reading {
                hold_point,
                criterion,
                point: point.clone(),
                written: metres(house.bearing - 20 - height),
                key: "level_m",
                verdict: Some(guarded(height, Some(200), None, house.uncertainty)),
            }
        })
        .collect()
}

fn lengths(
    hold_point: &'static str,
    criterion: &'static str,
    key: &'static str,
    points: &[&str],
    random: &mut Random,
    from: (i64, i64),
    limit: (i64, i64),
) -> Vec<Reading> {
    points
        .iter()
        .map(|point| {
            let value = random.between(from.0, from.1);
            Reading {
                hold_point,
                criterion,
                point: (*point).to_owned(),
                written: value.to_string(),
                key,
                verdict: Some(guarded(value, Some(limit.0), None, limit.1)),
            }
        })
        .collect()
}

/// Readings for every criterion of the shipped plan, all of them conforming.
pub fn conforming_readings(house: &House, random: &mut Random) -> Vec<Reading> {
    let u = house.uncertainty;
    let mut all = ground_levels(house, random, "oversite", "level", 200 + u, 320);
    all.extend(bearing_levels(house, random, -MINUS + u, PLUS - u));
    all.extend(lengths("dpc", "lap", "lap_mm", &["N", "S"], random, (101, 180), (100, 1)));
    all.extend(lengths("dpc", "height", "height_mm", &["front", "back"], random, (151, 240), (150, 1)));
    all.extend(house.vents.iter().map(|(vent, area)| Reading {
        hold_point: "vents",
        criterion: "openings",
        point: vent.clone(),
        written: (area - random.between(0, 1000)).to_string(),
        key: "equivalent_area_mm2",
        verdict: None,
    }));
    // As built the floor may lie lower by the whole tolerance: the ground keeps more than that clear.
    all.extend(ground_levels(house, random, "void-clean", "void-as-built", 240, 320));
    all.extend(lengths(
        "membrane",
        "lap",
        "lap_mm",
        &["lap 1", "lap 2", "lap 3"],
        random,
        (151, 260),
        (150, 1),
    ));
    let thickness = random.between(30, 60);
    all.push(Reading {
        hold_point: "membrane",
        criterion: "thickness",
        point: "label".to_owned(),
        written: format!("0.{thickness}"),
        key: "thickness_mm",
        verdict: Some(guarded(thickness, Some(30), None, 0)),
    });
    all
}

/// The gates of the shipped plan with their hold points, in the order of work.
pub const GATES: [(&str, &[&str]); 4] = [
    ("ready-for-beams", &["oversite", "bearing-level", "dpc", "vents", "edge-blocks"]),
    ("ready-to-close-the-void", &["void-clean"]),
    ("ready-to-pour", &["gas-pipes", "membrane"]),
    ("finished", &["sign-off"]),
];

/// Questions of the shipped plan by hold point; an answer other than yes is `not-applicable` for the reason given.
const QUESTIONS: [(&str, &str, &str); 20] = [
    ("oversite", "stripped", ""),
    ("oversite", "ground-as-designed", ""),
    ("oversite", "drained", ""),
    ("bearing-level", "sound", ""),
    ("bearing-level", "width", ""),
    ("dpc", "present", ""),
    ("dpc", "no-bridging", ""),
    ("dpc", "cavity", "solid walls, no cavity"),
    ("vents", "clear-path", ""),
    ("vents", "lintel", ""),
    ("edge-blocks", "bedded", ""),
    ("edge-blocks", "line", ""),
    ("edge-blocks", "corner", ""),
    ("void-clean", "clean", ""),
    ("void-clean", "openings-clear", ""),
    ("gas-pipes", "route", "no gas in this floor"),
    ("gas-pipes", "no-membrane-above", "no gas in this floor"),
    ("gas-pipes", "engineer", "no gas in this floor"),
    ("membrane", "sealed", ""),
    ("membrane", "gas-again", "no gas in this floor"),
];

/// Answers to every question of a hold point.
pub fn answers(plot: &str, hold_point: &str) -> Vec<Value> {
    let questions =
        QUESTIONS.iter().copied().chain([("sign-off", "outstanding", ""), ("sign-off", "notices", "")]);
    questions
        .filter(|(at, ..)| *at == hold_point)
        .map(|(_, criterion, reason)| {
            let mut line = json!({"do": "answer", "plot": plot, "hold_point": hold_point, "criterion": criterion, "answer": "yes"});
            if !reason.is_empty() {
                line["answer"] = "not-applicable".into();
                line["reason"] = reason.into();
            }
            line
        })
        .collect()
}

/// Photographs that the shipped plan owes at a hold point: the subject of each.
pub fn subjects(house: &House, hold_point: &str) -> Vec<String> {
    let each =
        |subject: &str, places: &[&str]| places.iter().map(|p| format!("{subject}:{p}")).collect::<Vec<_>>();
    let vents: Vec<&str> = house.vents.iter().map(|(name, _)| name.as_str()).collect();
    match hold_point {
        "oversite" => vec!["oversite".into(); 2],
        "bearing-level" => [each("wall-top", &["S", "N"]), vec!["level-book".into()]].concat(),
        "dpc" => each("dpc-lap", &["S", "N"]),
        "vents" => each("vent", &vents),
        "edge-blocks" => vec!["edge-blocks".into(); 2],
        "void-clean" => vec!["void".into(); 2],
        "gas-pipes" => vec!["gas-route".into()],
        "membrane" => ["membrane-lap", "membrane-whole", "membrane-whole"].map(String::from).to_vec(),
        _ => Vec::new(),
    }
}

/// The commands that add the owed photographs of a hold point, each photograph unlike any other.
pub fn photo_commands(
    site: &Site,
    house: &House,
    plot: &str,
    hold_point: &str,
    random: &mut Random,
) -> Vec<Value> {
    let add = |subject: String, number: u64| {
        let file = site.photo(number);
        json!({"do": "add-photo", "plot": plot, "hold_point": hold_point, "subject": subject, "file": file.file_name().expect("a file").to_string_lossy()})
    };
    subjects(house, hold_point).into_iter().map(|subject| add(subject, random.bits())).collect()
}

/// Commands as `enter` reads them, one a line.
pub fn lines(commands: &[Value]) -> String {
    let mut text = String::new();
    for command in commands {
        text.push_str(&command.to_string());
        text.push('\n');
    }
    text
}
