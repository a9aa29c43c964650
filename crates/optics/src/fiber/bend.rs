//! Macro-bend loss: what a bend cannot hold is lost once, where the bend begins, not per metre nor per turn.

use beamstay_numerics::domain::in_range;

use crate::{OpticsError, silica};

use super::{CoreProfile, Fiber};

/// Share of the guided modes that a multimode fiber keeps round a bend of radius `bend_radius_m`.
///
/// `N_eff/N = 1 − (g+2)/(2gΔ) · (2a/R + (3/(2 n₂ k R))^(2/3))` (D. Gloge, Appl. Opt. 11, 2506, 1972), with
/// `Δ = NA²/(2 n₁²)`, `n₂² = n₁² − NA²`, step index as g → ∞. With equal power in all modes this is also the share of
/// the light. A launch that leaves the high modes dark loses far less; skew rays behave otherwise; further turns cost
/// only what mode mixing refills. A conservative screen, within about 50 % of measurement.
///
/// # Errors
/// [`OpticsError::BendGuidesNothing`] if no mode is kept; [`OpticsError::OutOfRange`] for a radius outside 0.1 mm to
/// 1000 km, the wavelength, or the fiber.
///
/// # Examples
/// ```
/// # use beamstay_optics::fiber::{Attenuation, CoreProfile, Fiber};
/// # let fiber = Fiber { core_diameter_m: 400e-6, cladding_diameter_m: 440e-6, numerical_aperture: 0.22,
/// #     profile: CoreProfile::Step, coating_temp_limit_k: 358.15,
/// #     attenuation: Attenuation::Measured { attenuation_db_per_km: 3.0 } };
/// use beamstay_optics::fiber::bend::kept_modes_ratio;
/// // 400 µm, NA 0.22 on a drum of 100 mm radius
/// assert!((kept_modes_ratio(&fiber, 0.1, 808e-9)? - 0.820_165_9).abs() < 1e-6);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn kept_modes_ratio(fiber: &Fiber, bend_radius_m: f64, wavelength_m: f64) -> Result<f64, OpticsError> {
    fiber.check()?;
    let core_index = silica::refractive_index(wavelength_m)?;
    let aperture_squared = fiber.numerical_aperture * fiber.numerical_aperture;
    let cladding_index = (core_index * core_index - aperture_squared).sqrt();
    let contrast = aperture_squared / (2.0 * core_index * core_index);
    let kept_ratio = gloge_kept_modes_ratio(
        fiber.profile,
        0.5 * fiber.core_diameter_m,
        cladding_index,
        contrast,
        bend_radius_m,
        wavelength_m,
    )?;
    if kept_ratio > 0.0 {
        return Ok(kept_ratio);
    }
    let limit_m = fiber.core_diameter_m * cladding_index * cladding_index / aperture_squared;
    Err(OpticsError::BendGuidesNothing { bend_radius_m, limit_m })
}

/// Gloge's share of kept modes for a core of any glass, as [`kept_modes_ratio`]; not above 1, and zero or less if the
/// bend holds nothing. `index_contrast` is Δ.
///
/// # Errors
/// [`OpticsError::OutOfRange`].
///
/// # Examples
/// ```
/// use beamstay_optics::fiber::{CoreProfile, bend::gloge_kept_modes_ratio};
/// // A graded core of 50 µm on a bend of 10 mm at 1300 nm keeps 42 % of its modes (textbook example).
/// let kept = gloge_kept_modes_ratio(CoreProfile::Graded { exponent: 2.0 }, 25e-6, 1.48, 0.01, 0.01, 1.3e-6)?;
/// assert!((kept - 0.424).abs() < 1e-3);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn gloge_kept_modes_ratio(
    profile: CoreProfile,
    core_radius_m: f64,
    cladding_index: f64,
    index_contrast: f64,
    bend_radius_m: f64,
    wavelength_m: f64,
) -> Result<f64, OpticsError> {
    in_range("core radius", "m", core_radius_m, 5e-7, 2.5e-3)?;
    in_range("cladding index", "", cladding_index, 1.0, 4.0)?;
    in_range("index contrast", "", index_contrast, 1e-6, 0.5)?;
    in_range("bend radius", "m", bend_radius_m, 1e-4, 1e6)?;
    silica::check_wavelength(wavelength_m)?;
    let profile_factor = match profile {
        CoreProfile::Step => 0.5,
        CoreProfile::Graded { exponent } => (exponent + 2.0) / (2.0 * exponent),
    };
    let wavenumber_per_m = 2.0 * std::f64::consts::PI / wavelength_m;
    let ray_term = 2.0 * core_radius_m / bend_radius_m;
    let wave_term = (1.5 / (cladding_index * wavenumber_per_m * bend_radius_m)).cbrt().powi(2);
    Ok(1.0 - profile_factor / index_contrast * (ray_term + wave_term))
}

