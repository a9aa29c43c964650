//! Tests of the crate through its public interface.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of a test binary

mod measured;
mod random;

use beamstay_environment::fluid::Fluid;

/// Standard air at sea level.
pub(crate) const AIR: Fluid = Fluid {
    temperature_k: 288.15,
    pressure_pa: 101_325.0,
    density_kg_m3: 1.225,
    dynamic_viscosity_pa_s: 1.7894e-5,
    thermal_conductivity_w_per_m_k: 0.025_3,
    specific_heat_j_per_kg_k: 1005.0,
    speed_of_sound_m_s: 340.294,
};
