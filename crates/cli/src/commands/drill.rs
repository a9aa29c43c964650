//! `beamstay lightloss` and `compare`.

use std::path::Path;

use beamstay_planner::{Document, Loaded, PlanError, compare::compare_report, lightloss::light_loss_report};
use beamstay_report::figure::{FigureError, compare::compare_figure, lightloss::light_loss_figure};
use serde::Serialize;

use super::{End, failed, print, print_json, refuse};
use crate::{
    args::{CompareArguments, Format, PartArguments, PlotArguments},
    input::{Source, read_scenario},
    messages::{Failure, wants_colour},
    output::write_whole,
    text::{compare, lightloss, point::Style},
};

/// The drill for the loss of light.
pub fn light_loss(arguments: &PlotArguments) -> End {
    let inner = &arguments.scenario;
    let (source, document, loaded) = match read(inner) {
        Ok(read) => read,
        Err(end) => return end,
    };
    let report = match light_loss_report(&document, &loaded) {
        Ok(report) => report,
        Err(error) => return refuse_plan(inner.format, source, &document, error),
    };
    if let Some(end) = write_figure(inner.format, arguments.plot.as_deref(), || light_loss_figure(&report)) {
        return end;
    }
    let end = answer(inner.format, &report, |style| lightloss::render(&report, style));
    if end == End::Done && !report.safe { End::NotFeasible } else { end }
}

/// The ways of the power side by side.
pub fn compare(arguments: &CompareArguments) -> End {
    let inner = &arguments.plot.scenario;
    let (source, document, loaded) = match read(inner) {
        Ok(read) => read,
        Err(end) => return end,
    };
    let report = match compare_report(&document, &loaded, arguments.mission_h) {
        Ok(report) => report,
        Err(error) => return refuse_plan(inner.format, source, &document, error),
    };
    if let Some(end) = write_figure(inner.format, arguments.plot.plot.as_deref(), || compare_figure(&report))
    {
        return end;
    }
    let end = answer(inner.format, &report, |style| compare::render(&report, style));
    let none = report.alternatives.iter().all(|way| !way.feasible);
    if end == End::Done && none { End::NotFeasible } else { end }
}

/// Reads the scenario of a study.
pub fn read(arguments: &PartArguments) -> Result<(Source, Document, Loaded), End> {
    read_scenario(&arguments.file, &arguments.assignments)
        .map_err(|failure| refuse(arguments.format, &failure))
}

/// Tells why a plan cannot be computed.
pub fn refuse_plan(format: Format, source: Source, document: &Document, error: PlanError) -> End {
    match error {
        PlanError::Refused(mut fault) => {
            fault.span = document
                .span(&fault.pointer)
                .map(|span| if fault.pointer.is_empty() { span.start..span.start + 1 } else { span });
            refuse(format, &Failure::Faults(source, vec![*fault]))
        }
        other => failed(format, &other.to_string()),
    }
}

/// Writes a figure where one is wanted; how it ended if it could not be written.
pub fn write_figure(
    format: Format,
    file: Option<&str>,
    figure: impl FnOnce() -> Result<String, FigureError>,
) -> Option<End> {
    let file = file?;
    match figure() {
        Ok(svg) => write_whole(Path::new(file), &svg)
            .err()
            .map(|error| failed(format, &format!("{file} cannot be written: {error}"))),
        Err(error) => Some(failed(format, &error.to_string())),
    }
}

/// Prints a result in the form that is wanted.
pub fn answer(format: Format, result: &impl Serialize, text: impl FnOnce(Style) -> String) -> End {
    match format {
        Format::Json => match serde_json::to_value(result) {
            Ok(value) => print_json(&value),
            Err(error) => failed(format, &error.to_string()),
        },
        Format::Text => print(&text(Style { colour: wants_colour(&std::io::stdout()) })),
    }
}
