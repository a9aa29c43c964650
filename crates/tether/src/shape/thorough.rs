//! What is done when the quick solver fails: Newton's method on meshes that adapt, and if that fails too, from an easy tether to
//! the asked one in steps that are as long as they succeed.

use beamstay_environment::flow::Flow;

use super::{
    Shape,
    adapt::{self, Allowed},
    kink,
    newton::Workspace,
    quick,
    relax::{Grid, Problem},
    shot::Shot,
    solution::MAX_NODES,
    start,
};
use crate::error::TetherError;

/// Slack at which every tether is easy.
const EASY_SLACK_RATIO: f64 = 0.05;
/// Newton steps on one mesh.
const NEWTON_STEPS: u32 = 20;
/// Meshes for one tether.
const MESHES: u32 = 12;
/// Residual at which Newton's method ends, over the tolerance; its next step would be far below it.
const NEWTON_SHARE: f64 = 0.03;
/// Steps on the way from the easy tether.
const STEPS: u32 = 120;
/// Strain beyond which no line is elastic: the way to such a tether is not searched for.
const HOPELESS_STRAIN_RATIO: f64 = 0.5;
/// Sweeps after which the search for a way ends.
const SWEEPS_LIMIT: u32 = 5000;
/// Tolerance on the way.
const ROUGH: f64 = 1e-3;

/// Grid and workspace of the thorough solver.
pub(super) struct Thorough {
    pub grid: Grid<MAX_NODES>,
    workspace: Workspace<MAX_NODES>,
}

impl Thorough {
    pub(super) fn new(length_m: f64) -> Self {
        Self { grid: Grid::new(length_m), workspace: Workspace::new() }
    }

    /// Solves for the length of the grid, which need not hold anything yet.
    ///
    /// # Errors
    /// [`TetherError::NotConverged`], [`TetherError::Overstretched`].
    pub(super) fn solve<F: Flow>(
        &mut self,
        problem: &Problem<'_, F>,
        tolerance: f64,
        warm: Option<&Shape>,
    ) -> Result<Shape, TetherError> {
        let mut errors = match warm {
            Some(shape) => {
                self.grid.start_from(shape, problem);
                self.settle(problem, tolerance)
            }
            None => Err(self.failure(problem, f64::INFINITY)),
        };
        if errors.is_err() {
            quick::start_from_guess(&mut self.grid, problem, ROUGH);
            errors = self.settle(problem, tolerance);
        }
        if errors.is_err() {
            let strain_ratio = self.strain_ratio(problem);
            if strain_ratio > HOPELESS_STRAIN_RATIO {
                return Err(TetherError::Overstretched { strain_ratio });
            }
            self.approach(problem)?;
            errors = self.settle(problem, tolerance);
        }
        let (scale_n, _) = self.grid.end_scales_n();
        errors.map(|errors| Shape::of(&self.grid, problem, errors, scale_n))
    }

    /// Solves for a place of the curve that was found roughly, from what was shot there.
    ///
    /// # Errors
    /// As [`Self::settle`].
    pub(super) fn solve_near<F: Flow>(
        &mut self,
        problem: &Problem<'_, F>,
        tolerance: f64,
        shot: &Shot,
    ) -> Result<Shape, TetherError> {
        quick::start_from_guess(&mut self.grid, problem, ROUGH);
        let length_m = self.grid.length_m;
        self.grid.set_force(|place| shot.force_n(place, length_m));
        let errors = self.settle(problem, tolerance)?;
        let (scale_n, _) = self.grid.end_scales_n();
        Ok(Shape::of(&self.grid, problem, errors, scale_n))
    }

    /// Solves for another length from what the grid holds.
    ///
    /// # Errors
    /// As [`Self::settle`].
    pub(super) fn again<F: Flow>(
        &mut self,
        problem: &Problem<'_, F>,
        tolerance: f64,
        length_m: f64,
    ) -> Result<Shape, TetherError> {
        self.grid.length_m = length_m;
        let errors = self.settle_from(4, problem, tolerance)?;
        let (scale_n, _) = self.grid.end_scales_n();
        Ok(Shape::of(&self.grid, problem, errors, scale_n))
    }

    /// Strain that the first guess expects.
    fn strain_ratio<F: Flow>(&mut self, problem: &Problem<'_, F>) -> f64 {
        quick::start_from_guess(&mut self.grid, problem, ROUGH);
        problem.compliance_per_n * self.grid.drum_force_n.norm().max(self.grid.top_force_n.norm())
    }

    /// Solves from what the grid holds, on meshes that adapt until the estimated error is below the tolerance; the estimate.
    pub(super) fn settle<F: Flow>(
        &mut self,
        problem: &Problem<'_, F>,
        tolerance: f64,
    ) -> Result<Allowed, TetherError> {
        self.settle_from(0, problem, tolerance)
    }

