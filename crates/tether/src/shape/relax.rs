//! The quick solver: sweeps that renew the load on the tether and correct the force at the drum.
//!
//! A sweep integrates the tangent to heights, asks the flow there, integrates the load to forces and shifts them all by the
//! Newton step that brings the end to the vehicle with that load, Jacobian ∫ (I − ttᵀ)/T + I/EA ds. What is left is the
//! dependence of the load on the shape; [`Mixer`] speeds that up.

use beamstay_environment::flow::Flow;
use nalgebra::{Matrix3, Vector3};

use super::{
    gauss::{MAX_ORDER, legendre, rule},
    load::{Pull, load_n_per_m},
    mesh::{Boundary, MAX_ELEMENTS, Mesh},
};
use crate::line::Line;

/// End force below which, relative to the other one, only its absolute error counts.
const NEGLIGIBLE_RATIO: f64 = 1e-3;

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
    /// On the way to a difficult tether: the share of the true load, and the load of which the rest is.
    pub blend: Option<(f64, Vector3<f64>)>,
}

impl<'a, F: Flow> Problem<'a, F> {
    pub(super) fn new(line: &'a Line, flow: &'a F, end_m: Vector3<f64>, held: Held) -> Self {
        Self { line, flow, compliance_per_n: line.compliance_per_n(), end_m, held, blend: None }
    }

    /// The same with something else held.
    pub(super) fn with(&self, held: Held) -> Self {
        Self { held, ..*self }
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
    pub force_n: [Vector3<f64>; N],
    pub load_n_per_m: [Vector3<f64>; N],
    /// Velocity of the flow.
    pub velocity_m_s: [Vector3<f64>; N],
    pub z_m: [f64; N],
    pub start_force_n: [Vector3<f64>; MAX_ELEMENTS],
    pub start_position_m: [Vector3<f64>; MAX_ELEMENTS],
    pub drum_force_n: Vector3<f64>,
    pub top_force_n: Vector3<f64>,
    pub end_position_m: Vector3<f64>,
    pub stretched_m: f64,
    /// Change of the drum force with the place of the vehicle, the load being held, N/m.
    pub stiffness_n_per_m: Matrix3<f64>,
    /// Change of the drum tension with the logarithm of the length, the load being held, N.
    pub tension_by_growth_n: f64,
    pub iterations_count: u32,
    pub flow_evaluations_count: u32,
}

/// Sums over the tether that a sweep collects.
struct Sums {
    position_m: Vector3<f64>,
    load_n: Vector3<f64>,
    stretched_m: f64,
    flexibility_m_per_n: Matrix3<f64>,
    shift_m: Vector3<f64>,
    by_length_m: Vector3<f64>,
}

impl<const N: usize> Grid<N> {
    pub(super) fn new(length_m: f64) -> Self {
        Self {
            mesh: Mesh::empty(),
            length_m,
            share: [(0.0, 0.0); N],
            force_n: [Vector3::zeros(); N],
            load_n_per_m: [Vector3::zeros(); N],
            velocity_m_s: [Vector3::zeros(); N],
            z_m: [0.0; N],
            start_force_n: [Vector3::zeros(); MAX_ELEMENTS],
            start_position_m: [Vector3::zeros(); MAX_ELEMENTS],
            drum_force_n: Vector3::zeros(),
            top_force_n: Vector3::zeros(),
            end_position_m: Vector3::zeros(),
            stretched_m: 0.0,
            stiffness_n_per_m: Matrix3::zeros(),
            tension_by_growth_n: 0.0,
            iterations_count: 0,
            flow_evaluations_count: 0,
        }
    }

    /// Lays a mesh under the tether.
    pub(super) fn lay(&mut self, mesh: &Mesh) {
        self.mesh = *mesh;
        for element in mesh.elements() {
            let rule = rule(element.order);
            for (i, node) in element.nodes().enumerate() {
                self.share[node] = element.share(rule.nodes[i]);
            }
        }
    }

    /// Sets the force at every node from a function of the place.
    pub(super) fn set_force(&mut self, force_n: impl Fn(f64) -> Vector3<f64>) {
        for element in self.mesh.elements() {
            for node in element.nodes() {
                self.force_n[node] = force_n(element.start_ratio + element.span_ratio * self.share[node].0);
            }
        }
        self.drum_force_n = force_n(0.0);
        self.top_force_n = force_n(1.0);
    }

