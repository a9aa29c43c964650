//! Local finish of the search: sequential quadratic programming in a box, with a trust region.

use argmin::core::{
    Error, Executor, IterState, KV, Problem, Solver, State, TerminationReason, TerminationStatus,
};
use nalgebra::{DMatrix, DVector};

use super::quadratic::{Quadratic, Step};

/// What a problem has at one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    /// What is to be least.
    pub goal: f64,
    /// What may not be negative.
    pub margins: Vec<f64>,
}

impl Sample {
    /// Whether no margin is negative.
    pub fn feasible(&self) -> bool {
        self.margins.iter().all(|m| *m >= 0.0)
    }
}

/// A goal and margins over a box.
pub trait Constrained {
    /// Goal and margins at a place in the box; none where something cannot be computed. Always as many margins.
    fn sample(&self, at: &[f64]) -> Option<Sample>;
}

/// How the finish works.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Finish {
    /// Half the distance over which slopes are taken, over the width of the box. As small as the noise of the problem allows.
    pub slope_ratio: f64,
    /// Steps below this, over the width of the box, end the work.
    pub tolerance_ratio: f64,
    /// First reach of a step, over the width of the box.
    pub reach_ratio: f64,
    /// Margin that is kept so that the end lies on the right side.
    pub kept_margin: f64,
    /// Most steps.
    pub most_steps: u64,
}

/// The best place a finish has seen, with what holds it there.
#[derive(Debug, Clone, PartialEq)]
pub struct Finished {
    /// The place.
    pub at: Vec<f64>,
    /// What the problem has there.
    pub sample: Sample,
    /// How much the goal would fall for each margin given away: one for each margin.
    pub of_margins: Vec<f64>,
    /// The same for the lower ends of the box.
    pub of_low_ends: Vec<f64>,
    /// The same for the upper ends.
    pub of_high_ends: Vec<f64>,
    /// Whether the steps had become small.
    pub converged: bool,
}

/// Finishes from a place in the box `low..high` with at most `finish.most_steps` steps; `None` if nothing can be computed at
/// the start. The result is never worse than the start: feasible if the start is, or else with a smaller sum of violations.
pub fn finish<P: Constrained>(
    problem: P,
    low: &[f64],
    high: &[f64],
    start: &[f64],
    finish: Finish,
) -> Option<Finished> {
    let solver = Sequential::new(low, high, finish);
    let run = Executor::new(problem, solver)
        .configure(|state| state.param(start.to_vec()).max_iters(finish.most_steps))
        .timer(false)
        .ctrlc(false)
        .run()
        .ok()?;
    run.solver.into_finished()
}

type Iterates = IterState<Vec<f64>, (), (), (), (), f64>;

/// Slopes of goal and margins.
#[derive(Debug, Clone)]
struct Slopes {
    goal: DVector<f64>,
    margins: DMatrix<f64>,
}

/// Sequential quadratic programming: each step minimises a quadratic model of the Lagrangian under linearised margins
/// within a reach (J. Nocedal and S. J. Wright, "Numerical Optimization", 2nd edition 2006, chapter 18: damped update of
/// Powell, exact penalty, second-order correction).
#[derive(Debug, Clone)]
struct Sequential {
    low: DVector<f64>,
    high: DVector<f64>,
    finish: Finish,
    at: DVector<f64>,
    sample: Option<Sample>,
    before: Option<(DVector<f64>, Slopes, DVector<f64>)>,
    curvature: DMatrix<f64>,
    penalty: f64,
    reach_ratio: f64,
    multipliers: DVector<f64>,
    converged: bool,
}

/// Smallest part of the predicted gain that must come true for a step to be taken.
const LEAST_TRUE_SHARE: f64 = 1e-4;
/// Largest multiplier of the sum of violations.
const LARGEST_PENALTY: f64 = 1e9;

impl Sequential {
    fn new(low: &[f64], high: &[f64], finish: Finish) -> Self {
        let count = low.len();
        let (low, high) = (DVector::from_row_slice(low), DVector::from_row_slice(high));
        Self {
            at: low.clone(),
            curvature: first_curvature(&low, &high),
            low,
            high,
            finish,
            sample: None,
            before: None,
            penalty: 1.0,
            reach_ratio: finish.reach_ratio,
            multipliers: DVector::zeros(2 * count),
            converged: false,
        }
    }

    fn width(&self, i: usize) -> f64 {
        (self.high[i] - self.low[i]).max(f64::MIN_POSITIVE)
    }

