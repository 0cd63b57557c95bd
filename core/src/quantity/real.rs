//! Plain decimal numbers of physics and statistics, held as binary floats: never a length that meets a limit.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use serde_json::Number;

use super::QuantityFault;

/// A plain decimal number as a binary float; finite, and 0 only when 0 was written.
#[derive(Debug, Clone, Copy, Default, PartialEq, PartialOrd)]
pub struct Real(pub f64);

impl Real {
    /// Reads a decimal number; refuses what a binary float cannot hold.
    pub fn parse(text: &str) -> Result<Self, QuantityFault> {
        let value: f64 = text.parse().map_err(|_| QuantityFault::NotANumber)?;
        if !value.is_finite() {
            return Err(QuantityFault::NotFinite);
        }
        let mantissa = text.split(['e', 'E']).next().unwrap_or_default();
        let nothing = !mantissa.bytes().any(|digit| digit.is_ascii_digit() && digit != b'0');
        if value.abs() < 1e-300 && !nothing {
            return Err(QuantityFault::TooNearZero);
        }
        Ok(Self(value))
    }
}

impl From<f64> for Real {
    fn from(value: f64) -> Self {
        Self(value)
    }
}

impl Serialize for Real {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_f64(self.0)
    }
}

impl<'de> Deserialize<'de> for Real {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Self::parse(Number::deserialize(deserializer)?.as_str()).map_err(de::Error::custom)
    }
}

impl JsonSchema for Real {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "Real".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({"type": "number", "unit": "real"})
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_binary_float_cannot_hold_is_refused() {
        for (text, expect) in [
            ("0.1", Ok(Real(0.1))),
            ("-12.5e-3", Ok(Real(-0.0125))),
            ("0.30000000000000004", Ok(Real(0.1 + 0.2))),
            ("0", Ok(Real(0.0))),
            ("-0.000e-999", Ok(Real(0.0))),
            ("1e-999", Err(QuantityFault::TooNearZero)),
            ("1e999", Err(QuantityFault::NotFinite)),
            ("inf", Err(QuantityFault::NotFinite)),
            ("NaN", Err(QuantityFault::NotFinite)),
            ("a", Err(QuantityFault::NotANumber)),
        ] {
            assert_eq!(Real::parse(text), expect, "{text}");
        }
    }
}
