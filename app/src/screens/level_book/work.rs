//! The sight in work: which it is, what is typed, what that would give, what is pointed out about it. Drawn under the
//! rows of the sheet, heaviest of all.
//!
//! Whether it may be booked is asked of the rules and what it would give of the reckoning, once for each change.

use std::sync::Arc;

use egui::{StrokeKind, Ui};
use gaugerod_core::entry::{Because, BookMethod, SightBooked, SightKind};
use gaugerod_core::ids::{EntryId, LevelBookName, PointName};
use gaugerod_core::inspection::Act;
use gaugerod_core::inspection::level_book::{LevelBook, Reading, Sight, instrument_doubt};
use gaugerod_core::inspection::level_trial;
use gaugerod_core::quantity::Length;
use gaugerod_core::time::Date;

use super::course::{Course, Due};
use super::drafts::{Drawn, Pending, Tried};
use super::pointed_out;
use super::sheet::Sheet;
use super::table::{self, Columns, Holds};
use super::typed;
use crate::action::Action;
use crate::screens::desk::{Desk, May, sentence};
use crate::state::State;
use crate::theme;
use crate::widgets::{self, Mark, type_setting};

/// Height of the row in work, in points.
const ROW: f32 = 52.0;

/// One book, and the sight in work.
pub(super) struct Work<'a> {
    pub desk: &'a Desk,
    pub book: &'a LevelBook,
    pub sheet: Arc<Sheet>,
    pub course: Arc<Course>,
    pub today: Date,
    /// The sight in work; none while the book is closed or nobody can record.
    pub now: Option<Now<'a>>,
    /// A sight is on its way to disk.
    pub is_writing: bool,
}

/// The sight in work.
pub(super) struct Now<'a> {
    pub kind: SightKind,
    pub point: PointName,
    /// The name of the draft that holds what is typed.
    pub draft: String,
    pub text: String,
    /// What was read; or why it is none yet.
    pub value: Result<Length, String>,
    /// What it would take the place of.
    pub earlier: Option<Earlier<'a>>,
    /// What the rules and the reckoning say; none while nothing is typed.
    pub tried: Option<Arc<Tried>>,
}

/// What a sight would take the place of.
pub(super) enum Earlier<'a> {
    /// A sight of this book that is put right.
    Sight(&'a Sight),
    /// A level that the point has from elsewhere.
    Reading(Box<Reading>),
}

impl Earlier<'_> {
    pub(super) fn entry(&self) -> EntryId {
        match self {
            Self::Sight(sight) => sight.kept.noted.id,
            Self::Reading(reading) => reading.entry,
        }
    }
}

impl<'a> Work<'a> {
    /// The work on a book; none where the plot has no such book.
    pub(super) fn of(state: &mut State, desk: &'a Desk, name: &LevelBookName) -> Option<Self> {
        let book = desk.view.record.level_book(name)?;
        settle(state, desk, book);
        let (sheet, course) = drawn(state, desk, book);
        let today = state.register.as_ref().map_or(Date::of(book.noted.time), |register| register.today);
        let levels = &state.drafts.levels;
        let is_writing =
            levels.pending.as_ref().is_some_and(|own| own.plot == desk.plot && own.book == *name);
        let mut work = Self { desk, book, sheet, course, today, now: None, is_writing };
        work.now = if desk.can_record() { work.now(state) } else { None };
        Some(work)
    }

    /// How the book is kept.
    pub(super) fn method(&self) -> BookMethod {
        self.book.begun.method
    }

    /// The entry of the sight that is put right.
    pub(super) fn correcting(&self) -> Option<EntryId> {
        match self.now.as_ref()?.earlier.as_ref()? {
            Earlier::Sight(sight) => Some(sight.kept.noted.id),
            Earlier::Reading(_) => None,
        }
    }

    /// What the book may miss, in millimetres.
    pub(super) fn allowed(&self) -> String {
        self.sheet
            .reduced
            .as_ref()
            .map_or_else(|_| "–".to_owned(), |reduced| format!("{:.1}", reduced.output.allowable_mm))
    }

