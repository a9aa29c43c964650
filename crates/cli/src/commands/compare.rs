//! `beamstay compare`.

use beamstay_planner::compare::compare_report;
use beamstay_report::figure::compare::compare_figure;

use super::{End, ready::Ready};
use crate::{args::CompareArguments, text::compare::render};

/// The ways of the power side by side.
pub fn run(arguments: &CompareArguments) -> Result<End, End> {
    let part = &arguments.plot.part;
    let ready = Ready::read(&part.scenario, part.format)?;
    let report = ready.compute(|document, loaded| compare_report(document, loaded, arguments.mission_h))?;
    ready.draw(&arguments.plot.figure, || compare_figure(&report))?;
    let any = report.alternatives.iter().any(|way| way.feasible);
    Ok(ready.show(&report, |style| render(&report, style)).if_closes(any))
}
