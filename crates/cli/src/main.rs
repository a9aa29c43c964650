//! The `beamstay` command: reads scenarios, asks the planner, prints.
//!
//! Exit codes: 0 the plan closes or the question was answered, 1 the plan does not close, 2 bad input or usage, 3 a
//! solver did not converge.

mod args;
mod commands;
mod input;
mod messages;
mod output;
mod progress;
mod text;

use std::process::ExitCode;

use clap::Parser;

fn main() -> ExitCode {
    let arguments = args::Arguments::parse();
    commands::run(&arguments)
}