    fn now(&self, state: &mut State) -> Option<Now<'a>> {
        let correcting = state.drafts.levels.correcting.clone();
        if let Some(own) = correcting {
            let place = self.book.place_of(own.entry);
            let sight = place.and_then(|place| self.book.standing().nth(place));
            if let Some(sight) = sight {
                let fact = &sight.kept.fact;
                let point = own.point.unwrap_or_else(|| fact.point.clone());
                let draft = typed::correction(own.entry);
                return Some(self.tried(
                    state,
                    fact.sight,
                    point,
                    draft,
                    Some(Earlier::Sight(sight)),
                    own.because,
                ));
            }
            state.drafts.levels.correcting = None;
        }
        let draft = |what| self.draft(state, what);
        let picked_kind = kind_named(state.drafts.text(&draft("sight")));
        let kinds = self.course.kinds();
        let kind = picked_kind.filter(|kind| kinds.contains(kind)).or_else(|| self.course.kind())?;
        let picked = PointName::new(state.drafts.text(&draft("point"))).ok();
        let point = picked.filter(|_| kind != SightKind::Back).or_else(|| self.course.point(kind))?;
        let name = draft("value");
        let earlier = self.elsewhere(kind, &point).map(|reading| Earlier::Reading(Box::new(reading)));
        let because = state.drafts.levels.because;
        Some(self.tried(state, kind, point, name, earlier, because))
    }

    /// The name of a draft of the next sight, and of the one after while a sight is being written.
    pub(super) fn draft(&self, state: &State, what: &str) -> String {
        let own = |own: &Pending| own.plot == self.desk.plot && own.book == self.book.begun.book;
        let written = usize::from(state.drafts.levels.pending.as_ref().is_some_and(own));
        typed::draft(&self.desk.plot, &self.book.begun.book, self.book.sights.len() + written, what)
    }

    /// The level that a point has from another book, or typed.
    fn elsewhere(&self, kind: SightKind, point: &PointName) -> Option<Reading> {
        if kind == SightKind::Back {
            return None;
        }
        let record = &self.desk.view.record;
        let all =
            self.book.begun.serves.iter().flat_map(|one| record.readings_of(&one.hold_point, &one.criterion));
        let has_level = |stop: &super::course::Stop| stop.is_read && stop.point == *point;
        if !self.course.stops.iter().any(has_level) {
            return None;
        }
        let own = |entry: EntryId| self.book.sights.iter().any(|sight| sight.kept.noted.id == entry);
        let mut others = all.filter(|one| one.superseded.is_none() && one.point == *point && !own(one.entry));
        others.next()
    }

    /// The sight as it would be booked.
    pub(super) fn fact(&self, kind: SightKind, point: &PointName, value: Length) -> SightBooked {
        SightBooked {
            book: self.book.begun.book.clone(),
            sight: kind,
            point: point.clone(),
            value_um: value.um(),
            remark: None,
        }
    }

    fn tried(
        &self,
        state: &mut State,
        kind: SightKind,
        point: PointName,
        draft: String,
        earlier: Option<Earlier<'a>>,
        because: Option<Because>,
    ) -> Now<'a> {
        let text = state.drafts.text(&draft).to_owned();
        let value = typed::read(&text, self.method());
        let tried = value.as_ref().ok().map(|value| {
            let fact = self.fact(kind, &point, *value);
            // Until the reason is given it is tried as a misreading: what it would give is the same.
            let instead_of =
                earlier.as_ref().map(|earlier| (earlier.entry(), because.unwrap_or(Because::Misread)));
            self.try_it(state, fact, instead_of)
        });
        Now { kind, point, draft, text, value, earlier, tried }
    }

    fn try_it(
        &self,
        state: &mut State,
        fact: SightBooked,
        instead_of: Option<(EntryId, Because)>,
    ) -> Arc<Tried> {
        let by = self.desk.at_tablet.as_ref().map(|one| one.person);
        let drawn = state.drafts.levels.drawn.as_mut();
        let last = drawn.as_ref().and_then(|drawn| drawn.tried.clone());
        if let Some(last) =
            last.filter(|one| one.fact == fact && one.instead_of == instead_of && one.by == by)
        {
            return last;
        }
        let in_place =
            instead_of.map(|(entry, _)| entry).filter(|entry| self.book.place_of(*entry).is_some());
        let trial = level_trial::of_sight(&self.desk.view.record, &fact, in_place, self.today);
        let tried =
            Arc::new(Tried { may: self.desk.may(&act(&fact, instead_of)), fact, instead_of, by, trial });
        if let Some(drawn) = drawn {
            drawn.tried = Some(Arc::clone(&tried));
        }
        tried
    }
}