    /// Puts the tether, as solved on its mesh, onto another.
    pub(super) fn move_to(&mut self, mesh: &Mesh) {
        let old = self.mesh;
        let mut spectrum = [[Vector3::zeros(); MAX_ORDER]; MAX_ELEMENTS];
        for (coefficients, element) in spectrum.iter_mut().zip(old.elements()) {
            let rule = rule(element.order);
            for (j, node) in element.nodes().enumerate() {
                for (degree, coefficient) in coefficients.iter_mut().enumerate().take(element.order) {
                    *coefficient += rule.spectrum[degree][j] * self.force_n[node];
                }
            }
        }
        self.lay(mesh);
        for element in mesh.elements() {
            for node in element.nodes() {
                let (e, xi) = old.locate(element.start_ratio + element.span_ratio * self.share[node].0);
                let basis = legendre(2.0 * xi - 1.0);
                let order = old.elements()[e].order;
                self.force_n[node] = (0..order).map(|degree| basis[degree] * spectrum[e][degree]).sum();
            }
        }
    }

    /// Force to which errors are related (the smaller end force, if it is not negligible), and the larger end force, N.
    pub(super) fn end_scales_n(&self) -> (f64, f64) {
        let (drum_n, top_n) = (self.drum_force_n.norm(), self.top_force_n.norm());
        let largest_n = drum_n.max(top_n);
        (drum_n.min(top_n).max(NEGLIGIBLE_RATIO * largest_n), largest_n)
    }

    /// One sweep.
    pub(super) fn sweep(&mut self, problem: &Problem<'_, impl Flow>) -> Progress {
        let mut renewed = [Vector3::zeros(); N];
        let sums = self.sums(problem, &mut renewed);
        self.correct(problem, &renewed, &sums)
    }

    /// Heights, loads and end position for the forces as they are; `renewed` receives the forces that the loads give if the
    /// drum force is zero.
    pub(super) fn integrate(&mut self, problem: &Problem<'_, impl Flow>, renewed: &mut [Vector3<f64>; N]) {
        let sums = self.sums(problem, renewed);
        for start in &mut self.start_force_n[..self.mesh.elements().len()] {
            *start += self.drum_force_n;
        }
        self.top_force_n = self.drum_force_n - sums.load_n;
        self.end_position_m = sums.position_m;
        self.stretched_m = sums.stretched_m;
        self.stiffness_n_per_m = sums.flexibility_m_per_n.try_inverse().unwrap_or_else(Matrix3::zeros);
        self.iterations_count += 1;
    }

    fn sums(&mut self, problem: &Problem<'_, impl Flow>, renewed: &mut [Vector3<f64>; N]) -> Sums {
        let mut sums = Sums {
            position_m: Vector3::zeros(),
            load_n: Vector3::zeros(),
            stretched_m: 0.0,
            flexibility_m_per_n: Matrix3::zeros(),
            shift_m: Vector3::zeros(),
            by_length_m: Vector3::zeros(),
        };
        for e in 0..self.mesh.elements().len() {
            self.start_position_m[e] = sums.position_m;
            self.start_force_n[e] = -sums.load_n;
            self.sweep_element(problem, e, renewed, &mut sums);
        }
        sums
    }

