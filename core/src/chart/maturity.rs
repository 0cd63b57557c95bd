//! The maturity curve: equivalent age over time since placing, the ages for walking and loading, when each is
//! reached, and the temperatures beneath on the same scale of time.

use super::{Anchor, Chart, Look, Place, Room, multiples, round_step};
use crate::inspection::curing::Course;
use crate::reckon::maturity;

/// Hours between two marks of the time scale.
const HOURS: [f64; 9] = [1.0, 2.0, 4.0, 6.0, 12.0, 24.0, 48.0, 96.0, 168.0];
/// Equivalent hours between two lines of the grid.
const AGES: [f64; 9] = [2.0, 5.0, 10.0, 24.0, 48.0, 96.0, 168.0, 336.0, 672.0];
/// Degrees between two lines of the grid.
const DEGREES: [f64; 5] = [2.0, 5.0, 10.0, 20.0, 50.0];
/// The most marks on one scale.
const MOST: u32 = 8;
/// The most places of a drawn curve; of more the least and the greatest of each stretch are drawn.
const MOST_PLACES: usize = 600;

/// The curve of a curing topping.
pub fn chart(course: &Course, room: Room) -> Chart {
    let [width, height] = room.size;
    let (text, left) = (room.text, room.text * 3.6);
    let (top, foot, between) = (text * 1.4, text * 1.5, text * 2.2);
    let right = width - text * 0.8;
    let free = (height - top - foot - between).max(text * 4.0);
    let upper = [top, top + free * 0.64];
    let lower = [upper[1] + between, upper[1] + between + free * 0.36];
    let ages = maturity::curve(&course.input);
    let last = course.input.temperatures.last().map_or(1.0, |one| one.at_h.0).max(1.0);
    let greatest = ages.last().map_or(0.0, |one| one.1);
    let targets = course.ages.iter().map(|age| age.target_h);
    // The next age that is waited for is always in sight.
    let waited = targets.clone().filter(|target| greatest < *target).fold(f64::INFINITY, f64::min);
    let top_age = if waited.is_finite() { waited } else { targets.fold(greatest, f64::max) };
    let top_age = (top_age.max(greatest) * 1.08).max(1.0);
    let x = |hours: f64| left + (right - left) * hours / (last * 1.04);
    let y = |age: f64| upper[1] - (upper[1] - upper[0]) * age / top_age;

    let mut chart = Chart { name: name(course), ..Chart::default() };
    for age in multiples(0.0, top_age, round_step(top_age, MOST / 2, &AGES)) {
        chart.line(Look::Grid, &[[left, y(age)], [right, y(age)]]);
        chart.word([left - text * 0.3, y(age)], Anchor::End, whole(age), false);
    }
    let step = round_step(last, MOST, &HOURS);
    for hours in multiples(0.0, last * 1.04, step) {
        chart.line(Look::Grid, &[[x(hours), upper[0]], [x(hours), upper[1]]]);
        chart.line(Look::Grid, &[[x(hours), lower[0]], [x(hours), lower[1]]]);
        chart.word([x(hours), lower[1] + text * 0.8], Anchor::Middle, whole(hours), false);
    }
    chart.word([left, top - text * 0.8], Anchor::Start, "equivalent age, h", true);
    chart.word([left, lower[0] - text * 0.8], Anchor::Start, "concrete, °C, over hours since placing", true);
    for panel in [upper, lower] {
        chart.line(Look::Axis, &[[left, panel[0]], [left, panel[1]], [right, panel[1]]]);
    }
    let curve: Vec<Place> = thinned(&ages).into_iter().map(|(at, age)| [x(at), y(age)]).collect();
    chart.line(Look::Curve, &curve);
    for age in course.ages.iter().filter(|age| age.target_h <= top_age) {
        let level = y(age.target_h);
        chart.line(Look::Limit, &[[left, level], [right, level]]);
        let words = match age.reached {
            // What a floor may bear is never said here: only that the project's age is reached.
            Some(at) if age.what == "loaded" => format!("loading age reached {}", at.minute()),
            Some(at) => format!("{} from {}", age.what, at.minute()),
            None => format!("not {} before {} h", age.what, whole(age.target_h)),
        };
        // Under the line at its right end, where the curve has gone past, else above it at the left.
        let (at, anchor) = match age.reached_h {
            Some(hours) => {
                chart.line(Look::Heavy, &[[x(hours), level], [x(hours), upper[1]]]);
                let room_right = right - x(hours) > text * 13.0;
                let down = level + text * 0.8;
                if room_right {
                    ([x(hours) + text * 0.4, down], Anchor::Start)
                } else {
                    ([x(hours) - text * 0.4, level - text * 0.8], Anchor::End)
                }
            }
            None => ([left + text * 0.4, level + text * 0.8], Anchor::Start),
        };
        chart.word(at, anchor, words, true);
    }
    temperatures(&mut chart, course, &x, lower, [left, right], text);
    chart
}

fn temperatures(
    chart: &mut Chart,
    course: &Course,
    x: &dyn Fn(f64) -> f64,
    panel: [f64; 2],
    [left, right]: [f64; 2],
    text: f64,
) {
    let read: Vec<(f64, f64)> =
        course.input.temperatures.iter().map(|one| (one.at_h.0, one.concrete.0)).collect();
    let least = read.iter().fold(f64::INFINITY, |least, one| least.min(one.1));
    let greatest = read.iter().fold(f64::NEG_INFINITY, |most, one| most.max(one.1));
    if !(least.is_finite() && greatest.is_finite()) {
        return;
    }
    let step = round_step((greatest - least).max(1.0), MOST / 2, &DEGREES);
    let (low, high) = ((least / step).floor() * step, ((greatest / step).floor() + 1.0) * step);
    let y = |celsius: f64| panel[1] - (panel[1] - panel[0]) * (celsius - low) / (high - low);
    for celsius in multiples(low, high, step) {
        chart.line(Look::Grid, &[[left, y(celsius)], [right, y(celsius)]]);
        chart.word([left - text * 0.3, y(celsius)], Anchor::End, whole(celsius), false);
    }
    let curve: Vec<Place> = thinned(&read).into_iter().map(|(at, celsius)| [x(at), y(celsius)]).collect();
    chart.line(Look::Curve, &curve);
    if let [only] = curve[..] {
        chart.spots.push(only);
    }
}

