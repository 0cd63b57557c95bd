//! The forms of the pour: which fields each has, what is typed in them, and what it would record.

use gaugerod_core::entry::{
    ConditionsBooked, CubesTaken, CubesTested, PourFact, PourMoment, PourTimed, TicketBooked,
};
use gaugerod_core::ids::PlotId;
use gaugerod_core::inspection::Act;
use gaugerod_core::inspection::pour::PourDay;
use gaugerod_core::quantity::Length;

use super::Work;
use crate::action::Action;
use crate::state::State;

/// What is being filled in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    /// The pour begins or ends.
    Times,
    /// A load.
    Load,
    /// Air and wind.
    Air,
    /// Cubes are taken.
    Cubes,
    /// Cubes were crushed.
    Results,
}

/// How a field is typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// By the keypad.
    Number,
    /// By the keypad as four digits, or taken from the clock.
    Time,
    /// By a keyboard, the keypad, or picked.
    Text,
}

/// One field of a form.
#[derive(Debug, Clone)]
pub(super) struct Field {
    /// Its name in drafts.
    pub name: &'static str,
    /// What it is.
    pub label: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// How it is typed.
    pub kind: Kind,
    /// Whether it must be filled in.
    pub is_needed: bool,
    /// What can be picked.
    pub picks: Vec<String>,
    /// The item of a ticket that it decides.
    pub item: Option<&'static str>,
}

const fn field(name: &'static str, label: &'static str, unit: &'static str, kind: Kind) -> Field {
    Field { name, label, unit, kind, is_needed: true, picks: Vec::new(), item: None }
}

impl Field {
    fn or_nothing(self) -> Self {
        Self { is_needed: false, ..self }
    }

    fn picks(self, picks: impl IntoIterator<Item = String>) -> Self {
        Self { picks: picks.into_iter().collect(), ..self }
    }

    fn item(self, item: &'static str) -> Self {
        Self { item: Some(item), ..self }
    }
}

impl Form {
    /// The forms of a pour, in the order of the day.
    pub fn of(day: &PourDay) -> Vec<Self> {
        let mut forms = vec![Self::Times, Self::Load];
        forms.extend(day.conditions_at.is_some().then_some(Self::Air));
        forms.extend(day.cubes_at.is_some().then_some(Self::Cubes));
        forms.extend(day.results_at.is_some().then_some(Self::Results));
        forms
    }

