//! Ventilation: whether the void below the floor gets its free area, from opposite sides, into every compartment.
//!
//! It counts openings as drawn or booked; whether they are clear is for eyes and photographs. Rates and spacing
//! come with the input; spacing has no default.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::polygon::{self, Point, check_outline, edges};
use super::{Finding, MAX_POINTS, MAX_VERTICES, deciding, refuse_negative, refuse_too_many};
use crate::conformity::{Limits, Verdict};
use crate::faults::Faults;
use crate::quantity::{Area, Length, Metres, Mm, Mm2, SquareMetres};
use crate::working::{ARITHMETIC, COMMON_PRACTICE, FLOOR_DESIGN, Working, of_many};

mod compartments;
mod openings_area;
#[cfg(test)]
mod tests;

pub use compartments::Compartment;
pub use openings_area::OpeningsArea;

/// More free area than floor makes no sense: a square metre on each metre or square metre.
const LARGEST_RATE_MM2: i64 = 1_000_000;

/// A floor on plan, its openings and the rates they are held against.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Inner faces of the outer walls: a simple polygon, any winding, not closed.
    #[schemars(length(min = 3, max = MAX_VERTICES))]
    pub outline_mm: Vec<Point>,
    /// Edges towards open air; edge i runs from vertex i to vertex i + 1 as given.
    #[schemars(length(max = MAX_VERTICES))]
    pub exposed_edges: Vec<u32>,
    /// Openings in the exposed edges.
    #[schemars(length(max = MAX_POINTS))]
    pub openings: Vec<Opening>,
    /// Free area for each metre of exposed wall, in mm².
    #[schemars(range(min = 0, max = LARGEST_RATE_MM2))]
    pub per_run_mm2_per_m: Mm2,
    /// Free area for each square metre of floor, in mm².
    #[schemars(range(min = 0, max = LARGEST_RATE_MM2))]
    pub per_area_mm2_per_m2: Mm2,
    /// The largest gap between openings along an edge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0))]
    pub largest_spacing_mm: Option<Mm>,
    /// The furthest that the first and last opening may be from the corner.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0))]
    pub furthest_from_corner_mm: Option<Mm>,
    /// Walls that divide the void.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(max = 20))]
    pub dividing_walls: Option<Vec<DividingWall>>,
}

/// One opening: `equivalent_area_mm2`, or `in_series_mm2` of which the least counts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Opening {
    /// The edge it stands in.
    pub edge: u32,
    /// Its place along the edge, from the edge's first vertex.
    #[schemars(range(min = 0))]
    pub along_mm: Mm,
    /// Its free area.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0))]
    pub equivalent_area_mm2: Option<Mm2>,
    /// Free areas of air brick, sleeve and wall opening, one behind the other.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = 20), inner(range(min = 0)))]
    pub in_series_mm2: Option<Vec<Mm2>>,
}

impl Opening {
    /// What counts: the area stated, or the least of those in series.
    fn counted(&self) -> Area {
        let series = self.in_series_mm2.iter().flatten();
        self.equivalent_area_mm2.iter().chain(series).map(|area| area.0).min().unwrap_or_default()
    }
}

/// A wall that divides the void, from the outline or another such wall to the outline or another.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DividingWall {
    /// Its line on plan.
    #[schemars(length(min = 2, max = MAX_VERTICES))]
    pub line_mm: Vec<Point>,
    /// Free area of the openings through it, all together or one by one.
    pub openings_mm2: OpeningsArea,
}

/// What is required, what is there, and where.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// Area inside the outline.
    pub floor_area_m2: SquareMetres,
    /// Length of all exposed edges.
    pub exposed_perimeter_m: Metres,
    /// The greater of the two requirements.
    pub required_mm2: Mm2,
    /// Which requirement that is; `run` when they are equal.
    pub governs: Governs,
    /// Free area of all openings.
    pub provided_mm2: Mm2,
    /// What is missing, 0 when nothing is.
    pub shortfall_mm2: Mm2,
    /// Openings stand in two exposed edges whose outward normals differ by 120° or more.
    pub opposed: bool,
    /// Along each exposed edge: corner to first opening, gaps, last opening to corner.
    pub spacings_mm: Vec<Spacings>,
    /// Parts of the void and their openings.
    pub compartments: Vec<Compartment>,
    /// Any nonconforming, else any undetermined, else conforming.
    pub verdict: Verdict,
    /// Every rule looked at.
    pub findings: Vec<Finding>,
    /// The sums.
    pub working: Working,
}

