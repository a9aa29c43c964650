//! Strictly convex quadratic programme with inequalities: the inner step of the search.

use nalgebra::{DMatrix, DVector};

/// Violation that counts as none, over the scale of the row.
const TOLERANCE: f64 = 1e-11;
/// Directions shorter than this are none.
const NO_DIRECTION: f64 = 1e-13;

/// Least `½ dᵀ B d + gᵀ d` with `rows · d ≥ bounds`.
#[derive(Debug, Clone)]
pub struct Quadratic<'a> {
    /// Symmetric positive definite `B`.
    pub curvature: &'a DMatrix<f64>,
    /// `g`.
    pub slope: &'a DVector<f64>,
    /// One row for each inequality.
    pub rows: &'a DMatrix<f64>,
    /// Least value of each row.
    pub bounds: &'a DVector<f64>,
}

/// Solution of a [`Quadratic`].
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// The step `d`.
    pub step: DVector<f64>,
    /// Multiplier of each row, not negative; 0 where a row is not active.
    pub multipliers: DVector<f64>,
}

/// A row that holds the step back, and its multiplier.
#[derive(Debug, Clone, Copy)]
struct Held {
    row: usize,
    multiplier: f64,
}

impl Quadratic<'_> {
    /// Solves it by the dual active-set method (D. Goldfarb and A. Idnani, "A numerically stable dual method for solving strictly
    /// convex quadratic programs", Mathematical Programming 27, 1983), with the projections computed anew in each turn: there
    /// are ten unknowns at most, and rounding does not add up.
    ///
    /// `None` if no step satisfies all rows, or `B` is not positive definite.
    pub fn solve(&self) -> Option<Step> {
        let inverse = self.curvature.clone().cholesky()?.inverse();
        let mut step = -(&inverse * self.slope);
        let mut held: Vec<Held> = Vec::with_capacity(self.slope.len());
        for _ in 0..20 * (self.rows.nrows() + self.slope.len() + 1) {
            let Some(entering) = self.most_violated(&step, &held) else {
                return Some(self.finish(step, &held));
            };
            self.take_in(entering, &inverse, &mut step, &mut held)?;
        }
        None
    }

    fn violation(&self, row: usize, step: &DVector<f64>) -> f64 {
        (self.rows.row(row) * step)[0] - self.bounds[row]
    }

    fn most_violated(&self, step: &DVector<f64>, held: &[Held]) -> Option<usize> {
        (0..self.rows.nrows())
            .filter(|row| held.iter().all(|h| h.row != *row))
            .map(|row| {
                let scale = self.rows.row(row).norm().max(self.bounds[row].abs()).max(f64::MIN_POSITIVE);
                (row, self.violation(row, step) / scale)
            })
            .filter(|(_, violation)| *violation < -TOLERANCE)
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(row, _)| row)
    }

    /// Moves until the entering row holds, letting go of rows that push the wrong way.
    fn take_in(
        &self,
        entering: usize,
        inverse: &DMatrix<f64>,
        step: &mut DVector<f64>,
        held: &mut Vec<Held>,
    ) -> Option<()> {
        let normal = self.rows.row(entering).transpose();
        let mut multiplier = 0.0;
        for _ in 0..=2 * self.slope.len() + 2 {
            let (direction, exchange) = self.project(&normal, inverse, held)?;
            let leaving = leaving(held, &exchange);
            let reach = direction.dot(&normal);
            let full = if direction.norm() > NO_DIRECTION * (inverse * &normal).norm() && reach > 0.0 {
                -self.violation(entering, step) / reach
            } else {
                f64::INFINITY
            };
            let length = leaving.map_or(f64::INFINITY, |(_, limit)| limit).min(full);
            if !length.is_finite() {
                return None;
            }
            if full.is_finite() {
                step.axpy(length, &direction, 1.0);
            }
            held.iter_mut().zip(exchange.iter()).for_each(|(h, r)| h.multiplier -= length * r);
            multiplier += length;
            match leaving {
                Some((place, limit)) if limit < full => {
                    held.remove(place);
                }
                _ => {
                    held.push(Held { row: entering, multiplier });
                    return Some(());
                }
            }
        }
        None
    }

    /// Direction of the step in which the held rows keep their values, and how their multipliers change with it.
    fn project(
        &self,
        normal: &DVector<f64>,
        inverse: &DMatrix<f64>,
        held: &[Held],
    ) -> Option<(DVector<f64>, DVector<f64>)> {
        let free = inverse * normal;
        if held.is_empty() {
            return Some((free, DVector::zeros(0)));
        }
        let rows = DMatrix::from_fn(held.len(), normal.len(), |i, j| self.rows[(held[i].row, j)]);
        let spread = inverse * rows.transpose();
        let exchange = (&rows * &spread).lu().solve(&(&rows * &free))?;
        Some((free - spread * &exchange, exchange))
    }

    fn finish(&self, step: DVector<f64>, held: &[Held]) -> Step {
        let mut multipliers = DVector::zeros(self.rows.nrows());
        held.iter().for_each(|h| multipliers[h.row] = h.multiplier.max(0.0));
        Step { step, multipliers }
    }
}

