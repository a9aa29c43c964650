//! A line that hangs from its upper end alone down to the ground.

use beamstay_environment::flow::Flow;
use nalgebra::Vector3;

use super::{
    super::{
        load::{Pull, load_n_per_m, weight_n_per_m},
        mesh::{Boundary, Element, Mesh},
        solution::MAX_NODES,
    },
    stiff,
};
use crate::{error::TetherError, line::Line};

/// Steps from the lower end to the upper one: of most lines, and where those are too few.
pub(super) const STEPS: usize = 120;
pub(super) const MORE_STEPS: usize = 480;
/// Most stretches of smooth flow that are told apart.
const MOST_STRETCHES: usize = 5;
/// Part of the height at the lower end over which the line is straight: there is no tension yet to bend against.
const START_RATIO: f64 = 1e-4;
/// Pull at the lower end, N: next to nothing, so that it only gives a direction.
const TIP_N: f64 = 1e-12;
/// Halvings of the angle at the lower end.
const HALVINGS: u32 = 60;
/// Steepness that a step counts with at least.
const LEAST_CLIMB: f64 = 1e-6;

/// Where a stretch of smooth flow is parted into elements of a mesh, and the nodes of each.
const PARTS_OF_STRETCH: [f64; 4] = [0.0, 0.05, 0.3, 1.0];
const ORDER: usize = 10;

/// Place and pull after one step from the lower end.
#[derive(Debug, Clone, Copy)]
pub(super) struct Station {
    /// Unstretched length from the lower end, m.
    pub s_m: f64,
    /// Place relative to the lower end, m.
    pub position_m: Vector3<f64>,
    /// Pull of the part above on the part below, N.
    pub force_n: Vector3<f64>,
    /// Load per unstretched metre, N/m.
    pub load_n_per_m: Vector3<f64>,
}

/// A line whose lower end only just rests on the ground, without tension. Its lower end points against the load on it: upright
/// in still air, at the critical angle of a long line in wind.
#[derive(Debug, Clone, Copy)]
pub(super) struct Loose {
    stations: [Station; MORE_STEPS + 1],
    /// Steps of each stretch of smooth flow.
    steps: usize,
    stretches: usize,
    compliance_per_n: f64,
}

impl Loose {
    /// A line that hangs down from `height_m` in a flow whose heights count from the ground, in so many steps.
    ///
    /// # Errors
    /// [`TetherError::Indeterminate`] for a line without weight, which does not come down.
    pub(super) fn new(
        line: &Line,
        flow: &impl Flow,
        height_m: f64,
        steps: usize,
    ) -> Result<Self, TetherError> {
        let indeterminate = TetherError::Indeterminate { length_m: height_m, distance_m: height_m };
        if weight_n_per_m(line, flow.at(0.0).density_kg_m3) <= 0.0 {
            return Err(indeterminate);
        }
        let loose = Self::integrated(line, flow, height_m, steps);
        let top = loose.top();
        if top.s_m.is_finite() && top.force_n.z > 0.0 { Ok(loose) } else { Err(indeterminate) }
    }

    /// Runge's and Kutta's fourth-order method over the height, from the lower end; a step ends where the flow has a kink,
    /// and steps are shorter above it, where shear is strongest.
    fn integrated(line: &Line, flow: &impl Flow, height_m: f64, steps: usize) -> Self {
        let slopes = Slopes { line, flow, compliance_per_n: line.compliance_per_n() };
        let (ends_m, stretches) = stretches(flow, height_m);
        let start = lower_tangent(line, flow);
        let tip_n = TIP_N * start;
        let load_n_per_m = slopes.at(&Vector3::zeros(), &tip_n).3;
        let tip = Station { s_m: 0.0, position_m: Vector3::zeros(), force_n: tip_n, load_n_per_m };
        let mut loose = Self {
            stations: [tip; MORE_STEPS + 1],
            steps: steps / stretches,
            stretches,
            compliance_per_n: slopes.compliance_per_n,
        };
        let s_m = START_RATIO * ends_m[0] / start.z;
        let mut now = Station { s_m, position_m: s_m * start, force_n: -s_m * load_n_per_m, load_n_per_m };
        let mut below_m = 0.0;
        for (stretch, end_m) in ends_m.into_iter().enumerate().take(stretches) {
            for step in 1..=loose.steps {
                let x = step as f64 / loose.steps as f64;
                // From the lower end on it bends over lengths as short as the way from there.
                let share = match stretch {
                    0 => START_RATIO + (1.0 - START_RATIO) * x * x * x,
                    _ => x * (0.1 + 0.9 * x),
                };
                let to_m = below_m + (end_m - below_m) * share;
                now = match steps {
                    STEPS => slopes.step(&now, to_m),
                    _ => slopes.stiff_step(&now, to_m),
                };
                loose.stations[stretch * loose.steps + step] = now;
            }
            below_m = end_m;
        }
        loose
    }

