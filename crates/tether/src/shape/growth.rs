//! How much longer a line must be for the drum tension that is held, sweep by sweep.
//!
//! A sweep takes the load on every metre as it is. Yet more line hangs in another shape, and what the flow does to that changes the
//! drum tension too: of a slack line in strong wind twice as much again. The steps themselves tell how much, each by what the last
//! one left (a secant).

use super::slopes::DrumSlopes;

/// Part of the largest change of a sweep that what the tension was off must have been to say something.
const LEAST_PART: f64 = 0.4;
/// Fall of the drum tension with the logarithm of the length, over itself, of a line so taut that its load adds nothing to that; by trial.
const TAUT: f64 = 20.0;
/// Most that the load adds to the fall, and most that it takes off, as parts of it.
const MOST: f64 = 3.0;
const MOST_OFF: f64 = 0.5;

/// What is known of the drum tension before the length changes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Off {
    /// Drum tension that is held, N.
    pub tension_n: f64,
    /// What is missing to it, N.
    pub missing_n: f64,
    /// Its change with the logarithm of the length while the load is held, N.
    pub slope_n: f64,
}

impl Off {
    /// Growth of the length that closes it; it goes no further than the line gives.
    pub(super) fn growth(&self, slopes: &DrumSlopes, give_ratio: f64) -> f64 {
        let growth = self.missing_n / (self.slope_n + slopes.by_load_n);
        growth.clamp(-0.6 * give_ratio.min(1.0), 0.01 + 1.5 * give_ratio)
    }
}

/// A change of the length.
#[derive(Debug, Clone, Copy)]
pub(super) struct Step {
    /// What was known before it.
    pub off: Off,
    /// Growth of the length.
    pub growth: f64,
    /// Largest change of a force in that sweep, N.
    pub change_n: f64,
}

impl Step {
    /// What the load adds to the change of the drum tension with the logarithm of the length, N, by what is off after the step;
    /// none where that says nothing.
    pub(super) fn by_load_n(&self, now: &Off) -> Option<f64> {
        let slope_n = 0.5 * (self.off.slope_n + now.slope_n);
        let (fall_n, says) = (slope_n.abs(), self.off.missing_n.abs() > LEAST_PART * self.change_n);
        let by_load_n = (self.off.missing_n - now.missing_n) / self.growth - slope_n;
        let known = says && fall_n < TAUT * now.tension_n && by_load_n.is_finite();
        known.then(|| by_load_n.clamp(-MOST * (fall_n + now.tension_n), MOST_OFF * fall_n))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn off(missing_n: f64) -> Off {
        Off { tension_n: 12.0, missing_n, slope_n: -20.0 }
    }

    #[test]
    fn a_step_tells_what_the_load_adds() {
        // The tension falls by 45 N for each e-fold of length, of which the load at rest tells 20.
        let (growth, change_n) = (0.05, 2.0);
        let step = Step { off: off(-2.0), growth, change_n };
        let by_load_n = step.by_load_n(&off(-2.0 + 45.0 * growth)).unwrap();
        assert!((by_load_n + 25.0).abs() < 1e-12);
        // With that the next step closes what is missing.
        let slopes = DrumSlopes { by_load_n, ..DrumSlopes::unknown() };
        assert!((off(0.9).growth(&slopes, 0.5) + 0.02).abs() < 1e-12);
    }

    #[test]
    fn a_step_that_changed_other_things_tells_nothing() {
        let step = Step { off: off(-2.0), growth: 0.05, change_n: 6.0 };
        assert_eq!(step.by_load_n(&off(0.25)), None);
        let taut = |off: Off| Off { slope_n: -400.0, ..off };
        let step = Step { off: taut(off(-2.0)), growth: 0.005, change_n: 2.0 };
        assert_eq!(step.by_load_n(&taut(off(0.1))), None);
        let step = Step { off: off(-2.0), growth: 0.0, change_n: 2.0 };
        assert_eq!(step.by_load_n(&off(0.25)), None);
    }

    #[test]
    fn no_step_tells_more_than_the_load_can_do() {
        let step = Step { off: off(-2.0), growth: 1e-6, change_n: 2.0 };
        assert_eq!(step.by_load_n(&off(0.25)), Some(-MOST * 32.0));
        assert_eq!(step.by_load_n(&off(-4.0)), Some(MOST_OFF * 20.0));
    }
}
