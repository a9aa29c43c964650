//! Weibull distribution of wind speed: P(V > v) = exp(−(v / scale)^shape). Moments, quantiles and the likelihood equation in
//! closed form: N. L. Johnson, S. Kotz, N. Balakrishnan, *Continuous Univariate Distributions* 1, 2nd ed. (1994), ch. 21 (from memory).

use beamstay_numerics::{
    domain::in_range,
    root::{Tolerance, bracketed},
};

use crate::error::EnvironmentError;

/// Shapes that a fit may return and a user may give.
const SHAPES: (f64, f64) = (0.5, 20.0);

/// A Weibull distribution. It fits the body of a wind record, not its tail: fitted to a real year it can miss the
/// share of hours above a high limit by a factor of three and more. Use the hourly record where there is one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weibull {
    shape: f64,
    scale_m_s: f64,
}

impl Weibull {
    /// From shape (0.5 to 20; 2 is Rayleigh) and scale (0.01 to 100 m/s; *not* the mean, which is 0.886 scale at
    /// shape 2).
    ///
    /// # Errors
    /// [`EnvironmentError::OutOfRange`] outside these ranges.
    ///
    /// # Examples
    /// ```
    /// use beamstay_environment::weibull::Weibull;
    /// let wind = Weibull::new(2.0, 8.0).unwrap();
    /// assert!((wind.mean_m_s() - 7.08982).abs() < 1e-5);
    /// assert!((wind.exceedance(12.0) - 0.105399).abs() < 1e-6);
    /// assert!((wind.quantile_m_s(0.99).unwrap() - 17.16773).abs() < 1e-5);
    /// ```
    pub fn new(shape: f64, scale_m_s: f64) -> Result<Self, EnvironmentError> {
        in_range("Weibull shape", "", shape, SHAPES.0, SHAPES.1)?;
        in_range("Weibull scale", "m/s", scale_m_s, 0.01, 100.0)?;
        Ok(Self { shape, scale_m_s })
    }

    /// From mean and standard deviation, m/s (method of moments).
    ///
    /// # Errors
    /// [`EnvironmentError`] if no shape from 0.5 to 20 has this ratio of deviation to mean.
    ///
    /// # Examples
    /// ```
    /// use beamstay_environment::weibull::Weibull;
    /// let wind = Weibull::from_moments(7.08982, 3.70601).unwrap();
    /// assert!((wind.shape() - 2.0).abs() < 1e-5 && (wind.scale_m_s() - 8.0).abs() < 1e-4);
    /// ```
    pub fn from_moments(mean_m_s: f64, deviation_m_s: f64) -> Result<Self, EnvironmentError> {
        in_range("mean wind", "m/s", mean_m_s, 0.01, 100.0)?;
        let wanted = deviation_m_s / mean_m_s;
        let (largest, smallest) = (variation(SHAPES.0), variation(SHAPES.1));
        in_range("ratio of deviation to mean wind", "", wanted, smallest, largest)?;
        let shape = bracketed(|k| variation(k) - wanted, SHAPES.0, SHAPES.1, Tolerance::default())
            .map_err(|_| EnvironmentError::NoWeibullFit)?
            .x;
        Self::new(shape, mean_m_s / libm::tgamma(1.0 + 1.0 / shape))
    }

    /// Maximum-likelihood fit to speeds above 0 (calms are left out: multiply exceedances by the share that is not calm).
    ///
    /// # Errors
    /// [`EnvironmentError`] for a speed that is not finite or above 100 m/s, or fewer than two different speeds above 0,
    /// or a shape outside 0.5 to 20.
    pub fn from_speeds(speeds_m_s: &[f64]) -> Result<Self, EnvironmentError> {
        for speed in speeds_m_s {
            in_range("wind speed", "m/s", *speed, 0.0, 100.0)?;
        }
        let largest = speeds_m_s.iter().copied().fold(0.0, f64::max);
        let logs: Vec<f64> = speeds_m_s.iter().filter(|v| **v > 0.0).map(|v| (v / largest).ln()).collect();
        let count = logs.len() as f64;
        let mean_log = logs.iter().sum::<f64>() / count.max(1.0);
        let sums = |k: f64| {
            logs.iter().fold((0.0, 0.0), |(power, weighted), log| {
                let term = (k * log).exp();
                (power + term, weighted + term * log)
            })
        };
        let condition = |k: f64| {
            let (power, weighted) = sums(k);
            weighted / power - 1.0 / k - mean_log
        };
        let shape = bracketed(condition, SHAPES.0, SHAPES.1, Tolerance::default())
            .map_err(|_| EnvironmentError::NoWeibullFit)?
            .x;
        Self::new(shape, largest * (sums(shape).0 / count).powf(1.0 / shape))
    }

