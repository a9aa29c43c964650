//! The ways of the power side by side, as text.

use beamstay_planner::compare::{Alternative, CompareReport, Kind};
use beamstay_report::number::{quantity, significant};

use super::{
    point::{Style, cautions, section},
    table::{aligned, folded},
};

const WIDTH: usize = 79;

/// The whole screen.
pub fn render(report: &CompareReport, style: Style) -> String {
    let mut parts = vec![head(report, style)];
    parts.push(section(style, "Side by side", table(report, style)));
    parts.push(section(style, "Copper, sized for it", copper(report)));
    parts.push(section(style, "What each endangers", hazards(report)));
    parts.push(section(style, "Least mass on the aircraft, by height and payload power", map(report, true)));
    parts.push(section(style, "Least power from the wall", map(report, false)));
    parts.push(section(style, "Cautions", cautions(&report.cautions)));
    parts.push(format!("scenario {}   beamstay {}", report.digest, report.version));
    parts.join("\n\n")
}

fn head(report: &CompareReport, style: Style) -> String {
    let best = |value: fn(&Alternative) -> f64| {
        report
            .alternatives
            .iter()
            .filter(|way| way.feasible && lasts(way, report.mission_h))
            .min_by(|a, b| value(a).total_cmp(&value(b)))
    };
    let line = match (best(Alternative::lifted_kg), best(|way| way.wall_w)) {
        (Some(mass), Some(wall)) => format!(
            "Least mass on the aircraft: {} ({}). Least from the wall: {} ({}).",
            style.heading(mass.kind.words()),
            quantity(mass.lifted_kg(), "kg"),
            style.heading(wall.kind.words()),
            quantity(wall.wall_w, "W")
        ),
        _ => style.bad("NO WAY HOLDS THIS AIRCRAFT WITH THIS PAYLOAD AT THIS HEIGHT"),
    };
    let frame = format!(
        "{} over ground; {} without any source; payload {}; mission {}",
        quantity(report.height_m, "m"),
        quantity(report.bare_mass_kg, "kg"),
        quantity(report.payload_w, "W"),
        quantity(report.mission_h, "h")
    );
    format!("{}\n{}\n{frame}", folded(&report.title, WIDTH, ""), folded(&line, WIDTH + 16, "  "))
}

fn lasts(way: &Alternative, mission_h: f64) -> bool {
    way.endurance_min.is_none_or(|minutes| minutes >= 60.0 * mission_h)
}

fn table(report: &CompareReport, style: Style) -> String {
    let row = |name: &str, value: &dyn Fn(&Alternative) -> String| {
        let mut cells = vec![name.to_owned()];
        cells.extend(report.alternatives.iter().map(value));
        cells
    };
    let rows = vec![
        row("holds", &|way| if way.feasible { "yes".into() } else { style.bad("NO") }),
        row("source on board, kg", &|way| significant(way.source_mass_kg, 3)),
        row("hanging line, kg", &|way| significant(way.line_mass_kg, 3)),
        row("both, kg", &|way| significant(way.lifted_kg(), 3)),
        row("line, mm", &|way| significant(1e3 * way.line_diameter_m, 3)),
        row("drawn from the bus, W", &|way| significant(way.demand_w, 3)),
        row("drawn from the wall, W", &|way| significant(way.wall_w, 3)),
        row("bus over wall, %", &|way| significant(100.0 * way.efficiency_ratio, 3)),
        row("thrust reserve in the gust", &|way| significant(way.thrust_reserve_ratio, 3)),
        row("height limit, m", &|way| way.height_limit_m.map_or("none".into(), |h| significant(h, 3))),
        row("stays up", &|way| way.endurance_min.map_or("with supply".into(), |m| quantity(m, "min"))),
    ];
    let mut header = vec![""];
    header.extend(report.alternatives.iter().map(|way| way.kind.words()));
    let mut text = aligned(&header, rows, &[0]);
    for way in &report.alternatives {
        let reason =
            if way.reason.is_empty() { String::new() } else { format!("; does not hold: {}", way.reason) };
        let line = format!(
            "{}: {}{reason}; height limited by {}.",
            way.kind.words(),
            way.parts,
            way.height_limited_by
        );
        text.push_str(&format!("\n  {}", folded(&line, WIDTH - 2, "    ")));
    }
    text
}

fn copper(report: &CompareReport) -> String {
    let Some(line) = report.alternatives.iter().find_map(|way| way.copper) else {
        return "  no copper line holds".into();
    };
    let pair = |name: &str, value: String| vec![name.to_owned(), value];
    let rows = vec![
        pair("voltage at the ground", quantity(line.voltage_v, "V")),
        pair("what stops the voltage", line.voltage_bound.unwrap_or("nothing: lightest line").into()),
        pair("each conductor", quantity(line.conductor_area_mm2, "mm²")),
        pair("what sets the conductor", line.conductor_bound.into()),
        pair("wall of insulation", quantity(line.wall_mm, "mm")),
        pair("wires with insulation", quantity(1e3 * line.wires_kg_per_m, "g/m")),
        pair("strength member", quantity(1e3 * line.strength_kg_per_m, "g/m")),
        pair("heat of the whole line", quantity(line.loss_w, "W")),
        pair("rise of the hottest wire, all on the drum", quantity(line.drum_rise_k, "K")),
    ];
    let table = aligned(&[], rows, &[0]);
    let note = "At a fixed voltage the copper has no optimum inside: the constraint named above sets it.";
    format!("{table}\n  {}", folded(note, WIDTH - 2, "  "))
}

fn hazards(report: &CompareReport) -> String {
    let mut lines = Vec::new();
    for way in &report.alternatives {
        for hazard in way.hazards {
            let line = format!("{}: {hazard}", way.kind.words());
            lines.push(format!("  {}", folded(&line, WIDTH - 2, "    ")));
        }
    }
    lines.join("\n")
}

/// One letter and, behind it, by what factor the first leads.
fn map(report: &CompareReport, by_mass: bool) -> String {
    let map = &report.map;
    let letter = |kind: Option<Kind>| match kind {
        Some(Kind::Fiber) => "F",
        Some(Kind::FreeBeam) => "B",
        Some(Kind::Copper) => "C",
        Some(Kind::Battery) => "b",
        None => "-",
    };
    let mut text = String::from("  payload power, W, across; height, m, down\n        ");
    for payload_w in map.payloads_w.iter().step_by(2) {
        text.push_str(&format!("{:>10}", significant(*payload_w, 2)));
    }
    for (i, height_m) in map.heights_m.iter().enumerate().rev() {
        text.push_str(&format!("\n  {:>6}", significant(*height_m, 2)));
        for j in (0..map.payloads_w.len()).step_by(2) {
            let cell = &map.cells[i * map.payloads_w.len() + j];
            let (kind, lead) = if by_mass {
                (cell.least_mass, cell.mass_lead_ratio)
            } else {
                (cell.least_wall, cell.wall_lead_ratio)
            };
            let lead = lead.map_or(String::new(), |ratio| format!(" {}×", significant(ratio, 2)));
            text.push_str(&format!("{:>10}", format!("{}{lead}", letter(kind))));
        }
    }
    text.push_str("\n  F fiber, B free beam, C copper, b battery alone, - none holds; × second over first");
    text
}
