//! `beamstay endurance`.

use beamstay_planner::endurance::endurance_report;
use beamstay_report::figure::endurance::endurance_figure;

use super::{End, ready::Ready, weather::weather};
use crate::{
    args::EnduranceArguments,
    text::endurance::{hours_csv, render},
};

/// Flies the plan through its weather.
pub fn run(arguments: &EnduranceArguments) -> Result<End, End> {
    let table = &arguments.table;
    let ready = Ready::read(&table.scenario, table.format)?;
    let series = weather(&ready, &arguments.weather)?;
    let report = ready
        .study(&table.threads, |document, loaded, _| endurance_report(document, loaded, series.as_ref()))?;
    ready.draw(&table.figure, || endurance_figure(&report))?;
    let end = ready.show_table(&report, |style| render(&report, style), || hours_csv(&report));
    Ok(end.if_closes(report.flies()))
}