/// Which requirement is the greater.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Governs {
    Run,
    Area,
}

/// Distances along one exposed edge.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Spacings {
    /// The edge.
    pub edge: u32,
    /// Corner to first, gaps, last to corner; the whole edge when it has no opening.
    pub spacings_mm: Vec<Mm>,
}

/// Judges the ventilation of the void.
pub fn reckon(input: &Input) -> Result<Output, Faults> {
    check(input)?;
    let compartments =
        compartments::split(&input.outline_mm, input.dividing_walls.as_deref().unwrap_or_default())?;
    let mut working = Working::new();
    let mut findings = Vec::new();

    let floor_area = polygon::area(&input.outline_mm);
    working.m2("floor area", polygon::area_formula(&input.outline_mm), floor_area, "shoelace formula");
    let perimeter = exposed_perimeter(input, &mut working);
    let (required, governs) = required(input, floor_area, perimeter, &mut working);
    let provided = provided(input, &mut working);
    let shortfall = Area::ZERO.max(required - provided);
    findings.push(Finding::new(
        "free area of the vents is at least what is required",
        Verdict::of(required <= provided),
        format!(
            "{} mm² provided, {} mm² required ({} governs)",
            provided.to_mm2_text(),
            required.to_mm2_text(),
            if governs == Governs::Run { "run of wall" } else { "floor area" }
        ),
        FLOOR_DESIGN,
    ));
    let opposed = judge_sides(input, &mut findings);
    let compartments = compartments.judged(input, opposed, &mut findings);
    let spacings_mm = judge_spacings(input, &mut findings);
    working.mm2(
        "shortfall",
        format!("max(0, {} - {})", required.to_mm2_text(), provided.to_mm2_text()),
        shortfall,
        ARITHMETIC,
    );
    Ok(Output {
        floor_area_m2: SquareMetres(floor_area),
        exposed_perimeter_m: Metres(perimeter),
        required_mm2: Mm2(required),
        governs,
        provided_mm2: Mm2(provided),
        shortfall_mm2: Mm2(shortfall),
        opposed,
        spacings_mm,
        compartments,
        verdict: Verdict::overall(deciding(&findings)),
        findings,
        working,
    })
}

/// The two vertices of an edge that was checked to exist.
fn edge(input: &Input, index: u32) -> (&Point, &Point) {
    edges(&input.outline_mm).nth(index as usize).expect("BUG: edges are checked before they are used")
}

fn exposed_perimeter(input: &Input, working: &mut Working) -> Length {
    let mut total_nm = 0;
    let mut terms = Vec::new();
    for index in &input.exposed_edges {
        let (a, b) = edge(input, *index);
        total_nm += polygon::length_nm(a, b);
        terms.push(polygon::length_formula(a, b));
    }
    let perimeter = polygon::from_nm(total_nm);
    let sum = if terms.is_empty() { "0".to_owned() } else { terms.join(" + ") };
    working.m("exposed perimeter", format!("({sum}) / 1000"), perimeter, ARITHMETIC);
    perimeter
}

fn required(input: &Input, floor_area: Area, perimeter: Length, working: &mut Working) -> (Area, Governs) {
    let (per_run, per_area) = (input.per_run_mm2_per_m.0, input.per_area_mm2_per_m2.0);
    let by_run =
        per_run.share(i128::from(perimeter.um()), 1_000_000).expect("BUG: rates and lengths are bounded");
    let by_area =
        per_area.share(floor_area.um2(), 1_000_000_000_000).expect("BUG: rates and areas are bounded");
    working.mm2(
        "required by run of exposed wall",
        format!("{} * {}", perimeter.to_m_text(), per_run.to_mm2_text()),
        by_run,
        FLOOR_DESIGN,
    );
    working.mm2(
        "required by floor area",
        format!("{} * {}", floor_area.to_m2_text(), per_area.to_mm2_text()),
        by_area,
        FLOOR_DESIGN,
    );
    let required = by_run.max(by_area);
    working.mm2(
        "required: the greater",
        format!("max({}, {})", by_run.to_mm2_text(), by_area.to_mm2_text()),
        required,
        FLOOR_DESIGN,
    );
    (required, if by_area <= by_run { Governs::Run } else { Governs::Area })
}

