//! `docs/figures/propellers-advance-ratio.svg`: measured propellers over the advance ratio, and blade elements beside them.

use std::{f64::consts::TAU, fs, io};

use beamstay_environment::fluid::Fluid;
use beamstay_report::figure::{
    FigureError,
    axes::{Area, Axis, axes},
    figure,
    mark::{Dash, Entry, Form, Mark, draw_legend, draw_line, draw_point},
    theme::Theme,
};
use beamstay_rotor::BladeRotor;

use super::root;
use crate::models::rotor::uiuc_propeller;

/// Propellers with geometry: the name of their files, and in words.
const PROPELLERS: [(&str, &str); 4] = [
    ("apcsf_10x4.7", "slow-fly 10 × 4.7"),
    ("apcsf_11x4.7", "slow-fly 11 × 4.7"),
    ("apce_11x5.5", "electric 11 × 5.5"),
    ("apce_14x12", "electric 14 × 12"),
];

const SIZE_PX: (u32, u32) = (1000, 1500);
const LEGEND_PX: u32 = 60;
/// Runs within this of the slowest or fastest one count with it, rpm.
const SAME_RPM: f64 = 60.0;
const STEPS_COUNT: u32 = 60;

const AIR: Fluid = Fluid {
    temperature_k: 288.15,
    pressure_pa: 101_325.0,
    density_kg_m3: 1.225,
    dynamic_viscosity_pa_s: 1.79e-5,
    thermal_conductivity_w_per_m_k: 0.0253,
    specific_heat_j_per_kg_k: 1005.0,
    speed_of_sound_m_s: 340.3,
};

/// Reading of a tunnel: nominal rpm, advance ratio, thrust and power coefficient of the propeller convention.
type Reading = [f64; 4];

/// The figure.
///
/// # Errors
/// If the measurements cannot be read or the figure not drawn.
pub fn sweep_figure() -> io::Result<String> {
    let mut sweeps = Vec::new();
    for (file, name) in PROPELLERS {
        let rotor = uiuc_propeller(file).ok_or_else(|| io::Error::other(format!("no propeller {file}")))?;
        sweeps.push((name, rotor, readings(file)?));
    }
    let description = "Thrust coefficient (left) and power coefficient (right) of four propellers over the advance ratio J, measured at the \
         slowest and the fastest turning of the tunnel runs, and computed by blade elements with one section for all. The curves meet the \
         measurements near hover and lie above them towards zero thrust, most of all for the electric 11 by 5.5.";
    figure(SIZE_PX, "Measured propellers over advance ratio, and blade elements", description, |area| {
        let (charts, legend) = area.split_vertically(SIZE_PX.1 - LEGEND_PX);
        for (cell, (name, rotor, readings)) in charts.split_evenly((4, 1)).iter().zip(&sweeps) {
            let (left, right) = cell.split_horizontally(SIZE_PX.0 / 2);
            draw(&left, &format!("{name}: thrust"), "CT", rotor, readings, 2)?;
            draw(&right, &format!("{name}: power"), "CP", rotor, readings, 3)?;
        }
        draw_legend(&legend, &entries(), 60)
    })
    .map_err(|error| io::Error::other(error.to_string()))
}

fn readings(file: &str) -> io::Result<Vec<Reading>> {
    let text = fs::read_to_string(root().join(format!("tests/data/propellers/{file}_sweep.csv")))?;
    let bad = || io::Error::other(format!("{file}: a row is not four numbers"));
    text.lines()
        .skip(1)
        .map(|line| {
            let cells: Vec<f64> = line.split(',').filter_map(|cell| cell.parse().ok()).collect();
            match cells[..] {
                [rpm, advance, thrust, power, ..] => Ok([rpm, advance, thrust, power]),
                _ => Err(bad()),
            }
        })
        .collect()
}

/// The slow runs and the fast ones: look of measurement and curve.
fn looks() -> [(Mark, Mark); 2] {
    let look = |colour, form, dash| {
        let mark = Mark { colour, dash, form, width_px: 3 };
        (mark, mark.without_points())
    };
    [look(Theme::SERIES[0], Form::Disk, Dash::Solid), look(Theme::SERIES[1], Form::Square, Dash::Dashed)]
}

fn entries() -> Vec<Entry> {
    let [(slow, slow_curve), (fast, fast_curve)] = looks();
    let point = |mark: Mark| Mark { width_px: 0, ..mark };
    vec![
        Entry::Line(point(slow), "measured, slowest".into()),
        Entry::Line(slow_curve, "computed".into()),
        Entry::Line(point(fast), "measured, fastest".into()),
        Entry::Line(fast_curve, "computed".into()),
    ]
}

fn draw(
    area: &Area<'_>,
    caption: &str,
    name: &str,
    rotor: &BladeRotor,
    readings: &[Reading],
    column: usize,
) -> Result<(), FigureError> {
    let rpms = || readings.iter().map(|r| r[0]);
    let ends = [rpms().fold(f64::INFINITY, f64::min), rpms().fold(0.0, f64::max)];
    let farthest = readings.iter().map(|r| r[1]).fold(0.0, f64::max);
    let curves = ends.map(|rpm| curve(rotor, rpm, farthest, column));
    let heights = readings.iter().map(|r| r[column]).chain(curves.iter().flatten().map(|p| p.1)).chain([0.0]);
    let (x, y) =
        (Axis { name: "advance ratio J", from: 0.0, to: 1.04 * farthest }, Axis::around(name, heights));
    let mut chart = axes(area, caption, x, y)?;
    for ((rpm, curve), (mark, line)) in ends.into_iter().zip(&curves).zip(looks()) {
        for reading in readings.iter().filter(|r| (r[0] - rpm).abs() <= SAME_RPM) {
            draw_point(&mut chart, (reading[1], reading[column]), mark)?;
        }
        draw_line(&mut chart, curve, line, 1)?;
    }
    Ok(())
}

/// Thrust (column 2) or power coefficient (3) by blade elements from hover to the farthest advance ratio.
fn curve(rotor: &BladeRotor, rpm: f64, farthest: f64, column: usize) -> Vec<(f64, f64)> {
    let (per_s, diameter_m) = (rpm / 60.0, rotor.inputs().diameter_m);
    let scale_n = AIR.density_kg_m3 * per_s.powi(2) * diameter_m.powi(4);
    (0..=STEPS_COUNT)
        .filter_map(|i| {
            let advance = farthest * f64::from(i) / f64::from(STEPS_COUNT);
            let point = rotor.test_point(TAU * per_s, 0.0, advance * per_s * diameter_m, &AIR).ok()?;
            let coefficient = if column == 2 {
                point.thrust_n / scale_n
            } else {
                point.shaft_w / (scale_n * per_s * diameter_m)
            };
            Some((advance, coefficient))
        })
        .collect()
}
