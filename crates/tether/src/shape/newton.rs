//! The thorough solver: Newton's method on all forces at once, the dependence of the load on the shape included.
//!
//! The unknowns of one element are expressed by what enters at its lower end (force and position), so that the elements
//! chain up to three equations for the force at the drum.

#![allow(clippy::needless_range_loop, reason = "node and axis numbers run over several arrays at once")]

use beamstay_environment::flow::Flow;
use nalgebra::{Matrix3, Vector3};

use super::{
    gauss::{MAX_ORDER, rule},
    lanes::Axes,
    load::{LoadSlope, Pull},
    mesh::MAX_ELEMENTS,
    relax::{Grid, Problem},
};

/// Columns of the right-hand side: force at the lower end (3), height there (1), defect (1).
const COLUMNS: usize = 5;
/// Most unknowns of an element.
const UNKNOWNS: usize = 3 * MAX_ORDER;

/// Matrix and right-hand sides of one element.
struct ElementSystem {
    matrix: [[f64; UNKNOWNS]; UNKNOWNS],
    columns: [[f64; COLUMNS]; UNKNOWNS],
}

/// Change of the state at the lower end of an element, as an affine function of the change of the drum force.
#[derive(Debug, Clone, Copy)]
struct Chain {
    force: Matrix3<f64>,
    force_defect_n: Vector3<f64>,
    position: Matrix3<f64>,
    position_defect_m: Vector3<f64>,
}

/// How far the forces are from a solution.
#[derive(Debug, Clone, Copy)]
pub(super) struct Residual {
    /// Largest difference between the force at a node and the one that the loads give, relative to the forces at the ends.
    pub force_ratio: f64,
    /// Distance by which the end is missed, relative to the length.
    pub end_ratio: f64,
}

impl Residual {
    pub(super) fn size(&self) -> f64 {
        self.force_ratio.max(self.end_ratio)
    }
}

/// Room for one solution, so that nothing is allocated.
pub(super) struct Workspace<const N: usize> {
    system: ElementSystem,
    /// Change of the force at each node by what enters its element.
    response: [[[f64; COLUMNS]; 3]; N],
    defect_n: [Vector3<f64>; N],
    step_n: [Vector3<f64>; N],
    trial_n: Axes<N>,
}

impl<const N: usize> Workspace<N> {
    pub(super) fn new() -> Self {
        Self {
            system: ElementSystem {
                matrix: [[0.0; UNKNOWNS]; UNKNOWNS],
                columns: [[0.0; COLUMNS]; UNKNOWNS],
            },
            response: [[[0.0; COLUMNS]; 3]; N],
            defect_n: [Vector3::zeros(); N],
            step_n: [Vector3::zeros(); N],
            trial_n: Axes::zeros(),
        }
    }

    /// Newton steps with a line search until the residual is below `goal`; the last residual.
    pub(super) fn solve(
        &mut self,
        grid: &mut Grid<N>,
        problem: &Problem<'_, impl Flow>,
        goal: f64,
        steps_limit: u32,
    ) -> Residual {
        let mut residual = self.residual(grid, problem);
        for _ in 0..steps_limit {
            if residual.size() <= goal {
                break;
            }
            let Some(drum_step_n) = self.newton_step(grid, problem) else { break };
            let (drum_n, count) = (grid.drum_force_n, grid.mesh.nodes_count());
            self.trial_n = grid.force_n;
            let mut factor = 1.0;
            let mut best = residual;
            for _ in 0..9 {
                grid.drum_force_n = drum_n + factor * drum_step_n;
                for k in 0..count {
                    grid.force_n.set(k, self.trial_n.at(k) + factor * self.step_n[k]);
                }
                best = self.residual(grid, problem);
                if best.size() < (1.0 - 0.2 * factor) * residual.size() {
                    break;
                }
                factor *= 0.5;
            }
            if best.size() >= residual.size() {
                grid.drum_force_n = drum_n;
                grid.force_n = self.trial_n;
                residual = self.residual(grid, problem);
                break;
            }
            residual = best;
            if grid.move_to_heights(problem.compliance_per_n) {
                residual = self.residual(grid, problem);
            }
        }
        residual
    }

