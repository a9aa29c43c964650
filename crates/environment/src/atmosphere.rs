//! Air at a height above a site: the standard atmosphere, a warmer or colder day, dry or humid.

use beamstay_numerics::{
    constants::{STANDARD_GRAVITY_M_S2, ZERO_CELSIUS_K},
    domain::in_range,
};

use crate::{error::EnvironmentError, fluid::Fluid};

/// Lowest altitude above sea level at which [`Atmosphere`] holds, m: where the tables of the U.S. Standard Atmosphere 1976 begin,
/// far below any site, so that no tether that hangs below one meets the end of the atmosphere.
pub const LOWEST_ALTITUDE_M: f64 = -5_000.0;
/// Highest altitude above sea level at which [`Atmosphere`] holds, m: the tropopause.
pub const HIGHEST_ALTITUDE_M: f64 = 11_000.0;
/// Lowest and highest site above sea level, m.
const SITES_M: (f64, f64) = (-500.0, 9_000.0);

/// Specific gas constant of dry air, J/(kg·K): 8314.32 / 28.9644, the values of the U.S. Standard Atmosphere 1976.
pub const GAS_CONSTANT_DRY_AIR_J_PER_KG_K: f64 = 8_314.32 / 28.9644;
/// Specific gas constant of water vapour, J/(kg·K) (8314.46 / 18.01527).
const GAS_CONSTANT_VAPOUR_J_PER_KG_K: f64 = 461.52;
/// Specific heat of water vapour near 300 K, J/(kg·K).
const SPECIFIC_HEAT_VAPOUR_J_PER_KG_K: f64 = 1_864.0;
/// Ratio of specific heats of dry air in the standard atmosphere.
const HEAT_RATIO_DRY_AIR: f64 = 1.4;
const SEA_LEVEL_TEMPERATURE_K: f64 = 288.15;
const SEA_LEVEL_PRESSURE_PA: f64 = 101_325.0;
const LAPSE_K_PER_M: f64 = 0.0065;
/// Radius of the Earth that turns geometric into geopotential altitude, m (U.S. Standard Atmosphere 1976).
const EARTH_RADIUS_M: f64 = 6_356_766.0;
/// g₀ M / (R* L), 5.25588.
const PRESSURE_EXPONENT: f64 = STANDARD_GRAVITY_M_S2 / (GAS_CONSTANT_DRY_AIR_J_PER_KG_K * LAPSE_K_PER_M);

/// The air above a site.
///
/// U.S. Standard Atmosphere 1976 (NOAA-S/T 76-1562; ISO 2533:1975) below the tropopause, entered with geometric
/// altitude. A day that is warmer or colder than standard shifts the temperature by one offset at every height and
/// leaves the pressure at each geometric height at its standard value: the convention of aircraft performance
/// charts. (The hydrostatic pressure of a warm column falls more slowly with height: 0.08 % of the density per 100 m
/// above the place where the pressure is known, for 20 K.)
///
/// Altitudes outside [`LOWEST_ALTITUDE_M`]..=[`HIGHEST_ALTITUDE_M`] are taken at the nearer end of that range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Atmosphere {
    /// Elevation of the site above mean sea level, m.
    pub site_elevation_m: f64,
    /// Temperature above standard, K; the same at every height.
    pub temperature_offset_k: f64,
    /// Relative humidity over water, 0 to 1, the same at every height; `None` is dry air.
    pub relative_humidity_ratio: Option<f64>,
}

impl Atmosphere {
    /// Dry air above a site at `site_elevation_m` (−500 to 9000 m), `temperature_offset_k` (−60 to 60 K) warmer than
    /// standard.
    ///
    /// # Errors
    /// [`EnvironmentError::OutOfRange`] for an argument outside its range.
    ///
    /// # Examples
    /// ```
    /// use beamstay_environment::Atmosphere;
    /// let air = Atmosphere::new(1000.0, 0.0).unwrap().at(0.0);
    /// assert!((air.density_kg_m3 - 1.11166).abs() < 1e-5);
    /// ```
    pub fn new(site_elevation_m: f64, temperature_offset_k: f64) -> Result<Self, EnvironmentError> {
        in_range("site elevation", "m", site_elevation_m, SITES_M.0, SITES_M.1)?;
        in_range("temperature offset", "K", temperature_offset_k, -60.0, 60.0)?;
        Ok(Self { site_elevation_m, temperature_offset_k, relative_humidity_ratio: None })
    }

