//! The topping before the truck is ordered: what rail and beam tops leave, area by area, and what to order in all.
//!
//! The sums are those of the reckoning; only the areas are put together here.

use super::as_built;
use super::feeds::{Booked, decision_over, length_of};
use super::fold::PlotRecord;
use crate::floor::{FloorDesign, Place};
use crate::ids::PointName;
use crate::plan_of_work::Feed;
use crate::quantity::{CubicMetres, Length, Metres, Mm, Volume};
use crate::reckon::topping_forecast;

/// What one area of topping comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct AreaForecast {
    /// The area.
    pub area: PointName,
    /// The reckoning's input.
    pub input: topping_forecast::Input,
    /// Its output.
    pub output: topping_forecast::Output,
}

/// What the whole topping comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// The areas that levels were read in.
    pub parts: Vec<AreaForecast>,
    /// Level of the rail that it is reckoned under: the lowest that was read.
    pub rail: Length,
    /// The least topping, and where.
    pub least: Option<(Length, String)>,
    /// Beams with their camber.
    pub cambers: Vec<(String, Length)>,
    /// Volume of all areas; `None` while one of them has no levels.
    pub volume: Option<Volume>,
    /// With waste and up to the supplier's step.
    pub order: Option<Volume>,
    /// Waste in percent, as the design gives it.
    waste: String,
    /// The supplier's step.
    step: Volume,
    /// Areas without any level.
    unread: Vec<PointName>,
}

/// Forecasts the topping from levels on top of beams.
///
/// # Errors
/// A sentence: what the design or the record does not give.
pub(super) fn of(record: &PlotRecord, values: &[Booked]) -> Result<Forecast, String> {
    let design = record.design();
    let topping = design.topping.as_ref().ok_or("the floor design describes no topping")?;
    let thickness = design.topping_thickness().ok_or("the layers have no topping")?;
    let rail = as_built::rail(record).ok_or("the screed rail is not levelled yet")?.0;
    let overlay = as_built::overlay(record).map_or(design.overlay_thickness(), |own| own.greatest);
    let (mut parts, mut unread) = (Vec::new(), Vec::new());
    for area in &topping.areas {
        let beam_tops = tops_in(design, &area.outline_mm, values);
        if beam_tops.is_empty() {
            unread.push(area.name.clone());
            continue;
        }
        let input = topping_forecast::Input {
            rail_level_m: Metres(rail),
            design_mm: Mm(thickness),
            tolerance_minus_mm: topping.tolerance_minus_mm,
            beam_tops,
            overlay_mm: Mm(overlay),
            membrane_mm: Mm(design.membrane_thickness()),
            outline_mm: area.outline_mm.clone(),
            waste_percent: topping.waste_percent,
            supplier_step_m3: topping.supplier_step_m3,
            decision: decision_over(record, Feed::BeamTops, values),
        };
        let output = topping_forecast::reckon(&input).map_err(|faults| faults.to_string())?;
        parts.push(AreaForecast { area: area.name.clone(), input, output });
    }
    let least = parts
        .iter()
        .filter_map(|part| Some((part.output.least_mm?.0, part.output.least_at.clone()?)))
        .min_by_key(|(least, _)| *least);
    let cambers = parts
        .iter()
        .flat_map(|part| &part.output.beams)
        .map(|beam| (beam.beam.clone().unwrap_or_else(|| beam.midspan.clone()), beam.camber_mm.0))
        .collect();
    let volumes: Option<Vec<Volume>> =
        parts.iter().map(|part| part.output.volume_m3.map(|CubicMetres(volume)| volume)).collect();
    let volume = volumes.filter(|_| unread.is_empty()).map(|all| all.into_iter().sum::<Volume>());
    let hundred = i128::from(crate::quantity::Factor::whole(100).millionths());
    let with_waste =
        |volume: Volume| volume.share(hundred + i128::from(topping.waste_percent.0.millionths()), hundred);
    // One truck brings all areas: rounded up once, not area by area.
    let order = volume.and_then(with_waste).and_then(|wanted| wanted.up_to_step(topping.supplier_step_m3.0));
    Ok(Forecast {
        parts,
        rail,
        least,
        cambers,
        volume,
        order,
        waste: topping.waste_percent.0.to_text(),
        step: topping.supplier_step_m3.0,
        unread,
    })
}

/// The forecast from what is booked; `None` while nothing can be forecast.
pub fn forecast(record: &PlotRecord) -> Option<Forecast> {
    let values = as_built::current(record, Feed::BeamTops);
    if values.is_empty() { None } else { of(record, &values).ok() }
}

impl Forecast {
    /// What to tell the person who orders, line by line.
    pub fn sentences(&self) -> Vec<String> {
        let mut lines = Vec::new();
        if let Some((least, at)) = &self.least {
            lines.push(format!(
                "Least topping {} mm, at {at}, under the rail at {} m",
                least.mm_text(1),
                self.rail.m_text(3)
            ));
        }
        if !self.cambers.is_empty() {
            let all: Vec<String> = self
                .cambers
                .iter()
                .map(|(beam, camber)| format!("{beam} {} mm", camber.signed_mm_text(1)))
                .collect();
            lines.push(format!("Camber: {}", all.join(", ")));
        }
        if let (Some(volume), Some(order)) = (self.volume, self.order) {
            lines.push(format!(
                "Order {} m³: {:.3} m³ and {} % waste, in steps of {} m³",
                order.to_m3_text(),
                volume.to_m3_f64(),
                self.waste,
                self.step.to_m3_text()
            ));
        }
        if !self.unread.is_empty() {
            let names: Vec<String> = self.unread.iter().map(ToString::to_string).collect();
            lines.push(format!("No order yet: no beam top is read in {}", names.join(", ")));
        }
        lines
    }
}

/// The levels that lie in an area, as the reckoning takes them.
fn tops_in(design: &FloorDesign, outline: &[Place], values: &[Booked]) -> Vec<topping_forecast::BeamTop> {
    values
        .iter()
        .filter_map(|one| {
            let (beam, [x, y]) = design.beam_top(&one.point)?;
            crate::floor::polygon::holds(outline, &[x, y]).then_some(())?;
            Some(topping_forecast::BeamTop {
                point: one.point.to_string(),
                beam: Some(beam.to_string()),
                x_mm: x,
                y_mm: y,
                level_m: Metres(length_of(one.value)?),
            })
        })
        .collect()
}
