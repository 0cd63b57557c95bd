//! The finished topping as drawn: how level and flat it must be, how it is read, how it cures. The places at which it
//! is read form a grid over each area of topping.
//!
//! Never here: a verdict on what was finished, or what a floor may bear (that is the engineer's).

use schemars::JsonSchema;
use serde::Deserialize;

use super::polygon::{clear_inside, segment_meets};
use super::{FloorDesign, LayerRole, Place, read::MOST_POINTS};
use crate::ids::PointName;
use crate::quantity::{Factor, Length, Mm, Plain};

/// Level and flatness of the finished topping.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Finish {
    /// How far a level may lie above or below the finished topping's.
    #[schemars(range(min = 0))]
    pub level_tolerance_mm: Mm,
    /// Length of the straightedge.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub straightedge_mm: Mm,
    /// The class of flatness.
    pub class: FlatnessClass,
    /// How far a line may be out of level from its highest to its lowest reading.
    #[serde(default)]
    pub out_of_level: Option<OutOfLevel>,
    /// The furthest apart that two neighbours of the grid may lie; half of the straightedge where it is left out, so
    /// that the straightedge always lies over three readings.
    #[serde(default)]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub grid_spacing_mm: Option<Mm>,
    /// How far inside the edge of the topping the grid begins.
    #[serde(default)]
    #[schemars(range(min = 0))]
    pub grid_edge_mm: Option<Mm>,
    /// Where it comes from.
    pub source: String,
}

/// A class of flatness, as the design names it.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FlatnessClass {
    /// Its name.
    #[schemars(length(min = 1, max = 100))]
    pub name: String,
    /// How the straightedge is laid.
    pub kind: StraightedgeKind,
    /// The greatest gap, or the height of the blocks.
    #[schemars(range(min = 0))]
    pub gap_mm: Mm,
}

/// How the straightedge is laid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum StraightedgeKind {
    /// It rests on the high points; gaps below it count.
    Gap,
    /// It stands on blocks of the gap's height at its ends.
    EqualOffsets,
}

/// How far a line may be out of level.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OutOfLevel {
    /// For each metre of the line.
    #[schemars(range(min = 0))]
    pub per_m_mm: Mm,
    /// And never more than this.
    #[schemars(range(min = 0))]
    pub overall_mm: Mm,
}

/// How the topping cures, and what the project waits for.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Curing {
    /// How a temperature is weighed.
    pub model: MaturityModel,
    /// Below this nothing is gained.
    #[serde(rename = "datum_C")]
    #[schemars(range(min = -50, max = 50))]
    pub datum_c: Plain,
    /// The temperature that an equivalent hour has; ec2 has its own, 20 °C.
    #[serde(rename = "reference_C")]
    #[schemars(range(min = -50, max = 100))]
    pub reference_c: Plain,
    /// Activation energy over the gas constant; arrhenius needs it.
    #[serde(default, rename = "activation_K")]
    #[schemars(range(min = 0, max = 10_000))]
    pub activation_k: Option<Plain>,
    /// The equivalent age at which the project lets people walk on it.
    #[schemars(range(min = 0, max = 100_000))]
    pub walk_at_equivalent_age_h: Plain,
    /// The equivalent age at which the project lets it be loaded, once the engineer's strength is there.
    #[schemars(range(min = 0, max = 100_000))]
    pub load_at_equivalent_age_h: Plain,
    /// Where it comes from.
    pub source: String,
}

/// How a temperature is weighed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum MaturityModel {
    /// In proportion to its height above the datum.
    NurseSaul,
    /// By an activation energy.
    Arrhenius,
    /// As EN 1992-1-1 has it.
    Ec2,
}

/// A place of the grid at which the finished topping is read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GridPoint {
    /// Its name: `F`, its row, a dot, its place in the row (`F3.2`). Rows are numbered on from area to area.
    pub name: PointName,
    /// Which area of topping it lies in, by number.
    pub area: usize,
    /// Place in plan.
    pub x: Length,
    /// Place in plan.
    pub y: Length,
    /// Which row of its area's grid.
    row: usize,
    /// Which column of its area's grid.
    column: usize,
}

impl GridPoint {
    /// A number that points of one row share, rising from row to row and area to area.
    pub fn line(&self) -> usize {
        self.area * MOST_POINTS + self.row
    }
}

/// A line of the grid, over which a straightedge is laid: its points in order, three at least.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GridLine {
    /// Its name: `row 3`, `column 2 front`.
    pub name: String,
    /// Its points.
    pub points: Vec<GridPoint>,
}

impl GridLine {
    /// How far along the line a point of it lies.
    pub fn along(&self, point: &GridPoint) -> Length {
        self.points.first().map_or(Length::ZERO, |first| (point.x - first.x) + (point.y - first.y))
    }

    /// The place in plan so far along the line, which runs along an axis of the plan.
    pub fn place(&self, along: Length) -> Option<(Length, Length)> {
        let (first, last) = (self.points.first()?, self.points.last()?);
        Some(if first.y == last.y { (first.x + along, first.y) } else { (first.x, first.y + along) })
    }
}

