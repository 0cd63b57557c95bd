//! The plan by its labels and its geometry on screen.

use egui_kittest::kittest::Queryable as _;

use super::*;
use crate::{headless, widgets::samples::sample_plan};

fn area() -> Rect {
    Rect::from_min_size(pos2(0.0, 0.0), vec2(500.0, 400.0))
}

#[test]
fn the_whole_plan_fits_and_y_is_up() {
    let view = sample_plan();
    let map = Map::new(&view.drawing, area(), Camera::default());
    for point in &view.drawing.points {
        assert!(area().contains(map.place(point.at)), "{}", point.name);
    }
    assert!(map.place([0.0, 1000.0]).y < map.place([0.0, 0.0]).y);
}

#[test]
fn zooming_keeps_the_point_under_the_finger() {
    let view = sample_plan();
    let mut camera = Camera::default();
    let at = view.drawing.points[3].at;
    let before = Map::new(&view.drawing, area(), camera).place(at);
    camera::zoom(&mut camera, 2.5, before - area().center());
    let after = Map::new(&view.drawing, area(), camera).place(at);
    assert!(before.distance(after) < 0.01, "{before:?} → {after:?}");
}

#[test]
fn the_nearest_of_two_close_points_is_meant() {
    let view = sample_plan();
    let map = Map::new(&view.drawing, area(), Camera::default());
    for point in &view.drawing.points {
        let finger = map.place(point.at) + vec2(2.0, -3.0);
        assert_eq!(nearest(&view, &map, finger), Some(&point.name));
    }
    assert_eq!(nearest(&view, &map, pos2(-500.0, -500.0)), None);
}

type Seen = (Camera, Option<PointName>);

fn harness(size: Vec2) -> egui_kittest::Harness<'static, Seen> {
    headless::harness(
        size,
        |ui, state: &mut Seen| {
            if let Some(PlanEvent::Point(name)) = plan_ui(ui, &sample_plan(), &mut state.0) {
                state.1 = Some(name);
            }
        },
        (Camera::default(), None),
    )
}

fn tapped(harness: &egui_kittest::Harness<'_, Seen>) -> Option<String> {
    harness.state().1.as_ref().map(ToString::to_string)
}

/// The room that a hold point leaves for its plan: landscape, portrait, small.
const ROOMS: [Vec2; 3] = [vec2(620.0, 460.0), vec2(776.0, 430.0), vec2(396.0, 330.0)];

#[test]
fn a_tapped_point_gives_back_its_name_at_every_size() {
    for size in ROOMS {
        let mut harness = harness(size);
        harness.get_by_label("point B5: not OK").click();
        harness.run();
        assert_eq!(tapped(&harness).as_deref(), Some("B5"), "{size:?}");
    }
}

#[test]
fn the_points_furthest_off_are_listed_and_lead_to_their_point() {
    for size in ROOMS {
        let mut harness = harness(size);
        harness.get_by_label("furthest off: B5 +9, not OK").click();
        harness.run();
        assert_eq!(tapped(&harness).as_deref(), Some("B5"), "{size:?}");
        harness.get_by_label("furthest off: C3 +4, too near to call").click();
        harness.run();
        assert_eq!(tapped(&harness).as_deref(), Some("C3"), "{size:?}");
    }
}

#[test]
fn walls_say_how_they_stand() {
    for size in ROOMS {
        let harness = harness(size);
        for name in ["wall A: OK", "wall B: not OK", "wall C: too near to call"] {
            assert!(harness.query_by_label(name).is_some(), "{name} at {size:?}");
        }
    }
}

#[test]
fn buttons_move_the_camera_where_no_gesture_is_made() {
    let mut harness = harness(ROOMS[0]);
    harness.get_by_label("zoom in").click();
    harness.run();
    let zoomed = harness.state().0.zoom;
    assert!(zoomed > 1.3, "{zoomed}");
    harness.get_by_label("zoom out").click();
    harness.run();
    assert!((harness.state().0.zoom - 1.0).abs() < 1e-3);
    harness.get_by_label("zoom in").click();
    harness.run();
    harness.get_by_label("fit the whole plan").click();
    harness.run();
    assert_eq!(harness.state().0, Camera::default());
}

#[test]
fn a_drag_moves_the_plan_and_two_fingers_make_it_larger() {
    let mut harness = harness(ROOMS[0]);
    let from = pos2(200.0, 210.0);
    harness.drag_at(from);
    harness.hover_at(from + vec2(60.0, 30.0));
    harness.drop_at(from + vec2(60.0, 30.0));
    harness.run();
    let shift = harness.state().0.shift;
    assert!((shift - vec2(60.0, 30.0)).length() < 1.0, "{shift:?}");

    *harness.state_mut() = (Camera::default(), None);
    let touch = |id: u64, phase, pos| egui::Event::Touch {
        device_id: egui::TouchDeviceId(1),
        id: egui::TouchId(id),
        phase,
        pos,
        force: None,
    };
    let middle = pos2(220.0, 200.0);
    let fingers = |apart: f32| [middle - vec2(apart, 0.0), middle + vec2(apart, 0.0)];
    for (finger, at) in (0..).zip(fingers(40.0)) {
        harness.event(touch(finger, egui::TouchPhase::Start, at));
    }
    harness.event(egui::Event::PointerMoved(middle));
    harness.step();
    for apart in [50.0, 60.0, 70.0, 80.0] {
        for (finger, at) in (0..).zip(fingers(apart)) {
            harness.event(touch(finger, egui::TouchPhase::Move, at));
        }
        harness.step();
    }
    // The gesture begins with the first frame that has seen both fingers move.
    let zoom = harness.state().0.zoom;
    assert!((1.5..=2.0).contains(&zoom), "the fingers went from 80 to 160 points apart, the plan to {zoom}");
    assert_eq!(tapped(&harness), None);
}

#[test]
fn words_never_stand_over_one_another() {
    let ctx = headless::context();
    for size in ROOMS {
        let view = sample_plan();
        let mut camera = Camera::default();
        let output = headless::settled(&ctx, size, 1.0, &mut |ui: &mut Ui| {
            plan_ui(ui, &view, &mut camera);
        });
        let mut words: Vec<(String, Rect)> = Vec::new();
        for clipped in &output.shapes {
            texts(&clipped.shape, &mut |text| {
                let rect = Rect::from_min_size(text.pos, text.galley.size()).shrink(1.0);
                if clipped.clip_rect.intersects(rect) {
                    words.push((text.galley.text().to_owned(), rect));
                }
            });
        }
        output.drop_without_applying_deltas();
        assert!(words.len() > 12, "{words:?}");
        for (index, (word, rect)) in words.iter().enumerate() {
            for (other, own) in &words[index + 1..] {
                assert!(!rect.intersects(*own), "“{word}” and “{other}” at {size:?}");
            }
        }
    }
}

fn texts(shape: &egui::Shape, visit: &mut impl FnMut(&egui::epaint::TextShape)) {
    match shape {
        egui::Shape::Vec(shapes) => shapes.iter().for_each(|shape| texts(shape, visit)),
        egui::Shape::Text(text) => visit(text),
        _ => {}
    }
}
