//! Fresh and sea water at a depth.

use beamstay_numerics::{
    constants::{STANDARD_GRAVITY_M_S2, ZERO_CELSIUS_K},
    domain::in_range,
};

use crate::{error::EnvironmentError, fluid::Fluid};

/// Greatest depth at which [`Water::fluid`] holds, m.
pub const GREATEST_DEPTH_M: f64 = 6_000.0;

const STANDARD_PRESSURE_PA: f64 = 101_325.0;
const PASCAL_PER_BAR: f64 = 1e5;
/// Compressibility of water near the surface, 1/Pa; only for the pressure at depth.
const COMPRESSIBILITY_PER_PA: f64 = 4.4e-10;

/// Water of one temperature and salinity at every depth.
///
/// | property | source | against TEOS-10 or IAPWS |
/// |---|---|---|
/// | density | UNESCO equation of state 1980 (Millero and Poisson, Deep-Sea Res. 28A, 1981; Fofonoff and Millard, UNESCO Tech. Pap. Mar. Sci. 44, 1983) | 1e-5, 3e-5 at 6 km |
/// | viscosity | Sharqawy, Lienhard and Zubair, Desalin. Water Treat. 16 (2010), eqs 22 and 23 | 2e-4 fresh, 1.5 % sea |
/// | conductivity | Jamieson and Tudhope, Desalination 8 (1970) | 2 % |
/// | specific heat | Jamieson et al., Desalination 7 (1969) | 0.3 % at the surface |
/// | speed of sound | Chen and Millero, J. Acoust. Soc. Am. 62 (1977) | 0.4 m/s at the surface, 1.5 m/s at 6 km |
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    /// Temperature, °C.
    pub temperature_c: f64,
    /// Practical salinity (PSS-78), a pure number near grams of salt per kilogram: 0 fresh, 35 open sea.
    pub practical_salinity: f64,
}

impl Water {
    /// Water of any salinity: temperature −2 to 40 °C (fresh water from 0), practical salinity 0 to 42.
    ///
    /// # Errors
    /// [`EnvironmentError::OutOfRange`] outside these ranges; water below its freezing point is refused.
    ///
    /// # Examples
    /// ```
    /// use beamstay_environment::Water;
    /// let brackish = Water::new(10.0, 8.0).unwrap().fluid(0.0);
    /// assert!((brackish.density_kg_m3 - 1005.95).abs() < 0.05);
    /// assert!(Water::new(-1.0, 8.0).is_err(), "it would be ice");
    /// ```
    pub fn new(temperature_c: f64, practical_salinity: f64) -> Result<Self, EnvironmentError> {
        in_range("salinity", "", practical_salinity, 0.0, 42.0)?;
        in_range("water temperature", "°C", temperature_c, freezing_point_c(practical_salinity), 40.0)?;
        Ok(Self { temperature_c, practical_salinity })
    }

    /// Fresh water, 0 to 40 °C.
    ///
    /// # Errors
    /// [`EnvironmentError::OutOfRange`] outside this range.
    ///
    /// # Examples
    /// ```
    /// let lake = beamstay_environment::Water::fresh(20.0).unwrap().fluid(0.0);
    /// assert!((lake.density_kg_m3 - 998.207).abs() < 0.003);
    /// ```
    pub fn fresh(temperature_c: f64) -> Result<Self, EnvironmentError> {
        Self::new(temperature_c, 0.0)
    }

    /// Sea water of practical salinity 35, −1.9 to 40 °C.
    ///
    /// # Errors
    /// [`EnvironmentError::OutOfRange`] outside this range.
    ///
    /// # Examples
    /// ```
    /// let sea = beamstay_environment::Water::sea(15.0).unwrap().fluid(0.0);
    /// assert!((sea.density_kg_m3 - 1025.976).abs() < 0.01);
    /// assert!((sea.kinematic_viscosity_m2_s() / 1.189e-6 - 1.0).abs() < 0.015);
    /// ```
    pub fn sea(temperature_c: f64) -> Result<Self, EnvironmentError> {
        Self::new(temperature_c, 35.0)
    }

    /// The water `depth_m` below the surface, held at the ends of 0 to [`GREATEST_DEPTH_M`].
    ///
    /// Viscosity, conductivity and specific heat are those at the surface (1 km of depth changes them by less than
    /// 2 %).
    pub fn fluid(&self, depth_m: f64) -> Fluid {
        let (temperature_c, salinity) = (self.temperature_c, self.practical_salinity);
        let surface_kg_m3 = surface_density(temperature_c, salinity);
        let incompressible_pa = surface_kg_m3 * STANDARD_GRAVITY_M_S2 * depth_m.clamp(0.0, GREATEST_DEPTH_M);
        let gauge_pa = incompressible_pa * (1.0 + 0.5 * COMPRESSIBILITY_PER_PA * incompressible_pa);
        let gauge_bar = gauge_pa / PASCAL_PER_BAR;
        let bulk_modulus_bar = secant_bulk_modulus_bar(temperature_c, salinity, gauge_bar);
        Fluid {
            temperature_k: temperature_c + ZERO_CELSIUS_K,
            pressure_pa: STANDARD_PRESSURE_PA + gauge_pa,
            density_kg_m3: surface_kg_m3 / (1.0 - gauge_bar / bulk_modulus_bar),
            dynamic_viscosity_pa_s: viscosity(temperature_c, salinity),
            thermal_conductivity_w_per_m_k: conductivity(temperature_c, salinity),
            specific_heat_j_per_kg_k: specific_heat(temperature_c, salinity),
            speed_of_sound_m_s: speed_of_sound(temperature_c, salinity, gauge_bar),
        }
    }
}

