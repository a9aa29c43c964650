//! Optical fiber: core, cladding, numerical aperture and attenuation in; guided modes, transmission, bend loss,
//! power limits and the heat of a wound drum out.

use std::f64::consts::PI;

use beamstay_numerics::domain::in_range;

use crate::{OpticsError, silica};

mod attenuation;
pub mod bend;
pub mod limits;
mod path;
pub mod winding;

pub use attenuation::{Attenuation, ComposedAttenuation, rayleigh_scattering_db_per_km};
pub use limits::PowerLimits;
pub use path::{FiberParts, FiberPath, FiberRun};
pub use winding::{DrumHeat, Packing, WoundPack};

/// Normalised frequency below which a step-index fiber carries one mode: the first zero of the Bessel function J₀.
pub const SINGLE_MODE_V: f64 = 2.404_825_557_695_773;

/// A silica fiber whose core has the index of pure fused silica.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fiber {
    /// Core diameter, m; 1 µm to 5 mm.
    pub core_diameter_m: f64,
    /// Cladding diameter, m; larger than the core.
    pub cladding_diameter_m: f64,
    /// Numerical aperture: sine of the half angle of the acceptance cone, 0.01 to 0.6.
    pub numerical_aperture: f64,
    /// Shape of the index across the core.
    pub profile: CoreProfile,
    /// What a kilometre costs.
    pub attenuation: Attenuation,
    /// Highest lasting temperature of the coating, K; telecom acrylate 358 (85 °C), polyimide 620.
    pub coating_temp_limit_k: f64,
}

/// Shape of the index across the core.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum CoreProfile {
    /// Constant index.
    Step,
    /// Index that falls with the power `exponent` of the radius; about 2 for OM fibers.
    Graded {
        /// Profile exponent, 1 to 20.
        exponent: f64,
    },
}

