//! What a person may ask of the record: one vocabulary for the screens and for `gaugerod enter`.
//!
//! A [`Request`] is what people write (files by name, lengths in mm or m); whoever can read files turns it
//! into a [`Command`], in which every file is already taken in and every length is exact. Deciding is
//! [`super::decide`]'s.

use serde::Deserialize;
use serde_json::Value;

use super::curing_requests::{BookTemperature, NotePlacing, TakeInTemperatures};
use super::layer_requests::{BookLabel, BookPressureTest};
use super::level_requests::{BeginLevelBook, BookSight, RegisterBenchmark, RegisterInstrument};
use super::material_requests::{BookDelivery, BookTicket};
use super::pour_requests::{BookConditions, BookCubeResult, TakeCubes, TimePour};
use super::underlay::PlaceUnderlay;
use crate::entry::{
    Answer, AttachedFile, Because, BenchmarkRegistered, DeliveryBooked, Disposition, InstrumentRegistered,
    LabelBooked, LevelBookBegun, PhotoAdded, PlacingNoted, PourFact, PressureTestBooked, ReadValue,
    SightBooked, TemperaturesBooked, TicketBooked, UnderlayPlaced,
};
use crate::faults::Faults;
use crate::ids::{CriterionId, EntryId, GateId, HoldPointId, PlotId, PointName};

/// What is offered, released or refused: one hold point, or all of a gate that can be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Extent {
    /// One hold point.
    HoldPoint(HoldPointId),
    /// Every hold point of a gate that is ready for it.
    Gate(GateId),
}

/// A command in which nothing is left to read: what [`super::decide`] decides upon.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Command {
    /// A floor design comes into force for some plots.
    IssueDesign {
        /// The file's text.
        text: String,
        /// The plots that it is for.
        plots: Vec<PlotId>,
    },
    /// A plan of work comes into force.
    IssuePlan {
        /// The file's text.
        text: String,
    },
    /// A set of default limits comes into force.
    IssueLimits {
        /// The file's text.
        text: String,
    },
    /// An instrument is registered, or registered anew after a check.
    RegisterInstrument(InstrumentRegistered),
    /// A bench mark is registered, or registered anew after a check.
    RegisterBenchmark(BenchmarkRegistered),
    /// Something that happens on one plot.
    OnPlot {
        /// The plot.
        plot: PlotId,
        /// What happens there.
        act: Act,
    },
}