impl Now<'_> {
    /// Why it cannot be booked as it stands, in a sentence; none while nothing is typed.
    pub(super) fn refusal(&self, because: Option<Because>) -> Option<String> {
        if self.text.is_empty() || self.text == "-" {
            return None;
        }
        if let Err(what) = &self.value {
            return Some(format!("It {what}."));
        }
        if self.earlier.is_some() && because.is_none() {
            return Some("Say first why it is read again.".to_owned());
        }
        match self.tried.as_ref().map(|tried| &tried.may) {
            Some(May::NotThisPerson(why) | May::NotNow(why)) => Some(why.clone()),
            _ => self.tried.as_ref().and_then(|tried| tried.trial.as_ref().err().map(|what| sentence(what))),
        }
    }
}

/// The act that books a sight.
pub(super) fn act(fact: &SightBooked, instead_of: Option<(EntryId, Because)>) -> Act {
    let act = Act::BookSight(fact.clone());
    match instead_of {
        None => act,
        Some((id, because)) => Act::Supersede { id, because, remark: None, with: Box::new(act) },
    }
}

/// A kind of sight by the name under which it is kept.
fn kind_named(text: &str) -> Option<SightKind> {
    [SightKind::Inter, SightKind::Fore].into_iter().find(|kind| kind.word() == text)
}

/// Forgets the draft of a sight that is on disk; takes it up again when it was refused.
fn settle(state: &mut State, desk: &Desk, book: &LevelBook) {
    let Some(pending) = state.drafts.levels.pending.clone() else { return };
    if pending.plot != desk.plot || pending.book != book.begun.book {
        return;
    }
    if state.notice.as_ref().is_some_and(|notice| notice.is_problem) {
        state.drafts.levels.pending = None;
        return;
    }
    if book.sights.len() <= pending.sights {
        return;
    }
    state.drafts.levels.pending = None;
    state.drafts.levels.correcting = None;
    state.drafts.levels.because = None;
    let of_sight =
        ["point", "sight"].map(|what| typed::draft(&desk.plot, &pending.book, pending.sights, what));
    for name in of_sight.into_iter().chain([pending.draft]) {
        if state.drafts.text.remove(&name).is_some() {
            state.ask(Action::KeepDraft { name, text: String::new() });
        }
    }
}

/// The book as it was drawn last, or drawn anew.
fn drawn(state: &mut State, desk: &Desk, book: &LevelBook) -> (Arc<Sheet>, Arc<Course>) {
    if let Some(drawn) = &state.drafts.levels.drawn
        && Arc::ptr_eq(&drawn.view, &desk.view)
        && drawn.book == book.begun.book
    {
        return (Arc::clone(&drawn.sheet), Arc::clone(&drawn.course));
    }
    let sheet = Arc::new(Sheet::of(&desk.view, &desk.site, book));
    let course = Arc::new(Course::of(&desk.view.record, book));
    state.drafts.levels.drawn = Some(Drawn {
        view: Arc::clone(&desk.view),
        book: book.begun.book.clone(),
        sheet: Arc::clone(&sheet),
        course: Arc::clone(&course),
        tried: None,
    });
    (sheet, course)
}

/// What is wrong with the whole book: its instrument, its bench mark, its closing.
pub(super) fn cautions_ui(ui: &mut Ui, work: &Work<'_>) {
    let own = work.desk.view.record.instruments.get(&work.book.begun.instrument);
    let of_instrument = own.and_then(|own| instrument_doubt(own, work.today));
    let of_book = work.sheet.reduced.as_ref().ok().and_then(|reduced| reduced.doubt.clone());
    let cautions: Vec<String> = of_instrument
        .into_iter()
        .chain(of_book)
        .map(|doubt| format!("{} Nothing is decided from these levels.", sentence(&doubt)))
        .collect();
    let cautions: Vec<&str> = cautions.iter().map(String::as_str).collect();
    widgets::caution_bar_ui(ui, &cautions);
    if !cautions.is_empty() {
        ui.add_space(4.0);
    }
}

