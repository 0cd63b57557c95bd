//! The plan in the middle: the design's outline, walls, openings, pipes and membrane, with the reading points of
//! the criterion that is being worked on. A tap on a point makes it the one to be read.

use egui::{RichText, ScrollArea, Ui};
use gaugerod_core::floor::{FloorDesign, Place};
use gaugerod_core::ids::PointName;
use gaugerod_core::inspection::judge::CriterionStanding;
use gaugerod_core::plan_of_work::{CriterionKind, Feed, Layer, Owed};

use super::{Work, beams, keypad_column, next_point};
use crate::screens::{asking, marks};
use crate::state::State;
use crate::theme;
use crate::widgets::plan::{Place as At, PlanPoint, PlanWall, Service};
use crate::widgets::{self, Camera, Mark, PlanView, Weight};

/// Thickness at which an outer wall is drawn that the design does not list, mm.
const OUTER_WALL: f64 = 100.0;
/// The furthest that an offset reaches on the plan, mm.
const REACH: f64 = 700.0;

/// The plan in the space that is left, with what is named by hand above it.
pub(super) fn plan_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let of_beams = work.criterion.and_then(CriterionStanding::feed).is_some_and(beams::is_of_beams);
    if of_beams {
        return beams::middle_ui(ui, state, work);
    }
    let Some(criterion) = work.criterion else {
        return canvas_ui(ui, state, work);
    };
    if !names_its_own(criterion) {
        return canvas_ui(ui, state, work);
    }
    // Many places with their readings may need more height than there is.
    let size = egui::vec2(ui.available_width(), (ui.available_height() * 0.6).max(240.0));
    theme::scroll(ScrollArea::vertical().id_salt("places").auto_shrink([false, false])).show(ui, |ui| {
        places_ui(ui, state, work, criterion);
        ui.allocate_ui(size, |ui| canvas_ui(ui, state, work));
    });
}

/// The plan itself; a tap on a point makes it the one to be read.
fn canvas_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    let own = work.criterion.map(|one| (work.id.clone(), one.id.clone()));
    let plan_of = |own: &Option<(gaugerod_core::ids::HoldPointId, gaugerod_core::ids::CriterionId)>| {
        own.as_ref().map(|(id, _)| id.clone())
    };
    if plan_of(&state.drafts.camera.0) != plan_of(&own) {
        state.drafts.camera = (own, Camera::default());
    }
    let view = view(work);
    let mut camera = state.drafts.camera.1;
    let tapped = widgets::plan_ui(ui, &view, &mut camera);
    state.drafts.camera.1 = camera;
    if let Some(point) = tapped.and_then(|name| PointName::new(&name).ok()) {
        state.drafts.point = Some(point);
        asking::stop(state);
    }
}

/// Whether the person says where it is read.
fn names_its_own(criterion: &CriterionStanding) -> bool {
    matches!(&criterion.kind, CriterionKind::Reckoning { owed: Owed::AtLeast(_), .. })
}

/// The readings of places that the person named, and the name of the next one.
fn places_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, criterion: &CriterionStanding) {
    let Some(feed) = criterion.feed() else { return };
    ui.horizontal_wrapped(|ui| {
        for reading in &criterion.readings {
            ui.push_id(reading.entry.to_hex(), |ui| {
                ui.horizontal(|ui| {
                    widgets::mark_ui(ui, marks::of_reading(reading, criterion), 24.0);
                    let words = format!("{}: {}", reading.point, marks::value(reading.value, feed));
                    ui.label(RichText::new(words).font(theme::strong(theme::BODY)));
                });
            });
        }
    });
    if !work.desk.can_record() {
        return;
    }
    let name = keypad_column::place_name(work.desk, work.id, &criterion.id);
    ui.horizontal_wrapped(|ui| {
        ui.label("Where:");
        for place in next_point::suggestions(state, work.desk, work.id, criterion) {
            let chosen = work.point.as_ref() == Some(&place);
            // No scope of its own: a row wraps only what stands in it directly.
            if widgets::choice_ui(ui, chosen, place.as_str(), egui::vec2(96.0, theme::TOUCH)) {
                *state.drafts.text_mut(&name) = place.to_string();
            }
        }
        // A reading that is to be read again is chosen by its name.
        for reading in &criterion.readings {
            let again = format!("{} again", reading.point);
            if widgets::button_ui(ui, Weight::Plain, &again) {
                *state.drafts.text_mut(&name) = reading.point.to_string();
            }
        }
    });
    asking::field_ui(ui, state, &name, "or another place, in your words");
}

