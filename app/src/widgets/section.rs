//! The floor's own cross-section as the way to its hold points: drawn to one scale in both
//! directions from the build-up, hatched and levelled by drafting convention, with the hold points
//! of every layer gathered in zones on leader lines at the right.
//!
//! The cutting plane is stepped (ISO 128): at the left it runs along a beam, so that the bearing
//! shows; right of the break line it runs across the beams, so that beams and infill show. Spans are
//! shortened by the break lines, never squeezed.
//!
//! A tap on a layer or on a zone gives back what was meant, a hold point or a zone with several; nothing else happens here. What
//! stands in the view is shown as it is; geometry is worked out in [`super::section_layout`], ink is
//! put down in [`super::section_paint`].

use egui::{Rect, Role, ScrollArea, Sense, Ui, Vec2, WidgetInfo, pos2, vec2};

use crate::{
    theme::{self, TOUCH},
    widgets::{
        hatch::Material,
        section_layout::Layout,
        section_paint,
        type_setting::{galley, tap},
        verdict_mark::{self, Mark},
    },
};

/// One plot's section. All levels in millimetres above one datum, all sizes in millimetres.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct SectionView {
    /// The layers of the floor, topmost first.
    pub layers: Vec<Layer>,
    /// The bearing wall.
    pub wall: Wall,
    /// Level of the bearing: top of the inner leaf.
    pub bearing: f64,
    /// How far a beam's end lies on the wall.
    pub bearing_length: f64,
    /// Level of the ground or oversite under the floor.
    pub ground: f64,
    /// Level of the finished ground outside, if there is an outside.
    pub outside: Option<f64>,
    /// The void, with its dimension.
    pub void: Option<Void>,
    /// The vent through the wall.
    pub vent: Option<Vent>,
    /// A gas pipe in the build-up.
    pub pipe: Option<Pipe>,
    /// Levels written at the left.
    pub levels: Vec<LevelTag>,
    /// The doors, grouped by what they prove, topmost first.
    pub zones: Vec<Zone>,
}

/// One layer of the floor.
#[derive(Clone, Debug, PartialEq)]
pub struct Layer {
    /// What is written in it, such as `topping 80`.
    pub name: String,
    /// Level of its top.
    pub top: f64,
    /// Level of its underside; equal to the top for a sheet.
    pub bottom: f64,
    /// What it is.
    pub form: Form,
    /// How far it has come.
    pub build: Build,
    /// Where its top was drawn, when it was built at another level.
    pub drawn_top: Option<f64>,
}

/// What a layer is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Form {
    /// One material right through.
    Slab(Material),
    /// A membrane or a course without thickness worth drawing.
    Sheet,
    /// Beams with infill between them.
    Beams {
        /// Width of a beam at its foot.
        width: f64,
        /// Clear distance between neighbouring beams: the infill's width.
        infill: f64,
        /// How far the infill hangs below the bearing.
        hang: f64,
    },
}

/// How far a layer has come, which decides how it is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Build {
    /// Not there yet: dashed.
    #[default]
    Ahead,
    /// Being worked on: drawn heaviest.
    Here,
    /// There, and proved.
    Proved,
    /// There and covered, or about to be, and not proved: a warning.
    Unproved,
}

/// The wall at the left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Wall {
    /// Two leaves with a cavity between them.
    Cavity {
        /// Thickness of the outer leaf.
        outer: f64,
        /// Width of the cavity.
        cavity: f64,
        /// Thickness of the inner leaf, which bears.
        inner: f64,
    },
    /// A solid wall.
    Solid {
        /// Its thickness.
        thickness: f64,
    },
}

impl Default for Wall {
    fn default() -> Self {
        Self::Cavity { outer: 103.0, cavity: 100.0, inner: 100.0 }
    }
}

/// The void under the floor.
#[derive(Clone, Debug, PartialEq)]
pub struct Void {
    /// Level of the lowest part of the floor above it.
    pub top: f64,
    /// The dimension as written, such as `void 249 ≥ 200`.
    pub text: String,
    /// How it stands, once it is known.
    pub mark: Option<Mark>,
}

/// A vent with a cranked sleeve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vent {
    /// Level of the middle of its outer mouth.
    pub outside: f64,
    /// Level of the middle of its inner mouth.
    pub inside: f64,
    /// Height of the sleeve.
    pub height: f64,
    /// How far it has come.
    pub build: Build,
}

/// A gas pipe, cut across.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pipe {
    /// Level of its middle.
    pub at: f64,
    /// Its outer diameter with the sleeve.
    pub diameter: f64,
    /// How far it has come.
    pub build: Build,
}

/// A level written at the left.
#[derive(Clone, Debug, PartialEq)]
pub struct LevelTag {
    /// What it is the level of.
    pub name: String,
    /// The level as written, such as `+47.810`.
    pub value: String,
    /// Where it is.
    pub at: f64,
}

/// A part of the drawing with its hold points.
#[derive(Clone, Debug, PartialEq)]
pub struct Zone {
    /// What it is, such as `bearing`.
    pub name: String,
    /// Its highest level.
    pub top: f64,
    /// Its lowest level.
    pub bottom: f64,
    /// Where its leader line starts.
    pub anchor: Anchor,
    /// Its hold points in the order of work.
    pub doors: Vec<Door>,
}

/// Where a leader line starts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// At the middle of the zone, on the right edge of the floor.
    Floor,
    /// At the bearing on the wall.
    Bearing,
    /// At the vent's inner mouth.
    Vent,
    /// In the void.
    Void,
    /// In the ground under the floor.
    Ground,
}