/// The held row whose multiplier reaches 0 first, and after which length.
fn leaving(held: &[Held], exchange: &DVector<f64>) -> Option<(usize, f64)> {
    held.iter()
        .zip(exchange.iter())
        .enumerate()
        .filter(|(_, (_, rate))| **rate > 0.0)
        .map(|(place, (h, rate))| (place, (h.multiplier / rate).max(0.0)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn solve(curvature: &[f64], slope: &[f64], rows: &[f64], bounds: &[f64]) -> Option<Step> {
        let n = slope.len();
        Quadratic {
            curvature: &DMatrix::from_row_slice(n, n, curvature),
            slope: &DVector::from_row_slice(slope),
            rows: &DMatrix::from_row_slice(bounds.len(), n, rows),
            bounds: &DVector::from_row_slice(bounds),
        }
        .solve()
    }

    #[test]
    fn an_active_row_holds_the_step_back() {
        // least x² + y² with x + y ≥ 1: (½, ½), multiplier 1.
        let found = solve(&[2.0, 0.0, 0.0, 2.0], &[0.0, 0.0], &[1.0, 1.0], &[1.0]).unwrap();
        assert!((found.step[0] - 0.5).abs() < 1e-14 && (found.multipliers[0] - 1.0).abs() < 1e-14);
    }

    #[test]
    fn rows_that_exclude_each_other_have_no_step() {
        assert!(solve(&[1.0], &[0.0], &[1.0, -1.0], &[1.0, 1.0]).is_none());
    }

    proptest! {
        /// The conditions of Karush, Kuhn and Tucker hold for random programmes that have a solution.
        #[test]
        fn prop_the_solution_is_optimal(
            seed in proptest::collection::vec(-1.0..1.0f64, 9 + 3 + 24 + 8),
        ) {
            let root = DMatrix::from_row_slice(3, 3, &seed[..9]);
            let curvature = &root * root.transpose() + DMatrix::identity(3, 3) * 0.1;
            let slope = DVector::from_row_slice(&seed[9..12]) * 5.0;
            let rows = DMatrix::from_row_slice(8, 3, &seed[12..36]);
            // The origin is inside, so that a solution exists.
            let bounds = -DVector::from_row_slice(&seed[36..44]).abs();
            let programme = Quadratic { curvature: &curvature, slope: &slope, rows: &rows, bounds: &bounds };
            let found = programme.solve().unwrap();
            let left = &rows * &found.step - &bounds;
            prop_assert!(left.min() > -1e-9);
            prop_assert!(found.multipliers.min() >= 0.0);
            let gradient = &curvature * &found.step + &slope - rows.transpose() * &found.multipliers;
            prop_assert!(gradient.norm() < 1e-8);
            prop_assert!(left.component_mul(&found.multipliers).norm() < 1e-8);
        }
    }
}
