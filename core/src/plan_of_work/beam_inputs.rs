//! What the reckonings of beams and infill are fed with from the design alone. What needs readings, notes or tickets
//! is fed in `inspection`.

use crate::floor::beams::{BayRun, InRun, Stage};
use crate::floor::{FloorDesign, LimitName};
use crate::quantity::{Length, Mm};
use crate::reckon::{bay_fit, delivery, infill_cuts};

/// Something ordered, and the stage that needs it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ordered {
    /// The stage.
    pub stage: Stage,
    /// The item as its label names it.
    pub item: String,
    /// How many.
    pub quantity: u32,
}

impl FloorDesign {
    /// The infill of all bay runs and how it is cut; `None` where the design draws no beams.
    pub fn infill_cuts_input(&self) -> Option<infill_cuts::Input> {
        let beams = self.beams.as_ref()?;
        let mut runs = Vec::new();
        for run in &beams.runs {
            for (kind, width) in
                [(InRun::Wide, infill_cuts::Width::Wide), (InRun::Narrow, infill_cuts::Width::Narrow)]
            {
                let count = u32::try_from(run.count(kind)).unwrap_or(u32::MAX);
                if count > 0 {
                    runs.push(infill_cuts::Run {
                        run: run.name.to_string(),
                        width,
                        clear_mm: run.clear_span_mm,
                        count,
                    });
                }
            }
        }
        Some(infill_cuts::Input {
            piece_mm: beams.infill.piece_mm,
            least_piece_mm: beams.infill.least_piece_mm,
            shift_mm: beams.infill.shift_mm,
            kerf_mm: beams.infill.kerf_mm,
            runs,
        })
    }

    /// One bay run with its width as built and its beams as measured (by number, from the start).
    ///
    /// `None` where the design draws no beams or gives no tolerance or smallest make-up.
    pub fn bay_fit_input(
        &self,
        run: &BayRun,
        as_built: Option<Length>,
        measured: Option<Vec<Option<Mm>>>,
    ) -> Option<bay_fit::Input> {
        let beams = self.beams.as_ref()?;
        let length =
            |name| self.limits.get(&name).map(|limit| Length::from_um(limit.value.0.millionths() / 1_000));
        Some(bay_fit::Input {
            design_clear_width_mm: Mm(run.clear_width()),
            clear_width_mm: Mm(as_built.unwrap_or_else(|| run.clear_width())),
            edge_start_mm: run.edge_start_mm,
            edge_end_mm: run.edge_end_mm,
            beam_width_mm: beams.width_mm,
            infill_widths_mm: bay_fit::InfillWidths {
                wide: beams.infill.wide_mm,
                narrow: beams.infill.narrow_mm,
            },
            sequence: run.sequence.iter().map(|one| word(*one)).collect(),
            measured_mm: measured,
            spacing_tolerance_mm: Mm(length(LimitName::BeamSpacingTolerance)?),
            smallest_make_up_mm: Mm(length(LimitName::MakeUpLeast)?),
        })
    }

    /// Everything that must be delivered, by stages in the order of work; empty where the design draws no beams.
    pub fn order(&self) -> Vec<Ordered> {
        let Some(beams) = &self.beams else { return Vec::new() };
        let mut order: Vec<Ordered> = Vec::new();
        let mut add = |stage: Stage, item: String, quantity: u32| match order
            .iter_mut()
            .find(|one| one.stage == stage && one.item == item)
        {
            Some(one) => one.quantity = one.quantity.saturating_add(quantity),
            None => order.push(Ordered { stage, item, quantity }),
        };
        for run in &beams.runs {
            let count = u32::try_from(run.beam_count()).unwrap_or(u32::MAX);
            add(Stage::Beams, format!("beam {}", run.beam), count);
        }
        let cut = self.infill_cuts_input().and_then(|input| infill_cuts::reckon(&input).ok());
        for stock in cut.iter().flat_map(|output| &output.stock) {
            let width = match stock.width {
                infill_cuts::Width::Wide => beams.infill.wide_mm,
                infill_cuts::Width::Narrow => beams.infill.narrow_mm,
            };
            let item = format!("infill {} x {}", width.0.to_mm_text(), beams.infill.piece_mm.0.to_mm_text());
            add(Stage::Infill, item, stock.stock_pieces);
        }
        for one in &beams.items {
            add(one.stage, one.item.clone(), one.quantity);
        }
        order.sort_by_key(|one| one.stage);
        order
    }

    /// The order as the reckoning of deliveries takes it, without any note yet.
    pub fn delivery_input(&self) -> delivery::Input {
        let order = self.order();
        let quantity = |one: &Ordered| delivery::Quantity { item: one.item.clone(), quantity: one.quantity };
        let mut ordered: Vec<delivery::Quantity> = Vec::new();
        for one in &order {
            match ordered.iter_mut().find(|other| other.item == one.item) {
                Some(other) => other.quantity = other.quantity.saturating_add(one.quantity),
                None => ordered.push(quantity(one)),
            }
        }
        let stages =
            Stage::ALL.into_iter().filter(|stage| order.iter().any(|one| one.stage == *stage)).map(|stage| {
                delivery::Stage {
                    stage: stage.word().to_owned(),
                    needs: order.iter().filter(|one| one.stage == stage).map(quantity).collect(),
                }
            });
        delivery::Input { ordered, notes: Vec::new(), stages: stages.collect() }
    }
}

/// A word of a drawn sequence as the reckoning has it.
const fn word(one: InRun) -> bay_fit::Word {
    match one {
        InRun::Beam => bay_fit::Word::Beam,
        InRun::Wide => bay_fit::Word::Wide,
        InRun::Narrow => bay_fit::Word::Narrow,
        InRun::MakeUp => bay_fit::Word::MakeUp,
    }
}
