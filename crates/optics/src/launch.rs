//! Launch into a fiber: source spot and cone, core and numerical aperture in; the transmitted ratio out.

use std::f64::consts::PI;

use beamstay_numerics::domain::in_range;

use crate::{
    OpticsError,
    fiber::Fiber,
    silica::{check_wavelength, facet_reflectance_ratio},
};

/// How the laser meets the core, and how its first facet reflects.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Launch {
    /// Light at the facet.
    pub source: Source,
    /// The facet that it enters through.
    pub facet: Facet,
}

/// Light at the input facet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Source {
    /// Even spot and even cone: another fiber, or the image of one.
    Uniform {
        /// Diameter of the spot, m.
        spot_diameter_m: f64,
        /// Sine of the half angle of the cone.
        numerical_aperture: f64,
    },
    /// Gaussian in place and in angle, focused on the facet.
    Gaussian {
        /// Diameter of the spot where the intensity is 1/e² of its peak, m.
        spot_diameter_m: f64,
        /// Beam quality M²; the 1/e² half angle follows as `M² λ/(π w)`.
        beam_quality_m2_ratio: f64,
    },
    /// Coupling as measured, the facet not included.
    Measured {
        /// Power in the core per power of the source.
        coupling_ratio: f64,
    },
}

/// Reflection at one end of the fiber.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Facet {
    /// Bare silica against air: Fresnel's reflectance, 3.3 to 3.5 %.
    Bare,
    /// Coated, or index-matched.
    Coated {
        /// Reflected power per incident power, 0 to 1.
        reflectance_ratio: f64,
    },
}

impl Facet {
    /// Whether the reflectance is 0 to 1.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn check(&self) -> Result<(), OpticsError> {
        if let Self::Coated { reflectance_ratio } = self {
            in_range("facet reflectance", "", *reflectance_ratio, 0.0, 1.0)?;
        }
        Ok(())
    }

    /// Power behind the facet per power before it, normal incidence.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] for the wavelength (0.21 to 3.71 µm) or the reflectance.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::launch::Facet;
    /// assert!((Facet::Bare.transmission_ratio(808e-9)? - 0.965_874_2).abs() < 1e-7);
    /// assert_eq!(Facet::Coated { reflectance_ratio: 0.25 }.transmission_ratio(808e-9)?, 0.75);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn transmission_ratio(&self, wavelength_m: f64) -> Result<f64, OpticsError> {
        self.check()?;
        match self {
            Self::Bare => Ok(1.0 - facet_reflectance_ratio(wavelength_m)?),
            Self::Coated { reflectance_ratio } => Ok(1.0 - reflectance_ratio),
        }
    }
}

impl Launch {
    /// Whether every figure is finite and in range.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn check(&self) -> Result<(), OpticsError> {
        self.facet.check()?;
        self.source.check()
    }

    /// Power inside the core per power of the source: match times facet.
    ///
    /// # Errors
    /// As [`Source::match_ratio`].
    pub fn transmission_ratio(&self, fiber: &Fiber, wavelength_m: f64) -> Result<f64, OpticsError> {
        Ok(self.source.match_ratio(fiber, wavelength_m)? * self.facet.transmission_ratio(wavelength_m)?)
    }
}