fn provided(input: &Input, working: &mut Working) -> Area {
    for (index, opening) in input.openings.iter().enumerate() {
        if let Some(series) = &opening.in_series_mm2 {
            let terms: Vec<String> = series.iter().map(|area| area.0.to_mm2_text()).collect();
            let what = format!("opening {index}: the least in series");
            working.mm2(what, of_many("min", &terms), opening.counted(), COMMON_PRACTICE);
        }
    }
    let areas: Vec<Area> = input.openings.iter().map(Opening::counted).collect();
    let terms: Vec<String> = areas.iter().map(|area| area.to_mm2_text()).collect();
    let provided = areas.into_iter().sum();
    let formula = if terms.is_empty() { "0".to_owned() } else { terms.join(" + ") };
    working.mm2("provided", formula, provided, ARITHMETIC);
    provided
}

/// True when the outward normals of two edges differ by 120° or more: their directions then differ as much.
fn are_opposite(input: &Input, one: u32, other: u32) -> bool {
    let direction = |index: u32| {
        let (a, b) = edge(input, index);
        ((b[0].0 - a[0].0).to_mm_f64(), (b[1].0 - a[1].0).to_mm_f64())
    };
    let ((ax, ay), (bx, by)) = (direction(one), direction(other));
    // cos 120° = −½. No two directions between whole coordinates meet at exactly 120°, so rounding decides nothing.
    ax * bx + ay * by <= -0.5 * ax.hypot(ay) * bx.hypot(by)
}

fn any_opposite(input: &Input, among: &[u32]) -> bool {
    among
        .iter()
        .enumerate()
        .any(|(index, one)| among[index + 1..].iter().any(|other| are_opposite(input, *one, *other)))
}

/// Edges that have an opening, among these openings.
fn vented<'o>(openings: impl Iterator<Item = &'o Opening>) -> Vec<u32> {
    let mut vented: Vec<u32> = openings.map(|opening| opening.edge).collect();
    vented.sort_unstable();
    vented.dedup();
    vented
}

fn judge_sides(input: &Input, findings: &mut Vec<Finding>) -> bool {
    let opposed = any_opposite(input, &vented(input.openings.iter()));
    let (verdict, reason) = if opposed {
        (Verdict::Conforming, "openings stand in opposite exposed walls")
    } else if any_opposite(input, &input.exposed_edges) {
        (Verdict::Nonconforming, "there are opposite exposed walls, but the openings do not use them")
    } else {
        (
            Verdict::Undetermined,
            "no two exposed walls lie opposite each other: the designer says how air crosses the void",
        )
    };
    findings.push(Finding::new("openings stand on opposite sides", verdict, reason, COMMON_PRACTICE));
    opposed
}

fn judge_spacings(input: &Input, findings: &mut Vec<Finding>) -> Vec<Spacings> {
    let mut all = Vec::new();
    for index in &input.exposed_edges {
        let (a, b) = edge(input, *index);
        let length = polygon::from_nm(polygon::length_nm(a, b));
        let mut places: Vec<Length> = input
            .openings
            .iter()
            .filter(|opening| opening.edge == *index)
            .map(|opening| opening.along_mm.0)
            .collect();
        places.sort_unstable();
        let marks: Vec<Length> = std::iter::once(Length::ZERO).chain(places).chain([length]).collect();
        let spacings: Vec<Length> = marks.windows(2).map(|pair| pair[1] - pair[0]).collect();
        judge_edge(input, *index, &spacings, findings);
        all.push(Spacings { edge: *index, spacings_mm: spacings.into_iter().map(Mm).collect() });
    }
    all
}

