//! What is booked of a pour: load by load with the running total, air and wind with what to do, cubes and results.

use egui::{Label, RichText, Ui};
use gaugerod_core::conformity::Verdict;
use gaugerod_core::quantity::Length;

use super::Work;
use super::form::Form;
use crate::theme;
use crate::widgets::{self, Mark};

/// What is booked, that of the form in hand first.
pub(super) fn booked_ui(ui: &mut Ui, work: &Work<'_>) {
    match work.form {
        Form::Air => {
            conditions_ui(ui, work);
            loads_ui(ui, work);
            samples_ui(ui, work);
        }
        Form::Cubes | Form::Results => {
            samples_ui(ui, work);
            loads_ui(ui, work);
            conditions_ui(ui, work);
        }
        Form::Times | Form::Load => {
            loads_ui(ui, work);
            conditions_ui(ui, work);
            samples_ui(ui, work);
        }
    }
}

fn heading(ui: &mut Ui, words: &str) {
    ui.add_space(theme::GAP);
    ui.label(RichText::new(words).font(theme::strong(theme::VALUE)));
}

fn loads_ui(ui: &mut Ui, work: &Work<'_>) {
    if work.day.loads.is_empty() {
        return;
    }
    heading(ui, "Loads");
    for load in work.day.loads.iter().rev() {
        ui.push_id(load.entry.to_hex(), |ui| {
            let fact = &load.fact;
            let verdict = load.judged.as_ref().map_or(Verdict::Undetermined, |judged| judged.verdict);
            let mut words = vec![format!("Ticket {}", fact.ticket)];
            words.extend(
                load.volume.map(|volume| {
                    format!("{} m³, with it {} m³", volume.to_m3_text(), load.total.to_m3_text())
                }),
            );
            words.push(format!("{} to {}", fact.batched_at, fact.discharged_at));
            words.extend(
                fact.measured_slump_um.map(|um| format!("slump {}", Length::from_um(um).to_mm_text())),
            );
            words.push(format!("concrete {} °C", fact.concrete_c));
            widgets::notice_ui(ui, Mark::from(verdict), &words.join(" · "));
            let wrong = load.judged.iter().flat_map(|judged| &judged.findings);
            for one in wrong.filter(|one| one.verdict != Verdict::Conforming) {
                let why = one.reason.as_ref().map_or_else(String::new, |why| format!(" ({why})"));
                let words = format!("{}: {}, asked {}{why}", one.item, one.found, one.required);
                ui.add(Label::new(RichText::new(words).font(theme::font(theme::BODY))).wrap());
            }
        });
    }
}

fn conditions_ui(ui: &mut Ui, work: &Work<'_>) {
    let Some(last) = work.day.conditions.last() else { return };
    heading(ui, "Air and wind");
    for one in work.day.conditions.iter().rev() {
        ui.push_id(one.entry.to_hex(), |ui| {
            let fact = &one.fact;
            let rate = one.rate.map_or_else(|| "not known".to_owned(), |rate| format!("{rate:.2} kg/m²h"));
            let words = format!(
                "At {}: {rate} · concrete {} °C, air {} °C, {} %, {} km/h",
                fact.at, fact.concrete_c, fact.air_c, fact.humidity_percent, fact.wind_km_per_h
            );
            widgets::notice_ui(ui, Mark::from(one.verdict), &words);
        });
    }
    for advice in &last.advice {
        ui.add(Label::new(RichText::new(format!("• {advice}")).font(theme::strong(theme::BODY))).wrap());
    }
}

fn samples_ui(ui: &mut Ui, work: &Work<'_>) {
    let (taken, asked) = (work.day.samples.len(), work.day.samples_asked);
    if work.day.cubes_at.is_none() {
        return;
    }
    heading(ui, &format!("Cubes: {taken} of {asked} samples taken"));
    for one in &work.day.samples {
        ui.push_id(one.entry.to_hex(), |ui| {
            let fact = &one.fact;
            let mark = if one.is_decided { Mark::Conforming } else { Mark::NotYet };
            let what = if one.is_decided { "crushed" } else { "28-day result awaited" };
            let words = format!(
                "{}: {} cubes of load {}, taken {} · {what}",
                fact.sample, fact.cubes, fact.ticket, fact.at
            );
            widgets::notice_ui(ui, mark, &words);
            for (_, test, _) in &one.results {
                ui.label(format!("{} days: {} MPa", test.age_days, test.cubes_mpa.join(", ")));
            }
        });
    }
}
