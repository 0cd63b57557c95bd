//! The layers that close the floor, in the demo: labels, thicknesses, rail and beam tops. All of it is invented.

use gaugerod_core::entry::{LabelBooked, PressureTestBooked, ReadValue};
use gaugerod_core::floor::FloorDesign;
use gaugerod_core::floor::layout::MIDSPAN;
use gaugerod_core::ids::{CriterionId, HoldPointId, PointName};
use gaugerod_core::inspection::{Act, PlotRecord};
use gaugerod_core::plan_of_work::Feed;
use gaugerod_core::quantity::Length;

/// The batch on the demo's labels.
pub(super) const BATCH: &str = "26-0914 (invented)";

/// The label of the overlay as it is drawn.
pub(super) fn labels(design: &FloorDesign, hold_point: &HoldPointId, criterion: &CriterionId) -> Vec<Act> {
    let Some(thermal) = &design.thermal else { return Vec::new() };
    vec![label(hold_point, criterion, &thermal.overlay.grade, design.overlay_thickness())]
}

/// A label of that grade and thickness.
pub(super) fn label(
    hold_point: &HoldPointId,
    criterion: &CriterionId,
    grade: &str,
    thickness: Length,
) -> Act {
    Act::BookLabel(LabelBooked {
        hold_point: hold_point.clone(),
        criterion: criterion.clone(),
        item: "overlay".to_owned(),
        grade: grade.to_owned(),
        thickness_um: Some(thickness.um()),
        conductivity: None,
        batch: Some(BATCH.to_owned()),
    })
}

/// A pressure test that held.
pub(super) fn test(hold_point: HoldPointId, criterion: CriterionId) -> Act {
    Act::BookPressureTest(PressureTestBooked {
        hold_point,
        criterion,
        test: "whole floor".to_owned(),
        start_bar: "6.2".to_owned(),
        end_bar: "6.1".to_owned(),
        started_at: "08:10".to_owned(),
        ended_at: "10:15".to_owned(),
    })
}

/// What is read of these layers: within their limits, with the scatter of real work. Beams rise by 4 at midspan.
pub(super) fn value(record: &PlotRecord, feed: Feed, point: &PointName, index: usize) -> ReadValue {
    let design = record.design();
    let scatter = i64::try_from(index % 3).unwrap_or(0);
    let mm = |mm: i64| ReadValue::Um(Length::from_mm(mm).um());
    match feed {
        Feed::OverlayThickness => {
            ReadValue::Um((design.overlay_thickness() - Length::from_mm(scatter % 2)).um())
        }
        Feed::RailLevels => ReadValue::Um(design.topping_level().um()),
        Feed::BeamTops => {
            let drawn = design.topping_thickness().unwrap_or(Length::ZERO)
                + design.overlay_thickness()
                + design.membrane_thickness();
            let rise = if point.as_str().ends_with(MIDSPAN) { 4 } else { -scatter };
            ReadValue::Um((design.topping_level() - drawn + Length::from_mm(rise)).um())
        }
        Feed::MeshCover => mm(36 + scatter),
        Feed::MeshLaps => mm(320 + 10 * scatter),
        _ => mm(0),
    }
}

/// Boards of another grade and thickness came than are drawn.
pub(super) fn another_overlay(hold_point: &HoldPointId) -> Vec<Act> {
    let criterion = |id: &str| CriterionId::new(id).expect("BUG: the demo's criteria have names");
    let mut acts = vec![label(hold_point, &criterion("label"), "EPS 70", Length::from_mm(80))];
    for (place, thickness) in [("board 1", 80), ("board 2", 79), ("board 3", 80)] {
        acts.push(Act::BookReading {
            hold_point: hold_point.clone(),
            criterion: criterion("thickness"),
            point: PointName::new(place).expect("BUG: a name"),
            value: ReadValue::Um(Length::from_mm(thickness).um()),
            instrument: Some("steel tape (invented)".to_owned()),
        });
    }
    acts
}