/// Everything on the plan.
fn view(work: &Work<'_>) -> PlanView {
    let design = work.desk.view.record.design();
    let place = work.plan.place_on_section;
    let pipes = matches!(
        place,
        Layer::Gas | Layer::Membrane | Layer::Overlay | Layer::Heating | Layer::Topping | Layer::Ground
    );
    let points = work.criterion.map_or_else(Vec::new, |criterion| points(work, criterion));
    let furthest = points.iter().filter_map(|point| point.deviation).map(f64::abs).fold(0.0, f64::max);
    let exaggeration =
        [100.0, 50.0, 20.0, 10.0, 5.0, 2.0].into_iter().find(|one| one * furthest <= REACH).unwrap_or(1.0);
    let points = points
        .into_iter()
        .map(|point| PlanPoint {
            deviation: point.deviation.map(|one| one.clamp(-2.0 * REACH, 2.0 * REACH)),
            ..point
        })
        .collect();
    PlanView {
        walls: walls(design),
        beams: Vec::new(),
        vents: design
            .vents
            .iter()
            .filter_map(|vent| on_edge(design, vent.edge, mm(vent.along_mm.0)))
            .map(|(at, out)| along(at, out, OUTER_WALL / 2.0))
            .collect(),
        services: if pipes { services(design) } else { Vec::new() },
        membranes: if matches!(place, Layer::Membrane | Layer::Gas) { membranes(design) } else { Vec::new() },
        points,
        current: work.point.as_ref().map(ToString::to_string),
        exaggeration,
    }
}

fn points(work: &Work<'_>, criterion: &CriterionStanding) -> Vec<PlanPoint> {
    let design = work.desk.view.record.design();
    let Some(feed) = criterion.feed() else { return Vec::new() };
    let levels = matches!(feed, Feed::BearingLevels | Feed::GroundLevels | Feed::GroundAsBuilt);
    criterion
        .points
        .iter()
        .filter_map(|name| {
            let (at, outward) = place_of(design, feed, name)?;
            let reading = criterion.reading_at(name);
            let mark = reading.map_or(Mark::Owed, |reading| marks::of_reading(reading, criterion));
            let deviation = reading.and_then(|one| one.trial.as_ref()?.deviation).filter(|_| levels);
            Some(PlanPoint {
                name: name.to_string(),
                at,
                mark,
                deviation: deviation.map(mm),
                text: deviation.map_or_else(String::new, |one| one.signed_mm_text(0)),
                outward,
            })
        })
        .collect()
}

/// Where a point of a feed lies, and which way is away from the room.
fn place_of(design: &FloorDesign, feed: Feed, name: &PointName) -> Option<(At, At)> {
    match feed {
        Feed::BearingLevels => {
            let point = design.bearing_points().into_iter().find(|one| one.name == *name)?;
            let wall = design.walls.iter().find(|wall| wall.name == point.wall)?;
            let out = wall_side(design, wall.line_mm);
            Some((along([mm(point.x), mm(point.y)], out, mm(wall.thickness_mm.0) / 2.0), out))
        }
        Feed::GroundLevels | Feed::GroundAsBuilt => {
            let point = design.ground_points.iter().find(|one| one.name == *name)?;
            Some(([mm(point.x_mm.0), mm(point.y_mm.0)], [0.0, 1.0]))
        }
        Feed::VentOpenings => {
            let vent = design.vents.iter().find(|one| one.name == *name)?;
            let (at, out) = on_edge(design, vent.edge, mm(vent.along_mm.0))?;
            Some((along(at, out, OUTER_WALL / 2.0), out))
        }
        _ => {
            let wall = design.walls.iter().find(|wall| wall.name == *name)?;
            let [from, to] = wall.line_mm.map(at);
            let out = wall_side(design, wall.line_mm);
            let middle = [f64::midpoint(from[0], to[0]), f64::midpoint(from[1], to[1])];
            Some((along(middle, out, mm(wall.thickness_mm.0) / 2.0), out))
        }
    }
}

