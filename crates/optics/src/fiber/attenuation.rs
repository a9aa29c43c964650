//! Attenuation of silica fiber: measured, or composed of its causes.

use beamstay_numerics::domain::in_range;

use crate::{
    OpticsError,
    silica::{check_wavelength, rayleigh_floor_db_per_km},
};

/// What a kilometre of fiber costs.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Attenuation {
    /// A measured figure at the laser's wavelength, taken as constant over the few nanometres that a laser drifts.
    Measured {
        /// Attenuation, dB/km; not below Rayleigh scattering at the wavelength of use.
        attenuation_db_per_km: f64,
    },
    /// The sum of its causes, for any wavelength.
    Composed(ComposedAttenuation),
}

/// `UV exp(b/λ) + IR exp(−c/λ) + A/λ⁴ + B + OH/(1 + ((λ − λ_OH)/w)²)`, λ in µm: the form of S. S. Walker (J. Lightwave
/// Technol. 4, 1125, 1986) with a Lorentzian for the hydroxyl peak. The overtone of OH near 0.945 µm is not in it:
/// add it to the constant where it matters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ComposedAttenuation {
    /// Rayleigh coefficient A, dB·µm⁴/km; 0.7 to 0.9 for pure silica, more with germania (1.13 to 1.30: J. Stone,
    /// Appl. Opt. 21, 2721, 1982).
    pub rayleigh_db_um4_per_km: f64,
    /// Constant part B (imperfections, microbends), dB/km.
    pub constant_db_per_km: f64,
    /// Height of the ultraviolet edge, dB/km.
    pub ultraviolet_db_per_km: f64,
    /// Slope of the ultraviolet edge, µm.
    pub ultraviolet_slope_um: f64,
    /// Height of the infrared edge, dB/km.
    pub infrared_db_per_km: f64,
    /// Slope of the infrared edge, µm.
    pub infrared_slope_um: f64,
    /// Height of the hydroxyl peak, dB/km.
    pub hydroxyl_db_per_km: f64,
    /// Centre of the hydroxyl peak, µm.
    pub hydroxyl_centre_um: f64,
    /// Half width of the hydroxyl peak, µm.
    pub hydroxyl_half_width_um: f64,
}

impl ComposedAttenuation {
    /// Low-OH pure silica: Rayleigh 0.8 dB·µm⁴/km (middle of Agrawal's 0.7 to 0.9), infrared edge of T. Miya et al.
    /// (Electron. Lett. 15, 106, 1979), 0.5 dB/km for imperfections and cabling (common practice, no source), no
    /// hydroxyl.
    pub fn low_hydroxyl_silica() -> Self {
        Self {
            rayleigh_db_um4_per_km: 0.8,
            constant_db_per_km: 0.5,
            ultraviolet_db_per_km: 0.001,
            ultraviolet_slope_um: 4.67,
            infrared_db_per_km: 7.81e11,
            infrared_slope_um: 48.48,
            hydroxyl_db_per_km: 0.0,
            hydroxyl_centre_um: 1.38,
            hydroxyl_half_width_um: 0.016,
        }
    }

