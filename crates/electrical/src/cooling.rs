//! Heat that a thin round wire gives to the air: wind, free convection and radiation.
//!
//! Default is the steady-state method of IEEE Std 738 (2012/2023), written for overhead lines of 10 to 40 mm. For a wire
//! of a millimetre its forced laws agree with Churchill and Bernstein within 2 % in current from 1 m/s up; in
//! still air it underrates the wire by 12 to 17 % in current, which is the safe side.

use crate::ElectricalError;
use beamstay_numerics::{
    constants::STEFAN_BOLTZMANN_W_PER_M2_K4,
    constants::{STANDARD_GRAVITY_M_S2, ZERO_CELSIUS_K},
    domain::in_range,
    root::{Tolerance, bracketed_from},
};
use std::f64::consts::{FRAC_PI_2, PI};

/// Hottest surface that is looked for, K. Above it every insulation here is gone.
pub const HOTTEST_SURFACE_K: f64 = 900.0;

/// Prandtl number of air between −50 and 150 °C.
const PRANDTL: f64 = 0.706;

/// Air in the film around a warm wire (IEEE Std 738, section 4.5.6).
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct AirFilm {
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Dynamic viscosity, Pa·s.
    pub dynamic_viscosity_pa_s: f64,
    /// Thermal conductivity, W/(m·K).
    pub thermal_conductivity_w_per_m_k: f64,
    /// Mean of surface and air temperature, K.
    pub film_temp_k: f64,
}

impl AirFilm {
    /// Film between a surface and air at two temperatures (K) at an elevation (m).
    ///
    /// # Examples
    /// ```
    /// let film = beamstay_electrical::cooling::AirFilm::at(373.15, 313.15, 0.0);
    /// assert!((film.density_kg_m3 - 1.029).abs() < 1e-3);
    /// ```
    pub fn at(surface_temp_k: f64, ambient_temp_k: f64, elevation_m: f64) -> Self {
        let film_temp_k = 0.5 * (surface_temp_k + ambient_temp_k);
        let celsius = film_temp_k - ZERO_CELSIUS_K;
        let sea_level_kg_m3 = 1.293 - 1.525e-4 * elevation_m + 6.379e-9 * elevation_m * elevation_m;
        Self {
            density_kg_m3: sea_level_kg_m3 / (1.0 + 0.00367 * celsius),
            dynamic_viscosity_pa_s: 1.458e-6 * (celsius + 273.0).powf(1.5) / (celsius + 383.4),
            thermal_conductivity_w_per_m_k: 2.424e-2 + 7.477e-5 * celsius - 4.407e-9 * celsius * celsius,
            film_temp_k,
        }
    }
}

/// Which law of convection is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[non_exhaustive]
pub enum Convection {
    /// IEEE Std 738: the larger of two forced laws and the free one.
    #[default]
    Ieee738,
    /// Churchill and Bernstein (J. Heat Transfer 99, 1977) in wind, Churchill and Chu (Int. J. Heat Mass Transfer 18,
    /// 1975) in still air, the larger of both. Independent of the first.
    Churchill,
}

/// Air around a wire.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cooling {
    /// Air temperature, K; 200 to 350.
    pub ambient_temp_k: f64,
    /// Wind, m/s; 0 to 100.
    pub wind_m_s: f64,
    /// Angle between wind and wire, rad; 0 to π/2.
    pub wind_angle_rad: f64,
    /// Elevation above sea level, m; −500 to 6000.
    pub elevation_m: f64,
    /// Emissivity of the surface; 0 to 1.
    pub emissivity_ratio: f64,
    /// Sun on a surface that faces it, times the sine of the angle between ray and wire, times absorptivity, W/m²; 0 to
    /// 1400.
    pub absorbed_sun_w_per_m2: f64,
    /// Law of convection.
    pub convection: Convection,
}

