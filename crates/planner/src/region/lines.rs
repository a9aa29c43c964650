//! The lines of a column in one wind: on which drum forces they are followed from the drum, what is kept of each, and where on a net of
//! them one hangs whose ends and length are known.

use beamstay_environment::Flow;
use beamstay_numerics::constants::STANDARD_GRAVITY_M_S2;
use beamstay_tether::{Ascending, Ascent, ascend, ascend_past};
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
/// lowest place
/// beyond the first metres and of all, m.
pub(super) const LINE: usize = 10;
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

    /// All places.
    pub(super) fn places(&self) -> impl Iterator<Item = [usize; 2]> {
        let count = self.counts[1];
        (0..self.counts[0] * count).map(move |k| [k / count, k % count])
    }

    /// The last row whose tension is not above one, as long as enough rows are left for a net.
    pub(super) fn row_below(&self, tension_n: f64) -> usize {
        (self.step_of_tension(tension_n).floor().max(0.0) as usize).min(self.counts[1].saturating_sub(4))
    }

    /// The same from a row on.
    pub(super) fn above_row(&self, first: usize) -> Self {
        let (least, step) = self.tension;
        Self {
            tension: (least + step * first as f64, step),
            counts: [self.counts[0], self.counts[1] - first],
            ..*self
        }
    }

    pub(super) fn force_n(&self, at: [f64; 2], tilt_rad: f64) -> Vector3<f64> {
        let (sin, cos) = self.elevation_rad(at[0]).sin_cos();
        self.tension_n(at[1]) * Vector3::new(cos, sin * tilt_rad.sin(), sin * tilt_rad.cos())
    }
}

/// How lines are followed.
pub(super) struct Follow<'a> {
    pub line: &'a TetherLine,
    pub asked: Ascending,
    pub crosswind_m: f64,
    pub strain_ratio: f64,
}

impl Follow<'_> {
    /// The lines with a drum force past heights that rise, of those that it reaches; of more than one only in a plane.
    pub(super) fn past(
        &self,
        stream: &Stream,
        forces: &Forces,
        at: [usize; 2],
        heights_m: &[f64],
    ) -> Vec<[f64; LINE]> {
        let at = at.map(|k| k as f64);
        if let [height_m] = heights_m {
            return self.tilted(stream, forces, at, *height_m).into_iter().collect();
        }
        let drum_n = forces.force_n(at, 0.0);
        let ascents = ascend_past(&self.line.line, stream, drum_n, heights_m, &self.asked);
        ascents.unwrap_or_default().iter().map(|ascent| self.numbers(ascent, 0.0)).collect()
    }

    /// The line with a drum force, its plane tilted until it ends where the vehicle is across the wind.
    fn tilted(&self, stream: &Stream, forces: &Forces, at: [f64; 2], height_m: f64) -> Option<[f64; LINE]> {
        let mut tilt_rad = self.crosswind_m.atan2(height_m);
        for _ in 0..TILTS {
            let drum_n = forces.force_n(at, tilt_rad);
            let ascent = ascend(&self.line.line, stream, drum_n, height_m, &self.asked).ok()??;
            let missed_m = self.crosswind_m - ascent.end_m.y;
            if missed_m.abs() <= 1e-6 * height_m {
                return Some(self.numbers(&ascent, tilt_rad));
            }
            tilt_rad += missed_m / height_m;
        }
        None
    }

    fn numbers(&self, ascent: &Ascent, tilt_rad: f64) -> [f64; LINE] {
        let slack_ratio = ascent.paid_out_m / ascent.end_m.norm() - 1.0 + self.strain_ratio;
        let load_n = ascent.drum_force_n - ascent.top_force_n;
        [
            ascent.end_m.z.atan2(ascent.end_m.x),
            slack_ratio.max(1e-12).ln(),
            load_n.x,
            load_n.y,
            load_n.z,
            tilt_rad,
            ascent.max_tension_n / ascent.top_force_n.norm(),
            ascent.drum_force_n.norm() * ascent.max_curvature_per_m,
            ascent.lowest_m,
            ascent.lowest_of_all_m,
        ]
    }
}

/// Weight of a straight line and the wind on it at the height, N.
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
        let [[chord_there, chord_by_u, chord_by_v], [slack_there, slack_by_u, slack_by_v]] =
            net.sloped(at, [CHORD, SLACK])?;
        let (chord, slackness) = (chord_rad - chord_there, slack - slack_there);
        if chord.abs() <= CLOSE && slackness.abs() <= CLOSE {
            return Some(at);
        }
        let size = chord_by_u * slack_by_v - chord_by_v * slack_by_u;
        let step = [
            (chord * slack_by_v - slackness * chord_by_v) / size,
            (slackness * chord_by_u - chord * slack_by_u) / size,
        ];
        let most = step[0].abs().max(step[1].abs());
        let part = if most > 1.0 { 1.0 / most } else { 1.0 };
        for k in 0..2 {
            at[k] = (at[k] + part * step[k]).clamp(-0.5, net.counts()[k] as f64 - 0.5);
        }
    }
    None
}
