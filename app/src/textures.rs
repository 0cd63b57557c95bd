//! Pictures of photographs on the graphics card, thumbnails in one cache and large ones in another: the least
//! recently shown are given up first when the budget of bytes is spent. It decodes nothing: the worker does, is asked
//! through [`Pictures::wanted`] and answers through [`Pictures::offer`].

use std::collections::{HashMap, HashSet};

use egui::{ColorImage, Context, TextureHandle, TextureId, TextureOptions};

/// Name of a photograph: the SHA-256 of its bytes.
pub type Sha = [u8; 32];

/// Bytes that one cache may take on the graphics card unless told otherwise: about a hundred and sixty pictures of
/// 320 × 240 at four bytes a pixel, or six of 1600 × 1200.
pub const BUDGET: usize = 48 * 1024 * 1024;

/// Pictures of one size.
pub struct Pictures {
    budget: usize,
    bytes: usize,
    clock: u64,
    held: HashMap<Sha, Held>,
    queue: Vec<Sha>,
    asked: HashSet<Sha>,
    gone: HashSet<Sha>,
}

struct Held {
    texture: TextureHandle,
    bytes: usize,
    shown: u64,
}

impl Default for Pictures {
    fn default() -> Self {
        Self::with_budget(BUDGET)
    }
}

impl Pictures {
    /// An empty cache that holds at most `budget` bytes, or a single picture if that is larger.
    pub fn with_budget(budget: usize) -> Self {
        Self {
            budget,
            bytes: 0,
            clock: 0,
            held: HashMap::new(),
            queue: Vec::new(),
            asked: HashSet::new(),
            gone: HashSet::new(),
        }
    }

    /// The picture of a photograph with its size in pixels; if it is not here it is put on the
    /// queue of wanted ones, once.
    pub fn get(&mut self, sha: &Sha) -> Option<(TextureId, [usize; 2])> {
        self.clock += 1;
        if let Some(held) = self.held.get_mut(sha) {
            held.shown = self.clock;
            return Some((held.texture.id(), held.texture.size()));
        }
        if !self.gone.contains(sha) && self.asked.insert(*sha) {
            self.queue.push(*sha);
        }
        None
    }

    /// Takes the queue of wanted pictures, in the order in which they were asked for.
    pub fn wanted(&mut self) -> Vec<Sha> {
        std::mem::take(&mut self.queue)
    }

    /// Takes in a decoded picture and gives up others until the budget is kept.
    pub fn offer(&mut self, ctx: &Context, sha: Sha, image: ColorImage) {
        let bytes = image.pixels.len() * 4;
        self.clock += 1;
        self.asked.remove(&sha);
        if let Some(old) = self.held.remove(&sha) {
            self.bytes -= old.bytes;
        }
        while self.bytes + bytes > self.budget {
            let Some(oldest) = self.held.iter().min_by_key(|(_, held)| held.shown).map(|(sha, _)| *sha)
            else {
                break;
            };
            if let Some(gone) = self.held.remove(&oldest) {
                self.bytes -= gone.bytes;
            }
        }
        let texture = ctx.load_texture(name(&sha), image, TextureOptions::LINEAR);
        self.bytes += bytes;
        self.held.insert(sha, Held { texture, bytes, shown: self.clock });
    }

    /// Says that a wanted picture cannot be had; it stays blank and is not asked for again.
    pub fn give_up(&mut self, sha: &Sha) {
        self.queue.retain(|queued| queued != sha);
        self.asked.remove(sha);
        self.gone.insert(*sha);
    }

    /// Whether a picture cannot be had.
    pub fn is_gone(&self, sha: &Sha) -> bool {
        self.gone.contains(sha)
    }

    /// Another register is open: what is here stays, what was asked for or could not be had is asked for again.
    #[must_use]
    pub fn begin_again(mut self) -> Self {
        self.queue.clear();
        self.asked.clear();
        self.gone.clear();
        self
    }

    /// Bytes held at present.
    pub const fn bytes(&self) -> usize {
        self.bytes
    }
}

fn name(sha: &Sha) -> String {
    use std::fmt::Write as _;
    sha.iter().take(8).fold(String::from("photo "), |mut text, byte| {
        let _ = write!(text, "{byte:02x}"); // writing to a String cannot fail
        text
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sha(n: u8) -> Sha {
        [n; 32]
    }

    fn image() -> ColorImage {
        ColorImage::filled([10, 10], egui::Color32::GRAY)
    }

    #[test]
    fn a_missing_thumbnail_is_asked_for_once() {
        let mut cache = Pictures::with_budget(4000);
        assert!(cache.get(&sha(1)).is_none() && cache.get(&sha(1)).is_none() && cache.get(&sha(2)).is_none());
        assert_eq!(cache.wanted(), [sha(1), sha(2)]);
        assert!(cache.get(&sha(1)).is_none());
        assert!(cache.wanted().is_empty());
    }

    #[test]
    fn the_least_recently_shown_goes_first_and_the_budget_is_kept() {
        let ctx = Context::default();
        let mut cache = Pictures::with_budget(800); // two of 10 × 10 × 4
        cache.offer(&ctx, sha(1), image());
        cache.offer(&ctx, sha(2), image());
        assert!(cache.get(&sha(1)).is_some());
        cache.offer(&ctx, sha(3), image());
        assert_eq!(cache.bytes(), 800);
        assert!(cache.get(&sha(1)).is_some() && cache.get(&sha(3)).is_some());
        assert!(cache.get(&sha(2)).is_none());
        assert_eq!(cache.wanted(), [sha(2)]);
    }

    #[test]
    fn offering_the_same_one_again_counts_it_once() {
        let ctx = Context::default();
        let mut cache = Pictures::with_budget(4000);
        cache.offer(&ctx, sha(1), image());
        cache.offer(&ctx, sha(1), image());
        assert_eq!(cache.bytes(), 400);
    }

    #[test]
    fn one_larger_than_the_budget_is_still_shown() {
        let ctx = Context::default();
        let mut cache = Pictures::with_budget(100);
        cache.offer(&ctx, sha(1), image());
        cache.offer(&ctx, sha(2), image());
        assert!(cache.get(&sha(2)).is_some());
        assert_eq!(cache.bytes(), 400);
    }

    #[test]
    fn one_that_cannot_be_had_is_not_asked_for_again() {
        let mut cache = Pictures::default();
        assert!(cache.get(&sha(1)).is_none());
        cache.give_up(&sha(1));
        assert!(cache.get(&sha(1)).is_none() && cache.is_gone(&sha(1)));
        assert!(cache.wanted().is_empty());
    }

    #[test]
    fn with_another_register_what_could_not_be_had_is_asked_for_again_and_what_is_here_stays() {
        let ctx = Context::default();
        let mut cache = Pictures::default();
        cache.offer(&ctx, sha(2), image());
        assert!(cache.get(&sha(1)).is_none());
        cache.give_up(&sha(1));
        let mut cache = cache.begin_again();
        assert!(cache.get(&sha(1)).is_none() && cache.get(&sha(2)).is_some());
        assert_eq!(cache.wanted(), [sha(1)]);
    }
}
