//! Power limits of a fiber: stimulated scattering, intensity in the core and on the facet.

use beamstay_numerics::{constants::SPEED_OF_LIGHT_M_S, domain::in_range};

use crate::{OpticsError, decibel, silica::check_wavelength};

use super::{Fiber, check_length};

/// Raman gain of silica at 1 µm, m/W; it falls as 1/λ (G. P. Agrawal, *Nonlinear Fiber Optics*).
pub const RAMAN_GAIN_AT_1_UM_M_PER_W: f64 = 1e-13;

/// Brillouin gain of silica, m/W (G. P. Agrawal, *Nonlinear Fiber Optics*).
pub const BRILLOUIN_GAIN_M_PER_W: f64 = 5e-11;

/// Width of the Brillouin gain of silica, Hz: 50 MHz at every wavelength. A broader laser line raises the threshold in
/// proportion. Bulk silica has `38.4 MHz/(λ/µm)²` (from memory): 59 MHz at 808 nm, 34 MHz at 1064 nm, 16 MHz at 1550 nm.
pub const BRILLOUIN_WIDTH_HZ: f64 = 50e6;

/// Core intensity above which a fiber fuse, once lit by dirt, a bend or a break, may run to the laser: 1 MW/cm².
/// Fuses ran below 1.8 W in single-mode fiber (K. Kurokawa, Crystals 2, 1382, 2012), 1.5 W there is 1.8 MW/cm².
pub const FUSE_CAUTION_W_PER_M2: f64 = 1e10;

/// Damage of a clean facet by short pulses, 35 W/µm² (J. Dawson et al., Opt. Express 16, 13240, 2008). Dirt brings it
/// down by orders of magnitude: never a target for a tether.
pub const FACET_DAMAGE_W_PER_M2: f64 = 3.5e13;

/// What limits the power in a fiber.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct PowerLimits {
    /// Length over which the light acts, `(1 − exp(−αL))/α`, m.
    pub effective_length_m: f64,
    /// Area over which it is spread, m².
    pub effective_area_m2: f64,
    /// Power at which stimulated Raman scattering takes over, W.
    pub raman_threshold_w: f64,
    /// Power at which stimulated Brillouin scattering takes over at the laser's linewidth, W.
    pub brillouin_threshold_w: f64,
    /// Power at which the core reaches [`FUSE_CAUTION_W_PER_M2`], W.
    pub fuse_caution_w: f64,
}

impl PowerLimits {
    /// The limits of `length_m` of fiber for a laser of width `linewidth_m` (full width at half maximum, m).
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`], length 1 mm to 1000 km; [`OpticsError::BelowRayleighFloor`].
    ///
    /// # Examples
    /// ```
    /// # use beamstay_optics::fiber::{Attenuation, CoreProfile, Fiber};
    /// # let fiber = Fiber { core_diameter_m: 400e-6, cladding_diameter_m: 440e-6, numerical_aperture: 0.22,
    /// #     profile: CoreProfile::Step, coating_temp_limit_k: 358.15,
    /// #     attenuation: Attenuation::Measured { attenuation_db_per_km: 3.0 } };
    /// use beamstay_optics::fiber::PowerLimits;
    /// // 1 km of 400 µm fiber: a narrow line is limited to 73 W, a diode of 2 nm is not.
    /// assert!((PowerLimits::of(&fiber, 1000.0, 808e-9, 0.0)?.brillouin_threshold_w - 73.09).abs() < 0.01);
    /// assert!(PowerLimits::of(&fiber, 1000.0, 808e-9, 2e-9)?.brillouin_threshold_w > 1e6);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn of(
        fiber: &Fiber,
        length_m: f64,
        wavelength_m: f64,
        linewidth_m: f64,
    ) -> Result<Self, OpticsError> {
        in_range("fiber length", "m", length_m, 1e-3, 1e6)?;
        in_range("laser linewidth", "m", linewidth_m, 0.0, 50e-9)?;
        let effective_area_m2 = fiber.effective_area_m2(wavelength_m)?;
        let effective_length_m = effective_length_m(fiber.attenuation_db_per_km(wavelength_m)?, length_m)?;
        Ok(Self {
            effective_length_m,
            effective_area_m2,
            raman_threshold_w: raman_threshold_w(
                effective_area_m2,
                effective_length_m,
                raman_gain_m_per_w(wavelength_m)?,
            )?,
            brillouin_threshold_w: brillouin_threshold_w(
                effective_area_m2,
                effective_length_m,
                BRILLOUIN_GAIN_M_PER_W,
                linewidth_hz(linewidth_m, wavelength_m)?,
                BRILLOUIN_WIDTH_HZ,
            )?,
            fuse_caution_w: FUSE_CAUTION_W_PER_M2 * effective_area_m2,
        })
    }
}

