//! `beamstay region`.

use std::path::Path;

use beamstay_planner::region::{RegionQuestion, RegionReport, region};
use beamstay_report::figure::region::region_figure;

use super::{End, failed, print, print_json, ready::read};
use crate::{
    args::{RegionArguments, TableFormat},
    output::write_whole,
    text::region::region_text,
};

/// Maps and prints the feasible region.
pub fn run(arguments: &RegionArguments) -> End {
    let faults_as = arguments.format.of_faults();
    let ready = match read(&arguments.file, &arguments.assignments, faults_as) {
        Ok(ready) => ready,
        Err(end) => return end,
    };
    let (x, y) = (arguments.x.as_deref(), arguments.y.as_deref());
    let question = match RegionQuestion::parse(&ready.loaded, x, y, arguments.winds.as_deref()) {
        Ok(question) => question,
        Err(faults) => return ready.refuse(faults),
    };
    let report = match ready
        .compute(arguments.threads, |watch| region(&ready.document, &ready.loaded, &question, watch))
    {
        Ok(report) => report,
        Err(end) => return end,
    };
    if let Some(file) = &arguments.plot {
        let drawn = region_figure(&report).map_err(|error| error.to_string()).and_then(|svg| {
            write_whole(Path::new(file), &svg).map_err(|e| format!("{file} cannot be written: {e}"))
        });
        if let Err(message) = drawn {
            return failed(faults_as, &message);
        }
    }
    let end = match arguments.format {
        TableFormat::Text => print(&region_text(&report)),
        TableFormat::Json => match serde_json::to_value(&report) {
            Ok(value) => print_json(&value),
            Err(error) => failed(faults_as, &error.to_string()),
        },
        TableFormat::Csv => match csv(&report) {
            Ok(text) => print(&text),
            Err(error) => failed(faults_as, &error.to_string()),
        },
    };
    let any = report.layers.iter().any(|layer| layer.cells.iter().any(|cell| cell.feasible));
    if any { end } else { end.or(End::NotFeasible) }
}

/// One line per cell, a header line first, as RFC 4180 has it.
fn csv(report: &RegionReport) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let header = [&report.layer.pointer, &report.x.pointer, &report.y.pointer]
        .into_iter()
        .cloned()
        .chain(["feasible", "margin_w", "margin_ratio", "tightest"].map(str::to_owned))
        .chain(report.station.iter().cloned());
    writer.write_record(header)?;
    let rows = report.y.values.len();
    for layer in &report.layers {
        for (index, cell) in layer.cells.iter().enumerate() {
            let place = [layer.value, report.x.values[index / rows], report.y.values[index % rows]];
            let found = [
                cell.feasible.to_string(),
                cell.margin_w.map_or(String::new(), |w| w.to_string()),
                cell.margin_ratio.to_string(),
                cell.tightest.map_or(String::new(), |code| code.code()),
            ];
            let station = cell.station.iter().map(f64::to_string);
            writer.write_record(place.iter().map(f64::to_string).chain(found).chain(station))?;
        }
    }
    let bytes = writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
