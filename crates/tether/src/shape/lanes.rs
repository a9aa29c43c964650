//! A sweep, four nodes side by side: what depends on one node alone is worked out in fours over the whole tether, what sums over
//! the nodes of an element in fours of its nodes. Lanes behind the last node hold a unit pull of no length and add nothing.

use std::ops::Range;

use beamstay_environment::flow::Flow;
use nalgebra::{Matrix3, Vector3};
use wide::f64x4;

use super::{
    gauss::{Rule, rule},
    load::weight_n_per_m,
    relax::{Grid, Problem},
};

/// Three numbers at each node, a row for each axis.
#[derive(Debug, Clone, Copy)]
pub(super) struct Axes<const N: usize>(pub [[f64; N]; 3]);

impl<const N: usize> Axes<N> {
    pub(super) fn zeros() -> Self {
        Self([[0.0; N]; 3])
    }

    #[inline]
    pub(super) fn at(&self, node: usize) -> Vector3<f64> {
        let [x, y, z] = &self.0;
        Vector3::new(x[node], y[node], z[node])
    }

    /// The rows of some nodes.
    #[inline]
    pub(super) fn rows(&self, nodes: &Range<usize>) -> [&[f64]; 3] {
        self.0.each_ref().map(|row| &row[nodes.clone()])
    }

    #[inline]
    pub(super) fn set(&mut self, node: usize, value: Vector3<f64>) {
        for (row, value) in self.0.iter_mut().zip(value.iter()) {
            row[node] = *value;
        }
    }

    #[inline]
    fn four(&self, k: usize) -> [f64x4; 3] {
        let [x, y, z] = &self.0;
        [four(x, k), four(y, k), four(z, k)]
    }

    #[inline]
    fn set_four(&mut self, k: usize, values: [f64x4; 3]) {
        for (row, value) in self.0.iter_mut().zip(values) {
            set_four(row, k, value);
        }
    }
}

/// Numbers 4k to 4k + 3 of a row.
#[inline]
fn four<const N: usize>(row: &[f64; N], k: usize) -> f64x4 {
    f64x4::new(row.as_chunks::<4>().0[k])
}

#[inline]
fn set_four<const N: usize>(row: &mut [f64; N], k: usize, value: f64x4) {
    row.as_chunks_mut::<4>().0[k] = value.to_array();
}

#[inline]
pub(super) fn dot(a: [f64x4; 3], b: [f64x4; 3]) -> f64x4 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// The sum of four numbers, in the same order on every machine.
#[inline]
fn total(four: f64x4) -> f64 {
    let [a, b, c, d] = four.to_array();
    (a + c) + (b + d)
}

/// What the last sweep worked out at the nodes, on its way.
#[derive(Debug, Clone)]
pub(super) struct Lanes<const N: usize> {
    /// Length at a node over that of its inner coordinate, and the same with the quadrature weight.
    slope_m: [f64; N],
    weight_m: [f64; N],
    tangent: Axes<N>,
    /// 1/T.
    across_per_n: [f64; N],
    stretch_ratio: [f64; N],
    /// Position and load by the inner coordinate of the element.
    pub climb_m: Axes<N>,
    pub part_n: Axes<N>,
}

impl<const N: usize> Lanes<N> {
    pub(super) fn empty() -> Self {
        Self {
            slope_m: [0.0; N],
            weight_m: [0.0; N],
            tangent: Axes::zeros(),
            across_per_n: [0.0; N],
            stretch_ratio: [0.0; N],
            climb_m: Axes::zeros(),
            part_n: Axes::zeros(),
        }
    }
}

/// Sums over the tether that a sweep collects.
pub(super) struct Sums {
    /// End of the tether.
    pub position_m: Vector3<f64>,
    /// Total load.
    pub load_n: Vector3<f64>,
    /// Stretched length.
    pub stretched_m: f64,
    /// M, the change of the end with the drum force if the loads stay as they are.
    pub flexibility_m_per_n: Matrix3<f64>,
    /// Change of the end as the forces inside go to what the loads give, for a drum force of zero.
    pub shift_m: Vector3<f64>,
    /// Change of the end as the loads grow in proportion.
    pub by_length_m: Vector3<f64>,
}

impl Sums {
    pub(super) fn zero() -> Self {
        Self {
            position_m: Vector3::zeros(),
            load_n: Vector3::zeros(),
            stretched_m: 0.0,
            flexibility_m_per_n: Matrix3::zeros(),
            shift_m: Vector3::zeros(),
            by_length_m: Vector3::zeros(),
        }
    }
}