    /// The word on its key.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Times => "Start, finish",
            Self::Load => "Load",
            Self::Air => "Air, wind",
            Self::Cubes => "Cubes",
            Self::Results => "Results",
        }
    }

    const fn key(self) -> &'static str {
        match self {
            Self::Times => "times",
            Self::Load => "load",
            Self::Air => "air",
            Self::Cubes => "cubes",
            Self::Results => "results",
        }
    }

    /// Whether there is anything left to type.
    pub fn is_typed(self, day: &PourDay) -> bool {
        self != Self::Times || day.started.is_none() || day.finished.is_none()
    }

    /// The form that was chosen last; first of all the one that comes next on the day.
    pub fn chosen(state: &State, plot: &PlotId, day: &PourDay) -> Self {
        let kept = state.drafts.text(&format!("pour/{plot}/form"));
        let forms = Self::of(day);
        let next = || if day.started.is_none() { Self::Times } else { Self::Load };
        forms.into_iter().find(|form| form.key() == kept).unwrap_or_else(next)
    }

    /// Chooses a form.
    pub fn choose(state: &mut State, plot: &PlotId, form: Self) {
        keep(state, format!("pour/{plot}/form"), form.key().to_owned());
        keep(state, format!("pour/{plot}/field"), String::new());
    }

    /// Its fields in the order in which they are filled in.
    pub fn fields(self, work: &Work<'_>) -> Vec<Field> {
        let topping = work.desk.view.record.design().topping.as_ref();
        let mix = topping.map(|topping| &topping.concrete);
        let day = work.day;
        match self {
            Self::Times => {
                let word = if day.started.is_none() { "Pour started" } else { "Pour finished" };
                vec![field("at", word, "", Kind::Time)]
            }
            Self::Load => {
                let last = day.loads.last().and_then(|load| load.fact.batch.clone());
                let mut fields = vec![
                    field("ticket", "Ticket", "", Kind::Text),
                    field("load", "Load", "m³", Kind::Number),
                    field("strength", "Strength class", "", Kind::Text)
                        .picks(mix.map(|mix| mix.strength_class.clone()))
                        .item("strength class"),
                    field("consistence", "Consistence", "", Kind::Text)
                        .picks(mix.and_then(|mix| mix.consistence_class.clone()))
                        .item("consistence class")
                        .or_nothing(),
                    field("aggregate", "Largest aggregate", "mm", Kind::Number)
                        .item("largest aggregate")
                        .or_nothing(),
                ];
                if topping.is_some_and(|topping| topping.fibre_kg_per_m3.is_some()) {
                    fields.push(field("fibre", "Fibre", "kg/m³", Kind::Number).item("fibre").or_nothing());
                    fields.push(
                        field("fibre-type", "Which fibre", "", Kind::Text)
                            .picks(topping.and_then(|topping| topping.fibre_type.clone()))
                            .item("fibre type")
                            .or_nothing(),
                    );
                }
                fields.extend([
                    field("batch", "Batch", "", Kind::Text).picks(last).or_nothing(),
                    field("batched", "Batched", "", Kind::Time),
                    field("began", "Discharge began", "", Kind::Time).or_nothing(),
                    field("slump", "Slump", "mm", Kind::Number).item("measured slump").or_nothing(),
                    field("air", "Air", "°C", Kind::Number).item("temperature of the air"),
                    field("concrete", "Concrete", "°C", Kind::Number).item("temperature of the concrete"),
                    field("water", "Water added here", "l", Kind::Number)
                        .item("water added on site")
                        .or_nothing(),
                    field("discharged", "Discharge ended", "", Kind::Time).item("time to discharge"),
                ]);
                fields
            }
            Self::Air => vec![
                field("at", "Read at", "", Kind::Time),
                field("concrete", "Concrete's surface", "°C", Kind::Number),
                field("air", "Air", "°C", Kind::Number),
                field("humidity", "Humidity", "%", Kind::Number),
                field("wind", "Wind", "km/h", Kind::Number),
            ],
            Self::Cubes => {
                let number = day.samples.len() + 1;
                vec![
                    field("sample", "Label on the cubes", "", Kind::Text)
                        .picks([format!("{}-C{number}", work.desk.plot)]),
                    field("ticket", "Of the load", "", Kind::Text)
                        .picks(day.loads.iter().rev().take(3).map(|load| load.fact.ticket.clone())),
                    field("cubes", "Cubes made", "", Kind::Number),
                    field("at", "Taken at", "", Kind::Time),
                ]
            }
            Self::Results => {
                let awaited = day.samples.iter().filter(|one| !one.is_decided);
                vec![
                    field("sample", "Cubes", "", Kind::Text)
                        .picks(awaited.map(|one| one.fact.sample.clone())),
                    field("age", "Age", "days", Kind::Number),
                    field("cube1", "First cube", "MPa", Kind::Number),
                    field("cube2", "Second cube", "MPa", Kind::Number).or_nothing(),
                    field("cube3", "Third cube", "MPa", Kind::Number).or_nothing(),
                    field("report", "Report", "", Kind::Text).or_nothing(),
                ]
            }
        }
    }

    /// The name of a field's draft.
    pub fn draft(self, plot: &PlotId, field: &str) -> String {
        format!("pour/{plot}/{}/{field}", self.key())
    }

    /// What would be recorded of what is typed; what is not typed yet is empty.
    pub fn act(self, state: &State, work: &Work<'_>) -> Option<Act> {
        let day = work.day;
        let text = |name: &str| state.drafts.text(&self.draft(&work.desk.plot, name)).trim().to_owned();
        let some = |name: &str| Some(text(name)).filter(|text| !text.is_empty());
        let mm = |name: &str| some(name).and_then(|text| Length::parse_mm(&text).ok()).map(Length::um);
        match self {
            Self::Times => {
                let (hold_point, criterion) = day.tickets.clone();
                let moment = if day.started.is_none() { PourMoment::Started } else { PourMoment::Finished };
                let at = text("at");
                Some(Act::BookPour(PourFact::Timed(PourTimed { hold_point, criterion, moment, at })))
            }
            Self::Load => {
                let (hold_point, criterion) = day.tickets.clone();
                Some(Act::BookTicket(Box::new(TicketBooked {
                    hold_point,
                    criterion,
                    ticket: text("ticket"),
                    batch: some("batch"),
                    strength_class: text("strength"),
                    consistence_class: some("consistence"),
                    measured_slump_um: mm("slump"),
                    largest_aggregate_um: mm("aggregate"),
                    fibre_kg_per_m3: some("fibre"),
                    fibre_type: some("fibre-type"),
                    water_added_l: some("water"),
                    load_m3: some("load"),
                    batched_at: text("batched"),
                    began_at: some("began"),
                    discharged_at: text("discharged"),
                    air_c: text("air"),
                    concrete_c: text("concrete"),
                })))
            }
            Self::Air => {
                let (hold_point, criterion) = day.conditions_at.clone()?;
                Some(Act::BookPour(PourFact::Conditions(ConditionsBooked {
                    hold_point,
                    criterion,
                    at: text("at"),
                    concrete_c: text("concrete"),
                    air_c: text("air"),
                    humidity_percent: text("humidity"),
                    wind_km_per_h: text("wind"),
                })))
            }
            Self::Cubes => {
                let (hold_point, criterion) = day.cubes_at.clone()?;
                Some(Act::BookPour(PourFact::Taken(CubesTaken {
                    hold_point,
                    criterion,
                    sample: text("sample"),
                    ticket: text("ticket"),
                    at: text("at"),
                    cubes: text("cubes").parse().unwrap_or(0),
                })))
            }
            Self::Results => {
                let (hold_point, criterion) = day.results_at.clone()?;
                Some(Act::BookPour(PourFact::Tested(CubesTested {
                    hold_point,
                    criterion,
                    sample: text("sample"),
                    age_days: text("age").parse().ok()?,
                    cubes_mpa: ["cube1", "cube2", "cube3"].into_iter().filter_map(some).collect(),
                    report: some("report"),
                })))
            }
        }
    }

    /// Forgets what was typed, once it is asked to be recorded.
    pub fn clear(self, state: &mut State, work: &Work<'_>) {
        for field in self.fields(work) {
            keep(state, self.draft(&work.desk.plot, field.name), String::new());
        }
        keep(state, format!("pour/{}/field", work.desk.plot), String::new());
    }
}

/// Changes a draft and keeps it on disk: what is typed survives a flat battery.
pub(super) fn keep(state: &mut State, name: String, text: String) {
    if state.drafts.text(&name) != text {
        text.clone_into(state.drafts.text_mut(&name));
        state.ask(Action::KeepDraft { name, text });
    }
}

/// A time as the keypad gives it, `0810` or `8.10`, as tickets write it; anything else as it is.
pub(super) fn time(text: &str) -> String {
    let digits: String = text.chars().filter(char::is_ascii_digit).collect();
    let plain = text.chars().all(|c| c.is_ascii_digit() || c == '.');
    match (plain, digits.len()) {
        (true, 3) => format!("0{}:{}", &digits[..1], &digits[1..]),
        (true, 4) => format!("{}:{}", &digits[..2], &digits[2..]),
        _ => text.to_owned(),
    }
}
