//! A level book taken in from a CSV file: text to rows that a preview can show. Nothing is booked here, and nothing is
//! handed over unless every row is sound.
//!
//! [`DESCRIPTION`] says what such a file looks like, for people. It is strict where a guess could move a wall: decimal
//! commas, semicolons, readings in the wrong unit, unknown columns and empty rows are refused by name, all at once, with
//! row and column. Whether the rows make a level book (start, change points, closing) is
//! [`level_book`](crate::reckon::level_book)'s to say; [`by_row`] puts its faults onto the rows of the file.

use crate::faults::Faults;
use crate::ids::PointName;
use crate::quantity::{Length, Metres, QuantityFault};
use crate::reckon::level_book::{MAX_SIGHTS, Sight};
use crate::reckon::staff;

mod columns;
mod fault;
mod records;
#[cfg(test)]
mod tests;

pub use columns::{COLUMNS, ColumnHelp, DESCRIPTION, EXAMPLE};
use columns::{Header, Unit};
pub use fault::{CsvFault, CsvFaults, Refused};
use records::{Record, Records};

/// The largest file that is taken in, in bytes: the longest book with long remarks.
pub const MAX_BYTES: usize = 4 << 20;
/// The longest remark, in characters.
pub const MAX_REMARK: usize = 200;

/// One row of the file, read and checked by itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenRow {
    /// Its line in the file, counted from 1 for the header: what a spreadsheet shows beside it.
    pub row: usize,
    /// Where the staff stood.
    pub point: PointName,
    /// Back sight.
    pub back: Option<Length>,
    /// Intermediate sight.
    pub inter: Option<Length>,
    /// Fore sight.
    pub fore: Option<Length>,
    /// What was remarked; empty without a remark.
    pub remark: String,
}

impl TakenRow {
    /// The row as a sight of a level book.
    pub fn sight(&self) -> Sight {
        Sight {
            point: self.point.as_str().to_owned(),
            back_m: self.back.map(Metres),
            inter_m: self.inter.map(Metres),
            fore_m: self.fore.map(Metres),
            booked_level_m: None,
        }
    }
}

/// Reads a file as it lies on disk.
pub fn read(bytes: &[u8]) -> Result<Vec<TakenRow>, CsvFaults> {
    let text = text_of(bytes).map_err(CsvFaults::one)?;
    let mut faults = CsvFaults::default();
    let mut rows = Vec::new();
    let mut header: Option<Header> = None;
    let mut lines = Lines { text, at: 0, line: 1 };
    let mut records = Records::of(text);
    while let Some(record) = records.next() {
        let row = lines.advance(record.start, &mut faults);
        if record.iter().any(|field| field.contains(['\n', '\r'])) {
            faults.add(CsvFault::of_row(row, Refused::LineBreak));
        } else if record.iter().all(|field| field.trim().is_empty()) {
            faults.add(CsvFault::of_row(row, Refused::EmptyRow));
        } else if let Some(header) = &header {
            if rows.len() == MAX_SIGHTS {
                faults.add(CsvFault::of_row(row, Refused::TooManyRows));
                break;
            }
            // A row with faults is kept as a place in the count; the list is given up in the end.
            rows.push(taken(row, header, &record, &mut faults));
        } else {
            header = Some(Header::read(row, &record, &mut faults).map_err(CsvFaults::one)?);
        }
    }
    if header.is_none() {
        faults.add(CsvFault::of_file(Refused::Empty));
    } else if rows.is_empty() && faults.is_empty() {
        faults.add(CsvFault::of_file(Refused::NoRows));
    }
    let rows: Vec<TakenRow> = rows.into_iter().flatten().collect();
    if faults.is_empty() { Ok(rows) } else { Err(faults) }
}

/// What [`level_book`](crate::reckon::level_book) refuses in the rows' sights, onto the rows of the file. `rows` are
/// those whose sights were reckoned, from `/sights/0` on; what is about something else stands without a row.
pub fn by_row(faults: &Faults, rows: &[TakenRow]) -> CsvFaults {
    let mut found = CsvFaults::default();
    for fault in faults {
        let mut segments = fault.place.trim_start_matches('/').split('/');
        let row = (segments.next() == Some("sights"))
            .then(|| segments.next()?.parse::<usize>().ok())
            .flatten()
            .and_then(|index| rows.get(index))
            .map(|row| row.row);
        let column = row.and(segments.next()).map(str::to_owned);
        found.add(CsvFault { row, column, what: Refused::NoBook(fault.what.clone()) });
    }
    found
}

/// The bytes as text, without the mark that spreadsheets put before UTF-8.
fn text_of(bytes: &[u8]) -> Result<&str, CsvFault> {
    if bytes.len() > MAX_BYTES {
        return Err(CsvFault::of_file(Refused::TooLarge));
    }
    if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
        return Err(CsvFault::of_file(Refused::Utf16));
    }
    let bytes = bytes.strip_prefix(&[0xEF, 0xBB, 0xBF]).unwrap_or(bytes);
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let good = &bytes[..error.valid_up_to()];
        CsvFault::of_row(1 + line_ends(good), Refused::NotUtf8)
    })?;
    if text.contains('\0') { Err(CsvFault::of_file(Refused::Utf16)) } else { Ok(text) }
}

