//! Gusts: the peak speed that rides on a mean wind.

use std::f64::consts::PI;

use beamstay_numerics::domain::in_range;

use crate::error::EnvironmentError;

/// Metres per foot (exact).
const METRE_PER_FOOT: f64 = 0.3048;
/// Height of the reference wind of the Dryden model: 20 ft, m.
const DRYDEN_REFERENCE_HEIGHT_M: f64 = 20.0 * METRE_PER_FOOT;
/// Duration of the extreme operating gust, s.
pub const OPERATING_GUST_DURATION_S: f64 = 10.5;

/// How a peak speed follows from a mean speed.
///
/// # Examples
/// ```
/// use beamstay_environment::gust::GustModel;
/// let gust = GustModel::Factor { ratio: 1.5 };
/// assert_eq!(gust.peak_speed_m_s(8.0, 10.0).unwrap(), 12.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum GustModel {
    /// Peak = ratio × mean at every height. Common practice for a 3 s gust on a 10-minute mean at 10 m over open land:
    /// 1.4 to 1.6.
    Factor {
        /// Gust factor, 1 to 5.
        ratio: f64,
    },
    /// Extreme operating gust of IEC 61400-1 edition 3: see [`OperatingGust`].
    ExtremeOperating {
        /// Reference speed of the wind class, m/s: 50, 42.5 or 37.5 for classes I, II and III.
        reference_speed_m_s: f64,
        /// Turbulence intensity of the class at 15 m/s: 0.16, 0.14 or 0.12 for A, B and C.
        turbulence_intensity_ratio: f64,
        /// Width over which the gust is averaged, m: rotor diameter of a turbine, span of the vehicle here.
        span_m: f64,
    },
    /// Dryden turbulence of MIL-F-8785C at low altitude: mean + deviations × σ along the wind.
    Dryden {
        /// Exponent of the power law that carries the mean to the reference height of 20 ft, 0 to 1; 0 takes the mean
        /// itself, which is the safe side above 20 ft.
        shear_exponent: f64,
        /// How many standard deviations count as the peak; 3 is usual.
        deviations_ratio: f64,
    },
}

impl GustModel {
    /// Checks the parameters.
    ///
    /// # Errors
    /// [`EnvironmentError::OutOfRange`]: gust factor 1 to 5; reference speed 20 to 80 m/s, intensity 0.01 to 0.5, span 0.01
    /// to 300 m; exponent 0 to 1, deviations 0 to 6.
    pub fn check(&self) -> Result<(), EnvironmentError> {
        match *self {
            Self::Factor { ratio } => {
                in_range("gust factor", "", ratio, 1.0, 5.0)?;
            }
            Self::ExtremeOperating { reference_speed_m_s, turbulence_intensity_ratio, span_m } => {
                in_range("reference speed of the wind class", "m/s", reference_speed_m_s, 20.0, 80.0)?;
                in_range("turbulence intensity", "", turbulence_intensity_ratio, 0.01, 0.5)?;
                in_range("span", "m", span_m, 0.01, 300.0)?;
            }
            Self::Dryden { shear_exponent, deviations_ratio } => {
                in_range("shear exponent", "", shear_exponent, 0.0, 1.0)?;
                in_range("number of standard deviations", "", deviations_ratio, 0.0, 6.0)?;
            }
        }
        Ok(())
    }

    /// Peak speed, m/s, on a mean of `mean_speed_m_s` (0 to 100) at `height_m` (0.1 to 11500) above the ground.
    ///
    /// # Errors
    /// [`EnvironmentError::OutOfRange`] for these, for a parameter ([`GustModel::check`]), and for a mean above the
    /// one-year extreme of the wind class.
    ///
    /// # Examples
    /// ```
    /// use beamstay_environment::gust::GustModel;
    /// let gust = GustModel::ExtremeOperating {
    ///     reference_speed_m_s: 50.0, turbulence_intensity_ratio: 0.16, span_m: 1.0,
    /// };
    /// assert!((gust.peak_speed_m_s(10.0, 100.0).unwrap() - 15.10627).abs() < 1e-5);
    /// ```
    pub fn peak_speed_m_s(&self, mean_speed_m_s: f64, height_m: f64) -> Result<f64, EnvironmentError> {
        self.check()?;
        in_range("mean wind", "m/s", mean_speed_m_s, 0.0, 100.0)?;
        in_range("height", "m", height_m, 0.1, 11_500.0)?;
        match *self {
            Self::Factor { ratio } => Ok(ratio * mean_speed_m_s),
            Self::ExtremeOperating { reference_speed_m_s, turbulence_intensity_ratio, span_m } => {
                let gust = OperatingGust::new(
                    mean_speed_m_s,
                    height_m,
                    reference_speed_m_s,
                    turbulence_intensity_ratio,
                    span_m,
                )?;
                Ok(gust.peak_speed_m_s())
            }
            Self::Dryden { shear_exponent, deviations_ratio } => {
                let at_20_ft_m_s =
                    mean_speed_m_s * (DRYDEN_REFERENCE_HEIGHT_M / height_m).powf(shear_exponent);
                let turbulence = dryden(at_20_ft_m_s, height_m)?;
                Ok(mean_speed_m_s + deviations_ratio * turbulence.deviation_along_m_s)
            }
        }
    }
}

