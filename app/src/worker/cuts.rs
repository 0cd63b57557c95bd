//! Cut plans: which plots could be cut together is read on the record's thread, the plan is looked for on one of its
//! own, so that booking goes on. It shows how much of its effort is spent and can be stopped: then the best found is
//! given with its gap.

use std::collections::BTreeSet;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::Duration;

use gaugerod_core::ids::PlotId;
use gaugerod_core::inspection::cut_plan::{Candidate, CutPlan, PlotPieces};
use gaugerod_core::reckon::infill_cuts::Effort;
use gaugerod_core::signoff::cut_sheets;
use gaugerod_core::signoff::fonts::Fonts;
use gaugerod_core::signoff::make::PROGRAM;

use super::desk::{Desk, NotDone};
use super::{Replier, Reply, papers};
use crate::messages;

/// How often progress is shown.
const SHOWN_EVERY: Duration = Duration::from_millis(200);
/// What is being done.
const DOING: &str = "Finding the cut list, per cent of the effort";

/// What became of a search.
#[derive(Debug)]
pub struct FoundCuts {
    /// The plot that it was asked from.
    pub plot: PlotId,
    /// Plots that could be cut together, as they are chosen now.
    pub candidates: Vec<Candidate>,
    /// The plan, or why there is none.
    pub result: Result<Arc<CutPlan>, String>,
    /// Whether a person stopped it.
    pub stopped: bool,
}

/// How a search is ended early.
#[derive(Debug, Default)]
pub(super) struct Ending {
    stop: AtomicBool,
    /// Another search was asked for: nobody waits for this one.
    outdated: AtomicBool,
}

/// Looks for a cut plan of these plots; without any, of those that are proposed.
pub(super) fn find(desk: &mut Desk, plot: PlotId, chosen: Option<BTreeSet<PlotId>>) -> Result<(), NotDone> {
    desk.cutting.outdated.store(true, Ordering::SeqCst);
    desk.cutting.stop.store(true, Ordering::SeqCst);
    desk.stop.store(false, Ordering::SeqCst);
    let (reply, stop) = (desk.reply.clone(), desk.stop.clone());
    let mut go_on = |done: usize, whole: usize| {
        reply.busy("Looking at the plots", done as u64, whole as u64);
        !stop.load(Ordering::SeqCst)
    };
    let mut found = desk.register()?.cut_together(&plot, &mut go_on)?;
    if let Some(chosen) = chosen {
        for one in &mut found.candidates {
            one.chosen = chosen.contains(&one.plot) && one.against.is_none();
        }
    }
    let wanted: Vec<PlotPieces> = found
        .candidates
        .iter()
        .zip(found.pieces)
        .filter(|(one, _)| one.chosen)
        .map(|(_, pieces)| pieces)
        .collect();
    let ending = Arc::new(Ending::default());
    desk.cutting = Arc::clone(&ending);
    let (reply, stop) = (desk.reply.clone(), Arc::clone(&desk.stop));
    std::thread::Builder::new()
        .name("gaugerod-cuts".to_owned())
        .spawn(move || {
            let (result, stopped) = search(&wanted, &reply, &stop, &ending);
            if ending.outdated.load(Ordering::SeqCst) {
                return;
            }
            reply.send(Reply::Busy(None));
            let found = FoundCuts { plot, candidates: found.candidates, result, stopped };
            reply.send(Reply::Cuts(Box::new(found)));
        })
        .map_err(|_| NotDone::Said("The system gives no thread: nothing was cut.".to_owned()))?;
    Ok(())
}

/// Searches, and meanwhile shows how far it is and passes a stop on.
fn search(
    wanted: &[PlotPieces],
    reply: &Replier,
    stop: &AtomicBool,
    ending: &Ending,
) -> (Result<Arc<CutPlan>, String>, bool) {
    let spent = AtomicU64::new(0);
    let (sender, answers) = channel();
    std::thread::scope(|scope| {
        let spent = &spent;
        scope.spawn(move || {
            let effort = Effort::new(Effort::STANDARD, Some(&ending.stop)).counted(spent);
            let found = catch_unwind(AssertUnwindSafe(|| CutPlan::of(wanted, &effort)));
            // Who asked waits below as long as this thread runs.
            let _ = sender.send(found);
        });
        let mut stopped = false;
        loop {
            match answers.recv_timeout(SHOWN_EVERY) {
                Ok(Ok(found)) => {
                    return (found.map(Arc::new).map_err(|faults| said(&faults.to_string())), stopped);
                }
                Ok(Err(_)) | Err(RecvTimeoutError::Disconnected) => {
                    return (Err(messages::BUG.to_owned()), stopped);
                }
                Err(RecvTimeoutError::Timeout) => {
                    if stop.load(Ordering::SeqCst) {
                        stopped = true;
                        ending.stop.store(true, Ordering::SeqCst);
                    }
                    if !ending.outdated.load(Ordering::SeqCst) {
                        let percent = spent.load(Ordering::Relaxed).saturating_mul(100) / Effort::STANDARD;
                        reply.busy(DOING, percent.min(100), 100);
                    }
                }
            }
        }
    })
}

fn said(faults: &str) -> String {
    format!("{}.", messages::capital(faults.trim_end_matches('.')))
}

/// Writes the cut sheets of a plan beside the register.
pub(super) fn print(desk: &mut Desk, plot: &PlotId, plan: &CutPlan) -> Result<(), NotDone> {
    desk.reply.busy("Making the cut sheets", 0, 0);
    let register = desk.register()?;
    let (site, made) = (register.site().site().to_owned(), register.now());
    let bytes = cut_sheets::make(plan, &site, made, &Fonts::shipped(), PROGRAM)
        .map_err(|fault| NotDone::Said(said(&fault.to_string())))?;
    let file = papers::beside(desk, plot, "cut-sheets")?;
    papers::write_whole(&file, &bytes)?;
    desk.reply.send(Reply::Busy(None));
    desk.reply.say(format!("Cut sheets, one page a plot: {}", file.display()), false);
    desk.reply.send(Reply::CutSheets(file));
    Ok(())
}