/// Where in the text a record starts, as a line. The reader passes over blank lines in silence; here they are rows
/// that hold nothing.
struct Lines<'t> {
    text: &'t str,
    at: usize,
    line: usize,
}

impl Lines<'_> {
    /// Goes on to the record that starts at or after a byte, and refuses blank lines before it.
    fn advance(&mut self, start: usize, faults: &mut CsvFaults) -> usize {
        let bytes = self.text.as_bytes();
        let is_end = |at: usize| matches!(bytes.get(at), Some(b'\n' | b'\r'));
        let mut start = start.min(bytes.len());
        while is_end(start) {
            start += 1;
        }
        let mut blank_from = start;
        while self.at < blank_from && is_end(blank_from - 1) {
            blank_from -= 1;
        }
        let before = line_ends(&bytes[self.at..blank_from]);
        let ends = line_ends(&bytes[blank_from..start]);
        // The first end after a record is its own; at the top of the text there is no record before.
        let own = usize::from(self.at < blank_from).min(ends);
        let first_blank = self.line + before + own;
        for line in first_blank..first_blank + (ends - own) {
            faults.add(CsvFault::of_row(line, Refused::EmptyRow));
        }
        self.line += before + ends;
        self.at = start;
        self.line
    }
}

/// The number of line ends: `\n`, `\r\n` or `\r`.
fn line_ends(bytes: &[u8]) -> usize {
    let ends = |at: &usize| match bytes[*at] {
        b'\n' => true,
        b'\r' => bytes.get(at + 1) != Some(&b'\n'),
        _ => false,
    };
    (0..bytes.len()).filter(ends).count()
}

/// One row; `None` when it has faults.
fn taken(row: usize, header: &Header, record: &Record, faults: &mut CsvFaults) -> Option<TakenRow> {
    if record.len() != header.width {
        faults.add(CsvFault::of_row(row, Refused::Width { found: record.len(), header: header.width }));
        return None;
    }
    let cell = |place: Option<usize>| place.and_then(|place| record.get(place)).unwrap_or_default().trim();
    let mut sound = true;
    let mut refuse = |column: &str, what: Refused| {
        sound = false;
        faults.add(CsvFault { row: Some(row), column: Some(column.to_owned()), what });
    };

    let point = match header.point.map(|_| PointName::new(cell(header.point))) {
        Some(Ok(point)) => Some(point),
        Some(Err(_)) if cell(header.point).is_empty() => {
            refuse("point", Refused::NoPoint);
            None
        }
        Some(Err(fault)) => {
            refuse("point", Refused::Name(fault));
            None
        }
        // The header is at fault already.
        None => None,
    };
    let mut readings = [None; 3];
    let mut filled = false;
    for (column, into) in header.readings.iter().zip(&mut readings) {
        let Some(column) = column else { continue };
        let text = cell(Some(column.place));
        if !text.is_empty() {
            filled = true;
            match reading(text, column.unit, column.other) {
                Ok(length) => *into = Some(length),
                Err(what) => refuse(column.name, what),
            }
        }
    }
    let remark = cell(header.remark);
    if MAX_REMARK < remark.chars().count() || remark.chars().any(char::is_control) {
        refuse("remark", Refused::Remark);
    }
    if !filled && header.readings.iter().all(Option::is_some) {
        sound = false;
        faults.add(CsvFault::of_row(row, Refused::NoReading));
    }
    let [back, inter, fore] = readings;
    let point = point.filter(|_| sound)?;
    Some(TakenRow { row, point, back, inter, fore, remark: remark.to_owned() })
}

/// One reading. `other` names the column for the same sight in the other unit.
fn reading(text: &str, unit: Unit, other: &'static str) -> Result<Length, Refused> {
    if text.contains(',') {
        return Err(Refused::DecimalComma(fault::shown(text)));
    }
    // The sign that is printed on paper and screens.
    let plain = text.strip_prefix('\u{2212}').map(|digits| format!("-{digits}"));
    let plain = plain.as_deref().unwrap_or(text);
    let parsed = match unit {
        Unit::Metres => Length::parse_m(plain),
        Unit::Millimetres => Length::parse_mm(plain),
    };
    let length = parsed.map_err(|fault| match fault {
        QuantityFault::NotANumber => Refused::NoNumber(fault::shown(text)),
        other => Refused::Quantity(other),
    })?;
    let um = length.um();
    let wrong_unit = match unit {
        Unit::Metres => staff::meant_as_millimetres(length).is_some(),
        // Parts of a millimetre, which no staff is read to, that would be metres on it.
        Unit::Millimetres => um % 1_000 != 0 && staff::can_be_read(Length::from_um(um.saturating_mul(1_000))),
    };
    if wrong_unit {
        return Err(Refused::WrongUnit { text: fault::shown(text), unit: unit.word(), other });
    }
    if staff::can_be_read(length) { Ok(length) } else { Err(Refused::OffStaff { text: fault::shown(text) }) }
}
