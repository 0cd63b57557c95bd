//! A drawing placed behind the plan.

use serde::{Deserialize, Serialize};

use super::AttachedFile;
use crate::quantity::Length;

/// A page of the setting-out drawing was placed behind the plan by two of its places. Its bytes lie beside the photos
/// under their digest; the last placing on a plot governs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UnderlayPlaced {
    /// The drawing: a PDF, a JPEG or a PNG.
    pub document: AttachedFile,
    /// The page of it, from 1; 1 for a picture.
    pub page: u32,
    /// The revision that the drawing itself states.
    pub revision: String,
    /// Two places on the page as it is seen upright: x and y in millionths of its width, from its upper left corner, y
    /// downwards. The width measures both ways, so that the page's proportions need not be known.
    pub picture_ppm: [[i64; 2]; 2],
    /// The same two places on the plan, in micrometres: x, then y upwards.
    pub plan_um: [[Length; 2]; 2],
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::{Fact, Recorded, VERSION};
    use crate::ids::Sha256Digest;
    use crate::record::canonical;

    fn placed() -> UnderlayPlaced {
        UnderlayPlaced {
            document: AttachedFile {
                sha256: Sha256Digest([0xAB; 32]),
                bytes: 81_920,
                media_type: "application/pdf".to_owned(),
                name: "setting-out.pdf".to_owned(),
            },
            page: 2,
            revision: "B".to_owned(),
            picture_ppm: [[125_000, 640_250], [875_000, 640_250]],
            plan_um: [[Length::ZERO, Length::ZERO], [Length::from_mm(8_400), Length::from_mm(-5)]],
        }
    }

    /// The payload's canonical text and its SHA-256, worked out by another program (Python's `json` and `hashlib`) from
    /// FORMAT.md: a change of the recorded form fails here.
    #[test]
    fn its_canonical_bytes_are_those_of_the_format() {
        let text = canonical::encode(&Fact::from(placed()).to_value()).unwrap();
        let expect = "{\"document\":{\"bytes\":81920,\"media_type\":\"application/pdf\",\"name\":\"setting-out.pdf\",\
            \"sha256\":\"abababababababababababababababababababababababababababababababab\"},\"page\":2,\
            \"picture_ppm\":[[125000,640250],[875000,640250]],\"plan_um\":[[0,0],[8400000,-5000]],\"revision\":\"B\"}";
        assert_eq!(text, expect);
        let digest = Sha256Digest::of(text.as_bytes()).to_hex();
        assert_eq!(digest, "fefd0e6c3f1a8334f8d4b74894c525abcde42ff8d65bce78ed25677fd1557058");
    }

    #[test]
    fn it_survives_its_json_and_takes_no_foreign_field() {
        let fact = Fact::from(placed());
        let mut value = fact.to_value();
        assert_eq!(Recorded::read("underlay-placed", VERSION, &value), Recorded::Known(Box::new(fact)));
        value["scale"] = 100.into();
        assert!(matches!(Recorded::read("underlay-placed", VERSION, &value), Recorded::Malformed { .. }));
    }
}