    /// The same air with a relative humidity, 0 to 1. Humid air is lighter: 1.9 % at 35 °C and 90 %.
    ///
    /// # Errors
    /// [`EnvironmentError::OutOfRange`] outside 0 to 1.
    ///
    /// # Examples
    /// ```
    /// use beamstay_environment::Atmosphere;
    /// let dry = Atmosphere::new(0.0, 20.0).unwrap();
    /// let humid = dry.with_relative_humidity(0.9).unwrap();
    /// let ratio = humid.at(0.0).density_kg_m3 / dry.at(0.0).density_kg_m3;
    /// assert!((ratio - 0.981).abs() < 1e-3);
    /// ```
    pub fn with_relative_humidity(self, ratio: f64) -> Result<Self, EnvironmentError> {
        in_range("relative humidity", "", ratio, 0.0, 1.0)?;
        Ok(Self { relative_humidity_ratio: Some(ratio), ..self })
    }

    /// Repeats the checks of the constructors, for a value whose fields were set by hand.
    ///
    /// # Errors
    /// [`EnvironmentError::OutOfRange`] as the constructors.
    pub fn check(&self) -> Result<(), EnvironmentError> {
        let dry = Self::new(self.site_elevation_m, self.temperature_offset_k)?;
        self.relative_humidity_ratio.map_or(Ok(dry), |ratio| dry.with_relative_humidity(ratio)).map(|_| ())
    }

    /// The air `height_above_site_m` above the site.
    ///
    /// # Examples
    /// ```
    /// use beamstay_environment::Atmosphere;
    /// let air = Atmosphere::new(0.0, 0.0).unwrap().at(100.0);
    /// assert!((air.temperature_k - 287.5).abs() < 1e-4 && (air.pressure_pa - 100_129.46).abs() < 0.1);
    /// ```
    pub fn at(&self, height_above_site_m: f64) -> Fluid {
        let (standard_k, pressure_pa) = standard(self.site_elevation_m + height_above_site_m);
        let temperature_k = standard_k + self.temperature_offset_k;
        match self.relative_humidity_ratio {
            None => dry_air(temperature_k, pressure_pa),
            Some(humidity_ratio) => humid_air(temperature_k, pressure_pa, humidity_ratio),
        }
    }

    /// Density altitude of the air `height_above_site_m` above the site: the geometric altitude, m above sea level,
    /// at which the standard atmosphere has the same density.
    ///
    /// # Examples
    /// ```
    /// use beamstay_environment::Atmosphere;
    /// let hot = Atmosphere::new(0.0, 20.0).unwrap();
    /// assert!((hot.density_altitude_m(0.0) - 685.0).abs() < 10.0);
    /// ```
    pub fn density_altitude_m(&self, height_above_site_m: f64) -> f64 {
        geometric_altitude_of_density(self.at(height_above_site_m).density_kg_m3)
    }
}

/// Dry air as an ideal gas at a measured temperature (150 to 400 K) and pressure (10 to 120 kPa).
///
/// Density p/(R T); Sutherland viscosity 1.458e-6 T^1.5/(T + 110.4) and conductivity
/// 2.64638e-3 T^1.5/(T + 245.4·10^(−12/T)) of the U.S. Standard Atmosphere 1976; specific heat 3.5 R.
///
/// # Errors
/// [`EnvironmentError::OutOfRange`] outside the ranges named.
///
/// # Examples
/// ```
/// use beamstay_environment::atmosphere::air;
/// let air = air(308.15, 85_000.0).unwrap();
/// assert!((air.density_kg_m3 - 0.960937).abs() < 1e-6);
/// ```
pub fn air(temperature_k: f64, pressure_pa: f64) -> Result<Fluid, EnvironmentError> {
    in_range("air temperature", "K", temperature_k, 150.0, 400.0)?;
    in_range("air pressure", "Pa", pressure_pa, 1e4, 1.2e5)?;
    Ok(dry_air(temperature_k, pressure_pa))
}

