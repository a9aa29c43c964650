//! `beamstay report`: one folder with the page, its figures, its tables and everything as JSON.

use std::path::Path;

use beamstay_planner::{
    Document, HazardStudy, Loaded, PlanError, PointReport, TetherCurve, WeatherSeries,
    compare::{CompareReport, compare_report},
    endurance::{EnduranceReport, endurance_report},
    hazard_study,
    lightloss::{LightLossReport, light_loss_report},
    margin_grid::{MarginGrid, margin_grid},
    point_report,
    receiver::{ReceiverTrade, receiver_curve},
    region::{RegionQuestion, RegionReport, region},
    remedy::{RemedyReport, remedy},
    risk::{RiskOptions, RiskReport, risk},
    study::Watch,
    tether_curves,
};
use beamstay_report::{chapter, content::Chapter, figure::FigureError, page::page};
use serde::Serialize;

use super::{End, print, ready::Ready, weather::weather};
use crate::{
    args::ReportArguments,
    output::{Folder, write_folder},
};

/// Draws for the probability in a report: its interval is stated beside it.
const DRAWS_COUNT: u32 = 512;
/// Base samples for the sensitivities in a report: their errors are stated beside them.
const SAMPLES_COUNT: u32 = 128;
/// Heights and payloads of the region in a report; the boundary does not depend on how many there are.
const REGION_COUNTS: (usize, usize) = (6, 5);
/// How long the mission of the comparison lasts, h.
const MISSION_H: f64 = 8.0;

/// Everything that a report is made of. What a scenario does not allow is absent, with the reason.
#[derive(Debug, Serialize)]
struct Results {
    point: PointReport,
    remedy: RemedyReport,
    receiver: Option<ReceiverTrade>,
    risk: Option<RiskReport>,
    region: Option<RegionReport>,
    endurance: Option<EnduranceReport>,
    light_loss: Option<LightLossReport>,
    compare: Option<CompareReport>,
    hazard: Option<HazardStudy>,
    grid: Option<MarginGrid>,
    left_out: Vec<String>,
    #[serde(skip)]
    curves: Option<(TetherCurve, TetherCurve)>,
}

/// Computes and writes the report.
pub fn run(arguments: &ReportArguments) -> Result<End, End> {
    let part = &arguments.study.part;
    let ready = Ready::read(&part.scenario, part.format)?;
    let series = weather(&ready, &arguments.weather)?;
    let results = ready.study(&arguments.study.threads, |document, loaded, watch| {
        compute(document, loaded, series.as_ref(), watch)
    })?;
    let folder = folder(&results).map_err(|error| ready.fail(&error))?;
    let place = Path::new(&arguments.output);
    write_folder(place, &folder)
        .map_err(|error| ready.fail(&format!("{} cannot be written: {error}", arguments.output)))?;
    let end = print(&place.join("report.html").display().to_string());
    Ok(end.if_closes(results.point.point.feasible))
}

/// Keeps a part that the scenario allows; of one that it does not, the reason.
fn part<T>(
    name: &str,
    result: Result<T, PlanError>,
    left_out: &mut Vec<String>,
) -> Result<Option<T>, PlanError> {
    match result {
        Ok(part) => Ok(Some(part)),
        Err(PlanError::Refused(fault)) => {
            left_out.push(format!("{name}: {fault}"));
            Ok(None)
        }
        Err(other) => Err(other),
    }
}

fn compute(
    document: &Document,
    loaded: &Loaded,
    series: Option<&WeatherSeries>,
    watch: Watch<'_>,
) -> Result<Results, PlanError> {
    let point = point_report(document, loaded)?;
    let curves = tether_curves(loaded)?;
    let quiet: Watch<'_> = &|_, _| {};
    let options = RiskOptions { draws_count: DRAWS_COUNT, samples_count: SAMPLES_COUNT, seed: 1 };
    // The map takes longest: all others fill the gaps that its columns leave.
    let (mapped, ((remedy, risk), (receiver, grid))) = rayon::join(
        || mapped(document, loaded, watch),
        || {
            rayon::join(
                || {
                    rayon::join(
                        || remedy(document, loaded, quiet),
                        || risk(document, loaded, &options, quiet),
                    )
                },
                || rayon::join(|| receiver_curve(document, loaded), || margin_grid(document, loaded)),
            )
        },
    );
    let mut left_out = Vec::new();
    Ok(Results {
        receiver: part("How heavy a receiver", receiver, &mut left_out)?,
        risk: part("How sure", risk, &mut left_out)?,
        region: part("Where it closes", mapped, &mut left_out)?,
        endurance: part("How long", endurance_report(document, loaded, series), &mut left_out)?,
        light_loss: part("When the light is lost", light_loss_report(document, loaded), &mut left_out)?,
        compare: part("Alternatives", compare_report(document, loaded, MISSION_H), &mut left_out)?,
        hazard: part("Hazard of the light", hazard_study(document, loaded), &mut left_out)?,
        grid: grid?,
        point,
        remedy: remedy?,
        left_out,
        curves,
    })
}

fn mapped(document: &Document, loaded: &Loaded, watch: Watch<'_>) -> Result<RegionReport, PlanError> {
    let question = RegionQuestion::coarse(loaded, REGION_COUNTS.0, REGION_COUNTS.1)
        .map_err(|mut faults| PlanError::Refused(Box::new(faults.swap_remove(0))))?;
    region(document, loaded, &question, watch)
}

/// The chapters, in the order in which they are read.
fn chapters(results: &Results) -> Result<Vec<Chapter>, FigureError> {
    let mut chapters = vec![chapter::why(&results.point, results.curves.as_ref())?];
    chapters.push(chapter::change(&results.remedy));
    chapters.extend(results.receiver.as_ref().map(chapter::receiver).transpose()?);
    chapters.extend(results.region.as_ref().map(chapter::region).transpose()?);
    chapters.extend(results.risk.as_ref().map(chapter::sure).transpose()?);
    chapters.extend(results.endurance.as_ref().map(chapter::endurance).transpose()?);
    chapters.extend(results.light_loss.as_ref().map(chapter::light_loss).transpose()?);
    chapters.extend(results.compare.as_ref().map(chapter::alternatives).transpose()?);
    chapters.extend(results.hazard.as_ref().map(chapter::hazard).transpose()?);
    chapters.push(chapter::method(&results.point, &results.left_out));
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