    /// Shape, a pure number.
    pub fn shape(&self) -> f64 {
        self.shape
    }

    /// Scale, m/s.
    pub fn scale_m_s(&self) -> f64 {
        self.scale_m_s
    }

    /// Mean, m/s: scale × Γ(1 + 1/shape).
    pub fn mean_m_s(&self) -> f64 {
        self.scale_m_s * libm::tgamma(1.0 + 1.0 / self.shape)
    }

    /// Median, m/s: scale × (ln 2)^(1/shape).
    pub fn median_m_s(&self) -> f64 {
        self.scale_m_s * std::f64::consts::LN_2.powf(1.0 / self.shape)
    }

    /// Standard deviation, m/s.
    pub fn deviation_m_s(&self) -> f64 {
        self.mean_m_s() * variation(self.shape)
    }

    /// Mean of the cube of the speed over the cube of the mean: 6/π at shape 2.
    pub fn energy_pattern_factor(&self) -> f64 {
        libm::tgamma(1.0 + 3.0 / self.shape) / libm::tgamma(1.0 + 1.0 / self.shape).powi(3)
    }

    /// Probability of a speed above `speed_m_s`; 1 for a negative speed.
    pub fn exceedance(&self, speed_m_s: f64) -> f64 {
        (-(speed_m_s.max(0.0) / self.scale_m_s).powf(self.shape)).exp()
    }

    /// Speed, m/s, that is not exceeded with probability `probability` (0 to below 1).
    ///
    /// # Errors
    /// [`EnvironmentError::OutOfRange`] outside 0 to 1 − 1e-15.
    pub fn quantile_m_s(&self, probability: f64) -> Result<f64, EnvironmentError> {
        in_range("probability", "", probability, 0.0, 1.0 - 1e-15)?;
        Ok(self.scale_m_s * (-(-probability).ln_1p()).powf(1.0 / self.shape))
    }

    /// The distribution where every speed is multiplied by `ratio` (0.1 to 10), as by a power-law profile between two
    /// heights.
    ///
    /// # Errors
    /// [`EnvironmentError::OutOfRange`] outside that range.
    pub fn scaled(&self, ratio: f64) -> Result<Self, EnvironmentError> {
        in_range("speed ratio", "", ratio, 0.1, 10.0)?;
        Self::new(self.shape, self.scale_m_s * ratio)
    }
}

/// Standard deviation over mean.
fn variation(shape: f64) -> f64 {
    let mean = libm::tgamma(1.0 + 1.0 / shape);
    (libm::tgamma(1.0 + 2.0 / shape) / (mean * mean) - 1.0).max(0.0).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn records_without_a_spread_are_refused() {
        for speeds in [&[][..], &[0.0, 0.0], &[5.0], &[5.0, 5.0, 5.0]] {
            assert_eq!(Weibull::from_speeds(speeds), Err(EnvironmentError::NoWeibullFit), "{speeds:?}");
        }
        assert!(Weibull::from_speeds(&[3.0, f64::NAN]).is_err());
        assert!(Weibull::from_moments(5.0, 0.0).is_err());
        assert!(Weibull::from_moments(5.0, f64::NAN).is_err());
    }

    proptest! {
        #[test]
        fn prop_quantile_inverts_exceedance(shape in 1.0..5.0f64, scale in 1.0..15.0f64, p in 0.001..0.999f64) {
            let wind = Weibull::new(shape, scale).unwrap();
            prop_assert!((1.0 - wind.exceedance(wind.quantile_m_s(p).unwrap()) - p).abs() < 1e-12);
        }

        #[test]
        fn prop_both_fits_recover_the_distribution(shape in 1.2..4.0f64, scale in 3.0..12.0f64) {
            let wind = Weibull::new(shape, scale).unwrap();
            let moments = Weibull::from_moments(wind.mean_m_s(), wind.deviation_m_s()).unwrap();
            prop_assert!((moments.shape() / shape - 1.0).abs() < 1e-9);
            let speeds: Vec<f64> =
                (0..2000).map(|i| wind.quantile_m_s((f64::from(i) + 0.5) / 2000.0).unwrap()).collect();
            let fitted = Weibull::from_speeds(&speeds).unwrap();
            prop_assert!((fitted.shape() / shape - 1.0).abs() < 5e-3);
            prop_assert!((fitted.scale_m_s() / scale - 1.0).abs() < 2e-3);
        }
    }
}
