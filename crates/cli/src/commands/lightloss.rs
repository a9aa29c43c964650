//! `beamstay lightloss`.

use beamstay_planner::lightloss::light_loss_report;
use beamstay_report::figure::lightloss::light_loss_figure;

use super::{End, ready::Ready};
use crate::{args::PlotArguments, text::lightloss::render};

/// The drill for the loss of light.
pub fn run(arguments: &PlotArguments) -> Result<End, End> {
    let ready = Ready::read(&arguments.part.scenario, arguments.part.format)?;
    let report = ready.compute(light_loss_report)?;
    ready.draw(&arguments.figure, || light_loss_figure(&report))?;
    Ok(ready.show(&report, |style| render(&report, style)).if_closes(report.safe))
}
