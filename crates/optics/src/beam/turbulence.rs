//! Turbulence: structure constant and range in, long-term radius of the beam out (L. C. Andrews, R. L. Phillips, *Laser Beam
//! Propagation through Random Media*, 2nd ed., 2005, from memory).

use std::f64::consts::PI;

use beamstay_numerics::domain::in_range;

use crate::{OpticsError, silica::check_wavelength};

/// Turbulence of constant strength along the way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turbulence {
    /// Refractive structure constant C_n², m^(−2/3); 0 to 10⁻¹⁰. 10⁻¹⁵ is weak, 10⁻¹³ strong, at 2 m above hot ground.
    pub structure_constant_m_2_3: f64,
    /// Which long-term radius is used.
    pub spread: SpreadModel,
}

/// Long-term radius of a beam in turbulence. It holds the wander of the beam: no jitter is to be added for that.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum SpreadModel {
    /// `w √(1 + 1.33 σ_R² Λ^(5/6))`, `Λ = 2L/(k w²)` (L. Andrews and R. Phillips, *Laser Beam Propagation through Random
    /// Media*). Within 0.4 % of the mean intensity's 1/e² radius while σ_R² < 1, 10 % low at 12.
    AndrewsPhillips,
    /// `√(w² + 2 (4.2 L/(k r₀))²)` with r₀ of a spherical wave. Better in strong, low in weak turbulence.
    CoherenceLength,
    /// The larger of the two.
    Larger,
}

impl Turbulence {
    /// No turbulence.
    pub fn none() -> Self {
        Self { structure_constant_m_2_3: 0.0, spread: SpreadModel::Larger }
    }

