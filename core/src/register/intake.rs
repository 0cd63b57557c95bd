//! Requests as people write them, with files by name, turned into commands in which everything is taken in:
//! photos and documents are examined and lie in the store before any entry names them.

use serde_json::Value;

use super::{Register, RegisterError};
use crate::entry::{AttachedFile, BookMethod, LONGEST_TEXT, LevelBookBegun, PhotoAdded, PourFact, Serves};
use crate::faults::Faults;
use crate::floor::{DefaultLimits, FloorDesign};
use crate::ids::{EntryId, HoldPointId, PlotId};
use crate::inspection::command::read_because;
use crate::inspection::level_book::{self, taken_book};
use crate::inspection::level_requests::BeginLevelBook;
use crate::inspection::{Act, Command, PlotRecord, Refusal, Request};
use crate::level_book_csv::CsvFaults;
use crate::photo::{self, PhotoRefusal};
use crate::plan_of_work::PlanOfWork;
use crate::record::Subject;
use crate::time::Timestamp;

/// Reads a file by the name that a request gives; the reader bounds what it reads.
pub type Files<'a> = dyn Fn(&str) -> std::io::Result<Vec<u8>> + 'a;

/// Why a request cannot become a command.
#[derive(Debug, thiserror::Error)]
pub enum IntakeFault {
    /// The request's own form.
    #[error("{0}")]
    Form(Faults),
    /// A file cannot be read.
    #[error("{file} cannot be read: {source}")]
    File {
        /// The file.
        file: String,
        /// Why not.
        source: std::io::Error,
    },
    /// A photo is refused.
    #[error("{file}: {refusal}")]
    Photo {
        /// The file.
        file: String,
        /// Why.
        refusal: PhotoRefusal,
    },
    /// A document is refused.
    #[error("{file}: {what}")]
    Document {
        /// The file.
        file: String,
        /// Why.
        what: String,
    },
    /// A file that people write has faults.
    #[error("{file}: {faults}")]
    Content {
        /// The file.
        file: String,
        /// Every fault with its place.
        faults: Faults,
    },
    /// A table that people write has faults.
    #[error("{file}: {faults}")]
    Table {
        /// The file.
        file: String,
        /// Every fault by row and column.
        faults: CsvFaults,
    },
    /// A text file is not text.
    #[error("{0} is no text in UTF-8")]
    Text(String),
    /// No entry of that id, so the plot is not known.
    #[error("no entry {0} in this register")]
    NoEntry(EntryId),
}

impl IntakeFault {
    /// Whether the input itself is unusable (as against refused by the rules).
    pub fn is_unusable(&self) -> bool {
        matches!(self, Self::Form(_))
    }
}

