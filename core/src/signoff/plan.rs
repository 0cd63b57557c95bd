//! The plan of a criterion on paper: to one of the usual scales, which is stated, with a scale bar, and north where
//! the design says it.
//!
//! What it shows is [`crate::plan_drawing`]'s, the same as on screen; here it only gets its place, its pens and its
//! inks. Figures are `f64` until they reach the sheet, and nothing but the four kinds of arithmetic and the square
//! root is used, so that every machine draws the same page.

use super::flow::{Flow, SMALL, WIDTH};
use super::fonts::{Fonts, Weight};
use super::marks::Mark;
use super::page::{self, Ink, Pen, Sheet, Style};
use crate::conformity::Verdict;
use crate::plan_drawing::hatch::{self, Lean};
use crate::plan_drawing::labels::{self, Room, around};
use crate::plan_drawing::{Contour, Drawing, Place, Point, Standing, Wall, deviation_text, measure};

/// Room for the plan itself, mm of paper.
const ROOM: Place = [WIDTH as f64 - 2.0 * EDGE, 150.0];
/// Around it, for words.
const EDGE: f64 = 9.0;
/// Below it, for the scale bar and what it means.
const FOOT: f64 = 15.0;
/// The longest scale bar.
const LONGEST_BAR: f64 = 45.0;
/// A mark at its usual size, and the smallest that can still be told from another.
const MARK: f64 = 3.0;
const LEAST_MARK: f64 = 1.3;
/// Between two lines of a wall's hatching.
const HATCH: f64 = 1.6;

const NAME: Style = Style::new(Weight::Regular, 6.5);
const TROUBLE: Style = Style::new(Weight::Semibold, 8.0);
const WALL: Style = Style::new(Weight::Semibold, 9.5);
const OUTLINE: Pen = Pen { width: 1.4, ink: Ink::TEXT };
const PIPE: Pen = Pen { width: 1.0, ink: Ink::TEXT };
const HATCHING: Pen = Pen { width: 0.3, ink: Ink::RULE };

/// Height of the plan on paper, with everything around it, in millimetres.
pub fn height(drawing: &Drawing) -> f32 {
    let (_, size) = scaled(drawing);
    small(size[1] + 2.0 * EDGE + FOOT)
}

/// Draws the plan where the pen stands. `offsets` says what an offset means.
pub fn draw(flow: &mut Flow<'_>, drawing: &Drawing, offsets: &str) {
    let (scale, size) = scaled(drawing);
    flow.drawing(height(drawing), |sheet, fonts, (left, top)| {
        let (left, top) = (f64::from(left), f64::from(top));
        let [low, high] = drawing.bounds_with_offsets();
        let paper = Paper {
            drawing,
            fonts,
            per_mm: 1.0 / f64::from(scale),
            corner: [left + (f64::from(WIDTH) - size[0]) / 2.0, top + EDGE],
            origin: [low[0], high[1]],
        };
        paper.plan(sheet, [[left, top], [left + f64::from(WIDTH), top + size[1] + 2.0 * EDGE]]);
        paper.north(sheet, [left + f64::from(WIDTH) - 7.0, top + 8.0]);
        foot(sheet, fonts, [left, top + size[1] + 2.0 * EDGE], scale, drawing, offsets);
    });
}

/// The scale 1 : n, and the plan's size on paper at it.
fn scaled(drawing: &Drawing) -> (u32, Place) {
    let [low, high] = drawing.bounds_with_offsets();
    let size = [high[0] - low[0], high[1] - low[1]];
    let scale = measure::scale(size, ROOM);
    (scale, size.map(|mm| mm / f64::from(scale)))
}

struct Paper<'d> {
    drawing: &'d Drawing,
    fonts: &'d Fonts,
    /// Millimetres of paper to a millimetre of the building.
    per_mm: f64,
    /// Where on paper the plan's upper left corner lies, and which place of the plan that is.
    corner: Place,
    origin: Place,
}

