//! The quick solver: sweeps that renew the load on the tether and correct the force at the drum.
//!
//! A sweep integrates the tangent to heights, asks the flow there, integrates the load to forces and shifts them all by the
//! Newton step that brings the end to the vehicle with that load, Jacobian ∫ (I − ttᵀ)/T + I/EA ds. What is left is the
//! dependence of the load on the shape; [`super::mixer::Mixer`] speeds that up.

#![allow(clippy::needless_range_loop, reason = "node and axis numbers run over several arrays at once")]

use beamstay_environment::flow::Flow;
use nalgebra::{Matrix3, Vector3};

use super::{
    Shape,
    budget::Budget,
    gauss::rule,
    growth::{Off, Step},
    lanes::{Axes, Lanes, Sums},
    load::Pull,
    mesh::{MAX_ELEMENTS, Mesh},
    slopes::DrumSlopes,
};
use crate::line::Line;

/// End force below which, relative to the other one, only its absolute error counts.
pub(super) const NEGLIGIBLE_RATIO: f64 = 1e-3;

/// Ratio in which the changes of sweeps shrink, where no sweeps were made.
pub(super) const UNKNOWN_RATIO: f64 = 0.5;

/// What is held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Held {
    /// The unstretched length.
    Length,
    /// The tension at the drum, N; the length follows.
    DrumTension(f64),
}

/// What is solved for.
pub(super) struct Problem<'a, F: Flow> {
    pub line: &'a Line,
    pub flow: &'a F,
    pub compliance_per_n: f64,
    pub end_m: Vector3<f64>,
    pub held: Held,
    pub budget: &'a Budget,
    /// On the way to a difficult tether: the share of the true load, and the load of which the rest is.
    pub blend: Option<(f64, Vector3<f64>)>,
    /// Whether nothing pulls at the lower end, which is where the line leads to.
    pub is_loose: bool,
}

impl<'a, F: Flow> Problem<'a, F> {
    pub(super) fn new(
        line: &'a Line,
        flow: &'a F,
        end_m: Vector3<f64>,
        held: Held,
        budget: &'a Budget,
    ) -> Self {
        let compliance_per_n = line.compliance_per_n();
        Self { line, flow, compliance_per_n, end_m, held, budget, blend: None, is_loose: false }
    }

    /// The same with something else held.
    pub(super) fn with(&self, held: Held) -> Self {
        Self { held, ..*self }
    }

    /// Whether a drum force has the tension that is held, if one is.
    pub(super) fn is_held(&self, drum_force_n: &Vector3<f64>, tolerance: f64) -> bool {
        match self.held {
            Held::Length => true,
            Held::DrumTension(tension_n) => (drum_force_n.norm() - tension_n).abs() <= tolerance * tension_n,
        }
    }
}

/// What a sweep changed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Progress {
    /// Largest change of the force at a node or an end, N.
    pub change_n: f64,
    /// Distance by which the end was missed before the correction, m.
    pub missed_m: f64,
    /// Relative change of the length.
    pub growth_ratio: f64,
}

impl Progress {
    pub(super) fn is_finite(&self) -> bool {
        self.change_n.is_finite() && self.missed_m.is_finite() && self.growth_ratio.is_finite()
    }
}

/// The tether on a mesh with up to `N` nodes.
#[derive(Debug, Clone)]
pub(super) struct Grid<const N: usize> {
    pub mesh: Mesh,
    pub length_m: f64,
    /// Share of the element below each node, and its slope.
    pub share: [(f64, f64); N],
    pub force_n: Axes<N>,
    /// Forces that the last sweep gave; see [`Grid::advance`].
    pub next_n: Axes<N>,
    pub load_n_per_m: Axes<N>,
    /// Velocity of the flow.
    pub velocity_m_s: Axes<N>,
    pub z_m: [f64; N],
    pub lanes: Lanes<N>,
    pub start_force_n: [Vector3<f64>; MAX_ELEMENTS],
    pub start_position_m: [Vector3<f64>; MAX_ELEMENTS],
    pub drum_force_n: Vector3<f64>,
    pub top_force_n: Vector3<f64>,
    pub end_position_m: Vector3<f64>,
    pub stretched_m: f64,
    pub slopes: DrumSlopes,
    /// The last change of the length; none where the forces have changed since.
    pub step: Option<Step>,
    /// How much the changes shrink from sweep to sweep at worst.
    pub contraction_ratio: f64,
    /// Whether the error may be larger than it looks.
    pub is_doubtful: bool,
    /// Whether the length takes up what the place of the end is off, as that of a nearly straight line with a given tension does.
    pub gives_way: bool,
    pub iterations_count: u32,
    pub flow_evaluations_count: u32,
}