/// What can happen on a plot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Act {
    /// A value is read at a point.
    BookReading {
        /// The hold point that it proves.
        hold_point: HoldPointId,
        /// The criterion within it.
        criterion: CriterionId,
        /// Where it was read.
        point: PointName,
        /// What was read.
        value: ReadValue,
        /// With what.
        instrument: Option<String>,
    },
    /// A level book is begun.
    BeginLevelBook(LevelBookBegun),
    /// A sight is booked.
    BookSight(SightBooked),
    /// A level book is taken in with all of its sights, all or nothing.
    TakeInLevelBook {
        /// How it is begun.
        begun: LevelBookBegun,
        /// Its sights, in its order.
        sights: Vec<SightBooked>,
    },
    /// A delivery note is booked.
    BookDelivery(DeliveryBooked),
    /// A concrete ticket is booked.
    BookTicket(Box<TicketBooked>),
    /// Air and wind, a time, cubes taken or crushed are booked.
    BookPour(PourFact),
    /// It is noted when the topping was placed.
    NotePlacing(PlacingNoted),
    /// Temperatures of the curing topping are booked, all or nothing.
    BookTemperatures(TemperaturesBooked),
    /// A label is booked.
    BookLabel(LabelBooked),
    /// A pressure test is booked.
    BookPressureTest(PressureTestBooked),
    /// A drawing, already in the photo store, is placed behind the plan.
    PlaceUnderlay(UnderlayPlaced),
    /// A question is answered.
    Answer {
        /// The hold point.
        hold_point: HoldPointId,
        /// The question within it.
        criterion: CriterionId,
        /// The answer.
        answer: Answer,
        /// Why it does not apply.
        reason: Option<String>,
        /// What else there is to say.
        remark: Option<String>,
    },
    /// A photo, already in the photo store, is put under a subject.
    AddPhoto(PhotoAdded),
    /// A document, already in the photo store, is put under a criterion.
    Attach {
        /// The hold point.
        hold_point: HoldPointId,
        /// The criterion that asks for it.
        criterion: CriterionId,
        /// The file.
        document: AttachedFile,
    },
    /// Shown for release.
    Offer(Extent),
    /// Work may pass.
    Release(Extent),
    /// Work may not pass.
    Refuse {
        /// What is refused.
        extent: Extent,
        /// Why.
        reason: String,
    },
    /// Work went on over a hold point that nobody had released.
    CoverUnreleased {
        /// The hold point.
        hold_point: HoldPointId,
        /// Who covered it, when, and why.
        reason: String,
    },
    /// Something does not conform.
    RaiseNonconformance {
        /// The hold point.
        hold_point: HoldPointId,
        /// The criterion that it stands against, if one.
        criterion: Option<CriterionId>,
        /// What does not conform.
        what: String,
    },
    /// A nonconformance was put right.
    CloseNonconformance {
        /// The entry that stands for it.
        id: EntryId,
        /// What was done.
        disposition: Disposition,
        /// What there is to say about it.
        remark: String,
    },
    /// The named designer allows a nonconformance in writing.
    Concede {
        /// The entry that stands for it.
        id: EntryId,
        /// The designer.
        by: String,
        /// The writing.
        document: AttachedFile,
    },
    /// The designer's written assessment of a hold point in question.
    Assess {
        /// The hold point.
        hold_point: HoldPointId,
        /// The designer.
        by: String,
        /// The writing.
        document: AttachedFile,
    },
    /// An earlier entry is put right.
    Supersede {
        /// The earlier entry.
        id: EntryId,
        /// Why.
        because: Because,
        /// What else there is to say.
        remark: Option<String>,
        /// What takes its place: a reading, an answer, a photo or a document.
        with: Box<Act>,
    },
}

/// A file that a request names, not yet read.
pub type FileName = String;

