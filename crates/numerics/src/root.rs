//! Root of a continuous function of one variable between two points where its sign differs.

use thiserror::Error;

/// Where to stop: when the bracket is shorter than `x_abs + x_rel · |x|`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// Absolute part, in the unit of the variable; may be 0.
    pub x_abs: f64,
    /// Relative part; values below four units in the last place are raised to that.
    pub x_rel: f64,
    /// Largest number of function evaluations, ends of the bracket included.
    pub max_evaluations_count: u32,
}

impl Default for Tolerance {
    fn default() -> Self {
        Self { x_abs: 0.0, x_rel: 4.0 * f64::EPSILON, max_evaluations_count: 200 }
    }
}

/// A root and the work it took; variable and value in the units of the function.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Root {
    /// The variable at the root.
    pub x: f64,
    /// The function there, zero or as near as the tolerance asks for.
    pub f: f64,
    /// Function evaluations used.
    pub evaluations_count: u32,
}

/// Why no root was returned.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum RootError {
    /// The function has the same sign at both ends.
    #[error("no change of sign between {lo} (value {f_lo}) and {hi} (value {f_hi})")]
    NoSignChange {
        /// Lower end.
        lo: f64,
        /// Value at the lower end.
        f_lo: f64,
        /// Upper end.
        hi: f64,
        /// Value at the upper end.
        f_hi: f64,
    },
    /// The function returned NaN.
    #[error("the function is not a number at {x}")]
    NotANumber {
        /// The variable there.
        x: f64,
    },
    /// The evaluation budget ran out; the best bracket so far is given.
    #[error("root still between {lo} and {hi} after {evaluations_count} evaluations")]
    OutOfEvaluations {
        /// Lower end of the bracket that is left.
        lo: f64,
        /// Upper end of the bracket that is left.
        hi: f64,
        /// Evaluations used.
        evaluations_count: u32,
    },
}

/// Finds a root of `f` between `lo` and `hi` by Chandrupatla's method (T. R. Chandrupatla, *A new hybrid
/// quadratic/bisection algorithm for finding the zero of a nonlinear function without using derivatives*,
/// Advances in Engineering Software 28, 1997): inverse quadratic interpolation where it is safe, bisection
/// otherwise, so that it never leaves the bracket and always ends.
///
/// # Errors
/// [`RootError`]: no sign change, NaN from `f`, or the budget of evaluations used up.
///
/// # Examples
/// ```
/// use beamstay_numerics::root::{bracketed, Tolerance};
/// let root = bracketed(|x| x * x - 2.0, 0.0, 2.0, Tolerance::default()).unwrap();
/// assert!((root.x - 2.0_f64.sqrt()).abs() < 1e-15);
/// ```
pub fn bracketed(
    mut f: impl FnMut(f64) -> f64,
    lo: f64,
    hi: f64,
    tolerance: Tolerance,
) -> Result<Root, RootError> {
    let (f_lo, f_hi) = (f(lo), f(hi));
    bracketed_from(f, (lo, f_lo), (hi, f_hi), tolerance)
}

/// As [`bracketed`], for a caller that already knows the values at both ends.
///
/// # Errors
/// As [`bracketed`].
pub fn bracketed_from(
    mut f: impl FnMut(f64) -> f64,
    (lo, f_lo): (f64, f64),
    (hi, f_hi): (f64, f64),
    tolerance: Tolerance,
) -> Result<Root, RootError> {
    for (x, value) in [(lo, f_lo), (hi, f_hi)] {
        if value.is_nan() || x.is_nan() {
            return Err(RootError::NotANumber { x });
        }
        if value == 0.0 {
            return Ok(Root { x, f: value, evaluations_count: 2 });
        }
    }
    if (f_lo > 0.0) == (f_hi > 0.0) {
        return Err(RootError::NoSignChange { lo, f_lo, hi, f_hi });
    }
    let x_rel = tolerance.x_rel.max(4.0 * f64::EPSILON);
    // `a` is the newest point, `b` the other end of the bracket, `c` the point dropped last.
    let (mut a, mut f_a, mut b, mut f_b) = (hi, f_hi, lo, f_lo);
    let mut fraction = 0.5;
    for evaluations_count in 3..=tolerance.max_evaluations_count.max(3) {
        let x = a + fraction * (b - a);
        let f_x = f(x);
        if f_x.is_nan() {
            return Err(RootError::NotANumber { x });
        }
        let (c, f_c);
        if (f_x > 0.0) == (f_a > 0.0) {
            (c, f_c) = (a, f_a);
        } else {
            (c, f_c) = (b, f_b);
            (b, f_b) = (a, f_a);
        }
        (a, f_a) = (x, f_x);
        let (best, f_best) = if f_a.abs() < f_b.abs() { (a, f_a) } else { (b, f_b) };
        let smallest_step = tolerance.x_abs + x_rel * best.abs() + f64::MIN_POSITIVE;
        let smallest_fraction = 0.5 * smallest_step / (b - a).abs();
        if f_best == 0.0 || smallest_fraction >= 0.5 {
            return Ok(Root { x: best, f: f_best, evaluations_count });
        }
        fraction =
            next_fraction((a, f_a), (b, f_b), (c, f_c)).clamp(smallest_fraction, 1.0 - smallest_fraction);
    }
    Err(RootError::OutOfEvaluations {
        lo: a.min(b),
        hi: a.max(b),
        evaluations_count: tolerance.max_evaluations_count,
    })
}

