//! The window: eframe glue. `logic` drains the worker's replies, `ui` paints.

use std::path::PathBuf;

/// How the window is started.
#[derive(Debug, Clone)]
pub struct WindowArgs {
    /// The register to open; the last one, or the welcome sheet, while none.
    pub register: Option<PathBuf>,
    /// The program's own folder: device file, last register, demo.
    pub settings: PathBuf,
    /// Where the trace of what is on screen goes.
    pub trace_ui: Option<PathBuf>,
}

/// Opens the window.
pub fn run(_args: WindowArgs) -> i32 {
    1
}
