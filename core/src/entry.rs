//! Everything that can be recorded: one struct for each kind of entry, versioned by its kind and version
//! number, turned into the record's JSON and back.
//!
//! An entry states what happened, never what follows from it: states and verdicts are derived in
//! [`crate::inspection`]. Lengths are whole micrometres (`…_um`). A kind or version that this program does
//! not know is [`Recorded::Unknown`]: it is kept and shown, never dropped and never decided over.
//!
//! Longer than most files because every kind of entry is registered here, with its name and version.

mod curing;
mod levelling;
mod materials;
mod pour;
mod underlay;

pub use curing::{PlacingNoted, Temperature, TemperaturesBooked};
pub use levelling::{
    BenchmarkRegistered, BookAllowable, BookMethod, InstrumentKind, InstrumentRegistered, LevelBookBegun,
    Serves, SightBooked, SightKind, TwoPegTest,
};
pub use underlay::UnderlayPlaced;

pub use materials::{DeliveryBooked, DeliveryLine, LabelBooked, PressureTestBooked, TicketBooked};
pub use pour::{ConditionsBooked, CubesTaken, CubesTested, PourFact, PourMoment, PourTimed};

use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::ids::{
    CriterionId, DeviceId, EntryId, GateId, HoldPointId, PersonId, PlotId, PointName, RegisterId,
    Sha256Digest,
};
use crate::plan_of_work::Role;
use crate::time::Timestamp;

/// The longest text that a person may write in one field, in characters.
pub const LONGEST_TEXT: usize = 2_000;

/// The site's record begins.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RegisterOpened {
    /// The register's identity.
    pub register: RegisterId,
    /// The site's name.
    pub site: String,
    /// True for invented data: every screen and page says so.
    pub invented: bool,
    /// DER of the register's own authority certificate, in hex.
    pub authority: String,
    /// The device that begins it. Later ones are enrolled.
    pub device: DeviceEnrolled,
}

/// A device may write from now on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DeviceEnrolled {
    /// The device's writing identity.
    pub device: DeviceId,
    /// What people call it.
    pub name: String,
    /// Its public key: the P-256 point as hex (SEC 1).
    pub public_key: String,
}

/// A person may act from now on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PersonEnrolled {
    /// The person's identity in this register.
    pub person: PersonId,
    /// The person's name.
    pub name: String,
    /// What the person may do.
    pub role: Role,
    /// DER of the certificate that the register's authority issued, in hex.
    pub certificate: String,
}

/// A person may no longer act.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PersonRevoked {
    /// Who.
    pub person: PersonId,
    /// Why.
    pub reason: String,
}

/// A set of default limits comes into force.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LimitsIssued {
    /// The file as it was read.
    pub text: String,
}

/// A plan of work comes into force.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlanIssued {
    /// The file as it was read.
    pub text: String,
}

/// A floor design comes into force for some plots.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DesignIssued {
    /// The file as it was read.
    pub text: String,
    /// The plots that are built to it from now on.
    pub plots: Vec<PlotId>,
}

/// What was read: a measured value, or what a gauge said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ReadValue {
    /// A level above the site datum or a length, in whole micrometres.
    Um(i64),
    /// An area, in whole square micrometres.
    Um2(i64),
    /// A go/no-go gauge passed.
    Go,
    /// A go/no-go gauge did not pass.
    NoGo,
}

/// A value was read at a point.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReadingBooked {
    /// The hold point that it proves.
    pub hold_point: HoldPointId,
    /// The criterion within it.
    pub criterion: CriterionId,
    /// Where it was read.
    pub point: PointName,
    /// What was read.
    pub value: ReadValue,
    /// With what, in the site's own words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instrument: Option<String>,
}

/// The answer to a question of the plan of work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Answer {
    /// It is so.
    Yes,
    /// It is not so: nonconforming.
    No,
    /// The question does not arise here; needs a reason.
    NotApplicable,
}

/// A question was answered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct QuestionAnswered {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The question within it.
    pub criterion: CriterionId,
    /// The answer.
    pub answer: Answer,
    /// Why it does not apply, from the plan's own list.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    /// What else there is to say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub remark: Option<String>,
}