    /// Loads, heights and end of the shape with the forces as they are, and how far they are from a solution.
    fn residual(&mut self, grid: &mut Grid<N>, problem: &Problem<'_, impl Flow>) -> Residual {
        let drum_n = grid.drum_force_n;
        grid.integrate(problem);
        let mut worst_n = 0.0_f64;
        for k in 0..grid.mesh.nodes_count() {
            self.defect_n[k] = grid.next_n.at(k) + drum_n - grid.force_n.at(k);
            worst_n = worst_n.max(self.defect_n[k].norm());
        }
        let scale_n = 0.5 * (drum_n.norm() + grid.top_force_n.norm());
        let force_ratio = worst_n / scale_n;
        let missed_m = problem.end_m - grid.end_position_m;
        let end_ratio = if problem.is_loose { 0.0 } else { missed_m.norm() / grid.length_m };
        let infinite = |x: f64| if x.is_nan() { f64::INFINITY } else { x };
        Residual { force_ratio: infinite(force_ratio), end_ratio: infinite(end_ratio) }
    }

    /// Newton step of all node forces, and of the drum force as the result.
    fn newton_step(&mut self, grid: &Grid<N>, problem: &Problem<'_, impl Flow>) -> Option<Vector3<f64>> {
        let mut chains = [Chain {
            force: Matrix3::identity(),
            force_defect_n: Vector3::zeros(),
            position: Matrix3::zeros(),
            position_defect_m: Vector3::zeros(),
        }; MAX_ELEMENTS + 1];
        let count = grid.mesh.elements().len();
        for e in 0..count {
            chains[e + 1] = self.eliminate(grid, problem, e, &chains[e])?;
        }
        let end = &chains[count];
        let missed_m = problem.end_m - grid.end_position_m - end.position_defect_m;
        let drum_n = if problem.is_loose { Vector3::zeros() } else { end.position.lu().solve(&missed_m)? };
        for (e, chain) in chains.iter().enumerate().take(count) {
            let force_n = chain.force * drum_n + chain.force_defect_n;
            let position_m = chain.position * drum_n + chain.position_defect_m;
            let entering = [force_n.x, force_n.y, force_n.z, position_m.z, 1.0];
            for node in grid.mesh.elements()[e].nodes() {
                for axis in 0..3 {
                    self.step_n[node][axis] =
                        self.response[node][axis].iter().zip(entering).map(|(r, x)| r * x).sum();
                }
            }
        }
        drum_n.iter().all(|x| x.is_finite()).then_some(drum_n)
    }

    /// Solves one element and carries the chain over it.
    fn eliminate(
        &mut self,
        grid: &Grid<N>,
        problem: &Problem<'_, impl Flow>,
        e: usize,
        chain: &Chain,
    ) -> Option<Chain> {
        let element = grid.mesh.elements()[e];
        let (order, rule) = (element.order, rule(element.order));
        let span_m = grid.length_m * element.span_ratio;
        let mut slopes = [LoadSlope::zero(); MAX_ORDER];
        let mut flexibility = [Matrix3::zeros(); MAX_ORDER];
        let mut slope_m = [0.0; MAX_ORDER];
        for i in 0..order {
            let node = element.first + i;
            let pull = Pull::new(&grid.force_n.at(node), problem.compliance_per_n);
            slope_m[i] = span_m * grid.share[node].1;
            flexibility[i] = pull.flexibility(problem.compliance_per_n);
            slopes[i] =
                LoadSlope::of(problem.line, problem.flow, grid.z_m[node], &pull, problem.compliance_per_n);
            if let Some((share, _)) = problem.blend {
                slopes[i].by_force *= share;
                slopes[i].by_height *= share;
            }
        }
        self.assemble(&element, &slopes, &flexibility, &slope_m);
        if !self.system.solve(3 * order) {
            return None;
        }
        let mut next = *chain;
        // What enters, by columns: change of the drum force (3) and defect.
        let mut entering = [[0.0; 4]; COLUMNS];
        for axis in 0..3 {
            for by in 0..3 {
                entering[axis][by] = chain.force[(axis, by)];
            }
            entering[axis][3] = chain.force_defect_n[axis];
        }
        for by in 0..3 {
            entering[3][by] = chain.position[(2, by)];
        }
        entering[3][3] = chain.position_defect_m.z;
        entering[4][3] = 1.0;
        // Heights inside, by the same columns.
        let mut change_n = [[Vector3::zeros(); 4]; MAX_ORDER];
        for i in 0..order {
            for axis in 0..3 {
                self.response[element.first + i][axis] = self.system.columns[3 * i + axis];
                for by in 0..4 {
                    change_n[i][by][axis] =
                        (0..COLUMNS).map(|c| self.system.columns[3 * i + axis][c] * entering[c][by]).sum();
                }
            }
        }
        for i in 0..order {
            let weight_m = slope_m[i] * rule.weights[i];
            for by in 0..4 {
                let climb_m: f64 = entering[3][by]
                    + (0..order)
                        .map(|j| rule.integral[j][i] * slope_m[j] * (flexibility[j] * change_n[j][by]).z)
                        .sum::<f64>();
                let load_n =
                    weight_m * (slopes[i].by_force * change_n[i][by] + climb_m * slopes[i].by_height);
                let moved_m = weight_m * (flexibility[i] * change_n[i][by]);
                if by < 3 {
                    next.force.set_column(by, &(next.force.column(by) - load_n));
                    next.position.set_column(by, &(next.position.column(by) + moved_m));
                } else {
                    next.force_defect_n -= load_n;
                    next.position_defect_m += moved_m;
                }
            }
        }
        Some(next)
    }

