//! State of the fluid at one place: what every other model needs to know of air or water.

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
