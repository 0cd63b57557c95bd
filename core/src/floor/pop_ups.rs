//! Pop-ups: drains and entries that come up between the beams, held against every beam where it lies.
//!
//! On site a pop-up is measured from two walls: along x from the furthest left inner face of the outline, along y from
//! the lowest one, as the plan is drawn. So each has two reading points, `NAME x` and `NAME y`.
//!
//! Never here: a verdict on what was built.

use schemars::JsonSchema;
use serde::Deserialize;

use super::beams::{BayRun, InRun};
use super::layout::{lay, within};
use super::{FloorDesign, LimitName, Place};
use crate::ids::PointName;
use crate::quantity::{Length, Mm};

/// The most pop-ups of one floor.
pub const MOST_POP_UPS: usize = 100;

/// A pipe or duct that comes up through the floor.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PopUp {
    /// Its name.
    pub name: PointName,
    /// Its centre in plan.
    pub at_mm: Place,
    /// Its outer diameter, sleeve and collar included.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub diameter_mm: Mm,
}

/// Along which axis of the plan a pop-up is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Axis {
    /// To the right.
    X,
    /// Upwards.
    Y,
}

/// How near the nearest beam comes to a pop-up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Nearest {
    /// The beam.
    pub beam: PointName,
    /// What stays clear between them, rounded down to the micrometre; negative where they meet.
    pub clear: Length,
}

impl PopUp {
    /// The name of its reading along one axis.
    pub fn point(&self, axis: Axis) -> Option<PointName> {
        let word = if axis == Axis::X { "x" } else { "y" };
        PointName::new(&format!("{} {word}", self.name)).ok()
    }
}

impl FloorDesign {
    /// The names of the readings of all pop-ups: x and y of each.
    pub fn pop_up_point_names(&self) -> Vec<PointName> {
        let both = |one: &PopUp| [Axis::X, Axis::Y].map(|axis| one.point(axis));
        self.pop_ups.iter().flat_map(both).flatten().collect()
    }

    /// The pop-up and the axis of a reading.
    pub fn pop_up_of(&self, point: &PointName) -> Option<(&PopUp, Axis)> {
        self.pop_ups.iter().find_map(|one| {
            let axis =
                [Axis::X, Axis::Y].into_iter().find(|axis| one.point(*axis).as_ref() == Some(point))?;
            Some((one, axis))
        })
    }

    /// Where pop-ups are measured from: the furthest left and the lowest corner of the outline.
    pub fn measured_from(&self) -> Place {
        let least =
            |axis: usize| self.plan.outline_mm.iter().map(|at| at[axis].0).min().unwrap_or(Length::ZERO);
        [Mm(least(0)), Mm(least(1))]
    }

    /// How far from its wall a pop-up is drawn.
    pub fn drawn_from_wall(&self, one: &PopUp, axis: Axis) -> Length {
        let index = usize::from(axis == Axis::Y);
        one.at_mm[index].0 - self.measured_from()[index].0
    }

    /// The beam nearest to a round thing of that diameter; `None` where no beam is drawn. `make_up` says how wide the
    /// make-up of a run is: beams past it shift with it.
    pub fn nearest_beam(
        &self,
        at: Place,
        diameter: Length,
        make_up: &dyn Fn(&BayRun) -> Length,
    ) -> Option<Nearest> {
        let beams = self.beams.as_ref()?;
        let near = beams.runs.iter().filter_map(|run| {
            let (along, across) = within(run, at);
            let length = beams.beam_type(&run.beam).map_or(run.clear_span_mm.0, |own| own.length_mm.0);
            let bearing = (length - run.clear_span_mm.0).share(1, 2);
            let dy = outside(across, -bearing, run.clear_span_mm.0 + bearing);
            let laid = lay(beams, run, make_up(run)).into_iter().filter(|one| one.kind == InRun::Beam);
            let near = laid.map(|one| (outside(along, one.from, one.to), one.beam));
            let (dx, beam) = near.min_by_key(|(dx, _)| *dx)?;
            Some(Nearest { beam: beam?, clear: hypotenuse(dx, dy) - diameter.share(1, 2) })
        });
        near.min_by_key(|one| one.clear)
    }
}

/// How far a place lies outside of a stretch; 0 within it.
fn outside(at: Length, from: Length, to: Length) -> Length {
    (from - at).max(at - to).max(Length::ZERO)
}

/// Rounded down to the micrometre, so that nothing counts as clearer than it is.
fn hypotenuse(a: Length, b: Length) -> Length {
    let square = |one: Length| u128::from(one.um().unsigned_abs()).pow(2);
    Length::from_um(i64::try_from((square(a) + square(b)).isqrt()).unwrap_or(i64::MAX))
}