    /// δF_i + Σ_j a_ij δq_j = δF(start) + defect_i, with δq_j = (∂q/∂F) δF_j + (∂q/∂z) δz_j and
    /// δz_j = δz(start) + Σ_k a_jk (flexibility δF_k)_z.
    fn assemble(
        &mut self,
        element: &super::mesh::Element,
        slopes: &[LoadSlope; MAX_ORDER],
        flexibility: &[Matrix3<f64>; MAX_ORDER],
        slope_m: &[f64; MAX_ORDER],
    ) {
        let (order, rule) = (element.order, rule(element.order));
        let share = |i: usize, j: usize| rule.integral[j][i] * slope_m[j];
        for i in 0..order {
            let mut by_height = Vector3::zeros();
            for j in 0..order {
                by_height += share(i, j) * slopes[j].by_height;
            }
            for k in 0..order {
                let mut through_height = Vector3::zeros();
                for j in 0..order {
                    through_height += share(i, j) * share(j, k) * slopes[j].by_height;
                }
                let block = share(i, k) * slopes[k].by_force + through_height * flexibility[k].row(2);
                for row in 0..3 {
                    for column in 0..3 {
                        let diagonal = if i == k && row == column { 1.0 } else { 0.0 };
                        self.system.matrix[3 * i + row][3 * k + column] = diagonal + block[(row, column)];
                    }
                }
            }
            let defect_n = self.defect_n[element.first + i];
            for row in 0..3 {
                let columns = &mut self.system.columns[3 * i + row];
                *columns = [0.0; COLUMNS];
                columns[row] = 1.0;
                columns[3] = -by_height[row];
                columns[4] = defect_n[row];
            }
        }
    }
}

impl ElementSystem {
    /// Gaussian elimination with row exchange; the solution replaces the right-hand sides. `false` if singular.
    fn solve(&mut self, n: usize) -> bool {
        for k in 0..n {
            let pivot = (k..n).fold(k, |best, row| {
                if self.matrix[row][k].abs() > self.matrix[best][k].abs() { row } else { best }
            });
            let value = self.matrix[pivot][k];
            if value == 0.0 || !value.is_finite() {
                return false;
            }
            self.matrix.swap(k, pivot);
            self.columns.swap(k, pivot);
            for row in k + 1..n {
                let factor = self.matrix[row][k] / value;
                if factor == 0.0 {
                    continue;
                }
                let (upper, lower) = self.matrix.split_at_mut(row);
                for (x, y) in lower[0][k..n].iter_mut().zip(&upper[k][k..n]) {
                    *x -= factor * y;
                }
                let (upper, lower) = self.columns.split_at_mut(row);
                for (x, y) in lower[0].iter_mut().zip(&upper[k]) {
                    *x -= factor * y;
                }
            }
        }
        for k in (0..n).rev() {
            for c in 0..COLUMNS {
                let known: f64 = (k + 1..n).map(|j| self.matrix[k][j] * self.columns[j][c]).sum();
                self.columns[k][c] = (self.columns[k][c] - known) / self.matrix[k][k];
            }
        }
        true
    }
}
