//! The lines of a column in one wind: on which drum forces they are followed from the drum, what is kept of each, and where on a net of
//! them one hangs whose ends and length are known.

use beamstay_environment::Flow;
use beamstay_numerics::constants::STANDARD_GRAVITY_M_S2;
use beamstay_tether::{Ascending, ascend};
use nalgebra::Vector3;

use super::net::Net;
use crate::system::{line::TetherLine, surroundings::Stream};

/// Step between two elevations, °.
const STEP_DEG: f64 = 8.0;
/// Drum tension, of the load on a straight line, below which a net is even, and the step in its inverse hyperbolic sine.
const EVEN: f64 = 0.01;
const STEP: f64 = 0.5;
/// Least inverse hyperbolic sine beyond the first place of a net.
const FADED: f64 = 0.02;
/// Corrections of the plane in which a line leaves the drum, and of the place of a line on a net; how near they come.
const TILTS: usize = 6;
const STEPS: usize = 16;
pub(super) const CLOSE: f64 = 1e-9;

/// Numbers of a line: angle of its chord above the horizon, rad; logarithm of its slack; the load on it, N (3); tilt of the plane in
/// which it leaves the drum, rad; its largest tension over that at the vehicle; drum tension over the smallest bend radius, N/m;
/// lowest place, m.
pub(super) const LINE: usize = 9;
pub(super) const CHORD: usize = 0;
pub(super) const SLACK: usize = 1;
pub(super) const TILT: usize = 5;

/// Drum forces at the places of a net.
#[derive(Debug, Clone, Copy)]
pub(super) struct Forces {
    /// Elevation of the first, rad, and step.
    pub elevation: (f64, f64),
    /// Tension in which the net is even, N; inverse hyperbolic sine of the first over it, and step.
    pub even_n: f64,
    tension: (f64, f64),
    pub counts: [usize; 2],
}

impl Forces {
    pub(super) fn new(lowest_deg: f64, tensions_n: (f64, f64), load_n: f64) -> Self {
        let even_n = EVEN * load_n;
        let (lo, hi) = ((tensions_n.0 / even_n).asinh(), (tensions_n.1 / even_n).asinh());
        let count = |span: f64, step: f64| ((span / step).ceil() as usize + 1).max(4);
        let span_deg = 180.0 - 2.0 * lowest_deg;
        let counts = [count(span_deg, STEP_DEG), count(hi - lo, STEP)];
        let step = |span: f64, count: usize| span / (count - 1) as f64;
        Self {
            elevation: (lowest_deg.to_radians(), step(span_deg.to_radians(), counts[0])),
            even_n,
            tension: (lo, step(hi - lo, counts[1])),
            counts,
        }
    }

    pub(super) fn elevation_rad(&self, u: f64) -> f64 {
        self.elevation.0 + self.elevation.1 * u
    }

    pub(super) fn tension_n(&self, v: f64) -> f64 {
        self.even_n * (self.tension.0 + self.tension.1 * v).max(FADED).sinh()
    }

    pub(super) fn step_of_tension(&self, tension_n: f64) -> f64 {
        ((tension_n / self.even_n).asinh() - self.tension.0) / self.tension.1
    }

    /// Change of the logarithm of the tension over a step.
    pub(super) fn growth(&self, v: f64) -> f64 {
        self.tension.1 / (self.tension.0 + self.tension.1 * v).tanh()
    }

    pub(super) fn force_n(&self, at: [f64; 2], tilt_rad: f64) -> Vector3<f64> {
        let (sin, cos) = self.elevation_rad(at[0]).sin_cos();
        self.tension_n(at[1]) * Vector3::new(cos, sin * tilt_rad.sin(), sin * tilt_rad.cos())
    }
}

/// How the lines of a column are followed.
pub(super) struct Follow<'a> {
    pub line: &'a TetherLine,
    pub asked: Ascending,
    pub crosswind_m: f64,
    pub strain_ratio: f64,
}

impl Follow<'_> {
    pub(super) fn net(&self, stream: &Stream, forces: &Forces) -> Net<LINE> {
        Net::new(forces.counts, |at| self.numbers(stream, forces, at.map(|k| k as f64)))
    }

    /// The line with a drum force, its plane tilted until it ends where the vehicle is across the wind.
    fn numbers(&self, stream: &Stream, forces: &Forces, at: [f64; 2]) -> Option<[f64; LINE]> {
        let height_m = self.asked.height_m;
        let mut tilt_rad = self.crosswind_m.atan2(height_m);
        for _ in 0..TILTS {
            let drum_n = forces.force_n(at, tilt_rad);
            let ascent = ascend(&self.line.line, stream, drum_n, &self.asked).ok()??;
            let missed_m = self.crosswind_m - ascent.end_m.y;
            if missed_m.abs() > 1e-6 * height_m {
                tilt_rad += missed_m / height_m;
                continue;
            }
            let slack_ratio = ascent.paid_out_m / ascent.end_m.norm() - 1.0 + self.strain_ratio;
            let load_n = drum_n - ascent.top_force_n;
            let bent_n_per_m = drum_n.norm() * ascent.max_curvature_per_m;
            return Some([
                height_m.atan2(ascent.end_m.x),
                slack_ratio.max(1e-12).ln(),
                load_n.x,
                load_n.y,
                load_n.z,
                tilt_rad,
                ascent.max_tension_n / ascent.top_force_n.norm(),
                bent_n_per_m,
                ascent.lowest_m,
            ]);
        }
        None
    }
}

/// Load of weight and wind on a straight line across the wind, N.
pub(super) fn load_n(line: &TetherLine, stream: &Stream, height_m: f64) -> f64 {
    let sample = stream.at(height_m);
    let speed_m_s = sample.velocity_m_s.norm();
    let drag = 0.5 * sample.density_kg_m3 * line.diameter_m * speed_m_s * speed_m_s;
    height_m * (line.line.mass_kg_per_m * STANDARD_GRAVITY_M_S2 + drag)
}

/// The known place of a net nearest to a chord and a slack.
pub(super) fn nearest(net: &Net<LINE>, chord_rad: f64, slack: f64) -> Option<[f64; 2]> {
    let off = |line: &[f64; LINE]| (line[CHORD] - chord_rad).powi(2) + (0.3 * (line[SLACK] - slack)).powi(2);
    let near = net.known().min_by(|a, b| off(a.1).total_cmp(&off(b.1)))?;
    Some(near.0.map(|k| k as f64))
}

/// The place of a chord and a slack, by Newton's method.
pub(super) fn found(net: &Net<LINE>, chord_rad: f64, slack: f64, from: [f64; 2]) -> Option<[f64; 2]> {
    let mut at = from;
    for _ in 0..STEPS {
        let line = net.between(at)?;
        let (chord, slackness) = (chord_rad - line[CHORD], slack - line[SLACK]);
        if chord.abs() <= CLOSE && slackness.abs() <= CLOSE {
            return Some(at);
        }
        let (by_u, by_v) = (net.slope(at, 0)?, net.slope(at, 1)?);
        let size = by_u[CHORD] * by_v[SLACK] - by_v[CHORD] * by_u[SLACK];
        let step = [
            (chord * by_v[SLACK] - slackness * by_v[CHORD]) / size,
            (slackness * by_u[CHORD] - chord * by_u[SLACK]) / size,
        ];
        let most = step[0].abs().max(step[1].abs());
        let part = if most > 1.0 { 1.0 / most } else { 1.0 };
        for k in 0..2 {
            at[k] = (at[k] + part * step[k]).clamp(-0.5, net.counts()[k] as f64 - 0.5);
        }
    }
    None
}