    /// Whether the structure constant is finite and in range.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn check(&self) -> Result<(), OpticsError> {
        in_range("structure constant", "m^(-2/3)", self.structure_constant_m_2_3, 0.0, 1e-10)?;
        Ok(())
    }

    /// Coherence diameter r₀ of a plane wave, m, `(0.423 k² C_n² L)^(−3/5)`; `None` without turbulence.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::beam::{SpreadModel, Turbulence};
    /// let air = Turbulence { structure_constant_m_2_3: 1e-14, spread: SpreadModel::Larger };
    /// assert!((air.plane_coherence_m(1000.0, 1064e-9)?.unwrap() - 0.049_970_06).abs() < 1e-8);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn plane_coherence_m(&self, range_m: f64, wavelength_m: f64) -> Result<Option<f64>, OpticsError> {
        let (range_m, wavenumber_per_m) = self.checked(range_m, wavelength_m)?;
        let strength = 0.423 * wavenumber_per_m.powi(2) * self.structure_constant_m_2_3 * range_m;
        Ok((strength > 1e-20).then(|| strength.powf(-0.6)))
    }

    /// Coherence diameter r₀ of a spherical wave, m: `(8/3)^(3/5)` = 1.8013 times that of a plane wave.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn spherical_coherence_m(&self, range_m: f64, wavelength_m: f64) -> Result<Option<f64>, OpticsError> {
        let plane_m = self.plane_coherence_m(range_m, wavelength_m)?;
        Ok(plane_m.map(|plane_m| (8.0_f64 / 3.0).powf(0.6) * plane_m))
    }

    /// Rytov variance of a plane wave, `1.23 C_n² k^(7/6) L^(11/6)`: below 1 turbulence is weak.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::beam::{SpreadModel, Turbulence};
    /// let air = Turbulence { structure_constant_m_2_3: 1e-14, spread: SpreadModel::Larger };
    /// assert!((air.rytov_variance(1000.0, 1064e-9)? - 0.308_804).abs() < 1e-6);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn rytov_variance(&self, range_m: f64, wavelength_m: f64) -> Result<f64, OpticsError> {
        let (range_m, wavenumber_per_m) = self.checked(range_m, wavelength_m)?;
        let per_range = wavenumber_per_m.powf(7.0 / 6.0) * range_m.powf(11.0 / 6.0);
        Ok(1.23 * self.structure_constant_m_2_3 * per_range)
    }

    /// Long-term 1/e² radius, m, of a beam whose radius in vacuum would be `vacuum_radius_m` at `range_m`.
    ///
    /// The mean profile in turbulence has more in its wings than a Gaussian of this radius: in weak turbulence the
    /// light captured comes out up to 1 % (Andrews and Phillips) or 2 % (coherence length) too high.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`]; the vacuum radius may be 1 µm to 10 km.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::beam::{SpreadModel, Turbulence};
    /// let air = Turbulence { structure_constant_m_2_3: 1e-14, spread: SpreadModel::AndrewsPhillips };
    /// assert!((air.long_term_radius_m(0.050_456_74, 1000.0, 1064e-9)? - 0.052_350_43).abs() < 1e-8);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn long_term_radius_m(
        &self,
        vacuum_radius_m: f64,
        range_m: f64,
        wavelength_m: f64,
    ) -> Result<f64, OpticsError> {
        in_range("beam radius", "m", vacuum_radius_m, 1e-6, 1e4)?;
        self.checked(range_m, wavelength_m)?;
        if self.structure_constant_m_2_3 == 0.0 || range_m == 0.0 {
            return Ok(vacuum_radius_m);
        }
        let andrews_phillips = || self.andrews_phillips_m(vacuum_radius_m, range_m, wavelength_m);
        let coherence_length = || self.coherence_length_m(vacuum_radius_m, range_m, wavelength_m);
        match self.spread {
            SpreadModel::AndrewsPhillips => andrews_phillips(),
            SpreadModel::CoherenceLength => coherence_length(),
            SpreadModel::Larger => Ok(andrews_phillips()?.max(coherence_length()?)),
        }
    }

    fn andrews_phillips_m(&self, radius_m: f64, range_m: f64, wavelength_m: f64) -> Result<f64, OpticsError> {
        let diffraction = wavelength_m * range_m / (PI * radius_m * radius_m);
        let rytov_variance = self.rytov_variance(range_m, wavelength_m)?;
        Ok(radius_m * (1.0 + 1.33 * rytov_variance * diffraction.powf(5.0 / 6.0)).sqrt())
    }

    fn coherence_length_m(&self, radius_m: f64, range_m: f64, wavelength_m: f64) -> Result<f64, OpticsError> {
        let Some(coherence_m) = self.spherical_coherence_m(range_m, wavelength_m)? else {
            return Ok(radius_m);
        };
        let spread_m = 4.2 * range_m * wavelength_m / (2.0 * PI * coherence_m);
        Ok((radius_m * radius_m + 2.0 * spread_m * spread_m).sqrt())
    }

    /// Checked range and wavenumber.
    fn checked(&self, range_m: f64, wavelength_m: f64) -> Result<(f64, f64), OpticsError> {
        self.check()?;
        let range_m = in_range("range", "m", range_m, 0.0, 1e6)?;
        Ok((range_m, 2.0 * PI / check_wavelength(wavelength_m)?))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn calm_air_spreads_nothing() {
        let calm = Turbulence::none();
        assert_eq!(calm.long_term_radius_m(0.1, 1000.0, 808e-9), Ok(0.1));
        assert_eq!(calm.plane_coherence_m(1000.0, 808e-9), Ok(None));
        let strong = Turbulence { structure_constant_m_2_3: 1e-12, ..calm };
        assert_eq!(strong.long_term_radius_m(0.1, 0.0, 808e-9), Ok(0.1));
    }

    #[test]
    fn turbulence_so_weak_that_it_has_no_coherence_diameter_is_calm() {
        for spread in [SpreadModel::AndrewsPhillips, SpreadModel::CoherenceLength, SpreadModel::Larger] {
            let faint = Turbulence { structure_constant_m_2_3: 1e-40, spread };
            assert!((faint.long_term_radius_m(0.1, 1000.0, 808e-9).unwrap() - 0.1).abs() < 1e-12);
        }
    }

    #[test]
    fn stronger_turbulence_spreads_more() {
        let mut last = 0.05;
        for structure_constant_m_2_3 in [1e-16, 1e-15, 1e-14, 1e-13, 1e-12] {
            let air = Turbulence { structure_constant_m_2_3, spread: SpreadModel::Larger };
            let radius_m = air.long_term_radius_m(0.05, 1000.0, 976e-9).unwrap();
            assert!(radius_m > last);
            last = radius_m;
        }
    }

    #[test]
    fn arguments_out_of_range_are_refused() {
        for structure_constant_m_2_3 in [-1e-15, 1.1e-10, f64::NAN] {
            let air = Turbulence { structure_constant_m_2_3, spread: SpreadModel::Larger };
            assert!(air.rytov_variance(1000.0, 808e-9).is_err());
            assert!(air.long_term_radius_m(0.1, 1000.0, 808e-9).is_err());
        }
        let air = Turbulence::none();
        assert!(air.long_term_radius_m(0.0, 1000.0, 808e-9).is_err());
        assert!(air.long_term_radius_m(0.1, -1.0, 808e-9).is_err());
        assert!(air.plane_coherence_m(1.0, f64::NAN).is_err());
    }
}
