//! The vehicle of a plan and its balance in a flow.

use beamstay_environment::flow::Flow;
use beamstay_rotor::{DiskRotor, DiskRotorInputs, Drive, EfficiencyDrive, MotorDrive, Rotor};
use beamstay_vehicle::{
    Arrangement, DragArea, Load, Multirotor, MultirotorInputs, RotorSet, RotorSetInputs, Trim, VehicleError,
};
use nalgebra::Vector3;

use crate::{
    error::{At, PlanError},
    limit::{LimitCode, LimitRow},
    point::VehiclePoint,
    scenario,
    system::surroundings::Stream,
};

/// Bus voltage where the drive does not depend on it, V.
const ANY_BUS_V: f64 = 48.0;
/// Air density at which the largest thrust of a rotor is declared, kg/m³: sea level, standard.
const DECLARED_DENSITY_KG_M3: f64 = 1.225;
/// Incidence at which the tilted drag area is declared, °.
const TILTED_DEG: f64 = 40.0;
/// Air that comes from below by no more than this is called still, m/s: rounding of the balance of forces.
const STILL_AIR_M_S: f64 = 1e-9;

/// The vehicle, ready to be balanced.
#[derive(Debug, Clone, PartialEq)]
pub enum Craft {
    /// Held by rotors.
    Multirotor {
        /// The model.
        model: Box<Multirotor>,
        /// Largest thrust of all rotors at sea level, N.
        declared_thrust_n: f64,
    },
    /// Does not fly.
    FixedLoad {
        /// Electrical power, W.
        power_w: f64,
    },
}

/// What acts on the vehicle.
#[derive(Debug, Clone, Copy)]
pub struct Acting<'a> {
    /// Mass in the air, kg.
    pub mass_kg: f64,
    /// Where it is, from the drum exit, m.
    pub position_m: Vector3<f64>,
    /// The flow.
    pub stream: &'a Stream,
    /// Pull of the tether, N.
    pub tether_pull_n: Vector3<f64>,
}

/// A vehicle in balance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Balanced {
    /// As it is handed out.
    pub point: VehiclePoint,
    /// Residual of the forces over the forces.
    pub residual_ratio: f64,
    /// Drive limit, if one is known: used over allowed.
    pub drive_used_ratio: Option<f64>,
    /// Largest tilt, °.
    pub max_tilt_deg: f64,
}

impl Craft {
    /// Builds the vehicle.
    pub fn new(vehicle: &scenario::Vehicle) -> Result<Self, PlanError> {
        match vehicle {
            scenario::Vehicle::Multirotor(inputs) => Ok(Self::Multirotor {
                model: Box::new(multirotor(inputs)?),
                declared_thrust_n: f64::from(inputs.rotor_count) * inputs.max_thrust_n,
            }),
            scenario::Vehicle::FixedLoad(load) => Ok(Self::FixedLoad { power_w: load.power_w }),
            scenario::Vehicle::FixedWing(_) => Err(PlanError::model("/vehicle", "fixed wing")),
            scenario::Vehicle::Underwater(_) => Err(PlanError::model("/vehicle", "underwater")),
        }
    }

    /// Balances the vehicle.
    ///
    /// # Errors
    /// What is missing for a balance, or a number that the model refuses.
    pub fn balance(&self, acting: &Acting<'_>) -> Result<Balanced, VehicleError> {
        match self {
            Self::FixedLoad { .. } => Ok(at_rest()),
            Self::Multirotor { model, declared_thrust_n } => {
                let velocity_m_s = acting.stream.at(acting.position_m.z).velocity_m_s;
                let fluid = acting.stream.fluid_at(acting.position_m.z);
                let load = Load::hover(acting.mass_kg)
                    .with_external_force(acting.tether_pull_n)
                    .with_wind(velocity_m_s);
                let trim = model.trim_beyond_limits(&load, &fluid)?;
                let largest_n = declared_thrust_n * fluid.density_kg_m3 / DECLARED_DENSITY_KG_M3;
                Ok(of_rotors(&trim, velocity_m_s.norm(), largest_n, load.weight_n()))
            }
        }
    }

