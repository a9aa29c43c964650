//! Minimum of a function of one variable on an interval.

/// A minimum and the work it took; variable and value in the units of the function.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Minimum {
    /// The variable at the minimum.
    pub x: f64,
    /// The function there.
    pub f: f64,
    /// Function evaluations used.
    pub evaluations_count: u32,
}

/// 1 − 1/φ, the golden section.
const GOLDEN: f64 = 0.381_966_011_250_105_1;

/// Minimum of `f` on `lo..=hi` by Brent's method (R. P. Brent, *Algorithms for Minimization without Derivatives*,
/// Prentice-Hall 1973, ch. 5): parabolic steps guarded by golden section. Exact for one minimum; with several it
/// returns one of them. NaN counts as +∞, so a function that fails on part of the interval is searched on the rest.
/// `x_tolerance` is absolute; below √ε·|x| it buys nothing, because the function is flat there.
///
/// # Examples
/// ```
/// let best = beamstay_numerics::minimum::brent(|x: f64| (x - 0.3).powi(2) + 1.0, 0.0, 1.0, 1e-9);
/// assert!((best.x - 0.3).abs() < 1e-8 && (best.f - 1.0).abs() < 1e-12);
/// ```
pub fn brent(f: impl FnMut(f64) -> f64, lo: f64, hi: f64, x_tolerance: f64) -> Minimum {
    let mut value = numbered(f);
    let ends = (lo.min(hi), lo.max(hi));
    let x = ends.0 + GOLDEN * (ends.1 - ends.0);
    let first = (x, value(x));
    let found = search(value, ends, [first; 3], 0.0, x_tolerance);
    Minimum { evaluations_count: found.evaluations_count + 1, ..found }
}

/// The same from three places in a row with their values, of which the middle one has the least: the first step is then to the
/// vertex of the parabola through them.
///
/// # Examples
/// ```
/// let f = |x: f64| (x - 0.3).powi(2) + 1.0;
/// let places = [0.0, 0.4, 1.0].map(|x| (x, f(x)));
/// let best = beamstay_numerics::minimum::brent_from(f, places, 1e-9);
/// assert!((best.x - 0.3).abs() < 1e-8 && (best.f - 1.0).abs() < 1e-12);
/// ```
pub fn brent_from(f: impl FnMut(f64) -> f64, places: [(f64, f64); 3], x_tolerance: f64) -> Minimum {
    let [one, best, other] = places;
    let ends = (one.0.min(other.0), one.0.max(other.0));
    let (second, third) = if one.1 <= other.1 { (one, other) } else { (other, one) };
    search(numbered(f), ends, [best, second, third], ends.1 - ends.0, x_tolerance)
}

/// The function with what is not a number as +∞.
fn numbered(mut f: impl FnMut(f64) -> f64) -> impl FnMut(f64) -> f64 {
    move |x| {
        let y = f(x);
        if y.is_nan() { f64::INFINITY } else { y }
    }
}

/// The search between two ends from the three best places with their values, the best first, after a step of some size.
fn search(
    mut value: impl FnMut(f64) -> f64,
    (mut a, mut b): (f64, f64),
    [(mut x, mut f_x), (mut w, mut f_w), (mut v, mut f_v)]: [(f64, f64); 3],
    last_step: f64,
    x_tolerance: f64,
) -> Minimum {
    let (mut step, mut step_before) = (last_step, last_step);
    let mut evaluations_count = 0;
    while evaluations_count < 200 {
        let middle = 0.5 * (a + b);
        let tol = 1e-10 * x.abs() + x_tolerance.abs() + f64::MIN_POSITIVE;
        if (x - middle).abs() <= 2.0 * tol - 0.5 * (b - a) {
            break;
        }
        let parabola = parabolic_step((x, f_x), (w, f_w), (v, f_v));
        let usable = step_before.abs() > tol
            && parabola.is_finite()
            && parabola.abs() < 0.5 * step_before.abs()
            && x + parabola > a
            && x + parabola < b;
        if usable {
            step_before = step;
            step = parabola;
            if (x + step) - a < 2.0 * tol || b - (x + step) < 2.0 * tol {
                step = tol.copysign(middle - x);
            }
        } else {
            step_before = if x < middle { b - x } else { a - x };
            step = GOLDEN * step_before;
        }
        let u = if step.abs() >= tol { x + step } else { x + tol.copysign(step) };
        let f_u = value(u);
        evaluations_count += 1;
        if f_u <= f_x {
            if u < x {
                b = x
            } else {
                a = x
            }
            (v, f_v, w, f_w, x, f_x) = (w, f_w, x, f_x, u, f_u);
        } else {
            if u < x {
                a = u
            } else {
                b = u
            }
            if f_u <= f_w || w == x {
                (v, f_v, w, f_w) = (w, f_w, u, f_u);
            } else if f_u <= f_v || v == x || v == w {
                (v, f_v) = (u, f_u);
            }
        }
    }
    Minimum { x, f: f_x, evaluations_count }
}

