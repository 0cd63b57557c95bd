//! `gaugerod completion`: shell completions.

use clap::{Args, CommandFactory as _};
use clap_complete::Shell;

use super::{Arguments, DONE};

/// Print completions.
#[derive(Debug, Args)]
pub struct CompletionArgs {
    /// The shell
    shell: Shell,
}

/// Prints the completions.
pub fn run(args: &CompletionArgs) -> i32 {
    clap_complete::generate(args.shell, &mut Arguments::command(), "gaugerod", &mut std::io::stdout());
    DONE
}