impl Fiber {
    /// Whether every figure is finite and in range, apart from the attenuation, which needs the wavelength.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn check(&self) -> Result<(), OpticsError> {
        in_range("core diameter", "m", self.core_diameter_m, 1e-6, 5e-3)?;
        in_range("cladding diameter", "m", self.cladding_diameter_m, self.core_diameter_m, 1e-2)?;
        in_range("numerical aperture", "", self.numerical_aperture, 0.01, 0.6)?;
        if let CoreProfile::Graded { exponent } = self.profile {
            in_range("index profile exponent", "", exponent, 1.0, 20.0)?;
        }
        in_range("coating temperature limit", "K", self.coating_temp_limit_k, 273.15, 1300.0)?;
        self.attenuation.check()
    }

    /// Area of the core, m².
    pub fn core_area_m2(&self) -> f64 {
        0.25 * PI * self.core_diameter_m * self.core_diameter_m
    }

    /// Normalised frequency `V = π d NA/λ`.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] for the wavelength (0.21 to 3.71 µm) or the fiber.
    ///
    /// # Examples
    /// ```
    /// # use beamstay_optics::fiber::{Attenuation, CoreProfile, Fiber};
    /// # let fiber = Fiber { core_diameter_m: 400e-6, cladding_diameter_m: 440e-6, numerical_aperture: 0.22,
    /// #     profile: CoreProfile::Step, coating_temp_limit_k: 358.15,
    /// #     attenuation: Attenuation::Measured { attenuation_db_per_km: 3.0 } };
    /// // 400 µm, NA 0.22
    /// assert!((fiber.v_number(808e-9)? - 342.153_655).abs() < 1e-6);
    /// assert!((fiber.modes_count(808e-9)? - 58_534.562).abs() < 1e-3);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn v_number(&self, wavelength_m: f64) -> Result<f64, OpticsError> {
        self.check()?;
        let wavelength_m = silica::check_wavelength(wavelength_m)?;
        Ok(PI * self.core_diameter_m * self.numerical_aperture / wavelength_m)
    }

    /// Guided modes of a step-index core, both polarizations, `V²/2`; within 5 % of the exact count above V = 20.
    /// A graded core of exponent g carries `g/(g + 2)` of that (D. Gloge and E. Marcatili, Bell Syst. Tech. J. 52,
    /// 1563, 1973). Below V = 2.405 there are two, one for each polarization.
    ///
    /// # Errors
    /// As [`Self::v_number`].
    pub fn modes_count(&self, wavelength_m: f64) -> Result<f64, OpticsError> {
        let v_number = self.v_number(wavelength_m)?;
        let share = match self.profile {
            CoreProfile::Step => 1.0,
            CoreProfile::Graded { exponent } => exponent / (exponent + 2.0),
        };
        Ok((0.5 * v_number * v_number * share).max(2.0))
    }

    /// Étendue that the fiber takes, m²·sr: `π² a² NA²` (by definition, for a core lit evenly up to its aperture).
    pub fn etendue_m2_sr(&self) -> f64 {
        (0.5 * PI * self.core_diameter_m * self.numerical_aperture).powi(2)
    }

    /// Beam quality M² that just fills core and aperture, `π a NA/λ` = V/2.
    ///
    /// # Errors
    /// As [`Self::v_number`].
    pub fn filling_beam_quality_m2_ratio(&self, wavelength_m: f64) -> Result<f64, OpticsError> {
        Ok(0.5 * self.v_number(wavelength_m)?)
    }

    /// Whether a step-index fiber of this V carries one mode only.
    ///
    /// # Errors
    /// As [`Self::v_number`].
    pub fn is_single_mode(&self, wavelength_m: f64) -> Result<bool, OpticsError> {
        Ok(self.v_number(wavelength_m)? < SINGLE_MODE_V)
    }

    /// 1/e² radius of the fundamental mode of a step-index fiber, m, `w/a = 0.65 + 1.619 V^−1.5 + 2.879 V^−6`
    /// (D. Marcuse, Bell Syst. Tech. J. 56, 703, 1977; within 1 % for V from 1.2 to 2.4; above, it tends to 0.65 a,
    /// which is true of one mode among many).
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] also if V is below 0.8, where light is hardly guided.
    pub fn mode_field_radius_m(&self, wavelength_m: f64) -> Result<f64, OpticsError> {
        let v_number = in_range("normalised frequency V", "", self.v_number(wavelength_m)?, 0.8, 1e9)?;
        Ok(0.5 * self.core_diameter_m * (0.65 + 1.619 * v_number.powf(-1.5) + 2.879 * v_number.powi(-6)))
    }

    /// Area that the light fills, m²: the core, or in a single-mode fiber the mode, `π w²`.
    ///
    /// # Errors
    /// As [`Self::mode_field_radius_m`].
    pub fn effective_area_m2(&self, wavelength_m: f64) -> Result<f64, OpticsError> {
        if self.is_single_mode(wavelength_m)? {
            let radius_m = self.mode_field_radius_m(wavelength_m)?;
            return Ok(PI * radius_m * radius_m);
        }
        Ok(self.core_area_m2())
    }

    /// Mean intensity over the area that the light fills, W/m², for `power_w` in the fiber.
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
    /// // 1 kW in a 400 µm core: 0.796 MW/cm²
    /// assert!((fiber.mean_intensity_w_per_m2(1000.0, 808e-9)? - 7.957_75e9).abs() < 1e4);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn mean_intensity_w_per_m2(&self, power_w: f64, wavelength_m: f64) -> Result<f64, OpticsError> {
        in_range("power", "W", power_w, 0.0, 1e9)?;
        Ok(power_w / self.effective_area_m2(wavelength_m)?)
    }

    /// Attenuation, dB/km.
    ///
    /// # Errors
    /// [`OpticsError::BelowRayleighFloor`] for a figure that silica cannot reach at this wavelength;
    /// [`OpticsError::OutOfRange`].
    pub fn attenuation_db_per_km(&self, wavelength_m: f64) -> Result<f64, OpticsError> {
        self.attenuation.at_db_per_km(wavelength_m)
    }

    /// Power out per power in after `length_m` of fiber: all of it, on the drum and paid out.
    ///
    /// # Errors
    /// [`OpticsError::BelowRayleighFloor`]; [`OpticsError::OutOfRange`] for the wavelength or a length outside 0 to
    /// 1000 km.
    ///
    /// # Examples
    /// ```
    /// # use beamstay_optics::fiber::{Attenuation, CoreProfile, Fiber};
    /// # let fiber = Fiber { core_diameter_m: 400e-6, cladding_diameter_m: 440e-6, numerical_aperture: 0.22,
    /// #     profile: CoreProfile::Step, coating_temp_limit_k: 358.15,
    /// #     attenuation: Attenuation::Measured { attenuation_db_per_km: 3.0 } };
    /// // 3 dB/km over 100 m
    /// assert!((fiber.transmission_ratio(100.0, 808e-9)? - 0.933_254_30).abs() < 1e-8);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn transmission_ratio(&self, length_m: f64, wavelength_m: f64) -> Result<f64, OpticsError> {
        let length_m = check_length("fiber length", length_m)?;
        Ok(crate::decibel::ratio_of_loss(self.attenuation_db_per_km(wavelength_m)? * length_m * 1e-3))
    }

    /// Heat in one metre of fiber, W/m, if nothing of the lost light leaves it: `α P`. An upper bound for fiber in
    /// the open, where most of the scattered light escapes; what counts for fiber on a drum or in a jacket.
    ///
    /// # Errors
    /// As [`Self::attenuation_db_per_km`]; [`OpticsError::OutOfRange`] for the power.
    ///
    /// # Examples
    /// ```
    /// # use beamstay_optics::fiber::{Attenuation, CoreProfile, Fiber};
    /// # let fiber = Fiber { core_diameter_m: 400e-6, cladding_diameter_m: 440e-6, numerical_aperture: 0.22,
    /// #     profile: CoreProfile::Step, coating_temp_limit_k: 358.15,
    /// #     attenuation: Attenuation::Measured { attenuation_db_per_km: 3.0 } };
    /// assert!((fiber.heat_w_per_m(1000.0, 808e-9)? - 0.690_776).abs() < 1e-6);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn heat_w_per_m(&self, power_w: f64, wavelength_m: f64) -> Result<f64, OpticsError> {
        in_range("power", "W", power_w, 0.0, 1e9)?;
        Ok(power_w * crate::decibel::per_m_of_db_per_km(self.attenuation_db_per_km(wavelength_m)?))
    }
}