/// What does not agree within the drawing.
pub(super) fn check(design: &FloorDesign, fault: &mut dyn FnMut(String, String)) {
    let least = design.limits.get(&LimitName::PopUpClearLeast);
    let least = least.map(|limit| Length::from_um(limit.value.0.millionths() / 1_000));
    for (index, one) in design.pop_ups.iter().enumerate() {
        let place = format!("/pop_ups/{index}/at_mm");
        if !super::polygon::holds(&design.plan.outline_mm, &one.at_mm) {
            fault(place.clone(), format!("`{}` does not come up within the outline of the floor", one.name));
        }
        let drawn = |run: &BayRun| design.beams.as_ref().map_or(Length::ZERO, |beams| run.left_over(beams));
        let Some(nearest) = design.nearest_beam(one.at_mm, one.diameter_mm.0, &drawn) else { continue };
        if nearest.clear < Length::ZERO {
            let reach = (-nearest.clear).mm_text(1);
            fault(
                place,
                format!("`{}` meets beam {}: it reaches {reach} mm into it", one.name, nearest.beam),
            );
        } else if let Some(least) = least.filter(|least| nearest.clear < *least) {
            let (clear, least) = (nearest.clear.mm_text(1), least.to_mm_text());
            let what = format!(
                "`{}` stands {clear} mm clear of beam {}: at least {least} mm required",
                one.name, nearest.beam
            );
            fault(place, what);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SEMI: &str = include_str!("../../../assets/demo/semi.toml");

    /// The invented plot with one more pop-up, 110 wide. Beams 2 and 3 of R1 reach over x 730–840 and 1340–1450, from
    /// y −95 to 4095 (worked by hand: 120 + 110 + 500 = 730).
    fn with(at: &str) -> String {
        let more = format!("[[pop_ups]]\nname = \"trial\"\nat_mm = {at}\ndiameter_mm = 110\n\n[beams]\n");
        assert!(SEMI.contains("\n[beams]\n"));
        SEMI.replacen("[beams]\n", &more, 1)
    }

    fn fault(text: &str) -> Option<String> {
        let faults = FloorDesign::read(text).err()?;
        let found: Vec<String> = faults.iter().map(ToString::to_string).collect();
        Some(found.join("; "))
    }

    #[test]
    fn a_pop_up_is_drawn_clear_of_beams_closed_at_its_limit() {
        // 840 + 25 + 55 = 920: just clear; a micrometre less is not.
        assert_eq!(fault(&with("[920, 2000]")), None);
        let near = fault(&with("[919.999, 2000]")).unwrap();
        assert!(near.contains("stands 25.0 mm clear of beam R1/2: at least 25 mm"), "{near}");
        let meets = fault(&with("[890, 2000]")).unwrap();
        assert!(meets.contains("/at_mm: `trial` meets beam R1/2: it reaches 5.0 mm into it"), "{meets}");
        let on = fault(&with("[785, 2000]")).unwrap();
        assert!(on.contains("reaches 55.0 mm into it"), "{on}");
    }

    #[test]
    fn a_pop_up_comes_up_within_the_floor() {
        let out = fault(&with("[7000, 6000]")).unwrap();
        assert!(out.contains("does not come up within the outline"), "{out}");
        assert!(fault(&with("[-1, 2000]")).unwrap().contains("within the outline"));
    }

    #[test]
    fn the_corner_of_a_beam_is_as_near_as_pythagoras_has_it() {
        let design = FloorDesign::read(SEMI).unwrap();
        let mm = |mm: i64| Mm(Length::from_mm(mm));
        let drawn = |run: &BayRun| run.left_over(design.beams.as_ref().unwrap());
        // Past the end of beam R1/16 (x 8170–8280, up to y 4095): 300 beside it and 400 beyond its end are 500 away.
        let found = design.nearest_beam([mm(8580), mm(4495)], Length::from_mm(100), &drawn).unwrap();
        assert_eq!((found.beam.as_str(), found.clear), ("R1/16", Length::from_mm(450)));
    }

    #[test]
    fn beams_past_the_make_up_shift_with_it_and_those_before_it_do_not() {
        let design = FloorDesign::read(SEMI).unwrap();
        let mm = |mm: i64| Mm(Length::from_mm(mm));
        let clear = |x: i64, make_up: i64| {
            let make_up = Length::from_mm(make_up);
            let found = design.nearest_beam([mm(x), mm(2000)], Length::from_mm(110), &|_| make_up);
            found.unwrap().clear
        };
        // Beam R1/10 starts at 4690 as drawn (make-up 260), at 4676 where the make-up is 246.
        assert_eq!((clear(4600, 260), clear(4600, 246)), (Length::from_mm(35), Length::from_mm(21)));
        assert_eq!(clear(950, 260), clear(950, 246));
    }
}
