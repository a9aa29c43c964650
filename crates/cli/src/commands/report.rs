//! `beamstay report`: one folder with the page, its figures, its tables and everything as JSON.

use std::path::Path;

use beamstay_planner::{
    Document, Loaded, PlanError, PointReport, TetherCurve,
    margin_grid::{MarginGrid, margin_grid},
    point_report,
    remedy::{RemedyReport, remedy},
    risk::{RiskOptions, RiskReport, risk},
    study::Watch,
    tether_curves,
};
use beamstay_report::{
    chapter::{change, method, sure, why},
    content::Chapter,
    figure::FigureError,
    page::page,
};
use serde::Serialize;

use super::{End, failed, print, study::study};
use crate::{
    args::ReportArguments,
    output::{Folder, write_folder},
};

/// Draws for the probability in a report.
const DRAWS_COUNT: u32 = 2048;
/// Base samples for the sensitivities in a report.
const SAMPLES_COUNT: u32 = 512;

/// Everything that a report is made of.
#[derive(Debug, Serialize)]
struct Results {
    point: PointReport,
    remedy: RemedyReport,
    #[serde(skip_serializing_if = "Option::is_none")]
    risk: Option<RiskReport>,
    #[serde(skip_serializing_if = "Option::is_none")]
    grid: Option<MarginGrid>,
    #[serde(skip)]
    curves: Option<(TetherCurve, TetherCurve)>,
}

/// Computes and writes the report.
pub fn run(arguments: &ReportArguments) -> End {
    let format = arguments.study.scenario.format;
    let results = match study(&arguments.study, compute) {
        Ok(results) => results,
        Err(end) => return end,
    };
    let folder = match folder(&results) {
        Ok(folder) => folder,
        Err(error) => return failed(format, &error),
    };
    let place = Path::new(&arguments.output);
    if let Err(error) = write_folder(place, &folder) {
        return failed(format, &format!("{} cannot be written: {error}", arguments.output));
    }
    let end = print(&format!("{}", place.join("report.html").display()));
    if results.point.point.feasible { end } else { end.or(End::NotFeasible) }
}

fn compute(document: &Document, loaded: &Loaded, watch: Watch<'_>) -> Result<Results, PlanError> {
    let point = point_report(document, loaded)?;
    let curves = tether_curves(loaded)?;
    let remedy = remedy(document, loaded, watch)?;
    let options = RiskOptions { draws_count: DRAWS_COUNT, samples_count: SAMPLES_COUNT, seed: 1 };
    let risk = match loaded.scenario.uncertainty {
        Some(_) => Some(risk(document, loaded, &options, watch)?),
        None => None,
    };
    let grid = margin_grid(document, loaded)?;
    Ok(Results { point, remedy, risk, grid, curves })
}

/// The chapters, in the order in which they are read.
fn chapters(results: &Results) -> Result<Vec<Chapter>, FigureError> {
    let mut chapters = vec![why(&results.point, results.curves.as_ref())?, change(&results.remedy)];
    chapters.extend(results.risk.as_ref().map(sure));
    chapters.push(method(&results.point));
    Ok(chapters)
}

/// Every file of the report.
fn folder(results: &Results) -> Result<Folder, String> {
    let chapters = chapters(results).map_err(|error| error.to_string())?;
    let mut folder = Folder::default();
    folder.add("report.html", page(&results.point, results.grid.as_ref(), &chapters));
    folder.add("report.json", serde_json::to_string_pretty(results).map_err(|error| error.to_string())?);
    for chapter in &chapters {
        for figure in chapter.figures() {
            folder.add(&format!("{}.svg", figure.stem), figure.svg.clone());
        }
        for table in chapter.tables() {
            folder.add(&format!("{}.csv", table.stem), table.csv());
        }
    }
    Ok(folder)
}
