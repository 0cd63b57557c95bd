//! The form of an instrument and that of a bench mark.

use egui::{RichText, Ui, vec2};
use gaugerod_core::conformity::Verdict;
use gaugerod_core::entry::{BenchmarkRegistered, InstrumentKind, InstrumentRegistered, TwoPegTest};
use gaugerod_core::ids::{InstrumentName, PointName};
use gaugerod_core::inspection::level_book::two_peg_test;
use gaugerod_core::quantity::Length;
use gaugerod_core::time::Date;

use super::fields::{Field, Holds, draft, fields_ui, figures, keep, text};
use super::{FORM, REGISTER_DRAFTS};
use crate::action::Action;
use crate::screens::level_book::typed;
use crate::state::State;
use crate::theme;
use crate::widgets::{Mark, Weight, button_ui, choice_ui, field_ui, notice_ui};

const UNCERTAINTY: Field =
    Field { name: "uncertainty", caption: "Uncertainty, ± mm", holds: Holds::Millimetres };
const CHECKED: Field = Field { name: "checked", caption: "Checked on", holds: Holds::Day };
const DUE: Field = Field { name: "due", caption: "Next check due", holds: Holds::Day };
const MID_A: Field = Field { name: "mid-a", caption: "From midway: A", holds: Holds::Staff };
const MID_B: Field = Field { name: "mid-b", caption: "From midway: B", holds: Holds::Staff };
const END_A: Field = Field { name: "end-a", caption: "From near A: A", holds: Holds::Staff };
const END_B: Field = Field { name: "end-b", caption: "From near A: B", holds: Holds::Staff };
const APART: Field = Field { name: "apart", caption: "A to B, m", holds: Holds::Metres };
const ALLOWED: Field = Field { name: "allowed", caption: "Allowed, mm on 10 m", holds: Holds::Millimetres };
const LEVEL: Field = Field { name: "level", caption: "Level, m", holds: Holds::Staff };

/// Where levels of bench marks come from, as sites say it.
const SOURCES: [&str; 3] = ["setting-out drawing", "surveyor's sheet", "transferred by ourselves"];

/// Which form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    Instrument,
    Benchmark,
}

impl Form {
    pub(super) fn named(text: &str) -> Option<Self> {
        [Self::Instrument, Self::Benchmark].into_iter().find(|form| form.name() == text)
    }

    const fn name(self) -> &'static str {
        match self {
            Self::Instrument => "instrument",
            Self::Benchmark => "bench mark",
        }
    }

    /// Its fields for the keypad, in their order.
    pub(super) fn fields(self, state: &State) -> Vec<Field> {
        match self {
            Self::Instrument => {
                let mut fields = vec![UNCERTAINTY, CHECKED, DUE];
                if has_two_peg(state) {
                    fields.extend([MID_A, MID_B, END_A, END_B, APART, ALLOWED]);
                }
                fields
            }
            Self::Benchmark => vec![LEVEL, CHECKED],
        }
    }
}

fn has_two_peg(state: &State) -> bool {
    !text(state, "two-peg").is_empty()
}

/// Opens an empty form.
pub(super) fn open(state: &mut State, form: Form) {
    leave(state);
    keep(state, "form", form.name().to_owned());
}

/// Forgets what was typed and closes the form.
fn leave(state: &mut State) {
    let typed: Vec<String> =
        state.drafts.text.keys().filter(|name| name.starts_with(REGISTER_DRAFTS)).cloned().collect();
    for name in typed {
        state.drafts.text.remove(&name);
        state.ask(Action::KeepDraft { name, text: String::new() });
    }
    state.drafts.field = None;
}

/// The form with what an instrument has; its check is to be typed anew.
pub(super) fn take_instrument(state: &mut State, own: &InstrumentRegistered) {
    open(state, Form::Instrument);
    keep(state, "name", own.instrument.to_string());
    keep(state, "kind", own.kind.word().to_owned());
    keep(state, UNCERTAINTY.name, Length::from_um(own.expanded_uncertainty_um).to_mm_text());
    if let Some(remark) = &own.remark {
        keep(state, "remark", remark.clone());
    }
    state.drafts.field = Some(CHECKED.name.to_owned());
}

/// The form with what a bench mark has; its check is to be typed anew.
pub(super) fn take_benchmark(state: &mut State, own: &BenchmarkRegistered) {
    open(state, Form::Benchmark);
    keep(state, "name", own.benchmark.to_string());
    keep(state, LEVEL.name, Length::from_um(own.level_um).to_m_text());
    keep(state, "source", own.source.clone());
    state.drafts.field = Some(CHECKED.name.to_owned());
}