/// Extreme operating gust of IEC 61400-1 edition 3 (2005), section 6.3.2.2, with its time history: a dip, a rise, a dip.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct OperatingGust {
    /// Mean speed, m/s.
    pub mean_speed_m_s: f64,
    /// Standard deviation of the normal turbulence model, m/s.
    pub deviation_m_s: f64,
    /// Extreme speed with a recurrence of one year, m/s.
    pub one_year_extreme_m_s: f64,
    /// Magnitude V_gust of the standard, m/s. The peak lies 0.74 of it above the mean.
    pub magnitude_m_s: f64,
}

impl OperatingGust {
    /// The gust on `mean_speed_m_s` at `height_m`, taken as hub height; parameters as in
    /// [`GustModel::ExtremeOperating`].
    ///
    /// # Errors
    /// [`EnvironmentError::OutOfRange`] for a parameter outside its range or a mean above the one-year extreme,
    /// 1.12 × reference speed.
    ///
    /// # Examples
    /// ```
    /// use beamstay_environment::gust::OperatingGust;
    /// let gust = OperatingGust::new(12.0, 50.0, 42.5, 0.14, 1.0).unwrap();
    /// assert!((gust.magnitude_m_s - 6.72598).abs() < 1e-5);
    /// assert!((gust.speed_m_s(5.25) - gust.peak_speed_m_s()).abs() < 1e-12);
    /// ```
    pub fn new(
        mean_speed_m_s: f64,
        height_m: f64,
        reference_speed_m_s: f64,
        turbulence_intensity_ratio: f64,
        span_m: f64,
    ) -> Result<Self, EnvironmentError> {
        GustModel::ExtremeOperating { reference_speed_m_s, turbulence_intensity_ratio, span_m }.check()?;
        in_range("height", "m", height_m, 0.1, 11_500.0)?;
        let one_year_extreme_m_s = 0.8 * 1.4 * reference_speed_m_s;
        in_range("mean wind of this wind class", "m/s", mean_speed_m_s, 0.0, one_year_extreme_m_s)?;
        let deviation_m_s = turbulence_intensity_ratio * (0.75 * mean_speed_m_s + 5.6);
        let length_m = 0.7 * height_m.min(60.0);
        let from_turbulence = 3.3 * deviation_m_s / (1.0 + 0.1 * span_m / length_m);
        let from_extreme = 1.35 * (one_year_extreme_m_s - mean_speed_m_s);
        let magnitude_m_s = from_turbulence.min(from_extreme);
        Ok(Self { mean_speed_m_s, deviation_m_s, one_year_extreme_m_s, magnitude_m_s })
    }

    /// Speed, m/s, at `time_s` after the gust began; the mean before it and after 10.5 s.
    pub fn speed_m_s(&self, time_s: f64) -> f64 {
        let phase = (time_s / OPERATING_GUST_DURATION_S).clamp(0.0, 1.0) * PI;
        self.mean_speed_m_s - 0.37 * self.magnitude_m_s * (3.0 * phase).sin() * (1.0 - (2.0 * phase).cos())
    }

    /// Highest speed of the gust, m/s, reached half-way.
    pub fn peak_speed_m_s(&self) -> f64 {
        self.mean_speed_m_s + 0.74 * self.magnitude_m_s
    }
}