/// A photo was taken in. Its bytes lie in the photo store under their digest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PhotoAdded {
    /// The hold point that it shows.
    pub hold_point: HoldPointId,
    /// What of it: a subject code of the plan of work, with the place where there are several (`wall:A`).
    pub subject: String,
    /// SHA-256 of the original bytes.
    pub photo: Sha256Digest,
    /// Number of the original bytes.
    pub bytes: u64,
    /// `image/jpeg` or `image/png`.
    pub media_type: String,
    /// Width in pixels, as stored (before any rotation).
    pub width: u32,
    /// Height in pixels, as stored (before any rotation).
    pub height: u32,
    /// EXIF orientation, 1 to 8; 1 where none is stated.
    pub orientation: u8,
    /// When the camera says that it was taken.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub captured: Option<Timestamp>,
    /// What there is to say about it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub caption: Option<String>,
}

/// A document was attached. Its bytes lie beside the photos under their digest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DocumentAttached {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The criterion that asks for it.
    pub criterion: CriterionId,
    /// The file.
    pub document: AttachedFile,
}

/// A file that lies beside the photos.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AttachedFile {
    /// SHA-256 of its bytes.
    pub sha256: Sha256Digest,
    /// Number of its bytes.
    pub bytes: u64,
    /// Its media type.
    pub media_type: String,
    /// Its name as it came, without folders.
    pub name: String,
}

/// Hold points are shown for release.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Offered {
    /// Every hold point that is offered.
    pub hold_points: Vec<HoldPointId>,
    /// The gate, where they were offered as one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gate: Option<GateId>,
}

/// Hold points are released: work may pass.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Released {
    /// Every hold point that is released.
    pub hold_points: Vec<HoldPointId>,
    /// The gate, where they were released as one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gate: Option<GateId>,
}

/// Hold points are refused: each refusal raises a nonconformance.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Refused {
    /// Every hold point that is refused.
    pub hold_points: Vec<HoldPointId>,
    /// The gate, where they were refused as one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gate: Option<GateId>,
    /// Why.
    pub reason: String,
}

/// Work went on over a hold point that nobody had released. Anyone may say so.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CoveredUnreleased {
    /// The hold point that was covered.
    pub hold_point: HoldPointId,
    /// Who covered it, when, and why.
    pub reason: String,
}

/// Something does not conform.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NonconformanceRaised {
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The criterion that it stands against, if one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub criterion: Option<CriterionId>,
    /// What does not conform.
    pub what: String,
}

/// What was done about a nonconformance (words of ISO 9000; a concession has an entry of its own).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Disposition {
    /// The nonconformity was eliminated.
    Correction,
    /// Made again so that it conforms.
    Rework,
    /// Made fit for its use.
    Repair,
    /// Given to a use whose requirement it meets.
    Regrade,
    /// Taken out and thrown away.
    Scrap,
}

impl Disposition {
    /// The word as people say it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Correction => "correction",
            Self::Rework => "rework",
            Self::Repair => "repair",
            Self::Regrade => "regrade",
            Self::Scrap => "scrap",
        }
    }
}

/// A nonconformance is closed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NonconformanceClosed {
    /// The entry that stands for the nonconformance.
    pub nonconformance: EntryId,
    /// What was done.
    pub disposition: Disposition,
    /// What there is to say about it.
    pub remark: String,
}

/// The named designer allows what does not conform, in writing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ConcessionGranted {
    /// The entry that stands for the nonconformance.
    pub nonconformance: EntryId,
    /// The designer who granted it.
    pub by: String,
    /// The designer's writing.
    pub document: AttachedFile,
}

/// The designer's written assessment of a hold point that is in question though already covered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Assessed {
    /// The hold point in question.
    pub hold_point: HoldPointId,
    /// The designer who assessed it.
    pub by: String,
    /// The designer's writing.
    pub document: AttachedFile,
}

/// The signed sign-off of a plot was issued.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SignOffIssued {
    /// SHA-256 of the signed document.
    pub document: Sha256Digest,
    /// Number of its bytes.
    pub bytes: u64,
    /// The record's root that the document states.
    pub root: Sha256Digest,
}

/// Too many wrong PINs: this person's key is locked on this device.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LockedOut {
    /// Whose PIN was wrong.
    pub person: PersonId,
    /// How often in a row.
    pub wrong_pins: u32,
}

