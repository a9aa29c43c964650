//! Thrust, free stream and fluid in; shaft power, speed, torque and state of the flow out; then torque, speed and bus voltage
//! in, electrical power and binding limit out. Actuator disk, blade element and measured rotors, motor and controller.
//!
//! # Examples
//! A rotor of 0.6 m with 40 N, in hover and in a wind of 8 m/s that meets it tilted by 10°: power from the bus.
//! ```
//! use beamstay_rotor::{DiskRotor, DiskRotorInputs, EfficiencyDrive, Inflow, Rotor, environment::Atmosphere};
//!
//! let air = Atmosphere::new(0.0, 0.0)?.at(0.0);
//! let rotor = Rotor::Disk(DiskRotor::new(DiskRotorInputs::with_figure_of_merit(0.6, 0.7))?);
//! let drive = EfficiencyDrive::new(0.8, 0.95)?;
//! let hover = rotor.operate(40.0, Inflow::HOVER, &air)?;
//! // T^1.5 / (2ρA)^0.5 / 0.7 / 0.8 / 0.95, with ρ = 1.225 kg/m³ and A = 0.2827433 m²
//! assert!((drive.electrical_w(hover.shaft_w) - 571.346).abs() < 1e-2);
//! let in_wind = rotor.operate(40.0, Inflow::at_incidence(8.0, 10_f64.to_radians()), &air)?;
//! assert!(in_wind.shaft_w < hover.shaft_w);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod blade;
pub mod coaxial;
pub mod coefficients;
pub mod disk;
pub mod drive;
pub mod error;
pub mod ground_effect;
pub mod momentum;
pub mod operation;
pub mod power_curve;
pub mod table;
pub mod vortex_ring;

use beamstay_environment::fluid::Fluid;

pub use blade::{BladeRotor, BladeRotorInputs, BladeStation, Control, Section};
pub use coaxial::{CoaxialOperation, CoaxialPair};
pub use disk::{DiskRotor, DiskRotorInputs, ProfileLoss, SpeedLaw};
pub use drive::{
    Drive, DriveLimit, DriveOperation, EfficiencyDrive, LimitUse, MotorDrive, MotorPoint, Thermal,
};
pub use error::RotorError;
pub use operation::{Inflow, Operation, Regime};
pub use table::{TablePower, TableRotor, TableRotorInputs, TableRow};

// Of other crates, what the signatures here name.
pub use beamstay_environment as environment;
pub use beamstay_numerics::{domain::OutOfRange, interpolate::TableError};

/// A rotor, by whichever model it is known.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Rotor {
    /// Known by diameter and averages.
    Disk(DiskRotor),
    /// Known by its blades.
    Blade(BladeRotor),
    /// Known by a test stand.
    Table(TableRotor),
}

impl Rotor {
    /// The rotor at one thrust, N ≥ 0, in one stream.
    ///
    /// # Errors
    /// [`RotorError`]: a number outside its range, or a thrust that this model cannot answer for.
    pub fn operate(&self, thrust_n: f64, inflow: Inflow, fluid: &Fluid) -> Result<Operation, RotorError> {
        match self {
            Self::Disk(rotor) => rotor.operate(thrust_n, inflow, fluid),
            Self::Blade(rotor) => rotor.operate(thrust_n, inflow, fluid),
            Self::Table(rotor) => rotor.operate(thrust_n, inflow, fluid),
        }
    }

    /// Diameter, m.
    pub fn diameter_m(&self) -> f64 {
        match self {
            Self::Disk(rotor) => rotor.inputs().diameter_m,
            Self::Blade(rotor) => rotor.inputs().diameter_m,
            Self::Table(rotor) => rotor.inputs().diameter_m,
        }
    }

    /// Area of the disk, m², π d²/4.
    pub fn disk_area_m2(&self) -> f64 {
        disk_area_m2(self.diameter_m())
    }

    /// Largest thrust in this stream, N, where the model knows one.
    pub fn max_thrust_n(&self, inflow: Inflow, fluid: &Fluid) -> Option<f64> {
        match self {
            Self::Disk(rotor) => rotor.max_thrust_n(inflow, fluid),
            Self::Blade(rotor) => rotor.max_thrust_n(inflow, fluid),
            Self::Table(rotor) => rotor.max_thrust_n(inflow, fluid),
        }
    }
}

/// Area of a disk, m², from its diameter, m.
fn disk_area_m2(diameter_m: f64) -> f64 {
    0.25 * std::f64::consts::PI * diameter_m * diameter_m
}

#[cfg(test)]
mod fixtures {
    use beamstay_environment::fluid::Fluid;

    /// Standard air at sea level.
    pub(crate) const AIR: Fluid = Fluid {
        temperature_k: 288.15,
        pressure_pa: 101_325.0,
        density_kg_m3: 1.225,
        dynamic_viscosity_pa_s: 1.79e-5,
        thermal_conductivity_w_per_m_k: 0.0253,
        specific_heat_j_per_kg_k: 1005.0,
        speed_of_sound_m_s: 340.3,
    };
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_choice_of_a_rotor_passes_its_diameter_on() {
        let inputs = DiskRotorInputs::with_figure_of_merit(0.4, 0.7);
        assert!((Rotor::Disk(DiskRotor::new(inputs).unwrap()).diameter_m() - 0.4).abs() < 1e-15);
    }
}