impl Register {
    /// Turns a request into a command. Photos and documents are in the store afterwards; nothing else is changed.
    ///
    /// # Errors
    /// A file that cannot be read or is refused, or the request's own form.
    pub fn take_in(&mut self, request: Request, files: &Files<'_>) -> Result<Command, RegisterError> {
        let on = |plot: PlotId, act: Act| Command::OnPlot { plot, act };
        Ok(match request {
            // Read here already, so that a refusal names the file; deciding reads it again.
            Request::IssueDesign { file, plots } => {
                let text = sound_text(&file, files, |text| FloorDesign::read(text).map(|_| ()))?;
                Command::IssueDesign { text, plots }
            }
            Request::IssuePlan { file } => Command::IssuePlan {
                text: sound_text(&file, files, |text| PlanOfWork::read(text).map(|_| ()))?,
            },
            Request::IssueLimits { file } => Command::IssueLimits {
                text: sound_text(&file, files, |text| DefaultLimits::read(text).map(|_| ()))?,
            },
            Request::BookReading(reading) => on(
                reading.plot,
                Act::BookReading {
                    hold_point: reading.hold_point,
                    criterion: reading.criterion,
                    point: reading.point,
                    value: reading.value,
                    instrument: reading.instrument,
                },
            ),
            Request::RegisterInstrument(own) => Command::RegisterInstrument(own.into()),
            Request::RegisterBenchmark(own) => Command::RegisterBenchmark(own.into()),
            Request::BeginLevelBook(begin) => {
                let (plot, begun, file) = self.begun(begin)?;
                if file.is_some() {
                    let what = "is for take-in-level-book; a book that is begun takes its sights one by one";
                    return Err(IntakeFault::Form(Faults::one("/file", what)).into());
                }
                on(plot, Act::BeginLevelBook(begun))
            }
            Request::BookSight(sight) => {
                let plot = sight.plot.clone();
                let view = self.plot(&plot)?;
                let book = view.as_ref().and_then(|view| view.record.level_book(&sight.book));
                let method = book.map(|book| book.begun.method);
                on(plot, Act::BookSight(sight.booked(method).map_err(IntakeFault::Form)?))
            }
            Request::BookDelivery(note) => {
                let plot = note.plot.clone();
                let view = self.plot(&plot)?;
                let booked =
                    note.booked(view.as_ref().map(|view| &view.record)).map_err(IntakeFault::Form)?;
                on(plot, Act::BookDelivery(booked))
            }
            Request::BookTicket(ticket) => {
                let plot = ticket.plot.clone();
                let view = self.plot(&plot)?;
                let booked =
                    ticket.booked(view.as_ref().map(|view| &view.record)).map_err(IntakeFault::Form)?;
                on(plot, Act::BookTicket(Box::new(booked)))
            }
            Request::BookConditions(own) => self.of_pour(own.plot.clone(), |record| own.booked(record))?,
            Request::TimePour(own) => self.of_pour(own.plot.clone(), |record| own.booked(record))?,
            Request::TakeCubes(own) => self.of_pour(own.plot.clone(), |record| own.booked(record))?,
            Request::BookCubeResult(own) => self.of_pour(own.plot.clone(), |record| own.booked(record))?,
            Request::BookLabel(label) => {
                let plot = label.plot.clone();
                let view = self.plot(&plot)?;
                let booked =
                    label.booked(view.as_ref().map(|view| &view.record)).map_err(IntakeFault::Form)?;
                on(plot, Act::BookLabel(booked))
            }
            Request::BookPressureTest(test) => {
                let plot = test.plot.clone();
                let view = self.plot(&plot)?;
                let booked =
                    test.booked(view.as_ref().map(|view| &view.record)).map_err(IntakeFault::Form)?;
                on(plot, Act::BookPressureTest(booked))
            }
            Request::TakeInLevelBook(begin) => {
                let (plot, begun, file) = self.begun(begin)?;
                let missing =
                    || IntakeFault::Form(Faults::one("/file", "must name the CSV file of the book"));
                let file = file.ok_or_else(missing)?;
                if begun.method == BookMethod::Receiver {
                    let what = "a laser receiver's book is booked here, not taken in";
                    return Err(IntakeFault::Form(Faults::one("/method", what)).into());
                }
                let taken = taken_book(&begun, &read(&file, files)?)
                    .map_err(|faults| IntakeFault::Table { file: file.clone(), faults })?;
                let sights = taken.sights;
                on(plot, Act::TakeInLevelBook { begun, sights })
            }
            Request::NotePlacing(own) => {
                let plot = own.plot.clone();
                let view = self.plot(&plot)?;
                let noted = own.noted(view.as_ref().map(|view| &view.record)).map_err(IntakeFault::Form)?;
                on(plot, Act::NotePlacing(noted))
            }
            Request::BookTemperature(own) => {
                let plot = own.plot.clone();
                let view = self.plot(&plot)?;
                let booked = own.booked(view.as_ref().map(|view| &view.record)).map_err(IntakeFault::Form)?;
                on(plot, Act::BookTemperatures(booked))
            }
            Request::TakeInTemperatures(own) => {
                let plot = own.plot.clone();
                let file = own.file.clone();
                let rows = crate::temperature_csv::read(&read(&file, files)?)
                    .map_err(|faults| IntakeFault::Content { file: file.clone(), faults })?;
                let view = self.plot(&plot)?;
                let booked =
                    own.booked(view.as_ref().map(|view| &view.record), &rows).map_err(IntakeFault::Form)?;
                on(plot, Act::BookTemperatures(booked))
            }
            Request::PlaceUnderlay(place) => {
                let document = self.take_in_document(&place.file, &read(&place.file, files)?)?;
                on(place.plot.clone(), Act::PlaceUnderlay(place.placed(document)))
            }
            Request::Answer { plot, hold_point, criterion, answer, reason, remark } => {
                on(plot, Act::Answer { hold_point, criterion, answer, reason, remark })
            }
            Request::AddPhoto { plot, hold_point, subject, file, caption } => {
                let bytes = read(&file, files)?;
                let photo =
                    self.take_in_photo(&bytes, hold_point, &subject, caption).map_err(
                        |error| match error {
                            RegisterError::Intake(IntakeFault::Photo { refusal, .. }) => {
                                IntakeFault::Photo { file: file.clone(), refusal }.into()
                            }
                            other => other,
                        },
                    )?;
                on(plot, Act::AddPhoto(photo))
            }
            Request::Attach { plot, hold_point, criterion, file } => {
                let document = self.take_in_document(&file, &read(&file, files)?)?;
                on(plot, Act::Attach { hold_point, criterion, document })
            }
            Request::Offer { plot, hold_point, gate } => {
                on(plot, Act::Offer(Request::extent(hold_point, gate).map_err(IntakeFault::Form)?))
            }
            Request::Release { plot, hold_point, gate } => {
                on(plot, Act::Release(Request::extent(hold_point, gate).map_err(IntakeFault::Form)?))
            }
            Request::Refuse { plot, hold_point, gate, reason } => {
                let extent = Request::extent(hold_point, gate).map_err(IntakeFault::Form)?;
                on(plot, Act::Refuse { extent, reason })
            }
            Request::CoverUnreleased { plot, hold_point, reason } => {
                on(plot, Act::CoverUnreleased { hold_point, reason })
            }
            Request::RaiseNonconformance { plot, hold_point, criterion, what } => {
                on(plot, Act::RaiseNonconformance { hold_point, criterion, what })
            }
            Request::CloseNonconformance { plot, id, disposition, remark } => {
                on(self.plot_of(plot, id)?, Act::CloseNonconformance { id, disposition, remark })
            }
            Request::Concede { plot, id, by, file } => {
                let plot = self.plot_of(plot, id)?;
                let document = self.take_in_document(&file, &read(&file, files)?)?;
                on(plot, Act::Concede { id, by, document })
            }
            Request::Assess { plot, hold_point, by, file } => {
                let document = self.take_in_document(&file, &read(&file, files)?)?;
                on(plot, Act::Assess { hold_point, by, document })
            }
            Request::Supersede { id, reason, with } => self.take_in_supersede(id, &reason, with, files)?,
        })
    }

