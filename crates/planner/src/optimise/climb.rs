//! From a point where a stage has no solution towards the feasible, by argmin's Nelder-Mead: it needs no slopes.

use std::cell::RefCell;

use argmin::{
    core::{CostFunction, Error, Executor},
    solver::neldermead::NelderMead,
};

use super::{Bound, Problem, Trial};

/// Side of the first simplex over the range.
const FIRST_STEP: f64 = 0.12;

struct Depth<'a, P> {
    problem: RefCell<&'a mut P>,
    bounds: &'a [Bound],
    best: RefCell<(Vec<f64>, Trial)>,
}

impl<P: Problem> CostFunction for Depth<'_, P> {
    type Param = Vec<f64>;
    type Output = f64;

    fn cost(&self, unit: &Vec<f64>) -> Result<f64, Error> {
        let inside: Vec<f64> = unit.iter().zip(self.bounds).map(|(u, (lo, hi))| u.clamp(*lo, *hi)).collect();
        let outside: f64 = unit.iter().zip(&inside).map(|(u, i)| (u - i).abs()).sum();
        let trial = self.problem.borrow_mut().evaluate(&inside);
        let depth = -trial.level.min(0.0) + outside;
        if trial.beats(&self.best.borrow().1) {
            *self.best.borrow_mut() = (inside, trial);
        }
        Ok(depth)
    }
}

/// The best point on the way from `start`, and whether any was better.
pub(super) fn climb<P: Problem>(
    problem: &mut P,
    start: (Vec<f64>, Trial),
    bounds: &[Bound],
    iterations: u64,
) -> (Vec<f64>, Trial) {
    let mut simplex = vec![start.0.clone()];
    for (index, (lo, hi)) in bounds.iter().enumerate() {
        let mut vertex = start.0.clone();
        let step = FIRST_STEP * (hi - lo);
        vertex[index] += if vertex[index] + step <= *hi { step } else { -step };
        simplex.push(vertex);
    }
    let fallback = start.clone();
    let depth = Depth { problem: RefCell::new(problem), bounds, best: RefCell::new(start) };
    let run = Executor::new(depth, NelderMead::new(simplex))
        .configure(|state| state.max_iters(iterations).target_cost(0.0))
        .timer(false)
        .run();
    match run.map(|mut result| result.problem.take_problem()) {
        Ok(Some(depth)) => depth.best.into_inner(),
        _ => fallback,
    }
}