/// Intensities and scale lengths of Dryden turbulence at one height.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct DrydenTurbulence {
    /// Standard deviation along the wind and across it, m/s.
    pub deviation_along_m_s: f64,
    /// Standard deviation of the vertical speed, m/s.
    pub deviation_vertical_m_s: f64,
    /// Scale length along the wind and across it, m.
    pub length_along_m: f64,
    /// Scale length of the vertical speed, m (equal to the height; MIL-HDBK-1797 halves it).
    pub length_vertical_m: f64,
}

/// Dryden turbulence at low altitude (MIL-F-8785C, 1980, section 3.7.3.4) for a mean wind at 20 ft of
/// `speed_at_20_ft_m_s` (0 to 100; light 7.72, moderate 15.43, severe 23.15).
///
/// σ_w = 0.1 W20, σ_u = σ_w/(0.177 + 0.000823 h)^0.4, L_u = h/(0.177 + 0.000823 h)^1.2, L_w = h, h in feet. `height_m`
/// is held at the ends of 10 to 1000 ft (3.05 to 304.8 m), where the formulas hold.
///
/// # Errors
/// [`EnvironmentError::OutOfRange`] for a speed outside 0 to 1000 m/s or a height that is not a number.
///
/// # Examples
/// ```
/// let turbulence = beamstay_environment::gust::dryden(7.7167, 304.8).unwrap();
/// assert!((turbulence.deviation_along_m_s - 0.77167).abs() < 1e-4);
/// ```
pub fn dryden(speed_at_20_ft_m_s: f64, height_m: f64) -> Result<DrydenTurbulence, EnvironmentError> {
    in_range("wind at 20 ft", "m/s", speed_at_20_ft_m_s, 0.0, 1_000.0)?;
    in_range("height", "m", height_m, 0.0, 11_500.0)?;
    let height_ft = (height_m / METRE_PER_FOOT).clamp(10.0, 1_000.0);
    let base = 0.177 + 0.000_823 * height_ft;
    let deviation_vertical_m_s = 0.1 * speed_at_20_ft_m_s;
    Ok(DrydenTurbulence {
        deviation_along_m_s: deviation_vertical_m_s / base.powf(0.4),
        deviation_vertical_m_s,
        length_along_m: METRE_PER_FOOT * height_ft / base.powf(1.2),
        length_vertical_m: METRE_PER_FOOT * height_ft,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn beyond_the_class_there_is_no_operating_gust() {
        let gust = GustModel::ExtremeOperating {
            reference_speed_m_s: 37.5,
            turbulence_intensity_ratio: 0.12,
            span_m: 1.0,
        };
        assert!((gust.peak_speed_m_s(41.9, 30.0).unwrap() - 42.0).abs() < 1e-3);
        assert!(gust.peak_speed_m_s(42.001, 30.0).is_err());
    }

    #[test]
    fn a_factor_below_one_is_refused() {
        assert!(GustModel::Factor { ratio: 0.99 }.peak_speed_m_s(5.0, 10.0).is_err());
        assert!(GustModel::Factor { ratio: 1.5 }.peak_speed_m_s(f64::NAN, 10.0).is_err());
    }

    fn models() -> impl Strategy<Value = GustModel> {
        prop_oneof![
            (1.0..3.0f64).prop_map(|ratio| GustModel::Factor { ratio }),
            (0.1..0.2f64, 0.1..5.0f64).prop_map(|(turbulence_intensity_ratio, span_m)| {
                GustModel::ExtremeOperating { reference_speed_m_s: 50.0, turbulence_intensity_ratio, span_m }
            }),
            (0.0..0.4f64, 0.0..4.0f64).prop_map(|(shear_exponent, deviations_ratio)| GustModel::Dryden {
                shear_exponent,
                deviations_ratio
            }),
        ]
    }

    proptest! {
        #[test]
        fn prop_a_gust_never_falls_below_the_mean_and_rises_with_it(
            model in models(), mean in 0.0..50.0f64, step in 0.01..5.0f64, height in 1.0..400.0f64,
        ) {
            let peak = model.peak_speed_m_s(mean, height).unwrap();
            prop_assert!(peak >= mean);
            prop_assert!(model.peak_speed_m_s(mean + step, height).unwrap() >= peak - 1e-12);
        }

        #[test]
        fn prop_the_time_history_stays_under_its_peak(mean in 0.0..40.0f64, time in -1.0..12.0f64) {
            let gust = OperatingGust::new(mean, 50.0, 50.0, 0.16, 1.0).unwrap();
            prop_assert!(gust.speed_m_s(time) <= gust.peak_speed_m_s() + 1e-12);
        }
    }
}
