//! Whether a shape has the drum tension that is held and holds its load, and the way to one that does.

use beamstay_environment::flow::Flow;

use super::{super::Shape, Curve};

/// How far a drum tension may be from the one that is held, in tolerances, and secants towards it.
const HELD_TOLERANCES: f64 = 2.0;
const SECANTS: u32 = 12;

impl<F: Flow> Curve<'_, F> {
    /// The shape, or a finer one, if it has the drum tension and holds its load; a shape of few nodes is taken at its word.
    pub(super) fn surely(&self, shape: &Shape, drum_tension_n: f64) -> Option<Shape> {
        if shape.is_doubtful { self.closed(*shape, drum_tension_n) } else { Some(*shape) }
    }

    /// The shape, or a finer one, if it has the drum tension and its loads and ways close.
    pub(super) fn closed(&self, shape: Shape, drum_tension_n: f64) -> Option<Shape> {
        let tolerance = self.options.relative_tolerance;
        let off = |shape: &Shape| shape.drum_tension_n() / drum_tension_n - 1.0;
        if off(&shape).abs() <= HELD_TOLERANCES * tolerance
            && shape.holds(self.problem.line, self.problem.flow, tolerance)
        {
            return Some(shape);
        }
        // Secants through shapes of given lengths, which are sure.
        let mut before = (shape.paid_out_m(), off(&shape));
        let slope = shape.slopes.tension_by_growth_n(&shape.force_at_drum_n()) / drum_tension_n;
        let mut length_m = before.0 * (1.0 - before.1 / slope.min(-1.0));
        let mut last = shape;
        for _ in 0..SECANTS {
            last = self.at_length(length_m, Some(&last)).ok()?;
            let here = (length_m, off(&last));
            if here.1.abs() <= tolerance {
                return Some(last);
            }
            length_m = here.0 - here.1 * (here.0 - before.0) / (here.1 - before.1);
            before = here;
        }
        None
    }
}
