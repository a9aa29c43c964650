//! What a vehicle has to carry and the flow it does it in.

use beamstay_numerics::{
    constants::STANDARD_GRAVITY_M_S2,
    domain::{OutOfRange, in_range},
};
use nalgebra::Vector3;

/// Largest flying mass that the models accept, kg.
const LARGEST_MASS_KG: f64 = 1e5;
/// Largest component of an external force that the models accept, N.
const LARGEST_FORCE_N: f64 = 1e6;
/// Largest component of a velocity that the models accept, m/s.
const LARGEST_SPEED_M_S: f64 = 150.0;

/// What acts on the vehicle from outside. Axes: x downwind at the reference height, y to its left, z up.
///
/// # Examples
/// ```
/// use beamstay_vehicle::Load;
/// let load = Load::hover(5.0).with_wind([10.0, 0.0, 0.0]).with_external_force([4.0, 0.0, -12.0]);
/// assert!((load.weight_n() - 49.03325).abs() < 1e-12);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Load {
    /// Flying mass, kg, above 0 to 1e5: airframe, payload, receiver and battery, not the tether.
    pub mass_kg: f64,
    /// External force on the vehicle, N: the pull of the tether.
    pub external_force_n: Vector3<f64>,
    /// Velocity of the air or water over the ground at the vehicle, m/s.
    pub air_velocity_m_s: Vector3<f64>,
    /// Velocity of the vehicle over the ground, m/s; zero when it holds its place.
    pub vehicle_velocity_m_s: Vector3<f64>,
}

impl Load {
    /// A vehicle of `mass_kg` that holds its place in calm air and pulls on nothing.
    pub fn hover(mass_kg: f64) -> Self {
        Self {
            mass_kg,
            external_force_n: Vector3::zeros(),
            air_velocity_m_s: Vector3::zeros(),
            vehicle_velocity_m_s: Vector3::zeros(),
        }
    }

    /// The same with another velocity of the air, m/s.
    #[must_use]
    pub fn with_wind(mut self, air_velocity_m_s: impl Into<Vector3<f64>>) -> Self {
        self.air_velocity_m_s = air_velocity_m_s.into();
        self
    }

    /// The same with another external force, N.
    #[must_use]
    pub fn with_external_force(mut self, external_force_n: impl Into<Vector3<f64>>) -> Self {
        self.external_force_n = external_force_n.into();
        self
    }

    /// The same with another velocity over the ground, m/s.
    #[must_use]
    pub fn with_velocity(mut self, vehicle_velocity_m_s: impl Into<Vector3<f64>>) -> Self {
        self.vehicle_velocity_m_s = vehicle_velocity_m_s.into();
        self
    }

    /// Weight, N, with the standard acceleration of gravity.
    pub fn weight_n(&self) -> f64 {
        self.mass_kg * STANDARD_GRAVITY_M_S2
    }

    /// Velocity of the air relative to the vehicle, m/s.
    pub fn relative_wind_m_s(&self) -> Vector3<f64> {
        self.air_velocity_m_s - self.vehicle_velocity_m_s
    }

    /// Refuses numbers that are not finite or beyond the range of the models.
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn check(&self) -> Result<(), OutOfRange> {
        in_range("flying mass", "kg", self.mass_kg, 1e-6, LARGEST_MASS_KG)?;
        for force_n in self.external_force_n.iter() {
            in_range("external force", "N", *force_n, -LARGEST_FORCE_N, LARGEST_FORCE_N)?;
        }
        for speed_m_s in self.air_velocity_m_s.iter() {
            in_range("air velocity", "m/s", *speed_m_s, -LARGEST_SPEED_M_S, LARGEST_SPEED_M_S)?;
        }
        for speed_m_s in self.vehicle_velocity_m_s.iter() {
            in_range("vehicle velocity", "m/s", *speed_m_s, -LARGEST_SPEED_M_S, LARGEST_SPEED_M_S)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_number_is_guarded() {
        assert!(Load::hover(1.0).check().is_ok());
        for mass_kg in [0.0, -1.0, 1.1e5, f64::NAN] {
            assert!(Load::hover(mass_kg).check().is_err(), "{mass_kg}");
        }
        for bad in [f64::NAN, f64::INFINITY, 1.1e6] {
            for axis in 0..3 {
                let mut vector = [0.0; 3];
                vector[axis] = bad;
                assert!(Load::hover(1.0).with_external_force(vector).check().is_err());
                assert!(Load::hover(1.0).with_wind(vector).check().is_err());
                assert!(Load::hover(1.0).with_velocity(vector).check().is_err());
            }
        }
    }

    #[test]
    fn relative_wind_is_that_of_the_moving_vehicle() {
        let load = Load::hover(1.0).with_wind([5.0, 0.0, 0.0]).with_velocity([0.0, 0.0, 2.0]);
        assert_eq!(load.relative_wind_m_s(), Vector3::new(5.0, 0.0, -2.0));
    }
}
