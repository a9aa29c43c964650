//! `beamstay hazard`.

use beamstay_planner::hazard_study;
use beamstay_report::figure::hazard::hazard_figure;

use super::{End, ready::Ready};
use crate::{args::PlotArguments, text::hazard::hazard_text};

/// Computes, draws and prints the hazard. A working area that does not hold it is told by the exit code.
pub fn run(arguments: &PlotArguments) -> Result<End, End> {
    let ready = Ready::read(&arguments.part.scenario, arguments.part.format)?;
    let study = ready.compute(hazard_study)?;
    ready.draw(&arguments.figure, || hazard_figure(&study))?;
    let end = ready.show(&study, |style| hazard_text(&study, style));
    Ok(end.if_closes(study.ground.working_area_holds != Some(false)))
}
