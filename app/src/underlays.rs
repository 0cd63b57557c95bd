//! Drawings that lie behind plans, on the graphics card: the one that is shown, and the one that is being placed. It
//! decodes nothing: the worker does, is asked through [`Underlays::wanted`] and answers through [`Underlays::offer`].

use std::path::PathBuf;

use egui::{Context, TextureHandle, TextureId, TextureOptions};
use gaugerod_core::floor;
use gaugerod_core::ids::PlotId;
use gaugerod_core::plan_drawing::Place;

use crate::drawings::Page;
use crate::textures::Sha;
use crate::widgets::Camera;

/// A page of a drawing in the register: the SHA-256 of its file, and the page.
pub type Key = (Sha, u32);

/// How strongly a drawing shows behind a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Dim {
    /// Not at all.
    Off,
    /// So that the plan stands out.
    #[default]
    Faint,
    /// So that it can be read.
    Strong,
}

impl Dim {
    /// The word on the button.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Off => "drawing: off",
            Self::Faint => "drawing: faint",
            Self::Strong => "drawing: strong",
        }
    }

    /// What comes after it when the button is pressed.
    pub const fn next(self) -> Self {
        match self {
            Self::Off => Self::Faint,
            Self::Faint => Self::Strong,
            Self::Strong => Self::Off,
        }
    }

    /// How strongly the ink is drawn, 0 to 1.
    pub const fn strength(self) -> f32 {
        match self {
            Self::Off => 0.0,
            Self::Faint => 0.22,
            Self::Strong => 0.75,
        }
    }
}

/// A drawing as a picture on the graphics card.
#[derive(Clone)]
pub struct Picture {
    /// The picture.
    texture: TextureHandle,
    /// How tall it is, in widths.
    pub tall: f64,
}

impl Picture {
    fn new(ctx: &Context, name: &str, page: &Page) -> Self {
        Self { texture: ctx.load_texture(name, page.picture(), TextureOptions::LINEAR), tall: page.tall() }
    }

    /// What the painter calls it.
    pub fn id(&self) -> TextureId {
        self.texture.id()
    }
}

/// A drawing that was read and is not placed yet.
pub struct Placing {
    /// The plot that it is for.
    pub plot: PlotId,
    /// Its file.
    pub path: PathBuf,
    /// Which page, from 1.
    pub page: u32,
    /// The picture with the number of pages; or what is wrong with the file.
    pub result: Result<(Picture, u32), String>,
    /// Two places on it, in widths, y downwards.
    pub picture: [Option<Place>; 2],
    /// The same two on the plan, exactly.
    pub plan: [Option<floor::Place>; 2],
    /// Which of the two is chosen next: 0 or 1.
    pub number: usize,
    /// What part of the picture, and of the plan, is shown.
    pub cameras: [Camera; 2],
}

/// What is known of the drawing that is shown.
enum Shown {
    Asked,
    There(Picture),
    Fault(String),
}

/// Both drawings.
#[derive(Default)]
pub struct Underlays {
    shown: Option<(Key, Shown)>,
    queue: Option<Key>,
    /// How strongly the one that is shown is shown.
    pub dim: Dim,
    /// The one that is being placed.
    pub placing: Option<Placing>,
}

impl Underlays {
    /// The picture of a page in the register, or what is wrong with it; asked for once if it is not here.
    pub fn get(&mut self, key: Key) -> Option<Result<Picture, String>> {
        match &self.shown {
            Some((own, Shown::There(picture))) if *own == key => Some(Ok(picture.clone())),
            Some((own, Shown::Fault(sentence))) if *own == key => Some(Err(sentence.clone())),
            Some((own, Shown::Asked)) if *own == key => None,
            _ => {
                self.shown = Some((key, Shown::Asked));
                self.queue = Some(key);
                None
            }
        }
    }

    /// The page that is wanted, once.
    pub fn wanted(&mut self) -> Option<Key> {
        self.queue.take()
    }

    /// Takes in a page that was asked for; one that nobody waits for any more is let go.
    pub fn offer(&mut self, ctx: &Context, key: Key, result: Result<Page, String>) {
        if let Some((own, shown)) = &mut self.shown
            && *own == key
        {
            *shown = match result {
                Ok(page) => Shown::There(Picture::new(ctx, "drawing behind the plan", &page)),
                Err(sentence) => Shown::Fault(sentence),
            };
        }
    }

    /// Takes in a file that was read to be placed on a plot. Another page of the same file keeps the places on the plan.
    pub fn read(
        &mut self,
        ctx: &Context,
        plot: PlotId,
        path: PathBuf,
        page: u32,
        result: Result<Page, String>,
    ) {
        let before = self.placing.take().filter(|one| one.path == path && one.plot == plot);
        let plan = before.map_or([None; 2], |one| one.plan);
        let result = result.map(|drawn| (Picture::new(ctx, "drawing to be placed", &drawn), drawn.pages));
        let cameras = [Camera::default(); 2];
        self.placing =
            Some(Placing { plot, path, page, result, picture: [None; 2], plan, number: 0, cameras });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page() -> Page {
        Page { size: [2, 4], ink: vec![0, 255, 0, 0, 9, 0, 0, 0], pages: 3 }
    }

    #[test]
    fn a_page_is_asked_for_once_and_the_last_one_counts() {
        let (ctx, mut all) = (Context::default(), Underlays::default());
        let (one, other) = (([1; 32], 1), ([1; 32], 2));
        assert!(all.get(one).is_none() && all.get(one).is_none());
        assert_eq!(all.wanted(), Some(one));
        assert_eq!(all.wanted(), None);
        assert!(all.get(other).is_none());
        assert_eq!(all.wanted(), Some(other));
        all.offer(&ctx, one, Ok(page()));
        assert!(all.get(other).is_none(), "what nobody waits for is let go");
        all.offer(&ctx, other, Ok(page()));
        assert!((all.get(other).unwrap().unwrap().tall - 2.0).abs() < 1e-9);
        all.offer(&ctx, other, Err("damaged".to_owned()));
        assert_eq!(all.get(other).unwrap().err().as_deref(), Some("damaged"));
        assert_eq!(all.wanted(), None, "a damaged one is not asked for again and again");
    }

    #[test]
    fn another_page_of_a_file_keeps_the_places_on_the_plan_and_another_file_does_not() {
        let (ctx, mut all) = (Context::default(), Underlays::default());
        let plot = PlotId::new("7").unwrap();
        all.read(&ctx, plot.clone(), "a.pdf".into(), 1, Ok(page()));
        let place = [gaugerod_core::quantity::Mm(gaugerod_core::quantity::Length::ZERO); 2];
        let placing = all.placing.as_mut().unwrap();
        placing.plan[0] = Some(place);
        placing.picture[0] = Some([0.5, 0.5]);
        all.read(&ctx, plot.clone(), "a.pdf".into(), 2, Ok(page()));
        let placing = all.placing.as_ref().unwrap();
        assert_eq!((placing.page, placing.plan[0], placing.picture[0]), (2, Some(place), None));
        all.read(&ctx, plot, "b.pdf".into(), 1, Err("damaged".to_owned()));
        assert_eq!(all.placing.as_ref().unwrap().plan[0], None);
    }

    #[test]
    fn the_button_goes_round_three_steps() {
        let mut dim = Dim::default();
        let words: Vec<_> = (0..3)
            .map(|_| {
                let word = dim.word();
                dim = dim.next();
                word
            })
            .collect();
        assert_eq!((words, dim), (vec!["drawing: faint", "drawing: strong", "drawing: off"], Dim::default()));
    }
}