impl Cooling {
    /// Shade at sea level, wind square to the wire, emissivity 0.9 (plastic), IEEE 738.
    ///
    /// # Errors
    /// As [`Cooling::check`].
    pub fn in_wind(ambient_temp_k: f64, wind_m_s: f64) -> Result<Self, ElectricalError> {
        Self {
            ambient_temp_k,
            wind_m_s,
            wind_angle_rad: FRAC_PI_2,
            elevation_m: 0.0,
            emissivity_ratio: 0.9,
            absorbed_sun_w_per_m2: 0.0,
            convection: Convection::Ieee738,
        }
        .check()
    }

    /// Returns the air if every number is inside the range given at its field.
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] otherwise.
    pub fn check(self) -> Result<Self, ElectricalError> {
        in_range("air temperature", "K", self.ambient_temp_k, 200.0, 350.0)?;
        in_range("wind on the wire", "m/s", self.wind_m_s, 0.0, 100.0)?;
        in_range("angle between wind and wire", "rad", self.wind_angle_rad, 0.0, FRAC_PI_2)?;
        in_range("elevation", "m", self.elevation_m, -500.0, 6000.0)?;
        in_range("emissivity", "", self.emissivity_ratio, 0.0, 1.0)?;
        in_range("absorbed sun", "W/m2", self.absorbed_sun_w_per_m2, 0.0, 1400.0)?;
        Ok(self)
    }

    /// Reynolds number of the wire, film properties.
    pub fn reynolds(&self, diameter_m: f64, surface_temp_k: f64) -> f64 {
        let film = AirFilm::at(surface_temp_k, self.ambient_temp_k, self.elevation_m);
        diameter_m * film.density_kg_m3 * self.wind_m_s / film.dynamic_viscosity_pa_s
    }

    /// The two forced laws of IEEE 738, W/m, low and high wind: `K(1.01 + 1.35 Re^0.52)·k·ΔT` and
    /// `K·0.754 Re^0.6·k·ΔT`, with K = 1.194 − cos φ + 0.194 cos 2φ + 0.368 sin 2φ.
    pub fn forced_ieee_w_per_m(&self, diameter_m: f64, surface_temp_k: f64) -> (f64, f64) {
        let film = AirFilm::at(surface_temp_k, self.ambient_temp_k, self.elevation_m);
        let reynolds = self.reynolds(diameter_m, surface_temp_k);
        let angle = self.wind_angle_rad;
        let direction = 1.194 - angle.cos() + 0.194 * (2.0 * angle).cos() + 0.368 * (2.0 * angle).sin();
        let scale_w_per_m =
            direction * film.thermal_conductivity_w_per_m_k * (surface_temp_k - self.ambient_temp_k);
        ((1.01 + 1.35 * reynolds.powf(0.52)) * scale_w_per_m, 0.754 * reynolds.powf(0.6) * scale_w_per_m)
    }

    /// Free convection of IEEE 738, W/m: 3.645·ρ^0.5·D^0.75·ΔT^1.25.
    pub fn free_ieee_w_per_m(&self, diameter_m: f64, surface_temp_k: f64) -> f64 {
        let film = AirFilm::at(surface_temp_k, self.ambient_temp_k, self.elevation_m);
        let excess_k = surface_temp_k - self.ambient_temp_k;
        3.645
            * film.density_kg_m3.sqrt()
            * diameter_m.powf(0.75)
            * excess_k.abs().powf(1.25).copysign(excess_k)
    }

    /// Nusselt number after Churchill: the larger of the one in wind (Bernstein) and the one in still air (Chu).
    pub fn nusselt_churchill(&self, diameter_m: f64, surface_temp_k: f64) -> f64 {
        let film = AirFilm::at(surface_temp_k, self.ambient_temp_k, self.elevation_m);
        let reynolds = self.reynolds(diameter_m, surface_temp_k);
        let kinematic_m2_s = film.dynamic_viscosity_pa_s / film.density_kg_m3;
        let excess_k = (surface_temp_k - self.ambient_temp_k).abs();
        let rayleigh = STANDARD_GRAVITY_M_S2 * excess_k * diameter_m.powi(3) * PRANDTL
            / (film.film_temp_k * kinematic_m2_s * kinematic_m2_s);
        churchill_bernstein(reynolds, PRANDTL).max(churchill_chu(rayleigh, PRANDTL))
    }

    /// Convection, W/m, by the chosen law.
    pub fn convection_w_per_m(&self, diameter_m: f64, surface_temp_k: f64) -> f64 {
        let excess_k = surface_temp_k - self.ambient_temp_k;
        match self.convection {
            Convection::Ieee738 => {
                let (low, high) = self.forced_ieee_w_per_m(diameter_m, surface_temp_k);
                let free = self.free_ieee_w_per_m(diameter_m, surface_temp_k);
                // In no wind the first law still gives 1.01·k·ΔT; the standard asks for free convection alone then.
                let forced = if self.wind_m_s > 0.0 { low.abs().max(high.abs()) } else { 0.0 };
                forced.max(free.abs()).copysign(excess_k)
            }
            Convection::Churchill => {
                let film = AirFilm::at(surface_temp_k, self.ambient_temp_k, self.elevation_m);
                let nusselt = self.nusselt_churchill(diameter_m, surface_temp_k);
                PI * film.thermal_conductivity_w_per_m_k * nusselt * excess_k
            }
        }
    }

    /// Radiation, W/m. By IEEE 738 `17.8·D·ε((T_s/100)⁴ − (T_a/100)⁴)` with 273 as zero of the Celsius scale; with
    /// [`Convection::Churchill`] the exact Stefan-Boltzmann law (0.2 % more).
    pub fn radiation_w_per_m(&self, diameter_m: f64, surface_temp_k: f64) -> f64 {
        match self.convection {
            Convection::Ieee738 => {
                let hundred_k = |temp_k: f64| ((temp_k - ZERO_CELSIUS_K + 273.0) / 100.0).powi(4);
                let difference = hundred_k(surface_temp_k) - hundred_k(self.ambient_temp_k);
                17.8 * diameter_m * self.emissivity_ratio * difference
            }
            Convection::Churchill => {
                let difference_k4 = surface_temp_k.powi(4) - self.ambient_temp_k.powi(4);
                PI * diameter_m * self.emissivity_ratio * STEFAN_BOLTZMANN_W_PER_M2_K4 * difference_k4
            }
        }
    }

    /// Sun taken up, W/m: absorbed flux times diameter.
    pub fn sun_w_per_m(&self, diameter_m: f64) -> f64 {
        self.absorbed_sun_w_per_m2 * diameter_m
    }

    /// Heat per metre that the wire itself may make while its surface is at `surface_temp_k`, W/m: convection plus
    /// radiation less sun. Rises with the surface temperature.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::Cooling;
    /// let air = Cooling::in_wind(313.15, 5.0).unwrap();
    /// assert!((air.heat_w_per_m(1.3e-3, 363.15) - 43.498).abs() < 0.01);
    /// ```
    pub fn heat_w_per_m(&self, diameter_m: f64, surface_temp_k: f64) -> f64 {
        self.convection_w_per_m(diameter_m, surface_temp_k)
            + self.radiation_w_per_m(diameter_m, surface_temp_k)
            - self.sun_w_per_m(diameter_m)
    }

    /// Surface temperature at which a wire of `diameter_m` (m, 1e-5 to 1) sheds `heat_w_per_m` (W/m, 0 or more), K;
    /// `None` if that is above [`HOTTEST_SURFACE_K`] or an argument is out of range.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::Cooling;
    /// let air = Cooling::in_wind(313.15, 5.0).unwrap();
    /// let surface_k = air.surface_temp_k(1.3e-3, air.heat_w_per_m(1.3e-3, 350.0)).unwrap();
    /// assert!((surface_k - 350.0).abs() < 1e-9);
    /// ```
    pub fn surface_temp_k(&self, diameter_m: f64, heat_w_per_m: f64) -> Option<f64> {
        if !(1e-5..=1.0).contains(&diameter_m) || heat_w_per_m.is_nan() || heat_w_per_m < 0.0 {
            return None;
        }
        let excess = |temp_k: f64| self.heat_w_per_m(diameter_m, temp_k) - heat_w_per_m;
        let (coolest, hottest) = (excess(self.ambient_temp_k), excess(HOTTEST_SURFACE_K));
        if coolest >= 0.0 {
            return Some(self.ambient_temp_k);
        }
        let tolerance = Tolerance { x_abs: 1e-11, ..Tolerance::default() };
        bracketed_from(excess, (self.ambient_temp_k, coolest), (HOTTEST_SURFACE_K, hottest), tolerance)
            .ok()
            .map(|root| root.x)
    }
}

