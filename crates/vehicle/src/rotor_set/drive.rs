//! What the drives of a set of rotors draw, and their limits.

use beamstay_numerics::domain::in_range;
use beamstay_rotor::{Drive, EfficiencyDrive, MotorDrive, Rotor, Thermal};

use super::{RotorSet, RotorSetInputs};
use crate::{
    error::VehicleError,
    limit::{DriveLimits, Limit, LimitKind},
};

/// What the drive of one rotor draws.
pub(super) struct DriveUse {
    pub electrical_w: f64,
    pub motor_current_a: Option<f64>,
    pub winding_temperature_k: Option<f64>,
    pub limits: DriveLimits,
}

/// Refuses a drive whose numbers are out of range, or that needs a speed of rotation that the rotor does not tell.
pub(super) fn check_drive(inputs: &RotorSetInputs) -> Result<(), VehicleError> {
    match &inputs.drive {
        Drive::Efficiency(drive) => {
            EfficiencyDrive::new(drive.motor_ratio, drive.controller_ratio)?;
            if let Some(max_w) = drive.max_shaft_w {
                in_range("largest shaft power of one motor", "W", max_w, 1e-3, 1e7)?;
            }
        }
        Drive::Motor(motor) => {
            motor.check()?;
            if matches!(&inputs.rotor, Rotor::Disk(disk) if disk.inputs().speed.is_none()) {
                return Err(VehicleError::SpeedUnknown);
            }
        }
        _ => {}
    }
    Ok(())
}

impl RotorSet {
    /// The drive of one rotor at a shaft power, W.
    pub(super) fn drive(
        &self,
        shaft_each_w: f64,
        speed_rad_s: Option<f64>,
        air_k: f64,
    ) -> Result<DriveUse, VehicleError> {
        match &self.inputs.drive {
            Drive::Efficiency(drive) => Ok(DriveUse {
                electrical_w: drive.electrical_w(shaft_each_w),
                motor_current_a: None,
                winding_temperature_k: None,
                limits: DriveLimits {
                    power: drive.max_shaft_w.map(|max_w| {
                        let shaft_w = self.count * shaft_each_w.max(0.0);
                        Limit::upper(LimitKind::Power, shaft_w, self.count * max_w)
                    }),
                    ..DriveLimits::default()
                },
            }),
            Drive::Motor(motor) => {
                // Without thrust a fixed-pitch rotor stands still.
                let idle = if shaft_each_w == 0.0 { Some(0.0) } else { None };
                let speed_rad_s = speed_rad_s.or(idle).ok_or(VehicleError::SpeedUnknown)?;
                self.motor(motor, shaft_each_w, speed_rad_s, air_k)
            }
            _ => Err(VehicleError::SpeedUnknown),
        }
    }

    /// The winding is cooled by the fluid that the rotor works in, whatever air the drive was declared with.
    fn motor(
        &self,
        motor: &MotorDrive,
        shaft_each_w: f64,
        speed_rad_s: f64,
        air_k: f64,
    ) -> Result<DriveUse, VehicleError> {
        let torque_n_m = if speed_rad_s > 0.0 { shaft_each_w / speed_rad_s } else { 0.0 };
        let bus_v = self.inputs.bus_voltage_v;
        let thermal = motor.thermal.map(|thermal| Thermal { air_k, ..thermal });
        let at = Drive::Motor(MotorDrive { thermal, ..*motor }).operate(torque_n_m, speed_rad_s, bus_v)?;
        let winding = thermal.zip(at.winding_temperature_k).map(|(thermal, winding_k)| Limit {
            kind: LimitKind::WindingTemperature,
            value: winding_k,
            bound: thermal.max_winding_k,
            used_ratio: (winding_k - air_k) / (thermal.max_winding_k - air_k),
        });
        Ok(DriveUse {
            electrical_w: at.electrical_w,
            motor_current_a: Some(at.motor_current_a),
            winding_temperature_k: at.winding_temperature_k,
            limits: DriveLimits {
                power: None,
                voltage: Some(Limit::upper(LimitKind::Voltage, at.throttle_ratio * bus_v, bus_v)),
                current: motor
                    .max_current_a
                    .map(|max_a| Limit::upper(LimitKind::Current, at.motor_current_a, max_a)),
                winding,
            },
        })
    }
}
