//! Drawings beside the record's thread: pages are read and drawn here. Nothing is written.

use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, Sender, channel};

use gaugerod_core::ids::{PlotId, Sha256Digest};
use gaugerod_core::store::{MOST_DOCUMENT_BYTES, Reader};

use super::photos::read_bounded;
use super::{Replier, Reply};
use crate::drawings::{Draughtsman, Page};
use crate::messages;
use crate::underlays::Key;

/// What is to be drawn.
pub enum Job {
    /// A page of a file, to be placed on a plot.
    File {
        /// The plot.
        plot: PlotId,
        /// The file.
        path: PathBuf,
        /// The page, from 1.
        page: u32,
    },
    /// A page of a drawing in a register.
    Stored {
        /// The register's file.
        register: PathBuf,
        /// The drawing and its page.
        key: Key,
    },
}

/// Starts the thread.
///
/// # Errors
/// The system gives no thread.
pub fn start(reply: &Replier, draughtsman: Draughtsman) -> std::io::Result<Sender<Job>> {
    let (jobs, wanted) = channel();
    let own = reply.clone();
    std::thread::Builder::new()
        .name("gaugerod-drawings".to_owned())
        .spawn(move || draw_all(&wanted, &own, &draughtsman))?;
    Ok(jobs)
}

fn draw_all(wanted: &Receiver<Job>, reply: &Replier, draughtsman: &Draughtsman) {
    for job in wanted {
        match job {
            Job::File { plot, path, page } => {
                reply.busy("Drawing the page", 0, 0);
                let result = file(&path, page, draughtsman);
                reply.send(Reply::Busy(None));
                reply.send(Reply::Drawing { plot, path, page, result });
            }
            Job::Stored { register, key } => {
                let result = stored(&register, key, draughtsman);
                reply.send(Reply::Underlay(key, result));
            }
        }
    }
}

fn file(path: &Path, page: u32, draughtsman: &Draughtsman) -> Result<Page, String> {
    let bytes = read_bounded(path, MOST_DOCUMENT_BYTES)?;
    drawn(&bytes, page, draughtsman).map_err(|what| {
        format!(
            "{}: {what}. Nothing of it was recorded; choose another drawing or page.",
            messages::name(path)
        )
    })
}

fn stored(register: &Path, (sha, page): Key, draughtsman: &Draughtsman) -> Result<Page, String> {
    let reader = Reader::open(register).map_err(|error| error.to_string())?;
    let bytes = reader.original_bytes(Sha256Digest(sha)).map_err(|error| error.to_string())?;
    drawn(&bytes, page, draughtsman)
}

/// Hostile bytes end in a sentence; should one end in a panic all the same, only this drawing is lost.
fn drawn(bytes: &[u8], page: u32, draughtsman: &Draughtsman) -> Result<Page, String> {
    let drawn = std::panic::catch_unwind(|| draughtsman.draw(bytes, page));
    drawn.unwrap_or_else(|_| Err("the drawing cannot be read".to_owned()))
}
