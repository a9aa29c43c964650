//! A multirotor from what the scenario says of it, and its balance as it is handed out.

use std::f64::consts::PI;

use beamstay_numerics::{constants::ZERO_CELSIUS_K, interpolate::TableError};
use beamstay_rotor::{
    BladeRotor, BladeRotorInputs, BladeStation, Control, DiskRotor, DiskRotorInputs, Drive, EfficiencyDrive,
    MotorDrive, Rotor, RotorError, Section, SpeedLaw, TablePower, TableRotor, TableRotorInputs, TableRow,
    Thermal,
};
use beamstay_vehicle::{
    Arrangement, DragArea, GuardRing, LimitKind, Multirotor, MultirotorInputs, RotorSet, RotorSetInputs, Trim,
};

use super::{Balanced, DECLARED_DENSITY_KG_M3};
use crate::{
    error::{At, PlanError},
    point::{ThrustBound, VehiclePoint},
    scenario,
};

/// Bus voltage where the drive does not depend on it, V.
const ANY_BUS_V: f64 = 48.0;
/// Air that a winding is declared with, K; in operation the air of the place counts.
const DECLARED_AIR_K: f64 = 293.15;
/// Incidence at which the tilted drag area is declared, °.
const TILTED_DEG: f64 = 40.0;

/// Builds a multirotor.
pub(super) fn multirotor(inputs: &scenario::Multirotor) -> Result<Multirotor, PlanError> {
    let here = "/vehicle/multirotor";
    if inputs.max_thrust_n.is_none() && nothing_bounds_the_thrust(inputs) {
        return Err(PlanError::needs(here, "a rotor known by its figure of merit", "\"max_thrust_n\""));
    }
    let (drive, bus_voltage_v) = drive(&inputs.drive).at(&format!("{here}/drive"))?;
    let rotors = RotorSet::new(RotorSetInputs {
        rotor: rotor(&inputs.rotor, &drive, bus_voltage_v, &format!("{here}/rotor"))?,
        rotor_count: inputs.rotor_count,
        arrangement: arrangement(inputs.arrangement),
        drive,
        bus_voltage_v,
        max_thrust_each_n: inputs.max_thrust_n,
    })
    .and_then(|rotors| rotors.declared_at(DECLARED_DENSITY_KG_M3))
    .at(here)?;
    let level_m2 = inputs.drag_area_level_m2;
    let body_drag = DragArea::spheroid(level_m2, plan_area_m2(level_m2, inputs.drag_area_tilted_m2))
        .at(&format!("{here}/drag_area_tilted_m2"))?;
    Multirotor::new(MultirotorInputs {
        rotors,
        empty_mass_kg: inputs.empty_mass_kg,
        body_drag,
        guard_ring: inputs.guard_ring.map(|ring| GuardRing {
            diameter_m: ring.diameter_m,
            height_m: 1e-3 * ring.height_mm,
            width_m: 1e-3 * ring.width_mm,
            drag_coefficient: ring.drag_coefficient,
        }),
        rotor_drag_s_per_m: inputs.rotor_drag_s_per_m,
        max_tilt_deg: inputs.max_tilt_deg,
        avionics_w: inputs.avionics_w,
    })
    .at(here)
}