fn judge_edge(input: &Input, index: u32, spacings: &[Length], findings: &mut Vec<Finding>) {
    let [first, gaps @ .., last] = spacings else {
        if input.largest_spacing_mm.is_some() || input.furthest_from_corner_mm.is_some() {
            findings.push(Finding::caution(
                "spacing of the openings",
                format!("exposed edge {index} has no opening: still air can stand along it"),
                COMMON_PRACTICE,
            ));
        }
        return;
    };
    let mut judge = |rule: &str, most: Option<Mm>, found: Option<Length>, what: &str| {
        let (Some(Mm(most)), Some(found)) = (most, found) else {
            return;
        };
        findings.push(Finding::new(
            rule,
            Verdict::of(Limits::at_most(most).hold(found)),
            format!("edge {index}: {what} {} mm, at most {} mm", found.to_mm_text(), most.to_mm_text()),
            FLOOR_DESIGN,
        ));
    };
    judge("spacing of the openings", input.largest_spacing_mm, gaps.iter().copied().max(), "largest gap");
    let from_corner = Some(*first.max(last));
    judge("distance from the corner", input.furthest_from_corner_mm, from_corner, "furthest from a corner");
}

fn check(input: &Input) -> Result<(), Faults> {
    let mut faults = Faults::new();
    check_outline("/outline_mm", &input.outline_mm, &mut faults);
    refuse_too_many("/openings", input.openings.len(), MAX_POINTS, &mut faults);
    for (key, rate) in [
        ("/per_run_mm2_per_m", input.per_run_mm2_per_m.0),
        ("/per_area_mm2_per_m2", input.per_area_mm2_per_m2.0),
    ] {
        if rate < Area::ZERO || Area::from_mm2(LARGEST_RATE_MM2) < rate {
            faults.add(key, format!("must lie within 0 and {LARGEST_RATE_MM2}"));
        }
    }
    if let Some(spacing) = input.largest_spacing_mm {
        refuse_negative("/largest_spacing_mm", spacing.0, &mut faults);
    }
    if let Some(corner) = input.furthest_from_corner_mm {
        refuse_negative("/furthest_from_corner_mm", corner.0, &mut faults);
    }
    let count = input.outline_mm.len();
    for (index, exposed) in input.exposed_edges.iter().enumerate() {
        if *exposed as usize >= count {
            faults.add(format!("/exposed_edges/{index}"), format!("the outline has no edge {exposed}"));
        } else if input.exposed_edges[..index].contains(exposed) {
            faults.add(format!("/exposed_edges/{index}"), format!("edge {exposed} stands twice"));
        }
    }
    for (index, opening) in input.openings.iter().enumerate() {
        check_opening(input, &format!("/openings/{index}"), opening, &mut faults);
    }
    faults.into_result(())
}

fn check_opening(input: &Input, place: &str, opening: &Opening, faults: &mut Faults) {
    match (&opening.equivalent_area_mm2, &opening.in_series_mm2) {
        (None, None) => {
            faults.add(format!("{place}/equivalent_area_mm2"), "is missing: give it or in_series_mm2");
        }
        (Some(_), Some(_)) => {
            faults.add(format!("{place}/in_series_mm2"), "stands beside equivalent_area_mm2")
        }
        (None, Some(series)) if series.is_empty() => {
            faults.add(format!("{place}/in_series_mm2"), "must have at least 1 item");
        }
        _ if opening.counted() < Area::ZERO => faults.add(place, "must have a free area of at least 0"),
        _ => {}
    }
    let edge = edges(&input.outline_mm).nth(opening.edge as usize);
    let Some((a, b)) = edge.filter(|_| input.exposed_edges.contains(&opening.edge)) else {
        faults.add(format!("{place}/edge"), format!("edge {} is not exposed", opening.edge));
        return;
    };
    let along = i128::from(opening.along_mm.0.um());
    if along < 0 || polygon::length_squared(a, b) < along * along {
        faults.add(format!("{place}/along_mm"), format!("lies beyond edge {}", opening.edge));
    }
}