/// The form, with its faults and the button that registers.
pub(super) fn form_ui(ui: &mut Ui, state: &mut State, form: Form, today: Date) {
    debug_assert_eq!(FORM, draft("form"));
    let action = match form {
        Form::Instrument => instrument_ui(ui, state, today),
        Form::Benchmark => benchmark_ui(ui, state, today),
    };
    let has_typed = form.fields(state).iter().any(|field| !text(state, field.name).is_empty());
    match &action {
        Err(missing) if has_typed => notice_ui(ui, Mark::Owed, missing),
        _ => {}
    }
    ui.horizontal_wrapped(|ui| {
        ui.add_enabled_ui(action.is_ok(), |ui| {
            if let (true, Ok(action)) = (button_ui(ui, Weight::Primary, "Register it"), &action) {
                state.ask(action.clone());
            }
        });
        if button_ui(ui, Weight::Plain, "Leave it") {
            leave(state);
        }
    });
}

fn head_ui(ui: &mut Ui, words: &str) {
    ui.label(RichText::new(words).font(theme::strong(theme::HEADING)));
}

/// A line of prose.
fn prose_ui(ui: &mut Ui, state: &mut State, name: &str, caption: &str, hint: &str) {
    let mut typed = text(state, name).to_owned();
    if field_ui(ui, caption, hint, &mut typed).changed() {
        keep(state, name, typed);
    }
}

/// Keys that fill in a day.
fn days_ui(ui: &mut Ui, state: &mut State, days: &[(&str, Field, Date)]) {
    ui.horizontal_wrapped(|ui| {
        for (words, field, day) in days {
            if button_ui(ui, Weight::Plain, words) {
                keep(state, field.name, figures(*day));
            }
        }
    });
}

fn instrument_ui(ui: &mut Ui, state: &mut State, today: Date) -> Result<Action, String> {
    head_ui(ui, "Register an instrument");
    prose_ui(ui, state, "name", "Its name on this site", "level 2");
    let kind = kind(state);
    let width = (ui.available_width() - 2.0 * theme::GAP) / 3.0;
    for row in InstrumentKind::ALL.chunks(3) {
        ui.horizontal(|ui| {
            for one in row {
                ui.push_id(one.word(), |ui| {
                    if choice_ui(ui, *one == kind, one.word(), vec2(width, theme::TOUCH)) {
                        keep(state, "kind", one.word().to_owned());
                    }
                });
            }
        });
    }
    fields_ui(ui, state, &[UNCERTAINTY, CHECKED, DUE]);
    let from = CHECKED.day(state).unwrap_or(today);
    days_ui(
        ui,
        state,
        &[
            ("Checked today", CHECKED, today),
            ("Due in 3 months", DUE, from.plus_days(91)),
            ("Due in a year", DUE, from.plus_days(365)),
        ],
    );
    let two_peg = has_two_peg(state);
    let size = vec2(ui.available_width(), theme::TOUCH);
    if choice_ui(ui, two_peg, "Two-peg test of this check", size) {
        keep(state, "two-peg", if two_peg { String::new() } else { "made".to_owned() });
    }
    if two_peg {
        fields_ui(ui, state, &[MID_A, MID_B]);
        fields_ui(ui, state, &[END_A, END_B]);
        fields_ui(ui, state, &[APART, ALLOWED]);
        two_peg_ui(ui, state);
    }
    prose_ui(ui, state, "remark", "Remark", "certificate, serial number");
    instrument(state, kind).map(|own| Action::RegisterInstrument(Box::new(own)))
}

fn kind(state: &State) -> InstrumentKind {
    let chosen = text(state, "kind");
    InstrumentKind::ALL.into_iter().find(|kind| kind.word() == chosen).unwrap_or(InstrumentKind::OpticalLevel)
}

fn instrument(state: &State, kind: InstrumentKind) -> Result<InstrumentRegistered, String> {
    let name = InstrumentName::new(text(state, "name").trim()).map_err(|_| "the name is missing".to_owned());
    let remark = text(state, "remark").trim();
    let (unsure, checked, due) = (UNCERTAINTY.length(state), CHECKED.day(state), DUE.day(state));
    let two_peg = if has_two_peg(state) { two_peg(state).map(Some) } else { Ok(None) };
    let faults = [
        name.as_ref().err(),
        unsure.as_ref().err(),
        checked.as_ref().err(),
        due.as_ref().err(),
        two_peg.as_ref().err(),
    ];
    let all: Vec<String> = faults.into_iter().flatten().cloned().collect();
    match (name, unsure, checked, due, two_peg) {
        (Ok(instrument), Ok(unsure), Ok(checked), Ok(due), Ok(two_peg)) => Ok(InstrumentRegistered {
            instrument,
            kind,
            expanded_uncertainty_um: unsure.um(),
            checked,
            due,
            two_peg,
            remark: (!remark.is_empty()).then(|| remark.to_owned()),
        }),
        _ => Err(format!("Still to come: {}.", all.join("; "))),
    }
}

