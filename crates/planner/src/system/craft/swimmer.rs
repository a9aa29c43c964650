//! An underwater vehicle.

use beamstay_rotor::{DiskRotor, DiskRotorInputs, Rotor, RotorError};
use beamstay_vehicle::{
    Arrangement, RotorSet, RotorSetInputs, UnderwaterInputs, UnderwaterTrim, UnderwaterVehicle,
};

use super::{Balanced, UPRIGHT, rotors::drive};
use crate::{
    error::{At, PlanError},
    point::VehiclePoint,
    scenario,
};

pub(super) fn swimmer(inputs: &scenario::Underwater) -> Result<UnderwaterVehicle, PlanError> {
    let here = "/vehicle/underwater";
    let thrusters = |count: u32| -> Result<Option<RotorSet>, PlanError> {
        if count == 0 {
            return Ok(None);
        }
        let (drive, bus_voltage_v) = drive(&inputs.drive).at(&format!("{here}/drive"))?;
        RotorSet::new(RotorSetInputs {
            rotor: thruster(inputs).at(&format!("{here}/thruster_diameter_m"))?,
            rotor_count: count,
            arrangement: Arrangement::Single,
            drive,
            bus_voltage_v,
            max_thrust_each_n: Some(inputs.max_thrust_n),
        })
        .at(here)
        .map(Some)
    };
    UnderwaterVehicle::new(UnderwaterInputs {
        empty_mass_kg: inputs.empty_mass_kg,
        displacement_m3: 1e-3 * inputs.displacement_l,
        surge_drag_m2: inputs.drag_area_ahead_m2,
        sway_drag_m2: inputs.drag_area_across_m2,
        heave_drag_m2: inputs.drag_area_above_m2,
        surge_thrusters: thrusters(inputs.surge_thruster_count)?,
        heave_thrusters: thrusters(inputs.heave_thruster_count)?,
        hotel_w: inputs.avionics_w,
    })
    .at(here)
}

fn thruster(inputs: &scenario::Underwater) -> Result<Rotor, RotorError> {
    let disk = DiskRotorInputs::with_figure_of_merit(inputs.thruster_diameter_m, inputs.figure_of_merit);
    Ok(Rotor::Disk(DiskRotor::new(disk)?))
}

/// A trim as it is handed out.
pub(super) fn handed_out(trim: &UnderwaterTrim, speed_m_s: f64, weight_n: f64) -> Balanced {
    let thrust_n = trim.thrust_vector_n.norm();
    let point = VehiclePoint {
        thrust_n,
        airspeed_m_s: speed_m_s,
        induced_w: trim.induced_w,
        profile_w: trim.profile_w,
        axial_w: trim.axial_w,
        shaft_w: trim.shaft_w,
        electrical_w: trim.electrical_w,
        avionics_w: trim.hotel_w,
        body_drag_n: trim.drag_n.norm(),
        wake_m_s: speed_m_s,
        ..VehiclePoint::default()
    };
    Balanced {
        point,
        residual_ratio: trim.force_residual_n / weight_n.max(f64::MIN_POSITIVE),
        drive_limits: trim.drive_limits,
        thrust_limit: trim.thrust_limit,
        max_tilt_deg: 90.0,
        wing_limits: None,
        up: UPRIGHT,
    }
}
