//! What each command does.

mod drill;
mod endurance;
mod hazard;
mod manual;
mod new;
mod parts;
mod point;
mod ready;
mod receiver;
mod region;
mod report;
mod search;
mod study;
mod sweep;

use std::process::ExitCode;

use beamstay_planner::{Document, PlanError};
use serde_json::{Value, json};

use crate::{
    args::{Arguments, Command, Format},
    input::Source,
    messages::{Failure, wants_colour},
    output,
};

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// The plan closes, or the question was answered.
    Done,
    /// The plan does not close.
    NotFeasible,
    /// Bad input.
    BadInput,
    /// A solver did not converge, or the result could not be written.
    Failed,
}

impl End {
    /// Another end in place of [`Self::Done`].
    fn or(self, other: Self) -> Self {
        if self == Self::Done { other } else { self }
    }
}

impl From<End> for ExitCode {
    fn from(end: End) -> Self {
        match end {
            End::Done => 0.into(),
            End::NotFeasible => 1.into(),
            End::BadInput => 2.into(),
            End::Failed => 3.into(),
        }
    }
}

/// Carries out the command line.
pub fn run(arguments: &Arguments) -> ExitCode {
    let end = match &arguments.command {
        Command::Point(inner) => point::run(inner),
        Command::Tether(inner) => parts::tether(inner),
        Command::Rotor(inner) => parts::rotor(inner),
        Command::Light(inner) => parts::light(inner),
        Command::Receiver(inner) => receiver::run(inner),
        Command::Remedy(inner) => study::remedy(inner),
        Command::Risk(inner) => study::risk(inner),
        Command::Search(inner) => search::run(inner),
        Command::Region(inner) => region::run(inner),
        Command::Sweep(inner) => sweep::run(inner),
        Command::Hazard(inner) => hazard::run(inner),
        Command::Compare(inner) => drill::compare(inner),
        Command::Endurance(inner) => endurance::run(inner),
        Command::Lightloss(inner) => drill::light_loss(inner),
        Command::Report(inner) => report::run(inner),
        Command::New(inner) => new::run(inner),
        Command::Schema => print_json(beamstay_planner::schema::scenario_schema()),
        Command::Completions(inner) => manual::completions(inner),
        Command::Manual => manual::manual(),
    };
    end.into()
}

/// Prints a value as JSON with two spaces of indent.
fn print_json(value: &Value) -> End {
    match serde_json::to_string_pretty(value) {
        Ok(text) => print(&text),
        Err(error) => failed(Format::Text, &error.to_string()),
    }
}

fn print(text: &str) -> End {
    match output::print(text) {
        Ok(()) => End::Done,
        Err(error) => failed(Format::Text, &format!("standard output cannot be written: {error}")),
    }
}

/// Tells a person on standard error, or a program on standard output.
fn refuse(format: Format, failure: &Failure) -> End {
    match format {
        Format::Text => eprintln!("{}", failure.text(wants_colour(&std::io::stderr()))),
        Format::Json => {
            print_json(&failure.json());
        }
    }
    End::BadInput
}

/// Tells why a plan cannot be computed: what is wrong in the scenario with its place, or that a solver did not converge.
fn tell(format: Format, source: Source, document: &Document, error: PlanError) -> End {
    match error {
        PlanError::Refused(mut fault) => {
            // The whole document would fill the screen: its opening bracket will do.
            fault.span = document
                .span(&fault.pointer)
                .map(|span| if fault.pointer.is_empty() { span.start..span.start + 1 } else { span });
            refuse(format, &Failure::Faults(source, vec![*fault]))
        }
        other => failed(format, &other.to_string()),
    }
}

fn failed(format: Format, message: &str) -> End {
    match format {
        Format::Text => eprintln!("error[E0501]: {message}"),
        Format::Json => {
            print_json(&json!({"errors": [{"code": "E0501", "message": message}]}));
        }
    }
    End::Failed
}
