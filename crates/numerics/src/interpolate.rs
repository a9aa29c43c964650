//! Interpolation in a table that never overshoots it.

use thiserror::Error;

/// Why a table cannot be interpolated.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum TableError {
    /// Fewer than two rows, or columns of different length.
    #[error("a table needs two rows or more and columns of one length, found {x_count} and {y_count}")]
    Length {
        /// Rows of the first column.
        x_count: usize,
        /// Rows of the second column.
        y_count: usize,
    },
    /// The first column does not rise, or a number is not finite.
    #[error("row {row} does not rise from the row before, or is not finite")]
    NotRising {
        /// Row number, from 0.
        row: usize,
    },
}

/// A piecewise cubic through a table that rises and falls only where the table does (F. N. Fritsch and
/// J. Butland, *A method for constructing local monotone piecewise cubic interpolants*, SIAM J. Sci. Stat. Comput. 5,
/// 1984; end slopes by the three-point rule of Moler). Its first derivative is continuous.
#[derive(Debug, Clone, PartialEq)]
pub struct MonotoneCubic {
    x: Vec<f64>,
    y: Vec<f64>,
    slope: Vec<f64>,
}

impl MonotoneCubic {
    /// Builds the curve from columns `x` (strictly rising) and `y`.
    ///
    /// # Errors
    /// [`TableError`] if the columns do not fit together, do not rise or hold a number that is not finite.
    ///
    /// # Examples
    /// ```
    /// use beamstay_numerics::interpolate::MonotoneCubic;
    /// let curve = MonotoneCubic::new(vec![0.0, 1.0, 2.0, 3.0], vec![0.0, 0.0, 1.0, 1.0]).unwrap();
    /// assert_eq!(curve.at(1.5), 0.5);
    /// assert!((0..=300).all(|i| (0.0..=1.0).contains(&curve.at(i as f64 / 100.0))));
    /// ```
    pub fn new(x: Vec<f64>, y: Vec<f64>) -> Result<Self, TableError> {
        if x.len() < 2 || x.len() != y.len() {
            return Err(TableError::Length { x_count: x.len(), y_count: y.len() });
        }
        for row in 0..x.len() {
            let rises = row == 0 || x[row] > x[row - 1];
            if !rises || !x[row].is_finite() || !y[row].is_finite() {
                return Err(TableError::NotRising { row });
            }
        }
        let slope = slopes(&x, &y);
        Ok(Self { x, y, slope })
    }

    /// Value at `x`; outside the table the end value is held.
    pub fn at(&self, x: f64) -> f64 {
        self.at_with_slope(x).0
    }

    /// Value and derivative at `x`; outside the table the end value and 0.
    pub fn at_with_slope(&self, x: f64) -> (f64, f64) {
        let last = self.x.len() - 1;
        if x <= self.x[0] {
            return (self.y[0], if x < self.x[0] { 0.0 } else { self.slope[0] });
        }
        if x >= self.x[last] {
            return (self.y[last], if x > self.x[last] { 0.0 } else { self.slope[last] });
        }
        let i = self.x.partition_point(|&node| node <= x).clamp(1, last) - 1;
        let h = self.x[i + 1] - self.x[i];
        let t = (x - self.x[i]) / h;
        let (y0, y1) = (self.y[i], self.y[i + 1]);
        let (d0, d1) = (self.slope[i] * h, self.slope[i + 1] * h);
        let c2 = 3.0 * (y1 - y0) - 2.0 * d0 - d1;
        let c3 = d0 + d1 - 2.0 * (y1 - y0);
        (y0 + t * (d0 + t * (c2 + t * c3)), (d0 + t * (2.0 * c2 + 3.0 * t * c3)) / h)
    }

    /// Lowest and highest `x` of the table.
    pub fn range(&self) -> (f64, f64) {
        (self.x[0], self.x[self.x.len() - 1])
    }
}

fn slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let n = x.len();
    let h: Vec<f64> = x.windows(2).map(|w| w[1] - w[0]).collect();
    let secant: Vec<f64> = y.windows(2).zip(&h).map(|(w, h)| (w[1] - w[0]) / h).collect();
    if n == 2 {
        return vec![secant[0]; 2];
    }
    let mut slope = vec![0.0; n];
    for i in 1..n - 1 {
        if secant[i - 1] * secant[i] > 0.0 {
            let (w1, w2) = (2.0 * h[i] + h[i - 1], h[i] + 2.0 * h[i - 1]);
            slope[i] = (w1 + w2) / (w1 / secant[i - 1] + w2 / secant[i]);
        }
    }
    slope[0] = end_slope(h[0], h[1], secant[0], secant[1]);
    slope[n - 1] = end_slope(h[n - 2], h[n - 3], secant[n - 2], secant[n - 3]);
    slope
}

