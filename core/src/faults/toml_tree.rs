//! TOML text as the same tree that JSON gives, numbers with their own text, and the line of every key.

use std::collections::HashMap;

use serde_json::{Map, Number, Value};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::read::MAX_DEPTH;
use super::{Fault, Faults, segment};

/// Line and column of every place.
pub(super) struct Lines(HashMap<String, (usize, usize)>);

impl Lines {
    /// Puts lines beside the faults; a place that is not written (a missing key) takes the line of what holds it.
    pub(super) fn onto(&self, faults: Faults) -> Faults {
        Faults(
            faults
                .0
                .into_iter()
                .map(|fault| Fault { line: fault.line.or_else(|| self.find(&fault.place)), ..fault })
                .collect(),
        )
    }

    fn find(&self, place: &str) -> Option<(usize, usize)> {
        let mut place = place;
        loop {
            if let Some(line) = self.0.get(place) {
                return Some(*line);
            }
            place = &place[..place.rfind('/')?];
        }
    }
}

/// The tree, its lines, and what is wrong already (numbers that are not finite).
pub(super) fn parse(text: &str) -> Result<(Value, Lines, Faults), Faults> {
    let starts = line_starts(text);
    let table = DeTable::parse(text).map_err(|error| {
        let (line, column) = position(text, &starts, error.span().map_or(0, |span| span.start));
        Faults::in_text(line, column, error.message().replace('\n', ", "))
    })?;
    let mut reader = Reader { text, starts, lines: HashMap::new(), faults: Faults::new() };
    let tree = reader.table(table.get_ref(), "", 0);
    Ok((tree, Lines(reader.lines), reader.faults))
}

struct Reader<'t> {
    text: &'t str,
    starts: Vec<usize>,
    lines: HashMap<String, (usize, usize)>,
    faults: Faults,
}

impl Reader<'_> {
    fn table(&mut self, table: &DeTable<'_>, place: &str, depth: usize) -> Value {
        let mut object = Map::new();
        for (key, value) in table {
            let inside = format!("{place}/{}", segment(key.get_ref()));
            self.note(&inside, key.span().start);
            object.insert(key.get_ref().to_string(), self.value(value, &inside, depth + 1));
        }
        Value::Object(object)
    }

    fn value(&mut self, value: &Spanned<DeValue<'_>>, place: &str, depth: usize) -> Value {
        if depth > MAX_DEPTH {
            self.faults.add(place, format!("is nested deeper than {MAX_DEPTH}"));
            return Value::Null;
        }
        match value.get_ref() {
            DeValue::String(text) => Value::from(text.as_ref()),
            DeValue::Boolean(truth) => Value::Bool(*truth),
            DeValue::Datetime(moment) => Value::from(moment.to_string()),
            DeValue::Integer(integer) => {
                let digits = integer.as_str().replace('_', "");
                match i128::from_str_radix(&digits, integer.radix()) {
                    Ok(whole) => self.number(&whole.to_string(), place),
                    Err(_) => self.number("", place),
                }
            }
            DeValue::Float(float) => {
                let digits = float.as_str().replace('_', "");
                let digits = digits.strip_prefix('+').unwrap_or(&digits);
                self.number(digits, place)
            }
            DeValue::Array(array) => {
                let mut list = Vec::new();
                for (index, item) in array.iter().enumerate() {
                    let inside = format!("{place}/{index}");
                    self.note(&inside, item.span().start);
                    list.push(self.value(item, &inside, depth + 1));
                }
                Value::Array(list)
            }
            DeValue::Table(table) => self.table(table, place, depth),
        }
    }

    fn number(&mut self, text: &str, place: &str) -> Value {
        if let Ok(number) = text.parse::<Number>() {
            return Value::Number(number);
        }
        self.faults.add(place, "must be a finite number");
        Value::Null
    }

    fn note(&mut self, place: &str, offset: usize) {
        let at = position(self.text, &self.starts, offset);
        self.lines.entry(place.to_owned()).or_insert(at);
    }
}

fn line_starts(text: &str) -> Vec<usize> {
    std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect()
}

/// Line and column, both from 1, of a byte offset.
fn position(text: &str, starts: &[usize], offset: usize) -> (usize, usize) {
    let line = starts.partition_point(|start| *start <= offset).max(1);
    let start = starts.get(line - 1).copied().unwrap_or(0);
    let column = text.get(start..offset).map_or(0, |part| part.chars().count()) + 1;
    (line, column)
}
