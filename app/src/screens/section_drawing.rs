//! From a plot's floor design and standing to its cross-section: levels from the build-up, layers as far as they
//! have come, and every hold point at its place.
//!
//! What the design does not fix is drawn at a usual size and takes no part in anything else: the width of a beam,
//! the infill between two, the outer leaf, the mouths of a vent.

use gaugerod_core::entry::ReadValue;
use gaugerod_core::floor::{FloorDesign, FloorLayer, LayerRole, ServiceKind};
use gaugerod_core::inspection::as_built::{self, Basis};
use gaugerod_core::inspection::judge::CriterionStanding;
use gaugerod_core::inspection::standing::HoldPointStanding;
use gaugerod_core::plan_of_work::{Feed, Layer as Place};
use gaugerod_core::quantity::Length;
use gaugerod_core::reckon::build_up;
use gaugerod_core::register::PlotView;

use super::marks;
use crate::widgets::hatch::Material;
use crate::widgets::section::{
    Anchor, Build, Door, Form, Layer, LevelTag, Pipe, SectionView, Vent, Void, Wall, Zone,
};

/// Width of a beam's foot and of the infill beside it, drawn only: common sizes of the trade, mm.
const BEAM_WIDTH: f64 = 110.0;
const INFILL_WIDTH: f64 = 500.0;
/// Bearing of a beam's end, drawn only: common practice, mm.
const BEARING_LENGTH: f64 = 95.0;
/// From this thickness on a bearing wall is drawn solid, without a cavity: common practice, mm.
const SOLID_FROM: f64 = 190.0;
/// Diameter at which a gas pipe is drawn, with its sleeve, mm.
const PIPE: f64 = 42.0;

/// The section of a plot; `None` where its build-up cannot be reckoned.
pub fn section(view: &PlotView) -> Option<SectionView> {
    let levels = build_up::reckon(&view.record.design().build_up_input()).ok()?;
    Some(Drawing::new(view, levels).draw())
}

/// One layer that takes its own place in the height.
struct Slice<'a> {
    layer: &'a FloorLayer,
    top: Length,
    bottom: Length,
    /// Its top and thickness as drawn, and how it was found: where the floor is drawn as built.
    drawn: Option<(Length, Length, Basis)>,
}

/// A difference in level that can be seen and matters on a drawing: common practice reads levels to a millimetre.
const SEEN: Length = Length::from_um(1_000);

struct Drawing<'a> {
    view: &'a PlotView,
    design: &'a FloorDesign,
    levels: build_up::Output,
    /// From the top down, without bedding: it lies under the beams' ends only.
    stack: Vec<Slice<'a>>,
    /// The criterion that proves the void, with its highest reading of the ground.
    ground_read: Option<(&'a CriterionStanding, Length)>,
}

impl<'a> Drawing<'a> {
    fn new(view: &'a PlotView, levels: build_up::Output) -> Self {
        let design = view.record.design();
        let mut top = design.levels.finished_floor_level_m.0;
        let mut stack = Vec::new();
        let own = design.layers.iter().filter(|layer| !layer.role.is_within_another());
        for (layer, interface) in own.zip(&levels.interfaces) {
            let bottom = interface.level_m.0;
            if layer.role != LayerRole::Bedding {
                stack.push(Slice { layer, top, bottom, drawn: None });
            }
            top = bottom;
        }
        place_as_built(view, &mut stack);
        Self { view, design, levels, stack, ground_read: ground_read(view) }
    }

    fn draw(&self) -> SectionView {
        SectionView {
            layers: self.stack.iter().map(|slice| self.layer(slice)).collect(),
            wall: self.wall(),
            bearing: mm(self.levels.bearing_level_m.0),
            bearing_length: self
                .bearing_wall()
                .map_or(BEARING_LENGTH, |thickness| thickness.min(BEARING_LENGTH)),
            ground: self.ground(),
            outside: Some(mm(self.design.levels.outside_ground_level_m.0)),
            void: Some(self.void()),
            vent: self.vent(),
            pipe: self.pipe(),
            levels: self.tags(),
            zones: self.zones(),
        }
    }

    fn ground(&self) -> f64 {
        mm(self.ground_read.map_or(self.levels.highest_ground_level_m.0, |(_, level)| level))
    }