/// As [`air`], with a relative humidity over water, 0 to 1.
///
/// A mixture of two ideal gases; vapour pressure by the Magnus form 610.94 exp(17.625 t/(t + 243.04)) Pa (Alduchov and
/// Eskridge, J. Appl. Meteorol. 35, 1996), −40 to 50 °C. Density is within 8e-4 of CIPM-2007. Viscosity and
/// conductivity stay those of dry air (1 % at most).
///
/// # Errors
/// [`EnvironmentError::OutOfRange`] as [`air`], and for a humidity outside 0 to 1.
///
/// # Examples
/// ```
/// use beamstay_environment::atmosphere::air_with_humidity;
/// let air = air_with_humidity(293.15, 101_325.0, 0.5).unwrap();
/// assert!((air.density_kg_m3 - 1.19884).abs() < 1e-4);
/// ```
pub fn air_with_humidity(
    temperature_k: f64,
    pressure_pa: f64,
    relative_humidity_ratio: f64,
) -> Result<Fluid, EnvironmentError> {
    air(temperature_k, pressure_pa)?;
    in_range("relative humidity", "", relative_humidity_ratio, 0.0, 1.0)?;
    Ok(humid_air(temperature_k, pressure_pa, relative_humidity_ratio))
}

/// Geometric altitude, m above sea level, at which the standard atmosphere has `density_kg_m3` (0.36 to 2).
///
/// # Errors
/// [`EnvironmentError::OutOfRange`] outside that range.
///
/// # Examples
/// ```
/// let altitude_m = beamstay_environment::atmosphere::density_altitude_m(0.960937).unwrap();
/// assert!((altitude_m - 2459.1).abs() < 0.1);
/// ```
pub fn density_altitude_m(density_kg_m3: f64) -> Result<f64, EnvironmentError> {
    in_range("air density", "kg/m³", density_kg_m3, 0.36, 2.0)?;
    Ok(geometric_altitude_of_density(density_kg_m3))
}

/// Standard temperature, K, and pressure, Pa, at a geometric altitude, held at the ends of the range.
fn standard(altitude_m: f64) -> (f64, f64) {
    let altitude_m = altitude_m.clamp(LOWEST_ALTITUDE_M, HIGHEST_ALTITUDE_M);
    let geopotential_m = EARTH_RADIUS_M * altitude_m / (EARTH_RADIUS_M + altitude_m);
    let temperature_k = SEA_LEVEL_TEMPERATURE_K - LAPSE_K_PER_M * geopotential_m;
    let pressure_pa =
        SEA_LEVEL_PRESSURE_PA * (temperature_k / SEA_LEVEL_TEMPERATURE_K).powf(PRESSURE_EXPONENT);
    (temperature_k, pressure_pa)
}

fn geometric_altitude_of_density(density_kg_m3: f64) -> f64 {
    let sea_level_kg_m3 = SEA_LEVEL_PRESSURE_PA / (GAS_CONSTANT_DRY_AIR_J_PER_KG_K * SEA_LEVEL_TEMPERATURE_K);
    let temperature_ratio = (density_kg_m3 / sea_level_kg_m3).powf(1.0 / (PRESSURE_EXPONENT - 1.0));
    let geopotential_m = SEA_LEVEL_TEMPERATURE_K / LAPSE_K_PER_M * (1.0 - temperature_ratio);
    EARTH_RADIUS_M * geopotential_m / (EARTH_RADIUS_M - geopotential_m)
}

fn dry_air(temperature_k: f64, pressure_pa: f64) -> Fluid {
    let root_cubed = temperature_k * temperature_k.sqrt();
    let gas_constant = GAS_CONSTANT_DRY_AIR_J_PER_KG_K;
    Fluid {
        temperature_k,
        pressure_pa,
        density_kg_m3: pressure_pa / (gas_constant * temperature_k),
        dynamic_viscosity_pa_s: 1.458e-6 * root_cubed / (temperature_k + 110.4),
        thermal_conductivity_w_per_m_k: 2.646_38e-3 * root_cubed
            / (temperature_k + 245.4 * 10_f64.powf(-12.0 / temperature_k)),
        specific_heat_j_per_kg_k: HEAT_RATIO_DRY_AIR / (HEAT_RATIO_DRY_AIR - 1.0) * gas_constant,
        speed_of_sound_m_s: (HEAT_RATIO_DRY_AIR * gas_constant * temperature_k).sqrt(),
    }
}

