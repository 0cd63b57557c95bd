//! Records of CSV text, with the byte at which each starts. Quoting and record ends are `csv-core`'s, as RFC 4180 and
//! spreadsheets have them; here they only become text again.

use csv_core::{ReadRecordResult, Reader};

/// One record.
#[derive(Debug, Default)]
pub(super) struct Record {
    fields: Vec<String>,
    /// The byte of the text at which it starts, with whatever blank lines lie before it.
    pub(super) start: usize,
}

impl Record {
    /// Its fields.
    pub(super) fn iter(&self) -> impl Iterator<Item = &str> {
        self.fields.iter().map(String::as_str)
    }

    /// How many fields it has.
    pub(super) fn len(&self) -> usize {
        self.fields.len()
    }

    /// A field; `None` past the last.
    pub(super) fn get(&self, place: usize) -> Option<&str> {
        self.fields.get(place).map(String::as_str)
    }
}

/// Reads the records of a text one after another.
pub(super) struct Records<'t> {
    text: &'t [u8],
    at: usize,
    reader: Reader,
    output: Vec<u8>,
    ends: Vec<usize>,
}

impl<'t> Records<'t> {
    pub(super) fn of(text: &'t str) -> Self {
        let bytes = text.as_bytes();
        // No record is longer than the text, nor has more fields than the text has commas and one.
        let commas = text.matches(',').count();
        Self {
            text: bytes,
            at: 0,
            reader: Reader::new(),
            output: vec![0; bytes.len() + 1],
            ends: vec![0; commas + 2],
        }
    }

    /// The next record; `None` after the last, or where the text cannot be read on.
    pub(super) fn next(&mut self) -> Option<Record> {
        let start = self.at;
        let (mut written, mut fields) = (0, 0);
        loop {
            let input = self.text.get(self.at..).unwrap_or_default();
            let (result, read, wrote, ended) =
                self.reader.read_record(input, self.output.get_mut(written..)?, self.ends.get_mut(fields..)?);
            self.at += read;
            written += wrote;
            fields += ended;
            match result {
                ReadRecordResult::Record => return Some(self.record(start, fields)),
                // An empty input tells the reader that the text is over.
                ReadRecordResult::InputEmpty => {}
                ReadRecordResult::OutputFull | ReadRecordResult::OutputEndsFull | ReadRecordResult::End => {
                    return None;
                }
            }
        }
    }

    fn record(&self, start: usize, fields: usize) -> Record {
        let mut from = 0;
        let field = |end: &usize| {
            let text = String::from_utf8_lossy(&self.output[from..*end]).into_owned();
            from = *end;
            text
        };
        Record { fields: self.ends[..fields].iter().map(field).collect(), start }
    }
}