    fn lowest(&self) -> f64 {
        mm(self.levels.lowest_point_m.0)
    }

    fn layer(&self, slice: &Slice<'_>) -> Layer {
        let thickness = slice.layer.thickness_mm.0;
        let form = match slice.layer.role {
            LayerRole::Beam => Form::Beams {
                width: BEAM_WIDTH,
                infill: INFILL_WIDTH,
                hang: mm(self.design.under_floor.infill_below_bearing_mm.0),
            },
            LayerRole::Membrane => Form::Sheet,
            _ if thickness == Length::ZERO => Form::Sheet,
            LayerRole::Topping => Form::Slab(Material::Concrete),
            LayerRole::Finish => Form::Slab(Material::Board),
            _ => Form::Slab(Material::Insulation),
        };
        let name = slice.layer.name.to_string();
        let name = if form == Form::Sheet {
            name
        } else {
            let built = slice.top - slice.bottom;
            match slice.drawn {
                Some((_, drawn, Basis::Read(_) | Basis::Label)) if slice.layer.role != LayerRole::Beam => {
                    if (built - drawn).abs() < SEEN {
                        format!("{name} {}, as built", built.mm_text(0))
                    } else {
                        format!("{name} {}, drawn {}", built.mm_text(0), drawn.mm_text(0))
                    }
                }
                _ => format!("{name} {}", thickness.mm_text(0)),
            }
        };
        let drawn_top = slice.drawn.map(|(top, _, _)| top).filter(|top| (*top - slice.top).abs() >= SEEN);
        Layer {
            name,
            top: mm(slice.top),
            bottom: mm(slice.bottom),
            form,
            build: self.build_of(slice),
            drawn_top: drawn_top.map(mm),
        }
    }

    /// How far a layer has come. One without hold points of its own is there once something above it is proved.
    fn build_of(&self, slice: &Slice<'_>) -> Build {
        let own = self.at(places(slice.layer.role));
        if !own.is_empty() {
            return self.build(&own);
        }
        let above = self.stack.iter().take_while(|other| !std::ptr::eq(*other, slice));
        let mut above = above.flat_map(|other| self.at(places(other.layer.role)));
        if above.any(|one| one.state.is_settled()) { Build::Proved } else { Build::Ahead }
    }

    /// How far some hold points have come together.
    fn build(&self, own: &[&HoldPointStanding]) -> Build {
        let next = self.view.standing.next().map(|one| &one.id);
        if own.iter().any(|one| marks::is_hidden_unproved(one)) {
            Build::Unproved
        } else if own.iter().any(|one| Some(&one.id) == next) {
            Build::Here
        } else if !own.is_empty() && own.iter().all(|one| one.state.is_settled()) {
            Build::Proved
        } else {
            Build::Ahead
        }
    }