    fn begun(
        &mut self,
        begin: BeginLevelBook,
    ) -> Result<(PlotId, LevelBookBegun, Option<String>), RegisterError> {
        let (plot, file) = (begin.plot.clone(), begin.file.clone());
        let serves = self.level_criteria(&plot)?;
        let begun = begin.begun(|| serves).map_err(IntakeFault::Form)?;
        Ok((plot, begun, file))
    }

    /// The criteria of a plot that ask for levels of bearings or of the oversite: what a level book serves unless it
    /// says otherwise.
    ///
    /// # Errors
    /// The disk.
    pub fn level_criteria(&mut self, plot: &PlotId) -> Result<Vec<Serves>, RegisterError> {
        Ok(self.plot(plot)?.map_or_else(Vec::new, |view| level_book::level_criteria(&view.record)))
    }

    /// A fact of the pour, with the plot it belongs to.
    fn of_pour(
        &mut self,
        plot: PlotId,
        booked: impl FnOnce(Option<&PlotRecord>) -> Result<PourFact, Faults>,
    ) -> Result<Command, RegisterError> {
        let view = self.plot(&plot)?;
        let fact = booked(view.as_ref().map(|view| &view.record)).map_err(IntakeFault::Form)?;
        Ok(Command::OnPlot { plot, act: Act::BookPour(fact) })
    }