impl Paper<'_> {
    fn at(&self, place: Place) -> Place {
        [
            self.corner[0] + (place[0] - self.origin[0]) * self.per_mm,
            self.corner[1] + (self.origin[1] - place[1]) * self.per_mm,
        ]
    }

    fn all<const N: usize>(&self, places: [Place; N]) -> [Place; N] {
        places.map(|place| self.at(place))
    }

    fn plan(&self, sheet: &mut Sheet, area: [Place; 2]) {
        for membrane in &self.drawing.membranes {
            let mut line: Vec<Place> = membrane.iter().map(|at| self.at(*at)).collect();
            line.extend(line.first().copied());
            dashes(sheet, &line, 3.0, 1.2, PIPE);
        }
        for beam in &self.drawing.beams {
            dashes(sheet, &self.all(*beam), 4.0, 1.0, Pen::HAIR);
        }
        self.pop_ups(sheet);
        self.walls(sheet);
        for vent in &self.drawing.vents {
            let [x, y] = self.at(vent.at);
            let r = 0.8;
            sheet.polygon(
                &[[x - r, y - r], [x + r, y - r], [x + r, y + r], [x - r, y + r]].map(on_sheet),
                Some(Ink::PAPER),
                Some(HATCHING_INK),
            );
            for [a, b] in [[[x - r, y - r], [x + r, y + r]], [[x - r, y + r], [x + r, y - r]]] {
                line(sheet, &[a, b], HATCHING_INK);
            }
        }
        for membrane in &self.drawing.membranes {
            let mut closed: Vec<Place> = membrane.iter().map(|at| self.at(*at)).collect();
            closed.extend(closed.first().copied());
            dashes(sheet, &closed, 4.0, 1.6, Pen { width: 0.9, ink: Ink::TEXT });
        }
        for part in &self.drawing.trapped_gas {
            let route: Vec<Place> = part.iter().map(|at| self.at(*at)).collect();
            line(sheet, &route, Pen { width: 4.2, ink: Ink::TEXT });
            line(sheet, &route, Pen { width: 3.2, ink: fill(Standing::Verdict(Verdict::Nonconforming)) });
        }
        for service in &self.drawing.services {
            let route: Vec<Place> = service.route.iter().map(|at| self.at(*at)).collect();
            dashes(sheet, &route, 2.4, 1.0, PIPE);
        }
        for contour in self.drawing.contours.iter().flat_map(|one| &one.lines) {
            let places: Vec<Place> = contour.places.iter().map(|at| self.at(*at)).collect();
            line(sheet, &places, Pen { width: 0.7, ink: Ink::QUIET });
        }
        if let Some(own) = &self.drawing.straightedge {
            let [from, to] = self.all(own.ends);
            line(sheet, &[from, to], Pen { width: 3.0, ink: Ink::TEXT });
            line(sheet, &[from, to], Pen { width: 2.0, ink: fill(own.standing) });
            let at = self.at(own.at);
            let upright = (to[0] - from[0]).abs() < (to[1] - from[1]).abs();
            let side = if upright { [2.2, 0.0] } else { [0.0, 2.2] };
            line(sheet, &[[at[0] - side[0], at[1] - side[1]], [at[0] + side[0], at[1] + side[1]]], Pen::WIDE);
        }
        let mark = self.mark_size();
        for point in &self.drawing.points {
            self.offset(sheet, point);
        }
        // What calls for somebody lies on top.
        let trouble = |point: &&Point| point.standing.is_trouble();
        let calm = self.drawing.points.iter().filter(|point| !trouble(point));
        for point in calm.chain(self.drawing.points.iter().filter(trouble)) {
            let at = self.at(point.at);
            mark_of(point.standing).draw(sheet, self.fonts, on_sheet(at), small(mark));
        }
        self.words(sheet, area, mark);
    }

    /// Pop-ups among the beams: a thin ring with a cross as drawn, filled where measured.
    fn pop_ups(&self, sheet: &mut Sheet) {
        for beam in &self.drawing.broad_beams {
            sheet.polygon(&self.all(*beam).map(on_sheet), Some(Ink::WASH), Some(Pen::HAIR));
        }
        for one in &self.drawing.pop_ups {
            for way in one.measured_along {
                dashes(sheet, &self.all(way), 1.6, 1.0, Pen::HAIR);
            }
            let radius = one.radius * self.per_mm;
            let drawn = self.at(one.drawn);
            if let Some(found) = one.found {
                let fill = wash(Some(one.standing));
                sheet.disc(on_sheet(self.at(found)), small(radius), Some(fill), Some(Pen::NARROW));
            }
            sheet.disc(on_sheet(drawn), small(radius), None, Some(HATCHING_INK));
            let arm = radius * 1.4;
            for by in [[arm, 0.0], [0.0, arm]] {
                let ends = [[drawn[0] - by[0], drawn[1] - by[1]], [drawn[0] + by[0], drawn[1] + by[1]]];
                line(sheet, &ends, HATCHING_INK);
            }
        }
    }

    /// Walls: outlines first, then the fill over them, so that corners and junctions join.
    fn walls(&self, sheet: &mut Sheet) {
        let corners: Vec<(&Wall, [Place; 4])> =
            self.drawing.walls.iter().map(|wall| (wall, self.all(wall.corners()))).collect();
        for (_, corners) in &corners {
            sheet.polygon(&corners.map(on_sheet), Some(Ink::TEXT), Some(OUTLINE));
        }
        for (wall, corners) in &corners {
            sheet.polygon(&corners.map(on_sheet), Some(wash(wall.standing)), None);
        }
        for (wall, corners) in &corners {
            let (leans, spacing): (&[Lean], f64) = match wall.standing {
                Some(Standing::Verdict(Verdict::Nonconforming)) => (&[Lean::Rising, Lean::Falling], HATCH),
                Some(Standing::Verdict(Verdict::Undetermined)) => (&[Lean::Falling], HATCH),
                _ => (&[Lean::Rising], HATCH * 1.5),
            };
            for lean in leans {
                for segment in hatch::lines(corners, *lean, spacing) {
                    line(sheet, &segment, HATCHING);
                }
            }
        }
    }

    /// Marks shrink where points lie close together.
    fn mark_size(&self) -> f64 {
        let close = self.drawing.points.windows(2).filter(|pair| pair[0].line == pair[1].line);
        let close = close.map(|pair| {
            let (a, b) = (self.at(pair[0].at), self.at(pair[1].at));
            ((b[0] - a[0]) * (b[0] - a[0]) + (b[1] - a[1]) * (b[1] - a[1])).sqrt()
        });
        close.fold(MARK, f64::min).clamp(LEAST_MARK, MARK)
    }

    fn offset(&self, sheet: &mut Sheet, point: &Point) {
        let Some(tip) = self.drawing.tip(point) else { return };
        let (at, tip) = (self.at(point.at), self.at(tip));
        let side = [point.outward[1] * 0.9, point.outward[0] * 0.9];
        line(sheet, &[at, tip], Pen { width: 1.8, ink: Ink::TEXT });
        line(sheet, &[at, tip], Pen { width: 1.0, ink: fill(point.standing) });
        let across = [[tip[0] - side[0], tip[1] - side[1]], [tip[0] + side[0], tip[1] + side[1]]];
        line(sheet, &across, Pen::NARROW);
    }

    /// What must be read first is placed first; what finds no room stands in the table.
    fn words(&self, sheet: &mut Sheet, area: [Place; 2], mark: f64) {
        let mut room = Room::new(area);
        room.take([[area[1][0] - 14.0, area[0][1]], [area[1][0], area[0][1] + 15.0]]); // north
        for point in &self.drawing.points {
            let at = self.at(point.at);
            room.take(around(at, [mark, mark]));
            if let Some(tip) = self.drawing.tip(point) {
                let tip = self.at(tip);
                room.take(spanned(at, tip, 0.6));
            }
        }
        for wall in &self.drawing.walls {
            let corners = self.all(wall.corners());
            // Only upright walls fill the rectangle about them.
            if (corners[0][0] - corners[1][0]).abs() < 0.01 || (corners[0][1] - corners[1][1]).abs() < 0.01 {
                room.take(spanned(corners[0], corners[2], 0.0));
            }
        }
        for pair in self.drawing.services.iter().flat_map(|service| service.route.windows(2)) {
            for block in labels::along(self.at(pair[0]), self.at(pair[1]), 1.0) {
                room.take(block);
            }
        }
        if let Some(own) = &self.drawing.straightedge {
            let [from, to] = self.all(own.ends);
            room.take(spanned(from, to, 0.8));
            let text = format!("gap {}", own.gap.mm_text(1));
            let at = self.at(own.at);
            let near = [3.4, -3.4, 5.4, -5.4].into_iter().flat_map(|far| {
                [[0.0, far], [far * 2.2, 0.0], [5.0, far], [-5.0, far]]
                    .map(|by| [at[0] + by[0], at[1] + by[1]])
            });
            self.word(sheet, &mut room, TROUBLE, &text, near.collect::<Vec<_>>());
        }
        if let Some(contours) = &self.drawing.contours {
            for contour in &contours.lines {
                self.contour_word(sheet, &mut room, contour, &contours.label(contour));
            }
        }
        let points = || self.drawing.points.iter();
        for point in points().filter(|point| point.standing.is_trouble()) {
            self.point_word(sheet, &mut room, point, TROUBLE);
        }
        for wall in &self.drawing.walls {
            self.wall_word(sheet, &mut room, wall);
        }
        for service in &self.drawing.services {
            self.service_word(sheet, &mut room, &service.route, service.name.as_str());
        }
        for point in points().filter(|point| !point.standing.is_trouble()) {
            self.point_word(sheet, &mut room, point, NAME);
        }
    }

    fn point_word(&self, sheet: &mut Sheet, room: &mut Room, point: &Point, style: Style) {
        let text = match point.deviation {
            Some(deviation) => format!("{} {}", point.name, deviation_text(deviation)),
            None => point.name.to_string(),
        };
        let at = self.at(point.at);
        let out = [point.outward[0], -point.outward[1]];
        let along = [-out[1], out[0]];
        let step = [out[0] * 1.6, out[1] * 1.6];
        let near = (1..=9)
            .map(f64::from)
            .flat_map(|k| [1.0, -1.0].map(|way| [at[0] + step[0] * k * way, at[1] + step[1] * k * way]));
        let aside =
            near.clone().flat_map(|[x, y]| [5.0, -5.0].map(|by| [x + along[0] * by, y + along[1] * by]));
        self.word(sheet, room, style, &text, near.chain(aside));
    }

    /// The value of a contour on its line, which it interrupts; short lines go without.
    fn contour_word(&self, sheet: &mut Sheet, room: &mut Room, contour: &Contour, text: &str) {
        let width = f64::from(self.fonts.width(NAME.weight, NAME.size, text));
        let height = f64::from(NAME.size * page::MM_PER_POINT);
        if contour.length() * self.per_mm < 3.0 * width {
            return;
        }
        let spots = [0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9].map(|share| self.at(contour.along(share)));
        let Some(at) = room.place([width + 1.0, height], spots) else { return };
        let [low, high] = around(at, [width + 0.8, height]);
        let patch = [low, [high[0], low[1]], high, [low[0], high[1]]];
        sheet.polygon(&patch.map(on_sheet), Some(Ink::PAPER), None);
        sheet.text_centred(self.fonts, on_sheet([at[0], at[1] + height * 0.36]), NAME, text);
    }

    fn wall_word(&self, sheet: &mut Sheet, room: &mut Room, wall: &Wall) {
        let Some(name) = &wall.name else { return };
        let mark = wall.standing.map(mark_of);
        let [a, b] = self.all(wall.line);
        let way = crate::plan_drawing::unit([b[0] - a[0], b[1] - a[1]]);
        let off = wall.thickness * self.per_mm / 2.0 + 3.0;
        let spots = [0.42, 0.58, 0.3, 0.7, 0.16, 0.84].into_iter().flat_map(move |share| {
            let on = [a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share];
            [1.0, -1.0, 1.8, -1.8].map(|far| [on[0] - way[1] * off * far, on[1] + way[0] * off * far])
        });
        let text = name.as_str();
        let width = f64::from(self.fonts.width(WALL.weight, WALL.size, text));
        let beside = if mark.is_some() { 4.4 } else { 0.0 };
        let Some(at) = room.place([width + beside + 1.0, 4.4], spots) else { return };
        let left = at[0] - f64::midpoint(width, beside);
        if let Some(mark) = mark {
            mark.draw(sheet, self.fonts, on_sheet([left + 1.6, at[1]]), 3.2);
        }
        sheet.text(self.fonts, on_sheet([left + beside, at[1] + 1.2]), WALL, text);
    }

    fn service_word(&self, sheet: &mut Sheet, room: &mut Room, route: &[Place], name: &str) {
        let route: Vec<Place> = route.iter().map(|at| self.at(*at)).collect();
        let spots = route.windows(2).rev().flat_map(|pair| {
            let middle = [f64::midpoint(pair[0][0], pair[1][0]), f64::midpoint(pair[0][1], pair[1][1])];
            let half = f64::from(self.fonts.width(NAME.weight, NAME.size, name)) / 2.0 + 1.5;
            [[0.0, -2.2], [0.0, 2.2], [half, 0.0], [-half, 0.0], [0.0, -4.4], [0.0, 4.4]]
                .map(|by| [middle[0] + by[0], middle[1] + by[1]])
        });
        let spots: Vec<Place> = spots.collect();
        self.word(sheet, room, NAME, name, spots);
    }

    fn word(
        &self,
        sheet: &mut Sheet,
        room: &mut Room,
        style: Style,
        text: &str,
        spots: impl IntoIterator<Item = Place>,
    ) {
        let width = f64::from(self.fonts.width(style.weight, style.size, text));
        let height = f64::from(style.size * page::MM_PER_POINT);
        if let Some(at) = room.place([width + 0.8, height], spots) {
            let base = at[1] + height * 0.36;
            sheet.text_centred(self.fonts, on_sheet([at[0], base]), style, text);
        }
    }

    fn north(&self, sheet: &mut Sheet, centre: Place) {
        let Some(north) = self.drawing.north else { return };
        let way = [north[0], -north[1]];
        let side = [-way[1], way[0]];
        let place = |far: f64, aside: f64| {
            on_sheet([centre[0] + way[0] * far + side[0] * aside, centre[1] + way[1] * far + side[1] * aside])
        };
        sheet.disc(on_sheet(centre), 4.0, Some(Ink::PAPER), Some(Pen::NARROW));
        sheet.polygon(
            &[place(4.0, 0.0), place(-2.6, 1.7), place(-1.4, 0.0)],
            Some(Ink::TEXT),
            Some(Pen::NARROW),
        );
        sheet.polygon(&[place(4.0, 0.0), place(-2.6, -1.7), place(-1.4, 0.0)], None, Some(Pen::NARROW));
        let (x, y) = place(5.8, 0.0);
        sheet.text_centred(self.fonts, (x, y + 1.0), Style::new(Weight::Semibold, 8.0), "N");
    }
}

