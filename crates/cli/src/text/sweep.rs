//! A sweep as text.

use beamstay_planner::sweep::SweepReport;
use beamstay_report::number::significant;

use super::{
    csv::{csv_text, number},
    table::{aligned, folded},
};

/// One line per point.
pub fn sweep_text(report: &SweepReport) -> String {
    let named = |name: &str, unit: &str| match unit {
        "" => name.to_owned(),
        _ => format!("{name}, {unit}"),
    };
    let header: Vec<String> = report
        .inputs
        .iter()
        .map(|i| named(i.pointer.rsplit('/').next().unwrap_or(&i.pointer), &i.unit))
        .chain(report.outputs.iter().map(|o| named(&o.name, o.unit)))
        .chain(["closes".to_owned(), "tightest limit".to_owned()])
        .collect();
    let rows = report
        .rows
        .iter()
        .map(|row| {
            row.inputs
                .iter()
                .map(|v| significant(*v, 4))
                .chain(row.outputs.iter().map(|o| o.map_or("-".into(), |v| significant(v, 4))))
                .chain([
                    if row.feasible { "yes".into() } else { "no".into() },
                    match (&row.error, row.tightest) {
                        (Some(error), _) => error.clone(),
                        (None, Some(code)) => code.words().name.to_owned(),
                        (None, None) => String::new(),
                    },
                ])
                .collect()
        })
        .collect();
    let header: Vec<&str> = header.iter().map(String::as_str).collect();
    let last = header.len() - 1;
    let varied = report
        .inputs
        .iter()
        .map(|i| format!("{}, {} values", i.pointer, i.values.len()))
        .collect::<Vec<_>>()
        .join("; ");
    format!(
        "{}\n{}\n\n{}\n\nscenario {}, beamstay {}; planning figures only",
        folded(&report.provenance.title, 80, "  "),
        folded(&varied, 80, "  "),
        aligned(&header, rows, &[last - 1, last]),
        report.provenance.digest,
        report.provenance.version
    )
}

/// One line per point.
pub fn sweep_csv(report: &SweepReport) -> String {
    let header = report
        .inputs
        .iter()
        .map(|input| input.pointer.clone())
        .chain(report.outputs.iter().map(|output| output.name.clone()))
        .chain(["feasible", "tightest", "error"].map(str::to_owned));
    let rows = report.rows.iter().map(|row| {
        let words = [
            row.feasible.to_string(),
            row.tightest.map_or(String::new(), |code| code.code()),
            row.error.clone().unwrap_or_default(),
        ];
        let inputs = row.inputs.iter().map(f64::to_string);
        inputs.chain(row.outputs.iter().map(|value| number(*value))).chain(words).collect()
    });
    csv_text(header, rows)
}
