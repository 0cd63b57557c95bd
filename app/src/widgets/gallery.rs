//! Every widget on four sheets with invented data, to be looked at and to be looked over by the
//! headless checks. The plot, its names and its numbers are made up.

use egui::{Panel, ScrollArea, Ui};

use crate::{
    theme,
    widgets::{
        self, Answer, Camera, KeypadView, Live, Mark, PhotoTile, Polylines, StripView, Weight,
        samples::{sample_plan, sample_section},
        section_strip::Slice,
        table_header::{Column, SortBy},
        title_block::Field,
    },
};

/// One sheet of the gallery.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Page {
    /// The section as the menu.
    Section,
    /// A hold point: answers, plan, keypad, photographs.
    HoldPoint,
    /// Pads, notices, progress, legend.
    Pads,
    /// Plots and the head of a table.
    Site,
}

impl Page {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Section, Self::HoldPoint, Self::Pads, Self::Site];
}

/// What the gallery's visitor has done.
#[derive(Clone, Debug, Default)]
pub struct Gallery {
    camera: Camera,
    typed: String,
    pin: String,
    signature: Polylines,
    answer: Option<Answer>,
    sorted: SortBy,
    /// What was tapped last.
    pub tapped: String,
}

/// Draws one sheet.
pub fn gallery_ui(ui: &mut Ui, page: Page, state: &mut Gallery) {
    widgets::sheet_border(ui).show(ui, |ui| match page {
        Page::Section => section_page_ui(ui, state),
        Page::HoldPoint => hold_point_page_ui(ui, state),
        Page::Pads => pads_page_ui(ui, state),
        Page::Site => site_page_ui(ui, state),
    });
}

fn title_ui(ui: &mut Ui) {
    let fields = [
        Field { caption: "Site", value: "Larch Field" },
        Field { caption: "Plot", value: "7, type C" },
        Field { caption: "Drawing", value: "S-12 rev B" },
        Field { caption: "Datum", value: "TBM 47.215" },
        Field { caption: "Date", value: "2026-03-17" },
    ];
    widgets::title_block_ui(ui, &fields);
}

fn section_page_ui(ui: &mut Ui, state: &mut Gallery) {
    Panel::top("head").resizable(false).show_separator_line(false).frame(egui::Frame::NONE).show(ui, |ui| {
        ui.heading("Plot 7: section");
        widgets::caution_bar_ui(
            ui,
            &["Walk on beams or on boards across beams; stack nothing. Not a structural certificate."],
        );
        ui.add_space(theme::GAP);
    });
    Panel::bottom("foot")
        .resizable(false)
        .show_separator_line(false)
        .frame(egui::Frame::NONE)
        .show(ui, title_ui);
    let portrait = ui.available_width() < ui.available_height();
    let next_ui = |ui: &mut Ui, state: &mut Gallery| {
        ui.heading("Next: beams and infill");
        ui.label("12 of 18 beams, 9 of 18 ends");
        if widgets::buttons::wide_button_ui(ui, Weight::Primary, "Carry on") {
            state.tapped = "carry on".to_owned();
        }
        widgets::notice_ui(ui, Mark::Nonconforming, "Run 2: reads narrow where wide is drawn");
        widgets::notice_ui(ui, Mark::Undetermined, "Wall C, point 3: +4 mm, U 3, limit +5: too near to call");
    };
    if portrait {
        Panel::bottom("next")
            .resizable(false)
            .show_separator_line(false)
            .frame(egui::Frame::NONE)
            .show(ui, |ui| next_ui(ui, state));
    } else {
        Panel::right("next")
            .resizable(false)
            .show_separator_line(false)
            .exact_size(310.0)
            .frame(egui::Frame::new().inner_margin(8))
            .show(ui, |ui| next_ui(ui, state));
    }
    if let Some(widgets::Tapped::Door(name) | widgets::Tapped::Zone(name)) =
        widgets::section_ui(ui, &sample_section())
    {
        state.tapped = name;
    }
}