    /// Power drawn from the bus in this balance, W, payload not counted.
    pub fn demand_w(&self, balanced: &Balanced) -> f64 {
        match self {
            Self::FixedLoad { power_w } => *power_w,
            Self::Multirotor { .. } => balanced.point.electrical_w + balanced.point.avionics_w,
        }
    }

    /// Limits of the vehicle in mean wind and gust.
    pub fn limits(
        &self,
        mean: &Balanced,
        gust: &Balanced,
        thrust_reserve_ratio: f64,
        rows: &mut Vec<LimitRow>,
    ) {
        let Self::Multirotor { .. } = self else { return };
        let reserve = gust.point.thrust_reserve_ratio.unwrap_or(f64::MAX);
        rows.push(LimitRow::at_least(LimitCode::ThrustReserve, reserve, thrust_reserve_ratio, ""));
        rows.push(LimitRow::at_most(LimitCode::Tilt, mean.point.tilt_deg, mean.max_tilt_deg, "°"));
        rows.push(LimitRow::at_most(LimitCode::TiltInGust, gust.point.tilt_deg, gust.max_tilt_deg, "°"));
        if let Some(used) = gust.drive_used_ratio {
            rows.push(LimitRow::at_most(LimitCode::Drive, used, 1.0, ""));
        }
        let axial_m_s = mean.point.axial_inflow_m_s;
        let axial_m_s = if axial_m_s.abs() < STILL_AIR_M_S { 0.0 } else { axial_m_s };
        rows.push(LimitRow::at_least(LimitCode::AxialInflow, axial_m_s, 0.0, "m/s"));
        rows.push(LimitRow::at_least(LimitCode::ShaftPower, mean.point.shaft_w, 0.0, "W"));
    }
}

fn multirotor(inputs: &scenario::Multirotor) -> Result<Multirotor, PlanError> {
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
        scenario::Arrangement::CoaxialPairs { .. } => {
            Arrangement::CoaxialPairs { interference: beamstay_vehicle::defaults::COAXIAL_INTERFERENCE }
        }
    }
}

fn rotor(rotor: &scenario::Rotor) -> Result<Rotor, beamstay_rotor::RotorError> {
    match rotor {
        scenario::Rotor::Disk { diameter_m, figure_of_merit } => Ok(Rotor::Disk(DiskRotor::new(
            DiskRotorInputs::with_figure_of_merit(*diameter_m, *figure_of_merit),
        )?)),
        scenario::Rotor::Blade { .. } | scenario::Rotor::Table { .. } => {
            Err(beamstay_rotor::RotorError::OutOfRange(beamstay_numerics::domain::OutOfRange {
                quantity: "rotor model",
                value: 0.0,
                min: 1.0,
                max: 1.0,
                unit: "",
            }))
        }
    }
}

fn drive(drive: &scenario::Drive) -> Result<(Drive, f64), beamstay_rotor::RotorError> {
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
                speed_constant_rpm_per_v * std::f64::consts::PI / 30.0,
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

fn of_rotors(trim: &Trim, airspeed_m_s: f64, largest_n: f64, weight_n: f64) -> Balanced {
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
            rotor_speed_rpm: trim.rotor_speed_rad_s.map(|w| w * 30.0 / std::f64::consts::PI),
            wake_m_s: trim.wake_at_disk_m_s,
        },
        residual_ratio: trim.force_residual_n / weight_n.max(trim.thrust_n).max(f64::MIN_POSITIVE),
        drive_used_ratio: trim.drive_limit.map(|l| l.used_ratio),
        max_tilt_deg: trim.tilt_limit.bound,
    }
}

fn at_rest() -> Balanced {
    Balanced {
        point: VehiclePoint {
            thrust_n: 0.0,
            tilt_deg: 0.0,
            airspeed_m_s: 0.0,
            axial_inflow_m_s: 0.0,
            induced_w: 0.0,
            profile_w: 0.0,
            axial_w: 0.0,
            shaft_w: 0.0,
            electrical_w: 0.0,
            avionics_w: 0.0,
            body_drag_n: 0.0,
            thrust_reserve_ratio: None,
            rotor_speed_rpm: None,
            wake_m_s: 0.0,
        },
        residual_ratio: 0.0,
        drive_used_ratio: None,
        max_tilt_deg: 90.0,
    }
}
