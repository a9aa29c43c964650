//! Distributions of an uncertain input, drawn by inversion: a number between 0 and 1 in, a value out. One draw takes
//! exactly one number, so that the evenness of a low-discrepancy sequence is kept.

use crate::{
    domain::{OutOfRange, in_range},
    normal,
};

/// A distribution of one number, in the unit of that number; [`Self::check`] first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Distribution {
    /// Normal.
    Normal {
        /// Mean.
        mean: f64,
        /// Standard deviation, above 0.
        deviation: f64,
    },
    /// The same density from one end to the other.
    Uniform {
        /// Lower end.
        low: f64,
        /// Upper end, above the lower.
        high: f64,
    },
    /// Rising in a straight line to the mode, falling in another behind it.
    Triangular {
        /// Lower end.
        low: f64,
        /// Most likely value, on or between the ends.
        mode: f64,
        /// Upper end, above the lower.
        high: f64,
    },
    /// The logarithm is normal.
    Lognormal {
        /// Median, above 0.
        median: f64,
        /// Standard deviation of the natural logarithm, above 0 and at most 10.
        log_deviation: f64,
    },
    /// P(X > x) = exp(−(x / scale)^shape), x ≥ 0.
    Weibull {
        /// Scale, above 0: the value that 36.8 % exceed.
        scale: f64,
        /// Shape, 0.1 to 100.
        shape: f64,
    },
}

/// Smallest spread and scale, so that a division by it stays finite.
const TINY: f64 = 1e-300;
/// Largest number of a distribution.
const HUGE: f64 = 1e300;

impl Distribution {
    /// Checks the numbers against the ranges that stand at each.
    ///
    /// # Errors
    /// [`OutOfRange`], which names the first that is outside.
    pub fn check(&self) -> Result<(), OutOfRange> {
        let any = |name, value| in_range(name, "", value, -HUGE, HUGE);
        let positive = |name, value, most| in_range(name, "", value, TINY, most);
        match *self {
            Self::Normal { mean, deviation } => {
                any("mean", mean)?;
                positive("standard deviation", deviation, HUGE)?;
            }
            Self::Uniform { low, high } => ends(low, high)?,
            Self::Triangular { low, mode, high } => {
                ends(low, high)?;
                in_range("mode", "", mode, low, high)?;
            }
            Self::Lognormal { median, log_deviation } => {
                positive("median", median, HUGE)?;
                positive("standard deviation of the logarithm", log_deviation, 10.0)?;
            }
            Self::Weibull { scale, shape } => {
                positive("scale", scale, HUGE)?;
                in_range("shape", "", shape, 0.1, 100.0)?;
            }
        }
        Ok(())
    }

    /// The value that is not exceeded with `probability`, 0 to 1, in the unit of the distribution's own parameters; closed forms, the
    /// normal by [`crate::normal::quantile`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_numerics::distribution::Distribution;
    /// let guess = Distribution::Triangular { low: 0.0, mode: 1.0, high: 4.0 };
    /// assert_eq!(guess.quantile(0.25), 1.0);
    /// assert_eq!(guess.quantile(1.0), 4.0);
    /// let wind = Distribution::Weibull { scale: 8.0, shape: 2.0 };
    /// assert!((wind.quantile(0.99) - 17.167_73).abs() < 1e-5);
    /// ```
    pub fn quantile(&self, probability: f64) -> f64 {
        let p = probability;
        match *self {
            Self::Normal { mean, deviation } => mean + deviation * normal::quantile(p),
            Self::Uniform { low, high } => low + p * (high - low),
            Self::Triangular { low, mode, high } => {
                let width = high - low;
                if p * width <= mode - low {
                    low + (p * width * (mode - low)).sqrt()
                } else {
                    high - ((1.0 - p) * width * (high - mode)).sqrt()
                }
            }
            Self::Lognormal { median, log_deviation } => median * (log_deviation * normal::quantile(p)).exp(),
            Self::Weibull { scale, shape } => scale * (-(-p).ln_1p()).powf(1.0 / shape),
        }
    }