    fn sweep_element(
        &mut self,
        problem: &Problem<'_, impl Flow>,
        e: usize,
        renewed: &mut [Vector3<f64>; N],
        sums: &mut Sums,
    ) {
        let element = self.mesh.elements()[e];
        let rule = rule(element.order);
        let span_m = self.length_m * element.span_ratio;
        let mut pulls = [Pull::none(); MAX_ORDER];
        let mut z_m = [sums.position_m.z; MAX_ORDER];
        let mut slope_m = [0.0; MAX_ORDER];
        for i in 0..element.order {
            pulls[i] = Pull::new(&self.force_n[element.first + i], problem.compliance_per_n);
            slope_m[i] = span_m * self.share[element.first + i].1;
            let climb_m = slope_m[i] * pulls[i].stretch_ratio * pulls[i].tangent.z;
            for (z, share) in z_m.iter_mut().zip(&rule.integral[i]) {
                *z += share * climb_m;
            }
        }
        let mut sum_n = [[0.0; MAX_ORDER]; 3];
        for i in 0..element.order {
            let sample = problem.flow.at(z_m[i]);
            let node = element.first + i;
            self.z_m[node] = z_m[i];
            self.velocity_m_s[node] = sample.velocity_m_s;
            let mut load = load_n_per_m(problem.line, &sample, &pulls[i]);
            if let Some((share, easy)) = problem.blend {
                load = share * load + (1.0 - share) * easy;
            }
            self.load_n_per_m[node] = load;
            for axis in 0..3 {
                let value = slope_m[i] * load[axis];
                for (sum, share) in sum_n[axis].iter_mut().zip(&rule.integral[i]) {
                    *sum += share * value;
                }
            }
        }
        self.flow_evaluations_count += element.order as u32;
        let mut load_n = Vector3::zeros();
        for i in 0..element.order {
            let node = element.first + i;
            let force = -(sums.load_n + Vector3::new(sum_n[0][i], sum_n[1][i], sum_n[2][i]));
            renewed[node] = force;
            let weight_m = slope_m[i] * rule.weights[i];
            let flexibility = weight_m * pulls[i].flexibility(problem.compliance_per_n);
            sums.flexibility_m_per_n += flexibility;
            sums.shift_m += flexibility * (force - self.force_n[node]);
            sums.by_length_m += flexibility * force;
            sums.position_m += weight_m * pulls[i].gradient();
            sums.stretched_m += weight_m * pulls[i].stretch_ratio;
            load_n += weight_m * self.load_n_per_m[node];
        }
        sums.load_n += load_n;
    }

    /// Newton step on drum force and length, and what it changes.
    fn correct(
        &mut self,
        problem: &Problem<'_, impl Flow>,
        renewed: &[Vector3<f64>; N],
        sums: &Sums,
    ) -> Progress {
        let missed_m = problem.end_m - sums.position_m;
        let stiffness = sums.flexibility_m_per_n.try_inverse().unwrap_or_else(Matrix3::zeros);
        let mut drum_n = stiffness * (missed_m - sums.shift_m);
        let mut growth = 0.0;
        let by_growth_n = -stiffness * (sums.position_m + sums.by_length_m);
        let tangent = Pull::new(&self.drum_force_n, 0.0).tangent;
        self.tension_by_growth_n = tangent.dot(&by_growth_n);
        if let Held::DrumTension(tension_n) = problem.held {
            // Unknowns: drum force and relative growth of the length; conditions: place of the end and size of the force.
            let slack = (sums.stretched_m / problem.end_m.norm() - 1.0).max(1e-9);
            growth = (tension_n - tangent.dot(&drum_n)) / self.tension_by_growth_n;
            growth = growth.clamp(-0.6 * slack, 0.01 + 1.5 * slack);
            drum_n += growth * by_growth_n;
        }
        let mut square = (drum_n - self.drum_force_n).norm_squared();
        for k in 0..self.mesh.nodes_count() {
            let force = (1.0 + growth) * renewed[k] + drum_n;
            square = square.max((force - self.force_n[k]).norm_squared());
            self.force_n[k] = force;
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
        self.stiffness_n_per_m = stiffness;
        self.length_m *= 1.0 + growth;
        self.iterations_count += 1;
        Progress { change_n: square.sqrt(), missed_m: missed_m.norm(), growth_ratio: growth }
    }

    /// Renews the positions from the forces, without asking the flow; what is missing to the end, m.
    pub(super) fn renew_positions(&mut self, problem: &Problem<'_, impl Flow>) -> Vector3<f64> {
        let mut position_m = Vector3::zeros();
        let mut stretched_m = 0.0;
        for (e, element) in self.mesh.elements().iter().enumerate() {
            self.start_position_m[e] = position_m;
            let rule = rule(element.order);
            for (i, node) in element.nodes().enumerate() {
                let pull = Pull::new(&self.force_n[node], problem.compliance_per_n);
                let weight_m = self.length_m * element.span_ratio * self.share[node].1 * rule.weights[i];
                position_m += weight_m * pull.gradient();
                stretched_m += weight_m * pull.stretch_ratio;
            }
        }
        self.end_position_m = position_m;
        self.stretched_m = stretched_m;
        problem.end_m - position_m
    }

    /// Moves the ends of elements to the heights at which the flow has a kink; whether there were any.
    pub(super) fn move_to_heights(&mut self, compliance_per_n: f64) -> bool {
        let mut any = false;
        for e in 0..self.mesh.elements().len().saturating_sub(1) {
            if let Boundary::Height(height_m) = self.mesh.elements()[e].boundary {
                let climb = Pull::new(&self.start_force_n[e + 1], compliance_per_n).gradient().z;
                let shift = (height_m - self.start_position_m[e + 1].z) / (self.length_m * climb);
                self.shift_boundary(e, shift);
                any = true;
            }
        }
        any
    }

    /// Moves the upper end of element `e`; forces at the nodes follow the load.
    pub(super) fn shift_boundary(&mut self, e: usize, shift: f64) {
        let limit = 0.3 * self.mesh.elements()[e].span_ratio.min(self.mesh.elements()[e + 1].span_ratio);
        let shift = if shift.is_nan() { 0.0 } else { shift.clamp(-limit, limit) };
        let scale_m = self.length_m * shift;
        let elements = self.mesh.elements_mut();
        elements[e].span_ratio += shift;
        elements[e + 1].start_ratio += shift;
        elements[e + 1].span_ratio -= shift;
        let (below, above) = (elements[e].nodes(), elements[e + 1].nodes());
        for k in below {
            self.force_n[k] -= scale_m * self.share[k].0 * self.load_n_per_m[k];
        }
        for k in above {
            self.force_n[k] -= scale_m * (1.0 - self.share[k].0) * self.load_n_per_m[k];
        }
    }
}

/// Anderson's method (D. G. Anderson, *Iterative procedures for nonlinear integral equations*, J. ACM 12, 1965) of depth two:
/// from the last three sweeps, the mixture whose change would be least.
#[derive(Debug, Clone)]
pub(super) struct Mixer<const N: usize> {
    value: [[Vector3<f64>; N]; 3],
    change: [[Vector3<f64>; N]; 3],
    kept: usize,
}

impl<const N: usize> Mixer<N> {
    pub(super) fn new() -> Self {
        Self { value: [[Vector3::zeros(); N]; 3], change: [[Vector3::zeros(); N]; 3], kept: 0 }
    }

