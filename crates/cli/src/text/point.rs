//! The operating point as text.

use beamstay_planner::{
    OperatingPoint, PointReport,
    formula::Standing,
    limit::{LimitCode, LimitRow, Sense, tightest},
    point::{Lies, LightPoint, TetherPoint, ThrustBound, VehiclePoint},
    winds::Winds,
};
use beamstay_report::number::{quantity, signed_percent, significant, with_unit};

use super::table::{aligned, folded};

/// Columns of the terminal that text is folded at.
pub const WIDTH: usize = 79;

/// Bold or plain, as the stream wants it.
#[derive(Debug, Clone, Copy)]
pub struct Style {
    /// Whether to use terminal colours.
    pub colour: bool,
}

impl Style {
    fn paint(self, text: &str, code: &str) -> String {
        if self.colour { format!("\x1b[{code}m{text}\x1b[0m") } else { text.to_owned() }
    }

    /// A heading.
    pub fn heading(self, text: &str) -> String {
        self.paint(text, "1")
    }

    /// What holds.
    pub fn good(self, text: &str) -> String {
        self.paint(text, "1;32")
    }

    /// What is broken.
    pub fn bad(self, text: &str) -> String {
        self.paint(text, "1;31")
    }
}

/// The whole screen.
pub fn render(report: &PointReport, style: Style) -> String {
    let point = &report.point;
    let mut parts = vec![verdict(report, style)];
    parts.push(section(style, "Power, from the wall to the air", power(point)));
    parts.push(section(style, "Forces and attitude", forces(point, true, true)));
    if let Some(light) = &point.light {
        parts.push(section(style, "Light", light_rows(light)));
    }
    if let Some(line) = &point.line {
        let rows = vec![
            pair("current", quantity(line.current_a, "A")),
            pair("voltage at the vehicle", quantity(line.voltage_at_vehicle_v, "V")),
            pair("loop resistance", quantity(line.loop_resistance_ohm, "Ω")),
            pair("wire in the air", quantity(line.hanging_temp_c, "°C")),
            pair("hottest wire on the drum", quantity(line.drum_temp_c, "°C")),
            pair("most the line can carry", quantity(line.most_power_w, "W")),
        ];
        parts.push(section(style, "Copper line", aligned(&[], rows, &[0])));
    }
    parts.push(section(
        style,
        "Limits, the tightest first",
        limit_rows(&point.limits.iter().collect::<Vec<_>>(), style),
    ));
    parts.push(section(style, "Cautions", cautions(&report.cautions)));
    parts.push(format!("scenario {}   beamstay {}", report.digest, report.version));
    parts.join("\n\n")
}

/// A heading and what stands under it.
pub fn section(style: Style, heading: &str, body: String) -> String {
    format!("{}\n{body}", style.heading(heading))
}

fn pair(name: &str, value: String) -> Vec<String> {
    vec![name.to_owned(), value]
}

/// Title of the scenario.
pub fn head(report: &PointReport) -> String {
    folded(&report.title, WIDTH, "")
}

fn verdict(report: &PointReport, style: Style) -> String {
    let point = &report.point;
    let word = if point.feasible { style.good("CLOSES") } else { style.bad("DOES NOT CLOSE") };
    let margin = match (point.margin_w, point.demand_w, point.available_w) {
        (Some(margin), Some(demand), Some(available)) => format!(
            ": {} available, {} needed, {} {}",
            quantity(available, "W"),
            quantity(demand, "W"),
            quantity(margin.abs(), "W"),
            if margin >= 0.0 { "left" } else { "missing" }
        ),
        (_, Some(demand), None) => format!(": {} needed, nothing comes", quantity(demand, "W")),
        _ => String::new(),
    };
    let mut lines = vec![head(report), folded(&format!("{word}{margin}"), WIDTH, "  ")];
    let broken: Vec<&LimitRow> = point.limits.iter().filter(|row| !row.ok).collect();
    if broken.is_empty()
        && let Some(row) = tightest(&point.limits)
    {
        let text = format!("Nearest limit: {}, {}", row.code.words().name, comparison(row));
        lines.push(folded(&text, WIDTH, "  "));
    }
    if let Some(winds) = &report.winds {
        lines.push(folded(&in_other_winds(winds, report.has_uncertainty), WIDTH, "  "));
    }
    for row in broken {
        let text = format!(
            "Broken: {}, {}{}. Change first: {}.",
            row.code.words().name,
            comparison(row),
            missing_thrust(row, point),
            report.change_first(row)
        );
        lines.push(folded(&text, WIDTH, "  "));
    }
    lines.join("\n")
}