impl<const N: usize> Grid<N> {
    /// Heights, loads, and the forces that the loads give if the drum force is zero; what they sum to.
    pub(super) fn sums(&mut self, problem: &Problem<'_, impl Flow>) -> Sums {
        let fours = self.spread();
        for k in 0..fours {
            self.pull(problem.compliance_per_n, k);
        }
        let mut sums = Sums::zero();
        for e in 0..self.mesh.elements().len() {
            self.start_position_m[e] = sums.position_m;
            self.climb(e, &mut sums.position_m);
        }
        for k in 0..fours {
            self.load(problem, k);
        }
        self.flow_evaluations_count += self.mesh.nodes_count() as u32;
        for e in 0..self.mesh.elements().len() {
            self.start_force_n[e] = -sums.load_n;
            self.renew(e, &mut sums.load_n);
        }
        self.add_up(problem.compliance_per_n, fours, &mut sums);
        sums
    }

    /// Lengths of the nodes; how many fours they fill.
    fn spread(&mut self) -> usize {
        for element in self.mesh.elements() {
            let span_m = self.length_m * element.span_ratio;
            let weights = &rule(element.order).weights;
            for (node, weight) in element.nodes().zip(weights) {
                let slope_m = span_m * self.share[node].1;
                self.lanes.slope_m[node] = slope_m;
                self.lanes.weight_m[node] = slope_m * weight;
            }
        }
        let count = self.mesh.nodes_count();
        let fours = count.div_ceil(4);
        for lane in count..4 * fours {
            self.lanes.slope_m[lane] = 0.0;
            self.lanes.weight_m[lane] = 0.0;
            self.force_n.set(lane, Vector3::z());
        }
        fours
    }

    /// What follows from the forces alone.
    #[inline]
    fn pull(&mut self, compliance_per_n: f64, k: usize) {
        let lanes = &mut self.lanes;
        let force_n = self.force_n.four(k);
        let tension_n = f64x4::splat(f64::MIN_POSITIVE).fast_max(dot(force_n, force_n).sqrt());
        let across_per_n = f64x4::ONE / tension_n;
        let stretch_ratio = f64x4::ONE + f64x4::splat(compliance_per_n) * tension_n;
        let tangent = force_n.map(|axis| axis * across_per_n);
        let moved_m = four(&lanes.slope_m, k) * stretch_ratio;
        lanes.tangent.set_four(k, tangent);
        set_four(&mut lanes.across_per_n, k, across_per_n);
        set_four(&mut lanes.stretch_ratio, k, stretch_ratio);
        lanes.climb_m.set_four(k, tangent.map(|axis| moved_m * axis));
    }

    /// Heights on element `e`, and the place of its upper end.
    fn climb(&mut self, e: usize, position_m: &mut Vector3<f64>) {
        let element = &self.mesh.elements()[e];
        let (rule, nodes) = (rule(element.order), element.nodes());
        let rows = self.lanes.climb_m.rows(&nodes);
        let start_m = f64x4::splat(position_m.z);
        integrate(rule, [rows[2]], |i, [climb_m]| {
            put(&mut self.z_m[nodes.start + i..], start_m + climb_m);
        });
        *position_m += weighed(rule, rows);
    }

    /// Flow and load.
    #[inline]
    fn load(&mut self, problem: &Problem<'_, impl Flow>, k: usize) {
        let line = problem.line;
        let sample = problem.flow.at_four(&self.z_m.as_chunks::<4>().0[k]);
        let (velocity_m_s, density) = (sample.velocity_m_s.map(f64x4::new), f64x4::new(sample.density_kg_m3));
        let tangent = self.lanes.tangent.four(k);
        let along = dot(velocity_m_s, tangent);
        let across: [f64x4; 3] = std::array::from_fn(|axis| velocity_m_s[axis] - along * tangent[axis]);
        let speed = dot(across, across).sqrt();
        let viscosity = f64x4::new(sample.dynamic_viscosity_pa_s);
        let factor = line.normal_drag.four_force_factors(speed, density, line.diameter_m, viscosity);
        let scale = f64x4::splat(0.5 * line.diameter_m) * density * four(&self.lanes.stretch_ratio, k);
        let normal = scale * factor;
        let friction = scale * f64x4::splat(line.tangential_coefficient) * along.abs() * along;
        let mut load: [f64x4; 3] =
            std::array::from_fn(|axis| normal * across[axis] + friction * tangent[axis]);
        load[2] -= weight_n_per_m(line, density);
        if let Some((share, easy)) = problem.blend {
            for (load, easy) in load.iter_mut().zip(easy.iter()) {
                *load = f64x4::splat(share) * *load + f64x4::splat((1.0 - share) * easy);
            }
        }
        let slope_m = four(&self.lanes.slope_m, k);
        self.velocity_m_s.set_four(k, velocity_m_s);
        self.load_n_per_m.set_four(k, load);
        self.lanes.part_n.set_four(k, load.map(|axis| slope_m * axis));
    }