    fn take_in_supersede(
        &mut self,
        id: EntryId,
        reason: &str,
        with: Value,
        files: &Files<'_>,
    ) -> Result<Command, RegisterError> {
        let (because, remark) = read_because(reason).map_err(IntakeFault::Form)?;
        let inner = Request::from_value(with).map_err(|faults| {
            let mut under = Faults::new();
            under.add_under("/with", faults);
            IntakeFault::Form(under)
        })?;
        if matches!(inner, Request::Supersede { .. }) {
            return Err(IntakeFault::Form(Faults::one("/with", "must not itself supersede")).into());
        }
        match self.take_in(inner, files)? {
            Command::OnPlot { plot, act } => {
                Ok(Command::OnPlot { plot, act: Act::Supersede { id, because, remark, with: Box::new(act) } })
            }
            _ => Err(Refusal::Supersede(
                "only a reading, an answer, a photo or a document can take the place of an earlier one"
                    .to_owned(),
            )
            .into()),
        }
    }

    fn plot_of(&self, named: Option<PlotId>, id: EntryId) -> Result<PlotId, RegisterError> {
        if let Some(plot) = named {
            return Ok(plot);
        }
        let entry = self.reader().entry(id)?.ok_or(IntakeFault::NoEntry(id))?.entry;
        let (header, _) = crate::record::open(&entry)?;
        match header.subject {
            Subject::Plot(plot) => Ok(plot),
            Subject::Site => Err(IntakeFault::NoEntry(id).into()),
        }
    }

    /// Examines a photo and puts it into the store, with its smaller renditions.
    ///
    /// # Errors
    /// The photo is refused, or the disk.
    pub fn take_in_photo(
        &mut self,
        bytes: &[u8],
        hold_point: HoldPointId,
        subject: &str,
        caption: Option<String>,
    ) -> Result<PhotoAdded, RegisterError> {
        let (facts, renditions) = photo::take_in_with_renditions(bytes, &photo::Limits::default())
            .map_err(|refusal| IntakeFault::Photo { file: "the photo".to_owned(), refusal })?;
        let store = self.store()?;
        store.put_photo(bytes, &facts)?;
        store.put_renditions(facts.sha256, &renditions)?;
        let offset = self.now().offset_min;
        let captured: Option<Timestamp> = facts.captured_at.and_then(|captured| captured.instant(offset));
        Ok(PhotoAdded {
            hold_point,
            subject: subject.to_owned(),
            photo: facts.sha256,
            bytes: facts.bytes,
            media_type: facts.media_type.as_str().to_owned(),
            width: facts.width,
            height: facts.height,
            orientation: facts.orientation,
            captured,
            caption,
        })
    }

    /// Puts a document into the store.
    ///
    /// # Errors
    /// The document is refused, or the disk.
    pub fn take_in_document(&mut self, file: &str, bytes: &[u8]) -> Result<AttachedFile, RegisterError> {
        let refuse = |what: String| IntakeFault::Document { file: file.to_owned(), what };
        let name: String = file
            .rsplit(['/', '\\'])
            .next()
            .unwrap_or(file)
            .chars()
            .filter(|c| !c.is_control())
            .take(LONGEST_TEXT)
            .collect();
        let media_type = media_type_of(bytes)
            .ok_or_else(|| refuse("a document is a PDF, a JPEG, a PNG or plain text".to_owned()))?;
        let sha256 = self.store()?.put_document(bytes, media_type)?;
        Ok(AttachedFile { sha256, bytes: bytes.len() as u64, media_type: media_type.to_owned(), name })
    }
}

/// The media type of a document by its first bytes; `None` for what is not taken in.
fn media_type_of(bytes: &[u8]) -> Option<&'static str> {
    if bytes.starts_with(b"%PDF-") {
        return Some("application/pdf");
    }
    if let Some(photo) = photo::MediaType::of(bytes) {
        return Some(photo.as_str());
    }
    let text = std::str::from_utf8(bytes).ok()?;
    let plain = !text.chars().any(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t'));
    plain.then_some("text/plain; charset=utf-8")
}

fn read(file: &str, files: &Files<'_>) -> Result<Vec<u8>, IntakeFault> {
    files(file).map_err(|source| IntakeFault::File { file: file.to_owned(), source })
}

fn sound_text(
    file: &str,
    files: &Files<'_>,
    check: impl FnOnce(&str) -> Result<(), Faults>,
) -> Result<String, IntakeFault> {
    let text = String::from_utf8(read(file, files)?).map_err(|_| IntakeFault::Text(file.to_owned()))?;
    check(&text).map_err(|faults| IntakeFault::Content { file: file.to_owned(), faults })?;
    Ok(text)
}
