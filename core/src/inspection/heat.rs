//! The U-value with the overlay as built, and how sure it is.
//!
//! Without a declared figure the combined method reckons it from the layers. A declared figure is for the floor with
//! the overlay as designed. With another overlay its resistance is changed by what the overlay's own resistance
//! changes: heat that spreads sideways makes the true change no smaller than that, so with a better overlay the
//! U-value is at most the figure found, with a worse one at least that. What such a bound cannot settle stays open.

use super::as_built::{About, AsBuilt, Basis, Consequence, Overlay, area_m2};
use super::beam_feeds::finding;
use super::fold::PlotRecord;
use super::judge::FindingStanding;
use crate::conformity::Verdict;
use crate::floor::thermal::Thermal;
use crate::floor::{FloorDesign, Vent};
use crate::quantity::{Area, Length, Real};
use crate::reckon::u_value;
use crate::working::{Working, real};

/// How the figure stands to the true U-value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bound {
    /// It is what the method gives.
    Itself,
    /// The true one is no greater.
    AtMost,
    /// The true one is no less.
    AtLeast,
}

/// The U-value with an overlay.
#[derive(Debug, Clone, PartialEq)]
pub struct UValue {
    /// The reckoning's input.
    pub input: u_value::Input,
    /// Its output.
    pub output: u_value::Output,
    /// How the figure stands to the true one.
    pub bound: Bound,
    /// The verdict with that in mind.
    pub verdict: Verdict,
    /// How a declared figure was changed for this overlay.
    pub before: Working,
    /// Who declared it.
    source: String,
}

const DECLARED_FOR: &str = "the declared U-value is for the overlay as designed";

impl UValue {
    /// The whole working: how the declared figure was changed, then the reckoning's own.
    pub fn working(&self) -> Working {
        let mut working = self.before.clone();
        working.0.extend(self.output.working.0.iter().cloned());
        working
    }

    /// What a bound leaves open.
    pub(super) fn bound_findings(&self) -> Vec<FindingStanding> {
        let Some(found) = self.output.u.filter(|_| self.bound != Bound::Itself) else { return Vec::new() };
        let what = match self.bound {
            Bound::AtMost => format!("{DECLARED_FOR}; with this one U is at most {found:.4} W/m²K"),
            _ => format!("{DECLARED_FOR}; with this one U is at least {found:.4} W/m²K"),
        };
        if self.verdict == Verdict::Undetermined {
            let what = format!("{what}: ask the producer for the figure with this overlay");
            return vec![FindingStanding {
                source: self.source.clone(),
                ..finding(what, Verdict::Undetermined)
            }];
        }
        vec![FindingStanding {
            caution: true,
            source: self.source.clone(),
            ..finding(what, Verdict::Conforming)
        }]
    }
}

/// Whether every thickness lies within the tolerance of the design.
pub(super) fn is_as_thick_as_designed(record: &PlotRecord, overlay: &Overlay) -> bool {
    let design = record.design();
    let Some(thermal) = &design.thermal else { return false };
    let drawn = design.overlay_thickness();
    let least = drawn - thermal.overlay.tolerance_minus_mm.0;
    let most = drawn + thermal.overlay.tolerance_plus_mm.0;
    least <= overlay.least && overlay.greatest <= most
}

/// The thickness that counts for heat: as designed within its tolerance, else the least.
fn thickness_for_heat(record: &PlotRecord, overlay: &Overlay) -> Length {
    if is_as_thick_as_designed(record, overlay) { record.design().overlay_thickness() } else { overlay.least }
}

/// The U-value of the floor with that overlay.
///
/// # Errors
/// A sentence: what is not known of it.
pub fn u_value_of(record: &PlotRecord, overlay: &Overlay) -> Result<UValue, String> {
    let design = record.design();
    let thermal = design.thermal.as_ref().ok_or("the floor design says nothing of heat")?;
    if !overlay.unknown.is_empty() {
        return Err(format!(
            "no conductivity of {}: neither the label nor the floor design gives it",
            overlay.unknown.join(", ")
        ));
    }
    let conductivity = overlay.conductivity.ok_or("no label of the overlay is booked")?;
    let thickness = thickness_for_heat(record, overlay);
    let mut input = input(design, thermal, thickness, conductivity)?;
    let mut before = Working::new();
    let mut bound = Bound::Itself;
    let source = thermal.declared.as_ref().map_or_else(String::new, |declared| declared.source.clone());
    if let Some(declared) = &thermal.declared {
        let drawn = (design.overlay_thickness(), thermal.overlay.conductivity.0);
        let (own, change) =
            changed(declared.floor_u.0, drawn, (thickness, conductivity), &source, &mut before)?;
        input.declared_floor_u = Some(Real(own));
        bound = match change.partial_cmp(&0.0) {
            Some(std::cmp::Ordering::Greater) => Bound::AtMost,
            Some(std::cmp::Ordering::Less) => Bound::AtLeast,
            _ => Bound::Itself,
        };
    }
    let output = u_value::reckon(&input).map_err(|faults| faults.to_string())?;
    let verdict = match (bound, output.verdict) {
        (Bound::AtMost, Verdict::Nonconforming) | (Bound::AtLeast, Verdict::Conforming) => {
            Verdict::Undetermined
        }
        (_, verdict) => verdict,
    };
    Ok(UValue { input, output, bound, verdict, before, source })
}

