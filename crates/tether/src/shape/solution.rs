//! The solved shape and what is read from it.

use beamstay_environment::flow::Flow;
use beamstay_numerics::quadrature::GaussLegendre;
use nalgebra::Vector3;

use super::{
    Lying,
    adapt::Allowed,
    gauss::{MAX_ORDER, integrals_of, legendre_up_to, rule},
    load::Pull,
    mesh::{Element, MAX_ELEMENTS, Mesh},
    relax::{Grid, Problem},
    slopes::DrumSlopes,
};

/// Most nodes of a shape.
pub(super) const MAX_NODES: usize = 192;

/// One place on the tether.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Node {
    /// Unstretched length from the drum exit, m.
    pub s_m: f64,
    /// Position, m.
    pub position_m: Vector3<f64>,
    /// Pull of the part above on the part below, N.
    pub force_n: Vector3<f64>,
}

/// Steady shape of a tether. Of fixed size, so that solving allocates nothing.
///
/// s runs from 0 at the drum exit to [`Self::paid_out_m`] at the vehicle and counts unstretched length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    pub(super) mesh: Mesh,
    pub(super) length_m: f64,
    pub(super) compliance_per_n: f64,
    /// Force and position where each element starts.
    pub(super) start_force_n: [Vector3<f64>; MAX_ELEMENTS],
    pub(super) start_position_m: [Vector3<f64>; MAX_ELEMENTS],
    pub(super) force_n: [Vector3<f64>; MAX_NODES],
    pub(super) load_n_per_m: [Vector3<f64>; MAX_NODES],
    pub(super) top_force_n: Vector3<f64>,
    pub(super) end_m: Vector3<f64>,
    pub(super) stretched_m: f64,
    pub(super) slopes: DrumSlopes,
    /// How much the changes shrank from sweep to sweep at worst.
    pub(super) contraction_ratio: f64,
    /// Whether the error may be larger than it looks.
    pub(super) is_doubtful: bool,
    pub(super) error_estimate_ratio: f64,
    pub(super) iterations_count: u32,
    pub(super) flow_evaluations_count: u32,
    pub(super) lying: Option<Lying>,
}

impl Shape {
    /// The shape on a grid.
    pub(super) fn of<const N: usize>(
        grid: &Grid<N>,
        problem: &Problem<'_, impl Flow>,
        errors: Allowed,
        scale_n: f64,
    ) -> Self {
        let count = grid.mesh.nodes_count();
        let mut shape = Self {
            mesh: grid.mesh,
            length_m: grid.length_m,
            compliance_per_n: problem.compliance_per_n,
            start_force_n: grid.start_force_n,
            start_position_m: grid.start_position_m,
            force_n: [Vector3::zeros(); MAX_NODES],
            load_n_per_m: [Vector3::zeros(); MAX_NODES],
            top_force_n: grid.top_force_n,
            end_m: problem.end_m,
            stretched_m: grid.stretched_m,
            slopes: grid.slopes,
            contraction_ratio: grid.contraction_ratio,
            is_doubtful: grid.is_doubtful,
            error_estimate_ratio: (errors.force_n / scale_n).max(errors.position_m / grid.length_m),
            iterations_count: grid.iterations_count,
            flow_evaluations_count: grid.flow_evaluations_count,
            lying: None,
        };
        // Filled where it is: a shape is large.
        for node in 0..count {
            shape.force_n[node] = grid.force_n.at(node);
            shape.load_n_per_m[node] = grid.load_n_per_m.at(node);
        }
        shape
    }

    /// Pull of the tether on the drum, N.
    pub fn force_at_drum_n(&self) -> Vector3<f64> {
        self.start_force_n[0]
    }

    /// Pull of the tether on the vehicle, N.
    pub fn force_on_vehicle_n(&self) -> Vector3<f64> {
        -self.top_force_n
    }

    /// Tension at the drum exit, N.
    pub fn drum_tension_n(&self) -> f64 {
        self.start_force_n[0].norm()
    }

