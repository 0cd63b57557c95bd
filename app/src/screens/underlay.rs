//! A drawing behind the plan: a file is read, two places are tapped on its picture and the same two on the plan, the
//! revision that it states is written down, and it is placed.
//!
//! What may be placed is asked of the rules; the picture is drawn on the worker. Nothing is recorded before the last
//! button.

use egui::{Frame, Margin, Panel, RichText, ScrollArea, Ui, vec2};
use gaugerod_core::entry::{AttachedFile, UnderlayPlaced};
use gaugerod_core::floor::{self, FloorDesign};
use gaugerod_core::ids::{PlotId, Sha256Digest};
use gaugerod_core::inspection::{Act, underlay};
use gaugerod_core::plan_drawing::{Drawing, Parts, Place, Similarity};
use gaugerod_core::quantity::{Length, Mm};

use super::asking;
use super::desk::{self, Desk, May};
use crate::action::Action;
use crate::state::State;
use crate::theme;
use crate::underlays::Placing;
use crate::widgets::drawing_pad::{self, Picture};
use crate::widgets::{self, Mark, Weight};

/// The draft of the file's path.
pub const PATH: &str = "underlay/path";
/// The draft of the revision.
pub const REVISION: &str = "underlay/revision";
/// The draft of the known distance.
pub const DISTANCE: &str = "underlay/distance";
/// A whole width of the picture, in the record's units.
const WIDTH_PPM: f64 = 1e6;

/// The screen.
pub fn underlay_ui(ui: &mut Ui, state: &mut State, plot: &PlotId) {
    let Some(desk) = Desk::of(state, plot) else {
        return desk::waiting_ui(ui, plot);
    };
    let portrait = ui.available_width() < ui.available_height();
    let mut placing = state.underlays.placing.take().filter(|one| one.plot == *plot);
    let scrolled = |ui: &mut Ui, state: &mut State, placing: &mut Option<Placing>| {
        theme::scroll(ScrollArea::vertical().id_salt("placing").auto_shrink([false, false])).show(ui, |ui| {
            ui.set_width(ui.available_width());
            steps_ui(ui, state, &desk, placing);
        });
    };
    let panel = |side: Panel| side.resizable(false).show_separator_line(false);
    let size = ui.available_size();
    if portrait {
        let frame = Frame::new().inner_margin(Margin { top: 8, ..Margin::ZERO });
        panel(Panel::bottom("underlay below")).exact_size((size.y * 0.34).max(300.0)).frame(frame).show(
            ui,
            |ui| {
                scrolled(ui, state, &mut placing);
            },
        );
    } else {
        let frame = Frame::new().inner_margin(Margin { left: 14, ..Margin::ZERO });
        panel(Panel::right("underlay beside"))
            .exact_size((size.x * 0.3).clamp(290.0, 372.0))
            .frame(frame)
            .show(ui, |ui| {
                scrolled(ui, state, &mut placing);
            });
    }
    match &mut placing {
        Some(placing) if placing.result.is_ok() => pads_ui(ui, &desk, placing, portrait),
        _ => {
            let words = "Read a drawing: a PDF, a photo or a scan of the setting-out. Then tap two places on it that are \
                         on the plan too, far apart: two corners of the floor are best.";
            ui.add(egui::Label::new(words).wrap());
        }
    }
    // A new file may have been read meanwhile only by the worker, between two frames: nothing is lost by putting it back.
    state.underlays.placing = placing;
}

/// The picture and the plan beside each other.
fn pads_ui(ui: &mut Ui, desk: &Desk, placing: &mut Placing, portrait: bool) {
    let Ok((picture, _)) = placing.result.clone() else { return };
    let design = desk.view.record.design();
    let drawing = Drawing::of(design, None, Parts::default());
    let size = ui.available_size();
    let half = if portrait {
        vec2(size.x, (size.y - theme::GAP) / 2.0)
    } else {
        vec2((size.x - theme::GAP) / 2.0, size.y)
    };
    let mut tapped = None;
    let mut both = |ui: &mut Ui| {
        let seen = Picture { texture: picture.id(), tall: picture.tall };
        ui.allocate_ui(half, |ui| {
            if let Some(at) = drawing_pad::picture_pad_ui(ui, seen, placing.picture, &mut placing.cameras[0])
            {
                tapped = Some((Some(at), None));
            }
        });
        let places = placing.plan.map(|place| place.map(|at| at.map(|one| one.0.to_mm_f64())));
        ui.allocate_ui(half, |ui| {
            if let Some((at, near)) = drawing_pad::plan_pad_ui(ui, &drawing, places, &mut placing.cameras[1])
            {
                tapped = Some((None, Some(snapped(design, at, near))));
            }
        });
    };
    if portrait {
        ui.vertical(|ui| both(ui))
    } else {
        ui.horizontal_top(|ui| both(ui))
    };
    let Some((on_picture, on_plan)) = tapped else { return };
    let number = placing.number.min(1);
    placing.picture[number] = on_picture.or(placing.picture[number]);
    placing.plan[number] = on_plan.or(placing.plan[number]);
    // Both halves of the first place are there: the second is next.
    if number == 0 && placing.picture[0].is_some() && placing.plan[0].is_some() && placing.plan[1].is_none() {
        placing.number = 1;
    }
}

