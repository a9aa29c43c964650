//! Forces and flow in; attitude, thrust, power and the limits that bind out: multirotor, fixed wing, underwater
//! vehicle and fixed load.
//!
//! Axes: x downwind at the reference height, y to its left, z up. A vehicle is built once from its inputs, which
//! checks them; asking it for a [`Trim`] then costs about a microsecond and allocates nothing.

pub mod balance;
pub mod defaults;
pub mod descent;
pub mod drag_area;
pub mod error;
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
pub use limit::{Limit, LimitKind};
pub use load::Load;
pub use multirotor::{Multirotor, MultirotorInputs};
pub use rotor_out::{Failure, Remaining, RotorOut, Verdict};
pub use rotor_set::{Arrangement, RotorSet, RotorSetInputs, RotorSetOperation};
pub use trim::Trim;
pub use underwater::{UnderwaterInputs, UnderwaterTrim, UnderwaterVehicle};
pub use vehicle::{Summary, Vehicle};