const HATCHING_INK: Pen = Pen { width: 0.35, ink: Ink::TEXT };

/// Scale bar, scale, and what offsets mean.
fn foot(sheet: &mut Sheet, fonts: &Fonts, at: Place, scale: u32, drawing: &Drawing, offsets: &str) {
    let bar = measure::round_mm(LONGEST_BAR * f64::from(scale));
    let length = f64::from(bar) / f64::from(scale);
    let [x, y] = at;
    let (top, bottom) = (y + 0.8, y + 2.4);
    let half = length / 2.0;
    let part = |from: f64, to: f64| [[x + from, top], [x + to, top], [x + to, bottom], [x + from, bottom]];
    sheet.polygon(&part(0.0, half).map(on_sheet), Some(Ink::TEXT), Some(Pen::NARROW));
    sheet.polygon(&part(half, length).map(on_sheet), Some(Ink::PAPER), Some(Pen::NARROW));
    let words = y + 5.6;
    sheet.text(fonts, on_sheet([x, words]), SMALL, "0");
    sheet.text_centred(fonts, on_sheet([x + length, words]), SMALL, &measure::length_text(bar));
    let beside = x + length + 10.0;
    let said = format!("Scale 1:{scale} on A4 printed at its full size.");
    sheet.text(fonts, on_sheet([beside, y + 2.4]), Style::new(Weight::Semibold, 8.0), &said);
    if drawing.has_offsets() {
        let said = format!("Offsets drawn ×{:.0} the plan's scale: {offsets}", drawing.exaggeration);
        sheet.text(fonts, on_sheet([beside, words]), SMALL, &said);
    }
    let said = if let Some(contours) = &drawing.contours {
        let said = format!(
            "Thin lines are {}. Figures at marks are what was read less the target.",
            contours.legend()
        );
        sheet.text(fonts, on_sheet([x, y + 10.0]), SMALL, &said);
        return;
    } else if drawing.pop_ups.is_empty() {
        "Walls carry the mark of all that was read on them. Outer walls that the design does not list are drawn \
         100 mm thick."
    } else {
        "Beams where they are drawn. Pop-ups: a ring with a cross as drawn, filled where measured from both walls."
    };
    sheet.text(fonts, on_sheet([x, y + 10.0]), SMALL, said);
}