/// Length over which light that is attenuated acts, m: `(1 − exp(−αL))/α` (G. P. Agrawal, *Nonlinear Fiber
/// Optics*, from memory).
///
/// # Errors
/// [`OpticsError::OutOfRange`] for an attenuation outside 0 to 10⁶ dB/km or a length outside 0 to 1000 km.
///
/// # Examples
/// ```
/// let length = beamstay_optics::fiber::limits::effective_length_m(3.0, 1000.0)?;
/// assert!((length - 722.1054).abs() < 1e-4);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn effective_length_m(attenuation_db_per_km: f64, length_m: f64) -> Result<f64, OpticsError> {
    let length_m = check_length("fiber length", length_m)?;
    in_range("attenuation", "dB/km", attenuation_db_per_km, 0.0, 1e6)?;
    let attenuation_per_m = decibel::per_m_of_db_per_km(attenuation_db_per_km);
    let depth = attenuation_per_m * length_m;
    if depth < 1e-12 {
        return Ok(length_m);
    }
    Ok(-(-depth).exp_m1() / attenuation_per_m)
}

/// Raman gain of silica at a pump wavelength, m/W.
///
/// # Errors
/// [`OpticsError::OutOfRange`] for the wavelength.
pub fn raman_gain_m_per_w(wavelength_m: f64) -> Result<f64, OpticsError> {
    Ok(RAMAN_GAIN_AT_1_UM_M_PER_W * 1e-6 / check_wavelength(wavelength_m)?)
}

/// Width in frequency of a line of width `linewidth_m` in wavelength, Hz: `c Δλ/λ²`, the derivative of `c/λ`.
///
/// # Errors
/// [`OpticsError::OutOfRange`].
///
/// # Examples
/// ```
/// let width = beamstay_optics::fiber::limits::linewidth_hz(2e-9, 808e-9)?;
/// assert!((width - 918.391_757e9).abs() < 1e3);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn linewidth_hz(linewidth_m: f64, wavelength_m: f64) -> Result<f64, OpticsError> {
    in_range("laser linewidth", "m", linewidth_m, 0.0, 50e-9)?;
    let wavelength_m = check_wavelength(wavelength_m)?;
    Ok(SPEED_OF_LIGHT_M_S * linewidth_m / (wavelength_m * wavelength_m))
}

/// Power at which forward stimulated Raman scattering takes over, W: `16 A/(g L_eff)` (R. G. Smith, Appl. Opt. 11,
/// 2489, 1972). A factor of 2 either way for polarization and mode overlap.
///
/// # Errors
/// [`OpticsError::OutOfRange`].
///
/// # Examples
/// ```
/// let threshold = beamstay_optics::fiber::limits::raman_threshold_w(5e-11, 21_714.72, 6e-14)?;
/// assert!((threshold - 0.614).abs() < 1e-3);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn raman_threshold_w(
    effective_area_m2: f64,
    effective_length_m: f64,
    gain_m_per_w: f64,
) -> Result<f64, OpticsError> {
    Ok(16.0 * area_per_gain_length_w(effective_area_m2, effective_length_m, gain_m_per_w)?)
}

