//! The layers that close the floor by their labels: what is pressed, shown and asked for.

use egui_kittest::kittest::Queryable as _;
use gaugerod_core::entry::LabelBooked;
use gaugerod_core::ids::CriterionId;
use gaugerod_core::inspection::Act;

use super::tests::{asked, at, press};
use crate::action::Action;
use crate::headless;
use crate::screens::fixture::{Site, hold_point, plot};
use crate::screens::window_ui;

/// Plot 9 has everything drawn.
const ON: &str = "9";

#[test]
fn every_criterion_of_the_closing_layers_passes_the_checks() {
    let mut site = Site::new();
    for (id, criterion) in [
        ("overlay", "label"),
        ("overlay", "thickness"),
        ("thresholds", "bridge"),
        ("screed-rail", "rail"),
        ("screed-rail", "beam-tops"),
        ("reinforcement", "specified"),
        ("reinforcement", "cover"),
        ("reinforcement", "laps"),
    ] {
        let mut state = at(&mut site, ON, id, criterion);
        headless::check(&format!("{id}/{criterion}"), |ui| window_ui(ui, &mut state));
    }
}

#[test]
fn a_label_is_booked_by_its_grade_with_its_batch() {
    let mut site = Site::new();
    let mut state = at(&mut site, ON, "overlay", "label");
    for (what, text) in [("thickness", "90"), ("batch", "B-77")] {
        *state.drafts.text_mut(&format!("paper/{ON}/overlay/{what}")) = text.to_owned();
    }
    let mut harness = headless::harness(headless::SIZES[0], window_ui, state);
    // Nothing is booked yet: the drawing speaks, and conforms.
    harness.get_by_label_contains("layers as designed and as built: overlay EPS 100 90 mm, as drawn");
    harness.get_by_label_contains("U 0.1566 W/m²K, allowed 0.18");
    press(&mut harness, &["EPS 100", "Book the label"]);
    let act = Act::BookLabel(LabelBooked {
        hold_point: hold_point("overlay"),
        criterion: CriterionId::new("label").expect("a criterion's id"),
        item: "overlay".to_owned(),
        grade: "EPS 100".to_owned(),
        thickness_um: Some(90_000),
        conductivity: None,
        batch: Some("B-77".to_owned()),
    });
    assert_eq!(asked(&harness), [Action::Do { plot: plot(ON), act }]);
}

#[test]
fn another_overlay_is_tried_before_it_is_laid_and_taken_back() {
    let mut site = Site::new();
    let mut state = at(&mut site, ON, "overlay", "label");
    *state.drafts.text_mut(&format!("paper/{ON}/overlay/try-thickness")) = "100".to_owned();
    let mut harness = headless::harness(headless::SIZES[1], window_ui, state);
    press(&mut harness, &["try EPS 70"]);
    harness.get_by_label_contains("layers as designed and tried out: overlay EPS 70 100 mm");
    harness.get_by_label_contains("+10.0 mm off 48.150 m");
    harness.get_by_label_contains("This overlay needs its bearing at 47.800 m");
    press(&mut harness, &["Back to what is booked"]);
    harness.get_by_label_contains("layers as designed and as built: overlay EPS 100 90 mm");
    assert_eq!(asked(&harness), []);
    // Painting tried nothing on the record.
    let view = site.register.plot(&plot(ON)).expect("reads").expect("known");
    assert!(view.record.labels.is_empty());
}