/// A length of fiber from 0 to 1000 km.
pub(crate) fn check_length(quantity: &'static str, length_m: f64) -> Result<f64, OpticsError> {
    Ok(in_range(quantity, "m", length_m, 0.0, 1e6)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{fiber, single_mode_fiber};

    #[test]
    fn each_figure_out_of_range_is_refused() {
        let good = fiber();
        for bad in [
            Fiber { core_diameter_m: 0.0, ..good },
            Fiber { cladding_diameter_m: 399e-6, ..good },
            Fiber { numerical_aperture: 0.61, ..good },
            Fiber { numerical_aperture: f64::NAN, ..good },
            Fiber { profile: CoreProfile::Graded { exponent: 0.5 }, ..good },
            Fiber { coating_temp_limit_k: 85.0, ..good },
            Fiber { attenuation: Attenuation::Measured { attenuation_db_per_km: -1.0 }, ..good },
        ] {
            assert!(bad.check().is_err(), "{bad:?}");
            assert!(bad.v_number(808e-9).is_err(), "{bad:?}");
        }
        assert!(Fiber { cladding_diameter_m: 400e-6, ..good }.check().is_ok());
    }

    #[test]
    fn a_graded_core_of_exponent_two_carries_half_the_modes() {
        let graded = Fiber { profile: CoreProfile::Graded { exponent: 2.0 }, ..fiber() };
        let ratio = graded.modes_count(808e-9).unwrap() / fiber().modes_count(808e-9).unwrap();
        assert!((ratio - 0.5).abs() < 1e-12);
    }

    #[test]
    fn telecom_fiber_carries_one_mode_of_known_size() {
        let fiber = single_mode_fiber();
        assert!(fiber.is_single_mode(1.55e-6).unwrap() && !fiber.is_single_mode(0.808e-6).unwrap());
        assert_eq!(fiber.modes_count(1.55e-6), Ok(2.0));
        // A mode-field diameter of 10.4 ± 0.5 µm at 1550 nm (data sheets of the trade, common practice, no source).
        let diameter_um = 2e6 * fiber.mode_field_radius_m(1.55e-6).unwrap();
        assert!((9.9..10.9).contains(&diameter_um), "{diameter_um}");
        assert!(Fiber { core_diameter_m: 1e-6, ..fiber }.mode_field_radius_m(1.55e-6).is_err());
    }

    #[test]
    fn lengths_out_of_range_are_refused() {
        for length_m in [-1.0, 1.01e6, f64::NAN] {
            assert!(fiber().transmission_ratio(length_m, 808e-9).is_err(), "{length_m}");
        }
        assert_eq!(fiber().transmission_ratio(0.0, 808e-9), Ok(1.0));
    }
}