    fn count(&self) -> usize {
        self.low.len()
    }

    /// Slopes by central differences, one-sided at the ends of the box and beside what cannot be computed.
    fn slopes<P: Constrained>(&self, problem: &P, here: &Sample) -> Slopes {
        let (n, m) = (self.count(), here.margins.len());
        let mut slopes = Slopes { goal: DVector::zeros(n), margins: DMatrix::zeros(m, n) };
        for i in 0..n {
            let half = self.finish.slope_ratio * self.width(i);
            let side = |sign: f64| {
                let mut at = self.at.clone();
                at[i] = (at[i] + sign * half).clamp(self.low[i], self.high[i]);
                let distance = at[i] - self.at[i];
                (distance != 0.0).then(|| problem.sample(at.as_slice()).map(|s| (distance, s))).flatten()
            };
            let (ahead, behind) = (side(1.0), side(-1.0));
            let (to, to_sample) = ahead.as_ref().map_or((0.0, here), |(d, s)| (*d, s));
            let (from, from_sample) = behind.as_ref().map_or((0.0, here), |(d, s)| (*d, s));
            if to > from {
                slopes.goal[i] = (to_sample.goal - from_sample.goal) / (to - from);
                for j in 0..m {
                    slopes.margins[(j, i)] = (to_sample.margins[j] - from_sample.margins[j]) / (to - from);
                }
            }
        }
        slopes
    }

    /// Violations that count, summed.
    fn violation(&self, sample: &Sample) -> f64 {
        sample.margins.iter().map(|m| (self.finish.kept_margin - m).max(0.0)).sum()
    }

    fn merit(&self, sample: &Sample) -> f64 {
        sample.goal + self.penalty * self.violation(sample)
    }

    /// The step of the quadratic model. `margins` are those at the place, or corrected ones.
    fn step(&self, slopes: &Slopes, margins: &[f64]) -> Option<Step> {
        let n = self.count();
        let near = self.near_rows(slopes, margins);
        let mut rows = DMatrix::zeros(near.len() + 2 * n, n);
        let mut bounds = DVector::zeros(near.len() + 2 * n);
        for (place, j) in near.iter().enumerate() {
            rows.row_mut(place).copy_from(&slopes.margins.row(*j));
            bounds[place] = self.finish.kept_margin - margins[*j];
        }
        for i in 0..n {
            let reach = self.reach_ratio * self.width(i);
            rows[(near.len() + i, i)] = 1.0;
            bounds[near.len() + i] = (self.low[i] - self.at[i]).max(-reach);
            rows[(near.len() + n + i, i)] = -1.0;
            bounds[near.len() + n + i] = -(self.high[i] - self.at[i]).min(reach);
        }
        let found =
            Quadratic { curvature: &self.curvature, slope: &slopes.goal, rows: &rows, bounds: &bounds }
                .solve()
                .or_else(|| self.elastic_step(slopes, &rows, &bounds, near.len()))?;
        Some(self.spread(found, &near, margins.len()))
    }

    /// Rows that a step of this reach can touch.
    fn near_rows(&self, slopes: &Slopes, margins: &[f64]) -> Vec<usize> {
        let falls = |j: usize| -> f64 {
            (0..self.count())
                .map(|i| slopes.margins[(j, i)].abs() * self.reach_ratio * self.width(i))
                .sum::<f64>()
        };
        let touched = |j: &usize| margins[*j] - self.finish.kept_margin < 1.5 * falls(*j);
        (0..margins.len()).filter(touched).collect()
    }

    /// Where the linearised margins exclude each other: all of them may be missed by one common amount, at a price.
    fn elastic_step(
        &self,
        slopes: &Slopes,
        rows: &DMatrix<f64>,
        bounds: &DVector<f64>,
        near_count: usize,
    ) -> Option<Step> {
        let (n, m) = (self.count(), rows.nrows());
        let mut wide = DMatrix::zeros(m + 1, n + 1);
        wide.view_mut((0, 0), (m, n)).copy_from(rows);
        (0..near_count).for_each(|j| wide[(j, n)] = 1.0);
        wide[(m, n)] = 1.0;
        let mut ends = DVector::zeros(m + 1);
        ends.rows_mut(0, m).copy_from(bounds);
        let mut curvature = DMatrix::identity(n + 1, n + 1);
        curvature.view_mut((0, 0), (n, n)).copy_from(&self.curvature);
        let mut slope = DVector::zeros(n + 1);
        slope.rows_mut(0, n).copy_from(&slopes.goal);
        slope[n] = 10.0 * self.penalty.max(1.0) * slopes.goal.amax().max(1.0);
        let found = Quadratic { curvature: &curvature, slope: &slope, rows: &wide, bounds: &ends }.solve()?;
        Some(Step {
            step: found.step.rows(0, n).into_owned(),
            multipliers: found.multipliers.rows(0, m).into_owned(),
        })
    }

