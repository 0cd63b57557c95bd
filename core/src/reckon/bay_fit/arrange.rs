//! Other arrangements of wide and narrow infill that would fit the width as built: offered, never ordered.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Run;
use crate::quantity::{Length, Mm};

/// Who decides about it.
const DECIDES: &str = "for the designer to decide";

/// A split of the infills into wide and narrow.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Arrangement {
    /// Wide infills.
    pub wide: u32,
    /// Narrow infills.
    pub narrow: u32,
    /// The make-up that they leave as built; null where none is drawn.
    pub make_up_mm: Option<Mm>,
    /// Infills that change their width against the drawing.
    pub change: u32,
    /// Always `for the designer to decide`.
    pub note: String,
}

/// Every split of as many infills whose make-up is in range, or that fills the width, by change from what is drawn.
pub(super) fn arrangements(run: &Run<'_>) -> Vec<Arrangement> {
    let count = run.wide + run.narrow;
    let mut found: Vec<(i64, i64, Length)> = (0..=count)
        .map(|wide| {
            let left = run.left(run.input.clear_width_mm.0, wide, count - wide);
            ((wide - run.wide).abs(), wide, left)
        })
        .filter(|(_, _, left)| if run.make_up.is_some() { run.is_make_up(*left) } else { run.fits(*left) })
        .collect();
    found.sort_unstable();
    let whole = |number: i64| u32::try_from(number).unwrap_or(u32::MAX);
    found
        .into_iter()
        .map(|(change, wide, left)| Arrangement {
            wide: whole(wide),
            narrow: whole(count - wide),
            make_up_mm: run.make_up.map(|_| Mm(left)),
            change: whole(change),
            note: DECIDES.to_owned(),
        })
        .collect()
}