/// The row in work, and under it what is pointed out and what is asked.
pub(super) fn work_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, columns: &Columns) {
    ui.spacing_mut().item_spacing.y = 4.0;
    let Some(now) = &work.now else {
        closed_ui(ui, work);
        return;
    };
    row_ui(ui, work, now, columns);
    if let Some(earlier) = &now.earlier {
        pointed_out::earlier_ui(ui, state, work, earlier);
    }
    pointed_out::slips_ui(ui, state, work, now);
    ui.add_space(2.0);
}

fn closed_ui(ui: &mut Ui, work: &Work<'_>) {
    let (Due::Closed(on), Ok(reduced)) = (&work.course.due, &work.sheet.reduced) else { return };
    let missed = reduced.output.misclosure_mm.map_or(Length::ZERO, |one| one.0);
    let words = format!("Closed on {on}: {} mm, ±{} allowed.", typed::signed_mm(missed), work.allowed());
    widgets::notice_ui(ui, reduced.output.verdict.into(), &words);
}

fn row_ui(ui: &mut Ui, work: &Work<'_>, now: &Now<'_>, columns: &Columns) {
    let sheet = theme::sheet(ui);
    let (id, row) = columns.row(ui, ROW);
    ui.painter().rect_filled(row, 0.0, sheet.wash(sheet.next));
    let trial = now.tried.as_ref().and_then(|tried| tried.trial.as_ref().ok());
    let shown = now
        .value
        .as_ref()
        .map_or_else(|_| now.text.replace('-', "−"), |read| typed::shown(*read, work.method()));
    let bold = theme::strong(theme::BODY);
    let mut spoken =
        vec![format!("In work: {}, {}", now.point, typed::kind_word(now.kind, work.method()).to_lowercase())];
    if !now.text.is_empty() {
        spoken.push(shown.clone());
    }
    for (holds, cell) in columns.cells(row) {
        let words = match holds {
            Holds::Point => {
                table::point(ui, cell, now.point.as_str());
                continue;
            }
            Holds::Read(kind) if kind == now.kind => shown.clone(),
            Holds::Check if now.kind != SightKind::Inter => shown.clone(),
            Holds::First
                if now.kind == SightKind::Back && work.method() == BookMethod::HeightOfCollimation =>
            {
                trial.and_then(|trial| trial.collimation).map_or_else(String::new, |level| level.m_text(3))
            }
            Holds::Level => trial.map_or_else(String::new, |trial| trial.level.m_text(3)),
            Holds::Deviation => {
                if let Some((text, mark)) = trial.and_then(|trial| deviation(trial, now.kind)) {
                    table::deviation(ui, cell, &text, mark);
                    spoken.push(format!("{text} mm, {}", mark.name()));
                }
                continue;
            }
            _ => continue,
        };
        if holds == Holds::Level && !words.is_empty() {
            spoken.push(format!("level {words}"));
        }
        table::text(ui, cell, holds, &words, bold.clone(), sheet.ink);
        let reads_here = matches!(holds, Holds::Read(_) | Holds::Check);
        if reads_here {
            ui.painter().rect_stroke(cell.shrink(3.0), 0.0, sheet.thick(), StrokeKind::Inside);
        }
    }
    columns.rule(ui, row);
    ui.painter().rect_stroke(row, 0.0, sheet.extra(), StrokeKind::Inside);
    type_setting::picture(ui, row, id, &spoken.join(", "));
}

/// How far off a trial is, with its verdict: of the point's own criterion, or of the closing.
pub(super) fn deviation(trial: &level_trial::SightTrial, kind: SightKind) -> Option<(String, Mark)> {
    if let Some(own) = &trial.trial {
        return Some((own.deviation.map_or_else(String::new, typed::signed_mm), own.verdict.into()));
    }
    let output = &trial.reduced.output;
    let missed = output.misclosure_mm.filter(|_| kind == SightKind::Fore)?;
    Some((typed::signed_mm(missed.0), output.verdict.into()))
}
