//! A consumer that does not fly: a sensor or an instrument on an insulated or noisy site.

use beamstay_numerics::domain::in_range;

use crate::error::VehicleError;

/// A constant demand at one voltage.
///
/// # Examples
/// ```
/// use beamstay_vehicle::FixedLoad;
/// let camera = FixedLoad::new(12.0, 24.0)?;
/// assert_eq!(camera.current_a(), 0.5);
/// # Ok::<(), beamstay_vehicle::VehicleError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FixedLoad {
    demand_w: f64,
    bus_voltage_v: f64,
}

impl FixedLoad {
    /// A load that draws `demand_w` (0 to 1e7 W) from a bus of `bus_voltage_v` (0.1 to 1e5 V).
    ///
    /// # Errors
    /// [`VehicleError::OutOfRange`].
    pub fn new(demand_w: f64, bus_voltage_v: f64) -> Result<Self, VehicleError> {
        Ok(Self {
            demand_w: in_range("fixed load", "W", demand_w, 0.0, 1e7)?,
            bus_voltage_v: in_range("bus voltage", "V", bus_voltage_v, 0.1, 1e5)?,
        })
    }

    /// Power drawn from the bus, W.
    pub fn demand_w(&self) -> f64 {
        self.demand_w
    }

    /// Bus voltage, V.
    pub fn bus_voltage_v(&self) -> f64 {
        self.bus_voltage_v
    }

    /// Current drawn from the bus, A.
    pub fn current_a(&self) -> f64 {
        self.demand_w / self.bus_voltage_v
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn current_times_voltage_is_the_demand() {
        let load = FixedLoad::new(60.0, 24.0).unwrap();
        assert!((load.bus_voltage_v() - 24.0).abs() < 1e-15 && (load.current_a() - 2.5).abs() < 1e-15);
        assert!((load.current_a() * load.bus_voltage_v() - load.demand_w()).abs() < 1e-12);
    }

    #[test]
    fn limits_are_kept() {
        assert!(FixedLoad::new(0.0, 0.1).is_ok());
        assert!(FixedLoad::new(-1e-9, 12.0).is_err());
        assert!(FixedLoad::new(1.0, 0.099).is_err());
        assert!(FixedLoad::new(f64::NAN, 12.0).is_err() && FixedLoad::new(1.0, f64::INFINITY).is_err());
    }
}
