//! Studies: what takes more than one operating point.

use std::path::Path;

use beamstay_planner::{
    Document, Loaded, PlanError,
    remedy::remedy as compute_remedy,
    risk::{RiskOptions, risk as compute_risk},
    study::Watch,
};
use beamstay_report::figure::{FigureError, risk::risk_figure};
use serde::Serialize;

use super::{End, failed, print, print_json, refuse, tell};
use crate::{
    args::{Format, RiskArguments, StudyArguments},
    input::read_scenario,
    messages::wants_colour,
    output::write_whole,
    progress::Progress,
    text::{point::Style, remedy::remedy_text, risk::risk_text},
};

/// What would close the plan.
pub fn remedy(arguments: &StudyArguments) -> End {
    match study(arguments, compute_remedy) {
        Ok(report) if report.closes => show(arguments, &report, remedy_text),
        Ok(report) => show(arguments, &report, remedy_text).or(End::NotFeasible),
        Err(end) => end,
    }
}

/// How sure the plan is.
pub fn risk(arguments: &RiskArguments) -> End {
    let options =
        RiskOptions { draws_count: arguments.draws, samples_count: arguments.samples, seed: arguments.seed };
    match study(&arguments.study, |document, loaded, watch| compute_risk(document, loaded, &options, watch)) {
        Ok(report) => {
            if let Some(file) = &arguments.plot
                && let Err(message) = draw(file, risk_figure(&report))
            {
                return failed(arguments.study.scenario.format, &message);
            }
            show(&arguments.study, &report, risk_text)
        }
        Err(end) => end,
    }
}

/// Writes a figure whole or not at all.
pub fn draw(file: &str, figure: Result<String, FigureError>) -> Result<(), String> {
    let svg = figure.map_err(|error| error.to_string())?;
    write_whole(Path::new(file), &svg).map_err(|error| format!("{file} cannot be written: {error}"))
}

/// Reads the scenario and computes, on as many threads as were asked for; what goes wrong is told.
pub fn study<R: Send>(
    arguments: &StudyArguments,
    compute: impl FnOnce(&Document, &Loaded, Watch<'_>) -> Result<R, PlanError> + Send,
) -> Result<R, End> {
    let inner = &arguments.scenario;
    let (source, document, loaded) =
        read_scenario(&inner.file, &inner.assignments).map_err(|failure| refuse(inner.format, &failure))?;
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(arguments.threads.map_or(0, usize::from))
        .build()
        .map_err(|error| failed(inner.format, &format!("the threads cannot be started: {error}")))?;
    let progress = Progress::new();
    let result = pool.install(|| compute(&document, &loaded, &|done, all| progress.tell(done, all)));
    drop(progress);
    result.map_err(|error| tell(inner.format, source, &document, error))
}

/// Prints a result as text or as JSON.
pub fn show<R: Serialize>(arguments: &StudyArguments, result: &R, text: impl Fn(&R, Style) -> String) -> End {
    match arguments.scenario.format {
        Format::Json => match serde_json::to_value(result) {
            Ok(value) => print_json(&value),
            Err(error) => failed(Format::Json, &error.to_string()),
        },
        Format::Text => print(&text(result, Style { colour: wants_colour(&std::io::stdout()) })),
    }
}
