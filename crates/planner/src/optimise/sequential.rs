//! The local finish: sequential quadratic programming with limits, after M. J. D. Powell (1978, damped BFGS) and with the
//! exact penalty and second-order correction of J. Nocedal and S. J. Wright, *Numerical Optimization* (2nd edition, 2006),
//! chapter 18, as a solver on argmin's interface.

use std::cell::RefCell;

use argmin::core::{
    Error, Executor, IterState, KV, Problem as Counted, Solver, TerminationReason, TerminationStatus,
};
use nalgebra::{DMatrix, DVector};

use super::{
    Bound, Problem, Trial,
    quadratic::{Row, Solution, least},
};

/// How a finish goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Finish {
    /// Difference for slopes, in the unit cube.
    pub difference: f64,
    /// Whether slopes are taken from both sides.
    pub central: bool,
    /// Margin of safety from each limit, so that a limit that binds also holds.
    pub backoff: f64,
    /// Most iterations.
    pub iterations: u64,
    /// Largest first step of a coordinate.
    pub reach: f64,
    /// Step below which it is done.
    pub tolerance: f64,
    /// How often a step is halved that does not help, and then one more start with a round model.
    pub halvings: i32,
}

impl Default for Finish {
    fn default() -> Self {
        Self {
            difference: 1e-5,
            central: true,
            backoff: 1e-8,
            iterations: 80,
            reach: 0.3,
            tolerance: 1e-9,
            halvings: MOST_HALVINGS,
        }
    }
}

/// Penalty on limits that cannot all hold at once.
const ELASTIC: f64 = 1e4;
/// Shortest part of a step that is tried, as a power of two.
const MOST_HALVINGS: i32 = 14;

type Iterate = IterState<Vec<f64>, (), (), (), (), f64>;

/// A problem behind argmin's shared reference.
struct Shared<'a, P>(RefCell<&'a mut P>);

impl<P: Problem> Shared<'_, P> {
    fn evaluate(&self, at: &DVector<f64>) -> Trial {
        self.0.borrow_mut().evaluate(at.as_slice())
    }
}

/// Finishes from `start` within `bounds`: the best point on the way, feasible before infeasible.
pub fn finish<P: Problem>(
    problem: &mut P,
    start: (Vec<f64>, Trial),
    bounds: &[Bound],
    how: &Finish,
) -> (Vec<f64>, Trial) {
    let fallback = start.clone();
    if !start.1.is_complete() || start.0.is_empty() {
        return fallback;
    }
    let solver = Sequential::new(start, bounds, *how);
    let first = fallback.0.clone();
    let run = Executor::new(Shared(RefCell::new(problem)), solver)
        .configure(|state: Iterate| state.param(first).max_iters(how.iterations))
        .timer(false)
        .run();
    run.map_or(fallback, |result| result.solver.best)
}

/// Slopes at a point: of what is minimised, and of every margin, a column for each.
#[derive(Clone)]
struct Slopes {
    cost: DVector<f64>,
    margins: DMatrix<f64>,
}

/// State of the finish.
#[derive(Clone)]
struct Sequential<'a> {
    bounds: &'a [Bound],
    how: Finish,
    at: DVector<f64>,
    trial: Trial,
    best: (Vec<f64>, Trial),
    hessian: DMatrix<f64>,
    slopes: Option<Slopes>,
    cost_scale: f64,
    margin_scales: Vec<f64>,
    penalty: f64,
    reach: f64,
    stalled: u32,
    done: bool,
}

impl<'a> Sequential<'a> {
    fn new(start: (Vec<f64>, Trial), bounds: &'a [Bound], how: Finish) -> Self {
        let count = start.0.len();
        Self {
            bounds,
            how,
            at: DVector::from_column_slice(&start.0),
            trial: start.1.clone(),
            best: start,
            hessian: DMatrix::identity(count, count),
            slopes: None,
            cost_scale: 1.0,
            margin_scales: Vec::new(),
            penalty: 1.0,
            reach: how.reach,
            stalled: 0,
            done: false,
        }
    }

    fn note(&mut self, at: &DVector<f64>, trial: &Trial) {
        if trial.beats(&self.best.1) {
            self.best = (at.as_slice().to_vec(), trial.clone());
        }
    }

    fn cost(&self, trial: &Trial) -> f64 {
        -trial.goal * self.cost_scale
    }

    fn margin(&self, trial: &Trial, index: usize) -> f64 {
        (trial.margins[index] - self.how.backoff) * self.margin_scales[index]
    }

    fn violation(&self, trial: &Trial) -> f64 {
        (0..trial.margins.len()).map(|i| (-self.margin(trial, i)).max(0.0)).sum()
    }

    fn merit(&self, trial: &Trial) -> f64 {
        if !trial.is_complete() {
            return f64::INFINITY;
        }
        self.cost(trial) + self.penalty * self.violation(trial)
    }

