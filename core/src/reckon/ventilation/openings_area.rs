//! Free area of the openings through a dividing wall: one number for all of them, or a list.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::Value;

use crate::quantity::{Area, Mm2};

/// Free areas in mm²; a single number stands for a list of one.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct OpeningsArea(pub Vec<Mm2>);

impl OpeningsArea {
    /// All of them together.
    pub fn total(&self) -> Area {
        self.0.iter().map(|area| area.0).sum()
    }
}

impl Serialize for OpeningsArea {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self.0.as_slice() {
            [one] => one.serialize(serializer),
            many => many.serialize(serializer),
        }
    }
}

impl<'de> Deserialize<'de> for OpeningsArea {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        // Through a value, since an untagged enum would lose the decimals.
        let value = Value::deserialize(deserializer)?;
        let list = if value.is_array() { value } else { Value::Array(vec![value]) };
        Vec::<Mm2>::deserialize(list).map(Self).map_err(D::Error::custom)
    }
}

impl JsonSchema for OpeningsArea {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "OpeningsArea".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({"anyOf": [
            {"type": "number", "unit": "mm2", "minimum": 0},
            {"type": "array", "items": {"type": "number", "unit": "mm2", "minimum": 0}, "maxItems": 200}
        ]})
    }
}