impl<const N: usize> Grid<N> {
    pub(super) fn new(length_m: f64) -> Self {
        const { assert!(N.is_multiple_of(4), "nodes are handled in fours") };
        Self {
            mesh: Mesh::empty(),
            length_m,
            share: [(0.0, 0.0); N],
            force_n: Axes::zeros(),
            next_n: Axes::zeros(),
            load_n_per_m: Axes::zeros(),
            velocity_m_s: Axes::zeros(),
            z_m: [0.0; N],
            lanes: Lanes::empty(),
            start_force_n: [Vector3::zeros(); MAX_ELEMENTS],
            start_position_m: [Vector3::zeros(); MAX_ELEMENTS],
            drum_force_n: Vector3::zeros(),
            top_force_n: Vector3::zeros(),
            end_position_m: Vector3::zeros(),
            stretched_m: 0.0,
            slopes: DrumSlopes::unknown(),
            step: None,
            contraction_ratio: UNKNOWN_RATIO,
            is_doubtful: false,
            gives_way: false,
            iterations_count: 0,
            flow_evaluations_count: 0,
        }
    }

    /// Sets the force at every node from a function of the place.
    pub(super) fn set_force(&mut self, force_n: impl Fn(f64) -> Vector3<f64>) {
        for element in self.mesh.elements() {
            for node in element.nodes() {
                let place_ratio = element.start_ratio + element.span_ratio * self.share[node].0;
                self.force_n.set(node, force_n(place_ratio));
            }
        }
        self.drum_force_n = force_n(0.0);
        self.top_force_n = force_n(1.0);
    }

    /// Change of the drum force with the place of the end, N/m.
    pub(super) fn stiffness_n_per_m(&self) -> Matrix3<f64> {
        let DrumSlopes { stiffness_n_per_m, by_growth_n, .. } = self.slopes;
        if !self.gives_way {
            return stiffness_n_per_m;
        }
        let tangent = Pull::new(&self.drum_force_n, 0.0).tangent;
        let growth = by_growth_n * tangent.transpose() / tangent.dot(&by_growth_n);
        (Matrix3::identity() - growth) * stiffness_n_per_m
    }