/// A command as people write it, one JSON object a line.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Request {
    /// `issue-design`
    IssueDesign {
        /// A floor design file.
        file: FileName,
        /// The plots.
        plots: Vec<PlotId>,
    },
    /// `issue-plan`
    IssuePlan {
        /// A plan of work file.
        file: FileName,
    },
    /// `issue-limits`
    IssueLimits {
        /// A file of default limits.
        file: FileName,
    },
    /// `book-reading`
    BookReading(BookReading),
    /// `register-instrument`
    RegisterInstrument(RegisterInstrument),
    /// `register-benchmark`
    RegisterBenchmark(RegisterBenchmark),
    /// `begin-level-book`
    BeginLevelBook(BeginLevelBook),
    /// `book-sight`
    BookSight(BookSight),
    /// `take-in-level-book`
    TakeInLevelBook(BeginLevelBook),
    /// `book-delivery`
    BookDelivery(BookDelivery),
    /// `book-ticket`
    BookTicket(Box<BookTicket>),
    /// `book-conditions`
    BookConditions(BookConditions),
    /// `time-pour`
    TimePour(TimePour),
    /// `take-cubes`
    TakeCubes(TakeCubes),
    /// `book-cube-result`
    BookCubeResult(BookCubeResult),
    /// `note-placing`
    NotePlacing(NotePlacing),
    /// `book-temperature`
    BookTemperature(BookTemperature),
    /// `take-in-temperatures`
    TakeInTemperatures(TakeInTemperatures),
    /// `book-label`
    BookLabel(BookLabel),
    /// `book-pressure-test`
    BookPressureTest(BookPressureTest),
    /// `place-underlay`
    PlaceUnderlay(PlaceUnderlay),
    /// `answer`
    Answer {
        /// The plot.
        plot: PlotId,
        /// The hold point.
        hold_point: HoldPointId,
        /// The question.
        criterion: CriterionId,
        /// The answer.
        answer: Answer,
        /// Why it does not apply.
        #[serde(default)]
        reason: Option<String>,
        /// A remark.
        #[serde(default)]
        remark: Option<String>,
    },
    /// `add-photo`
    AddPhoto {
        /// The plot.
        plot: PlotId,
        /// The hold point.
        hold_point: HoldPointId,
        /// What it shows.
        subject: String,
        /// The photo.
        file: FileName,
        /// A caption.
        #[serde(default)]
        caption: Option<String>,
    },
    /// `attach`
    Attach {
        /// The plot.
        plot: PlotId,
        /// The hold point.
        hold_point: HoldPointId,
        /// The criterion that asks for the document.
        criterion: CriterionId,
        /// The document.
        file: FileName,
    },
    /// `offer`
    Offer {
        /// The plot.
        plot: PlotId,
        /// One hold point …
        #[serde(default)]
        hold_point: Option<HoldPointId>,
        /// … or one gate.
        #[serde(default)]
        gate: Option<GateId>,
    },
    /// `release`
    Release {
        /// The plot.
        plot: PlotId,
        /// One hold point …
        #[serde(default)]
        hold_point: Option<HoldPointId>,
        /// … or one gate.
        #[serde(default)]
        gate: Option<GateId>,
    },
    /// `refuse`
    Refuse {
        /// The plot.
        plot: PlotId,
        /// One hold point …
        #[serde(default)]
        hold_point: Option<HoldPointId>,
        /// … or one gate.
        #[serde(default)]
        gate: Option<GateId>,
        /// Why.
        reason: String,
    },
    /// `cover-unreleased`
    CoverUnreleased {
        /// The plot.
        plot: PlotId,
        /// The hold point.
        hold_point: HoldPointId,
        /// Who covered it, when, and why.
        reason: String,
    },
    /// `raise-nonconformance`
    RaiseNonconformance {
        /// The plot.
        plot: PlotId,
        /// The hold point.
        hold_point: HoldPointId,
        /// The criterion.
        #[serde(default)]
        criterion: Option<CriterionId>,
        /// What does not conform.
        what: String,
    },
    /// `close-nonconformance`
    CloseNonconformance {
        /// The plot; may be left out where the id is enough.
        #[serde(default)]
        plot: Option<PlotId>,
        /// The entry that stands for it.
        id: EntryId,
        /// What was done.
        disposition: Disposition,
        /// A remark.
        remark: String,
    },
    /// `concede`
    Concede {
        /// The plot; may be left out where the id is enough.
        #[serde(default)]
        plot: Option<PlotId>,
        /// The entry that stands for it.
        id: EntryId,
        /// The designer.
        by: String,
        /// The designer's writing.
        file: FileName,
    },
    /// `assess`
    Assess {
        /// The plot.
        plot: PlotId,
        /// The hold point.
        hold_point: HoldPointId,
        /// The designer.
        by: String,
        /// The designer's writing.
        file: FileName,
    },
    /// `supersede`
    Supersede {
        /// The earlier entry.
        id: EntryId,
        /// `misread`, `reworked` or `mistake`, and after a colon whatever else there is to say.
        reason: String,
        /// What takes its place.
        with: Value,
    },
}

/// A reading as people write it: the value's key ends in its unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BookReading {
    /// The plot.
    pub plot: PlotId,
    /// The hold point.
    pub hold_point: HoldPointId,
    /// The criterion.
    pub criterion: CriterionId,
    /// Where.
    pub point: PointName,
    /// What.
    pub value: ReadValue,
    /// With what.
    pub instrument: Option<String>,
}

