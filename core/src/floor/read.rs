//! A floor design read from its file: size, format, schema, then what the schema cannot say, every fault at once.

use std::collections::BTreeMap;

use super::polygon::check_outline;
use super::{FORMAT, FloorDesign, LayerRole, Place, WHOLE_TURN};
use crate::faults::{Faults, read_toml, schema_of, with_toml_lines};
use crate::ids::PointName;
use crate::quantity::{Area, Factor, Length};

/// The largest file that people write, in bytes: a design, a plan of work, limits.
pub(crate) const MOST_BYTES: usize = 1_000_000;
/// The most reading points of one kind in a design.
pub const MOST_POINTS: usize = 2_000;

impl FloorDesign {
    /// Reads a design; every fault of the file at once, each with its place.
    pub fn read(text: &str) -> Result<Self, Faults> {
        check_format(text, "gaugerod_floor_design", FORMAT)?;
        let design: Self = read_toml(text)?;
        let mut checks = Checks { faults: Faults::new() };
        checks.design(&design);
        checks.faults.into_result(design).map_err(|faults| with_toml_lines(text, faults))
    }

    /// The schema of the file.
    pub fn schema() -> serde_json::Value {
        schema_of::<Self>()
    }
}

/// Refuses a file whose format is newer than `newest`, by name, before its keys are called unknown.
pub(crate) fn check_format(text: &str, key: &str, newest: u32) -> Result<(), Faults> {
    if text.len() > MOST_BYTES {
        return Err(Faults::in_text(1, 1, format!("the file is larger than {MOST_BYTES} bytes")));
    }
    // Text that is no TOML is told by the reader that comes next.
    let Ok(file) = text.parse::<toml::Table>() else {
        return Ok(());
    };
    let place = format!("/{key}");
    match file.get(key).map(toml::Value::as_integer) {
        None => {
            Err(Faults::one(place, format!("missing: the first line of such a file is `{key} = {newest}`")))
        }
        Some(Some(format)) if format > i64::from(newest) => Err(Faults::one(
            place,
            format!(
                "format {format} is newer than this program, which reads up to {newest}: use a newer Gaugerod"
            ),
        )),
        Some(Some(format)) if format < 1 => {
            Err(Faults::one(place, format!("no format {format}: formats start at 1")))
        }
        Some(_) => Ok(()),
    }
}

struct Checks {
    faults: Faults,
}

impl Checks {
    fn fault(&mut self, place: &str, what: impl Into<String>) {
        self.faults.add(place, what);
    }

    fn ensure(&mut self, holds: bool, place: &str, what: &str) {
        if !holds {
            self.fault(place, what);
        }
    }

    fn design(&mut self, design: &FloorDesign) {
        self.head(design);
        self.layers(design);
        self.plan(design);
        self.walls(design);
        self.vents(design);
        self.services(design);
        self.names(design);
        super::beams::check(design, &mut |place, what| self.faults.add(place, what));
        super::topping::check(design, &mut |place, what| self.faults.add(place, what));
        super::thermal::check(design, &mut |place, what| self.faults.add(place, what));
        super::specified::check(design, &mut |place, what| self.faults.add(place, what));
        super::pop_ups::check(design, &mut |place, what| self.faults.add(place, what));
        super::finish::check(design, &mut |place, what| self.faults.add(place, what));
        for (name, limit) in &design.limits {
            let place = format!("/limits/{}", name.as_str());
            super::limits::check(*name, limit.value.0, &limit.source, &mut |key, what| {
                self.fault(&format!("{place}/{key}"), what);
            });
        }
    }

