//! Newton's method on the places where a line lands and lifts off. It is done in place and in short functions: the two parts there
//! are so large that the stack of a thread holds few copies of them in a build that does not optimise.

use beamstay_environment::flow::Flow;
use nalgebra::SMatrix;

use super::{super::Shape, Contact, Goal, NEWTON_STEPS, State, Unknowns, not_converged};
use crate::error::TetherError;

impl<F: Flow> Contact<'_, F> {
    /// From `x` to what solves the goal; the parts there.
    pub(super) fn newton(
        &self,
        x: &mut Unknowns,
        goal: Goal,
        warm: Option<&State>,
        step_ratio: f64,
    ) -> Result<State, TetherError> {
        let mut found = self.state(x, warm);
        if let Ok(state) = &mut found {
            let left = self.descend(x, state, goal, step_ratio)?;
            // Rounding and the accuracy of the parts may leave a little more.
            let is_settled = left <= (3.0 * self.site.options.relative_tolerance).max(self.tolerance());
            if !is_settled {
                return Err(not_converged(left));
            }
        }
        found
    }

    /// Residual at which the steps end.
    fn tolerance(&self) -> f64 {
        (0.3 * self.site.options.relative_tolerance).max(1e-9)
    }

    /// Steps until the goal is solved or none leads nearer; the residual that is left.
    fn descend(
        &self,
        x: &mut Unknowns,
        state: &mut State,
        goal: Goal,
        step_ratio: f64,
    ) -> Result<f64, TetherError> {
        let mut residual = self.residual(x, state, goal);
        for _ in 0..NEWTON_STEPS {
            if residual.amax() <= self.tolerance() {
                break;
            }
            let jacobian = self.jacobian(x, state, &residual, goal, step_ratio)?;
            let Some(step) = jacobian.lu().solve(&-residual) else { break };
            let Some(smaller) = self.go(x, state, &step, residual.amax(), goal) else { break };
            residual = smaller;
        }
        Ok(residual.amax())
    }

    /// Goes along a step, shortened until the residual is smaller than `size`; none if it does not become so.
    fn go(
        &self,
        x: &mut Unknowns,
        state: &mut State,
        step: &Unknowns,
        size: f64,
        goal: Goal,
    ) -> Option<Unknowns> {
        let mut factor = 1.0;
        for _ in 0..12 {
            let trial = *x + factor * step;
            if let Ok(there) = self.state(&trial, Some(state)) {
                let residual = self.residual(&trial, &there, goal);
                if residual.amax() < (1.0 - 0.1 * factor) * size {
                    *x = trial;
                    *state = there;
                    return Some(residual);
                }
            }
            factor *= 0.5;
        }
        None
    }

    /// By differences: places and lengths a share of the slack further.
    fn jacobian(
        &self,
        x: &Unknowns,
        state: &State,
        residual: &Unknowns,
        goal: Goal,
        step_ratio: f64,
    ) -> Result<SMatrix<f64, 6, 6>, TetherError> {
        let mut jacobian = SMatrix::<f64, 6, 6>::identity();
        let step_m = |part: &Shape| {
            let slack_m = part.length_m - part.end_m.norm();
            (step_ratio * slack_m.abs()).max(1e-4 * step_ratio * part.length_m)
        };
        let from = if self.has_drum_part() { 0 } else { 3 };
        for column in from..6 {
            let part = if column < 3 { state.at_drum.as_ref() } else { Some(&state.free) };
            let step = part.map_or(1e-6, step_m);
            let mut moved = *x;
            moved[column] += step;
            let change = self.residual_beside(&moved, state, column < 3, goal)? - residual;
            jacobian.set_column(column, &(change / step));
        }
        Ok(jacobian)
    }

    /// The residual with the part at the drum, or the other, solved anew.
    fn residual_beside(
        &self,
        x: &Unknowns,
        state: &State,
        at_drum: bool,
        goal: Goal,
    ) -> Result<Unknowns, TetherError> {
        let mut beside = *state;
        if at_drum {
            match self.drum_part(x, state.at_drum.as_ref()) {
                Ok(part) => beside.at_drum = Some(part),
                Err(error) => return Err(error),
            }
        } else {
            match self.free_part(x, Some(&state.free)) {
                Ok(part) => beside.free = part,
                Err(error) => return Err(error),
            }
        }
        Ok(self.residual(x, &beside, goal))
    }
}