/// An area of topping that is finished by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FinishArea<'d> {
    /// Its name; `None` for the whole floor.
    pub name: Option<&'d PointName>,
    /// Its edge.
    pub outline: &'d [Place],
}

impl FloorDesign {
    /// The level of the finished topping: that of the finished floor less what is laid on the topping by others;
    /// `None` where the build-up has no topping.
    pub fn finished_topping_level(&self) -> Option<Length> {
        let topping = self.layers.iter().position(|layer| layer.role == LayerRole::Topping)?;
        let above = self.layers[..topping].iter().map(|layer| layer.thickness_mm.0).sum::<Length>();
        Some(self.levels.finished_floor_level_m.0 - above)
    }

    /// The areas that are finished by themselves: those of the topping, or the whole floor.
    pub fn finish_areas(&self) -> Vec<FinishArea<'_>> {
        match &self.topping {
            Some(topping) => topping
                .areas
                .iter()
                .map(|area| FinishArea { name: Some(&area.name), outline: &area.outline_mm })
                .collect(),
            None => vec![FinishArea { name: None, outline: &self.plan.outline_mm }],
        }
    }

    /// The grid over every area, by rows from low y to high, each from low x to high; empty where the design says
    /// nothing of the finish.
    ///
    /// Columns and rows divide an area's extent evenly, at least in two, so that a whole line always has the three
    /// points that show a gap. Points off the area, or nearer to its edge than the grid begins, are left out.
    pub fn finish_grid(&self) -> Vec<GridPoint> {
        let Some(finish) = &self.finish else { return Vec::new() };
        let half = || finish.straightedge_mm.0.share(1, 2);
        let spacing = finish.grid_spacing_mm.map_or_else(half, |own| own.0);
        let edge = finish.grid_edge_mm.map_or(Length::ZERO, |own| own.0);
        let mut points = Vec::new();
        let mut rows_before = 0;
        for (area, own) in self.finish_areas().iter().enumerate() {
            let [xs, ys] = [0, 1].map(|axis| stations(own.outline, axis, spacing, edge));
            for (row, y) in ys.iter().enumerate() {
                let on = xs.iter().enumerate().filter(|(_, x)| clear_inside(own.outline, (**x, *y), edge));
                for (place, (column, x)) in on.enumerate() {
                    let name = format!("F{}.{}", rows_before + row + 1, place + 1);
                    let Ok(name) = PointName::new(&name) else { continue };
                    points.push(GridPoint { name, area, x: *x, y: *y, row, column });
                }
                if points.len() > MOST_POINTS {
                    return points; // more than a design may have: told when it is read
                }
            }
            rows_before += ys.len();
        }
        points
    }

    /// Rows and columns of the grid: every straight run of neighbours with the three points that show a gap.
    ///
    /// Rows and columns and no other lines, because a straightedge is laid both ways over a floor, and so every
    /// level counts twice without a reading more. A run ends where the area does.
    pub fn finish_lines(&self) -> Vec<GridLine> {
        let grid = self.finish_grid();
        let areas = self.finish_areas();
        let mut lines = Vec::new();
        let mut rows_before = 0;
        for (area, own) in areas.iter().enumerate() {
            let of_area: Vec<&GridPoint> = grid.iter().filter(|point| point.area == area).collect();
            let suffix =
                own.name.filter(|_| areas.len() > 1).map_or(String::new(), |name| format!(" {name}"));
            let most = |of: fn(&GridPoint) -> usize| of_area.iter().map(|point| of(point)).max();
            for row in 0..=most(|point| point.row).unwrap_or(0) {
                let on: Vec<&GridPoint> = of_area.iter().copied().filter(|point| point.row == row).collect();
                let name = format!("row {}", rows_before + row + 1);
                runs(own.outline, &name, &on, |point| point.column, &mut lines);
            }
            for column in 0..=most(|point| point.column).unwrap_or(0) {
                let on: Vec<&GridPoint> =
                    of_area.iter().copied().filter(|point| point.column == column).collect();
                let name = format!("column {}{suffix}", column + 1);
                runs(own.outline, &name, &on, |point| point.row, &mut lines);
            }
            rows_before += most(|point| point.row).map_or(0, |last| last + 1);
        }
        lines
    }
}

/// The fewest points of a line that show a gap.
const LEAST_ON_LINE: usize = 3;

/// Neighbours on one line, apart where the area's edge lies between them.
fn runs(
    outline: &[Place],
    name: &str,
    points: &[&GridPoint],
    number: fn(&GridPoint) -> usize,
    lines: &mut Vec<GridLine>,
) {
    let mut run: Vec<GridPoint> = Vec::new();
    let mut found: Vec<Vec<GridPoint>> = Vec::new();
    for point in points {
        let joined = run.last().is_none_or(|last| {
            number(last) + 1 == number(point) && !segment_meets(outline, (last.x, last.y), (point.x, point.y))
        });
        if !joined {
            found.push(std::mem::take(&mut run));
        }
        run.push((*point).clone());
    }
    found.push(run);
    found.retain(|run| run.len() >= LEAST_ON_LINE);
    let parted = found.len() > 1;
    for (part, points) in found.into_iter().enumerate() {
        let name = if parted { format!("{name}, part {}", part + 1) } else { name.to_owned() };
        lines.push(GridLine { name, points });
    }
}