/// This entry takes the place of an earlier one. Both stay readable.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Supersedes {
    /// The earlier entry.
    pub entry: EntryId,
    /// Why.
    pub because: Because,
    /// What else there is to say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub remark: Option<String>,
}

/// Why an entry is superseded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Because {
    /// The work was as it is now: the first reading was wrong.
    Misread,
    /// The work was changed: the first reading was right in its time.
    Reworked,
    /// The entry itself was a slip (wrong point, wrong photo).
    Mistake,
    /// A gauge did not pass there; the number says how far it is out.
    Measured,
}

macro_rules! payloads {
    ($($(#[$doc:meta])* $variant:ident = $kind:literal,)+) => {
        /// One recorded fact, known to this program.
        #[expect(clippy::large_enum_variant, reason = "a ticket has many fields, and payloads are not kept in numbers")]
        #[derive(Debug, Clone, PartialEq, Eq)]
        pub enum Payload {
            $($(#[$doc])* $variant($variant),)+
        }

        impl Payload {
            /// The kinds that this program knows, each in version 1.
            pub const KINDS: &'static [&'static str] = &[$($kind),+];

            /// The kind's name in the record.
            pub const fn kind(&self) -> &'static str {
                match self { $(Self::$variant(_) => $kind,)+ }
            }

            fn fields(&self) -> Result<Value, serde_json::Error> {
                match self { $(Self::$variant(inner) => serde_json::to_value(inner),)+ }
            }

            fn read(kind: &str, value: Value) -> Option<Result<Self, serde_json::Error>> {
                match kind {
                    $($kind => Some(serde_json::from_value(value).map(Self::$variant)),)+
                    _ => None,
                }
            }
        }

        $(impl From<$variant> for Payload {
            fn from(inner: $variant) -> Self {
                Self::$variant(inner)
            }
        })+
    };
}

payloads! {
    /// See [`RegisterOpened`].
    RegisterOpened = "register-opened",
    /// See [`DeviceEnrolled`].
    DeviceEnrolled = "device-enrolled",
    /// See [`PersonEnrolled`].
    PersonEnrolled = "person-enrolled",
    /// See [`PersonRevoked`].
    PersonRevoked = "person-revoked",
    /// See [`LimitsIssued`].
    LimitsIssued = "limits-issued",
    /// See [`PlanIssued`].
    PlanIssued = "plan-issued",
    /// See [`DesignIssued`].
    DesignIssued = "design-issued",
    /// See [`ReadingBooked`].
    ReadingBooked = "reading-booked",
    /// See [`QuestionAnswered`].
    QuestionAnswered = "question-answered",
    /// See [`PhotoAdded`].
    PhotoAdded = "photo-added",
    /// See [`DocumentAttached`].
    DocumentAttached = "document-attached",
    /// See [`Offered`].
    Offered = "offered",
    /// See [`Released`].
    Released = "released",
    /// See [`Refused`].
    Refused = "refused",
    /// See [`CoveredUnreleased`].
    CoveredUnreleased = "covered-unreleased",
    /// See [`NonconformanceRaised`].
    NonconformanceRaised = "nonconformance-raised",
    /// See [`NonconformanceClosed`].
    NonconformanceClosed = "nonconformance-closed",
    /// See [`ConcessionGranted`].
    ConcessionGranted = "concession-granted",
    /// See [`Assessed`].
    Assessed = "assessed",
    /// See [`SignOffIssued`].
    SignOffIssued = "sign-off-issued",
    /// See [`LockedOut`].
    LockedOut = "locked-out",
    /// See [`InstrumentRegistered`].
    InstrumentRegistered = "instrument-registered",
    /// See [`BenchmarkRegistered`].
    BenchmarkRegistered = "benchmark-registered",
    /// See [`LevelBookBegun`].
    LevelBookBegun = "level-book-begun",
    /// See [`SightBooked`].
    SightBooked = "sight-booked",
    /// See [`DeliveryBooked`].
    DeliveryBooked = "delivery-booked",
    /// See [`TicketBooked`].
    TicketBooked = "ticket-booked",
    /// See [`LabelBooked`].
    LabelBooked = "label-booked",
    /// See [`PressureTestBooked`].
    PressureTestBooked = "pressure-test-booked",
    /// See [`UnderlayPlaced`].
    UnderlayPlaced = "underlay-placed",
    /// See [`ConditionsBooked`].
    ConditionsBooked = "conditions-booked",
    /// See [`PourTimed`].
    PourTimed = "pour-timed",
    /// See [`CubesTaken`].
    CubesTaken = "cubes-taken",
    /// See [`CubesTested`].
    CubesTested = "cubes-tested",
    /// See [`PlacingNoted`].
    PlacingNoted = "placing-noted",
    /// See [`TemperaturesBooked`].
    TemperaturesBooked = "temperatures-booked",
}

/// The version in which every kind is written today.
pub const VERSION: u32 = 1;

/// What an entry says: a fact, and the earlier entry whose place it takes, if any.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fact {
    /// The fact itself.
    pub payload: Payload,
    /// The earlier entry that it supersedes.
    pub supersedes: Option<Supersedes>,
}

impl<T: Into<Payload>> From<T> for Fact {
    fn from(payload: T) -> Self {
        Self { payload: payload.into(), supersedes: None }
    }
}

/// The key under which a payload names the entry that it supersedes.
const SUPERSEDES: &str = "supersedes";

impl Fact {
    /// The payload's JSON, as the record holds it.
    pub fn to_value(&self) -> Value {
        let mut value = self.payload.fields().expect("BUG: a payload has text keys only");
        if let (Some(supersedes), Value::Object(fields)) = (&self.supersedes, &mut value) {
            let inner = serde_json::to_value(supersedes).expect("BUG: a payload has text keys only");
            fields.insert(SUPERSEDES.to_owned(), inner);
        }
        value
    }
}

/// An entry's content as this program understands it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Recorded {
    /// A fact of a known kind and version.
    Known(Box<Fact>),
    /// Written by a newer program: kept, shown, handed on; nothing is decided over it.
    Unknown {
        /// Its kind.
        kind: String,
        /// Its version.
        version: u32,
    },
    /// Of a known kind and version, but its fields are not those of that kind.
    Malformed {
        /// Its kind.
        kind: String,
        /// What is wrong with it.
        what: String,
    },
}

