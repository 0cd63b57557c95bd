//! Where everything on the section stands: the scale, the columns, and lists of tags and marks
//! spread so that none lies on its neighbour.
//!
//! Pure geometry: nothing is painted and nothing is read from the screen but the area.

use egui::{Pos2, Rect, pos2, vec2};

use crate::{
    theme::TOUCH,
    widgets::section::{Anchor, Form, SectionView, Wall, Zone},
};

/// Wall shown above the finished floor, in millimetres.
const ABOVE: f64 = 95.0;
/// Ground shown below the oversite, in millimetres.
const BELOW: f64 = 120.0;
/// Least length of floor shown along a beam, in millimetres.
const ALONG: f64 = 150.0;
/// Width of the break between the two cutting planes, in millimetres.
const BREAK: f64 = 26.0;
/// Width of the column of levels, in points.
const LEVELS: f32 = 128.0;
/// Least distance between two level tags, in points.
const TAG: f32 = 42.0;
/// Height of a zone in its column, in points.
const ROW: f32 = TOUCH + 2.0;
/// Room between the floor's edge and the first mark: the leaders' elbows, in points, and in a narrow area.
const ELBOW: f32 = 56.0;
const NARROW_ELBOW: f32 = 30.0;
/// Width of the column of zones with their marks, in points, and in a narrow area.
const ZONES: f32 = 178.0;
const NARROW_ZONES: f32 = 162.0;
/// Least width of the drawing beside which the column is not narrow, in points.
const DRAWING: f32 = 390.0;

/// The worked-out places of one section in one area.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// The whole area.
    pub area: Rect,
    /// The drawing without levels and marks.
    pub drawing: Rect,
    /// Points per millimetre.
    pub scale: f32,
    /// Highest level shown.
    top: f64,
    /// Where the levels' highest stands.
    origin: Pos2,
    /// Millimetres from the wall's outer face: its inner face.
    pub inner_face: f64,
    /// Where the plane along the beam ends, in millimetres.
    pub along_end: f64,
    /// Where the plane across the beams begins, in millimetres.
    pub across_start: f64,
    /// Where the floor is broken off, in millimetres.
    pub across_end: f64,
    /// Height of each level tag's line, one for each level of the view.
    pub tags: Vec<f32>,
    /// One row for each zone.
    pub rows: Vec<Row>,
}

/// A zone's place in the column beside the drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Where the leader starts on the drawing.
    pub foot: Pos2,
    /// A finger's place: the mark at its left end, the zone's name beside it.
    pub place: Rect,
}

impl Layout {
    /// The least height that holds all zones.
    pub fn least_height(view: &SectionView) -> f32 {
        (as_f32(view.zones.len()) * ROW + 8.0).max(300.0)
    }

    /// Lays the section out in `area`.
    pub fn new(view: &SectionView, area: Rect) -> Self {
        let wide = area.width() - LEVELS - ZONES - ELBOW >= DRAWING;
        let (zones, elbow) = if wide { (ZONES, ELBOW) } else { (NARROW_ZONES, NARROW_ELBOW) };
        let drawing = Rect::from_min_max(area.min + vec2(LEVELS, 6.0), area.max - vec2(zones + elbow, 6.0));
        let highest = view.layers.iter().map(|layer| layer.top).fold(view.bearing, f64::max);
        let top = highest + ABOVE;
        let bottom = view.ground.min(view.outside.unwrap_or(view.ground)) - BELOW;
        let inner_face = match view.wall {
            Wall::Cavity { outer, cavity, inner } => outer + cavity + inner,
            Wall::Solid { thickness } => thickness,
        };
        let least_across = least_across(view);
        let least_width = inner_face + ALONG + BREAK + least_across;
        let scale = (to_f32(f64::from(drawing.height()) / (top - bottom).max(1.0)))
            .min(to_f32(f64::from(drawing.width()) / least_width))
            .max(0.01);
        let used = to_f32(top - bottom) * scale;
        let origin = pos2(drawing.left(), drawing.center().y - used / 2.0);
        let across_end = f64::from(drawing.width() / scale);
        let spare = (across_end - least_width).max(0.0);
        let along_end = inner_face + ALONG + (spare * 0.2).min(400.0);
        let mut layout = Self {
            area,
            drawing,
            scale,
            top,
            origin,
            inner_face,
            along_end,
            across_start: along_end + BREAK,
            across_end,
            tags: Vec::new(),
            rows: Vec::new(),
        };
        let wanted: Vec<(f32, f32)> = view.levels.iter().map(|tag| (layout.y(tag.at), TAG)).collect();
        layout.tags = spread(&wanted, area.top() + TAG, area.bottom() - 4.0);
        layout.rows = layout.rows(view, zones, elbow);
        layout
    }