fn hold_point_page_ui(ui: &mut Ui, state: &mut Gallery) {
    Panel::top("head").resizable(false).show_separator_line(false).frame(egui::Frame::NONE).show(ui, |ui| {
        widgets::caution_bar_ui(ui, &["Work at an edge: keep back from open excavations."]);
        ui.add_space(theme::GAP);
    });
    let portrait = ui.available_width() < ui.available_height();
    let live =
        Live { meaning: "level +47.813".to_owned(), deviation: "+3 mm".to_owned(), mark: Mark::Undetermined };
    let keypad = |ui: &mut Ui, state: &mut Gallery| {
        let view = KeypadView {
            subject: "Wall C, point 3: staff reading",
            unit: "m",
            live: Some(&live),
            refusal: None,
            book: "Book, next C 4",
            can_skip: true,
            again: Some("1.247"),
        };
        if let Some(event) = widgets::keypad_ui(ui, &view, &mut state.typed) {
            state.tapped = format!("{event:?}");
        }
    };
    let facts = |ui: &mut Ui, state: &mut Gallery| {
        theme::scroll(ScrollArea::vertical().id_salt("facts")).show(ui, |ui| {
            ui.label(egui::RichText::new("Limit 47.810 +5 / −10 mm").font(theme::strong(20.0)));
            ui.label("spec S-12 cl. 3, guarded, U 3 mm");
            if let Some(answer) = widgets::answer_row_ui(ui, "Sound, cured, clean", state.answer, Mark::Owed)
            {
                state.answer = Some(answer);
            }
            ui.horizontal_wrapped(|ui| {
                for (weight, word) in [(Weight::Plain, "Working"), (Weight::Danger, "Not right")] {
                    if widgets::button_ui(ui, weight, word) {
                        word.clone_into(&mut state.tapped);
                    }
                }
            });
        });
    };
    if portrait {
        Panel::top("facts")
            .resizable(false)
            .show_separator_line(false)
            .exact_size(230.0)
            .frame(egui::Frame::NONE)
            .show(ui, |ui| facts(ui, state));
        Panel::bottom("keys")
            .resizable(false)
            .show_separator_line(false)
            .exact_size(widgets::keypad::LEAST_HEIGHT + 16.0)
            .frame(egui::Frame::NONE)
            .show(ui, |ui| keypad(ui, state));
    } else {
        Panel::left("facts")
            .resizable(false)
            .show_separator_line(false)
            .exact_size(270.0)
            .frame(egui::Frame::NONE)
            .show(ui, |ui| facts(ui, state));
        Panel::right("keys")
            .resizable(false)
            .show_separator_line(false)
            .exact_size(330.0)
            .frame(egui::Frame::new().inner_margin(egui::Margin { left: 12, ..Default::default() }))
            .show(ui, |ui| keypad(ui, state));
    }
    Panel::bottom("photos")
        .resizable(false)
        .show_separator_line(false)
        .exact_size(110.0)
        .frame(egui::Frame::NONE)
        .show(ui, |ui| {
            let tile = |id: &str, caption: &str, mark| PhotoTile {
                id: id.to_owned(),
                caption: caption.to_owned(),
                texture: None,
                mark,
            };
            let tiles = [
                tile("a", "wall A", Mark::Conforming),
                tile("b", "wall B", Mark::Conforming),
                tile("c", "wall C", Mark::Owed),
            ];
            if let Some(event) = widgets::photo_strip_ui(ui, &tiles) {
                state.tapped = format!("{event:?}");
            }
        });
    if let Some(event) = widgets::plan_ui(ui, &sample_plan(), &mut state.camera) {
        state.tapped = format!("{event:?}");
    }
}

fn pads_page_ui(ui: &mut Ui, state: &mut Gallery) {
    theme::scroll(ScrollArea::vertical().id_salt("pads").auto_shrink([false, false])).show(ui, |ui| {
        widgets::verdict_mark::legend_ui(ui);
        widgets::notice_ui(ui, Mark::Refused, "Not offered: 4 levels on wall D and 1 photo are still owed.");
        widgets::notice_ui(ui, Mark::Covered, "The membrane was laid before the gas pipe was released.");
        if widgets::progress_ui(ui, "Making the report", 37, 60, true) {
            "stop".clone_into(&mut state.tapped);
        }
        ui.horizontal_wrapped(|ui| {
            for (weight, word) in
                [(Weight::Primary, "Offer"), (Weight::Plain, "Working"), (Weight::Danger, "Refuse")]
            {
                if widgets::button_ui(ui, weight, word) {
                    word.clone_into(&mut state.tapped);
                }
            }
            ui.add_enabled_ui(false, |ui| widgets::button_ui(ui, Weight::Primary, "Release"));
        });
        widgets::signature_pad_ui(ui, "J. Sample, supervisor", &mut state.signature);
        if let Some(event) = widgets::pin_pad_ui(ui, 6, "Sign", &mut state.pin) {
            state.tapped = format!("{event:?}");
        }
    });
}

