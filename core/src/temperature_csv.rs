//! Temperatures of a logger taken in from a CSV file: text to rows that a preview can show. Nothing is booked here, and
//! nothing is handed over unless every row is sound.
//!
//! [`DESCRIPTION`] says what such a file looks like, for people. Loggers write what they like above their table and
//! beside it, so lines above the header and other columns are passed over and told; what could move a temperature or
//! an hour is refused by name, all at once, with row and column.
//!
//! - This file: the file read; `columns`: its header; `times`: times as loggers write them

use csv_core::{ReadRecordResult, ReaderBuilder};

use crate::faults::Faults;
use crate::quantity::Factor;
use crate::reckon::MAX_POINTS;
use crate::time::LocalTime;

mod columns;
#[cfg(test)]
mod tests;
mod times;

use columns::Header;
use times::Order;

/// The largest file that is taken in, in bytes.
pub const MAX_BYTES: usize = 4 << 20;
/// The most lines that may stand above the header.
pub const MOST_ABOVE: usize = 50;
/// The most faults that are listed.
const MOST_FAULTS: usize = 1_000;
/// Below and above these a sensor is broken or measures something else: the bounds of the maturity reckoning, °C.
const COLDEST: i32 = -50;
const HOTTEST: i32 = 150;

/// What a file must look like, for people.
pub const DESCRIPTION: &str = "\
Temperatures of a logger as a CSV file: UTF-8 text, at most 4 MiB and 5 000 rows.
One row names the columns; up to 50 lines may stand above it. Columns are separated by commas, semicolons or tabulators;
with semicolons or tabulators decimal commas are read as well.

time (or date time, timestamp)   day and time in one column; or two columns, date and time
temperature (or temp, concrete)  °C; (°C) or _C may follow

Times are by the site's own clock: 2026-11-26 08:10, 2026-11-26T08:10:00, 26/11/2026 08:10, 26.11.2026 08:10:30,
11/26/2026 08:10:00 AM. Where day and month cannot be told apart in any row, write the year first. Each row is later
than the row before it. Other columns are left out.
";

/// A small file that is sound.
pub const EXAMPLE: &str = "\
time,temperature_C
2026-11-26 08:10,14.5
2026-11-26 08:40,15.0
2026-11-26 09:10,15.5
";

/// A file as it was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// Its rows.
    pub rows: Vec<TakenRow>,
    /// Columns that were left out.
    pub left_out: Vec<String>,
    /// How many lines stood above the header.
    pub above: usize,
}

/// One row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenRow {
    /// Its line in the file, from 1.
    pub row: usize,
    /// When.
    pub at: LocalTime,
    /// °C, plainly written.
    pub concrete_c: String,
}

/// Reads a file as it lies on disk.
///
/// # Errors
/// Every fault by row and column.
pub fn read(bytes: &[u8]) -> Result<Taken, Faults> {
    let text = text_of(bytes)?;
    let lines: Vec<&str> = lines_of(text);
    let Some((above, separator)) = header_line(&lines) else {
        let what = format!(
            "names no column for time and temperature in its first {MOST_ABOVE} lines: one row must name them, such \
             as `time,temperature_C`"
        );
        return Err(Faults::one("the file", what));
    };
    let header = Header::read(above + 1, &cells(lines[above], separator).unwrap_or_default())?;
    let mut table =
        Table { header: &header, separator, order: Order::Unsettled, faults: Faults::new(), more: 0 };
    let body = &lines[above + 1..];
    table.settle_order(body);
    let mut rows: Vec<TakenRow> = Vec::new();
    let mut last: Option<LocalTime> = None;
    for (index, line) in body.iter().enumerate() {
        let row = above + 2 + index;
        if line.trim_matches([separator, ' ', '\t', '"']).is_empty() {
            continue; // loggers end their tables with blank lines
        }
        if rows.len() == MAX_POINTS {
            table.refuse(
                row,
                None,
                &format!("is one row too many: at most {MAX_POINTS}; export every second one"),
            );
            break;
        }
        if let Some(taken) = table.row(row, line, &mut last) {
            rows.push(taken);
        }
    }
    if rows.is_empty() && table.faults.is_empty() {
        return Err(Faults::one("the file", "has no row below its header"));
    }
    if table.more > 0 {
        table.faults.add("the file", format!("has {} more faults", table.more));
    }
    let taken = Taken { rows, left_out: header.left_out.clone(), above };
    table.faults.into_result(taken)
}

/// The bytes as text, without the mark that spreadsheets put before UTF-8.
fn text_of(bytes: &[u8]) -> Result<&str, Faults> {
    let refuse = |what: &str| Err(Faults::one("the file", what));
    if bytes.len() > MAX_BYTES {
        return refuse(&format!("is larger than {} MiB", MAX_BYTES >> 20));
    }
    let bytes = bytes.strip_prefix(&[0xEF, 0xBB, 0xBF]).unwrap_or(bytes);
    match std::str::from_utf8(bytes) {
        Ok(text) if !text.contains('\0') => {
            if text.trim().is_empty() {
                return refuse("is empty");
            }
            Ok(text)
        }
        _ => refuse("is not UTF-8 text: save it as CSV UTF-8"),
    }
}

