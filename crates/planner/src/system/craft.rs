//! The vehicle of a plan and its balance in a flow.

mod rotors;
mod swimmer;
mod wing;

use beamstay_environment::flow::Flow;
use beamstay_vehicle::{FixedLoad, Load, Multirotor, UnderwaterVehicle, VehicleError};
use nalgebra::Vector3;

use crate::{
    error::{At, PlanError},
    limit::{LimitCode, LimitRow},
    point::VehiclePoint,
    scenario,
    system::surroundings::Stream,
};
pub use wing::Wing;

/// Air density at which the largest thrust of a rotor is declared, kg/m³: sea level, standard.
const DECLARED_DENSITY_KG_M3: f64 = 1.225;
/// Up of a vehicle that stands level.
const UPRIGHT: [f64; 3] = [0.0, 0.0, 1.0];
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
    /// Held by a wing.
    FixedWing(Box<Wing>),
    /// Swims.
    Underwater(Box<UnderwaterVehicle>),
    /// Does not fly.
    FixedLoad(FixedLoad),
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
    /// Airspeed over stall speed, and the least allowed, of a wing.
    pub stall_ratio: Option<(f64, f64)>,
    /// The vehicle's own up, of any length.
    pub up: [f64; 3],
}

impl Craft {
    /// Builds the vehicle.
    ///
    /// # Errors
    /// [`PlanError::Refused`] with the pointer of what a model does not take.
    pub fn new(vehicle: &scenario::Vehicle) -> Result<Self, PlanError> {
        match vehicle {
            scenario::Vehicle::Multirotor(inputs) => Ok(Self::Multirotor {
                model: Box::new(rotors::multirotor(inputs)?),
                declared_thrust_n: f64::from(inputs.rotor_count) * inputs.max_thrust_n,
            }),
            scenario::Vehicle::FixedWing(inputs) => Ok(Self::FixedWing(Box::new(Wing::new(inputs)?))),
            scenario::Vehicle::Underwater(inputs) => {
                Ok(Self::Underwater(Box::new(swimmer::swimmer(inputs)?)))
            }
            scenario::Vehicle::FixedLoad(load) => {
                let load = FixedLoad::new(load.power_w, load.voltage_v).at("/vehicle/fixed_load")?;
                Ok(Self::FixedLoad(load))
            }
        }
    }

    /// Whether it hangs on a tether rather than standing by itself.
    pub fn is_held(&self) -> bool {
        !matches!(self, Self::FixedLoad(_))
    }

    /// Radius of the circle that a wing flies over its station, m.
    pub fn circle_radius_m(&self) -> Option<f64> {
        match self {
            Self::FixedWing(wing) => Some(wing.radius_m()),
            _ => None,
        }
    }

    /// Balances the vehicle.
    ///
    /// # Errors
    /// What is missing for a balance, or a number that the model refuses.
    pub fn balance(&self, acting: &Acting<'_>) -> Result<Balanced, VehicleError> {
        let velocity_m_s = acting.stream.at(acting.position_m.z).velocity_m_s;
        let fluid = acting.stream.fluid_at(acting.position_m.z);
        let load =
            Load::hover(acting.mass_kg).with_external_force(acting.tether_pull_n).with_wind(velocity_m_s);
        match self {
            Self::FixedLoad(load) => Ok(Balanced::at_rest(load.current_a())),
            Self::Multirotor { model, declared_thrust_n } => {
                let trim = model.trim_beyond_limits(&load, &fluid)?;
                let largest_n = declared_thrust_n * fluid.density_kg_m3 / DECLARED_DENSITY_KG_M3;
                Ok(rotors::of_rotors(&trim, velocity_m_s.norm(), largest_n, load.weight_n()))
            }
            Self::FixedWing(wing) => wing.balance(acting.mass_kg, velocity_m_s.norm(), &fluid),
            Self::Underwater(model) => {
                let trim = model.trim(&load, &fluid)?;
                Ok(swimmer::handed_out(&trim, velocity_m_s.norm(), load.weight_n()))
            }
        }
    }

    /// Power drawn from the bus in this balance, W, payload not counted.
    pub fn demand_w(&self, balanced: &Balanced) -> f64 {
        match self {
            Self::FixedLoad(load) => load.demand_w(),
            _ => balanced.point.electrical_w + balanced.point.avionics_w,
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
        if let Some(used) = gust.drive_used_ratio {
            rows.push(LimitRow::at_most(LimitCode::Drive, used, 1.0, ""));
        }
        if let Some((ratio, least)) = gust.stall_ratio {
            rows.push(LimitRow::at_least(LimitCode::Stall, ratio, least, ""));
        }
        if let Self::Multirotor { .. } = self {
            rotor_limits(mean, gust, thrust_reserve_ratio, rows);
        }
    }
}

impl Balanced {
    /// A vehicle that stands or hangs by itself.
    fn at_rest(load_current_a: f64) -> Self {
        Self {
            point: VehiclePoint { load_current_a: Some(load_current_a), ..VehiclePoint::default() },
            residual_ratio: 0.0,
            drive_used_ratio: None,
            max_tilt_deg: 90.0,
            stall_ratio: None,
            up: UPRIGHT,
        }
    }
}

fn rotor_limits(mean: &Balanced, gust: &Balanced, thrust_reserve_ratio: f64, rows: &mut Vec<LimitRow>) {
    let reserve = gust.point.thrust_reserve_ratio.unwrap_or(f64::MAX);
    rows.push(LimitRow::at_least(LimitCode::ThrustReserve, reserve, thrust_reserve_ratio, ""));
    rows.push(LimitRow::at_most(LimitCode::Tilt, mean.point.tilt_deg, mean.max_tilt_deg, "°"));
    rows.push(LimitRow::at_most(LimitCode::TiltInGust, gust.point.tilt_deg, gust.max_tilt_deg, "°"));
    let axial_m_s = mean.point.axial_inflow_m_s;
    let axial_m_s = if axial_m_s.abs() < STILL_AIR_M_S { 0.0 } else { axial_m_s };
    rows.push(LimitRow::at_least(LimitCode::AxialInflow, axial_m_s, 0.0, "m/s"));
    rows.push(LimitRow::at_least(LimitCode::ShaftPower, mean.point.shaft_w, 0.0, "W"));
}
