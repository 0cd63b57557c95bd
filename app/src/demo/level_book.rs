//! The demo's level books: staff readings that give the levels which the demo wants, over two set-ups, closing
//! 2 mm high. With the L-shaped house they are the readings of the invented plot that was worked by hand.

use std::collections::BTreeMap;

use gaugerod_core::entry::{
    BenchmarkRegistered, BookMethod, InstrumentKind, InstrumentRegistered, LevelBookBegun, ReadValue, Serves,
    SightBooked, SightKind, TwoPegTest,
};
use gaugerod_core::floor::FloorDesign;
use gaugerod_core::ids::{InstrumentName, LevelBookName, PointName};
use gaugerod_core::quantity::Length;
use gaugerod_core::time::Date;

/// The instrument's name on the demo site.
pub const INSTRUMENT: &str = "optical level 2 (invented)";
const BACK: Length = Length::from_mm(1_842);
const CHANGE_FORE: Length = Length::from_mm(1_305);
const CHANGE_BACK: Length = Length::from_mm(1_418);
/// What each of two set-ups adds to the misclosure.
const DRIFT: Length = Length::from_mm(1);

/// The instrument as it was last checked: the two-peg test shows 0.2 mm on 10 m.
pub fn instrument() -> InstrumentRegistered {
    InstrumentRegistered {
        instrument: InstrumentName::new(INSTRUMENT).expect("BUG: the demo's instrument has a name"),
        kind: InstrumentKind::OpticalLevel,
        expanded_uncertainty_um: 3_000,
        checked: Date::new(2026, 3, 2).expect("BUG: a day"),
        due: Date::new(2027, 3, 2).expect("BUG: a day"),
        two_peg: Some(TwoPegTest {
            mid_a_um: 1_412_000,
            mid_b_um: 1_537_000,
            end_a_um: 1_455_000,
            end_b_um: 1_580_800,
            distance_um: 40_000_000,
            allowable_um_per_10_m: 1_000,
        }),
        remark: Some("invented".to_owned()),
    }
}

/// The bench mark of a design, registered at the level that the design gives it.
pub fn benchmark(design: &FloorDesign) -> Option<BenchmarkRegistered> {
    Some(BenchmarkRegistered {
        benchmark: PointName::new(&design.datum.name).ok()?,
        level_um: design.datum.level_m.0.um(),
        checked: Date::new(2026, 3, 3)?,
        source: "setting-out drawing (invented)".to_owned(),
    })
}

/// A whole book that gives these levels; the last bearing wall is read from a second set-up.
pub fn book(
    design: &FloorDesign,
    serves: Vec<Serves>,
    levels: &[(PointName, ReadValue)],
) -> Option<(LevelBookBegun, Vec<SightBooked>)> {
    let name = LevelBookName::new("L1").ok()?;
    let mark = PointName::new(&design.datum.name).ok()?;
    let change = PointName::new("CP1").ok()?;
    let walls: BTreeMap<PointName, PointName> =
        design.bearing_points().into_iter().map(|point| (point.name.clone(), point.wall)).collect();
    let last_wall = design.bearing_points().last()?.wall.clone();
    let level = design.datum.level_m.0;
    let first = level + BACK;
    let second = first - CHANGE_FORE + CHANGE_BACK;
    let sight = |kind, point: &PointName, read: Length| SightBooked {
        book: name.clone(),
        sight: kind,
        point: point.clone(),
        value_um: read.um(),
        remark: None,
    };
    let inter = |from: Length, drift: Length, wanted: &(PointName, ReadValue)| match wanted.1 {
        ReadValue::Um(um) => Some(sight(SightKind::Inter, &wanted.0, from - (Length::from_um(um) + drift))),
        _ => None,
    };
    let (late, early): (Vec<_>, Vec<_>) =
        levels.iter().partition(|(point, _)| walls.get(point) == Some(&last_wall));
    let mut sights = vec![sight(SightKind::Back, &mark, BACK)];
    sights.extend(early.iter().filter_map(|one| inter(first, DRIFT, one)));
    sights.push(sight(SightKind::Fore, &change, CHANGE_FORE));
    sights.push(sight(SightKind::Back, &change, CHANGE_BACK));
    sights.extend(late.iter().filter_map(|one| inter(second, DRIFT + DRIFT, one)));
    sights.push(sight(SightKind::Fore, &mark, second - (level + DRIFT + DRIFT)));
    let begun = LevelBookBegun {
        book: name,
        method: BookMethod::HeightOfCollimation,
        benchmark: mark,
        instrument: InstrumentName::new(INSTRUMENT).ok()?,
        serves,
        target_um: None,
        allowable: None,
    };
    Some((begun, sights))
}