    /// Whether every figure is finite, none is negative and Rayleigh scattering is at least that of pure silica.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn check(&self) -> Result<(), OpticsError> {
        let floor = crate::silica::RAYLEIGH_FLOOR_DB_UM4_PER_KM;
        in_range("Rayleigh coefficient", "dB·µm⁴/km", self.rayleigh_db_um4_per_km, floor, 100.0)?;
        in_range("constant attenuation", "dB/km", self.constant_db_per_km, 0.0, 1e4)?;
        in_range("ultraviolet edge", "dB/km", self.ultraviolet_db_per_km, 0.0, 1.0)?;
        in_range("slope of the ultraviolet edge", "µm", self.ultraviolet_slope_um, 0.0, 10.0)?;
        in_range("infrared edge", "dB/km", self.infrared_db_per_km, 0.0, 1e14)?;
        in_range("slope of the infrared edge", "µm", self.infrared_slope_um, 10.0, 100.0)?;
        in_range("hydroxyl peak", "dB/km", self.hydroxyl_db_per_km, 0.0, 1e5)?;
        in_range("centre of the hydroxyl peak", "µm", self.hydroxyl_centre_um, 0.5, 3.0)?;
        in_range("half width of the hydroxyl peak", "µm", self.hydroxyl_half_width_um, 1e-4, 0.5)?;
        Ok(())
    }

    /// Sum of the causes at a wavelength in µm, dB/km.
    fn at_db_per_km(&self, wavelength_um: f64) -> f64 {
        let detuning = (wavelength_um - self.hydroxyl_centre_um) / self.hydroxyl_half_width_um;
        self.ultraviolet_db_per_km * (self.ultraviolet_slope_um / wavelength_um).exp()
            + self.infrared_db_per_km * (-self.infrared_slope_um / wavelength_um).exp()
            + self.rayleigh_db_um4_per_km / wavelength_um.powi(4)
            + self.constant_db_per_km
            + self.hydroxyl_db_per_km / (1.0 + detuning * detuning)
    }
}

impl Attenuation {
    /// Whether every figure is finite and in range.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn check(&self) -> Result<(), OpticsError> {
        match self {
            Self::Measured { attenuation_db_per_km } => {
                in_range("attenuation", "dB/km", *attenuation_db_per_km, 1e-3, 1e6)?;
                Ok(())
            }
            Self::Composed(composed) => composed.check(),
        }
    }

    /// Attenuation at a wavelength, dB/km.
    ///
    /// # Errors
    /// [`OpticsError::BelowRayleighFloor`] if the figure is below `0.7/λ⁴` (λ in µm), which no silica reaches;
    /// [`OpticsError::OutOfRange`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::{OpticsError, fiber::Attenuation};
    /// let attenuation = Attenuation::Measured { attenuation_db_per_km: 1.0 };
    /// assert_eq!(attenuation.at_db_per_km(976e-9)?, 1.0);
    /// assert!(matches!(attenuation.at_db_per_km(808e-9), Err(OpticsError::BelowRayleighFloor { .. })));
    /// # Ok::<(), OpticsError>(())
    /// ```
    pub fn at_db_per_km(&self, wavelength_m: f64) -> Result<f64, OpticsError> {
        self.check()?;
        let wavelength_m = check_wavelength(wavelength_m)?;
        let attenuation_db_per_km = match self {
            Self::Measured { attenuation_db_per_km } => *attenuation_db_per_km,
            Self::Composed(composed) => composed.at_db_per_km(wavelength_m * 1e6),
        };
        let floor_db_per_km = rayleigh_floor_db_per_km(wavelength_m)?;
        if attenuation_db_per_km < floor_db_per_km * (1.0 - 1e-12) {
            return Err(OpticsError::BelowRayleighFloor {
                attenuation_db_per_km,
                floor_db_per_km,
                wavelength_m,
            });
        }
        Ok(attenuation_db_per_km)
    }
}

