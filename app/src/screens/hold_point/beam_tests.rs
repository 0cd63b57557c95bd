//! Beams by the labels on screen: the strip while one types, a bay that looks wrong, each line before the first beam is
//! lifted, delivery notes, cuts.

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use gaugerod_core::entry::{DeliveryBooked, DeliveryLine};
use gaugerod_core::ids::{CriterionId, PointName};
use gaugerod_core::inspection::Act;

use crate::action::Action;
use crate::headless;
use crate::screens::fixture::{Site, hold_point, plot};
use crate::screens::window_ui;
use crate::state::{Screen, State};

/// Plot 9, whose beams are drawn, at a criterion.
fn at(site: &mut Site, id: &str, criterion: &str, point: Option<&str>) -> State {
    let mut state = site.state(Screen::HoldPoint(plot("9"), hold_point(id)));
    state.drafts.criterion = Some((hold_point(id), CriterionId::new(criterion).unwrap()));
    state.drafts.point = point.map(|name| PointName::new(name).unwrap());
    state
}

fn press(harness: &mut Harness<'_, State>, labels: &[&str]) {
    for label in labels {
        harness.get_by_label(label).scroll_to_me();
        harness.run();
        harness.get_by_label(label).click();
        harness.run();
    }
}

#[test]
fn a_face_is_judged_on_the_strip_as_its_digits_are_typed_at_three_sizes() {
    for size in headless::SIZES {
        let mut site = Site::bare();
        site.read("9", "beam-setting-out", "width", "R1", "8386", "mm");
        site.read("9", "beam-setting-out", "faces", "R1/7", "3100", "mm");
        let mut state = at(&mut site, "beam-setting-out", "faces", Some("R1/8"));
        headless::check("strip", |ui| window_ui(ui, &mut state));
        let mut harness = headless::harness(size, window_ui, state);
        harness.get_by_label("Run R1: tap a beam or a bay. ");
        press(&mut harness, &["3", "5", "3", "3"]);
        // 3533 − 3100 − 110 = 323 clear, where a wide infill of 500 is drawn.
        harness.get_by_label("Run R1: tap a beam or a bay. narrow, drawn wide");
        harness.get_by_label_contains("after beam 7: 323 mm clear");
    }
}

#[test]
fn the_width_while_it_is_typed_foretells_the_make_up_and_what_the_engineer_could_approve() {
    for size in headless::SIZES {
        let mut site = Site::bare();
        let state = at(&mut site, "beam-setting-out", "width", Some("R1"));
        let mut harness = headless::harness(size, window_ui, state);
        press(&mut harness, &["8", "4", "7", "5"]);
        harness.get_by_label_contains("will be 335 mm");
        harness.get_by_label("For the engineer to approve, no order:");
        harness.get_by_label_contains("12 wide and 1 narrow, make-up 155 mm");
    }
}

#[test]
fn a_tap_on_a_bay_that_looks_wrong_asks_for_its_two_beams_one_after_the_other() {
    let mut site = Site::bare();
    site.read("9", "beam-setting-out", "width", "R1", "8386", "mm");
    let state = at(&mut site, "beam-setting-out", "faces", Some("R1/1"));
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    let strip = harness.get_by_label("Run R1: tap a beam or a bay. ").rect();
    // The bay after beam 2 reaches from 840 to 1340 of 8400 along the strip, 84 points in from its left.
    let share = 1_090.0 / 8_400.0;
    let place = egui::pos2(strip.left() + 84.0 + share * (strip.width() - 92.0), strip.center().y);
    harness.hover_at(place);
    harness.drag_at(place);
    harness.drop_at(place);
    harness.run();
    assert_eq!(harness.state().drafts.point, Some(PointName::new("R1/2").unwrap()));
    harness.get_by_label("This bay looks wrong: measure R1/2, then R1/3.");
    press(&mut harness, &["7", "3", "0", "Book, next R1/3"]);
    assert_eq!(harness.state().drafts.point, Some(PointName::new("R1/3").unwrap()));
}

#[test]
fn each_line_says_the_longest_clear_before_the_first_beam_is_lifted() {
    for size in headless::SIZES {
        let mut site = Site::bare();
        let mut state = at(&mut site, "bearing-level", "clears", Some("R1/1"));
        headless::check("clears", |ui| window_ui(ui, &mut state));
        let mut harness = headless::harness(size, window_ui, state);
        harness.get_by_label_contains("longest clear that works 4010 mm");
        press(&mut harness, &["4", "0", "1", "2"]);
        harness.get_by_label("2 mm more than works");
    }
}

