//! Why a file is refused: every fault with its row and column, worded for the person who made the file.

use std::fmt;

use super::{MAX_BYTES, MAX_REMARK};
use crate::ids::IdFault;
use crate::quantity::QuantityFault;
use crate::reckon::level_book::MAX_SIGHTS;
use crate::reckon::staff;

/// The most faults that are listed; a file with more is wrong throughout.
const MAX_FAULTS: usize = 1_000;
/// The most characters of a cell that are quoted.
const MAX_SHOWN: usize = 30;

/// One thing wrong with a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CsvFault {
    /// The line of the file, counted from 1 for the header; `None` for the whole file.
    pub row: Option<usize>,
    /// The column by its name; `None` for the whole row.
    pub column: Option<String>,
    /// What is wrong.
    pub what: Refused,
}

impl CsvFault {
    /// About the whole file.
    pub(super) fn of_file(what: Refused) -> Self {
        Self { row: None, column: None, what }
    }

    /// About a whole row.
    pub(super) fn of_row(row: usize, what: Refused) -> Self {
        Self { row: Some(row), column: None, what }
    }
}

impl fmt::Display for CsvFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.row, &self.column) {
            (Some(row), Some(column)) => write!(f, "row {row}, column {column}: {}", self.what),
            (Some(row), None) => write!(f, "row {row}: {}", self.what),
            (None, _) => write!(f, "the file: {}", self.what),
        }
    }
}

/// All that is wrong with a file, in its order; past a bound faults are only counted.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct CsvFaults {
    /// The faults that are listed.
    pub listed: Vec<CsvFault>,
    /// How many more there are.
    pub more: usize,
}

impl CsvFaults {
    pub(super) fn one(fault: CsvFault) -> Self {
        Self { listed: vec![fault], more: 0 }
    }

    pub(super) fn add(&mut self, fault: CsvFault) {
        if self.listed.len() < MAX_FAULTS {
            self.listed.push(fault);
        } else {
            self.more += 1;
        }
    }

    /// True when nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.listed.is_empty()
    }
}

impl fmt::Display for CsvFaults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, fault) in self.listed.iter().enumerate() {
            if index > 0 {
                f.write_str("\n")?;
            }
            write!(f, "{fault}")?;
        }
        if self.more > 0 {
            write!(f, "\nthe file: has {} more faults", self.more)?;
        }
        Ok(())
    }
}

impl std::error::Error for CsvFaults {}

/// Why something is refused. Worded to follow the place.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// More bytes than a level book can have.
    #[error("is larger than {} MiB", MAX_BYTES >> 20)]
    TooLarge,
    /// UTF-16, by its byte order mark or its zero bytes.
    #[error("is not UTF-8 text but UTF-16 or no text at all: save it as CSV UTF-8")]
    Utf16,
    /// Bytes that are no UTF-8.
    #[error("is not UTF-8 text: save it as CSV UTF-8")]
    NotUtf8,
    /// Nothing in it.
    #[error("is empty: the first row names the columns")]
    Empty,
    /// A header and no row below.
    #[error("has no row below its header")]
    NoRows,
    /// More rows than a level book can have.
    #[error("is one row too many: a level book has at most {MAX_SIGHTS}")]
    TooManyRows,
    /// Semicolons between the columns.
    #[error("columns are separated by semicolons: separate them by commas, with decimal points")]
    Semicolons,
    /// Tabulators between the columns.
    #[error("columns are separated by tabulators: separate them by commas")]
    Tabs,
    /// The first row names no column.
    #[error(
        "names no column that a level book has: the first row names the columns (point, back_m, inter_m, fore_m, remark)"
    )]
    NoHeader,
    /// A column without a name.
    #[error("has no name: take the empty column out")]
    NamelessColumn,
    /// A column that a level book does not have.
    #[error("unknown column: a level book has point, back_m, inter_m, fore_m, remark, or the sights in mm")]
    UnknownColumn,
    /// A column that stands twice, or in both units.
    #[error("stands twice")]
    DoubledColumn,
    /// A column that is needed.
    #[error("is missing")]
    MissingColumn,
    /// Sights in metres beside sights in millimetres.
    #[error("has another unit than the sights before it: all in metres or all in millimetres")]
    MixedUnits,
    /// A row that holds nothing.
    #[error("is empty: take it out")]
    EmptyRow,
    /// A line break inside a cell, or a quotation mark that is never closed.
    #[error("has a line break within a cell: is a quotation mark left open?")]
    LineBreak,
    /// Too many or too few cells.
    #[error("has {found} cells where the header has {header}{}", if .header < .found { ": a decimal comma?" } else { "" })]
    Width {
        /// Cells in the row.
        found: usize,
        /// Cells in the header.
        header: usize,
    },
    /// No point.
    #[error("is missing: every row names where the staff stood")]
    NoPoint,
    /// A name that cannot be one.
    #[error("{0}")]
    Name(IdFault),
    /// A row with a point alone.
    #[error("has no reading")]
    NoReading,
    /// A remark that is too long or has control characters.
    #[error("must be at most {MAX_REMARK} characters without control characters")]
    Remark,
    /// A comma in a number.
    #[error("{0} has a decimal comma: write a decimal point")]
    DecimalComma(String),
    /// No number.
    #[error("{0} is no number")]
    NoNumber(String),
    /// A number that is no length.
    #[error("{0}")]
    Quantity(QuantityFault),
    /// A number that is a sound reading in the other unit only.
    #[error("{text} is no reading in {unit}: wrong unit? The other unit has the column {other}")]
    WrongUnit {
        /// The number as it stands.
        text: String,
        /// The unit of its column.
        unit: &'static str,
        /// The column for the other unit.
        other: &'static str,
    },
    /// A reading that no staff can give.
    #[error("{text} is on no staff: a reading lies within ±{longest} m (common practice)", longest = staff::LONGEST.to_m_text())]
    OffStaff {
        /// The number as it stands.
        text: String,
    },
    /// What a level book is not.
    #[error("{0}")]
    NoBook(String),
}

/// A cell as it is quoted: in quotation marks, short, without control characters.
pub(super) fn shown(text: &str) -> String {
    if MAX_SHOWN < text.chars().count() {
        format!("{:?}…", text.chars().take(MAX_SHOWN).collect::<String>())
    } else {
        format!("{text:?}")
    }
}
