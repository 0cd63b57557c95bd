//! Deliveries: what can be started today and what is missing for it, what is set apart, the balance; and the form of the
//! next delivery note.

use egui::{Grid, Label, RichText, Ui, vec2};
use gaugerod_core::entry::{DeliveryBooked, DeliveryLine};
use gaugerod_core::inspection::Act;
use gaugerod_core::inspection::judge::CriterionStanding;
use gaugerod_core::reckon::delivery;

use super::Work;
use super::papers::{book_ui, draft, field};
use crate::action::Action;
use crate::state::State;
use crate::theme;
use crate::widgets::{self, Mark};

/// Room for the four columns of figures of the balance, in points.
const FIGURES: f32 = 290.0;

/// The order and what came of it, as they were reckoned.
fn reckoned(criterion: &CriterionStanding) -> Option<(delivery::Input, delivery::Output)> {
    let one = criterion.reckoned.first()?;
    Some((serde_json::from_value(one.input.clone()).ok()?, serde_json::from_value(one.output.clone()).ok()?))
}

/// What can be started today, what is set apart, the balance.
pub(super) fn middle_ui(ui: &mut Ui, criterion: &CriterionStanding) {
    let Some((input, output)) = reckoned(criterion) else {
        ui.label("The floor design orders nothing.");
        return;
    };
    ui.label(RichText::new("What can be started today").font(theme::strong(theme::HEADING)));
    for (stage, of) in output.stages.iter().zip(&input.stages) {
        ui.push_id(&stage.stage, |ui| stage_ui(ui, stage, of));
    }
    for words in apart(&output) {
        widgets::notice_ui(ui, Mark::Nonconforming, &format!("Set apart: {words}"));
    }
    ui.add_space(theme::GAP);
    ui.label(RichText::new("Against the order").font(theme::strong(theme::VALUE)));
    // The figures keep their room, the names wrap in what is left.
    let names = (ui.available_width() - FIGURES).clamp(120.0, 280.0);
    Grid::new("balance").num_columns(5).spacing(vec2(14.0, 6.0)).striped(true).show(ui, |ui| {
        for head in ["", "ordered", "came", "sound", "short"] {
            ui.label(RichText::new(head).color(theme::sheet(ui).soft));
        }
        ui.end_row();
        for one in &output.balance {
            ui.scope(|ui| {
                ui.set_width(names);
                ui.add(Label::new(&one.item).wrap());
            });
            ui.label(RichText::new(one.ordered.to_string()).font(theme::figures(theme::VALUE)));
            for count in [one.delivered, one.sound, one.short] {
                ui.label(RichText::new(count.to_string()).font(theme::figures(theme::VALUE)));
            }
            ui.end_row();
        }
    });
}

fn stage_ui(ui: &mut Ui, stage: &delivery::JudgedStage, of: &delivery::Stage) {
    let list = |all: Vec<String>| all.join(", ");
    let mark = if stage.can_start { Mark::Conforming } else { Mark::Owed };
    ui.horizontal(|ui| {
        ui.spacing_mut().interact_size.y = 26.0; // nothing here is tapped
        widgets::mark_ui(ui, mark, 26.0);
        ui.vertical(|ui| {
            let word = if stage.can_start { "can be started" } else { "not yet" };
            let head = format!("{}: {word}", crate::messages::capital(&stage.stage));
            ui.label(RichText::new(head).font(theme::strong(theme::VALUE)));
            let words = if stage.can_start {
                list(of.needs.iter().map(|one| format!("{} × {}", one.quantity, one.item)).collect())
            } else {
                let of =
                    |item: &str| of.needs.iter().find(|one| one.item == item).map_or(0, |one| one.quantity);
                let missing =
                    |one: &delivery::Missing| format!("{} of {} × {}", one.quantity, of(&one.item), one.item);
                format!("missing {}", list(stage.missing.iter().map(missing).collect()))
            };
            ui.add(Label::new(words).wrap());
        });
    });
}