/// Numerical aperture that is left to rays on the axis of a bent step-index core,
/// `√(n₁² − (n₂(1 + a/R))²)`; 0 if none.
///
/// # Errors
/// [`OpticsError::OutOfRange`].
///
/// # Examples
/// ```
/// # use beamstay_optics::fiber::{Attenuation, CoreProfile, Fiber};
/// # let fiber = Fiber { core_diameter_m: 400e-6, cladding_diameter_m: 440e-6, numerical_aperture: 0.22,
/// #     profile: CoreProfile::Step, coating_temp_limit_k: 358.15,
/// #     attenuation: Attenuation::Measured { attenuation_db_per_km: 3.0 } };
/// use beamstay_optics::fiber::bend::bent_numerical_aperture;
/// assert!((bent_numerical_aperture(&fiber, 0.1, 808e-9)? - 0.200_346).abs() < 1e-6);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn bent_numerical_aperture(
    fiber: &Fiber,
    bend_radius_m: f64,
    wavelength_m: f64,
) -> Result<f64, OpticsError> {
    fiber.check()?;
    in_range("bend radius", "m", bend_radius_m, 1e-4, 1e6)?;
    let core_index = silica::refractive_index(wavelength_m)?;
    let squared = core_index * core_index;
    let stretch = 1.0 + 0.5 * fiber.core_diameter_m / bend_radius_m;
    let cladding_squared = squared - fiber.numerical_aperture * fiber.numerical_aperture;
    Ok((squared - cladding_squared * stretch * stretch).max(0.0).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::fiber;

    #[test]
    fn a_tight_bend_guides_nothing() {
        assert!(kept_modes_ratio(&fiber(), 0.02, 808e-9).is_ok());
        let error = kept_modes_ratio(&fiber(), 0.017, 808e-9).unwrap_err();
        assert!(matches!(error, OpticsError::BendGuidesNothing { .. }), "{error}");
    }

    #[test]
    fn a_straight_fiber_keeps_all() {
        assert!((kept_modes_ratio(&fiber(), 1e6, 808e-9).unwrap() - 1.0).abs() < 1e-3);
        assert!((bent_numerical_aperture(&fiber(), 1e6, 808e-9).unwrap() - 0.22).abs() < 1e-6);
    }

    #[test]
    fn a_wider_bend_keeps_more() {
        let mut last = 0.0;
        for radius_m in [0.02, 0.03, 0.05, 0.1, 0.3, 1.0, 10.0] {
            let kept = kept_modes_ratio(&fiber(), radius_m, 808e-9).unwrap();
            assert!(kept > last && kept < 1.0, "{radius_m}");
            last = kept;
        }
    }

    #[test]
    fn a_graded_core_of_high_exponent_is_a_step() {
        let at = |profile| gloge_kept_modes_ratio(profile, 2e-4, 1.4364306, 0.0114598, 0.1, 808e-9).unwrap();
        let (step, graded) = (at(CoreProfile::Step), at(CoreProfile::Graded { exponent: 20.0 }));
        assert!((1.0 - graded) / (1.0 - step) < 1.11 && graded < step);
    }

    #[test]
    fn arguments_out_of_range_are_refused() {
        for radius_m in [0.0, -1.0, 9e-5, f64::NAN] {
            assert!(kept_modes_ratio(&fiber(), radius_m, 808e-9).is_err(), "{radius_m}");
            assert!(bent_numerical_aperture(&fiber(), radius_m, 808e-9).is_err(), "{radius_m}");
        }
        assert!(kept_modes_ratio(&fiber(), 0.1, 100e-9).is_err());
        assert!(gloge_kept_modes_ratio(CoreProfile::Step, 1.0, 1.44, 0.01, 0.1, 808e-9).is_err());
        assert!(gloge_kept_modes_ratio(CoreProfile::Step, 1e-4, 0.9, 0.01, 0.1, 808e-9).is_err());
        assert!(gloge_kept_modes_ratio(CoreProfile::Step, 1e-4, 1.44, 0.0, 0.1, 808e-9).is_err());
    }
}
