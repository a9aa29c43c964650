//! The feasible region as text: for each wind, the boundary and what binds there.

use beamstay_planner::region::{RegionLayer, RegionReport};
use beamstay_report::number::{significant, with_unit};

use super::{
    csv::{csv_text, number},
    table::{aligned, folded},
};

const WIDTH: usize = 79;

/// The boundary of every layer.
pub fn region_text(report: &RegionReport) -> String {
    let mut parts = vec![folded(&report.provenance.title, WIDTH, "  ")];
    let chosen = match report.station.len() {
        0 => "nothing chosen anew".to_owned(),
        _ => format!("chosen anew at every place: {}", report.station.join(", ")),
    };
    parts.push(folded(
        &format!("Where the plan closes over {} and {}; {chosen}", report.x.pointer, report.y.pointer),
        WIDTH,
        "  ",
    ));
    parts.extend(report.layers.iter().map(|layer| layer_text(report, layer)));
    parts.push(format!(
        "{} points computed; scenario {}, beamstay {}; planning figures only",
        report.evaluations_count, report.provenance.digest, report.provenance.version
    ));
    parts.join("\n\n")
}

fn layer_text(report: &RegionReport, layer: &RegionLayer) -> String {
    let key = |pointer: &str| pointer.rsplit('/').next().unwrap_or(pointer).to_owned();
    let at = with_unit(&significant(layer.value, 4), &report.layer.unit);
    let closing = layer.cells.iter().filter(|cell| cell.feasible).count();
    let head =
        format!("{} {at}: {closing} of {} places close", key(&report.layer.pointer), layer.cells.len());
    if layer.boundary.is_empty() {
        return head;
    }
    let named = |pointer: &str, unit: &str| match unit {
        "" => key(pointer),
        _ => format!("{}, {unit}", key(pointer)),
    };
    let rows = layer
        .boundary
        .iter()
        .map(|point| {
            vec![
                significant(point.x, 4),
                if point.upper { "up to".into() } else { "from".into() },
                significant(point.y, 5),
                point.limit.map_or("-".into(), |code| code.words().name.to_owned()),
            ]
        })
        .collect();
    let (x, y) = (named(&report.x.pointer, &report.x.unit), named(&report.y.pointer, &report.y.unit));
    format!("{head}\n{}", aligned(&[&x, "closes", &y, "what binds there"], rows, &[1, 3]))
}

/// One line per place.
pub fn region_csv(report: &RegionReport) -> String {
    let header = [&report.layer.pointer, &report.x.pointer, &report.y.pointer]
        .into_iter()
        .cloned()
        .chain(["feasible", "margin_w", "margin_ratio", "tightest"].map(str::to_owned))
        .chain(report.station.iter().cloned());
    let rows_count = report.y.values.len();
    let rows = report.layers.iter().flat_map(|layer| {
        layer.cells.iter().enumerate().map(move |(index, cell)| {
            let place =
                [layer.value, report.x.values[index / rows_count], report.y.values[index % rows_count]];
            let found = [
                cell.feasible.to_string(),
                number(cell.margin_w),
                cell.margin_ratio.to_string(),
                cell.tightest.map_or(String::new(), |code| code.code()),
            ];
            let station = cell.station.iter().map(f64::to_string);
            place.iter().map(f64::to_string).chain(found).chain(station).collect()
        })
    });
    csv_text(header, rows)
}
