//! The tether on another mesh, or with the ends of its elements elsewhere.

use nalgebra::Vector3;

use super::{
    gauss::rule,
    load::Pull,
    mesh::{Boundary, Mesh},
    relax::Grid,
};

impl<const N: usize> Grid<N> {
    /// Lays a mesh under the tether.
    pub(super) fn lay(&mut self, mesh: &Mesh) {
        self.mesh = *mesh;
        for element in mesh.elements() {
            let (rule, spread) = (rule(element.order), element.spread());
            for (i, node) in element.nodes().enumerate() {
                self.share[node] = spread.share(rule.nodes[i]);
            }
        }
    }

    /// Goes on with what a smaller grid holds.
    pub(super) fn take_over<const M: usize>(&mut self, grid: &Grid<M>) {
        self.lay(&grid.mesh);
        for node in 0..grid.mesh.nodes_count() {
            self.force_n.set(node, grid.force_n.at(node));
            self.load_n_per_m.set(node, grid.load_n_per_m.at(node));
        }
        (self.length_m, self.slopes) = (grid.length_m, grid.slopes);
        (self.drum_force_n, self.top_force_n) = (grid.drum_force_n, grid.top_force_n);
        self.iterations_count = grid.iterations_count;
        self.flow_evaluations_count = grid.flow_evaluations_count;
    }

    /// Puts the tether, as solved on its mesh, onto another: cubics through the forces and loads of neighbouring nodes.
    pub(super) fn move_to(&mut self, mesh: &Mesh) {
        let (mut places, mut old_n, mut slope_n) = ([0.0; N], [Vector3::zeros(); N], [Vector3::zeros(); N]);
        let count = self.mesh.nodes_count();
        for element in self.mesh.elements() {
            for node in element.nodes() {
                places[node] = element.start_ratio + element.span_ratio * self.share[node].0;
                old_n[node] = self.force_n.at(node);
                slope_n[node] = -self.length_m * self.load_n_per_m.at(node);
            }
        }
        self.lay(mesh);
        self.step = None;
        let mut above = 0;
        for element in mesh.elements() {
            for node in element.nodes() {
                let place = element.start_ratio + element.span_ratio * self.share[node].0;
                while above < count && places[above] < place {
                    above += 1;
                }
                let (lo, hi) = (above.max(1) - 1, above.min(count - 1));
                let (span, x) = (places[hi] - places[lo], place - places[lo]);
                let force_n = if lo == hi || span <= 0.0 {
                    old_n[lo] + x * slope_n[lo]
                } else {
                    let t = x / span;
                    let step = old_n[hi] - old_n[lo];
                    let (bend_lo, bend_hi) = (span * slope_n[lo] - step, step - span * slope_n[hi]);
                    old_n[lo] + t * step + t * (1.0 - t) * ((1.0 - t) * bend_lo + t * bend_hi)
                };
                self.force_n.set(node, force_n);
            }
        }
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
        let shorter = self.mesh.elements()[e].span_ratio.min(self.mesh.elements()[e + 1].span_ratio);
        // Rounding can leave an element a hair less than nothing.
        let limit = 0.3 * shorter.max(0.0);
        let shift = if shift.is_nan() { 0.0 } else { shift.clamp(-limit, limit) };
        let scale_m = self.length_m * shift;
        let elements = self.mesh.elements_mut();
        elements[e].span_ratio += shift;
        elements[e + 1].start_ratio += shift;
        elements[e + 1].span_ratio -= shift;
        let (below, above) = (elements[e].nodes(), elements[e + 1].nodes());
        for k in below {
            let below_m = scale_m * self.share[k].0;
            self.force_n.set(k, self.force_n.at(k) - below_m * self.load_n_per_m.at(k));
        }
        for k in above {
            let above_m = scale_m * (1.0 - self.share[k].0);
            self.force_n.set(k, self.force_n.at(k) - above_m * self.load_n_per_m.at(k));
        }
    }
}
