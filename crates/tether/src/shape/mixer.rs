//! Fewer sweeps by mixing the last ones.

#![allow(clippy::needless_range_loop, reason = "kept sweeps and nodes run over several arrays at once")]

use nalgebra::Vector3;

use super::relax::Grid;

/// Part of a change, squared, that must be new for it to enter the mixture.
const LEAST_NEWS: f64 = 1e-8;
/// Sweeps that [`Mixer`] keeps.
const KEPT: usize = 3;

/// Anderson's method (D. G. Anderson, *Iterative procedures for nonlinear integral equations*, J. ACM 12, 1965): from the last
/// sweeps, the mixture whose change would be least.
#[derive(Debug, Clone)]
pub(super) struct Mixer<const N: usize> {
    value_n: [[Vector3<f64>; N]; KEPT],
    change_n: [[Vector3<f64>; N]; KEPT],
    /// Lengths, which change where the tension is held.
    length_m: [f64; KEPT],
    /// Products of the changes with each other.
    product: [[f64; KEPT]; KEPT],
    sweeps: usize,
}

impl<const N: usize> Mixer<N> {
    pub(super) fn new() -> Self {
        Self {
            value_n: [[Vector3::zeros(); N]; KEPT],
            change_n: [[Vector3::zeros(); N]; KEPT],
            length_m: [0.0; KEPT],
            product: [[0.0; KEPT]; KEPT],
            sweeps: 0,
        }
    }

    /// Improves what the last sweep gave.
    pub(super) fn mix(&mut self, grid: &mut Grid<N>) {
        let now = self.sweeps % KEPT;
        let count = grid.mesh.nodes_count();
        for k in 0..count {
            let next_n = grid.next_n.at(k);
            self.value_n[now][k] = next_n;
            self.change_n[now][k] = next_n - grid.force_n.at(k);
        }
        self.length_m[now] = grid.length_m;
        self.sweeps += 1;
        let kept = self.sweeps.min(KEPT);
        for i in 0..kept {
            let product = (0..count).map(|k| self.change_n[i][k].dot(&self.change_n[now][k])).sum();
            self.product[i][now] = product;
            self.product[now][i] = product;
        }
        if kept == 1 {
            return;
        }
        let share = self.shares(now, kept);
        for k in 0..count {
            let now_n = self.value_n[now][k];
            let others = (0..kept).filter(|&i| i != now);
            let after_n = others.fold(now_n, |sum, i| sum + share[i] * (self.value_n[i][k] - now_n));
            grid.next_n.set(k, after_n);
        }
        let longer_m = |i: usize| share[i] * (self.length_m[i] - self.length_m[now]);
        grid.length_m += (0..kept).map(longer_m).sum::<f64>();
        // What the last step did to the tension is no longer seen.
        grid.step = None;
    }

    /// Shares of the kept sweeps other than the newest, `now`, in the best mixture.
    fn shares(&self, now: usize, kept: usize) -> [f64; KEPT] {
        // Normal equations in the differences to the newest change, by Gaussian elimination without exchange; a difference
        // that says nothing new is left out.
        let mut matrix = [[0.0; KEPT + 1]; KEPT];
        let p = &self.product;
        for i in 0..kept {
            for j in 0..kept {
                matrix[i][j] = p[i][j] - p[i][now] - p[now][j] + p[now][now];
            }
            matrix[i][KEPT] = p[now][now] - p[i][now];
        }
        let size: [f64; KEPT] = std::array::from_fn(|i| matrix[i][i]);
        let mut used = [false; KEPT];
        for i in (0..kept).filter(|&i| i != now) {
            if matrix[i][i] <= LEAST_NEWS * size[i] {
                continue;
            }
            used[i] = true;
            for row in (0..kept).filter(|&row| row != now && row != i) {
                let factor = matrix[row][i] / matrix[i][i];
                for column in 0..=KEPT {
                    matrix[row][column] -= factor * matrix[i][column];
                }
            }
        }
        std::array::from_fn(|i| if used[i] { matrix[i][KEPT] / matrix[i][i] } else { 0.0 })
    }
}
