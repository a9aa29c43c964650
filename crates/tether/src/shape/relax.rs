//! The quick solver: sweeps that renew the load on the tether and correct the force at the drum by Newton's method.

use beamstay_environment::flow::{Flow, FlowSample};
use nalgebra::{Matrix3, Vector3};

use super::{
    gauss::rule,
    load::{Pull, load_n_per_m},
    mesh::{MAX_ELEMENTS, Mesh},
};
use crate::line::Line;

/// What is solved for.
pub(super) struct Problem<'a, F: Flow> {
    pub line: &'a Line,
    pub flow: &'a F,
    pub compliance_per_n: f64,
    pub end_m: Vector3<f64>,
    pub length_m: f64,
}

/// The tether on a mesh with up to `N` nodes.
pub(super) struct Grid<const N: usize> {
    pub mesh: Mesh,
    pub length_m: f64,
    pub drum_force_n: Vector3<f64>,
    pub force_n: [Vector3<f64>; N],
    pub load_n_per_m: [Vector3<f64>; N],
    pub samples: [FlowSample; N],
    pub start_force_n: [Vector3<f64>; MAX_ELEMENTS],
    pub start_position_m: [Vector3<f64>; MAX_ELEMENTS],
    pub top_force_n: Vector3<f64>,
    pub end_position_m: Vector3<f64>,
    pub stretched_m: f64,
    pub iterations_count: u32,
    pub flow_evaluations_count: u32,
}

impl<const N: usize> Grid<N> {
    pub(super) fn new(mesh: Mesh, length_m: f64) -> Self {
        let still = FlowSample { velocity_m_s: Vector3::zeros(), density_kg_m3: 0.0, dynamic_viscosity_pa_s: 1.0 };
        Self {
            mesh,
            length_m,
            drum_force_n: Vector3::zeros(),
            force_n: [Vector3::zeros(); N],
            load_n_per_m: [Vector3::zeros(); N],
            samples: [still; N],
            start_force_n: [Vector3::zeros(); MAX_ELEMENTS],
            start_position_m: [Vector3::zeros(); MAX_ELEMENTS],
            top_force_n: Vector3::zeros(),
            end_position_m: Vector3::zeros(),
            stretched_m: 0.0,
            iterations_count: 0,
            flow_evaluations_count: 0,
        }
    }

    /// Starts from a constant load.
    pub(super) fn start(&mut self, drum_force_n: Vector3<f64>, load: &Vector3<f64>) {
        self.drum_force_n = drum_force_n;
        for element in self.mesh.elements() {
            for (i, node) in element.nodes().enumerate() {
                self.force_n[node] = drum_force_n - self.length_m * element.place_ratio(i) * load;
            }
        }
    }

    /// One sweep; returns the largest change of the force and the distance by which the end was missed.
    pub(super) fn sweep(&mut self, problem: &Problem<'_, impl Flow>) -> (f64, f64) {
        let c = problem.compliance_per_n;
        let mut end_m = Vector3::zeros();
        let mut load_sum = Vector3::zeros();
        let mut stretched_m = 0.0;
        let mut jacobian = Matrix3::zeros();
        let mut shift = Vector3::zeros();
        let mut predicted = [Vector3::zeros(); N];
        let elements_count = self.mesh.elements().len();
        for e in 0..elements_count {
            let element = self.mesh.elements()[e];
            let rule = rule(element.order);
            let h = self.length_m * element.span_ratio;
            let first = element.first;
            self.start_position_m[e] = end_m;
            self.start_force_n[e] = load_sum;
            let mut pulls = [Pull { tension_n: 1.0, tangent: Vector3::z(), stretch_ratio: 1.0 }; 16];
            for i in 0..element.order {
                pulls[i] = Pull::new(&self.force_n[first + i], c);
            }
            let mut gradient_sum = Vector3::zeros();
            for i in 0..element.order {
                let mut z = end_m.z;
                for j in 0..element.order {
                    z += h * rule.integral[j][i] * pulls[j].gradient().z;
                }
                let sample = problem.flow.at(z);
                self.flow_evaluations_count += 1;
                self.load_n_per_m[first + i] = load_n_per_m(problem.line, &sample, &pulls[i]);
                gradient_sum += rule.weights[i] * pulls[i].gradient();
                stretched_m += h * rule.weights[i] * pulls[i].stretch_ratio;
            }
            let mut sum = Vector3::zeros();
            for i in 0..element.order {
                let mut force = self.drum_force_n - load_sum;
                for j in 0..element.order {
                    force -= h * rule.integral[j][i] * self.load_n_per_m[first + j];
                }
                predicted[first + i] = force;
                let flexibility = h * rule.weights[i] * pulls[i].flexibility(c);
                jacobian += flexibility;
                shift += flexibility * (force - self.force_n[first + i]);
                sum += rule.weights[i] * self.load_n_per_m[first + i];
            }
            end_m += h * gradient_sum;
            load_sum += h * sum;
        }
        let missed = problem.end_m - end_m;
        let correction = jacobian.try_inverse().map_or(Vector3::zeros(), |inverse| inverse * (missed - shift));
        self.drum_force_n += correction;
        let mut change: f64 = 0.0;
        for k in 0..self.mesh.nodes_count() {
            let renewed = predicted[k] + correction;
            change = change.max((renewed - self.force_n[k]).norm());
            self.force_n[k] = renewed;
        }
        for e in 0..elements_count {
            self.start_force_n[e] = self.drum_force_n - self.start_force_n[e];
        }
        self.top_force_n = self.drum_force_n - load_sum;
        self.end_position_m = end_m;
        self.stretched_m = stretched_m;
        self.iterations_count += 1;
        (change, missed.norm())
    }
}
