//! A line shot from the drum: dr/ds = (1 + T/EA) t, dF/ds = −q, by the classical Runge-Kutta method with steps of a limited turn.

use beamstay_environment::flow::Flow;
use nalgebra::Vector3;

use super::{
    load::{Pull, load_n_per_m},
    mesh::{Element, Mesh},
    relax::Problem,
    solution::MAX_NODES,
};

/// Most steps of a shot that are at least even shares of what is left of the line, and of shorter ones: where a limp line leaves
/// the drum it turns within a hundredth of a step of the rest.
const EVEN: usize = 88;
const SHORT: usize = 40;
const STEPS: usize = EVEN + SHORT;
/// Most elements of a mesh of a shot, their nodes, and steps of the shot in each at least.
const ELEMENTS: usize = 24;
const ORDER: usize = 8;
const STEPS_OF_ELEMENT: usize = 2;
/// Turn of the line in one step, rad.
const TURN: f64 = 0.3;
/// Change of the load from one look at the middle of a step to the next, over the tension: where a strong wind rules a limp line,
/// short steps that turn little may be too long for the method.
const STIFF: f64 = 0.02;
const SHORTER: u32 = 3;
/// Shortest step, over the length.
const SHORTEST: f64 = 1e-7;
/// Fewest steps of a shot.
const FEWEST: f64 = 8.0;

/// One shot: the state at the ends of its steps.
#[derive(Debug, Clone)]
pub(super) struct Shot {
    share: [f64; STEPS + 1],
    force_n: [Vector3<f64>; STEPS + 1],
    load_n_per_m: [Vector3<f64>; STEPS + 1],
    steps: usize,
    /// Where it ends, m.
    pub end_m: Vector3<f64>,
}

impl Shot {
    pub(super) fn new() -> Self {
        Self {
            share: [0.0; STEPS + 1],
            force_n: [Vector3::zeros(); STEPS + 1],
            load_n_per_m: [Vector3::zeros(); STEPS + 1],
            steps: 0,
            end_m: Vector3::zeros(),
        }
    }

    pub(super) fn steps(&self) -> usize {
        self.steps
    }

    /// Force at the upper end, N.
    pub(super) fn top_force_n(&self) -> &Vector3<f64> {
        &self.force_n[self.steps]
    }

    /// Force at a place, a share of the length: cubics through forces and loads at the steps.
    pub(super) fn force_n(&self, place: f64, length_m: f64) -> Vector3<f64> {
        let above = self.share[..=self.steps].partition_point(|share| *share < place).clamp(1, self.steps);
        let (lo, hi) = (above - 1, above);
        let span = self.share[hi] - self.share[lo];
        let t = (place - self.share[lo]) / span;
        let step = self.force_n[hi] - self.force_n[lo];
        let slope = |k: usize| -length_m * span * self.load_n_per_m[k];
        let (bend_lo, bend_hi) = (slope(lo) - step, step - slope(hi));
        self.force_n[lo] + t * step + t * (1.0 - t) * ((1.0 - t) * bend_lo + t * bend_hi)
    }

    /// A mesh with elements of as many steps each.
    pub(super) fn mesh(&self) -> Mesh {
        let mut mesh = Mesh::empty();
        let of_element = STEPS_OF_ELEMENT.max(self.steps.div_ceil(ELEMENTS));
        for from in (0..self.steps).step_by(of_element) {
            let to = (from + of_element).min(self.steps);
            mesh.push(Element::even(self.share[from], self.share[to], ORDER), MAX_NODES);
        }
        mesh
    }

    /// Shoots with the steps of the last shot or with new ones.
    pub(super) fn shoot<F: Flow>(
        &mut self,
        problem: &Problem<'_, F>,
        drum_force_n: &Vector3<f64>,
        length_m: f64,
        anew: bool,
    ) -> Option<()> {
        let mut state = State { position_m: Vector3::zeros(), force_n: *drum_force_n };
        let last_steps = self.steps;
        let (mut place, mut k, mut steps) = (0.0, 0, Steps { even: EVEN, short: SHORT });
        loop {
            let slope = state.slope(problem);
            self.force_n[k] = state.force_n;
            self.load_n_per_m[k] = -slope.force_n;
            if anew {
                self.share[k] = place;
            }
            if if anew { place >= 1.0 || k == STEPS } else { k == last_steps } {
                break;
            }
            let next = match anew {
                true => place + steps.next(state.step_ratio(problem, &slope, length_m), 1.0 - place),
                false => self.share[k + 1],
            };
            state = state.after(problem, &slope, length_m * (next - place));
            place = next;
            k += 1;
        }
        self.steps = k;
        self.end_m = state.position_m;
        state.position_m.iter().all(|x| x.is_finite()).then_some(())
    }