impl Source {
    /// Whether every figure is finite and in range.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn check(&self) -> Result<(), OpticsError> {
        match *self {
            Self::Uniform { spot_diameter_m, numerical_aperture } => {
                in_range("spot diameter", "m", spot_diameter_m, 1e-7, 0.1)?;
                in_range("numerical aperture of the source", "", numerical_aperture, 1e-4, 1.0)?;
            }
            Self::Gaussian { spot_diameter_m, beam_quality_m2_ratio } => {
                in_range("spot diameter", "m", spot_diameter_m, 1e-7, 0.1)?;
                in_range("beam quality M²", "", beam_quality_m2_ratio, 1.0, 1e5)?;
            }
            Self::Measured { coupling_ratio } => {
                in_range("coupling", "", coupling_ratio, 1e-9, 1.0)?;
            }
        }
        Ok(())
    }

    /// Power in the core per power of the source, reflection left out.
    ///
    /// Uniform: `min(1, (d_f/d_s)²) · min(1, (NA_f/NA_s)²)`. Gaussian: `(1 − exp(−2a²/w²))(1 − exp(−2NA_f²/θ²))`,
    /// `θ = M² λ/(π w)`. Both cut in place and angle apart, which is exact for a step-index core lit evenly across
    /// its spot; a graded-index core takes less at its rim. Into a single-mode fiber a Gaussian couples by the
    /// overlap of a Gaussian Schell-model beam with the mode, `4w²w_f²/((w² + w_f²)(w² + M⁴w_f²))`.
    ///
    /// # Errors
    /// [`OpticsError::SingleModeLaunch`] for a uniform source into a single-mode fiber;
    /// [`OpticsError::OutOfRange`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::{fiber::{Attenuation, CoreProfile, Fiber}, launch::Source};
    /// let fiber = Fiber {
    ///     core_diameter_m: 200e-6,
    ///     cladding_diameter_m: 220e-6,
    ///     numerical_aperture: 0.22,
    ///     profile: CoreProfile::Step,
    ///     attenuation: Attenuation::Measured { attenuation_db_per_km: 3.0 },
    ///     coating_temp_limit_k: 358.15,
    /// };
    /// let source = Source::Uniform { spot_diameter_m: 250e-6, numerical_aperture: 0.25 };
    /// assert!((source.match_ratio(&fiber, 808e-9)? - 0.495_616).abs() < 1e-12);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn match_ratio(&self, fiber: &Fiber, wavelength_m: f64) -> Result<f64, OpticsError> {
        self.check()?;
        check_wavelength(wavelength_m)?;
        let aperture = fiber.numerical_aperture;
        match *self {
            Self::Measured { coupling_ratio } => Ok(coupling_ratio),
            Self::Uniform { .. } if fiber.is_single_mode(wavelength_m)? => {
                Err(OpticsError::SingleModeLaunch { v_number: fiber.v_number(wavelength_m)? })
            }
            Self::Uniform { spot_diameter_m, numerical_aperture } => {
                Ok(share_below_one(fiber.core_diameter_m / spot_diameter_m)
                    * share_below_one(aperture / numerical_aperture))
            }
            Self::Gaussian { spot_diameter_m, beam_quality_m2_ratio } => {
                let radius_m = 0.5 * spot_diameter_m;
                if fiber.is_single_mode(wavelength_m)? {
                    let mode_radius_m = fiber.mode_field_radius_m(wavelength_m)?;
                    return Ok(mode_overlap_ratio(radius_m, beam_quality_m2_ratio, mode_radius_m));
                }
                let half_angle_sine = beam_quality_m2_ratio * wavelength_m / (PI * radius_m);
                Ok(gaussian_share(0.5 * fiber.core_diameter_m / radius_m)
                    * gaussian_share(aperture / half_angle_sine))
            }
        }
    }

    /// Largest intensity on the facet, W/m², with `power_w` in the source: `4P/(π d²)` for an even spot,
    /// `8P/(π d²)` for a Gaussian; for a measured coupling twice the core's mean.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn peak_intensity_w_per_m2(&self, fiber: &Fiber, power_w: f64) -> Result<f64, OpticsError> {
        self.check()?;
        fiber.check()?;
        in_range("power", "W", power_w, 0.0, 1e9)?;
        let (diameter_m, peak_to_mean) = match *self {
            Self::Uniform { spot_diameter_m, .. } => (spot_diameter_m, 1.0),
            Self::Gaussian { spot_diameter_m, .. } => (spot_diameter_m, 2.0),
            Self::Measured { .. } => (fiber.core_diameter_m, 2.0),
        };
        Ok(peak_to_mean * 4.0 * power_w / (PI * diameter_m * diameter_m))
    }
}

/// `min(1, ratio²)`.
fn share_below_one(ratio: f64) -> f64 {
    (ratio * ratio).min(1.0)
}

/// Share of a Gaussian inside `radius_ratio` of its 1/e² radius.
fn gaussian_share(radius_ratio: f64) -> f64 {
    -(-2.0 * radius_ratio * radius_ratio).exp_m1()
}