/// The place that a finger means: a corner of the floor, an end of a wall or an opening where one is near, else the
/// place itself to the millimetre.
fn snapped(design: &FloorDesign, at: Place, near_mm: f64) -> floor::Place {
    let corners = design.plan.outline_mm.iter().copied();
    let ends = design.walls.iter().flat_map(|wall| wall.line_mm);
    let far = |place: &floor::Place| {
        let by = [0, 1].map(|axis| place[axis].0.to_mm_f64() - at[axis]);
        (by[0] * by[0] + by[1] * by[1]).sqrt()
    };
    let nearest = corners.chain(ends).map(|place| (far(&place), place)).min_by(|a, b| a.0.total_cmp(&b.0));
    match nearest {
        Some((far, place)) if far <= near_mm => place,
        _ => at.map(|one| Mm(whole_mm(one))),
    }
}

#[expect(clippy::cast_possible_truncation, reason = "a place on a plan, to the millimetre")]
fn whole_mm(mm: f64) -> Length {
    Length::from_mm(mm.round().clamp(-1e7, 1e7) as i64)
}

/// What is to be done, one under the other.
fn steps_ui(ui: &mut Ui, state: &mut State, desk: &Desk, placing: &mut Option<Placing>) {
    governing_ui(ui, desk);
    if !desk.can_record() {
        ui.label("Nobody is at the tablet: take it over with your name to place a drawing.");
        return;
    }
    file_ui(ui, state, desk, placing.as_ref());
    let Some(placing) = placing else { return };
    let pages = match &placing.result {
        Err(sentence) => return widgets::notice_ui(ui, Mark::Nonconforming, sentence),
        Ok((_, pages)) => *pages,
    };
    if pages > 1 {
        page_ui(ui, state, placing, pages);
    }
    ui.add_space(theme::GAP);
    ui.label(
        RichText::new("Tap the same two places on the drawing and on the plan.")
            .font(theme::font(theme::BODY)),
    );
    ui.horizontal(|ui| {
        let width = (ui.available_width() - theme::GAP) / 2.0;
        for (number, word) in ["place 1", "place 2"].into_iter().enumerate() {
            if widgets::choice_ui(ui, placing.number == number, word, vec2(width, theme::TOUCH)) {
                placing.number = number;
            }
        }
    });
    asking::field_ui(ui, state, DISTANCE, "known distance from 1 to 2, mm (may be left empty)");
    let distance = distance(state.drafts.text(DISTANCE));
    if let Err(sentence) = &distance {
        widgets::notice_ui(ui, Mark::Owed, sentence);
    }
    asking::field_ui(ui, state, REVISION, "revision that the drawing states");
    let own = desk.view.record.design().revision.clone();
    if widgets::button_ui(ui, Weight::Plain, &format!("{own}, as the floor design")) {
        *state.drafts.text_mut(REVISION) = own;
    }
    let act = distance.ok().and_then(|distance| act(placing, distance, state.drafts.text(REVISION).trim()));
    let Some(placed) = act else {
        ui.label("Still to come: both places on the drawing and on the plan, and the revision.");
        return;
    };
    if let Some(similarity) = Similarity::of(&placed) {
        let metres = similarity.width_mm() / 1000.0;
        ui.label(format!("The drawing's width is {metres:.2} m of the plan."));
    }
    match desk.may(&Act::PlaceUnderlay(placed.clone())) {
        May::Yes => {
            if widgets::buttons::wide_button_ui(ui, Weight::Primary, "Place it behind the plan") {
                let (plot, path) = (desk.plot.clone(), placing.path.clone());
                state.ask(Action::PlaceUnderlay { plot, path, placed: Box::new(placed) });
            }
        }
        May::NotNow(why) | May::NotThisPerson(why) => widgets::notice_ui(ui, Mark::Owed, &why),
    }
}