    /// The place of a point: millimetres from the wall's outer face, and a level.
    pub fn at(&self, x: f64, level: f64) -> Pos2 {
        pos2(self.x(x), self.y(level))
    }

    /// The place of a distance from the wall's outer face, in millimetres.
    pub fn x(&self, x: f64) -> f32 {
        self.origin.x + to_f32(x) * self.scale
    }

    /// The height of a level.
    pub fn y(&self, level: f64) -> f32 {
        self.origin.y + to_f32(self.top - level) * self.scale
    }

    /// The level shown at a height.
    pub fn level(&self, y: f32) -> f64 {
        self.top - f64::from((y - self.origin.y) / self.scale)
    }

    /// A rectangle between two distances and two levels.
    pub fn rect(&self, left: f64, right: f64, top: f64, bottom: f64) -> Rect {
        Rect::from_min_max(self.at(left, top), self.at(right, bottom))
    }

    /// Highest and lowest level shown.
    pub fn levels(&self) -> (f64, f64) {
        (self.top, self.level(self.origin.y + 2.0 * (self.drawing.center().y - self.origin.y)))
    }

    /// The zone that a tap means: the smallest that its level lies in, else the nearest.
    pub fn zone_at<'v>(&self, view: &'v SectionView, at: Pos2) -> Option<&'v Zone> {
        let level = self.level(at.y);
        let off = |zone: &Zone| (zone.bottom - level).max(level - zone.top).max(0.0);
        let size = |zone: &Zone| zone.top - zone.bottom;
        view.zones
            .iter()
            .filter(|zone| !zone.doors.is_empty())
            .min_by(|a, b| off(a).total_cmp(&off(b)).then(size(a).total_cmp(&size(b))))
    }

    fn rows(&self, view: &SectionView, zones: f32, elbow: f32) -> Vec<Row> {
        let feet: Vec<Pos2> = view.zones.iter().map(|zone| self.foot(view, zone)).collect();
        let wanted: Vec<(f32, f32)> = feet.iter().map(|foot| (foot.y, ROW)).collect();
        let half = ROW / 2.0 + 2.0;
        let middles = spread(&wanted, self.area.top() + half, self.area.bottom() - half);
        let left = self.drawing.right() + elbow;
        feet.into_iter()
            .zip(middles)
            .map(|(foot, middle)| Row {
                foot,
                place: Rect::from_min_size(pos2(left, middle - TOUCH / 2.0), vec2(zones, TOUCH)),
            })
            .collect()
    }

    fn foot(&self, view: &SectionView, zone: &Zone) -> Pos2 {
        let middle = f64::midpoint(zone.top, zone.bottom);
        let lowest = view.void.as_ref().map_or(view.bearing - 30.0, |void| void.top);
        match zone.anchor {
            Anchor::Floor => self.at(self.across_end, middle),
            Anchor::Bearing => self.at(self.inner_face - 14.0, lowest - 10.0),
            Anchor::Vent => self.at(self.inner_face + 4.0, view.vent.map_or(middle, |vent| vent.inside)),
            Anchor::Void => self.at(self.across_end, f64::midpoint(lowest, view.ground) - 22.0),
            Anchor::Ground => self.at(self.across_end, view.ground - 24.0),
        }
    }
}

/// The least floor to be shown across the beams, in millimetres: a beam and half the infill at
/// either side of it.
fn least_across(view: &SectionView) -> f64 {
    view.layers
        .iter()
        .find_map(|layer| match layer.form {
            Form::Beams { width, infill, .. } => Some(width + infill * 0.66),
            _ => None,
        })
        .unwrap_or(420.0)
}

/// Moves places apart so that neighbours keep half the sum of their sizes between them, in the
/// given order, each as near to where it wants to be as the others allow, inside `low..=high` where
/// there is room for all.
pub fn spread(wanted: &[(f32, f32)], low: f32, high: f32) -> Vec<f32> {
    // Neighbours that push each other form a block that settles at its members' mean wish.
    struct Block {
        members: usize,
        wish: f32, // sum of the members' wishes, each less its offset inside the block
    }
    let mut blocks: Vec<Block> = Vec::new();
    let gaps: Vec<f32> = wanted.windows(2).map(|pair| f32::midpoint(pair[0].1, pair[1].1)).collect();
    let mut reach = 0.0;
    let offsets: Vec<f32> = (0..wanted.len())
        .map(|i| {
            if i > 0 {
                reach += gaps[i - 1];
            }
            reach
        })
        .collect();
    let whole = offsets.last().copied().unwrap_or(0.0);
    let bound = |place: f32| place.clamp(low, (high - whole).max(low));
    for (i, (wish, _)) in wanted.iter().enumerate() {
        blocks.push(Block { members: 1, wish: wish - offsets[i] });
        while blocks.len() > 1 {
            let (last, before) = (&blocks[blocks.len() - 1], &blocks[blocks.len() - 2]);
            if last.wish / as_f32(last.members) > before.wish / as_f32(before.members) {
                break;
            }
            let (members, wish) = (last.members, last.wish);
            blocks.pop();
            if let Some(before) = blocks.last_mut() {
                before.members += members;
                before.wish += wish;
            }
        }
    }
    let mut places = Vec::with_capacity(wanted.len());
    for block in blocks {
        // In these coordinates every member of a block stands at the same place.
        let place = bound(block.wish / as_f32(block.members));
        for _ in 0..block.members {
            places.push(place + offsets[places.len()]);
        }
    }
    places
}

