//! Two places chosen by taps: on a picture of a drawing, or on the plan. Each is shown as a numbered cross.
//!
//! Nothing here knows what the places are for. The camera and the places are the caller's drafts.

use egui::{
    Align2, Color32, Id, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2,
};
use gaugerod_core::plan_drawing::{Drawing, Place};

use crate::{
    theme::{self, Sheet, mix_ink},
    widgets::{
        camera::{self, Camera, FOOT},
        plan_paint::{Map, draw_bare, to_f32},
        type_setting::patched,
    },
};

/// A picture that can be tapped.
#[derive(Clone, Copy, Debug)]
pub struct Picture {
    /// White where there is ink, nothing where there is paper.
    pub texture: egui::TextureId,
    /// How tall it is, in widths.
    pub tall: f64,
}

/// The least height of a pad.
const LEAST: f32 = 200.0;
/// Size of a cross, in points.
const CROSS: f32 = 34.0;

/// The picture of a drawing; gives back the place that was tapped, in widths from its upper left corner, y downwards.
pub fn picture_pad_ui(
    ui: &mut Ui,
    picture: Picture,
    places: [Option<Place>; 2],
    camera: &mut Camera,
) -> Option<Place> {
    let pad = Pad::new(ui, "the drawing", "drawing", camera);
    let tall = to_f32(picture.tall);
    let room = pad.area.shrink(8.0).size();
    let width = room.x.min(room.y / tall) * camera.zoom;
    let rect = Rect::from_center_size(pad.area.center() + camera.shift, vec2(width, width * tall));
    pad.painter.rect_filled(rect, 0.0, pad.sheet.field);
    let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
    pad.painter.image(picture.texture, rect, whole, mix_ink(pad.sheet, 1.0));
    pad.painter.rect_stroke(rect, 0.0, pad.sheet.thin(), egui::StrokeKind::Outside);
    let at = |[x, y]: Place| rect.min + vec2(to_f32(x), to_f32(y)) * width;
    pad.crosses(places.map(|place| place.map(at)));
    let finger = pad.tapped()?;
    let by = (finger - rect.min) / width;
    rect.contains(finger).then(|| [f64::from(by.x), f64::from(by.y)])
}

/// The plan; gives back the place that was tapped, and how many millimetres a finger may miss it by.
pub fn plan_pad_ui(
    ui: &mut Ui,
    drawing: &Drawing,
    places: [Option<Place>; 2],
    camera: &mut Camera,
) -> Option<(Place, f64)> {
    let pad = Pad::new(ui, "the plan", "plan", camera);
    let map = Map::new(drawing, pad.area, *camera);
    draw_bare(&pad.painter, drawing, &map, pad.sheet);
    pad.crosses(places.map(|place| place.map(|at| map.place(at))));
    let finger = pad.tapped()?;
    Some((map.plan(finger), f64::from(CROSS / map.scale)))
}

struct Pad {
    area: Rect,
    painter: Painter,
    canvas: egui::Response,
    sheet: &'static Sheet,
}

impl Pad {
    fn new(ui: &mut Ui, name: &str, what: &str, camera: &mut Camera) -> Self {
        let size = ui.available_size();
        let (id, whole) = ui.allocate_space(vec2(size.x, size.y.max(LEAST)));
        let area = whole.with_max_y(whole.bottom() - FOOT);
        let canvas = ui.interact(area, id, Sense::click_and_drag());
        canvas.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, name));
        camera::follow(ui, &canvas, area, camera);
        let sheet = theme::sheet(ui);
        let foot = whole.with_min_y(area.bottom());
        ui.push_id(name, |ui| camera::buttons_ui(ui, foot, Id::unique((id, name)), what, camera, sheet));
        let painter = ui.painter_at(area);
        painter.rect_filled(area, 0.0, sheet.paper);
        Self { area, painter, canvas, sheet }
    }

    fn tapped(&self) -> Option<Pos2> {
        self.canvas.clicked().then(|| self.canvas.interact_pointer_pos()).flatten()
    }

    /// Numbered crosses that leave the very place open to be seen.
    fn crosses(&self, places: [Option<Pos2>; 2]) {
        for (number, at) in (1_u8..).zip(places).filter_map(|(number, at)| Some((number, at?))) {
            for way in [vec2(1.0, 0.0), vec2(-1.0, 0.0), vec2(0.0, 1.0), vec2(0.0, -1.0)] {
                let ends = [at + way * 4.0, at + way * CROSS / 2.0];
                self.painter.line_segment(ends, Stroke::new(5.0, self.sheet.paper));
                self.painter.line_segment(ends, self.sheet.thick());
            }
            self.painter.add(Shape::circle_stroke(at, CROSS / 2.0, self.sheet.thick()));
            let (place, font) = (at + vec2(CROSS * 0.55, -CROSS * 0.55), theme::strong(theme::VALUE));
            let colours: (Color32, Color32) = (self.sheet.on_fill, self.sheet.next);
            patched(&self.painter, place, Align2::LEFT_BOTTOM, &number.to_string(), font, colours, 24.0);
        }
    }
}