    /// Multipliers back in the order of all margins, then both ends of the box; a bound that is only the reach has none.
    fn spread(&self, found: Step, near: &[usize], margins_count: usize) -> Step {
        let n = self.count();
        let mut multipliers = DVector::zeros(margins_count + 2 * n);
        near.iter().enumerate().for_each(|(place, j)| multipliers[*j] = found.multipliers[place]);
        for i in 0..n {
            let reach = self.reach_ratio * self.width(i);
            if self.at[i] - self.low[i] <= reach {
                multipliers[margins_count + i] = found.multipliers[near.len() + i];
            }
            if self.high[i] - self.at[i] <= reach {
                multipliers[margins_count + n + i] = found.multipliers[near.len() + n + i];
            }
        }
        Step { step: found.step, multipliers }
    }

    /// Gain that the model promises: positive for a step that is worth trying.
    fn promised(&self, slopes: &Slopes, here: &Sample, step: &DVector<f64>) -> f64 {
        let bent = 0.5 * (step.transpose() * &self.curvature * step)[0];
        let missed: f64 = (0..here.margins.len())
            .map(|j| here.margins[j] + (slopes.margins.row(j) * step)[0])
            .map(|m| (self.finish.kept_margin - m).max(0.0))
            .sum();
        self.penalty * (self.violation(here) - missed) - slopes.goal.dot(step) - bent
    }

    /// Damped update of the curvature from what the last step showed.
    fn learn(&mut self, slopes: &Slopes) {
        let Some((from, old, multipliers)) = self.before.take() else { return };
        let moved = &self.at - from;
        let held = multipliers.rows(0, slopes.margins.nrows());
        let lagrangian = |s: &Slopes| &s.goal - s.margins.transpose() * held;
        let turned = lagrangian(slopes) - lagrangian(&old);
        let pushed = &self.curvature * &moved;
        let bent = moved.dot(&pushed);
        if bent <= f64::MIN_POSITIVE || !bent.is_finite() {
            return;
        }
        let along = moved.dot(&turned);
        let share = if along >= 0.2 * bent { 1.0 } else { 0.8 * bent / (bent - along) };
        let turned = turned * share + &pushed * (1.0 - share);
        let along = moved.dot(&turned);
        if along > 1e-14 * bent && along.is_finite() {
            self.curvature += &turned * turned.transpose() / along - &pushed * pushed.transpose() / bent;
        }
    }

    fn trial<P: Constrained>(&self, problem: &P, step: &DVector<f64>) -> Option<(DVector<f64>, Sample)> {
        let mut at = &self.at + step;
        (0..self.count()).for_each(|i| at[i] = at[i].clamp(self.low[i], self.high[i]));
        problem.sample(at.as_slice()).map(|sample| (at, sample))
    }

    /// Takes one step, or draws the reach in.
    fn advance<P: Constrained>(&mut self, problem: &P) {
        let Some(here) = self.sample.clone() else { return };
        let slopes = self.slopes(problem, &here);
        self.learn(&slopes);
        while self.reach_ratio > self.finish.tolerance_ratio {
            let Some(Step { step, multipliers }) = self.step(&slopes, &here.margins) else {
                self.curvature = first_curvature(&self.low, &self.high);
                self.reach_ratio *= 0.5;
                continue;
            };
            let largest = multipliers.rows(0, here.margins.len()).iter().copied().fold(0.0, f64::max);
            if largest * 1.5 > self.penalty {
                self.penalty = (2.0 * largest).min(LARGEST_PENALTY);
            }
            self.multipliers = multipliers.clone();
            let promised = self.promised(&slopes, &here, &step);
            if self.size_ratio(&step) < self.finish.tolerance_ratio || promised <= 0.0 {
                break;
            }
            let better = |s: &Sample| self.merit(&here) - self.merit(s) > LEAST_TRUE_SHARE * promised;
            let first = self.trial(problem, &step);
            let taken = match first {
                Some((at, sample)) if better(&sample) => Some((at, sample)),
                Some((_, sample)) => {
                    self.corrected(problem, &slopes, &step, &sample).filter(|(_, s)| better(s))
                }
                None => None,
            };
            if let Some((at, sample)) = taken {
                let true_share = (self.merit(&here) - self.merit(&sample)) / promised;
                if true_share > 0.75 && self.size_ratio(&step) > 0.8 * self.reach_ratio {
                    self.reach_ratio = (2.0 * self.reach_ratio).min(1.0);
                }
                self.before = Some((self.at.clone(), slopes, multipliers));
                self.at = at;
                self.sample = Some(sample);
                return;
            }
            self.reach_ratio = 0.25 * self.size_ratio(&step).min(self.reach_ratio);
        }
        self.converged = true;
    }

