//! First guess: the tether under one load, the same on every metre, hangs in a catenary whose axis points along that load.

use beamstay_environment::flow::Flow;
use nalgebra::Vector3;

use super::{
    load::{Pull, load_n_per_m},
    relax::Problem,
};
use crate::{catenary::sinh_ratio_inverse, line::Line};

/// Force at the drum of a tether of `length_m` under the constant load `load_n_per_m`, N: the shape is a catenary in the
/// plane of chord and load, and the force falls by the load on every metre.
pub(super) fn drum_force_n(
    load_n_per_m: &Vector3<f64>,
    end_m: &Vector3<f64>,
    length_m: f64,
    compliance_per_n: f64,
) -> Vector3<f64> {
    let distance_m = end_m.norm();
    let chord = end_m / distance_m;
    let load = load_n_per_m.norm().max(f64::MIN_POSITIVE);
    let axis = load_n_per_m / load;
    // Rise against the load and span across it.
    let rise_m = -end_m.dot(&axis);
    let across_m = end_m + rise_m * axis;
    let span_m = across_m.norm().max(1e-6 * length_m);
    let transverse = load * span_m / distance_m;
    let taut_n = taut_tension_n(transverse * length_m, length_m / distance_m - 1.0, compliance_per_n);
    let stretched_m = (length_m * (1.0 + taut_n * compliance_per_n)).max(distance_m * (1.0 + 1e-9));
    let ratio = ((stretched_m - rise_m) * (stretched_m + rise_m)).sqrt() / span_m;
    let u = sinh_ratio_inverse(ratio.max(1.0 + 1e-15));
    let parameter_m = span_m / (2.0 * u);
    let scale = load * length_m / stretched_m;
    let horizontal_n = scale * parameter_m;
    if !horizontal_n.is_finite() || !taut_n.is_finite() {
        return chord * transverse * length_m;
    }
    let low_m = 0.5 * span_m - parameter_m * (rise_m / stretched_m).atanh();
    let vertical_n = -horizontal_n * (low_m / parameter_m).sinh();
    let span_direction = across_m.try_normalize(0.0).unwrap_or_else(|| any_across(&axis));
    horizontal_n * span_direction - vertical_n * axis
}

/// Load on a straight tether from drum to vehicle, as a polynomial through the nodes of the three-point Gauss rule: the
/// coefficients of its Legendre polynomials, N/m.
pub(super) struct ChordLoad {
    /// Mean over the tether.
    pub mean_n_per_m: Vector3<f64>,
    rise_n_per_m: Vector3<f64>,
    bow_n_per_m: Vector3<f64>,
}

impl ChordLoad {
    pub(super) fn new(line: &Line, flow: &impl Flow, end_m: &Vector3<f64>) -> Self {
        let pull = Pull { tension_n: 0.0, tangent: end_m.normalize(), stretch_ratio: 1.0 };
        let at = |place: f64| load_n_per_m(line, &flow.at(place * end_m.z), &pull);
        let (root, [low, middle, high]) =
            (0.6_f64.sqrt(), [at(0.112_701_665_379_258_3), at(0.5), at(0.887_298_334_620_741_7)]);
        Self {
            mean_n_per_m: (5.0 * (low + high) + 8.0 * middle) / 18.0,
            rise_n_per_m: 5.0 / 6.0 * root * (high - low),
            bow_n_per_m: 5.0 / 9.0 * (low - 2.0 * middle + high),
        }
    }

    /// What the load up to a place has more than its mean would have, for a tether of 1 m, N/m.
    pub(super) fn surplus_n_per_m(&self, place: f64) -> Vector3<f64> {
        let turned = place * (place - 1.0);
        turned * self.rise_n_per_m + turned * (2.0 * place - 1.0) * self.bow_n_per_m
    }