/// Walls by their middle lines: those that the design lists, and the outline's other edges at a usual thickness.
fn walls(design: &FloorDesign) -> Vec<PlanWall> {
    let mut walls: Vec<PlanWall> = design
        .walls
        .iter()
        .map(|wall| {
            let thickness = mm(wall.thickness_mm.0);
            let out = wall_side(design, wall.line_mm);
            let [from, to] = wall.line_mm.map(|place| along(at(place), out, thickness / 2.0));
            PlanWall { name: wall.name.to_string(), from, to, thickness }
        })
        .collect();
    for edge in 0..design.plan.outline_mm.len() {
        let Some(ends) = design.plan.edge(edge) else { continue };
        if design.walls.iter().any(|wall| covers(wall.line_mm.map(at), ends.map(at))) {
            continue;
        }
        let out = outward(design, ends);
        let [from, to] = ends.map(|place| along(at(place), out, OUTER_WALL / 2.0));
        walls.push(PlanWall { name: String::new(), from, to, thickness: OUTER_WALL });
    }
    walls
}

/// Whether both ends of an edge lie on a line.
fn covers(line: [At; 2], edge: [At; 2]) -> bool {
    edge.iter().all(|end| on_line(line, *end))
}

/// Whether a place lies on a line, to a millimetre.
fn on_line([a, b]: [At; 2], p: At) -> bool {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let length = f64::hypot(dx, dy).max(1e-9);
    let off = ((p[0] - a[0]) * dy - (p[1] - a[1]) * dx).abs() / length;
    let along = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / length;
    off <= 1.0 && (-1.0..=length + 1.0).contains(&along)
}

/// The side on which a wall's thickness lies: outwards where it runs along an edge of the outline, else to the
/// left of its line.
fn wall_side(design: &FloorDesign, line: [Place; 2]) -> At {
    let ends = line.map(at);
    let edges = (0..design.plan.outline_mm.len()).filter_map(|edge| design.plan.edge(edge));
    for edge in edges {
        let own = edge.map(at);
        if covers(ends, own) || covers(own, ends) {
            return outward(design, edge);
        }
    }
    let [a, b] = ends;
    unit([a[1] - b[1], b[0] - a[0]])
}

/// Away from the floor, at an edge of its outline.
fn outward(design: &FloorDesign, edge: [Place; 2]) -> At {
    let [a, b] = edge.map(at);
    let right = unit([b[1] - a[1], a[0] - b[0]]);
    let corners: Vec<At> = design.plan.outline_mm.iter().map(|place| at(*place)).collect();
    let doubled: f64 = (0..corners.len())
        .map(|n| {
            let (p, q) = (corners[n], corners[(n + 1) % corners.len()]);
            p[0] * q[1] - q[0] * p[1]
        })
        .sum();
    // With corners counted anticlockwise the outside lies to the right of every edge.
    if doubled >= 0.0 { right } else { [-right[0], -right[1]] }
}

/// A place so far along an edge, with the way outwards.
fn on_edge(design: &FloorDesign, edge: usize, distance: f64) -> Option<(At, At)> {
    let ends = design.plan.edge(edge)?;
    let [a, b] = ends.map(at);
    Some((along(a, unit([b[0] - a[0], b[1] - a[1]]), distance), outward(design, ends)))
}

fn services(design: &FloorDesign) -> Vec<Service> {
    let drawn = design.services.iter().filter(|one| one.path_mm.len() >= 2);
    drawn
        .map(|one| Service {
            name: one.name.to_string(),
            route: one.path_mm.iter().map(|place| at(*place)).collect(),
        })
        .collect()
}

fn membranes(design: &FloorDesign) -> Vec<Vec<At>> {
    if !design.has_membrane() {
        return Vec::new();
    }
    if design.membranes.is_empty() {
        return vec![design.plan.outline_mm.iter().map(|place| at(*place)).collect()];
    }
    design.membranes.iter().map(|one| one.outline_mm.iter().map(|place| at(*place)).collect()).collect()
}

fn at(place: Place) -> At {
    place.map(|one| mm(one.0))
}

fn along(from: At, direction: At, distance: f64) -> At {
    [from[0] + direction[0] * distance, from[1] + direction[1] * distance]
}

fn unit(direction: At) -> At {
    let length = f64::hypot(direction[0], direction[1]).max(1e-9);
    [direction[0] / length, direction[1] / length]
}

/// Millimetres for drawing.
fn mm(length: gaugerod_core::quantity::Length) -> f64 {
    length.to_mm_f64()
}