/// The verdict is one of a single wind: how far it reaches, and where the rest is told.
fn in_other_winds(winds: &Winds, has_uncertainty: bool) -> String {
    let speed = |wind_m_s: f64| significant(wind_m_s, 3);
    let broken = |code: Option<LimitCode>| code.map_or("nothing can be computed", |code| code.words().name);
    let stated = quantity(winds.stated_m_s, "m/s");
    let from = if winds.from_m_s > 0.0 { speed(winds.from_m_s) } else { "calm air".to_owned() };
    let mut text = format!("For {stated} of wind; closes from {from} to {} m/s", speed(winds.to_m_s));
    if winds.from_m_s > 0.0 {
        text.push_str(&format!(", below: {}", broken(winds.breaks_below)));
    }
    if winds.breaks_above.is_some() {
        text.push_str(&format!(", above: {}", broken(winds.breaks_above)));
    }
    let more = if has_uncertainty { "risk" } else { "region" };
    text.push_str(&format!(" (more: beamstay {more})"));
    text
}

/// Newtons and what bounds them, where thrust is short in the gust.
fn missing_thrust(row: &LimitRow, point: &OperatingPoint) -> String {
    let gust = point.vehicle_in_gust.filter(|_| row.code == LimitCode::ThrustReserve);
    let Some((ratio, gust)) = gust.and_then(|gust| Some((gust.thrust_reserve_ratio?, gust))) else {
        return String::new();
    };
    let bound = gust.thrust_bound.map_or("what is known", ThrustBound::words);
    let (needs, has) = (quantity(gust.thrust_n, "N"), quantity(ratio * gust.thrust_n, "N"));
    format!(" (the gust needs {needs}, {bound} gives {has})")
}

fn comparison(row: &LimitRow) -> String {
    let sense = match row.sense {
        Sense::AtMost => "at most",
        Sense::AtLeast => "at least",
    };
    format!("{} where {sense} {} is allowed", quantity(row.value, row.unit), quantity(row.limit, row.unit))
}

/// The budget.
pub fn power(point: &OperatingPoint) -> String {
    let rows = point
        .power
        .iter()
        .map(|row| {
            vec![
                row.name.to_owned(),
                significant(row.in_w, 4),
                significant(row.out_w, 4),
                significant(row.loss_w, 4),
            ]
        })
        .collect();
    let table = aligned(&["", "in W", "on W", "leaves W"], rows, &[0]);
    match (point.wall_w, point.energy_closure_ratio) {
        (Some(wall), Some(closure)) => {
            format!("{table}\n  wall draws {}; budget closes to {closure:.0e}", quantity(wall, "W"))
        }
        _ => table,
    }
}