/// Lines at `\n`, `\r\n` or `\r`.
fn lines_of(text: &str) -> Vec<&str> {
    let mut lines = Vec::new();
    let mut rest = text;
    while let Some(end) = rest.find(['\n', '\r']) {
        lines.push(&rest[..end]);
        let long = if rest[end..].starts_with("\r\n") { 2 } else { 1 };
        rest = &rest[end + long..];
    }
    if !rest.is_empty() {
        lines.push(rest);
    }
    lines
}

/// The line that names the columns, and what separates them.
fn header_line(lines: &[&str]) -> Option<(usize, char)> {
    lines.iter().take(MOST_ABOVE + 1).enumerate().find_map(|(index, line)| {
        let separators = [';', '\t', ','].into_iter();
        let named = |separator: &char| cells(line, *separator).is_some_and(|cells| Header::is_one(&cells));
        separators.into_iter().find(named).map(|separator| (index, separator))
    })
}

/// The cells of one line, unquoted; `None` where a quotation mark is left open.
fn cells(line: &str, separator: char) -> Option<Vec<String>> {
    let separator = u8::try_from(separator).ok()?;
    let mut reader = ReaderBuilder::new().delimiter(separator).build();
    let mut output = vec![0; line.len() + 1];
    let mut ends = vec![0; line.bytes().filter(|byte| *byte == separator).count() + 2];
    let open = line.bytes().filter(|byte| *byte == b'"').count() % 2 == 1;
    if open {
        return None;
    }
    let (mut read, mut wrote, mut ended) = (0, 0, 0);
    loop {
        let input = line.as_bytes().get(read..)?;
        let (result, more, out, end) =
            reader.read_record(input, output.get_mut(wrote..)?, ends.get_mut(ended..)?);
        (read, wrote, ended) = (read + more, wrote + out, ended + end);
        match result {
            ReadRecordResult::Record => break,
            ReadRecordResult::InputEmpty => {}
            ReadRecordResult::OutputFull | ReadRecordResult::OutputEndsFull | ReadRecordResult::End => {
                return None;
            }
        }
    }
    let mut from = 0;
    let cell = |end: &usize| {
        let text = String::from_utf8_lossy(&output[from..*end]).trim().to_owned();
        from = *end;
        text
    };
    Some(ends[..ended].iter().map(cell).collect())
}

struct Table<'h> {
    header: &'h Header,
    separator: char,
    order: Order,
    faults: Faults,
    more: usize,
}

impl Table<'_> {
    fn refuse(&mut self, row: usize, column: Option<&str>, what: &str) {
        if self.faults.0.len() >= MOST_FAULTS {
            self.more += 1;
            return;
        }
        let place =
            column.map_or_else(|| format!("row {row}"), |column| format!("row {row}, column {column}"));
        self.faults.add(place, what);
    }

    /// Tells from all rows together whether days or months come first.
    fn settle_order(&mut self, body: &[&str]) {
        for line in body {
            let cells = cells(line, self.separator).unwrap_or_default();
            self.order = self.order.with(&self.header.time_of(&cells));
        }
    }

    fn row(&mut self, row: usize, line: &str, last: &mut Option<LocalTime>) -> Option<TakenRow> {
        let Some(cells) = cells(line, self.separator) else {
            self.refuse(row, None, "leaves a quotation mark open");
            return None;
        };
        if cells.len() != self.header.width {
            let what = format!("has {} cells where the header has {}", cells.len(), self.header.width);
            let hint = if self.separator == ',' && self.header.width < cells.len() {
                ": a decimal comma?"
            } else {
                ""
            };
            self.refuse(row, None, &format!("{what}{hint}"));
            return None;
        }
        let time = self.header.time_of(&cells);
        let at = match times::read(&time, self.order) {
            Ok(at) => Some(at),
            Err(what) => {
                self.refuse(row, Some(&self.header.time_name), &what);
                None
            }
        };
        let header = self.header;
        let concrete_c = match celsius(&cells[header.temperature], self.separator != ',') {
            Ok(text) => Some(text),
            Err(what) => {
                self.refuse(row, Some(&header.temperature_name), &what);
                None
            }
        };
        let at = at?;
        if let Some(before) = last.filter(|before| at <= *before) {
            let what = format!("{} is not later than the row before it, {}", at.minute(), before.minute());
            self.refuse(row, Some(&header.time_name), &what);
            return None;
        }
        *last = Some(at);
        Some(TakenRow { row, at, concrete_c: concrete_c? })
    }
}

/// A temperature, plainly written.
fn celsius(text: &str, decimal_commas: bool) -> Result<String, String> {
    if text.is_empty() {
        return Err("is missing".to_owned());
    }
    let shown: String = text.chars().take(30).collect();
    let plain = text.trim_end_matches("°C").trim().replace('\u{2212}', "-");
    let plain = if decimal_commas { plain.replace(',', ".") } else { plain };
    check_celsius(&plain).map_err(|what| format!("{shown:?} {what}"))
}

/// A temperature of concrete as text, plainly written.
///
/// # Errors
/// Why it can be none, worded to follow it.
pub fn check_celsius(text: &str) -> Result<String, String> {
    let factor = Factor::parse(text).map_err(|fault| fault.to_string())?;
    if factor < Factor::whole(COLDEST) || Factor::whole(HOTTEST) < factor {
        return Err(format!("°C: concrete lies within {COLDEST} to {HOTTEST}"));
    }
    Ok(factor.to_text())
}