    /// The hold points whose doors stand at these places.
    fn at(&self, places: &[Place]) -> Vec<&'a HoldPointStanding> {
        let plan = &self.view.record.plan;
        let here = |id| plan.hold_point(id).is_some_and(|one| places.contains(&one.place_on_section));
        self.view.standing.hold_points.iter().filter(|one| here(&one.id)).collect()
    }

    fn bearing_wall(&self) -> Option<f64> {
        self.design.bearing_walls().next().map(|wall| mm(wall.thickness_mm.0))
    }

    fn wall(&self) -> Wall {
        match self.bearing_wall() {
            Some(thickness) if thickness >= SOLID_FROM => Wall::Solid { thickness },
            Some(inner) if inner >= 50.0 => Wall::Cavity { outer: 103.0, cavity: 100.0, inner },
            _ => Wall::default(),
        }
    }

    fn void(&self) -> Void {
        let under = &self.design.under_floor;
        let required = under.void_mm.0 + under.heave_allowance_mm.0;
        let top = self.lowest();
        let Some((criterion, _)) = self.ground_read else {
            return Void { top, text: format!("void ≥ {}", required.mm_text(0)), mark: None };
        };
        // The trial of a reading counts its void from what is required: the least one is the void.
        let deviations = criterion.readings.iter().filter_map(|one| one.trial.as_ref()?.deviation);
        let text = deviations.min().map_or_else(
            || format!("void ≥ {}", required.mm_text(0)),
            |least| format!("void {} ≥ {}", (least + required).mm_text(0), required.mm_text(0)),
        );
        // A void that does not reach what is required is not written as if it did.
        let mark = marks::of_criterion(criterion);
        let text = if mark.is_trouble() { text.replace('≥', "of") } else { text };
        Void { top, text, mark: Some(mark) }
    }

    fn vent(&self) -> Option<Vent> {
        if self.design.vents.is_empty() {
            return None;
        }
        let lowest = self.lowest();
        let outside = mm(self.design.levels.outside_ground_level_m.0) + 90.0;
        let outside = outside.min(mm(self.levels.bearing_level_m.0) - 60.0);
        let inside = (outside - 40.0).min(lowest - 60.0).max(self.ground() + 45.0);
        Some(Vent { outside, inside, height: 65.0, build: self.build(&self.at(&[Place::Vents])) })
    }

    fn pipe(&self) -> Option<Pipe> {
        let gas = self.design.services.iter().find(|one| one.service == ServiceKind::Gas)?;
        let slice = self.stack.iter().find(|slice| {
            Some(&slice.layer.name) == gas.in_layer.as_ref() || Some(&slice.layer.name) == gas.below.as_ref()
        })?;
        let (top, bottom) = (mm(slice.top), mm(slice.bottom));
        let at = if gas.in_layer.is_some() { f64::midpoint(top, bottom) } else { bottom - PIPE / 2.0 - 4.0 };
        Some(Pipe { at, diameter: PIPE, build: self.build(&self.at(&[Place::Gas])) })
    }

    fn tags(&self) -> Vec<LevelTag> {
        let mut tags = vec![tag("finished floor", self.design.levels.finished_floor_level_m.0)];
        for slice in &self.stack {
            let drawn = slice.drawn.map_or(slice.top, |(top, _, _)| top);
            if slice.layer.thickness_mm.0 != Length::ZERO && tags.iter().all(|one| one.at != mm(drawn)) {
                tags.push(tag(&format!("{} top", slice.layer.name), drawn));
            }
        }
        tags.push(tag("beam soffit", self.levels.beam_soffit_level_m.0));
        tags.push(tag("bearing", self.levels.bearing_level_m.0));
        tags.retain(|one| one.name != "beam soffit" || one.at != mm(self.levels.bearing_level_m.0));
        let mut low = vec![
            tag("outside", self.design.levels.outside_ground_level_m.0),
            tag("ground ≤", self.levels.highest_ground_level_m.0),
        ];
        if let Some((_, level)) = self.ground_read {
            low.push(tag("ground as read", level));
        }
        low.sort_by(|one, other| other.at.total_cmp(&one.at));
        tags.extend(low);
        tags
    }

    fn zones(&self) -> Vec<Zone> {
        let finished = mm(self.design.levels.finished_floor_level_m.0);
        let bearing = mm(self.levels.bearing_level_m.0);
        let (lowest, ground) = (self.lowest(), self.ground());
        let mut zones =
            vec![self.zone("whole floor", finished + 20.0, finished - 10.0, Anchor::Floor, &[Place::Floor])];
        for (index, slice) in self.stack.iter().enumerate() {
            let (mut top, mut bottom) = (mm(slice.top), mm(slice.bottom));
            if top - bottom < 10.0 {
                (top, bottom) = (top + 5.0, bottom - 5.0);
            }
            let name = if slice.layer.role == LayerRole::Beam { "beams" } else { slice.layer.name.as_str() };
            zones.push(self.zone(name, top, bottom, Anchor::Floor, &self.places_in(index)));
        }
        let on_the_wall = [Place::Bearing, Place::Dpc, Place::EdgeBlocks];
        zones.push(self.zone("bearing", bearing + 10.0, lowest, Anchor::Bearing, &on_the_wall));
        let vent = self.vent().map_or(lowest - 60.0, |vent| vent.inside);
        zones.push(self.zone("vents", vent + 45.0, vent - 45.0, Anchor::Vent, &[Place::Vents]));
        zones.push(self.zone("void", lowest, ground, Anchor::Void, &[Place::Void]));
        zones.push(self.zone("ground", ground, ground - 120.0, Anchor::Ground, &[Place::Ground]));
        zones.retain(|zone| !zone.doors.is_empty());
        zones
    }

    /// The places whose doors stand in one layer of the stack. A place whose layer the design does not have goes
    /// to the nearest that it does have: no hold point may be without a door.
    fn places_in(&self, index: usize) -> Vec<Place> {
        let find = |role: LayerRole| self.stack.iter().position(|slice| slice.layer.role == role);
        let beam = find(LayerRole::Beam).unwrap_or(0);
        let overlay = find(LayerRole::Overlay).unwrap_or(beam);
        let topping = find(LayerRole::Topping).unwrap_or(0);
        let named = |name: Option<&gaugerod_core::ids::PointName>| {
            self.stack.iter().position(|slice| Some(&slice.layer.name) == name)
        };
        let gas = self.design.services.iter().find(|one| one.service == ServiceKind::Gas);
        let gas = gas.and_then(|one| named(one.in_layer.as_ref()).or(named(one.below.as_ref())));
        let homes = [
            (Place::Topping, topping),
            (Place::Heating, topping),
            (Place::Membrane, find(LayerRole::Membrane).unwrap_or(topping)),
            (Place::Overlay, overlay),
            (Place::Gas, gas.unwrap_or(overlay)),
            (Place::Beams, beam),
        ];
        homes.iter().filter(|(_, home)| *home == index).map(|(place, _)| *place).collect()
    }

    fn zone(&self, name: &str, top: f64, bottom: f64, anchor: Anchor, places: &[Place]) -> Zone {
        let next = self.view.standing.next().map(|one| &one.id);
        let doors = self
            .at(places)
            .into_iter()
            .map(|one| Door {
                id: one.id.to_string(),
                name: one.short_title.clone(),
                mark: marks::of_hold_point(one),
                next: Some(&one.id) == next,
            })
            .collect();
        Zone { name: name.to_owned(), top, bottom, anchor, doors }
    }
}