    /// What the drum of a nearly straight tether of 1 m then holds more across `end_m`, N/m: its share by the lever.
    pub(super) fn drum_surplus_n_per_m(&self, end_m: &Vector3<f64>) -> Vector3<f64> {
        let chord = end_m.normalize();
        (self.rise_n_per_m.dot(&chord) * chord - self.rise_n_per_m) / 6.0
    }
}

/// Strain that the guess expects.
pub(super) fn strain_ratio<F: Flow>(problem: &Problem<'_, F>, length_m: f64) -> f64 {
    let load = mean_load_n_per_m(problem.line, problem.flow, &problem.end_m);
    let compliance = problem.compliance_per_n;
    let drum_n = drum_force_n(&load, &problem.end_m, length_m, compliance);
    compliance * drum_n.norm().max((drum_n - length_m * load).norm())
}

/// Load on a straight tether from drum to vehicle, mean of a few heights, N/m.
pub(super) fn mean_load_n_per_m(line: &Line, flow: &impl Flow, end_m: &Vector3<f64>) -> Vector3<f64> {
    ChordLoad::new(line, flow, end_m).mean_n_per_m
}

/// Heights at which the load is asked for where few might miss it.
const MANY: u32 = 64;

/// The same of many heights: a current near the surface alone loads a short part of a deep line.
pub(super) fn load_of_many_n_per_m<F: Flow>(problem: &Problem<'_, F>) -> Vector3<f64> {
    let pull = Pull { tension_n: 0.0, tangent: problem.end_m.normalize(), stretch_ratio: 1.0 };
    let at = |i: u32| {
        let place = (f64::from(i) + 0.5) / f64::from(MANY);
        load_n_per_m(problem.line, &problem.flow.at(place * problem.end_m.z), &pull)
    };
    (0..MANY).map(at).sum::<Vector3<f64>>() / f64::from(MANY)
}

/// Slack of a nearly straight line that has the tension `drum_tension_n` at the drum (length over distance, less 1).
pub(super) fn slack_ratio(
    load_n_per_m: &Vector3<f64>,
    end_m: &Vector3<f64>,
    drum_tension_n: f64,
    compliance_per_n: f64,
) -> f64 {
    let distance_m = end_m.norm();
    let chord = end_m / distance_m;
    let along = load_n_per_m.dot(&chord);
    let transverse_n = (load_n_per_m - along * chord).norm() * distance_m;
    // The tension changes along the line by the load along it.
    let mean_n = (drum_tension_n - 0.5 * along * distance_m).max(0.2 * transverse_n).max(f64::MIN_POSITIVE);
    let slack = transverse_n * transverse_n / (24.0 * mean_n * mean_n);
    (1.0 + slack.min(1.0)) / (1.0 + mean_n * compliance_per_n) - 1.0
}

/// Tension of a nearly straight line with the total load `load_n` across it and the slack `slack_ratio` (length over
/// distance, less 1; negative if it must stretch): root of slack + T/EA = (load/T)²/24.
fn taut_tension_n(load_n: f64, slack_ratio: f64, compliance_per_n: f64) -> f64 {
    let k = load_n * load_n / 24.0;
    let by_slack = if slack_ratio > 0.0 { (k / slack_ratio).sqrt() } else { f64::INFINITY };
    let by_stretch = if compliance_per_n > 0.0 { (k / compliance_per_n).cbrt() } else { f64::INFINITY };
    let mut tension_n = 0.5 * by_slack.min(by_stretch);
    for _ in 0..60 {
        let square = tension_n * tension_n;
        let excess = slack_ratio + tension_n * compliance_per_n - k / square;
        let step = -excess / (compliance_per_n + 2.0 * k / (square * tension_n));
        tension_n += step;
        if step.abs() <= 1e-6 * tension_n || !tension_n.is_finite() {
            break;
        }
    }
    tension_n
}

/// A unit vector across `axis`.
pub(super) fn any_across(axis: &Vector3<f64>) -> Vector3<f64> {
    let other = if axis.x.abs() < 0.9 { Vector3::x() } else { Vector3::y() };
    axis.cross(&other).normalize()
}
