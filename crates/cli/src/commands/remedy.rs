//! `beamstay remedy`.

use beamstay_planner::remedy::remedy;

use super::{End, ready::Ready};
use crate::{args::StudyArguments, text::remedy::remedy_text};

/// What would close the plan.
pub fn run(arguments: &StudyArguments) -> Result<End, End> {
    let ready = Ready::read(&arguments.part.scenario, arguments.part.format)?;
    let report = ready.study(&arguments.threads, remedy)?;
    Ok(ready.show(&report, |style| remedy_text(&report, style)).if_closes(report.closes))
}