/// Where the grid's columns (axis 0) or rows (axis 1) lie: evenly, to the millimetre, no further apart than the
/// spacing.
fn stations(outline: &[Place], axis: usize, spacing: Length, edge: Length) -> Vec<Length> {
    let along = || outline.iter().map(|place| place[axis].0);
    let (Some(low), Some(high)) = (along().min(), along().max()) else { return Vec::new() };
    let (low, high) = (low + edge, high - edge);
    let whole = (high - low).um();
    if whole <= 0 || spacing <= Length::ZERO {
        return Vec::new();
    }
    let parts = (whole / spacing.um() + i64::from(whole % spacing.um() != 0)).max(2);
    let most = i64::try_from(MOST_POINTS).unwrap_or(i64::MAX);
    let parts = parts.min(most);
    let station = |part: i64| match part {
        0 => low,
        part if part == parts => high,
        part => Length::from_mm((low + Length::from_um(whole).share(part, parts)).um() / 1_000),
    };
    (0..=parts).map(station).collect()
}

/// What does not agree within the drawing; `fault` is told the place and what is wrong.
pub(super) fn check(design: &FloorDesign, fault: &mut dyn FnMut(String, String)) {
    if let Some(finish) = &design.finish {
        check_finish(design, finish, fault);
    }
    if let Some(curing) = &design.curing {
        check_curing(curing, fault);
    }
}

fn check_finish(design: &FloorDesign, finish: &Finish, fault: &mut dyn FnMut(String, String)) {
    if design.finished_topping_level().is_none() {
        fault("/finish".to_owned(), "the layers have no topping".to_owned());
    }
    let mut ensure = |holds: bool, key: &str, what: &str| {
        if !holds {
            fault(format!("/finish/{key}"), what.to_owned());
        }
        holds
    };
    let out = finish.out_of_level;
    for (key, value) in [
        ("level_tolerance_mm", Some(finish.level_tolerance_mm)),
        ("class/gap_mm", Some(finish.class.gap_mm)),
        ("out_of_level/per_m_mm", out.map(|out| out.per_m_mm)),
        ("out_of_level/overall_mm", out.map(|out| out.overall_mm)),
        ("grid_edge_mm", finish.grid_edge_mm),
    ] {
        ensure(value.is_none_or(|value| value.0 >= Length::ZERO), key, "must not be negative");
    }
    ensure(!finish.class.name.trim().is_empty(), "class/name", "must name the class");
    ensure(!finish.source.trim().is_empty(), "source", "must say where it comes from");
    let positive = "must be more than 0";
    let sound = ensure(finish.straightedge_mm.0 > Length::ZERO, "straightedge_mm", positive);
    let spaced = finish.grid_spacing_mm.is_none_or(|own| own.0 > Length::ZERO);
    if !(ensure(spaced, "grid_spacing_mm", positive) && sound) {
        return;
    }
    let count = design.finish_grid().len();
    ensure(count > 0, "grid_edge_mm", "leaves no place on the topping at which it is read");
    let most = format!("makes a grid of more than {MOST_POINTS} places");
    ensure(count <= MOST_POINTS, "grid_spacing_mm", &most);
}

fn check_curing(curing: &Curing, fault: &mut dyn FnMut(String, String)) {
    let mut within = |key: &str, value: Plain, low: i32, high: i32| {
        if value.0 < Factor::whole(low) || Factor::whole(high) < value.0 {
            fault(format!("/curing/{key}"), format!("must lie within {low} to {high}"));
        }
    };
    within("datum_C", curing.datum_c, -50, 50);
    within("reference_C", curing.reference_c, -50, 100);
    within("walk_at_equivalent_age_h", curing.walk_at_equivalent_age_h, 0, 100_000);
    within("load_at_equivalent_age_h", curing.load_at_equivalent_age_h, 0, 100_000);
    if let Some(activation) = curing.activation_k {
        within("activation_K", activation, 0, 10_000);
    } else if curing.model == MaturityModel::Arrhenius {
        fault("/curing/activation_K".to_owned(), "is missing: arrhenius needs it".to_owned());
    }
    if curing.model == MaturityModel::NurseSaul && curing.reference_c.0 <= curing.datum_c.0 {
        fault("/curing/reference_C".to_owned(), "must be more than datum_C".to_owned());
    }
    if curing.load_at_equivalent_age_h.0 < curing.walk_at_equivalent_age_h.0 {
        let what = "must not be less than walk_at_equivalent_age_h: who may load it may walk on it";
        fault("/curing/load_at_equivalent_age_h".to_owned(), what.to_owned());
    }
    if curing.source.trim().is_empty() {
        fault("/curing/source".to_owned(), "must say where it comes from".to_owned());
    }
}