#[test]
fn the_cut_list_leads_to_the_cuts_of_several_plots() {
    for size in headless::SIZES {
        let mut site = Site::bare();
        let mut state = at(&mut site, "infill", "cuts", None);
        headless::check("infill", |ui| window_ui(ui, &mut state));
        let mut harness = headless::harness(size, window_ui, state);
        press(&mut harness, &["Cut together with other plots, cut sheets"]);
        assert!(harness.state().actions.contains(&Action::Go(Screen::Cuts(plot("9")))), "{size:?}");
    }
}

#[test]
fn a_delivery_says_by_stage_what_can_be_started_and_a_note_is_counted_line_by_line_at_three_sizes() {
    for size in headless::SIZES {
        let mut site = Site::bare();
        let mut state = at(&mut site, "delivery", "balance", None);
        headless::check("delivery", |ui| window_ui(ui, &mut state));
        let draft = |what: &str| format!("paper/9/delivery/{what}");
        for (name, text) in [
            ("note", "N-1"),
            ("revision", "A"),
            ("came/beam P42", "16"),
            ("damaged/beam P42", "1"),
            ("batch/beam P42", "C-118"),
        ] {
            state.drafts.text.insert(draft(name), text.to_owned());
        }
        headless::check("delivery typed", |ui| window_ui(ui, &mut state));
        let mut harness = headless::harness(size, window_ui, state);
        harness.get_by_label("Beams: not yet");
        harness.get_by_label_contains("missing 16 of 16 × beam P42");
        harness.get_by_label("Labels of revision A: revision B is in force.");
        harness.get_by_label("16 came");
        press(&mut harness, &["1 damaged", "Book the note"]);
        let asked = harness.state().actions.iter().find_map(|one| match one {
            Action::Do { act: Act::BookDelivery(booked), .. } => Some(booked.clone()),
            _ => None,
        });
        let booked = asked.expect("asked for");
        assert_eq!((booked.note.as_str(), booked.revision.as_deref()), ("N-1", Some("A")));
        assert_eq!(booked.lines.len(), 1);
        assert_eq!((booked.lines[0].item.as_str(), booked.lines[0].delivered), ("beam P42", 16));
        assert_eq!(booked.lines[0].damaged, 2, "one more was tapped");
        assert_eq!(booked.lines[0].batch.as_deref(), Some("C-118"));
    }
}

#[test]
fn an_item_that_is_spelled_nearly_like_one_of_the_order_is_answered_with_that_one() {
    let mut site = Site::bare();
    let mut state = at(&mut site, "delivery", "balance", None);
    for (name, text) in [("note", "N-1"), ("other", "edge blcok 600"), ("came/other", "3")] {
        state.drafts.text.insert(format!("paper/9/delivery/{name}"), text.to_owned());
    }
    let harness = headless::harness(headless::SIZES[0], window_ui, state);
    harness.get_by_label_contains("\"edge block 600\"");
    assert!(harness.query_by_label("Book the note").is_none());
}

#[test]
fn every_note_is_shown_on_a_photo_of_its_own() {
    let mut site = Site::bare();
    let owed = |site: &mut Site| {
        let view = site.register.plot(&plot("9")).unwrap().unwrap();
        let standing = view.standing.hold_point(&hold_point("delivery")).unwrap().clone();
        let subjects: Vec<String> = standing.evidence.iter().map(|one| one.subject.clone()).collect();
        subjects
    };
    assert!(owed(&mut site).contains(&"delivery-note".to_owned()));
    for number in ["N-1", "N-2"] {
        let line = DeliveryLine {
            item: "beam P42".to_owned(),
            delivered: 8,
            damaged: 0,
            unlabelled: 0,
            batch: None,
        };
        let note = DeliveryBooked {
            hold_point: hold_point("delivery"),
            criterion: CriterionId::new("balance").unwrap(),
            note: number.to_owned(),
            revision: Some("B".to_owned()),
            lines: vec![line],
        };
        site.act("9", Act::BookDelivery(note), false);
    }
    let subjects = owed(&mut site);
    assert!(
        subjects.contains(&"delivery-note:N-1".to_owned())
            && subjects.contains(&"delivery-note:N-2".to_owned())
    );
}