impl Recorded {
    /// Understands a payload by its kind and version.
    pub fn read(kind: &str, version: u32, payload: &Value) -> Self {
        if version != VERSION {
            return Self::Unknown { kind: kind.to_owned(), version };
        }
        let malformed =
            |error: serde_json::Error| Self::Malformed { kind: kind.to_owned(), what: error.to_string() };
        let mut fields = payload.clone();
        let supersedes = match fields.as_object_mut().and_then(|map| map.remove(SUPERSEDES)) {
            None => None,
            Some(inner) => match serde_json::from_value(inner) {
                Ok(supersedes) => Some(supersedes),
                Err(error) => return malformed(error),
            },
        };
        match Payload::read(kind, fields) {
            None => Self::Unknown { kind: kind.to_owned(), version },
            Some(Ok(payload)) => Self::Known(Box::new(Fact { payload, supersedes })),
            Some(Err(error)) => malformed(error),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading() -> Fact {
        Fact {
            payload: ReadingBooked {
                hold_point: HoldPointId::new("bearing-level").unwrap(),
                criterion: CriterionId::new("level").unwrap(),
                point: PointName::new("B5").unwrap(),
                value: ReadValue::Um(47_819_000),
                instrument: None,
            }
            .into(),
            supersedes: Some(Supersedes { entry: EntryId([7; 32]), because: Because::Misread, remark: None }),
        }
    }

    #[test]
    fn a_fact_survives_its_json() {
        let fact = reading();
        let read = Recorded::read("reading-booked", VERSION, &fact.to_value());
        assert_eq!(read, Recorded::Known(Box::new(fact)));
    }

    #[test]
    fn an_unknown_kind_or_version_is_kept_as_unknown() {
        let value = reading().to_value();
        for (kind, version) in [("weather-booked", 1), ("reading-booked", 2)] {
            let read = Recorded::read(kind, version, &value);
            assert!(matches!(read, Recorded::Unknown { .. }), "{kind} {version}");
        }
    }

    #[test]
    fn a_known_kind_with_a_foreign_field_is_malformed() {
        let mut value = reading().to_value();
        value["colour"] = "green".into();
        let read = Recorded::read("reading-booked", VERSION, &value);
        assert!(matches!(read, Recorded::Malformed { .. }));
    }
}
