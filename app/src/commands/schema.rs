//! `gaugerod schema`: the schemas of the files that people and machines write.

use clap::Args;
use gaugerod_core::floor::{DefaultLimits, FloorDesign};
use gaugerod_core::plan_of_work::PlanOfWork;
use gaugerod_core::reckon::RECKONINGS;
use serde_json::Value;

use super::{DONE, USAGE, json_text, print_line, say};

/// Print a schema.
#[derive(Debug, Args)]
pub struct SchemaArgs {
    /// floor-design, plan-of-work, limits, or the name of a reckoning
    name: String,
}

/// Prints the schema of that name.
pub fn run(args: &SchemaArgs) -> i32 {
    let schema: Option<Value> = match args.name.as_str() {
        "floor-design" => Some(FloorDesign::schema()),
        "plan-of-work" => Some(PlanOfWork::schema()),
        "limits" => Some(DefaultLimits::schema()),
        name => RECKONINGS
            .iter()
            .find(|one| one.name.as_str() == name)
            .map(gaugerod_core::reckon::Reckoning::schema),
    };
    match schema {
        Some(schema) => {
            print_line(&json_text(&schema));
            DONE
        }
        None => {
            let reckonings: Vec<&str> = RECKONINGS.iter().map(|one| one.name.as_str()).collect();
            say(
                USAGE,
                &format!(
                    "no schema {}: floor-design, plan-of-work, limits, {}",
                    args.name,
                    reckonings.join(", ")
                ),
            )
        }
    }
}
