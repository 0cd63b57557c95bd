//! What is done at many points or on many plots with one press: one after the other, each on disk before the next,
//! with progress and a way to stop. What was refused or left out is named.

use std::sync::atomic::Ordering;

use gaugerod_core::entry::ReadValue;
use gaugerod_core::ids::{CriterionId, GateId, HoldPointId, PlotId, PointName};
use gaugerod_core::inspection::{Act, Command, Extent};
use gaugerod_core::register::RegisterError;

use super::Reply;
use super::desk::{Desk, Done};
use crate::messages;

impl Desk {
    /// Books point after point, each on disk before the next; what was refused or stopped is named with its point.
    pub(super) fn book_gauge(
        &mut self,
        plot: &PlotId,
        hold_point: &HoldPointId,
        criterion: &CriterionId,
        gauge: &str,
        points: Vec<(PointName, bool)>,
    ) -> Done {
        self.stop.store(false, Ordering::SeqCst);
        let by = self.session()?.clone();
        let whole = points.len() as u64;
        let (mut booked, mut no_go, mut not) = (0_u64, Vec::new(), None);
        for (point, passes) in points {
            if self.stop.load(Ordering::SeqCst) {
                not = Some(format!("Stopped before {point}"));
                break;
            }
            self.reply.busy("Booking what the gauge said", booked, whole);
            let act = Act::BookReading {
                hold_point: hold_point.clone(),
                criterion: criterion.clone(),
                point: point.clone(),
                value: if passes { ReadValue::Go } else { ReadValue::NoGo },
                instrument: Some(gauge.to_owned()),
            };
            match self.register()?.perform(&Command::OnPlot { plot: plot.clone(), act }, &by) {
                Ok(_) => {
                    booked += 1;
                    if !passes {
                        no_go.push(point.to_string());
                    }
                }
                Err(error) => {
                    not = Some(format!("{point}: {}", messages::sentence(&error).trim_end_matches('.')));
                    break;
                }
            }
        }
        self.reply.send(Reply::Busy(None));
        if booked > 0 {
            self.saved_on(plot)?;
        }
        match not {
            Some(why) => {
                let sentence =
                    format!("{why}. {booked} of {whole} are on disk; nothing after them was booked.");
                self.reply.say(sentence, true);
            }
            None if no_go.is_empty() => self.reply.say(format!("{booked} booked: the gauge passed."), false),
            None => {
                let sentence = format!(
                    "{booked} booked. The gauge did not pass at {}: measure there by how much.",
                    no_go.join(", ")
                );
                self.reply.say(sentence, false);
            }
        }
        Ok(())
    }

    pub(super) fn release_gates(&mut self, gate: &GateId, plots: &[PlotId]) -> Done {
        self.stop.store(false, Ordering::SeqCst);
        let by = self.session()?.clone();
        let (mut released, mut not) = (Vec::new(), Vec::new());
        for (done, plot) in (0..).zip(plots) {
            if self.stop.load(Ordering::SeqCst) {
                not.push("stopped before the rest".to_owned());
                break;
            }
            self.reply.busy("Releasing", done, plots.len() as u64);
            let act = Act::Release(Extent::Gate(gate.clone()));
            match self.register()?.perform(&Command::OnPlot { plot: plot.clone(), act }, &by) {
                Ok(_) => {
                    released.push(plot.to_string());
                    self.sum_up(plot)?;
                }
                Err(error @ RegisterError::Refused(_)) => not.push(format!("plot {plot}: {error}")),
                Err(error) => return Err(error.into()),
            }
        }
        self.reply.send(Reply::Busy(None));
        let mut sentence = match released.as_slice() {
            [] => "Nothing was released.".to_owned(),
            [one] => format!("Released on plot {one}."),
            many => format!("Released on plots {}.", many.join(", ")),
        };
        if !not.is_empty() {
            sentence = format!("{sentence} Not released: {}.", not.join("; "));
        }
        self.reply.say(sentence, !not.is_empty());
        self.saved()
    }
}