    /// Forgets the sweeps so far.
    pub(super) fn reset(&mut self) {
        self.kept = 0;
    }

    /// Takes the forces before and after a sweep and improves the latter.
    pub(super) fn mix(&mut self, before_n: &[Vector3<f64>], after_n: &mut [Vector3<f64>]) {
        let now = self.kept % 3;
        for (k, (before, after)) in before_n.iter().zip(after_n.iter()).enumerate() {
            self.value[now][k] = *after;
            self.change[now][k] = after - before;
        }
        self.kept += 1;
        let depth = (self.kept - 1).min(2);
        if depth == 0 {
            return;
        }
        let old = [(now + 2) % 3, (now + 1) % 3];
        let count = before_n.len();
        let (mut aa, mut ab, mut bb, mut af, mut bf) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for k in 0..count {
            let f = self.change[now][k];
            let a = f - self.change[old[0]][k];
            aa += a.norm_squared();
            af += a.dot(&f);
            if depth == 2 {
                let b = f - self.change[old[1]][k];
                ab += a.dot(&b);
                bb += b.norm_squared();
                bf += b.dot(&f);
            }
        }
        let (x, y) = least_squares((aa, ab, bb), (af, bf), depth);
        for (k, after) in after_n.iter_mut().enumerate() {
            *after -= x * (self.value[now][k] - self.value[old[0]][k]);
            if depth == 2 {
                *after -= y * (self.value[now][k] - self.value[old[1]][k]);
            }
        }
    }
}

/// Solves [aa ab; ab bb] (x, y) = (af, bf), by the first column alone if the two are nearly parallel.
fn least_squares((aa, ab, bb): (f64, f64, f64), (af, bf): (f64, f64), depth: usize) -> (f64, f64) {
    let determinant = aa * bb - ab * ab;
    if depth == 2 && determinant > 1e-8 * aa * bb {
        let x = (af * bb - bf * ab) / determinant;
        let y = (bf * aa - af * ab) / determinant;
        if x.abs() + y.abs() < 5.0 {
            return (x, y);
        }
    }
    let x = af / aa;
    (if x.is_finite() { x.clamp(-2.0, 2.0) } else { 0.0 }, 0.0)
}