/// Power coupling of a Gaussian Schell-model beam of quality M² (its intensity radius `w`, its coherence length from
/// `M² = √(1 + w²/δ²)`) to a coaxial Gaussian mode, both at their waists: the overlap of its cross-spectral density
/// with the mode. For M² = 1 it is the overlap of two Gaussian fields.
fn mode_overlap_ratio(beam_radius_m: f64, beam_quality_m2_ratio: f64, mode_radius_m: f64) -> f64 {
    let (beam, mode) = (beam_radius_m * beam_radius_m, mode_radius_m * mode_radius_m);
    4.0 * beam * mode / ((beam + mode) * (beam + beam_quality_m2_ratio * beam_quality_m2_ratio * mode))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{fiber, single_mode_fiber};

    const WAVELENGTH_M: f64 = 808e-9;

    #[test]
    fn a_source_that_fits_loses_nothing() {
        let fits = Source::Uniform { spot_diameter_m: 400e-6, numerical_aperture: 0.22 };
        assert_eq!(fits.match_ratio(&fiber(), WAVELENGTH_M), Ok(1.0));
        let small = Source::Uniform { spot_diameter_m: 100e-6, numerical_aperture: 0.1 };
        assert_eq!(small.match_ratio(&fiber(), WAVELENGTH_M), Ok(1.0));
    }

    #[test]
    fn a_worse_beam_couples_less() {
        let mut last = 1.0;
        for beam_quality_m2_ratio in [50.0, 100.0, 200.0, 400.0] {
            let source = Source::Gaussian { spot_diameter_m: 300e-6, beam_quality_m2_ratio };
            let ratio = source.match_ratio(&fiber(), WAVELENGTH_M).unwrap();
            assert!(ratio < last, "{beam_quality_m2_ratio}");
            last = ratio;
        }
    }

    #[test]
    fn one_mode_takes_a_matched_gaussian_whole_and_no_uniform_source() {
        let fiber = single_mode_fiber();
        let spot_diameter_m = 2.0 * fiber.mode_field_radius_m(1.55e-6).unwrap();
        let matched = Source::Gaussian { spot_diameter_m, beam_quality_m2_ratio: 1.0 };
        assert!((matched.match_ratio(&fiber, 1.55e-6).unwrap() - 1.0).abs() < 1e-14);
        let uniform = Source::Uniform { spot_diameter_m, numerical_aperture: 0.1 };
        assert!(matches!(uniform.match_ratio(&fiber, 1.55e-6), Err(OpticsError::SingleModeLaunch { .. })));
        let measured = Source::Measured { coupling_ratio: 0.8 };
        assert_eq!(measured.match_ratio(&fiber, 1.55e-6), Ok(0.8));
    }

    #[test]
    fn each_figure_out_of_range_is_refused() {
        for source in [
            Source::Uniform { spot_diameter_m: 0.0, numerical_aperture: 0.2 },
            Source::Uniform { spot_diameter_m: 1e-4, numerical_aperture: 1.1 },
            Source::Gaussian { spot_diameter_m: f64::NAN, beam_quality_m2_ratio: 2.0 },
            Source::Gaussian { spot_diameter_m: 1e-4, beam_quality_m2_ratio: 0.9 },
            Source::Measured { coupling_ratio: 1.1 },
        ] {
            assert!(source.match_ratio(&fiber(), WAVELENGTH_M).is_err(), "{source:?}");
            assert!(source.peak_intensity_w_per_m2(&fiber(), 100.0).is_err(), "{source:?}");
        }
        for reflectance_ratio in [-0.1, 1.1, f64::NAN] {
            assert!(Facet::Coated { reflectance_ratio }.transmission_ratio(WAVELENGTH_M).is_err());
        }
    }

    #[test]
    fn a_gaussian_is_twice_as_bright_in_its_middle() {
        let spot_diameter_m = 200e-6;
        let even = Source::Uniform { spot_diameter_m, numerical_aperture: 0.2 };
        let gaussian = Source::Gaussian { spot_diameter_m, beam_quality_m2_ratio: 50.0 };
        let at = |source: Source| source.peak_intensity_w_per_m2(&fiber(), 100.0).unwrap();
        assert!((at(even) - 100.0 / (PI * 1e-8)).abs() < 1.0);
        assert!((at(gaussian) / at(even) - 2.0).abs() < 1e-12);
        let measured = Source::Measured { coupling_ratio: 0.9 };
        assert!((at(measured) / (100.0 / fiber().core_area_m2()) - 2.0).abs() < 1e-12);
    }

    #[test]
    fn launch_is_match_times_facet() {
        let launch = Launch { source: Source::Measured { coupling_ratio: 0.8 }, facet: Facet::Bare };
        let expected = 0.8 * (1.0 - facet_reflectance_ratio(WAVELENGTH_M).unwrap());
        assert!((launch.transmission_ratio(&fiber(), WAVELENGTH_M).unwrap() - expected).abs() < 1e-15);
    }
}