/// The drawing that lies behind the plan now.
fn governing_ui(ui: &mut Ui, desk: &Desk) {
    let record = &desk.view.record;
    let Some((placed, noted)) = underlay::of(record) else {
        ui.label("No drawing lies behind this plan yet.");
        return;
    };
    let words = format!(
        "Behind it now: {}, page {}, revision {}. Placed by {}, {}.",
        placed.document.name,
        placed.page,
        placed.revision,
        desk.name_of(noted.author),
        noted.time.minute()
    );
    ui.add(egui::Label::new(words).wrap());
    if underlay::is_of_another_revision(record, placed) {
        let own = &record.design().revision;
        let words =
            format!("The drawing is revision {}, the floor design is revision {own}.", placed.revision);
        widgets::notice_ui(ui, Mark::Undetermined, &words);
    }
}

fn file_ui(ui: &mut Ui, state: &mut State, desk: &Desk, placing: Option<&Placing>) {
    if let Some(placing) = placing {
        let name = placing.path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        ui.label(RichText::new(name).font(theme::strong(theme::VALUE)));
    }
    if widgets::buttons::wide_button_ui(ui, Weight::Plain, "Choose a drawing") {
        state.ask(Action::PickDrawing(desk.plot.clone()));
    }
    asking::field_ui(ui, state, PATH, "or its path, or drop the file here");
    let path = state.drafts.text(PATH).trim().to_owned();
    if !path.is_empty() && widgets::buttons::wide_button_ui(ui, Weight::Plain, "Read the drawing") {
        state.ask(Action::ReadDrawing { plot: desk.plot.clone(), path: path.into(), page: 1 });
    }
}

fn page_ui(ui: &mut Ui, state: &mut State, placing: &Placing, pages: u32) {
    ui.horizontal(|ui| {
        ui.label(format!("Page {} of {pages}", placing.page));
        for (word, page, there) in [
            ("page before", placing.page.saturating_sub(1), placing.page > 1),
            ("next page", placing.page.saturating_add(1), placing.page < pages),
        ] {
            ui.add_enabled_ui(there, |ui| {
                if widgets::button_ui(ui, Weight::Plain, word) {
                    let (plot, path) = (placing.plot.clone(), placing.path.clone());
                    state.ask(Action::ReadDrawing { plot, path, page });
                }
            });
        }
    });
}

/// The known distance, if one is typed.
fn distance(text: &str) -> Result<Option<Length>, String> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    match Length::parse_mm(text) {
        Ok(length) if length > Length::ZERO => Ok(Some(length)),
        Ok(_) => Err("The distance must be more than 0.".to_owned()),
        Err(fault) => Err(format!("The distance {fault}.")),
    }
}

/// What would be recorded, once everything is there. The file itself is taken in when it is placed.
fn act(placing: &Placing, distance: Option<Length>, revision: &str) -> Option<UnderlayPlaced> {
    let [Some(one), Some(other)] = placing.picture else { return None };
    let [Some(from), Some(to)] = placing.plan.map(|place| place.map(|at| at.map(|one| one.0))) else {
        return None;
    };
    let to = distance.map_or(Some(to), |distance| underlay::at_distance(from, to, distance))?;
    if revision.is_empty() {
        return None;
    }
    #[expect(clippy::cast_possible_truncation, reason = "places on a page, in millionths of its width")]
    let picture_ppm = [one, other].map(|at| at.map(|share| (share * WIDTH_PPM).round() as i64));
    let name = placing.path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let media_type =
        match placing.path.extension().map(|ending| ending.to_string_lossy().to_ascii_lowercase()) {
            Some(ending) if ending == "png" => "image/png",
            Some(ending) if ending == "jpg" || ending == "jpeg" => "image/jpeg",
            _ => "application/pdf",
        };
    // Stands in until the file is taken in: what is recorded names the bytes that are then stored.
    let document =
        AttachedFile { sha256: Sha256Digest([0; 32]), bytes: 1, media_type: media_type.to_owned(), name };
    Some(UnderlayPlaced {
        document,
        page: placing.page,
        revision: revision.to_owned(),
        picture_ppm,
        plan_um: [from, to],
    })
}