/// Step from `x` to the vertex of the parabola through three points; not finite if they lie on a line.
fn parabolic_step((x, f_x): (f64, f64), (w, f_w): (f64, f64), (v, f_v): (f64, f64)) -> f64 {
    let r = (x - w) * (f_x - f_v);
    let q = (x - v) * (f_x - f_w);
    ((x - v) * q - (x - w) * r) / (-2.0 * (q - r))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn smooth_minimum_in_few_evaluations() {
        // x sin x on 0..2π: minimum at the root of sin x + x cos x, 4.913180439434884.
        let best = brent(|x| x * x.sin(), 3.0, 6.0, 1e-9);
        assert!((best.x - 4.913_180_439_434_884).abs() < 1e-7, "{best:?}");
        assert!(best.evaluations_count < 20);
    }

    #[test]
    fn three_places_spare_the_first_evaluations() {
        let f = |x: f64| x * x.sin();
        let whole = brent(f, 3.0, 6.0, 1e-9);
        let near = brent_from(f, [3.0, 5.0, 6.0].map(|x| (x, f(x))), 1e-9);
        assert!((near.x - whole.x).abs() < 1e-7, "{near:?} {whole:?}");
        assert!(near.evaluations_count < whole.evaluations_count, "{near:?} {whole:?}");
    }

    #[test]
    fn three_places_that_say_nothing_do_no_harm() {
        let flat = brent_from(|_| 1.0, [(0.0, 1.0), (0.5, 1.0), (1.0, 1.0)], 1e-6);
        assert!(flat.f == 1.0 && (0.0..=1.0).contains(&flat.x), "{flat:?}");
        let kink = |x: f64| (x - 0.6).abs();
        let ends = [(0.0, f64::INFINITY), (0.5, kink(0.5)), (1.0, f64::INFINITY)];
        assert!((brent_from(kink, ends, 1e-10).x - 0.6).abs() < 1e-6);
    }

    #[test]
    fn the_tolerance_grows_with_the_place() {
        // No tolerance asked for: one part in 1e10 of the place is what a minimum of rounded numbers can be held to.
        let best = brent(|x| (x * 1e-6 - 1.0).powi(4) + (x * 1e-6 - 1.0).powi(2), 5e5, 4e6, 0.0);
        assert!((best.x * 1e-6 - 1.0).abs() < 1e-6, "{best:?}");
        assert!(best.evaluations_count < 80, "{best:?}");
    }

    #[test]
    fn minimum_on_an_end_is_found() {
        let best = brent(|x| x, 2.0, 5.0, 1e-10);
        assert!((best.x - 2.0).abs() < 1e-8);
    }

    #[test]
    fn failing_part_of_the_interval_is_avoided() {
        let best = brent(|x| if x < 0.5 { f64::NAN } else { (x - 0.6).abs() }, 0.0, 1.0, 1e-10);
        assert!((best.x - 0.6).abs() < 1e-6, "{best:?}");
    }
}