/// The mark of a standing on paper: what was closed keeps the mark of its verdict, as in the table.
fn mark_of(standing: Standing) -> Mark {
    match standing {
        Standing::Owed | Standing::Read => Mark::Open,
        Standing::Verdict(verdict) | Standing::Closed(verdict) => Mark::of(verdict),
        Standing::Conceded => Mark::Concession,
    }
}

/// The full fill of a standing: the palette of Okabe and Ito, as the marks have it.
fn fill(standing: Standing) -> Ink {
    match standing {
        Standing::Owed | Standing::Read => Ink::RULE,
        Standing::Verdict(Verdict::Conforming) | Standing::Closed(Verdict::Conforming) => {
            Ink(0x00, 0x9e, 0x73)
        }
        Standing::Verdict(Verdict::Undetermined) | Standing::Closed(Verdict::Undetermined) => {
            Ink(0xe6, 0x9f, 0x00)
        }
        Standing::Verdict(Verdict::Nonconforming) | Standing::Closed(Verdict::Nonconforming) => {
            Ink(0xd5, 0x5e, 0x00)
        }
        Standing::Conceded => Ink(0x00, 0x72, 0xb2),
    }
}

/// A quarter of that fill on paper, for walls.
fn wash(standing: Option<Standing>) -> Ink {
    let Some(standing) = standing.filter(|one| !matches!(one, Standing::Owed | Standing::Read)) else {
        return Ink::WASH;
    };
    let Ink(r, g, b) = fill(standing);
    let part = |colour: u8| 255 - (255 - colour) / 4;
    Ink(part(r), part(g), part(b))
}