    /// Raw slopes by differences that stay within the bounds and where the problem can be computed.
    fn differences<P: Problem>(&mut self, shared: &Shared<'_, P>) -> Slopes {
        let count = self.at.len();
        let mut cost = DVector::zeros(count);
        let mut margins = DMatrix::zeros(count, self.trial.margins.len());
        for j in 0..count {
            let (lo, hi) = self.bounds[j];
            let (step, central) = (self.how.difference, self.how.central);
            let mut side = |offset: f64| {
                let mut at = self.at.clone();
                at[j] += offset;
                if at[j] > hi || at[j] < lo {
                    return None;
                }
                let trial = shared.evaluate(&at);
                self.note(&at, &trial);
                trial.is_complete().then_some(trial)
            };
            let up = side(step);
            let down = if central || up.is_none() { side(-step) } else { None };
            let (above, below, width) = match (&up, &down) {
                (Some(up), Some(down)) => (up, down, 2.0 * step),
                (Some(up), None) => (up, &self.trial, step),
                (None, Some(down)) => (&self.trial, down, step),
                (None, None) => continue,
            };
            cost[j] = -(above.goal - below.goal) / width;
            for (slope, (a, b)) in margins.row_mut(j).iter_mut().zip(above.margins.iter().zip(&below.margins))
            {
                *slope = (a - b) / width;
            }
        }
        Slopes { cost, margins }
    }

    /// Slopes on the scale of the first ones.
    fn scaled<P: Problem>(&mut self, shared: &Shared<'_, P>) -> Slopes {
        let mut slopes = self.differences(shared);
        if self.margin_scales.len() != slopes.margins.ncols() {
            let scale = |largest: f64| 1.0 / largest.clamp(1e-8, 1e12);
            let largest = slopes.cost.amax();
            self.cost_scale = if largest > 0.0 { scale(largest) } else { 1.0 };
            self.margin_scales = slopes.margins.column_iter().map(|s| scale(s.amax()).min(1.0)).collect();
        }
        slopes.cost *= self.cost_scale;
        for (mut slope, scale) in slopes.margins.column_iter_mut().zip(&self.margin_scales) {
            slope *= *scale;
        }
        slopes
    }

    /// The quadratic model with the margins of `offsets`: elastic where a limit is broken already.
    fn model(&self, slopes: &Slopes, offsets: &[f64]) -> Option<Solution> {
        let count = self.at.len();
        // A limit that no coordinate moves bounds no step, and no step mends it where it is broken; one that the longest step does not
        // reach bounds none either.
        let matters = |index: &usize| {
            let most: f64 = slopes.margins.column(*index).iter().map(|slope| slope.abs()).sum();
            most > 0.0 && offsets[*index] < self.reach * most
        };
        let kept: Vec<usize> = (0..offsets.len()).filter(matters).collect();
        let broken = kept.iter().any(|index| offsets[*index] < 0.0);
        let size = count + usize::from(broken);
        let mut hessian = DMatrix::identity(size, size);
        hessian.view_mut((0, 0), (count, count)).copy_from(&self.hessian);
        let mut gradient = DVector::zeros(size);
        gradient.rows_mut(0, count).copy_from(&slopes.cost);
        if broken {
            gradient[count] = ELASTIC;
        }
        let mut rows = Vec::with_capacity(kept.len() + 2 * count + 1);
        for index in &kept {
            let (slope, offset) = (slopes.margins.column(*index), offsets[*index]);
            let mut normal = DVector::zeros(size);
            normal.rows_mut(0, count).copy_from(&slope);
            if offset < 0.0 {
                normal[count] = 1.0;
            }
            rows.push(Row { normal, offset });
        }
        for j in 0..count {
            let (lo, hi) = self.bounds[j];
            let unit = |sign: f64| DVector::from_fn(size, |i, _| if i == j { sign } else { 0.0 });
            rows.push(Row { normal: unit(1.0), offset: (self.at[j] - lo).clamp(0.0, self.reach) });
            rows.push(Row { normal: unit(-1.0), offset: (hi - self.at[j]).clamp(0.0, self.reach) });
        }
        if broken {
            let normal = DVector::from_fn(size, |i, _| if i == count { 1.0 } else { 0.0 });
            rows.push(Row { normal, offset: 0.0 });
        }
        let found = least(&hessian, &gradient, &rows)?;
        let mut multipliers = vec![0.0; offsets.len()];
        for (index, multiplier) in kept.into_iter().zip(&found.multipliers) {
            multipliers[index] = *multiplier;
        }
        Some(Solution { step: found.step.rows(0, count).into_owned(), multipliers })
    }

    fn clamp(&self, at: DVector<f64>) -> DVector<f64> {
        DVector::from_fn(at.len(), |j, _| at[j].clamp(self.bounds[j].0, self.bounds[j].1))
    }