    fn head(&mut self, design: &FloorDesign) {
        for (place, text) in [
            ("/drawing", &design.drawing),
            ("/revision", &design.revision),
            ("/title", &design.title),
            ("/prepared_by", &design.prepared_by),
            ("/datum/name", &design.datum.name),
        ] {
            self.line_of_text(place, text);
        }
        for (index, note) in design.notes.iter().enumerate() {
            self.line_of_text(&format!("/notes/{index}"), note);
        }
        design.decision.check("/decision", &mut self.faults);
        let mut seen = BTreeMap::new();
        for (index, instrument) in design.instruments.iter().enumerate() {
            let place = format!("/instruments/{index}");
            self.line_of_text(&format!("{place}/name"), &instrument.name);
            if instrument.expanded_uncertainty_mm.0 < Length::ZERO {
                self.fault(&format!("{place}/expanded_uncertainty_mm"), "must not be negative");
            }
            if let Some(first) = seen.insert(instrument.quantity, index) {
                self.fault(&format!("{place}/quantity"), format!("already given by /instruments/{first}"));
            }
        }
        for (key, value) in [
            ("infill_below_bearing_mm", design.under_floor.infill_below_bearing_mm),
            ("void_mm", design.under_floor.void_mm),
            ("heave_allowance_mm", design.under_floor.heave_allowance_mm),
        ] {
            self.ensure(value.0 >= Length::ZERO, &format!("/under_floor/{key}"), "must not be negative");
        }
    }

    fn line_of_text(&mut self, place: &str, text: &str) {
        let long = text.chars().take(501).count() > 500;
        let sound = !text.trim().is_empty() && !long && !text.chars().any(char::is_control);
        self.ensure(sound, place, "must be 1 to 500 characters on one line, not blank");
    }

    fn layers(&mut self, design: &FloorDesign) {
        let beams: Vec<_> =
            (0..design.layers.len()).filter(|&i| design.layers[i].role == LayerRole::Beam).collect();
        if beams.len() != 1 {
            self.fault("/layers", format!("must have exactly one layer of role `beam`, not {}", beams.len()));
        }
        for (index, layer) in design.layers.iter().enumerate() {
            let place = format!("/layers/{index}");
            let thickness = format!("{place}/thickness_mm");
            self.ensure(layer.thickness_mm.0 >= Length::ZERO, &thickness, "must not be negative");
            if layer.role.is_within_another() && layer.thickness_mm.0 > Length::ZERO {
                self.fault(&thickness, "must be 0: infill and heating lie within the depth of another layer");
            }
            if layer.role == LayerRole::Beam && layer.thickness_mm.0 == Length::ZERO {
                self.fault(&thickness, "must be more than 0: beams have a depth");
            }
            let purpose = format!("{place}/purpose");
            match (layer.role == LayerRole::Membrane, layer.purpose.is_some()) {
                (true, false) => self.fault(&purpose, "missing: a membrane says what it is for"),
                (false, true) => self.fault(&purpose, "only a membrane has a purpose"),
                _ => {}
            }
            if let Some(material) = &layer.material {
                self.line_of_text(&format!("{place}/material"), material);
            }
            if let [beam] = beams[..] {
                let below = index > beam && !matches!(layer.role, LayerRole::Bedding | LayerRole::Infill);
                self.ensure(!below, &format!("{place}/role"), "only `bedding` may lie below the beams");
                let above = index < beam && layer.role == LayerRole::Bedding;
                self.ensure(!above, &format!("{place}/role"), "`bedding` lies below the beams");
            }
        }
    }

    fn plan(&mut self, design: &FloorDesign) {
        self.outline("/plan/outline_mm", &design.plan.outline_mm);
        if let Some(north) = design.plan.north_degrees {
            let within = Factor::whole(0) <= north.0 && north.0 <= WHOLE_TURN;
            self.ensure(within, "/plan/north_degrees", "must lie within 0 to 360");
        }
        let edges = design.plan.outline_mm.len();
        let mut seen = BTreeMap::new();
        for (index, edge) in design.plan.exposed_edges.iter().enumerate() {
            let place = format!("/plan/exposed_edges/{index}");
            self.ensure(
                *edge < edges,
                &place,
                &format!("no edge {edge}: the outline has edges 0 to {}", edges - 1),
            );
            if seen.insert(*edge, index).is_some() {
                self.fault(&place, format!("edge {edge} is listed twice"));
            }
        }
        for (index, membrane) in design.membranes.iter().enumerate() {
            let place = format!("/membranes/{index}");
            self.outline(&format!("{place}/outline_mm"), &membrane.outline_mm);
            let layer = design.layers.iter().find(|layer| layer.name == membrane.layer);
            let what = match layer {
                None => Some(format!("no layer `{}`", membrane.layer)),
                Some(layer) if layer.role != LayerRole::Membrane => {
                    Some(format!("layer `{}` is no membrane", membrane.layer))
                }
                Some(_) => None,
            };
            if let Some(what) = what {
                self.fault(&format!("{place}/layer"), what);
            }
            if design.membranes[..index].iter().any(|other| other.layer == membrane.layer) {
                self.fault(
                    &format!("{place}/layer"),
                    format!("layer `{}` has an outline already", membrane.layer),
                );
            }
        }
    }

