//! Extinction of the air: visibility and wavelength in, dB/km out.

use std::f64::consts::LN_10;

use beamstay_numerics::domain::in_range;

use crate::{OpticsError, silica::check_wavelength};

use super::gas::absorption_db_per_km;

/// Contrast law of Koschmieder: extinction at 550 nm is 3.912/V, nepers per km with V in km.
pub const KOSCHMIEDER: f64 = 3.912;

/// Exponent of the wavelength in the extinction by haze.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum VisibilityModel {
    /// P. Kruse, 1962: 1.6 above 50 km, 1.3 above 6 km, `0.585 V^(1/3)` below.
    Kruse,
    /// I. Kim, B. McArthur, E. Korevaar, Proc. SPIE 4214, 2001: as Kruse above 6 km, `0.16 V + 0.34` from 1 to 6,
    /// `V − 0.5` from 0.5 to 1, 0 below: fog dims all colours alike.
    Kim,
    /// The larger extinction of the two.
    Larger,
}

/// The air on the way, the same all along.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Meteorological visibility, m; 10 m to 500 km.
    pub visibility_m: f64,
    /// How haze depends on the wavelength.
    pub model: VisibilityModel,
    /// Absorption by gases that visibility does not see, dB/km; `None` for [`super::gas::absorption_db_per_km`].
    pub gas_db_per_km: Option<f64>,
}

impl Air {
    /// Air of a visibility with the pessimistic choice of models.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] if the visibility is not 10 m to 500 km.
    pub fn of_visibility(visibility_m: f64) -> Result<Self, OpticsError> {
        let air = Self { visibility_m, model: VisibilityModel::Larger, gas_db_per_km: None };
        air.check()?;
        Ok(air)
    }

    /// Whether every figure is finite and in range.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn check(&self) -> Result<(), OpticsError> {
        in_range("visibility", "m", self.visibility_m, 10.0, 5e5)?;
        if let Some(gas_db_per_km) = self.gas_db_per_km {
            in_range("gas absorption", "dB/km", gas_db_per_km, 0.0, 1000.0)?;
        }
        Ok(())
    }

    /// Extinction by haze and gases, dB/km.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::beam::{Air, VisibilityModel};
    /// let air = Air { visibility_m: 10_000.0, model: VisibilityModel::Kruse, gas_db_per_km: Some(0.0) };
    /// assert!((air.extinction_db_per_km(1064e-9)? - 0.7205).abs() < 1e-4);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn extinction_db_per_km(&self, wavelength_m: f64) -> Result<f64, OpticsError> {
        self.check()?;
        let haze_db_per_km = haze_db_per_km(self.visibility_m, wavelength_m, self.model)?;
        let gas_db_per_km = match self.gas_db_per_km {
            Some(gas_db_per_km) => gas_db_per_km,
            None => absorption_db_per_km(wavelength_m)?,
        };
        Ok(haze_db_per_km + gas_db_per_km)
    }
}

/// Extinction by haze, dB/km: `3.912/V (λ/550 nm)^−q · 10/ln 10`, V in km. The number 3.912/V itself is nepers, not
/// decibels. Below 0.5 km take it for fog of unknown droplets; then and above 550 nm [`VisibilityModel::Kim`] is the
/// larger.
///
/// # Errors
/// [`OpticsError::OutOfRange`].
///
/// # Examples
/// ```
/// use beamstay_optics::beam::{VisibilityModel, extinction::haze_db_per_km};
/// assert!((haze_db_per_km(1000.0, 808e-9, VisibilityModel::Kim)? - 14.0171).abs() < 1e-4);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn haze_db_per_km(
    visibility_m: f64,
    wavelength_m: f64,
    model: VisibilityModel,
) -> Result<f64, OpticsError> {
    let visibility_km = 1e-3 * in_range("visibility", "m", visibility_m, 10.0, 5e5)?;
    let relative = check_wavelength(wavelength_m)? / 550e-9;
    let of_exponent = |exponent: f64| 10.0 / LN_10 * KOSCHMIEDER / visibility_km * relative.powf(-exponent);
    Ok(match model {
        VisibilityModel::Kruse => of_exponent(kruse_exponent(visibility_km)),
        VisibilityModel::Kim => of_exponent(kim_exponent(visibility_km)),
        VisibilityModel::Larger => {
            let (kruse, kim) = (kruse_exponent(visibility_km), kim_exponent(visibility_km));
            of_exponent(if relative > 1.0 { kruse.min(kim) } else { kruse.max(kim) })
        }
    })
}

fn kruse_exponent(visibility_km: f64) -> f64 {
    match visibility_km {
        v if v > 50.0 => 1.6,
        v if v > 6.0 => 1.3,
        v => 0.585 * v.cbrt(),
    }
}

fn kim_exponent(visibility_km: f64) -> f64 {
    match visibility_km {
        v if v > 6.0 => kruse_exponent(v),
        v if v > 1.0 => 0.16 * v + 0.34,
        v if v > 0.5 => v - 0.5,
        _ => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_default_is_the_more_pessimistic_of_the_two() {
        for visibility_m in [100.0, 400.0, 700.0, 1500.0, 3000.0, 5000.0, 8000.0, 60_000.0] {
            for wavelength_m in [450e-9, 808e-9, 1550e-9] {
                let at = |model| haze_db_per_km(visibility_m, wavelength_m, model).unwrap();
                let larger = at(VisibilityModel::Kruse).max(at(VisibilityModel::Kim));
                assert!((at(VisibilityModel::Larger) - larger).abs() < 1e-12 * larger);
            }
        }
    }

    #[test]
    fn at_550_nm_visibility_alone_decides() {
        for model in [VisibilityModel::Kruse, VisibilityModel::Kim, VisibilityModel::Larger] {
            assert!((haze_db_per_km(3912.0, 550e-9, model).unwrap() - 10.0 / LN_10).abs() < 1e-12);
        }
    }

    #[test]
    fn a_given_gas_absorption_replaces_the_table() {
        let air = Air::of_visibility(23_000.0).unwrap();
        let given = Air { gas_db_per_km: Some(0.0), ..air };
        let difference =
            air.extinction_db_per_km(976e-9).unwrap() - given.extinction_db_per_km(976e-9).unwrap();
        assert!((difference - absorption_db_per_km(976e-9).unwrap()).abs() < 1e-12);
        assert!(given.extinction_db_per_km(2.0e-6).is_ok() && air.extinction_db_per_km(2.0e-6).is_err());
    }

    #[test]
    fn arguments_out_of_range_are_refused() {
        for visibility_m in [0.0, 9.9, 5.1e5, f64::NAN] {
            assert!(Air::of_visibility(visibility_m).is_err(), "{visibility_m}");
            assert!(haze_db_per_km(visibility_m, 808e-9, VisibilityModel::Kim).is_err(), "{visibility_m}");
        }
        let air = Air { gas_db_per_km: Some(-0.1), ..Air::of_visibility(1e4).unwrap() };
        assert!(air.extinction_db_per_km(808e-9).is_err());
    }
}