/// Forces and attitude of tether and vehicle.
pub fn forces(point: &OperatingPoint, with_tether: bool, with_vehicle: bool) -> String {
    let mut rows = vec![vec![
        "mass in the air, tether not counted".to_owned(),
        quantity(point.masses.total_kg(), "kg"),
        String::new(),
    ]];
    let both = |name: &str, unit: &str, mean: Option<f64>, gust: Option<f64>| {
        let text = |value: Option<f64>| value.map_or(String::new(), |v| quantity(v, unit));
        vec![name.to_owned(), text(mean), text(gust)]
    };
    let (vehicle, vehicle_gust) = (point.vehicle.as_ref(), point.vehicle_in_gust.as_ref());
    let mut of_vehicle = |name: &str, unit: &str, value: fn(&VehiclePoint) -> f64| {
        if with_vehicle && vehicle.is_some() {
            rows.push(both(name, unit, vehicle.map(value), vehicle_gust.map(value)));
        }
    };
    if let Some(current_a) = vehicle.and_then(|v| v.load_current_a).filter(|_| with_vehicle) {
        return aligned(
            &[],
            vec![pair("current of the load at its voltage", quantity(current_a, "A"))],
            &[0],
        );
    }
    of_vehicle("airspeed", "m/s", |v| v.airspeed_m_s);
    of_vehicle("thrust", "N", |v| v.thrust_n);
    of_vehicle("tilt", "°", |v| v.tilt_deg);
    of_vehicle("body drag", "N", |v| v.body_drag_n);
    of_vehicle("power at the rotor shafts", "W", |v| v.shaft_w);
    let (tether, tether_gust) = (point.tether.as_ref(), point.tether_in_gust.as_ref());
    let mut of_tether = |name: &str, unit: &str, value: fn(&TetherPoint) -> f64| {
        if with_tether && tether.is_some() {
            rows.push(both(name, unit, tether.map(value), tether_gust.map(value)));
        }
    };
    of_tether("tether paid out", "m", |t| t.paid_out_m);
    of_tether("tension at the vehicle", "N", |t| t.top_tension_n);
    of_tether("tension at the drum", "N", |t| t.drum_tension_n);
    of_tether("largest tension on the line", "N", |t| t.max_tension_n);
    of_tether("elevation at the drum", "°", |t| t.drum_elevation_deg);
    of_tether("pull on the vehicle, downwind", "N", |t| t.force_on_vehicle_n[0]);
    of_tether("pull on the vehicle, to the left", "N", |t| t.force_on_vehicle_n[1]);
    of_tether("pull on the vehicle, up", "N", |t| t.force_on_vehicle_n[2]);
    of_tether("smallest bend radius in the air", "m", |t| t.min_bend_radius_m);
    of_tether("lowest point over ground", "m", |t| t.lowest_point_m);
    if with_tether {
        rows.extend(on_ground(tether, tether_gust));
    }
    aligned(&["", "mean wind", "gust"], rows, &[0])
}

/// What lies on the ground, if anything does.
fn on_ground(mean: Option<&TetherPoint>, gust: Option<&TetherPoint>) -> Vec<Vec<String>> {
    let lies = [mean, gust].map(|t| t.and_then(|t| t.lies));
    if lies.iter().all(Option::is_none) {
        return Vec::new();
    }
    let row = |name: &str, values: [Option<(f64, &str)>; 2]| {
        let text =
            |value: Option<(f64, &str)>| value.map_or_else(|| "-".into(), |(v, unit)| quantity(v, unit));
        vec![name.to_owned(), text(values[0]), text(values[1])]
    };
    let metres = |name: &str, read: fn(&Lies) -> f64| row(name, lies.map(|l| l.map(|l| (read(&l), "m"))));
    let mut rows = vec![
        metres("length on the ground", |l| l.to_m - l.from_m),
        metres("of it without tension", |l| l.loose_m),
        metres("touches down from the drum at", |l| l.touchdown_distance_m),
        row(
            "hanging from there to the vehicle",
            [(mean, lies[0]), (gust, lies[1])].map(|(t, l)| Some((t?.paid_out_m - l?.to_m, "m"))),
        ),
    ];
    let free = lies.map(|l| l.and_then(|l| l.least_free_drum_tension_n).map(|n| (n, "N")));
    if free.iter().any(Option::is_some) {
        rows.push(row("least drum tension that hangs free", free));
    }
    rows
}

