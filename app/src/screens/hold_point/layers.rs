//! The layers that close the floor: the forms of a label and of a pressure test, and in the middle the stack as built
//! beside the design with what another overlay breaks.

use egui::{Align2, Rect, RichText, ScrollArea, Stroke, StrokeKind, Ui, pos2, vec2};
use gaugerod_core::entry::{LabelBooked, PressureTestBooked};
use gaugerod_core::floor::LayerRole;
use gaugerod_core::inspection::Act;
use gaugerod_core::inspection::as_built::{AsBuilt, LayerAsBuilt, as_built, as_built_with, tried};
use gaugerod_core::inspection::judge::CriterionStanding;
use gaugerod_core::inspection::layer_requests::OVERLAY;
use gaugerod_core::plan_of_work::Feed;
use gaugerod_core::quantity::Length;

use super::Work;
use super::papers::{book_ui, draft, field};
use crate::action::Action;
use crate::state::State;
use crate::theme;
use crate::widgets::hatch::{self, Material};
use crate::widgets::{self, Mark, Weight, type_setting};

/// Height of the drawn stack, in points.
const STACK: f32 = 196.0;
/// What a line of figures needs.
const LINE: f32 = 15.0;
/// Room for the levels at its left.
const LEVELS: f32 = 76.0;

/// Whether the middle shows the stack instead of the plan.
pub(super) const fn shows_the_stack(feed: Feed) -> bool {
    matches!(feed, Feed::OverlayLabels)
}

/// The stack as built beside the design, what follows, and another overlay to try.
pub(super) fn middle_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>) {
    theme::scroll(ScrollArea::vertical().id_salt("stack").auto_shrink([false, false])).show(ui, |ui| {
        ui.set_width(ui.available_width() - 6.0);
        let record = &work.desk.view.record;
        let grade = state.drafts.text(&draft(work, "try-grade")).trim().to_owned();
        // A grade alone is tried as thick as drawn.
        let typed = Length::parse_mm(state.drafts.text(&draft(work, "try-thickness")).trim()).ok();
        let thickness = typed.unwrap_or_else(|| record.design().overlay_thickness());
        let wanted = !grade.is_empty() && thickness > Length::ZERO;
        let trial = wanted.then(|| tried(record, thickness, &grade)).flatten();
        let is_trial = trial.is_some();
        let Some(found) = trial.map(|own| as_built_with(record, own)).or_else(|| as_built(record)) else {
            return;
        };
        stack_ui(ui, &found, is_trial);
        try_ui(ui, state, work, is_trial);
        for one in &found.consequences {
            let words = format!("{}: {}", one.about.word(), one.sentence);
            widgets::notice_ui(ui, Mark::from(one.verdict), &words);
        }
    });
}

/// Another overlay, to see what it would break before it is laid.
fn try_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, is_trial: bool) {
    let Some(thermal) = &work.desk.view.record.design().thermal else { return };
    ui.add_space(theme::GAP);
    ui.label(RichText::new("What if another overlay comes?").font(theme::strong(theme::BODY)));
    let name = draft(work, "try-grade");
    let known = std::iter::once(&thermal.overlay.grade).chain(thermal.grades.iter().map(|one| &one.grade));
    ui.horizontal_wrapped(|ui| {
        if is_trial && widgets::button_ui(ui, Weight::Plain, "Back to what is booked") {
            state.drafts.text.remove(&name);
            state.drafts.text.remove(&draft(work, "try-thickness"));
        }
        for grade in known {
            let chosen = state.drafts.text(&name) == grade;
            if widgets::choice_ui(ui, chosen, &format!("try {grade}"), vec2(124.0, theme::TOUCH)) {
                *state.drafts.text_mut(&name) = grade.clone();
            }
        }
    });
    if is_trial {
        field(ui, state, work, "try-thickness", "thickness to try, mm");
    }
}

