//! One entry for all kinds of vehicle, for a planner that asks only what is demanded and what binds.

use beamstay_environment::fluid::Fluid;

use crate::{
    error::VehicleError,
    fixed_load::FixedLoad,
    fixed_wing::{FixedWing, Orbit, WingLoad},
    limit::Limit,
    load::Load,
    multirotor::Multirotor,
    underwater::UnderwaterVehicle,
};

/// A vehicle of any kind.
#[derive(Debug, Clone, PartialEq)]
#[allow(clippy::large_enum_variant, reason = "a scenario holds one vehicle, never a list of them")]
#[non_exhaustive]
pub enum Vehicle {
    /// Rotors that carry it.
    Multirotor(Multirotor),
    /// A wing that circles the ground station.
    FixedWing {
        /// The aircraft.
        wing: FixedWing,
        /// Radius of its circle over the ground, m, 1 to 1e5.
        orbit_radius_m: f64,
        /// Airspeed, m/s; the one of least demand if none is given.
        airspeed_m_s: Option<f64>,
    },
    /// Thrusters under water.
    Underwater(UnderwaterVehicle),
    /// Something that does not move.
    FixedLoad(FixedLoad),
}

/// What any vehicle asks of its supply, and how near its limits it is.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Summary {
    /// Power that the bus has to deliver on average, W: decides energy.
    pub demand_w: f64,
    /// Largest power within the steady state, W (more than the average for a circling wing): decides the supply.
    pub peak_demand_w: f64,
    /// Shaft power, W; the largest for a circling wing.
    pub shaft_w: f64,
    /// Thrust, N; the largest for a circling wing, the root sum of squares of both groups under water.
    pub thrust_n: f64,
    /// Lean of the rotor plane or bank of the wing, degrees; the largest for a circling wing.
    pub lean_deg: f64,
    /// Speed of the air that cools what hangs just under a rotor or rides on the wing, m/s.
    pub cooling_flow_m_s: f64,
    /// Whether the air drives the rotors or the tether pulls the aircraft along: a state that must not be planned.
    pub is_driven: bool,
    /// The limit that is used most, if one is known.
    pub binding_limit: Option<Limit>,
}

impl Vehicle {
    /// The vehicle under `load`, refused if a limit is passed. A fixed wing takes the horizontal part of the external
    /// force as the pull toward the centre of its circle and the horizontal part of the air velocity as the wind;
    /// a fixed load takes neither.
    ///
    /// # Errors
    /// As [`Multirotor::trim`], [`FixedWing::loiter`] or [`UnderwaterVehicle::trim`].
    ///
    /// # Examples
    /// ```
    /// # use beamstay_environment::fluid::Fluid;
    /// # let air = Fluid { temperature_k: 288.15, pressure_pa: 101_325.0, density_kg_m3: 1.225,
    /// #     dynamic_viscosity_pa_s: 1.789e-5, thermal_conductivity_w_per_m_k: 0.0253,
    /// #     specific_heat_j_per_kg_k: 1005.0, speed_of_sound_m_s: 340.3 };
    /// use beamstay_vehicle::{FixedLoad, Load, Vehicle};
    /// let mast = Vehicle::FixedLoad(FixedLoad::new(40.0, 24.0)?);
    /// assert_eq!(mast.operate(&Load::hover(1.0), &air)?.demand_w, 40.0);
    /// # Ok::<(), beamstay_vehicle::VehicleError>(())
    /// ```
    pub fn operate(&self, load: &Load, fluid: &Fluid) -> Result<Summary, VehicleError> {
        match self {
            Self::Multirotor(multirotor) => hovering(multirotor, load, fluid),
            Self::FixedWing { wing, orbit_radius_m, airspeed_m_s } => {
                circling(wing, *orbit_radius_m, *airspeed_m_s, load, fluid)
            }
            Self::Underwater(vehicle) => swimming(vehicle, load, fluid),
            Self::FixedLoad(fixed) => Ok(standing(fixed)),
        }
    }

    /// Mass without payload, receiver and battery, kg; 0 for a fixed load.
    pub fn empty_mass_kg(&self) -> f64 {
        match self {
            Self::Multirotor(multirotor) => multirotor.inputs().empty_mass_kg,
            Self::FixedWing { wing, .. } => wing.inputs().empty_mass_kg,
            Self::Underwater(vehicle) => vehicle.inputs().empty_mass_kg,
            Self::FixedLoad(_) => 0.0,
        }
    }
}

fn hovering(multirotor: &Multirotor, load: &Load, fluid: &Fluid) -> Result<Summary, VehicleError> {
    let trim = multirotor.trim(load, fluid)?;
    Ok(Summary {
        demand_w: trim.demand_w,
        peak_demand_w: trim.demand_w,
        shaft_w: trim.shaft_w,
        thrust_n: trim.thrust_n,
        lean_deg: trim.tilt_deg,
        cooling_flow_m_s: trim.wake_at_disk_m_s,
        is_driven: trim.is_windmilling(),
        binding_limit: Some(trim.binding_limit()),
    })
}

fn circling(
    wing: &FixedWing,
    radius_m: f64,
    airspeed_m_s: Option<f64>,
    load: &Load,
    fluid: &Fluid,
) -> Result<Summary, VehicleError> {
    load.check()?;
    let pull_n = load.external_force_n;
    let wing_load = WingLoad {
        mass_kg: load.mass_kg,
        pull_down_n: -pull_n.z,
        pull_inward_n: pull_n.x.hypot(pull_n.y),
        pull_back_n: 0.0,
    };
    let orbit = Orbit { radius_m, wind_m_s: load.air_velocity_m_s.x.hypot(load.air_velocity_m_s.y) };
    let loiter = match airspeed_m_s {
        Some(airspeed_m_s) => wing.loiter(&wing_load, &orbit, airspeed_m_s, fluid)?,
        None => wing.best_loiter(&wing_load, &orbit, fluid)?,
    };
    Ok(Summary {
        demand_w: loiter.mean_demand_w,
        peak_demand_w: loiter.largest_demand_w,
        shaft_w: loiter.largest_shaft_w,
        thrust_n: loiter.largest_thrust_n,
        lean_deg: loiter.largest_bank_deg,
        cooling_flow_m_s: loiter.airspeed_m_s,
        is_driven: loiter.least_thrust_n < 0.0,
        binding_limit: Some(loiter.binding_limit),
    })
}

fn swimming(vehicle: &UnderwaterVehicle, load: &Load, water: &Fluid) -> Result<Summary, VehicleError> {
    let trim = vehicle.trim(load, water)?;
    Ok(Summary {
        demand_w: trim.demand_w,
        peak_demand_w: trim.demand_w,
        shaft_w: trim.shaft_w,
        thrust_n: trim.thrust_vector_n.norm(),
        lean_deg: 0.0,
        cooling_flow_m_s: load.relative_wind_m_s().norm(),
        is_driven: trim.shaft_w < 0.0,
        binding_limit: trim.binding_limit,
    })
}

fn standing(fixed: &FixedLoad) -> Summary {
    Summary {
        demand_w: fixed.demand_w(),
        peak_demand_w: fixed.demand_w(),
        shaft_w: 0.0,
        thrust_n: 0.0,
        lean_deg: 0.0,
        cooling_flow_m_s: 0.0,
        is_driven: false,
        binding_limit: None,
    }
}