    /// Tension at the vehicle, N.
    pub fn top_tension_n(&self) -> f64 {
        self.top_force_n.norm()
    }

    /// Unstretched length between drum exit and vehicle, m.
    pub fn paid_out_m(&self) -> f64 {
        self.length_m
    }

    /// Stretched length, m.
    pub fn stretched_m(&self) -> f64 {
        self.stretched_m
    }

    /// Angle of the tether above the horizontal plane at the drum exit, degrees; negative if it leaves downwards.
    pub fn drum_elevation_deg(&self) -> f64 {
        elevation_deg(&self.start_force_n[0])
    }

    /// Angle of the tether above the horizontal plane at the vehicle, seen along the tether away from the drum, degrees.
    pub fn top_elevation_deg(&self) -> f64 {
        elevation_deg(&self.top_force_n)
    }

    /// What of the line lies on the ground; none for a line that hangs free, as every one does that was solved without a ground.
    pub fn lying(&self) -> Option<Lying> {
        self.lying
    }

    /// Estimated error of the end forces, relative to themselves, and of every position, relative to the length.
    pub fn error_estimate_ratio(&self) -> f64 {
        self.error_estimate_ratio
    }

    /// Sweeps over the tether that the solver made.
    pub fn iterations_count(&self) -> u32 {
        self.iterations_count
    }

    /// Times that the solver asked for the flow at one height.
    pub fn flow_evaluations_count(&self) -> u32 {
        self.flow_evaluations_count
    }

    /// Position at the unstretched length `s_m` from the drum exit, m; outside 0..=[`Self::paid_out_m`] the nearer end.
    pub fn point(&self, s_m: f64) -> Vector3<f64> {
        let (index, xi) = self.locate(s_m);
        let element = &self.mesh.elements()[index];
        let gradient = |i: usize, k: usize| slope(element, i) * self.pull(k).gradient();
        self.start_position_m[index]
            + self.length_m * element.span_ratio * project(element, &integrals(element, xi), gradient)
    }

    /// Pull of the part above `s_m` on the part below, N.
    pub fn force_n(&self, s_m: f64) -> Vector3<f64> {
        let (index, xi) = self.locate(s_m);
        let element = &self.mesh.elements()[index];
        let load = |i: usize, k: usize| slope(element, i) * self.load_n_per_m[k];
        self.start_force_n[index]
            - self.length_m * element.span_ratio * project(element, &integrals(element, xi), load)
    }

    /// Tension at the unstretched length `s_m` from the drum exit, N.
    pub fn tension_n(&self, s_m: f64) -> f64 {
        self.force_n(s_m).norm()
    }

    /// Force of weight and flow per unstretched metre at `s_m`, N/m.
    pub fn load_n_per_m(&self, s_m: f64) -> Vector3<f64> {
        let (index, xi) = self.locate(s_m);
        let element = &self.mesh.elements()[index];
        let basis = legendre_up_to(element.order, 2.0 * xi - 1.0);
        project(element, &basis, |_, k| self.load_n_per_m[k])
    }

    /// Loads at both ends of the line, N/m.
    pub(super) fn end_loads_n_per_m(&self) -> [Vector3<f64>; 2] {
        let elements = self.mesh.elements();
        [0, 1].map(|end| {
            let element = &elements[end * (elements.len() - 1)];
            let shares = &rule(element.order).ends[end];
            element.nodes().zip(shares).map(|(node, share)| *share * self.load_n_per_m[node]).sum()
        })
    }

    /// Sum of weight, buoyancy and drag on the whole line, N: the load summed over other places than the solver's own nodes,
    /// so that it can be held against the pulls at both ends. In a steady state the three cancel.
    pub fn load_on_line_n(&self) -> Vector3<f64> {
        let rule = GaussLegendre::<12>::new();
        let mut sum_n = Vector3::zeros();
        for element in self.mesh.elements() {
            let load = |i: usize, k: usize| slope(element, i) * self.load_n_per_m[k];
            for (x, weight) in rule.nodes().iter().zip(rule.weights()) {
                let here = project(element, &legendre_up_to(element.order, *x), load);
                sum_n += 0.5 * weight * self.length_m * element.span_ratio * here;
            }
        }
        sum_n
    }