/// Mean Nusselt number of a cylinder across a flow (S. W. Churchill and M. Bernstein, J. Heat Transfer 99, 1977, eq. 6):
/// good for Re·Pr above 0.2; below it tends to 0.3.
pub fn churchill_bernstein(reynolds: f64, prandtl: f64) -> f64 {
    let bracket = (1.0 + (0.4 / prandtl).powf(2.0 / 3.0)).powf(0.25);
    let large = (1.0 + (reynolds / 282_000.0).powf(0.625)).powf(0.8);
    0.3 + 0.62 * reynolds.sqrt() * prandtl.cbrt() / bracket * large
}

/// Mean Nusselt number of a horizontal cylinder in still air (S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer
/// 18, 1975): Rayleigh numbers 1e-5 to 1e12.
pub fn churchill_chu(rayleigh: f64, prandtl: f64) -> f64 {
    let bracket = (1.0 + (0.559 / prandtl).powf(9.0 / 16.0)).powf(8.0 / 27.0);
    (0.6 + 0.387 * rayleigh.powf(1.0 / 6.0) / bracket).powi(2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn each_argument_is_checked() {
        let good = Cooling::in_wind(293.15, 0.0).unwrap();
        for wrong in [
            Cooling { ambient_temp_k: 199.9, ..good },
            Cooling { wind_m_s: -0.1, ..good },
            Cooling { wind_angle_rad: FRAC_PI_2 + 1e-9, ..good },
            Cooling { elevation_m: f64::NAN, ..good },
            Cooling { emissivity_ratio: 1.01, ..good },
            Cooling { absorbed_sun_w_per_m2: 1401.0, ..good },
        ] {
            assert!(wrong.check().is_err(), "{wrong:?}");
        }
    }

    #[test]
    fn no_heat_leaves_the_wire_at_air_temperature_and_too_much_has_no_answer() {
        let air = Cooling::in_wind(293.15, 3.0).unwrap();
        assert_eq!(air.surface_temp_k(1e-3, 0.0), Some(293.15));
        assert_eq!(air.surface_temp_k(1e-3, 1e6), None);
        assert_eq!(air.surface_temp_k(1e-3, f64::NAN), None);
        assert_eq!(air.surface_temp_k(0.0, 1.0), None);
    }

    #[test]
    fn sun_warms_an_idle_wire() {
        let air = Cooling { absorbed_sun_w_per_m2: 800.0, ..Cooling::in_wind(313.15, 0.0).unwrap() };
        let surface_k = air.surface_temp_k(2e-3, 0.0).unwrap();
        assert!(surface_k > 315.0 && surface_k < 380.0, "{surface_k}");
    }

    proptest! {
        #[test]
        fn prop_hotter_surface_sheds_more(
            diameter_mm in 0.2..30.0f64, wind in 0.0..30.0f64, ambient_k in 220.0..330.0f64,
            rise_k in 0.0..300.0f64, churchill in any::<bool>()
        ) {
            let convection = if churchill { Convection::Churchill } else { Convection::Ieee738 };
            let air = Cooling { convection, ..Cooling::in_wind(ambient_k, wind).unwrap() };
            let (d, t) = (diameter_mm * 1e-3, ambient_k + rise_k);
            prop_assert!(air.heat_w_per_m(d, t + 1.0) > air.heat_w_per_m(d, t));
        }

        #[test]
        fn prop_temperature_answers_the_heat(
            diameter_mm in 0.2..30.0f64, wind in 0.0..30.0f64, heat in 1e-3..50.0f64
        ) {
            let air = Cooling::in_wind(300.0, wind).unwrap();
            if let Some(surface_k) = air.surface_temp_k(diameter_mm * 1e-3, heat) {
                prop_assert!((air.heat_w_per_m(diameter_mm * 1e-3, surface_k) - heat).abs() < 1e-7 * (1.0 + heat));
            }
        }
    }
}