/// Fraction of the way from `a` to `b` where the next point goes: inverse quadratic interpolation if
/// Chandrupatla's condition holds, otherwise the middle.
fn next_fraction((a, f_a): (f64, f64), (b, f_b): (f64, f64), (c, f_c): (f64, f64)) -> f64 {
    let xi = (a - b) / (c - b);
    let phi = (f_a - f_b) / (f_c - f_b);
    if phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi {
        let t =
            f_a / (f_b - f_a) * f_c / (f_b - f_c) + (c - a) / (b - a) * f_a / (f_c - f_a) * f_b / (f_c - f_b);
        if t.is_finite() {
            return t;
        }
    }
    0.5
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn root(f: impl FnMut(f64) -> f64, lo: f64, hi: f64) -> Root {
        bracketed(f, lo, hi, Tolerance::default()).unwrap()
    }

    #[test]
    fn finds_the_real_root_of_wallis_cubic() {
        // x³ − 2x − 5, root 2.0945514815423265 (Wallis' example, quoted in Press et al., Numerical Recipes).
        let found = root(|x| x * x * x - 2.0 * x - 5.0, 2.0, 3.0);
        assert!((found.x - 2.094_551_481_542_326_5).abs() < 1e-15);
        assert!(found.evaluations_count <= 12, "{found:?}");
    }

    #[test]
    fn flat_and_steep_functions_end() {
        assert!((root(|x| (x - 0.3).powi(9), 0.0, 1.0).x - 0.3).abs() < 1e-2);
        assert!((root(|x| (1e3 * (x - 0.7)).tanh(), -5.0, 5.0).x - 0.7).abs() < 1e-14);
    }

    #[test]
    fn a_root_on_an_end_is_returned_at_once() {
        assert_eq!(root(|x| x, 0.0, 1.0).x, 0.0);
        assert_eq!(root(|x| x - 1.0, 0.0, 1.0).x, 1.0);
    }

    #[test]
    fn no_sign_change_tells_both_values() {
        let error = bracketed(|x| x * x + 1.0, -1.0, 2.0, Tolerance::default()).unwrap_err();
        assert_eq!(error, RootError::NoSignChange { lo: -1.0, f_lo: 2.0, hi: 2.0, f_hi: 5.0 });
    }

    #[test]
    fn nan_names_the_place() {
        let error = bracketed(
            |x| if x > 0.4 && x < 0.6 { f64::NAN } else { x - 0.5 },
            0.0,
            1.0,
            Tolerance::default(),
        )
        .unwrap_err();
        assert_eq!(error, RootError::NotANumber { x: 0.5 });
    }

    #[test]
    fn the_budget_is_kept() {
        let tolerance = Tolerance { max_evaluations_count: 5, ..Tolerance::default() };
        let error = bracketed(|x| x.exp() - 3.0, -50.0, 50.0, tolerance).unwrap_err();
        assert!(matches!(error, RootError::OutOfEvaluations { evaluations_count: 5, .. }));
    }

    proptest! {
        #[test]
        fn prop_root_of_a_monotone_cubic(x0 in -1e3..1e3f64, k in 1e-3..1e3f64) {
            let found = root(|x| k * (x - x0) + (x - x0).powi(3), -2e3, 2e3);
            prop_assert!((found.x - x0).abs() <= 1e-12 * (1.0 + x0.abs()) / k.min(1.0));
        }
    }
}
