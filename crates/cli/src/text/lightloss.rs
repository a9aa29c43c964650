//! The drill for the loss of light as text.

use beamstay_planner::lightloss::{Drill, LightLossReport, Outcome, Phase, Reach};
use beamstay_report::number::{quantity, significant};

use super::{
    point::{Style, cautions, section},
    table::{aligned, folded},
};

const WIDTH: usize = 79;

/// The whole screen.
pub fn render(report: &LightLossReport, style: Style) -> String {
    let mut parts = vec![head(report, style)];
    parts.push(section(style, "Causes, the worst first", causes(report, style)));
    if let Some(worst) = report.worst() {
        parts.push(section(style, &format!("The way down: {}", worst.cause.name), way(worst)));
        parts.push(section(style, "Energy and battery", energy(worst)));
        if worst.reach != Reach::default() {
            parts.push(section(style, "Where things can come down", reach(report)));
        }
    }
    parts.push(section(style, "The smallest battery that lands", smallest(report)));
    parts.push(section(style, "Cautions", cautions(&report.cautions)));
    parts.push(format!("scenario {}   beamstay {}", report.digest, report.version));
    parts.join("\n\n")
}

fn head(report: &LightLossReport, style: Style) -> String {
    let mut lines = vec![folded(&report.title, WIDTH, "")];
    if let Some(worst) = report.worst() {
        let words = worst.outcome.words();
        let word = if report.safe { style.good(words) } else { style.bad(words) };
        let end = match worst.outcome {
            Outcome::Lands => format!(
                ": {} after the light is lost, {} % charge left of which {} % were to stay",
                quantity(worst.time_s, "s"),
                percent(worst.end_charge_ratio),
                percent(worst.floor_ratio)
            ),
            _ if worst.reason.is_empty() => String::new(),
            _ => format!(": {}", worst.reason),
        };
        lines.push(folded(&format!("{word}{end}"), WIDTH + if style.colour { 11 } else { 0 }, "  "));
    }
    if !report.point_closes {
        lines.push(folded(
            "The operating point itself does not close: see `beamstay point` first.",
            WIDTH,
            "  ",
        ));
    }
    lines.join("\n")
}

fn percent(ratio: Option<f64>) -> String {
    ratio.map_or("no".into(), |r| significant(100.0 * r, 3))
}

fn causes(report: &LightLossReport, style: Style) -> String {
    let rows = report
        .drills
        .iter()
        .map(|drill| {
            let end = match drill.outcome {
                Outcome::Lands => "lands",
                Outcome::LandsOnReserve => "on reserve",
                Outcome::Falls => "FALLS",
                Outcome::Lost => "LOST",
                Outcome::Floats => "floats up",
                Outcome::Hauled => "hauled up",
                Outcome::Stands => "stands",
            };
            vec![
                drill.cause.name.clone(),
                if drill.outcome.is_safe() { end.to_owned() } else { style.bad(end) },
                quantity(drill.needed_j / 3600.0, "Wh"),
                light(drill.cause.escaping_w, "W"),
                match drill.cause.escaping_j {
                    Some(energy_j) => light(energy_j, "J"),
                    None if drill.cause.escaping_w > 0.0 => "NO SHUT-OFF".into(),
                    None => "none".into(),
                },
            ]
        })
        .collect();
    let table = aligned(&["", "ends", "takes", "light out", "until shut-off"], rows, &[0, 1]);
    let mut text = table;
    for drill in &report.drills {
        if !drill.cause.remark.is_empty() || drill.cause.live_v > 0.0 {
            let live = if drill.cause.live_v > 0.0 {
                format!(" BARE END AT {} until the source is off.", quantity(drill.cause.live_v, "V"))
            } else {
                String::new()
            };
            let line = format!("{}: {}.{live}", drill.cause.name, drill.cause.remark);
            text.push_str(&format!("\n  {}", folded(&line, WIDTH - 2, "    ")));
        }
    }
    text
}

fn light(value: f64, unit: &str) -> String {
    if value > 0.0 { quantity(value, unit) } else { "none".into() }
}