/// The light.
pub fn light_rows(light: &LightPoint) -> String {
    let celsius = |value: f64| with_unit(&significant(value, 3), "°C");
    let mut rows = vec![
        pair("wavelength", quantity(light.wavelength_nm, "nm")),
        pair(
            "arriving over laser power",
            signed_percent(light.path_ratio).trim_start_matches('+').to_owned(),
        ),
        pair(
            "cells' power over arriving light",
            signed_percent(light.cell_efficiency_ratio).trim_start_matches('+').to_owned(),
        ),
        pair("cells with the demand drawn", celsius(light.cell_temp_c)),
        pair("cells at the maximum power point", celsius(light.cell_temp_max_power_c)),
        pair("cells with the load lost", celsius(light.cell_temp_load_lost_c)),
        pair("receiver, power over mass", quantity(light.receiver_specific_power_w_per_kg, "W/kg")),
    ];
    if let (Some(range_m), Some(incidence_deg), Some(spill_w)) =
        (light.range_m, light.incidence_deg, light.spill_over_w)
    {
        rows.push(pair("way of the beam", quantity(range_m, "m")));
        rows.push(pair("beam to the receiver's normal", quantity(incidence_deg, "°")));
        rows.push(pair("light past the receiver", quantity(spill_w, "W")));
    }
    if let Some(orbit) = light.orbit.filter(|orbit| orbit.path_ratio_least < orbit.path_ratio_most) {
        let percent = |ratio: f64| signed_percent(ratio).trim_start_matches('+').to_owned();
        let spread = format!(
            "{} to {}, mean {}",
            percent(orbit.path_ratio_least),
            percent(orbit.path_ratio_most),
            percent(orbit.path_ratio_mean)
        );
        rows.push(pair("arriving along the circle", spread));
        rows.push(pair("laser, mean over the circle", quantity(orbit.laser_mean_w, "W")));
        rows.push(pair("most at the bus, mean light", quantity(orbit.available_mean_w, "W")));
        rows.push(pair("wall power, mean over the circle", quantity(orbit.wall_mean_w, "W")));
    }
    if let Some(temperature_c) = light.drum_temp_c {
        rows.push(pair("hottest layer on the drum", celsius(temperature_c)));
    }
    aligned(&[], rows, &[0])
}

/// Limits, the tightest first.
pub fn limit_rows(limits: &[&LimitRow], style: Style) -> String {
    if limits.is_empty() {
        return "  none for this part of the plan".into();
    }
    let mut sorted = limits.to_vec();
    sorted.sort_by(|a, b| {
        (a.ok, a.closeness()).partial_cmp(&(b.ok, b.closeness())).unwrap_or(std::cmp::Ordering::Equal)
    });
    let rows = sorted
        .into_iter()
        .map(|row| {
            let bound = match row.sense {
                Sense::AtMost => "≤",
                Sense::AtLeast => "≥",
            };
            let left = row
                .margin_ratio
                .map_or_else(|| with_unit(&significant(row.margin, 3), row.unit), signed_percent);
            vec![
                row.code.words().name.to_owned(),
                significant(row.value, 4),
                format!("{bound} {}", significant(row.limit, 4)),
                row.unit.to_owned(),
                left,
                if row.ok { "ok".to_owned() } else { style.bad("BROKEN") },
            ]
        })
        .collect();
    aligned(&["", "is", "allowed", "unit", "left", ""], rows, &[0, 3, 5])
}

/// The cautions.
pub fn cautions(list: &[&str]) -> String {
    list.iter()
        .map(|text| format!("  {}", folded(&format!("! {text}"), WIDTH - 2, "    ")))
        .collect::<Vec<_>>()
        .join("\n")
}

/// Defaults and sources, for `--explain`.
pub fn explain(report: &PointReport, style: Style) -> String {
    let mut text = style.heading("Defaults used");
    for default in &report.defaults_used {
        let value = match default.value.as_f64() {
            Some(number) => with_unit(&significant(number, 6), &default.unit),
            None => default.value.to_string(),
        };
        text.push_str(&format!("\n  {} = {value}\n", default.pointer));
        text.push_str(&format!("      {}", folded(&default.meaning, WIDTH - 6, "      ")));
    }
    text.push_str(&format!("\n\n{}", style.heading("Formulas and their sources")));
    for formula in &report.formulas {
        let standing = match formula.standing {
            Standing::Unvalidated => ", UNVALIDATED: held against no published value",
            _ => "",
        };
        text.push_str(&format!(
            "\n  {}{standing}\n      {}",
            formula.model,
            folded(formula.source, WIDTH - 6, "      ")
        ));
    }
    text
}
