//! A horizontal flow that changes with height: what a tether hangs in and a vehicle flies in.

use nalgebra::Vector3;

/// Velocity and state of the fluid at one height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlowSample {
    /// Velocity of the fluid over the ground, m/s; x downwind at the reference height, y to its left, z up.
    pub velocity_m_s: Vector3<f64>,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Dynamic viscosity, Pa·s.
    pub dynamic_viscosity_pa_s: f64,
}

/// A steady flow that depends on height alone.
pub trait Flow {
    /// The flow at `z_m` above the drum exit, m (negative below it).
    fn at(&self, z_m: f64) -> FlowSample;

    /// Heights at which the profile is not smooth, m above the drum exit, rising; a solver breaks its elements
    /// there.
    fn kink_heights_m(&self) -> &[f64];
}