fn way(drill: &Drill) -> String {
    let spent = |phase| {
        drill.legs.iter().filter(|leg| leg.phase == phase).fold((0.0, 0.0), |(time, energy), leg| {
            (time + leg.duration_s, energy + leg.duration_s * leg.power_w)
        })
    };
    let mut rows = Vec::new();
    for (name, phase) in [
        ("holds, the loss is noticed", Phase::Hold),
        ("comes down", Phase::Descent),
        ("hovers or circles for the landing", Phase::Landing),
    ] {
        let (time_s, energy_j) = spent(phase);
        if time_s > 0.0 && drill.outcome != Outcome::Stands {
            rows.push(vec![
                name.to_owned(),
                quantity(time_s, "s"),
                quantity(energy_j / time_s, "W"),
                quantity(energy_j / 3600.0, "Wh"),
            ]);
        }
    }
    let mut text = aligned(&["", "time", "mean power", "energy"], rows, &[0]);
    let mut say = |line: String| text.push_str(&format!("\n  {}", folded(&line, WIDTH - 2, "    ")));
    if let Some(rate) = drill.rate {
        say(format!(
            "descent {}, bounded by {}; the vortex ring state begins at {} if the wind drops",
            quantity(rate.rate_m_s, "m/s"),
            rate.bound.words(),
            quantity(rate.vortex_ring_from_m_s, "m/s")
        ));
    }
    if let Some(speed) = drill.reel_speed_m_s {
        say(format!(
            "the winch must reel in at {} to keep the tether off the rotors",
            quantity(speed, "m/s")
        ));
    }
    if drill.cause.piece_m > 0.0 {
        say(format!("{} of cut line hang on the vehicle", quantity(drill.cause.piece_m, "m")));
    }
    text
}

fn energy(drill: &Drill) -> String {
    let pair = |name: &str, value: String| vec![name.to_owned(), value];
    let mut rows =
        vec![pair("needed to the ground, landing included", quantity(drill.needed_j / 3600.0, "Wh"))];
    match (drill.floor_ratio, drill.cutoff_v, drill.least_voltage_v) {
        (Some(floor), Some(cutoff), Some(least)) => {
            rows.push(pair(
                "in the battery above what stays untouched",
                quantity(drill.usable_j / 3600.0, "Wh"),
            ));
            rows.push(pair("charge at the end", format!("{} %", percent(drill.end_charge_ratio))));
            rows.push(pair("charge to stay untouched", format!("{} %", significant(100.0 * floor, 3))));
            rows.push(pair("lowest voltage under load", quantity(least, "V")));
            rows.push(pair("lowest voltage allowed", quantity(cutoff, "V")));
            rows.push(pair("power in the gust", quantity(drill.peak_w, "W")));
            rows.push(pair("most the battery gives at the end", quantity(drill.peak_available_w, "W")));
        }
        _ => rows.push(pair("in the battery", "NO BATTERY ON BOARD".into())),
    }
    aligned(&[], rows, &[0])
}

fn reach(report: &LightLossReport) -> String {
    let farthest = |value: fn(&Drill) -> f64| report.drills.iter().map(value).fold(0.0, f64::max);
    let pair = |name: &str, value: String| vec![name.to_owned(), value];
    let mut rows = vec![
        pair(
            "under control, from the drum or the optic, within",
            quantity(farthest(|d| d.reach.controlled_m), "m"),
        ),
        pair("without control, within", quantity(farthest(|d| d.reach.uncontrolled_m), "m")),
        pair("drift in a fall in the gust", quantity(farthest(|d| d.reach.drift_m), "m")),
        pair(
            "speed of a fall at the ground, at most",
            quantity(farthest(|d| d.reach.impact_speed_m_s), "m/s"),
        ),
        pair("energy of it", quantity(farthest(|d| d.reach.impact_j), "J")),
    ];
    let tether = |value: fn(&beamstay_planner::lightloss::TetherReach) -> f64| {
        report.drills.iter().filter_map(|d| d.reach.tether.as_ref()).map(value).fold(0.0, f64::max)
    };
    if report.drills.iter().any(|d| d.reach.tether.is_some()) {
        rows.push(pair("cut tether, piece on the drum, within", quantity(tether(|t| t.attached_m), "m")));
        rows.push(pair("cut tether, piece let go above, within", quantity(tether(|t| t.loose_m), "m")));
        rows.push(pair("cut tether falls broadside at", quantity(tether(|t| t.broadside_m_s), "m/s")));
        rows.push(pair("cut tether falls end on at, at most", quantity(tether(|t| t.end_on_m_s), "m/s")));
        rows.push(pair("if the vehicle flies on with its piece", "NO BOUND".into()));
    }
    aligned(&[], rows, &[0])
}

fn smallest(report: &LightLossReport) -> String {
    match report.smallest_battery {
        Some(battery) => {
            let line = format!(
                "{} in {} cells, {}, {}; mass in the air {}. {}",
                quantity(battery.capacity_ah, "Ah"),
                battery.series_count,
                quantity(battery.energy_wh, "Wh"),
                quantity(battery.mass_kg, "kg"),
                quantity(battery.total_mass_kg, "kg"),
                if battery.on_board_is_enough {
                    "What is on board is enough."
                } else {
                    "What is on board is not enough; check with `beamstay point` that the plan still closes with it."
                }
            );
            format!("  {}", folded(&line, WIDTH - 2, "  "))
        }
        None if report.safe => "  none is needed to come back".into(),
        None => "  no battery up to a hundred times as large lands it".into(),
    }
}