/// A declared U-value with the overlay's own resistance changed, and by how much.
fn changed(
    declared: f64,
    drawn: (Length, f64),
    built: (Length, f64),
    source: &str,
    working: &mut Working,
) -> Result<(f64, f64), String> {
    let resistance = |(thickness, conductivity): (Length, f64)| thickness.to_m_f64() / conductivity;
    let change = resistance(built) - resistance(drawn);
    if drawn == built {
        return Ok((declared, 0.0));
    }
    let formula = |(thickness, conductivity): (Length, f64)| {
        format!("{} / 1000 / {}", thickness.to_mm_text(), real(conductivity))
    };
    let step = "change of the overlay's resistance";
    working.float(step, format!("{} - {}", formula(built), formula(drawn)), change, "m2K/W", source);
    let total = 1.0 / declared + change;
    if total <= 0.0 {
        return Err("this overlay leaves nothing of the declared resistance".to_owned());
    }
    let own = 1.0 / total;
    let formula = format!("1 / (1 / {} + ({}))", real(declared), real(change));
    working.float("declared U-value of the floor with that change", formula, own, "W/m2K", source);
    Ok((own, change))
}

fn input(
    design: &FloorDesign,
    thermal: &Thermal,
    thickness: Length,
    conductivity: f64,
) -> Result<u_value::Input, String> {
    let mut layers = vec![u_value::Layer {
        name: "overlay".to_owned(),
        thickness_mm: Some(Real(thickness.to_mm_f64())),
        parts: Some(vec![u_value::Part { fraction: Real(1.0), conductivity: Real(conductivity) }]),
        resistance: None,
    }];
    for one in &thermal.layers {
        let drawn = design.layer_index(&one.layer).map(|at| design.layers[at].thickness_mm.0);
        let drawn = drawn.ok_or_else(|| format!("no layer {}", one.layer))?;
        let parts = one.parts.as_ref().map(|parts| {
            parts
                .iter()
                .map(|part| u_value::Part { fraction: part.fraction, conductivity: part.conductivity })
                .collect()
        });
        layers.push(u_value::Layer {
            name: one.layer.to_string(),
            thickness_mm: parts.is_some().then(|| Real(drawn.to_mm_f64())),
            parts,
            resistance: one.resistance,
        });
    }
    let exposed: Length = design.plan.exposed_edges.iter().map(|edge| design.plan.edge_length(*edge)).sum();
    let perimeter = exposed.to_m_f64();
    let openings: Area = design.vents.iter().filter_map(area_of).sum();
    #[expect(clippy::cast_precision_loss, reason = "a few air bricks")]
    let openings_m2 = openings.um2() as f64 / 1e12;
    let levels = &design.levels;
    Ok(u_value::Input {
        area_m2: Real(area_m2(&design.plan.outline_mm)),
        exposed_perimeter_m: Real(perimeter),
        wall_thickness_m: Real(thermal.wall_thickness_mm.0.to_m_f64()),
        ground_conductivity: thermal.ground_conductivity,
        layers,
        surface_inside: thermal.surface_inside,
        surface_below: thermal.surface_below,
        surface_outside: thermal.surface_outside,
        declared_floor_u: None,
        height_m: Real(
            (levels.finished_floor_level_m.0 - levels.outside_ground_level_m.0).to_m_f64().max(0.0),
        ),
        wall_u: thermal.wall_u,
        opening_area_m2_per_m: Real(if perimeter > 0.0 { openings_m2 / perimeter } else { 0.0 }),
        wind_speed_m_per_s: thermal.wind_speed_m_per_s,
        wind_shielding: thermal.wind_shielding,
        ground_insulation: thermal.ground_insulation,
        limit: thermal.limit,
    })
}

/// What one opening lets through: the least of what stands one behind the other.
fn area_of(vent: &Vent) -> Option<Area> {
    let series = vent.in_series_mm2.iter().flatten().map(|area| area.0).min();
    vent.equivalent_area_mm2.map(|area| area.0).or(series)
}

/// What the overlay does to the U-value.
pub(super) fn consequence(record: &PlotRecord, found: &AsBuilt) -> Option<Consequence> {
    let thermal = record.design().thermal.as_ref()?;
    let source = thermal.source.clone();
    let (verdict, sentence) = match u_value_of(record, &found.overlay) {
        Err(what) => (Verdict::Undetermined, format!("U-value open: {what}")),
        Ok(own) => match own.output.u {
            None => {
                let why = own.output.findings.iter().find(|one| one.verdict == Verdict::Undetermined);
                let why = why.map_or_else(String::new, |one| one.reason.clone());
                (Verdict::Undetermined, format!("U-value open: {why}"))
            }
            Some(u) => {
                let bound = match own.bound {
                    Bound::Itself => "",
                    Bound::AtMost => "at most ",
                    Bound::AtLeast => "at least ",
                };
                let limit = thermal.limit.map_or_else(
                    || ", no limit given".to_owned(),
                    |limit| format!(", allowed {} W/m²K", limit.0),
                );
                let ask = if own.verdict == Verdict::Undetermined && thermal.limit.is_some() {
                    ": ask the producer for the figure with this overlay"
                } else {
                    ""
                };
                let from = if found.overlay.basis == Basis::Design { ", overlay as drawn" } else { "" };
                (own.verdict, format!("U {bound}{u:.4} W/m²K{limit}{from}{ask}"))
            }
        },
    };
    Some(Consequence { about: About::UValue, verdict, sentence, source })
}
