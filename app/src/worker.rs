//! The thread that owns the register: requests in, replies out, one repaint for each reply.
//!
//! Nothing slow ever runs on the window's thread. This thread, `gaugerod-record`, does all writing; photos are
//! examined and pictures decoded on two more. A job that panics is a bug of this program: the thread survives,
//! reads the register again from disk and says so.
//!
//! - [`desk`]: what the thread does with each request
//! - [`series`]: what is done at many points or on many plots with one press
//! - [`photos`]: examining photos, decoding pictures of them
//! - [`levels`]: instruments, bench marks, level books from files
//! - [`drawings`]: pages of drawings behind plans
//! - [`cuts`]: cut plans over several plots
//! - [`papers`]: the sign-off's preview, draft and signed file

use std::collections::{BTreeMap, VecDeque};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::JoinHandle;

use egui::{ColorImage, Context};
use gaugerod_core::ids::PlotId;
use gaugerod_core::photo::RenditionKind;
use gaugerod_core::register::Session;

use crate::action::Action;
use crate::drawings::{Draughtsman, Page};
use crate::screens::hold_point::ReadTemperatures;
use crate::screens::level_book::ReadBook;
use crate::state::{AtTablet, Busy, Notice, OpenRegister, Preview, ReadDesign};
use crate::surroundings::Machine;
use crate::textures::Sha;
use crate::underlays::Key;

mod curing;
pub mod cuts;
pub mod desk;
pub mod drawings;
pub mod levels;
pub mod papers;
pub mod photos;
mod series;

#[cfg(test)]
mod tests;

use desk::Desk;
use photos::Examined;

/// What the worker is asked.
#[derive(Debug)]
pub enum Request {
    /// Carry out what a person asked for.
    Do(Action),
    /// Keep this plot folded and send it with every change.
    Look(PlotId),
    /// Decode a picture of a photo: its thumbnail, or one to look at.
    Picture(RenditionKind, Sha),
    /// Draw a page of a drawing in the register.
    Underlay(Key),
    /// A photo was examined.
    Examined(Box<Examined>),
    /// The window is gone: end after everything asked for before.
    End,
    /// Panic, to see that the thread survives it.
    #[cfg(test)]
    Stumble,
}

/// What the worker answers.
#[derive(Debug)]
pub enum Reply {
    /// A register is open.
    Opened(Box<Opened>),
    /// Something changed, or was looked at: this is how things stand on disk.
    Now(Box<Now>),
    /// A sentence for the person.
    Said(Notice),
    /// This needs the person's PIN.
    PinNeeded(String),
    /// Long work goes on, or is over.
    Busy(Option<Busy>),
    /// A floor design file was read.
    Design(ReadDesign),
    /// A floor design was issued: what was typed for it is done with.
    DesignIssued,
    /// Somebody was enrolled: what was typed for it is done with.
    Enrolled,
    /// A picture of a photo, or that it cannot be had.
    Picture(RenditionKind, Sha, Option<ColorImage>),
    /// An instrument or a bench mark is registered: what was typed for it is done with.
    Registered,
    /// A level book was read from a file.
    LevelBook(Box<ReadBook>),
    /// Temperatures were read from a logger's file.
    Temperatures(Box<ReadTemperatures>),
    /// A drawing was read, to be placed behind a plan; or what is wrong with it.
    Drawing {
        /// The plot.
        plot: PlotId,
        /// The file.
        path: PathBuf,
        /// The page, from 1.
        page: u32,
        /// The page.
        result: Result<Page, String>,
    },
    /// A page of a drawing in the register, or what is wrong with it.
    Underlay(Key, Result<Page, String>),
    /// A drawing was placed: what was chosen and typed for it is done with.
    UnderlayPlaced,
    /// A cut plan was looked for.
    Cuts(Box<cuts::FoundCuts>),
    /// The cut sheets are on disk.
    CutSheets(PathBuf),
    /// A draft that the worker filled in.
    Drafted(String, String),
    /// What a batch came to.
    Recalled(String, Vec<gaugerod_core::register::Recalled>),
    /// The pages of a sign-off.
    Preview(Box<Preview>),
    /// A dialog ended with this to be done.
    Chosen(Action),
}

/// A register that was just opened.
#[derive(Debug)]
pub struct Opened {
    /// What the window shows of it.
    pub register: OpenRegister,
    /// What was typed and not booked when it was closed last.
    pub drafts: BTreeMap<String, String>,
    /// Whether it was made just now.
    pub is_new: bool,
}

/// How things stand on disk.
#[derive(Debug)]
pub struct Now {
    /// What the window shows of the register.
    pub register: OpenRegister,
    /// Who is at the tablet.
    pub at_tablet: Option<AtTablet>,
}

/// What the worker's threads are given.
#[derive(Clone)]
pub struct Means {
    /// What registers are opened with.
    pub machine: Machine,
    /// The program's own folder.
    pub settings: PathBuf,
    /// The folder of the demo site.
    pub demo: PathBuf,
    /// Who draws pages of drawings.
    pub draughtsman: Draughtsman,
}

