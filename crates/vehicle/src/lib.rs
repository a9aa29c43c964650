//! Forces and flow in; attitude, thrust, power and the limits that bind out: multirotor, fixed wing, underwater
//! vehicle and fixed load.
//!
//! Axes: x downwind at the reference height, y to its left, z up. A vehicle is built once from its inputs, which
//! checks them; asking it for a [`Trim`] then costs about a microsecond and allocates nothing.
//!
//! # Examples
//! A quadrotor of 5 kg, tether pull included, in a wind of 8 m/s: demand, reserve, descent, and a rotor lost.
//! ```
//! use beamstay_vehicle::{
//!     Arrangement, DescentPlan, Failure, Load, Multirotor, MultirotorInputs, RotorSet, RotorSetInputs, Verdict, defaults,
//!     environment::Atmosphere,
//!     rotor::{DiskRotor, DiskRotorInputs, Drive, EfficiencyDrive, Rotor},
//! };
//! let air = Atmosphere::new(0.0, 0.0)?.at(0.0);
//! let rotors = RotorSet::new(RotorSetInputs {
//!     rotor: Rotor::Disk(DiskRotor::new(DiskRotorInputs::with_figure_of_merit(0.381, defaults::FIGURE_OF_MERIT))?),
//!     rotor_count: 4,
//!     arrangement: Arrangement::Single,
//!     drive: Drive::Efficiency(EfficiencyDrive::new(defaults::MOTOR_RATIO, defaults::CONTROLLER_RATIO)?),
//!     bus_voltage_v: 48.0,
//!     max_thrust_each_n: Some(32.0),
//! })?;
//! let aircraft = Multirotor::new(MultirotorInputs {
//!     rotors,
//!     empty_mass_kg: 3.2,
//!     body_drag: defaults::body_drag(5.0)?,
//!     guard_ring: None,
//!     rotor_drag_s_per_m: 0.0,
//!     max_tilt_deg: defaults::MAX_TILT_DEG,
//!     avionics_w: 10.0,
//! })?;
//! let load = Load::hover(5.0).with_wind([8.0, 0.0, 0.0]).with_external_force([3.0, 0.0, -10.0]);
//!
//! let trim = aircraft.trim(&load, &air)?;
//! assert!(trim.thrust_n > 59.0 && trim.tilt_deg < 10.0 && !trim.is_windmilling());
//! let (reserve_ratio, _) = aircraft.thrust_reserve(&trim, &air)?.unwrap();
//! assert!((reserve_ratio - 128.0 / trim.thrust_n).abs() < 1e-12);
//!
//! let descent = aircraft.fastest_safe_descent(&load, &DescentPlan::default(), &air)?;
//! assert!(descent.rate_m_s < descent.calm_limit_m_s && descent.energy_j(100.0).unwrap() > 20e3);
//!
//! let left = aircraft.rotor_out(&load, Failure::OneRotor, &air)?;
//! assert_eq!((left.hold.verdict, left.land.verdict), (Verdict::SpinsOnly, Verdict::SpinsOnly));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod balance;
pub mod defaults;
pub mod descent;
pub mod drag_area;
pub mod error;
pub mod fall;
pub mod fixed_load;
pub mod fixed_wing;
pub mod limit;
pub mod load;
pub mod multirotor;
pub mod rotor_out;
pub mod rotor_set;
pub mod trim;
pub mod underwater;
pub mod vehicle;

pub use balance::ForceBalance;
pub use descent::{Descent, DescentPlan};
pub use drag_area::{DragArea, GuardRing};
pub use error::VehicleError;
pub use fixed_load::FixedLoad;
pub use fixed_wing::{FixedWing, FixedWingInputs, LevelFlight, Loiter, Orbit, Polar, Propulsion, WingLoad};
pub use limit::{DriveLimits, Limit, LimitKind};
pub use load::Load;
pub use multirotor::{Multirotor, MultirotorInputs};
pub use rotor_out::{Failure, Remaining, RotorOut, RotorsLeft, Verdict};
pub use rotor_set::{Arrangement, RotorSet, RotorSetInputs, RotorSetOperation};
pub use trim::Trim;
pub use underwater::{UnderwaterInputs, UnderwaterTrim, UnderwaterVehicle};
pub use vehicle::{Summary, Vehicle};

// Of other crates, what the signatures here name.
pub use beamstay_environment as environment;
pub use beamstay_numerics::{domain::OutOfRange, interpolate::TableError};
pub use beamstay_rotor as rotor;
pub use nalgebra;
