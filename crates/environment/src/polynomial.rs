//! A smooth function of one variable replaced by a polynomial that is cheap to evaluate.

use std::sync::LazyLock;

use crate::lane::Lane;

/// Number of coefficients; enough for 1e-10 over 2.5 km of air, humid air included.
const COEFFICIENTS_COUNT: usize = 8;

/// Chebyshev polynomials of each degree at the Chebyshev nodes; those of degree 1 are the nodes.
static COSINES: LazyLock<[[f64; COEFFICIENTS_COUNT]; COEFFICIENTS_COUNT]> = LazyLock::new(|| {
    const N: usize = COEFFICIENTS_COUNT;
    let angle = |node: usize| std::f64::consts::PI * (node as f64 + 0.5) / N as f64;
    std::array::from_fn(|degree| std::array::from_fn(|node| (degree as f64 * angle(node)).cos()))
});

/// Polynomial through a function at the Chebyshev nodes of an interval; outside it the polynomial means nothing.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Polynomial {
    middle: f64,
    per_half_width: f64,
    /// Coefficients of rising powers of the variable scaled to −1..1.
    coefficients: [f64; COEFFICIENTS_COUNT],
}

impl Polynomial {
    /// Where a function on `lo..=hi` must be known.
    pub(crate) fn nodes((lo, hi): (f64, f64)) -> [f64; COEFFICIENTS_COUNT] {
        let (middle, half_width) = (0.5 * (lo + hi), 0.5 * (hi - lo));
        COSINES[1].map(|node| middle + half_width * node)
    }

    /// Through the values of a function at [`Self::nodes`].
    pub(crate) fn through((lo, hi): (f64, f64), values: &[f64; COEFFICIENTS_COUNT]) -> Self {
        const N: usize = COEFFICIENTS_COUNT;
        let (middle, half_width) = (0.5 * (lo + hi), 0.5 * (hi - lo));
        let mut coefficients = [0.0; N];
        let (mut before, mut chebyshev) = ([0.0; N], [0.0; N]);
        chebyshev[0] = 1.0;
        for degree in 0..N {
            let cosines = values.iter().zip(&COSINES[degree]);
            let sum = cosines.map(|(value, cosine)| value * cosine).sum::<f64>() / N as f64;
            let weight = if degree == 0 { sum } else { 2.0 * sum };
            for power in 0..=degree {
                coefficients[power] += weight * chebyshev[power];
            }
            (before, chebyshev) = (chebyshev, next_chebyshev(degree, &chebyshev, &before));
        }
        Self { middle, per_half_width: 1.0 / half_width, coefficients }
    }

    /// The polynomial at `x`, which must lie in the interval of the fit.
    #[inline]
    pub(crate) fn at<T: Lane>(&self, x: T) -> T {
        let c = |power: usize| T::of(self.coefficients[power]);
        let t = (x - T::of(self.middle)) * T::of(self.per_half_width);
        // Two interleaved Horner chains: half the latency of one.
        let square = t * t;
        let even = ((c(6) * square + c(4)) * square + c(2)) * square + c(0);
        let odd = ((c(7) * square + c(5)) * square + c(3)) * square + c(1);
        odd * t + even
    }
}

/// Coefficients of the Chebyshev polynomial after `current` of `degree`: 2 t T − T before (t for degree 0).
fn next_chebyshev(
    degree: usize,
    current: &[f64; COEFFICIENTS_COUNT],
    before: &[f64; COEFFICIENTS_COUNT],
) -> [f64; COEFFICIENTS_COUNT] {
    let factor = if degree == 0 { 1.0 } else { 2.0 };
    std::array::from_fn(|power| {
        let shifted = if power == 0 { 0.0 } else { factor * current[power - 1] };
        shifted - before[power]
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reproduces_a_polynomial() {
        let f = |x: f64| 1.0 - 2.0 * x + 0.5 * x.powi(3) - 0.01 * x.powi(6);
        let fitted = Polynomial::through((-1.0, 4.0), &Polynomial::nodes((-1.0, 4.0)).map(f));
        for x in [-1.0, -0.3, 0.0, 1.7, 3.99, 4.0] {
            assert!((fitted.at(x) - f(x)).abs() < 1e-11, "{x}: {} {}", fitted.at(x), f(x));
        }
    }
}
