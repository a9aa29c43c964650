//! `beamstay sweep`.

use std::path::Path;

use beamstay_planner::{
    Diagnostic, Fault,
    study::outputs,
    sweep::{SweepQuestion, SweepReport, sweep},
};
use beamstay_report::figure::sweep::sweep_figure;

use super::{End, failed, print, print_json, ready::read};
use crate::{
    args::{SweepArguments, TableFormat},
    output::write_whole,
    text::{sweep::sweep_text, table::aligned},
};

/// Computes and prints a sweep.
pub fn run(arguments: &SweepArguments) -> End {
    if arguments.outputs {
        return list();
    }
    let faults_as = arguments.format.of_faults();
    let ready = match read(&arguments.file, &arguments.assignments, faults_as) {
        Ok(ready) => ready,
        Err(end) => return end,
    };
    if !(1..=2).contains(&arguments.vary.len()) {
        let text = format!("{} times --vary", arguments.vary.len());
        return ready.refuse(vec![Diagnostic::new("", Fault::BadSpan { text })]);
    }
    let question = match SweepQuestion::parse(&ready.loaded, &arguments.vary, &arguments.show) {
        Ok(question) => question,
        Err(faults) => return ready.refuse(faults),
    };
    let report = match ready
        .compute(arguments.threads, |watch| sweep(&ready.document, &ready.loaded, &question, watch))
    {
        Ok(report) => report,
        Err(end) => return end,
    };
    if let Some(file) = &arguments.plot {
        let drawn = sweep_figure(&report).map_err(|error| error.to_string()).and_then(|svg| {
            write_whole(Path::new(file), &svg).map_err(|e| format!("{file} cannot be written: {e}"))
        });
        if let Err(message) = drawn {
            return failed(faults_as, &message);
        }
    }
    match arguments.format {
        TableFormat::Text => print(&sweep_text(&report)),
        TableFormat::Json => match serde_json::to_value(&report) {
            Ok(value) => print_json(&value),
            Err(error) => failed(faults_as, &error.to_string()),
        },
        TableFormat::Csv => match csv(&report) {
            Ok(text) => print(&text),
            Err(error) => failed(faults_as, &error.to_string()),
        },
    }
}

/// Every result by name.
fn list() -> End {
    let rows = outputs()
        .iter()
        .map(|output| vec![output.name.clone(), output.unit.to_owned(), output.meaning.clone()])
        .collect();
    print(&aligned(&["result", "unit", "what it is"], rows, &[0, 1, 2]))
}

/// One line per point, a header line first, as RFC 4180 has it.
fn csv(report: &SweepReport) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let header = report
        .inputs
        .iter()
        .map(|i| i.pointer.clone())
        .chain(report.outputs.iter().map(|o| o.name.clone()))
        .chain(["feasible", "tightest", "error"].map(str::to_owned));
    writer.write_record(header)?;
    for row in &report.rows {
        let numbers = row.inputs.iter().map(f64::to_string);
        let results = row.outputs.iter().map(|o| o.map_or(String::new(), |v| v.to_string()));
        let words = [
            row.feasible.to_string(),
            row.tightest.map_or(String::new(), |code| code.code()),
            row.error.clone().unwrap_or_default(),
        ];
        writer.write_record(numbers.chain(results).chain(words))?;
    }
    let bytes = writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