/// Draws the layers where they were built, once the overlay's labels or readings say how thick it is.
fn place_as_built(view: &PlotView, stack: &mut [Slice<'_>]) {
    let Some(found) = as_built::as_built(&view.record).filter(|found| found.overlay.basis != Basis::Design)
    else {
        return;
    };
    for slice in stack {
        if let Some(own) = found.layers.iter().find(|own| own.name == slice.layer.name) {
            slice.drawn = Some((own.designed_top, own.designed, own.basis));
            slice.top = own.built_top;
            slice.bottom = own.built_top - own.built.1;
        }
    }
}

/// Where the hold points of a layer stand. Beams without any of their own are seen from the void's, which is
/// proved when they are in.
const fn places(role: LayerRole) -> &'static [Place] {
    match role {
        LayerRole::Topping => &[Place::Topping],
        LayerRole::Membrane => &[Place::Membrane],
        LayerRole::Overlay => &[Place::Overlay],
        LayerRole::Heating => &[Place::Heating],
        LayerRole::Beam | LayerRole::Infill => &[Place::Beams, Place::Void],
        LayerRole::Finish | LayerRole::Bedding => &[],
    }
}

/// The last criterion that reads the ground and has readings, with the highest of them.
fn ground_read(view: &PlotView) -> Option<(&CriterionStanding, Length)> {
    let criteria = view.standing.hold_points.iter().flat_map(|one| &one.criteria);
    criteria
        .filter(|one| matches!(one.feed(), Some(Feed::GroundLevels | Feed::GroundAsBuilt)))
        .filter_map(|one| {
            let levels = one.readings.iter().filter_map(|reading| match reading.value {
                ReadValue::Um(um) => Some(Length::from_um(um)),
                _ => None,
            });
            Some((one, levels.max()?))
        })
        .next_back()
}

fn tag(name: &str, level: Length) -> LevelTag {
    let sign = if level.is_negative() { "−" } else { "+" };
    LevelTag { name: name.to_owned(), value: format!("{sign}{}", level.abs().m_text(3)), at: mm(level) }
}

/// Millimetres for drawing.
fn mm(length: Length) -> f64 {
    length.to_mm_f64()
}
