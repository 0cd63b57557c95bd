//! Where input is wrong: every fault with its place, and the one way in which JSON and TOML files are read.
//!
//! A place is a JSON Pointer (RFC 6901), for TOML with the line beside it; text that is no JSON has `line:column`
//! alone. Input is checked whole, so that all faults come at once. A value out of tolerance is no fault: that is a
//! result.

use std::fmt;

mod messages;
mod read;
mod toml_tree;

pub use read::{MAX_BYTES, MAX_DEPTH, read_json, read_toml, schema_of, with_toml_lines};

/// The most faults that are listed; a document with more is wrong throughout.
const MAX_FAULTS: usize = 1_000;

/// One thing wrong with an input.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// JSON Pointer of the place; empty for the whole document and for text that could not be read at all.
    pub place: String,
    /// Line and column from 1, where the text is known.
    pub line: Option<(usize, usize)>,
    /// What is wrong, worded to follow the place: `must be a number`.
    pub what: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let place = one_line(&self.place);
        let what = one_line(&self.what);
        match (self.line, place.as_str()) {
            (Some((line, column)), "") => write!(f, "{line}:{column}: {what}"),
            (Some((line, _)), place) => write!(f, "line {line}: {place}: {what}"),
            (None, "") => write!(f, "/: {what}"),
            (None, place) => write!(f, "{place}: {what}"),
        }
    }
}

/// A fault is one line whatever stands in a key.
fn one_line(text: &str) -> String {
    text.chars()
        .flat_map(|c| if c.is_control() { c.escape_default().collect::<Vec<_>>() } else { vec![c] })
        .collect()
}

/// All that is wrong with an input, in the order of its places.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Faults(pub Vec<Fault>);

impl Faults {
    /// Nothing wrong so far.
    pub fn new() -> Self {
        Self::default()
    }

    /// One fault at one place.
    pub fn one(place: impl Into<String>, what: impl Into<String>) -> Self {
        let mut faults = Self::new();
        faults.add(place, what);
        faults
    }

    /// Text that could not be read, at line and column from 1.
    pub fn in_text(line: usize, column: usize, what: impl Into<String>) -> Self {
        Self(vec![Fault { place: String::new(), line: Some((line, column)), what: what.into() }])
    }

    /// Adds a fault at a JSON Pointer.
    pub fn add(&mut self, place: impl Into<String>, what: impl Into<String>) {
        self.0.push(Fault { place: place.into(), line: None, what: what.into() });
    }

    /// Takes over the faults of a part, their places put under `place`.
    pub fn add_under(&mut self, place: &str, part: Self) {
        self.0.extend(
            part.0.into_iter().map(|fault| Fault { place: format!("{place}{}", fault.place), ..fault }),
        );
    }

    /// True when nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The faults one by one.
    pub fn iter(&self) -> std::slice::Iter<'_, Fault> {
        self.0.iter()
    }

    /// `value` when nothing is wrong, else all the faults.
    pub fn into_result<T>(self, value: T) -> Result<T, Self> {
        if self.is_empty() { Ok(value) } else { Err(self) }
    }

    /// One fault a place, places in reading order, the list bounded.
    #[must_use]
    fn tidied(mut self) -> Self {
        self.0.sort_by_cached_key(|fault| reading_order(&fault.place));
        self.0.dedup_by(|later, first| later.place == first.place && later.line == first.line);
        if self.0.len() > MAX_FAULTS {
            let more = self.0.len() - MAX_FAULTS;
            self.0.truncate(MAX_FAULTS);
            self.add("", format!("has {more} more faults"));
        }
        self
    }
}

impl<'f> IntoIterator for &'f Faults {
    type Item = &'f Fault;
    type IntoIter = std::slice::Iter<'f, Fault>;
    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

/// Segments of a pointer, numbers by their value: `/points/10` comes after `/points/9`.
fn reading_order(place: &str) -> Vec<(Option<u64>, String)> {
    place.split('/').map(|segment| (segment.parse().ok(), segment.to_owned())).collect()
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, fault) in self.0.iter().enumerate() {
            if index > 0 {
                f.write_str("\n")?;
            }
            write!(f, "{fault}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}

/// A key as a segment of a JSON Pointer.
pub fn segment(key: &str) -> String {
    key.replace('~', "~0").replace('/', "~1")
}

#[cfg(test)]
mod tests;