    /// Goes along the step as far as the penalty falls, once with a correction for the bend of the limits.
    fn search<P: Problem>(
        &mut self,
        shared: &Shared<'_, P>,
        slopes: &Slopes,
        step: &DVector<f64>,
    ) -> Option<(DVector<f64>, Trial)> {
        let merit = self.merit(&self.trial);
        let fall = slopes.cost.dot(step) - self.penalty * self.violation(&self.trial);
        for halvings in 0..=self.how.halvings {
            let share = 0.5_f64.powi(halvings);
            let at = self.clamp(&self.at + step * share);
            let trial = shared.evaluate(&at);
            self.note(&at, &trial);
            let enough = |found: f64| found <= merit + 1e-4 * share * fall.min(0.0) + 1e-15 * merit.abs();
            if enough(self.merit(&trial)) {
                self.reach =
                    if halvings == 0 { (2.0 * self.reach).min(1.0) } else { (step.amax() * share).max(1e-6) };
                return Some((at, trial));
            }
            if halvings == 0 && trial.is_complete() {
                let bent: Vec<f64> = (0..trial.margins.len())
                    .map(|i| self.margin(&trial, i) - slopes.margins.column(i).dot(step))
                    .collect();
                if let Some(again) = self.model(slopes, &bent) {
                    let at = self.clamp(&self.at + again.step);
                    let trial = shared.evaluate(&at);
                    self.note(&at, &trial);
                    if enough(self.merit(&trial)) {
                        return Some((at, trial));
                    }
                }
            }
        }
        None
    }

    /// Damped BFGS on the Lagrangian (Powell 1978; Nocedal and Wright, procedure 18.2).
    fn update(&mut self, moved: &DVector<f64>, before: &Slopes, after: &Slopes, multipliers: &[f64]) {
        let weights = DVector::from_column_slice(multipliers);
        let lagrangian = |slopes: &Slopes| &slopes.cost - &slopes.margins * &weights;
        let change = lagrangian(after) - lagrangian(before);
        let bent = &self.hessian * moved;
        let curvature = moved.dot(&bent);
        if curvature <= 1e-300 {
            return;
        }
        let along = moved.dot(&change);
        let share = if along >= 0.2 * curvature { 1.0 } else { 0.8 * curvature / (curvature - along) };
        let mixed = change * share + &bent * (1.0 - share);
        let scale = moved.dot(&mixed);
        if scale <= 1e-300 {
            return;
        }
        let updated =
            &self.hessian - &bent * bent.transpose() / curvature + &mixed * mixed.transpose() / scale;
        let size = updated.amax();
        if size.is_finite() && size < 1e10 {
            self.hessian = updated;
        }
    }
}

impl<P: Problem> Solver<Shared<'_, P>, Iterate> for Sequential<'_> {
    fn name(&self) -> &str {
        "sequential quadratic programming"
    }

    fn next_iter(
        &mut self,
        problem: &mut Counted<Shared<'_, P>>,
        state: Iterate,
    ) -> Result<(Iterate, Option<KV>), Error> {
        let Some(shared) = problem.take_problem() else { return Ok((state, None)) };
        self.advance(&shared);
        problem.problem = Some(shared);
        let cost = self.merit(&self.trial);
        Ok((state.param(self.at.as_slice().to_vec()).cost(cost), None))
    }

    fn terminate(&mut self, _state: &Iterate) -> TerminationStatus {
        if self.done {
            TerminationStatus::Terminated(TerminationReason::SolverConverged)
        } else {
            TerminationStatus::NotTerminated
        }
    }
}

impl Sequential<'_> {
    fn advance<P: Problem>(&mut self, shared: &Shared<'_, P>) {
        let slopes = match self.slopes.take() {
            Some(slopes) => slopes,
            None => self.scaled(shared),
        };
        let offsets: Vec<f64> = (0..self.trial.margins.len()).map(|i| self.margin(&self.trial, i)).collect();
        let Some(model) = self.model(&slopes, &offsets) else { return self.stall(slopes) };
        let limits = offsets.len();
        let heaviest = model.multipliers[..limits].iter().copied().fold(0.0, f64::max);
        self.penalty = self.penalty.max(1.5 * heaviest.min(ELASTIC));
        if model.step.amax() < self.how.tolerance {
            self.done = true;
            return;
        }
        let Some((at, trial)) = self.search(shared, &slopes, &model.step) else { return self.stall(slopes) };
        let moved = &at - &self.at;
        let change = (self.merit(&trial) - self.merit(&self.trial)).abs();
        self.at = at;
        self.trial = trial;
        let after = self.scaled(shared);
        self.update(&moved, &slopes, &after, &model.multipliers[..limits]);
        self.slopes = Some(after);
        let small = change <= 1e-13 * (1.0 + self.merit(&self.trial).abs()) && moved.amax() < 1e-6;
        self.done = small || moved.amax() < self.how.tolerance;
    }

    /// No progress: once more with a round model, then the end.
    fn stall(&mut self, slopes: Slopes) {
        self.stalled += 1;
        self.done = self.stalled > 2 || self.how.halvings < MOST_HALVINGS;
        let count = self.at.len();
        self.hessian = DMatrix::identity(count, count) * 10.0_f64.powi(self.stalled as i32 - 1);
        self.reach = (0.2 * self.reach).max(1e-6);
        self.slopes = Some(slopes);
    }
}
