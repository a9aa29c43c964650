//! `beamstay region`.

use beamstay_planner::region::{RegionQuestion, region};
use beamstay_report::figure::region::region_figure;

use super::{End, ready::Ready};
use crate::{
    args::RegionArguments,
    text::region::{region_csv, region_text},
};

/// Maps and prints the feasible region.
pub fn run(arguments: &RegionArguments) -> Result<End, End> {
    let table = &arguments.table;
    let ready = Ready::read(&table.scenario, table.format)?;
    let (x, y) = (arguments.x.as_deref(), arguments.y.as_deref());
    let question = RegionQuestion::parse(&ready.loaded, x, y, arguments.winds.as_deref())
        .map_err(|faults| ready.refuse(faults))?;
    let report =
        ready.study(&table.threads, |document, loaded, watch| region(document, loaded, &question, watch))?;
    ready.draw(&table.figure, || region_figure(&report))?;
    let any = report.layers.iter().any(|layer| layer.cells.iter().any(|cell| cell.feasible));
    let end = ready.show_table(&report, |_| region_text(&report), || region_csv(&report));
    Ok(end.if_closes(any))
}