/// Power at which stimulated Brillouin scattering takes over, W: `21 A/(g L_eff) · (1 + Δν/Δν_B)` with the width Δν of the
/// laser's line and Δν_B of the gain (R. G. Smith, Appl. Opt. 11, 2489, 1972; broad lines after G. P. Agrawal). Light in
/// scrambled polarization sees half the gain.
///
/// # Errors
/// [`OpticsError::OutOfRange`]; width of the gain 0.1 MHz to 10 GHz.
///
/// # Examples
/// ```
/// use beamstay_optics::fiber::limits::{BRILLOUIN_GAIN_M_PER_W, BRILLOUIN_WIDTH_HZ, brillouin_threshold_w};
/// let threshold =
///     brillouin_threshold_w(5e-11, 21_714.72, BRILLOUIN_GAIN_M_PER_W, 0.0, BRILLOUIN_WIDTH_HZ)?;
/// assert!((threshold - 9.67e-4).abs() < 1e-6);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn brillouin_threshold_w(
    effective_area_m2: f64,
    effective_length_m: f64,
    gain_m_per_w: f64,
    linewidth_hz: f64,
    gain_width_hz: f64,
) -> Result<f64, OpticsError> {
    in_range("laser linewidth", "Hz", linewidth_hz, 0.0, 1e15)?;
    in_range("width of the Brillouin gain", "Hz", gain_width_hz, 1e5, 1e10)?;
    Ok(21.0
        * area_per_gain_length_w(effective_area_m2, effective_length_m, gain_m_per_w)?
        * (1.0 + linewidth_hz / gain_width_hz))
}

fn area_per_gain_length_w(
    effective_area_m2: f64,
    effective_length_m: f64,
    gain_m_per_w: f64,
) -> Result<f64, OpticsError> {
    in_range("effective area", "m²", effective_area_m2, 1e-13, 1e-3)?;
    in_range("effective length", "m", effective_length_m, 1e-7, 1e6)?;
    in_range("gain", "m/W", gain_m_per_w, 1e-16, 1e-8)?;
    Ok(effective_area_m2 / (gain_m_per_w * effective_length_m))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{fiber, single_mode_fiber};

    #[test]
    fn a_lossless_fiber_acts_over_its_length() {
        assert_eq!(effective_length_m(0.0, 500.0), Ok(500.0));
        assert!((effective_length_m(1e-9, 500.0).unwrap() - 500.0).abs() < 1e-6);
    }

    #[test]
    fn a_small_mode_has_low_limits() {
        let single = PowerLimits::of(&single_mode_fiber(), 1000.0, 1.55e-6, 0.0).unwrap();
        let multi = PowerLimits::of(&fiber(), 1000.0, 1.55e-6, 0.0).unwrap();
        assert!(single.raman_threshold_w < 1e-3 * multi.raman_threshold_w);
        // 0.8 W: below the 1.5 to 1.8 W at which fuses have been seen.
        assert!((0.5..1.5).contains(&single.fuse_caution_w), "{}", single.fuse_caution_w);
    }

    #[test]
    fn a_broad_line_raises_only_the_brillouin_limit() {
        let narrow = PowerLimits::of(&fiber(), 300.0, 976e-9, 0.0).unwrap();
        let broad = PowerLimits::of(&fiber(), 300.0, 976e-9, 0.5e-9).unwrap();
        assert!((broad.brillouin_threshold_w / narrow.brillouin_threshold_w - 3148.18).abs() < 0.01);
        assert!((broad.raman_threshold_w / narrow.raman_threshold_w - 1.0).abs() < 1e-15);
    }

    #[test]
    fn arguments_out_of_range_are_refused() {
        assert!(PowerLimits::of(&fiber(), 0.0, 808e-9, 0.0).is_err());
        assert!(PowerLimits::of(&fiber(), 100.0, 808e-9, 51e-9).is_err());
        assert!(effective_length_m(-1.0, 100.0).is_err());
        assert!(linewidth_hz(f64::NAN, 808e-9).is_err());
        assert!(raman_gain_m_per_w(1e-7).is_err());
        for (area_m2, length_m, gain_m_per_w) in [(0.0, 1.0, 1e-13), (1e-10, 0.0, 1e-13), (1e-10, 1.0, 0.0)] {
            assert!(raman_threshold_w(area_m2, length_m, gain_m_per_w).is_err());
            assert!(brillouin_threshold_w(area_m2, length_m, gain_m_per_w, 0.0, 5e7).is_err());
        }
        assert!(brillouin_threshold_w(1e-10, 1.0, 1e-13, -1.0, 5e7).is_err());
        assert!(brillouin_threshold_w(1e-10, 1.0, 1e-13, 0.0, 0.0).is_err());
    }
}
