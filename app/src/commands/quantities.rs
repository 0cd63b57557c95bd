//! `gaugerod quantities`: what a floor design asks to be delivered, by stage.

use std::path::PathBuf;

use clap::Args;
use gaugerod_core::faults::MAX_BYTES;
use gaugerod_core::floor::FloorDesign;
use serde_json::json;

use super::{DONE, UNUSABLE, json_text, print_line, say};
use crate::worker::photos::read_bounded;

/// Say what must be delivered for a floor design.
#[derive(Debug, Args)]
pub struct QuantitiesArgs {
    /// The floor design's file
    design: PathBuf,
    /// As JSON
    #[arg(long)]
    json: bool,
}

/// Reads the design and prints what it orders.
pub fn run(args: &QuantitiesArgs) -> i32 {
    let text = read_bounded(&args.design, MAX_BYTES as u64)
        .and_then(|bytes| String::from_utf8(bytes).map_err(|_| "this is no text in UTF-8".to_owned()));
    let text = match text {
        Ok(text) => text,
        Err(sentence) => return say(UNUSABLE, &sentence),
    };
    let design = match FloorDesign::read(&text) {
        Ok(design) => design,
        Err(faults) => return say(UNUSABLE, &faults.to_string()),
    };
    let order = design.order();
    if args.json {
        let lines: Vec<_> = order
            .iter()
            .map(|one| json!({"stage": one.stage.word(), "item": one.item, "quantity": one.quantity}))
            .collect();
        print_line(&json_text(&json!({
            "drawing": design.drawing, "revision": design.revision, "quantities": lines,
        })));
        return DONE;
    }
    print_line(&format!("{} revision {}", design.drawing, design.revision));
    for one in &order {
        print_line(&format!("{:<12} {:>6} × {}", one.stage.word(), one.quantity, one.item));
    }
    if order.is_empty() {
        print_line("the floor design draws no beams: nothing is ordered");
    }
    DONE
}