/// Value at `x` of the polynomial with coefficients of rising powers.
fn poly<const N: usize>(x: f64, coefficients: [f64; N]) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

/// Freezing point of sea water at the surface, °C (Millero 1978, in Fofonoff and Millard 1983); 0 for fresh water.
fn freezing_point_c(salinity: f64) -> f64 {
    salinity * (-0.0575 + 1.710_523e-3 * salinity.sqrt() - 2.154_996e-4 * salinity)
}

/// Temperature on the scale of 1968, °C, which the UNESCO polynomials use.
fn ipts68_c(temperature_c: f64) -> f64 {
    1.000_24 * temperature_c
}

/// Density at the surface, kg/m³ (Millero and Poisson 1981).
fn surface_density(temperature_c: f64, salinity: f64) -> f64 {
    let t = ipts68_c(temperature_c);
    let fresh =
        poly(t, [999.842_594, 6.793_952e-2, -9.095_290e-3, 1.001_685e-4, -1.120_083e-6, 6.536_332e-9]);
    let linear = poly(t, [8.244_93e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9]);
    let root = poly(t, [-5.724_66e-3, 1.0227e-4, -1.6546e-6]);
    fresh + salinity * (linear + salinity.sqrt() * root + 4.8314e-4 * salinity)
}

/// Secant bulk modulus, bar, at a gauge pressure (UNESCO 1980).
fn secant_bulk_modulus_bar(temperature_c: f64, salinity: f64, gauge_bar: f64) -> f64 {
    let t = ipts68_c(temperature_c);
    let root = salinity.sqrt();
    let at_surface = poly(t, [19_652.21, 148.4206, -2.327_105, 1.360_477e-2, -5.155_288e-5])
        + salinity * poly(t, [54.6746, -0.603_459, 1.099_87e-2, -6.1670e-5])
        + salinity * root * poly(t, [7.944e-2, 1.6483e-2, -5.3009e-4]);
    let linear = poly(t, [3.239_908, 1.437_13e-3, 1.160_92e-4, -5.779_05e-7])
        + salinity * (poly(t, [2.2838e-3, -1.0981e-5, -1.6078e-6]) + 1.910_75e-4 * root);
    let square = poly(t, [8.509_35e-5, -6.122_93e-6, 5.2787e-8])
        + salinity * poly(t, [-9.9348e-7, 2.0816e-8, 9.1697e-10]);
    at_surface + gauge_bar * (linear + gauge_bar * square)
}

/// Dynamic viscosity, Pa·s (Sharqawy et al. 2010, eqs 22 and 23).
fn viscosity(temperature_c: f64, salinity: f64) -> f64 {
    let fresh = 4.2844e-5 + 1.0 / (0.157 * (temperature_c + 64.993).powi(2) - 91.296);
    let salt = reference_salinity_kg_per_kg(salinity);
    let linear = poly(temperature_c, [1.541, 1.998e-2, -9.52e-5]);
    let square = poly(temperature_c, [7.974, -7.561e-2, 4.724e-4]);
    fresh * (1.0 + salt * (linear + square * salt))
}

/// Mass of salt per mass of sea water (TEOS-10 reference salinity: 35.16504 g/kg at practical salinity 35).
fn reference_salinity_kg_per_kg(salinity: f64) -> f64 {
    salinity * 35.165_04e-3 / 35.0
}

/// Thermal conductivity, W/(m·K) (Jamieson and Tudhope 1970).
fn conductivity(temperature_c: f64, salinity: f64) -> f64 {
    let temperature_k = temperature_c + ZERO_CELSIUS_K;
    let reduced = (2.3 - (343.5 + 0.037 * salinity) / temperature_k)
        * (1.0 - temperature_k / (647.0 + 0.03 * salinity)).cbrt();
    1e-3 * 10_f64.powf((240.0 + 0.0002 * salinity).log10() + 0.434 * reduced)
}

/// Specific heat at constant pressure, J/(kg·K) (Jamieson et al. 1969).
fn specific_heat(temperature_c: f64, salinity: f64) -> f64 {
    let temperature_k = temperature_c + ZERO_CELSIUS_K;
    let coefficients = [
        poly(salinity, [5.328, -9.76e-2, 4.04e-4]),
        poly(salinity, [-6.913e-3, 7.351e-4, -3.15e-6]),
        poly(salinity, [9.6e-6, -1.927e-6, 8.23e-9]),
        poly(salinity, [2.5e-9, 1.666e-9, -7.125e-12]),
    ];
    1e3 * poly(temperature_k, coefficients)
}

