//! What people ask for when levelling, as they write it: lengths in m or mm with keys that end in their unit.

use serde::Deserialize;

use crate::entry::{
    BenchmarkRegistered, BookAllowable, BookMethod, InstrumentKind, InstrumentRegistered, LevelBookBegun,
    Serves, SightBooked, SightKind, TwoPegTest,
};
use crate::faults::Faults;
use crate::ids::{InstrumentName, LevelBookName, PlotId, PointName};
use crate::quantity::{Length, Metres, Mm};
use crate::time::Date;

/// `register-instrument`
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RegisterInstrument {
    /// Its name on this site.
    pub instrument: InstrumentName,
    /// What it is.
    pub kind: InstrumentKind,
    /// Its stated expanded uncertainty for one value.
    pub expanded_uncertainty_mm: Mm,
    /// When it was last checked.
    pub checked: Date,
    /// The last day on which that check holds.
    pub due: Date,
    /// The two-peg test of that check.
    #[serde(default)]
    pub two_peg: Option<TwoPegRequest>,
    /// What else there is to say.
    #[serde(default)]
    pub remark: Option<String>,
}

/// A two-peg test as people write it, and as `gaugerod reckon two-peg` takes it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TwoPegRequest {
    /// Set up midway.
    pub mid: PegReadings,
    /// Set up near A.
    pub end: PegReadings,
    /// Distance from A to B.
    pub distance_m: Metres,
    /// What the instrument may miss on 10 m.
    pub allowable_mm_per_10_m: Mm,
}

/// Staff readings on the two pegs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PegReadings {
    /// On A.
    pub a_m: Metres,
    /// On B.
    pub b_m: Metres,
}

impl From<RegisterInstrument> for InstrumentRegistered {
    fn from(own: RegisterInstrument) -> Self {
        Self {
            instrument: own.instrument,
            kind: own.kind,
            expanded_uncertainty_um: own.expanded_uncertainty_mm.0.um(),
            checked: own.checked,
            due: own.due,
            two_peg: own.two_peg.map(Into::into),
            remark: own.remark,
        }
    }
}

impl From<TwoPegRequest> for TwoPegTest {
    fn from(test: TwoPegRequest) -> Self {
        Self {
            mid_a_um: test.mid.a_m.0.um(),
            mid_b_um: test.mid.b_m.0.um(),
            end_a_um: test.end.a_m.0.um(),
            end_b_um: test.end.b_m.0.um(),
            distance_um: test.distance_m.0.um(),
            allowable_um_per_10_m: test.allowable_mm_per_10_m.0.um(),
        }
    }
}

/// `register-benchmark`
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RegisterBenchmark {
    /// Its name on this site.
    pub benchmark: PointName,
    /// Its level above the site datum.
    pub level_m: Metres,
    /// When it was last checked.
    pub checked: Date,
    /// Where the level comes from.
    pub source: String,
}

impl From<RegisterBenchmark> for BenchmarkRegistered {
    fn from(own: RegisterBenchmark) -> Self {
        Self {
            benchmark: own.benchmark,
            level_um: own.level_m.0.um(),
            checked: own.checked,
            source: own.source,
        }
    }
}

/// `begin-level-book`, and `take-in-level-book` for a book kept elsewhere, from a CSV file.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BeginLevelBook {
    /// The plot.
    pub plot: PlotId,
    /// The CSV file of a book that is taken in.
    #[serde(default)]
    pub file: Option<String>,
    /// Its name, once on a plot.
    pub book: LevelBookName,
    /// How it is kept.
    pub method: BookMethod,
    /// The bench mark that it starts on.
    pub benchmark: PointName,
    /// The instrument that reads.
    pub instrument: InstrumentName,
    /// The criteria whose points it levels; left out: every one that asks for levels of bearings or of the oversite.
    #[serde(default)]
    pub serves: Option<Vec<Serves>>,
    /// For a receiver: the level that it is set to.
    #[serde(default)]
    pub target_m: Option<Metres>,
    /// What the book may miss; left out: the limit of the design or the defaults.
    #[serde(default)]
    pub allowable: Option<AllowableRequest>,
}

