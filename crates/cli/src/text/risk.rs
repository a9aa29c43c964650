//! How sure a plan is, as text.

use beamstay_planner::risk::{Index, LimitShare, NumberShare, Percentile, RiskReport};
use beamstay_report::number::quantity;

use super::{
    point::{Style, WIDTH, section},
    table::{aligned, folded},
};

/// The whole screen.
pub fn risk_text(report: &RiskReport, style: Style) -> String {
    let mut parts = vec![verdict(report, style)];
    parts.push(section(style, "Margin of power", percentiles(&report.percentiles)));
    if report.limits.iter().any(|row| row.broken_count > 0) {
        parts.push(section(style, "Limits that break", limits(&report.limits)));
    }
    parts.push(section(
        style,
        "Uncertain numbers, the one that moves the margin most first",
        numbers(&report.numbers),
    ));
    if report.samples_count > 0 {
        parts.push(section(style, "Share of the spread that each causes, in percent", shares(report)));
    }
    parts.push(format!(
        "{} points computed, seed {}   scenario {}   beamstay {}",
        report.evaluations_count, report.seed, report.provenance.digest, report.provenance.version
    ));
    parts.join("\n\n")
}

fn verdict(report: &RiskReport, style: Style) -> String {
    let share = format!("{:.1} %", 100.0 * report.closes_ratio);
    let share = if report.closes_ratio >= 0.5 { style.good(&share) } else { style.bad(&share) };
    let text = format!(
        "Closes in {share} of {} draws (95 % interval {:.1} to {:.1} %). With the numbers as they stand it {}.",
        report.draws_count,
        100.0 * report.closes_low_ratio,
        100.0 * report.closes_high_ratio,
        if report.closes_as_stated { "closes" } else { "does not close" },
    );
    let mut lines = vec![folded(&report.provenance.title, WIDTH, ""), folded(&text, WIDTH, "  ")];
    if report.failed_count > 0 {
        lines.push(format!("{} draws could not be computed and count as not closing.", report.failed_count));
    }
    lines.join("\n")
}

fn percentiles(rows: &[Percentile]) -> String {
    let table = rows
        .iter()
        .map(|row| {
            let margin = row.margin_w.map_or_else(|| "no balance".to_owned(), |w| quantity(w, "W"));
            vec![format!("{} % of the draws have at most", row.share_percent), margin]
        })
        .collect();
    aligned(&[], table, &[0])
}

fn limits(rows: &[LimitShare]) -> String {
    let table = rows
        .iter()
        .filter(|row| row.broken_count > 0)
        .map(|row| {
            vec![
                row.limit.words().name.to_owned(),
                format!("{:.1} %", 100.0 * row.broken_ratio),
                format!("{:.1} to {:.1} %", 100.0 * row.broken_low_ratio, 100.0 * row.broken_high_ratio),
            ]
        })
        .collect();
    aligned(&["", "of the draws", "95 % interval"], table, &[0])
}

fn numbers(rows: &[NumberShare]) -> String {
    let table = rows
        .iter()
        .map(|row| {
            let value = |v: f64| quantity(v, &row.unit);
            vec![
                row.pointer.clone(),
                row.value.map_or_else(String::new, value),
                format!("{} to {}", value(row.low_value), value(row.high_value)),
            ]
        })
        .collect();
    aligned(&["", "stands at", "nine draws of ten"], table, &[0])
}

fn shares(report: &RiskReport) -> String {
    let cell = |index: &Option<Index>, read: fn(&Index) -> (f64, f64)| match index.as_ref().map(read) {
        Some((ratio, error)) => format!("{:.1} ± {:.1}", 100.0 * ratio, 100.0 * error),
        None => "none".to_owned(),
    };
    let alone = |i: &Index| (i.first_order_ratio, i.first_order_error_ratio);
    let with = |i: &Index| (i.total_ratio, i.total_error_ratio);
    let table = report
        .numbers
        .iter()
        .map(|row| {
            let key = row.pointer.rsplit('/').next().unwrap_or_default().to_owned();
            vec![key, cell(&row.of_margin, alone), cell(&row.of_margin, with), cell(&row.of_verdict, with)]
        })
        .collect();
    aligned(&["", "of margin, alone", "with others", "of verdict, with others"], table, &[0])
}
