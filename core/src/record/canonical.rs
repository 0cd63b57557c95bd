//! Canonical JSON: one value, one sequence of bytes.
//!
//! The rules stand in FORMAT.md beside this file. Within its narrower domain (ASCII keys, whole numbers)
//! the result is what RFC 8785 (JSON Canonicalization Scheme) prescribes.
//!
//! Never here: a float, a lenient reading, or a guess at what was meant. Bytes that do not re-encode to
//! themselves are refused.

use std::fmt::Write as _;

use serde_json::Value;

/// The largest whole number, ±: what every JSON reader keeps exactly (RFC 7493, section 2.2: ±(2^53 − 1)).
pub const MOST_INTEGER: i64 = (1 << 53) - 1;
/// The deepest nesting of lists and objects.
pub const MOST_DEPTH: usize = 32;
/// The most bytes of one canonical text: 8 MiB, room for a floor design or a plan of work as text.
pub const MOST_BYTES: usize = 8 << 20;
/// The most bytes of one object key.
pub const MOST_KEY_BYTES: usize = 200;

/// Why a value has no canonical text, or a text is not canonical.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CanonFault {
    /// A number with a fraction or an exponent, a minus zero, or one beyond ±(2^53 − 1).
    #[error("{place}: {number} is no whole number within ±9007199254740991; write other numbers as text")]
    Number {
        /// Path of the value.
        place: String,
        /// The number as it stood (cut after 40 characters).
        number: String,
    },
    /// A key that is empty, too long, not printable ASCII, holds a quote or backslash, or starts with `$`.
    #[error(
        "{place}: the key {key:?} must be 1 to 200 printable ASCII characters without \" or \\ and must not start with $"
    )]
    Key {
        /// Path of the object.
        place: String,
        /// The key (cut after 40 characters).
        key: String,
    },
    /// Lists and objects nested too deeply.
    #[error("{place}: nested more than 32 deep")]
    Depth {
        /// Path of the value.
        place: String,
    },
    /// More bytes than a canonical text may have.
    #[error("longer than {most} bytes")]
    Size {
        /// The bound.
        most: usize,
    },
    /// Not JSON at all.
    #[error("not JSON: {0}")]
    Json(String),
    /// JSON, but not in the canonical form: other order, blanks, escapes, a key twice.
    #[error("not in canonical form: differs from its own re-encoding at byte {at}")]
    NotCanonical {
        /// Offset of the first byte that differs.
        at: usize,
    },
}

/// The canonical text of a value.
pub fn encode(value: &Value) -> Result<String, CanonFault> {
    let mut out = String::new();
    let mut path = Vec::new();
    write_value(&mut out, value, &mut path)?;
    Ok(out)
}

/// The value of a canonical text; anything that does not re-encode to the very same bytes is refused.
pub fn decode(text: &str) -> Result<Value, CanonFault> {
    if text.len() > MOST_BYTES {
        return Err(CanonFault::Size { most: MOST_BYTES });
    }
    let value = serde_json::from_str(text).map_err(|e| CanonFault::Json(e.to_string()))?;
    require_same(text, &encode(&value)?)?;
    Ok(value)
}

/// Names the first byte at which a text differs from its re-encoding.
pub(super) fn require_same(text: &str, again: &str) -> Result<(), CanonFault> {
    if text == again {
        return Ok(());
    }
    let common = text.bytes().zip(again.bytes()).take_while(|(a, b)| a == b);
    Err(CanonFault::NotCanonical { at: common.count() })
}

/// One step of the path to a value.
enum Step<'v> {
    Key(&'v str),
    Index(usize),
}

fn place(path: &[Step<'_>]) -> String {
    let mut text = String::from("value");
    for step in path {
        match step {
            Step::Key(key) => {
                text.push('.');
                text.push_str(key);
            }
            Step::Index(index) => {
                write!(text, "[{index}]").expect("BUG: text grows");
            }
        }
    }
    text
}

fn cut(text: &str) -> String {
    text.chars().take(40).collect()
}

fn write_value<'v>(out: &mut String, value: &'v Value, path: &mut Vec<Step<'v>>) -> Result<(), CanonFault> {
    if path.len() > MOST_DEPTH {
        return Err(CanonFault::Depth { place: place(path) });
    }
    match value {
        Value::Null => out.push_str("null"),
        Value::Bool(true) => out.push_str("true"),
        Value::Bool(false) => out.push_str("false"),
        Value::Number(number) => {
            // The number's own text is looked at, never a conversion of it: `1.0` and `1e0` stay refused.
            let text = number.to_string();
            let whole = text.parse::<i64>().ok().filter(|n| n.abs_diff(0) <= MOST_INTEGER.abs_diff(0));
            if whole.is_none_or(|n| n.to_string() != text) {
                return Err(CanonFault::Number { place: place(path), number: cut(&text) });
            }
            out.push_str(&text);
        }
        Value::String(text) => write_string(out, text),
        Value::Array(items) => {
            out.push('[');
            for (index, item) in items.iter().enumerate() {
                if index > 0 {
                    out.push(',');
                }
                path.push(Step::Index(index));
                write_value(out, item, path)?;
                path.pop();
            }
            out.push(']');
        }
        Value::Object(object) => {
            // Sorted here, because the order inside the map depends on a feature of the JSON library.
            let mut members: Vec<(&String, &Value)> = object.iter().collect();
            members.sort_unstable_by_key(|(key, _)| key.as_bytes());
            out.push('{');
            for (index, (key, member)) in members.into_iter().enumerate() {
                if !sound_key(key) {
                    return Err(CanonFault::Key { place: place(path), key: cut(key) });
                }
                if index > 0 {
                    out.push(',');
                }
                out.push('"');
                out.push_str(key);
                out.push_str("\":");
                path.push(Step::Key(key));
                write_value(out, member, path)?;
                path.pop();
            }
            out.push('}');
        }
    }
    if out.len() > MOST_BYTES {
        return Err(CanonFault::Size { most: MOST_BYTES });
    }
    Ok(())
}

/// A leading `$` is the JSON library's own mark for numbers kept as text: such an object would read back as
/// something else.
fn sound_key(key: &str) -> bool {
    (1..=MOST_KEY_BYTES).contains(&key.len())
        && !key.starts_with('$')
        && key.bytes().all(|b| (0x20..=0x7e).contains(&b) && b != b'"' && b != b'\\')
}

/// RFC 8785, section 3.2.2.2: the five short escapes, quote and backslash, `\u00xx` in lower case for the other
/// control characters, everything else as it is.
fn write_string(out: &mut String, text: &str) {
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\u{8}' => out.push_str("\\b"),
            '\t' => out.push_str("\\t"),
            '\n' => out.push_str("\\n"),
            '\u{c}' => out.push_str("\\f"),
            '\r' => out.push_str("\\r"),
            c if c < '\u{20}' => {
                write!(out, "\\u{:04x}", u32::from(c)).expect("BUG: text grows");
            }
            c => out.push(c),
        }
    }
    out.push('"');
}

#[cfg(test)]
#[path = "canonical_tests.rs"]
pub(crate) mod tests;