/// The window's hold on the worker.
pub struct Worker {
    requests: Sender<Request>,
    replies: Receiver<Reply>,
    reply: Replier,
    stop: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

/// Sends replies and wakes the window.
#[derive(Clone)]
pub struct Replier {
    replies: Sender<Reply>,
    ctx: Context,
}

impl Replier {
    /// Sends a reply and asks for one repaint.
    pub fn send(&self, reply: Reply) {
        // The window may be gone already: then nobody waits for the reply, and what is on disk stays there.
        if self.replies.send(reply).is_ok() {
            self.ctx.request_repaint();
        }
    }

    /// Says a sentence.
    pub fn say(&self, text: impl Into<String>, is_problem: bool) {
        self.send(Reply::Said(Notice { text: text.into(), is_problem }));
    }

    /// Shows that long work goes on.
    pub fn busy(&self, doing: &str, done: u64, whole: u64) {
        self.send(Reply::Busy(Some(Busy { doing: doing.to_owned(), done, whole, can_stop: true })));
    }
}

impl Worker {
    /// Starts the threads. `ctx` is repainted once for each reply.
    ///
    /// # Errors
    /// The system gives no thread.
    pub fn start(ctx: Context, means: Means) -> std::io::Result<Self> {
        let (requests, received) = channel();
        let (replies, answers) = channel();
        let reply = Replier { replies, ctx };
        let stop = Arc::new(AtomicBool::new(false));
        let photos = photos::start(&requests, &reply, &stop)?;
        let drawings = drawings::start(&reply, means.draughtsman.clone())?;
        let desk = Desk::new(means, reply.clone(), Arc::clone(&stop), photos, drawings);
        let thread = std::thread::Builder::new()
            .name("gaugerod-record".to_owned())
            .spawn(move || work(desk, &received))?;
        Ok(Self { requests, replies: answers, reply, stop, thread: Some(thread) })
    }

    /// A worker whose requests are only collected, for tests of what is asked.
    #[cfg(test)]
    pub fn listening() -> (Self, Receiver<Request>) {
        let (requests, received) = channel();
        let (replies, answers) = channel();
        let reply = Replier { replies, ctx: Context::default() };
        let stop = Arc::new(AtomicBool::new(false));
        (Self { requests, replies: answers, reply, stop, thread: None }, received)
    }

    /// Asks for something.
    pub fn ask(&self, request: Request) {
        if self.requests.send(request).is_err() {
            self.reply.say(
                "The program's own recording thread has ended. What was shown as on disk is safe; \
                 start the program again.",
                true,
            );
        }
    }

    /// Stops long work after the step that is under way.
    pub fn stop(&self) {
        self.stop.store(true, Ordering::SeqCst);
    }

    /// For dialogs: a way to answer later.
    pub fn replier(&self) -> Replier {
        self.reply.clone()
    }

    /// The next reply, if one is there.
    pub fn reply(&self) -> Option<Reply> {
        self.replies.try_recv().ok()
    }

    /// Waits for the next reply; `None` when the worker is gone or `seconds` are over.
    #[cfg(test)]
    pub fn wait(&self, seconds: u64) -> Option<Reply> {
        self.replies.recv_timeout(std::time::Duration::from_secs(seconds)).ok()
    }
}

impl Drop for Worker {
    /// Waits until everything asked for so far is on disk.
    fn drop(&mut self) {
        self.stop();
        // The photos' thread holds a way to ask too, so the record's thread is told to end.
        let _ = self.requests.send(Request::End);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join(); // a thread that panicked outside of a job has said so in the log
        }
    }
}

fn work(mut desk: Desk, requests: &Receiver<Request>) {
    let mut queue = VecDeque::new();
    loop {
        queue.extend(requests.try_iter());
        if queue.is_empty() {
            desk.settle();
            match requests.recv() {
                Ok(request) => queue.push_back(request),
                Err(_) => return,
            }
        }
        queue.extend(requests.try_iter());
        let Some(request) = queue.pop_front() else { continue };
        if matches!(&request, Request::End) {
            return;
        }
        if is_outdated(&request, &queue) {
            continue;
        }
        if catch_unwind(AssertUnwindSafe(|| desk.handle(request))).is_err() {
            desk.recover();
        }
    }
}

/// A draft that is typed on further, or a look at another plot since: only the last one counts.
fn is_outdated(request: &Request, queue: &VecDeque<Request>) -> bool {
    match request {
        Request::Do(Action::KeepDraft { name, .. }) => queue.iter().any(
            |later| matches!(later, Request::Do(Action::KeepDraft { name: other, .. }) if other == name),
        ),
        Request::Look(_) => queue.iter().any(|later| matches!(later, Request::Look(_))),
        _ => false,
    }
}

/// A photo on its way into the record: who brings it, and where it belongs.
#[derive(Clone)]
pub struct Bringing {
    /// Who.
    pub by: Session,
    /// The plot.
    pub plot: PlotId,
    /// The hold point.
    pub hold_point: gaugerod_core::ids::HoldPointId,
    /// What it shows.
    pub subject: String,
}

impl std::fmt::Debug for Bringing {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Bringing")
            .field("plot", &self.plot)
            .field("subject", &self.subject)
            .finish_non_exhaustive()
    }
}