    /// The places at which the shape was solved, from drum to vehicle, with both ends.
    pub fn nodes(&self) -> impl Iterator<Item = Node> + '_ {
        let drum = Node { s_m: 0.0, position_m: Vector3::zeros(), force_n: self.start_force_n[0] };
        let top =
            Node { s_m: self.length_m, position_m: self.point(self.length_m), force_n: self.top_force_n };
        let inner = (0..self.mesh.elements().len()).flat_map(move |e| self.element_nodes(e));
        std::iter::once(drum).chain(inner).chain(std::iter::once(top))
    }

    /// Nodes of one element.
    fn element_nodes(&self, e: usize) -> impl Iterator<Item = Node> + '_ {
        let element = &self.mesh.elements()[e];
        let rule = rule(element.order);
        let span_m = self.length_m * element.span_ratio;
        let mut climb_m = [Vector3::zeros(); MAX_ORDER];
        for (i, node) in element.nodes().enumerate() {
            climb_m[i] = span_m * slope(element, i) * self.pull(node).gradient();
        }
        (0..element.order).map(move |i| Node {
            s_m: element.place_ratio(i) * self.length_m,
            position_m: (0..element.order)
                .fold(self.start_position_m[e], |sum, j| sum + rule.integral[j][i] * climb_m[j]),
            force_n: self.force_n[element.first + i],
        })
    }

    fn pull(&self, node: usize) -> Pull {
        Pull::new(&self.force_n[node], self.compliance_per_n)
    }

    /// Element that holds `s_m`, and the place in it from 0 to 1.
    fn locate(&self, s_m: f64) -> (usize, f64) {
        self.mesh.locate(s_m / self.length_m)
    }
}

/// Reads force and load at many places of a shape, for each element from the coefficients of its Legendre polynomials.
pub(super) struct Reader<'a> {
    shape: &'a Shape,
    /// Element that the coefficients belong to; none at first.
    index: Option<usize>,
    /// Of the load, N/m, and of the load per inner coordinate, N/m.
    load_n_per_m: [Vector3<f64>; MAX_ORDER],
    weighted_n_per_m: [Vector3<f64>; MAX_ORDER],
}

impl<'a> Reader<'a> {
    pub(super) fn new(shape: &'a Shape) -> Self {
        let none = [Vector3::zeros(); MAX_ORDER];
        Self { shape, index: None, load_n_per_m: none, weighted_n_per_m: none }
    }

    /// Pull of the part above `s_m` on the part below, N, and load there, N/m.
    pub(super) fn at(&mut self, s_m: f64) -> (Vector3<f64>, Vector3<f64>) {
        let shape = self.shape;
        let (index, xi) = shape.locate(s_m);
        if self.index != Some(index) {
            self.take(index);
        }
        let element = &shape.mesh.elements()[index];
        let basis = legendre_up_to(element.order, 2.0 * xi - 1.0);
        let integrals = integrals_of(element.order, xi, &basis);
        let (mut load_n_per_m, mut sum_n_per_m) = (Vector3::zeros(), Vector3::zeros());
        for k in 0..element.order {
            load_n_per_m += basis[k] * self.load_n_per_m[k];
            sum_n_per_m += integrals[k] * self.weighted_n_per_m[k];
        }
        let span_m = shape.length_m * element.span_ratio;
        (shape.start_force_n[index] - span_m * sum_n_per_m, load_n_per_m)
    }