    /// Force, N, and velocity of the flow, m/s, at every node.
    pub(super) fn flows(&self) -> impl Iterator<Item = (Vector3<f64>, Vector3<f64>)> + '_ {
        (0..self.mesh.nodes_count()).map(|node| (self.force_n.at(node), self.velocity_m_s.at(node)))
    }

    /// Force to which errors are related (the smaller end force, if it is not negligible), and the larger end force, N.
    pub(super) fn end_scales_n(&self) -> (f64, f64) {
        let (drum_n, top_n) = (self.drum_force_n.norm(), self.top_force_n.norm());
        let largest_n = drum_n.max(top_n);
        (drum_n.min(top_n).max(NEGLIGIBLE_RATIO * largest_n), largest_n)
    }

    /// One sweep.
    pub(super) fn sweep(&mut self, problem: &Problem<'_, impl Flow>) -> Progress {
        let sums = self.sums(problem);
        self.correct(problem, &sums)
    }

    /// Takes over what the last sweep gave.
    pub(super) fn advance(&mut self) {
        self.force_n = self.next_n;
    }

    /// Heights, loads and end position for the forces as they are; the next forces are what the loads give if the drum force is
    /// zero.
    pub(super) fn integrate(&mut self, problem: &Problem<'_, impl Flow>) {
        let sums = self.sums(problem);
        for start in &mut self.start_force_n[..self.mesh.elements().len()] {
            *start += self.drum_force_n;
        }
        self.top_force_n = self.drum_force_n - sums.load_n;
        self.end_position_m = sums.position_m;
        self.stretched_m = sums.stretched_m;
        self.slopes.stiffness_n_per_m = sums.flexibility_m_per_n.try_inverse().unwrap_or_else(Matrix3::zeros);
        self.iterations_count += 1;
    }

    /// Newton step on drum force and length, and what it changes.
    fn correct(&mut self, problem: &Problem<'_, impl Flow>, sums: &Sums) -> Progress {
        let missed_m = problem.end_m - sums.position_m;
        let stiffness = sums.flexibility_m_per_n.try_inverse().unwrap_or_else(Matrix3::zeros);
        let mut drum_n = stiffness * (missed_m - sums.shift_m);
        let by_growth_n = -stiffness * (sums.position_m + sums.by_length_m);
        self.slopes = DrumSlopes { stiffness_n_per_m: stiffness, by_growth_n, ..self.slopes };
        let mut growth = 0.0;
        let last = self.step.take();
        if let Held::DrumTension(tension_n) = problem.held {
            let off = self.off(tension_n, &drum_n);
            if let Some(by_load_n) = last.and_then(|last| last.by_load_n(&off)) {
                self.slopes.by_load_n = by_load_n;
            }
            growth = off.growth(&self.slopes, give_ratio(sums.stretched_m, &problem.end_m, self.length_m));
            drum_n += growth * by_growth_n;
            self.step = Some(Step { off, growth, change_n: 0.0 });
        }
        let mut square = (drum_n - self.drum_force_n).norm_squared();
        for k in 0..self.mesh.nodes_count() {
            let force_n = (1.0 + growth) * self.next_n.at(k) + drum_n;
            square = square.max((force_n - self.force_n.at(k)).norm_squared());
            self.next_n.set(k, force_n);
        }
        for start in &mut self.start_force_n[..self.mesh.elements().len()] {
            *start = (1.0 + growth) * *start + drum_n;
        }
        let top_n = drum_n - (1.0 + growth) * sums.load_n;
        square = square.max((top_n - self.top_force_n).norm_squared());
        self.drum_force_n = drum_n;
        self.top_force_n = top_n;
        self.end_position_m = sums.position_m;
        self.stretched_m = sums.stretched_m;
        self.length_m *= 1.0 + growth;
        self.iterations_count += 1;
        if let Some(step) = &mut self.step {
            step.change_n = square.sqrt();
        }
        Progress { change_n: square.sqrt(), missed_m: missed_m.norm(), growth_ratio: growth }
    }

    /// What a drum force `drum_n` is off a tension. Unknowns are drum force and growth, conditions the place of the end and the size
    /// of the force.
    fn off(&self, tension_n: f64, drum_n: &Vector3<f64>) -> Off {
        let tangent = Pull::new(&self.drum_force_n, 0.0).tangent;
        let slope_n = tangent.dot(&self.slopes.by_growth_n);
        Off { tension_n, missing_n: tension_n - tangent.dot(drum_n), slope_n }
    }

    /// Takes a neighbouring shape to the end and to the length or tension of this problem, its load held: what a first sweep
    /// would do, without one.
    pub(super) fn start_from(&mut self, shape: &Shape, problem: &Problem<'_, impl Flow>) {
        let count = shape.mesh.nodes_count();
        self.lay(&shape.mesh);
        self.drum_force_n = shape.start_force_n[0];
        self.slopes = shape.slopes;
        let shift_n = shape.slopes.stiffness_n_per_m * (problem.end_m - shape.end_m);
        let growth = match problem.held {
            Held::Length => self.length_m / shape.length_m - 1.0,
            Held::DrumTension(tension_n) => {
                let give = give_ratio(shape.stretched_m, &shape.end_m, shape.length_m);
                let growth = self.off(tension_n, &(self.drum_force_n + shift_n)).growth(&self.slopes, give);
                let growth = if growth.is_finite() { growth } else { 0.0 };
                self.length_m = shape.length_m * (1.0 + growth);
                growth
            }
        };
        let drum_n = self.drum_force_n + shift_n + growth * shape.slopes.by_growth_n;
        let moved = |force_n: &Vector3<f64>| drum_n + (1.0 + growth) * (force_n - self.drum_force_n);
        for (node, old_n) in shape.force_n[..count].iter().enumerate() {
            self.force_n.set(node, moved(old_n));
        }
        self.top_force_n = moved(&shape.top_force_n);
        self.drum_force_n = drum_n;
    }

    /// Renews the positions from the forces, without asking the flow; what is missing to the end, m.
    pub(super) fn renew_positions(&mut self, problem: &Problem<'_, impl Flow>) -> Vector3<f64> {
        let mut position_m = Vector3::zeros();
        let mut stretched_m = 0.0;
        for (e, element) in self.mesh.elements().iter().enumerate() {
            self.start_position_m[e] = position_m;
            let rule = rule(element.order);
            for (i, node) in element.nodes().enumerate() {
                let pull = Pull::new(&self.force_n.at(node), problem.compliance_per_n);
                let weight_m = self.length_m * element.span_ratio * self.share[node].1 * rule.weights[i];
                position_m += weight_m * pull.gradient();
                stretched_m += weight_m * pull.stretch_ratio;
            }
        }
        self.end_position_m = position_m;
        self.stretched_m = stretched_m;
        problem.end_m - position_m
    }
}

/// How far the length may change before another tether hangs there: its slack or, of a straight line, its strain.
fn give_ratio(stretched_m: f64, end_m: &Vector3<f64>, length_m: f64) -> f64 {
    (stretched_m / end_m.norm()).max(stretched_m / length_m).max(1.0 + 1e-9) - 1.0
}