fn humid_air(temperature_k: f64, pressure_pa: f64, humidity_ratio: f64) -> Fluid {
    let dry = dry_air(temperature_k, pressure_pa);
    let temperature_c = temperature_k - ZERO_CELSIUS_K;
    let saturation_pa = 610.94 * (17.625 * temperature_c / (temperature_c + 243.04)).exp();
    // Hot thin air cannot hold more vapour than its own pressure.
    let vapour_pa = (humidity_ratio * saturation_pa).min(pressure_pa);
    let vapour_kg_m3 = vapour_pa / (GAS_CONSTANT_VAPOUR_J_PER_KG_K * temperature_k);
    let dry_kg_m3 = (pressure_pa - vapour_pa) / (GAS_CONSTANT_DRY_AIR_J_PER_KG_K * temperature_k);
    let density_kg_m3 = dry_kg_m3 + vapour_kg_m3;
    let vapour_share = vapour_kg_m3 / density_kg_m3;
    let mix = |of_dry: f64, of_vapour: f64| of_dry + vapour_share * (of_vapour - of_dry);
    let specific_heat = mix(dry.specific_heat_j_per_kg_k, SPECIFIC_HEAT_VAPOUR_J_PER_KG_K);
    let gas_constant = mix(GAS_CONSTANT_DRY_AIR_J_PER_KG_K, GAS_CONSTANT_VAPOUR_J_PER_KG_K);
    let heat_ratio = specific_heat / (specific_heat - gas_constant);
    Fluid {
        density_kg_m3,
        specific_heat_j_per_kg_k: specific_heat,
        speed_of_sound_m_s: (heat_ratio * gas_constant * temperature_k).sqrt(),
        ..dry
    }
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "values that are held must be held exactly")]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn outside_the_range_the_end_is_held() {
        let sea = Atmosphere::new(0.0, 0.0).unwrap();
        assert_eq!(sea.at(20_000.0), sea.at(HIGHEST_ALTITUDE_M));
        assert_eq!(sea.at(-6_000.0), sea.at(LOWEST_ALTITUDE_M));
        assert!(sea.at(HIGHEST_ALTITUDE_M).density_kg_m3 > 0.36);
    }

    #[test]
    fn bad_sites_are_refused() {
        assert!(Atmosphere::new(f64::NAN, 0.0).is_err());
        assert!(Atmosphere::new(9_001.0, 0.0).is_err());
        assert!(Atmosphere::new(0.0, 61.0).is_err());
        assert!(Atmosphere::new(0.0, 0.0).unwrap().with_relative_humidity(1.01).is_err());
        let by_hand = Atmosphere {
            site_elevation_m: 0.0,
            temperature_offset_k: 0.0,
            relative_humidity_ratio: Some(f64::NAN),
        };
        assert!(by_hand.check().is_err());
    }

    #[test]
    fn humidity_of_zero_is_dry_air() {
        let dry = Atmosphere::new(300.0, 5.0).unwrap();
        let zero = dry.with_relative_humidity(0.0).unwrap();
        let (a, b) = (dry.at(50.0), zero.at(50.0));
        assert!((a.density_kg_m3 / b.density_kg_m3 - 1.0).abs() < 1e-14);
        assert!((a.speed_of_sound_m_s / b.speed_of_sound_m_s - 1.0).abs() < 1e-14);
    }

    proptest! {
        #[test]
        fn prop_density_altitude_inverts_the_standard_atmosphere(altitude_m in -5_000.0..11_000.0f64) {
            let density = Atmosphere::new(0.0, 0.0).unwrap().at(altitude_m).density_kg_m3;
            prop_assert!((density_altitude_m(density).unwrap() - altitude_m).abs() < 1e-6);
        }

        #[test]
        fn prop_air_is_finite_and_thins_with_height_heat_and_humidity(
            site in -500.0..9_000.0f64, offset in -60.0..59.0f64, humidity in 0.0..0.99f64, height in 0.0..1_900.0f64,
        ) {
            let air = Atmosphere::new(site, offset).unwrap().with_relative_humidity(humidity).unwrap();
            let here = air.at(height);
            prop_assert!(here.density_kg_m3 > 0.2 && here.density_kg_m3 < 2.5);
            prop_assert!(here.speed_of_sound_m_s.is_finite() && here.thermal_conductivity_w_per_m_k > 0.0);
            prop_assert!(air.at(height + 10.0).density_kg_m3 < here.density_kg_m3);
            let warmer = Atmosphere { temperature_offset_k: offset + 1.0, ..air };
            prop_assert!(warmer.at(height).density_kg_m3 < here.density_kg_m3);
            let wetter = Atmosphere { relative_humidity_ratio: Some(humidity + 0.01), ..air };
            prop_assert!(wetter.at(height).density_kg_m3 < here.density_kg_m3);
        }
    }
}