impl<'de> Deserialize<'de> for BookReading {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        use serde::de::Error;
        let mut map = serde_json::Map::deserialize(deserializer)?;
        let mut text = |key: &str| -> Result<Option<String>, D::Error> {
            match map.remove(key) {
                None => Ok(None),
                Some(Value::String(text)) => Ok(Some(text)),
                Some(_) => Err(D::Error::custom(format!("{key} must be text"))),
            }
        };
        let plot = text("plot")?;
        let hold_point = text("hold_point")?;
        let criterion = text("criterion")?;
        let point = text("point")?;
        let instrument = text("instrument")?;
        let gauge = text("gauge")?;
        let mut value = match gauge.as_deref() {
            None => None,
            Some("go") => Some(ReadValue::Go),
            Some("no-go") => Some(ReadValue::NoGo),
            Some(_) => return Err(D::Error::custom("gauge must be \"go\" or \"no-go\"")),
        };
        for (key, found) in map {
            if !["_mm", "_m", "_mm2"].iter().any(|unit| key.ends_with(unit)) {
                return Err(D::Error::custom(format!("{key}: unknown key")));
            }
            if value.is_some() {
                return Err(D::Error::custom(format!("{key}: a reading has one value")));
            }
            let Value::Number(number) = found else {
                return Err(D::Error::custom(format!("{key}: must be a number")));
            };
            let unit = key.rsplit_once('_').map_or("", |(_, unit)| unit);
            let read = ReadValue::parse(&number.to_string(), unit);
            value = Some(read.map_err(|what| D::Error::custom(format!("{key}: {what}")))?);
        }
        let name = |text: Option<String>, key: &str| {
            text.ok_or_else(|| D::Error::custom(format!("{key}: is missing")))
        };
        let check = |fault: crate::ids::IdFault| D::Error::custom(fault);
        Ok(Self {
            plot: PlotId::new(&name(plot, "plot")?).map_err(check)?,
            hold_point: HoldPointId::new(&name(hold_point, "hold_point")?).map_err(check)?,
            criterion: CriterionId::new(&name(criterion, "criterion")?).map_err(check)?,
            point: PointName::new(&name(point, "point")?).map_err(check)?,
            value: value.ok_or_else(|| {
                D::Error::custom("a reading needs a value: a key that ends in _mm or _m, or gauge")
            })?,
            instrument,
        })
    }
}

/// The longest line that is taken as a request, in bytes.
pub const LONGEST_REQUEST: usize = 64 * 1024;

impl Request {
    /// Reads one line: `{"do": COMMAND, …}`.
    ///
    /// # Errors
    /// The line is no JSON object, names no command, or its fields are not those of that command.
    pub fn read(line: &str) -> Result<Self, Faults> {
        if line.len() > LONGEST_REQUEST {
            return Err(Faults::one("", format!("a command is at most {LONGEST_REQUEST} bytes")));
        }
        let value: Value = serde_json::from_str(line)
            .map_err(|error| Faults::in_text(error.line(), error.column(), "is no JSON object"))?;
        Self::from_value(value)
    }

    /// Reads a request that is already JSON.
    ///
    /// # Errors
    /// As [`Request::read`].
    pub fn from_value(value: Value) -> Result<Self, Faults> {
        let Value::Object(mut map) = value else {
            return Err(Faults::one("", "must be an object such as {\"do\": \"offer\", …}"));
        };
        let Some(Value::String(name)) = map.remove("do") else {
            return Err(Faults::one("/do", "must name a command, such as \"book-reading\""));
        };
        // serde's own internally tagged enums lose the text of decimals: hence the tag is moved outside.
        let mut outer = serde_json::Map::new();
        outer.insert(name, Value::Object(map));
        serde_path_to_error::deserialize(Value::Object(outer)).map_err(|error| {
            let path = error.path().to_string();
            let place = path
                .split_once('.')
                .map_or(String::new(), |(_, rest)| format!("/{}", rest.replace('.', "/")));
            Faults::one(place, error.into_inner().to_string())
        })
    }

    /// The plot, the hold point or gate.
    pub(crate) fn extent(hold_point: Option<HoldPointId>, gate: Option<GateId>) -> Result<Extent, Faults> {
        match (hold_point, gate) {
            (Some(id), None) => Ok(Extent::HoldPoint(id)),
            (None, Some(id)) => Ok(Extent::Gate(id)),
            _ => Err(Faults::one("/hold_point", "name either a hold point or a gate".to_owned())),
        }
    }
}

/// Splits `misread: staff was not plumb` into the reason and the remark.
///
/// # Errors
/// The text does not begin with `misread`, `reworked`, `mistake` or `measured`.
pub fn read_because(reason: &str) -> Result<(Because, Option<String>), Faults> {
    let (word, rest) = reason.split_once(':').unwrap_or((reason, ""));
    let because = match word.trim() {
        "misread" => Because::Misread,
        "reworked" => Because::Reworked,
        "mistake" => Because::Mistake,
        "measured" => Because::Measured,
        _ => {
            let what = "must begin with misread, reworked, mistake or measured, such as \"misread: staff not plumb\"";
            return Err(Faults::one("/reason", what.to_owned()));
        }
    };
    let remark = (!rest.trim().is_empty()).then(|| rest.trim().to_owned());
    Ok((because, remark))
}