    fn take(&mut self, index: usize) {
        let element = &self.shape.mesh.elements()[index];
        let rule = rule(element.order);
        let mut weighted_n_per_m = [Vector3::zeros(); MAX_ORDER];
        let loads_n_per_m = &self.shape.load_n_per_m[element.nodes()];
        for (i, load_n_per_m) in loads_n_per_m.iter().enumerate() {
            weighted_n_per_m[i] = slope(element, i) * load_n_per_m;
        }
        for k in 0..element.order {
            let (mut load, mut weighted) = (Vector3::zeros(), Vector3::zeros());
            for (i, load_n_per_m) in loads_n_per_m.iter().enumerate() {
                load += rule.spectrum[k][i] * load_n_per_m;
                weighted += rule.spectrum[k][i] * weighted_n_per_m[i];
            }
            (self.load_n_per_m[k], self.weighted_n_per_m[k]) = (load, weighted);
        }
        self.index = Some(index);
    }
}

fn slope(element: &Element, i: usize) -> f64 {
    element.share(rule(element.order).nodes[i]).1
}

/// Integrals of the Legendre polynomials of an element from its start to `xi`.
fn integrals(element: &Element, xi: f64) -> [f64; MAX_ORDER] {
    integrals_of(element.order, xi, &legendre_up_to(element.order, 2.0 * xi - 1.0))
}

/// Sum over Legendre degrees of `basis` times the coefficient of the values at the nodes of `element`.
fn project(element: &Element, basis: &[f64], value: impl Fn(usize, usize) -> Vector3<f64>) -> Vector3<f64> {
    let rule = rule(element.order);
    let mut shares = [0.0; MAX_ORDER];
    for (b, row) in basis.iter().zip(&rule.spectrum).take(element.order) {
        for (share, part) in shares.iter_mut().zip(row) {
            *share += b * part;
        }
    }
    let nodes = element.nodes().zip(shares).enumerate();
    nodes.fold(Vector3::zeros(), |sum, (j, (node, share))| sum + share * value(j, node))
}

fn elevation_deg(force_n: &Vector3<f64>) -> f64 {
    force_n.z.atan2(force_n.x.hypot(force_n.y)).to_degrees()
}

#[cfg(test)]
mod tests {
    use beamstay_environment::{AirFlow, Atmosphere, Profile, ProfileShape};

    use super::*;
    use crate::{Line, NormalDrag, Options, solve_for_length};

    #[test]
    fn many_places_are_read_as_one_is() {
        let law = ProfileShape::PowerLaw { speed_m_s: 12.0, reference_height_m: 10.0, exponent: 0.143 };
        let profile = Profile { floor_height_m: 2.0, ..Profile::new(law).unwrap() };
        let wind = AirFlow::new(Atmosphere::new(0.0, 0.0).unwrap(), profile).unwrap();
        let line = Line {
            mass_kg_per_m: 0.006,
            diameter_m: 0.002,
            buoyancy_area_m2: 0.0,
            axial_stiffness_n: Some(9e4),
            normal_drag: NormalDrag::constant(1.1).unwrap(),
            tangential_coefficient: 0.02,
        };
        let end_m = Vector3::new(40.0, 25.0, 150.0);
        let shape = solve_for_length(&line, &wind, end_m, 190.0, &Options::default(), None).unwrap();
        let mut reader = Reader::new(&shape);
        // To and fro, so that elements are left and come back to.
        for i in 0..=200 {
            let s_m = 190.0 * f64::from(i * 67 % 201) / 200.0;
            let (force_n, load_n_per_m) = reader.at(s_m);
            assert!((force_n - shape.force_n(s_m)).norm() < 1e-12 * shape.top_tension_n(), "{s_m}");
            assert!((load_n_per_m - shape.load_n_per_m(s_m)).norm() < 1e-12, "{s_m}");
        }
        let [first_n_per_m, last_n_per_m] = shape.end_loads_n_per_m();
        assert!((first_n_per_m - shape.load_n_per_m(0.0)).norm() < 1e-12);
        assert!((last_n_per_m - shape.load_n_per_m(190.0)).norm() < 1e-12);
    }
}