/// Both stacks to one scale.
fn stack_ui(ui: &mut Ui, found: &AsBuilt, is_trial: bool) {
    let sheet = *theme::sheet(ui);
    let (id, rect) = ui.allocate_space(vec2(ui.available_width(), STACK));
    let built = if is_trial { "tried out" } else { "as built" };
    let overlay = &found.overlay;
    let name = format!(
        "layers as designed and {built}: overlay {} {} mm, {}",
        overlay.grades.join(", "),
        overlay.greatest.to_mm_text(),
        overlay.basis.words()
    );
    type_setting::picture(ui, rect, id, &name);
    let highest = found.layers.iter().flat_map(|layer| [layer.designed_top, layer.built_top]).max();
    let lowest = found.bearing.0.min(found.bearing.1);
    let Some(highest) = highest.filter(|highest| *highest > lowest) else { return };
    let (top, bottom) = (rect.top() + 26.0, rect.bottom() - 10.0);
    #[expect(clippy::cast_possible_truncation, reason = "a place on screen")]
    let y = |level: Length| {
        top + ((highest - level).to_mm_f64() / (highest - lowest).to_mm_f64()) as f32 * (bottom - top)
    };
    let half = rect.width() / 2.0;
    for (title, is_built, left) in [("as designed", false, rect.left()), (built, true, rect.left() + half)] {
        let painter = ui.painter();
        let (from, to) = (left + LEVELS, left + half - 8.0);
        let at = pos2(from, rect.top());
        type_setting::line(
            painter,
            at,
            Align2::LEFT_TOP,
            title,
            theme::strong(theme::BODY),
            sheet.ink,
            to - from,
        );
        let mut last = f32::MIN;
        for layer in found.layers.iter().filter(|layer| !layer.role.is_within_another()) {
            let (level, thickness) = if is_built {
                (layer.built_top, layer.built.1)
            } else {
                (layer.designed_top, layer.designed)
            };
            let upper = y(level);
            let lower = y(level - thickness.max(Length::ZERO));
            let mark = pos2(from - 6.0, upper);
            let figures = theme::figures(theme::LABEL);
            // The bearing is always told; a level right above it would stand in its way.
            let near = y(if is_built { found.bearing.1 } else { found.bearing.0 }) - upper < LINE;
            if upper - last >= LINE && !near {
                let words = level.m_text(3);
                type_setting::line(painter, mark, Align2::RIGHT_CENTER, &words, figures, sheet.ink, LEVELS);
                last = upper;
            }
            if layer.role == LayerRole::Membrane {
                painter.hline(from..=to, upper, Stroke::new(theme::EXTRA, sheet.ink));
                continue;
            }
            let band = Rect::from_min_max(pos2(from, upper), pos2(to, lower));
            hatch::fill_rect(painter, band, material(layer), &sheet);
            let changed = is_built && layer.built != (layer.designed, layer.designed);
            let width = if changed { theme::EXTRA } else { theme::THIN };
            painter.rect_stroke(band, 0.0, Stroke::new(width, sheet.ink), StrokeKind::Inside);
            if band.height() >= 16.0 {
                let made = if is_built { &layer.built_material } else { &layer.designed_material };
                let made = made.as_ref().filter(|_| layer.role == LayerRole::Overlay);
                let made = made.map_or_else(String::new, |made| format!(", {made}"));
                let words = format!("{} {}{made}", thickness.to_mm_text(), layer.name);
                let colours = (sheet.ink, sheet.paper);
                let font = theme::strong(theme::LABEL);
                let middle = band.center();
                type_setting::patched(
                    painter,
                    middle,
                    Align2::CENTER_CENTER,
                    &words,
                    font,
                    colours,
                    band.width() - 14.0,
                );
            }
        }
        let bearing = if is_built { found.bearing.1 } else { found.bearing.0 };
        let at = pos2(from - 6.0, y(bearing));
        let figures = theme::figures(theme::LABEL);
        type_setting::line(
            ui.painter(),
            at,
            Align2::RIGHT_CENTER,
            &bearing.m_text(3),
            figures,
            sheet.ink,
            LEVELS,
        );
    }
}

const fn material(layer: &LayerAsBuilt) -> Material {
    match layer.role {
        LayerRole::Overlay => Material::Insulation,
        LayerRole::Beam => Material::Precast,
        LayerRole::Bedding => Material::Masonry,
        LayerRole::Finish => Material::Board,
        LayerRole::Infill => Material::Infill,
        LayerRole::Topping | LayerRole::Membrane | LayerRole::Heating => Material::Concrete,
    }
}

/// The form of a label: its grade by a tap where the design knows it.
pub(super) fn label_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, criterion: &CriterionStanding) {
    let again = if criterion.papers.is_empty() { "What the label says" } else { "Another label" };
    ui.label(RichText::new(again).font(theme::strong(theme::HEADING)));
    let Some(thermal) = &work.desk.view.record.design().thermal else { return };
    let name = draft(work, "grade");
    let known = std::iter::once(&thermal.overlay.grade).chain(thermal.grades.iter().map(|one| &one.grade));
    ui.horizontal_wrapped(|ui| {
        for grade in known {
            let chosen = state.drafts.text(&name).trim() == grade;
            if widgets::choice_ui(ui, chosen, grade, vec2(96.0, theme::TOUCH)) {
                *state.drafts.text_mut(&name) = grade.clone();
                state.ask(Action::KeepDraft { name: name.clone(), text: grade.clone() });
            }
        }
    });
    let grade = field(ui, state, work, "grade", "grade on the label");
    let thickness = field(ui, state, work, "thickness", "thickness, mm");
    let conductivity = field(ui, state, work, "conductivity", "λ on the label, W/mK");
    let batch = field(ui, state, work, "batch", "batch");
    let some = |text: String| (!text.is_empty()).then_some(text);
    let act = Act::BookLabel(LabelBooked {
        hold_point: work.id.clone(),
        criterion: criterion.id.clone(),
        item: OVERLAY.to_owned(),
        grade,
        thickness_um: Length::parse_mm(&thickness).ok().map(Length::um),
        conductivity: some(conductivity),
        batch: some(batch),
    });
    book_ui(ui, state, work, act, "Book the label");
}

/// The form of a pressure test.
pub(super) fn test_ui(ui: &mut Ui, state: &mut State, work: &Work<'_>, criterion: &CriterionStanding) {
    ui.label(RichText::new("Pressure test").font(theme::strong(theme::HEADING)));
    let test = field(ui, state, work, "test", "what is tested, such as zone 1");
    let start_bar = field(ui, state, work, "start-bar", "pressure at the start, bar");
    let started_at = field(ui, state, work, "started", "started at, such as 08:10");
    let end_bar = field(ui, state, work, "end-bar", "pressure at the end, bar");
    let ended_at = field(ui, state, work, "ended", "ended at, such as 10:15");
    let act = Act::BookPressureTest(PressureTestBooked {
        hold_point: work.id.clone(),
        criterion: criterion.id.clone(),
        test,
        start_bar,
        end_bar,
        started_at,
        ended_at,
    });
    book_ui(ui, state, work, act, "Book the test");
}
