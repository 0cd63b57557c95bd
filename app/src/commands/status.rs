//! `gaugerod status`: where the plots stand.

use std::path::{Path, PathBuf};

use clap::Args;
use gaugerod_core::ids::PlotId;
use gaugerod_core::inspection::judge::value_in_unit;
use gaugerod_core::inspection::level_book::{self, LevelBook};
use gaugerod_core::inspection::standing::{Nonconformance, NonconformanceState};
use gaugerod_core::inspection::{HoldPointStanding, PlotSummary};
use gaugerod_core::plan_of_work::ReadingUnit;
use gaugerod_core::register::{PlotView, Register, RegisterError};
use serde_json::{Value, json};

use super::{DONE, NO, UNUSABLE, json_text, print_line, say, say_error, surroundings};

/// Say where the plots stand.
#[derive(Debug, Args)]
pub struct StatusArgs {
    /// The register's file
    register: PathBuf,
    /// One plot, whole: readings, verdicts, what is owed
    #[arg(long, value_name = "P")]
    plot: Option<PlotId>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Prints the register of plots, or one plot whole.
pub fn run(args: &StatusArgs, settings: &Path) -> i32 {
    let mut register = match surroundings::surroundings(settings) {
        Ok(surroundings) => match Register::open(&args.register, surroundings) {
            Ok(register) => register,
            Err(error) => return say_error(&error),
        },
        Err(sentence) => return say(UNUSABLE, &sentence),
    };
    let done = match &args.plot {
        None => site(&mut register, args.json),
        Some(plot) => one_plot(&mut register, plot, args.json),
    };
    done.unwrap_or_else(|error| say_error(&error))
}

fn site(register: &mut Register, as_json: bool) -> Result<i32, RegisterError> {
    let summaries = register.summaries()?;
    let (heads, root) = register.root()?;
    if as_json {
        let plots: Vec<Value> = summaries.iter().map(summary_json).collect();
        let heads: serde_json::Map<String, Value> =
            heads.iter().map(|head| (head.device.to_string(), json!(head.id))).collect();
        print_line(&json_text(&json!({
            "site": register.site().site(), "plots": plots, "heads": heads, "root": root,
        })));
        return Ok(DONE);
    }
    print_line(&format!("{}: {} plots", register.site().site(), summaries.len()));
    for plot in &summaries {
        let (settled, all) = plot.settled();
        let next =
            plot.next.as_ref().map_or_else(|| "nothing left".to_owned(), |next| format!("next {next}"));
        let open = if plot.open.is_empty() {
            String::new()
        } else {
            format!(", {} open nonconformances", plot.open.len())
        };
        print_line(&format!(
            "plot {:<6} {} rev {:<3} {settled} of {all} settled, {next}{open}",
            plot.plot, plot.drawing, plot.revision
        ));
    }
    Ok(DONE)
}

fn summary_json(summary: &PlotSummary) -> Value {
    json!({
        "plot": summary.plot,
        "design": {"drawing": summary.drawing, "revision": summary.revision},
        "gates": summary.gates.iter().map(|(gate, state)| json!({"gate": gate, "state": state})).collect::<Vec<_>>(),
        "hold_points": summary.hold_points.iter().map(|one| json!({
            "id": one.id, "state": one.state, "verdict": one.verdict, "owed": one.owed,
            "open_nonconformances": one.open_nonconformances,
        })).collect::<Vec<_>>(),
        "next": summary.next,
        "first_time": {"conforming": summary.first_time.conforming, "of": summary.first_time.of},
        "signed_off": summary.signed_off,
    })
}

fn one_plot(register: &mut Register, plot: &PlotId, as_json: bool) -> Result<i32, RegisterError> {
    let Some(view) = register.plot(plot)? else {
        return Ok(say(NO, &format!("the site has no plot {plot}")));
    };
    if as_json {
        print_line(&json_text(&plot_json(register, &view)?));
        return Ok(DONE);
    }
    let design = view.record.design();
    print_line(&format!("plot {plot}, {} revision {}", design.drawing, design.revision));
    for one in &view.standing.hold_points {
        print_line(&format!("  {:<16} {:<24} {}", one.short_title, one.state.word(), one.verdict.word()));
        for owed in &one.owed {
            print_line(&format!("      owed: {}", owed.what));
        }
        for against in &one.unsettled {
            print_line(&format!("      stands against release: {against}"));
        }
    }
    Ok(DONE)
}

/// One plot whole, as the contract of the command line has it.
///
/// # Errors
/// The disk.
pub fn plot_json(register: &Register, view: &PlotView) -> Result<Value, RegisterError> {
    let (heads, root) = register.root()?;
    let heads: serde_json::Map<String, Value> =
        heads.iter().map(|head| (head.device.to_string(), json!(head.id))).collect();
    let design = view.record.design();
    let gates: Vec<Value> =
        view.standing.gates.iter().map(|gate| json!({"gate": gate.id, "state": gate.state})).collect();
    let hold_points: Vec<Value> = view.standing.hold_points.iter().map(hold_point_json).collect();
    Ok(json!({
        "site": register.site().site(),
        "plot": view.standing.plot,
        "design": {"drawing": design.drawing, "revision": design.revision},
        "gates": gates,
        "hold_points": hold_points,
        "level_books": view.record.level_books.iter().map(|book| level_book_json(view, book)).collect::<Vec<_>>(),
        "sign_offs": view.standing.sign_offs,
        "first_time": view.standing.first_time,
        "heads": heads,
        "root": root,
    }))
}

/// A level book with its sights as booked and the levels that follow.
fn level_book_json(view: &PlotView, book: &LevelBook) -> Value {
    let reduced = level_book::reduce(&view.record, book);
    let reduced = reduced.as_ref().map_err(String::as_str);
    let sights: Vec<Value> = book
        .standing()
        .enumerate()
        .map(|(index, sight)| {
            let fact = &sight.kept.fact;
            let row = reduced.ok().map(|reduced| &reduced.output.rows[reduced.row_of[index]]);
            json!({
                "sight": fact.sight, "point": fact.point,
                "read_mm": gaugerod_core::quantity::Mm(gaugerod_core::quantity::Length::from_um(fact.value_um)),
                "level_m": row.map(|row| row.level_m), "adjusted_level_m": row.map(|row| row.adjusted_level_m),
                "entry": sight.kept.noted.id,
            })
        })
        .collect();
    json!({
        "book": book.begun.book,
        "method": book.begun.method,
        "benchmark": book.begun.benchmark,
        "instrument": book.begun.instrument,
        "closed": book.is_closed(&view.record),
        "verdict": reduced.ok().map(|reduced| reduced.output.verdict),
        "misclosure_mm": reduced.ok().and_then(|reduced| reduced.output.misclosure_mm),
        "allowable_mm": reduced.ok().map(|reduced| reduced.output.allowable_mm),
        "doubt": match reduced { Ok(reduced) => reduced.doubt.as_deref(), Err(what) => Some(what) },
        "sights": sights,
    })
}

fn hold_point_json(one: &HoldPointStanding) -> Value {
    let mut readings = Vec::new();
    let mut answers = Vec::new();
    for criterion in &one.criteria {
        let unit = criterion
            .feed()
            .and_then(gaugerod_core::plan_of_work::Feed::unit)
            .unwrap_or(ReadingUnit::Millimetres);
        for reading in &criterion.readings {
            // Numbers as numbers, exactly; what a gauge said as text.
            let text = value_in_unit(reading.value, unit);
            let value: Value = serde_json::from_str(&text).unwrap_or(Value::String(text));
            readings.push(json!({
                "criterion": criterion.id,
                "point": reading.point,
                "value": value,
                "unit": unit.symbol(),
                "verdict": reading.trial.as_ref().map(|trial| trial.verdict),
                "deviation_mm": reading.trial.as_ref().and_then(|trial| trial.deviation).map(gaugerod_core::quantity::Mm),
                "probability_conforming": reading.trial.as_ref().and_then(|trial| trial.probability),
                "entry": reading.entry,
                "from": reading.trace.as_ref().map(|trace| json!({
                    "book": trace.book, "benchmark": trace.benchmark, "setup": trace.setup, "sight": trace.sight,
                    "read_mm": gaugerod_core::quantity::Mm(trace.read),
                })),
            }));
        }
        if let Some(answer) = &criterion.answer {
            answers.push(json!({
                "criterion": criterion.id, "answer": answer.answer, "reason": answer.reason,
                "remark": answer.remark, "entry": answer.entry,
            }));
        }
    }
    let photos: Vec<Value> = one
        .evidence
        .iter()
        .flat_map(|evidence| &evidence.photos)
        .map(|(photo, noted)| json!({"subject": photo.subject, "sha256": photo.photo, "entry": noted.id}))
        .collect();
    json!({
        "id": one.id,
        "state": one.state,
        "verdict": one.verdict,
        "criteria": one.criteria.iter().map(|criterion| json!({
            "id": criterion.id, "verdict": criterion.verdict, "limit": criterion.limit,
            "findings": criterion.findings.iter().map(|finding| json!({
                "what": finding.what, "verdict": finding.verdict, "caution": finding.caution,
                "source": finding.source, "settled": finding.settled,
            })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "owed": one.owed.iter().map(|owed| json!({
            "criterion": owed.criterion, "point": owed.point, "what": owed.what,
        })).collect::<Vec<_>>(),
        "waiting_for": one.waiting_for,
        "stands_against": one.unsettled,
        "readings": readings,
        "answers": answers,
        "photos": photos,
        "nonconformances": one.nonconformances.iter().map(nonconformance_json).collect::<Vec<_>>(),
    })
}

fn nonconformance_json(one: &Nonconformance) -> Value {
    let (state, how) = match &one.state {
        NonconformanceState::Open => ("open", None),
        NonconformanceState::Replaced { because, .. } => ("replaced", Some(json!(because))),
        NonconformanceState::Settled(settled) if settled.concession => ("conceded", Some(json!(settled.how))),
        NonconformanceState::Settled(settled) => ("closed", Some(json!(settled.how))),
    };
    json!({
        "id": one.id, "origin": one.origin, "criterion": one.criterion, "point": one.point,
        "what": one.what, "state": state, "how": how,
    })
}