    /// Lengths from the lower end between which the flow is smooth, from the lower end on, m.
    pub(super) fn smooth_m(&self) -> impl DoubleEndedIterator<Item = (f64, f64)> + '_ {
        (0..self.stretches)
            .map(|k| (self.stations[k * self.steps].s_m, self.stations[(k + 1) * self.steps].s_m))
    }

    /// A mesh for it, whose elements end at the kinks of the flow.
    pub(super) fn mesh(&self, flow: &impl Flow) -> Mesh {
        let mut mesh = Mesh::empty();
        for stretch in 0..self.stretches {
            let (first, last) =
                (&self.stations[stretch * self.steps], &self.stations[(stretch + 1) * self.steps]);
            let height_m = last.position_m.z;
            let kink_m = |kink_m: &&f64| (**kink_m - height_m).abs() <= 1e-9 * height_m;
            let kink_m = flow.kink_heights_m().iter().find(kink_m);
            for part in PARTS_OF_STRETCH.windows(2) {
                let at = |part: f64| (first.s_m + part * (last.s_m - first.s_m)) / self.length_m();
                let boundary = match kink_m.filter(|_| part[1] >= 1.0) {
                    Some(kink_m) if stretch + 1 < self.stretches => Boundary::Height(*kink_m),
                    _ => Boundary::Free,
                };
                mesh.push(Element { boundary, ..Element::even(at(part[0]), at(part[1]), ORDER) }, MAX_NODES);
            }
        }
        mesh
    }

    /// Lower end, steps, upper end.
    pub(super) fn stations(&self) -> &[Station] {
        &self.stations[..=self.steps * self.stretches]
    }

    fn top(&self) -> &Station {
        &self.stations[self.steps * self.stretches]
    }

    /// From the lower end to the upper one, m.
    pub(super) fn reach_m(&self) -> Vector3<f64> {
        self.top().position_m
    }

    /// Unstretched length, m.
    pub(super) fn length_m(&self) -> f64 {
        self.top().s_m
    }

    /// Stretched length, m.
    pub(super) fn stretched_m(&self) -> f64 {
        let stretch = |station: &Station| 1.0 + self.compliance_per_n * station.force_n.norm();
        self.stations()
            .windows(2)
            .map(|pair| 0.5 * (pair[1].s_m - pair[0].s_m) * (stretch(&pair[0]) + stretch(&pair[1])))
            .sum()
    }

    /// Change of place per unstretched metre under a pull.
    pub(super) fn gradient(&self, force_n: &Vector3<f64>) -> Vector3<f64> {
        Pull::new(force_n, self.compliance_per_n).gradient()
    }

    /// Tension at the upper end, N.
    pub(super) fn top_tension_n(&self) -> f64 {
        self.top().force_n.norm()
    }
}

/// Heights at which the stretches of smooth flow below `height_m` end, and how many there are.
fn stretches(flow: &impl Flow, height_m: f64) -> ([f64; MOST_STRETCHES], usize) {
    let (mut ends_m, mut count) = ([height_m; MOST_STRETCHES], 1);
    for kink_m in flow.kink_heights_m() {
        let share = kink_m / height_m;
        if share > 1e-6 && share < 1.0 - 1e-6 && count < MOST_STRETCHES {
            ends_m[count - 1] = *kink_m;
            count += 1;
        }
    }
    (ends_m, count)
}