    /// The step again with the margins as the first try showed them to bend.
    fn corrected<P: Constrained>(
        &self,
        problem: &P,
        slopes: &Slopes,
        step: &DVector<f64>,
        tried: &Sample,
    ) -> Option<(DVector<f64>, Sample)> {
        let bent: Vec<f64> =
            (0..tried.margins.len()).map(|j| tried.margins[j] - (slopes.margins.row(j) * step)[0]).collect();
        let again = self.step(slopes, &bent)?;
        self.trial(problem, &again.step)
    }

    fn size_ratio(&self, step: &DVector<f64>) -> f64 {
        (0..self.count()).map(|i| step[i].abs() / self.width(i)).fold(0.0, f64::max)
    }

    fn into_finished(self) -> Option<Finished> {
        let sample = self.sample?;
        let (n, m) = (self.low.len(), sample.margins.len());
        let held =
            if self.multipliers.len() == m + 2 * n { self.multipliers } else { DVector::zeros(m + 2 * n) };
        Some(Finished {
            at: self.at.as_slice().to_vec(),
            of_margins: held.rows(0, m).iter().copied().collect(),
            of_low_ends: held.rows(m, n).iter().copied().collect(),
            of_high_ends: held.rows(m + n, n).iter().copied().collect(),
            sample,
            converged: self.converged,
        })
    }
}

/// As if a step over the whole box bent the goal by one.
fn first_curvature(low: &DVector<f64>, high: &DVector<f64>) -> DMatrix<f64> {
    DMatrix::from_diagonal(&(high - low).map(|w| 1.0 / (w * w).max(f64::MIN_POSITIVE)))
}

impl<P: Constrained> Solver<P, Iterates> for Sequential {
    fn name(&self) -> &str {
        "sequential quadratic programming"
    }

    fn init(&mut self, problem: &mut Problem<P>, state: Iterates) -> Result<(Iterates, Option<KV>), Error> {
        let start = state.get_param().cloned().unwrap_or_default();
        for (i, value) in start.iter().enumerate().take(self.count()) {
            self.at[i] = value.clamp(self.low[i], self.high[i]);
        }
        self.sample = problem.problem("samples", |p| Ok(p.sample(self.at.as_slice())))?;
        self.converged = self.sample.is_none();
        Ok((state, None))
    }

    fn next_iter(
        &mut self,
        problem: &mut Problem<P>,
        state: Iterates,
    ) -> Result<(Iterates, Option<KV>), Error> {
        problem.problem("steps", |p| {
            self.advance(p);
            Ok(())
        })?;
        let goal = self.sample.as_ref().map_or(f64::INFINITY, |s| s.goal);
        Ok((state.param(self.at.as_slice().to_vec()).cost(goal), None))
    }