#[expect(clippy::cast_possible_truncation, reason = "millimetres of one floor on a screen")]
fn to_f32(mm: f64) -> f32 {
    mm as f32
}

fn as_f32(count: usize) -> f32 {
    f32::from(u16::try_from(count).unwrap_or(u16::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::widgets::samples::sample_section;

    #[test]
    fn tags_that_have_room_stay_where_they_are() {
        assert_eq!(spread(&[(10.0, 40.0), (100.0, 40.0), (300.0, 40.0)], 0.0, 400.0), [10.0, 100.0, 300.0]);
    }

    #[test]
    fn tags_that_collide_share_the_shift_evenly() {
        assert_eq!(spread(&[(100.0, 40.0), (110.0, 40.0)], 0.0, 400.0), [85.0, 125.0]);
        assert_eq!(spread(&[(100.0, 40.0), (100.0, 40.0), (100.0, 40.0)], 0.0, 400.0), [60.0, 100.0, 140.0]);
    }

    #[test]
    fn tags_keep_their_distance_and_their_bounds_whatever_they_wish() {
        for wishes in [[0.0, 0.0, 0.0, 0.0], [399.0, 399.0, 399.0, 399.0], [50.0, 40.0, 30.0, 350.0]] {
            let wanted: Vec<(f32, f32)> = wishes.iter().map(|wish| (*wish, 40.0)).collect();
            let places = spread(&wanted, 10.0, 390.0);
            assert!(places.windows(2).all(|pair| pair[1] - pair[0] >= 39.99), "{wishes:?} → {places:?}");
            assert!(places[0] >= 9.99 && places[3] <= 390.01, "{wishes:?} → {places:?}");
        }
        assert!(spread(&[], 0.0, 10.0).is_empty());
    }

    #[test]
    fn one_millimetre_is_as_long_upwards_as_sideways() {
        let view = sample_section();
        for size in [vec2(820.0, 640.0), vec2(780.0, 900.0), vec2(600.0, 470.0), vec2(1200.0, 500.0)] {
            let layout = Layout::new(&view, Rect::from_min_size(pos2(10.0, 60.0), size));
            let (a, b) = (layout.at(0.0, view.bearing), layout.at(100.0, view.bearing - 100.0));
            assert!(((b.x - a.x) - (b.y - a.y)).abs() < 1e-2, "{size:?}");
            assert!(
                layout.across_end > layout.across_start && layout.scale > 0.2,
                "{size:?}: {}",
                layout.scale
            );
        }
    }

    #[test]
    fn no_zone_lies_on_another_or_outside_the_area() {
        let view = sample_section();
        for size in [vec2(820.0, 640.0), vec2(780.0, 900.0), vec2(600.0, 470.0), vec2(1200.0, 500.0)] {
            let height = Layout::least_height(&view).max(size.y);
            let area = Rect::from_min_size(pos2(10.0, 60.0), vec2(size.x, height));
            let places: Vec<Rect> = Layout::new(&view, area).rows.iter().map(|row| row.place).collect();
            for (i, a) in places.iter().enumerate() {
                assert!(area.expand(0.1).contains_rect(*a), "{size:?}: {a:?}");
                assert!(
                    places[..i].iter().all(|b| !a.shrink(0.1).intersects(b.shrink(0.1))),
                    "{size:?}: {a:?}"
                );
            }
        }
    }

    #[test]
    fn a_tap_on_a_layer_means_that_layer() {
        let view = sample_section();
        let layout = Layout::new(&view, Rect::from_min_size(pos2(0.0, 0.0), vec2(820.0, 640.0)));
        let hit = |level: f64| {
            layout.zone_at(&view, layout.at(layout.across_start, level)).map(|zone| zone.name.as_str())
        };
        assert_eq!(hit(view.layers[0].top - 5.0), Some("topping"));
        assert_eq!(hit(view.bearing + 60.0), Some("beams and infill"));
        assert_eq!(hit(view.ground - 60.0), Some("ground"));
        assert_eq!(hit(view.ground + 60.0), Some("void"));
    }
}
