//! What the screens of one plot look at: the plot, who is at the tablet, and what that person may do.
//!
//! Whether something is allowed is asked of `inspection::decide`, the same rules that the register follows when
//! it records: a screen has no rules of its own, so a button that is there works and one that would be refused
//! is not there. Nothing is changed here.

use std::sync::Arc;

use egui::Ui;
use gaugerod_core::ids::{HoldPointId, PersonId, PlotId};
use gaugerod_core::inspection::{Act, HoldPointStanding, Refusal, SiteRecord, decide};
use gaugerod_core::plan_of_work::{HoldPoint, Role};
use gaugerod_core::register::PlotView;

use crate::state::{AtTablet, State};

/// One plot, and the person who looks at it.
pub struct Desk {
    /// The plot.
    pub plot: PlotId,
    /// What is known of it.
    pub view: Arc<PlotView>,
    /// What is known of the site.
    pub site: Arc<SiteRecord>,
    /// Who is at the tablet.
    pub at_tablet: Option<AtTablet>,
    /// Nothing can be recorded.
    pub read_only: bool,
}

/// Whether the person at the tablet may do something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum May {
    /// It would be recorded.
    Yes,
    /// Not this person: why, or who may.
    NotThisPerson(String),
    /// Not as things stand: why.
    NotNow(String),
}

impl May {
    /// Whether it would be recorded.
    pub fn is_yes(&self) -> bool {
        *self == Self::Yes
    }
}

impl Desk {
    /// The desk of a plot; `None` until the plot is read from disk.
    pub fn of(state: &State, plot: &PlotId) -> Option<Self> {
        let register = state.register.as_ref()?;
        Some(Self {
            plot: plot.clone(),
            view: state.plot(plot)?,
            site: Arc::clone(&register.site),
            at_tablet: state.at_tablet.clone(),
            read_only: register.read_only,
        })
    }

    /// The hold point as the plan has it and as it stands.
    pub fn hold_point(&self, id: &HoldPointId) -> Option<(&HoldPoint, &HoldPointStanding)> {
        Some((self.view.record.plan.hold_point(id)?, self.view.standing.hold_point(id)?))
    }

    /// Asks the rules.
    pub fn may(&self, act: &Act) -> May {
        let Some(at_tablet) = &self.at_tablet else {
            return May::NotThisPerson(
                "Nobody is at the tablet: take it over with your name first.".to_owned(),
            );
        };
        if self.read_only {
            return May::NotNow(
                "This register is open for reading only: a newer program wrote it.".to_owned(),
            );
        }
        match decide::on_plot(&self.site, &self.view.record, &self.view.standing, act, at_tablet.person) {
            Ok(_) => May::Yes,
            Err(refusal @ (Refusal::Role { .. } | Refusal::NotAPerson | Refusal::OwnWork(_))) => {
                May::NotThisPerson(sentence(&refusal.to_string()))
            }
            Err(refusal) => May::NotNow(sentence(&refusal.to_string())),
        }
    }

    /// Whether somebody is at the tablet who can record.
    pub fn can_record(&self) -> bool {
        self.at_tablet.is_some() && !self.read_only
    }

    /// Whether the person at the tablet has one of these roles.
    pub fn is_one_of(&self, roles: &[Role]) -> bool {
        self.at_tablet.as_ref().is_some_and(|one| roles.contains(&one.role))
    }

    /// The name of whoever noted something.
    pub fn name_of(&self, person: Option<PersonId>) -> String {
        self.site.name_of(person)
    }

    /// The title of a hold point.
    pub fn title_of<'a>(&'a self, id: &'a HoldPointId) -> &'a str {
        self.view.standing.hold_point(id).map_or(id.as_str(), |one| one.short_title.as_str())
    }
}

/// What stands in the place of a screen until its plot is read from disk.
pub fn waiting_ui(ui: &mut Ui, plot: &PlotId) {
    ui.add_space(crate::theme::HEADING);
    ui.vertical_centered(|ui| ui.heading(format!("Plot {plot} is being read …")));
}

/// Roles as people say them: `site supervisor or quality manager`.
pub fn roles(roles: &[Role]) -> String {
    roles.iter().map(|role| role.title()).collect::<Vec<_>>().join(" or ")
}

/// A refusal as a sentence: a capital at its beginning, a stop at its end.
pub fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let first: String = chars.next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    let stop = if text.ends_with(['.', '!', '?']) { "" } else { "." };
    format!("{first}{}{stop}", chars.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn refusals_are_read_as_sentences() {
        assert_eq!(sentence("the reason is missing"), "The reason is missing.");
        assert_eq!(sentence("Wait!"), "Wait!");
        assert_eq!(sentence(""), ".");
    }

    #[test]
    fn roles_are_read_as_people_say_them() {
        assert_eq!(roles(&[Role::Supervisor]), "site supervisor");
        assert_eq!(roles(&[Role::Supervisor, Role::QualityManager]), "site supervisor or quality manager");
    }
}
