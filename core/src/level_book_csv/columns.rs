//! The columns of a level book's file: what they mean, and how a header row is read.

use super::records::Record;

use super::fault::{CsvFault, CsvFaults, Refused, shown};

/// What a file must look like, for people.
pub const DESCRIPTION: &str = "\
A level book as a CSV file: UTF-8 text, columns separated by commas, decimal points, at most 4 MiB and 20 000 rows.
The first row names the columns, in any order. All three sights are in metres, or all three in millimetres.

point                  where the staff stands; 1 to 60 characters; needed in every row
back_m or back_mm      back sight: the first reading from a set-up
inter_m or inter_mm    intermediate sight
fore_m or fore_mm      fore sight: the last reading from a set-up
remark                 up to 200 characters; the column may be left out

One row for one place of the staff, in the order in which it was read. The first row is a back sight to the benchmark.
A change point has fore and back sight in one row. A closing is a fore sight alone in the last row. A cell without a
reading stays empty; no row is empty. A reading on an inverted staff is negative. No reading is beyond 5 m.
";

/// A small file that is sound.
pub const EXAMPLE: &str = "\
point,back_m,inter_m,fore_m,remark
TBM,1.842,,,nail in kerb
A1,,1.245,,
CP,1.418,,1.305,
C1,,1.358,,
TBM,,,1.953,closes
";

/// A column that a file may have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ColumnHelp {
    /// Its name in the header row.
    pub name: &'static str,
    /// What its numbers measure; `None` for text.
    pub unit: Option<&'static str>,
    /// What stands in it.
    pub about: &'static str,
}

/// All columns that a file may have.
pub const COLUMNS: &[ColumnHelp] = &[
    ColumnHelp { name: "point", unit: None, about: "where the staff stands" },
    ColumnHelp { name: "back_m", unit: Some("m"), about: "back sight" },
    ColumnHelp { name: "inter_m", unit: Some("m"), about: "intermediate sight" },
    ColumnHelp { name: "fore_m", unit: Some("m"), about: "fore sight" },
    ColumnHelp { name: "back_mm", unit: Some("mm"), about: "back sight" },
    ColumnHelp { name: "inter_mm", unit: Some("mm"), about: "intermediate sight" },
    ColumnHelp { name: "fore_mm", unit: Some("mm"), about: "fore sight" },
    ColumnHelp { name: "remark", unit: None, about: "anything worth a note" },
];

/// The sights, each with its column in metres and in millimetres.
const SIGHTS: [[&str; 2]; 3] = [["back_m", "back_mm"], ["inter_m", "inter_mm"], ["fore_m", "fore_mm"]];

/// The unit of a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Unit {
    Metres,
    Millimetres,
}

impl Unit {
    /// The unit in words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Metres => "metres",
            Self::Millimetres => "millimetres",
        }
    }
}

/// Where a sight's column stands.
#[derive(Debug, Clone, Copy)]
pub(super) struct SightColumn {
    pub place: usize,
    pub name: &'static str,
    /// The column for the same sight in the other unit.
    pub other: &'static str,
    pub unit: Unit,
}

/// Where the columns stand. A column that is missing has been refused.
#[derive(Debug)]
pub(super) struct Header {
    pub width: usize,
    pub point: Option<usize>,
    /// Back, intermediate and fore sight.
    pub readings: [Option<SightColumn>; 3],
    pub remark: Option<usize>,
}

impl Header {
    /// Reads the header row. An error is one that leaves nothing to be read further; other faults are added.
    pub fn read(row: usize, record: &Record, faults: &mut CsvFaults) -> Result<Self, CsvFault> {
        let whole = record.get(0).unwrap_or_default();
        if record.len() == 1 && whole.contains(';') {
            return Err(CsvFault::of_row(row, Refused::Semicolons));
        }
        if record.len() == 1 && whole.contains('\t') {
            return Err(CsvFault::of_row(row, Refused::Tabs));
        }
        let names: Vec<String> = record.iter().map(|name| name.trim().to_ascii_lowercase()).collect();
        let known = |name: &str| COLUMNS.iter().any(|column| column.name == name);
        if !names.iter().any(|name| known(name)) {
            return Err(CsvFault::of_row(row, Refused::NoHeader));
        }
        let mut refuse = |column: String, what: Refused| {
            faults.add(CsvFault { row: Some(row), column: Some(column), what });
        };
        for (place, name) in names.iter().enumerate() {
            if name.is_empty() {
                refuse(format!("number {}", place + 1), Refused::NamelessColumn);
            } else if !known(name) {
                refuse(shown(name), Refused::UnknownColumn);
            } else if names[..place].contains(name) {
                refuse(name.clone(), Refused::DoubledColumn);
            }
        }
        let place_of = |wanted: &str| names.iter().position(|name| name == wanted);
        let point = place_of("point");
        if point.is_none() {
            refuse("point".to_owned(), Refused::MissingColumn);
        }
        let readings = SIGHTS.map(|[metres, millimetres]| match (place_of(metres), place_of(millimetres)) {
            (Some(place), None) => {
                Some(SightColumn { place, name: metres, other: millimetres, unit: Unit::Metres })
            }
            (None, Some(place)) => {
                Some(SightColumn { place, name: millimetres, other: metres, unit: Unit::Millimetres })
            }
            (Some(_), Some(_)) => {
                refuse(millimetres.to_owned(), Refused::DoubledColumn);
                None
            }
            (None, None) => {
                refuse(metres.to_owned(), Refused::MissingColumn);
                None
            }
        });
        let first = readings.iter().flatten().next().map(|column| column.unit);
        for column in readings.iter().flatten() {
            if Some(column.unit) != first {
                refuse(column.name.to_owned(), Refused::MixedUnits);
            }
        }
        Ok(Self { width: names.len(), point, readings, remark: place_of("remark") })
    }
}