/// The readings of the two-peg test; or every field that is not right yet.
fn two_peg(state: &State) -> Result<TwoPegTest, String> {
    let fields = [MID_A, MID_B, END_A, END_B, APART, ALLOWED].map(|field| field.length(state));
    match fields {
        [Ok(mid_a), Ok(mid_b), Ok(end_a), Ok(end_b), Ok(apart), Ok(allowed)] => Ok(TwoPegTest {
            mid_a_um: mid_a.um(),
            mid_b_um: mid_b.um(),
            end_a_um: end_a.um(),
            end_b_um: end_b.um(),
            distance_um: apart.um(),
            allowable_um_per_10_m: allowed.um(),
        }),
        fields => Err(fields.into_iter().filter_map(Result::err).collect::<Vec<_>>().join("; ")),
    }
}

/// The result of the test, while it is typed.
fn two_peg_ui(ui: &mut Ui, state: &State) {
    let Ok(test) = two_peg(state) else { return };
    match two_peg_test(&test) {
        Ok(output) => {
            let words = format!(
                "Line of sight off by {} mm from A to B: {:.2} mm on 10 m, {} allowed.{}",
                typed::signed_mm(output.error_mm.0),
                output.error_mm_per_10_m.abs(),
                Length::from_um(test.allowable_um_per_10_m).to_mm_text(),
                if output.verdict == Verdict::Conforming {
                    ""
                } else {
                    " Nothing is decided from it until it is adjusted."
                }
            );
            notice_ui(ui, output.verdict.into(), &words);
        }
        Err(faults) => notice_ui(ui, Mark::Refused, &faults.to_string()),
    }
}

fn benchmark_ui(ui: &mut Ui, state: &mut State, today: Date) -> Result<Action, String> {
    head_ui(ui, "Register a bench mark");
    prose_ui(ui, state, "name", "Its name on this site", "TBM 1, nail in kerb");
    let datums: Vec<String> = datums(state);
    ui.horizontal_wrapped(|ui| {
        for datum in &datums {
            if button_ui(ui, Weight::Plain, datum) {
                keep(state, "name", datum.clone());
            }
        }
    });
    fields_ui(ui, state, &[LEVEL, CHECKED]);
    days_ui(ui, state, &[("Checked today", CHECKED, today)]);
    prose_ui(ui, state, "source", "Where its level comes from", SOURCES[0]);
    ui.horizontal_wrapped(|ui| {
        for source in SOURCES {
            if button_ui(ui, Weight::Plain, source) {
                keep(state, "source", source.to_owned());
            }
        }
    });
    benchmark(state).map(|own| Action::RegisterBenchmark(Box::new(own)))
}

/// The datums of the floor designs in force that are not registered as bench marks yet.
fn datums(state: &State) -> Vec<String> {
    let Some(register) = &state.register else { return Vec::new() };
    let site = &register.site;
    let used = site.plots.values().filter_map(|id| site.designs.get(id));
    let mut names: Vec<String> = used.map(|issued| issued.design.datum.name.clone()).collect();
    names.sort();
    names.dedup();
    names.retain(|name| site.benchmarks.keys().all(|own| own.as_str() != name));
    names.truncate(4);
    names
}

fn benchmark(state: &State) -> Result<BenchmarkRegistered, String> {
    let name = PointName::new(text(state, "name").trim()).map_err(|_| "the name is missing".to_owned());
    let source = text(state, "source").trim();
    let source =
        if source.is_empty() { Err("where its level comes from".to_owned()) } else { Ok(source.to_owned()) };
    let (level, checked) = (LEVEL.length(state), CHECKED.day(state));
    let faults = [name.as_ref().err(), level.as_ref().err(), checked.as_ref().err(), source.as_ref().err()];
    let all: Vec<String> = faults.into_iter().flatten().cloned().collect();
    match (name, level, checked, source) {
        (Ok(benchmark), Ok(level), Ok(checked), Ok(source)) => {
            Ok(BenchmarkRegistered { benchmark, level_um: level.um(), checked, source })
        }
        _ => Err(format!("Still to come: {}.", all.join("; "))),
    }
}
