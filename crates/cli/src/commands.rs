//! What each command does.

mod compare;
mod endurance;
mod hazard;
mod lightloss;
mod manual;
mod new;
mod parts;
mod point;
mod ready;
mod receiver;
mod region;
mod remedy;
mod report;
mod risk;
mod search;
mod sweep;
mod weather;

use std::process::ExitCode;

use serde_json::{Value, json};

use crate::{
    args::{Arguments, Command, Format},
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
    /// This end of a plan that closes; of one that does not, [`Self::NotFeasible`] in place of [`Self::Done`].
    fn if_closes(self, closes: bool) -> Self {
        if self == Self::Done && !closes { Self::NotFeasible } else { self }
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
        Command::Remedy(inner) => remedy::run(inner),
        Command::Risk(inner) => risk::run(inner),
        Command::Search(inner) => search::run(inner),
        Command::Region(inner) => region::run(inner),
        Command::Sweep(inner) => sweep::run(inner),
        Command::Hazard(inner) => hazard::run(inner),
        Command::Compare(inner) => compare::run(inner),
        Command::Endurance(inner) => endurance::run(inner),
        Command::Lightloss(inner) => lightloss::run(inner),
        Command::Report(inner) => report::run(inner),
        Command::New(inner) => Ok(new::run(inner)),
        Command::Schema => Ok(print_json(beamstay_planner::schema::scenario_schema())),
        Command::Completions(inner) => Ok(manual::completions(inner)),
        Command::Manual => Ok(manual::manual()),
    };
    end.unwrap_or_else(|refused| refused).into()
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

fn failed(format: Format, message: &str) -> End {
    match format {
        Format::Text => eprintln!("error[E0501]: {message}"),
        Format::Json => {
            print_json(&json!({"errors": [{"code": "E0501", "message": message}]}));
        }
    }
    End::Failed
}
