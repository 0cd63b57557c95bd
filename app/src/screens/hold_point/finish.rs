//! The middle of a hold point about the finished topping or its curing: what the readings come to, and under the plan
//! the profile where the gap is largest; or the maturity curve instead of a plan.

use egui::Ui;
use gaugerod_core::chart;
use gaugerod_core::inspection::judge::CriterionStanding;
use gaugerod_core::inspection::{curing, finish_feeds};
use gaugerod_core::plan_of_work::Feed;

use super::Work;
use crate::theme;
use crate::widgets::{self, Mark};

/// Height of the profile; on a short screen the plan goes without it.
const PROFILE: f32 = 116.0;
const LEAST_PLAN: f32 = 232.0;

/// Whether a criterion's middle is a maturity curve.
pub(super) const fn is_of_curing(feed: Feed) -> bool {
    matches!(feed, Feed::WalkingAge | Feed::LoadingAge)
}

/// Whether it is about depths or levels of the finished topping.
pub(super) const fn is_of_finish(feed: Feed) -> bool {
    matches!(feed, Feed::ToppingDepths | Feed::FinishLevels)
}

/// What stands above the plan; gives back the height to be kept below it.
pub(super) fn above_ui(ui: &mut Ui, criterion: &CriterionStanding) -> f32 {
    for (verdict, text) in finish_feeds::summary(criterion) {
        widgets::notice_ui(ui, Mark::from(verdict), &text);
    }
    let has_profile = finish_feeds::worst_gap(criterion).is_some();
    let fits = LEAST_PLAN + PROFILE <= ui.available_height();
    if has_profile && fits { PROFILE } else { 0.0 }
}

/// The profile under the worst place of the straightedge.
pub(super) fn profile_ui(ui: &mut Ui, criterion: &CriterionStanding, height: f32) {
    let Some((worst, input)) = finish_feeds::worst_gap(criterion) else { return };
    widgets::chart_ui(ui, height - theme::GAP, |room| chart::profile::chart(&worst, &input, room));
}

/// The maturity curve in the space that is left.
pub(super) fn curve_ui(ui: &mut Ui, work: &Work<'_>) {
    match curing::course(&work.desk.view.record) {
        Some(course) => {
            let height = ui.available_height().max(220.0);
            widgets::chart_ui(ui, height, |room| Some(chart::maturity::chart(&course, room)));
        }
        None => {
            ui.add_space(theme::GAP * 2.0);
            ui.label("No curve yet: note the hour of placing, then book temperatures.");
        }
    }
}