/// A hold point on the drawing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Door {
    /// The hold point's id, given back when it is tapped.
    pub id: String,
    /// Its title.
    pub name: String,
    /// How it stands.
    pub mark: Mark,
    /// Whether it is the next one that can be worked on.
    pub next: bool,
}

/// What was tapped on the section.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Tapped {
    /// A zone's only hold point, by its id.
    Door(String),
    /// A zone with several hold points, by its name.
    Zone(String),
}

impl Zone {
    /// Its next hold point that can be worked on.
    fn next(&self) -> Option<&Door> {
        self.doors.iter().find(|door| door.next)
    }

    /// Its mark: what calls for somebody, else the next one's, else that of the first that is not done.
    pub fn mark(&self) -> Mark {
        let done = |door: &&Door| !matches!(door.mark, Mark::Released | Mark::Conforming | Mark::Concession);
        let trouble = self.doors.iter().find(|door| door.mark.is_trouble());
        let first = trouble.or_else(|| self.next()).or_else(|| self.doors.iter().find(done));
        first.or_else(|| self.doors.last()).map_or(Mark::NotYet, |door| door.mark)
    }

    /// How many of its hold points are done.
    fn done(&self) -> usize {
        let done = |door: &&Door| matches!(door.mark, Mark::Released | Mark::Conforming | Mark::Concession);
        self.doors.iter().filter(done).count()
    }

    /// The second line beside its mark: how far it has come.
    fn progress(&self) -> String {
        match &self.doors[..] {
            [only] => only.mark.name().to_owned(),
            doors => format!("{} of {} done", self.done(), doors.len()),
        }
    }

    fn tapped(&self) -> Option<Tapped> {
        match &self.doors[..] {
            [] => None,
            [only] => Some(Tapped::Door(only.id.clone())),
            _ => Some(Tapped::Zone(self.name.clone())),
        }
    }

    /// What it is called when it is read out.
    fn label(&self) -> String {
        let next = if self.next().is_some() { ", next" } else { "" };
        match &self.doors[..] {
            [only] => format!("{}: {}{next}", only.name, only.mark.name()),
            doors => {
                let names: Vec<&str> = doors.iter().map(|door| door.name.as_str()).collect();
                format!("{}, {}{next}: {}", self.name, self.progress(), names.join(", "))
            }
        }
    }
}

/// Draws the section in the space that is left and gives back what was tapped. Where the zones need more height than
/// there is, the drawing scrolls by itself.
pub fn section_ui(ui: &mut Ui, view: &SectionView) -> Option<Tapped> {
    let room = ui.available_size();
    let least = Layout::least_height(view);
    if room.y.is_finite() && room.y >= least {
        return drawing_ui(ui, view, vec2(room.x, room.y.min(MOST_HEIGHT)));
    }
    theme::scroll(ScrollArea::vertical().id_salt("section"))
        .show(ui, |ui| drawing_ui(ui, view, vec2(ui.available_width(), least)))
        .inner
}

fn drawing_ui(ui: &mut Ui, view: &SectionView, size: Vec2) -> Option<Tapped> {
    let (id, area) = ui.allocate_space(size);
    let layout = Layout::new(view, area);
    let canvas = ui.interact(area, id, Sense::click());
    canvas.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, "section through the floor"));
    section_paint::paint(&ui.painter_at(area), view, &layout, theme::sheet(ui));

    let mut tapped = None;
    for (zone, row) in view.zones.iter().zip(&layout.rows) {
        ui.push_id(("zone", &zone.name), |ui| {
            if zone_ui(ui, zone, row.place) {
                tapped = zone.tapped();
            }
        });
    }
    if tapped.is_none()
        && canvas.clicked()
        && let Some(at) = canvas.interact_pointer_pos()
    {
        tapped = layout.zone_at(view, at).and_then(Zone::tapped);
    }
    tapped
}

/// A zone beside the drawing: its mark, its name, how far it has come. One place to tap.
fn zone_ui(ui: &Ui, zone: &Zone, place: Rect) -> bool {
    if zone.doors.is_empty() {
        return false;
    }
    let response = tap(ui, place, ui.scope_id().with("zone"), &zone.label());
    let (sheet, painter) = (theme::sheet(ui), ui.painter());
    let next = zone.next().is_some();
    let at = pos2(place.left() + TOUCH / 2.0, place.center().y);
    if next {
        verdict_mark::ring(painter, at, MARK, sheet);
    }
    verdict_mark::paint(painter, at, MARK, zone.mark(), sheet);
    let font = if next { theme::strong(15.0) } else { theme::font(15.0) };
    let width = place.width() - TOUCH - 4.0;
    let name = galley(painter, &zone.name, font, sheet.ink, width, 1);
    let below = galley(painter, &zone.progress(), theme::font(13.0), sheet.soft, width, 1);
    let corner =
        pos2(place.left() + TOUCH + 2.0, place.center().y - f32::midpoint(name.size().y, below.size().y));
    let line = vec2(0.0, name.size().y);
    painter.galley(corner, name, sheet.ink);
    painter.galley(corner + line, below, sheet.soft);
    if response.has_focus() || response.is_pointer_button_down_on() {
        painter.rect_stroke(place.shrink(1.0), 0.0, sheet.thick(), egui::StrokeKind::Inside);
    }
    response.clicked()
}

/// Size of a mark on the drawing, in points.
pub(super) const MARK: f32 = 30.0;
/// Most height the drawing takes, in points: zones further apart would lose their leaders.
const MOST_HEIGHT: f32 = 860.0;