fn site_page_ui(ui: &mut Ui, state: &mut Gallery) {
    let columns = [("Plot", 90.0), ("Hold point", 220.0), ("First time", 140.0), ("Age", 100.0)]
        .map(|(name, width)| Column { name, width });
    if let Some(sorted) = widgets::table_header_ui(ui, &columns, state.sorted) {
        state.sorted = sorted;
    }
    let names: Vec<String> = (1..=300).map(|n| n.to_string()).collect();
    let tapped = widgets::strip_grid_ui(ui, names.len(), |n| StripView {
        name: &names[n],
        waits_for: [
            "oversite",
            "bearing level",
            "supervisor: beams",
            "manager: gate 2",
            "overlay",
            "sign-off",
        ][n % 6],
        mark: [None, Some(Mark::Owed), None, Some(Mark::Offered), Some(Mark::Covered), Some(Mark::Released)]
            [n % 6],
        slices: [
            &[Slice::Open, Slice::Blank, Slice::Blank, Slice::Blank, Slice::Blank],
            &[Slice::Released, Slice::Open, Slice::Blank, Slice::Blank, Slice::Blank],
            &[Slice::Released, Slice::Released, Slice::Open, Slice::Blank, Slice::Blank],
            &[Slice::Released, Slice::Offered, Slice::Blank, Slice::Blank, Slice::Blank],
            &[Slice::Released, Slice::Released, Slice::Trouble, Slice::Open, Slice::Blank],
            &[Slice::Released, Slice::Released, Slice::Released, Slice::Released, Slice::Released],
        ][n % 6],
    });
    if let Some(plot) = tapped {
        state.tapped.clone_from(&names[plot]);
    }
}

#[cfg(test)]
mod tests {
    use egui_kittest::kittest::Queryable as _;

    use egui::vec2;

    use super::*;
    use crate::headless;

    #[test]
    fn every_sheet_passes_the_checks_at_every_size_and_density() {
        for page in Page::ALL {
            let mut state = Gallery::default();
            headless::check(&format!("{page:?}"), |ui| gallery_ui(ui, page, &mut state));
        }
    }

    fn tapped(page: Page, label: &str) -> String {
        let mut harness = headless::harness(
            headless::SIZES[0],
            move |ui, state: &mut Gallery| gallery_ui(ui, page, state),
            Gallery::default(),
        );
        harness.get_by_label_contains(label).click();
        harness.run();
        harness.state().tapped.clone()
    }

    #[test]
    fn what_is_tapped_is_what_is_given_back() {
        assert_eq!(tapped(Page::Section, "void clean"), "void-clean");
        assert_eq!(tapped(Page::Section, "beams and infill, "), "beams and infill");
        assert_eq!(tapped(Page::Pads, "Refuse"), "Refuse");
        assert_eq!(tapped(Page::HoldPoint, "photo: wall C, owed"), "Fill(\"c\")");
        assert_eq!(tapped(Page::Site, "plot 4:"), "4");
    }

    #[test]
    fn keys_type_into_the_draft_and_the_keyboard_does_too() {
        let mut harness = headless::harness(
            headless::SIZES[0],
            |ui, state: &mut Gallery| gallery_ui(ui, Page::HoldPoint, state),
            Gallery::default(),
        );
        for key in ["1", "decimal point", "3"] {
            harness.get_by_label(key).click();
            harness.run();
        }
        harness.event(egui::Event::Text("5".to_owned()));
        harness.run();
        assert_eq!(harness.state().typed, "1.35");
        harness.key_press(egui::Key::Enter);
        harness.run();
        assert_eq!(harness.state().tapped, "Book");
    }

    #[test]
    fn a_tap_on_the_drawing_itself_opens_the_layer() {
        let mut harness = headless::harness(
            vec2(820.0, 640.0),
            |ui, state: &mut String| {
                if let Some(widgets::Tapped::Door(name) | widgets::Tapped::Zone(name)) =
                    widgets::section_ui(ui, &sample_section())
                {
                    *state = name;
                }
            },
            String::new(),
        );
        // The middle of the canvas's left half lies in the wall beside the beams or the void.
        let canvas = harness.get_by_label("section through the floor").rect();
        harness.drag_at(canvas.center());
        harness.drop_at(canvas.center());
        harness.run();
        assert!(!harness.state().is_empty());
    }
}
