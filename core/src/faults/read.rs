//! Reading a document: text → tree → schema → type. The schema is the type's own, so that what is published with
//! `--schema` is what is checked.

use std::any::TypeId;
use std::cell::RefCell;
use std::collections::HashMap;
use std::fmt;
use std::sync::{Arc, LazyLock, Mutex, PoisonError};

use jsonschema::{Keyword, ValidationError, Validator};
use schemars::JsonSchema;
use serde::de::{self, DeserializeOwned, DeserializeSeed, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Number, Value};

use super::messages::add_error;
use super::{Faults, segment, toml_tree};
use crate::quantity::check_unit;

/// The largest document that is read, in bytes.
pub const MAX_BYTES: usize = 32 << 20;
/// The deepest nesting of lists and objects that is read.
pub const MAX_DEPTH: usize = 32;

/// Reads JSON as a `T`, or says everything that is wrong with it.
pub fn read_json<T: DeserializeOwned + JsonSchema + 'static>(text: &str) -> Result<T, Faults> {
    let text = checked_size(text)?;
    let faults = RefCell::new(Faults::new());
    let mut reader = serde_json::Deserializer::from_str(text);
    let root = Tree { place: String::new(), depth: 0, faults: &faults };
    let tree =
        root.deserialize(&mut reader).and_then(|tree| reader.end().map(|()| tree)).map_err(|error| {
            let message = error.to_string();
            let message = message.rsplit_once(" at line ").map_or(message.as_str(), |(what, _)| what);
            Faults::in_text(error.line().max(1), error.column().max(1), message)
        })?;
    let mut faults = faults.into_inner();
    find_faults::<T>(&tree, &mut faults);
    faults.tidied().into_result(())?;
    into_type(tree)
}

/// Reads TOML as a `T`, or says everything that is wrong with it, each with its line.
pub fn read_toml<T: DeserializeOwned + JsonSchema + 'static>(text: &str) -> Result<T, Faults> {
    let text = checked_size(text)?;
    let (tree, lines, mut faults) = toml_tree::parse(text)?;
    find_faults::<T>(&tree, &mut faults);
    faults.tidied().into_result(()).and_then(|()| into_type(tree)).map_err(|faults| lines.onto(faults))
}

/// Puts the lines of a TOML text onto faults that were found after it was read, and the faults in reading order.
pub fn with_toml_lines(text: &str, faults: Faults) -> Faults {
    match checked_size(text).and_then(toml_tree::parse) {
        Ok((_, lines, _)) => lines.onto(faults.tidied()),
        Err(_) => faults,
    }
}

/// The JSON Schema (2020-12) of a type, as a value.
pub fn schema_of<T: JsonSchema>() -> Value {
    schemars::schema_for!(T).to_value()
}

fn checked_size(text: &str) -> Result<&str, Faults> {
    if text.len() > MAX_BYTES {
        return Err(Faults::in_text(1, 1, format!("the text is larger than {} MiB", MAX_BYTES >> 20)));
    }
    Ok(text.strip_prefix('\u{feff}').unwrap_or(text))
}

fn find_faults<T: JsonSchema + 'static>(tree: &Value, faults: &mut Faults) {
    for error in validator_of::<T>().iter_errors(tree) {
        add_error(&error, faults);
    }
}

fn into_type<T: DeserializeOwned>(tree: Value) -> Result<T, Faults> {
    serde_path_to_error::deserialize(tree).map_err(|error| {
        let mut place = String::new();
        for part in error.path() {
            match part {
                serde_path_to_error::Segment::Seq { index } => place = format!("{place}/{index}"),
                serde_path_to_error::Segment::Map { key } => place = format!("{place}/{}", segment(key)),
                serde_path_to_error::Segment::Enum { .. } | serde_path_to_error::Segment::Unknown => {}
            }
        }
        Faults::one(place, error.inner().to_string())
    })
}

/// The compiled schema of a type; compiled once, since the same types are read again and again.
fn validator_of<T: JsonSchema + 'static>() -> Arc<Validator> {
    static COMPILED: LazyLock<Mutex<HashMap<TypeId, Arc<Validator>>>> = LazyLock::new(Mutex::default);
    let mut compiled = COMPILED.lock().unwrap_or_else(PoisonError::into_inner);
    let validator = compiled.entry(TypeId::of::<T>()).or_insert_with(|| {
        let validator = jsonschema::options()
            .with_keyword("unit", |_, unit, _| {
                Ok(Box::new(Unit(unit.as_str().unwrap_or_default().to_owned()))
                    as Box<dyn for<'i> Keyword<'i>>)
            })
            .build(&schema_of::<T>())
            .expect("BUG: a derived schema is a valid schema");
        Arc::new(validator)
    });
    Arc::clone(validator)
}

/// The schema keyword `unit`: a number must be exact in its unit.
struct Unit(String);

impl<'i> Keyword<'i> for Unit {
    fn validate(&self, instance: &'i Value) -> Result<(), ValidationError<'i>> {
        match instance {
            Value::Number(number) => check_unit(&self.0, number.as_str())
                .map_err(|fault| ValidationError::custom(fault.to_string())),
            _ => Ok(()),
        }
    }

    fn is_valid(&self, instance: &'i Value) -> bool {
        self.validate(instance).is_ok()
    }
}

/// Builds the tree of one value, noting keys that stand twice.
struct Tree<'a> {
    place: String,
    depth: usize,
    faults: &'a RefCell<Faults>,
}

impl Tree<'_> {
    fn inside<E: de::Error>(&self, key: &str) -> Result<Self, E> {
        if self.depth >= MAX_DEPTH {
            return Err(E::custom(format!("nested deeper than {MAX_DEPTH}")));
        }
        Ok(Self {
            place: format!("{}/{}", self.place, segment(key)),
            depth: self.depth + 1,
            faults: self.faults,
        })
    }
}

impl<'de> DeserializeSeed<'de> for Tree<'_> {
    type Value = Value;
    fn deserialize<D: de::Deserializer<'de>>(self, deserializer: D) -> Result<Value, D::Error> {
        deserializer.deserialize_any(self)
    }
}

/// The key under which serde_json hands over a number that keeps its text.
const NUMBER_KEY: &str = "$serde_json::private::Number";

impl<'de> Visitor<'de> for Tree<'_> {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_bool<E>(self, value: bool) -> Result<Value, E> {
        Ok(Value::Bool(value))
    }

    fn visit_i64<E>(self, value: i64) -> Result<Value, E> {
        Ok(Value::from(value))
    }

    fn visit_u64<E>(self, value: u64) -> Result<Value, E> {
        Ok(Value::from(value))
    }

    fn visit_f64<E>(self, value: f64) -> Result<Value, E> {
        Ok(Value::from(value))
    }

    fn visit_str<E>(self, value: &str) -> Result<Value, E> {
        Ok(Value::from(value))
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Value, A::Error> {
        let mut list = Vec::new();
        while let Some(item) = seq.next_element_seed(self.inside(&list.len().to_string())?)? {
            list.push(item);
        }
        Ok(Value::Array(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Value, A::Error> {
        let mut object = Map::new();
        while let Some(key) = entries.next_key::<String>()? {
            if key == NUMBER_KEY && object.is_empty() {
                let text = entries.next_value::<String>()?;
                return text.parse::<Number>().map(Value::Number).map_err(de::Error::custom);
            }
            let inside = self.inside(&key)?;
            let place = inside.place.clone();
            let value = entries.next_value_seed(inside)?;
            if object.insert(key, value).is_some() {
                self.faults.borrow_mut().add(place, "stands twice");
            }
        }
        Ok(Value::Object(object))
    }
}
