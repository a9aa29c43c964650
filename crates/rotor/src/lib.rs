//! Thrust, free stream and fluid in; shaft power, speed, torque and state of the flow out; then torque, speed and bus voltage
//! in, electrical power and binding limit out. Actuator disk, blade element and measured rotors, motor and controller.

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

    /// Largest thrust in this stream, N, where the model knows one.
    pub fn max_thrust_n(&self, inflow: Inflow, fluid: &Fluid) -> Option<f64> {
        match self {
            Self::Disk(rotor) => rotor.max_thrust_n(inflow, fluid),
            Self::Blade(rotor) => rotor.max_thrust_n(inflow, fluid),
            Self::Table(rotor) => rotor.max_thrust_n(inflow, fluid),
        }
    }
}