    /// The same with a mesh that has been adapted before as often as `first` says.
    fn settle_from<F: Flow>(
        &mut self,
        first: u32,
        problem: &Problem<'_, F>,
        tolerance: f64,
    ) -> Result<Allowed, TetherError> {
        let mut force_error_ratio = f64::INFINITY;
        for mesh_number in first..MESHES {
            // The first mesh is only good for a first idea.
            let goal = if mesh_number == 0 { tolerance.max(1e-4) } else { NEWTON_SHARE * tolerance };
            let residual = self.workspace.solve(&mut self.grid, problem, goal, NEWTON_STEPS);
            force_error_ratio = residual.size();
            if residual.size() > goal.max(0.1 * tolerance) {
                break;
            }
            let grid = &self.grid;
            let (scale_n, _) = grid.end_scales_n();
            let allowed = Allowed { force_n: tolerance * scale_n, position_m: tolerance * grid.length_m };
            let errors = adapt::errors(grid, problem.compliance_per_n);
            if kink::follow(&mut self.grid, problem, 0.3 * allowed.force_n) {
                continue;
            }
            let grid = &self.grid;
            if residual.size() <= 0.1 * tolerance && errors.within(allowed) {
                return Ok(errors);
            }
            let Some(mesh) = adapt::adapted(grid, problem, allowed, mesh_number) else { break };
            self.grid.move_to(&mesh);
        }
        Err(self.failure(problem, force_error_ratio))
    }

    /// Goes from an easy tether to the asked one, roughly.
    fn approach<F: Flow>(&mut self, problem: &Problem<'_, F>) -> Result<(), TetherError> {
        let length_m = self.grid.length_m;
        let by_length = self.by_length(problem, length_m, false);
        if by_length.is_ok() {
            return by_length;
        }
        self.grid.length_m = length_m;
        if self.by_load(problem).is_ok() {
            return Ok(());
        }
        self.by_length(problem, length_m, true)
    }

    /// From a line with little slack that does not stretch, first to the stiffness and then to the length.
    fn by_length<F: Flow>(
        &mut self,
        problem: &Problem<'_, F>,
        length_m: f64,
        by_load: bool,
    ) -> Result<(), TetherError> {
        let distance_m = problem.end_m.norm();
        let easy_m = distance_m * (1.0 + EASY_SLACK_RATIO);
        self.grid.length_m = easy_m;
        let whole = problem.compliance_per_n;
        let hard = Problem { compliance_per_n: 0.0, ..*problem };
        if by_load {
            self.by_load(&hard)?;
        } else {
            quick::start_from_guess(&mut self.grid, &hard, ROUGH);
            self.settle(&hard, ROUGH)?;
        }
        if whole > 0.0 {
            let strain = whole * self.grid.top_force_n.norm().max(self.grid.drum_force_n.norm());
            let first = (0.02 / strain).min(1.0);
            self.walk(first.ln(), 0.0, |this, x| {
                let soft = Problem { compliance_per_n: x.exp() * whole, ..*problem };
                this.settle(&soft, ROUGH).map(|_| ())
            })?;
        }
        let slack = length_m / distance_m - 1.0;
        let (from, to) = if slack > 1e-5 { (EASY_SLACK_RATIO.ln(), slack.ln()) } else { (easy_m, length_m) };
        self.walk(from, to, |this, x| {
            this.grid.length_m = if slack > 1e-5 { distance_m * (1.0 + x.exp()) } else { x };
            this.settle(problem, ROUGH).map(|_| ())
        })?;
        self.grid.length_m = length_m;
        Ok(())
    }

    /// From a constant load across the line, for which the first guess is exact, to the true load.
    fn by_load<F: Flow>(&mut self, problem: &Problem<'_, F>) -> Result<(), TetherError> {
        let chord = problem.end_m.normalize();
        let mean = start::mean_load_n_per_m(problem.line, problem.flow, &problem.end_m);
        let across = mean - mean.dot(&chord) * chord;
        let size = mean.norm().max(f64::MIN_POSITIVE);
        let sideways = across.try_normalize(1e-3 * size).unwrap_or_else(|| start::any_across(&chord));
        let easy = size * sideways;
        quick::start_under(&mut self.grid, problem, &easy, ROUGH);
        self.walk(0.0, 1.0, |this, share| {
            let blended = Problem { blend: Some((share, easy)), ..*problem };
            this.settle(&blended, ROUGH).map(|_| ())
        })
    }

    /// Walks a parameter from one value to another, back to the last success and with half the step after a failure.
    fn walk(
        &mut self,
        from: f64,
        to: f64,
        mut solve: impl FnMut(&mut Self, f64) -> Result<(), TetherError>,
    ) -> Result<(), TetherError> {
        solve(self, from)?;
        let mut good = self.grid.clone();
        let (mut at, mut step) = (from, (to - from) / ((to - from).abs() / 0.5).ceil().clamp(1.0, 20.0));
        for _ in 0..STEPS {
            let last = (to - at).abs() <= 1.001 * step.abs();
            let next = if last { to } else { at + step };
            match solve(self, next) {
                Ok(()) if last => return Ok(()),
                Ok(()) => {
                    at = next;
                    step *= 1.5;
                    good = self.grid.clone();
                }
                Err(error) => {
                    let spent = (self.grid.iterations_count, self.grid.flow_evaluations_count);
                    self.grid = good.clone();
                    (self.grid.iterations_count, self.grid.flow_evaluations_count) = spent;
                    step *= 0.4;
                    if step.abs() < 1e-4 * (to - from).abs() || self.grid.iterations_count > SWEEPS_LIMIT {
                        return Err(error);
                    }
                }
            }
        }
        Err(TetherError::NotConverged {
            iterations_count: self.grid.iterations_count,
            force_error_ratio: 1.0,
            end_error_m: 0.0,
        })
    }

    fn failure<F: Flow>(&self, problem: &Problem<'_, F>, force_error_ratio: f64) -> TetherError {
        TetherError::NotConverged {
            iterations_count: self.grid.iterations_count,
            force_error_ratio,
            end_error_m: (problem.end_m - self.grid.end_position_m).norm(),
        }
    }
}
