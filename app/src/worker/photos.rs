//! Photos beside the record's thread: files are read, examined and made smaller here, pictures of
//! those on disk are decoded here.
//! Nothing is written: the record's thread gets what was examined and puts it on disk.

use std::fs::File;
use std::io::Read as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};

use egui::ColorImage;
use gaugerod_core::ids::Sha256Digest;
use gaugerod_core::photo::{self, PhotoFacts, RenditionKind, Renditions};
use gaugerod_core::store::Reader;

use super::{Bringing, Replier, Reply, Request};
use crate::messages;
use crate::textures::Sha;

/// The two threads.
pub struct Photos {
    /// Files to examine.
    pub examine: Sender<(Bringing, Vec<PathBuf>)>,
    /// Pictures to decode: of which register, how large, of which photo.
    pub pictures: Sender<(PathBuf, RenditionKind, Sha)>,
}

/// One photo that was examined, or the last word about a group of them.
pub struct Examined {
    /// Where it belongs.
    pub bringing: Bringing,
    /// What was found, or a sentence that names the file and says what is wrong with it.
    pub result: Result<(Vec<u8>, PhotoFacts, Renditions), String>,
    /// Its place in the group, from 1, and how many the group has.
    pub place: (u64, u64),
    /// Whether somebody asked to stop: the rest of the group was left alone.
    pub stopped: bool,
}

impl std::fmt::Debug for Examined {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Examined")
            .field("bringing", &self.bringing)
            .field("place", &self.place)
            .finish_non_exhaustive()
    }
}

/// Starts both threads.
///
/// # Errors
/// The system gives no thread.
pub fn start(requests: &Sender<Request>, reply: &Replier, stop: &Arc<AtomicBool>) -> std::io::Result<Photos> {
    let (examine, files) = channel();
    let (pictures, wanted) = channel();
    let (back, own, stop) = (requests.clone(), reply.clone(), Arc::clone(stop));
    std::thread::Builder::new()
        .name("gaugerod-photos".to_owned())
        .spawn(move || examine_all(&files, &back, &own, &stop))?;
    let own = reply.clone();
    std::thread::Builder::new()
        .name("gaugerod-pictures".to_owned())
        .spawn(move || decode_all(&wanted, &own))?;
    Ok(Photos { examine, pictures })
}

fn examine_all(
    files: &Receiver<(Bringing, Vec<PathBuf>)>,
    back: &Sender<Request>,
    reply: &Replier,
    stop: &AtomicBool,
) {
    for (bringing, files) in files {
        let whole = files.len() as u64;
        for (place, file) in (1..).zip(&files) {
            let stopped = stop.load(Ordering::SeqCst);
            let result = if stopped {
                Err(format!("Stopped: {} of {whole} photos were left out.", whole + 1 - place))
            } else {
                reply.busy("Taking in photos", place - 1, whole);
                examine(file)
            };
            let examined = Examined { bringing: bringing.clone(), result, place: (place, whole), stopped };
            if back.send(Request::Examined(Box::new(examined))).is_err() {
                return;
            }
            if stopped {
                break;
            }
        }
    }
}

fn examine(file: &Path) -> Result<(Vec<u8>, PhotoFacts, Renditions), String> {
    let limits = photo::Limits::default();
    let bytes = read_bounded(file, limits.bytes)?;
    // Hostile bytes end in a refusal; should one end in a panic all the same, only this photo is lost.
    let taken = std::panic::catch_unwind(|| photo::take_in_with_renditions(&bytes, &limits));
    match taken {
        Ok(Ok((facts, made))) => Ok((bytes, facts, made)),
        Ok(Err(refusal)) => Err(messages::of_photo(file, &refusal)),
        Err(_) => {
            Err(format!("{}: this photo cannot be read. Nothing of it was recorded.", messages::name(file)))
        }
    }
}

/// Reads a file of at most `most` bytes.
///
/// # Errors
/// A sentence that names the file.
pub fn read_bounded(path: &Path, most: u64) -> Result<Vec<u8>, String> {
    let failed = |error: &std::io::Error| messages::of_file(path, error);
    let file = File::open(path).map_err(|error| failed(&error))?;
    let mut bytes = Vec::new();
    file.take(most + 1).read_to_end(&mut bytes).map_err(|error| failed(&error))?;
    if bytes.len() as u64 > most {
        return Err(format!(
            "{} is larger than {} MB. Nothing of it was recorded; choose a smaller file.",
            messages::name(path),
            most / 1_000_000
        ));
    }
    Ok(bytes)
}

fn decode_all(wanted: &Receiver<(PathBuf, RenditionKind, Sha)>, reply: &Replier) {
    let mut open: Option<(PathBuf, Reader)> = None;
    for (register, kind, sha) in wanted {
        if open.as_ref().is_none_or(|(path, _)| *path != register) {
            open = Reader::open(&register).ok().map(|reader| (register, reader));
        }
        let picture = open.as_ref().and_then(|(_, reader)| {
            std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| picture(reader, kind, sha)))
                .ok()
                .flatten()
        });
        reply.send(Reply::Picture(kind, sha, picture));
    }
}

fn picture(reader: &Reader, kind: RenditionKind, sha: Sha) -> Option<ColorImage> {
    let sha256 = Sha256Digest(sha);
    let kept = reader.rendition(sha256, kind).ok().flatten();
    let jpeg = match kept {
        Some(jpeg) => jpeg,
        // Smaller pictures may have been thrown away: they are made again from the original.
        None => {
            let bytes = reader.original_bytes(sha256).ok()?;
            let (_, made) = photo::take_in_with_renditions(&bytes, &photo::Limits::default()).ok()?;
            made.of(kind).to_vec()
        }
    };
    let decoded = image::load_from_memory_with_format(&jpeg, image::ImageFormat::Jpeg).ok()?.to_rgb8();
    let size = [decoded.width() as usize, decoded.height() as usize];
    Some(ColorImage::from_rgb(size, decoded.as_raw()))
}
