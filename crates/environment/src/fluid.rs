//! State of the fluid at one place: what every other model needs to know of air or water.

use beamstay_numerics::domain::in_range;

use crate::error::EnvironmentError;

/// Air or water at one place. Plain numbers, so that a model can be used with a fluid that the user measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fluid {
    /// Temperature, K.
    pub temperature_k: f64,
    /// Static pressure, Pa.
    pub pressure_pa: f64,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Dynamic viscosity, Pa·s.
    pub dynamic_viscosity_pa_s: f64,
    /// Thermal conductivity, W/(m·K).
    pub thermal_conductivity_w_per_m_k: f64,
    /// Specific heat at constant pressure, J/(kg·K).
    pub specific_heat_j_per_kg_k: f64,
    /// Speed of sound, m/s.
    pub speed_of_sound_m_s: f64,
}

impl Fluid {
    /// Kinematic viscosity, m²/s.
    pub fn kinematic_viscosity_m2_s(&self) -> f64 {
        self.dynamic_viscosity_pa_s / self.density_kg_m3
    }

    /// Prandtl number.
    ///
    /// # Examples
    /// ```
    /// let air = beamstay_environment::Atmosphere::new(0.0, 0.0).unwrap().at(0.0);
    /// assert!((air.prandtl() - 0.71).abs() < 0.005);
    /// ```
    pub fn prandtl(&self) -> f64 {
        self.specific_heat_j_per_kg_k * self.dynamic_viscosity_pa_s / self.thermal_conductivity_w_per_m_k
    }

    /// Checks a fluid whose fields were set by hand: every number finite and positive, within a factor of ten of any
    /// air or water.
    ///
    /// # Errors
    /// [`EnvironmentError::OutOfRange`] naming the field.
    pub fn check(&self) -> Result<(), EnvironmentError> {
        in_range("temperature", "K", self.temperature_k, 100.0, 1000.0)?;
        in_range("pressure", "Pa", self.pressure_pa, 1e3, 2e8)?;
        in_range("density", "kg/m³", self.density_kg_m3, 0.01, 2e3)?;
        in_range("dynamic viscosity", "Pa·s", self.dynamic_viscosity_pa_s, 1e-6, 0.1)?;
        in_range("thermal conductivity", "W/(m·K)", self.thermal_conductivity_w_per_m_k, 1e-3, 10.0)?;
        in_range("specific heat", "J/(kg·K)", self.specific_heat_j_per_kg_k, 100.0, 5e4)?;
        in_range("speed of sound", "m/s", self.speed_of_sound_m_s, 100.0, 1e4)?;
        Ok(())
    }
}