    fn outline(&mut self, place: &str, outline: &[Place]) {
        if let Err(fault) = check_outline(outline) {
            self.fault(place, fault.to_string());
        }
    }

    fn walls(&mut self, design: &FloorDesign) {
        if !design.walls.iter().any(|wall| wall.bearing) {
            self.fault("/walls", "must have at least one wall with bearing = true");
        }
        let mut points = 0;
        for (index, wall) in design.walls.iter().enumerate() {
            let place = format!("/walls/{index}");
            let length = wall.length();
            self.ensure(
                length > Length::ZERO,
                &format!("{place}/line_mm"),
                "must not start and end at one place",
            );
            self.ensure(
                wall.thickness_mm.0 > Length::ZERO,
                &format!("{place}/thickness_mm"),
                "must be more than 0",
            );
            match (&wall.coursing, wall.passes_through) {
                (None, true) => {
                    let what = "missing: say what is built at beam level under a wall that passes through";
                    self.fault(&format!("{place}/coursing"), what);
                }
                (Some(_), false) => {
                    let what = "only a wall that passes through has coursing under it";
                    self.fault(&format!("{place}/coursing"), what);
                }
                (Some(words), true) => self.line_of_text(&format!("{place}/coursing"), words),
                (None, false) => {}
            }
            let outside = format!("must lie on the wall: 0 to {} mm", length.to_mm_text());
            for (number, point) in wall.points.iter().enumerate() {
                let on = Length::ZERO <= point.along_mm.0 && point.along_mm.0 <= length;
                self.ensure(on, &format!("{place}/points/{number}/along_mm"), &outside);
            }
            if let Some(spaced) = &wall.spaced {
                let on = Length::ZERO <= spaced.first_mm.0 && spaced.first_mm.0 <= length;
                self.ensure(on, &format!("{place}/spaced/first_mm"), &outside);
                let spacing = format!("{place}/spaced/spacing_mm");
                self.ensure(spaced.spacing_mm.0 > Length::ZERO, &spacing, "must be more than 0");
            }
            let of_wall = wall.reading_points().len();
            let none = wall.bearing && of_wall == 0;
            self.ensure(!none, &format!("{place}/points"), "a bearing wall needs reading points");
            points += of_wall;
        }
        if points > MOST_POINTS {
            self.fault("/walls", format!("must have at most {MOST_POINTS} reading points together"));
        }
    }

    fn vents(&mut self, design: &FloorDesign) {
        let edges = design.plan.outline_mm.len();
        for (index, vent) in design.vents.iter().enumerate() {
            let place = format!("/vents/{index}");
            if vent.edge >= edges {
                self.fault(
                    &format!("{place}/edge"),
                    format!("no edge {}: the outline has edges 0 to {}", vent.edge, edges - 1),
                );
            } else {
                if !design.plan.exposed_edges.contains(&vent.edge) {
                    self.fault(&format!("{place}/edge"), format!("edge {} is not exposed", vent.edge));
                }
                let length = design.plan.edge_length(vent.edge);
                let on = Length::ZERO <= vent.along_mm.0 && vent.along_mm.0 <= length;
                let what = format!("must lie on the edge: 0 to {} mm", length.to_mm_text());
                self.ensure(on, &format!("{place}/along_mm"), &what);
            }
            match (&vent.equivalent_area_mm2, &vent.in_series_mm2) {
                (Some(area), None) => self.area(&format!("{place}/equivalent_area_mm2"), area.0),
                (None, Some(areas)) => {
                    for (number, area) in areas.iter().enumerate() {
                        self.area(&format!("{place}/in_series_mm2/{number}"), area.0);
                    }
                }
                _ => self.fault(&place, "must have either equivalent_area_mm2 or in_series_mm2"),
            }
        }
        for (index, wall) in design.dividing_walls.iter().enumerate() {
            let place = format!("/dividing_walls/{index}");
            let [start, end] = wall.line_mm;
            self.ensure(start != end, &format!("{place}/line_mm"), "must not start and end at one place");
            for (number, area) in wall.openings_mm2.iter().enumerate() {
                self.area(&format!("{place}/openings_mm2/{number}"), area.0);
            }
        }
    }