/// What may not be used until somebody answers for it.
fn apart(output: &delivery::Output) -> Vec<String> {
    let words = |item: &str, damaged: u64, unlabelled: u64| {
        let mut parts = Vec::new();
        for (count, what) in [(damaged, "damaged"), (unlabelled, "without a label")] {
            if count > 0 {
                parts.push(format!("{count} {what}"));
            }
        }
        (!parts.is_empty()).then(|| format!("{item}: {}", parts.join(", ")))
    };
    let ordered = output.balance.iter().filter_map(|one| words(&one.item, one.damaged, one.unlabelled));
    let others =
        output.unordered.iter().map(|one| format!("{} × {}, never ordered", one.delivered, one.item));
    ordered.chain(others).collect()
}

/// The form of a delivery note: every item that is ordered, with how many came, are damaged, bear no label; and one that
/// nobody ordered.
pub(super) fn note_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, criterion: &CriterionStanding) {
    ui.label(RichText::new("Another delivery note").font(theme::strong(theme::HEADING)));
    let note = field(ui, state, work, "note", "number of the note");
    let in_force = &work.desk.view.record.design().revision;
    let hint = format!("drawing revision on the labels ({in_force} is in force)");
    let revision = field(ui, state, work, "revision", &hint);
    if !revision.is_empty() && revision != *in_force {
        let words = format!("Labels of revision {revision}: revision {in_force} is in force.");
        widgets::notice_ui(ui, Mark::Nonconforming, &words);
    }
    let ordered = reckoned(criterion).map_or_else(Vec::new, |(input, _)| input.ordered);
    let mut lines = Vec::new();
    for one in &ordered {
        ui.push_id(&one.item, |ui| {
            ui.add(Label::new(format!("{}: {} ordered", one.item, one.quantity)).wrap());
            lines.extend(line_ui(ui, state, work, &one.item, &one.item, Some(one.quantity)));
        });
    }
    let other = field(ui, state, work, "other", "another item, as its label names it");
    if !other.is_empty() {
        ui.push_id("other", |ui| lines.extend(line_ui(ui, state, work, "other", &other, None)));
    }
    let act = Act::BookDelivery(DeliveryBooked {
        hold_point: work.id.clone(),
        criterion: criterion.id.clone(),
        note,
        revision: (!revision.is_empty()).then_some(revision),
        lines,
    });
    book_ui(ui, state, work, act, "Book the note");
}

/// One line: how many came; once any did, how many of them are damaged or bear no label, and of which batch they are.
fn line_ui(
    ui: &mut Ui,
    state: &mut State,
    work: &Work<'_>,
    key: &str,
    item: &str,
    whole: Option<u32>,
) -> Option<DeliveryLine> {
    let name = |what: &str| draft(work, &format!("{what}/{key}"));
    let came = name("came");
    let delivered = ui.horizontal(|ui| count_ui(ui, state, &came, "came", whole)).inner;
    if delivered == 0 {
        return None;
    }
    let (damaged, unlabelled) = ui
        .horizontal(|ui| {
            let damaged = count_ui(ui, state, &name("damaged"), "damaged", None);
            (damaged, count_ui(ui, state, &name("no label"), "no label", None))
        })
        .inner;
    // By its batch an item is found again on every plot that it went to.
    let batch = field(ui, state, work, &format!("batch/{key}"), "batch on the labels, where they bear one");
    let batch = (!batch.is_empty()).then_some(batch);
    Some(DeliveryLine { item: item.to_owned(), delivered, damaged, unlabelled, batch })
}

/// One count: a tap adds one, `all` takes what is ordered, `0` takes it back.
fn count_ui(ui: &mut Ui, state: &mut State, name: &str, what: &str, whole: Option<u32>) -> u32 {
    let now: u32 = state.drafts.text(name).parse().unwrap_or(0);
    let set = |state: &mut State, count: u32| {
        let text = if count == 0 { String::new() } else { count.to_string() };
        *state.drafts.text_mut(name) = text.clone();
        state.ask(Action::KeepDraft { name: name.to_owned(), text });
    };
    ui.push_id(what, |ui| {
        if widgets::choice_ui(ui, now > 0, &format!("{now} {what}"), vec2(88.0, theme::TOUCH)) {
            set(state, now.saturating_add(1));
        }
        if let Some(whole) = whole.filter(|whole| *whole != now)
            && widgets::choice_ui(ui, false, "all", vec2(theme::TOUCH, theme::TOUCH))
        {
            set(state, whole);
        }
        if now > 0 && widgets::choice_ui(ui, false, "0", vec2(theme::TOUCH, theme::TOUCH)) {
            set(state, 0);
        }
    });
    now
}
