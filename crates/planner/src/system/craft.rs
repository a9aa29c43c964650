//! The vehicle of a plan and its balance in a flow.

mod asked;
mod limits;
mod rotors;
mod swimmer;
mod wing;

use beamstay_environment::{flow::Flow, fluid::Fluid};
use beamstay_vehicle::{DriveLimits, FixedLoad, Limit, Load, Multirotor, UnderwaterVehicle, VehicleError};
use nalgebra::Vector3;

use crate::{
    error::{At, PlanError},
    point::VehiclePoint,
    scenario,
    system::surroundings::Stream,
};
pub use wing::Wing;

/// Air density at which the largest thrust of a rotor is declared, kg/m³: sea level, standard.
const DECLARED_DENSITY_KG_M3: f64 = 1.225;
/// Up of a vehicle that stands level.
const UPRIGHT: [f64; 3] = [0.0, 0.0, 1.0];

/// The vehicle, ready to be balanced.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Craft {
    /// Held by rotors.
    Multirotor(Box<Multirotor>),
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
    /// Limits of motors and controllers.
    pub drive_limits: DriveLimits,
    /// Thrust of thrusters against the largest.
    pub thrust_limit: Option<Limit>,
    /// Largest tilt, °.
    pub max_tilt_deg: f64,
    /// Limits of a wing.
    pub wing_limits: Option<WingLimits>,
    /// The vehicle's own up, of any length.
    pub up: [f64; 3],
}

/// What a wing may not exceed on its circle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WingLimits {
    /// Least airspeed over stall speed.
    pub stall_ratio: f64,
    /// The least allowed.
    pub min_stall_ratio: f64,
    /// Largest lift over weight.
    pub load_factor: f64,
    /// The largest allowed.
    pub max_load_factor: f64,
}

impl Craft {
    /// Builds the vehicle.
    ///
    /// # Errors
    /// [`PlanError::Refused`] with the pointer of what a model does not take.
    pub fn new(vehicle: &scenario::Vehicle) -> Result<Self, PlanError> {
        match vehicle {
            scenario::Vehicle::Multirotor(inputs) => {
                Ok(Self::Multirotor(Box::new(rotors::multirotor(inputs)?)))
            }
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
        self.balance_in(acting, false)
    }

    /// Balances the vehicle in the gust, its thrust reserve told even where that costs a search.
    ///
    /// # Errors
    /// As [`Self::balance`].
    pub fn balance_in_gust(&self, acting: &Acting<'_>) -> Result<Balanced, VehicleError> {
        self.balance_in(acting, true)
    }

    fn balance_in(&self, acting: &Acting<'_>, search_reserve: bool) -> Result<Balanced, VehicleError> {
        let fluid = acting.fluid();
        let load = acting.load();
        let flow_m_s = load.air_velocity_m_s.norm();
        match self {
            Self::FixedLoad(load) => Ok(Balanced::at_rest(load.current_a())),
            Self::Multirotor(model) => {
                let trim = model.trim_beyond_limits(&load, &fluid)?;
                let told = search_reserve || model.inputs().rotors.tells_thrust_quickly();
                let reserve = if told { model.thrust_reserve(&trim, &fluid)? } else { None };
                Ok(rotors::of_rotors(&trim, flow_m_s, reserve, load.weight_n()))
            }
            Self::FixedWing(wing) => wing.balance(acting.mass_kg, flow_m_s, &fluid),
            Self::Underwater(model) => {
                let trim = model.trim(&load, &fluid)?;
                Ok(swimmer::handed_out(&trim, flow_m_s, load.weight_n()))
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
}

impl Acting<'_> {
    /// State of the fluid at the vehicle.
    pub fn fluid(&self) -> Fluid {
        self.stream.fluid_at(self.position_m.z)
    }

    /// What the vehicle carries and the flow it does it in.
    pub fn load(&self) -> Load {
        let velocity_m_s = self.stream.at(self.position_m.z).velocity_m_s;
        Load::hover(self.mass_kg).with_external_force(self.tether_pull_n).with_wind(velocity_m_s)
    }
}

impl Balanced {
    /// A vehicle that stands or hangs by itself.
    fn at_rest(load_current_a: f64) -> Self {
        Self {
            point: VehiclePoint { load_current_a: Some(load_current_a), ..VehiclePoint::default() },
            residual_ratio: 0.0,
            drive_limits: DriveLimits::default(),
            thrust_limit: None,
            max_tilt_deg: 90.0,
            wing_limits: None,
            up: UPRIGHT,
        }
    }
}
