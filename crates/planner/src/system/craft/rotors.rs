//! A multirotor from what the scenario says of it, and its balance as it is handed out.

use std::f64::consts::PI;

use beamstay_rotor::{
    BladeRotor, BladeRotorInputs, BladeStation, Control, DiskRotor, DiskRotorInputs, Drive, EfficiencyDrive,
    MotorDrive, Rotor, Section,
};
use beamstay_vehicle::{Arrangement, DragArea, Multirotor, MultirotorInputs, RotorSet, RotorSetInputs, Trim};

use super::Balanced;
use crate::{
    error::{At, PlanError},
    point::VehiclePoint,
    scenario,
};

/// Bus voltage where the drive does not depend on it, V.
const ANY_BUS_V: f64 = 48.0;
/// Largest Mach number of the advancing tip (common practice, no source).
const MAX_TIP_MACH: f64 = 0.7;
/// Incidence at which the tilted drag area is declared, °.
const TILTED_DEG: f64 = 40.0;

/// Builds a multirotor.
pub(super) fn multirotor(inputs: &scenario::Multirotor) -> Result<Multirotor, PlanError> {
    let here = "/vehicle/multirotor";
    let (drive, bus_voltage_v) = drive(&inputs.drive).at(&format!("{here}/drive"))?;
    let rotors = RotorSet::new(RotorSetInputs {
        rotor: rotor(&inputs.rotor).at(&format!("{here}/rotor"))?,
        rotor_count: inputs.rotor_count,
        arrangement: arrangement(inputs.arrangement),
        drive,
        bus_voltage_v,
        max_thrust_each_n: None,
    })
    .at(here)?;
    let level_m2 = inputs.drag_area_level_m2;
    let body_drag = DragArea::spheroid(level_m2, plan_area_m2(level_m2, inputs.drag_area_tilted_m2))
        .at(&format!("{here}/drag_area_tilted_m2"))?;
    Multirotor::new(MultirotorInputs {
        rotors,
        empty_mass_kg: inputs.empty_mass_kg,
        body_drag,
        guard_ring: None,
        rotor_drag_s_per_m: 0.0,
        max_tilt_deg: inputs.max_tilt_deg,
        avionics_w: inputs.avionics_w,
    })
    .at(here)
}

/// Drag area seen from above that gives the tilted one at 40°, when the area follows the squares of its two projections;
/// at least that of a body that does not grow.
fn plan_area_m2(level_m2: f64, tilted_m2: f64) -> f64 {
    let (sin, cos) = TILTED_DEG.to_radians().sin_cos();
    let squared = (tilted_m2 * tilted_m2 - level_m2 * level_m2 * cos * cos) / (sin * sin);
    squared.max(0.0).sqrt()
}

fn arrangement(arrangement: scenario::Arrangement) -> Arrangement {
    match arrangement {
        scenario::Arrangement::Single => Arrangement::Single,
        scenario::Arrangement::CoaxialPairs { spacing_ratio } => Arrangement::coaxial(spacing_ratio),
    }
}

fn rotor(rotor: &scenario::Rotor) -> Result<Rotor, beamstay_rotor::RotorError> {
    match rotor {
        scenario::Rotor::Disk { diameter_m, figure_of_merit } => Ok(Rotor::Disk(DiskRotor::new(
            DiskRotorInputs::with_figure_of_merit(*diameter_m, *figure_of_merit),
        )?)),
        scenario::Rotor::Blade { diameter_m, blade_count, stations, max_speed_rpm } => {
            Ok(Rotor::Blade(BladeRotor::new(BladeRotorInputs {
                diameter_m: *diameter_m,
                blade_count: *blade_count,
                stations: stations.iter().map(station).collect(),
                section: Section::SMALL_PROPELLER,
                control: Control::Speed { max_speed_rad_s: max_speed_rpm * PI / 30.0 },
                max_tip_mach: MAX_TIP_MACH,
            })?))
        }
    }
}

fn station(station: &scenario::BladeStation) -> BladeStation {
    BladeStation {
        radius_ratio: station.radius_ratio,
        chord_ratio: station.chord_ratio,
        pitch_rad: station.pitch_deg.to_radians(),
    }
}

/// Motor and controller, and the voltage of the bus.
pub(super) fn drive(drive: &scenario::Drive) -> Result<(Drive, f64), beamstay_rotor::RotorError> {
    match *drive {
        scenario::Drive::Efficiency { motor_ratio, controller_ratio } => {
            Ok((Drive::Efficiency(EfficiencyDrive::new(motor_ratio, controller_ratio)?), ANY_BUS_V))
        }
        scenario::Drive::Motor {
            speed_constant_rpm_per_v,
            resistance_ohm,
            no_load_current_a,
            controller_resistance_ohm,
            bus_v,
            max_current_a,
        } => {
            let mut motor = MotorDrive::ideal_controller(
                speed_constant_rpm_per_v * PI / 30.0,
                resistance_ohm,
                no_load_current_a,
            );
            motor.controller_resistance_ohm = controller_resistance_ohm;
            motor.max_current_a = Some(max_current_a);
            motor.check()?;
            Ok((Drive::Motor(motor), bus_v))
        }
    }
}

/// A trim as it is handed out; `largest_n` is the declared largest thrust in this air.
pub(super) fn of_rotors(trim: &Trim, airspeed_m_s: f64, largest_n: f64, weight_n: f64) -> Balanced {
    let reserve = (trim.thrust_n > 0.0).then(|| {
        let declared = largest_n / trim.thrust_n;
        trim.thrust_reserve_ratio.map_or(declared, |known| known.min(declared))
    });
    Balanced {
        point: VehiclePoint {
            thrust_n: trim.thrust_n,
            tilt_deg: trim.tilt_deg,
            airspeed_m_s,
            axial_inflow_m_s: trim.axial_inflow_m_s,
            induced_w: trim.induced_w,
            profile_w: trim.profile_w,
            axial_w: trim.axial_w,
            shaft_w: trim.shaft_w,
            electrical_w: trim.electrical_w,
            avionics_w: trim.avionics_w,
            body_drag_n: trim.body_drag_n.norm(),
            thrust_reserve_ratio: reserve,
            rotor_speed_rpm: trim.rotor_speed_rad_s.map(|w| w * 30.0 / PI),
            wake_m_s: trim.wake_at_disk_m_s,
            load_current_a: None,
        },
        residual_ratio: trim.force_residual_n / weight_n.max(trim.thrust_n).max(f64::MIN_POSITIVE),
        drive_used_ratio: trim.drive_limit.map(|l| l.used_ratio),
        max_tilt_deg: trim.tilt_limit.bound,
        stall_ratio: None,
        up: trim.thrust_vector_n.into(),
    }
}