    /// Where another drum force leads with the steps of the last shot, m.
    pub(super) fn end_m<F: Flow>(
        &self,
        problem: &Problem<'_, F>,
        drum_force_n: &Vector3<f64>,
        length_m: f64,
    ) -> Vector3<f64> {
        let mut state = State { position_m: Vector3::zeros(), force_n: *drum_force_n };
        for pair in self.share[..=self.steps].windows(2) {
            let slope = state.slope(problem);
            state = state.after(problem, &slope, length_m * (pair[1] - pair[0]));
        }
        state.position_m
    }
}

/// Steps that are left.
struct Steps {
    even: usize,
    short: usize,
}

impl Steps {
    /// The next step where one of `good` would do and `left` is left of the line, all shares of it.
    fn next(&mut self, good: f64, left: f64) -> f64 {
        let even = left / self.even as f64;
        if good < even && self.short > 0 {
            self.short -= 1;
            return good;
        }
        self.even -= 1;
        let step = good.max(even);
        if 1.2 * step >= left { left } else { step }
    }
}

/// Place and force at one point of a shot, or their change per metre.
#[derive(Debug, Clone, Copy)]
pub(super) struct State {
    pub position_m: Vector3<f64>,
    pub force_n: Vector3<f64>,
}

impl State {
    fn plus(&self, step_m: f64, slope: &Self) -> Self {
        Self {
            position_m: self.position_m + step_m * slope.position_m,
            force_n: self.force_n + step_m * slope.force_n,
        }
    }

    /// One step of the classical Runge-Kutta method; `first` is the slope where it begins.
    pub(super) fn after<F: Flow>(&self, problem: &Problem<'_, F>, first: &Self, step_m: f64) -> Self {
        let second = self.plus(0.5 * step_m, first).slope(problem);
        let third = self.plus(0.5 * step_m, &second).slope(problem);
        let fourth = self.plus(step_m, &third).slope(problem);
        let sixth_m = step_m / 6.0;
        self.plus(sixth_m, first)
            .plus(2.0 * sixth_m, &second)
            .plus(2.0 * sixth_m, &third)
            .plus(sixth_m, &fourth)
    }

    /// Tension, N, and the part of the change of the force that turns the line, N/m.
    pub(super) fn turning(&self, slope: &Self) -> (f64, f64) {
        let tension_n = self.force_n.norm();
        let along = self.force_n.dot(&slope.force_n) / (tension_n * tension_n);
        (tension_n, (slope.force_n - along * self.force_n).norm())
    }

    /// Next step that is good, as a share of the length.
    fn step_ratio<F: Flow>(&self, problem: &Problem<'_, F>, slope: &Self, length_m: f64) -> f64 {
        let (tension_n, across_n_per_m) = self.turning(slope);
        let turn_m = TURN * tension_n / across_n_per_m.max(f64::MIN_POSITIVE);
        let shear_m = self.position_m.z.abs() + 0.02 * length_m;
        let mut step_m = turn_m.min(shear_m).min(length_m / FEWEST);
        for _ in 0..SHORTER {
            let stiff = self.stiffness(problem, slope, step_m) / STIFF;
            if stiff <= 1.0 {
                break;
            }
            step_m /= stiff.sqrt().min(5.0);
        }
        (step_m / length_m).max(SHORTEST)
    }

    /// Change of the load over a step from one look at its middle to the next, over the tension.
    fn stiffness<F: Flow>(&self, problem: &Problem<'_, F>, first: &Self, step_m: f64) -> f64 {
        let second = self.plus(0.5 * step_m, first).slope(problem);
        let third = self.plus(0.5 * step_m, &second).slope(problem);
        step_m * (third.force_n - second.force_n).norm() / self.force_n.norm()
    }

    /// Change of position and force per metre.
    pub(super) fn slope<F: Flow>(&self, problem: &Problem<'_, F>) -> Self {
        let pull = Pull::new(&self.force_n, problem.compliance_per_n);
        let load = load_n_per_m(problem.line, &problem.flow.at(self.position_m.z), &pull);
        Self { position_m: pull.gradient(), force_n: -load }
    }
}