/// Changes over the height of a line that hangs in a flow whose heights count from the ground.
struct Slopes<'a, F: Flow> {
    line: &'a Line,
    flow: &'a F,
    compliance_per_n: f64,
}

impl<F: Flow> Slopes<'_, F> {
    /// Changes of place, pull and length with the height, and the load.
    fn at(
        &self,
        position_m: &Vector3<f64>,
        force_n: &Vector3<f64>,
    ) -> (Vector3<f64>, Vector3<f64>, f64, Vector3<f64>) {
        let pull = Pull::new(force_n, self.compliance_per_n);
        let gradient = pull.gradient();
        let load = load_n_per_m(self.line, &self.flow.at(position_m.z), &pull);
        let metres = 1.0 / gradient.z.max(LEAST_CLIMB);
        (metres * gradient, metres * load, metres, load)
    }

    /// The station one step further up, at the height `to_m`, where the pull turns within a hair.
    fn stiff_step(&self, from: &Station, to_m: f64) -> Station {
        let (z_m, rise_m) = (from.position_m.z, to_m - from.position_m.z);
        let at = |z_m: f64, force_n: &Vector3<f64>| self.at(&Vector3::new(0.0, 0.0, z_m), force_n);
        let [third_n, force_n] =
            stiff::pulls_n(z_m, rise_m, &from.force_n, |z_m, force_n| -at(z_m, force_n).1);
        let (r1, _, s1, _) = at(z_m + rise_m / 3.0, &third_n);
        let (r2, _, s2, load_n_per_m) = at(to_m, &force_n);
        let mut position_m = from.position_m + stiff::sum(rise_m, r1, r2);
        position_m.z = to_m;
        Station { s_m: from.s_m + stiff::sum(rise_m, s1, s2), position_m, force_n, load_n_per_m }
    }

    /// The station one step further up, at the height `to_m`.
    fn step(&self, from: &Station, to_m: f64) -> Station {
        let rise_m = to_m - from.position_m.z;
        let (r, f) = (from.position_m, from.force_n);
        let (r1, q1, s1, _) = self.at(&r, &f);
        let (r2, q2, s2, _) = self.at(&(r + 0.5 * rise_m * r1), &(f - 0.5 * rise_m * q1));
        let (r3, q3, s3, _) = self.at(&(r + 0.5 * rise_m * r2), &(f - 0.5 * rise_m * q2));
        let (r4, q4, s4, _) = self.at(&(r + rise_m * r3), &(f - rise_m * q3));
        let mut position_m = r + rise_m / 6.0 * (r1 + 2.0 * (r2 + r3) + r4);
        position_m.z = to_m;
        let force_n = f - rise_m / 6.0 * (q1 + 2.0 * (q2 + q3) + q4);
        let s_m = from.s_m + rise_m / 6.0 * (s1 + 2.0 * (s2 + s3) + s4);
        Station { s_m, position_m, force_n, load_n_per_m: self.at(&position_m, &force_n).3 }
    }
}

/// Direction of the lower end: the load there points straight along it. It lies in the plane of the wind, between the wind and
/// the vertical.
fn lower_tangent(line: &Line, flow: &impl Flow) -> Vector3<f64> {
    let sample = flow.at(0.0);
    let Some(downwind) = Vector3::new(sample.velocity_m_s.x, sample.velocity_m_s.y, 0.0).try_normalize(0.0)
    else {
        return Vector3::z();
    };
    let (mut lo, mut hi) = (0.0_f64, std::f64::consts::FRAC_PI_2);
    let tangent = |angle: f64| angle.sin() * Vector3::z() - angle.cos() * downwind;
    for _ in 0..HALVINGS {
        let angle = 0.5 * (lo + hi);
        let load = load_n_per_m(line, &sample, &Pull::new(&tangent(angle), 0.0));
        // The load across it turns a steep end down the wind and a flat one to the ground.
        let across = angle.cos() * Vector3::z() + angle.sin() * downwind;
        if load.dot(&across) > 0.0 { hi = angle } else { lo = angle }
    }
    tangent(0.5 * (lo + hi))
}
