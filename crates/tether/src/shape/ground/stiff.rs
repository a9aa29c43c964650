//! Steps for lines that the wind holds at one angle: where drag is large beside weight, a pull that is off turns back within a hair,
//! and explicit steps would have to be as short.

use nalgebra::{Matrix3, SMatrix, SVector, Vector3};

/// Newton steps for one step.
const NEWTON_STEPS: u32 = 12;
/// Change at which they end, over the pull.
const SETTLED: f64 = 1e-13;
/// Step of the pull for a difference, over the pull.
const DIFFERENCE: f64 = 1e-6;
/// Coefficients of the Radau IIA method of order 3 (E. Hairer, G. Wanner, *Solving Ordinary Differential Equations II*, table
/// IV.5.5): two stages, at a third of the step and at its end.
const STAGES: [[f64; 2]; 2] = [[5.0 / 12.0, -1.0 / 12.0], [3.0 / 4.0, 1.0 / 4.0]];
const AT: [f64; 2] = [1.0 / 3.0, 1.0];

/// The pulls at a third and at the end of a step of `step` from `x` with the pull `from_n`, whose change is `rate`.
pub(super) fn pulls_n(
    x: f64,
    step: f64,
    from_n: &Vector3<f64>,
    rate: impl Fn(f64, &Vector3<f64>) -> Vector3<f64>,
) -> [Vector3<f64>; 2] {
    let first = rate(x, from_n);
    let mut pulls_n = AT.map(|at| from_n + at * step * first);
    // A start that turns the pull around says nothing.
    if pulls_n.iter().any(|pull_n| pull_n.dot(from_n) <= 0.0) {
        pulls_n = [*from_n; 2];
    }
    for _ in 0..NEWTON_STEPS {
        let rates = [rate(x + AT[0] * step, &pulls_n[0]), rate(x + AT[1] * step, &pulls_n[1])];
        let slopes: [Matrix3<f64>; 2] = std::array::from_fn(|stage| {
            let size_n = DIFFERENCE * pulls_n[stage].norm();
            let mut slope = Matrix3::zeros();
            for axis in 0..3 {
                let mut aside_n = pulls_n[stage];
                aside_n[axis] += size_n;
                let change = rate(x + AT[stage] * step, &aside_n) - rates[stage];
                slope.set_column(axis, &(change / size_n));
            }
            slope
        });
        let mut matrix = SMatrix::<f64, 6, 6>::identity();
        let mut open_n = SVector::<f64, 6>::zeros();
        for (i, row) in STAGES.iter().enumerate() {
            let open = pulls_n[i] - from_n - step * (row[0] * rates[0] + row[1] * rates[1]);
            open_n.fixed_rows_mut::<3>(3 * i).copy_from(&open);
            for (j, weight) in row.iter().enumerate() {
                let mut block = matrix.fixed_view_mut::<3, 3>(3 * i, 3 * j);
                block -= step * *weight * slopes[j];
            }
        }
        let Some(change_n) = matrix.lu().solve(&open_n) else { break };
        // No further than half of the pull at a time.
        let most = change_n.norm() / pulls_n[0].norm().min(pulls_n[1].norm());
        let factor = (0.5 / most).min(1.0);
        for (i, pull_n) in pulls_n.iter_mut().enumerate() {
            *pull_n -= factor * change_n.fixed_rows::<3>(3 * i);
        }
        if most <= SETTLED || !most.is_finite() {
            break;
        }
    }
    pulls_n
}

/// Change of what is summed along with the pull over a step, from its rates at a third and at the end.
pub(super) fn sum<T>(step: f64, third: T, end: T) -> T
where
    T: std::ops::Mul<f64, Output = T> + std::ops::Add<Output = T>,
{
    third * (step * STAGES[1][0]) + end * (step * STAGES[1][1])
}
