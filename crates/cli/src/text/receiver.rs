//! The receiver's mass against its power, as text and as a table for other programs.

use beamstay_planner::receiver::{MovedBest, ReceiverPoint, ReceiverTrade};
use beamstay_report::number::{quantity, significant};

use super::{
    csv::{csv_text, number},
    point::{Style, section},
    table::{aligned, folded},
};

const WIDTH: usize = 79;

/// The whole screen.
pub fn receiver_text(trade: &ReceiverTrade, style: Style) -> String {
    let mut parts = vec![head(trade, style)];
    parts.push(section(style, "The best receiver of each mass", curve(trade)));
    parts.push(section(style, "The best for other lasers", moved(&trade.by_laser)));
    parts.push(section(style, "The best at other heights", moved(&trade.by_height)));
    let note = "Cells, aperture, optics, housing and the width of the heat sink grow together; the fins' height is chosen for the most net \
                power; the converter is rated for what is delivered; \"dimmed\": the laser must stay below its rating for the cells' sake. `--format json` holds the best receiver as it stands in a scenario.";
    parts.push(format!("  {}", folded(note, WIDTH - 2, "  ")));
    let provenance = &trade.provenance;
    parts.push(format!("scenario {}   beamstay {}", provenance.digest, provenance.version));
    parts.join("\n\n")
}

fn head(trade: &ReceiverTrade, style: Style) -> String {
    let line = |point: &ReceiverPoint| {
        format!(
            "{} delivers {}, carrying it costs {}, net {}, margin {}",
            quantity(point.mass_kg, "kg"),
            quantity(point.delivered_w, "W"),
            quantity(point.carrying_w, "W"),
            quantity(point.net_w, "W"),
            quantity(point.margin_w, "W")
        )
    };
    let mut lines = vec![folded(&trade.provenance.title, WIDTH, "")];
    lines.push(folded(&format!("{} {}", style.heading("BEST"), line(&trade.best)), WIDTH, "  "));
    if trade.best_on_edge {
        lines.push("  the best lies on the end of the masses that were looked at".into());
    }
    if let Some(stated) = &trade.stated {
        lines.push(folded(&format!("As stated {}", line(stated)), WIDTH, "  "));
    }
    lines.join("\n")
}

fn curve(trade: &ReceiverTrade) -> String {
    let rows = trade
        .curve
        .iter()
        .map(|p| {
            vec![
                significant(p.mass_kg, 3),
                significant(p.delivered_w, 4),
                significant(p.carrying_w, 3),
                significant(p.net_w, 4),
                p.marginal_w_per_g.map_or(String::new(), |m| significant(m, 2)),
                significant(p.cells_area_cm2, 3),
                format!("{} × {}", p.fins_count, significant(p.fin_height_mm, 3)),
                significant(p.converter_rated_w, 3),
                significant(p.cell_temp_c, 3),
                if p.dimmed_for_heat { "dimmed".to_owned() } else { String::new() },
            ]
        })
        .collect();
    let header =
        ["kg", "gives W", "costs W", "net W", "W/g", "cells cm²", "fins × mm", "converter W", "cells °C", ""];
    aligned(&header, rows, &[9])
}

fn moved(rows: &[MovedBest]) -> String {
    let rows = rows
        .iter()
        .map(|row| {
            let of = |value: Option<f64>| value.map_or("no balance".into(), |v| significant(v, 4));
            vec![
                significant(row.laser_rated_w, 4),
                significant(row.height_m, 4),
                of(row.best.map(|b| b.mass_kg)),
                of(row.best.map(|b| b.delivered_w)),
                of(row.best.map(|b| b.net_w)),
                of(row.best.map(|b| b.margin_w)),
            ]
        })
        .collect();
    aligned(&["laser W", "height m", "best kg", "gives W", "net W", "margin W"], rows, &[])
}

/// The curve as CSV (RFC 4180).
pub fn receiver_csv(trade: &ReceiverTrade) -> String {
    let header = [
        "mass_kg",
        "delivered_w",
        "carrying_w",
        "net_w",
        "margin_w",
        "marginal_w_per_g",
        "cells_area_cm2",
        "aperture_m2",
        "fins_count",
        "fin_height_mm",
        "converter_rated_w",
        "cell_temp_c",
        "dimmed_for_heat",
    ];
    let rows = trade.curve.iter().map(|p| {
        vec![
            p.mass_kg.to_string(),
            p.delivered_w.to_string(),
            p.carrying_w.to_string(),
            p.net_w.to_string(),
            p.margin_w.to_string(),
            number(p.marginal_w_per_g),
            p.cells_area_cm2.to_string(),
            number(p.aperture_m2),
            p.fins_count.to_string(),
            p.fin_height_mm.to_string(),
            p.converter_rated_w.to_string(),
            p.cell_temp_c.to_string(),
            p.dimmed_for_heat.to_string(),
        ]
    });
    csv_text(header, rows)
}
