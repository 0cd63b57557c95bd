//! Where every plot stands, and what may be done next.
//!
//! - [`fold`]: entries, in causal order, to facts about the site and each plot
//! - [`judge`], [`feeds`] and [`beam_feeds`]: evidence through its reckonings: verdicts, what is owed, what stands against a release
//! - [`as_built`]: the layers as built beside the design, and what another overlay breaks; [`forecast`]: the topping
//!   before it is ordered
//! - [`level_book`]: levels from sights, set-ups and bench marks; [`level_trial`]: what a sight would give
//! - [`cut_plan`]: the infill of several plots cut together
//! - [`pop_ups`]: what comes up between the beams, as measured
//! - [`pour`]: loads, air and wind, cubes: their reckonings, and the day of the pour as one sees it
//! - [`finish_feeds`]: depths and levels of the finished topping; [`curing`]: its temperatures and its age
//! - [`spans`]: clears as built against beam lengths, line by line
//! - [`underlay`]: a drawing behind the plan
//! - [`standing`]: states of hold points and gates, nonconformances
//! - [`command`] and [`decide`]: what a person asks, and facts to record or a refusal
//! - [`what_to_do`]: what would put a level right, for people to decide
//! - [`summary`]: a plot in a few bytes, for the register of all plots
//!
//! Never here: disk, clock, randomness; a state that is stored; a value that meets a limit outside of a reckoning.

pub mod as_built;
pub mod bay_strip;
pub mod beam_feeds;
pub mod command;
pub mod curing;
pub mod curing_requests;
pub mod cut_plan;
pub mod decide;
pub mod feeds;
pub mod finish_feeds;
pub mod fold;
pub mod forecast;
mod heat;
pub mod judge;
mod layer_feeds;
pub mod layer_requests;
mod layer_rules;
pub mod level_book;
mod level_book_rules;
pub mod level_requests;
pub mod level_trial;
pub mod material_requests;
pub mod pop_ups;
pub mod pour;
pub mod pour_requests;
pub mod spans;
pub mod standing;
pub mod summary;
pub mod underlay;
pub mod what_to_do;

pub use command::{Act, Command, Extent, Request};
pub use decide::Refusal;
pub use fold::{Entry, PlotRecord, SiteRecord};
pub use standing::{GateState, HoldPointStanding, HoldPointState, PlotStanding, standing};
pub use summary::PlotSummary;