    /// Probability that `x`, in the unit of the distribution's own parameters, is not exceeded: closed forms, by definition.
    ///
    /// # Examples
    /// ```
    /// use beamstay_numerics::distribution::Distribution;
    /// assert_eq!(Distribution::Uniform { low: 2.0, high: 4.0 }.cumulative(2.5), 0.25);
    /// ```
    pub fn cumulative(&self, x: f64) -> f64 {
        match *self {
            Self::Normal { mean, deviation } => normal::cumulative((x - mean) / deviation),
            Self::Uniform { low, high } => ((x - low) / (high - low)).clamp(0.0, 1.0),
            Self::Triangular { low, mode, high } => {
                if x <= low {
                    0.0
                } else if x >= high {
                    1.0
                } else if x <= mode {
                    (x - low) * (x - low) / ((high - low) * (mode - low))
                } else {
                    1.0 - (high - x) * (high - x) / ((high - low) * (high - mode))
                }
            }
            Self::Lognormal { median, log_deviation } => {
                if x <= 0.0 {
                    0.0
                } else {
                    normal::cumulative((x / median).ln() / log_deviation)
                }
            }
            Self::Weibull { scale, shape } => {
                if x <= 0.0 {
                    0.0
                } else {
                    -(-(x / scale).powf(shape)).exp_m1()
                }
            }
        }
    }
}

fn ends(low: f64, high: f64) -> Result<(), OutOfRange> {
    in_range("lower end", "", low, -HUGE, HUGE)?;
    in_range("upper end", "", high, low, HUGE)?;
    in_range("distance of the ends", "", high - low, TINY, 2.0 * HUGE)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn kinds() -> impl Strategy<Value = Distribution> {
        (0..5, 0.1..5.0_f64, 0.1..5.0_f64, 0.0..=1.0_f64).prop_map(|(kind, a, b, part)| match kind {
            0 => Distribution::Normal { mean: a - 2.0, deviation: b },
            1 => Distribution::Uniform { low: -a, high: b },
            2 => Distribution::Triangular { low: -a, mode: (part * (a + b) - a).clamp(-a, b), high: b },
            3 => Distribution::Lognormal { median: a, log_deviation: b },
            _ => Distribution::Weibull { scale: a, shape: b },
        })
    }

    #[test]
    fn senseless_numbers_are_refused() {
        for wrong in [
            Distribution::Normal { mean: 0.0, deviation: 0.0 },
            Distribution::Normal { mean: f64::NAN, deviation: 1.0 },
            Distribution::Uniform { low: 1.0, high: 1.0 },
            Distribution::Uniform { low: 2.0, high: 1.0 },
            Distribution::Triangular { low: 0.0, mode: 1.1, high: 1.0 },
            Distribution::Lognormal { median: 0.0, log_deviation: 0.1 },
            Distribution::Lognormal { median: 1.0, log_deviation: 11.0 },
            Distribution::Weibull { scale: 8.0, shape: 0.0 },
        ] {
            assert!(wrong.check().is_err(), "{wrong:?}");
        }
    }

    #[test]
    fn a_mode_on_an_end_is_allowed() {
        for mode in [0.0, 1.0] {
            let ramp = Distribution::Triangular { low: 0.0, mode, high: 1.0 };
            assert!(ramp.check().is_ok());
            for p in [0.0, 0.3, 1.0] {
                assert!((ramp.cumulative(ramp.quantile(p)) - p).abs() < 1e-14);
            }
        }
    }

    proptest! {
        #[test]
        fn prop_quantile_inverts_the_cumulative(kind in kinds(), p in 1e-6..0.999_999_f64) {
            prop_assert!(kind.check().is_ok());
            prop_assert!((kind.cumulative(kind.quantile(p)) - p).abs() < 1e-9);
        }

        #[test]
        fn prop_quantile_rises(kind in kinds(), p in 1e-6..0.999_f64) {
            prop_assert!(kind.quantile(p + 0.001) >= kind.quantile(p));
        }
    }
}
