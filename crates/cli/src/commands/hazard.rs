//! `beamstay hazard`.

use std::path::Path;

use beamstay_planner::{HazardStudy, PlanError, hazard_study};
use beamstay_report::figure::hazard::hazard_figure;

use super::{End, failed, print, print_json, refuse};
use crate::{
    args::{Format, HazardArguments},
    input::read_scenario,
    messages::{Failure, wants_colour},
    output::write_whole,
    text::{hazard::hazard_text, point::Style},
};

/// Computes, draws and prints the hazard. A working area that does not hold it is told by the exit code.
pub fn run(arguments: &HazardArguments) -> End {
    let format = arguments.scenario.format;
    let study = match compute(arguments) {
        Ok(study) => study,
        Err(end) => return end,
    };
    if let Some(file) = &arguments.plot {
        let written = hazard_figure(&study).map_err(|e| e.to_string()).and_then(|svg| {
            write_whole(Path::new(file), &svg).map_err(|e| format!("{file} cannot be written: {e}"))
        });
        if let Err(message) = written {
            return failed(format, &message);
        }
    }
    let end = match format {
        Format::Json => match serde_json::to_value(&study) {
            Ok(value) => print_json(&value),
            Err(error) => failed(format, &error.to_string()),
        },
        Format::Text => print(&hazard_text(&study, Style { colour: wants_colour(&std::io::stdout()) })),
    };
    if end == End::Done && study.ground.working_area_holds == Some(false) { End::NotFeasible } else { end }
}

fn compute(arguments: &HazardArguments) -> Result<HazardStudy, End> {
    let scenario = &arguments.scenario;
    let (source, document, loaded) = read_scenario(&scenario.file, &scenario.assignments)
        .map_err(|failure| refuse(scenario.format, &failure))?;
    hazard_study(&document, &loaded).map_err(|error| match error {
        PlanError::Refused(mut fault) => {
            fault.span = document.span(&fault.pointer);
            refuse(scenario.format, &Failure::Faults(source, vec![*fault]))
        }
        other => failed(scenario.format, &other.to_string()),
    })
}
