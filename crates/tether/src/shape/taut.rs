//! A guess for a line that is nearly straight, in any flow: the load on the straight line between the ends, summed place by place,
//! so that a flow which turns round along the line, and whose mean says nothing, is followed too.

use beamstay_environment::flow::Flow;
use nalgebra::Vector3;

use super::{
    load::{Pull, load_n_per_m},
    relax::Problem,
};

/// Parts of the line that are summed.
const PARTS: usize = 64;
/// Slack up to which a line counts as nearly straight.
const MOST_SLACK: f64 = 0.1;
/// Halvings of the logarithm of the tension.
const HALVINGS: u32 = 60;

/// Loads on a straight line between the ends.
pub(super) struct Taut {
    chord: Vector3<f64>,
    distance_m: f64,
    compliance_per_n: f64,
    /// Load from the drum up to each part's start, N.
    carried_n: [Vector3<f64>; PARTS + 1],
    /// Mean of the load that is carried, N.
    mean_n: Vector3<f64>,
    /// Mean square of what differs from it across the line, N².
    square_n2: f64,
}

impl Taut {
    pub(super) fn new<F: Flow>(problem: &Problem<'_, F>) -> Self {
        let distance_m = problem.end_m.norm();
        let chord = problem.end_m / distance_m;
        let pull = Pull { tension_n: 0.0, tangent: chord, stretch_ratio: 1.0 };
        let mut carried_n = [Vector3::zeros(); PARTS + 1];
        for part in 0..PARTS {
            let place = (part as f64 + 0.5) / PARTS as f64;
            let load_n_per_m = load_n_per_m(problem.line, &problem.flow.at(place * problem.end_m.z), &pull);
            carried_n[part + 1] = carried_n[part] + distance_m / PARTS as f64 * load_n_per_m;
        }
        problem.budget.spend(PARTS);
        let middle = |part: usize| 0.5 * (carried_n[part] + carried_n[part + 1]);
        let mean_n = (0..PARTS).map(middle).sum::<Vector3<f64>>() / PARTS as f64;
        let across_n2 = |part: usize| {
            let off_n = middle(part) - mean_n;
            (off_n - off_n.dot(&chord) * chord).norm_squared()
        };
        let square_n2 = (0..PARTS).map(across_n2).sum::<f64>() / PARTS as f64;
        let compliance_per_n = problem.compliance_per_n;
        Self { chord, distance_m, compliance_per_n, carried_n, mean_n, square_n2 }
    }

    /// The unstretched length with a mean tension, m; `None` if it would not be nearly straight.
    pub(super) fn length_m(&self, mean_tension_n: f64) -> Option<f64> {
        let slack = self.square_n2 / (2.0 * mean_tension_n * mean_tension_n);
        let length_m = self.distance_m * (1.0 + slack) / (1.0 + self.compliance_per_n * mean_tension_n);
        (slack <= MOST_SLACK).then_some(length_m)
    }

    /// The mean tension of a line with a drum tension, N.
    pub(super) fn mean_tension_n(&self, drum_tension_n: f64) -> f64 {
        drum_tension_n - self.mean_n.dot(&self.chord)
    }

    /// The mean tension of a line of a length, N; `None` if it would not be nearly straight.
    pub(super) fn tension_at_length_n(&self, length_m: f64) -> Option<f64> {
        let least_n = (self.square_n2 / (2.0 * MOST_SLACK)).sqrt().max(f64::MIN_POSITIVE);
        let (mut lo_ln, mut hi_ln) = (least_n.ln(), (1e12 * least_n).ln());
        if self.length_m(1.000_001 * least_n)? < length_m {
            return None;
        }
        for _ in 0..HALVINGS {
            let middle = 0.5 * (lo_ln + hi_ln);
            let is_longer = self.length_m(middle.exp()).is_none_or(|longer_m| longer_m > length_m);
            if is_longer { lo_ln = middle } else { hi_ln = middle }
        }
        Some(hi_ln.exp())
    }

    /// Force at a place, a share of the length, of a line with a mean tension, N.
    pub(super) fn force_n(&self, mean_tension_n: f64, place: f64) -> Vector3<f64> {
        let at = (place * PARTS as f64).clamp(0.0, PARTS as f64);
        let part = (at as usize).min(PARTS - 1);
        let carried_n = self.carried_n[part].lerp(&self.carried_n[part + 1], at - part as f64);
        mean_tension_n * self.chord + self.mean_n - carried_n
    }
}
