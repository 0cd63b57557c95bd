//! Names of things: digests and identities as fixed bytes printed in lower-case hex, and the names
//! that people gave (plots, hold points, criteria) as short checked text.
//!
//! Nothing here draws random numbers: whoever needs a new identity passes the bytes in.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use sha2::{Digest as _, Sha256};

/// Why a text is no id or no name.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum IdFault {
    /// Not exactly the wanted number of lower-case hexadecimal digits.
    #[error("must be {wanted} lower-case hexadecimal digits")]
    Hex {
        /// Digits wanted.
        wanted: usize,
    },
    /// A name that is empty, too long, or holds control characters or outer blanks.
    #[error("must be 1 to {most} characters without control characters or outer blanks")]
    Name {
        /// The most characters a name may have.
        most: usize,
    },
}

macro_rules! hex_id {
    ($(#[$doc:meta])* $name:ident, $bytes:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub [u8; $bytes]);

        impl $name {
            /// The lower-case hexadecimal text.
            pub fn to_hex(self) -> String {
                hex::encode(self.0)
            }

            /// The first eight hexadecimal digits: for people to tell two apart, never for proof.
            pub fn short(self) -> String {
                self.to_hex()[..8].to_owned()
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.to_hex())
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{}({})", stringify!($name), self.short())
            }
        }

        impl FromStr for $name {
            type Err = IdFault;
            fn from_str(text: &str) -> Result<Self, IdFault> {
                let fault = IdFault::Hex { wanted: $bytes * 2 };
                if text.bytes().any(|b| b.is_ascii_uppercase()) {
                    return Err(fault);
                }
                let mut bytes = [0; $bytes];
                hex::decode_to_slice(text, &mut bytes).map_err(|_| fault)?;
                Ok(Self(bytes))
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.serialize_str(&self.to_hex())
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                String::deserialize(deserializer)?
                    .parse()
                    .map_err(serde::de::Error::custom)
            }
        }
    };
}

hex_id!(
    /// One register (one site's record). 16 random bytes drawn when it is made.
    RegisterId,
    16
);
hex_id!(
    /// One device's writing identity in a register. 16 random bytes.
    DeviceId,
    16
);
hex_id!(
    /// One person in a register. 16 random bytes.
    PersonId,
    16
);
hex_id!(
    /// One entry: SHA-256 of its tagged header.
    EntryId,
    32
);
hex_id!(
    /// SHA-256 of some bytes: a photo, a document, a payload.
    Sha256Digest,
    32
);

impl Sha256Digest {
    /// The digest of these bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }
}

macro_rules! name_id {
    ($(#[$doc:meta])* $name:ident, $most:literal) => {
        $(#[$doc])*
        #[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub struct $name(String);

        impl $name {
            /// The most characters that this name may have.
            pub const MOST_CHARACTERS: usize = $most;

            /// Takes a name after checking it.
            pub fn new(text: &str) -> Result<Self, IdFault> {
                let long = text.chars().take($most + 1).count() > $most;
                if text.is_empty() || long || text.trim() != text || text.chars().any(char::is_control) {
                    return Err(IdFault::Name { most: $most });
                }
                Ok(Self(text.to_owned()))
            }

            /// The name as text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl FromStr for $name {
            type Err = IdFault;
            fn from_str(text: &str) -> Result<Self, IdFault> {
                Self::new(text)
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.serialize_str(&self.0)
            }
        }

        impl schemars::JsonSchema for $name {
            fn inline_schema() -> bool {
                true
            }
            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($name).into()
            }
            fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
                schemars::json_schema!({ "type": "string", "minLength": 1, "maxLength": $most })
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                Self::new(&String::deserialize(deserializer)?).map_err(serde::de::Error::custom)
            }
        }
    };
}

name_id!(
    /// A plot of the site, by the name that the site gives it (`14`, `7A`).
    PlotId,
    40
);
name_id!(
    /// A hold point of the plan of work (`bearing-level`).
    HoldPointId,
    60
);
name_id!(
    /// A gate of the plan of work (`ready-for-beams`).
    GateId,
    60
);
name_id!(
    /// A criterion within a hold point (`level`).
    CriterionId,
    60
);
name_id!(
    /// A reading point, wall, vent or other named place of the floor design (`B5`).
    PointName,
    60
);

name_id!(
    /// A level book of a plot (`L1`).
    LevelBookName,
    40
);
name_id!(
    /// An instrument of the site, by the name that the site gives it (`level 2`).
    InstrumentName,
    60
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_digest_prints_and_parses_back() {
        let digest = Sha256Digest::of(b"abc");
        // FIPS 180-4 example: SHA-256("abc").
        assert_eq!(digest.to_hex(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
        assert_eq!(digest.to_hex().parse::<Sha256Digest>(), Ok(digest));
    }

    #[test]
    fn upper_case_short_and_foreign_hex_is_refused() {
        for text in ["", "00", &"AB".repeat(16), &"zz".repeat(16)] {
            assert!(text.parse::<DeviceId>().is_err(), "{text}");
        }
    }

    #[test]
    fn a_name_is_bounded_and_printable() {
        assert!(PlotId::new("14").is_ok());
        assert!(PlotId::new(&"x".repeat(40)).is_ok());
        for text in ["", " 14", "14 ", "1\n4", &"x".repeat(41)] {
            assert!(PlotId::new(text).is_err(), "{text:?}");
        }
    }
}
