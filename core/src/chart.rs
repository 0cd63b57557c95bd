//! Curves and profiles as lines and words in a rectangle: screen and paper draw the same.
//!
//! - This file: what a chart holds
//! - [`maturity`]: equivalent age over time, with the ages that are waited for, and the temperatures beneath
//! - [`profile`]: a line of the finished topping under its straightedge
//!
//! Places count from the upper left corner, y downwards, in the caller's own unit. Never here: a colour, a font, a
//! verdict of its own. Only `+ − × ÷` are used, so that every machine draws the same pages.

pub mod maturity;
pub mod profile;

/// A place: across, then down.
pub type Place = [f64; 2];

/// The room of a chart in the caller's unit, and how large its words are there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Width, then height.
    pub size: Place,
    /// Height of a line of words.
    pub text: f64,
}

/// A chart.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Chart {
    /// What it shows, in words, for who cannot see it.
    pub name: String,
    /// Lines, in the order of painting.
    pub lines: Vec<Line>,
    /// Places that were read.
    pub spots: Vec<Place>,
    /// Words.
    pub words: Vec<Word>,
}

/// A line through places.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Two at least.
    pub places: Vec<Place>,
    /// How it looks.
    pub look: Look,
}

/// How a line looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Look {
    /// An axis or a scale.
    Axis,
    /// A line of the grid behind.
    Grid,
    /// What was read or reckoned.
    Curve,
    /// A limit, dashed.
    Limit,
    /// What lies on the curve: a straightedge, a gap.
    Heavy,
}

/// Words at a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Word {
    /// Where.
    pub at: Place,
    /// On which side of that place they stand.
    pub anchor: Anchor,
    /// What they say.
    pub text: String,
    /// Whether they matter.
    pub strong: bool,
}

/// Where words stand from their place; all of them are centred on it up and down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Anchor {
    /// To its right.
    Start,
    /// About it.
    Middle,
    /// To its left.
    End,
}

impl Chart {
    fn line(&mut self, look: Look, places: &[Place]) {
        if places.len() > 1 {
            self.lines.push(Line { places: places.to_vec(), look });
        }
    }

    fn word(&mut self, at: Place, anchor: Anchor, text: impl Into<String>, strong: bool) {
        self.words.push(Word { at, anchor, text: text.into(), strong });
    }
}

/// Round steps of a scale.
fn round_step(range: f64, most: u32, steps: &[f64]) -> f64 {
    let fits = |step: &&f64| range / **step <= f64::from(most);
    steps.iter().find(fits).or(steps.last()).copied().unwrap_or(1.0)
}

/// The multiples of a step within a range, from its start.
fn multiples(from: f64, to: f64, step: f64) -> impl Iterator<Item = f64> {
    let first = (from / step).ceil();
    (0..200_u32).map(move |number| (first + f64::from(number)) * step).take_while(move |at| *at <= to)
}