    /// Forces on element `e` from its loads, and all of the load up to its upper end.
    fn renew(&mut self, e: usize, load_n: &mut Vector3<f64>) {
        let element = &self.mesh.elements()[e];
        let (rule, nodes) = (rule(element.order), element.nodes());
        let rows = self.lanes.part_n.rows(&nodes);
        let from_n = *load_n;
        integrate(rule, rows, |i, below_n| {
            for axis in 0..3 {
                let renewed_n = f64x4::splat(-from_n[axis]) - below_n[axis];
                put(&mut self.next_n.0[axis][nodes.start + i..], renewed_n);
            }
        });
        *load_n += weighed(rule, rows);
    }

    /// Adds up M = w [(1/T + 1/EA) I − ttᵀ/T] with the quadrature weights w, and what it makes of the forces.
    fn add_up(&self, compliance_per_n: f64, fours: usize, sums: &mut Sums) {
        let lanes = &self.lanes;
        let (mut turned, mut all, mut stretched) = ([f64x4::ZERO; 6], f64x4::ZERO, f64x4::ZERO);
        for k in 0..fours {
            let (weight, t) = (four(&lanes.weight_m, k), lanes.tangent.four(k));
            let turn = weight * four(&lanes.across_per_n, k);
            let [x, y, z] = t.map(|axis| turn * axis);
            for (sum, product) in
                turned.iter_mut().zip([x * t[0], x * t[1], x * t[2], y * t[1], y * t[2], z * t[2]])
            {
                *sum += product;
            }
            all += turn + weight * f64x4::splat(compliance_per_n);
            stretched += weight * four(&lanes.stretch_ratio, k);
        }
        let (mut by_length, mut held) = ([f64x4::ZERO; 3], [f64x4::ZERO; 3]);
        for k in 0..fours {
            let (weight, t) = (four(&lanes.weight_m, k), lanes.tangent.four(k));
            let (force_n, renewed_n) = (self.force_n.four(k), self.next_n.four(k));
            let turn = weight * four(&lanes.across_per_n, k);
            let all = turn + weight * f64x4::splat(compliance_per_n);
            let along = turn * dot(t, renewed_n);
            for axis in 0..3 {
                by_length[axis] += all * renewed_n[axis] - along * t[axis];
                // M·(the force as it is) = w T/EA t = w (stretch − 1) t.
                held[axis] += weight * force_n[axis];
            }
        }
        let (trace, [xx, xy, xz, yy, yz, zz]) = (total(all), turned.map(total));
        sums.flexibility_m_per_n =
            Matrix3::new(trace - xx, -xy, -xz, -xy, trace - yy, -yz, -xz, -yz, trace - zz);
        sums.stretched_m = total(stretched);
        sums.by_length_m = Vector3::from(by_length.map(total));
        sums.shift_m = sums.by_length_m - compliance_per_n * Vector3::from(held.map(total));
    }
}

/// Integrals from the start of an element to its nodes of what the rows hold, four nodes at a time, each with the number of its
/// first one.
#[inline]
fn integrate<const R: usize>(rule: &Rule, rows: [&[f64]; R], mut take: impl FnMut(usize, [f64x4; R])) {
    let order = rows[0].len();
    for c in 0..order.div_ceil(4) {
        let mut sums = [f64x4::ZERO; R];
        for j in 0..order.min(rule.integral.len()) {
            let share = four(&rule.integral[j], c);
            for (sum, row) in sums.iter_mut().zip(&rows) {
                *sum += share * f64x4::splat(row[j]);
            }
        }
        take(4 * c, sums);
    }
}

/// Integrals over all of an element.
#[inline]
fn weighed(rule: &Rule, rows: [&[f64]; 3]) -> Vector3<f64> {
    let mut sum = Vector3::zeros();
    for (j, weight) in rule.weights.iter().enumerate().take(rows[0].len()) {
        for axis in 0..3 {
            sum[axis] += weight * rows[axis][j];
        }
    }
    sum
}

/// Puts four numbers to the beginning of a row that may be shorter. What goes beyond an element is where the next one puts its own.
#[inline]
fn put(row: &mut [f64], four: f64x4) {
    let values = four.to_array();
    match row.first_chunk_mut::<4>() {
        Some(chunk) => *chunk = values,
        None => row.iter_mut().zip(values).for_each(|(to, from)| *to = from),
    }
}
