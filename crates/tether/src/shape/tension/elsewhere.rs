//! Whether a least drum tension is the least of all. Where the flow rules the shape, a line that it holds up may fall back as more
//! is paid out, and its drum tension with it: then there is more than one minimum.

use beamstay_environment::flow::Flow;
use beamstay_numerics::minimum::brent;

use super::{
    super::{
        Shape, TensionSolution,
        load::{Pull, load_n_per_m, weight_n_per_m},
    },
    Curve, none_below,
};
use crate::error::TetherError;

/// Largest load on the straight line between the ends over the weight beyond which the flow rules the shape.
const FLOW_RULES: f64 = 3.0;
/// Slacks that are looked at, from the least to the largest, each three times the one before.
const LEAST_SLACK: f64 = 1.37e-3;
const FACTOR: f64 = 3.0;
const LOOKS: i32 = 9;
/// Part by which a drum tension must be lower to count.
const LOWER: f64 = 1e-4;

/// A lower drum tension than the least that was known.
pub(super) struct Lower {
    /// The shape that has the least of those looked at.
    pub least: Shape,
    /// A shorter one with more drum tension than is held.
    taut: Option<Shape>,
}

/// What was looked at.
struct Looked {
    /// The shape with the least drum tension, and the logarithm of its slack.
    lowest: Option<Shape>,
    slack_ln: f64,
    /// The last with more than is held.
    taut: Option<Shape>,
}

impl<F: Flow> Curve<'_, F> {
    /// That no length gives less drum tension than `least` has, or the shape that does.
    pub(super) fn none_or_elsewhere(
        &self,
        least: Shape,
        drum_tension_n: f64,
    ) -> Result<TensionSolution, TetherError> {
        match &self.lower_elsewhere(&least, drum_tension_n) {
            None => Ok(none_below(least)),
            Some(lower) if lower.least.drum_tension_n() > drum_tension_n => Ok(none_below(lower.least)),
            Some(lower) => self.elsewhere(lower, drum_tension_n).ok_or(TetherError::NotConverged {
                iterations_count: least.iterations_count(),
                force_error_ratio: least.drum_tension_n() / drum_tension_n - 1.0,
                end_error_m: 0.0,
            }),
        }
    }

    /// The shape with a drum tension, between one with less and one with more.
    fn elsewhere(&self, lower: &Lower, drum_tension_n: f64) -> Option<TensionSolution> {
        let taut = lower.taut.as_ref()?;
        let lengths_m = (taut.paid_out_m(), lower.least.paid_out_m());
        let too_taut = |shape: &Shape| (shape.drum_tension_n() / drum_tension_n).ln();
        let shape = self.closed(self.root(lengths_m, *taut, too_taut)?, drum_tension_n)?;
        Some(self.hangs(shape, drum_tension_n))
    }

    /// A shape with less drum tension than `least`, if there is one: the least of those looked at, or the first that has no more
    /// than is held.
    pub(super) fn lower_elsewhere(&self, least: &Shape, drum_tension_n: f64) -> Option<Lower> {
        let problem = &self.problem;
        let weight = weight_n_per_m(problem.line, problem.flow.at(0.0).density_kg_m3).abs();
        let pull = Pull { tension_n: 0.0, tangent: problem.end_m.normalize(), stretch_ratio: 1.0 };
        let load = |part: i32| {
            let sample = problem.flow.at(f64::from(part) / f64::from(LOOKS) * problem.end_m.z);
            load_n_per_m(problem.line, &sample, &pull).norm()
        };
        if (0..=LOOKS).map(load).fold(0.0, f64::max) <= FLOW_RULES * weight {
            return None;
        }
        let known_n = least.drum_tension_n() * (1.0 - LOWER);
        self.lower(&self.looked(drum_tension_n), known_n, drum_tension_n)
    }

    /// The same of what was looked at, with less than `known_n`.
    fn lower(&self, looked: &Looked, known_n: f64, drum_tension_n: f64) -> Option<Lower> {
        let lowest = looked.lowest.as_ref().filter(|shape| shape.drum_tension_n() < known_n)?;
        if lowest.drum_tension_n() <= drum_tension_n {
            return Some(Lower { least: *lowest, taut: looked.taut });
        }
        let tension_n = |slack_ln: f64| {
            let near = self.roughly_at_length(self.length_m(slack_ln), Some(lowest));
            near.map_or(f64::NAN, |shape| shape.drum_tension_n())
        };
        let (from, to) = (looked.slack_ln - FACTOR.ln(), looked.slack_ln + FACTOR.ln());
        let best = brent(tension_n, from, to, 1e-3);
        let least = self.at_length(self.length_m(best.x), Some(lowest)).unwrap_or(*lowest);
        // From here a root is sought on the way to what is shorter.
        let taut = looked.taut.filter(|taut| taut.paid_out_m() < least.paid_out_m());
        Some(Lower { least, taut })
    }

    /// Looks at shapes of more and more slack, up to the first that has no more drum tension than is held.
    fn looked(&self, drum_tension_n: f64) -> Looked {
        let mut looked = Looked { lowest: None, slack_ln: 0.0, taut: None };
        for look in 0..LOOKS {
            let slack_ln = (LEAST_SLACK * FACTOR.powi(look)).ln();
            let near = looked.taut.as_ref();
            let Ok(shape) = self.roughly_at_length(self.length_m(slack_ln), near) else { continue };
            let tension_n = shape.drum_tension_n();
            if looked.lowest.as_ref().is_none_or(|lowest| tension_n < lowest.drum_tension_n()) {
                looked.slack_ln = slack_ln;
                looked.lowest = Some(shape);
            }
            if tension_n <= drum_tension_n {
                break;
            }
            looked.taut = Some(shape);
        }
        looked
    }
}
