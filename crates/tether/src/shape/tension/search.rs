//! The whole curve of drum tension over length, looked at length by length where following it leads nowhere.

use beamstay_environment::flow::Flow;
use beamstay_numerics::minimum::brent;

use super::{
    super::{Shape, TensionSolution},
    Curve,
};
use crate::error::TetherError;

/// Rise of the logarithm of the slack from one length to the next when the curve is searched.
const STEP: f64 = 0.7;
/// Steps of that search, from the largest slack down to one of 10⁻⁹.
const STEPS: usize = 34;
/// Largest slack that is looked at.
const MOST_SLACK: f64 = 9.0;
/// Step at which the search begins, a slack of about 0.3.
const START: usize = 5;

/// Part of the curve that has been searched: logarithms of the slack, falling, with the drum tensions.
pub(super) struct Searched {
    slack_ln: [f64; STEPS],
    tension_n: [f64; STEPS],
    least: usize,
    count: usize,
}

impl Searched {
    fn new() -> Self {
        Self {
            slack_ln: std::array::from_fn(|i| MOST_SLACK.ln() - STEP * i as f64),
            tension_n: [f64::INFINITY; STEPS],
            least: START,
            count: START + 1,
        }
    }
}

impl<F: Flow> Curve<'_, F> {
    /// Finds the shape on the whole curve, or that there is none.
    pub(super) fn search(&self, drum_tension_n: f64) -> Result<TensionSolution, TetherError> {
        match self.least(Some(drum_tension_n)) {
            Ok((least, _)) if least.drum_tension_n() > drum_tension_n => {
                self.none_or_elsewhere(least, drum_tension_n)
            }
            Ok((least, searched)) => self.between(&searched, &least, drum_tension_n),
            Err(error) => Err(error),
        }
    }

    /// The shape with a drum tension, between the least and what was looked at.
    fn between(
        &self,
        searched: &Searched,
        least: &Shape,
        drum_tension_n: f64,
    ) -> Result<TensionSolution, TetherError> {
        // The length that was looked at with the least tension may be beyond the least itself.
        let is_taut = |i: &usize| {
            searched.tension_n[*i] > drum_tension_n
                && self.length_m(searched.slack_ln[*i]) < least.paid_out_m()
        };
        let taut = (searched.least..searched.count).find(is_taut);
        let short = taut.and_then(|i| {
            let lengths_m = (self.length_m(searched.slack_ln[i]), least.paid_out_m());
            self.root(lengths_m, *least, |shape| (shape.drum_tension_n() / drum_tension_n).ln())
        });
        // Where the curve jumps from one shape to another, none between them has it.
        let Some(shape) = short.and_then(|shape| self.closed(shape, drum_tension_n)) else {
            return Err(TetherError::NotConverged {
                iterations_count: least.iterations_count(),
                force_error_ratio: (least.drum_tension_n() / drum_tension_n - 1.0).abs(),
                end_error_m: 0.0,
            });
        };
        let other_length_m =
            if self.options.seek_other_length { self.long(least, drum_tension_n) } else { None };
        Ok(TensionSolution::Hangs { shape, other_length_m })
    }

    /// The least drum tension; the search goes on to lengths as taut as `taut_n` needs.
    pub(super) fn least(&self, taut_n: Option<f64>) -> Result<(Shape, Searched), TetherError> {
        let mut searched = Searched::new();
        let mut best: Option<Shape> = None;
        // Longer while the tension falls, as long as it does not cost too much to know.
        let mut error = None;
        for i in (0..=START).rev() {
            match self.look(&mut searched, i, best.as_ref()) {
                Ok(shape) => {
                    if best.as_ref().is_some_and(|best| best.drum_tension_n() <= shape.drum_tension_n()) {
                        break;
                    }
                    searched.least = i;
                    best = Some(shape);
                }
                Err(e) => error = Some(e),
            }
        }
        let mut last = best;
        let slack_side = searched.least;
        for i in START + 1..STEPS {
            searched.count = i + 1;
            match self.look(&mut searched, i, last.as_ref()) {
                Ok(shape) => {
                    if best.as_ref().is_none_or(|best| shape.drum_tension_n() < best.drum_tension_n()) {
                        searched.least = i;
                        best = Some(shape);
                    }
                    last = Some(shape);
                }
                Err(e) => error = Some(e),
            }
            // Far enough up the taut side.
            let least_n = searched.tension_n[searched.least];
            let enough_n = taut_n.unwrap_or(0.0).max(2.0 * least_n);
            let here_n = searched.tension_n[i];
            if i > searched.least + 1 && here_n.is_finite() && here_n > enough_n {
                break;
            }
        }
        let Some(coarse) = &best else {
            return Err(error.unwrap_or(TetherError::Indeterminate {
                length_m: self.length_m(searched.slack_ln[slack_side]),
                distance_m: self.problem.end_m.norm(),
            }));
        };
        Ok((self.least_at(&searched, coarse), searched))
    }

    /// The least drum tension next to the least of those looked at, which `coarse` has.
    fn least_at(&self, searched: &Searched, coarse: &Shape) -> Shape {
        let (lo, hi) = (searched.slack_ln[searched.least] - STEP, searched.slack_ln[searched.least] + STEP);
        let tension = |slack_ln: f64| {
            let shape = self.roughly_at_length(self.length_m(slack_ln), Some(coarse));
            shape.map_or(f64::NAN, |s| s.drum_tension_n())
        };
        let best = brent(tension, lo, hi, 1e-3);
        self.at_length(self.length_m(best.x), Some(coarse)).unwrap_or(*coarse)
    }

    /// Enters one length into what was searched.
    fn look(&self, searched: &mut Searched, i: usize, warm: Option<&Shape>) -> Result<Shape, TetherError> {
        let shape = self.roughly_at_length(self.length_m(searched.slack_ln[i]), warm)?;
        searched.tension_n[i] = shape.drum_tension_n();
        Ok(shape)
    }

    /// The shape that leaves the drum level, on the taut side of `slack`.
    pub(super) fn level(&self, slack: &Shape, searched: &Searched) -> Option<Shape> {
        for i in searched.least..searched.count {
            let length_m = self.length_m(searched.slack_ln[i]);
            let shape = self.roughly_at_length(length_m, Some(slack)).ok()?;
            if shape.drum_elevation_deg() > 0.0 {
                return self.root((length_m, slack.paid_out_m()), shape, |s| s.force_at_drum_n().z);
            }
        }
        None
    }
}
