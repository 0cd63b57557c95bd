//! Room for words on a drawing: a label stands where no other stands, or not at all.
//!
//! Units are the caller's own (points on a screen, millimetres on paper). What must be readable is placed first.

use super::Place;

/// The most cells either way that the area is divided into.
const CELLS: usize = 32;

/// The most squares along one line.
const MOST_SQUARES: u16 = 400;

/// A rectangle by its least and its greatest corner.
pub type Block = [Place; 2];

/// What is taken already.
#[derive(Debug, Clone)]
pub struct Room {
    area: Block,
    blocks: Vec<Block>,
    /// Which blocks touch which cell of a grid over the area, so that a thousand labels are placed in no time.
    cells: Vec<Vec<usize>>,
}

impl Room {
    /// An empty area.
    pub fn new(area: Block) -> Self {
        Self { area, blocks: Vec::new(), cells: vec![Vec::new(); CELLS * CELLS] }
    }

    /// Takes a place, whatever is there already.
    pub fn take(&mut self, block: Block) {
        let own = self.blocks.len();
        self.blocks.push(block);
        for cell in self.touched(block) {
            self.cells[cell].push(own);
        }
    }

    /// Whether a place lies within the area and nothing is there yet.
    pub fn is_free(&self, block: Block) -> bool {
        let inside =
            (0..2).all(|axis| self.area[0][axis] <= block[0][axis] && block[1][axis] <= self.area[1][axis]);
        inside
            && self
                .touched(block)
                .all(|cell| self.cells[cell].iter().all(|other| apart(self.blocks[*other], block)))
    }

    /// Takes the first of some places that is free: `centres` of a label of that size. `None` where none is.
    pub fn place(&mut self, size: Place, centres: impl IntoIterator<Item = Place>) -> Option<Place> {
        let free = centres.into_iter().find(|centre| self.is_free(around(*centre, size)))?;
        self.take(around(free, size));
        Some(free)
    }

    fn touched(&self, block: Block) -> impl Iterator<Item = usize> + use<> {
        let [columns, rows] = [0, 1].map(|axis| {
            let (low, high) = (self.area[0][axis], self.area[1][axis]);
            let cell = |at: f64| cell(at, low, high);
            cell(block[0][axis])..=cell(block[1][axis])
        });
        rows.flat_map(move |row| columns.clone().map(move |column| row * CELLS + column))
    }
}

/// The cell of an ordinate; what lies outside counts for the outermost cell.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 0 to 31")]
fn cell(at: f64, low: f64, high: f64) -> usize {
    let share = (at - low) / (high - low).max(1e-9) * 32.0;
    (share.clamp(0.0, 31.0) as usize).min(CELLS - 1)
}

/// A rectangle of that size about its centre.
pub fn around(centre: Place, size: Place) -> Block {
    let half = [size[0] / 2.0, size[1] / 2.0];
    [[centre[0] - half[0], centre[1] - half[1]], [centre[0] + half[0], centre[1] + half[1]]]
}

/// Squares of that size along a line, as close as they are large: what keeps words off it.
pub fn along(from: Place, to: Place, size: f64) -> Vec<Block> {
    let by = [to[0] - from[0], to[1] - from[1]];
    let steps = (super::length(by) / size.max(1e-9)).ceil().clamp(1.0, f64::from(MOST_SQUARES));
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "1 to 400")]
    let count = steps as u32;
    let at = |step: u32| {
        let share = f64::from(step) / f64::from(count);
        [from[0] + by[0] * share, from[1] + by[1] * share]
    };
    (0..=count).map(|step| around(at(step), [size, size])).collect()
}

fn apart(a: Block, b: Block) -> bool {
    (0..2).any(|axis| a[1][axis] <= b[0][axis] || b[1][axis] <= a[0][axis])
}
