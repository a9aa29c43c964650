//! How the drum force changes with the place of the vehicle and with the length.

use nalgebra::{Matrix3, Vector3};

use super::load::Pull;

/// Relative fall of the drum tension with the logarithm of the length beyond which the shorter length is certain.
const STEEP: f64 = 2.0;

/// How the drum force changes while the load on every metre is held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct DrumSlopes {
    /// With the place of the vehicle, N/m.
    pub stiffness_n_per_m: Matrix3<f64>,
    /// With the logarithm of the length, N.
    pub by_growth_n: Vector3<f64>,
    /// What the load, which changes with the shape, adds to that of the drum tension, N, as far as sweeps that hold the tension
    /// have learned it.
    pub by_load_n: f64,
}

impl DrumSlopes {
    /// Of a tether that no sweep has seen: nothing changes.
    pub(super) fn unknown() -> Self {
        Self { stiffness_n_per_m: Matrix3::zeros(), by_growth_n: Vector3::zeros(), by_load_n: 0.0 }
    }

    /// Change of the drum tension with the logarithm of the length, N, at a drum force.
    pub(super) fn tension_by_growth_n(&self, drum_force_n: &Vector3<f64>) -> f64 {
        Pull::new(drum_force_n, 0.0).tangent.dot(&self.by_growth_n)
    }

    /// Whether the drum tension falls so fast with the length that the length is certainly the shorter one with that tension.
    pub(super) fn is_steep(&self, drum_force_n: &Vector3<f64>) -> bool {
        self.tension_by_growth_n(drum_force_n) < -STEEP * drum_force_n.norm()
    }
}
