//! The hidden command by which the program draws a page of a PDF as its own child: the PDF on standard input, the
//! picture on standard output. Memory and processor time are bounded before a byte is read, so that a hostile drawing ends the child and
//! nothing else.

use std::io::{Read as _, Write as _};

use clap::Args;

use super::{DONE, NO, UNUSABLE};
use crate::drawings::{self, SAYS, pdf};

/// The most memory that drawing a page may take, in bytes.
#[cfg(unix)]
const MOST_MEMORY: u64 = 2 << 30;

/// The most processor time that drawing a page may take, in seconds: the parent waits no longer either.
#[cfg(unix)]
const MOST_CPU_SECONDS: u64 = 30;

/// Room for the drawing thread's stack, in bytes.
const STACK: usize = 64 << 20;

/// Draw a page of a PDF.
#[derive(Debug, Args)]
pub struct PageArgs {
    /// The page, from 1
    #[arg(long)]
    page: u32,
}

/// Draws, and hands the picture over.
pub fn run(args: &PageArgs) -> i32 {
    // Where the system knows no such bound, the parent's bound on time still holds.
    #[cfg(unix)]
    let _ = rlimit::setrlimit(rlimit::Resource::AS, MOST_MEMORY, MOST_MEMORY);
    #[cfg(unix)]
    let _ = rlimit::setrlimit(rlimit::Resource::CPU, MOST_CPU_SECONDS, MOST_CPU_SECONDS);
    let most = gaugerod_core::store::MOST_DOCUMENT_BYTES;
    let mut bytes = Vec::new();
    if std::io::stdin().lock().take(most + 1).read_to_end(&mut bytes).is_err() || bytes.len() as u64 > most {
        return UNUSABLE;
    }
    // Deep nesting is refused by the reader; a generous stack lets it come that far.
    let page = args.page;
    let drawing = std::thread::Builder::new().stack_size(STACK).spawn(move || pdf::draw(&bytes, page));
    match drawing.map(std::thread::JoinHandle::join) {
        Ok(Ok(Ok(page))) => {
            let mut out = std::io::stdout().lock();
            let written = out.write_all(&drawings::pack(&page)).and_then(|()| out.flush());
            if written.is_ok() { DONE } else { UNUSABLE }
        }
        Ok(Ok(Err(sentence))) => {
            eprintln!("{SAYS}{sentence}");
            NO
        }
        // It panicked on a damaged drawing, or there is no thread to be had.
        Ok(Err(_)) | Err(_) => UNUSABLE,
    }
}