/// A curve of no more places than can be seen: the first, the last, and the least and the greatest of each stretch.
fn thinned(curve: &[(f64, f64)]) -> Vec<(f64, f64)> {
    if curve.len() <= MOST_PLACES {
        return curve.to_vec();
    }
    let stretch = curve.len().div_ceil(MOST_PLACES / 2);
    let mut kept: Vec<(f64, f64)> = curve.first().copied().into_iter().collect();
    for part in curve.chunks(stretch) {
        let least = part.iter().min_by(|a, b| a.1.total_cmp(&b.1)).copied();
        let greatest = part.iter().max_by(|a, b| a.1.total_cmp(&b.1)).copied();
        let mut both: Vec<(f64, f64)> = least.into_iter().chain(greatest).collect();
        both.sort_by(|a, b| a.0.total_cmp(&b.0));
        kept.extend(both);
    }
    kept.extend(curve.last().copied());
    kept.dedup();
    kept
}

fn whole(number: f64) -> String {
    let text = format!("{number:.1}");
    text.strip_suffix(".0").map_or_else(|| text.clone(), str::to_owned)
}

fn name(course: &Course) -> String {
    let said: Vec<String> = course
        .ages
        .iter()
        .map(|age| match age.reached {
            Some(at) => format!("{} from {}", age.what, at.minute()),
            None => format!("not {} yet", age.what),
        })
        .collect();
    format!(
        "maturity curve: equivalent age {:.1} h at {}; {}",
        course.age_h,
        course.last.minute(),
        said.join("; ")
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inspection::curing::Age;
    use crate::quantity::Real;
    use crate::time::LocalTime;

    const ROOM: Room = Room { size: [600.0, 400.0], text: 14.0 };

    fn course(temperatures: &[(f64, f64)], walk: f64, load: f64) -> Course {
        let input = |target: f64| maturity::Input {
            temperatures: temperatures
                .iter()
                .map(|(at, celsius)| maturity::Reading { at_h: Real(*at), concrete: Real(*celsius) })
                .collect(),
            datum: Real(0.0),
            reference: Real(20.0),
            model: maturity::Model::NurseSaul,
            activation: None,
            target_equivalent_age_h: Real(target),
        };
        let placed = LocalTime::parse_typed("2026-09-14 12:00").unwrap();
        let age = |what, target_h: f64| {
            let reached_h = maturity::reckon(&input(target_h)).unwrap().reached_at_h;
            let reached = reached_h.map(|at| placed.plus_hours(at).up_to_minute());
            Age { what, target_h, reached_h, reached, expected: None }
        };
        let output = maturity::reckon(&input(walk)).unwrap();
        let last = temperatures.last().unwrap();
        Course {
            placed,
            input: input(walk),
            ages: [age("walked on", walk), age("loaded", load)],
            age_h: output.equivalent_age_h,
            last: placed.plus_hours(last.0),
            last_c: last.1,
            before: 0,
        }
    }

    #[test]
    fn the_limit_meets_the_curve_where_it_is_reached() {
        // At 20 °C over a datum of 0 an hour is worth an hour: 24 h are reached after 24.
        let chart = chart(&course(&[(0.0, 20.0), (48.0, 20.0)], 24.0, 168.0), ROOM);
        let curve = chart.lines.iter().find(|line| line.look == Look::Curve).unwrap();
        let (start, end) = (curve.places[0], *curve.places.last().unwrap());
        let heavy = chart.lines.iter().find(|line| line.look == Look::Heavy).unwrap();
        let meet = heavy.places[0];
        assert!((meet[0] - f64::midpoint(start[0], end[0])).abs() < 1e-9);
        assert!((meet[1] - f64::midpoint(start[1], end[1])).abs() < 1e-9);
        let says = |part: &str| chart.words.iter().any(|word| word.text.contains(part));
        assert!(
            says("walked on from 2026-09-15 12:00") && says("not loaded before 168 h"),
            "{:?}",
            chart.words
        );
        assert!(chart.name.contains("equivalent age 48.0 h") && chart.name.contains("not loaded yet"));
    }

    #[test]
    fn everything_lies_within_the_room_and_the_curve_never_falls() {
        for temperatures in [
            vec![(0.0, 20.0)],
            vec![(2.5, -3.0), (30.0, -8.0), (31.0, 4.0)],
            (0..5_000_u32).map(|n| (f64::from(n) * 0.25, 10.0 + f64::from(n * 7 % 13))).collect(),
        ] {
            let chart = chart(&course(&temperatures, 24.0, 168.0), ROOM);
            for at in chart.lines.iter().flat_map(|line| &line.places).chain(&chart.spots) {
                assert!(at.iter().all(|one| one.is_finite()), "{at:?}");
                assert!((0.0..=600.0).contains(&at[0]) && (0.0..=400.0).contains(&at[1]), "{at:?}");
            }
            if let Some(curve) = chart.lines.iter().find(|line| line.look == Look::Curve) {
                assert!(curve.places.len() <= MOST_PLACES + 2);
                assert!(
                    curve.places.windows(2).all(|pair| pair[1][1] <= pair[0][1]),
                    "down the page is younger"
                );
            }
        }
    }
}
