//! The files that the program carries: default limits, the plan of work, the demo. They are only sources to issue
//! from; what judges is what the record holds.

use std::io::Read as _;
use std::sync::LazyLock;

use gaugerod_core::plan_of_work::{PlanOfWork, Reasons};

/// Default limits with their sources.
pub const LIMITS: &str = include_str!("../../assets/limits.toml");
/// The plan of work.
pub const PLAN_OF_WORK: &str = include_str!("../../assets/hold-points.toml");

/// The lists of reasons of the shipped plan: offered where a site's plan has none of its own.
pub fn reasons() -> &'static Reasons {
    static REASONS: LazyLock<Reasons> =
        LazyLock::new(|| PlanOfWork::read(PLAN_OF_WORK).map(|plan| plan.reasons).unwrap_or_default());
    &REASONS
}

/// The most bytes that are read of any file that a person names: the largest photo and a little more.
const MOST_BYTES: u64 = 40_000_001;

/// Reads a file that a person names; what is larger than anything taken in is cut there and refused by its size.
///
/// # Errors
/// The disk's.
pub fn read_file(name: &str) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    std::fs::File::open(name)?.take(MOST_BYTES).read_to_end(&mut bytes)?;
    Ok(bytes)
}
