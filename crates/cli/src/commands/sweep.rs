//! `beamstay sweep`.

use beamstay_planner::{
    Diagnostic, Fault,
    study::outputs,
    sweep::{SweepQuestion, sweep},
};
use beamstay_report::figure::sweep::sweep_figure;

use super::{End, print, ready::Ready};
use crate::{
    args::SweepArguments,
    text::{
        sweep::{sweep_csv, sweep_text},
        table::aligned,
    },
};

/// Computes and prints a sweep.
pub fn run(arguments: &SweepArguments) -> Result<End, End> {
    if arguments.outputs {
        return Ok(list());
    }
    let table = &arguments.table;
    let ready = Ready::read(&table.scenario, table.format)?;
    if !(1..=2).contains(&arguments.vary.len()) {
        let text = format!("{} times --vary", arguments.vary.len());
        return Err(ready.refuse(vec![Diagnostic::new("", Fault::BadSpan { text })]));
    }
    let question = SweepQuestion::parse(&ready.loaded, &arguments.vary, &arguments.show)
        .map_err(|faults| ready.refuse(faults))?;
    let report =
        ready.study(&table.threads, |document, loaded, watch| sweep(document, loaded, &question, watch))?;
    ready.draw(&table.figure, || sweep_figure(&report))?;
    Ok(ready.show_table(&report, |_| sweep_text(&report), || sweep_csv(&report)))
}

/// Every result by name.
fn list() -> End {
    let rows = outputs()
        .iter()
        .map(|output| vec![output.name.clone(), output.unit.to_owned(), output.meaning.clone()])
        .collect();
    print(&aligned(&["result", "unit", "what it is"], rows, &[0, 1, 2]))
}
