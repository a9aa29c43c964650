//! Small strictly convex quadratic programs by the dual active-set method of D. Goldfarb and A. Idnani, Mathematical
//! Programming 27, 1 (1983). The factors are computed anew at each step: with ten variables that is quicker than care.

use nalgebra::{Cholesky, DMatrix, DVector};

/// A limit `normal · p + offset ≥ 0`.
#[derive(Debug, Clone)]
pub(super) struct Row {
    pub normal: DVector<f64>,
    pub offset: f64,
}

/// Minimum and the multiplier of each row.
#[derive(Debug, Clone)]
pub(super) struct Solution {
    pub step: DVector<f64>,
    pub multipliers: Vec<f64>,
}

/// Most changes of the active set.
const MOST_CHANGES: usize = 400;

/// Minimum of `gradient · p + ½ p · hessian p` under `rows`; none if no point satisfies them all, or the hessian is not
/// positive definite.
pub(super) fn least(hessian: &DMatrix<f64>, gradient: &DVector<f64>, rows: &[Row]) -> Option<Solution> {
    let inverse = Cholesky::new(hessian.clone())?.inverse();
    let mut step = -(&inverse * gradient);
    let mut active: Vec<usize> = Vec::new();
    let mut weights: Vec<f64> = Vec::new();
    let mut changes = 0;
    loop {
        let value = |row: &Row, step: &DVector<f64>| row.normal.dot(step) + row.offset;
        let worst = rows
            .iter()
            .enumerate()
            .filter(|(index, _)| !active.contains(index))
            .map(|(index, row)| (index, value(row, &step) / (1.0 + row.normal.norm())))
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .filter(|(_, v)| *v < -1e-13);
        let Some((entering, _)) = worst else { return Some(collect(step, rows.len(), &active, &weights)) };
        let mut weight = 0.0;
        loop {
            changes += 1;
            if changes > MOST_CHANGES {
                return None;
            }
            let normal = &rows[entering].normal;
            let (direction, share) = directions(&inverse, rows, &active, normal);
            let blocking = share
                .iter()
                .enumerate()
                .filter(|(_, r)| **r > 1e-14)
                .map(|(index, r)| (index, weights[index] / r))
                .min_by(|a, b| a.1.total_cmp(&b.1));
            let along = direction.dot(normal);
            let flat = along <= 1e-13 * normal.dot(&(&inverse * normal)).max(f64::MIN_POSITIVE);
            let full = if flat { f64::INFINITY } else { -value(&rows[entering], &step) / along };
            let length = blocking.map_or(full, |(_, t)| t.min(full));
            if !length.is_finite() {
                return None;
            }
            for (w, r) in weights.iter_mut().zip(&share) {
                *w -= length * r;
            }
            weight += length;
            if !flat {
                step += &direction * length;
            }
            match blocking {
                Some((index, t)) if t < full => {
                    active.remove(index);
                    weights.remove(index);
                }
                _ => {
                    active.push(entering);
                    weights.push(weight);
                    break;
                }
            }
        }
    }
}

/// Step of the variables, and of the multipliers of the active rows, per unit of the entering row's multiplier.
fn directions(
    inverse: &DMatrix<f64>,
    rows: &[Row],
    active: &[usize],
    normal: &DVector<f64>,
) -> (DVector<f64>, Vec<f64>) {
    let across = inverse * normal;
    if active.is_empty() {
        return (across, Vec::new());
    }
    let normals = DMatrix::from_columns(&active.iter().map(|i| rows[*i].normal.clone()).collect::<Vec<_>>());
    let weighted = inverse * &normals;
    let gram = normals.transpose() * &weighted;
    let Some(share) = gram.lu().solve(&(normals.transpose() * &across)) else {
        return (DVector::zeros(normal.len()), vec![0.0; active.len()]);
    };
    (across - weighted * &share, share.iter().copied().collect())
}

fn collect(step: DVector<f64>, count: usize, active: &[usize], weights: &[f64]) -> Solution {
    let mut multipliers = vec![0.0; count];
    for (index, weight) in active.iter().zip(weights) {
        multipliers[*index] = weight.max(0.0);
    }
    Solution { step, multipliers }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn row(normal: &[f64], offset: f64) -> Row {
        Row { normal: DVector::from_column_slice(normal), offset }
    }

    #[test]
    fn val_goldfarb_idnani_example() {
        // Goldfarb and Idnani (1983), section 5: min 6 x1 + 2 (x1² - x1 x2 + x2²), x ≥ 0, x1 + x2 ≥ 2; optimum (½, 3/2).
        let hessian = DMatrix::from_row_slice(2, 2, &[4.0, -2.0, -2.0, 4.0]);
        let gradient = DVector::from_column_slice(&[6.0, 0.0]);
        let rows = [row(&[1.0, 0.0], 0.0), row(&[0.0, 1.0], 0.0), row(&[1.0, 1.0], -2.0)];
        let found = least(&hessian, &gradient, &rows).unwrap();
        assert!((found.step[0] - 0.5).abs() < 1e-12 && (found.step[1] - 1.5).abs() < 1e-12, "{found:?}");
        assert!(found.multipliers[0] == 0.0 && found.multipliers[2] > 0.0);
    }

    #[test]
    fn rows_that_exclude_each_other_have_no_solution() {
        let rows = [row(&[1.0], -2.0), row(&[-1.0], 1.0)];
        assert!(least(&DMatrix::identity(1, 1), &DVector::zeros(1), &rows).is_none());
    }

    proptest! {
        /// The conditions of Karush, Kuhn and Tucker hold for random programmes that have a solution.
        #[test]
        fn prop_the_solution_is_optimal(
            seed in proptest::collection::vec(-1.0..1.0f64, 9 + 3 + 24 + 8),
        ) {
            let root = DMatrix::from_row_slice(3, 3, &seed[..9]);
            let hessian = &root * root.transpose() + DMatrix::identity(3, 3) * 0.1;
            let gradient = DVector::from_row_slice(&seed[9..12]) * 5.0;
            // The origin is inside, so that a solution exists.
            let rows: Vec<Row> =
                (0..8).map(|i| row(&seed[12 + 3 * i..15 + 3 * i], seed[36 + i].abs())).collect();
            let found = least(&hessian, &gradient, &rows).unwrap();
            let mut slope = &hessian * &found.step + &gradient;
            for (row, weight) in rows.iter().zip(&found.multipliers) {
                let left = row.normal.dot(&found.step) + row.offset;
                prop_assert!(left > -1e-9 && *weight >= 0.0 && (left * weight).abs() < 1e-8);
                slope -= &row.normal * *weight;
            }
            prop_assert!(slope.norm() < 1e-8);
        }
    }
}