/// A disk on a drive without limits: its tip Mach number is a guess, not a bound to plan with.
fn nothing_bounds_the_thrust(inputs: &scenario::Multirotor) -> bool {
    matches!(inputs.rotor, scenario::Rotor::Disk { .. })
        && matches!(inputs.drive, scenario::Drive::Efficiency { max_shaft_w: None, .. })
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

/// One rotor; an electrical table is turned into shaft power by the drive.
fn rotor(rotor: &scenario::Rotor, drive: &Drive, bus_voltage_v: f64, here: &str) -> Result<Rotor, PlanError> {
    match rotor {
        scenario::Rotor::Disk { diameter_m, figure_of_merit, induced_factor, thrust_coefficient } => {
            DiskRotor::new(DiskRotorInputs {
                induced_factor: *induced_factor,
                speed: Some(SpeedLaw::ThrustCoefficient(*thrust_coefficient)),
                ..DiskRotorInputs::with_figure_of_merit(*diameter_m, *figure_of_merit)
            })
            .map(Rotor::Disk)
            .at(&format!("{here}/disk"))
        }
        scenario::Rotor::Blade {
            diameter_m,
            blade_count,
            stations,
            max_speed_rpm,
            collective,
            section,
            max_tip_mach_ratio,
        } => BladeRotor::new(BladeRotorInputs {
            diameter_m: *diameter_m,
            blade_count: *blade_count,
            stations: stations.iter().map(station).collect(),
            section: section.as_ref().map_or(Section::SMALL_PROPELLER, polar),
            control: control(*max_speed_rpm, *collective),
            max_tip_mach: *max_tip_mach_ratio,
        })
        .map(Rotor::Blade)
        .map_err(|error| at_row(&format!("{here}/blade"), "stations", error)),
        scenario::Rotor::Table { diameter_m, air_density_kg_m3, power, rows } => {
            let place = |row: usize| format!("{here}/table/rows/{row}");
            let rows = rows
                .iter()
                .enumerate()
                .map(|(i, row)| reading(row, *power, drive, bus_voltage_v).at(&place(i)));
            TableRotor::new(TableRotorInputs {
                diameter_m: *diameter_m,
                rows: rows.collect::<Result<_, _>>()?,
                power: TablePower::Shaft,
                density_kg_m3: *air_density_kg_m3,
            })
            .map(Rotor::Table)
            .map_err(|error| at_row(&format!("{here}/table"), "rows", error))
        }
    }
}

/// A refusal of a list at the entry that it names, or at the whole.
fn at_row(here: &str, list: &str, error: RotorError) -> PlanError {
    match error {
        RotorError::Table { cause: TableError::NotRising { row }, .. } => {
            PlanError::model(&format!("{here}/{list}/{row}"), error)
        }
        _ => PlanError::model(here, error),
    }
}

fn station(station: &scenario::BladeStation) -> BladeStation {
    BladeStation {
        radius_ratio: station.radius_ratio,
        chord_ratio: station.chord_ratio,
        pitch_rad: station.pitch_deg.to_radians(),
    }
}

fn control(max_speed_rpm: f64, collective: Option<scenario::Collective>) -> Control {
    let speed_rad_s = max_speed_rpm * PI / 30.0;
    match collective {
        None => Control::Speed { max_speed_rad_s: speed_rad_s },
        Some(range) => Control::Collective {
            speed_rad_s,
            min_rad: range.min_deg.to_radians(),
            max_rad: range.max_deg.to_radians(),
        },
    }
}

/// What the scenario does not ask for is as in the section of small propellers.
fn polar(section: &scenario::Section) -> Section {
    Section {
        lift_slope_per_rad: section.lift_slope_per_rad,
        zero_lift_rad: section.zero_lift_deg.to_radians(),
        max_lift_coefficient: section.max_lift_coefficient,
        least_drag_coefficient: section.least_drag_coefficient,
        lift_loss_ratio: section.lift_loss_ratio,
        drag_exponent: section.drag_exponent,
        lift_drag_factor: section.lift_drag_factor,
        ..Section::SMALL_PROPELLER
    }
}

fn reading(
    row: &scenario::Reading,
    power: scenario::MeasuredPower,
    drive: &Drive,
    bus_voltage_v: f64,
) -> Result<TableRow, RotorError> {
    let read =
        TableRow { thrust_n: row.thrust_n, speed_rad_s: row.speed_rpm * PI / 30.0, power_w: row.power_w };
    match power {
        scenario::MeasuredPower::Shaft => Ok(read),
        scenario::MeasuredPower::Electrical => read.at_shaft(drive, bus_voltage_v),
    }
}

/// Motor and controller, and the voltage of the bus.
pub(super) fn drive(drive: &scenario::Drive) -> Result<(Drive, f64), RotorError> {
    match *drive {
        scenario::Drive::Efficiency { motor_ratio, controller_ratio, max_shaft_w } => {
            let drive =
                EfficiencyDrive { max_shaft_w, ..EfficiencyDrive::new(motor_ratio, controller_ratio)? };
            Ok((Drive::Efficiency(drive), ANY_BUS_V))
        }
        scenario::Drive::Motor {
            speed_constant_rpm_per_v,
            resistance_ohm,
            no_load_current_a,
            controller_resistance_ohm,
            controller_ratio,
            controller_standby_w,
            bus_v,
            max_current_a,
            winding,
        } => {
            let motor = MotorDrive {
                speed_constant_rad_s_per_v: speed_constant_rpm_per_v * PI / 30.0,
                resistance_ohm,
                no_load_current_a,
                controller_resistance_ohm,
                controller_ratio,
                controller_standby_w,
                max_current_a: Some(max_current_a),
                thermal: winding.map(|winding| Thermal {
                    resistance_k_per_w: winding.to_air_k_per_w,
                    max_winding_k: winding.max_temperature_c + ZERO_CELSIUS_K,
                    air_k: DECLARED_AIR_K,
                }),
            };
            motor.check()?;
            Ok((Drive::Motor(motor), bus_v))
        }
    }
}

/// A trim as it is handed out, with the largest thrust over this thrust and what bounds it.
pub(super) fn of_rotors(
    trim: &Trim,
    airspeed_m_s: f64,
    reserve: Option<(f64, LimitKind)>,
    weight_n: f64,
) -> Balanced {
    let spent_w = trim.induced_w + trim.profile_w;
    Balanced {
        point: VehiclePoint {
            thrust_n: trim.thrust_n,
            tilt_deg: trim.tilt_deg,
            airspeed_m_s,
            axial_inflow_m_s: trim.axial_inflow_m_s,
            induced_w: trim.induced_w,
            profile_w: trim.profile_w,
            propeller_loss_w: 0.0,
            axial_w: trim.axial_w,
            shaft_w: trim.shaft_w,
            electrical_w: trim.electrical_w,
            avionics_w: trim.avionics_w,
            body_drag_n: trim.body_drag_n.norm(),
            rotor_drag_n: trim.rotor_drag_n.norm(),
            thrust_reserve_ratio: reserve.map(|(ratio, _)| ratio),
            thrust_bound: reserve.and_then(|(_, kind)| ThrustBound::of(kind)),
            rotor_speed_rpm: trim.rotor_speed_rad_s.map(|w| w * 30.0 / PI),
            rotor_torque_n_m: trim.rotor_torque_n_m,
            induced_speed_m_s: trim.induced_velocity_m_s,
            figure_of_merit: (spent_w > 0.0).then(|| trim.thrust_n * trim.hover_velocity_m_s / spent_w),
            tip_mach_ratio: trim.tip_mach,
            motor_current_a: trim.motor_current_a,
            winding_temp_c: trim.winding_temperature_k.map(|k| k - ZERO_CELSIUS_K),
            wake_m_s: trim.wake_at_disk_m_s,
            load_current_a: None,
        },
        residual_ratio: trim.force_residual_n / weight_n.max(trim.thrust_n).max(f64::MIN_POSITIVE),
        drive_limits: trim.drive_limits,
        thrust_limit: None,
        max_tilt_deg: trim.tilt_limit.bound,
        wing_limits: None,
        up: trim.thrust_vector_n.into(),
    }
}