/// Speed of sound, m/s (Chen and Millero 1977, with the coefficients of Wong and Zhu 1995 for temperatures on the scale of 1990).
fn speed_of_sound(temperature_c: f64, salinity: f64, gauge_bar: f64) -> f64 {
    let (t, p) = (temperature_c, gauge_bar);
    let fresh = [
        poly(t, [1402.388, 5.038_30, -5.810_90e-2, 3.3432e-4, -1.477_97e-6, 3.1419e-9]),
        poly(t, [0.153_563, 6.8999e-4, -8.1829e-6, 1.3632e-7, -6.1260e-10]),
        poly(t, [3.1260e-5, -1.7111e-6, 2.5986e-8, -2.5353e-10, 1.0415e-12]),
        poly(t, [-9.7729e-9, 3.8513e-10, -2.3654e-12]),
    ];
    let linear = [
        poly(t, [1.389, -1.262e-2, 7.166e-5, 2.008e-6, -3.21e-8]),
        poly(t, [9.4742e-5, -1.2583e-5, -6.4928e-8, 1.0515e-8, -2.0142e-10]),
        poly(t, [-3.9064e-7, 9.1061e-9, -1.6009e-10, 7.994e-12]),
        poly(t, [1.100e-10, 6.651e-12, -3.391e-13]),
    ];
    let root = poly(p, [poly(t, [-1.922e-2, -4.42e-5]), poly(t, [7.3637e-5, 1.7950e-7])]);
    let square = poly(p, [1.727e-3, -7.9836e-6]);
    poly(p, fresh) + salinity * (poly(p, linear) + salinity.sqrt() * root + salinity * square)
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "values that are held must be held exactly")]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn val_unesco_44_check_values() {
        // Fofonoff and Millard (1983), equation of state: S 35, T68 25 °C: 1023.343 kg/m³ at 0 bar,
        // 1067.838 at 1000 bar for S 35, 5 °C is 1069.489.
        let t90_c = |t68_c: f64| t68_c / 1.000_24;
        assert!((surface_density(t90_c(25.0), 35.0) - 1023.343).abs() < 1e-3);
        assert!((surface_density(t90_c(5.0), 35.0) - 1027.675).abs() < 1e-3);
        let density = |t: f64| {
            surface_density(t90_c(t), 35.0) / (1.0 - 1000.0 / secant_bulk_modulus_bar(t90_c(t), 35.0, 1000.0))
        };
        assert!((density(5.0) - 1069.489).abs() < 1e-3);
        assert!((density(25.0) - 1062.538).abs() < 1e-3);
    }

    #[test]
    fn val_unesco_44_check_value_of_the_speed_of_sound() {
        // Fofonoff and Millard (1983): S 40, T68 40 °C, 10,000 dbar: 1731.995 m/s. The coefficients for the scale of 1990 are
        // those of 1977 refitted and rounded, which leaves 0.01 m/s there; the temperature of the wrong scale would make 0.02.
        let found = speed_of_sound(40.0 / 1.000_24, 40.0, 1000.0);
        assert!((found - 1731.995).abs() < 1e-2, "{found}");
    }

    #[test]
    fn depth_is_held_at_its_ends() {
        let sea = Water::sea(4.0).unwrap();
        assert_eq!(sea.fluid(-3.0), sea.fluid(0.0));
        assert_eq!(sea.fluid(9_000.0), sea.fluid(GREATEST_DEPTH_M));
        let kilometre = sea.fluid(1_000.0);
        assert!((kilometre.pressure_pa / (101_325.0 + 1.0107e7) - 1.0).abs() < 3e-3);
    }

    #[test]
    fn ice_brine_and_steam_are_refused() {
        assert!(Water::fresh(-0.01).is_err());
        assert!(Water::sea(-1.9).is_ok());
        assert!(Water::sea(-2.0).is_err());
        assert!(Water::new(20.0, 42.1).is_err());
        assert!(Water::fresh(40.1).is_err());
        assert!(Water::fresh(f64::NAN).is_err());
    }

    proptest! {
        #[test]
        fn prop_salt_and_depth_make_water_denser_and_faster(
            t in 0.0..40.0f64, salinity in 0.0..41.0f64, depth in 0.0..5_900.0f64,
        ) {
            let here = Water::new(t, salinity).unwrap().fluid(depth);
            let deeper = Water::new(t, salinity).unwrap().fluid(depth + 10.0);
            let saltier = Water::new(t, salinity + 1.0).unwrap().fluid(depth);
            prop_assert!(here.check().is_ok());
            prop_assert!(deeper.density_kg_m3 > here.density_kg_m3);
            prop_assert!(deeper.speed_of_sound_m_s > here.speed_of_sound_m_s);
            prop_assert!(saltier.density_kg_m3 > here.density_kg_m3);
            prop_assert!(saltier.dynamic_viscosity_pa_s > here.dynamic_viscosity_pa_s);
        }
    }
}