    fn terminate(&mut self, _: &Iterates) -> TerminationStatus {
        if self.converged {
            TerminationStatus::Terminated(TerminationReason::SolverConverged)
        } else {
            TerminationStatus::NotTerminated
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A goal and its margins as functions.
    struct Known<F>(F);

    impl<F: Fn(&[f64]) -> (f64, Vec<f64>)> Constrained for Known<F> {
        fn sample(&self, at: &[f64]) -> Option<Sample> {
            let (goal, margins) = (self.0)(at);
            Some(Sample { goal, margins })
        }
    }

    const EXACT: Finish = Finish {
        slope_ratio: 1e-6,
        tolerance_ratio: 1e-11,
        reach_ratio: 0.1,
        kept_margin: 1e-10,
        most_steps: 300,
    };

    fn best(goal: impl Fn(&[f64]) -> (f64, Vec<f64>), low: &[f64], high: &[f64], start: &[f64]) -> Finished {
        finish(Known(goal), low, high, start, EXACT).unwrap()
    }

    /// W. Hock and K. Schittkowski, "Test Examples for Nonlinear Programming Codes", 1981, number 71: best goal 17.0140173.
    #[test]
    fn val_hock_schittkowski_71() {
        let found = best(
            |x| {
                let sum: f64 = x.iter().map(|v| v * v).sum();
                let goal = x[0] * x[3] * (x[0] + x[1] + x[2]) + x[2];
                (goal, vec![x.iter().product::<f64>() - 25.0, sum - 40.0, 40.0 - sum + 1e-9])
            },
            &[1.0; 4],
            &[5.0; 4],
            &[1.0, 5.0, 5.0, 1.0],
        );
        assert!((found.sample.goal - 17.0140173).abs() < 17.0 * 1e-6, "{found:?}");
    }

    /// The same collection, number 43 (Rosen and Suzuki): best goal -44 at (0, 1, 2, -1).
    #[test]
    fn val_hock_schittkowski_43() {
        let found = best(
            |x| {
                let (a, b, c, d) = (x[0], x[1], x[2], x[3]);
                let goal = a * a + b * b + 2.0 * c * c + d * d - 5.0 * a - 5.0 * b - 21.0 * c + 7.0 * d;
                (
                    goal,
                    vec![
                        8.0 - a * a - b * b - c * c - d * d - a + b - c + d,
                        10.0 - a * a - 2.0 * b * b - c * c - 2.0 * d * d + a + d,
                        5.0 - 2.0 * a * a - b * b - c * c - 2.0 * a + b + d,
                    ],
                )
            },
            &[-10.0; 4],
            &[10.0; 4],
            &[0.0; 4],
        );
        assert!((found.sample.goal + 44.0).abs() < 44.0 * 1e-6, "{found:?}");
        assert!(found.sample.feasible() && found.converged);
    }

    /// The same collection, number 100: best goal 680.6300573.
    #[test]
    fn val_hock_schittkowski_100() {
        let found = best(
            |x| {
                let goal = (x[0] - 10.0).powi(2)
                    + 5.0 * (x[1] - 12.0).powi(2)
                    + x[2].powi(4)
                    + 3.0 * (x[3] - 11.0).powi(2)
                    + 10.0 * x[4].powi(6)
                    + 7.0 * x[5] * x[5]
                    + x[6].powi(4)
                    - 4.0 * x[5] * x[6]
                    - 10.0 * x[5]
                    - 8.0 * x[6];
                let margins = vec![
                    127.0 - 2.0 * x[0] * x[0] - 3.0 * x[1].powi(4) - x[2] - 4.0 * x[3] * x[3] - 5.0 * x[4],
                    282.0 - 7.0 * x[0] - 3.0 * x[1] - 10.0 * x[2] * x[2] - x[3] + x[4],
                    196.0 - 23.0 * x[0] - x[1] * x[1] - 6.0 * x[5] * x[5] + 8.0 * x[6],
                    -4.0 * x[0] * x[0] - x[1] * x[1] + 3.0 * x[0] * x[1] - 2.0 * x[2] * x[2] - 5.0 * x[5]
                        + 11.0 * x[6],
                ];
                (goal, margins)
            },
            &[-10.0; 7],
            &[10.0; 7],
            &[1.0, 2.0, 0.0, 4.0, 0.0, 1.0, 1.0],
        );
        assert!((found.sample.goal - 680.630_057_3).abs() < 680.0 * 1e-6, "{found:?}");
    }

    /// The multiplier of a margin says what giving it away is worth.
    #[test]
    fn multipliers_are_worth_what_they_say() {
        let run = |limit: f64| {
            best(|x| (-x[0] * x[1], vec![limit - x[0] - 2.0 * x[1]]), &[0.0; 2], &[5.0; 2], &[1.0, 1.0])
        };
        let (tight, loose) = (run(4.0), run(4.001));
        let gained = tight.sample.goal - loose.sample.goal;
        assert!((gained / 0.001 - tight.of_margins[0]).abs() < 1e-3, "{gained} {tight:?}");
    }

    /// An end of the box that holds the goal back has a multiplier too.
    #[test]
    fn ends_of_the_box_hold() {
        let found = best(|x| (-3.0 * x[0] + x[1], vec![1.0]), &[0.0; 2], &[2.0, 2.0], &[1.0, 1.0]);
        assert_eq!(found.at, vec![2.0, 0.0]);
        assert!((found.of_high_ends[0] - 3.0).abs() < 1e-6 && (found.of_low_ends[1] - 1.0).abs() < 1e-6);
    }
}