fn line(sheet: &mut Sheet, places: &[Place], pen: Pen) {
    let places: Vec<page::Place> = places.iter().map(|at| on_sheet(*at)).collect();
    sheet.line(&places, pen);
}

/// A line in dashes, counted on round its corners.
fn dashes(sheet: &mut Sheet, places: &[Place], dash: f64, gap: f64, pen: Pen) {
    let mut gone = 0.0;
    for pair in places.windows(2) {
        let [a, b] = [pair[0], pair[1]];
        let by = [b[0] - a[0], b[1] - a[1]];
        let length = (by[0] * by[0] + by[1] * by[1]).sqrt();
        if length <= 0.0 {
            continue;
        }
        let at = |far: f64| [a[0] + by[0] * far / length, a[1] + by[1] * far / length];
        let mut start = (gone / (dash + gap)).floor() * (dash + gap) - gone;
        while start < length {
            let (from, to) = (start.max(0.0), (start + dash).min(length));
            if from < to {
                line(sheet, &[at(from), at(to)], pen);
            }
            start += dash + gap;
        }
        gone += length;
    }
}

fn spanned(a: Place, b: Place, more: f64) -> [Place; 2] {
    [[a[0].min(b[0]) - more, a[1].min(b[1]) - more], [a[0].max(b[0]) + more, a[1].max(b[1]) + more]]
}

fn on_sheet(at: Place) -> page::Place {
    (small(at[0]), small(at[1]))
}

#[expect(clippy::cast_possible_truncation, reason = "millimetres of a sheet")]
fn small(mm: f64) -> f32 {
    mm as f32
}
