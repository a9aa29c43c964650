//! What is done when sweeps that hold the drum tension have not made a shape sure.

use beamstay_environment::flow::Flow;

use super::{
    super::{
        Shape, TensionSolution,
        lengths::{self, Said},
        quick,
        relax::Problem,
    },
    Curve,
};
use crate::error::TetherError;

impl<F: Flow> Curve<'_, F> {
    /// What the sweeps that hold the drum tension have not made sure; `found` is what they led to.
    #[cold]
    #[inline(never)]
    pub(super) fn after_sweeps(
        &self,
        held: &Problem<'_, F>,
        drum_tension_n: f64,
        mut found: Option<Shape>,
        warm: Option<&Shape>,
    ) -> Result<TensionSolution, TetherError> {
        let (distance_m, tolerance) = (held.end_m.norm(), self.options.relative_tolerance);
        // From a good neighbour lengths lead there sooner than sweeps that hold the tension once more.
        if found.is_none() && warm.is_some_and(|shape| !lengths::is_near(held, drum_tension_n, shape)) {
            found = quick::solve(held, distance_m, tolerance, None).ok();
        }
        if found.is_none() {
            found = quick::solve_taut(held, distance_m, tolerance);
        }
        if let Some(shape) = &found
            && self.is_short(shape)
            && let Some(shape) = self.surely(shape, drum_tension_n)
        {
            return Ok(self.hangs(shape, drum_tension_n));
        }
        self.by_lengths(drum_tension_n, found.as_ref().or(warm))
    }

    /// By solving for lengths from a neighbour, or on the whole curve.
    fn by_lengths(&self, drum_tension_n: f64, near: Option<&Shape>) -> Result<TensionSolution, TetherError> {
        match lengths::ask(&self.problem, drum_tension_n, self.options.relative_tolerance, near) {
            Some(Said::Hangs(shape)) => {
                if self.is_short(&shape)
                    && let Some(shape) = self.surely(&shape, drum_tension_n)
                {
                    return Ok(self.hangs(shape, drum_tension_n));
                }
            }
            Some(Said::Least(shape)) => return self.none_or_elsewhere(shape, drum_tension_n),
            None => {}
        }
        self.by_the_curve(drum_tension_n)
    }

    /// By the whole curve of drum tension over length.
    fn by_the_curve(&self, drum_tension_n: f64) -> Result<TensionSolution, TetherError> {
        if self.problem.budget.is_spent() {
            return Err(self.problem.budget.spent());
        }
        match self.scouted(drum_tension_n) {
            Some(TensionSolution::NoneExists { shape, .. }) => self.none_or_elsewhere(shape, drum_tension_n),
            Some(hangs) => Ok(hangs),
            None => self.search(drum_tension_n),
        }
    }
}
