//! Drawings that lie behind a plan: a PNG, a JPEG or a page of a PDF made into a picture of ink on nothing.
//!
//! Drawings come from anywhere. Pictures go through the photos' own gate, which refuses what is hostile before it
//! decodes anything. A PDF is another person's program: it is drawn by this program run again as a child, with
//! bounded memory and time, so that whatever it does, the window and the record go on.
//!
//! Never here: the register, the screen. It is slow and is called beside the window.

use std::io::{Read as _, Write as _};
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use egui::{Color32, ColorImage};
use gaugerod_core::photo;

pub mod pdf;

/// The most pixels along a side of the picture.
pub const LONGEST_SIDE: u32 = 3_000;
/// How many times taller than wide, or wider than tall, a page may be.
pub const MOST_SLENDER: u32 = 20;
/// The longest that a page may take to be drawn.
const LONGEST: Duration = Duration::from_secs(30);
/// Between two looks at whether it is drawn.
const POLL: Duration = Duration::from_millis(20);
/// The quality of the JPEG that a photographed drawing passes through.
const QUALITY: u8 = 92;
/// The longest sentence of the child that is shown, in bytes.
const LONGEST_SENTENCE: u64 = 2_000;

/// The name of the command by which the program draws a page as its own child.
pub const CHILD: &str = "page-to-picture";

/// A page of a drawing as a picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Page {
    /// Pixels across and down.
    pub size: [u32; 2],
    /// How much ink each pixel has, row by row: 0 for paper, 255 for black.
    pub ink: Vec<u8>,
    /// Pages that the drawing has.
    pub pages: u32,
}

impl Page {
    /// How tall it is, in widths.
    pub fn tall(&self) -> f64 {
        f64::from(self.size[1]) / f64::from(self.size[0].max(1))
    }

    /// White where there is ink, nothing where there is paper: painted in any colour it is a drawing in that ink.
    pub fn picture(&self) -> ColorImage {
        let size = self.size.map(|one| one as usize);
        ColorImage::new(size, self.ink.iter().map(|ink| Color32::from_white_alpha(*ink)).collect())
    }
}

/// How pages of PDFs are drawn.
#[derive(Debug, Clone)]
pub enum Draughtsman {
    /// By this program as a child.
    Child(PathBuf),
    /// Right here: in the child itself, and in tests of everything else.
    Here,
}

impl Draughtsman {
    /// By this very program, where the system says what it is.
    pub fn own() -> Self {
        std::env::current_exe().map_or(Self::Here, Self::Child)
    }

    /// Draws a page, counted from 1, of a drawing.
    ///
    /// # Errors
    /// A sentence without a full stop: what is wrong with the drawing.
    pub fn draw(&self, bytes: &[u8], page: u32) -> Result<Page, String> {
        if !bytes.starts_with(b"%PDF-") {
            return picture(bytes, page);
        }
        match self {
            Self::Here => pdf::draw(bytes, page),
            Self::Child(program) => by_child(program, bytes, page),
        }
    }
}

/// A photographed or scanned drawing.
fn picture(bytes: &[u8], page: u32) -> Result<Page, String> {
    if page != 1 {
        return Err(format!("a picture has one page, not {page}"));
    }
    let facts = photo::take_in(bytes, &photo::Limits::default()).map_err(|refusal| refusal.to_string())?;
    let (across, down) = facts.upright_size();
    check_proportions(f64::from(across), f64::from(down))?;
    let jpeg = photo::rendition(bytes, &facts, LONGEST_SIDE, QUALITY).map_err(|fault| fault.to_string())?;
    let decoded = image::load_from_memory_with_format(&jpeg, image::ImageFormat::Jpeg)
        .map_err(|_| "the picture cannot be read".to_owned())?
        .to_luma8();
    let size = [decoded.width(), decoded.height()];
    let ink = decoded.into_raw().into_iter().map(|light| 255 - light).collect();
    Ok(Page { size, ink, pages: 1 })
}

