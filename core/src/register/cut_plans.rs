//! Which plots of a site could have their infill cut together, and what each of them wants.

use super::{Register, RegisterError};
use crate::ids::PlotId;
use crate::inspection::cut_plan::{Candidate, MOST_PLOTS, PlotPieces, candidate};
use crate::inspection::standing::HoldPointState;
use crate::plan_of_work::{CriterionKind, Feed};

/// Plots that could be cut together with one of them.
#[derive(Debug, Clone, Default)]
pub struct CutTogether {
    /// Every plot whose design draws infill and which waits for it, that one first, then in natural order.
    pub candidates: Vec<Candidate>,
    /// What each of them wants, in the same order.
    pub pieces: Vec<PlotPieces>,
}

impl Register {
    /// Plots that could be cut together with `own`; nothing where its design draws no beams or no design was issued.
    /// Plots whose infill was released are left out, and plots past the bound. `go_on` is told how many plots were
    /// looked at, of how many, and answers whether to go on.
    ///
    /// # Errors
    /// The disk, or a damaged entry.
    pub fn cut_together(
        &mut self,
        own: &PlotId,
        go_on: &mut dyn FnMut(usize, usize) -> bool,
    ) -> Result<CutTogether, RegisterError> {
        let Some(first) = self.plot(own)? else { return Ok(CutTogether::default()) };
        let Some(pieces) = PlotPieces::of(&first.record) else { return Ok(CutTogether::default()) };
        let mut found = CutTogether {
            candidates: candidate(&first.record, &first.record, &first.standing).into_iter().collect(),
            pieces: vec![pieces],
        };
        let infill = first.record.plan.hold_points.iter().find(|point| {
            point.criteria.iter().any(
                |one| matches!(one.kind, CriterionKind::Reckoning { feed, .. } if feed == Feed::InfillCuts),
            )
        });
        let Some(infill) = infill.map(|point| point.id.clone()) else { return Ok(found) };
        let mut waiting: Vec<PlotId> = Vec::new();
        for summary in self.summaries()? {
            let state = summary.hold_points.iter().find(|one| one.id == infill).map(|one| one.state);
            if summary.plot != *own && state.is_some_and(|state| state != HoldPointState::Released) {
                waiting.push(summary.plot);
            }
        }
        waiting.truncate(MOST_PLOTS - 1);
        let whole = waiting.len();
        for (done, plot) in waiting.into_iter().enumerate() {
            if !go_on(done, whole) {
                break;
            }
            let Some(view) = self.plot(&plot)? else { continue };
            let Some(pieces) = PlotPieces::of(&view.record) else { continue };
            if let Some(one) = candidate(&first.record, &view.record, &view.standing) {
                found.candidates.push(one);
                found.pieces.push(pieces);
            }
        }
        Ok(found)
    }
}
