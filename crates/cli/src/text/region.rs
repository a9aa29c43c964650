//! The feasible region as text: for each wind, the boundary and what binds there.

use beamstay_planner::region::{RegionLayer, RegionReport};
use beamstay_report::number::{significant, with_unit};

use super::table::{aligned, folded};

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