    fn area(&mut self, place: &str, area: Area) {
        self.ensure(area > Area::ZERO, place, "must be more than 0");
    }

    fn services(&mut self, design: &FloorDesign) {
        for (index, service) in design.services.iter().enumerate() {
            let place = format!("/services/{index}");
            let (key, layer) = match (&service.in_layer, &service.below) {
                (Some(layer), None) => ("in", layer),
                (None, Some(layer)) => ("below", layer),
                _ => {
                    self.fault(&place, "must have either `in` or `below`, the name of a layer");
                    continue;
                }
            };
            let role = design.layer_index(layer).map(|index| design.layers[index].role);
            match role {
                None => self.fault(&format!("{place}/{key}"), format!("no layer `{layer}`")),
                Some(LayerRole::Finish | LayerRole::Bedding) => self.fault(
                    &format!("{place}/{key}"),
                    "name a layer from the topping down to the beams; what runs in the void is `below` the beams",
                ),
                Some(_) => {}
            }
            self.ensure(
                service.path_mm.len() != 1,
                &format!("{place}/path_mm"),
                "a path has at least two places",
            );
            if let Some(document) = &service.document {
                let place = format!("{place}/document");
                self.line_of_text(&place, document);
                let long = document.chars().take(101).count() > 100;
                self.ensure(!long, &place, "must have at most 100 characters");
            }
        }
    }

    /// Names of one kind are unique; reading points and openings share one list, since readings go by name.
    fn names(&mut self, design: &FloorDesign) {
        let named = |list: &str, names: Vec<&PointName>| -> Vec<(String, PointName)> {
            let place = |(index, name): (usize, &PointName)| (format!("/{list}/{index}/name"), name.clone());
            names.into_iter().enumerate().map(place).collect()
        };
        self.unique(named("layers", design.layers.iter().map(|layer| &layer.name).collect()));
        self.unique(named("walls", design.walls.iter().map(|wall| &wall.name).collect()));
        self.unique(named("services", design.services.iter().map(|service| &service.name).collect()));
        self.unique(named("dividing_walls", design.dividing_walls.iter().map(|wall| &wall.name).collect()));
        let mut read = Vec::new();
        for (index, wall) in design.walls.iter().enumerate() {
            for (number, (name, _)) in wall.reading_points().into_iter().enumerate() {
                let place = if number < wall.points.len() {
                    format!("/walls/{index}/points/{number}/name")
                } else {
                    format!("/walls/{index}/spaced")
                };
                read.push((place, name));
            }
        }
        read.extend(named("ground_points", design.ground_points.iter().map(|point| &point.name).collect()));
        read.extend(named("vents", design.vents.iter().map(|vent| &vent.name).collect()));
        for (index, one) in design.pop_ups.iter().enumerate() {
            let points = [super::pop_ups::Axis::X, super::pop_ups::Axis::Y].map(|axis| one.point(axis));
            if points.iter().any(Option::is_none) {
                self.fault(&format!("/pop_ups/{index}/name"), "is too long: ` x` and ` y` are put to it");
            }
            read.extend(points.into_iter().flatten().map(|name| (format!("/pop_ups/{index}/name"), name)));
        }
        self.unique(read);
    }

    fn unique(&mut self, names: Vec<(String, PointName)>) {
        let mut seen: BTreeMap<PointName, String> = BTreeMap::new();
        for (place, name) in names {
            match seen.get(&name) {
                Some(first) => self.fault(&place, format!("the name `{name}` is taken by {first}")),
                None => drop(seen.insert(name, place)),
            }
        }
    }
}