fn end_slope(h0: f64, h1: f64, secant0: f64, secant1: f64) -> f64 {
    let slope = ((2.0 * h0 + h1) * secant0 - h0 * secant1) / (h0 + h1);
    if slope * secant0 <= 0.0 {
        0.0
    } else if secant0 * secant1 <= 0.0 && slope.abs() > 3.0 * secant0.abs() {
        3.0 * secant0
    } else {
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn flat_part_stays_flat_and_slope_is_the_derivative() {
        let curve = MonotoneCubic::new(vec![0.0, 1.0, 3.0, 4.0, 6.0], vec![0.0, 2.0, 3.0, 3.0, 7.0]).unwrap();
        assert!((curve.at(1.0) - 2.0).abs() < 1e-15);
        assert!((curve.at(3.5) - 3.0).abs() < 1e-15, "flat part stays flat");
        let (y, slope) = curve.at_with_slope(2.0);
        let numeric = (curve.at(2.0 + 1e-6) - curve.at(2.0 - 1e-6)) / 2e-6;
        assert!((slope - numeric).abs() < 1e-8 && y > 2.0 && y < 3.0);
    }

    #[test]
    fn val_scipy_pchip_values_and_slopes() {
        // SciPy 1.17.1, PchipInterpolator and its derivative: uneven steps, flat parts, turns, ends that overshoot.
        type Curve<'a> = (&'a [f64], &'a [f64], &'a [(f64, f64, f64)]);
        #[rustfmt::skip]
        let cases: [Curve<'_>; 4] = [
            (&[0.0, 1.0, 3.0, 4.0, 6.0, 6.5], &[0.0, 2.0, 3.0, 3.0, 7.0, 6.0], &[
                (0.0, 0.0, 2.5), (0.25, 0.6238839285714285, 2.4508928571428568), (0.7, 1.5995, 1.755),
                (1.5, 2.3973214285714284, 0.7232142857142857), (2.4, 2.892, 0.3471428571428572),
                (3.25, 3.0, 0.0), (3.7, 3.0, 0.0), (4.5, 3.625, 2.25), (5.4, 6.136, 2.52),
                (6.125, 6.909375, -1.375), (6.35, 6.4218, -2.716), (6.5, 6.0, -2.8),
            ]),
            (&[0.0, 1.0, 1.5, 5.0], &[0.0, 0.1, 4.0, -1.0], &[
                (0.0, 0.0, 0.0), (0.25, 0.00524447949526814, 0.04329652996845426),
                (0.7, 0.04584668769716088, 0.14150157728706625), (1.125, 0.7249457807570977, 8.816522082018928),
                (1.35, 3.164575709779181, 9.75492113564668), (2.375, 3.921875, -0.2678571428571429),
                (3.95, 2.285, -2.1), (5.0, -1.0, -4.285714285714285),
            ]),
            (&[-2.0, 1.0], &[5.0, -1.0], &[(-2.0, 5.0, -2.0), (-1.25, 3.5, -2.0), (0.1, 0.8, -2.0), (1.0, -1.0, -2.0)]),
            (&[0.0, 1.0, 3.0], &[0.0, 5.0, 4.0], &[
                (0.0, 0.0, 6.833333333333333), (0.25, 1.7421875, 6.90625), (0.7, 4.3505, 4.045),
                (1.5, 4.984375, -0.09375), (2.4, 4.657, -0.735), (3.0, 4.0, -1.5),
            ]),
        ];
        for (x, y, expected) in cases {
            let curve = MonotoneCubic::new(x.to_vec(), y.to_vec()).unwrap();
            for &(at, value, slope) in expected {
                let (found, found_slope) = curve.at_with_slope(at);
                assert!((found - value).abs() < 1e-13, "{x:?} at {at}: {found}, SciPy {value}");
                assert!(
                    (found_slope - slope).abs() < 1e-13,
                    "{x:?} at {at}: slope {found_slope}, SciPy {slope}"
                );
            }
            // Outside, the end is held: ours, SciPy goes on along the last cubic.
            let (lo, hi) = curve.range();
            assert_eq!((lo, hi), (x[0], x[x.len() - 1]));
            assert_eq!(curve.at_with_slope(lo - 0.5), (y[0], 0.0));
            assert_eq!(curve.at_with_slope(hi + 0.5), (y[y.len() - 1], 0.0));
        }
    }

    #[test]
    fn bad_tables_are_refused() {
        assert_eq!(
            MonotoneCubic::new(vec![0.0], vec![1.0]),
            Err(TableError::Length { x_count: 1, y_count: 1 })
        );
        assert_eq!(MonotoneCubic::new(vec![0.0, 0.0], vec![1.0, 2.0]), Err(TableError::NotRising { row: 1 }));
        assert_eq!(
            MonotoneCubic::new(vec![0.0, 1.0], vec![f64::NAN, 2.0]),
            Err(TableError::NotRising { row: 0 })
        );
    }

    proptest! {
        #[test]
        fn prop_rising_table_gives_rising_curve(steps in prop::collection::vec((0.01..10.0f64, 0.0..10.0f64), 2..12), t in 0.0..1.0f64) {
            let x: Vec<f64> = steps.iter().scan(0.0, |s, (dx, _)| { *s += dx; Some(*s) }).collect();
            let y: Vec<f64> = steps.iter().scan(0.0, |s, (_, dy)| { *s += dy; Some(*s) }).collect();
            let curve = MonotoneCubic::new(x.clone(), y).unwrap();
            let (lo, hi) = curve.range();
            let at = lo + t * (hi - lo);
            prop_assert!(curve.at_with_slope(at).1 >= -1e-9);
        }
    }
}
