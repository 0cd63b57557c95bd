//! `gaugerod cuts`: the infill of several plots cut together, as text, JSON or cut sheets for the saw.

use std::path::{Path, PathBuf};

use clap::Args;
use gaugerod_core::ids::PlotId;
use gaugerod_core::inspection::cut_plan::{CutPlan, PlotPieces};
use gaugerod_core::reckon::infill_cuts::Effort;
use gaugerod_core::register::Register;
use gaugerod_core::signoff::cut_sheets;
use gaugerod_core::signoff::fonts::Fonts;
use gaugerod_core::signoff::make::PROGRAM;
use serde_json::{Value, json};

use super::sign_off::write_new;
use super::{DONE, NO, UNUSABLE, json_text, print_line, say, say_error, surroundings};

/// Say how the infill of plots is cut together.
#[derive(Debug, Args)]
pub struct CutsArgs {
    /// The register's file
    register: PathBuf,
    /// A plot, once for each; with one alone, those of the same delivery note or floor design that wait for infill
    /// are cut together with it
    #[arg(long = "plot", value_name = "P", required = true)]
    plots: Vec<PlotId>,
    /// Only the plots that are named
    #[arg(long)]
    alone: bool,
    /// As JSON
    #[arg(long)]
    json: bool,
    /// Write the cut sheets, one page a plot, into this PDF; nothing is overwritten
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Reckons and prints.
pub fn run(args: &CutsArgs, settings: &Path) -> i32 {
    let mut register = match surroundings::surroundings(settings) {
        Ok(surroundings) => match Register::open(&args.register, surroundings) {
            Ok(register) => register,
            Err(error) => return say_error(&error),
        },
        Err(sentence) => return say(UNUSABLE, &sentence),
    };
    match cuts(&mut register, args) {
        Ok(()) => DONE,
        Err((code, sentence)) => say(code, &sentence),
    }
}

fn cuts(register: &mut Register, args: &CutsArgs) -> Result<(), (i32, String)> {
    if let Some(out) = args.out.as_ref().filter(|out| out.exists()) {
        return Err((NO, format!("{} is there already; nothing is overwritten", out.display())));
    }
    let pieces = wanted(register, args)?;
    let plan = CutPlan::of(&pieces, &Effort::default()).map_err(|faults| (UNUSABLE, faults.to_string()))?;
    if args.json {
        print_line(&json_text(&as_json(&plan)));
    } else {
        for line in lines(&plan) {
            print_line(&line);
        }
    }
    if let Some(out) = &args.out {
        let site = register.site().site().to_owned();
        let bytes = cut_sheets::make(&plan, &site, register.now(), &Fonts::shipped(), PROGRAM)
            .map_err(|fault| (UNUSABLE, fault.to_string()))?;
        write_new(out, &bytes).map_err(|sentence| (UNUSABLE, sentence))?;
        print_line(&out.display().to_string());
    }
    Ok(())
}

fn wanted(register: &mut Register, args: &CutsArgs) -> Result<Vec<PlotPieces>, (i32, String)> {
    let failed = |error: gaugerod_core::register::RegisterError| {
        (crate::messages::exit_code(&error), crate::messages::sentence(&error))
    };
    if let ([one], false) = (&args.plots[..], args.alone) {
        let found = register.cut_together(one, &mut |_, _| true).map_err(failed)?;
        let chosen = found.candidates.iter().zip(found.pieces).filter(|(one, _)| one.chosen);
        let pieces: Vec<PlotPieces> = chosen.map(|(_, pieces)| pieces).collect();
        if pieces.is_empty() {
            return Err((NO, format!("plot {one} has no floor design that draws its infill")));
        }
        return Ok(pieces);
    }
    let mut pieces = Vec::with_capacity(args.plots.len());
    for plot in &args.plots {
        let view = register.plot(plot).map_err(failed)?;
        let own = view.and_then(|view| PlotPieces::of(&view.record));
        let own =
            own.ok_or_else(|| (NO, format!("plot {plot} has no floor design that draws its infill")))?;
        pieces.push(own);
    }
    Ok(pieces)
}

fn lines(plan: &CutPlan) -> Vec<String> {
    let mut lines = Vec::new();
    for own in &plan.plots {
        lines.push(format!("plot {}, {} revision {}", own.plot, own.drawing.0, own.drawing.1));
        for run in own.runs.iter().filter(|run| run.reason.is_some()) {
            lines.push(format!(
                "  {} {}: {}",
                run.run,
                run.width.word(),
                run.reason.as_deref().unwrap_or("")
            ));
        }
        for width in &own.widths {
            lines.push(format!(
                "  {}: {} pieces, {} laid whole, waste {} m",
                width.width.word(),
                width.opened,
                width.whole,
                width.waste.m_text(2)
            ));
            for bar in &width.bars {
                let cuts: Vec<String> = bar
                    .cuts
                    .iter()
                    .map(|(length, other)| match other {
                        None => length.to_mm_text(),
                        Some(plot) => format!("{} (plot {plot})", length.to_mm_text()),
                    })
                    .collect();
                lines.push(format!(
                    "    {} × {}, offcut {}",
                    bar.times,
                    cuts.join(" + "),
                    bar.offcut.to_mm_text()
                ));
            }
            for one in &width.given {
                lines.push(format!(
                    "    {} × {} come cut from plot {}",
                    one.count,
                    one.length.to_mm_text(),
                    one.from
                ));
            }
        }
    }
    for stock in &plan.output.stock {
        lines.push(cut_sheets::said(stock, plan.plots.len()));
    }
    lines
}

fn as_json(plan: &CutPlan) -> Value {
    let plots: Vec<Value> = plan
        .plots
        .iter()
        .map(|own| {
            let widths: Vec<Value> = own
                .widths
                .iter()
                .map(|width| {
                    let bars: Vec<Value> = width
                        .bars
                        .iter()
                        .map(|bar| {
                            let cuts: Vec<Value> = bar
                                .cuts
                                .iter()
                                .map(|(length, plot)| json!({"length_mm": number(*length), "for_plot": plot}))
                                .collect();
                            json!({"cuts": cuts, "offcut_mm": number(bar.offcut), "times": bar.times})
                        })
                        .collect();
                    let given: Vec<Value> = width
                        .given
                        .iter()
                        .map(|one| json!({"from_plot": one.from, "length_mm": number(one.length), "count": one.count}))
                        .collect();
                    json!({
                        "width": width.width, "stock_pieces": width.opened, "whole": width.whole, "bars": bars,
                        "given": given, "waste_mm": number(width.waste),
                    })
                })
                .collect();
            json!({
                "plot": own.plot, "drawing": own.drawing.0, "revision": own.drawing.1, "runs": own.runs,
                "widths": widths,
            })
        })
        .collect();
    json!({"plots": plots, "stock": plan.output.stock, "findings": plan.output.findings, "input": plan.input})
}

/// A length as an exact number of millimetres.
fn number(length: gaugerod_core::quantity::Length) -> Value {
    serde_json::to_value(gaugerod_core::quantity::Mm(length)).unwrap_or(Value::Null)
}