/// What a book may miss, as people write it: `per_root_setup_mm`, or `per_root_km_mm` with `distance_m`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AllowableRequest {
    /// Times the root of the number of set-ups.
    #[serde(default)]
    pub per_root_setup_mm: Option<Mm>,
    /// Times the root of the kilometres levelled.
    #[serde(default)]
    pub per_root_km_mm: Option<Mm>,
    /// The distance levelled.
    #[serde(default)]
    pub distance_m: Option<Metres>,
}

impl AllowableRequest {
    fn allowable(self) -> Result<BookAllowable, Faults> {
        match (self.per_root_setup_mm, self.per_root_km_mm, self.distance_m) {
            (Some(one), None, None) => Ok(BookAllowable::PerRootSetup { um: one.0.um() }),
            (None, Some(one), Some(distance)) => {
                Ok(BookAllowable::PerRootKm { um: one.0.um(), distance_um: distance.0.um() })
            }
            _ => Err(Faults::one("/allowable", "give per_root_setup_mm, or per_root_km_mm with distance_m")),
        }
    }
}

impl BeginLevelBook {
    /// As it is recorded; `serves` where the person named none.
    ///
    /// # Errors
    /// What the book may miss is not said whole.
    pub fn begun(self, serves: impl FnOnce() -> Vec<Serves>) -> Result<LevelBookBegun, Faults> {
        Ok(LevelBookBegun {
            book: self.book,
            method: self.method,
            benchmark: self.benchmark,
            instrument: self.instrument,
            serves: self.serves.unwrap_or_else(serves),
            target_um: self.target_m.map(|level| level.0.um()),
            allowable: self.allowable.map(AllowableRequest::allowable).transpose()?,
        })
    }
}

/// `book-sight`
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BookSight {
    /// The plot.
    pub plot: PlotId,
    /// The level book.
    pub book: LevelBookName,
    /// Which sight.
    pub sight: SightKind,
    /// Onto which point.
    pub point: PointName,
    /// The staff in metres …
    #[serde(default)]
    pub staff_m: Option<Metres>,
    /// … or in millimetres …
    #[serde(default)]
    pub staff_mm: Option<Mm>,
    /// … or, with a laser receiver, how far above (+) or below (−) the target.
    #[serde(default)]
    pub offset_mm: Option<Mm>,
    /// What there is to say about it.
    #[serde(default)]
    pub remark: Option<String>,
}

impl BookSight {
    /// As it is recorded, once the book's method is known.
    ///
    /// # Errors
    /// No value, two, or one of the other kind of book.
    pub fn booked(self, method: Option<BookMethod>) -> Result<SightBooked, Faults> {
        let staff: Vec<Length> =
            self.staff_m.map(|one| one.0).into_iter().chain(self.staff_mm.map(|one| one.0)).collect();
        let offset: Vec<Length> = self.offset_mm.map(|one| one.0).into_iter().collect();
        let value = match (staff.as_slice(), offset.as_slice(), method) {
            ([read], [], Some(BookMethod::HeightOfCollimation | BookMethod::RiseAndFall) | None) => *read,
            ([], [read], Some(BookMethod::Receiver) | None) => *read,
            ([], [], _) => {
                return Err(Faults::one("/staff_m", "a sight needs staff_m, staff_mm or offset_mm"));
            }
            ([_], [], _) => {
                return Err(Faults::one(
                    "/staff_m",
                    "this book is kept with a laser receiver: give offset_mm, above the target positive",
                ));
            }
            ([], [_], _) => {
                return Err(Faults::one(
                    "/offset_mm",
                    "this book is kept with a staff: give staff_m or staff_mm",
                ));
            }
            _ => return Err(Faults::one("/staff_m", "a sight has one value")),
        };
        Ok(SightBooked {
            book: self.book,
            sight: self.sight,
            point: self.point,
            value_um: value.um(),
            remark: self.remark,
        })
    }
}