/// Refuses what is no page of a drawing.
fn check_proportions(across: f64, down: f64) -> Result<(), String> {
    let most = f64::from(MOST_SLENDER);
    let sound = across > 0.0 && down > 0.0 && across <= down * most && down <= across * most;
    if sound { Ok(()) } else { Err(format!("the page is more than {MOST_SLENDER} times as long as wide")) }
}

fn by_child(program: &PathBuf, bytes: &[u8], page: u32) -> Result<Page, String> {
    let failed = |error: std::io::Error| format!("the page cannot be drawn: {error}");
    let mut child = Command::new(program)
        .args([CHILD, "--page", &page.to_string()])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .map_err(failed)?;
    let (input, output, errors) = (child.stdin.take(), child.stdout.take(), child.stderr.take());
    // Each pipe has its own thread, so that none fills up while another is waited for.
    let given = bytes.to_vec();
    let feed = std::thread::spawn(move || {
        // A child that ends early reads no further: what it says then is what counts.
        let _ = input.map(|mut input| input.write_all(&given));
    });
    let most = u64::from(LONGEST_SIDE) * u64::from(LONGEST_SIDE) + 100;
    let drawn = std::thread::spawn(move || {
        let mut bytes = Vec::new();
        output.map(|output| output.take(most).read_to_end(&mut bytes)).and_then(Result::ok).map(|_| bytes)
    });
    let said = std::thread::spawn(move || {
        let mut bytes = Vec::new();
        let _ = errors.map(|errors| errors.take(LONGEST_SENTENCE).read_to_end(&mut bytes));
        String::from_utf8_lossy(&bytes).trim().to_owned()
    });
    let until = Instant::now() + LONGEST;
    let status = loop {
        match child.try_wait().map_err(failed)? {
            Some(status) => break Some(status),
            None if until <= Instant::now() => {
                let _ = child.kill();
                let _ = child.wait();
                break None;
            }
            None => std::thread::park_timeout(POLL),
        }
    };
    let _ = feed.join();
    let (drawn, said) = (drawn.join().ok().flatten(), said.join().unwrap_or_default());
    match status {
        None => Err(format!("the page takes longer than {} s to draw", LONGEST.as_secs())),
        Some(status) if status.success() => {
            drawn.and_then(|bytes| unpack(&bytes)).ok_or_else(|| "the page cannot be drawn".to_owned())
        }
        // The child says what is wrong in a sentence; one that was ended by the system says nothing of use.
        Some(status) => match said.strip_prefix(SAYS) {
            Some(sentence) if status.code() == Some(crate::commands::NO) => Err(sentence.to_owned()),
            _ => Err("the page asks for more memory than a drawing may, or is damaged".to_owned()),
        },
    }
}

/// What the child's sentence begins with.
pub const SAYS: &str = "page: ";

/// A page as the child hands it over: one line with its size and the number of pages, then its ink.
pub fn pack(page: &Page) -> Vec<u8> {
    let mut bytes = format!("{} {} {}\n", page.size[0], page.size[1], page.pages).into_bytes();
    bytes.extend_from_slice(&page.ink);
    bytes
}

fn unpack(bytes: &[u8]) -> Option<Page> {
    let end = bytes.iter().position(|byte| *byte == b'\n')?;
    let head = std::str::from_utf8(&bytes[..end]).ok()?;
    let [across, down, pages] = head.split(' ').map(|one| one.parse().ok()).collect::<Vec<Option<u32>>>()[..]
    else {
        return None;
    };
    let (size, pages) = ([across?, down?], pages?);
    let ink = bytes[end + 1..].to_vec();
    let whole = size.iter().all(|side| (1..=LONGEST_SIDE).contains(side));
    (whole && ink.len() as u64 == u64::from(size[0]) * u64::from(size[1])).then_some(Page {
        size,
        ink,
        pages,
    })
}

#[cfg(test)]
#[path = "drawings/tests.rs"]
mod tests;