/// Rayleigh scattering of a glass from first principles, dB/km:
/// `8π³/(3λ⁴) n⁸ p² β_c k T_F` (J. M. Senior, *Optical Fiber Communications*, equation 3.4).
///
/// `photoelastic_coefficient` is 0.286 for silica, `compressibility_m2_per_n` is the isothermal compressibility at
/// the fictive temperature (7·10⁻¹¹), `fictive_temp_k` the temperature at which the glass froze (1400).
///
/// # Errors
/// [`OpticsError::OutOfRange`].
///
/// # Examples
/// ```
/// let loss = beamstay_optics::fiber::rayleigh_scattering_db_per_km(1.0e-6, 1.46, 0.286, 7e-11, 1400.0)?;
/// assert!((loss - 0.8205).abs() < 1e-4);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn rayleigh_scattering_db_per_km(
    wavelength_m: f64,
    refractive_index: f64,
    photoelastic_coefficient: f64,
    compressibility_m2_per_n: f64,
    fictive_temp_k: f64,
) -> Result<f64, OpticsError> {
    let wavelength_m = check_wavelength(wavelength_m)?;
    in_range("refractive index", "", refractive_index, 1.0, 4.0)?;
    in_range("photoelastic coefficient", "", photoelastic_coefficient, 0.0, 1.0)?;
    in_range("compressibility", "m²/N", compressibility_m2_per_n, 0.0, 1e-8)?;
    in_range("fictive temperature", "K", fictive_temp_k, 0.0, 4000.0)?;
    let scattering_per_m = 8.0 * std::f64::consts::PI.powi(3) / (3.0 * wavelength_m.powi(4))
        * refractive_index.powi(8)
        * photoelastic_coefficient.powi(2)
        * compressibility_m2_per_n
        * beamstay_numerics::constants::BOLTZMANN_J_PER_K
        * fictive_temp_k;
    Ok(scattering_per_m / crate::decibel::per_m_of_db_per_km(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_floor_itself_is_accepted_and_a_little_less_is_not() {
        let floor_db_per_km = rayleigh_floor_db_per_km(808e-9).unwrap();
        let at = |attenuation_db_per_km| Attenuation::Measured { attenuation_db_per_km }.at_db_per_km(808e-9);
        assert_eq!(at(floor_db_per_km), Ok(floor_db_per_km));
        assert_eq!(
            at(0.999 * floor_db_per_km),
            Err(OpticsError::BelowRayleighFloor {
                attenuation_db_per_km: 0.999 * floor_db_per_km,
                floor_db_per_km,
                wavelength_m: 808e-9,
            })
        );
    }

    #[test]
    fn the_ready_silica_lies_where_the_trade_has_it() {
        // Low-OH multimode silica: 2 to 4 dB/km at 808 nm, 0.8 to 2 at 1064 nm (common practice, no source).
        let silica = Attenuation::Composed(ComposedAttenuation::low_hydroxyl_silica());
        assert!((2.0..4.0).contains(&silica.at_db_per_km(808e-9).unwrap()));
        assert!((0.8..2.0).contains(&silica.at_db_per_km(1064e-9).unwrap()));
    }

    #[test]
    fn each_figure_out_of_range_is_refused() {
        let good = ComposedAttenuation::low_hydroxyl_silica();
        for bad in [
            ComposedAttenuation { rayleigh_db_um4_per_km: 0.69, ..good },
            ComposedAttenuation { constant_db_per_km: -0.1, ..good },
            ComposedAttenuation { ultraviolet_db_per_km: f64::NAN, ..good },
            ComposedAttenuation { ultraviolet_slope_um: 11.0, ..good },
            ComposedAttenuation { infrared_db_per_km: -1.0, ..good },
            ComposedAttenuation { infrared_slope_um: 0.0, ..good },
            ComposedAttenuation { hydroxyl_db_per_km: -1.0, ..good },
            ComposedAttenuation { hydroxyl_centre_um: 0.0, ..good },
            ComposedAttenuation { hydroxyl_half_width_um: 0.0, ..good },
        ] {
            assert!(Attenuation::Composed(bad).at_db_per_km(1e-6).is_err(), "{bad:?}");
        }
        for (n, p, b, t) in
            [(0.9, 0.286, 7e-11, 1400.0), (1.46, 2.0, 7e-11, 1400.0), (1.46, 0.286, 1.0, 1400.0)]
        {
            assert!(rayleigh_scattering_db_per_km(1e-6, n, p, b, t).is_err());
        }
        assert!(rayleigh_scattering_db_per_km(1e-6, 1.46, 0.286, 7e-11, 5000.0).is_err());
    }
}
